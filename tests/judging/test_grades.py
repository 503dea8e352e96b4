"""Joints beside missing elevations: what the measured ones on either side let them turn upward or downward."""

import numpy as np
import pytest
from laying import EXACT, LOOKED_AT, lines, log, pipe, place
from scipy.optimize import linprog

SURE = {"sigma_horizontal": 0.02, "sigma_vertical": 0.02, **LOOKED_AT}


def rising(turns_up):
    """Lay pipes on a grade that turn upward by given degrees at the joints between them."""
    up = np.radians(1.0 + np.concatenate([[0.0], np.cumsum(turns_up)]))
    points = pipe(np.zeros(len(turns_up)))
    points[1:, 1:] = points[0, 1:] + np.cumsum(20.0 * np.stack([np.cos(up), np.sin(up)], axis=1), axis=0)
    return points


def without(points, *rows):
    blank = points.copy()
    blank[np.concatenate([np.atleast_1d(row) for row in rows]), 2] = np.nan
    return blank


def placed(points, **centerline):
    return place(lines(A=points), log(np.nan_to_num(points)), centerline=SURE | centerline)


def planted(degrees, at=10, many=20):
    turns = np.zeros(many)
    turns[at - 1] = degrees
    return rising(turns)


@pytest.mark.parametrize("missing", [[10], np.arange(0, 21, 2), np.arange(8, 13), np.arange(1, 20), np.arange(1, 21)])
@pytest.mark.parametrize("way", [6.0, -6.0])
def test_a_planted_vertical_turn_is_never_within_where_elevations_are_missing(missing, way):
    """6 degrees of 5 allowed, at a joint whose own elevation, or one that shows its turn, was not shot."""
    placement = placed(without(planted(way), missing))
    verdict = placement.joints["verdict"].tolist()
    if len(missing) == 20:
        # Between the ends nothing was measured: the grade's change shows nowhere, and the word says so.
        assert placement.joints["verdict_assumes"][10] == "level"
    else:
        assert verdict[10] in ("cannot-tell", "over")


def test_the_finding_says_what_the_elevations_beside_it_show():
    placement = placed(without(planted(6.0), np.arange(0, 21, 2)))
    found = placement.findings[placement.findings["code"] == "deflection-unclear"]
    assert found["joint"].tolist() == ["11"]
    message = found["message"].iloc[0]
    assert "it turns 0 deg in plan, and the elevations shot on either side let it turn up to 6." in message
    assert "elevations shot at it and at the joints beside it, or a reading, tell" in message


def test_a_turn_put_between_elevations_is_told_nowhere_as_the_turn_of_a_joint():
    """Half of 6 degrees was told at each neighbour, and none at the joint itself."""
    joints = placed(without(planted(6.0), np.arange(0, 21, 2))).joints
    assert joints["turn_vertical_deg"].isna().all()
    assert joints["turn_deg"][1:-1].max() < 1e-6


def test_a_straight_main_loses_nothing_by_missing_elevations():
    """What was within if level stays so: no grade changes."""
    chance = np.random.default_rng(5)
    points = rising(np.zeros(60))
    points[:, 2] += chance.normal(0.0, 0.02, len(points))
    rows = np.flatnonzero(chance.random(61) < 0.5)
    verdict = placed(without(points, rows)).joints["verdict"]
    assert set(verdict[1:-1]) <= {"within", "within-assumed"}


def test_the_bound_is_the_optimum_of_its_linear_programme():
    """Against scipy: the most that each joint turns up while all turn up, and the changes of grade are as measured."""
    chance = np.random.default_rng(2)
    turns_up = np.abs(chance.normal(0.0, 0.8, 24))
    kept = np.array([0, 3, 4, 7, 11, 12, 16, 20, 25])
    missing = np.setdiff1d(np.arange(26), kept)
    points = rising(turns_up)
    placement = place(lines(A=without(points, missing)), log(points), centerline=EXACT)
    grade = np.arctan2(np.diff(points[kept, 2]), np.diff(points[kept, 1]))
    along = points[:, 1]
    weights = np.zeros((len(kept) - 2, 26))
    for row, (one, two, three) in enumerate(zip(kept[:-2], kept[1:-1], kept[2:], strict=True)):
        weights[row] = np.interp(along, along[[one, two, three]], [0.0, 1.0, 0.0])
    for joint in range(4, 20):
        best = linprog(-np.eye(26)[joint], A_eq=weights, b_eq=np.diff(grade))
        found = placement.judged.seen.upward[joint]
        if placement.judged.seen.level[joint]:
            assert found == pytest.approx(-best.fun, rel=0.05, abs=1e-5)
            assert found >= np.radians(turns_up[joint - 1]) - 1e-5


