"""Ties: points whose station and coordinates are both known, onto which the stations of a route are stretched.

What the stretching has to make up between two ties is their closure: the line's length between them, less that
counted by the stations.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.errors import JobFileError
from asbuilt.line import stationing

if TYPE_CHECKING:
    from collections.abc import Sequence

DEFAULT_MAX_PPM = 10_000.0
"""Closure over which a tie is refused where the job says nothing: one part in a hundred is a mistake, not a tape."""


class Ties(NamedTuple):
    """Points of known station and coordinates: shapes (ties,)."""

    route: Ints
    stations: stationing.Stations
    easting: Floats
    northing: Floats
    keys: tuple[str, ...]
    """The job's key, or the file and row, that names each tie."""
    inputs: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Calibration:
    """How distances counted by the stations lie on the line: shapes (ties,), in order along their routes."""

    first: Ints
    """Index of each route's first tie, shape (routes + 1,)."""
    counted: Floats
    """Distance of each tie from the stated start of its route by the stations, coordinate units on the grid."""
    actual: Floats
    """Distance of each tie along the line itself."""
    keys: tuple[str, ...]
    offset: Floats
    """How far each tie lies from the line, coordinate units."""
    inputs: tuple[tuple[str, str], ...] = ()

    def of_routes(self, start: int, stop: int) -> Calibration:
        """Give the ties of successive routes, from `start` up to, and without, `stop`."""
        low, high = int(self.first[start]), int(self.first[stop])
        return Calibration(
            self.first[start : stop + 1] - low, self.counted[low:high], self.actual[low:high], self.keys[low:high],
            self.offset[low:high], self.inputs,
        )  # fmt: skip

    def without(self, at: int) -> Calibration:
        """Give all ties but one."""
        first = self.first - (self.first > at)
        counted, actual, offset = (np.delete(one, at) for one in (self.counted, self.actual, self.offset))
        return Calibration(first, counted, actual, self.keys[:at] + self.keys[at + 1 :], offset, self.inputs)


class Closures(NamedTuple):
    """Intervals between successive ties of one route: shapes (intervals,), coordinate units on the grid."""

    route: Ints
    back: Ints
    """The tie at which the interval begins; it ends at the next."""
    counted: Floats
    closure: Floats
    """Length of the line less that counted by the stations."""
    ppm: Floats


def calibrate(ties: Ties, counted: Floats, actual: Floats, offset: Floats, names: Sequence[str]) -> Calibration:
    """Put ties in order along their routes.

    Parameters
    ----------
    ties : Ties
    counted, actual : array, shape (ties,)
        Distance by the stations, and along the line, coordinate units.
    offset : array, shape (ties,)
        How far each tie lies from the line.
    names : sequence of str
        The routes.

    Raises
    ------
    JobFileError
        When the stations of two ties run against the line.

    Examples
    --------
    >>> stations = stationing.Stations(np.array([100.0, 0.0]), np.zeros(2, int), np.zeros(2, int), "decimal")
    >>> ties = Ties(np.zeros(2, int), stations, np.zeros(2), np.zeros(2), ("no. 1", "no. 2"))
    >>> found = calibrate(ties, np.array([100.0, 0.0]), np.array([101.0, 0.0]), np.zeros(2), ["A"])
    >>> onto_line(found, np.zeros(3, int), np.array([-5.0, 50.0, 110.0])).tolist()
    [-5.0, 50.5, 111.0]
    >>> closures(found).ppm.tolist()
    [10000.0]
    """
    order = np.lexsort((actual, counted, ties.route))
    route, counted, actual = ties.route[order], counted[order], actual[order]
    keys = tuple(ties.keys[at] for at in order)
    same = route[1:] == route[:-1]
    wrong = np.flatnonzero(same & ((np.diff(actual) <= 0) | (np.diff(counted) <= 0)))
    if len(wrong):
        at = wrong[0]
        raise JobFileError(
            f"{keys[at]} and {keys[at + 1]}: on route {names[route[at]]!r} the second lies "
            f"{counted[at + 1] - counted[at]:.2f} ahead of the first by their stations, but "
            f"{actual[at + 1] - actual[at]:.2f} along the line; correct one of them"
        )
    first = np.searchsorted(route, np.arange(len(names) + 1))
    return Calibration(first, counted, actual, keys, offset[order], ties.inputs)


