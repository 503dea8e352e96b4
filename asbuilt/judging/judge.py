"""Every joint of a placed job judged: turns, fittings, what the survey tells, readings, allowables, verdicts."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints, as_ints, as_mask
from asbuilt.inputs import allowables
from asbuilt.inputs.log import station_form
from asbuilt.inputs.pipe import not_iron
from asbuilt.judging import (
    at_joints,
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
from asbuilt.judging.agreement import misread
from asbuilt.judging.cover import cover_of
from asbuilt.judging.doubtful_keys import sigma_is_impossible
from asbuilt.judging.judged import Judged
from asbuilt.judging.out_of_order import find_out_of_order
from asbuilt.judging.shown import Survey
from asbuilt.judging.slips import slipped
from asbuilt.line.routes import heights_measured, points
from asbuilt.placing.places import offset_points
from asbuilt.placing.sequence import joint_numbers
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
    from asbuilt.judging.station_error import StationError
    from asbuilt.judging.usual import Usual
    from asbuilt.line import projection
    from asbuilt.line.routes import Located, Routes
    from asbuilt.line.stationed import StationedLine
    from asbuilt.placing.joints import Joints
    from asbuilt.placing.place import Placed


def can_be_parted(job: Job, routes: Routes) -> bool:
    """Say whether a job may be judged in parts: of several routes, and nothing in it belongs to several of them."""
    return len(routes.names) > 1 and not (job.design or job.cover or job.restraint or job.pressure_tests)


@dataclass(frozen=True)
class InPlace:
    """A job whose records have their places."""

    job: Job
    line: StationedLine
    log: Log
    placed: Placed

    def cuts(self, most: int) -> list[tuple[int, int]]:
        """Part the job by its routes, or leave it whole where something in it belongs to several of them.

        Parameters
        ----------
        most : int
            How many joints, or shots, a part has at most; a route that has more is a part of its own.

        Returns
        -------
        list of (first route, the one behind the last)
            Each part has a joint at least.
        """
        routes = self.line.routes
        if not can_be_parted(self.job, routes):
            return [(0, len(routes.names))]
        joints = np.bincount(self.placed.joints.route, minlength=len(routes.names))
        ends, many, laid = [0], 0, 0
        for route, (own, shots) in enumerate(zip(joints.tolist(), np.diff(routes.first).tolist(), strict=True)):
            size = max(own, shots)
            if laid and own and many + size > most:
                ends.append(route)
                many = laid = 0
            many, laid = many + size, laid + own
        return list(pairwise([*ends, len(routes.names)]))


@dataclass(frozen=True)
class Ready(InPlace):
    """A placed job with all that judging and the layers need, whole or of some of its routes."""

    limits: allowables.Allowables
    doubts: Doubted
    """What is doubtful in the survey: of joints that rest on it the survey tells nothing."""
    design: DesignLine | None
    """None where the job names none; as for the next."""
    ground: Ground | None
    checked: Accuracy | None
    """None where the job has no check shots."""
    stations: StationError
    """How well the stations are known."""
    confidence: float
    """Of the verdict on one joint."""
    usual: Usual
    """What the whole log says of its joints and records."""
    today: dt.date
    """Dates after it are doubtful."""
    to_map: projection.Step
    to_degrees: projection.Step
    looked_at: int | None = None
    """How many shots without a joint the whole job has; None where this is the whole job."""

    @cached_property
    def straights(self) -> Segments:
        """The straights between successive joints, level where the elevations step as no pipe does."""
        joints = self.placed.joints
        places = joints.next_on_route, joints.easting, joints.northing
        found = deflection.segments(*places, joints.elevation)
        steps = self.doubts.on_steps(self.line.routes, joints)
        if not steps.any():
            return found
        level = deflection.segments(*places, np.full(len(joints), np.nan))
        return deflection.Segments(*(np.where(steps if one.ndim == 1 else steps[:, None], other, one)
                                     for one, other in zip(found, level, strict=True)))  # fmt: skip

    def of_routes(self, start: int, stop: int) -> Ready:
        """Give successive routes as a job of their own, from `start` up to, and without, `stop`.

        What was placed stays as it is, and so do numbers that hold for the whole job. A design and the ground are
        those of the whole job, and cannot be parted.
        """
        records, joints, first = self.placed.records, self.placed.joints, self.line.routes.first
        rows = np.flatnonzero((records.route >= start) & (records.route < stop))
        low, high = np.searchsorted(joints.route, [start, stop]).tolist()
        placed = self.placed._replace(
            records=records.of_routes(start, rows, low), joints=joints.of_routes(start, stop, rows, int(first[start]))
        )
        return replace(
            self,
            line=self.line.of_routes(start, stop),
            stations=self.stations.of_routes(start, stop),
            log=self.log.of_records(rows),
            usual=self.usual.of_records(rows),
            placed=placed,
            doubts=self.doubts.of_routes(start, stop, int(first[start]), slice(low, high)),
        )


def judge(ready: Ready) -> tuple[Turns, Judged]:
    """Judge every joint, and gather all that the checks look at.

    Parameters
    ----------
    ready : Ready

    Returns
    -------
    turns : Turns
        Of the line, at the joints.
    judged : Judged
    """
    job, line, log, joints = ready.job, ready.line, ready.log, ready.placed.joints
    routes, scale, doubts, confidence = line.routes, line.scale, ready.doubts, ready.confidence
    straights = ready.straights
    missing = found_along_lines.missing_joints(job, log, joints, straights, scale)
    apart = found_along_lines.apart(job, log, joints, straights, missing)
    family = allowables.families(joints.of_log(log.text("joint_type")), joints.of_log(log.text("restrained")))
    other = not_iron(log.fields, joints.record)
    allowable, source = ready.limits.look_up(family, log.number("size")[joints.record], other)
    turned, bends, seen, turns_left = _survey_says(ready, straights, missing, np.radians(allowable))
    numbers = joint_numbers(joints.of_log(log.text("joint")))
    disorder = find_out_of_order(job, line, log, joints, straights, numbers)
    slips = slipped(job, log, joints, straights, scale)
    absent = found_along_lines.absent(straights, missing, apart, disorder)
    seen = survey.unbounded(seen, doubts.joints | disorder.turning)
    unknown_bend = _without_angle(log, joints, bends)
    unknown_kind = _unknown_kind(log, joints, bends)
    by_stations = np.zeros(len(joints), dtype=np.bool_)
    said = job.centerline.shots_at_joints
    if not said:
        off, laying_length = ready.placed.records.apart[joints.position], job.records.laying_length * scale
        by_stations = at_joints.by_stations_alone(joints, off, seen, bends, laying_length)
    usual = ready.usual
    copied = (usual.copied[0][joints.record] >= 0) | (usual.pasted.block[joints.record] >= 0)
    mixed = usual.mixed[0].record[joints.record]
    measured = readings.read_readings(
        job, log, joints, usual.fitted_gap, usual.fine_gaps, usual.off_the_rule, usual.in_tenths, copied, mixed
    )
    measured = readings.without(measured, usual.in_order[joints.record], readings.SORTED)
    plain = ~(bends.there | unknown_bend | as_mask(unknown_kind.is_valid()) | doubts.joints | disorder.turning)
    gap = straights.back[(missing > 0) | apart]
    plain[gap] = plain[gap + 1] = False
    otherwise = misread(
        routes, joints, seen, measured, plain & ~doubts.displaced & ~doubts.drawn, readings.sigma_reading(job),
        job.limits.confidence, in_inches=job.records.readings_in == "in",
    )  # fmt: skip
    for reason, where in otherwise.reason:
        measured = readings.without(measured, where, reason)
    agreeing = readings.agreeing(job, measured)
    by_itself = bends.there | unknown_bend | as_mask(unknown_kind.is_valid()) | agreeing
    found = verdicts.judge(
        verdicts.Evidence(
            seen=seen,
            read=measured.vector,
            agreeing=agreeing,
            at_odds=otherwise.at_odds,
            bends=bends,
            unknown_bend=unknown_bend,
            unknown_kind=as_mask(unknown_kind.is_valid()),
            slopes=_slopes(straights, len(joints)),
            allowable=np.radians(allowable),
            allowable_doubted=ready.limits.doubtful(family, log.number("size")[joints.record]),
            route=joints.route,
            stated=(_stated(routes.sigma_horizontal, routes.unit), _stated(routes.sigma_vertical, routes.unit)),
            drawn=doubts.drawn | (not routes.shot),
            by_stations=by_stations & (said is False),
            untold=doubts.untold[joints.route],
            mirrored=_mirrored(ready, allowable, by_itself),
            confidence=confidence,
            main_confidence=job.limits.confidence,
        )
    )
    beside = np.zeros(len(joints), dtype=np.bool_)
    beside[straights.back[apart]] = beside[straights.back[apart] + 1] = True
    found, unsettled = verdicts.without_assumed(found, beside)
    turned = deflection.Turns(*(np.where(unsettled, np.nan, one) for one in turned))
    # Joints that lie off their shots may be the ones that turn there.
    turns_left = turns_left.of(~np.isin(turns_left.back, straights.back[apart]) & ~doubts.displaced[turns_left.back])
    return turned, Judged(
        job=job,
        log=log,
        joints=joints,
        segments=straights,
        missing=missing,
        absent=absent,
        apart=apart,
        scale=scale,
        seen=seen,
        turns=turned,
        judgement=found,
        allowable_deg=allowable,
        allowable_source=source,
        not_restrained=ready.limits.not_restrained(family, log.number("size")[joints.record]),
        confidence=confidence,
        fitting_deg=np.degrees(bends.angle),
        bend_without_angle=unknown_bend,
        unknown_kind=unknown_kind,
        bend_other_way=bends.other_way,
        bend_upright=bends.upright,
        records=ready.placed.records,
        joint_of_record=ready.placed.records.joint,
        family=family,
        today=ready.today,
        usual=ready.usual,
        readings=measured,
        misread=otherwise.notes,
        restraint=restraint.find_restraint(job, line, log, joints),
        tests=pressure.judge_tests(job, line, log, joints),
        design=against_design(job, ready.design, log, joints, routes, station_form(job, log)),
        cover=cover_of(job, ready.ground, log, joints, straights, routes),
        known_to=places.joint_accuracy(
            ready.checked,
            line,
            joints,
            _turning(ready, np.radians(allowable), bends.angle, unknown_bend),
            ready.stations.sigma[joints.route],
            ready.stations.words,
            job.records.laying_length * scale,
        )
        .farther(doubts.moved + doubts.off_shots + doubts.drifted + np.fmax(disorder.off, slips))
        .aside(doubts.may_lie(joints, "aside") + doubts.beside_the_line(routes, joints), doubts.may_lie(joints, "up"))
        .unless(np.isnan(disorder.off))
        .unless((doubts.drawn | doubts.on_lost_lines(joints)) & ~joints.surveyed),
        unit=routes.unit,
        doubted=doubts,
        by_stations=by_stations & ~doubts.drawn & routes.shot & (said is None),
        unlogged=turns_left,
        unlogged_shot=pa.array([label(routes, one) for one in turns_left.shot.tolist()], pa.string()),
        numbers=numbers,
        out_of_order=disorder,
        slips=slips,
    )


def _stated(sigma: Floats | None, unit: str) -> bool:
    """Say whether the error of the shots is stated as one that shots can have."""
    return sigma is not None and not sigma_is_impossible(sigma, unit)


def _mirrored(ready: Ready, allowable: Floats, by_itself: Bools) -> Ints:
    """Give the joint in whose place each stands if its line runs the other way, where nothing tells that it does not.

    It is -1 on all other routes, and on those of which a joint would stand beside the places of the others, or in that
    of one that allows another deflection, or has a bend or readings: what the survey tells there may be another thing.
    """
    routes, joints = ready.line.routes, ready.placed.joints
    mirrored = np.full(len(joints), -1, dtype=np.int64)
    rows = np.flatnonzero(ready.doubts.untold[joints.route])
    if not len(rows):
        return mirrored
    route, many = joints.route[rows], len(routes.names)
    ends = np.searchsorted(joints.route, np.arange(many + 1))
    other = ends[route] + ends[route + 1] - 1 - rows
    beside = np.abs(joints.distance[other] + joints.distance[rows] - routes.length[route]) > _at_a_shot(ready)
    beside |= np.abs(ready.log.number("offset")[joints.position[rows]]) > 0
    unlike = beside | by_itself[rows] | ~np.isclose(allowable[rows], allowable[other], equal_nan=True)
    mirrored[rows] = np.where(np.bincount(route, unlike, many)[route] > 0, -1, other)
    return mirrored


def looked_at(ready: Ready) -> int:
    """Count the shots on which no joint of the log has a part, of which each is looked at for a turn."""
    if not ready.line.routes.shot:
        return 0
    doubted, joints = Doubts(ready.doubts.doubts).shots(), ready.placed.joints
    # Of most surveys each shot is at a joint, or has joints beside it.
    if not len(unlogged.between_joints(ready.line.routes, _sighted(ready).located, doubted)[0]):
        return 0
    missing = found_along_lines.missing_joints(ready.job, ready.log, joints, ready.straights, ready.line.scale)
    shown, _ = _shown(ready, ready.straights, missing, np.full(len(joints), np.nan))
    return len(unlogged.without_joints(shown, doubted)[0])


def _turning(ready: Ready, allowable: Floats, angle: Floats, unknown_bend: Bools) -> places.Turning:
    """Say what may turn the line between its shots; a bend of unknown angle may turn far."""
    job, joints = ready.job, ready.placed.joints
    bend = np.where(unknown_bend, np.radians(places.LIKELY_BEND_DEG), angle)
    size = ready.log.number("size")[joints.record]
    to_end = fittings.center_to_end_m(bend, size, job.records.sizes_in) * units.factor("m", ready.line.routes.unit)
    return places.Turning(bend, allowable, to_end, job.centerline.accuracy_rests_on == "allowables")


def _survey_says(
    ready: Ready, straights: Segments, missing: Ints, allowable: Floats
) -> tuple[Turns, Bends, survey.Seen, unlogged.Unlogged]:
    """Take the turns at the joints where the survey saw them, and what it says of each joint's deflection."""
    routes, joints = ready.line.routes, ready.placed.joints
    if not routes.shot:
        straights = _as_drawn(routes, joints, straights)
        turned = deflection.turns(len(joints), straights)
        bends = _bends(ready.log, joints, turned, straights, ready.job.records.laying_length * ready.line.scale)
        return turned, bends, survey.as_drawn(turned, straights, bends, missing), unlogged.nothing_unlogged()
    shown, turned = _shown(ready, straights, missing, allowable)
    seen = survey.what_it_tells(shown)
    doubted = Doubts(ready.doubts.doubts).shots()
    turns_left = unlogged.unlogged_turns(shown, doubted, ready.looked_at)
    return survey.as_seen(seen, turned, shown), shown.bends, seen, turns_left


