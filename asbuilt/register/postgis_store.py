"""The register in PostGIS: a schema of its own, made and brought up to date by migrations.

Rows go in by COPY; every change is one transaction under one lock, so that two loads at once take turns.
"""

from __future__ import annotations

import re
import struct
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager, nullcontext
from typing import Any, NoReturn

import numpy as np
import psycopg
import pyarrow as pa
import sqlalchemy as sa
from alembic.runtime.migration import MigrationContext
from pyproj import CRS

from asbuilt.arrays import Floats, Ints
from asbuilt.errors import InputFileError, OutputError
from asbuilt.register import layout, migrations, postgis_rows
from asbuilt.register.arrow_kinds import ARROW
from asbuilt.register.formats import format_of
from asbuilt.register.ground import Box
from asbuilt.register.incoming import Incoming
from asbuilt.register.store import PART, Store, now, quoted
from asbuilt.version import __version__

SCHEMA = "asbuilt"
WAIT_S = 60
"""Seconds to wait for another load."""

WITH_POINTS = ("joints", "findings")
_LOCK = 0x6A6F696E74  # "joint"
_BATCH = 16_384
_STATISTICS = 30
"""What the server looks at after the first load: 300 times as many rows; by itself it takes 100."""
_OWN_SRIDS = (950_000, 959_999)
"""Numbers for coordinate systems that no authority numbers; PostGIS leaves those under 999,000 to users."""

_POINT = np.dtype([("order", "u1"), ("type", "<u4"), ("srid", "<u4"), ("place", "<f8", 3)])
"""A point with elevation in PostGIS's extended well-known binary. Source: PostGIS manual, ST_AsEWKB."""
_POINT_Z, _LINE_ZM, _WITH_SRID = 0x80000001, 0xC0000002, 0x20000000
_HEAD = 5
"""Bytes of byte order and type in front of a line's vertices."""


def open_database(name: str, *, missing_ok: bool) -> PostgisStore | None:
    """Open the register of a database.

    Parameters
    ----------
    name : str
        A postgresql:// address.
    missing_ok : bool
        Give None where the database holds no register yet.

    Raises
    ------
    InputFileError, OutputError
        When there is none, or the server cannot be reached.
    """
    engine, connection = _connect(name)
    if connection.scalar(sa.text("SELECT to_regclass('asbuilt.register')")) is None:
        connection.close()
        engine.dispose()
        if missing_ok:
            return None
        raise InputFileError(f"{_shown(name)}: holds no register; asbuilt load FILE --into it makes one")
    connection.rollback()
    return PostgisStore(name, engine, connection)


def make_database(name: str, crs: str) -> PostgisStore:
    """Make an empty register in a database and open it; one that was made at the same moment is opened.

    Parameters
    ----------
    name : str
        A postgresql:// address.
    crs : str
        Coordinate system of the register.

    Raises
    ------
    OutputError
    """
    engine, connection = _connect(name)
    with _outside_errors(name), connection.begin():
        _take_turn(connection)
        connection.exec_driver_sql("CREATE EXTENSION IF NOT EXISTS postgis")
        connection.exec_driver_sql(f"CREATE SCHEMA IF NOT EXISTS {SCHEMA}")
        made = connection.scalar(sa.text("SELECT to_regclass('asbuilt.register')"))
        if made is None:
            _migrate(connection, 0, _srid(connection, CRS(crs)))
            connection.execute(
                sa.text(
                    "INSERT INTO asbuilt.register (crs, crs_wkt, made_at, asbuilt_version, format) "
                    "VALUES (:a, :b, :c, :d, :e)"
                ),
                {"a": crs, "b": CRS(crs).to_wkt(), "c": now(), "d": __version__, "e": layout.FORMAT},
            )
    return PostgisStore(name, engine, connection)


def _connect(name: str) -> tuple[sa.Engine, sa.Connection]:
    try:
        url = sa.make_url(name).set(drivername="postgresql+psycopg")
        engine = sa.create_engine(url, connect_args={"connect_timeout": 10})
        connection = engine.connect()
    except (sa.exc.SQLAlchemyError, ValueError) as error:
        reason = str(getattr(error, "orig", None) or error).strip().splitlines()[0]
        raise OutputError(f"{_shown(name)}: cannot be reached ({reason}); check the address and the server") from None
    # Names of the register come first; PostGIS's own are found wherever its extension is.
    connection.exec_driver_sql(
        f"SELECT set_config('search_path', '{SCHEMA}, ' || current_setting('search_path'), false)"
    )
    connection.commit()
    return engine, connection


