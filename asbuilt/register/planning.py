"""What a load will do: which joints and records it adds, which it ends, and what of the present state stays."""

from __future__ import annotations

from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt import units
from asbuilt.arrays import Bools, Ints
from asbuilt.held import held
from asbuilt.register import again, exchanged, fields, merge, renumbered, seasons
from asbuilt.register.agreed import Settled
from asbuilt.register.apart import keep_apart
from asbuilt.register.ending import OF_TESTS
from asbuilt.register.incoming import Incoming, mixed
from asbuilt.register.keeping import NAMING, TOLD, Kept, kept_columns
from asbuilt.register.loaded import Loaded
from asbuilt.register.matching import candidates, no_candidates
from asbuilt.register.store import Store, ints, quoted

RESTATIONED_M = 3.048
"""10 ft, half a pipe: stations that differ by more are counted from elsewhere; ours, no source."""


@dataclass(frozen=True)
class Plan:
    """What a load will do; arrays of shape (joints,) unless named otherwise."""

    decision: merge.Decision
    pairs: merge.Candidates
    """Joints of the register that each may be."""
    register: dict[str, Any]
    """What the register has of the joint of each pair, by column."""
    fid: Ints
    """The register's number of each matched joint; 0 for a new one."""
    uid: pa.Array
    """The register's joint_uid of each joint."""
    first_load: Ints
    second_names: Ints
    """Joints that keep another job's number or station, as a job of a part of its line has another there, by index."""
    kept: Kept
    less_sure: Ints
    """Joints that stay where another job has them only as it knows their places better, by index."""
    back: Ints
    """Joints to which what another job said comes back, by index, as the file takes back what its job said."""
    add_records: Ints
    """Inspections to add, by index."""
    kept_records: Bools
    """Inspections that the register has already; shape (inspections,)."""
    add_findings: Ints
    """Findings to add, by index."""
    waiting_routes: dict[str, str]
    """Routes of which every joint is left out, each with the joint_uid of its first one."""
    beside_the_point: Ints
    """Findings of joints that change, about what stays of them as another job had it: these do not stand; by index."""
    end_records: Ints
    """Numbers of the register's inspections that are superseded."""
    end_findings: Ints
    """Numbers of the register's findings that are superseded."""


def plan_load(
    store: Store, incoming: Incoming, tolerance_m: float, settled: Settled, out: set[str], result: Loaded
) -> Plan:
    count = len(incoming.content)
    known = bool(store.rows("SELECT 1 FROM joints LIMIT 1"))
    pairs, register = candidates(store, incoming, tolerance_m, settled.theirs, out) if known else no_candidates()
    found = renumbered.find(store, incoming, pairs, tolerance_m)
    seasons.hold(store, incoming, pairs, tolerance_m, found.held)
    exchanged_with = exchanged.hold(store, incoming, pairs, register, tolerance_m, found.held)
    decision = merge.decide(count, incoming.content, pairs, tolerance_m, found.held)
    if known:
        renumbered.tell(incoming, found, decision, pairs, register, result)
        exchanged.tell(incoming, exchanged_with, register, decision, result)
        so_far = keep_apart(store, incoming, decision, pairs, register, settled, result)
        decision, pairs, register = again.hold(store, incoming, so_far, out, result)
        decision = again.of_the_nearest_main(incoming, decision, pairs, register, tolerance_m, result)
        decision, pairs, register = again.hold_the_rest(store, incoming, (decision, pairs, register), out, result)
    matched = (decision.pair >= 0) & (decision.what != merge.CONFLICT)
    of = decision.pair[matched]
    fid, first_load = np.zeros(count, dtype=np.int64), np.zeros(count, dtype=np.int64)
    fid[matched], first_load[matched] = register["fid"][of], register["first_load_id"][of]
    uid = incoming.text("joint_uid")
    if len(of):
        uid = held(
            pc.replace_with_mask(uid, pa.array(matched), pa.array(register["joint_uid"][of], pa.string())), count
        )
    moving = np.isin(decision.what, (merge.NEW, merge.UPDATED))
    end_records, kept = _records_to_end(store, incoming, decision, fid)
    kept |= _records_of_others(store, incoming, decision, fid, result)
    add_records = np.flatnonzero(moving[incoming.record_joint] & ~kept)
    columns, back, less_sure = kept_columns(store, incoming, decision, pairs, register, fid, result)
    second = _second_names(store, incoming, decision, pairs, register)
    restationed = _keep_stations(store, incoming, decision, pairs, register, columns, result)
    _keep_numbers(incoming, second, decision, register, columns, result)
    waiting = _waiting_routes(incoming, decision)
    end_findings, add_findings = _findings_to_end(
        store, incoming, decision, fid, moving, columns, result.tests_stay, waiting
    )
    beside = _beside_the_point(incoming, columns)[add_findings]
    beside_the_point, add_findings = add_findings[beside], add_findings[~beside]
    _tell_of_beside_the_point(incoming, beside_the_point, result)
    return Plan(
        decision=decision,
        pairs=pairs,
        register=register,
        fid=fid,
        uid=uid,
        first_load=first_load,
        second_names=np.union1d(second, restationed),
        kept=columns,
        less_sure=less_sure,
        back=back,
        add_records=add_records,
        kept_records=kept,
        add_findings=add_findings,
        waiting_routes=waiting,
        beside_the_point=beside_the_point,
        end_records=end_records,
        end_findings=end_findings,
    )


