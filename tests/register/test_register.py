"""The register, the same in a GeoPackage and in PostGIS: loads, corrections, conflicts, undoing, and what is found."""

import dataclasses
import datetime as dt
import hashlib
import json
import random
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import geopandas as gpd
import laying
import numpy as np
import pandas as pd
import pyogrio
import pytest
import shapely
from geographiclib.geodesic import Geodesic
from hypothesis import given
from hypothesis import strategies as st
from laying import EAST, NORTH
from pyogrio.raw import read_arrow
from pyproj import CRS, Transformer
from registers import column, contents, placed, plain, uid

from asbuilt.errors import AsbuiltError, InputFileError
from asbuilt.register.arrow_kinds import ARROW
from asbuilt.register.incoming import steps
from asbuilt.register.layout import JOB_LAYERS, kinds
from asbuilt.register.loading import load
from asbuilt.register.marks import mark
from asbuilt.register.question import Question
from asbuilt.register.search import find
from asbuilt.register.undo import undo

FOOT = 1200 / 3937
HISTORY = ("joints", "inspections", "findings", "joints_earlier", "inspections_undone", "findings_undone", "loads")


@pytest.fixture(scope="module")
def job(folder):
    """Give a maker of placed jobs that makes each only once."""
    made = {}

    def make(*arguments, **columns):
        key = repr((arguments, columns))
        if key not in made:
            made[key] = placed(folder / f"job{len(made)}.gpkg", *arguments, **columns)
        return made[key]

    return make


@pytest.fixture(scope="module")
def samples(folder):
    """Give the sample in feet and the sample in metres, placed from their job files."""
    import asbuilt

    made = []
    for name in ("job", "job_metric"):
        made.append(folder / f"sample_{name}.gpkg")
        asbuilt.place(Path(__file__).parents[2] / "sample_gis" / f"{name}.toml").write(made[-1])
    return made


def loaded_unless_stale(path, register):
    try:
        return load(path, register)
    except InputFileError:
        return None


def joints_of(loaded):
    return tuple(loaded.joints[name] for name in ("read", "new", "updated", "unchanged", "left_out"))


def test_a_log_that_was_changed_since_placing_is_told_by_the_load(register, folder):
    import asbuilt

    sources = folder / "sources"
    shutil.rmtree(sources, ignore_errors=True)
    shutil.copytree(Path(__file__).parents[2] / "sample_gis", sources)
    path = folder / "placed_before.gpkg"
    path.unlink(missing_ok=True)
    asbuilt.place(sources / "job_metric.toml").write(path)
    assert not any("was placed before" in note for note in load(path, register, dry_run=True).notes)
    log = sources / "joint_log_mill_race.csv"
    log.write_bytes(log.read_bytes() + b"\n")
    for dry_run in (True, False):
        said = [note for note in load(path, register, dry_run=dry_run).notes if "was placed before" in note]
        assert len(said) == 1
        assert f"{log} was changed" in said[0]
    # The inputs are looked for beside the placed file first, as both may have been moved together.
    moved = folder / "moved"
    moved.mkdir(exist_ok=True)
    shutil.copy(path, moved / path.name)
    shutil.copy(Path(__file__).parents[2] / "sample_gis" / log.name, moved)
    assert not any("was placed before" in note for note in load(moved / path.name, register).notes)
    shutil.rmtree(sources)
    assert not any("was placed before" in note for note in load(path, register).notes)


def test_a_load_repeats_what_makes_the_places_of_a_route_doubtful(folder):
    laying.two_exchanged().write(folder / "exchanged.gpkg")
    for dry_run in (True, False):
        notes = load(folder / "exchanged.gpkg", folder / "register.gpkg", dry_run=dry_run).notes
        (said,) = [note for note in notes if note.startswith("routes A and B seem to be exchanged: ")]
        assert said.endswith("put it right, place the job again, and load that")
        assert "are loaded at places that may be wrong, and without accuracy" in said
    points = laying.pipe(np.full(60, 0.5))
    laying.place(laying.lines(A=points[:50]), laying.log(points)).write(folder / "short.gpkg")
    notes = load(folder / "short.gpkg", folder / "other.gpkg").notes
    assert any("the log runs on for" in note and "are loaded at places that may be wrong" in note for note in notes)
    assert not any("may be wrong" in note for note in load(placed(folder / "whole.gpkg"), folder / "third.gpkg").notes)


def test_a_first_load_brings_every_joint_record_and_finding(register, job):
    path = job(remarks={2: "wet trench"})
    loaded = load(path, register, by="R. Vance")
    assert (loaded.made, loaded.load, joints_of(loaded), loaded.new_joints) == (True, 1, (6, 6, 0, 0, 0), [])
    for layer, table in zip(JOB_LAYERS, ("joints", "inspections", "findings"), strict=True):
        theirs = read_arrow(path, layer=layer, read_geometry=False)[1]
        assert len(column(register, table, "load_id")) == theirs.num_rows
        # Which record is the latest is the file's to say: here it depends on the loads.
        for name in set(theirs.column_names) - {"latest"}:
            assert list(map(plain, column(register, table, name))) == list(map(plain, theirs[name].to_pylist())), name
    assert column(register, "loads", "sha256") == [hashlib.sha256(path.read_bytes()).hexdigest()]
    assert column(register, "loads", "loaded_by") == ["R. Vance"]
    assert json.loads(column(register, "loads", "run")[0])["records_read"] == 6


