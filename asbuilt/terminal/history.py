"""What the commands of the register show on a terminal."""

from __future__ import annotations

import datetime as dt
import math
from collections import Counter
from typing import TYPE_CHECKING, Any

from asbuilt.register import merge
from asbuilt.register.ground import length_words, range_words
from asbuilt.register.layout import SEEN
from asbuilt.register.mains import SURVEYED_AGAIN_M
from asbuilt.register.store import today
from asbuilt.terminal import screen
from asbuilt.terminal.words import many, named, passed_by

if TYPE_CHECKING:
    from asbuilt.register.loaded import Loaded
    from asbuilt.register.settling import Settling
    from asbuilt.register.undo import Undone

ASIDE = 20
"""Records set aside that are printed; --json gives all."""
SHOWN = 20
"""Conflicts that are printed one by one; --json gives all."""
CHANGES = 10
"""Changed joints that are printed one by one."""
COLUMNS = 6
"""Columns of a changed joint that are printed; the others are counted."""
_FIRST = ("verdict", "deflection_deg", "inspection", "inspected_on", "size", "joint_type", "kind", "restrained",
          "joint", "station")  # fmt: skip
"""What is told of a changed joint before its other columns."""
SEEN_DECIMALS = round(-math.log10(SEEN))
"""Decimals of what a person would see of a computed number."""


def print_loaded(loaded: Loaded) -> None:
    """Print what came of a load."""
    table = screen.table("", "read", "new", "changed", "unchanged", "left out")
    for column in table.columns[1:]:
        column.justify = "right"
    joints, records, found = loaded.joints, loaded.inspections, loaded.findings
    screen.row(table, "joints", *(str(joints[name]) for name in ("read", "new", "updated", "unchanged", "left_out")))
    screen.row(table,
        "inspections", str(records["read"]), str(records["added"]), f"{records['superseded']} superseded",
        str(records["unchanged"]), str(records["left_out"]),
    )  # fmt: skip
    screen.row(
        table, "findings", str(found["read"]), str(found["added"]), f"{found['superseded']} superseded",
        str(found["unchanged"]), str(found["left_out"]),
    )  # fmt: skip
    screen.line(f"\n{loaded.job}: into the register {loaded.register}", bold=True)
    screen.show(table)
    for note in loaded.notes:
        screen.note(note)
    if loaded.new_joints:
        count = loaded.joints["new"]
        screen.line(f"new: {many(count, 'joint')}: {named(loaded.new_joints, count)}")
    _print_changes(loaded)
    _print_conflicts(loaded)
    for said in passed_by(loaded):
        screen.line(said)
    screen.line(f"\n{_outcome(loaded)}")


def _outcome(loaded: Loaded) -> str:
    if not loaded.changed:
        if loaded.conflicts:
            return (
                f"The register was not changed. {many(len(loaded.conflicts), 'joint')} of this file wait to be "
                f"settled: asbuilt conflicts {loaded.register}"
            )
        return "Nothing is new in this file: the register was not changed."
    if loaded.dry_run:
        return "This is what would happen; nothing was written. To do it, leave out --dry-run."
    made = " into a new register" if loaded.made else ""
    undo = f"asbuilt load --undo {loaded.load} --into {loaded.register}"
    return f"Done{made}: this is load {loaded.load}. To undo it: {undo}"


def _print_changes(loaded: Loaded) -> None:
    if not loaded.changes:
        return
    table = screen.table("route", "joint", "what changed", title="Changed joints")
    for one in loaded.changes[:CHANGES]:
        screen.row(table, one["route"], one["joint"], _change(one, loaded.unit))
    screen.show(table)
    count = loaded.joints["updated"]
    if count > CHANGES:
        listed = len(loaded.changes)
        of = f"the first {listed}" if listed < count else "all"
        screen.line(f"... and {count - CHANGES} more; --json lists {of}. Of {listed} joints: {_counted(loaded)}")


