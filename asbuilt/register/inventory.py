"""What is in a register: its jobs and mains, and how complete inspections are, by job, crew, year and item."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from asbuilt.register import beside, service, waiting
from asbuilt.register.damage import refuse_damaged
from asbuilt.register.formats import format_of
from asbuilt.register.opening import reading
from asbuilt.register.question import small
from asbuilt.register.store import Store, quoted
from asbuilt.schema import LAYERS

STATES = ("complete", "incomplete", "failed", "none")
_YEAR = "coalesce(substr(CAST(j.inspected_on AS varchar(10)), 1, 4), 'undated')"
_OWN = (
    "(SELECT 1 AS present, j.joint_uid, l.job, l.load_id, j.inspection, j.inspected_on FROM joints j "
    "JOIN loads l ON l.load_id = coalesce(j.inspection_load_id, j.load_id) UNION ALL "
    "SELECT 0, e.joint_uid, l.job, l.load_id, e.inspection, e.inspected_on FROM joints_earlier e "
    "JOIN loads l ON l.load_id = e.load_id WHERE e.fid IN (SELECT max(x.fid) FROM joints_earlier x "
    "JOIN loads y ON y.load_id = x.load_id WHERE y.state = 'standing' "
    "AND coalesce(x.inspection_load_id, x.load_id) = x.load_id GROUP BY x.joint_uid, y.job) "
    "AND EXISTS (SELECT 1 FROM joints n JOIN loads p ON p.load_id = coalesce(n.inspection_load_id, n.load_id) "
    "WHERE n.joint_uid = e.joint_uid AND p.job <> l.job))"
)
"""What each job's own inspection of a joint came to, as the last of its loads whose inspection was the joint's state
left it: a later job that puts a failure right takes nothing from what the earlier one has to answer for."""
_INSPECTED = f"(SELECT * FROM {_OWN} o WHERE o.present = 1 OR o.inspection <> 'none')"
"""The same, without what a job did not inspect and a later one did: it is of no crew and no year."""
# The crew of the record that a state is from, of whichever load of its job: a corrected log may change a joint and
# leave its record as it was. Names that differ in capitals alone are one, as they are for --crew.
_CREW = (
    "(SELECT DISTINCT k.joint_uid, k.job, k.inspection, CASE WHEN i.joint_uid IS NULL THEN 'no record' "
    f"ELSE coalesce(n.crew, 'not named') END AS crew FROM {_INSPECTED} k LEFT JOIN inspections i "
    "ON i.joint_uid = k.joint_uid AND i.state = 'standing' "
    "AND i.load_id IN (SELECT q.load_id FROM loads q WHERE q.job = k.job) AND (i.inspected_on = k.inspected_on OR "
    "(i.inspected_on IS NULL AND k.inspected_on IS NULL)) LEFT JOIN "
    "crews n ON n.said = i.crew) j"
)
ITEMS = tuple(
    name
    for name, about in LAYERS["inspections"].columns.items()
    if about.domain is not None and name not in ("kind", "latest")
)
"""Items of an inspection whose values are words of a list."""


def info(register: Path | str) -> dict[str, Any]:
    """Tell what is in a register, after reading it whole: a damaged one is refused.

    Parameters
    ----------
    register : path of a register, or a postgresql:// address

    Returns
    -------
    dict
        As `asbuilt info --json` prints it.

    Raises
    ------
    AsbuiltError
        When the register cannot be read.
    """
    with reading(register) as store:
        refuse_damaged(store)
        return _info(store)


_SAID = {
    "loads": ("load_id", "job", "file", "loaded_at", "loaded_by", "state", "undone_at"),
    "finding_marks": ("finding_uid", "mark", "note", "marked_by", "marked_at"),
    "settled": ("job", "joint_uid", "decision", "note", "settled_by", "settled_at"),
    "joint_service": ("joint_uid", "service", "note", "noted_by", "noted_at"),
}
"""What every change of a register is told by: two copies that went on apart differ in these."""


def apart(register: Path | str, other: Path | str) -> dict[str, Any]:
    """Tell in which loads, marks and notes two registers differ that were copies of one another.

    Parameters
    ----------
    register, other : path of a register, or a postgresql:// address

    Returns
    -------
    dict
        "register" and "other" as named; under "only_here" and "only_there" the rows of the tables loads,
        finding_marks, settled and joint_service that only the one has.

    Raises
    ------
    AsbuiltError
        When a register cannot be read.
    """
    rows = []
    for name in (register, other):
        with reading(name) as store:
            rows.append({table: _said(store, table) for table in _SAID})
    here, there = rows
    only = {
        side: {table: [dict(zip(_SAID[table], one, strict=True)) for one in some[table] if one not in rest[table]]
               for table in _SAID}
        for side, some, rest in (("only_here", here, there), ("only_there", there, here))
    }  # fmt: skip
    return {"register": str(register), "other": str(other), **only}


def _said(store: Store, table: str) -> list[tuple[Any, ...]]:
    return store.rows(f"SELECT {quoted(_SAID[table])} FROM {table} ORDER BY fid")


def _info(store: Store) -> dict[str, Any]:
    _stage_crews(store)
    out = store.rows(f"SELECT o.service, count(*) FROM ({service.LATEST}) o GROUP BY o.service ORDER BY o.service")
    return {
        "register": store.name,
        "crs": store.crs.name,
        "format": format_of(store),
        "joints": int(store.rows("SELECT count(*) FROM joints")[0][0]),
        "inspections": int(store.rows("SELECT count(*) FROM inspections WHERE state = 'standing'")[0][0]),
        "out_of_service": {str(state): int(count) for state, count in out if state != "in-service"},
        "waiting": waiting.counted(waiting.waiting(store)),
        "pressure_tests": beside.listed(store, "pressure_tests"),
        "restraint": beside.listed(store, "restraint"),
        "set_aside": beside.listed(store, "set_aside"),
        "jobs": list(
            store.dicts(
                "SELECT l.job, count(*), min(l.loaded_at), max(l.loaded_at), sum(l.joints_new) FROM loads l "
                "WHERE l.state = 'standing' GROUP BY l.job ORDER BY min(l.load_id)",
                ("job", "loads", "first_loaded_at", "last_loaded_at", "joints_brought"),
            )
        ),
        "mains": sorted(
            store.dicts(
                "SELECT j.route, count(DISTINCT j.joint_uid), min(i.inspected_on), max(i.inspected_on) FROM joints j "
                "LEFT JOIN inspections i ON i.joint_uid = j.joint_uid AND i.state = 'standing' "
                "GROUP BY j.route",
                ("route", "joints", "first_inspected_on", "last_inspected_on"),
            ),
            key=lambda main: str(main["route"]),
        ),
        "complete": {
            "job": _by(store, "j.job", f"{_OWN} j"),
            "crew": _by(store, "j.crew", _CREW),
            "year": _by(store, _YEAR, f"{_INSPECTED} j"),
        },
        "items": {name: _item(store, name) for name in ITEMS},
    }


def _stage_crews(store: Store) -> None:
    """Stage each crew as logs spell it, with the one spelling by which it is told.

    Told by the program, as a store may know small letters of ASCII alone, and each has an order of its own.
    """
    said = sorted({str(crew) for (crew,) in store.rows(
        "SELECT DISTINCT crew FROM inspections WHERE state = 'standing' AND crew IS NOT NULL"
    )})  # fmt: skip
    # Spellings go up in order, so that the last of those of one name stays.
    told = {small(one): one for one in said}
    store.stage("crews", {"said": said, "crew": [told[small(one)] for one in said]})


def _by(store: Store, what: str, source: str) -> list[dict[str, Any]]:
    """Count joints by the state of their inspection, for each value of something."""
    counts = ", ".join(f"sum(CASE WHEN j.inspection = '{state}' THEN 1 ELSE 0 END)" for state in STATES)
    sql = f"SELECT {what}, count(*), {counts} FROM {source} GROUP BY {what}"
    return [
        {"of": row[0], "joints": int(row[1])} | {state: int(n) for state, n in zip(STATES, row[2:], strict=True)}
        for row in sorted(store.rows(sql), key=lambda row: str(row[0]))
    ]


def _item(store: Store, name: str) -> dict[str, int]:
    """Count the records that stand by what they say of an item."""
    found = store.rows(
        f"SELECT coalesce(i.{name}, 'blank'), count(*) FROM inspections i WHERE i.state = 'standing' "
        f"GROUP BY coalesce(i.{name}, 'blank')"
    )
    return {str(value): int(count) for value, count in sorted(found)}
