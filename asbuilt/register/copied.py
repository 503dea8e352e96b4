"""Records of other joints that a load brings once more under other names: rows copied from one log into another.

What was read at joints after one another, on one day, does not come again in the same order by chance. How surely it
does not is counted from how often each row's readings come at all, so that readings that are all alike tell nothing.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt
import pyarrow as pa

from asbuilt.arrays import Floats, Ints
from asbuilt.keys.fields import GAP_FIELDS, GAUGE_FIELDS
from asbuilt.register import merge
from asbuilt.register.incoming import Incoming
from asbuilt.register.loaded import Loaded
from asbuilt.register.planning import Plan
from asbuilt.register.store import Store, floats, ints, quoted

READINGS = (*GAP_FIELDS, *GAUGE_FIELDS, "bolt_torque")
"""What is read at each joint by itself; the temperature goes with the hour, and is alike in logs of one day."""
ROWS = 4
"""Fewer rows alike than this are told as nothing; ours, no source."""
COMMON = 20
"""Readings that come more often than this on a day are nobody's own; ours, no source."""
SURE_BITS = 13.0
"""By chance one load in 2^13 (8,000) would have as many rows alike; ours, no source."""
TOLD = 5
_DAYS = 500
"""Days that are asked for at a time."""


class Rows(NamedTuple):
    """Records with readings, in the order of their logs."""

    day: npt.NDArray[np.str_]
    read: Floats
    """Readings, a column each, NaN where nothing was read: shape (records, readings)."""
    line: npt.NDArray[np.str_]
    """What tells the routes of the logs apart."""
    joint: Ints
    """A number of the register's joint; 0 for a new one."""


class Run(NamedTuple):
    """Rows that come again, one after the other."""

    ours: Ints
    theirs: Ints
    backward: bool
    """Whether they come in the opposite order."""


def runs_alike(ours: Rows, theirs: Rows) -> list[Run]:
    """Find runs of rows that come again under other joints, where chance does not explain them.

    Examples
    --------
    >>> rng = np.random.default_rng(1)
    >>> read, day, one = rng.integers(0, 9, (30, 4)) / 16.0, np.full(30, "2026-04-02"), np.full(30, "A")
    >>> mine = Rows(day, read[::-1], one, np.zeros(30, dtype=int))
    >>> others = Rows(day[:18], read[12:], one[:18], np.zeros(18, dtype=int))
    >>> [(len(run.ours), run.backward) for run in runs_alike(mine, others)]
    [(18, True)]
    """
    day = np.unique(np.concatenate([ours.day, theirs.day]), return_inverse=True)[1]
    # Equal rows have one number: blank cells are equal to one another.
    read = np.nan_to_num(np.concatenate([ours.read, theirs.read]), nan=-1.0)
    _, readings, often = np.unique(read, axis=0, return_inverse=True, return_counts=True)
    readings = readings.ravel()
    # How seldom the readings come, on whatever day; those of the row before, once more, tell nothing.
    bits = np.log2(len(readings) / often[readings])
    bits[1:][readings[1:] == readings[:-1]] = 0.0
    code = readings * (1 + day.max()) + day
    mine, others = code[: len(ours.day)], code[len(ours.day) :]
    first, second = _pairs(mine, others)
    other = (ours.joint[first] == 0) | (ours.joint[first] != theirs.joint[second])
    first, second = first[other], second[other]
    line, group = (np.unique(rows.line, return_inverse=True)[1] for rows in (ours, theirs))
    at, there = _order(line)[first], _order(group)[second]
    enough = SURE_BITS + np.log2(float(len(mine)) * len(others))
    found = []
    taken = np.zeros(len(mine), dtype=np.bool_)
    for backward in (False, True):
        for run in _runs(line[first], group[second], at, -there if backward else there):
            one = first[run]
            if len(run) >= ROWS and bits[one].sum() >= enough and not taken[one].any():
                taken[one] = True
                found.append(Run(one, second[run], backward))
    return found


