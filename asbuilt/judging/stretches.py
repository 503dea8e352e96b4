"""Lengths of a route that a job names by two stations, such as those to be restrained or those under test.

Each is resolved by its route's equations into distances along the centerline.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Floats, Ints
from asbuilt.errors import JobFileError
from asbuilt.line import stationing
from asbuilt.line.routes import between, locate
from asbuilt.placing.placement import route_regions, station_distance, station_scale, stationed_distance

if TYPE_CHECKING:
    from asbuilt.job import Job
    from asbuilt.line.routes import Routes
    from asbuilt.placing.placement import Joints


class Named(NamedTuple):
    """A length as the job names it, and the key or row that names it."""

    route: str | None
    start: str | float
    end: str | float
    key: str


@dataclass(frozen=True)
class Stretches:
    """Lengths along routes: shapes (n,)."""

    route: Ints
    start: Floats
    """Horizontal distance along the route where the length begins, coordinate units."""
    end: Floats
    from_station: pa.Array
    to_station: pa.Array

    def __len__(self) -> int:
        return len(self.route)

    def take(self, rows: Ints) -> Stretches:
        """Give some of the lengths."""
        texts = (text.take(pa.array(rows)) for text in (self.from_station, self.to_station))
        return Stretches(self.route[rows], self.start[rows], self.end[rows], *texts)


def resolve(job: Job, routes: Routes, named: Sequence[Named], form: stationing.Form) -> Stretches:
    """Find where named lengths begin and end along their routes.

    Parameters
    ----------
    job : Job
    routes : Routes
    named : sequence of Named
    form : how the stations are written in the result

    Raises
    ------
    JobFileError
        When a route is unknown, a station is not on its route or stands there more than once, or a length ends
        before it begins: every such length is named by its key.
    """
    found, tolerance = route_regions(job, routes)
    problems: list[str] = []
    read = [_read(one, routes, problems) for one in named]
    _refuse(problems)
    route = np.array([at for at, *_ in read], dtype=np.int64)
    ends = [_joined([start for _, start, _ in read]), _joined([end for *_, end in read])]
    resolved = [stationing.resolve(found, route, stations, tolerance) for stations in ends]
    symbol = job.records.station_unit.removeprefix("us-")
    for at, one in enumerate(named):
        for word, given, where in zip(("from", "to"), (one.start, one.end), resolved, strict=True):
            if where.candidates[at] == 1:
                continue
            what = f"{one.key}.{word}: station {given}"
            problems.append(_why_not(what, routes.names[route[at]], where, at, symbol))
    _refuse(problems)
    for at, one in enumerate(named):
        if resolved[0].distance[at] >= resolved[1].distance[at]:
            problems.append(f"{one.key}: from {one.start} is not before to {one.end} along the route; exchange them")
    _refuse(problems)
    start, end = (_along(job, routes, route, where.distance) for where in resolved)
    texts = [
        write_stations(found, route, stations.value, where.region, form)
        for stations, where in zip(ends, resolved, strict=True)
    ]
    return Stretches(route, start, end, *texts)


def remaining(job: Job, routes: Routes, covered: Stretches, asked: Ints, form: stationing.Form) -> Stretches:
    """Give the lengths of the routes asked for that none of the given lengths covers.

    Parameters
    ----------
    job : Job
    routes : Routes
    covered : Stretches
    asked : array of int, shape (n,)
        Routes.
    form : how the stations are written in the result

    Returns
    -------
    Stretches
        In order along the routes; a piece no longer than a station's tolerance is left out.
    """
    found, tolerance = route_regions(job, routes)
    least = tolerance * station_scale(job, routes)
    pieces: list[tuple[int, float, float]] = []
    for route in asked.tolist():
        reached = 0.0
        here = np.flatnonzero(covered.route == route)
        for at in here[np.argsort(covered.start[here], kind="stable")]:
            pieces.append((route, reached, float(covered.start[at])))
            reached = max(reached, float(covered.end[at]))
        pieces.append((route, reached, float(routes.length[route])))
    kept = [piece for piece in pieces if piece[2] - piece[1] > least]
    route = np.array([piece[0] for piece in kept], dtype=np.int64)
    ends = [np.array([piece[which] for piece in kept], dtype=np.float64) for which in (1, 2)]
    texts = []
    for distance in ends:
        value, region = stationing.station_at(found, route, _stationed(job, routes, route, distance))
        texts.append(write_stations(found, route, value, region, form))
    return Stretches(route, *ends, *texts)


def joints_within(stretches: Stretches, joints: Joints, slack: float) -> tuple[Ints, Ints]:
    """Find the joints in each length, its ends included.

    Parameters
    ----------
    stretches : Stretches
    joints : Joints
    slack : float
        How far beyond an end a joint still counts as at the end, coordinate units: stations are rounded, and a joint
        surveyed itself lies a little off its station.

    Returns
    -------
    first, last : array of int, shape (n,)
        The joints of a length are those from `first` up to, but not including, `last`.
    """
    low, high = np.searchsorted(joints.route, stretches.route), np.searchsorted(joints.route, stretches.route, "right")
    first, last = np.empty(len(low), dtype=np.int64), np.empty(len(low), dtype=np.int64)
    for at in range(len(low)):
        along = joints.distance[low[at] : high[at]]
        first[at] = low[at] + np.searchsorted(along, stretches.start[at] - slack, "left")
        last[at] = low[at] + np.searchsorted(along, stretches.end[at] + slack, "right")
    return first, last


def write_stations(
    found: stationing.Regions, route: Ints, value: Floats, region: Ints, form: stationing.Form
) -> pa.Array:
    """Write stations as the trade does, with the region (R1, R2) where one stands more than once on its route.

    Parameters
    ----------
    found : Regions
    route : array of int, shape (n,)
    value : array, shape (n,)
        Station units.
    region : array of int, shape (n,)
    form : how they are written
    """
    text = stationing.format_stations(value, form)
    zero = np.zeros(len(value), dtype=np.int64)
    plain = stationing.Stations(value, zero, zero, form)
    repeated = stationing.resolve(found, route, plain, 0.0).candidates > 1
    number = pc.cast(pa.array(region), pa.string())
    return pc.if_else(pa.array(repeated), pc.binary_join_element_wise(text, number, " R"), text)


def _read(one: Named, routes: Routes, problems: list[str]) -> tuple[int, stationing.Stations, stationing.Stations]:
    ends = []
    for word, given in (("from", one.start), ("to", one.end)):
        try:
            ends.append(stationing.one_station(given, key=f"{one.key}.{word}"))
        except JobFileError as error:
            problems.append(str(error))
            ends.append(stationing.one_station(0.0, key=one.key))
    folded = [name.casefold() for name in routes.names]
    if one.route is None and len(folded) == 1:
        return 0, ends[0], ends[1]
    if one.route is None:
        problems.append(f"{one.key}.route: the centerline has several routes; name one of {_few(routes.names)}")
    elif one.route.casefold() not in folded:
        problems.append(f"{one.key}.route: there is no route {one.route!r}; the routes are {_few(routes.names)}")
    else:
        return folded.index(one.route.casefold()), ends[0], ends[1]
    return 0, ends[0], ends[1]


def _why_not(what: str, route: str, where: stationing.Resolved, at: int, symbol: str) -> str:
    if where.candidates[at] > 1:
        return (
            f"{what} stands more than once on route {route} ({where.lowest[at]:.2f} and {where.highest[at]:.2f} "
            f"{symbol} from its start); add BK, AH or the region"
        )
    if where.gap[at]:
        return f"{what} falls in the gap of a station equation on route {route}; correct it"
    return f"{what} is not on route {route}; correct the station or the route"


def _refuse(problems: Sequence[str]) -> None:
    if problems:
        raise JobFileError("\n  ".join(problems))


def _few(names: Sequence[str]) -> str:
    return ", ".join(names[:8]) + (", ..." if len(names) > 8 else "")


def _joined(stations: Sequence[stationing.Stations]) -> stationing.Stations:
    if not stations:
        none = np.zeros(0, dtype=np.int64)
        return stationing.Stations(np.zeros(0), none, none, "decimal")
    parts = [np.concatenate(part) for part in zip(*(one[:3] for one in stations), strict=True)]
    return stationing.Stations(parts[0], parts[1], parts[2], "decimal")


def _along(job: Job, routes: Routes, route: Ints, distance: Floats) -> Floats:
    """Turn distances as stations count them into horizontal ones, coordinate units."""
    slope = job.records.stationing == "slope"
    place = locate(routes, route, station_distance(job, routes, route, distance), slope=slope)
    return between(routes.distance, place)


def _stationed(job: Job, routes: Routes, route: Ints, distance: Floats) -> Floats:
    """Turn horizontal distances into those that stations count, station units."""
    if job.records.stationing == "slope":
        distance = between(routes.slope_distance, locate(routes, route, distance))
    return stationed_distance(job, routes, route, distance)
