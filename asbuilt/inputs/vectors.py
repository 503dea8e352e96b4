"""Layers of vector files: read in bulk, and feature by feature where that fails.

A broken feature is named by its id and keeps its place without a geometry; it does not sink the file.
"""

from __future__ import annotations

import codecs
import hashlib
import sqlite3
import struct
import warnings
import zipfile
import zlib
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt import stores
from asbuilt.arrays import Bools, Floats, as_mask
from asbuilt.errors import InputFileError, JobFileError
from asbuilt.inputs.bounds import refuse_many_rows, refuse_swollen

if TYPE_CHECKING:
    import geopandas as gpd

SUFFIXES = (".gpkg", ".shp", ".geojson", ".json", ".fgb", ".parquet", ".geoparquet", ".zip", ".gdb")
_SHADOWS = "__MACOSX/"
"""Some systems pack a shadow of each file beside it, in a folder of this name."""
_FOLDER = ".gdb"
"""Ending of the one kind of vector file that is a folder."""


_BEGINS = {
    ".gpkg": (b"SQLite format 3\0", "GeoPackage"),
    ".shp": (b"\x00\x00\x27\x0a", "Shapefile"),
    ".fgb": (b"fgb\x03", "FlatGeobuf file"),
    ".geojson": (b"{", "GeoJSON file"),
    ".json": (b"{", "GeoJSON file"),
}
"""How a file of each kind begins: OGC 12-128r19, ESRI Shapefile Technical Description (1998), RFC 7946; FlatGeobuf from
memory."""


_GIVE = "give a GeoPackage, Shapefile, file geodatabase, GeoJSON, FlatGeobuf, GeoParquet or CSV file"


_AT_ONCE = 1 << 25
"""Octets of geometries that are made shapes at one time."""


class Features(NamedTuple):
    """Features of one layer, as columns of shape (n,)."""

    geometry: npt.NDArray[np.object_]
    """Shapely geometries; None where a feature has none."""
    ids: Sequence[Any]
    columns: dict[str, pa.Array]
    crs: str | None
    """The layer's coordinate system as well-known text, where it has one."""
    notes: tuple[str, ...] = ()
    inputs: tuple[tuple[str, str], ...] = ()
    """Path and SHA-256 of the file read."""
    broken: tuple[tuple[int, str], ...] = ()
    """Place of each feature whose geometry, or all of it, cannot be read, and why."""


def read_features(path: Path, layer: str | None, *, key: str, encoding: str | None = None) -> Features:
    """Read one layer of a GeoPackage, Shapefile, file geodatabase, GeoJSON, FlatGeobuf or GeoParquet file.

    A zipped Shapefile or file geodatabase is read as it is.

    Parameters
    ----------
    path : path of the file
    layer : str, optional
        Its name; not needed where the file has one layer.
    key : str
        The job's key that names the layer, for messages.
    encoding : str, optional
        Of a Shapefile's texts, where no .cpg says it; files of the other kinds say theirs.

    Raises
    ------
    InputFileError, JobFileError
        When the file cannot be read, or the layer is not in it.
    """
    if encoding is not None:
        _refuse_encoding(path, encoding, key.rpartition(".")[0])
    inputs = ((str(path), file_digest(path)),)
    if path.suffix.lower() in (".parquet", ".geoparquet"):
        import geopandas as gpd
        import pyarrow.parquet as pq

        try:
            refuse_many_rows(path, pq.read_metadata(path).num_rows)
            frame = gpd.read_parquet(path)
        except InputFileError:
            raise
        except Exception as error:
            raise InputFileError(f"{path}: cannot be read as GeoParquet ({_first_line(error)})") from None
        return features_from_frame(frame)._replace(inputs=inputs)
    layer = choose_layer(path, layer, key=key)
    source = _unpacked(path)
    refuse_many_rows(path, _rows(source, layer))
    try:
        features = _read_bulk(source, layer, encoding)
    except Exception:
        features = _read_one_by_one(source, layer, encoding)
    _refuse_broken_letters(path, features)
    notes = tuple(f"{path}: feature {features.ids[at]} is broken ({why})" for at, why in features.broken)
    return features._replace(inputs=inputs, notes=notes)


