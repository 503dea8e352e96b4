"""The line between shots: straight, or an arc as wide as the turns at both of its ends agree on.

A leg with a straight neighbour stays straight, and so does one at a fitting's corner or where the line turns over
from one side to the other: nothing bows that the shots on both sides do not show.
"""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from asbuilt.arrays import Bools, Floats, running
from asbuilt.held import concatenated, cuts, held
from asbuilt.line.curves import Pieces
from asbuilt.line.routes import Routes

PER_JOINT = np.radians(6.0)
"""A turn of more than this for each joint that it may be shared by is a fitting's; common practice, no source."""
ONE_PIPE = 1.25
"""Laying lengths up to which a leg is one pipe."""
SHORTEST = 1e-9
"""No leg is shorter, coordinate units."""
WIDEST = 1.0
"""Half the angle of an arc, at most, as the sine that its chord has."""
EXPLAINED = 0.5
"""A length that a line is short of is put down to the curve between its shots where that makes up this part of it."""


class Legs(NamedTuple):
    """Straights between successive vertices, of all routes one behind the other: shapes (legs,)."""

    length: Floats
    """Horizontal, coordinate units."""
    azimuth: Floats
    back: Floats
    """Curvature at its start by the turn there, 1 / coordinate unit, right positive; NaN where no turn shows it."""
    ahead: Floats
    """Curvature at its end."""
    rise_back: Floats
    """Change of grade in a unit of length at its start, up positive; NaN where it is not known."""
    rise_ahead: Floats


def corners(routes: Routes, laying_length: float) -> Bools:
    """Say which vertices turn more than joints can: there is a fitting, whether or not the log has it.

    Parameters
    ----------
    routes : Routes
    laying_length : float
        Coordinate units.

    Returns
    -------
    array of bool, shape (vertices,)

    Examples
    --------
    >>> from asbuilt.line.routes import routes_from_vertices
    >>> from pyproj import CRS
    >>> line = routes_from_vertices(["A"], np.array([0, 4]), np.array([0.0, 20.0, 40.0, 60.0]),
    ...     np.array([0.0, 0.0, 1.0, 20.0]), np.zeros(4), np.zeros(1), CRS("EPSG:6418"), "us-ft")
    >>> corners(line, 20.0).tolist()
    [False, False, True, False]
    """
    east, north = np.diff(routes.easting), np.diff(routes.northing)
    length = np.hypot(east, north)
    turn = _signed(np.diff(np.arctan2(east, north)))
    shared = np.maximum((length[1:] + length[:-1]) / (2.0 * laying_length), 1.0)
    inner = np.diff(routes.vertex_route, n=2) == 0
    inner &= routes.vertex_route[1:-1] == routes.vertex_route[:-2]
    found = np.zeros(len(routes.easting), dtype=np.bool_)
    found[1:-1] = inner & (np.abs(turn) > PER_JOINT * shared)
    return found


def legs(routes: Routes) -> Legs:
    """Give the straights of routes, with the curvature that the turns at their ends show.

    Parameters
    ----------
    routes : Routes
        At vertices marked as corners no turn shows the curvature of the line.
    """
    vertex = np.flatnonzero(routes.vertex_route[1:] == routes.vertex_route[:-1])
    east, north = (np.diff(one)[vertex] for one in (routes.easting, routes.northing))
    length, azimuth = np.hypot(east, north), np.arctan2(east, north)
    grade = np.divide(np.diff(routes.elevation)[vertex], length, out=np.full(len(vertex), np.nan), where=length > 0)
    follows = np.flatnonzero(np.diff(vertex) == 1)
    if routes.corner is not None:
        follows = follows[~routes.corner[vertex[follows + 1]]]
    reach = (length[follows] + length[follows + 1]) / 2.0
    ends = []
    for change in (_signed(azimuth[follows + 1] - azimuth[follows]), grade[follows + 1] - grade[follows]):
        back, ahead = np.full(len(vertex), np.nan), np.full(len(vertex), np.nan)
        at = np.divide(change, reach, out=np.full(len(follows), np.nan), where=reach > 0)
        ahead[follows], back[follows + 1] = at, at
        ends += [back, ahead]
    return Legs(length, azimuth, *ends)


