"""Distances on the ground between places given in any coordinate system.

A grid distance is longer or shorter than the ground it stands for; here every distance is the geodesic's.
"""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from asbuilt import units

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pyproj import CRS

    from asbuilt.arrays import Floats

MEAN_RADIUS = 6_371_008.8
"""Mean radius of the Earth, metres (IUGG, from memory); for the lengthening of distances with height."""

_WIDE_DEG = 3.0
"""A window wider than this may reach beyond where a system has coordinates, without a word from it."""


class Box(NamedTuple):
    """A box in a register's coordinates."""

    west: float
    south: float
    east: float
    north: float


class Ground:
    """The ground as a coordinate system sees it.

    Parameters
    ----------
    crs : pyproj.CRS
        Projected or geographic; eastings or longitudes come first, whatever its own order of axes.

    Examples
    --------
    >>> from pyproj import CRS
    >>> ground = Ground(CRS("EPSG:6339"))
    >>> place = np.array([629166.1]), np.array([4279316.2])
    >>> away = ground.away(*place, place[0] + 100.0, place[1])
    >>> round(float(away[0]), 2)
    100.02
    """

    def __init__(self, crs: CRS) -> None:
        from pyproj import Transformer

        own = crs.geodetic_crs
        if own is None:
            raise ValueError(f"{crs.name} has no datum")
        self.crs = crs
        self.degrees = own
        self._to_degrees = Transformer.from_crs(crs, own, always_xy=True)
        self._from_degrees = Transformer.from_crs(own, crs, always_xy=True)
        geod = crs.get_geod()
        assert geod is not None
        self._geod = geod

    def lonlat(self, easting: Floats, northing: Floats) -> tuple[Floats, Floats]:
        """Give longitudes and latitudes on the system's own datum, degrees."""
        longitude, latitude = self._to_degrees.transform(easting, northing)
        return np.asarray(longitude, dtype=np.float64), np.asarray(latitude, dtype=np.float64)

    def bounds(self, west: float, south: float, east: float, north: float) -> Box | None:
        """Give a box that holds every place within a window given in degrees; None where coordinates end within it."""
        if west > east or max(east - west, north - south) > _WIDE_DEG:
            return None
        box = Box(*self._from_degrees.transform_bounds(west, south, east, north, densify_pts=21))
        return box if np.all(np.isfinite(box)) else None

    def away(
        self,
        easting: Floats,
        northing: Floats,
        other_easting: Floats,
        other_northing: Floats,
        height: Floats | None = None,
    ) -> Floats:
        """Give the distance on the ground between pairs of places, metres.

        Parameters
        ----------
        easting, northing, other_easting, other_northing : array, shape (n,)
            In the system's units.
        height : array, shape (n,), optional
            Height above the ellipsoid or the sea, metres: the ground there is longer than the ellipsoid below
            it. NaN counts as 0.
        """
        away = np.zeros(len(easting))
        apart = np.flatnonzero((easting != other_easting) | (northing != other_northing))
        if len(apart):
            here = self.lonlat(easting[apart], northing[apart])
            there = self.lonlat(other_easting[apart], other_northing[apart])
            away[apart] = self._geod.inv(*here, *there)[2]
        if height is None:
            return away
        lengthened: Floats = away * (1.0 + np.nan_to_num(height) / MEAN_RADIUS)
        return lengthened

    def box(self, easting: float, northing: float, metres: float) -> Box:
        """Give a box that holds every place within a distance of one."""
        longitude, latitude = self.lonlat(np.array([easting]), np.array([northing]))
        around = np.arange(0.0, 360.0, 15.0)
        # Past the circle, so that the straight sides of the figure of 24 corners lie outside it.
        distance = np.full(len(around), 1.02 * metres + 0.01)
        full = np.full(len(around), longitude[0]), np.full(len(around), latitude[0])
        east, north = self._from_degrees.transform(*self._geod.fwd(*full, around, distance)[:2])
        return Box(float(np.min(east)), float(np.min(north)), float(np.max(east)), float(np.max(north)))

    def reach(self, easting: Floats, northing: Floats, metres: float) -> tuple[float, float]:
        """Give how far a distance reaches at most in eastings and in northings, anywhere among some places."""
        sample = np.linspace(0, len(easting) - 1, min(len(easting), 200)).astype(np.int64)
        boxes = [(one, self.box(float(easting[one]), float(northing[one]), metres)) for one in np.unique(sample)]
        east = max(max(box.east - easting[one], easting[one] - box.west) for one, box in boxes)
        north = max(max(box.north - northing[one], northing[one] - box.south) for one, box in boxes)
        return 1.1 * float(east), 1.1 * float(north)


class _Made(threading.local):
    """What this thread has made."""

    def __init__(self) -> None:
        self.grounds: dict[str, Ground] = {}


_MADE = _Made()


def ground_of(crs: CRS) -> Ground:
    """Give the ground of a coordinate system, which each thread makes once: that takes as long as many a question.

    Threads do not share one, as PROJ's transformations are not to be used by two at once. Source: pyproj, "Advanced
    Examples" (from memory).

    Examples
    --------
    >>> from pyproj import CRS
    >>> ground_of(CRS("EPSG:6339")) is ground_of(CRS("EPSG:6339"))
    True
    """
    if crs.srs not in _MADE.grounds:
        _MADE.grounds[crs.srs] = Ground(crs)
    return _MADE.grounds[crs.srs]


def length_words(metres: float, unit: str, digits: int = 2) -> str:
    """Write a length in a unit.

    Examples
    --------
    >>> length_words(0.762, "ft"), length_words(1609.344, "ft", 0)
    ('2.50 ft', '5,280 ft')
    """
    return f"{metres / float(units.METRES[unit]):,.{digits}f} {units.SYMBOLS[unit]}"


def range_words(metres: Sequence[float] | Floats, unit: str) -> str:
    """Write the least and the most of lengths in a unit.

    Examples
    --------
    >>> range_words((0.762, 243.2), "ft"), range_words((1.5, 1.5), "m")
    ('2.50 to 797.90 ft', '1.50 m')
    """
    least, most = (length_words(one, unit) for one in (min(metres), max(metres)))
    return most if least == most else f"{least.rpartition(' ')[0]} to {most}"


def own_unit(crs: CRS) -> str:
    """Name the unit of a register's coordinates; metres where they are degrees."""
    return (units.of_crs(crs) if crs.is_projected else None) or "m"
