"""A load undone from between others leaves what the loads that remain make without it, or is refused by name.

Jobs over one main are made at random: surveys as good as they like, at places a little or far apart, of some day or of
none; logs with inspections, results, readings, sizes, restraint, or without, of the whole main or a part. As a script
it draws more of them, and longer sequences:

    python tests/register/test_undo_between.py 1 500
"""

from __future__ import annotations

import re
import shutil
import sys
from collections import Counter

import numpy as np
import pytest
from loads_at_random import JOBS, differences, drawn, load_all, told, two_at_a_time
from register_model import fresh_schema, on_the_day, read_once
from registers import placed, quick_folder

from asbuilt.errors import InputFileError
from asbuilt.register.loading import load
from asbuilt.register.settling import settle
from asbuilt.register.undo import undo
from asbuilt.register.waiting import conflicts


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


@pytest.fixture
def job(tmp_path):
    """Write a job of six joints, each time to another file."""
    numbers = iter(range(100))
    return lambda name, **columns: placed(tmp_path / f"job_{next(numbers)}.gpkg", name, **columns)


def surveyed(day):
    return {"centerline": {"surveyed_on": day}}


def test_records_that_would_be_there_twice_are_so_too_where_their_job_ended_its_own_since(tmp_path, job):
    """Once they were looked for among those that stand alone, and history told of a record twice."""
    register = str(tmp_path / "twice.gpkg")
    for file in (job("West"), job("West", remarks={1: "reset"}), job("North"), job("North", remarks={1: "checked"})):
        load(file, register)
    with pytest.raises(InputFileError, match="from load 4 back to load 3, first, and load their files again") as said:
        undo(2, register)
    assert "load 3 (North) brought records that load 2 had ended in another job's log" in str(said.value)


def test_joints_that_a_load_left_out_rest_on_what_they_contradict_though_their_job_was_loaded_again(tmp_path, job):
    """Once only those that still wait were looked at, and what the first load said of them was lost in silence."""
    register = str(tmp_path / "left_out.gpkg")
    for file in (job("North"), job("South", east=1.2), job("South", east=0.2, inspector="K. Ode")):
        load(file, register)
    assert conflicts(register) == []
    with pytest.raises(InputFileError, match=r"load 2 \(South\) left joints out, as they contradict what load 1 says"):
        undo(1, register)


def test_joints_that_somebody_settled_to_stay_out_rest_on_what_they_contradict(tmp_path, job):
    """Once the load under them could be undone: then neither main stood in the register."""
    register = str(tmp_path / "settled.gpkg")
    for file in (job("North"), job("South", east=1.2)):
        load(file, register)
    settle(register, "ours")
    with pytest.raises(InputFileError, match=r"load 2 \(South\) left joints out"):
        undo(1, register)


def test_a_correction_that_moves_joints_rests_on_the_load_that_let_its_job_have_the_place(tmp_path, job):
    """Without it another job's place would hold, and the correction would wait, as it lies too far from that."""
    register = str(tmp_path / "far.gpkg")
    for file in (
        job("North", tables=surveyed("2026-05-20")),
        job("North", east=0.05, tables=surveyed("2026-03-01")),
        job("West", east=0.2, inspector="K. Ode", tables=surveyed("2026-04-01")),
        job("West", east=1.5, inspector="K. Ode", tables=surveyed("2026-04-01")),
    ):
        load(file, register)
    with pytest.raises(InputFileError, match=r"load 4 \(West\) has joints where load 2 has them, too far from where"):
        undo(2, register)


def test_what_a_load_settled_is_undone_with_it(tmp_path, job):
    """Once it held for later loads of the job, whose joints took the places of others, and nobody was asked."""
    register = str(tmp_path / "undone.gpkg")
    for file in (job("North"), job("South", east=1.2)):
        load(file, register)
    undo(settle(register, "theirs", job="South").loads[0], register)
    assert len(conflicts(register)) == 6
    assert load(job("South", east=1.2, date="2026-05-01"), register).joints["left_out"] == 6
    # What was settled before by hand is as it was.
    settle(register, "ours")
    undo(settle(register, "theirs", job="South").loads[0], register)
    assert conflicts(register) == []


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
