"""The survey against the log that was placed on it: bends for odd shots, direction, unit, what is covered."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import NamedTuple

import numpy as np
import pyarrow as pa

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints, together
from asbuilt.errors import InputFileError
from asbuilt.line.routes import Routes
from asbuilt.survey.doubts import Doubt, file_of, label, turns

REACH = 1.5
"""Laying lengths within which a bend is looked for at its station: logs and lines differ by less."""
LEAST_BEND = np.radians(10.0)
UNCOVERED = 2.0
"""Laying lengths at an end of a line in which no joint is nothing to ask about."""
ENOUGH = 8
"""Joints by which a unit or a direction can be told."""
LEAST_ALONE = np.radians(20.0)
"""Angle from which one bend alone can tell a direction."""
AT_A_SHOT = 0.05
"""Laying lengths within which a shot is at a joint."""
AT_A_CORNER = 0.25
"""Laying lengths within which a bend is at a corner of the line."""
CORNER_SLACK = np.radians(6.0)
"""A corner is a bend's where it turns by the bend's angle to within this, or to within a quarter of that angle."""
BEND_OFF = (0.5, 2.5)
"""Laying lengths that a bend is off the corner of its angle: less is no matter, and more is another corner."""
SHOT_EACH = 1.25
"""Laying lengths that most shots of a route are apart at most, where it was shot at every joint."""
ONE_LEFT_OUT = 1.5
"""Laying lengths between shots beside a bend from which on one between them was left out."""
OFF_SHOTS_M, ALIKE = 0.1, 0.85
"""Joints this far off their shots, so many of them by the same, are counted from another start; no source."""
BENDS_TELL, BENDS_SPLIT = np.radians(44.9), 0.25
"""Bends that turn so far together tell that shots lie beside the joints, where the middle one has so much of its angle
elsewhere; no source."""
MOSTLY = 0.6
"""Where no bend of a log fits, and so many of them lie on straights, the log is another main's; no source."""
_CORNERS_TRIED = 4
"""Corners on either side of a place among which the nearest one of an angle is looked for."""
SOME = 100
"""Shots of a route by which its direction is told."""
_COMPASS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")
_NAMED = 4


class Logged(NamedTuple):
    """What the log says along the line: shapes (joints,), in order along the routes."""

    route: Ints
    distance: Floats
    """Where each joint stands by its station, coordinate units from the start of its route."""
    bend: Bools
    angle: Floats
    """Angle of the bend, radians; NaN where there is none or it is unknown."""
    station: pa.Array
    """Station of each joint, as text."""
    laying: float
    """Laying length, coordinate units."""


def unexplained(doubts: Sequence[Doubt], routes: Routes, logged: Logged) -> list[Doubt]:
    """Leave out the doubts that bends in the log explain.

    Parameters
    ----------
    doubts : sequence of Doubt
    routes : Routes
    logged : Logged
    """
    bends = np.flatnonzero(logged.bend)
    return [one for one in doubts if not (one.turn and _bend_near(one, routes, logged, bends))]


def _bend_near(one: Doubt, routes: Routes, logged: Logged, bends: Ints) -> bool:
    begin, end = int(routes.first[one.route]), int(routes.first[one.route + 1]) - 1
    low = routes.distance[max(one.vertex - 1, begin)] - logged.laying
    high = routes.distance[min(max(one.vertex, one.last) + 1, end)] + logged.laying
    at = logged.distance[bends]
    here = (logged.route[bends] == one.route) & (at >= low) & (at <= high)
    angle = np.nan_to_num(logged.angle[bends][here], nan=np.pi)
    return int(np.count_nonzero(angle >= one.turn / 4.0)) >= one.bends


