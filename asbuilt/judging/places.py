"""How well each joint's place is known: the shots' noise, the station's error, and what the line may do between shots.

Between shots a joint lies off the line by up to the sagitta of the curve that the turns on either side show, and the
curve is longer than the line, so that stations run ahead of their places. Both are no noise: they move all joints of a
leg one way, and more shots or a tie take them away, not more careful ones.

What joints between shots turn is taken from the turns at the shots. Where they turn against one another in step with
the shots, these show nothing of it: the accuracy says that it goes by them, and a job may ask for one that holds
whatever joints do within what they are allowed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pyarrow as pa

from asbuilt.arrays import Bools, Floats, Ints, as_ints, as_mask, chosen, hypotenuse, running
from asbuilt.judging import shares
from asbuilt.judging.accuracy import CIRCULAR, STANDARD
from asbuilt.line import arcs
from asbuilt.line.routes import between, heights_measured

if TYPE_CHECKING:
    from asbuilt.judging.accuracy import Accuracy
    from asbuilt.line.routes import Routes
    from asbuilt.line.stationed import StationedLine
    from asbuilt.placing.joints import Joints

LEFT_OVER = 0.3
"""Part of a bow that remains unknown where an arc was laid through the shots; by simulation."""
ON_A_SHOT = 0.02
"""A joint within this part of a leg from its end is at the shot."""
LEAST_TURNS = 4
"""Fewer turns than this tell of the disorder as little as so many."""
USUAL_DEG = 0.5
"""What joints of a straight main turn, in any direction, where nothing shows it; common practice, no source."""
LIKELY_BEND_DEG = 45.0
"""What a bend of unknown angle may turn, for the accuracy of places beside it."""
SHOT_BEND = 0.7
"""A shot at which the line turns by this part of a bend's angle, or more, is that bend's."""
_RATIOS = np.arange(0.0, 6.25, 0.5)
_IN_PLAN = np.array(
    [2.4477, 2.5917, 2.9398, 3.3685, 3.8263, 4.2978, 4.7772, 5.2616, 5.7493, 6.2393, 6.7311, 7.2243, 7.7184]
)
_IN_HEIGHT = np.array(
    [1.9600, 2.1815, 2.6461, 3.1449, 3.6449, 4.1449, 4.6449, 5.1449, 5.6449, 6.1449, 6.6449, 7.1449, 7.6449]
)
"""Radius about the stated place, in standard errors, that holds 95 % where the truth is shifted by so many of them.
Roots of the noncentral chi-square distribution, of two degrees of freedom in plan and one in height."""


class Turning(NamedTuple):
    """What may turn the line between its shots: shapes (joints,), radians."""

    bend: Floats
    """Angle of the bend at each joint; NaN where there is none."""
    allowable: Floats
    """What each joint may take; NaN where no allowable is on file."""
    to_end: Floats
    """From the center of the bend at each joint to its ends, coordinate units; any number where there is none."""
    all_of_it: bool = False
    """True where joints between shots may take all of that, whatever the turns at the shots show."""


class Astray(NamedTuple):
    """How far joints may lie from where they are placed, shots and stations being exact: shapes (joints,)."""

    across: Floats
    """Off the line in plan, at most, coordinate units."""
    along: Floats
    """Back along the line from where the station puts them, at most."""
    up: Floats
    wander: Floats
    """Standard error in plan by what the turns show no order in."""
    wander_up: Floats


def radius(sigma: Floats, shift: Floats, *, in_plan: bool = True) -> Floats:
    """Give the radius that holds 95 % of places with a standard error and a shift.

    Parameters
    ----------
    sigma : array, shape (n,)
        Standard error in each direction.
    shift : array, shape (n,)
    in_plan : bool
        In two directions, or in one alone.

    Returns
    -------
    array, shape (n,)

    Source
    ------
    Noncentral chi-square distribution; textbook. Without a shift 2.4477 and 1.9600 standard errors, as in
    FGDC-STD-007.3.

    Examples
    --------
    >>> radius(np.array([1.0, 1.0, 0.0]), np.array([0.0, 20.0, 3.0])).round(2).tolist()
    [2.45, 21.72, 3.0]
    """
    ratio = np.divide(shift, sigma, out=np.full(len(shift), np.inf), where=sigma > 0)
    table = _IN_PLAN if in_plan else _IN_HEIGHT
    near = np.interp(ratio, _RATIOS, table) * sigma
    # Far from the middle one tail alone counts: 1.6449 standard errors beyond the shift, and the excess fades.
    excess = float(table[-1] - _RATIOS[-1])
    return np.where(ratio > _RATIOS[-1], shift + excess * sigma, near)


def astray(line: StationedLine, joints: Joints, turning: Turning, sigma_along: Floats, laying_length: float) -> Astray:
    """Say how far joints between shots may lie from the line.

    Parameters
    ----------
    line : StationedLine
        With its corners marked, so that a fitting's turn is not taken for a curve.
    joints : Joints
    turning : Turning
    sigma_along : array, shape (joints,)
        Standard error of a station along the line, coordinate units.
    laying_length : float
        Coordinate units.

    Returns
    -------
    Astray
        Joints that turn by d(i) in a leg of length L, f(i) of the way along it, lead off its straight by the sum of
        T(f, f(i)) d(i), T(f, g) = L min(f, g) (1 - max(f, g)), and make it longer by half the sum of T(f(i), f(j))
        d(i) d(j). What they turn is taken from the turns at the shots: evenly, or each by what it allows, whichever
        leads farther. On a leg whose ends show the curvatures a and b that is L^2 f (1 - f) / 2 times the larger of
        both, and L^3 (a^2 + b^2) / 48. Where an arc was laid, its own curvature is taken off, but a part of the bow is
        always left. Deflections without order, of variance q in a unit of length, make L f (1 - f) sqrt(q L / 3) and
        q L^2 / 12. Bends between shots are turns of known size. A bend that was shot was shot at its center, or at an
        end: then it turns as far before its shot, or behind it, as its end is from its center.

    Notes
    -----
    Turns that are in step with the shots, and go against one another, show at none of them. They are in this only
    where joints may take all that they are allowed.
    """
    routes = line.routes
    found = arcs.legs(routes)
    spot = _Spot.of(joints, found.length)
    allowed = np.where(np.isfinite(turning.allowable), turning.allowable, arcs.PER_JOINT)
    allowed = np.where(np.isfinite(turning.bend), 2.0 * allowed, allowed)
    uneven = _unevenness(routes, spot, joints, allowed)
    ends = np.abs([found.back, found.ahead])
    ends = np.where(np.isnan(ends), ends[::-1], ends)
    most = np.nan_to_num(ends.max(axis=0))[spot.leg] * uneven
    square = np.nan_to_num(((ends * _alone(routes, found.length)) ** 2).mean(axis=0)) * spot.largest(uneven) ** 2
    if routes.arcs is not None:
        own = np.abs(routes.arcs.curvature_start)
        square = np.maximum(np.abs(square - own**2), LEFT_OVER * square)
        most = np.maximum(most - own[spot.leg], LEFT_OVER * most)
    rise = np.nan_to_num(np.abs([found.rise_back, found.rise_ahead])).max(axis=0)[spot.leg] * uneven
    disorder, disorder_up = (_disorder(routes, found, *one, laying_length) for one in (
        (found.back, found.ahead), (found.rise_back, found.rise_ahead)))  # fmt: skip
    angle = np.nan_to_num(turning.bend)
    cut = _cut_corners(line, joints, found, spot, turning, sigma_along)
    angle = np.where(cut.shot, 0.0, angle)
    kinked, kinks = _kinks(spot, angle)
    # Where no joint lies between the shots of a pipe's length, there is one pipe, and it is straight.
    curved = spot.jointed | (found.length > arcs.ONE_PIPE * laying_length)
    longer = found.length**3 * square / 24.0 + found.length**2 * disorder / 12.0
    # Shots of one place, or nearly, make turns that no pipe takes: a half circle between two shots is the most.
    longer = kinks + curved * np.minimum(longer, (np.pi / 2.0 - 1.0) * found.length)
    farthest = spot.length / 2.0
    if routes.rounding_horizontal is not None:
        # Shots that were rounded zigzag, and the line through them is longer than the pipe by as much at each.
        vertex = np.flatnonzero(routes.vertex_route[1:] == routes.vertex_route[:-1])
        variance = routes.rounding_horizontal**2
        longer += (variance[vertex] + variance[vertex + 1]) / (2.0 * np.maximum(found.length, arcs.SHORTEST))
    bow = spot.length * spot.part * (1.0 - spot.part)
    wander = np.minimum(bow * np.sqrt(disorder * found.length / 3.0)[spot.leg], farthest)
    # A bend makes its leg longer by what its own second joint and those beside it turn, and nothing shows which way.
    unsure = spot.sums(angle**2 * (wander**2 + bow**2 * laying_length * disorder[spot.leg]))
    seen = Astray(
        across=np.minimum(bow * spot.length * most / 2.0, farthest) + kinked + cut.across,
        along=_drift(line, joints, longer) + cut.drift + cut.along,
        up=np.minimum(bow * spot.length * rise / 2.0, farthest) + kinked + cut.across,
        wander=np.hypot(wander, _since_ties(line, joints, unsure)),
        wander_up=np.minimum(bow * np.sqrt(disorder_up * found.length / 3.0)[spot.leg], farthest),
    )
    return _if_all_of_it(line, joints, seen, spot, allowed + angle, laying_length) if turning.all_of_it else seen


class _Spot(NamedTuple):
    """Where each joint lies in its leg: shapes (joints,)."""

    leg: Ints
    part: Floats
    length: Floats
    """Of its leg."""
    first: Ints
    """Where the joints of each leg begin, shape (legs + 1,)."""

    @classmethod
    def of(cls, joints: Joints, length: Floats) -> _Spot:
        leg = joints.located.vertex - joints.route
        return cls(leg, joints.located.weight, length[leg], np.searchsorted(leg, np.arange(len(length) + 1)))

    @property
    def inside(self) -> Bools:
        return (self.part > ON_A_SHOT) & (self.part < 1.0 - ON_A_SHOT)

    @property
    def jointed(self) -> Bools:
        """True for legs with a joint inside, shape (legs,)."""
        return self.sums(self.inside) > 0

    def sums(self, values: Floats | Bools) -> Floats:
        """Sum values of joints in each leg, shape (legs,)."""
        return np.bincount(self.leg, values, len(self.first) - 1).astype(np.float64)

    def largest(self, values: Floats) -> Floats:
        """Give the largest value in each leg, at least 1: shape (legs,)."""
        found = np.ones(len(self.first) - 1)
        np.maximum.at(found, self.leg, values)
        return found

    def bows(self, turn: Floats) -> Floats:
        """Give how far the turns of all joints of a leg lead off its straight at each of them."""
        end = self.first[self.leg + 1]
        back, ahead = (running(part * turn, self.first) for part in (self.part, 1.0 - self.part))
        found: Floats = self.length * ((1.0 - self.part) * back + self.part * (ahead[end - 1] - ahead))
        return found


def _unevenness(routes: Routes, spot: _Spot, joints: Joints, allowed: Floats) -> Floats:
    """Give how much farther than an even curve joints lead that turn each by what it allows; at least 1."""
    reach = np.zeros(len(routes.distance))
    step = np.where(np.diff(routes.vertex_route) == 0, np.diff(routes.distance), 0.0)
    reach[1:] += step / 2.0
    reach[:-1] += step / 2.0
    turned = shares.sums(joints.located, allowed, len(reach))
    each = np.divide(reach, turned, out=np.zeros(len(reach)), where=turned > 0)
    even = spot.length**2 * spot.part * (1.0 - spot.part) / 2.0
    by_one = spot.bows(allowed) * np.maximum(each[joints.located.vertex], each[joints.located.vertex + 1])
    return np.maximum(np.divide(by_one, even, out=np.ones(len(even)), where=spot.inside & (even > 0)), 1.0)


def _alone(routes: Routes, length: Floats) -> Floats:
    """Give how much larger the curvatures at the ends of legs are where the leg alone turns: shape (2, legs).

    A curvature is told of a turn as if it were spread over both its legs. Beside one that is far shorter, a leg may
    have nearly all of the turn, and is then longer than its straight by so much more.
    """
    leg_route = routes.vertex_route[np.flatnonzero(routes.vertex_route[1:] == routes.vertex_route[:-1])]
    beside = np.full((2, len(length)), np.inf)
    same = leg_route[1:] == leg_route[:-1]
    beside[0, 1:][same], beside[1, :-1][same] = length[:-1][same], length[1:][same]
    return np.where(beside < length / 2.0, 1.0 + beside / np.maximum(length, arcs.SHORTEST), 1.0)


def _kinks(spot: _Spot, angle: Floats) -> tuple[Floats, Floats]:
    """Give how far bends lead off the straights of their legs (joints,), and what they make these longer (legs,)."""
    if not angle.any():
        return np.zeros(len(angle)), np.zeros(len(spot.first) - 1)
    off = spot.bows(angle)
    longer = spot.sums(angle * off) / 2.0
    # Pipes are as long as the way around the corner, not as the straight across it.
    return off * (1.0 + 2.0 * longer[spot.leg] / np.maximum(spot.length, arcs.SHORTEST)), longer


class _Cut(NamedTuple):
    """What the line may cut of the corners at bends that were shot, at one end or at both instead of at the center."""

    across: Floats
    """Shape (joints,), as the next two."""
    along: Floats
    drift: Floats
    """By how much stations behind the bends may run ahead of their places, as the line is shorter than the pipe."""
    shot: Bools
    """Bends that were shot, shape (joints,)."""


def _cut_corners(
    line: StationedLine, joints: Joints, found: arcs.Legs, spot: _Spot, turning: Turning, sigma_along: Floats
) -> _Cut:
    """Give how far joints beside bends that were shot may lie from the line, as their corners are not at the shots.

    Shot at an end, a bend turns one center-to-end length before its shot, or behind it, and the line there is shorter
    than the pipe by 1 - cos of its turn; shot at both, by the two lengths less the chord of them.
    """
    routes, none, many = line.routes, np.zeros(len(spot.leg)), len(found.length)
    bends, is_shot = np.flatnonzero(np.nan_to_num(turning.bend)), np.zeros(len(none), dtype=np.bool_)
    if not len(bends):
        return _Cut(none, none, none, is_shot)
    vertex = np.flatnonzero(routes.vertex_route[1:] == routes.vertex_route[:-1])
    follows, turn = np.flatnonzero(np.diff(vertex) == 1) + 1, np.zeros(many + 1)
    # The turn at the start of each leg; that at its end is the next leg's.
    turn[follows] = np.pi - (np.pi - (found.azimuth[follows] - found.azimuth[follows - 1])) % (2.0 * np.pi)
    leg, to_end, angle = spot.leg[bends], turning.to_end[bends], np.abs(turning.bend[bends])
    sigma_along = sigma_along[bends]
    behind = spot.part[bends] * spot.length[bends]
    before = spot.length[bends] - behind
    end = np.where(behind <= before, leg, leg + 1)
    near = np.minimum(behind, before) <= 2.0 * (to_end + sigma_along)
    at_one = near & (np.abs(turn[end]) >= SHOT_BEND * angle)
    reach, both = np.zeros(many + 1), np.zeros(many)
    np.maximum.at(reach, end[at_one], to_end[at_one])
    cut = np.where(at_one, (1.0 - np.cos(turn[end])) * to_end, 0.0)
    off = joints.distance[bends] - routes.distance[joints.located.vertex[bends] + end - leg]
    at_both = np.zeros(len(bends), dtype=np.bool_)
    for of in (end - 1, end):
        inside = (of >= 0) & (of < many)
        of = np.clip(of, 0, many - 1)
        whole = np.abs(turn[of] + turn[of + 1])
        ends = inside & near & ~at_one & (found.length[of] <= 2.0 * to_end + 4.0 * sigma_along)
        ends &= (turn[of] * turn[of + 1] > 0) & (whole >= SHOT_BEND * angle)
        chord = found.length[of] * (1.0 / np.cos(np.minimum(whole, np.pi / 2.0) / 2.0) - 1.0)
        both[of[ends]], cut[ends] = chord[ends], chord[ends]
        off[ends] = (joints.distance[bends] - routes.distance[vertex[of]])[ends]
        at_both |= ends
    shot = at_one | at_both
    is_shot[bends[shot]] = True
    across, straight = np.sin(np.minimum(np.abs(turn), np.pi / 2.0)), 1.0 - np.cos(turn)
    beyond, short_of = _tent(spot, reach[:-1], spot.part), _tent(spot, reach[1:], 1.0 - spot.part)
    longer = both + straight[:-1] * np.minimum(reach[:-1], found.length / 2.0)
    return _Cut(
        np.maximum(across[spot.leg] * beyond, across[spot.leg + 1] * short_of),
        straight[spot.leg] * beyond,
        np.minimum(_drift(line, joints, longer), _most_drift(joints, bends[shot], off[shot], cut[shot])),
        is_shot,
    )


def _most_drift(joints: Joints, bends: Ints, off: Floats, cut: Floats) -> Floats:
    """Give by how much stations can run ahead, as bends by their stations lie so far from their shots: (joints,).

    A fitting may be logged at one of its places and shot at another, so what counts is how far the bends up to the next
    one are off otherwise than the first of their route; and by how much the last one may be cut.
    """
    most = np.full(len(joints), np.inf)
    if not len(bends):
        return most
    route = joints.route[bends]
    first = np.searchsorted(route, route)
    other = np.abs(off - off[first])
    step = 2.0 * other.max() + 1.0
    by_now = np.abs(off[first]) + np.maximum.accumulate(other + step * first) - step * first
    back = np.searchsorted(bends, np.arange(len(joints)), side="right") - 1
    behind = (back >= 0) & (route[back] == joints.route)
    ahead = np.minimum(back + 1, len(bends) - 1)
    to = np.where(route[ahead] == joints.route, ahead, back)
    most[behind] = (by_now[to] + cut[back])[behind]
    return most


def _tent(spot: _Spot, reach: Floats, part: Floats) -> Floats:
    """Give by joints how far a corner in their leg leads off its straight, for each unit of its turn, shape (joints,).

    The corner lies so far from the end of the leg from which `part` is counted: shape (legs,).
    """
    corner = np.minimum(reach[spot.leg] / np.maximum(spot.length, arcs.SHORTEST), 0.5)
    return spot.length * np.minimum(part, corner) * (1.0 - np.maximum(part, corner))


def _if_all_of_it(
    line: StationedLine, joints: Joints, seen: Astray, spot: _Spot, turn: Floats, laying_length: float
) -> Astray:
    """Widen what the turns show to all that joints between shots could take, if they all turned one way."""
    length = np.zeros(len(spot.first) - 1)
    length[spot.leg] = spot.length
    # Joints that the log does not have may turn, too.
    scale = np.maximum((length / laying_length - 1.0) / np.maximum(spot.sums(spot.inside), 1.0), 1.0)
    most = spot.bows(turn) * scale[spot.leg]
    longer = spot.sums(turn * most * scale[spot.leg]) / 2.0
    none = np.zeros(len(turn))
    return Astray(
        np.maximum(most, seen.across + 2.0 * seen.wander), np.maximum(_drift(line, joints, longer), seen.along),
        np.maximum(most, seen.up + 2.0 * seen.wander_up), none, none,
    )  # fmt: skip


def _disorder(routes: Routes, found: arcs.Legs, back: Floats, ahead: Floats, laying_length: float) -> Floats:
    """Give the variance of deflections without order in a unit of length, of each leg's route: shape (legs,).

    A turn between two others that it does not lie between shows it; where a route has no three turns, every turn does.
    Of few turns it is taken larger, so that the places of one more leg are as sure as stated.
    """
    leg_route = routes.vertex_route[np.flatnonzero(routes.vertex_route[1:] == routes.vertex_route[:-1])]
    many = len(routes.names)
    inner = np.arange(1, len(back) - 1)
    inner = inner[(leg_route[inner - 1] == leg_route[inner + 1])] if len(back) > 2 else inner[:0]
    # The turn ahead of a leg, held against the mean of that behind it and that ahead of the next leg.
    mean = (back[inner] + ahead[inner + 1]) / 2.0
    reach = (found.length[inner] + found.length[inner + 1]) / 2.0
    odd = (ahead[inner] - mean) ** 2 * reach
    known = np.isfinite(odd)
    total = np.bincount(leg_route[inner[known]], odd[known], many)
    count = np.bincount(leg_route[inner[known]], minlength=many)
    single = np.nan_to_num(ahead) ** 2 * found.length
    singles = np.bincount(leg_route, np.isfinite(ahead), many)
    alone = np.bincount(leg_route, single, many) / np.maximum(singles, 1.0)
    taken = np.where(count > 0, total / np.maximum(count, 1), alone)
    # Where every shot is of a bend, or there are two, nothing shows what the joints between them turn.
    usual = np.radians(USUAL_DEG) ** 2 / laying_length
    return np.where(singles > 0, taken * for_few(np.where(count > 0, count, singles)), usual)[leg_route]


def for_few(count: Floats) -> Floats:
    """Give by how much a variance that was found from so many values is taken larger.

    Parameters
    ----------
    count : array, shape (n,)

    Returns
    -------
    array, shape (n,)
        At least 1; that of `LEAST_TURNS` for fewer.

    Source
    ------
    Quantile at 95 % of the F distribution with 2 and n degrees of freedom, n / 2 (0.05^(-2 / n) - 1), over that of
    chi-square with 2, both in closed form; textbook.

    Examples
    --------
    >>> for_few(np.array([1.0, 4.0, 20.0, 1e6])).round(2).tolist()
    [2.32, 2.32, 1.17, 1.0]
    """
    n = np.maximum(count, LEAST_TURNS)
    larger: Floats = n * (0.05 ** (-2.0 / n) - 1.0) / (-2.0 * np.log(0.05))
    return larger


def _drift(line: StationedLine, joints: Joints, longer: Floats) -> Floats:
    """Add up along each route by how much the curve is longer than the line; ties begin the count anew."""
    routes = line.routes
    total = _running(routes, longer)
    here = between(total, joints.located)
    if routes.calibration is None:
        return here
    return np.abs(here - _stretched_by_ties(routes, total, joints))


def _since_ties(line: StationedLine, joints: Joints, variance: Floats) -> Floats:
    """Add up variances of the lengths of legs along each route; ties begin the count anew. Gives standard errors."""
    routes, ties = line.routes, line.routes.calibration
    total = _running(routes, variance)
    here = between(total, joints.located)
    if ties is None or not variance.any():
        return np.sqrt(here)
    first = np.searchsorted(joints.route, np.arange(len(routes.names) + 1))
    for route in np.flatnonzero(np.diff(ties.first)).tolist():
        rows = slice(int(first[route]), int(first[route + 1]))
        part = slice(int(routes.first[route]), int(routes.first[route + 1]))
        actual = ties.actual[ties.first[route] : ties.first[route + 1]]
        at_ties = np.interp(actual, routes.distance[part], total[part])
        tie = np.searchsorted(actual, joints.distance[rows], side="right") - 1
        low, high = at_ties[np.maximum(tie, 0)], at_ties[np.minimum(tie + 1, len(actual) - 1)]
        here[rows] = np.minimum(np.abs(here[rows] - low), np.abs(high - here[rows]))
    return np.sqrt(here)


def _running(routes: Routes, each: Floats) -> Floats:
    """Add up along each route what each leg has, shape (vertices,)."""
    vertex = np.flatnonzero(routes.vertex_route[1:] == routes.vertex_route[:-1])
    step = np.zeros(len(routes.distance))
    step[vertex + 1] = each
    return running(step, routes.first)


def _stretched_by_ties(routes: Routes, total: Floats, joints: Joints) -> Floats:
    """Give what of the drift the ties take up: all of it at a tie, evenly between two of them."""
    ties, taken = routes.calibration, np.zeros(len(joints))
    assert ties is not None
    first = np.searchsorted(joints.route, np.arange(len(routes.names) + 1))
    for route in np.flatnonzero(np.diff(ties.first)).tolist():
        rows = slice(int(first[route]), int(first[route + 1]))
        actual = ties.actual[ties.first[route] : ties.first[route + 1]]
        if rows.stop > rows.start:
            part = slice(int(routes.first[route]), int(routes.first[route + 1]))
            at_ties = np.interp(actual, routes.distance[part], total[part])
            taken[rows] = np.interp(joints.distance[rows], actual, at_ties)
    return taken


_UNTOLD = "nothing in the data tells which way the line runs, so that a joint may lie as far from its other end"


class KnownTo(NamedTuple):
    """How well each joint's place is known, at 95 percent: shapes (joints,), coordinate units; NaN where unknown."""

    horizontal: Floats
    vertical: Floats
    across: Floats
    """Square to the line in plan, in that one direction."""
    along: Floats
    """Along the line, by the station and what lies between shots, without the shots' own error."""
    put_between: Bools
    """Joints whose elevation was not measured but put between measured ones: how well it is known is not known."""
    source: pa.Array
    """How it was found, as `chosen` gives texts: the standard is named for what was shot alone, and what joints between
    it turn."""

    def unless(self, where: Bools) -> KnownTo:
        """Give the same without some joints: those that rest on what nobody shot."""
        if not where.any():
            return self
        horizontal, vertical, across, along = (
            np.where(where, np.nan, one) for one in (self.horizontal, self.vertical, self.across, self.along)
        )
        source = chosen(self.source.dictionary, as_ints(self.source.indices, 0), where | as_mask(self.source.is_null()))
        return KnownTo(horizontal, vertical, across, along, self.put_between, source)

    def unless_untold(self, where: Bools) -> KnownTo:
        """Give the same without some joints: those of lines of which nothing tells which way they run."""
        if not where.any():
            return self
        found, many = self.unless(where), len(self.source.dictionary)
        source = pa.concat_arrays([self.source.dictionary, pa.array([_UNTOLD])])
        which = np.where(where, many, as_ints(self.source.indices, 0))
        return found._replace(source=chosen(source, which, as_mask(self.source.is_null())))

    def farther(self, by: Floats) -> KnownTo:
        """Give the same with joints that may lie farther off along the line, by so much each, coordinate units."""
        if not by.any():
            return self
        return self._replace(horizontal=self.horizontal + by, along=self.along + by)

    def aside(self, by: Floats, up: Floats) -> KnownTo:
        """Give the same with joints that may lie farther aside, and up or down, by so much each, coordinate units."""
        if not (by.any() or up.any()):
            return self
        return self._replace(horizontal=self.horizontal + by, across=self.across + by, vertical=self.vertical + up)


