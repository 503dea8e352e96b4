"""The bends of a log that can tell on which line, and where on it, they lie."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Floats, Ints, as_mask
from asbuilt.survey.bends import LEAST_ALONE

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log
    from asbuilt.line.stationed import StationedLine

_ONE_BEND = 0.25
"""Laying lengths within which bends of one angle are the two ends of one, or records of one."""


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
    rows = rows[wanted & ~as_mask(pc.equal(log.text("bend_plane").take(taken), "vertical"))]
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
    again = (np.diff(on, prepend=-1) == 0) & (np.diff(at, prepend=-np.inf) <= _ONE_BEND * laying)
    again &= np.diff(angle, prepend=-1.0) == 0.0
    return Telling(on[~again], rows[~again], at[~again], angle[~again])
