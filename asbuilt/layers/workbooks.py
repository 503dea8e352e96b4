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
    ...     write_sheets({"joints": [{"joint": "7", "remark": "=1+1", "tag": "#N/A"}]}, path, bare=("joint",))
    ...     print([cell.data_type for cell in load_workbook(path)["joints"][2]])
    ['s', 's', 's']
    """
    from openpyxl import Workbook
    from openpyxl.cell import WriteOnlyCell
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
            sheet.append([_written(row.get(column), sheet) for column in columns])
    book.save(path)


def _written(value: Any, sheet: Any) -> Any:
    """Give what to append for a value: one that begins like a formula or an error of one, as a cell.

    It would not stay a text otherwise; made for every value, cells take several times as long.
    """
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

    if not isinstance(value, str):
        return value
    text = ILLEGAL_CHARACTERS_RE.sub("", value)[:32_767]
    if not text.startswith(("=", "#")):
        return text or None
    cell = WriteOnlyCell(sheet)
    cell.value, cell.data_type = text, "s"
    return cell


def columns_of(rows: Sequence[Mapping[str, Any]]) -> list[str]:
    """List the columns of rows in the order in which they first appear."""
    return list(dict.fromkeys(name for row in rows for name in row))
