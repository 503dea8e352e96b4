"""Joints of a log that stand where an earlier load of the same job has joints of other numbers: renumbered, or moved.

A joint is known by its number. Where numbers moved along a main, or two were exchanged, each would take its neighbour's
history: what the log says of the joints tells whether numbers or stations moved, and what it leaves open waits.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pyarrow as pa

from asbuilt.arrays import Bools, Ints, as_one
from asbuilt.register import merge
from asbuilt.register.incoming import Incoming, station_numbers
from asbuilt.register.loaded import Loaded
from asbuilt.register.store import Store

NAMED = 3
"""Joints that a message names."""
_ROUNDED = 0.01
"""Stations that differ by less are one, written with other decimals."""


@dataclass(frozen=True)
class Found:
    """Joints that stand where the same job had others; arrays of shape (joints,)."""

    held: merge.Held
    """Those that wait."""
    moved: list[tuple[Ints, Ints]]
    """By route, those taken for the same joints at other stations, as what is said of them moved with them, and
    the pair of each with the joint whose place it took."""


def find(store: Store, incoming: Incoming, pairs: merge.Candidates, tolerance: float) -> Found:
    """Find the joints that took the places of others of their job, and those that wait because numbers may have moved.

    Parameters
    ----------
    store : Store
    incoming : Incoming
    pairs : merge.Candidates
        Joints of the register that each may be.
    tolerance : float
        Metres within which two places are one.

    Returns
    -------
    Found
    """
    count = len(incoming.content)
    held = merge.Held(np.full(count, -1, dtype=np.int64), np.full(count, None, dtype=object))
    by_name, by_place = _own_pairs(count, pairs, tolerance)
    away = np.where(by_name >= 0, pairs.away[by_name], 0.0) if len(pairs.row) else np.zeros(count)
    moves = (by_name >= 0) & (away > tolerance)
    there = np.where(by_place >= 0, pairs.joint[by_place], -1) if len(pairs.row) else by_place
    own = np.where(by_name >= 0, pairs.joint[by_name], -1) if len(pairs.row) else by_name
    # One that was not known by its number is in question where the joint of its place is another record's by number.
    takes = (by_place >= 0) & (moves | ((by_name < 0) & np.isin(there, own[moves])))
    if not (takes & moves).any():
        return Found(held, [])
    routes = np.asarray(incoming.text("route"), dtype=object)
    moved = []
    for route in dict.fromkeys(routes[takes].tolist()):
        rows = np.flatnonzero(takes & (routes == route))
        judged = rows[moves[rows]]
        if not len(judged):
            continue
        votes = _votes(store, incoming, judged, own[judged], there[judged])
        if int((votes < 0).sum()) > max(int((votes > 0).sum()), len(judged) // 2):
            moved.append((judged, by_place[judged]))
            continue
        held.pair[rows], held.reason[rows] = by_place[rows], merge.RENUMBERED
        # What was put between them has the number of a joint that another record is by its place.
        between = np.flatnonzero(moves & (by_place < 0) & np.isin(own, there[rows]))
        held.pair[between], held.reason[between] = by_name[between], merge.NUMBER_OF_ANOTHER
    return Found(held, moved)


def _own_pairs(count: int, pairs: merge.Candidates, tolerance: float) -> tuple[Ints, Ints]:
    """Give of each joint the pair with the own job's joint of its number, and of its place; -1 where there is none."""
    by_name, by_place = np.full(count, -1, dtype=np.int64), np.full(count, -1, dtype=np.int64)
    named = np.flatnonzero(pairs.same_uid & pairs.same_job)
    by_name[pairs.row[named]] = named
    near = np.flatnonzero(~pairs.same_uid & pairs.same_job & (pairs.away <= tolerance))
    # The nearest comes last and stays, of each joint of the register, and of each that comes in.
    near = near[np.lexsort((-pairs.away[near], pairs.joint[near]))]
    near = near[np.append(np.diff(pairs.joint[near]) != 0, True)] if len(near) else near
    near = near[np.argsort(-pairs.away[near], kind="stable")]
    by_place[pairs.row[near]] = near
    return by_name, by_place


