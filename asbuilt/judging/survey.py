"""What a survey can tell of the deflection at each joint, and how surely.

A turn seen at a shot is shared by the joints between the shots on either side of it. Its mean is a floor under the
largest of their deflections; while the main curves one way there, all of it is a ceiling over any one. Shot noise
makes both uncertain.
"""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.judging import deflection
from asbuilt.judging.deflection import Segments
from asbuilt.judging.fittings import Bends, left_over
from asbuilt.line.routes import Located, Routes, between

DESIGN_ONLY = (
    "the centerline is an alignment, drawn and not shot: positions and deflections are the alignment's, and say "
    "nothing of the pipe as it was laid"
)
SHOTS_AS_EXACT = (
    "the job does not say how well the shots are known (centerline.sigma_horizontal and "
    "centerline.sigma_vertical): verdicts take them as without error, and readings are not held against them"
)
AT_A_SHOT = 0.05
"""A joint within this part of a laying length of a shot is taken to be the thing that was shot."""
SHORT_OF_NEXT = 0.3
"""Nor is a joint taken to lie at a shot that is farther away than this part of the way to its neighbour, or of the leg
between the two shots around it: a corner in a short leg shows part of its turn at either end."""
OFF_THE_LINE = 0.002
"""A joint shot this part of a laying length off the line hides a quarter of a degree of turn from its shots."""
BLOCK = 200_000
"""Joints whose uncertainty is propagated at one time, to keep memory flat."""

AT = 1e-6
"""Places this near, in coordinate units, are one place."""
_STRAIGHT = 1e-9


class Sighted(NamedTuple):
    """Where each joint was seen: shapes (joints,)."""

    located: Located
    """Its place on the line; at the shot itself where it was shot."""
    shot: Bools
    """True where the joint was shot: its position is not interpolated."""
    at: Bools
    """True where the joint lies at a shot of the line."""
    own: Bools
    """True where the joint was shot by itself, apart from the shots of the line."""
    logged: Located
    """Its place by the log."""


class Seen(NamedTuple):
    """What the survey says of the deflection at each joint: shapes (joints,), angles in radians."""

    exact: Bools
    """True where the survey shows the deflection itself, and not only bounds of it."""
    deflection: Floats
    """What the joint takes; NaN where only bounds are known, and at the ends of routes."""
    floor: Floats
    """The least that the largest of the joints sharing the turn takes, at the joint nearest the shot; 0 elsewhere."""
    ceiling: Floats
    """The most that the joint takes, while the main curves one way there; NaN where the survey sets no bound."""
    sigma: Floats
    """Standard error of the deflection, or of the turn where the deflection is not exact; NaN where none is stated."""
    sigma_floor: Floats
    """Standard error of the floor; 0 where none is stated, as for the two below."""
    across_floor: Floats
    """Standard error square to the turn that the floor comes from: what makes a turn look larger than it is."""
    sigma_ceiling: Floats
    sharing: Ints
    """How many joints share the turn that the floor comes from."""
    first: Ints
    """First joint of that stretch."""
    last: Ints
    """Last joint of that stretch."""
    ceiling_first: Ints
    """First joint of the stretch that the ceiling comes from."""
    ceiling_last: Ints
    """Last joint of that stretch."""


def sighted(routes: Routes, located: Located, tolerance: float, surveyed: Bools, own: Bools) -> Sighted:
    """Say which joints were shot: those that lie at a shot, within a tolerance.

    Parameters
    ----------
    routes : Routes
    located : Located
        Joints in order, shape (joints,).
    tolerance : float
        Coordinate units.
    surveyed : array of bool, shape (joints,)
        Joints that were shot themselves.
    own : array of bool, shape (joints,)
        Those of them whose shots are not among the line's.

    Returns
    -------
    Sighted
        Where two joints lie at one shot, it is the nearer one's.
    """
    along = _along(routes)
    place = between(along, located)
    to_back, to_ahead = place - along[located.vertex], along[located.vertex + 1] - place
    vertex = np.where(to_back <= to_ahead, located.vertex, located.vertex + 1)
    away = np.where(surveyed & ~own, -1.0, np.minimum(to_back, to_ahead))
    apart = np.concatenate([[np.inf], np.diff(place), [np.inf]])
    near = SHORT_OF_NEXT * np.minimum(np.minimum(apart[1:], apart[:-1]), to_back + to_ahead)
    at = away <= np.minimum(tolerance, near)
    rival = at[1:] & at[:-1] & (vertex[1:] == vertex[:-1])
    farther_back = rival & (away[:-1] > away[1:])
    at[:-1] &= ~farther_back
    at[1:] &= ~(rival & ~farther_back)
    ahead = at & (vertex > located.vertex)
    weight = np.where(ahead, 1.0, np.where(at, 0.0, located.weight))
    weight = np.where(own, located.weight, weight)
    return Sighted(Located(located.vertex, weight), at | own, at, own, located)


