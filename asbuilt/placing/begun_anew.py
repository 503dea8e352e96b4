"""Stations that begin anew within a log: another length of pipe, or the same joints looked at again.

A second inspection of the same joints is ordinary, and repeats their numbers and stations. A crew whose sheets begin
at 0+00 each day repeats them too. What tells them apart are the pipes themselves (laid lengths, sizes, bends, uneven
spacings), and a line that is left without joints for just as long as the repeated length is.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints, as_mask, codes, together
from asbuilt.errors import LogRefusedError
from asbuilt.inputs.log import SAME_PLACE, Log
from asbuilt.notes import OfRoutes

if TYPE_CHECKING:
    from asbuilt.job import Job
    from asbuilt.line.stationed import StationedLine

FEW_RECORDS = 8
"""A part of so many records is a length of its own by what it holds alone."""
_LEAST_RECORDS = 3
"""A part of so many is one if the log leaves just so much of the line without joints as it repeats."""
_MANY = 200
"""Breaks in the order of a route's records from which on it has none, and small parts tell nothing."""
_JUMP = 1.5
"""Laying lengths between two records one below the other: no step from a joint to the next."""
_LEAST_OVERLAP = 6.0
"""Laying lengths that both parts must have in common."""
_FILLED = 0.6
"""A part with so many joints a laying length is complete by itself."""
_ONE_WAY = 0.8
"""A part that so often goes on with its stations is in their order."""
_OTHER_PIPES = 0.04
"""Of the numbers that two parts share: where more differ in what was laid, it is no slip of the pen."""
_MOST = 0.5
"""The same where the parts share a few numbers only."""
_UNEVEN = 3
"""So many uneven lengths, or fittings, that are the same in both parts: nobody lays that twice."""
_LENGTH_M, _SAME_M = 0.15, 0.03
"""Lengths that differ by more are other pipes; and by less, the same one."""
_FITS = (0.8, 1.25)
"""The repeated length in parts of what the log leaves of the line, where it may lie there."""
_FITS_CLOSELY = (-0.5, 1.0)
"""Laying lengths by which the log leaves more of the line than a few records repeat, where these lie there."""


class _Again(NamedTuple):
    """A part of a route's records whose stations begin anew on a length that has joints already."""

    before: int
    """Last record of the part before it."""
    at: int
    """First record of this part."""
    joints: int
    """Joints of both on the length that both have."""
    room: float
    """Laying lengths that fit there."""
    distinct: bool
    """True where the joints of both are told apart by their numbers, or without numbers by their stations."""
    others: list[str]
    """Joints of one number that are not the same pipe, in words."""
    same: bool
    """True where both have the same uneven lengths or fittings."""
    few: bool
    """True for a part too small to be told by what it holds."""


def begun_anew(
    job: Job, line: StationedLine, log: Log, route: Ints, along: Floats, by_station: Bools
) -> list[OfRoutes]:
    """Refuse a log whose stations begin anew for another length of pipe; say so where the data leave it open.

    Parameters
    ----------
    job : Job
    line : StationedLine
    log : Log
    route : array of int, shape (n,)
    along : array, shape (n,)
        Station units from the start of the route; NaN where the station has no place.
    by_station : array of bool, shape (n,)
        True where nothing but the station places the record.

    Returns
    -------
    list of OfRoutes

    Raises
    ------
    LogRefusedError
        When far more joints would stand on a length than lengths of pipe fit there, when joints of one number are not
        the same pipe, or when the log leaves just so much of the line without joints as it repeats.
    """
    told: list[OfRoutes] = []
    rows = np.flatnonzero(by_station & (route >= 0) & np.isfinite(along))
    rows = rows[np.argsort(route[rows], kind="stable")]
    for part in together(rows, route):
        again = _in_route(job, log, part, along[part])
        for one in again:
            _refuse_other_pipes(line, log, int(route[part[0]]), one)
        again = [one for one in again if not one.same]
        if again:
            logged = along[(route == route[part[0]]) & np.isfinite(along)]
            told += _second_inspection(job, line, log, int(route[part[0]]), again, float(np.ptp(logged)))
    return told


def _refuse_other_pipes(line: StationedLine, log: Log, route: int, again: _Again) -> None:
    said = _said(line, log, route, again)
    if again.distinct:
        raise LogRefusedError(
            f"{said}: {again.joints} joints would stand where {again.room:.0f} lengths of pipe fit; let the "
            "stations run on, name the route of each part in a column of its own, or give "
            "joints that were looked at twice the same number",
            again.at,
        )
    if again.others:
        more = f", and {len(again.others) - 1} more" if len(again.others) > 1 else ""
        raise LogRefusedError(
            f"{said}, and these are not the same joints, though their {_named(log)} are: {again.others[0]}{more}; let "
            f"{_running(log)} run on, or name the route of each part in a column of its own; where the "
            "later rows correct the earlier ones, leave those out (records.rows)",
            again.at,
        )


