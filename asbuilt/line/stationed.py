"""Routes with their stations: where a station is, and what station is at a place.

Equations, the scale from ground to grid, slope stationing and ties are settled here, once for the whole job.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pyarrow as pa

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.errors import JobFileError
from asbuilt.line import stationing, ties
from asbuilt.line.names import RouteNames
from asbuilt.line.nearest import nearest
from asbuilt.line.routes import Located, Routes, between, equations_of, locate

if TYPE_CHECKING:
    from asbuilt.job import Job


class StationPieces(NamedTuple):
    """Pieces of routes along which stations run evenly, in order; shapes (pieces,)."""

    route: Ints
    stretch: Ints
    """Number of the stretch between equations, from 1 on each route."""
    distance_from: Floats
    """Horizontal distance along the route, coordinate units."""
    distance_to: Floats
    station_from: Floats
    station_to: Floats


STATION_TOLERANCE_M = 0.15
"""How far a station may run beyond the end of its line and still be held to the end."""


@dataclass(frozen=True)
class StationedLine:
    """A job's routes with the stations along them.

    Stations and what is counted by them are in station units on the ground; distances along the line are horizontal
    and in coordinate units on the grid.
    """

    routes: Routes
    station_unit: str
    scale: float
    """Coordinate units, on the grid, in one station unit on the ground."""
    slope: bool
    """Stations count along the line in space, not horizontally."""
    tolerance: float
    """How far a station may run beyond a route's end, station units."""
    equations: tuple[tuple[int, float, float], ...] = ()
    """Station equations in order along their routes: route, back, ahead."""

    def of_routes(self, start: int, stop: int) -> StationedLine:
        """Give successive routes as a line of their own, from `start` up to, and without, `stop`."""
        equations = equations_of(self.equations, start, stop)
        return replace(self, routes=self.routes.of_routes(start, stop), equations=equations)

    @cached_property
    def names(self) -> RouteNames:
        """The routes' names."""
        return RouteNames(self.routes.names)

    @property
    def symbol(self) -> str:
        """Symbol of the station unit."""
        return units.SYMBOLS[self.station_unit]

    @cached_property
    def start(self) -> Floats:
        """Station of each route's first vertex, shape (routes,): as stated, or as ties on the route make it."""
        number = np.arange(len(self.routes.names))
        return self.routes.start_station + self._counted(number, np.zeros(len(number))) / self.scale

    @cached_property
    def regions(self) -> stationing.Regions:
        """The stretches of unbroken stationing of every route, station units."""
        number = np.arange(len(self.routes.names))
        length = self._since_start(number, self._running_length)
        return stationing.regions(self.start, length, self.equations, names=self.names.names, tolerance=self.tolerance)

    def resolve(self, route: Ints, stations: stationing.Stations) -> stationing.Resolved:
        """Say where stations are, in station units from their routes' starts; route -1 is unknown."""
        return stationing.resolve(self.regions, route, stations, self.tolerance)

    def candidates(self, route: int, station: float) -> list[tuple[float, int]]:
        """Give every place of one route that has this station: station units from its start, and the stretch."""
        return stationing.candidate_distances(self.regions, route, station, self.tolerance)

    def locate(self, route: Ints, along: Floats) -> Located:
        """Find the places on the line at station units from their routes' starts."""
        return locate(self.routes, route, self.running(route, along), slope=self.slope)

    def distance(self, route: Ints, along: Floats) -> Floats:
        """Turn station units from a route's start into horizontal distance along its line."""
        return between(self.routes.distance, self.locate(route, along))

    def running(self, route: Ints, along: Floats) -> Floats:
        """Turn station units from a route's start into distance as the stations run: horizontal, or in space."""
        counted = self._counted(route, np.zeros(len(route))) + along * self.scale
        found = self.routes.calibration
        return counted if found is None else ties.onto_line(found, route, counted)

    def along(self, route: Ints, located: Located) -> Floats:
        """Give the station units from their routes' starts at places on the line: the inverse of `locate`."""
        running = self.routes.slope_distance if self.slope else self.routes.distance
        return self._since_start(route, between(running, located))

    def station_at(self, route: Ints, located: Located) -> tuple[Floats, Ints]:
        """Say what station is at places on the line, and in which stretch."""
        return stationing.station_at(self.regions, route, self.along(route, located))

    def station_at_distance(self, route: Ints, distance: Floats) -> tuple[Floats, Ints]:
        """Say what station is at horizontal distances along their routes, and in which stretch."""
        return self.station_at(route, locate(self.routes, route, distance))

    def written(self, route: Ints, station: Floats, region: Ints, form: stationing.Form) -> pa.Array:
        """Write stations as the trade does, with the stretch of one that occurs more than once on its route."""
        return stationing.write_stations(self.regions, route, station, region, form)

    def spans(self, form: stationing.Form) -> list[str]:
        """Say of each route from which station to which it runs."""
        found = self.regions
        low = stationing.format_stations(found.station_from, form).to_pylist()
        high = stationing.format_stations(found.station_to, form).to_pylist()
        return [
            ", then ".join(f"{low[at]} to {high[at]}" for at in range(found.first[one], found.first[one + 1]))
            for one in range(len(self.names.names))
        ]

    def pieces(self) -> StationPieces:
        """Cut the routes into pieces along which stations run evenly: at equations, ties and, by slope, at vertices."""
        found, count = self.regions, np.diff(self.regions.first)
        route, along = self._breaks()
        # A break at an equation or an end is one already.
        stretch = stationing.station_at(found, route, along)[1]
        region = np.concatenate([np.arange(count.sum()), found.first[route] + stretch - 1])
        begin = np.concatenate([found.distance_from, along])
        end = found.distance_from + found.station_to - found.station_from
        order = np.lexsort((begin, region))
        region, begin = region[order], begin[order]
        last = np.append(np.diff(region) != 0, True)
        until = np.where(last, end[region], np.append(begin[1:], 0.0))
        kept = until > begin
        # A stretch without length stays: its equations are there.
        kept |= last & np.append(True, np.diff(region) != 0)
        region, begin, until = region[kept], begin[kept], until[kept]
        on = np.repeat(np.arange(len(count)), count)[region]
        since = found.station_from[region] - found.distance_from[region]
        return StationPieces(
            on, region - found.first[on] + 1, self.distance(on, begin), self.distance(on, until),
            since + begin, since + until,
        )  # fmt: skip

    def _breaks(self) -> tuple[Ints, Floats]:
        """Give where stations change their pace within a stretch: route, and station units from its start."""
        routes, ties_of = self.routes, self.routes.calibration
        on, running = [np.zeros(0, dtype=np.int64)], [np.zeros(0)]
        if ties_of is not None:
            on.append(np.repeat(np.arange(len(routes.names)), np.diff(ties_of.first)))
            running.append(ties_of.actual)
        if self.slope:
            on.append(routes.vertex_route)
            running.append(routes.slope_distance)
        route, at = np.concatenate(on), np.concatenate(running)
        inside = (at > 0.0) & (at < self._running_length[route])
        return route[inside], self._since_start(route[inside], at[inside])

    def equation_texts(self, form: stationing.Form) -> pa.Array:
        """Write each route's equations in order, as `24+50.00 BK = 30+00.00 AH`; null where it has none."""
        written: list[list[str]] = [[] for _ in self.names.names]
        back, ahead = (
            stationing.format_stations(np.array([one[which] for one in self.equations], dtype=np.float64), form)
            for which in (1, 2)
        )
        for (route, *_), before, after in zip(self.equations, back.to_pylist(), ahead.to_pylist(), strict=True):
            written[route].append(f"{before} BK = {after} AH")
        return pa.array(["; ".join(one) or None for one in written], pa.string())

    def between_ties(self, route: Ints, along: Floats) -> Bools:
        """Say which places, in station units from their routes' starts, lie between two ties of their route."""
        found = self.routes.calibration
        if found is None:
            return np.zeros(len(route), dtype=np.bool_)
        return ties.between_ties(found, route, self.running(route, along))

    @property
    def _running_length(self) -> Floats:
        if not self.slope:
            return self.routes.length
        length = self.routes.slope_distance[self.routes.first[1:] - 1]
        unknown = np.flatnonzero(np.isnan(length))
        if len(unknown):
            raise JobFileError(
                f'records.stationing = "slope": route {self.names.names[unknown[0]]!r} has no elevation on a part '
                "of it; complete its elevations, or the profile of its alignment, or use horizontal stationing"
            )
        return length

    def _counted(self, route: Ints, running: Floats) -> Floats:
        """Give the distance that the stations count at a place along the line, from the stated start station."""
        found = self.routes.calibration
        return running if found is None else ties.off_line(found, route, running)

    def _since_start(self, route: Ints, running: Floats) -> Floats:
        start = self._counted(route, np.zeros(len(route)))
        return (self._counted(route, running) - start) / self.scale


