"""Columns as numpy arrays: the kinds of array used throughout, and the way from Arrow columns to them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]


def hypotenuse(one: Floats, other: Floats) -> Floats:
    """Give the lengths of vectors by two parts that are square to one another; infinite parts give infinite lengths.

    `numpy.hypot` takes ten times as long, for numbers whose squares no number can hold: no length is such.

    Examples
    --------
    >>> hypotenuse(np.array([3.0, -0.1]), np.array([4.0, 0.0])).tolist()
    [5.0, 0.1]
    """
    found: Floats = np.sqrt(one * one + other * other)
    return found


def as_mask(values: pa.Array | pa.ChunkedArray) -> Bools:
    """Give a column of true and false as an array; null is false.

    Examples
    --------
    >>> as_mask(pa.array([True, None, False])).tolist()
    [True, False, False]
    """
    if isinstance(values, pa.ChunkedArray):
        values = as_one(values)
    if values.null_count:
        values = pc.fill_null(values, False)
    # A bit for each row: Arrow's own way to an array looks at one after the other.
    _, octets = values.buffers()
    if octets is None:
        return np.zeros(len(values), dtype=np.bool_)
    before = values.offset % 8
    bits = np.unpackbits(
        np.frombuffer(octets, dtype=np.uint8)[values.offset // 8 :], count=before + len(values), bitorder="little"
    )
    return bits[before:].view(np.bool_)


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


def as_one(values: pa.ChunkedArray) -> pa.Array:
    """Give a column as one array; where it is one already, without copying it.

    Examples
    --------
    >>> as_one(pa.chunked_array([["A"], ["B", "C"]])).to_pylist()
    ['A', 'B', 'C']
    """
    return values.chunk(0) if values.num_chunks == 1 else values.combine_chunks()


def of_rows(values: pa.Array, rows: Ints) -> pa.Array:
    """Give a column of some rows, each named once and in ascending order; of successive ones, without copying it.

    Examples
    --------
    >>> of_rows(pa.array(["A", "B", "C"]), np.array([0, 2])).to_pylist()
    ['A', 'C']
    """
    some = in_a_row(rows)
    if isinstance(some, slice):
        return values.slice(some.start, len(rows))
    return values.take(pa.array(rows, pa.int64()))


def in_a_row(rows: Ints) -> Ints | slice:
    """Give rows, each named once and in ascending order, as a slice where they are successive: nothing is copied by it.

    Examples
    --------
    >>> in_a_row(np.array([3, 4, 5])), in_a_row(np.array([0, 2])).tolist()
    (slice(3, 6, None), [0, 2])
    """
    if len(rows) and rows[-1] - rows[0] + 1 == len(rows):
        return slice(int(rows[0]), int(rows[-1]) + 1)
    return rows


def together(rows: Ints, code: Ints) -> list[Ints]:
    """Part rows by their code; those of one code stand together.

    Examples
    --------
    >>> [part.tolist() for part in together(np.array([0, 2, 3]), np.array([7, 7, 7, 9]))]
    [[0, 2], [3]]
    """
    of = code[rows]
    return np.split(rows, np.flatnonzero(of[1:] != of[:-1]) + 1) if len(rows) else []


def codes(text: pa.Array) -> Ints:
    """Number the distinct texts of a column from 0 on; null is -1.

    Examples
    --------
    >>> codes(pa.array(["A", "B", None, "A"])).tolist()
    [0, 1, -1, 0]
    """
    return as_ints(pc.dictionary_encode(text).indices, -1)


def chosen(texts: pa.Array, which: Ints, none: Bools | None = None) -> pa.DictionaryArray:
    """Give a column in which each row is one of a few texts, which are kept once; null where `none`.

    Examples
    --------
    >>> chosen(pa.array(["no", "yes"]), np.array([1, 0, 1])).to_pylist()
    ['yes', 'no', 'yes']
    """
    return pa.DictionaryArray.from_arrays(pa.array(which, pa.int32(), mask=none), texts)


def as_texts(table: pa.Table) -> pa.Table:
    """Give a table whose columns of few texts, as `chosen` gives them, have the text in each row.

    Examples
    --------
    >>> as_texts(pa.table({"latest": chosen(pa.array(["no", "yes"]), np.array([1, 0]))})).schema.field("latest").type
    DataType(string)
    """
    for at, field in enumerate(table.schema):
        if pa.types.is_dictionary(field.type):
            table = table.set_column(at, field.name, table.column(at).cast(field.type.value_type))
    return table


def first_bytes(text: pa.Array) -> npt.NDArray[np.uint8]:
    """Give the first byte of each text of a column, in UTF-8: to leave out at once what cannot be what is looked for.

    That of a blank text or of null may be any byte.

    Examples
    --------
    >>> first_bytes(pa.array(["A", "", "Blue", None])).tobytes()[::2]
    b'AB'
    """
    text = text.cast(pa.string())
    _, begin, octets = text.buffers()
    if not len(text) or octets is None or not octets.size:
        return np.zeros(len(text), dtype=np.uint8)
    every = np.frombuffer(octets, dtype=np.uint8)
    at = np.frombuffer(begin, dtype=np.int32)[text.offset : text.offset + len(text)]
    return every[np.minimum(at, len(every) - 1)]


def counted(values: pa.Array | pa.ChunkedArray) -> dict[str, int]:
    """Count the distinct texts of a column, most frequent first; null and blank are left out.

    Examples
    --------
    >>> counted(pa.array(["A", "B", None, "B"]))
    {'B': 2, 'A': 1}
    """
    return most_frequent([appearing(values)])


def appearing(values: pa.Array | pa.ChunkedArray) -> Counter[str]:
    """Count the distinct texts of a column in the order in which they appear; null and blank are left out.

    Examples
    --------
    >>> appearing(pa.array(["A", "B", None, "B"]))
    Counter({'B': 2, 'A': 1})
    """
    return Counter({one["values"]: one["counts"] for one in pc.value_counts(values).to_pylist() if one["values"]})


def most_frequent(counts: Iterable[Counter[str]]) -> dict[str, int]:
    """Add counts up, most frequent first; of equally many, the one that appears first.

    Examples
    --------
    >>> most_frequent([Counter({"A": 1, "B": 1}), Counter({"C": 2, "B": 1})])
    {'B': 2, 'C': 2, 'A': 1}
    """
    total: Counter[str] = Counter()
    for one in counts:
        total.update(one)
    return dict(total.most_common())


def running(values: Floats, first: Ints) -> Floats:
    """Add up values within each part of an array, whatever stands in the parts before it.

    Parameters
    ----------
    values : array, shape (n,)
    first : array of int, shape (parts + 1,)
        Where each part begins, and at the end the number of values.

    Examples
    --------
    >>> running(np.array([1.0, 2.0, 4.0, 8.0]), np.array([0, 2, 4])).tolist()
    [1.0, 3.0, 4.0, 12.0]
    """
    total, count = np.array(values, dtype=np.float64), np.diff(first)
    longest = int(count.max(initial=0))
    if longest > len(count):
        for start, end in zip(first[:-1].tolist(), first[1:].tolist(), strict=True):
            np.cumsum(values[start:end], out=total[start:end])
        return total
    # Many short parts: the second values of all of them, then the third ones.
    begin = first[:-1][np.argsort(-count, kind="stable")]
    many = len(count) - np.searchsorted(np.sort(count), np.arange(longest), side="right")
    for place in range(1, longest):
        at = begin[: many[place]] + place
        total[at] += total[at - 1]
    return total


def scatter(off: Floats) -> float:
    """Give the standard error of normal errors by the median of how far they lie off, which a few blunders do not move.

    Source
    ------
    Half of all normal errors lie within 0.6745 standard errors (normal distribution; textbook).

    Examples
    --------
    >>> scatter(np.array([-0.1, 0.1, 0.1, -0.1, 30.0]))
    0.14826
    """
    return 1.4826 * float(np.median(np.abs(off)))


def empty_ints() -> Ints:
    """Give no indices at all."""
    return np.zeros(0, dtype=np.int64)
