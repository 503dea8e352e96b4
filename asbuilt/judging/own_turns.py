"""Joints whose deflection the survey shows by itself: they and their neighbours were shot, or the legs show it."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.judging import sightings
from asbuilt.judging.around import Around, by_chords
from asbuilt.judging.bounds import Measured
from asbuilt.judging.deflection import Segments
from asbuilt.judging.shown import AT, Survey
from asbuilt.judging.sightings import ShotErrors, Turned

_ROUNDS = 3


class Own(NamedTuple):
    """What the survey shows of each joint by itself: shapes (joints,)."""

    exact: Bools
    turned: Turned
    turn: Floats
    sigma: Floats
    slack: Floats
    by_legs: Bools
    """True where the turn was seen between the legs at one shot, or at both ends of a fitting."""


def own_turns(survey: Survey, legs: Segments, around: Around, doubted: Bools, errors: ShotErrors) -> Own:
    joints, bends, straights = survey.joints, survey.bends, survey.straights
    one, other = around.one, around.other
    # A straight to one of two shots at a fitting's ends would cut the fitting's corner.
    cut = (one < other) & bends.there & (bends.other_end < 0)
    chord = by_chords(joints.shot & ~cut, straights, bends, survey.missing, len(one))
    inner = around.inner[one] & around.inner[other] & np.isfinite(chord.turn)
    alone = around.between <= np.where(bends.there, 2, 1)
    by_legs = ~chord.exact & inner & alone & ~doubted[one] & ~doubted[other] & _apart_from_missing(survey, around)
    found = blank(len(one))
    rows = np.flatnonzero(np.isfinite(chord.turn) & ~by_legs)
    pairs = sightings.between_joints(
        survey.routes, joints, straights, survey.heights, chord.before[rows], chord.after[rows]
    )
    fill(found, rows, sightings.turned(pairs, bends.take(rows), errors))
    rows = np.flatnonzero(by_legs)
    if len(rows):
        pairs = sightings.between_shots(survey.routes, legs, one[rows], other[rows])
        fill(found, rows, sightings.turned(pairs, bends.take(rows), errors))
    exact = (chord.exact | by_legs) & np.isfinite(found.measured.one)
    # What a bend of unknown plane leaves over lies along the turn, whose length is that of the whole turn.
    unknown = bends.there & np.isnan(bends.roll)
    sigma = np.where(unknown, np.sqrt(found.measured.variance_one), found.measured.sigma_of_size)
    found.measured.one[~exact] = np.nan
    slack = _slack(survey, found.measured.size, chord.exact & exact)
    return Own(exact, found, chord.turn, sigma, slack, by_legs & exact)


def _apart_from_missing(survey: Survey, around: Around) -> Bools:
    """Say which joints have no joint that the log lacks on the legs beside them, wherever it lies (joints,).

    Of m joints missing in a straight, one of pipes no longer than a laying length, the nearest to either of its ends
    may be as near as m lengths leave it.
    """
    clear = np.ones(len(around.one), dtype=np.bool_)
    at = np.flatnonzero(survey.missing)
    if not len(at):
        return clear
    back, along, last = survey.straights.back[at], survey.along, len(survey.along) - 1
    nearest = np.maximum(survey.straights.length[at] - survey.missing[at] * survey.laying_length, 0.0)
    reach = along[np.minimum(around.other[back] + 1, last)] - survey.place[back]
    clear[back] &= nearest >= reach - survey.tolerance
    reach = survey.place[back + 1] - along[np.maximum(around.one[back + 1] - 1, 0)]
    clear[back + 1] &= nearest >= reach - survey.tolerance
    return clear


def _slack(survey: Survey, size: Floats, exact: Bools) -> Floats:
    """Give how far a turn may be from the deflection of a joint that may lie away from the shot taken to be its own.

    A joint at the part e of a straight's length from its shot shows the part 1 - e of its deflection there, and the
    part e at the other end of the straight; a fitting so shows its angle, too.
    """
    off = survey.joints.off_the_shot(survey.along)
    slack: Floats = np.zeros(len(size))
    if not off.any():
        return slack
    back, ahead = survey.straights.back, survey.straights.back + 1
    length = np.where(survey.bends.other_end[back] == ahead, np.inf, np.maximum(survey.straights.length, AT))
    from_back, from_ahead = np.maximum(off[back], 0.0) / length, np.maximum(-off[ahead], 0.0) / length
    angle = np.nan_to_num(survey.bends.angle)
    for _ in range(_ROUNDS):
        largest = np.nan_to_num(np.where(exact, size + slack, survey.allowable)) + angle
        moved = from_back * largest[back] + from_ahead * largest[ahead]
        slack = np.zeros(len(size))
        slack += np.bincount(back, moved, minlength=len(size)) + np.bincount(ahead, moved, minlength=len(size))
    return np.where(exact, slack, 0.0)


def blank(count: int) -> Turned:
    nan = [np.full(count, np.nan) for _ in range(4)]
    zero = np.zeros(count)
    measured = Measured(nan[0], zero, nan[1], nan[2], nan[3])
    return Turned(measured, np.zeros(count), np.zeros((count, 3)), np.zeros(count, dtype=np.bool_))


def fill(into: Turned, rows: Ints, found: Turned) -> None:
    for name in ("one", "variance_one", "variance_other", "covariance"):
        getattr(into.measured, name)[rows] = getattr(found.measured, name)
    into.toward[rows], into.axis[rows], into.level[rows] = found.toward, found.axis, found.level
