"""Where lines turn sharply, against the bends of the log: those off their corners, and corners not shot."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.line.routes import Routes
from asbuilt.survey.against_log import SHOT_EACH, UNCOVERED, Logged
from asbuilt.survey.doubts import Doubt, label

REACH = 1.5
"""Laying lengths within which a bend is looked for at its station: logs and lines differ by less."""
LEAST_BEND = np.radians(10.0)
LEAST_ALONE = np.radians(20.0)
"""Angle from which one bend alone can tell a direction."""
AT_A_CORNER = 0.25
"""Laying lengths within which a bend is at a corner of the line."""
CORNER_SLACK = np.radians(6.0)
"""A corner is a bend's where it turns by the bend's angle to within this, or to within a quarter of that angle."""
BEND_OFF = (0.5, 2.5)
"""Laying lengths that a bend is off the corner of its angle: less is no matter, and more is another corner."""
ONE_LEFT_OUT = 1.5
"""Laying lengths between shots beside a bend from which on one between them was left out."""
MOSTLY = 0.6
"""Where no bend of a log fits, and so many of them lie on straights, the log is another main's; no source."""
_EVERY_OTHER = 2.5
"""Laying lengths between shots up to which bends are told to lie off their corner: where every third joint was shot, or
fewer, one in twenty simulated honest jobs had such a bend, by what the joints beside it turned."""
_LEAST_TURN = np.radians(0.1)
_CORNERS_TRIED = 4
"""Corners on either side of a place among which the nearest one of an angle is looked for."""


class Corners(NamedTuple):
    """Where lines turn sharply, as a bend does: shapes (corners,), in order along the routes."""

    vertex: Ints
    key: Floats
    """Their places, one route laid behind another."""
    turn: Floats
    """Radians, within `AT_A_CORNER` of it."""
    leg: Floats
    """The longer of the legs beside it; 0 on a line that was not shot, which turns at its corners and not beside."""


class ToCorner(NamedTuple):
    """From places to the nearest corners of their angles: shapes (places,); NaN and -1 where there is none near."""

    off: Floats
    """How far ahead of the place the corner lies; negative where it lies behind."""
    leg: Floats
    vertex: Ints


def corners_of(routes: Routes, logged: Logged) -> Corners:
    """Find where lines turn sharply; nowhere where the log has no bend.

    Parameters
    ----------
    routes : Routes
    logged : Logged
    """
    if not logged.bend.any():
        none = np.zeros(0)
        return Corners(none.astype(np.int64), none, none, none)
    return corners(routes, logged.laying)


def corners(routes: Routes, laying: float) -> Corners:
    """Find where lines turn sharply.

    Parameters
    ----------
    routes : Routes
    laying : float
        Laying length, coordinate units.
    """
    smooth, routes = routes.pieces is not None, routes.chords
    turn, back, ahead = routes.turns
    around = turn_around(routes, routes.vertex_route, routes.distance, AT_A_CORNER * laying)
    found = (around >= LEAST_BEND - CORNER_SLACK) & np.isfinite(back) & np.isfinite(ahead)
    if smooth:
        # Chords of a straight lie beside its corner, and turn nowhere.
        found &= np.abs(turn) > _LEAST_TURN
    vertex = np.flatnonzero(found)
    leg = np.fmax(back, ahead)[vertex] if routes.shot else np.zeros(len(vertex))
    return Corners(vertex, routes.laid_out[vertex], around[vertex], leg)


