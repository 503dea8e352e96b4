"""The checks: what in a job's joints is worth a person's look, each with what its limit rests on.

Every check is one function here and one row of `asbuilt.checks`; it says which joints it found and why.
"""

from __future__ import annotations

import csv
import datetime as dt
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from importlib import resources
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints, as_mask, empty_ints
from asbuilt.checks import CHECK_KINDS
from asbuilt.inputs.fields import EVIDENCE_FIELDS
from asbuilt.inputs.values import spread
from asbuilt.job import FALLBACK_REQUIRED
from asbuilt.judging import bounds, verdicts
from asbuilt.judging.pressure import laid_after, makeup_gal
from asbuilt.judging.readings import agreeing, components, mean_known, residual_limit, sigma_reading
from asbuilt.judging.shares import sums
from asbuilt.judging.sightings import AT_A_SHOT
from asbuilt.placing.naming import route_and_name
from asbuilt.placing.positions import position_tolerance
from asbuilt.placing.sequence import joint_numbers, out_of_order
from asbuilt.schema import ASSUMPTIONS
from asbuilt.vocabulary import YES_NO_FIELDS

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.judging.against_design import AgainstDesign
    from asbuilt.judging.cover import Covered
    from asbuilt.judging.deflection import Segments, Turns
    from asbuilt.judging.doubted import Doubted
    from asbuilt.judging.pressure import PressureTests
    from asbuilt.judging.readings import Readings
    from asbuilt.judging.restraint import Restraint
    from asbuilt.judging.stretches import Stretches
    from asbuilt.judging.survey import Seen
    from asbuilt.judging.verdicts import Judgement
    from asbuilt.placing.joints import Joints
    from asbuilt.placing.records import Records


SPACING_TOLERANCE_M = 0.15
SHORT_PART = 0.9
"""A length shorter than this part of the nominal one must have been cut, or end at a fitting."""
SHORTEST_PIECE_M = 0.3
"""No cut piece or fitting between two joints is shorter; common practice, no source."""
ROUNDING = 1e-9
"""A reading this little over its limit is rounding."""
FT_LB_IN_N_M = 1.3558179483314004

_FIELD_WORDS = {"inspected_on": "inspection date", "bolt_torque": "bolt torque", "laid_length": "laid length"}


@dataclass(frozen=True)
class Judged:
    """Everything that the checks look at; arrays of shape (joints,) unless said otherwise."""

    job: Job
    log: Log
    joints: Joints
    segments: Segments
    missing: Ints
    """Joints that must lie in each straight but are not in the log, shape (segments,)."""
    scale: float
    """Coordinate units in a station unit."""
    seen: Seen
    """What the survey says of each joint's deflection, radians."""
    turns: Turns
    judgement: Judgement
    """The verdict on each joint, and what it came from."""
    allowable_deg: Floats
    allowable_source: pa.Array
    confidence: float
    """Of the verdict on one joint."""
    fitting_deg: Floats
    """Angle of the fitting at each joint; NaN for none."""
    bend_without_angle: Bools
    records: Records
    joint_of_record: Ints
    """Joint of each record of the log; -1 where it is set aside."""
    family: pa.Array
    """Joint family by which allowables and required fields are looked up."""
    today: dt.date
    readings: Readings
    """What was read at each joint: how far in the spigot is, and the deflection that the gaps show."""
    restraint: Restraint
    tests: PressureTests
    design: AgainstDesign
    """How far each joint lies from the design."""
    cover: Covered
    """How far the ground lies above the pipe."""
    unit: str
    """Unit of the coordinates."""
    doubted: Doubted
    """What is doubtful in the survey, before any pipe is blamed."""

    @property
    def deflection_deg(self) -> Floats:
        """Deflection by the survey, the readings or both; NaN where only bounds of it are known."""
        return np.degrees(self.judgement.deflection)

    @property
    def verdict(self) -> pa.Array:
        """The verdict on each joint."""
        return self.judgement.verdict

    @property
    def assumes(self) -> pa.Array:
        """What the verdict rests on without its being measured; null where all was."""
        return self.judgement.assumes

    def text(self, field: str) -> pa.Array:
        """Give a field of each joint's present record, all null where the log has none."""
        if field not in self.log.fields:
            return pa.nulls(len(self.joints), pa.string())
        return self.log.fields[field].take(pa.array(self.joints.record))

    def number(self, field: str) -> Floats:
        """Give a number field of each joint's present record, NaN where blank."""
        return self.log.number(field)[self.joints.record]

    @property
    def symbol(self) -> str:
        """Symbol of the station unit."""
        return units.SYMBOLS[self.job.records.station_unit]


class Found(NamedTuple):
    """What one check found: shapes (found,)."""

    joint: Ints
    """Joint of each finding; -1 for a finding on a length of a route, which `length` then gives."""
    message: pa.Array
    value: Floats | None = None
    limit: Floats | None = None
    unit: str | None = None
    basis: pa.Array | str | None = None
    length: Stretches | None = None
    shot: Ints | None = None
    """Shot of the survey that each finding is about, as a vertex of the routes; -1 for none."""
    point: pa.Array | None = None
    """Name of that shot."""


class Check(NamedTuple):
    """One row of the table of checks."""

    code: str
    severity: str
    find: Callable[[Judged], Found]


def inspection_state(judged: Judged) -> pa.Array:
    """Say of each joint whether its inspection is complete, incomplete, failed, or none.

    Parameters
    ----------
    judged : Judged

    Returns
    -------
    pyarrow string array, shape (joints,)
    """
    evidence = np.zeros(len(judged.joints), dtype=np.bool_)
    for field in (*EVIDENCE_FIELDS, "inspector", "inspected_on"):
        evidence |= _given(judged, field)
    missing = _any(missing_fields(judged).values(), len(judged.joints))
    failed = _any(failed_fields(judged).values(), len(judged.joints))
    choices = ["failed", "none", "incomplete"]
    code = np.select([failed, ~evidence, missing], [0, 1, 2], default=3)
    return pa.array([*choices, "complete"]).take(pa.array(code))


