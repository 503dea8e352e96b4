"""Readings at joints between shots that contradict the survey there, or what its ceilings assume.

A ceiling holds while the main curves one way between shots. A joint that was read over its ceiling shows that it does
not: what that joint turns, others around the same shots turn back, and their ceilings no longer hold either.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from asbuilt.judging import bounds
from asbuilt.judging.shares import sums

if TYPE_CHECKING:
    from asbuilt.arrays import Bools, Floats, Ints
    from asbuilt.judging.bounds import Measured
    from asbuilt.judging.survey import Seen
    from asbuilt.line.routes import Located


class Rates(NamedTuple):
    """How sure one bound is to be, and how rarely chance may show anything on a main where nothing is wrong."""

    confidence: float
    main_confidence: float


class BothWays(NamedTuple):
    """What readings leave of the ceilings around them: shapes (joints,)."""

    ceiling_most: Floats
    """Radians, at the job's confidence; as the survey has it where no reading near it was over its own ceiling."""
    by: Ints
    """A joint whose readings show that the main does not curve one way there; -1 where none do."""


def both_ways(seen: Seen, read: Measured, known: Bools, route: Ints, rates: Rates) -> BothWays:
    """Raise the ceilings of joints around which readings show that the main does not curve one way.

    Parameters
    ----------
    seen : Seen
    read : Measured
        By the readings at the joint, shapes (joints,).
    known : array of bool, shape (joints,)
        Where they are of the joint that the survey sees: not at fittings.
    route : array of int, shape (joints,)
    rates : Rates

    Returns
    -------
    BothWays

    Source
    ------
    The joints around a shot turn it by t together, each by its weight w there. If joint j turns d, the others turn at
    most t + w(j) d together; so one that takes at most c while all turn one way takes at most c + d w(j) / w(i) while
    the others do. Of the two shots around it the one at which it has less of a share counts, since a ceiling does not
    say from which it came. Joints that were read are held to their ceilings at a level at which all of a main together
    pass it by chance at the stated rate.
    """
    none = np.full(len(seen.exact), -1)
    held = known & ~seen.exact & np.isfinite(seen.ceiling_most)
    rows = np.flatnonzero(held)
    rows = rows[read.size[rows] > seen.ceiling_most[rows]]
    if not len(rows):
        return BothWays(seen.ceiling_most, none)
    vector = read.take(rows)
    rows = rows[bounds.least(vector, _by_chance(held, route, rates)[rows]) > seen.ceiling_most[rows]]
    first, many = seen.ceiling_first[rows], seen.ceiling_last[rows] - seen.ceiling_first[rows] + 1
    one = np.repeat(rows, many)
    other = np.arange(len(one)) - np.repeat(np.cumsum(many) - many, many) + np.repeat(first, many)
    turned = bounds.most(read.take(one), bounds.one_sided(rates.confidence))
    more = np.where(one == other, 0.0, turned * _ratio(seen.located, one, other))
    none[other] = one
    return BothWays(seen.ceiling_most + np.bincount(other, more, minlength=len(none)), none)


class Short(NamedTuple):
    """How far readings fall short of the turn that the survey shows of several joints: shapes (joints,)."""

    by: Floats
    """Standard errors of both, at one of the joints; NaN where they cannot be compared."""
    limit: Floats
    """How far chance leaves one of its main short, at the confidence for a main."""

    @property
    def found(self) -> Bools:
        """True where they fall short by more than that."""
        found: Bools = self.by > self.limit
        return found

    def joints(self, seen: Seen) -> Bools:
        """Say which joints share a turn of which the readings fall short."""
        edges = np.zeros(len(self.by) + 1, dtype=np.int64)
        np.add.at(edges, seen.first[self.found], 1)
        np.add.at(edges, seen.last[self.found] + 1, -1)
        found: Bools = np.cumsum(edges[:-1]) > 0
        return found


def short_of_turn(seen: Seen, read: Measured, agreeing: Bools, route: Ints, rates: Rates) -> Short:
    """Give by how much the readings along a stretch fall short of its turn, at one of its joints.

    Only where every joint that has a part in the turn was read. Each joint counts by its weight in the turn.

    Parameters
    ----------
    seen : Seen
    read : Measured
        By the readings at the joint, shapes (joints,).
    agreeing : array of bool, shape (joints,)
        Where these do not contradict one another.
    route : array of int, shape (joints,)
    rates : Rates

    Returns
    -------
    Short
    """
    found = Short(np.full(len(route), np.nan), np.full(len(route), np.nan))
    whole = seen.last - seen.first + 1 == seen.sharing
    compared = ~seen.exact & (seen.shot >= 0) & whole & np.isfinite(seen.sigma)
    rows = np.flatnonzero(compared)
    if not len(rows) or not agreeing.any():
        return found
    shots = int(seen.located.vertex.max()) + 2
    size, wide = np.where(agreeing, read.size, 0.0), np.where(agreeing, read.sigmas[0], 0.0)
    total = sums(seen.located, size, shots)[seen.shot[rows]]
    variance = sums(seen.located, wide**2, shots)[seen.shot[rows]] + seen.together_sigma[rows] ** 2
    count = np.concatenate([[0], np.cumsum(agreeing)])
    every = count[seen.last[rows] + 1] - count[seen.first[rows]] == seen.sharing[rows]
    found.by[rows] = np.where(every, (seen.together[rows] - total) / np.sqrt(variance), np.nan)
    found.limit[rows] = _by_chance(compared, route, rates)[rows]
    return found


def _by_chance(held: Bools, route: Ints, rates: Rates) -> Floats:
    """Give how many standard errors chance puts one of the joints that are held to something off, on its main."""
    many = np.bincount(route[held], minlength=int(route.max()) + 1)[route]
    limit: Floats = np.sqrt(-2.0 * np.log((1.0 - rates.main_confidence) / np.maximum(many, 1)))
    return limit


def _ratio(located: Located, one: Ints, other: Ints) -> Floats:
    """Give the weight of one joint over that of another, at that shot of the other's two where it is larger."""
    vertex, weight = located
    largest = np.zeros(len(one))
    for ahead in (0, 1):
        shot = vertex[other] + ahead
        own = np.where(ahead, weight[other], 1.0 - weight[other])
        its = np.select([vertex[one] == shot, vertex[one] + 1 == shot], [1.0 - weight[one], weight[one]], 0.0)
        largest = np.maximum(largest, np.divide(its, own, out=np.zeros(len(one)), where=own > 0))
    return largest
