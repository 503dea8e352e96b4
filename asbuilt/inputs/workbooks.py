"""Workbooks as crews hand them in: title rows, merged cells, two rows of column names, formulas, damaged files."""

from __future__ import annotations

import datetime as dt
import io
import json
import re
import struct
import zipfile
import zlib
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, NamedTuple
from xml.etree import ElementTree

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Ints
from asbuilt.errors import InputFileError
from asbuilt.inputs.bounds import MOST_CELLS, most, raised, refuse_swollen
from asbuilt.inputs.decimals import decimal_comma
from asbuilt.inputs.error_cells import ErrorCell, error_cells
from asbuilt.inputs.headers import FIRST_ROWS, column_names, fields_named, find_header, from_row_above, plain_name
from asbuilt.inputs.text_table import (
    BLANK_HEADER_ROW,
    BLANK_TITLE,
    RETURN_COLUMN,
    RETURN_SHEET,
    TextTable,
    numbers_as_text,
    trimmed,
    without_blanks,
)

ZIP, COMPOUND = b"PK\x03\x04", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_FORMULA_WITHOUT_VALUE = re.compile(
    rb'<(?:\w+:)?c (?![^>]*\bt="str")[^>]*?\br="([A-Z]+\d+)"[^>]*>\s*<(?:\w+:)?f\b[^<]*(?:/>|</(?:\w+:)?f>)\s*'
    rb"(?:<(?:\w+:)?v\s*/>|<(?:\w+:)?v></(?:\w+:)?v>)?\s*</(?:\w+:)?c>"
)
_FAR_CELL = re.compile(rb'<c r="([A-Z]{3}\d+)"[^>]*[^/]>')
"""A cell that holds something, in a column with three letters."""
_ROW_NUMBER = re.compile(rb'<row [^>]*?r="(\d+)"')
_HIDDEN_ROW = re.compile(rb'<row (?=[^>]*?\bhidden="(?:1|true)")[^>]*?\br="(\d+)"')
_COLUMNS = 16_384
_DAMAGE = (
    zipfile.BadZipFile, zlib.error, ElementTree.ParseError, struct.error, OSError, IndexError, KeyError, ValueError,
    NotImplementedError,
)  # fmt: skip
_SHOWN = 10
"""So many cells are named in one note."""
_ALIKE = 0.6
"""A sheet that names this part of the fields that another one names looks like it."""
_PROTECTED = "the workbook is protected by a password; save it without one"


_Cells = list[tuple[int, str]]
"""Cells by their names, each behind the number of its row."""


class _Merged(NamedTuple):
    """A range of cells shown as one; rows and columns counted from 0, the last ones included."""

    top: int
    left: int
    bottom: int
    right: int


class Workbook(NamedTuple):
    """A workbook, opened once for all its sheets."""

    path: Path
    content: bytes
    reader: Any
    packed: zipfile.ZipFile | None
    """Its parts; None where it is no packed file."""
    parts: Mapping[str, str]
    """The part of each sheet by its name, where it is Office Open XML."""
    struck: frozenset[int] = frozenset()
    """Numbers of the cell formats whose font is struck through; other kinds of workbook are not asked for theirs."""

    def xml(self, sheet: str) -> bytes:
        """Give a sheet as an Office Open XML workbook holds it; nothing for workbooks of other kinds."""
        return self.packed.read(self.parts[sheet]) if self.packed is not None and sheet in self.parts else b""