def coverage(routes: Routes, logged: Logged, longer: Floats) -> Iterator[Doubt]:
    """Find the ends of lines that the log does not reach; routes with no joint at all are counted elsewhere.

    Parameters
    ----------
    routes : Routes
    logged : Logged
    longer : array, shape (routes,)
        By how much doubted shots make each route longer than it is.
    """
    if not len(logged.route):
        return
    starts = np.flatnonzero(np.diff(logged.route, prepend=-1))
    ends = np.append(starts[1:], len(logged.route)) - 1
    symbol, lengths = units.SYMBOLS[routes.unit], routes.length
    for first, last in zip(starts.tolist(), ends.tolist(), strict=True):
        number = int(logged.route[first])
        length = float(lengths[number])
        parts = ((0.0, float(logged.distance[first]), "before its first joint"),
                 (float(logged.distance[last]), length - float(longer[number]), "beyond its last joint"))  # fmt: skip
        for low, high, where in parts:
            if high - low > UNCOVERED * logged.laying:
                message = (
                    f"the log has no joint on {high - low:.0f} {symbol} of the line {where}: complete the log, or say "
                    'that it is of a part alone, records.covers = "part"'
                )
                yield Doubt("coverage-short", message, -1, -1, number, low, high, high - low,
                            UNCOVERED * logged.laying, symbol, "the line is longer than its log")  # fmt: skip


def ends_astray(routes: Routes, logged: Logged) -> Iterator[Doubt]:
    """Find first and last shots that lie as far off along the line as the line is longer than its log.

    On lines shot at every joint. A first shot astray moves every joint.
    """
    if routes.pieces is not None or not len(logged.route):
        return
    begins = np.flatnonzero(np.diff(logged.route, prepend=-1))
    many = np.diff(np.append(begins, len(logged.route)))
    leg, symbol = np.diff(routes.distance), units.SYMBOLS[routes.unit]
    for first, count in zip(begins[many >= ENOUGH].tolist(), many[many >= ENOUGH].tolist(), strict=True):
        number, last = int(logged.route[first]), first + count - 1
        low, high = int(routes.first[number]), int(routes.first[number + 1]) - 1
        if high - low < ENOUGH or float(np.median(leg[low:high])) > SHOT_EACH * logged.laying:
            continue
        left, before = float(routes.length[number] - logged.distance[last]), float(logged.distance[first])
        for vertex, own, joints in ((low, leg[low], (first, first + 1)), (high, leg[high - 1], (last - 1, last))):
            spacing = float(logged.distance[joints[1]] - logged.distance[joints[0]])
            excess, is_first = float(own) - spacing, vertex == low
            as_long = abs(left - excess) < logged.laying / 2.0
            if not (excess > logged.laying and before < logged.laying / 2.0 and as_long):
                continue
            message = (
                f"{label(routes, vertex)}, the {'first' if is_first else 'last'} shot, lies {own:.1f} {symbol} from "
                f"the one beside it, where the joints of the log are {spacing:.1f} {symbol} apart, and the line is "
                f"{left:.1f} {symbol} longer than its log: as where this shot is off by so much"
                f"{', and every joint is placed as far back' if is_first else ''}: check it, or complete the log"
            )
            at = float(routes.distance[vertex])
            yield Doubt("shot-astray", message, vertex, -1, number, at, at, excess, logged.laying, symbol,
                        "the joints of the log, and the line's length", excess if is_first else 0.0)  # fmt: skip
            break


def unit_doubts(routes: Routes, span: Floats, count: Ints, laying: float) -> Iterator[Doubt]:
    """Find routes that are as long as their log only in another unit: feet taken for metres, or the other way round.

    Parameters
    ----------
    routes : Routes
    span : array, shape (routes,)
        From the least to the greatest station of each route, coordinate units.
    count : array of int, shape (routes,)
        Different stations of each route.
    laying : float
        Laying length, coordinate units.
    """
    foot = 0.3048
    for factor, told in ((foot, "feet, and were taken for metres"), (1 / foot, "metres, and were taken for feet")):
        slack = 1.5 * laying * max(factor, 1.0) + 0.005 * routes.length * factor
        near = (np.abs(span - routes.length * factor) < slack) & (count >= ENOUGH)
        # A line of few lengths may be so long by chance.
        near &= (span > 10 * laying) & (np.abs(span - routes.length) > 10 * laying)
        for number in np.flatnonzero(near).tolist():
            length, symbol = float(routes.length[number]), units.SYMBOLS[routes.unit]
            message = (
                f"the log runs over {span[number]:.0f} {symbol} and the line is {length:.0f} {symbol} long, "
                f"{length / span[number]:.2f} times as long, as if its coordinates were {told}: check crs, "
                "centerline.unit and records.station_unit"
            )
            yield Doubt("unit-doubtful", message, -1, -1, number, 0.0, length, length / float(span[number]), 1.0,
                        "times", "a foot is 0.3048 m")  # fmt: skip


