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
from asbuilt.register.question import Question
from asbuilt.register.search import find
from asbuilt.register.settling import settle
from asbuilt.register.store import Store
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
    assert str(said.value).count(f"asbuilt load {tmp_path}/job_") == 2


def test_a_refusal_gives_the_command_by_which_the_file_was_loaded(tmp_path, job):
    register = str(tmp_path / "command.gpkg")
    load(job("North"), register)
    load(job("South", east=1.2), register, tolerance_m=0.6096, accept_m=1.0)
    with pytest.raises(InputFileError) as said:
        undo(1, register)
    told = str(said.value)
    assert told.endswith(f"job_1.gpkg --into {register} --tolerance 0.6096m --accept-accuracy 1.0m")
    assert f"To undo: asbuilt load --undo 2 --into {register}. " in told


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


def test_a_correction_that_moves_joints_rests_on_the_load_that_let_its_job_have_the_place(tmp_path, job, monkeypatch):
    """Without it another job's place would hold, and the correction would wait, as it lies too far from that."""
    register = str(tmp_path / "far.gpkg")
    for file in (
        job("North", tables=surveyed("2026-05-20")),
        job("North", east=0.05, tables=surveyed("2026-03-01")),
        job("West", east=0.2, inspector="K. Ode", tables=surveyed("2026-04-01")),
        job("West", east=1.5, inspector="K. Ode", tables=surveyed("2026-04-01")),
    ):
        load(file, register)
    given = Store.dicts
    for turned in (1, -1):  # a server gives rows in another order than a file
        monkeypatch.setattr(Store, "dicts", lambda *of, turn=turned, **asked: list(given(*of, **asked))[::turn])
        with pytest.raises(InputFileError, match=r"load 4 \(West\) has joints where load 2 has them, too far") as said:
            undo(2, register)
        assert "(route A, joint 1)" in str(said.value)


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


FAR = 5_000.0
"""Feet: another main far off, whose route has the same name."""


def loaded(tmp_path, name, *files):
    """Make a register of files, each alone or with the main that it is put under: the register and its loads."""
    register = str(tmp_path / f"{name}.gpkg")
    return register, [load(file, register, main=main, by="tests").load for file, main in files]


def held_as(register, loads, other, of_other):
    """List what two registers hold otherwise, of which loads stand for the same steps."""
    return differences(
        *(told(one, {number: step for step, number in enumerate(numbers)})
          for one, numbers in ((register, loads), (other, of_other)))
    )  # fmt: skip


def test_undoing_what_settled_a_main_lets_the_joints_wait_again_as_before(tmp_path, job):
    north, south = job("North"), job("South", east=FAR)
    register, loads = loaded(tmp_path, "settled", (north, None), (south, None))
    (settled,) = settle(register, "main", job="South", main="Twin").loads
    assert len(find(register, Question(routes=("Twin: A",))).joints) == 6
    undo(settled, register)
    assert held_as(register, loads, *loaded(tmp_path, "fresh", (north, None), (south, None))) == []
    assert len(conflicts(register)) == 6


def test_of_a_job_that_waited_in_part_nothing_stands_once_what_settled_its_main_is_undone(tmp_path, job):
    """All of it was put under the main, so the load that left a part out was undone for it, and stays so."""
    north, south = job("North"), job("South", routes=("B", "A"), east=FAR)
    register, loads = loaded(tmp_path, "settled", (north, None), (south, None))
    assert len(find(register, Question(jobs=("South",))).joints) == 6
    (settled,) = settle(register, "main", job="South", main="Twin").loads
    assert len(find(register, Question(jobs=("South",))).joints) == 12
    undo(settled, register)
    assert held_as(register, loads, *loaded(tmp_path, "fresh", (north, None))) == []
    assert load(south, register).joints["left_out"] == 6


@pytest.mark.parametrize("routes", [("A",), ("B", "A")])
def test_what_a_main_was_settled_for_can_be_undone_from_under_it(tmp_path, job, routes):
    """Once the load that had left the main's joints out was in the way, though all of them stand under their main."""
    north, south = job("North"), job("South", routes=routes, east=FAR)
    register, loads = loaded(tmp_path, "settled", (north, None), (south, None))
    loads += settle(register, "main", job="South", main="Twin").loads
    of_part = [] if len(routes) > 1 else [2]
    tried = undo(1, register, dry_run=True)
    assert (undo(1, register).undone_with, tried.undone_with) == (of_part, of_part)
    other, of_other = loaded(tmp_path, "fresh", (south, "Twin"))
    assert held_as(register, [loads[2]], other, of_other) == []
    # Nothing of it waits for a main that is not there any more.
    undo(3, register)
    assert (conflicts(register), find(register, Question()).count) == ([], 0)
    assert load(south, register).joints["new"] == 6 * len(routes)


def test_a_job_put_under_a_main_takes_with_it_what_was_left_out_for_it_and_stands_under_one(tmp_path, job):
    north, south = job("North"), job("South", east=FAR)
    register, loads = loaded(tmp_path, "settled", (north, None), (south, None), (south, "Twin"))
    for dry_run in (True, False):
        told_of = load(north, register, main="First", dry_run=dry_run)
        assert [note for note in told_of.notes if note.startswith("load 2 of other jobs, of which all")]
    other, of_other = loaded(tmp_path, "fresh", (south, "Twin"), (north, "First"))
    assert held_as(register, [loads[2], told_of.load], other, of_other) == []


def test_a_job_is_put_under_a_main_once_what_waits_for_it_is_undone(tmp_path, job):
    north, south = job("North"), job("South", east=FAR)
    register, _ = loaded(tmp_path, "waits", (north, None), (south, None))
    with pytest.raises(InputFileError, match=r"load 2 \(South\) left joints out.* load --undo 2 --into"):
        load(north, register, main="First")
    undo(2, register)
    loads = [load(north, register, main="First").load, load(south, register).load]
    other, of_other = loaded(tmp_path, "fresh", (north, "First"), (south, None))
    assert held_as(register, loads, other, of_other) == []
    assert conflicts(register) == []


def test_a_file_under_a_main_that_is_another_than_was_left_out_rests_on_what_was_contradicted(tmp_path, job):
    register, _ = loaded(tmp_path, "other", (job("North"), None), (job("South", east=FAR), None))
    load(job("South", east=FAR, remarks={1: "reset"}), register, main="Twin")
    with pytest.raises(InputFileError, match="from load 3 back to load 2, first, and load their files again") as said:
        undo(1, register)
    assert "load --undo 3" in str(said.value)
    for number in (3, 2, 1):
        undo(number, register)
    assert find(register, Question()).count == 0


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