def read_workbook(
    book: Workbook,
    known: Mapping[str, str],
    sheet: str | None,
    decimal: str | None,
    header: bool | None,
    *,
    among_sheets: bool = False,
    struck_aside: bool = False,
    sheet_key: str | None = None,
) -> TextTable:
    """Read one sheet of a workbook; as for `tables.read_table`, with the plain names of fields.

    `among_sheets` says that others are read, too: the notes then name the sheet.
    """
    path = book.path
    with _damage_told(path):
        found, notes = _chosen_sheet(path, book.reader, known, sheet, sheet_key)
        grid = found.to_python(skip_empty_area=False)
        merged = [_Merged(*first, *last) for first, last in found.merged_cell_ranges or ()]
        sheet_xml = book.xml(found.name)
        errors = error_cells(book.content, book.reader.sheet_names.index(found.name), sheet_xml)
    where = Path(f"{path}, sheet {found.name!r}") if among_sheets else path
    notes += _put_errors(grid, errors, where)
    if not grid:
        raise InputFileError(f"{path}: sheet {found.name!r} is empty; name the sheet that has the rows")
    _refuse_formulas_without_value(where, sheet_xml)
    struck, partly = _struck_rows(grid, sheet_xml, book.struck)
    top, left = found.start or (0, 0)
    right = _cut_remarks(grid, len(grid[0]) - 1)
    # A line across the whole sheet is a title, not a value of every column.
    inner = [one for one in merged if left == right or one.left > left or one.right < right]
    _spread_merged(grid, inner)
    at, head = _workbook_header(grid, top, inner, known, header)
    above = 0 if at is None else at + 1
    if any(one.bottom >= above for one in inner):
        notes.append(f"{where}: the value of merged cells is taken for each row and column that they cover")
    cells = [_cells_as_text(values) for values in zip(*grid[above:], strict=True)] or [_cells_as_text(())] * len(head)
    columns = [trimmed(pa.chunked_array([text])) for text, _ in cells]
    own = above == BLANK_HEADER_ROW and str(grid[0][0]).startswith(BLANK_TITLE)
    row = np.arange(above + 1, len(grid) + 1)
    titles = [*map(_row_as_text, grid[: max(above - 1, 0)])]
    data, row, more_notes = without_blanks(where, columns, head, 1 if own else above, row, titles)
    comma, told = decimal_comma(data, known, decimal, where)
    notes += told
    notes += _hidden_rows(where, sheet_xml, row)
    read = set(row.tolist())
    struck &= read
    notes += _struck_told(where, struck, [cell for at, cell in partly if at in read], struck_aside)
    return TextTable(
        path=str(path), sheet=found.name, headed=at is not None, columns=tuple(data.column_names), data=data, row=row,
        broken=(), notes=(*notes, *more_notes), sha256="", decimal_comma=comma,
        numeric=frozenset(name for name, (_, numeric) in zip(column_names(head), cells, strict=True) if numeric),
        header_row=above, among_sheets=among_sheets, struck=frozenset(struck if struck_aside else ()),
    )  # fmt: skip


def _hidden_rows(where: Path, xml: bytes, row: Ints) -> list[str]:
    """Say which rows of the table the workbook hides, as by a filter: they are read as all others."""
    if b"hidden=" not in xml:
        return []
    rows = sorted(set(map(int, _HIDDEN_ROW.findall(xml))) & set(row.tolist()))
    if not rows:
        return []
    return [
        f"{where}: rows hidden in the sheet, as by a filter, are read as the others: {_first_of(rows)}; where they do "
        "not count, say which rows do (records.rows), or take them out"
    ]


def _struck_rows(grid: Sequence[Sequence[Any]], xml: bytes, formats: frozenset[int]) -> tuple[set[int], _Cells]:
    """Find the rows of which most filled cells are struck through, and the struck cells of other rows with their row.

    A part of a cell's text that is struck through is not seen.
    """
    if not formats:
        return set(), []
    numbers = b"|".join(str(one).encode() for one in sorted(formats))
    pattern = rb'<c (?=[^>]*?\bs="(?:%b)")[^>]*?\br="(([A-Z]+)(\d+))"[^>/]*>\s*<(?:f|v|is)\b' % numbers
    cells = [(int(row), name.decode()) for name, _, row in re.findall(pattern, xml)]
    counts = Counter(row for row, _ in cells)
    filled = {row: sum(cell != "" for cell in grid[row - 1]) for row in counts if row <= len(grid)}
    struck = {row for row, count in filled.items() if 2 * counts[row] > count}
    return struck, [one for one in cells if one[0] not in struck]


