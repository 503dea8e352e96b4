"""What is known of joints that are told: state, what other jobs left, findings, records, and what is beside them."""

from __future__ import annotations

import datetime as dt
from pathlib import PurePosixPath
from typing import TYPE_CHECKING, Any

import numpy as np

from asbuilt import units
from asbuilt.checks import CHECK_KINDS
from asbuilt.keys.fields import GAP_FIELDS, GAUGE_FIELDS
from asbuilt.register import beside, fields, layout, naming, question, service
from asbuilt.register.neighbours import add_neighbours
from asbuilt.register.store import Store, ints, quoted

if TYPE_CHECKING:
    from asbuilt.arrays import Floats, Ints

_GRAVEST = {code: number for number, code in enumerate(CHECK_KINDS)}
READING_UNIT = "reading_unit"
"""Key of what a load says of its job: the unit of what was read at its joints, as gaps and depths of the gauge."""
_READ_IN = {READING_UNIT: (*GAP_FIELDS, *GAUGE_FIELDS), "torque_unit": ("bolt_torque",)}
"""What is read in which unit, by its key of what a load says of its job."""
RECORD = tuple(name for name in layout.kinds("inspections") if name not in ("joint_uid", "content"))
"""What a record of a joint tells."""


def known_of(store: Store, fid: Ints, away: Floats, unit: str | None) -> list[dict[str, Any]]:
    """Gather all that the register knows of joints, in their order."""
    if not len(fid):
        return []
    store.stage("found", {"fid": fid})
    names = [name for name in layout.kinds("joints") if name != "content"]
    joints = list(
        store.dicts(
            f"SELECT {quoted(names, 'j.')}, l.job FROM found t JOIN joints j ON j.fid = t.fid "
            "JOIN loads l ON l.load_id = j.load_id ORDER BY t.nr",
            [*names, "job"],
        )
    )
    per_metre = 1.0 if unit is None else 1.0 / float(units.METRES[unit])
    first = ("joint_uid", "route", "joint", "station")
    told = []
    for joint, metres in zip(joints, away.tolist(), strict=True):
        known = _with_plain_days(joint)
        far = None if np.isnan(metres) else round(metres * per_metre, 3)
        told.append(
            {
                **{name: known.pop(name) for name in first}, "away": far, "away_unit": unit,
                "service": "in-service", "replaced_by": None, "previous": None, "next": None,
                "findings_count": known.pop("findings"), **known, "findings": [], "photos": [], "history": [],
                "earlier": [],
            }
        )  # fmt: skip
    _add_service(store, told)
    add_neighbours(store, told)
    _add_earlier(store, told)
    _add_of_runs(store, told)
    _add_findings(store, told)
    _add_history(store, told)
    naming.add(store, told)
    beside.add_lengths(store, told)
    beside.add_set_aside(store, told)
    return told


def _add_service(store: Store, told: list[dict[str, Any]]) -> None:
    """Tell of joints that were replaced or abandoned."""
    for nr, state, by in store.rows(
        "SELECT t.nr, s.service, s.by_route FROM found t JOIN joints j ON j.fid = t.fid "
        f"JOIN ({service.LATEST}) s ON s.joint_uid = j.joint_uid"
    ):
        told[nr] |= {"service": state, "replaced_by": by}


def _add_earlier(store: Store, told: list[dict[str, Any]]) -> None:
    """Add the last state that each other job left of a joint, with its findings: what is known need not be latest."""
    read = fields.READING
    from_loads = [group.load_column for group in (*fields.GROUPS, read)]
    names = ("load_id", "job", "loaded_at", *from_loads, *question.DEFLECTION)
    found = store.dicts(
        f"SELECT t.nr, e.load_id, l.job, l.loaded_at, {quoted([*from_loads, *question.DEFLECTION], 'e.')} "
        "FROM found t "
        "JOIN joints j ON j.fid = t.fid JOIN loads p ON p.load_id = j.load_id JOIN joints_earlier e "
        "ON e.joint_uid = j.joint_uid JOIN loads l ON l.load_id = e.load_id "
        "WHERE l.state = 'standing' AND l.job <> p.job ORDER BY t.nr, e.fid",
        ["nr", *names],
    )
    latest: list[dict[str, dict[str, Any]]] = [{} for _ in told]
    for state in found:
        nr = state.pop("nr")
        for group in fields.GROUPS:
            if state.pop(group.load_column) not in (None, state["load_id"]):
                # It had this from another job, which is told by itself.
                state |= {name: None for name in group.columns if name in state} | {group.told_by: group.nothing}
        if state.pop(read.load_column) not in (None, state["load_id"]):
            state |= {name: None for name in read.columns if name in state}
        latest[nr][state["job"]] = state | {"findings": []}
    by_uid: dict[str, list[dict[str, Any]]] = {}
    by_load = [{state["load_id"]: state for state in states.values()} for states in latest]
    for nr, load, uid, code, severity, message in store.rows(
        "SELECT t.nr, f.load_id, f.finding_uid, f.code, f.severity, f.message FROM found t "
        "JOIN joints j ON j.fid = t.fid JOIN findings f ON f.joint_uid = j.joint_uid "
        "WHERE f.state = 'superseded' ORDER BY t.nr, f.fid"
    ):
        if load in by_load[nr]:
            finding = {"finding_uid": uid, "code": code, "severity": severity, "message": message}
            finding |= {"mark": None, "marks": []}
            by_load[nr][load]["findings"].append(finding)
            by_uid.setdefault(uid, []).append(finding)
    _add_marks(store, by_uid, "superseded")
    for joint, states in zip(told, latest, strict=True):
        joint["earlier"] = sorted(states.values(), key=lambda state: state["load_id"])


