"""Coordinates of a log held against its stations: single ones that were mistyped, and a unit that all of them betray.

Coordinates that lie elsewhere than those of the records around them, each against its station, are odd; they are wrong
where the way from the record before to them and on to the next is a detour. A wrong station makes none. The records
around may have a station only: few coordinates of a log are held against the many stations beside them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.errors import JobFileError
from asbuilt.line.nearest import nearest
from asbuilt.line.routes import between, points
from asbuilt.notes import OfRoutes
from asbuilt.placing.places import Places, offset_points
from asbuilt.placing.positions import Positions, rows_named, written_in

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.line.stationed import StationedLine

GROSS = 2.0
"""Laying lengths by which coordinates must contradict stations to be more than an inexact reading."""
_BESIDE = 3
"""Neighbours on either side that a joint is held against."""
_FEWEST = 3
_SPARSE = 4
"""Where a route has this many times as many stations as coordinates, stations are the greater witness."""
GAP = 1.25
"""Laying lengths between joints from which one is missing between them."""
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
    odd |= _alone(line, route, surveyed, rows, error, along, GROSS * laying)
    if not odd.any():
        return rows[:0]
    wrong = _contradicted(line, log, route, along, surveyed, rows, place, odd, laying)
    # Easting and northing in each other's place are told as that.
    wrong[np.flatnonzero(wrong)[_away(line, route, surveyed.exchanged(), rows[wrong]) <= GROSS * laying]] = False
    # What most rows do is no slip: another system, or stations counted from elsewhere.
    return np.sort(rows[wrong & ~often(route[rows], wrong)])


def often(route: Ints, wrong: Bools) -> Bools:
    """Say of each record whether so many of its route are wrong that it is no slip, shape (n,)."""
    on: Bools = np.bincount(route, wrong) > np.maximum(_FEWEST, _OFTEN * np.bincount(route))
    return on[route]


def _contradicted(
    line: StationedLine,
    log: Log,
    route: Ints,
    along: Floats,
    surveyed: Positions,
    rows: Ints,
    place: Floats,
    odd: Bools,
    laying: float,
) -> Bools:
    """Mark the odd coordinates that the places of the records around them contradict."""
    every = np.flatnonzero((route >= 0) & np.isfinite(along))
    every = every[np.argsort(route[every], kind="stable")]
    there = line.locate(route[every], along[every])
    middle = points(line.routes, route[every], there)
    places = np.stack(offset_points(middle, log.number("offset")[every] * line.scale), axis=1)
    at = np.searchsorted(_keys(route, every), _keys(route, rows))
    by_station, of_all = places[at], np.zeros(len(every), dtype=np.bool_)
    places[at], of_all[at] = place, odd
    ordered = in_order(route[every], along[every], of_all)[route[rows]]
    wrong = np.zeros(len(rows), dtype=np.bool_)
    # What is found stands by its station from then on: of two that are wrong alike, it tells the other.
    while (found := odd & ordered & ~wrong & (detour(route[every], places, of_all, laying)[at] > GROSS * laying)).any():
        wrong |= found
        places[at[found]], of_all[at[found]] = by_station[found], False
    some = np.flatnonzero(odd & ~ordered)
    if not len(some):
        return wrong
    near = nearest(line.routes, route[rows[some]], surveyed.easting[rows[some]], surveyed.northing[rows[some]])
    distance, good = between(line.routes.distance, there), ~of_all
    on = (route[every[good]], distance[good], route[rows[some]])
    needed = room(*on, distance[at[some]]) > GAP * laying
    crowded = room(*on, near.distance) <= GAP * laying
    wrong[some] = (near.away > GROSS * laying) | (needed & crowded)
    return wrong


def _keys(route: Ints, rows: Ints) -> Ints:
    """Give numbers in which records that are sorted by route, and then as the log has them, ascend."""
    keys: Ints = route[rows] * len(route) + rows
    return keys


def room(route: Ints, distance: Floats, on: Ints, wanted: Floats) -> Floats:
    """Give how far apart the joints on either side of some places are, without the joint that is asked about.

    Parameters
    ----------
    route : array of int, shape (joints,)
    distance : array, shape (joints,)
        Along the route.
    on : array of int, shape (places,)
    wanted : array, shape (places,)
        Along the route.

    Returns
    -------
    array, shape (places,)
        NaN where there are no joints on both sides.
    """
    if not len(distance):
        return np.full(len(wanted), np.nan)
    span = max(float(distance.max(initial=0.0)), float(wanted.max(initial=0.0))) + 1.0
    order = np.sort(route * span + distance)
    key = on * span + wanted
    back, ahead = np.searchsorted(order, key, side="right") - 1, np.searchsorted(order, key, side="left")
    known = (back >= 0) & (ahead < len(order))
    back, ahead = np.maximum(back, 0), np.minimum(ahead, len(order) - 1)
    known &= (order[back] // span == on) & (order[ahead] // span == on)
    return np.where(known, order[ahead] - order[back], np.nan)


def _alone(
    line: StationedLine, route: Ints, surveyed: Positions, rows: Ints, error: Floats, along: Floats, slack: float
) -> Bools:
    """Mark the coordinates off the line of a route that has few: no station counted from elsewhere explains them."""
    count = len(line.names.names)
    known, stations = np.bincount(route[rows], minlength=count), route[np.flatnonzero((route >= 0) & ~np.isnan(along))]
    sparse = _SPARSE * known <= np.bincount(stations, minlength=count)
    marked: Bools = (np.hypot(*error.T) > slack) & sparse[route[rows]]
    at = np.flatnonzero(marked)
    marked[at] = _away(line, route, surveyed, rows[at]) > slack
    return marked


def _away(line: StationedLine, route: Ints, surveyed: Positions, rows: Ints) -> Floats:
    return nearest(line.routes, route[rows], surveyed.easting[rows], surveyed.northing[rows]).away


def _odd(route: Ints, error: Floats, slack: float) -> Bools:
    """Mark the places that lie elsewhere, against their stations, than those of the records beside them.

    Of two that lie elsewhere by the same way, stations are counted from elsewhere; one alone says nothing of that.
    """
    odd: Bools = np.hypot(*error.T) > slack
    at = np.flatnonzero(odd)
    first, end = (np.searchsorted(route, route[at], side=side) for side in ("left", "right"))
    begin = np.clip(at - _BESIDE, first, np.maximum(end - 2 * _BESIDE - 1, first))
    others = begin[:, None] + np.arange(2 * _BESIDE + 1)
    beside = np.where((others < end[:, None])[:, :, None], error[np.minimum(others, len(route) - 1)], np.nan)
    apart, count = np.hypot(*(error[at] - np.nanmedian(beside, axis=1)).T), end - first
    odd[at] = (count == 1) | (np.where(count == 2, 2.0 * apart, apart) > slack)
    return odd


def beside(route: Ints, odd: Bools) -> tuple[Ints, Ints, Bools, Bools]:
    """Give, for each odd record, the nearest ones before and after it that are not, and whether its route has them."""
    good, at = np.flatnonzero(~odd), np.flatnonzero(odd)
    if not len(good):
        none = np.zeros(len(at), dtype=np.bool_)
        return at, at, none, none
    ahead = np.searchsorted(good, at)
    back, ahead = good[np.maximum(ahead - 1, 0)], good[np.minimum(ahead, len(good) - 1)]
    return back, ahead, (back < at) & (route[back] == route[at]), (ahead > at) & (route[ahead] == route[at])


def detour(route: Ints, place: Floats, odd: Bools, laying: float) -> Floats:
    """Give how much longer than straight on the way over each odd place is, between the nearest places that are not.

    Parameters
    ----------
    route : array of int, shape (n,)
    place : array, shape (n, 2)
        In the order of the log, route by route.
    odd : array of bool, shape (n,)
    laying : float
        Laying length, coordinate units.

    Returns
    -------
    array, shape (n,)
        NaN where a place is not odd, or its route has none that is not.
    """
    longer, at = np.full(len(route), np.nan), np.flatnonzero(odd)
    back, ahead, has_back, has_ahead = beside(route, odd)
    from_back, to_ahead, between = (
        np.hypot(*(place[one] - place[other]).T) for one, other in ((at, back), (at, ahead), (ahead, back))
    )
    at_end = np.where(has_back, from_back - laying * (at - back), to_ahead - laying * (ahead - at))
    longer[at] = np.where(has_back & has_ahead, from_back + to_ahead - between, at_end)
    longer[at[~has_back & ~has_ahead]] = np.nan
    return longer


def in_order(route: Ints, along: Floats, odd: Bools) -> Bools:
    """Say of each route whether its rows follow one another as their places along it do, but for the odd ones.

    Parameters
    ----------
    route : array of int, shape (n,)
    along : array, shape (n,)
    odd : array of bool, shape (n,)

    Returns
    -------
    array of bool, shape (routes,)
    """
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
        unit = written_in(line.routes, surveyed.easting[rows], surveyed.northing[rows])
        if unit is not None:
            raise JobFileError(
                f"{job.source}: records.crs: the log's coordinates lie at the line only if they are written in {unit}: "
                f"name the same system in {unit} as records.crs (now {line.routes.crs.name})"
            )
        raise JobFileError(
            f"{job.source}: records.station_unit: the log's coordinates lie {np.median(ratio):.2f} times as far apart "
            f"as its stations, as if its stations were written in {written}: correct records.station_unit (now "
            f"{job.records.station_unit}) and records.laying_length"
        )


def doubted(
    job: Job,
    line: StationedLine,
    log: Log,
    route: Ints,
    along: Floats,
    surveyed: Positions,
    wrong: Ints,
    places: Places,
) -> list[OfRoutes]:
    """Say which coordinates were not used, and which joints stand far from where their stations would put them.

    Parameters
    ----------
    job : Job
    line : StationedLine
    log : Log
    route : array of int, shape (n,)
    along : array, shape (n,)
        Where each station lies, station units from the start of the route.
    surveyed : Positions
        Without the wrong ones.
    wrong : array of int
        Records whose coordinates were not used.
    places : Places
        With how far coordinates lie from the place of the station.
    """
    told, apart = [], places.apart

    def of_rows(rows: Ints, text: str) -> OfRoutes:
        return OfRoutes(text, tuple(line.names.names[one] for one in np.unique(route[rows]).tolist()))

    if len(wrong):
        text = (
            f"{rows_named(log, wrong)}: coordinates up to {apart[wrong].max() / line.scale:,.0f} {line.symbol} from "
            "where the station lies, and farther from their neighbours' than the stations allow: mistyped, and not "
            "used; these joints stand by their stations until the coordinates are corrected (or the stations, if it "
            "is they that are counted from elsewhere: centerline.start_station)"
        )
        told.append(of_rows(wrong, text))
    with np.errstate(invalid="ignore"):
        far = np.flatnonzero(surveyed.known & (apart > GROSS * job.records.laying_length * line.scale))
    if len(far):
        middle = float(np.median(apart[far])) / line.scale
        # What lies as far from one end as its station does from the other.
        mirrored = np.abs(along[far] * line.scale + places.distance[far] - line.routes.length[route[far]])
        mirrored = mirrored < GROSS * job.records.laying_length * line.scale
        against = ", ".join(sorted({line.names.names[one] for one in route[far[mirrored]].tolist()}))
        reversed_line = (
            f"; they lie as far from the other end: the line of route {against} seems to be drawn against its stations "
            "(centerline.reversed)"
            if len(far) >= _ENOUGH and np.mean(mirrored) >= _ORDERED
            else ""
        )
        text = (
            f"{rows_named(log, far)}: surveyed {middle:,.0f} {line.symbol} or so from where the station lies, and "
            "placed by the survey; find out which of the two is wrong (a station, centerline.start_station, or "
            f"records.crs), since the joint lies at one of these places only{reversed_line}"
        )
        told.append(of_rows(far, text))
    return told
