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


@pytest.mark.parametrize("other", ["52", "3A"])
def test_another_number_of_a_job_of_a_part_is_a_second_name(register, folder, other):
    part = {"records": {"covers": "part"}}
    load(placed(folder / f"first {other}.gpkg"), register)
    how = {"joint": {2: other}, "drop": [0, 1, 3, 4, 5], "tables": part}
    for number, date in ((2, "2026-05-05"), (3, "2026-06-06")):
        path = placed(folder / f"part {other} {number}.gpkg", "Leak", date=date, **how)
        loaded = load(path, register)
        assert [one for one in loaded.notes if f"A {other} where 3 is" in one]
        assert named(register, "3") == named(register, other) == ["3"]
    (joint,) = find(register, Question(joints=[other])).joints
    assert [(one["joint"], one["load_id"]) for one in joint["called"]] == [(other, 3)]
    undo(3, register)
    undo(2, register)
    assert (named(register, "3"), named(register, other)) == (["3"], [])
