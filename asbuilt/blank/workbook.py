"""The blank log as a workbook: for the clipboard, and for whoever types it in.

Cells are open and headings are locked; entries outside a limit are asked about, and stay if they are what was found.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from asbuilt.blank.blank import PAPERS
from asbuilt.blank.columns import Column, Limit, always_required
from asbuilt.inputs.text_table import BLANK_HEADER_ROW, BLANK_TITLE
from asbuilt.layers.outputs import BLANK_MARK

if TYPE_CHECKING:
    from pathlib import Path
    from typing import Any

    from openpyxl.worksheet.datavalidation import DataValidation
    from openpyxl.worksheet.worksheet import Worksheet

    from asbuilt.blank.blank import Blank

_FIRST = BLANK_HEADER_ROW + 1
_EXCEL_LIST, _EXCEL_FORMULA, _EXCEL_PROMPT = 255, 255, 255
_INK, _SOFT, _LINE, _REQUIRED, _OPTIONAL, _BAND = "FF20252B", "FF565D66", "FF8A8F96", "FFCFD0F2", "FFF4F3EF", "FFFAF9F5"
_CAUTION = "FF8A3B00"
_WIDTHS = {
    "route": 8.0, "joint": 8.0, "station": 12.0, "size": 6.0, "joint_type": 12.0, "inspected_on": 11.0,
    "inspector": 11.0, "remarks": 24.0, "photo": 12.0,
}  # fmt: skip
_NARROW, _NARROW_WIDTH = ("yes or no", "reading"), 5.5
_INCHES_A_CHARACTER = 0.078
"""Width of a character of the usual font, about."""
_WRITING_HEIGHT, _READING_SIZE = 20.0, 7.5
"""Height of a row on paper that can be written in by hand, and size of a heading that can be read there, points."""
_STATION_VALUE = 'SUBSTITUTE(SUBSTITUTE(SUBSTITUTE(UPPER({cell}),"+","")," BK","")," AH","")*1'


def write_workbook(blank: Blank, path: Path) -> None:
    """Write a blank log as a workbook.

    Parameters
    ----------
    blank : Blank
    path : path of the workbook; its folder is there
    """
    import openpyxl

    book = openpyxl.Workbook()
    book.properties.title, book.properties.category = blank.job.name, BLANK_MARK
    book.properties.creator = "asbuilt"
    book.remove(book.worksheets[0])
    for name in blank.sheets:
        sheet = book.create_sheet(name)
        _put_titles(sheet, blank)
        _put_headings(sheet, blank)
        _put_rows(sheet, blank)
        for at, column in enumerate(blank.columns, start=1):
            _validate(sheet, blank, at, column)
        _lay_out(sheet, blank)
    book.save(path)


def _letter(at: int) -> str:
    from openpyxl.utils import get_column_letter

    return str(get_column_letter(at))


def _put_titles(sheet: Worksheet, blank: Blank) -> None:
    from openpyxl.styles import Alignment, Font

    lines = (
        (f"{BLANK_TITLE}{blank.job.name}", Font(name="Calibri", bold=True, size=18, color=_INK)),
        (blank.about, Font(name="Calibri", size=12, color=_INK)),
        (blank.how, Font(name="Calibri", size=12, color=_SOFT)),
        (blank.caution, Font(name="Calibri", size=12, bold=True, color=_CAUTION)),
    )
    for row, (text, font) in enumerate(lines, start=1):
        cell = sheet.cell(row, 1)
        cell.value, cell.data_type = text, "s"
        cell.font = font
        cell.alignment = Alignment(vertical="center", wrap_text=True)
        # One cell across the table, so that a long line wraps within the page.
        sheet.merge_cells(start_row=row, end_row=row, start_column=1, end_column=len(blank.columns))
        width = sum(map(_width, blank.columns)) * (0.7 if row == 1 else 1.05)
        sheet.row_dimensions[row].height = (26 if row == 1 else 17) * math.ceil(len(text) / width)


def _put_headings(sheet: Worksheet, blank: Blank) -> None:
    from openpyxl.comments import Comment
    from openpyxl.styles import Alignment, Border, Font, PatternFill, Side

    line = Side(style="thin", color=_LINE)
    size = round(min(15.0, max(11.0, _READING_SIZE / _scale(blank))), 1)
    for at, column in enumerate(blank.columns, start=1):
        cell = sheet.cell(BLANK_HEADER_ROW, at)
        cell.value, cell.data_type = column.heading, "s"
        cell.font = Font(name="Calibri", bold=bool(column.required), size=size, color=_INK)
        # A heading upright where its longest word is wider than its column.
        upright = size / 11 * (max(map(len, column.heading.split())) + 1) > _width(column)
        cell.alignment = Alignment(
            horizontal="center" if upright else "left", vertical="bottom", wrap_text=True,
            text_rotation=90 if upright else 0,
        )  # fmt: skip
        cell.fill = PatternFill("solid", fgColor=_REQUIRED if column.required else _OPTIONAL)
        cell.border = Border(left=line, right=line, top=line, bottom=Side(style="medium", color=_INK))
        text = _told(column)
        cell.comment = Comment(text, "asbuilt", height=40 + 18 * (len(text) // 40 + text.count("\n")), width=320)
        sheet.column_dimensions[_letter(at)].width = _width(column)
    longest = max(len(one.heading) for one in blank.columns)
    sheet.row_dimensions[BLANK_HEADER_ROW].height = max(50.0, 0.58 * size * min(longest, 22))


def _width(column: Column) -> float:
    widest = max(map(len, column.choices), default=0) + 1
    if column.kind in _NARROW:
        return _NARROW_WIDTH
    return max(_WIDTHS.get(column.field, 8.0), min(widest, 16) if column.field == "route" else 0)


def _scale(blank: Blank) -> float:
    """Give the scale at which the table fits the paper's width."""
    return min(1.0, blank.paper_width / (sum(map(_width, blank.columns)) * _INCHES_A_CHARACTER))


