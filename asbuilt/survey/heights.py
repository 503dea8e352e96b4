"""Elevations of shots held against one another: numbers that are none, spikes, and steps that no pipe can follow."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.held import concatenated, cuts, held
from asbuilt.line.routes import heights_measured, with_elevations
from asbuilt.notes import OfRoutes
from asbuilt.survey.doubts import Doubt, checked, file_of, label, least_off, most_turn
from asbuilt.survey.screening import JOINT_MOST

if TYPE_CHECKING:
    from asbuilt.job import Job
    from asbuilt.line.routes import Routes

LOWEST_M, HIGHEST_M = -450.0, 6_000.0
"""No pipe lies lower or higher: the shore of the Dead Sea, and the highest towns. Common practice, no source."""
APART_M = 3.0
"""An elevation of exactly zero is none where it lies this far from those beside it."""
STEEP = 0.3
"""And where a pipe would have to run so steeply to reach it."""
STEP_M = 5.0
"""A step of less than this may be a riser."""
LEAST_M = 0.15
"""A shot that lies nearer to the grade of its neighbours moves no joint by more than can be seen. Judgement."""
_OF_ONE, _MANY_OF_ONE = 6, 8
"""Shots of exactly one elevation on a route, a step off those beside them, of which it is none; and so many one after
another where it begins or ends the line, or is that of all shots. Judgement: true ones scatter."""
_DECIMALS, _EXACT = np.array([1.0, 0.5, 0.25, 0.1, 0.05, 0.02, 0.01, 0.005, 0.002, 0.001]), 1e-6
"""Steps in which elevations are written, and what is left of them in a number that is one."""
_BY_CHANCE = 1e-4
"""Chance at most of so many true elevations of one step where the pipe lies level; judgement."""
_FEW_STEPS, ALIKE_PART, _BESIDE = 4, 0.2, 4
"""Steps up and down from which on they are told, how far they may differ, and legs on either side of one."""
_LEVEL = 0.1
"""Grade within which two heights in feet and in metres are taken to be one."""
RISER_M = 0.3
"""Shots no farther apart in plan than this, at different elevations, are the two ends of a riser."""


def screen_heights(job: Job, routes: Routes, most: float = JOINT_MOST) -> tuple[Routes, list[Doubt]]:
    """Find elevations that cannot be right, and take those that are none as unknown.

    Parameters
    ----------
    job : Job
    routes : Routes
    most : float
        The most that a joint of the log may deflect, radians.

    Returns
    -------
    routes : Routes
        Without the elevations that are none (0, -9999, one number over and over and the like): they are unknown, and
        filled between those on either side as other unknown ones are. Spikes stay until `without_spikes`.
    doubts : list of Doubt
        Those with a `turn` are doubtful only while no bend in the log explains them.
    """
    if routes.pieces is not None or not np.isfinite(routes.elevation).any():
        return routes, []
    right = checked(routes, job.centerline.shots_checked)
    metre = units.factor("m", routes.unit)
    none = _no_elevation(routes, metre) & ~right
    doubts = list(_none_runs(routes, none))
    # A note on the route has told of these already.
    none |= np.isin(routes.vertex_route, _routes_of_one_number(routes, right))
    elevation = np.where(none, np.nan, routes.elevation)
    laying = job.records.laying_length * units.factor(job.records.station_unit, routes.unit)
    spikes, off, turn = _spikes(routes, elevation, metre, laying, most)
    spikes = spikes & ~right
    symbol = units.SYMBOLS[routes.unit]
    for vertex in np.flatnonzero(spikes).tolist():
        word = "above" if off[vertex] > 0 else "below"
        doubts.append(
            _at(
                routes, vertex,
                f"the elevation of {label(routes, vertex)}, {elevation[vertex]:.2f}, lies {abs(off[vertex]):.1f} "
                f"{symbol} {word} the grade of the shots beside it, and is taken as unknown: check it, or record the "
                "bends that turn the main up and down",
                abs(float(off[vertex])), symbol, float(turn[vertex]),
            )._replace(height_unknown=True)
        )  # fmt: skip
    doubts += [one for one in _two_levels(routes, elevation, metre, most) if not right[one.vertex : one.last + 1].any()]
    doubts += [one for one in _steps(routes, elevation, metre) if not (right[one.vertex] or right[one.last])]
    return with_elevations(routes, elevation) if none.any() else routes, doubts


def of_one_number(job: Job, routes: Routes) -> list[OfRoutes]:
    """Say of routes that all their shots have one elevation, as no survey finds; nothing of those that were checked.

    `screen_heights` takes such elevations as unknown.

    Parameters
    ----------
    job : Job
    routes : Routes

    Returns
    -------
    list of OfRoutes
        A note for each.
    """
    if routes.pieces is not None or not routes.shot:
        return []
    notes, right = list[OfRoutes](), checked(routes, job.centerline.shots_checked)
    for number in _routes_of_one_number(routes, right).tolist():
        first, end, name = int(routes.first[number]), int(routes.first[number + 1]), routes.names[number]
        text = (
            f"{file_of(routes)}: all {end - first} shots of route {name!r} have the elevation "
            f"{routes.elevation[first]:g}, which no survey finds: they are taken as unknown, and nothing is measured "
            'of turns up and down; complete the survey, say centerline.elevation = "none", or name the shots in '
            "centerline.shots_checked where they are right"
        )
        notes.append(OfRoutes.one(name, text))
    return notes


def _routes_of_one_number(routes: Routes, right: Bools) -> Ints:
    """Give the routes whose elevations are all one number, though true ones scatter; `right` ones were checked."""
    if not routes.shot:
        return np.zeros(0, dtype=np.int64)
    # Of shots in a file of their own nobody says that they have no error.
    unsaid = routes.shot_row is not None and routes.sigma_vertical is None
    known = (heights_measured(routes) if unsaid else _scatters(routes)) & ~right
    many = np.add.reduceat(known.astype(np.int64), routes.first[:-1])
    found: Ints = np.flatnonzero(alike(routes)[routes.first[:-1]] & (many >= _MANY_OF_ONE))
    return found


def alike(routes: Routes) -> Bools:
    """Say which shots are of a route on which all elevations are one number, shape (vertices,)."""
    low, high = (reduce.reduceat(routes.elevation, routes.first[:-1]) for reduce in (np.minimum, np.maximum))
    return np.repeat(low == high, np.diff(routes.first))


def _scatters(routes: Routes) -> Bools:
    """Say which elevations scatter, as what was measured does; what has no error may be one number, or was rounded."""
    if not routes.shot or routes.rounding_vertical is not None or routes.sigma_vertical is None:
        return np.zeros(len(routes.elevation), dtype=np.bool_)
    return heights_measured(routes) & (routes.sigma_vertical > 0.0)


def without_spikes(routes: Routes, doubts: Sequence[Doubt]) -> Routes:
    """Take the elevations that are doubted as unknown.

    Parameters
    ----------
    routes : Routes
    doubts : sequence of Doubt
        What is left of `screen_heights` when the log's bends explain what they can.
    """
    at = [slice(one.vertex, max(one.vertex, one.last) + 1) for one in doubts if one.height_unknown]
    if not at:
        return routes
    elevation = routes.elevation.copy()
    for shots in at:
        elevation[shots] = np.nan
    return with_elevations(routes, elevation)


def _at(routes: Routes, vertex: int, message: str, value: float, unit: str, turn: float = 0.0, last: int = -1) -> Doubt:
    at = float(routes.distance[vertex])
    return Doubt("shot-height", message, vertex, last, int(routes.vertex_route[vertex]), at, at, value, np.nan, unit,
                 "the elevations of the shots on either side", turn=turn)  # fmt: skip


def _no_elevation(routes: Routes, metre: float) -> Bools:
    """Say which elevations stand for none: outside the earth's pipes, or one number far from those beside it."""
    z = routes.elevation
    with np.errstate(invalid="ignore"):
        beyond: Bools = (z < LOWEST_M * metre) | (z > HIGHEST_M * metre)
    zero = z == 0.0
    scatters = _scatters(routes)
    for begin, end in pairwise(routes.first.tolist()):
        here = slice(begin, end)
        if zero[here].any():
            beyond[here] |= _zeros(z[here], zero[here] & ~beyond[here], routes.distance[here], beyond[here], metre)
        if routes.sigma_vertical is not None and np.count_nonzero(scatters[here] & ~beyond[here]) >= _OF_ONE:
            measured, sigma = scatters[here] & ~beyond[here], routes.sigma_vertical[here]
            beyond[here] |= _of_one(z[here], measured, sigma, routes.distance[here], metre)
    return beyond


