"""A station as it is written, and one read by itself: what a question and a job file name.

A column of them is read by `stationing`, in bulk; both read the same texts, by one pattern.
"""

from __future__ import annotations

import math
import re
from typing import Literal

from asbuilt.errors import JobFileError

Form = Literal["hundreds", "thousands", "decimal"]

TAIL_DIGITS = {"hundreds": 2, "thousands": 3, "decimal": 0}
EXAMPLES = {"hundreds": "12+34.56", "thousands": "1+234.567", "decimal": "1234.56"}

PATTERN = (
    r"^(?:STA(?:TION)?|STN|CH(?:AINAGE)?|(?P<km>KM))?[.:]{0,2}\s*"
    r"(?P<sign>-?)(?P<head>\d{1,9})(?:\s*\+\s*(?P<tail>\d+))?(?P<fraction>\.\d*)?"
    r"(?:\s*(?P<unit>'|’|′|FT|FEET|LF|M|MET(?:RES|ERS))\.?)?"
    r"(?:\s*(?P<side>BK|BACK|AH|AHEAD)\.?(?:\s*EQ(?:N|UATION)?\.?\s*(?P<equation>\d{1,3}))?|\.)?$"
)
"""Of texts in capitals; \\d and \\s stand for ASCII."""
_READ = re.compile(PATTERN, re.ASCII)
_NUMBERED_STRETCH = re.compile(
    r"^(?:R(?P<before>\d{1,3})[\s:]+)?(?P<station>.*?\d.*?)(?:\s+R(?P<after>\d{1,3}))?$", re.I
)


def parse_station(station: str | float, *, key: str) -> float:
    """Read one station of a job file, in any form.

    Raises
    ------
    JobFileError
        Naming `key` when it is not a station.

    Examples
    --------
    >>> parse_station("24+50.00", key="centerline.equations.back")
    2450.0
    >>> parse_station("0+900", key="start_station"), parse_station(12.5, key="start_station")
    (900.0, 12.5)
    """
    value = float(station) if isinstance(station, int | float) else _read(station)
    if math.isnan(value):
        raise no_station(station, key=key)
    return value


def _read(text: str) -> float:
    """Give a station without a unit as a number, NaN where it is none; kilometres count thousands of metres."""
    read = _READ.fullmatch(text.strip().upper())
    if read is None or read["unit"]:
        return math.nan
    tail = read["tail"] or ""
    if len(tail) != 3 and (len(tail) not in (0, 2) or read["km"]):
        return math.nan
    return float(f"{read['sign']}{read['head']}{tail}{read['fraction'] or ''}")


def no_station(station: str | float, *, key: str) -> JobFileError:
    """Give what is said of what a key names that is no station."""
    how = how_to_write(str(station), "hundreds")
    if "EQ" not in how:
        how = f"write it like {EXAMPLES['hundreds']}, {EXAMPLES['thousands']} or {EXAMPLES['decimal']}"
    return JobFileError(f"{key}: {str(station)!r} is not a station; {how}")


def how_to_write(text: str, form: Form) -> str:
    """Say how a station that cannot be read is to be written.

    Examples
    --------
    >>> how_to_write("12-34", "hundreds")
    'write it like 12+34.56'
    >>> how_to_write("0+00 - 0+20", "decimal")
    'two stations stand in it; write the one at which the joint lies, like 12+34.56'
    >>> how_to_write("R3 28+44.31", "hundreds")
    'write it like 28+44.31 AH EQ 2: AH or BK, and the number of the equation along the route'
    """
    plain = text.strip()
    several = re.findall(r"\d\+(\d{2,3})(?!\d)", plain)
    if form == "decimal" and several:
        form = "hundreds" if len(several[0]) == TAIL_DIGITS["hundreds"] else "thousands"
    if len(several) > 1:
        return f"two stations stand in it; write the one at which the joint lies, like {EXAMPLES[form]}"
    if plain.startswith(("#", "Err:")):
        return "the spreadsheet could not compute it; correct the formula, or write the station itself"
    if re.fullmatch(r"(?i)km[.:]*\s*[\d.]+", plain):
        return f"kilometres or metres? Write it like {EXAMPLES['thousands']}"
    if form != "decimal" and re.fullmatch(r"[\d.]+", plain):
        return f"it may lack its +; write it like {EXAMPLES[form]}"
    if re.search(r"(?i)\d\s*(['’′]|ft|feet|lf|m|met(res|ers))\.?$", plain):
        return f"its unit is not that of the stations (records.station_unit); write it like {EXAMPLES[form]}"
    if re.search(r"\d,\d+\D*$", plain):
        return f'where its comma is a decimal sign, say records.decimal = ","; else write it like {EXAMPLES[form]}'
    found = _NUMBERED_STRETCH.match(plain)
    number = int(found["before"] or found["after"] or 0) if found else 0
    if found is None or not number:
        return f"write it like {EXAMPLES[form]}"
    stretch = stretch_words(number, several=True)
    return f"write it like {found['station']} {stretch}: AH or BK, and the number of the equation along the route"


def stretch_words(number: int, *, several: bool) -> str:
    """Name a stretch between equations, counted from 1 at the route's start, as the trade does.

    Examples
    --------
    >>> stretch_words(1, several=False), stretch_words(2, several=False), stretch_words(3, several=True)
    ('BK', 'AH', 'AH EQ 2')
    """
    side = "BK" if number == 1 else "AH"
    return f"{side} EQ {max(number - 1, 1)}" if several else side
