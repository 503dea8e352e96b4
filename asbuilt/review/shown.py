"""What the plots of a route show, on the screen and on paper: the values drawn, and how far their axes reach."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import TYPE_CHECKING, Any, NamedTuple, TypeVar

import numpy as np

from asbuilt import units
from asbuilt.arrays import Bools, Floats
from asbuilt.judging import fittings
from asbuilt.review.deflections import most_deg
from asbuilt.review.rows import least_and_most

if TYPE_CHECKING:
    from asbuilt.review.reading import Route

Found = TypeVar("Found")

ROUND = (1, 2, 5)
FLATTEST = 1e-3
"""What heights a profile shows at least, as a part of the route's length: the noise of level pipe is no hill."""
BESIDE = {"ground": "dotted", "design": "dashed"}
"""What is drawn beside the pipe in its profile, and how."""
_HELD = 0.97
"""Where a mark that lies above the deflection axis is held, as a part of its top."""
LEAST_TOP_DEG = 1.0
"""What the deflection axis shows at least, so that a straight main without limits does not look bent."""


def _once(find: Callable[[Any], Found]) -> Callable[[Any], Found]:
    """Find something of a route once, and keep it with the route: each plot asks for it again."""
    name = f"_{find.__name__}"

    @wraps(find)
    def found(route: Any) -> Found:
        kept = vars(route)
        if name not in kept:
            kept[name] = find(route)
        result: Found = kept[name]
        return result

    return found


@_once
def drawn_deflection(route: Route) -> Floats:
    """Give where each joint's mark stands, degrees.

    At its deflection, else at the most that it can be, or at the least where that is over; infinite where the survey
    sets no bound, and NaN where nothing was computed.
    """
    joints = route.joints
    verdict, own, ceiling = joints["verdict"], joints["own_deflection_deg"], most_deg(joints)
    floor = np.where(verdict == "over", joints["deflection_floor_deg"], np.inf)
    bounds = np.where(verdict == "not-computed", np.nan, np.where(np.isnan(ceiling), floor, ceiling))
    return np.where(np.isnan(own), bounds, own)


@_once
def within_view(route: Route) -> Floats:
    """Give `drawn_deflection`, with what lies above the axis held just under its top."""
    return np.minimum(drawn_deflection(route), _HELD * deflection_top(route))


def _bounded(route: Route) -> Bools:
    """Say of which joints the survey shows no deflection, but the most that it can be."""
    joints = route.joints
    bounded: Bools = ~np.isfinite(joints["own_deflection_deg"]) & np.isfinite(most_deg(joints))
    return bounded


def from_to(route: Route) -> str:
    """Say what the bars of `bounds` are, and what that rests on; blank where there are none."""
    some = _bounded(route)
    if not some.any():
        return ""
    measured_all = (route.joints["verdict"][some] == "within").all()
    return "least to most" + ("" if measured_all else " if one way")


class Bars(NamedTuple):
    """Upright lines at some of the joints: shapes (lines,)."""

    at: Floats
    """Distance."""
    low: Floats
    """Degrees."""
    high: Floats


@_once
def bounds(route: Route) -> Bars:
    """Give the bars from the least to the most that a joint can take, where the survey does not show what it takes."""
    joints = route.joints
    at, ceiling, some = joints["distance"], most_deg(joints), _bounded(route)
    return Bars(at[some], np.nan_to_num(joints["deflection_floor_deg"][some]), ceiling[some])


@_once
def errors(route: Route) -> Bars:
    """Give the lines of one standard error either way of what the joints take."""
    joints, drawn = route.joints, within_view(route)
    sigma = np.where(np.isfinite(joints["own_deflection_deg"]), joints["sigma_deg"], np.nan)
    some = np.isfinite(sigma) & np.isfinite(drawn)
    at, drawn, sigma = joints["distance"][some], drawn[some], sigma[some]
    return Bars(at, np.maximum(drawn - sigma, 0.0), drawn + sigma)


@_once
def measured(route: Route) -> tuple[Floats, Floats]:
    """Give where deflections were measured at the joints themselves: distances and degrees."""
    at, degrees = (route.joints[name] for name in ("distance", "measured_deg"))
    known = np.isfinite(degrees)
    return at[known], degrees[known]


@_once
def deflection_top(route: Route) -> float:
    """Give the top of the deflection axis, degrees: everything known exactly, and bounds up to three times that.

    Bounds that reach little further are shown too: held under the top they would stand lower than they are.
    """
    joints = route.joints
    exact = np.concatenate([joints[name] for name in ("allowable_deg", "own_deflection_deg", "measured_deg")])
    most = least_and_most(exact)[1]
    drawn = drawn_deflection(route)
    bound = np.max(drawn[np.isfinite(drawn)], initial=0.5)
    known = most if np.isfinite(most) else bound
    # Equations are written along the top, above what is known exactly.
    room = 1.12 if not route.equations else 1.3
    reach = bound if bound <= 3 * known * room * _HELD else 3 * known
    return float(room * max(known, reach, LEAST_TOP_DEG))


