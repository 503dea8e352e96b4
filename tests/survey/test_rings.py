"""Ring mains strung from another corner than that of the start station, told by bends and uneven lengths."""

import numpy as np
import pytest
from laying import EAST, NORTH, lines, log, place

SHOT = {"sigma_horizontal": 0.03, "sigma_vertical": 0.03, "source": "survey"}
CORNERS = np.array([[0, 0], [0, 430], [310, 430], [310, 690], [655, 690], [655, -85], [240, -85], [240, 0]], float)
"""Easting and northing, ft; the stations start at the first one. No two sides are alike."""
SQUARE = np.array([[0, 0], [0, 400], [400, 400], [400, 0]], float)


def laid(corners):
    """Lay whole lengths of 20 ft along the sides, and a piece that ends at each corner; give joints and bends."""
    places = []
    for start, end in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        side = np.hypot(*(end - start))
        at = np.arange(0.0, side - 1e-6, 20.0)
        places.append(start + at[:, None] / side * (end - start))
    points = np.concatenate([*places, corners[:1]])
    high = 50.0 + 2.0 * np.sin(np.arange(len(points)) / 9.0)
    bend = np.isin(np.arange(len(points)), np.cumsum([len(one) for one in places])[:-1])
    return np.column_stack([points + np.array([EAST, NORTH]), high]), bend


def placed(corners=CORNERS, *, first=0, every=1, again=True, back=False, bends=True, seed=1):
    """String a ring from the corner of a number; give what was placed, and where each joint was laid."""
    points, bend = laid(corners)
    start = [0, *np.flatnonzero(bend)][first]
    order = np.roll(np.arange(len(points) - 1), -start)
    if back:
        order = np.roll(order[::-1], 1)
    kept = order[(order % every == 0) | bend[order] | (order == start)]
    kept = np.append(kept, start) if again else kept
    shots = points[kept] + np.random.default_rng(seed).normal(0.0, 0.03, (len(kept), 3))
    told = bend & bends
    more = {"kind": np.where(told, "bend", "pipe"), "bend angle": np.where(told, "90", "")}
    job = place(lines(A=shots), log(points, **more), centerline=SHOT, records={"sigma_station": 0.05})
    return job, points


def off(job, points):
    at = job.joints["joint"].astype(int) - 1
    return np.hypot(job.joints["easting"] - points[at, 0], job.joints["northing"] - points[at, 1])


def untold(job):
    return [note.text for note in job.notes if "at which point of it the stations start" in note.text]


@pytest.mark.parametrize("every", [1, 4])
@pytest.mark.parametrize("again", [True, False], ids=["the first shot again", "open"])
@pytest.mark.parametrize("first", [1, 3, 6])
def test_a_ring_strung_from_another_corner_is_told_and_no_joint_is_sure(first, again, every):
    job, points = placed(first=first, again=again, every=every)
    assert off(job, points).median() > 100.0
    (found,) = job.findings.query("code == 'shot-order'").itertuples()
    assert "7 bends of 20 deg and more" in found.message
    # The first corner, at which the stations start.
    assert np.hypot(found.geometry.x - points[0, 0], found.geometry.y - points[0, 1]) < 45.0
    assert set(job.joints["verdict"]) <= {"cannot-tell", "not-computed"}
    assert job.joints["accuracy_horizontal"].isna().all()
    assert "bend-off-corner" not in set(job.findings["code"])


def test_a_ring_strung_from_another_corner_and_the_other_way_round_is_told():
    job, _ = placed(first=2, back=True)
    (message,) = job.findings.query("code == 'shot-order'")["message"]
    assert ", and the other way round" in message


def test_pieces_that_are_no_whole_lengths_tell_it_where_the_log_has_no_bend():
    job, _ = placed(first=2, bends=False)
    (message,) = job.findings.query("code == 'shot-order'")["message"]
    assert "pieces that are no whole lengths" in message
    assert set(job.joints["verdict"]) <= {"cannot-tell", "not-computed"}


@pytest.mark.parametrize("bends", [True, False])
@pytest.mark.parametrize("every", [1, 4])
@pytest.mark.parametrize("seed", range(3))
def test_of_a_ring_strung_from_its_start_nothing_is_told(seed, every, bends):
    job, points = placed(every=every, bends=bends, seed=seed)
    assert "shot-order" not in set(job.findings["code"])
    assert off(job, points).max() < 0.3
    assert job.joints["accuracy_horizontal"].notna().all()
    # Without bends, and shots at the pieces, it would lie as well elsewhere.
    assert bool(untold(job)) == (every == 4 and not bends)


def test_of_a_ring_that_is_alike_from_every_corner_it_is_said_that_nothing_tells_where_it_starts():
    for first in (0, 1):
        job, _ = placed(SQUARE, first=first)
        assert "shot-order" not in set(job.findings["code"])
        (note,) = untold(job)
        assert "check that 0+00.00 is where its line begins" in note


def test_a_main_that_comes_back_beside_its_start_is_no_ring():
    # A horseshoe of 1,860 ft whose ends lie 100 ft apart.
    corners = np.array([[0, 0], [0, 880], [100, 880], [100, 0]], float)
    points = np.concatenate([laid(corners)[0][:94]])
    shots = points + np.random.default_rng(1).normal(0.0, 0.03, points.shape)
    job = place(lines(A=shots), log(points), centerline=SHOT, records={"sigma_station": 0.05})
    assert not untold(job)
    assert "shot-order" not in set(job.findings["code"])
