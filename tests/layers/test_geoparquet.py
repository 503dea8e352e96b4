"""Layers as a folder of GeoParquet files: the same rows as in the GeoPackage, and every reader takes them."""

import json

import duckdb
import geopandas as gpd
import laying
import numpy as np
import pandas as pd
import pyarrow.parquet as pq
import pytest
import registers
import shapely

import asbuilt
from asbuilt.comparing.comparison import compare
from asbuilt.errors import InputFileError, OutputError
from asbuilt.placed import read_placed
from asbuilt.register.loading import load
from asbuilt.register.settling import settle
from asbuilt.review.pages import write_review
from asbuilt.schema import LAYERS


@pytest.fixture
def both(tmp_path):
    """Write one job as a GeoPackage and as a folder of GeoParquet files."""
    placement = laying.crowded()
    placement.write(tmp_path / "joints.gpkg", made_at=laying.MADE)
    placement.write(tmp_path / "joints.parquet", made_at=laying.MADE)
    return tmp_path / "joints.gpkg", tmp_path / "joints.parquet"


def test_both_kinds_of_file_read_alike(both):
    package, folder = map(read_placed, both)
    assert package.run == folder.run
    assert (package.columns, package.notes, package.crs) == (folder.columns, folder.notes, folder.crs)
    first = package.route_names[:1]
    for layer in LAYERS:
        for routes in ((), first if "route" in LAYERS[layer].columns else ()):
            theirs, ours = (file.table(layer, routes=routes) for file in (package, folder))
            assert ours.equals(theirs), layer
        (theirs, their_numbers), (ours, our_numbers) = (
            file.numbered(layer, file.columns[layer]) for file in (package, folder)
        )
        assert ours.equals(theirs), layer
        assert our_numbers.tolist() == their_numbers.tolist(), layer


def test_points_and_lines_lie_where_they_do_in_the_geopackage(both):
    for layer in (name for name, about in LAYERS.items() if about.geometry_type):
        theirs, ours = (read_placed(path).shapes(layer).geometry for path in both)
        pd.testing.assert_index_equal(theirs.index, ours.index)
        # The measure along a line is not written: GeoParquet 1.1 has geometries in two and three dimensions only.
        one, other = (shapely.get_coordinates(some.values, include_z=True) for some in (theirs, ours))
        np.testing.assert_array_equal(one, other, err_msg=layer)


def test_an_unknown_elevation_is_no_elevation_of_zero(tmp_path):
    points = laying.pipe([0, 0, 0])
    points[2:, 2] = np.nan
    laying.place(laying.lines(A=points), laying.log(points), centerline={"elevation": "none"}).write(
        tmp_path / "flat.parquet"
    )
    for layer in ("joints", "segments", "centerline"):
        found = shapely.get_coordinates(
            gpd.read_parquet(tmp_path / "flat.parquet" / f"{layer}.parquet").geometry.values, include_z=True
        )
        assert not (found[:, 2] == 0).any(), layer


def test_the_files_are_geoparquet_with_a_box_for_each_row_and_a_meaning_for_each_column(both):
    """Source: GeoParquet 1.1.0: key "geo", "version", "primary_column", "encoding", PROJJSON "crs", "covering"."""
    folder = both[1]
    geo = json.loads(pq.read_schema(folder / "joints.parquet").metadata[b"geo"])
    column = geo["columns"][geo["primary_column"]]
    assert (geo["version"], column["encoding"], column["crs"]["id"]["code"]) == ("1.1.0", "WKB", 6418)
    assert set(column["geometry_types"]) <= {"Point", "Point Z"}
    assert "bbox" in column["covering"]
    joints = gpd.read_parquet(folder / "joints.parquet")
    west, south, east, north = joints.total_bounds
    half = gpd.read_parquet(folder / "joints.parquet", bbox=(west, south, (west + east) / 2, north))
    assert 0 < len(half) < len(joints)
    assert set(half.joint_uid) == set(joints.joint_uid[joints.easting <= (west + east) / 2])
    meanings = pq.read_table(folder / "columns.parquet").to_pandas()
    described = set(zip(meanings.layer, meanings.column, strict=True))
    for layer in LAYERS:
        names = set(pq.read_schema(folder / f"{layer}.parquet").names) - {"geom", "bbox"}
        assert names == {column for of, column in described if of == layer}
    [verdicts] = meanings["values"][(meanings.layer == "joints") & (meanings.column == "verdict")]
    assert "within" in dict(verdicts)