class Direction(NamedTuple):
    """What the log's places say of the direction of each line: shapes (routes,)."""

    forward: Bools
    """Bends or shots of joints stand where the stations put them."""
    backward: Bools
    """They do so only where the stations are counted from the other end."""
    by: list[str]
    """What tells it."""


def direction(routes: Routes, logged: Logged, corners: Corners, doubts: Sequence[Doubt] = ()) -> Direction:
    """Tell from bends, and from shots at the joints, which way each line runs.

    Parameters
    ----------
    routes : Routes
    logged : Logged
    corners : Corners
        Of the lines.
    doubts : sequence of Doubt
        Those that make lines longer than they are: what lies ahead of them is looked for as far ahead.
    """
    count = len(routes.names)
    none = np.zeros(count, dtype=np.bool_)
    found = Direction(none.copy(), none.copy(), [""] * count)
    if routes.pieces is not None:
        return found._replace(forward=~none)
    _by_bends(routes, logged, corners, doubts, found)
    _by_shots(routes, logged, found)
    return found


def _by_bends(routes: Routes, logged: Logged, corners: Corners, doubts: Sequence[Doubt], found: Direction) -> None:
    """Compare where the line turns with the bends of the log; bends that lie alike from either end tell nothing."""
    rows = np.flatnonzero(logged.bend & (logged.angle >= LEAST_BEND))
    if not len(rows):
        return
    route, angle, laying = logged.route[rows], logged.angle[rows], logged.laying
    at, from_end = _with_doubts(routes, route, logged.distance[rows], doubts)
    there = _turn_around(routes, route, at, REACH * laying)
    mirrored = _turn_around(routes, route, from_end, REACH * laying)
    here, other = (_to_corner(routes, corners, route, place, angle) for place in (at, from_end))
    with np.errstate(invalid="ignore"):
        off, off_other = np.abs(here.off), np.abs(other.off)
        fits, fits_other = off <= AT_A_CORNER * laying, off_other <= AT_A_CORNER * laying
        # A bend between two shots turns the line at the nearer of them, which may be half a leg away.
        misses, misses_other = off > np.maximum(laying, here.leg / 2.0), off_other > np.maximum(laying, other.leg / 2.0)
    here_alone = ((there > angle / 2) & (mirrored < angle / 4)) | (fits & (misses_other | np.isnan(off_other)))
    # Where both see one corner, near the middle of the line, the turn within reach of both tells nothing.
    nearer = fits_other & misses & (here.vertex == other.vertex)
    other_alone = ((mirrored > angle / 2) & (there < angle / 4) & ~misses_other) | nearer
    against = (there < angle / 4) | nearer
    turns_there = (mirrored > angle / 2) & ~misses_other
    for number in np.unique(route).tolist():
        mine = route == number
        by_here, by_other, wanted = here_alone[mine], other_alone[mine], angle[mine]
        found.forward[number] |= bool(by_here.any() and not by_other.any() and np.mean(there[mine] > wanted / 2) >= 0.5)
        # A curve turns as much as one small bend within that reach.
        telling = bool(np.count_nonzero(by_other) > 1 or wanted[by_other].max(initial=0.0) >= LEAST_ALONE)
        if telling and np.mean(against[mine]) >= 0.8 and np.mean(turns_there[mine]) >= 0.8:
            found.backward[number] = True
            which = ", ".join(logged.station.take(pa.array(rows[mine][:_NAMED])).to_pylist())
            known, symbol = mine & nearer, units.SYMBOLS[routes.unit]
            if known.any():
                which += (
                    f": {off_other[known].max():.1f} {symbol} off, and {off[known].min():.1f} {symbol} as it is drawn"
                )
            found.by[number] = f"the line turns by the bends of the log ({which})"


