"""Joints on an alignment of lines, curves and spirals: placed on the curve itself, not on its chord."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import shapely
from laying import TODAY

import asbuilt

OPEN = Path(__file__).parents[1] / "data" / "landxml"


def placed(file, stations, **centerline):
    job = asbuilt.Job.from_mapping(
        {
            "name": "alignment",
            **({} if "arcs" in file else {"crs": "EPSG:32635"}),
            "centerline": {"path": str(OPEN / file), "route_name": "A", **centerline},
            "records": {"station_unit": "m", "laying_length": 6.0},
            "limits": {"table": "en-545"},
        }
    )
    records = pd.DataFrame(
        {
            "joint": [str(n) for n in range(len(stations))],
            "station": [f"{at:.6f}" for at in stations],
            "size": 300,
            "joint type": "push-on",
        }
    )
    return asbuilt.place(job, records=records, today=TODAY)


def test_joints_on_a_circular_curve_lie_on_the_circle_and_turn_by_its_chords():
    # Open data (CC BY 4.0, see data/landxml/README.md): a curve of radius 110 from station 336.725626, its center
    # stated in the file at northing 6876813.141658, easting 24597.290235 (zone 24).
    joints = placed("metric_arcs_with_profile.xml", np.arange(340.0, 455.0, 6.0)).joints
    radius = np.hypot(joints["easting"] - 24525597.290235, joints["northing"] - 6876813.141658)
    np.testing.assert_allclose(radius, 110.0, atol=2e-6)
    # Chords of equal arcs on a circle turn by arc / radius; the profile adds almost nothing.
    turn = joints["turn_horizontal_deg"].to_numpy()[1:-1]
    np.testing.assert_allclose(turn, np.degrees(6.0 / 110.0), atol=1e-5)


def test_a_design_on_which_nothing_was_shot_is_never_within_as_measured():
    joints = placed("metric_arcs_with_profile.xml", np.arange(340.0, 455.0, 6.0)).joints.iloc[1:-1]
    assert set(joints["verdict"]) == {"within-assumed"}
    assert joints["verdict_assumes"].str.contains("drawn").all()


def test_joints_at_the_ends_of_elements_lie_where_the_file_says():
    # Stations and ends of a line, a curve and two spirals, as the open file states them (northing, easting).
    stated = {10.0: (4084593.748632, 335095.950465), 49.840637: (4084618.341969, 335121.906232),
              58.840637: (4084627.280004, 335120.968928), 69.067910: (4084637.444130, 335120.082159)}  # fmt: skip
    joints = placed("metric_clothoids.xml", list(stated)).joints
    np.testing.assert_allclose(joints[["northing", "easting"]], list(stated.values()), atol=5e-6)


def test_elevations_come_from_the_profile():
    # The parabola of the open file: PVI at 79.000, 372.000; length 129.487; PVIs at (0, 365.8) and (467, 346).
    g1, g2, length, pvi = 6.2 / 79.0, -26.0 / 388.0, 129.487, 79.0
    start = pvi - length / 2
    x = 100.0 - start
    expected = 372.0 - g1 * length / 2 + g1 * x + (g2 - g1) * x**2 / (2 * length)
    joints = placed("metric_clothoids.xml", [50.0, 100.0, 150.0]).joints
    assert joints["elevation"].tolist()[1] == pytest.approx(expected, abs=1e-6)


def test_the_centerline_is_drawn_along_its_curves():
    line = placed("metric_clothoids.xml", [10.0, 20.0]).centerline
    assert line["length"].iloc[0] == pytest.approx(507.067, abs=0.001)  # as the file states, to 1 mm
    assert line.geometry.iloc[0].length == pytest.approx(507.067, abs=0.02)
    assert shapely.get_num_coordinates(line.geometry.iloc[0]) > 500


def test_units_and_stations_in_conflict_are_refused():
    wanted = {"name": "a", "crs": "EPSG:6418", "centerline": {"path": str(OPEN / "metric_clothoids.xml")}}
    log = pd.DataFrame({"station": ["10.0"]})
    for crs, unit, message in (
        ("EPSG:6418", "us-ft", "is in US survey feet, but .* is in metres; correct the crs"),
        (
            "EPSG:6339",
            "us-ft",
            r"records\.station_unit: the stations of .* are in metres, but the log's are in US survey",
        ),
    ):
        records = {"station_unit": unit, "laying_length": 6.0}
        job = asbuilt.Job.from_mapping(wanted | {"crs": crs, "records": records})
        with pytest.raises(asbuilt.JobFileError, match=message):
            asbuilt.place(job, records=log)
