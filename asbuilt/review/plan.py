"""The plan of a route: turned where a long main would be small with grid north up, and which way north then is."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from asbuilt.arrays import Floats

_SHAPE = 2.4
"""How many times as wide as high a plan is drawn at most."""
_WORTH = 1.3
"""A plan is turned if that draws it larger by so many times: grid north up is what people expect."""


class Plan(NamedTuple):
    """Places on the plan, right and up: those of the map, or turned about the start of the line."""

    line: Floats
    """The centerline's vertices, shape (vertices, 2)."""
    joints: Floats
    """The joints, shape (joints, 2)."""
    north: Floats
    """Which way grid north is, right and up: a vector of length 1."""

    @property
    def turned(self) -> bool:
        """Whether grid north is not up."""
        return bool(self.north[0] != 0.0)


def plan_of(line: Floats, joints: Floats) -> Plan:
    """Turn a plan so that its main fills it, with the stations from left to right.

    Parameters
    ----------
    line : array, shape (vertices, 2)
        Easting and northing of the centerline.
    joints : array, shape (joints, 2)
        Easting and northing of the joints.

    Examples
    --------
    A main that runs 1,000 ft north is drawn from left to right, and north is to the right; one that runs east stays:

    >>> north, east = np.array([[0, 0], [0, 1000.0]]), np.array([[0, 0], [1000.0, 0]])
    >>> plan_of(north, north).line.round(6).tolist(), plan_of(north, north).north.round(6).tolist()
    ([[0.0, 0.0], [1000.0, 0.0]], [1.0, 0.0])
    >>> plan_of(east, east).turned
    False
    """
    places = line - line[0]
    _, axes = np.linalg.eigh(np.cov(places, rowvar=False, bias=True))
    across = axes[:, -1] if places[-1] @ axes[:, -1] >= 0 else -axes[:, -1]
    turn = np.array([across, [-across[1], across[0]]])
    if _size(places @ turn.T) <= _WORTH * _size(places):
        return Plan(line, joints, np.array([0.0, 1.0]))
    drawn, marked = (line[0] + (one - line[0]) @ turn.T for one in (line, joints))
    return Plan(drawn, marked, turn[:, 1])


def _size(places: Floats) -> float:
    """Say how large places can be drawn: the larger, the more."""
    width, height = np.ptp(places, axis=0)
    return 1.0 / max(float(width) / _SHAPE, float(height), 1e-9)
