"""Numbers left out of a log whose stations are counted from its laid lengths: the row of a joint that may be lost.

Where stations are in the log, a lost row leaves a gap between them. Where they are counted, all joints behind it stand
a pipe too far back, and only the joint numbers show it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pyarrow as pa

from asbuilt import units
from asbuilt.arrays import together
from asbuilt.placing.sequence import joint_numbers
from asbuilt.survey.bends_tried import Lines
from asbuilt.survey.doubts import Doubt

if TYPE_CHECKING:
    from asbuilt.arrays import Floats, Ints
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.line.stationed import StationedLine
    from asbuilt.placing.bends_of_log import Telling

_FEWEST = 10
"""Joints of a route in whose numbers one that is left out shows."""
_IN_STEP = 0.9
"""Part of a route's numbers that must go on by one: else the crew numbers otherwise, and says nothing by it."""
_MOST = 5
"""Numbers left out by a slip; by more, a crew begins a new count, as for a day. Common practice, no source."""


def skipped(job: Job, line: StationedLine, log: Log, route: Ints, along: Floats, bends: Telling) -> list[Doubt]:
    """Doubt the joints that lie behind a number left out, in a log whose stations are counted from laid lengths.

    Parameters
    ----------
    job : Job
    line : StationedLine
    log : Log
    route : array of int, shape (records,)
    along : array, shape (records,)
        Station units from the start of each route; NaN where the station has no place.
    bends : Telling
        Of the log: where the next one behind turns the line where it stands, the count is right there.

    Returns
    -------
    list of Doubt
        One for each place at which numbers are left out.
    """
    if job.records.station_from != "laid_length":
        return []
    laying = job.records.laying_length
    rows = np.flatnonzero((route >= 0) & np.isfinite(along))
    rows = rows[np.argsort(route[rows], kind="stable")]
    numbers = joint_numbers(log.text("joint"))
    unused = set(joint_numbers(pa.array(job.records.numbers_unused, pa.string())).number.tolist())
    gaps: list[tuple[int, int, int]] = []
    for mine in together(rows, route):
        step, series = np.diff(numbers.number[mine]), numbers.series[mine]
        within = (series[1:] == series[:-1]) & (series[1:] >= 0)
        in_step = np.count_nonzero(within & (np.abs(step) <= 1.0))
        way = np.sign(np.median(step[within])) if within.any() else 0.0
        if len(mine) < _FEWEST or in_step < _IN_STEP * len(step) or way == 0.0:
            continue
        over = np.where(within, np.floor(way * step) - 1.0, 0.0)
        for one in np.flatnonzero((over >= 1.0) & (over <= _MOST)).tolist():
            before, behind = sorted(numbers.number[mine[one : one + 2]].tolist())
            if not unused.issuperset(np.arange(np.floor(before) + 1.0, behind).tolist()):
                gaps.append((int(mine[one]), int(mine[one + 1]), int(over[one])))
    if not gaps:
        return []
    at_corner, _ = Lines.of(line.routes, laying * line.scale).fit(bends.route, bends.at, bends.angle)
    ends = np.array([end for _, end, _ in gaps])
    starts = line.distance(route[ends], along[ends])
    found = []
    for (record, end, many), start in zip(gaps, starts.tolist(), strict=True):
        ahead = np.flatnonzero((bends.route == route[end]) & (bends.at >= start))
        if not len(ahead) or not at_corner[ahead[np.argmin(bends.at[ahead])]]:
            found.append(_told(line, log, int(route[end]), record, end, many, start, laying))
    return found


def _told(
    line: StationedLine, log: Log, route: int, before: int, behind: int, many: int, start: float, laying: float
) -> Doubt:  # fmt: skip
    joint, off, symbol = log.text("joint"), many * laying, line.symbol
    missing = "a number is" if many == 1 else f"{many} numbers are"
    message = (
        f"{log.file[behind].as_py()} row {log.row[behind]}: joint {joint[behind].as_py()} comes behind joint "
        f"{joint[before].as_py()}, so {missing} left out, and the stations of route {line.names.names[route]} are "
        f"counted from the laid lengths: if a row was lost there, all joints from here on stand {off:g} {symbol} or "
        "so from where they lie; add the row, or name what no joint has in records.numbers_unused"
    )
    return Doubt(
        "joints-off-shots", message, -1, -1, route, start, float(line.routes.length[route]), off * line.scale, np.nan,
        units.SYMBOLS[line.routes.unit], "the joint numbers", off_shots=off * line.scale,
    )  # fmt: skip
