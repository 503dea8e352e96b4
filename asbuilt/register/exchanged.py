"""Joints of a log loaded again whose records are those of other routes before, and the reverse: route names exchanged.

Where the names of two routes were exchanged in the log alone, each joint stays where it was and takes the record of the
joint of its number on the other route: one that failed is then another.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from asbuilt.arrays import Bools, Ints
from asbuilt.register import merge, renumbered
from asbuilt.register.incoming import Incoming
from asbuilt.register.loaded import Loaded
from asbuilt.register.store import Store


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
        number = np.unique(register["joint"][own].astype(str), return_inverse=True)[1]
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
    before = renumbered.said_before(store, incoming.job, fids)
    now = renumbered.said_now(incoming, rows)
    routes = incoming.text("route")
    had: dict[tuple[int, str, Any], list[int]] = {}
    for at, (fid, one) in enumerate(zip(fids.tolist(), number.tolist(), strict=True)):
        for name, value in before.get(fid, {}).items():
            had.setdefault((one, name, str(value)), []).append(at)
    found = np.full(len(rows), -1, dtype=np.int64)
    for at, (row, fid, one) in enumerate(zip(rows.tolist(), fids.tolist(), number.tolist(), strict=True)):
        # The route itself is a cell that tells nothing here.
        route = routes[row].as_py().rpartition(": ")[2]
        cells = {name: value for name, value in now.get(row, {}).items() if value not in (None, "", route)}
        said = before.get(fid, {})
        changed = [(one, name, str(value)) for name, value in cells.items() if said.get(name) != value]
        others = sorted({other for key in changed for other in had.get(key, []) if other != at})
        likeness = [renumbered.alike(cells, before[int(fids[other])]) for other in others]
        if likeness and max(likeness) > renumbered.alike(cells, said):
            found[at] = others[int(np.argmax(likeness))]
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
