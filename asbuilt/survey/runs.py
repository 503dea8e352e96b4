"""Shots in a row that are not the main's: of the curb or of another pipe beside it, above or below it, or of a branch.

The line runs on as if they were not there. What turns farther there than joints do is not the pipe until the shots were
looked at.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from typing import TYPE_CHECKING

import numpy as np

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.held import in_blocks
from asbuilt.line.routes import turns
from asbuilt.survey.doubts import Doubt, label, least_off, most_turn
from asbuilt.survey.screening import BACK
from asbuilt.survey.shifts import turns_up

if TYPE_CHECKING:
    from asbuilt.line.routes import Routes

LONGEST = 3
"""Shots of a run; where more lie aside, the first and the last of them are told."""
LEAST_M = 0.15
"""Shots nearer to the line without them move no joint by more than can be seen. Judgement."""
_STRAIGHTER = 0.25
"""Without the run, the turns come down to less than this part."""
_ALIKE = 0.5
"""Part of the farthest one's distance that each shot of a run lies off, at least."""
BRANCH = 4
"""Shots of a branch, such as a service or a hydrant's lead, that are looked for."""
SHARP = np.radians(50.0)
"""A line turns more where it goes out on a branch and back; a bend of 45 degrees with its joints turns less."""
_STRAIGHT_ON = 0.1
"""Without the shots of a branch, the turns come down to less than this part."""
_EACH = np.radians(2.0)
"""By how much more the line must turn without a run that is shorter by a shot, for the longer one. Judgement."""


def runs_aside(routes: Routes, laying: float, most: float) -> Iterator[Doubt]:
    """Find two or three shots in a row that lie beside the line through the others.

    Parameters
    ----------
    routes : Routes
    laying : float
        Laying length, coordinate units.
    most : float
        The most that a joint of the log may deflect, radians.
    """
    turn, back, ahead = routes.turns
    least = _most_turn(back, ahead, laying, most, routes.errors[0])
    east, north, symbol = routes.easting, routes.northing, units.SYMBOLS[routes.unit]
    for before, many in _there_and_back(turn, least):
        after = before + many + 1
        chord = np.array([east[after] - east[before], north[after] - north[before]])
        straight = float(np.hypot(*chord))
        inner = np.arange(before + 1, after)
        off = ((east[inner] - east[before]) * chord[1] - (north[inner] - north[before]) * chord[0]) / max(
            straight, 1e-9
        )
        around = np.array([before - 1, before, after, after + 1])
        left = turns(east[around], north[around], np.zeros(4, dtype=np.int64))[0][1:-1]
        longer = float(np.nansum(ahead[before:after])) - straight
        if not _lies_off(routes, turn, inner, off, left, routes.rounding_horizontal):
            continue
        by = float(np.mean(off))
        message = (
            f"{_both(routes, inner)} lie about {abs(by):.1f} {symbol} {'right' if by > 0 else 'left'} of the line from "
            f"{label(routes, before)} to {label(routes, after)}, and the joints there may not turn so far there and "
            "back: as where shots of something else beside the main are strung into it: check what was shot there, or "
            "record the bends that take the main around"
        )
        yield _doubt(routes, "shot-astray", inner, message, abs(by), turn, least)._replace(longer=longer)


def branches(routes: Routes) -> Iterator[Doubt]:
    """Find two to four shots in a row that lead away from the line through the others, which runs straight on.

    Parameters
    ----------
    routes : Routes
    """
    symbol = units.SYMBOLS[routes.unit]
    turn, _, ahead = routes.turns
    taken: set[int] = set()
    for _, longer, before, many in sorted(_without_branches(routes, turn, ahead)):
        after = before + many + 1
        if taken & set(range(before, after + 1)):
            continue
        taken |= set(range(before, after + 1))
        inner = np.arange(before + 1, after)
        message = (
            f"{_both(routes, inner)} lead away from the line, which runs straight on from {label(routes, before)} "
            f"to {label(routes, after)} without them: as where shots of a branch, a service or a hydrant's lead, "
            f"are strung into the main; they make the line {longer:.1f} {symbol} longer, and joints ahead of them "
            "stand that much too far back: leave them out (centerline.shots_left_out), or record the bends that "
            "take the main around"
        )
        found = _doubt(routes, "shot-astray", inner, message, longer, turn, np.full(len(turn), SHARP))
        yield found._replace(longer=longer, bends=2)


def _without_branches(routes: Routes, turn: Floats, ahead: Floats) -> Iterator[tuple[float, float, int, int]]:
    """Give runs without which a line that turns sharply is straight: how well, how much shorter, from where, how many.

    Of two runs that overlap, that without which the line turns less is the branch, and the shorter one if both serve.
    """
    east, north, least = routes.easting, routes.northing, LEAST_M * units.factor("m", routes.unit)
    with np.errstate(invalid="ignore"):
        sharp = np.flatnonzero(np.abs(turn) > SHARP).tolist()
        # A riser goes nowhere in plan, in any direction.
        steep = np.append(np.abs(np.diff(routes.elevation)), 0.0) > ahead
    for many, vertex in product(range(2, BRANCH + 1), sharp):
        route = int(routes.vertex_route[vertex])
        low, high = int(routes.first[route]), int(routes.first[route + 1]) - 1
        for before in range(max(vertex - many - 1, low + 1), min(vertex, high - many - 2) + 1):
            after = before + many + 1
            if steep[before:after].any():
                continue
            around = np.array([before - 1, before, after, after + 1])
            left = float(np.abs(turns(east[around], north[around], np.zeros(4, dtype=np.int64))[0][1:-1]).sum())
            longer = float(
                ahead[before:after].sum() - np.hypot(east[after] - east[before], north[after] - north[before])
            )
            if left < _STRAIGHT_ON * np.nansum(np.abs(turn[before : after + 1])) and longer > least:
                yield left + many * _EACH, longer, before, many


