"""Points and lines as a GeoPackage holds them.

Source: OGC GeoPackage 1.3 (12-128r17), clause 2.1.3.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pyarrow as pa

    from asbuilt.arrays import Floats

_HEAD, _ENVELOPES = 8, (0, 32, 48, 48, 64)
"""Bytes before the envelope, and of each kind of it."""


def points(srs: int, easting: Floats, northing: Floats, elevation: Floats) -> pa.Array:
    """Make points; null where a place is unknown."""
    # Who asks makes none.
    from asbuilt.layers import shapes

    return shapes.in_geopackage(shapes.points_wkb(easting, northing, elevation), "Point Z", srs)[0]


def lines(srs: int, wkb: Sequence[bytes]) -> tuple[pa.Array, Floats]:
    """Make lines of well-known binary; and their boxes: west, east, south, north."""
    import pyarrow as pa

    from asbuilt.layers import shapes

    return shapes.in_geopackage(pa.array(wkb, pa.binary()), "LineString ZM", srs)


def wkb_of(cell: bytes) -> bytes:
    """Take the well-known binary out of a geometry, whoever wrote it.

    Examples
    --------
    >>> import numpy as np, shapely
    >>> point = points(6418, np.array([3.0]), np.array([4.0]), np.array([5.0]))
    >>> shapely.from_wkb(wkb_of(point[0].as_py())).wkt
    'POINT Z (3 4 5)'
    """
    return cell[_HEAD + _ENVELOPES[(cell[3] >> 1) & 0b111] :]
