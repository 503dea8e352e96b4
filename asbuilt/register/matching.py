"""Which joints of the register an incoming one may be: asked of the register by name, by place and as settled."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import numpy.typing as npt
import pyarrow as pa

from asbuilt import units
from asbuilt.arrays import Floats, Ints
from asbuilt.register import merge
from asbuilt.register.incoming import Incoming
from asbuilt.register.store import Store, floats, ints, quoted, texts

OF_JOINT = ("fid", "joint_uid", "route", "joint", "station", "load_id", "first_load_id")
_KINDS = (ints, ints, *[texts] * 4, ints, ints, *[floats] * 3, texts)
"""Of the number of an incoming joint, and of what is asked of those that it may be."""


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
    by_uid = store.arrays(f"SELECT {wanted} FROM incoming s JOIN joints j ON j.joint_uid = s.joint_uid", _KINDS)
    named = np.zeros(len(incoming.content), dtype=np.bool_)
    named[by_uid[0]] = True
    # Joints that the register does not know by name, or that moved: what lies where they are now?
    moved = by_uid[0][_away(store, incoming, by_uid) > tolerance_m]
    others = np.union1d(np.flatnonzero(~named), moved)
    every = [by_uid]
    if len(others):
        east, north = store.ground.reach(incoming.easting[others], incoming.northing[others], tolerance_m)
        store.stage(
            "unnamed",
            {"row": others, "easting": incoming.easting[others], "northing": incoming.northing[others]},
        )
        by_place = store.arrays(
            f"SELECT {wanted.replace('s.nr', 's.row', 1)} FROM {store.near('unnamed')}", _KINDS, reach_east=east,
            reach_north=north,
        )  # fmt: skip
        # In the trench of a main out of service lies another by now, unless a later record speaks of its own route.
        gone = np.array([uid in out for uid in by_place[2].tolist()], dtype=np.bool_)
        gone[gone] = _texts_of(incoming, "route", by_place[0][gone]) != by_place[3][gone]
        # A name that lies near as well comes by both.
        every.append([one[~gone] for one in by_place])
    of_settled = _settled_pairs(store, incoming, theirs, wanted, every)
    every += [of_settled] if of_settled else []
    return _as_candidates(
        store, incoming, [np.concatenate(one) for one in zip(*every, strict=True)], len(by_uid[0]), theirs
    )


def _texts_of(incoming: Incoming, column: str, rows: Ints) -> npt.NDArray[np.object_]:
    """Give a text column of some of the incoming joints, in their order."""
    return texts(incoming.text(column).take(pa.array(rows, pa.int64())).to_pylist())


def _settled_pairs(
    store: Store, incoming: Incoming, theirs: Mapping[str, str], wanted: str, before: Sequence[Sequence[Any]]
) -> list[Any]:
    """Ask for the joints of the register that somebody settled to be incoming ones, wherever they lie."""
    uids = incoming.text("joint_uid").to_pylist() if theirs else []
    rows = [row for row, uid in enumerate(uids) if uid in theirs]
    if not rows:
        return []
    store.stage("agreed", {"row": np.array(rows), "joint_uid": [theirs[uids[row]] for row in rows]})
    asked = wanted.replace("s.nr", "s.row", 1)
    found = store.arrays(f"SELECT {asked} FROM agreed s JOIN joints j ON j.joint_uid = s.joint_uid", _KINDS)
    known = {pair for some in before for pair in zip(some[0].tolist(), some[1].tolist(), strict=True)}
    new = np.array([pair not in known for pair in zip(found[0].tolist(), found[1].tolist(), strict=True)], np.bool_)
    return [one[new] for one in found]


def _away(store: Store, incoming: Incoming, found: Sequence[Any]) -> Floats:
    """Give the distances of incoming joints from those found in the register, metres."""
    row = found[0]
    return store.ground.away(incoming.easting[row], incoming.northing[row], found[8], found[9])


def _as_candidates(
    store: Store, incoming: Incoming, found: Sequence[Any], by_uid: int, theirs: Mapping[str, str]
) -> tuple[merge.Candidates, dict[str, Any]]:
    row, elevation = found[0], found[10]
    register = dict(zip(OF_JOINT, found[1:8], strict=True))
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
        same_route=_texts_of(incoming, "route", row) == register["route"],
        away=_away(store, incoming, found),
        rise=incoming.number("elevation")[row] * own_metres - elevation * metres,
        same_job=said,
        known_content=content,
        known_away=known_away,
        agreed=np.array(
            [
                theirs.get(uid) == its
                for uid, its in zip(_texts_of(incoming, "joint_uid", row), register["joint_uid"], strict=True)
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
    kinds = [ints, ints, floats, floats, ints]
    now = store.arrays(
        "SELECT m.nr, j.content, j.easting, j.northing, j.place_load_id = j.load_id FROM matched m "
        "JOIN joints j ON j.fid = m.fid JOIN loads l ON l.load_id = j.load_id WHERE l.job = :job",
        kinds,
        job=job,
    )
    # Of those whose present state, or its place, is from another job, the state that the own job left.
    earlier = store.arrays(
        "SELECT m.nr, e.content, e.easting, e.northing, e.place_load_id = e.load_id FROM matched m "
        "JOIN joints j ON j.fid = m.fid JOIN joints_earlier e ON e.joint_uid = j.joint_uid "
        "JOIN loads l ON l.load_id = e.load_id WHERE l.job = :job AND l.state = 'standing' ORDER BY e.fid",
        kinds,
        job=job,
    )
    content = np.zeros(len(distinct), dtype=np.int64)
    easting, northing = np.full(len(distinct), np.nan), np.full(len(distinct), np.nan)
    for nr, said, east, north, own in (earlier, now):
        of_own = own != 0
        content[nr] = said
        easting[nr[of_own]], northing[nr[of_own]] = east[of_own], north[of_own]
    return content[back], easting[back], northing[back]
