"""Positions surveyed at the joints themselves: coordinates in the log, points of its layer, or shots that name a joint.

All are brought into the centerline's coordinate system and unit.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints, as_ints, as_mask
from asbuilt.errors import InputFileError, JobFileError
from asbuilt.inputs.coordinate_system import height_factor
from asbuilt.inputs.log import SAME_PLACE, Log
from asbuilt.line import projection

if TYPE_CHECKING:
    from pyproj import CRS

    from asbuilt.job import Job
    from asbuilt.line.routes import Routes

_OFF_THE_LINE_DEG, _AT_THE_LINE_DEG = 0.02, 0.005
"""Degrees so far beside a line are not at it, and so near are: 2 km and 500 m or less."""
_AT_THE_LINE_M = 500.0
_DEGREE_M, _SEEN_M, _ENOUGH = 111_320.0, 0.02, 8
"""A degree of latitude; an error that no verdict shows; coordinates by which their decimals are told."""
_UNIFORM = 0.289
"""Standard error of what was rounded, in parts of what it was rounded to: the square root of 1/12, textbook."""
_NEAR_DEG = 5.0
"""A log of the main lies within so many degrees of its line."""
FEW = 5
"""Joint numbers named in a note."""


class Positions(NamedTuple):
    """Surveyed positions of records, in the centerline's system: shapes (n,)."""

    easting: Floats
    """NaN where the record's joint was not surveyed."""
    northing: Floats
    elevation: Floats
    vertex: Ints
    """Vertex of the centerline that is the joint's own shot; -1 for others."""
    carried: Floats
    """How good the change of datum is by which the coordinates came, at 95 percent, coordinate units; 0 without one."""
    rounded: Floats
    """Standard error that rounding makes in coordinates of the log, or that they show beside shots, coordinate units; 0
    where neither counts."""
    notes: tuple[str, ...] = ()

    @property
    def known(self) -> Bools:
        """True where the joint itself was surveyed."""
        known: Bools = np.isfinite(self.easting)
        return known

    def exchanged(self) -> Positions:
        """Give the positions with easting and northing in each other's place."""
        return self._replace(easting=self.northing, northing=self.easting)

    def without(self, rows: Ints) -> Positions:
        """Leave the positions of some records out."""
        if not len(rows):
            return self
        places = [values.copy() for values in self[:3]]
        for values in places:
            values[rows] = np.nan
        vertex = self.vertex.copy()
        vertex[rows] = -1
        carried = np.where(np.isfinite(places[0]), self.carried, 0.0)
        return self._replace(easting=places[0], northing=places[1], elevation=places[2], vertex=vertex, carried=carried)


def position_tolerance(job: Job) -> float:
    """Give how far surveyed position and station may lie apart, station units."""
    stated = job.records.position_tolerance
    return stated if stated is not None else SAME_PLACE * job.records.laying_length


def surveyed_positions(job: Job, routes: Routes, log: Log, route: Ints, tolerance: float) -> Positions:
    """Find the surveyed position of each record's joint.

    Parameters
    ----------
    job : Job
    routes : Routes
    log : Log
    route : array of int, shape (n,)
        Route of each record; -1 where it is unknown.
    tolerance : float
        How far shots of one joint may lie apart, coordinate units.

    Returns
    -------
    Positions
        Coordinates in the log come before shots that carry the joint's number; zero for both easting and northing
        is a blank (common practice, no source).

    Raises
    ------
    JobFileError
        When the log's coordinate system is unknown, or cannot be carried over to the centerline's.
    """
    usable = (route >= 0) & as_mask(log.broken.is_null())
    easting, northing, elevation, carried, notes = _logged(job, routes, log, usable, tolerance)
    vertex, more = _shots(routes, log, np.where(usable, route, -1), tolerance)
    vertex = np.where(np.isfinite(easting), -1, vertex)
    shot = np.flatnonzero(vertex >= 0)
    if not (len(shot) or np.isfinite(easting).any()):
        nowhere, none = np.broadcast_to(np.nan, len(log)), np.broadcast_to(np.int64(-1), len(log))
        still = np.broadcast_to(0.0, len(log))
        return Positions(nowhere, nowhere, nowhere, none, still, still, (*notes, *more))
    easting, northing, elevation = (np.array(one) for one in (easting, northing, elevation))
    easting[shot], northing[shot] = routes.easting[vertex[shot]], routes.northing[vertex[shot]]
    elevation[shot] = routes.elevation[vertex[shot]]
    rounded = np.where(np.isfinite(easting) & (vertex < 0), coarse(job, routes, log)[0], 0.0)
    return Positions(easting, northing, elevation, vertex, carried, rounded, (*notes, *more))


