"""What became of every record of a log: its place, or why it is set aside."""

from __future__ import annotations

from dataclasses import dataclass

import pyarrow as pa

from asbuilt.arrays import Bools, Floats, Ints


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
    doubt: pa.Array
    """Why the station of a surveyed record cannot be used; null where it can, and where there is no survey."""

    @property
    def placed(self) -> Bools:
        """True where the record has a place."""
        return self.joint >= 0
