"""Whether the numbers of a file are written with a decimal comma, which a comma between thousands is not."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.inputs.headers import plain_name
from asbuilt.keys.fields import MEASURES

_COMMA_NUMBER, _POINT_NUMBER = r"^[+-]?[\d.+]*\d,\d+$", r"^[+-]?[\d,+]*\.\d+$"
_BEHIND = r"(?:\s*[^\d\s,][^\d,]*)?$"
"""A unit behind a number."""
_DECIMAL = (
    rf"^[+-]?(?:\d{{1,3}}(?:\.\d{{3}})+|\d*),(?:\d{{1,2}}|\d{{4,}}){_BEHIND}|^[+-]?(?:0|\d{{4,}}),\d+{_BEHIND}"
    rf"|\+\d+,\d+{_BEHIND}"
)
"""A comma that parts no thousands: not three digits behind it, none or four before it, or those of a station."""
_EITHER = rf"^[+-]?[1-9]\d{{0,2}},\d{{3}}{_BEHIND}"
_THOUSANDS = r",\d{3}\.\d|,\d{3},\d{3}"


def decimal_comma(
    data: pa.Table, known: Mapping[str, str], decimal: str | None, where: Path | str, *, usual: bool = False
) -> tuple[bool, list[str]]:
    """Say whether numbers are read with a decimal comma, and what is to be known of that.

    Parameters
    ----------
    data : pyarrow table of text
    known : mapping of plain name to field
    decimal : "." or ",", optional
        What the job says.
    where : the file, for messages
    usual : bool
        Whether columns are separated by semicolons, as where a comma is the decimal sign.

    Examples
    --------
    >>> known = {"length": "laid_length", "photo": "photo"}
    >>> decimal_comma(pa.table({"Length": ["6,00"], "Photo": ["12"]}), known, None, "log")[0]
    True
    >>> decimal_comma(pa.table({"Length": ["6.00"], "Photo": ["12,13"]}), known, None, "log")
    (False, [])
    >>> decimal_comma(pa.table({"Length": ["6,000"]}), known, None, "log")[1][0][:58]
    "log: a comma is taken to part thousands, as '6,000' in col"
    """
    if decimal is not None:
        return decimal == ",", []
    if usual:
        comma = _shows_decimal_comma(data)
        return comma, [_told(where)] if comma else []
    decimals, either = (list[tuple[str, str, int]]() for _ in range(2))
    for name in (one for one in data.column_names if known.get(plain_name(one, known)) in MEASURES):
        column = data[name]
        with_comma = column.filter(pc.match_substring(column, ","))
        if pc.any(pc.match_substring_regex(with_comma, _THOUSANDS)).as_py():
            return False, []
        for found, pattern in ((decimals, _DECIMAL), (either, _EITHER)):
            some = with_comma.filter(pc.match_substring_regex(with_comma, pattern))
            if len(some):
                found.append((name, some[0].as_py(), len(some)))
    others = [one for one in either if one[0] not in {name for name, _, _ in decimals}]
    if not others:
        return bool(decimals), [_told(where)] if decimals else []
    name, shown, _ = others[0]
    if sum(many for _, _, many in decimals) >= sum(many for _, _, many in others):
        return True, [f"{_told(where)}: {shown!r} in column {name!r} is {shown.replace(',', '.', 1)}"]
    return False, [
        f"{where}: a comma is taken to part thousands, as {shown!r} in column {name!r}, which is "
        f'{shown.replace(",", "", 1)}; where it is the decimal sign, say decimal = ","'
    ]


def _told(where: Path | str) -> str:
    return f'{where}: numbers are read with a decimal comma; set decimal = "." if they have none'


def _shows_decimal_comma(data: pa.Table) -> bool:
    """Say whether some columns hold numbers with a decimal comma, and none of these a number with a point."""
    shown = False
    for column in data.columns:
        commas = column.filter(pc.match_substring(column, ","))
        if pc.any(pc.match_substring_regex(commas, _COMMA_NUMBER)).as_py():
            if pc.any(pc.match_substring_regex(column, _POINT_NUMBER)).as_py():
                return False
            shown = True
    return shown
