"""Every joint of a placed job judged: turns, fittings, what the survey tells, readings, allowables, verdicts."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Bools, Floats, Ints, as_ints, as_mask
from asbuilt.inputs import allowables
from asbuilt.inputs.log import station_form
from asbuilt.judging import (
    deflection,
    fittings,
    found_along_lines,
    places,
    pressure,
    readings,
    restraint,
    sightings,
    survey,
    unlogged,
    verdicts,
)
from asbuilt.judging.against_design import against_design
from asbuilt.judging.cover import cover_of
from asbuilt.judging.judged import Judged
from asbuilt.judging.shown import Survey
from asbuilt.line.routes import points
from asbuilt.placing.places import offset_points
from asbuilt.survey.doubts import Doubts, label

if TYPE_CHECKING:
    import datetime as dt

    from asbuilt.inputs.design import DesignLine
    from asbuilt.inputs.ground import Ground
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.judging.accuracy import Accuracy
    from asbuilt.judging.deflection import Segments, Turns
    from asbuilt.judging.doubted import Doubted
    from asbuilt.judging.fittings import Bends
    from asbuilt.line.routes import Located, Routes
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
    design: DesignLine | None,
    ground: Ground | None,
    checked: Accuracy | None,
    today: dt.date,
) -> tuple[Turns, Judged]:
    """Judge every joint, and gather all that the checks look at.

    Parameters
    ----------
    job : Job
    line : StationedLine
    log : Log
    placed : Placed
    limits : Allowables
    doubts : Doubted
        What is doubtful in the survey: of joints that rest on it the survey tells nothing.
    design : DesignLine, or None where the job names none
    ground : Ground, or None where the job names none
    checked : Accuracy, or None where the job has no check shots
    today : date
        Dates after it are doubtful.

    Returns
    -------
    turns : Turns
        Of the line, at the joints.
    judged : Judged
    """
    joints, routes, scale = placed.joints, line.routes, line.scale
    straights = deflection.segments(joints.next_on_route, joints.easting, joints.northing, joints.elevation)
    missing = found_along_lines.missing_joints(job, log, joints, straights, scale)
    taken = pa.array(joints.record)
    family = allowables.families(log.text("joint_type").take(taken), log.text("restrained").take(taken))
    allowable, source = limits.look_up(family, log.number("size")[joints.record])
    confidence = verdicts.confidence_of_joint(job.limits.confidence, job.limits.confidence_of, joints.route)
    turned, bends, seen, turns_left = _survey_says(
        job, line, log, joints, straights, missing, np.radians(allowable), confidence, doubts
    )
    seen = survey.unbounded(seen, doubts.joints)
    unknown_bend = _without_angle(log, joints, bends)
    measured = readings.read_readings(job, log, joints)
    found = verdicts.judge(
        verdicts.Evidence(
            seen=seen,
            read=measured.vector,
            agreeing=readings.agreeing(job, measured),
            bends=bends,
            unknown_bend=unknown_bend,
            slopes=_slopes(straights, len(joints)),
            allowable=np.radians(allowable),
            route=joints.route,
            stated=(routes.sigma_horizontal is not None, routes.sigma_vertical is not None),
            drawn=not routes.shot,
            confidence=confidence,
            main_confidence=job.limits.confidence,
        )
    )
    return turned, Judged(
        job=job,
        log=log,
        joints=joints,
        segments=straights,
        missing=missing,
        scale=scale,
        seen=seen,
        turns=turned,
        judgement=found,
        allowable_deg=allowable,
        allowable_source=source,
        confidence=confidence,
        fitting_deg=np.degrees(bends.angle),
        bend_without_angle=unknown_bend,
        records=placed.records,
        joint_of_record=placed.records.joint,
        family=family,
        today=today,
        readings=measured,
        restraint=restraint.find_restraint(job, line, log, joints),
        tests=pressure.judge_tests(job, line, log, joints),
        design=against_design(job, design, log, joints, routes, station_form(job, log)),
        cover=cover_of(job, ground, log, joints, straights, routes),
        known_to=_known_to(job, checked, line, joints, np.radians(allowable), bends.angle, unknown_bend),
        unit=routes.unit,
        doubted=doubts,
        unlogged=turns_left,
        unlogged_shot=pa.array([label(routes, one) for one in turns_left.shot.tolist()], pa.string()),
    )


def _known_to(
    job: Job,
    checked: Accuracy | None,
    line: StationedLine,
    joints: Joints,
    allowable: Floats,
    angle: Floats,
    unknown_bend: Bools,
) -> places.KnownTo:
    """Say how well each joint's place is known; a bend of unknown angle may turn far."""
    bend = np.where(unknown_bend, np.radians(places.LIKELY_BEND_DEG), angle)
    turning = places.Turning(bend, allowable, job.centerline.accuracy_rests_on == "allowables")
    along, length = (one * line.scale for one in (job.records.sigma_station, job.records.laying_length))
    return places.joint_accuracy(checked, line, joints, turning, along, length)


