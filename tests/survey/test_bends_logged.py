"""Sound mains of several bends that were shot sparsely, and the blunders that look like them."""

import numpy as np
import pytest
from laying import codes, lines, log, pipe, place

import asbuilt

STATED = {"sigma_horizontal": 0.03, "sigma_vertical": 0.03, "shots_at_joints": None}
JOINTS = 81


def bent(angles, *, way=None):
    """Lay a main with bends, in degrees by the joint at which each is, right positive; give its joints and its log."""
    chance = np.random.default_rng(len(angles))
    turn = chance.uniform(-1.0, 1.0, JOINTS - 2)
    turn[[at - 1 for at in angles]] = list(angles.values())
    points = pipe(turn)
    told = {at: f"{abs(angle):g}" for at, angle in angles.items()} if way is None else way
    kind = ["bend" if at in told else "pipe" for at in range(JOINTS)]
    return points, log(points, kind=kind, **{"bend angle": [told.get(at, "") for at in range(JOINTS)]})


def shot(points, every=6):
    """Shoot each so manieth joint and the last one, whatever is there."""
    some = np.unique(np.append(np.arange(0, len(points), every), len(points) - 1))
    return points[some] + np.random.default_rng(every).normal(0.0, 0.03, (len(some), 3))


HAIRPIN, JOG, STAIRS = {38: 90.0, 43: 90.0}, {27: 90.0, 31: -90.0}, {20: 90.0, 26: 90.0, 34: -90.0, 40: -90.0}


@pytest.mark.parametrize("angles", [HAIRPIN, JOG, STAIRS, HAIRPIN | {60: -90.0, 66: 45.0}])
@pytest.mark.parametrize("every", [4, 5, 6, 7, 8])
def test_bends_of_the_log_turn_a_sparse_line_back(angles, every):
    """Of 177 simulated mains, shot without regard to bends, 11 were refused and 46 shots of others doubted."""
    points, records = bent(angles)
    found = set(codes(place(lines(A=shot(points, every)), records, centerline=STATED)))
    assert not found & {"shot-astray", "shot-order", "shot-repeated", "line-doubles-back"}


def test_a_hairpin_that_is_not_in_the_log_is_refused_as_before():
    points, records = bent(HAIRPIN, way={})
    with pytest.raises(asbuilt.InputFileError, match="turns back"):
        place(lines(A=shot(points, 8)), records, centerline=STATED)


@pytest.mark.parametrize("first", [3, 6, 8, 10])
def test_two_shots_exchanged_beside_bends_make_the_line_longer_than_its_log(first):
    """What bends cut off makes a line shorter; so bends beside a shot in the wrong order do not excuse it."""
    points, records = bent({38: 90.0, 70: -90.0})
    shots = shot(points, 6)
    shots[[first, first + 1]] = shots[[first + 1, first]]
    with pytest.raises(asbuilt.InputFileError, match=r"turns back|wrong order"):
        place(lines(A=shots), records, centerline=STATED)


def test_a_line_that_lacks_its_first_shots_is_short_before_it_is_backward():
    """By one bend, it fits as well counted from its other end; the bends that its log has beyond it do not."""
    points, records = bent({12: 45.0, 62: -45.0})
    lost = place(lines(A=shot(points, 2)[9:]), records, told=False, centerline=STATED)
    assert "coverage-short" in codes(lost) or "bend-off-corner" in codes(lost)
    points, records = bent({12: 45.0, 70: -45.0})
    backward = place(lines(A=shot(points, 2)[::-1]), records, told=False, centerline=STATED)
    # Both bends lie 40 ft off alike, too, as where the first shot is lost: that is no proof.
    assert "counted from its other end" in " ".join(backward.findings["message"])
    assert backward.joints["accuracy_horizontal"].isna().all()
