"""The bends of a log that can tell on which line, and where on it, they lie."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Bools, Floats, Ints, as_mask, together
from asbuilt.survey.bends import LEAST_ALONE
from asbuilt.survey.bends_logged import BendsLogged, none_logged, turned_in_plan

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log
    from asbuilt.line.stationed import StationedLine

_ONE_BEND = 0.25
"""Laying lengths within which bends of one angle are the two ends of one, or records of one."""


APART = 2.5
"""Laying lengths between successive joints, one of which may be missing from the log."""
_UNKNOWN = np.pi / 2.0
"""Bends of an unknown angle turn by no more; common practice, no source."""


class Telling(NamedTuple):
    """Bends of a log that can tell on which line they lie: shapes (bends,)."""

    route: Ints
    """Ascending."""
    row: Ints
    """Of the log."""
    at: Floats
    """Where each lies by its station, coordinate units from the start of its route; beyond the ends, too."""
    angle: Floats
    """Radians."""

    def without(self, routes: Collection[int]) -> Telling:
        """Leave out those of some routes."""
        kept = ~np.isin(self.route, list(routes))
        return Telling(self.route[kept], self.row[kept], self.at[kept], self.angle[kept])

    def of(self, route: int) -> Telling:
        """Give those of one route."""
        mine = slice(*np.searchsorted(self.route, [route, route + 1]).tolist())
        return Telling(self.route[mine], self.row[mine], self.at[mine], self.angle[mine])

    def among(self, rows: Ints) -> tuple[Ints, Telling]:
        """Give where among some rows of the log those lie that are there, and these bends."""
        order = np.argsort(rows)
        spot = order[np.searchsorted(rows, self.row, sorter=order).clip(max=len(rows) - 1)]
        known = rows[spot] == self.row
        return spot[known], Telling(*(one[known] for one in self))


def telling_bends(line: StationedLine, log: Log, route: Ints, along: Floats, laying: float) -> Telling:
    """Gather the bends of the log that turn the line in plan by so much that they tell where they lie.

    Parameters
    ----------
    line : StationedLine
    log : Log
    route : array of int, shape (records,)
    along : array, shape (records,)
        Where the stations lie, station units from the start of each route; NaN where they lie off it.
    laying : float
        Laying length, coordinate units.
    """
    none = np.zeros(0)
    nothing = Telling(none.astype(np.int64), none.astype(np.int64), none, none)
    if "bend_angle" not in log.fields:
        return nothing
    angle = np.radians(np.abs(log.number("bend_angle")))
    rows = np.flatnonzero((angle >= LEAST_ALONE) & (route >= 0) & np.isfinite(log.stations.value))
    taken = pa.array(rows)
    kind = log.text("kind").take(taken)
    wanted = as_mask(pc.equal(kind, "bend")) | as_mask(kind.is_null())
    angle[rows], _ = turned_in_plan(log.text("bend_plane").take(taken), angle[rows])
    rows = rows[wanted & (angle[rows] >= LEAST_ALONE)]
    if not len(rows):
        return nothing
    on, known = route[rows], np.isfinite(along[rows])
    at = (log.stations.value[rows] - line.start[on]) * line.scale
    at[known] = line.distance(on[known], along[rows[known]])
    # Beyond an equation a station that lies nowhere tells nothing.
    told = known | ~np.isin(on, [number for number, *_ in line.equations])
    order = np.lexsort((at, on))
    order = order[told[order]]
    on, at, rows, angle = on[order], at[order], rows[order], angle[rows[order]]
    once = ~_again(on, at, angle, laying)
    return Telling(on[once], rows[once], at[once], angle[once])


def _again(on: Ints, at: Floats, angle: Floats, laying: float) -> Bools:
    """Tell which bends, in order along their routes, are the one before them over again."""
    again: Bools = (np.diff(on, prepend=-1) == 0) & (np.diff(at, prepend=-np.inf) <= _ONE_BEND * laying)
    again &= np.diff(angle, prepend=-1.0) == 0.0
    return again


def bends_logged(line: StationedLine, log: Log, route: Ints, laying: float, known: Floats | None = None) -> BendsLogged:
    """Give all bends of a log, by their stations, and how far it runs on beyond each line.

    Parameters
    ----------
    line : StationedLine
    log : Log
    route : array of int, shape (records,)
    laying : float
        Laying length, coordinate units.
    known : array, shape (records,), optional
        Where those lie that were placed, coordinate units from the start of each route; NaN for others.
    """
    kind = log.text("kind")
    angle = np.radians(np.abs(log.number("bend_angle")))
    bend = as_mask(pc.equal(kind, "bend")) | (as_mask(kind.is_null()) & (angle > 0.0))
    if not bend.any():
        return none_logged(line.routes)
    # Places at which a station may be; of two by an equation, one.
    resolved = line.resolve(route, log.stations)
    at = np.where(route >= 0, (log.stations.value - line.start[route]) * line.scale, np.nan)
    at[np.isin(route, [number for number, *_ in line.equations])] = np.nan
    on_it = np.flatnonzero(np.isfinite(resolved.distance))
    at[on_it] = line.distance(route[on_it], resolved.distance[on_it])
    if known is not None:
        at = np.where(np.isfinite(known), known, at)
    rows = np.flatnonzero(np.isfinite(at))
    order = rows[np.lexsort((at[rows], route[rows]))]
    beyond = _beyond(route[order], at[order], line.routes.length, laying)
    some = order[bend[order]]
    made = np.nan_to_num(angle[some], nan=_UNKNOWN)
    in_plan, _ = turned_in_plan(log.text("bend_plane").take(pa.array(some)), made)
    # Those of a riser have one station, too.
    again = _again(route[some], at[some], made, laying)
    return BendsLogged(route[some], at[some], np.where(again, 0.0, in_plan), made, beyond)


def _beyond(route: Ints, at: Floats, length: Floats, laying: float) -> Floats:
    """Give how far joints, in order, follow one another beyond the end of each route, or end before it.

    Examples
    --------
    A line of 100 ft and pipes of 20 ft; a station that follows no other is mistyped:

    >>> _beyond(np.zeros(5, dtype=np.int64), np.array([60.0, 80.0, 100.0, 120.0, 900.0]), np.array([100.0]), 20.0)
    array([20.])
    >>> _beyond(np.zeros(1, dtype=np.int64), np.array([60.0]), np.array([100.0, 50.0]), 20.0)
    array([-40., -inf])
    """
    beyond = np.full(len(length), -np.inf)
    on = at <= length[route]
    np.maximum.at(beyond, route[on], (at - length[route])[on])
    for rows in together(np.flatnonzero(~on), route):
        number = int(route[rows[0]])
        ends = np.sort(np.append(at[rows] - length[number], max(float(beyond[number]), 0.0)))
        apart = np.flatnonzero(np.append(np.diff(ends) > APART * laying, True))
        beyond[number] = max(float(ends[apart[0]]), float(beyond[number]))
    return beyond
