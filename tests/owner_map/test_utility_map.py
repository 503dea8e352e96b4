"""Joints in the utility's own layer: its names, types, codes and coordinate system, and nothing of it touched."""

import datetime as dt
import hashlib
import json
import sqlite3
import subprocess
import sys
import textwrap
import tomllib
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import fiona
import geopandas as gpd
import numpy as np
import pandas as pd
import pyarrow as pa
import pyogrio
import pytest
import shapely
from hosts import python_with
from laying import CRS, TODAY, lines, log, pipe, values
from pyproj import Transformer

import asbuilt
from asbuilt import cli
from asbuilt.checks import CHECK_KINDS
from asbuilt.errors import AsbuiltError, JobFileError, OutputError
from asbuilt.job import Job
from asbuilt.keys.outputs import Map
from asbuilt.owner_map import fitting, map_layers, utility_map
from asbuilt.owner_map.utility_map import Field, Target

POINTS = pipe([0.0] * 9)
COLUMNS = {"joint_uid": "ASSET_ID", "joint": "JT_NO", "size": "DIAM", "verdict": "DEFL", "inspected_on": "INSP_DATE"}
CODES = {
    "verdict": {"within": 1, "within-assumed": 1, "over": 2, "cannot-tell": 3, "no-allowable": 4, "not-computed": 9}
}


def placed(folder, *, records=None, **wanted):
    into = {"into": "utility.gpkg", "layer": "water_joints", "columns": COLUMNS, "values": CODES, **wanted}
    into = {key: value for key, value in into.items() if value is not None}
    job = Job.from_mapping(values(map=into), folder=folder)
    records = log(POINTS) if records is None else records
    return asbuilt.place(job, centerline=lines(A=POINTS), records=records, today=TODAY)


def utility_layer(path, *, layer="water_joints", crs=CRS, has_z=True, **more):
    """Make the utility's layer, with two joints of its own in it."""
    schema = {
        "geometry": "3D Point" if has_z else "Point",
        "properties": {"ASSET_ID": "str:40", "JT_NO": "str:12", "DIAM": "int32", "DEFL": "int32",
                       "INSP_DATE": "date", "OWNER": "str:10", "NOTES": "str", **more},
    }  # fmt: skip
    driver = "ESRI Shapefile" if path.suffix == ".shp" else "GPKG"
    options = {} if path.suffix == ".shp" else {"layer": layer}
    blank = dict.fromkeys(schema["properties"])
    with fiona.open(path, "w", driver=driver, schema=schema, crs=crs, **options) as target:
        for number in (1, 2):
            place = (6_700_100.0 + number, 2_000_000.0, 9.0)
            target.write({
                "geometry": {"type": "Point", "coordinates": place[: 3 if has_z else 2]},
                "properties": {**blank, "ASSET_ID": f"old-{number}", "NOTES": "as drawn in 1987", "DIAM": 8},
            })  # fmt: skip


def rows(path, layer="water_joints"):
    frame = gpd.read_file(path) if Path(path).suffix == ".shp" else gpd.read_file(path, layer=layer)
    return frame.astype(object).where(frame.notna(), None)


def changed(path, *statements):
    with sqlite3.connect(path) as database:
        for statement in statements:
            database.execute(statement)
    database.close()


def problems(placement):
    with pytest.raises(AsbuiltError) as caught:
        map_layers.write_map(placement)
    return str(caught.value)


def digest(path):
    return hashlib.sha256(path.read_bytes()).hexdigest()


# A layer that is made


def test_a_job_that_made_its_layer_goes_into_it_again_with_the_types_it_says(tmp_path):
    types = {"ASSET_ID": "text(36)", "DIAM": "real", "DEFL": "integer"}
    assert map_layers.write_map(placed(tmp_path, types=types)).created
    again = map_layers.write_map(placed(tmp_path, types=types))
    assert (again.created, again.already_there, again.added) == (False, 11, 0)
    said = problems(placed(tmp_path, types=types | {"ASSET_ID": "text(20)"}))
    assert "map.types.ASSET_ID: the layer is there already, and has it as text of at most 36 characters" in said