def _add_of_runs(store: Store, told: list[dict[str, Any]]) -> None:
    """Tell on which day the place of each joint was surveyed, where its job says it, and the unit of what was read."""
    # The place, and a reading, are from the load of the joint's state where no other is named.
    of = [joint["place_load_id"] or joint["load_id"] for joint in told]
    read = [joint[fields.READING.load_column] or joint["load_id"] for joint in told]
    loads = {*of, *read, *(state["load_id"] for joint in told for state in joint["earlier"])}
    store.stage("runs_of", {"load": ints(sorted(loads))})
    day, unit = store.of_run(fields.SURVEYED_ON), store.of_run(READING_UNIT)
    found = store.rows(f"SELECT l.load_id, {day}, {unit} FROM loads l JOIN runs_of s ON s.load = l.load_id")
    days, units_read = {load: one for load, one, _ in found}, {load: one for load, _, one in found}
    for joint, placed_by, read_by in zip(told, of, read, strict=True):
        joint[fields.SURVEYED_ON] = days.get(placed_by)
        joint[READING_UNIT] = None if joint["gap_mean"] is None else units_read.get(read_by)
        for state in joint["earlier"]:
            state[fields.SURVEYED_ON] = days.get(state["load_id"])


def _add_findings(store: Store, told: list[dict[str, Any]]) -> None:
    names = [
        name for name in layout.kinds("findings") if name not in ("joint_uid", "route", "joint", "ended_by", "state")
    ]
    by_uid: dict[str, list[dict[str, Any]]] = {}
    found = store.dicts(
        f"SELECT t.nr, {quoted(names, 'f.')} FROM found t JOIN joints j ON j.fid = t.fid "
        "JOIN findings f ON f.joint_uid = j.joint_uid WHERE f.state = 'standing' ORDER BY t.nr, f.fid",
        ["nr", *names],
    )
    for finding in found:
        nr = finding.pop("nr")
        finding |= {"mark": None, "marks": []}
        told[nr]["findings"].append(finding)
        by_uid.setdefault(finding["finding_uid"], []).append(finding)
    for joint in told:
        # The gravest first, and what others rest on before them, as the checks have it.
        joint["findings"].sort(key=lambda finding: _GRAVEST.get(finding["code"], len(_GRAVEST)))
    _add_marks(store, by_uid, "standing")


def _add_marks(store: Store, by_uid: dict[str, list[dict[str, Any]]], state: str) -> None:
    """Add the marks of findings that stand, or that did."""
    marks = store.rows(
        "SELECT DISTINCT m.fid, m.finding_uid, m.mark, m.note, m.marked_by, m.marked_at FROM found t "
        "JOIN joints j ON j.fid = t.fid JOIN findings f ON f.joint_uid = j.joint_uid "
        "JOIN finding_marks m ON m.finding_uid = f.finding_uid WHERE f.state = :state ORDER BY m.fid",
        state=state,
    )
    for _, uid, mark, note, by, at in marks:
        for finding in by_uid.get(uid, ()):
            finding["mark"] = mark
            finding["marks"].append({"mark": mark, "note": note, "by": by, "at": at})


def _add_history(store: Store, told: list[dict[str, Any]]) -> None:
    names = list(RECORD)
    found = store.dicts(
        f"SELECT t.nr, {quoted(names, 'i.')}, l.job, l.loaded_at, {', '.join(map(store.of_run, _READ_IN))} "
        "FROM found t JOIN joints j ON j.fid = t.fid "
        "JOIN inspections i ON i.joint_uid = j.joint_uid JOIN loads l ON l.load_id = i.load_id "
        "ORDER BY t.nr, CASE WHEN i.inspected_on IS NULL THEN 1 ELSE 0 END, i.inspected_on, i.load_id, i.fid",
        ["nr", *names, "job", "loaded_at", *_READ_IN],
    )
    for record in found:
        joint = told[record.pop("nr")]
        record = _with_plain_days(record)
        for unit, read in _READ_IN.items():
            if all(record[name] is None for name in read):
                record[unit] = None
        joint["history"].append({name: value for name, value in record.items() if value is not None})
        files = [PurePosixPath(one).name for one in (record["photo_files"] or "").split("; ") if one]
        for photo in files or [record["photo"]]:
            if photo is not None and photo not in joint["photos"]:
                joint["photos"].append(photo)


_DAYS = {name for table in ("joints", "inspections") for name, kind in layout.kinds(table).items() if kind == "date"}


def _with_plain_days(row: dict[str, Any]) -> dict[str, Any]:
    """Write the days of a joint or a record as texts, as one of the stores gives them already."""
    for name in _DAYS & row.keys():
        if isinstance(row[name], dt.date):
            row[name] = row[name].isoformat()
    return row