def find_all(judged: Judged) -> pa.Table:
    """Run every check.

    Parameters
    ----------
    judged : Judged

    Returns
    -------
    pyarrow table
        A row for each finding, with the index of its joint, in order along the routes; those on a length of a
        route have its route and station in place of a joint, and come last.
    """
    parts = [_as_table(check, check.find(judged)) for check in CHECKS]
    table = pa.concat_tables([part for part in parts if part.num_rows] or parts[:1])
    return table.take(pc.sort_indices(table, sort_keys=[("joint_index", "ascending")]))


def _as_table(check: Check, found: Found) -> pa.Table:
    count = len(found.joint)

    def numbers(values: Floats | None) -> pa.Array:
        return pa.array(values, pa.float64(), from_pandas=True) if values is not None else pa.nulls(count, pa.float64())

    basis = found.basis
    if not isinstance(basis, pa.Array):
        basis = pa.repeat(pa.scalar(basis, pa.string()), count)
    return pa.table(
        {
            "joint_index": pa.array(found.joint, pa.int64(), mask=found.joint < 0),
            "length_route": pa.array(found.length.route) if found.length else pa.nulls(count, pa.int64()),
            "length_station": found.length.from_station if found.length else pa.nulls(count, pa.string()),
            "shot": pa.array(found.shot, pa.int64(), mask=found.shot < 0)
            if found.shot is not None
            else pa.nulls(count, pa.int64()),
            "point": found.point if found.point is not None else pa.nulls(count, pa.string()),
            "code": pa.repeat(check.code, count),
            "severity": pa.repeat(check.severity, count),
            "value": numbers(found.value),
            "limit": numbers(found.limit),
            "unit": pa.repeat(pa.scalar(found.unit, pa.string()), count),
            "basis": basis,
            "message": found.message,
        }
    )


def _deflection_over(judged: Judged) -> Found:
    rows = _rows(pc.equal(judged.verdict, "over"))
    seen, allowable = judged.seen, judged.allowable_deg[rows]
    source, bend = judged.judgement.source[rows], np.isfinite(judged.fitting_deg[rows])
    shared = (source == verdicts.SURVEY) & seen.over[rows]
    by_fitting = (source == verdicts.SURVEY) & bend & ~shared
    value = np.select(
        [shared, by_fitting],
        [np.degrees(seen.together[rows]), np.degrees(seen.ceiling[rows])],
        judged.deflection_deg[rows],
    )
    limit = np.select([shared, by_fitting], [np.degrees(seen.room[rows]), 2.0 * allowable], allowable)
    shown, allowed = _shown(value), _shown(limit)
    how = pa.array(["", ", by the readings at the joint,", ", by survey and readings,"]).take(pa.array(source))
    stretch = _stretch(judged, seen.first[rows], seen.last[rows])
    messages = [
        _say("deflection ", shown, " deg", how, " is over the allowable ", allowed, " deg"),
        _say("the bend leaves ", shown, " deg to its two joints, which may take ", allowed, " deg together: one of "
             "them is over; a reading at either end tells which"),
        _say("one of the ", _shown(seen.sharing[rows].astype(float)), " joints ", stretch, " is over: the line turns ",
             shown, " deg there, and by their places they may turn it ", allowed, " deg; a shot or a reading at each "
             "of them tells which"),
    ]  # fmt: skip
    which = np.select([shared, by_fitting], [2, 1], 0)
    message = pc.choose(pa.array(which), *messages) if len(rows) else pa.array([], pa.string())
    message = _say(message, _moved(judged, rows), _resting_on(judged, rows))
    return Found(rows, message, value, limit, "deg", judged.allowable_source.take(pa.array(rows)))


def _resting_on(judged: Judged, rows: Ints) -> pa.Array:
    """Say of joints on what their verdict rests without its being measured."""

    def told(words: str) -> str:
        return "; this rests on more than was measured: " + "; ".join(ASSUMPTIONS[word] for word in words.split())

    return pc.fill_null(spread(judged.assumes.take(pa.array(rows)), told, pa.string()), "")


def _moved(judged: Judged, rows: Ints) -> pa.Array:
    """Say of joints how far doubted shots behind them may have moved them, where that parts them from their shots."""
    moved = judged.doubted.moved[rows] / judged.scale
    said = _say(
        "; doubted shots before it make the line ", _shown(moved), f" {judged.symbol} longer, so the joint may stand "
        "that much too far back: look at the shots before the pipe",
    )  # fmt: skip
    return pc.if_else(pa.array(moved > AT_A_SHOT * judged.job.records.laying_length), said, "")