def _logged(
    job: Job, routes: Routes, log: Log, usable: Bools, tolerance: float
) -> tuple[Floats, Floats, Floats, Floats, list[str]]:
    if job.records.crs is not None:
        _system(job.records.crs)
    if not job.records.use_coordinates or not {"easting", "northing"} & log.fields.keys():
        # One value stands for all records: most logs have no positions.
        nowhere = np.broadcast_to(np.nan, len(log))
        return nowhere, nowhere, nowhere, np.broadcast_to(0.0, len(log)), []
    columns = [log.number(field) for field in ("easting", "northing", "elevation")]
    half = np.flatnonzero(usable & (np.isfinite(columns[0]) ^ np.isfinite(columns[1])))
    blank = ~np.isfinite(columns[0] + columns[1]) | ((columns[0] == 0) & (columns[1] == 0))
    blank |= ~usable
    places = np.stack(columns)
    places[:, blank] = np.nan
    carried = np.zeros(len(log))
    notes: list[str] = []
    if len(half):
        notes.append(
            f"{rows_named(log, half)}: an easting without a northing, or the reverse, which count as not surveyed; "
            "fill in the other"
        )
    start = 0
    for (count, own), said in zip(log.systems, log.place_units, strict=True):
        part, start = slice(start, start + count), start + count
        if blank[part].all():
            continue
        named = own if own is not None else job.records.crs
        source = _system(named) if named is not None else None
        _refuse_other_unit(job, log.file[part.start].as_py(), source if source is not None else routes.crs, said)
        if np.isfinite(places[2, part]).any():
            places[2, part] *= height_factor(job, source, routes.unit)
        if source is not None:
            if source.is_geographic:
                _refuse_other_degrees(log, np.arange(part.start, part.stop), places[:2, part], routes)
                _refuse_minutes(log, np.arange(part.start, part.stop), places[:2, part], source, routes)
            places[:, part], accuracy, told = _carried(
                places[:, part], source, routes, tolerance, job.accept_accuracy_m
            )
            carried[part] = np.where(np.isfinite(places[0, part]), accuracy, 0.0)
            notes += [note for note in told if note not in notes]
    return places[0], places[1], places[2], carried, notes


def written_in(routes: Routes, easting: Floats, northing: Floats) -> str | None:
    """Name the other of feet and metres where coordinates lie at the line only if they are written in it.

    Parameters
    ----------
    routes : Routes
    easting, northing : arrays, shape (n,)
        As they are read, in the unit of the line.
    """
    other, word = ("us-ft", "feet") if routes.unit == "m" else ("m", "metres")
    factor, slack = units.factor(other, routes.unit), _AT_THE_LINE_M * units.factor("m", routes.unit)

    def at_the_line(by: float) -> bool:
        places = ((easting, routes.easting), (northing, routes.northing))
        return all(own.min() - slack < by * float(np.median(one)) < own.max() + slack for one, own in places)

    return word if at_the_line(factor) and not at_the_line(1.0) else None


def _refuse_other_unit(job: Job, file: str, source: CRS, said: str | None) -> None:
    """Refuse coordinates that the log says are in the other of feet and metres than their system is."""
    unit = units.of_crs(source) if source.is_projected else None
    if said is None or unit is None or (said == "m") == (unit == "m"):
        return
    raise JobFileError(
        f"{job.source}: records.crs: {file} says {said} of its coordinates, and {source.name} is in "
        f"{units.WORDS[unit]}; name their system, the same in {said} if it is that, or correct the log"
    )


def rows_named(log: Log, rows: Ints) -> str:
    """Name the first of some rows of the log, and how many more there are."""
    named = ", ".join(f"{log.file[one].as_py()} row {log.row[one]}" for one in rows[:FEW].tolist())
    return f"{named} and {len(rows) - FEW} more" if len(rows) > FEW else named


def _refuse_other_degrees(log: Log, rows: Ints, degrees: Floats, routes: Routes) -> None:
    """Refuse longitudes and latitudes that lie at the line only if exchanged, or with longitudes west below zero."""
    own = routes.crs.geodetic_crs
    if own is None:
        return
    from pyproj import Transformer

    middle = len(routes.easting) // 2
    there = Transformer.from_crs(routes.crs, own, always_xy=True).transform(
        routes.easting[middle], routes.northing[middle]
    )
    east, north = degrees

    def near(longitude: Floats, latitude: Floats) -> Bools:
        close: Bools = np.hypot(longitude - there[0], latitude - there[1]) < _NEAR_DEG
        return close

    known, written = np.isfinite(east + north), near(east, north)
    cases = (
        (near(north, east), "latitude and longitude are exchanged", "exchange the two"),
        (near(-east, north), "longitudes west of Greenwich are written without a minus sign", "write it"),
        (
            near(-north, east),
            "latitude and longitude are exchanged, and longitudes west lack their minus sign",
            "correct both",
        ),
    )
    for lies_there, what, remedy in cases:
        wrong = np.flatnonzero(known & ~written & lies_there)
        if 2 * len(wrong) > known.sum():
            file = log.file[rows[0]].as_py()
            raise JobFileError(f"{file}: records.columns.easting and records.columns.northing: {what}; {remedy}")
        if len(wrong):
            raise InputFileError(f"{rows_named(log, rows[wrong])}: {what}; {remedy}")


