"""Rows of a table that wait until they are written: in memory while they are few, then in a file of their own.

The file lies in the temporary folder, in Arrow's format, and goes with the last that holds its rows.
"""

from __future__ import annotations

import mmap
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import IO, Any, Protocol

import numpy as np
import pyarrow as pa

from asbuilt.held import keeping_errors, let_go, mapped

IN_MEMORY = 1 << 26
"""Bytes of a table that wait in memory; more of them go to the file."""
ROWS = 1 << 14
"""Rows that are taken at one time."""


class Rows(Protocol):
    """Rows that are written batch by batch."""

    @property
    def schema(self) -> pa.Schema:
        """Names and kinds of the columns."""

    @property
    def num_rows(self) -> int:
        """How many rows there are."""

    def batches(self) -> Iterator[pa.RecordBatch]:
        """Give all rows, in order."""


@dataclass(frozen=True)
class Made:
    """Rows that are made, some at a time, while they are written."""

    count: int
    """How many there are to make them of: `make` takes a range of these."""
    num_rows: int
    make: Callable[[int, int], pa.Table]

    @cached_property
    def schema(self) -> pa.Schema:
        """Names and kinds of the columns."""
        return self.make(0, 0).schema

    def batches(self) -> Iterator[pa.RecordBatch]:
        """Give all rows, in order."""
        for start in range(0, self.count, ROWS):
            yield from self.make(start, min(start + ROWS, self.count)).combine_chunks().to_batches()
            let_go()


class Waiting:
    """A table that grows part by part, and is read again in order.

    Examples
    --------
    >>> waiting = Waiting(pa.schema([("joint", pa.string())]))
    >>> for names in (["1", "2"], ["3"]):
    ...     waiting.add(pa.table({"joint": names}))
    >>> waiting.num_rows, waiting.rows(1, 3).to_pydict()
    (3, {'joint': ['2', '3']})

    `in_memory` says how many octets wait in memory, if not `IN_MEMORY`.
    """

    def __init__(self, schema: pa.Schema, in_memory: int | None = None) -> None:
        self.schema = schema
        self._in_memory = in_memory
        self._held: list[pa.RecordBatch] = []
        self._bytes = 0
        self._first = [0]
        self._file: IO[bytes] | None = None
        self._writer: Any = None
        self._mapped: mmap.mmap | None = None
        self._reader: Any = None

    @property
    def num_rows(self) -> int:
        """How many rows wait."""
        return self._first[-1]

    def add(self, table: pa.Table) -> None:
        """Add rows behind those that wait already; none may have been read.

        Raises
        ------
        OutputError
            When the temporary folder does not hold them.
        """
        for batch in table.combine_chunks().to_batches(max_chunksize=ROWS):
            self.add_batch(batch)

    def add_batch(self, batch: pa.RecordBatch) -> None:
        """Add rows that are read together again, as for `add`."""
        self._first.append(self.num_rows + batch.num_rows)
        self._bytes += batch.nbytes
        self._held.append(batch)
        if self._writer is not None or self._bytes > (IN_MEMORY if self._in_memory is None else self._in_memory):
            with keeping_errors():
                self._to_file()

    def rows(self, start: int, stop: int) -> pa.Table:
        """Give successive rows, from `start` up to, and without, `stop`."""
        # Of what was looked at before, nothing stays in memory; what somebody still holds of it comes back by itself.
        if self._mapped is not None and hasattr(mmap, "MADV_DONTNEED"):
            self._mapped.madvise(mmap.MADV_DONTNEED)
        first = int(np.searchsorted(self._first, start, side="right")) - 1
        parts = []
        for number in range(first, len(self._first) - 1):
            if self._first[number] >= stop:
                break
            begin = max(start - self._first[number], 0)
            parts.append(self._batch(number).slice(begin, stop - self._first[number] - begin))
        return pa.Table.from_batches(parts, self.schema)

    def _to_file(self) -> None:
        if self._writer is None:
            self._file = tempfile.TemporaryFile(prefix="asbuilt-")  # noqa: SIM115
            self._writer = pa.ipc.new_file(pa.PythonFile(self._file, mode="w"), self.schema)
        for batch in self._held:
            self._writer.write_batch(batch)
        self._held = []

    def _batch(self, number: int) -> pa.RecordBatch:
        if self._writer is None:
            return self._held[number]
        if self._reader is None:
            assert self._file is not None
            with keeping_errors():
                self._writer.close()
                self._file.flush()
                # Looked at where they lie: rows are copied neither when they are taken nor when they are taken again.
                self._mapped = mapped(self._file)
            self._reader = pa.ipc.open_file(pa.py_buffer(self._mapped))
        return self._reader.get_batch(number)


def write_rows(path: Path, table: pa.Table) -> None:
    """Write rows to a file, for another process to read.

    Raises
    ------
    OutputError
        When the temporary folder, or that of an output, does not hold them.
    """
    with keeping_errors(path), pa.OSFile(str(path), "wb") as file, pa.ipc.new_file(file, table.schema) as writer:
        writer.write_table(table.combine_chunks(), max_chunksize=ROWS)