def _deflection_unclear(judged: Judged) -> Found:
    rows = _rows(pc.equal(judged.verdict, "cannot-tell"))
    seen, limit, judgement = judged.seen, judged.allowable_deg[rows], judged.judgement
    most = np.degrees(judgement.most[rows])
    low, high = _shown(np.degrees(np.maximum(judgement.least[rows], 0.0))), _shown(most)
    allowed = _say("against ", _shown(limit), " deg allowed: ")
    sure = f" deg at {judged.confidence:.4g}, " if judged.confidence > 0.999 else f" deg at {judged.confidence:.1%}, "
    sure = sure.replace(".0%", "%")
    stretch = _stretch(judged, seen.ceiling_first[rows], seen.ceiling_last[rows])
    sharing = seen.ceiling_last[rows] - seen.ceiling_first[rows] + 1
    remedies = [
        _say("between ", low, " and ", high, sure, allowed, "a reading at the joint, or a finer survey, tells"),
        _say("the bend leaves ", _shown(np.degrees(seen.ceiling[rows])), " deg to its two joints, ", allowed,
             "a reading at either end tells"),
        _say("up to ", high, sure, allowed, "the ", _shown(sharing.astype(float)), " joints ", stretch,
             " share the turn; a shot at each of them, or a reading at this one, tells"),
        _say("the shots on either side do not bound it, ", allowed, "shots at the joints ", stretch,
             ", or a reading at this one, tell"),
        _say("between ", low, " and ", high, sure, allowed, "the readings at the joint do not settle it; finer ones, "
             "or shots at the joints ", stretch, ", tell"),
        _say("the readings are of one of the bend's two joints, at least ", low, sure, allowed, "readings at the other "
             "joint, or shots on the straights beside the bend, tell"),
        _say("the line there rests on shot ", pc.fill_null(judged.doubted.joint_shot.take(pa.array(rows)), ""),
             ", which is doubted: look at the shot before the pipe; a reading at the joint tells, too"),
        _say("survey and readings contradict one another here, ", allowed, "read the joint again, or shoot it again"),
    ]  # fmt: skip
    bend, by_reading = np.isfinite(judged.fitting_deg[rows]), judgement.source[rows] == verdicts.READINGS
    unbounded = ~np.isfinite(most)
    masks = [judgement.conflict[rows], by_reading & unbounded, by_reading, judged.doubted.joints[rows], unbounded,
             seen.exact[rows] & ~bend, seen.exact[rows]]  # fmt: skip
    which = np.select(masks, [7, 5, 4, 6, 3, 0, 1], default=2)
    message = pc.choose(pa.array(which), *remedies) if len(rows) else pa.array([], pa.string())
    message = _say(message, _moved(judged, rows))
    value = np.where(np.isfinite(most), most, np.nan)
    return Found(rows, message, value, limit, "deg", judged.allowable_source.take(pa.array(rows)))


def _deflection_conflict(judged: Judged) -> Found:
    """Hold the readings against the survey, where the survey's uncertainty is known."""
    seen, measured, judgement = judged.seen, judged.readings, judged.judgement
    short, chance = _unexplained(judged)
    rows = np.flatnonzero(judgement.conflict | (short > chance))
    alone = judgement.conflict[rows]
    value, limit = (
        np.where(alone, judgement.apart[rows], short[rows]),
        np.where(alone, judgement.apart_limit[rows], chance[rows]),
    )
    right, up = components(measured.measured_deg[rows], measured.measured_direction_deg[rows])
    survey_right, survey_up = _surveyed(judged, rows)
    differ = _say(
        "the survey shows a deflection of ", _shown(np.degrees(seen.deflection[rows])), " deg and the readings one of ",
        _shown(measured.measured_deg[rows]), " deg: ", _shown(np.hypot(right - survey_right, up - survey_up)),
        " deg apart in size and direction, ", _shown(value, 1), " standard errors of both; chance puts them ",
        _shown(limit, 1), " apart at most",
    )  # fmt: skip
    stretch = _stretch(judged, seen.first[rows], seen.last[rows])
    less = _say(
        "the readings at the ", _shown(seen.sharing[rows].astype(float)), " joints ", stretch,
        " add up to less than the ", _shown(np.degrees(seen.together[rows])), " deg that the line turns there, by ",
        _shown(value, 1), " standard errors of both; chance leaves ", _shown(limit, 1), " at most",
    )  # fmt: skip
    message = pc.if_else(pa.array(alone), differ, less)
    often = f"{1.0 - judged.job.limits.confidence:.2g}".rstrip("0")
    basis = f"standard errors of both; by chance a main without any conflict shows one at a rate of {often}"
    return Found(rows, message, value, limit, "standard errors", basis)


def _surveyed(judged: Judged, rows: Ints) -> tuple[Floats, Floats]:
    """Give the surveyed deflection to the right and upward, degrees; the readings' own upward where it is unknown."""
    turned = judged.seen.turned
    size, toward = np.degrees(turned.measured.one[rows]), turned.toward[rows]
    up = components(judged.readings.measured_deg[rows], judged.readings.measured_direction_deg[rows])[1]
    return size * np.cos(toward), np.where(turned.level[rows], up, size * np.sin(toward))


def _unexplained(judged: Judged) -> tuple[Floats, Floats]:
    """Give by how many standard errors the readings along a stretch fall short of its turn, at one of its joints.

    Only where every joint that has a part in the turn was read. Each joint counts by its weight in the turn.
    """
    seen, measured = judged.seen, judged.readings
    short, limit = np.full(len(judged.joints), np.nan), np.full(len(judged.joints), np.nan)
    whole = seen.last - seen.first + 1 == seen.sharing
    rows = np.flatnonzero(~seen.exact & (seen.shot >= 0) & whole & np.isfinite(seen.sigma))
    known = agreeing(judged.job, measured)
    if not len(rows) or not known.any():
        return short, limit
    shots = int(seen.located.vertex.max()) + 2
    size, wide = (
        np.radians(np.where(known, measured.measured_deg, 0.0)),
        np.where(known, measured.vector.sigmas[0], 0.0),
    )
    total = sums(seen.located, size, shots)[seen.shot[rows]]
    variance = sums(seen.located, wide**2, shots)[seen.shot[rows]] + seen.together_sigma[rows] ** 2
    read = np.concatenate([[0], np.cumsum(known)])
    every = read[seen.last[rows] + 1] - read[seen.first[rows]] == seen.sharing[rows]
    short[rows] = np.where(every, (seen.together[rows] - total) / np.sqrt(variance), np.nan)
    many = np.bincount(judged.joints.route[rows])[judged.joints.route[rows]]
    limit[rows] = np.sqrt(-2.0 * np.log((1.0 - judged.job.limits.confidence) / many))
    return short, limit


