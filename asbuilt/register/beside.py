"""Pressure tests, restrained lengths, records set aside and centerlines: kept as each load of a job brought them.

Those of a job's latest standing load hold; pressure tests those of the latest that has any of their route, as a test
was made whether or not a corrected log repeats it. A test or a length is about the joints of its route between its two
ends, as the job that brought it has them; a record set aside is in no joint, and is told where its route and number are
asked. What a load brought of which every joint waits to be settled waits with them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from asbuilt import units
from asbuilt.register import layout
from asbuilt.register.layout import BESIDE, LINES, run_told
from asbuilt.register.store import Store, insert, quoted

if TYPE_CHECKING:
    from asbuilt.register.incoming import Incoming

_SLACK_M = 0.003
"""Joints this near to an end of a length are in it: a hundredth of a foot."""
TESTS = "pressure_tests"
UNTESTED = "untested"
"""Result of a length of a route that is under no test."""
NAMED = 3
"""Records set aside that a count of them names."""


_SPEAKS = (
    "x.state = 'standing' AND NOT (coalesce(x.joints_left_out, 0) > 0 "
    "AND x.joints_left_out = coalesce(x.joints_read, -1) AND NOT EXISTS "
    "(SELECT 1 FROM settled z WHERE z.job = x.job AND z.decision = 'ours'))"
)
"""SQL that tells whether a load `x` stands and does not wait as a whole.

One of which every joint was left out may be of another main, and what it brought waits with its joints, unless somebody
settled that they are the register's.
"""
_WAITS = (
    "(SELECT w.load_id, w.route FROM waiting_routes w JOIN loads q ON q.load_id = w.load_id WHERE NOT EXISTS "
    "(SELECT 1 FROM settled z WHERE z.job = q.job AND z.joint_uid = w.joint_uid AND z.decision = 'ours'))"
)
"""SQL for the routes that wait, of loads of which other routes do not."""


def stands(row: str, table: str | None = None) -> str:
    """Give SQL that tells whether a row of a table holds: of the latest standing load of its job, or with its tests.

    What is of a route that waits does not, and leaves in place what an earlier load of the job brought of it. Without a
    name for the row, its columns stand by themselves.
    """
    own = f"{row}." if row else ""
    if table == TESTS:
        return (
            f"({own}load_id, {own}route) IN (SELECT max(y.load_id), y.route FROM {TESTS} y "
            f"JOIN loads x ON x.load_id = y.load_id WHERE {_SPEAKS} "
            f"AND (y.load_id, y.route) NOT IN {_WAITS} GROUP BY x.job, y.route)"
        )
    return (
        f"CASE WHEN {own}route IN (SELECT w.route FROM waiting_routes w) THEN ({own}load_id, {own}route) IN "
        "(SELECT max(x.load_id), r.route FROM loads x CROSS JOIN (SELECT DISTINCT w.route FROM waiting_routes w) r "
        f"WHERE {_SPEAKS} AND (x.load_id, r.route) NOT IN {_WAITS} GROUP BY x.job, r.route) "
        f"ELSE {own}load_id IN (SELECT max(x.load_id) FROM loads x WHERE {_SPEAKS} GROUP BY x.job) END"
    )


def write(
    store: Store, incoming: Incoming, load: int, waiting: Mapping[str, str], tests_ended: Sequence[str] = ()
) -> None:
    """Add what a load brings beside its joints, which routes wait, and that those named are under no test any more.

    Each route that waits is given with the joint_uid of its first joint.
    """
    for route, joint_uid in waiting.items():
        insert(store, "waiting_routes", route=route, joint_uid=joint_uid, load_id=load)
    for layer in BESIDE:
        table = incoming.tables[layer]
        more: dict[str, Any] = {"route": table["route"].combine_chunks()} if incoming.main is not None else {}
        if layer == LINES:
            more["fid"] = store.next_fid(layer) + np.arange(table.num_rows)
        store.add(
            layer, incoming, layer, np.arange(table.num_rows), more,
            {"load_id": load, "coordinate_unit": str(incoming.run["coordinate_unit"])},
        )  # fmt: skip
    if tests_ended:
        # The load has no test of these routes: a length that is said to be under none takes the place of theirs.
        store.stage("ended_tests", {"route": list(tests_ended)})
        same = ("route", "from_station", "to_station", "from_distance", "to_distance", "length", "coordinate_unit")
        store.execute(
            f"INSERT INTO {TESTS} ({quoted(same)}, result, message, load_id) SELECT DISTINCT {quoted(same, 'b.')}, "
            f"'{UNTESTED}', 'under no test', CAST(:load AS bigint) FROM {TESTS} b "
            f"JOIN loads l ON l.load_id = b.load_id WHERE {stands('b', TESTS)} AND l.job = :job "
            "AND b.route IN (SELECT route FROM ended_tests)",
            load=load,
            job=incoming.job,
        )


def latest(store: Store, job: str) -> str:
    """Give the digest of what the latest standing load of a job brought beside its joints; empty for nothing."""
    found = store.rows(
        "SELECT run FROM loads WHERE job = :job AND state = 'standing' ORDER BY load_id DESC LIMIT 1", job=job
    )
    return str(run_told(found[0][0]).get("beside") or "") if found else ""


def _metres(row: str, column: str) -> str:
    """Give SQL for a length of a row in metres."""
    cases = " ".join(f"WHEN '{unit}' THEN {float(metres)!r}" for unit, metres in units.METRES.items())
    return f"({row}.{column} * CASE {row}.coordinate_unit {cases} END)"


def _about(said: str) -> str:
    """Give SQL that tells whether a length `b` is about a joint as a row has it: a state of it, or what a job calls it.

    A joint that stands under another job's route has that route's name and distances in its states.
    """
    ends = f"{_metres('b', 'from_distance')} - {_SLACK_M} AND {_metres('b', 'to_distance')} + {_SLACK_M}"
    return f"b.route = {said}.route AND {_metres(said, 'distance')} BETWEEN {ends}"


def _own_name(state: str) -> str:
    """Give SQL that tells whether a state of a joint has it under its own job's route."""
    return (
        f"NOT EXISTS (SELECT 1 FROM joint_names m WHERE m.joint_uid = {state}.joint_uid "
        f"AND m.load_id = {state}.load_id)"
    )


