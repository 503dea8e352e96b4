"""Bends tried against lines: those of their own route, those of others, or places farther along."""

from __future__ import annotations

from itertools import pairwise
from typing import NamedTuple

import numpy as np

from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.line.routes import Routes
from asbuilt.survey.bends import (
    BEND_OFF,
    CORNER_SLACK,
    ONE_LEFT_OUT,
    REACH,
    Corners,
    corners,
    missed,
    to_corner,
    turn_around,
)

MOST_FIT, FEW_FIT = 0.75, 0.25
"""Parts of the bends of a log: a line is its own where most of them lie at corners, and none of its where few do."""
_EITHER = 0.75
"""Part of a usual leg within which both shots beside a bend lie that tell what it turns."""


class Lines(NamedTuple):
    """Lines of a job with what is asked of them."""

    routes: Routes
    corners: Corners
    usual: Floats
    """The usual leg of each route; 0 of lines that were not shot, which turn at their corners and not beside."""
    laying: float

    @classmethod
    def of(cls, routes: Routes, laying: float) -> Lines:
        """Find the corners and the usual legs of lines."""
        routes = routes.chords
        legs = np.diff(routes.distance)
        usual = [float(np.median(legs[low : high - 1])) for low, high in pairwise(routes.first.tolist())]
        if not routes.shot:
            usual = [0.0] * len(usual)
        return cls(routes, corners(routes, laying), np.array(usual), laying)

    @classmethod
    def of_one(cls, routes: Routes, route: int, laying: float) -> Lines:
        """Find those of the line of one route, numbered 0: where many routes are asked, each by itself."""
        return cls.of(routes.of_routes(route, route + 1), laying)

    def fit(self, route: Ints, at: Floats, angle: Floats) -> tuple[Bools, Bools]:
        """Say which bends lie where the line turns by their angles, and which where it runs straight on.

        Between the two it turns otherwise, or nearby.
        """
        routes, laying, length = self.routes, self.laying, self.routes.length[route]
        inside = (at > 0.0) & (at < length)
        at = np.where(inside, at, 0.0)
        found, usual = to_corner(routes, self.corners, route, at, angle), self.usual[route]
        off = np.abs(np.nan_to_num(found.off, nan=np.inf))
        sparse = usual > ONE_LEFT_OUT * laying
        fits = off <= np.where(sparse, np.maximum(BEND_OFF[0] * laying, np.nan_to_num(found.leg) / 2.0),
                               BEND_OFF[0] * laying)  # fmt: skip
        # Between two shots a bend turns the line in part at either, unless it is near one of them.
        both = turn_around(routes, route, at, _EITHER * usual)
        fits |= sparse & (np.abs(both - angle) <= np.maximum(angle / 4.0, CORNER_SLACK))
        around = turn_around(routes, route, at, np.maximum(REACH * laying, usual))
        straight = (around < angle / 4.0) & (off > BEND_OFF[1] * laying)
        return fits & inside, ~inside | (straight & ~fits)

    def at_theirs(self, route: Ints, at: Floats, angle: Floats) -> Bools:
        """Say which bends lie where the line turns by them, each shot by its part."""
        lacking = missed(self.routes, route, at, angle, self.laying)
        found: Bools = lacking <= np.maximum(angle / 4.0, CORNER_SLACK)
        return found

    def moved(self, at: Floats, angle: Floats, by: float) -> Bools:
        """Tell which bends of a log lie at corners once all are moved along the line; none where they need no move.

        Parameters
        ----------
        at, angle : array, shape (bends,)
            Of the only route.
        by : float
            How far ahead, coordinate units.
        """
        on = np.zeros(len(at), dtype=np.int64)
        here, _ = self.fit(on, at, angle)
        there, _ = self.fit(on, at + by, angle)
        need = here.sum() <= FEW_FIT * len(at) and there.sum() >= MOST_FIT * len(at)
        found: Bools = there & need
        return found

    def by_chance(self, route: int, angle: Floats, *, closely: bool = False) -> Floats:
        """Give on which part of a line a bend of each angle would lie where the line turns so, or `closely` by it."""
        line = Lines.of_one(self.routes, route, self.laying)
        length = float(line.routes.length[0])
        places = np.arange(0.5, max(length / self.laying * 2.0, 1.0)) * self.laying / 2.0
        different, which = np.unique(angle, return_inverse=True)
        at, of = np.tile(places, len(different)), np.repeat(different, len(places))
        on = np.zeros(len(at), dtype=np.int64)
        fits = line.at_theirs(on, at, of) if closely else line.fit(on, at, of)[0]
        part: Floats = (fits.reshape(len(different), -1).sum(axis=1) + 1.0) / (len(places) + 1.0)
        return part[which]
