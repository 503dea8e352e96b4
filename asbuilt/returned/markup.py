"""The contractor's own log handed back: cell for cell, with remarks on what is wrong and what is expected.

Corrected and handed in again, the workbook is read as the log: the sheet and the column added here are not read.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from contextlib import ExitStack
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import pyarrow as pa

from asbuilt import stores, units
from asbuilt.checks import KINDS
from asbuilt.errors import InputFileError, LogRefusedError, OutputError
from asbuilt.inputs import log as logs
from asbuilt.inputs import vectors
from asbuilt.inputs.delimited import raw_rows
from asbuilt.inputs.fields import NUMBER_FIELDS, known_names
from asbuilt.inputs.text_table import RETURN_COLUMN, RETURN_SHEET, TextTable
from asbuilt.judging import found_in_entries, found_in_inspections
from asbuilt.layers import outputs
from asbuilt.schema import DOMAINS, SURVEY_CODES
from asbuilt.vocabulary import KINDS as KINDS_LAID
from asbuilt.vocabulary import YES_NO_FIELDS

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

    from asbuilt.job import Job
    from asbuilt.placement import Placement

# The review's rust, ochre and azure, two thirds white so that black text stays readable.
_FILLS = {"act": "FFE9BFAE", "check": "FFE7D7C4", "note": "FFB8DDF1"}
_SEVERITIES = tuple(_FILLS)
_SIGNED = "Remarks by asbuilt:"
_LOST = {"xl/charts/": "charts", "xl/media/": "pictures", "xl/threadedComments/": "comment threads"}
_EXCEL_TEXT = 32_767
REFUSED = "log-refused"
_REFUSED = "None of the log can be placed before this is put right"
_FEW_ROWS = 8


class Remark(NamedTuple):
    """One thing to say of one record."""

    record: int
    kind: str
    severity: str
    fields: tuple[str, ...]
    text: str


class LengthRemark(NamedTuple):
    """One thing to say of a length of a route, or a shot of its survey, which is on no row of the log."""

    route: str
    point: str | None
    """Name of the shot; None for a length."""
    kind: str
    severity: str
    text: str


class Returned(NamedTuple):
    """What was handed back."""

    paths: tuple[Path, ...]
    remarks: dict[str, int]
    """Number of remarks by kind."""
    notes: tuple[str, ...]


def remarks(placement: Placement) -> list[Remark]:
    """Say of each record what is wrong with it, by what was set aside, unreadable, or found at its joint.

    Parameters
    ----------
    placement : Placement

    Returns
    -------
    list of Remark
        In the order of the log; of one record the most severe first. Joints missing from the log are remarked on
        the record that comes after them.
    """
    said = [*_set_aside(placement), *_unreadable(placement), *_found(placement)]
    return sorted(said, key=lambda one: (one.record, _SEVERITIES.index(one.severity)))


def length_remarks(placement: Placement) -> list[LengthRemark]:
    """Say what is wrong with lengths of the routes.

    Parameters
    ----------
    placement : Placement
    """
    of_lengths = placement.found.filter(placement.found["joint_index"].is_null()).to_pylist()
    return [
        LengthRemark(
            placement.routes.names[one["length_route"]], one["point"], one["code"], one["severity"],
            _text(one["code"], one["severity"], one["message"]),
        )
        for one in of_lengths
    ]  # fmt: skip


def write_return(placement: Placement, path: Path | str) -> Returned:
    """Write the log back as a workbook with remarks; of a log in several files, a workbook for each.

    Parameters
    ----------
    placement : Placement
        Of a log in CSV files or .xlsx workbooks.
    path : path of the workbook
        Where the log has several files, their names are added to its name.

    Raises
    ------
    OutputError
        When a workbook cannot be written there, or would replace one of the job's inputs.
    InputFileError
        When a log is of another kind, or has changed since it was placed.
    """
    path = stores.local(path)
    _check_name(path)
    job, said = placement.job, remarks(placement)
    logs_of_files = _by_file(_tables(placement))
    paths = _paths(path, [tables[0] for tables in logs_of_files])
    for one in paths:
        outputs.check_output(one, placement.inputs, job, kind="return", key="--return")
    notes: list[str] = []
    by_record = defaultdict(list)
    for remark in said:
        by_record[remark.record].append(remark)
    start = 0
    with outputs.write_errors(path, "--return"), ExitStack() as places:
        for tables, final in zip(logs_of_files, paths, strict=True):
            book, more = _copied(job, tables[0])
            notes += more
            all_mine: list[list[Remark]] = []
            for table in tables:
                rows = placement.log.row[start : start + _records(table)]
                mine = {int(row): by_record[start + at] for at, row in enumerate(rows) if start + at in by_record}
                sheet = book[table.sheet] if table.sheet is not None else book.worksheets[0]
                _mark(sheet, _clear(sheet), table, _columns(placement, table), mine)
                _lay_out_for_print(sheet, table)
                all_mine += mine.values()
                start += _records(table)
            _count(book, job.name, tables, all_mine, length_remarks(placement))
            book.save(places.enter_context(outputs.put_in_place(final, option="--return")))
    return Returned(tuple(paths), dict(Counter(one.kind for one in said).most_common()), tuple(notes))


def write_refused(job: Job, refused: LogRefusedError, path: Path) -> Path:
    """Write a log that was refused as a whole back as a workbook, with the reason at the row where it shows.

    Parameters
    ----------
    job : Job
    refused : LogRefusedError
    path : path of the workbook

    Returns
    -------
    path
        Of the workbook of the one file that has the row, named as `write_return` names it.

    Raises
    ------
    OutputError, InputFileError
        As `write_return`.
    """
    _check_name(path)
    tables = logs.text_tables(job)
    files = _by_file(tables)
    ends = np.cumsum([_records(table) for table in tables])
    at = int(np.searchsorted(ends, refused.record, side="right"))
    table, record = tables[at], refused.record - (int(ends[at - 1]) if at else 0)
    own = next(number for number, some in enumerate(files) if any(one is table for one in some))
    final = _paths(path, [some[0] for some in files])[own]
    outputs.check_output(final, tuple((one.path, one.sha256) for one in tables), job, kind="return", key="--return")
    row = int(np.sort([*table.row, *(one.row for one in table.broken)])[record])
    remark = Remark(refused.record, REFUSED, "act", ("station", "joint"), _text(REFUSED, "act", str(refused)))
    with outputs.write_errors(path, "--return"), ExitStack() as places:
        book, _ = _copied(job, files[own][0])
        for one in files[own]:
            sheet = book[one.sheet] if one.sheet is not None else book.worksheets[0]
            said = {row: [remark]} if one is table else {}
            _mark(sheet, _clear(sheet), one, logs.matched(job, one), said)
            _lay_out_for_print(sheet, one)
        _count(book, job.name, files[own], [[remark]], [])
        book.save(places.enter_context(outputs.put_in_place(final, option="--return")))
    return final


def _check_name(path: Path) -> None:
    if path.suffix.lower() != ".xlsx":
        raise OutputError(f"{path}: the name of the workbook that is handed back ends in .xlsx; name it so in --return")


def _by_file(tables: Sequence[TextTable]) -> list[list[TextTable]]:
    """Group the sheets of one file, which stand one behind the other."""
    return [list(sheets) for _, sheets in groupby(tables, key=lambda table: table.path)]


def _records(table: TextTable) -> int:
    return len(table.row) + len(table.broken)


def _set_aside(placement: Placement) -> Iterator[Remark]:
    outcome = placement.placed.records
    rows = np.flatnonzero(~outcome.placed)
    taken = pa.array(rows)
    told = zip(
        rows.tolist(), outcome.reason.take(taken).to_pylist(), outcome.message.take(taken).to_pylist(), strict=True
    )
    for record, reason, message in told:
        yield Remark(record, reason, "act", KINDS[reason].fields, _text(reason, "act", f"set aside: {message}"))


def _unreadable(placement: Placement) -> Iterator[Remark]:
    cells = placement.log.unreadable
    columns = (cells.record.tolist(), *(one.to_pylist() for one in cells[1:]))
    for record, field, text, why in zip(*columns, strict=True):
        message = f"{field.replace('_', ' ')}: '{text}' cannot be read{f': {why}' if why else ''}"
        text = _text("field-unreadable", "note", message, _readable(placement.job, field))
        yield Remark(record, "field-unreadable", "note", (field,), text)


def _found(placement: Placement) -> Iterator[Remark]:
    judged, found = placement.judged, placement.found
    own = {
        "inspection-missing": found_in_inspections.missing_fields(judged),
        "inspection-failed": found_in_inspections.failed_fields(judged),
        "entry-doubtful": found_in_entries.doubtful_fields(judged),
    }
    columns = [found[name].to_pylist() for name in ("joint_index", "record", "code", "severity", "message")]
    contradicted = {joint for joint, code in zip(columns[0], columns[2], strict=True) if code == "deflection-conflict"}
    for joint, own_record, code, severity, message in zip(*columns, strict=True):
        # Unreadable cells are remarked record by record, for a record set aside or superseded has them too. That
        # readings contradict the survey is said of the joint already.
        if joint is None or code == "field-unreadable" or (code == "deflection-unclear" and joint in contradicted):
            continue
        fields = KINDS[code].fields
        if code in own:
            fields = tuple(field for field, where in own[code].items() if where[joint])
        expected = KINDS[code].expected
        if code == "joints-missing" and (aside := _set_aside_between(placement, joint)):
            expected = f"{aside}, set aside, put right; or {expected}"
        text = _text(code, severity, message, expected)
        records = _records_of(placement, joint, code) if own_record is None else [own_record]
        yield from (Remark(record, code, severity, fields, text) for record in records)


def _records_of(placement: Placement, joint: int, code: str) -> list[int]:
    joints = placement.judged.joints
    if code == "joints-missing":
        return [int(joints.record[joint + 1])]
    if code in ("joint-repeated", "station-contradicted", "failure-overruled") and joints.records[joint] > 1:
        return np.flatnonzero(placement.judged.joint_of_record == joint).tolist()
    return [int(joints.record[joint])]


def _set_aside_between(placement: Placement, joint: int) -> str:
    """Name the rows between a joint's and the next one's that are set aside: they may be the joints missing."""
    first, last = sorted(int(record) for record in placement.judged.joints.record[joint : joint + 2])
    rows = placement.log.row[first + 1 : last][~placement.placed.records.placed[first + 1 : last]]
    if not 0 < len(rows) <= _FEW_ROWS:
        return ""
    return f"row{'s' if len(rows) > 1 else ''} {', '.join(map(str, rows))}"


def _text(kind: str, severity: str, message: str, expected: str | None = None) -> str:
    return f"{kind} ({severity}): {message}" + (f". Expected: {expected}" if expected else "")


def _readable(job: Job, field: str) -> str:
    unit = "m" if job.records.station_unit == "m" else "ft"
    if field in YES_NO_FIELDS:
        return "yes or no (or pass and fail, ok, y and n, 1 and 0)"
    if field == "inspected_on":
        return "a date such as 2026-04-02"
    if field == "size":
        return f"a nominal size in {units.SMALL_WORDS[job.records.sizes_in]}"
    if field == "gasket_temperature":
        return "a temperature such as 55 F"
    if field == "bend_angle":
        return "an angle in degrees, such as 45 or 22.5"
    if field == "laid_length":
        return f"a length above nothing, in {unit}"
    if field == "bend_plane":
        return "a word such as horizontal, vertical, left or up, or the roll in degrees"
    if field == "kind":
        return f"one of {', '.join(KINDS_LAID)}, or what the word stands for said in [records.words.kind]"
    if field not in NUMBER_FIELDS:
        return "the word itself, or the name"
    return "a number alone, or with its unit"


def _tables(placement: Placement) -> list[TextTable]:
    """Read the log's files again, for their rows and columns, and see that they are still the ones placed."""
    if not placement.log.inputs:
        raise OutputError("the log is not in files, so there is none to hand back; name its files in records.path")
    tables = logs.text_tables(placement.job)
    placed = dict(placement.log.inputs)
    for table in tables:
        if table.sha256 != placed.get(table.path):
            raise InputFileError(f"{table.path}: has changed since it was read; run this again")
    return tables


