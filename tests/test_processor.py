"""The main job as a whole: from files and from memory, onto the utility's map, and into its layers."""

import json
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from laying import CRS, EAST, NORTH, TODAY, lines, log, pipe, place, values
from pyproj import Transformer

import asbuilt
from asbuilt.errors import OutputError
from asbuilt.schema import LAYERS

POINTS = pipe([0, 3, 3, 0, -4], up=0.01)


def test_a_notebook_needs_no_files():
    placement = place(lines(A=POINTS), log(POINTS))
    assert placement.joints.crs.to_epsg() == 6418
    assert [len(frame) for frame in (placement.joints, placement.segments, placement.inspections)] == [7, 6, 7]
    assert placement.findings.empty
    assert placement.set_aside.empty


def test_segments_compare_what_lies_there_with_what_was_laid():
    placement = place(lines(A=POINTS), log(POINTS, **{"laid length": "19.9"}), records={"spacing_tolerance": 0.5})
    segment = placement.segments.iloc[2]
    assert (segment["from_joint"], segment["to_joint"]) == ("3", "4")
    assert segment["length"] == pytest.approx(np.hypot(20.0, 0.2), abs=0.02)
    assert segment["difference"] == pytest.approx(segment["length"] - 19.9)
    assert segment["azimuth_deg"] == pytest.approx(3.0, abs=0.05)
    assert segment["grade_percent"] == pytest.approx(1.0, abs=0.01)


def test_positions_on_the_utilitys_map_are_those_of_proj():
    placement = place(lines(A=POINTS), log(POINTS), output={"crs": "EPSG:6339"})
    own = place(lines(A=POINTS), log(POINTS))
    to_map = Transformer.from_crs(CRS, "EPSG:6339", always_xy=True)
    east, north = to_map.transform(own.joints["easting"].to_numpy(), own.joints["northing"].to_numpy())
    np.testing.assert_allclose(placement.joints["easting"], east, atol=1e-6)
    np.testing.assert_allclose(placement.joints["northing"], north, atol=1e-6)
    assert placement.joints.crs.to_epsg() == 6339
    # What is judged is computed in the centerline's coordinates, whatever the map.
    np.testing.assert_array_equal(placement.joints["deflection_deg"], own.joints["deflection_deg"])


def test_the_same_inputs_give_the_same_identifiers_and_layers(tmp_path):
    first, second = (place(lines(A=POINTS), log(POINTS)) for _ in range(2))
    pd.testing.assert_frame_equal(first.joints, second.joints)


def test_the_written_layers_hold_the_frames(tmp_path):
    placement = place(lines(A=POINTS), log(POINTS, **{"gauge": ["ok"] * 6 + ["no"]}))
    placement.write(tmp_path / "joints.gpkg")
    for name in ("joints", "segments", "findings"):
        written, frame = gpd.read_file(tmp_path / "joints.gpkg", layer=name), getattr(placement, name)
        assert list(written.columns) == list(frame.columns)
        assert len(written) == len(frame)
        np.testing.assert_allclose(written.geometry.bounds, frame.geometry.bounds)
    run = gpd.read_file(tmp_path / "joints.gpkg", layer="run").iloc[0]
    assert run["records_read"] == run["inspections_placed"] + run["records_set_aside"] == 7
    assert json.loads(run["counts"]) == placement.counts
    assert "NAD83(2011) to WGS 84" in run["datum_step"]


def test_every_column_of_the_contract_that_is_computed_is_described():
    placement = place(lines(A=POINTS), log(POINTS))
    for name in ("joints", "segments", "findings", "centerline", "inspections", "set_aside"):
        frame = getattr(placement, name)
        assert set(frame.columns) - {"geometry"} <= set(LAYERS[name].columns)


def test_the_original_row_is_kept_cell_for_cell():
    records = log(POINTS)
    records['Weather "today"'] = ["dry", "rain\nand wind", "", "back\\slash", 'said "no"', "tab\there", "ø"]
    kept = [json.loads(text) for text in place(lines(A=POINTS), records).inspections["original"]]
    expected = [{key: cell for key, cell in row.items() if cell} for row in records.to_dict("records")]
    assert kept == expected


def test_every_row_keeps_its_own_original_also_across_files_and_rows_that_do_not_fit(tmp_path):
    lines(A=POINTS).to_file(tmp_path / "line.gpkg")
    rows = log(POINTS)
    rows[:3].to_csv(tmp_path / "monday.csv", index=False)
    rows[3:].to_csv(tmp_path / "tuesday.csv", index=False)
    head, first, *more = (tmp_path / "tuesday.csv").read_text().splitlines()
    (tmp_path / "tuesday.csv").write_text("\n".join([head, first, first + ",one,cell,too,many", *more]))
    records = {"path": ["monday.csv", "tuesday.csv"]}
    job = asbuilt.Job.from_mapping(values(centerline={"path": "line.gpkg"}, records=records), folder=tmp_path)
    placement = asbuilt.place(job)
    (spoilt,) = placement.set_aside.itertuples()
    assert (spoilt.file, spoilt.row, spoilt.reason) == ("tuesday.csv", 3, "row-unreadable")
    assert json.loads(str(spoilt.original))["column 13"] == "many"
    assert len(placement.inspections) == len(rows)
    for one in placement.inspections.itertuples():
        assert json.loads(str(one.original))["joint"] == one.joint


def test_lines_without_elevations_leave_elevation_and_vertical_turn_unknown():
    placement = place(lines(A=POINTS[:, :2]), log(POINTS))
    assert placement.joints["elevation"].isna().all()
    assert placement.joints["turn_vertical_deg"].isna().all()
    assert placement.joints["turn_deg"].tolist()[2] == pytest.approx(3.0, abs=0.05)
    assert any("horizontal only" in note.text for note in placement.notes)


