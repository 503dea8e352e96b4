"""What the shots of a survey show: where joints were shot, and the turns seen between straights, with their errors."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from asbuilt.arrays import Bools, Floats, Ints, hypotenuse
from asbuilt.judging.bounds import Measured
from asbuilt.judging.fittings import Bends, left_over, through_fittings
from asbuilt.line.routes import Located, between, heights_measured

if TYPE_CHECKING:
    from collections.abc import Iterator

    from asbuilt.judging.deflection import Segments
    from asbuilt.line.routes import Routes

AT_A_SHOT = 0.05
"""A joint within this part of a laying length of a shot is taken to be the thing that was shot."""
SHORT_OF_NEXT = 0.3
"""Nor is a joint taken to lie at a shot that is farther away than this part of the way to its neighbour, or of the leg
between the two shots around it: a corner in a short leg shows part of its turn at either end."""
OFF_THE_LINE = 0.002
"""A joint shot this part of a laying length off the line hides a quarter of a degree of turn from its shots."""
BLOCK = 20_000
"""Joints whose uncertainty is propagated at one time: what is summed over their shots then stays near the processor."""
_STRAIGHT = 1e-9


@dataclass(frozen=True)
class Sighted:
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
    named: Bools
    """True where the log or the shot says that the joint was shot: its station does not matter."""
    rounded: Floats
    """Standard error that rounding makes in the joint's own coordinates in plan; 0 where it does not count."""
    rounded_up: Floats
    """The same of its own elevation."""

    def off_the_shot(self, along: Floats) -> Floats:
        """Give how far ahead of its shot each joint lies by its station; 0 where that does not matter."""
        off = between(along, self.logged) - between(along, self.located)
        return np.where(self.at & ~self.named, off, 0.0)


class Straights(NamedTuple):
    """Pairs of straights, and the points that each runs between: shapes (pairs,)."""

    back: Floats
    """Unit vectors (easting, northing, elevation), shape (pairs, 3); as for the next."""
    ahead: Floats
    back_length: Floats
    ahead_length: Floats
    points: tuple[Located, Located, Located, Located]
    """Start and end of the straight back, and of the straight ahead; numbers beyond the line's shots are own shots."""
    level: Bools
    """True where an elevation was not measured: the straights are levelled, and only their azimuths are known."""


@dataclass(frozen=True)
class Turned:
    """Turns seen between pairs of straights: shapes (pairs,), radians."""

    measured: Measured
    """What the joints take of each turn: all of it along the first axis; its errors along it and square to it."""
    toward: Floats
    """Where the first axis points: radians from the right toward the top of the pipe, looking ahead."""
    axis: Floats
    """Axis about which the line turns, as long as the turn is large, shape (pairs, 3)."""
    level: Bools


@dataclass(frozen=True)
class ShotErrors:
    """Variances of shots, those of the line and then the joints' own: shapes (shots,), square coordinate units."""

    horizontal: Floats
    vertical: Floats
    legs: Floats
    """Level direction of the leg ahead of each shot, shape (shots, 3)."""
    along: float
    """Standard error of a place between shots along the line."""

    @classmethod
    def of(cls, routes: Routes, joints: Sighted, along: float) -> ShotErrors:
        """Give the errors that a job states, with what was rounded; none where there are none."""
        variances = [
            np.zeros(len(routes.easting) + len(joints.own))
            if sigma is None
            else np.concatenate([sigma, between(sigma, joints.logged)]) ** 2
            for sigma in routes.errors
        ]
        for variance, rounded in zip(variances, (joints.rounded, joints.rounded_up), strict=True):
            variance[len(routes.easting) :] += rounded**2
        legs = np.zeros((len(variances[0]), 3))
        east, north = np.diff(routes.easting), np.diff(routes.northing)
        length = np.maximum(hypotenuse(east, north), _STRAIGHT)
        legs[: len(east), 0], legs[: len(east), 1] = east / length, north / length
        return cls(variances[0], variances[1], legs, along)