def _paths(path: Path, tables: Sequence[TextTable]) -> list[Path]:
    if len(tables) == 1:
        return [path]
    names = [Path(table.path).stem for table in tables]
    # Logs of one name in several folders are told apart by a number.
    tails = [name if names.count(name) == 1 else f"{name}-{at}" for at, name in enumerate(names, start=1)]
    return [path.with_name(f"{path.stem}-{tail}{path.suffix}") for tail in tails]


def _columns(placement: Placement, table: TextTable) -> dict[str, str]:
    """Give the column of each field that the sheet has."""
    matches = [(field, column) for where, field, column in placement.log.matches if where == table.where]
    return {field: column for field, column in matches if column in table.columns}


def _copied(job: Job, table: TextTable) -> tuple[Workbook, list[str]]:
    """Give the log as a workbook without earlier remarks, and what could not be carried over."""
    import openpyxl

    path = Path(table.path)
    if path.suffix.lower() in vectors.SUFFIXES:
        raise InputFileError(
            f"{path}: this is a layer, and only CSV files and .xlsx workbooks can be handed back; the findings that "
            "asbuilt place writes, and asbuilt check --json, name its rows"
        )
    content = path.read_bytes()
    if table.sheet is None and not content.startswith(b"PK"):
        return _from_text(job, table)
    import zipfile

    if not zipfile.is_zipfile(path) or "xl/workbook.xml" not in (names := zipfile.ZipFile(path).namelist()):
        raise InputFileError(f"{path}: only CSV files and .xlsx workbooks can be handed back; save it as .xlsx")
    lost = [word for start, word in _LOST.items() if any(name.startswith(start) for name in names)]
    book = openpyxl.load_workbook(path, rich_text=True)
    if RETURN_SHEET in book.sheetnames:
        del book[RETURN_SHEET]
    notes = [f"{path}: {' and '.join(lost)} of the workbook are not handed back"] if lost else []
    return book, notes


