"""Rows of a log whose cells stand in the columns beside their own, by how many of them cannot be read there."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pyarrow.compute as pc

from asbuilt.arrays import codes

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log

_CELLS = 3
"""Cells of one row that cannot be read, in columns that are read elsewhere; fewer are slips, each told by itself."""
_MOST = 0.5
"""A column of which so much cannot be read is written in words of its own, and says nothing of its rows."""
_SHOWN = 10


def shifted_notes(log: Log) -> list[str]:
    """Tell of rows of which several cells cannot be read, while their columns are read in the others.

    Parameters
    ----------
    log : Log
    """
    odd, many = log.unreadable, len(log)
    field = codes(odd.field)
    if not len(field) or not many:
        return []
    given = np.array([many - log.fields[name].null_count for name in pc.unique(odd.field).to_pylist()], dtype=np.int64)
    unread = np.bincount(field)
    counts = (unread <= _MOST * np.maximum(given + unread, 1))[field]
    rows = np.flatnonzero(np.bincount(odd.record[counts], minlength=many) >= _CELLS)
    if not len(rows):
        return []
    first = np.flatnonzero(counts & (odd.record == rows[0]))
    cells = ", ".join(f"{odd.field[int(at)].as_py()} {odd.text[int(at)].as_py()!r}" for at in first[:_CELLS])
    files, named = codes(log.file), []
    for part in np.split(rows, np.flatnonzero((np.diff(rows) != 1) | (np.diff(files[rows]) != 0)) + 1):
        ends = [int(log.row[part[0]])] + ([int(log.row[part[-1]])] if len(part) > 1 else [])
        named.append(
            f"{log.file[int(part[0])].as_py()} row{'s' if len(ends) > 1 else ''} {' to '.join(map(str, ends))}"
        )
    more = f" and {len(named) - _SHOWN:,} more runs" if len(named) > _SHOWN else ""
    return [
        f"{', '.join(named[:_SHOWN])}{more}: {_CELLS} cells and more of a row cannot be read, as where cells stand "
        f"beside their columns (the first: {cells}); what is read of these rows may be another column's: put the cells "
        "into their columns"
    ]
