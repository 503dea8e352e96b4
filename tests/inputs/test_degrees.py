"""A centerline in longitude and latitude, held against the same line in its projected system."""

import geopandas as gpd
import laying
import numpy as np
import pytest
import shapely
from pyproj import Transformer

import asbuilt
from asbuilt.errors import InputFileError, JobFileError

TURNS = np.concatenate([np.zeros(5), np.full(12, 2.0), [6.0], np.zeros(12)])
PIPE = laying.pipe(TURNS)
WGS84, NAD83 = "EPSG:4326", "EPSG:6318"


def degrees(crs=NAD83, *, decimals=None):
    """Carry the pipe to degrees with PROJ, the reference here."""
    east, north = Transformer.from_crs(laying.CRS, crs, always_xy=True).transform(PIPE[:, 0], PIPE[:, 1])
    places = np.column_stack([east, north, PIPE[:, 2]])
    if decimals is not None:
        places[:, :2] = places[:, :2].round(decimals)
    return places


def layer(places, crs=NAD83, *, points=False):
    if points:
        names = [str(number) for number in range(1, len(places) + 1)]
        return gpd.GeoDataFrame({"route": "A", "point": names}, geometry=shapely.points(places), crs=crs)
    return gpd.GeoDataFrame({"route": ["A"]}, geometry=[shapely.LineString(places)], crs=crs)


def placed(line, *, crs=laying.CRS, unit="us-ft", **more):
    centerline = {"route": "route", "starts": "as-drawn", "sigma_horizontal": 0.02, "sigma_vertical": 0.02}
    centerline |= laying.LOOKED_AT | more
    values = laying.values(centerline=centerline | ({"elevation_unit": unit} if unit else {}))
    job = asbuilt.Job.from_mapping(values | ({"crs": crs} if crs else {}))
    return asbuilt.place(job, centerline=line, records=laying.log(PIPE), today=laying.TODAY)


def held(found, *, within=1e-3):
    joints = found.joints
    np.testing.assert_allclose(joints[["easting", "northing", "elevation"]], PIPE, atol=within)
    np.testing.assert_allclose(joints["deflection_deg"].to_numpy()[1:-1], TURNS, atol=0.01)
    assert joints["verdict"].tolist()[18] == "over"
    assert set(joints["verdict"].tolist()[1:18]) == {"within"}


@pytest.mark.parametrize("points", [False, True])
def test_a_line_in_degrees_lies_where_it_does_in_the_system_of_the_job(points):
    found = placed(layer(degrees(), points=points))
    held(found)
    assert found.joints["accuracy_horizontal"].max() < 0.1
    assert any("carried over from degrees (NAD83(2011))" in note.text for note in found.notes)


def test_a_file_of_geojson_is_read_as_it_is(tmp_path):
    path = tmp_path / "line.geojson"
    # The digits are the writer's choice: those of the default, 7, are a hundredth of a metre.
    layer(degrees(WGS84), WGS84).to_file(path, COORDINATE_PRECISION=10)
    found = placed(None, path=str(path))
    held(found)
    # WGS 84 is none finer than its realizations differ: EPSG gives 2 m for the step to NAD83(2011), code 9774.
    assert found.joints["accuracy_horizontal"].between(2.0 / 0.3048, 2.1 / 0.3048).all()
    assert found.joints["accuracy_source"].str.contains("change of datum").all()


def test_a_log_in_the_same_degrees_lies_on_the_line():
    records = laying.log(PIPE)
    records["easting"], records["northing"] = degrees()[:, :2].T
    values = laying.values(
        centerline={"route": "route", "sigma_horizontal": 0.02, "elevation_unit": "us-ft", **laying.LOOKED_AT},
        records={"crs": NAD83},
    )
    job = asbuilt.Job.from_mapping(values | {"crs": laying.CRS})
    found = asbuilt.place(job, centerline=layer(degrees()), records=records, today=laying.TODAY)
    np.testing.assert_allclose(found.joints[["easting", "northing"]], PIPE[:, :2], atol=1e-3)


