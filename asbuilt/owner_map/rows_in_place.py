"""Single rows of a layer changed where they stand, in a GeoPackage or a Shapefile: every other row stays as it is."""

from __future__ import annotations

import datetime as dt
import sqlite3
import struct
from collections.abc import Callable, Sequence
from contextlib import closing
from pathlib import Path
from typing import Any

import pyarrow as pa

from asbuilt.errors import OutputError

_FLAGS_PLAIN = 1
"""GeoPackage geometry, little endian, no envelope. Source: OGC GeoPackage 1.3 (12-128r17), 2.1.3."""
_HEADER, _DESCRIPTOR, _END = 32, 32, 0x0D
"""Bytes of a dBASE table's header and of each of its columns, and the mark after them. Source: dBASE file format; from
memory."""
_SHX_HEADER, _SHX_RECORD, _RECORD_HEADER = 100, 8, 8
_POINT_TYPES = {1: 2, 11: 4, 21: 3}
"""Numbers in a record of Point, PointZ and PointM. Source: ESRI Shapefile Technical Description (1998); from memory."""


def update_geopackage(path: Path, layer: str, rows: Sequence[int], table: pa.Table) -> None:
    """Change rows of a GeoPackage's layer, by their row numbers.

    Parameters
    ----------
    path : path of the GeoPackage
    layer : str
    rows : sequence of int
    table : pyarrow table
        The columns to change, in the order of `rows`, with the points as well-known binary in "geom".

    Raises
    ------
    OutputError
        When the layer does not take a row.
    """
    with closing(sqlite3.connect(path)) as database:
        for name, function in _functions().items():
            database.create_function(name, 1, function, deterministic=True)
        geometry, srs = database.execute(
            "SELECT column_name, srs_id FROM gpkg_geometry_columns WHERE lower(table_name) = lower(?)", [layer]
        ).fetchone()
        about = database.execute(f"PRAGMA table_info({_quoted(layer)})").fetchall()
        key = next(name for _, name, _, _, _, primary in about if primary)
        columns = [geometry if name == "geom" else name for name in table.column_names]
        sets = ", ".join(f"{_quoted(name)} = ?" for name in columns)
        statement = f"UPDATE {_quoted(layer)} SET {sets} WHERE {_quoted(key)} = ?"
        head = b"GP" + bytes([0, _FLAGS_PLAIN]) + struct.pack("<i", srs)
        try:
            for row, values in zip(rows, table.to_pylist(), strict=True):
                given = [head + one if name == "geom" else _stored(one) for name, one in values.items()]
                if database.execute(statement, [*given, row]).rowcount != 1:
                    raise OutputError(f"map.into: row {row} of {layer} is there no more; nothing was changed")
            database.execute(
                "UPDATE gpkg_contents SET last_change = strftime('%Y-%m-%dT%H:%M:%fZ', 'now') "
                "WHERE lower(table_name) = lower(?)",
                [layer],
            )
            database.commit()
        except sqlite3.Error as error:
            raise OutputError(
                f"map.into: the layer {layer} did not take the changes ({error}); nothing was changed"
            ) from None


def _functions() -> dict[str, Callable[[bytes | None], Any]]:
    """Give the functions that the triggers of a GeoPackage's index call. Source: OGC GeoPackage 1.3, annex F.3."""
    import shapely

    def bound(at: int) -> Callable[[bytes | None], float | None]:
        def one(blob: bytes | None) -> float | None:
            geometry = _read(blob)
            return None if geometry is None or geometry.is_empty else float(geometry.bounds[at])

        return one

    def is_empty(blob: bytes | None) -> int | None:
        geometry = _read(blob)
        return None if geometry is None else int(geometry.is_empty)

    def _read(blob: bytes | None) -> Any:
        if blob is None:
            return None
        envelope = {0: 0, 1: 32, 2: 48, 3: 48, 4: 64}[(blob[3] >> 1) & 7]
        return shapely.from_wkb(bytes(blob)[8 + envelope :])

    return {"ST_MinX": bound(0), "ST_MinY": bound(1), "ST_MaxX": bound(2), "ST_MaxY": bound(3), "ST_IsEmpty": is_empty}


