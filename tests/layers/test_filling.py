"""Rows by Arrow's driver of SQLite: what is in the file is what GDAL would have written, and the index holds."""

import sqlite3
from contextlib import closing

import numpy as np
import pyarrow as pa
import pyogrio
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from pyogrio.raw import write_arrow
from test_geopackage import CRS, UNKNOWN, all_layers, joints, query, write

from asbuilt.layers import geopackage, rtree
from asbuilt.layers.geopackage import Layer
from asbuilt.layers.shapes import in_geopackage, lines_wkb, paths_wkb, points_wkb
from asbuilt.schema import LAYERS

KINDS = {"Point Z": "Point Z", "LineString Z": "LineString Z", "LineString ZM": "Measured 3D LineString"}


def by_gdal(path, *layers):
    """Write layers as GDAL does by itself, with its spatial index."""
    for number, layer in enumerate(layers):
        about = LAYERS[layer.name]
        geometry = {}
        if about.geometry_type:
            geometry = {"geometry_name": "geom", "geometry_type": KINDS[about.geometry_type], "crs": CRS}
        options = {} if number else {"dataset_options": {"VERSION": "1.3"}}
        named = {"FID": "fid", "GEOMETRY_NAME": "geom"}
        write_arrow(
            layer.table, path, layer=layer.name, driver="GPKG", append=number > 0, layer_options=named, **options,
            **geometry,
        )  # fmt: skip
    return path


def of_every_kind():
    """Make joints, straights and a line with values of every kind, some unknown, and some unknown in all rows."""
    count = 100
    number = np.arange(float(count))
    east, north = 6.7e6 + 20.0 * number, 2.0e6 - 3.0 * number
    up = np.where(number % 7 == 3, UNKNOWN, 50.0)
    east[40] = UNKNOWN
    yield joints(
        count,
        geom=points_wkb(east, north, up),
        deflection_deg=pa.array(np.where(number % 3, number / 7.0, UNKNOWN), from_pandas=True),
        inspected_on=pa.array([None if one % 5 == 0 else 20_000 + one for one in range(count)], pa.date32()),
        inspector=pa.array(["Ødegård", None] * 50).dictionary_encode(),
        restrained=pa.array([True, False, None, True] * 25),
        kind=pa.nulls(count, pa.string()),
        cover=pa.nulls(count, pa.float64()),
    )
    ends = [values[which] for which in (slice(0, -1), slice(1, None)) for values in (east, north, up)]
    yield Layer("segments", pa.table({"length": np.full(count - 1, 20.0), "geom": lines_wkb(*ends)}))
    along = np.array([6.7e6, 1.0, 2.0, 3.0, 5.0])
    path = paths_wkb(along, along + 1, along, along, np.array([0, 3, 5]))
    yield Layer("centerline", pa.table({"route": ["A", "B"], "geom": path}))
    yield from (layer for layer in all_layers() if layer.name in ("set_aside", "run", "findings"))


@pytest.fixture
def row_by_row(monkeypatch):
    """Let each row come in a batch of its own, so that few rows are put in as many are."""
    monkeypatch.setattr(geopackage, "ROWS", 1)


def test_the_file_says_what_it_would_if_gdal_had_written_the_rows(tmp_path, row_by_row):
    ours, theirs = write(tmp_path / "ours.gpkg", *of_every_kind()), by_gdal(tmp_path / "theirs.gpkg", *of_every_kind())
    for layer in of_every_kind():
        columns = ", ".join(f'"{name}", typeof("{name}")' for name in ("fid", *layer.table.column_names))
        rows = [query(path, f"SELECT {columns} FROM {layer.name}") for path in (ours, theirs)]
        assert len(rows[0]) == layer.table.num_rows
        assert rows[0] == rows[1], layer.name
    for asked in (
        "SELECT table_name, data_type, min_x, min_y, max_x, max_y, srs_id FROM gpkg_contents "
        "WHERE table_name <> 'layer_styles'",
        "SELECT * FROM gpkg_ogr_contents",
        "SELECT * FROM gpkg_geometry_columns",
        "SELECT * FROM gpkg_extensions WHERE extension_name = 'gpkg_rtree_index'",
        "SELECT name, seq FROM sqlite_sequence WHERE name <> 'layer_styles'",
        "SELECT type, name, sql FROM sqlite_master "
        "WHERE tbl_name IN (SELECT table_name FROM gpkg_ogr_contents) ORDER BY name",
        "SELECT name, sql FROM sqlite_master WHERE name LIKE 'rtree_%' ORDER BY name",
        "SELECT id FROM rtree_joints_geom ORDER BY id",
        "SELECT id FROM rtree_segments_geom ORDER BY id",
    ):  # fmt: skip
        assert query(ours, asked) == query(theirs, asked), asked
    assert query(ours, "PRAGMA integrity_check") == [("ok",)]
    for layer in ("joints", "segments", "centerline"):
        assert query(ours, f"SELECT rtreecheck('rtree_{layer}_geom')") == [("ok",)]


