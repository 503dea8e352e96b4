"""Turns larger than the joints that share them may make together, in plan and in grade: one of them is over."""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.judging import bounds, deflection, grades, shares, sightings
from asbuilt.judging.around import Around
from asbuilt.judging.bounds import Measured
from asbuilt.judging.deflection import Segments
from asbuilt.judging.shot_turns import Shots
from asbuilt.judging.shown import AT, Survey, leg_lengths, turning
from asbuilt.judging.sightings import ShotErrors

STEEPEST = 0.98
"""Where elevations are unknown, a turn in plan is at least this part of itself in space: the cosine of a grade of 20
percent."""


class Overs(NamedTuple):
    """Floors under the largest deflection, and where joints are over together, at one joint each: shapes (joints,)."""

    floor: Floats
    there: Bools
    turn: Floats
    sigma: Floats
    room: Floats
    shot: Ints
    sharing: Ints
    first: Ints
    last: Ints


class _Turning(NamedTuple):
    """Turns and the joints that share them: shapes (turns,)."""

    seen: Measured
    level: Bools
    room: Floats
    weight: Floats
    variance: Floats
    first: Ints
    last: Ints
    sharing: Ints
    place: Floats
    shot: Ints


def overs(
    survey: Survey, legs: Segments, around: Around, shots: Shots, errors: ShotErrors, exact: Bools
) -> Overs:  # fmt: skip
    """Find turns larger than the joints that share them may make, at single shots and at pairs of them."""
    count = len(exact)
    turn, sigma, room = (np.full(count, np.nan) for _ in range(3))
    found = Overs(
        np.zeros(count), np.zeros(count, dtype=np.bool_), turn, sigma, room, np.full(count, -1),
        np.ones(count, dtype=np.int64), np.arange(count), np.arange(count),
    )  # fmt: skip
    free = np.flatnonzero(~exact)
    if not len(free):
        return found
    along, place = survey.along, survey.place
    length, _ = leg_lengths(survey.routes, legs)
    joined = shares.room(survey.shares, length)
    one = np.flatnonzero(shots.usable & (around.last >= around.first) & (joined.weight > 0))
    single = _Turning(
        shots.seen.take(one), shots.level[one], joined.most[one], joined.weight[one], joined.variance[one],
        around.first[one], around.last[one], around.sharing[one], along[one], one,
    )  # fmt: skip
    # Two looks at each turn, alone and with the next: each at half of the error.
    confidence = 1.0 - (1.0 - survey.confidence) / 2.0
    _put(found, single, place, free, confidence, floors=True)
    quiet = shots.usable & ~shots.fitted
    two = np.flatnonzero(quiet[:-1] & quiet[1:] & (survey.routes.vertex_route[1:] == survey.routes.vertex_route[:-1]))
    if len(two):
        pairs = sightings.between_shots(survey.routes, legs, two, two + 1)
        both = sightings.turned(pairs, sightings.without_bends(len(two)), errors)
        double = _Turning(
            both.measured, both.level, joined.most[two] + joined.most[two + 1],
            joined.weight[two] + joined.weight[two + 1], joined.variance[two] + joined.variance[two + 1],
            around.first[two], np.maximum(around.last[two], around.last[two + 1]),
            around.sharing[two] + around.sharing[two + 1], (along[two] + along[two + 1]) / 2.0,
            np.full(len(two), -1),
        )  # fmt: skip
        _put(found, double, place, free, confidence, floors=False)
    return found


def by_grades(survey: Survey, found: Overs, open_joints: Bools) -> Overs:
    """Find changes of grade between measured elevations that are larger than the joints there may turn together.

    At joints of which the survey leaves out the turn upward or downward, and where nothing is over by itself.
    """
    free = np.flatnonzero(open_joints)
    if not len(free):
        return found
    seen = grades.breaks(
        survey.routes, survey.joints.located, survey.shares, survey.bends.there | survey.unknown_bend,
        survey.in_plan_alone,
    )  # fmt: skip
    along, place, counted = survey.along, survey.place, np.sort(turning(survey, survey.place))
    low, high = along[seen.back] + AT, along[seen.ahead] - AT
    first, end = np.searchsorted(place, low, side="right"), np.searchsorted(place, high, side="left")
    sharing = np.searchsorted(counted, high, side="left") - np.searchsorted(counted, low, side="right")
    rows = np.flatnonzero(end > first)
    turns = _Turning(
        seen.change.take(rows), np.zeros(len(rows), dtype=np.bool_), seen.room[rows], seen.weight[rows],
        seen.variance[rows], first[rows], end[rows] - 1, sharing[rows], along[seen.vertex[rows]],
        np.full(len(rows), -1),
    )  # fmt: skip
    _put(found, turns, place, free, 1.0 - (1.0 - survey.confidence) / 2.0, floors=False)
    return found


def _put(found: Overs, turns: _Turning, place: Floats, free: Ints, confidence: float, *, floors: bool) -> None:
    """Give each turn to the joint nearest to it that was not measured itself; where several are, the largest counts."""
    off = np.where(np.isnan(turns.variance), 0.0, turns.variance)
    seen = replace(
        turns.seen, variance_one=turns.seen.variance_one + off, variance_other=turns.seen.variance_other + off
    )
    factor = bounds.factor_outside(seen, np.nan_to_num(turns.room), confidence)
    least = bounds.least(seen, factor) * np.where(turns.level, STEEPEST, 1.0)
    over = least > turns.room + np.radians(deflection.ROUNDING_DEG)
    excess = np.where(over, 1e3 + turns.seen.size, turns.seen.size / np.maximum(turns.weight, AT))
    order = np.argsort(excess, kind="stable")
    at = np.searchsorted(place[free], turns.place[order]).clip(1, max(len(free) - 1, 1))
    back, ahead = free[at - 1], free[np.minimum(at, len(free) - 1)]
    closer = turns.place[order] - place[back] <= place[ahead] - turns.place[order]
    joint = np.where(closer, back, ahead)
    inside = (joint >= turns.first[order]) & (joint <= turns.last[order])
    swapped = np.where(closer, ahead, back)
    joint = np.where(inside, joint, swapped)
    inside = (joint >= turns.first[order]) & (joint <= turns.last[order])
    told = np.concatenate([[0], np.cumsum(found.there)])
    # Two shots together say more only where neither of them does by itself.
    new = told[turns.last[order] + 1] == told[turns.first[order]]
    chosen = inside if floors else inside & over[order] & new
    joint, rows = joint[chosen], order[chosen]
    if floors:
        found.floor[joint] = turns.seen.size[rows] / turns.weight[rows]
    found.there[joint] = over[rows]
    found.turn[joint], found.room[joint] = turns.seen.size[rows], turns.room[rows]
    found.sigma[joint], found.shot[joint] = np.sqrt(turns.seen.variance_one[rows]), turns.shot[rows]
    found.sharing[joint], found.first[joint], found.last[joint] = (
        turns.sharing[rows], turns.first[rows], turns.last[rows]
    )  # fmt: skip
