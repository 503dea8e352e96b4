"""What is doubtful in the survey, with its stations, and the joints whose turns rest on a doubted shot."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from functools import cache, partial
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints, as_mask
from asbuilt.errors import InputFileError
from asbuilt.held import blocks, give_back, held, in_blocks
from asbuilt.inputs.allowables import families
from asbuilt.inputs.log import station_form
from asbuilt.inputs.pipe import not_iron
from asbuilt.judging.sightings import AT_A_SHOT
from asbuilt.judging.stretches import Stretches
from asbuilt.judging.wrong_ties import wrong_ties
from asbuilt.line import stationing
from asbuilt.line.routes import between
from asbuilt.line.stationed import stationed_line
from asbuilt.notes import OfRoutes, Said
from asbuilt.placing.bends_of_log import bends_logged
from asbuilt.placing.laid import with_laid_stations
from asbuilt.placing.place import record_routes
from asbuilt.survey import (
    across,
    against_log,
    at_shots,
    bends,
    coverage,
    direction,
    evenness,
    heights,
    heights_of_log,
    rings,
    runs,
    screening,
    shifts,
    slid,
    system,
)
from asbuilt.survey.bends_logged import turned_in_plan
from asbuilt.survey.doubts import Doubt, Doubts, checked, point_name, refuse_absent

if TYPE_CHECKING:
    from asbuilt.inputs.allowables import Allowables
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.line.routes import Routes
    from asbuilt.line.stationed import StationedLine
    from asbuilt.placing.joints import Joints
    from asbuilt.placing.place import Placed
    from asbuilt.survey.bends_logged import BendsLogged


SPACING_SLACK = 0.05
"""Stations are this near to a laying length apart, as a part of it, once their unit is right."""

_STEP_NEAR = 3.0
"""Laying lengths from a doubted shot within which joints that begin to lie off their shots do so by that shot."""


class Doubted(NamedTuple):
    """What is doubtful in the survey, each with its length; and what rests on it."""

    doubts: tuple[Doubt, ...]
    lengths: Stretches
    point: pa.Array
    """Name of the shot of each doubt; null where it is about a length."""
    joint_shot: pa.Array
    """Name of the doubted shot on which each joint's turn rests; null where none."""
    moved: Floats
    """By how much doubted shots may put each joint too far back along its route, coordinate units."""
    off_shots: Floats
    """By how much each joint lies off its shot, as those beside it do, coordinate units."""
    drifted: Floats
    """By how much each may lie off its shot, as stations count more and more, or less, than the line is long."""
    displaced: Bools
    """True where the first two, or a line that is another's, parts a joint from the shots that show it."""
    drawn: Bools
    """True for joints that rest on shots which are too even to be any: there the line is taken as drawn."""
    untold: Bools
    """True for routes of which nothing tells which way they run, but for rings: shape (routes,)."""

    def of_routes(self, start: int, stop: int, first_vertex: int, joints: slice) -> Doubted:
        """Give what is doubtful on successive routes, from `start` up to, and without, `stop`."""
        rows = np.flatnonzero((self.lengths.route >= start) & (self.lengths.route < stop))
        lengths = self.lengths.take(rows)
        doubts = [self.doubts[at] for at in rows.tolist()]
        return Doubted(
            tuple(
                one._replace(
                    route=one.route - start,
                    no_shots=(),
                    **{name: at - first_vertex for name in ("vertex", "last") if (at := getattr(one, name)) >= 0},
                )
                for one in doubts
            ),
            replace(lengths, route=lengths.route - start),
            self.point.take(pa.array(rows)),
            self.joint_shot[joints],
            self.moved[joints],
            self.off_shots[joints],
            self.drifted[joints],
            self.displaced[joints],
            self.drawn[joints],
            self.untold[start:stop],
        )

    def on_lost_lines(self, joints: Joints) -> Bools:
        """Joints on lines that their logs run on beyond, or that are, or may be, other lines: nobody knows where."""
        lost = np.isin(joints.route, [one.route for one in self.doubts if one.longer < 0 or one.misplaced])
        return lost | self.on_another(joints)

    def on_another(self, joints: Joints) -> Bools:
        """Joints that may stand on another line, since shots there may be those of another main."""
        return _on_another(joints, self.doubts)

    def on_steps(self, routes: Routes, joints: Joints) -> Bools:
        """Tell which straights lie on legs along which doubted elevations step up or down, shape (segments,)."""
        legs = np.zeros(len(routes.easting), dtype=np.bool_)
        for one in self.doubts:
            if one.code == "shot-height" and one.vertex >= 0:
                legs[slice(one.vertex, one.last) if one.last >= 0 else one.vertex - 1] = True
        back = joints.next_on_route
        if not legs.any():
            return np.zeros(len(back), dtype=np.bool_)
        upto = np.concatenate([[0], np.cumsum(legs)])
        vertex, weight = joints.located
        found: Bools = upto[vertex[back + 1] + (weight[back + 1] > 0.0)] > upto[vertex[back] + (weight[back] == 1.0)]
        return found

    def may_lie(self, joints: Joints, way: Literal["aside", "up"]) -> Floats:
        """Give by how much joints may lie aside, or up or down, as shots from one on do: which are right shows nowhere.

        Joints whose place, or elevation, is no shot's of the centerline have theirs from elsewhere.
        """
        by = np.zeros(int(joints.route.max(initial=-1)) + 1)
        known = [one for one in self.doubts if one.route < len(by)]
        np.add.at(by, [one.route for one in known], [getattr(one, way) for one in known])
        apart = joints.own_shot if way == "aside" else joints.own_height
        return np.where(apart, 0.0, by[joints.route])

    def beside_the_line(self, routes: Routes, joints: Joints) -> Floats:
        """Give by how much joints may lie aside as a shot beside them does: off the straight between those around it.

        Nothing where they were surveyed themselves, or where shots from one on lie aside, which `may_lie` counts.
        """
        off = np.zeros(len(routes.easting))
        for one in self.doubts:
            if one.vertex >= 0 and one.code in _OFF_THE_LINE and not one.aside:
                shots = np.arange(one.vertex, max(one.vertex, one.last) + 1)
                off[shots] = np.maximum(off[shots], _off_the_straight(routes, shots))
        return np.where(joints.surveyed, 0.0, between(off, joints.located))

    def misplaced(self, joints: Joints) -> Bools:
        """Joints that all lie elsewhere than on that part of the line where their stations put them."""
        return _misplaced(joints, self.doubts)

    def places(self, routes: Routes) -> dict[str, list[dict[str, Any]]]:
        """Give the lengths on which joints that stations place may stand elsewhere, by the name of their route.

        Parameters
        ----------
        routes : Routes

        Returns
        -------
        dict
            Of each length the `code` of the finding, or the note, that says so, its ends as distances along the route,
            `from` and `to`, and whether all joints there are known to stand elsewhere, `misplaced`.
        """
        found: dict[str, list[dict[str, Any]]] = {}
        for one in self.doubts:
            if (ends := _unsure(routes, one)) is not None:
                # No joint at an end is left out by rounding.
                low, high = np.floor(1e3 * ends[0]) / 1e3, np.ceil(1e3 * ends[1]) / 1e3
                about = {"code": one.code, "from": float(low), "to": float(high)}
                said = found.setdefault(routes.names[one.route], [])
                said += [new for new in [about | {"misplaced": one.misplaced}] if new not in said]
        for route in np.flatnonzero(self.untold).tolist():
            whole = {"code": "direction-untold", "from": 0.0, "to": float(routes.length[route]), "misplaced": False}
            found.setdefault(routes.names[route], []).append(whole)
        return {name: found[name] for name in routes.names if name in found}

    @property
    def joints(self) -> Bools:
        """Joints of whose turns the survey tells nothing, since a shot there, or before them, is doubted."""
        return as_mask(self.joint_shot.is_valid()) | self.displaced