def of_tests(results: str | None) -> str:
    """Give SQL that tells whether a joint `j` was under a test, of the results listed; or under any, for None."""
    result = f"b.result <> '{UNTESTED}'" if results is None else f"b.result IN ({results})"
    of_job = "s.load_id = {0}.load_id WHERE {0}.joint_uid = j.joint_uid AND s.state = 'standing' AND s.job = l.job"
    return (
        f"EXISTS (SELECT 1 FROM pressure_tests b JOIN loads l ON l.load_id = b.load_id WHERE {stands('b', TESTS)} "
        f"AND {result} AND (({_about('j')} AND l.job = (SELECT s.job FROM loads s WHERE s.load_id = j.load_id) "
        f"AND {_own_name('j')}) "
        f"OR EXISTS (SELECT 1 FROM joints_earlier e JOIN loads s ON {of_job.format('e')} AND {_about('e')} "
        f"AND {_own_name('e')}) "
        f"OR EXISTS (SELECT 1 FROM joint_names n JOIN loads s ON {of_job.format('n')} AND {_about('n')})))"
    )


def add_lengths(store: Store, told: list[dict[str, Any]]) -> None:
    """Tell of each joint just found which tests and restrained lengths it is in."""
    for layer in ("pressure_tests", "restraint"):
        for joint in told:
            joint[layer] = []
        if not store.rows(f"SELECT 1 FROM {layer} LIMIT 1"):
            continue
        names = [name for name in layout.kinds(layer) if name not in ("load_id", "from_distance", "to_distance")]
        columns = "{0}.route, {0}.distance, {0}.coordinate_unit, {0}.load_id"
        of_found = "FROM found t JOIN joints j ON j.fid = t.fid"
        said = (
            f"SELECT t.nr, {columns.format('j')} {of_found} WHERE {_own_name('j')} UNION ALL "
            f"SELECT t.nr, {columns.format('e')} {of_found} JOIN joints_earlier e ON e.joint_uid = j.joint_uid "
            f"WHERE {_own_name('e')} UNION ALL "
            f"SELECT t.nr, {columns.format('n')} {of_found} JOIN joint_names n ON n.joint_uid = j.joint_uid"
        )
        found = store.dicts(
            f"SELECT DISTINCT k.nr, b.fid, l.load_id, l.job, {quoted(names, 'b.')} FROM ({said}) k "
            "JOIN loads s ON s.load_id = k.load_id JOIN loads l ON l.job = s.job "
            f"JOIN {layer} b ON b.load_id = l.load_id AND {_about('k')} "
            f"WHERE s.state = 'standing' AND {stands('b', layer)} ORDER BY k.nr, b.fid",
            ["nr", "fid", "load_id", "job", *names],
        )
        for row in found:
            at = row.pop("nr")
            row.pop("fid")
            told[at][layer].append({name: plain(value) for name, value in row.items() if value is not None})
    for joint in told:
        # A joint at the end of a test is in the length beyond it, too, but it was tested.
        tests = [one for one in joint["pressure_tests"] if one["result"] != UNTESTED]
        joint["pressure_tests"] = tests or joint["pressure_tests"]