def onto_line(found: Calibration, route: Ints, counted: Floats) -> Floats:
    """Stretch distances counted by the stations onto the line: linearly between ties, unstretched beyond them.

    Parameters
    ----------
    found : Calibration
    route : array of int, shape (n,)
        -1 where it is unknown.
    counted : array, shape (n,)
        From the stated start of the route, coordinate units; NaN stays NaN.

    Returns
    -------
    array, shape (n,)
        From the start of the line; unchanged on routes without ties.
    """
    return _stretched(found, route, counted, found.counted, found.actual)


def off_line(found: Calibration, route: Ints, actual: Floats) -> Floats:
    """Turn distances along the line into those that the stations count: the inverse of `onto_line`."""
    return _stretched(found, route, actual, found.actual, found.counted)


def between_ties(found: Calibration, route: Ints, actual: Floats) -> Bools:
    """Say which places along the line lie between two ties of their route, shape (n,)."""
    several = np.flatnonzero(np.diff(found.first) > 1)
    low, high = np.full(len(found.first), np.inf), np.full(len(found.first), -np.inf)
    low[several], high[several] = found.actual[found.first[several]], found.actual[found.first[several + 1] - 1]
    # A station at a tie may come out a rounding error off it.
    return (actual >= low[route] - 1e-6) & (actual <= high[route] + 1e-6)


def closures(found: Calibration) -> Closures:
    """Give what the stretching makes up between successive ties, shape (intervals,)."""
    route = np.repeat(np.arange(len(found.first) - 1), np.diff(found.first))
    back = np.flatnonzero(route[1:] == route[:-1])
    counted = found.counted[back + 1] - found.counted[back]
    closure = (found.actual[back + 1] - found.actual[back]) - counted
    return Closures(route[back], back, counted, closure, 1e6 * closure / counted)


def refuse_closures(found: Calibration, max_ppm: float | None, slack: float, scale: float, symbol: str) -> None:
    """Refuse ties that do not close.

    Parameters
    ----------
    found : Calibration
    max_ppm : float, optional
        The job's limit, parts per million.
    slack : float
        Where the job gives none, closures up to this length, coordinate units, always pass.
    scale : float
        Coordinate units in a station unit.
    symbol : str
        Of the station unit.

    Raises
    ------
    JobFileError
        Naming every interval that is over the limit.
    """
    intervals = closures(found)
    limit = max_ppm if max_ppm is not None else DEFAULT_MAX_PPM
    over = np.abs(intervals.ppm) > limit
    if max_ppm is None:
        over &= np.abs(intervals.closure) > slack
    slips = [units.factor("m", "ft"), units.factor("ft", "m")]
    hint = [
        "; stations in another unit do this: see records.station_unit"
        if np.isclose(slips, one, rtol=0.02).any()
        else ""
        for one in (1.0 + intervals.ppm / 1e6).tolist()
    ]
    told = [
        f"{found.keys[intervals.back[at]]} to {found.keys[intervals.back[at] + 1]}: the line "
        f"measures {(intervals.counted[at] + intervals.closure[at]) / scale:.2f} {symbol} where the stations count "
        f"{intervals.counted[at] / scale:.2f} {symbol}: {intervals.closure[at] / scale:+.2f} {symbol}, "
        f"{intervals.ppm[at]:+.0f} parts per million; at most {limit:.0f} are allowed "
        f"(centerline.max_closure_ppm): correct a tie or centerline.combined_factor{hint[at]}"
        for at in np.flatnonzero(over).tolist()
    ]
    if told:
        raise JobFileError("\n  ".join(told))


def _stretched(found: Calibration, route: Ints, distance: Floats, source: Floats, target: Floats) -> Floats:
    result = np.array(distance, dtype=np.float64)
    count = np.diff(found.first)
    rows = np.flatnonzero((route >= 0) & (count[route] > 0) & np.isfinite(result))
    if not len(rows):
        return result
    on, given = route[rows], result[rows]
    first, last = found.first[on], found.first[on + 1] - 1
    # One search over all routes: each route's ties are shifted beyond the reach of the routes before it.
    reach = 2.0 * (max(np.abs(source).max(), np.abs(given).max()) + 1.0)
    shift = reach * np.arange(len(count))
    back = np.searchsorted(source + np.repeat(shift, count), given + shift[on], side="right") - 1
    back = np.clip(back, first, np.maximum(last - 1, first))
    ahead = np.minimum(back + 1, last)
    length = source[ahead] - source[back]
    part = np.divide(given - source[back], length, out=np.zeros(len(rows)), where=length > 0)
    stretched = target[back] + np.clip(part, 0.0, 1.0) * (target[ahead] - target[back])
    beyond = np.minimum(given - source[first], 0.0) + np.maximum(given - source[last], 0.0)
    result[rows] = stretched + beyond
    return result
