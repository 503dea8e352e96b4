"""Files of rows as a crew or an office hands them in, read as text, with column names matched to fields.

A cell stays as it was written; a row that does not fit the columns is kept aside with its reason, never dropped.
"""

from __future__ import annotations

import csv
import datetime as dt
import difflib
import hashlib
import io
import re
import zipfile
import zlib
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import islice
from pathlib import Path
from typing import Any, NamedTuple
from xml.etree import ElementTree

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Bools, Floats, Ints, as_floats, as_mask
from asbuilt.errors import InputFileError

_FIRST_ROWS, _FIRST_BYTES, _BLOCK_BYTES = 50, 1 << 18, 1 << 24
# Where two split the rows equally well, the earlier one is taken: a comma may be a decimal sign.
_DELIMITERS = {";": "semicolon", "\t": "tab", "|": "vertical bar", ",": "comma"}
_ZIP, _COMPOUND = b"PK\x03\x04", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_WORKBOOK_SUFFIXES = (".xlsx", ".xlsm", ".xlsb", ".xls", ".ods")
UNIT_HINT = re.compile(r"\([^)]*\)|\[[^\]]*\]|[°º]\s*[cf]?\b|,\s*(?:ft|in|mm|m|deg|ft-lbs?|n-m)\.?\s*$")
_NUMERIC = re.compile(r"[+-]?\d[\d.,+]*")
_COMMA_NUMBER, _POINT_NUMBER = r"^[+-]?[\d.+]*\d,\d+$", r"^[+-]?[\d,+]*\.\d+$"
_ERROR_CELL = re.compile(rb'<(?:\w+:)?c [^>]*?\br="([A-Z]+)(\d+)"[^>]*?\bt="e"[^>]*>.*?<(?:\w+:)?v>([^<]*)<', re.S)
_FORMULA_WITHOUT_VALUE = re.compile(
    rb'<(?:\w+:)?c (?![^>]*\bt="str")[^>]*?\br="([A-Z]+\d+)"[^>]*>\s*<(?:\w+:)?f\b[^<]*(?:/>|</(?:\w+:)?f>)\s*'
    rb"(?:<(?:\w+:)?v\s*/>|<(?:\w+:)?v></(?:\w+:)?v>)?\s*</(?:\w+:)?c>"
)
_POWERS_OF_TEN = np.array([float(f"1e{power}") for power in range(23)])
_FAR_CELL = re.compile(rb'<c r="([A-Z]{3}\d+)"[^>]*[^/]>')
"""A cell that holds something, in a column with three letters."""
_ROW_NUMBER = re.compile(rb'<row [^>]*?r="(\d+)"')
_COLUMNS, _MOST_CELLS = 16_384, 50_000_000
_DAMAGE = (zipfile.BadZipFile, ElementTree.ParseError, KeyError, NotImplementedError)
_OPEN_QUOTE = "a quotation mark opens a cell and none closes it; close it, or write it twice if it belongs to the text"
_PROTECTED = "the workbook is protected by a password; save it without one"


RETURN_SHEET, RETURN_COLUMN = "Return", "Remarks by asbuilt"
"""Sheet and column that a log handed back with remarks has besides its own; neither is read."""


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


_Rows = Sequence[tuple[int, list[str]]]
"""Rows as lists of cells, each with its number."""


class _Merged(NamedTuple):
    """A range of cells shown as one; rows and columns counted from 0, the last ones included."""

    top: int
    left: int
    bottom: int
    right: int


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
    known = _known_names(fields)
    if content.startswith((_ZIP, _COMPOUND)):
        table = _read_workbook(path, content, known, sheet, decimal, header)
    elif content and path.suffix.lower() in _WORKBOOK_SUFFIXES:
        raise InputFileError(f"{path}: this is not a workbook, or a damaged one; save it again as .xlsx or as .csv")
    else:
        table = _without_remarks(_read_text(path, content, known, encoding, decimal, header))
    return replace(table, sha256=hashlib.sha256(content).hexdigest())


