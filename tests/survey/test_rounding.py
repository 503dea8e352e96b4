"""Shots that were rounded: what is told, what verdicts make of it, and honest surveys that raise none."""

import numpy as np
import pandas as pd
import pytest
from blunders import (
    FT,
    IN_DEGREES,
    degrees_of_five_decimals,
    elevations_rounded_to,
    said,
    shots_from_degrees_of,
    shots_rounded_to,
)
from laying import CRS, EAST, NORTH
from pyproj import CRS as SYSTEM
from survey_mains import laid

from asbuilt.line.routes import routes_from_vertices
from asbuilt.survey.rounding import with_rounding

STATED = {"sigma_horizontal": 0.02, "sigma_vertical": 0.02}
PLANTS = (
    shots_rounded_to(1 / FT, "1 m"), shots_rounded_to(0.5 / FT, "0.5 m"), shots_rounded_to(1.0, "1 ft"),
    shots_rounded_to(0.5, "0.5 ft"), shots_from_degrees_of(5), shots_from_degrees_of(6), elevations_rounded_to(1.0),
    elevations_rounded_to(0.5),
)  # fmt: skip


@pytest.mark.parametrize("stated", [{}, STATED])
@pytest.mark.parametrize("plant", PLANTS, ids=lambda one: one.__name__)
def test_rounded_shots_are_told_once_and_call_no_joint_over(tmp_path, plant, stated):
    # Joints of these mains turn by 2 degrees at most, and may turn by 5 and less.
    for seed in (1, 2, 3):
        main = laid(seed, noise=0.02)
        plant(main, seed)
        told = said(tmp_path, main, centerline=stated)
        (note,) = [one for one in told.placed.notes if one.code == "shots-rounded"]
        assert note.severity == "act"
        assert "over" not in set(told.placed.joints["verdict"])
        assert not {"shot-astray", "shot-height", "shots-too-even"} & {code for code, _ in told.found}


def test_joints_of_rounded_shots_lie_within_their_stated_accuracy(tmp_path):
    away, stated = [], []
    for seed in range(6):
        main = laid(seed, noise=0.02)
        shots_rounded_to(1 / FT, "1 m")(main, seed)
        joints = said(tmp_path, main, centerline=STATED).placed.joints
        away.append(np.hypot(joints["easting"] - main.places[:, 0], joints["northing"] - main.places[:, 1]))
        stated.append(joints["accuracy_horizontal"])
    assert np.mean(np.concatenate(away) > np.concatenate(stated)) < 0.08


def test_coordinates_of_the_log_in_degrees_of_five_decimals_call_no_joint_over(tmp_path):
    for seed in (1, 2, 3):
        main = laid(seed)
        degrees_of_five_decimals(main, seed)
        told = said(tmp_path, main, centerline=STATED, **IN_DEGREES)
        joints = told.placed.joints
        assert "over" not in set(joints["verdict"])
        # 2.45 standard errors of 1.1 m over the square root of 12.
        assert joints["accuracy_horizontal"].median() == pytest.approx(2.4477 * 1.1132 / 12**0.5 / FT, rel=0.05)
        away = np.hypot(joints["easting"] - main.places[:, 0], joints["northing"] - main.places[:, 1])
        assert np.mean(away > joints["accuracy_horizontal"]) < 0.05


def routes(places, unit="us-ft", crs=CRS, sigma=None):
    count = len(places)
    stated = None if sigma is None else np.full(count, sigma)
    east, north, up = np.asarray(places, dtype=float).T
    return routes_from_vertices(["A"], np.array([0, count]), east, north, up, np.zeros(1), SYSTEM(crs), unit,
                                sigma=(stated, stated))  # fmt: skip