def test_a_layer_is_made_with_the_utilitys_names_types_and_codes(tmp_path):
    placement = placed(tmp_path, fixed={"OWNER": "Marrow", "SURVEYED": True}, types={"ASSET_ID": "text(36)"})
    written = map_layers.write_map(placement)
    assert (written.created, written.joints, written.added) == (True, 11, 11)
    frame = rows(tmp_path / "utility.gpkg")
    assert [name for name in frame.columns if name != "geometry"] == [*COLUMNS.values(), "OWNER", "SURVEYED"]
    assert frame["ASSET_ID"].tolist() == placement.joints["joint_uid"].tolist()
    assert frame["DEFL"].tolist() == [9, *[1] * 9, 9]
    assert set(frame["OWNER"]) == {"Marrow"}
    assert set(frame["SURVEYED"]) == {True}
    assert frame["INSP_DATE"].iloc[0] == pd.Timestamp("2026-04-02")
    assert shapely.get_coordinates(frame.geometry, include_z=True) == pytest.approx(
        shapely.get_coordinates(placement.joints.geometry, include_z=True)
    )
    with fiona.open(tmp_path / "utility.gpkg", layer="water_joints") as layer:
        assert layer.schema["properties"]["ASSET_ID"] == "str:36"
        assert layer.schema["properties"]["DEFL"].startswith("int")


def test_a_layer_in_another_coordinate_system_has_its_points_where_proj_puts_them(tmp_path):
    placement = placed(tmp_path, crs="EPSG:6339", columns=COLUMNS | {"easting": "E", "northing": "N"})
    written = map_layers.write_map(placement)
    frame = rows(tmp_path / "utility.gpkg")
    to_map = Transformer.from_crs(CRS, "EPSG:6339", always_xy=True)
    east, north = to_map.transform(POINTS[:, 0], POINTS[:, 1])
    ours = shapely.get_coordinates(frame.geometry)
    assert ours == pytest.approx(np.stack([east, north], axis=1), abs=0.02)  # stations are to the hundredth
    assert frame[["E", "N"]].to_numpy(float) == pytest.approx(ours)
    assert "elevations on the map are in US survey feet, as in the centerline" in written.notes


def test_a_shapefile_is_made_within_its_limits(tmp_path):
    records = log(POINTS, inspector="Zoë Brännström")
    placement = placed(
        tmp_path, into="joints.shp", layer=None, columns=COLUMNS | {"inspector": "INSP"}, records=records
    )
    map_layers.write_map(placement)
    frame = rows(tmp_path / "joints.shp")
    assert set(frame["INSP"]) == {"Zoë Brännström"}
    assert frame["ASSET_ID"].tolist() == placement.joints["joint_uid"].tolist()
    assert frame["DEFL"].tolist() == [9, *[1] * 9, 9]
    assert frame["DIAM"].tolist() == [12.0] * 11
    message = problems(placed(tmp_path, into="new.shp", layer=None, columns=COLUMNS | {"inspector": "INSPECTED_BY"},
                              fixed={"LIVE": True}))  # fmt: skip
    assert "the column INSPECTED_BY has more than the 10 letters of a Shapefile's name" in message
    assert "map.types.LIVE: a Shapefile made here has no yes or no" in message
    assert not (tmp_path / "new.shp").exists()


# A layer that is there


@pytest.mark.parametrize("name", ["utility.gpkg", "utility.shp"])
def test_joints_are_appended_and_nothing_that_was_there_changes(tmp_path, name):
    path = tmp_path / name
    utility_layer(path)
    if name.endswith("gpkg"):
        utility_layer(path, layer="valves")
        changed(path, "CREATE TABLE work_orders (id INTEGER PRIMARY KEY, what TEXT)",
                "INSERT INTO work_orders VALUES (1, 'flush')")  # fmt: skip
    before = rows(path)
    layer = "water_joints" if name.endswith("gpkg") else None
    placement = placed(tmp_path, into=name, layer=layer, fixed={"OWNER": "Marrow"})
    written = map_layers.write_map(placement)
    assert (written.created, written.already_there, written.added) == (False, 0, 11)
    after = rows(path)
    pd.testing.assert_frame_equal(after.iloc[:2], before)
    assert after["ASSET_ID"].tolist()[2:] == placement.joints["joint_uid"].tolist()
    assert after["OWNER"].tolist()[2:] == ["Marrow"] * 11
    assert after["NOTES"].tolist()[2:] == [None] * 11
    assert [point.z for point in after.geometry[2:]] == pytest.approx([50.0] * 11)
    if name.endswith("gpkg"):
        assert len(rows(path, "valves")) == 2
        with sqlite3.connect(path) as database:
            assert database.execute("SELECT what FROM work_orders").fetchall() == [("flush",)]
        database.close()
        found = pyogrio.read_dataframe(path, layer="water_joints", bbox=tuple(placement.joints.total_bounds))
        assert len(found) == 11