def raw_rows(path: Path, *, fields: Mapping[str, frozenset[str]], encoding: str | None = None) -> list[list[str]]:
    """Give every row of a delimited text file, blank and title rows too, with its cells just as they are.

    Parameters
    ----------
    path : path of a file that `read_table` reads
    fields, encoding : as for `read_table`

    Returns
    -------
    list of list of str
        The first one is row 1.
    """
    content, _ = _as_utf8(path, path.read_bytes(), encoding)
    delimiter, _, _ = _sniffed(path, content, _known_names(fields))
    return list(_reader(content.decode(), delimiter))


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
    names = _column_names(data.column_names)
    types = dict(zip(names, data.schema.types, strict=True))
    number = (pa.types.is_floating, pa.types.is_integer, pa.types.is_decimal)
    return TextTable(
        path=name, sheet=None, headed=True, columns=names,
        data=pa.table([_trimmed(as_text(column)) for column in data.columns], names=list(names)),
        row=np.arange(1, data.num_rows + 1), broken=(), notes=(), sha256="", decimal_comma=False,
        numeric=frozenset(column for column, kind in types.items() if any(is_kind(kind) for is_kind in number)),
    )  # fmt: skip


def with_source(table: TextTable, sha256: str, notes: Sequence[str]) -> TextTable:
    """Say which file's bytes a table from memory came from, and what its reader noted."""
    return replace(table, sha256=sha256, notes=(*table.notes, *notes))


def normalised(name: str) -> str:
    """Bring a column name to its plain form: small letters and digits, without unit hints.

    Examples
    --------
    >>> normalised("Gasket Temp. (F)"), normalised("STA."), normalised("Laid length, ft"), normalised("Joint #")
    ('gaskettemp', 'sta', 'laidlength', 'joint')
    """
    return re.sub(r"[^a-z0-9]", "", UNIT_HINT.sub(" ", name.lower()))


def match_columns(
    columns: Sequence[str],
    fields: Mapping[str, frozenset[str]],
    chosen: Mapping[str, str | int],
    *,
    where: str,
    key: str,
) -> dict[str, str]:
    """Match columns to fields: as the job says, and otherwise by name.

    Parameters
    ----------
    columns : the file's column names
    fields : mapping of field to the plain forms of the names it goes by
        A column named as the field itself always matches.
    chosen : mapping of field to column
        The job's own choice: a name, or a position counted from 1.
    where, key : the file and the job's key, for messages

    Returns
    -------
    dict
        Column of each field found.

    Raises
    ------
    InputFileError
        When a chosen column is not there, or two columns match one field.

    Examples
    --------
    >>> fields = {"station": frozenset({"sta"}), "remarks": frozenset({"notes"})}
    >>> match_columns(["Sta.", "Notes", "By"], fields, {"inspector": "by"}, where="log.csv", key="records.columns")
    {'inspector': 'By', 'station': 'Sta.', 'remarks': 'Notes'}
    """
    matched = {field: _chosen_column(columns, wanted, f"{where}: {key}.{field}") for field, wanted in chosen.items()}
    taken = set(matched.values())
    for field, found in named_columns([column for column in columns if column not in taken], fields).items():
        if field in matched:
            continue
        if len(found) > 1:
            raise InputFileError(
                f"{where}: the columns {' and '.join(map(repr, found))} could each be {field}; "
                f'say which with {key}.{field} = "{found[0]}"'
            )
        matched[field] = found[0]
    return matched


def named_columns(columns: Sequence[str], fields: Mapping[str, frozenset[str]]) -> dict[str, list[str]]:
    """Give the columns that each field could be by their names; fields that no column could be are absent.

    Examples
    --------
    >>> named_columns(["Sta.", "Note", "By"], {"station": frozenset({"sta"}), "remarks": frozenset({"note"})})
    {'station': ['Sta.'], 'remarks': ['Note']}
    """
    known = _known_names(fields)
    named = {column: known.get(normalised(column)) for column in columns}
    could = {field: [column for column, other in named.items() if other == field] for field in fields}
    return {field: found for field, found in could.items() if found}


