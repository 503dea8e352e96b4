"""What became of every record of a log: its place, or why it is set aside."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pyarrow as pa

from asbuilt.arrays import Bools, Floats, Ints, of_rows


@dataclass(frozen=True)
class Records:
    """What became of every record: shapes (n,)."""

    route: Ints
    """Route of the record; -1 where it is unknown."""
    distance: Floats
    """Distance along the route, coordinate units; NaN where the record is set aside."""
    region: Ints
    reason: pa.Array
    """Why the record is set aside; null where it is placed."""
    message: pa.Array
    settled_by: pa.Array
    """What settled a station that occurs more than once on its route; null where nothing had to."""
    joint: Ints
    """The joint the record belongs to; -1 where it is set aside."""
    apart: Floats
    """How far its surveyed position lies from the place of its station, coordinate units; NaN where it lacks one."""
    away: Floats
    """How far its surveyed position lies from the centerline; NaN where it was not surveyed."""
    above: Floats
    """How far its surveyed position lies above the centerline; NaN where either elevation is unknown."""
    aside: Floats
    """How far from the centerline errors let its surveyed position lie, where it lies farther from it beside a shot;
    coordinate units, NaN elsewhere."""
    doubt: pa.Array
    """Why the station of a surveyed record cannot be used; null where it can, and where there is no survey."""

    def of_routes(self, start: int, rows: Ints, first_joint: int) -> Records:
        """Give the records of successive routes: their rows in ascending order, the first route and the first joint."""
        return Records(
            self.route[rows] - start, self.distance[rows], self.region[rows], of_rows(self.reason, rows),
            of_rows(self.message, rows), of_rows(self.settled_by, rows),
            np.where(self.joint[rows] < 0, -1, self.joint[rows] - first_joint), self.apart[rows], self.away[rows],
            self.above[rows], self.aside[rows], of_rows(self.doubt, rows),
        )  # fmt: skip

    @property
    def placed(self) -> Bools:
        """True where the record has a place."""
        return self.joint >= 0