def seen(
    routes: Routes,
    joints: Sighted,
    straights: Segments,
    bends: Bends,
    missing: Ints,
    tolerance: float,
    sigma_along: float,
    astray: Bools,
) -> Seen:
    """Find the deflection at every joint, or its floor and ceiling, with their uncertainties.

    Parameters
    ----------
    routes : Routes
        The shots, with their standard errors.
    joints : Sighted
        Joints in order along their routes, shape (joints,).
    straights : Segments
        Between the joints where they were sighted.
    bends : Bends
        Shapes (joints,).
    missing : array of int, shape (segments,)
        Joints that must lie between two joints but are not in the log.
    tolerance : float
        As for `sighted`, coordinate units.
    sigma_along : float
        Standard error of a joint's place along the line, coordinate units.
    astray : array of bool, shape (joints,)
        Joints that were shot off the line: where they lie, the line's shots tell nothing of the pipe.

    Returns
    -------
    Seen

    Source
    ------
    The triangle inequality on the sphere of directions: deflections between two directions sum to at least the
    angle between them. The ceiling holds while the main curves one way between the shots around a joint; where the
    turns there go against one another it is widened to the turns on either side, and a zigzag between two shots
    stays unseen.
    """
    stretch = _stretches(routes, joints, straights, bends, missing, tolerance)
    one, other = stretch.one, stretch.other
    legs = deflection.segments(_next_vertex(routes), routes.easting, routes.northing, routes.elevation)
    # A straight to one of two shots at a fitting's ends would cut the fitting's corner.
    cut = (one < other) & bends.there & (bends.other_end < 0)
    chord = _by_chords(joints.shot & ~cut, straights, bends, missing, len(one))
    most = np.where(bends.there, 2, 1)
    inner = stretch.inner[one] & stretch.inner[other] & np.isfinite(chord.turn)
    doubted = _doubted(routes, joints, astray)
    by_legs = ~chord.exact & inner & (stretch.around <= most) & ~doubted[one] & ~doubted[other]
    views = _views(routes, joints, straights, legs, chord, by_legs, one, other)
    left, before = _left(views, bends, len(one))
    sigma, across = _sigmas(_with_own_shots(routes, joints), views, before, sigma_along, len(one))
    part = np.where(bends.there, 0.5, 1.0)  # a fitting's two joints share what it leaves
    exact = (chord.exact | by_legs) & np.isfinite(left)
    turn, sigma_turn, across_turn, against = _shot_turns(routes, legs, stretch, bends, ~exact)
    turn = np.where(doubted, np.nan, turn)
    bounded = stretch.inner[one] & stretch.inner[other]
    ceiling = np.where(bounded, turn[one] + np.where(one == other, 0.0, turn[other]), np.nan)
    sigma_ceiling = sigma_turn[one] + np.where(one == other, 0.0, sigma_turn[other])
    for beside in (np.maximum(one - 1, 0), np.minimum(other + 1, len(turn) - 1)):
        widened = against & stretch.inner[beside]
        ceiling = np.where(widened, ceiling + turn[beside], ceiling)
        sigma_ceiling = np.where(widened, sigma_ceiling + sigma_turn[beside], sigma_ceiling)
    floor, giver = _floors(stretch, turn)
    shared = stretch.sharing[giver]
    own = np.arange(len(one))
    return Seen(
        exact=exact,
        deflection=np.where(exact, left * part, np.nan),
        floor=np.where(exact, left * part, np.where(np.isfinite(chord.turn), floor, np.nan)),
        ceiling=np.where(exact, left, np.where(np.isfinite(chord.turn), ceiling, np.nan)),
        sigma=np.where(exact, sigma * part, sigma),
        sigma_floor=np.where(exact, np.nan_to_num(sigma * part), sigma_turn[giver] / np.maximum(shared, 1)),
        across_floor=np.where(exact, across * part, across_turn[giver] / np.maximum(shared, 1)),
        sigma_ceiling=np.where(exact, np.nan_to_num(sigma), sigma_ceiling),
        sharing=np.where(exact, 1, shared),
        first=np.where(exact, own, stretch.first[giver]),
        last=np.where(exact, own, stretch.last[giver]),
        ceiling_first=np.where(exact, own, stretch.first[one]),
        ceiling_last=np.where(exact, own, stretch.last[other]),
    )


