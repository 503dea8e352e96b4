"""Pressure tests of laid main: the make-up water that a length may take, and which lengths passed.

The testing allowance grows with length, nominal size and the root of the pressure; a tested length of several
sizes may take the sum of theirs.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import numpy.typing as npt
import pyarrow as pa

from asbuilt import units
from asbuilt.arrays import Floats, Ints, empty_ints
from asbuilt.inputs.log import Log, station_form
from asbuilt.judging import stretches

if TYPE_CHECKING:
    from asbuilt.job import Job
    from asbuilt.keys.asked import PressureTest
    from asbuilt.line.stationed import StationedLine
    from asbuilt.placing.joints import Joints


DIVISOR_US = 148_000.0
"""Divisor of the testing allowance in feet, inches, psi and gallons an hour. Source: AWWA C600, from memory."""
LITRES_IN_GALLON = 3.785411784
"""US gallon of 231 cubic inches, exactly."""
INCH_M, POUND_KG, GRAVITY = 0.0254, 0.45359237, 9.80665
KPA_IN_PSI = POUND_KG * GRAVITY / INCH_M**2 / 1000.0
"""From the exact inch, pound and standard gravity."""
_KPA_IN = {"psi": KPA_IN_PSI, "kPa": 1.0, "bar": 100.0}
_HIGH_KPA, _LOW_KPA = 525.0 * KPA_IN_PSI, 40.0 * KPA_IN_PSI
"""Mains are tested between these: the former is half as much again as the highest class of AWWA C151 (350 psi, from
memory), the latter common practice, no source."""
_LONG_H = 48.0
"""Longer tests are rare; common practice, no source."""
_TWICE = 2.0
"""Nobody tests at more than so many times what is required, nor for longer; common practice, no source."""


def allowance_gal_h(length_ft: Floats | float, size_in: Floats | float, pressure_psi: Floats | float) -> Floats:
    """Give the testing allowance in US gallons an hour: L = S D sqrt(P) / 148,000.

    Parameters
    ----------
    length_ft : S, the length tested
    size_in : D, the nominal diameter
    pressure_psi : P, the average test pressure (gauge)

    Returns
    -------
    array or number
        Make-up water allowed, US gallons an hour.

    Source
    ------
    AWWA C600, hydrostatic testing of ductile-iron mains (from memory): at 150 psi a thousand feet may take
    0.50 gal/h at 6 in and 0.99 gal/h at 12 in.

    Examples
    --------
    >>> [round(float(allowance_gal_h(1000.0, size, 150.0)), 2) for size in (6.0, 12.0)]
    [0.5, 0.99]
    """
    return np.asarray(length_ft * size_in * np.sqrt(pressure_psi) / DIVISOR_US)


def allowance_l_h(length_m: Floats | float, size_mm: Floats | float, pressure_kpa: Floats | float) -> Floats:
    """Give the testing allowance in litres an hour: the same rule in metres, millimetres and kilopascals.

    Parameters
    ----------
    length_m : S, the length tested
    size_mm : D, the nominal diameter
    pressure_kpa : P, the average test pressure (gauge)

    Returns
    -------
    array or number
        Make-up water allowed, litres an hour.

    Source
    ------
    The divisor follows from that of the US form by exact unit factors; AWWA C600 prints 794,797 (from memory).

    Examples
    --------
    >>> round(1 / float(allowance_l_h(1.0, 1.0, 1.0)), 1)
    794798.0
    """
    length_ft = length_m * units.factor("m", "ft")
    size_in = size_mm / (1000.0 * INCH_M)
    return allowance_gal_h(length_ft, size_in, pressure_kpa / KPA_IN_PSI) * LITRES_IN_GALLON


class Doubt(NamedTuple):
    """A pressure or duration at which hardly a main is tested."""

    message: str
    value: float
    limit: float
    unit: str
    share: float
    """Of the allowance, were it written in the unit that it looks like; NaN where it looks like none."""


class Judgement(NamedTuple):
    """What became of one test."""

    result: str
    """passed, failed, below-required, either of them retested, or not-judged."""
    allowance_gal: float
    """Water that the lengths of known size may take during the test, US gallons."""
    sizes: str
    """Each nominal size, and the length of it, in words."""
    message: str
    doubts: tuple[Doubt, ...] = ()
    """What of the record is as if written in another unit."""
    retested: bool = False
    """Whether later tests passed its whole length."""


@dataclass(frozen=True)
class PressureTests:
    """The job's tests in their order, and then the lengths of its routes under no test."""

    lengths: stretches.Stretches
    judged: tuple[Judgement, ...]
    """Of the first rows of `lengths`; the others are under no test."""
    untested: stretches.Stretches