def to_corner(routes: Routes, corners: Corners, route: Ints, at: Floats, angle: Floats) -> ToCorner:
    """Find the nearest corner that turns by the angle of the bend at each place."""
    nothing = np.full(len(at), np.nan)
    if not len(corners.vertex):
        return ToCorner(nothing, nothing, np.full(len(at), -1, dtype=np.int64))
    beside = np.searchsorted(corners.key, routes.lay_out(route, at))[:, None]
    tried = beside + np.arange(-_CORNERS_TRIED, _CORNERS_TRIED)
    inside = (tried >= 0) & (tried < len(corners.vertex))
    tried = tried.clip(0, len(corners.vertex) - 1)
    same = inside & (routes.vertex_route[corners.vertex[tried]] == route[:, None])
    alike = np.abs(corners.turn[tried] - angle[:, None]) <= np.maximum(angle / 4.0, CORNER_SLACK)[:, None]
    off = np.where(same & alike, routes.distance[corners.vertex[tried]] - at[:, None], np.inf)
    best = np.abs(off).argmin(axis=1)
    rows = np.arange(len(at))
    corner, off = tried[rows, best], off[rows, best]
    known = np.isfinite(off)
    return ToCorner(
        np.where(known, off, np.nan), np.where(known, corners.leg[corner], np.nan),
        np.where(known, corners.vertex[corner], -1),
    )  # fmt: skip


def turn_around(routes: Routes, route: Ints, distance: Floats, reach: Floats | float) -> Floats:
    """Sum up what the line turns in plan within a reach of places."""
    turn, _, _ = routes.turns
    around: Floats = np.abs(_summed(routes, np.nan_to_num(turn), route, distance, reach))
    return around


def rise_around(routes: Routes, route: Ints, distance: Floats, reach: Floats | float) -> Floats:
    """Sum up by what angles the line's slope changes, up or down, within a reach of places; 0 without elevations."""
    slope = np.arctan2(np.diff(routes.elevation), np.diff(routes.distance))
    change = np.zeros(len(routes.distance))
    change[1:-1] = np.nan_to_num(np.abs(np.diff(slope)))
    # Of the ends of routes nothing is told.
    change[routes.first[:-1]] = change[routes.first[1:] - 1] = 0.0
    return _summed(routes, change, route, distance, reach)


def _summed(routes: Routes, values: Floats, route: Ints, distance: Floats, reach: Floats | float) -> Floats:
    """Sum up numbers of vertices, shape (vertices,), over those within a reach of places."""
    total = np.concatenate([[0.0], np.cumsum(values)])
    low, high = np.maximum(distance - reach, 0.0), np.minimum(distance + reach, routes.length[route])
    low = np.searchsorted(routes.laid_out, routes.lay_out(route, low), side="left")
    high = np.searchsorted(routes.laid_out, routes.lay_out(route, high), side="right")
    found: Floats = total[high] - total[low]
    return found


def vertex_ahead(routes: Routes, route: Ints, at: Floats) -> Ints:
    """Give the vertex at which the leg ends on which each place lies; the nearest leg's where it lies off the line."""
    ahead = np.searchsorted(routes.laid_out, routes.lay_out(route, at))
    found: Ints = np.clip(ahead, routes.first[route] + 1, routes.first[route + 1] - 1)
    return found


def missed(routes: Routes, route: Ints, at: Floats, angle: Floats, laying: float) -> Floats:
    """Say by how much a line turns otherwise than bends at places along it would have its shots turn, radians.

    A bend between two shots turns the line in part at either, by how near it is to each. A line that was not shot turns
    at its corners alone.

    Parameters
    ----------
    routes : Routes
    route : array of int, shape (bends,)
    at, angle : array, shape (bends,)
        Where each bend lies, and what it turns in plan, to either side; a place may be wrong by `AT_A_CORNER`.
    laying : float
        Laying length, coordinate units.
    """
    if not routes.shot:
        off: Floats = np.abs(angle - turn_around(routes, route, at, BEND_OFF[0] * laying))
        return np.where((at < 0.0) | (at > routes.length[route]), angle, off)
    turn = np.nan_to_num(routes.turns[0])
    place = at + np.linspace(-1.0, 1.0, 5)[:, None] * AT_A_CORNER * laying
    ahead = vertex_ahead(routes, route, place)
    back, leg = routes.distance[ahead - 1], routes.distance[ahead] - routes.distance[ahead - 1]
    inside = (place >= 0.0) & (place <= routes.length[route])
    part = np.clip((place - back) / np.where(leg > 0.0, leg, 1.0), 0.0, 1.0)
    either = [
        np.abs(turn[ahead - 1] - (1.0 - part) * one) + np.abs(turn[ahead] - part * one) for one in (angle, -angle)
    ]
    least: Floats = np.where(inside, np.minimum(*either), 2.0 * angle).min(axis=0)
    return least