def test_the_same_content_changes_nothing_and_says_so_whatever_the_file_is_called(register, job, folder):
    load(job(), register, by="R. Vance")
    before = contents(register, *HISTORY)
    again = placed(folder / "another-name.gpkg")  # made anew: another file, other times within
    loaded = load(again, register)
    assert (loaded.changed, loaded.load) == (False, None)
    assert any("is that of load 1" in note and "R. Vance" in note for note in loaded.notes)
    assert contents(register, *HISTORY) == before


def test_a_cumulative_log_adds_only_what_is_new(register, job):
    load(job(joints=6), register)
    loaded = load(job(joints=9), register)
    # The last joint of the first log has pipe on both sides now.
    assert joints_of(loaded) == (9, 3, 1, 5, 0)
    assert loaded.inspections == {"read": 9, "added": 3, "unchanged": 6, "left_out": 0, "superseded": 0}
    assert {one["joint"]: one["changed"]["verdict"] for one in loaded.changes} == {
        "6": ["not-computed", "within-assumed"]
    }
    assert [(one["route"], one["joint"]) for one in loaded.new_joints] == [("A", "7"), ("A", "8"), ("A", "9")]


def test_a_correction_of_a_column_that_no_field_is_read_from_is_told_by_its_heading(register, job):
    """A lot of gaskets is called back years later: its number matters, though no check looks at it."""
    load(job(lot={2: "4701", 4: "4702"}), register)
    loaded = load(job(lot={2: "9999", 4: "4702"}, gauge={4: "no"}), register)
    told = {one["joint"]: one["records"][0]["changed"] for one in loaded.changes}
    assert told == {"3": {"column 'lot'": ["4701", "9999"]}, "5": {"gauge": ["yes", "no"]}}


def test_a_corrected_log_supersedes_record_by_record_and_lists_what_changed(register, job):
    load(job(remarks={2: "wet trench"}), register)
    loaded = load(job(remarks={2: "dry trench"}, gauge={4: "no"}), register)
    assert joints_of(loaded) == (6, 0, 2, 4, 0)
    assert loaded.inspections == {"read": 6, "added": 2, "unchanged": 4, "left_out": 0, "superseded": 2}
    listed = {one["joint"]: one for one in loaded.changes}
    assert listed["3"]["records"][0]["changed"] == {"remarks": ["wet trench", "dry trench"]}
    assert listed["5"]["records"][0]["changed"] == {"gauge": ["yes", "no"]}
    assert listed["5"]["changed"]["inspection"] == ["complete", "failed"]
    (third,) = find(register, Question(joints=["3"])).joints
    assert [(one["remarks"], one["state"]) for one in third["history"]] == [
        ("wet trench", "superseded"),
        ("dry trench", "standing"),
    ]


def disturbed(source, path, by):
    """Copy a placed job, with every computed number of its joints and findings changed by so much."""
    shutil.copy(source, path)
    with closing(sqlite3.connect(path)) as database, database:
        triggers = database.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for (name,) in triggers:
            database.execute(f'DROP TRIGGER "{name}"')
        for layer in ("joints", "findings"):
            for _, name, kind, *_ in database.execute(f"PRAGMA table_info({layer})").fetchall():
                if kind.upper() in ("REAL", "DOUBLE") and name not in ("longitude", "latitude"):
                    database.execute(f'UPDATE {layer} SET "{name}" = "{name}" + ?', (by,))
    return path


@pytest.mark.parametrize("by", [1e-9, -1e-9, 1e-8])
def test_noise_of_the_arithmetic_is_no_change(register, job, folder, by):
    path = job(gasket_temp={1: "30"}, north=0.123)
    load(path, register)
    loaded = load(disturbed(path, folder / "noise.gpkg", by), register)
    assert (loaded.changed, loaded.changes) == (False, [])
    assert any("is that of load 1" in note for note in loaded.notes)


def test_what_a_person_would_see_is_a_change_and_nothing_else_is_listed(register, job, folder):
    """Closed form: a step is 0.001 of the unit, so 0.002 is always another one."""
    path = job()
    load(path, register)
    noisy = disturbed(path, folder / "seen.gpkg", 1e-9)
    with closing(sqlite3.connect(noisy)) as database, database:
        database.execute("UPDATE joints SET turn_deg = turn_deg + 0.002 WHERE joint = '3'")
    loaded = load(noisy, register)
    assert [(one["joint"], list(one["changed"])) for one in loaded.changes] == [("3", ["turn_deg"])]
    old, new = loaded.changes[0]["changed"]["turn_deg"]
    assert new - old == pytest.approx(0.002, abs=1e-6)


@given(st.integers(-(10**9), 10**9), st.floats(-1e-8, 1e-8))
def test_noise_carries_no_number_of_six_decimals_into_another_step(millionths, noise):
    value = millionths / 1e6
    before, after, farther = steps(np.array([value, value + noise, value + 0.002]))
    assert before == after
    assert farther - before in (1, 2, 3)


