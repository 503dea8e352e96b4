"""What a later load of a job changes of what stands beside its joints: each test, length and record that ends, by name.

A test was made whether or not a corrected log repeats it: where a file has no tests of a route, those that its job
brought before stay, until somebody says that they end. Restrained lengths and records set aside are what the file says.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from asbuilt.register import beside
from asbuilt.register.beside import TESTS, UNTESTED
from asbuilt.register.layout import main_route, run_told
from asbuilt.register.loaded import Loaded
from asbuilt.register.store import Store

if TYPE_CHECKING:
    from asbuilt.register.incoming import Incoming

OF_TESTS = ("test-failed", "test-pressure-low", "test-short", "test-doubtful", "test-early", "length-untested")
"""Findings about tests, which stay with them."""
NAMED = 20
"""Lengths and records that a note names; the others are counted."""
_LAYERS = (TESTS, "restraint", "set_aside")
_KEPT = {
    TESTS: ("route", "from_station", "to_station", "tested_on", "result"),
    "restraint": ("route", "from_station", "to_station", "why"),
    "set_aside": ("route", "joint", "file", "row", "message"),
}
"""What is kept of a row that ended, to name it."""


def standing(store: Store, job: str) -> dict[str, list[dict[str, Any]]]:
    """Give what stands beside the joints of a job, by table."""
    return {layer: beside.listed(store, layer, "l.job = :job", job=job) for layer in _LAYERS}


def tell_of_tests_that_stay(
    before: Mapping[str, list[dict[str, Any]]], incoming: Incoming, result: Loaded, *, end_tests: bool
) -> None:
    """Say which tests stay though the file has none, or end as somebody says so.

    Parameters
    ----------
    before : mapping
        What stood before the load, as `standing` gives it.
    incoming : Incoming
    result : Loaded
        Gets `tests_stay` and `tests_ended`.
    end_tests : bool
        Whether tests end of which the file has none of their route.
    """
    tested = {str(row["route"]) for row in _rows(incoming, TESTS)}
    own = [row | {"route": _name(row, incoming, result)} for row in before[TESTS]]
    stays = [row for row in own if row["route"] not in tested and row["load_id"] not in result.taken_back]
    real = [row for row in stays if row["result"] != UNTESTED]
    routes = sorted({row["route"] for row in real})
    if end_tests:
        result.tests_ended = routes
    else:
        result.tests_stay = sorted({row["route"] for row in stays})
        if routes:
            result.notes.append(
                f"the file has no pressure tests of {', '.join(routes)}: those that this job brought before stay "
                f"({_listed(map(_test_words, real))}); if they are not tests of this main, load it with --end-tests"
            )


def tell(
    before: Mapping[str, list[dict[str, Any]]], incoming: Incoming, waiting: Collection[str], result: Loaded
) -> None:
    """Say what a load ends, changes and adds beside the joints, but for routes that wait as a whole.

    Parameters
    ----------
    before : mapping
        What stood before the load, as `standing` gives it.
    incoming : Incoming
    waiting : collection of str
        Routes of which every joint is left out.
    result : Loaded
        Gets `beside_changes`, and a note for each test.
    """
    brought = {layer: _rows(incoming, layer) for layer in _LAYERS}
    stood = {layer: [row | {"route": _name(row, incoming, result)} for row in before[layer]] for layer in _LAYERS}
    after, own = (
        {layer: [row for row in rows if row["route"] not in waiting] for layer, rows in every.items()}
        for every in (brought, stood)
    )
    waits = [_KIND[layer] for layer in _LAYERS for row in brought[layer]
             if row["route"] in waiting and row.get("result") != UNTESTED]  # fmt: skip
    if waits:
        counted = ", ".join(f"{kind}: {waits.count(kind)}" for kind in dict.fromkeys(waits))
        routes = ", ".join(sorted(waiting))
        result.notes.append(f"all joints of {routes} are left out, and what the file has of them waits, too: {counted}")
    tested = {str(row["route"]) for row in after[TESTS]}
    ending = own | {TESTS: [row for row in own[TESTS] if row["route"] in {*tested, *result.tests_ended}
                            or row["load_id"] in result.taken_back]}  # fmt: skip
    changes = [*_of_tests(ending[TESTS], after[TESTS], first=not any(before.values()))]
    for layer in _LAYERS[1:]:
        kept = set(map(_key, after[layer]))
        changes += [_change("ended", layer, row) for row in ending[layer] if _key(row) not in kept]
    result.beside_changes = changes
    _tell_of_tests([one for one in changes if one["layer"] == TESTS], after[TESTS], result)
    _tell_of_others(changes, incoming, result)


def of_load(store: Store, since: dt.date) -> list[dict[str, Any]]:
    """List what loads since a day ended, changed and added beside joints, and what went with loads undone since."""
    told = []
    for load, job, run, at, by in store.rows(
        "SELECT load_id, job, run, loaded_at, loaded_by FROM loads WHERE state = 'standing' AND loaded_at >= :since "
        "ORDER BY load_id",
        since=since.isoformat(),
    ):
        of = {"load": int(load), "job": job, "at": at, "by": by}
        told += [one | of for one in run_told(run).get("beside_changes", ())]
    for load, job, at, by in store.rows(
        "SELECT load_id, job, undone_at, undone_by FROM loads WHERE undone_at >= :since ORDER BY undone_at, load_id",
        since=since.isoformat(),
    ):
        now = standing(store, job)
        of = {"load": int(load), "job": job, "at": at, "by": by}
        for layer in _LAYERS:
            kept = {(_key(row), row.get("result")) for row in now[layer]}
            gone = beside.of_one_load(store, layer, int(load))
            told += [_change("undone", layer, row) | of for row in gone
                     if row.get("result") != UNTESTED and (_key(row), row.get("result")) not in kept]  # fmt: skip
    return told


def words(change: Mapping[str, Any]) -> str:
    """Say what changed beside the joints since a day.

    Examples
    --------
    >>> words({"what": "ended", "layer": "pressure_tests", "route": "A", "from_station": "0+00", "to_station": "4+20",
    ...     "tested_on": "2026-05-01", "result": "failed", "load": 3, "job": "Quarry", "at": "2026-06-02T08:00:00",
    ...     "by": "R. Vance"})
    '2026-06-02: pressure test A 0+00 to 4+20, 2026-05-01: failed: ended with load 3 (Quarry), by R. Vance'
    """
    load = f"load {change['load']} ({change['job']})"
    became = {
        "ended": f"ended with {load}",
        "changed": f"was {change.get('was')} before {load}",
        "came": f"came with {load}",
        "undone": f"gone, as {load} was undone",
    }[change["what"]]
    return (
        f"{change['at'][:10]}: {_KIND[change['layer']]} {_NAME[change['layer']](change)}: {became}, by {change['by']}"
    )


def _name(row: Mapping[str, Any], incoming: Incoming, result: Loaded) -> Any:
    """Name the route of a row as the load has it: one of a load that is taken back goes under the job's main."""
    if row["load_id"] in result.taken_back and incoming.main is not None and row["route"] is not None:
        return main_route(incoming.main, row["route"])
    return row["route"]


