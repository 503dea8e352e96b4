"""Layers into a GeoPackage, whole or not at all, with what every column means and a default map style inside.

The file is written beside its final name and renamed when complete; an earlier file stays as it was until then.
"""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Iterable, Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass
from importlib import resources
from itertools import chain, islice
from pathlib import Path

import pyarrow as pa

from asbuilt.errors import OutputError
from asbuilt.held import give_back
from asbuilt.layers import outputs
from asbuilt.layers.filling import TELL_EXTENT, fill_table
from asbuilt.layers.shapes import in_geopackage
from asbuilt.schema import DOMAINS, LAYERS, LayerInfo
from asbuilt.stored import GEOMETRY
from asbuilt.waiting import ROWS, Rows

VERSION = "1.3"
"""OGC GeoPackage 12-128r17; the latest version that desktop GIS of 2022 opens without a warning."""

_GEOMETRY_NAMES = {"Point Z": "Point Z", "LineString Z": "LineString Z", "LineString ZM": "Measured 3D LineString"}
"""What pyogrio calls them."""

# Wide rows pack better into pages of 16 KB than into SQLite's usual 4 KB: smaller files, written faster.
_GDAL_OPTIONS = {
    "OGR_SQLITE_PRAGMA": "page_size=16384",
    # An unfinished file is thrown away on failure: it is flushed to disk once, at its end, not after each layer.
    "OGR_SQLITE_SYNCHRONOUS": "OFF",
    "OGR_SQLITE_JOURNAL": "MEMORY",
}

_SCHEMA_EXTENSION = (
    "CREATE TABLE IF NOT EXISTS gpkg_extensions (table_name TEXT, column_name TEXT, extension_name TEXT NOT NULL, "
    "definition TEXT NOT NULL, scope TEXT NOT NULL, "
    "CONSTRAINT ge_tce UNIQUE (table_name, column_name, extension_name))",
    "CREATE TABLE gpkg_data_columns (table_name TEXT NOT NULL, column_name TEXT NOT NULL, name TEXT, title TEXT, "
    "description TEXT, mime_type TEXT, constraint_name TEXT, "
    "CONSTRAINT pk_gdc PRIMARY KEY (table_name, column_name), CONSTRAINT gdc_tn UNIQUE (table_name, name))",
    "CREATE TABLE gpkg_data_column_constraints (constraint_name TEXT NOT NULL, constraint_type TEXT NOT NULL, "
    "value TEXT, min NUMERIC, min_is_inclusive BOOLEAN, max NUMERIC, max_is_inclusive BOOLEAN, description TEXT, "
    "CONSTRAINT gdcc_ntv UNIQUE (constraint_name, constraint_type, value))",
    "INSERT INTO gpkg_extensions SELECT name, NULL, 'gpkg_schema', "
    "'http://www.geopackage.org/spec130/#extension_schema', 'read-write' FROM sqlite_master "
    "WHERE name IN ('gpkg_data_columns', 'gpkg_data_column_constraints')",
)
"""Source: GeoPackage 1.3, annex F.9 (Schema) and clause 2.3 (Extension Mechanism)."""

_STYLES_TABLE = (
    "CREATE TABLE layer_styles (id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, f_table_catalog TEXT(256), "
    "f_table_schema TEXT(256), f_table_name TEXT(256), f_geometry_column TEXT(256), styleName TEXT(30), "
    "styleQML TEXT, styleSLD TEXT, useAsDefault BOOLEAN, description TEXT, owner TEXT(30), ui TEXT(30), "
    "update_time DATETIME DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')))"
)
"""A convention of open desktop GIS, known to GDAL too; not part of the standard."""


@dataclass(frozen=True)
class Layer:
    """A layer of `asbuilt.schema.LAYERS` and its rows."""

    name: str
    table: pa.Table | Rows
    """Columns by name; geometry, if the layer has any, as ISO WKB in the binary column "geom"."""


def write_geopackage(
    path: Path,
    layers: Iterable[Layer],
    *,
    crs: str,
    units: Mapping[str, str],
    about: Mapping[str, LayerInfo] = LAYERS,
    domains: Mapping[str, Mapping[str, str]] = DOMAINS,
) -> None:
    """Write layers to a GeoPackage, whole or not at all.

    Parameters
    ----------
    path : path of the file; an earlier file there is replaced only when the new one is complete
    layers : iterable of Layer
        Taken one by one, so that only one table need be in memory at a time.
    crs : str
        Coordinate system of the geometries, as well-known text or like "EPSG:6418".
    units : mapping
        Words for "unit", "station_unit" and "reading_unit" in the descriptions of columns.
    about, domains : mapping, optional
        What describes the layers and their coded values, if not `asbuilt.schema`.

    Raises
    ------
    OutputError
        When the file cannot be written there.
    ValueError
        When a layer or column has no description.

    Source
    ------
    OGC GeoPackage Encoding Standard 1.3 (12-128r17), with its extensions for schemas and R-trees.

    Examples
    --------
    >>> import tempfile
    >>> folder = tempfile.TemporaryDirectory()
    >>> import numpy as np
    >>> from asbuilt.layers.shapes import points_wkb
    >>> place = points_wkb(np.array([6.7e6]), np.array([2.0e6]), np.array([50.0]))
    >>> table = pa.table({"joint": ["101"], "verdict": ["within"], "geom": place})
    >>> path = Path(folder.name, "joints.gpkg")
    >>> write_geopackage(path, [Layer("joints", table)], crs="EPSG:6418", units={"unit": "US survey feet"})
    >>> import geopandas as gpd
    >>> gpd.read_file(path, layer="joints").verdict.tolist()
    ['within']
    >>> folder.cleanup()
    """
    check_target(path)
    with outputs.put_in_place(path, option="--out") as unfinished:
        fill(unfinished, layers, path=path, crs=crs, units=units, about=about, domains=domains)


