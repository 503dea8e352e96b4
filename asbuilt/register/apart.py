"""Two mains of one name: a route that the register has far off, under stations that contradict that it is one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

import numpy as np
import pyarrow as pa

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.register import ground, merge
from asbuilt.register.agreed import Settled
from asbuilt.register.incoming import Incoming
from asbuilt.register.loaded import Loaded
from asbuilt.register.matching import OF_JOINT
from asbuilt.register.store import Store, floats, ints, quoted

APART_M = 30.48
"""100 ft: two parts of one route that are farther apart have no place in common; ours, no source."""
LONGER = 1.02
"""A way along a route is never shorter than the straight between its ends; ground and grid differ less than this."""


def keep_apart(
    store: Store,
    incoming: Incoming,
    decision: merge.Decision,
    pairs: merge.Candidates,
    register: dict[str, Any],
    settled: Settled,
    result: Loaded,
) -> tuple[merge.Decision, merge.Candidates, dict[str, Any]]:
    """Leave out the joints of a route that the register has by name, far off and under stations that contradict that.

    Parameters
    ----------
    store : Store
    incoming : Incoming
    decision, pairs, register
        What becomes of each joint so far, and the joints of the register that each may be.
    settled : Settled
        Joints of which somebody settled that they are of that route are not left out.
    result : Loaded
        Gets a note for each route.

    Returns
    -------
    merge.Decision, merge.Candidates, dict
        With the joints of such routes in conflict with the joint of the register whose station is nearest to theirs.
    """
    routes = np.asarray(incoming.text("route"), dtype=object)
    lone = _without_a_match(routes, decision, pairs)
    if not len(lone):
        return decision, pairs, register
    store.stage("lone", {"route": lone})
    names = [*OF_JOINT, "easting", "northing", "station_number", "station_unit"]
    found = store.columns(
        f"SELECT {quoted(names, 'j.')} FROM joints j WHERE j.route IN (SELECT route FROM lone) "
        "ORDER BY j.station_number, j.fid",
        len(names),
    )
    theirs = dict(zip(names, (np.array(column, dtype=object) for column in found), strict=True))
    said = np.array([settled.theirs.get(uid) == uid for uid in incoming.text("joint_uid").to_pylist()], dtype=np.bool_)
    new = np.flatnonzero((decision.what == merge.NEW) & ~said)
    of_route, there = by_name(routes[new]), by_name(theirs["route"])
    against = []
    for route in sorted(of_route.keys() & there.keys()):
        apart = _keep_route_apart(store, incoming, new[of_route[route]], _of(theirs, there[route]), result)
        against += [] if apart is None else [apart]
    return in_conflict((decision, pairs, register), against, merge.SAME_ROUTE_ELSEWHERE)


def _without_a_match(routes: Any, decision: merge.Decision, pairs: merge.Candidates) -> list[str]:
    """Name the incoming routes of which no joint lies where the register has one of the same route."""
    paired = np.flatnonzero(decision.pair >= 0)
    here = pairs.same_route[decision.pair[paired]] & (
        (decision.what[paired] != merge.CONFLICT) | (pairs.away[decision.pair[paired]] <= APART_M)
    )
    return sorted(set(routes[decision.what == merge.NEW]) - set(routes[paired[here]]))


def by_name(names: Any) -> dict[str, Ints]:
    """Give the rows that have each name, in their order.

    Examples
    --------
    >>> {name: rows.tolist() for name, rows in by_name(["B", "A", "B"]).items()}
    {'A': [1], 'B': [0, 2]}
    """
    known, code = np.unique(np.asarray(names, dtype=object).astype(str), return_inverse=True)
    parts = np.split(np.argsort(code, kind="stable"), np.cumsum(np.bincount(code, minlength=len(known)))[:-1])
    return dict(zip(known.tolist(), parts, strict=False))


def _of(columns: Mapping[str, Any], chosen: Any) -> dict[str, Any]:
    return {name: values[chosen] for name, values in columns.items()}


def _keep_route_apart(
    store: Store, incoming: Incoming, rows: Ints, theirs: dict[str, Any], result: Loaded
) -> Against | None:
    """Compare the joints of one route with those that the register has of it."""
    east, north = floats(theirs["easting"]), floats(theirs["northing"])
    nearest, away = _nearest(store, incoming.easting[rows], incoming.northing[rows], east, north)
    if float(away.min()) <= APART_M:
        return None
    metres = np.array([float(units.METRES[unit or "m"]) for unit in theirs["station_unit"]])
    station = floats(theirs["station_number"]) * metres
    own = incoming.station_number[rows] * float(units.METRES[incoming.run["station_unit"]])
    by_station = _nearest_station(own, station)
    crow = store.ground.away(incoming.easting[rows], incoming.northing[rows], east[by_station], north[by_station])
    excess = crow - LONGER * np.abs(own - station[by_station]) - APART_M
    contradict = bool(np.nanmedian(excess) > 0.0) if np.isfinite(excess).any() else False
    result.notes.append(_of_route(store, incoming, rows, _of(theirs, nearest[np.argmin(away)]), float(away.min()),
                                  contradict, result.register))  # fmt: skip
    return Against(rows, _of(theirs, by_station), crow) if contradict else None


class Against(NamedTuple):
    """Joints and the joints of the register that they are in conflict with; shapes (joints,)."""

    rows: Ints
    """Indices of the joints."""
    theirs: Mapping[str, Any]
    """What the register has of the joint that each is in conflict with, at least `OF_JOINT`, by column."""
    away: Floats
    """Their distances, metres."""


def in_conflict(
    so_far: tuple[merge.Decision, merge.Candidates, dict[str, Any]], against: Sequence[Against], why: str
) -> tuple[merge.Decision, merge.Candidates, dict[str, Any]]:
    """Put joints in conflict with joints of the register, of which they were no candidates.

    Parameters
    ----------
    so_far : Decision, Candidates, dict
        What becomes of each joint, the joints of the register that each may be, and what it has of those.
    against : sequence of Against
        No joint twice.
    why : str
        Code of the conflict.

    Returns
    -------
    Decision, Candidates, dict
    """
    if not against:
        return so_far
    rows = np.concatenate([one.rows for one in against])
    away = np.concatenate([one.away for one in against])
    theirs: dict[str, Any] = {name: np.concatenate([one.theirs[name] for one in against]) for name in OF_JOINT}
    decision, pairs, register = so_far
    no: Bools = np.zeros(len(rows), dtype=np.bool_)
    none: Floats = np.full(len(rows), np.nan)
    more = merge.Candidates(
        row=rows, joint=ints(theirs["fid"]), same_uid=no, same_route=~no, away=away, rise=none, same_job=no,
        known_content=np.zeros(len(rows), dtype=np.int64), known_away=none, agreed=no,
    )  # fmt: skip
    pair, what, reason = decision.pair.copy(), decision.what.copy(), decision.reason.to_pylist()
    pair[rows] = len(pairs.row) + np.arange(len(rows))
    what[rows] = merge.CONFLICT
    for row in rows.tolist():
        reason[row] = why
    every = merge.Candidates(
        *(np.concatenate([getattr(pairs, name), getattr(more, name)]) for name in merge.Candidates.__dataclass_fields__)
    )
    columns = {name: theirs[name] if name in OF_JOINT[1:5] else ints(theirs[name]) for name in OF_JOINT}
    register = {name: np.concatenate([register[name], columns[name]]) for name in register}
    return merge.Decision(what, pair, pa.array(reason, pa.string())), every, register


def _nearest(store: Store, east: Floats, north: Floats, their_east: Floats, their_north: Floats) -> tuple[Ints, Floats]:
    """Give the nearest of their places to each, and how far it is, metres."""
    import shapely

    across, up = store.ground.reach(east, north, 1.0)
    tree = shapely.STRtree(shapely.points(their_east / across, their_north / up))
    nearest = tree.nearest(shapely.points(east / across, north / up))
    return nearest, store.ground.away(east, north, their_east[nearest], their_north[nearest])


def _nearest_station(own: Floats, theirs: Floats) -> Ints:
    """Give the nearest of their stations, which go up, to each."""
    after = np.clip(np.searchsorted(theirs, own), 0, len(theirs) - 1)
    before = np.maximum(after - 1, 0)
    return np.where(np.abs(theirs[before] - own) < np.abs(theirs[after] - own), before, after)


def _of_route(
    store: Store, incoming: Incoming, rows: Ints, nearest: dict[str, Any], away: float, contradict: bool, register: str
) -> str:
    """Say where both parts of a route are, and what to do."""
    unit = store.unit
    job = store.rows("SELECT job FROM loads WHERE load_id = :load", load=int(nearest["load_id"]))[0][0]
    route, first = nearest["route"], rows[0]
    here = f"{incoming.text('station')[first]} ({incoming.easting[first]:.1f}, {incoming.northing[first]:.1f})"
    there = f"{nearest['station']} ({nearest['easting']:.1f}, {nearest['northing']:.1f})"
    words = (
        f"route {route} of this job ({incoming.job}) is at {here}; route {route} of {job} (load "
        f"{nearest['load_id']}) is at {there}, {ground.length_words(away, unit, 0)} from the nearest joint of this "
        "job, and no joint is in both."
    )
    apart = "to keep them apart, load this file with --main NAME, which puts its routes under a name of their own"
    if not contradict:
        return f"{words} If they are two mains, {apart[len('to keep them apart, ') :]}"
    return (
        f"{words} Their stations contradict that: they are two mains of one name. {len(rows)} joints wait to be "
        f"settled; {apart}; or, if it is one main with two counts of stations: asbuilt conflicts {register} "
        f"--job {incoming.job!r} --settle theirs"
    )