def _chosen_column(columns: Sequence[str], wanted: str | int, what: str) -> str:
    if isinstance(wanted, int):
        if 1 <= wanted <= len(columns):
            return columns[wanted - 1]
        raise InputFileError(f"{what}: there is no column {wanted}; the file has {len(columns)} columns")
    if wanted in columns:
        return wanted
    plain = "".join(wanted.split()).casefold()
    loose = {column: "".join(column.split()).casefold() for column in columns}
    found = [column for column in columns if loose[column] == plain]
    if len(found) == 1:
        return found[0]
    if found:
        raise InputFileError(f"{what}: {wanted!r} could be {' or '.join(map(repr, found))}; write it just as it is")
    nearest = difflib.get_close_matches(plain, loose.values(), n=1, cutoff=0.5)
    hint = [f"; did you mean {column!r}?" for column in columns if loose[column] in nearest][:1]
    raise InputFileError(f"{what}: there is no column {wanted!r}; the columns are {', '.join(columns)}{''.join(hint)}")


def _known_names(fields: Mapping[str, frozenset[str]]) -> dict[str, str]:
    known = {name: field for field, names in fields.items() for name in names}
    # Set last, so that a field's own name wins over a name that another field goes by too.
    return known | {normalised(field): field for field in fields}


def _without_remarks(table: TextTable) -> TextTable:
    """Leave out the column of remarks of a log that was handed back."""
    if RETURN_COLUMN not in table.columns:
        return table
    names = tuple(name for name in table.columns if name != RETURN_COLUMN)
    broken = tuple(
        replace(one, cells={name: cell for name, cell in one.cells.items() if name != RETURN_COLUMN})
        for one in table.broken
    )
    return replace(table, columns=names, data=table.data.select(names), broken=broken)


# Rows and columns of either kind of file


def _find_header(rows: Sequence[Sequence[str]], known: Mapping[str, str], header: bool | None) -> int | None:
    """Find the row of column names among the first rows; None where all rows are data."""
    if header is False:
        return None
    merit = [_fields_named(row, known) for row in rows]
    best = max(range(len(merit)), key=merit.__getitem__)
    if merit[best] >= 2:
        return best
    filled = [sum(map(bool, row)) for row in rows]
    # A row with one cell is a title, unless all rows are of one cell.
    first = next(at for at, count in enumerate(filled) if count >= min(2, max(filled)))
    looks_like_data = sum(bool(_NUMERIC.fullmatch(cell)) for cell in rows[first]) >= 2
    return None if looks_like_data and not header else first


def _fields_named(cells: Iterable[str], known: Mapping[str, str]) -> int:
    return len({known.get(normalised(cell)) for cell in cells} - {None})


def _column_names(cells: Sequence[str]) -> tuple[str, ...]:
    """Name each column once; a blank name becomes the column's position."""
    names: dict[str, None] = {}
    for at, cell in enumerate(cells, start=1):
        plain = name = cell or f"column {at}"
        count = 1
        while name in names:
            count += 1
            name = f"{plain} ({count})"
        names[name] = None
    return tuple(names)


def _last_filled(cells: Sequence[str]) -> int:
    return max((at for at, cell in enumerate(cells, start=1) if cell), default=0)


def _rows(count: int) -> str:
    return "1 row" if count == 1 else f"{count:,} rows"


def _trimmed(column: pa.ChunkedArray) -> pa.ChunkedArray:
    """Remove white space around cells; blank ones are null."""
    trimmed = pc.utf8_trim_whitespace(column)
    if pc.min(pc.binary_length(trimmed)).as_py() == 0:
        trimmed = pc.if_else(pc.equal(trimmed, ""), pa.scalar(None, pa.string()), trimmed)
    return trimmed


def _not_blank(columns: Sequence[pa.ChunkedArray], count: int) -> Bools:
    """Say which of `count` rows have a cell that is not blank."""
    filled: Bools = np.zeros(count, dtype=bool)
    for column in columns:
        filled |= column.null_count == 0 or as_mask(pc.is_valid(column))
        if filled.all():
            break
    return filled


