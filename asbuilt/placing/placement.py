"""Records onto routes: each record gets its place along the centerline, or is set aside with a reason.

Records of one joint become one joint; joints are put in order along their routes.
"""

from __future__ import annotations

import hashlib
import uuid
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints, as_ints, as_mask, codes
from asbuilt.errors import InputFileError, JobFileError
from asbuilt.inputs.log import Log, station_form
from asbuilt.line import stationing, ties
from asbuilt.line.nearest import nearest
from asbuilt.line.routes import Located, Points, Routes, between, locate, points
from asbuilt.placing.positions import Positions, surveyed_positions
from asbuilt.placing.sequence import in_order, joint_numbers

if TYPE_CHECKING:
    from collections.abc import Sequence

    from asbuilt.job import Job


UID_NAMESPACE = uuid.UUID("6f1e6d0a-3b5e-5c5f-9a53-2d1c0a7b94e1")
_LENGTHS_M = (2.2, 19.0)
"""Pipe is laid in lengths between these; common practice, no source."""
_UNIT_SLACK = 0.03
_FEW = 8
_ENOUGH_STATIONS = 8
STATION_TOLERANCE_M = 0.15
"""How far a station may run beyond the end of its line and still be held to the end."""
LONG_AGO = 1_000_000
"""More days than any date lies after 1970."""
SAME_PLACE = 0.25
"""Records of one joint number are one joint while they lie within this part of a laying length."""
FAR_OFF = 50
"""Surveyed joints this many laying lengths from the line are in another coordinate system than it is."""


@dataclass(frozen=True)
class Records:
    """What became of every record: shapes (n,)."""

    route: Ints
    """Route of the record; -1 where it is unknown."""
    distance: Floats
    """Distance along the route, coordinate units; NaN where the record is set aside."""
    region: Ints
    reason: pa.Array
    """Why the record is set aside; null where it is placed."""
    message: pa.Array
    settled_by: pa.Array
    """What settled a station that stands more than once on its route; null where nothing had to."""
    joint: Ints
    """The joint the record belongs to; -1 where it is set aside."""
    apart: Floats
    """How far its surveyed position lies from the place of its station, coordinate units; NaN where it lacks one."""
    away: Floats
    """How far its surveyed position lies from the centerline; NaN where it was not surveyed."""
    above: Floats
    """How far its surveyed position lies above the centerline; NaN where either elevation is unknown."""
    doubt: pa.Array
    """Why the station of a surveyed record cannot be used; null where it can, and where there is no survey."""

    @property
    def placed(self) -> Bools:
        """True where the record has a place."""
        return self.joint >= 0


@dataclass(frozen=True)
class Joints:
    """Joints in order along their routes: shapes (joints,)."""

    record: Ints
    """The record that gives the joint's present state."""
    position: Ints
    """The record that gives its place: the latest one with a surveyed position, or else its present one."""
    records: Ints
    """How many records the joint has."""
    name: pa.Array
    uid: pa.Array
    route: Ints
    distance: Floats
    station: pa.Array
    """Station as text, with its region where it stands more than once on the route."""
    located: Located
    easting: Floats
    northing: Floats
    elevation: Floats
    """NaN where the centerline has no elevation there."""
    tied: Bools
    """True where the station was stretched between two ties."""
    surveyed: Bools
    """True where the joint itself was surveyed: `located` is then its projection onto the line."""
    own_shot: Bools
    """True where the joint was surveyed and is not one of the centerline's own shots."""

    @property
    def position_source(self) -> pa.Array:
        """How each joint's position is known."""
        by_station = pc.if_else(pa.array(self.tied), "station-tied", "station")
        return pc.if_else(pa.array(self.surveyed), "surveyed", by_station)

    def __len__(self) -> int:
        return len(self.record)

    @property
    def next_on_route(self) -> Ints:
        """Indices of the joints that have a following joint on the same route."""
        return np.flatnonzero(self.route[1:] == self.route[:-1])


class _Places(NamedTuple):
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


class Placed(NamedTuple):
    """Records and joints of a job, placed on its routes."""

    records: Records
    joints: Joints
    notes: tuple[str, ...]


def station_scale(job: Job, routes: Routes) -> float:
    """Give the coordinate units, on the grid, in one station unit on the ground."""
    return units.factor(job.records.station_unit, routes.unit) * job.centerline.grid_factor


def route_regions(job: Job, routes: Routes) -> tuple[stationing.Regions, float]:
    """Lay the station equations out along every route; also give how far a station may run beyond a route's end.

    Parameters
    ----------
    job : Job
    routes : Routes

    Returns
    -------
    Regions
        In station units.
    tolerance : float
        In station units.

    Raises
    ------
    JobFileError
        When an equation is wrong.
    """
    tolerance = job.records.station_tolerance
    if tolerance is None:
        tolerance = STATION_TOLERANCE_M * units.factor("m", job.records.station_unit)
    length = stationed_distance(job, routes, np.arange(len(routes.names)), _stationed_length(job, routes))
    equations = _equations(job, routes)
    start = start_stations(job, routes)
    found = stationing.regions(start, length, equations, names=routes.names, tolerance=tolerance)
    return found, tolerance