def _stretch(judged: Judged, first: Ints, last: Ints) -> pa.Array:
    station = judged.joints.station
    begin, end = station.take(pa.array(first)), station.take(pa.array(last))
    return pc.if_else(pa.array(first == last), _say("at ", begin), _say("from ", begin, " to ", end))


def _allowable_missing(judged: Judged) -> Found:
    rows = _rows(pc.equal(judged.verdict, "no-allowable"))
    family = pc.fill_null(judged.family.take(pa.array(rows)), "joint of unknown type")
    size = _shown(judged.number("size")[rows])
    size = pc.if_else(
        pa.array(np.isnan(judged.number("size")[rows])), "unknown size", _say(size, f" {judged.job.records.sizes_in}")
    )
    message = _say("no allowable on file for ", family, ", ", size, "; bring it from the approved submittal")
    tables = " and ".join(name for name in (judged.job.limits.table, judged.job.limits.project) if name)
    basis = f"looked in {tables}" if tables else "the job names no table of limits"
    return Found(rows, message, judged.deflection_deg[rows], None, "deg", basis)


def _bend_angle_missing(judged: Judged) -> Found:
    rows = np.flatnonzero(judged.bend_without_angle)
    message = pa.repeat("a bend without its angle; what its joints take cannot be told from what it turns", len(rows))
    return Found(rows, message, basis="the log's row")


def _inspection_missing(judged: Judged) -> Found:
    missing = missing_fields(judged)
    rows = np.flatnonzero(_any(missing.values(), len(judged.joints)))
    message = _say("not recorded: ", _listed(missing, rows))
    count = np.sum([mask[rows] for mask in missing.values()], axis=0) if missing else np.zeros(len(rows))
    return Found(rows, message, count.astype(np.float64), None, "fields", "required by the job for this joint family")


def _inspection_failed(judged: Judged) -> Found:
    failed = failed_fields(judged)
    rows = np.flatnonzero(_any(failed.values(), len(judged.joints)))
    return Found(rows, _say("did not pass: ", _listed(failed, rows)), basis="the inspector's entry")


def _field_unreadable(judged: Judged) -> Found:
    unreadable = judged.log.unreadable
    joint = judged.joint_of_record[unreadable.record]
    cells = np.flatnonzero(joint >= 0)
    field, text = unreadable.field.take(pa.array(cells)), unreadable.text.take(pa.array(cells))
    message = _say(field, ": '", text, "' cannot be read; it is taken as blank")
    return Found(joint[cells], message, basis="the log's row")


def _photo_missing(judged: Judged) -> Found:
    missing = judged.log.text("photo_missing")
    rows = np.flatnonzero(as_mask(missing.is_valid()) & (judged.joint_of_record >= 0))
    message = _say("not found among the photos: ", missing.take(pa.array(rows)))
    return Found(judged.joint_of_record[rows], message, basis="the folders of records.photos")


def _gasket_cold(judged: Judged) -> Found:
    least = judged.job.inspection.min_gasket_temperature_f
    value = judged.number("gasket_temperature")
    rows = np.flatnonzero(value < least)
    found, limit, unit = value[rows], least, judged.job.records.temperatures_in
    if unit == "C":
        found, limit = (found - 32.0) / 1.8, round((least - 32.0) / 1.8, 1)
    message = _say("gasket at ", _shown(found), f" {unit} when fitted, under {limit:g} {unit}: warm it before fitting")
    basis = "the job's limit (40 F: common practice, no source)"
    return Found(rows, message, found, np.full(len(rows), limit), unit, basis)


def _insertion_off(judged: Judged) -> Found:
    band = judged.job.inspection.insertion_band
    if band is None:
        return _nothing()
    mean, unit = judged.readings.fit.mean, judged.job.records.readings_in
    with_mean = mean_known(judged.readings)
    low, high = with_mean & (mean < band[0] - ROUNDING), with_mean & (mean > band[1] + ROUNDING)
    rows = np.flatnonzero(low | high)
    far = pc.if_else(pa.array(high[rows]), "the spigot is not far enough in", "the spigot is in too far")
    message = _say(
        far, ": the gap to the insertion mark is ", _shown(mean[rows]), f" {unit} on average, outside {band[0]:g} to ",
        f"{band[1]:g} {unit}",
    )  # fmt: skip
    limit = np.where(low, *band)[rows]
    return Found(rows, message, mean[rows], limit, unit, "the job's band (inspection.insertion_band)")


def _gap_uneven(judged: Judged) -> Found:
    fit, unit, sigma = judged.readings.fit, judged.job.records.readings_in, sigma_reading(judged.job)
    limit = residual_limit(fit.freedom, fit.positions, sigma)
    rows = np.flatnonzero(fit.residual > limit)
    message = _say(
        "the gap readings contradict one another: a straight spigot leaves ", _shown(fit.residual[rows]),
        f" {unit} of them unexplained (RMS), more than ", _shown(limit[rows]), f" {unit}; read them again",
    )  # fmt: skip
    own = "the job's" if judged.job.inspection.sigma_reading else "an assumed"
    basis = f"{own} {sigma:g} {unit} (1 sigma) of a reading; one joint in 1,000 passes the limit by chance"
    return Found(rows, message, fit.residual[rows], limit[rows], unit, basis)


def _gauge_uneven(judged: Judged) -> Found:
    most, spread, unit = (
        judged.job.inspection.gauge_spread,
        judged.readings.gauge_spread,
        judged.job.records.readings_in,
    )
    if most is None:
        return _nothing()
    rows = np.flatnonzero(spread > most + ROUNDING)
    message = _say(
        "feeler-gauge depths differ by ", _shown(spread[rows]), f" {unit} around the joint, more than {most:g} {unit}: "
        "the gasket may be displaced",
    )  # fmt: skip
    return Found(
        rows, message, spread[rows], np.full(len(rows), most), unit, "the job's limit (inspection.gauge_spread)"
    )