def _second_inspection(
    job: Job, line: StationedLine, log: Log, route: int, again: list[_Again], logged: float
) -> list[OfRoutes]:
    """Say what is taken as a second inspection, though it may be more of the line; nothing where it cannot be."""
    laying = job.records.laying_length
    repeated = laying * sum(one.room + 1.0 for one in again)
    left = float(line.routes.length[route]) / line.scale - logged
    fits = _FITS[0] * repeated <= left <= _FITS[1] * repeated
    if all(one.few for one in again):
        fits &= _FITS_CLOSELY[0] * laying <= left - repeated <= _FITS_CLOSELY[1] * laying
        if not fits or job.records.covers != "whole":
            return []
    if left < _FITS[0] * repeated:
        return []
    said, symbol = _said(line, log, route, again[0]), "m" if job.records.station_unit == "m" else "ft"
    if fits and job.records.covers == "whole":
        raise LogRefusedError(
            f"{said}, with the same {_named(log)}, and the log leaves {left:.0f} {symbol} of the line without a joint, "
            f"about as much as it repeats ({repeated:.0f} {symbol}): let {_running(log)} run on; or, where "
            "these are the same joints looked at again and the rest of the line has no log yet, say "
            'records.covers = "part"',
            again[0].at,
        )
    text = (
        f"{said}, with the same {_named(log)}: taken as the same joints looked at again; if they are the joints that "
        f"follow, let {_running(log)} run on, or one length of pipe is placed into another"
    )
    return [OfRoutes.one(line.names.names[route], text)]


def _said(line: StationedLine, log: Log, route: int, again: _Again) -> str:
    stations, file = log.fields["station"], log.file[again.at].as_py()
    other = log.file[again.before].as_py()
    return (
        f"{file} row {log.row[again.at]}: the stations of route {line.names.names[route]} begin anew at "
        f"{stations[again.at].as_py()}, after {stations[again.before].as_py()} in "
        f"{'' if other == file else f'{other} '}row {log.row[again.before]}"
    )


def _named(log: Log) -> str:
    return "joint numbers" if _numbered(log) else "stations"


def _running(log: Log) -> str:
    return "the stations and the joint numbers" if _numbered(log) else "the stations"


def _numbered(log: Log) -> bool:
    return bool(log.text("joint").null_count < len(log))


def _in_route(job: Job, log: Log, rows: Ints, along: Floats) -> list[_Again]:
    """Find where the stations of one route's records begin anew, as the log has them one below the other."""
    laying = job.records.laying_length
    breaks = _breaks(along, laying)
    least = _LEAST_RECORDS if len(breaks) <= _MANY else FEW_RECORDS
    ends = [0]
    for at in breaks:
        if at - ends[-1] >= least and len(rows) - at >= least:
            ends.append(at)
    again = []
    for start, at, end in zip(ends, ends[1:], [*ends[2:], len(rows)], strict=False):
        if min(_one_way(along[start:at]), _one_way(along[at:end])) >= _ONE_WAY:
            few = min(at - start, end - at) < FEW_RECORDS
            found = _compared(job, log, (rows[:at], rows[at:end]), (along[:at], along[at:end]), few=few)
            again += [found] if found else []
    return again


def _breaks(along: Floats, laying: float) -> list[int]:
    """Give the records before which stations turn back: by one long step, or from one direction into the other."""
    step = np.diff(along)
    way = np.sign(np.where(np.abs(step) < SAME_PLACE * laying, 0.0, step))
    moving = np.flatnonzero(way)
    # A step that leads nowhere goes the way of the step before it.
    last = np.searchsorted(moving, np.arange(len(step)), side="right") - 1
    way = np.where(last >= 0, way[moving[np.maximum(last, 0)]] if len(moving) else 0.0, 0.0)
    turns = np.flatnonzero(np.diff(way) != 0) + 1
    breaks = []
    for at, end in zip(turns.tolist(), [*turns[1:].tolist(), len(step)], strict=False):
        long, before = abs(step[at]) >= _JUMP * laying, abs(step[at - 1])
        if long or end - at > 1:
            # What a long step leads to, or one to the same joint, and what follows it the other way, are one part.
            apart = before >= _JUMP * laying or before < SAME_PLACE * laying
            breaks.append(at if apart and not long else at + 1)
    return sorted(set(breaks))


def _one_way(along: Floats) -> float:
    """Give the part of the steps that go one way, whichever it is."""
    step = np.diff(along)
    return float(max(np.mean(step >= 0), np.mean(step <= 0)))


