"""Files of rows as a crew or an office hands them in, read as text.

A cell stays as it was written; a row that does not fit the columns is kept aside with its reason, never dropped.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from asbuilt.errors import InputFileError
from asbuilt.inputs.bounds import refuse_large, refuse_many_rows
from asbuilt.inputs.content import Content, content_of, count, sha256
from asbuilt.inputs.delimited import read_delimited
from asbuilt.inputs.headers import names_of_fields
from asbuilt.inputs.text_table import (
    TextTable,
    without_remarks,
)
from asbuilt.inputs.workbooks import COMPOUND, ZIP, open_workbook, read_workbook, sheets_with_rows

WORKBOOK_SUFFIXES = (".xlsx", ".xlsm", ".xlsb", ".xls", ".ods")


def read_table(
    path: Path,
    *,
    fields: Mapping[str, frozenset[str]],
    sheet: str | None = None,
    encoding: str | None = None,
    decimal: str | None = None,
    header: bool | None = None,
    struck_aside: bool = False,
    sheet_key: str | None = None,
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
    struck_aside : bool
        Whether who reads this sets rows aside that are struck through in a workbook (`TextTable.struck`); a note
        says that, or else that they are read as the others.
    sheet_key : str, optional
        The key or the option that says the sheet, for messages; nothing says it, if left out.

    Raises
    ------
    InputFileError
        When the file cannot be read as a table; names the row where it can.
    """
    content = _content_of(path)
    known = names_of_fields(fields)
    if _is_workbook(content):
        table = read_workbook(
            open_workbook(path, content[:]), known, sheet, decimal, header,
            struck_aside=struck_aside, sheet_key=sheet_key,
        )  # fmt: skip
    elif content and path.suffix.lower() in WORKBOOK_SUFFIXES:
        raise InputFileError(f"{path}: this is not a workbook, or a damaged one; save it again as .xlsx or as .csv")
    else:
        # What takes the memory is refused before it does; whether there is a heading is known afterwards.
        refuse_many_rows(path, _lines(content) - (header is not False))
        table = without_remarks(read_delimited(path, content, known, encoding, decimal, header))
        refuse_many_rows(path, table.data.num_rows)
    return replace(table, sha256=sha256(content))


def _is_workbook(content: Content) -> bool:
    return content[:8].startswith((ZIP, COMPOUND))


def _lines(content: Content) -> int:
    """Count the lines of a text, however they end."""
    many = {end: count(content, end) for end in (b"\n", b"\r")}
    end = max(many, key=lambda one: many[one])
    return many[end] + (content[-1:] != end)


def read_sheets(
    path: Path,
    *,
    fields: Mapping[str, frozenset[str]],
    sheets: Sequence[str],
    decimal: str | None = None,
    struck_aside: bool = False,
) -> list[TextTable]:
    """Read several sheets of a workbook, each with column names of its own.

    Parameters
    ----------
    path, fields, decimal, struck_aside : as for `read_table`
    sheets : names of the sheets, or "*" alone for all whose first rows name fields
        Those that do not, and those that the workbook hides, are left out and told in the first table's notes.

    Raises
    ------
    InputFileError
        When the file is no workbook, or a sheet is not in it.
    """
    content = _content_of(path)
    if not _is_workbook(content):
        raise InputFileError(f"{path}: this is not a workbook, so it has no sheets; leave records.sheet out")
    known = names_of_fields(fields)
    book = open_workbook(path, content[:])
    names, notes = sheets_with_rows(book, known, sheets)
    among = len(names) > 1
    read = [
        read_workbook(book, known, name, decimal, None, among_sheets=among, struck_aside=struck_aside) for name in names
    ]
    digest = sha256(content)
    first = replace(read[0], notes=(*notes, *read[0].notes))
    return [replace(one, sha256=digest) for one in (first, *read[1:])]


def only_workbooks(paths: Sequence[Path | str]) -> bool:
    """Tell whether files are workbooks alone, which say their encoding themselves.

    Examples
    --------
    >>> only_workbooks(["log.xlsx", "back.XLSX"]), only_workbooks(["log.xlsx", "log.csv"]), only_workbooks([])
    (True, False, False)
    """
    return bool(paths) and all(Path(one).suffix.lower() in WORKBOOK_SUFFIXES for one in paths)


def _content_of(path: Path) -> Content:
    try:
        refuse_large(path)
        return content_of(path)
    except OSError as error:
        raise InputFileError(f"{path}: cannot be read ({error.strerror}); check the path and its rights") from None