def _torque_off(judged: Judged) -> Found:
    table = bolt_torques()
    torque = judged.number("bolt_torque")
    if judged.job.records.torque_unit == "N-m":
        torque = torque / FT_LB_IN_N_M
    size = judged.number("size")
    at = np.searchsorted(table.size, size).clip(max=len(table.size) - 1)
    mechanical = as_mask(pc.ends_with(judged.family, "mechanical"))
    inches = judged.job.records.sizes_in == "in"
    known = mechanical & (table.size[at] == size) & inches
    low, high = known & (torque < table.least[at]), known & (torque > table.most[at])
    rows = np.flatnonzero(low | high)
    limit = np.where(low, table.least[at], table.most[at])[rows]
    message = _say(
        "bolt torque ", _shown(torque[rows]), " ft-lb is outside ", _shown(table.least[at][rows]), " to ",
        _shown(table.most[at][rows]), " ft-lb",
    )  # fmt: skip
    return Found(rows, message, torque[rows], limit, "ft-lb", table.source)


def missing_joints(job: Job, log: Log, joints: Joints, straights: Segments, scale: float) -> Ints:
    """Count the joints that must lie in each straight but are not in the log, shape (segments,)."""
    laid = log.number("laid_length")[joints.record[_piece(job, straights)]]
    spacing, expected, _, tolerance = _spacings(job, joints, straights, laid, scale)
    # The recorded piece lies first; whole lengths at most may follow it.
    least = np.ceil((spacing - expected - tolerance) / job.records.laying_length)
    return np.maximum(least, 0.0).astype(np.int64)


def _joints_missing(judged: Judged) -> Found:
    laid = judged.number("laid_length")[piece_joint(judged)]
    spacing, expected, _, _ = _spacings(judged.job, judged.joints, judged.segments, laid, judged.scale)
    at = np.flatnonzero(judged.missing)
    back = judged.segments.back[at]
    word = pc.if_else(pa.array(judged.missing[at] == 1), " joint is", " joints are")
    message = _say(
        "at least ", _shown(judged.missing[at].astype(float)), word, " missing between ",
        judged.joints.station.take(pa.array(back)), " and ",
        judged.joints.station.take(pa.array(back + 1)), ": ", _shown(spacing[at]),
        f" {judged.symbol} apart, and a length is ", _shown(expected[at]), f" {judged.symbol}",
        _resting(judged, back),
    )  # fmt: skip
    return Found(back, message, spacing[at], expected[at], judged.symbol, "the recorded or nominal laying length")


def _spacing_short(judged: Judged) -> Found:
    laid = judged.number("laid_length")[piece_joint(judged)]
    spacing, expected, recorded, tolerance = _spacings(judged.job, judged.joints, judged.segments, laid, judged.scale)
    back = judged.segments.back
    fitting = _is_fitting(judged)
    cut = as_mask(pc.equal(judged.text("cut"), "yes"))
    may_be_short = fitting[back] | fitting[back + 1] | cut[piece_joint(judged)]
    shortest = SHORTEST_PIECE_M * units.factor("m", judged.job.records.station_unit)
    least = np.where(may_be_short, shortest, SHORT_PART * expected)
    least = np.where(recorded, expected - tolerance, least)
    least = np.where(recorded, least, least - _by_stations(judged.job, judged.joints, judged.segments))
    at = np.flatnonzero(spacing < least - 1e-9)
    why = pc.if_else(
        pa.array(recorded[at]), "under the recorded laid length",
        pc.if_else(pa.array(may_be_short[at]), "shorter than any piece", "with no cut or fitting recorded"),
    )  # fmt: skip
    message = _say(
        _shown(spacing[at]), f" {judged.symbol} from ", judged.joints.station.take(pa.array(back[at])), " to ",
        judged.joints.station.take(pa.array(back[at] + 1)), ", ", why, _resting(judged, back[at]),
    )  # fmt: skip
    return Found(back[at], message, spacing[at], least[at], judged.symbol, "the recorded or nominal laying length")


def _resting(judged: Judged, back: Ints) -> pa.Array:
    """Say of straights, by their back joints, on which doubted shot they rest; nothing where on none."""
    shot = judged.doubted.joint_shot
    shot = pc.coalesce(shot.take(pa.array(back)), shot.take(pa.array(back + 1)))
    return pc.fill_null(_say("; the line there rests on shot ", shot, ", which is doubted"), "")


def _joint_repeated(judged: Judged) -> Found:
    key = route_and_name(judged.joints.route, judged.text("joint"))
    named = as_mask(judged.text("joint").is_valid())
    places = np.bincount(key, minlength=int(key.max(initial=0)) + 1)[key]
    records = judged.joints.records
    rows = np.flatnonzero((records > 1) | (named & (places > 1)))
    several = pa.array(places[rows] > 1)
    same = _say(_shown(records[rows].astype(np.float64)), " records of this joint; the latest one counts")
    apart = _say("this joint number is used at ", _shown(places[rows].astype(np.float64)), " places on the route")
    value = np.where(places[rows] > 1, places[rows], records[rows]).astype(np.float64)
    return Found(rows, pc.if_else(several, apart, same), value, np.ones(len(rows)), "records", "one record a joint")


def _order_broken(judged: Judged) -> Found:
    numbers = joint_numbers(judged.text("joint"))
    route = judged.joints.route
    order = np.lexsort((judged.joints.distance, numbers.series, route))
    group = route * (int(numbers.series.max(initial=0)) + 1) + numbers.series
    group = np.where(numbers.series < 0, -1, group)[order]
    wrong = np.zeros(len(order), dtype=np.bool_)
    wrong[order] = out_of_order(group, numbers.number[order])
    rows = np.flatnonzero(wrong)
    message = _say("the number stands out of order at ", judged.joints.station.take(pa.array(rows)))
    return Found(rows, message, basis="joint numbers run with the stations along the route")


