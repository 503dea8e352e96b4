"""Delimited text files as crews and offices write them: encodings, delimiters, quotation marks, decimal commas."""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from itertools import islice
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Ints, as_mask, as_one
from asbuilt.errors import InputFileError
from asbuilt.held import held
from asbuilt.inputs.content import Content, count, is_ascii, is_blank, recoded, refuse_other_than, with_end
from asbuilt.inputs.decimals import decimal_comma
from asbuilt.inputs.headers import FIRST_ROWS, column_names, fields_named, find_header, last_filled, names_of_fields
from asbuilt.inputs.text_table import (
    BrokenRow,
    Rows,
    TextTable,
    count_rows,
    filtered,
    not_blank,
    taken,
    trimmed,
    without_blanks,
)
from asbuilt.waiting import Waiting

_FIRST_BYTES, _BLOCK_BYTES = 1 << 18, 1 << 22
# Where two split the rows equally well, the earlier one is taken: a comma may be a decimal sign.
_DELIMITERS = {";": "semicolon", "\t": "tab", "|": "vertical bar", ",": "comma"}
_NO_TEXTS = frozenset({"unicode_escape", "raw_unicode_escape", "idna", "punycode", "undefined"})
"""Encodings of source code and of host names."""
_OPEN_QUOTE = "a quotation mark opens a cell and none closes it; close it, or write it twice if it belongs to the text"


def read_delimited(
    path: Path,
    content: Content,
    known: Mapping[str, str],
    encoding: str | None,
    decimal: str | None,
    header: bool | None,
) -> TextTable:
    """Read the bytes of a delimited text file; as for `tables.read_table`, with the plain names of fields."""
    content, notes = as_utf8(path, content, encoding)
    _refuse_no_text(path, content)
    content = with_end(content)
    delimiter, first_rows, ends = sniffed(path, content, known)
    rows = [[cell.strip() for cell in cells] for cells in first_rows]
    at = find_header(rows, known, header)
    # A comma that divides names that are known is no guess.
    if delimiter != "," or at is None or fields_named(rows[at], known) < 2:
        notes.append(f"{path}: columns are separated by a {_DELIMITERS[delimiter]}")
    start, above = (0, 0) if at is None else (ends[at], at + 1)
    widths = [len(cells) for cells in rows[above:] if any(cells)]
    head = [""] * max(widths) if at is None else rows[at]
    usual = _most_common(widths) or len(head)
    columns, row, others = _parse(path, content, start, above, delimiter, usual)
    _refuse_open_quotes(path, content, columns, row, [*enumerate(first_rows[:above], start=1), *others])
    for place, column in enumerate(columns):
        # Each takes the place of what it is made of: a large log is not held twice.
        columns[place] = held(trimmed(as_one(column)), len(row))
    columns, row, broken = _fitted(columns, row, others, column_names(head))
    short = [at for at, cells in others if len(cells) < last_filled(head) and any(cells)]
    if usual < last_filled(head):
        notes.append(f"{path}: most rows have {usual} cells for {last_filled(head)} columns; the others are blank")
    elif short:
        notes.append(
            f"{path}: {count_rows(len(short))} with too few cells (first: row {short[0]}); the others are blank"
        )
    data, row, more_notes = without_blanks(path, columns, head, above, row, rows)
    comma, told = decimal_comma(data, known, decimal, path, usual=delimiter == ";")
    more_notes += told
    return TextTable(
        path=str(path), sheet=None, headed=at is not None, columns=tuple(data.column_names), data=data, row=row,
        broken=tuple(broken), notes=(*notes, *more_notes), sha256="", decimal_comma=comma, numeric=frozenset(),
        header_row=above,
    )  # fmt: skip


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
    content, _ = as_utf8(path, path.read_bytes(), encoding)
    delimiter, _, _ = sniffed(path, content, names_of_fields(fields))
    return list(reader(content[:].decode(), delimiter))