def _shown(ready: Ready, straights: Segments, missing: Ints, allowable: Floats) -> tuple[Survey, Turns]:
    """Give what was shot and what was laid there, and the turns of the straights between what was shot."""
    routes, scale, log, joints = ready.line.routes, ready.line.scale, ready.log, ready.placed.joints
    records = ready.job.records
    laying_length, tolerance, sighted = records.laying_length * scale, _at_a_shot(ready), _sighted(ready)
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
        heights=_heights(routes, joints, tolerance),
        astray=_astray(routes, log, joints, laying_length),
        allowable=allowable,
        tolerance=tolerance,
        sigma_along=ready.stations.in_verdicts,
        laying_length=laying_length,
        confidence=ready.confidence,
    )
    return shown, turned


def _at_a_shot(ready: Ready) -> float:
    """Give how near to a shot a joint is taken to lie at it, coordinate units."""
    laying_length = ready.job.records.laying_length * ready.line.scale
    return max(sightings.AT_A_SHOT * laying_length, 2.0 * ready.stations.in_verdicts)


def _sighted(ready: Ready) -> sightings.Sighted:
    joints = ready.placed.joints
    return sightings.sighted(
        ready.line.routes, joints.located, _at_a_shot(ready), joints.surveyed, joints.own_shot, joints.rounded,
        joints.rounded_up,
    )  # fmt: skip


