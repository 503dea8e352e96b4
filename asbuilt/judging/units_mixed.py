"""Rows of a log whose readings are in another unit than those of the others: in millimetres, centimetres, or feet."""

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
_TIMES = {"mm": (17.0, 38.0), "cm": (7.5, 13.0), "ft": (8.0, 17.0)}
"""How many times as long as inches, or how many times as short as millimetres, or as inches, readings in a unit look;
25.4, 10 and 12 times, and readings differ."""
OFF_A_RULE = 0.25
"""More than this part of readings, as none of them is by chance; common practice, no source."""
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
    might = ("mm", "ft") if inches else ("mm", "cm")
    units = [unit for unit in might if _TIMES[unit][0] <= ratio <= _TIMES[unit][1]]
    longer = inches and units[:1] == ["mm"]
    other, usual = (rows[large], rows[~large]) if longer else (rows[~large], rows[large])
    if not units or len(other) < _FEWEST or len(usual) < _FEWEST or not _one_below_the_other(log, rows, other):
        return none
    band, middle = job.inspection.insertion_band, float(np.median(mean[other]))
    kinds = codes(log.text("joint_type"))
    if (band is not None and band[0] <= middle <= band[1]) or not np.isin(kinds[other], kinds[usual]).any():
        return none
    read = _read(log, fields, usual if inches else other)
    if np.mean(np.abs(read - np.round(read)) > 1e-9) < _BROKEN:
        return none
    if units[0] == "ft" and not off_the_rule(_read(log, fields, other)):
        return none
    found = none.record.copy()
    found[other] = True
    return Mixed(found, units[0] if inches or units[0] == "cm" else "in")


def off_the_rule(read: Floats) -> bool:
    """Say whether readings, none of them below nothing, are often decimals at which no rule in inches has a mark.

    Parameters
    ----------
    read : array, shape (n,)
        Inches: a rule is marked at thirty-seconds, and these are rounded to hundredths, thousandths or not at all.

    Examples
    --------
    Hundredths of a foot, and sixteenths of an inch:

    >>> off_the_rule(np.array([0.17, 0.18, 0.16, 0.17])), off_the_rule(np.array([0.19, 0.25, 0.125, 0.188]))
    (True, False)
    """
    away = np.abs(read - np.round(32.0 * read) / 32.0)
    on_a_mark = away < 1e-9
    for step in (1e-2, 1e-3, 1e-4):
        on_a_mark |= (np.abs(read / step - np.round(read / step)) < 1e-6) & (away < 0.501 * step)
    return bool(len(read) and (read >= 0.0).all() and np.mean(~on_a_mark) > OFF_A_RULE)


def _read(log: Log, fields: Sequence[str], rows: Ints) -> Floats:
    read: Floats = np.concatenate([log.number(field)[rows] for field in fields if field in log.fields])
    known: Floats = read[np.isfinite(read)]
    return known


def _one_below_the_other(log: Log, rows: Ints, other: Ints) -> bool:
    """Say whether rows stand mostly together among all that were read."""
    is_other, file = np.isin(rows, other), codes(log.file)[rows]
    begins = is_other & np.append(True, ~is_other[:-1] | (np.diff(file) != 0))
    return bool(len(other) >= _RUN * np.count_nonzero(begins))
