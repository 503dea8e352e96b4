"""Readings at the joint: how far in the spigot is and what the joint deflects, from gaps read around the pipe.

The gap between bell face and insertion mark follows mean + OD/2 tan(deflection) cos(clock - widest) around the pipe,
since the mark lies in a plane square to the spigot; it is fitted to the gaps of all joints at once.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints, appearing, most_frequent
from asbuilt.inputs.diameters import Diameters, outside_diameters
from asbuilt.inputs.pipe import ASK_SERIES, not_iron, pipe_of
from asbuilt.judging.bounds import Measured, sigma_of_length
from asbuilt.keys.fields import CLOCK_HOURS, GAP_FIELDS, GAUGE_FIELDS
from asbuilt.waiting import ROWS

if TYPE_CHECKING:
    from collections import Counter
    from collections.abc import Collection, Sequence

    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.placing.joints import Joints


UNKNOWNS = 3
"""A mean, and a tilt to the right and upward: as many positions are needed at least."""
EVEN = 1e-9
"""Unevenness below this part of the widest reading is rounding: the joint is straight."""
CHI_SQUARE_999 = (10.828, 13.816, 16.266, 18.467, 20.515, 22.458, 24.322, 26.124, 27.877)
"""Chi-square that one joint in 1,000 passes by chance, for 1 to 9 degrees of freedom. Source: any table of it."""

FEW, NO_DIAMETER = "fewer than three positions", "unknown outside diameter"
NO_SERIES = "unknown outside diameter of pipe that is not of ductile iron"
"""Any three positions of the clock determine a fit, though neighbouring ones poorly: its standard error says so."""
OTHER_UNIT, COPIED = "as if written in another unit", "as if copied down from another row"
IN_FEET, IN_CENTIMETRES = "as if written in feet", "as if written in centimetres"
ROW_OFF, SORTED = "as if rows off their joints", "as if each column was sorted by itself"
OF_OTHERS = "as if of other joints by the turns of the survey"
CENTIMETRES_SHOWN = "as if in centimetres by the turns of the survey"
IN_ANOTHER = (OTHER_UNIT, IN_FEET, IN_CENTIMETRES, CENTIMETRES_SHOWN)
"""Why readings give no deflection before their unit is said."""
IN_OTHER_UNIT = (10.0, 63.0)
"""A mean reading so many times the usual one is in millimetres among inches: 25.4 times, and readings differ."""
LARGE_IN, SMALL_MM = 10.0, 6.0
"""Insertion marks lie nearer to the bell than the one, inches, and farther than the other, mm; no source."""
CM_IN = 2.54
SMALL_IN, SMALL_AS_CM = 0.45, 12.0
"""Inches, under which a usual gap may be one in feet, 5.4 in; and mm, under which it may be in cm; no source."""
ENOUGH = 8
"""Joints that must have readings, for what is usual to be known."""


class Fit(NamedTuple):
    """Gaps fitted around each joint: shapes (joints,), lengths in the unit of the readings."""

    mean: Floats
    """Gap averaged around the pipe; NaN where the positions do not determine it."""
    amplitude: Floats
    """How much the widest gap is over the mean; NaN where the positions do not determine it."""
    widest: Floats
    """Where the gap is widest, radians clockwise from 12 o'clock looking ahead; NaN where the gaps are even."""
    residual: Floats
    """Root mean square of what the fit leaves of the readings; NaN where it must leave nothing, with 3 readings."""
    positions: Ints
    """How many positions were read."""
    mean_factor: Floats
    """Standard error of the mean in standard errors of one reading; as for the two below."""
    amplitude_factor: Floats
    """Of the amplitude."""
    across_factor: Floats
    """Of the tilt square to the widest gap, which only ever makes the amplitude look larger than it is."""
    tilt_factors: Floats
    """Variances of the tilt to the right and upward, and their covariance, as parts of one reading's; (3, joints)."""

    @property
    def freedom(self) -> Ints:
        """Degrees of freedom: how many readings there are beyond those that the fit needs."""
        return np.maximum(self.positions - UNKNOWNS, 0)


class Readings(NamedTuple):
    """What the readings say of each joint: shapes (joints,)."""

    fit: Fit
    measured_deg: Floats
    """Deflection; NaN where it cannot be computed."""
    measured_direction_deg: Floats
    """Where the pipe ahead turns to: degrees clockwise from 12 o'clock, looking ahead, in [0, 360)."""
    sigma_measured_deg: Floats
    """Standard error of the deflection."""
    across_measured_deg: Floats
    """Standard error square to the direction, which only ever makes a deflection look larger than it is."""
    vector: Measured
    """The deflection to the right and upward, looking ahead, with its errors; radians."""
    gauge_spread: Floats
    """Deepest less shallowest feeler-gauge depth; NaN where fewer than two were read."""
    reason: pa.Array
    """Why gaps that were read give no deflection; null where they do, and where none was read."""
    diameters: Diameters