def with_arcs(routes: Routes, laying_length: float) -> Routes:
    """Give routes arcs in place of the straights between their vertices, and the distances along these.

    Parameters
    ----------
    routes : Routes
        Shot, not drawn.
    laying_length : float
        Coordinate units: a leg of one length is a pipe, and straight.

    Returns
    -------
    Routes
        The curvature of each arc is the harmonic mean of what both ends show, and nothing where they disagree in
        side; elevations run evenly along the arc.

    Source
    ------
    The harmonic mean as a limit against overshooting: Fritsch and Butland, 1984 (from memory).

    Examples
    --------
    Four shots on a circle of 100: the arc in the middle has its length.

    >>> from asbuilt.line.routes import routes_from_vertices
    >>> from pyproj import CRS
    >>> at = np.radians([0.0, 10.0, 20.0, 30.0])
    >>> line = routes_from_vertices(["A"], np.array([0, 4]), 100 * np.cos(at), 100 * np.sin(at), np.zeros(4),
    ...     np.zeros(1), CRS("EPSG:6418"), "us-ft")
    >>> (np.diff(with_arcs(line, 5.0).distance) / np.radians(1000.0)).round(4).tolist()
    [0.999, 1.0, 0.999]
    """
    known = routes.corner if routes.corner is not None else np.zeros(len(routes.easting), dtype=np.bool_)
    found = legs(replace(routes, corner=known | corners(routes, laying_length)))
    curvature = np.where(found.length > ONE_PIPE * laying_length, leg_curvature(found), 0.0)
    half = np.arcsin(np.clip(curvature * found.length / 2.0, -WIDEST, WIDEST))
    length = np.where(
        half == 0, found.length, np.divide(2.0 * half, curvature, out=np.ones(len(half)), where=half != 0)
    )
    vertex = np.flatnonzero(routes.vertex_route[1:] == routes.vertex_route[:-1])
    rise = np.diff(routes.elevation)[vertex]
    distance = _along(routes, vertex, length)
    arcs = Pieces(
        distance[vertex], routes.easting[vertex], routes.northing[vertex], found.azimuth - half, curvature, curvature,
        length,
    )  # fmt: skip
    return replace(routes, arcs=arcs, distance=distance, slope_distance=_along(routes, vertex, np.hypot(length, rise)))


def excess(routes: Routes, laying_length: float) -> Floats:
    """Add up along each route what the curve through its shots has more than the straights between them.

    Parameters
    ----------
    routes : Routes
    laying_length : float
        Coordinate units.

    Returns
    -------
    array, shape (vertices,)
        Coordinate units; nothing on a line that is an alignment, or was shot at every pipe.

    Examples
    --------
    Shots every 10 degrees of a circle of 100: an arc has 17.45 and its chord 17.43; nothing shows how an end goes on.

    >>> from asbuilt.line.routes import routes_from_vertices
    >>> from pyproj import CRS
    >>> at = np.radians([0.0, 10.0, 20.0, 30.0])
    >>> line = routes_from_vertices(["A"], np.array([0, 4]), 100 * np.cos(at), 100 * np.sin(at), np.zeros(4),
    ...     np.zeros(1), CRS("EPSG:6418"), "us-ft")
    >>> excess(line, 5.0).round(3).tolist()
    [0.0, 0.006, 0.028, 0.033]
    """
    # Legs of one pipe each are straight.
    longest = np.maximum.reduceat(np.diff(routes.distance, append=0.0), routes.first[:-1])
    curved = longest > ONE_PIPE * laying_length
    if routes.plan is not None or not curved.any():
        return np.zeros(len(routes.distance))

    def more(some: tuple[int, int]) -> Floats:
        part = routes.of_routes(*some)
        by_curve = with_arcs(part, laying_length).distance - part.distance
        return np.where(np.repeat(curved[slice(*some)], np.diff(part.first)), by_curve, 0.0)

    many = len(routes.distance)
    return concatenated([held(more(some), many) for some in cuts(np.diff(routes.first))], many)


def leg_curvature(found: Legs) -> Floats:
    """Give the curvature on which both ends of each leg agree, shape (legs,); at one end alone, half of it."""
    back, ahead = found.back, found.ahead
    same = back * ahead > 0
    both = np.divide(2.0 * back * ahead, back + ahead, out=np.zeros(len(back)), where=same)
    alone = np.where(np.isnan(back), ahead, back) / 2.0
    return np.where(np.isnan(back) ^ np.isnan(ahead), alone, np.where(same, both, 0.0))


def _along(routes: Routes, vertex: np.ndarray, length: Floats) -> Floats:
    step = np.zeros(len(routes.easting))
    step[vertex + 1] = length
    return running(step, routes.first)


def _signed(angle: Floats) -> Floats:
    """Bring angles into (-pi, pi]."""
    return np.pi - (np.pi - angle) % (2.0 * np.pi)