@_once
def allowable_steps(route: Route) -> tuple[Floats, Floats]:
    """Give the allowable as a step line: distances and degrees, NaN where none is on file."""
    at, limit = route.joints["distance"], route.joints["allowable_deg"]
    edge = np.concatenate([at[:1], (at[1:] + at[:-1]) / 2, at[-1:]])
    same = (limit[1:] == limit[:-1]) | (np.isnan(limit[1:]) & np.isnan(limit[:-1]))
    start = np.concatenate([[0], np.flatnonzero(~same) + 1])
    end = np.append(start[1:], len(at))
    return np.column_stack([edge[start], edge[end]]).ravel(), np.repeat(limit[start], 2)


@_once
def bends(route: Route) -> list[tuple[int, str]]:
    """Give the joints that lie at bends, with the angle in words; one logged by its two ends by the first of them."""
    angle = route.joints["bend_angle_deg"]
    there = np.flatnonzero(np.isfinite(angle) & ~second_ends(route))
    return [(int(at), f"{angle[at]:g}°") for at in there]


@_once
def beside(route: Route) -> dict[str, tuple[Floats, str]]:
    """Give what is known of the ground over the joints and of the design beside them: elevations, and how to draw them.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> from asbuilt.review.rows import Rows
    >>> columns = {"elevation": 50.0, "ground_elevation": np.nan, "design_height": 0.25}
    >>> joints = Rows({name: np.array([value]) for name, value in columns.items()})
    >>> {word: height.tolist() for word, (height, _) in beside(SimpleNamespace(joints=joints)).items()}
    {'design': [49.75]}
    """
    joints = route.joints
    ground, design = joints["ground_elevation"], joints["elevation"] - joints["design_height"]
    lines = {"ground": ground, "design": design}
    return {word: (line, BESIDE[word]) for word, line in lines.items() if np.isfinite(line).any()}


@_once
def design_in_plan(route: Route) -> Floats:
    """Give where the design lies in plan beside each joint, shape (joints, 2); NaN where it is not known.

    Square to the line at the joint by its offset from the design: along a curve that is the design's place to within
    what the two turn between them.
    """
    joints, line, reach = route.joints, route.line, 0.01 * route.line[-1, 0]
    at, offset = joints["distance"], joints["design_offset"] * units.factor(route.unit, route.plan_unit)
    ends = [np.clip(at + step, 0.0, line[-1, 0]) for step in (-reach, reach)]
    back, ahead = (
        np.column_stack([np.interp(end, line[:, 0], route.plan.line[:, column]) for column in (0, 1)]) for end in ends
    )
    along = ahead - back
    right = np.column_stack([along[:, 1], -along[:, 0]]) / np.maximum(np.hypot(*along.T), 1e-9)[:, None]
    places: Floats = route.plan.joints - offset[:, None] * right
    return places


@_once
def heights(route: Route) -> tuple[float, float]:
    """Give the lowest and the highest elevation in a route's profile; NaN where none is known."""
    more = [height for height, _ in beside(route).values()]
    return least_and_most(np.concatenate([route.joints["elevation"], route.line[:, 3], *more]))


@_once
def second_ends(route: Route) -> Bools:
    """Mark the joints that are the second end of a bend logged by its two ends: shape (joints,).

    The two lie within a quarter of a laying length, have one angle, and turn it between them.
    """
    joints = route.joints
    angle, turn = joints["bend_angle_deg"], np.nan_to_num(joints["turn_deg"])
    near = np.diff(joints["distance"]) <= fittings.CLOSE * route.laying_length * route.scale
    pair = near & (angle[1:] == angle[:-1]) & (turn[1:] + turn[:-1] < 1.5 * angle[1:])
    second = np.zeros(len(joints), dtype=np.bool_)
    for at in np.flatnonzero(pair) + 1:
        second[at] = not second[at - 1]
    return second


def place_beside(route: Route, distance: float, side: int) -> tuple[float, float, float, float]:
    """Give a place on the line in plan, and which way lies square to it: right where `side` is 1, left where -1."""
    line, reach = route.line, 0.01 * route.line[-1, 0]
    places = np.array([distance, max(distance - reach, 0), min(distance + reach, line[-1, 0])])
    east, north = (np.interp(places, line[:, 0], route.plan.line[:, column]) for column in (0, 1))
    along = np.array([east[2] - east[1], north[2] - north[1]]) / max(np.hypot(np.ptp(east), np.ptp(north)), 1e-9)
    away = side / max(np.hypot(*along), 1e-9)
    return float(east[0]), float(north[0]), float(along[1] * away), float(-along[0] * away)


def round_length(most: float) -> float:
    """Give the greatest of 1, 2, 5, 10, 20, ... that is no greater.

    Examples
    --------
    >>> round_length(730.0), round_length(49.0), round_length(0.3)
    (500.0, 20.0, 0.2)
    """
    power = 10.0 ** np.floor(np.log10(most))
    return float(max(base for base in ROUND if base * power <= most * (1 + 1e-9)) * power)
