"""Rows of a file as text: white space around cells removed, blank cells null, rows numbered as a spreadsheet does."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import groupby
from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Bools, Floats, Ints, as_floats, as_mask
from asbuilt.held import held
from asbuilt.inputs.headers import column_names, last_filled

_POWERS_OF_TEN = np.array([float(f"1e{power}") for power in range(23)])
RETURN_SHEET, RETURN_COLUMN = "Return", "Remarks by asbuilt"
"""Sheet and column that a log handed back with remarks has besides its own; neither is read."""
BLANK_TITLE, BLANK_HEADER_ROW = "Joint log of ", 5
"""How the title of a log made by `asbuilt sheet` begins, and the row of its column names: no row above them is lost."""
_TITLE = 60
"""Characters of a title row that a note shows."""
_FIRST, _LAST = ord("!"), ord("~")
"""The characters of ASCII that show; what is before, behind or beyond them may be white space."""
Rows = Sequence[tuple[int, list[str]]]
"""Rows as lists of cells, each with its number."""


@dataclass(frozen=True)
class BrokenRow:
    """A row that does not fit the columns."""

    row: int
    reason: str
    cells: dict[str, str]


@dataclass(frozen=True)
class TextTable:
    """The rows of a file as text: white space around cells removed, blank cells null."""

    path: str
    sheet: str | None
    headed: bool
    """Whether there is a row of column names; otherwise columns are "column 1", "column 2", ..."""
    columns: tuple[str, ...]
    data: pa.Table
    row: Ints
    """Row numbers as a spreadsheet program shows them, shape (n,); a record with line breaks in it is one row."""
    broken: tuple[BrokenRow, ...]
    notes: tuple[str, ...]
    sha256: str
    decimal_comma: bool
    numeric: frozenset[str]
    """Columns whose cells are all numbers as such, not text that looks like numbers."""
    header_row: int = 0
    """Row of the column names, the last one where there are two; 0 where there is none."""
    among_sheets: bool = False
    """Whether other sheets of the file are read, too."""
    struck: frozenset[int] = frozenset()
    """Rows that are struck through in the sheet, and to be set aside."""
    places: tuple[tuple[int, tuple[int, ...]], ...] = ()
    """Where column names stand again: the row below which a section lies, and the position of each column in it,
    counted from 0; -1 where it has none."""

    units: Mapping[str, str] = field(default_factory=dict)
    """What a row of units below the column names says of a column; see `header_units`."""

    @property
    def where(self) -> str:
        """The file, and the sheet where there are several, for messages."""
        return f"{self.path}, sheet {self.sheet!r}" if self.among_sheets else self.path

    def position(self, column: str, row: int) -> int:
        """Give where a column stands in a row, counted from 0; -1 where the row's section does not have it."""
        at = self.columns.index(column)
        below = [place[at] for first, place in self.places if first < row]
        return below[-1] if below else at


def table_from_columns(data: pa.Table, *, name: str) -> TextTable:
    """Take columns from memory, such as an attribute table, as text.

    Parameters
    ----------
    data : pyarrow table of any types
    name : what messages call it

    Examples
    --------
    >>> table = table_from_columns(pa.table({"size": [12.0, None], "cut": [True, False]}), name="the crew's rows")
    >>> table.data.to_pylist()
    [{'size': '12', 'cut': 'yes'}, {'size': None, 'cut': 'no'}]
    """
    names = column_names(data.column_names)
    types = dict(zip(names, data.schema.types, strict=True))
    number = (pa.types.is_floating, pa.types.is_integer, pa.types.is_decimal)
    return TextTable(
        path=name, sheet=None, headed=True, columns=names,
        data=pa.table([trimmed(as_text(column)) for column in data.columns], names=list(names)),
        row=np.arange(1, data.num_rows + 1), broken=(), notes=(), sha256="", decimal_comma=False,
        numeric=frozenset(column for column, kind in types.items() if any(is_kind(kind) for is_kind in number)),
    )  # fmt: skip


def with_source(table: TextTable, sha256: str, notes: Sequence[str]) -> TextTable:
    """Say which file's bytes a table from memory came from, and what its reader noted."""
    return replace(table, sha256=sha256, notes=(*table.notes, *notes))


def without_remarks(table: TextTable) -> TextTable:
    """Leave out the column of remarks of a log that was handed back."""
    if RETURN_COLUMN not in table.columns:
        return table
    names = tuple(name for name in table.columns if name != RETURN_COLUMN)
    broken = tuple(
        replace(one, cells={name: cell for name, cell in one.cells.items() if name != RETURN_COLUMN})
        for one in table.broken
    )
    return replace(table, columns=names, data=table.data.select(names), broken=broken)


def count_rows(count: int) -> str:
    return "1 row" if count == 1 else f"{count:,} rows"


def trimmed(column: pa.Array | pa.ChunkedArray) -> pa.Array | pa.ChunkedArray:
    """Remove white space around cells; blank ones are null."""
    trimmed = column if _without_space(column) else pc.utf8_trim_whitespace(column)
    if pc.min(pc.binary_length(trimmed)).as_py() == 0:
        trimmed = pc.if_else(pc.equal(trimmed, ""), pa.scalar(None, pa.string()), trimmed)
    return trimmed