def _compared(job: Job, log: Log, rows: tuple[Ints, Ints], along: tuple[Floats, Floats], *, few: bool) -> _Again | None:
    """Compare a part with all records before it; nothing where they do not both fill a length."""
    low, high = max(one.min() for one in along), min(one.max() for one in along)
    room = (high - low) / job.records.laying_length
    key = _keys(log, np.concatenate(rows), np.concatenate(along))
    keys = (key[: len(rows[0])], key[len(rows[0]) :])
    names = [np.unique(one[(one >= 0) & (at >= low) & (at <= high)]) for one, at in zip(keys, along, strict=True)]
    few |= room < _LEAST_OVERLAP
    if room < (_JUMP if few else _LEAST_OVERLAP) or min(map(len, names)) < _FILLED * room:
        return None
    joints, both = len(np.union1d(*names)), sum(map(len, names))
    # Where a number stands in both parts, the last record of the first part is held against the second's.
    place = np.full(int(key.max()) + 1, -1, dtype=np.int64)
    place[keys[0][keys[0] >= 0]] = np.flatnonzero(keys[0] >= 0)
    second = np.flatnonzero(keys[1] >= 0)
    second = second[place[keys[1][second]] >= 0]
    first = place[keys[1][second]]
    if few and (len(second) < len(rows[1]) or 2 * np.count_nonzero(log.failed[rows[0][first]]) > len(first)):
        # Joints added, or those that had failed, looked at again.
        return None
    others, same = _pipes(job, log, (rows[0][first], rows[1][second]), (along[0][first], along[1][second]), few=few)
    distinct = not few and joints >= 2 * _FILLED * room and joints >= 0.9 * both
    return _Again(int(rows[0][-1]), int(rows[1][0]), joints, room, distinct, others, same, few)


def _keys(log: Log, rows: Ints, along: Floats) -> Ints:
    """Number joints by their numbers; where the log has none, by their stations. -1 where a record has no number."""
    if not _numbered(log):
        return np.unique(np.round(along, 2), return_inverse=True)[1].astype(np.int64)
    return codes(pc.utf8_upper(log.fields["joint"].take(pa.array(rows))))


def _pipes(
    job: Job, log: Log, rows: tuple[Ints, Ints], along: tuple[Floats, Floats], *, few: bool
) -> tuple[list[str], bool]:
    """Hold records of one number against each other: which are other pipes, and whether odd pipes are the same."""
    metre = units.factor("m", job.records.station_unit)
    length, same = _LENGTH_M * metre, _SAME_M * metre
    apart = np.abs(along[1] - along[0]) > SAME_PLACE * job.records.laying_length
    differ: dict[str, Bools] = {"station": apart}
    laid = [log.number("laid_length")[part] for part in rows]
    differ["laid_length"] = np.abs(laid[1] - laid[0]) > length
    for field in ("size", "kind", "bend_angle"):
        one, other = (log.text(field).take(pa.array(part)) for part in rows)
        differ[field] = as_mask(pc.not_equal(one, other))
    other_pipe = np.logical_or.reduce(list(differ.values()))
    spacing = [np.diff(part, append=np.nan) for part in along]
    odd = _uneven(laid, length, same) | _uneven(spacing, length, same)
    kinds = [log.text("kind").take(pa.array(part)) for part in rows]
    odd |= as_mask(pc.and_(pc.not_equal(kinds[0], "pipe"), pc.equal(*kinds)))
    if np.count_nonzero(other_pipe) < max(2.0, (_MOST if few else _OTHER_PIPES) * len(other_pipe)):
        return [], int(np.count_nonzero(odd & ~other_pipe)) >= _UNEVEN
    return [_differing(log, rows, differ, at) for at in np.flatnonzero(other_pipe).tolist()], False


def _uneven(lengths: list[Floats], uneven: float, same: float) -> Bools:
    """Mark lengths that are none of the usual ones, and the same in both parts."""
    if not np.isfinite(lengths[0]).any():
        return np.zeros(len(lengths[0]), dtype=np.bool_)
    usual = float(np.nanmedian(lengths[0]))
    return (np.abs(lengths[0] - usual) > uneven) & (np.abs(lengths[1] - lengths[0]) <= same)


def _differing(log: Log, rows: tuple[Ints, Ints], differ: dict[str, Bools], at: int) -> str:
    """Say of one joint in what its two records differ."""
    field = next(name for name in ("laid_length", "size", "kind", "bend_angle", "station") if differ[name][at])
    named, both = field.replace("_", " "), [(log.fields[field][part[at]].as_py(), log.row[part[at]]) for part in rows]
    name = log.text("joint")[rows[1][at]].as_py() or log.text("station")[rows[1][at]].as_py()
    return f"joint {name} has {named} {both[0][0]} in row {both[0][1]} and {both[1][0]} in row {both[1][1]}"
