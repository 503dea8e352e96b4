"""What changed joints keep of the register's present state, or get back of it, where their file says something else."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt import units
from asbuilt.arrays import Ints, as_mask
from asbuilt.register import fields, merge
from asbuilt.register.incoming import Incoming
from asbuilt.register.layout import run_told
from asbuilt.register.loaded import Loaded
from asbuilt.register.store import PART, Store, quoted, today

TOLD = 5
"""Joints that a note names; the others are counted."""
NAMING = ("route", "joint", "station", "distance", "station_number", "station_unit")
"""Where along which route a joint is: two jobs may tell it by two routes, of which the register's stays."""
_OF_GROUPS = (*(group.load_column for group in fields.GROUPS), fields.READING.load_column)
Kept = dict[str, dict[int, Any]]
"""What some joints keep of the register, or get back, instead of what the file says: by column, and by index."""


def kept_columns(
    store: Store,
    incoming: Incoming,
    decision: merge.Decision,
    pairs: merge.Candidates,
    register: Mapping[str, Any],
    fid: Ints,
    result: Loaded,
) -> tuple[Kept, Ints, Ints]:
    """Give what changed joints keep of the register, column by column, and the joints to which some comes back.

    Last come the joints whose places stay only as they are the surer ones.
    """
    rows = np.flatnonzero(decision.what == merge.UPDATED)
    if not len(rows):
        return {}, rows, rows
    jobs, surveyed = _jobs(store)
    names = list(dict.fromkeys([*NAMING, *fields.NEEDED, "gave_way"]))
    columns: Kept = {}
    to = incoming.run["coordinate_unit"]
    day = today().isoformat()
    contradicted = _contradicted(incoming)
    older: list[tuple[int, str, str]] = []
    undated: list[tuple[int, str]] = []
    unrestrained: list[int] = []
    back: list[int] = []
    less_sure: list[int] = []
    surer: set[int] = set()
    gave_way: list[tuple[int, int, str]] = []
    away = pairs.away[decision.pair]
    for some in (rows[at : at + PART] for at in range(0, len(rows), PART)):
        elsewhere = ~pairs.same_route[decision.pair[some]]
        present = _present(store, incoming, fid[some], some, elsewhere, names)
        own, others = (_said_before(store, incoming, of) if present else {} for of in ("l.job = :job", "l.job <> :job"))
        files = _file_rows(incoming, names, np.array([row for row, _ in present], dtype=np.int64))
        for (row, known), file in zip(present, files, strict=True):
            file |= {fields.SURVEYED_ON: incoming.surveyed_on, fields.CONTRADICTED: row in contradicted}
            file[fields.AWAY] = float(away[row])
            known[fields.SURVEYED_ON] = surveyed.get(known[fields.PLACE] or known["load_id"])
            said = fields.Said(own.get(row, {}), others.get(row, {}))
            kept = fields.keep(file, known, said, incoming.job, jobs, to, day)
            if fields.gives_way(file, known, said, incoming.job, jobs, to, day):
                less_sure.append(row)
                surer.add(int(known[fields.PLACE] or known["load_id"]))
            kept["gave_way"] = fields.gave_way(file, kept)
            if fields.DEFLECTION in kept and fields.judged_unrestrained(file, kept):
                unrestrained.append(row)
            if any(kept.get(name) not in (None, known[name] or known["load_id"]) for name in _OF_GROUPS):
                back.append(row)
            days = str(file["inspected_on"]), str(known["inspected_on"])
            if kept.get(fields.INSPECTION) is not None and file["inspection"] != "none" and days[0] < days[1]:
                older.append((row, *days))
            if fields.dated_by_another(file, known, kept, jobs, incoming.job):
                undated.append((row, days[1]))
            if not pairs.same_route[decision.pair[row]]:
                kept |= {name: known[name] for name in NAMING}
                kept["distance"] *= units.factor(known["coordinate_unit"], to)
            for name, value in kept.items():
                columns.setdefault(name, {})[row] = value
        gave_way += _given_way(store, incoming)
    _keep_numbers_left_out(incoming, rows, register["joint"][decision.pair[rows]], columns)
    _tell_of_older(incoming, older, result)
    _tell_of_undated(incoming, undated, result)
    _tell_of_those_that_gave_way(incoming, gave_way, columns.get("inspected_on", {}), result)
    _tell_of_unrestrained(incoming, unrestrained, result)
    result.gave_way_to = sorted(surer)
    return columns, np.array(back, dtype=np.int64), np.array(less_sure, dtype=np.int64)


def _keep_numbers_left_out(incoming: Incoming, rows: Ints, numbers: Any, columns: Kept) -> None:
    """Let joints keep their numbers where the log has none: the name that was made of a station is no number."""
    joint, station = (incoming.text(name).take(pa.array(rows)) for name in ("joint", "station"))
    unnumbered = np.flatnonzero(as_mask(pc.starts_with(joint, "at ")))
    for at in unnumbered.tolist():
        row = int(rows[at])
        if row not in columns.get("joint", {}) and str(joint[at]).startswith(f"at {station[at]}"):
            columns.setdefault("joint", {})[row] = numbers[at]