def test_a_database_of_columns_reads_every_layer_and_its_boxes(both):
    """DuckDB knows nothing of the files' maker: rows, shapes and boxes are as the GeoPackage has them."""
    package, folder = both
    with duckdb.connect() as database:
        for layer, about in LAYERS.items():
            rows = database.read_parquet(str(folder / f"{layer}.parquet"))
            assert len(rows) == read_placed(package).table(layer).num_rows, layer
            if about.geometry_type is None:
                continue
            shapes = shapely.from_wkb([shape for (shape,) in rows.select("geom").fetchall()])
            boxes = rows.select("bbox.xmin, bbox.ymin, bbox.xmax, bbox.ymax").fetchall()
            theirs = read_placed(package).shapes(layer).geometry.values
            np.testing.assert_array_equal(*(shapely.get_coordinates(one, include_z=True) for one in (shapes, theirs)))
            np.testing.assert_array_equal(np.array(boxes, float).reshape(-1, 4), shapely.bounds(theirs), err_msg=layer)


def test_a_register_a_review_and_a_comparison_take_them(both, register, tmp_path):
    package, folder = both
    load(folder, register)
    load(package, str(tmp_path / "from_package.gpkg"))
    assert registers.contents(register) == registers.contents(tmp_path / "from_package.gpkg")
    again = load(package, register).joints
    assert (again["new"], again["updated"], again["unchanged"]) == (0, 0, again["read"])
    write_review(folder, tmp_path / "review")
    assert (tmp_path / "review" / "index.html").is_file()
    assert not len(compare(package, folder, tolerance_m=0.0).joints)


def test_what_waits_of_a_folder_is_settled_from_it(register, tmp_path):
    load(registers.placed(tmp_path / "first.gpkg", "Contract 1", routes=("A",)), register)
    points = laying.pipe(np.zeros(5)) + np.array([5280.0, 0.0, 0.0])
    log = laying.log(points, first=101, route="A")
    laying.place(laying.lines(A=points), log, name="Contract 2").write(tmp_path / "second.parquet")
    assert load(tmp_path / "second.parquet", register).joints["left_out"] == 7
    settled = settle(register, "theirs")
    assert (settled.joints, settled.still) == (7, [])


@pytest.mark.parametrize("lost", ["findings.parquet", "run.parquet"])
def test_a_folder_that_lost_a_file_is_refused(both, lost):
    (both[1] / lost).unlink()
    with pytest.raises(InputFileError, match=r"joints\.parquet: .*(has no layer|is not a placed file)"):
        read_placed(both[1])


def test_a_folder_with_fewer_rows_or_a_torn_file_is_refused(both):
    joints = both[1] / "joints.parquet"
    whole = joints.read_bytes()
    pq.write_table(pq.read_table(joints).slice(1), joints)
    with pytest.raises(InputFileError, match=r"rows, and .* were written"):
        read_placed(both[1])
    joints.write_bytes(whole[: len(whole) // 2])
    with pytest.raises(InputFileError, match="is damaged"):
        read_placed(both[1])


def test_a_folder_of_its_own_job_is_replaced_and_any_other_is_not(both, tmp_path):
    folder = both[1]
    laying.crowded().write(folder)
    other = laying.place(laying.lines(A=laying.pipe([0, 0])), laying.log(laying.pipe([0, 0])), name="Another")
    with pytest.raises(OutputError, match="of another job is there"):
        other.write(folder)
    (folder / "photo.png").write_bytes(b"x")
    with pytest.raises(OutputError, match="a folder is there that is no placed file"):
        laying.crowded().write(folder)
    assert (folder / "photo.png").is_file()
    assert (folder / "joints.parquet").is_file()
    (tmp_path / "mine.parquet").write_text("a file")
    with pytest.raises(OutputError, match="not written over"):
        other.write(tmp_path / "mine.parquet")
    assert sorted(one.name for one in tmp_path.iterdir() if one.name.startswith(".")) == []


def test_the_command_writes_a_folder_where_the_job_says_so(tmp_path):
    laying.log(laying.pipe([0, 0])).to_csv(tmp_path / "log.csv", index=False)
    laying.lines(A=laying.pipe([0, 0])).to_file(tmp_path / "line.gpkg")
    job = laying.values(
        centerline={"path": "line.gpkg"}, records={"path": "log.csv"}, output={"path": "joints.parquet"}
    )
    placement = asbuilt.place(asbuilt.Job.from_mapping(job, folder=tmp_path), today=laying.TODAY)
    placement.write(placement.job.file(placement.job.output.path))
    assert len(gpd.read_parquet(tmp_path / "joints.parquet" / "joints.parquet")) == placement.counts["joints"]