def _counted(loaded: Loaded) -> str:
    """Count what changed of the joints that are listed, by columns, the most first."""
    counts: Counter[str] = Counter()
    for one in loaded.changes:
        counts.update(["moved"] if one["moved_m"] >= merge.MOVED else [])
        counts.update(name for name in one["changed"] if name not in _PLACE)
        counts.update({f"record {record['what']}" for record in one["records"]})
    return ", ".join(f"{name} {count}" for name, count in counts.most_common())


def _change(one: dict[str, Any], unit: str) -> str:
    parts = []
    if one["matched_by"] == "place":
        parts.append("matched by its place")
    if one["moved_m"] >= merge.MOVED:
        parts.append(f"moved {length_words(one['moved_m'], unit)}")
    columns = {name: change for name, change in one["changed"].items() if name not in _PLACE}
    # What an accuracy was found by takes lines, and reads at the joint.
    by = columns.pop("accuracy_source", None)
    told = _differences({name: columns[name] for name in sorted(columns, key=lambda name: name not in _FIRST)})
    told += ["accuracy_source"] if by is not None else []
    parts += told[:COLUMNS]
    if len(told) > COLUMNS:
        parts.append(f"{many(len(told) - COLUMNS, 'more column')}")
    for record in one["records"]:
        parts.append(_record_change(record))
    return "; ".join(parts) or "findings"


def _record_change(record: dict[str, Any]) -> str:
    if record["what"] == "corrected":
        return f"record corrected ({', '.join(_differences(record['changed']))})"
    return f"record {record['what']}"


def _differences(changed: dict[str, list[Any]]) -> list[str]:
    """Say what columns were and are; what reads alike is no difference."""
    words = {name: (_short(old), _short(new)) for name, (old, new) in changed.items()}
    return [f"{name}: {old} -> {new}" for name, (old, new) in words.items() if old != new]


_PLACE = {"easting", "northing", "longitude", "latitude", "distance"}


def _print_conflicts(loaded: Loaded) -> None:
    if not loaded.conflicts:
        return
    title = f"Left out: {many(len(loaded.conflicts), 'joint')} in conflict with the register"
    table = screen.table("route", "joint", "station", "why", "in the register", title=title)
    for one in loaded.conflicts[:SHOWN]:
        screen.row(table, one["route"], one["joint"], one["station"], one["message"], _there(one))
    screen.show(table)
    if len(loaded.conflicts) > SHOWN:
        screen.line(f"... and {len(loaded.conflicts) - SHOWN} more; --json lists them")
    if loaded.changed and not loaded.dry_run:
        waiting = many(len(loaded.conflicts), "joint")
        screen.line(f"{waiting} not in the register until settled; to see how: asbuilt conflicts {loaded.register}")


def print_undone(undone: Undone) -> None:
    """Print what came of undoing a load."""
    done = "Nothing was changed. Undoing" if undone.dry_run else "Undid"
    screen.line(f"{done} load {undone.load} ({undone.job}, {undone.file}) of {undone.register}:")
    screen.line(f"joints taken out, as no other load knows them: {undone.joints_removed};")
    screen.line(f"joints put back to what other loads say of them: {undone.joints_restored};")
    screen.line(f"its inspections, which are kept among the undone: {undone.inspections_undone};")
    screen.line(f"inspections that it had superseded and that stand again: {undone.inspections_restored}.")
    if undone.undone_with:
        loads = ", ".join(map(str, undone.undone_with))
        screen.line(f"Undone with it: load {loads}, of which all joints were left out; their file stands under a main.")


