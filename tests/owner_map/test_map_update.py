"""Joints that are on the utility's map already: told where they differ, and made to follow the job on request alone."""

import shutil
import sqlite3
from contextlib import closing

import fiona
import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio
import pytest
import shapely
from laying import CRS, TODAY, lines, log, pipe, values

import asbuilt
from asbuilt.errors import JobFileError, OutputError
from asbuilt.job import Job
from asbuilt.owner_map import map_layers

POINTS = pipe([0.0] * 9)
COLUMNS = {"joint_uid": "ASSET_ID", "route": "ROUTE", "joint": "JT_NO", "size": "DIAM", "inspector": "INSPECTOR",
           "inspected_on": "INSP_DATE"}  # fmt: skip
STORES = ("u.gpkg", "u.shp", "U.SHP")


def placed(folder, name="u.gpkg", *, records=None, points=POINTS, **wanted):
    layer = {} if name.lower().endswith(".shp") else {"layer": "joints"}
    into = {"into": name, "columns": COLUMNS, **layer, **wanted}
    job = Job.from_mapping(values(map=into), folder=folder)
    records = log(points) if records is None else records
    return asbuilt.place(job, centerline=lines(A=points), records=records, today=TODAY)


def frame(folder, name="u.gpkg"):
    return gpd.read_file(folder / name).sort_values("JT_NO", key=lambda one: one.astype(int)).reset_index(drop=True)


def corrected():
    """Give the log with one joint's size and inspector corrected, and its station 3 ft ahead."""
    records = log(POINTS)
    records.loc[4, ["size", "inspector", "station"]] = ["8", "M. Whitlock", "0+83.00"]
    return records


@pytest.mark.parametrize("name", STORES)
def test_what_differs_is_listed_field_by_field_and_nothing_is_changed(tmp_path, name):
    map_layers.write_map(placed(tmp_path, name))
    before = frame(tmp_path, name)
    written = map_layers.write_map(placed(tmp_path, name, records=corrected()))
    assert (written.added, written.differing, written.updated) == (0, 1, 0)
    told = {one.column: (one.there, one.here) for one in written.differences}
    assert told["DIAM"] == ("12", "8")
    assert told["INSPECTOR"] == ("R. Vance", "M. Whitlock")
    assert set(told) == {"DIAM", "INSPECTOR", "place"}
    assert any("map.update = true" in note for note in written.notes)
    pd.testing.assert_frame_equal(frame(tmp_path, name), before)


@pytest.mark.parametrize("name", STORES)
def test_on_request_joints_follow_the_job_and_no_other_row_is_touched(tmp_path, name):
    map_layers.write_map(placed(tmp_path, name))
    before = frame(tmp_path, name)
    dry = map_layers.write_map(placed(tmp_path, name, records=corrected(), update=True), dry_run=True)
    pd.testing.assert_frame_equal(frame(tmp_path, name), before)
    written = map_layers.write_map(placed(tmp_path, name, records=corrected(), update=True))
    assert dry == written
    assert (written.differing, written.updated) == (1, 1)
    after = frame(tmp_path, name)
    pd.testing.assert_frame_equal(after.drop(index=4), before.drop(index=4))
    assert after.loc[4, "DIAM"] == 8
    assert after.loc[4, "INSPECTOR"] == "M. Whitlock"
    assert after.loc[4, "geometry"].y == pytest.approx(POINTS[0, 1] + 83, abs=1e-6)
    again = map_layers.write_map(placed(tmp_path, name, records=corrected(), update=True))
    assert (again.differing, again.updated) == (0, 0)


def test_the_index_of_places_follows_a_moved_joint(tmp_path):
    map_layers.write_map(placed(tmp_path))
    map_layers.write_map(placed(tmp_path, records=corrected(), update=True))
    place = frame(tmp_path).loc[4, "geometry"]
    box = (place.x - 0.5, place.y - 0.5, place.x + 0.5, place.y + 0.5)
    assert pyogrio.read_dataframe(tmp_path / "u.gpkg", layer="joints", bbox=box)["JT_NO"].tolist() == ["5"]
    with closing(sqlite3.connect(tmp_path / "u.gpkg")) as database:
        assert database.execute("PRAGMA integrity_check").fetchone() == ("ok",)


@pytest.mark.parametrize("name", STORES[:2])
def test_joints_that_a_revision_dropped_are_listed_and_stay(tmp_path, name):
    map_layers.write_map(placed(tmp_path, name))
    gone = placed(tmp_path, name, records=log(POINTS).drop(index=[7]), update=True)
    written = map_layers.write_map(gone)
    assert written.dropped == ("A 8",)
    assert len(frame(tmp_path, name)) == 11