def with_doubts(routes: Routes, route: Ints, at: Floats, doubts: Sequence[Doubt]) -> tuple[Floats, Floats]:
    """Give places along the line, and those as far from its other end, each past the shots that make it longer."""
    ahead, back = at.copy(), at.copy()
    for one in doubts:
        if one.longer > 0:
            mine = route == one.route
            ahead[mine & (at > one.start)] += one.longer
            back[mine & (at > routes.length[one.route] - one.start - one.longer)] += one.longer
    return ahead, routes.length[route] - back


def near(joint: Floats, place: Floats, tolerance: float) -> Bools:
    """Tell which places have a joint within a tolerance; joints ascend."""
    at = np.searchsorted(joint, place)
    ahead, back = joint[np.minimum(at, len(joint) - 1)], joint[np.maximum(at - 1, 0)]
    near: Bools = np.minimum(np.abs(ahead - place), np.abs(back - place)) <= tolerance
    return near


def bend_doubts(routes: Routes, logged: Logged, corners: Corners, doubts: Sequence[Doubt]) -> Iterator[Doubt]:
    """Find bends of the log that lie off the corner of their angle, and those whose corner was not shot.

    Parameters
    ----------
    routes : Routes
    logged : Logged
    corners : Corners
        Of the lines.
    doubts : sequence of Doubt
        Of the survey: what lies ahead of shots that make a line longer is looked for as far ahead.
    """
    rows = np.flatnonzero(logged.bend & (logged.angle >= LEAST_ALONE))
    if not len(rows):
        return
    # An alignment has no vertices that anybody could look at.
    by_name, routes = routes.pieces is None, routes.chords
    route, angle, laying = logged.route[rows], logged.angle[rows], logged.laying
    at, _ = with_doubts(routes, route, logged.distance[rows], doubts)
    corner = to_corner(routes, corners, route, at, angle)
    off = np.abs(corner.off)
    straight = turn_around(routes, route, at, BEND_OFF[0] * laying) < angle / 4.0
    # Where shots are sparse, the one between which and the next a bend lies turns by its part of the bend alone.
    sparse = corner.leg > ONE_LEFT_OUT * laying
    lacking = missed(routes, route, at, angle, laying)
    straight &= ~sparse | (lacking > np.maximum(angle / 2.0, 2.0 * CORNER_SLACK))
    well = (off <= BEND_OFF[0] * laying) | (lacking <= np.maximum(angle / 4.0, CORNER_SLACK))
    telling = (off > BEND_OFF[0] * laying) & (off <= BEND_OFF[1] * laying) & (corner.leg <= _EVERY_OTHER * laying)
    telling &= straight & ~_of_another_bend(routes, logged, corner, doubts)
    # Where all joints stand elsewhere, that is told.
    telling &= ~np.isin(route, [one.route for one in doubts if one.misplaced])
    for equation in (one for one in doubts if one.code == "equation-ignored"):
        # That tells why bends ahead of it lie elsewhere.
        telling &= (route != equation.route) | (at < equation.start)
    for number in np.unique(route[telling]).tolist():
        mine = np.flatnonzero(telling & (route == number))
        fits = at[(route == number) & well]
        alike = len(mine) > 1 and bool(np.ptp(corner.off[mine]) <= AT_A_CORNER * laying)
        if len(fits) and alike and fits.max() < at[mine].min():
            remedy = (
                f"those before it lie at theirs, and all {len(mine)} farther on that tell are off alike: look at the "
                "stations between, as past a station equation that is not in the job or was counted past, or a length "
                "that was counted wrongly"
            )
        else:
            remedy = _start_or_row(len(fits), len(mine), alike=alike)
        for one in mine.tolist():
            which = f", {label(routes, int(corner.vertex[one]))}" if by_name else ""
            told = _bend_off(routes, logged, rows[one], corner, one, at[one], which, remedy)
            if len(mine) == 1 and not len(fits) and routes.calibration is None:
                # Nothing tells whether it is the bend, or all joints, that stand so far off.
                told = told._replace(start=0.0, end=float(routes.length[number]), off_shots=abs(told.value))
            # Where all are off alike, so is every joint between them.
            yield told._replace(misplaced=alike and not len(fits))
    yield from _elsewhere(routes, logged, rows, at, off, corners, doubts)
    yield from _not_shot(routes, logged, rows, at, angle)