def tie(job: Job, routes: Routes, given: ties.Ties | None) -> Routes:
    """Stretch the stations of routes onto their lines by ties.

    Parameters
    ----------
    job : Job
    routes : Routes
    given : Ties, or None where the job has none

    Raises
    ------
    JobFileError
        When a tie's station is not on its route or stands there more than once, a tie lies away from its line, or
        ties do not close.
    """
    if given is None:
        return routes
    scale = station_scale(job, routes)
    # Ties say themselves where the stations begin and end, so a route's own ends set no bounds to them.
    found = stationing.regions(
        routes.start_station, np.full(len(routes.names), np.inf), _equations(job, routes), names=routes.names
    )
    resolved = stationing.resolve(found, given.route, given.stations, np.inf)
    wrong = np.flatnonzero(resolved.candidates != 1)
    if len(wrong):
        why = (
            "falls in the gap of a station equation; correct it"
            if resolved.gap[wrong[0]]
            else "stands more than once on its route; add BK, AH or the region"
        )
        raise JobFileError(f"{given.keys[wrong[0]]}: station {given.stations.value[wrong[0]]:.2f} {why}")
    place = nearest(routes, given.route, given.easting, given.northing)
    far = np.flatnonzero(place.away > job.records.laying_length * scale)
    if len(far):
        raise JobFileError(
            f"{given.keys[far[0]]}: lies {place.away[far[0]]:.2f} {units.SYMBOLS[routes.unit]} from the line of route "
            f"{routes.names[given.route[far[0]]]!r}, more than a laying length; correct its coordinates (they are "
            "those of the centerline), or its route"
        )
    actual = place.distance
    if job.records.stationing == "slope":
        _stationed_length(job, routes)
        actual = between(routes.slope_distance, place.located)
    calibration = ties.calibrate(given, resolved.distance * scale, actual, place.away, routes.names)
    slack = units.factor("m", routes.unit) * STATION_TOLERANCE_M
    symbol = units.SYMBOLS[job.records.station_unit]
    ties.refuse_closures(calibration, job.centerline.max_closure_ppm, slack, scale, symbol)
    return replace(routes, calibration=calibration)


def start_stations(job: Job, routes: Routes) -> Floats:
    """Give the station of each route's first vertex, shape (routes,): as stated, or as ties on the route make it."""
    number = np.arange(len(routes.names))
    return routes.start_station + _counted(routes, number, np.zeros(len(number))) / station_scale(job, routes)


def station_distance(job: Job, routes: Routes, route: Ints, along: Floats) -> Floats:
    """Turn station units from a route's start, as `route_regions` counts them, into a distance along its line.

    Returns
    -------
    array, shape (n,)
        Coordinate units, as the stationing runs: horizontal, or along the line in space.
    """
    start = _counted(routes, route, np.zeros(len(route)))
    counted = start + along * station_scale(job, routes)
    return counted if routes.calibration is None else ties.onto_line(routes.calibration, route, counted)


def stationed_distance(job: Job, routes: Routes, route: Ints, distance: Floats) -> Floats:
    """Turn a distance along a route's line into station units from its start: the inverse of `station_distance`."""
    start = _counted(routes, route, np.zeros(len(route)))
    return (_counted(routes, route, distance) - start) / station_scale(job, routes)


def place_records(job: Job, routes: Routes, log: Log) -> Placed:
    """Place every record of a log on its route, and gather records into joints.

    Parameters
    ----------
    job : Job
    routes : Routes
    log : Log

    Returns
    -------
    Placed
        Every record is either placed or set aside with a reason.

    Raises
    ------
    JobFileError, InputFileError
        When the log does not name its routes, an equation is wrong, or no record could be placed.
    """
    found, tolerance = route_regions(job, routes)
    route = _record_routes(log, routes)
    surveyed = surveyed_positions(job, routes, log, route, position_tolerance(job) * station_scale(job, routes))
    resolved = stationing.resolve(found, route, log.stations, tolerance)
    along, region, settled_by = _settle(found, route, log, resolved, tolerance)
    surveyed = _own_shots(job, routes, route, along, surveyed)
    settled = _settled_by_survey(job, routes, log, route, found, resolved, surveyed, tolerance)
    if settled is not None:
        rows, along[rows], region[rows] = settled
        settled_by = pc.replace_with_mask(settled_by, _mask_of(rows, len(log)), pa.repeat("survey", len(rows)))
    reason, doubt = _reasons(log, route, along, resolved, surveyed.known)
    message = _messages(job, routes, log, route, found, resolved, reason)
    notes = [*_start_notes(job, routes), *_unit_notes(job, routes, log, route), *surveyed.notes]
    notes += _digitising_notes(routes, found, log, route, pc.coalesce(reason, doubt))
    placed = np.flatnonzero(as_mask(reason.is_null()))
    if not len(placed):
        raise InputFileError("; ".join([_nothing_placed(log, reason, message), *notes]))
    places = _by_station(job, routes, log, route, along, region)
    if surveyed.known.any():
        places = _by_survey(job, routes, log, route, found, surveyed, places)
    joints, joint_of = _gather(job, routes, log, placed, places, route, found, surveyed)
    joint = np.full(len(log), -1, dtype=np.int64)
    joint[placed] = joint_of
    records = Records(
        route, places.distance, places.region, reason, message, settled_by, joint,
        places.apart, places.away, places.above, doubt,
    )  # fmt: skip
    return Placed(records, joints, tuple(notes))