def _size_changes(judged: Judged) -> Found:
    """Find joints whose size is not that of the joint back of them, though no reducer or tee lies between."""
    size, route = judged.number("size"), judged.joints.route
    known = np.flatnonzero(np.isfinite(size))
    back, rows = known[:-1], known[1:]
    changed = (size[back] != size[rows]) & (route[back] == route[rows])
    back, rows = back[changed], rows[changed]
    kind = pc.is_in(judged.text("kind"), pa.array(["reducer", "tee"]))
    made = np.concatenate([[0], np.cumsum(as_mask(kind))])
    odd = made[rows + 1] == made[back]
    back, rows = back[odd], rows[odd]
    unit = judged.job.records.sizes_in
    message = _say(
        "size ", _shown(size[rows]), f" {unit} follows ", _shown(size[back]), f" {unit} at ",
        judged.joints.station.take(pa.array(back)), ", and the log has no reducer or tee between; its allowable is "
        "that of its own size",
    )  # fmt: skip
    return Found(rows, message, size[rows], size[back], unit, "pipe changes its size at a fitting; common practice")


def _date_doubtful(judged: Judged) -> Found:
    if "inspected_on" not in judged.log.fields:
        return _nothing()
    dates = judged.text("inspected_on")
    limits = judged.job.inspection
    last = min(limits.laid_to or judged.today, judged.today)
    after = as_mask(pc.greater(dates, pa.scalar(last)))
    before = np.zeros(len(after), dtype=np.bool_)
    if limits.laid_from:
        before = as_mask(pc.less(dates, pa.scalar(limits.laid_from)))
    rows = np.flatnonzero(after | before)
    bound = pc.if_else(pa.array(before[rows]), f"before the work began on {limits.laid_from}", f"after {last}")
    shown = pc.cast(dates.take(pa.array(rows)), pa.string())
    return Found(rows, _say("inspected on ", shown, ", ", bound), basis="the job's dates of laying, and today")


def _position_conflict(judged: Judged) -> Found:
    records, joints = judged.records, judged.joints
    spot, limit = joints.position, position_tolerance(judged.job)
    apart, away = records.apart[spot] / judged.scale, records.away[spot] / judged.scale
    doubt = records.doubt.take(pa.array(spot))
    useless = as_mask(pc.and_(doubt.is_valid(), pc.not_equal(doubt, "station-missing")))
    off = np.isnan(apart) & (away > limit)
    above = records.above[spot] / judged.scale
    high = np.abs(above) > limit
    rows = np.flatnonzero(joints.surveyed & ((apart > limit) | useless | off | high))
    taken, here = pa.array(rows), joints.station.take(pa.array(rows))
    written = pc.coalesce(judged.log.text("station").take(pa.array(spot[rows])), "")
    found = [
        _say("surveyed ", _shown(apart[rows]), f" {judged.symbol} from where its station ", written,
             " lies; it stands where it was surveyed, at ", here),
        _say("its station ", written, " cannot be used (", pc.coalesce(doubt.take(taken), ""),
             "); it stands where it was surveyed, at ", here),
        _say("surveyed ", _shown(away[rows]), f" {judged.symbol} from the centerline, at ", here),
        _say("surveyed ", _shown(np.abs(above[rows])), f" {judged.symbol} ",
             pc.if_else(pa.array(above[rows] > 0), "above", "below"), " the centerline, at ", here),
    ]  # fmt: skip
    which = np.select([apart[rows] > limit, useless[rows], off[rows]], [0, 1, 2], default=3)
    message = pc.choose(pa.array(which), *found) if len(rows) else pa.array([], pa.string())
    value = np.choose(which, [apart[rows], np.full(len(rows), np.nan), away[rows], np.abs(above[rows])])
    basis = "the job's records.position_tolerance, else a quarter of a laying length"
    return Found(rows, message, value, np.where(which == 1, np.nan, limit), judged.symbol, basis)


def _line_off(judged: Judged) -> Found:
    return _off_design(judged, judged.design.offset, "max_offset", ("left", "right"))


def _grade_off(judged: Judged) -> Found:
    return _off_design(judged, judged.design.height, "max_height", ("below", "above"))


def _off_design(judged: Judged, apart: Floats, key: str, sides: tuple[str, str]) -> Found:
    """Hold distances from the design against the job's limit, in its unit; one that is not known is over nothing."""
    limit = getattr(judged.job.design, key, None)
    if limit is None:
        return _nothing()
    off = apart / units.factor(judged.job.records.station_unit, judged.unit)
    rows = np.flatnonzero(np.abs(off) > limit + ROUNDING)
    side = pc.if_else(pa.array(off[rows] > 0), *(pa.scalar(word) for word in sides[::-1]))
    message = _say(
        _shown(np.abs(off[rows])), f" {judged.symbol} ", side, " of" if key == "max_offset" else "",
        " the design at its station ", judged.design.station.take(pa.array(rows)), f", where the job allows {limit:g} "
        f"{judged.symbol}",
    )  # fmt: skip
    return Found(rows, message, np.abs(off[rows]), np.full(len(rows), limit), judged.symbol, f"the job's design.{key}")


