"""What a joint is, as one job has it: blank in another job's log it stays, through all corrections of that log."""

import laying
import numpy as np
import pytest
from registers import make_earlier, placed

from asbuilt.register.loading import load
from asbuilt.register.question import Question
from asbuilt.register.search import find
from asbuilt.register.undo import undo

SAYS_NOTHING = {"size": None, "joint_type": None}
WHAT_IT_IS = ("size", "size_unit", "joint_type", "kind", "restrained")


@pytest.fixture(scope="module")
def jobs(folder):
    """Give a contract, its correction that takes a restraint back, and three forms of a re-survey that knows none."""
    laid = {"kind": {1: "sleeve"}, "restrained": {1: "yes", 3: "no"}}

    def survey(number, **how):
        return placed(folder / f"survey {number}.gpkg", "Survey", **(SAYS_NOTHING | how))

    return {
        "contract": placed(folder / "contract.gpkg", "Contract", **laid),
        "remarked": placed(folder / "remarked.gpkg", "Contract", **laid, remarks={1: "seen again"}),
        "taken back": placed(folder / "taken back.gpkg", "Contract", **(laid | {"restrained": {3: "no"}})),
        "survey": survey(1, east=0.2),
        "moved": survey(2, east=0.4, date={1: "2026-04-09"}),
        "moved again": survey(3, east=0.6, date={1: "2026-04-10"}),
        "says all": survey(4, east=0.6, size="8", joint_type="mechanical", kind="tee", restrained={1: "no"}),
    }


def joint(register, number="2"):
    return find(register, Question(joints=(number,))).joints[0]


def what_it_is(register, number="2"):
    one = joint(register, number)
    return {name: one[name] for name in WHAT_IT_IS}


def test_a_corrected_survey_wipes_nothing_that_the_first_job_said(register, jobs):
    load(jobs["contract"], register)
    before = {number: what_it_is(register, number) for number in "234"}
    assert [one["restrained"] for one in before.values()] == ["yes", None, "no"]
    assert before["2"]["kind"] == "sleeve"
    for form in ("survey", "moved", "moved again"):
        result = load(jobs[form], register)
        assert result.joints["updated"] == 6
        assert {number: what_it_is(register, number) for number in "234"} == before, form
        assert not {name for one in result.changes for name in one["changed"]} & set(WHAT_IT_IS)
    there = joint(register)
    assert (there["restrained_load_id"], there["size_load_id"], there["place_load_id"]) == (1, 1, 4)


def test_the_job_that_said_it_takes_it_back_under_a_later_job_s_state(register, jobs):
    for form in ("contract", "survey", "moved", "taken back"):
        load(jobs[form], register)
    assert (joint(register)["restrained"], joint(register, "4")["restrained"]) == (None, "no")
    # Judged anew by the limit of joints that are not restrained, as its own job has it now.
    assert joint(register)["verdict"].startswith("within")
    load(jobs["moved again"], register)
    assert joint(register)["restrained"] is None
    undo(5, register)
    undo(4, register)
    assert (joint(register)["restrained"], joint(register)["restrained_load_id"]) == ("yes", 1)


def test_what_a_survey_takes_back_itself_gives_way_to_what_the_first_job_said(register, jobs):
    load(jobs["contract"], register)
    before = what_it_is(register)
    load(jobs["says all"], register)
    found = {"size": 8.0, "size_unit": "in", "joint_type": "mechanical", "kind": "tee", "restrained": "no"}
    assert what_it_is(register) == found
    load(jobs["remarked"], register)  # the contract says of the pipe what it said before, and was found wrong since
    assert what_it_is(register) == found
    load(jobs["moved"], register)
    assert what_it_is(register) == before
    undo(4, register)
    assert what_it_is(register) == found


def test_an_inspection_taken_back_gives_way_to_the_one_before_it_with_what_was_found_in_it(register, jobs, folder):
    def state():
        one = joint(register)
        failed = any(finding["code"] == "inspection-failed" for finding in one["findings"])
        return one["inspection"], one["inspected_on"], failed, one["findings_count"] == len(one["findings"])

    dug = {"inspector": None, "date": None, "home_to_mark": None, "gauge": None, "gasket_temp": None}
    rows = {name: {1: None} for name in dug}
    load(placed(folder / "failed.gpkg", "Contract", gauge={1: "no"}), register)
    assert state() == ("failed", "2026-04-02", True, True)
    load(placed(folder / "dug up.gpkg", "Dug up", date="2030-05-02"), register)
    assert state() == ("complete", "2030-05-02", False, True)
    days = {row: None if row == 1 else "2030-05-02" for row in range(6)}
    load(placed(folder / "wrong joint.gpkg", "Dug up", **(rows | {"date": days})), register)
    assert state() == ("failed", "2026-04-02", True, True)
    undo(3, register)
    assert state() == ("complete", "2030-05-02", False, True)
    load(folder / "wrong joint.gpkg", register)
    undo(1, register)  # and not back to what was taken back
    assert state() == ("none", None, False, True)


