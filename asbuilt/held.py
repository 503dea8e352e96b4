"""Columns of a large job, which lie in a file in the temporary folder and are mapped: a job may be larger than memory.

What is mapped looks like any other column, and nobody can write into it. The system keeps of it what there is room for.
"""

from __future__ import annotations

import ctypes
import io
import mmap
import pickle
import sys
import tempfile
import weakref
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import fields, replace
from itertools import pairwise
from pathlib import Path
from threading import Lock
from typing import IO, TYPE_CHECKING, Any, TypeVar

import numpy as np
import numpy.typing as npt
import pyarrow as pa

from asbuilt.arrays import Ints, as_mask
from asbuilt.errors import OutputError

KEPT = 150_000
"""Rows up to which a table's memory is kept: to fetch it again would take a tenth of the time of a job of 100,000."""
IN_MEMORY = 400_000
"""Rows up to which columns stay in memory."""
AT_ONCE = 250_000
"""Rows of which columns are made at one time, or a few more: of whole routes."""
_MUCH = 1 << 26
"""Octets from which on what was made besides is given back when columns are held."""
_IN_PLACE = 1 << 25
"""Octets of texts from which on they are put one behind the other in their file, and not before."""
_ALIGNED = 64
"""Octets at whose multiples columns begin, as Arrow recommends."""

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

_WHAT = "columns of a large job"

T = TypeVar("T")
Table = TypeVar("Table", bound="DataclassInstance")
_MAPPED: weakref.WeakKeyDictionary[mmap.mmap, range] = weakref.WeakKeyDictionary()
"""What is mapped, with its addresses."""
_LOCK = Lock()
"""A log is read by a thread of its own, which maps files while others look at what is mapped."""


def held(columns: T, rows: int) -> T:
    """Give columns as they are; those of a large table out of a file, so that they need not be in memory.

    Parameters
    ----------
    columns : arrays of numpy or Arrow, or whatever holds such and can be pickled
    rows : int
        Of the table.

    Returns
    -------
    The same, of equal values. Out of a file, arrays of numpy are read-only, and the file goes with the last of them.

    Raises
    ------
    OutputError
        When the temporary folder does not hold them.

    Examples
    --------
    >>> one = held({"joint": np.arange(3), "name": pa.array(["1", None, "3"])}, rows=IN_MEMORY + 1)
    >>> one["joint"].tolist(), one["name"].to_pylist(), one["joint"].flags.writeable
    ([0, 1, 2], ['1', None, '3'], False)
    """
    if rows <= IN_MEMORY:
        return columns
    found: list[pickle.PickleBuffer] = []
    rest = io.BytesIO()
    taking = _Taking(rest, protocol=5, buffer_callback=found.append)
    taking.dump(columns)
    octets = [one.raw() for one in found]
    # What is held already is not written again.
    known = _mapped_now()
    there = [one.nbytes == 0 or any(_address(one) in of for _, of in known) for one in octets]
    if all(there):
        return columns
    begin, end = [0] * len(octets), 0
    with keeping_errors(what=_WHAT), tempfile.TemporaryFile(prefix="asbuilt-") as file:
        for at in (at for at, is_there in enumerate(there) if not is_there):
            file.write(octets[at])
            padding = -octets[at].nbytes % _ALIGNED
            file.write(bytes(padding))
            begin[at], end = end, end + octets[at].nbytes + padding
        view = memoryview(mapped(file))
    if end > _MUCH:
        give_back(rows)
    else:
        let_go()
    parts = [
        one if is_there else view[start : start + one.nbytes]
        for one, is_there, start in zip(octets, there, begin, strict=True)
    ]
    rest.seek(0)
    giving = _Giving(rest, buffers=parts)
    giving.kept = taking.kept
    same: T = giving.load()
    return same


def held_octets(blocks: Iterable[bytes | memoryview]) -> mmap.mmap:
    """Give octets out of a file; there must be some.

    Raises
    ------
    OutputError
        As for `held`; what is wrong with giving the octets is raised as it is.
    """
    with keeping_errors(what=_WHAT):
        file = tempfile.TemporaryFile(prefix="asbuilt-")  # noqa: SIM115
    with file:
        for one in blocks:
            with keeping_errors(what=_WHAT):
                file.write(one)
        with keeping_errors(what=_WHAT):
            return mapped(file)


