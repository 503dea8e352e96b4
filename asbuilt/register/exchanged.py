"""Joints of a log loaded again whose records are those of other routes before, and the reverse: route names exchanged.

Where the names of two routes were exchanged in the log alone, each joint stays where it was and takes the record of the
joint of its number on the other route: one that failed is then another.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pyarrow as pa

from asbuilt.arrays import Bools, Ints, codes, together
from asbuilt.held import in_groups
from asbuilt.register import merge, renumbered
from asbuilt.register.incoming import Incoming
from asbuilt.register.loaded import Loaded
from asbuilt.register.store import Store

AT_ONCE = 10_000
"""Joints whose rows are looked at at a time, or a few more: all of a number."""
_PAIRS = 2_000_000
"""Pairs of rows that are compared at a time."""


def hold(
    store: Store,
    incoming: Incoming,
    pairs: merge.Candidates,
    register: dict[str, Any],
    tolerance: float,
    held: merge.Held,
) -> Ints:
    """Let the joints wait whose records were exchanged with those of their numbers on other routes of their job.

    Parameters
    ----------
    store : Store
    incoming : Incoming
    pairs : merge.Candidates
        Joints of the register that each may be.
    register : dict
        What the register has of the joint of each pair.
    tolerance : float
        Metres within which two places are one.
    held : merge.Held
        Changed in place.

    Returns
    -------
    array of int, shape (joints,)
        Of each that waits for this, the pair of the joint that had its record; -1 for all others.
    """
    source = np.full(len(incoming.content), -1, dtype=np.int64)
    own = np.flatnonzero(pairs.same_uid & pairs.same_job & (pairs.away <= tolerance))
    own = own[(pairs.known_content[own] != incoming.content[pairs.row[own]]) & (held.pair[pairs.row[own]] < 0)]
    if len(set(register["route"][own].tolist())) > 1:
        number = codes(pa.array(register["joint"][own], pa.string()))
        shared = np.bincount(number)[number] > 1
        own, number = own[shared], number[shared]
        other = _other(store, incoming, pairs.row[own], pairs.joint[own], number)
        cycle = _in_cycles(other)
        held.pair[pairs.row[own[cycle]]] = own[cycle]
        held.reason[pairs.row[own[cycle]]] = merge.RECORD_OF_ANOTHER
        source[pairs.row[own[cycle]]] = own[other[cycle]]
    return source


def _other(store: Store, incoming: Incoming, rows: Ints, fids: Ints, number: Ints) -> Ints:
    """Give of each joint the one of the same number whose record before is more like its own now; -1 where none is."""
    found = np.full(len(rows), -1, dtype=np.int64)
    routes, records = incoming.text("route"), renumbered.Records(incoming)
    # Of the rows as written some are looked at at a time, of whole numbers: as objects all would take much memory.
    for some in in_groups(np.arange(len(rows)), number, AT_ONCE):
        before, now = renumbered.said_before(store, incoming.job, fids[some]), records.said(rows[some])
        # The route itself is a cell that tells nothing here.
        names = [one.rpartition(": ")[2] for one in routes.take(pa.array(rows[some])).to_pylist()]
        own = [
            {name: value for name, value in now.get(row, {}).items() if value not in (None, "", route)}
            for row, route in zip(rows[some].tolist(), names, strict=True)
        ]
        said, had = _numbered(own, [before.get(fid, {}) for fid in fids[some].tolist()])
        order = np.argsort(number[some], kind="stable")
        for of in together(order, number[some]):
            found[some[of]] = np.append(some[of], -1)[_more_alike(said[of], had[of])]
    return found


def _numbered(*logs: list[dict[str, Any]]) -> list[Ints]:
    """Number the cells of rows, equal ones of a column alike: shape (rows, columns); 0 is a cell that a row lacks.

    Examples
    --------
    >>> [one.tolist() for one in _numbered([{"Lot": "7"}], [{"Lot": "7", "Crew": "B"}])]
    [[[1, 0]], [[1, 1]]]
    """
    names = list(dict.fromkeys(name for log in logs for cells in log for name in cells))
    found = [np.zeros((len(log), len(names)), dtype=np.int64) for log in logs]
    for at, name in enumerate(names):
        numbers: dict[Any, int] = {None: 0}
        for log, of_log in zip(logs, found, strict=True):
            of_log[:, at] = [numbers.setdefault(cells.get(name), len(numbers)) for cells in log]
    return found


def _more_alike(now: Ints, before: Ints) -> Ints:
    """Give of each row the first other one whose cells before are most like its own now, and more than those it had.

    Parameters
    ----------
    now, before : array of int, shape (n, columns)
        Cells by number, as `_numbered` gives them.

    Examples
    --------
    >>> _more_alike(np.array([[3, 5], [1, 5], [9, 5]]), np.array([[1, 5], [3, 5], [7, 5]])).tolist()
    [1, 0, -1]
    """
    found = np.full(len(now), -1, dtype=np.int64)
    changed = (now != before) & (now > 0)
    # A cell that changed and that no other row had makes none of them more alike.
    changed &= np.column_stack([np.isin(own, had) for own, had in zip(now.T, before.T, strict=True)])
    asked = np.flatnonzero(changed.any(axis=1))
    each = max(_PAIRS // len(now), 1)
    for some in (asked[at : at + each] for at in range(0, len(asked), each)):
        alike = np.zeros((len(some), len(now)), dtype=np.int32)
        for own, had in zip(now.T, before.T, strict=True):
            alike += (own[some, None] == had[None, :]) & (own[some, None] > 0)
        itself = np.arange(len(some)), some
        own_alike = alike[itself]
        alike[itself] = -1
        most = np.argmax(alike, axis=1)
        more = alike[np.arange(len(some)), most] > own_alike
        found[some[more]] = most[more]
    return found


def _in_cycles(other: Ints) -> Bools:
    """Mark those that lead back to themselves: what took a record whose own joint kept its own was corrected.

    Examples
    --------
    >>> _in_cycles(np.array([1, 0, 3, 4, -1])).tolist()
    [True, True, False, False, False]
    """
    stands: Bools = other >= 0
    while True:
        still = stands & stands[other]
        if (still == stands).all():
            break
        stands = still
    # Of those that lead into a cycle, only the ones that others lead to are of it.
    while True:
        still = stands & np.isin(np.arange(len(other)), other[stands])
        if (still == stands).all():
            return stands
        stands = still


def tell(incoming: Incoming, source: Ints, register: dict[str, Any], decision: merge.Decision, result: Loaded) -> None:
    """Say of each two routes that the records of one are those of the other before."""
    reason = np.array(decision.reason.to_pylist(), dtype=object)
    waits = np.flatnonzero((reason == merge.RECORD_OF_ANOTHER) & (source >= 0))
    routes = np.asarray(incoming.text("route"), dtype=object)[waits]
    before = register["route"][source[waits]]
    for route, other in dict.fromkeys(zip(routes.tolist(), before.tolist(), strict=True)):
        rows = waits[(routes == route) & (before == other)]
        names = register["joint"][source[rows]].tolist()
        named = ", ".join(names[: renumbered.NAMED]) + (", ..." if len(names) > renumbered.NAMED else "")
        loads = " and ".join(str(one) for one in np.unique(register["load_id"][source[rows]]).tolist())
        result.notes.append(
            f"{'1 joint' if len(rows) == 1 else f'{len(rows)} joints'} of route {route} ({named}) have the records "
            f"that load {loads} has of route {other}, and lie where they lay. Were the names of the routes exchanged "
            "in the log? They wait, as each would take the record of another. Give the rows their old routes, place "
            f"and load the job again. If load {loads} had them exchanged, and this file is right: "
            f"asbuilt conflicts {result.register} --job {incoming.job!r} --settle theirs, by which each joint takes "
            "its new record"
        )