def _from_text(job: Job, table: TextTable) -> tuple[Workbook, list[str]]:
    import openpyxl
    from openpyxl.utils import get_column_letter

    path = Path(table.path)
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = _sheet_title(job.records.sheet[0] if job.records.sheet else path.stem)
    rows = raw_rows(path, fields=known_names(job), encoding=job.records.encoding)
    widths: Counter[int] = Counter()
    changed = 0
    for at, cells in enumerate(rows, start=1):
        for column, written in enumerate(cells, start=1):
            if not written:
                continue
            # Text stays text, in the file and when it is edited: '=1+1' is no formula, and '007' no number.
            cell = sheet.cell(at, column)
            _put_text(cell, written)
            cell.number_format = "@"
            changed += cell.value != written
            widths[column] = max(widths[column], min(len(written), 40))
    for column, width in widths.items():
        sheet.column_dimensions[get_column_letter(column)].width = width + 3
    notes = (
        [f"{path}: {changed} cells hold characters, or more text, than a workbook can; changed there"]
        if changed
        else []
    )
    if table.decimal_comma and job.records.decimal is None:
        notes.append(f'{path}: when its workbook is handed in, say records.decimal = "," in the job')
    return book, notes


def _put_text(cell: Any, text: str) -> None:
    """Put text into a cell as text, also where it looks like a formula; the letters no workbook can hold replaced."""
    from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

    cell.value = ILLEGAL_CHARACTERS_RE.sub("\ufffd", text)[:_EXCEL_TEXT]
    cell.data_type = "s"


