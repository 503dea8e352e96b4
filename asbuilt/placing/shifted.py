"""Surveyed joints that all lie off the places of their stations alike: another datum, another foot, another origin.

One joint that lies elsewhere is a slip; all of them by one way, in easting and northing, are a system. That is seen
however small it is beside what a station is worth, since no error of stations goes one way along a line that turns.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from asbuilt import units
from asbuilt.arrays import Floats, Ints, together
from asbuilt.line.routes import Located, points
from asbuilt.notes import OfRoutes
from asbuilt.placing.mistyped import GROSS
from asbuilt.placing.places import Places, offset_points
from asbuilt.placing.positions import Positions

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.line.stationed import StationedLine

_ENOUGH = 8
"""Surveyed joints of a route by which a shift can be told."""
_LEAST_M = 0.3
"""A shift of less moves no joint by more than can be seen."""
_ALIKE = 0.25
"""Half of the joints lie within this part of the shift from it, at most."""
_TWO_FEET = 0.25
"""A shift is that of the two feet, which differ by 2 parts in a million, to this part of it."""


def all_shifted(
    job: Job, line: StationedLine, log: Log, route: Ints, surveyed: Positions, places: Places
) -> list[OfRoutes]:
    """Say of which routes the surveyed joints all lie off alike.

    Parameters
    ----------
    job : Job
    line : StationedLine
    log : Log
    route : array of int, shape (n,)
    surveyed : Positions
    places : Places
        By the stations.

    Returns
    -------
    list of OfRoutes
    """
    rows = np.flatnonzero(surveyed.known & (surveyed.vertex < 0) & np.isfinite(places.distance))
    if len(rows) < _ENOUGH:
        return []
    rows = rows[np.argsort(route[rows], kind="stable")]
    there = points(line.routes, route[rows], Located(places.located.vertex[rows], places.located.weight[rows]))
    east, north = offset_points(there, log.number("offset")[rows] * line.scale)
    off = np.stack([surveyed.easting[rows] - east, surveyed.northing[rows] - north], axis=1)
    told = []
    for of_route in together(np.arange(len(rows)), route[rows]):
        if len(of_route) < _ENOUGH:
            continue
        own, number = off[of_route], int(route[rows[of_route[0]]])
        shift = np.median(own, axis=0)
        size, rest = float(np.hypot(*shift)), float(np.median(np.hypot(*(own - shift).T)))
        # What is farther off than a slip is told with its rows: `mistyped.doubted`.
        gross = size > GROSS * job.records.laying_length * line.scale
        if gross or size < _LEAST_M * units.factor("m", line.routes.unit) or rest > _ALIKE * size:
            continue
        symbol, name = units.SYMBOLS[line.routes.unit], line.names.names[number]
        text = (
            f"route {name}: the {len(own):,} joints whose coordinates the log holds all lie "
            f"{size:.2f} {symbol} from where their stations are, by the same way ({shift[0]:+.2f} {symbol} in easting, "
            f"{shift[1]:+.2f} {symbol} in northing, and half of them within {rest:.2f} {symbol} of that): one of the "
            f"two surveys is shifted{_why(shift, surveyed, rows)}; the joints stand by the log's coordinates, and each "
            "is as far off where it is these that are wrong: confirm records.crs and its datum, or leave them out "
            "(records.use_coordinates = false)"
        )
        told.append(OfRoutes.one(name, text))
    return told


def _why(shift: Floats, surveyed: Positions, rows: Ints) -> str:
    """Say whether the shift is that of coordinates written in the other of the two feet."""
    middle = np.array([np.median(surveyed.easting[rows]), np.median(surveyed.northing[rows])])
    feet = 2e-6 * middle
    if min(np.hypot(*(shift - feet)), np.hypot(*(shift + feet))) < _TWO_FEET * np.hypot(*feet):
        return ", as where coordinates in US survey feet are taken for international ones, or the other way round"
    return ", as by another datum or another origin"