def stationed_line(job: Job, routes: Routes, given: ties.Ties | None = None) -> StationedLine:
    """Give a job's routes their stations: lay out the equations, and stretch the stations by ties.

    Parameters
    ----------
    job : Job
    routes : Routes
    given : Ties, or None where the job has none

    Raises
    ------
    JobFileError
        When an equation is wrong; when a tie's station is not on its route or occurs there more than once, a tie lies
        away from its line, or ties do not close.
    """
    unit, tolerance = job.records.station_unit, job.records.station_tolerance
    line = StationedLine(
        routes,
        unit,
        units.factor(unit, routes.unit) * job.centerline.combined_factor,
        job.records.stationing == "slope",
        STATION_TOLERANCE_M * units.factor("m", unit) if tolerance is None else tolerance,
        _equations(job, routes),
    )
    if given is not None:
        line = replace(line, routes=_tied(job, line, given))
    _ = line.regions  # an equation that is wrong is refused here, before a log is read
    return line


def _tied(job: Job, line: StationedLine, given: ties.Ties) -> Routes:
    routes = line.routes
    # Ties say themselves where the stations begin and end, so a route's own ends set no bounds to them.
    endless = np.full(len(routes.names), np.inf)
    found = stationing.regions(routes.start_station, endless, line.equations, names=routes.names)
    resolved = stationing.resolve(found, given.route, given.stations, np.inf)
    wrong = np.flatnonzero(resolved.candidates != 1)
    if len(wrong):
        why = (
            "falls in the gap of a station equation; correct it"
            if resolved.gap[wrong[0]]
            else "occurs more than once on its route; add BK or AH, and the equation's number where it has several"
        )
        raise JobFileError(f"{given.keys[wrong[0]]}: station {given.stations.value[wrong[0]]:.2f} {why}")
    place = nearest(routes, given.route, given.easting, given.northing)
    far = np.flatnonzero(place.away > job.records.laying_length * line.scale)
    if len(far):
        raise JobFileError(
            f"{given.keys[far[0]]}: lies {place.away[far[0]]:.2f} {units.SYMBOLS[routes.unit]} from the line of route "
            f"{routes.names[given.route[far[0]]]!r}, more than a laying length; correct its coordinates (they must be "
            "in the centerline's system), or its route"
        )
    actual = place.distance
    if line.slope:
        _ = line._running_length  # refuses a route without elevations
        actual = between(routes.slope_distance, place.located)
    calibration = ties.calibrate(given, resolved.distance * line.scale, actual, place.away, routes.names)
    slack = units.factor("m", routes.unit) * STATION_TOLERANCE_M
    ties.refuse_closures(calibration, job.centerline.max_closure_ppm, slack, line.scale, line.symbol)
    return replace(routes, calibration=calibration)


def _equations(job: Job, routes: Routes) -> tuple[tuple[int, float, float], ...]:
    if routes.equations and job.centerline.equations:
        raise JobFileError("centerline.equations: the centerline's file has station equations of its own; remove these")
    given, names = job.centerline.equations, RouteNames(routes.names)
    keys = [f"centerline.equations (no. {number})" for number in range(1, len(given) + 1)]
    route = [names.number(one.route, key=f"{key}.route") for one, key in zip(given, keys, strict=True)]
    back = stationing.job_stations([one.back for one in given], [f"{key}.back" for key in keys]).value.tolist()
    ahead = stationing.job_stations([one.ahead for one in given], [f"{key}.ahead" for key in keys]).value.tolist()
    return (*routes.equations, *zip(route, back, ahead, strict=True))