def sigma_horizontal(job: Job, routes: Routes, joints: Joints) -> Floats:
    """Give the standard error of each joint's position in plan, in the direction in which it is largest.

    Parameters
    ----------
    job : Job
    routes : Routes
    joints : Joints

    Returns
    -------
    array, shape (joints,)
        Coordinate units; NaN where the job does not say how well the shots are known. The errors of the shots on
        either side, through their weights, and that of the station along the line; that of a shot where the joint
        itself was surveyed.

    Source
    ------
    Propagation of independent errors; textbook.
    """
    if routes.sigma_horizontal is None:
        return np.full(len(joints), np.nan)
    variance, (vertex, weight) = routes.sigma_horizontal**2, joints.located
    shots = variance[vertex] * (1.0 - weight) ** 2 + variance[vertex + 1] * weight**2
    along = job.records.sigma_station * station_scale(job, routes)
    own = between(routes.sigma_horizontal, joints.located)
    return np.where(joints.surveyed, own, np.sqrt(shots + along**2))


def joint_uids(route: pa.Array, joint: pa.Array) -> pa.Array:
    """Give each joint its lasting identifier: a UUIDv5 of its route and joint number.

    Parameters
    ----------
    route, joint : pyarrow string arrays, shape (n,)

    Returns
    -------
    pyarrow string array, shape (n,)
        The same on every machine and in every run. Source: RFC 9562, section 5.5.

    Examples
    --------
    >>> joint_uids(pa.array(["A"]), pa.array(["101"]))[0].as_py() == str(uuid.uuid5(UID_NAMESPACE, "A\\t101"))
    True
    """
    names = pc.binary_join_element_wise(route, joint, "\t").to_pylist()
    space = UID_NAMESPACE.bytes
    # SHA-1 has no array form; one pass of the C hash over the names is the cheapest honest way.
    digests = b"".join([hashlib.sha1(space + name.encode(), usedforsecurity=False).digest() for name in names])
    octets = np.frombuffer(digests, dtype=np.uint8).reshape(-1, 20)[:, :16].copy()
    octets[:, 6] = (octets[:, 6] & 0x0F) | 0x50
    octets[:, 8] = (octets[:, 8] & 0x3F) | 0x80
    hexadecimal = np.frombuffer(b"0123456789abcdef", dtype=np.uint8)
    digits = np.empty((len(octets), 32), dtype=np.uint8)
    digits[:, 0::2], digits[:, 1::2] = hexadecimal[octets >> 4], hexadecimal[octets & 0x0F]
    text = np.full((len(octets), 36), ord("-"), dtype=np.uint8)
    for start, end in ((0, 8), (8, 12), (12, 16), (16, 20), (20, 32)):
        shift = {0: 0, 8: 1, 12: 2, 16: 3, 20: 4}[start]
        text[:, start + shift : end + shift] = digits[:, start:end]
    offsets = np.arange(len(octets) + 1, dtype=np.int32) * 36
    return pa.Array.from_buffers(pa.string(), len(octets), [None, pa.py_buffer(offsets), pa.py_buffer(text)])


def _counted(routes: Routes, route: Ints, distance: Floats) -> Floats:
    """Give the distance that the stations count at a place along the line, from the stated start station."""
    return distance if routes.calibration is None else ties.off_line(routes.calibration, route, distance)


def _stationed_length(job: Job, routes: Routes) -> Floats:
    if job.records.stationing == "horizontal":
        return routes.length
    length = routes.slope_distance[routes.first[1:] - 1]
    unknown = np.flatnonzero(np.isnan(length))
    if len(unknown):
        raise JobFileError(
            f'records.stationing = "slope": route {routes.names[unknown[0]]!r} has vertices without elevation; '
            "complete them, or use horizontal stationing"
        )
    return length


def _equations(job: Job, routes: Routes) -> list[tuple[int, float, float]]:
    if routes.equations and job.centerline.equations:
        raise JobFileError("centerline.equations: the centerline's file has station equations of its own; remove these")
    found = list(routes.equations)
    for equation in job.centerline.equations:
        name = equation.route
        if name is None and len(routes.names) == 1:
            name = routes.names[0]
        if name not in routes.names:
            raise JobFileError(
                f"centerline.equations.route: there is no route {name!r}; the routes are {', '.join(routes.names)}"
            )
        back = stationing.parse_station(equation.back, key="centerline.equations.back")
        ahead = stationing.parse_station(equation.ahead, key="centerline.equations.ahead")
        found.append((routes.names.index(name), back, ahead))
    return found


