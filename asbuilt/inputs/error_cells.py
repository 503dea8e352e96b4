"""Cells of a workbook that its spreadsheet program could not compute, such as #N/A: the reader gives them as blank.

Each kind of workbook holds them in a way of its own: Office Open XML (ECMA-376 part 1, 18.18.11), its binary form
(MS-XLSB, BrtCellError and BrtFmlaError), the earlier binary workbook (MS-XLS, BoolErr and Formula), OpenDocument.
"""

from __future__ import annotations

import io
import re
import struct
import zipfile
from collections.abc import Iterator
from typing import NamedTuple
from xml.etree import ElementTree

_CODES = {
    0x00: "#NULL!", 0x07: "#DIV/0!", 0x0F: "#VALUE!", 0x17: "#REF!", 0x1D: "#NAME?", 0x24: "#NUM!", 0x2A: "#N/A",
    0x2B: "#GETTING_DATA",
}  # fmt: skip
"""MS-XLSB 2.5.97.2 and MS-XLS 2.5.10, BErr."""
_ERROR_MARKS = (b't="e"', b"t='e'")
_FAILED = re.compile(r"#[A-Z/0_]+[!?]?|Err:\d+")
_TABLE = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
_LETTERS = re.compile(r"([A-Z]+)(\d+)")
_SHEET, _ROW, _ERROR, _FORMULA_ERROR = 156, 0, 3, 11
"""Records of a binary Office Open XML workbook (MS-XLSB 2.3): BrtBundleSh, BrtRowHdr, BrtCellError, BrtFmlaError."""
_BOUND_SHEET, _BOOL_ERR, _FORMULA, _END = 0x85, 0x205, 0x06, 0x0A
"""Records of the earlier binary workbook (MS-XLS 2.3): BoundSheet8, BoolErr, Formula, EOF."""


class ErrorCell(NamedTuple):
    """A cell that holds an error; row and column counted from 0."""

    row: int
    column: int
    text: str

    @property
    def name(self) -> str:
        """Name the cell as a spreadsheet program does.

        Examples
        --------
        >>> ErrorCell(6, 27, "#N/A").name
        'AB7'
        """
        letters, rest = "", self.column + 1
        while rest:
            rest, letter = divmod(rest - 1, 26)
            letters = chr(ord("A") + letter) + letters
        return f"{letters}{self.row + 1}"


def error_cells(content: bytes, number: int, sheet_xml: bytes) -> list[ErrorCell]:
    """List the cells of one sheet that hold an error.

    Parameters
    ----------
    content : the workbook's bytes
    number : place of the sheet in the workbook, counted from 0
    sheet_xml : the sheet as Office Open XML; empty for workbooks of other kinds
    """
    if sheet_xml:
        return list(_in_sheet_xml(sheet_xml)) if any(mark in sheet_xml for mark in _ERROR_MARKS) else []
    if not content.startswith(b"PK"):
        return list(_in_earlier_binary(content, number))
    with zipfile.ZipFile(io.BytesIO(content)) as book:
        names = book.namelist()
        if "xl/workbook.bin" in names:
            return list(_in_binary(book, number))
        return list(_in_opendocument(book.read("content.xml"), number)) if "content.xml" in names else []


def _in_sheet_xml(xml: bytes) -> Iterator[ErrorCell]:
    """Find the cells of type "e"; a cell that does not name its place stands behind the one before it."""
    row, column = -1, -1
    for event, element in ElementTree.iterparse(io.BytesIO(xml), ("start", "end")):
        kind = element.tag.rpartition("}")[2]
        if event == "start" and kind == "row":
            row, column = int(element.get("r", row + 2)) - 1, -1
        elif event == "end" and kind == "row":
            element.clear()
        elif event == "end" and kind == "c":
            place = _LETTERS.fullmatch(element.get("r", ""))
            column = _column(place[1]) if place else column + 1
            if element.get("t") == "e":
                value = next((part.text for part in element if part.tag.endswith("}v")), None)
                yield ErrorCell(int(place[2]) - 1 if place else row, column, value or "#N/A")


def _column(letters: str) -> int:
    column = 0
    for letter in letters:
        column = column * 26 + ord(letter) - ord("A") + 1
    return column - 1