def _struck_told(where: Path, struck: Collection[int], cells: Sequence[str], struck_aside: bool) -> list[str]:
    """Say what becomes of rows that are struck through, and that single cells are read as they stand."""
    notes = []
    if struck:
        what = (
            f'are set aside as void: {_first_of(sorted(struck))}; where they count, say records.struck_out = "read"'
            if struck_aside
            else f"are read as the others: {_first_of(sorted(struck))}; where they do not count, take them out"
        )
        notes.append(f"{where}: rows struck through in the sheet {what}")
    if cells:
        notes.append(f"{where}: single cells that are struck through are read as they stand: {_first_of(cells)}")
    return notes


def _first_of(names: Sequence[int | str]) -> str:
    more = f" and {len(names) - _SHOWN:,} more" if len(names) > _SHOWN else ""
    return f"{', '.join(map(str, names[:_SHOWN]))}{more}"


def _struck_formats(packed: zipfile.ZipFile) -> frozenset[int]:
    """Give the numbers of the cell formats whose font is struck through; most workbooks have none."""
    if "xl/styles.xml" not in packed.namelist():
        return frozenset()
    xml = packed.read("xl/styles.xml")
    if b"strike" not in xml:
        return frozenset()
    fonts, formats = list[bool](), list[int]()
    for part in ElementTree.fromstring(xml):
        if part.tag.endswith("}fonts"):
            marks = [next((one for one in font if one.tag.endswith("}strike")), None) for font in part]
            fonts = [one is not None and one.get("val", "1") not in ("0", "false") for one in marks]
        elif part.tag.endswith("}cellXfs"):
            formats = [int(one.get("fontId", 0)) for one in part]
    return frozenset(at for at, font in enumerate(formats) if font < len(fonts) and fonts[font])


def sheets_with_rows(book: Workbook, known: Mapping[str, str], wanted: Sequence[str]) -> tuple[list[str], list[str]]:
    """Name the sheets that are asked for, or for "*" all whose first rows name fields; note those that do not."""
    path = book.path
    if "*" not in wanted:
        return [_sheet_named(path, book.reader, name) for name in wanted], []
    with _damage_told(path):
        merit = _merit(book.reader, known)
    of_logs, hidden = [name for name, named in merit.items() if named >= 2], _hidden_sheets(book.reader)
    names = [name for name in of_logs if name not in hidden]
    by_name = f"records.sheet = [{', '.join(json.dumps(one, ensure_ascii=False) for one in of_logs)}]"
    if not names:
        raise InputFileError(
            f"{path}: every sheet that names the columns of a log is hidden; name those that count: {by_name}"
            if of_logs
            else f"{path}: no sheet names the columns of a log; the sheets are {_listed(merit)}"
        )
    others, unseen = [one for one in merit if one not in of_logs], [one for one in of_logs if one in hidden]
    notes = [f"{path}: {_listed(others)} left out: no columns of a log are named there"] if others else []
    if unseen:
        notes.append(
            f"{path}: {_listed(unseen)} left out: hidden in the workbook; where a hidden sheet counts, name all that "
            f"do: {by_name}"
        )
    return names, notes


def open_workbook(path: Path, content: bytes) -> Workbook:
    """Open a workbook's bytes.

    Raises
    ------
    InputFileError
        When it is damaged, protected, or asks for more than the bounds.
    """
    import python_calamine

    if content.startswith(COMPOUND) and "EncryptedPackage".encode("utf-16-le") in content:
        raise InputFileError(f"{path}: {_PROTECTED}")
    with _damage_told(path):
        packed, parts, struck = None, dict[str, str](), frozenset[int]()
        if content.startswith(ZIP):
            refuse_swollen(path, io.BytesIO(content))
            packed = zipfile.ZipFile(io.BytesIO(content))
            _refuse_stray_cells(path, packed)
            parts, struck = _sheet_parts(packed), _struck_formats(packed)
        reader = python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(content))
    return Workbook(path, content, reader, packed, parts, struck)