def off_the_line(
    routes: Routes, located: Located, easting: Floats, northing: Floats, elevation: Floats, laying_length: float
) -> Bools:
    """Say which places lie off the line by more than the noise of its shots explains.

    Parameters
    ----------
    routes : Routes
    located : Located
        The places on the line nearest to them, shape (n,).
    easting, northing, elevation : array, shape (n,)
        Elevation may be NaN.
    laying_length : float
        Coordinate units.

    Returns
    -------
    array of bool, shape (n,)
        Beyond three standard errors of the difference of two shots, where these are stated.
    """
    east, north, up = (between(one, located) for one in (routes.easting, routes.northing, routes.elevation))
    least = OFF_THE_LINE * laying_length
    horizontal, vertical = (
        np.full(len(east), least) if sigma is None else np.maximum(3.0 * np.sqrt(2.0) * between(sigma, located), least)
        for sigma in (routes.sigma_horizontal, routes.sigma_vertical)
    )
    rise = np.abs(np.nan_to_num(elevation - up))
    off: Bools = (np.hypot(easting - east, northing - north) > horizontal) | (rise > vertical)
    return off


def unbounded(found: Seen, where: Bools) -> Seen:
    """Let the survey set no bounds to some joints, such as those whose turns rest on a shot that is doubted.

    Parameters
    ----------
    found : Seen
    where : array of bool, shape (joints,)
    """
    if not where.any():
        return found
    open_ = where & np.isfinite(found.floor)
    return found._replace(
        exact=found.exact & ~open_,
        deflection=np.where(open_, np.nan, found.deflection),
        floor=np.where(open_, 0.0, found.floor),
        ceiling=np.where(open_, np.nan, found.ceiling),
        sigma_floor=np.where(open_, 0.0, found.sigma_floor),
        across_floor=np.where(open_, 0.0, found.across_floor),
    )


def _doubted(routes: Routes, joints: Sighted, astray: Bools) -> Bools:
    """Say which shots of the line tell nothing of the pipe, shape (vertices,).

    Those from one joint before a joint off the line to the one after it, and the shots next to them.
    """
    along = _along(routes)
    if not astray.any():
        return np.zeros(len(along), dtype=np.bool_)
    place, route = between(along, joints.located), routes.vertex_route[joints.located.vertex]
    at = np.flatnonzero(astray)
    back, ahead = np.maximum(at - 1, 0), np.minimum(at + 1, len(place) - 1)
    back, ahead = np.where(route[back] == route[at], back, at), np.where(route[ahead] == route[at], ahead, at)
    ends = np.stack([place[back], place[at], place[ahead]])
    begins, stops = np.sort(ends.min(axis=0)), np.sort(ends.max(axis=0))
    number = np.arange(len(along))
    low, high = along[np.maximum(number - 1, 0)], along[np.minimum(number + 1, len(along) - 1)]
    # Stretches that begin before a shot's neighbour ahead, less those that end before its neighbour back.
    doubted: Bools = np.searchsorted(begins, high, side="right") > np.searchsorted(stops, low, side="left")
    return doubted