def _cover_short(judged: Judged) -> Found:
    wanted = judged.job.cover.least if judged.job.cover is not None else None
    if wanted is None:
        return _nothing()
    at, least = (
        values / units.factor(judged.job.records.station_unit, judged.unit)
        for values in (judged.cover.cover, judged.cover.least)
    )
    rows = np.flatnonzero(least < wanted - ROUNDING)
    between = pc.if_else(
        pa.array(least[rows] < at[rows] - ROUNDING), _say(" over the pipe ahead of it, ", _shown(at[rows]),
                                                          f" {judged.symbol} at the joint"), " over the joint",
    )  # fmt: skip
    message = _say(
        _shown(least[rows]),
        f" {judged.symbol} of cover",
        between,
        f", where the job asks for {wanted:g} {judged.symbol}",
    )
    return Found(rows, message, least[rows], np.full(len(rows), wanted), judged.symbol, "the job's cover.least")


def _restraint_missing(judged: Judged) -> Found:
    rows, length = judged.restraint.missing
    taken, lengths = pa.array(length), judged.restraint.lengths
    said = pc.if_else(pc.equal(judged.text("restrained").take(pa.array(rows)), "no"), "recorded as not restrained", "")
    said = pc.if_else(pc.equal(pc.fill_null(said, ""), ""), "not recorded as restrained", said)
    message = _say(
        said, ", between ", lengths.from_station.take(taken), " and ", lengths.to_station.take(taken),
        ", where the design wants it restrained: ", pa.array(judged.restraint.why, pa.string()).take(taken),
    )  # fmt: skip
    basis = _say("the design, by the job's ", pa.array(judged.restraint.named_by, pa.string()).take(taken))
    return Found(rows, message, basis=basis)


def _test_failed(judged: Judged) -> Found:
    rows = np.flatnonzero([one.result == "failed" for one in judged.tests.judged])
    lengths = judged.tests.lengths.take(rows)
    ends = _say(lengths.from_station, " to ", lengths.to_station)
    message = _say(
        "pressure test ", ends, ": ", pa.array([judged.tests.judged[at].message for at in rows], pa.string())
    )
    # In US gallons always: one unit for one column.
    measured = np.array([makeup_gal(judged.job.pressure_tests[at]) for at in rows], dtype=np.float64)
    allowance = np.array([judged.tests.judged[at].allowance_gal for at in rows], dtype=np.float64)
    joint = np.full(len(rows), -1, dtype=np.int64)
    return Found(joint, message, measured, allowance, "gal", "AWWA C600, testing allowance (from memory)", lengths)


def _test_early(judged: Judged) -> Found:
    if "inspected_on" not in judged.log.fields or not judged.tests.judged:
        return _nothing()
    dates = judged.text("inspected_on")
    after = laid_after(judged.job, judged.tests, judged.joints, dates.to_numpy(zero_copy_only=False))
    tests, count = np.unique(after[after >= 0], return_counts=True)
    first = np.array([int(np.flatnonzero(after == test)[0]) for test in tests], dtype=np.int64)
    lengths = judged.tests.lengths.take(tests)
    tested = pa.array([str(judged.job.pressure_tests[test].tested_on) for test in tests], pa.string())
    message = _say(
        "pressure test ", lengths.from_station, " to ", lengths.to_station, " of ", tested, ": ",
        _shown(count.astype(float)), " joints there were inspected after it, the first at ",
        judged.joints.station.take(pa.array(first)), " on ", pc.cast(dates.take(pa.array(first)), pa.string()),
        "; they were not under this test: a date is wrong, or the length needs another test",
    )  # fmt: skip
    joint = np.full(len(tests), -1, dtype=np.int64)
    return Found(joint, message, count.astype(float), None, None, "the dates of the log and of the test", lengths)


def _length_untested(judged: Judged) -> Found:
    lengths = judged.tests.untested
    amount = (lengths.end - lengths.start) / judged.scale
    message = _say(
        "no pressure test from ", lengths.from_station, " to ", lengths.to_station, ", ", _shown(amount),
        f" {judged.symbol}",
    )  # fmt: skip
    joint = np.full(len(lengths), -1, dtype=np.int64)
    return Found(joint, message, amount, None, judged.symbol, "the job's pressure tests", lengths)


def _in_the_survey(code: str) -> Callable[[Judged], Found]:
    """Make the check that tells what was doubtful in the survey under one code."""

    def find(judged: Judged) -> Found:
        doubted = judged.doubted
        at = np.array([row for row, one in enumerate(doubted.doubts) if one.code == code], dtype=np.int64)
        if not len(at):
            return _nothing()
        some = [doubted.doubts[row] for row in at.tolist()]
        # One unit for one check: doubts of one code come from the shots, and are in the unit of the coordinates.
        return Found(
            np.full(len(at), -1, dtype=np.int64),
            pa.array([one.message for one in some], pa.string()),
            np.array([one.value for one in some]),
            np.array([one.limit for one in some]),
            some[0].unit,
            pa.array([one.basis for one in some], pa.string()),
            doubted.lengths.take(at),
            np.array([one.vertex for one in some], dtype=np.int64),
            doubted.point.take(pa.array(at)),
        )

    return find


_FINDERS: dict[str, Callable[[Judged], Found]] = {
    "shot-astray": _in_the_survey("shot-astray"),
    "shot-order": _in_the_survey("shot-order"),
    "unit-doubtful": _in_the_survey("unit-doubtful"),
    "deflection-over": _deflection_over,
    "line-off": _line_off,
    "grade-off": _grade_off,
    "cover-short": _cover_short,
    "inspection-failed": _inspection_failed,
    "joints-missing": _joints_missing,
    "restraint-missing": _restraint_missing,
    "test-failed": _test_failed,
    "insertion-off": _insertion_off,
    "gauge-uneven": _gauge_uneven,
    "shot-repeated": _in_the_survey("shot-repeated"),
    "shot-height": _in_the_survey("shot-height"),
    "line-doubles-back": _in_the_survey("line-doubles-back"),
    "coverage-short": _in_the_survey("coverage-short"),
    "deflection-conflict": _deflection_conflict,
    "inspection-missing": _inspection_missing,
    "deflection-unclear": _deflection_unclear,
    "allowable-missing": _allowable_missing,
    "bend-angle-missing": _bend_angle_missing,
    "gap-uneven": _gap_uneven,
    "gasket-cold": _gasket_cold,
    "torque-off": _torque_off,
    "spacing-short": _spacing_short,
    "joint-repeated": _joint_repeated,
    "order-broken": _order_broken,
    "position-conflict": _position_conflict,
    "size-changes": _size_changes,
    "date-doubtful": _date_doubtful,
    "test-early": _test_early,
    "length-untested": _length_untested,
    "photo-missing": _photo_missing,
    "field-unreadable": _field_unreadable,
}