def joint_accuracy(
    found: Accuracy | None, line: StationedLine, joints: Joints, turning: Turning, sigma_along: Floats,
    by_station: str, laying_length: float,
) -> KnownTo:  # fmt: skip
    """Give each joint's accuracy at 95 percent, and how it was found.

    Parameters
    ----------
    found : Accuracy, or None where the job has no check shots
    line : StationedLine
    joints : Joints
    turning : Turning
    sigma_along : array, shape (joints,)
        Standard error of a station along the line, coordinate units; joints that were surveyed do not have it. NaN
        where nothing tells it: then the place in plan has no accuracy, and the elevation that of a joint off by a
        laying length.
    by_station : str
        What is said of that error.
    laying_length : float
        Coordinate units.

    Returns
    -------
    KnownTo
        Of a joint placed by its station: the shots' errors, the station's as if it went in every direction, and what
        the line may do between shots. A joint surveyed itself has its shot's.
    """
    routes, own = line.routes, joints.surveyed
    plan, height = _shot_errors(found, routes, joints)
    # What was surveyed in plan alone has the line's elevation where it lies along it.
    by_line = ~joints.own_height
    filled = by_line & put_between(routes, joints) & np.isfinite(joints.elevation)
    if np.isnan(plan).all() and np.isnan(height).all():
        none = chosen(pa.array([], pa.string()), np.zeros(len(joints), np.int64), np.ones(len(joints), np.bool_))
        return KnownTo(plan, height, plan, plan, filled, none)
    untold, along = np.isnan(sigma_along) & ~own, np.nan_to_num(sigma_along)
    placed_by_station = np.where(own, 0.0, 1.0)
    grade, off = _grades(routes, joints), astray(line, joints, turning, along, laying_length)
    horizontal = radius(
        np.sqrt(plan**2 + placed_by_station * (along**2 + off.wander**2)),
        placed_by_station * np.hypot(off.across, off.along),
    )
    # Along the line the shots beside a joint are off, and so is the one at which its stations begin, or its own.
    shots = np.where(by_line & (joints.own_shot | ~own), 2.0 * np.nan_to_num(plan) ** 2, 0.0)
    vertical = radius(
        np.sqrt(height**2 + grade**2 * (placed_by_station * along**2 + shots) + by_line * off.wander_up**2),
        np.hypot(by_line * off.up, placed_by_station * grade * (off.along + laying_length * untold)),
        in_plan=False,
    )
    # A change of datum shifts all joints that came by it, as it does on the way to the utility's map.
    horizontal = hypotenuse(horizontal, joints.carried)
    # The station's error leads along the line, and not off it.
    across = radius(hypotenuse(plan, placed_by_station * off.wander), placed_by_station * off.across, in_plan=False)
    across = hypotenuse(across, joints.carried)
    lengthwise = radius(placed_by_station * hypotenuse(along, off.wander), placed_by_station * off.along, in_plan=False)
    horizontal, across, lengthwise = (
        np.where(np.isnan(plan), np.nan, one) for one in (horizontal, across, lengthwise)
    )  # fmt: skip
    horizontal = np.where(untold, np.nan, horizontal)
    vertical = np.where(np.isnan(height) | np.isnan(joints.elevation) | filled, np.nan, vertical)
    known = np.isfinite(across) | np.isfinite(vertical)
    inside = (joints.located.weight > ON_A_SHOT) & (joints.located.weight < 1.0 - ON_A_SHOT)
    which = np.where(~own, 1, np.where(joints.own_shot & by_line & inside & np.isfinite(vertical), 2, 0))
    which += 3 * (filled & np.isfinite(height))
    sources = _sources(found, turning.all_of_it, by_station)
    # The second half of them are those with a change of datum.
    which += len(sources) // 2 * (joints.carried > 0.0)
    return KnownTo(horizontal, vertical, across, lengthwise, filled, chosen(sources, which, ~known))