def exactly(turns: deflection.Turns, straights: Segments, bends: Bends, missing: Ints) -> Seen:
    """Give what an alignment says of the deflection at each joint: positions on its curves are exact.

    Parameters
    ----------
    turns, straights
        At, and between, the joints.
    bends : Bends
    missing : array of int, shape (segments,)
        Joints that must lie between two joints but are not in the log: they share the turns beside them.

    Returns
    -------
    Seen
    """
    count = len(turns.turn)
    own = np.arange(count)
    chord = _by_chords(np.ones(count, dtype=np.bool_), straights, bends, np.zeros_like(missing), count)
    rows = np.flatnonzero(chord.exact)
    left, sharing = np.full(count, np.nan), np.ones(count, dtype=np.int64)
    back, ahead = straights.facing(chord.before[rows], chord.after[rows])
    left[rows] = left_over(back, ahead, _some(bends, rows))[0]
    sharing[rows] += missing[chord.before[rows]] + missing[chord.after[rows]]
    exact = np.isfinite(left) & (sharing == 1)
    part = np.where(bends.there, left / 2.0, left)
    none = np.zeros(count)
    return Seen(
        exact=exact, deflection=np.where(exact, part, np.nan), floor=part / sharing, ceiling=left, sigma=none * np.nan,
        sigma_floor=none, across_floor=none, sigma_ceiling=none, sharing=sharing, first=own, last=own,
        ceiling_first=own, ceiling_last=own,
    )  # fmt: skip


class _Stretches(NamedTuple):
    """Shots around each joint (joints,), and what lies around each shot (vertices,)."""

    one: Ints
    """The shot at which the joint's turn is seen, or the one before it."""
    other: Ints
    """The shot at which the joint's turn is seen, or the one after it."""
    hidden: Bools
    """True where no one shot shows the turn of a bend: it lies between two shots, or both its ends were shot."""
    inner: Bools
    """True for shots that have a shot on either side."""
    sharing: Ints
    """Joints strictly between the shots on either side of each shot; a bend counts twice."""
    around: Ints
    """Joints strictly between the shots before and after those of each joint, likewise (joints,)."""
    first: Ints
    last: Ints
    nearest: Ints


class _Chords(NamedTuple):
    """The straights on either side of each joint, or of its fitting: shapes (joints,)."""

    turn: Floats
    """NaN where there is no straight on one side."""
    before: Ints
    after: Ints
    exact: Bools
    """True where all joints that those straights run between were shot, and none is missing from the log."""


class _View(NamedTuple):
    """A way of seeing some joints' turns: between two straights, each from one point of the line to another."""

    joint: Ints
    back: Floats
    ahead: Floats
    back_length: Floats
    ahead_length: Floats
    points: tuple[Located, Located, Located, Located]


def _stretches(
    routes: Routes, joints: Sighted, straights: Segments, bends: Bends, missing: Ints, tolerance: float
) -> _Stretches:
    along = _along(routes)
    place = between(along, joints.located)
    one = joints.located.vertex + (joints.at & (joints.located.weight > 0.5))
    other = np.where(joints.at, one, one + 1)
    hidden = np.zeros(len(place), dtype=np.bool_)
    fitting = np.flatnonzero(bends.there)
    if len(fitting):
        one[fitting], other[fitting], hidden[fitting] = _around_fittings(
            along, between(along, joints.logged), bends, fitting, tolerance
        )
    route = routes.vertex_route
    inner = np.zeros(len(along), dtype=np.bool_)
    inner[1:-1] = route[2:] == route[:-2]
    number = np.arange(len(along))
    # Joints at a shot lie on it exactly.
    low = along[np.maximum(number - 1, 0)] + AT
    high = along[np.minimum(number + 1, len(along) - 1)] - AT
    first, end = np.searchsorted(place, low, side="right"), np.searchsorted(place, high, side="left")
    counted = _counted_places(place, straights, bends, missing)
    sharing = np.searchsorted(counted, high, side="left") - np.searchsorted(counted, low, side="right")
    ahead_of = np.searchsorted(place, along).clip(1, max(len(place) - 1, 1))
    closer = along - place[ahead_of - 1] <= place[np.minimum(ahead_of, len(place) - 1)] - along
    return _Stretches(
        one=one,
        other=other,
        hidden=hidden,
        inner=inner,
        sharing=np.maximum(sharing, 0),
        around=np.searchsorted(counted, high[other], side="left") - np.searchsorted(counted, low[one], side="right"),
        first=np.minimum(first, len(place) - 1),
        last=np.maximum(end - 1, 0),
        nearest=np.where(closer, ahead_of - 1, np.minimum(ahead_of, len(place) - 1)),
    )