def _jobs(store: Store) -> tuple[dict[int, str], dict[int, str | None]]:
    """Give the job of each load, and the day of its survey where the job says one."""
    jobs, surveyed = {}, {}
    for number, job, run in store.rows("SELECT load_id, job, run FROM loads"):
        jobs[int(number)] = str(job)
        surveyed[int(number)] = run_told(run).get(fields.SURVEYED_ON)
    return jobs, surveyed


def _contradicted(incoming: Incoming) -> set[int]:
    """Find the joints whose survey and reading contradict one another, by index."""
    codes = np.array(incoming.tables["findings"]["code"].to_pylist(), dtype=object)
    return set(incoming.finding_joint[codes == "deflection-conflict"].tolist())


def _tell_of_older(incoming: Incoming, older: Sequence[tuple[int, str, str]], result: Loaded) -> None:
    """Say which inspections are of an earlier day than the register's, which hold."""
    if not older:
        return
    joints = incoming.tables["joints"]
    named = [f"{joints['route'][row]} {joints['joint'][row]}: {day}, there {known}" for row, day, known in older[:TOLD]]
    more = ", ..." if len(older) > TOLD else ""
    result.notes.append(
        f"the inspections of {len(older)} joints are of an earlier day than those that the register has "
        f"({'; '.join(named)}{more}): the later ones hold, and these are in the joints' history"
    )


def _tell_of_undated(incoming: Incoming, undated: Sequence[tuple[int, str]], result: Loaded) -> None:
    """Say which inspections without a day take the place of those that another job dated."""
    if not undated:
        return
    joints = incoming.tables["joints"]
    named = [f"{joints['route'][row]} {joints['joint'][row]}: there {day}" for row, day in undated[:TOLD]]
    more = ", ..." if len(undated) > TOLD else ""
    count = "1 joint has" if len(undated) == 1 else f"{len(undated)} joints have"
    result.notes.append(
        f"{count} an inspection of another job with a day, and one without in this file ({'; '.join(named)}{more}): "
        "this file's holds now, as the load that comes last. If it was made before, undo this load; date the "
        "inspections in the log, and place and load the job again"
    )


def _given_way(store: Store, incoming: Incoming) -> list[tuple[int, int, str]]:
    """Give the joints just asked for whose later inspection by another job gave way to this job's, with both."""
    found = store.rows(
        "SELECT k.row, i.load_id, max(i.inspected_on) FROM kept k JOIN joints j ON j.fid = k.fid "
        "JOIN loads p ON p.load_id = coalesce(j.inspection_load_id, j.load_id) AND p.job = :job "
        "JOIN inspections i ON i.joint_uid = j.joint_uid JOIN loads l ON l.load_id = i.load_id "
        "WHERE i.state = 'standing' AND l.job <> :job AND i.inspected_on <= :today "
        "AND j.inspected_on >= i.inspected_on GROUP BY k.row, i.load_id ORDER BY i.load_id, k.row",
        job=incoming.job,
        today=today().isoformat(),
    )
    return [(int(row), int(load), str(day)) for row, load, day in found]


def _tell_of_those_that_gave_way(
    incoming: Incoming, found: Sequence[tuple[int, int, str]], kept: Mapping[int, Any], result: Loaded
) -> None:
    """Say where a later inspection that another job brought gave way to one that this file takes back or dates earlier.

    What it came to was not kept with the joint; its record stands in the history. `kept` are the days that stay.
    """
    by_load: dict[int, list[int]] = {}
    own = _file_rows(incoming, ["inspected_on"], np.array([row for row, *_ in found], dtype=np.int64))
    for (row, load, day), file in zip(found, own, strict=True):
        dated = kept.get(row, file["inspected_on"])
        if dated is None or str(dated) < day:
            by_load.setdefault(load, []).append(row)
    joints = incoming.tables["joints"]
    for load, rows in sorted(by_load.items()):
        named = ", ".join(f"{joints['route'][row]} {joints['joint'][row]}" for row in rows[:TOLD])
        more = ", ..." if len(rows) > TOLD else ""
        result.notes.append(
            f"the inspections of {'1 joint' if len(rows) == 1 else f'{len(rows)} joints'} ({named}{more}) that load "
            f"{load} brought gave way to later ones, "
            "which this file takes back or dates earlier: their records are in the joints' history, but not in their "
            f"present state. Undo load {load}, and load its file again behind this one"
        )


def _tell_of_unrestrained(incoming: Incoming, rows: Sequence[int], result: Loaded) -> None:
    """Say which joints the file judges by the limit of joints that are not restrained, where the register's are."""
    if not rows:
        return
    joints = incoming.tables["joints"]
    named = ", ".join(f"{joints['route'][row]} {joints['joint'][row]}" for row in rows[:TOLD])
    more = ", ..." if len(rows) > TOLD else ""
    result.notes.append(
        f"{'1 joint is' if len(rows) == 1 else f'{len(rows)} joints are'} restrained in the register ({named}{more}), "
        "and this file says nothing of that: it judges them by the limit of joints that are not restrained, so "
        "deflection, limit and verdict there stay as they were. Write in the column Restrained of the log which joints "
        "are, and place and load the job again"
    )