def _survey_says(
    job: Job,
    line: StationedLine,
    log: Log,
    joints: Joints,
    straights: Segments,
    missing: Ints,
    allowable: Floats,
    confidence: float,
    doubts: Doubted,
) -> tuple[Turns, Bends, survey.Seen, unlogged.Unlogged]:
    """Take the turns at the joints where the survey saw them, and what it says of each joint's deflection."""
    routes, scale = line.routes, line.scale
    laying_length, sigma_along = job.records.laying_length * scale, job.records.sigma_station * scale
    if not routes.shot:
        straights = _as_drawn(routes, joints, straights)
        turned = deflection.turns(len(joints), straights)
        bends = _bends(log, joints, turned, straights, laying_length)
        return turned, bends, survey.as_drawn(turned, straights, bends, missing), unlogged.nothing_unlogged()
    tolerance = max(sightings.AT_A_SHOT * laying_length, 2.0 * sigma_along)
    sighted = sightings.sighted(routes, joints.located, tolerance, joints.surveyed, joints.own_shot)
    between_shots = _straights_between(routes, log, joints, sighted.located, scale)
    turned = deflection.turns(len(joints), between_shots)
    bends = _bends(log, joints, turned, straights, laying_length)
    shown = Survey(
        routes=routes,
        joints=sighted,
        straights=between_shots,
        bends=bends,
        unknown_bend=_without_angle(log, joints, bends),
        missing=missing,
        heights=np.isfinite(joints.elevation),
        astray=_astray(routes, log, joints, laying_length),
        allowable=allowable,
        tolerance=tolerance,
        sigma_along=sigma_along,
        laying_length=laying_length,
        confidence=confidence,
    )
    seen = survey.what_it_tells(shown)
    errors = sightings.ShotErrors.of(routes, sighted, sigma_along)
    turns_left = unlogged.unlogged_turns(shown, errors, Doubts(doubts.doubts).shots())
    return survey.as_seen(seen, turned, routes), bends, seen, turns_left


def _as_drawn(routes: Routes, joints: Joints, straights: Segments) -> Segments:
    """Leave out elevations that the line does not have itself, but were put between those that it has."""
    if routes.pieces is not None or routes.height_measured is None:
        return straights
    filled = places.put_between(routes, joints) & ~joints.surveyed
    elevation = np.where(filled, np.nan, joints.elevation)
    return deflection.segments(joints.next_on_route, joints.easting, joints.northing, elevation)


def _astray(routes: Routes, log: Log, joints: Joints, laying_length: float) -> Bools:
    """Say which joints were shot, or logged, off the line."""
    astray = joints.own_shot | (np.abs(log.number("offset")[joints.position]) > 0)
    if astray.any():
        places = joints.easting, joints.northing, joints.elevation
        astray = astray & sightings.off_the_line(routes, joints.located, *places, laying_length)
    return astray


def _slopes(straights: Segments, count: int) -> tuple[Floats, Floats]:
    """Give the inclination of the pipe back and of the pipe ahead of each joint; NaN where it is not known."""
    back, ahead = np.full(count, np.nan), np.full(count, np.nan)
    back[straights.back + 1], ahead[straights.back] = straights.inclination, straights.inclination
    return back, ahead


def _straights_between(routes: Routes, log: Log, joints: Joints, located: Located, scale: float) -> Segments:
    # What is judged is what was shot: a curve laid through the shots measures nothing.
    line = points(replace(routes, arcs=None), joints.route, located)
    easting, northing = offset_points(line, log.number("offset")[joints.position] * scale)
    places = ((joints.easting, easting), (joints.northing, northing), (joints.elevation, line.elevation))
    return deflection.segments(joints.next_on_route, *(np.where(joints.own_shot, own, on) for own, on in places))


def _without_angle(log: Log, joints: Joints, bends: Bends) -> Bools:
    """Say which joints are bends of which the log does not say by how much they turn."""
    found: Bools = as_mask(pc.equal(log.text("kind").take(pa.array(joints.record)), "bend")) & ~bends.there
    return found


def _bends(log: Log, joints: Joints, turned: Turns, straights: Segments, laying_length: float) -> Bends:
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