def _second_names(
    store: Store, incoming: Incoming, decision: merge.Decision, pairs: merge.Candidates, register: Mapping[str, Any]
) -> Ints:
    """Find joints of a job of a part of its line that stand where another job has a joint of another number."""
    rows = _of_others(store, incoming, decision, pairs, register)
    if not len(rows):
        return rows
    pair = decision.pair[rows]
    named, station = (np.array(incoming.text(name).to_pylist(), dtype=object)[rows] for name in ("joint", "station"))
    numbers = np.array(
        [not str(name).startswith(f"at {at}") for name, at in zip(named, station, strict=True)], np.bool_
    )
    theirs = np.array([not str(name).startswith("at ") for name in register["joint"][pair]], np.bool_)
    found: Ints = rows[numbers & theirs & (named != register["joint"][pair])]
    return found


def _of_others(
    store: Store, incoming: Incoming, decision: merge.Decision, pairs: merge.Candidates, register: Mapping[str, Any]
) -> Ints:
    """Find the joints of a job of a part of its line that another job laid on their route; none of other jobs."""
    if not incoming.is_of_parts:
        return np.zeros(0, dtype=np.int64)
    rows = np.flatnonzero((decision.pair >= 0) & (decision.what != merge.CONFLICT))
    pair = decision.pair[rows]
    own = [load for (load,) in store.rows("SELECT load_id FROM loads WHERE job = :job", job=incoming.job)]
    found: Ints = rows[pairs.same_route[pair] & ~np.isin(register["first_load_id"][pair], own)]
    return found


def _keep_stations(
    store: Store,
    incoming: Incoming,
    decision: merge.Decision,
    pairs: merge.Candidates,
    register: Mapping[str, Any],
    columns: Kept,
    result: Loaded,
) -> Ints:
    """Let joints keep their stations where a job of a part of its line counts from elsewhere, and say so.

    Whoever asks for a length of the main by its stations would find them in another place, or not.
    """
    spoken_of = _of_others(store, incoming, decision, pairs, register)
    rows: Ints = spoken_of[decision.what[spoken_of] == merge.UPDATED]
    if not len(rows):
        return rows
    names = [name for name in NAMING if name not in ("route", "joint")]
    store.stage("stationed", {"fid": ints(register["fid"][decision.pair[rows]])})
    known = store.rows(
        f"SELECT {quoted(names, 'j.')}, j.coordinate_unit FROM stationed s JOIN joints j ON j.fid = s.fid ORDER BY s.nr"
    )
    number, unit = names.index("station_number"), names.index("station_unit")
    theirs = np.array([np.nan if None in (one[number], one[unit]) else one[number] * float(units.METRES[one[unit]])
                       for one in known])  # fmt: skip
    own = incoming.station_number[rows] * float(units.METRES[incoming.run["station_unit"]])
    other = np.flatnonzero(np.abs(own - theirs) > RESTATIONED_M)
    restationed: Ints = rows[other]
    if not len(other):
        return restationed
    routes, joints, stations = (incoming.text(name) for name in ("route", "joint", "station"))
    named = [f"{routes[row]} {joints[row]}: {stations[row]}, there {known[at][names.index('station')]}"
             for at, row in zip(other[:TOLD].tolist(), rows[other[:TOLD]].tolist(), strict=True)]  # fmt: skip
    for at, row in zip(other.tolist(), rows[other].tolist(), strict=True):
        for name, value in zip(names, known[at], strict=False):
            columns.setdefault(name, {})[row] = value
        columns["distance"][row] *= units.factor(known[at][-1], incoming.run["coordinate_unit"])
    more = ", ..." if len(other) > TOLD else ""
    result.notes.append(
        f"{'1 joint has' if len(other) == 1 else f'{len(other)} joints have'} another station in this job, of a part "
        f"of its line, than in the register ({'; '.join(named)}{more}): "
        f"{'it keeps' if len(other) == 1 else 'they keep'} the register's, and are found by both. "
        "If the stations are wrong, correct them and load the job again"
    )
    return restationed