def _refuse_broken_letters(path: Path, features: Features) -> None:
    """Refuse texts that are in another encoding than the file's kind has: a name would be another one."""
    for name, column in features.columns.items():
        try:
            column.validate(full=True)
        except pa.ArrowInvalid:
            raise InputFileError(
                f"{path}: column {name} holds letters that are not in UTF-8, the encoding of files of this kind; "
                "save the file again as UTF-8"
            ) from None


def _refuse_encoding(path: Path, encoding: str, table: str) -> None:
    """Refuse an encoding that is none, or that has no effect."""
    if path.suffix.lower() not in (".shp", ".zip"):
        raise JobFileError(f"{table}.encoding: {path} says its encoding itself; remove the key")
    try:
        codecs.lookup(encoding)
    except LookupError:
        raise JobFileError(f"{table}.encoding: there is no encoding {encoding!r}; use utf-8 or cp1252") from None
    if path.with_suffix(".cpg").is_file():
        raise JobFileError(f"{table}.encoding: {path.with_suffix('.cpg')} says the encoding; remove the key")


def refuse_another_kind(path: Path) -> None:
    """Refuse a file that is not of the kind that its name says: drivers go by the content, and some open others.

    Raises
    ------
    InputFileError
        When it is of no kind that is read here, or does not begin as files of its kind do; of a zip file, when a
        Shapefile in it does not.
    """
    if path.suffix.lower() not in SUFFIXES:
        raise InputFileError(f"{path}: a file of this kind is not read as a layer; {_GIVE}")
    if path.suffix.lower() == ".zip":
        with _zip_file(path) as packed:
            for name in packed.namelist():
                if PurePosixPath(name).suffix.lower() == ".shp" and not name.startswith(_SHADOWS):
                    _refuse_head(f"{path}, {name}", packed.open(name).read(4096), ".shp")
    elif path.suffix.lower() in _BEGINS:
        with path.open("rb") as file:
            _refuse_head(str(path), file.read(4096), path.suffix.lower())


def _refuse_head(where: str, head: bytes, suffix: str) -> None:
    begins, kind = _BEGINS[suffix]
    plain = head.removeprefix(b"\xef\xbb\xbf").lstrip(b" \t\r\n") if begins == b"{" else head
    if not plain.startswith(begins):
        raise InputFileError(
            f"{where}: cannot be read as a vector layer file (it does not begin like a {kind}); give the file itself; "
            "if this is it, it is damaged: copy it again"
        )


@contextmanager
def _zip_file(path: Path) -> Iterator[zipfile.ZipFile]:
    try:
        with path.open("rb") as file:
            refuse_swollen(path, file)
        with zipfile.ZipFile(path) as packed:
            yield packed
    except (OSError, struct.error, zipfile.BadZipFile, zlib.error, NotImplementedError, RuntimeError) as error:
        raise InputFileError(f"{path}: cannot be read as a zip file ({error}); copy it again, or unpack it") from None


def choose_layer(path: Path, layer: str | None, *, key: str) -> str:
    """Name the layer of a vector file to read: the one asked for, or the only one.

    Raises
    ------
    InputFileError, JobFileError
        When the file has no layers, lacks the one asked for, or has several and none is named.
    """
    import pyogrio

    refuse_another_kind(path)
    source = _unpacked(path)
    try:
        # fiona's own list ends the process where the schema of a GeoPackage is damaged.
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of measures, which are of no layer's name
            names = [str(name) for name in pyogrio.list_layers(source)[:, 0]]
    except Exception as error:
        raise InputFileError(
            f"{path}: cannot be read as a vector layer file ({_first_line(error)}); {_GIVE}; if it is one, it is "
            "damaged: copy it again"
        ) from None
    names = [name for name in names if name != "layer_styles"]
    if layer is not None and layer not in names:
        raise JobFileError(f"{key}: {path} has no layer {layer!r}; its layers are {', '.join(names)}")
    if layer is None and len(names) != 1:
        raise JobFileError(f"{key}: {path} has {len(names)} layers ({', '.join(names)}); name one")
    return layer if layer is not None else names[0]


