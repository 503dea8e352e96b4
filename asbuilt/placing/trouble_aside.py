"""What records that are set aside say of trouble: no check sees them, and a failed inspection must not be lost."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Ints, as_mask
from asbuilt.inputs.fields import PASSED_FIELDS
from asbuilt.inputs.trouble import remark_words, tells
from asbuilt.inputs.unread_columns import ELSEWHERE_FIELD

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job

_NAMED = 10
"""Rows named in the note."""
_SHOWN = 200
"""Characters of a remark that a message repeats; the record has all of it."""


def with_trouble(job: Job, log: Log, reason: pa.Array, message: pa.Array) -> tuple[pa.Array, list[str]]:
    """Say behind why a record is set aside which items of it did not pass, and what its remark tells of trouble.

    Parameters
    ----------
    job : Job
    log : Log
    reason : pyarrow string array, shape (records,)
        Null where a record is placed.
    message : pyarrow string array, shape (records,)

    Returns
    -------
    message : pyarrow string array, shape (records,)
    notes : list of str
        One where an item of any of them did not pass.
    """
    rows = np.flatnonzero(as_mask(reason.is_valid()))
    if not len(rows):
        return message, []
    failed, odd = _not_passed(log, rows), _unread(log, rows)
    remarks = [_remarks(job, log, rows, field) for field in ("remarks", ELSEWHERE_FIELD)]
    texts = []
    for at, (record, why) in enumerate(zip(rows.tolist(), message.take(pa.array(rows)).to_pylist(), strict=True)):
        told = [f"it says that {', '.join(failed[record])} did not pass"] if record in failed else []
        told += odd.get(record, [])
        told += [f'it says "{one[at]}": read it' for one in remarks if one[at]]
        texts.append("; ".join([why, *told]))
    return pc.replace_with_mask(message, reason.is_valid(), pa.array(texts, pa.string())), _note(log, failed)


def _not_passed(log: Log, rows: Ints) -> dict[int, list[str]]:
    """Give, by record, the items that did not pass."""
    found: dict[int, list[str]] = {}
    for field in (one for one in PASSED_FIELDS if one in log.fields):
        no = as_mask(pc.equal(log.fields[field].take(pa.array(rows)), "no"))
        for record in rows[no].tolist():
            found.setdefault(record, []).append(field.replace("_", " "))
    return dict(sorted(found.items()))


def _unread(log: Log, rows: Ints) -> dict[int, list[str]]:
    """Give, by record, the items of which nobody can read whether they passed."""
    odd, found = log.unreadable, dict[int, list[str]]()
    here = np.isin(odd.record, rows) & as_mask(pc.is_in(odd.field, value_set=pa.array(PASSED_FIELDS)))
    for at in np.flatnonzero(here).tolist():
        told = f"{odd.field[at].as_py().replace('_', ' ')} {odd.text[at].as_py()!r} cannot be read"
        found.setdefault(int(odd.record[at]), []).append(told)
    return found


def _remarks(job: Job, log: Log, rows: Ints, field: str) -> list[str | None]:
    """Give what a field of each record tells of trouble, or None."""
    if field not in log.fields:
        return [None] * len(rows)
    text = log.fields[field].take(pa.array(rows))
    # What unread columns say is of trouble already.
    telling = text.is_valid() if field == ELSEWHERE_FIELD else tells(text, remark_words(job))
    shown: list[str | None] = pc.if_else(telling, pc.utf8_slice_codeunits(text, 0, _SHOWN), None).to_pylist()
    return shown


def _note(log: Log, failed: dict[int, list[str]]) -> list[str]:
    if not failed:
        return []
    named = [
        f"{log.file[record].as_py()} row {log.row[record]} ({', '.join(items)})"
        for record, items in list(failed.items())[:_NAMED]
    ]
    more = f" and {len(failed) - _NAMED:,} more" if len(failed) > _NAMED else ""
    many = "1 record that is set aside says" if len(failed) == 1 else f"{len(failed):,} records set aside say"
    return [
        f"{many} that an item did not pass, and no joint on the map shows it: {', '.join(named)}{more}; find out which "
        "joints are meant, and correct the rows"
    ]
