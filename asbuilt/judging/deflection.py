"""Deflection: the turn between the straights on either side of a joint, and what of it the joint takes.

Angles are computed in the coordinates of the centerline: azimuths clockwise from grid north, inclinations
upward. A turn's horizontal part is positive to the right, its vertical part positive upward.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import pyarrow as pa

from asbuilt.arrays import Bools, Floats, Ints, hypotenuse

ROUNDING_DEG = 1e-9
"""A deflection this little over its allowable is rounding, not deflection."""


class Segments(NamedTuple):
    """Straights between successive joints of one route: shapes (segments,), lengths in coordinate units."""

    back: Ints
    """The joint from which the straight runs ahead; it ends at the next joint."""
    length: Floats
    """Length in space, or horizontal length where an elevation is unknown."""
    azimuth: Floats
    """Radians clockwise from grid north, in [0, 2 pi)."""
    inclination: Floats
    """Radians above the horizontal; NaN where an elevation is unknown."""
    direction: Floats
    """Unit vectors (easting, northing, elevation), shape (segments, 3); NaN for a straight without length."""

    @property
    def adjacent(self) -> tuple[Ints, Ints, Ints]:
        """Joints that have a straight on both sides, and the straights back and ahead of them."""
        before = np.flatnonzero(self.back[1:] == self.back[:-1] + 1)
        return self.back[before + 1], before, before + 1

    def facing(self, before: Ints, after: Ints) -> tuple[Floats, Floats]:
        """Give the directions of pairs of straights; both level where only one of them has elevations."""
        back, ahead = self.direction[before], self.direction[after]
        flat = np.isnan(self.inclination[before]) != np.isnan(self.inclination[after])
        return _levelled(back, flat), _levelled(ahead, flat)


class Turns(NamedTuple):
    """Turns at joints: shapes (joints,), radians; NaN at the ends of routes."""

    turn: Floats
    horizontal: Floats
    vertical: Floats
    """NaN where an elevation is unknown: the turn is then horizontal only."""


def segments(next_on_route: Ints, easting: Floats, northing: Floats, elevation: Floats) -> Segments:
    """Lay straights between successive joints.

    Parameters
    ----------
    next_on_route : array of int, shape (segments,)
        Joints that have a next one on their route.
    easting, northing, elevation : array, shape (joints,)
        Positions of the joints in order; elevation may be NaN.

    Returns
    -------
    Segments

    Examples
    --------
    >>> found = segments(np.array([0]), np.array([0.0, 3.0]), np.array([0.0, 4.0]), np.array([0.0, 12.0]))
    >>> float(found.length[0]), float(np.degrees(found.azimuth[0]).round(4))
    (13.0, 36.8699)
    """
    back, ahead = next_on_route, next_on_route + 1
    east, north = easting[ahead] - easting[back], northing[ahead] - northing[back]
    rise = elevation[ahead] - elevation[back]
    horizontal = hypotenuse(east, north)
    level = np.where(np.isnan(rise), 0.0, rise)
    length = hypotenuse(horizontal, level)
    vector = np.stack([east, north, level], axis=1)
    with np.errstate(invalid="ignore"):
        direction = vector / length[:, None]
    return Segments(
        back=back,
        length=length,
        azimuth=np.mod(np.arctan2(east, north), 2 * np.pi),
        inclination=np.where(np.isnan(rise), np.nan, np.arctan2(level, horizontal)),
        direction=direction,
    )


def turns(joints: int, found: Segments) -> Turns:
    """Compute the turn at each joint between the straights back and ahead of it.

    Parameters
    ----------
    joints : int
        Number of joints.
    found : Segments

    Returns
    -------
    Turns

    Source
    ------
    Turn by the arctangent of the cross and dot products, which keeps its digits at small angles.

    Examples
    --------
    Three joints turning 5 degrees right on the level:

    >>> angle = np.radians(5)
    >>> found = segments(np.array([0, 1]), np.array([0, 0, 20 * np.sin(angle)]),
    ...     np.array([0, 20, 20 + 20 * np.cos(angle)]), np.zeros(3))
    >>> np.degrees(turns(3, found).turn).round(9).tolist()
    [nan, 5.0, nan]
    """
    middle, before, after = found.adjacent
    back, ahead = found.facing(before, after)
    result = [np.full(joints, np.nan) for _ in range(3)]
    result[0][middle] = angle_between(back, ahead)
    result[1][middle] = wrapped(found.azimuth[after] - found.azimuth[before])
    result[2][middle] = found.inclination[after] - found.inclination[before]
    vertical_only = ~np.isfinite(result[0])
    result[1][vertical_only] = np.nan
    return Turns(*result)


def level_where(found: Turns, unmeasured: Bools) -> Turns:
    """Give turns in plan alone where an elevation was not measured, whatever was put between those beside it.

    Parameters
    ----------
    found : Turns
    unmeasured : array of bool, shape (joints,)

    Examples
    --------
    >>> found = Turns(*(np.array([one]) for one in (5.0, -3.0, 4.0)))
    >>> [part.tolist() for part in level_where(found, np.array([True]))]
    [[3.0], [-3.0], [nan]]
    """
    if not unmeasured.any():
        return found
    return Turns(
        np.where(unmeasured, np.abs(found.horizontal), found.turn),
        found.horizontal,
        np.where(unmeasured, np.nan, found.vertical),
    )


def angle_between(one: Floats, other: Floats) -> Floats:
    """Give the angle between unit vectors, radians, shape (n,) for vectors of shape (n, 3)."""
    cross = np.stack(
        [
            one[:, 1] * other[:, 2] - one[:, 2] * other[:, 1],
            one[:, 2] * other[:, 0] - one[:, 0] * other[:, 2],
            one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0],
        ]
    )
    across: Floats = np.sqrt((cross**2).sum(axis=0))
    along: Floats = (one * other).sum(axis=1)
    return np.arctan2(across, along)


def wrapped(angle: Floats) -> Floats:
    """Bring angles into (-pi, pi]."""
    return np.pi - np.mod(np.pi - angle, 2 * np.pi)


def _levelled(direction: Floats, flat: Bools) -> Floats:
    if not flat.any():
        return direction
    level = direction.copy()
    level[flat, 2] = 0.0
    length = hypotenuse(level[:, 0], level[:, 1])
    scale = np.divide(1.0, length, out=np.full(len(level), np.nan), where=flat & (length > 0))
    return np.where(flat[:, None], level * scale[:, None], direction)


def verdicts(least_deg: Floats, most_deg: Floats, allowable_deg: Floats, computed: Bools) -> pa.Array:
    """Judge each joint's deflection against what it allows.

    Parameters
    ----------
    least_deg, most_deg : array, shape (n,)
        Bounds between which the deflection lies, at the job's confidence; NaN where there is none.
    allowable_deg : array, shape (n,)
        Degrees; NaN where no allowable is on file.
    computed : array of bool, shape (n,)
        False where nothing can be said of the deflection, as at the ends of routes.

    Returns
    -------
    pyarrow string array, shape (n,)
        "within", "over", "cannot-tell", "no-allowable" or "not-computed".

    Examples
    --------
    >>> nan = float("nan")
    >>> least, most = np.array([4.8, 5.1, 0.0, 1.0, nan]), np.array([4.9, 5.2, 6.0, 1.0, nan])
    >>> verdicts(least, most, np.array([5.0, 5.0, 5.0, nan, 5.0]), np.isfinite(most)).to_pylist()
    ['within', 'over', 'cannot-tell', 'no-allowable', 'not-computed']
    """
    choices = ["not-computed", "no-allowable", "over", "within"]
    limit = allowable_deg + ROUNDING_DEG
    masks = [~computed, np.isnan(allowable_deg), least_deg > limit, most_deg <= limit]
    return pa.array([*choices, "cannot-tell"]).take(pa.array(np.select(masks, [0, 1, 2, 3], default=4)))