def features_from_frame(frame: gpd.GeoDataFrame) -> Features:
    """Take the features of a GeoDataFrame; their ids are its index."""
    crs = frame.crs.to_wkt() if frame.crs is not None else None
    columns = {
        str(name): pa.array(frame[name], from_pandas=True) for name in frame.columns if name != frame.geometry.name
    }
    return Features(np.asarray(frame.geometry.values), list(frame.index), columns, crs)


def is_there(path: Path) -> bool:
    """Say whether there is a file, or a folder that is one: a file geodatabase."""
    return path.is_file() or (path.suffix.lower() == _FOLDER and path.is_dir())


def single_points(geometry: npt.NDArray[np.object_]) -> Floats | None:
    """Give the coordinates of points, shape (n, 3), NaN where there is none; None where no feature is a point.

    Parameters
    ----------
    geometry : array of shapely geometries, shape (n,)
        A collection of one point counts as that point.
    """
    import shapely

    single = np.where(shapely.get_num_geometries(geometry) == 1, shapely.get_geometry(geometry, 0), geometry)
    rows = np.flatnonzero((shapely.get_type_id(single) == 0) & ~shapely.is_empty(single))
    found = np.full((len(geometry), 3), np.nan)
    found[rows] = shapely.get_coordinates(single[rows], include_z=True)
    return found if len(rows) else None


def taken(features: Features, rows: Bools) -> Features:
    """Take some of the features: those of a mask, shape (n,)."""
    at = np.flatnonzero(rows)
    columns = {name: column.take(pa.array(at)) for name, column in features.columns.items()}
    return features._replace(
        geometry=features.geometry[at], ids=[features.ids[one] for one in at.tolist()], columns=columns
    )


def _unpacked(path: Path) -> Path | str:
    """Name what is to be read: of a zip file the folder, or file geodatabase, within it."""
    if path.suffix.lower() != ".zip":
        return path
    with _zip_file(path) as packed:
        names = [PurePosixPath(name) for name in packed.namelist() if not name.startswith(_SHADOWS)]
    folders = {one.parent for one in names if one.suffix.lower() == ".shp"}
    folders |= {one for name in names for one in (name, *name.parents) if one.suffix.lower() == _FOLDER}
    if len(folders) != 1:
        found = f"{len(folders)} folders with layers" if folders else "no Shapefile and no file geodatabase"
        raise InputFileError(f"{path}: there is {found} in it; unpack it, and name the file") from None
    (folder,) = folders
    return f"/vsizip/{path.resolve().as_posix()}" + (f"/{folder}" if folder.name else "")


def file_digest(path: Path) -> str:
    """Give the SHA-256 of a file's bytes, in hexadecimal; of a Shapefile with its parts (`stores.PARTS`).

    Of a folder, such as a file geodatabase, it is that of its files by their names.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     path = Path(folder, "line.shp")
    ...     _ = path.write_bytes(b"abc")
    ...     alone = file_digest(path)
    ...     _ = path.with_suffix(".dbf").write_bytes(b"names")
    ...     print(alone[:8], file_digest(path) == alone)
    ba7816bf False
    """
    digest = hashlib.sha256()
    if path.is_dir():
        for one in sorted(path.rglob("*")):
            if one.is_file():
                digest.update(f"{one.relative_to(path).as_posix()} {file_digest(one)}\n".encode())
        return digest.hexdigest()
    parts = [path.with_suffix(suffix) for suffix in stores.PARTS.get(path.suffix.lower(), ())]
    for part in (path, *(one for one in parts if one.is_file())):
        with part.open("rb") as file:
            hashlib.file_digest(file, lambda: digest)
    return digest.hexdigest()


def _rows(path: Path | str, layer: str) -> int:
    """Count the features of a layer as its file states them; 0 where it does not, or cannot be read."""
    import pyogrio

    try:
        return int(pyogrio.read_info(path, layer=layer)["features"])
    except Exception:
        return 0


