"""What a load will do, told: counted without a remainder, its changes column by column, its conflicts one by one."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Collection
from typing import Any

import numpy as np
import pyarrow as pa

from asbuilt import units
from asbuilt.arrays import Ints
from asbuilt.errors import InputFileError
from asbuilt.register import fields, layout, merge, waiting
from asbuilt.register.agreed import Settled
from asbuilt.register.incoming import Incoming, steps
from asbuilt.register.loaded import Loaded
from asbuilt.register.planning import Plan
from asbuilt.register.store import Store, quoted

LISTED = 1000
"""Changed joints that are listed column by column, and new joints that are named; beyond that they are counted."""

_UNSEEN = {"content", "load_id", "first_load_id", "findings", "joint_uid"}
_UNIT = "coordinate_unit"
_PLACE = {"easting", "northing", "longitude", "latitude"}


def tell(
    store: Store,
    incoming: Incoming,
    plan: Plan,
    settled: Settled,
    result: Loaded,
) -> None:
    """Say what the load will do, and prove that no joint and no record is unaccounted for."""
    what = plan.decision.what
    left_out = what == merge.CONFLICT
    counts = np.bincount(what, minlength=4).tolist()
    result.joints = {
        "read": len(what), "new": counts[merge.NEW], "updated": counts[merge.UPDATED],
        "unchanged": counts[merge.UNCHANGED], "left_out": counts[merge.CONFLICT],
    }  # fmt: skip
    of_left_out = left_out[incoming.record_joint]
    known = (what == merge.UNCHANGED)[incoming.record_joint] | plan.kept_records
    result.inspections = {
        "read": len(of_left_out), "added": len(plan.add_records), "unchanged": int((known & ~of_left_out).sum()),
        "left_out": int(of_left_out.sum()), "superseded": len(plan.end_records),
    }  # fmt: skip
    # The index -1, of findings about a length, is that of the last one: those of joints alone can be left out.
    left_out_too = int((left_out[incoming.finding_joint] & (incoming.finding_joint >= 0)).sum())
    left_out_too += len(plan.beside_the_point)
    if plan.waiting_routes:
        of_lengths = incoming.tables["findings"]["route"].filter(pa.array(incoming.finding_joint < 0)).to_pylist()
        left_out_too += sum(route in plan.waiting_routes for route in of_lengths)
    read, added = len(incoming.finding_joint), len(plan.add_findings)
    result.findings = {
        "read": read, "added": added, "unchanged": read - added - left_out_too, "left_out": left_out_too,
        "superseded": len(plan.end_findings),
    }  # fmt: skip
    for counted in (result.joints, result.inspections):
        parts = sum(value for name, value in counted.items() if name not in ("read", "superseded"))
        if parts != counted["read"]:
            raise RuntimeError(f"the parts of {counted} do not make up the whole")
    every = _conflicts(incoming, plan, store.unit)
    result.conflicts = [one for one in every if settled.ours.get(one["joint_uid"]) != one["content"]]
    result.settled_out = [one for one in every if settled.ours.get(one["joint_uid"]) == one["content"]]
    result.settled = len(result.settled_out)
    result.kept_before = _same_as_latest(store, incoming)
    result.changes = _changes(store, incoming, plan)
    if what.size > 0 and counts[merge.UPDATED] > LISTED:
        result.notes.append(f"of {counts[merge.UPDATED]} changed joints, the first {LISTED} are listed")
    earlier = _earlier_loads(store, incoming)
    if earlier:
        result.new_joints = _new_joints(incoming, what)
        _tell_of_repeated(incoming, plan, result, earlier)
    if counts[merge.UPDATED]:
        result.not_mentioned = _not_mentioned(store, incoming, plan)


def tell_of_repeated_whole(incoming: Incoming, result: Loaded, repeated: tuple[Any, ...]) -> None:
    rows = {name: table.num_rows for name, table in incoming.tables.items()}
    result.joints = {"read": rows["joints"], "new": 0, "updated": 0, "unchanged": rows["joints"], "left_out": 0}
    result.inspections = {
        "read": rows["inspections"], "added": 0, "unchanged": rows["inspections"], "left_out": 0, "superseded": 0,
    }  # fmt: skip
    result.findings = {
        "read": rows["findings"], "added": 0, "unchanged": rows["findings"], "left_out": 0, "superseded": 0,
    }  # fmt: skip
    result.notes.append(_same_content(*repeated))


def _same_content(number: int, at: str, by: str) -> str:
    return f"the content of this file is that of load {number}, loaded {at} by {by}"


def _same_as_latest(store: Store, incoming: Incoming) -> bool:
    """Tell whether the latest standing load of the job brought just this content."""
    found = store.rows(
        "SELECT content_sha256 FROM loads WHERE job = :job AND state = 'standing' ORDER BY load_id DESC LIMIT 1",
        job=incoming.job,
    )
    return bool(found) and found[0][0] == incoming.whole


def _earlier_loads(store: Store, incoming: Incoming) -> list[tuple[int, str, str, str]]:
    return [
        (int(number), str(content), str(at), str(by))
        for number, content, at, by in store.rows(
            "SELECT load_id, content_sha256, loaded_at, loaded_by FROM loads WHERE job = :job AND state = 'standing' "
            "ORDER BY load_id",
            job=incoming.job,
        )
    ]


def _tell_of_repeated(incoming: Incoming, plan: Plan, result: Loaded, earlier: list[tuple[int, str, str, str]]) -> None:
    same = [one for one in earlier if one[1] == incoming.whole]
    if not same:
        return
    number, _, at, by = same[-1]
    result.notes.append(_same_content(number, at, by))
    later = [one[0] for one in earlier if one[0] > number]
    if later and result.joints["updated"]:
        raise InputFileError(
            f"{incoming.path}: this is the content of load {number}, which load {later[-1]} of the same job has "
            f"corrected since; to go back to it, undo that one: "
            f"asbuilt load --undo {later[-1]} --into {result.register}"
        )


def _new_joints(incoming: Incoming, what: Ints) -> list[dict[str, Any]]:
    rows = pa.array(np.flatnonzero(what == merge.NEW)[:LISTED])
    named: list[dict[str, Any]] = (
        incoming.tables["joints"].select(["joint_uid", "route", "joint", "station"]).take(rows).to_pylist()
    )
    return named


def _conflicts(incoming: Incoming, plan: Plan, unit: str) -> list[dict[str, Any]]:
    told = []
    decision, pairs, register = plan.decision, plan.pairs, plan.register
    joints = incoming.tables["joints"]
    said = [name for name in waiting.SAID if name in joints.column_names]
    codes: dict[int, list[str]] = {}
    for row, code in zip(incoming.finding_joint.tolist(), incoming.tables["findings"]["code"].to_pylist(), strict=True):
        codes.setdefault(row, []).append(code)
    for row in np.flatnonzero(decision.what == merge.CONFLICT).tolist():
        pair = int(decision.pair[row])
        reason = decision.reason[row].as_py()
        told.append(
            {
                "reason": reason,
                "message": waiting.message(reason, float(pairs.away[pair]), unit),
                **{name: incoming.text(name)[row].as_py() for name in ("joint_uid", "route", "joint", "station")},
                "easting": float(incoming.easting[row]),
                "northing": float(incoming.northing[row]),
                **{name: _plain(joints[name][row].as_py()) for name in said},
                "findings": codes.get(row, []),
                "content": f"{incoming.content[row]}",
                "away_m": round(float(pairs.away[pair]), 3),
                "register": {
                    **{name: register[name][pair] for name in ("joint_uid", "route", "joint", "station")},
                    "load": int(register["load_id"][pair]),
                },
            }
        )
    return told


def _changes(store: Store, incoming: Incoming, plan: Plan) -> list[dict[str, Any]]:
    """List what changes of joints that the register has, column by column."""
    changed = np.flatnonzero(plan.decision.what == merge.UPDATED)[:LISTED]
    if not len(changed):
        return []
    names = [name for name in layout.kinds("joints") if name in incoming.tables["joints"].column_names]
    store.stage("listed", {"fid": plan.fid[changed]})
    olds = list(
        store.dicts(
            f"SELECT {quoted([*names, _UNIT], 'j.')} FROM listed t JOIN joints j ON j.fid = t.fid ORDER BY t.nr",
            [*names, _UNIT],
        )
    )
    news = incoming.tables["joints"].select(names).take(pa.array(changed)).to_pylist()
    for row, new in zip(changed.tolist(), news, strict=True):
        new |= {"easting": float(incoming.easting[row]), "northing": float(incoming.northing[row])}
        new |= {name: values[row] for name, values in plan.kept.items() if name in new and row in values}
    told = []
    place_of = plan.kept.get(fields.PLACE, {})
    for row, old, new in zip(changed.tolist(), olds, news, strict=True):
        unit, new[_UNIT] = old[_UNIT], incoming.run[_UNIT]
        fields.carry(old, unit, new[_UNIT])
        old["distance"] *= units.factor(unit, new[_UNIT])
        pair, pairs = int(plan.decision.pair[row]), plan.pairs
        moved = 0.0 if place_of.get(row) is not None else float(pairs.away[pair])
        unseen = _UNSEEN if moved > merge.MOVED else _UNSEEN | _PLACE
        told.append(
            {
                "joint_uid": plan.uid[row].as_py(),
                "route": new["route"],
                "joint": new["joint"],
                "matched_by": "joint_uid" if pairs.same_uid[pair] else "place",
                "moved_m": round(moved, 3),
                "changed": {
                    name: [_plain(old[name]), _plain(new[name])]
                    for name in (*names, _UNIT)
                    if name not in unseen and not _looks_same(old[name], new[name])
                },
                "records": [],
            }
        )
    _list_records(store, incoming, plan, changed, told)
    return told


def _list_records(store: Store, incoming: Incoming, plan: Plan, changed: Ints, told: list[dict[str, Any]]) -> None:
    """List the records of each changed joint that are corrected, added or superseded."""
    table = incoming.tables["inspections"]
    names = [name for name in layout.kinds("inspections") if name in table.column_names and name != "joint_uid"]
    new: dict[str, list[dict[str, Any]]] = {}
    rows = plan.add_records[np.isin(incoming.record_joint[plan.add_records], changed)]
    for joint, record in zip(incoming.record_joint[rows].tolist(), table.take(pa.array(rows)).to_pylist(), strict=True):
        new.setdefault(plan.uid[joint].as_py(), []).append(record)
    old: dict[str, list[dict[str, Any]]] = {}
    store.stage("ending", {"fid": plan.end_records})
    for record in store.dicts(
        f"SELECT i.joint_uid, {quoted(names, 'i.')} FROM ending e JOIN inspections i ON i.fid = e.fid "
        "WHERE i.joint_uid IN (SELECT j.joint_uid FROM listed t JOIN joints j ON j.fid = t.fid) ORDER BY e.nr",
        ["joint_uid", *names],
    ):
        old.setdefault(record["joint_uid"], []).append(record)
    read = {match["column"] for match in incoming.run["matches"]}
    for one in told:
        ours, theirs = new.get(one["joint_uid"], []), old.get(one["joint_uid"], [])
        both = min(len(ours), len(theirs))
        for record, earlier in zip(ours[:both], theirs[:both], strict=True):
            differs = {
                name: [_plain(earlier[name]), _plain(record[name])]
                for name in names
                if name not in ("record", "file", "row", "original") and _plain(earlier[name]) != _plain(record[name])
            }
            differs |= _not_read(earlier["original"], record["original"], read)
            one["records"].append({"what": "corrected", "row": record.get("row"), "changed": differs})
        one["records"] += [{"what": "added", "row": record.get("row")} for record in ours[both:]]
        one["records"] += [{"what": "superseded", "row": earlier.get("row")} for earlier in theirs[both:]]


def _not_read(old: str | None, new: str | None, read: Collection[str]) -> dict[str, list[Any]]:
    """Give the cells of the original row that differ in columns that no field is read from, by their headings.

    Examples
    --------
    >>> old, new = '{"Lot": "4701", "Inspector": "T. Okafor"}', '{"Lot": "9999", "Inspector": "M. Sol"}'
    >>> _not_read(old, new, {"Inspector"})
    {"column 'Lot'": ['4701', '9999']}
    """
    was, now = (json.loads(one) if one else {} for one in (old, new))
    both = {name: [was.get(name), now.get(name)] for name in {**was, **now} if name not in read}
    return {f"column {name!r}": pair for name, pair in both.items() if pair[0] != pair[1]}


def _looks_same(old: Any, new: Any) -> bool:
    """Tell whether a person would see no difference, as the digest of the content has it."""
    if isinstance(old, float) and isinstance(new, float):
        before, after = steps(np.array([old, new]))
        return bool(before == after)
    return bool(_plain(old) == _plain(new))


def _plain(value: Any) -> Any:
    return value.isoformat() if isinstance(value, dt.date) else value


def _not_mentioned(store: Store, incoming: Incoming, plan: Plan) -> list[dict[str, Any]]:
    """List the joints that only earlier loads of the same job speak of: a corrected log may have dropped them."""
    paired = plan.decision.pair[plan.decision.pair >= 0]
    store.stage("mentioned", {"fid": np.unique(plan.register["fid"][paired])})
    names = ("joint_uid", "route", "joint", "station", "load")
    return list(
        store.dicts(
            "SELECT j.joint_uid, j.route, j.joint, j.station, j.load_id FROM joints j "
            "JOIN loads l ON l.load_id = j.load_id WHERE l.job = :job "
            "AND j.fid NOT IN (SELECT fid FROM mentioned) ORDER BY j.fid",
            names,
            job=incoming.job,
        )
    )
