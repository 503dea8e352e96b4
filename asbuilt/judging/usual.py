"""What the records of a whole log say of each: what is usual, dates in their turn, pages of joints that come again.

It is found once for all records, before a large job is judged some routes at a time.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.held import blocks, give_back, held, in_blocks
from asbuilt.inputs.header_units import unit_said
from asbuilt.judging import readings
from asbuilt.judging.copied import copied_rows, sorted_rows
from asbuilt.judging.dates import dates_out_of_turn
from asbuilt.judging.pasted import Pasted, pasted_blocks
from asbuilt.judging.units_mixed import OFF_A_RULE, Mixed, in_another_unit, in_tenths, off_the_rule
from asbuilt.keys.fields import GAP_FIELDS, GAUGE_FIELDS
from asbuilt.placing.doubled import repeats_elsewhere

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.placing.joints import Joints
    from asbuilt.placing.records import Records

_SOME, _MANY = 10_000, 1_000_000
"""Joints, at most, by which it is told whether readings are fine, and what is usual."""
_RUN = 3
"""So many records one below the other that repeat joints are a page of the log, and not one joint looked at again."""


@dataclass(frozen=True)
class Usual:
    """What most joints of a log say, NaN where too few say anything; and what its other rows say of a record."""

    laid_length: float
    temperature: float
    gaps: float
    """Mean gap, as `mean_reading` takes it."""
    gauges: float
    single_gap: float
    single_gauge: float
    """The usual single reading, wherever around the joint."""
    fitted_gap: float
    """Mean gap, as it is fitted."""
    fine_gaps: bool
    """True where gaps are small, and many are written more finely than a rule in millimetres is read."""
    off_the_rule: bool
    """True where many gaps are decimals at which no rule in inches has a mark, and nothing names their unit."""
    in_tenths: bool
    """True where gaps are in tenths throughout, as centimetres are on a tape, and nothing names their unit."""
    out_of_turn: Ints
    """Records whose date stands out of turn."""
    why: tuple[str, ...]
    """What would put each of them in turn."""
    run: Ints
    """How many rows that repeat joints, one below the other, each record stands among: shape (records,)."""
    mostly_passed: Bools
    """True where these are a page of joints that had mostly passed, shape (records,)."""

    copied: tuple[Ints, Ints]
    """Runs of records whose gap readings, or gauge depths, were copied down: as `copied_rows` numbers them."""

    in_order: Bools
    """Records in which each column of gaps stands in order, as `sorted_rows` tells: shape (records,)."""

    pasted: Pasted
    """Blocks of records whose gap readings stand twice, in the same order."""

    elsewhere: Ints
    """The record that each record of a page that stands twice repeats at another station; -1 for others."""

    mixed: tuple[Mixed, Mixed]
    """Records whose gap readings, or gauge depths, are in another unit than the others."""

    def of_records(self, rows: Ints) -> Usual:
        """Give what is said of some records, in ascending order."""
        kept = np.flatnonzero(np.isin(self.out_of_turn, rows))
        # Both records are of one route.
        elsewhere = self.elsewhere[rows]
        return replace(
            self,
            out_of_turn=np.searchsorted(rows, self.out_of_turn[kept]),
            why=tuple(self.why[at] for at in kept.tolist()),
            run=self.run[rows],
            mostly_passed=self.mostly_passed[rows],
            elsewhere=np.where(elsewhere < 0, -1, np.searchsorted(rows, elsewhere)),
            in_order=self.in_order[rows],
            copied=(self.copied[0][rows], self.copied[1][rows]),
            pasted=self.pasted._replace(block=self.pasted.block[rows]),
            mixed=(
                self.mixed[0]._replace(record=self.mixed[0].record[rows]),
                self.mixed[1]._replace(record=self.mixed[1].record[rows]),
            ),
        )


def usual_of(job: Job, log: Log, joints: Joints, records: Records) -> Usual:
    """Find what is usual in a log.

    Parameters
    ----------
    job : Job
    log : Log
    joints : Joints
    records : Records
    """
    # Of many joints, some throughout the log tell what is usual.
    some = joints.record[:: -(-len(joints) // _MANY) or 1]
    laid, warm = (log.number(field)[some] for field in ("laid_length", "gasket_temperature"))
    dated = "inspected_on" in log.fields
    out_of_turn, why = dates_out_of_turn(log) if dated else (np.zeros(0, dtype=np.int64), [])
    give_back(len(log))
    run, mostly_passed = held(_pages_repeated(log, records.joint, len(joints)), len(log))
    gap, gauge = (_mean_readings(log, fields) for fields in (GAP_FIELDS, GAUGE_FIELDS))
    gaps, gauges = in_another_unit(job, log, GAP_FIELDS, gap), in_another_unit(job, log, GAUGE_FIELDS, gauge)
    # What is in another unit is not usual.
    read, measured = (some[~one.record[some]] for one in (gaps, gauges))
    usual_gap, usual_gauge = readings.usual_reading(gap[read]), readings.usual_reading(gauge[measured])
    del gap, gauge
    copied_gaps = held(copied_rows(job, log, records.route, GAP_FIELDS), len(log))
    copied_gauges = held(copied_rows(job, log, records.route, GAUGE_FIELDS), len(log))
    elsewhere = held(repeats_elsewhere(log, records.route), len(log))
    fitted_gap = readings.usual_reading(readings.fitted_means(log, read))
    unit_unsaid = np.isfinite(fitted_gap) and not _unit_named(log)
    return Usual(
        laid_length=_middle(laid, laid > 0),
        temperature=_middle(warm, np.isfinite(warm)),
        gaps=usual_gap,
        gauges=usual_gauge,
        single_gap=readings.usual_reading(_single_readings(log, GAP_FIELDS, read)),
        single_gauge=readings.usual_reading(_single_readings(log, GAUGE_FIELDS, measured)),
        fitted_gap=fitted_gap,
        fine_gaps=fitted_gap < readings.SMALL_AS_CM and _fine(log, read),
        off_the_rule=unit_unsaid and off_the_rule(_some_gaps(log, read)),
        in_tenths=unit_unsaid and in_tenths(_some_gaps(log, read)),
        out_of_turn=out_of_turn,
        why=tuple(why),
        run=run,
        mostly_passed=mostly_passed,
        elsewhere=elsewhere,
        pasted=pasted_blocks(log, records.route, GAP_FIELDS, copied_gaps >= 0, elsewhere),
        copied=(copied_gaps, copied_gauges),
        in_order=sorted_rows(log, GAP_FIELDS),
        mixed=(gaps, gauges),
    )


def _unit_named(log: Log) -> bool:
    """Say whether the names of all columns of gaps say their unit; another than they are read in is refused."""
    named = [unit_said(column, field) is not None for _, field, column in log.matches if field in GAP_FIELDS]
    return bool(named) and all(named)


def _fine(log: Log, record: Ints) -> bool:
    """Say whether more than a few of the gaps, of joints throughout the log, are neither whole nor half numbers."""
    halves = 2.0 * _some_gaps(log, record)
    return bool(np.mean(np.abs(halves - np.round(halves)) > 1e-9) > OFF_A_RULE)


def _some_gaps(log: Log, record: Ints) -> Floats:
    """Give the gaps of joints throughout the log."""
    record = record[:: max(1, len(record) // _SOME)]
    gaps: Floats = np.concatenate([log.number(field)[record] for field in GAP_FIELDS if field in log.fields])
    known: Floats = gaps[np.isfinite(gaps)]
    return known


def _mean_readings(log: Log, fields: tuple[str, ...]) -> Floats:
    """Give the mean of what was read around the joint of each record."""

    def mean(some: slice) -> Floats:
        part = log.of_records(np.arange(some.start, some.stop))
        return mean_reading(part, fields, np.arange(len(part)))

    return in_blocks(mean, len(log))


def mean_reading(log: Log, fields: tuple[str, ...], record: Ints) -> Floats:
    """Give the mean of what was read around each joint, NaN where nothing was: shape (joints,)."""
    read = [log.number(field)[record] for field in fields if field in log.fields]
    if not read:
        return np.full(len(record), np.nan)
    count, total = np.zeros(len(record)), np.zeros(len(record))
    for one in read:
        count += np.isfinite(one)
        total += np.where(np.isnan(one), 0.0, one)
    return np.where(count > 0, total / np.maximum(count, 1), np.nan)


def _single_readings(log: Log, fields: tuple[str, ...], record: Ints) -> Floats:
    return np.concatenate([np.zeros(0), *(log.number(field)[record] for field in fields if field in log.fields)])


def _middle(values: Floats, told: Bools) -> float:
    return float(np.nanmedian(values)) if np.count_nonzero(told) >= readings.ENOUGH else np.nan


def _pages_repeated(log: Log, joint: Ints, joints: int) -> tuple[Ints, Bools]:
    """Find rows one below the other that repeat joints, most of which had passed before: as for `Usual`."""
    many = len(log)
    first = np.full(joints, many, dtype=np.int64)
    placed = [np.flatnonzero(joint[some] >= 0) + some.start for some in blocks(many)]
    # Of those of one joint the one that is given last counts.
    for rows in reversed(placed):
        first[joint[rows][::-1]] = rows[::-1]
    again = np.concatenate([np.zeros(0, dtype=np.int64), *(rows[rows > first[joint[rows]]] for rows in placed)])
    del placed
    page = np.cumsum(np.diff(again, prepend=-2) != 1) - 1
    length = np.bincount(page, minlength=1)
    had_failed = log.failed[first[joint[again]]]
    mostly = np.bincount(page, had_failed, minlength=1) <= length / 2.0
    run, mostly_passed = np.zeros(many, dtype=np.int64), np.zeros(many, dtype=np.bool_)
    run[again] = length[page]
    mostly_passed[again] = (mostly & (length >= _RUN))[page]
    return run, mostly_passed
