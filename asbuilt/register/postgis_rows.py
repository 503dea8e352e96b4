"""Rows as a server takes them in by COPY in its binary form: numbers need not be written and read as texts there.

Source of the form: PostgreSQL manual, COPY, section "Binary Format"; that days are counted from 2000-01-01: from
memory, held by a test that reads days back from a server.
"""

from __future__ import annotations

import struct
from typing import Any

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Bools

HEAD = b"PGCOPY\n\xff\r\n\0" + struct.pack(">ii", 0, 0)
"""What stands before the first row: the signature, no flags, and nothing more."""
TAIL = struct.pack(">h", -1)
"""What stands behind the last row."""

_NOTHING = struct.pack(">i", -1)
"""What stands in place of a value that is not there."""
_FIRST_DAY = pa.scalar(10_957, pa.int32())
"""The server counts days from 2000-01-01; Arrow from 1970-01-01."""


def written(rows: pa.RecordBatch) -> memoryview:
    """Write rows in the binary form of COPY, without its head and tail.

    Parameters
    ----------
    rows : pyarrow.RecordBatch
        Columns of int64, float64, date32, string or binary, for columns of the server's that are bigint, double
        precision, date, text, and whatever else has a binary form of its own.

    Returns
    -------
    memoryview

    Examples
    --------
    >>> rows = pa.record_batch({"joint": pa.array(["J-1", None]), "row": pa.array([7, 8])})
    >>> first = bytes.fromhex("0002" "00000003 4a2d31" "00000008 0000000000000007")
    >>> bytes(written(rows)) == first + bytes.fromhex("0002" "ffffffff" "00000008 0000000000000008")
    True
    """
    count = struct.pack(">h", rows.num_columns)
    cells = [cell for column in rows.columns for cell in _cells(column)]
    # Joined with nothing between them, the rows lie one behind the other.
    joined = pc.binary_join_element_wise(
        pa.scalar(count), *cells, pa.scalar(b""), null_handling="replace", null_replacement=_NOTHING
    )
    _, offsets, octets = joined.buffers()
    end = np.frombuffer(offsets, dtype=np.int32)[len(joined)]
    return memoryview(octets)[:end]


def _cells(column: pa.Array) -> list[pa.Array]:
    """Give the cells of a column as octets, with their length in front."""
    if pa.types.is_string(column.type) or pa.types.is_binary(column.type):
        long = pc.fill_null(pc.binary_length(column), -1).to_numpy().astype(">i4")
        texts = column.cast(pa.binary())
        return [octets(long), pc.fill_null(texts, b"") if column.null_count else texts]
    if pa.types.is_date32(column.type):
        column = pc.subtract(column.cast(pa.int32()), _FIRST_DAY)
    values = pc.fill_null(column, 0).to_numpy()
    made = np.empty(len(column), dtype=[("long", ">i4"), ("value", values.dtype.newbyteorder(">"))])
    made["long"], made["value"] = values.itemsize, values
    return [octets(made, column.is_valid().to_numpy(zero_copy_only=False) if column.null_count else None)]


def octets(records: npt.NDArray[Any], known: Bools | None = None) -> pa.Array:
    """Give records of one length as an Arrow column of octets; null where one is not known.

    Examples
    --------
    >>> octets(np.array([1, 2], dtype=">i2"), np.array([True, False])).to_pylist()
    [b'\\x00\\x01', None]
    """
    offsets = np.arange(len(records) + 1, dtype=np.int32) * np.int32(records.itemsize)
    valid = None if known is None else pa.py_buffer(np.packbits(known, bitorder="little"))
    buffers = [valid, pa.py_buffer(offsets), pa.py_buffer(records)]
    return pa.Array.from_buffers(pa.binary(), len(records), buffers)