def equation_texts(job: Job, routes: Routes, form: stationing.Form) -> pa.Array:
    """Write the station equations of each route in order, as `24+50.00 BK = 30+00.00 AH`; null where it has none.

    Parameters
    ----------
    job : Job
    routes : Routes
    form : how the stations are written

    Returns
    -------
    pyarrow string array, shape (routes,)
    """
    written: list[list[str]] = [[] for _ in routes.names]
    for route, back, ahead in _equations(job, routes):
        texts = stationing.format_stations(np.array([back, ahead]), form).to_pylist()
        written[route].append(f"{texts[0]} BK = {texts[1]} AH")
    return pa.array(["; ".join(one) or None for one in written], pa.string())


def _record_routes(log: Log, routes: Routes) -> Ints:
    if "route" not in log.fields:
        if len(routes.names) > 1:
            raise JobFileError(
                "records.columns.route: the centerline has several routes "
                f"({', '.join(routes.names[:8])}), but no column of the log is known as the route; map it, or "
                "state it for the whole log with records.fixed.route"
            )
        return np.zeros(len(log), dtype=np.int64)
    known = pa.array([name.casefold() for name in routes.names])
    # Folding the distinct names only, since a log repeats its routes.
    coded = pc.dictionary_encode(log.fields["route"])
    folded = pa.array([name.casefold() for name in coded.dictionary.to_pylist()], pa.string())
    number = pc.fill_null(pc.index_in(folded, value_set=known), -1).take(coded.indices)
    blank = 0 if len(routes.names) == 1 else -1
    return as_ints(number, blank)


def _settle(
    found: stationing.Regions, route: Ints, log: Log, resolved: stationing.Resolved, tolerance: float
) -> tuple[Floats, Ints, pa.Array]:
    """Settle stations that stand more than once: by BK or AH, by region, or by the joints' sequence."""
    distance, region = resolved.distance.copy(), resolved.region.copy()
    settled: npt.NDArray[np.object_] = np.full(len(route), None, dtype=object)
    stations = log.stations
    spoken = np.flatnonzero(((stations.side != 0) | (stations.region != 0)) & np.isfinite(distance))
    if len(spoken):
        plain = stations._replace(side=np.zeros_like(stations.side), region=np.zeros_like(stations.region))
        plain = stationing.Stations(plain.value[spoken], plain.side[spoken], plain.region[spoken], plain.form)
        repeats = stationing.resolve(found, route[spoken], plain, tolerance).candidates > 1
        by_region = stations.region[spoken] != 0
        settled[spoken[repeats & by_region]] = "region"
        settled[spoken[repeats & ~by_region]] = "back/ahead"
    by_route = np.argsort(route, kind="stable")
    starts = np.searchsorted(route[by_route], np.arange(route.max(initial=-1) + 2))
    for number in np.unique(route[resolved.candidates > 1]):
        rows = by_route[starts[number] : starts[number + 1]]
        rows = rows[resolved.candidates[rows] >= 1]
        for row, (place, at) in _by_sequence(found, int(number), rows, log, resolved, tolerance).items():
            distance[row], region[row], settled[row] = place, at, "joint sequence"
    return distance, region, pa.array(settled, pa.string())


def _by_sequence(
    found: stationing.Regions, route: int, rows: Ints, log: Log, resolved: stationing.Resolved, tolerance: float
) -> dict[int, tuple[float, int]]:
    """Place ambiguous records so that distances never fall along the joint numbers, where only one way exists.

    The lowest and the highest places that keep the order are found from either side; where both agree,
    the order leaves no choice.
    """
    numbers = joint_numbers(log.text("joint").take(pa.array(rows)))
    numbered = numbers.series >= 0
    rows, series, count = rows[numbered], numbers.series[numbered], numbers.number[numbered]
    settled: dict[int, tuple[float, int]] = {}
    for one in np.unique(series):
        members = rows[series == one][np.argsort(count[series == one], kind="stable")]
        known = members[resolved.candidates[members] == 1]
        if len(known) < 2:
            continue
        if np.sum(np.sign(np.diff(resolved.distance[known]))) < 0:
            members, known = members[::-1], known[::-1]
        anchors = set(known[in_order(resolved.distance[known])].tolist())
        options = {
            int(row): stationing.candidate_distances(found, route, float(log.stations.value[row]), tolerance)
            for row in members
            if resolved.candidates[row] > 1
        }
        lowest = _sweep(members.tolist(), anchors, options, resolved.distance, rising=True)
        highest = _sweep(members[::-1].tolist(), anchors, options, resolved.distance, rising=False)
        settled |= {row: place for row, place in lowest.items() if highest.get(row) == place}
    return settled


def _sweep(
    members: Sequence[int],
    anchors: set[int],
    options: dict[int, list[tuple[float, int]]],
    distance: Floats,
    *,
    rising: bool,
) -> dict[int, tuple[float, int]]:
    sign = 1.0 if rising else -1.0
    bound = -np.inf
    chosen: dict[int, tuple[float, int]] = {}
    for row in members:
        if row in anchors:
            bound = max(bound, sign * float(distance[row]))
        feasible = [place for place in options.get(row, ()) if sign * place[0] >= bound - 1e-6]
        if feasible:
            chosen[row] = min(feasible, key=lambda place: sign * place[0])
            bound = sign * chosen[row][0]
    return chosen