def judge_tests(job: Job, line: StationedLine, log: Log, joints: Joints) -> PressureTests:
    """Hold the make-up water of each of the job's tests against its allowance.

    Parameters
    ----------
    job : Job
    line : StationedLine
    log : Log
    joints : Joints

    Returns
    -------
    PressureTests
        A test held at less pressure, or for less time, than the job requires passes nothing. One that failed or was
        held so, and whose whole length later tests passed, is told as retested. The length tested is the
        horizontal one along the route, on the ground, so that grades never add to the allowance. Where a size is
        unknown its length adds nothing to the allowance: the test may still pass, but cannot fail. Nor does a test pass
        by a pressure or duration that looks as if it was written in another unit, if it would fail by that.

    Raises
    ------
    JobFileError
        When a test names an unknown route or a station that is not on it.
    """
    form = station_form(job, log)
    named = [
        stretches.Named(test.route, test.start, test.end, f"pressure_tests (no. {number})")
        for number, test in enumerate(job.pressure_tests, start=1)
    ]
    lengths = stretches.resolve(line, named, form)
    size = log.number("size")[joints.record]
    judged = [
        _judge(job, test, *_lengths_by_size(job, lengths, at, joints, size), line.scale)
        for at, test in enumerate(job.pressure_tests)
    ]
    asked = np.unique(np.concatenate([joints.route, lengths.route])) if named else empty_ints()
    untested = stretches.remaining(line, lengths, asked, form)
    return PressureTests(lengths, _with_retests(lengths, judged), untested)


def laid_after(job: Job, tests: PressureTests, joints: Joints, inspected_on: npt.NDArray[np.datetime64]) -> Ints:
    """Find joints that were inspected after the last passed test of their length: they were under no test.

    Parameters
    ----------
    job : Job
    tests : PressureTests
    joints : Joints
    inspected_on : array of datetime64, shape (joints,)
        NaT where it is unknown.

    Returns
    -------
    array of int, shape (joints,)
        Which of the job's tests it was, or -1: also where a passed test of the joint's length has no date.
    """
    last = np.full(len(joints), -1, dtype=np.int64)
    tested = np.full(len(joints), np.datetime64("NaT", "D"))
    undated = np.zeros(len(joints), dtype=np.bool_)
    lengths = tests.lengths
    for at, (test, judgement) in enumerate(zip(job.pressure_tests, tests.judged, strict=True)):
        if judgement.result != "passed":
            continue
        under = joints.route == lengths.route[at]
        under &= (joints.distance >= lengths.start[at]) & (joints.distance <= lengths.end[at])
        if test.tested_on is None:
            undated |= under
            continue
        later = under & ~(tested > np.datetime64(test.tested_on))
        last[later], tested[later] = at, np.datetime64(test.tested_on)
    return np.where((inspected_on > tested) & ~undated, last, -1)


def _lengths_by_size(
    job: Job, lengths: stretches.Stretches, at: int, joints: Joints, size: Floats
) -> tuple[Floats, Floats]:
    """Give the sizes within a tested length and how much there is of each, coordinate units; NaN if unknown."""
    route = lengths.route[at]
    low, high = np.searchsorted(joints.route, [route, route + 1])
    if low == high:
        return np.array([np.nan]), np.array([lengths.end[at] - lengths.start[at]])
    along = joints.distance[low:high]
    # Each joint speaks for the pipe ahead or back of it; the outermost also for what lies beyond.
    edges = np.concatenate([[-np.inf], along[:-1] if job.records.pipe == "back" else along[1:], [np.inf]])
    within = np.minimum(edges[1:], lengths.end[at]) - np.maximum(edges[:-1], lengths.start[at])
    within = np.clip(within, 0.0, None)
    sizes, which = np.unique(size[low:high], return_inverse=True)
    total = np.bincount(which, within).astype(np.float64)
    return sizes[total > 0], total[total > 0]