def read_readings(
    job: Job, log: Log, joints: Joints, usual_gap: float, fine_gaps: bool, off_the_rule: bool, in_tenths: bool,
    copied: Bools, mixed: Bools,
) -> Readings:  # fmt: skip
    """Fit the readings of each joint's present record.

    Parameters
    ----------
    job : Job
    log : Log
    joints : Joints
    usual_gap : float
        As for `in_other_unit`.
    fine_gaps : bool
        As for `unit_slipped`.
    off_the_rule : bool
        As for `as_if_in_feet`.
    in_tenths : bool
        As for `as_if_in_centimetres`.
    copied : array of bool, shape (joints,)
        Where the gaps were copied down from other rows: they tell nothing of the joint.
    mixed : array of bool, shape (joints,)
        Where they are in another unit than those of other rows.

    Returns
    -------
    Readings
    """
    record = joints.record
    diameters = outside_diameters(
        log.number("size")[record], job.records.sizes_in, _own_diameters(log, record), pipe_of(log.fields, record)
    )
    gaps = fitted_gaps(log, record)
    depths = _columns(log, [field for field in GAUGE_FIELDS if field in log.fields], record)
    outside = diameters.outside_m * units.factor("m", job.records.readings_in)
    # A gap in millimetres among inches, or the other way round, says nothing of the deflection.
    other_unit = mixed | in_other_unit(gaps.mean, usual_gap, job.records.readings_in)
    other_unit |= np.isfinite(gaps.mean) & unit_slipped(job, usual_gap, fine_gaps)
    in_feet = np.isfinite(gaps.mean) & as_if_in_feet(job, usual_gap, off_the_rule) & ~other_unit
    in_cm = np.isfinite(gaps.mean) & as_if_in_centimetres(job, usual_gap, off_the_rule, in_tenths)
    in_cm &= ~other_unit & ~in_feet
    measured, direction, sigma, across = deflections(
        gaps, np.where(other_unit | in_feet | in_cm | copied, np.nan, outside), sigma_reading(job)
    )
    unknown = np.isnan(outside)
    reasons = [
        gaps.positions == 0,
        gaps.positions < UNKNOWNS,
        unknown & not_iron(log.fields, record),
        unknown,
        other_unit,
        in_feet,
        in_cm,
        copied,
    ]
    which = np.select(reasons, range(len(reasons)), default=len(reasons))
    named = [None, FEW, NO_SERIES, NO_DIAMETER, OTHER_UNIT, IN_FEET, IN_CENTIMETRES, COPIED, None]
    reason = pa.array(named).take(pa.array(which))
    vector = _as_vector(gaps, measured, direction, outside, sigma_reading(job))
    return Readings(gaps, measured, direction, sigma, across, vector, _spread(depths), reason, diameters)


def without(measured: Readings, where: Bools, reason: str) -> Readings:
    """Take no deflection from the readings of some joints, for a reason."""
    off = pa.array(where & np.isfinite(measured.measured_deg))
    vector = measured.vector
    return measured._replace(
        measured_deg=np.where(where, np.nan, measured.measured_deg),
        measured_direction_deg=np.where(where, np.nan, measured.measured_direction_deg),
        sigma_measured_deg=np.where(where, np.nan, measured.sigma_measured_deg),
        across_measured_deg=np.where(where, np.nan, measured.across_measured_deg),
        vector=replace(vector, one=np.where(where, np.nan, vector.one), other=np.where(where, np.nan, vector.other)),
        reason=pc.if_else(off, reason, measured.reason),
    )


def fitted_gaps(log: Log, record: Ints) -> Fit:
    """Fit the gaps of some records of a log."""
    hours = [hour for hour, field in zip(CLOCK_HOURS, GAP_FIELDS, strict=True) if field in log.fields]
    return fitted(_columns(log, [f"gap_{hour}" for hour in hours], record), clock_angles(hours))


def fitted_means(log: Log, record: Ints) -> Floats:
    """Give the mean of the gaps of some records, as it is fitted, without holding all else that is fitted to them."""
    found = np.empty(len(record))
    for start in range(0, len(record), ROWS):
        found[start : start + ROWS] = fitted_gaps(log, record[start : start + ROWS]).mean
    return found


