"""What is said of every joint: its turn and deflection with their bounds, the allowable, and the verdict."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Bools, Floats, Ints, as_ints, as_mask
from asbuilt.inputs import allowables
from asbuilt.judging import deflection, findings, fittings, pressure, readings, restraint, survey, verdicts
from asbuilt.judging.deflection import Segments, Turns
from asbuilt.judging.findings import Judged
from asbuilt.line.routes import Located, Routes, points
from asbuilt.placing.places import offset_points

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.judging.doubted import Doubted
    from asbuilt.line.stationed import StationedLine
    from asbuilt.placing.joints import Joints
    from asbuilt.placing.place import Placed


def judge(
    job: Job,
    line: StationedLine,
    log: Log,
    placed: Placed,
    limits: allowables.Allowables,
    doubts: Doubted,
    today: dt.date,
) -> tuple[Turns, Judged]:
    """Judge every joint by what the survey, the readings and the log say of it.

    Parameters
    ----------
    job : Job
    line : StationedLine
    log : Log
    placed : Placed
    limits : Allowables
    doubts : Doubted
    today : date
        Dates after it are doubtful.
    """
    joints, routes, scale = placed.joints, line.routes, line.scale
    straights = deflection.segments(joints.next_on_route, joints.easting, joints.northing, joints.elevation)
    missing = findings.missing_joints(job, log, joints, straights, scale)
    turned, bends, seen = _survey_says(job, routes, log, joints, straights, missing, scale, doubts.joints)
    taken = pa.array(joints.record)
    family = allowables.families(log.text("joint_type").take(taken), log.text("restrained").take(taken))
    allowable, source = limits.look_up(family, log.number("size")[joints.record])
    kind = log.text("kind").take(pa.array(joints.record))
    unknown_bend = as_mask(pc.equal(kind, "bend")) & ~bends.there
    measured = readings.read_readings(job, log, joints)
    agreeing = readings.agreeing(job, measured)
    bounds = _bounds(
        seen, measured, agreeing, bends, unknown_bend, allowable, deflection.one_sided(job.limits.confidence)
    )
    rests_on = _rests_on(routes, turned, seen, bends, bounds.by_readings)
    assumes = verdicts.assumption_words(rests_on)
    judged_so = pc.is_in(bounds.verdict, pa.array(["within", "over"]))
    return turned, Judged(
        job=job,
        log=log,
        joints=joints,
        segments=straights,
        missing=missing,
        scale=scale,
        seen=seen,
        turns=turned,
        deflection_deg=np.where(bounds.by_readings, measured.measured_deg, bounds.survey_deg),
        by_readings=bounds.by_readings,
        least_deg=bounds.least_deg,
        most_deg=bounds.most_deg,
        allowable_deg=allowable,
        allowable_source=source,
        verdict=verdicts.if_assumed(bounds.verdict, assumes),
        assumes=pc.if_else(judged_so, assumes, None),
        fitting_deg=np.degrees(bends.angle),
        bend_without_angle=unknown_bend,
        records=placed.records,
        joint_of_record=placed.records.joint,
        family=family,
        today=today,
        readings=measured,
        restraint=restraint.find_restraint(job, line, log, joints),
        tests=pressure.judge_tests(job, line, log, joints),
        doubted=doubts,
    )


class _Bounds(NamedTuple):
    """Between what each joint's deflection lies, at the job's confidence, degrees; what that rests on; the verdict."""

    least_deg: Floats
    most_deg: Floats
    survey_deg: Floats
    by_readings: Bools
    verdict: pa.Array


def _bounds(
    seen: survey.Seen,
    measured: readings.Readings,
    known: Bools,
    bends: fittings.Bends,
    unknown_bend: Bools,
    allowable: Floats,
    z: float,
) -> _Bounds:
    """Bound each deflection by the survey, or by the readings at the joint where the survey leaves it open."""
    computed = np.isfinite(seen.floor) & ~unknown_bend
    # Noise square to a turn only ever makes it look larger; "over" must hold without it.
    floor = np.sqrt(np.maximum(seen.floor**2 - seen.across_floor**2, 0.0))
    least = np.where(computed, np.degrees(floor - z * seen.sigma_floor), np.nan)
    most = np.where(computed, np.degrees(seen.ceiling + z * seen.sigma_ceiling), np.nan)
    by_survey = deflection.verdicts(least, most, allowable, computed)
    survey_deg = np.where(computed, np.degrees(seen.deflection), np.nan)
    if not known.any():
        return _Bounds(least, most, survey_deg, known, by_survey)
    least_read, most_read = measured.bounds_deg(z)
    # Readings at a fitting logged once are of one of its two joints, and say nothing of the other.
    most_read = np.where((bends.there | unknown_bend) & (bends.other_end < 0), np.nan, most_read)
    by_reading = deflection.verdicts(least_read, most_read, allowable, known)
    is_open = as_mask(pc.is_in(by_survey, pa.array(["cannot-tell", "not-computed"])))
    settles = as_mask(pc.is_in(by_reading, pa.array(["within", "over", "no-allowable"])))
    used = known & is_open & (settles | np.isnan(survey_deg))
    verdict = pc.if_else(pa.array(used), by_reading, by_survey)
    least, most = np.where(used, least_read, least), np.where(used, most_read, most)
    return _Bounds(least, most, survey_deg, used, verdict)


def _rests_on(
    routes: Routes, turned: Turns, seen: survey.Seen, bends: fittings.Bends, by_readings: Bools
) -> dict[str, Bools]:
    """Say at which joints a verdict would rest on what was not measured, by the words for it."""
    drawn = routes.pieces is not None
    unsaid = routes.sigma_horizontal is None, routes.sigma_vertical is None
    level = np.isnan(turned.vertical)
    rests_on = {
        "one-way": ~seen.exact,
        "level": level,
        "drawn": np.full(len(level), drawn),
        "shots-exact": (unsaid[0] | (unsaid[1] & ~level)) & (not drawn),
    }
    by_survey = {word: where & ~by_readings for word, where in rests_on.items()}
    return by_survey | {"fitting-plane": bends.there}


def _survey_says(
    job: Job,
    routes: Routes,
    log: Log,
    joints: Joints,
    straights: Segments,
    missing: Ints,
    scale: float,
    on_doubted: Bools,
) -> tuple[Turns, fittings.Bends, survey.Seen]:
    """Take the turns at the joints where the survey saw them, and what it says of each joint's deflection."""
    laying_length, sigma_along = job.records.laying_length * scale, job.records.sigma_station * scale
    if routes.pieces is not None:
        turned = deflection.turns(len(joints), straights)
        bends = _bends(log, joints, turned, straights, laying_length)
        return turned, bends, survey.exactly(turned, straights, bends, missing)
    tolerance = max(survey.AT_A_SHOT * laying_length, 2.0 * sigma_along)
    sighted = survey.sighted(routes, joints.located, tolerance, joints.surveyed, joints.own_shot)
    between_shots = _straights_between(routes, log, joints, sighted.located, scale)
    turned = deflection.turns(len(joints), between_shots)
    bends = _bends(log, joints, turned, straights, laying_length)
    astray = joints.own_shot | (np.abs(log.number("offset")[joints.position]) > 0)
    if astray.any():
        places = joints.easting, joints.northing, joints.elevation
        astray = astray & survey.off_the_line(routes, joints.located, *places, laying_length)
    seen = survey.seen(routes, sighted, between_shots, bends, missing, tolerance, sigma_along, astray)
    return turned, bends, survey.unbounded(seen, on_doubted)