def _quoted(names: Sequence[str]) -> str:
    return ", ".join(f"'{name}'" for name in names)


def _sheet_title(name: str) -> str:
    kept = "".join("-" if letter in "[]:*?/\\" else letter for letter in name).strip("'")[:31]
    return kept if kept and kept.casefold() not in ("history", RETURN_SHEET.casefold()) else "Log"


def _clear(sheet: Worksheet) -> int:
    """Take the remarks of an earlier return out of a sheet, and give the column for new ones."""
    from openpyxl.comments import Comment
    from openpyxl.styles import PatternFill

    for cells in sheet.iter_rows():
        for cell in cells:
            comment = getattr(cell, "comment", None)
            if comment is None or _SIGNED not in comment.text:
                continue
            theirs = comment.text.partition(_SIGNED)[0].rstrip()
            cell.comment = Comment(theirs, comment.author) if theirs else None
            if cell.fill.fgColor.rgb in _FILLS.values():
                cell.fill = PatternFill()
    found = [cell for cells in sheet.iter_rows(max_row=50) for cell in cells if cell.value == RETURN_COLUMN]
    if not found:
        return int(sheet.max_column) + 1
    column = int(found[0].column)
    for (cell,) in sheet.iter_rows(min_col=column, max_col=column):
        cell.value, cell.fill = None, PatternFill()
    return column