def usual_reading(mean: Floats) -> float:
    """Give the usual one of all mean readings of a job; NaN where too few joints have any."""
    known = mean[np.isfinite(mean)]
    return float(np.median(known, overwrite_input=True)) if len(known) >= ENOUGH else np.nan


def in_other_unit(mean: Floats, usual: float, unit: str) -> Bools:
    """Tell which mean readings are as far from the usual one as the other of inches and millimetres would put them.

    Parameters
    ----------
    mean : array, shape (joints,)
        NaN where nothing was read.
    usual : float
        As `usual_reading` gives it for all joints of the job.
    unit : of the readings, "in" or "mm"

    Examples
    --------
    >>> in_other_unit(np.array([0.5, 12.7, 1.1, np.nan]), 0.5, "in").tolist()
    [False, True, False, False]
    """
    if not usual > 0.0:
        return np.zeros(len(mean), dtype=np.bool_)
    large, small = (mean, usual) if unit == "in" else (usual, mean)
    times = np.divide(large, small, out=np.zeros(len(mean)), where=mean > 0.0)
    found: Bools = (times >= IN_OTHER_UNIT[0]) & (times <= IN_OTHER_UNIT[1])
    return found


def unit_slipped(job: Job, usual_gap: float, fine_gaps: bool) -> bool:
    """Tell whether all gaps are as if written in the other of inches and millimetres than the job reads them in.

    A mark that lies ten inches from the bell is none, and nobody reads tenths of a millimetre on a rule. A band that
    the usual gap lies in says that the unit is meant.

    Parameters
    ----------
    job : Job
    usual_gap : float
        As `usual_reading` gives it for all joints of the job.
    fine_gaps : bool
        Whether gaps are written more finely than a rule in millimetres is read.
    """
    if _in_band(job, usual_gap):
        return False
    if job.records.readings_in == "in":
        return usual_gap > LARGE_IN
    return usual_gap < (SMALL_AS_CM if job.records.reading_unit is None else SMALL_MM) and fine_gaps


def as_if_in_feet(job: Job, usual_gap: float, off_the_rule: bool) -> bool:
    """Tell whether all gaps are as if read with a tape in tenths and hundredths of a foot, where inches are not stated.

    Gaps in feet that are taken for inches show a twelfth of each deflection.

    Parameters
    ----------
    job : Job
    usual_gap : float
        As `usual_reading` gives it for all joints of the job.
    off_the_rule : bool
        Whether gaps are decimals at which no rule in inches has a mark.
    """
    stated = job.records.reading_unit is not None or _in_band(job, usual_gap)
    return job.records.readings_in == "in" and not stated and 0.0 < usual_gap < SMALL_IN and off_the_rule


def as_if_in_centimetres(job: Job, usual_gap: float, off_the_rule: bool, in_tenths: bool) -> bool:
    """Tell whether all gaps are as if read with a tape in centimetres and their tenths, where inches are not stated.

    Gaps in centimetres that are taken for inches show two and a half times each deflection. Decimals that no rule in
    inches shows, and that lie in the band once taken for centimetres, say that they are, whatever the job says.

    Parameters
    ----------
    job : Job
    usual_gap : float
        As `usual_reading` gives it for all joints of the job.
    off_the_rule : bool
        Whether gaps are decimals at which no rule in inches has a mark.
    in_tenths : bool
        Whether gaps are in tenths throughout, which no rule in inches shows.
    """
    if job.records.readings_in != "in" or _in_band(job, usual_gap):
        return False
    unsaid = job.records.reading_unit is None and usual_gap >= SMALL_IN
    return (in_tenths and unsaid) or (off_the_rule and _in_band(job, usual_gap / CM_IN))


def _in_band(job: Job, usual_gap: float) -> bool:
    """Say whether the usual gap lies in the job's band, which says then that the unit is meant."""
    band = job.inspection.insertion_band
    return band is not None and band[0] <= usual_gap <= band[1]


def _as_vector(
    fit: Fit, measured_deg: Floats, direction_deg: Floats, outside_diameter: Floats, sigma: float
) -> Measured:  # fmt: skip
    size, toward = np.radians(measured_deg), np.radians(np.where(measured_deg == 0.0, 0.0, direction_deg))
    # One factor for all directions: across the tilt the arctangent flattens half as much, under 0.5 percent to 8 deg.
    known = (sigma / (outside_diameter / 2.0)) ** 2 / (1.0 + np.tan(size) ** 2)
    right, upward, both = fit.tilt_factors * known
    return Measured(size * np.sin(toward), size * np.cos(toward), right, upward, both)