_OFF_THE_LINE = ("shot-astray", "shot-order", "line-doubles-back")
"""Findings at shots that lie off the line which the others make."""
_IN_PLACE = ("shot-height", "shot-repeated", "coverage-short", "joints-off-shots")
"""Findings that leave joints where they stand in plan, unless they say by how much they do not."""


def _off_the_straight(routes: Routes, shots: Ints) -> Floats:
    """Give how far successive shots lie off the straight between those around them; at an end, from one another."""
    import shapely

    back, ahead = shots[0] - 1, shots[-1] + 1
    route = routes.vertex_route
    if back < 0 or ahead >= len(route) or route[back] != route[ahead]:
        apart = float(np.hypot(*(one[shots[-1]] - one[shots[0]] for one in (routes.easting, routes.northing))))
        return np.full(len(shots), apart)
    east, north = (one[[back, ahead]] for one in (routes.easting, routes.northing))
    straight = shapely.LineString(np.column_stack([east, north]))
    off: Floats = shapely.distance(straight, shapely.points(routes.easting[shots], routes.northing[shots]))
    return off


def _unsure(routes: Routes, one: Doubt) -> tuple[float, float] | None:
    """Give the length along its route on which a doubt leaves open where joints stand; None where there is none."""
    end = float(routes.length[one.route])
    if one.misplaced or one.longer < 0:
        return 0.0, end
    if one.of_another:
        return one.start, one.end
    if one.longer > 0 or one.drift > 0 or one.code == "equation-ignored":
        return one.start, end
    if one.off_shots == 0 and one.code in _IN_PLACE:
        return None
    if one.vertex < 0:
        return one.start, one.end
    # A place between two shots rests on both.
    low, high = int(routes.first[one.route]), int(routes.first[one.route + 1]) - 1
    beside = max(one.vertex - 1, low), min(max(one.vertex, one.last) + 1, high)
    return float(routes.distance[beside[0]]), float(routes.distance[beside[1]])


