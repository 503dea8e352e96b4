"""How joints share the turns that a survey shows, and what that says of each.

The direction of a leg between two shots is the mean of those of the pipes along it, weighted by their lengths. So the
turn at a shot is the sum of the deflections around it, each with the weight 1 - f, f being how far the joint lies from
the shot, as a part of the leg that it lies in. A joint between two shots has a part in the turns at these two and no
other: the two weights say where it lies in its leg, and its place on the line is all that need be kept.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from asbuilt.arrays import Bools, Floats
from asbuilt.judging import bounds
from asbuilt.judging.bounds import Measured
from asbuilt.line.routes import Located

CURVED = 0.01
"""How much the largest turn that joints can make between legs exceeds the weighted sum of their deflections, by the
square of what they turn along a leg, in radians: under 0.3 percent to 30 degrees, with lengths of pipe and allowables
of any kind; nothing at all where both are alike."""
LIKE = 0.95
"""Cosine of the angle between turns about one axis: less, and they lie in different planes."""
_ROUNDS = 64
_SETTLED = 1e-4


@dataclass(frozen=True)
class Shares:
    """All joints that turn the line, in any order: logged ones, both joints of fittings, and missing ones."""

    located: Located
    """Shapes (joints,)."""
    allowable: Floats
    """What each allows, radians; NaN where that is not known."""
    sigma: float
    """Standard error of a place along the line that does not lie at a shot, coordinate units."""


def sums(located: Located, values: Floats, shots: int) -> Floats:
    """Sum values of joints at each shot, each with its weight there, shape (shots,).

    Parameters
    ----------
    located : Located
        Shapes (joints,).
    values : array, shape (joints,)
    shots : int
        How many shots there are.
    """
    vertex, weight = located
    found: Floats = np.zeros(shots)
    found += np.bincount(vertex, (1.0 - weight) * values, minlength=shots)
    found[1:] += np.bincount(vertex, weight * values, minlength=shots)[: shots - 1]
    return found


class Room(NamedTuple):
    """What the joints around each shot may turn there together: shapes (shots,), radians."""

    most: Floats
    """While each stays within its allowable; NaN where one of them is not known."""
    weight: Floats
    """Sum of the weights."""
    variance: Floats
    """Of the former, since joints lie where their stations say only to within an error."""


def room(shares: Shares, leg_length: Floats) -> Room:
    """Give the turn at each shot that joints within their allowables can make together.

    Parameters
    ----------
    shares : Shares
    leg_length : array, shape (shots,)
        Of the leg ahead of each shot, coordinate units.

    Returns
    -------
    Room

    Examples
    --------
    Shots at every second joint, and 5 degrees allowed: half of each joint in between, and all of that at the shot.

    >>> at = Located(np.array([0, 1, 1, 2]), np.array([0.5, 0.0, 0.5, 0.0]))
    >>> found = room(Shares(at, np.radians(np.full(4, 5.0)), 0.0), np.full(3, 40.0))
    >>> np.degrees(found.most).round(3).tolist(), found.weight.tolist()
    ([2.5, 10.001, 7.501], [0.5, 2.0, 1.5])
    """
    shots = len(leg_length)
    vertex, weight = shares.located
    inside = (weight > 0) & (weight < 1)
    most = sums(shares.located, shares.allowable, shots)
    along = np.bincount(vertex, np.where(inside, shares.allowable, 0.0), minlength=shots)[:shots]
    curved = np.maximum(along, np.concatenate([[0.0], along[:-1]]))
    off = np.where(inside, shares.allowable * shares.sigma / np.maximum(leg_length[vertex], 1e-9), 0.0) ** 2
    variance: Floats = np.zeros(shots)
    variance += np.bincount(vertex, off, minlength=shots)
    variance[1:] += np.bincount(vertex, off, minlength=shots)[: shots - 1]
    return Room(most * (1.0 + CURVED * curved**2), sums(shares.located, np.ones(len(vertex)), shots), variance)


@dataclass(frozen=True)
class OneWay:
    """What each joint takes at most while the main curves one way between shots; radians.

    Shapes (shots,) for what is at a shot, or in the leg ahead of it: at most and at least what the joints of a leg
    turn at the shot behind them (`back`) and at the one ahead of them (`ahead`), by their weights there.
    """

    at_shot: Floats
    back_most: Floats
    back_least: Floats
    ahead_most: Floats
    ahead_least: Floats
    near: Floats
    """Of the joints in each leg that turn the line: the ratio of the weight ahead to the weight back, smallest."""
    far: Floats
    """Largest."""
    reverses: Bools
    """True for legs along which the main goes from one way to the other: which joint does so is not known."""
    slack: Floats
    """How far a joint's place in its leg may be off, as a part of the leg."""

    def ceilings(self, located: Located) -> Floats:
        """Give the ceiling of each of some joints, shape (n,); infinite where nothing bounds it.

        Parameters
        ----------
        located : Located
        """
        vertex, weight = located
        shot = vertex + (weight > 0.5)
        inside = (weight > 0) & (weight < 1)
        f = np.clip(weight, 1e-9, 1.0 - 1e-9)
        back, ahead = np.maximum(1.0 - f - self.slack[vertex], 0.0), np.maximum(f - self.slack[vertex], 0.0)
        near, far = self.near[vertex], self.far[vertex]
        with np.errstate(divide="ignore", invalid="ignore"):
            by_back, by_ahead = self.back_most[vertex] / back, self.ahead_most[vertex] / ahead
            rest_near = (self.ahead_most[vertex] - near * self.back_least[vertex]) / (f - near * (1.0 - f))
            rest_far = (far * self.back_most[vertex] - self.ahead_least[vertex]) / (far * (1.0 - f) - f)
        lean = (
            (f - near * (1.0 - f) > 1e-9) & (self.slack[vertex] == 0),
            (far * (1.0 - f) - f > 1e-9) & (self.slack[vertex] == 0),
        )
        least = np.minimum(by_back, by_ahead)
        least = np.minimum(least, np.where(lean[0], rest_near, np.inf))
        least = np.minimum(least, np.where(lean[1], rest_far, np.inf))
        least = np.where(self.reverses[vertex], np.maximum(by_back, by_ahead), least)
        found: Floats = np.where(inside, least, self.at_shot[shot])
        return np.where(np.isnan(found), np.inf, np.maximum(found, 0.0))