@contextmanager
def _damage_told(path: Path) -> Iterator[None]:
    """Say what is wrong with a workbook where it, or a sheet of it, cannot be read."""
    import python_calamine

    try:
        yield
    except python_calamine.PasswordError:
        raise InputFileError(f"{path}: {_PROTECTED}") from None
    except (python_calamine.CalamineError, *_DAMAGE) as error:
        raise InputFileError(
            f"{path}: cannot be read as a workbook ({error}); open it in a spreadsheet program and save it as .xlsx"
        ) from None


def _cut_remarks(grid: list[list[Any]], right: int) -> int:
    """Cut the column of remarks of a log that was handed back; give the last column that is left."""
    found = [at for cells in grid[:FIRST_ROWS] for at, cell in enumerate(cells) if cell == RETURN_COLUMN]
    if not found:
        return right
    for cells in grid:
        cells[found[0]] = ""
    while right > 0 and right >= found[0] and all(cells[right] == "" for cells in grid):
        for cells in grid:
            del cells[right]
        right -= 1
    return right


def _refuse_formulas_without_value(path: Path, xml: bytes) -> None:
    """Refuse cells whose formula no spreadsheet program has computed: they would be read as blank."""
    has_formulas = b"<f" in xml or b":f>" in xml or b":f " in xml
    found = _FORMULA_WITHOUT_VALUE.search(xml) if has_formulas else None
    if found:
        raise InputFileError(
            f"{path}: cell {found[1].decode()} holds a formula without its value; open the workbook in a spreadsheet "
            "program and save it"
        )


def _chosen_sheet(
    path: Path, book: Any, known: Mapping[str, str], wanted: str | None, key: str | None
) -> tuple[Any, list[str]]:
    """Give the sheet that is asked for, or the one whose first rows name by far the most fields."""
    if wanted is not None:
        return book.get_sheet_by_name(_sheet_named(path, book, wanted)), []
    names = _sheet_names(book)
    if len(names) == 1:
        return book.get_sheet_by_name(names[0]), []
    merit, hidden = _merit(book, known), _hidden_sheets(book)
    if not merit:
        raise InputFileError(f"{path}: the workbook has no sheet with rows; give the one that has them")
    # What is hidden is taken only where nothing that is shown names columns.
    merit = {one: named for one, named in merit.items() if one not in hidden and named >= 2} or merit
    most = max(merit.values())
    best = [name for name, named in merit.items() if named >= max(_ALIKE * most, min(3, most))]
    if len(best) != 1:
        say = _SAY_SHEET.get(key or "", _ONE_SHEET)
        raise InputFileError(f"{path}: it is not clear which sheet holds the rows, {_listed(best)}; {say}")
    unseen = [one for one in names if one in hidden]
    told = f"; hidden in the workbook: {_listed(unseen)}" if unseen else ""
    return book.get_sheet_by_name(best[0]), [f"{path}: sheet {best[0]!r} taken of {_listed(names)}{told}"]


def _hidden_sheets(book: Any) -> set[str]:
    """Name the sheets that the workbook hides."""
    return {one.name for one in book.sheets_metadata if str(one.visible) != "SheetVisibleEnum.Visible"}


def _sheet_names(book: Any) -> list[str]:
    return [name for name in book.sheet_names if name != RETURN_SHEET] or list(book.sheet_names)


_SAY_SHEET = {
    "records.sheet": 'name one of them with records.sheet, or several as one log: records.sheet = "*" takes all',
    "--sheet": "name one of them with --sheet; --sheet '*' takes all of them",
    "centerline.sheet": "name one of them with centerline.sheet",
}
_ONE_SHEET = "save the one that is meant as a file of its own, and name that"


