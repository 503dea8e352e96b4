"""Joints of a second job under the first one's name, whose numbers begin anew: a main laid in two seasons.

A correction moves a joint along or beside its main, and says of it what was said before. Where the joints of a route
lie beyond all that their job has of it, and their records say something else, the numbers are those of other joints.
"""

from __future__ import annotations

from collections import Counter
from typing import Any

import numpy as np
import pyarrow as pa

from asbuilt.arrays import Bools, Ints, as_ints
from asbuilt.register import merge
from asbuilt.register.incoming import Incoming
from asbuilt.register.renumbered import said_before, said_now
from asbuilt.register.store import Store, floats

CLEAR_M = 6.096
"""20 ft, a pipe: joints farther than this from all that their job has of a route lie beyond it; ours, no source."""
TELLING = 0.5
"""Columns less than this, counted by how seldom their cells are alike by chance, tell nothing; ours, no source."""
ALIKE = 0.5
"""Part of what rows can be alike beyond chance from which on they are of the same joints; ours, no source."""


def hold(store: Store, incoming: Incoming, pairs: merge.Candidates, tolerance: float, held: merge.Held) -> None:
    """Let the joints of a route wait that have the numbers of others of their job, which lie elsewhere.

    Parameters
    ----------
    store : Store
    incoming : Incoming
    pairs : merge.Candidates
        Joints of the register that each may be.
    tolerance : float
        Metres within which two places are one.
    held : merge.Held
        Changed in place.
    """
    named = np.flatnonzero(pairs.same_uid & pairs.same_job)
    moved = pairs.away[named] > max(tolerance, CLEAR_M)
    if not moved.any():
        return
    coded = incoming.text("route").dictionary_encode()
    route = as_ints(coded.indices, -1)[pairs.row[named]]
    for one in np.unique(route[moved]).tolist():
        of_route = route == one
        if 2 * int((moved & of_route).sum()) <= int(of_route.sum()):
            continue
        some = named[moved & of_route]
        rows = pairs.row[some]
        beyond = _beyond(store, incoming, rows, coded.dictionary[one].as_py())
        if 2 * int(beyond.sum()) > len(rows) and not _same_joints(store, incoming, rows, pairs.joint[some]):
            some = some[held.pair[rows] < 0]
            held.pair[pairs.row[some]], held.reason[pairs.row[some]] = some, merge.SAME_JOINT_ELSEWHERE


def _beyond(store: Store, incoming: Incoming, rows: Ints, route: str) -> Bools:
    """Tell which joints lie off the line through all that their job has of a route, by more than a pipe."""
    import shapely

    found = store.arrays(
        "SELECT j.easting, j.northing FROM joints j JOIN loads l ON l.load_id = j.first_load_id "
        "WHERE j.route = :route AND l.job = :job ORDER BY j.distance, j.fid",
        [floats, floats], route=route, job=incoming.job,
    )  # fmt: skip
    reach = store.ground.reach(incoming.easting[rows], incoming.northing[rows], CLEAR_M)
    there, here = (
        np.column_stack([east / reach[0], north / reach[1]])
        for east, north in (found, (incoming.easting[rows], incoming.northing[rows]))
    )
    line = shapely.linestrings(there) if len(there) > 1 else shapely.multipoints(there)
    off: Bools = shapely.distance(line, shapely.points(here)) > 1.0
    return off


def _same_joints(store: Store, incoming: Incoming, rows: Ints, fids: Ints) -> bool:
    """Tell whether the log says of joints what it said before of those of their numbers."""
    before, now = said_before(store, incoming.job, fids), said_now(incoming, rows)
    both = [(now.get(row, {}), before.get(fid, {})) for row, fid in zip(rows.tolist(), fids.tolist(), strict=True)]
    telling, alike = 0.0, 0.0
    # The number, the station and the route of a joint are no news of it; nor is what all rows have.
    naming = {one for name in ("joint", "station") for one in incoming.text(name).take(pa.array(rows)).to_pylist()}
    for name in sorted({name for cells, _ in both for name in cells}):
        pairs = [(str(one[name]), str(other.get(name))) for one, other in both if one.get(name) not in (None, "")]
        if not pairs or 2 * sum(one in naming for one, _ in pairs) > len(pairs):
            continue
        ours, theirs = (Counter(cells) for cells in zip(*pairs, strict=True))
        chance = sum(count * theirs[cell] for cell, count in ours.items()) / len(pairs) ** 2
        telling += 1.0 - chance
        alike += sum(one == other for one, other in pairs) / len(pairs) - chance
    if telling >= TELLING:
        return alike >= ALIKE * telling
    return _same_days(store, incoming, rows, fids)


def _same_days(store: Store, incoming: Incoming, rows: Ints, fids: Ints) -> bool:
    """Tell whether most joints were inspected on the days on which those of their numbers were."""
    joints: Any = incoming.tables["joints"]
    if "inspected_on" not in joints.column_names:
        return False
    days = joints["inspected_on"].combine_chunks().cast(pa.string()).take(pa.array(rows)).to_pylist()
    store.stage("numbered", {"fid": fids})
    found = store.rows(
        "SELECT n.nr, i.inspected_on FROM numbered n JOIN joints j ON j.fid = n.fid JOIN inspections i "
        "ON i.joint_uid = j.joint_uid JOIN loads l ON l.load_id = i.load_id "
        "WHERE l.job = :job AND i.state = 'standing' AND i.inspected_on IS NOT NULL",
        job=incoming.job,
    )
    same = {int(nr) for nr, day in found if days[int(nr)] == str(day)}
    return 2 * len(same) > len(rows)
