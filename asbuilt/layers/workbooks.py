"""Tables as a workbook of plain sheets, in which texts of a log stay texts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any


def write_sheets(sheets: Mapping[str, Sequence[Mapping[str, Any]]], path: Path, *, bare: Sequence[str]) -> None:
    """Write tables into a workbook, a sheet for each, its columns in the order in which rows first name them.

    Parameters
    ----------
    sheets : the rows of each sheet, by its name
    path : path of the file to write
    bare : columns of a sheet that has no rows

    Examples
    --------
    >>> import tempfile
    >>> from openpyxl import load_workbook
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     path = Path(folder, "one.xlsx")
    ...     write_sheets({"joints": [{"joint": "7", "remark": "=1+1"}]}, path, bare=("joint",))
    ...     print([cell.data_type for cell in load_workbook(path)["joints"][2]])
    ['s', 's']
    """
    from openpyxl import Workbook
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter

    book = Workbook(write_only=True)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        sheet.freeze_panes = "A2"
        columns = columns_of(rows) or list(bare)
        for at, column in enumerate(columns, start=1):
            longest = max([len(column), *(len(str(row.get(column) or "")) for row in rows)])
            sheet.column_dimensions[get_column_letter(at)].width = min(longest + 2, 40)
        heads = [WriteOnlyCell(sheet, column) for column in columns]
        for head in heads:
            head.font = Font(bold=True)
        sheet.append(heads)
        for row in rows:
            cells = []
            for column in columns:
                value = row.get(column)
                cell = WriteOnlyCell(sheet)
                if isinstance(value, str):
                    # A text that begins like a formula stays a text.
                    cell.value, cell.data_type = ILLEGAL_CHARACTERS_RE.sub("", value)[:32_767], "s"
                else:
                    cell.value = value
                cells.append(cell)
            sheet.append(cells)
    book.save(path)


def columns_of(rows: Sequence[Mapping[str, Any]]) -> list[str]:
    """List the columns of rows in the order in which they first appear."""
    return list(dict.fromkeys(name for row in rows for name in row))
