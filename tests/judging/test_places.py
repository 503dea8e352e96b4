"""How well places are known: radii by simulation, sagittas by the circle, and simulated mains of known joints."""

import importlib.util
import sys
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import scipy.stats
from laying import EAST, LOOKED_AT, NORTH, lines, log, pipe, place

from asbuilt.judging.places import for_few, radius

SCRIPTS = Path(__file__).parents[2] / "scripts"


def simulation(name="simulate_places"):
    sys.path.insert(0, str(SCRIPTS))
    try:
        spec = importlib.util.spec_from_file_location(name, SCRIPTS / f"{name}.py")
        module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
    finally:
        sys.path.remove(str(SCRIPTS))
    return module


@pytest.mark.parametrize("ratio", [0.0, 0.3, 1.0, 2.2, 5.0, 9.0])
def test_the_radius_holds_nineteen_places_of_twenty(ratio):
    # Simulated shifts and errors: the independent reference for the table.
    chance = np.random.default_rng(5)
    errors = chance.normal(0.0, 0.1, (400_000, 2)) + np.array([0.1 * ratio, 0.0])
    one = np.ones(1)
    inside = np.hypot(*errors.T) <= radius(0.1 * one, 0.1 * ratio * one)[0]
    # Between the rows of the table, and far beyond it, the radius is a little too large.
    assert 0.949 < inside.mean() < 0.956
    inside = np.abs(errors[:, 0]) <= radius(0.1 * one, 0.1 * ratio * one, in_plan=False)[0]
    assert 0.949 < inside.mean() < 0.956


def circle(count=5, turn=2.0):
    """Give shots at every fifth joint of a main that turns evenly, and all its joints."""
    joints = pipe([turn] * (5 * count - 1))
    return joints[::5], joints


def of_circle(way, **centerline):
    shots, joints = circle()
    stations = np.char.mod("%.3f", 20.0 * np.arange(len(joints)))
    stated = {"between": way, "sigma_horizontal": 0.01, "start_station": 0.0, **centerline}
    return place(
        lines(A=shots), log(joints, station=stations), centerline=stated,
        records={"station_format": "decimal", "station_tolerance": 20.0},
    ).joints, joints  # fmt: skip


def test_a_joint_between_shots_of_a_curve_lies_off_the_chord_by_the_sagitta_and_the_record_says_so():
    joints, truth = of_circle("chord")
    # Handbook: a chord of 100 ft that turns 10 degrees has a sagitta of length times turn over eight, 2.18 ft.
    middle = joints.iloc[12]
    off = np.hypot(middle["easting"] - truth[12, 0], middle["northing"] - truth[12, 1])
    assert off == pytest.approx(100 * np.radians(10.0) / 8, rel=0.05)
    assert off < middle["accuracy_horizontal"] < 1.3 * off
    assert (
        middle["accuracy_source"]
        == "the job's standard errors of shots, the station's error as joints that were shot show it and the line "
        "between shots, as far as joints between two shots do not turn one way and back again, which no shot shows"
    )


def test_a_curve_through_the_shots_finds_the_joints_between_them():
    joints, truth = of_circle("curve")
    off = np.hypot(joints["easting"] - truth[:, 0], joints["northing"] - truth[:, 1])[5:21]
    assert off.max() < 0.25
    assert (off < joints["accuracy_horizontal"][5:21]).all()


def test_verdicts_do_not_measure_a_curve_that_was_only_laid_through_the_shots():
    columns = ["verdict", "verdict_assumes", "deflection_deg", "deflection_floor_deg", "turn_deg"]
    chord, curve = (of_circle(way)[0][columns] for way in ("chord", "curve"))
    pd.testing.assert_frame_equal(chord, curve, atol=0.02)


