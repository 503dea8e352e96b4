"""How far stations put joints off along the line: as the job states it, or as joints or bends that were shot show it.

A joint between shots lies where its station puts it, and no better. Where the job does not say how well stations are
known, joints that were shot tell, else bends at their corners, and ties: by its station a joint lies so far before its
shot, or behind it. That holds whatever stations suffer from, a reading, a rounding, or a wheel that counts too much.
Where no joint was shot, nothing tells, and no number is stated: laid lengths show what each station is off by itself,
and not what adds up along the main, which is more.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from asbuilt import units
from asbuilt.arrays import Floats, Ints, in_a_row
from asbuilt.held import concatenated, cuts, held, in_groups
from asbuilt.judging.at_joints import are_at_joints, nearest_joints
from asbuilt.judging.doubted import logged_on
from asbuilt.judging.places import LEAST_TURNS, for_few
from asbuilt.judging.stated_errors import FAR as FAR_OFF
from asbuilt.judging.stated_errors import OPEN_M, RATE
from asbuilt.line import arcs
from asbuilt.notes import Note, OfRoutes, noted
from asbuilt.survey import bends
from asbuilt.survey.evenness import beyond_chance

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.line.routes import Routes
    from asbuilt.line.stationed import StationedLine
    from asbuilt.placing.joints import Joints
    from asbuilt.placing.records import Records

SURE, NEAR, OF_A_JOINT = 1e-4, 2.5, 0.5
"""Rate of false alarms at which the stated error of a route's stations is contradicted, by joints up to so many laying
lengths apart, of shots up to that part of the way from a joint to halfway to the next one."""
FAR, OF_FOUR = 4.0, 3
"""Joints farther off their shots than three of four of their route are, by so many times, count as off by so much: a
wrong entry says nothing of the others."""


class StationError(NamedTuple):
    """What is known of the error of stations."""

    sigma: Floats
    """Standard error of a joint's place along the line by its station, coordinate units: shape (routes,). NaN where
    nothing tells it."""
    many: int = 0
    """How many joints, bends or ties show it; 0 where it is stated, or unknown."""
    by: str = ""
    """Which of these."""
    in_verdicts: float = 0.0
    """What verdicts take it as, coordinate units: as stated, or more where that is contradicted; 0 where nothing is
    stated, as joints off their shots are told."""
    contradicted: tuple[int, ...] = ()
    """Routes whose stations are off by more than is stated."""

    @property
    def words(self) -> str:
        """What the accuracy of a place says of it."""
        if self.contradicted:
            return "the station's error, as joints that were shot show it where that is more than is stated,"
        if self.many:
            return f"the station's error as {self.by} show it"
        if np.isfinite(self.sigma).all():
            return "the station's error"
        return (
            "the station's error, which nothing tells, so that how far off it is along the line is not known (the "
            "elevation takes it as a laying length),"
        )

    def of_routes(self, start: int, stop: int) -> StationError:
        """Give the same of successive routes, from `start` up to, and without, `stop`."""
        return self._replace(sigma=self.sigma[start:stop])


def station_error(job: Job, line: StationedLine, log: Log, joints: Joints, records: Records) -> StationError:
    """Say how well stations are known, by the job, or by joints or bends that were shot, or ties.

    Parameters
    ----------
    job : Job
    line : StationedLine
    log : Log
    joints : Joints
    records : Records

    Returns
    -------
    StationError
        Of routes with few joints that tell, that of all routes together.
    """
    many, routes, sigma_station = len(line.routes.names), line.routes, job.records.sigma_station
    laying_length = job.records.laying_length * line.scale
    at_joints = routes.shot and routes.pieces is None and job.centerline.shots_at_joints is not False
    # Shots halfway between joints are of none: they contradict nothing.
    most = 1.0 if sigma_station is None else OF_A_JOINT
    at_shots = _at_shots(line, joints, laying_length, most) if at_joints else _NONE
    noise = routes.errors[0]
    of_shots = 2.0 * float(np.mean(noise**2)) if noise is not None else 0.0
    if sigma_station is not None:
        stated = StationError(np.full(many, sigma_station * line.scale), in_verdicts=sigma_station * line.scale)
        return _unless_contradicted(stated, at_shots, joints, routes, of_shots, laying_length)
    shown, by = _Shown.of([_at_own_place(joints, records, laying_length), at_shots]), "joints that were shot"
    if len(shown.off) < LEAST_TURNS and routes.shot:
        shown = _Shown.of([_at_bends(job, line, log, joints), _at_ties(routes)])
        by = "bends at their corners, or ties,"
    if len(shown.off) < LEAST_TURNS:
        return StationError(np.full(many, np.nan))
    return StationError(np.sqrt(_variance(shown, joints, routes, of_shots)), len(shown.off), by)


def _unless_contradicted(
    stated: StationError, shown: _Shown, joints: Joints, routes: Routes, of_shots: float, laying_length: float
) -> StationError:
    """Give the error that is stated, and a larger one to routes whose joints lie off their shots by more.

    Joints near one another are held against each other, since what curves and bends make of stations they have in
    common: by more than twice the stated error as many differ as chance makes on one route in ten thousand.
    """
    many = len(routes.names)
    # Each second pair, so that none has a joint in common with the next.
    back = np.arange(0, len(shown.off) - 1, 2)
    near = (shown.route[back] == shown.route[back + 1]) & (np.diff(shown.distance)[back] <= NEAR * laying_length)
    back = back[near]
    usual = np.sqrt(stated.in_verdicts**2 + of_shots + (OPEN_M * units.factor("m", routes.unit)) ** 2)
    far = np.abs(shown.off[back + 1] - shown.off[back]) > FAR_OFF * np.sqrt(2.0) * usual
    if not far.any():
        return stated
    count = np.bincount(shown.route[back], minlength=many)
    share = np.bincount(shown.route[back], far, many) / np.maximum(count, 1)
    told = beyond_chance(share, count, RATE, SURE)
    if not told.any():
        return stated
    shows = np.sqrt(_variance(shown, joints, routes, of_shots))
    sigma = np.where(told, np.maximum(shows, stated.sigma), stated.sigma)
    return stated._replace(
        sigma=sigma, in_verdicts=float(sigma.max()), contradicted=tuple(np.flatnonzero(told).tolist())
    )


def _variance(shown: _Shown, joints: Joints, routes: Routes, of_shots: float) -> Floats:
    """Give the variance of stations on each route, by what shows it there, or on all routes together."""
    many = len(routes.names)
    count = np.bincount(shown.route, minlength=many)
    square = _held_to_the_usual(shown.route, np.abs(shown.off), count) ** 2
    each = _means(shown.route, square, many) * for_few(count.astype(np.float64))
    whole = float(np.mean(square)) * float(for_few(np.array([len(square)]))[0])
    enough = count >= LEAST_TURNS
    variance = np.where(enough, each, whole)
    if routes.calibration is None:
        # What adds up along the line is more where joints lie farther along it than those that show it.
        told = np.where(enough, _means(shown.route, shown.distance**2, many), np.mean(shown.distance**2))
        far = _means(joints.route, joints.distance**2, many)
        variance = variance * np.maximum(np.divide(far, told, out=np.ones(many), where=told > 0), 1.0)
    found: Floats = np.maximum(variance - of_shots, 0.0)
    return found


def understated(job: Job, line: StationedLine, found: StationError) -> list[OfRoutes]:
    """Say on which routes joints lie off their shots by more than the stated error of stations explains.

    Parameters
    ----------
    job : Job
    line : StationedLine
    found : StationError
    """
    symbol = units.SYMBOLS[job.records.station_unit]
    return [
        OfRoutes.one(
            line.routes.names[route],
            f"route {line.routes.names[route]}: by their stations joints that were shot lie off their shots as "
            f"stations with a standard error of {found.sigma[route] / line.scale:.2g} {symbol} do, and "
            f"records.sigma_station states {job.records.sigma_station:.2g} {symbol}: either the shots were taken "
            "beside the joints, or stations are not known so well; verdicts and accuracies take the larger one, unless "
            "the job says that shots are beside the joints (centerline.shots_at_joints = false)",
        )
        for route in found.contradicted
    ]


def notes(found: StationError, sigma_station: float | None, routes: Routes, joints: Joints) -> list[Note]:
    """Say what the accuracies of joints placed by their stations take for the error of these, where the job does not.

    Parameters
    ----------
    found : StationError
    sigma_station : float, or None where the job states none
    routes : Routes
    joints : Joints
    """
    many = int(np.count_nonzero(~joints.surveyed))
    if sigma_station is not None or not routes.shot or routes.sigma_horizontal is None or not many:
        return []
    lies, symbol = "1 joint lies" if many == 1 else f"{many:,} joints lie", units.SYMBOLS[routes.unit]
    if not found.many:
        text = (
            f"{lies} where stations put them, and neither does the job say how well stations are known "
            "(records.sigma_station) nor do shots of joints or bends, or ties, tell it: how far off they are along the "
            "line is not known, and no horizontal accuracy is stated of them; their elevations are stated as if they "
            "lay off by a laying length"
        )
        return noted("stations-unknown", [text])
    low, high = (float(one(found.sigma)) for one in (np.min, np.max))
    span = f"{high:.2g}" if high - low < 0.1 * high else f"{low:.2g} to {high:.2g}"
    taken = f"the standard error of a station as {span} {symbol}"
    if f"{high:.2g}" == "0":
        taken = "stations as exact, since the errors of the shots explain how far these lie from them"
    text = (
        f"{lies} where stations put them, and the job does not say how well these are known: by {found.many:,} "
        f"{found.by} their accuracies take {taken}; say "
        "records.sigma_station where the crew knows it"
    )
    return noted("stations-shown", [text])


class _Shown(NamedTuple):
    """Places on the line that show where their stations lie: shapes (places,)."""

    route: Ints
    distance: Floats
    off: Floats
    """How far ahead of where its station puts it each lies, or behind, coordinate units; of joints surveyed themselves
    how far off, either way."""

    @classmethod
    def of(cls, seen: list[_Shown]) -> _Shown:
        some = [one for one in seen if len(one.off)]
        return some[0] if len(some) == 1 else cls(*(np.concatenate(one) for one in zip(*seen, strict=True)))


_NONE = _Shown(np.empty(0, dtype=np.int64), np.empty(0), np.empty(0))


def _means(route: Ints, values: Floats, many: int) -> Floats:
    """Give the mean of each route; 0 where it has none."""
    count = np.bincount(route, minlength=many)
    found: Floats = np.bincount(route, values, many) / np.maximum(count, 1)
    return found


def _at_own_place(joints: Joints, records: Records, laying_length: float) -> _Shown:
    """Give joints that were surveyed themselves, and how far along the line stations put them off."""
    rows = np.flatnonzero(joints.surveyed)
    apart, away = (one[joints.position[rows]] for one in (records.apart, records.away))
    off = np.sqrt(np.maximum(apart**2 - away**2, 0.0))
    # One that is off by more has a wrong station, or wrong coordinates, and is told.
    usual = off < laying_length / 2.0
    rows = rows[usual]
    return _Shown(joints.route[rows], joints.distance[rows], off[usual])


def _at_shots(line: StationedLine, joints: Joints, laying_length: float, most: float) -> _Shown:
    """Give the shots that are of joints, and how far off stations put these; none where shots lie anywhere.

    The ends of a line are left out: stations begin at the first shot, and joints beyond the last one are held to it.
    So are shots farther off than `most` of the way from a joint to halfway to the next.
    """
    routes, rows = line.routes, in_a_row(np.flatnonzero(~joints.surveyed))
    of = joints.route[rows]
    if len(of) < 2:
        return _NONE
    place = held(routes.lay_out(of, joints.distance[rows]), len(joints))
    # Stations count what the curve is longer than its straights; between ties these take it up.
    longer = arcs.excess(routes, laying_length) if routes.calibration is None else None
    vertex_route, laid_out = held((routes.vertex_route, routes.laid_out), len(joints))

    def beside_joints(some: slice) -> tuple[Ints, Floats, Floats, Floats]:
        own = vertex_route[some]
        alone = np.append(False, own[1:] == own[:-1])
        inner = np.flatnonzero(alone & np.append(alone[1:], False)) + some.start
        route, shot = vertex_route[inner], laid_out[inner] + (longer[inner] if longer is not None else 0.0)
        ahead, off, part = nearest_joints(place, shot)
        beside = (of[ahead - 1] == route) & (of[ahead] == route) & np.isfinite(off)
        return route[beside], routes.distance[inner[beside]], off[beside], part[beside]

    blocks = [slice(*routes.first[[low, high]].tolist()) for low, high in cuts(np.diff(routes.first))]
    found = concatenated([held(beside_joints(one), len(joints)) for one in blocks], len(joints))
    route, distance, off, part = found
    if not are_at_joints(part):
        return _NONE
    kept = part <= most
    return held(_Shown(route[kept], distance[kept], off[kept]), len(joints))


def _at_bends(job: Job, line: StationedLine, log: Log, joints: Joints) -> _Shown:
    """Give the bends of the log that lie near a corner of their angle, and how far off stations put them."""
    logged = logged_on(job, line, log, joints)
    rows = np.flatnonzero(logged.bend & (logged.angle >= bends.LEAST_ALONE) & ~joints.surveyed)
    if not len(rows):
        return _NONE
    route, at = logged.route[rows], logged.distance[rows]
    corners = bends.corners_of(line.routes, logged)
    off = bends.to_corner(line.routes, corners, route, at, logged.angle[rows]).off
    near = np.abs(off) <= bends.REACH * logged.laying
    return _Shown(route[near], at[near], off[near])


def _at_ties(routes: Routes) -> _Shown:
    """Give the ties, and what stations count otherwise than the line from each to the next."""
    if routes.calibration is None:
        return _NONE
    ties = routes.calibration
    route = np.repeat(np.arange(len(routes.names)), np.diff(ties.first))
    ahead = np.flatnonzero(np.diff(route) == 0) + 1
    off = (np.diff(ties.actual) - np.diff(ties.counted))[ahead - 1]
    return _Shown(route[ahead], ties.actual[ahead], off)


def _held_to_the_usual(route: Ints, off: Floats, count: Ints) -> Floats:
    """Hold what is off by far more than three of four of its route to a multiple of that."""
    least, enough = np.array(off), count >= LEAST_TURNS
    for rows in in_groups(np.arange(len(off)), route):
        order = rows[np.lexsort((off[rows], route[rows]))]
        first = np.flatnonzero(np.diff(route[order], prepend=-1))
        each = route[order[first]]
        at = np.where(enough[each], first + OF_FOUR * count[each] // 4, first)
        most = np.where(enough[each], FAR * off[order[at]], np.inf)
        least[order] = np.minimum(off[order], np.repeat(most, count[each]))
    return least
