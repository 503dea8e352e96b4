"""A main that the register has, surveyed again: its joints lie beside those known, farther off than one place is wide.

They have no number by which they are known, or stand under another route's name, and would be taken for a second main
in the same trench. Nobody can tell that from the places alone, so such joints wait until a person says which it is.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from asbuilt.arrays import Floats, Ints
from asbuilt.register import ground, merge
from asbuilt.register.apart import Against, by_name, in_conflict
from asbuilt.register.incoming import Incoming
from asbuilt.register.loaded import Loaded
from asbuilt.register.matching import OF_JOINT
from asbuilt.register.store import Store, floats, ints, quoted

BESIDE_M = 1.524
"""5 ft: a main this near along another lies in its trench, and joints of one main lie no nearer to one another, but for
those of fittings; ours, no source."""
FEW = 3
"""Fewer joints than this beside others are those of fittings, or of a main that crosses."""
ALONG_M = 0.4572
"""1.5 ft along the main: joints that lie there beside others may be the same; those of another main lie anywhere along
its pipes. Ours, no source."""
EVEN_M = 0.15
"""Half a foot: two surveys of the same joints differ alike along the main; ours, no source."""
NONE: Ints = np.zeros(0, dtype=np.int64)
_MORE = ("easting", "northing", "size", "joint_type")


class _Beside(NamedTuple):
    """New joints of a route and the joint of the register nearest to each; shapes (joints,)."""

    rows: Ints
    theirs: dict[str, Any]
    away: Floats
    """Metres."""


def hold(
    store: Store,
    incoming: Incoming,
    so_far: tuple[merge.Decision, merge.Candidates, dict[str, Any]],
    out: set[str],
    result: Loaded,
) -> tuple[merge.Decision, merge.Candidates, dict[str, Any]]:
    """Leave out the new joints of a route that lie beside joints of a main of another job, one beside each.

    Of the route of that name, where more than half of them do. Of another route, where all of them do, at the same
    places along it, of the same sizes and types, and the job inspected none: it only surveyed.

    Parameters
    ----------
    store : Store
    incoming : Incoming
        Of a job under a main of its own, or that speaks of parts of its line, nothing is held.
    so_far : Decision, Candidates, dict
        What becomes of each joint, and the joints of the register that each may be.
    out : set of str
        Joints that are not in service: another main lies in their place by now.
    result : Loaded
        Gets a note for each route.

    Returns
    -------
    Decision, Candidates, dict
        With such joints in conflict with the joint of the register that is nearest to each.
    """
    new = np.flatnonzero(so_far[0].what == merge.NEW)
    if len(new) < FEW or incoming.main is not None or incoming.is_of_parts:
        return so_far
    routes = np.asarray(incoming.text("route"), dtype=object)
    near = _near(store, incoming, new, out)
    beside_each, whole = _mains_beside(store, incoming, new, routes[new], near), by_name(near["route"])
    against = []
    for route, of_route in by_name(routes[new]).items():
        for name in sorted(beside_each.get(route, ()), key=lambda one, route=route: (one != route, one)):
            rows, close = new[of_route], beside_each[route][name]
            beside = _beside(store, incoming, rows, _some(near, close))
            if not _again(incoming, rows, beside, same=name == route):
                continue
            if name == route:  # of which some may lie farther off
                beside = _beside(store, incoming, rows, _some(near, whole[name]))
            result.notes.append(_words(store, incoming, route, name, beside, result.register))
            against.append(Against(*beside))
            break
    return in_conflict(so_far, against, merge.SURVEYED_AGAIN)


def hold_the_rest(
    store: Store,
    incoming: Incoming,
    so_far: tuple[merge.Decision, merge.Candidates, dict[str, Any]],
    out: set[str],
    result: Loaded,
) -> tuple[merge.Decision, merge.Candidates, dict[str, Any]]:
    """Leave out what is new of a main of which joints wait in the places of another, where it lies beside that, too.

    Two mains a foot apart, or one that was surveyed again so far off, have some joints within the tolerance of one
    another and some beyond: these would stand in the register, and those would not.

    Parameters
    ----------
    store : Store
    incoming : Incoming
        Of a job that speaks of parts of its line nothing is held.
    so_far : Decision, Candidates, dict
        What becomes of each joint, and the joints of the register that each may be.
    out : set of str
        Joints that are not in service.
    result : Loaded
        Gets a note for each route.

    Returns
    -------
    Decision, Candidates, dict
        With such joints in conflict with the joint of that main that is nearest to each, one with each.
    """
    if incoming.is_of_parts:
        return so_far
    routes = np.asarray(incoming.text("route"), dtype=object)
    every = np.flatnonzero(np.asarray(so_far[0].reason, dtype=object) == merge.TWO_IN_ONE_PLACE)
    every = every[~so_far[1].same_route[so_far[0].pair[every]]]
    asked, count = np.unique(routes[every].astype(str), return_counts=True)
    asked_rows, new_rows = by_name(routes[every]), np.flatnonzero(so_far[0].what == merge.NEW)
    of_route = by_name(routes[new_rows])
    near: dict[str, Any] | None = None
    against = []
    decision, pairs, register = so_far
    for route in asked[count >= FEW].tolist():
        waits, new = every[asked_rows[route]], new_rows[of_route.get(route, NONE)]
        names, many = np.unique(register["route"][decision.pair[waits]].astype(str), return_counts=True)
        name = str(names[np.argmax(many)])
        if many.max() < FEW or not len(new):
            continue
        if near is None:
            near = _near(store, incoming, new_rows, out)
            beside_each = _mains_beside(store, incoming, new_rows, routes[new_rows], near)
        some = beside_each.get(route, {}).get(name, NONE)
        free = some[~np.isin(ints(near["fid"][some]), register["fid"][decision.pair[waits]])]
        if not len(free):
            continue
        beside = _beside(store, incoming, new, _some(near, free))
        if not len(close := _one_each(beside)):
            continue
        theirs = {key: values[close] for key, values in beside.theirs.items()}
        in_place = pairs.away[decision.pair[waits]]
        against.append(Against(beside.rows[close], theirs, beside.away[close]))
        result.notes.append(
            f"{len(close)} more joint{'s' * (len(close) != 1)} of route {route} lie{'s' * (len(close) == 1)} "
            f"{ground.range_words(beside.away[close], store.unit)} beside joints of {name}, and wait with the "
            f"{many.max()} of that route that lie in the places of its joints, as else a part of the main would stand. "
            f"Look at sizes and drawings. If they are the same joints: asbuilt conflicts {result.register} --job "
            f"{incoming.job!r} --settle theirs; if they are another main's: load the file with --main NAME and with a "
            f"smaller --tolerance (those in its places lie {ground.range_words(in_place, store.unit)} from its joints; "
            "what lies nearer than the tolerance waits all the same)"
        )
    return in_conflict(so_far, against, merge.SURVEYED_AGAIN)


def _one_each(beside: _Beside) -> Ints:
    """Give the joints that lie beside others, the nearest where several lie beside one."""
    close = np.flatnonzero(beside.away <= BESIDE_M)
    close = close[np.argsort(beside.away[close], kind="stable")]
    _, first = np.unique(ints(beside.theirs["fid"])[close], return_index=True)
    found: Ints = np.sort(close[first])
    return found


def of_the_nearest_main(
    incoming: Incoming,
    decision: merge.Decision,
    pairs: merge.Candidates,
    register: dict[str, Any],
    tolerance_m: float,
    result: Loaded,
) -> merge.Decision:
    """Hold joints that lie in the places of several mains with those of the one that is nearest to their route.

    Parameters
    ----------
    incoming : Incoming
    decision, pairs, register
        What becomes of each joint so far, and the joints of the register that each may be.
    tolerance_m : float
        Metres within which two places are one.
    result : Loaded
        Gets a note for each route: whoever settles that they are the same joints must know of which main.

    Returns
    -------
    Decision
        With the joints of a route in conflict with those of one main, as far as it has one in their places.
    """
    waits = (np.asarray(decision.reason, dtype=object) == merge.TWO_IN_ONE_PLACE) & (decision.pair >= 0)
    waits[waits] &= ~pairs.same_route[decision.pair[waits]]
    at = np.flatnonzero(waits[pairs.row] & ~pairs.same_uid & ~pairs.same_route & (pairs.away <= tolerance_m))
    routes = np.asarray(incoming.text("route"), dtype=object)
    pair = decision.pair.copy()
    for route, of_route in by_name(routes[pairs.row[at]]).items():
        own = at[of_route]
        theirs = register["route"][own]
        mains = sorted(set(theirs.tolist()))
        if len(mains) < 2:
            continue
        away = {main: pairs.away[own[theirs == main]] for main in mains}
        many = {main: len(np.unique(pairs.row[own[theirs == main]])) for main in mains}
        order = sorted(mains, key=lambda main: (-many[main], float(np.mean(away[main]))))
        # The first main last, and of its joints the nearest: what is put later holds.
        rank = np.array([order.index(main) for main in theirs.tolist()])
        for one in own[np.lexsort((pairs.away[own], rank))[::-1]].tolist():
            pair[pairs.row[one]] = one
        named = "; ".join(f"{main} {ground.range_words(away[main], result.unit)}" for main in order)
        result.notes.append(
            f"{len(np.unique(pairs.row[own]))} joints of route {route} lie in the places of joints of {len(mains)} "
            f"mains ({named}), and wait: held against those of {order[0]}, which --settle theirs takes for the same. "
            "Look at sizes and drawings first; if they are another main's: --settle main"
        )
    return merge.Decision(decision.what, pair, decision.reason)


def _near(store: Store, incoming: Incoming, rows: Ints, out: set[str]) -> dict[str, Any]:
    """Ask for the joints in service near new ones that another job brought, by column."""
    east, north = store.ground.reach(incoming.easting[rows], incoming.northing[rows], BESIDE_M)
    store.stage("surveyed", {"easting": incoming.easting[rows], "northing": incoming.northing[rows]})
    names = (*OF_JOINT, *_MORE)
    found = store.rows(
        f"SELECT DISTINCT {quoted(names, 'j.')}, l.job FROM {store.near('surveyed')} "
        "JOIN loads l ON l.load_id = j.first_load_id WHERE l.job <> :job",
        job=incoming.job, reach_east=east, reach_north=north,
    )  # fmt: skip
    kept = sorted((one for one in found if one[1] not in out), key=lambda one: int(one[0]))
    columns = list(zip(*kept, strict=True)) if kept else [()] * (len(names) + 1)
    return {name: np.array(one, dtype=object) for name, one in zip((*names, "job"), columns, strict=True)}


def _some(columns: dict[str, Any], rows: Ints) -> dict[str, Any]:
    return {name: values[rows] for name, values in columns.items()}


def _mains_beside(
    store: Store, incoming: Incoming, rows: Ints, routes: Any, near: dict[str, Any]
) -> dict[str, dict[str, Ints]]:
    """Find the mains beside each route, by route and main: the joints that lie within `BESIDE_M`, and some more."""
    import shapely

    if not len(near["fid"]):
        return {}
    across, up = store.ground.reach(incoming.easting[rows], incoming.northing[rows], BESIDE_M)
    tree = shapely.STRtree(shapely.points(floats(near["easting"]) / across, floats(near["northing"]) / up))
    points = shapely.points(incoming.easting[rows] / across, incoming.northing[rows] / up)
    # The distance reaches over the whole of a box of what lies near.
    row, of = tree.query(points, predicate="dwithin", distance=float(np.sqrt(2.0)))
    if not len(row):
        return {}
    heads, route = np.unique(routes.astype(str), return_inverse=True)
    names, main = np.unique(near["route"].astype(str), return_inverse=True)
    both = np.unique(np.column_stack([route[row] * len(names) + main[of], of]), axis=0)
    found: dict[str, dict[str, Ints]] = {}
    for part in np.split(both, np.flatnonzero(np.diff(both[:, 0])) + 1):
        head, name = divmod(int(part[0, 0]), len(names))
        found.setdefault(str(heads[head]), {})[str(names[name])] = part[:, 1]
    return found


def _beside(store: Store, incoming: Incoming, rows: Ints, theirs: dict[str, Any]) -> _Beside:
    """Pair the joints of a route with those of one main of the register that are nearest."""
    import shapely

    east, north = floats(theirs["easting"]), floats(theirs["northing"])
    across, up = store.ground.reach(incoming.easting[rows], incoming.northing[rows], 1.0)
    tree = shapely.STRtree(shapely.points(east / across, north / up))
    nearest = tree.nearest(shapely.points(incoming.easting[rows] / across, incoming.northing[rows] / up))
    away = store.ground.away(incoming.easting[rows], incoming.northing[rows], east[nearest], north[nearest])
    return _Beside(rows, {name: values[nearest] for name, values in theirs.items()}, away)


def _again(incoming: Incoming, rows: Ints, beside: _Beside, *, same: bool) -> bool:
    """Tell whether joints may be those that lie beside them."""
    close = beside.away <= BESIDE_M
    each = len(np.unique(ints(beside.theirs["fid"])[close]))
    if each < FEW or each < int(close.sum()):
        return False
    if same:
        return 2 * each > len(rows)
    inspected = np.array(incoming.text("inspection").to_pylist(), dtype=object)[rows] != "none"
    return (
        bool(close.all()) and not inspected.any() and _alike(incoming, beside) and _at_the_same_places(incoming, beside)
    )


def _alike(incoming: Incoming, beside: _Beside) -> bool:
    """Tell whether joints are of the sizes and types of those beside them, as far as both are known."""
    size, theirs = incoming.number("size")[beside.rows], floats(beside.theirs["size"])
    known = np.isfinite(size) & np.isfinite(theirs)
    types = np.array(incoming.text("joint_type").to_pylist(), dtype=object)[beside.rows]
    other = beside.theirs["joint_type"]
    both = (types != None) & (other != None)  # noqa: E711 - elementwise
    return bool((size == theirs)[known].all() and (types == other)[both].all())


def _at_the_same_places(incoming: Incoming, beside: _Beside) -> bool:
    """Tell whether joints lie along the main where those beside them do, all alike."""
    order = np.argsort(incoming.number("distance")[beside.rows], kind="stable")
    own = np.column_stack([incoming.easting[beside.rows], incoming.northing[beside.rows]])[order]
    theirs = np.column_stack([floats(beside.theirs["easting"]), floats(beside.theirs["northing"])])[order]
    ahead = np.gradient(own, axis=0)
    length = np.hypot(*ahead.T)
    apart = own - theirs
    along = np.einsum("ij,ij->i", apart, ahead) / np.where(length > 0.0, length, 1.0)
    # As large on the ground as the whole way is, whatever the register's unit.
    whole = np.hypot(*apart.T)
    along *= np.divide(beside.away[order], whole, out=np.zeros_like(whole), where=whole > 0.0)
    middle = float(np.median(along))
    return abs(middle) <= ALONG_M and float(np.median(np.abs(along - middle))) <= EVEN_M


def _words(store: Store, incoming: Incoming, route: str, name: str, beside: _Beside, register: str) -> str:
    """Say which joints wait, and what to do."""
    close = beside.away[beside.away <= BESIDE_M]
    job, load = beside.theirs["job"][0], int(beside.theirs["load_id"][0])
    settled = f"asbuilt conflicts {register} --job {incoming.job!r}"
    own = " and --main NAME" if name == route else ""
    return (
        f"{len(close)} of the {len(beside.rows)} new joints of route {route} lie "
        f"{ground.range_words(close, store.unit)} beside joints of {name} of {job} (load {load}), one beside each: is "
        f"it that main, surveyed again? They wait to be settled. If they are the same joints: {settled} --route "
        f"{route!r} --settle theirs; if they are another main's: {settled} --settle main --main NAME; if this main was "
        f"laid in place of that one: load the file with --replaces {name!r}{own}"
    )
