"""Where records lie: by their stations, with the offset from the line that they state."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.held import in_blocks
from asbuilt.line.routes import Located, Points, between

if TYPE_CHECKING:
    from asbuilt.line.stationed import StationedLine


class Places(NamedTuple):
    """Where each record lies: shapes (n,), coordinate units; NaN where it has no place."""

    located: Located
    distance: Floats
    region: Ints
    station: Floats
    """The station of that place, station units."""
    tied: Bools
    apart: Floats
    away: Floats
    above: Floats


def by_station(line: StationedLine, route: Ints, along: Floats, region: Ints, station: Floats) -> Places:
    """Place records by their stations.

    Parameters
    ----------
    line : StationedLine
    route : array of int, shape (n,)
    along : array, shape (n,)
        Station units from the route's start; NaN where the station has no place.
    region : array of int, shape (n,)
    station : array, shape (n,)
    """
    located, distance, tied = in_blocks(lambda some: _by_station(line, route[some], along[some]), len(route))
    none = np.broadcast_to(np.nan, len(route))
    return Places(located, distance, region, station, tied, none, none, none)


def _by_station(line: StationedLine, route: Ints, along: Floats) -> tuple[Located, Floats, Bools]:
    rows = np.flatnonzero(np.isfinite(along))
    place = line.locate(route[rows], along[rows])
    vertex, weight = np.zeros(len(route), dtype=np.int64), np.zeros(len(route))
    vertex[rows], weight[rows] = place
    distance, tied = np.full(len(route), np.nan), np.zeros(len(route), dtype=np.bool_)
    distance[rows] = between(line.routes.distance, place)
    tied[rows] = line.between_ties(route[rows], along[rows])
    return Located(vertex, weight), distance, tied


def offset_points(line: Points, offset: Floats) -> tuple[Floats, Floats]:
    """Give the joints' coordinates, offset square to the line (right positive, looking ahead)."""
    right = np.nan_to_num(offset)
    if not right.any():
        return line.easting, line.northing
    return line.easting + right * np.cos(line.azimuth), line.northing - right * np.sin(line.azimuth)
