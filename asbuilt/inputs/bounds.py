"""How much a file may ask for: refused with a message before memory is gone, and raised by who needs more.

A job's `[bounds]` hold while it is worked on; what it leaves out, and files without a job, go by the environment.
"""

from __future__ import annotations

import os
import struct
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from asbuilt.errors import AsbuiltError, InputFileError

if TYPE_CHECKING:
    from asbuilt.keys.asked import Bounds

MOST_MB, MOST_ROWS, MOST_CELLS, MOST_DEPTH = (
    "ASBUILT_MOST_MB", "ASBUILT_MOST_ROWS", "ASBUILT_MOST_CELLS", "ASBUILT_MOST_DEPTH",
)  # fmt: skip
"""Environment variables: megabytes of a table, or of what a packed file unpacks to; rows of a table or a layer; cells
of a workbook's sheet; elements within elements of an XML file, of which LandXML 1.2 needs fewer than 20."""
_USUAL = {MOST_MB: 2_000, MOST_ROWS: 10_000_000, MOST_CELLS: 50_000_000, MOST_DEPTH: 100}
_KEYS = {MOST_MB: "megabytes", MOST_ROWS: "rows", MOST_CELLS: "sheet_cells", MOST_DEPTH: "xml_depth"}
_OF_JOB: ContextVar[Bounds | None] = ContextVar("bounds of the job that is worked on", default=None)
_STEP = 1 << 20
_LOCAL_HEAD = struct.Struct("<4s22xHH")
"""Lengths of the name and the extra field before a packed part. Source: PKWARE APPNOTE 6.3, clause 4.3.7."""


@contextmanager
def of_job(asked: Bounds) -> Iterator[None]:
    """Let a job's bounds hold for what is read meanwhile.

    Examples
    --------
    >>> from asbuilt.keys.asked import Bounds
    >>> with of_job(Bounds(rows=7)):
    ...     most(MOST_ROWS), most(MOST_CELLS)
    (7, 50000000)
    >>> most(MOST_ROWS)
    10000000
    """
    before = _OF_JOB.set(asked)
    try:
        yield
    finally:
        _OF_JOB.reset(before)


def raised(name: str) -> str:
    """Say how a bound is raised.

    Examples
    --------
    >>> raised(MOST_ROWS)
    'set ASBUILT_MOST_ROWS higher (in a job file: bounds.rows)'
    """
    return f"set {name} higher (in a job file: bounds.{_KEYS[name]})"


def most(name: str) -> int:
    """Give a bound: what the job that is worked on says, what the environment says, or the usual one.

    Raises
    ------
    AsbuiltError
        When the environment holds no whole number above 0.

    Examples
    --------
    >>> most(MOST_CELLS)
    50000000
    """
    asked: int | None = getattr(_OF_JOB.get(), _KEYS[name], None)
    if asked is not None:
        return asked
    said = os.environ.get(name)
    if said is None:
        return _USUAL[name]
    if not (said.isascii() and said.isdigit() and len(said) < 16 and int(said)):
        raise AsbuiltError(
            f"{name}: {said[:40]!r} is no bound; give a whole number, usually {_USUAL[name]}, or unset it"
        )
    return int(said)


def refuse_large(path: Path) -> None:
    """Refuse a file that is larger than the bound on tables.

    Raises
    ------
    InputFileError
    """
    if path.stat().st_size > most(MOST_MB) * 1e6:
        raise InputFileError(
            f"{path}: is larger than {most(MOST_MB):,} MB, the most that is read; divide it, or {raised(MOST_MB)} "
            "where the memory is there"
        )


def refuse_many_rows(path: Path, rows: int) -> None:
    """Refuse a table or a layer of more rows than the bound.

    Raises
    ------
    InputFileError
    """
    if rows > most(MOST_ROWS):
        raise InputFileError(
            f"{path}: has {rows:,} rows, and {most(MOST_ROWS):,} are the most that are read; divide it, or "
            f"{raised(MOST_ROWS)} where the memory is there"
        )


def refuse_swollen(path: Path, file: BinaryIO) -> None:
    """Refuse a packed file whose parts unpack to more than the bound: what they say of their size may be untrue.

    Parameters
    ----------
    path : path of the file, for messages
    file : the file, opened; where it stands afterwards is not said

    Raises
    ------
    InputFileError
    """
    bound = int(most(MOST_MB) * 1e6)
    with zipfile.ZipFile(file) as packed:
        parts = packed.infolist()
    total = 0
    for part in parts:
        file.seek(part.header_offset)
        _, name, extra = _LOCAL_HEAD.unpack(file.read(_LOCAL_HEAD.size))
        file.seek(part.header_offset + _LOCAL_HEAD.size + name + extra)
        total += _unpacked(file, part, bound - total)
        if total > bound:
            raise InputFileError(
                f"{path}: unpacks to more than {bound // 1_000_000:,} MB, the most that is read; if it is whole, "
                f"divide it, or {raised(MOST_MB)} where the memory is there"
            )


def _unpacked(file: BinaryIO, part: zipfile.ZipInfo, left: int) -> int:
    """Count the bytes of a part, up to a little over those that are left."""
    if part.compress_type != zipfile.ZIP_DEFLATED:
        return max(part.file_size, part.compress_size)
    unpacking, count, packed = zlib.decompressobj(-zlib.MAX_WBITS), 0, part.compress_size
    while packed > 0 and count <= left:
        block = file.read(min(_STEP, packed))
        if not block:
            break
        packed -= len(block)
        while block and count <= left:
            count += len(unpacking.decompress(block, _STEP))
            block = unpacking.unconsumed_tail
    return count
