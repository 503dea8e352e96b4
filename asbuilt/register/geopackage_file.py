"""The file of a register in a GeoPackage: made empty, and what a GIS is told of its tables."""

from __future__ import annotations

import os
import re
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pyarrow as pa
from pyproj import CRS

from asbuilt.errors import OutputError
from asbuilt.layers import geopackage
from asbuilt.register import layout
from asbuilt.register.arrow_kinds import ARROW
from asbuilt.register.store import now
from asbuilt.schema import ColumnInfo
from asbuilt.version import __version__

_INDEXES = (
    "CREATE UNIQUE INDEX joints_uid ON joints (joint_uid)",
    "CREATE INDEX joints_route ON joints (route, distance)",
    "CREATE INDEX joints_load ON joints (load_id)",
    "CREATE INDEX joints_verdict ON joints (verdict)",
    "CREATE INDEX joints_earlier_uid ON joints_earlier (joint_uid)",
    "CREATE INDEX inspections_uid ON inspections (joint_uid)",
    "CREATE INDEX inspections_load ON inspections (load_id)",
    "CREATE INDEX inspections_day ON inspections (inspected_on)",
    "CREATE INDEX inspections_inspector ON inspections (lower(inspector))",
    "CREATE INDEX findings_code ON findings (code)",
    "CREATE INDEX findings_joint ON findings (joint_uid)",
    "CREATE INDEX findings_uid ON findings (finding_uid)",
    "CREATE INDEX findings_load ON findings (load_id)",
    "CREATE INDEX finding_marks_uid ON finding_marks (finding_uid)",
    "CREATE INDEX settled_uid ON settled (joint_uid)",
    "CREATE INDEX joint_service_uid ON joint_service (joint_uid)",
    "CREATE UNIQUE INDEX loads_number ON loads (load_id)",
    "CREATE INDEX pressure_tests_load ON pressure_tests (load_id)",
    "CREATE INDEX restraint_load ON restraint (load_id)",
    "CREATE INDEX set_aside_load ON set_aside (load_id)",
    "CREATE INDEX centerline_load ON centerline (load_id)",
    "CREATE INDEX waiting_routes_load ON waiting_routes (load_id)",
    "CREATE INDEX joint_names_load ON joint_names (load_id)",
    "CREATE INDEX joint_names_uid ON joint_names (joint_uid)",
    "CREATE INDEX joint_names_route ON joint_names (route)",
)

_RELATED = (
    "CREATE TABLE gpkgext_relations (id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, base_table_name TEXT NOT NULL, "
    "base_primary_column TEXT NOT NULL DEFAULT 'id', related_table_name TEXT NOT NULL, "
    "related_primary_column TEXT NOT NULL DEFAULT 'id', relation_name TEXT NOT NULL, "
    "mapping_table_name TEXT NOT NULL UNIQUE)",
    "INSERT INTO gpkg_extensions VALUES ('gpkgext_relations', NULL, 'gpkg_related_tables', "
    "'http://www.opengis.net/doc/IS/gpkg-rte/1.0', 'read-write')",
)
"""Source: OGC GeoPackage Related Tables Extension 18-000, annex B and clause 7."""


def create(path: Path, crs: str) -> None:
    """Make an empty register; if another is made there at the same moment, that one stays.

    Parameters
    ----------
    path : path of the file, which is not there yet
    crs : str
        Coordinate system of the register.

    Raises
    ------
    OutputError
    """
    try:
        geopackage.check_target(path, "--into")
    except OutputError:
        # A journal beside a register that is there by now is that of a load into it, which is waited for when opened.
        if path.is_file():
            return
        raise
    folder = None
    try:
        folder = Path(tempfile.mkdtemp(prefix=f".{path.name}-", dir=path.resolve().parent))
        unfinished = folder / f"unfinished{path.suffix}"
        geopackage.write_geopackage(
            unfinished, _empty_layers(crs), crs=crs, units=layout.UNIT_WORDS, about=layout.REGISTER_LAYERS,
            domains=layout.REGISTER_DOMAINS,
        )  # fmt: skip
        with closing(sqlite3.connect(unfinished)) as database, database:
            _finish(database)
        _put_where_nothing_is(unfinished, path.resolve())
    except OSError as error:
        raise OutputError(f"{path}: cannot be made ({error.strerror}); check the folder's rights") from error
    finally:
        if folder is not None:
            shutil.rmtree(folder, ignore_errors=True)


def _empty_layers(crs: str) -> Iterator[geopackage.Layer]:
    for table in layout.REGISTER_LAYERS:
        columns = {name: pa.array([], ARROW[kind]) for name, kind in layout.kinds(table).items()}
        if table == "register":
            made = now()
            values = {"crs": crs, "crs_wkt": CRS(crs).to_wkt(), "made_at": made, "asbuilt_version": __version__}
            columns = {name: pa.array([values[name]]) for name in values} | {"format": pa.array([layout.FORMAT])}
        if layout.REGISTER_LAYERS[table].geometry_type is not None:
            columns["geom"] = pa.array([], pa.binary())
        yield geopackage.Layer(table, pa.table(columns))