def test_readings_at_the_joint_settle_what_elevations_leave_open():
    points = without(planted(6.0), np.arange(0, 21, 2))
    records = log(np.nan_to_num(points))
    for clock in (12, 3, 6, 9):
        records[f"gap {clock}"] = ["2.00" if row == 10 else None for row in range(len(points))]
    placement = place(lines(A=points), records, centerline=SURE)
    assert placement.joints["verdict"][10] in ("within", "cannot-tell")
    assert placement.joints["verdict_assumes"].isna()[10]


def test_no_accuracy_is_stated_for_an_elevation_that_was_put_between_others():
    joints = placed(without(planted(6.0), np.arange(0, 21, 2))).joints
    assert joints["accuracy_vertical"][np.arange(2, 20, 2)].isna().all()
    assert joints["accuracy_vertical"][np.arange(1, 20, 2)].notna().all()
    assert "put between measured ones" in joints["accuracy_source"][10]
    assert "put between" not in joints["accuracy_source"][9]


def test_a_bend_beside_missing_elevations_leaves_the_grade_unsaid():
    """What of a change of grade the bend makes is not known: the elevations around it bound nothing."""
    points = without(planted(6.0), np.arange(0, 21, 2))
    kind = ["bend" if row == 12 else "pipe" for row in range(22)]
    angle = [11.25 if one == "bend" else None for one in kind]
    records = log(np.nan_to_num(points), kind=kind, **{"bend angle": angle})
    placement = place(lines(A=points), records, centerline=SURE)
    upward = placement.judged.seen.upward
    assert upward[[11, 12, 13]].tolist() == [0.0] * 3
    assert np.degrees(upward[10]) > 6.0


def test_elevations_that_turn_up_and_down_bound_nothing():
    """A jog of 7 degrees up and as many down between elevations: once it was within, as if it turned not at all."""
    turns = np.zeros(20)
    turns[8], turns[10], turns[12] = 7.0, -7.0, 7.0
    placement = placed(without(rising(turns), np.arange(0, 21, 3)))
    joints = placement.joints
    assert joints["verdict"].to_numpy()[[9, 11, 13]].tolist() == ["cannot-tell"] * 3
    found = placement.findings[placement.findings["code"] == "deflection-unclear"]
    assert found["message"].str.contains("turn up and down and do not bound how far it does").any()


@pytest.mark.parametrize("stated", [SURE, {"sigma_horizontal": 0.02, **LOOKED_AT}])
def test_grades_that_joints_cannot_make_within_their_allowables_are_over(stated):
    """Six joints of 6 degrees upward of 5 allowed: every second elevation shows 12, and three joints may make 10."""
    turns = np.zeros(24)
    turns[8:14] = 6.0
    points = rising(turns)
    placement = place(lines(A=without(points, np.arange(0, 26, 2))), log(points), centerline=stated)
    over = placement.joints[placement.joints["verdict"] == "over"]
    assert len(over) >= 1
    assert set(over["verdict_assumes"].fillna("")) == {"" if "sigma_vertical" in stated else "shots-exact"}
    message = placement.findings["message"][placement.findings["code"] == "deflection-over"].iloc[0]
    assert message.startswith("one of the 3 joints from ")
    assert " is over: the line turns 12 deg there, and by their places they may turn it 9.9" in message


def test_what_elevations_let_a_joint_turn_rests_on_their_error_too():
    """Where only the horizontal error is stated, the bound takes the elevations as exact, and says so."""
    joints = placed(without(planted(3.0), [10]), sigma_vertical=None).joints
    assert joints["verdict_assumes"][10] == "level shots-exact"


def test_grades_within_what_joints_may_turn_are_never_over():
    """4.9 of 5 degrees at every joint, with noise; 2 seeds of 40 joints."""
    for seed in (1, 2):
        chance = np.random.default_rng(seed)
        points = rising(np.where(np.arange(40) % 12 < 6, 4.9, -4.9))
        points[:, 2] += chance.normal(0.0, 0.02, len(points))
        rows = np.flatnonzero(chance.random(41) < 0.5)
        assert "over" not in set(placed(without(points, rows)).joints["verdict"])