def _rows(incoming: Incoming, layer: str) -> list[dict[str, Any]]:
    return [{name: beside.plain(value) for name, value in row.items()} for row in incoming.tables[layer].to_pylist()]


def _key(row: Mapping[str, Any]) -> tuple[Any, ...]:
    """Give what a row is known by in a later load of its job."""
    if "result" in row:
        return tuple(row[name] for name in ("route", "from_station", "to_station", "tested_on"))
    if "from_station" in row:
        return tuple(row[name] for name in ("route", "from_station", "to_station"))
    return (row["route"], row["joint"]) if row["joint"] else (row["route"], None, row.get("original"))


def _change(what: str, layer: str, row: Mapping[str, Any], was: str | None = None) -> dict[str, Any]:
    told = {name: row.get(name) for name in _KEPT[layer]}
    return {"what": what, "layer": layer, **told} | ({"was": was} if was else {})


def _of_tests(
    before: Sequence[Mapping[str, Any]], after: Sequence[Mapping[str, Any]], *, first: bool
) -> Iterable[dict[str, Any]]:
    """Compare tests one by one; several of one length and day are told apart by their results."""
    old, new = ([row for row in rows if row["result"] != UNTESTED] for rows in (before, after))
    left = [(_key(row), row["result"]) for row in new]
    unmatched = []
    for row in old:
        if (_key(row), row["result"]) in left:
            left.remove((_key(row), row["result"]))
        else:
            unmatched.append(row)
    for row in unmatched:
        other = next((one for one in left if one[0] == _key(row)), None)
        if other is None:
            yield _change("ended", TESTS, row)
        else:
            left.remove(other)
            yield _change("changed", TESTS, dict(row) | {"result": other[1]}, was=row["result"])
    for key, result in [] if first else left:
        yield _change("came", TESTS, dict(zip(_KEPT[TESTS], (*key, result), strict=True)))