def _with_doubts(routes: Routes, route: Ints, at: Floats, doubts: Sequence[Doubt]) -> tuple[Floats, Floats]:
    """Give places along the line, and those as far from its other end, each past the shots that make it longer."""
    ahead, back = at.copy(), at.copy()
    for one in doubts:
        if one.longer > 0:
            mine = route == one.route
            ahead[mine & (at > one.start)] += one.longer
            back[mine & (at > routes.length[one.route] - one.start - one.longer)] += one.longer
    return ahead, routes.length[route] - back


class Corners(NamedTuple):
    """Where lines turn sharply, as a bend does: shapes (corners,), in order along the routes."""

    vertex: Ints
    key: Floats
    """Their places, one route laid behind another."""
    turn: Floats
    """Radians, within `AT_A_CORNER` of it."""
    leg: Floats
    """The longer of the legs beside it."""


class _ToCorner(NamedTuple):
    """From places to the nearest corners of their angles: shapes (places,); NaN and -1 where there is none near."""

    off: Floats
    """How far ahead of the place the corner lies; negative where it lies behind."""
    leg: Floats
    vertex: Ints


def corners_of(routes: Routes, logged: Logged) -> Corners:
    """Find where lines turn sharply; nowhere where the log has no bend, or an alignment says where its curves are.

    Parameters
    ----------
    routes : Routes
    logged : Logged
    """
    if routes.pieces is not None or not logged.bend.any():
        none = np.zeros(0)
        return Corners(none.astype(np.int64), none, none, none)
    _, back, ahead = turns(routes.easting, routes.northing, routes.vertex_route)
    around = _turn_around(routes, routes.vertex_route, routes.distance, AT_A_CORNER * logged.laying)
    vertex = np.flatnonzero((around >= LEAST_BEND - CORNER_SLACK) & np.isfinite(back) & np.isfinite(ahead))
    return Corners(vertex, routes.laid_out[vertex], around[vertex], np.fmax(back, ahead)[vertex])


def _to_corner(routes: Routes, corners: Corners, route: Ints, at: Floats, angle: Floats) -> _ToCorner:
    """Find the nearest corner that turns by the angle of the bend at each place."""
    nothing = np.full(len(at), np.nan)
    if not len(corners.vertex):
        return _ToCorner(nothing, nothing, np.full(len(at), -1, dtype=np.int64))
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
    return _ToCorner(
        np.where(known, off, np.nan), np.where(known, corners.leg[corner], np.nan),
        np.where(known, corners.vertex[corner], -1),
    )  # fmt: skip


def _turn_around(routes: Routes, route: Ints, distance: Floats, reach: float) -> Floats:
    """Sum up what the line turns in plan within a reach of places."""
    turn, _, _ = turns(routes.easting, routes.northing, routes.vertex_route)
    total = np.concatenate([[0.0], np.cumsum(np.nan_to_num(turn))])
    low, high = np.maximum(distance - reach, 0.0), np.minimum(distance + reach, routes.length[route])
    low = np.searchsorted(routes.laid_out, routes.lay_out(route, low), side="left")
    high = np.searchsorted(routes.laid_out, routes.lay_out(route, high), side="right")
    around: Floats = np.abs(total[high] - total[low])
    return around


