"""What the file of a log holds, looked at before there is a job: its columns, what they seem to be, and its rows."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from asbuilt.arrays import Ints
from asbuilt.errors import InputFileError
from asbuilt.inputs import tables, vectors
from asbuilt.inputs.doubtful_columns import could_be
from asbuilt.inputs.fields import FIELD_NAMES
from asbuilt.inputs.headers import named_columns
from asbuilt.inputs.route_keys import LINE_NAMES
from asbuilt.inputs.text_table import TextTable


@dataclass(frozen=True)
class FirstLook:
    """The file of a log."""

    path: str
    sheet: str | None
    """The workbook's sheet that was looked at."""
    header_row: int
    """Row of the column names; 0 where there is none."""
    columns: tuple[str, ...]
    fields: dict[str, str]
    """Column of each field that is known by its name."""
    doubtful: dict[str, list[str]]
    """Columns of each field that several could be by their names, or that could be another field as well."""
    rows: tuple[str, ...]
    """Numbers of the rows that hold something, as ranges."""
    line_fields: dict[str, str]
    """Columns that, were the file a centerline, would name the route and the start station of each line."""


def look(path: Path, *, sheet: str | None = None, layer: str | None = None) -> FirstLook:
    """Look at the file of a log.

    Parameters
    ----------
    path : path of a CSV file, a workbook, or a vector file
    sheet : str, optional
        Of a workbook with several.
    layer : str, optional
        Of a vector file with several.

    Raises
    ------
    InputFileError, JobFileError
        When the file cannot be read as a log.
    """
    _refuse_absent(path)
    if path.suffix.lower() in vectors.SUFFIXES:
        features = vectors.read_features(path, layer, key="--layer")
        return _told(path, None, 0, tuple(features.columns), np.arange(1, len(features.ids) + 1))
    return _of_table(
        path, tables.read_table(path, fields=FIELD_NAMES, sheet=sheet, struck_aside=True, sheet_key="--sheet")
    )


def look_at_sheets(path: Path) -> list[FirstLook]:
    """Look at every sheet of a workbook that names the columns of a log, as `records.sheet = "*"` reads it.

    Parameters
    ----------
    path : path of a workbook

    Raises
    ------
    InputFileError
        When it is no workbook, or no sheet of it can be read as a log.
    """
    _refuse_absent(path)
    return [
        _of_table(path, one) for one in tables.read_sheets(path, fields=FIELD_NAMES, sheets=["*"], struck_aside=True)
    ]


def _refuse_absent(path: Path) -> None:
    if not vectors.is_there(path):
        raise InputFileError(f"{path}: there is no such file; correct its name")


def _of_table(path: Path, table: TextTable) -> FirstLook:
    rows = np.sort(np.concatenate([table.row, np.array([one.row for one in table.broken], dtype=np.int64)]))
    return _told(path, table.sheet, table.header_row, table.columns, rows)


def _told(path: Path, sheet: str | None, header: int, columns: tuple[str, ...], rows: Ints) -> FirstLook:
    could = named_columns(columns, FIELD_NAMES)
    doubtful = {field: names for field, names in could.items() if len(names) > 1}
    for column, several in could_be(columns, sure(could)).items():
        for field in several:
            doubtful.setdefault(field, []).append(column)
    return FirstLook(
        path=str(path),
        sheet=sheet,
        header_row=header,
        columns=columns,
        fields=sure(could),
        doubtful=doubtful,
        rows=ranges(rows),
        line_fields=sure(named_columns(columns, LINE_NAMES)),
    )


def sure(could: dict[str, list[str]]) -> dict[str, str]:
    """Give the column of each field that only one column could be."""
    return {field: names[0] for field, names in could.items() if len(names) == 1}


def ranges(rows: Ints) -> tuple[str, ...]:
    """Write numbers in order as ranges, as `records.rows` has them.

    Examples
    --------
    >>> ranges(np.array([6, 7, 8, 12, 14, 15]))
    ('6-8', '12', '14-15')
    """
    if not len(rows):
        return ()
    groups = np.split(rows, np.flatnonzero(np.diff(rows) > 1) + 1)
    return tuple(f"{group[0]}-{group[-1]}" if len(group) > 1 else f"{group[0]}" for group in groups)
