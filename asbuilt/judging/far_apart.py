"""Stretches without shots on a main whose shots else lie close together: where they were lost, or never taken.

A line is as sure there as the curve that its ends show. That is in the accuracy of each joint, which nobody reads one
by one; so a stretch that is known far worse than its route is named.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from asbuilt import units
from asbuilt.arrays import together
from asbuilt.judging import places
from asbuilt.line import arcs
from asbuilt.notes import OfRoutes
from asbuilt.survey.doubts import label

if TYPE_CHECKING:
    from asbuilt.arrays import Floats, Ints
    from asbuilt.judging.judged import Judged
    from asbuilt.line.routes import Routes
    from asbuilt.line.stationed import StationedLine

FAR = 3.0
"""A stretch is as many times as long as the middle one of its route; common practice, no source."""
FEWEST = 6
"""Of a route with fewer straights nothing is said: none of them is usual there."""
LEAST_M = 0.15
"""Joints placed surer than this are sure enough; common practice, no source."""
TOLD = 20


def far_apart(line: StationedLine, judged: Judged, laying_length: float) -> list[OfRoutes]:
    """Name the stretches between shots whose joints are placed far less surely than the others of their route.

    Parameters
    ----------
    line : StationedLine
    judged : Judged
    laying_length : float
        Station units.

    Returns
    -------
    list of OfRoutes
        In order along the routes; a last one counts those left out.

    Notes
    -----
    What is held against the rest of the route is how far joints may lie beside the line between its shots, and not
    what stations drift along it, which all joints behind have in common.
    """
    routes, joints = line.routes, judged.joints
    if not routes.shot or routes.pieces is not None or not len(joints):
        return []
    found, first = arcs.legs(routes), np.flatnonzero(routes.vertex_route[1:] == routes.vertex_route[:-1])
    longest = 2.0 * arcs.ONE_PIPE * laying_length * line.scale
    if not (found.length > longest).any():
        return []
    of = routes.vertex_route[first]
    middle = _middle(found.length, of, len(routes.names))
    apart = (found.length > FAR * middle[of]) & (found.length > longest)
    # Where each joint was shot, none lies between shots that are far apart.
    between = np.zeros(len(routes.easting), dtype=np.bool_)
    between[joints.located.vertex[~joints.surveyed]] = True
    if not (apart & between[first]).any():
        return []
    # Where no error is stated, what the line does between its shots is not known less.
    # What bends cut of their corners is no more between shots that lie far apart.
    turning = places.Turning(
        np.radians(judged.fitting_deg), np.radians(judged.allowable_deg), np.zeros(len(joints))
    )  # fmt: skip
    astray = places.astray(line, joints, turning, np.zeros(len(joints)), laying_length * line.scale)
    beside = np.where(joints.surveyed, 0.0, places.radius(astray.wander, astray.across))
    sure, leg = np.fmax(judged.known_to.horizontal, beside), joints.located.vertex - joints.route
    told = []
    for legs in together(np.flatnonzero(apart), of):
        route = int(of[legs[0]])
        mine = np.flatnonzero(joints.route == route)
        others = beside[mine[~apart[leg[mine]]]]
        least = max(FAR * float(np.median(others)) if len(others) else 0.0, LEAST_M * units.factor("m", routes.unit))
        unsure = []
        for one in legs.tolist():
            there = mine[(leg[mine] == one) & ~joints.surveyed[mine]]
            if len(there) and beside[there].max() > least:
                unsure.append((one, there))
        # Stretches one behind the other are told as one.
        starts = [at for at, (one, _) in enumerate(unsure) if not at or first[one] != first[unsure[at - 1][0]] + 1]
        for start, end in pairwise([*starts, len(unsure)]):
            run, there = [one for one, _ in unsure[start:end]], np.concatenate([some for _, some in unsure[start:end]])
            ends, off = (int(first[run[0]]), int(first[run[-1]]) + 1), float(sure[there].max())
            told.append(_told(routes, ends, found.length[run], float(middle[route]), len(there), off))
    if len(told) > TOLD:
        of_more = dict.fromkeys(name for one in told[TOLD:] for name in one.routes)
        told[TOLD:] = [OfRoutes(f"and {len(told) - TOLD} more such stretches", tuple(of_more))]
    return told


def _middle(length: Floats, of: Ints, many: int) -> Floats:
    """Give the middle one of each route's straights, shape (routes,); beyond all of them where they are too few."""
    count = np.bincount(of, minlength=many)
    begin = np.cumsum(count) - count
    in_order = np.append(length[np.lexsort((length, of))], np.inf)
    found: Floats = np.where(count >= FEWEST, in_order[begin + count // 2], np.inf)
    return found


def _told(routes: Routes, ends: tuple[int, int], length: Floats, usual: float, many: int, off: float) -> OfRoutes:
    symbol = units.SYMBOLS[routes.unit]
    placed = f"the {many:,} joints there may lie up to {off:.1f} {symbol} from where they are placed"
    if many == 1:
        placed = f"the joint there may lie up to {off:.1f} {symbol} from where it is placed"
    name, (begin, end) = routes.names[routes.vertex_route[ends[0]]], (label(routes, one) for one in ends)
    if len(length) == 1:
        what = f"{length[0]:.0f} {symbol} from {begin} to {end} were not shot, where shots are usually"
    else:
        what = f"from {begin} to {end} shots lie up to {length.max():.0f} {symbol} apart, where they are usually"
    to_do = "look for shots that were lost, or have some taken there"
    return OfRoutes.one(name, f"route {name}: {what} {usual:.0f} {symbol} apart; {placed}: {to_do}")