def test_the_old_content_after_its_correction_is_refused_and_the_way_back_is_named(register, job):
    load(job(), register)
    load(job(remarks={2: "dry trench"}), register)
    before = contents(register, *HISTORY)
    with pytest.raises(InputFileError, match=r"content of load 1, which load 2 .* has corrected.*--undo 2"):
        load(job(), register)
    assert contents(register, *HISTORY) == before


def test_joints_that_a_corrected_log_says_nothing_of_stay_and_are_listed(register, job):
    load(job(), register)
    loaded = load(job(drop=[5], remarks={1: "corrected"}), register)
    assert [(one["route"], one["joint"]) for one in loaded.not_mentioned] == [("A", "6")]
    assert sorted(column(register, "joints", "joint")) == list("123456")


def test_a_job_may_move_its_own_joint_but_another_job_may_not(register, job):
    load(job(), register)
    own = load(job(station={3: "0+63.00"}), register)
    assert joints_of(own)[2] >= 1
    assert own.conflicts == []
    (moved,) = [one for one in own.changes if one["joint"] == "4"]
    assert moved["moved_m"] == pytest.approx(3 * FOOT, abs=1e-3)
    other = load(job("Contract 9", station={3: "0+70.00"}), register)
    (conflict,) = other.conflicts
    assert (conflict["reason"], conflict["joint"]) == ("same-joint-elsewhere", "4")
    assert conflict["away_m"] == pytest.approx(7 * FOOT, abs=1e-3)
    assert (other.joints["left_out"], other.inspections["left_out"]) == (1, 1)
    assert column(register, "loads", "joints_left_out") == [0, 0, 1]
    (fourth,) = find(register, Question(joints=["4"])).joints
    assert (fourth["station"], fourth["load_id"]) == ("0+63.00", 2)


def test_a_corrected_joint_that_moves_onto_another_jobs_joint_is_left_out(register, job):
    load(job(), register)
    load(job("Contract 9", routes=("B",), north=300.0, joints=3), register)
    load(job("Contract 10", routes=("C",), north=63.0, joints=2), register)
    own = load(job(station={3: "0+63.00"}), register)
    (conflict,) = own.conflicts
    assert (conflict["joint"], conflict["reason"]) == ("4", "two-joints-in-one-place")
    assert conflict["register"]["route"] == "C"


def test_a_joint_of_another_route_in_one_place_is_left_out_unless_it_lies_above_or_below(register, job):
    load(job(), register)
    same = load(job("Contract 9", routes=("B",)), register)
    assert joints_of(same) == (6, 0, 0, 0, 6)
    assert {one["reason"] for one in same.conflicts} == {"two-joints-in-one-place"}
    assert {one["register"]["route"] for one in same.conflicts} == {"A"}
    crossing = load(job("Contract 10", routes=("C",), up=6.0), register)
    assert joints_of(crossing) == (6, 6, 0, 0, 0)


@pytest.mark.parametrize("crs", ["EPSG:6418", "EPSG:6318"])
def test_a_renumbered_joint_is_matched_by_its_route_and_place(register, job, crs):
    load(job(), register, crs=crs)
    loaded = load(job("Contract 9", first=101, east=0.4), register)
    assert joints_of(loaded) == (6, 0, 6, 0, 0)
    assert {one["matched_by"] for one in loaded.changes} == {"place"}
    (third,) = find(register, Question(joints=["103"])).joints
    assert third["joint_uid"] == uid("A", "3")
    assert [one["joint"] for one in third["history"]] == ["3", "103"]
    assert load(job("Contract 9", first=101, east=0.4), register).changed is False


def test_several_joints_that_one_may_be_are_a_conflict_not_a_guess(register, job):
    crowded = {3: "0+40.60", 4: "0+40.80"}
    load(job(station=crowded), register)
    loaded = load(
        job("Contract 9", first=101, station={row: text for row, text in crowded.items() if row == 3}), register
    )
    reasons = {one["joint"]: one["reason"] for one in loaded.conflicts}
    assert reasons["103"] == reasons["104"] == "two-joints-in-one-place"
    assert "101" not in reasons


def test_a_wider_tolerance_matches_what_lies_farther(register, job):
    load(job(), register)
    # So near along the main of its name it may be that one, surveyed again: it waits.
    assert joints_of(load(job("Contract 9", first=101, east=3.0), register, dry_run=True))[4] == 6
    assert joints_of(load(job("Contract 9", first=101, east=3.0), register, tolerance_m=1.0))[2] == 6


def test_a_later_job_becomes_the_present_state_and_an_older_job_repeated_does_not_bring_it_back(register, job):
    load(job(), register)
    load(job("Leak survey", date="2031-05-06", remarks="dug up, tight"), register)
    (third,) = find(register, Question(joints=["3"])).joints
    assert [one["inspected_on"] for one in third["history"]] == ["2026-04-02", "2031-05-06"]
    assert [one["state"] for one in third["history"]] == ["standing", "standing"]
    assert (third["inspected_on"], third["job"]) == ("2031-05-06", "Leak survey")
    loaded = load(job(joints=9), register)
    assert (loaded.joints["unchanged"], loaded.joints["new"]) == (5, 3)
    assert find(register, Question(joints=["3"])).joints[0]["job"] == "Leak survey"