def as_utf8(path: Path, content: Content, encoding: str | None) -> tuple[Content, list[str]]:
    if encoding is not None:
        return _recoded(path, content, encoding), []
    if is_ascii(content):
        return content, []
    if content[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return _recoded(path, content, "utf-16"), [f"{path}: read as UTF-16"]
    try:
        refuse_other_than(content, "utf-8")
    except UnicodeDecodeError as error:
        line = _line_at(content, error.start)
        note = f"{path}: read as Windows-1252, for line {line:,} is not UTF-8; set the encoding if letters look wrong"
        return _recoded(path, content, "cp1252"), [note]
    return recoded(content, "utf-8") if content[:3] == codecs.BOM_UTF8 else content, []


def _line_at(content: Content, at: int) -> int:
    return content[:at].count(b"\n") + 1


def _recoded(path: Path, content: Content, encoding: str) -> Content:
    if encoding.lower().replace("-", "_") in _NO_TEXTS:
        raise InputFileError(f"{path}: {encoding} is no encoding of text files; use utf-8, utf-16 or cp1252")
    try:
        return recoded(content, encoding)
    except UnicodeDecodeError as error:
        line = _line_at(content, error.start)
        raise InputFileError(
            f"{path}: byte {error.start + 1:,}, in line {line:,}, is not {encoding} text; "
            "set the encoding that the file was saved in, or save it as UTF-8"
        ) from None
    except (LookupError, ValueError):  # a name with NUL in it is not even looked up
        raise InputFileError(f"{path}: there is no encoding {encoding!r}; use utf-8, utf-16 or cp1252") from None


def _refuse_no_text(path: Path, content: Content) -> None:
    if not len(content) or is_blank(content):
        raise InputFileError(f"{path}: the file is empty; give a file with rows")
    if (at := content.find(b"\0")) >= 0:
        line = _line_at(content, at)
        raise InputFileError(
            f"{path}: line {line:,} holds a NUL byte, so this is not a text file, or one in UTF-16; "
            'give a CSV file or a workbook, or set encoding = "utf-16-le"'
        )
    start = content[:4096]
    if len(re.findall(rb"[\x01-\x08\x0e-\x1f]", start)) > len(start) // 20:
        raise InputFileError(f"{path}: this is not a text file; give a CSV file or a workbook")


def sniffed(path: Path, content: Content, known: Mapping[str, str]) -> tuple[str, list[list[str]], list[int]]:
    """Find the delimiter under which the first rows name most fields, or else agree best on their width."""
    text = content[:_FIRST_BYTES].decode("utf-8", errors="ignore")
    samples = {delimiter: _sampled(text, delimiter) for delimiter in _DELIMITERS}

    def merit(delimiter: str) -> tuple[int, int]:
        rows, _ = samples[delimiter]
        named = max((fields_named(cells, known) for cells in rows), default=0)
        widths = [len(cells) for cells in rows if len(cells) > 1]
        return (named if named >= 2 else 0), widths.count(_most_common(widths))

    merits = {delimiter: merit(delimiter) for delimiter in _DELIMITERS}
    best = max(merits, key=lambda delimiter: merits[delimiter])
    best = best if any(merits[best]) else ","
    rows, ends = samples[best]
    if not rows:
        raise InputFileError(f"{path}: row 1: {_OPEN_QUOTE}")
    if not any(cell.strip() for cells in rows for cell in cells):
        raise InputFileError(
            f"{path}: there is nothing in the first {count_rows(len(rows))}; remove blank rows at the top"
        )
    return best, rows, ends


def _sampled(text: str, delimiter: str) -> tuple[list[list[str]], list[int]]:
    """Read the first rows, and the byte at which each one ends."""
    rows: list[list[str]] = []
    ends: list[int] = []
    lines = io.StringIO(text, newline="")
    try:
        for cells in islice(csv.reader(lines, delimiter=delimiter), FIRST_ROWS):
            rows.append(cells)
            ends.append(lines.tell())
    except csv.Error:
        pass  # A cell without end; the rows before it tell the delimiter.
    return rows, [len(text[:end].encode()) for end in ends]


def _most_common(widths: Sequence[int]) -> int:
    return Counter(widths).most_common(1)[0][0] if widths else 0


def _parse(
    path: Path, content: Content, start: int, above: int, delimiter: str, width: int
) -> tuple[list[pa.ChunkedArray], Ints, Rows]:
    """Parse all rows from a byte on, with `above` rows before it, as columns; those of another width come as cells."""
    from pyarrow import csv as bulk

    ragged: list[Any] = []

    def set_aside(record: Any) -> str:
        ragged.append(record)
        return "skip"

    schema = pa.schema([(str(at), pa.string()) for at in range(width)])
    if start == len(content):
        return schema.empty_table().columns, np.zeros(0, dtype=np.int64), []
    # Rows of what is in memory itself are no more than it, but for where each begins.
    parsed = Waiting(schema, 8 * len(content) if isinstance(content, bytes) else None)
    try:
        # All of it is known to be UTF-8.
        with bulk.open_csv(
            pa.BufferReader(pa.py_buffer(content).slice(start)),
            # Rows are numbered only when one thread reads them; two are hardly faster.
            bulk.ReadOptions(column_names=schema.names, use_threads=False, block_size=_BLOCK_BYTES),
            bulk.ParseOptions(
                delimiter=delimiter, newlines_in_values=True, ignore_empty_lines=False, invalid_row_handler=set_aside
            ),
            bulk.ConvertOptions(column_types=schema, null_values=[""], strings_can_be_null=True, check_utf8=False),
        ) as reading:
            for batch in reading:
                parsed.add_batch(batch)
        others = [(above + one.number, next(reader(f"{one.text}\n", delimiter))) for one in ragged]
    except (pa.ArrowInvalid, csv.Error):
        raise InputFileError(f"{path}: row {_row_without_end(content, delimiter):,}: {_OPEN_QUOTE}") from None
    row = np.arange(above + 1, above + parsed.num_rows + len(others) + 1)
    return parsed.rows(0, parsed.num_rows).columns, np.delete(row, [at - above - 1 for at, _ in others]), others


def reader(text: str, delimiter: str) -> Iterator[list[str]]:
    return csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)


