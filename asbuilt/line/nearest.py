"""The place on a route that lies nearest to a surveyed point, and how far the point lies from the line."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from asbuilt.arrays import Floats, Ints
from asbuilt.line.routes import Located, Points, Routes, drawn, locate, points

BLOCK = 200_000
"""Points looked at near their stations at one time, to keep memory flat."""
_STEPS = 30
"""Steps along a curve towards the foot of a point; each one shortens the miss by the ratio of offset to radius."""


class Nearest(NamedTuple):
    """Places on routes nearest to points: shapes (n,), coordinate units."""

    located: Located
    distance: Floats
    """Horizontal distance along the route from its start."""
    away: Floats
    """How far the point lies from the line, in plan."""


def nearest(
    routes: Routes,
    route: Ints,
    easting: Floats,
    northing: Floats,
    *,
    near: Floats | None = None,
    reach: float = 0.0,
    enough: float = 0.0,
) -> Nearest:
    """Find the places on routes that lie nearest to points, in plan.

    Parameters
    ----------
    routes : Routes
    route : array of int, shape (n,)
        The route of each point.
    easting, northing : array, shape (n,)
    near : array, shape (n,), optional
        Where along the route the point should be; NaN where that is unknown. A route that comes back to itself
        may be nearer to the point elsewhere.
    reach : float
        How far to either side of it to look first.
    enough : float
        A place found there counts where the point lies no farther than this from the line.

    Returns
    -------
    Nearest

    Examples
    --------
    >>> from asbuilt.line.routes import routes_from_vertices
    >>> from pyproj import CRS
    >>> line = routes_from_vertices(["A"], np.array([0, 3]), np.array([0.0, 10.0, 10.0]),
    ...     np.array([0.0, 0.0, 10.0]), np.zeros(3), np.array([0.0]), CRS("EPSG:6418"), "us-ft")
    >>> found = nearest(line, np.zeros(2, int), np.array([4.0, 11.0]), np.array([1.0, 5.0]))
    >>> found.distance.tolist(), found.away.tolist()
    ([4.0, 15.0], [1.0, 1.0])
    """
    line, along, first = drawn(routes)
    distance, away = np.full(len(route), np.nan), np.full(len(route), np.inf)
    if near is not None:
        for start in range(0, len(route), BLOCK):
            rows = start + np.flatnonzero(np.isfinite(near[start : start + BLOCK]))
            if len(rows):
                found = _near(line, along, first, route[rows], easting[rows], northing[rows], near[rows], reach)
                distance[rows], away[rows] = found
    left = np.flatnonzero(away > enough)
    left = left[np.argsort(route[left], kind="stable")]
    ends = np.searchsorted(route[left], np.arange(len(first)))
    for number in np.flatnonzero(np.diff(ends)).tolist():
        rows = left[ends[number] : ends[number + 1]]
        part = slice(int(first[number]), int(first[number + 1]))
        distance[rows], away[rows] = _anywhere(line, along, part, easting[rows], northing[rows])
    if routes.plan is not None:
        distance, away = _on_curves(routes, route, easting, northing, distance)
    return Nearest(locate(routes, route, distance), distance, away)


def _near(
    line: Points,
    along: Floats,
    first: Ints,
    route: Ints,
    easting: Floats,
    northing: Floats,
    near: Floats,
    reach: float,
) -> tuple[Floats, Floats]:
    """Look at the straights within reach of a place along the route, all points at one time."""
    shift = np.concatenate([[0.0], np.cumsum(along[first[1:] - 1] + 1.0)])
    key = along + shift[np.repeat(np.arange(len(first) - 1), np.diff(first))]
    last = first[route + 1] - 2
    begin = np.searchsorted(key, near - reach + shift[route], side="left") - 1
    end = np.searchsorted(key, near + reach + shift[route], side="right") - 1
    begin, end = np.clip(begin, first[route], last), np.clip(end, first[route], last)
    count = end - begin + 1
    start = np.cumsum(count) - count
    owner = np.repeat(np.arange(len(route)), count)
    straight = np.arange(len(owner)) - np.repeat(start, count) + begin[owner]
    distance, away = _foot(line, along, straight, easting[owner], northing[owner])
    best = np.flatnonzero(away == np.minimum.reduceat(away, start)[owner])
    chosen = np.empty(len(route), dtype=np.int64)
    chosen[owner[best][::-1]] = best[::-1]
    distance, away = distance[chosen], away[chosen]
    # Beyond the reach the line may come nearer still, so a place there does not count.
    return distance, np.where(np.abs(distance - near) > reach, np.inf, away)


def _anywhere(line: Points, along: Floats, part: slice, easting: Floats, northing: Floats) -> tuple[Floats, Floats]:
    """Look at all straights of one route."""
    import shapely

    plan = np.stack([line.easting[part], line.northing[part]], axis=1)
    straights = shapely.linestrings(np.stack([plan[:-1], plan[1:]], axis=1))
    hit = shapely.STRtree(straights).query_nearest(shapely.points(easting, northing), all_matches=False)
    straight = np.empty(len(easting), dtype=np.int64)
    straight[hit[0]] = hit[1]
    return _foot(line, along, straight + part.start, easting, northing)


def _foot(line: Points, along: Floats, straight: Ints, easting: Floats, northing: Floats) -> tuple[Floats, Floats]:
    """Give the place on each straight nearest to a point, and how far it is from there."""
    east, north = line.easting[straight], line.northing[straight]
    to_east, to_north = line.easting[straight + 1] - east, line.northing[straight + 1] - north
    square = to_east**2 + to_north**2
    part = (easting - east) * to_east + (northing - north) * to_north
    part = np.clip(np.divide(part, square, out=np.zeros(len(part)), where=square > 0), 0.0, 1.0)
    away = np.hypot(easting - east - part * to_east, northing - north - part * to_north)
    return along[straight] + part * (along[straight + 1] - along[straight]), away


def _on_curves(
    routes: Routes, route: Ints, easting: Floats, northing: Floats, distance: Floats
) -> tuple[Floats, Floats]:
    """Move places from the chord onto the curve: until the point lies square to the line."""
    for _ in range(_STEPS):
        at = points(routes, route, locate(routes, route, distance))
        step = (easting - at.easting) * np.sin(at.azimuth) + (northing - at.northing) * np.cos(at.azimuth)
        distance = np.clip(distance + step, 0.0, routes.length[route])
        if (np.abs(step) < 1e-9).all():
            break
    at = points(routes, route, locate(routes, route, distance))
    return distance, np.hypot(easting - at.easting, northing - at.northing)