def _zeros(z: Floats, zero: Bools, along: Floats, beyond: Bools, metre: float) -> Bools:
    """Say which zeros of one route are no elevations."""
    known = np.isfinite(z) & ~beyond
    others = np.abs(z[known & ~zero])
    if not len(others):
        return np.zeros(len(z), dtype=np.bool_)
    if zero.sum() > 1 and others.min() > APART_M * metre:
        return zero
    return _a_step_off(z, zero, along, known, metre)


def _of_one(z: Floats, measured: Bools, sigma: Floats, along: Floats, metre: float) -> Bools:
    """Say which elevations of one route are one number over and over, where true ones would scatter."""
    none = np.zeros(len(z), dtype=np.bool_)
    values, counts = np.unique(z[measured], return_counts=True)
    decimals = np.abs(values - np.outer(_DECIMALS, np.ones(len(values))) * np.round(values / _DECIMALS[:, None]))
    step = float(_DECIMALS[(decimals < _EXACT).all(axis=1)].max(initial=_DECIMALS[-1]))
    # The most likely step of all has that part of the errors (normal distribution; textbook).
    likeliest = step / (float(np.median(sigma[measured])) * np.sqrt(2.0 * np.pi))
    asked = (counts >= _OF_ONE) & (np.minimum(likeliest, 1.0) ** (counts - 1.0) <= _BY_CHANCE)
    rise, run = (np.abs(np.diff(one[measured])) for one in (z, along))
    # Of true elevations of a level main many are asked for, and none is a step off.
    asked &= (rise > np.maximum(APART_M * metre, STEEP * run)).any()
    for value in values[asked].tolist():
        none |= _a_step_off(z, measured & (z == value), along, measured & ~none, metre)
    return none


