"""Joints that were surveyed themselves are placed where they were surveyed; their stations are a check."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from asbuilt.arrays import Floats, Ints
from asbuilt.errors import InputFileError, JobFileError
from asbuilt.inputs.log import SAME_PLACE, Log
from asbuilt.line.nearest import nearest
from asbuilt.line.routes import Located, points
from asbuilt.placing.places import Places, offset_points
from asbuilt.placing.positions import Positions, position_tolerance, rows_named, written_in

if TYPE_CHECKING:
    from asbuilt.job import Job
    from asbuilt.line.stationed import StationedLine

FAR_OFF = 50
"""Surveyed joints this many laying lengths from the line are in another coordinate system than it is."""


def own_shots(job: Job, line: StationedLine, route: Ints, along: Floats, surveyed: Positions) -> Positions:
    """Leave a numbered shot to the joint at it, where the log uses the number again elsewhere on the route."""
    rows = np.flatnonzero((surveyed.vertex >= 0) & np.isfinite(along))
    shot = surveyed.vertex[rows]
    if len(np.unique(shot)) == len(shot):
        return surveyed
    running = line.routes.slope_distance if line.slope else line.routes.distance
    apart = np.abs(line.running(route[rows], along[rows]) - running[shot])
    least = np.full(len(running), np.inf)
    np.minimum.at(least, shot, apart)
    others = rows[apart > least[shot] + SAME_PLACE * job.records.laying_length * line.scale]
    return surveyed.without(others)


def by_survey(job: Job, line: StationedLine, log: Log, route: Ints, surveyed: Positions, places: Places) -> Places:
    """Place surveyed records where they were surveyed; their stations are a check."""
    rows = np.flatnonzero(surveyed.known)
    on, easting, northing = route[rows], surveyed.easting[rows], surveyed.northing[rows]
    routes, scale = line.routes, line.scale
    enough, near = position_tolerance(job) * scale, places.distance[rows]
    hit = nearest(
        routes, on, easting, northing, near=near, reach=2.0 * job.records.laying_length * scale, enough=enough
    )
    far = FAR_OFF * job.records.laying_length * scale
    if (hit.away > far).any():
        exchanged = nearest(routes, on, northing, easting, near=near, reach=scale, enough=enough).away
        if np.median(hit.away) > far:
            unit = written_in(routes, easting, northing)
            _refuse_another_system(job, line, hit.away / scale, exchanged / scale, unit)
        _refuse_exchanged(log, rows[(hit.away > far) & (exchanged <= far)])
    vertex, weight, distance = hit.located.vertex.copy(), hit.located.weight.copy(), hit.distance.copy()
    shot = np.flatnonzero(surveyed.vertex[rows] >= 0)
    own = surveyed.vertex[rows[shot]]
    vertex[shot] = np.minimum(own, routes.first[on[shot] + 1] - 2)
    weight[shot], distance[shot] = (own - vertex[shot]).astype(np.float64), routes.distance[own]
    stationed = np.flatnonzero(np.isfinite(near))
    apart = np.full(len(rows), np.nan)
    apart[stationed] = _apart(line, log, route, surveyed, rows[stationed], places)
    # Where no station can be trusted, that of the surveyed place is told.
    told = np.flatnonzero(~(apart <= enough))
    station, region = places.station.copy(), places.region.copy()
    station[rows[told]], region[rows[told]] = line.station_at(on[told], Located(vertex[told], weight[told]))
    return Places(
        Located(_put(places.located.vertex, rows, vertex), _put(places.located.weight, rows, weight)),
        _put(places.distance, rows, distance),
        region,
        station,
        _put(places.tied, rows, np.zeros(len(rows), dtype=np.bool_)),
        _put(places.apart, rows, apart),
        _put(places.away, rows, hit.away),
        _put(places.above, rows, surveyed.elevation[rows] - points(routes, on, hit.located).elevation),
    )


def not_used(line: StationedLine, log: Log, route: Ints, written: Positions, wrong: Ints, places: Places) -> Places:
    """Keep how far coordinates that were not used lie from the place of their station; they are told with the joint."""
    if not len(wrong):
        return places
    return places._replace(apart=_put(places.apart, wrong, _apart(line, log, route, written, wrong, places)))


def _apart(line: StationedLine, log: Log, route: Ints, surveyed: Positions, rows: Ints, places: Places) -> Floats:
    """Measure from where some records were surveyed to where their stations lie."""
    by_station = Located(places.located.vertex[rows], places.located.weight[rows])
    middle = points(line.routes, route[rows], by_station)
    east, north = offset_points(middle, log.number("offset")[rows] * line.scale)
    apart: Floats = np.hypot(east - surveyed.easting[rows], north - surveyed.northing[rows])
    return apart


def _put(values: npt.NDArray[Any], rows: Ints, new: npt.NDArray[Any]) -> npt.NDArray[Any]:
    values = values.copy()
    values[rows] = new
    return values


def _refuse_exchanged(log: Log, rows: Ints) -> None:
    """Refuse rows whose easting and northing stand in each other's place: the joint would lie in another county."""
    if len(rows):
        raise InputFileError(
            f"{rows_named(log, rows)}: easting and northing are exchanged: as written far from the line, on it the "
            "other way round; exchange the two"
        )


def _refuse_another_system(
    job: Job, line: StationedLine, away: Floats, exchanged: Floats, unit: str | None
) -> None:  # fmt: skip
    middle = float(np.median(away))
    said = f"records.crs: half of the surveyed joints lie {middle:,.0f} {line.symbol} or more from the centerline"
    if np.median(exchanged) <= FAR_OFF * job.records.laying_length:
        raise JobFileError(
            f"{said}, but on it with easting and northing exchanged: exchange the two columns in "
            "records.columns.easting and records.columns.northing"
        )
    if unit is not None:
        raise JobFileError(
            f"{said}, but on it if they are written in {unit}: name the same system in {unit} as records.crs (now "
            f"{line.routes.crs.name})"
        )
    raise JobFileError(
        f"{said}: say the coordinate system of the log's coordinates (now {line.routes.crs.name}), or go by the "
        "stations alone with records.use_coordinates = false"
    )
