"""The utility's own layer in a PostGIS database: described, and joints appended in one transaction."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import pyarrow as pa

from asbuilt.errors import JobFileError, OutputError
from asbuilt.owner_map import utility_map
from asbuilt.owner_map.fitting import Written, fitted, key_columns, without_present
from asbuilt.owner_map.utility_map import Field, Target

if TYPE_CHECKING:
    import sqlalchemy as sa

    from asbuilt.job import Map
    from asbuilt.placement import Placement

_LOOKUP_LIMIT = 10_000
"""A table that others refer to and that has more rows is no list of coded values."""


def write_postgis(placement: Placement, wanted: Map, *, dry_run: bool) -> Written:
    """Append a job's joints to a table of a PostGIS database, or make it; all of them, or none.

    Parameters
    ----------
    placement : Placement
    wanted : Map
    dry_run : bool
        Only say what would happen.

    Raises
    ------
    JobFileError
        When a value does not fit its column, or the table cannot be named.
    OutputError
        When the database cannot be reached, or does not take the joints.
    """
    schema, name = _table_name(wanted)
    with _transaction(wanted.into, dry_run=dry_run) as connection:
        table = _reflected(connection, schema, name)
        found = _describe(connection, table) if table is not None else None
        target, joints, notes = fitted(placement, wanted, found)
        if table is None:
            new = joints
        else:
            _lock(connection, table)
            new = without_present(joints, target, wanted, _present_keys(connection, table, target, wanted))
        count = joints.num_rows
        written = Written(
            _without_password(wanted.into), wanted.layer or name, table is None, count, count - new.num_rows, notes
        )
        if dry_run or not written.added:
            return written
        if table is None:
            table = _create(connection, schema, name, target)
        _insert(connection, table, target, new)
    return written


def _table_name(wanted: Map) -> tuple[str | None, str]:
    if wanted.layer is None:
        raise JobFileError("map.layer: this key is required for a database; name the table, or schema.table")
    schema, _, name = wanted.layer.rpartition(".")
    return schema or None, name


@contextmanager
def _transaction(url: str, *, dry_run: bool) -> Iterator[sa.Connection]:
    """Give a connection whose changes are kept together at the end, or not at all."""
    try:
        import geoalchemy2  # noqa: F401 (makes geometry known to the database library)
        import sqlalchemy as sa
    except ImportError:
        raise OutputError(
            "map.into: writing to PostGIS needs more libraries; install them with pip install 'asbuilt[postgis]'"
        ) from None
    try:
        engine = sa.create_engine(sa.make_url(url).set(drivername="postgresql+psycopg"))
    except sa.exc.ArgumentError:
        raise JobFileError(
            "map.into: this is no database URL; write it like postgresql://user@server/database"
        ) from None
    try:
        with engine.connect() as connection:
            yield connection
            if not dry_run:
                connection.commit()
    except sa.exc.SQLAlchemyError as error:
        reason = str(getattr(error, "orig", None) or error).strip().splitlines()[0]
        raise OutputError(f"map.into: {_without_password(url)}: {reason}; nothing was changed") from None
    finally:
        engine.dispose()


def _without_password(url: str) -> str:
    import sqlalchemy as sa

    return sa.make_url(url).render_as_string(hide_password=True)


def _reflected(connection: sa.Connection, schema: str | None, name: str) -> sa.Table | None:
    import sqlalchemy as sa

    inspector = sa.inspect(connection)
    if schema is not None and schema not in inspector.get_schema_names():
        raise JobFileError(f"map.layer: the database has no schema {schema!r}; make it, or correct map.layer")
    if name in inspector.get_view_names(schema):
        raise JobFileError(f"map.layer: {name!r} is a view; name a table")
    if not inspector.has_table(name, schema=schema):
        return None
    return sa.Table(name, sa.MetaData(), schema=schema, autoload_with=connection, resolve_fks=False)


def _describe(connection: sa.Connection, table: sa.Table) -> Target:
    geometry = _geometry_column(table)
    generated = {
        column.name
        for column in table.columns
        if column.identity is not None or column.computed is not None or column.autoincrement is True
    }
    serial = {
        column.name
        for column in table.columns
        if column.server_default is not None and "nextval(" in str(getattr(column.server_default, "arg", ""))
    }
    fields = tuple(_field(connection, column) for column in table.columns if column.name != geometry.name)
    kind = str(geometry.type.geometry_type or "GEOMETRY").upper()
    plain = {"POINT": "Point", "MULTIPOINT": "MultiPoint", "GEOMETRY": "Geometry"}
    base = kind.removesuffix("M").removesuffix("Z")
    has_z = kind.endswith(("Z", "ZM")) or geometry.type.dimension == 3
    return Target(
        table.name, fields, plain.get(base, base.title()), has_z, _crs(connection, geometry.type.srid),
        frozenset(generated | serial),
    )  # fmt: skip


def _geometry_column(table: sa.Table) -> Any:
    from geoalchemy2 import Geometry

    found = [column for column in table.columns if isinstance(column.type, Geometry)]
    if len(found) != 1:
        raise JobFileError(
            f"map.layer: {table.name!r} has {len(found)} columns of geometry; name a table with one, of points"
        )
    return found[0]


def _crs(connection: sa.Connection, srid: int) -> str | None:
    import sqlalchemy as sa

    row = connection.execute(
        sa.text("SELECT auth_name, auth_srid, srtext FROM spatial_ref_sys WHERE srid = :srid"), {"srid": srid}
    ).first()
    if row is None:
        return None
    return f"{row.auth_name}:{row.auth_srid}" if row.auth_name and row.auth_srid else str(row.srtext)


def _field(connection: sa.Connection, column: Any) -> Field:
    import sqlalchemy as sa

    required = not column.nullable and column.server_default is None and column.identity is None
    allowed = _lookup(connection, column)
    kind = column.type
    about: dict[str, Any] = {"required": required, "allowed": allowed}
    if isinstance(kind, sa.Enum):
        return Field(column.name, "text", **about | {"allowed": frozenset(kind.enums)})
    if isinstance(kind, sa.String):
        return Field(column.name, "text", width=kind.length, **about)
    if isinstance(kind, sa.Integer):
        bits = 16 if isinstance(kind, sa.SmallInteger) else 64 if isinstance(kind, sa.BigInteger) else 32
        return Field(column.name, "integer", least=-(2.0 ** (bits - 1)), most=2.0 ** (bits - 1) - 1, **about)
    if isinstance(kind, sa.Float):
        return Field(column.name, "real", **about)
    if isinstance(kind, sa.Numeric):
        scale = kind.scale or 0
        most = None if kind.precision is None else 10.0 ** (kind.precision - scale) - 10.0**-scale
        bounds = {} if most is None else {"least": -most, "most": most}
        return Field(column.name, "real", **about | bounds)
    plain: tuple[tuple[Any, Any], ...] = (
        (sa.Boolean, "boolean"), (sa.Date, "date"), (sa.DateTime, "datetime"), (sa.Uuid, "uuid"),
    )  # fmt: skip
    return Field(column.name, next((word for type_, word in plain if isinstance(kind, type_)), "other"), **about)


def _lookup(connection: sa.Connection, column: Any) -> frozenset[str] | None:
    """Give the coded values of a column that refers to a lookup table."""
    import sqlalchemy as sa

    for key in column.foreign_keys:
        schema, _, rest = str(key.target_fullname).rpartition(".")[0].rpartition(".")
        there = sa.table(rest, sa.column(str(key.target_fullname).rpartition(".")[2]), schema=schema or None)
        values = connection.execute(sa.select(*there.columns).limit(_LOOKUP_LIMIT + 1)).scalars().all()
        if len(values) <= _LOOKUP_LIMIT:
            return frozenset(map(str, values))
    return None


def _lock(connection: sa.Connection, table: sa.Table) -> None:
    """Keep others from adding the same joints until this is done; reading goes on."""
    import sqlalchemy as sa

    name = connection.dialect.identifier_preparer.format_table(table)
    connection.execute(sa.text(f"LOCK TABLE {name} IN SHARE ROW EXCLUSIVE MODE"))


def _present_keys(connection: sa.Connection, table: sa.Table, target: Target, wanted: Map) -> pa.Array:
    import sqlalchemy as sa

    columns = key_columns(target, wanted)
    rows = connection.execute(sa.select(*(table.columns[name] for name in columns))).all()
    texts = [[None if value is None else str(value) for value in column] for column in zip(*rows, strict=True)]
    if not texts:
        return pa.array([], pa.string())
    return utility_map.keys(pa.table([pa.array(one, pa.string()) for one in texts], columns), columns)


def _create(connection: sa.Connection, schema: str | None, name: str, target: Target) -> sa.Table:
    import sqlalchemy as sa
    from geoalchemy2 import Geometry
    from pyproj import CRS

    code = CRS(target.crs).to_epsg()
    if code is None:
        raise JobFileError(
            f"map.crs: {CRS(target.crs).name} has no EPSG number, so no table can be made in it; name one"
        )
    kinds: dict[str, Any] = {
        "integer": sa.BigInteger(),
        "real": sa.Float(53),
        "date": sa.Date(),
        "boolean": sa.Boolean(),
    }
    columns = [
        sa.Column(one.name, sa.String(one.width) if one.kind == "text" else kinds[one.kind]) for one in target.fields
    ]
    kind, dimension = ("POINTZ", 3) if target.has_z else ("POINT", 2)
    made = sa.Table(
        name, sa.MetaData(), sa.Column("id", sa.BigInteger, sa.Identity(), primary_key=True), *columns,
        sa.Column("geom", Geometry(kind, srid=code, dimension=dimension, spatial_index=True)), schema=schema,
    )  # fmt: skip
    made.create(connection)
    return made


def _insert(connection: sa.Connection, table: sa.Table, target: Target, joints: pa.Table) -> None:
    from geoalchemy2 import WKBElement

    geometry = _geometry_column(table)
    rows = joints.rename_columns(
        [geometry.name if name == "geom" else name for name in joints.column_names]
    ).to_pylist()
    for row in rows:
        row[geometry.name] = WKBElement(row[geometry.name], srid=geometry.type.srid, extended=False)
    connection.execute(table.insert(), rows)
