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


def by_stations(seed, *, factor=1.0, up=0.0, **more):
    """Survey a main of which the log has elevations, to a tenth, and no eastings and northings."""
    points, _ = surveyed(seed)
    chance = np.random.default_rng(seed)
    read = np.round((points[:, 2] + up + chance.normal(0.0, 0.3, len(points))) * factor, 1)
    shots = points + chance.normal(0.0, ERROR, points.shape)
    return place(lines(A=shots), log(points, elevation=read), centerline=STATED, **more)


@pytest.mark.parametrize("factor_up", [(1.0, 110.0), (1.0, -7.0), (0.3048, 0.0)])
def test_elevations_of_joints_that_stations_place_are_held_against_the_survey(factor_up):
    """The column was read, and nothing was done with it: 590 ft between it and a survey in metres went unsaid."""
    factor, up = factor_up
    (told,) = [one for one in by_stations(1, factor=factor, up=up).notes if one.code == "positions-doubtful"]
    assert "half of the 41 joints whose elevations the log has lie" in told.text
    assert told.routes == ("A",)
    way = "above it" if up > 0 else "below it"
    assert way in told.text
    if factor != 1.0:
        assert not [
            one for one in by_stations(1, factor=factor, records={"elevation_unit": "m"}).notes
            if one.code == "positions-doubtful"
        ]  # fmt: skip


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("up", [0.0, 1.1, -1.1])
def test_elevations_of_the_log_near_the_survey_say_only_that_they_are_not_used(seed, up):
    notes = by_stations(seed, up=up).notes
    assert not [one for one in notes if one.code == "positions-doubtful"]
    assert [one for one in notes if "elevations of 41 joints without coordinates" in one.text]