def _heights(routes: Routes, joints: Joints, tolerance: float) -> Bools:
    """Say of which joints shot by themselves the elevation was measured, too: with them, or at a shot of the line.

    Elsewhere that is the line's, which between its shots is where these put it.
    """
    vertex, weight = joints.located
    leg = np.maximum(np.diff(routes.along), 0.0)[vertex]
    measured = heights_measured(routes)
    at_back, at_ahead = weight * leg <= tolerance, (1.0 - weight) * leg <= tolerance
    there = (at_back & measured[vertex]) | (at_ahead & measured[vertex + 1])
    found: Bools = np.isfinite(joints.elevation) & (joints.own_height | there)
    return found


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
    found: Bools = as_mask(pc.equal(joints.of_log(log.text("kind")), "bend")) & ~bends.there
    return found


def _unknown_kind(log: Log, joints: Joints, bends: Bends) -> pa.Array:
    """Give what the log says was laid where that cannot be read, and no angle makes a bend of it; null elsewhere."""
    kinds = np.flatnonzero(as_mask(pc.equal(log.unreadable.field, "kind")))
    if not len(kinds):
        return pa.nulls(len(joints), pa.string())
    record = log.unreadable.record[kinds]
    at = np.minimum(np.searchsorted(record, joints.record), len(record) - 1)
    told = (record[at] == joints.record) & ~bends.there
    return log.unreadable.text.take(pa.array(kinds[at], mask=~told))