def most_deflection(log: Log, limits: Allowables) -> float:
    """Give the most that any joint of a log may deflect, radians; where nothing says it, more than any joint may."""

    def most(some: slice) -> Floats:
        part = log.of_records(np.arange(some.start, some.stop))
        family = families(part.text("joint_type"), part.text("restrained"))
        allowed = limits.degrees(family, part.number("size"), not_iron(part.fields, np.arange(len(part))))
        return np.array([allowed.max(initial=0.0)])

    found = float(in_blocks(most, len(log)).max())
    return float(np.radians(found)) if np.isfinite(found) and len(log) else screening.JOINT_MOST


def screened(
    job: Job, routes: Routes, read: Callable[[], Log], limits: Allowables
) -> tuple[Routes, list[Doubt], list[Said]]:
    """Hold a survey against itself and its coordinate system before anything is placed on it.

    Parameters
    ----------
    job : Job
    routes : Routes
    read : function
        Gives the log, whose bends may turn a line back between sparse shots. What needs no log is done before it is
        asked for, as it may still be read.
    limits : Allowables
        What joints of the log may deflect.

    Returns
    -------
    routes : Routes
        Without elevations that are none.
    doubts : list of Doubt
    notes : list of str or OfRoutes

    Raises
    ------
    InputFileError, JobFileError
        When the survey is certain to be wrong.
    """
    refuse_absent(routes, job.centerline.shots_checked)
    samples = system.a_point_of_each(routes)
    system.refuse_foreign(routes, samples)
    system.refuse_strays(routes)
    notes: list[Said] = [*system.refuse_scale(routes, samples, job.centerline.combined_factor)]
    notes += heights.of_one_number(job, routes)
    strung = across.strung_across(job, routes)
    log = read()
    most = most_deflection(log, limits)
    give_back(max(len(routes.easting), len(log)))

    def logged() -> BendsLogged:
        line = stationed_line(job, routes)
        stationed, _ = with_laid_stations(job, line, log)
        return bends_logged(line, stationed, record_routes(stationed, line), job.records.laying_length * line.scale)

    doubts = screening.screen(job, routes, most, logged)
    give_back(len(routes.easting))
    routes, high = heights.screen_heights(job, routes, most)
    doubts += strung
    give_back(len(routes.easting))
    doubts, high = _with_shifts(job, routes, doubts, high, most)
    if job.records.stationing == "slope":
        routes = heights.without_spikes(routes, high)
    return routes, [*doubts, *high, *evenness.even_shots(job, routes)], notes