def _by_shots(routes: Routes, logged: Logged, found: Direction) -> None:
    """Compare the shots with the joints' distances, counted from either end.

    Joints of one spacing lie alike from either end, but for a shift: what a shift of the log along the line explains as
    well is no evidence.
    """
    joints = np.bincount(logged.route, minlength=len(routes.names))
    shots = np.diff(routes.first)
    asked = np.flatnonzero((joints >= ENOUGH) & (shots >= ENOUGH + 2))
    if not len(asked):
        return
    vertex, which = _some_shots(routes, asked)
    route, distance = asked[which], routes.distance[vertex]
    count = np.bincount(which)
    mirrored = routes.length[route] - distance
    # Places of routes on one line, with room between routes for what a shift moves.
    wide = float(max(logged.distance.max(), routes.length.max())) + 2.0 * logged.laying + 1.0
    joint = logged.distance + logged.route * wide

    def share(at: Floats, of: Bools, shifts: Floats) -> Floats:
        """Give the largest share of shots that lie at joints under any shift; 0 of routes that are not asked about."""
        some = of[which]
        place = at[some] + route[some] * wide
        hits = [np.bincount(which[some], _near(joint, place + one, tolerance), len(asked)) for one in shifts]
        largest: Floats = np.max(hits, axis=0) / count
        return largest

    tolerance, none, every = AT_A_SHOT * logged.laying, np.zeros(1), np.ones(len(asked), dtype=np.bool_)
    shifts = np.arange(-0.5, 0.5, AT_A_SHOT) * logged.laying
    here, other = share(distance, every, none), share(mirrored, every, none)
    forward, backward = here > 0.6, other > 0.9
    forward &= share(mirrored, forward, shifts) < 0.6 * here
    backward &= share(distance, backward, shifts) < 0.6 * other
    found.forward[asked[forward]] = True
    for number in asked[backward & ~found.backward[asked]].tolist():
        found.backward[number] = True
        found.by[number] = "the line's shots lie at the joints of the log"


def _some_shots(routes: Routes, asked: Ints) -> tuple[Ints, Ints]:
    """Choose shots along each route that is asked about, but for its ends, and say to which of them each belongs."""
    shots = np.diff(routes.first)[asked] - 2
    count = np.minimum(shots, SOME)
    which = np.repeat(np.arange(len(asked)), count)
    order = np.arange(len(which)) - np.repeat(np.cumsum(count) - count, count)
    return routes.first[asked][which] + 1 + order * shots[which] // count[which], which


def _near(joint: Floats, place: Floats, tolerance: float) -> Bools:
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
    if routes.pieces is not None or not len(rows):
        return
    route, angle, laying = logged.route[rows], logged.angle[rows], logged.laying
    at, _ = _with_doubts(routes, route, logged.distance[rows], doubts)
    corner = _to_corner(routes, corners, route, at, angle)
    off = np.abs(corner.off)
    straight = _turn_around(routes, route, at, BEND_OFF[0] * laying) < angle / 4.0
    telling = (off > BEND_OFF[0] * laying) & (off <= BEND_OFF[1] * laying) & (corner.leg <= ONE_LEFT_OUT * laying)
    telling &= straight & ~_of_another_bend(routes, logged, corner, doubts)
    for equation in (one for one in doubts if one.code == "equation-ignored"):
        # That tells why bends ahead of it lie elsewhere.
        telling &= (route != equation.route) | (at < equation.start)
    for number in np.unique(route[telling]).tolist():
        mine = np.flatnonzero(telling & (route == number))
        fits = int(np.count_nonzero((route == number) & (off <= BEND_OFF[0] * laying)))
        remedy = _start_or_row(fits, corner.off[mine], AT_A_CORNER * laying)
        for one in mine.tolist():
            yield _bend_off(routes, logged, rows[one], corner, one, at[one], remedy)
    yield from _elsewhere(routes, logged, rows, at, off, doubts)
    yield from _not_shot(routes, logged, rows, at, angle)


