"""The joints before and after each on its route, in the order of the job that laid them.

A later job that speaks of a few joints only, a leak dug up, knows nothing of the joints beside them: such joints keep
the place that the first job gave them.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np

from asbuilt.register.store import Store

LAID = (
    "JOIN loads l ON l.load_id = j.load_id JOIN loads f ON f.load_id = j.first_load_id LEFT JOIN joints_earlier e "
    "ON e.fid = CASE WHEN l.job <> f.job THEN (SELECT max(x.fid) FROM joints_earlier x JOIN loads m "
    "ON m.load_id = x.load_id WHERE x.joint_uid = j.joint_uid AND m.job = f.job AND m.state = 'standing') END"
)
"""Joins `f`, the load that brought joint `j`, and `e`, where that job has it if its present state is another's."""
ALONG, ALONG_UNIT = "coalesce(e.distance, j.distance)", "coalesce(e.coordinate_unit, j.coordinate_unit)"
"""Distance of a joint along its route in the job `f.job` that laid it, by which a main runs; its unit. With `LAID`."""


class _Along(NamedTuple):
    """A joint's place along its route; sorts by it."""

    distance: float
    joint_uid: str
    joint: str
    station: str | None
    unit: str
    """Of the distance."""


def add_neighbours(store: Store, told: Sequence[dict[str, Any]]) -> None:
    """Name the joints before and after each of those found, as `previous` and `next`.

    Parameters
    ----------
    store : Store
        With the joints' numbers staged as "found".
    told : sequence of dict
        The joints found, in the same order; changed in place.
    """
    moved = _places_in_first_jobs(store, {joint["route"] for joint in told})
    first = {one.joint_uid: (job, one.distance, one.unit) for (_, job), row in moved.items() for one in row}
    places = [
        first.get(joint["joint_uid"], (joint["job"], joint["distance"], joint["coordinate_unit"])) for joint in told
    ]
    store.stage("walked", {"job": [place[0] for place in places], "distance": np.array([place[1] for place in places])})
    before, after = (_beside(store, compare, order) for compare, order in (("<", "DESC"), (">", "ASC")))
    for nr, (joint, (job, along, unit)) in enumerate(zip(told, places, strict=True)):
        row = moved.get((joint["route"], job), [])
        at, past = bisect_left(row, (along,)), bisect_right(row, (along, "\U0010ffff"))
        for word, candidates in (
            ("previous", [*before.get(nr, []), *row[max(at - 1, 0) : at]]),
            ("next", [*after.get(nr, []), *row[past : past + 1]]),
        ):
            if candidates:
                one = min(candidates, key=lambda candidate: abs(candidate.distance - along))
                joint[word] = {
                    "joint_uid": one.joint_uid, "joint": one.joint, "station": one.station,
                    "along": round(abs(one.distance - along), 3), "along_unit": unit,
                }  # fmt: skip


def _places_in_first_jobs(store: Store, routes: set[str]) -> dict[tuple[str, str], list[_Along]]:
    """Give, by route and first job, where that job has the joints whose present state is from another one, in order."""
    store.stage("routes", {"route": sorted(routes)})
    found = store.rows(
        "SELECT j.route, f.job, e.distance, j.joint_uid, j.joint, e.station, e.coordinate_unit FROM routes r "
        "JOIN joints j ON j.route = r.route JOIN loads l ON l.load_id = j.load_id "
        "JOIN loads f ON f.load_id = j.first_load_id "
        "JOIN joints_earlier e ON e.joint_uid = j.joint_uid JOIN loads m ON m.load_id = e.load_id "
        "WHERE j.load_id <> j.first_load_id AND l.job <> f.job AND m.job = f.job AND m.state = 'standing' "
        "ORDER BY e.fid"
    )
    latest = {uid: (route, job, _Along(along, uid, *rest)) for route, job, along, uid, *rest in found}
    rows: dict[tuple[str, str], list[_Along]] = {}
    for route, job, one in latest.values():
        rows.setdefault((route, job), []).append(one)
    return {key: sorted(row) for key, row in rows.items()}


def _beside(store: Store, compare: str, order: str) -> dict[int, list[_Along]]:
    """Give the nearest joint on one side of each, of those whose present state is from the same job."""
    found = store.rows(
        "SELECT w.nr, n.distance, n.joint_uid, n.joint, n.station, n.coordinate_unit FROM walked w "
        "JOIN found t ON t.nr = w.nr JOIN joints j ON j.fid = t.fid JOIN joints n ON n.fid = "
        "(SELECT p.fid FROM joints p JOIN loads m "
        f"ON m.load_id = p.load_id WHERE p.route = j.route AND p.distance {compare} w.distance AND m.job = w.job "
        f"ORDER BY p.distance {order} LIMIT 1)"
    )
    return {nr: [_Along(*rest)] for nr, *rest in found}