def _a_step_off(z: Floats, same: Bools, along: Floats, known: Bools, metre: float) -> Bools:
    """Say which runs of shots of one elevation lie farther from those beside them than a pipe can follow."""
    at = np.flatnonzero(known)
    of = same[at]
    begins = np.flatnonzero(of & ~np.append(False, of[:-1]))
    ends = np.flatnonzero(of & ~np.append(of[1:], False))
    none = np.zeros(len(z), dtype=np.bool_)
    for begin, end in zip(begins.tolist(), ends.tolist(), strict=True):
        sides = [
            (at[inner], at[outer]) for inner, outer in ((begin, begin - 1), (end, end + 1)) if 0 <= outer < len(at)
        ]
        # At an end of the line only one side tells, so more is asked of it.
        steep = STEEP if len(sides) == 2 or end - begin + 1 >= _MANY_OF_ONE else 1.0
        none[at[begin : end + 1]] = bool(sides) and all(
            abs(z[inner] - z[outer]) > max(APART_M * metre, steep * abs(along[inner] - along[outer]))
            for inner, outer in sides
        )
    return none


def _none_runs(routes: Routes, none: Bools) -> Iterator[Doubt]:
    """Tell of each run of shots without an elevation once."""
    route, z = routes.vertex_route, routes.elevation
    at = np.flatnonzero(none)
    if not len(at):
        return
    new = (np.diff(at) > 1) | (np.diff(route[at]) > 0) | (np.diff(z[at]) != 0)
    for run in np.split(at, np.flatnonzero(new) + 1):
        first, last = int(run[0]), int(run[-1])
        who = f"elevation {z[first]:g} of {label(routes, first)}"
        if last > first:
            who += f" to {label(routes, last)}, {len(run)} shots,"
        message = f"the {who} is no elevation; it is taken as unknown: leave it blank, or complete the survey"
        yield _at(routes, first, message, float(z[first]), units.SYMBOLS[routes.unit], last=last)


def _spikes(
    routes: Routes, z: Floats, metre: float, laying: float, most: float
) -> tuple[Bools, Floats, Floats]:  # fmt: skip
    """Find elevations to which the grade runs up and down again; also how far off they are, and the turn there."""
    least = held(least_off(LEAST_M * metre, routes.rounding_vertical, len(z)), len(z))
    some = [slice(*routes.first[[low, high]].tolist()) for low, high in cuts(np.diff(routes.first))]
    return concatenated(
        [held(_spikes_among(routes, z, one, metre, laying, most, least), len(z)) for one in some], len(z)
    )


def _spikes_among(
    routes: Routes, z: Floats, some: slice, metre: float, laying: float, most: float, least: Floats
) -> tuple[Bools, Floats, Floats]:
    """Find those of some routes."""
    z, least = z[some], least[some]
    count = len(z)
    found, off, turned = np.zeros(count, dtype=np.bool_), np.full(count, np.nan), np.zeros(count)
    sigma = None if routes.errors[1] is None else routes.errors[1][some]
    if count < 5:
        return found, off, turned
    route, along = routes.vertex_route[some], routes.distance[some]
    leg = np.where(route[1:] == route[:-1], np.diff(along), np.nan)
    with np.errstate(invalid="ignore", divide="ignore"):
        # Angles are dear, and few lines have a spike: no turn is sharper than the change of its slopes.
        if not (np.abs(np.diff(np.diff(z) / leg)) > most).any():
            return found, off, turned
        grade = np.where(leg > RISER_M * metre, np.arctan2(np.diff(z), leg), np.nan)
        turn = np.diff(grade)  # at vertices 1 ... count - 2
        before, here, after = turn[:-2], turn[1:-1], turn[2:]
        span = leg[1:-2] + leg[2:-1]
        together = most_turn(leg[1:-2], leg[2:-1], laying, most, None if sigma is None else sigma[2:-2])
        straight = np.arctan2(z[3:-1] - z[1:-3], span)
        left = np.abs(straight - grade[:-3]) + np.abs(grade[3:] - straight)
        middle = z[2:-2] - (z[1:-3] + (z[3:-1] - z[1:-3]) * leg[1:-2] / span)
        there_and_back = (here * before < 0) & (here * after < 0) & (np.abs(here) > together)
        there_and_back &= left < 0.25 * (np.abs(before) + np.abs(here) + np.abs(after))
        found[2:-2] = there_and_back & (np.abs(middle) > least[2:-2])
    off[2:-2], turned[2:-2] = middle, np.abs(np.nan_to_num(here))
    return found, off, turned


