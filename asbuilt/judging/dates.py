"""Dates of a log held against those of the rows above and below them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Bools, Ints, as_ints, as_mask, codes, together
from asbuilt.held import held
from asbuilt.placing.sequence import in_order

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log

ENOUGH = 8
"""Records that must have a date, for their order to be known."""
_IN_TURN = 0.7
"""A log of which so much is in the order of its dates was kept day by day."""
_MANY_OUT, _ALL_IN_TURN = 0.85, 0.95
"""One of which no more is in turn, and so much once month and day are exchanged in some days, was written in two
orders."""
_DAYS_AMID = 2
"""So many days of a log must lie, with month and day exchanged, between others that are as written; common practice, no
source."""
_USUAL, _FEW, _FAR = 3, 3, 1000
"""Records that must be of the usual time; so few may be a year off by a slip; days farther off than a job is laid."""
_WEEK = 7
"""Days between the rows around those of another year, at most."""
_YEAR, _WEEKS, _WINDOW = 300, 20, 31
"""Days by which a wrong year, or month and day exchanged, at least put a date off; and that an open end reaches."""


def dates_out_of_turn(log: Log) -> tuple[Ints, list[str]]:
    """Find dates out of turn among records kept day by day that another year, or month for day, puts right.

    Parameters
    ----------
    log : Log

    Returns
    -------
    records : array of int
    why : list of str
    """
    days = held(as_ints(pc.cast(log.fields["inspected_on"], pa.int32()), 0), len(log))
    records: list[int] = []
    why: list[str] = []
    for rows, kept, of_route in _day_by_day(log, days):
        day = days[rows]
        exchanged = [] if kept is not None and kept.mean() > _MANY_OUT else list(_by_two_orders(day))
        for at, other, before, behind in exchanged:
            records.append(int(rows[at]))
            why.append(
                f"dated {_date(int(day[at]))}, while the rows{of_route} before and behind it are of {before} and "
                f"{behind}, as if month and day were exchanged: by {other} it is in turn, and so is the log"
            )
        if exchanged or kept is None:
            continue
        for at in np.flatnonzero(~kept).tolist():
            told = _put_right(int(day[at]), *_around(kept, day, at), of_route)
            if told is not None:
                records.append(int(rows[at]))
                why.append(told)
    out_of_turn = set(records)
    for record, told in _of_other_years(log, days):
        if record not in out_of_turn:
            records.append(record)
            why.append(told)
    return np.array(records, dtype=np.int64), why


def _of_other_years(log: Log, days: Ints) -> Iterator[tuple[int, str]]:
    """Give dates a year or more from those of the log, which are of the same time of the year: slips of the year.

    Whatever the order of the log is. A year or two off they may be true, as of a length laid later, where they do not
    stand amid the others; three years off they hardly are.
    """
    valid = as_mask(log.fields["inspected_on"].is_valid())
    every = days[valid]
    met = np.flatnonzero(np.bincount(every - every.min(initial=0)))
    if not (np.diff(met) >= _YEAR).any():
        return
    dated = np.flatnonzero(valid)
    order = dated[np.argsort(every, kind="stable")]
    times = np.split(order, np.flatnonzero(np.diff(days[order]) >= _YEAR) + 1)
    # Of two as large the later one.
    usual = max(reversed(times), key=len)
    if len(times) < 2 or len(usual) < _USUAL:
        return
    low, high = int(days[usual].min()), int(days[usual].max())
    is_usual = np.zeros(len(log), dtype=np.bool_)
    is_usual[usual] = True
    of_log, file = is_usual[dated], codes(log.file)[dated]
    # Rows before and behind, of the same file, are of the usual time.
    amid = np.zeros(len(log), dtype=np.bool_)
    amid[dated[1:-1]] = of_log[:-2] & of_log[2:] & (file[:-2] == file[1:-1]) & (file[2:] == file[1:-1])
    # A joint looked at again years later is no slip.
    place = np.unique(np.nan_to_num(log.stations.value, nan=-1.0), return_inverse=True)[1]
    joint = place * (int(codes(log.text("joint")).max(initial=0)) + 2) + codes(log.text("joint")) + 1
    again = np.isin(joint, joint[usual]) & ~amid
    of_days = set(dated[_days_of_another_year(days[dated], of_log, file)].tolist())
    shown = f"{_date(low)}" if low == high else f"{_date(low)} to {_date(high)}"
    for some in times:
        if some is usual or 2 * len(some) > len(dated):
            continue
        far = max(low - int(days[some].max()), int(days[some].min()) - high) >= _FAR
        for record in some.tolist():
            date = _date(int(days[record]))
            others = (_replaced(date, year, date.month, date.day) for year in {_date(low).year, _date(high).year})
            fits = any(one is not None and low - _WINDOW <= one <= high + _WINDOW for one in others)
            beside = far or (len(some) <= _FEW and amid[record]) or record in of_days
            if fits and not again[record] and beside:
                yield record, f"dated {date}, while {len(usual):,} records are of {shown}, as if the year were wrong"


def _days_of_another_year(day: Ints, usual: Bools, file: Ints) -> Ints:
    """Give the rows of whole days, between rows of the usual time, that another year puts right between these.

    The rows before and behind are of one file and of the same days or nearly so: a length laid in another year, to be
    in turn once its year is exchanged, would have to be laid in that one week of it.
    """
    edges = np.flatnonzero(np.diff(usual.astype(np.int8)) != 0) + 1
    found = [np.zeros(0, dtype=np.int64)]
    for first, end in pairwise(edges.tolist()):
        before, behind = int(day[first - 1]), int(day[end])
        if usual[first] or (file[first - 1 : end + 1] != file[first]).any() or not 0 <= behind - before <= _WEEK:
            continue
        years = {_date(before).year, _date(behind).year}
        dates = map(_date, np.unique(day[first:end]).tolist())
        put = ([_replaced(one, year, one.month, one.day) for year in years] for one in dates)
        if all(any(one is not None and before <= one <= behind for one in of_years) for of_years in put):
            found.append(np.arange(first, end))
    return np.concatenate(found)


def _day_by_day(log: Log, days: Ints) -> Iterator[tuple[Ints, Bools | None, str]]:
    """Give records kept day by day, of a file or else of a route of it, which are in turn, and of what.

    None for those of a route that are in no turn as they are read.
    """
    file, route = (held(codes(one), len(log)) for one in (log.file, log.text("route")))
    dated = held(np.flatnonzero(as_mask(log.fields["inspected_on"].is_valid())), len(log))
    for of_file in _alike(dated, file):
        kept = _in_turn(days[of_file])
        if kept is not None:
            yield of_file, kept, ""
            continue
        # Crews that work at the same time have days of their own, and mostly routes of their own.
        of = route[of_file]
        by_route = of_file if (of[1:] >= of[:-1]).all() else of_file[np.argsort(of, kind="stable")]
        del of
        for rows in _alike(by_route, route):
            yield rows, _in_turn(days[rows]), " of its route"


def _by_two_orders(day: Ints) -> Iterator[tuple[int, dt.date, dt.date, dt.date]]:
    """Give the days of a log in no turn that month and day exchanged put in turn, where that does for the whole log.

    As where some days were written day first and the others month first: those that can be read one way only, and the
    middle of all where there are none, say around which time the log was kept.

    Yields
    ------
    tuple of int and three dates
        The row, its date with month and day exchanged, and the dates beside it.
    """
    texts, at = np.unique(day, return_inverse=True)
    swapped = [_replaced(one, one.year, one.day, one.month) for one in map(_date, texts.tolist())]
    one_way = np.array([other is None or other == own for own, other in zip(texts.tolist(), swapped, strict=True)])[at]
    other = np.array([own if of is None else of for own, of in zip(texts.tolist(), swapped, strict=True)])[at]
    middle = np.median(day[one_way]) if one_way.any() else np.median(day)
    chosen = np.where(np.abs(other - middle) < np.abs(day - middle), other, day)
    if in_order(chosen).mean() < _ALL_IN_TURN:
        return
    exchanged = np.abs(chosen - day) >= _WEEKS
    as_read = np.flatnonzero(~exchanged)
    if not len(as_read):
        return
    # Days of another month, all of them before or behind the others, may be of another time.
    amid = np.flatnonzero(exchanged[as_read[0] : as_read[-1]]) + as_read[0]
    if len(np.unique(day[amid])) < _DAYS_AMID:
        return
    # A page of another time has days that follow one another as they are written, and lie months apart exchanged.
    both = exchanged[1:] & exchanged[:-1]
    if np.abs(np.diff(chosen))[both].sum() > np.abs(np.diff(day))[both].sum():
        return
    for row in np.flatnonzero(exchanged).tolist():
        beside = int(np.searchsorted(as_read, row))
        before, behind = int(as_read[max(beside - 1, 0)]), int(as_read[min(beside, len(as_read) - 1)])
        yield row, _date(int(chosen[row])), _date(int(day[before])), _date(int(day[behind]))


def _alike(rows: Ints, code: Ints) -> list[Ints]:
    """Part rows where the code changes, and leave out parts that are too short to know their order."""
    return [part for part in together(rows, code) if len(part) >= ENOUGH]


def _in_turn(day: Ints) -> Bools | None:
    """Mark the days in turn; None where so few are that no one kept them day by day."""
    if (np.diff(day) >= 0).all():
        return np.ones(len(day), dtype=np.bool_)
    if _most_in_turn(day) / len(day) < _IN_TURN:
        return None
    kept = in_order(day)
    return kept if kept.mean() >= _IN_TURN else None


def _most_in_turn(day: Ints) -> int:
    """Give how many rows are in turn at most: up to the middle none is later than some day, and behind it none earlier.

    Examples
    --------
    >>> _most_in_turn(np.array([1, 2, 9, 3, 4])), _most_in_turn(np.array([1, 2, 3, 1, 2, 3]))
    (5, 4)
    """
    first, second = np.sort(day[: len(day) // 2]), np.sort(day[len(day) // 2 :])
    both = np.arange(1, len(first) + 1) + len(second) - np.searchsorted(second, first)
    return int(both.max(initial=len(second)))


def _around(kept: Bools, day: Ints, at: int) -> tuple[int | None, int | None]:
    """Give the days of the rows in turn before and behind a row; None where there is none."""
    before, behind = np.flatnonzero(kept[:at]), np.flatnonzero(kept[at:])
    return (int(day[before[-1]]) if len(before) else None, int(day[at + behind[0]]) if len(behind) else None)


def _put_right(day: int, before: int | None, behind: int | None, of_route: str) -> str | None:
    """Say what would put a day between those before and behind it: another year, or month and day exchanged."""
    assert before is not None or behind is not None
    low = before if before is not None else int(behind or 0) - _WINDOW
    high = behind if behind is not None else low + _WINDOW
    date = _date(day)
    between = " and ".join(str(_date(one)) for one in (before, behind) if one is not None)
    rows = (
        f"the rows{of_route} before and behind it are"
        if before is not None and behind is not None
        else f"the row{of_route} beside it is"
    )
    for year in {_date(low).year, _date(high).year}:
        other = _replaced(date, year, date.month, date.day)
        if other is not None and low <= other <= high and abs(other - day) >= _YEAR:
            return f"dated {date}, while {rows} of {between}, as if the year were wrong"
    other = _replaced(date, date.year, date.day, date.month)
    narrow = before is not None and behind is not None and high - low <= _WINDOW
    if narrow and other is not None and low <= other <= high and abs(other - day) >= _WEEKS:
        return f"dated {date}, while {rows} of {between}, as if month and day were exchanged"
    return None


def _date(day: int) -> dt.date:
    return dt.date(1970, 1, 1) + dt.timedelta(days=day)


def _replaced(date: dt.date, year: int, month: int, day: int) -> int | None:
    """Give a date with other parts as a day; None where no calendar has it."""
    try:
        return (date.replace(year=year, month=month, day=day) - dt.date(1970, 1, 1)).days
    except ValueError:
        return None