def _around_fittings(
    along: Floats, place: Floats, bends: Bends, fitting: Ints, tolerance: float
) -> tuple[Ints, Ints, Bools]:
    """Give the first and last shot on each fitting, or else the shots around it, and whether one shot shows its turn.

    A fitting may be shot at its center, at its ends, or not at all.
    """
    mate = np.where(bends.other_end[fitting] >= 0, bends.other_end[fitting], fitting)
    center, half = (place[fitting] + place[mate]) / 2.0, np.abs(place[fitting] - place[mate]) / 2.0
    first = np.searchsorted(along, center - half - tolerance, side="left")
    last = np.searchsorted(along, center + half + tolerance, side="right") - 1
    before = np.clip(np.searchsorted(along, center, side="right") - 1, 0, len(along) - 2)
    on_it = first <= last
    return np.where(on_it, first, before), np.where(on_it, last, before + 1), first != last


def _counted_places(place: Floats, straights: Segments, bends: Bends, missing: Ints) -> Floats:
    """Give the places of all joints that turn the line: logged ones, both ends of fittings, and missing ones."""
    more = [place]
    alone = bends.there & (bends.other_end < 0)
    if alone.any():
        more.append(place[alone])
    if missing.any():
        gap = np.flatnonzero(missing)
        count = missing[gap]
        part = (np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count) + 1) / np.repeat(count + 1, count)
        start, end = place[straights.back[gap]], place[straights.back[gap] + 1]
        more.append(np.repeat(start, count) + part * np.repeat(end - start, count))
    return np.sort(np.concatenate(more)) if len(more) > 1 else place


def _by_chords(shot: Bools, straights: Segments, bends: Bends, missing: Ints, count: int) -> _Chords:
    middle, before, after = straights.adjacent
    none = np.full(count, -1, dtype=np.int64)
    back, ahead, turn = none.copy(), none.copy(), np.full(count, np.nan)
    back[middle], ahead[middle] = before, after
    pair = np.flatnonzero(bends.other_end >= 0)
    # A fitting logged by its ends: its joints share the turn from the straight before it to the one after it.
    leading = pair[bends.other_end[pair] > pair]
    trailing = bends.other_end[leading]
    ahead[leading], back[trailing] = ahead[trailing], back[leading]
    whole = np.flatnonzero((back >= 0) & (ahead >= 0))
    turn[whole] = deflection.angle_between(*straights.facing(back[whole], ahead[whole]))
    sound = shot[straights.back] & shot[straights.back + 1] & (missing == 0)
    exact = np.zeros(count, dtype=np.bool_)
    exact[whole] = sound[back[whole]] & sound[ahead[whole]] & np.isfinite(turn[whole])
    return _Chords(turn, back, ahead, exact)


def _views(
    routes: Routes,
    joints: Sighted,
    straights: Segments,
    legs: Segments,
    chord: _Chords,
    by_legs: Bools,
    one: Ints,
    other: Ints,
) -> list[_View]:
    views = []
    rows = np.flatnonzero(np.isfinite(chord.turn) & ~by_legs)
    if len(rows):
        before, after = chord.before[rows], chord.after[rows]
        ends = (straights.back[before], straights.back[before] + 1, straights.back[after], straights.back[after] + 1)
        vertex, weight = _own_located(routes, joints)
        points = tuple(Located(vertex[end], weight[end]) for end in ends)
        back, ahead = straights.facing(before, after)
        views.append(_View(rows, back, ahead, straights.length[before], straights.length[after], points))  # type: ignore[arg-type]
    rows = np.flatnonzero(by_legs)
    if len(rows):
        start, end = one[rows], other[rows]
        before, after = _leg_ahead(routes, start - 1), _leg_ahead(routes, end)
        back, ahead = legs.facing(before, after)
        still = np.zeros(len(rows))
        points = (
            Located(start - 1, still),
            Located(start - 1, still + 1),
            Located(end, still),
            Located(end, still + 1),
        )
        views.append(_View(rows, back, ahead, legs.length[before], legs.length[after], points))
    return views