def print_waiting(register: str, found: list[dict[str, Any]], *, each: bool) -> None:
    """Print the joints that wait to be settled, one by one or in groups, and how that is done."""
    if not found:
        screen.line("No joint waits to be settled: nothing was left out.")
        return
    if each:
        table = screen.table("job (load)", "route", "joint", "station", "why", "in the register")
        for one in found:
            job = f"{one['job']} ({one['load']})"
            screen.row(table, job, one["route"], one["joint"], one["station"], one["message"], _there(one))
    else:
        table = screen.table("job (load)", "route", "joints", "why, of the first", "in the register, of the first")
        groups: dict[tuple[Any, ...], list[dict[str, Any]]] = {}
        for one in found:
            groups.setdefault((one["job"], one["load"], one["route"], one["reason"]), []).append(one)
        for (job, load, route, _), some in groups.items():
            first, last = some[0]["joint"], some[-1]["joint"]
            joints = f"{len(some)}: {first} to {last}" if len(some) > 1 else f"1: {first}"
            screen.row(table, f"{job} ({load})", route, joints, some[0]["message"], _there(some[0]))
    screen.show(table)
    jobs = many(len({one["job"] for one in found}), "job")
    screen.line(f"{many(len(found), 'joint')} of {jobs} wait to be settled; none of them is in the register.")
    of_the_log = (*merge.OF_NUMBERS, merge.RECORD_OF_ANOTHER)
    if any(one["away_m"] <= SURVEYED_AGAIN_M and one["reason"] not in of_the_log for one in found):
        screen.line(
            "Those only feet away may be the same main surveyed again: load the file with a larger --tolerance."
        )
    begin = f"asbuilt conflicts {register}"
    if not each:
        screen.line(f"To list them one by one: {begin} --all")
    screen.line("To settle them, of a job (--job), of its route (--route), or of one joint (--joint):")
    screen.line(f"  the register's joints stay as they are:  {begin} --job JOB --settle ours")
    screen.line(f"  they are the same joints, take the job's: {begin} --job JOB --settle theirs")
    screen.line(f"  they are another main's:  {begin} --job JOB --settle main --main NAME")
    screen.line(f"  a main laid in place of theirs: asbuilt load FILE.gpkg --into {register} --replaces ROUTE")
    screen.line("Or correct the job, and place and load it again.")


def print_settled_away(register: str, settled: list[dict[str, Any]]) -> None:
    """Say which joints were settled to stay out, and how they are taken after all."""
    if settled:
        job = settled[0]["job"]
        screen.line(
            f"Settled to stay out: {many(len(settled), 'joint')}: {named(settled, len(settled))}. To take them after "
            f"all: asbuilt conflicts {register} --job {job!r} --settle main --main NAME, or --settle theirs"
        )


def _there(one: dict[str, Any]) -> str:
    there = one["register"]
    return f"{there['route']} {there['joint']} at {there['station']} (load {there['load']})"


def print_info(told: dict[str, Any]) -> None:
    """Print what is in a register."""
    joints, records = many(told["joints"], "joint"), many(told["inspections"], "inspection")
    screen.line(f"{told['register']}: {joints}, {records}, in {told['crs']}", bold=True)
    for state, count in told["out_of_service"].items():
        screen.line(f"{state}: {many(count, 'joint')}")
    if told["waiting"]["joints"]:
        left_out, jobs = many(told["waiting"]["joints"], "joint"), many(told["waiting"]["jobs"], "job")
        screen.line(f"{left_out} of {jobs} wait to be settled; asbuilt conflicts {told['register']} lists them")
    if told["pressure_tests"]:
        tests = screen.table("main", "from", "to", "pressure test", "on", "job", title="Pressure tests")
        for one in told["pressure_tests"]:
            day = str(one["tested_on"] or "")
            screen.row(tests, one["route"], one["from_station"], one["to_station"], one["result"], day, one["job"])
        screen.show(tests)
    _print_set_aside(told["set_aside"])
    if not told["joints"]:
        return
    mains = screen.table("main", "joints", "inspected from", "to")
    for one in told["mains"]:
        days = (str(one[name] or "undated") for name in ("first_inspected_on", "last_inspected_on"))
        screen.row(mains, one["route"], str(one["joints"]), *days)
    screen.show(mains)
    later = [one["route"] for one in told["mains"] if str(one["last_inspected_on"] or "") > today().isoformat()]
    if later:
        after = (today() + dt.timedelta(days=1)).isoformat()
        screen.note(
            f"{'mains' if len(later) > 1 else 'main'} {', '.join(later)}: inspections are dated after today, which no "
            f"inspection can be; asbuilt find {told['register']} --since {after} lists the joints"
        )
    for what, rows in told["complete"].items():
        table = screen.table(what, "joints", "complete", "incomplete", "failed", "none", title=f"Inspections by {what}")
        for row in rows:
            screen.row(table, *(str(value) for value in row.values()))
        screen.show(table)
    screen.line(
        "A joint that several jobs, crews or years inspected is counted with each, by what that inspection came to: a "
        "repair counts for whoever made it."
    )
    items = screen.table("item", "what the records say", title="Items of the inspections")
    for name, counts in told["items"].items():
        screen.row(items, name, ", ".join(f"{value} {count}" for value, count in counts.items()))
    screen.show(items)