@pytest.fixture(scope="module")
def bent(folder):
    """Give a maker of placed jobs on a line that turns at joint 3, by 7 degrees: over the 5 that its size may."""

    def make(name, drop=(), turn=7.0, **columns):
        points = laying.pipe([0.0, turn, 0.0, 0.0])
        path = folder / f"{name} {len(drop)} {turn} {len(columns)}.gpkg"
        log = laying.log(points, route="A", **columns).drop(index=list(drop))
        laying.place(laying.lines(A=points), log, name=name, centerline=laying.EXACT).write(path)
        return path

    return make


OTHERS = (0, 1, 4, 5)


def asked(register, **question):
    return [joint["joint"] for joint in find(register, Question(**question)).joints]


def test_what_an_earlier_job_settled_is_still_told_and_found_after_a_later_one_that_knows_less(register, bent):
    """A leak dug up at one joint: its record says nothing of the neighbours, so nothing of the deflection."""
    load(bent("Quarry Lane"), register)
    assert asked(register, verdicts=["over"]) == asked(register, findings=["deflection-over"]) == ["3"]
    load(bent("Leak", OTHERS, date="2031-05-06"), register)
    (third,) = find(register, Question(joints=["3"])).joints
    assert (third["verdict"], third["deflection_load_id"], third["job"]) == ("over", 1, "Leak")
    (earlier,) = third["earlier"]
    assert (earlier["job"], earlier["load_id"], earlier["verdict"]) == ("Quarry Lane", 1, "over")
    assert earlier["deflection_deg"] == pytest.approx(7.0, abs=1e-6)
    # The deflection holds, and so does the finding about it.
    assert [one["load_id"] for one in third["findings"] if one["code"] == "deflection-over"] == [1]
    assert (earlier["findings"], third["findings_count"]) == ([], len(third["findings"]))
    assert asked(register, verdicts=["over"]) == asked(register, findings=["deflection-over"]) == ["3"]
    assert asked(register, verdicts=["not-computed"], joints=["3"]) == []


def test_what_the_own_job_corrected_or_an_undone_load_said_is_not_told_as_an_earlier_verdict(register, bent):
    load(bent("Quarry Lane"), register)
    load(bent("Leak", OTHERS, date="2031-05-06"), register)
    load(bent("Quarry Lane", **{"joint type": "ball"}), register)  # corrected: no allowable is known for it
    (third,) = find(register, Question(joints=["3"])).joints
    assert [one["job"] for one in third["earlier"]] == ["Leak"]
    assert asked(register, verdicts=["over"]) == asked(register, findings=["deflection-over"]) == []
    undo(3, register)
    assert asked(register, verdicts=["over"]) == ["3"]
    undo(1, register)
    assert find(register, Question(joints=["3"])).joints[0]["earlier"] == []
    assert asked(register, verdicts=["over"]) == asked(register, findings=["deflection-over"]) == []


def test_a_verdict_that_a_later_job_settles_otherwise_holds_and_the_finding_is_still_found(register, bent):
    load(bent("Quarry Lane"), register)
    load(bent("Straightened", (0, 4, 5), turn=2.0), register)
    (third,) = find(register, Question(joints=["3"])).joints
    assert (third["verdict"], [one["verdict"] for one in third["earlier"]]) == ("within", ["over"])
    assert asked(register, verdicts=["over"]) == []
    assert asked(register, findings=["deflection-over"]) == ["3"]


def test_neighbours_stay_neighbours_when_a_later_job_speaks_of_few_joints(register, bent):
    load(bent("Quarry Lane"), register)
    load(bent("Leak", OTHERS, date="2031-05-06"), register)
    beside = {
        joint["joint"]: tuple((joint[word] or {}).get("joint") for word in ("previous", "next"))
        for joint in find(register, Question(routes=["A"])).joints
    }
    assert beside == {
        "1": (None, "2"), "2": ("1", "3"), "3": ("2", "4"), "4": ("3", "5"), "5": ("4", "6"), "6": ("5", None)
    }  # fmt: skip
    third = find(register, Question(joints=["3"])).joints[0]
    assert third["next"]["along"] == pytest.approx(20.0, abs=1e-6)


def test_a_dry_run_tells_what_a_load_does_and_writes_nothing(register, job):
    assert load(job(), register, dry_run=True).joints == load(job(), register).joints
    before = contents(register, *HISTORY)
    corrected = job(remarks={2: "dry trench"}, station={3: "0+63.00"})
    dry = load(corrected, register, dry_run=True)
    assert contents(register, *HISTORY) == before
    told = dataclasses.asdict(load(corrected, register)) | {"load": None, "dry_run": True}
    assert told == dataclasses.asdict(dry)


def test_a_dry_run_makes_no_register(register, job):
    loaded = load(job(), register, dry_run=True)
    assert (loaded.made, joints_of(loaded)) == (True, (6, 6, 0, 0, 0))
    with pytest.raises(InputFileError, match="asbuilt load FILE --into"):
        find(register, Question())


