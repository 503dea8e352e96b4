"""Stations of some rows by a tape that was off, or by none: off the pipes bit by bit, or until true ones go on.

A day measured by a tape of which a piece is missing counts a little too much at every pipe, and no step of it is odd. A
clerk who fills stations in by one length each passes a cut pipe by, and the next station that was measured stands as
much too near. Both put the joints between off, and the sum of the steps against the pipes shows by how much.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from asbuilt.arrays import scatter
from asbuilt.placing.off_the_pipes import AT_THE_END, END, THERE, joint_named, stations_shifted

if TYPE_CHECKING:
    from asbuilt.arrays import Bools, Floats, Ints
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.line.stationed import StationedLine
    from asbuilt.survey.doubts import Doubt

ODD = 0.1
"""Laying lengths from which a step that differs from its pipe is odd by itself; below, it may be one of many."""
_FARTHEST_BACK = 60
"""Joints that may lie between where stations run off the pipes and where they are back on them."""
_AGREE = 4.0
"""Standard errors of a step within which stations are back on the pipes."""
_COUNTS = 0.005
"""Part of a length by which steps differ that is counted up; steps of sound stations lose more than they gain by it."""
_RATE = 0.008
"""Part by which a tape is off that is told: above what wheels and tapes of a crew differ by. Common practice, no
source."""
_SURE, _STRAIGHT = 5.0, 7.0
"""How many times larger than chance makes it a sum of small misfits must be, and than its misfits leave the straight
that an even tape makes of them; by simulation."""
_BLOCK, _FEWEST_BLOCKS = 6, 4
"""Steps of which the usual misfit and its scatter are taken together, and how many such a route must have."""
_LEAST_DRIFT = 0.001
"""Part of a length by which each pipe may differ from what was written, standard error; common practice, no source."""
_FEWEST, _BESIDE = 5, 3
"""Steps of a run, and to either side of it among which one may be odd by which the stations come to it, or leave it."""
_MOST_RUNS = 4
"""Runs of a route, of stations that count too much or too little, up to which each is told."""
_EXACT = 0.0051
"""Station units: a step of just one laying length, to the hundredth."""
_BY_CHANCE, _BACK = 1e-4, 0.02
"""Chance at which measured stations stand just one laying length apart so often in a row; and where the station behind
them is no farther than that of the joint before it, which is wrong by itself."""
_FITS_BETTER = 0.1
"""Laying lengths by which the end of the line must fit better for pipes to be off, and not stations."""


class OfRoute(NamedTuple):
    """The stations of a route against its pipes, in the order of the joints: station units, shapes (steps,)."""

    route: int
    rows: Ints
    """Records of the log, shape (joints,)."""
    at: Floats
    """Their places from the start of the route, shape (joints,)."""
    way: float
    """1.0 where stations rise with the numbers, -1.0 where they fall."""
    step: Floats
    over: Floats
    """By how much each step is longer than its pipe."""
    recorded: Bools
    """True where the length of that pipe is."""
    cut: Bools
    """True where the log says that it was cut."""
    level: bool
    """True where no elevation of the line was measured, so that its slope is not known."""


class _Off(NamedTuple):
    """Joints whose stations may be off: from `first` up to, and without, `end`."""

    first: int
    end: int
    off: float
    """By how much the last of them runs ahead of the pipes laid, station units."""
    most: float
    """The most that any of them may be off."""
    how: str


def off_for_a_while(job: Job, line: StationedLine, log: Log, one: OfRoute) -> list[Doubt]:
    """Doubt the joints of a route whose stations run off the pipes bit by bit, or until they are back on them.

    Parameters
    ----------
    job : Job
    line : StationedLine
    log : Log
    one : OfRoute
        Its stations against its pipes.

    Returns
    -------
    list of Doubt
        One for each run of joints that may be off.
    """
    laying = job.records.laying_length
    runs = [*_back_again(one, laying), *_filled_in(one, laying)]
    for run in _by_a_tape(job, line, one, laying):
        runs = _joined(runs, run)
    return [_told(line, log, one, run) for run in runs]


def _joined(runs: list[_Off], new: _Off) -> list[_Off]:
    """Add a run of joints to others; to one with joints of it, which ends where the stations are back on the pipes."""
    for at, one in enumerate(runs):
        if min(one.end, new.end) > max(one.first, new.first):
            joined = one._replace(first=min(one.first, new.first), most=max(one.most, new.most))
            return [*runs[:at], joined, *runs[at + 1 :]]
    return [*runs, new]


class _Usual(NamedTuple):
    """What steps usually differ from their pipes by, where none is odd: station units."""

    misfit: float
    apart: float
    """Standard error of how far two stations lie apart, by what each is off by itself."""
    drift: float
    """Standard error of what adds up with each step."""

    def of_sum(self, steps: float) -> float:
        """Give the standard error of the sum of misfits of so many steps."""
        return float(np.hypot(self.apart, self.drift * np.sqrt(steps)))


def _usual(small: Floats, laying: float) -> _Usual | None:
    """Tell it by small misfits in the order of the joints; None where these are too few.

    What stations are off by themselves is gone from a sum but at its ends; what a tape adds up at each step is not.

    Examples
    --------
    >>> own = np.random.default_rng(1).normal(0.0, 0.1, 201)
    >>> [round(one, 2) for one in _usual(np.diff(own), 20.0)]
    [0.0, 0.14, 0.02]
    """
    many = len(small) // _BLOCK
    if many < _FEWEST_BLOCKS:
        return None
    sums = small[: many * _BLOCK].reshape(-1, _BLOCK).sum(axis=1)
    usual = float(np.median(sums))
    steps = float(np.var(small))
    # Blocks of a day by another tape are few; what is alike to the hundredth is so by rounding.
    blocks = scatter(sums - usual) ** 2
    drift = max((blocks - steps) / (_BLOCK - 1.0), (_LEAST_DRIFT * laying) ** 2)
    return _Usual(usual / _BLOCK, float(np.sqrt(max(steps - drift, 0.0))), float(np.sqrt(drift)))


def _back_again(one: OfRoute, laying: float) -> list[_Off]:
    """Find runs of joints off the pipes that end with a step by which stations are back on them.

    Examples
    --------
    Whole lengths counted where a pipe of 12 was laid, until the sixth joint was measured again:

    >>> steps, laid = np.full(30, 20.0), np.full(30, 20.0)
    >>> laid[2], steps[5] = 12.0, 12.0
    >>> yes, no = np.ones(30, dtype=bool), np.zeros(30, dtype=bool)
    >>> rows, at = np.arange(31), np.concatenate([[0.0], np.cumsum(steps)])
    >>> _back_again(OfRoute(0, rows, at, 1.0, steps, steps - laid, yes, no, False), 20.0)[0][:4]
    (3, 6, 8.0, 8.0)
    """
    usual = _usual(one.over[(np.abs(one.over) <= ODD * laying) & one.recorded], laying)
    if usual is None:
        return []
    least = max(ODD * laying, _AGREE * usual.apart)
    over = np.where(one.recorded, one.over - usual.misfit, 0.0)
    since = np.concatenate([[0.0], np.cumsum(over)])
    found: list[_Off] = []
    for jump in np.flatnonzero(np.abs(over) > least).tolist():
        first = max(jump - _FARTHEST_BACK, found[-1].end if found else 0)
        off = since[first : jump + 1] - since[jump + 1]
        agree = max(_AGREE * usual.apart, ODD / 4.0 * laying)
        on = np.flatnonzero(np.abs(off) <= agree + usual.drift * np.sqrt(np.arange(len(off), 0, -1)))
        if not len(on):
            continue
        begin = first + int(on[-1]) + 1
        most = float(np.abs(since[begin : jump + 1] - since[jump + 1]).max(initial=0.0))
        # One joint alone is told by the two steps beside it.
        if jump + 1 - begin < 2 or most <= least:
            continue
        if np.abs(over[begin - 1]) <= least:
            # They run off bit by bit, and are a little off before that shows.
            begin = max(begin - int(np.ceil(agree / most * (jump + 1 - begin))), first + 1)
        last = float(since[jump] - since[jump + 1])
        found.append(_Off(begin, jump + 1, last, most, "and are back on them behind"))
    return found


def _filled_in(one: OfRoute, laying: float) -> list[_Off]:
    """Find stations that count up by just one length, where measured ones do not, up to one that stands too near.

    Nothing but that tells a cut pipe that they pass by, where the log has no lengths.
    """
    exact = np.abs(one.step - laying) <= _EXACT
    ends = np.flatnonzero((one.step < (1.0 - ODD) * laying) & ~one.recorded & ~one.cut)
    found: list[_Off] = []
    plain = np.flatnonzero(~exact & (np.abs(one.over) <= ODD * laying))
    odd = np.flatnonzero(~exact)
    for end in ends.tolist():
        before = int(np.searchsorted(odd, end))
        first = int(odd[before - 1]) + 1 if before else 0
        many = end - first
        others = int(np.count_nonzero(exact)) - many
        part = (others + 1.0) / (others + len(plain) + 2.0)
        if many < _FEWEST or part**many * len(ends) > (_BY_CHANCE if one.step[end] > THERE * laying else _BACK):
            continue
        off = float(laying - one.step[end])
        found.append(_Off(first + 1, end + 1, off, abs(off), "counted up by one laying length each"))
    return found


def _by_a_tape(job: Job, line: StationedLine, one: OfRoute, laying: float) -> list[_Off]:
    """Find runs of joints whose stations count too much, or too little, at every pipe alike."""
    odd = np.abs(one.over) > ODD * laying
    usual = _usual(one.over[~odd], laying)
    if usual is None:
        return []
    over = np.where(odd, 0.0, one.over - usual.misfit)
    found: list[_Off] = []
    for sign in (1.0, -1.0):
        # Pipes on a slope that nobody measured look like stations that count too little.
        if sign < 0.0 and one.level:
            continue
        gain = np.where(odd, 0.0, sign * over - _COUNTS * laying)
        # Over a run that was looked at no other leads.
        barred = -np.abs(gain).sum() - laying
        for _ in range(_MOST_RUNS):
            first, end = _largest(gain)
            if end <= first:
                break
            gain[first:end] = barred
            found += _tape(job, line, one, (first, end), sign, odd, laying)
    return found if len(found) <= _MOST_RUNS else []


def _largest(gain: Floats) -> tuple[int, int]:
    """Give the run of values with the largest sum, none where no sum is positive.

    Examples
    --------
    >>> _largest(np.array([-1.0, 2.0, -1.0, 3.0, -9.0, 1.0]))
    (1, 4)
    """
    sums = np.concatenate([[0.0], np.cumsum(gain)])
    best = sums - np.minimum.accumulate(sums)
    end = int(np.argmax(best))
    first = end - int(np.argmin(sums[: end + 1][::-1]))
    return first, end


def _tape(
    job: Job, line: StationedLine, one: OfRoute, run: tuple[int, int], sign: float, odd: Bools, laying: float
) -> list[_Off]:  # fmt: skip
    """Say which joints a run of steps puts off that are too long, or too short, one and all."""
    # By a step the other way stations are back; one the same way may lead to where the run begins.
    away, home = odd & (sign * one.over > 0), odd & (sign * one.over < 0)
    first, end = run[0], _back_before(run, home)
    small, others = ~odd, ~odd
    small[:first] = small[end:] = False
    others = others & ~small
    count = int(np.count_nonzero(small))
    usual = _usual(one.over[others], laying)
    if usual is None or count < _FEWEST or count > np.count_nonzero(others):
        return []
    each = one.over[small] - usual.misfit
    sums = np.cumsum(each)
    total = float(sums[-1])
    left = sums - np.polyval(np.polyfit(np.arange(count), sums, 1), np.arange(count))
    # One cut pipe that is nearly a whole one makes no run.
    most = abs(total) - float(np.abs(each).max())
    if most < max(ODD * laying / 2.0, _SURE * usual.of_sum(count), _STRAIGHT * float(np.sqrt(np.mean(left**2)))):
        return []
    if abs(total) < max(ODD * laying, _RATE * laying * count):
        return []
    words = f"{'more' if total > 0 else 'less'} than them by {100.0 * abs(total) / count / laying:.1f} percent"
    before, behind = np.flatnonzero(away[max(first - _BESIDE, 0) : first]), np.flatnonzero(home[end : end + _BESIDE])
    begin = max(first - _BESIDE, 0) + int(before[-1]) if len(before) else first
    stop = end + int(behind[0]) if len(behind) else end
    # So do the steps among them that are odd besides.
    total *= (stop - begin) / count
    into, out = (float(one.over[at]) if known else 0.0 for at, known in ((begin, len(before)), (stop, len(behind))))
    most, again = max(abs(total), abs(into), abs(into + total)), ODD * laying
    back = abs(into + total + out) <= again or abs(total + out) <= again
    as_written, moved = (_misses(job, line, one, by, laying) for by in (0.0, total))
    if as_written > moved + _FITS_BETTER or (not back and as_written + _FITS_BETTER >= moved):
        return [_Off(begin + 1, len(one.rows), total, most, words)]
    return [_Off(begin + 1, stop + 1, total, most, words)] if back or into or out else []


def _back_before(run: tuple[int, int], home: Bools) -> int:
    """Give the end of a run of steps, which is at the one near it by which stations are back on the pipes.

    Examples
    --------
    >>> home = np.zeros(20, dtype=bool)
    >>> home[[4, 17]] = True
    >>> _back_before((2, 19), home)
    17
    """
    near = max(run[1] - _BESIDE, run[0])
    late = np.flatnonzero(home[near : run[1]])
    return near + int(late[0]) if len(late) else run[1]


def _misses(job: Job, line: StationedLine, one: OfRoute, by: float, laying: float) -> float:
    """Give by how much the log misses the end of the line with its last joints so much farther ahead: laying lengths.

    Where it fits better with the stations as written, pipes were shorter or longer, and no joint behind them is off.
    """
    length = float(line.routes.length[one.route]) / line.scale
    left = (length - float(one.at[-1]) if one.way > 0 else float(one.at[-1])) + by
    beyond = max(-left / laying - AT_THE_END, 0.0)
    return beyond + (max(left / laying - END, 0.0) if job.records.covers == "whole" else 0.0)


def _told(line: StationedLine, log: Log, one: OfRoute, run: _Off) -> Doubt:
    rows, at = one.rows[run.first : run.end], one.at[run.first : run.end]
    ends = [f"{log.file[row].as_py()} row {log.row[row]}, {joint_named(log, row)}" for row in (rows[0], rows[-1])]
    message = (
        f"the stations of route {line.names.names[one.route]} run up to {run.most:.2f} {line.symbol} "
        f"{'ahead of' if run.off > 0 else 'behind'} the pipes laid at {len(rows)} joints, from {ends[0]}, to "
        f"{ends[1]}: {run.how}; have the stations of these rows, and the lengths laid there, confirmed or corrected: "
        "their joints may be placed as far off"
    )
    return stations_shifted(line, one.route, at, run.most, message)
