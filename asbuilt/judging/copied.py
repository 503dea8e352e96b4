"""Rows of a log whose readings were copied or filled down and not read, or whose columns were sorted by themselves.

Two readings of the same gap differ by their errors, so even where joints are all alike the next row has the same
readings by chance alone. Readings that are even all around, as of straight pushes, are what crews write: only where
very many rows have the same ones is that noted.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Bools, Floats, Ints, as_floats, codes
from asbuilt.held import blocks
from asbuilt.judging.readings import UNKNOWNS, clock_angles, fitted, sigma_reading
from asbuilt.keys.fields import GAP_FIELDS, GAUGE_FIELDS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from asbuilt.inputs.log import Log
    from asbuilt.job import Job

BY_CHANCE = 0.001
"""Chance makes a run as long as one that is told in fewer than so many logs."""
_FEWEST = 3
_SOME, _ENOUGH = 10_000, 8
"""Rows by which the scatter and the step of readings are found, at most and at least."""
_MOSTLY, _OFTEN = 0.9, 0.1
"""Part of the readings that are multiples of the step to which they are read; and of rows that now and then are wholly
multiples of a wider one, as people like quarters and tens. Judgement."""
_STEPS = {
    "in": (1.0, 1 / 2, 1 / 4, 1 / 8, 0.1, 1 / 16, 0.05, 1 / 32, 0.02, 0.01),
    "mm": (10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1),
}
_SLACK = 0.0051
"""Fractions of an inch are written with two decimals."""
_LEAST = 0.2
"""Steps below which no reading's standard error is taken to be: nobody knows so surely that he rounds to one step."""
NAMED = ("gap readings", "feeler-gauge depths")
_COARSE = 0.5
"""Steps that the standard error of a reading must be, to show behind their rounding."""
_COPIED = 20
"""So many rows of the same even readings are noted."""
_FILLED, _FILLED_DAYS = 10, 15
"""So many rows in even steps are a series and not read; days without a day of rest, too: common practice, no source."""
_IN_ORDER, _VALUES = 1e-6, 5
"""Chance puts columns in order in fewer than so many logs; and so many values that each has at least: fewer are marks
of another maker's pipe, from some row on."""
_OVER = 200
"""So many rows on either side are looked at with a block of them."""
_RUNS_TOLD = 5
"""So many runs of rows of one kind are named one by one."""


def copied_rows(job: Job, log: Log, route: Ints, fields: Sequence[str]) -> Ints:
    """Number the runs of records whose readings are the same in more rows than chance makes: shape (records,).

    Parameters
    ----------
    job : Job
    log : Log
    route : array of int, shape (records,)
        A run ends with its route.
    fields : sequence of str
        Names of the readings, all of gaps or all of gauge depths.

    Returns
    -------
    array of int
        From 0 on; -1 where the readings are in no such run.

    Source
    ------
    Wherever a gap lies, a reading of it with standard error s is rounded to one and the same of its steps r with a
    probability of 2 F(r / 2 s) - 1 at most, F being the normal distribution (closed form), so m readings all are with
    the m-th power of that, p, at most. In n rows a run of k is to be expected n p^(k - 1) times at most. The standard
    error is the job's, or what the readings of the log leave when they are fitted, where that is less.
    """
    number = np.full(len(log), -1, dtype=np.int64)
    fields = [field for field in fields if field in log.fields]
    if len(fields) < UNKNOWNS:
        return number
    read, same = _same_as_before(log, fields)
    found = runs(same & (route[1:] == route[:-1]), 1, _FEWEST)
    around = np.stack([one[found[:, 0]] for one in read], axis=1)
    uneven = np.fmax.reduce(around, axis=1, initial=-np.inf) > np.fmin.reduce(around, axis=1, initial=np.inf)
    found, around = found[uneven], around[uneven]
    if not len(found):
        return number
    count = _count(read)
    # A row that was copied says nothing more of how readings scatter; but those that chance did not repeat scatter more
    # than all do. Of all, the longest run is left out.
    enough, (first, last) = count >= UNKNOWNS, found[np.argmax(found[:, 1] - found[:, 0])]
    own, but_one = enough & np.append(True, ~same), enough.copy()
    but_one[first + 1 : last + 1] = False
    sample, all_of_it = (np.stack([one[rows] for one in read], axis=1) for rows in map(_some, (own, but_one)))
    steps = _STEPS[job.records.readings_in]
    step = _step(sample, steps)
    sigma = min(sigma_reading(job), _scatter(fields, sample, step), _scatter(fields, all_of_it, step))
    wide = np.full(len(found), step)
    for one in steps:
        # People like quarters and tens: readings that are wholly such may be no finer.
        if np.mean(_multiples(sample, one).all(axis=1)) >= _OFTEN:
            wide = np.where(_multiples(around, one).all(axis=1), np.maximum(wide, one), wide)
    again = found[:, 1] - found[:, 0]
    alike = _alike(wide, sigma) ** np.count_nonzero(np.isfinite(around), axis=1)
    # Rounding to wide steps hides how surely the readings were taken: then what other rows repeat counts, too.
    rows = np.count_nonzero(count)
    others = (np.count_nonzero(same) - again) / np.maximum(rows - again, 1)
    alike = np.where(sigma < _COARSE * wide, np.maximum(alike, others), alike)
    found = found[rows * alike**again < BY_CHANCE]
    many = found[:, 1] - found[:, 0] + 1
    within = np.repeat(found[:, 0] - np.cumsum(many) + many, many) + np.arange(many.sum())
    number[within] = np.repeat(np.arange(len(found)), many)
    return number