def off_the_shots(
    routes: Routes, logged: Logged, start: Floats, written: Callable[[float], str]
) -> Iterator[Doubt]:  # fmt: skip
    """Find routes shot at every joint of which all joints lie off their shots alike, as by a wrong start station.

    Parameters
    ----------
    routes : Routes
    logged : Logged
        Of joints that their stations alone place.
    start : array, shape (routes,)
        Station of each route's first vertex, coordinate units.
    written : function of a station in coordinate units
        As the log writes it.
    """
    if routes.pieces is not None or not routes.shot or not len(logged.route):
        return
    leg, symbol = np.diff(routes.distance), units.SYMBOLS[routes.unit]
    least = OFF_SHOTS_M * units.factor("m", routes.unit)
    every = _off_nearest(routes, logged)
    begins = np.flatnonzero(np.diff(logged.route, prepend=-1))
    # As many joints as that lie off wherever the middle one of a route does.
    many = np.add.reduceat((np.abs(every) >= least).astype(np.int64), begins)
    ends = np.append(begins[1:], len(every))
    for which in np.flatnonzero(2 * many >= ends - begins).tolist():
        first, end = int(begins[which]), int(ends[which])
        number = int(logged.route[first])
        low, high = int(routes.first[number]), int(routes.first[number + 1]) - 1
        if min(end - first, high - low) < ENOUGH or float(np.median(leg[low:high])) > SHOT_EACH * logged.laying:
            continue
        off = every[first:end]
        middle = float(np.median(off))
        alike = int(np.count_nonzero(np.abs(off - middle) < abs(middle) / 3.0))
        if abs(middle) < least or alike < ALIKE * len(off):
            continue
        message = (
            f"{alike} of {len(off)} joints lie {abs(middle):.2f} {symbol} {'behind' if middle > 0 else 'ahead of'} the "
            f"shots of route {routes.names[number]!r}, all alike: if the shots were taken at the joints, the line "
            f"starts at station {written(start[number] - middle)} and not at {written(start[number])} "
            "(centerline.start_station), and every joint is placed as far off"
        )
        yield Doubt("joints-off-shots", message, -1, -1, number, 0.0, float(routes.length[number]), abs(middle), least,
                    symbol, "the shots, which are as far apart as the joints")  # fmt: skip


def _off_nearest(routes: Routes, logged: Logged) -> Floats:
    """Give how far ahead of each joint the nearest vertex of its line lies; negative where it lies behind."""
    low, high = routes.first[logged.route] + 1, routes.first[logged.route + 1] - 1
    ahead = np.searchsorted(routes.laid_out, routes.lay_out(logged.route, logged.distance)).clip(low, high)
    back, ahead = routes.distance[ahead - 1] - logged.distance, routes.distance[ahead] - logged.distance
    nearest: Floats = np.where(-back < ahead, back, ahead)
    return nearest


def beside_bends(routes: Routes, logged: Logged) -> Iterator[Doubt]:
    """Find routes whose bends turn at two shots, in part each: these were taken beside the joints.

    Parameters
    ----------
    routes : Routes
    logged : Logged
        Of joints that their stations alone place.
    """
    rows = np.flatnonzero(logged.bend & (logged.angle >= LEAST_ALONE))
    if routes.pieces is not None or not routes.shot or not len(rows):
        return
    turn, back, ahead = turns(routes.easting, routes.northing, routes.vertex_route)
    vertex = np.searchsorted(routes.laid_out, routes.lay_out(logged.route[rows], logged.distance[rows]))
    vertex = vertex.clip(1, len(turn) - 2)
    vertex -= logged.distance[rows] - routes.distance[vertex - 1] < routes.distance[vertex] - logged.distance[rows]
    vertex = vertex.clip(1, len(turn) - 2)
    at = np.abs(routes.distance[vertex] - logged.distance[rows]) <= AT_A_SHOT * logged.laying
    at &= (routes.vertex_route[vertex] == logged.route[rows]) & np.isfinite(turn[vertex])
    at &= np.fmax(back, ahead)[vertex] <= SHOT_EACH * logged.laying
    rows, vertex = rows[at], vertex[at]
    angle, toward = logged.angle[rows], np.sign(turn[vertex])
    before, behind = (np.nan_to_num(turn[vertex + way]) * toward / angle for way in (-1, 1))
    here = np.abs(turn[vertex]) / angle
    # Honest bends miss their angle by what their joints take; no joint beside them then takes as much the same way.
    away = np.minimum(1.0 - here, np.maximum(before, behind))
    for some in together(np.arange(len(rows)), logged.route[rows]):
        if angle[some].sum() < BENDS_TELL or np.median(away[some]) < BENDS_SPLIT:
            continue
        number = int(logged.route[rows[some[0]]])
        share, other = (float(np.median(one[some])) for one in (here, np.maximum(before, behind)))
        message = (
            f"the shots of route {routes.names[number]!r} lie beside its joints: of {len(some)} bends at shots, the "
            f"middle one turns by {100.0 * share:.0f} % of its angle at its own shot and by {100.0 * other:.0f} % at "
            "one beside it, as shots do that were taken between joints while the first is given as a joint: correct "
            "centerline.start_station, or tie in two joints; deflections of this route are those of two joints each"
        )
        middle, length = float(np.median(away[some])), float(routes.length[number])
        yield Doubt("joints-off-shots", message, -1, -1, number, 0.0, length, middle, BENDS_SPLIT, None,
                    "a bend turns the line where it stands")  # fmt: skip


