"""Rows into the tables of a GeoPackage, by Arrow's driver of SQLite.

GDAL makes each table, empty, with all that a GeoPackage says of it; its rows are put in here, in less than GDAL's time:
columns go to SQLite as Arrow holds them, and the spatial index is packed when all rows are there.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa

from asbuilt.arrays import as_mask
from asbuilt.layers import rtree, shapes
from asbuilt.stored import GEOMETRY

_PRAGMAS = (
    # An unfinished file is thrown away on failure: it is flushed to disk once, at its end, not after each layer.
    "PRAGMA synchronous = OFF",
    "PRAGMA journal_mode = MEMORY",
    # In KiB. Rows go in behind one another, and no page is read again.
    "PRAGMA cache_size = -4096",
)

_STATE = re.compile(r"[A-Z_]+: (\[SQLite\] )?([Ff]ailed to [^:]+: )?")
"""What stands in the driver's messages before what went wrong; the statement stands behind it, on a line of its own."""


def fill_table(path: Path, name: str, batches: Iterable[pa.RecordBatch], geometry_type: str | None) -> int:
    """Put the rows of a layer into its table, which is empty, and tell the file how many there are and where.

    Parameters
    ----------
    path : path of the file, which nobody else has open
    name : str
    batches : iterable of pyarrow RecordBatch
        Columns by their names in the table; geometry as well-known binary. Rows are numbered from 1.
    geometry_type : str, optional
        "Point Z", "LineString Z" or "LineString ZM", if the layer has geometry.

    Returns
    -------
    int
        How many rows are in.

    Raises
    ------
    RuntimeError
        When SQLite cannot write, as where the disk is full.
    ValueError
        When a geometry is of another kind.
    """
    some = (batch for batch in batches if batch.num_rows)
    first = next(some, None)
    if first is None:
        return 0
    with _opened(path) as cursor:
        triggers = _rows(cursor, "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' AND tbl_name = ?", name)
        for trigger, _ in triggers:
            _run(cursor, f'DROP TRIGGER "{trigger}"')
        with _numbered_by_row(cursor, name):
            boxes = _Boxes(cursor, name, geometry_type)
            rows = sum(_put(cursor, name, boxes.taken(batch)) for batch in _behind(first, some))
        boxes.end()
        _run(cursor, "INSERT INTO sqlite_sequence VALUES (?, ?)", name, rows)
        _run(cursor, "UPDATE gpkg_ogr_contents SET feature_count = ? WHERE table_name = ?", rows, name)
        for _, sql in triggers:
            _run(cursor, sql)
    return rows


class _Boxes:
    """Where a layer's geometries lie: its spatial index, packed while its rows go by, and the box of them all.

    Rows that follow one another along a route lie beside one another, and come into one node.
    """

    def __init__(self, cursor: Any, name: str, kind: str | None) -> None:
        self._cursor, self._name, self._kind = cursor, name, kind
        self._rows = 0
        if kind is None:
            return
        self._index = f"rtree_{name}_{GEOMETRY}"
        self._srs = _rows(cursor, "SELECT srs_id FROM gpkg_geometry_columns WHERE table_name = ?", name)[0][0]
        self._packing = rtree.Packing(_rows(cursor, f"SELECT length(data) FROM {self._index}_node")[0][0])
        self._sides = np.array([np.inf, -np.inf] * 2)

    def taken(self, batch: pa.RecordBatch) -> pa.RecordBatch:
        """Give a batch with its geometries as a GeoPackage holds them."""
        if self._kind is not None:
            at = batch.schema.get_field_index(GEOMETRY)
            wkb = batch.column(at)
            cells, boxes = shapes.in_geopackage(wkb, self._kind, self._srs)
            self._put(self._packing.add(self._rows + 1 + np.flatnonzero(as_mask(wkb.is_valid())), *boxes.T))
            for side, (outermost, values) in enumerate(zip((np.minimum, np.maximum) * 2, boxes.T, strict=True)):
                self._sides[side] = outermost.reduce(values, initial=self._sides[side])
            batch = batch.set_column(at, GEOMETRY, cells)
        self._rows += batch.num_rows
        return batch

    def end(self) -> None:
        """Put in what is left of the index, and tell where the layer lies."""
        if self._kind is None or not np.isfinite(self._sides).all():
            return
        _run(self._cursor, f"DELETE FROM {self._index}_node WHERE nodeno = 1")
        self._put(self._packing.end())
        west, east, south, north = self._sides.tolist()
        _run(
            self._cursor,
            "UPDATE gpkg_contents SET min_x = ?, min_y = ?, max_x = ?, max_y = ? WHERE table_name = ?",
            west, south, east, north, self._name,
        )  # fmt: skip

    def _put(self, tables: Mapping[str, pa.Table]) -> None:
        for part, table in tables.items():
            self._cursor.adbc_ingest(f"{self._index}_{part}", table, mode="append")