def mapped(file: IO[bytes]) -> mmap.mmap:
    """Map a file that is finished, to be read."""
    file.flush()
    found = mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ)
    start = _address(memoryview(found))
    with _LOCK:
        _MAPPED[found] = range(start, start + len(found))
    return found


def _mapped_now() -> list[tuple[mmap.mmap, range]]:
    with _LOCK:
        return list(_MAPPED.items())


def _address(octets: memoryview) -> int:
    return int(np.frombuffer(octets, np.uint8).ctypes.data)


def in_blocks(some: Callable[[slice], T], rows: int) -> T:
    """Make columns, of a large table some rows at a time: what making them takes of memory is that of some.

    Parameters
    ----------
    some : function of a slice of the rows
        Gives an array, or a tuple or dataclass of arrays, in which each row is by itself.
    rows : int
        Of the table.

    Raises
    ------
    OutputError
        As for `held`.
    """
    if rows <= AT_ONCE:
        return some(slice(0, rows))
    return concatenated([held(some(one), rows) for one in blocks(rows)], rows)


def blocks(rows: int) -> list[slice]:
    """Part rows into those of which columns are made at one time.

    Examples
    --------
    >>> blocks(3), len(blocks(AT_ONCE + 1))
    ([slice(0, 3, None)], 2)
    """
    return [slice(start, min(start + AT_ONCE, rows)) for start in range(0, rows, AT_ONCE)]


def concatenated(parts: Sequence[T], rows: int) -> T:
    """Put columns one behind the other; those of a large table are held.

    Parameters
    ----------
    parts : arrays, or tuples or dataclasses of arrays, all alike
    rows : int
        Of the table.

    Examples
    --------
    >>> parts = [(np.array([1]), pa.array(["a"])), (np.array([2]), pa.array(["b"]))]
    >>> [one.tolist() for one in concatenated(parts, rows=2)]
    [[1, 2], ['a', 'b']]
    """
    found: T = _concatenated(parts, rows) if len(parts) > 1 else parts[0]
    return found


def _concatenated(parts: Sequence[Any], rows: int) -> Any:
    first = parts[0]
    if isinstance(first, np.ndarray):
        return _numbers(parts, rows)
    if isinstance(first, pa.StringArray) and _IN_PLACE < sum(one.nbytes for one in parts) < 1 << 31:
        return _texts([one for one in parts if len(one)], rows)
    if isinstance(first, pa.Array):
        return held(pa.concat_arrays(parts), rows)
    if isinstance(first, tuple):
        columns = [_concatenated(one, rows) for one in zip(*parts, strict=True)]
        return first._make(columns) if hasattr(first, "_make") else tuple(columns)
    names = [one.name for one in fields(first)]
    return replace(first, **{name: _concatenated([getattr(one, name) for one in parts], rows) for name in names})


def _numbers(parts: Sequence[npt.NDArray[Any]], rows: int) -> npt.NDArray[Any]:
    """Put arrays one behind the other; those of a large table straight into their file."""
    kind, size = parts[0].dtype, sum(one.nbytes for one in parts)
    if rows <= IN_MEMORY or size == 0 or any(one.dtype != kind for one in parts):
        return held(np.concatenate(parts), rows)
    octets = held_octets(np.ascontiguousarray(one).view(np.uint8).data for one in parts if one.nbytes)
    let_go()
    return np.frombuffer(octets, kind).reshape(-1, *parts[0].shape[1:])


def _texts(parts: Sequence[pa.StringArray], rows: int) -> pa.StringArray:
    """Put texts one behind the other where they lie in a file: those of identifiers are the largest column of all."""
    begin, octets = [np.zeros(1, np.int32)], []
    for one in parts:
        _, place, text = one.buffers()
        at = np.frombuffer(place, np.int32)[one.offset : one.offset + len(one) + 1]
        begin.append(at[1:] + (begin[-1][-1] - at[0]))
        octets.append(memoryview(text)[at[0] : at[-1]] if text is not None else memoryview(b""))
    place = held(np.concatenate(begin), rows)
    valid = None
    if any(one.null_count for one in parts):
        mask = np.concatenate([as_mask(one.is_valid()) for one in parts])
        valid = pa.py_buffer(np.packbits(mask, bitorder="little"))
    text = held_octets(octets) if place[-1] else b""
    return pa.StringArray.from_buffers(len(place) - 1, pa.py_buffer(place), pa.py_buffer(text), valid)