def sigma_reading(job: Job) -> float:
    """Give the standard error of one reading, in the unit of the readings: the job's, or 1/16 in (1.6 mm)."""
    return job.inspection.sigma_reading or {"in": 1 / 16, "mm": 1.6}[job.records.readings_in]


def clock_angles(hours: Sequence[int]) -> Floats:
    """Give clock positions as angles, radians clockwise from 12 o'clock.

    Examples
    --------
    >>> np.degrees(clock_angles([12, 3, 6, 9])).round(9).tolist()
    [0.0, 90.0, 180.0, 270.0]
    """
    return 2.0 * np.pi / 12.0 * (np.array(hours, dtype=np.float64) % 12)


def fitted(gaps: Floats, angle: Floats) -> Fit:
    """Fit a mean and a tilt to the gaps of each joint, by least squares.

    Parameters
    ----------
    gaps : array, shape (joints, positions)
        Readings; NaN where a position was not read.
    angle : array, shape (positions,)
        Where each was read, radians clockwise from 12 o'clock looking ahead.

    Returns
    -------
    Fit

    Examples
    --------
    A spigot with the gap half an inch wider on top than below:

    >>> found = fitted(np.array([[2.25, 2.0, 1.75, 2.0]]), clock_angles([12, 3, 6, 9]))
    >>> [round(float(part[0]), 9) for part in (found.mean, found.amplitude, found.widest, found.residual)]
    [2.0, 0.25, 0.0, 0.0]
    """
    around = np.ascontiguousarray(gaps.T)  # one row a position: joints lie side by side
    read = np.isfinite(around)
    pattern = np.zeros(len(gaps), dtype=np.uint16)
    for position, here in enumerate(read):
        pattern |= here.astype(np.uint16) << np.uint16(position)
    out = np.full((10, len(gaps)), np.nan)
    # Joints read at the same positions share one small matrix, so there is one step for each set of positions.
    ends = np.cumsum(np.bincount(pattern, minlength=1))
    order = np.argsort(pattern, kind="stable")
    for code in np.flatnonzero(np.diff(ends, prepend=0)):
        used = np.flatnonzero(code >> np.arange(len(around)) & 1)
        rows = order[ends[code - 1] if code else 0 : ends[code]]
        if len(rows) == len(gaps):
            out = _fit_alike(around[used], angle[used])
        else:
            out[:, rows] = _fit_alike(around[np.ix_(used, rows)], angle[used])
    mean, amplitude, widest, residual, mean_factor, amplitude_factor, across_factor = out[:7]
    positions = np.count_nonzero(read, axis=0).astype(np.int64)
    return Fit(mean, amplitude, widest, residual, positions, mean_factor, amplitude_factor, across_factor, out[7:])


def _fit_alike(around: Floats, angle: Floats) -> Floats:
    """Fit joints that were all read at the same positions, shape (positions, joints); give `Fit`'s floats in order."""
    out = np.full((10, around.shape[1]), np.nan)
    if len(angle) < 2:
        return out
    design = np.stack([np.ones(len(angle)), np.cos(angle), np.sin(angle)], axis=1)
    solver = np.linalg.pinv(design, rcond=1e-9)
    determined = np.abs(solver @ design - np.eye(UNKNOWNS)).max(axis=1) < 1e-9
    solution, covariance = _times(solver, around), solver @ solver.T
    if determined[0]:  # two readings across from one another give the mean, though not the tilt
        out[0], out[4] = solution[0], np.sqrt(covariance[0, 0])
    if not determined.all():
        return out
    _, upward, right = solution
    amplitude = np.sqrt(upward**2 + right**2)
    even = amplitude <= EVEN * np.abs(around).max(axis=0)
    amplitude[even] = 0.0
    out[1], out[2] = amplitude, np.where(even, np.nan, np.arctan2(right, upward))
    if len(angle) > UNKNOWNS:
        left = around - _times(design, solution)
        out[3] = np.sqrt(np.mean(left**2, axis=0))
    out[5:7] = _tilt_factors(upward, right, amplitude, covariance[1:, 1:])
    out[7], out[8], out[9] = covariance[2, 2], covariance[1, 1], covariance[1, 2]
    return out