def _votes(store: Store, incoming: Incoming, rows: Ints, own: Ints, there: Ints) -> Ints:
    """Say of each joint whether its record is like that of the place (1), like that of its number (-1), or like both.

    The rows of the log as they were written are compared, cell by cell, but for number and station, which are what is
    asked about: stations of another survey, or with other decimals, are like neither. A log of which nothing else
    differs from row to row is like both.
    """
    before = said_before(store, incoming.job, np.unique(np.concatenate([own, there])))
    now = _without_names(said_now(incoming, rows), incoming)
    votes = [
        alike(now.get(row, {}), before.get(place, {})) - alike(now.get(row, {}), before.get(number, {}))
        for row, number, place in zip(rows.tolist(), own.tolist(), there.tolist(), strict=True)
    ]
    return np.sign(np.array(votes, dtype=np.int64))


def _without_names(said: dict[int, dict[str, Any]], incoming: Incoming) -> dict[int, dict[str, Any]]:
    """Leave out of rows of a log the columns in which most have the number or the station of their joint."""
    names, station = incoming.text("joint"), incoming.station_number
    by_column: dict[str, list[tuple[int, str]]] = {}
    for row, cells in said.items():
        for name, value in cells.items():
            by_column.setdefault(name, []).append((row, str(value)))
    naming = set()
    for name, column in by_column.items():
        rows, values = [row for row, _ in column], [value for _, value in column]
        numbers = sum(value == names[row].as_py() for row, value in column)
        stations = int((np.abs(station_numbers(pa.array(values, pa.string())) - station[rows]) < _ROUNDED).sum())
        naming |= {name} if 2 * max(numbers, stations) > len(column) else set()
    return {row: {name: value for name, value in cells.items() if name not in naming} for row, cells in said.items()}


def said_before(store: Store, job: str, fids: Ints) -> dict[int, dict[str, Any]]:
    """Give the row of the log, as written, of the job's standing record of joints of the register, by their numbers."""
    store.stage("numbered", {"fid": fids})
    found = store.rows(
        "SELECT n.fid, i.original FROM numbered n JOIN joints j ON j.fid = n.fid JOIN inspections i "
        "ON i.joint_uid = j.joint_uid JOIN loads l ON l.load_id = i.load_id "
        "WHERE l.job = :job AND i.state = 'standing' ORDER BY i.fid",
        job=job,
    )
    return {int(fid): _cells(original) for fid, original in found}


class Records:
    """The rows of the log, as written, of the records of a job: asked for some joints at a time."""

    def __init__(self, incoming: Incoming) -> None:
        self._joint = incoming.record_joint
        self._order = np.argsort(self._joint, kind="stable")
        self._originals = as_one(incoming.tables["inspections"]["original"])

    def said(self, joints: Ints) -> dict[int, dict[str, Any]]:
        """Give the row of the log of the last record of each joint, by their index."""
        ordered = self._joint[self._order]
        last = np.searchsorted(ordered, joints, side="right") - 1
        known = (last >= 0) & (ordered[last] == joints)
        rows = self._order[last[known]]
        originals = self._originals.take(pa.array(rows)).to_pylist()
        return {joint: _cells(one) for joint, one in zip(joints[known].tolist(), originals, strict=True)}


def said_now(incoming: Incoming, rows: Ints) -> dict[int, dict[str, Any]]:
    """Give the row of the log, as written, of the incoming record of joints, by their index."""
    return Records(incoming).said(rows)


def _cells(original: str | None) -> dict[str, Any]:
    return dict(json.loads(original)) if original else {}


def alike(one: dict[str, Any], other: dict[str, Any]) -> int:
    """Count the cells that are the same in both, blank ones aside."""
    return sum(value not in (None, "") and other.get(name) == value for name, value in one.items())