def test_straights_beside_a_curve_and_corners_at_fittings_stay_as_they_are():
    joints = pipe([0.0] * 19 + [2.0] * 20 + [0.0] * 10 + [22.5] + [0.0] * 10)
    shots = joints[::5]
    records = log(joints)
    placed = {
        way: place(lines(A=shots), records, centerline={"between": way, "start_station": 0.0},
                   records={"station_tolerance": 20.0}).centerline
        for way in ("chord", "curve")
    }  # fmt: skip
    chord, curve = (placed[way].geometry.iloc[0] for way in ("chord", "curve"))
    # The line before the curve runs north: nothing of it may bow.
    assert all(abs(x - EAST) < 1e-9 for x, y, *_ in curve.coords if y < NORTH + 299)
    corner = joints[50]
    assert min(np.hypot(x - corner[0], y - corner[1]) for x, y, *_ in curve.coords) < 1e-6
    apart = [chord.hausdorff_distance(curve)]
    assert 1.5 < max(apart) < 2.5


def test_a_bend_that_no_shot_shows_makes_the_places_beside_it_unsure():
    joints = pipe([0.0] * 4 + [22.5] + [0.0] * 8)
    records = log(joints)
    records["kind"] = ["bend" if at == 5 else "pipe" for at in range(len(joints))]
    records["bend angle"] = ["22.5" if at == 5 else "" for at in range(len(joints))]
    shots = joints[[0, 3, 8, 14]]
    found = place(lines(A=shots), records, centerline={"sigma_horizontal": 0.01, "start_station": 0.0},
                  records={"station_tolerance": 20.0, "sigma_station": 0.0}).joints  # fmt: skip
    off = np.hypot(found["easting"] - joints[:, 0], found["northing"] - joints[:, 1])
    assert off[5] > 5.0
    assert (off < found["accuracy_horizontal"])[4:7].all()


@pytest.mark.parametrize("count", [4, 7, 20, 300])
def test_a_variance_of_few_turns_is_taken_larger_by_the_quantiles_of_f_and_chi_square(count):
    # scipy's distributions: the radius that holds 95 % of two components, by a variance found from so many values.
    expected = 2 * scipy.stats.f.ppf(0.95, 2, count) / scipy.stats.chi2.ppf(0.95, 2)
    assert for_few(np.array([float(count)]))[0] == pytest.approx(expected, rel=1e-9)


def test_turns_in_step_with_the_shots_show_in_none_of_them_and_the_accuracy_says_what_it_goes_by():
    joints = pipe([2.0 * (-1) ** at for at in range(39)])
    stated = {"sigma_horizontal": 0.01, "start_station": 0.0, **LOOKED_AT}
    found = {
        by: place(
            lines(A=joints[::2]), log(joints), centerline={**stated, "accuracy_rests_on": by},
            records={"station_tolerance": 20.0}, limits={"table": "awwa-c600"},
        ).joints for by in ("turns", "allowables")
    }  # fmt: skip
    turns, allowables = found["turns"], found["allowables"]
    off = np.hypot(turns["easting"] - joints[:, 0], turns["northing"] - joints[:, 1])
    between = turns["accuracy_source"].str.contains("between")
    assert (
        turns["accuracy_source"][between].str.endswith("do not turn one way and back again, which no shot shows").all()
    )
    assert (
        allowables["accuracy_source"][between]
        .str.endswith("as far as joints between shots stay within their allowables")
        .all()
    )
    # Half of 40 ft times the sine of half of what the joint turns: 0.35 ft at the joints that no shot shows.
    assert off[1::2].max() > 0.3 > turns["accuracy_horizontal"].max()
    assert (off < allowables["accuracy_horizontal"]).all()
    assert allowables["accuracy_horizontal"].max() < 10 * off.max()


@pytest.mark.parametrize(
    ("shape", "spacing"),
    [("alternating", "2nd"), ("alternating", "5th"), ("mixed allowables", "2nd"), ("zigzag", "5th")],
)
def test_an_accuracy_by_allowables_holds_whatever_joints_do_between_shots(shape, spacing):
    found = simulation().off(shape, spacing, "0.03", 3.0, "chord", 6, 1, rests_on="allowables")
    assert np.mean(found.away > found.stated) < 0.08