def _with_shifts(
    job: Job, routes: Routes, doubts: list[Doubt], high: list[Doubt], most: float
) -> tuple[list[Doubt], list[Doubt]]:
    """Add the runs of shots that lie off, and those from which on all do, where nothing is told beside them already."""
    if routes.pieces is not None:
        return doubts, high
    laying = job.records.laying_length * units.factor(job.records.station_unit, routes.unit)
    right = checked(routes, job.centerline.shots_checked)
    # Those tell more of the shots than that the line turns back at one.
    back = [one for one in doubts if one.code == "line-doubles-back"]
    doubts = _added([one for one in doubts if one not in back], runs.branches(routes), right)
    doubts = _added(_added(doubts, back, right), runs.runs_aside(routes, laying, most), right)
    high = _added(high, runs.runs_up(routes, routes.elevation, laying, most), right)
    aside, up = shifts.shifted_aside(routes, laying, most), shifts.shifted_up(routes, routes.elevation, laying, most)
    return _added(doubts, aside, right), _added(high, up, right)


def _added(told: list[Doubt], more: Iterable[Doubt], right: Bools) -> list[Doubt]:
    about = {at for one in told if one.vertex >= 0 for at in range(one.vertex - 1, max(one.vertex, one.last) + 2)}
    new = ((one, max(one.vertex, one.last)) for one in more)
    return told + [
        one
        for one, last in new
        if not (right[one.vertex : last + 1].any() or about & set(range(one.vertex - 1, last + 1)))
    ]


def against_the_log(
    job: Job, line: StationedLine, log: Log, placed: Placed, doubts: Sequence[Doubt]
) -> tuple[StationedLine, Joints, Doubted, list[OfRoutes], list[OfRoutes]]:
    """Hold the survey against the log that was placed on it.

    Parameters
    ----------
    job : Job
    line : StationedLine
    log : Log
    placed : Placed
    doubts : sequence of Doubt
        Of the survey alone; those that bends in the log explain are left out.

    Returns
    -------
    line, joints
        Without the elevations that are doubted.
    doubted : Doubted
    notes : list of OfRoutes
        Of the direction of lines.
    heights : list of OfRoutes
        Of elevations in the log.

    Raises
    ------
    InputFileError
        When a line runs against its stations.
    """
    routes, joints, form = line.routes, placed.joints, station_form(job, log)
    logged = logged_on(job, line, log, joints)
    start, _ = line.station_at_distance(np.arange(len(routes.names)), np.zeros(len(routes.names)))
    texts = stationing.format_stations(start, form).to_pylist()
    at = placed.records
    bent = cache(partial(bends_logged, line, log, at.route, logged.laying, at.distance))
    left = against_log.unexplained(doubts, routes, logged, bent)
    of_shots = len(left)
    told = {one.vertex for one in left}
    left += [one for one in against_log.ends_astray(routes, logged) if one.vertex not in told]
    corners = bends.corners_of(routes, logged)
    found = direction.direction(routes, logged, corners, bent, left)
    # Ties and joints surveyed themselves would not fit a line that runs the other way; a log of another line tells
    # nothing of the way of this one.
    known = np.bincount(joints.route[joints.surveyed | joints.tied], minlength=len(routes.names)) > 0
    alone = np.flatnonzero(~known[joints.route])
    known[[one.route for one in placed.ignored if one.misplaced]] = True
    rung = rings.strung_elsewhere(routes, _some_of(logged, alone[~known[joints.route[alone]]]))
    known[[one.route for one in rung.doubts]] = True
    notes, backward, asked = direction.refuse_backward(
        routes, found._replace(forward=found.forward | known), job.centerline.starts, [text or "" for text in texts],
        np.unique(joints.route), rung.untold, job.centerline.reversed,
    )  # fmt: skip
    changed = heights.without_spikes(routes, left)
    if changed is not routes:
        line, joints = replace(line, routes=changed), _with_elevations(changed, joints)
    longer = np.zeros(len(routes.names))
    np.add.at(longer, [one.route for one in left], [one.longer for one in left])
    told = {one.vertex for one in left}
    aside = at_shots.aside_by_lengths(routes, _some_of(logged, np.flatnonzero(~(joints.surveyed | joints.tied))), bent)
    left += [one for one in aside if not told & set(range(one.vertex - 1, one.vertex + 2))]
    by_ties = list(wrong_ties(job, line, log, joints, form))
    tied_wrong = {one.route for one in by_ties}
    # What a tie moves past an end of the line, no shots are missing for.
    left += [*rung.doubts, *backward, *by_ties]
    left += [one for one in placed.ignored if one.longer >= 0 or one.route not in tied_wrong]
    if job.records.covers == "whole":
        left += coverage.coverage(routes, logged, longer, {*placed.jumped, *np.flatnonzero(longer).tolist()})
    left += [*_unit_doubts(line, log, logged), *bends.bend_doubts(routes, logged, corners, left)]
    left += slid.slid(routes, logged, left)
    at_the_joints = job.centerline.shots_at_joints is not False
    left += _off_the_shots(line, joints, logged, left, form, from_one_on=at_the_joints)
    own, laying = joints.own_height, logged.laying
    held = heights_of_log.hold_heights(
        line.routes, joints.route, joints.located, joints.elevation, own, joints.station, laying
    )
    told = {one.vertex for one in left if one.code == "shot-height"}
    left += [one for one in held.doubts if one.vertex not in told]
    joints = replace(joints, rounded_up=np.maximum(joints.rounded_up, held.shown))
    left = _without_lost(left[:of_shots], left[of_shots:])
    order = sorted(left, key=lambda one: (one.route, one.start))
    untold = np.zeros(len(routes.names), dtype=np.bool_)
    untold[asked] = True
    return line, joints, _doubted(line, joints, order, form, laying, untold), notes, held.notes