def _elsewhere(
    routes: Routes, logged: Logged, rows: Ints, at: Floats, off: Floats, doubts: Sequence[Doubt]
) -> Iterator[Doubt]:
    """Find routes of which no bend of the log lies near a turn of the line, as where the log is of another main."""
    route, angle = logged.route[rows], logged.angle[rows]
    leg = np.diff(routes.distance, append=0.0)
    for number in np.unique(route).tolist():
        mine = np.flatnonzero(route == number)
        low, high = int(routes.first[number]), int(routes.first[number + 1]) - 1
        if len(mine) < 2 or high - low < 2 or any(one.route == number and one.longer > 0 for one in doubts):
            continue
        reach = max(REACH * logged.laying, float(np.median(leg[low:high])))
        straight = _turn_around(routes, route[mine], at[mine], reach) < angle[mine] / 4.0
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
                    "a bend turns the line where it stands")  # fmt: skip


def _start_or_row(fits: int, off: Floats, alike: float) -> str:
    """Say what to look at where bends lie off their corners: what is wrong for all of them, or at one."""
    if fits:
        return "other bends lie at theirs, so look at the station of this one, and at the row in which it is written"
    if len(off) > 1 and np.ptp(off) <= alike:
        return f"all {len(off)} bends that tell are off alike, so look at the start station, centerline.start_station"
    return (
        "look at the start station, centerline.start_station: where it is wrong, every joint is placed as far off; "
        "else at the station of the bend, and at the row in which it is written"
    )


def _bend_off(routes: Routes, logged: Logged, joint: int, corner: _ToCorner, one: int, at: float, remedy: str) -> Doubt:
    off, symbol, vertex = float(corner.off[one]), units.SYMBOLS[routes.unit], int(corner.vertex[one])
    message = (
        f"the bend logged at {logged.station[joint].as_py()} ({np.degrees(logged.angle[joint]):.4g} deg) lies "
        f"{abs(off):.1f} {symbol} {'behind' if off > 0 else 'ahead of'} the corner of the line that turns so, "
        f"{label(routes, vertex)}, and the line is straight where it is placed: {remedy}"
    )
    low, high = sorted((at, at + off))
    return Doubt("bend-off-corner", message, -1, -1, int(logged.route[joint]), low, high, abs(off),
                 BEND_OFF[0] * logged.laying, symbol, "a bend turns the line where it stands")  # fmt: skip


def _of_another_bend(routes: Routes, logged: Logged, corner: _ToCorner, doubts: Sequence[Doubt]) -> Bools:
    """Tell which corners have a bend of the log at them."""
    known, bends = np.flatnonzero(corner.vertex >= 0), np.flatnonzero(logged.bend)
    vertex, route = corner.vertex[known], logged.route[bends]
    at, _ = _with_doubts(routes, route, logged.distance[bends], doubts)
    taken = np.zeros(len(corner.vertex), dtype=np.bool_)
    taken[known] = _near(routes.lay_out(route, at), routes.laid_out[vertex], BEND_OFF[0] * logged.laying)
    return taken


