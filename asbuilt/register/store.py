"""What a register's store can do, whichever it is: a GeoPackage file, or PostGIS.

Both hold the same tables under the same names and speak enough of the same SQL for one set of questions.
"""

from __future__ import annotations

import datetime as dt
import getpass
from abc import ABC, abstractmethod
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, contextmanager
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from asbuilt.errors import AsbuiltError, InputFileError
from asbuilt.register import layout
from asbuilt.register.ground import Box, Ground, ground_of, own_unit

if TYPE_CHECKING:
    import numpy.typing as npt
    import pyarrow as pa
    from pyproj import CRS

    from asbuilt.arrays import Floats, Ints
    from asbuilt.register.incoming import Incoming

PART = 20_000
"""Rows that are taken at a time."""


class Store(ABC):
    """An open register."""

    name: str
    """How the user named it, without a password."""
    crs_wkt: str
    """The register's coordinate system as well-known text."""

    @cached_property
    def crs(self) -> CRS:
        """The register's coordinate system.

        Raises
        ------
        InputFileError
            When what the register says of it cannot be read.
        """
        from pyproj import CRS
        from pyproj.exceptions import CRSError

        try:
            return CRS(self.crs_wkt)
        except CRSError:
            raise InputFileError(
                f"{self.name}: was damaged or edited by hand (column crs_wkt of table register holds no coordinate "
                "system); put back a copy of it, or load its jobs into a new register"
            ) from None

    @cached_property
    def unit(self) -> str:
        """The unit of its coordinates; metres where they are degrees."""
        return own_unit(self.crs)

    @cached_property
    def ground(self) -> Ground:
        """The ground in the register's coordinates."""
        return ground_of(self.crs)

    @abstractmethod
    def rows(self, sql: str, **values: Any) -> list[tuple[Any, ...]]:
        """Ask for rows; values stand in the text as :name."""

    @abstractmethod
    def parts(self, sql: str, **values: Any) -> Iterator[list[tuple[Any, ...]]]:
        """Ask for rows, to be taken some at a time: a million of them are never held together."""

    @abstractmethod
    def execute(self, sql: str, **values: Any) -> int:
        """Change something, and give the number of rows changed."""

    @abstractmethod
    def reading(self) -> AbstractContextManager[None]:
        """Hold the register as it is while asking several questions."""

    @abstractmethod
    def changing(self, incoming: Incoming | None = None) -> AbstractContextManager[None]:
        """Change the register, alone, and whole or not at all; `incoming` is what rows will be taken from."""

    @abstractmethod
    def stage(self, name: str, columns: Mapping[str, Sequence[Any] | Ints | Floats | pa.Array]) -> None:
        """Put columns into a table of this work's own, numbered in its column nr from 0 on."""

    @abstractmethod
    def add(
        self,
        table: str,
        incoming: Incoming,
        layer: str,
        rows: Ints,
        more: Mapping[str, Sequence[Any] | Ints | Floats],
        same: Mapping[str, str | int],
    ) -> None:
        """Add rows of an incoming layer to a table, with `more` columns added or put in place of the layer's.

        What is the same in all rows comes as `same`. A table of points takes them from `more`: easting, northing and
        elevation; one of lines takes those of the job.
        """

    @contextmanager
    def add_beside(
        self,
        table: str,
        incoming: Incoming,
        layer: str,
        rows: Ints,
        more: Mapping[str, Sequence[Any] | Ints | Floats],
        same: Mapping[str, str | int],
    ) -> Iterator[None]:
        """Add rows as `add` does, to a table that the block does not ask for: at its end they are there.

        A store may make them ready beside what the block does.
        """
        yield
        self.add(table, incoming, layer, rows, more, same)

    @abstractmethod
    def restore(self, earlier: Ints) -> None:
        """Put rows of joints_earlier, named by fid, back into joints; they are not there any more afterwards."""

    @abstractmethod
    def remove_joints(self, staged: str) -> None:
        """Remove the joints whose fid stands in a staged table."""

    @abstractmethod
    def remove_rows(self, table: str, load: int) -> None:
        """Remove the rows that a load brought to inspections or findings."""

    @abstractmethod
    def near(self, staged: str) -> str:
        """Give SQL for pairs of staged places `s` and joints `j` whose boxes meet, by the spatial index."""

    @abstractmethod
    def inside(self, box: Box, table: str = "joints") -> str:
        """Give SQL that tells whether a row `j` of a table reaches into a box, by the spatial index."""

    @abstractmethod
    def of_run(self, key: str) -> str:
        """Give SQL for what the run of a load `l` says under a key, as text: the whole is long where mains are many."""

    @abstractmethod
    def day(self, text: str) -> str:
        """Give SQL that makes a day, as a column holds it, of SQL for a text such as 2026-04-02."""

    @abstractmethod
    def shapes(self, cells: Sequence[Any]) -> Any:
        """Give cells of a column of geometry as an array of shapely geometries."""

    @abstractmethod
    def next_fid(self, table: str) -> int:
        """Give the first number that no row of a table has had."""

    @abstractmethod
    def column_names(self, table: str) -> set[str]:
        """Name the columns that a table has; none where there is no such table."""

    def made_with(self) -> list[tuple[str, str]]:
        """Name each table and column that a new register has."""
        return [(table, name) for table in layout.REGISTER_LAYERS for name in layout.kinds(table)]

    @abstractmethod
    def damage(self) -> str | None:
        """Say what of the values is not as the register's own tables can hold it; None where all is."""

    @abstractmethod
    def update_format(self) -> None:
        """Bring a register of an earlier format up to date, whole or not at all."""

    @abstractmethod
    def close(self) -> None:
        """Close the register."""

    def columns(self, sql: str, count: int, **values: Any) -> list[tuple[Any, ...]]:
        """Ask for so many columns."""
        found = self.rows(sql, **values)
        return list(zip(*found, strict=True)) if found else [()] * count

    def arrays(self, sql: str, kinds: Sequence[Callable[[Sequence[Any]], Any]], **values: Any) -> list[Any]:
        """Ask for columns as arrays, each of a kind like `floats`; as Python's objects they would take many times that.

        A kind makes an array of cells, of none as well.
        """
        made = [
            [kind(cells) for kind, cells in zip(kinds, zip(*rows, strict=True), strict=True)]
            for rows in self.parts(sql, **values)
        ]
        made = made or [[kind(()) for kind in kinds]]
        return [np.concatenate(arrays) for arrays in zip(*made, strict=True)]

    def dicts(self, sql: str, names: Sequence[str], **values: Any) -> Iterator[dict[str, Any]]:
        """Ask for rows as dictionaries under the names given."""
        for row in self.rows(sql, **values):
            yield dict(zip(names, row, strict=True))