def put_between(routes: Routes, joints: Joints) -> Bools:
    """Say which joints lie on a leg whose elevations were not both measured; at a shot that one alone counts.

    Parameters
    ----------
    routes : Routes
    joints : Joints
    """
    measured = heights_measured(routes)
    vertex, weight = joints.located
    back, ahead = measured[vertex] | (weight > 1.0 - ON_A_SHOT), measured[vertex + 1] | (weight < ON_A_SHOT)
    filled: Bools = ~(back & ahead)
    return filled


def _shot_errors(found: Accuracy | None, routes: Routes, joints: Joints) -> tuple[Floats, Floats]:
    """Give the standard errors of the line at each joint: by check shots, or as the job states them."""
    none = np.full(len(joints), np.nan)
    if found is not None:
        plan = np.nan if found.accuracy_horizontal is None else found.accuracy_horizontal / CIRCULAR
        height = np.nan if found.rmse_vertical is None else found.rmse_vertical
        return np.full(len(joints), plan), np.hypot(height, joints.rounded_up)
    stated = []
    own = (joints.surveyed, joints.own_height)
    for known, sigma, alone in zip((routes.sigma_horizontal, routes.sigma_vertical), routes.errors, own, strict=True):
        # What was rounded alone is no accuracy of a survey.
        if known is None or sigma is None:
            stated.append(none)
            continue
        vertex, weight = joints.located
        line = np.sqrt((sigma[vertex] * (1.0 - weight)) ** 2 + (sigma[vertex + 1] * weight) ** 2)
        stated.append(np.where(alone, between(sigma, joints.located), line))
    return hypotenuse(stated[0], joints.rounded), hypotenuse(stated[1], joints.rounded_up)