@pytest.mark.parametrize("name", ["utility.gpkg", "utility.shp"])
def test_the_same_joints_are_never_there_twice(tmp_path, name):
    wanted = {"into": name, "layer": "water_joints" if name.endswith("gpkg") else None}
    map_layers.write_map(placed(tmp_path, records=log(POINTS).iloc[:6], **wanted))
    second = map_layers.write_map(placed(tmp_path, **wanted))
    assert (second.already_there, second.added) == (6, 5)
    before = digest(tmp_path / name)
    third = map_layers.write_map(placed(tmp_path, **wanted))
    assert (third.already_there, third.added) == (11, 0)
    assert digest(tmp_path / name) == before
    assert len(rows(tmp_path / name)) == 11


def test_joints_may_be_known_by_route_and_number(tmp_path):
    columns = {"route": "MAIN", "joint": "JT_NO"}
    wanted = {"columns": columns, "key": ["route", "joint"], "values": {}}
    map_layers.write_map(placed(tmp_path, **wanted))
    assert map_layers.write_map(placed(tmp_path, **wanted)).added == 0


def test_a_flat_layer_gets_flat_points_and_one_of_multipoints_gets_these(tmp_path):
    utility_layer(tmp_path / "utility.gpkg", has_z=False)
    map_layers.write_map(placed(tmp_path))
    assert not rows(tmp_path / "utility.gpkg").geometry.has_z.any()
    with fiona.open(tmp_path / "many.gpkg", "w", driver="GPKG", layer="water_joints", crs=CRS,
                    schema={"geometry": "MultiPoint", "properties": {"ASSET_ID": "str"}}):  # fmt: skip
        pass
    map_layers.write_map(placed(tmp_path, into="many.gpkg", columns={"joint_uid": "ASSET_ID"}, values={}))
    assert set(rows(tmp_path / "many.gpkg").geom_type) == {"MultiPoint"}


def test_short_whole_numbers_yes_or_no_and_times_of_a_layer(tmp_path):
    path = tmp_path / "utility.gpkg"
    utility_layer(path)
    for column in ("small SMALLINT", "tied BOOLEAN", "seen DATETIME", "wide MEDIUMINT"):
        changed(path, f"ALTER TABLE water_joints ADD COLUMN {column}")
    columns = {
        "joint_uid": "ASSET_ID",
        "size": "small",
        "restrained": "tied",
        "inspected_on": "seen",
        "findings": "wide",
    }
    map_layers.write_map(placed(tmp_path, columns=columns, values={}, records=log(POINTS, restrained="yes")))
    with sqlite3.connect(path) as database:
        found = database.execute("SELECT DISTINCT small, tied, seen FROM water_joints WHERE fid > 2").fetchall()
    database.close()
    ((small, tied, seen),) = found
    assert (small, tied) == (12, 1)
    assert seen.startswith("2026-04-02T00:00:00")


# What does not fit is said before anything is written


def test_every_value_that_does_not_fit_is_reported_and_nothing_is_written(tmp_path):
    path = tmp_path / "utility.gpkg"
    utility_layer(path, SHORT="str:3")
    changed(
        path,
        "ALTER TABLE water_joints ADD COLUMN crew_name TEXT NOT NULL DEFAULT 'x'",
        "ALTER TABLE water_joints ADD COLUMN tiny TINYINT",
    )
    before = digest(path)
    columns = COLUMNS | {"inspector": "SHORT", "joint_type": "tiny", "station": "STATN", "elevation": "INSP_DATE2"}
    message = problems(
        placed(tmp_path, columns=columns, values={"verdict": {"within-assumed": "one"}}, fixed={"OWNER": "M" * 11})
    )
    for part in (
        "the job: nothing was written to the map",
        "map.values.verdict: there is no value for 'not-computed'; add it",
        "map.columns.verdict: 9 values do not fit DEFL (a whole number, from -2147483648 to 2147483647): 'one'",
        "map.columns.inspector: 11 values do not fit SHORT (text of at most 3 characters): 'R. Vance'",
        "map.columns.joint_type: 11 values do not fit tiny (a whole number, from -128 to 127): 'push-on'",
        "map.columns.station: the layer water_joints has no column 'STATN'; its columns are",
        "map.columns.elevation: the layer water_joints has no column 'INSP_DATE2'; did you mean 'INSP_DATE'?",
        f"map.fixed.OWNER: 11 values do not fit OWNER (text of at most 10 characters): '{'M' * 11}'",
    ):
        assert part in message, part
    assert digest(path) == before