def _shown(name: str) -> str:
    try:
        return sa.make_url(name).render_as_string(hide_password=True)
    except sa.exc.ArgumentError:
        return "postgresql:"


def _take_turn(connection: sa.Connection) -> None:
    connection.exec_driver_sql(f"SET LOCAL lock_timeout = '{WAIT_S}s'")
    connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({_LOCK})")


def _migrate(connection: sa.Connection, present: int, srid: int | None = None) -> None:
    """Bring the tables up to date, and say in the database what every table and column means."""
    context = MigrationContext.configure(connection, opts={"schema": SCHEMA, "srid": srid})
    migrations.bring_up(context, present)
    connection.execute(sa.text("UPDATE asbuilt.register SET format = :number"), {"number": layout.FORMAT})
    _let_readers_read(connection)
    for table, about in layout.REGISTER_LAYERS.items():
        _comment(connection, f"TABLE {SCHEMA}.{table}", about.description)
        for column, info in about.columns.items():
            said = info.description
            if info.domain is not None:
                values = layout.REGISTER_DOMAINS[info.domain]
                said += " " + "; ".join(f"{value}: {meaning}" for value, meaning in values.items())
            _comment(connection, f'COLUMN {SCHEMA}.{table}."{column}"', said)


def _let_readers_read(connection: sa.Connection) -> None:
    """Let whoever may read the joints read the tables that were made since."""
    readers = connection.execute(
        sa.text(
            "SELECT DISTINCT grantee FROM information_schema.table_privileges WHERE table_schema = 'asbuilt' "
            "AND table_name = 'joints' AND privilege_type = 'SELECT' AND grantee <> current_user"
        )
    ).scalars()
    for reader in readers.all():
        name = "PUBLIC" if reader == "PUBLIC" else connection.dialect.identifier_preparer.quote(reader)
        connection.exec_driver_sql(f"GRANT SELECT ON ALL TABLES IN SCHEMA {SCHEMA} TO {name}")


def _comment(connection: sa.Connection, on: str, description: str) -> None:
    words = description.format_map(layout.UNIT_WORDS) if "{" in description else description
    literal = words.replace("'", "''").replace("%", "%%")
    connection.exec_driver_sql(f"COMMENT ON {on} IS '{literal}'")


def _srid(connection: sa.Connection, crs: CRS) -> int:
    """Find the number by which PostGIS knows a coordinate system, or give it one."""
    authority = crs.to_authority()
    wkt = crs.to_wkt("WKT1_GDAL")
    if authority is not None and authority[1].isdigit():
        srid = int(authority[1])
        if connection.scalar(sa.text("SELECT 1 FROM spatial_ref_sys WHERE srid = :srid"), {"srid": srid}):
            return srid
    else:
        low, high = _OWN_SRIDS
        limits = {"low": low, "high": high, "wkt": wkt}
        found = connection.scalar(
            sa.text("SELECT srid FROM spatial_ref_sys WHERE srtext = :wkt AND srid BETWEEN :low AND :high"), limits
        )
        if found is not None:
            return int(found)
        top = sa.text("SELECT coalesce(max(srid), :low - 1) FROM spatial_ref_sys WHERE srid BETWEEN :low AND :high")
        srid, authority = int(connection.scalar(top, limits) or low) + 1, ("asbuilt", "0")
    connection.execute(
        sa.text("INSERT INTO spatial_ref_sys VALUES (:srid, :name, :number, :wkt, :proj)"),
        {"srid": srid, "name": authority[0], "number": int(authority[1]), "wkt": wkt, "proj": crs.to_proj4()},
    )
    return srid


_MAY_STAGE = (
    "SELECT has_database_privilege(current_database(), 'TEMPORARY') AND NOT pg_is_in_recovery() "
    "AND current_setting('transaction_read_only') = 'off'"
)
"""Whether temporary tables can be made: not without the right to, nor on a standby, nor by a role that only reads."""


@contextmanager
def _outside_errors(name: str) -> Iterator[None]:
    """Turn what is wrong with the server, its locks, rights or disk into one message."""
    try:
        yield
    except (sa.exc.DBAPIError, psycopg.Error) as error:
        original = error.orig if isinstance(error, sa.exc.DBAPIError) else error
        if isinstance(original, psycopg.Error):
            _explain(name, original, error)
        raise