def _without_lost(of_shots: list[Doubt], by_log: list[Doubt]) -> list[Doubt]:
    """Leave out what rests on places along lines on which all joints lie elsewhere: it would send to honest shots."""
    lost = {one.route for one in by_log if one.misplaced}
    kept = [one for one in of_shots if not (one.route in lost and one.turn)]
    return kept + [one for one in by_log if one.misplaced or one.route not in lost]


def logged_on(job: Job, line: StationedLine, log: Log, joints: Joints) -> against_log.Logged:
    """Give the log's joints as they lie on the line.

    Parameters
    ----------
    job : Job
    line : StationedLine
    log : Log
    joints : Joints
    """
    kinds, angles, planes = log.text("kind"), log.number("bend_angle"), log.text("bend_plane")

    def of_joints(some: slice) -> tuple[Bools, Floats, Bools, Floats]:
        record = joints.record[some]
        kind, angle = kinds.take(pa.array(record)), np.radians(np.abs(angles[record]))
        bend = as_mask(pc.equal(kind, "bend")) | (as_mask(kind.is_null()) & (angle > 0))
        return bend, *turned_in_plan(planes.take(pa.array(record)), angle), angle

    bend, in_plan, known, angle = in_blocks(of_joints, len(joints))
    laying = job.records.laying_length * line.scale
    return against_log.Logged(joints.route, joints.distance, bend, in_plan, angle, known, joints.station, laying)


def _some_of(logged: against_log.Logged, rows: Ints) -> against_log.Logged:
    if len(rows) == len(logged.route):
        return logged
    return logged._replace(
        route=logged.route[rows], distance=logged.distance[rows], bend=logged.bend[rows], angle=logged.angle[rows],
        made=logged.made[rows], in_plane=logged.in_plane[rows], station=logged.station.take(pa.array(rows)),
    )  # fmt: skip


def _off_the_shots(
    line: StationedLine, joints: Joints, logged: against_log.Logged, doubts: Sequence[Doubt], form: stationing.Form,
    *, from_one_on: bool,
) -> list[Doubt]:  # fmt: skip
    """Hold the joints that their stations alone place against the shots, where nothing else is known to be off."""
    told = [one.route for one in doubts if one.by_tie or one.code in ("bend-off-corner", "shots-too-even")]
    # What is ahead of a shot that lengthens the line, or of an equation not gone by, is off by that.
    sound = np.full(len(line.routes.names), np.inf)
    moving = [one for one in doubts if one.longer > 0 or one.code == "equation-ignored"]
    np.minimum.at(sound, [one.route for one in moving], [one.start - 2.0 * logged.laying for one in moving])
    rest = ~np.isin(joints.route, told)
    if moving:
        rest &= joints.distance < sound[joints.route]
    every = _some_of(logged, np.flatnonzero(rest))
    alone = _some_of(logged, np.flatnonzero(rest & ~(joints.surveyed | joints.tied)))

    def written(station: float) -> str:
        return str(stationing.format_stations(np.array([station / line.scale]), form)[0].as_py())

    known = [one.route for one in doubts if one.misplaced]
    # Where stations are known to run off the pipes from one joint on, not all do alike.
    shifted = [one.route for one in doubts if one.code == "stations-shifted"]
    # The joints that were shot by their numbers lie at their shots: of the others alone, none need lie at one.
    others = _some_of(every, np.flatnonzero(~np.isin(every.route, [*known, *shifted])))
    lost = list(at_shots.pipes_off(line.routes, others)) if from_one_on else []
    alone = _some_of(alone, np.flatnonzero(~np.isin(alone.route, [*known, *(one.route for one in lost)])))
    found = list(at_shots.off_the_shots(line.routes, alone, line.start * line.scale, written, from_one_on=from_one_on))
    # A shot that is off, or shots that are from one on, put joints beside it off theirs, too: it is told at that shot.
    found = [one for one in found if not (one.off_shots and _begins_beside(one, doubts, _STEP_NEAR * logged.laying))]
    return lost + found + list(at_shots.beside_bends(line.routes, alone))