def _elsewhere(
    routes: Routes, logged: Logged, rows: Ints, at: Floats, off: Floats, corners: Corners, doubts: Sequence[Doubt]
) -> Iterator[Doubt]:
    """Find routes of which no bend of the log lies near a turn of the line, as where the log is of another main."""
    route, angle = logged.route[rows], logged.angle[rows]
    leg = np.diff(routes.distance, append=0.0)
    for number in np.unique(route).tolist():
        mine = np.flatnonzero(route == number)
        low, high = int(routes.first[number]), int(routes.first[number + 1]) - 1
        if (
            len(mine) < 2
            or high - low < 2
            or any(one.route == number and (one.longer > 0 or one.misplaced) for one in doubts)
        ):
            continue
        # Bends that were laid upright lie on straights of a design, too; then it has no corner that lacks its bend.
        if not (routes.shot or np.any(corners.turn[routes.vertex_route[corners.vertex] == number] >= LEAST_ALONE)):
            continue
        reach = max(REACH * logged.laying, float(np.median(leg[low:high])) if routes.shot else 0.0)
        straight = turn_around(routes, route[mine], at[mine], reach) < angle[mine] / 4.0
        # A bend whose plane the log does not have may be upright.
        straight &= rise_around(routes, route[mine], at[mine], reach) < angle[mine] / 4.0
        near, fits = (off[mine] <= part * logged.laying for part in reversed(BEND_OFF))
        # By chance one of them lies near a corner of its angle.
        if fits.any() or np.count_nonzero(straight & ~near) < max(2.0, MOSTLY * len(mine)):
            continue
        length = float(routes.length[number])
        message = (
            f"none of the {len(mine)} bends of 20 deg and more that the log has lies where the line turns so, and at "
            f"{np.count_nonzero(straight)} of them it is straight, the first logged at "
            f"{logged.station[rows[mine[straight][0]]].as_py()}: is this the "
            "log of another main, or a line of another one? Else look at the start station, and at the direction of "
            "the line (centerline.reversed)"
        )
        yield Doubt("bend-off-corner", message, -1, -1, number, 0.0, length, float(len(mine)), 0.0, None,
                    "a bend turns the line where it stands", misplaced=True)  # fmt: skip


def _start_or_row(fits: int, many: int, *, alike: bool) -> str:
    """Say what to look at where bends lie off their corners: what is wrong for all of them, or at one."""
    if fits:
        return "other bends lie at theirs, so look at the station of this one, and at the row in which it is written"
    if alike:
        return (
            f"{'both' if many == 2 else f'all {many}'} bends that tell are off alike, as every joint of the route is: "
            "look at the start station, centerline.start_station"
        )
    return (
        "look at the start station, centerline.start_station: where it is wrong, every joint is placed as far off; "
        "else at the station of the bend, and at the row in which it is written"
    )