def _mark(
    sheet: Worksheet, last: int, table: TextTable, columns: dict[str, str], said: dict[int, list[Remark]]
) -> None:
    """Add the column of remarks, and mark the cells on which remarks rest."""
    from openpyxl.styles import Font, PatternFill
    from openpyxl.utils import get_column_letter

    fills = {severity: PatternFill("solid", fgColor=colour) for severity, colour in _FILLS.items()}
    top_left = {
        (row, column): (one.min_row, one.min_col)
        for one in sheet.merged_cells.ranges
        for row in range(one.min_row, one.max_row + 1)
        for column in range(one.min_col, one.max_col + 1)
    }
    if table.header_row:
        head = sheet.cell(table.header_row, last)
        head.value = RETURN_COLUMN
        head.font = Font(name="Calibri", bold=True)
    # Not wrapped: rows keep their heights, and behind the last column there is room.
    sheet.column_dimensions[get_column_letter(last)].width = 100
    marks: dict[tuple[int, int], list[Remark]] = defaultdict(list)
    for row, some in said.items():
        cell = sheet.cell(row, last)
        _put_text(cell, " | ".join(one.text for one in some))
        cell.fill = fills[some[0].severity]
        for one in some:
            for field in one.fields:
                column = table.position(columns[field], row) + 1 if field in columns else 0
                if column:
                    place = (row, column)
                    marks[top_left.get(place, place)].append(one)
    for (row, column), some in marks.items():
        cell = sheet.cell(row, column)
        # In a merged cell that stands for many rows the same remark need not stand many times.
        texts = list(dict.fromkeys(one.text for one in some))
        cell.fill = fills[min((one.severity for one in some), key=_SEVERITIES.index)]
        _comment(cell, texts)


def _lay_out_for_print(sheet: Worksheet, table: TextTable) -> None:
    """Print the sheet across, its column names on every page; what its owner chose stays.

    Not one page wide: with the remarks behind twenty columns nobody could read it.
    """
    if table.header_row and not sheet.print_title_rows:
        sheet.print_title_rows = f"{table.header_row}:{table.header_row}"
    if sheet.page_setup.orientation in (None, "default"):
        sheet.page_setup.orientation = "landscape"