def test_undoing_a_load_brings_back_what_was_and_keeps_the_history(register, job):
    load(job(), register)
    before = contents(register)
    load(job(remarks={2: "dry trench"}, gauge={4: "no"}), register)
    undone = undo(2, register, by="R. Vance")
    assert (undone.joints_removed, undone.joints_restored) == (0, 2)
    assert (undone.inspections_undone, undone.inspections_restored) == (2, 2)
    assert contents(register) == before
    assert column(register, "loads", "state") == ["standing", "undone"]
    assert column(register, "loads", "undone_by") == [None, "R. Vance"]
    assert column(register, "inspections_undone", "remarks") == ["dry trench", None]
    assert column(register, "joints_earlier", "ended_as") == ["undone", "undone"]
    assert joints_of(load(job(remarks={2: "dry trench"}, gauge={4: "no"}), register)) == (6, 0, 2, 4, 0)


def test_undoing_the_first_load_leaves_no_joint_and_it_can_be_loaded_again(register, job):
    load(job(), register)
    undone = undo(1, register)
    assert (undone.joints_removed, undone.inspections_undone) == (6, 6)
    assert contents(register) == {"joints": [], "inspections": [], "findings": []}
    assert load(job(), register).load == 2
    assert find(register, Question(near=f"{EAST},{NORTH}", within="1ft")).joints[0]["joint"] == "1"


def test_only_the_latest_load_of_a_job_can_be_undone_and_only_once(register, job):
    load(job(), register)
    load(job(remarks={2: "dry trench"}), register)
    with pytest.raises(InputFileError, match=r"load 2 is a later one of the same job.*--undo 2"):
        undo(1, register)
    with pytest.raises(InputFileError, match="there is no load 7; its loads are 1, 2"):
        undo(7, register)
    undo(2, register)
    with pytest.raises(InputFileError, match="load 2 was undone already"):
        undo(2, register)


def test_undoing_can_be_tried_and_changes_nothing_then(register, job):
    load(job(), register)
    load(job(remarks={2: "dry trench"}, gauge={4: "no"}), register)
    before = contents(register, *HISTORY)
    tried = undo(2, register, dry_run=True)
    assert contents(register, *HISTORY) == before
    assert tried == dataclasses.replace(undo(2, register), dry_run=True)


def test_undoing_an_older_job_leaves_what_a_later_job_found(register, job):
    load(job(), register)
    load(job("Leak survey", date="2031-05-06"), register)
    undo(1, register)
    (third,) = find(register, Question(joints=["3"])).joints
    assert [one["inspected_on"] for one in third["history"]] == ["2031-05-06"]
    undo(2, register)
    assert contents(register) == {"joints": [], "inspections": [], "findings": []}


def undone_unless_it_hid(number, register):
    """Undo a load, but where it hid a later day from a load that came over it: then nothing may change."""
    before, said = contents(register), ""
    try:
        undo(number, register)
    except InputFileError as refused:
        said = str(refused)
    assert not said or ("is of an earlier day" in said and contents(register) == before)
    return not said


def test_after_any_loads_undone_in_any_allowed_order_nothing_is_left_and_each_step_can_be_taken_back(register, job):
    """Invariant: the latest load undone gives what was before it; all undone gives an empty register."""
    choices = [
        job(), job(remarks={2: "dry trench"}), job(joints=9), job(gauge={4: "no"}, gasket_temp={1: "30"}),
        job("Leak survey", date="2031-05-06"), job("Leak survey", date="2031-05-06", gauge={3: "no"}),
        job("Contract 9", first=101, east=0.4), job("Contract 10", routes=("B", "C"), east=300.0),
    ]  # fmt: skip
    draw = random.Random(4)
    load(choices[0], register)
    standing = [("Quarry Lane", 1)]
    for _ in range(14):
        before = contents(register)
        loaded = loaded_unless_stale(draw.choice(choices), register)
        if loaded is None or loaded.load is None:
            assert contents(register) == before
            continue
        after = contents(register)
        assert len(after["inspections"]) >= len(before["inspections"])
        undo(loaded.load, register)
        assert contents(register) == before
        standing.append((loaded.job, load(loaded.file, register).load))
        assert [row[1:4] for row in contents(register)["joints"]] == [row[1:4] for row in after["joints"]]
        if draw.random() < 0.3:
            name = draw.choice(standing)[0]
            latest = max(number for job_name, number in standing if job_name == name)
            if undone_unless_it_hid(latest, register):
                standing.remove((name, latest))
    for name, number in sorted(standing, key=lambda one: -one[1]):
        undo(number, register)
        assert name not in [state for state in column(register, "joints", "load_id") if state == number]
    assert contents(register) == {"joints": [], "inspections": [], "findings": []}


def test_the_sample_is_carried_to_the_registers_coordinates_and_elevations_stay(register, folder):
    import asbuilt

    path = folder / "sample.gpkg"
    asbuilt.place(Path(__file__).parents[2] / "sample_gis" / "job_metric.toml").write(path)
    loaded = load(path, register, crs="EPSG:6418")
    assert any("elevations stay" in note for note in loaded.notes)
    theirs = pyogrio.read_dataframe(path, layer="joints")
    carry = Transformer.from_crs(theirs.crs, "EPSG:6418", always_xy=True)
    east, north = carry.transform(theirs["easting"], theirs["northing"])
    np.testing.assert_allclose(column(register, "joints", "easting"), east, atol=1e-6)
    np.testing.assert_allclose(column(register, "joints", "northing"), north, atol=1e-6)
    assert column(register, "joints", "elevation") == theirs["elevation"].tolist()
    assert set(column(register, "joints", "coordinate_unit")) == {"m"}
    assert load(path, register).changed is False
    with pytest.raises(InputFileError, match=r"the register is in NAD83.*leave --crs out"):
        load(path, register, crs="EPSG:6339")


