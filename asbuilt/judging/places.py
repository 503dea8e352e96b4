"""How well each joint's place is known: the shots' noise, the station's error, and what the line may do between shots.

Between shots a joint lies off the line by up to the sagitta of the curve that the turns on either side show, and the
curve is longer than the line, so that stations run ahead of their places. Both are no noise: they move all joints of a
leg one way, and more shots or a tie take them away, not more careful ones.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pyarrow as pa

from asbuilt.arrays import Floats
from asbuilt.judging.accuracy import CIRCULAR, STANDARD
from asbuilt.line import arcs
from asbuilt.line.routes import between

if TYPE_CHECKING:
    from asbuilt.judging.accuracy import Accuracy
    from asbuilt.line.routes import Routes
    from asbuilt.line.stationed import StationedLine
    from asbuilt.placing.joints import Joints

LEFT_OVER = 0.3
"""Part of a bow that remains unknown where an arc was laid through the shots; by simulation."""
ON_A_SHOT = 0.02
"""A joint within this part of a leg from its end is at the shot."""
LIKELY_BEND_DEG = 45.0
"""What a bend of unknown angle may turn, for the accuracy of places beside it."""
_RATIOS = np.arange(0.0, 6.25, 0.5)
_IN_PLAN = np.array(
    [2.4477, 2.5917, 2.9398, 3.3685, 3.8263, 4.2978, 4.7772, 5.2616, 5.7493, 6.2393, 6.7311, 7.2243, 7.7184]
)
_IN_HEIGHT = np.array(
    [1.9600, 2.1815, 2.6461, 3.1449, 3.6449, 4.1449, 4.6449, 5.1449, 5.6449, 6.1449, 6.6449, 7.1449, 7.6449]
)
"""Radius about the stated place, in standard errors, that holds 95 % where the truth is shifted by so many of them.
Roots of the noncentral chi-square distribution, of two degrees of freedom in plan and one in height."""


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


def astray(line: StationedLine, joints: Joints, bend: Floats) -> Astray:
    """Say how far joints between shots may lie from the line, by the turns of the line on either side.

    Parameters
    ----------
    line : StationedLine
        With its corners marked, so that a fitting's turn is not taken for a curve.
    joints : Joints
    bend : array, shape (joints,)
        Angle of the bend at each joint, radians; NaN where there is none.

    Returns
    -------
    Astray
        On a leg of length L whose ends show the curvatures a and b, f of the way along it: L^2 f (1 - f) / 2 times the
        larger of both, and a length of L^3 (a^2 + b^2) / 48 more than the straight has. Where an arc was laid, its
        own curvature is taken off, but a part of the bow is always left. Deflections without order, of variance q in a
        unit of length, make L f (1 - f) sqrt(q L / 3) and q L^2 / 12. A bend between shots makes L g (1 - g) times
        its angle where it is, g of the way along the leg, and less on either side.

    Notes
    -----
    A zigzag from joint to joint that is in step with the shots shows in no turn, and is in none of this.
    """
    routes = line.routes
    found = arcs.legs(routes)
    leg, part = joints.located.vertex - joints.route, joints.located.weight
    ends = np.abs([found.back, found.ahead])
    ends = np.where(np.isnan(ends), ends[::-1], ends)
    most, square = np.nan_to_num(ends.max(axis=0)), np.nan_to_num((ends**2).mean(axis=0))
    if routes.arcs is not None:
        own = np.abs(routes.arcs.curvature_start)
        square = np.maximum(np.abs(square - own**2), LEFT_OVER * square)
        most = np.maximum(most - own, LEFT_OVER * most)
    rise = np.nan_to_num(np.abs([found.rise_back, found.rise_ahead])).max(axis=0)
    disorder, disorder_up = (_disorder(routes, found, *one) for one in (
        (found.back, found.ahead), (found.rise_back, found.rise_ahead)))  # fmt: skip
    kinks = _bends_between(joints, bend, found.length)
    # Where no joint lies between the shots, there is one pipe, and it is straight.
    jointed = np.bincount(leg, (part > ON_A_SHOT) & (part < 1.0 - ON_A_SHOT), len(found.length)) > 0
    longer = kinks.longer + jointed * (found.length**3 * square / 24.0 + found.length**2 * disorder / 12.0)
    bow = found.length[leg] * part * (1.0 - part)
    # At a kink the line is farthest from its straight; beyond it, it comes back in a straight.
    tent = np.minimum(part, kinks.part[leg]) * (1.0 - np.maximum(part, kinks.part[leg]))
    tent *= (kinks.angle * (found.length + 2.0 * kinks.longer))[leg]
    return Astray(
        across=bow * (found.length * most / 2.0)[leg] + tent,
        along=_drift(line, joints, longer),
        up=bow * (found.length * rise / 2.0)[leg] + tent,
        wander=bow * np.sqrt(disorder * found.length / 3.0)[leg],
        wander_up=bow * np.sqrt(disorder_up * found.length / 3.0)[leg],
    )


def _disorder(routes: Routes, found: arcs.Legs, back: Floats, ahead: Floats) -> Floats:
    """Give the variance of deflections without order in a unit of length, of each leg's route: shape (legs,).

    A turn between two others that it does not lie between shows it; where a route has no three turns, every turn does.
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
    alone = np.bincount(leg_route, single, many) / np.maximum(np.bincount(leg_route, np.isfinite(ahead), many), 1.0)
    return np.where(count > 0, total / np.maximum(count, 1), alone)[leg_route]