def in_groups(rows: Ints, route: Ints, at_once: int | None = None) -> Iterator[Ints]:
    """Part rows so that those of a route stay together: few at a time where there are many.

    Parameters
    ----------
    rows : array of int, shape (n,)
    route : array of int, shape (n,)
        Route of each, 0 or more; or whatever else keeps rows together.
    at_once : int, optional
        Rows that are given at one time, or a few more; `AT_ONCE`, if left out.

    Yields
    ------
    array of int
        Some of the rows, in their order; those of routes behind one another.
    """
    if len(rows) <= (at_once or AT_ONCE):
        yield rows
        return
    group = _group(np.bincount(route), at_once).astype(np.int32)[route]
    del route
    for one in np.unique(group).tolist():
        yield rows[group == one]


def cuts(count: Ints) -> list[tuple[int, int]]:
    """Part successive routes into groups with not too many rows.

    Parameters
    ----------
    count : array of int, shape (routes,)
        Rows of each.

    Returns
    -------
    list of (first route, the one behind the last)

    Examples
    --------
    >>> cuts(np.array([20, 0, 30])), cuts(np.array([AT_ONCE, 1, 1]))
    ([(0, 3)], [(0, 1), (1, 3)])
    """
    ends = [0, *(np.flatnonzero(np.diff(_group(count))) + 1).tolist(), len(count)]
    return list(pairwise(ends))


def _group(count: Ints, at_once: int | None = None) -> Ints:
    """Number the group of each route, by the rows of those before it."""
    found: Ints = (np.cumsum(count) - count) // (at_once or AT_ONCE)
    return found


class _Taking(pickle.Pickler):
    """Takes columns apart; arrays whose values lie apart, or in which one stands for many rows, stay as they are."""

    def __init__(self, *given: Any, **named: Any) -> None:
        super().__init__(*given, **named)
        self.kept: list[object] = []

    def persistent_id(self, obj: object) -> int | None:
        if not isinstance(obj, np.ndarray) or obj.flags.c_contiguous:
            return None
        self.kept.append(obj)
        return len(self.kept) - 1


class _Giving(pickle.Unpickler):
    """Puts them together again."""

    kept: list[object]

    def persistent_load(self, pid: int) -> object:
        return self.kept[pid]


def with_held(table: Table, rows: int, names: Iterable[str]) -> Table:
    """Give a dataclass of columns, of which those named are held."""
    return replace(table, **held({name: getattr(table, name) for name in names}, rows))


def give_back(rows: int) -> None:
    """Give memory that no array uses any more back to the system, and what is mapped of a file.

    Parameters
    ----------
    rows : int
        Of the largest table of the job: little is held of a small one, and nothing given back.
    """
    if rows <= KEPT:
        return
    let_go()
    pa.default_memory_pool().release_unused()
    if sys.platform == "linux":
        # What numpy's arrays used; a C library that does without keeps less of it.
        with suppress(AttributeError):
            ctypes.CDLL(None).malloc_trim(0)


def let_go() -> None:
    """Keep nothing in memory of what is mapped: what is looked at again comes back by itself."""
    if hasattr(mmap, "MADV_DONTNEED"):
        for one, _ in _mapped_now():
            one.madvise(mmap.MADV_DONTNEED)


@contextmanager
def keeping_errors(path: Path | None = None, what: str = "rows that wait to be written") -> Iterator[None]:
    """Turn what the operating system says of the temporary folder into one message.

    Parameters
    ----------
    path : path, optional
        Of a file that is kept; it may lie in a folder beside an output instead.
    what : str
        What is kept, in the message.

    Raises
    ------
    OutputError
    """
    try:
        yield
    except OSError as error:
        reason, folder = error.strerror or str(error), Path(tempfile.gettempdir())
        if path is None or folder.resolve() in path.resolve().parents:
            raise OutputError(
                f"{folder}: {what} cannot be kept in the temporary folder ({reason}); make room "
                "there, or name another folder in the environment variable TMPDIR"
            ) from error
        raise OutputError(
            f"{path.parents[1]}: {what} cannot be kept beside the output ({reason}); make room "
            "there, or name another folder in output.path"
        ) from error
