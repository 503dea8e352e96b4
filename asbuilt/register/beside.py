"""Pressure tests, restrained lengths and records set aside: kept as each load of a job brought them.

Those of a job's latest standing load hold. A test or a length is about the joints of its route between its two ends, as
the job that brought it has them; a record set aside is in no joint, and is told where its route and number are asked.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import numpy as np

from asbuilt.register import layout
from asbuilt.register.layout import BESIDE
from asbuilt.register.store import Store, quoted

if TYPE_CHECKING:
    from asbuilt.register.incoming import Incoming

STANDS = "b.load_id IN (SELECT max(x.load_id) FROM loads x WHERE x.state = 'standing' GROUP BY x.job)"
"""SQL that tells whether a row `b` is of the latest standing load of its job."""
_SLACK = 0.01
"""Joints this near to an end of a length, in the unit of coordinates, are in it."""
UNTESTED = "untested"
"""Result of a length of a route that is under no test."""


def write(store: Store, incoming: Incoming, load: int) -> None:
    """Add what a load brings beside its joints."""
    for layer in BESIDE:
        table = incoming.tables[layer]
        more = {"route": table["route"].combine_chunks()} if incoming.main is not None else {}
        store.add(
            layer, incoming, layer, np.arange(table.num_rows), more,
            {"load_id": load, "coordinate_unit": str(incoming.run["coordinate_unit"])},
        )  # fmt: skip


def latest(store: Store, job: str) -> str:
    """Give the digest of what the latest standing load of a job brought beside its joints; empty for nothing."""
    found = store.rows(
        "SELECT run FROM loads WHERE job = :job AND state = 'standing' ORDER BY load_id DESC LIMIT 1", job=job
    )
    return str(json.loads(found[0][0] or "{}").get("beside") or "") if found else ""


def _about(joint: str) -> str:
    """Give SQL that tells whether a length `b` is about a state of a joint."""
    ends = f"b.from_distance - {_SLACK} AND b.to_distance + {_SLACK}"
    return f"b.route = {joint}.route AND {joint}.distance BETWEEN {ends}"


def of_tests(results: str | None) -> str:
    """Give SQL that tells whether a joint `j` was under a test, of the results listed; or under any, for None."""
    result = f"b.result <> '{UNTESTED}'" if results is None else f"b.result IN ({results})"
    return (
        f"EXISTS (SELECT 1 FROM pressure_tests b JOIN loads l ON l.load_id = b.load_id WHERE {STANDS} AND {result} AND "
        f"(({_about('j')} AND l.job = (SELECT s.job FROM loads s WHERE s.load_id = j.load_id)) OR EXISTS (SELECT 1 "
        f"FROM joints_earlier e JOIN loads s ON s.load_id = e.load_id WHERE e.joint_uid = j.joint_uid "
        f"AND s.state = 'standing' AND s.job = l.job AND {_about('e')})))"
    )


def add_lengths(store: Store, told: list[dict[str, Any]]) -> None:
    """Tell of each joint just found which tests and restrained lengths it is in."""
    for layer in ("pressure_tests", "restraint"):
        for joint in told:
            joint[layer] = []
        if not store.rows(f"SELECT 1 FROM {layer} LIMIT 1"):
            continue
        names = [name for name in layout.kinds(layer) if name not in ("load_id", "from_distance", "to_distance")]
        states = (
            "SELECT t.nr, j.route, j.distance, j.load_id FROM found t JOIN joints j ON j.fid = t.fid UNION ALL "
            "SELECT t.nr, e.route, e.distance, e.load_id FROM found t JOIN joints j ON j.fid = t.fid "
            "JOIN joints_earlier e ON e.joint_uid = j.joint_uid"
        )
        found = store.dicts(
            f"SELECT DISTINCT k.nr, b.fid, l.load_id, l.job, {quoted(names, 'b.')} FROM ({states}) k "
            "JOIN loads s ON s.load_id = k.load_id JOIN loads l ON l.job = s.job "
            f"JOIN {layer} b ON b.load_id = l.load_id AND {_about('k')} "
            f"WHERE s.state = 'standing' AND {STANDS} ORDER BY k.nr, b.fid",
            ["nr", "fid", "load_id", "job", *names],
        )
        for row in found:
            at = row.pop("nr")
            row.pop("fid")
            told[at][layer].append({name: plain(value) for name, value in row.items() if value is not None})


def add_set_aside(store: Store, told: list[dict[str, Any]]) -> None:
    """Tell of each joint which records name its route and number, and were set aside."""
    by_name: dict[tuple[Any, Any], list[dict[str, Any]]] = {}
    of_found = "SELECT 1 FROM found t JOIN joints j ON j.fid = t.fid WHERE j.route = b.route AND j.joint = b.joint"
    for row in listed(store, "set_aside", f"EXISTS ({of_found})"):
        by_name.setdefault((row["route"], row["joint"]), []).append(row)
    for joint in told:
        joint["set_aside"] = by_name.get((joint["route"], joint["joint"]), [])


def listed(store: Store, layer: str, condition: str = "1 = 1") -> list[dict[str, Any]]:
    """List the rows `b` of a table that stand and meet a condition, each with its job."""
    names = list(layout.kinds(layer))
    found = store.dicts(
        f"SELECT l.job, {quoted(names, 'b.')} FROM {layer} b JOIN loads l ON l.load_id = b.load_id "
        f"WHERE {STANDS} AND {condition} ORDER BY b.fid",
        ["job", *names],
    )
    return [{name: plain(value) for name, value in row.items()} for row in found]


def test_words(test: dict[str, Any]) -> str:
    """Say what a pressure test of a length came to.

    Examples
    --------
    >>> test_words({"result": "passed", "from_station": "0+00", "to_station": "4+20", "tested_on": "2026-05-01",
    ...     "job": "Quarry Lane"})
    'pressure test 0+00 to 4+20, 2026-05-01: passed (Quarry Lane)'
    """
    if test["result"] == UNTESTED:
        return f"under no pressure test: {test['from_station']} to {test['to_station']} ({test['job']})"
    day = f", {test['tested_on']}" if test.get("tested_on") else ""
    return f"pressure test {test['from_station']} to {test['to_station']}{day}: {test['result']} ({test['job']})"


def restraint_words(length: dict[str, Any]) -> str:
    """Say where the design wants joints restrained, and how many are not.

    Examples
    --------
    >>> restraint_words({"from_station": "0+00", "to_station": "0+60", "joints": 4, "joints_unrestrained": 1,
    ...     "job": "Quarry Lane"})
    'to be restrained 0+00 to 0+60: 1 of 4 joints are not recorded as restrained (Quarry Lane)'
    """
    return (
        f"to be restrained {length['from_station']} to {length['to_station']}: {length['joints_unrestrained']} of "
        f"{length['joints']} joints are not recorded as restrained ({length['job']})"
    )


def aside_words(record: dict[str, Any]) -> str:
    """Say of a record that it was set aside, and why."""
    return f"set aside: {record['file']} row {record['row']}: {record['message']} ({record['job']})"


def said_aside(records: list[dict[str, Any]]) -> str:
    """Say how many records were set aside.

    Examples
    --------
    >>> said_aside([{"job": "Quarry Lane"}])
    '1 record of 1 job there was set aside and is in no joint'
    """
    jobs = len({one["job"] for one in records})
    several = len(records) != 1
    return (
        f"{len(records)} record{'s' * several} of {jobs} job{'s' * (jobs != 1)} there "
        f"{'were' if several else 'was'} set aside and {'are' if several else 'is'} in no joint"
    )


def plain(value: Any) -> Any:
    """Give a date as text."""
    return value.isoformat() if hasattr(value, "isoformat") else value