def _without_blanks(
    path: Path, columns: Sequence[pa.ChunkedArray], head: Sequence[str], above: int, row: Ints
) -> tuple[pa.Table, Ints, list[str]]:
    """Leave out blank rows, and blank columns behind the last named one; note what was left out."""
    names, width = _column_names(head), len(head)
    while width > (_last_filled(head) or len(head)) and columns[width - 1].null_count == len(row):
        width -= 1
    data = pa.table(list(columns[:width]), names=list(names[:width]))
    keep = _not_blank(data.columns, len(row))
    notes = [f"{path}: {_rows(above - 1)} above the column names in row {above} left out"] if above > 1 else []
    if keep.all():
        return data, row, notes
    return data.filter(pa.array(keep)), row[keep], [*notes, f"{path}: {_rows(int((~keep).sum()))} left out as blank"]


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
        return pa.chunked_array([_numbers_as_text(as_floats(values))])
    if pa.types.is_timestamp(kind):
        whole_seconds = pc.replace_substring_regex(pc.cast(column, pa.string()), r"\.0+(Z?)$", r"\1")
        return pc.replace_substring_regex(whole_seconds, " 00:00:00Z?$", "")
    if pa.types.is_nested(kind) or pa.types.is_binary(kind) or pa.types.is_duration(kind):
        texts = [None if value is None else str(value) for value in column.to_pylist()]
        return pa.chunked_array([pa.array(texts, pa.string())])
    return pc.cast(column, pa.string())


def _numbers_as_text(values: Floats) -> pa.Array:
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


# Delimited text


def _read_text(
    path: Path, content: bytes, known: Mapping[str, str], encoding: str | None, decimal: str | None, header: bool | None
) -> TextTable:
    content, notes = _as_utf8(path, content, encoding)
    _refuse_no_text(path, content)
    if not content.endswith((b"\n", b"\r")):
        content += b"\n"
    delimiter, first_rows, ends = _sniffed(path, content, known)
    rows = [[cell.strip() for cell in cells] for cells in first_rows]
    notes.append(f"{path}: columns are separated by a {_DELIMITERS[delimiter]}")
    at = _find_header(rows, known, header)
    start, above = (0, 0) if at is None else (ends[at], at + 1)
    widths = [len(cells) for cells in rows[above:] if any(cells)]
    head = [""] * max(widths) if at is None else rows[at]
    usual = _most_common(widths) or len(head)
    parsed, row, others = _parse(path, content, start, above, delimiter, usual)
    _refuse_open_quotes(path, content, parsed, row, [*enumerate(first_rows[:above], start=1), *others])
    columns, row, broken = _fitted(parsed, row, others, _column_names(head))
    short = [at for at, cells in others if len(cells) < _last_filled(head) and any(cells)]
    if usual < _last_filled(head):
        notes.append(f"{path}: most rows have {usual} cells for {_last_filled(head)} columns; the others are blank")
    elif short:
        notes.append(f"{path}: {_rows(len(short))} with too few cells (first: row {short[0]}); the others are blank")
    data, row, more_notes = _without_blanks(path, columns, head, above, row)
    comma = decimal == "," or (decimal is None and delimiter == ";" and _shows_decimal_comma(data))
    if comma and decimal is None:
        more_notes.append(f'{path}: numbers are read with a decimal comma; set decimal = "." if they have none')
    return TextTable(
        path=str(path), sheet=None, headed=at is not None, columns=tuple(data.column_names), data=data, row=row,
        broken=tuple(broken), notes=(*notes, *more_notes), sha256="", decimal_comma=comma, numeric=frozenset(),
        header_row=above,
    )  # fmt: skip


def _as_utf8(path: Path, content: bytes, encoding: str | None) -> tuple[bytes, list[str]]:
    if encoding is not None:
        return _recoded(path, content, encoding), []
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return _recoded(path, content, "utf-16"), [f"{path}: read as UTF-16"]
    try:
        content.decode("utf-8")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        note = f"{path}: read as Windows-1252, for line {line:,} is not UTF-8; set the encoding if letters look wrong"
        return _recoded(path, content, "cp1252"), [note]
    return content.removeprefix(b"\xef\xbb\xbf"), []


