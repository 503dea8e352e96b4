"""A load undone from between others leaves what the loads that remain make without it, or is refused by name.

Jobs over one main are made at random: surveys as good as they like, at places a little or far apart, of some day or of
none; logs with inspections, results, readings, sizes, restraint, or without, of the whole main or a part. As a script
it draws more of them, and longer sequences:

    python tests/register/test_undo_between.py 1 500
"""

from __future__ import annotations

import json
import re
import shutil
import sys
from collections import Counter

import laying
import numpy as np
from register_model import fresh_files, fresh_schema, on_the_day, read_once
from registers import change, quick_folder

from asbuilt.errors import InputFileError
from asbuilt.register import fields, layout
from asbuilt.register.layout import run_told
from asbuilt.register.loading import load
from asbuilt.register.opening import open_existing
from asbuilt.register.store import quoted
from asbuilt.register.undo import undo
from asbuilt.register.waiting import conflicts

RADIUS_IN = 6.6
"""Of a 12 in pipe, outside (AWWA C151, from memory)."""
JOBS = ("North", "South", "West")
OF_LOADS = ("load_id", "first_load_id", "ended_by", *fields.FROM_LOADS)


def gaps(degrees):
    """Give the gaps around a joint that is deflected to the right, inches."""
    wide = RADIUS_IN * np.tan(np.radians(degrees))
    return {f"gap_{hour}": f"{0.9 - wide * np.cos(np.radians(hour * 30 - 90)):.4f}" for hour in (12, 3, 6, 9)}


def drawn(chance, path, name):
    """Place a job drawn at random: six joints of one main."""
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
    laying.place(laying.lines(A=points), log.loc[list(only)], name=name, centerline=line, records=records).write(path)
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


def tried(empty, files, between):
    """Load files and undo one of them: what came of it, and what differs from loading the others alone."""
    register, other = empty(), empty()
    loads = load_all(register, files)
    if None in loads:
        return "not loaded", []
    try:
        undo(loads[between], register, by="tests")
    except InputFileError as error:
        return str(error), []
    names = [file.name for file in files]
    ours = {number: names[at] for at, number in enumerate(loads) if at != between}
    theirs = {load(file, other, by="tests").load: names[at] for at, file in enumerate(files) if at != between}
    return "undone", differences(told(register, ours), told(other, theirs))


def load_all(register, files):
    """Load files one after the other: the number of each load, None where nothing was new or its job corrected it."""
    loads = []
    for file in files:
        try:
            loads.append(load(file, register, by="tests").load)
        except InputFileError:
            return [*loads, None]
    return loads


def sequences(folder, chance, count, most=3):
    """Give so many sequences of files of jobs, which load one after the other, and which of them is to be undone."""
    each = 4 + min(20, count)
    forms = {name: [drawn(chance, folder / f"{name}_{number}.gpkg", name) for number in range(each)] for name in JOBS}
    for _ in range(count):
        names = list(chance.permutation(JOBS))
        if chance.random() < 0.25:
            names[2] = names[0]
        elif chance.random() < 0.15:
            names[1] = names[0]
        names += [str(chance.choice(JOBS)) for _ in range(int(chance.integers(0, most - 2)))]
        yield [forms[name][chance.integers(each)] for name in names], int(chance.integers(1, len(names) - 1))


def two_at_a_time(folder):
    """Give a maker of empty registers of which the last two stay."""
    numbers = iter(range(10**9))
    makers = []
    for name in ("one", "other"):
        (folder / name).mkdir(exist_ok=True)
        makers.append(fresh_files(folder / name))
    return lambda: makers[next(numbers) % 2]()


def test_a_load_undone_from_between_leaves_what_the_others_make_without_it(folder):
    came = Counter()
    empty = two_at_a_time(folder)
    with read_once(), on_the_day():
        for files, between in sequences(folder, np.random.default_rng(7), 25):
            what, said = tried(empty, files, between)
            assert said == [], [file.name for file in files]
            came[what == "undone"] += 1
    assert came[True] >= 8


def test_a_server_undoes_as_a_file_does(folder, register_server):
    empty = fresh_schema(register_server)
    files = two_at_a_time(folder)
    undone = 0
    with read_once(), on_the_day():
        for some, between in sequences(folder, np.random.default_rng(8), 8):
            what, _ = tried(files, some, between)
            if what != "undone":
                continue
            each = []
            for register in (empty(), files()):
                loads = [load(file, register, by="tests").load for file in some]
                undo(loads[between], register, by="tests")
                each.append(told(register, {number: some[at].name for at, number in enumerate(loads)}))
            assert differences(*each) == []
            undone += 1
    assert undone >= 2


def main(seed, count):
    """Try so many sequences of up to five loads, and tell what came of them and every one that differs."""
    folder = quick_folder()
    came = Counter()
    try:
        empty = two_at_a_time(folder)
        with read_once(), on_the_day():
            for number, (files, between) in enumerate(sequences(folder, np.random.default_rng(seed), count, most=6)):
                what, said = tried(empty, files, between)
                kind = re.sub(r"\d+", "N", re.sub(r"\(.*?\)|^.*?: ", "", what))[:70]
                came[kind, "differs" if said else ""] += 1
                if said:
                    print(number, [file.name for file in files], between, said[:5])
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    for (kind, differs), many in came.most_common():
        print(many, kind, differs)


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]))
