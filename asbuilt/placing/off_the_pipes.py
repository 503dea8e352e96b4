"""Stations that run off the pipes laid from one joint on: which joints are placed as far off, before it or ahead.

A station that was written twice, a pipe counted twice, a day begun at another hundred: each puts all that follow as far
off. The ends of the line and the bends of the log tell whether it is those ahead or those before, or whether joints are
missing from the log and all stand right; where they leave it open, no joint that may be off is sure.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from asbuilt import units
from asbuilt.inputs.log import SAME_PLACE, Log
from asbuilt.survey.bends_tried import Lines
from asbuilt.survey.doubts import Doubt

if TYPE_CHECKING:
    from asbuilt.arrays import Bools, Floats, Ints
    from asbuilt.job import Job
    from asbuilt.line.stationed import StationedLine
    from asbuilt.placing.bends_of_log import Telling

STEADY = 5
"""Joints on either side of a jump whose stations go with the pipes: else it is one odd station."""
THERE = 0.05
"""Laying lengths by which a station goes on at least from one joint to the next: no piece of pipe is shorter."""
BESIDE = 0.1
"""Laying lengths by which a step may differ from the length of the pipe it is, as stations are off."""
_MANY = 6
"""Jumps on one route from which on its order is broken, and nothing is told by them."""
END = 1.05
"""Laying lengths between the end of a line and a joint beside it, where a log has no joint at the end itself."""
AT_THE_END = 0.05
"""Laying lengths by which ends that are told by stations may be missed."""
_CLEARLY = 0.5
"""Laying lengths by which the ends must fit better for stations to hold against the pipes recorded."""
_AS_GOOD = 0.1
"""Laying lengths by which the ends must fit better to tell one thing from another."""
_FEW_PIPES, _WHOLE = 2.0, 0.1
"""A jump of so many pipes is none of whole ones, where it differs by more than such a part of one."""


class Steps(NamedTuple):
    """From each joint to the next one of a route: shapes (steps,), station units."""

    over: Floats
    """By how much the station goes on farther than the pipes."""
    measured: Bools
    """True where the pipe's length was recorded, or both its joints were surveyed."""
    surveyed: Bools
    close: Bools
    """True where the numbers leave no room for another joint."""
    plain: Floats
    """As `over`, with nothing explained by lengths that were written down wrongly, or in another row."""
    recorded: Bools
    """True where the pipe's length was."""

    def of(self, part: slice) -> Steps:
        """Give those of some steps."""
        return Steps(
            self.over[part], self.measured[part], self.surveyed[part], self.close[part], self.plain[part],
            self.recorded[part],
        )  # fmt: skip


class _Run(NamedTuple):
    """Joints of a route, in the order of their numbers, whose stations go with the pipes."""

    first: int
    end: int
    off: float
    """By how much their stations run ahead of the pipes laid since the first run, station units."""


class _Case(NamedTuple):
    """What may be: the stations of some runs are right, or of all, as joints are missing from the log."""

    off: Floats
    """By how much the stations of each run are off then: shape (runs,), station units."""
    misses: float
    """By how much the log misses the ends of the line then, laying lengths."""
    bends: int
    """Bends of the log that lie at corners of the line then."""


