"""Cells that stand for the cell above them: blank ones where the job says so, and ditto marks."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import as_mask, first_bytes

if TYPE_CHECKING:
    from collections.abc import Mapping

    from asbuilt.arrays import Bools, Ints
    from asbuilt.job import Job

_DITTO = pa.array(
    ['"', "''", "”", "“", "″", "〃", '-"-', '- " -', "-”-", "do.", "Do.", "DO.", "ditto", "Ditto", "DITTO"]
)
_BEGINS = np.isin(np.arange(256), [mark.encode()[0] for mark in _DITTO.to_pylist()])
"""By the first byte of a cell, whether it may be one of them."""
_EACH_ITS_OWN = frozenset({"joint", "station", "easting", "northing", "elevation", "photo"})
"""No joint has these of another one: a ditto mark there stays unreadable."""


def with_repeats(
    job: Job, cells: Mapping[str, pa.Array], row: Ints, where: str
) -> tuple[dict[str, pa.Array], list[str]]:
    """Give cells that stand for the one above them its value, and say how many there are.

    Parameters
    ----------
    job : Job
        Its `records.fill_down` names the fields whose blank cells stand for the one above.
    cells : mapping of field to text, shape (n,)
    row : array of int, shape (n,)
        Rows of the file.
    where : the file, for notes

    Returns
    -------
    cells : dict
    notes : list of str
    """
    given, notes = dict(cells), []
    for field, text in cells.items():
        may_be = field not in _EACH_ITS_OWN and _BEGINS[first_bytes(text)].any()
        if may_be and pc.any(ditto := pc.is_in(text, value_set=_DITTO)).as_py():
            given[field], taken = _from_above(text, as_mask(ditto))
            notes.append(_told(where, field, "ditto marks take", taken, row))
        if field in job.records.fill_down:
            blank = as_mask(pc.is_null(given[field]))
            given[field], taken = _from_above(given[field], blank)
            notes.append(_told(where, field, "blank cells take", taken, row))
    return given, [one for one in notes if one]


def _from_above(text: pa.Array, repeats: Bools) -> tuple[pa.Array, Bools]:
    """Fill cells from the nearest one above that is no repeat; those with nothing above stay as they are."""
    at = np.maximum.accumulate(np.where(repeats, -1, np.arange(len(text))))
    filled = text.take(pa.array(np.where(at < 0, np.arange(len(text)), at)))
    taken = repeats & (at >= 0)
    # What stands for a blank cell says nothing: the mark itself stays, and is unreadable.
    taken &= as_mask(pc.is_valid(filled))
    return pc.if_else(pa.array(taken), filled, text), taken


def _told(where: str, field: str, what: str, taken: Bools, row: Ints) -> str:
    if not taken.any():
        return ""
    first = int(row[int(np.argmax(taken))])
    return f"{where}: {field}: {int(taken.sum()):,} {what} the value above them (first: row {first})"
