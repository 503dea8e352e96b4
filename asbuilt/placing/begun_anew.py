"""Stations that begin anew within a log: two lengths of pipe would be placed into each other, one of them wrongly."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.errors import InputFileError

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log
    from asbuilt.line.stationed import StationedLine

_FEW = 8
"""A part of fewer records is no length of its own."""
_LEAST_OVERLAP = 6.0
"""Laying lengths that both parts must have in common."""
_FILLED = 0.6
"""A part with so many joints a laying length is complete by itself."""
_ONE_WAY = 0.8
"""A part that so often goes on with its stations is in their order."""


class _Anew(NamedTuple):
    """Where the stations of a route begin anew."""

    before: int
    """Last record of the first part."""
    at: int
    """First record of the second part."""
    joints: int
    """Joints of both parts on the length that both have."""
    room: float
    """Laying lengths that fit there."""


def begun_anew(
    line: StationedLine, log: Log, route: Ints, along: Floats, by_station: Bools, laying: float
) -> list[str]:
    """Refuse a log whose stations begin anew; where no joint numbers tell, say so.

    Parameters
    ----------
    line : StationedLine
    log : Log
    route : array of int, shape (n,)
    along : array, shape (n,)
        Station units from the start of the route; NaN where the station has no place.
    by_station : array of bool, shape (n,)
        True where nothing but the station places the record.
    laying : float
        Laying length, station units.

    Returns
    -------
    list of str

    Raises
    ------
    InputFileError
        When far more joints would stand on a length than lengths of pipe fit there.
    """
    told = []
    rows = np.flatnonzero(by_station & (route >= 0) & np.isfinite(along))
    rows = rows[np.argsort(route[rows], kind="stable")]
    for part in np.split(rows, np.flatnonzero(np.diff(route[rows])) + 1) if len(rows) else []:
        found = _in_route(log, part, along[part], laying)
        if found is None:
            continue
        stations = log.fields["station"]
        said = (
            f"{log.file[found.at].as_py()} row {log.row[found.at]}: the stations of route "
            f"{line.names.names[route[found.at]]} begin anew at {stations[found.at].as_py()}, after "
            f"{stations[found.before].as_py()} in row {log.row[found.before]}"
        )
        if "joint" in log.fields:
            raise InputFileError(
                f"{said}: {found.joints} joints would stand where {found.room:.0f} lengths of pipe fit; let the "
                "stations run on, name the route of each part in a column of its own, or give "
                "joints that were looked at twice the same number"
            )
        told.append(f"{said}: one length of pipe would be placed into another; let the stations run on")
    return told


def _in_route(log: Log, rows: Ints, along: Floats, laying: float) -> _Anew | None:
    """Find where the stations of one route's records begin anew, as the log has them one below the other."""
    if len(rows) < 2 * _FEW:
        return None
    step = np.diff(along)
    forward = 1.0 if np.count_nonzero(step > 0) >= np.count_nonzero(step < 0) else -1.0
    back = forward * step
    back[: _FEW - 1], back[len(back) - _FEW + 1 :] = np.inf, np.inf
    at = int(np.argmin(back)) + 1
    if back[at - 1] > -_LEAST_OVERLAP * laying:
        return None
    parts = (forward * step[: at - 1], forward * step[at:])
    if min(np.mean(part >= 0) for part in parts) < _ONE_WAY:
        return None
    low, high = max(along[:at].min(), along[at:].min()), min(along[:at].max(), along[at:].max())
    room = (high - low) / laying
    inside = (along >= low) & (along <= high)
    names = [_names(log, rows[part][inside[part]]) for part in (slice(None, at), slice(at, None))]
    if room < _LEAST_OVERLAP or min(map(len, names)) < _FILLED * room:
        return None
    joints = len(pc.unique(pa.concat_arrays(names)))
    if joints < 2 * _FILLED * room or joints < 0.9 * sum(map(len, names)):
        return None
    return _Anew(int(rows[at - 1]), int(rows[at]), joints, room)


def _names(log: Log, rows: Ints) -> pa.Array:
    """Name joints by their numbers; where a log has none, each record is one."""
    named = log.fields["joint"].take(pa.array(rows)) if "joint" in log.fields else pc.cast(pa.array(rows), pa.string())
    return pc.unique(pc.utf8_upper(named.drop_null()))