def _finish(database: sqlite3.Connection) -> None:
    """Add what a GeoPackage library does not: indexes, and the relations that a GIS follows from a joint's form."""
    for statement in (*_INDEXES, *_RELATED):
        database.execute(statement)
    for mapping, (base, related) in layout.RELATIONS.items():
        database.execute(
            f"CREATE VIEW {mapping} AS SELECT j.fid AS base_id, r.fid AS related_id FROM {base} j "
            f"JOIN {related} r ON r.joint_uid = j.joint_uid"
        )
        # The extension has no name for related features; the requirements classes are media, attributes and tiles.
        name = "simple_attributes" if layout.REGISTER_LAYERS[related].geometry_type is None else "features"
        database.execute(
            "INSERT INTO gpkgext_relations (base_table_name, base_primary_column, related_table_name, "
            "related_primary_column, relation_name, mapping_table_name) VALUES (?, 'fid', ?, 'fid', ?, ?)",
            (base, related, name, mapping),
        )
        database.execute(
            "INSERT INTO gpkg_extensions VALUES (?, NULL, 'gpkg_related_tables', "
            "'http://www.opengis.net/doc/IS/gpkg-rte/1.0', 'read-write')",
            (mapping,),
        )


def _put_where_nothing_is(unfinished: Path, final: Path) -> None:
    with unfinished.open("rb") as file:
        os.fsync(file.fileno())
    # A link fails where a file is, so that of two registers made at once the second does not replace the first.
    try:
        os.link(unfinished, final)
    except FileExistsError:
        return
    except OSError:  # a file system without links
        if not final.exists():
            unfinished.rename(final)


def describe_what_is_new(database: sqlite3.Connection) -> None:
    """Tell a GIS of tables, columns and coded values that an earlier format did not have."""
    described = set(database.execute("SELECT table_name, column_name FROM gpkg_data_columns"))
    known = {name for (name,) in database.execute("SELECT table_name FROM gpkg_contents")}
    for table, about in layout.REGISTER_LAYERS.items():
        if table not in known:
            _add_contents(database, table)
        for name, column in about.columns.items():
            if (table, name) not in described:
                _describe(database, table, name, column)


def _add_contents(database: sqlite3.Connection, table: str) -> None:
    """Name a table among the file's, and give it a spatial index where it has a geometry."""
    about = layout.REGISTER_LAYERS[table]
    kind = "attributes" if about.geometry_type is None else "features"
    database.execute(
        "INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id) SELECT ?, ?, ?, ?, "
        "CASE ? WHEN 'features' THEN (SELECT srs_id FROM gpkg_geometry_columns WHERE table_name = 'joints') END",
        (table, kind, table, about.description.format_map(layout.UNIT_WORDS), kind),
    )
    database.execute("INSERT OR IGNORE INTO gpkg_ogr_contents VALUES (?, 0)", (table,))
    if about.geometry_type is None:
        return
    shape, _, dimensions = about.geometry_type.partition(" ")
    database.execute(
        "INSERT INTO gpkg_geometry_columns SELECT ?, 'geom', ?, srs_id, ?, ? FROM gpkg_geometry_columns "
        "WHERE table_name = 'joints'",
        (table, shape.upper(), int("Z" in dimensions), int("M" in dimensions)),
    )
    database.execute(f"CREATE VIRTUAL TABLE rtree_{table}_geom USING rtree(id, minx, maxx, miny, maxy)")
    database.execute(
        "INSERT INTO gpkg_extensions SELECT ?, column_name, extension_name, definition, scope FROM gpkg_extensions "
        "WHERE table_name = 'joints' AND extension_name = 'gpkg_rtree_index'",
        (table,),
    )


def _describe(database: sqlite3.Connection, table: str, name: str, about: ColumnInfo) -> None:
    values = layout.REGISTER_DOMAINS.get(about.domain or "", {})
    database.executemany(
        "INSERT OR IGNORE INTO gpkg_data_column_constraints VALUES (?, 'enum', ?, NULL, NULL, NULL, NULL, ?)",
        [(about.domain, value, meaning) for value, meaning in values.items()],
    )
    words = about.description.format_map(layout.UNIT_WORDS)
    database.execute(
        "INSERT INTO gpkg_data_columns VALUES (?, ?, ?, ?, ?, NULL, ?)",
        (table, name, about.title, about.title, words, about.domain),
    )


def add_spatial_triggers(database: sqlite3.Connection) -> None:
    """Give every layer the triggers of the joints that keep a spatial index up to date when a GIS edits."""
    of_joints = database.execute(
        "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' AND name LIKE 'rtree_joints_geom_%'"
    ).fetchall()
    for table, about in layout.REGISTER_LAYERS.items():
        there = {name for (name,) in database.execute(
            "SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name = ?", (table,))}  # fmt: skip
        for name, sql in of_joints if about.geometry_type is not None else ():
            if name.replace("joints", table) not in there:
                database.execute(re.sub(r"(?<![a-z])joints(?![a-z])", table, sql))
