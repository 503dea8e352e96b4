"""Limits and tolerances of the job that look as if in another unit, or that nothing in the log can be beyond.

By such a limit the check that it belongs to tells nothing, and a job of which nothing is told looks like a good one.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from asbuilt import units
from asbuilt.keys.fields import FALLBACK_REQUIRED, GAUGE_FIELDS

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job

_LEAST_COVER_M = 0.45
"""No main is asked to lie under less ground; common practice, no source. So are the others here."""
_MOST_OFFSET_M, _MOST_HEIGHT_M, _MOST_RISE_M = 1.0, 0.5, 1.5
_LEAST_GRADE = 0.02
_LEAST_CONFIDENCE = 0.8
_LEAST_FRACTION, _LEAST_HOURS = 0.5, 0.25
_MOST_SIGMA_IN, _WIDEST_BAND_IN = 0.25, 3.0


def limit_notes(job: Job, log: Log) -> list[str]:
    """Notice limits and tolerances by which a check can tell nothing.

    Parameters
    ----------
    job : Job
    log : Log

    Returns
    -------
    list of str
    """
    return [
        *_tolerances(job), *_asked_of_records(job, log), *_of_readings(job), *_beside_the_main(job), *_confidence(job),
        *_of_limits(job),
    ]  # fmt: skip


def _tolerances(job: Job) -> list[str]:
    """Notice tolerances as long as a pipe, or nearly so."""
    records, unit = job.records, units.SYMBOLS[job.records.station_unit]
    length, whole = records.laying_length, f"pipes are {job.records.laying_length:g} {unit} long"
    told = {
        "spacing_tolerance": (0.5, "half a pipe may be missing, or too much, and nothing says so"),
        "position_tolerance": (1.0, "coordinates may be those of the joint beside, and nothing says so"),
        "station_tolerance": (0.5, "a joint that far beyond the end of the line is held to the end"),
        "sigma_station": (0.25, "a pipe that is missing may be an error of its station, and hardly anything is told"),
    }
    notes = []
    for key, (part, what) in told.items():
        stated = getattr(records, key)
        if stated is not None and stated > part * length:
            notes.append(f"records.{key} = {stated:g} is in {unit}, and {whole}: {what}; correct it, or its unit")
    return notes


def _asked_of_records(job: Job, log: Log) -> list[str]:
    """Notice that no record can be incomplete, and a spread that no gauge can read."""
    notes, asked = [], job.inspection.required_by_family()
    if not asked[FALLBACK_REQUIRED]:
        others = [family for family, fields in asked.items() if fields]
        of = f"only records of {', '.join(others)} joints" if others else "no record"
        notes.append(
            f"inspection.required is empty: {of} can be incomplete, and joints count as inspected of which nothing was "
            "written down; name what a record must hold, or leave the key out"
        )
    spread, depths = job.inspection.gauge_spread, [log.number(field) for field in GAUGE_FIELDS if field in log.fields]
    deepest = max((float(np.nanmax(one)) for one in depths if np.isfinite(one).any()), default=np.nan)
    if spread is not None and spread > deepest:
        unit = job.records.readings_in
        notes.append(
            f"inspection.gauge_spread = {spread:g} {unit}, and no gauge depth of the log is more than {deepest:g}: "
            "no two of them can differ by so much; correct it, or its unit"
        )
    return notes


def _of_readings(job: Job) -> list[str]:
    """Notice an error of readings that no rule has, and a band that no gap can lie outside."""
    unit, notes = job.records.readings_in, []
    per_inch = units.factor("in", unit)
    sigma, band = job.inspection.sigma_reading, job.inspection.insertion_band
    if sigma is not None and sigma > _MOST_SIGMA_IN * per_inch:
        notes.append(
            f"inspection.sigma_reading = {sigma:g} {unit}, more than a rule is read wrong by: by it "
            "readings settle hardly a verdict; correct it, or records.reading_unit"
        )
    if band is not None and band[1] - band[0] > _WIDEST_BAND_IN * per_inch:
        notes.append(
            f"inspection.insertion_band = {band[0]:g} to {band[1]:g} {unit}: a spigot may be "
            f"{band[1] - band[0]:g} {unit} farther in or out by it, and nothing says so; correct it, or its unit"
        )
    return notes


def _of_limits(job: Job) -> list[str]:
    """Notice a part of the allowable that is rather what is to be kept in hand, and hours that are minutes."""
    fraction, hours, notes = job.limits.fraction, job.limits.test_hours, []
    if fraction < _LEAST_FRACTION:
        notes.append(
            f"limits.fraction = {fraction:g} is the part of the allowable that the crew may use: if "
            f"{100 * fraction:g} % of "
            f"it are to be kept in hand, say {1.0 - fraction:g}; as it stands, joints are called over that may not be"
        )
    if hours is not None and hours < _LEAST_HOURS:
        notes.append(
            f"limits.test_hours = {hours:g} is in hours, and tests are held for longer than {60 * hours:.2g} minutes; "
            "correct it: as it stands, no test is told as too short"
        )
    return notes


def _beside_the_main(job: Job) -> list[str]:
    """Notice limits of cover, design and profile that hardly any main is laid to."""
    unit, metre = units.SYMBOLS[job.records.station_unit], units.factor("m", job.records.station_unit)
    other = "mm" if job.records.station_unit == "m" else "inches"
    notes = []
    if job.cover is not None and job.cover.least is not None and job.cover.least < _LEAST_COVER_M * metre:
        meant = "" if job.records.station_unit == "m" else (
            f": if {job.cover.least:g} m is meant, say {job.cover.least * metre:.3g}"
        )  # fmt: skip
        notes.append(
            f"cover.least = {job.cover.least:g} is in {unit}, less than mains are asked to lie under{meant}; as it "
            "stands, no joint with more is told"
        )
    for table, key, most in (
        ("design", "max_offset", _MOST_OFFSET_M), ("design", "max_height", _MOST_HEIGHT_M),
        ("profile", "least_rise", _MOST_RISE_M),
    ):  # fmt: skip
        asked = getattr(getattr(job, table), key, None)
        if asked is not None and asked > most * metre:
            small = asked / 1000.0 if job.records.station_unit == "m" else asked / 12.0
            notes.append(
                f"{table}.{key} = {asked:g} is in {unit}, more than is asked of mains: if {asked:g} {other} are meant, "
                f"say {small:.3g}; as it stands, nothing under it is told"
            )
    grade = getattr(job.profile, "least_grade", None)
    if grade is not None and grade < _LEAST_GRADE:
        notes.append(
            f"profile.least_grade = {grade:g} is in percent: if a rise of {grade:g} in 1 is meant, say "
            f"{100.0 * grade:g}; as it stands, no pipe that is steeper is told"
        )
    return notes


def _confidence(job: Job) -> list[str]:
    stated = job.limits.confidence
    if stated >= _LEAST_CONFIDENCE:
        return []
    return [
        f"limits.confidence = {stated:g}: of joints at their allowable, {100.0 * (1.0 - stated):.0f} of 100 are called "
        "within or over wrongly, and fewer are told as unclear; 0.95 is usual"
    ]