def _begins_beside(one: Doubt, doubts: Sequence[Doubt], near: float) -> bool:
    """Say whether a length of a route begins or ends near where another doubt of that route does."""
    others = [place for other in doubts if other.route == one.route for place in (other.start, other.end)]
    return any(abs(end - place) <= near for end in (one.start, one.end) for place in others)


def _with_elevations(routes: Routes, joints: Joints) -> Joints:
    own = joints.surveyed & ~np.isclose(joints.elevation, between(routes.elevation, joints.located), equal_nan=True)
    return replace(joints, elevation=np.where(own, joints.elevation, between(routes.elevation, joints.located)))


def _unit_doubts(line: StationedLine, log: Log, logged: against_log.Logged) -> list[Doubt]:
    """Compare the span of each route's stations with its line, where the line has no equations and no ties."""
    routes, count = line.routes, len(line.routes.names)
    if line.equations or routes.calibration is not None or "station" not in log.fields:
        return []
    names = log.fields.get("route")
    route = line.names.numbers(names) if names is not None and count > 1 else np.zeros(len(log), dtype=np.int64)
    value, route = log.stations.value, held(route, len(log))
    known = np.isfinite(value) & (route >= 0) if count > 1 else np.isfinite(value)
    least, most, number = np.full(count, np.inf), np.full(count, -np.inf), np.zeros(count, dtype=np.int64)
    for some in blocks(len(log)):
        of, at = route[some][known[some]], value[some][known[some]]
        np.minimum.at(least, of, at)
        np.maximum.at(most, of, at)
        number += np.bincount(of, minlength=count)
    span = np.where(np.isfinite(least), most - least, 0.0) * line.scale
    found = list(against_log.unit_doubts(routes, span, number, logged.laying))
    for one in found:
        _refuse_unit(line, one, value[known & (route == one.route)] * line.scale / logged.laying)
    return found


def _refuse_unit(line: StationedLine, doubt: Doubt, lengths: Floats) -> None:
    """Refuse stations whose span and whose spacing both are those of another unit: no chance makes both."""
    spacing = float(np.median(np.diff(np.unique(lengths))))
    if line.station_unit != "m" and doubt.value > 1.0 and abs(spacing * doubt.value - 1.0) < SPACING_SLACK:
        raise InputFileError(
            f"route {line.names.names[doubt.route]!r}: its stations run over {100.0 / doubt.value:.0f} % of the line "
            f"and are {spacing:.2f} laying lengths apart, so they are written in metres: correct records.station_unit "
            "and records.laying_length"
        )