def _told(column: Column) -> str:
    """Say all there is to say of a column, as its heading's comment has it."""
    parts = [f"{column.title}{f' ({column.unit})' if column.unit else ''}: {column.hint}"]
    if column.choices:
        parts.append(f"{'One of' if column.closed else 'As a rule one of'}: {', '.join(column.choices)}.")
    if column.limit is not None:
        parts.append(f"{column.limit.says} Write down what you found, even if it lies outside.")
    if column.required:
        others = [family for family in column.required if family != "*"]
        parts.append(
            "Required at every joint." if always_required(column) else f"Required at {', '.join(others)} joints."
        )
    if column.checked:
        parts.append(f"Checked: {' '.join(column.checked)}")
    return "\n".join(parts)


def _put_rows(sheet: Worksheet, blank: Blank) -> None:
    from openpyxl.styles import PatternFill

    height = round(_WRITING_HEIGHT / _scale(blank), 1)
    plain, band = PatternFill(), PatternFill("solid", fgColor=_BAND)
    for row in range(_FIRST, _FIRST + blank.rows):
        sheet.row_dimensions[row].height = height
        for at, column in enumerate(blank.columns, start=1):
            cell = sheet.cell(row, at)
            if row < _FIRST + 2:
                _open(cell, blank, column)
                cell.fill = band if row % 2 else plain
            else:
                # A whole style set anew for each of many thousand cells would take minutes.
                cell._style = sheet.cell(row - 2, at)._style


def _open(cell: Any, blank: Blank, column: Column) -> None:
    """Make a cell one to write in."""
    from openpyxl.styles import Alignment, Border, Font, Protection, Side

    line = Side(style="thin", color=_LINE)
    cell.font, cell.border = Font(name="Calibri", size=12), Border(left=line, right=line, top=line, bottom=line)
    cell.protection = Protection(locked=False)
    cell.number_format = _number_format(blank, column)
    cell.alignment = Alignment(
        vertical="center", wrap_text=column.kind == "long text", horizontal="center" if column.kind in _NARROW else None
    )


def _number_format(blank: Blank, column: Column) -> str:
    if column.kind == "date":
        order = blank.job.records.date_order or ("dmy" if blank.job.records.station_unit == "m" else "mdy")
        return {"mdy": "mm/dd/yyyy", "dmy": "dd/mm/yyyy", "ymd": "yyyy-mm-dd"}[order]
    if column.kind == "reading" and blank.job.records.readings_in == "in":
        return "# ??/??"  # so that 7/8 is a fraction, and not the eighth of July
    return "General" if column.kind in ("number", "reading") or column.field in ("size", "bend_angle") else "@"


def _validate(sheet: Worksheet, blank: Blank, at: int, column: Column) -> None:
    """Give the cells of a column their list or limit, and the message that shows while one is filled in."""
    cells = f"{_letter(at)}{_FIRST}:{_letter(at)}{_FIRST + blank.rows - 1}"
    rule = _rule(blank, at, column)
    prompt = f"{column.hint} {column.limit.says if column.limit else ''}".strip()
    rule.promptTitle, rule.prompt, rule.showInputMessage = column.heading[:32], _cut(prompt, _EXCEL_PROMPT), True
    rule.showErrorMessage = rule.type is not None
    rule.errorTitle = column.heading[:32]
    rule.add(cells)
    sheet.add_data_validation(rule)


