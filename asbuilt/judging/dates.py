"""Dates of a log held against those of the rows above and below them."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Bools, Ints, as_mask
from asbuilt.placing.sequence import in_order

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log

ENOUGH = 8
"""Records that must have a date, for their order to be known."""
_IN_TURN = 0.7
"""A log of which so much is in the order of its dates was kept day by day."""
_YEAR, _WEEKS, _WINDOW = 300, 20, 31
"""Days by which a wrong year, or month and day exchanged, at least put a date off; and that an open end reaches."""


def dates_out_of_turn(log: Log) -> tuple[Ints, list[str]]:
    """Find dates that stand out of turn in a log kept day by day, and that another year, or month for day, puts right.

    Parameters
    ----------
    log : Log

    Returns
    -------
    records : array of int
    why : list of str
    """
    days = pc.cast(log.fields["inspected_on"], pa.int32())
    dated = np.flatnonzero(as_mask(days.is_valid()))
    records: list[int] = []
    why: list[str] = []
    file = pc.dictionary_encode(log.file).indices.to_numpy()[dated]
    for rows in np.split(dated, np.flatnonzero(np.diff(file)) + 1) if len(dated) else []:
        day = days.take(pa.array(rows)).to_numpy()
        if len(day) < ENOUGH or (np.diff(day) >= 0).all():
            continue
        kept = in_order(day.tolist())
        if kept.mean() < _IN_TURN:
            continue
        for at in np.flatnonzero(~kept).tolist():
            told = _put_right(int(day[at]), *_around(kept, day, at))
            if told is not None:
                records.append(int(rows[at]))
                why.append(told)
    return np.array(records, dtype=np.int64), why


def _around(kept: Bools, day: Ints, at: int) -> tuple[int | None, int | None]:
    """Give the days of the rows in turn before and behind a row; None where there is none."""
    before, behind = np.flatnonzero(kept[:at]), np.flatnonzero(kept[at:])
    return (int(day[before[-1]]) if len(before) else None, int(day[at + behind[0]]) if len(behind) else None)


def _put_right(day: int, before: int | None, behind: int | None) -> str | None:
    """Say what would put a day between those before and behind it: another year, or month and day exchanged."""
    assert before is not None or behind is not None
    low = before if before is not None else int(behind or 0) - _WINDOW
    high = behind if behind is not None else low + _WINDOW
    date = _date(day)
    between = " and ".join(str(_date(one)) for one in (before, behind) if one is not None)
    rows = "the rows before and behind it are" if before is not None and behind is not None else "the row beside it is"
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
