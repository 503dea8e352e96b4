"""Joints of which stations alone tell that the shots there are shots of them.

A line that starts at a shot beside the first joint, by a constant or by a part of a pipe, has every later shot as far
beside its joint, and no length between them shows it. What shows where joints are, apart from the start station, is a
joint surveyed by its name where its station has it, ties on both sides, or bends that turn at their own shot.
"""

from __future__ import annotations

from math import lgamma, log
from typing import TYPE_CHECKING

import numpy as np

from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.judging.places import LEAST_TURNS
from asbuilt.judging.sightings import AT_A_SHOT
from asbuilt.survey import at_shots

if TYPE_CHECKING:
    from asbuilt.judging.fittings import Bends
    from asbuilt.judging.survey import Seen
    from asbuilt.placing.joints import Joints


AT_JOINTS, BY_CHANCE = 0.75, 1e-3
"""So many of the shots lie nearer to joints than those taken anywhere do, but by such a chance: they are of joints."""


def by_stations_alone(joints: Joints, apart: Floats, seen: Seen, bends: Bends, laying_length: float) -> Bools:
    """Say of which joints stations alone tell that a shot is theirs, shape (joints,).

    Parameters
    ----------
    joints : Joints
    apart : array, shape (joints,)
        How far from its station each joint was surveyed, coordinate units; NaN where it was not.
    seen : Seen
        What the survey shows of them.
    bends : Bends
        The bend at each joint.
    laying_length : float
        Coordinate units.

    Returns
    -------
    array of bool
        False where the survey does not show the joint by its own shot, too.
    """
    one, other = seen.at_shots
    # Between two shots a joint stays where both are beside it by as much.
    alone: Bools = seen.exact & (one >= other) & ~joints.surveyed & ~joints.tied
    if not alone.any():
        return alone
    shown = np.unique(joints.route[joints.surveyed & (apart <= AT_A_SHOT * laying_length)]).tolist()
    telling = alone & bends.there & (bends.other_end < 0)
    rows = np.flatnonzero(telling & (np.nan_to_num(bends.angle) >= at_shots.TELLING_BEND))
    angle, missed = bends.angle[rows], seen.turned.measured.size[rows]
    told = at_shots.elsewhere(joints.route[rows], angle, missed / angle)
    shown += [number for number, _, middle in told if middle <= at_shots.AT_THEIRS]
    return alone & ~np.isin(joints.route, shown) if shown else alone


def are_at_joints(part: Floats) -> bool:
    """Say whether shots lie at joints.

    Parameters
    ----------
    part : array, shape (shots,)
        How far each lies off the nearest joint, as a part of the way from it to halfway to the next one. Shots taken
        anywhere lie evenly over that way. That three of four lie within a part of it happens to them by a chance of
        at most that part to the power of their number, times the ways to choose them.

    Examples
    --------
    >>> are_at_joints(np.array([0.01, 0.03, 0.02, 0.05])), are_at_joints(np.linspace(0.05, 0.95, 40))
    (True, False)
    """
    n = len(part)
    if n < LEAST_TURNS:
        return False
    k = int(np.ceil(AT_JOINTS * n))
    within = float(np.partition(part, k - 1)[k - 1])
    ways = lgamma(n + 1) - lgamma(k + 1) - lgamma(n - k + 1)
    return within <= 0.0 or ways + k * log(within) < log(BY_CHANCE)


def nearest_joints(joints: Floats, shots: Floats) -> tuple[Ints, Floats, Floats]:
    """Give the joint ahead of each shot, and how far the nearest one lies from it.

    Parameters
    ----------
    joints : array, shape (joints,)
        Places along a line, ascending; two at least.
    shots : array, shape (shots,)
        Places along the same.

    Returns
    -------
    ahead : array of int, shape (shots,)
        The joint ahead; the second or the last one where a shot lies beyond either end.
    off : array, shape (shots,)
        How far ahead the nearest joint lies, negative behind; NaN where a shot does not lie between two joints.
    part : array, shape (shots,)
        The same as a part of the way from that joint to halfway to the next one, as `are_at_joints` takes it.

    Examples
    --------
    >>> ahead, off, part = nearest_joints(np.array([0.0, 20.0, 40.0]), np.array([1.0, 35.0, 50.0]))
    >>> ahead.tolist(), off.tolist(), part.tolist()
    ([1, 2, 2], [-1.0, 5.0, nan], [0.1, 0.5, nan])
    """
    ahead = np.searchsorted(joints, shots).clip(1, len(joints) - 1)
    behind, before = shots - joints[ahead - 1], joints[ahead] - shots
    between = (behind >= 0) & (before >= 0) & (behind + before > 0)
    off = np.where(between, np.where(behind < before, -behind, before), np.nan)
    return ahead, off, 2.0 * np.abs(off) / np.where(between, behind + before, np.nan)