def _not_shot(routes: Routes, logged: Logged, rows: Ints, at: Floats, angle: Floats) -> Iterator[Doubt]:
    """Find bends between two shots that cut their corners off, on routes shot at every joint."""
    leg = np.diff(routes.distance)
    route = logged.route[rows]
    ahead = np.searchsorted(routes.laid_out, routes.lay_out(route, at)).clip(1, len(routes.distance) - 1)
    inside = (routes.vertex_route[ahead] == route) & (routes.vertex_route[ahead - 1] == route)
    to_shot = np.minimum(np.abs(routes.distance[ahead] - at), np.abs(at - routes.distance[ahead - 1]))
    turned = _turn_around(routes, route, at, ONE_LEFT_OUT * logged.laying) > angle / 2.0
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


def compass(routes: Routes) -> list[str | None]:
    """Say of each route at which of its ends it starts, as seen from the other; None where it ends where it starts."""
    first, last = routes.first[:-1], routes.first[1:] - 1
    east = routes.easting[first] - routes.easting[last]
    north = routes.northing[first] - routes.northing[last]
    octant = np.round(np.arctan2(east, north) / (np.pi / 4.0)).astype(int) % 8
    closed = np.hypot(east, north) < 0.02 * routes.length
    return [None if ring else _COMPASS[at] for at, ring in zip(octant.tolist(), closed.tolist(), strict=True)]


def refuse_backward(
    routes: Routes,
    found: Direction,
    stated: str | Mapping[str, str] | None,
    start_texts: Sequence[str],
    with_joints: Ints,
) -> list[str]:
    """Refuse lines that run against their stations, and say which end starts where nothing in the data tells.

    Parameters
    ----------
    routes : Routes
    found : Direction
    stated : the job's centerline.starts
    start_texts : sequence of str
        Station at the start of each route.
    with_joints : array of int
        The routes on which joints stand; of others nothing is asked.

    Returns
    -------
    list of str
        What a person should look at.

    Raises
    ------
    InputFileError
    """
    ends = compass(routes)
    asked: list[int] = []
    for number in with_joints.tolist():
        name = routes.names[number]
        said = stated if stated is None or isinstance(stated, str) else stated.get(name)
        if said is not None and ends[number] is not None:
            if _opposite(said, str(ends[number])):
                raise InputFileError(
                    f"{file_of(routes)}: route {name!r} starts at its {ends[number]} end, where station "
                    f"{start_texts[number]} is, but centerline.starts says {said}: {_remedy(name)}; or correct that key"
                )
            continue
        if found.backward[number] and not found.forward[number]:
            raise InputFileError(
                f"{file_of(routes)}: route {name!r}: {found.by[number]} only if its stations are counted from its "
                f"other end, so it is drawn against its stations: {_remedy(name)}; or, if it starts at its "
                f'{ends[number]} end, say so: centerline.starts = {{"{name}" = "{ends[number]}"}}'
            )
        if not found.forward[number] and ends[number] is not None:
            asked.append(number)
    if not asked:
        return []
    shown = ", ".join(f"{routes.names[at]}: {start_texts[at]} at its {ends[at]} end" for at in asked[:_NAMED])
    more = f" and {len(asked) - _NAMED} more" if len(asked) > _NAMED else ""
    return [
        f"nothing in the data tells which way the line runs; check where the stations start ({shown}{more}), and say "
        "it in centerline.starts, or name the route in centerline.reversed"
    ]


def _opposite(one: str, other: str) -> bool:
    apart = abs(_COMPASS.index(one) - _COMPASS.index(other))
    return min(apart, 8 - apart) > 2


def _remedy(name: str) -> str:
    return f'name it in centerline.reversed = ["{name}"] (or take it out, where it stands there)'
