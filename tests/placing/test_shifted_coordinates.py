"""Coordinates of a log that lie along the line from their joints: accuracies count that, and leave honest ones."""

import numpy as np
import pytest
from laying import lines, log, pipe, place

TOLD = "by their coordinates in the log the "
JOINTS = 60


def main(seed, curve):
    """Lay a main with three pipes that were cut; give its joints, and how far along each lies."""
    chance = np.random.default_rng(seed)
    turns = np.full(JOINTS - 1, curve) if curve else chance.uniform(-1.0, 1.0, JOINTS - 1)
    lengths = np.full(JOINTS - 1, 20.0)
    lengths[chance.choice(JOINTS - 1, 3, replace=False)] = chance.uniform(6.0, 17.0, 3)
    heading = np.radians(np.cumsum(turns))
    steps = lengths[:, None] * np.stack([np.sin(heading), np.cos(heading), np.zeros(JOINTS - 1)], axis=1)
    points = np.array([6_700_000.0, 2_000_000.0, 50.0]) + np.concatenate([np.zeros((1, 3)), np.cumsum(steps, axis=0)])
    return points, np.concatenate([[0.0], np.cumsum(lengths)])


def placed(points, station, own, seed, every=3, **records):
    """Place a log that holds coordinates of its joints; give the result and how far joints truly are off."""
    chance = np.random.default_rng(seed)
    shot = np.unique(np.append(np.arange(0, JOINTS, every), JOINTS - 1))
    shots = points[shot] + chance.normal(0.0, 0.03, (len(shot), 3))
    own = own + chance.normal(0.0, 0.03, own.shape)
    written = [f"{int(at // 100)}+{at % 100:05.2f}" for at in np.floor(100.0 * np.maximum(station, 0.0)) / 100.0]
    logged = log(points, station=written, easting=np.round(own[:, 0], 3), northing=np.round(own[:, 1], 3))
    stated = {"sigma_horizontal": 0.03, "sigma_vertical": 0.03, "source": "survey"}
    placement = place(lines(A=shots), logged, centerline=stated, records={"sigma_station": 0.1, **records})
    number = placement.joints["joint"].astype(int).to_numpy() - 1
    off = np.hypot(*(placement.joints[["easting", "northing"]].to_numpy() - points[number, :2]).T)
    return placement, off


def told(placement):
    return [note.text for note in placement.notes if note.code == "positions-doubtful"]


@pytest.mark.parametrize("curve", [0.0, 1.0])
@pytest.mark.parametrize("stretch", [slice(None), slice(20, None), slice(20, 40)])
@pytest.mark.parametrize("rows", [1, -1, 2])
def test_coordinates_that_stand_in_other_rows_are_as_unsure_as_they_are_far_off(curve, stretch, rows):
    """Joints 20 and 40 ft off were stated to 0.1 ft, all of them."""
    points, along = main(1, curve)
    own, moved = points[:, :2].copy(), np.clip(np.arange(JOINTS) + rows, 0, JOINTS - 1)
    own[stretch] = points[moved[stretch], :2]
    placement, off = placed(points, along, own, 1)
    assert np.median(off[stretch]) > 15.0
    unsure = placement.joints["accuracy_horizontal"].fillna(np.inf)
    # Standard errors of 0.03 ft hold 95 of 100 joints.
    assert np.mean(off <= unsure) >= 0.9
    assert unsure[off > 1.0].min() > 15.0
    assert any(TOLD in text or "by the same way" in text for text in told(placement))


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("kind", ["read", "whole feet", "a tape that is off", "adding up"])
def test_stations_of_honest_logs_make_no_coordinates_unsure(seed, kind):
    points, along = main(seed, 0.5 * (seed % 2))
    chance = np.random.default_rng(seed)
    off = {
        "read": chance.normal(0.0, 0.1, JOINTS), "whole feet": np.round(along) - along,
        "a tape that is off": 0.003 * along, "adding up": np.cumsum(chance.normal(0.0, 0.1, JOINTS)),
    }[kind]  # fmt: skip
    placement, _ = placed(points, along + off - off[0], points[:, :2], seed, station_tolerance=10.0)
    assert told(placement) == []
    assert placement.joints["accuracy_horizontal"].max() < 0.5


def test_a_corner_that_a_sparse_line_cuts_off_shifts_no_coordinates():
    """Joints past a bend that was not shot lie behind their stations by as much; that was told of 12 of 100 mains."""
    turns = np.random.default_rng(3).uniform(-0.5, 0.5, JOINTS - 2)
    turns[11] = 60.0
    points = pipe(turns)
    placement, off = placed(points, 20.0 * np.arange(JOINTS), points[:, :2], 3, every=5, station_tolerance=30.0)
    assert told(placement) == []
    assert (off <= placement.joints["accuracy_horizontal"]).mean() > 0.8


def test_one_joint_beside_the_line_shifts_none_ahead_of_it():
    points, along = main(2, 0.0)
    own = points[:, :2].copy()
    own[30] += 6.0
    placement, _ = placed(points, along, own, 2, station_tolerance=10.0)
    assert not any(TOLD in text for text in told(placement))
