"""Turns that the shots show where no joint of the log lies that could take them.

A pipe is straight. Where the line turns at a shot, and no joint is in the log between the shots on either side of it,
something turns there that nobody recorded: a joint missing from the log, or a joint whose station is wrong.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from asbuilt.arrays import Bools, Floats, Ints, empty_ints
from asbuilt.judging import bounds, sightings
from asbuilt.judging.shown import AT
from asbuilt.line.routes import between

if TYPE_CHECKING:
    from asbuilt.judging.shown import Survey
    from asbuilt.line.routes import Located, Routes

LEAST_DEG = 1.0
"""A turn that is told is at least so large, less its noise; a choice of these checks, no source."""


class Unlogged(NamedTuple):
    """The largest such turn between two joints of the log, one for each pair: shapes (pairs,)."""

    back: Ints
    """The joint behind it."""
    shot: Ints
    turn: Floats
    """Radians."""
    least: Floats
    """Less its noise, at the confidence for all shots of the survey together."""
    ahead: Floats
    """How far ahead of that joint the shot lies, coordinate units."""
    many: Ints
    """How many shots between these two joints show one."""

    def of(self, pairs: Bools) -> Unlogged:
        """Give the turns of some of the pairs."""
        return Unlogged(
            self.back[pairs], self.shot[pairs], self.turn[pairs], self.least[pairs], self.ahead[pairs], self.many[pairs]
        )


def nothing_unlogged() -> Unlogged:
    """Give no turn at all, as of a line that was not shot."""
    none = empty_ints()
    return Unlogged(none, none, np.zeros(0), np.zeros(0), np.zeros(0), none)


def without_joints(survey: Survey, doubted: Ints) -> tuple[Ints, Ints]:
    """Give the shots that no joint of the log has a part in, and the joint behind each.

    Parameters
    ----------
    survey : Survey
    doubted : array of int
        Shots that are doubted themselves: they say nothing of the pipe.

    Returns
    -------
    shot, back : array of int, shape (shots,)
        Only between two successive joints of a route, neither of them a bend: a bend's second joint has no record.
    """
    vertex, back = between_joints(survey.routes, survey.joints.located, doubted)
    bend = survey.bends.there | (survey.bends.other_end >= 0) | survey.astray
    straight = ~bend[back] & ~bend[back + 1]
    return vertex[straight], back[straight]


def between_joints(routes: Routes, located: Located, doubted: Ints) -> tuple[Ints, Ints]:
    """Give the shots that no joint of the log has a part in, and the joint behind each, whatever was laid there.

    Parameters
    ----------
    routes : Routes
    located : Located
        Where each joint was sighted.
    doubted : array of int
        As for `without_joints`.
    """
    along, place, route = routes.along, between(routes.along, located), routes.vertex_route
    number, last = np.arange(len(along)), len(place) - 1
    inner = np.zeros(len(along), dtype=np.bool_)
    inner[1:-1] = route[2:] == route[:-2]
    ahead = np.searchsorted(place, along[np.maximum(number - 1, 0)] + AT, side="right")
    free = ahead == np.searchsorted(place, along[np.minimum(number + 1, len(along) - 1)] - AT, side="left")
    back, ahead = np.maximum(ahead - 1, 0), np.minimum(ahead, last)
    of_joint = route[located.vertex]
    inside = (back < ahead) & (of_joint[back] == route) & (of_joint[ahead] == route)
    quiet = np.zeros(len(along), dtype=np.bool_)
    quiet[[one for shot in (doubted - 1, doubted, doubted + 1) for one in shot if 0 <= one < len(along)]] = True
    vertex = np.flatnonzero(inner & free & inside & ~quiet)
    return vertex, back[vertex]


def unlogged_turns(survey: Survey, doubted: Ints, looked_at: int | None) -> Unlogged:
    """Find the turns at shots that no joint of the log has a part in.

    Parameters
    ----------
    survey : Survey
    doubted : array of int
        As for `without_joints`.
    looked_at : int or None
        How many such shots the whole job has; None where these are all.

    Returns
    -------
    Unlogged
        One of each pair of successive joints.
    """
    routes, along, place = survey.routes, survey.along, survey.place
    vertex, back = without_joints(survey, doubted)
    if not len(vertex):
        return nothing_unlogged()
    straights = sightings.between_shots(routes, survey.legs, vertex, vertex)
    seen = sightings.turned(straights, sightings.without_bends(len(vertex)), survey.errors).measured
    confidence = 1.0 - (1.0 - survey.confidence) / (len(vertex) if looked_at is None else looked_at)
    least = bounds.least(seen, bounds.factor_outside(seen, np.full(len(vertex), np.radians(LEAST_DEG)), confidence))
    told = np.flatnonzero(least > np.radians(LEAST_DEG))
    # The largest of each pair of joints stands for all between them.
    order = told[np.lexsort((-seen.size[told], back[told]))]
    pair, first, many = np.unique(back[order], return_index=True, return_counts=True)
    rows = order[first]
    shot = vertex[rows]
    return Unlogged(pair, shot, seen.size[rows], least[rows], along[shot] - place[pair], many)
