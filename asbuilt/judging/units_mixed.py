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

_APART, _APART_CM = 3.0, 1.4
"""Means of the one unit and of the other are so many times apart at least, with none between; in centimetres among
inches, which their tenths tell as well."""
_FEWEST, _RUN = 3, 3.0
"""Rows in another unit that are told together; and how many of them stand one below the other, on the average."""
_TIMES = {
    "in": {"mm": (17.0, 38.0), "ft": (8.0, 17.0), "cm": (2.0, 3.2)},
    "mm": {"in": (17.0, 38.0), "cm": (7.5, 13.0)},
}
"""How many times as long or as short as the job's readings those in another unit look: 25.4, 12, 2.54 and 10 times, and
readings differ."""
OFF_A_RULE = 0.25
"""More than this part of readings, as none of them is by chance; common practice, no source."""
_THROUGHOUT = 0.98
"""More than this part of readings; the rest are slips."""
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
    inches = job.records.readings_in == "in"
    apart = _APART_CM if inches else _APART
    if len(rows) < ENOUGH or mean[rows].max() < apart * mean[rows].min():
        return none
    in_order = np.sort(mean[rows])
    times = in_order[1:] / in_order[:-1]
    at = int(np.argmax(times))
    if times[at] < apart:
        return none
    large = mean[rows] > np.sqrt(in_order[at] * in_order[at + 1])
    ratio = float(np.median(mean[rows[large]]) / np.median(mean[rows[~large]]))
    units = [unit for unit, (least, most) in _TIMES[job.records.readings_in].items() if least <= ratio <= most]
    longer = inches and units[:1] in (["mm"], ["cm"])
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
    if inches and units[0] == "cm" and not (in_tenths(_read(log, fields, other)) and not in_tenths(read)):
        return none
    found = none.record.copy()
    found[other] = True
    return Mixed(found, units[0])


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


def in_tenths(read: Floats) -> bool:
    """Say whether readings are in tenths throughout, as centimetres are on a tape, and no inches on a rule.

    Parameters
    ----------
    read : array, shape (n,)
        A rule in inches is marked at halves, quarters and less, so that some of its readings have two decimals.

    Examples
    --------
    >>> in_tenths(np.array([5.1, 4.8, 5.0, 5.3])), in_tenths(np.array([2.0, 2.06, 2.5, 1.9]))
    (True, False)
    """
    tenths = 10.0 * read
    told = np.abs(tenths - np.round(tenths)) < 1e-6
    at_halves = np.abs(2.0 * read - np.round(2.0 * read)) < 1e-6
    return bool(len(read) and (read >= 0.0).all() and np.mean(told) > _THROUGHOUT and np.mean(~at_halves) > OFF_A_RULE)


def _read(log: Log, fields: Sequence[str], rows: Ints) -> Floats:
    read: Floats = np.concatenate([log.number(field)[rows] for field in fields if field in log.fields])
    known: Floats = read[np.isfinite(read)]
    return known


def _one_below_the_other(log: Log, rows: Ints, other: Ints) -> bool:
    """Say whether rows stand mostly together among all that were read."""
    is_other, file = np.isin(rows, other), codes(log.file)[rows]
    begins = is_other & np.append(True, ~is_other[:-1] | (np.diff(file) != 0))
    return bool(len(other) >= _RUN * np.count_nonzero(begins))