class _Kinks(NamedTuple):
    """Bends between the shots of each leg: shapes (legs,)."""

    angle: Floats
    """Of all its bends, radians; 0 where it has none."""
    part: Floats
    """How far along the leg they are, their middle where there are several."""
    longer: Floats
    """What they make the leg longer than its straight, coordinate units."""


def _bends_between(joints: Joints, bend: Floats, length: Floats) -> _Kinks:
    at = np.flatnonzero(np.isfinite(bend))
    leg, part = joints.located.vertex[at] - joints.route[at], joints.located.weight[at]
    angle, middle, longer = (np.zeros(len(length)) for _ in range(3))
    np.add.at(angle, leg, bend[at])
    np.add.at(middle, leg, bend[at] * part)
    np.add.at(longer, leg, bend[at] ** 2 * part * (1.0 - part) * length[leg] / 2.0)
    return _Kinks(angle, np.divide(middle, angle, out=np.zeros(len(angle)), where=angle > 0), longer)


def _drift(line: StationedLine, joints: Joints, longer: Floats) -> Floats:
    """Add up along each route by how much the curve is longer than the line; ties begin the count anew."""
    routes = line.routes
    vertex = np.flatnonzero(routes.vertex_route[1:] == routes.vertex_route[:-1])
    step = np.zeros(len(routes.distance))
    step[vertex + 1] = longer
    total = np.cumsum(step)
    total -= total[routes.first[:-1]][routes.vertex_route]
    here = between(total, joints.located)
    if routes.calibration is None:
        return here
    return np.abs(here - _stretched_by_ties(routes, total, joints))


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


def joint_accuracy(
    found: Accuracy | None, line: StationedLine, joints: Joints, bend: Floats, sigma_along: float
) -> tuple[Floats, Floats, pa.Array]:
    """Give each joint's accuracy at 95 percent, and how it was found.

    Parameters
    ----------
    found : Accuracy, or None where the job has no check shots
    line : StationedLine
    joints : Joints
    bend : array, shape (joints,)
        Angle of the bend at each joint, radians; NaN where there is none.
    sigma_along : float
        Standard error of a station along the line, coordinate units; joints that were surveyed do not have it.

    Returns
    -------
    horizontal, vertical : array, shape (joints,)
        Coordinate units; NaN where unknown. Of a joint placed by its station: the shots' errors, the station's as if it
        went in every direction, and what the line may do between shots. A joint surveyed itself has its shot's.
    source : pyarrow string array, shape (joints,)
        The standard is named only for what was shot.
    """
    routes, own = line.routes, joints.surveyed
    off, placed_by_station = astray(line, joints, bend), np.where(own, 0.0, 1.0)
    plan, height = _shot_errors(found, routes, joints)
    grade, along = _grades(routes, joints), sigma_along
    horizontal = radius(
        np.sqrt(plan**2 + placed_by_station * (along**2 + off.wander**2)),
        placed_by_station * np.hypot(off.across, off.along),
    )
    vertical = radius(
        np.sqrt(height**2 + placed_by_station * ((grade * along) ** 2 + off.wander_up**2)),
        placed_by_station * np.hypot(off.up, grade * off.along),
        in_plan=False,
    )
    horizontal = np.where(np.isnan(plan), np.nan, horizontal)
    vertical = np.where(np.isnan(height) | np.isnan(joints.elevation), np.nan, vertical)
    known = np.isfinite(horizontal) | np.isfinite(vertical)
    return horizontal, vertical, _sources(found).take(pa.array(np.where(own, 0, 1), mask=~known))


def _shot_errors(found: Accuracy | None, routes: Routes, joints: Joints) -> tuple[Floats, Floats]:
    """Give the standard errors of the line at each joint: by check shots, or as the job states them."""
    none = np.full(len(joints), np.nan)
    if found is not None:
        plan = np.nan if found.accuracy_horizontal is None else found.accuracy_horizontal / CIRCULAR
        height = np.nan if found.rmse_vertical is None else found.rmse_vertical
        return np.full(len(joints), plan), np.full(len(joints), height)
    stated = []
    for sigma in (routes.sigma_horizontal, routes.sigma_vertical):
        if sigma is None:
            stated.append(none)
            continue
        vertex, weight = joints.located
        line = np.sqrt((sigma[vertex] * (1.0 - weight)) ** 2 + (sigma[vertex + 1] * weight) ** 2)
        stated.append(np.where(joints.surveyed, between(sigma, joints.located), line))
    return stated[0], stated[1]


def _grades(routes: Routes, joints: Joints) -> Floats:
    """Give how steep the line is at each joint, rise over run; 0 where it is unknown."""
    vertex = joints.located.vertex
    run = routes.distance[vertex + 1] - routes.distance[vertex]
    rise = routes.elevation[vertex + 1] - routes.elevation[vertex]
    grade: Floats = np.abs(np.nan_to_num(np.divide(rise, run, out=np.zeros(len(run)), where=run > 0)))
    return grade


def _sources(found: Accuracy | None) -> pa.Array:
    between_shots = "the line between shots and the station's error"
    if found is None:
        basis = "the job's standard errors of shots"
        return pa.array([basis, f"{basis}, {between_shots}"])
    return pa.array([
        f"independent check shots, {STANDARD} ({found.points} points)",
        f"independent check shots ({found.points} points), {between_shots}; {STANDARD} is for what was shot alone",
    ])  # fmt: skip
