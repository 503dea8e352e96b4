"""A joint keeps its number where a later record has none: who asks for it must find it."""

import pytest
from registers import placed

from asbuilt.register.loading import load
from asbuilt.register.question import Question
from asbuilt.register.search import find
from asbuilt.register.undo import undo


def named(register, joint):
    return [one["joint"] for one in find(register, Question(routes=["A"], joints=[joint])).joints]


@pytest.mark.parametrize("name", ["Leak", "Quarry Lane"])
def test_a_record_without_a_number_takes_no_number_away(register, folder, name):
    load(placed(folder / f"whole {name}.gpkg"), register)
    blank = placed(folder / f"blank {name}.gpkg", name, joint={2: None}, gauge={2: "no"}, date="2026-05-05")
    assert load(blank, register).joints["updated"] == 6
    assert named(register, "3") == ["3"]
    assert find(register, Question(joints=["3"])).joints[0]["inspection"] == "failed"
    undo(2, register)
    assert named(register, "3") == ["3"]


def test_a_joint_without_a_number_takes_the_number_that_a_later_job_has(register, folder):
    load(placed(folder / "no number.gpkg", joint={2: None}), register)
    assert named(register, "3") == []
    load(placed(folder / "number.gpkg", "Leak", date="2026-05-05"), register)
    assert named(register, "3") == ["3"]
