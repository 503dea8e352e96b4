"""Coordinates of a log held against its stations: single ones that were mistyped, and a unit that all of them betray.

Coordinates that lie elsewhere than those of the records around them, each against its station, are odd; they are wrong
where the way from the record before to them and on to the next is a detour. A wrong station makes none.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.errors import JobFileError
from asbuilt.line.nearest import nearest
from asbuilt.line.routes import points
from asbuilt.placing.places import offset_points
from asbuilt.placing.positions import Positions, rows_named

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.line.stationed import StationedLine

GROSS = 2.0
"""Laying lengths by which coordinates must contradict stations to be more than an inexact reading."""
_BESIDE = 3
"""Neighbours on either side that a joint is held against."""
_FEWEST = 3
_ENOUGH = 8
"""Joints by which a unit can be told."""
_FACTOR_SLACK = 0.04
_ORDERED = 0.6
"""Steps forward less steps back, as a part of all, from which a log goes by its stations."""
_OFTEN = 0.2
"""A part of a route's coordinates that is no longer a slip here and there."""


def mistyped(job: Job, line: StationedLine, log: Log, route: Ints, along: Floats, surveyed: Positions) -> Ints:
    """Find the records whose coordinates are wrong beyond doubt, though their stations have a place.

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
    array of int
        Numbers of records, in order.

    Raises
    ------
    JobFileError
        When coordinates and stations are in different units.
    """
    of_the_log = surveyed.known & (surveyed.vertex < 0) & (route >= 0)
    _refuse_another_unit(job, line, log, route, surveyed, np.flatnonzero(of_the_log))
    rows = np.flatnonzero(of_the_log & np.isfinite(along))
    rows = rows[np.argsort(route[rows], kind="stable")]
    there = points(line.routes, route[rows], line.locate(route[rows], along[rows]))
    east, north = offset_points(there, log.number("offset")[rows] * line.scale)
    place = np.stack([surveyed.easting[rows], surveyed.northing[rows]], axis=1)
    error, laying = place - np.stack([east, north], axis=1), job.records.laying_length * line.scale
    odd = _odd(route[rows], error, GROSS * laying)
    if not odd.any():
        return rows[:0]
    wrong = odd & (_detour(route[rows], place, odd, laying) > GROSS * laying)
    unordered = ~_in_order_of_stations(route[rows], along[rows], odd)[route[rows]]
    beside = np.flatnonzero(odd & unordered)
    wrong[beside] = _away(line, route, surveyed, rows[beside]) > GROSS * laying
    # Easting and northing in each other's place are told as that.
    wrong[np.flatnonzero(wrong)[_away(line, route, surveyed.exchanged(), rows[wrong]) <= GROSS * laying]] = False
    # What most rows do is no slip: another system, or stations counted from elsewhere.
    often = np.bincount(route[rows], wrong) > np.maximum(_FEWEST, _OFTEN * np.bincount(route[rows]))
    return np.sort(rows[wrong & ~often[route[rows]]])


def _away(line: StationedLine, route: Ints, surveyed: Positions, rows: Ints) -> Floats:
    return nearest(line.routes, route[rows], surveyed.easting[rows], surveyed.northing[rows]).away


def _odd(route: Ints, error: Floats, slack: float) -> Bools:
    """Mark the places that lie elsewhere, against their stations, than those of the records beside them."""
    odd: Bools = np.hypot(*error.T) > slack
    at = np.flatnonzero(odd)
    first, end = (np.searchsorted(route, route[at], side=side) for side in ("left", "right"))
    begin = np.clip(at - _BESIDE, first, np.maximum(end - 2 * _BESIDE - 1, first))
    others = begin[:, None] + np.arange(2 * _BESIDE + 1)
    beside = np.where((others < end[:, None])[:, :, None], error[np.minimum(others, len(route) - 1)], np.nan)
    odd[at] = np.hypot(*(error[at] - np.nanmedian(beside, axis=1)).T) > slack
    odd[at[end - first < _FEWEST]] = False
    return odd


