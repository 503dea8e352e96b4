"""Sheets of a log that are named like a day, held against the dates of their records."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping
from typing import TYPE_CHECKING

import pyarrow as pa
import pyarrow.compute as pc

if TYPE_CHECKING:
    from asbuilt.inputs.text_table import TextTable

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_MONTH = (
    r"(?:jan(?:uary)?|feb(?:ruary)?|mar(?:ch)?|apr(?:il)?|may|june?|july?|aug(?:ust)?|sept?(?:ember)?|oct(?:ober)?"
    r"|nov(?:ember)?|dec(?:ember)?)"
)
_NUMBERED = r"^(\d{1,2})[./-](\d{1,2})(?:[./-]\d{2,4})?$"
_ISO = r"\b\d{4}-(\d{2})-(\d{2})\b"
_DAY = re.compile(
    rf"(?i)\b(?:mon|tues?|wed(?:nes)?|thu(?:rs?)?|fri|sat(?:ur)?|sun)(?:day)?\b|\b\d{{1,2}}(?:st|nd|rd|th)?[\s._-]*{_MONTH}\b"
    rf"|\b{_MONTH}[\s._-]*\d{{1,2}}\b|{_ISO}|{_NUMBERED}"
)
"""Names of sheets that stand for a day."""
_NAMED = re.compile(
    rf"(?i)\b(\d{{1,2}})(?:st|nd|rd|th)?[\s._-]*({_MONTH})\b|\b({_MONTH})[\s._-]*(\d{{1,2}})(?:st|nd|rd|th)?\b"
)
_SEVERAL = re.compile(r"(?i)\b(?:w(?:ee)?ks?|from|to|thru|through|until)\b|\d\s*(?:-|–|&|and)\s*\d{1,2}\s*$")
"""What makes more than one day of a name; "4-2" is read as one before."""
_MOST = 0.8
"""A sheet of which so many records are of its day is of that day alone."""
_SHOWN = 3


def days_named(sheet: str) -> set[tuple[int, int]]:
    """Give the month and day that the name of a sheet stands for: two where day and month may stand either way.

    Examples
    --------
    >>> days_named("Apr 2"), days_named("2nd April 26"), days_named("2026-04-02"), days_named("Sheet1")
    ({(4, 2)}, {(4, 2)}, {(4, 2)}, set())
    >>> sorted(days_named("4-2-26")), days_named("Week of Apr 2"), days_named("Tuesday")
    ([(2, 4), (4, 2)], set(), set())
    """
    name = sheet.strip()
    if written := re.search(_ISO, name):
        found = {(int(written[1]), int(written[2]))}
    elif written := re.search(_NUMBERED, name):
        one, two = int(written[1]), int(written[2])
        found = {(one, two), (two, one)}
    elif _SEVERAL.search(name):
        return set()
    else:
        days = [
            (_MONTHS.index((one[1] or one[2])[:3].lower()) + 1, int(one[0] or one[3])) for one in _NAMED.findall(name)
        ]
        found = set(days) if len(set(days)) == 1 else set()
    return {(month, day) for month, day in found if 1 <= month <= 12 and 1 <= day <= 31}


def day_notes(table: TextTable, fields: Mapping[str, pa.Array]) -> list[str]:
    """Tell of a sheet that is named like a day while its records have no date, or are dated otherwise.

    Parameters
    ----------
    table : TextTable
    fields : mapping of field to its values
    """
    if table.sheet is None or not _DAY.search(table.sheet):
        return []
    if "inspected_on" not in fields:
        return [
            f"{table.path}: sheet {table.sheet!r} is named like a day, but no column of it is read as the date: its "
            "records have none; map it, records.columns.inspected_on, or add the date as a column to the sheet"
        ]
    days, counts = days_named(table.sheet), pc.value_counts(fields["inspected_on"].drop_null()).to_pylist()
    dated: dict[dt.date, int] = {one["values"]: one["counts"] for one in counts}
    other = {date: many for date, many in dated.items() if (date.month, date.day) not in days}
    every, odd = sum(dated.values()), sum(other.values())
    if not days or not odd or every - odd not in (0, *range(int(_MOST * every), every)):
        return []
    shown = ", ".join(f"{date}" for date in sorted(other)[:_SHOWN])
    more = f" and {len(other) - _SHOWN:,} more days" if len(other) > _SHOWN else ""
    many = (
        "none of its records is"
        if odd == every
        else f"{odd:,} of its {every:,} records {'is' if odd == 1 else 'are'} not"
    )
    return [
        f"{table.path}: sheet {table.sheet!r} is named like a day, and {many} of that day, but of {shown}{more}: have "
        "the dates, or the name of the sheet, corrected"
    ]
