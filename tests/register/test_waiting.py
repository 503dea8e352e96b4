"""Nothing is left out of a register in silence: it is kept, counted in every answer near it, and can be settled."""

import json

import pytest
from laying import EAST, NORTH
from registers import placed

import asbuilt
from asbuilt import cli
from asbuilt.errors import AsbuiltError
from asbuilt.register.loading import load
from asbuilt.register.question import Question
from asbuilt.register.search import find
from asbuilt.register.undo import undo

FAR = 5000.0


def run(capsys, *arguments):
    status = cli.run([str(one) for one in arguments])
    return status, capsys.readouterr().out


@pytest.fixture
def second(folder):
    """Give the job of a second contract whose route is A too, and numbered from 1, a mile from the first."""
    return placed(folder / "second.gpkg", "Contract 2", east=FAR)


@pytest.fixture
def first(register, folder):
    load(placed(folder / "first.gpkg", "Contract 1"), register)
    return register


def test_a_second_contract_with_the_same_route_is_kept_waiting_and_told(first, second, capsys):
    loaded = load(second, first)
    assert (loaded.joints["left_out"], loaded.joints["new"], loaded.changed) == (6, 0, True)
    waiting = asbuilt.conflicts(first)
    assert [(one["job"], one["route"], one["joint"]) for one in waiting] == [
        ("Contract 2", "A", str(number)) for number in range(1, 7)
    ]
    out = run(capsys, "conflicts", first)[1]
    assert "6 joints of 1 job wait to be settled" in out
    assert "--main NAME" in out
    assert json.loads(run(capsys, "conflicts", first, "--json")[1])["joints"] == 6


def test_loading_what_waits_again_changes_nothing_and_does_not_say_that_nothing_is_new(first, second, capsys):
    load(second, first)
    again = load(second, first)
    assert (again.changed, again.load) == (False, None)
    status, out = run(capsys, "load", second, "--into", first)
    assert (status, "Nothing is new" in out) == (0, False)
    assert "6 joints of this file wait to be settled" in out
    assert len(asbuilt.conflicts(first)) == 6
    assert run(capsys, "load", second, "--into", first, "--strict")[0] == 1


def test_an_answer_near_what_waits_says_so_and_one_elsewhere_does_not(first, second, capsys):
    load(second, first)
    there = Question(near=f"{EAST + FAR},{NORTH}", within="110ft")
    assert find(first, there).as_json()["count"] == 0
    assert find(first, there).waiting == {"joints": 6, "jobs": 1}
    assert "6 joints of 1 job there wait" in run(capsys, "find", first, "--near", there.near, "--within", "110ft")[1]
    assert find(first, Question(near=f"{EAST},{NORTH}", within="110ft")).waiting["joints"] == 0
    assert find(first, Question(routes=("A",))).waiting["joints"] == 6


def test_a_main_of_its_own_settles_it_and_a_later_load_keeps_it(first, second, folder):
    load(second, first)
    settled = load(second, first, main="Contract 2")
    assert (settled.joints["new"], settled.joints["left_out"]) == (6, 0)
    assert asbuilt.conflicts(first) == []
    joints = find(first, Question(routes=("Contract 2: A",))).joints
    assert [one["joint"] for one in joints] == [str(number) for number in range(1, 7)]
    assert all(len(one["history"]) == 1 and one["history"][0]["route"] == "Contract 2: A" for one in joints)
    assert joints[0]["easting"] == pytest.approx(EAST + FAR)
    assert joints[0]["next"]["joint"] == "2"
    assert {one["joint_uid"] for one in joints}.isdisjoint(
        one["joint_uid"] for one in find(first, Question(routes=("A",))).joints
    )
    corrected = load(placed(folder / "corrected.gpkg", "Contract 2", east=FAR, size={2: "8"}), first)
    assert (corrected.joints["updated"], corrected.joints["left_out"], corrected.main) == (1, 0, "Contract 2")


def test_undoing_gives_back_what_waited(first, second):
    load(second, first)
    number = load(second, first, main="Contract 2").load
    undo(number, first)
    assert len(asbuilt.conflicts(first)) == 6
    undo(2, first)
    assert asbuilt.conflicts(first) == []
    assert len(find(first, Question()).joints) == 6


def test_two_jobs_under_one_name_do_not_correct_one_another(first, folder):
    """As when a second phase of one name counts from joint 1 again, or a form kept its default name."""
    other = load(placed(folder / "phase.gpkg", "Contract 1", east=FAR), first)
    assert (other.joints["left_out"], other.joints["updated"], other.joints["unchanged"]) == (6, 0, 0)
    assert len(find(first, Question(near=f"{EAST},{NORTH}", within="110ft")).joints) == 6
    assert len(asbuilt.conflicts(first)) == 6


def test_what_waits_outlives_another_job_of_the_same_name(first, folder):
    load(placed(folder / "b.gpkg", "Form", east=FAR), first)
    assert len(asbuilt.conflicts(first)) == 6
    assert load(placed(folder / "c.gpkg", "Form", routes=("Z",), north=FAR), first).joints["new"] == 6
    assert len(asbuilt.conflicts(first)) == 6


def test_a_main_surveyed_again_is_not_entered_twice(first, folder, capsys):
    again = placed(folder / "again.gpkg", "Survey 2", east=2.5)
    assert load(again, first).joints["left_out"] == 6
    assert "larger --tolerance" in run(capsys, "conflicts", first)[1]
    with pytest.raises(AsbuiltError, match="6 joints lie within 5 m of joints of the same route and number"):
        load(again, first, main="Survey 2")
    settled = load(again, first, tolerance_m=1.0)
    assert (settled.joints["updated"], settled.joints["left_out"], settled.joints["new"]) == (6, 0, 0)
    assert asbuilt.conflicts(first) == []
    assert len(find(first, Question()).joints) == 6


def test_a_reader_needs_no_right_to_write_and_changes_nothing(folder):
    path = folder / "only_read.gpkg"
    load(placed(folder / "first.gpkg", "Contract 1"), str(path))
    before = path.read_bytes()
    path.chmod(0o444)
    try:
        assert len(find(str(path), Question(routes=("A",))).joints) == 6
        assert asbuilt.conflicts(str(path)) == []
    finally:
        path.chmod(0o644)
    assert path.read_bytes() == before
