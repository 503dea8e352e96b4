"""Rows of a layer by their columns: the review looks at some columns of a hundred, for one route after another."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from asbuilt.arrays import Bools, Floats, Ints

if TYPE_CHECKING:
    import pandas as pd
    import pyarrow as pa

Column = npt.NDArray[Any]


class Rows:
    """Rows of a table: each column an array, texts as plain ones, and None or NaN where nothing is known.

    A column of rows taken from others is taken when it is first asked for.

    Examples
    --------
    >>> joints = Rows({"joint": np.array(["1", "2", "3"], dtype=object), "turn": np.array([0.0, 2.5, 1.0])})
    >>> joints["turn"].tolist(), len(joints), "station" in joints
    ([0.0, 2.5, 1.0], 3, False)
    >>> joints.take(joints["turn"] > 0.5).records(("joint",))
    [{'joint': '2'}, {'joint': '3'}]

    A row of the number -1 is blank:

    >>> joints.take(np.array([2, -1])).records()
    [{'joint': '3', 'turn': 1.0}, {'joint': None, 'turn': nan}]
    """

    def __init__(self, columns: Mapping[str, Column], count: int | None = None) -> None:
        self._own: dict[str, Column] = dict(columns)
        self._count = count if count is not None else len(next(iter(self._own.values())))
        self._of: Rows | None = None
        self._at: slice | Ints = slice(None)

    @classmethod
    def of(cls, table: pa.Table) -> Rows:
        """Give the rows of an Arrow table."""
        return cls({name: _array(table[name]) for name in table.column_names}, table.num_rows)

    def __len__(self) -> int:
        return self._count

    def __contains__(self, name: str) -> bool:
        return name in self._own or (self._of is not None and name in self._of)

    def __getitem__(self, name: str) -> Column:
        if name not in self._own:
            if self._of is None:
                raise KeyError(name)
            self._own[name] = self._taken(self._of[name])
        return self._own[name]

    def _taken(self, values: Column) -> Column:
        found = values[self._at]
        if isinstance(self._at, slice) or not (self._at < 0).any():
            return found
        if found.dtype != object:
            return np.where(self._at < 0, np.nan, found)
        found[self._at < 0] = None
        return found

    def get(self, name: str, default: Column) -> Column:
        """Give a column, or what stands for it where there is none."""
        try:
            return self[name]
        except KeyError:
            return default

    @property
    def names(self) -> list[str]:
        """Names of the columns."""
        return list(dict.fromkeys((*(self._of.names if self._of is not None else ()), *self._own)))

    def take(self, at: slice | Bools | Ints) -> Rows:
        """Give some of the rows: a slice of them, those marked, or those of numbers; of the number -1, a blank one."""
        if isinstance(at, slice):
            taken = Rows({}, len(range(*at.indices(len(self)))))
            taken._at = at
        else:
            rows: Ints = np.flatnonzero(at) if at.dtype == np.bool_ else at.astype(np.int64, copy=False)
            taken = Rows({}, len(rows))
            taken._at = rows
        taken._of = self
        return taken

    def plus(self, **columns: Column) -> Rows:
        """Give the same rows with columns added, or others in place of theirs."""
        more = self.take(slice(None))
        more._own.update(columns)
        return more

    def records(self, names: Sequence[str] | None = None) -> list[dict[str, Any]]:
        """Give each row as what stands in its columns, or in some of them."""
        names = self.names if names is None else names
        columns = [self[name].tolist() for name in names]
        return [dict(zip(names, row, strict=True)) for row in zip(*columns, strict=True)]

    @cached_property
    def frame(self) -> pd.DataFrame:
        """The rows as a data frame, to look at."""
        import pandas as pd

        return pd.DataFrame({name: self[name] for name in self.names})


def known(values: Column) -> Bools:
    """Say where something is known.

    Examples
    --------
    >>> known(np.array([1.0, np.nan])).tolist(), known(np.array(["A", None], dtype=object)).tolist()
    ([True, False], [True, False])
    """
    if values.dtype == object:
        return np.array([one is not None for one in values.tolist()], dtype=np.bool_)
    return ~np.isnan(values)


def least_and_most(values: Floats) -> tuple[float, float]:
    """Give the least and the most of what is known; NaN where nothing is."""
    some = values[values == values]
    return (float(some.min()), float(some.max())) if len(some) else (np.nan, np.nan)


def _array(values: pa.ChunkedArray) -> Column:
    import pyarrow as pa

    if pa.types.is_date(values.type):
        dates = np.empty(len(values), dtype=object)
        dates[:] = values.to_pylist()
        return dates
    if pa.types.is_integer(values.type) and values.null_count:
        values = values.cast(pa.float64())
    column: Column = values.combine_chunks().to_numpy(zero_copy_only=False)
    return column