def _recoded(path: Path, content: bytes, encoding: str) -> bytes:
    try:
        return content.decode(encoding).removeprefix("\ufeff").encode()
    except LookupError:
        raise InputFileError(f"{path}: there is no encoding {encoding!r}; use utf-8, utf-16 or cp1252") from None
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise InputFileError(
            f"{path}: byte {error.start + 1:,}, in line {line:,}, is not {encoding} text; "
            "set the encoding that the file was saved in, or save it as UTF-8"
        ) from None


def _refuse_no_text(path: Path, content: bytes) -> None:
    if not content or content.isspace():
        raise InputFileError(f"{path}: the file is empty; give a file with rows")
    if b"\0" in content:
        line = content.count(b"\n", 0, content.find(b"\0")) + 1
        raise InputFileError(
            f"{path}: line {line:,} holds a NUL byte, so this is not a text file, or one in UTF-16; "
            'give a CSV file or a workbook, or set encoding = "utf-16-le"'
        )
    start = content[:4096]
    if len(re.findall(rb"[\x01-\x08\x0e-\x1f]", start)) > len(start) // 20:
        raise InputFileError(f"{path}: this is not a text file; give a CSV file or a workbook")


def _sniffed(path: Path, content: bytes, known: Mapping[str, str]) -> tuple[str, list[list[str]], list[int]]:
    """Find the delimiter under which the first rows name most fields, or else agree best on their width."""
    text = content[:_FIRST_BYTES].decode("utf-8", errors="ignore")
    samples = {delimiter: _sampled(text, delimiter) for delimiter in _DELIMITERS}

    def merit(delimiter: str) -> tuple[int, int]:
        rows, _ = samples[delimiter]
        named = max((_fields_named(cells, known) for cells in rows), default=0)
        widths = [len(cells) for cells in rows if len(cells) > 1]
        return (named if named >= 2 else 0), widths.count(_most_common(widths))

    best = max(_DELIMITERS, key=merit)
    best = best if any(merit(best)) else ","
    rows, ends = samples[best]
    if not rows:
        raise InputFileError(f"{path}: row 1: {_OPEN_QUOTE}")
    if not any(cell.strip() for cells in rows for cell in cells):
        raise InputFileError(f"{path}: there is nothing in the first {_rows(len(rows))}; remove blank rows at the top")
    return best, rows, ends


def _sampled(text: str, delimiter: str) -> tuple[list[list[str]], list[int]]:
    """Read the first rows, and the byte at which each one ends."""
    rows: list[list[str]] = []
    ends: list[int] = []
    lines = io.StringIO(text, newline="")
    try:
        for cells in islice(csv.reader(lines, delimiter=delimiter), _FIRST_ROWS):
            rows.append(cells)
            ends.append(lines.tell())
    except csv.Error:
        pass  # A cell without end; the rows before it tell the delimiter.
    return rows, [len(text[:end].encode()) for end in ends]


def _most_common(widths: Sequence[int]) -> int:
    return Counter(widths).most_common(1)[0][0] if widths else 0


def _parse(
    path: Path, content: bytes, start: int, above: int, delimiter: str, width: int
) -> tuple[pa.Table, Ints, _Rows]:
    """Parse all rows from a byte on, with `above` rows before it; those of another width come back as cells."""
    from pyarrow import csv as bulk

    ragged: list[Any] = []

    def set_aside(record: Any) -> str:
        ragged.append(record)
        return "skip"

    schema = pa.schema([(str(at), pa.string()) for at in range(width)])
    if start == len(content):
        return schema.empty_table(), np.zeros(0, dtype=np.int64), []
    try:
        parsed = bulk.read_csv(
            pa.BufferReader(pa.py_buffer(content).slice(start)),
            # Rows are numbered only when one thread reads them; two are hardly faster.
            bulk.ReadOptions(column_names=schema.names, use_threads=False, block_size=_BLOCK_BYTES),
            bulk.ParseOptions(
                delimiter=delimiter, newlines_in_values=True, ignore_empty_lines=False, invalid_row_handler=set_aside
            ),
            bulk.ConvertOptions(column_types=schema, null_values=[""], strings_can_be_null=True),
        )
        others = [(above + one.number, next(_reader(f"{one.text}\n", delimiter))) for one in ragged]
    except (pa.ArrowInvalid, csv.Error):
        raise InputFileError(f"{path}: row {_row_without_end(content, delimiter):,}: {_OPEN_QUOTE}") from None
    row = np.arange(above + 1, above + parsed.num_rows + len(others) + 1)
    return parsed, np.delete(row, [at - above - 1 for at, _ in others]), others