def _times(matrix: Floats, columns: Floats) -> Floats:
    """Multiply a small matrix with columns, each of which comes out the same whatever columns stand beside it."""
    product: Floats = matrix[:, :1] * columns[0]
    for factor, row in zip(matrix.T[1:, :, None], columns[1:], strict=True):
        product += factor * row
    return product


def _tilt_factors(upward: Floats, right: Floats, amplitude: Floats, covariance: Floats) -> tuple[Floats, Floats]:
    """Give the standard errors of a tilt along it and square to it, in standard errors of one reading."""
    (upward_variance, both), (_, right_variance) = covariance
    along = upward**2 * upward_variance + 2 * upward * right * both + right**2 * right_variance
    # An even joint has no direction: the direction that is known worst counts.
    worst = np.full(len(amplitude), np.linalg.eigvalsh(covariance)[-1])
    along = np.divide(along, amplitude**2, out=worst, where=amplitude > 0)
    return np.sqrt(along), np.sqrt(np.maximum(upward_variance + right_variance - along, 0.0))


def deflections(fit: Fit, outside_diameter: Floats, sigma: float) -> tuple[Floats, Floats, Floats, Floats]:
    """Turn fitted gaps into deflections.

    Parameters
    ----------
    fit : Fit
    outside_diameter : array, shape (joints,)
        In the unit of the readings; NaN where unknown.
    sigma : float
        Standard error of one reading.

    Returns
    -------
    measured, direction, sigma, across : arrays, shape (joints,)
        Deflection; where the pipe ahead turns to, clockwise from 12 o'clock looking ahead, away from the widest gap;
        standard errors of the deflection, and square to its direction. Degrees.

    Examples
    --------
    12 in pipe (13.20 in outside) with the gap widest at 9 o'clock: the pipe ahead turns right.

    >>> found = fitted(np.array([[2.0, 1.5, 2.0, 2.5]]), clock_angles([12, 3, 6, 9]))
    >>> [round(float(part[0]), 2) for part in deflections(found, np.array([13.2]), 1 / 16)]
    [4.33, 90.0, 0.38, 0.38]
    """
    slope = fit.amplitude / (outside_diameter / 2.0)
    turned = np.where(np.isnan(slope), np.nan, np.degrees(fit.widest) + 180.0)
    known = np.degrees(sigma / (outside_diameter / 2.0))
    # The arctangent flattens along the tilt; across it, a turn of its direction moves the deflection by its sine.
    along = known * fit.amplitude_factor / (1.0 + slope**2)
    across = known * fit.across_factor / np.sqrt(1.0 + slope**2)
    direction = np.mod(turned, 360.0)
    # The remainder of a rounding below nothing is a whole turn.
    measured = np.degrees(np.arctan(slope))
    spread = sigma_of_length(measured, along**2, across**2)
    return measured, np.where(direction == 360.0, 0.0, direction), spread, across


def components(deflection_deg: Floats, direction_deg: Floats) -> tuple[Floats, Floats]:
    """Give a deflection's horizontal and vertical parts, as turns at a level main have them.

    Parameters
    ----------
    deflection_deg : array, shape (n,)
    direction_deg : array, shape (n,)
        Where the pipe ahead turns to, degrees clockwise from 12 o'clock looking ahead; NaN for a straight joint.

    Returns
    -------
    horizontal_deg, vertical_deg : arrays, shape (n,)
        Right and up positive.

    Examples
    --------
    >>> [part.round(4).tolist() for part in components(np.array([2.0, 2.0, 0.0]), np.array([90.0, 0.0, np.nan]))]
    [[2.0, 0.0, 0.0], [0.0, 2.0, 0.0]]
    """
    angle, toward = np.radians(deflection_deg), np.radians(np.where(deflection_deg == 0, 0.0, direction_deg))
    horizontal = np.arctan2(np.sin(angle) * np.sin(toward), np.cos(angle))
    return np.degrees(horizontal), np.degrees(np.arcsin(np.sin(angle) * np.cos(toward)))


def residual_limit(freedom: Ints, positions: Ints, sigma: float) -> Floats:
    """Give the residual that one joint in 1,000 passes though every gap at it was read right; NaN without freedom.

    Examples
    --------
    >>> residual_limit(np.array([1, 0]), np.array([4, 3]), 1 / 16).round(3).tolist()
    [0.103, nan]
    """
    limit = np.array([np.nan, *CHI_SQUARE_999])[freedom]
    return sigma * np.sqrt(limit / np.maximum(positions, 1))


