"""Cells that stand for the cell above them: blank ones where the job says so, and ditto marks."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import as_mask, first_bytes
from asbuilt.inputs.cells import Unreadable

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

    from asbuilt.arrays import Bools, Ints
    from asbuilt.job import Job

_DITTO = pa.array(
    ['"', "''", "”", "“", "″", "〃", '-"-', '- " -', "-”-", "do.", "Do.", "DO.", "ditto", "Ditto", "DITTO"]
)
_BEGINS = np.isin(np.arange(256), [mark.encode()[0] for mark in _DITTO.to_pylist()])
"""By the first byte of a cell, whether it may be one of them."""
_EACH_ITS_OWN = frozenset({"joint", "station", "easting", "northing", "elevation", "photo"})
"""No joint has these of another one: a ditto mark there stays unreadable."""
_TELLING = ("kind", "size", "joint_type", "laid_length", "inspected_on", "inspector", "crew")
"""Fields of which one that cannot be read, in a row without a station, says that the row's cells stand elsewhere."""
_SHOWN = 10
_STATION = r"^\d{1,4}\+\d{2,3}(?:\.\d+)?$"


def with_repeats(job: Job, cells: Mapping[str, pa.Array]) -> tuple[dict[str, pa.Array], dict[str, Ints]]:
    """Give cells that stand for the one above them its value.

    Parameters
    ----------
    job : Job
        Its `records.fill_down` names the fields whose blank cells stand for the one above.
    cells : mapping of field to text, shape (n,)

    Returns
    -------
    cells : dict
    above : dict of field to array of int, shape (n,)
        Position of the row that a cell was taken from; -1 where it says itself what it says. Without the fields of
        which no cell was taken.
    """
    given = dict(cells)
    above: dict[str, Ints] = {}
    for field, text in cells.items():
        may_be = field not in _EACH_ITS_OWN and _BEGINS[first_bytes(text)].any()
        if may_be and pc.any(ditto := pc.is_in(text, value_set=_DITTO)).as_py():
            given[field], above[field] = _from_above(text, as_mask(ditto))
        if field in job.records.fill_down:
            given[field], at = _from_above(given[field], as_mask(pc.is_null(given[field])))
            before = above.get(field, np.full(len(text), -1))
            # What a blank cell takes may have been taken itself.
            through = np.where(before[at] >= 0, before[at], at)
            above[field] = np.where(at >= 0, through, before)
    return given, {field: at for field, at in above.items() if (at >= 0).any()}


def _from_above(text: pa.Array, repeats: Bools) -> tuple[pa.Array, Ints]:
    """Fill cells from the nearest one above that is no repeat; those with nothing above stay as they are."""
    at = np.maximum.accumulate(np.where(repeats, -1, np.arange(len(text))))
    filled = text.take(pa.array(np.where(at < 0, np.arange(len(text)), at)))
    taken = repeats & (at >= 0)
    # What stands for a blank cell says nothing: the mark itself stays, and is unreadable.
    taken &= as_mask(pc.is_valid(filled))
    return pc.if_else(pa.array(taken), filled, text), np.where(taken, at, -1)


def not_to_be_taken(
    cells: Mapping[str, pa.Array],
    above: Mapping[str, Ints],
    unreadable: Unreadable,
    placed: Bools,
    row: Ints,
    broken: Collection[int],
) -> dict[str, Ints]:
    """Find the cells that stand for one above which does not say what its column asks.

    Such a one is unreadable itself, or it stands in a row whose cells are not in their columns, or such a row lies
    between: what the crew copied there was not the last good cell.

    Parameters
    ----------
    cells : mapping of field to text, shape (n,)
        As the log has them.
    above : mapping of field to array of int, shape (n,)
        As `with_repeats` gives it.
    unreadable : Unreadable
        Of the cells with what they took.
    placed : array of bool, shape (n,)
        True where the row's station can be read.
    row : array of int, shape (n,)
        Rows of the file.
    broken : collection of int
        Rows of the file that do not fit its columns.

    Returns
    -------
    dict of field to array of int, shape (n,)
        The row of the file that is to blame; -1 where the cell may be taken. Without the fields where all may be.

    Examples
    --------
    The second row has its cells one column to the right, and the third stands for it:

    >>> from asbuilt.inputs.cells import Unreadable
    >>> cells = {"kind": pa.array(["pipe", "0+20", "do."]), "joint_type": pa.array(["MJ", '12"', "do."])}
    >>> above = {field: np.array([-1, -1, 1]) for field in cells}
    >>> unread = Unreadable.of(np.array([1, 2]), pa.array(["kind", "kind"]), pa.array(["0+20", "0+20"]))
    >>> placed, row = np.array([True, False, True]), np.array([2, 3, 4])
    >>> held = not_to_be_taken(cells, above, unread, placed, row, ())
    >>> {field: rows.tolist() for field, rows in held.items()}
    {'kind': [-1, -1, 3], 'joint_type': [-1, -1, 3]}
    """
    # A word of the log's own that is kept is what it says.
    unreadable = unreadable.of_plain_text()
    shifted = _shifted(cells, unreadable, placed)
    # The last row that is to blame above each row: of the table, or of those that did not fit it.
    last = np.maximum.accumulate(np.concatenate([[-1], np.where(shifted, row, -1)]))[:-1]
    if broken:
        odd = np.sort(np.array(list(broken), dtype=np.int64))
        before = np.searchsorted(odd, row) - 1
        last = np.maximum(last, np.where(before >= 0, odd[before], -1))
    held: dict[str, Ints] = {}
    for field, at in above.items():
        source = row[at]
        blamed = np.where((at >= 0) & (last >= source), last, -1)
        unread = np.zeros(len(row), dtype=np.bool_)
        unread[unreadable.record[as_mask(pc.equal(unreadable.field, field))]] = True
        blamed = np.where((at >= 0) & unread & (blamed < 0), source, blamed)
        if (blamed >= 0).any():
            held[field] = blamed
    return held


