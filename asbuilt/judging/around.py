"""What lies around each joint: the shots that see it, the joints that share their turns, the straights beside it."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.judging import deflection, sightings
from asbuilt.judging.deflection import Segments
from asbuilt.judging.fittings import Bends
from asbuilt.judging.shown import AT, Survey, turning
from asbuilt.line.routes import between


class Around(NamedTuple):
    """Shots around each joint (joints,), and what lies around each shot (vertices,)."""

    one: Ints
    """The shot at which the joint's turn is seen, or the one before it."""
    other: Ints
    """The shot at which the joint's turn is seen, or the one after it."""
    hidden: Bools
    """True where no one shot shows the turn of a bend: it lies between two shots, or both its ends were shot."""
    inner: Bools
    """True for shots that have a shot on either side."""
    sharing: Ints
    """Joints strictly between the shots on either side of each shot; a bend counts twice."""
    between: Ints
    """Joints strictly between the shots before and after those of each joint, likewise (joints,)."""
    first: Ints
    last: Ints


class Chords(NamedTuple):
    """The straights on either side of each joint, or of its fitting: shapes (joints,)."""

    turn: Floats
    """NaN where there is no straight on one side."""
    before: Ints
    after: Ints
    exact: Bools
    """True where all joints that those straights run between were shot, and none is missing from the log."""


def around_joints(survey: Survey) -> Around:
    routes, joints = survey.routes, survey.joints
    along = routes.along
    place = between(along, joints.located)
    one = joints.located.vertex + (joints.at & (joints.located.weight > 0.5))
    other = np.where(joints.at, one, one + 1)
    hidden = np.zeros(len(place), dtype=np.bool_)
    fitting = np.flatnonzero(survey.bends.there)
    if len(fitting):
        one[fitting], other[fitting], hidden[fitting] = _around_fittings(
            along, between(along, joints.logged), survey.bends, fitting, survey.tolerance
        )
    inner = np.zeros(len(along), dtype=np.bool_)
    inner[1:-1] = routes.vertex_route[2:] == routes.vertex_route[:-2]
    # Joints at a shot lie on it exactly; those at the ends of a route turn nothing, of whichever route.
    before, after = np.roll(along, 1), np.roll(along, -1)
    begins, ends = routes.first[:-1], routes.first[1:] - 1
    before[begins], after[ends] = along[begins], along[ends]
    low, high = before + AT, after - AT
    first, end = np.searchsorted(place, low, side="right"), np.searchsorted(place, high, side="left")
    counted = np.sort(turning(survey, place))
    sharing = np.searchsorted(counted, high, side="left") - np.searchsorted(counted, low, side="right")
    return Around(
        one=one,
        other=other,
        hidden=hidden,
        inner=inner,
        sharing=np.maximum(sharing, 0),
        between=np.searchsorted(counted, high[other], side="left") - np.searchsorted(counted, low[one], side="right"),
        first=np.minimum(first, len(place) - 1),
        last=np.maximum(end - 1, 0),
    )


def _around_fittings(
    along: Floats, place: Floats, bends: Bends, fitting: Ints, tolerance: float
) -> tuple[Ints, Ints, Bools]:
    """Give the first and last shot on each fitting, or else the shots around it, and whether one shot shows its turn.

    A fitting may be shot at its center, at its ends, or not at all.
    """
    mate = np.where(bends.other_end[fitting] >= 0, bends.other_end[fitting], fitting)
    center, half = (place[fitting] + place[mate]) / 2.0, np.abs(place[fitting] - place[mate]) / 2.0
    first = np.searchsorted(along, center - half - tolerance, side="left")
    last = np.searchsorted(along, center + half + tolerance, side="right") - 1
    before = np.clip(np.searchsorted(along, center, side="right") - 1, 0, len(along) - 2)
    on_it = first <= last
    return np.where(on_it, first, before), np.where(on_it, last, before + 1), first != last


def by_chords(shot: Bools, straights: Segments, bends: Bends, missing: Ints, count: int) -> Chords:
    middle, before, after = straights.adjacent
    none = np.full(count, -1, dtype=np.int64)
    back, ahead, turn = none.copy(), none.copy(), np.full(count, np.nan)
    back[middle], ahead[middle] = before, after
    pair = np.flatnonzero(bends.other_end >= 0)
    # A fitting logged by its ends: its joints share the turn from the straight before it to the one after it.
    leading = pair[bends.other_end[pair] > pair]
    trailing = bends.other_end[leading]
    ahead[leading], back[trailing] = ahead[trailing], back[leading]
    whole = np.flatnonzero((back >= 0) & (ahead >= 0))
    turn[whole] = deflection.angle_between(*straights.facing(back[whole], ahead[whole]))
    sound = shot[straights.back] & shot[straights.back + 1] & (missing == 0)
    exact = np.zeros(count, dtype=np.bool_)
    exact[whole] = sound[back[whole]] & sound[ahead[whole]] & np.isfinite(turn[whole])
    return Chords(turn, back, ahead, exact)


def at_shots(around: Around, bends: Bends, vertex: Ints) -> Bends:
    """Give the fitting at each of some shots."""
    number = np.full(len(around.inner), -1, dtype=np.int64)
    there = np.flatnonzero(bends.there & ~around.hidden)
    number[around.one[there]] = there
    if not len(there):
        return sightings.without_bends(len(vertex))
    found = bends.take(number[vertex])
    return found._replace(angle=np.where(number[vertex] >= 0, found.angle, np.nan))