def _tell_of_tests(changes: Sequence[Mapping[str, Any]], after: Sequence[Mapping[str, Any]], result: Loaded) -> None:
    """Say of each test what becomes of it, those that did not pass first."""
    there = "by --end-tests" if result.tests_ended else "as the file does not have it"
    for one in sorted(changes, key=lambda one: one.get("was", one["result"]) == "passed"):
        test = f"pressure test {_test_words(one)}"
        if one["what"] == "changed":
            result.notes.append(f"{test} in this file; it was {one['was']} before")
        elif one["what"] == "came":
            result.notes.append(f"{test}: new with this file")
        else:
            others = [row for row in after if row["route"] == one["route"] and row["result"] != UNTESTED]
            has = f"; it has {_listed(map(_test_words, others))}" if others else ""
            failed = "" if one["result"] == "passed" else "; if that still holds, put it back into the job"
            result.notes.append(f"{test}: ends with this load, {there}{has}{failed}")


def _tell_of_others(changes: Sequence[Mapping[str, Any]], incoming: Incoming, result: Loaded) -> None:
    """Say which lengths are not to be restrained any more, and which records are not set aside any more."""
    lengths = [one for one in changes if one["layer"] == "restraint"]
    if lengths:
        result.notes.append(
            f"the file has no more that these lengths are to be restrained: {_listed(map(_length_words, lengths))}"
        )
    records = [one for one in changes if one["layer"] == "set_aside"]
    if not records:
        return
    joints = incoming.tables["joints"]
    known = set(zip(joints["route"].to_pylist(), joints["joint"].to_pylist(), strict=True))
    placed = [one for one in records if (one["route"], one["joint"]) in known]
    for some, became in (
        (placed, "are joints of this file now"),
        ([one for one in records if one not in placed], "are neither set aside nor in a joint of this file"),
    ):
        if some:
            result.notes.append(f"records that were set aside {became}: {_listed(map(beside.aside_name, some))}")


def _test_words(test: Mapping[str, Any]) -> str:
    day = f", {test['tested_on']}" if test.get("tested_on") else ""
    return f"{test['route']} {test['from_station']} to {test['to_station']}{day}: {test['result']}"


def _length_words(length: Mapping[str, Any]) -> str:
    why = f" ({length['why']})" if length.get("why") else ""
    return f"{length['route']} {length['from_station']} to {length['to_station']}{why}"


_KIND = {TESTS: "pressure test", "restraint": "to be restrained", "set_aside": "record set aside"}
_NAME = {TESTS: _test_words, "restraint": _length_words, "set_aside": beside.aside_name}


def _listed(said: Iterable[str]) -> str:
    every = list(said)
    more = f" and {len(every) - NAMED} more; --json lists them" if len(every) > NAMED else ""
    return f"{'; '.join(every[:NAMED])}{more}"