def _refuse_minutes(log: Log, rows: Ints, degrees: Floats, source: CRS, routes: Routes) -> None:
    """Refuse degrees that lie at the line only if minutes, or minutes and seconds, stand behind their points."""
    from pyproj import Transformer

    east, north = Transformer.from_crs(routes.crs, source, always_xy=True).transform(routes.easting, routes.northing)
    low, high = (np.array([[end(east)], [end(north)]]) for end in (np.nanmin, np.nanmax))

    def beside(places: Floats) -> Floats:
        off: Floats = np.maximum(np.maximum(low - places, places - high), 0.0).max(axis=0)
        return off

    known, whole, way = np.isfinite(degrees.sum(axis=0)), np.trunc(degrees), np.where(degrees < 0, -1.0, 1.0)
    minutes = np.abs(degrees - whole) * 100.0
    seconds = (minutes - np.floor(minutes + 1e-9)) * 100.0
    as_minutes = beside(whole + way * minutes / 60.0)
    as_seconds = beside(whole + way * (np.floor(minutes + 1e-9) / 60.0 + seconds / 3600.0))
    far = known & (beside(degrees) > _OFF_THE_LINE_DEG)
    wrong = np.flatnonzero(far & (np.minimum(as_minutes, as_seconds) < _AT_THE_LINE_DEG))
    if not len(wrong):
        return
    what = "degrees and minutes are written as if they were a decimal number, as 48.3015 for 48°30.15'"
    if np.median(as_seconds[wrong]) < np.median(as_minutes[wrong]):
        what = "degrees, minutes and seconds are written as if they were a decimal number, as 48.3015 for 48°30'15\""
    where = rows_named(log, rows[wrong])
    if 2 * len(wrong) > known.sum():
        where = f"{log.file[rows[0]].as_py()}: records.columns.easting and records.columns.northing"
    raise InputFileError(f"{where}: {what}; write degrees with decimals")


def coarse(job: Job, routes: Routes, log: Log) -> tuple[Floats, list[str]]:
    """Find coordinates of the log whose decimals are fewer than the error by which they are taken.

    Parameters
    ----------
    job : Job
    routes : Routes
    log : Log

    Returns
    -------
    rounded : array, shape (records,)
        Standard error that rounding makes, coordinate units; 0 where it is less than what is stated.
    notes : list of str
    """
    notes: list[str] = []
    rounded = np.zeros(len(log))
    if not job.records.use_coordinates:
        return rounded, notes
    stated = float(routes.sigma_horizontal.max()) if routes.sigma_horizontal is not None else 0.0
    limit, start = max(stated * units.factor(routes.unit, "m"), _SEEN_M), 0
    easting, northing = log.number("easting"), log.number("northing")
    for count, own in log.systems:
        part, start = slice(start, start + count), start + count
        named = own if own is not None else job.records.crs
        source = _system(named) if named is not None else routes.crs
        both = np.stack([easting[part], northing[part]])
        both = both[:, np.isfinite(both.sum(axis=0)) & (both != 0.0).any(axis=0)]
        if both.shape[1] < _ENOUGH:
            continue
        unit, metres = (
            ("degree", _DEGREE_M) if source.is_geographic else ("unit", source.axis_info[0].unit_conversion_factor)
        )
        places = next((one for one in range(9) if (np.abs(np.round(both, one) - both) < 1e-9).all()), 9)
        step = metres * 10.0**-places
        if step * _UNIFORM <= limit:
            continue
        rounded[part] = step * _UNIFORM * units.factor("m", routes.unit)
        notes.append(
            f"the coordinates of {both.shape[1]} records of the log have no more than {places} decimals of a {unit}, "
            f"{step:.2g} m: joints are placed up to {step / 2.0:.2g} m off each way. Verdicts and accuracies take them "
            f"as no surer than that, a standard error of {step * _UNIFORM:.2g} m: have them with their decimals, or go "
            "by the stations (records.use_coordinates = false)"
        )
    return rounded, notes


