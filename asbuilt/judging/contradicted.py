"""Readings at joints between shots that contradict the survey there, or what its ceilings assume.

A ceiling holds while the main curves one way between shots. A joint that was read over its ceiling shows that it does
not: what that joint turns, others around the same shots turn back, and their ceilings no longer hold either.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from asbuilt.judging import bounds

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
