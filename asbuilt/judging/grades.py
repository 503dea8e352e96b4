"""What the elevations beside a joint say of its turn upward or downward, where one that shows it was not measured.

The measured elevations are a sparser survey of the same pipe. Along the line, laid out straight, they show how the
grade changes at each of them, and the joints around share that change as they share the turns in plan: by their places.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.judging import shares
from asbuilt.judging.bounds import Measured
from asbuilt.judging.shares import Shares
from asbuilt.line.routes import Located, between, heights_measured

if TYPE_CHECKING:
    from asbuilt.line.routes import Routes

_AT = 1e-6
"""Places this near, in coordinate units, are one place."""


class Upward(NamedTuple):
    """The most that each joint turns upward or downward, while the grade changes one way between measured elevations.

    Shapes (joints,), radians; NaN where no measured elevation shows a change of grade, infinite where those that do
    turn against one another and so bound nothing.
    """

    shown: Floats
    """As the elevations show it."""
    most: Floats
    """At the job's confidence."""


class Breaks(NamedTuple):
    """Changes of grade at measured elevations, and the joints that share them: shapes (breaks,), radians."""

    change: Measured
    room: Floats
    """What these joints may turn there together; NaN where one of their allowables is not known."""
    weight: Floats
    variance: Floats
    """Of the room, since joints lie where their stations say only to within an error."""
    vertex: Ints
    back: Ints
    """Vertices of the measured elevations before and after."""
    ahead: Ints


class _Profile(NamedTuple):
    """Measured elevations along lines laid out straight, one after the other: shapes (elevations,)."""

    place: Floats
    length: Floats
    """Of the leg to the next one."""
    same_route: Bools
    """True where the next one is of the same route."""
    change: Measured
    """Of the grade at each, upward or downward."""
    upward: Floats
    """The same, up positive."""
    inner: Bools
    """True where there is one on either side."""


def upward(
    routes: Routes, joints: Located, turning: Located, fittings: Bools, in_plan_alone: Bools, sigma_along: float,
    confidence: float,
) -> Upward:  # fmt: skip
    """Bound the turn upward or downward of each joint by the elevations that were measured.

    Parameters
    ----------
    routes : Routes
    joints : Located
        Shapes (joints,).
    turning : Located
        All joints that turn the line, missing ones too, in any order.
    fittings : array of bool, shape (joints,)
        Bends: what of a change of grade one of them makes is not known, so the elevations around it bound nothing.
    in_plan_alone : array of bool, shape (joints,)
        Joints shot by themselves without an elevation.
    sigma_along : float
        Standard error of a joint's place along the line, coordinate units.
    confidence : float

    Returns
    -------
    Upward
        Only on routes that have both measured and unmeasured elevations, of shots or of joints.
    """
    none = Upward(*(np.full(len(joints.vertex), np.nan) for _ in range(2)))
    vertex, laid_out = _partly_measured(routes, joints.vertex[in_plan_alone])
    if len(vertex) < 2:
        return none
    profile = _profile(routes, vertex, laid_out)
    around, _ = _among(profile, between(laid_out, turning))
    mine, rows = _among(profile, between(laid_out, joints))
    usable = profile.inner & ~_beside(mine, fittings[rows], len(vertex))
    shows = usable[mine.vertex] | ((mine.weight > 0.0) & usable[np.minimum(mine.vertex + 1, len(vertex) - 1)])
    axis = np.stack([np.zeros(len(vertex)), np.zeros(len(vertex)), profile.upward], axis=1)
    still = np.zeros(len(vertex))
    exact = replace(profile.change, variance_one=still)
    for found, change, sigma in ((none.shown, exact, 0.0), (none.most, profile.change, sigma_along)):
        together = Shares(around, np.zeros(len(around.vertex)), sigma)
        bound = shares.one_way(
            change, axis, usable, together, profile.same_route, profile.length, confidence, profile.change
        )
        found[rows] = np.where(shows, bound.ceilings(mine), np.nan)
    return none


