"""Points and lines as well-known binary, and as a GeoPackage holds them: with a head, and the box of each line.

Source: OGC Simple Feature Access 06-103r4, clause 8.2; OGC GeoPackage 1.3 (12-128r17), clause 2.1.3.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import as_mask

if TYPE_CHECKING:
    import numpy.typing as npt

    from asbuilt.arrays import Bools, Floats, Ints

_POINT_Z, _LINESTRING_Z, _LINESTRING_ZM = 1001, 1002, 3002
_HEAD: list[Any] = [("order", "u1"), ("type", "<u4")]
_VERTICES = ("vertices", "<u4")
"""Types and layout of well-known binary. Source: OGC Simple Feature Access 06-103r4, clause 8.2."""

_GEOMETRIES = {
    "Point Z": (_POINT_Z, 5, 3),
    "LineString Z": (_LINESTRING_Z, 9, 3),
    "LineString ZM": (_LINESTRING_ZM, 9, 4),
}
"""Of each kind of geometry its type, the bytes before its first vertex, and the numbers of a vertex."""
_GEOPACKAGE_HEAD: list[Any] = [("magic", "S2"), ("version", "u1"), ("flags", "u1"), ("srs", "<i4")]
_NO_BOX, _BOX_Z = 0b001, 0b101
"""Flags of a little-endian head: nothing behind it, or west, east, south, north, lowest and highest."""


def points_wkb(easting: Floats, northing: Floats, elevation: Floats) -> pa.Array:
    """Make points, as ISO WKB.

    Parameters
    ----------
    easting, northing, elevation : array, shape (n,)
        In map units; an unknown elevation is NaN.

    Returns
    -------
    pyarrow binary array, shape (n,)
        Point Z; null where easting or northing is unknown.

    Source
    ------
    Well-known binary: OGC Simple Feature Access 06-103r4, clause 8.2.

    Examples
    --------
    >>> import shapely
    >>> wkb = points_wkb(np.array([3.0, np.nan]), np.array([4.0, 0.0]), np.array([12.0, 0.0]))
    >>> shapely.from_wkb(wkb[0].as_py()).wkt, wkb[1].as_py()
    ('POINT Z (3 4 12)', None)
    """
    record = np.empty(len(easting), dtype=[*_HEAD, ("place", "<f8", 3)])
    record["order"], record["type"] = 1, _POINT_Z
    _fill(record["place"], easting, northing, elevation)
    return _binary(record, np.isfinite(easting) & np.isfinite(northing))


def lines_wkb(
    back_easting: Floats,
    back_northing: Floats,
    back_elevation: Floats,
    ahead_easting: Floats,
    ahead_northing: Floats,
    ahead_elevation: Floats,
) -> pa.Array:
    """Make straight lines between pairs of points, as ISO WKB.

    Parameters
    ----------
    back_easting, back_northing, back_elevation : array, shape (n,)
        Where each line begins, in map units; an unknown elevation is NaN.
    ahead_easting, ahead_northing, ahead_elevation : array, shape (n,)
        Where it ends.

    Returns
    -------
    pyarrow binary array, shape (n,)
        LineString Z of two vertices; null where an easting or northing is unknown.

    Source
    ------
    Well-known binary: OGC Simple Feature Access 06-103r4, clause 8.2.

    Examples
    --------
    >>> import shapely
    >>> ends = (np.array([value]) for value in (0.0, 0.0, 5.0, 3.0, 4.0, 6.0))
    >>> shapely.from_wkb(lines_wkb(*ends)[0].as_py()).wkt
    'LINESTRING Z (0 0 5, 3 4 6)'
    """
    record = np.empty(len(back_easting), dtype=[*_HEAD, _VERTICES, ("back", "<f8", 3), ("ahead", "<f8", 3)])
    record["order"], record["type"], record["vertices"] = 1, _LINESTRING_Z, 2
    _fill(record["back"], back_easting, back_northing, back_elevation)
    _fill(record["ahead"], ahead_easting, ahead_northing, ahead_elevation)
    known = np.isfinite(back_easting) & np.isfinite(back_northing)
    return _binary(record, known & np.isfinite(ahead_easting) & np.isfinite(ahead_northing))


def paths_wkb(easting: Floats, northing: Floats, elevation: Floats, measure: Floats, first: Ints) -> pa.Array:
    """Make lines of any number of vertices with a measure, as ISO WKB.

    Parameters
    ----------
    easting, northing, elevation, measure : array, shape (vertices,)
        Vertices of all lines, one line after another, in map units; an unknown elevation is NaN. The measure
        is the distance along the line.
    first : array of int, shape (n + 1,)
        Index of each line's first vertex, and at the end the number of vertices.

    Returns
    -------
    pyarrow binary array, shape (n,)
        LineString ZM.

    Source
    ------
    Well-known binary: OGC Simple Feature Access 06-103r4, clause 8.2.

    Examples
    --------
    >>> import shapely
    >>> vertices = (np.array([0.0, 3.0]), np.array([0.0, 4.0]), np.array([5.0, 6.0]), np.array([0.0, 5.0]))
    >>> path = paths_wkb(*vertices, np.array([0, 2]))[0].as_py()
    >>> shapely.get_coordinates(shapely.from_wkb(path), include_z=True).tolist()
    [[0.0, 0.0, 5.0], [3.0, 4.0, 6.0]]
    """
    head = np.empty(len(first) - 1, dtype=[*_HEAD, _VERTICES])
    head["order"], head["type"], head["vertices"] = 1, _LINESTRING_ZM, np.diff(first)
    vertices = np.empty((len(easting), 4), dtype="<f8")
    _fill(vertices, easting, northing, elevation, measure)
    offsets = head.itemsize * np.arange(len(first), dtype=np.int64) + vertices.itemsize * 4 * first.astype(np.int64)
    is_head = np.zeros(offsets[-1], dtype=np.bool_)
    is_head[offsets[:-1, None] + np.arange(head.itemsize)] = True
    octets = np.empty(offsets[-1], dtype=np.uint8)
    octets[is_head] = head.view(np.uint8)
    octets[~is_head] = vertices.view(np.uint8).ravel()
    buffers = [None, pa.py_buffer(offsets), pa.py_buffer(octets)]
    return pa.Array.from_buffers(pa.large_binary(), len(head), buffers).cast(pa.binary())


def path_vertices(path: bytes) -> Floats:
    """Give the vertices of a line that `paths_wkb` made: easting, northing, elevation and measure, shape (n, 4).

    Examples
    --------
    >>> vertices = (np.array([0.0, 3.0]), np.array([0.0, 4.0]), np.array([5.0, 6.0]), np.array([0.0, 5.0]))
    >>> path_vertices(paths_wkb(*vertices, np.array([0, 2]))[0].as_py()).tolist()
    [[0.0, 0.0, 5.0, 0.0], [3.0, 4.0, 6.0, 5.0]]
    """
    return np.frombuffer(path, "<f8", offset=np.dtype([*_HEAD, _VERTICES]).itemsize).reshape(-1, 4)


def in_geopackage(wkb: pa.Array, kind: str, srs: int) -> tuple[pa.Array, Floats]:
    """Make of well-known binary what a GeoPackage holds, and tell the boxes for its spatial index.

    Parameters
    ----------
    wkb : pyarrow binary array, shape (n,)
        As `points_wkb`, `lines_wkb` and `paths_wkb` make it; null where a geometry is unknown.
    kind : str
        "Point Z", "LineString Z" or "LineString ZM".
    srs : int
        Number of the coordinate system in the file.

    Returns
    -------
    pyarrow binary array, shape (n,)
        Null where `wkb` is; lines with their box in plan and in height, of known elevations where the first is.
    array, shape (known, 4)
        West, east, south and north of each geometry that is known, in map units.

    Raises
    ------
    ValueError
        When a geometry is of another kind.

    Source
    ------
    OGC GeoPackage 1.3 (12-128r17), clause 2.1.3 (GeoPackageBinaryHeader).

    Examples
    --------
    >>> ends = (np.array([value]) for value in (0.0, 9.0, 5.0, 3.0, 4.0, 6.0))
    >>> line, box = in_geopackage(lines_wkb(*ends), "LineString Z", 6418)
    >>> line[0].as_py()[:2], box.tolist()
    (b'GP', [[0.0, 3.0, 4.0, 9.0]])
    """
    vertices, first = _vertices(wkb.drop_null(), kind)
    head = np.zeros(len(wkb), dtype=_GEOPACKAGE_HEAD if kind == "Point Z" else [*_GEOPACKAGE_HEAD, ("box", "<f8", 6)])
    head["magic"], head["flags"], head["srs"] = b"GP", _NO_BOX if kind == "Point Z" else _BOX_Z, srs
    if kind == "Point Z":
        box = vertices[:, [0, 0, 1, 1]]
    else:
        sides = [side.reduceat(vertices[:, axis], first) for axis in range(3) for side in (np.fmin, np.fmax)]
        box = np.stack(sides, axis=1) if len(first) else np.zeros((0, 6))
        # As GDAL has it, which writes a layer of few rows: no heights of a line that begins at an unknown one.
        box[np.isnan(vertices[first, 2]), 4:] = np.nan
        head["box"][as_mask(wkb.is_valid())] = box
    heads = pa.Array.from_buffers(pa.binary(head.itemsize), len(head), [None, pa.py_buffer(head)]).cast(pa.binary())
    return pc.binary_join_element_wise(heads, wkb, pa.scalar(b"", pa.binary())), box[:, :4]


def _vertices(wkb: pa.Array, kind: str) -> tuple[Floats, Ints]:
    """Take geometries apart: the vertices of all, shape (vertices, 3 or 4), and the first one of each."""
    code, before, ordinates = _GEOMETRIES[kind]
    _, offsets, octets = wkb.buffers()
    if not len(wkb):
        return np.zeros((0, ordinates)), np.zeros(0, dtype=np.int64)
    start = np.frombuffer(offsets, dtype=np.int32)[wkb.offset : wkb.offset + len(wkb) + 1].astype(np.int64)
    every = np.frombuffer(octets, dtype=np.uint8)[start[0] : start[-1]]
    is_head = np.zeros(len(every), dtype=np.bool_)
    is_head[(start[:-1, None] - start[0]) + np.arange(before)] = True
    heads = every[is_head].view([*_HEAD, *([_VERTICES] if before > 5 else [])])
    count = heads["vertices"].astype(np.int64) if before > 5 else np.ones(len(wkb), dtype=np.int64)
    expected = before + 8 * ordinates * count
    if (heads["order"] != 1).any() or (heads["type"] != code).any() or not np.array_equal(np.diff(start), expected):
        raise ValueError(f"these are not geometries of the kind {kind}, little-endian")
    return every[~is_head].view("<f8").reshape(-1, ordinates), np.cumsum(count) - count


def _fill(place: npt.NDArray[np.void], *ordinates: Floats) -> None:
    for column, values in enumerate(ordinates):
        place[:, column] = values


def _binary(records: npt.NDArray[np.void], known: Bools) -> pa.Array:
    """Make a binary column of records of one size, null where they are not known."""
    buffers = [pa.py_buffer(np.packbits(known, bitorder="little")), pa.py_buffer(records)]
    return pa.Array.from_buffers(pa.binary(records.itemsize), len(records), buffers).cast(pa.binary())