def _bend_off(
    routes: Routes, logged: Logged, joint: int, corner: ToCorner, one: int, at: float, which: str, remedy: str
) -> Doubt:
    off, symbol = float(corner.off[one]), units.SYMBOLS[routes.unit]
    message = (
        f"the bend logged at {logged.station[joint].as_py()} ({np.degrees(logged.angle[joint]):.4g} deg) lies "
        f"{abs(off):.1f} {symbol} {'behind' if off > 0 else 'ahead of'} the corner of the line that turns so"
        f"{which}, and the line is straight where it is placed: {remedy}"
    )
    low, high = sorted((at, at + off))
    return Doubt("bend-off-corner", message, -1, -1, int(logged.route[joint]), low, high, abs(off),
                 BEND_OFF[0] * logged.laying, symbol, "a bend turns the line where it stands")  # fmt: skip


def _of_another_bend(routes: Routes, logged: Logged, corner: ToCorner, doubts: Sequence[Doubt]) -> Bools:
    """Tell which corners have a bend of the log at them."""
    known, bends = np.flatnonzero(corner.vertex >= 0), np.flatnonzero(logged.bend)
    vertex, route = corner.vertex[known], logged.route[bends]
    at, _ = with_doubts(routes, route, logged.distance[bends], doubts)
    taken = np.zeros(len(corner.vertex), dtype=np.bool_)
    taken[known] = near(routes.lay_out(route, at), routes.laid_out[vertex], BEND_OFF[0] * logged.laying)
    return taken


def _not_shot(routes: Routes, logged: Logged, rows: Ints, at: Floats, angle: Floats) -> Iterator[Doubt]:
    """Find bends between two shots that cut their corners off, on routes shot at every joint."""
    if not routes.shot:
        return
    leg = np.diff(routes.distance)
    route = logged.route[rows]
    ahead = np.searchsorted(routes.laid_out, routes.lay_out(route, at)).clip(1, len(routes.distance) - 1)
    inside = (routes.vertex_route[ahead] == route) & (routes.vertex_route[ahead - 1] == route)
    to_shot = np.minimum(np.abs(routes.distance[ahead] - at), np.abs(at - routes.distance[ahead - 1]))
    turned = turn_around(routes, route, at, ONE_LEFT_OUT * logged.laying) > angle / 2.0
    left_out = inside & turned & (leg[ahead - 1] > ONE_LEFT_OUT * logged.laying)
    left_out &= (to_shot > AT_A_CORNER * logged.laying) & (leg[ahead - 1] < 2.0 * UNCOVERED * logged.laying)
    symbol = units.SYMBOLS[routes.unit]
    for one in np.flatnonzero(left_out).tolist():
        number, vertex = int(route[one]), int(ahead[one])
        own = leg[routes.first[number] : routes.first[number + 1] - 1]
        if float(np.median(own)) > SHOT_EACH * logged.laying:
            continue
        # Of two straights of one length that meet at the bend.
        short = float(leg[vertex - 1]) * (1.0 / np.cos(angle[one] / 2.0) - 1.0)
        message = (
            f"the bend logged at {logged.station[rows[one]].as_py()} ({np.degrees(angle[one]):.4g} deg) has no shot, "
            f"and most joints of the route have: between {label(routes, vertex - 1)} and {label(routes, vertex)}, "
            f"{leg[vertex - 1]:.1f} {symbol} apart, the line cuts its corner off, so that it is about {short:.1f} "
            f"{symbol} too short there, and joints ahead stand that much too far ahead: look for a shot left out, as "
            "by a mistyped code, or shoot the bend"
        )
        yield Doubt("coverage-short", message, -1, -1, number, float(routes.distance[vertex - 1]),
                    float(routes.distance[vertex]), float(leg[vertex - 1]), ONE_LEFT_OUT * logged.laying, symbol,
                    "the shots of the other joints")  # fmt: skip
