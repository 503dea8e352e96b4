"""The utility's own layer: described, and joints appended to it, whole or not at all.

Rows that are there stay as they are; a joint that is there by its key is not added again.
"""

from __future__ import annotations

import difflib
import os
import shutil
import sqlite3
import tempfile
import warnings
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager, suppress
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pyarrow as pa

from asbuilt import stores
from asbuilt.errors import JobFileError, OutputError
from asbuilt.inputs.vectors import refuse_another_kind
from asbuilt.layers import outputs
from asbuilt.layers.geopackage import refuse_open
from asbuilt.owner_map.differences import Compared, Present
from asbuilt.owner_map.fitting import Written, against, fitted, projected
from asbuilt.owner_map.rows_in_place import update_geopackage, update_shapefile
from asbuilt.owner_map.utility_map import Field, Target

if TYPE_CHECKING:
    from asbuilt.keys.outputs import Map
    from asbuilt.placement import Placement

_GPKG_KINDS: dict[str, str] = {
    "BOOLEAN": "boolean", "TINYINT": "integer", "SMALLINT": "integer", "MEDIUMINT": "integer", "INT": "integer",
    "INTEGER": "integer", "FLOAT": "real", "DOUBLE": "real", "REAL": "real", "TEXT": "text", "DATE": "date",
    "DATETIME": "datetime",
}  # fmt: skip
_GPKG_BITS = {"TINYINT": 8, "SMALLINT": 16, "MEDIUMINT": 32}
"""Types of columns, and bits of the short ones. Source: OGC GeoPackage 1.3 (12-128r17), table 1."""
_SHAPE_PARTS = (".dbf", ".shx", ".prj", ".cpg", ".shp")
_SHAPE_INDEXES = (".qix", ".sbn", ".sbx", ".fbn", ".fbx", ".ain", ".aih", ".atx")


def write_map(placement: Placement, *, dry_run: bool = False) -> Written:
    """Append a job's joints to the utility's own layer, as the job's [map] says; make the layer if it is not there.

    Parameters
    ----------
    placement : Placement
    dry_run : bool
        Only say what would happen.

    Returns
    -------
    Written

    Raises
    ------
    JobFileError
        When the job has no [map], or a value does not fit its column: all misfits at once, before anything is
        written.
    OutputError
        When the layer cannot be written.
    """
    wanted = placement.job.map
    if wanted is None:
        raise JobFileError(f"{placement.job.source}: map: there is no [map] in the job; see asbuilt check --template")
    if wanted.into.startswith(("postgresql:", "postgres:")):
        from asbuilt.owner_map.map_postgis import write_postgis

        return write_postgis(placement, wanted, dry_run=dry_run)
    path = placement.job.path_of(wanted.into)
    stores.refuse_address(
        path,
        "the map's file is changed where it lies, which needs a disk; copy it to this machine, name the copy in "
        "map.into, and copy it back",
    )
    _check_file(placement, path)
    before = _stamp(path)
    found = _describe(path, wanted)
    if found is None and path.suffix.lower() == ".gpkg":
        _refuse_row_number(wanted)
    target, table, notes = fitted(placement, wanted, found, shape=path.suffix.lower() == ".shp")
    shape = path.suffix.lower() == ".shp"
    present = _present(path, target, table.column_names) if found is not None else None
    written, compared = against(table, present, target, placement.job, str(path), notes)
    if not written.added and not written.updated:
        return written
    in_place = _shapefile_in_place if shape else _geopackage_in_place
    # A dry run does all of it, too, on the copy, and leaves the copy: what the layer refuses is told then already.
    with suppress(_OnlyDry), in_place(path) as copy:
        if found is None:
            _create(copy, target)
        if compared.rows:
            _update(copy, target, compared)
        if compared.new.num_rows:
            _append(copy, target, compared.new)
        if _stamp(path) != before:
            raise OutputError(f"{path}: was changed by another program meanwhile; run this again")
        if dry_run:
            raise _OnlyDry
    return written


class _OnlyDry(Exception):
    """Nothing is to be put in place."""


