"""Jobs over one main drawn at random, and what a register holds after their loads, to be compared with another."""

from __future__ import annotations

import json

import laying
import numpy as np
import pandas as pd
from register_model import fresh_files
from registers import change

from asbuilt.errors import InputFileError
from asbuilt.register import fields, layout
from asbuilt.register.layout import run_told
from asbuilt.register.loading import load
from asbuilt.register.opening import open_existing
from asbuilt.register.store import quoted
from asbuilt.register.waiting import conflicts

RADIUS_IN = 6.6
"""Of a 12 in pipe, outside (AWWA C151, from memory)."""
JOBS = ("North", "South", "West")
OF_LOADS = ("load_id", "first_load_id", "ended_by", *fields.FROM_LOADS)


def gaps(degrees):
    """Give the gaps around a joint that is deflected to the right, inches."""
    wide = RADIUS_IN * np.tan(np.radians(degrees))
    return {f"gap_{hour}": f"{0.9 - wide * np.cos(np.radians(hour * 30 - 90)):.4f}" for hour in (12, 3, 6, 9)}


def drawn(chance, path, name, *, branch=False):
    """Place a job drawn at random: six joints of one main, and four of a branch 30 ft beside it where one is asked."""
    turn = chance.choice([0.0, 0.0, 3.0, 9.0])
    points = laying.pipe((0.0, 0.0, turn, 0.0, 0.0))
    east = chance.choice([0.0, 0.02, 0.05, 0.1, 0.15, 0.5, 1.2])
    points = points + np.array([east, 0.0, chance.choice([0.0, 0.0, 0.1])])
    log = laying.log(points[:6], route="A")
    sigma = float(chance.choice([0.01, 0.02, 0.028, 0.035, 0.05, 0.08]))
    line: dict[str, object] = {"sigma_horizontal": sigma, "sigma_vertical": float(chance.choice([sigma, 0.02]))}
    if chance.random() < 0.15:
        line = {}
    if chance.random() < 0.2:
        line |= {"source": "drawn", "shots_at_joints": False}
        line.pop("sigma_horizontal", None)
        line.pop("sigma_vertical", None)
    if chance.random() < 0.15:
        line["elevation"] = "none"
    if chance.random() < 0.5:
        line["surveyed_on"] = str(chance.choice(["2026-03-05", "2026-04-20", "2026-05-20"]))
    columns: dict[str, object] = {}
    if chance.random() < 0.4:
        log = log[["joint", "station", "route", "size", "joint type"]]
    else:
        columns["date"] = str(chance.choice(["2026-03-01", "2026-04-01", "2026-05-01", "2062-04-01"]))
        columns["inspector"] = name
        if chance.random() < 0.15:
            columns["date"] = None
        if chance.random() < 0.3:
            columns["gauge"] = {1: "no"}
        if chance.random() < 0.3:
            columns |= {one: {2: text} for one, text in gaps(float(chance.choice([0.5, 3.0, 6.8]))).items()}
    of_pipe = (("size", (None, "12", "8")), ("joint type", (None, "push-on", "mechanical")),
               ("kind", ({1: "sleeve"}, {1: "tee"})), ("restrained", ({1: "yes"}, {1: "no", 2: "yes"})))  # fmt: skip
    for column, values in of_pipe:
        if chance.random() < 0.25:
            columns[column.replace(" ", "_")] = values[chance.integers(len(values))]
    change(log, columns)
    only = [range(6), range(3), range(2, 6), [2]][chance.choice(4, p=[0.7, 0.1, 0.1, 0.1])]
    records = {"reading_unit": "in", "covers": "part"} if chance.random() < 0.3 else {"reading_unit": "in"}
    log, mains = log.loc[list(only)], {"A": points}
    if branch:
        mains["B"] = laying.pipe(np.zeros(3)) + np.array([30.0 + east, float(chance.choice([0.0, 0.1, 8.0])), 0.0])
        own = laying.log(mains["B"][:4], route="B")
        log = pd.concat([log, own[[name for name in own if name in log]]], ignore_index=True)
    laying.place(laying.lines(**mains), log, name=name, centerline=line, records=records).write(path)
    return path


def told(register, numbers):
    """Tell what is known of each joint and what waits, with loads by the number that `numbers` gives each."""
    store = open_existing(register)
    try:
        found = {}
        for table in ("joints", "inspections", "findings"):
            names = list(layout.kinds(table))
            for row in store.dicts(f"SELECT {quoted(names)} FROM {table}", names):
                for name in OF_LOADS:
                    if row.get(name) is not None:
                        row[name] = numbers.get(row[name], f"load {row[name]}")
                if table == "findings" and row["state"] != "standing":
                    continue
                for name, value in row.items():
                    row[name] = round(value, 6) if isinstance(value, float) else value if value is None else str(value)
                if table == "joints":
                    for fact in fields.FACTS:
                        row[fact.load_column] = row[fact.load_column] or row["load_id"]
                    row["gave_way"] = sorted(json.loads(row["gave_way"] or "{}").items())
                found.setdefault(row["joint_uid"], {}).setdefault(table, []).append(row)
        for tables in found.values():
            for rows in tables.values():
                rows.sort(key=repr)
        gave = {
            numbers.get(number, number): sorted(numbers.get(one, one) for one in run_told(run).get("gave_way_to", ()))
            for number, run in store.rows("SELECT load_id, run FROM loads WHERE state = 'standing'")
        }
    finally:
        store.close()
    waits = sorted((one["job"], one["joint_uid"], one["reason"]) for one in conflicts(register))
    return found, gave, waits


def differences(one, other):
    """List what differs: (table, column) with the two values, or what is there only once."""
    said = []
    for uid in sorted({*one[0], *other[0]}, key=str):
        for table in ("joints", "inspections", "findings"):
            here, there = (some[0].get(uid, {}).get(table, []) for some in (one, other))
            if len(here) != len(there):
                name = "code" if table == "findings" else "load_id"
                said.append((table, "rows", sorted(str(r[name]) for r in here), sorted(str(r[name]) for r in there)))
                continue
            for mine, theirs in zip(here, there, strict=True):
                said += [(table, name, mine[name], theirs[name]) for name in mine if mine[name] != theirs[name]]
    if one[1] != other[1]:
        said.append(("gave way", "", one[1], other[1]))
    if one[2] != other[2]:
        said.append(("waits", "", one[2], other[2]))
    return said


def load_all(register, files):
    """Load files one after the other: the number of each load, None where nothing was new or its job corrected it."""
    loads = []
    for file in files:
        try:
            loads.append(load(file, register, by="tests").load)
        except InputFileError:
            return [*loads, None]
    return loads


def two_at_a_time(folder):
    """Give a maker of empty registers of which the last two stay."""
    numbers = iter(range(10**9))
    makers = []
    for name in ("one", "other"):
        (folder / name).mkdir(exist_ok=True)
        makers.append(fresh_files(folder / name))
    return lambda: makers[next(numbers) % 2]()