def _judge(job: Job, test: PressureTest, sizes: Floats, amounts: Floats, scale: float) -> Judgement:
    symbol, size_unit = units.SYMBOLS[job.records.station_unit], job.records.sizes_in
    amounts = amounts / scale
    known = np.isfinite(sizes)
    words = [
        f"{amount:.2f} {symbol} of {f'{size:g} {size_unit}' if is_known else 'unknown size'}"
        for size, amount, is_known in zip(sizes, amounts, known, strict=True)
    ]
    length_m = amounts[known] * float(units.METRES[job.records.station_unit])
    if size_unit == "mm":
        rate = allowance_l_h(length_m, sizes[known], pressure_kpa(test)) / LITRES_IN_GALLON
    else:
        rate = allowance_gal_h(length_m * units.factor("m", "ft"), sizes[known], pressure_kpa(test) / KPA_IN_PSI)
    allowance = float(np.sum(rate)) * test.duration_h
    result, message = _result(test, allowance, unknown=not known.all())
    lacking = below_required(job, test)
    if lacking:
        # Water that was too much at less pressure, or in less time, is too much all the more.
        result = "failed" if result == "failed" else "below-required"
        message = f"{message}; {' and '.join(lacking)}"
    doubts = tuple(_doubts(job, test))
    least = allowance * float(np.prod([one.share for one in doubts]))
    if doubts and result == "passed" and not (makeup_gal(test) or 0.0) <= least * (1.0 + 1e-9):
        result, message = "not-judged", f"{message}; but {' and '.join(one.message for one in doubts)}"
    return Judgement(result, allowance, ", ".join(words), message, doubts)


def _doubts(job: Job, test: PressureTest) -> list[Doubt]:
    """Find a pressure or a duration that looks as if it was written in another unit."""
    (unit, number), held = _pressure(test), pressure_kpa(test)
    required, hours = required_kpa(job), job.limits.test_hours
    # What the job requires is no doubt; less than that is a finding of its own.
    low, high = (_LOW_KPA, _HIGH_KPA) if required is None else (0.0, _TWICE * required)
    doubts = []
    if not low <= held <= high:
        likely = (max(required or 0.0, _LOW_KPA), high)
        others = [one for one, size in _KPA_IN.items() if one != unit and likely[0] <= number * size <= likely[1]]
        is_high = held > high
        named = f", as if it was written in {others[0]}" if others else ""
        told = f"{number:g} {unit} is {'more' if is_high else 'less'} than mains are tested at{named}"
        share = float(np.sqrt(_KPA_IN[others[0]] / _KPA_IN[unit])) if others else np.nan
        doubts.append(Doubt(told, number, (high if is_high else low) / _KPA_IN[unit], unit, share))
    longest = _LONG_H if hours is None else max(_LONG_H, _TWICE * hours)
    if test.duration_h > longest:
        told = f"{test.duration_h:g} h is longer than mains are tested, as if it was written in minutes"
        doubts.append(Doubt(told, test.duration_h, longest, "h", 1.0 / 60.0))
    return doubts


def _result(test: PressureTest, allowance: float, *, unknown: bool) -> tuple[str, str]:
    measured = makeup_gal(test)
    if measured is None:
        return "not-judged", "no make-up water is given: add makeup_gal or makeup_l"
    in_litres = test.makeup_l is not None
    factor, unit = (LITRES_IN_GALLON, "L") if in_litres else (1.0, "gal")
    taken = f"took {measured * factor:.2f} {unit} of make-up water in {test.duration_h:g} h"
    limit = f"the allowance of {allowance * factor:.2f} {unit}"
    # A billionth, so that water measured at just the allowance passes in either unit.
    if measured <= allowance * (1.0 + 1e-9):
        return "passed", f"{taken}, within {limit}"
    if unknown:
        return "not-judged", f"{taken}, over {limit} for the lengths of known size; give the missing sizes in the log"
    return "failed", f"{taken}, over {limit}"


def pressure_kpa(test: PressureTest) -> float:
    """Give a test's average pressure in kilopascals."""
    unit, number = _pressure(test)
    return number * _KPA_IN[unit]


def _pressure(test: PressureTest) -> tuple[str, float]:
    """Give a test's average pressure as the job has it, with its unit; the job is read only with one of them."""
    given = {"psi": test.pressure_psi, "kPa": test.pressure_kpa, "bar": test.pressure_bar}
    return next((unit, number) for unit, number in given.items() if number is not None)


def makeup_gal(test: PressureTest) -> float | None:
    """Give the make-up water that a test took in US gallons; None where it was not given."""
    if test.makeup_l is not None:
        return test.makeup_l / LITRES_IN_GALLON
    return test.makeup_gal