def test_each_size_has_the_unit_of_its_job_whatever_else_the_register_holds(register, folder, samples):
    """DN 100 and 150 of the metric job (ISO 6708), 12-inch mains of the other: told apart in joints and in history."""
    for path in samples:
        load(path, register, crs=None)
    sizes = set(zip(column(register, "joints", "size"), column(register, "joints", "size_unit"), strict=True))
    assert {unit for size, unit in sizes if size is not None and size >= 80} == {"mm"}
    assert {unit for size, unit in sizes if size is not None and size <= 24} == {"in"}
    records = zip(column(register, "inspections", "size"), column(register, "inspections", "size_unit"), strict=True)
    assert {(unit, size >= 80) for size, unit in records if size is not None} == {("mm", True), ("in", False)}
    (first,) = find(register, Question(joints=[column(register, "joints", "joint_uid")[0]])).joints
    assert first["history"][0]["size_unit"] == first["size_unit"]
    undo(2, register)
    assert len(set(column(register, "inspections_undone", "size_unit"))) == 1


def test_a_job_made_in_memory_says_the_unit_of_its_sizes_too(register, job):
    load(job(), register)
    assert set(column(register, "joints", "size_unit")) == {"in"}


@pytest.mark.parametrize("what", ["text", "other", "other-register", "missing", "damaged"])
def test_a_file_that_is_no_placed_job_is_refused_and_nothing_is_made(register, job, folder, what):
    path = folder / f"a-{what}.gpkg"
    path.unlink(missing_ok=True)
    if what == "text":
        path.write_text("not a database")
    elif what == "other":
        gpd.GeoDataFrame(geometry=[shapely.Point(0, 0)], crs="EPSG:6418").to_file(path, layer="valves")
    elif what == "other-register":
        load(job(), str(path))
    elif what == "damaged":
        path.write_bytes(job().read_bytes()[:30_000])
    with pytest.raises(InputFileError, match=f"a-{what}.gpkg: "):
        load(path, register)
    with pytest.raises(InputFileError, match="register"):
        find(register, Question())


def test_an_unknown_coordinate_system_is_refused(register, job):
    with pytest.raises(InputFileError, match="--crs: 'EPSG:99'"):
        load(job(), register, crs="EPSG:99")


def test_the_kinds_of_columns_are_those_of_a_placed_job(job):
    path = job(
        gap_12="1", gap_3="1", gap_6="1", gap_9="1", gauge_12="0.5", offset="0", bolt_torque="80", laid_length="20"
    )
    for layer in JOB_LAYERS:
        _, table = read_arrow(path, layer=layer, read_geometry=False)
        ours = {name: ARROW[kind] for name, kind in kinds(layer).items()}
        for field in table.drop_columns([name for name in ("latest",) if name in table.column_names]).schema:
            assert str(field.type).replace("int32", "int64") == str(ours[field.name]), field


def geodesic_ft(crs, place, joint):
    """Give the distance on the ellipsoid by GeographicLib, in US survey feet."""
    to_degrees = Transformer.from_crs(crs, CRS(crs).geodetic_crs, always_xy=True)
    (lon, lat), (lon1, lat1) = to_degrees.transform(*place), to_degrees.transform(*joint)
    return Geodesic(6378137.0, 1 / 298.257222101).Inverse(lat, lon, lat1, lon1)["s12"] / FOOT


def numbers(found):
    return [joint["joint"] for joint in found.joints]


@pytest.mark.parametrize("crs", ["EPSG:6418", "EPSG:6339", "EPSG:6318", "EPSG:6420"])
def test_distances_are_on_the_ground_whatever_the_registers_coordinates(register, job, crs):
    """State Plane in feet, UTM in metres, degrees, and another zone: GeographicLib to 1 mm in 200 ft at sea level.

    6318 is NAD83(2011) itself; 6420 is zone 3, south of the joints.
    """
    load(job(joints=30, up=-50.0), register, crs=crs)
    place = Transformer.from_crs("EPSG:6418", crs, always_xy=True).transform(EAST + 7.0, NORTH + 291.0)
    near = f"{place[1]:.12f},{place[0]:.12f}" if CRS(crs).is_geographic else f"{place[0]},{place[1]}"
    found = find(register, Question(near=near, within="200ft"))
    for joint in found.joints:
        expected = geodesic_ft(crs, place, (joint["easting"], joint["northing"]))
        assert joint["away"] * 0.3048 / FOOT == pytest.approx(expected, abs=0.003)
    aways = [joint["away"] for joint in found.joints]
    assert aways == sorted(aways)
    assert sorted(map(int, numbers(found))) == list(range(6, 26))
    in_metres = find(register, Question(near=near, within="60.96m"))
    assert in_metres.joints[0]["away"] == pytest.approx(found.joints[0]["away"] * 0.3048, abs=0.001)