def quoted(names: Sequence[str], prefix: str = "") -> str:
    """List columns for SQL; some are called like words of its own.

    Examples
    --------
    >>> quoted(["route", "limit"], "j.")
    'j."route", j."limit"'
    """
    return ", ".join(f'{prefix}"{name}"' for name in names)


def floats(values: Sequence[Any]) -> Floats:
    """Give numbers as an array; None is NaN."""
    return np.array([np.nan if value is None else value for value in values], dtype=np.float64)


def ints(values: Sequence[Any]) -> Ints:
    """Give whole numbers as an array; None is 0."""
    return np.array([0 if value is None else value for value in values], dtype=np.int64)


def texts(values: Sequence[Any]) -> npt.NDArray[np.object_]:
    """Give texts as an array; None stays. Those that come again are kept once."""
    known: dict[Any, Any] = {}
    found = np.empty(len(values), dtype=object)
    found[:] = [known.setdefault(value, value) for value in values]
    return found


def listed(values: Sequence[Any] | Ints | Floats | pa.Array) -> list[Any]:
    """Give values as a list; NaN is stored as NULL by SQLite already."""
    if isinstance(values, np.ndarray):
        of_numbers: list[Any] = values.tolist()
        return of_numbers
    return list(values.to_pylist() if hasattr(values, "to_pylist") else values)


def who(by: str | None) -> str:
    """Give the name of the one who changes a register: as told, or the user of this machine.

    Raises
    ------
    AsbuiltError
        When no name is told, and the machine knows none, as in some containers.

    Examples
    --------
    >>> who("A. Marsh")
    'A. Marsh'
    """
    if by:
        return by
    try:
        return getpass.getuser()
    except (KeyError, ImportError, OSError):
        raise AsbuiltError("--by: this machine has no name for its user; say who does this with --by NAME") from None


def now() -> str:
    """Give the moment as a register writes it: UTC, to the second."""
    return dt.datetime.now(dt.UTC).isoformat(timespec="seconds")


def today() -> dt.date:
    """Give the day after which no inspection and no survey can be dated, as this machine has it."""
    return dt.date.today()


def insert(store: Store, table: str, **values: Any) -> None:
    """Add one row to a table, by its columns' names."""
    marks = ", ".join(f":{name}" for name in values)
    store.execute(f"INSERT INTO {table} ({quoted(list(values))}) VALUES ({marks})", **values)