def _keep_numbers(
    incoming: Incoming,
    rows: Ints,
    decision: merge.Decision,
    register: Mapping[str, Any],
    columns: Kept,
    result: Loaded,
) -> None:
    """Let joints keep their numbers, and say what the file calls them."""
    if not len(rows):
        return
    names, numbers = columns.setdefault("joint", {}), register["joint"]
    routes, called = incoming.text("route"), incoming.text("joint")
    named = [f"{routes[row]} {called[row]} where {numbers[decision.pair[row]]} is" for row in rows[:TOLD].tolist()]
    for row in rows.tolist():
        names[row] = numbers[decision.pair[row]]
    more = ", ..." if len(rows) > TOLD else ""
    result.notes.append(
        f"{'1 joint stands' if len(rows) == 1 else f'{len(rows)} joints stand'} where the register has another number "
        f"({', '.join(named)}{more}), in a job of a part of its line: taken for the same joints, which keep their "
        "numbers and are found by both. If they are other joints, or the stations are wrong, undo this load"
    )


def _beside_the_point(incoming: Incoming, kept: Kept) -> Any:
    """Find the findings about what stays as another job had it.

    A job that says nothing of an inspection may still find that sizes change, or that a joint is not restrained.
    """
    beside = np.zeros(len(incoming.finding_joint), dtype=np.bool_)
    if not any(group.load_column in kept for group in fields.GROUPS):
        return beside
    # A reading of the job's own stands beside the deflection of another's, with what was found by it.
    read = np.append(np.isfinite(incoming.number("measured_deg")), False)
    read &= ~_kept_of(incoming, kept, fields.READING.load_column)
    codes = incoming.tables["findings"]["code"].to_pylist()
    inspected = [said not in (None, "none") for said in incoming.tables["joints"]["inspection"].to_pylist()]
    stands = np.array([*inspected, False])[incoming.finding_joint] | (np.array(codes, object) == "inspection-missing")
    column = [
        of if of != fields.INSPECTION or whole else None
        for of, whole in zip(map(fields.about, codes), stands.tolist(), strict=True)
    ]
    for group in fields.GROUPS:
        stays = _kept_of(incoming, kept, group.load_column)
        beside |= stays[incoming.finding_joint] & (np.array(column, dtype=object) == group.load_column)
    beside &= ~(read[incoming.finding_joint] & np.isin(codes, fields.OF_READINGS))
    return beside


def _kept_of(incoming: Incoming, kept: Kept, load_column: str) -> Bools:
    """Mark the joints that keep what a load column names; none of the index -1, of what is in no joint."""
    stays = np.zeros(len(incoming.content) + 1, dtype=np.bool_)
    stays[[row for row, load in kept.get(load_column, {}).items() if load is not None]] = True
    return stays


def _of_kept_reading(kept: Kept, row: int, code: str, load: int) -> bool:
    """Tell whether a finding of a load is from the reading that stays of a joint."""
    if code not in fields.OF_READINGS or fields.READING.load_column not in kept:
        return False
    measured, of = (kept[name].get(row) for name in (fields.READING.columns[0], fields.READING.load_column))
    return measured is not None and of == load