def tell(store: Store, incoming: Incoming, plan: Plan, result: Loaded) -> None:
    """Say which new records have day and readings of records of other joints, in their order or against it."""
    records = incoming.tables["inspections"]
    names = [name for name in READINGS if name in records.column_names and records[name].null_count < len(records)]
    if not names or "inspected_on" not in records.column_names or not store.rows("SELECT 1 FROM joints LIMIT 1"):
        return
    left_out = (plan.decision.what == merge.CONFLICT)[incoming.record_joint]
    days = records["inspected_on"].combine_chunks().cast(pa.string())
    read = np.column_stack([floats(records[name].to_pylist()) for name in names])
    new = np.flatnonzero(~np.asarray(days.is_null()) & ~plan.kept_records & ~left_out & np.isfinite(read).any(axis=1))
    if len(new) < ROWS:
        return
    of = incoming.record_joint[new]
    day, route, joint = (
        np.array(one.take(pa.array(rows)).to_pylist(), dtype=str)
        for one, rows in ((days, new), (incoming.text("route"), of), (incoming.text("joint"), of))
    )
    known, loads, routes, joints = _known(store, np.unique(day).tolist(), names, plan)
    found = runs_alike(Rows(day, read[new], route, plan.fid[of]), known) if len(known.day) >= ROWS else []
    for run in found[:TOLD]:
        (one, other), (first, last) = (run.ours[0], run.ours[-1]), (run.theirs[0], run.theirs[-1])
        result.notes.append(
            f"{len(run.ours)} records of route {route[one]} (joints {joint[one]} to {joint[other]}) have the day and "
            f"the readings of those of route {routes[first]}, joints {joints[first]} to {joints[last]}, that load "
            f"{loads[first]} brought, in {'the opposite' if run.backward else 'the same'} order: were rows copied from "
            "one log into the other? Both stand in the register. If these joints were not inspected so, undo this "
            "load, take the copied rows out of the log, and place and load the job again"
        )
    if len(found) > TOLD:
        result.notes.append(f"so it is with {len(found) - TOLD} more runs of records")


def _known(
    store: Store, days: list[str], names: list[str], plan: Plan
) -> tuple[Rows, Ints, npt.NDArray[np.str_], npt.NDArray[np.str_]]:
    """Give the records of these days that have readings and stand after the load: with load, route and number."""
    some = " OR ".join(f'i."{name}" IS NOT NULL' for name in names)
    parts = []
    for begin in range(0, len(days), _DAYS):
        values = {f"day_{number}": day for number, day in enumerate(days[begin : begin + _DAYS])}
        parts.append(
            store.arrays(
                "SELECT i.fid, j.fid, i.load_id, j.route, j.joint, i.inspected_on, i.record, "
                f"{quoted(names, 'i.')} FROM inspections i JOIN joints j ON j.joint_uid = i.joint_uid "
                f"WHERE i.inspected_on IN ({', '.join(f':{name}' for name in values)}) AND i.state = 'standing' "
                f"AND ({some})",
                [ints, ints, ints, _texts, _texts, _texts, ints, *[floats] * len(names)],
                **values,
            )
        )
    found = [np.concatenate(columns) for columns in zip(*parts, strict=True)]
    stands = np.flatnonzero(~np.isin(found[0], plan.end_records))
    order = stands[np.lexsort((found[6][stands], found[2][stands]))]
    _, joint, loads, routes, joints, day, _, *read = [one[order] for one in found]
    line = np.array([f"{load}\t{route}" for load, route in zip(loads, routes, strict=True)], dtype=str)
    return Rows(day, np.column_stack(read), line, joint), loads, routes, joints


def _texts(cells: Iterable[Any]) -> npt.NDArray[np.str_]:
    return np.array([str(one) for one in cells], dtype=str)


def _pairs(ours: Ints, theirs: Ints) -> tuple[Ints, Ints]:
    """Pair the rows of one number, those aside that are common."""
    order = np.argsort(theirs, kind="stable")
    begin, end = (np.searchsorted(theirs[order], ours, side) for side in ("left", "right"))
    count = np.where(end - begin <= COMMON, end - begin, 0)
    first = np.repeat(np.arange(len(ours)), count)
    within = np.arange(len(first)) - np.repeat(np.cumsum(count) - count, count)
    return first, order[np.repeat(begin, count) + within]


def _order(group: Ints) -> Ints:
    """Number the rows of each group from 0 on, in their order.

    Examples
    --------
    >>> _order(np.array([3, 5, 3, 3, 5])).tolist()
    [0, 0, 1, 2, 1]
    """
    order = np.argsort(group, kind="stable")
    begin = np.flatnonzero(np.diff(group[order], prepend=-1))
    number = np.empty(len(group), dtype=np.int64)
    number[order] = np.arange(len(group)) - np.repeat(begin, np.diff([*begin, len(group)]))
    return number


def _runs(line: Ints, group: Ints, at: Ints, there: Ints) -> list[Ints]:
    """Give the pairs that go on together, one row after the other on both sides, as runs of their indexes.

    Examples
    --------
    >>> line = group = np.zeros(4, dtype=int)
    >>> [run.tolist() for run in _runs(line, group, np.array([0, 1, 2, 5]), np.array([7, 8, 9, 3]))]
    [[3], [0, 1, 2]]
    """
    if not len(at):
        return []
    order = np.lexsort((at, there - at, group, line))
    steps = [np.diff(one[order]) != 0 for one in (line, group, there - at)]
    apart = np.logical_or.reduce([*steps, np.diff(at[order]) != 1])
    return np.split(order, np.flatnonzero(apart) + 1)
