"""The tables beside the log: ties, check shots, lengths to be restrained, allowables, published diameters.

All are read alike, whatever separates their columns, with a decimal point or comma, as text or as a workbook; an error
names the file and the row.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import numpy as np
import pyarrow as pa

from asbuilt import units
from asbuilt.addresses import shown
from asbuilt.arrays import Bools, Floats, Ints, as_floats, as_mask
from asbuilt.errors import InputFileError
from asbuilt.inputs import tables, values
from asbuilt.inputs.headers import match_columns
from asbuilt.line import station_text, stationing

MOST = 1e9
"""No coordinate, length or size in a table beside the log is larger than this."""


@dataclass(frozen=True)
class SideTable:
    """The rows of a table, their columns matched to fields."""

    path: str
    cells: dict[str, pa.Array]
    """Text of each field that has a column; null where blank."""
    row: Ints
    """Row numbers as a spreadsheet program shows them."""
    decimal_comma: bool
    inputs: tuple[tuple[str, str], ...]
    """Path and SHA-256 of the file."""
    columns: dict[str, str]
    """The file's own name of each field's column."""

    def __len__(self) -> int:
        return len(self.row)

    def __contains__(self, field: object) -> bool:
        return field in self.cells

    def where(self, at: int) -> str:
        """Name a row for messages: the file, and its row."""
        return shown(f"{self.path}: row {self.row[at]}")

    def texts(self, field: str) -> list[str | None]:
        """Give a field as text; None where it is blank or has no column."""
        found: list[str | None] = self._text(field).to_pylist()
        return found

    def required_texts(self, field: str) -> list[str]:
        """Give a field that every row must fill in.

        Raises
        ------
        InputFileError
            Naming the first row that does not.
        """
        text = self._text(field)
        self._refuse(as_mask(text.is_null()), f"{field} must be filled in")
        found: list[str] = text.to_pylist()
        return found

    def pointed_texts(self, field: str) -> list[str]:
        """Give a field as text with decimal points, whatever decimal sign the file uses."""
        found: list[str] = values.with_point(self._text(field), decimal_comma=self.decimal_comma).to_pylist()
        return found

    def numbers(self, field: str, *, required: bool = True, least: float = -MOST, most: float = MOST) -> Floats:
        """Give a field as numbers, shape (rows,); NaN where it is blank and need not be filled in.

        Parameters
        ----------
        field : its name
        required : every row must fill it in
        least, most : numbers beyond these are refused

        Raises
        ------
        InputFileError
            Naming the first row that is wrong.
        """
        text = self._text(field)
        blank = as_mask(text.is_null())
        if required:
            self._refuse(blank, f"{field} must be filled in")
        value = values.numbers(text, decimal_comma=self.decimal_comma)
        self._refuse(np.isnan(value) & ~blank, f"{field} {{}} is not a number; correct it", text)
        beyond = (value < least) | (value > most)
        limits = f"{least:g} to {most:g}" if most < MOST else f"{least:g} or more" if least > -MOST else "a coordinate"
        self._refuse(beyond, f"{field} {{}} is not possible (it must be {limits}); correct it", text)
        return value

    def sizes(self, field: str, *, unit: str, least: float) -> Floats:
        """Give a field as nominal sizes in a unit, however the trade writes them; shape (rows,).

        Raises
        ------
        InputFileError
            Naming the first row whose size is blank, in the other unit, or below the least.
        """
        text = self._text(field)
        self._refuse(as_mask(text.is_null()), f"{field} must be filled in")
        read = partial(values.nominal_size, unit=unit, decimal_comma=self.decimal_comma)
        value = as_floats(values.spread(text, read, pa.float64()))
        words = units.SMALL_WORDS[unit]
        self._refuse(np.isnan(value), f"{field} {{}} is not a number, or a size in {words}; correct it", text)
        self._refuse(value < least, f"{field} {{}} is not possible (it must be {least:g} or more); correct it", text)
        return value

    def stations(self, field: str) -> stationing.Stations:
        """Give a field as stations, all written in one form.

        Raises
        ------
        InputFileError
            Naming the first row whose station is blank or cannot be read.
        """
        text = self._text(field)
        self._refuse(as_mask(text.is_null()), f"{field} must be filled in")
        pointed = values.with_point(text, decimal_comma=self.decimal_comma)
        column = self.columns.get(field, field)
        read = stationing.parse_stations(pointed, where=f"{self.path}, column {column!r}")
        wrong = np.flatnonzero(np.isnan(read.value))
        if len(wrong):
            given = text[int(wrong[0])].as_py()
            how = station_text.how_to_write(given, read.form)
            raise InputFileError(f"{self.where(int(wrong[0]))}: {field} {given!r} cannot be read; {how}")
        return read

    def _text(self, field: str) -> pa.Array:
        return self.cells.get(field, pa.nulls(len(self), pa.string()))

    def _refuse(self, wrong: Bools, why: str, text: pa.Array | None = None) -> None:
        if wrong.any():
            at = int(np.argmax(wrong))
            given = repr(text[at].as_py()) if text is not None else ""
            raise InputFileError(f"{self.where(at)}: {why.format(given)}")


def read_side_table(
    path: Path,
    fields: Mapping[str, frozenset[str]],
    *,
    required: Sequence[str],
    key: str,
    chosen: Mapping[str, str | int] | None = None,
    columns_key: str | None = None,
) -> SideTable:
    """Read a table beside the log.

    Parameters
    ----------
    path : a delimited text file or a workbook
    fields : mapping of field to the plain forms of the names it goes by
    required : fields that must have a column
    key : the job's key that names the file, for messages
    chosen : mapping of field to column, optional
        The job's own choice.
    columns_key : the job's key for such a choice, optional

    Raises
    ------
    InputFileError
        When the file is missing or is no table, a row does not fit its columns, or a column is missing or could be
        several fields.
    """
    if not path.is_file():
        raise InputFileError(f"{path}: there is no such file; correct {key}")
    table = tables.read_table(path, fields=fields)
    if table.broken:
        raise InputFileError(f"{path}: row {table.broken[0].row}: {table.broken[0].reason}; correct the row")
    mapping = match_columns(table.columns, fields, dict(chosen or {}), where=str(path), key=columns_key or "column")
    missing = [field for field in required if field not in mapping]
    if missing:
        remedy = f"name it so, or map it with {columns_key}" if columns_key else "name it so"
        raise InputFileError(
            f"{path}: no column is known as {missing[0]}; {remedy} (the columns needed are {', '.join(required)})"
        )
    cells = {field: table.data[column].combine_chunks() for field, column in mapping.items()}
    return SideTable(str(path), cells, table.row, table.decimal_comma, ((str(path), table.sha256),), mapping)
