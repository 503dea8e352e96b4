"""The one reader of a placed file: what it must hold is checked once, and every later step takes it from here.

Nothing is dug out of a text: units, stationing, notes and what counts stand in columns, as `asbuilt.schema` has them.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa

from asbuilt import stores
from asbuilt.arrays import Ints, empty_ints
from asbuilt.errors import EarlierFileError, InputFileError
from asbuilt.held import held
from asbuilt.keys.fields import RECORD_FIELDS
from asbuilt.notes import Note
from asbuilt.schema import FILE_VERSION, LAYERS
from asbuilt.stored import GEOMETRY, Stored, StoredGeoPackage, StoredGeoParquet
from asbuilt.waiting import Waiting

if TYPE_CHECKING:
    import geopandas as gpd
    import pandas as pd

_LATER = ("surveyed_on", "torque_unit")
"""Columns of layer run that files of before them do not have."""
_UNSAID = ("job", *_LATER)
"""What layer run need not say."""
NEVER_BLANK: dict[str, tuple[str, ...]] = {
    "joints": (
        "joint_uid", "route", "joint", "station", "distance", "position_source", "verdict", "inspection", "findings",
    ),
    "segments": ("route", "from_joint", "to_joint", "length"),
    "findings": ("code", "severity", "message"),
    "centerline": ("route", "start_station", "length", "vertices"),
    "restraint": ("route", "from_distance", "to_distance", "joints", "joints_unrestrained"),
    "pressure_tests": ("route", "from_distance", "to_distance", "result"),
    "inspections": ("record", "file", "row", "joint_uid", "route", "joint", "latest", "original"),
    "set_aside": ("record", "file", "row", "reason", "message", "original"),
    "stationing": ("route", "stretch", "from_distance", "to_distance", "from_station", "to_station"),
    "required": ("field",),
    "notes": ("code", "severity", "about", "text"),
    "run": tuple(name for name in LAYERS["run"].columns if name not in _UNSAID),
}  # fmt: skip
"""Columns of each layer in which every row has a value."""
_MAY_LACK: dict[str, set[str]] = {
    "inspections": set(RECORD_FIELDS) - {"route", "joint", "station"} | {"photo_files"},
    "run": set(_LATER),
}
"""Columns that a file has only where its log has them, or that an earlier version did not write."""
_COUNTED = {
    "joints": "joints", "segments": "segments", "findings": "findings", "inspections": "inspections_placed",
    "set_aside": "records_set_aside",
}  # fmt: skip
_DRAWN = ("joints", "segments", "centerline")
"""Layers each row of which has a geometry."""
_NAME_ONE = "name a GeoPackage or a folder that asbuilt place wrote"
_PLACE_AGAIN = "place the job again with asbuilt place"


@dataclass(frozen=True)
class PlacedFile:
    """A placed file whose layers and columns are as they must be; its rows are read when asked for."""

    path: Path
    run: dict[str, Any]
    """The row of layer run: JSON columns as what they hold."""
    columns: dict[str, tuple[str, ...]]
    """Columns of each layer in the file, without its geometry, in the order of `asbuilt.schema`."""
    stored: Stored
    """Its tables, as they lie on disk."""

    @property
    def job(self) -> str:
        """Name of the job."""
        return str(self.run["name"])

    @cached_property
    def notes(self) -> tuple[Note, ...]:
        """What was noticed about the job as a whole, or about some of its routes.

        Raises
        ------
        InputFileError
            When a note names a route that is not in the file.
        """
        table = self.table("notes", ("code", "severity", "text", "routes"))
        return tuple(
            Note(code, severity, text, self._routes_of_note(routes))
            for code, severity, text, routes in zip(*(column.to_pylist() for column in table.columns), strict=True)
        )

    def _routes_of_note(self, written: str | None) -> tuple[str, ...]:
        """Read the routes of a note: one of routes that are not there would be shown nowhere."""
        if written is None:
            return ()
        try:
            routes = tuple(json.loads(written))
        except (ValueError, TypeError):
            routes = ()
        if not routes or not set(self.route_names).issuperset(routes):
            raise InputFileError(
                f"{self.path}: layer notes was changed: {written!r} in column routes names no routes of this file; "
                f"{_PLACE_AGAIN}"
            )
        return routes

    @cached_property
    def route_names(self) -> tuple[str, ...]:
        """Names of all routes, in the order of layer centerline."""
        return tuple(self.table("centerline", ("route",))["route"].to_pylist())

    @cached_property
    def crs(self) -> str:
        """Coordinate system of the layers, as the file has it.

        Raises
        ------
        InputFileError
            When the joints have none, or cannot be read.
        """
        try:
            crs = self.stored.crs()
        except Exception as error:
            raise InputFileError(f"{self.path}: layer joints cannot be read ({error}); {_PLACE_AGAIN}") from None
        if crs is None:
            raise InputFileError(f"{self.path}: its joints have no coordinate system; {_PLACE_AGAIN}")
        return crs

    def table(
        self, layer: str, columns: Sequence[str] | None = None, *, routes: Sequence[str] = (), geometry: bool = False
    ) -> pa.Table:
        """Read a layer as an Arrow table, its columns of the kinds that `asbuilt.schema` gives.

        Parameters
        ----------
        layer : one of `asbuilt.schema.LAYERS`
        columns : sequence of str, optional
            Those wanted; all that the file has, if left out.
        routes : sequence of str, optional
            Rows of these routes only.
        geometry : bool
            With the geometry as well-known binary in the column "geom".

        Raises
        ------
        InputFileError
            When the layer cannot be read.
        """
        wanted = self.columns[layer] if columns is None else tuple(columns)
        read = [rows for rows, _ in self._batches(layer, wanted, routes, geometry)]
        return pa.Table.from_batches(read, _kinds(layer, wanted, geometry)).combine_chunks()

    def numbered(self, layer: str, columns: Sequence[str]) -> tuple[pa.Table, Ints]:
        """Read columns of a whole layer, and give the number of the feature of each row; many rows out of a file.

        Raises
        ------
        InputFileError
            When the layer cannot be read, or the file was exchanged since it was opened.
        OutputError
            When the temporary folder does not hold the rows.
        """
        rows, numbers = Waiting(_kinds(layer, columns)), [empty_ints()]
        for some, number in self._batches(layer, columns):
            rows.add_batch(some)
            numbers.append(number)
        return rows.rows(0, rows.num_rows), held(np.concatenate(numbers), rows.num_rows)

    def _batches(
        self, layer: str, wanted: Sequence[str], routes: Sequence[str] = (), geometry: bool = False
    ) -> Iterator[tuple[pa.RecordBatch, Ints]]:
        """Read some rows of a layer at a time, with the numbers of their features."""
        schema, undrawn = _kinds(layer, wanted, geometry), 0
        read = self.stored.batches(layer, wanted, routes=routes, geometry=geometry)
        while True:
            try:
                table, numbers = next(read)
            except StopIteration:
                break
            except Exception as error:
                raise InputFileError(f"{self.path}: layer {layer} cannot be read ({error}); {_PLACE_AGAIN}") from None
            found = [self._column(layer, one, table[one.name]) for one in schema]
            undrawn += found[-1].null_count if geometry and layer in _DRAWN else 0
            yield pa.record_batch(found, schema=schema), numbers
        # What was read before, and what was found to be whole, was another file.
        if self.stored.exchanged:
            raise InputFileError(f"{self.path}: was written anew or edited while it was being read; do this again")
        if undrawn:
            raise InputFileError(f"{self.path}: {undrawn} rows of layer {layer} have no geometry; {_PLACE_AGAIN}")

    def frame(self, layer: str, columns: Sequence[str] | None = None, *, routes: Sequence[str] = ()) -> pd.DataFrame:
        """Read a layer as a data frame, without geometry.

        Raises
        ------
        InputFileError
            When the layer cannot be read.
        """
        frame: pd.DataFrame = self.table(layer, columns, routes=routes).to_pandas()
        return frame

    def shapes(self, layer: str, *, routes: Sequence[str] = ()) -> gpd.GeoDataFrame:
        """Read a layer as a data frame with its geometry.

        Raises
        ------
        InputFileError
            When the layer cannot be read, or its coordinate system is not stated.
        """
        import geopandas as gpd
        import shapely

        table = self.table(layer, routes=routes, geometry=True)
        geometry = shapely.from_wkb(table[GEOMETRY].to_numpy(zero_copy_only=False))
        return gpd.GeoDataFrame(table.drop_columns([GEOMETRY]).to_pandas(), geometry=geometry, crs=self.crs)

    def _column(self, layer: str, field: pa.Field, values: pa.Array) -> pa.Array:
        try:
            return values.cast(field.type)
        except (pa.ArrowInvalid, pa.ArrowNotImplementedError) as error:
            raise InputFileError(
                f"{self.path}: column {field.name} of layer {layer} holds values of another kind ({error}); "
                f"{_PLACE_AGAIN}"
            ) from None


_SMALL = ("findings",)
"""Whole numbers that are written in four bytes."""
_READ_AS = {"text": pa.string(), "number": pa.float64(), "whole": pa.int64(), "date": pa.date32()}


def _kinds(layer: str, columns: Sequence[str], geometry: bool = False) -> pa.Schema:
    """Give columns of a layer, and its geometry, with the kind that each is read as."""
    about = LAYERS[layer].columns
    kinds = [(name, pa.int32() if name in _SMALL else _READ_AS[about[name].kind]) for name in columns]
    return pa.schema(kinds + [(GEOMETRY, pa.binary())] * geometry)


def read_placed(path: Path | str) -> PlacedFile:
    """Open a file that `asbuilt place` wrote, and see that all is in it that a placed file holds.

    Parameters
    ----------
    path : path of the GeoPackage, or of the folder of GeoParquet files

    Raises
    ------
    InputFileError
        When there is no such file, it is another one, was made by another version, or was damaged or edited since.

    Examples
    --------
    >>> import tempfile, asbuilt, geopandas as gpd, pandas as pd, shapely
    >>> line = gpd.GeoDataFrame(geometry=[shapely.LineString([(6700000, 2000000), (6700000, 2000040)])],
    ...     crs="EPSG:6418")
    >>> log = pd.DataFrame({"station": ["0+00", "0+20", "0+40"], "joint": [1, 2, 3], "size": 12})
    >>> job = asbuilt.Job.from_mapping({"name": "Quarry Lane", "centerline": {},
    ...     "records": {"station_unit": "us-ft", "laying_length": 20}})
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     path = Path(folder, "joints.gpkg")
    ...     asbuilt.place(job, centerline=line, records=log).write(path)
    ...     placed = read_placed(path)
    ...     print(placed.job, placed.run["size_unit"], placed.frame("joints")["station"].tolist())
    Quarry Lane in ['0+00.00', '0+20.00', '0+40.00']
    """
    path = stores.local(path)
    if not path.exists():
        raise InputFileError(f"{path}: there is no such file; {_NAME_ONE}")
    try:
        stored = StoredGeoParquet(path) if path.is_dir() else StoredGeoPackage(path)
        with stored.at_once():
            _refuse_others(stored)
            run = _run(stored)
            columns = _columns(stored)
            for layer in LAYERS:
                _refuse_blanks(stored, layer)
            _refuse_lost_rows(stored, run)
    except (sqlite3.Error, pa.ArrowException, OSError) as error:
        raise InputFileError(f"{path}: is no {_standard(path)}, or is damaged ({error}); {_NAME_ONE}") from None
    return PlacedFile(path, run, columns, stored)


def _refuse_others(stored: Stored) -> None:
    """Refuse a file that is none of a job."""
    path, kinds = stored.path, stored.kinds
    if kinds["loads"]:
        raise InputFileError(f"{path}: is a register, not a placed job; {_NAME_ONE}")
    missing = [layer for layer in ("joints", "inspections", "run") if not kinds[layer]]
    if missing or not stored.standard:
        lacks = f"it has no layer {', '.join(missing)}" if missing else f"it is no {_standard(path)}"
        raise InputFileError(f"{path}: is not a placed file ({lacks}); {_NAME_ONE}")


def _standard(path: Path) -> str:
    return "GeoParquet folder" if path.is_dir() else "GeoPackage"


def _run(stored: Stored) -> dict[str, Any]:
    """Read the row of layer run, after its version."""
    path, rows = stored.path, stored.run()
    if len(rows) != 1:
        raise InputFileError(f"{path}: its layer run has {len(rows)} rows, not one; {_PLACE_AGAIN}")
    run = rows[0]
    made_by = f"asbuilt {run.get('asbuilt_version') or 'of an unknown version'}"
    version = run.get("file_version")
    earlier = isinstance(version, int) and 0 < version < FILE_VERSION
    if earlier or (version is None and "asbuilt_version" in run):
        raise EarlierFileError(
            f"{path}: was made by {made_by}, an earlier version whose files lack what is read here; {_PLACE_AGAIN}"
        )
    if isinstance(version, int) and version > FILE_VERSION:
        raise InputFileError(
            f"{path}: was made by {made_by}, a later version (file version {version}; this one reads {FILE_VERSION}); "
            f"update asbuilt, or {_PLACE_AGAIN} of this version"
        )
    if version != FILE_VERSION:
        raise InputFileError(f"{path}: has no file version that is known ({version!r}); {_PLACE_AGAIN}")
    run = dict.fromkeys(_LATER) | run
    lost = [name for name in LAYERS["run"].columns if name not in run or (run[name] is None and name not in _UNSAID)]
    if lost:
        raise InputFileError(f"{path}: its layer run does not say {', '.join(lost)}; {_PLACE_AGAIN}")
    try:
        parsed = {name: json.loads(run[name]) for name in ("counts", "inputs", "matches", "versions")}
    except (ValueError, TypeError):
        raise InputFileError(f"{path}: its layer run was changed: a column is no JSON; {_PLACE_AGAIN}") from None
    if not isinstance(parsed["counts"], dict):
        raise InputFileError(f"{path}: its layer run was changed: counts names nothing; {_PLACE_AGAIN}")
    return {name: run[name] for name in LAYERS["run"].columns} | parsed


def _columns(stored: Stored) -> dict[str, tuple[str, ...]]:
    """Give the columns of each layer, and refuse a file that lacks any, or has one of another kind."""
    path, kinds = stored.path, stored.kinds
    found = {}
    for layer, about in LAYERS.items():
        if not kinds[layer]:
            raise InputFileError(f"{path}: has no layer {layer} any more; {_PLACE_AGAIN}")
        may_lack = _MAY_LACK.get(layer, set())
        lost = [name for name in about.columns if name not in kinds[layer] and name not in may_lack]
        if lost:
            raise InputFileError(f"{path}: layer {layer} has no column {', '.join(lost)} any more; {_PLACE_AGAIN}")
        here = {name: column for name, column in about.columns.items() if name in kinds[layer]}
        for name, column in here.items():
            kind = kinds[layer][name]
            if kind not in stored.NAMES[column.kind]:
                raise InputFileError(
                    f"{path}: column {name} of layer {layer} is of kind {kind}, not {stored.NAMES[column.kind][0]}; "
                    f"{_PLACE_AGAIN}"
                )
        found[layer] = tuple(here)
    return found


def _refuse_blanks(stored: Stored, layer: str) -> None:
    names = NEVER_BLANK[layer]
    for name, count in zip(names, stored.blanks(layer, names), strict=True):
        if count:
            raise InputFileError(
                f"{stored.path}: column {name} of layer {layer} is blank in {count} rows, where it was not when the "
                f"file was made; {_PLACE_AGAIN}"
            )


def _refuse_lost_rows(stored: Stored, run: dict[str, Any]) -> None:
    """Hold the rows against the counts of the run that made them."""
    routes = run["counts"].get("routes")
    written = {layer: run[count] for layer, count in _COUNTED.items()} | {"centerline": routes}
    for layer, count in written.items():
        rows = stored.count(layer)
        if rows != count:
            raise InputFileError(
                f"{stored.path}: layer {layer} has {rows} rows, and {count} were written; {_PLACE_AGAIN}"
            )
    if stored.count("stationing") < routes:
        raise InputFileError(f"{stored.path}: layer stationing has no row for some route; {_PLACE_AGAIN}")