def _print_set_aside(records: list[dict[str, Any]]) -> None:
    """Print the records that are in no joint, those of one main and sheet that are set aside by the same in one row."""
    if not records:
        return
    table = screen.table("main", "joints", "file and rows", "why", "job", title="Records set aside, in no joint")
    groups: dict[tuple[Any, ...], list[dict[str, Any]]] = {}
    for one in records:
        groups.setdefault((one["route"], one["file"], one["message"], one["job"]), []).append(one)
    shown = list(groups.items())[:ASIDE]
    for (route, file, message, job), some in shown:
        first, last = some[0], some[-1]
        joint = str(first["joint"] or "")
        where = f"{file} row {first['row']}"
        if len(some) > 1:
            joint = f"{len(some)}: {joint or 'unnamed'} to {last['joint'] or 'unnamed'}"
            where = f"{file}, {len(some)} rows from {first['row']} to {last['row']}"
        screen.row(table, str(route or ""), joint, where, message, job)
    screen.show(table)
    if len(groups) > ASIDE:
        left = len(records) - sum(len(some) for _, some in shown)
        screen.line(f"And {many(left, 'more record')}; --json lists them all.")


def print_apart(told: dict[str, Any]) -> None:
    """Print in which loads, marks and notes two copies of a register differ."""
    same = True
    for side, name in (("only_here", told["register"]), ("only_there", told["other"])):
        for one in told[side]["loads"]:
            state = f", undone {one['undone_at']}" if one["state"] == "undone" else ""
            screen.line(f"only in {name}: load {one['load_id']} of {one['job']} ({one['file']}), {one['loaded_at']} by "
                        f"{one['loaded_by']}{state}")  # fmt: skip
        counts = {"finding_marks": "mark", "settled": "settled joint", "joint_service": "note on a joint's service"}
        for table, word in counts.items():
            if told[side][table]:
                screen.line(f"only in {name}: {many(len(told[side][table]), word)}")
        same = same and not any(told[side].values())
    if same:
        screen.line(f"{told['register']} and {told['other']} have the same loads, marks and notes.")
        return
    screen.line(
        "Keep one of the two: load into it the files of the loads that only the other has, and mark, settle and note "
        "there again what is noted only in the other; nothing merges two registers."
    )


def print_settling(done: Settling) -> None:
    """Print what came of settling."""
    how = {
        "ours": "the register's joints stay as they are",
        "theirs": "the job's were taken",
        "main": "the job has a main of its own",
    }[done.decision]
    loads = f" This is load {', '.join(map(str, done.loads))}." if done.loads else ""
    away = ""
    if done.away_m is not None:
        away = f"; the job has them {range_words(done.away_m, done.unit)} from there"
    screen.line(f"{done.job}: {many(done.joints, 'joint')} settled: {how}{away}.{loads}")
    if done.decision == "ours":
        begin = f"asbuilt conflicts {done.register} --job {done.job!r}"
        screen.line(f"To take them after all: {begin} --settle main --main NAME, or --settle theirs")
    for load in reversed(done.loads):
        screen.line(f"To undo it: asbuilt load --undo {load} --into {done.register}")
    if done.still:
        screen.line(f"{many(len(done.still), 'joint')} still wait: asbuilt conflicts {done.register} --all")


def _short(value: Any) -> str:
    if value is None:
        return "(blank)"
    # What is less than the register counts as seen is the arithmetic's; adding nothing takes the sign from a nought.
    return f"{round(value, SEEN_DECIMALS) + 0.0:.10g}" if isinstance(value, float) else str(value)
