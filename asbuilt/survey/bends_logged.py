"""Bends as the log has them, before anything is placed: whether they turn a line so far back between sparse shots."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import pyarrow as pa

from asbuilt.arrays import Bools, Floats, Ints, as_ints
from asbuilt.line.routes import Routes
from asbuilt.survey.doubts import Doubt

_LONGEST = 1.0
"""Laying lengths by which a line is longer than its log at most: that of its last pipe."""


_FARTHEST = np.radians(150.0)
"""Bends that turn farther cut off more than any pipe that would tell anything."""

_UPRIGHT = ("vertical", "up", "down")
_FLAT = ("horizontal", "left", "right")


class BendsLogged(NamedTuple):
    """The bends of a log along its routes, by their stations alone."""

    route: Ints
    """Of each bend, ascending, shape (bends,)."""
    at: Floats
    """How far each lies from the start of its route, coordinate units; beyond the end of the line, too."""
    angle: Floats
    """By how much each turns the line in plan, to either side, radians; 0 of upright ones, and of the one before
    over again."""
    made: Floats
    """By how much each turns, whatever way."""
    beyond: Floats
    """How far the log of each route runs on beyond its line, pipe for pipe, shape (routes,), coordinate units; less
    than nothing where it ends before, infinitely where it has no joint there."""

    def around(self, routes: Routes, first: int, last: int, laying: float) -> Ints:
        """Number the bends that may lie between two shots of a route.

        Bends that were not shot are cut off by the line, so what lies ahead of them stands farther ahead by its
        station: by as much as the log runs on beyond its line, at most.
        """
        number = int(routes.vertex_route[first])
        high = routes.distance[last] + laying + max(float(self.beyond[number]), 0.0)
        begin, end = np.searchsorted(self.route, [number, number + 1]).tolist()
        at = self.at[begin:end]
        found: Ints = begin + np.flatnonzero((at >= routes.distance[first] - laying) & (at <= high))
        return found

    def most_cut(self, routes: Routes, first: int, last: int, laying: float) -> float:
        """Give how much shorter than its pipe bends may make a line between two shots, coordinate units.

        Source
        ------
        The two equal sides of a triangle that turn by an angle, over its third side; textbook.
        """
        both = float(self.angle[self.around(routes, first, last, laying)].sum())
        straight = float(routes.distance[last] - routes.distance[first])
        return straight * (1.0 / float(np.cos(min(both, _FARTHEST) / 2.0)) - 1.0)

    def not_turned_by(self, doubts: list[Doubt], routes: Routes, laying: float, most: float) -> list[Doubt]:
        """Leave out shots at which bends turn a line back that is not too long.

        Parameters
        ----------
        doubts : list of Doubt
            With the turn of the line at each shot.
        routes : Routes
        laying : float
            Laying length, coordinate units.
        most : float
            The most that a joint of the log may deflect, radians.

        Source
        ------
        Straights between shots lie between the ways that the pipe runs along them, so at a shot the line turns by no
        more than what turns in the two legs beside it, all together; textbook. Between shots pipe is never shorter
        than the straight, so shots in their order make no line longer than its pipe.
        """
        sound = self.beyond >= -_LONGEST * laying
        explained = []
        for one in doubts:
            begin, end = int(routes.first[one.route]), int(routes.first[one.route + 1]) - 1
            first, last = max(one.vertex - 1, begin), min(one.vertex + 1, end)
            joints = (routes.distance[last] - routes.distance[first]) / laying + 1.0
            bends = self.angle[self.around(routes, first, last, laying)]
            explained.append(bool(one.turn and sound[one.route] and bends.sum() + joints * most >= one.turn))
        return [one for one, by_bends in zip(doubts, explained, strict=True) if not by_bends]


def none_logged(routes: Routes) -> BendsLogged:
    """Give the bends of a log that has none."""
    nothing = np.zeros(0)
    return BendsLogged(nothing.astype(np.int64), nothing, nothing, nothing, np.full(len(routes.names), -np.inf))


def turned_in_plan(planes: pa.Array, made: Floats) -> tuple[Floats, Bools]:
    """Give by how much bends turn the line in plan, and whether the log says in which plane they turn.

    Parameters
    ----------
    planes : Array of texts
        As `values.bend_plane` writes them; null where the log says nothing.
    made : array, shape (bends,)
        Angles of the bends, radians.

    Returns
    -------
    angle : array, shape (bends,)
        Radians, to either side; of a bend whose plane is not known its whole angle, which is the most.
    known : array of bool, shape (bends,)

    Source
    ------
    Directions before and behind a rolled bend, on level pipe, seen from above; textbook.

    Examples
    --------
    >>> angle, known = turned_in_plan(pa.array(["left", "down", "30", "rolled", None]), np.radians(np.full(5, 45.0)))
    >>> np.degrees(angle).round(3).tolist(), known.tolist()
    ([45.0, 0.0, 26.565, 45.0, 45.0], [True, True, True, False, False])
    """
    coded = planes.dictionary_encode()
    words = [*coded.dictionary.to_pylist(), None]
    roll = np.array([_roll_of(one) for one in words])[as_ints(coded.indices, len(words) - 1)]
    known = np.isfinite(roll)
    side = np.abs(np.sin(np.where(known, roll, np.pi / 2.0)))
    return np.arctan2(np.sin(made) * side, np.cos(made)), known


def _roll_of(plane: str | None) -> float:
    """Give where a bend turns to, radians from the top of the pipe; NaN where that is not known."""
    if plane is None or plane == "rolled":
        return float("nan")
    if plane in _FLAT + _UPRIGHT:
        return np.pi / 2.0 if plane in _FLAT else 0.0
    return float(np.radians(float(plane)))
