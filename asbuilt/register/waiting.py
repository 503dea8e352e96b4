"""Joints that a load left out because they contradict the register: kept until somebody settles them.

A joint waits until a later load of its job speaks of its route again, corrected or under a main of its own; nothing is
merged by a guess.
"""

from __future__ import annotations

import json
from typing import Any

import numpy as np

from asbuilt.register.opening import open_existing
from asbuilt.register.store import Store


def conflicts(register: str) -> list[dict[str, Any]]:
    """List the joints that wait to be settled.

    Parameters
    ----------
    register : str
        Path of a register, or a postgresql:// address.

    Returns
    -------
    list of dict
        As `load --json` lists conflicts, each with "job", "load" and "loaded_at" of the load that left it out.

    Raises
    ------
    AsbuiltError
        When the register cannot be read.
    """
    store = open_existing(register)
    try:
        with store.reading():
            return waiting(store)
    finally:
        store.close()


def waiting(store: Store) -> list[dict[str, Any]]:
    """List the joints of an open register that wait to be settled, by the load that left them out."""
    rows = store.rows(
        "SELECT l.load_id, l.job, l.loaded_at, l.conflicts, l.run FROM loads l WHERE l.state = 'standing' "
        "AND EXISTS (SELECT 1 FROM loads y WHERE y.job = l.job AND y.state = 'standing' AND y.joints_left_out > 0) "
        "ORDER BY l.load_id"
    )
    kept: dict[tuple[str, str], list[dict[str, Any]]] = {}
    for number, job, at, text, run in rows:
        told = json.loads(run or "{}")
        main = told.get("main")
        # Loads of an earlier version do not say their routes: they are taken to speak of those they left out.
        left_out = json.loads(text or "[]")
        of = [one["route"].removeprefix(f"{main}: ") if main else one["route"] for one in left_out]
        for route in {*told.get("routes", ()), *of}:
            kept.pop((job, route), None)
        for route, one in zip(of, left_out, strict=True):
            kept.setdefault((job, route), []).append({"job": job, "load": number, "loaded_at": at, **one})
    return [one for some in kept.values() for one in some]


def near(store: Store, found: list[dict[str, Any]], easting: float, northing: float, metres: float) -> list[Any]:
    """Give those of the waiting joints that lie within a distance of a place in the register's coordinates."""
    places = np.array([[one.get("easting", np.nan), one.get("northing", np.nan)] for one in found], dtype=np.float64)
    if not len(found):
        return []
    here = np.full(len(found), easting), np.full(len(found), northing)
    away = store.ground.away(*here, np.nan_to_num(places[:, 0]), np.nan_to_num(places[:, 1]))
    # One whose place was not kept may be anywhere, so it is told.
    close = (away <= metres) | np.isnan(places).any(axis=1)
    return [one for one, is_close in zip(found, close.tolist(), strict=True) if is_close]


def counted(found: list[dict[str, Any]]) -> dict[str, int]:
    """Count waiting joints and the jobs that they are of."""
    return {"joints": len(found), "jobs": len({one["job"] for one in found})}