def add_set_aside(store: Store, told: list[dict[str, Any]]) -> None:
    """Tell of each joint which records name its route and number, or what a job calls it, and were set aside."""
    by_name: dict[tuple[Any, Any], list[dict[str, Any]]] = {}
    of_found = (
        "SELECT 1 FROM found t JOIN joints j ON j.fid = t.fid WHERE (j.route = b.route AND j.joint = b.joint) OR "
        "EXISTS (SELECT 1 FROM joint_names n WHERE n.joint_uid = j.joint_uid AND n.route = b.route "
        "AND n.joint = b.joint)"
    )
    for row in listed(store, "set_aside", f"EXISTS ({of_found})"):
        by_name.setdefault((row["route"], row["joint"]), []).append(row)
    for joint in told:
        called = [(joint["route"], joint["joint"]), *((one["route"], one["joint"]) for one in joint["called"])]
        joint["set_aside"] = [one for name in dict.fromkeys(called) for one in by_name.get(name, [])]


def listed(store: Store, layer: str, condition: str = "1 = 1", **values: Any) -> list[dict[str, Any]]:
    """List the rows `b` of a table that stand and meet a condition, each with its job `l`."""
    return _rows(store, layer, f"{stands('b', layer)} AND {condition}", values)


def of_one_load(store: Store, layer: str, load: int) -> list[dict[str, Any]]:
    """List the rows of a table that one load brought, whether they stand or not."""
    return _rows(store, layer, "b.load_id = :load", {"load": load})


def _rows(store: Store, layer: str, condition: str, values: dict[str, Any]) -> list[dict[str, Any]]:
    names = list(layout.kinds(layer))
    found = store.dicts(
        f"SELECT l.job, {quoted(names, 'b.')} FROM {layer} b JOIN loads l ON l.load_id = b.load_id "
        f"WHERE {condition} ORDER BY b.fid",
        ["job", *names],
        **values,
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
    """Say how many records were set aside, and which are the first.

    Examples
    --------
    >>> said_aside([{"job": "Quarry Lane", "route": "B", "joint": "9", "file": "log.csv", "row": 7}])
    '1 record of 1 job was set aside there and is in no joint (B 9 in log.csv row 7)'
    """
    jobs = len({one["job"] for one in records})
    several = len(records) != 1
    more = f" and {len(records) - NAMED} more" if len(records) > NAMED else ""
    return (
        f"{len(records)} record{'s' * several} of {jobs} job{'s' * (jobs != 1)} "
        f"{'were' if several else 'was'} set aside there and {'are' if several else 'is'} in no joint "
        f"({', '.join(map(aside_name, records[:NAMED]))}{more})"
    )


def aside_name(record: Mapping[str, Any]) -> str:
    """Name a record that was set aside: what it says of itself, and where it stands.

    Examples
    --------
    >>> aside_name({"route": None, "joint": "9", "file": "log.csv", "row": 7})
    '9 in log.csv row 7'
    """
    own = " ".join(str(record[name]) for name in ("route", "joint") if record[name])
    return f"{own} in {record['file']} row {record['row']}" if own else f"{record['file']} row {record['row']}"


def plain(value: Any) -> Any:
    """Give a date as text."""
    return value.isoformat() if hasattr(value, "isoformat") else value