def _carried(
    places: Floats, source: CRS, routes: Routes, tolerance: float, accept_m: float | None
) -> tuple[Floats, float, list[str]]:
    """Carry positions from the log's coordinate system to the centerline's, and say how well; their heights stay."""
    step = projection.map_step(source, routes.crs, places[0], places[1], key="records.crs", accept_m=accept_m)
    east, north = step.apply(places[0], places[1])
    lost = int(np.sum(np.isfinite(places[0]) & ~np.isfinite(east)))
    notes = step.told_of(f"the log, from {source.name} to {routes.crs.name}")
    limit, rests_on = tolerance, "joints may lie {0:.2f} m from their stations (records.position_tolerance)"
    if routes.sigma_horizontal is not None:
        limit, rests_on = float(routes.sigma_horizontal.max()), "the survey to {0:.2f} m (centerline.sigma_horizontal)"
    limit *= units.factor(routes.unit, "m")
    if step.accuracy_m > limit:
        notes.append(
            f"the log's coordinates are carried over to {step.accuracy_m:g} m only, and {rests_on.format(limit)}: give "
            "coordinates on the centerline's datum"
        )
    if lost:
        notes.append(f"{lost} positions of the log cannot be carried to {routes.crs.name}; they count as not surveyed")
    return np.stack([east, north, places[2]]), step.accuracy_m * units.factor("m", routes.unit), notes


def _system(named: str) -> CRS:
    from pyproj import CRS
    from pyproj.exceptions import CRSError

    try:
        return CRS.from_user_input(named)
    except CRSError:
        raise JobFileError(
            f"records.crs: {named!r} is not a known coordinate system; write it like EPSG:6418"
        ) from None


def _shots(routes: Routes, log: Log, route: Ints, tolerance: float) -> tuple[Ints, list[str]]:
    """Find the shot that carries each record's joint number on its route."""
    if routes.shot_joint is None or "joint" not in log.fields:
        return np.broadcast_to(np.int64(-1), len(log)), []
    named = np.flatnonzero(as_mask(routes.shot_joint.is_valid()))
    shots = _keys(routes.vertex_route[named], routes.shot_joint.take(pa.array(named)))
    coded = shots.dictionary_encode()
    first = np.unique(coded.indices.to_numpy(), return_index=True)[1]
    wanted = _keys(route, log.fields["joint"])
    at = as_ints(pc.index_in(wanted, value_set=coded.dictionary), -1)
    spread = _spread(routes, named, coded.indices.to_numpy(), first)
    torn = spread > tolerance
    usable = (at >= 0) & (route >= 0) & ~np.append(torn, False)[at]
    vertex = np.where(usable, named[first[np.maximum(at, 0)]] if len(named) else -1, -1)
    notes = []
    if torn.any():
        notes.append(
            f"{_few(routes, routes.shot_joint, named[first[torn]])} shot at several places, up to "
            f"{spread.max():.2f} {units.SYMBOLS[routes.unit]} apart; none of these shots counts"
        )
    again = np.setdiff1d(np.flatnonzero(~torn[coded.indices.to_numpy()]), first)
    if len(again):
        notes.append(
            f"{_few(routes, routes.shot_joint, named[again])} shot more than once; the first shot of each counts"
        )
    strange = np.setdiff1d(np.arange(len(first)), at)
    # A record whose route is misspelt is of no route, and its joint is in the log all the same.
    lost = pc.utf8_upper(log.fields["joint"].filter(pa.array(route < 0)))
    numbers = pc.utf8_upper(routes.shot_joint.take(pa.array(named[first[strange]])))
    astray = as_mask(pc.is_in(numbers, value_set=lost))
    for which, what in (
        (strange[~astray], "not in the log"),
        (strange[astray], "in the log with a route that is none of the job's: correct it there"),
    ):
        if len(which):
            notes.append(f"{_few(routes, routes.shot_joint, named[first[which]])} shot, but {what}")
    return vertex, notes


def _spread(routes: Routes, named: Ints, code: Ints, first: Ints) -> Floats:
    """Give how far shots of one number lie from the first of them, at most: shape (numbers,)."""
    one = named[first][code]
    apart = np.hypot(routes.easting[named] - routes.easting[one], routes.northing[named] - routes.northing[one])
    spread = np.zeros(len(first))
    np.maximum.at(spread, code, apart)
    return spread


def _few(routes: Routes, joint: pa.Array, vertex: Ints) -> str:
    names = joint.take(pa.array(vertex[:FEW])).to_pylist()
    on = [routes.names[route] for route in routes.vertex_route[vertex].tolist()]
    of_one = len(set(on)) == 1
    told = [name if of_one else f"{name} on {route}" for name, route in zip(names, on, strict=False)]
    more = f" and {len(vertex) - FEW} more" if len(vertex) > FEW else ""
    where = f" on {on[0]}" if of_one else ""
    return f"joints {', '.join(told)}{more}{where} are" if len(vertex) > 1 else f"joint {told[0]}{where} is"


def _keys(route: Ints, joint: pa.Array) -> pa.Array:
    return pc.binary_join_element_wise(pc.cast(pa.array(route), pa.string()), pc.utf8_upper(joint), "\t")