@pytest.mark.parametrize("to", [3, 2])
@pytest.mark.parametrize("unit", ["us-ft", "m"])
def test_three_hundred_honest_surveys_are_not_taken_for_rounded(unit, to):
    for seed in range(75):
        how = ({}, {"noise": 0.05}, {"every": 5}, {"bends": 0, "spread": 0.3}, {"joints": 20, "bends": 1})[seed % 5]
        places = laid(seed, **how).shots[["easting", "northing", "elevation"]].to_numpy() * (
            1.0 if unit == "us-ft" else FT
        )
        one = routes(np.round(places, to), unit, "EPSG:6418" if unit == "us-ft" else "EPSG:6417")
        assert with_rounding(one)[1] == []


def test_pipes_of_whole_feet_that_run_due_north_are_not_taken_for_rounded():
    for step in ((0.0, 20.0, 0.2), (12.0, 16.0, 0.0), (18.0, 0.0, 1.0), (0.0, 10.0, 0.5)):
        places = np.array([EAST, NORTH, 50.0]) + np.outer(np.arange(60), step)
        assert with_rounding(routes(places))[1] == []
    # Shot in the middle of each pipe, and at both ends.
    along = np.array([0.0, *10.0 + 20.0 * np.arange(40), 800.0])
    assert with_rounding(routes([[EAST, NORTH + one, 50.0] for one in along]))[1] == []


def test_a_main_that_falls_by_whole_feet_a_pipe_is_rounded_where_it_falls_by_one_more_here_and_there():
    fall = np.cumsum([0.0, *np.where(np.arange(59) % 12 == 5, -2.0, -1.0)])
    rng = np.random.default_rng(7)
    plan = np.stack([EAST + 3.7 * np.arange(60), NORTH + 19.66 * np.arange(60)], axis=1) + rng.normal(0, 0.02, (60, 2))
    told, (note,) = with_rounding(routes(np.column_stack([plan, 150.0 + fall])))
    assert "rounded to 1 ft" in note.text
    assert note.routes == ("A",)
    assert told.rounding_horizontal is None
    # A short stretch of another grade is a drawn line's.
    drawn = 150.0 + np.cumsum([0.0, *np.where(np.arange(59) < 8, -2.0, -1.0)])
    assert with_rounding(routes(np.column_stack([plan, drawn])))[1] == []


def test_rounding_below_the_stated_error_is_neither_told_nor_counted():
    main = laid(1, noise=0.3)
    shots_rounded_to(0.5, "0.5 ft")(main, 1)
    places = main.shots[["easting", "northing", "elevation"]].to_numpy()
    told, notes = with_rounding(routes(places, sigma=0.3))
    assert (told.rounding_horizontal, notes) == (None, [])
    told, notes = with_rounding(routes(places, sigma=0.1))
    assert told.errors[0] == pytest.approx(np.hypot(0.1, 0.5 / 12**0.5))
    assert len(notes) == 1


def test_one_note_names_all_routes_that_were_rounded_alike_and_only_these(tmp_path):
    one, other, third = (laid(seed).shots for seed in (1, 2, 3))
    for at, shots in enumerate((one, other, third)):
        shots["route"] = "ABC"[at]
        shots["point"] = np.arange(len(shots)) + 1000 * at
        shots[["easting", "northing"]] += 9000.0 * at
    for shots in (one, third):
        shots[["easting", "northing"]] = shots[["easting", "northing"]].round(0)
    main = laid(1)
    main.shots = pd.concat([one, other, third], ignore_index=True)
    log = pd.concat([laid(seed).log.assign(route="ABC"[at]) for at, seed in enumerate((1, 2, 3))], ignore_index=True)
    told = said(tmp_path, main, log=log, centerline={"route": "route", **STATED})
    (note,) = [one.text for one in told.placed.notes if one.code == "shots-rounded"]
    assert "of routes 'A', 'C' are rounded to 1 ft" in note
    accuracy = told.placed.joints.groupby("route")["accuracy_horizontal"].median()
    assert accuracy["B"] < 0.2 < 0.6 < accuracy["A"]