def _tell_of_beside_the_point(incoming: Incoming, findings: Ints, result: Loaded) -> None:
    """Say which findings are left out, as what they are about stays as another job had it."""
    if not len(findings):
        return
    names, codes = (incoming.tables[layer][name] for layer, name in (("joints", "joint"), ("findings", "code")))
    routes, of = incoming.text("route"), incoming.finding_joint[findings].tolist()
    some = zip(of[:TOLD], findings[:TOLD].tolist(), strict=True)
    named = ", ".join(f"{routes[row]} {names[row]}: {codes[one]}" for row, one in some)
    more = ", ..." if len(findings) > TOLD else ""
    result.notes.append(
        f"{'1 finding is' if len(findings) == 1 else f'{len(findings)} findings are'} left out ({named}{more}), as "
        "what the register has of that from another job holds"
    )


def _records_to_end(store: Store, incoming: Incoming, decision: merge.Decision, fid: Ints) -> tuple[Ints, Any]:
    """Find the own job's earlier records of changed joints that the new log does not repeat, and those it does."""
    kept = np.zeros(len(incoming.record_joint), dtype=np.bool_)
    changed = np.flatnonzero(decision.what == merge.UPDATED)
    if not len(changed):
        return np.zeros(0, dtype=np.int64), kept
    store.stage("changed", {"fid": fid[changed], "incoming": changed})
    joint, number, content = store.arrays(
        "SELECT c.incoming, i.fid, i.content FROM changed c JOIN joints j ON j.fid = c.fid "
        "JOIN inspections i ON i.joint_uid = j.joint_uid JOIN loads l ON l.load_id = i.load_id "
        "WHERE i.state = 'standing' AND l.job = :job",
        [ints, ints, ints],
        job=incoming.job,
    )
    theirs = _keyed(joint, content)
    ours = _keyed(incoming.record_joint, incoming.record_content)
    kept = np.isin(ours, theirs)
    return number[~np.isin(theirs, ours)], kept


def _records_of_others(store: Store, incoming: Incoming, decision: merge.Decision, fid: Ints, result: Loaded) -> Any:
    """Find records that another job brought for the same joint, to the letter: a job under a second name."""
    same = np.zeros(len(incoming.record_joint), dtype=np.bool_)
    changed = np.flatnonzero(decision.what == merge.UPDATED)
    if not len(changed):
        return same
    store.stage("changed", {"fid": fid[changed], "incoming": changed})
    joint, content, load, job, day, inspector = store.columns(
        "SELECT c.incoming, i.content, i.load_id, l.job, i.inspected_on, i.inspector FROM changed c "
        "JOIN joints j ON j.fid = c.fid JOIN inspections i ON i.joint_uid = j.joint_uid "
        "JOIN loads l ON l.load_id = i.load_id WHERE i.state = 'standing' AND l.job <> :job",
        6,
        job=incoming.job,
    )
    theirs, ours = _keyed(ints(joint), ints(content)), _keyed(incoming.record_joint, incoming.record_content)
    same = np.isin(ours, theirs)
    loads = sorted({(int(load[at]), str(job[at])) for at in np.flatnonzero(np.isin(theirs, ours)).tolist()})
    if loads:
        result.records_of_loads = [number for number, _ in loads]
        named = ", ".join(f"load {number} ({name})" for number, name in loads)
        count = int(same.sum())
        result.notes.append(
            f"{count} of {len(same)} records are those of {named}, and are not entered twice; if this is that job "
            "under another name, undo this load and give the job its first name, so that it can be corrected"
        )
    keys = zip(ints(joint).tolist(), map(str, day), inspector, strict=True)
    _tell_of_a_job_renamed(incoming, same, dict(zip(keys, zip(load, job, strict=True), strict=True)), result)
    return same


RENAMED = 3
"""Fewer records than this of one joint, day and inspector are told as nothing; ours, no source."""


