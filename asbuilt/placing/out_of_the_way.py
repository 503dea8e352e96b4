"""Coordinates without a station to check them, held against the records before and after them in the log."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.line.routes import points
from asbuilt.placing.mistyped import GROSS, in_order
from asbuilt.placing.places import Places, offset_points
from asbuilt.placing.positions import Positions, rows_named

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.line.stationed import StationedLine


def out_of_the_way(
    job: Job, line: StationedLine, log: Log, route: Ints, surveyed: Positions, places: Places
) -> list[str]:
    """Say which records without a usable station lie far from both the record before and the one after them.

    Parameters
    ----------
    job : Job
    line : StationedLine
    log : Log
    route : array of int, shape (n,)
    surveyed : Positions
    places : Places

    Returns
    -------
    list of str
    """
    unchecked = surveyed.known & (surveyed.vertex < 0) & np.isnan(places.apart)
    rows = np.flatnonzero((route >= 0) & np.isfinite(places.distance))
    rows = rows[np.argsort(route[rows], kind="stable")]
    if not unchecked.any() or len(rows) < 3:
        return []
    laying = job.records.laying_length * line.scale
    detour = _detour(route[rows], _where(line, log, route, surveyed, places, rows))
    odd = unchecked[rows] & (detour > GROSS * laying)
    odd &= in_order(route[rows], places.distance[rows], odd)[route[rows]]
    far = rows[odd]
    if not len(far):
        return []
    return [
        f"{rows_named(log, far)}: coordinates out of the way from the record before to the one after, by "
        f"{np.median(detour[odd]) / line.scale:,.0f} {line.symbol} or so, and no station to check them; placed by the "
        "coordinates: correct them, or write the station beside them"
    ]


def _where(line: StationedLine, log: Log, route: Ints, surveyed: Positions, places: Places, rows: Ints) -> Floats:
    """Give where some records lie: as surveyed, else by their stations; shape (rows, 2)."""
    located = type(places.located)(places.located.vertex[rows], places.located.weight[rows])
    by_station = offset_points(points(line.routes, route[rows], located), log.number("offset")[rows] * line.scale)
    known = surveyed.known[rows]
    pairs = zip((surveyed.easting[rows], surveyed.northing[rows]), by_station, strict=True)
    return np.stack([np.where(known, own, other) for own, other in pairs], axis=1)


def _detour(route: Ints, place: Floats) -> Floats:
    """Give how much longer the way over each record is than from the one before to the one after."""
    before, ahead = np.hypot(*(place[1:-1] - place[:-2]).T), np.hypot(*(place[2:] - place[1:-1]).T)
    longer = np.full(len(route), np.nan)
    longer[1:-1] = before + ahead - np.hypot(*(place[2:] - place[:-2]).T)
    inside: Bools = np.append(False, route[1:] == route[:-1]) & np.append(route[1:] == route[:-1], False)
    return np.where(inside, longer, np.nan)