def _doubted(
    line: StationedLine, joints: Joints, doubts: list[Doubt], form: stationing.Form, laying: float, untold: Bools
) -> Doubted:
    routes = line.routes
    route = np.array([one.route for one in doubts], dtype=np.int64)
    start, end = (np.array([getattr(one, name) for one in doubts], dtype=np.float64) for name in ("start", "end"))
    stations = [line.written(route, *line.station_at_distance(route, at), form) for at in (start, end)]
    point = pa.array([point_name(routes, one.vertex) if one.vertex >= 0 else None for one in doubts], pa.string())
    shot: Ints = Doubts(tuple(doubts)).nearest(routes, joints.located.vertex)
    shots = np.unique(shot[shot >= 0])
    names = pa.array([point_name(routes, one) for one in shots.tolist()], pa.string())
    joint_shot = names.take(pa.array(np.searchsorted(shots, shot), mask=shot < 0))
    lengths = Stretches(route, start, end, *stations)
    moved, off_shots, drifted = (
        held(find(joints, doubts), len(joints)) for find in (_moved, _off_their_shots, _drifted)
    )
    displaced = np.maximum(moved, off_shots) > AT_A_SHOT * laying
    displaced |= _counted_on(joints, doubts, laying) | _misplaced(joints, doubts) | _on_another(joints, doubts)
    drawn = _drawn(routes, joints, doubts)
    return Doubted(tuple(doubts), lengths, point, joint_shot, moved, off_shots, drifted, displaced, drawn, untold)


def _misplaced(joints: Joints, doubts: Sequence[Doubt]) -> Bools:
    """Tell which joints lie on lines on which all lie elsewhere, but for those that were surveyed or tied."""
    return np.isin(joints.route, [one.route for one in doubts if one.misplaced]) & ~(joints.surveyed | joints.tied)


def _on_another(joints: Joints, doubts: Sequence[Doubt]) -> Bools:
    """Tell which joints lie where shots may be those of another main, but for those that were surveyed or tied."""
    found = np.zeros(len(joints), dtype=np.bool_)
    for one in doubts:
        if one.of_another:
            found |= (joints.route == one.route) & (joints.distance >= one.start) & (joints.distance <= one.end)
    return found & ~(joints.surveyed | joints.tied)


def _counted_on(joints: Joints, doubts: list[Doubt], laying: float) -> Bools:
    """Tell which joints lie, by their stations, beside or ahead of an equation that their log does not go by."""
    ahead = np.zeros(len(joints), dtype=np.bool_)
    for one in doubts:
        if one.code == "equation-ignored":
            ahead |= (joints.route == one.route) & (joints.distance >= one.start - laying)
    return ahead & ~(joints.surveyed | joints.tied)


def _drawn(routes: Routes, joints: Joints, doubts: list[Doubt]) -> Bools:
    """Say which joints rest on shots that are none: at the ends of the two legs beside each."""
    shots = np.zeros(len(routes.easting), dtype=np.bool_)
    for one in doubts:
        shots[list(one.no_shots)] = True
    if not shots.any():
        return np.zeros(len(joints), dtype=np.bool_)
    upto = np.concatenate([[0], np.cumsum(shots)])
    vertex, weight = joints.located.vertex, joints.located.weight
    first = np.maximum(vertex - 1 + (weight == 1.0), 0)
    last = np.minimum(vertex + 2 - (weight == 0.0), len(shots) - 1)
    found: Bools = upto[last + 1] > upto[first]
    return found


def _moved(joints: Joints, doubts: list[Doubt]) -> Floats:
    """Sum up by how much the doubted shots behind each joint make its line longer; nothing where it was surveyed."""
    moved = np.zeros(len(joints))
    for one in doubts:
        if one.longer > 0:
            moved += np.where((joints.route == one.route) & (joints.distance > one.start), one.longer, 0.0)
    moved[joints.surveyed | joints.tied] = 0.0
    return moved


def _drifted(joints: Joints, doubts: list[Doubt]) -> Floats:
    """Give by how much joints may lie off their shots where all lie farther and farther off."""
    off = np.zeros(len(joints))
    for one in doubts:
        if one.drift > 0:
            off += np.where(joints.route == one.route, one.drift * np.maximum(joints.distance - one.start, 0.0), 0.0)
    off[joints.surveyed | joints.tied] = 0.0
    return off


def _off_their_shots(joints: Joints, doubts: list[Doubt]) -> Floats:
    """Give by how much joints lie off their shots from one on, as they are told; nothing where they were surveyed."""
    off = np.zeros(len(joints))
    for one in doubts:
        if one.off_shots > 0:
            there = (joints.route == one.route) & (joints.distance >= one.start) & (joints.distance <= one.end)
            there &= ~joints.tied | one.by_tie
            off[there] = np.maximum(off[there], one.off_shots)
    off[joints.surveyed] = 0.0
    return off