def _two_levels(routes: Routes, z: Floats, metre: float, most: float) -> Iterator[Doubt]:
    """Find elevations that step up and down in turn by one height, as where two things were shot: top and invert."""
    for number, (begin, end) in enumerate(pairwise(routes.first.tolist())):
        own, along = z[begin:end], routes.distance[begin:end]
        if end - begin < _FEW_STEPS + 4 or not np.isfinite(own).all():
            continue
        leg = np.maximum(np.diff(along), RISER_M * metre)
        # Grades that turn by less than joints may are the pipe's own.
        if np.count_nonzero(np.abs(np.diff(np.diff(own) / leg)) > most) < _FEW_STEPS:
            continue
        # Over two legs, what steps up and down in turn is level.
        grade = (own[2:] - own[:-2]) / (leg[1:] + leg[:-1])
        step = np.diff(own) - leg * _middle_around(np.append(grade, grade[-1]))
        least = least_off(LEAST_M * metre, routes.rounding_vertical, len(z))[begin : end - 1]
        large = np.flatnonzero(np.abs(step) > least)
        size = float(np.median(np.abs(step[large]))) if len(large) else 0.0
        if len(large) < _FEW_STEPS or (np.diff(np.sign(step[large])) == 0).any():
            continue
        alike = np.abs(np.abs(step[large]) - size) < ALIKE_PART * size
        if alike.mean() < 1.0 - ALIKE_PART:
            continue
        first, last = begin + int(large[0]), begin + int(large[-1]) + 1
        symbol = units.SYMBOLS[routes.unit]
        message = (
            f"elevations step up and down in turn by {size:.2f} {symbol}, {len(large)} times from "
            f"{label(routes, first)} to {label(routes, last)}, as where some shots are of another thing than the rest, "
            "top of pipe, invert or ground: say which is which, or leave the elevations of the others blank"
        )
        found = _at(routes, first, message, size, symbol, last=last)
        yield found._replace(route=number, end=float(routes.distance[last]))


def _middle_around(grade: Floats) -> Floats:
    """Give the median of each grade and those beside it, shape (legs,)."""
    wide = np.pad(grade, _BESIDE, mode="edge")
    middle: Floats = np.median(np.lib.stride_tricks.sliding_window_view(wide, 2 * _BESIDE + 1), axis=1)
    return middle


def _steps(routes: Routes, z: Floats, metre: float) -> Iterator[Doubt]:
    """Find steps from one even grade to another, too high for a riser and too steep for a pipe."""
    count = len(z)
    if count < 4:
        return
    leg = np.where(routes.vertex_route[1:] == routes.vertex_route[:-1], np.diff(routes.distance), np.nan)
    rise = np.diff(z)
    with np.errstate(invalid="ignore", divide="ignore"):
        grade = np.abs(rise) / leg
        even: Bools = grade < STEEP
        step = (grade[1:-1] > 1.0) & (np.abs(rise[1:-1]) > STEP_M * metre) & (leg[1:-1] > RISER_M * metre)
        step &= even[:-2] & even[2:]
    for vertex in (np.flatnonzero(step) + 1).tolist():
        symbol = units.SYMBOLS[routes.unit]
        message = (
            f"elevations step by {abs(rise[vertex]):.1f} {symbol} from {label(routes, vertex)} to "
            f"{label(routes, vertex + 1)}, {leg[vertex]:.1f} {symbol} away, steeper than a pipe between even grades: "
            "check the rod heights and benchmarks, or record the bends of a riser"
            f"{_as_in_feet_and_metres(z, vertex, leg)}"
        )
        by = abs(float(rise[vertex]))
        turn = float(np.arctan2(by, leg[vertex]))
        yield _at(routes, vertex, message, by, symbol, turn, last=vertex + 1)._replace(up=by)


def _as_in_feet_and_metres(z: Floats, vertex: int, leg: Floats) -> str:
    """Say of a step that it is as between one height in feet and in metres, where it is."""
    low, high = sorted(np.abs(z[vertex : vertex + 2]).tolist())
    if abs(high - low * units.factor("m", "ft")) > _LEVEL * leg[vertex]:
        return ""
    return "; the two are as one height in metres and in feet: give the elevations one unit"