def _straights_between(routes: Routes, log: Log, joints: Joints, located: Located, scale: float) -> Segments:
    line = points(routes, joints.route, located)
    easting, northing = offset_points(line, log.number("offset")[joints.position] * scale)
    places = ((joints.easting, easting), (joints.northing, northing), (joints.elevation, line.elevation))
    return deflection.segments(joints.next_on_route, *(np.where(joints.own_shot, own, on) for own, on in places))


def _bends(log: Log, joints: Joints, turned: Turns, straights: Segments, laying_length: float) -> fittings.Bends:
    """Give the bend at each joint, with its angle and where it turns to as the log has them."""
    taken = pa.array(joints.record)
    kind = log.text("kind").take(taken)
    angle = np.abs(log.number("bend_angle")[joints.record])
    angle[~(angle > 0)] = np.nan
    # An angle with nothing said of what was laid is a bend's, too.
    bend = as_mask(pc.equal(kind, "bend")) | (as_mask(kind.is_null()) & np.isfinite(angle))
    if not bend.any():
        none = np.full(len(joints), np.nan)
        return fittings.Bends(none, none, np.zeros(len(joints), dtype=np.bool_), np.full(len(joints), -1))
    angle = np.radians(np.where(bend, angle, np.nan))
    other_end, angle = fittings.two_ends(bend, angle, turned.turn, straights.back, straights.length, laying_length)
    planes = log.text("bend_plane").take(taken)
    planes = pc.coalesce(planes, planes.take(pa.array(other_end, mask=other_end < 0)))
    coded = planes.dictionary_encode()
    roll, either_way = fittings.rolls([*coded.dictionary.to_pylist(), None])
    plane = as_ints(coded.indices, len(roll) - 1)
    return fittings.Bends(angle, roll[plane], either_way[plane], other_end)