def one_way(
    seen: Measured, axis: Floats, usable: Bools, shares: Shares, same_route: Bools, leg_length: Floats,
    confidence: float, told: Measured | None = None,
) -> OneWay:  # fmt: skip
    """Bound what joints take, while those between two shots all turn one way, in one plane.

    Parameters
    ----------
    seen : Measured
        Turns at the shots, shapes (shots,).
    axis : array, shape (shots, 3)
        Axis of each turn, as long as the turn is large.
    usable : array of bool, shape (shots,)
        Shots whose turn is known.
    shares : Shares
    same_route : array of bool, shape (shots,)
        True where the leg ahead of a shot belongs to its route.
    leg_length : array, shape (shots,)
    confidence : float
    told : Measured, optional
        The turns with their errors, by which a turn against another is told from noise; `seen`, if left out.

    Returns
    -------
    OneWay

    Source
    ------
    The largest deflection of a joint under W d = t, d >= 0 is a linear programme. A leg's joints have a part in two
    turns, and what they can turn at these two is a cone between its first and its last joint. So the programme is a
    chain from leg to leg, in which bounds that are passed on until they settle are its optimum. A joint at a shot
    takes whatever its neighbours leave, and ends the chain. Each turn of a chain is bounded so surely that all of them
    together are as sure as asked (Bonferroni).
    """
    shots = len(usable)
    own = _own(shares, shots)
    near, far, lone = _cone(shares, shots, leg_length, confidence)
    z = _factors(own | ~usable, same_route, confidence)
    rows, lonely = np.flatnonzero(usable), np.flatnonzero(usable & ~own)
    most, alone, least = np.full(shots, np.inf), np.full(shots, np.inf), np.zeros(shots)
    most[rows] = bounds.most(seen.take(rows), z[rows])
    alone[rows] = bounds.most(seen.take(rows), bounds.one_sided(confidence))
    least[lonely] = bounds.least(seen.take(lonely), z[lonely])
    against, unlike = _against(told or seen, axis, usable, same_route)
    ahead_of, behind_of = _strangers(most, against, near, far, lone)
    reached = most + ahead_of + behind_of
    beside = against | np.roll(against, 1)
    least = np.where(beside | unlike | np.roll(unlike, 1), 0.0, least)
    chain = _Chain.start(np.where(beside, reached, most), least, near, far, lone, same_route)
    slack = np.where(same_route, bounds.one_sided(confidence) * shares.sigma / np.maximum(leg_length, 1e-9), 0.0)
    # In a leg that goes both ways its joints may belong to either shot: the turn there, and what strangers take.
    next_one = np.minimum(np.arange(shots) + 1, shots - 1)
    back_most = np.where(against, most + behind_of, chain.back_most)
    ahead_most = np.where(against, (most + ahead_of)[next_one], chain.ahead_most)
    return OneWay(
        at_shot=np.where(beside, reached, np.where(own, alone, most)),
        back_most=back_most,
        back_least=np.where(against, 0.0, chain.back_least),
        ahead_most=ahead_most,
        ahead_least=np.where(against, 0.0, chain.ahead_least),
        near=near,
        far=far,
        reverses=against,
        slack=slack,
    )


