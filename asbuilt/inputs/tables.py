"""Files of rows as a crew or an office hands them in, read as text.

A cell stays as it was written; a row that does not fit the columns is kept aside with its reason, never dropped.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from asbuilt.errors import InputFileError
from asbuilt.inputs.delimited import read_delimited
from asbuilt.inputs.headers import names_of_fields
from asbuilt.inputs.text_table import (
    TextTable,
    without_remarks,
)
from asbuilt.inputs.workbooks import COMPOUND, ZIP, read_workbook

_WORKBOOK_SUFFIXES = (".xlsx", ".xlsm", ".xlsb", ".xls", ".ods")


def read_table(
    path: Path,
    *,
    fields: Mapping[str, frozenset[str]],
    sheet: str | None = None,
    encoding: str | None = None,
    decimal: str | None = None,
    header: bool | None = None,
) -> TextTable:
    """Read a delimited text file or a workbook; which of the two it is, its content says.

    Parameters
    ----------
    path : path of the file
    fields : mapping of field to the plain forms of the names it goes by
        By these the row of column names is found, among the first 50.
    sheet : str, optional
        The workbook's sheet; not needed where one sheet alone looks like the table.
    encoding : str, optional
        Of a text file; otherwise UTF-8, UTF-16 with a byte-order mark, or else Windows-1252.
    decimal : "." or ",", optional
        The decimal sign; otherwise a comma only in semicolon-separated files whose numbers show it.
    header : bool, optional
        Whether there is a row of column names; otherwise found out.

    Raises
    ------
    InputFileError
        When the file cannot be read as a table; names the row where it can.
    """
    try:
        content = path.read_bytes()
    except OSError as error:
        raise InputFileError(f"{path}: cannot be read ({error.strerror}); check the path and its rights") from None
    known = names_of_fields(fields)
    if content.startswith((ZIP, COMPOUND)):
        table = read_workbook(path, content, known, sheet, decimal, header)
    elif content and path.suffix.lower() in _WORKBOOK_SUFFIXES:
        raise InputFileError(f"{path}: this is not a workbook, or a damaged one; save it again as .xlsx or as .csv")
    else:
        table = without_remarks(read_delimited(path, content, known, encoding, decimal, header))
    return replace(table, sha256=hashlib.sha256(content).hexdigest())