def _shifted(cells: Mapping[str, pa.Array], unreadable: Unreadable, placed: Bools) -> Bools:
    """Find rows without a station whose cells are not in their columns; none where nothing is placed by a station."""
    shifted = np.zeros(len(placed), dtype=np.bool_)
    if placed.all() or not placed.any():
        return shifted
    shifted[unreadable.record[as_mask(pc.is_in(unreadable.field, value_set=pa.array(_TELLING)))]] = True
    rows = np.flatnonzero(~placed)
    for field in (one for one in cells if one != "station"):
        shifted[rows] |= as_mask(pc.match_substring_regex(cells[field].take(pa.array(rows)), _STATION))
    return shifted & ~placed


def with_marks_again(
    cells: Mapping[str, pa.Array], given: Mapping[str, pa.Array], held: Mapping[str, Ints]
) -> tuple[dict[str, pa.Array], Unreadable]:
    """Leave blank the cells that may not be taken from above, and list them as unreadable.

    Parameters
    ----------
    cells : mapping of field to text, shape (n,)
        As the log has them.
    given : mapping of field to text, shape (n,)
        With what was taken.
    held : mapping of field to array of int, shape (n,)
        As `not_to_be_taken` gives it.
    """
    without, found = dict(given), []
    for field, blamed in held.items():
        rows = np.flatnonzero(blamed >= 0)
        without[field] = pc.if_else(pa.array(blamed >= 0), pa.scalar(None, pa.string()), given[field])
        text = pc.fill_null(cells[field].take(pa.array(rows)), "")
        why = [f"it stands for what is above it, which in row {one} cannot be read or is not in its column; it is left "
               "blank" for one in blamed[rows].tolist()]  # fmt: skip
        found.append(Unreadable(rows, pa.repeat(field, len(rows)), text, pa.array(why, pa.string())))
    return without, Unreadable.joined(found)


def repeats_told(
    cells: Mapping[str, pa.Array], above: Mapping[str, Ints], held: Mapping[str, Ints], row: Ints, where: str
) -> list[str]:
    """Say how many cells of each field took the value above them, and which did not.

    Parameters
    ----------
    cells : mapping of field to text, shape (n,)
        As the log has them.
    above, held : mapping of field to array of int, shape (n,)
        As `with_repeats` and `not_to_be_taken` give them.
    row : array of int, shape (n,)
        Rows of the file.
    where : the file, for notes
    """
    notes = []
    for field, at in above.items():
        blank = as_mask(pc.is_null(cells[field]))
        taken = (at >= 0) & (held.get(field, np.full(len(row), -1)) < 0)
        for named, some in (("ditto marks", ~blank), ("blank cells", blank)):
            notes.append(_told(where, field, f"{named} take", taken & some, row))
    if held:
        blamed = np.unique(np.concatenate([one[one >= 0] for one in held.values()]))
        more = f" and {len(blamed) - _SHOWN} more" if len(blamed) > _SHOWN else ""
        count = sum(int((one >= 0).sum()) for one in held.values())
        notes.append(
            f"{where}: {count:,} cells that stand for what is above them are left blank, and listed as "
            f"field-unreadable ({', '.join(held)}): what is above them cannot be read, or its row is not in its "
            f"columns: row {', '.join(map(str, blamed[:_SHOWN].tolist()))}{more}"
        )
    return [one for one in notes if one]


def _told(where: str, field: str, what: str, taken: Bools, row: Ints) -> str:
    if not taken.any():
        return ""
    first = int(row[int(np.argmax(taken))])
    return f"{where}: {field}: {int(taken.sum()):,} {what} the value above them (first: row {first})"