def sorted_rows(log: Log, fields: Sequence[str]) -> Bools:
    """Find records in which three or more columns each stand in order, all one way: shape (records,).

    A spreadsheet that sorts columns one by one takes readings away from their joints, and leaves them nearly even all
    around. Readings all around a spigot that is pushed in less and less far would stand so, too, but for their scatter.

    Parameters
    ----------
    log : Log
    fields : sequence of str
        Names of the readings.

    Source
    ------
    Of n readings in any order, of which some are alike, n! divided by the factorials of how many these are stand in
    order by chance once (multinomial coefficient, textbook); a run may begin and end anywhere, upward or downward.
    """
    read, found = [log.number(field) for field in fields if field in log.fields], np.zeros(len(log), dtype=np.bool_)
    if len(read) < UNKNOWNS:
        return found
    many = int(np.count_nonzero(_count(read) >= UNKNOWNS))
    # A run over the end of a block is told in both.
    for one in blocks(len(log)):
        some = slice(max(one.start - _OVER, 0), one.stop + _OVER)
        found[some] |= _in_order_among([values[some] for values in read], codes(log.file[some]), many)
    return found


def _in_order_among(columns: Sequence[Floats], file: Ints, of: int) -> Bools:
    """Say which of some rows stand so, of so many that have readings in the whole log."""
    read = np.stack(columns)
    rows, found = np.flatnonzero(np.isfinite(read).sum(axis=0) >= UNKNOWNS), np.zeros(len(file), dtype=np.bool_)
    file = file[rows]
    same_file = file[1:] == file[:-1]
    for up in (1.0, -1.0):
        step = [up * np.diff(one[rows]) for one in read]
        onward = [~(one < 0.0) & same_file for one in step]
        some = runs(np.sum(onward, axis=0) >= UNKNOWNS, 1, 2 * _VALUES)
        # Most runs are of readings that are all alike.
        upto = [np.concatenate([[0], np.cumsum(one > 0.0)]) for one in step]
        several = np.sum([one[some[:, 1]] - one[some[:, 0]] >= _VALUES - 1 for one in upto], axis=0) >= UNKNOWNS
        for first, last in some[several].tolist():
            part = rows[first : last + 1]
            rarely = [_in_order(one[part]) for one, on in zip(read, onward, strict=True) if on[first:last].all()]
            if np.count_nonzero(np.array(rarely) + 2.0 * math.log(of) < math.log(_IN_ORDER)) >= UNKNOWNS:
                found[part] = True
    return found


def _in_order(values: Floats) -> float:
    """Give the logarithm of how often chance puts values in one order; 0 of too few different ones."""
    known = values[np.isfinite(values)]
    _, count = np.unique(known, return_counts=True)
    if len(count) < _VALUES:
        return 0.0
    return sum(math.lgamma(one + 1.0) for one in count.tolist()) - math.lgamma(len(known) + 1.0)


def _alike(step: Floats, sigma: float) -> Floats:
    """Give how likely a reading is rounded to one and the same step again, at most, by steps: shape (n,)."""
    known, at = np.unique(step, return_inverse=True)
    found = [math.erf(one / (math.sqrt(8.0) * max(sigma, _LEAST * one))) for one in known.tolist()]
    return np.array(found)[at]


def _same_as_before(log: Log, fields: Sequence[str]) -> tuple[list[Floats], Bools]:
    """Give readings, and which records but the first have those of the record before, three at least, in its file."""
    read = [log.number(field) for field in fields]
    some = _count(read) >= UNKNOWNS
    same = some[1:] & some[:-1]
    if len(log.files) > 1:
        file = codes(log.file)
        same &= file[1:] == file[:-1]
    for one in read:
        same &= (one[1:] == one[:-1]) | (np.isnan(one[1:]) & np.isnan(one[:-1]))
    return read, same


def _count(read: Sequence[Floats]) -> npt.NDArray[np.int8]:
    """Count the readings of each record."""
    count = np.zeros(len(read[0]), dtype=np.int8)
    for one in read:
        count += np.isfinite(one)
    return count


