"""Make the fifth job of the sample: a leak on Quarry Lane, half a year after it was laid, and the two joints dug up.

The crew read a rule around both joints and took a picture of one, which is drawn here.
"""

from __future__ import annotations

import math
import struct
import zlib
from pathlib import Path

from sawmill import write

LOG, PHOTO = "joint_log_repair.csv", "photo_joint_176.png"
WIDTH, HEIGHT = 320, 200
TURN_DEG = 6.1
"""What the two joints were laid at; the gap is wide on the left, as the main turns right."""
_PALETTE = ((146, 112, 78), (124, 93, 63), (104, 77, 52), (120, 124, 130), (92, 96, 102), (62, 65, 70),
            (236, 236, 230), (70, 130, 180))  # fmt: skip
_SOIL, _SOIL_DARK, _SOIL_DEEP, _BARREL, _BELL, _EDGE, _MARK, _WATER = range(len(_PALETTE))


def make(folder: Path) -> None:
    """Write the log of the repair and its picture into `folder`."""
    header = (
        "Route", "Joint", "Station", "Size", "Joint type", "Kind", "Date", "Inspector", "Gap 12", "Gap 3", "Gap 6",
        "Gap 9", "Remarks", "Photo",
    )  # fmt: skip
    alike = ("8", "push-on", "pipe", "10/14/2026", "P. Adeyemi")
    rows: list[tuple[str, ...]] = [
        ("B", "176", "38+00.74", *alike, "7/8", "7/16", "7/8", "1 3/8",
         "Weeping at 9 o'clock, gasket rolled there; clamp put on", PHOTO),
        ("B", "177", "38+20.74", *alike, "7/8", "3/8", "7/8", "1 3/8", "Dry; left as it is", ""),
    ]  # fmt: skip
    write(folder / LOG, header, rows)
    (folder / PHOTO).write_bytes(_png([[_colour(x, y) for x in range(WIDTH)] for y in range(HEIGHT)]))


def _colour(x: int, y: int) -> int:
    """Give what is seen from above at a place in the trench: a bell, and the pipe that enters it askew."""
    east, south = x - 165.0, y - 96.0
    turn = math.radians(TURN_DEG)
    along, across = east * math.cos(turn) + south * math.sin(turn), south * math.cos(turn) - east * math.sin(turn)
    if any(math.hypot(x - drop_x, y - drop_y) < size for drop_x, drop_y, size in _DROPS):
        return _WATER
    if -58 <= east <= 0 and abs(south) <= 50:
        return _EDGE if abs(south) > 47 or east > -3 else _BELL
    if east < -58 and abs(south) <= 36:
        return _EDGE if abs(south) > 34 else _BARREL
    if along > -10 and abs(across) <= 36:
        if 20 <= along <= 23:
            return _MARK
        return _EDGE if abs(across) > 34 else _BARREL
    if abs(south) > 84:
        return _SOIL_DEEP
    return _SOIL_DARK if (x * 7919 + y * 104729) % 11 < 4 else _SOIL


_DROPS = ((169, 44, 4.0), (174, 36, 3.0), (167, 33, 2.5), (179, 28, 3.5), (171, 22, 2.0))


def _png(rows: list[list[int]]) -> bytes:
    """Write a picture of 16 colours, not compressed, so that every machine writes the same bytes.

    Source: Portable Network Graphics, W3C Recommendation, third edition; zlib and DEFLATE, RFC 1950 and 1951.
    """
    lines = b"".join(
        b"\0" + bytes(one << 4 | two for one, two in zip(row[::2], row[1::2], strict=True)) for row in rows
    )
    stored = b"\x78\x01\x01" + struct.pack("<HH", len(lines), len(lines) ^ 0xFFFF) + lines
    parts = [
        (b"IHDR", struct.pack(">IIBBBBB", WIDTH, HEIGHT, 4, 3, 0, 0, 0)),
        (b"PLTE", bytes(value for colour in _PALETTE for value in colour)),
        (b"IDAT", stored + struct.pack(">I", zlib.adler32(lines))),
        (b"IEND", b""),
    ]
    whole = b"\x89PNG\r\n\x1a\n"
    for name, data in parts:
        whole += struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
    return whole