def _reasons(
    log: Log, route: Ints, along: Floats, resolved: stationing.Resolved, surveyed: Bools
) -> tuple[pa.Array, pa.Array]:
    """Say why each record is set aside, and why a surveyed one, which is not, cannot be placed by its station."""
    blank = as_mask(log.fields["station"].is_null())
    choices = [
        (as_mask(log.broken.is_valid()), "row-unreadable"),
        (route < 0, "route-unknown"),
        (blank, "station-missing"),
        (np.isnan(log.stations.value), "station-unreadable"),
        (resolved.gap, "station-in-gap"),
        (resolved.candidates == 0, "station-off-route"),
        (np.isnan(along), "station-ambiguous"),
    ]
    code = np.select([mask for mask, _ in choices], range(len(choices)), default=-1)
    reason = pa.array([reason for _, reason in choices]).take(pa.array(code, mask=code < 0))
    if not surveyed.any():
        return reason, pa.nulls(len(log), pa.string())
    nothing, known = pa.scalar(None, pa.string()), pa.array(surveyed)
    return pc.if_else(known, nothing, reason), pc.if_else(known, reason, nothing)


def _messages(
    job: Job,
    routes: Routes,
    log: Log,
    route: Ints,
    found: stationing.Regions,
    resolved: stationing.Resolved,
    reason: pa.Array,
) -> pa.Array:
    """Say of each record set aside what is wrong and what to do."""
    rows = np.flatnonzero(as_mask(reason.is_valid()))
    taken = pa.array(rows)
    spans = _station_spans(routes, found, station_form(job, log))
    told = zip(
        reason.take(taken).to_pylist(),
        log.broken.take(taken).to_pylist(),
        log.text("route").take(taken).to_pylist(),
        log.fields["station"].take(taken).to_pylist(),
        route[rows].tolist(),
        resolved.lowest[rows].tolist(),
        resolved.highest[rows].tolist(),
        strict=True,
    )
    names, example = routes.names, stationing.EXAMPLES[log.stations.form]
    symbol = units.SYMBOLS[job.records.station_unit]
    texts = [_message(*one, names=names, spans=spans, example=example, symbol=symbol) for one in told]
    message = np.full(len(log), None, dtype=object)
    message[rows] = texts
    return pa.array(message, pa.string())


def _message(
    reason: str,
    broken: str | None,
    route_text: str | None,
    station: str | None,
    route: int,
    lowest: float,
    highest: float,
    *,
    names: Sequence[str],
    spans: Sequence[str],
    example: str,
    symbol: str,
) -> str:
    if reason == "row-unreadable":
        return f"{broken}; correct the row"
    if reason == "route-unknown" and route_text is None:
        return "no route is given, and the centerline has several; fill it in"
    if reason == "route-unknown":
        return f"route {route_text!r} is not in the centerline ({', '.join(names[:8])}); correct the route"
    if reason == "station-missing":
        return "no station is given; fill it in"
    if reason == "station-unreadable":
        return f"station {station!r} cannot be read; write it like {example}"
    if reason == "station-in-gap":
        return (
            f"station {station} falls in the gap of a station equation on route {names[route]}: no such station "
            "exists; correct it"
        )
    if reason == "station-off-route":
        return (
            f"station {station} is not on route {names[route]}, which runs {spans[route]}; correct the station, or "
            "the route's start station (centerline.start_station)"
        )
    return (
        f"station {station} stands more than once on route {names[route]}: {lowest:.2f} {symbol} and "
        f"{highest:.2f} {symbol} from its start; add BK or AH"
    )


def _station_spans(routes: Routes, found: stationing.Regions, form: stationing.Form) -> list[str]:
    low = stationing.format_stations(found.station_from, form).to_pylist()
    high = stationing.format_stations(found.station_to, form).to_pylist()
    return [
        ", then ".join(f"{low[at]} to {high[at]}" for at in range(found.first[one], found.first[one + 1]))
        for one in range(len(routes.names))
    ]


def _digitising_notes(routes: Routes, found: stationing.Regions, log: Log, route: Ints, reason: pa.Array) -> list[str]:
    """Notice routes whose line runs against the stations: most stations run off it, on the other side."""
    off = as_mask(pc.equal(reason, "station-off-route"))
    notes = []
    for number in np.unique(route[off]):
        here = (route == number) & np.isfinite(log.stations.value)
        value = log.stations.value[here]
        at = found.first[number]
        start = found.station_from[at]
        length = found.station_to[found.first[number + 1] - 1] - found.station_from[at]
        mirrored = np.mean((value <= start) & (value >= start - length))
        if off[here].mean() > 0.5 and mirrored > 0.5:
            notes.append(
                f"route {routes.names[number]}: most stations lie below its start station {start:.2f}; its line "
                f"seems to run against the stations: name it in centerline.reversed and give its start station "
                f"as {start - length:.2f}"
            )
    return notes


