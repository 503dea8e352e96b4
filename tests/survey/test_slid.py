"""Start stations that are pipes off on lines shot at few joints: what the shots around the bends turn tells them."""

import re

import numpy as np
import pytest
from laying import lines, log, pipe, place

SHOT = {"sigma_horizontal": 0.03, "sigma_vertical": 0.03, "shots_at_joints": False}


def main(seed, apart, bends, *, shot_at_bends=True, spread=1.2):
    """Lay a main whose joints turn by chance, with bends (joint: degrees); shoot it at joints so many apart."""
    chance = np.random.default_rng(seed)
    turn = chance.normal(0.0, spread, 98).clip(-4.0, 4.0)
    for joint, angle in bends.items():
        turn[joint - 2] = angle
    points = pipe(turn)
    shot = np.arange(len(points)) % apart == 0
    shot[[0, -1]] = True
    if shot_at_bends:
        shot[[joint - 1 for joint in bends]] = True
    kind = ["bend" if joint in bends else "pipe" for joint in range(1, len(points) + 1)]
    angle = [str(abs(bends[joint])) if joint in bends else "" for joint in range(1, len(points) + 1)]
    records = log(points, start=1000.0, **{"kind": kind, "bend angle": angle})
    return points[shot] + chance.normal(0.0, 0.03, points[shot].shape), records


def told(shots, records, start=1000.0):
    stations = {"sigma_station": 0.05}
    placed = place(lines(A=shots), records, centerline={**SHOT, "start_station": start}, records=stations)
    return placed, list(placed.findings.query("code == 'bend-off-corner'")["message"])


@pytest.mark.parametrize("pipes", [-2, -1, 1, 2])
@pytest.mark.parametrize(
    ("apart", "bends"), [(3, {25: 45.0, 70: -22.5}), (4, {20: -90.0, 60: 45.0}), (5, {31: 45.0, 62: 90.0})]
)
def test_a_start_station_that_is_pipes_off_is_told_where_every_third_joint_or_fewer_was_shot(apart, bends, pipes):
    shots, records = main(3, apart, bends)
    honest, said = told(shots, records)
    assert not said
    assert honest.joints["accuracy_horizontal"].notna().all()
    wrong, said = told(shots, records, 1000.0 + 20.0 * pipes)
    (message,) = said
    (off, way), *_ = re.findall(r"about (\d+) ft farther (ahead|back) along", message)
    assert way == ("ahead" if pipes > 0 else "back")
    assert float(off) == pytest.approx(20.0 * abs(pipes), abs=5.0)
    assert "centerline.start_station" in message
    assert set(wrong.joints["verdict"]) <= {"cannot-tell", "not-computed"}
    assert wrong.joints["accuracy_horizontal"].isna().all()


def test_corners_that_the_shots_cut_off_are_no_start_station():
    # A bend of 90 deg between shots 100 ft apart shortens the line by up to 29 ft: the bend ahead stands so far on.
    shots, records = main(5, 5, {18: 90.0, 58: 45.0}, shot_at_bends=False, spread=0.5)
    _, said = told(shots, records)
    assert not said


def test_a_curve_that_joints_make_is_no_bend():
    chance = np.random.default_rng(8)
    turn = np.where((np.arange(98) // 20) % 2, 4.0, 0.0) + chance.normal(0.0, 0.3, 98)
    turn[[26, 68]] = 22.5
    points = pipe(turn)
    bend = np.isin(np.arange(len(points)), (27, 69))
    records = log(
        points, start=1000.0, **{"kind": np.where(bend, "bend", "pipe"), "bend angle": np.where(bend, "22.5", "")}
    )
    _, said = told(points[[*range(0, 99, 3), 99]], records)
    assert not said


def test_one_bend_alone_doubts_its_row_and_the_start_station():
    shots, records = main(3, 3, {40: 45.0})
    _, said = told(shots, records)
    assert not said
    placed, (message,) = told(shots, records, 1020.0)
    assert "centerline.start_station" in message
    assert "else at the station of the bend" in message
    assert (placed.joints["accuracy_horizontal"].isna() | (placed.joints["accuracy_horizontal"] >= 19.0)).all()
