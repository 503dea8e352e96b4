"""A load undone: joints go back to the state before it, and what it brought stays among the undone."""

from __future__ import annotations

import json
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np

from asbuilt.checks import CHECK_KINDS
from asbuilt.errors import AsbuiltError, InputFileError
from asbuilt.register import fields, layout
from asbuilt.register.layout import run_told
from asbuilt.register.opening import changing
from asbuilt.register.store import Store, now, quoted, who
from asbuilt.register.without import Without, end_what_gave_way, refuse_under, without
from asbuilt.register.without import write as write_states


@dataclass(frozen=True)
class Undone:
    """What came of undoing a load."""

    register: str
    load: int
    job: str
    file: str
    joints_removed: int
    """Joints that no other load knows."""
    joints_restored: int
    """Joints of which the load had said something, and that are as they were before it."""
    inspections_undone: int
    inspections_restored: int
    """Inspections that the load had superseded, and that stand again."""
    dry_run: bool = False
    """Nothing was changed: this is what undoing it would do."""
    undone_with: list[int] = field(default_factory=list)
    """Loads that were undone with it: all their joints were left out, and their files stand under mains since."""


class _NotMeant(AsbuiltError):
    """Raised to take back what was only tried."""


def undo(load: int, into: Path | str, *, by: str | None = None, dry_run: bool = False) -> Undone:
    """Undo a load of a register, whole or not at all.

    Parameters
    ----------
    load : int
        Number of the load.
    into : path of the register, or a postgresql:// address
    by : str, optional
        Who undoes it; the user of this machine, if left out.
    dry_run : bool
        Only tell what would happen.

    Raises
    ------
    InputFileError
        When there is no such load, it was undone already, or a later load of the same job rests on it.
    """
    try:
        with changing(into) as store:
            job, file = _check(store, load)
            undone = take_back(store, load, job, file, who(by))
            if dry_run:
                raise _NotMeant
    except _NotMeant:
        return replace(undone, dry_run=True)
    return undone


def _check(store: Store, load: int) -> tuple[str, str]:
    found = store.rows("SELECT job, file, state, undone_at, undone_by FROM loads WHERE load_id = :load", load=load)
    if not found:
        numbers = [str(number) for (number,) in store.rows("SELECT load_id FROM loads ORDER BY load_id")]
        raise InputFileError(f"{store.name}: there is no load {load}; its loads are {', '.join(numbers) or 'none'}")
    job, file, state, undone_at, undone_by = found[0]
    if state == "undone":
        raise InputFileError(f"{store.name}: load {load} was undone already, {undone_at} by {undone_by}")
    later = store.rows(
        "SELECT load_id FROM loads WHERE job = :job AND state = 'standing' AND load_id > :load ORDER BY load_id DESC",
        job=job,
        load=load,
    )
    if later:
        raise InputFileError(
            f"{store.name}: load {later[0][0]} is a later one of the same job and rests on load {load}; undo it first: "
            f"asbuilt load --undo {later[0][0]} --into {store.name}"
        )
    refuse_if_rested_on(store, load, job)
    return job, file


def refuse_if_rested_on(store: Store, load: int, job: str) -> None:
    """Refuse to undo a load of a job under one of another job that rests on it.

    Raises
    ------
    InputFileError
    """
    for number, run in store.rows(
        "SELECT load_id, run FROM loads WHERE state = 'standing' AND load_id > :load", load=load
    ):
        if load in run_told(run).get("records_of_loads", ()):
            what = f"brought records that load {load} had brought before, which were not entered twice"
            refuse_under(store, number, what)
    twice = store.rows(
        "SELECT max(o.load_id) FROM inspections i JOIN inspections o ON o.joint_uid = i.joint_uid "
        "AND o.content = i.content AND o.load_id > :load "
        "JOIN loads a ON a.load_id = i.load_id JOIN loads b ON b.load_id = o.load_id "
        "WHERE i.ended_by = :load AND a.job <> b.job",
        load=load,
    )[0][0]
    if twice is not None:
        what = f"brought records that load {load} had ended in another job's log, and that would be there twice"
        refuse_under(store, twice, what)
    _refuse_if_it_kept_joints_out(store, load, job)