@pytest.mark.parametrize("count", [51, 52, 102, 2601, 2602, 2653, 20_000])
def test_the_index_finds_each_joint_where_it_is(tmp_path, count, monkeypatch):
    monkeypatch.setattr(geopackage, "ROWS", 50)
    path = write(tmp_path / "joints.gpkg", joints(count))
    assert query(path, "SELECT rtreecheck('rtree_joints_geom')") == [("ok",)]
    assert query(path, "SELECT count(*) FROM rtree_joints_geom") == [(count,)]
    at = count // 2
    box = (6.7e6 + 20 * at - 5, 2e6 - 5, 6.7e6 + 20 * at + 5, 2e6 + 5)
    found = pyogrio.read_dataframe(path, layer="joints", bbox=box)
    assert found["joint"].tolist() == [str(101 + at)]


def test_a_number_is_never_used_twice_by_an_editor(tmp_path, row_by_row):
    """As the tables say of themselves, by AUTOINCREMENT."""
    path = write(tmp_path / "joints.gpkg", joints(3))
    with closing(sqlite3.connect(path)) as database, database:
        for name, _ in database.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall():
            database.execute(f"DROP TRIGGER {name}")
        database.execute("DELETE FROM joints WHERE fid = 3")
        database.execute("INSERT INTO joints (joint) VALUES ('104')")
    assert query(path, "SELECT fid, joint FROM joints") == [(1, "101"), (2, "102"), (4, "104")]


@settings(deadline=None)
@given(st.lists(st.tuples(*[st.floats(-1e7, 1e7)] * 4), max_size=300), st.integers(1, 7))
def test_boxes_packed_some_at_a_time_are_a_sound_index(corners, parts):
    at = np.array(corners, dtype=np.float64).reshape(-1, 4)
    west, east = np.sort(at[:, :2], axis=1).T
    south, north = np.sort(at[:, 2:], axis=1).T
    with closing(sqlite3.connect(":memory:")) as database:
        database.execute("CREATE VIRTUAL TABLE places USING rtree(id, minx, maxx, miny, maxy)")
        size = rtree.node_size(database, "places")
        rtree.put(database, "places", rtree.packed(size, np.arange(len(at)), west, east, south, north))
        assert database.execute("SELECT rtreecheck('places')").fetchone() == ("ok",)
        database.execute("DELETE FROM places")
        database.execute("DELETE FROM places_node")
        packing = rtree.Packing(size)
        every = np.array_split(np.arange(len(at)), parts)
        some = [packing.add(part, west[part], east[part], south[part], north[part]) for part in every]
        for tables in (*some, packing.end()):
            for part, table in tables.items():
                database.executemany(
                    f"INSERT INTO places_{part} VALUES (?, ?)", zip(*table.to_pydict().values(), strict=True)
                )
        assert database.execute("SELECT rtreecheck('places')").fetchone() == ("ok",)
        assert database.execute("SELECT id FROM places ORDER BY id").fetchall() == [(one,) for one in range(len(at))]
        for one in range(0, len(at), 29):
            asked = "SELECT id FROM places WHERE minx <= ? AND maxx >= ? AND miny <= ? AND maxy >= ?"
            found = database.execute(asked, (east[one], west[one], north[one], south[one])).fetchall()
            meet = (west <= east[one]) & (east >= west[one]) & (south <= north[one]) & (north >= south[one])
            assert {one for (one,) in found} >= set(np.flatnonzero(meet).tolist())


@given(st.lists(st.tuples(*[st.floats(-1e7, 1e7)] * 6), min_size=1, max_size=20))
def test_lines_have_the_boxes_that_geos_knows(ends):
    ends = np.array(ends)
    wkb = lines_wkb(*ends.T)
    cells, boxes = in_geopackage(wkb.slice(1), "LineString Z", 6418)
    west, south, east, north = shapely.bounds(shapely.from_wkb(wkb.slice(1).to_pylist())).reshape(-1, 4).T
    np.testing.assert_array_equal(boxes, np.stack([west, east, south, north], axis=1))
    for cell, shape in zip(cells.to_pylist(), wkb.slice(1).to_pylist(), strict=True):
        assert cell[:8] == b"GP\x00\x05" + (6418).to_bytes(4, "little")
        assert cell[56:] == shape


def test_the_heights_of_a_line_are_those_that_are_known_where_the_first_is():
    one = np.ones(3)
    up = np.array([UNKNOWN, 5.0, UNKNOWN])
    cells, _ = in_geopackage(lines_wkb(one, one, up, one, one, np.array([7.0, UNKNOWN, UNKNOWN])), "LineString Z", 1)
    heights = [np.frombuffer(cell, "<f8", count=6, offset=8)[4:] for cell in cells.to_pylist()]
    np.testing.assert_array_equal(heights, [[UNKNOWN, UNKNOWN], [5.0, 5.0], [UNKNOWN, UNKNOWN]])


def test_a_geometry_of_another_kind_is_refused():
    point = points_wkb(np.ones(2), np.ones(2), np.ones(2))
    with pytest.raises(ValueError, match="not geometries of the kind LineString Z"):
        in_geopackage(point, "LineString Z", 6418)
    with pytest.raises(ValueError, match="not geometries of the kind Point Z"):
        in_geopackage(pa.array([shapely.to_wkb(shapely.Point(1, 2), flavor="iso")]), "Point Z", 6418)
