"""What may be asked of OGC API Features: what is not offered is refused by name, as the standard's core has it.

Source: OGC 17-069r4, OGC API Features Part 1, requirements query-param-unknown and query-param-invalid.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from asbuilt.register.question import TEMPERATURE, meant, temperature_f

EVERYWHERE = ("f", "lang")
OF_ITEMS = (
    "bbox", "bbox-crs", "crs", "datetime", "limit", "offset", "properties", "resulttype", "skipGeometry", "sortby",
)  # fmt: skip
OF_ITEM = ("crs",)
_NOT_OFFERED = ("filter", "filter-lang", "filter-crs", "q")
_WORDS = {"f": ("json",), "resulttype": ("results", "hits"), "skipGeometry": ("true", "false")}
CRS84 = "http://www.opengis.net/def/crs/OGC/1.3/CRS84"

Fields = Mapping[str, Mapping[str, Any]]
"""Properties of a collection as JSON Schema has them."""


class Window(NamedTuple):
    """A box of longitudes and latitudes; its west is east of its east where it goes over the 180th meridian."""

    west: float
    south: float
    east: float
    north: float

    def holds(self, longitude: str, latitude: str) -> str:
        """Give SQL that tells whether a place lies in the box, by the names of its two columns."""
        joined = "AND" if self.west <= self.east else "OR"
        return (
            f"({longitude} >= {self.west!r} {joined} {longitude} <= {self.east!r}) "
            f"AND {latitude} BETWEEN {self.south!r} AND {self.north!r}"
        )


def refusal(asked: Sequence[tuple[str, str]], offered: Sequence[str], fields: Fields | None = None) -> str | None:
    """Say what is wrong with the parameters of a request; None where nothing is.

    Parameters
    ----------
    asked : sequence of (name, value)
    offered : sequence of str
        Parameters that can be asked here, beside those that can be asked everywhere.
    fields : mapping, optional
        Properties by which features can be asked here.

    Examples
    --------
    >>> refusal([("colour", "blue")], OF_ITEMS, {"verdict": {"type": "string"}})[:35]
    "'colour' is no parameter here; ask "
    >>> refusal([("limit", "5")], OF_ITEMS, {})
    """
    names = [name for name, _ in asked]
    known = (*EVERYWHERE, *offered, *(fields or ()))
    for name, value in asked:
        if name in _NOT_OFFERED:
            return f"{name} is not offered here; ask by property, such as verdict=over"
        if name not in known:
            return f"{name[:100]!r} is no parameter here; ask by {', '.join(known)}{meant(name[:100], known)}"
        if names.count(name) > 1:
            return f"{name} is given {names.count(name)} times; give it once"
        wrong = _wrong_value(name, value, fields or {})
        if wrong is not None:
            return wrong
    return None


def _wrong_value(name: str, value: str, fields: Fields) -> str | None:
    if name in _WORDS and value not in _WORDS[name]:
        return f"{name}: {value[:100]!r} is not {' or '.join(_WORDS[name])}"
    try:
        if name == "bbox":
            _corners(value)
        elif name == "datetime":
            days(value)
        elif name in ("sortby", "properties"):
            _check_names(name, value, fields)
        elif name in fields:
            of_property(name, value, fields[name])
    except ValueError as error:
        return f"{name}: {error}"
    return None


def _corners(text: str) -> list[float]:
    try:
        corners = [float(one) for one in text.split(",")]
    except ValueError:
        corners = []
    if len(corners) != 4 or not all(math.isfinite(one) for one in corners) or corners[1] > corners[3]:
        raise ValueError(
            f"{text[:100]!r} is not west,south,east,north in numbers, south below north; heights are not compared"
        )
    return corners


def window(asked: Mapping[str, str]) -> Window | None:
    """Give the box of longitudes and latitudes that is asked for; None where none is, or one in another system."""
    if "bbox" not in asked or asked.get("bbox-crs", CRS84) != CRS84:
        return None
    return Window(*_corners(asked["bbox"]))


def days(text: str) -> tuple[str | None, str | None]:
    """Read a day or an interval of days, open at either end.

    Source: OGC 17-069r4, fc-time-response: an interval is open at one end at most. Its test asks, as that of a window
    does, for all features that have no time, or no place, beside those that meet what is asked for; worded so in
    ogctests 0.1.15 (PyPI).

    Raises
    ------
    ValueError
        When it is none.

    Examples
    --------
    >>> days("2026-04-01"), days("2026-04-01T08:00:00Z/..")
    (('2026-04-01', '2026-04-01'), ('2026-04-01', None))
    """
    first, slash, last = text.partition("/")
    ends = [_day(one, text) for one in ((first, last) if slash else (first, first))]
    if None not in ends and str(ends[0]) > str(ends[1]):
        raise ValueError(f"{text[:100]!r} ends before it begins; exchange the two")
    if slash and ends == [None, None]:
        raise ValueError(f"{text[:100]!r} is open at both ends; leave datetime out for what is at any time, or none")
    if not slash and ends[0] is None:
        raise ValueError(f"{text[:100]!r} is not a day; write it like 2026-04-01")
    return ends[0], ends[1]


def _day(text: str, whole: str) -> str | None:
    if text in ("", ".."):
        return None
    try:
        return dt.datetime.fromisoformat(text).date().isoformat()
    except ValueError:
        raise ValueError(
            f"{whole[:100]!r} is not a day or an interval; write it like 2026-04-01 or 2026-04-01/2026-04-30"
        ) from None


def _check_names(name: str, value: str, fields: Fields) -> None:
    for one in value.split(","):
        bare = one.strip()[1:] if name == "sortby" and one.strip()[:1] in ("+", "-") else one.strip()
        if bare not in fields:
            raise ValueError(
                f"{bare[:100]!r} is no property here; name one of {', '.join(fields)}{meant(bare, fields)}"
            )


def _number(name: str, text: str, about: Mapping[str, Any]) -> int | float:
    if name == TEMPERATURE and text.strip()[-1:].upper() in ("F", "C"):
        return temperature_f(text)
    try:
        number = int(text) if about["type"] == "integer" else float(text)
    except ValueError:
        number = math.nan
    if not math.isfinite(number) or abs(number) >= 2**63:
        whole = "whole " if about["type"] == "integer" else ""
        raise ValueError(f"{name} is a {whole}number, but {text[:100]!r} is none")
    return number


class Interval(NamedTuple):
    """Ends between which a number lies, itself in; None where it is open."""

    least: float | None
    most: float | None


def of_property(name: str, text: str, about: Mapping[str, Any]) -> str | int | float | Interval:
    """Read the value by which a property is asked for: a number's may be an interval, as that of datetime.

    Temperatures are in degrees F, and may have F or C behind them.

    Raises
    ------
    ValueError
        When the property has no such value.

    Examples
    --------
    >>> of_property("size", "12", {"type": "number"}), of_property("joint", "12", {"type": "string"})
    (12.0, '12')
    >>> of_property("gasket_temperature", "../4.5C", {"type": "number"})
    Interval(least=None, most=40.1)
    """
    if about["type"] == "number" and "/" in text:
        least, most = (None if one in ("", "..") else _number(name, one, about) for one in text.split("/", 1))
        if least is not None and most is not None and least > most:
            raise ValueError(f"{text[:100]!r} ends before it begins; exchange the two")
        if least is None and most is None:
            raise ValueError(f"{text[:100]!r} is open at both ends; leave {name} out")
        return Interval(least, most)
    if about["type"] in ("number", "integer"):
        return _number(name, text, about)
    if about.get("format") == "date":
        try:
            return dt.date.fromisoformat(text).isoformat()
        except ValueError:
            raise ValueError(f"{text[:100]!r} is not a day; write it like 2026-04-01") from None
    words = about.get("enum")
    if words is not None and text not in words:
        raise ValueError(f"{text[:100]!r} is not one of {', '.join(words)}{meant(text[:100], words)}")
    return text
