"""Stations of some rows with inches behind the point, on a log whose other rows have decimals of a foot."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from asbuilt.arrays import Bools, Floats, Ints, codes
from asbuilt.placing.hints import by_route
from asbuilt.placing.off_the_pipes import stations_shifted

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.line.stationed import StationedLine
    from asbuilt.survey.doubts import Doubt

_ROWS, _DIFFERENT = 12, 3
"""Rows together, and different hundredths among them, of which none is more than eleven by chance."""
_OFF, _SURE = 0.15, 3.0
"""Feet by which a step misfits its pipe at least, and standard errors of its two stations; judgement."""
_BETTER = 0.5
"""Part of that which inches leave at most; judgement."""
_EVIDENCE, _MOSTLY = 2, 0.8
"""Steps that must misfit as decimals, and the part of them that must fit as inches."""


def inches_behind_the_point(job: Job, line: StationedLine, log: Log, route: Ints, along: Floats) -> list[Doubt]:
    """Find rows whose stations fit the pipes laid only as feet and inches; where all rows are so, a note tells it.

    Parameters
    ----------
    job : Job
    line : StationedLine
    log : Log
    route : array of int, shape (n,)
    along : array, shape (n,)
        Station units from the start of the route; NaN where the station has no place.

    Returns
    -------
    list of Doubt
    """
    value = log.stations.value
    found: list[Doubt] = []
    if job.records.station_unit == "m" or job.records.station_from == "laid_length":
        return found
    behind = np.round(np.nan_to_num(value) % 1.0 * 100.0) % 100.0
    small = np.isfinite(value) & (behind < 12.0)
    # Few logs have so many such rows together; those of whole feet are all alike.
    if np.count_nonzero(small) < _ROWS or len(np.unique(behind[small])) < _DIFFERENT:
        return found
    file, laid = codes(log.file), log.number("laid_length")
    for number, rows in by_route(route, np.isfinite(value) & np.isfinite(along)):
        low = small[rows]
        if low.all():
            continue
        apart = np.append(True, (np.diff(low.astype(np.int8)) != 0) | (np.diff(file[rows]) != 0))
        starts = np.flatnonzero(apart)
        ends = np.append(starts[1:], len(rows))
        long = low[starts] & (ends - starts >= _ROWS)
        for first, end in zip(starts[long].tolist(), ends[long].tolist(), strict=True):
            together = rows[max(first - 1, 0) : end + 1]
            if len(np.unique(behind[rows[first:end]])) < _DIFFERENT:
                continue
            mine = np.isin(together, rows[first:end])
            if _fits_as_inches(job, value[together], behind[together], laid[together], mine):
                found.append(_told(line, log, number, rows[first:end], along))
    return found


def _fits_as_inches(job: Job, value: Floats, behind: Floats, laid: Floats, mine: Bools) -> bool:
    """Say whether steps that misfit their pipes by decimals fit them by inches: `mine` are rows that may have these."""
    as_inches = np.where(mine, np.floor(value) + behind / 12.0, value)
    of_pipe = np.where(laid > 0.0, laid, job.records.laying_length)
    of_pipe = of_pipe[1:] if job.records.pipe == "back" else of_pipe[:-1]
    hundredths = np.round(of_pipe % 1.0 * 100.0)
    in_inches = np.where(hundredths < 12.0, np.floor(of_pipe) + hundredths / 12.0, of_pipe)
    misfit = np.abs(np.abs(np.diff(value)) - of_pipe)
    off = misfit > max(_OFF, _SURE * np.sqrt(2.0) * (job.records.sigma_station or 0.0))
    step = np.abs(np.diff(as_inches))
    fits = np.minimum(np.abs(step - of_pipe), np.abs(step - in_inches)) <= _BETTER * misfit
    many = np.count_nonzero(off)
    return bool(many >= _EVIDENCE and np.count_nonzero(off & fits) >= _MOSTLY * many)


def _told(line: StationedLine, log: Log, route: int, rows: Ints, along: Floats) -> Doubt:
    parts = np.round(log.stations.value[rows] % 1.0 * 100.0)
    most = float((parts / 12.0 - parts / 100.0).max())
    message = (
        f"{log.file[rows[0]].as_py()} rows {log.row[rows[0]]} to {log.row[rows[-1]]}: of {len(rows)} stations of route "
        f"{line.names.names[route]} none has more than {parts.max():.0f} hundredths of a foot, and they fit the pipes "
        "laid, and the rows before and behind, only as inches behind the point (6 in is 0.50 ft, not 0.06): have them "
        f"written in decimals of a foot; their joints are placed up to {most:.2f} ft off"
    )
    return stations_shifted(line, route, along[rows], most, message)