def _refuse_if_it_kept_joints_out(store: Store, load: int, job: str) -> None:
    """Refuse where joints of a later load were left out as they contradicted what the load says: else they might not.

    That their job was loaded again since, or that somebody settled that they stay out, leaves that as it was.
    """
    before_mains = before_their_mains(store, load, job)
    for number, one in _left_out(store, load, job):
        if number not in before_mains:
            at = f"route {one['route']}, joint {one['joint']}"
            refuse_under(store, number, f"left joints out, as they contradict what load {load} says ({at})")


def _left_out(store: Store, load: int, job: str) -> list[tuple[int, dict[str, Any]]]:
    """Give the joints that later loads of other jobs left out as they contradicted what a load says, by their loads."""
    later = store.rows(
        "SELECT load_id, conflicts FROM loads WHERE state = 'standing' AND load_id > :load AND job <> :job "
        "AND joints_left_out > 0 ORDER BY load_id",
        load=load,
        job=job,
    )
    found = [(int(number), one) for number, told in later for one in json.loads(told or "[]")]
    rest = _stood_by(store, load, [one["register"] for _, one in found])
    return [each for each, rests in zip(found, rest, strict=True) if rests]


def before_their_mains(store: Store, load: int, job: str) -> dict[int, tuple[str, str]]:
    """Give the job and file of loads that left all out, for what a load says, and whose file is under a main since.

    Had it not been for the load, theirs under the main would have taken them back.
    """
    rows = store.rows(
        f"SELECT l.load_id, l.job, l.file, l.sha256, l.joints_read - l.joints_left_out, {store.of_run('main')} "
        "FROM loads l WHERE l.state = 'standing' AND l.load_id > :load",
        load=load,
    )
    under_main = {(other, digest): number for number, other, _, digest, _, main in rows if main is not None}
    found = {
        int(number): (str(other), str(file))
        for number, other, file, digest, kept, main in rows
        if not kept and main is None and under_main.get((other, digest), 0) > number
    }
    return {number: found[number] for number, _ in (_left_out(store, load, job) if found else []) if number in found}


def _stood_by(store: Store, load: int, states: list[dict[str, Any]]) -> list[bool]:
    """Tell which states of joints, by joint_uid and load, a load told, or the place that they had."""
    if not states:
        return []
    store.stage("held_against", {"joint_uid": [one["joint_uid"] for one in states]})
    placed = {
        one
        for table in ("joints", "joints_earlier")
        for one in store.rows(
            f"SELECT e.joint_uid, e.load_id FROM held_against h JOIN {table} e ON e.joint_uid = h.joint_uid "
            "WHERE e.place_load_id = :load",
            load=load,
        )
    }
    return [one["load"] == load or (one["joint_uid"], one["load"]) in placed for one in states]


def take_back(store: Store, load: int, job: str, file: str, by: str) -> Undone:
    """Undo a load within a change of the register that goes on."""
    with_it = before_their_mains(store, load, job)
    for number, of in with_it.items():
        take_back(store, number, *of, by)
    told = without(store, load)
    store.execute(
        "UPDATE loads SET state = 'undone', undone_at = :now, undone_by = :by WHERE load_id = :load",
        now=now(),
        by=by,
        load=load,
    )
    present = store.rows("SELECT fid FROM joints WHERE load_id = :load ORDER BY fid", load=load)
    store.stage("leaving", {"fid": np.array([one for (one,) in present], dtype=np.int64)})
    # Of each joint, the latest state that a load still stands for.
    back = store.rows(
        "SELECT max(e.fid), e.joint_uid FROM leaving c JOIN joints j ON j.fid = c.fid JOIN joints_earlier e "
        "ON e.joint_uid = j.joint_uid JOIN loads l ON l.load_id = e.load_id WHERE l.state = 'standing' "
        "GROUP BY e.joint_uid ORDER BY 1"
    )
    to_earlier(store, "leaving", load, "undone")
    store.remove_joints("leaving")
    changed = [*back, *_take_out(store, load, told)]
    write_states(store, told)
    store.restore(np.array([one for one, _ in changed], dtype=np.int64))
    moved = {}
    for table in ("inspections", "findings"):
        columns = list(layout.kinds(table))
        copied = [f"'undone' AS \"{name}\"" if name == "state" else f'"{name}"' for name in columns]
        moved[table] = store.execute(
            f"INSERT INTO {table}_undone ({quoted(columns)}) SELECT {', '.join(copied)} FROM {table} "
            "WHERE load_id = :load ORDER BY fid",
            load=load,
        )
        store.remove_rows(table, load)
    restored = store.execute(
        "UPDATE inspections SET state = 'standing', ended_by = NULL WHERE ended_by = :load", load=load
    )
    end_what_gave_way(store, told)
    _stand_again(store, load, [uid for _, uid in changed])
    return Undone(
        store.name, load, job, file, len(present) - len(back), len(changed), moved["inspections"], restored,
        undone_with=sorted(with_it),
    )  # fmt: skip


