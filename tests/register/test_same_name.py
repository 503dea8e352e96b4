"""Loads under one name: two jobs that have the same, and an older file of a job after a newer one."""

import pytest
from registers import column, placed

from asbuilt.register.loading import load
from asbuilt.register.undo import undo

TWICE, NEWER = "is it the same job?", "seems to be newer than this file"


def notes(result, words):
    return [one for one in result.notes if words in one]


def test_two_jobs_of_one_name_in_different_places_are_asked_about(register, folder):
    here = placed(folder / "here.gpkg", "Water 2026")
    there = placed(folder / "there.gpkg", "Water 2026", routes=("B",), joints=3, north=5000.0)
    other = placed(folder / "other.gpkg", "Water 2027", routes=("C",), joints=3, north=9000.0)
    longer = placed(folder / "longer.gpkg", "Water 2026", joints=7)
    assert not notes(load(here, register), TWICE)
    assert not notes(load(other, register), TWICE)
    for dry_run in (True, False):
        [note] = notes(load(there, register, dry_run=dry_run), TWICE)
        assert "'Water 2026' is in the register already (load 1, 6 joints of A)" in note
    undo(3, register)
    # A log that goes on where it ended is the same job's.
    assert not notes(load(longer, register), TWICE)


@pytest.fixture(scope="module")
def revisions(folder):
    """Give a log, its correction of joint 2 and 3, and the first one with another remark."""
    first = placed(folder / "first.gpkg", "Elm Street", gauge={1: "no", 2: "no"}, date="2026-03-02")
    corrected = {"gauge": {1: "yes", 2: "yes"}, "date": {1: "2026-04-07", 2: "2026-04-07"}}
    second = placed(folder / "second.gpkg", "Elm Street", **corrected)
    old = {"gauge": {1: "no", 2: "no"}, "remarks": {4: "as per field book"}, "date": "2026-03-02"}
    return first, second, placed(folder / "old.gpkg", "Elm Street", **old)


def test_an_older_revision_placed_anew_says_what_speaks_for_it(register, revisions):
    first, second, old = revisions
    assert not notes(load(first, register), NEWER)
    assert not notes(load(second, register), NEWER)
    for dry_run in (True, False):
        [note] = notes(load(old, register, dry_run=dry_run), NEWER)
        assert note.startswith("load 2 of this job seems to be newer")
        assert "go back to what load 1 said, which was corrected since (A 1, A 2, A 3, " in note
        assert "inspection of these joints there is of 2026-04-07, in this file of 2026-03-02" in note
    assert column(register, "joints", "inspection").count("failed") == 2
    assert undo(3, register).joints_restored == 6
    assert column(register, "joints", "inspection").count("failed") == 0


def test_a_day_that_a_correction_leaves_blank_makes_no_file_the_older_one(register, folder):
    """The latest day of all is blanked, and another joint's remark corrected: nothing tells that the file is older."""
    first = placed(folder / "dated.gpkg", "Elm Street", date={1: "2026-03-02", 2: "2026-03-09"})
    blanked = {"date": {1: "2026-03-02", 2: ""}, "remarks": {1: "as per field book"}}
    load(first, register)
    result = load(placed(folder / "blanked.gpkg", "Elm Street", **blanked), register)
    assert {one["joint"] for one in result.changes} == {"2", "3"}
    assert not notes(result, NEWER)


def test_an_earlier_survey_of_the_same_job_is_told(register, folder):
    first = placed(folder / "may.gpkg", "Elm Street", tables={"centerline": {"surveyed_on": "2026-05-04"}})
    earlier = placed(
        folder / "april.gpkg", "Elm Street", tables={"centerline": {"surveyed_on": "2026-04-02"}}, gauge={1: "no"}
    )
    later = placed(
        folder / "june.gpkg",
        "Elm Street",
        tables={"centerline": {"surveyed_on": "2026-06-02"}},
        gauge={1: "no", 2: "no"},
    )
    load(first, register)
    [note] = notes(load(earlier, register), NEWER)
    assert "its survey is of 2026-05-04, this file's of 2026-04-02" in note
    undo(2, register)
    assert not notes(load(later, register), NEWER)


def test_joints_put_back_are_counted_where_another_load_has_their_state(register, folder):
    laid = placed(folder / "laid.gpkg", "Contract 1", gauge={1: "no"})
    repaired = placed(folder / "repaired.gpkg", "Repair", joints=2, date="2031-05-06")
    load(laid, register)
    load(repaired, register)
    told = undo(2, register, dry_run=True)
    assert (told.joints_removed, told.joints_restored) == (0, 2)