def _with_own_shots(routes: Routes, joints: Sighted) -> Routes:
    """Add the joints' own shots behind those of the line, for the propagation of their errors."""
    if not joints.own.any():
        return routes
    nowhere = np.zeros(len(joints.own) + 1)

    def longer(sigma: Floats | None) -> Floats | None:
        return None if sigma is None else np.concatenate([sigma, between(sigma, joints.located), [0.0]])

    return replace(
        routes,
        easting=np.concatenate([routes.easting, nowhere]),
        northing=np.concatenate([routes.northing, nowhere]),
        sigma_horizontal=longer(routes.sigma_horizontal),
        sigma_vertical=longer(routes.sigma_vertical),
    )


def _own_located(routes: Routes, joints: Sighted) -> Located:
    """Give joints as points between shots, their own shots counted on behind those of the line."""
    number = len(routes.easting) + np.arange(len(joints.own))
    vertex, weight = joints.located
    return Located(np.where(joints.own, number, vertex), np.where(joints.own, 0.0, weight))


def _left(views: list[_View], bends: Bends, count: int) -> tuple[Floats, list[Floats]]:
    left, before = np.full(count, np.nan), []
    for view in views:
        angle, out = left_over(view.back, view.ahead, _some(bends, view.joint))
        left[view.joint] = angle
        before.append(out)
    return left, before


def _sigmas(
    routes: Routes, views: list[_View], before: list[Floats], sigma_along: float, count: int
) -> tuple[Floats, Floats]:
    """Propagate shot noise into the turns: along them, and square to them."""
    along, across = np.full(count, np.nan), np.zeros(count)
    if routes.sigma_horizontal is None and routes.sigma_vertical is None:
        return along, across
    for view, out in zip(views, before, strict=True):
        for start in range(0, len(view.joint), BLOCK):
            part = slice(start, start + BLOCK)
            rows = view.joint[part]
            some = _View(
                rows, view.back[part], view.ahead[part], view.back_length[part], view.ahead_length[part],
                _cut(view.points, part),
            )  # fmt: skip
            along[rows], across[rows] = _propagated(routes, some, out[part], sigma_along)
    return along, across


def _propagated(routes: Routes, view: _View, before: Floats, sigma_along: float) -> tuple[Floats, Floats]:
    normal = _plane(before, view.ahead, *_noisier(routes, view.points[1].vertex))
    turned = np.cross(normal, view.back), np.cross(normal, view.ahead)
    results = []
    for back, ahead in (turned, (normal, normal)):
        back, ahead = back / view.back_length[:, None], ahead / view.ahead_length[:, None]
        results.append(np.sqrt(_variance(routes, view.points, (back, -back, -ahead, ahead), sigma_along)))
    return results[0], results[1]


def _variance(
    routes: Routes, points: tuple[Located, ...], coefficients: tuple[Floats, ...], sigma_along: float
) -> Floats:
    """Sum the variance over the shots that the points lie between; shots in common count once, with all they do."""
    count = len(points[0].vertex)
    horizontal, vertical = _variances(routes)
    shots, terms = [], []
    for point, coefficient in zip(points, coefficients, strict=True):
        weight = point.weight[:, None]
        if np.isin(point.weight, (0.0, 1.0)).all():
            shots.append(point.vertex + point.weight.astype(np.int64))
            terms.append(coefficient)
            continue
        shots += [point.vertex, point.vertex + 1]
        terms += [coefficient * (1.0 - weight), coefficient * weight]
    variance = np.zeros(count)
    for at, (shot, term) in enumerate(zip(shots, terms, strict=True)):
        total, met = term, np.zeros(count, dtype=np.bool_)
        for earlier in shots[:at]:
            met |= earlier == shot
        for later in range(at + 1, len(shots)):
            same = shots[later] == shot
            if same.any():
                total = total + np.where(same[:, None], terms[later], 0.0)
        here = horizontal[shot] * (total[:, 0] ** 2 + total[:, 1] ** 2) + vertical[shot] * total[:, 2] ** 2
        variance += np.where(met, 0.0, here)
    if sigma_along:
        variance += _along_variance(routes, points, coefficients, sigma_along)
    return variance


