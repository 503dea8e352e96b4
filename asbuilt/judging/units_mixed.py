"""Rows of a log whose readings are in another unit than those of the others: a page in millimetres, or centimetres."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from asbuilt.arrays import Bools, Floats, Ints, codes
from asbuilt.judging.readings import ENOUGH

if TYPE_CHECKING:
    from collections.abc import Sequence

    from asbuilt.inputs.log import Log
    from asbuilt.job import Job

_APART = 3.0
"""Means of the one unit and of the other are so many times apart at least, with none between."""
_FEWEST, _RUN = 3, 3.0
"""Rows in another unit that are told together; and how many of them stand one below the other, on the average."""
_TIMES = {"mm": (17.0, 38.0), "cm": (7.5, 13.0)}
"""How many times as long as inches, or how many times as short as millimetres, readings in a unit look; 25.4 and 10
times, and readings differ."""
_BROKEN = 0.3
"""Part of the readings in inches, or centimetres, that are no whole numbers, at least; judgement."""


class Mixed(NamedTuple):
    """Records whose readings are as if in another unit, shape (records,), and what that is."""

    record: Bools
    unit: str


def in_another_unit(job: Job, log: Log, fields: Sequence[str], mean: Floats) -> Mixed:
    """Find rows, several one below the other, whose readings are in another unit than those of the other rows.

    Parameters
    ----------
    job : Job
    log : Log
    fields : sequence of str
        Names of the readings.
    mean : array, shape (records,)
        Of what was read around each; NaN where nothing was.

    Returns
    -------
    Mixed
        None where these are joints of other types, whose marks may lie elsewhere, or the job's band holds them.
    """
    none = Mixed(np.zeros(len(mean), dtype=np.bool_), "")
    rows = np.flatnonzero(mean > 0.0)
    if len(rows) < ENOUGH or mean[rows].max() < _APART * mean[rows].min():
        return none
    in_order = np.sort(mean[rows])
    times = in_order[1:] / in_order[:-1]
    at = int(np.argmax(times))
    if times[at] < _APART:
        return none
    large = mean[rows] > np.sqrt(in_order[at] * in_order[at + 1])
    ratio = float(np.median(mean[rows[large]]) / np.median(mean[rows[~large]]))
    inches = job.records.readings_in == "in"
    units = [unit for unit, (low, high) in _TIMES.items() if low <= ratio <= high and not (inches and unit == "cm")]
    other, usual = (rows[large], rows[~large]) if inches else (rows[~large], rows[large])
    if not units or len(other) < _FEWEST or len(usual) < _FEWEST or not _one_below_the_other(log, rows, other):
        return none
    band, middle = job.inspection.insertion_band, float(np.median(mean[other]))
    kinds = codes(log.text("joint_type"))
    if (band is not None and band[0] <= middle <= band[1]) or not np.isin(kinds[other], kinds[usual]).any():
        return none
    read = np.concatenate([log.number(field)[usual if inches else other] for field in fields if field in log.fields])
    read = read[np.isfinite(read)]
    if np.mean(np.abs(read - np.round(read)) > 1e-9) < _BROKEN:
        return none
    found = none.record.copy()
    found[other] = True
    return Mixed(found, units[0] if inches or units[0] == "cm" else "in")


def _one_below_the_other(log: Log, rows: Ints, other: Ints) -> bool:
    """Say whether rows stand mostly together among all that were read."""
    is_other, file = np.isin(rows, other), codes(log.file)[rows]
    begins = is_other & np.append(True, ~is_other[:-1] | (np.diff(file) != 0))
    return bool(len(other) >= _RUN * np.count_nonzero(begins))