def off_the_pipes(
    job: Job, line: StationedLine, log: Log, bends: Telling, route: int, rows: Ints, at: Floats, steps: Steps,
    jump: Ints, way: float,
) -> list[Doubt]:  # fmt: skip
    """Doubt the joints of a route whose stations run off the pipes laid.

    Parameters
    ----------
    job : Job
    line : StationedLine
    log : Log
    bends : Telling
        Of the log.
    route : int
    rows : array of int, shape (joints,)
        Records of the log, in the order of their numbers.
    at : array, shape (joints,)
        Their places, station units from the start of the route.
    steps : Steps
    jump : array of int
        The steps at which stations run off.
    way : float
        1.0 where stations rise with the numbers, -1.0 where they fall.

    Returns
    -------
    list of Doubt
        One for each run of joints that may be off.
    """
    laying = job.records.laying_length
    runs = _runs(steps.over, jump, laying)
    if not 1 < len(runs) <= _MANY + 1:
        return []
    cases = _cases(job, line, bends.of(route), route, rows, at, steps, way, runs)
    if any(not one.off.any() for one in cases):
        # As good as anything else: joints are missing from the log, which is told at the joint before them.
        return []
    length = float(line.routes.length[route]) / line.scale
    why = _why(line, runs, cases, length - at[-1] if way > 0 else at[-1], laying)
    every = np.stack([one.off for one in cases])
    most = every[np.abs(every).argmax(axis=0), np.arange(len(runs))]
    # Pieces of no recorded length are counted as whole pipes.
    short = ~steps.measured & (steps.over < -_AS_GOOD * laying)
    short[jump] = False
    pieces = float(np.abs(steps.over[short]).sum())
    return [
        _told(line, log, route, rows[run.first : run.end], at[run.first : run.end], off, pieces, laying, why)
        for run, off in zip(runs, most.tolist(), strict=True)
        if abs(off) > SAME_PLACE * laying / 2.0
    ]


def _runs(over: Floats, jump: Ints, laying: float) -> list[_Run]:
    """Part the joints of a route where its stations run off the pipes for good, and not at one odd station.

    Examples
    --------
    Two pipes too far from the tenth joint on; and one odd station at the fifth:

    >>> over = np.zeros(19)
    >>> over[9] = 40.0
    >>> _runs(over, np.array([9]), 20.0)
    [_Run(first=0, end=10, off=0.0), _Run(first=10, end=20, off=40.0)]
    >>> over[:] = 0.0
    >>> over[9:11] = 8.0, -8.0
    >>> _runs(over, np.array([9, 10]), 20.0)
    [_Run(first=0, end=20, off=0.0)]
    """
    runs, first, off = [], 0, 0.0
    for part in np.split(jump, np.flatnonzero(np.diff(jump) > STEADY) + 1):
        by = float(over[part].sum())
        at, end = int(part[0]), int(part[-1]) + 1
        # What lies within a few joints of an end of the log is an odd station of its own.
        if abs(by) < SAME_PLACE * laying or at < STEADY or len(over) - end < STEADY:
            continue
        runs.append(_Run(first, end, off))
        first, off = end, off + by
    return [*runs, _Run(first, len(over) + 1, off)]


def _cases(
    job: Job, line: StationedLine, bends: Telling, route: int, rows: Ints, at: Floats, steps: Steps, way: float,
    runs: list[_Run],
) -> list[_Case]:  # fmt: skip
    """Give what may be, by the ends of the line and the bends of the log: more than one where these leave it open."""
    laying, total = job.records.laying_length, runs[-1].off
    length = float(line.routes.length[route]) / line.scale
    # From the ends of the line to the first and the last joint; negative where it lies beyond.
    begin, left = (at[0], length - at[-1]) if way > 0 else (length - at[0], at[-1])
    whole = job.records.covers == "whole"

    spot, telling = bends.among(rows)
    which = np.searchsorted([one.end for one in runs], spot, side="right")
    lines = Lines.of_one(line.routes, route, laying * line.scale) if len(spot) else None
    on = np.zeros(len(spot), dtype=np.int64)

    def case(off: Floats) -> _Case:
        ends = np.array([begin - off[0], left + off[-1]]) / laying
        misses = np.maximum(-ends - AT_THE_END, 0.0).sum() + whole * np.maximum(ends - END, 0.0).sum()
        fits = lines.fit(on, telling.at - way * off[which] * line.scale, telling.angle)[0].sum() if lines else 0
        return _Case(off, float(misses), int(fits))

    every = np.array([one.off for one in runs])
    cases = [case(every)]
    if abs(total) >= SAME_PLACE * laying:
        cases.append(case(every - total))
    if _may_be_missing(runs, steps, laying, left):
        cases.append(case(np.zeros(len(runs))))
    else:
        # Where both ends of the line bear the stations out, and nothing else, a pipe beside a jump is odd.
        within = np.where(np.abs(every - total) > np.abs(every), every - total, every)
        within[[0, -1]] = 0.0
        ends = case(within)
        if ends.misses + _CLEARLY < min(one.misses for one in cases):
            cases.append(ends)
    most = max(one.bends for one in cases)
    cases = [one for one in cases if one.bends == most]
    least = min(one.misses for one in cases)
    return [one for one in cases if one.misses <= least + _AS_GOOD]


