"""What jobs call joints that stand under another job's route: a route and a number of their own, along their own line.

A person settled that such a joint is one of the register's, which keeps the name that it has; whoever asks by the name
that the other job uses finds it nevertheless.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from asbuilt import units
from asbuilt.register import beside
from asbuilt.register.store import Store, quoted

if TYPE_CHECKING:
    from asbuilt.register.incoming import Incoming
    from asbuilt.register.planning import Plan

COLUMNS = ("joint_uid", "route", "joint", "station", "station_number", "station_unit", "distance", "coordinate_unit")


def write(store: Store, incoming: Incoming, plan: Plan, load: int) -> None:
    """Keep what a load calls joints that stand under another route, or keep another job's number."""
    # A question needs none of what a load does.
    import pyarrow as pa

    from asbuilt.register import merge

    decision = plan.decision
    matched = np.flatnonzero((decision.pair >= 0) & (decision.what != merge.CONFLICT))
    rows = np.union1d(matched[~plan.pairs.same_route[decision.pair[matched]]], plan.second_names)
    if not len(rows):
        return
    of_stations, of_places = (str(incoming.run[name]) for name in ("station_unit", "coordinate_unit"))
    store.stage(
        "named",
        {
            "joint_uid": plan.uid.take(pa.array(rows)),
            **{name: incoming.text(name).take(pa.array(rows)) for name in ("route", "joint", "station")},
            "station_number": incoming.station_number[rows], "station_unit": [of_stations] * len(rows),
            "distance": incoming.number("distance")[rows], "coordinate_unit": [of_places] * len(rows),
        },
    )  # fmt: skip
    store.execute(
        f"INSERT INTO joint_names ({quoted(COLUMNS)}, load_id) SELECT {quoted(COLUMNS, 'n.')}, CAST(:load AS bigint) "
        "FROM named n ORDER BY n.nr",
        load=load,
    )


def add(store: Store, told: list[dict[str, Any]]) -> None:
    """Tell of each joint just found what other jobs call it."""
    for joint in told:
        joint["called"] = []
    for nr, *cells in store.rows(
        "SELECT t.nr, n.route, n.joint, n.station, l.job, l.load_id FROM found t JOIN joints j ON j.fid = t.fid "
        "JOIN joint_names n ON n.joint_uid = j.joint_uid JOIN loads l ON l.load_id = n.load_id "
        f"WHERE {beside.stands('n')} ORDER BY t.nr, n.fid"
    ):
        told[nr]["called"].append(dict(zip(("route", "joint", "station", "job", "load_id"), cells, strict=True)))


def asked_for(store: Store, staged: str, routes: Sequence[str]) -> list[tuple[int, str, float, float, int]]:
    """Give, of staged joints, what another job calls those that stand under a route that was not asked for.

    Returns
    -------
    list of (row, route, distance in metres, station in metres, load)
    """
    if not routes or not store.rows("SELECT 1 FROM joint_names LIMIT 1"):
        return []
    store.stage("asked_routes", {"route": list(routes)})
    found = store.rows(
        "SELECT o.nr, n.route, n.distance, n.coordinate_unit, n.station_number, n.station_unit, n.load_id "
        f"FROM {staged} o JOIN joints j ON j.fid = o.fid JOIN joint_names n ON n.joint_uid = j.joint_uid "
        f"WHERE {beside.stands('n')} AND n.route IN (SELECT route FROM asked_routes) "
        "AND j.route NOT IN (SELECT route FROM asked_routes) ORDER BY n.fid"
    )
    return [
        (row, route, along * float(units.METRES[unit]), _metres(station, of), load)
        for row, route, along, unit, station, of, load in found
    ]


def _metres(station: float | None, unit: str) -> float:
    return np.nan if station is None else station * float(units.METRES[unit])


def words(called: dict[str, Any]) -> str:
    """Say what another job calls a joint.

    Examples
    --------
    >>> words({"route": "North line", "joint": "12", "station": "2+40.00", "job": "Contract 2", "load_id": 2})
    'called North line 12 by Contract 2, at station 2+40.00'
    """
    at = f", at station {called['station']}" if called["station"] else ""
    return f"called {called['route']} {called['joint']} by {called['job']}{at}"