def _sheet_named(path: Path, book: Any, wanted: str) -> str:
    alike = [name for name in book.sheet_names if name.strip().casefold() == wanted.strip().casefold()]
    if wanted not in alike and len(alike) != 1:
        raise InputFileError(f"{path}: there is no sheet {wanted!r}; the sheets are {_listed(_sheet_names(book))}")
    return wanted if wanted in alike else str(alike[0])


def _merit(book: Any, known: Mapping[str, str]) -> dict[str, int]:
    """Count the fields that the first rows of each sheet name, at most in one row; sheets without rows are absent."""
    merit = {}
    for name in _sheet_names(book):
        rows = book.get_sheet_by_name(name).to_python(skip_empty_area=False, nrows=FIRST_ROWS)
        if rows:
            merit[name] = max(fields_named(map(str, row), known) for row in rows)
    return merit


def _listed(names: Iterable[str]) -> str:
    return ", ".join(map(repr, names))


def _put_errors(grid: list[list[Any]], errors: Sequence[ErrorCell], where: Path) -> list[str]:
    """Put error values such as #REF! in place, which the workbook reader gives as blank cells, and name the cells."""
    if not errors:
        return []
    # The reader's range may end before a last row, or column, of errors alone.
    width = max(len(grid[0]) if grid else 0, *(one.column + 1 for one in errors))
    grid += [[] for _ in range(max(one.row for one in errors) + 1 - len(grid))]
    for cells in grid:
        cells += [""] * (width - len(cells))
    for error in errors:
        grid[error.row][error.column] = error.text
    named = ", ".join(f"{one.name} ({one.text})" for one in errors[:_SHOWN])
    more = f" and {len(errors) - _SHOWN:,} more" if len(errors) > _SHOWN else ""
    hold = "1 cell holds" if len(errors) == 1 else f"{len(errors):,} cells hold"
    return [f"{where}: {hold} what the spreadsheet program could not compute: {named}{more}"]


def _refuse_stray_cells(path: Path, packed: zipfile.ZipFile) -> None:
    """Refuse a sheet with a cell far beyond its log: every cell up to it is laid out, and memory would be gone."""
    for name in packed.namelist():
        if not name.startswith("xl/worksheets/sheet"):
            continue
        try:
            xml = packed.read(name)
        except (zlib.error, zipfile.BadZipFile, RuntimeError, EOFError, ValueError, OSError):
            continue  # damaged: the reader says so
        stray = _FAR_CELL.search(xml)
        filled = max(xml.rfind(b"<v>"), xml.rfind(b"<is>"))
        row = _ROW_NUMBER.match(xml, xml.rfind(b"<row ", 0, filled)) if filled >= 0 else None
        if stray is not None and row is not None and int(row[1]) * _COLUMNS > most(MOST_CELLS):
            raise InputFileError(
                f"{path}: {name.rpartition('/')[2]} has a value in cell {stray[1].decode()}, far beyond any log, "
                f"and rows down to {int(row[1])}: more than can be laid out; delete the stray cells and "
                f"save it, or {raised(MOST_CELLS)}"
            )


def _sheet_parts(packed: zipfile.ZipFile) -> dict[str, str]:
    """Give the part of each sheet of an Office Open XML workbook by its name; nothing for workbooks of other kinds."""
    if "xl/workbook.xml" not in packed.namelist():
        return {}
    links = ElementTree.fromstring(packed.read("xl/_rels/workbook.xml.rels"))
    targets = {link.get("Id"): link.get("Target", "") for link in links}
    parts = dict[str, str]()
    for entry in ElementTree.fromstring(packed.read("xl/workbook.xml")).iter():
        if entry.tag.endswith("}sheet"):
            target = next(
                (targets[id_] for name, id_ in entry.items() if name.endswith("}id") and id_ in targets), None
            )
            if target is not None:
                parts.setdefault(entry.get("name", ""), f"xl/{target.removeprefix('/xl/')}")
    return parts