def test_the_output_may_not_be_an_input(tmp_path):
    lines(A=POINTS).to_file(tmp_path / "line.gpkg")
    log(POINTS).to_csv(tmp_path / "log.csv", index=False)
    job = asbuilt.Job.from_mapping(
        values(centerline={"path": "line.gpkg"}, records={"path": "log.csv"}), folder=tmp_path
    )
    placement = asbuilt.place(job, today=TODAY)
    before = (tmp_path / "line.gpkg").read_bytes()
    with pytest.raises(OutputError, match="this is an input of the job"):
        placement.write(tmp_path / "line.gpkg")
    assert (tmp_path / "line.gpkg").read_bytes() == before


def test_a_point_layer_is_a_log_too(tmp_path):
    lines(A=POINTS).to_file(tmp_path / "line.gpkg")
    shapes = gpd.points_from_xy(*POINTS[:, :2].T)
    gpd.GeoDataFrame(log(POINTS), geometry=shapes, crs=CRS).to_file(tmp_path / "log.gpkg", layer="joints")
    job = asbuilt.Job.from_mapping(
        values(centerline={"path": "line.gpkg"}, records={"path": "log.gpkg"}), folder=tmp_path
    )
    assert len(asbuilt.place(job, today=TODAY).joints) == 7


def test_several_files_are_one_log(tmp_path):
    lines(A=POINTS).to_file(tmp_path / "line.gpkg")
    log(POINTS).iloc[:4].to_csv(tmp_path / "one.csv", index=False)
    log(POINTS).iloc[4:].to_csv(tmp_path / "two.csv", index=False, sep=";")
    wanted = values(centerline={"path": "line.gpkg"}, records={"path": ["one.csv", "two.csv"]})
    placement = asbuilt.place(asbuilt.Job.from_mapping(wanted, folder=tmp_path), today=TODAY)
    assert placement.inspections["file"].value_counts().to_dict() == {"one.csv": 4, "two.csv": 3}
    assert len(placement.joints) == 7


def test_coordinates_outside_the_area_of_their_system_are_refused():
    with pytest.raises(asbuilt.InputFileError, match="northing and easting are exchanged throughout"):
        place(lines(A=POINTS[:, [1, 0, 2]]), log(POINTS))
    assert not any("exchanged" in note.text for note in place(lines(A=POINTS), log(POINTS)).notes)


@pytest.mark.parametrize(
    ("crs", "place_at", "left_out", "which"),
    [
        ("EPSG:6418", (6_700_000.0, 2_000_000.0), (0.0, 2_000_000.0), "northing"),
        ("EPSG:6418", (6_700_000.0, 2_000_000.0), (6_000_000.0, 0.0), "easting"),
        ("EPSG:25832", (458_200.0, 5_517_000.0), (0.0, 5_000_000.0), "northing"),
        ("EPSG:2056", (2_562_000.0, 1_205_000.0), (2_000_000.0, 1_000_000.0), "northing and the easting"),
        ("EPSG:31467", (3_515_000.0, 5_408_000.0), (3_000_000.0, 0.0), "easting"),
    ],
)
def test_coordinates_without_their_leading_digits_are_refused_with_which_to_complete(crs, place_at, left_out, which):
    points = POINTS - [EAST, NORTH, 0.0] + [*place_at, 0.0]
    scale = 1.0 if crs == "EPSG:6418" else 0.3048
    points[:, :2] = place_at + (points[:, :2] - place_at) * scale
    short = points - [*left_out, 0.0]
    named = f"complete the {which} if leading digits were left out .*; else correct crs"
    with pytest.raises(asbuilt.InputFileError, match=named):
        place(lines(A=short).set_crs(crs, allow_override=True), log(POINTS))


def test_wrong_kinds_of_arguments_are_refused_with_the_remedy():
    with pytest.raises(asbuilt.JobFileError, match="give a GeoDataFrame of lines"):
        place(pd.DataFrame({"a": [1]}), log(POINTS))
    with pytest.raises(asbuilt.JobFileError, match="give the joint records as a data frame"):
        place(lines(A=POINTS), "log.csv")
    with pytest.raises(asbuilt.JobFileError, match=r"Job\.from_mapping"):
        asbuilt.place(values())


def test_a_column_may_not_serve_two_fields():
    with pytest.raises(asbuilt.JobFileError, match=r"column 'joint' of .* is read as .* already"):
        place(lines(A=POINTS), log(POINTS), records={"columns": {"kind": "joint", "joint": "joint"}})


def test_columns_that_no_field_is_read_from_are_named():
    placement = place(lines(A=POINTS), log(POINTS, weather="dry"))
    assert placement.log.not_read == (("the records data", "weather"),)


def test_a_geodataframe_of_records_is_read_by_its_columns():
    records = gpd.GeoDataFrame(log(POINTS), geometry=gpd.points_from_xy(*POINTS[:, :2].T), crs=CRS)
    assert len(place(lines(A=POINTS), records).joints) == 7


def test_every_column_holds_the_kind_that_the_schema_says():
    import pyarrow as pa

    placed = asbuilt.place(Path(__file__).resolve().parent.parent / "sample_gis" / "job_sawmill.toml", today=TODAY)
    holds = {"number": pa.types.is_floating, "whole": pa.types.is_integer, "date": pa.types.is_date,
             "text": pa.types.is_string}  # fmt: skip
    for layer, about in LAYERS.items():
        if layer != "run":
            for field in placed.table(layer).drop_columns(["geom"] if about.geometry_type else []).schema:
                assert holds[about.columns[field.name].kind](field.type), (layer, field)
