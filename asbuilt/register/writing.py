"""What a load writes: the load itself, the joints, records and findings that it adds, and the end of earlier ones."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import pyarrow as pa

from asbuilt.addresses import shown
from asbuilt.arrays import Ints, as_one, in_a_row, of_rows
from asbuilt.register import beside, fields, layout, merge, naming
from asbuilt.register.arrow_kinds import typed
from asbuilt.register.incoming import Incoming
from asbuilt.register.keeping import file_column
from asbuilt.register.loaded import Loaded
from asbuilt.register.planning import Plan
from asbuilt.register.store import Store, insert, now
from asbuilt.register.undo import to_earlier


def write(
    store: Store,
    incoming: Incoming,
    plan: Plan,
    tolerance_m: float,
    asked: Mapping[str, Any],
    by: str,
    result: Loaded,
) -> None:
    """Write what a load brings; what else was asked of it is kept with it."""
    number = 1 + int(store.rows("SELECT coalesce(max(load_id), 0) FROM loads")[0][0])
    result.load = number
    insert(
        store,
        "loads",
        load_id=number,
        job=incoming.job,
        file=shown(str(incoming.path)),
        sha256=incoming.sha256,
        content_sha256=incoming.whole,
        loaded_at=now(),
        loaded_by=by,
        crs=incoming.crs,
        datum_step=incoming.datum_step,
        tolerance_m=tolerance_m,
        **{f"joints_{name}": value for name, value in result.joints.items()},
        conflicts=layout.as_json(result.conflicts + result.settled_out),
        run=layout.as_json(
            incoming.run
            | dict(asked)
            | {"main": incoming.main, "routes": incoming.own_routes, "records_of_loads": result.records_of_loads}
            | {
                "gave_way_to": result.gave_way_to,
                fields.STANDS_UNDER: _stands_under(plan),
                "accept_m": incoming.accept_m,
                "beside": incoming.beside,
                "beside_changes": result.beside_changes,
            },
        ),
        state="standing",
    )
    _end(store, "inspections", plan.end_records, number)
    _end(store, "findings", plan.end_findings, number)
    renamed = incoming.main is not None or not plan.uid.equals(incoming.text("joint_uid"))
    standing: dict[str, str | int] = {"load_id": number, "state": "standing"}
    of = incoming.record_joint[plan.add_records]
    more: dict[str, Any] = {"content": incoming.record_content[in_a_row(plan.add_records)]}
    if renamed:
        more["joint_uid"] = plan.uid.take(pa.array(of))
    more |= _routes_of(incoming, "inspections", plan.add_records)
    of_records = standing | {"size_unit": incoming.size_unit}
    with store.add_beside("inspections", incoming, "inspections", plan.add_records, more, of_records):
        _write_joints(store, incoming, plan, number)
    add = np.concatenate([plan.add_findings, plan.beside_the_point])
    of = incoming.finding_joint[add]
    there = of >= 0
    place = {
        "easting": np.where(there, incoming.easting[of], np.nan),
        "northing": np.where(there, incoming.northing[of], np.nan),
        "elevation": np.where(there, incoming.number("elevation")[of], np.nan),
    }
    store.add(
        "findings", incoming, "findings", add,
        {
            "fid": store.next_fid("findings") + np.arange(len(of)),
            "joint_uid": plan.uid.take(pa.array(of, mask=~there)),
            "finding_uid": incoming.finding_uid.take(pa.array(add)),
            **place,
            "state": ["standing"] * len(plan.add_findings) + ["superseded"] * len(plan.beside_the_point),
            "ended_by": typed(
                "ended_by", [None] * len(plan.add_findings) + [number] * len(plan.beside_the_point)
            ),
            **_routes_of(incoming, "findings", add),
        },
        {"load_id": number},
    )  # fmt: skip
    beside.write(store, incoming, number, plan.waiting_routes, result.tests_ended)
    naming.write(store, incoming, plan, number)
    _let_stand_again(store, plan)
    _count_findings(store, plan)


def _stands_under(plan: Plan) -> list[int]:
    """Name the loads by whose names, numbers or stations joints stand of which the file speaks."""
    pair = plan.decision.pair
    named = np.flatnonzero((pair >= 0) & (plan.decision.what != merge.CONFLICT))
    others = named[~plan.pairs.same_uid[pair[named]]]
    first = plan.register["first_load_id"][pair[others]], plan.register["load_id"][pair[plan.second_names]]
    found: list[int] = np.unique(np.concatenate(first)).tolist()
    return found


def _let_stand_again(store: Store, plan: Plan) -> None:
    """Let the findings of other jobs stand again that are about what comes back of them."""
    if not len(plan.back):
        return
    store.stage("came_back", {"fid": plan.fid[plan.back]})
    store.execute(
        "UPDATE findings SET state = 'standing', ended_by = NULL WHERE state = 'superseded' AND EXISTS (SELECT 1 FROM "
        "came_back c JOIN joints j ON j.fid = c.fid WHERE j.joint_uid = findings.joint_uid "
        f"AND j.load_id <> findings.load_id AND {fields.holds('findings', 'j')})"
    )


def _count_findings(store: Store, plan: Plan) -> None:
    """Count the findings of changed joints, of which some may stand from an earlier job."""
    changed = plan.fid[plan.decision.what == merge.UPDATED]
    if not len(changed) or not plan.kept:
        return
    store.stage("changed", {"fid": changed})
    store.execute(
        "UPDATE joints SET findings = (SELECT count(*) FROM findings f WHERE f.joint_uid = joints.joint_uid "
        "AND f.state = 'standing') WHERE fid IN (SELECT fid FROM changed)"
    )


def _write_joints(store: Store, incoming: Incoming, plan: Plan, number: int) -> None:
    what = plan.decision.what
    changed = plan.fid[what == merge.UPDATED]
    next_fid = store.next_fid("joints")  # before any is taken out for a while
    if len(changed):
        store.stage("changed", {"fid": changed})
        to_earlier(store, "changed", number, "superseded")
        store.remove_joints("changed")
    rows = np.flatnonzero(np.isin(what, (merge.NEW, merge.UPDATED)))
    # Where all are written, none is copied.
    some = in_a_row(rows)
    fid, first = plan.fid[rows], plan.first_load[rows]
    new = fid == 0
    fid[new] = next_fid + np.arange(new.sum())
    first[new] = number
    same: dict[str, str | int] = {
        "load_id": number, "station_unit": incoming.run["station_unit"],
        "coordinate_unit": incoming.run["coordinate_unit"], "size_unit": incoming.size_unit,
    }  # fmt: skip
    # What is not kept from another load is from this one.
    own = {group.load_column: number for group in fields.GROUPS}
    kept = {}
    for name, of_row in plan.kept.items():
        column = zip(rows.tolist(), file_column(incoming, name, rows), strict=True)
        told = [of_row.get(row, value) for row, value in column]
        kept[name] = typed(name, [own.get(name) if value is None else value for value in told])
    store.add(
        "joints", incoming, "joints", rows,
        {
            "fid": fid, "joint_uid": of_rows(plan.uid, rows), "easting": incoming.easting[some],
            "northing": incoming.northing[some], "elevation": incoming.number("elevation")[some],
            "station_number": incoming.station_number[some], "first_load_id": first,
            "content": incoming.content[some], **_routes_of(incoming, "joints", rows),
            **{name: of_rows(values, rows) for name, values in incoming.place_accuracy.items()}, **kept,
        },
        {name: value for name, value in (same | own).items() if name not in kept},
    )  # fmt: skip


def _routes_of(incoming: Incoming, layer: str, rows: Ints) -> dict[str, Any]:
    """Give the routes that stand in place of the file's, where the job is put under a main."""
    if incoming.main is None:
        return {}
    return {"route": as_one(incoming.tables[layer]["route"]).take(pa.array(rows))}


def _end(store: Store, table: str, fid: Ints, number: int) -> None:
    if not len(fid):
        return
    store.stage("ending", {"fid": fid})
    store.execute(
        f"UPDATE {table} SET state = 'superseded', ended_by = :number WHERE fid IN (SELECT fid FROM ending)",
        number=number,
    )