def runs_up(routes: Routes, elevation: Floats, laying: float, most: float) -> Iterator[Doubt]:
    """Find two or three shots in a row that lie above, or below, the grade of the others.

    Parameters
    ----------
    routes : Routes
    elevation : array, shape (vertices,)
        NaN where it is unknown.
    laying, most : as for `runs_aside`
    """
    _, back, ahead = routes.turns
    along, symbol = routes.distance, units.SYMBOLS[routes.unit]
    turn, slope = turns_up(routes, elevation, ahead)
    least = _most_turn(back, ahead, laying, most, routes.errors[1])
    for before, many in _there_and_back(turn, least):
        after = before + many + 1
        inner = np.arange(before + 1, after)
        grade = float((elevation[after] - elevation[before]) / (along[after] - along[before]))
        off = elevation[inner] - elevation[before] - grade * (along[inner] - along[before])
        left = np.arctan(grade) - slope[before - 1], slope[after] - np.arctan(grade)
        if not _lies_off(routes, turn, inner, off, np.array(left), routes.rounding_vertical):
            continue
        by = float(np.mean(off))
        message = (
            f"the elevations of {_both(routes, inner)} lie about {abs(by):.1f} {symbol} "
            f"{'above' if by > 0 else 'below'} the grade from {label(routes, before)} to {label(routes, after)}, and "
            "the joints there may not turn so far there and back; they are taken as unknown: check what was shot "
            "there, and the height of the rod, or record the bends that turn the main up and down"
        )
        yield _doubt(routes, "shot-height", inner, message, abs(by), turn, least)._replace(height_unknown=True)


def _most_turn(back: Floats, ahead: Floats, laying: float, most: float, sigma: Floats | None) -> Floats:
    def of_some(some: slice) -> Floats:
        return most_turn(back[some], ahead[some], laying, most, None if sigma is None else sigma[some])

    return in_blocks(of_some, len(back))


def _there_and_back(turn: Floats, least: Floats) -> Iterator[tuple[int, int]]:
    """Give the shots before runs past which a line turns aside and back twice, farther than joints do, and how many."""
    with np.errstate(invalid="ignore"):
        large, fitting = np.abs(turn) > least, np.abs(turn) <= BACK
    for many in range(2, LONGEST + 1):
        count = len(turn) - many - 1
        if count < 1 or not large.any():
            return
        # The last shot before the run, its first and last one, and the one after it.
        first, second, third, fourth = (slice(at, at + count) for at in (0, 1, many, many + 1))
        with np.errstate(invalid="ignore"):
            found: Bools = (turn[first] * turn[second] < 0) & (turn[second] * turn[third] > 0)
            found &= turn[third] * turn[fourth] < 0
        found &= large[first] | large[second] | large[third] | large[fourth]
        found &= fitting[first] & fitting[second] & fitting[third] & fitting[fourth]
        for before in np.flatnonzero(found).tolist():
            yield before, many


def _lies_off(routes: Routes, turn: Floats, inner: Ints, off: Floats, left: Floats, rounding: Floats | None) -> bool:
    """Say whether all shots of a run lie off to one side, and the line runs on as if they were not there."""
    least = least_off(LEAST_M * units.factor("m", routes.unit), rounding, len(turn))[inner]
    with_it = float(np.nansum(np.abs(turn[inner[0] - 1 : inner[-1] + 2])))
    size = np.abs(off)
    one_side = bool((off > 0).all() or (off < 0).all())
    return (
        one_side
        and bool((size > np.maximum(least, _ALIKE * size.max())).all())
        and bool(np.abs(left).sum() < _STRAIGHTER * with_it)
    )


def _both(routes: Routes, inner: Ints) -> str:
    first, last = label(routes, int(inner[0])), label(routes, int(inner[-1]))
    return f"{first} and {last}" if len(inner) == 2 else f"{first} to {last}"


def _doubt(routes: Routes, code: str, inner: Ints, message: str, off: float, turn: Floats, least: Floats) -> Doubt:
    first, last = int(inner[0]), int(inner[-1])
    around = slice(first - 1, last + 2)
    size = np.abs(turn[around])
    # One bend explains one turn.
    bends = min(int(np.count_nonzero(size > least[around])), 2)
    return Doubt(
        code, message, first, last, int(routes.vertex_route[first]), float(routes.distance[first]),
        float(routes.distance[last]), off, np.nan, units.SYMBOLS[routes.unit], "the shots on either side",
        turn=float(np.nanmax(size)), bends=bends,
    )  # fmt: skip