def test_coded_values_of_the_layer_are_honoured(tmp_path):
    path = tmp_path / "utility.gpkg"
    utility_layer(path)
    changed(
        path,
        "CREATE TABLE gpkg_data_columns (table_name TEXT, column_name TEXT, name TEXT, title TEXT, description TEXT, "
        "mime_type TEXT, constraint_name TEXT)",
        "CREATE TABLE gpkg_data_column_constraints (constraint_name TEXT, constraint_type TEXT, value TEXT, "
        "min NUMERIC, min_is_inclusive BOOLEAN, max NUMERIC, max_is_inclusive BOOLEAN, description TEXT)",
        "INSERT INTO gpkg_data_columns (table_name, column_name, constraint_name) VALUES "
        "('water_joints', 'DEFL', 'codes'), ('water_joints', 'DIAM', 'sizes'), ('water_joints', 'JT_NO', 'numbers')",
        "INSERT INTO gpkg_data_column_constraints (constraint_name, constraint_type, value) VALUES "
        "('codes', 'enum', '1'), ('codes', 'enum', '2'), ('numbers', 'glob', 'J*')",
        "INSERT INTO gpkg_data_column_constraints (constraint_name, constraint_type, min, max) VALUES "
        "('sizes', 'range', 3, 10)",
    )
    message = problems(placed(tmp_path))
    assert "DEFL (a whole number, from -2147483648 to 2147483647, one of 1, 2): '9'" in message
    assert "map.columns.size: 11 values do not fit DIAM (a whole number, from 3 to 10): '12'" in message
    assert (
        "map.columns.joint: 11 values do not fit JT_NO (text of at most 12 characters, like J*): '1', '2', '3'"
        in message
    )
    codes = {"verdict": {"within-assumed": 1, "not-computed": 2}}
    records = log(POINTS, size="8", joint=[f"J{number}" for number in range(11)])
    assert map_layers.write_map(placed(tmp_path, values=codes, records=records)).added == 11


def test_a_column_that_must_be_filled_in_is_asked_for(tmp_path):
    path = tmp_path / "utility.gpkg"
    utility_layer(path)
    changed(
        path,
        'CREATE TABLE "strict" (fid INTEGER PRIMARY KEY, geom POINT, ASSET_ID TEXT NOT NULL, CREW TEXT NOT NULL, '
        "SOURCE TEXT NOT NULL, MADE TEXT NOT NULL DEFAULT 'now')",
        "INSERT INTO gpkg_contents (table_name, data_type, identifier, srs_id) "
        "SELECT 'strict', data_type, 'strict', srs_id FROM gpkg_contents WHERE table_name = 'water_joints'",
        "INSERT INTO gpkg_geometry_columns SELECT 'strict', 'geom', 'POINT', srs_id, 0, 0 FROM gpkg_geometry_columns",
    )
    columns = {"joint_uid": "ASSET_ID", "inspector": "CREW"}
    records = log(POINTS)
    records.loc[3, "inspector"] = None
    message = problems(placed(tmp_path, layer="strict", columns=columns, values={}, records=records))
    assert "map.columns.inspector: 1 value blank, but CREW must be filled in" in message
    assert "map: the column SOURCE must be filled in; give it a field or a fixed value" in message
    assert "MADE" not in message