@pytest.mark.parametrize("way", ["chord", "curve"])
@pytest.mark.parametrize(
    ("shape", "spacing", "noise"),
    [
        ("straight", "5th", "0.1"),
        ("constant curve", "5th", "0.03"),
        ("constant curve", "2nd", "0.1"),
        ("uneven curve", "random", "0.03"),
        ("S", "5th", "0.03"),
        ("kinks", "5th", "0.03"),
        ("mixed allowables", "2nd", "0.03"),
        ("bends, no plane", "random", "0.03"),
        ("zigzag", "2nd", "0.02 / 0.1"),
        ("all ways", "random", "0.03"),
        ("bends, no plane", "near", "0.03"),
    ],
)
def test_joints_lie_outside_their_stated_accuracy_in_about_five_of_a_hundred(shape, spacing, noise, way):
    found = simulation().off(shape, spacing, noise, 3.0, way, 6, 1)
    # Joints of a leg are shifted together, so that chance is larger than that of as many joints alone.
    assert np.mean(found.away > found.stated) < 0.08
    assert np.mean(np.abs(found.up) > found.stated_up) < 0.08


@pytest.mark.parametrize(
    ("shots", "shot_at", "logged"),
    [
        ("at joints", "first end", "first end"),
        ("each 5th, bends", "first end", "first end"),
        ("each 5th, bends", "both ends", "first end"),
        ("bends and ends", "second end", "center"),
        ("bends and ends", "both ends", "center"),
        ("each 5th, bends", "any of these", "first end"),
    ],
)
def test_joints_beside_bends_lie_outside_their_stated_accuracy_in_about_five_of_a_hundred(shots, shot_at, logged):
    module = simulation("simulate_bends")
    parts = [module.off(shots, shot_at, logged, size, 3, 1) for size in (6, 12, 24)]
    away, stated, near = (np.concatenate(one) for one in zip(*parts, strict=True))
    assert np.mean(away[near.astype(bool)] > stated[near.astype(bool)]) < 0.08
    assert np.mean(away > stated) < 0.08


@pytest.mark.parametrize("shots", ["at joints", "each 5th, bends"])
def test_bends_shot_at_their_centers_do_not_make_the_places_of_other_joints_unsure(shots):
    found = simulation("simulate_bends").off(shots, "center", "center", 12, 6, 1)
    elsewhere = ~found.near.astype(bool)
    assert np.median(found.stated[elsewhere]) < 2.5 * np.quantile(found.away[elsewhere], 0.95)


def test_a_joint_behind_a_bend_that_was_shot_at_its_other_end_lies_off_the_line_by_its_laying_length():
    # A 45-degree bend of 12 in, 7.5 in from its center to either end (AWWA C110, from memory), shot at its first end.
    before = np.array([[EAST, NORTH + 20.0 * at, 50.0] for at in range(6)])
    to_end, turn = 7.5 / 12.0, np.array([np.sin(np.radians(45.0)), np.cos(np.radians(45.0)), 0.0])
    center = before[-1] + [0.0, to_end, 0.0]
    behind = np.array([center + (to_end + 20.0 * at) * turn for at in range(6)])
    joints = np.concatenate([before, behind])
    records = log(joints)
    along = [*20.0 * np.arange(6), *(100.0 + 2.0 * to_end + 20.0 * np.arange(6))]
    records["station"] = [f"{at // 100:.0f}+{at % 100:05.2f}" for at in along]
    records["kind"] = ["bend" if at == 5 else "pipe" for at in range(12)]
    records["bend angle"] = ["45" if at == 5 else "" for at in range(12)]
    found = place(lines(A=joints[[0, 5, 11]]), records, centerline={"sigma_horizontal": 0.01, "start_station": 0.0},
                  records={"station_tolerance": 20.0, "sigma_station": 0.0}).joints  # fmt: skip
    off = np.hypot(found["easting"] - joints[:, 0], found["northing"] - joints[:, 1])
    # Plane geometry: the chord of both halves of the fitting, less what the line turns toward its next shot.
    assert off[6] == pytest.approx(2 * to_end * np.sin(np.radians(22.5)), rel=0.1)
    assert (off < found["accuracy_horizontal"])[1:11].all()
    assert found["accuracy_horizontal"][6] < 2.0 * off[6]