def _put(cursor: Any, name: str, batch: pa.RecordBatch) -> int:
    """Put rows in. A column of which none has a value is left out: nulls need not be handed over one by one."""
    columns = {
        field.name: _for_sqlite(column)
        for field, column in zip(batch.schema, batch.columns, strict=True)
        if column.null_count < len(column)
    }
    columns = columns or {batch.schema.names[0]: pa.nulls(batch.num_rows, pa.string())}
    rows: int = cursor.adbc_ingest(name, pa.RecordBatch.from_pydict(columns), mode="append")
    return rows


def _for_sqlite(column: pa.Array) -> pa.Array:
    if pa.types.is_dictionary(column.type):
        return column.dictionary_decode()
    # As a GeoPackage holds a date: 2026-05-17.
    return column.cast(pa.string()) if pa.types.is_date(column.type) else column


def _behind(first: pa.RecordBatch, others: Iterator[pa.RecordBatch]) -> Iterator[pa.RecordBatch]:
    yield first
    yield from others


@contextmanager
def _numbered_by_row(cursor: Any, name: str) -> Iterator[None]:
    """Let SQLite number rows of a table one by one without noting for each that its number is used.

    What the table says of itself is the same again afterwards: that a number is never used twice.

    Source
    ------
    SQLite, "ALTER TABLE", section 8, the procedure for changes that leave the content of a file as it is (from memory).
    """
    found = _rows(cursor, "SELECT sql FROM sqlite_master WHERE type = 'table' AND name = ?", name)
    if not found:
        # GDAL says nothing where its last pages do not go in.
        raise RuntimeError(f"the table {name} could not be made")
    told = found[0][0]
    for sql in (told.replace(" AUTOINCREMENT", "", 1), told):
        _run(cursor, "PRAGMA writable_schema = ON")
        _run(cursor, "UPDATE sqlite_master SET sql = ? WHERE type = 'table' AND name = ?", sql, name)
        # Read anew.
        _run(cursor, "PRAGMA writable_schema = RESET")
        if sql is not told:
            yield


@contextmanager
def _opened(path: Path) -> Iterator[Any]:
    """Open a file for one transaction."""
    import adbc_driver_manager
    from adbc_driver_sqlite import dbapi

    try:
        with dbapi.connect(str(path), autocommit=True) as connection, connection.cursor() as cursor:
            for pragma in _PRAGMAS:
                _run(cursor, pragma)
            connection.adbc_connection.set_autocommit(False)
            yield cursor
            connection.adbc_connection.commit()
    except adbc_driver_manager.Error as error:
        raise RuntimeError(_STATE.sub("", str(error).partition("\n")[0])) from error


def _run(cursor: Any, sql: str, *values: Any) -> None:
    cursor.execute(sql, values or None)
    cursor.fetchall()


def _rows(cursor: Any, sql: str, *values: Any) -> list[tuple[Any, ...]]:
    cursor.execute(sql, values or None)
    found: list[tuple[Any, ...]] = cursor.fetchall()
    return found