def test_rows_of_other_routes_and_other_owners_are_not_called_dropped(tmp_path):
    map_layers.write_map(placed(tmp_path, fixed={"OWNER": "Marrow"}))
    with closing(sqlite3.connect(tmp_path / "u.gpkg")) as database:
        for name in [name for (name,) in database.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")]:
            database.execute(f'DROP TRIGGER "{name}"')
        database.execute("UPDATE joints SET ASSET_ID = 'x' || ASSET_ID, OWNER = 'other' WHERE JT_NO = '3'")
        database.execute("UPDATE joints SET ASSET_ID = 'x' || ASSET_ID, ROUTE = 'Z' WHERE JT_NO = '4'")
        database.commit()
    written = map_layers.write_map(placed(tmp_path, fixed={"OWNER": "Marrow"}), dry_run=True)
    assert written.dropped == ()
    assert written.added == 2


def test_a_key_that_is_on_the_map_twice_is_told_and_left_alone(tmp_path):
    map_layers.write_map(placed(tmp_path))
    with closing(sqlite3.connect(tmp_path / "u.gpkg")) as database:
        for name in [name for (name,) in database.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")]:
            database.execute(f'DROP TRIGGER "{name}"')
        database.execute(
            "INSERT INTO joints (geom, ASSET_ID, JT_NO) SELECT geom, ASSET_ID, 77 FROM joints LIMIT 1 OFFSET 4"
        )
        database.commit()
    written = map_layers.write_map(placed(tmp_path, records=corrected(), update=True))
    assert (written.differing, written.updated) == (0, 0)
    assert any("1 keys are on the map more than once" in note for note in written.notes)


# Elevations that are not known ----------------------------------------------------------------------------------------


def flat():
    return POINTS * [1, 1, 0]


@pytest.mark.parametrize("name", STORES)
def test_a_layer_made_without_elevations_has_points_without_them(tmp_path, name):
    written = map_layers.write_map(placed(tmp_path, name, points=flat()))
    assert any("made of points without one" in note for note in written.notes)
    there = frame(tmp_path, name)
    assert not shapely.has_z(there.geometry.to_numpy()).any()
    assert "nan" not in there.geometry.iloc[0].wkt.casefold()
    assert written.added == len(there)


@pytest.mark.parametrize("name", STORES[:2])
def test_a_layer_that_must_have_elevations_takes_none_without_unless_the_job_says_so(tmp_path, name):
    map_layers.write_map(placed(tmp_path, name))
    other = log(flat(), first=101)
    with pytest.raises(JobFileError, match=r"11 joints have none; .*map\.unknown_elevation"):
        map_layers.write_map(placed(tmp_path, name, records=other, points=flat()))
    map_layers.write_map(
        placed(tmp_path, name, records=other, points=flat(), unknown_elevation=-999.0, others_there=True)
    )
    there = frame(tmp_path, name)
    assert shapely.get_z(there.geometry.to_numpy())[11:].tolist() == [-999.0] * 11


def test_a_column_named_like_the_row_number_of_a_geopackage_is_refused(tmp_path):
    with pytest.raises(JobFileError, match=r"(?i)map\.columns\.joint: fid .*row number"):
        map_layers.write_map(placed(tmp_path, columns=COLUMNS | {"joint": "FID"}))
    assert not (tmp_path / "u.gpkg").exists()


def test_a_shapefile_named_in_capitals_is_found_again(tmp_path):
    map_layers.write_map(placed(tmp_path, "U.SHP"))
    assert (tmp_path / "U.SHP").exists()
    assert map_layers.write_map(placed(tmp_path, "U.SHP")).already_there == 11
    with fiona.open(tmp_path / "U.SHP") as layer:
        assert len(layer) == 11


def test_numbers_that_a_file_rounds_are_no_differences(tmp_path):
    columns = COLUMNS | {"longitude": "LON", "station": "STA", "deflection_deg": "DEFL"}
    points = pipe(np.linspace(0.1, 0.9, 9))
    for name in STORES:
        map_layers.write_map(placed(tmp_path, name, columns=columns, points=points))
        assert map_layers.write_map(placed(tmp_path, name, columns=columns, points=points)).differing == 0


def test_the_layer_of_the_map_is_in_the_jobs_system(tmp_path):
    map_layers.write_map(placed(tmp_path))
    assert frame(tmp_path).crs == CRS


@pytest.mark.parametrize("name", STORES[:2])
@pytest.mark.parametrize("crs", ["EPSG:6318", "EPSG:4326", "EPSG:6417"])
def test_places_are_compared_in_degrees_and_metres_as_they_are_in_feet(tmp_path, name, crs):
    map_layers.write_map(placed(tmp_path, name, crs=crs))
    assert map_layers.write_map(placed(tmp_path, name, crs=crs), dry_run=True).differing == 0
    moved = placed(tmp_path, name, points=np.add(POINTS, [0.3, -0.4, 0.0]), crs=crs, update=True)
    dry = map_layers.write_map(moved, dry_run=True)
    assert (dry.differing, {one.column for one in dry.differences}) == (11, {"place"})
    # The two places are told with as many digits as tell them apart.
    assert all(one.there != one.here for one in dry.differences)
    assert map_layers.write_map(moved) == dry
    assert map_layers.write_map(moved, dry_run=True).differing == 0
    with pytest.raises(JobFileError, match="up to 200 ft away"):
        map_layers.write_map(placed(tmp_path, name, points=np.add(POINTS, [120.3, -160.4, 0.0]), crs=crs))
    moved_line = lines(B=np.add(POINTS, [0.3, -0.4, 0.0]))
    renamed = asbuilt.place(moved.job, centerline=moved_line, records=log(POINTS, route="B"), today=TODAY)
    with pytest.raises(JobFileError, match="11 of 11 joints to be added lie where the map has a joint already"):
        map_layers.write_map(renamed, dry_run=True)


# Keys that another main has -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("update", [False, True])
@pytest.mark.parametrize("name", STORES[:2])
def test_another_main_with_the_same_keys_is_refused_and_moves_nothing(tmp_path, name, update):
    map_layers.write_map(placed(tmp_path, name))
    before = frame(tmp_path, name)
    other = placed(tmp_path, name, points=np.add(POINTS, [5_000.0, 0.0, 0.0]), update=update)
    with pytest.raises(JobFileError, match=r"map\.key: 11 of 11 joints of route 'A' .* elsewhere .* 5,000 ft away"):
        map_layers.write_map(other, dry_run=True)
    with pytest.raises(JobFileError, match=r"another main has the same keys"):
        map_layers.write_map(other)
    pd.testing.assert_frame_equal(frame(tmp_path, name), before)


@pytest.mark.parametrize("name", STORES[:2])
def test_another_main_close_by_with_the_same_numbers_is_refused_and_keeps_its_rows(tmp_path, name):
    """By a key of the number alone all rows of a main 25 ft beside became the job's, and moved."""
    into = {"into": name, "columns": COLUMNS, "key": "joint"} | ({} if name.endswith(".shp") else {"layer": "joints"})
    beside = Job.from_mapping(values(map=into), folder=tmp_path)
    beside_line = lines(B=np.add(POINTS, [25.0, 0.0, 0.0]))
    map_layers.write_map(asbuilt.place(beside, centerline=beside_line, records=log(POINTS, route="B"), today=TODAY))
    before = frame(tmp_path, name)
    for dry_run in (True, False):
        with pytest.raises(JobFileError, match=r"map\.update: 11 of 11 joints of route 'A' .*another ROUTE there "
                           r"\(map\.columns\.route; the first is A 1: 'B' on the map, 'A' in the job\)\. Nothing was "
                           r"written.*map\.identity_changes = true"):  # fmt: skip
            map_layers.write_map(placed(tmp_path, name, key="joint", update=True), dry_run=dry_run)
    pd.testing.assert_frame_equal(frame(tmp_path, name), before)
    meant = placed(tmp_path, name, key="joint", update=True, identity_changes=True)
    assert map_layers.write_map(meant).updated == 11
    assert set(frame(tmp_path, name)["ROUTE"]) == {"A"}


def test_columns_that_were_exchanged_in_the_job_overwrite_nothing(tmp_path):
    map_layers.write_map(placed(tmp_path))
    before = (tmp_path / "u.gpkg").read_bytes()
    exchanged = COLUMNS | {"route": "JT_NO", "joint": "ROUTE"}
    with pytest.raises(JobFileError, match=r"11 of 11 joints .*another JT_NO there \(map\.columns\.route"):
        map_layers.write_map(placed(tmp_path, columns=exchanged, update=True))
    assert (tmp_path / "u.gpkg").read_bytes() == before


def test_sizes_of_few_joints_follow_the_job_and_blanks_of_the_map_are_filled(tmp_path):
    first = log(POINTS)
    first.loc[:4, "size"] = "8"
    map_layers.write_map(placed(tmp_path, records=first))
    with closing(sqlite3.connect(tmp_path / "u.gpkg")) as database:
        for (trigger,) in database.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            database.execute(f'DROP TRIGGER "{trigger}"')
        database.execute("UPDATE joints SET ROUTE = NULL")
        database.commit()
    written = map_layers.write_map(placed(tmp_path, update=True))
    assert written.updated == 11
    assert set(frame(tmp_path)["ROUTE"]) == {"A"}
    assert set(frame(tmp_path)["DIAM"]) == {12}


def test_a_single_joint_whose_station_was_far_wrong_follows_the_job(tmp_path):
    wrong = log(POINTS).drop(index=[5])
    wrong.loc[4, "station"] = "1+99.00"
    map_layers.write_map(placed(tmp_path, records=wrong))
    written = map_layers.write_map(placed(tmp_path, update=True))
    assert (written.updated, written.added) == (1, 1)


def test_a_job_renamed_since_is_noticed_where_its_joints_lie(tmp_path):
    map_layers.write_map(placed(tmp_path))
    into = {"into": "u.gpkg", "columns": COLUMNS, "layer": "joints"}
    job = Job.from_mapping(values(map=into), folder=tmp_path)
    renamed = asbuilt.place(job, centerline=lines(B=POINTS), records=log(POINTS, route="B"), today=TODAY)
    with pytest.raises(JobFileError, match="11 of 11 joints to be added lie where the map has a joint already"):
        map_layers.write_map(renamed, dry_run=True)
    job = Job.from_mapping(values(map=into | {"others_there": True}), folder=tmp_path)
    renamed = asbuilt.place(job, centerline=lines(B=POINTS), records=log(POINTS, route="B"), today=TODAY)
    written = map_layers.write_map(renamed, dry_run=True)
    assert written.added == 11
    assert any("11 of 11 joints to be added lie where the map has a joint already" in note for note in written.notes)


@pytest.mark.parametrize("layer", ["joints", "owners"])
@pytest.mark.parametrize("kind", ["register", "placed"])
def test_a_register_and_a_placed_file_are_no_map_of_the_utility(tmp_path, kind, layer):
    """What was written past the loads could not be undone, and a row without a load made the register unreadable."""
    placement = placed(tmp_path, "own.gpkg", layer=layer, update=True)
    placement.write(tmp_path / "placed.gpkg")
    own = tmp_path / "own.gpkg"
    if kind == "register":
        asbuilt.load(tmp_path / "placed.gpkg", str(own))
    else:
        shutil.copy(tmp_path / "placed.gpkg", own)
    before = own.read_bytes()
    for dry_run in (True, False):
        with pytest.raises(OutputError, match=rf"is a {kind}.*name the utility's own map in map\.into"):
            map_layers.write_map(placement, dry_run=dry_run)
    assert own.read_bytes() == before


# Logs numbered anew ---------------------------------------------------------------------------------------------------

LONG = pipe([0.0] * 39)


def test_a_log_with_a_joint_put_in_and_all_behind_it_renumbered_is_refused(tmp_path):
    """Rows followed their numbers to the neighbouring bells, and what the utility had noted of one went along."""
    first = placed(
        tmp_path, points=LONG, records=log(LONG).drop(index=[20]).assign(joint=[str(1 + n) for n in range(40)])
    )
    map_layers.write_map(first)
    before = (tmp_path / "u.gpkg").read_bytes()
    for update in (False, True):
        renumbered = placed(tmp_path, points=LONG, records=log(LONG), update=update)
        for dry_run in (True, False):
            with pytest.raises(JobFileError, match=r"(?s)19 of 20 joints of route 'A'.*where the map has A 21; .*"
                               r"20 moved, all 20\.00 ft.*renumbered.*21A.*"
                               r"map\.renumbered = true"):  # fmt: skip
                map_layers.write_map(renumbered, dry_run=dry_run)
    assert (tmp_path / "u.gpkg").read_bytes() == before
    meant = placed(tmp_path, points=LONG, records=log(LONG), update=True, renumbered=True)
    dry = map_layers.write_map(meant, dry_run=True)
    written = map_layers.write_map(meant)
    assert dry == written
    assert (written.added, written.updated) == (1, 20)
    assert written.moves == "20 moved, all 20.00 ft"
    assert any("19 joints stand where the map has another joint" in note for note in written.notes)
    # The row whose place the added joint takes moved on itself: nothing lies there twice.
    assert not any("under another key" in note for note in written.notes)


def test_stations_that_all_moved_a_little_are_told_and_not_refused(tmp_path):
    map_layers.write_map(placed(tmp_path, points=LONG, records=log(LONG[:-1], start=0.0)))
    moved = placed(tmp_path, points=LONG, records=log(LONG[:-1], start=2.0), update=True)
    assert map_layers.write_map(moved).moves == "40 moved, all 2.00 ft"
    assert map_layers.write_map(moved).moves == ""


def test_two_joints_mistaken_for_one_another_are_noted(tmp_path):
    mistaken = log(POINTS)
    mistaken.loc[[4, 5], "station"] = mistaken.loc[[5, 4], "station"].to_numpy()
    map_layers.write_map(placed(tmp_path, records=mistaken))
    written = map_layers.write_map(placed(tmp_path, update=True))
    assert written.updated == 2
    assert any("2 joints stand where the map has another joint now (A 5, A 6)" in note for note in written.notes)


def test_joints_numbered_with_noughts_before_are_not_put_on_the_map_twice(tmp_path):
    map_layers.write_map(placed(tmp_path))
    before = (tmp_path / "u.gpkg").read_bytes()
    padded = log(POINTS).assign(joint=[f"{1 + n:03}" for n in range(11)])
    for dry_run in (True, False):
        with pytest.raises(JobFileError, match=r"(?s)joints to be added lie where.*7 is not 007.*map\.others_there"):
            map_layers.write_map(placed(tmp_path, records=padded), dry_run=dry_run)
    assert (tmp_path / "u.gpkg").read_bytes() == before
    assert map_layers.write_map(placed(tmp_path, records=padded, others_there=True)).added == 11


@pytest.mark.parametrize("name", STORES[:2])
def test_blanks_of_the_log_wipe_nothing_unasked(tmp_path, name):
    map_layers.write_map(placed(tmp_path, name))
    blank = log(POINTS)
    blank.loc[[3, 4], ["size", "date"]] = ""
    blank.loc[4, "inspector"] = "M. Whitlock"
    kept = placed(tmp_path, name, records=blank, update=True)
    dry = map_layers.write_map(kept, dry_run=True)
    written = map_layers.write_map(kept)
    assert dry == written
    after = frame(tmp_path, name)
    assert after.loc[[3, 4], "DIAM"].tolist() == [12, 12]
    assert after.loc[[3, 4], "INSP_DATE"].notna().all()
    assert after.loc[4, "INSPECTOR"] == "M. Whitlock"
    assert written.updated == 1
    assert any("2 values of DIAM that the map has are blank in the log, and stay" in note for note in written.notes)
    assert any("(A 4, A 5); map.blanks = true" in note for note in written.notes)
    wiped = placed(tmp_path, name, records=blank, update=True, blanks=True)
    assert map_layers.write_map(wiped).updated == 2
    assert frame(tmp_path, name).loc[[3, 4], "INSPECTOR"].tolist() == ["R. Vance", "M. Whitlock"]
    assert frame(tmp_path, name).loc[[3, 4], "DIAM"].fillna(0).tolist() == [0, 0]


def test_elevations_that_the_layer_does_not_hold_are_told(tmp_path):
    map_layers.write_map(placed(tmp_path, points=flat()))
    written = map_layers.write_map(placed(tmp_path), dry_run=True)
    assert any("those of 11 joints are not in their points; map.columns.elevation" in note for note in written.notes)


@pytest.mark.parametrize(("zone", "told"), [("EPSG:6420", True), (CRS, False)])
def test_joints_of_the_neighbouring_zone_are_told_to_lie_far_from_everything_on_the_map(tmp_path, zone, told):
    map_layers.write_map(placed(tmp_path))
    other = lines(B=np.add(POINTS, [3000.0, 5000.0, 0.0])).set_crs(zone, allow_override=True)
    into = {"into": "u.gpkg", "columns": COLUMNS, "layer": "joints"}
    job = Job.from_mapping(values(map=into), folder=tmp_path)
    written = map_layers.write_map(asbuilt.place(job, centerline=other, records=log(POINTS), today=TODAY), dry_run=True)
    assert written.added == 11
    assert any("km from everything that is on the map: is crs" in note for note in written.notes) == told