def _tell_of_a_job_renamed(
    incoming: Incoming, same: Bools, theirs: Mapping[tuple[int, str, str | None], tuple[Any, Any]], result: Loaded
) -> None:
    """Say where most records are of the joints, days and inspectors of another job's and say something else.

    Parameters
    ----------
    incoming : Incoming
    same : array of bool, shape (inspections,)
        Records that the other job brought to the letter.
    theirs : mapping of (joint, day, inspector) to (load, job)
        What the register has at these joints, each by the number of the incoming one.
    result : Loaded
        Gets the note.
    """
    records = incoming.tables["inspections"]
    if not theirs or not {"inspected_on", "inspector"} <= set(records.column_names):
        return
    day, inspector = (records[name].combine_chunks().cast(pa.string()).to_pylist() for name in
                      ("inspected_on", "inspector"))  # fmt: skip
    ours = zip(incoming.record_joint.tolist(), day, inspector, strict=True)
    found = [
        theirs[key] for key, known in zip(ours, same.tolist(), strict=True) if not known and key[2] and key in theirs
    ]
    if len(found) < RENAMED or 2 * (len(found) + int(same.sum())) <= len(same):
        return
    named = ", ".join(f"load {number} ({name})" for number, name in sorted(set(found)))
    result.notes.append(
        f"{len(found)} of {len(same)} records are of the joint, day and inspector of records of {named}, and say "
        "something else: is this that job, corrected under another name? Both stand in the register, and are counted "
        "twice. If so, undo this load and give the job its first name, so that the later records replace the earlier "
        "ones"
    )


def _keyed(joint: Ints, content: Ints) -> Any:
    """Make one number of a joint and the digest of one of its records."""
    return mixed(joint.view(np.uint64) + np.uint64(1)) + content.view(np.uint64)


def _waiting_routes(incoming: Incoming, decision: merge.Decision) -> dict[str, str]:
    """Name the routes of which every joint is left out, each with the joint_uid of its first one."""
    left_out = decision.what == merge.CONFLICT
    if not left_out.any():
        return {}
    route, uid = incoming.text("route"), incoming.text("joint_uid")
    part = set(route.filter(pa.array(~left_out)).to_pylist())
    first: dict[str, str] = {}
    for row in np.flatnonzero(left_out).tolist():
        first.setdefault(route[row].as_py(), uid[row].as_py())
    return {name: joint for name, joint in first.items() if name not in part}


def _findings_to_end(
    store: Store,
    incoming: Incoming,
    decision: merge.Decision,
    fid: Ints,
    moving: Any,
    kept: Kept,
    tests_stay: Sequence[str],
    waiting: Container[str],
) -> tuple[Ints, Ints]:
    """Find the earlier findings that no longer stand, and the new ones: they stand while what they are about does.

    Those that the job itself found earlier are ended in any case: it finds them again, if they still hold. Those about
    pressure tests that stay, as the file has none of their route, stay with them. Of a route that waits as a whole,
    what was found of its lengths before stays, and what is found now waits.
    """
    ended: list[int] = []
    changed = np.flatnonzero(decision.what == merge.UPDATED)
    if len(changed):
        store.stage("changed", {"fid": fid[changed], "row": changed})
        found = store.rows(
            "SELECT c.row, f.fid, f.code, f.load_id, l.job FROM changed c JOIN joints j ON j.fid = c.fid "
            "JOIN findings f ON f.joint_uid = j.joint_uid JOIN loads l ON l.load_id = f.load_id "
            "WHERE f.state = 'standing' ORDER BY f.fid"
        )
        ended += [number for row, number, code, load, job in found
                  if job == incoming.job or (kept.get(fields.about(code), {}).get(row) is None
                                             and not _of_kept_reading(kept, row, code, load))]  # fmt: skip
    of_joint = incoming.finding_joint >= 0
    add = of_joint & moving[incoming.finding_joint]
    found = store.rows(
        "SELECT f.finding_uid, f.fid, f.code, f.route FROM findings f JOIN loads l ON l.load_id = f.load_id "
        "WHERE f.joint_uid IS NULL AND f.state = 'standing' AND l.job = :job",
        job=incoming.job,
    )
    theirs = {uid: number for uid, number, *_ in found}
    stay = {uid for uid, _, code, route in found if code in OF_TESTS and route in tests_stay}
    lengths = np.flatnonzero(~of_joint)
    ours = {incoming.finding_uid[one].as_py(): one for one in lengths.tolist()}
    waits = {uid for uid, _, _, route in found if route in waiting}
    ended += [number for uid, number in theirs.items() if uid not in ours and uid not in stay | waits]
    routes = incoming.tables["findings"]["route"]
    add[[one for uid, one in ours.items() if uid not in theirs and routes[one].as_py() not in waiting]] = True
    return np.array(ended, dtype=np.int64), np.flatnonzero(add)
