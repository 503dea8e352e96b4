"""Longitude, latitude and the utility's map, against PROJ's own answers and GeographicLib."""

import pickle

import laying
import numpy as np
import pytest
from geographiclib.geodesic import Geodesic
from pyproj import CRS

from asbuilt.errors import InputFileError, JobFileError
from asbuilt.line import projection

EAST, NORTH = np.array([500_000.0, 500_300.0]), np.array([4_280_000.0, 4_280_400.0])


def test_longitude_and_latitude_keep_ground_distances_by_geographiclib():
    # GeographicLib (Karney) is an implementation of the geodesic independent of PROJ's projections. On the
    # central meridian of UTM the scale is 0.9996, so 500 m of grid are 500 / 0.9996 m of ground.
    longitude, latitude = projection.geographic_step(CRS("EPSG:6339"), EAST, NORTH).apply(EAST, NORTH)
    line = Geodesic.WGS84.Inverse(latitude[0], longitude[0], latitude[1], longitude[1])
    assert line["s12"] == pytest.approx(500.0 / 0.9996, abs=1e-4)
    assert line["azi1"] == pytest.approx(np.degrees(np.arctan2(300, 400)), abs=0.01)


def test_the_datum_step_is_named_with_its_accuracy():
    step = projection.geographic_step(CRS("EPSG:6418"), np.array([6.7e6]), np.array([2.0e6]))
    assert "NAD83(2011) to WGS 84" in step.name
    assert "accuracy" in step.name
    # The accuracy that the EPSG registry states for NAD83(2011) to WGS 84 (1), by way of PROJ: 2 m.
    assert (step.words, step.accuracy_m) == ("NAD83(2011) to WGS 84 (1), good to 2 m", 2.0)
    assert projection.map_step(CRS("EPSG:6418"), "EPSG:6339", EAST, NORTH).words == "on the same datum"


def test_the_same_system_is_left_alone():
    step = projection.map_step(CRS("EPSG:6418"), "EPSG:6418", EAST, NORTH)
    assert step.name == "none"
    assert step.apply(EAST, NORTH) == (EAST, NORTH)


def test_a_ballpark_guess_between_datums_is_refused():
    # A system on an unnamed sphere has no known relation to NAD83(2011).
    sphere = "+proj=tmerc +lon_0=-123 +R=6370997 +units=m +no_defs +type=crs"
    with pytest.raises(JobFileError, match=r"output\.crs: no transformation .* good enough is known here"):
        projection.map_step(CRS("EPSG:6339"), sphere, EAST, NORTH)


def test_unknown_points_stay_unknown():
    step = projection.map_step(CRS("EPSG:6339"), "EPSG:4326", EAST, NORTH)
    longitude, _ = step.apply(np.array([500_000.0, np.nan]), np.array([4_280_000.0, np.nan]))
    assert np.isfinite(longitude[0])
    assert np.isnan(longitude[1])


def test_coordinates_far_outside_their_zone_fall_back_on_its_own_datum_with_a_note():
    # Zone 24 of this system has a false easting of 24,500,000 m: these eastings are of another system.
    step = projection.geographic_step(CRS("EPSG:3878"), np.array([335_000.0]), np.array([4_084_000.0]))
    assert "no transformation from it to WGS 84 is known here" in step.notes[0]
    longitude, _ = step.apply(np.array([24_500_000.0]), np.array([6_876_000.0]))
    assert longitude[0] == pytest.approx(24.0)


def grids_are_missing():
    """Say whether plain NAD83 cannot be reached here but by taking it for NAD83(2011)."""
    place = np.array([6.7e6]), np.array([2.0e6])
    return projection.best_step(CRS("EPSG:6418"), CRS("EPSG:2226"), *place) is None


@pytest.mark.skipif(not grids_are_missing(), reason="the grids for plain NAD83 are installed")
def test_a_job_says_which_accuracy_it_accepts_and_it_goes_into_its_places():
    points = laying.pipe(np.zeros(3))
    job = {"centerline": {"sigma_horizontal": 0.1, "sigma_vertical": 0.1}, "output": {"crs": "EPSG:2226"}}

    def placed(**tables):
        return laying.place(laying.lines(A=points), laying.log(points[:4]), **(job | tables))

    with pytest.raises(JobFileError, match=r"output\.crs: .*accept_accuracy_m = 1 in the job"):
        placed()
    with pytest.raises(JobFileError, match=r"which 0\.5 m does not cover"):
        placed(accept_accuracy_m=0.5)
    own, other = placed(output={}), placed(accept_accuracy_m=1.0)
    # 1 m is 3.28 ft, beside what the shots leave.
    expected = np.hypot(own.joints["accuracy_horizontal"], 3937 / 1200)
    np.testing.assert_allclose(other.joints["accuracy_horizontal"], expected)
    assert other.joints["accuracy_source"].str.contains("; change of datum: ").all()
    logged = laying.log(points[:4]).assign(easting=points[:4, 0], northing=points[:4, 1])
    with pytest.raises(JobFileError, match=r"records\.crs: .*accept_accuracy_m = 1 in the job"):
        laying.place(laying.lines(A=points), logged, records={"crs": "EPSG:2226"})
    accepted = laying.place(
        laying.lines(A=points), logged, records={"crs": "EPSG:2226"}, accept_accuracy_m=1.0,
        centerline={"sigma_horizontal": 0.1},
    )  # fmt: skip
    (note,) = [one.text for one in accepted.notes if "carried over to" in one.text]
    assert "the log's coordinates are carried over to 1 m only" in note


@pytest.mark.parametrize(
    ("source", "target", "east", "north", "accept_m"),
    [
        ("EPSG:6418", "EPSG:4326", 6.7e6, 2.0e6, None),
        ("EPSG:6418", "EPSG:6339", 6.7e6, 2.0e6, None),
        ("EPSG:2226", "EPSG:6418", 6.7e6, 2.0e6, 1.0),
        ("EPSG:31467", "EPSG:25832", 3.5e6, 5.6e6, 5.0),
        ("EPSG:27700", "EPSG:4326", 4.0e5, 3.0e5, 5.0),
        ("EPSG:3338", "EPSG:4326", 2.0e5, 1.2e6, None),
    ],
)
def test_a_step_handed_to_another_process_carries_points_over_to_the_last_digit_alike(
    source, target, east, north, accept_m
):
    # What PROJ does with the operation that was chosen here; a worker could choose another one by itself.
    draw = np.random.default_rng(1)
    places = east + 1e4 * draw.random(5_000), north + 1e4 * draw.random(5_000)
    step = projection.best_step(CRS(source), CRS(target), *places, accept_m=accept_m)
    other = pickle.loads(pickle.dumps(step))
    assert other[1:] == step[1:]
    assert [one.tobytes() for one in other.apply(*places)] == [one.tobytes() for one in step.apply(*places)]


def test_a_process_without_the_grids_of_a_step_says_so():
    definition = "proj=pipeline step proj=hgridshift grids=no_such_grid.gsb"
    with pytest.raises(InputFileError, match="install the same PROJ grids wherever joints are judged"):
        projection._in_another_process(definition, "by a grid", ())
    assert pickle.loads(pickle.dumps(projection.Step(None, "none", ()))) == projection.Step(None, "none", ())