def test_few_decimals_of_a_degree_are_told_and_taken_for_what_they_are():
    found = placed(layer(degrees(decimals=6)))
    (note,) = [note.text for note in found.notes if "decimals of a degree" in note.text]
    assert "rounded to 6 decimals of a degree, 0.11 m" in note
    # 6 degrees of 5 are over no more, with an error of 0.1 ft of each shot (it is 0.03 m: 0.11 m by the root of 12).
    assert found.joints["verdict"].tolist()[18] == "cannot-tell"
    assert found.joints["accuracy_horizontal"].min() > 0.2


def test_elevations_need_their_unit_and_are_read_by_it():
    with pytest.raises(JobFileError, match=r"centerline.elevation_unit: .* has elevations beside degrees.*say us-ft"):
        placed(layer(degrees()), unit=None)
    metres = degrees() * [1.0, 1.0, 1200.0 / 3937.0]
    held(placed(layer(metres), unit="m"))


def test_a_flat_line_needs_no_unit():
    found = placed(layer(degrees()[:, :2]), unit=None)
    np.testing.assert_allclose(found.joints[["easting", "northing"]], PIPE[:, :2], atol=1e-3)


@pytest.mark.parametrize(
    ("change", "error", "told"),
    [
        (lambda at: at[:, [1, 0, 2]], InputFileError, "feature 0: latitude and longitude are exchanged"),
        (lambda at: at * [-1.0, 1.0, 1.0], InputFileError, "west of Greenwich are written without a minus sign"),
        (lambda at: at + np.array([0.0, 20.0, 0.0]), InputFileError, "lie outside the area of NAD83"),
    ],
)
def test_degrees_of_another_place_are_refused(change, error, told):
    with pytest.raises(error, match=told):
        placed(layer(change(degrees())))


@pytest.mark.parametrize("crs", [None, "EPSG:4326"])
def test_the_job_names_the_system_in_which_the_line_is_to_lie(crs):
    with pytest.raises(JobFileError, match=r"is in degrees \(NAD83\(2011\)\).*name in crs the one.*UTM"):
        placed(layer(degrees()), crs=crs)


@pytest.mark.parametrize("longitude", [-150.0, -178.5, 179.2])
def test_degrees_on_either_side_of_the_180th_meridian_lie_in_alaska(longitude):
    # NAD83(2011) / Alaska Albers is used from 172.42 E to 129.99 W (EPSG); PROJ gives the places.
    system = "EPSG:6393"
    into = Transformer.from_crs(NAD83, system, always_xy=True).transform(longitude, 52.5)
    pipe = (laying.pipe(np.zeros(12))[:, :2] - [laying.EAST, laying.NORTH]) * 1200.0 / 3937.0 + into
    east, north = Transformer.from_crs(system, NAD83, always_xy=True).transform(pipe[:, 0], pipe[:, 1])
    values = laying.values(centerline={"sigma_horizontal": 0.0}) | {"crs": system}
    records = laying.log(laying.pipe(np.zeros(12)))
    line = layer(np.column_stack([east, north]))
    found = asbuilt.place(asbuilt.Job.from_mapping(values), centerline=line, records=records, today=laying.TODAY)
    np.testing.assert_allclose(found.joints[["easting", "northing"]], pipe, atol=1e-3)
    assert not any("outside the area" in note.text for note in found.notes)


@pytest.mark.parametrize("unit", [None, "m"])
def test_heights_of_a_system_that_says_their_unit_are_read_by_it(unit):
    # NAVD88 height, EPSG:5703, is in metres; said by the job as well it is the same.
    metres = degrees() * [1.0, 1.0, 1200.0 / 3937.0]
    held(placed(layer(metres, "EPSG:6318+5703"), unit=unit))
