"""Elevations of the log beside those of the shots, and risers: what contradicts is told, and what agrees is not."""

import laying
import numpy as np
import pytest
from laying import codes, lines, log, pipe, place

STATED = {"sigma_horizontal": 0.03, "sigma_vertical": 0.05, "shots_at_joints": None}
ERROR = [0.03, 0.03, 0.05]


def surveyed(seed, *, every=2, log_up=0.0, log_bust=0.0, shot_bust=0.0):
    """Survey a main twice, by shots and by the log's coordinates; both busts at the 13th joint."""
    chance = np.random.default_rng(seed)
    points = pipe(chance.uniform(-1.5, 1.5, 39))
    points[:, 2] += 0.3 * np.cumsum(chance.uniform(-0.5, 0.5, len(points)))
    shots = (points + chance.normal(0.0, ERROR, points.shape))[::every]
    own = points + chance.normal(0.0, ERROR, points.shape)
    own[:, 2] += log_up
    own[12, 2] += log_bust
    shots[12 // every, 2] += shot_bust
    records = log(points, easting=own[:, 0], northing=own[:, 1], elevation=own[:, 2])
    return points, place(lines(A=shots), records, centerline=STATED)


def told(found):
    rows = found.findings[found.findings["code"] == "shot-height"]
    return rows[rows["message"].str.contains("in the log")]


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("every", [1, 2, 3])
def test_elevations_that_agree_say_nothing(seed, every):
    _, found = surveyed(seed, every=every)
    assert not len(told(found))
    assert not [note for note in found.notes if "elevations of" in note.text]


@pytest.mark.parametrize("bust", [{"log_bust": 2.5}, {"log_bust": -1.2}, {"shot_bust": 1.2}, {"shot_bust": -1.0}])
@pytest.mark.parametrize("seed", range(4))
def test_an_elevation_of_the_log_that_is_not_the_shots_is_told_and_no_pipe_is_blamed(seed, bust):
    """It passed, and the joint was `over` where the log had the bust."""
    _, found = surveyed(seed, every=3, **bust)
    rows = found.findings[found.findings["code"] == "shot-height"]
    assert rows["message"].str.contains("vertex 5").any()
    assert "over" not in set(found.joints["verdict"])


@pytest.mark.parametrize("up", [3.0, -3.0])
def test_elevations_all_off_alike_are_told_once_and_known_no_better(up):
    """Of 1,413 simulated joints 1,180 lay outside the accuracy that was stated of them."""
    points, found = surveyed(1, log_up=up)
    (note,) = [note.text for note in found.notes if "elevations of" in note.text]
    assert f"{'above' if up > 0 else 'below'} those of the shots" in note
    off = np.abs(found.joints["elevation"].to_numpy() - points[:, 2])
    assert (off < found.joints["accuracy_vertical"].to_numpy()).all()
    assert not len(told(found))


def riser(*, bends=True, up=6.0, seed=1):
    """Lay a main with a vertical pipe at its 15th joint, shot at both of its ends."""
    points = pipe(np.zeros(28))
    points = np.insert(points, 15, points[14] + [0.0, 0.0, up], axis=0)
    points[16:, 2] += up
    kind = ["bend" if bends and at in (14, 15) else "pipe" for at in range(len(points))]
    more = {"bend angle": ["90" if one == "bend" else "" for one in kind], "bend plane": ["vertical"] * len(kind)}
    shots = points + np.random.default_rng(seed).normal(0.0, ERROR, points.shape)
    return place(lines(A=shots), laying.log(points, kind=kind, **more), centerline=STATED)


@pytest.mark.parametrize("seed", range(6))
def test_the_two_ends_of_a_riser_are_no_place_shot_twice(seed):
    assert not {"shot-repeated", "shot-height"} & set(codes(riser(seed=seed)))


def test_shots_above_one_another_without_bends_in_the_log_are_asked_about():
    found = [riser(bends=False, seed=seed).findings for seed in range(6)]
    assert all("shot-repeated" not in set(one["code"]) for one in found)
    assert any(one["message"].str.contains("as at the two ends of a riser").any() for one in found)
