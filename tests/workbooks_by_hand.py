"""Workbooks of three kinds written from their published formats, so that cells can hold what no writer lets them hold.

MS-XLS and MS-CFB (.xls), MS-XLSB (.xlsb), OpenDocument 1.3 part 3 (.ods). A cell is a text or None; one that is an
error's text stands as the result of a formula, or with `plain` as the error itself.
"""

import io
import struct
import zipfile
from xml.sax.saxutils import escape

ERRORS = {"#NULL!": 0x00, "#DIV/0!": 0x07, "#VALUE!": 0x0F, "#REF!": 0x17, "#NAME?": 0x1D, "#NUM!": 0x24, "#N/A": 0x2A}
_END, _FAT, _FREE = 0xFFFFFFFE, 0xFFFFFFFD, 0xFFFFFFFF


def xls(sheets, *, plain=False):
    """Write the earlier binary workbook: sheets by name, each a list of rows."""
    bodies = [_earlier_sheet(rows, plain) for rows in sheets.values()]
    bounds = [struct.pack("<BB", len(name), 0) + name.encode("latin-1") for name in sheets]
    first = len(_begin(0x05)) + sum(4 + 6 + len(one) for one in bounds) + 4
    book = _begin(0x05)
    for bound, at in zip(bounds, (first + sum(map(len, bodies[:n])) for n in range(len(bodies))), strict=True):
        book += _earlier(0x85, struct.pack("<IBB", at, 0, 0) + bound)
    return _compound(book + _earlier(0x0A) + b"".join(bodies))


def _earlier(kind, body=b""):
    return struct.pack("<HH", kind, len(body)) + body


def _begin(kind):
    return _earlier(0x809, struct.pack("<HHHHII", 0x600, kind, 0x0DBB, 1996, 0, 6))


def _earlier_sheet(rows, plain):
    width = max(map(len, rows))
    written = _begin(0x10) + _earlier(0x200, struct.pack("<IIHHH", 0, len(rows), 0, width, 0))
    for row, cells in enumerate(rows):
        for column, cell in enumerate(cells):
            place = struct.pack("<HHH", row, column, 0)
            if cell in ERRORS and plain:
                written += _earlier(0x205, place + bytes([ERRORS[cell], 1]))
            elif cell in ERRORS:
                result = bytes([2, 0, ERRORS[cell], 0, 0, 0, 0xFF, 0xFF])
                written += _earlier(0x06, place + result + struct.pack("<HIH", 0, 0, 0))
            elif cell is not None:
                written += _earlier(0x204, place + struct.pack("<HB", len(cell), 0) + cell.encode("latin-1"))
    return written + _earlier(0x0A)


