"""Stations of a log that has none: its laid lengths, counted up from the start of each route."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt import units
from asbuilt.arrays import as_ints, as_mask, together
from asbuilt.errors import InputFileError
from asbuilt.inputs.log import Log, station_form
from asbuilt.line import stationing
from asbuilt.notes import Note, OfRoutes, noted
from asbuilt.placing.place import record_routes
from asbuilt.placing.sequence import in_order, joint_numbers

if TYPE_CHECKING:
    from asbuilt.arrays import Bools, Floats, Ints
    from asbuilt.job import Job
    from asbuilt.line.stationed import StationedLine

_FEW = 5
"""Rows named in a message."""
_MOST = 0.5
"""Where more lengths than this part are longer than the nominal one, none of them is named."""
_NUMBERED, _SLIPS = 0.9, 0.05
"""Part of the rows that must be numbered for their numbers to be their order, and that may be out of it by a slip."""
_SLACK_M = 0.15
"""A length that differs from the nominal one by no more is a whole pipe; common practice, no source."""


def with_laid_stations(job: Job, line: StationedLine, log: Log) -> tuple[Log, list[Note]]:
    """Give the records of a log without stations those that its laid lengths add up to, in the order of the log.

    Parameters
    ----------
    job : Job
        With `records.station_from = "laid_length"`; else the log is given back as it is.
    line : StationedLine
    log : Log

    Returns
    -------
    log : Log
    notes : list of Note
        For each route what the lengths add up to, and what is left of the line's length: the closure.

    Raises
    ------
    InputFileError
        When the log has stations, a length is missing, or a joint stands twice: all stations ahead would be wrong.
    """
    if job.records.station_from == "log":
        return log, []
    route = record_routes(log, line)
    counts = (route >= 0) & as_mask(log.broken.is_null())
    length = log.number("laid_length")
    _refuse_stations(log)
    rows = np.flatnonzero(counts)
    order = rows[np.argsort(route[rows], kind="stable")]
    if job.records.pipe == "ahead":
        # No station is counted from the pipe ahead of a route's last joint.
        last = order[np.append(np.diff(route[order]) != 0, True)] if len(order) else order
        length = length.copy()
        length[last] = np.nan_to_num(length[last])
    _refuse_missing(log, counts & ~np.isfinite(length))
    _refuse_repeated(log, route, counts)
    along = np.full(len(log), np.nan)
    along[order] = _counted_up(route[order], length[order], back=job.records.pipe == "back")
    value, region = stationing.station_at(line.regions, np.maximum(route, 0), np.where(counts, along, 0.0))
    value, region = np.where(counts, value, np.nan), np.where(counts, region, 0)
    stations = stationing.Stations(value, np.zeros(len(log), dtype=np.int64), region, log.stations.form)
    text = stationing.format_stations(value, station_form(job, log))
    notes = _closures(job, line, log, route, rows, length)
    notes += noted("stations-doubtful", _out_of_order(line, log, route, order))
    return replace(log, fields=log.fields | {"station": text}, stations=stations), notes


def _out_of_order(line: StationedLine, log: Log, route: Ints, order: Ints) -> list[OfRoutes]:
    """Say of which routes the rows, in whose order stations are counted, do not go by their joint numbers or days."""
    told = []
    dates = log.fields.get("inspected_on")
    for rows in together(order, route):
        numbers = joint_numbers(log.text("joint").take(pa.array(rows)))
        count = np.where(numbers.series == np.bincount(numbers.series + 1).argmax() - 1, numbers.number, np.nan)
        rising = np.count_nonzero(np.diff(count) > 0) >= np.count_nonzero(np.diff(count) < 0)
        back, what = _turned(count if rising else -count), "joint numbers"
        if np.count_nonzero(np.isfinite(count)) < _NUMBERED * len(rows):
            day = as_ints(pc.cast(dates, pa.int32()), -1)[rows] if dates is not None else np.full(len(rows), -1)
            back, what = _turned(np.where(day >= 0, day, np.nan)), "dates"
        if back is None:
            continue
        before, at = rows[back - 1], rows[back]
        field = log.text("joint") if what == "joint numbers" else pc.cast(log.fields["inspected_on"], pa.string())
        name = line.routes.names[route[rows[0]]]
        text = (
            f"{_place(log, at)}: the stations of route {name} are counted in the order of "
            f"the log, and its {what} do not run with it: {field[int(at)].as_py()} comes behind "
            f"{field[int(before)].as_py()} of {_place(log, before)}. If rows, sheets or files stand in another order "
            "than the joints lie in, every joint is placed wrongly: bring them into that order (records.path, "
            "records.sheet)"
        )
        told.append(OfRoutes.one(name, text))
    return told


def _turned(count: Floats) -> int | None:
    """Give the first row at which a rising order breaks, where so many rows break it that it is no slip."""
    known = np.flatnonzero(np.isfinite(count))
    if len(known) < 2 * _FEW or np.count_nonzero(~in_order(count[known])) <= max(_FEW - 2, _SLIPS * len(known)):
        return None
    return int(known[int(np.flatnonzero(np.diff(count[known]) < 0)[0]) + 1])


def _counted_up(route: Ints, length: Floats, *, back: bool) -> Floats:
    """Count lengths up along each route, its records one behind the other; a pipe that lies back ends at its joint."""
    ends = np.cumsum(length)
    first = np.concatenate([[True], route[1:] != route[:-1]]) if len(route) else np.zeros(0, dtype=bool)
    before = (ends - length)[first][np.cumsum(first) - 1]
    along: Floats = ends - before if back else ends - length - before
    return along


def _closures(job: Job, line: StationedLine, log: Log, route: Ints, rows: Ints, length: Floats) -> list[Note]:
    last = line.regions.first[1:] - 1
    found = line.regions
    whole = found.distance_from[last] + found.station_to[last] - found.station_from[last]
    rows = rows[np.argsort(route[rows], kind="stable")]
    notes = []
    for own in together(rows, route):
        at = int(route[own[0]])
        laid, along = float(length[own].sum()), float(whole[at])
        left = along - laid
        doubted = _doubted(job, line, log, own, length, left)
        count = np.count_nonzero(length[own])
        told = (
            f"route {line.routes.names[at]}: stations are counted from its {count:,} laid lengths, the first joint "
            f"at the line's start; they add up to {laid:,.2f} {line.symbol}, and the line is {along:,.2f} "
            f"{line.symbol} long: closure {left:+,.2f} {line.symbol}, {left / along * 1e6:+,.0f} ppm"
            f"{_by_slope(line, at, laid, left)}{doubted}"
        )
        code = "lengths-differ" if doubted or abs(left) > line.tolerance else "log-read"
        notes += noted(code, [OfRoutes.one(line.routes.names[at], told)])
    return notes


def _by_slope(line: StationedLine, route: int, laid: float, left: float) -> str:
    """Say that lengths close along the slope, where they do not on the level; else nothing."""
    routes = line.routes
    slope = float(routes.slope_distance[routes.first[route + 1] - 1]) / line.scale
    if line.slope or routes.calibration is not None or not abs(slope - laid) < abs(left) / 4 > line.tolerance / 4:
        return ""
    return (
        f"; along its slope the line is {slope:,.2f} {line.symbol} long: if lengths were taken along the pipe, say "
        'records.stationing = "slope"'
    )


def _doubted(job: Job, line: StationedLine, log: Log, rows: Ints, length: Floats, left: float) -> str:
    """Name the rows of a route whose lengths are longer than a pipe, or may be behind its closure; else nothing."""
    nominal, unit = job.records.laying_length, job.records.station_unit
    slack = job.records.spacing_tolerance
    slack = _SLACK_M * units.factor("m", unit) if slack is None else slack
    found = length[rows]
    odd = (found > 0) & (np.abs(found - nominal) > slack)
    long = odd & (found > nominal)
    if np.mean(long) > _MOST:
        # The laying length is then another one, which a note of its own says.
        long[:] = False
    # A crew measures in feet or in metres, and one length may be written in the other.
    other, word = (units.factor("us-ft", unit), "feet") if unit == "m" else (units.factor("m", unit), "metres")
    swapped = odd & (np.abs(found * other - nominal) <= slack)
    # What is left for the others, once the pipes that are too long are taken as whole ones.
    rest = np.where(long, left, left + (found - nominal)[long].sum())
    swapped &= np.abs(rest - found * (other - 1.0)) < np.abs(rest) - slack
    closes = odd & (np.abs(rest) > line.tolerance) & (np.abs(rest - (nominal - found)) <= line.tolerance)
    named = []
    for at in np.flatnonzero(long | swapped | closes).tolist():
        why = [f"longer than a pipe of {nominal:g} {line.symbol}"] if long[at] else []
        why += [f"{found[at] * other:.2f} {line.symbol} if it was written in {word}"] if swapped[at] else []
        why += [f"with {nominal:g} {line.symbol} in its place, closure is within the tolerance"] if closes[at] else []
        named.append(f"{_place(log, rows[at])}, {found[at]:.2f} {line.symbol} ({'; '.join(why)})")
    if not named:
        return ""
    more = f", and {len(named) - _FEW:,} more" if len(named) > _FEW else ""
    return (
        f"; look at {', '.join(named[:_FEW])}{more}: joints ahead of a wrong length are all placed wrongly by as "
        "much; the length of a cut pipe or of a fitting may be right as it is"
    )


def _refuse_stations(log: Log) -> None:
    given = np.flatnonzero(as_mask(log.fields["station"].is_valid()))
    if len(given):
        raise InputFileError(
            f"{_place(log, given[0])}: the log has stations, and records.station_from says that they are counted from "
            "the laid lengths; leave that key out, or say in records.columns.station which column has none"
        )


def _refuse_missing(log: Log, missing: Bools) -> None:
    rows = np.flatnonzero(missing)
    if len(rows) and "laid_length" not in log.fields:
        raise InputFileError(
            f"{log.file[0].as_py()}: no column is known as the laid length, from which every station is counted; say "
            "which it is in records.columns.laid_length"
        )
    if len(rows):
        more = f" (and {len(rows) - 1:,} more: rows {_rows(log, rows[1:])})" if len(rows) > 1 else ""
        raise InputFileError(
            f"{_place(log, rows[0])}{more}: no laid length that can be read, and every station ahead is counted from "
            "it; fill it in, also for fittings"
        )


def _refuse_repeated(log: Log, route: Ints, counts: Bools) -> None:
    joint = log.text("joint")
    rows = np.flatnonzero(counts & as_mask(joint.is_valid()))
    keys = pc.binary_join_element_wise(
        pc.cast(pa.array(route[rows]), pa.string()), pc.utf8_upper(joint.take(pa.array(rows))), "\t"
    )
    first = np.unique(pc.dictionary_encode(keys).indices.to_numpy(), return_index=True)[1]
    again = rows[np.setdiff1d(np.arange(len(rows)), first)]
    if len(again):
        raise InputFileError(
            f"{_place(log, again[0])}: joint {joint[int(again[0])].as_py()} stands a second time, and its length would "
            f"be counted twice ({len(again):,} such rows: {_rows(log, again)}); leave one of them out"
        )


def _place(log: Log, record: int) -> str:
    return f"{log.file[int(record)].as_py()}: row {log.row[record]}"


def _rows(log: Log, records: Ints) -> str:
    named = ", ".join(str(log.row[one]) for one in records[:_FEW])
    return named + (", ..." if len(records) > _FEW else "")
