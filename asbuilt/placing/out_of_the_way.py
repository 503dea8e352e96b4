"""Coordinates without a station to check them, held against the records before and after them in the log."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pyarrow as pa

from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.line.nearest import nearest
from asbuilt.line.routes import Located, between, points
from asbuilt.notes import OfRoutes
from asbuilt.placing.mistyped import GAP, GROSS, beside, detour, in_order, often, room
from asbuilt.placing.places import Places, offset_points
from asbuilt.placing.positions import Positions, rows_named

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.line.stationed import StationedLine

_FEWEST = 3
"""Records from which one has others on both sides."""


def contradicted(
    job: Job, line: StationedLine, log: Log, route: Ints, along: Floats, surveyed: Positions
) -> tuple[Ints, Floats]:
    """Find the records without a usable station whose coordinates are wrong beyond doubt.

    They lie far out of the way from the records before to those after, and either off the line, or where joints
    already stand without a gap while there is one between those records.

    Parameters
    ----------
    job : Job
    line : StationedLine
    log : Log
    route : array of int, shape (n,)
    along : array, shape (n,)
        Station units from the start of the route; NaN where the station has no place.
    surveyed : Positions

    Returns
    -------
    rows : array of int
        Numbers of records.
    detour : array
        How much longer the way over them is, coordinate units.
    """
    unchecked = surveyed.known & (surveyed.vertex < 0) & np.isnan(along)
    rows = np.flatnonzero((route >= 0) & (unchecked | np.isfinite(along))) if unchecked.any() else np.zeros(0, np.int64)
    if not unchecked[rows].any() or len(rows) < _FEWEST:
        return rows[:0], np.zeros(0)
    rows = rows[np.argsort(route[rows], kind="stable")]
    laying, own = job.records.laying_length * line.scale, unchecked[rows]
    there = line.locate(route[rows], np.where(own, 0.0, along[rows]))
    at = np.flatnonzero(own)
    near = nearest(line.routes, route[rows[at]], surveyed.easting[rows[at]], surveyed.northing[rows[at]])
    distance = between(line.routes.distance, there)
    distance[at] = near.distance
    off, odd = near.away > GROSS * laying, own.copy()
    others = (route[rows[~own]], distance[~own], route[rows[at]])
    odd[at] = off | (room(*others, near.distance) <= GAP * laying)
    longer = detour(route[rows], _where(line, log, route, surveyed, there, rows), odd, laying)
    wrong = odd & (longer > GROSS * laying) & in_order(route[rows], distance, odd)[route[rows]]
    back, ahead, *_ = beside(route[rows], odd)
    # Where the joints before and after it are neighbours, it is none of those between them.
    wrong[odd] &= off[odd[at]] | (np.abs(distance[ahead] - distance[back]) > GAP * laying)
    wrong &= ~often(route[rows], wrong)
    # Easting and northing in each other's place are told as that.
    other, some = surveyed.exchanged(), rows[wrong]
    swapped = nearest(line.routes, route[some], other.easting[some], other.northing[some]).away <= GROSS * laying
    wrong[np.flatnonzero(wrong)[swapped]] = False
    return rows[wrong], longer[wrong]


def told(line: StationedLine, message: pa.Array, wrong: tuple[Ints, Floats]) -> pa.Array:
    """Add to the messages of records set aside why their coordinates do not place them."""
    if not len(wrong[0]):
        return message
    texts = message.to_pylist()
    for row, longer in zip(wrong[0].tolist(), (wrong[1] / line.scale).tolist(), strict=True):
        texts[row] = (
            f"{texts[row]}; its coordinates lie out of the way from the record before to the one after, by "
            f"{longer:,.0f} {line.symbol}, and are not used: correct them too"
        )
    return pa.array(texts, pa.string())


def out_of_the_way(
    job: Job, line: StationedLine, log: Log, route: Ints, surveyed: Positions, places: Places
) -> list[OfRoutes]:
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
    list of OfRoutes
    """
    unchecked = surveyed.known & (surveyed.vertex < 0) & np.isnan(places.apart)
    if not unchecked.any():
        return []
    rows = np.flatnonzero((route >= 0) & np.isfinite(places.distance))
    rows = rows[np.argsort(route[rows], kind="stable")]
    if len(rows) < _FEWEST:
        return []
    laying = job.records.laying_length * line.scale
    longer = _longer(
        route[rows],
        _where(line, log, route, surveyed, Located(places.located.vertex[rows], places.located.weight[rows]), rows),
    )
    odd = unchecked[rows] & (longer > GROSS * laying)
    odd &= in_order(route[rows], places.distance[rows], odd)[route[rows]]
    far = rows[odd]
    if not len(far):
        return []
    text = (
        f"{rows_named(log, far)}: coordinates out of the way from the record before to the one after, by "
        f"{np.median(longer[odd]) / line.scale:,.0f} {line.symbol} or so, and no station to check them; placed by the "
        "coordinates: correct them, or write the station beside them"
    )
    return [OfRoutes(text, tuple(line.names.names[one] for one in np.unique(route[far]).tolist()))]


def _where(line: StationedLine, log: Log, route: Ints, surveyed: Positions, there: Located, rows: Ints) -> Floats:
    """Give where some records lie: as surveyed, else by their stations; shape (rows, 2)."""
    by_station = offset_points(points(line.routes, route[rows], there), log.number("offset")[rows] * line.scale)
    known = surveyed.known[rows]
    pairs = zip((surveyed.easting[rows], surveyed.northing[rows]), by_station, strict=True)
    return np.stack([np.where(known, own, other) for own, other in pairs], axis=1)


def _longer(route: Ints, place: Floats) -> Floats:
    """Give how much longer the way over each record is than from the one before to the one after."""
    before, ahead = np.hypot(*(place[1:-1] - place[:-2]).T), np.hypot(*(place[2:] - place[1:-1]).T)
    longer = np.full(len(route), np.nan)
    longer[1:-1] = before + ahead - np.hypot(*(place[2:] - place[:-2]).T)
    inside: Bools = np.append(False, route[1:] == route[:-1]) & np.append(route[1:] == route[:-1], False)
    return np.where(inside, longer, np.nan)
