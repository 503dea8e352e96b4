"""Rows into the tables of a GeoPackage, by Arrow's driver of SQLite.

GDAL makes each table with all that a GeoPackage says of it. Where a layer has many rows, they are put in here, in less
than GDAL's time: columns go to SQLite as Arrow holds them, and the spatial index is packed while they go by.
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

TELL_EXTENT = "UPDATE gpkg_contents SET min_x = ?, max_x = ?, min_y = ?, max_y = ? WHERE table_name = ?"
"""Tells where a layer lies: west, east, south and north."""

_STATE = re.compile(r"[A-Z_]+: (\[SQLite\] )?([Ff]ailed to [^:]+: )?")
"""What stands in the driver's messages before what went wrong; the statement stands behind it, on a line of its own."""


def fill_table(path: Path, name: str, batches: Iterable[pa.RecordBatch], geometry_type: str | None) -> None:
    """Put the rows of a layer into its table, which is empty, and tell the file how many there are and where.

    Parameters
    ----------
    path : path of the file, which nobody else has open
    name : str
    batches : iterable of pyarrow RecordBatch
        None without rows. Columns by their names in the table; geometry as well-known binary. Rows are numbered from 1.
    geometry_type : str, optional
        "Point Z", "LineString Z" or "LineString ZM", if the layer has geometry.

    Raises
    ------
    RuntimeError
        When SQLite cannot write, as where the disk is full.
    ValueError
        When a geometry is of another kind.
    """
    with _opened(path) as database:
        triggers = database.run("SELECT name, sql FROM sqlite_master WHERE type = 'trigger' AND tbl_name = ?", name)
        for trigger, _ in triggers:
            database.run(f'DROP TRIGGER "{trigger}"')
        with _numbered_by_row(database, name):
            boxes = _Boxes(database, name, geometry_type)
            rows = 0
            for batch in batches:
                database.add(name, _for_sqlite(boxes.taken(batch)))
                rows += batch.num_rows
        boxes.end()
        database.run("INSERT INTO sqlite_sequence VALUES (?, ?)", name, rows)
        database.run("UPDATE gpkg_ogr_contents SET feature_count = ? WHERE table_name = ?", rows, name)
        for _, sql in triggers:
            database.run(sql)


class _Database:
    """A file in which rows are put, by the driver's own interface: its other one takes Ctrl+C for itself."""

    def __init__(self, connection: Any) -> None:
        self._connection = connection

    def run(self, sql: str, *values: Any) -> list[tuple[Any, ...]]:
        """Run one statement, and give the rows that it finds."""
        from adbc_driver_manager import AdbcStatement

        with AdbcStatement(self._connection) as statement:
            statement.set_sql_query(sql)
            if values:
                statement.prepare()
                statement.bind(pa.RecordBatch.from_pylist([{str(at): one for at, one in enumerate(values)}]))
            found, _ = statement.execute_query()
            columns = pa.RecordBatchReader.from_stream(found).read_all().columns
        return list(zip(*(column.to_pylist() for column in columns), strict=True))

    def add(self, table: str, rows: pa.Table) -> None:
        """Put rows behind those of a table; columns that are not among them stay null."""
        from adbc_driver_manager import (
            INGEST_OPTION_MODE,
            INGEST_OPTION_MODE_APPEND,
            INGEST_OPTION_TARGET_TABLE,
            AdbcStatement,
        )

        with AdbcStatement(self._connection) as statement:
            statement.set_options(**{INGEST_OPTION_TARGET_TABLE: table, INGEST_OPTION_MODE: INGEST_OPTION_MODE_APPEND})
            statement.bind_stream(rows.to_reader())
            statement.execute_update()


class _Boxes:
    """Where a layer's geometries lie: its spatial index, packed while its rows go by, and the box of them all.

    Rows that follow one another along a route lie beside one another, and come into one node.
    """

    def __init__(self, database: _Database, name: str, kind: str | None) -> None:
        self._database, self._name, self._kind = database, name, kind
        self._rows = 0
        if kind is None:
            return
        self._index = f"rtree_{name}_{GEOMETRY}"
        self._srs = database.run("SELECT srs_id FROM gpkg_geometry_columns WHERE table_name = ?", name)[0][0]
        self._packing = rtree.Packing(database.run(f"SELECT length(data) FROM {self._index}_node")[0][0])
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
        self._database.run(f"DELETE FROM {self._index}_node WHERE nodeno = 1")
        self._put(self._packing.end())
        self._database.run(TELL_EXTENT, *self._sides.tolist(), self._name)

    def _put(self, tables: Mapping[str, pa.Table]) -> None:
        for part, table in tables.items():
            self._database.add(f"{self._index}_{part}", table)


def _for_sqlite(batch: pa.RecordBatch) -> pa.Table:
    """Give rows as SQLite takes them. Where none has a value, a column is left out: nulls cost time one by one."""
    columns = {
        field.name: _column(column)
        for field, column in zip(batch.schema, batch.columns, strict=True)
        if column.null_count < len(column)
    }
    return pa.table(columns or {batch.schema.names[0]: pa.nulls(batch.num_rows, pa.string())})


def _column(column: pa.Array) -> pa.Array:
    # As a GeoPackage holds a date: 2026-05-17.
    return column.cast(pa.string()) if pa.types.is_date(column.type) else column


@contextmanager
def _numbered_by_row(database: _Database, name: str) -> Iterator[None]:
    """Let SQLite number rows of a table one by one without noting for each that its number is used.

    What the table says of itself is the same again afterwards: that a number is never used twice.

    Source
    ------
    SQLite, "ALTER TABLE", section 8, the procedure for changes that leave the content of a file as it is (from memory).
    """
    found = database.run("SELECT sql FROM sqlite_master WHERE type = 'table' AND name = ?", name)
    if not found:
        # GDAL says nothing where its last pages do not go in.
        raise RuntimeError(f"the table {name} could not be made")
    told = found[0][0]
    _describe(database, name, told.replace(" AUTOINCREMENT", "", 1))
    yield
    _describe(database, name, told)


def _describe(database: _Database, name: str, sql: str) -> None:
    """Let the file say of a table what it is, and have that read anew."""
    database.run("PRAGMA writable_schema = ON")
    database.run("UPDATE sqlite_master SET sql = ? WHERE type = 'table' AND name = ?", sql, name)
    database.run("PRAGMA writable_schema = RESET")


@contextmanager
def _opened(path: Path) -> Iterator[_Database]:
    """Open a file for one transaction."""
    import adbc_driver_sqlite
    from adbc_driver_manager import AdbcConnection, Error

    try:
        with adbc_driver_sqlite.connect(str(path)) as file, AdbcConnection(file) as connection:
            database = _Database(connection)
            for pragma in _PRAGMAS:
                database.run(pragma)
            connection.set_autocommit(False)
            yield database
            connection.commit()
    except Error as error:
        raise RuntimeError(_STATE.sub("", str(error).partition("\n")[0])) from error