def _start_notes(job: Job, routes: Routes) -> list[str]:
    """Notice routes whose start station nobody states, or whose ties make another one."""
    stated = job.centerline.start_station is not None or routes.pieces is not None
    if not stated and routes.calibration is None:
        return [
            "the job states no start station (centerline.start_station): stations count from 0 at the start of "
            f"route {', '.join(routes.names[:_FEW])}{' and of the others' if len(routes.names) > _FEW else ''}"
        ]
    if not stated or routes.calibration is None:
        return []
    start, slack = start_stations(job, routes), STATION_TOLERANCE_M * units.factor("m", job.records.station_unit)
    return [
        f"route {routes.names[at]}: by its ties the line begins at station {start[at]:.2f}, not at "
        f"{routes.start_station[at]:.2f} as stated; stations go by the ties"
        for at in np.flatnonzero(np.abs(start - routes.start_station) > slack).tolist()
    ]


def _unit_notes(job: Job, routes: Routes, log: Log, route: Ints) -> list[str]:
    """Notice stations that seem to be in another unit: their spacing is wrong by just its factor.

    Where the laying length slipped with them, it is the length that no pipe has.
    """
    own = "m" if job.records.station_unit == "m" else "ft"
    other, factor = ("ft", units.factor("m", "ft")) if own == "m" else ("m", units.factor("ft", "m"))
    length = job.records.laying_length * units.factor(job.records.station_unit, "m")
    notes = []
    for number, name in enumerate(routes.names):
        value = np.unique(log.stations.value[(route == number) & np.isfinite(log.stations.value)])
        if len(value) < _ENOUGH_STATIONS:
            continue
        spacing = float(np.median(np.diff(value))) / job.records.laying_length
        slipped = abs(spacing - 1.0) < _UNIT_SLACK and not _LENGTHS_M[0] < length < _LENGTHS_M[1]
        if slipped or abs(spacing / factor - 1.0) < _UNIT_SLACK:
            spread = float(value[-1] - value[0]) * station_scale(job, routes) / float(routes.length[number])
            notes.append(
                f"route {name}: its stations are {spacing * job.records.laying_length:.2f} {own} apart and run over "
                f"{100.0 * spread:.0f} % of the line, as if they were written in {other}: see records.station_unit and "
                "records.laying_length"
            )
    return notes


def _nothing_placed(log: Log, reason: pa.Array, message: pa.Array) -> str:
    counts = ", ".join(f"{one['counts']} {one['values']}" for one in reason.value_counts().to_pylist() if one["values"])
    first = int(np.argmax(as_mask(reason.is_valid())))
    return (
        f"{log.file[first].as_py()}: none of the {len(log)} records could be placed ({counts}); "
        f"the first is row {log.row[first]}: {message[first].as_py()}"
    )


def _mask_of(rows: Ints, size: int) -> pa.Array:
    mask = np.zeros(size, dtype=np.bool_)
    mask[rows] = True
    return pa.array(mask)


def _settled_by_survey(
    job: Job,
    routes: Routes,
    log: Log,
    route: Ints,
    found: stationing.Regions,
    resolved: stationing.Resolved,
    surveyed: Positions,
    tolerance: float,
) -> tuple[Ints, Floats, Ints] | None:
    """Settle stations that stand more than once by the surveyed position: the nearest place is meant."""
    rows = np.flatnonzero(surveyed.known & (resolved.candidates > 1))
    if not len(rows):
        return None
    hit = nearest(routes, route[rows], surveyed.easting[rows], surveyed.northing[rows])
    at = stationed_distance(job, routes, route[rows], _running_distance(job, routes, hit.located, hit.distance))
    along, region = np.empty(len(rows)), np.empty(len(rows), dtype=np.int64)
    for number, row in enumerate(rows.tolist()):
        options = stationing.candidate_distances(found, int(route[row]), float(log.stations.value[row]), tolerance)
        along[number], region[number] = min(options, key=lambda option: abs(option[0] - at[number]))
    return rows, along, region


def _running_distance(job: Job, routes: Routes, located: Located, distance: Floats) -> Floats:
    """Give distances along the line as the stationing runs: horizontal, or in space."""
    return between(routes.slope_distance, located) if job.records.stationing == "slope" else distance


def _by_station(job: Job, routes: Routes, log: Log, route: Ints, along: Floats, region: Ints) -> _Places:
    """Place records by their stations."""
    rows = np.flatnonzero(np.isfinite(along))
    on_line = station_distance(job, routes, route[rows], along[rows])
    place = locate(routes, route[rows], on_line, slope=job.records.stationing == "slope")
    vertex, weight = np.zeros(len(log), dtype=np.int64), np.zeros(len(log))
    vertex[rows], weight[rows] = place
    distance, tied = np.full(len(log), np.nan), np.zeros(len(log), dtype=np.bool_)
    distance[rows] = between(routes.distance, place)
    if routes.calibration is not None:
        tied[rows] = ties.between_ties(routes.calibration, route[rows], on_line)
    none = np.full(len(log), np.nan)
    return _Places(Located(vertex, weight), distance, region, log.stations.value, tied, none, none, none)


