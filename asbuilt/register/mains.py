"""Mains that the routes of a job are put under, so that route A of two contracts are two routes."""

from __future__ import annotations

import numpy as np
import pyarrow as pa

from asbuilt.errors import InputFileError
from asbuilt.register import ground
from asbuilt.register.incoming import Incoming
from asbuilt.register.layout import run_told
from asbuilt.register.loaded import Loaded
from asbuilt.register.store import Store, floats, ints
from asbuilt.register.undo import before_their_mains, refuse_if_rested_on, take_back

SURVEYED_AGAIN_M = 5.0
"""Joints of one route and number that are no farther apart are one main surveyed twice; ours, no source."""


def main_before(store: Store, job: str) -> str | None:
    """Give the main under which the latest standing load of a job put its routes."""
    found = store.rows(
        "SELECT run FROM loads WHERE job = :job AND state = 'standing' ORDER BY load_id DESC LIMIT 1", job=job
    )
    main = run_told(found[0][0]).get("main") if found else None
    return str(main) if main else None


def loads_without_main(store: Store, incoming: Incoming) -> list[tuple[int, str]]:
    """Give the standing loads of a job, latest first, that brought part of what it says now, under no main."""
    found = store.rows(
        "SELECT load_id, file, run FROM loads WHERE job = :job AND state = 'standing' ORDER BY load_id DESC",
        job=incoming.job,
    )
    loads = [(int(number), str(file)) for number, file, run in found if not run_told(run).get("main")]
    if len(loads) < len(found):
        return []
    place = dict(zip(incoming.own_uid.to_pylist(), zip(incoming.easting, incoming.northing, strict=True), strict=True))
    joints = store.rows(
        "SELECT j.joint_uid, j.easting, j.northing FROM joints j JOIN loads l ON l.load_id = j.first_load_id "
        "WHERE l.job = :job",
        job=incoming.job,
    )
    if not joints or any(uid not in place for uid, *_ in joints):
        return []
    here = np.array([place[uid] for uid, *_ in joints], dtype=np.float64)
    there = np.array([one[1:] for one in joints], dtype=np.float64)
    away = store.ground.away(here[:, 0], here[:, 1], there[:, 0], there[:, 1])
    return loads if bool(np.all(away <= SURVEYED_AGAIN_M)) else []


def put_under_main(store: Store, loads: list[tuple[int, str]], by: str, result: Loaded) -> None:
    """Take back the job's loads under no main, so that all of the job is under the main."""
    result.taken_back = [number for number, _ in loads]
    for number in result.taken_back:
        refuse_if_rested_on(store, number, result.job)
    also = {other for number in result.taken_back for other in before_their_mains(store, number, result.job)}
    if also:
        result.notes.append(
            f"load {', '.join(map(str, sorted(also)))} of other jobs, of which all joints were left out for them, "
            f"{'would be' if result.dry_run else 'is'} undone with these loads; the file stands under a main"
        )
    numbers = ", ".join(map(str, result.taken_back))
    if result.dry_run:
        result.notes.append(f"load {numbers} of this job would be undone first, so that all of it is under the main")
        return
    for number, file in loads:
        take_back(store, number, result.job, file, by)
    result.notes.append(f"load {numbers} of this job was undone first: all of it is under the main now")


def refuse_the_same_main(store: Store, incoming: Incoming, out: set[str], taken_back: list[int]) -> None:
    """Refuse a main of its own for joints that the register has, by route and number, in nearly the same place."""
    store.stage("unmained", {"joint_uid": incoming.own_uid})
    found = store.columns(
        "SELECT s.nr, j.easting, j.northing, j.load_id, j.joint_uid FROM unmained s "
        "JOIN joints j ON j.joint_uid = s.joint_uid",
        5,
    )
    of_others = [at for at, (load, uid) in enumerate(zip(*found[3:], strict=True))
                 if uid not in out and load not in taken_back]  # fmt: skip
    found = [tuple(values[at] for at in of_others) for values in found]
    row = ints(found[0])
    away = store.ground.away(incoming.easting[row], incoming.northing[row], floats(found[1]), floats(found[2]))
    near = np.flatnonzero(away <= SURVEYED_AGAIN_M)
    if len(near):
        near_words = ground.length_words(SURVEYED_AGAIN_M, store.unit, 0)
        names = incoming.text("joint").take(pa.array(row[near])).to_pylist()
        remedy = (
            "the same main, surveyed again. Under a main of its own it would be in the register twice; load it with a "
            "--tolerance that takes the places for one"
        )
        if out:
            remedy = (
                f"joints {names[0]} to {names[-1]}, which --replaces does not name. If pipe was relaid there too, name "
                "the whole length with --replaces; if not, hand in a job of the relaid length alone"
            )
        raise InputFileError(
            f"{incoming.path}: {len(near)} joints lie within {near_words} of joints of the same route and "
            f"number (load {int(found[3][near[0]])}): {remedy}"
        )