def _detour(route: Ints, place: Floats, odd: Bools, laying: float) -> Floats:
    """Give how much longer than straight on the way over each odd place is, between the nearest places that are not."""
    good, at = np.flatnonzero(~odd), np.flatnonzero(odd)
    ahead = np.searchsorted(good, at)
    detour = np.full(len(route), np.nan)
    if not len(good):
        return detour
    back, ahead = good[np.maximum(ahead - 1, 0)], good[np.minimum(ahead, len(good) - 1)]
    has_back, has_ahead = (back < at) & (route[back] == route[at]), (ahead > at) & (route[ahead] == route[at])
    from_back, to_ahead, between = (
        np.hypot(*(place[one] - place[other]).T) for one, other in ((at, back), (at, ahead), (ahead, back))
    )
    at_end = np.where(has_back, from_back - laying * (at - back), to_ahead - laying * (ahead - at))
    detour[at] = np.where(has_back & has_ahead, from_back + to_ahead - between, at_end)
    detour[at[~has_back & ~has_ahead]] = np.nan
    return detour


def _in_order_of_stations(route: Ints, along: Floats, odd: Bools) -> Bools:
    """Say of each route whether its rows follow one another as their stations do, shape (routes,)."""
    good = np.flatnonzero(~odd)
    step, same = np.sign(np.diff(along[good])), np.diff(route[good]) == 0
    of = route[good][1:][same]
    count = int(route.max()) + 1
    one_way: Bools = np.abs(np.bincount(of, step[same], count)) >= _ORDERED * np.bincount(of, minlength=count)
    return one_way


def _refuse_another_unit(job: Job, line: StationedLine, log: Log, route: Ints, surveyed: Positions, rows: Ints) -> None:
    """Refuse a log whose coordinates lie apart by the factor of feet and metres from what its stations say."""
    value = log.stations.value
    rows = rows[np.isfinite(value[rows])]
    rows = rows[np.lexsort((value[rows], route[rows]))]
    if len(rows) < _ENOUGH:
        return
    chord = np.hypot(np.diff(surveyed.easting[rows]), np.diff(surveyed.northing[rows]))
    step = np.diff(value[rows]) * line.scale
    least = 0.02 * job.records.laying_length * line.scale
    told = (np.diff(route[rows]) == 0) & (step > least)
    if np.count_nonzero(told) < _ENOUGH - 1:
        return
    ratio = chord[told] / step[told]
    metric = job.records.station_unit == "m"
    factor, written = (units.factor("ft", "m"), "feet") if metric else (units.factor("m", "ft"), "metres")
    if np.mean(np.abs(ratio / factor - 1.0) < _FACTOR_SLACK) >= 1.0 - _OFTEN:
        raise JobFileError(
            f"{job.source}: records.station_unit: the log's coordinates lie {np.median(ratio):.2f} times as far apart "
            f"as its stations, as if its stations were written in {written}: correct records.station_unit (now "
            f"{job.records.station_unit}) and records.laying_length"
        )


def doubted(job: Job, line: StationedLine, log: Log, surveyed: Positions, wrong: Ints, apart: Floats) -> list[str]:
    """Say which coordinates were not used, and which joints stand far from where their stations would put them.

    Parameters
    ----------
    job : Job
    line : StationedLine
    log : Log
    surveyed : Positions
        Without the wrong ones.
    wrong : array of int
        Records whose coordinates were not used.
    apart : array, shape (n,)
        How far coordinates lie from the place of the station, coordinate units.
    """
    told = []
    if len(wrong):
        told.append(
            f"{rows_named(log, wrong)}: coordinates up to {apart[wrong].max() / line.scale:,.0f} {line.symbol} from "
            "where the station lies, and farther from their neighbours' than the stations allow: mistyped, and not "
            "used; these joints stand by their stations until the coordinates are corrected"
        )
    with np.errstate(invalid="ignore"):
        far = np.flatnonzero(surveyed.known & (apart > GROSS * job.records.laying_length * line.scale))
    if len(far):
        middle = float(np.median(apart[far])) / line.scale
        told.append(
            f"{rows_named(log, far)}: surveyed {middle:,.0f} {line.symbol} or so from where the station lies, and "
            "placed by the survey; find out which of the two is wrong (a station, centerline.start_station, or "
            "records.crs), since the joint lies at one of these places only"
        )
    return told