def position_tolerance(job: Job) -> float:
    """Give how far surveyed position and station may lie apart, station units."""
    stated = job.records.position_tolerance
    return stated if stated is not None else SAME_PLACE * job.records.laying_length


def _own_shots(job: Job, routes: Routes, route: Ints, along: Floats, surveyed: Positions) -> Positions:
    """Leave a numbered shot to the joint at it, where the log uses the number again elsewhere on the route."""
    rows = np.flatnonzero((surveyed.vertex >= 0) & np.isfinite(along))
    shot = surveyed.vertex[rows]
    if len(np.unique(shot)) == len(shot):
        return surveyed
    running = routes.slope_distance if job.records.stationing == "slope" else routes.distance
    apart = np.abs(station_distance(job, routes, route[rows], along[rows]) - running[shot])
    least = np.full(len(running), np.inf)
    np.minimum.at(least, shot, apart)
    others = rows[apart > least[shot] + SAME_PLACE * job.records.laying_length * station_scale(job, routes)]
    return surveyed.without(others)


def _by_survey(
    job: Job,
    routes: Routes,
    log: Log,
    route: Ints,
    found: stationing.Regions,
    surveyed: Positions,
    places: _Places,
) -> _Places:
    """Place surveyed records where they were surveyed; their stations are a check."""
    rows = np.flatnonzero(surveyed.known)
    on, easting, northing = route[rows], surveyed.easting[rows], surveyed.northing[rows]
    scale = station_scale(job, routes)
    enough, near = position_tolerance(job) * scale, places.distance[rows]
    hit = nearest(
        routes, on, easting, northing, near=near, reach=2.0 * job.records.laying_length * scale, enough=enough
    )
    _refuse_another_system(job, routes, hit.away / scale)
    vertex, weight, distance = hit.located.vertex.copy(), hit.located.weight.copy(), hit.distance.copy()
    shot = np.flatnonzero(surveyed.vertex[rows] >= 0)
    own = surveyed.vertex[rows[shot]]
    vertex[shot] = np.minimum(own, routes.first[on[shot] + 1] - 2)
    weight[shot], distance[shot] = (own - vertex[shot]).astype(np.float64), routes.distance[own]
    stationed = np.flatnonzero(np.isfinite(near))
    by_station = Located(places.located.vertex[rows[stationed]], places.located.weight[rows[stationed]])
    line = points(routes, on[stationed], by_station)
    east, north = offset_points(line, log.number("offset")[rows[stationed]] * scale)
    apart = np.full(len(rows), np.nan)
    apart[stationed] = np.hypot(east - easting[stationed], north - northing[stationed])
    # Where no station can be trusted, that of the surveyed place is told.
    told = np.flatnonzero(~(apart <= enough))
    running = _running_distance(job, routes, Located(vertex[told], weight[told]), distance[told])
    station, region = places.station.copy(), places.region.copy()
    station[rows[told]], region[rows[told]] = stationing.station_at(
        found, on[told], stationed_distance(job, routes, on[told], running)
    )
    return _Places(
        Located(_put(places.located.vertex, rows, vertex), _put(places.located.weight, rows, weight)),
        _put(places.distance, rows, distance),
        region,
        station,
        _put(places.tied, rows, np.zeros(len(rows), dtype=np.bool_)),
        _put(places.apart, rows, apart),
        _put(places.away, rows, hit.away),
        _put(places.above, rows, surveyed.elevation[rows] - points(routes, on, hit.located).elevation),
    )


def _put(values: npt.NDArray[Any], rows: Ints, new: npt.NDArray[Any]) -> npt.NDArray[Any]:
    values = values.copy()
    values[rows] = new
    return values


def _refuse_another_system(job: Job, routes: Routes, away: Floats) -> None:
    middle, symbol = float(np.median(away)), units.SYMBOLS[job.records.station_unit]
    if middle > FAR_OFF * job.records.laying_length:
        raise JobFileError(
            f"records.crs: half of the surveyed joints lie {middle:,.0f} {symbol} or more from the centerline: say the "
            f"coordinate system of the log's coordinates (now {routes.crs.name}), or go by the stations alone with "
            "records.use_coordinates = false"
        )


