"""The utility's own layer in a PostGIS database: described, and joints appended in one transaction."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pyarrow as pa

from asbuilt.errors import JobFileError, OutputError
from asbuilt.owner_map.differences import Compared, Present
from asbuilt.owner_map.fitting import Written, against, fitted
from asbuilt.owner_map.utility_map import Field, Target

if TYPE_CHECKING:
    import sqlalchemy as sa

    from asbuilt.keys.outputs import Map
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
        present = None
        if table is not None:
            _lock(connection, table)
            present = _present(connection, table, joints.column_names)
        written, compared = against(joints, present, target, placement.job, _without_password(wanted.into), notes)
        if table is None:
            table = _create(connection, schema, name, target)
        # A dry run does all of it, too, and takes it back: what the database refuses is told then already.
        if compared.new.num_rows:
            _insert(connection, table, compared.new)
        if compared.rows:
            _update(connection, table, compared)
    return replace(written, layer=wanted.layer or name)


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
    if all(inspector.has_table(one, schema=schema) for one in ("loads", "joints_earlier")):
        raise JobFileError(
            f"map.layer: the schema {schema or inspector.default_schema_name!r} holds a register, which only asbuilt "
            "load adds to; name the utility's own table"
        )
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


def _present(connection: sa.Connection, table: sa.Table, names: Sequence[str]) -> Present:
    """Read the rows that are there, each known again by its place in the table, which the lock keeps."""
    import sqlalchemy as sa

    geometry = _geometry_column(table)
    place = sa.text("ctid::text")
    columns = [table.columns[name] for name in names if name != "geom"]
    asked = sa.select(place, sa.func.ST_AsEWKB(geometry, type_=sa.LargeBinary), *columns).select_from(table)
    rows = connection.execute(asked).all()
    texts = [pa.array([_plain(row[at + 2]) for row in rows], None if rows else pa.null()) for at in range(len(columns))]
    found = {column.name: one for column, one in zip(columns, texts, strict=True)}
    points = pa.array([None if row[1] is None else bytes(row[1]) for row in rows], pa.binary())
    return Present(pa.table(found | {"geom": points}), [row[0] for row in rows])


def _plain(value: Any) -> Any:
    """Give a value of the database as one that a column of ours can hold."""
    import decimal
    import uuid

    if isinstance(value, decimal.Decimal):
        return float(value)
    return str(value) if isinstance(value, uuid.UUID) else value


def _update(connection: sa.Connection, table: sa.Table, compared: Compared) -> None:
    import sqlalchemy as sa
    from geoalchemy2 import WKBElement

    geometry = _geometry_column(table)
    for place, row in zip(compared.rows, compared.changed.to_pylist(), strict=True):
        row[geometry.name] = WKBElement(row.pop("geom"), srid=geometry.type.srid, extended=False)
        here = sa.text("ctid = CAST(:place_in_table AS tid)").bindparams(place_in_table=place)
        connection.execute(table.update().where(here).values(row))


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


def _insert(connection: sa.Connection, table: sa.Table, joints: pa.Table) -> None:
    from geoalchemy2 import WKBElement

    geometry = _geometry_column(table)
    rows = joints.rename_columns(
        [geometry.name if name == "geom" else name for name in joints.column_names]
    ).to_pylist()
    for row in rows:
        row[geometry.name] = WKBElement(row[geometry.name], srid=geometry.type.srid, extended=False)
    connection.execute(table.insert(), rows)
