"""The tables of a placed file as they lie on disk: in a GeoPackage, or in a folder of GeoParquet files.

Only what is there is told; `asbuilt.placed` says what must be there.
"""

from __future__ import annotations

import json
import sqlite3
import warnings
from abc import ABC, abstractmethod
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, closing, contextmanager, nullcontext
from functools import cached_property
from pathlib import Path
from typing import Any, ClassVar

import numpy as np
import pyarrow as pa

from asbuilt.arrays import Ints, as_ints
from asbuilt.schema import LAYERS, Kind

GEOMETRY = "geom"
ROWS = 65_536
"""Rows that are read at a time: GDAL makes room for as many, however few there are."""


class Stored(ABC):
    """The tables of one placed file."""

    NAMES: ClassVar[dict[Kind, tuple[str, ...]]]
    """What this kind of file calls a column of each kind; it is written under the first."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._as_opened = self._as_it_is()

    @cached_property
    def kinds(self) -> dict[str, dict[str, str]]:
        """The kind of each column of each layer, as the file calls it; nothing of a layer that is not there."""
        return {layer: self._columns(layer) for layer in (*LAYERS, "loads")}

    @contextmanager
    def at_once(self) -> Iterator[None]:
        """Answer all that is asked meanwhile from the file as it is now."""
        yield

    @property
    def exchanged(self) -> bool:
        """Whether another file lies there than when this one was opened, or it was edited since."""
        return self._as_it_is() != self._as_opened

    def _as_it_is(self) -> tuple[int, ...] | None:
        """Give what changes with the file; None where nothing is there any more."""
        try:
            now = self.path.stat()
        except FileNotFoundError:
            return None
        return now.st_dev, now.st_ino, now.st_size, now.st_mtime_ns

    @property
    @abstractmethod
    def standard(self) -> bool:
        """Whether the file says of itself that it is of the standard."""

    @abstractmethod
    def _columns(self, layer: str) -> dict[str, str]: ...

    @abstractmethod
    def run(self) -> list[dict[str, Any]]:
        """Give all rows of layer run."""

    @abstractmethod
    def blanks(self, layer: str, names: Sequence[str]) -> list[int]:
        """Count the rows of a layer in which each of these columns is blank."""

    @abstractmethod
    def count(self, layer: str) -> int:
        """Count the rows of a layer."""

    @abstractmethod
    def crs(self) -> str | None:
        """Give the coordinate system of the joints."""

    @abstractmethod
    def batches(
        self, layer: str, columns: Sequence[str], *, routes: Sequence[str], geometry: bool
    ) -> Iterator[tuple[pa.RecordBatch, Ints]]:
        """Give some rows of a layer at a time, and the number of each from 1; its geometry as "geom" where wanted."""


class StoredGeoPackage(Stored):
    """A GeoPackage. Its methods raise `sqlite3.Error` where it is none, or is damaged."""

    NAMES: ClassVar[dict[Kind, tuple[str, ...]]] = {
        "text": ("TEXT",), "number": ("REAL", "DOUBLE", "FLOAT"), "whole": ("INT", "MEDIUMINT", "INTEGER"),
        "date": ("DATE",),
    }  # fmt: skip
    _database: sqlite3.Connection | None = None

    @contextmanager
    def at_once(self) -> Iterator[None]:
        with closing(_opened(self.path)) as self._database:
            # Within a transaction all answers are of one state, though another program writes.
            self._database.execute("BEGIN")
            try:
                yield
            finally:
                self._database = None

    @property
    def standard(self) -> bool:
        return bool(self._rows('PRAGMA table_info("gpkg_contents")'))

    def run(self) -> list[dict[str, Any]]:
        return [dict(zip(self.kinds["run"], row, strict=True)) for row in self._rows("SELECT * FROM run")]

    def blanks(self, layer: str, names: Sequence[str]) -> list[int]:
        # Most files have none, which is found in a third of the time.
        blank = " OR ".join(f'"{name}" IS NULL' for name in names)
        if not self._rows(f'SELECT 1 FROM "{layer}" WHERE {blank} LIMIT 1'):
            return [0] * len(names)
        sums = ", ".join(f'coalesce(sum("{name}" IS NULL), 0)' for name in names)
        return list(self._rows(f'SELECT {sums} FROM "{layer}"')[0])

    def count(self, layer: str) -> int:
        return int(self._rows(f'SELECT count(*) FROM "{layer}"')[0][0])

    def crs(self) -> str | None:
        import pyogrio

        crs = pyogrio.read_info(self.path, layer="joints")["crs"]
        return None if crs is None else str(crs)

    def batches(
        self, layer: str, columns: Sequence[str], *, routes: Sequence[str], geometry: bool
    ) -> Iterator[tuple[pa.RecordBatch, Ints]]:
        from pyogrio.raw import open_arrow

        where = f"route IN ({', '.join(_quoted(name) for name in routes)})" if routes else None
        with ExitStack() as opened:
            # The centerline's measure is its distance, and is found again from the vertices. Of others nothing is said,
            # and two of them can be read at once, which filters of warnings do not bear.
            with warnings.catch_warnings() if layer == "centerline" else nullcontext():
                if layer == "centerline":
                    warnings.filterwarnings("ignore", message="Measured")
                meta, reader = opened.enter_context(
                    open_arrow(
                        self.path, layer=layer, columns=columns, where=where, read_geometry=geometry, return_fids=True,
                        batch_size=ROWS, use_pyarrow=True,
                    )
                )  # fmt: skip
            for rows in reader:
                found = {name: rows[name] for name in columns}
                if geometry:
                    found[GEOMETRY] = rows[meta["geometry_name"] or GEOMETRY]
                yield pa.record_batch(found), as_ints(rows[meta["fid_column"] or "fid"], -1)

    def _columns(self, layer: str) -> dict[str, str]:
        rows = self._rows(f'PRAGMA table_info("{layer}")')
        return {name: kind.partition("(")[0].upper() for _, name, kind, *_ in rows}

    def _rows(self, query: str) -> list[tuple[Any, ...]]:
        if self._database is None:
            with self.at_once():
                return self._rows(query)
        return self._database.execute(query).fetchall()


class StoredGeoParquet(Stored):
    """A folder with a GeoParquet file of each layer. Its methods raise `pyarrow.ArrowException` or `OSError`.

    Source: GeoParquet 1.1.0, the metadata "geo": "columns", and in each "crs", as PROJJSON.
    """

    NAMES: ClassVar[dict[Kind, tuple[str, ...]]] = {
        "text": ("string", "large_string"), "number": ("double",), "whole": ("int32", "int64"),
        "date": ("date32[day]",),
    }  # fmt: skip

    @property
    def standard(self) -> bool:
        return bool(self._geo())

    def run(self) -> list[dict[str, Any]]:
        import pyarrow.parquet as pq

        rows: list[dict[str, Any]] = pq.read_table(self._file("run")).to_pylist()
        return rows

    def blanks(self, layer: str, names: Sequence[str]) -> list[int]:
        import pyarrow.parquet as pq

        table = pq.read_table(self._file(layer), columns=list(names))
        return [table[name].null_count for name in names]

    def count(self, layer: str) -> int:
        import pyarrow.parquet as pq

        return int(pq.read_metadata(self._file(layer)).num_rows)

    def crs(self) -> str | None:
        from pyproj import CRS

        said = self._geo().get("columns", {}).get(GEOMETRY, {}).get("crs")
        if said is None:
            return None
        crs = CRS.from_json_dict(said)
        known = crs.to_authority(min_confidence=100)
        return ":".join(known) if known else str(crs.to_wkt())

    def batches(
        self, layer: str, columns: Sequence[str], *, routes: Sequence[str], geometry: bool
    ) -> Iterator[tuple[pa.RecordBatch, Ints]]:
        import pyarrow.compute as pc
        import pyarrow.parquet as pq

        wanted = [*columns, *([GEOMETRY] if geometry else [])]
        also = ["route"] if routes and "route" not in wanted else []
        first = 1
        with pq.ParquetFile(self._file(layer)) as file:
            for rows in file.iter_batches(ROWS, columns=wanted + also):
                numbers = np.arange(first, first + rows.num_rows)
                first += rows.num_rows
                if routes:
                    of_these = pc.is_in(rows["route"], pa.array(routes, rows["route"].type))
                    rows, numbers = rows.filter(of_these), numbers[of_these.to_numpy(zero_copy_only=False)]
                yield rows.select(wanted), numbers

    def _columns(self, layer: str) -> dict[str, str]:
        import pyarrow.parquet as pq

        if not self._file(layer).is_file():
            return {}
        return {column.name: str(column.type) for column in pq.read_schema(self._file(layer))}

    def _geo(self) -> dict[str, Any]:
        import pyarrow.parquet as pq

        found: dict[str, Any] = json.loads((pq.read_schema(self._file("joints")).metadata or {}).get(b"geo", b"{}"))
        return found

    def _file(self, layer: str) -> Path:
        return self.path / f"{layer}.parquet"


def geopackage_kind(path: Path) -> str:
    """Tell by its layers what a GeoPackage is: "placed", "register", or "" for any other.

    Raises
    ------
    sqlite3.Error
        When it is no GeoPackage, or cannot be read.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     path = Path(folder, "joints.gpkg")
    ...     with closing(sqlite3.connect(path)) as database, database:
    ...         _ = database.execute("CREATE TABLE gpkg_contents (table_name)")
    ...         _ = database.execute("INSERT INTO gpkg_contents VALUES ('run'), ('joints'), ('set_aside')")
    ...     geopackage_kind(path)
    'placed'
    """
    with closing(_opened(path)) as database:
        layers = {name for (name,) in database.execute("SELECT table_name FROM gpkg_contents")}
    if "loads" in layers:
        return "register"
    return "placed" if layers >= {"run", "joints", "set_aside"} else ""


def _opened(path: Path) -> sqlite3.Connection:
    return sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)


def _quoted(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"