def _reader(text: str, delimiter: str) -> Iterator[list[str]]:
    return csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)


def _row_without_end(content: bytes, delimiter: str) -> int:
    rows = 0
    try:
        for _ in _reader(content.decode(), delimiter):
            rows += 1
    except csv.Error:
        rows += 1
    return rows


def _refuse_open_quotes(path: Path, content: bytes, parsed: pa.Table, row: Ints, others: _Rows) -> None:
    """Refuse a quotation mark that swallows rows: up to the file's end, or to the next mark, another cell's."""
    breaks = content.count(b"\n") + content.count(b"\r") - content.count(b"\r\n")
    if breaks == parsed.num_rows + len(others):
        # No cell has line breaks in it, save perhaps the very last.
        parsed, row = parsed.slice(max(parsed.num_rows - 1, 0)), row[-1:]
    cells = [(at, column, cell) for at, written in others for column, cell in enumerate(written)]
    for column, values in enumerate(parsed.columns):
        broken = pc.or_(pc.match_substring(values, "\n"), pc.match_substring(values, "\r"))
        cells += [(int(row[at]), column, values[at].as_py()) for at in np.flatnonzero(as_mask(broken))]
    start = 0
    for at, _, cell in sorted(cells):
        if "\n" in cell or "\r" in cell:
            whole = b'"' + cell.replace('"', '""').encode() + b'"'
            start = content.find(whole, start) + len(whole)
            if start < len(whole):
                raise InputFileError(f"{path}: row {at:,}: {_OPEN_QUOTE}")


def _fitted(
    parsed: pa.Table, row: Ints, others: _Rows, names: Sequence[str]
) -> tuple[list[pa.ChunkedArray], Ints, list[BrokenRow]]:
    """Bring rows of every width to one width, in order; those with more cells than columns are broken."""
    width = len(names)
    columns = [_trimmed(column) for column in parsed.columns]
    over = _not_blank(columns[width:], len(row))
    wide = [(int(row[at]), [column[at].as_py() or "" for column in columns]) for at in np.flatnonzero(over)]
    rows: dict[int, list[str | None]] = {}
    broken = []
    for at, written in sorted([*others, *wide]):
        cells = [cell.strip() for cell in written]
        count = _last_filled(cells)
        if count <= width:
            rows[at] = [cell or None for cell in (cells + [""] * width)[:width]]
            continue
        every = _column_names([*names, *[""] * (len(cells) - width)])
        filled = {name: cell for name, cell in zip(every, cells, strict=True) if cell}
        broken.append(BrokenRow(at, f"the row has {count} cells for {width} columns", filled))
    columns = [*columns[:width], *[pa.chunked_array([pa.nulls(len(row), pa.string())])] * (width - len(columns))]
    table = pa.table(columns, names=list(names)).filter(pa.array(~over)) if wide else pa.table(columns, list(names))
    row = row[~over]
    if rows:
        added = [pa.array(cells, pa.string()) for cells in zip(*rows.values(), strict=True)]
        row = np.concatenate([row, np.array(list(rows))])
        order = np.argsort(row, kind="stable")
        table = pa.concat_tables([table, pa.table(added, list(names))]).take(pa.array(order))
        row = row[order]
    return table.columns, row, broken


def _shows_decimal_comma(data: pa.Table) -> bool:
    """Say whether some columns hold numbers with a decimal comma, and none of these a number with a point."""
    shown = False
    for column in data.columns:
        commas = column.filter(pc.match_substring(column, ","))
        if pc.any(pc.match_substring_regex(commas, _COMMA_NUMBER)).as_py():
            if pc.any(pc.match_substring_regex(column, _POINT_NUMBER)).as_py():
                return False
            shown = True
    return shown


# Workbooks