def _comment(cell: Any, texts: Sequence[str]) -> None:
    from openpyxl.comments import Comment

    body = "\n".join([_SIGNED, *texts])
    author = "asbuilt"
    if cell.comment is not None:
        body, author = f"{cell.comment.text}\n\n{body}", cell.comment.author
    lines = sum(1 + len(line) // 52 for line in body.split("\n"))
    cell.comment = Comment(body[:_EXCEL_TEXT], author, height=min(24 + 16 * lines, 400), width=340)


def _count(
    book: Workbook, job: str, tables: Sequence[TextTable], said: Sequence[list[Remark]], others: Sequence[LengthRemark]
) -> None:
    """Put a sheet in front that counts the remarks by kind."""
    from openpyxl.styles import Alignment, Font, PatternFill

    meanings = DOMAINS["finding_code"] | DOMAINS["set_aside_reason"] | {REFUSED: _REFUSED}
    kinds = Counter((one.kind, one.severity) for some in said for one in some)
    order = sorted(kinds, key=lambda kind: (_SEVERITIES.index(kind[1]), -kinds[kind], kind[0]))
    marked = [table.sheet or book.worksheets[0].title for table in tables]
    sheet = book.create_sheet(RETURN_SHEET, 0)
    bold, wrapped = Font(name="Calibri", bold=True), Alignment(wrap_text=True)

    def line(*cells: str | int, font: Font | None = None) -> int:
        at = (sheet.max_row + 1) if sheet.max_row > 1 or sheet["A1"].value is not None else 1
        for column, value in enumerate(cells, start=1):
            cell = sheet.cell(at, column)
            if isinstance(value, int):
                cell.value = value
            else:
                _put_text(cell, value)
            cell.alignment = wrapped if column == 4 else Alignment(horizontal="center" if column == 3 else None)
            if font is not None:
                cell.font = font
        return at

    name = Path(tables[0].path).name
    line(f"{name}: the log handed back with remarks", font=Font(name="Calibri", bold=True, size=14))
    line(job)
    line(f"Checked on {dt.date.today().isoformat()}. Of several returns of this log the latest counts.")
    line(f"Rows read: {sum(map(_records, tables))}; rows with remarks: {len(said)}.")
    several = "s" if len(marked) > 1 else ""
    line(
        f"In sheet{several} {_quoted(marked)}, correct only what was written down wrongly. If a reading is true, leave "
        "it as it is, and report it."
    )
    line(
        f"Leave the columns as they are, and hand this workbook in: this sheet and the column '{RETURN_COLUMN}' are "
        "not read."
    )
    line(" ")
    line("What is remarked", "How much it matters", "Times", "What it means", font=bold)
    for kind in order:
        at = line(kind[0], kind[1], kinds[kind], meanings.get(kind[0], ""))
        sheet.cell(at, 2).fill = PatternFill("solid", fgColor=_FILLS[kind[1]])
    line("All remarks", "", sum(kinds.values()), font=bold)
    line(" ")
    for severity, colour in _FILLS.items():
        at = line("", severity, "", DOMAINS["severity"][severity])
        sheet.cell(at, 2).fill = PatternFill("solid", fgColor=colour)
    of_survey = [one for one in others if one.kind in SURVEY_CODES]
    of_lengths = [one for one in others if one.kind not in SURVEY_CODES]
    for title, some in (("On the survey", of_survey), ("On lengths of the routes", of_lengths)):
        if some:
            line(" ")
            line(f"{title}, not on a row of this log", font=bold)
            for one in some:
                line(f"{one.route}: {one.text}")
    line(" ")
    line("These are findings on records, not an acceptance of work; local codes and the pipe maker's instructions")
    line("govern, and the judgement is a licensed engineer's. Putting a joint right is trench work, which injures and")
    line("kills: the site's safety plan comes first.")
    for letter, width in zip("ABCD", (26, 22, 9, 90), strict=True):
        sheet.column_dimensions[letter].width = width
    sheet.page_setup.orientation, sheet.page_setup.fitToHeight = "landscape", 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    # One sheet alone may be selected: typing into several at once would change them all.
    for one in book.worksheets:
        one.sheet_view.tabSelected = one is sheet
    book.active = 0
