"""Shots of two mains side by side that are exchanged, from one on or along a stretch: the lines step across each other.

Where a line steps from one trench into the other, the line of the other main steps back across it on the same length.
With what is ahead exchanged, both run straight on. Mains that cross do not: there the one that goes over the other
turns aside, or both run straight as they are.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.held import held, in_blocks
from asbuilt.line.routes import turns
from asbuilt.survey.doubts import Doubt, checked, label
from asbuilt.survey.screening import LEAST_OFF_M

if TYPE_CHECKING:
    from asbuilt.job import Job
    from asbuilt.line.routes import Routes

_STRAIGHTER = 0.25
"""With what is ahead exchanged, the squares of the turns come down to this part. One main that steps over a straight
one leaves half of them; judgement, no source."""
_ALIKE = 0.4
"""Part of what the lines step aside on the average that each does at the least, by its turn at either end of the step;
judgement, no source."""
_PATTERN = np.array([1.0, -1.0, -1.0, 1.0])
"""One line turns aside and back, and the other to the other side and back."""
_BESIDE = np.arange(-1, 3)
"""Shots of a leg and of the legs beside it, from the shot at which it begins."""
_SURE = 5.0
"""Standard errors of a shot that the lines step aside at the least."""
_CROWDED = 20
"""Legs that are looked at in a square as wide as a leg is long, at the most. Judgement."""
_LOOKED_AT = 0.5
"""Part of that from which on a leg is looked at: on a curve its ends turn by more than the step."""


class _Crossing(NamedTuple):
    """Two legs that cross, each given by the shot at which it begins."""

    legs: tuple[int, int]
    part: float
    """To which part the squares of the turns come down with what is ahead exchanged."""
    turn: float
    """What the lines turn there and back, radians."""
    aside: float
    """How far they step aside, coordinate units."""


def strung_across(job: Job, routes: Routes) -> list[Doubt]:
    """Find lines that step across each other as where the shots of two mains side by side are exchanged.

    Parameters
    ----------
    job : Job
    routes : Routes

    Returns
    -------
    list of Doubt
        One for each line at each place where it steps across, with the length along which its shots may be another's:
        from there to where it steps back, and the whole route where it does not. They are doubtful only while no bend
        in the log explains them.
    """
    if routes.pieces is not None or not routes.shot or len(routes.names) < 2:
        return []
    right = checked(routes, job.centerline.shots_checked)
    found: dict[int, list[tuple[int, int, _Crossing]]] = {}
    taken: set[int] = set()
    for one in sorted(_crossings(routes), key=lambda crossing: crossing.part):
        ends = {at + further for at in one.legs for further in (0, 1)}
        if taken & set(one.legs) or right[list(ends)].any():
            continue
        taken |= set(one.legs)
        for mine, other in (one.legs, one.legs[::-1]):
            found.setdefault(int(routes.vertex_route[mine]), []).append((mine, other, one))
    return [doubt for route in sorted(found) for doubt in _of_route(routes, sorted(found[route]))]


def _crossings(routes: Routes) -> Iterator[_Crossing]:
    """Find legs of two routes that cross, and would not turn there if what is ahead of them were exchanged."""
    import shapely

    turn, _, ahead = routes.turns
    least = held(_least(routes), len(turn))

    def stepping(some: slice) -> Bools:
        following = np.append(turn[some.start + 1 : some.stop + 1], np.nan)[: some.stop - some.start]
        with np.errstate(invalid="ignore"):
            found: Bools = np.abs(following - turn[some]) / 2.0 * ahead[some] > _LOOKED_AT * least[some]
        return found

    legs = np.flatnonzero(in_blocks(stepping, len(turn)))
    legs = legs[_near_others(_places(routes, legs), ahead[legs], routes.vertex_route[legs])]
    legs = legs[_by_few(_places(routes, legs), ahead[legs])]
    if len(np.unique(routes.vertex_route[legs])) < 2:
        return
    lines = shapely.linestrings(np.stack([_places(routes, legs), _places(routes, legs + 1)], axis=1))
    pairs = shapely.STRtree(lines).query(lines)
    pairs = pairs[:, routes.vertex_route[legs[pairs[0]]] < routes.vertex_route[legs[pairs[1]]]]
    both = legs[pairs[:, shapely.crosses(*lines[pairs])]]
    found = np.zeros(both.shape[1], dtype=np.bool_)
    for way in (_BESIDE, _BESIDE[::-1]):
        one, other = both[0][:, None] + _BESIDE, both[1][:, None] + way
        here, legs_here = _turns_of(routes, one, other)
        then, legs_then = _turns_of(
            routes, np.hstack([one[:, :2], other[:, 2:]]), np.hstack([other[:, :2], one[:, 2:]])
        )
        # Lines side by side turn alike on a curve, as much as their legs are long together.
        curve = (here.sum(axis=1) / legs_here.sum(axis=1))[:, None]
        step, left = here - curve * legs_here, then - curve * legs_then
        squares, left_over = (step**2).sum(axis=1), (left**2).sum(axis=1)
        aside = np.sin(np.clip(step, -np.pi / 2.0, np.pi / 2.0)) * np.repeat(ahead[both].T, 2, axis=1)
        aside *= _PATTERN * np.sign(step[:, :1])
        mean = aside.mean(axis=1)
        hit = (aside.min(axis=1) > np.maximum(_ALIKE * mean, 0.0)) & (left_over <= _STRAIGHTER * squares)
        for at in np.flatnonzero(hit & (mean > least[both].max(axis=0)) & ~found).tolist():
            found[at] = True
            turned, part = float(np.sqrt(squares[at] / 4.0)), float(left_over[at] / squares[at])
            yield _Crossing((int(both[0, at]), int(both[1, at])), part, turned, float(mean[at]))


def _places(routes: Routes, vertex: Ints) -> Floats:
    return np.column_stack([routes.easting[vertex], routes.northing[vertex]])


def _near_others(places: Floats, long: Floats, route: Ints) -> Bools:
    """Tell which legs may reach one of another route: only those near enough can cross."""
    if not len(places):
        return np.zeros(0, dtype=np.bool_)
    # Two that cross begin in one square or in squares beside one another.
    column, row = (np.floor((places - places.min(axis=0)) / (2.0 * long.max())).astype(np.int64) + 1).T
    wide = int(row.max()) + 2
    square, own = np.unique(column * wide + row, return_inverse=True)
    least, most = np.full(len(square), np.iinfo(np.int64).max), np.full(len(square), -1)
    np.minimum.at(least, own, route)
    np.maximum.at(most, own, route)
    lowest, highest = least.copy(), most.copy()
    for beside in (across * wide + up for across in (-1, 0, 1) for up in (-1, 0, 1)):
        at = np.minimum(np.searchsorted(square, square + beside), len(square) - 1)
        there = square[at] == square + beside
        np.minimum(lowest, least[at], out=lowest, where=there)
        np.maximum(highest, most[at], out=highest, where=there)
    others: Bools = (lowest < highest)[own]
    return others


def _by_few(places: Floats, long: Floats) -> Bools:
    """Tell which legs have few others near them: those of many lie where one main was surveyed again and again."""
    if not len(places):
        return np.zeros(0, dtype=np.bool_)
    cells = np.floor(places / np.median(long))
    column, row = (cells - cells.min(axis=0)).T
    _, cell, count = np.unique(column * (row.max() + 1.0) + row, return_inverse=True, return_counts=True)
    few: Bools = count[cell] <= _CROWDED
    return few


def _turns_of(routes: Routes, *paths: Ints) -> tuple[Floats, Floats]:
    """Give the turns at the inner two points of lines of four each, and how long the legs beside each are together.

    Each of `paths` has a line a row; a row of what comes back has those of its lines one behind the other.
    """
    every = np.hstack(paths).ravel()
    turn, back, ahead = turns(routes.easting[every], routes.northing[every], np.arange(len(every)) // 4)
    inner = np.arange(len(every)) % 4 % 3 > 0
    each = (len(paths[0]), 2 * len(paths))
    return (
        np.nan_to_num(turn[inner], nan=np.pi).reshape(each),
        np.nan_to_num(back[inner] + ahead[inner]).reshape(each),
    )


def _least(routes: Routes) -> Floats:
    """Give how far a line must step aside at each shot to be looked at, coordinate units."""
    error = np.zeros(len(routes.easting)) if routes.errors[0] is None else routes.errors[0]
    return np.maximum(LEAST_OFF_M * units.factor("m", routes.unit), _SURE * error)


def _of_route(routes: Routes, steps: Sequence[tuple[int, int, _Crossing]]) -> Iterator[Doubt]:
    """Tell of each place where a route steps across another, with the length in doubt."""
    number, symbol = int(routes.vertex_route[steps[0][0]]), units.SYMBOLS[routes.unit]
    name, back_again = routes.names[number], len(steps) % 2 == 0
    for at, (mine, other, one) in enumerate(steps):
        beside = routes.names[routes.vertex_route[other]]
        if back_again:
            first, last = (steps[which][0] for which in (at - at % 2, at - at % 2 + 1))
            start, end = float(routes.distance[first]), float(routes.distance[last + 1])
            longer = _differs(routes, *steps[at - 1 : at + 1]) if at % 2 else 0.0
            which = (
                f"those from {label(routes, first + 1)} to {label(routes, last)}, where it steps back, or all others"
            )
        else:
            start, end, longer = 0.0, float(routes.length[number]), 0.0
            which = "those ahead of there, or those before, which the shots do not tell"
        message = (
            f"from {label(routes, mine)} to {label(routes, mine + 1)} the line of {name} steps about {one.aside:.1f} "
            f"{symbol} across that of {beside}, which steps across it to the other side, and with what is ahead "
            f"exchanged both run straight on: as where the shots of the two mains are exchanged, {which}. Joints there "
            "may stand on the other main: no accuracy is claimed of them, and the survey tells nothing of their "
            "deflection. Look at the codes or route names of these shots; if the mains do cross there, record the "
            "bends that take them across, or name this shot in centerline.shots_checked"
        )
        yield Doubt("shot-astray", message, mine + 1, -1, number, start, end, one.aside, np.nan, symbol,
                    "the shots on either side, and those of the other main", longer=longer, turn=one.turn,
                    of_another=True)  # fmt: skip


def _differs(routes: Routes, out: tuple[int, int, _Crossing], back: tuple[int, int, _Crossing]) -> float:
    """Give by how much a route's length differs from that by way of the other one, where it steps out and back."""
    (leaves, there, _), (ends, here, _) = out, back
    if routes.vertex_route[there] != routes.vertex_route[here] or here < there:
        return 0.0
    places = np.column_stack([routes.easting, routes.northing])
    steps = np.linalg.norm(places[[leaves, here]] - places[[there + 1, ends + 1]], axis=1)
    other = float(steps.sum() + routes.distance[here] - routes.distance[there + 1])
    return abs(float(routes.distance[ends + 1] - routes.distance[leaves]) - other)
