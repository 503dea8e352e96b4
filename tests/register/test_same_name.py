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


def season(folder, name, joints, *, first=1, start=0, heats=0, **columns):
    """Place joints of one main of 40 from one on, 20 ft apart, numbered from `first` on; each has a heat number."""
    rows = range(start, start + joints)
    more = {
        "date": "2025-05-06",
        "heat": {row: f"H{4000 + 37 * (heats + row - start)}" for row in rows},
        "joint": {row: str(first + row - start) for row in rows},
    }
    left_out = [row for row in range(40) if row not in rows]
    return placed(folder / f"{name}.gpkg", "Water 2026", joints=40, drop=left_out, **(more | columns))


def test_a_second_season_that_begins_with_the_last_joint_of_the_first_is_asked_about(register, folder):
    load(season(folder, "one season", 12), register)
    again = season(folder, "next season", 9, first=12, start=11, heats=500, date="2026-04-07")
    for dry_run in (True, False):
        result = load(again, register, dry_run=dry_run)
        [note] = notes(result, TWICE)
        assert "and only 1 of the 9 joints of this file is one of them: is it the same job?" in note
        assert note.endswith("What this file says of A 12 takes the place of what was known")
    undo(2, register)
    # The same log with all of the first season in it is a log that goes on.
    assert not notes(load(season(folder, "both seasons", 20), register), TWICE)


def test_a_second_season_whose_numbers_begin_anew_waits_and_replaces_nothing(register, folder):
    """Of a first season of 200 ft each joint lies within the 100 m by which a correction may move it."""
    load(season(folder, "short", 10), register)
    before = column(register, "joints", "northing"), column(register, "inspections", "original")
    result = load(season(folder, "anew", 14, start=10, heats=500, date="2026-04-07"), register)
    assert (result.joints["updated"], result.joints["left_out"], result.joints["new"]) == (0, 10, 4)
    [note] = notes(result, TWICE)
    assert "no joint of this file is one of them (10 have the numbers of joints that lie elsewhere, and wait)" in note
    assert column(register, "joints", "northing")[:10] == before[0]
    assert column(register, "inspections", "original")[:10] == before[1]
    assert set(column(register, "inspections", "state")) == {"standing"}
    assert {one["reason"] for one in result.conflicts} == {"same-joint-elsewhere"}


@pytest.mark.parametrize("same", [{}, {"heat": "H4000"}], ids=["heat numbers", "days alone"])
def test_a_short_main_that_a_correction_moves_by_more_than_its_length_is_the_same_job(register, folder, same):
    load(season(folder, f"there {len(same)}", 5, **same), register)
    result = load(season(folder, f"moved {len(same)}", 5, start=9, **same), register)
    assert (result.joints["updated"], result.joints["left_out"]) == (5, 0)
    assert not notes(result, TWICE)