def _read_workbook(
    path: Path, content: bytes, known: Mapping[str, str], sheet: str | None, decimal: str | None, header: bool | None
) -> TextTable:
    import python_calamine

    if content.startswith(_COMPOUND) and "EncryptedPackage".encode("utf-16-le") in content:
        raise InputFileError(f"{path}: {_PROTECTED}")
    try:
        if content.startswith(_ZIP):
            _refuse_stray_cells(path, content)
        book = python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(content))
        found, notes = _chosen_sheet(path, book, known, sheet)
        grid = found.to_python(skip_empty_area=False)
        merged = [_Merged(*first, *last) for first, last in found.merged_cell_ranges or ()]
        sheet_xml = _sheet_xml(content, found.name) if content.startswith(_ZIP) else b""
    except python_calamine.PasswordError:
        raise InputFileError(f"{path}: {_PROTECTED}") from None
    except (python_calamine.CalamineError, *_DAMAGE) as error:
        raise InputFileError(
            f"{path}: cannot be read as a workbook ({error}); open it in a spreadsheet program and save it as .xlsx"
        ) from None
    if not grid:
        raise InputFileError(f"{path}: sheet {found.name!r} is empty; name the sheet that has the rows")
    _refuse_formulas_without_value(path, sheet_xml)
    _put_errors(grid, sheet_xml)
    (top, left), (_, right) = found.start, found.end
    right = _cut_remarks(grid, right)
    # A line across the whole sheet is a title, not a value of every column.
    inner = [one for one in merged if left == right or one.left > left or one.right < right]
    _spread_merged(grid, inner)
    at, head = _workbook_header(grid, top, inner, known, header)
    above = 0 if at is None else at + 1
    if any(one.bottom >= above for one in inner):
        notes.append(f"{path}: the value of merged cells is taken for each row and column that they cover")
    cells = [_cells_as_text(values) for values in zip(*grid[above:], strict=True)] or [_cells_as_text(())] * len(head)
    columns = [_trimmed(pa.chunked_array([text])) for text, _ in cells]
    data, row, more_notes = _without_blanks(path, columns, head, above, np.arange(above + 1, len(grid) + 1))
    return TextTable(
        path=str(path), sheet=found.name, headed=at is not None, columns=tuple(data.column_names), data=data, row=row,
        broken=(), notes=(*notes, *more_notes), sha256="", decimal_comma=decimal == ",",
        numeric=frozenset(name for name, (_, numeric) in zip(_column_names(head), cells, strict=True) if numeric),
        header_row=above,
    )  # fmt: skip


def _cut_remarks(grid: list[list[Any]], right: int) -> int:
    """Cut the column of remarks of a log that was handed back; give the last column that is left."""
    found = [at for cells in grid[:_FIRST_ROWS] for at, cell in enumerate(cells) if cell == RETURN_COLUMN]
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


def _chosen_sheet(path: Path, book: Any, known: Mapping[str, str], wanted: str | None) -> tuple[Any, list[str]]:
    """Give the sheet that is asked for, or the one whose first rows name most fields."""
    every = ", ".join(repr(name) for name in book.sheet_names if name != RETURN_SHEET)
    if wanted is not None:
        alike = [name for name in book.sheet_names if name.strip().casefold() == wanted.strip().casefold()]
        if wanted not in alike and len(alike) != 1:
            raise InputFileError(f"{path}: there is no sheet {wanted!r}; the sheets are {every}")
        return book.get_sheet_by_name(wanted if wanted in alike else alike[0]), []
    names = [name for name in book.sheet_names if name != RETURN_SHEET] or book.sheet_names
    if len(names) == 1:
        return book.get_sheet_by_name(names[0]), []
    merit = []
    for name in names:
        sheet = book.get_sheet_by_name(name)
        rows = sheet.to_python(skip_empty_area=False, nrows=_FIRST_ROWS)
        if rows:
            merit.append((max(_fields_named(map(str, row), known) for row in rows), sheet))
    if not merit:
        raise InputFileError(f"{path}: the workbook has no sheet with rows; give the one that has them")
    best = [sheet for named, sheet in merit if named == max(named for named, _ in merit)]
    if len(best) != 1:
        raise InputFileError(f"{path}: it is not clear which sheet holds the rows; name one of {every}")
    return best[0], [f"{path}: sheet {best[0].name!r} taken of {every}"]


