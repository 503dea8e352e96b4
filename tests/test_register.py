"""The register, the same in a GeoPackage and in PostGIS: loads, corrections, conflicts, undoing, and what is found."""

import dataclasses
import hashlib
import json
import random
import shutil
from pathlib import Path

import geopandas as gpd
import numpy as np
import pyogrio
import pytest
import servers
import shapely
from laying import EAST, NORTH
from pyogrio.raw import read_arrow
from pyproj import Transformer
from registers import column, contents, placed, plain, quick_folder, uid

from asbuilt.errors import InputFileError
from asbuilt.register.layout import ARROW, JOB_LAYERS, kinds
from asbuilt.register.loading import load
from asbuilt.register.question import Question
from asbuilt.register.search import find
from asbuilt.register.undo import undo

FOOT = 1200 / 3937
HISTORY = ("joints", "inspections", "findings", "joints_earlier", "inspections_undone", "findings_undone", "loads")


@pytest.fixture(scope="module")
def server():
    """Give the address of a database, or None where there is no server."""
    if servers.programs() is None:
        yield None
        return
    with servers.postgis() as address:
        yield address


@pytest.fixture(scope="module")
def folder():
    made = quick_folder()
    yield made
    shutil.rmtree(made)


@pytest.fixture(params=["geopackage", "postgis"])
def register(request, folder, server):
    """Give the name of a register that is not there yet, in each store."""
    if request.param == "geopackage":
        path = folder / "register.gpkg"
        path.unlink(missing_ok=True)
        yield str(path)
        return
    if server is None:
        pytest.skip("NOT CHECKED against PostGIS: Debian's postgresql-postgis is not installed")
    psycopg = pytest.importorskip("psycopg", reason="NOT CHECKED against PostGIS: its libraries are not installed")
    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute("DROP SCHEMA IF EXISTS asbuilt CASCADE")
    yield server


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


def loaded_unless_stale(path, register):
    try:
        return load(path, register)
    except InputFileError:
        return None


def joints_of(loaded):
    return tuple(loaded.joints[name] for name in ("read", "new", "updated", "unchanged", "left_out"))


def test_a_first_load_brings_every_joint_record_and_finding(register, job):
    path = job(remarks={2: "wet trench"})
    loaded = load(path, register, by="R. Vance")
    assert (loaded.made, loaded.load, joints_of(loaded)) == (True, 1, (6, 6, 0, 0, 0))
    for layer, table in zip(JOB_LAYERS, ("joints", "inspections", "findings"), strict=True):
        theirs = read_arrow(path, layer=layer, read_geometry=False)[1]
        assert len(column(register, table, "load_id")) == theirs.num_rows
        for name in theirs.column_names:
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
    assert {one["joint"]: one["changed"]["verdict"] for one in loaded.changes} == {"6": ["not-computed", "within"]}


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


def test_a_joint_of_another_route_in_one_place_is_left_out_unless_it_lies_above_or_below(register, job):
    load(job(), register)
    same = load(job("Contract 9", routes=("B",)), register)
    assert joints_of(same) == (6, 0, 0, 0, 6)
    assert {one["reason"] for one in same.conflicts} == {"two-joints-in-one-place"}
    assert {one["register"]["route"] for one in same.conflicts} == {"A"}
    crossing = load(job("Contract 10", routes=("C",), up=6.0), register)
    assert joints_of(crossing) == (6, 6, 0, 0, 0)


def test_a_renumbered_joint_is_matched_by_its_route_and_place(register, job):
    load(job(), register)
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
    assert joints_of(load(job("Contract 9", first=101, east=3.0), register, dry_run=True))[1] == 6
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


def test_undoing_an_older_job_leaves_what_a_later_job_found(register, job):
    load(job(), register)
    load(job("Leak survey", date="2031-05-06"), register)
    undo(1, register)
    (third,) = find(register, Question(joints=["3"])).joints
    assert [one["inspected_on"] for one in third["history"]] == ["2031-05-06"]
    undo(2, register)
    assert contents(register) == {"joints": [], "inspections": [], "findings": []}


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
            undo(latest, register)
            standing.remove((name, latest))
    for name, number in sorted(standing, key=lambda one: -one[1]):
        undo(number, register)
        assert name not in [state for state in column(register, "joints", "load_id") if state == number]
    assert contents(register) == {"joints": [], "inspections": [], "findings": []}


def test_the_sample_is_carried_to_the_registers_coordinates_and_elevations_stay(register, folder):
    import asbuilt

    path = folder / "sample.gpkg"
    asbuilt.place(Path(__file__).parent.parent / "sample_gis" / "job_metric.toml").write(path)
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
        for field in table.schema:
            assert str(field.type).replace("int32", "int64") == str(ours[field.name]), field