def _without_space(column: pa.Array | pa.ChunkedArray) -> bool:
    """Say whether a column surely has no white space: a look at its bytes takes a tenth of a look at its cells."""
    for chunk in column.chunks if isinstance(column, pa.ChunkedArray) else [column]:
        octets = chunk.buffers()[-1]
        every = np.frombuffer(octets if octets is not None else b"", dtype=np.uint8)
        if len(every) and not _FIRST <= every.min() <= every.max() <= _LAST:
            return False
    return True


def not_blank(columns: Sequence[pa.ChunkedArray], count: int) -> Bools:
    """Say which of `count` rows have a cell that is not blank."""
    filled: Bools = np.zeros(count, dtype=bool)
    for column in columns:
        filled |= column.null_count == 0 or as_mask(pc.is_valid(column))
        if filled.all():
            break
    return filled


def without_blanks(
    path: Path,
    columns: Sequence[pa.ChunkedArray],
    head: Sequence[str],
    above: int,
    row: Ints,
    titles: Sequence[Sequence[str]] = (),
) -> tuple[pa.Table, Ints, list[str]]:
    """Leave out blank rows, and blank columns behind the last named one; note what was left out.

    `titles` are the rows above the column names: a day or a main may be named there, and in no column.
    """
    names, width = column_names(head), len(head)
    while width > (last_filled(head) or len(head)) and columns[width - 1].null_count == len(row):
        width -= 1
    data = pa.table(list(columns[:width]), names=list(names[:width]))
    keep = not_blank(data.columns, len(row))
    notes = []
    if above > 1:
        # A merged cell stands in each column that it covers.
        said = [" ".join(cell for cell, _ in groupby(cells) if cell) for cells in titles[: above - 1]]
        shown = "; ".join(repr(one[:_TITLE] + (" ..." if len(one) > _TITLE else "")) for one in said if one)
        notes = [
            f"{path}: {count_rows(above - 1)} above the column names in row {above} left out"
            + (f": {shown}; what they say of date or route must stand in a column" if shown else "")
        ]
    if keep.all():
        return data, row, notes
    return (
        filtered(data, keep),
        row[keep],
        [*notes, f"{path}: {count_rows(int((~keep).sum()))} left out as blank"],
    )


def filtered(data: pa.Table, keep: Bools) -> pa.Table:
    """Give some rows of a table; of a large one it is held."""
    return _each_column(data, lambda column: column.filter(pa.array(keep)))


def taken(data: pa.Table, rows: Ints) -> pa.Table:
    """Give rows of a table in an order; of a large one it is held."""
    return _each_column(data, lambda column: column.take(pa.array(rows)))


def _each_column(data: pa.Table, some: Callable[[pa.ChunkedArray], pa.ChunkedArray]) -> pa.Table:
    """Make a table anew, column by column: a large one is not held twice."""
    return pa.table([held(some(column), data.num_rows) for column in data.columns], names=data.column_names)


def as_text(column: pa.ChunkedArray) -> pa.ChunkedArray:
    """Write values of any type as text: whole numbers without decimals, dates as 2026-04-02, yes or no."""
    kind = column.type
    if pa.types.is_dictionary(kind):
        return as_text(pc.cast(column, kind.value_type))
    if pa.types.is_boolean(kind):
        return pc.if_else(column, "yes", "no")
    if pa.types.is_floating(kind):
        # By way of text, for 0.1 in single precision is not the 0.1 of double precision.
        values = column if pa.types.is_float64(kind) else pc.cast(pc.cast(column, pa.string()), pa.float64())
        return pa.chunked_array([numbers_as_text(as_floats(values))])
    if pa.types.is_timestamp(kind):
        whole_seconds = pc.replace_substring_regex(pc.cast(column, pa.string()), r"\.0+(Z?)$", r"\1")
        return pc.replace_substring_regex(whole_seconds, " 00:00:00Z?$", "")
    if pa.types.is_nested(kind) or pa.types.is_binary(kind) or pa.types.is_duration(kind):
        texts = [None if value is None else str(value) for value in column.to_pylist()]
        return pa.chunked_array([pa.array(texts, pa.string())])
    return pc.cast(column, pa.string())


def numbers_as_text(values: Floats) -> pa.Array:
    """Write numbers with the 15 digits that a spreadsheet program keeps, and no more of them than are needed."""
    with np.errstate(divide="ignore", invalid="ignore"):
        places = 14 - np.floor(np.log10(np.abs(values)))
        # Beyond these a power of ten is no exact number; such values are written as they are.
        fits = (places >= 0) & (places < len(_POWERS_OF_TEN))
        scale = _POWERS_OF_TEN[np.where(fits, places, 0).astype(np.int64)]
        rounded = np.where(fits, np.round(values * scale) / scale, values)
    whole = (rounded == np.round(rounded)) & (np.abs(rounded) < 2**53)
    integers = pc.cast(pa.array(np.where(whole, rounded, 0).astype(np.int64)), pa.string())
    text = pc.if_else(pa.array(whole), integers, pc.cast(pa.array(rounded), pa.string()))
    return pc.if_else(pa.array(np.isnan(values)), pa.scalar(None, pa.string()), text)