def _stored(value: Any) -> Any:
    if isinstance(value, dt.datetime):
        return value.strftime("%Y-%m-%dT%H:%M:%S.000Z")
    return value.isoformat() if isinstance(value, dt.date) else value


def _quoted(name: str) -> str:
    return '"' + name.replace('"', '""') + '"'


def update_shapefile(path: Path, parts: dict[str, Path], rows: Sequence[int], table: pa.Table, encoding: str) -> None:
    """Change rows of a Shapefile of points, by their row numbers, byte for byte where they stand.

    Parameters
    ----------
    path : path of the Shapefile, for messages
    parts : dict
        Its parts by their endings: .shp, .shx, .dbf.
    rows : sequence of int
    table : pyarrow table
        The columns to change, in the order of `rows`, with the points as well-known binary in "geom".
    encoding : str
        Of its texts.

    Raises
    ------
    OutputError
    """
    missing = [one for one in (".shp", ".shx", ".dbf") if one not in parts]
    if missing:
        raise OutputError(f"{path}: has no part {missing[0]}; complete the Shapefile")
    values = table.to_pylist()
    _update_dbf(parts[".dbf"], rows, values, [name for name in table.column_names if name != "geom"], encoding)
    _update_points(parts[".shp"], parts[".shx"].read_bytes(), rows, [one["geom"] for one in values])


def _update_dbf(path: Path, rows: Sequence[int], values: list[dict[str, Any]], names: list[str], encoding: str) -> None:
    content = bytearray(path.read_bytes())
    head, size = struct.unpack_from("<HH", content, 8)
    place: dict[str, tuple[int, str, int, int]] = {}
    offset, at = 1, _HEADER
    while content[at] != _END:
        name = bytes(content[at : at + 11]).split(b"\0")[0].decode(encoding, "replace")
        kind, width, decimals = chr(content[at + 11]), content[at + 16], content[at + 17]
        place[name.casefold()] = (offset, kind, width, decimals)
        offset, at = offset + width, at + _DESCRIPTOR
    for row, given in zip(rows, values, strict=True):
        for name in names:
            offset, kind, width, decimals = place[name.casefold()]
            begin = head + row * size + offset
            content[begin : begin + width] = _cell(given[name], kind, width, decimals, encoding)
    path.write_bytes(content)


def _cell(value: Any, kind: str, width: int, decimals: int, encoding: str) -> bytes:
    """Write one cell of a dBASE table."""
    if value is None:
        return (b"*" if kind in "NF" else b"0" if kind == "D" else b"?" if kind == "L" else b" ") * width
    if kind == "D":
        return str(value.strftime("%Y%m%d")).encode("ascii").ljust(width)
    if kind == "L":
        return (b"T" if value else b"F").ljust(width)
    if kind in "NF":
        text = f"{value:.{decimals}f}" if decimals else str(round(value))
        return (text if len(text) <= width else f"{value:.{max(width - 8, 0)}e}").encode("ascii").rjust(width)
    return str(value).encode(encoding).ljust(width)


def _update_points(path: Path, index: bytes, rows: Sequence[int], points: list[bytes]) -> None:
    import shapely

    content = bytearray(path.read_bytes())
    for row, wkb in zip(rows, points, strict=True):
        begin = 2 * struct.unpack_from(">i", index, _SHX_HEADER + row * _SHX_RECORD)[0] + _RECORD_HEADER
        kind = struct.unpack_from("<i", content, begin)[0]
        point = shapely.from_wkb(wkb)
        if kind not in _POINT_TYPES:
            raise OutputError(f"{path.name}: row {row} has no single point to move; nothing was changed")
        struct.pack_into("<2d", content, begin + 4, point.x, point.y)
        if kind == 11 and point.has_z:
            struct.pack_into("<d", content, begin + 20, point.z)
        low = struct.unpack_from("<4d", content, 36)
        bounds = min(low[0], point.x), min(low[1], point.y), max(low[2], point.x), max(low[3], point.y)
        struct.pack_into("<4d", content, 36, *bounds)
    path.write_bytes(content)
