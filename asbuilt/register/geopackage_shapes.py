"""Points and lines as a GeoPackage holds them.

Source: OGC GeoPackage 1.3 (12-128r17), clause 2.1.3.
"""

from __future__ import annotations

import struct
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import pyarrow as pa

    from asbuilt.arrays import Floats

_POINT = np.dtype([("magic", "S2"), ("version", "u1"), ("flags", "u1"), ("srs", "<i4"), ("wkb", "V29")])
"""A point without an envelope."""
_HEAD, _ENVELOPES = 8, (0, 32, 48, 48, 64)
"""Bytes before the envelope, and of each kind of it."""


def points(srs: int, easting: Floats, northing: Floats, elevation: Floats) -> pa.Array:
    """Make points; null where a place is unknown."""
    # Who asks makes none.
    from asbuilt.layers import shapes
    from asbuilt.register.postgis_rows import octets

    known = np.isfinite(easting) & np.isfinite(northing)
    record = np.empty(len(easting), dtype=_POINT)
    record["magic"], record["version"], record["flags"], record["srs"] = b"GP", 0, 1, srs
    wkb = shapes.points_wkb(np.nan_to_num(easting), np.nan_to_num(northing), elevation)
    record["wkb"] = np.frombuffer(wkb.buffers()[2], dtype="V29", count=len(easting))
    return octets(record, None if known.all() else known)


def lines(srs: int, wkb: Sequence[bytes]) -> tuple[list[bytes], Floats]:
    """Make lines of well-known binary, each with its envelope; and their envelopes: west, south, east, north."""
    from asbuilt.layers import shapes

    places = [shapes.path_vertices(line)[:, :2] for line in wkb]
    bounds = np.array([[*one.min(axis=0), *one.max(axis=0)] for one in places])
    made = [
        struct.pack("<2sBBi4d", b"GP", 0, 0b11, srs, west, east, south, north) + line
        for line, (west, south, east, north) in zip(wkb, bounds.tolist(), strict=True)
    ]
    return made, bounds


def wkb_of(cell: bytes) -> bytes:
    """Take the well-known binary out of a geometry, whoever wrote it.

    Examples
    --------
    >>> import shapely
    >>> line = shapely.from_wkb(wkb_of(points(6418, np.array([3.0]), np.array([4.0]), np.array([5.0]))[0].as_py()))
    >>> line.wkt
    'POINT Z (3 4 5)'
    """
    return cell[_HEAD + _ENVELOPES[(cell[3] >> 1) & 0b111] :]