def breaks(routes: Routes, joints: Located, turning: Shares, fittings: Bools, in_plan_alone: Bools) -> Breaks:
    """Give the changes of grade that measured elevations show, and what the joints around each may turn together.

    Parameters
    ----------
    routes : Routes
    joints : Located
        Shapes (joints,).
    turning : Shares
        All joints that turn the line, missing ones too, in any order.
    fittings : array of bool, shape (joints,)
        Bends: what of a change of grade one of them makes is not known.
    in_plan_alone : array of bool, shape (joints,)
        Joints shot by themselves without an elevation.

    Returns
    -------
    Breaks
        Only on routes that have both measured and unmeasured elevations, of shots or of joints.

    Notes
    -----
    Two directions are at least as far apart as their inclinations: what is over by the grades alone is over.
    """
    vertex, laid_out = _partly_measured(routes, joints.vertex[in_plan_alone])
    if len(vertex) < 3:
        nothing, no = np.zeros(0), np.zeros(0, dtype=np.int64)
        return Breaks(Measured(*[nothing] * 5), nothing, nothing, nothing, no, no, no)
    profile = _profile(routes, vertex, laid_out)
    mine, rows = _among(profile, between(laid_out, joints))
    around, those = _among(profile, between(laid_out, turning.located))
    together = shares.room(Shares(around, turning.allowable[those], turning.sigma), profile.length)
    at = np.flatnonzero(profile.inner & ~_beside(mine, fittings[rows], len(vertex)) & (together.weight > 0))
    return Breaks(
        profile.change.take(at), together.most[at], together.weight[at], together.variance[at],
        vertex[at], vertex[at - 1], vertex[at + 1],
    )  # fmt: skip


def _partly_measured(routes: Routes, beside: Ints) -> tuple[Ints, Floats]:
    """Give the measured elevations of routes that lack others, and where all vertices lie, laid out straight.

    Others of shots, or of joints that were shot in plan alone, each beside a vertex.
    """
    measured, route = heights_measured(routes), routes.vertex_route
    partly = np.zeros(len(routes.names), dtype=np.bool_)
    partly[route[~measured]] = True
    partly[route[beside]] = True
    return np.flatnonzero(measured & partly[route]), routes.laid_out


def _profile(routes: Routes, vertex: Ints, laid_out: Floats) -> _Profile:
    place, height, route = laid_out[vertex], routes.elevation[vertex], routes.vertex_route[vertex]
    same = np.append(route[1:] == route[:-1], False)
    length = np.where(same, np.append(np.diff(place), 1.0), 1.0)
    grade = np.arctan2(np.append(np.diff(height), 0.0), length)
    inner = np.zeros(len(vertex), dtype=np.bool_)
    inner[1:] = same[1:] & same[:-1]
    change, variance = np.zeros(len(vertex)), np.zeros(len(vertex))
    at = np.flatnonzero(inner)
    change[at] = grade[at] - grade[at - 1]
    if routes.errors[1] is not None:
        sigma = routes.errors[1][vertex]
        back, ahead = 1.0 / length[at - 1], 1.0 / length[at]
        parts = (sigma[at - 1] * back, sigma[at] * (back + ahead), sigma[at + 1] * ahead)
        variance[at] = sum(part**2 for part in parts)
    still = np.zeros(len(vertex))
    return _Profile(place, length, same, Measured(np.abs(change), still, variance, still, still), change, inner)


def _among(profile: _Profile, place: Floats) -> tuple[Located, Ints]:
    """Give the places between two measured elevations, or at one, as parts of the legs there; and which they are."""
    count = len(profile.place)
    at = np.clip(np.searchsorted(profile.place, place, side="right") - 1, 0, count - 1)
    off = place - profile.place[at]
    # A place just short of an elevation is at it.
    after = np.minimum(at + 1, count - 1)
    short = (after > at) & (np.abs(profile.place[after] - place) <= _AT)
    at, off = np.where(short, after, at), np.where(short, 0.0, off)
    weight = np.where(np.abs(off) <= _AT, 0.0, off / profile.length[at])
    rows = np.flatnonzero((weight == 0.0) | (profile.same_route[at] & (weight > 0.0) & (weight < 1.0)))
    return Located(at[rows], weight[rows]), rows


def _beside(located: Located, fittings: Bools, count: int) -> Bools:
    """Say which elevations have a fitting on the leg to the one before them or after them."""
    beside = np.zeros(count + 1, dtype=np.bool_)
    vertex, inside = located.vertex[fittings], located.weight[fittings] > 0
    beside[vertex] = True
    beside[vertex[inside] + 1] = True
    return beside[:-1]
