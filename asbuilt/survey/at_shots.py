"""Joints that their stations alone place, against the shots: all off alike, or bends that turn beside their shots."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from asbuilt import units
from asbuilt.arrays import Floats, Ints, scatter, together
from asbuilt.held import in_blocks
from asbuilt.line.routes import Routes
from asbuilt.survey.against_log import ENOUGH, SHOT_EACH, Logged
from asbuilt.survey.bends import CORNER_SLACK
from asbuilt.survey.bends_logged import BendsLogged
from asbuilt.survey.doubts import Doubt, label

OFF_SHOTS_M, ALIKE = 0.1, 0.85
"""Joints this far off their shots, so many of them by the same, are counted from another start; no source."""
EXCESS_M, CLEAR = 0.045, 5.0
"""Excess of two lengths over the pipe laid along them that is told, and in standard errors of those of the route."""
ASIDE_M = 0.3
"""A shot nearer to the straight between its neighbours moves no joint by more than can be seen."""
NOISY = 0.02
"""Laying lengths by which excesses may scatter, standard error, on a route of which they tell anything; no source."""
TELLING_BEND = np.radians(20.0)
"""Angle from which a bend tells where its shot lies: what its joints take besides is small beside it."""
ENOUGH_BENDS = np.radians(45.0)
"""What the telling bends of a route must turn together. Judgement: one of 45 degrees, or two of 22.5."""
AT_THEIRS, BESIDE = 0.1, 0.15
"""Parts of its angle that the middle one of these bends turns elsewhere than at its shot: at most so much where the
shots are at the joints, and at least so much where they are beside them; between the two nothing is told. Judgement."""
FROM_ONE_ON = 0.48
"""Laying lengths by which joints from one on may lie farther off their shots; by more, the next shot is as near."""
_BESIDE = 6
"""Joints on either side of a step in how far joints lie off their shots; three of four, at least, are alike on each."""
LONG_ENOUGH, MORE_M = 16, 0.15
"""Joints of a route of which it is told that they lie farther and farther off their shots; and from how much more on it
is told of them, or of those from one on: about half a foot, as for lengths that are compared."""
ALONG_SLOPE = 0.25
"""Part by which that may differ from what the line is longer along its slope than in plan, where that is why."""
_BETWEEN_SHOTS, _HALFWAY = 0.4, 0.49
"""Laying lengths from its nearest shot from which a joint lies as near to the next one: where most do, none tells how
far joints lie off, and where all lie halfway, which shot is theirs. Judgement."""
_NEAR = 3
"""Shots before and past one by which it is told whether the line stays longer."""
_PIPES = 3
"""Pipes by which all stations of a route may run ahead, or behind; more is told by the ends of its line. Judgement."""
AT_ONE, _CLEAR_OF_ONE, _MORE, _MOST_AT_ONE = 0.1, 0.2, 3, 0.9
"""Laying lengths within which a shot is at a joint by its station, and beyond which it is clearly at none; how many
more must be so than are at none with all joints moved; and what part of all must be at one then. Judgement."""
_BOTH_SIDES = 0.25
"""Laying lengths that two shots on the two sides of a joint lie apart at most. Judgement."""
_PAIRS = 3
"""Pairs of successive shots on either side of a bend among which the one that turns by its angle is looked for."""


def off_the_shots(
    routes: Routes, logged: Logged, start: Floats, written: Callable[[float], str], *, from_one_on: bool
) -> Iterator[Doubt]:
    """Find routes shot at every joint of which joints lie off their shots alike: all, or those from one on.

    All do by a wrong start station; from one on they do by a piece of pipe that is not in the log.

    Parameters
    ----------
    routes : Routes
    logged : Logged
        Of joints that their stations alone place.
    start : array, shape (routes,)
        Station of each route's first vertex, coordinate units.
    written : function of a station in coordinate units
        As the log writes it.
    from_one_on : bool
        Whether to look for those, too; shots that were not taken at the joints may lie otherwise from one on.
    """
    if routes.pieces is not None or not routes.shot or not len(logged.route):
        return
    leg, symbol = np.diff(routes.distance), units.SYMBOLS[routes.unit]
    least = OFF_SHOTS_M * units.factor("m", routes.unit)
    every = _off_nearest(routes, logged)
    begins = np.flatnonzero(np.diff(logged.route, prepend=-1))
    many = np.add.reduceat((np.abs(every) >= least).astype(np.int64), begins)
    ends = np.append(begins[1:], len(every))
    for which in np.flatnonzero(2 * many >= _BESIDE).tolist():
        first, end = int(begins[which]), int(ends[which])
        number = int(logged.route[first])
        low, high = int(routes.first[number]), int(routes.first[number + 1]) - 1
        if min(end - first, high - low) < ENOUGH or float(np.median(leg[low:high])) > SHOT_EACH * logged.laying:
            continue
        # Between two shots close to one another lies a joint that was shot on either side of its bell.
        around = _leg_around(routes, logged, slice(first, end))
        if 2 * np.count_nonzero(around <= _BOTH_SIDES * logged.laying) > end - first:
            continue
        off = every[first:end]
        steps = steps_of(off, MORE_M * units.factor("m", routes.unit), FROM_ONE_ON * logged.laying)
        if steps and from_one_on:
            yield from _off_from_one_on(routes, logged, first, off, steps, written)
            continue
        drift = _drift(routes, logged, first, off) if from_one_on else None
        if drift is not None:
            yield drift
            continue
        # As many joints as that lie off wherever the middle one of a route does.
        if 2 * many[which] < end - first:
            continue
        middle = float(np.median(off))
        alike = int(np.count_nonzero(np.abs(off - middle) < abs(middle) / 3.0))
        if not least <= abs(middle) <= _HALFWAY * logged.laying or alike < ALIKE * len(off):
            continue
        message = (
            f"{alike} of {len(off)} joints lie {abs(middle):.2f} {symbol} {'behind' if middle > 0 else 'ahead of'} the "
            f"shots of route {routes.names[number]!r}, all alike: if the shots were taken at the joints, the line "
            f"starts at station {written(start[number] - middle)} and not at {written(start[number])} "
            "(centerline.start_station), and every joint is placed as far off"
        )
        yield Doubt("joints-off-shots", message, -1, -1, number, 0.0, float(routes.length[number]), abs(middle), least,
                    symbol, "the shots, which are as far apart as the joints")  # fmt: skip


def pipes_off(routes: Routes, logged: Logged) -> Iterator[Doubt]:
    """Find routes whose shots are at joints only with all joints moved by whole pipes: uneven lengths tell it.

    Parameters
    ----------
    routes : Routes
    logged : Logged
        Of all joints, those that were shot by their numbers, too.
    """
    if routes.pieces is not None or not routes.shot or routes.calibration is not None or not len(logged.route):
        return
    begins = np.flatnonzero(np.diff(logged.route, prepend=-1))
    symbol = units.SYMBOLS[routes.unit]
    for first, end in zip(begins.tolist(), [*begins[1:].tolist(), len(logged.route)], strict=True):
        number, at = int(logged.route[first]), logged.distance[first:end]
        now, _ = off_joints(routes, number, at, 0.0, logged.laying)
        if now.size < ENOUGH or np.count_nonzero(now > _CLEAR_OF_ONE) < _MORE:
            continue
        moved = [by * logged.laying for pipes in range(1, _PIPES + 1) for by in (pipes, -pipes)]
        tried = [off_joints(routes, number, at, by, logged.laying) for by in moved]
        best = int(np.argmin([np.count_nonzero(there > AT_ONE) for _, there in tried]))
        by, (here, there) = moved[best], tried[best]
        if not tells(there, here):
            continue
        moved_so, as_logged = (np.count_nonzero(one <= AT_ONE) for one in (there, here))
        message = (
            f"{moved_so} of {there.size} shots of route {routes.names[number]!r} are at joints of the log where all "
            f"joints are taken {abs(by):.2f} {symbol} farther {'ahead' if by > 0 else 'back'}, and {as_logged} where "
            "their stations have them: each joint is placed as far off; correct the start station, "
            "centerline.start_station, or the stations, as where each row has that of the other end of its pipe"
        )
        yield Doubt("joints-off-shots", message, -1, -1, number, 0.0, float(routes.length[number]), abs(by),
                    AT_ONE * logged.laying, symbol, "the lengths between shots", misplaced=True)  # fmt: skip


def off_joints(routes: Routes, route: int, at: Floats, moved: float, laying: float) -> tuple[Floats, Floats]:
    """Say how far shots of a route lie off joints, as these lie and with all moved; but the ends of its line.

    Parameters
    ----------
    routes : Routes
    route : int
    at : array, shape (joints,)
        Where joints lie along the route, coordinate units.
    moved : float
        By how much they are moved, coordinate units.
    laying : float
        Laying length, coordinate units.

    Returns
    -------
    here, there : arrays, shape (shots,)
        Laying lengths, of the shots that lie among the joints both as they lie, and moved.
    """
    at, slack = np.sort(at), AT_ONE * laying
    if len(at) < 2:
        return np.zeros(0), np.zeros(0)
    shot = routes.distance[routes.first[route] + 1 : routes.first[route + 1] - 1]
    low, high = at[0] + max(moved, 0.0), at[-1] + min(moved, 0.0)
    shot = shot[(shot >= low - slack) & (shot <= high + slack)]

    def off(place: Floats) -> Floats:
        ahead = np.searchsorted(place, shot).clip(1, len(place) - 1)
        found: Floats = np.minimum(np.abs(shot - place[ahead - 1]), np.abs(place[ahead] - shot)) / laying
        return found

    return off(at), off(at + moved)


def tells(there: Floats, here: Floats) -> bool:
    """Say whether shots are at joints in the one place, and clearly off them in the other, as `off_joints` has them.

    Stations that count more and more, on pipes of one length, come back to the joints with all moved: these are not
    clearly off.

    Examples
    --------
    >>> off = np.where(np.arange(20) > 3, 0.0, 0.3)
    >>> tells(np.zeros(20), off), tells(np.zeros(20), off / 2.0), tells(off, np.full(20, 0.4))
    (True, False, False)
    """
    missed, otherwise = np.count_nonzero(there > AT_ONE), np.count_nonzero(here > _CLEAR_OF_ONE)
    return bool(len(there) >= ENOUGH and missed + _MORE <= otherwise and missed <= (1.0 - _MOST_AT_ONE) * len(there))


def steps_of(off: Floats, least: float, most: float) -> list[int]:
    """Find the joints from which on all lie farther off their shots than those before, or less far; ascending.

    Examples
    --------
    A piece of 3 ft lies before the eleventh joint; stations that run ahead bit by bit make no step:

    >>> steps_of(np.repeat([0.02, 3.01], 10), 0.33, 9.0), steps_of(np.linspace(0.0, 6.0, 20), 0.33, 9.0)
    ([10], [])
    """
    found: list[int] = []
    jump = np.diff(off)
    for at in np.flatnonzero((np.abs(jump) >= least / 2.0) & (np.abs(jump) <= 1.5 * most)).tolist():
        back, ahead = off[max(at + 1 - _BESIDE, 0) : at + 1], off[at + 1 : at + 1 + _BESIDE]
        by = float(np.median(ahead) - np.median(back))
        alike = [
            np.count_nonzero(np.abs(one - np.median(one)) <= abs(by) / 4.0) >= max(0.75 * len(one), 3)
            for one in (back, ahead)
        ]
        # A step is made at once; where it was told at the joint before, it is the same.
        if not (least <= abs(by) <= most and all(alike) and jump[at] / by >= 0.6):
            continue
        if found and at + 1 - found[-1] < _BESIDE // 2:
            if abs(jump[at]) > abs(jump[found[-1] - 1]):
                found[-1] = at + 1
            continue
        found.append(at + 1)
    return found


def _off_from_one_on(
    routes: Routes, logged: Logged, first: int, off: Floats, steps: list[int], written: Callable[[float], str]
) -> Iterator[Doubt]:
    """Tell of the joints of a route between steps that lie farther off their shots than those which lie nearest."""
    number, symbol = int(logged.route[first]), units.SYMBOLS[routes.unit]
    runs = list(zip([0, *steps], [*steps, len(off)], strict=True))
    middles = [float(np.median(off[start:end])) for start, end in runs]
    least = MORE_M * units.factor("m", routes.unit)
    at_theirs = middles[int(np.argmin(np.abs(middles)))]
    for which, (start, end) in enumerate(runs):
        by = middles[which] - at_theirs
        if abs(by) < least:
            continue
        place = logged.distance[first + start : first + end]
        texts = [logged.station[first + at].as_py() for at in (start, end - 1)]
        step = steps[which - 1] if which else steps[0]
        pipe = float(np.diff(logged.distance[first + step - 1 : first + step + 1])[0])
        across = pipe + float(off[step] - off[step - 1])
        message = (
            f"the {end - start} joints from station {texts[0]} to {texts[1]} lie {abs(by):.2f} {symbol} "
            f"{'behind' if by > 0 else 'ahead of'} their shots, all alike, and the others of route "
            f"{routes.names[number]!r} at theirs: between the joints at {logged.station[first + step - 1].as_py()} and "
            f"{logged.station[first + step].as_py()} the log has {pipe:.2f} {symbol} of pipe, and their shots are "
            f"{across:.2f} {symbol} apart; see whether a piece was laid there that is not in the log, or stations or "
            "shots lie off from there on"
        )
        yield Doubt("joints-off-shots", message, -1, -1, number, float(place[0]), float(place[-1]), abs(by), least,
                    symbol, "the shots, which are as far apart as the joints", off_shots=abs(by))  # fmt: skip


def _drift(routes: Routes, logged: Logged, first: int, off: Floats) -> Doubt | None:
    """Tell of a route whose joints lie farther and farther off their shots, as by stations taped along a slope."""
    number, symbol = int(logged.route[first]), units.SYMBOLS[routes.unit]
    at = logged.distance[first : first + len(off)]
    span = float(at[-1] - at[0])
    if len(off) < LONG_ENOUGH or span <= 0.0:
        return None
    # As where shots were taken at the middle of each pipe. Joints that lie farther and farther off are as often
    # anywhere else between two shots.
    if 2 * np.count_nonzero(np.abs(off) > _BETWEEN_SHOTS * logged.laying) > len(off):
        return None
    line = slice(int(routes.first[number]), int(routes.first[number + 1]))
    climb = np.interp(at, routes.distance[line], (routes.slope_distance - routes.distance)[line])
    # By more than half a pipe the next shot is nearer.
    found, least = np.unwrap(off, period=logged.laying), MORE_M * units.factor("m", routes.unit)
    for grows, along_slope in ((at[0] - at, False), (climb[0] - climb, True)):
        by, begin = np.polyfit(grows, found, 1) if np.ptp(grows) > 0.0 else (0.0, 0.0)
        change, left = float(by * grows[-1]), np.abs(found - (begin + by * grows))
        if along_slope and abs(by - 1.0) > ALONG_SLOPE:
            continue
        if abs(change) >= least and np.count_nonzero(left <= abs(change) / 6.0) >= ALIKE * len(off):
            break
    else:
        return None
    higher = float(climb[-1] - climb[0])
    slope = (
        f"; along its slope the line is {higher:.2f} {symbol} longer than in plan there: if the stations were measured "
        'along the pipe, say records.stationing = "slope"'
        if along_slope or abs(higher + change) <= ALONG_SLOPE * abs(change)
        else "; look at how the stations were measured (along the slope, with a tape that is off, or on the ground "
        "where coordinates are on the grid: centerline.combined_factor), or tie the line"
    )
    begins, ends = (logged.station[first + row].as_py() for row in (0, len(off) - 1))
    message = (
        f"the joints of route {routes.names[number]!r} lie farther and farther "
        f"{'behind' if change > 0 else 'ahead of'} their shots, by {abs(change):.2f} {symbol} more at station {ends} "
        f"than at {begins}: the stations count {'less' if change > 0 else 'more'} than the line is long{slope}"
    )
    return Doubt("joints-off-shots", message, -1, -1, number, float(at[0]), float(at[-1]), abs(change), least, symbol,
                 "the shots, which are as far apart as the joints", drift=abs(change) / span)  # fmt: skip


def _leg_around(routes: Routes, logged: Logged, rows: slice) -> Floats:
    """Give how far apart the shots back and ahead of some joints are."""
    route, distance = logged.route[rows], logged.distance[rows]
    low, high = routes.first[route] + 1, routes.first[route + 1] - 1
    ahead = np.searchsorted(routes.laid_out, routes.lay_out(route, distance)).clip(low, high)
    found: Floats = routes.distance[ahead] - routes.distance[ahead - 1]
    return found


def _off_nearest(routes: Routes, logged: Logged) -> Floats:
    """Give how far ahead of each joint the nearest vertex of its line lies; negative where it lies behind."""
    laid_out = routes.laid_out

    def nearest(some: slice) -> Floats:
        route, distance = logged.route[some], logged.distance[some]
        low, high = routes.first[route] + 1, routes.first[route + 1] - 1
        ahead = np.searchsorted(laid_out, routes.lay_out(route, distance)).clip(low, high)
        back, ahead = routes.distance[ahead - 1] - distance, routes.distance[ahead] - distance
        off: Floats = np.where(-back < ahead, back, ahead)
        return off

    return in_blocks(nearest, len(logged.route))


def aside_by_lengths(routes: Routes, logged: Logged, bends: Callable[[], BendsLogged]) -> Iterator[Doubt]:
    """Find shots of sparse surveys that lie beside the pipe: by way of them the line is longer than the pipe laid.

    A straight between two shots at joints is never longer than the pipe between them, however that turns, but by the
    errors of shots and stations. A pipe that goes around something is longer itself, and so is not told.

    Parameters
    ----------
    routes : Routes
    logged : Logged
        Of joints that their stations alone place.
    bends : function
        Gives those of the log: where they may make the pipe longer than the straights between shots by half of a
        laying length, the joint nearest to a shot may be another than the one that was shot.
    """
    if routes.pieces is not None or not routes.shot or len(logged.route) < ENOUGH:
        return
    leg, sizes = np.diff(routes.distance), np.diff(routes.first)
    metre, symbol = units.factor("m", routes.unit), units.SYMBOLS[routes.unit]
    joints = routes.lay_out(logged.route, logged.distance)
    shots = routes.laid_out

    def nearest(some: slice) -> Floats:
        ahead = np.searchsorted(joints, shots[some]).clip(1, len(joints) - 1)
        back, ahead = shots[some] - joints[ahead - 1], shots[some] - joints[ahead]
        off: Floats = np.where(np.abs(back) < np.abs(ahead), back, ahead)
        return off

    every = in_blocks(nearest, len(shots))
    # Most surveys have no length that is too long at all.
    route, least = routes.vertex_route, EXCESS_M * metre
    some = (every[2:] - every[:-2] > least) & (route[2:] == route[:-2])
    for number in np.unique(route[1:-1][some]).tolist():
        low, high = int(routes.first[number]), int(routes.first[number + 1])
        if sizes[number] < ENOUGH + 2 or float(np.median(leg[low : high - 1])) <= SHOT_EACH * logged.laying:
            continue
        off = every[low:high]
        # Of each shot but the ends: of the two lengths beside it together.
        excess = off[2:] - off[:-2]
        usual = float(np.median(excess))
        noise = scatter(excess - usual)
        if noise > NOISY * logged.laying:
            continue
        east, north = routes.easting[low:high], routes.northing[low:high]
        across = np.stack([east[2:] - east[:-2], north[2:] - north[:-2]])
        to = np.stack([east[1:-1] - east[:-2], north[1:-1] - north[:-2]])
        straight = np.hypot(*across)
        aside = np.abs(across[0] * to[1] - across[1] * to[0]) / np.maximum(straight, 1e-9)
        longer = leg[low : high - 2] + leg[low + 1 : high - 1] - straight
        # Where most lengths are short, as those of curves, one as long as its pipe is none the worse for it.
        more = excess - max(usual, 0.0)
        # As much as the way by this shot is longer than the straight, for that part that no pipe was laid along.
        limit = max(least, CLEAR * noise)
        # And by no more than that, with the errors.
        told = (more > limit) & (more > longer / 2.0) & (more < longer + limit) & (aside > ASIDE_M * metre)
        told &= more < logged.laying / 4.0
        # A joint a little beyond the line's end stands at it.
        told[-1] = False
        # The shots beside it have one of its lengths each.
        told &= (more >= np.append(more[1:], -np.inf)) & (more >= np.append(-np.inf, more[:-1]))
        # What is longer by one shot stays longer ahead of it; a station off beside a shot makes one length longer, and
        # the next one shorter.
        if told.any():
            told &= _stays(off) > more / 2.0
        for one in np.flatnonzero(told).tolist():
            vertex = low + 1 + one
            if bends().most_cut(routes, vertex - 1, vertex + 1, logged.laying) > logged.laying / 2.0:
                continue
            message = (
                f"{label(routes, vertex)} lies {aside[one]:.1f} {symbol} off the straight from "
                f"{label(routes, vertex - 1)} to {label(routes, vertex + 1)}, and by way of it the line is "
                f"{more[one]:.2f} {symbol} longer than the pipe that was laid there by its stations, as no straights "
                "between shots of a pipe are: check the shot, or the stations beside it"
            )
            place = float(routes.distance[vertex])
            yield Doubt("shot-astray", message, vertex, -1, number, place, place, float(more[one]), limit, symbol,
                        "the stations of the joints at the shots beside it", float(more[one]))  # fmt: skip


def _stays(off: Floats) -> Floats:
    """Give by how much more shots lie ahead of their joints past each shot but the ends than they do before it."""
    beside = np.pad(off, _NEAR - 1, constant_values=np.nan)
    past = np.lib.stride_tricks.sliding_window_view(beside, _NEAR)
    # Window n ends at shot n; that past a shot begins at the next one.
    stays: Floats = np.nanmedian(past[_NEAR + 1 :], axis=1) - np.nanmedian(past[: len(off) - 2], axis=1)
    return stays


def beside_bends(routes: Routes, logged: Logged) -> Iterator[Doubt]:
    """Find routes whose bends turn in part at one shot and in part at the next, off their stations.

    The shots were taken beside the joints then. What a bend turns at either shot tells where between the two it lies:
    in the triangle of shots and bend, the nearer shot has the larger turn.

    Parameters
    ----------
    routes : Routes
    logged : Logged
        Of joints that their stations alone place.
    """
    rows = np.flatnonzero(logged.bend & (logged.angle >= TELLING_BEND))
    if routes.pieces is not None or not routes.shot or not len(rows) or len(routes.distance) < _PAIRS:
        return
    turn, back, ahead = routes.turns
    vertex = np.searchsorted(routes.laid_out, routes.lay_out(logged.route[rows], logged.distance[rows]))
    first = (vertex[:, None] + np.arange(-_PAIRS, _PAIRS)).clip(0, len(turn) - 2)
    angle = logged.angle[rows]
    with np.errstate(invalid="ignore"):
        both = turn[first] + turn[first + 1]
        found = np.abs(np.abs(both) - angle[:, None]) <= np.maximum(angle / 4.0, CORNER_SLACK)[:, None]
        found &= routes.vertex_route[first] == logged.route[rows][:, None]
        legs = np.fmax(np.fmax(back[first], ahead[first]), ahead[first + 1])
        found &= legs <= SHOT_EACH * logged.laying
        here, there = (np.maximum(one * np.sign(both), 0.0) for one in (turn[first], turn[first + 1]))
        lies = routes.distance[first] + ahead[first] * np.sin(there) / (np.sin(here) + np.sin(there))
        off = np.where(found, lies - logged.distance[rows][:, None], np.inf)
    best = np.abs(off).argmin(axis=1)
    each = np.arange(len(rows))
    off, here, there = off[each, best], here[each, best], there[each, best]
    known = np.isfinite(off)
    off, rows, angle = off[known], rows[known], angle[known]
    parts = np.sort(np.stack([here[known], there[known]]) / angle, axis=0)
    away, symbol = np.minimum(parts[0], np.abs(off) / logged.laying), units.SYMBOLS[routes.unit]
    for number, some, middle in elsewhere(logged.route[rows], angle, away):
        if middle < BESIDE:
            continue
        less, more = (100.0 * float(np.median(one[some])) for one in parts)
        by = float(np.median(off[some]))
        message = (
            f"the shots of route {routes.names[number]!r} lie beside its joints: of {len(some)} bends, the middle one "
            f"turns by {more:.0f} % of its angle at one shot and by {less:.0f} % at the next, so it lies between the "
            f"two, {abs(by):.1f} {symbol} {'ahead of' if by > 0 else 'behind'} where its station puts it, as where "
            "shots were taken between joints and the first is given as a joint: correct centerline.start_station, or "
            "tie in two joints; deflections of this route are those of two joints each"
        )
        length = float(routes.length[number])
        yield Doubt("joints-off-shots", message, -1, -1, number, 0.0, length, middle, BESIDE, None,
                    "a bend turns the line where it stands")  # fmt: skip


def elsewhere(route: Ints, angle: Floats, share: Floats) -> Iterator[tuple[int, Ints, float]]:
    """Give the routes of which bends tell whether the shots are at the joints, and what the middle one of them says.

    Parameters
    ----------
    route : array of int, shape (bends,)
        Of bends at shots, in order.
    angle : array, shape (bends,)
        Radians, each `TELLING_BEND` at least.
    share : array, shape (bends,)
        The part of its angle that each turns elsewhere than at its shot.

    Yields
    ------
    route : int
    bends : array of int
        Which of them tell.
    middle : float
        The median of their shares, to hold against `AT_THEIRS` and `BESIDE`.

    Examples
    --------
    >>> angle = np.radians([45.0, 22.5, 22.5, 22.5])
    >>> [(at, middle) for at, _, middle in elsewhere(np.array([0, 1, 1, 2]), angle, np.array([0.5, 0.0, 0.1, 0.4]))]
    [(0, 0.5), (1, 0.05)]
    """
    for some in together(np.arange(len(route)), route):
        if angle[some].sum() > ENOUGH_BENDS - 1e-9:
            yield int(route[some[0]]), some, float(np.median(share[some]))