def _spread_merged(grid: list[list[Any]], merged: Sequence[_Merged]) -> None:
    """Fill merged cells down and right with their value, but no row that has nothing of its own."""
    own = [any(cell != "" for cell in cells) for cells in grid]
    for one in merged:
        for row in range(one.top, min(one.bottom + 1, len(grid))):
            if own[row]:
                cells = grid[row]
                for column in range(one.left, min(one.right + 1, len(cells))):
                    if cells[column] == "":
                        cells[column] = grid[one.top][one.left]


def _workbook_header(
    grid: list[list[Any]], top: int, merged: Sequence[_Merged], known: Mapping[str, str], header: bool | None
) -> tuple[int | None, list[str]]:
    """Find the column names, which may stand in two rows: names of groups of columns above names of columns."""
    rows = [_row_as_text(cells) for cells in grid[top : top + FIRST_ROWS + 1]]
    at = find_header(rows[:FIRST_ROWS], known, header)
    if at is None:
        return None, [""] * len(grid[0])
    grouped = {
        (row, column)
        for one in merged
        for row in (at - 1, at)
        for column in range(one.left, min(one.right + 1, len(grid[0])))
        if one.left < one.right and one.top <= row + top <= one.bottom
    }
    if at + 1 < len(rows) and _is_second_row(rows[at], rows[at + 1], at, grouped, known):
        at += 1
        rows[at] = [name or over for name, over in zip(rows[at], rows[at - 1], strict=True)]
    times = Counter(plain_name(name, known) for name in rows[at])
    above = rows[at - 1] if at else [""] * len(rows[at])
    groups = {column for row, column in grouped if row == at - 1}
    begun = from_row_above(above, rows[at], known, groups)
    head = []
    for column, name in enumerate(rows[at]):
        if column in begun:
            head.append(begun[column])
            continue
        group = above[column] if column in groups else ""
        full = f"{group} {name}"
        needed = times[plain_name(name, known)] > 1 or (
            plain_name(name, known) not in known and plain_name(full, known) in known
        )
        head.append(full if group and name and group != name and needed else name)
    return at + top, head


def _is_second_row(
    first: Sequence[str], second: Sequence[str], at: int, grouped: set[tuple[int, int]], known: Mapping[str, str]
) -> bool:
    """Say whether a row below the column names goes on with them: it divides their groups, and only these."""
    divided = [column for column, name in enumerate(second) if name and name != first[column]]
    full = [f"{first[column]} {second[column]}" for column in divided]
    goes_on = all(
        (at, column) in grouped or plain_name(name, known) in known for column, name in zip(divided, full, strict=True)
    )
    return bool(divided) and goes_on and fields_named([*full, *second], known) > 0


def _row_as_text(cells: Sequence[Any]) -> list[str]:
    return [(cell or "").strip() for cell in _cells_as_text(cells)[0].to_pylist()]


def _cells_as_text(values: Sequence[Any]) -> tuple[pa.Array, bool]:
    """Write a workbook's cells as text, and say whether all of them are numbers."""
    kinds = set(map(type, values))
    if kinds <= {str}:
        return pa.array(values, pa.string()), False
    is_number = [type(value) in (float, int) for value in values]
    numbers = np.array([value if number else np.nan for value, number in zip(values, is_number, strict=True)], float)
    others = [None if number else _cell_text(value) for value, number in zip(values, is_number, strict=True)]
    numeric = any(is_number) and not any(others)
    return pc.coalesce(numbers_as_text(numbers), pa.array(others, pa.string())), numeric


def _cell_text(value: Any) -> str:
    """Write a cell that is not a number: yes or no, a date, a time, text."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dt.datetime) and value.time() == dt.time():
        return str(value.date())
    return str(value)