def _along_variance(
    routes: Routes, points: tuple[Located, ...], coefficients: tuple[Floats, ...], sigma_along: float
) -> Floats:
    """Sum what errors of the joints' stations do; a joint that was shot does not go by its station."""
    moves = []
    for point, coefficient in zip(points, coefficients, strict=True):
        leg = np.stack(
            [np.diff(one)[point.vertex] for one in (routes.easting, routes.northing)] + [np.zeros(len(point.vertex))],
            axis=1,
        )
        length = np.maximum(np.hypot(leg[:, 0], leg[:, 1]), _STRAIGHT)
        between_shots = (point.weight > 0) & (point.weight < 1)
        moves.append(np.where(between_shots, (coefficient * leg).sum(axis=1) / length, 0.0))
    joint = (points[1].vertex == points[2].vertex) & (points[1].weight == points[2].weight)
    middle = np.where(joint, (moves[1] + moves[2]) ** 2, moves[1] ** 2 + moves[2] ** 2)
    total: Floats = sigma_along**2 * (moves[0] ** 2 + middle + moves[3] ** 2)
    return total


def _shot_turns(
    routes: Routes, legs: Segments, stretch: _Stretches, bends: Bends, open_joints: Bools
) -> tuple[Floats, Floats, Floats, Bools]:
    """Give what the joints around each shot take up between them, NaN where hidden, and its standard errors.

    Only shots that some joint's bounds come from are looked at.
    """
    needed = np.zeros(len(stretch.inner) + 2, dtype=np.bool_)
    for shot in (stretch.one[open_joints], stretch.other[open_joints]):
        needed[shot] = needed[shot + 1] = needed[shot + 2] = True
    vertex = np.flatnonzero(stretch.inner & needed[1:-1])
    turn = np.full(len(stretch.inner), np.nan)
    before, after = _leg_ahead(routes, vertex - 1), _leg_ahead(routes, vertex)
    back, ahead = legs.facing(before, after)
    fitted = _at_shots(stretch, bends, vertex)
    turn[vertex], out = left_over(back, ahead, fitted)
    axis = np.zeros((len(turn), 3))
    axis[vertex] = np.cross(out, ahead)
    view = _View(vertex, back, ahead, legs.length[before], legs.length[after], _ends_of_legs(vertex - 1, vertex))
    along, across = _sigmas(routes, [view], [out], 0.0, len(turn))
    # What a fitting between two shots turned cannot be told from what the joints did.
    for shot in (stretch.one, stretch.one + 1, stretch.other):
        turn[shot[stretch.hidden]] = np.nan
    return turn, np.nan_to_num(along), across, _against(stretch, axis, np.nan_to_num(along))


def _against(stretch: _Stretches, axis: Floats, sigma: Floats) -> Bools:
    """Say at which joints the turns around it go against one another: the main does not curve one way there."""
    size = np.sqrt((axis**2).sum(axis=1))
    axis = np.where((size > 2.0 * sigma)[:, None], axis, 0.0)
    apart = np.flatnonzero((axis[1:] * axis[:-1]).sum(axis=1) < -(1e-12))
    across = np.flatnonzero((axis[2:] * axis[:-2]).sum(axis=1) < -(1e-12))  # with a quiet shot between the two
    mark = np.zeros(len(axis), dtype=np.bool_)
    mark[apart] = mark[apart + 1] = True
    mark[across] = mark[across + 1] = mark[across + 2] = True
    return mark[stretch.one] | mark[stretch.other]