def _present(
    store: Store, incoming: Incoming, fid: Ints, rows: Ints, elsewhere: Any, names: list[str]
) -> list[tuple[int, dict[str, Any]]]:
    """Ask for the present states of joints that other jobs speak of too; each with the index of its incoming joint."""
    store.stage("kept", {"fid": fid, "row": rows, "elsewhere": elsewhere.astype(np.int64)})
    found = list(
        store.dicts(
            f"SELECT k.row, {quoted(names, 'j.')} FROM kept k JOIN joints j ON j.fid = k.fid "
            "WHERE k.elsewhere = 1 OR EXISTS (SELECT 1 FROM loads l WHERE l.load_id = j.load_id AND l.job <> :job) "
            "OR EXISTS (SELECT 1 FROM joints_earlier e JOIN loads l ON l.load_id = e.load_id "
            "WHERE e.joint_uid = j.joint_uid AND l.job <> :job AND l.state = 'standing') ORDER BY k.nr",
            ["row", *names],
            job=incoming.job,
        )
    )
    if not found:
        return []
    against = store.rows(
        "SELECT DISTINCT k.row FROM kept k JOIN joints j ON j.fid = k.fid JOIN findings f ON f.joint_uid = j.joint_uid "
        f"WHERE f.state = 'standing' AND {fields.of_reading('f', 'j')}"
    )
    read_against = {int(row) for (row,) in against}
    of = [int(known.pop("row")) for known in found]
    return [(row, known | {fields.READ_AGAINST: row in read_against}) for row, known in zip(of, found, strict=True)]


def _said_before(store: Store, incoming: Incoming, of: str) -> dict[int, dict[str, dict[str, Any]]]:
    """Give what was last said of each group and fact by jobs, by incoming joint, of the joints just asked for.

    `of` is SQL that tells which jobs are meant, whose loads are `l`.
    """
    said: dict[int, dict[str, dict[str, Any]]] = {}
    for group in (*fields.GROUPS, *fields.FACTS):
        found = store.dicts(
            f"SELECT k.row, e.coordinate_unit, e.load_id, {quoted(group.columns, 'e.')} FROM kept k "
            "JOIN joints j ON j.fid = k.fid "
            "JOIN joints_earlier e ON e.joint_uid = j.joint_uid JOIN loads l ON l.load_id = e.load_id "
            f"WHERE {of} AND l.state = 'standing' AND coalesce(e.{group.load_column}, e.load_id) = e.load_id "
            f"{_still_said(group.load_column)} ORDER BY e.fid",
            ["row", "coordinate_unit", group.load_column, *group.columns],
            job=incoming.job,
        )
        for one in found:
            fields.carry(one, str(one.pop("coordinate_unit")), incoming.run["coordinate_unit"])
            said.setdefault(int(one.pop("row")), {})[group.load_column] = one
    return said


def _still_said(load_column: str) -> str:
    """Give SQL that leaves out what the job of a state `e` and its load `l` took back while another's state held.

    The record that stands of the job has it no more then. No index of days is to be used for it: a job has many on one.
    """
    name = fields.OF_RECORDS.get(load_column)
    if name is None:
        return ""
    return (
        f"AND (e.{name} IS NULL OR EXISTS (SELECT 1 FROM inspections i JOIN loads o ON o.load_id = i.load_id "
        f"WHERE i.joint_uid = e.joint_uid AND i.state = 'standing' AND o.job = l.job "
        f"AND coalesce(i.{name}, NULL) = e.{name}))"
    )


def _file_rows(incoming: Incoming, names: Sequence[str], rows: Ints) -> list[dict[str, Any]]:
    """Give some joints as the file has them, by column."""
    columns = [file_column(incoming, name, rows) for name in names]
    return [dict(zip(names, cells, strict=True)) for cells in zip(*columns, strict=True)]


def file_column(incoming: Incoming, name: str, rows: Ints) -> list[Any]:
    """Give a column of some joints as the file has it; None where it has none."""
    numbers = {"station_number": incoming.station_number, "easting": incoming.easting, "northing": incoming.northing}
    if name in numbers:
        own: list[Any] = numbers[name][rows].tolist()
        return own
    same = {
        "station_unit": incoming.run["station_unit"], "size_unit": incoming.size_unit,
        "coordinate_unit": incoming.run["coordinate_unit"], "load_id": None,
    }  # fmt: skip
    table = incoming.tables["joints"]
    if name in same or name not in table.column_names:
        return [same.get(name)] * len(rows)
    told: list[Any] = table[name].take(pa.array(rows)).to_pylist()
    return told