def fill(
    unfinished: Path,
    layers: Iterable[Layer],
    *,
    path: Path,
    crs: str,
    units: Mapping[str, str],
    about: Mapping[str, LayerInfo] = LAYERS,
    domains: Mapping[str, Mapping[str, str]] = DOMAINS,
) -> None:
    """Write layers to a GeoPackage that is put in its place afterwards.

    Parameters
    ----------
    unfinished : path of the file; none is there
    path : where it is put, for messages
    layers, crs, units, about, domains : as for `write_geopackage`

    Raises
    ------
    OutputError, ValueError
        As for `write_geopackage`.
    """
    rows: dict[str, int] = {}
    for layer in layers:
        with _write_errors(path):
            _write_layer(unfinished, layer, described(layer, about), crs, units, append=bool(rows))
        rows[layer.name] = layer.table.num_rows
        # Without this the table would stay in memory while the next one is made.
        del layer
        give_back(max(rows.values()))
    # Committing this also flushes the whole file to disk, so that the renaming cannot outrun the data.
    with _write_errors(path), closing(sqlite3.connect(unfinished)) as database, database:
        _prove_rows(database, rows)
        _describe_columns(database, {name: about[name] for name in rows}, domains, units)
        _add_styles(database, rows)


def check_target(path: Path, key: str = "output.path or --out") -> None:
    """Refuse a name under which no GeoPackage can be written.

    Parameters
    ----------
    path : path of the file
    key : where another one is named, for messages

    Raises
    ------
    OutputError
    """
    with _write_errors(path):
        final = path.resolve()
        if path.suffix.lower() != ".gpkg":
            raise OutputError(f"{path}: the name of a GeoPackage ends in .gpkg; name it so in {key}")
        if final.is_dir():
            raise OutputError(f"{path}: this is a folder; name a file in {key}")
        if not final.parent.is_dir():
            raise OutputError(f"{path}: there is no folder {final.parent}; make it, or correct {key}")
        refuse_open(path, f"name another one with {key}")


def refuse_open(path: Path, otherwise: str) -> None:
    """Refuse a GeoPackage that a program has open for editing.

    Parameters
    ----------
    path : path of the file
    otherwise : what else the person may do, for the message

    Raises
    ------
    OutputError
    """
    final = path.resolve()
    for suffix in ("-wal", "-journal"):
        side = final.with_name(final.name + suffix)
        # SQLite would take what it holds for changes of the new file, and spoil that file for good.
        if side.exists():
            raise OutputError(
                f"{path}: a program has this file open for editing, or did not end well ({side.name} lies beside it); "
                f"close the file there, or {otherwise}"
            )


@contextmanager
def _write_errors(path: Path) -> Iterator[None]:
    """Turn what the operating system and the libraries say of a failed write into one message."""
    try:
        with outputs.write_errors(path, "--out"):
            yield
    except (RuntimeError, sqlite3.Error) as error:
        reason = str(error).rpartition("failed: ")[2]
        free = shutil.disk_usage(path.resolve().parent).free / 1e6
        raise OutputError(
            f"{path}: cannot be written ({reason}; {free:.0f} MB are free there); make room, or choose another place "
            "with --out"
        ) from error


def _write_layer(
    path: Path, layer: Layer, about: LayerInfo, crs: str, units: Mapping[str, str], *, append: bool
) -> None:
    from pyogrio.raw import write_arrow

    options = {"FID": "fid", "DESCRIPTION": about.description.format_map(units)}
    geometry = {}
    if about.geometry_type is not None:
        options |= {"GEOMETRY_NAME": GEOMETRY, "SPATIAL_INDEX": "YES"}
        geometry = {"geometry_name": GEOMETRY, "geometry_type": _GEOMETRY_NAMES[about.geometry_type], "crs": crs}
    batches = (batch for batch in _batches(layer.table) if batch.num_rows)
    first = list(islice(batches, 2))
    # To put one batch in by itself takes GDAL less than opening the file once more.
    many = len(first) > 1
    with _gdal_options():
        write_arrow(
            pa.Table.from_batches([] if many else first, layer.table.schema),
            path,
            layer=layer.name,
            driver="GPKG",
            append=append,
            dataset_options=None if append else {"VERSION": VERSION},
            layer_options=options,
            **geometry,
        )
    if many:
        fill_table(path, layer.name, chain(first, batches), about.geometry_type)
    elif first and about.geometry_type is not None:
        _tell_extent(path, layer.name, first[0].column(GEOMETRY), about.geometry_type)


