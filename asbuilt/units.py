"""Feet and metres: the two feet of North American surveying, and the metre, kept apart exactly.

A State Plane coordinate read with the wrong foot moves by feet, so every length here has a named unit.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from pyproj import CRS

Unit = Literal["us-ft", "ft", "m"]
SmallUnit = Literal["in", "mm"]

METRES: dict[str, Fraction] = {
    "us-ft": Fraction(1200, 3937),
    "ft": Fraction(3048, 10000),
    "m": Fraction(1),
}
"""Metres in one unit, exactly. Source: Federal Register 24 FR 5348 (1959), for both feet; from memory."""

SMALL_METRES: dict[str, Fraction] = {"in": Fraction(254, 10000), "mm": Fraction(1, 1000)}
"""Metres in one of the units of pipe sizes and rule readings, exactly; an inch is 25.4 mm."""

WORDS = {"us-ft": "US survey feet", "ft": "feet", "m": "metres"}
SMALL_WORDS = {"in": "inches", "mm": "millimetres"}
SYMBOLS = {"us-ft": "ft", "ft": "ft", "m": "m"}


def factor(source: str, target: str) -> float:
    """Give the number by which a length in `source` units becomes one in `target` units.

    Parameters
    ----------
    source, target : {"us-ft", "ft", "m", "in", "mm"}

    Returns
    -------
    float
        Correctly rounded from the exact ratio.

    Examples
    --------
    >>> factor("us-ft", "m") == 1200 / 3937
    True
    >>> round(1_000_000 * factor("us-ft", "ft") - 1_000_000, 3)
    2.0
    >>> factor("ft", "in")
    12.0
    """
    metres = METRES | SMALL_METRES
    return float(metres[source] / metres[target])


def of_crs(crs: CRS) -> str | None:
    """Name the unit of a projected coordinate system's eastings, or None if it is another unit.

    Parameters
    ----------
    crs : pyproj.CRS
        A projected, engineering or compound system.

    Returns
    -------
    {"us-ft", "ft", "m"} or None

    Examples
    --------
    >>> from pyproj import CRS
    >>> of_crs(CRS("EPSG:6418")), of_crs(CRS("EPSG:6557")), of_crs(CRS("EPSG:6339"))
    ('us-ft', 'ft', 'm')
    """
    metres = crs.axis_info[0].unit_conversion_factor
    for name, exact in METRES.items():
        if abs(metres - float(exact)) < 1e-12:
            return name
    return None