def _grades(routes: Routes, joints: Joints) -> Floats:
    """Give how steep the line is at each joint, rise over run; 0 where it is unknown."""
    vertex = joints.located.vertex
    run = routes.distance[vertex + 1] - routes.distance[vertex]
    rise = routes.elevation[vertex + 1] - routes.elevation[vertex]
    grade: Floats = np.abs(np.nan_to_num(np.divide(rise, run, out=np.zeros(len(run)), where=run > 0)))
    return grade


def _sources(found: Accuracy | None, all_of_it: bool, by_station: str) -> pa.Array:
    turn = (
        "as far as joints between shots stay within their allowables" if all_of_it else
        "as far as joints between two shots do not turn one way and back again, which no shot shows"
    )  # fmt: skip
    between_shots = f"{by_station} and the line between shots, {turn}"
    by_line = f"the elevation by that of the line between shots, {turn}"
    if found is None:
        basis = "the job's standard errors of shots"
        told = [basis, f"{basis}, {between_shots}", f"{basis}, {by_line}"]
    else:
        basis = f"independent check shots ({found.points} points)"
        alone = f"{STANDARD} is for what was shot alone"
        told = [
            f"independent check shots, {STANDARD} ({found.points} points)", f"{basis}, {between_shots}; {alone}",
            f"{basis}, {by_line}; {alone}",
        ]  # fmt: skip
    told += [f"{one}; the elevation is put between measured ones, how well is not known" for one in told]
    return pa.array([*told, *(f"{one}, and what a change of datum, or a shift, does to the log's coordinates"
                              for one in told)])  # fmt: skip