def _explain(name: str, original: psycopg.Error, error: Exception) -> NoReturn:
    shown = _shown(name)
    state = original.sqlstate or ""
    reason = str(original).strip().splitlines()[0] if str(original).strip() else type(original).__name__
    if state in ("55P03", "40P01"):
        raise OutputError(f"{shown}: another load is being written; try again later. Nothing was changed") from error
    if state.startswith("53"):
        raise OutputError(f"{shown}: the server has no room ({reason}). Nothing was changed") from error
    if state == "42501":
        raise OutputError(f"{shown}: this user may not do that ({reason}). Nothing was changed") from error
    # Class 08 is a lost connection, 57P a server that is shut down; without a state the client noticed it.
    if state.startswith(("08", "57P")) or (not state and isinstance(original, psycopg.OperationalError)):
        raise OutputError(
            f"{shown}: the connection was lost ({reason}). The register is whole; do it again: what "
            "it has is recognised"
        ) from error
    raise error


class PostgisStore(Store):
    """A register in PostGIS."""

    def __init__(self, name: str, engine: sa.Engine, connection: sa.Connection) -> None:
        self.name = _shown(name)
        self._address = name
        self._engine, self._connection = engine, connection
        self._empty = False
        self._staged: dict[str, pa.Table] = {}
        with _outside_errors(name):
            self._may_stage = bool(self.rows(_MAY_STAGE)[0][0])
            self.crs_wkt = str(self.rows("SELECT crs_wkt FROM register")[0][0])
            self._srid = int(self.rows(f"SELECT Find_SRID('{SCHEMA}', 'joints', 'geom')")[0][0])
            connection.rollback()

    def column_names(self, table: str) -> set[str]:
        found = self.rows(
            "SELECT attname FROM pg_attribute WHERE attrelid = to_regclass(:name) AND attnum > 0 AND NOT attisdropped",
            name=f"{SCHEMA}.{table}",
        )
        return {str(name) for (name,) in found}

    def damage(self) -> str | None:
        # A server holds every column to its kind, and its pages by itself.
        return None

    def update_format(self) -> None:
        self._connection.rollback()
        with _outside_errors(self._address), self._connection.begin():
            _take_turn(self._connection)
            _migrate(self._connection, format_of(self), self._srid)

    def close(self) -> None:
        self._connection.close()
        self._engine.dispose()

    def rows(self, sql: str, **values: Any) -> list[tuple[Any, ...]]:
        return [tuple(row) for row in self._run(sql, values)]

    def parts(self, sql: str, **values: Any) -> Iterator[list[tuple[Any, ...]]]:
        # The answer is held as the server sent it, and read some rows at a time. A cursor of the server's would be
        # planned for its first rows, and not for all.
        for rows in self._run(sql, values).partitions(PART):
            yield [tuple(row) for row in rows]

    def execute(self, sql: str, **values: Any) -> int:
        return self._run(sql, values).rowcount

    def _run(self, sql: str, values: dict[str, Any]) -> sa.CursorResult[Any]:
        sql, more = self._with_staged(sql)
        values = values | more
        # A single colon and a name is a value; two are a cast.
        return self._connection.exec_driver_sql(re.sub(r"(?<!:):([a-z]\w*)", r"%(\1)s", sql), values)

    def _with_staged(self, sql: str) -> tuple[str, dict[str, Any]]:
        """Put staged columns into the question itself, where this user may make no table, not even a temporary one."""
        values: dict[str, Any] = {}
        parts = []
        for name in [one for one in self._staged if re.search(rf"\b{one}\b", sql)]:
            table = self._staged[name]
            keys = {column: f"{name}_{column}_staged" for column in table.column_names}
            values |= {keys[column]: table[column].to_pylist() for column in table.column_names}
            arrays = ", ".join(f"CAST(:{keys[one.name]} AS {_sql_type(one.type)}[])" for one in table.schema)
            parts.append(f"{name} ({quoted(table.column_names)}) AS MATERIALIZED (SELECT * FROM unnest({arrays}))")
        return f"WITH {', '.join(parts)} {sql}" if parts else sql, values

    @contextmanager
    def reading(self) -> Iterator[None]:
        with _outside_errors(self._address):
            self._connection.exec_driver_sql("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
            try:
                yield
            finally:
                self._connection.rollback()

    @contextmanager
    def changing(self, incoming: Incoming | None = None) -> Iterator[None]:
        with _outside_errors(self._address), self._connection.begin():
            _take_turn(self._connection)
            self._empty = not self.rows("SELECT 1 FROM joints UNION ALL SELECT 1 FROM findings LIMIT 1")
            yield

    def stage(self, name: str, columns: Mapping[str, Sequence[Any] | Ints | Floats | pa.Array]) -> None:
        arrays = {column: _plain(_array(values)) for column, values in columns.items()}
        count = len(next(iter(arrays.values())))
        if not self._may_stage:
            self._staged[name] = pa.table({"nr": np.arange(count), **arrays})
            return
        types = [f'"{column}" {_sql_type(array.type)}' for column, array in arrays.items()]
        self.execute(f"DROP TABLE IF EXISTS pg_temp.{name}")
        self.execute(f"CREATE TEMP TABLE {name} (nr bigint PRIMARY KEY, {', '.join(types)}) ON COMMIT DROP")
        self._copy(f"pg_temp.{name}", pa.table({"nr": np.arange(count), **arrays}))
        self.execute(f"ANALYZE pg_temp.{name}")

    def _copy(self, table: str, rows: pa.Table) -> None:
        raw = self._connection.connection.driver_connection
        assert raw is not None
        statement = f"COPY {table} ({quoted(rows.column_names)}) FROM STDIN (FORMAT binary)"
        # While the server takes in one batch, the next one is written.
        with ThreadPoolExecutor(1) as beside, raw.cursor() as cursor, cursor.copy(statement) as copy:
            waiting: list[Future[memoryview]] = []
            copy.write(postgis_rows.HEAD)
            for batch in rows.to_batches(max_chunksize=_BATCH):
                waiting.append(beside.submit(postgis_rows.written, batch))
                if len(waiting) > 1:
                    copy.write(waiting.pop(0).result())
            for one in waiting:
                copy.write(one.result())
            copy.write(postgis_rows.TAIL)

    def add(
        self,
        table: str,
        incoming: Incoming,
        layer: str,
        rows: Ints,
        more: Mapping[str, Sequence[Any] | Ints | Floats],
        same: Mapping[str, str | int],
    ) -> None:
        if not len(rows):
            return
        theirs = incoming.tables[layer]
        if len(rows) != theirs.num_rows or (np.diff(rows) < 0).any():
            theirs = theirs.take(pa.array(rows))
        known = layout.kinds(table)
        columns = {name: theirs[name] for name in theirs.column_names if name in known}
        columns |= {name: _array(values) for name, values in more.items() if name in known or name == "fid"}
        columns |= {name: pa.repeat(value, len(rows)) for name, value in same.items()}
        if table in WITH_POINTS:
            columns["geom"] = self._points(*(np.asarray(more[name]) for name in ("easting", "northing", "elevation")))
        elif table == layout.LINES:
            columns["geom"] = self._lines([incoming.lines[at] for at in rows])
        # A server takes no value of another type than its column's: not a day as a text, as a merge keeps it.
        types = [(name, ARROW[known[name]] if name in known else one.type) for name, one in columns.items()]
        with self._without_indexes(table) if self._empty else nullcontext():
            self._copy(f"{SCHEMA}.{table}", pa.table(columns).cast(pa.schema(types)))
        if "fid" in more:
            self._count_on(table)

    @contextmanager
    def _without_indexes(self, table: str) -> Iterator[None]:
        """Set indexes and keys of a table aside, and foreign keys to it: made anew over many rows they cost far less.

        This keeps readers out until the load is done, so it is done only while there is nothing to read.
        """
        named = {"name": f"{SCHEMA}.{table}"}
        indexes = self.rows(
            "SELECT i.indexname, i.indexdef FROM pg_indexes i WHERE i.schemaname = :schema AND i.tablename = :table "
            "AND NOT EXISTS (SELECT 1 FROM pg_constraint c WHERE c.conname = i.indexname)",
            schema=SCHEMA,
            table=table,
        )
        # Keys before the foreign keys that rest on them.
        keys = self.rows(
            "SELECT CAST(CAST(conrelid AS regclass) AS text), conname, pg_get_constraintdef(oid) FROM pg_constraint "
            "WHERE contype IN ('p', 'u', 'f') AND CAST(:name AS regclass) IN (conrelid, confrelid) "
            "ORDER BY contype = 'f', conname",
            **named,
        )
        for of, name, _ in reversed(keys):
            self.execute(f'ALTER TABLE {of} DROP CONSTRAINT "{name}"')
        for name, _ in indexes:
            self.execute(f'DROP INDEX {SCHEMA}."{name}"')
        yield
        for _, definition in indexes:
            self.execute(definition)
        for of, name, definition in keys:
            self.execute(f'ALTER TABLE {of} ADD CONSTRAINT "{name}" {definition}')
        # Else the server would take the table for empty for a while, and look at every row of it. A short look will
        # do until the server takes a longer one by itself.
        self.execute(f"SET LOCAL default_statistics_target = {_STATISTICS}")
        self.execute(f"ANALYZE {SCHEMA}.{table}")

    def _count_on(self, table: str) -> None:
        """Let the numbers of rows go on behind those given here."""
        self.execute(
            f"SELECT setval(pg_get_serial_sequence('{SCHEMA}.{table}', 'fid'), (SELECT max(fid) FROM {table})) "
            f"WHERE EXISTS (SELECT 1 FROM {table})"
        )

    def _points(self, easting: Floats, northing: Floats, elevation: Floats) -> pa.Array:
        """Make points in extended well-known binary; null where a place is unknown."""
        record = np.empty(len(easting), dtype=_POINT)
        record["order"], record["type"], record["srid"] = 1, _POINT_Z | _WITH_SRID, self._srid
        record["place"] = np.stack([easting, northing, elevation], axis=1)
        return postgis_rows.octets(record, np.isfinite(easting) & np.isfinite(northing))

    def _lines(self, wkb: Sequence[bytes]) -> pa.Array:
        """Make lines in extended well-known binary."""
        head = struct.pack("<BII", 1, _LINE_ZM | _WITH_SRID, self._srid)
        return pa.array([head + line[_HEAD:] for line in wkb], pa.binary())

    def restore(self, earlier: Ints) -> None:
        if not len(earlier):
            return
        self.stage("back", {"fid": earlier})
        names = list(layout.kinds("joints"))
        self.execute(
            f"INSERT INTO joints ({quoted(names)}, geom) SELECT {quoted(names, 'e.')}, ST_SetSRID(ST_MakePoint("
            f"e.easting, e.northing, coalesce(e.elevation, 'NaN')), {self._srid}) FROM back b "
            "JOIN joints_earlier e ON e.fid = b.fid ORDER BY b.nr"
        )
        self.execute("DELETE FROM joints_earlier WHERE fid IN (SELECT fid FROM back)")

    def remove_joints(self, staged: str) -> None:
        self.execute(f"DELETE FROM joints WHERE fid IN (SELECT fid FROM {staged})")

    def remove_rows(self, table: str, load: int) -> None:
        self.execute(f"DELETE FROM {table} WHERE load_id = :load", load=load)

    def near(self, staged: str) -> str:
        return (
            f"{staged} s JOIN joints j ON j.geom && ST_MakeEnvelope(s.easting - :reach_east, "
            f"s.northing - :reach_north, s.easting + :reach_east, s.northing + :reach_north, {self._srid})"
        )

    def inside(self, box: Box, table: str = "joints") -> str:
        west, south, east, north = (f"{float(side)!r}" for side in box)
        return f"j.geom && ST_MakeEnvelope({west}, {south}, {east}, {north}, {self._srid})"

    def of_run(self, key: str) -> str:
        return f"(CAST(l.run AS json) ->> '{key}')"

    def day(self, text: str) -> str:
        return f"CAST({text} AS date)"

    def shapes(self, cells: Sequence[Any]) -> Any:
        import shapely

        return shapely.from_wkb(list(cells))

    def next_fid(self, table: str) -> int:
        return 1 + int(self.rows(f"SELECT coalesce(max(fid), 0) FROM {table}")[0][0])


def _array(values: Sequence[Any] | Ints | Floats | pa.Array) -> pa.Array:
    if isinstance(values, pa.Array):
        return values
    if isinstance(values, np.ndarray):
        return pa.array(values, from_pandas=True)  # NaN is unknown
    return pa.array(values, pa.string())


def _plain(values: pa.Array) -> pa.Array:
    """Give whole numbers, numbers and texts as the one type of each that a staged table has; all else is text."""
    if pa.types.is_integer(values.type):
        return values.cast(pa.int64())
    return values.cast(pa.float64() if pa.types.is_floating(values.type) else pa.string())


def _sql_type(kind: pa.DataType) -> str:
    if pa.types.is_integer(kind):
        return "bigint"
    return "double precision" if pa.types.is_floating(kind) else "text"
