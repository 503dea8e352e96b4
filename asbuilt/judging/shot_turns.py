"""What the joints around each shot turn together, and the ceilings that sets while the main curves one way."""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.judging import shares, sightings
from asbuilt.judging.around import Around, at_shots
from asbuilt.judging.bounds import Measured
from asbuilt.judging.deflection import Segments
from asbuilt.judging.own_turns import blank, fill
from asbuilt.judging.shares import Shares
from asbuilt.judging.shown import Survey, leg_lengths
from asbuilt.judging.sightings import ShotErrors
from asbuilt.line.routes import Located


class Shots(NamedTuple):
    """What the joints around each shot turn together: shapes (vertices,)."""

    seen: Measured
    axis: Floats
    usable: Bools
    level: Bools
    fitted: Bools
    """True where a fitting was taken out of the turn."""


def shot_turns(
    survey: Survey, legs: Segments, around: Around, doubted: Bools, errors: ShotErrors, open_joints: Bools
) -> Shots:
    """Give what the joints around each shot turn together; only at shots near joints that need it."""
    count = len(around.inner)
    needed = np.zeros(count + 2, dtype=np.bool_)
    for shot in (around.one[open_joints], around.other[open_joints]):
        needed[shot] = needed[shot + 1] = needed[shot + 2] = True
    # What a fitting between two shots turned cannot be told from what the joints did.
    blind = doubted.copy()
    for shot in (around.one, around.one + 1, around.other):
        blind[shot[around.hidden].clip(max=count - 1)] = True
    vertex = np.flatnonzero(around.inner & needed[1:-1] & ~blind)
    fitted = at_shots(around, survey.bends, vertex)
    found = blank(count)
    fill(found, vertex, sightings.turned(sightings.between_shots(survey.routes, legs, vertex, vertex), fitted, errors))
    usable, has_fitting = np.isfinite(found.measured.one), np.zeros(count, dtype=np.bool_)
    has_fitting[vertex] = fitted.there
    found.measured.one[~usable] = 0.0
    return Shots(found.measured, found.axis, usable, found.level, has_fitting)


def ceilings(survey: Survey, legs: Segments, shots: Shots, around: Around) -> tuple[Floats, Floats]:
    """Give each joint's ceiling while the main curves one way: as the turns show it, and at the job's confidence."""
    count, located = len(around.one), survey.joints.located
    limits = np.full(count, np.nan), np.full(count, np.nan)
    if not shots.usable.any():
        return limits
    length, same_route = leg_lengths(survey.routes, legs)
    # Shots that show no turn, and the joints between them, have no part in it.
    kept = shots.usable.copy()
    kept[:-1] |= shots.usable[1:]
    kept[1:] |= shots.usable[:-1]
    vertex, number = np.flatnonzero(kept), np.cumsum(kept) - 1
    same_route = (same_route & np.append(kept[1:], False))[vertex]
    some, _ = _among(survey.shares.located, kept, number)
    joined = Shares(some, np.zeros(len(some.vertex)), survey.sigma_along)
    inside, rows = _among(located, kept, number)
    seen, axis, usable = shots.seen.take(vertex), shots.axis[vertex], shots.usable[vertex]
    none = np.zeros(len(vertex))
    plain = replace(seen, variance_one=none, variance_other=none, covariance=none)
    for found, turns, sharing in ((limits[0], plain, replace(joined, sigma=0.0)), (limits[1], seen, joined)):
        bound = shares.one_way(turns, axis, usable, sharing, same_route, length[vertex], survey.confidence, seen)
        most = bound.ceilings(inside)
        found[rows] = np.where(np.isfinite(most) & ~around.hidden[rows], most, np.nan)
    return limits


def _among(located: Located, kept: Bools, number: Ints) -> tuple[Located, Ints]:
    """Give the joints at, or between, shots that are kept, with new numbers of these; and which they are."""
    last = located.weight == 1.0
    vertex, weight = located.vertex + last, np.where(last, 0.0, located.weight)
    rows = np.flatnonzero(kept[vertex] & ((weight == 0.0) | kept[np.minimum(vertex + 1, len(kept) - 1)]))
    return Located(number[vertex[rows]], weight[rows]), rows