@dataclass
class _Chain:
    """Bounds of what each leg's joints turn at the shots behind and ahead of them, passed on until they settle."""

    back_most: Floats
    back_least: Floats
    ahead_most: Floats
    ahead_least: Floats

    @classmethod
    def start(
        cls, most: Floats, least: Floats, near: Floats, far: Floats, lone: Bools, same_route: Bools
    ) -> _Chain:  # fmt: skip
        shots = len(most)
        none = ~same_route | lone
        after = np.minimum(np.arange(shots) + 1, shots - 1)
        chain = cls(
            np.where(none, 0.0, most), np.zeros(shots), np.where(none, 0.0, most[after]), np.zeros(shots)
        )  # fmt: skip
        # Every route settles by itself, however long the others take.
        first = np.flatnonzero(~np.concatenate([[False], same_route[:-1]]))
        route = np.repeat(np.arange(len(first)), np.diff(first, append=shots))
        settled = np.zeros(shots, dtype=np.bool_)
        for _ in range(_ROUNDS):
            earlier = chain._all()
            chain._pass_on(most, least, near, far, none)
            chain._put_back(earlier, settled)
            with np.errstate(invalid="ignore"):
                moved = np.nan_to_num(np.abs(chain._all() - earlier), nan=0.0, posinf=1.0).max(axis=0, initial=0.0)
            settled = (np.maximum.reduceat(moved, first) < _SETTLED)[route]
            if settled.all():
                break
        return chain

    def _put_back(self, earlier: Floats, settled: Bools) -> None:
        for own, before in zip(
            (self.back_most, self.back_least, self.ahead_most, self.ahead_least), earlier, strict=True
        ):
            own[settled] = before[settled]

    def _pass_on(self, most: Floats, least: Floats, near: Floats, far: Floats, none: Bools) -> None:
        shots = np.arange(len(most))
        before, after = np.maximum(shots - 1, 0), np.minimum(shots + 1, len(shots) - 1)
        first, last = shots == 0, shots == len(shots) - 1
        with np.errstate(invalid="ignore", divide="ignore"):
            most_back = most - np.where(first, 0.0, self.ahead_least[before])
            least_back = least - np.where(first, 0.0, self.ahead_most[before])
            most_ahead = most[after] - np.where(last, 0.0, self.back_least[after])
            least_ahead = least[after] - np.where(last, 0.0, self.back_most[after])
            self.back_most = _fewer(np.minimum(most_back, self.ahead_most / near), self.back_most)
            self.ahead_most = _fewer(np.minimum(most_ahead, self.back_most * far), self.ahead_most)
            self.back_least = np.fmax(np.fmax(least_back, self.ahead_least / far), self.back_least)
            self.ahead_least = np.fmax(np.fmax(least_ahead, self.back_least * near), self.ahead_least)
        for one in (self.back_most, self.ahead_most, self.back_least, self.ahead_least):
            np.maximum(one, 0.0, out=one)
            one[none] = 0.0

    def _all(self) -> Floats:
        return np.stack([self.back_most, self.back_least, self.ahead_most, self.ahead_least])


def _fewer(one: Floats, other: Floats) -> Floats:
    smaller: Floats = np.fmin(one, other)
    return smaller