def _rule(blank: Blank, at: int, column: Column) -> DataValidation:
    from openpyxl.worksheet.datavalidation import DataValidation

    listed = ",".join(column.choices)
    if column.choices and len(listed) <= _EXCEL_LIST and listed.count(",") == len(column.choices) - 1:
        said = f"Choose one of the list{'.' if column.closed else '; keep another only if it is what was laid.'}"
        return DataValidation(
            type="list", formula1=f'"{listed}"', allow_blank=True, errorStyle="stop" if column.closed else "warning",
            error=said,
        )  # fmt: skip
    if column.limit is not None:
        formula = _formula(blank, column.limit, f"{_letter(at)}{_FIRST}")
        if formula is not None and len(formula) <= _EXCEL_FORMULA:
            error = _cut(f"{column.limit.says} If it is what you found, keep it.", _EXCEL_PROMPT)
            return DataValidation(type="custom", formula1=formula, allow_blank=True, errorStyle="warning", error=error)
    if column.kind in ("number", "reading"):
        said = "Write a number, without its unit. Keep anything else only if it is what was found."
        return DataValidation(type="decimal", operator="between", formula1="-1000000000", formula2="1000000000",
                              allow_blank=True, errorStyle="warning", error=said)  # fmt: skip
    return DataValidation(allow_blank=True)


def _formula(blank: Blank, limit: Limit, cell: str) -> str | None:
    """Write a limit as a formula that is true where an entry keeps it."""
    fields = [one.field for one in blank.columns]

    def beside(field: str) -> str:
        return f"${_letter(fields.index(field) + 1)}{_FIRST}"

    if limit.of == "value":
        return _between(cell, limit.least, limit.most, number=cell)
    if limit.of == "date":
        ends = [f"DATE({int(one[:4])},{int(one[5:7])},{int(one[8:])})" if isinstance(one, str) else None
                for one in (limit.least, limit.most)]  # fmt: skip
        return _between(cell, ends[0], ends[1] or "TODAY()", number=cell)
    if limit.of == "route":
        value = _STATION_VALUE.format(cell=cell)
        return f"AND({value}>={limit.least:.2f},{value}<={limit.most:.2f})"
    together = f"{beside(limit.fields[0])}:{beside(limit.fields[-1])}" if limit.fields else ""
    if limit.of == "mean":
        mean = f"AVERAGE({together})"
        return f"OR(COUNT({together})<{len(limit.fields)},AND({mean}>={limit.least:g},{mean}<={limit.most:g}))"
    if limit.of == "spread":
        return f"MAX({together})-MIN({together})<={limit.most:g}"
    return _by_size(limit, cell, beside("size"))


def _between(value: str, least: object, most: object, *, number: str) -> str:
    """Write that a value is a number within its ends."""
    parts = [f"ISNUMBER({number})"]
    parts += [f"{value}>={least}"] if least is not None else []
    parts += [f"{value}<={most}"] if most is not None else []
    return f"AND({','.join(parts)})"


def _by_size(limit: Limit, cell: str, size: str) -> str:
    """Write a range for each run of sizes that have one; a size beyond them has none."""
    runs: list[tuple[Any, float, float]] = []
    for one, least, most in limit.by:
        if runs and runs[-1][1:] == (least, most):
            runs[-1] = (one, least, most)
        else:
            runs.append((one, least, most))
    formula = "TRUE"
    for largest, least, most in reversed(runs):
        formula = f"IF({size}<={largest:g},AND({cell}>={least:g},{cell}<={most:g}),{formula})"
    return formula


def _cut(text: str, most: int) -> str:
    return text if len(text) <= most else f"{text[: most - 1].rstrip()}…"


def _lay_out(sheet: Worksheet, blank: Blank) -> None:
    """Lock the headings, freeze them, and lay the sheet out for a clipboard."""
    last = _FIRST + blank.rows - 1
    sheet.freeze_panes = f"{_letter(min(3, len(blank.columns)) + 1)}{_FIRST}"
    sheet.print_title_rows = f"1:{BLANK_HEADER_ROW}"
    sheet.print_area = f"A1:{_letter(len(blank.columns))}{last}"
    sheet.page_setup.orientation, sheet.page_setup.paperSize = "landscape", PAPERS[blank.paper][0]
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.print_options.horizontalCentered = True
    margins = sheet.page_margins
    margins.left = margins.right = 0.4
    margins.top, margins.bottom, margins.header, margins.footer = 0.45, 0.6, 0.2, 0.25
    # An ampersand begins a code of a footer unless it stands twice.
    sheet.oddFooter.left.text = _cut(f"{blank.routes_named}  |  {blank.job.name}", 150).replace("&", "&&")
    sheet.oddFooter.right.text = "Page &P of &N    Inspector ______________"
    protection = sheet.protection
    protection.sheet = True
    # What a clerk does while typing in stays allowed: another width, another height.
    protection.formatColumns = protection.formatRows = protection.formatCells = False
    sheet.sheet_view.zoomScale = 90