def test_the_ground_is_longer_than_the_ellipsoid_below_it(register, job):
    """At 6,000 ft the combined factor of grid and height is 0.99971 / 0.99999 of that at sea level: textbook h / R."""
    load(job(joints=30, up=5950.0), register)
    found = find(register, Question(near=f"{EAST},{NORTH}", within="600ft"))
    last = found.joints[-1]
    at_sea = geodesic_ft("EPSG:6418", (EAST, NORTH), (last["easting"], last["northing"])) * FOOT / 0.3048
    assert last["away"] / at_sea == pytest.approx(1 + 6000 * FOOT / 6_371_000, abs=2e-6)


def test_a_place_is_read_as_it_was_meant(register, job):
    load(job(), register)
    lon, lat = Transformer.from_crs("EPSG:6418", "EPSG:4326", always_xy=True).transform(EAST, NORTH + 40)
    east, north = Transformer.from_crs("EPSG:6418", "EPSG:6339", always_xy=True).transform(EAST, NORTH + 40)
    for near, words in (
        (f"{lat:.9f},{lon:.9f}", "latitude"),
        (f"{lat:.9f},{lon:.9f},4326", "latitude"),
        (f"{EAST},{NORTH + 40}", "easting 6700000.00, northing 2000040.00"),
        (f"{east},{north},6339", "UTM zone 10N"),
    ):
        found = find(register, Question(near=near, within="3ft"))
        assert numbers(found) == ["3"], near
        assert words in found.near.read_as
    for wrong in ("here", "1", "1,2,3,4", "95,-121,4326", "1,2,none"):
        with pytest.raises(AsbuiltError, match="--near: "):
            find(register, Question(near=wrong))
    for wrong in ("50 yards", "-3ft", ""):
        with pytest.raises(AsbuiltError, match="--within: "):
            find(register, Question(near=f"{EAST},{NORTH}", within=wrong))
    with pytest.raises(AsbuiltError, match="--within: a distance from where"):
        find(register, Question(within="50ft"))


def test_without_a_distance_the_nearest_are_given_however_far(register, job):
    load(job(joints=30), register)
    found = find(register, Question(near=f"{EAST + 90_000},{NORTH + 89}"))
    assert len(found.joints) == 10
    assert set(numbers(found)) == set(map(str, range(1, 11)))
    assert numbers(find(register, Question(near=f"{EAST},{NORTH + 101}", nearest=3))) == ["6", "7", "5"]
    assert numbers(find(register, Question(near=f"{EAST},{NORTH + 101}", within="2ft", nearest=3))) == ["6"]


def test_a_place_far_from_every_joint_is_doubted(register, job):
    load(job(joints=3), register)
    assert "order of the two numbers" in find(register, Question(near=f"{EAST},{NORTH + 1e6}")).near.read_as
    assert "easting comes first" in find(register, Question(near=f"{NORTH},{EAST}")).near.read_as
    assert "far from there" not in find(register, Question(near=f"{EAST},{NORTH}")).near.read_as


def test_degrees_may_be_written_with_their_sides(register, job):
    load(job(joints=3), register)
    signed = find(register, Question(near="38.9,-121.2")).near
    for text in ("38.9 N, 121.2 W", "38.9°N,121.2°W", "121.2W,38.9N"):
        assert find(register, Question(near=text)).near.easting == pytest.approx(signed.easting)


def test_a_route_that_is_not_there_and_a_range_run_backwards_are_refused(register, job):
    load(job(joints=3), register)
    with pytest.raises(AsbuiltError, match="--route: the register has no route 'Z'; the register has A"):
        find(register, Question(routes=("Z",)))
    with pytest.raises(AsbuiltError, match="2026-05-01 is later than 2026-04-01; exchange the two"):
        find(register, Question(since=dt.date(2026, 5, 1), until=dt.date(2026, 4, 1)))


