"""The survey against the log that was placed on it: bends for odd shots, ends astray, unit."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

import numpy as np
import pyarrow as pa

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.line.routes import Routes
from asbuilt.survey.bends_logged import BendsLogged
from asbuilt.survey.doubts import Doubt, label

UNCOVERED = 2.0
"""Laying lengths at an end of a line in which no joint is nothing to ask about."""
ENOUGH = 8
"""Joints by which a unit or a direction can be told."""
AT_A_SHOT = 0.05
"""Laying lengths within which a shot is at a joint."""
SHOT_EACH = 1.25
"""Laying lengths that most shots of a route are apart at most, where it was shot at every joint."""


class Logged(NamedTuple):
    """What the log says along the line: shapes (joints,), in order along the routes."""

    route: Ints
    distance: Floats
    """Where each joint stands by its station, coordinate units from the start of its route."""
    bend: Bools
    angle: Floats
    """By how much the bend turns the line in plan, radians; NaN where there is none or it is unknown."""
    made: Floats
    """The angle of the bend, whatever way it turns."""
    in_plane: Bools
    """True where the log says which way the bend turns; others may be upright, and turn the line nowhere in plan."""
    station: pa.Array
    """Station of each joint, as text."""
    laying: float
    """Laying length, coordinate units."""


def unexplained(
    doubts: Sequence[Doubt], routes: Routes, logged: Logged, bends: Callable[[], BendsLogged]
) -> list[Doubt]:
    """Leave out the doubts that bends in the log explain, or bends on a length that it does not reach would.

    Parameters
    ----------
    doubts : sequence of Doubt
    routes : Routes
    logged : Logged
    bends : function
        Gives those of the log, of records that are set aside beyond an end of their line, too.
    """
    first, last = np.full(len(routes.names), np.inf), np.full(len(routes.names), -np.inf)
    np.minimum.at(first, logged.route, logged.distance)
    np.maximum.at(last, logged.route, logged.distance)

    def explained(one: Doubt) -> bool:
        # What makes the line longer moves joints, wherever it is.
        at = routes.distance[one.vertex]
        beyond = not first[one.route] - logged.laying <= at <= last[one.route] + logged.laying
        return bool(beyond and not one.longer) or _bend_near(one, routes, bends(), logged.laying)

    return [one for one in doubts if not (one.turn and explained(one))]


def _bend_near(one: Doubt, routes: Routes, bends: BendsLogged, laying: float) -> bool:
    begin, end = int(routes.first[one.route]), int(routes.first[one.route + 1]) - 1
    here = bends.around(routes, max(one.vertex - 1, begin), min(max(one.vertex, one.last) + 1, end), laying)
    angle = (bends.made if one.code == "shot-height" else bends.angle)[here]
    return int(np.count_nonzero(angle >= one.turn / 4.0)) >= one.bends


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