def _gather(
    job: Job,
    routes: Routes,
    log: Log,
    placed: Ints,
    places: _Places,
    route: Ints,
    found: stationing.Regions,
    surveyed: Positions,
) -> tuple[Joints, Ints]:
    """Gather placed records into joints, in order along the routes; also give each record's joint."""
    scale = station_scale(job, routes)
    name = _joint_names(job, log, places.station).take(pa.array(placed))
    group = _same_joint(route[placed], name, places.distance[placed], SAME_PLACE * job.records.laying_length * scale)
    latest, records = _latest(log, placed, group)
    spot = placed[_latest_surveyed(log, placed, group, latest, surveyed.known)]
    # Joints in a riser have one horizontal distance; their place on the line tells them apart.
    by_place = (places.located.weight[spot], places.located.vertex[spot], places.distance[spot])
    order = np.lexsort((*by_place, route[spot]))
    joint_of = np.empty(len(order), dtype=np.int64)
    joint_of[order] = np.arange(len(order))
    latest, records, spot = latest[order], records[order], spot[order]
    on, values = route[spot], places.station[spot]
    zero = np.zeros(len(spot), dtype=np.int64)
    plain = stationing.Stations(values, zero, zero, log.stations.form)
    repeated = stationing.resolve(found, on, plain, 0.0).candidates > 1
    station = _station_texts(job, log, values, places.region[spot], repeated)
    name = _distinct_names(on, name.take(pa.array(latest)), station)
    located = Located(places.located.vertex[spot], places.located.weight[spot])
    line = points(routes, on, located)
    easting, northing = offset_points(line, log.number("offset")[spot] * scale)
    known = surveyed.known[spot]
    height = surveyed.elevation[spot]
    joints = Joints(
        record=placed[latest],
        position=spot,
        records=records,
        name=name,
        uid=joint_uids(pa.array(routes.names).take(pa.array(on)), name),
        route=on,
        distance=places.distance[spot],
        station=station,
        located=located,
        easting=np.where(known, surveyed.easting[spot], easting),
        northing=np.where(known, surveyed.northing[spot], northing),
        elevation=np.where(known & np.isfinite(height), height, line.elevation),
        tied=places.tied[spot],
        surveyed=known,
        own_shot=known & (surveyed.vertex[spot] < 0),
    )
    return joints, joint_of[group]


def _latest_surveyed(log: Log, placed: Ints, group: Ints, latest: Ints, surveyed: Bools) -> Ints:
    """Find the record that gives each joint its place: the latest one with a surveyed position, else the latest."""
    some = np.flatnonzero(surveyed[placed])
    if not len(some) or len(latest) == len(group):
        return latest
    joint, within = np.unique(group[some], return_inverse=True)
    spot = latest.copy()
    spot[joint] = some[_latest(log, placed[some], within)[0]]
    return spot


def _joint_names(job: Job, log: Log, station: Floats) -> pa.Array:
    """Name joints by their number; a joint without one goes by its station."""
    name = log.text("joint")
    if name.null_count == 0:
        return name
    text = stationing.format_stations(station, station_form(job, log))
    return pc.coalesce(name, pc.binary_join_element_wise("at", text, " "))


def route_and_name(route: Ints, name: pa.Array) -> Ints:
    """Number the distinct pairs of route and name, shape (n,); pairs without a name are one of their own."""
    code = codes(name)
    return route * (int(code.max(initial=0)) + 2) + code + 1


def _same_joint(route: Ints, name: pa.Array, distance: Floats, tolerance: float) -> Ints:
    """Number the joints that records belong to: same route and number, and in the same place."""
    key = route_and_name(route, name)
    order = np.lexsort((distance, key))
    new = np.ones(len(key), dtype=np.bool_)
    new[1:] = (np.diff(key[order]) != 0) | (np.diff(distance[order]) > tolerance)
    group = np.empty(len(key), dtype=np.int64)
    group[order] = np.cumsum(new) - 1
    return group


def _latest(log: Log, placed: Ints, group: Ints) -> tuple[Ints, Ints]:
    """Find each joint's latest record, by date and then by order in the log, and count its records.

    A record without a readable date counts as made on the latest day of the joint's records before it.
    """
    records = np.bincount(group)
    if "inspected_on" not in log.fields or len(records) == len(group):
        order = np.argsort(group, kind="stable")
        return order[np.cumsum(records) - 1], records
    in_log = np.argsort(group, kind="stable")
    days = pc.cast(log.fields["inspected_on"], pa.int32()).take(pa.array(placed))
    day = as_ints(days, 0)[in_log]
    so_far = np.maximum.accumulate(day + group[in_log] * LONG_AGO) - group[in_log] * LONG_AGO
    order = in_log[np.lexsort((np.where(day == 0, so_far, day), group[in_log]))]
    return order[np.cumsum(records) - 1], records


def _station_texts(job: Job, log: Log, value: Floats, region: Ints, repeated: Bools) -> pa.Array:
    """Write joints' stations as the trade does, with the region (R1, R2) where a station is repeated."""
    text = stationing.format_stations(value, station_form(job, log))
    if not repeated.any():
        return text
    number = pc.cast(pa.array(region), pa.string())
    return pc.if_else(pa.array(repeated), pc.binary_join_element_wise(text, number, " R"), text)


def _distinct_names(route: Ints, name: pa.Array, station: pa.Array) -> pa.Array:
    """Tell joints that share a number apart: from the second place on, the station is added to the number."""
    key = route_and_name(route, name)
    first = np.unique(key, return_index=True)[1]
    if len(first) == len(key):
        return name
    again = np.ones(len(key), dtype=np.bool_)
    again[first] = False
    return pc.if_else(pa.array(again), pc.binary_join_element_wise(name, station, " at "), name)


def offset_points(line: Points, offset: Floats) -> tuple[Floats, Floats]:
    """Give the joints' coordinates, offset square to the line (right positive, looking ahead)."""
    right = np.nan_to_num(offset)
    if not right.any():
        return line.easting, line.northing
    return line.easting + right * np.cos(line.azimuth), line.northing - right * np.sin(line.azimuth)