def sighted(
    routes: Routes, located: Located, tolerance: float, surveyed: Bools, own: Bools, rounded: Floats,
    rounded_up: Floats,
) -> Sighted:  # fmt: skip
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
    rounded : array, shape (joints,)
        Standard error that rounding makes in the coordinates of those, coordinate units.
    rounded_up : array, shape (joints,)
        The same of their elevations.

    Returns
    -------
    Sighted
        Where two joints lie at one shot, it is the nearer one's.
    """
    along = routes.along
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
    return Sighted(Located(located.vertex, weight), at | own, at, own, located, surveyed, rounded, rounded_up)


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
        for sigma in routes.errors
    )
    rise = np.abs(np.nan_to_num(elevation - up))
    off: Bools = (hypotenuse(easting - east, northing - north) > horizontal) | (rise > vertical)
    return off


def doubted(routes: Routes, joints: Sighted, astray: Bools) -> Bools:
    """Say which shots of the line tell nothing of the pipe, shape (vertices,).

    Those from one joint before a joint off the line to the one after it, and the shots next to them.

    Parameters
    ----------
    routes : Routes
    joints : Sighted
    astray : array of bool, shape (joints,)
        Joints that were shot off the line.
    """
    along = routes.along
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
    found: Bools = np.searchsorted(begins, high, side="right") > np.searchsorted(stops, low, side="left")
    return found


def between_shots(routes: Routes, legs: Segments, start: Ints, end: Ints) -> Straights:
    """Give pairs of legs: the one that ends at a shot, and the one that begins at the same or a later shot.

    Parameters
    ----------
    routes : Routes
    legs : Segments
        Between successive shots.
    start, end : array of int, shape (pairs,)
        Shots; each has one before it, or after it, on its route.
    """
    before, after = start - 1 - routes.vertex_route[start], end - routes.vertex_route[end]
    measured = heights_measured(routes)
    level = ~(measured[start - 1] & measured[start] & measured[end] & measured[end + 1])
    still = np.zeros(len(start))
    points = (
        Located(start - 1, still), Located(start - 1, still + 1), Located(end, still), Located(end, still + 1)
    )  # fmt: skip
    return _levelled(legs, before, after, points, level)


def between_joints(
    routes: Routes, joints: Sighted, straights: Segments, heights: Bools, before: Ints, after: Ints
) -> Straights:
    """Give pairs of straights between joints, where these were sighted.

    Parameters
    ----------
    routes : Routes
    joints : Sighted
    straights : Segments
        Between successive joints.
    heights : array of bool, shape (joints,)
        True where the elevation of the joint's own shot was measured.
    before, after : array of int, shape (pairs,)
        Straights.
    """
    ends = (straights.back[before], straights.back[before] + 1, straights.back[after], straights.back[after] + 1)
    number = len(routes.easting) + np.arange(len(joints.own))
    vertex = np.where(joints.own, number, joints.located.vertex)
    weight = np.where(joints.own, 0.0, joints.located.weight)
    line = heights_measured(routes)
    nearer, farther = line[joints.located.vertex], line[joints.located.vertex + 1]
    known = np.where(joints.own, heights, (nearer | (weight == 1.0)) & (farther | (weight == 0.0)))
    one, two, three, four = (Located(vertex[end], weight[end]) for end in ends)
    level = ~(known[ends[0]] & known[ends[1]] & known[ends[2]] & known[ends[3]])
    return _levelled(straights, before, after, (one, two, three, four), level)


def turned(straights: Straights, bends: Bends, errors: ShotErrors) -> Turned:
    """Give the turns between pairs of straights, less those of the fittings there, and their errors.

    Parameters
    ----------
    straights : Straights
    bends : Bends
        The fitting between each pair, shapes (pairs,).
    errors : ShotErrors

    Returns
    -------
    Turned

    Source
    ------
    Errors of the points at both ends of each straight, carried into its direction to first order, for the two
    directions square to it: in the plane of the turn, and square to that. A shot that several points go by counts
    once, with all that it does.
    """
    left, before = left_over(straights.back, straights.ahead, bends)
    count = len(left)
    plane, sums = np.empty((count, 3)), np.zeros((3, count))
    for part, some in _blocks(straights):
        plane[part] = _plane(before[part], some.ahead, _noisier(errors, some))
        sums[:, part] = _covariance(some, before[part], bends.take(np.arange(count)[part]), plane[part], errors)
    # Nothing is known upward where the straights are levelled.
    sums[1:, straights.level] = 0.0
    measured = Measured(left, np.zeros(count), sums[0], sums[1], sums[2])
    return Turned(measured, _toward(before, plane), plane * left[:, None], straights.level)


def _levelled(
    found: Segments, before: Ints, after: Ints, points: tuple[Located, Located, Located, Located], level: Bools
) -> Straights:
    sides = []
    for rows in (before, after):
        direction, length = found.direction[rows], found.length[rows]
        if level.any():
            direction, length = direction.copy(), length.copy()
            flat = hypotenuse(direction[level, 0], direction[level, 1])
            direction[level, 2] = 0.0
            with np.errstate(invalid="ignore", divide="ignore"):
                direction[level] /= flat[:, None]
            length[level] *= flat
        sides.append((direction, length))
    (back, back_length), (ahead, ahead_length) = sides
    return Straights(back, ahead, back_length, ahead_length, points, level)


def _blocks(straights: Straights) -> Iterator[tuple[slice, Straights]]:
    for start in range(0, len(straights.level), BLOCK):
        part = slice(start, start + BLOCK)
        one, two, three, four = (Located(each.vertex[part], each.weight[part]) for each in straights.points)
        yield part, Straights(
            straights.back[part], straights.ahead[part], straights.back_length[part], straights.ahead_length[part],
            (one, two, three, four), straights.level[part],
        )  # fmt: skip


def _covariance(straights: Straights, before: Floats, bends: Bends, plane: Floats, errors: ShotErrors) -> Floats:
    """Give the variances of each turn in its plane and square to it, and their covariance, shape (3, pairs)."""
    if not (errors.along or errors.horizontal.any() or errors.vertical.any()):
        return np.zeros((3, len(plane)))
    # Shapes (2, 3, pairs): in the plane and square to it, by easting, northing and elevation, each in one piece.
    axis = np.ascontiguousarray(plane.T)
    back, ahead = (
        np.stack([np.cross(axis, np.ascontiguousarray(direction.T), axis=0), axis])
        for direction in (before, straights.ahead)
    )
    if bends.there.any():
        back = np.stack([through_fittings(straights.back, before, bends, one.T).T for one in back])
    back, ahead = back / straights.back_length, ahead / straights.ahead_length
    moved = (back, -back, -ahead, ahead)
    return _by_shots(straights.points, moved, errors) + _by_stations(straights.points, moved, errors)


def _by_shots(points: tuple[Located, ...], moved: tuple[Floats, ...], errors: ShotErrors) -> Floats:
    """Sum over the shots that the points lie between; shots in common count once, with all they do."""
    leg = points[1].vertex
    # How far along that leg each point lies, as a part of it.
    along = tuple(point.vertex - leg + point.weight for point in points)
    on_one_leg = (points[1].weight > 0) & np.all([(one >= 0) & (one <= 1) for one in along], axis=0)
    if not on_one_leg.any():
        return _among_shots(points, moved, errors)
    found = np.empty((3, len(leg)))
    rows = np.flatnonzero(on_one_leg)
    # What one end does there, the other does the opposite of.
    one_end = moved[0][:, :, rows] * (along[1] - along[0])[rows] - moved[3][:, :, rows] * (along[3] - along[2])[rows]
    begin = leg[rows]
    variances = (one[begin] + one[begin + 1] for one in (errors.horizontal, errors.vertical))
    found[:, rows] = _products(one_end, *variances)
    rows = np.flatnonzero(~on_one_leg)
    if len(rows):
        some = tuple(Located(point.vertex[rows], point.weight[rows]) for point in points)
        found[:, rows] = _among_shots(some, tuple(term[:, :, rows] for term in moved), errors)
    return found


def _among_shots(points: tuple[Located, ...], moved: tuple[Floats, ...], errors: ShotErrors) -> Floats:
    """Sum over the shots of points that lie on several legs."""
    parts = [_parts(point) for point in points]
    if all(len(one) == 1 for one in parts) and np.array_equal(parts[1][0][0], parts[2][0][0]):
        # Legs that meet at one shot, as nearly all do.
        parts, moved = [parts[0], *parts[2:]], (moved[0], moved[1] + moved[2], moved[3])
    shots = [shot for one in parts for shot, _ in one]
    found = np.zeros((3, len(points[0].vertex)))
    for at, every in enumerate(shots):
        new = np.ones(len(every), dtype=np.bool_)
        for earlier in shots[:at]:
            new &= earlier != every
        # Most pairs lie between few shots: of the later points only some have one that is new.
        rows = slice(None) if new.all() else np.flatnonzero(new)
        shot = every[rows]
        total = np.zeros((2, 3, len(shot)))
        for term, one in zip(moved, parts, strict=True):
            part = np.sum([np.where(other[rows] == shot, weight[rows], 0.0) for other, weight in one], axis=0)
            if part.any():
                total += term[:, :, rows] * part
        found[:, rows] += _products(total, errors.horizontal[shot], errors.vertical[shot])
    return found


def _parts(point: Located) -> list[tuple[Ints, Floats]]:
    """Give the shots that points lie at or between, each with the part that it has in them."""
    vertex, weight = point
    if np.isin(weight, (0.0, 1.0)).all():
        return [(vertex + weight.astype(np.int64), np.ones(len(weight)))]
    # A joint's own shot has none ahead of it: the last one's number is the last of all.
    return [(vertex, 1.0 - weight), (vertex + (weight > 0), weight)]


def _products(total: Floats, horizontal: Floats, vertical: Floats) -> Floats:
    one, other = total
    pairs = ((one, one), (other, other), (one, other))
    return np.stack([horizontal * (a[0] * b[0] + a[1] * b[1]) + vertical * a[2] * b[2] for a, b in pairs])


def _by_stations(points: tuple[Located, ...], moved: tuple[Floats, ...], errors: ShotErrors) -> Floats:
    """Sum what errors of the joints' stations do; a joint that was shot does not go by its station."""
    count = len(points[0].vertex)
    if not errors.along:
        return np.zeros((3, count))
    moves = []
    for point, term in zip(points, moved, strict=True):
        between_two = (point.weight > 0) & (point.weight < 1)
        moves.append(np.where(between_two, (term * errors.legs[point.vertex].T).sum(axis=1), 0.0))
    joint = (points[1].vertex == points[2].vertex) & (points[1].weight == points[2].weight)
    # The joint in the middle is one place, and moves as one.
    moves[1] = np.where(joint, moves[1] + moves[2], moves[1])
    moves[2] = np.where(joint, 0.0, moves[2])
    total = np.zeros((3, count))
    for move in moves:
        total += np.stack([move[0] ** 2, move[1] ** 2, move[0] * move[1]])
    return errors.along**2 * total


