"""A line strung through the joints of the log, held against joints whose places are known."""

import geopandas as gpd
import laying
import numpy as np
import pytest
from pyproj import Transformer

import asbuilt
from asbuilt.errors import InputFileError, JobFileError

TURNS = np.concatenate([np.zeros(5), np.full(12, 2.0), [6.0], np.zeros(12)])
PIPE = laying.pipe(TURNS)
LINE = {"from_joints": True, "route": None, "route_name": "A", "sigma_horizontal": 0.02, "sigma_vertical": 0.02,
        **laying.LOOKED_AT}  # fmt: skip
TO_DEGREES = Transformer.from_crs(laying.CRS, "EPSG:6318", always_xy=True)
"""From the projected system of the tests to longitude and latitude of the same datum, NAD83(2011)."""


def log(**more):
    return laying.log(PIPE, easting=PIPE[:, 0], northing=PIPE[:, 1], elevation=PIPE[:, 2], **more)


def in_degrees(east="easting", north="northing"):
    records = log()
    records[east], records[north] = TO_DEGREES.transform(PIPE[:, 0], PIPE[:, 1])
    return records


def placed(records, *, line=None, crs=laying.CRS, **more):
    values = laying.values(centerline=LINE | (line or {}), records=more)
    job = asbuilt.Job.from_mapping(values | ({"crs": crs} if crs else {}))
    return asbuilt.place(job, records=records, today=laying.TODAY)


def of_degrees(records, crs=laying.CRS):
    values = laying.values(centerline=LINE, records={"crs": "EPSG:6318", "elevation_unit": "us-ft"})
    job = asbuilt.Job.from_mapping(values | ({"crs": crs} if crs else {}))
    return asbuilt.place(job, records=records, today=laying.TODAY)


def held(found, *, within=1e-4):
    joints = found.joints
    assert len(joints) == len(PIPE)
    np.testing.assert_allclose(joints[["easting", "northing"]], PIPE[:, :2], atol=within)
    np.testing.assert_allclose(joints["elevation"], PIPE[:, 2], atol=within)
    np.testing.assert_allclose(joints["deflection_deg"].to_numpy()[1:-1], TURNS, atol=max(0.002, 10 * within))
    assert joints["verdict"].tolist()[18] == "over"
    assert set(joints["verdict"].tolist()[1:18]) == {"within"}


@pytest.mark.parametrize("stations", [True, False])
def test_every_joint_is_a_shot_of_a_line_through_the_joints(stations):
    records = log() if stations else log().drop(columns="station")
    found = placed(records)
    held(found)
    (told,) = [note.text for note in found.notes if "centerline.from_joints" in note.text]
    assert f"through {len(PIPE)} of them, as they stand in the log" in told


@pytest.mark.parametrize("begins", [0.0, 300.0, 7.0])
def test_a_log_that_begins_otherwise_than_the_line_says_where_to_state_it(begins):
    records = laying.log(PIPE, start=begins, easting=PIPE[:, 0], northing=PIPE[:, 1], elevation=PIPE[:, 2])
    found = placed(records, line={"start_station": None})
    (told,) = [note.text for note in found.notes if note.code == "start-station"]
    assert ("the log begins otherwise (A at " in told) == (begins != 0.0)
    assert begins != 300.0 or "A at 3+00.00" in told


def test_joints_with_an_offset_through_which_the_line_is_strung_are_told_at_their_rows():
    found = placed(log(offset=["3.0 LT" if at == 9 else "0" if at == 3 else "" for at in range(len(PIPE))]))
    (told,) = [note.text for note in found.notes if "right or left of the line by its own offset" in note.text]
    assert "1 joint of the log lies" in told
    assert "row 10)" in told
    assert not any("its own offset" in note.text for note in placed(log()).notes)


def test_a_layer_of_points_needs_no_system_of_the_job():
    plain = log().drop(columns=["easting", "northing", "elevation"])
    held(placed(gpd.GeoDataFrame(plain, geometry=gpd.points_from_xy(*PIPE.T), crs=laying.CRS), crs=None))