def _update(path: Path, target: Target, compared: Compared) -> None:
    """Let rows that are there follow the job."""
    if path.suffix.lower() != ".shp":
        update_geopackage(path, target.name, compared.rows, compared.changed)
        return
    parts = {one.suffix.lower(): one for one in _parts(path, _SHAPE_PARTS)}
    update_shapefile(path, parts, compared.rows, compared.changed, _shape_encoding(path))


def _refuse_row_number(wanted: Map) -> None:
    """Refuse a column of a GeoPackage to be made that the file fills itself."""
    keys = {f"map.columns.{field}": name for field, name in wanted.columns.items()}
    for key, name in (keys | {f"map.fixed.{name}": name for name in wanted.fixed}).items():
        if name.casefold() in ("fid", "geom"):
            raise JobFileError(f"{key}: {name} is a GeoPackage's own row number or geometry; rename the column")


def _check_file(placement: Placement, path: Path) -> None:
    if path.suffix.lower() not in (".gpkg", ".shp"):
        raise JobFileError(f"map.into: {path} is neither a GeoPackage, a Shapefile nor postgresql://...; correct it")
    if not path.resolve().parent.is_dir():
        raise OutputError(f"{path}: there is no folder {path.resolve().parent}; make it, or correct map.into")
    outputs.check_output(path, placement.inputs, placement.job, kind=None, key="map.into")
    if path.suffix.lower() == ".gpkg":
        refuse_open(path, "run this again")


def _describe(path: Path, wanted: Map) -> Target | None:
    """Describe a layer of a file; None where it must be made."""
    if path.suffix.lower() == ".shp":
        if wanted.layer not in (None, path.stem):
            raise JobFileError(f"map.layer: the layer of {path} is {path.stem!r}; leave map.layer out")
        if not path.exists():
            return None
        refuse_another_kind(path)
        return _describe_shapefile(path)
    if wanted.layer is None:
        raise JobFileError("map.layer: this key is required for a GeoPackage; name the layer")
    return _describe_geopackage(path, wanted.layer) if path.exists() else None


def _describe_geopackage(path: Path, layer: str) -> Target | None:
    try:
        with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)) as database:
            names = [name for (name,) in database.execute("SELECT table_name FROM gpkg_contents")]
            name = next((one for one in names if one.casefold() == layer.casefold()), None)
            if name is None:
                _refuse_slip(path, layer, names)
                return None
            return _read_description(database, path, name)
    except sqlite3.DatabaseError as error:
        raise OutputError(f"{path}: cannot be read as a GeoPackage ({error}); name a GeoPackage in map.into") from None


def _refuse_slip(path: Path, layer: str, names: list[str]) -> None:
    """Refuse to make a layer beside one whose name is nearly the same."""
    close = difflib.get_close_matches(layer.casefold(), [name.casefold() for name in names], n=1, cutoff=0.8)
    if close:
        meant = next(name for name in names if name.casefold() == close[0])
        raise JobFileError(
            f"map.layer: {path} has no layer {layer!r}; did you mean {meant!r}? (a layer to be made needs a name less "
            "like those that are there)"
        )


def _read_description(database: sqlite3.Connection, path: Path, layer: str) -> Target:
    about = database.execute(
        "SELECT column_name, geometry_type_name, z FROM gpkg_geometry_columns WHERE table_name = ?", [layer]
    ).fetchone()
    kind = database.execute("SELECT type FROM sqlite_master WHERE name = ?", [layer]).fetchone()
    if about is None or kind is None or kind[0] != "table":
        raise JobFileError(f"map.layer: {layer!r} of {path} is no table of points; name a layer of points")
    geometry, geometry_type, z = about
    domains = _domains(database, layer)
    fields, reserved = [], set()
    for _, name, declared, required, default, primary in database.execute(f'PRAGMA table_info("{layer}")'):
        if name == geometry:
            continue
        if primary:
            reserved.add(name)
        fields.append(_geopackage_field(name, declared, bool(required and default is None and not primary), domains))
    names = {"POINT": "Point", "MULTIPOINT": "MultiPoint", "GEOMETRY": "Geometry"}
    crs = _info(path, layer)["crs"]
    return Target(
        layer, tuple(fields), names.get(geometry_type.upper(), geometry_type.title()), z > 0, crs, frozenset(reserved)
    )


