"""What a log as a whole betrays about the job: a start station nobody stated, another unit, a line drawn backwards."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints, as_mask
from asbuilt.errors import JobFileError
from asbuilt.inputs.log import station_form
from asbuilt.line import stationing
from asbuilt.line.stationed import STATION_TOLERANCE_M
from asbuilt.notes import OfRoutes, Said

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.line.stationed import StationedLine

_LENGTHS_M = (2.2, 19.0)
"""Pipe is laid in lengths between these; common practice, no source."""
_UNIT_SLACK = 0.03
_LENGTH_SLACK = 0.04
"""Pipes of one nominal length differ by less; common practice, no source."""
_UNIFORM = 0.289
"""Standard error of what was rounded, in parts of what it was rounded to: the square root of 1/12, textbook."""
_HOT_F, _ICY_F = 110.0, 28.0
"""Gaskets of a whole log are mostly not warmer, nor colder; common practice, no source."""
_MOST = 0.9
"""Part of the pipes by which the others, joints left out or mistyped, are not counted."""
_FEW = 8
_ENOUGH_INCHES, _DIFFERENT = 20, 5
"""Stations, and different hundredths among them, of which none is more than eleven by chance."""
_ENOUGH_STATIONS = 8


def start_notes(job: Job, line: StationedLine, log: Log, route: Ints) -> list[Said]:
    """Notice routes whose start station nobody states, or whose ties make another one."""
    routes = line.routes
    stated = job.centerline.start_station is not None or routes.pieces is not None
    if not stated and routes.calibration is None:
        return [
            "the job states no start station (centerline.start_station): stations count from 0 at the start of "
            f"route {', '.join(routes.names[:_FEW])}{' and of the others' if len(routes.names) > _FEW else ''}"
            f"{_first_logged(job, line, log, route)}"
        ]
    if not stated or routes.calibration is None:
        return []
    start, slack = line.start, STATION_TOLERANCE_M * units.factor("m", job.records.station_unit)
    return [
        OfRoutes.one(
            routes.names[at],
            f"route {routes.names[at]}: by its ties the line begins at station {start[at]:.2f}, not at "
            f"{routes.start_station[at]:.2f} as stated; stations go by the ties",
        )
        for at in np.flatnonzero(np.abs(start - routes.start_station) > slack).tolist()
    ]


def _first_logged(job: Job, line: StationedLine, log: Log, route: Ints) -> str:
    """Say where the log begins on lines that are strung through its joints, whose stations begin where it does."""
    if not job.centerline.from_joints:
        return ""
    slack = STATION_TOLERANCE_M * units.factor("m", job.records.station_unit)
    least = [(float(log.stations.value[rows].min()), number) for number, rows in
             by_route(route, np.isfinite(log.stations.value))]  # fmt: skip
    other = [(value, line.names.names[number]) for value, number in least if abs(value) > slack]
    if not other:
        return ""
    form = station_form(job, log)
    texts = stationing.format_stations(np.array([value for value, _ in other[:_FEW]]), form).to_pylist()
    begins = ", ".join(f"{name} at {text}" for (_, name), text in zip(other, texts, strict=False))
    return (
        f", and the log begins otherwise ({begins}{', and others' if len(other) > _FEW else ''}): the line is strung "
        "through its joints, so say in centerline.start_station where it begins"
    )


def unit_notes(job: Job, line: StationedLine, log: Log, route: Ints) -> list[OfRoutes]:
    """Notice stations that seem to be in another unit: their spacing is wrong by just its factor.

    Where the laying length slipped with them, it is the length that no pipe has.
    """
    own = "m" if job.records.station_unit == "m" else "ft"
    other, factor = ("ft", units.factor("m", "ft")) if own == "m" else ("m", units.factor("ft", "m"))
    length = job.records.laying_length * units.factor(job.records.station_unit, "m")
    notes = []
    for number, rows in by_route(route, np.isfinite(log.stations.value)):
        value, name = np.unique(log.stations.value[rows]), line.names.names[number]
        if len(value) < _ENOUGH_STATIONS:
            continue
        spacing = float(np.median(np.diff(value))) / job.records.laying_length
        slipped = abs(spacing - 1.0) < _UNIT_SLACK and not _LENGTHS_M[0] < length < _LENGTHS_M[1]
        if slipped or abs(spacing / factor - 1.0) < _UNIT_SLACK:
            spread = float(value[-1] - value[0]) * line.scale / float(line.routes.length[number])
            notes.append(
                OfRoutes.one(
                    name,
                    f"route {name}: its stations are {spacing * job.records.laying_length:.2f} {own} apart and run "
                    f"over {100.0 * spread:.0f} % of the line, as if they were written in {other}: see "
                    "records.station_unit and records.laying_length",
                )
            )
    return notes


def refuse_points_for_plus(job: Job, line: StationedLine, log: Log, route: Ints) -> None:
    """Refuse stations of which all have a point where a + belongs: by them all joints lie at the start of the line.

    Their spacing is then a hundredth of the laying length, or a thousandth of stations of 1,000 m.

    Raises
    ------
    JobFileError
    """
    if log.stations.form != "decimal":
        return
    tail = 1000.0 if job.records.station_unit == "m" else 100.0
    for number, rows in by_route(route, np.isfinite(log.stations.value)):
        value = np.unique(log.stations.value[rows])
        if len(value) < _ENOUGH_STATIONS:
            continue
        spacing = float(np.median(np.diff(value))) / job.records.laying_length * tail
        spread = float(value[-1] - value[0]) * line.scale / float(line.routes.length[number]) * tail
        if abs(spacing - 1.0) < _UNIT_SLACK and spread < 1.0 + _UNIT_SLACK:
            form: stationing.Form = "thousands" if tail > 100.0 else "hundreds"
            meant = stationing.format_stations(value[-1:] * tail, form)[0].as_py()
            raise JobFileError(
                f"{log.file[int(rows[0])].as_py()}: the stations of route {line.names.names[number]} are "
                f"{spacing * job.records.laying_length / tail:g} {line.symbol} apart, a part in {tail:g} of a laying "
                f"length, as if a point stood for the + ({value[-1]:g} for {meant}): have them written with their +"
            )


def rounded_notes(job: Job, line: StationedLine, log: Log, route: Ints) -> list[OfRoutes]:
    """Notice stations that were written down to 5 or 10 feet, or to whole metres, and pipes that are not so long."""
    least = 1.0 if job.records.station_unit == "m" else 5.0
    notes = []
    for number, rows in by_route(route, np.isfinite(log.stations.value)):
        value, name = np.unique(log.stations.value[rows]), line.names.names[number]
        behind = np.round(value % 1.0 * 100.0) % 100.0
        if least > 1.0 and len(value) >= _ENOUGH_INCHES and behind.max() < 12.0 and _as_inches(job, value, behind):
            notes.append(
                OfRoutes.one(
                    name,
                    f"route {name}: of {len(value)} stations none has more than {behind.max():.0f} hundredths of a "
                    "foot, as if inches were written behind the point (6 in is 0.50 ft, not 0.06): have them written "
                    "in decimals of a foot, or joints are placed up to 0.8 ft off",
                )
            )
        to = next((one for one in (2.0 * least, least) if not (value % one).any()), None)
        if to is None or len(value) < _ENOUGH_STATIONS or job.records.laying_length % to == 0.0:
            continue
        unit = "m" if least == 1.0 else "ft"
        notes.append(
            OfRoutes.one(
                name,
                f"route {name}: all stations are multiples of {to:g} {unit}, and pipes of "
                f"{job.records.laying_length:g} {unit} are not: written down to the nearest {to:g} {unit}, so that "
                f"joints are placed up to {to / 2.0:g} {unit} off, and lengths between them are {to:g} {unit} off: say "
                f"records.sigma_station = {to * _UNIFORM:.2g}, or count them from the laid lengths",
            )
        )
    return notes


def _as_inches(job: Job, value: Floats, behind: Floats) -> bool:
    """Say whether what is behind the points differs, and as inches agrees better with the laying length."""
    inches = np.floor(value) + value % 1.0 * 100.0 / 12.0
    miss, as_inches = (np.mean(np.abs(np.diff(one) - job.records.laying_length)) for one in (value, inches))
    # Lengths that differ a little from pipe to pipe leave few hundredths, too, and are none the better for inches.
    return bool(len(np.unique(behind)) >= _DIFFERENT and as_inches < miss)


def length_notes(job: Job, log: Log, route: Ints) -> list[str]:
    """Notice pipes that are mostly longer than the laying length that the job states, all shorter, or in another unit.

    Where the log has no laid lengths the stations stand for them.
    """
    stated, laid = job.records.laying_length, log.number("laid_length")
    laid = laid[laid > 0]
    unit, other, word = ("m", "us-ft", "feet") if job.records.station_unit == "m" else ("ft", "m", "metres")
    if len(laid) < _ENOUGH_STATIONS:
        apart = [
            np.diff(np.unique(log.stations.value[rows])) for _, rows in by_route(route, np.isfinite(log.stations.value))
        ]
        gaps = np.concatenate([*apart, []])
        return _none_so_long(gaps, stated, unit, "stations are") if len(gaps) >= _ENOUGH_STATIONS else []
    as_other = float(np.median(laid)) * units.factor(other, job.records.station_unit)
    if job.records.station_from == "log" and abs(as_other / stated - 1.0) < _LENGTH_SLACK:
        return [
            f"the laid lengths of the log are mostly {np.median(laid):g} {unit} as they are read, {as_other:.2f} "
            f"{unit} if they were written in {word}, and records.laying_length is {stated:g}: have them written in "
            f"{unit}; as they stand, joints are told as missing that are not"
        ]
    if not np.median(laid) > stated * (1.0 + _LENGTH_SLACK):
        return _none_so_long(laid, stated, unit, "laid lengths are")
    return [
        f"the laid lengths of the log are mostly {np.median(laid):g} {unit}, but records.laying_length is {stated:g}: "
        "correct one of them; by it missing joints and tolerances are reckoned"
    ]


def _none_so_long(lengths: Floats, stated: float, unit: str, what: str) -> list[str]:
    """Notice a laying length that hardly a pipe has: by it a joint that is missing is none."""
    longest = float(np.quantile(lengths, _MOST))
    if not longest < stated * (1.0 - _LENGTH_SLACK):
        return []
    apart = " apart" if what.startswith("stations") else ""
    many = int(np.count_nonzero(lengths <= longest))
    return [
        f"{many:,} of {len(lengths):,} {what} at most {longest:.4g} {unit}{apart}, but records.laying_length is "
        f"{stated:g}: correct it, or its unit; by so long a pipe no joint is told as missing"
    ]


def temperature_notes(job: Job, log: Log) -> list[str]:
    """Notice gasket temperatures that are mostly as if written in the other of Fahrenheit and Celsius.

    Of what was read as Celsius, a winter's Fahrenheit and a summer's Celsius look alike. The least temperature of the
    job is asked about too where it is as if written in Celsius.
    """
    warm = log.number("gasket_temperature")
    warm = warm[np.isfinite(warm)]
    least = job.inspection.min_gasket_temperature_f
    if len(warm) and least < _ICY_F:
        return [
            f"inspection.min_gasket_temperature_f = {least:g} is in Fahrenheit, {(least - 32.0) / 1.8:.3g} C: if "
            f"{least:g} C is meant, say {least * 1.8 + 32.0:.3g}; as it stands, no gasket above it is told as cold"
        ]
    if len(warm) < _ENOUGH_STATIONS:
        return []
    unit, middle = job.records.temperatures_in, float(np.median(warm))
    read, other = (middle, "C") if unit == "F" else ((middle - 32.0) / 1.8, "F")
    as_other = middle * 1.8 + 32.0 if unit == "F" else read
    if not (middle < _ICY_F if unit == "F" else middle > _HOT_F) or not _ICY_F < as_other < _HOT_F:
        return []
    return [
        f"the gasket temperatures of the log are mostly {read:.3g} {unit} as they are read, as if they were written in "
        f"{other}: say records.temperature_unit, or correct the column's name; by them gaskets are cold, or are not"
    ]


def digitising_notes(line: StationedLine, log: Log, route: Ints, reason: pa.Array) -> list[OfRoutes]:
    """Notice routes whose line runs against the stations: most stations run off it, on the other side."""
    off, found = as_mask(pc.equal(reason, "station-off-route")), line.regions
    notes = []
    for number, rows in by_route(route, np.isfinite(log.stations.value) & np.isin(route, route[off])):
        value = log.stations.value[rows]
        at = found.first[number]
        start = found.station_from[at]
        length = found.station_to[found.first[number + 1] - 1] - found.station_from[at]
        mirrored = np.mean((value <= start) & (value >= start - length))
        if off[rows].mean() > 0.5 and mirrored > 0.5:
            name = line.names.names[number]
            notes.append(
                OfRoutes.one(
                    name,
                    f"route {name}: most stations lie below its start station {start:.2f}; its line seems to run "
                    "against the stations: name it in centerline.reversed and give its start station as "
                    f"{start - length:.2f}",
                )
            )
    return notes


def by_route(route: Ints, wanted: Bools) -> Iterator[tuple[int, Ints]]:
    """Give the wanted records of each known route that has some."""
    rows = np.flatnonzero(wanted & (route >= 0))
    of = route[rows]
    if (of[1:] < of[:-1]).any():
        order = np.argsort(of, kind="stable")
        rows, of = rows[order], of[order]
    starts = np.flatnonzero(of[1:] != of[:-1]) + 1
    del of
    for part in np.split(rows, starts) if len(rows) else []:
        yield int(route[part[0]]), part
