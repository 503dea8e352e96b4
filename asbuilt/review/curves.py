"""Curves laid by deflection: stretches of a route whose joints turn one way, and the radius that they make.

A length of pipe deflected by one angle at every joint follows a circle: offset S = L sin(angle), and radius
R = L / (2 tan(angle / 2)).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from asbuilt.arrays import Bools, Floats, Ints

LEAST_TURN_DEG = 0.25
"""A smaller turn at a joint is taken as straight; a choice of this review, no source."""
LEAST_TURNS = 4
"""Fewer turns one way in a row are not called a curve; a choice of this review, no source."""
LONE, _ALIKE_DEG = 2, 0.5
"""Joints in a row that turn otherwise than those on either side and part no curve, and how far those may differ in
turn. Judgement."""
LEAST_TOTAL_DEG = 3.0
"""A stretch that turns less in all is not called a curve; a choice of this review, no source."""
_PENALTY = 16.0
"""A run is parted where that leaves so many squares of the scatter of its turns less. Judgement."""
_LEAST_SCATTER_DEG = 0.15
_MOST_TURNS = 2000
"""Longer runs are not parted: what that takes grows with their square."""
EIGHTHS = 8
MM_IN_M = 1000.0
IN_IN_FT = 12.0


def offset_of_length(length: Floats | float, deflection_deg: npt.ArrayLike) -> Floats:
    """Give the offset of the free end of a length laid at a deflection.

    Parameters
    ----------
    length : float or array
        Laying length.
    deflection_deg : float or array
        Degrees.

    Returns
    -------
    array
        S = L sin(deflection), in the unit of the length.

    Source
    ------
    AWWA C600, tables of maximum deflection of full-length pipe (from memory).

    Examples
    --------
    20 ft of push-on pipe at 5 degrees: 21 in by the table.

    >>> round(float(12 * offset_of_length(20.0, 5.0)), 1)
    20.9
    """
    return np.asarray(length * np.sin(np.radians(np.asarray(deflection_deg, dtype=np.float64))))


def radius_of_lengths(length: Floats | float, deflection_deg: npt.ArrayLike) -> Floats:
    """Give the radius of the curve that lengths with equal deflections make.

    Parameters
    ----------
    length : float or array
        Laying length.
    deflection_deg : float or array
        Deflection of every joint, degrees.

    Returns
    -------
    array
        R = L / (2 tan(deflection / 2)), in the unit of the length; infinite where there is no deflection.

    Source
    ------
    AWWA C600, tables of maximum deflection of full-length pipe (from memory).

    Examples
    --------
    20 ft of push-on pipe at 5 degrees: 230 ft by the table.

    >>> round(float(radius_of_lengths(20.0, 5.0)))
    229
    """
    half = np.tan(np.radians(np.asarray(deflection_deg, dtype=np.float64)) / 2.0)
    with np.errstate(divide="ignore"):
        return np.asarray(length / (2.0 * half))


def as_crews_read(offset: float, unit: str) -> str:
    """Write an offset as crews read it off a rule: inches and eighths, or whole millimetres.

    Parameters
    ----------
    offset : float
        In feet or metres.
    unit : {"us-ft", "ft", "m"}

    Examples
    --------
    >>> as_crews_read(20 * np.sin(np.radians(5.0)), "us-ft"), as_crews_read(0.3663, "m"), as_crews_read(0.01, "ft")
    ('20 7/8 in', '366 mm', '1/8 in')
    """
    if not np.isfinite(offset):
        return ""
    if unit == "m":
        return f"{MM_IN_M * offset:.0f} mm"
    whole, eighths = divmod(round(IN_IN_FT * EIGHTHS * offset), EIGHTHS)
    if not eighths:
        return f"{whole} in"
    shared = int(np.gcd(eighths, EIGHTHS))
    part = f"{eighths // shared}/{EIGHTHS // shared} in"
    return f"{whole} {part}" if whole else part


class Curves(NamedTuple):
    """Curves in order along a route: shapes (curves,)."""

    first: Ints
    """Joint at which each curve begins to turn."""
    last: Ints
    turns: Ints
    """Number of places where the survey saw it turn: joints, or shots where these are farther apart."""
    total_deg: Floats
    """The turn in all; right positive in plan, up positive in profile."""
    spacing: Floats
    """Mean length between the places where it turns."""
    radius: Floats
    """Radius achieved: of the circle that touches the middles of straights so long with the mean turn between them, or,
    where shots are farther apart than joints, of the circle through the shots."""


def find_curves(distance: Floats, turn_deg: Floats, sigma_deg: Floats, shared: Bools, bend: Bools) -> Curves:
    """Find the stretches laid by deflection: runs of turns one way, without a fitting.

    Parameters
    ----------
    distance : array, shape (joints,)
        Along the route; radii are in its unit.
    turn_deg : array, shape (joints,)
        Turn at each joint in plan or in profile; NaN where unknown.
    sigma_deg : array, shape (joints,)
        Standard error of the turn; NaN where none is stated.
    shared : array of bool, shape (joints,)
        True where the survey does not show the joint's own deflection: a turn seen at a neighbouring shot may be its.
    bend : array of bool, shape (joints,)
        True at fittings, which end a curve.

    Returns
    -------
    Curves
        Turns under `LEAST_TURN_DEG`, or under two standard errors, are taken as straight.

    Examples
    --------
    Twelve lengths of 20 ft, six of whose joints turn 2 degrees right: L / (2 tan 1 deg) is 572.9 ft.

    >>> turn = np.array([0.0, 0, 0, 2, 2, 2, 2, 2, 2, 0, 0, 0])
    >>> none = np.zeros(12, dtype=bool)
    >>> found = find_curves(20.0 * np.arange(12), turn, np.full(12, np.nan), none, none)
    >>> found.first.tolist(), found.last.tolist(), found.total_deg.tolist(), found.radius.round(1).tolist()
    ([3], [8], [12.0], [572.9])
    """
    least = np.maximum(LEAST_TURN_DEG, 2.0 * np.nan_to_num(sigma_deg))
    known = np.isfinite(turn_deg) & ~bend
    way = np.where(known & (np.abs(turn_deg) >= least), np.sign(np.nan_to_num(turn_deg)), 0.0)
    # A joint between shots shows no turn of its own; the run goes on over it.
    kept = np.flatnonzero((way != 0) | ~shared | bend)
    if not len(kept):
        return _none()
    starts = np.flatnonzero(np.concatenate([[True], way[kept][1:] != way[kept][:-1]]))
    runs = list(zip(starts.tolist(), [*starts[1:].tolist(), len(kept)], strict=True))
    whole = [one for one in runs if way[kept[one[0]]] != 0 and one[1] - one[0] >= LEAST_TURNS]
    parts = [
        (start + low, start + high)
        for start, end in whole
        for low, high in _parts(np.abs(turn_deg[kept[start:end]]), np.nan_to_num(sigma_deg[kept[start:end]]))
    ]
    if not parts:
        return _none()
    starts, ends = np.array(parts).T
    first, last, turns = kept[starts], kept[ends - 1], ends - starts
    running = np.concatenate([[0.0], np.cumsum(np.where(way[kept] != 0, turn_deg[kept], 0.0))])
    total = running[ends] - running[starts]
    # One joint that makes most of the turn is no curve.
    largest = np.array([np.abs(turn_deg[kept[start:end]]).max() for start, end in parts])
    others = np.where(2.0 * largest > np.abs(total), np.abs(total) - largest, np.abs(total))
    curved = (turns >= LEAST_TURNS) & (others >= LEAST_TOTAL_DEG)
    first, last, turns, total = first[curved], last[curved], turns[curved], total[curved]
    spacing = (distance[last] - distance[first]) / np.maximum(turns - 1, 1)
    # Shots farther apart than joints seldom stand at a curve's ends: the outermost see only part of a turn.
    before = np.concatenate([[0], np.cumsum(shared)])
    sparse = before[last + 1] > before[first]
    mean = np.where(sparse, (total - turn_deg[first] - turn_deg[last]) / np.maximum(turns - 2, 1), total / turns)
    mean = np.abs(mean)
    # The straights between such shots are chords of the pipe's circle, which bulges beyond them.
    radius = np.where(sparse, spacing / (2.0 * np.sin(np.radians(mean) / 2.0)), radius_of_lengths(spacing, mean))
    return Curves(first, last, turns, total, spacing, radius)


def _parts(turn: Floats, sigma: Floats) -> list[tuple[int, int]]:
    """Part a run of turns one way into curves of one radius each: as few parts as tell its turns to their scatter.

    A joint or two that turn more or less than the ones on either side part no curve.

    Examples
    --------
    A tangent of half a degree a joint, a curve of 3 degrees with one joint of 6, and a curve of 1 degree:

    >>> turn = np.array([0.5] * 5 + [3.0] * 4 + [6.0] + [3.0] * 4 + [1.0] * 6)
    >>> _parts(turn, np.zeros(20))
    [(0, 5), (5, 14), (14, 20)]

    One joint of 6 degrees among some that hardly turn is none:

    >>> _parts(np.array([0.3, 0.4, 0.3, 6.2, 0.3, 0.5]), np.zeros(6))
    [(0, 3), (3, 4), (4, 6)]
    """
    many = len(turn)
    if many > _MOST_TURNS:
        return [(0, many)]
    # Of successive turns, as the ends of a curve are few among them.
    scatter = max(float(np.median(np.abs(np.diff(turn)))) / 0.954, float(sigma.max()), _LEAST_SCATTER_DEG)
    ends = _ends(turn, _PENALTY * scatter**2)
    parts = list(zip([0, *ends[:-1]], ends, strict=True))
    at = 1
    while at < len(parts) - 1:
        (low, _), (begin, end), (_, high) = parts[at - 1 : at + 2]
        beside = turn[low:begin].mean(), turn[end:high].mean()
        alike = abs(beside[0] - beside[1]) <= max(_ALIKE_DEG, 2.0 * scatter)
        # Joints that make most of what it turns make no curve of straights beside them.
        few = end - begin <= LONE and turn[begin:end].sum() <= turn[low:high].sum() / 3.0
        if alike and few:
            parts[at - 1 : at + 2] = [(low, high)]
        else:
            at += 1
    return parts


def _ends(turn: Floats, penalty: float) -> list[int]:
    """Give where the parts of a run end that leave least of its squares, each part counted as a penalty."""
    many = len(turn)
    total, squares = (np.concatenate([[0.0], np.cumsum(one)]) for one in (turn, turn**2))
    cost, back = np.zeros(many + 1), np.zeros(many + 1, dtype=np.int64)
    for end in range(1, many + 1):
        start = np.arange(end)
        left = squares[end] - squares[start] - (total[end] - total[start]) ** 2 / (end - start)
        by = cost[start] + left + penalty
        back[end] = int(by.argmin())
        cost[end] = by[back[end]]
    ends = [many]
    while back[ends[-1]]:
        ends.append(int(back[ends[-1]]))
    return ends[::-1]


def _none() -> Curves:
    whole, number = np.empty(0, dtype=np.int64), np.empty(0)
    return Curves(whole, whole, whole, number, number, number)
