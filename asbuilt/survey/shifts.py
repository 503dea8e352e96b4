"""Shots that all lie beside, or above, where the line ran until then: another set-up, rod height, datum or foot.

The line turns there and back at two successive shots and runs on as it did. No joint turns so far, so what is over
there is not the pipe until the shots were looked at.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.held import held, in_blocks
from asbuilt.survey.doubts import Doubt, label, most_turn, noise_of_turns
from asbuilt.survey.heights import RISER_M
from asbuilt.survey.screening import BACK, LEAST_OFF_M

if TYPE_CHECKING:
    from asbuilt.line.routes import Routes

_UNUSUAL = 3.0
"""Times the middle turn of a route: where all shots turn a line so, none of these tells a set-up."""
_SURE = 4.0
"""Standard errors of a turn that chance does not reach in a survey of some thousand shots."""
_OR_OVER = (
    "If the shots are right, the two joints there are deflected beyond what they may be: name this shot in "
    "centerline.shots_checked, and they are judged"
)


def shifted_aside(routes: Routes, laying: float, most: float) -> Iterator[Doubt]:
    """Find the shots from which on a line runs on beside itself.

    Parameters
    ----------
    routes : Routes
    laying : float
        Laying length, coordinate units.
    most : float
        The most that a joint of the log may deflect, radians.
    """
    turn, back, ahead = routes.turns
    for vertex in _there_and_back(routes, turn, back, ahead, laying, most, routes.errors[0]).tolist():
        off, symbol = float(ahead[vertex] * np.sin(_step(turn, vertex))), units.SYMBOLS[routes.unit]
        message = (
            f"from {label(routes, vertex + 1)} on, the line runs about {off:.1f} {symbol} "
            f"{'right' if turn[vertex] > 0 else 'left'} of where it ran up to {label(routes, vertex)}, and joints may "
            "not turn so far there and back: as from another set-up of the instrument, another datum or another foot: "
            f"check how these shots were taken, or record the bends that take the main aside. {_OR_OVER}"
        )
        yield _doubt(routes, "shot-astray", vertex, message, off, float(abs(turn[vertex])))._replace(aside=abs(off))


def shifted_up(routes: Routes, elevation: Floats, laying: float, most: float) -> Iterator[Doubt]:
    """Find the shots from which on the grade of a line runs on above itself, or below.

    Parameters
    ----------
    routes : Routes
    elevation : array, shape (vertices,)
        NaN where it is unknown.
    laying, most : as for `shifted_aside`
    """
    _, back, ahead = routes.turns
    turn, _ = turns_up(routes, elevation, ahead)
    for vertex in _there_and_back(routes, turn, back, ahead, laying, most, routes.errors[1]).tolist():
        off, symbol = float(ahead[vertex] * np.tan(_step(turn, vertex))), units.SYMBOLS[routes.unit]
        message = (
            f"from {label(routes, vertex + 1)} on, the elevations lie about {off:.1f} {symbol} "
            f"{'above' if turn[vertex] > 0 else 'below'} the grade of those up to {label(routes, vertex)}, and joints "
            "may not turn so far there and back: as where the height of the rod, or the benchmark, was changed: check "
            f"both, or record the bends that turn the main up and down. {_OR_OVER}"
        )
        yield _doubt(routes, "shot-height", vertex, message, off, float(abs(turn[vertex])))._replace(up=abs(off))


def turns_up(routes: Routes, elevation: Floats, ahead: Floats) -> tuple[Floats, Floats]:
    """Give what a line turns up at each shot, and the slopes of its legs, radians; NaN beside risers.

    Parameters
    ----------
    routes : Routes
    elevation, ahead : array, shape (vertices,)
        Of each shot, and how long the leg ahead of it is in plan; NaN where either is unknown.
    """
    turn = np.full(len(elevation), np.nan)
    with np.errstate(invalid="ignore", divide="ignore"):
        riser = ahead[:-1] <= RISER_M * units.factor("m", routes.unit)
        slope = np.where(riser, np.nan, np.arctan2(np.diff(elevation), ahead[:-1]))
    turn[1:-1] = np.diff(slope)
    return held((turn, slope), len(elevation))


def _step(turn: Floats, vertex: int) -> float:
    """Give what a line turns there and back: the middle of both, as the joints there turn, too."""
    return float(abs(turn[vertex] - turn[vertex + 1])) / 2.0


def _doubt(routes: Routes, code: str, vertex: int, message: str, off: float, turn: float) -> Doubt:
    at = float(routes.distance[vertex + 1])
    return Doubt(
        code, message, vertex + 1, -1, int(routes.vertex_route[vertex]), at, at, off, np.nan,
        units.SYMBOLS[routes.unit], "the shots on either side", turn=turn,
    )  # fmt: skip


def _there_and_back(
    routes: Routes, turn: Floats, back: Floats, ahead: Floats, laying: float, most: float, sigma: Floats | None
) -> Ints:
    """Give the shots at which a line turns farther than joints and noise do, and turns back at the next one."""

    def least(at: Ints | slice) -> Floats:
        found: Floats = most * np.maximum(1.0, (back[at] + ahead[at]) / (2.0 * laying))
        if sigma is None:
            return found
        return np.fmax(found, _SURE * noise_of_turns(back[at], ahead[at], sigma[at]))

    def turns_far(some: slice) -> Bools:
        size = np.abs(turn[some])
        with np.errstate(invalid="ignore"):
            found: Bools = (size > least(some)) & (size <= BACK)
        return found

    large = np.flatnonzero(in_blocks(turns_far, len(turn)))
    gap = np.diff(large, prepend=-9, append=len(turn) + 9)
    # Two and no more: one shot astray turns the line at three. What is left of both, the joints there may turn.
    first: Ints = large[:-1][(gap[1:-1] == 1) & (gap[:-2] > 1) & (gap[2:] > 1)]
    first = first[np.abs(turn[first] + turn[first + 1]) <= np.minimum(least(first), least(first + 1))]
    first = first[ahead[first] * np.sin(np.abs(turn[first])) > LEAST_OFF_M * units.factor("m", routes.unit)]
    # Joints that were deflected as far as they may be turn a little farther by the errors of shots.
    one, other = (
        np.abs(turn[at]) > most_turn(back[at], ahead[at], laying, most, None if sigma is None else sigma[at])
        for at in (first, first + 1)
    )
    first = first[one | other]
    on, of = np.unique(routes.vertex_route[first], return_inverse=True)
    middle = np.array([np.nanmedian(np.abs(turn[routes.first[number] : routes.first[number + 1]])) for number in on])
    found: Ints = first[np.minimum(*np.abs(turn[[first, first + 1]])) > _UNUSUAL * middle[of]]
    return found