def tell(
    incoming: Incoming,
    found: Found,
    decision: merge.Decision,
    pairs: merge.Candidates,
    register: dict[str, Any],
    result: Loaded,
) -> None:
    """Say of each route what waits, what is taken for moved, and what has another number than before, once each."""
    routes = np.asarray(incoming.text("route"), dtype=object)
    reason = np.array(decision.reason.to_pylist(), dtype=object)
    waits = np.isin(reason, merge.OF_NUMBERS)
    for route in dict.fromkeys(routes[waits].tolist()):
        rows = np.flatnonzero(waits & (routes == route))
        result.notes.append(_of_waiting(incoming, rows, reason, decision, register, result))
    for rows, places in found.moved:
        named = _pairs_named(incoming, rows, places, register)
        result.notes.append(
            f"{_joints(rows)} of route {routes[rows[0]]} stand now where load {_loads(register, places)} has others "
            f"({named}): what the log says of them is as it was under their numbers, so they are taken for the same "
            "joints at other stations. If it was renumbered, undo this load and give the joints their old numbers"
        )
    matched = (decision.what == merge.UPDATED) & (decision.pair >= 0)
    other = np.flatnonzero(matched & _renamed(incoming, decision, pairs, register))
    for route in dict.fromkeys(routes[other].tolist()):
        rows = other[routes[other] == route]
        result.notes.append(
            f"{_joints(rows)} of route {route} have other numbers than in load "
            f"{_loads(register, decision.pair[rows])} "
            f"({_pairs_named(incoming, rows, decision.pair[rows], register)}) at the same places: they are taken for "
            "the same joints, whose history stays with them. If they are other joints, undo this load"
        )


def _renamed(incoming: Incoming, decision: merge.Decision, pairs: merge.Candidates, register: dict[str, Any]) -> Bools:
    """Mark the joints that are known by their place as one of their own job with another number."""
    renamed = np.zeros(len(decision.pair), dtype=np.bool_)
    rows = np.flatnonzero(decision.pair >= 0)
    of = decision.pair[rows]
    names: npt.NDArray[np.object_] = np.asarray(incoming.text("joint"), dtype=object)[rows]
    renamed[rows] = pairs.same_job[of] & pairs.same_route[of] & (register["joint"][of] != names)
    return renamed


def _of_waiting(
    incoming: Incoming, rows: Ints, reason: Any, decision: merge.Decision, register: dict[str, Any], result: Loaded
) -> str:
    taking = rows[reason[rows] == merge.RENUMBERED]
    loads = _loads(register, decision.pair[taking])
    between = rows[reason[rows] == merge.NUMBER_OF_ANOTHER]
    names = incoming.text("joint")
    named = _pairs_named(incoming, taking, decision.pair[taking], register)
    put = f"; {', '.join(names[row].as_py() for row in between[:NAMED].tolist())} put between" if len(between) else ""
    settle = f"asbuilt conflicts {result.register} --job {incoming.job!r} --settle theirs"
    return (
        f"{_joints(taking)} of route {incoming.text('route')[rows[0]]} stand where load {loads} has joints of other "
        f"numbers ({named}{put}): the log was renumbered, joints were exchanged, or its stations moved by the length "
        "of a pipe. They wait, as each would take the history of another. Give the joints their old numbers, and one "
        "put between them a number of its own, such as 21A, and place and load the job again. If the new numbers are "
        f"to hold: {settle}, by which the history stays at its place and takes the new number. If the numbers are the "
        f"old ones and the stations were wrong: undo load {loads} and load this file anew"
    )


def _joints(rows: Ints) -> str:
    return "1 joint" if len(rows) == 1 else f"{len(rows)} joints"


def _loads(register: dict[str, Any], pairs: Ints) -> str:
    return " and ".join(str(number) for number in np.unique(register["load_id"][pairs]).tolist())


def _pairs_named(incoming: Incoming, rows: Ints, pairs: Ints, register: dict[str, Any]) -> str:
    names, some = incoming.text("joint"), zip(rows[:NAMED].tolist(), pairs[:NAMED].tolist(), strict=True)
    named = [f"{names[row].as_py()} where {register['joint'][pair]} was" for row, pair in some]
    return ", ".join(named) + (", ..." if len(rows) > NAMED else "")