def _bends(log: Log, joints: Joints, turned: Turns, straights: Segments, laying_length: float) -> Bends:
    """Give the bend at each joint, with its angle and where it turns to as the log has them."""
    kind = joints.of_log(log.text("kind"))
    angle = np.abs(log.number("bend_angle")[joints.record])
    angle[~(angle > 0)] = np.nan
    # An angle with nothing said of what was laid is a bend's, too.
    bend = as_mask(pc.equal(kind, "bend")) | (as_mask(kind.is_null()) & np.isfinite(angle))
    if not bend.any():
        none = np.full(len(joints), np.nan)
        return fittings.Bends(none, none, np.zeros(len(joints), dtype=np.bool_), np.full(len(joints), -1), none)
    angle = np.radians(np.where(bend, angle, np.nan))
    other_end, angle = fittings.two_ends(bend, angle, turned.turn, straights.back, straights.length, laying_length)
    planes = joints.of_log(log.text("bend_plane"))
    planes = pc.coalesce(planes, planes.take(pa.array(other_end, mask=other_end < 0)))
    coded = planes.dictionary_encode()
    roll, either_way = fittings.rolls([*coded.dictionary.to_pylist(), None])
    plane = as_ints(coded.indices, len(roll) - 1)
    roll, either_way = roll[plane], either_way[plane]
    other_way = fittings.turned_other_way(
        angle, roll, either_way, other_end, turned.horizontal, turned.vertical, joints.route
    )
    return fittings.Bends(angle, roll, either_way | np.isfinite(other_way), other_end, other_way)