def _tell_extent(path: Path, name: str, wkb: pa.Array, kind: str) -> None:
    """Tell where a layer lies to the last digit, which GDAL rounds: the same as where its rows come in many batches."""
    _, boxes = in_geopackage(wkb, kind, 0)
    if len(boxes):
        least, most = boxes.min(axis=0).tolist(), boxes.max(axis=0).tolist()
        with closing(sqlite3.connect(path)) as database, database:
            # It is flushed to disk once, at its end.
            database.execute("PRAGMA synchronous = OFF")
            database.execute(TELL_EXTENT, (least[0], most[1], least[2], most[3], name))


def _batches(rows: pa.Table | Rows) -> Iterator[pa.RecordBatch]:
    if isinstance(rows, pa.Table):
        yield from rows.combine_chunks().to_batches(max_chunksize=ROWS)
    else:
        yield from rows.batches()


def described(layer: Layer, layers: Mapping[str, LayerInfo]) -> LayerInfo:
    """Give what describes a layer and all its columns.

    Raises
    ------
    ValueError
        When the layer or one of its columns has no description.
    """
    if layer.name not in layers:
        raise ValueError(f"asbuilt.schema does not describe the layer {layer.name!r}")
    about = layers[layer.name]
    unknown = [name for name in layer.table.schema.names if name not in about.columns and name != GEOMETRY]
    if unknown:
        raise ValueError(f"asbuilt.schema does not describe these columns of {layer.name!r}: {', '.join(unknown)}")
    return about


@contextmanager
def _gdal_options() -> Iterator[None]:
    import pyogrio

    earlier = {name: pyogrio.get_gdal_config_option(name) for name in _GDAL_OPTIONS}
    pyogrio.set_gdal_config_options(_GDAL_OPTIONS)
    try:
        yield
    finally:
        pyogrio.set_gdal_config_options(earlier)


def _prove_rows(database: sqlite3.Connection, rows: Mapping[str, int]) -> None:
    """Hold the rows in the file against the rows given: features are numbered from 1 without a gap."""
    for name, given in rows.items():
        written = database.execute(f'SELECT coalesce(max(fid), 0) FROM "{name}"').fetchone()[0]
        if written != given:
            raise RuntimeError(f"only {written} of {given} rows of {name} were written")


def _describe_columns(
    database: sqlite3.Connection,
    layers: Mapping[str, LayerInfo],
    domains: Mapping[str, Mapping[str, str]],
    units: Mapping[str, str],
) -> None:
    """Say what every column means and which values are codes, by the extension for schemas."""
    for statement in _SCHEMA_EXTENSION:
        database.execute(statement)
    described = [
        (layer, column, about.title, about.title, about.description.format_map(units), about.domain)
        for layer, its in layers.items()
        for column in _columns(database, layer)
        if (about := its.columns.get(column)) is not None
    ]
    database.executemany("INSERT INTO gpkg_data_columns VALUES (?, ?, ?, ?, ?, NULL, ?)", described)
    used = sorted({domain for *_, domain in described if domain is not None})
    database.executemany(
        "INSERT INTO gpkg_data_column_constraints VALUES (?, 'enum', ?, NULL, NULL, NULL, NULL, ?)",
        [(domain, value, meaning) for domain in used for value, meaning in domains[domain].items()],
    )


def _columns(database: sqlite3.Connection, layer: str) -> list[str]:
    return [name for _, name, *_ in database.execute(f'PRAGMA table_info("{layer}")')]


def _add_styles(database: sqlite3.Connection, names: Iterable[str]) -> None:
    """Put the default map styles where a desktop GIS looks for them."""
    database.execute(_STYLES_TABLE)
    database.execute(
        "INSERT INTO gpkg_contents (table_name, data_type, identifier, description) "
        "VALUES ('layer_styles', 'attributes', 'layer_styles', 'Default map styles of the layers.')"
    )
    styles = resources.files("asbuilt").joinpath("data/styles")
    for name in names:
        style = styles.joinpath(f"{name}.qml")
        if style.is_file():
            database.execute(
                "INSERT INTO layer_styles (f_table_catalog, f_table_schema, f_table_name, f_geometry_column, "
                "styleName, styleQML, useAsDefault, description) VALUES ('', '', ?, ?, ?, ?, 1, ?)",
                (name, GEOMETRY, name, style.read_text("utf-8"), "Default style"),
            )