def _put_errors(grid: list[list[Any]], xml: bytes) -> None:
    """Put error values such as #REF! in place: the workbook reader gives them as blank cells."""
    at = xml.find(b't="e"')
    while at >= 0:
        cell = _ERROR_CELL.match(xml, xml.rfind(b"<", 0, at))
        if cell:
            column = 0
            for letter in cell[1]:
                column = column * 26 + letter - ord("A") + 1
            grid[int(cell[2]) - 1][column - 1] = cell[3].decode()
        at = xml.find(b't="e"', at + 1)


def _refuse_stray_cells(path: Path, content: bytes) -> None:
    """Refuse a sheet with a cell far beyond its log: every cell up to it is laid out, and memory would be gone."""
    with zipfile.ZipFile(io.BytesIO(content)) as book:
        for name in book.namelist():
            if not name.startswith("xl/worksheets/sheet"):
                continue
            try:
                xml = book.read(name)
            except (zlib.error, zipfile.BadZipFile, RuntimeError, EOFError, ValueError, OSError):
                continue  # damaged: the reader says so
            stray = _FAR_CELL.search(xml)
            filled = max(xml.rfind(b"<v>"), xml.rfind(b"<is>"))
            row = _ROW_NUMBER.match(xml, xml.rfind(b"<row ", 0, filled)) if filled >= 0 else None
            if stray is not None and row is not None and int(row[1]) * _COLUMNS > _MOST_CELLS:
                raise InputFileError(
                    f"{path}: {name.rpartition('/')[2]} has a value in cell {stray[1].decode()}, far beyond any log, "
                    f"and rows down to {int(row[1])}: more than can be laid out; delete the stray cells and save it"
                )


def _sheet_xml(content: bytes, sheet: str) -> bytes:
    """Give a sheet as an Office Open XML workbook holds it; nothing for workbooks of other kinds."""
    with zipfile.ZipFile(io.BytesIO(content)) as book:
        if "xl/workbook.xml" not in book.namelist():
            return b""
        links = ElementTree.fromstring(book.read("xl/_rels/workbook.xml.rels"))
        targets = {link.get("Id"): link.get("Target", "") for link in links}
        for entry in ElementTree.fromstring(book.read("xl/workbook.xml")).iter():
            if entry.tag.endswith("}sheet") and entry.get("name") == sheet:
                link = next(value for name, value in entry.items() if name.endswith("}id"))
                return book.read(f"xl/{targets[link].removeprefix('/xl/')}")
    return b""


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
    rows = [_row_as_text(cells) for cells in grid[top : top + _FIRST_ROWS + 1]]
    at = _find_header(rows[:_FIRST_ROWS], known, header)
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
        rows[at] = [name or above for name, above in zip(rows[at], rows[at - 1], strict=True)]
    times = Counter(map(normalised, rows[at]))
    head = []
    for column, name in enumerate(rows[at]):
        group = rows[at - 1][column] if (at - 1, column) in grouped and at else ""
        full = f"{group} {name}"
        needed = times[normalised(name)] > 1 or (normalised(name) not in known and normalised(full) in known)
        head.append(full if group and name and group != name and needed else name)
    return at + top, head


def _is_second_row(
    first: Sequence[str], second: Sequence[str], at: int, grouped: set[tuple[int, int]], known: Mapping[str, str]
) -> bool:
    """Say whether a row below the column names goes on with them: it divides their groups, and only these."""
    divided = [column for column, name in enumerate(second) if name and name != first[column]]
    full = [f"{first[column]} {second[column]}" for column in divided]
    only_groups = bool(divided) and all((at, column) in grouped for column in divided)
    return only_groups and _fields_named([*full, *second], known) > 0


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
    return pc.coalesce(_numbers_as_text(numbers), pa.array(others, pa.string())), numeric


def _cell_text(value: Any) -> str:
    """Write a cell that is not a number: yes or no, a date, a time, text."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dt.datetime) and value.time() == dt.time():
        return str(value.date())
    return str(value)