def test_widths_of_a_shapefile_count_bytes_and_its_numbers_have_digits(tmp_path):
    path = tmp_path / "utility.shp"
    utility_layer(path, TWO="int:2", NAME="str:8")
    (tmp_path / "utility.cpg").write_text("UTF-8")
    columns = {"joint_uid": "ASSET_ID", "inspector": "NAME", "size": "TWO"}
    message = problems(
        placed(
            tmp_path,
            into="utility.shp",
            layer=None,
            columns=columns,
            values={},
            records=log(POINTS, inspector="Brännstr", size="120"),
        )
    )
    assert "11 values do not fit NAME (text of at most 8 bytes in UTF-8): 'Brännstr'" in message
    assert "map.columns.size: 11 values do not fit TWO (a whole number, from -9 to 99): '120'" in message


@pytest.mark.parametrize(
    ("wanted", "words"),
    [
        ({"into": "utility.kml"}, "is neither a GeoPackage, a Shapefile nor postgresql"),
        ({"into": "no/such/utility.gpkg"}, "there is no folder"),
        ({"layer": None}, "map.layer: this key is required for a GeoPackage"),
        (
            {"crs": "EPSG:6339"},
            "map.crs: the layer water_joints is in NAD83(2011) / California zone 2 (ftUS), not EPSG:6339",
        ),
        ({"types": {"DIAM": "text"}}, "map.types.DIAM: the layer is there already, and has it as a"),
        ({"layer": "mains"}, "map.layer: mains holds Linestring, not points"),
        ({"columns": {"joint_uid": "fid"}, "values": {}}, "the column fid is filled by the layer itself"),
    ],
)
def test_a_map_that_cannot_be_is_named_by_its_key(tmp_path, wanted, words):
    path = tmp_path / "utility.gpkg"
    utility_layer(path)
    lines(A=POINTS).to_file(path, layer="mains")
    before = digest(path)
    assert words in problems(placed(tmp_path, **wanted))
    assert digest(path) == before


def test_a_file_that_is_no_shapefile_is_neither_read_nor_written(tmp_path):
    utility_layer(tmp_path / "utility.gpkg")
    source = f"<SrcDataSource>{tmp_path}/utility.gpkg</SrcDataSource>"
    other = f"<OGRVRTDataSource><OGRVRTLayer name='water_joints'>{source}</OGRVRTLayer></OGRVRTDataSource>"
    (tmp_path / "utility.shp").write_text(other)
    assert "does not begin like a Shapefile" in problems(placed(tmp_path, into="utility.shp", layer=None))
    assert (tmp_path / "utility.shp").read_text() == other


def test_a_layer_without_a_coordinate_system_takes_the_jobs(tmp_path):
    utility_layer(tmp_path / "utility.shp")
    (tmp_path / "utility.prj").unlink()
    wanted = {"into": "utility.shp", "layer": None}
    assert "map.crs: the layer utility does not say its coordinate system; name it" in problems(
        placed(tmp_path, **wanted)
    )
    assert map_layers.write_map(placed(tmp_path, crs=CRS, **wanted)).added == 11


def test_a_file_that_is_open_elsewhere_or_changes_meanwhile_is_left_alone(tmp_path, monkeypatch):
    path = tmp_path / "utility.gpkg"
    utility_layer(path)
    side = tmp_path / "utility.gpkg-wal"
    side.write_bytes(b"")
    assert "has this file open for editing" in problems(placed(tmp_path))
    side.unlink()
    append = map_layers._append

    def meanwhile(copy, target, table):
        append(copy, target, table)
        changed(path, "CREATE TABLE theirs (id INTEGER)")

    monkeypatch.setattr(map_layers, "_append", meanwhile)
    assert "was changed by another program meanwhile; run this again" in problems(placed(tmp_path))
    assert len(rows(path)) == 2


@pytest.mark.parametrize("name", ["utility.gpkg", "utility.shp"])
def test_a_failure_on_the_way_leaves_the_layer_as_it_was(tmp_path, monkeypatch, name):
    utility_layer(tmp_path / name)
    before = {path.name: digest(path) for path in tmp_path.iterdir()}
    append = map_layers._append

    def broken(copy, target, table):
        append(copy, target, table)
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(map_layers, "_append", broken)
    with pytest.raises((OutputError, OSError)):
        map_layers.write_map(placed(tmp_path, into=name, layer="water_joints" if name.endswith("gpkg") else None))
    assert {path.name: digest(path) for path in tmp_path.iterdir()} == before