def test_what_an_undone_load_said_goes_out_of_later_states(register, jobs):
    load(jobs["contract"], register)
    load(jobs["survey"], register)
    undo(1, register)
    assert what_it_is(register) == dict.fromkeys(WHAT_IT_IS) | {"size_unit": "in"}  # as the survey has it alone
    load(jobs["contract"], register)
    load(jobs["says all"], register)
    undo(4, register)
    assert (joint(register)["restrained"], joint(register)["size"]) == ("yes", 12.0)


def test_a_survey_without_elevations_keeps_those_that_are_known_through_its_corrections(register, folder):
    load(placed(folder / "with heights.gpkg", "Contract"), register)
    for number, east in enumerate((0.2, 0.4, 0.6)):
        points = laying.pipe(np.zeros(5)) + np.array([east, 0.0, 0.0])
        path = folder / f"flat {number}.gpkg"
        log = laying.log(points, route="A", date="2026-05-01")
        laying.place(laying.lines(A=points[:, :2]), log, name="Survey").write(path)
        load(path, register)
        assert joint(register)["elevation"] == pytest.approx(50.0)
        assert joint(register)["elevation_load_id"] == 1
    undo(1, register)
    assert joint(register)["elevation"] is None


def test_a_register_of_before_takes_what_a_state_has_from_the_one_before_it_for_kept(register, jobs):
    load(jobs["contract"], register)
    load(jobs["survey"], register)
    make_earlier(register, 13)
    load(jobs["moved"], register)
    assert (joint(register)["restrained"], joint(register)["restrained_load_id"]) == ("yes", 1)
    assert joint(register, "4")["restrained"] == "no"


def one_joint(folder, name, job, **said):
    """Place a job whose joint 2 is other than the rest."""
    path = folder / f"{name}.gpkg"
    placed(path, job, **{column: {1: value} for column, value in (SAYS_NOTHING | said).items()})
    return path


def test_what_a_job_took_back_while_another_s_held_does_not_come_again(register, folder):
    load(one_joint(folder, "no", "Contract", restrained="no"), register)
    load(one_joint(folder, "yes", "Survey", restrained="yes"), register)
    load(one_joint(folder, "no more", "Contract", remarks="seen"), register)
    assert joint(register)["restrained"] == "yes"
    load(one_joint(folder, "yes no more", "Survey", remarks="wet"), register)
    assert joint(register)["restrained"] is None


def test_a_blank_is_undone_with_the_load_that_it_is_from(register, folder):
    load(one_joint(folder, "eight", "Contract", size="8"), register)
    load(one_joint(folder, "blank", "Contract", remarks="seen"), register)
    load(one_joint(folder, "twelve", "Survey", size="12"), register)
    load(one_joint(folder, "blank too", "Survey", remarks="wet"), register)
    assert joint(register)["size"] is None
    undo(2, register)
    assert joint(register)["size"] == 8.0


def test_a_later_inspection_of_another_job_holds_where_the_latest_is_dated_earlier(register, folder):
    load(one_joint(folder, "2030", "Contract", date="2030-05-02"), register)
    load(one_joint(folder, "2031", "Repair", date="2031-05-02"), register)
    load(one_joint(folder, "2032", "Contract", date="2032-05-02", remarks="seen"), register)
    assert joint(register)["inspected_on"] == "2032-05-02"
    load(one_joint(folder, "2030 again", "Contract", date="2030-05-02", remarks="wet"), register)
    assert joint(register)["inspected_on"] == "2031-05-02"


def test_an_inspection_that_gave_way_is_named_where_the_later_one_is_taken_back(register, folder):
    load(one_joint(folder, "2032", "Contract", date="2032-05-02"), register)
    gave_way = one_joint(folder, "2031", "Repair", date="2031-05-02")
    load(gave_way, register)
    assert joint(register)["inspected_on"] == "2032-05-02"
    rows = dict.fromkeys(("inspector", "home_to_mark", "gauge", "gasket_temp"))
    result = load(one_joint(folder, "none", "Contract", date=None, remarks="seen", **rows), register)
    [note] = [one for one in result.notes if "gave way to later ones" in one]
    assert note.startswith("the inspections of 1 joint (A 2) that load 2 brought gave way to later ones")
    assert joint(register)["inspection"] == "none"
    # What the note says to do.
    undo(2, register)
    load(gave_way, register)
    assert joint(register)["inspected_on"] == "2031-05-02"
