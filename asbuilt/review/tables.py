"""A table of the review's pages, and how its cells are written."""

from __future__ import annotations

import calendar
import datetime as dt
from dataclasses import dataclass, replace
from itertools import groupby
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from asbuilt.review.reading import Route

MOST_ROWS = 100
"""Beyond these, findings to check of one code and records set aside are counted on a page, not listed: the list of
issues has them all."""
_COUNTED = ("fields", "joints", "records")


@dataclass(frozen=True)
class Table:
    """A table of a page: texts by row; `numeric` columns are set flush right."""

    name: str
    caption: str
    columns: tuple[str, ...]
    rows: list[list[str]]
    numeric: tuple[int, ...] = ()
    joints: list[int] | None = None
    """Number of the joint that each row is about, or -1."""
    verdict_column: int = -1
    note: str = ""
    count: int | None = None
    """How many things the rows tell of, where it is not one each."""
    none: str = "None."
    """What stands in place of an empty table."""


def said_once(table: Table, column: int) -> Table:
    """Say "as above" where many rows in a row would say the same in a column.

    Examples
    --------
    >>> rows = [[str(at), said] for at, said in enumerate(["Read it"] * 4 + ["Shoot it"] * 2 + [""] * 4)]
    >>> [row[1] for row in said_once(Table("one", "", ("Joint", "What to do"), rows), 1).rows]
    ['Read it', 'as above', 'as above', 'as above', 'Shoot it', 'Shoot it', '', '', '', '']
    """
    rows: list[list[str]] = []
    for said, alike in groupby(table.rows, key=lambda row: row[column]):
        first, *others = alike
        short = "as above" if said and len(others) >= _MANY_ALIKE else said
        rows += [first, *([*row[:column], short, *row[column + 1 :]] for row in others)]
    return replace(table, rows=rows)


_MANY_ALIKE = 3
"""Rows after the first from which on the same words are not repeated; a choice of this review, no source."""


def size_and_type(route: Route, size: float, kind: str | None) -> str:
    return f"{number(size, 0)} {route.size_unit} {kind or ''}".strip() if np.isfinite(size) else kind or "unknown"


def measured(value: float | None, unit: str | None) -> str:
    if value is None or not np.isfinite(value):
        return ""
    one = value == 1 and unit in _COUNTED
    return f"{cell(round(value, 2))} {unit[:-1] if one and unit else unit or ''}".strip()


def number(value: float | None, decimals: int) -> str:
    return f"{value:,.{decimals}f}" if value is not None and np.isfinite(value) else ""


def cell(value: Any) -> str:
    """Write a value of a layer as text.

    Examples
    --------
    >>> cell(0.5), cell(1234.0), cell(dt.date(2026, 4, 2)), cell("7"), cell(None), cell(float("nan"))
    ('0.5', '1,234', '2026-04-02', '7', '', '')
    """
    # Nothing but a number that is none differs from itself.
    if value is None or value != value:
        return ""
    if isinstance(value, float):
        return f"{value:,.{2 if abs(value) >= 100 else 3}f}".rstrip("0").rstrip(".")
    return str(value)


def plain_time(text: str) -> str:
    """Write a time as people do, in the time that clocks all over the world share.

    Examples
    --------
    >>> plain_time("2026-11-28T01:17:19+00:00"), plain_time("2026-03-02T20:05:00-06:00")
    ('28 November 2026, 01:17 UTC', '3 March 2026, 02:05 UTC')
    """
    told = dt.datetime.fromisoformat(text)
    told = told.astimezone(dt.UTC) if told.tzinfo else told.replace(tzinfo=dt.UTC)
    return f"{told.day} {calendar.month_name[told.month]} {told:%Y, %H:%M} UTC"


_FROM_MEMORY = " (from memory)"
NOT_COMPARED = "not compared with the printed standard"
TO_COMPARE = (
    "Not compared with the printed standard: the table that comes with this program was written down without the "
    "standard at hand, and states no edition. Hold each value that matters against that table, in the edition that the "
    "specification names, for this joint type and size; the approved submittal goes before both."
)


def plain_source(source: str) -> str:
    """Say of a limit's source in plain words that nobody has held it against the standard.

    Examples
    --------
    >>> plain_source("AWWA C600, maximum deflection of push-on joints (from memory)")
    'AWWA C600, maximum deflection of push-on joints, not compared with the printed standard'
    >>> plain_source("submittal 12, table 3")
    'submittal 12, table 3'
    """
    return source.replace(_FROM_MEMORY, f", {NOT_COMPARED}")


def to_compare(text: str) -> str:
    """Give what is to be done about the sources in a text that were not compared with their standard."""
    return TO_COMPARE if NOT_COMPARED in text else ""


def letter(number: int) -> str:
    """Name the sources of a table: a, b, ... z, then by number."""
    return chr(ord("a") + number) if number < 26 else str(number + 1)


def how_many(count: int, thing: str, what: str = "") -> str:
    """Count things in words; nothing for none.

    Examples
    --------
    >>> how_many(1, "joint", "over"), how_many(1200, "joint"), how_many(3, "", "incomplete"), how_many(0, "joint")
    ('1 joint over', '1,200 joints', '3 incomplete', '')
    """
    if not count:
        return ""
    return " ".join(part for part in (f"{count:,}", thing + "s" if thing and count != 1 else thing, what) if part)


def on_its_page(text: str, route: str) -> str:
    """Leave out the name of the route with which a text begins that stands on its page.

    Examples
    --------
    >>> on_its_page("route A: 80 ft were not shot", "A"), on_its_page("route A, from the tee: 2 ft", "A")
    ('80 ft were not shot', 'route A, from the tee: 2 ft')
    """
    return text.removeprefix(f"route {route}: ").removeprefix(f"Route {route}: ")


def capital(text: str) -> str:
    return text[:1].upper() + text[1:]
