"""Bends: what of a turn the fitting makes, and what it leaves to the joints at its two ends.

A bend turns the line by its angle in a plane of its own: level, upright, or rolled about the pipe between the two.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.judging.deflection import angle_between

if TYPE_CHECKING:
    from asbuilt.units import SmallUnit

CLOSE = 0.25
"""Two records of a bend within this part of a laying length may be the two ends of one fitting."""

_SIZES_IN = np.array([4.0, 6.0, 8.0, 10.0, 12.0, 16.0, 24.0, 30.0, 36.0])
_TO_END_IN = np.array([
    [4.0, 5.0, 5.5, 6.5, 7.5, 8.0, 11.0, 15.0, 18.0], [6.5, 8.0, 9.0, 11.0, 12.0, 15.0, 22.0, 25.0, 28.0],
])  # fmt: skip
"""Inches from the center of a bend to its ends by nominal size, of bends up to 45 degrees and of 90. Mechanical-joint
bends of AWWA C110, from memory; compact bends are shorter."""
_SHARP = np.radians(60.0)
_USUAL_SIZE_IN = 12.0
"""Where the log has no size."""

_SIDEWAYS, _SLACK = 0.9, np.radians(5.0)
"""Sine of the roll of a bend that turns in plan, cosine of one that turns up or down; and how far, or by a quarter of
its angle, a turn differs from it."""

_ROLLS = {"up": 0.0, "right": 90.0, "down": 180.0, "left": 270.0, "vertical": 0.0, "horizontal": 90.0}
_EITHER_WAY = frozenset({"horizontal", "vertical"})


class Bends(NamedTuple):
    """The bend at each joint: shapes (joints,)."""

    angle: Floats
    """Radians; NaN where there is no bend, or its angle is unknown."""
    roll: Floats
    """Where it turns to, radians clockwise from the top of the pipe, looking ahead; NaN where that is unknown."""
    either_way: Bools
    """True where only the plane is known, and the bend may turn to one side or to the other."""
    other_end: Ints
    """The joint at the other end of the same fitting, where it was logged by its two ends; -1 elsewhere."""

    other_way: Floats
    """What the line turns, radians, right positive and up positive, where that is to the other side than the log says;
    NaN elsewhere. The bend is then taken to turn either way."""

    @property
    def upright(self) -> Bools:
        """True where the bend turns up or down."""
        found: Bools = np.abs(np.cos(self.roll)) > _SIDEWAYS
        return found

    @property
    def there(self) -> Bools:
        """True where there is a bend of known angle."""
        return np.isfinite(self.angle)

    def take(self, rows: Ints) -> Bends:
        """Give the bends at some joints."""
        own, turned = self.other_end[rows], self.other_way[rows]
        return Bends(self.angle[rows], self.roll[rows], self.either_way[rows], own, turned)


def rolls(planes: list[str | None]) -> tuple[Floats, Bools]:
    """Give where bends turn to, from their planes as `values.bend_plane` writes them.

    Returns
    -------
    roll : array, shape (n,)
        Radians clockwise from the top of the pipe, looking ahead; NaN where it is unknown.
    either_way : array of bool, shape (n,)
        True where the bend may turn to the opposite side as well.

    Examples
    --------
    >>> roll, either_way = rolls(["horizontal", "down", "30", "rolled", None])
    >>> np.degrees(roll).round(6).tolist(), either_way.tolist()
    ([90.0, 180.0, 30.0, nan, nan], [True, False, False, False, False])
    """
    degrees = [_ROLLS.get(plane or "", _number(plane)) for plane in planes]
    return np.radians(np.array(degrees, dtype=np.float64)), np.array([plane in _EITHER_WAY for plane in planes], bool)


def center_to_end_m(angle: Floats, size: Floats, sizes_in: SmallUnit) -> Floats:
    """Give about how far the ends of bends lie from their centers.

    Parameters
    ----------
    angle : array, shape (n,)
        Radians.
    size : array, shape (n,)
        Nominal; NaN where unknown.
    sizes_in : {"in", "mm"}

    Returns
    -------
    array, shape (n,)
        Metres.

    Examples
    --------
    A 45- and a 90-degree bend of 12 in, 7.5 and 12 in long on either side:

    >>> (center_to_end_m(np.radians([45.0, 90.0]), np.array([12.0, 12.0]), "in") / 0.0254).round(1).tolist()
    [7.5, 12.0]
    """
    inches = np.where(np.isnan(size), _USUAL_SIZE_IN, size * units.factor(sizes_in, "in"))
    usual, sharp = (np.interp(inches, _SIZES_IN, of_sizes) for of_sizes in _TO_END_IN)
    # Those of larger pipe are larger as the pipe is.
    to_end: Floats = np.where(np.abs(angle) > _SHARP, sharp, usual) * np.maximum(inches / _SIZES_IN[-1], 1.0)
    to_end *= units.factor("in", "m")
    return to_end


def left_over(back: Floats, ahead: Floats, bends: Bends) -> tuple[Floats, Floats]:
    """Give what the joints must take up between two straights: their turn, less that of the fitting between them.

    Parameters
    ----------
    back, ahead : array, shape (n, 3)
        Unit vectors (easting, northing, elevation) of the straights.
    bends : Bends
        The fittings between them, shapes (n,).

    Returns
    -------
    left : array, shape (n,)
        Radians. At a bend of unknown roll, the least that closes the turn.
    before : array, shape (n, 3)
        Direction in which the line would leave without any deflection; the straight back, where there is no fitting
        of known roll.

    Examples
    --------
    A 45-degree bend to the right, where the line turns 47 degrees right:

    >>> back, ahead = np.array([[0.0, 1.0, 0.0]]), np.array([[np.sin(np.radians(47)), np.cos(np.radians(47)), 0.0]])
    >>> bends = Bends(
    ...     np.radians([45.0]), np.radians([90.0]), np.array([True]), np.array([-1]), np.array([np.nan])
    ... )
    >>> np.degrees(left_over(back, ahead, bends)[0]).round(6).tolist()
    [2.0]
    """
    left, before = angle_between(back, ahead), back
    there = bends.there
    if not there.any():
        return left, before
    rolled = _rolled(back, bends)
    unknown = there & ~rolled
    left = np.where(unknown, np.abs(left - np.abs(np.where(there, bends.angle, 0.0))), left)
    rows = np.flatnonzero(rolled)
    u, v = back[rows], ahead[rows]
    side, up = _beside(u)
    to = np.cos(bends.roll[rows])[:, None] * up + np.sin(bends.roll[rows])[:, None] * side
    cos, sin = np.cos(bends.angle[rows])[:, None], np.sin(np.abs(bends.angle[rows]))[:, None]
    one, other = u * cos + to * sin, u * cos - to * sin
    swap = bends.either_way[rows] & (angle_between(other, v) < angle_between(one, v))
    out = np.where(swap[:, None], other, one)
    before, left = back.copy(), left.copy()
    before[rows], left[rows] = out, angle_between(out, v)
    return left, before


def through_fittings(back: Floats, out: Floats, bends: Bends, parts: Floats) -> Floats:
    """Carry parts of the direction in which the line leaves fittings over to that of the straight before them.

    Parameters
    ----------
    back, out : array, shape (n, 3)
        Unit vectors of the straight before each fitting, and of the direction in which it leaves, as of `left_over`.
    bends : Bends
        Shapes (n,).
    parts : array, shape (n, 3)
        What of a small change of `out` counts, as factors of its easting, northing and elevation.

    Returns
    -------
    array, shape (n, 3)
        The same of a small change of `back`: a fitting turns with the pipe before it, and lies as it was logged, rolled
        about that pipe from its top. Unchanged without a fitting of known roll.

    Examples
    --------
    A level quarter bend that leaves east still leaves level where the pipe before it, which goes north, rises a little;
    where that swings to the right, it swings as much:

    >>> north, east = np.array([[0.0, 1.0, 0.0]]), np.array([[1.0, 0.0, 0.0]])
    >>> bend = Bends(*(np.array([one]) for one in (np.pi / 2, np.pi / 2, False, -1, np.nan)))
    >>> (through_fittings(north, east, bend, np.array([[0.0, 0.0, 1.0]])) + 0.0).round(9).tolist()
    [[0.0, 0.0, 0.0]]
    >>> (through_fittings(north, east, bend, np.array([[0.0, -1.0, 0.0]])) + 0.0).round(9).tolist()
    [[1.0, 0.0, 0.0]]
    """
    rows = np.flatnonzero(_rolled(back, bends))
    if not len(rows):
        return parts
    u, part = back[rows], parts[rows]
    side, up = _beside(u)
    level = np.hypot(u[:, 0], u[:, 1])[:, None]
    upward, sideways = (one(bends.roll[rows])[:, None] for one in (np.cos, np.sin))
    to = ((upward * up + sideways * side) * out[rows]).sum(axis=1, keepdims=True)
    cos, sin = np.cos(bends.angle[rows])[:, None], np.sin(np.abs(bends.angle[rows]))[:, None] * np.sign(to)
    ahead = u * [1.0, 1.0, 0.0] / level
    # A pipe that swings to the side turns its top about the upright; one that rises tips it back.
    swung = cos * side - sin * (upward * u[:, 2:] * side + sideways * ahead) / level
    raised = cos * up - sin * upward * u
    carried = parts.copy()
    carried[rows] = (swung * part).sum(axis=1, keepdims=True) * side + (raised * part).sum(axis=1, keepdims=True) * up
    return carried


def _rolled(back: Floats, bends: Bends) -> Bools:
    """Say at which fittings of known roll the pipe before them is not upright, so that its top is known."""
    found: Bools = bends.there & np.isfinite(bends.roll) & (np.hypot(back[:, 0], back[:, 1]) > 1e-9)
    return found


def _beside(direction: Floats) -> tuple[Floats, Floats]:
    """Give unit vectors to the right of pipes, level, and to their tops: shapes (n, 3)."""
    level = np.hypot(direction[:, 0], direction[:, 1])[:, None]
    side = np.stack([direction[:, 1], -direction[:, 0], np.zeros(len(direction))], axis=1) / level
    return side, np.cross(side, direction)


def turned_other_way(
    angle: Floats, roll: Floats, either_way: Bools, other_end: Ints, turn: Floats, rise: Floats, route: Ints
) -> Floats:
    """Find the bends at which the line turns by their angle, but to the other side than the log says.

    Parameters
    ----------
    angle, roll, either_way, other_end : arrays, shape (joints,)
        As for `Bends`.
    turn : array, shape (joints,)
        Of the surveyed line in plan at each joint, radians, right positive; NaN at the ends of routes.
    rise : array, shape (joints,)
        The same up and down, up positive; NaN where an elevation is unknown, too.
    route : array of int, shape (joints,)

    Returns
    -------
    array, shape (joints,)
        What the line turns, radians, right positive, at bends that turn up or down up positive; NaN where it does not
        turn so.

    Examples
    --------
    A bend of 45 degrees that the log has to the right, where the line turns 44 degrees left:

    >>> none, one = np.full(3, np.nan), np.array([False, True, False])
    >>> angle, roll = np.where(one, np.radians(45.0), none), np.where(one, np.radians(90.0), none)
    >>> turn = np.radians([np.nan, -44.0, np.nan])
    >>> found = turned_other_way(angle, roll, ~one, np.full(3, -1), turn, none, np.zeros(3, dtype=int))
    >>> np.degrees(found).round(1).tolist()
    [nan, -44.0, nan]
    """
    found = np.full(len(angle), np.nan)
    for seen, toward in ((turn, np.sin(roll)), (rise, np.cos(roll))):
        _turned_back(angle, np.flatnonzero((np.abs(toward) > _SIDEWAYS) & ~either_way & (angle > 0)),
                     np.sign(toward), other_end, seen, route, found)  # fmt: skip
    return found


def _turned_back(
    angle: Floats, sided: Ints, side: Floats, other_end: Ints, turn: Floats, route: Ints, found: Floats
) -> None:
    """Find of some bends those at which the line turns so but to the other side, in plan or upright."""
    whole = np.nan_to_num(turn[sided])
    # What the shots show a joint farther back or on is this bend's, too, where no other bend lies there.
    for step in (-1, 1):
        beside = np.clip(sided + step, 0, len(angle) - 1)
        own = (route[beside] == route[sided]) & (np.isnan(angle[beside]) | (other_end[sided] == beside))
        whole += np.where(own, np.nan_to_num(turn[beside]), 0.0)
    logged = angle[sided] * side[sided]
    other = np.abs(whole + logged) <= np.maximum(angle[sided] / 4.0, _SLACK)
    found[sided[other]] = whole[other]


def two_ends(
    bend: Bools, angle: Floats, turn: Floats, back: Ints, spacing: Floats, laying_length: float
) -> tuple[Ints, Floats]:
    """Find the fittings that were logged by their two ends, and give both ends the fitting's angle.

    Two successive records of a bend close together are one fitting where the second has no angle of its own, or
    where both have one angle and the line turns by half of it at each rather than by all of it twice.

    Parameters
    ----------
    bend : array of bool, shape (joints,)
    angle : array, shape (joints,)
        As logged, radians; NaN where none is.
    turn : array, shape (joints,)
        Of the surveyed line at each joint, radians.
    back : array of int, shape (segments,)
        Joints with a next one on their route.
    spacing : array, shape (segments,)
        To that next one, in the unit of the laying length.
    laying_length : float

    Returns
    -------
    other_end : array of int, shape (joints,)
    angle : array, shape (joints,)
    """
    ahead = back + 1
    both = bend[back] & bend[ahead] & (spacing <= CLOSE * laying_length)
    first, second = np.abs(angle[back]), np.abs(angle[ahead])
    halves = np.abs(turn[back] - first / 2) + np.abs(turn[ahead] - first / 2)
    twice = np.abs(turn[back] - first) + np.abs(turn[ahead] - first)
    one = both & ((np.isnan(first) != np.isnan(second)) | ((first == second) & (halves < twice)))
    pair = np.flatnonzero(one)
    # Of several in a row, each first one and the next are the ends of one fitting.
    run = np.cumsum(np.diff(back[pair], prepend=-2) > 1)
    pair = pair[(np.arange(len(pair)) - np.searchsorted(run, run)) % 2 == 0]
    other_end = np.full(len(bend), -1, dtype=np.int64)
    other_end[back[pair]], other_end[ahead[pair]] = ahead[pair], back[pair]
    known = np.where(np.isnan(first), second, first)[pair]
    angle = angle.copy()
    angle[back[pair]] = angle[ahead[pair]] = known
    return other_end, angle


def _number(text: str | None) -> float:
    try:
        return float(text) if text is not None else np.nan
    except ValueError:
        return np.nan
