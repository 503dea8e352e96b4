"""Columns as numpy arrays: the kinds of array used throughout, and the way from Arrow columns to them."""

from __future__ import annotations

from collections import Counter

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]


def as_mask(values: pa.Array) -> Bools:
    """Give a column of true and false as an array; null is false.

    Examples
    --------
    >>> as_mask(pa.array([True, None, False])).tolist()
    [True, False, False]
    """
    mask: Bools = pc.fill_null(values, False).to_numpy(zero_copy_only=False)
    return mask


def as_ints(values: pa.Array, null: int) -> Ints:
    """Give a column of whole numbers as an array, with a number in place of null.

    Examples
    --------
    >>> as_ints(pa.array([3, None]), -1).tolist()
    [3, -1]
    """
    numbers: Ints = pc.fill_null(values, null).to_numpy(zero_copy_only=False).astype(np.int64, copy=False)
    return numbers


def as_floats(values: pa.Array) -> Floats:
    """Give a column of numbers as an array; null is NaN.

    Examples
    --------
    >>> as_floats(pa.array([1.5, None])).tolist()
    [1.5, nan]
    """
    numbers: Floats = values.to_numpy(zero_copy_only=False).astype(np.float64, copy=False)
    return numbers


def of_rows(values: pa.Array, rows: Ints) -> pa.Array:
    """Give a column of some rows, each named once and in ascending order; of all rows, without copying it.

    Examples
    --------
    >>> of_rows(pa.array(["A", "B", "C"]), np.array([0, 2])).to_pylist()
    ['A', 'C']
    """
    return values if len(rows) == len(values) else values.take(pa.array(rows))


def codes(text: pa.Array) -> Ints:
    """Number the distinct texts of a column from 0 on; null is -1.

    Examples
    --------
    >>> codes(pa.array(["A", "B", None, "A"])).tolist()
    [0, 1, -1, 0]
    """
    return as_ints(pc.dictionary_encode(text).indices, -1)


def counted(values: pa.Array | pa.ChunkedArray) -> dict[str, int]:
    """Count the distinct texts of a column, most frequent first; null and blank are left out.

    Examples
    --------
    >>> counted(pa.array(["A", "B", None, "B"]))
    {'B': 2, 'A': 1}
    """
    pairs = {one["values"]: one["counts"] for one in pc.value_counts(values).to_pylist() if one["values"]}
    return dict(Counter(pairs).most_common())


def empty_ints() -> Ints:
    """Give no indices at all."""
    return np.zeros(0, dtype=np.int64)
