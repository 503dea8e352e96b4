"""Rows whose stations stand in reverse: those of a sheet filled in backward, or of a crew that came from the other end.

Where numbers rise and stations fall, either the numbers run backward, and each row stands right, or the stations do,
and each row stands where its mirror image in the run belongs. The uneven lengths and the bends of the rows tell which;
where they do not, nobody knows where these joints lie.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from asbuilt.arrays import codes
from asbuilt.placing.off_the_pipes import BESIDE, joint_named, stations_shifted
from asbuilt.survey.bends_tried import Lines

if TYPE_CHECKING:
    from collections.abc import Iterator

    from asbuilt.arrays import Bools, Floats, Ints
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.line.stationed import StationedLine
    from asbuilt.placing.bends_of_log import Telling
    from asbuilt.survey.doubts import Doubt

_LEAST = 4
"""Rows that stand in reverse; fewer may be odd stations, or numbers, of their own."""
_MISFITS, _FIT = 2, 0.25
"""Uneven pipes of a sheet that lie elsewhere, at least, and the part of them that may do so in reverse, too, where no
number says that it stands in reverse. Judgement."""


def reversed_rows(
    job: Job, line: StationedLine, log: Log, bends: Telling, route: int, rows: Ints, at: Floats, falling: Bools,
    odd: Bools,
) -> list[Doubt]:  # fmt: skip
    """Doubt the joints of rows whose stations stand in reverse, or may.

    Parameters
    ----------
    job : Job
    line : StationedLine
    log : Log
    bends : Telling
        Of the log.
    route : int
    rows : array of int, shape (joints,)
        Records of the log on the route, in the order of their numbers, or as they stand where they have none.
    at : array, shape (joints,)
        Their places, station units from the start of the route.
    falling : array of bool, shape (joints - 1,)
        Steps to the next number that go against those of the route.
    odd : array of bool, shape (joints - 1,)
        Steps that are not as long as the pipe there.

    Returns
    -------
    list of Doubt
    """
    of_route = bends.of(route)
    found, taken = [], np.zeros(len(rows), dtype=np.bool_)
    for part in _runs(falling):
        if part.stop - part.start < _LEAST:
            continue
        taken[part] = True
        here, mirrored = _misfits(job, log, rows[part], at[part])
        if here == mirrored:
            here, mirrored = _off_corners(job, line, of_route, rows[part], at[part])
        if here < mirrored:
            continue
        found.append(_told(line, log, route, rows[part], at[part], told=here > mirrored, by_numbers=True))
    if "laid_length" not in log.fields or np.count_nonzero(odd) < _MISFITS:
        return found
    for part in _together(sheets(log, rows)):
        if part.stop - part.start < _LEAST or taken[part].any() or np.count_nonzero(odd[part]) < _MISFITS:
            continue
        here, mirrored = _misfits(job, log, rows[part], at[part])
        if here >= _MISFITS and mirrored <= _FIT * here:
            found.append(_told(line, log, route, rows[part], at[part], told=True, by_numbers=False))
    return found


def _runs(falling: Bools) -> Iterator[slice]:
    """Give the joints between which all steps fall.

    Examples
    --------
    >>> list(_runs(np.array([False, True, True, False])))
    [slice(1, 4, None)]
    """
    edges = np.flatnonzero(np.diff(falling.astype(np.int8), prepend=0, append=0))
    for first, end in edges.reshape(-1, 2).tolist():
        yield slice(first, end + 1)


def sheets(log: Log, rows: Ints) -> Ints:
    """Number the sheets of rows: their files, or their days in a log of one file."""
    of = codes(log.file)[rows]
    return codes(log.fields["inspected_on"])[rows] if (of == of[0]).all() and "inspected_on" in log.fields else of


def _together(sheet: Ints) -> Iterator[slice]:
    """Give the rows of each sheet that stand together."""
    ends = np.flatnonzero(np.diff(sheet)) + 1
    for first, end in zip([0, *ends.tolist()], [*ends.tolist(), len(sheet)], strict=True):
        yield slice(first, end)


def _misfits(job: Job, log: Log, rows: Ints, at: Floats) -> tuple[int, int]:
    """Count the recorded lengths that are not those of the steps beside their rows: as these stand, and in reverse.

    A crew from the other end may write a length at either joint of its pipe.
    """
    laid, step = log.number("laid_length")[rows], np.abs(np.diff(at))
    near = BESIDE * job.records.laying_length

    def many(steps: Floats, lengths: Floats) -> int:
        return int(np.count_nonzero(np.abs(steps - lengths) > near))

    own = laid[1:] if job.records.pipe == "back" else laid[:-1]
    other = laid[:-1] if job.records.pipe == "back" else laid[1:]
    return min(many(step, own), many(step, other)), many(step[::-1], own)


def _off_corners(job: Job, line: StationedLine, bends: Telling, rows: Ints, at: Floats) -> tuple[int, int]:
    """Count the bends of rows that lie at no corner of the line: as the rows stand, and in reverse."""
    spot, known = bends.among(rows)
    if not len(spot):
        return 0, 0
    lines = Lines.of_one(line.routes, int(known.route[0]), job.records.laying_length * line.scale)
    on = np.zeros(len(spot), dtype=np.int64)
    here, mirrored = (
        int(np.count_nonzero(~lines.fit(on, line.distance(known.route, places[spot]), known.angle)[0]))
        for places in (at, at[::-1])
    )
    return here, mirrored


def _told(
    line: StationedLine, log: Log, route: int, rows: Ints, at: Floats, *, told: bool, by_numbers: bool
) -> Doubt:  # fmt: skip
    ends = [f"{log.file[one].as_py()} row {log.row[one]}, {joint_named(log, one)}" for one in (rows[0], rows[-1])]
    off = float(np.abs(at - at[::-1]).max())
    head = f"of the {len(rows)} rows from {ends[0]}, to {ends[1]}, "
    if told and by_numbers:
        why = (
            "numbers rise and stations fall, and their lengths and bends fit the line only if the stations are reversed"
        )
    elif told:
        why = "the lengths of pipes fit the steps between their stations only if the stations are taken in reverse"
    else:
        why = (
            "numbers and stations run against one another, and no length or bend tells whether numbers or stations are "
            "in reverse"
        )
    message = (
        f"{head}{why}: as of a sheet that was filled in backward; have the crew say from which end it went, and have "
        "the stations, or the numbers, of these rows corrected: their joints may be placed up to "
        f"{off:.2f} {line.symbol} off"
    )
    return stations_shifted(line, route, at, off, message)