def _own(shares: Shares, shots: int) -> Bools:
    """Say at which shots a joint lies."""
    vertex, weight = shares.located
    at = (weight == 0.0) | (weight == 1.0)
    own = np.zeros(shots, dtype=np.bool_)
    own[(vertex + (weight == 1.0))[at]] = True
    return own


def _cone(shares: Shares, shots: int, leg_length: Floats, confidence: float) -> tuple[Floats, Floats, Bools]:
    """Give the smallest and the largest ratio of weights ahead to weights back in each leg, and legs without joints."""
    vertex, weight = shares.located
    inside = np.flatnonzero((weight > 0) & (weight < 1))
    at, f = vertex[inside], weight[inside]
    first, last = np.full(shots, np.inf), np.full(shots, -np.inf)
    np.minimum.at(first, at, f)
    np.maximum.at(last, at, f)
    lone = ~np.isfinite(first)
    off = bounds.one_sided(confidence) * shares.sigma / np.maximum(leg_length, 1e-9)
    first = np.where(lone, 0.5, np.clip(first - off, 1e-9, None))
    last = np.where(lone, 0.5, np.clip(last + off, None, 1.0 - 1e-9))
    return first / (1.0 - first), last / (1.0 - last), lone


def _factors(ends: Bools, same_route: Bools, confidence: float) -> Floats:
    """Give the standard errors by which the turn at each shot is bounded, by how many turns a bound rests on.

    Two for the joints between two shots that end their chains; more by all the shots of a chain without such ends.
    """
    number = np.cumsum(ends | ~np.concatenate([[False], same_route[:-1]]))
    run = np.bincount(number, ~ends, minlength=int(number[-1]) + 1)[number]
    count = 2 + np.where(ends, 0, run)
    # A shot that ends a chain bounds joints of the chain beside it, too.
    count = np.maximum(count, np.maximum(np.roll(count, 1), np.roll(count, -1))).astype(np.int64)
    several, which = np.unique(count, return_inverse=True)
    factors = np.array([bounds.one_sided(1.0 - (1.0 - confidence) / many) for many in several.tolist()])
    found: Floats = factors[which]
    return found


_NO_TURN = 1e-6
"""Radians up to which a turn is none: coordinates of millions of feet are held to about 1e-9 ft."""


def _against(seen: Measured, axis: Floats, usable: Bools, same_route: Bools) -> tuple[Bools, Bools]:
    """Say along which legs turns go against one another, and along which they lie in different planes."""
    size, sigma = seen.size, seen.sigmas[0]
    told = usable & (size > np.maximum(2.0 * sigma, _NO_TURN))
    axis = np.where(told[:, None], axis, 0.0)
    shots = len(size)
    after = np.minimum(np.arange(shots) + 1, shots - 1)
    later = np.minimum(np.arange(shots) + 2, shots - 1)
    product = (axis * axis[after]).sum(axis=1)
    against = same_route & (product < 0)
    # With a quiet shot between the two, either leg beside it may be the one.
    across = same_route & same_route[after] & ~told[after] & ((axis * axis[later]).sum(axis=1) < 0)
    against |= across
    against[1:] |= across[:-1]
    unlike = same_route & told & told[after] & (product < LIKE * size * size[after])
    return against, unlike


def _strangers(
    most: Floats, against: Bools, near: Floats, far: Floats, lone: Bools
) -> tuple[Floats, Floats]:  # fmt: skip
    """Give what joints that turn the other way may hide at each shot: those of the leg ahead, and of the leg behind."""
    shots = np.arange(len(most))
    before, after = np.maximum(shots - 1, 0), np.minimum(shots + 1, len(shots) - 1)
    second = np.maximum(shots - 2, 0)
    with np.errstate(invalid="ignore"):
        ahead = np.where(against[after], np.inf, most[after] / near)
        behind = np.where(against[second] & (shots > 1), np.inf, most[before] * far[before])
    hidden_ahead = np.where(against, np.where(lone, 0.0, ahead), 0.0)
    reversed_behind = against[before] & (shots > 0)
    hidden_behind = np.where(reversed_behind, np.where(lone[before], 0.0, behind), 0.0)
    return hidden_ahead, hidden_behind