@pytest.mark.parametrize("name", ["utility.gpkg", "utility.shp"])
def test_a_kill_in_the_middle_leaves_the_layer_as_it_was(tmp_path, name):
    utility_layer(tmp_path / name)
    before = {path.name: digest(path) for path in tmp_path.iterdir()}
    wanted = {"into": name, "layer": "water_joints" if name.endswith("gpkg") else None}
    script = textwrap.dedent(
        f"""
        import sys, time
        sys.path[:0] = [{str(Path(__file__).parent)!r}, {str(Path(__file__).parents[1])!r}]
        from test_utility_map import *

        append = map_layers._append
        def half(*given):
            append(*given)
            print("half", flush=True)
            time.sleep(600)

        map_layers._append = half
        map_layers.write_map(placed(Path({str(tmp_path)!r}), **{wanted!r}))
        """
    )
    with subprocess.Popen([sys.executable, "-c", script], stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout.readline() == "half\n"
        process.kill()
    assert {path.name: digest(path) for path in tmp_path.iterdir() if path.is_file()} == before
    assert map_layers.write_map(placed(tmp_path, **wanted)).added == 11


def test_an_independent_validator_finds_nothing_in_the_utilitys_file(tmp_path):
    """GDAL's sample validator of the GeoPackage standard, with every warning an error."""
    validator = "osgeo_utils.samples.validate_gpkg"
    python = python_with(validator)
    utility_layer(tmp_path / "utility.gpkg")
    map_layers.write_map(placed(tmp_path))
    map_layers.write_map(placed(tmp_path, layer="joints_made"))
    strict = [python, "-m", validator, "-k", "--extra", "--warning-as-error", tmp_path / "utility.gpkg"]
    done = subprocess.run(strict, capture_output=True, text=True)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


def test_a_shapefiles_indexes_do_not_outlive_its_rows(tmp_path):
    utility_layer(tmp_path / "utility.shp")
    (tmp_path / "utility.qix").write_bytes(b"old index")
    map_layers.write_map(placed(tmp_path, into="utility.shp", layer=None))
    assert not (tmp_path / "utility.qix").exists()
    found = pyogrio.read_dataframe(tmp_path / "utility.shp", bbox=tuple(placed(tmp_path).joints.total_bounds))
    assert len(found) == 11


# The job file and the command


@pytest.mark.parametrize(
    ("wanted", "words"),
    [
        (
            {"columns": {"jointuid": "A"}},
            "map: columns.jointuid: joints have no field 'jointuid'; did you mean 'joint_uid'?",
        ),
        ({"columns": {"joint": "A"}}, "map: joint_uid must be in map.columns too"),
        ({"columns": {"joint_uid": "A", "joint": "a"}}, "map: the column 'a' is given twice"),
        ({"columns": {"joint_uid": "A"}, "fixed": {"a": 1}}, "map: the column 'a' is given twice"),
        ({"columns": {"joint_uid": "A"}, "types": {"B": "text"}}, "map: types.B: no field or fixed value goes"),
        ({"columns": {"joint_uid": "A"}, "types": {"A": "varchar"}}, "map.types.A: string should match pattern"),
        ({"columns": {}}, "map.columns: dictionary should have at least 1 item"),
        ({"columns": {"joint_uid": "A"}, "into": "postgresql://gis:secret@db/map"}, "map: into: holds a password"),
    ],
)
def test_a_map_in_the_job_file_is_whole(wanted, words):
    with pytest.raises(JobFileError) as caught:
        Job.from_mapping(values(map={"into": "u.gpkg", "layer": "j", **wanted}))
    assert words in str(caught.value)
    assert "secret" not in str(caught.value)


def test_a_job_without_a_map_says_so(tmp_path):
    job = Job.from_mapping(values())
    placement = asbuilt.place(job, centerline=lines(A=POINTS), records=log(POINTS), today=TODAY)
    with pytest.raises(JobFileError, match=r"map: there is no \[map\] in the job"):
        map_layers.write_map(placement)


def test_the_command_tries_dry_and_then_writes(tmp_path, capsys):
    lines(A=POINTS).to_file(tmp_path / "line.gpkg")
    log(POINTS).to_csv(tmp_path / "log.csv", index=False)
    job = tmp_path / "job.toml"
    job.write_text(
        'name = "t"\n[centerline]\npath = "line.gpkg"\nroute = "route"\n[records]\npath = "log.csv"\n'
        'station_unit = "us-ft"\nlaying_length = 20.0\n[map]\ninto = "utility.gpkg"\nlayer = "joints"\n'
        '[map.columns]\njoint_uid = "ASSET_ID"\n'
    )
    assert tomllib.loads(job.read_text())["map"]["into"] == "utility.gpkg"
    assert cli.run(["map", str(job), "--dry-run"]) == 0
    assert (
        "would be made, 0 of 11 joints are there already; 11 would be added. Nothing was written."
        in capsys.readouterr().out
    )
    assert not (tmp_path / "utility.gpkg").exists()
    assert cli.run(["map", str(job), "--json"]) == 0
    result = json.loads(capsys.readouterr().out)
    assert (result["created"], result["added"], result["already_there"]) == (True, 11, 0)
    assert cli.run(["map", str(job)]) == 0
    assert "11 of 11 joints are there already; 0 added" in capsys.readouterr().out
    assert not (tmp_path / "joints.gpkg").exists()


def test_the_command_says_what_check_finds_before_it_writes(tmp_path, capsys):
    lines(A=POINTS).to_file(tmp_path / "line.gpkg")
    records = log(POINTS)
    records.loc[3, "station"] = "99+00.00"
    records.loc[5, "home to mark"] = "no"
    records.to_csv(tmp_path / "log.csv", index=False)
    job = tmp_path / "job.toml"
    job.write_text(
        'name = "t"\n[centerline]\npath = "line.gpkg"\nroute = "route"\n[records]\npath = "log.csv"\n'
        'station_unit = "us-ft"\nlaying_length = 20.0\n[map]\ninto = "utility.gpkg"\nlayer = "joints"\n'
        '[map.columns]\njoint_uid = "ASSET_ID"\n'
    )
    assert cli.run(["check", str(job), "--json"]) == 0
    checked = json.loads(capsys.readouterr().out)
    act = [one["kind"] for one in checked["rows"] if one["severity"] == "act" and one["kind"] in CHECK_KINDS]
    assert len(act) == 2
    assert cli.run(["map", str(job), "--dry-run", "--strict"]) == 1
    told = capsys.readouterr().out
    assert f"11 read, 1 set aside, {len(act)} to act on; asbuilt check tells which" in told
    assert cli.run(["map", str(job), "--json"]) == 0
    result = json.loads(capsys.readouterr().out)
    assert (result["records_read"], result["records_set_aside"], result["findings_to_act_on"]) == (11, 1, len(act))


# The fitting itself


def test_texts_are_read_as_the_columns_kind():
    ours = pa.table({"a": ["12", "12.5", "x", None], "b": ["2026-02-28", "2026-02-30", "soon", None]})
    wanted = Map.model_construct(columns={"a": "N", "b": "D"}, values={}, fixed={})
    table, found = utility_map.fit(
        ours, wanted, Target("t", (Field("N", "real"), Field("D", "date")), "Point", True, None)
    )
    assert table["N"].to_pylist()[:2] == [12.0, 12.5]
    assert table["D"].to_pylist() == [dt.date(2026, 2, 28), None, None, None]
    assert found == [
        "map.columns.a: 1 value does not fit N (a number): 'x'",
        "map.columns.b: 2 values do not fit D (a date): '2026-02-30', 'soon'",
    ]


def test_a_number_that_is_not_whole_does_not_fit_a_whole_number():
    ours = pa.table({"size": [12.0, 12.5, None]})
    wanted = Map.model_construct(columns={"size": "N"}, values={}, fixed={})
    table, found = utility_map.fit(ours, wanted, Target("t", (Field("N", "integer"),), "Point", True, None))
    assert table["N"].to_pylist() == [12, None, None]
    assert found == ["map.columns.size: 1 value does not fit N (a whole number): '12.5'"]


def test_a_slip_in_the_layers_name_makes_no_second_layer(tmp_path):
    utility_layer(tmp_path / "utility.gpkg")
    with pytest.raises(JobFileError, match="has no layer 'water_joint'; did you mean 'water_joints'"):
        asbuilt.write_map(placed(tmp_path, layer="water_joint"))
    assert fiona.listlayers(tmp_path / "utility.gpkg") == ["water_joints"]


def test_heights_on_the_map_have_no_digits_that_nobody_measured():
    target: Any = SimpleNamespace(has_z=True, geometry="Point")
    written = fitting._points(target, np.array([1.0]), np.array([2.0]), np.array([151.123456789]))
    (point,) = shapely.from_wkb(written.to_pylist())
    assert point.z == 151.1235


# A layer of something else


VALVES = {"joint_uid": "ASSET_ID", "size": "DIAM", "joint_type": "KIND"}


def layer_of(path, layer, *, kinds=(), columns=(), east=0.0):
    """Make a layer of points with the columns of `VALVES` and more, a row for each kind."""
    schema = {
        "geometry": "Point",
        "properties": {"ASSET_ID": "str:40", "DIAM": "int32", "KIND": "str:20"} | dict.fromkeys(columns, "str:20"),
    }
    blank = dict.fromkeys(schema["properties"])
    with fiona.open(path, "w", driver="GPKG", schema=schema, crs=CRS, layer=layer) as target:
        for number, kind in enumerate(kinds):
            point = {"type": "Point", "coordinates": (6_700_100.0 + number + east, 2_000_000.0)}
            target.write(
                {"geometry": point, "properties": {**blank, "ASSET_ID": f"V-{number}", "DIAM": 8, "KIND": kind}}
            )


@pytest.mark.parametrize(
    ("layer", "columns"),
    [("valves", ()), ("wSystemValve", ()), ("WATER_VALVES_2019", ()), ("hydrants", ()), ("water_services", ()),
     ("wMeters", ()),
     ("assets", ("VALVE_ID",)), ("assets", ("ValveType",)), ("points", ("hydrant no",))],
)  # fmt: skip
def test_a_layer_whose_names_speak_of_something_else_takes_no_joint(tmp_path, layer, columns):
    layer_of(tmp_path / "utility.gpkg", layer, columns=columns)
    before = digest(tmp_path / "utility.gpkg")
    wanted = {"layer": layer, "columns": VALVES, "values": None}
    said = problems(placed(tmp_path, **wanted))
    assert f"{layer} holds something else than joints" in said
    assert "map.other_features = true" in said
    assert digest(tmp_path / "utility.gpkg") == before
    assert map_layers.write_map(placed(tmp_path, other_features=True, **wanted)).added == 11


@pytest.mark.parametrize(
    ("layer", "columns"),
    [("water_joints", ()), ("joints_and_valves", ()), ("wJoint", ("VALVE_ID",)),
     ("pipe_points", ("DIAMETER", "VALVE_ZONE")),
     ("fittings", ("service_area", "IN_SERVICE")), ("wDesign", ("PARAMETER",)), ("assets", ("JT_NO", "VALVE_ID"))],
)  # fmt: skip
def test_a_layer_whose_names_leave_joints_possible_takes_them(tmp_path, layer, columns):
    layer_of(tmp_path / "utility.gpkg", layer, columns=columns)
    assert map_layers.write_map(placed(tmp_path, layer=layer, columns=VALVES, values=None)).added == 11


@pytest.mark.parametrize(
    ("kinds", "codes", "taken"),
    [(["GATE", "BFV", "GATE"], {}, False), (["GATE", None, None, None], {}, True),
     (["push-on", "GATE", "GATE"], {}, True),
     (["MJ", "MJ", "MJ"], {}, True), (["PO", "PO", "PO"], {"push-on": "PO"}, True), ([None, None, None], {}, True),
     (["A1", "A1", "A1"], {"push-on": "A2"}, False), (["A1", "A1", "A1"], {"push-on": "A2", "mechanical": "A1"}, True)],
)  # fmt: skip
def test_rows_of_types_that_are_no_joint_s_tell_a_layer_of_something_else(tmp_path, kinds, codes, taken):
    layer_of(tmp_path / "utility.gpkg", "assets", kinds=kinds)
    wanted = {"layer": "assets", "columns": VALVES, "values": {"joint_type": codes} if codes else None}
    if taken:
        assert map_layers.write_map(placed(tmp_path, **wanted)).added == 11
        return
    said = problems(placed(tmp_path, **wanted))
    assert f"none of the 3 rows of assets is of a type of joint: KIND is {kinds[0]!r}" in said
    assert map_layers.write_map(placed(tmp_path, other_features=True, **wanted)).added == 11