def _at_shots(stretch: _Stretches, bends: Bends, vertex: Ints) -> Bends:
    """Give the fitting at each of some shots."""
    number = np.full(len(stretch.inner), -1, dtype=np.int64)
    there = np.flatnonzero(bends.there & ~stretch.hidden)
    number[stretch.one[there]] = there
    if not len(there):
        none = np.full(len(vertex), np.nan)
        return Bends(none, none, np.zeros(len(vertex), dtype=np.bool_), np.full(len(vertex), -1))
    found = _some(bends, number[vertex])
    return found._replace(angle=np.where(number[vertex] >= 0, found.angle, np.nan))


def _floors(stretch: _Stretches, turn: Floats) -> tuple[Floats, Ints]:
    """Give each shot's mean deflection to the joint nearest it, as the floor of the largest; and that shot."""
    floor, giver = np.zeros(len(stretch.one)), np.zeros(len(stretch.one), dtype=np.int64)
    usable = np.flatnonzero(np.isfinite(turn) & (stretch.sharing > 0) & (stretch.last >= stretch.first))
    mean = turn[usable] / stretch.sharing[usable]
    order = np.argsort(mean, kind="stable")  # where a joint is nearest to two shots, the larger floor stays
    usable, mean = usable[order], mean[order]
    joint = stretch.nearest[usable].clip(stretch.first[usable], stretch.last[usable])
    floor[joint], giver[joint] = mean, usable
    return floor, giver


def _plane(back: Floats, ahead: Floats, level: Bools) -> Floats:
    """Give the normal of the plane of each turn; where there is no turn, of the plane in which noise is larger."""
    normal = np.cross(back, ahead)
    size = np.sqrt((normal**2).sum(axis=1))
    straight = ~(size > _STRAIGHT)
    if straight.any():
        ahead = ahead[straight]
        side = np.stack([ahead[:, 1], -ahead[:, 0], np.zeros(len(ahead))], axis=1)
        wide = np.hypot(side[:, 0], side[:, 1])
        side = np.where(wide[:, None] > _STRAIGHT, side / np.maximum(wide, _STRAIGHT)[:, None], [1.0, 0.0, 0.0])
        normal[straight] = np.where(level[straight, None], np.cross(side, ahead), side)
        size[straight] = 1.0
    plane: Floats = normal / size[:, None]
    return plane


def _noisier(routes: Routes, vertex: Ints) -> tuple[Bools]:
    horizontal, vertical = _variances(routes)
    return (horizontal[vertex] >= vertical[vertex],)


def _variances(routes: Routes) -> tuple[Floats, Floats]:
    none = np.zeros(len(routes.easting))
    horizontal = none if routes.sigma_horizontal is None else routes.sigma_horizontal**2
    vertical = none if routes.sigma_vertical is None else routes.sigma_vertical**2
    return horizontal, vertical


def _along(routes: Routes) -> Floats:
    """Give a length in space for every vertex, running on from route to route with a wide gap between."""
    rise = np.nan_to_num(np.diff(routes.elevation))
    step = np.sqrt(np.diff(routes.easting) ** 2 + np.diff(routes.northing) ** 2 + rise**2)
    apart = np.diff(routes.vertex_route) > 0
    step[apart] = 1.0 + step[~apart].max(initial=1.0)
    return np.concatenate([[0.0], np.cumsum(step)])


def _next_vertex(routes: Routes) -> Ints:
    route = routes.vertex_route
    return np.flatnonzero(route[1:] == route[:-1])


def _leg_ahead(routes: Routes, vertex: Ints) -> Ints:
    """Give the leg from a vertex to the next; every route has one leg less than vertices."""
    return vertex - routes.vertex_route[vertex]


def _ends_of_legs(back: Ints, ahead: Ints) -> tuple[Located, Located, Located, Located]:
    """Give the ends of pairs of legs, each named by the shot that it runs ahead from."""
    start, end = np.zeros(len(back)), np.ones(len(back))
    return Located(back, start), Located(back, end), Located(ahead, start), Located(ahead, end)


def _some(bends: Bends, rows: Ints) -> Bends:
    return Bends(bends.angle[rows], bends.roll[rows], bends.either_way[rows], bends.other_end[rows])


def _cut(points: tuple[Located, ...], part: slice) -> tuple[Located, Located, Located, Located]:
    one, two, three, four = (Located(point.vertex[part], point.weight[part]) for point in points)
    return one, two, three, four