def _some(of: Bools) -> Ints:
    """Give some of the records that are marked, from the first on."""
    rows = np.flatnonzero(of)
    return rows[:: max(1, len(rows) // _SOME)].copy()


def _multiples(values: Floats, step: float) -> Bools:
    """Say which values are multiples of a step; NaN are."""
    off: Bools = ~(np.abs(values - step * np.round(values / step)) > _SLACK)
    return off


def _step(sample: Floats, steps: Sequence[float]) -> float:
    """Give the widest step of which most readings are multiples."""
    known = sample[np.isfinite(sample)]
    wide = [step for step in steps if np.mean(_multiples(known, step)) >= _MOSTLY]
    return max(wide, default=min(steps))


def _scatter(fields: Sequence[str], sample: Floats, step: float) -> float:
    """Give the standard error of a reading as the log shows it, without what rounding makes; of few rows, infinite.

    By what fits of more than three positions leave; else by how much readings differ from those of the row before,
    which is more, as joints differ.
    """
    fit = fitted(sample, clock_angles([int(field.rpartition("_")[2]) for field in fields]))
    free = np.maximum(fit.freedom, 1)
    # The middle one of chi-square over its degrees of freedom (Wilson and Hilferty, textbook).
    left = np.sqrt(fit.residual**2 * fit.positions / free) / (1.0 - 2.0 / (9.0 * free)) ** 1.5
    left = left[np.isfinite(left) & (fit.freedom > 0)]
    if len(left) < _ENOUGH:
        left = np.abs(np.diff(sample, axis=0)).ravel() / (math.sqrt(2.0) * 0.6745)
        left = left[np.isfinite(left)]
    if len(left) < _ENOUGH:
        return math.inf
    return math.sqrt(max(float(np.median(left)) ** 2 - step**2 / 12.0, 0.0))


def alike_notes(log: Log, copied: Sequence[Ints], in_order: Bools) -> list[str]:
    """Say where rows one below the other have the same even readings all around, go on by one step, or were sorted.

    Parameters
    ----------
    log : Log
    copied : sequence of array of int
        As `copied_rows` gives them for gaps and for gauge depths: such runs are findings.
    in_order : array of bool, shape (records,)
        As `sorted_rows` gives them for gaps.
    """
    file = codes(log.file)
    notes = []
    for fields, named, told in zip((GAP_FIELDS, GAUGE_FIELDS), NAMED, copied, strict=True):
        there = [field for field in fields if field in log.fields]
        if len(there) < UNKNOWNS:
            continue
        same = _same_as_before(log, there)[1] & (told[1:] < 0)
        said = f"the {named} are the same in all {{}}, as if they were copied down and not read"
        notes += _runs_noted(log, runs(same, 1, _COPIED), said)
    sorted_together = in_order[1:] & in_order[:-1] & (file[1:] == file[:-1])
    said = "each column of gaps stands in order in {}, as if it was sorted by itself and its readings left their joints"
    notes += _runs_noted(log, runs(sorted_together, 1, _FEWEST), said)
    return notes + _filled_notes(log, file[1:] == file[:-1])


def _filled_notes(log: Log, of_one_file: Bools) -> list[str]:
    """Say where what was read, or the day, goes on by the same step from row to row, as a series filled down does.

    Nothing is filled down from one file into another: `of_one_file` tells of each row but the first whether it is of
    the file of the row before it.
    """
    notes = []
    for field in ("inspected_on", "gasket_temperature", *GAP_FIELDS, *GAUGE_FIELDS):
        if field not in log.fields:
            continue
        if field == "inspected_on":
            value = as_floats(pc.cast(pc.cast(log.fields[field], pa.int32()), pa.float64()))
            named, most = "the dates go on by a day", _FILLED_DAYS
        else:
            value, most = log.number(field), _FILLED
            named = f"{field.replace('_', ' ')} goes on by the same step"
        step = np.round(np.diff(value), 4)
        same = (step[1:] == step[:-1]) & (step[1:] == 1.0 if field == "inspected_on" else step[1:] != 0.0)
        same &= of_one_file[1:] & of_one_file[:-1]
        said = f"{named} from row to row in all {{}}, as if a series was filled down and not read"
        notes += _runs_noted(log, runs(same, 2, most), said)
    return notes


def runs(same: Bools, more: int, fewest: int) -> Ints:
    """Give first and last row of each run of rows that hang together, shape (runs, 2).

    Parameters
    ----------
    same : array of bool, shape (rows - more,)
        Whether a row goes on as those `more` rows behind it.
    more : int
    fewest : int
        Runs of fewer rows are chance.
    """
    found: Ints = np.flatnonzero(np.diff(np.concatenate([[False], same, [False]]).astype(np.int8))).reshape(-1, 2)
    found[:, 1] += more - 1
    return found[found[:, 1] - found[:, 0] + 1 >= fewest]


def _runs_noted(log: Log, runs: Ints, said: str) -> list[str]:
    """Name the first runs of rows, each by itself, and count the others in one more note."""
    notes = [
        f"{log.file[first].as_py()} rows {log.row[first]} to {log.row[last]}: {said.format(f'{last - first + 1} rows')}"
        for first, last in runs[:_RUNS_TOLD].tolist()
    ]
    left = runs[_RUNS_TOLD:]
    if len(left):
        first, last = left[0, 0], left[-1, 1]
        many = f"{int((left[:, 1] - left[:, 0] + 1).sum()):,} rows of {len(left):,} more runs of rows"
        notes.append(
            f"{log.file[first].as_py()} row {log.row[first]} to {log.file[last].as_py()} row {log.row[last]}: "
            f"{said.format(many)}"
        )
    return notes
