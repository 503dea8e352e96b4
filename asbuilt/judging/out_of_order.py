"""Joints whose numbers do not run with their stations: where they would stand by their numbers, and what rests on it.

Number and station of such a joint contradict one another, so one of the two is wrong. Where the pipes on both sides fit
the joint and there is no room for it elsewhere, that is the number; else nobody knows where the joint lies. On a route
without numbers the rows of the log stand for them, where room is left between the rows beside one that fits nowhere.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints, codes, empty_ints, together
from asbuilt.inputs.log import station_form
from asbuilt.judging.pipes import pipe_back, spacings
from asbuilt.line import stationing
from asbuilt.placing.begun_anew import FEW_RECORDS
from asbuilt.placing.jumps import AGREES_M
from asbuilt.placing.naming import route_and_name
from asbuilt.placing.sequence import JointNumbers, out_of_order

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.judging.deflection import Segments
    from asbuilt.line.stationed import StationedLine
    from asbuilt.placing.joints import Joints

_PLACES = np.arange(-2, 6)
"""Powers of ten of the digits of a station that are tried, one by one."""

_FEWEST_NUMBERED = 5
"""Joints of which two may be told to be exchanged across the one between."""
_FEW_ROWS = 0.1
"""Part of the rows of a route that may be out of order, for rows to tell an order at all; judgement."""


class OutOfOrder(NamedTuple):
    """Joints whose numbers stand out of order, shapes (found,), and what rests on them, shapes (joints,)."""

    joint: Ints
    exchanged: Ints
    """The joint beside it, or two apart, with which it is in order once numbers or stations of the two are exchanged;
    else -1."""
    by_row: Bools
    """True where the route has no numbers, and the order is that of the rows."""
    number_wrong: Bools
    """True where the joint stands right by the pipes on both sides, and there is no room for it by its number."""
    counted_back: Bools
    """True where that is so of a row of joints whose numbers fall, as those of a crew that came from the other end."""
    station: pa.Array
    """Where it would stand by its number, as the log writes stations; null where that is not known."""
    slip: pa.Array
    """Its own station with one digit other, or two exchanged, where that puts it there; else null."""
    behind: Ints
    """The joint behind the straight in which it would stand by its number; -1 where that is not known."""
    off: Floats
    """By how much each joint may stand off along its line, coordinate units; NaN where nothing says how much."""
    turning: Bools
    """Joints of whose turns the survey tells nothing, as they, or one beside them, may stand elsewhere."""


def find_out_of_order(
    job: Job, line: StationedLine, log: Log, joints: Joints, straights: Segments, numbers: JointNumbers
) -> OutOfOrder:  # fmt: skip
    """Find the joints whose numbers do not run with their stations, and where they would stand by their numbers.

    Parameters
    ----------
    job : Job
    line : StationedLine
    log : Log
    joints : Joints
    straights : Segments
        From each joint to the next one of its route.
    numbers : JointNumbers
        Of the joints.

    Returns
    -------
    OutOfOrder
    """
    off, turning = np.zeros(len(joints)), np.zeros(len(joints), dtype=np.bool_)
    group, order = _in_groups(joints, joints.of_log(log.text("joint")), numbers)
    number, group, order, by_row = _or_by_rows(log, joints, numbers.number, group, order)
    wrong = np.zeros(len(joints), dtype=np.bool_)
    wrong[order] = out_of_order(group[order], number[order])
    back, ahead = _two_apart(group[order], number[order])
    wrong[order[back]] = wrong[order[ahead]] = True
    wrong[order[back + 1]] = False
    rows = np.flatnonzero(wrong)
    if not len(rows):
        none, no = pa.nulls(0, pa.string()), np.zeros(0, dtype=np.bool_)
        return OutOfOrder(rows, empty_ints(), no, no, no, none, none, empty_ints(), off, turning)
    found = _by_group(group, order, number, wrong, rows)
    fits = _fits(job, log, joints, straights, line.scale, wrong)[rows]
    expected, room = _by_number(job, line, log, joints, number, rows, found.back, found.ahead)
    # Rows may be in any order, as where crews work from both ends: only one that fits nowhere else tells.
    told = ~by_row[rows] | (~fits & room & (found.back >= 0) & (found.ahead >= 0) & _few(group, wrong)[rows])
    rows, fits, room, expected = rows[told], fits[told], room[told], expected[told]
    found = found.of(told)
    exchanged = np.where(fits, found.beside, -1)
    number_wrong = (found.falling | (fits & (~room | found.taken))) & (exchanged < 0)
    away = np.where(exchanged >= 0, joints.distance[exchanged], expected) - joints.distance[rows]
    # A joint that was surveyed itself lies where it was surveyed.
    doubted = ~number_wrong & ~joints.surveyed[rows]
    off[rows[doubted]] = np.abs(away[doubted])
    both = doubted & (exchanged >= 0)
    off[exchanged[both]] = np.abs(away[both])
    turning[rows[doubted]] = turning[exchanged[both]] = True
    # A joint that stands elsewhere parts pipes there that lie beside one another.
    alone = rows[doubted & (exchanged < 0)]
    for way in (-1, 1):
        near = np.clip(alone + way, 0, len(joints) - 1)
        turning[near[joints.route[near] == joints.route[alone]]] = True
    off[joints.surveyed] = 0.0
    told = ~number_wrong & room
    station, slip = _stations(line, log, joints, rows, np.where(told, expected, np.nan), station_form(job, log))
    inside = told & doubted & (exchanged < 0) & (found.back >= 0) & (found.ahead >= 0)
    behind = np.where(inside, _behind(joints, joints.route[rows], expected), -1)
    return OutOfOrder(
        rows, exchanged, by_row[rows], number_wrong, number_wrong & found.falling, station, slip, behind, off, turning
    )


def _behind(joints: Joints, route: Ints, distance: Floats) -> Ints:
    """Give the last joint of a route that lies at or before a distance along it."""
    whole = float(joints.distance.max()) + 1.0
    found: Ints = np.searchsorted(joints.route * whole + joints.distance, route * whole + distance, side="right") - 1
    return found


def _in_groups(joints: Joints, names: pa.Array, numbers: JointNumbers) -> tuple[Ints, Ints]:
    """Give the group of numbers of each joint, -1 for none, and the joints in order of groups and places."""
    group = joints.route * (int(numbers.series.max(initial=0)) + 1) + numbers.series
    group = np.where(numbers.series < 0, -1, group)
    # Where a crew begins anew at 1, each count is in an order of its own.
    again = _count_of_number(joints, names)
    group = np.where(group < 0, -1, group * (int(again.max(initial=0)) + 1) + again)
    return group, np.lexsort((joints.distance, group))


def _or_by_rows(
    log: Log, joints: Joints, number: Floats, group: Ints, order: Ints
) -> tuple[Floats, Ints, Ints, Bools]:  # fmt: skip
    """Let rows stand for numbers on routes that have none, each file by itself; and say of which joints they do."""
    routes = int(joints.route.max(initial=0)) + 1
    by_row = (np.bincount(joints.route, group >= 0, routes) == 0)[joints.route]
    if not by_row.any():
        return number, group, order, by_row
    file = codes(log.file)[joints.position]
    of_rows = int(group.max(initial=0)) + 1 + joints.route * (int(file.max(initial=0)) + 1) + file
    group = np.where(by_row, of_rows, group)
    return np.where(by_row, joints.position, number), group, np.lexsort((joints.distance, group)), by_row


def _count_of_number(joints: Joints, names: pa.Array) -> Ints:
    """Give which count of its route each joint belongs to: how often its number stands before it, shape (joints,).

    0 for all where a route repeats a few numbers only: those are slips, and no crew that begins anew.
    """
    key = route_and_name(joints.route, names)
    order = np.lexsort((joints.distance, key))
    new = np.append(True, np.diff(key[order]) != 0) if len(key) else np.zeros(0, dtype=np.bool_)
    count = np.empty(len(key), dtype=np.int64)
    count[order] = np.arange(len(key)) - np.flatnonzero(new)[np.cumsum(new) - 1]
    often = np.bincount(joints.route, count > 0) >= FEW_RECORDS
    return np.where(often[joints.route], count, 0)


def _two_apart(group: Ints, number: Floats) -> tuple[Ints, Ints]:
    """Find joints two apart that would be in order with the one between, if the two changed their numbers.

    Three joints whose numbers fall may be those of a crew that came from the other end; two stations written in one
    another's row look the same, and happen more often. Common practice, no source.

    Parameters
    ----------
    group : array of int, shape (n,)
        Each contiguous; -1 for none.
    number : array, shape (n,)
        In the order of their stations.

    Examples
    --------
    >>> _two_apart(np.zeros(7, dtype=np.int64), np.array([1.0, 2.0, 5.0, 4.0, 3.0, 6.0, 7.0]))
    (array([2]), array([4]))
    """
    if len(group) < _FEWEST_NUMBERED:
        return empty_ints(), empty_ints()
    same = (np.diff(group) == 0) & (group[1:] >= 0)
    step, at = np.where(same, np.diff(number), 0.0), np.cumsum(np.append(True, np.diff(group) != 0))
    rising, falling = (np.bincount(at[1:], one, int(at[-1]) + 1) for one in (step > 0, step < 0))
    way = np.where(rising >= falling, 1.0, -1.0)[at]
    # Beyond the ends of a group nothing is against it.
    around = np.concatenate([[-np.inf], number, [np.inf]])
    inside = np.concatenate([[False], same, [False]])
    falls = same & (way[1:] * step < 0)
    back = np.flatnonzero(falls[:-1] & falls[1:])
    before = ~inside[back] | (way[back] * around[back] < way[back] * number[back + 2])
    behind = ~inside[back + 3] | (way[back] * around[back + 4] > way[back] * number[back])
    back = back[before & behind]
    return back, back + 2


class _Numbered(NamedTuple):
    """What the numbers of a group say of the joints out of order in it; -1 for no joint."""

    back: Ints
    """The joint before it by number, nearer to the start of the line than the one behind it by number."""
    ahead: Ints
    beside: Ints
    """The joint with which it may be exchanged."""
    taken: Bools
    """True where another joint in order has its number."""
    falling: Bools
    """True where numbers fall along the line there, as those of a crew that came from the other end."""

    def of(self, where: Bools) -> _Numbered:
        back, ahead, beside = (one[where] for one in (self.back, self.ahead, self.beside))
        return _Numbered(back, ahead, beside, self.taken[where], self.falling[where])


def _by_group(group: Ints, order: Ints, number: Floats, wrong: Bools, rows: Ints) -> _Numbered:
    """Look at the numbers of each group in which joints stand out of order."""
    back, ahead, beside = (np.full(len(rows), -1, dtype=np.int64) for _ in range(3))
    taken, falling = (np.zeros(len(rows), dtype=np.bool_) for _ in range(2))
    in_order = group[order]
    for at in together(np.argsort(group[rows], kind="stable"), group[rows]):
        first, last = np.searchsorted(in_order, group[rows[at[0]]] + np.arange(2)).tolist()
        mine = order[first:last]
        kept = mine[~wrong[mine]]
        way = 1.0 if number[kept[-1]] >= number[kept[0]] else -1.0
        own, count = way * number[rows[at]], way * number[kept]
        low, high = np.searchsorted(count, own, side="left") - 1, np.searchsorted(count, own, side="right")
        back[at] = np.where(low >= 0, kept[np.maximum(low, 0)], -1)
        ahead[at] = np.where(high < len(kept), kept[np.minimum(high, len(kept) - 1)], -1)
        taken[at] = high - low > 1
        place = np.argsort(mine)
        spot = place[np.searchsorted(mine, rows[at], sorter=place)]
        step = np.diff(way * number[mine])
        beside[at] = _exchangeable(mine, way * number[mine])[spot]
        # Before and behind a joint alone that stands elsewhere the numbers fall once.
        falls = np.concatenate([[False] * 2, step < 0, [False] * 2])
        falling[at] = falls[spot + 1] & falls[spot + 2]
        falling[at] |= (falls[spot] & falls[spot + 1]) | (falls[spot + 2] & falls[np.minimum(spot + 3, len(falls) - 1)])
        falling[at] &= beside[at] < 0
    return _Numbered(back, ahead, beside, taken, falling)


def _exchangeable(mine: Ints, count: Floats) -> Ints:
    """Give the joint beside each that would be in order, as it would itself, if the two changed their numbers."""
    inverted = np.flatnonzero(np.diff(count) < 0)
    around = np.concatenate([[-np.inf], count, [np.inf]])
    settled = (around[inverted] < count[inverted + 1]) & (around[inverted + 3] > count[inverted])
    inverted = inverted[settled]
    partner = np.full(len(mine), -1, dtype=np.int64)
    partner[inverted], partner[inverted + 1] = mine[inverted + 1], mine[inverted]
    back, ahead = _two_apart(np.zeros(len(count), dtype=np.int64), count)
    partner[back], partner[ahead] = mine[ahead], mine[back]
    return partner


def _fits(
    job: Job, log: Log, joints: Joints, straights: Segments, scale: float, wrong: Bools
) -> Bools:  # fmt: skip
    """Say of joints out of order whether the pipes fit on both sides of them and of those beside them that are, too."""
    laid = log.number("laid_length")[joints.record[pipe_back(job, straights)]]
    spacing, expected, _, tolerance = spacings(job, joints, straights, laid, scale)
    bad = np.abs(spacing - expected) > tolerance
    misfit = np.zeros(len(joints), dtype=np.bool_)
    misfit[straights.back[bad]] = misfit[straights.back[bad] + 1] = True
    # Joints that stand elsewhere together fit one another.
    run = np.cumsum(np.diff(wrong, prepend=False) | np.append(True, np.diff(joints.route) != 0))
    fits: Bools = ~(np.bincount(run, misfit & wrong) > 0)[run]
    return fits


def _few(group: Ints, wrong: Bools) -> Bools:
    """Say of joints whether few of their group stand out of order."""
    known = group >= 0
    share = np.bincount(group[known], wrong[known]) / np.maximum(np.bincount(group[known]), 1)
    few: Bools = known & (share <= _FEW_ROWS)[group]
    return few


def _by_number(
    job: Job, line: StationedLine, log: Log, joints: Joints, number: Floats, rows: Ints, back: Ints, ahead: Ints
) -> tuple[Floats, Bools]:  # fmt: skip
    """Give where joints would stand between the two next to them in number, and whether there is room for them."""
    nominal, laid = job.records.laying_length, log.number("laid_length")[joints.record]
    of_pipe = np.where(laid > 0, laid, nominal)
    own = job.records.pipe == "back"
    tolerance = AGREES_M * units.factor("m", job.records.station_unit)
    place, lengths = joints.distance, []
    for other, pipe in ((back, rows if own else back), (ahead, ahead if own else rows)):
        between = np.maximum(np.ceil(np.abs(number[rows] - number[other])) - 1.0, 0.0)
        lengths.append((of_pipe[pipe] + nominal * between) * line.scale)
    behind, before = lengths
    whole = place[ahead] - place[back]
    between = place[back] + whole * behind / (behind + before)
    expected = np.select(
        [(back >= 0) & (ahead >= 0), back >= 0, ahead >= 0],
        [between, place[back] + behind, place[ahead] - before], np.nan,
    )  # fmt: skip
    end, slack = line.routes.length[joints.route[rows]], tolerance * line.scale
    on_line = (expected >= -slack) & (expected <= end + slack)
    room = np.where((back >= 0) & (ahead >= 0), whole >= behind + before - slack, on_line)
    return np.clip(expected, 0.0, end), room


def _stations(
    line: StationedLine, log: Log, joints: Joints, rows: Ints, expected: Floats, form: stationing.Form
) -> tuple[pa.Array, pa.Array]:
    """Write where joints would stand, and their own stations with one slip mended that puts them there."""
    known, route = np.isfinite(expected), joints.route[rows]
    value, region = line.station_at_distance(route, np.where(known, expected, 0.0))
    texts = line.written(route, value, region, form)
    written = log.stations.value[joints.position[rows]]
    mended = mended_by_a_digit(written, np.where(known, value, np.nan), AGREES_M * units.factor("m", line.station_unit))
    slips = stationing.format_stations(np.nan_to_num(mended), form)
    none = pa.scalar(None, pa.string())
    return pc.if_else(pa.array(known), texts, none), pc.if_else(pa.array(np.isfinite(mended)), slips, none)


def mended_by_a_digit(written: Floats, expected: Floats, near: float) -> Floats:
    """Give stations with one digit other, or two neighbours exchanged, that lie near the ones expected.

    Parameters
    ----------
    written, expected : array, shape (n,)
        Station units; NaN where one is not known.
    near : float

    Returns
    -------
    array, shape (n,)
        NaN where no such slip puts them there.

    Examples
    --------
    2941.33 for 2491.33, of which two digits are exchanged; and 1620 for 1520; no single slip makes 999 of 1520:

    >>> mended_by_a_digit(np.array([2941.33, 1620.0, 999.0]), np.array([2491.3, 1520.2, 1520.0]), 0.5).tolist()
    [2491.33, 1520.0, nan]
    """
    best = np.full(len(written), np.nan)
    hundredths = np.round(np.nan_to_num(written) * 100.0)
    step = 10.0**_PLACES
    digit = (hundredths[:, None] // (100.0 * step)) % 10.0
    wanted = (expected - written)[:, None]
    other = np.clip(np.round(wanted / step), -digit, 9.0 - digit)
    swap = (digit[:, :-1] - digit[:, 1:]) * 9.0 * step[:-1]
    change = np.concatenate([other * step, swap], axis=1)
    miss = np.abs(change - wanted)
    at = np.argmin(np.where(np.isnan(miss), np.inf, miss), axis=1)
    row = np.arange(len(written))
    # A digit that moves the station by no more than what is not known of its place is none.
    told = (miss[row, at] <= near) & (np.abs(change[row, at]) > 2.0 * near)
    best[told] = np.round(written[told] + change[row, at][told], 3)
    return best