def below_required(job: Job, test: PressureTest) -> list[str]:
    """Say in what a test was below what the job requires; empty where it was not, or the job does not say.

    Examples
    --------
    >>> from asbuilt import Job
    >>> job = Job.from_mapping({"name": "Quarry Lane", "centerline": {"path": "a.gpkg"},
    ...     "records": {"path": "b.csv", "station_unit": "us-ft", "laying_length": 20},
    ...     "limits": {"test_pressure_psi": 150, "test_hours": 2},
    ...     "pressure_tests": [{"from": "0+00", "to": "4+00", "pressure_psi": 120, "duration_h": 2}]})
    >>> below_required(job, job.pressure_tests[0])
    ['held at 120 psi, where the job requires 150 psi']
    """
    least, hours = required_kpa(job), job.limits.test_hours
    told = []
    if least is not None and pressure_kpa(test) < least * (1.0 - 1e-9):
        told.append(f"held at {in_psi_or_kpa(job, pressure_kpa(test))}, where the job requires "
                    f"{in_psi_or_kpa(job, least)}")  # fmt: skip
    if hours is not None and test.duration_h < hours * (1.0 - 1e-9):
        told.append(f"held for {test.duration_h:g} h, where the job requires {hours:g} h")
    return told


def required_kpa(job: Job) -> float | None:
    """Give the least test pressure that the job requires, in kilopascals; None where it does not say."""
    wanted = job.limits
    if wanted.test_pressure_psi is not None:
        return wanted.test_pressure_psi * KPA_IN_PSI
    if wanted.test_pressure_bar is not None:
        return wanted.test_pressure_bar * _KPA_IN["bar"]
    return wanted.test_pressure_kpa


def pressure_unit(job: Job) -> tuple[str, float]:
    """Give the unit in which pressures are told, and its kilopascals."""
    return ("kPa", 1.0) if job.records.station_unit == "m" else ("psi", KPA_IN_PSI)


def in_psi_or_kpa(job: Job, kpa: float) -> str:
    symbol, size = pressure_unit(job)
    return f"{kpa / size:.4g} {symbol}"


def _with_retests(lengths: stretches.Stretches, judged: Sequence[Judgement]) -> tuple[Judgement, ...]:
    """Mark tests that failed, or were held below what is required, and of which later ones passed the whole length."""
    passed = np.array([one.result == "passed" for one in judged], dtype=np.bool_)
    after = []
    for at, one in enumerate(judged):
        again = np.flatnonzero(passed & (np.arange(len(judged)) > at) & (lengths.route == lengths.route[at]))
        reached = lengths.start[at]
        for later in again[np.argsort(lengths.start[again], kind="stable")]:
            if lengths.start[later] <= reached + 1e-6:
                reached = max(reached, lengths.end[later])
        retested = bool(reached >= lengths.end[at] - 1e-6)
        after.append(one._replace(result=_RETESTED.get(one.result, one.result) if retested else one.result,
                                  retested=retested))  # fmt: skip
    return tuple(after)


_RETESTED = {"failed": "failed-retested", "below-required": "below-retested"}


def pressure_table(job: Job, line: StationedLine, tests: PressureTests) -> pa.Table:
    """List the tests in their order, and then the lengths under no test.

    Parameters
    ----------
    job : Job
    line : StationedLine
    tests : PressureTests

    Returns
    -------
    pyarrow table
        Columns as described in `asbuilt.schema`, layer pressure_tests.
    """
    scale = line.scale
    metric = job.records.station_unit == "m"
    water = LITRES_IN_GALLON if metric else 1.0
    given, judged, none = job.pressure_tests, tests.judged, [None] * len(tests.untested)
    both = [tests.lengths, tests.untested]
    measured = [makeup_gal(test) for test in given]
    symbol, size = pressure_unit(job)
    pressures = [pressure_kpa(test) / size for test in given]
    numbers = pa.float64()
    return pa.table(
        {
            "route": pa.array([line.names.names[at] for one in both for at in one.route], pa.string()),
            "from_station": pa.concat_arrays([one.from_station for one in both]),
            "to_station": pa.concat_arrays([one.to_station for one in both]),
            "from_distance": np.concatenate([one.start for one in both]),
            "to_distance": np.concatenate([one.end for one in both]),
            "length": np.concatenate([(one.end - one.start) / scale for one in both]),
            "result": pa.array([*(one.result for one in judged), *["untested"] * len(none)], pa.string()),
            "sizes": pa.array([*(one.sizes for one in judged), *none], pa.string()),
            "pressure": pa.array([*pressures, *none], numbers),
            "pressure_unit": pa.array([*[symbol] * len(given), *none], pa.string()),
            "duration_h": pa.array([*(test.duration_h for test in given), *none], numbers),
            "allowance": pa.array([*(one.allowance_gal * water for one in judged), *none], numbers),
            "makeup": pa.array([*(None if one is None else one * water for one in measured), *none], numbers),
            "water_unit": pa.array([*["L" if metric else "gal"] * len(given), *none], pa.string()),
            "tested_on": pa.array([*(test.tested_on for test in given), *none], pa.date32()),
            "message": pa.array([*(one.message for one in judged), *["under no test"] * len(none)], pa.string()),
        }
    )