def test_files_are_read_as_frames_are(tmp_path):
    log().to_excel(tmp_path / "log.xlsx", index=False)
    values = laying.values(centerline=LINE, records={"path": "log.xlsx"}) | {"crs": laying.CRS}
    held(asbuilt.place(asbuilt.Job.from_mapping(values, folder=tmp_path), today=laying.TODAY), within=2e-3)


def test_longitudes_and_latitudes_are_carried_to_the_system_of_the_line():
    held(of_degrees(in_degrees()), within=2e-3)


@pytest.mark.parametrize(
    ("records", "crs", "said"),
    [
        (in_degrees("northing", "easting"), laying.CRS, "row 1: latitude and longitude are exchanged"),
        (in_degrees().assign(easting=lambda one: -one["easting"]), laying.CRS, "written without a minus sign"),
        (in_degrees().assign(northing=12.0), laying.CRS, "lie outside the area of NAD83"),
        (in_degrees(), None, "crs: the joints are in degrees"),
    ],
    ids=["exchanged", "sign", "elsewhere", "no projected system"],
)
def test_degrees_that_lie_elsewhere_are_refused(records, crs, said):
    with pytest.raises((InputFileError, JobFileError), match=said):
        of_degrees(records, crs)


def test_a_joint_inspected_again_is_one_shot_and_one_far_off_is_a_shot_of_its_own():
    again = log()
    again.loc[len(again)] = again.loc[4]
    held(placed(again))
    moved = again.copy()
    moved.loc[len(moved) - 1, "northing"] += 300.0
    text = " ".join(note.text for note in placed(moved).notes)
    assert f"through {len(PIPE) + 1} of them" in text


def test_records_without_coordinates_are_no_part_of_the_line_and_are_counted():
    records = log()
    records.loc[[7, 9], ["easting", "northing"]] = np.nan
    found = placed(records)
    assert any("2 records without coordinates are no part of it" in note.text for note in found.notes)
    # They are placed by their stations, on the straight between their neighbours: what they turn is not measured.
    joints = found.joints
    assert len(joints) == len(PIPE)
    assert not {"within", "over"} & set(joints["verdict"].tolist()[7:10:2])


def test_the_stations_may_give_the_order():
    mixed = log().sample(frac=1.0, random_state=3)
    held(placed(mixed, line={"order": "station"}))
    # As they stand in that log, they are no main that anybody laid.
    with pytest.raises(InputFileError, match=r"strung out of order \(centerline\.order\)"):
        placed(mixed, line={"shots_checked": []})


@pytest.mark.parametrize(
    ("line", "records", "said"),
    [
        ({"path": "line.gpkg"}, log(), "centerline.path: in the joints of the log are its shots"),
        ({"codes": {"WM": "A"}}, log(), "centerline.codes: in the joints of the log are its shots"),
        ({}, log().drop(columns="northing"), "no record of the log has an easting and a northing"),
    ],
)
def test_what_cannot_be_is_refused_with_its_key(line, records, said):
    with pytest.raises(JobFileError, match=said):
        placed(records, line=line)


@pytest.mark.parametrize(
    ("row", "field", "value", "code"),
    [
        (10, "easting", 30.0, "shot-astray"),
        (10, "elevation", -500.0, "shot-height"),
        (31, "northing", 40.0, "position-conflict"),
    ],
)
def test_a_wrong_coordinate_is_told_at_its_joint(row, field, value, code):
    records = log()
    records.loc[row, field] += value
    found = placed(records, line={"shots_checked": []}).findings
    assert set(found.loc[found["code"] == code, "point" if code.startswith("shot") else "joint"]) == {str(row + 1)}


def test_a_row_is_named_as_the_log_has_it():
    # The second record has no coordinates, and is no part of the line.
    records = log()
    records.loc[1, ["easting", "northing", "elevation"]] = np.nan
    records.loc[10, "easting"] /= 10.0
    with pytest.raises(InputFileError, match=r"point 11 \(row 11\).* lies far outside the area"):
        placed(records)