def _read_bulk(path: Path | str, layer: str, encoding: str | None) -> Features:
    import shapely
    from pyogrio.raw import read_arrow

    meta, table = read_arrow(path, layer=layer, return_fids=True, encoding=encoding)
    name = meta["geometry_name"] or "wkb_geometry"
    ids = table[table.column_names[0]].to_pylist()
    columns = {column: table[column].combine_chunks() for column in meta["fields"]}
    if name not in table.column_names:
        return Features(np.full(len(ids), None), ids, columns, _stated(meta["crs"]))
    geometry, broken = np.full(len(ids), None), []
    # Some at a time: until they are shapes, they take as much once more.
    some = max(1, len(ids) * _AT_ONCE // max(table[name].nbytes, 1))
    for start in range(0, len(ids), some):
        written = table[name].slice(start, some).to_numpy(zero_copy_only=False)
        shapes = shapely.from_wkb(written, on_invalid="ignore")
        lost = shapely.is_missing(shapes) & ~as_mask(pc.is_null(table[name].slice(start, some)))
        broken += [(start + at, _why(written[at])) for at in np.flatnonzero(lost).tolist()]
        geometry[start : start + some] = shapes
    blank = as_mask(pc.is_null(table[name]))
    broken += [(at, "its geometry cannot be read") for at in _unread(path, layer, ids, blank)]
    return Features(geometry, ids, columns, _stated(meta["crs"]), broken=tuple(sorted(broken)))


def _why(written: bytes) -> str:
    import shapely

    try:
        shapely.from_wkb(written)
    except shapely.errors.ShapelyError as error:
        return _first_line(error)
    return "its geometry cannot be read"


def _unread(path: Path | str, layer: str, ids: Sequence[Any], blank: Bools) -> list[int]:
    """Find the features of a GeoPackage that have a geometry which its driver gives as none, without a word."""
    if not isinstance(path, Path) or path.suffix.lower() != ".gpkg" or not blank.any():
        return []
    place = {ids[at]: at for at in np.flatnonzero(blank).tolist()}
    quoted = layer.replace('"', '""')
    try:
        with closing(sqlite3.connect(f"file:{path.resolve().as_posix()}?mode=ro", uri=True)) as database:
            wanted = "SELECT column_name FROM gpkg_geometry_columns WHERE lower(table_name) = lower(?)"
            (column,) = database.execute(wanted, [layer]).fetchone()
            (key,) = next(row[1:2] for row in database.execute(f'PRAGMA table_info("{quoted}")') if row[5])
            there = database.execute(f'SELECT "{key}" FROM "{quoted}" WHERE "{column}" IS NOT NULL')
            return [place[one] for (one,) in there if one in place]
    except (sqlite3.Error, TypeError, StopIteration):
        return []  # A view has no key of its own: its geometries count as absent.


def _read_one_by_one(path: Path | str, layer: str, encoding: str | None) -> Features:
    import fiona
    import shapely.geometry

    geometry: list[Any] = []
    ids: list[Any] = []
    rows, broken = [], []
    with fiona.open(path, layer=layer, encoding=encoding) as source:
        crs = _stated(source.crs_wkt)
        names = list(source.schema["properties"])
        for identity in source.keys():  # noqa: SIM118 - a fiona collection, not a dict
            properties: dict[str, Any] = {}
            shape = None
            try:
                feature = source[identity]
                properties = dict(feature.properties)
                shape = None if feature.geometry is None else shapely.geometry.shape(feature.geometry)
            except Exception as error:
                broken.append((len(ids), _first_line(error)))
            geometry.append(shape)
            ids.append(identity)
            rows.append([properties.get(name) for name in names])
    columns = {name: pa.array([row[at] for row in rows]) for at, name in enumerate(names)}
    array = np.empty(len(geometry), dtype=object)
    array[:] = geometry
    return Features(array, ids, columns, crs, broken=tuple(broken))


def _stated(crs: str | None) -> str | None:
    """Give a layer's coordinate system; two of a GeoPackage say that it is not known (OGC 12-128, srs_id 0, -1)."""
    return None if not crs or '"Undefined ' in crs else crs


def _first_line(error: Exception) -> str:
    return str(error).strip().splitlines()[0] if str(error).strip() else type(error).__name__