def _may_be_missing(runs: list[_Run], steps: Steps, laying: float, left: float) -> bool:
    """Say whether all may stand right: the log lacks joints where its stations run ahead, and a cut where behind."""
    if len(runs) > 2 and abs(runs[-1].off) < SAME_PLACE * laying:
        return False
    for run, ahead in pairwise(runs):
        pipes, surveyed = (ahead.off - run.off) / laying, bool(steps.surveyed[run.end - 1])
        # Pipes that are missing from the log are whole ones, but for a cut one among them.
        whole = pipes < _FEW_PIPES or abs(pipes - round(pipes)) < _WHOLE
        # Numbers that go on leave no room for many.
        many = pipes >= _FEW_PIPES - _WHOLE and abs(left) > END * laying
        if pipes < THERE - 1.0 or surveyed or (pipes > 0 and steps.close[run.end - 1] and (many or not whole)):
            return False
    return True


def _told(
    line: StationedLine, log: Log, route: int, rows: Ints, at: Floats, off: float, pieces: float, laying: float,
    why: str,
) -> Doubt:  # fmt: skip
    ends = [f"{log.file[one].as_py()} row {log.row[one]}, {joint_named(log, one)}" for one in (rows[0], rows[-1])]
    other_end = (
        ": as if these were the stations of the other end of each pipe, or one was counted twice or left out"
        if abs(abs(off) - laying) <= AT_THE_END * laying
        else ""
    )
    message = (
        f"the stations of route {line.names.names[route]} run {abs(off):.2f} {line.symbol} "
        f"{'ahead of' if off > 0 else 'behind'} the pipes laid at {len(rows)} joints, from {ends[0]}, to {ends[1]}, "
        f"{why}{other_end}; have the stations of these rows confirmed or corrected: their joints may be placed as far "
        "off"
    )
    return stations_shifted(line, route, at, abs(off) + pieces, message)


def _why(line: StationedLine, runs: list[_Run], cases: list[_Case], left: float, laying: float) -> str:
    """Say by what it is told that the stations of a run are off, and not those of the others."""
    if len(cases) > 1:
        return "or those of the other joints do"
    if len(runs) > 2 and abs(runs[-1].off) < SAME_PLACE * laying:
        return "and go with them before and behind"
    return f"and they end {abs(left):.2f} {line.symbol} {'past' if left < 0 else 'before'} the end of the line"


def joint_named(log: Log, record: int) -> str:
    """Name the joint of a record by its number and station, as messages do."""
    name, station = log.text("joint")[record].as_py(), log.fields["station"][record].as_py()
    return f"joint {name} ({station})" if name else str(station)


def stations_shifted(line: StationedLine, route: int, at: Floats, off: float, message: str) -> Doubt:
    """Doubt the joints of some stations of a route, which lie off the pipes laid by so much at most: station units."""
    start, end = line.distance(np.array([route, route]), np.array([at.min(), at.max()])).tolist()
    off *= line.scale
    return Doubt(
        "stations-shifted", message, -1, -1, route, start, end, off, np.nan, units.SYMBOLS[line.routes.unit],
        "the pipes laid", off_shots=off,
    )  # fmt: skip