def to_earlier(store: Store, staged: str, number: int, ended_as: str) -> None:
    """Copy the joints whose fid stands in a staged table to the earlier states, as ended by a load."""
    names = list(layout.kinds("joints"))
    store.execute(
        f"INSERT INTO joints_earlier ({quoted(names)}, replaced_by, ended_as) SELECT {quoted(names, 'j.')}, "
        f"CAST(:number AS bigint), :ended_as FROM {staged} c JOIN joints j ON j.fid = c.fid ORDER BY c.nr",
        number=number,
        ended_as=ended_as,
    )


def _take_out(store: Store, load: int, told: Without) -> list[tuple[int, str]]:
    """Take out, for a while, the joints of which a later load's state is another one without this load."""
    if not told.present:
        return []
    store.stage("touched", {"fid": np.array(told.present, dtype=np.int64)})
    uids = [uid for (uid,) in store.rows("SELECT j.joint_uid FROM touched t JOIN joints j ON j.fid = t.fid")]
    to_earlier(store, "touched", load, "superseded")
    store.remove_joints("touched")
    store.stage("taken_out", {"joint_uid": uids})
    return store.rows(
        "SELECT max(e.fid), e.joint_uid FROM taken_out t JOIN joints_earlier e ON e.joint_uid = t.joint_uid "
        "GROUP BY e.joint_uid ORDER BY 1"
    )


def _stand_again(store: Store, load: int, changed: list[str]) -> None:
    """Let the findings stand that are about what holds of the joints that changed, and those on lengths.

    Those end again of which the load had let the subject come back, as its job took back what it had said since.

    A joint's count of findings follows.
    """
    store.stage("restored", {"joint_uid": changed})
    of_restored = "joint_uid IN (SELECT joint_uid FROM restored)"
    holds = fields.holds("findings", "j")
    store.execute(
        f"UPDATE findings SET state = 'standing', ended_by = NULL WHERE state = 'superseded' AND {of_restored} "
        f"AND EXISTS (SELECT 1 FROM joints j WHERE j.joint_uid = findings.joint_uid AND ({holds} "
        "OR (findings.ended_by = :load AND j.load_id = findings.load_id)))",
        load=load,
    )
    for group in fields.GROUPS:
        codes = [code for code in CHECK_KINDS if fields.about(code) == group.load_column]
        store.execute(
            f"UPDATE findings SET state = 'superseded', ended_by = (SELECT j.{group.load_column} FROM joints j "
            f"WHERE j.joint_uid = findings.joint_uid) WHERE state = 'standing' AND {of_restored} "
            f"AND code IN ({', '.join(map(repr, codes))}) AND EXISTS (SELECT 1 FROM joints_earlier e JOIN joints j "
            "ON j.joint_uid = e.joint_uid WHERE e.joint_uid = findings.joint_uid AND e.load_id = :load "
            f"AND e.{group.load_column} = findings.load_id AND j.{group.load_column} > findings.load_id "
            f"AND NOT {fields.of_reading('findings', 'j')})",
            load=load,
        )
    store.execute(
        "UPDATE findings SET state = 'standing', ended_by = NULL WHERE joint_uid IS NULL AND ended_by = :load",
        load=load,
    )
    store.execute(
        "UPDATE joints SET findings = (SELECT count(*) FROM findings f WHERE f.joint_uid = joints.joint_uid "
        f"AND f.state = 'standing') WHERE {of_restored}"
    )