def agreeing(job: Job, readings: Readings) -> Bools:
    """Say where gaps give a deflection and do not contradict one another.

    Parameters
    ----------
    job : Job
    readings : Readings

    Returns
    -------
    array of bool, shape (joints,)
    """
    fit = readings.fit
    contradict = fit.residual > residual_limit(fit.freedom, fit.positions, sigma_reading(job))
    return np.isfinite(readings.measured_deg) & ~contradict


def mean_known(readings: Readings) -> Bools:
    """Say where the mean gap is known at least as well as one gap is read: not from positions on one side only."""
    return readings.fit.mean_factor <= 1.0 + 1e-9


class Taken(NamedTuple):
    """How many joints the readings say something of, and why they say nothing of others, in the order of the joints."""

    sources: Counter[str]
    """Where the outside diameters of the former stand."""
    missed: Counter[str]


def taken(readings: Readings) -> Taken:
    """Count the joints whose gaps give a deflection, and those whose gaps give none.

    Parameters
    ----------
    readings : Readings
    """
    measured = np.isfinite(readings.measured_deg)
    return Taken(appearing(readings.diameters.source.filter(pa.array(measured))), appearing(readings.reason))


def reading_notes(job: Job, fields: Collection[str], counts: Sequence[Taken]) -> list[str]:
    """Say what the readings rest on, and which checks could not be made.

    Parameters
    ----------
    job : Job
    fields : names of the log's fields that hold anything
    counts : sequence of Taken
        Of all joints of the job, in their order.
    """
    gaps = [field for field in GAP_FIELDS if field in fields]
    gauges = [field for field in GAUGE_FIELDS if field in fields]
    if not gaps and not gauges:
        return []
    unit, notes = job.records.readings_in, []
    if job.records.reading_unit is None:
        notes.append(
            f"readings at the joint are taken as {units.SMALL_WORDS[unit]}, as stations suggest (records.reading_unit)"
        )
    if gaps:
        notes += _gap_notes(job, counts, unit)
    if gauges and job.inspection.gauge_spread is None:
        notes.append(
            "gauge depths are not judged: the job does not say how far they may differ (inspection.gauge_spread)"
        )
    return notes


def _gap_notes(job: Job, counts: Sequence[Taken], unit: str) -> list[str]:
    notes = []
    if job.inspection.sigma_reading is None:
        notes.append(
            f"a gap is taken as read to {sigma_reading(job):g} {unit} (1 sigma): an assumption; the job can say better "
            "(inspection.sigma_reading)"
        )
    if job.inspection.insertion_band is None:
        notes.append("mean gaps are not judged: the job has no band for them (inspection.insertion_band)")
    sources = most_frequent([taken for taken, _ in counts])
    shown = "; ".join(f"{source}: {count} joints" for source, count in sources.items())
    if shown:
        notes.append(f"outside diameters for the readings from {shown}")
    return notes


def unused_notes(counts: Sequence[Taken]) -> list[str]:
    """Say at how many joints gaps were read that give no deflection, and why: what they would show is not judged.

    Parameters
    ----------
    counts : sequence of Taken
        Of all joints of the job, in their order.
    """
    missed = most_frequent([reasons for _, reasons in counts])
    if not missed:
        return []
    told = ", ".join(f"{reason} at {count}" for reason, count in missed.items())
    remedy = (
        "; give outside_diameter in the log or in records.fixed" if {NO_DIAMETER, NO_SERIES} & missed.keys() else ""
    )
    remedy += ASK_SERIES if NO_SERIES in missed else ""
    remedy += "; say in records.reading_unit how they were read, or correct them" if OTHER_UNIT in missed else ""
    if {IN_FEET, IN_CENTIMETRES} & missed.keys():
        remedy += '; say records.reading_unit = "in" where they were read in inches, else have them written in inches'
    return [f"joints whose gap readings give no deflection: {told}{remedy}"]


def _columns(log: Log, fields: Sequence[str], record: Ints) -> Floats:
    out = np.empty((len(record), len(fields)), order="F")
    for at, field in enumerate(fields):
        out[:, at] = log.number(field)[record]
    return out


def _own_diameters(log: Log, record: Ints) -> Floats | None:
    return log.number("outside_diameter")[record] if "outside_diameter" in log.fields else None


def _spread(depths: Floats) -> Floats:
    read = np.isfinite(depths)
    deepest = np.where(read, depths, -np.inf).max(axis=1, initial=-np.inf)
    shallowest = np.where(read, depths, np.inf).min(axis=1, initial=np.inf)
    return np.where(read.sum(axis=1) >= 2, deepest - shallowest, np.nan)