def _geopackage_field(name: str, declared: str, required: bool, domains: dict[str, dict[str, Any]]) -> Field:
    plain, _, width = declared.upper().partition("(")
    kind: Any = _GPKG_KINDS.get(plain.strip(), "other")
    limits: dict[str, Any] = {}
    if plain in _GPKG_BITS:
        most = 2 ** (_GPKG_BITS[plain] - 1)
        limits = {"least": float(-most), "most": float(most - 1)}
    size = int(width.rstrip(") ")) if kind == "text" and width.rstrip(") ").isdigit() else None
    return replace(Field(name, kind, width=size, required=required, **limits), **domains.get(name, {}))


def _domains(database: sqlite3.Connection, layer: str) -> dict[str, dict[str, Any]]:
    """Give the domains of a layer's columns. Source: OGC GeoPackage 1.3, annex F.9 (Schema)."""
    tables = {name for (name,) in database.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
    if not {"gpkg_data_columns", "gpkg_data_column_constraints"} <= tables:
        return {}
    rows = database.execute(
        "SELECT c.column_name, k.constraint_type, k.value, k.min, k.max FROM gpkg_data_columns c "
        "JOIN gpkg_data_column_constraints k ON k.constraint_name = c.constraint_name WHERE c.table_name = ?",
        [layer],
    )
    domains: dict[str, dict[str, Any]] = {}
    for column, kind, value, least, most in rows:
        about = domains.setdefault(column, {})
        if kind == "enum":
            about["allowed"] = about.get("allowed", frozenset()) | {str(value)}
        elif kind == "range":
            about |= {"least": least, "most": most}
        elif kind == "glob":
            about["pattern"] = value
    return domains


def _describe_shapefile(path: Path) -> Target:
    import fiona
    from fiona.errors import FionaError

    try:
        with fiona.open(path) as layer:
            geometry, properties = layer.schema["geometry"], layer.schema["properties"]
            crs = layer.crs_wkt or None
    except FionaError as error:
        raise OutputError(f"{path}: cannot be read as a Shapefile ({error}); correct map.into") from None
    encoding = _shape_encoding(path)
    fields = tuple(_shapefile_field(name, kind, encoding) for name, kind in properties.items())
    plain = geometry.removeprefix("3D ").replace("Unknown", "Geometry")
    return Target(path.stem, fields, plain, geometry.startswith("3D "), crs)


def _shapefile_field(name: str, declared: str, encoding: str) -> Field:
    kind, _, size = declared.partition(":")
    if kind == "str":
        return Field(name, "text", width=int(size or 80), encoding=encoding)
    if kind.startswith("int"):
        digits = int(size or 9)
        return Field(name, "integer", least=-(10.0 ** (digits - 1)) + 1, most=10.0**digits - 1)
    if kind == "float":
        width, _, decimals = (size or "24.15").partition(".")
        most = 10.0 ** (int(width) - int(decimals or 0) - 1 - 1)
        return Field(name, "real", least=-most, most=most)
    return Field(name, {"date": "date", "bool": "boolean"}.get(kind, "other"))  # type: ignore[arg-type]


def _shape_encoding(path: Path) -> str:
    """Name the encoding of a Shapefile's texts; without its own word, that of the oldest tables."""
    stated = next((one for one in path.parent.glob(f"{path.stem}.*") if one.suffix.lower() == ".cpg"), None)
    name = stated.read_text("ascii", "replace").strip() if stated else "ISO-8859-1"
    name = f"cp{name}" if name.isdigit() else name.removeprefix("ANSI ")
    try:
        "".encode(name)
    except LookupError:
        return "ascii"
    return name


def _present(path: Path, target: Target, names: Sequence[str]) -> Present:
    """Read the rows that are there, in the columns that the job fills."""
    from pyogrio.raw import read

    columns = [name for name in names if name != "geom"]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # points may have a measure, which is not compared
        about, numbers, points, values = read(path, layer=target.name, columns=columns, return_fids=True)
    found = {name: pa.array(one, from_pandas=True) for name, one in zip(about["fields"], values, strict=True)}
    ordered = {name: found[name] for name in columns}
    return Present(pa.table(ordered | {"geom": pa.array(list(points), pa.binary())}), numbers.tolist())


def _create(path: Path, target: Target) -> None:
    import fiona

    kinds = {"text": "str", "integer": "int64" if path.suffix.lower() == ".gpkg" else "int:18", "real": "float",
             "date": "date", "boolean": "bool"}  # fmt: skip
    properties = {
        one.name: f"str:{one.width}" if one.kind == "text" and one.width else kinds[one.kind] for one in target.fields
    }
    shape = path.suffix.lower() == ".shp"
    options = {"encoding": "utf-8"} if shape else {"layer": target.name}
    with fiona.open(
        path,
        "w",
        driver="ESRI Shapefile" if shape else "GPKG",
        schema={"geometry": "3D Point" if target.has_z else "Point", "properties": properties},
        crs_wkt=projected(target.crs).to_wkt("WKT1_ESRI" if shape else "WKT2_2019"),
        **options,
    ):
        pass


def _append(path: Path, target: Target, table: pa.Table) -> None:
    from pyogrio.errors import DataSourceError
    from pyogrio.raw import write_arrow

    shape = path.suffix.lower() == ".shp"
    layer = path.stem if shape else target.name
    before = _info(path, layer)["features"]
    try:
        write_arrow(
            table,
            path,
            layer=layer,
            driver="ESRI Shapefile" if shape else "GPKG",
            append=True,
            geometry_name="geom",
            geometry_type=target.geometry.replace("Geometry", "Unknown") + (" Z" if target.has_z else ""),
            crs=target.crs,
        )
    except (DataSourceError, RuntimeError) as error:
        raise OutputError(
            f"map.into: the layer {target.name} did not take the joints ({error}); nothing was changed"
        ) from None
    after = _info(path, layer)["features"]
    if after - before != table.num_rows:
        raise OutputError(
            f"map.into: the layer {target.name} took {after - before} of {table.num_rows} joints; nothing was changed"
        )


def _info(path: Path, layer: str) -> dict[str, Any]:
    import pyogrio

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # a layer whose points may have a measure takes points without one
        about: dict[str, Any] = pyogrio.read_info(path, layer=layer, force_feature_count=True)
    return about


@contextmanager
def _geopackage_in_place(path: Path) -> Iterator[Path]:
    with outputs.put_in_place(path, option="map.into") as copy:
        if path.exists():
            shutil.copy2(path, copy)
        yield copy


@contextmanager
def _shapefile_in_place(path: Path) -> Iterator[Path]:
    """Give a copy of a Shapefile to append to; its parts replace the old ones one by one at the end."""
    final = path.resolve()
    with outputs.write_errors(path, "map.into"):
        folder = Path(tempfile.mkdtemp(prefix=f".{final.name}-", dir=final.parent))
    try:
        # In small letters, whatever the Shapefile's own are: libraries look for no others.
        there = {part.suffix.lower(): part for part in _parts(final, _SHAPE_PARTS)}
        for suffix, part in there.items():
            shutil.copy2(part, folder / f"{final.stem}{suffix}")
        copy = folder / f"{final.stem}.shp"
        yield copy
        with outputs.write_errors(path, "map.into"):
            # Indexes of places and columns know nothing of new rows; programs make them anew.
            for stale in _parts(final, _SHAPE_INDEXES):
                stale.unlink()
            for suffix in _SHAPE_PARTS:
                for part in _parts(copy, (suffix,)):
                    os.replace(part, there.get(suffix, final if suffix == ".shp" else final.with_suffix(suffix)))
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _parts(path: Path, suffixes: tuple[str, ...]) -> list[Path]:
    return [one for one in path.parent.iterdir() if one.stem == path.stem and one.suffix.lower() in suffixes]


def _stamp(path: Path) -> tuple[tuple[str, int, int], ...]:
    """Tell a file, or the parts of a Shapefile, from what they were before."""
    parts = _parts(path.resolve(), _SHAPE_PARTS) if path.suffix.lower() == ".shp" else [path.resolve()]
    return tuple(sorted((one.name, one.stat().st_size, one.stat().st_mtime_ns) for one in parts if one.exists()))