CHECKS: Sequence[Check] = [Check(code, kind.severity, _FINDERS[code]) for code, kind in CHECK_KINDS.items()]
"""Every check: its code, how severe what it finds is, and the function that finds it."""


def required_fields(job: Job, family: pa.Array) -> dict[str, Bools]:
    """Say for each field at which joints a job requires it, by their families."""
    by_family = job.inspection.required_by_family()
    coded = pc.dictionary_encode(pc.fill_null(family, ""))
    families, code = coded.dictionary.to_pylist(), coded.indices.to_numpy()
    required: dict[str, Bools] = {}
    for number, family in enumerate(families):
        plain = by_family.get(family.removeprefix("restrained-"), by_family[FALLBACK_REQUIRED])
        for field in by_family.get(family, plain):
            required[field] = required.get(field, np.zeros(len(code), dtype=np.bool_)) | (code == number)
    return required


def missing_fields(judged: Judged) -> dict[str, Bools]:
    missing = {
        field: where & ~_given(judged, field) for field, where in required_fields(judged.job, judged.family).items()
    }
    return {field: mask for field, mask in missing.items() if mask.any()}


def failed_fields(judged: Judged) -> dict[str, Bools]:
    failed = {}
    for field in set(YES_NO_FIELDS).intersection(EVIDENCE_FIELDS):
        mask = as_mask(pc.equal(judged.text(field), "no"))
        if mask.any():
            failed[field] = mask
    return {field: failed[field] for field in EVIDENCE_FIELDS if field in failed}


def _given(judged: Judged, field: str) -> Bools:
    given: Bools = as_mask(judged.text(field).is_valid())
    return given


def _spacings(
    job: Job, joints: Joints, straights: Segments, laid: Floats, scale: float
) -> tuple[Floats, Floats, Bools, Floats]:  # fmt: skip
    """Give each straight's length, the length to be expected, whether that was recorded, and what may lie between.

    Lengths on the ground, in station units.
    """
    spacing, recorded = straights.length / scale, laid > 0
    expected = np.where(recorded, laid, job.records.laying_length)
    tolerance = job.records.spacing_tolerance
    if tolerance is None:
        tolerance = SPACING_TOLERANCE_M * units.factor("m", job.records.station_unit)
    return spacing, expected, recorded, tolerance + _by_stations(job, joints, straights)


def _by_stations(job: Job, joints: Joints, straights: Segments) -> Floats:
    """Give how far errors of stations may put the ends of each straight apart, at the job's confidence."""
    off = np.where(joints.surveyed, 0.0, job.records.sigma_station)
    apart: Floats = np.hypot(off[straights.back], off[straights.back + 1])
    return bounds.one_sided(job.limits.confidence) * apart


def piece_joint(judged: Judged) -> Ints:
    """Give the joint whose record describes the pipe between each pair of joints."""
    return _piece(judged.job, judged.segments)


def _piece(job: Job, straights: Segments) -> Ints:
    return straights.back + (1 if job.records.pipe == "back" else 0)


def _is_fitting(judged: Judged) -> Bools:
    return as_mask(pc.not_equal(judged.text("kind"), "pipe"))


class BoltTorques(NamedTuple):
    """Least and most bolt torque of mechanical joints, ft-lb, by nominal size in inches: shapes (sizes,)."""

    size: Floats
    least: Floats
    most: Floats
    source: str


def bolt_torques() -> BoltTorques:
    """Give the published bolt torques.

    Source: AWWA C600 and C111, from memory.

    Examples
    --------
    >>> table = bolt_torques()
    >>> table.least[table.size == 12], table.most[table.size == 12]
    (array([75.]), array([90.]))
    """
    text = resources.files("asbuilt").joinpath("data/bolt_torque.csv").read_text("utf-8")
    rows = list(csv.DictReader(text.splitlines()))
    size, least, most = (np.array([float(row[name]) for row in rows]) for name in ("size", "least_ft_lb", "most_ft_lb"))
    return BoltTorques(size, least, most, rows[0]["source"])


def _listed(masks: dict[str, Bools], rows: Ints) -> pa.Array:
    """List, for each row, the fields whose mask holds there."""
    nothing = pa.scalar(None, pa.string())
    words = [
        pc.if_else(pa.array(mask[rows]), _FIELD_WORDS.get(field, field.replace("_", " ")), nothing)
        for field, mask in masks.items()
    ]
    if not words:
        return pa.array([], pa.string())
    return pc.binary_join_element_wise(*words, ", ", null_handling="skip")


def _say(*parts: pa.Array | str) -> pa.Array:
    return pc.binary_join_element_wise(*parts, "")


def _shown(value: Floats, decimals: int = 2) -> pa.Array:
    return pc.cast(pc.round(pa.array(value, pa.float64()), decimals), pa.string())


def _any(masks: Iterable[Bools], size: int) -> Bools:
    found = np.zeros(size, dtype=np.bool_)
    for mask in masks:
        found |= mask
    return found


def _rows(mask: pa.Array) -> Ints:
    return np.flatnonzero(as_mask(mask))


def _nothing() -> Found:
    return Found(empty_ints(), pa.array([], pa.string()))