def _compound(stream):
    """Put one stream, long enough to need no small sectors, into a compound file."""
    stream = stream.ljust(max(4096, -(-len(stream) // 512) * 512), b"\0")
    count = len(stream) // 512
    chain = [*range(1, count), _END, _END, _FAT]
    tables = -(-(count + 2) // 128)
    chain = [*chain[:-1], *[_FAT] * tables]
    assert tables == 1, "one table of sectors is enough for a test"
    fat = struct.pack(f"<{len(chain)}I", *chain).ljust(512 * tables, b"\xff")
    header = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(16) + struct.pack("<HHHHH", 0x3E, 3, 0xFFFE, 9, 6) + bytes(6)
    header += struct.pack("<IIIIIIIII", 0, tables, count, 0, 4096, _END, 0, _END, 0)
    header += struct.pack("<109I", count + 1, *[_FREE] * 108)
    entries = _entry("Root Entry", 5, 1, _END, 0) + _entry("Workbook", 2, _FREE, 0, len(stream))
    return header + stream + entries.ljust(512, b"\0") + fat


def _entry(name, kind, child, start, length):
    written = (name + "\0").encode("utf-16-le")
    head = written.ljust(64, b"\0") + struct.pack("<HBBIII", len(written), kind, 1, _FREE, _FREE, child)
    return head + bytes(36) + struct.pack("<IQ", start, length)


def xlsb(sheets, *, plain=False):
    """Write the binary form of an Office Open XML workbook."""
    main = "http://schemas.openxmlformats.org/package/2006/relationships"
    office = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    links = "".join(
        f'<Relationship Id="rId{n}" Type="{office}/worksheet" Target="worksheets/sheet{n}.bin"/>'
        for n in range(1, len(sheets) + 1)
    )
    bundle = b"".join(
        _record(156, struct.pack("<II", 0, n) + _wide(f"rId{n}") + _wide(name)) for n, name in enumerate(sheets, 1)
    )
    parts = {
        "[Content_Types].xml": '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
        '<Default Extension="bin" ContentType="application/vnd.ms-excel.sheet.binary.macroEnabled.main"/></Types>',
        "_rels/.rels": f'<Relationships xmlns="{main}"><Relationship Id="rId1" Type="{office}/officeDocument" '
        'Target="xl/workbook.bin"/></Relationships>',
        "xl/_rels/workbook.bin.rels": f'<Relationships xmlns="{main}">{links}</Relationships>',
        "xl/workbook.bin": _record(131) + _record(143) + bundle + _record(144) + _record(132),
    }
    for number, rows in enumerate(sheets.values(), 1):
        parts[f"xl/worksheets/sheet{number}.bin"] = _binary_sheet(rows, plain)
    return _zipped(parts)


def _binary_sheet(rows, plain):
    size = struct.pack("<IIII", 0, len(rows) - 1, 0, max(map(len, rows)) - 1)
    written = _record(129) + _record(148, size) + _record(145)
    for row, cells in enumerate(rows):
        written += _record(0, struct.pack("<IIHHBI", row, 0, 300, 0, 0, 0))
        for column, cell in enumerate(cells):
            place = struct.pack("<II", column, 0)
            if cell in ERRORS:
                formula = b"" if plain else struct.pack("<HII", 0, 0, 0)
                written += _record(3 if plain else 11, place + bytes([ERRORS[cell]]) + formula)
            elif cell is not None:
                written += _record(6, place + _wide(cell))
    return written + _record(146) + _record(130)


def _record(kind, body=b""):
    head = bytes([kind]) if kind < 128 else bytes([kind & 0x7F | 0x80, kind >> 7])
    length, size = b"", len(body)
    while True:
        length += bytes([size & 0x7F | (0x80 if size > 0x7F else 0)])
        size >>= 7
        if not size:
            return head + length + body


def _wide(text):
    return struct.pack("<I", len(text)) + text.encode("utf-16-le")


def ods(sheets, *, plain=False):
    """Write an OpenDocument spreadsheet; a plain error has the value 0 beside what is shown, as some programs store."""
    names = {
        "office": "urn:oasis:names:tc:opendocument:xmlns:office:1.0",
        "table": "urn:oasis:names:tc:opendocument:xmlns:table:1.0",
        "text": "urn:oasis:names:tc:opendocument:xmlns:text:1.0",
    }
    spaces = " ".join(f'xmlns:{one}="{name}"' for one, name in names.items())
    tables = ""
    for name, rows in sheets.items():
        lines = "".join(
            "<table:table-row>" + "".join(_open_cell(cell, plain) for cell in cells) + "</table:table-row>"
            for cells in rows
        )
        tables += f'<table:table table:name="{escape(name)}">{lines}</table:table>'
    content = (
        f'<office:document-content {spaces} office:version="1.3"><office:body><office:spreadsheet>{tables}'
        "</office:spreadsheet></office:body></office:document-content>"
    )
    kind = "application/vnd.oasis.opendocument.spreadsheet"
    manifest = (
        '<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0">'
        f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{kind}"/></manifest:manifest>'
    )
    return _zipped({"mimetype": kind, "content.xml": content, "META-INF/manifest.xml": manifest})


def _open_cell(cell, plain):
    if cell is None:
        return "<table:table-cell/>"
    kind = 'office:value-type="string"'
    if cell in ERRORS:
        value = 'office:value-type="float" office:value="0"' if plain else f'{kind} office:string-value=""'
        kind = f'table:formula="of:=1/0" {value}'
    return f"<table:table-cell {kind}><text:p>{escape(cell)}</text:p></table:table-cell>"


def _zipped(parts):
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as book:
        for name, content in parts.items():
            book.writestr(name, content)
    return packed.getvalue()
