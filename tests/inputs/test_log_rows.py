"""No row of a log is lost: what cannot be read is set aside with its reason, and listed."""

import json
import sqlite3
from contextlib import closing

import geopandas as gpd
import numpy as np
import openpyxl
import pandas as pd
import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from laying import CRS, lines, pipe

from asbuilt import place
from asbuilt.job import Job

COUNT = 9
FIELDS = ["route", "joint", "station", "gauge"]


def job(folder, path, **records):
    return Job.from_mapping(
        {"name": "Mill Race", "centerline": {"route": "route"},
         "records": {"path": path, "station_unit": "us-ft", "laying_length": 20.0} | records},
        folder=folder,
    )  # fmt: skip


def stations(count=COUNT):
    return [f"{at // 5}+{at % 5 * 20:02d}" for at in range(count)]


def layer(path):
    points = pipe(np.zeros(COUNT - 2))
    columns = {"joint": [str(at) for at in range(COUNT)], "station": stations()}
    gpd.GeoDataFrame(columns, geometry=list(shapely.points(points)), crs=CRS).to_file(path, layer="joints")
    return lines(A=points)


@settings(max_examples=10, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.sets(st.integers(1, COUNT), min_size=1, max_size=3), st.sampled_from(["short", "junk", "header"]))
def test_features_with_broken_geometry_are_set_aside_and_the_others_placed(tmp_path, broken, how):
    path = tmp_path / "log.gpkg"
    path.unlink(missing_ok=True)
    line = layer(path)
    with closing(sqlite3.connect(path)) as database, database:
        for (trigger,) in database.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            database.execute(f'DROP TRIGGER "{trigger}"')
        for fid in broken:
            (whole,) = database.execute("SELECT geom FROM joints WHERE fid = ?", [fid]).fetchone()
            damaged = {"short": whole[:-8], "junk": whole[:20] + b"\xff" * 9, "header": b"GP\0\1"}[how]
            database.execute("UPDATE joints SET geom = ? WHERE fid = ?", [damaged, fid])
    placement = place(job(tmp_path, "log.gpkg"), centerline=line)
    assert len(placement.log) == COUNT
    expected = ["row-unreadable" if fid in broken else None for fid in range(1, COUNT + 1)]
    assert placement.placed.records.reason.to_pylist() == expected
    first = min(broken)
    assert f"feature {first} is broken" in placement.placed.records.message[first - 1].as_py()
    # What the row says is kept, and its neighbours keep their own points.
    assert json.loads(placement.log.original[first - 1].as_py())["station"] == stations()[first - 1]
    whole = [at for at in range(COUNT) if at + 1 not in broken]
    north = placement.log.number("northing")
    np.testing.assert_allclose(north[whole], shapely.get_coordinates(line.geometry[0])[whole, 1])


def test_a_feature_without_a_point_is_placed_by_its_station_and_told(tmp_path):
    line = layer(tmp_path / "log.geojson")
    text = json.loads((tmp_path / "log.geojson").read_text())
    text["features"][3]["geometry"]["coordinates"] = ["easting", "northing"]
    (tmp_path / "log.geojson").write_text(json.dumps(text))
    placement = place(job(tmp_path, "log.geojson"), centerline=line)
    assert len(placement.joints) == COUNT
    assert placement.joints["position_source"].tolist().count("station") == 1
    assert any("1 feature has no point that can be read (first: row 4)" in note.text for note in placement.notes)


@settings(max_examples=20, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.lists(st.tuples(st.integers(0, COUNT - 1), st.sampled_from(FIELDS)), max_size=6),
    st.sampled_from(["#REF!", "#N/A", "#VALUE!"]),
)
def test_a_row_with_error_cells_stands_in_the_result_whatever_cell_it_is(tmp_path, errors, error):
    book = openpyxl.Workbook()
    book.active.append(FIELDS)
    cells = [["A", f"{at + 1}", station, "ok"] for at, station in enumerate(stations())]
    for at, field in errors:
        cells[at][FIELDS.index(field)] = error
    for row in cells:
        book.active.append(row)
    book.save(tmp_path / "log.xlsx")
    placement = place(job(tmp_path, "log.xlsx"), centerline=lines(A=pipe(np.zeros(COUNT - 2))))
    assert len(placement.log) == COUNT
    aside = {at: ("route-unknown" if (at, "route") in errors else "station-unreadable")
             for at, field in errors if field in ("route", "station")}  # fmt: skip
    assert placement.placed.records.reason.to_pylist() == [aside.get(at) for at in range(COUNT)]
    found = placement.log.unreadable
    listed = set(zip(found.record.tolist(), found.field.to_pylist(), strict=True))
    assert listed == {(at, field) for at, field in errors if field in ("joint", "gauge")}


@pytest.mark.parametrize("variant", ["mill race", "MILL RACE", "Mill  Race", "Mill-Race"])
def test_a_route_that_differs_by_case_sets_its_row_aside_with_the_name_meant(variant):
    log = pd.DataFrame({"route": ["Mill Race", variant, "Mill Race"], "station": stations(3), "joint": ["1", "2", "3"]})
    line = lines(**{"Mill Race": pipe(np.zeros(3)), "Weir Lane": pipe(np.zeros(3)) + 500})
    placement = place(job(".", "unused.csv"), centerline=line, records=log)
    assert placement.placed.records.reason.to_pylist() == [None, "route-unknown", None]
    assert "did you mean 'Mill Race'?" in placement.placed.records.message[1].as_py()
    assert placement.counts["records_read"] == 3
    assert placement.counts["inspections_placed"] + placement.counts["records_set_aside"] == 3
