"""Which joints of the register an incoming one may be: asked of the register by name, by place and as settled."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from asbuilt import units
from asbuilt.arrays import Floats, Ints
from asbuilt.register import merge
from asbuilt.register.incoming import Incoming
from asbuilt.register.store import Store, floats, ints, quoted

OF_JOINT = ("fid", "joint_uid", "route", "joint", "station", "load_id", "first_load_id")


def no_candidates() -> tuple[merge.Candidates, dict[str, Any]]:
    no_ints, no_floats, no = np.zeros(0, np.int64), np.zeros(0), np.zeros(0, np.bool_)
    pairs = merge.Candidates(no_ints, no_ints, no, no, no_floats, no_floats, no, no_ints, no_floats, no)
    return pairs, {name: np.zeros(0, dtype=object if name in OF_JOINT[1:5] else np.int64) for name in OF_JOINT}


def candidates(
    store: Store, incoming: Incoming, tolerance_m: float, theirs: Mapping[str, str], out: set[str]
) -> tuple[merge.Candidates, dict[str, Any]]:
    """Ask the register which of its joints each incoming one may be: by joint_uid, and by place for the others."""
    store.stage(
        "incoming",
        {"joint_uid": incoming.text("joint_uid"), "easting": incoming.easting, "northing": incoming.northing},
    )
    wanted = "s.nr, " + quoted(OF_JOINT, "j.") + ", j.easting, j.northing, j.elevation, j.coordinate_unit"
    by_uid = store.columns(f"SELECT {wanted} FROM incoming s JOIN joints j ON j.joint_uid = s.joint_uid", 12)
    named = np.zeros(len(incoming.content), dtype=np.bool_)
    named[ints(by_uid[0])] = True
    # Joints that the register does not know by name, or that moved: what lies where they are now?
    moved = ints(by_uid[0])[_away(store, incoming, by_uid) > tolerance_m]
    others = np.union1d(np.flatnonzero(~named), moved)
    by_place: list[tuple[Any, ...]] = [()] * 12
    if len(others):
        east, north = store.ground.reach(incoming.easting[others], incoming.northing[others], tolerance_m)
        store.stage(
            "unnamed",
            {"row": others, "easting": incoming.easting[others], "northing": incoming.northing[others]},
        )
        by_place = store.columns(
            f"SELECT {wanted.replace('s.nr', 's.row', 1)} FROM {store.near('unnamed')}", 12, reach_east=east,
            reach_north=north,
        )  # fmt: skip
        # In the trench of a main out of service lies another by now, unless a later record speaks of its own route.
        named_routes = incoming.text("route").to_pylist()
        by_place = _only(by_place, lambda row, _, uid, route: uid not in out or named_routes[row] == route)
    known = {pair for found in (by_uid, by_place) for pair in zip(*found[:2], strict=True)}
    of_settled = _settled_pairs(store, incoming, theirs, wanted, known)
    every = [(*one, *other, *more) for one, other, more in zip(by_uid, by_place, of_settled, strict=True)]
    return _as_candidates(store, incoming, every, len(by_uid[0]), theirs)


def _only(found: list[tuple[Any, ...]], wanted: Callable[..., bool]) -> list[tuple[Any, ...]]:
    """Give the rows, held as columns, whose first four cells are wanted."""
    kept = [at for at, cells in enumerate(zip(*found[:4], strict=True)) if wanted(*cells)]
    return [tuple(values[at] for at in kept) for values in found]


def _settled_pairs(
    store: Store, incoming: Incoming, theirs: Mapping[str, str], wanted: str, known: set[tuple[Any, ...]]
) -> list[tuple[Any, ...]]:
    """Ask for the joints of the register that somebody settled to be incoming ones, wherever they lie."""
    uids = incoming.text("joint_uid").to_pylist() if theirs else []
    rows = [row for row, uid in enumerate(uids) if uid in theirs]
    if not rows:
        return [()] * 12
    store.stage("agreed", {"row": np.array(rows), "joint_uid": [theirs[uids[row]] for row in rows]})
    asked = wanted.replace("s.nr", "s.row", 1)
    found = store.rows(f"SELECT {asked} FROM agreed s JOIN joints j ON j.joint_uid = s.joint_uid")
    new = [one for one in found if (one[0], one[1]) not in known]
    return list(zip(*new, strict=True)) if new else [()] * 12


def _away(store: Store, incoming: Incoming, found: list[tuple[Any, ...]]) -> Floats:
    """Give the distances of incoming joints from those found in the register, metres."""
    row = ints(found[0])
    return store.ground.away(incoming.easting[row], incoming.northing[row], floats(found[8]), floats(found[9]))


def _as_candidates(
    store: Store, incoming: Incoming, found: list[tuple[Any, ...]], by_uid: int, theirs: Mapping[str, str]
) -> tuple[merge.Candidates, dict[str, Any]]:
    row = ints(found[0])
    register = {
        name: np.array(values, dtype=object) if name in OF_JOINT[1:5] else ints(values)
        for name, values in zip(OF_JOINT, found[1:8], strict=True)
    }
    elevation = floats(found[10])
    here = incoming.easting[row], incoming.northing[row]
    own_metres = float(units.METRES[incoming.run["coordinate_unit"]])
    metres = np.array([float(units.METRES[unit]) for unit in found[11]], dtype=np.float64)
    content, known_easting, known_northing = _said_before(store, incoming.job, register["fid"])
    said = np.isfinite(known_easting)
    known_away = np.full(len(row), np.inf)
    known_away[said] = store.ground.away(here[0][said], here[1][said], known_easting[said], known_northing[said])
    pairs = merge.Candidates(
        row=row,
        joint=register["fid"],
        same_uid=np.arange(len(row)) < by_uid,
        same_route=np.asarray(incoming.text("route"), dtype=object)[row] == register["route"],
        away=_away(store, incoming, found),
        rise=incoming.number("elevation")[row] * own_metres - elevation * metres,
        same_job=said,
        known_content=content,
        known_away=known_away,
        agreed=np.array(
            [
                theirs.get(uid) == its
                for uid, its in zip(
                    np.asarray(incoming.text("joint_uid"), dtype=object)[row], register["joint_uid"], strict=True
                )
            ],
            dtype=np.bool_,
        )
        if theirs
        else np.zeros(len(row), dtype=np.bool_),
    )
    return pairs, register


def _said_before(store: Store, job: str, fid: Ints) -> tuple[Ints, Any, Any]:
    """Give what the latest standing load of the same job said of joints of the register, and where it had them."""
    distinct, back = np.unique(fid, return_inverse=True)
    store.stage("matched", {"fid": distinct})
    now = store.rows(
        "SELECT m.nr, j.content, j.easting, j.northing, j.place_load_id = j.load_id FROM matched m "
        "JOIN joints j ON j.fid = m.fid JOIN loads l ON l.load_id = j.load_id WHERE l.job = :job",
        job=job,
    )
    # Of those whose present state, or its place, is from another job, the state that the own job left.
    earlier = store.rows(
        "SELECT m.nr, e.content, e.easting, e.northing, e.place_load_id = e.load_id FROM matched m "
        "JOIN joints j ON j.fid = m.fid JOIN joints_earlier e ON e.joint_uid = j.joint_uid "
        "JOIN loads l ON l.load_id = e.load_id WHERE l.job = :job AND l.state = 'standing' ORDER BY e.fid",
        job=job,
    )
    content = np.zeros(len(distinct), dtype=np.int64)
    easting, northing = np.full(len(distinct), np.nan), np.full(len(distinct), np.nan)
    for found in (earlier, now):
        if found:
            nr, said, east, north, own = zip(*found, strict=True)
            at, of_own = np.array(nr), np.array(own, dtype=np.bool_)
            content[at] = np.array(said)
            easting[at[of_own]], northing[at[of_own]] = np.array(east)[of_own], np.array(north)[of_own]
    return content[back], easting[back], northing[back]