def _row_without_end(content: Content, delimiter: str) -> int:
    rows = 0
    try:
        for _ in reader(content[:].decode(), delimiter):
            rows += 1
    except csv.Error:
        rows += 1
    return rows


def _refuse_open_quotes(
    path: Path, content: Content, columns: Sequence[pa.ChunkedArray], row: Ints, others: Rows
) -> None:
    """Refuse a quotation mark that swallows rows: up to the file's end, or to the next mark, another cell's."""
    if content.find(b'"') < 0:
        return
    returns = count(content, b"\r")
    breaks = count(content, b"\n") + returns - (count(content, b"\r\n") if returns else 0)
    if breaks == len(row) + len(others):
        # No cell has line breaks in it, save perhaps the very last.
        columns, row = [column.slice(max(len(row) - 1, 0)) for column in columns], row[-1:]
    cells = [(at, column, cell) for at, written in others for column, cell in enumerate(written)]
    for column, values in enumerate(columns):
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
    columns: list[pa.Array], row: Ints, others: Rows, names: Sequence[str]
) -> tuple[list[pa.ChunkedArray], Ints, list[BrokenRow]]:
    """Bring rows of every width to one width, in order; those with more cells than columns are broken."""
    width = len(names)
    over = not_blank(columns[width:], len(row))
    wide = [(int(row[at]), [column[at].as_py() or "" for column in columns]) for at in np.flatnonzero(over)]
    rows: dict[int, list[str | None]] = {}
    broken = []
    for at, written in sorted([*others, *wide]):
        cells = [cell.strip() for cell in written]
        count = last_filled(cells)
        if count <= width:
            rows[at] = [cell or None for cell in (cells + [""] * width)[:width]]
            continue
        every = column_names([*names, *[""] * (len(cells) - width)])
        filled = {name: cell for name, cell in zip(every, cells, strict=True) if cell}
        broken.append(BrokenRow(at, f"the row has {count} cells for {width} columns", filled))
    columns = [*columns[:width], *[pa.nulls(len(row), pa.string())] * (width - len(columns))]
    table = pa.table(columns, names=list(names))
    if wide:
        table = filtered(table, ~over)
    row = row[~over]
    if rows:
        added = [pa.array(cells, pa.string()) for cells in zip(*rows.values(), strict=True)]
        row = np.concatenate([row, np.array(list(rows))])
        order = np.argsort(row, kind="stable")
        every = pa.concat_tables([table, pa.table(added, list(names))])
        table = taken(every, order)
        row = row[order]
    return table.columns, row, broken