def test_questions_combine(register, job):
    """Every pair of filters against the same filters in pandas, on the file that was loaded."""
    path = job(
        routes=("A", "B"), joints=12, inspector={3: "T. Alder", 15: "T. Alder"}, gauge={4: "no"},
        gasket_temp={15: "30"},
        date={5: "2026-05-01", 15: "2026-05-03", 20: "2026-06-01"},
    )  # fmt: skip
    load(path, register)
    table = pyogrio.read_dataframe(path, layer="joints")
    codes = pyogrio.read_dataframe(path, layer="findings")
    table["station_number"] = [float(text.replace("+", "")) for text in table["station"]]
    day = table["inspected_on"].astype(str).str[:10]
    cold = set(codes.loc[codes["code"] == "gasket-cold", "joint_uid"])
    filters: dict[str, tuple[Any, pd.Series]] = {
        "routes": (["B"], table["route"] == "B"),
        "since": (dt.date(2026, 5, 1), day >= "2026-05-01"),
        "until": (dt.date(2026, 5, 3), day <= "2026-05-03"),
        "verdicts": (["within", "over"], table["verdict"].isin(["within", "over"])),
        "findings": (["gasket-cold"], table["joint_uid"].isin(cold)),
        "inspectors": (["t. alder"], table["inspector"] == "T. Alder"),
        "joints": (["4", "5", uid("A", "6")], table["joint"].isin(["4", "5"]) | (table["joint_uid"] == uid("A", "6"))),
    }
    for mask in range(2 ** len(filters)):
        chosen = {name: filters[name] for bit, name in enumerate(filters) if mask >> bit & 1}
        if len(chosen) > 2:
            continue
        expected = table[np.logical_and.reduce([held for _, held in chosen.values()], axis=0)] if chosen else table
        found = find(register, Question(**{name: value for name, (value, _) in chosen.items()}))
        assert [joint["joint_uid"] for joint in found.joints] == expected["joint_uid"].tolist(), list(chosen)
    along = find(register, Question(routes=["A"], from_station="0+60", to_station="1+20"))
    assert numbers(along) == ["4", "5", "6", "7"]
    with pytest.raises(AsbuiltError, match="add --route"):
        find(register, Question(from_station="0+60"))
    with pytest.raises(AsbuiltError, match=r"station 1\+20 is farther along than 0\+60; exchange the two"):
        find(register, Question(routes=["A"], from_station="1+20", to_station="0+60"))
    with pytest.raises(AsbuiltError, match="--from: 'soon' is not a station"):
        find(register, Question(routes=["A"], from_station="soon"))


@pytest.mark.parametrize("crs", ["EPSG:6418", "EPSG:4326"])
def test_an_area_of_any_format_and_system_chooses_what_lies_in_it(register, job, folder, crs):
    load(job(routes=("A", "B"), joints=12), register)
    shape = shapely.Polygon([(EAST - 10, NORTH + 30), (EAST + 130, NORTH + 30), (EAST + 60, NORTH + 130)])
    area = gpd.GeoDataFrame(geometry=[shape], crs="EPSG:6418").to_crs(crs)
    inside = {(joint["route"], joint["joint"]) for joint in find(register, Question()).joints
              if shape.contains(shapely.Point(joint["easting"], joint["northing"]))}  # fmt: skip
    assert inside
    for suffix in ("geojson", "gpkg", "shp", "gdb"):
        path = folder / crs[5:] / f"area.{suffix}"
        path.parent.mkdir(exist_ok=True)
        area.to_file(path, driver="OpenFileGDB" if suffix == "gdb" else None)
        found = find(register, Question(area=path))
        assert {(joint["route"], joint["joint"]) for joint in found.joints} == inside
    lines = folder / "lines.geojson"
    gpd.GeoDataFrame(geometry=[shape.exterior], crs=crs).to_file(lines)
    with pytest.raises(InputFileError, match=r"lines.geojson: has no polygons"):
        find(register, Question(area=lines))
    (folder / "corners.csv").write_text("easting,northing\n", "utf-8")
    with pytest.raises(
        InputFileError, match=r"corners.csv: polygons are not read .*FlatGeobuf or GeoParquet file with"
    ):
        find(register, Question(area=folder / "corners.csv"))


def test_a_joint_is_told_with_its_neighbours_findings_and_photos(register, job):
    load(job(joints=5, gasket_temp={2: "30"}, photo={2: "IMG_0412.jpg"}), register)
    (third,) = find(register, Question(joints=["3"])).joints
    assert [third[word]["joint"] for word in ("previous", "next")] == ["2", "4"]
    assert third["next"] == {"joint_uid": uid("A", "4"), "joint": "4", "station": "0+60.00", "along": 20.0,
                             "along_unit": "us-ft"}  # fmt: skip
    assert [one["code"] for one in third["findings"]] == ["gasket-cold"]
    assert third["photos"] == ["IMG_0412.jpg"]
    assert json.loads(third["history"][0]["original"])["photo"] == "IMG_0412.jpg"
    first = find(register, Question(joints=["1"])).joints[0]
    assert first["previous"] is None


def test_a_mark_on_a_finding_is_kept_and_outlasts_a_correction_that_repeats_the_finding(register, job):
    load(job(gasket_temp={2: "30", 4: "31"}), register)
    third, fifth = (find(register, Question(joints=[name])).joints[0]["findings"][0] for name in "35")
    assert (third["mark"], third["marks"]) == (None, [])
    mark(register, third["finding_uid"], note="=dug up", by="R. Vance")
    mark(register, third["finding_uid"], note="again wet", by="T. Alder", as_="open")
    mark(register, fifth["finding_uid"], by="R. Vance")
    load(job(gasket_temp={2: "30", 4: "33"}, remarks={2: "late entry"}), register)
    third, fifth = (find(register, Question(joints=[name])).joints[0]["findings"][0] for name in "35")
    assert third["mark"] == "open"
    assert [(one["mark"], one["note"], one["by"]) for one in third["marks"]] == [
        ("looked-at", "=dug up", "R. Vance"), ("open", "again wet", "T. Alder"),
    ]  # fmt: skip
    assert fifth["mark"] is None, "what the finding says has changed: nobody looked at that yet"
    with pytest.raises(InputFileError, match="there is no finding nonsense; take its finding_uid"):
        mark(register, "nonsense")