def _in_binary(book: zipfile.ZipFile, number: int) -> Iterator[ErrorCell]:
    links = {one.get("Id"): one.get("Target", "") for one in ElementTree.fromstring(
        book.read("xl/_rels/workbook.bin.rels"))}  # fmt: skip
    sheets = []
    for kind, body in _binary_records(book.read("xl/workbook.bin")):
        if kind == _SHEET:
            (length,) = struct.unpack_from("<I", body, 8)
            sheets.append(body[12 : 12 + 2 * length].decode("utf-16-le"))
    row = 0
    for kind, body in _binary_records(book.read(f"xl/{links[sheets[number]].removeprefix('/xl/')}")):
        if kind == _ROW:
            (row,) = struct.unpack_from("<I", body)
        elif kind in (_ERROR, _FORMULA_ERROR):
            (column,) = struct.unpack_from("<I", body)
            yield ErrorCell(row, column, _CODES.get(body[8], "#N/A"))


def _binary_records(data: bytes) -> Iterator[tuple[int, bytes]]:
    """Give the records of a part: kind and length are numbers of 7 bits to a byte, the lowest first (MS-XLSB 2.1.4)."""
    at = 0
    while at < len(data):
        kind, at = data[at], at + 1
        if kind & 0x80 and at < len(data):
            kind, at = (kind & 0x7F) | (data[at] & 0x7F) << 7, at + 1
        length, shift = 0, 0
        while at < len(data):
            byte, at = data[at], at + 1
            length |= (byte & 0x7F) << shift
            shift += 7
            if not byte & 0x80:
                break
        yield kind, data[at : at + length]
        at += length


def _in_earlier_binary(content: bytes, number: int) -> Iterator[ErrorCell]:
    import olefile

    with olefile.OleFileIO(io.BytesIO(content)) as folder:
        name = next((one for one in ("Workbook", "Book") if folder.exists(one)), None)
        data = folder.openstream(name).read() if name else b""
    starts = [struct.unpack_from("<I", body)[0] for kind, body in _earlier_records(data, 0) if kind == _BOUND_SHEET]
    for kind, body in _earlier_records(data, starts[number]) if number < len(starts) else ():
        if kind == _BOOL_ERR and len(body) >= 8 and body[7] == 1:
            row, column = struct.unpack_from("<HH", body)
            yield ErrorCell(row, column, _CODES.get(body[6], "#N/A"))
        elif kind == _FORMULA and len(body) >= 14 and body[12:14] == b"\xff\xff" and body[6] == 2:
            row, column = struct.unpack_from("<HH", body)
            yield ErrorCell(row, column, _CODES.get(body[8], "#N/A"))


def _earlier_records(data: bytes, at: int) -> Iterator[tuple[int, bytes]]:
    """Give the records from a place to the end of its part: globals, or a sheet; charts within a sheet are passed."""
    depth = 0
    while at + 4 <= len(data):
        kind, length = struct.unpack_from("<HH", data, at)
        yield kind, data[at + 4 : at + 4 + length]
        at += 4 + length
        depth += (kind == 0x809) - (kind == _END)
        if depth <= 0:
            return


def _in_opendocument(xml: bytes, number: int) -> Iterator[ErrorCell]:
    """Find computed cells that show an error; programs differ in the value that they store beside what is shown."""
    if b"#" not in xml and b"Err:" not in xml:
        return
    table, row, column = -1, -1, 0
    for event, element in ElementTree.iterparse(io.BytesIO(xml), ("start", "end")):
        tag = element.tag
        if event == "start" and tag == f"{_TABLE}table":
            table, row = table + 1, 0
        elif event == "start" and tag == f"{_TABLE}table-row":
            column = 0
        elif event == "end" and tag == f"{_TABLE}table-row":
            row += int(element.get(f"{_TABLE}number-rows-repeated", 1))
            element.clear()
        elif event == "end" and tag in (f"{_TABLE}table-cell", f"{_TABLE}covered-table-cell"):
            times = int(element.get(f"{_TABLE}number-columns-repeated", 1))
            if table == number and element.get(f"{_TABLE}formula") is not None:
                shown = "".join(element.itertext()).strip()
                if _FAILED.fullmatch(shown):
                    yield from (ErrorCell(row, column + more, shown) for more in range(min(times, 100)))
            column += times