def _plane(back: Floats, ahead: Floats, level: Bools) -> Floats:
    """Give the normal of the plane of each turn; where there is no turn, of the plane in which noise is larger."""
    normal = np.cross(back, ahead)
    size = np.sqrt((normal**2).sum(axis=1))
    straight = ~(size > _STRAIGHT)
    if straight.any():
        side = _right_of(ahead[straight])
        normal[straight] = np.where(level[straight, None], np.cross(side, ahead[straight]), side)
        size[straight] = 1.0
    plane: Floats = normal / size[:, None]
    return plane


def _noisier(errors: ShotErrors, straights: Straights) -> Bools:
    vertex = straights.points[1].vertex
    noisier: Bools = straights.level | (errors.horizontal[vertex] >= errors.vertical[vertex])
    return noisier


def _right_of(direction: Floats) -> Floats:
    """Give level unit vectors to the right of directions; east of those that go straight up or down."""
    side = np.stack([direction[:, 1], -direction[:, 0], np.zeros(len(direction))], axis=1)
    wide = hypotenuse(side[:, 0], side[:, 1])
    return np.where(wide[:, None] > _STRAIGHT, side / np.maximum(wide, _STRAIGHT)[:, None], [1.0, 0.0, 0.0])


def _toward(before: Floats, plane: Floats) -> Floats:
    """Give where turns go, radians from the right toward the top of the pipe, looking ahead."""
    right = _right_of(before)
    turned_to = np.cross(plane, before)
    toward: Floats = np.arctan2((turned_to * np.cross(right, before)).sum(axis=1), (turned_to * right).sum(axis=1))
    return toward


def without_bends(count: int) -> Bends:
    """Give no fitting at all, for `turned`."""
    none = np.full(count, np.nan)
    return Bends(none, none, np.zeros(count, dtype=np.bool_), np.full(count, -1), none)


def in_right_and_up(found: Turned) -> Measured:
    """Give what joints take as parts to the right and upward, looking ahead, with their covariance.

    Parameters
    ----------
    found : Turned

    Returns
    -------
    Measured
        Right and up positive.
    """
    cos, sin = np.cos(found.toward), np.sin(found.toward)
    one, other = found.measured.variance_one, found.measured.variance_other
    both = found.measured.covariance
    # The second axis is square to the first one: from the right it lies at sine, less cosine.
    return replace(
        found.measured,
        one=found.measured.one * cos,
        other=found.measured.one * sin,
        variance_one=one * cos**2 + other * sin**2 + 2.0 * both * cos * sin,
        variance_other=one * sin**2 + other * cos**2 - 2.0 * both * cos * sin,
        covariance=(one - other) * cos * sin + both * (sin**2 - cos**2),
    )
