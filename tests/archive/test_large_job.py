"""A large job whose parts several processes judge: as if one had, whatever becomes of them.

As a script it kills by any seeds, and any of the processes: `python tests/archive/test_large_job.py 0 100`.
"""

import json
import multiprocessing.util
import os
import pickle
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from contextlib import suppress
from dataclasses import replace
from functools import partial
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
import psutil
import pyarrow as pa
import pyarrow.parquet as pq
import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import whole_jobs
from test_parts import AT_ONCE, TODAY, differing, tables, write_mains

from asbuilt import processor
from asbuilt.archive import jobs as many
from asbuilt.archive import parts
from asbuilt.archive.pool import in_processes
from asbuilt.errors import AsbuiltError, InputFileError, OutputError
from asbuilt.job import load_job
from asbuilt.processor import place_into
from asbuilt.waiting import write_rows

posix = pytest.mark.skipif(os.name != "posix", reason="NOT CHECKED: needs signals of POSIX")
MAINS = 4
"""A seed of mains with joints on six of them."""


def placed(job, path, judged_by=None, part=1):
    return place_into(job, path, today=TODAY, part=part, judged_by=judged_by)


def made_in(folder):
    """Make a job of several mains, with its output in a folder of its own, and its layers as they are at once."""
    job = load_job(write_mains(Random(MAINS), folder))
    out = folder / "out"
    out.mkdir()
    whole = placed(job, out / "joints.gpkg", part=AT_ONCE)
    return job, out / "joints.gpkg", whole, tables(out / "joints.gpkg")


def temporary_in(folder, monkeypatch):
    """Make a temporary folder of a test's own, in which nothing may be left."""
    made = folder / "temporary"
    made.mkdir()
    # What starts processes has its own folder by then, for later tests as well.
    multiprocessing.util.get_temp_dir()
    monkeypatch.setattr(tempfile, "tempdir", str(made))
    monkeypatch.setenv("TMPDIR", str(made))
    return made


@pytest.fixture
def mains(tmp_path):
    return made_in(tmp_path)


@pytest.fixture
def temporary(tmp_path, monkeypatch):
    return temporary_in(tmp_path, monkeypatch)


def left_in(temporary):
    """List what is left in a temporary folder, but for what Python and Dask keep there as long as they run."""
    return [one for one in temporary.iterdir() if not one.name.startswith(("pymp-", "dask-scratch-space"))]


def same(mains, judged_by):
    job, path, whole, before = mains
    again = placed(job, path, judged_by)
    assert len(again.added) > 3
    assert differing(before, tables(path)) == []
    assert json.dumps(again.counts) == json.dumps(whole.counts)
    assert again.notes == whole.notes


def as_before(mains, temporary):
    """Hold the earlier file against what it was, and look for anything that is left."""
    _, path, _, before = mains
    assert differing(before, tables(path)) == []
    assert list(path.parent.iterdir()) == [path]
    assert left_in(temporary) == []


@pytest.mark.parametrize("workers", [1, 2, 3])
def test_the_layers_are_the_same_whoever_judges_the_parts(mains, temporary, workers):
    same(mains, partial(parts.by_processes, workers=workers))
    as_before(mains, temporary)


@pytest.mark.parametrize("seed", range(3))
def test_random_jobs_are_the_same_by_several_processes(tmp_path, seed):
    job = load_job(whole_jobs.make(Random(seed), tmp_path).path)
    job = job.model_copy(update={"design": None, "cover": None, "restraint": (), "pressure_tests": ()})
    try:
        whole = placed(job, tmp_path / "joints.gpkg", part=AT_ONCE)
    except AsbuiltError as error:
        pytest.skip(f"refused: {error}")
    before = tables(tmp_path / "joints.gpkg")
    again = placed(job, tmp_path / "joints.gpkg", partial(parts.by_processes, workers=2))
    assert differing(before, tables(tmp_path / "joints.gpkg")) == []
    assert (json.dumps(again.counts), again.notes) == (json.dumps(whole.counts), whole.notes)


def test_the_layers_as_geoparquet_are_the_same_by_several_processes(mains, tmp_path):
    found = []
    for name, judged_by in (("one", None), ("several", partial(parts.by_processes, workers=2))):
        placed(mains[0], tmp_path / f"{name}.parquet", judged_by)
        found.append({one.name: pq.read_table(one) for one in (tmp_path / f"{name}.parquet").iterdir()})
    one, several = found
    assert sorted(one) == sorted(several)
    assert [name for name in one if name != "run.parquet" and not one[name].equals(several[name])] == []


def killing(path, table):
    if "joints" not in path.name:
        os.kill(os.getpid(), signal.SIGKILL)
    write_rows(path, table)


def killed_at_part(file, *, flag):
    """Judge a part; whoever is at part 2 is killed with some of its rows written, the first time or each time."""
    marks = Path(flag)
    if Path(file).stem == "2" and (marks.name == "always" or not marks.exists()):
        marks.touch()
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(parts, "write_rows", killing)
            return JUDGE(file)
    return JUDGE(file)


JUDGE = parts.judge_part


@posix
def test_a_worker_killed_at_a_part_loses_nothing_and_does_nothing_twice(mains, temporary, tmp_path, monkeypatch):
    monkeypatch.setattr(parts, "judge_part", partial(killed_at_part, flag=str(tmp_path / "once")))
    same(mains, partial(parts.by_processes, workers=2))
    assert (tmp_path / "once").exists()
    as_before(mains, temporary)


@posix
def test_a_part_that_ends_each_worker_is_one_message_and_no_file(mains, temporary, tmp_path, monkeypatch):
    monkeypatch.setattr(parts, "judge_part", partial(killed_at_part, flag=str(tmp_path / "always")))
    with pytest.raises(OutputError, match=r"joints\.gpkg: cannot be written .* 2 times, as when memory") as said:
        placed(mains[0], mains[1], partial(parts.by_processes, workers=2))
    assert str(said.value).count("\n") == 0
    as_before(mains, temporary)
    with pytest.raises(OutputError, match="2 times"):
        placed(mains[0], tmp_path / "out" / "other.gpkg", partial(parts.by_processes, workers=2))
    as_before(mains, temporary)


def fail(ready, *, error):
    raise error


def wrong_at_part(file, *, error):
    """Judge a part; at part 1 something goes wrong."""
    with pytest.MonkeyPatch.context() as patch:
        if Path(file).stem == "1":
            patch.setattr(parts, "judged", partial(fail, error=error))
        return JUDGE(file)


@pytest.mark.parametrize("error", [InputFileError("log.csv, row 7: no such day"), ZeroDivisionError("a fault")])
def test_what_goes_wrong_in_a_part_is_raised_as_itself(mains, temporary, monkeypatch, error):
    monkeypatch.setattr(parts, "judge_part", partial(wrong_at_part, error=error))
    with pytest.raises(type(error), match=str(error)) as raised:
        placed(mains[0], mains[1], partial(parts.by_processes, workers=2))
    if isinstance(error, ZeroDivisionError):
        assert "test_large_job.py" in "".join(raised.value.__notes__), "where it went wrong is told"
    as_before(mains, temporary)


def full_at_part(file):
    """Judge a part; at part 1 the disk takes no file of more than 100 bytes."""
    import resource

    usual = resource.getrlimit(resource.RLIMIT_FSIZE)
    if Path(file).stem == "1":
        resource.setrlimit(resource.RLIMIT_FSIZE, (100, usual[1]))
    try:
        return JUDGE(file)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, usual)


@posix
def test_a_temporary_folder_that_is_full_of_rows_is_named(mains, temporary, monkeypatch):
    monkeypatch.setattr(parts, "judge_part", full_at_part)
    with pytest.raises(OutputError, match=r"temporary: rows .* in the temporary folder \(.*make room there, or name"):
        placed(mains[0], mains[1], partial(parts.by_processes, workers=2))
    as_before(mains, temporary)


@posix
def test_a_temporary_folder_that_does_not_hold_a_part_is_named(mains, temporary, monkeypatch):
    import resource

    kept, usual = parts._kept, resource.getrlimit(resource.RLIMIT_FSIZE)

    def full(ready, file):
        resource.setrlimit(resource.RLIMIT_FSIZE, (100, usual[1]))
        try:
            return kept(ready, file)
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, usual)

    monkeypatch.setattr(parts, "_kept", full)
    with pytest.raises(OutputError, match=r"temporary: rows .* in the temporary folder \(.*make room there, or name"):
        placed(mains[0], mains[1], partial(parts.by_processes, workers=2))
    as_before(mains, temporary)


def test_a_worker_that_does_not_see_a_part_says_so(tmp_path):
    said = parts.judge_part(str(tmp_path / "hidden" / "0.part"))
    assert isinstance(said, OutputError)
    assert str(said).startswith(f"{tmp_path}: cannot be read by the worker on ")
    assert "under the same path" in str(said)


def test_a_part_is_kept_without_the_rows_of_others(tmp_path):
    rows = pa.chunked_array([pa.array([f"joint {number}" for number in range(100_000)]).dictionary_encode()])
    names = pa.array([f"joint {number}" for number in range(100_000)])
    held: Any = {
        "text": names.slice(70_001, 9),
        "blank": pa.array([None, "a"] * 50_000).slice(7, 9),
        "number": pa.array(np.arange(100_000)).slice(5, 9),
        "yes": pa.array([True, None, False] * 30_000).slice(3, 9),
        "coded": pa.array(["a", "b", None] * 30_000).dictionary_encode().slice(4, 9),
        "table": pa.table({"name": names}).slice(50_000, 9),
        "none": names.slice(0, 0),
        "nothing": pa.nulls(100_000).slice(1, 9),
    }
    kept = parts._kept(held, tmp_path / "0.part")
    assert kept.stat().st_size < 10_000
    taken: Any = parts._taken(kept)
    assert {name: value.equals(held[name]) for name, value in taken.items()} == dict.fromkeys(held, True)
    assert {name: value.type for name, value in taken.items() if name != "table"} == {
        name: value.type for name, value in held.items() if name != "table"
    }
    assert pickle.loads(pickle.dumps(rows.slice(0, 3))).equals(rows.slice(0, 3))


def in_small_parts(path, *, resume, into, judged_by=None):
    """Place a job of which each route is a part; gives by how many its parts were judged in place of the message."""
    processor.place_into = partial(place_into, part=1, today=TODAY)
    told = many.place_one(path, resume, into, judged_by)
    return replace(told, message=told.message or str(judged_by and judged_by.keywords))


def test_few_jobs_share_the_workers_and_many_have_one_each(tmp_path, monkeypatch):
    jobs, before = [], []
    for seed in (MAINS, 6):
        folder = tmp_path / str(seed)
        folder.mkdir()
        jobs.append(write_mains(Random(seed), folder))
        placed(load_job(jobs[-1]), folder / "joints.gpkg", part=AT_ONCE)
        before.append(tables(folder / "joints.gpkg"))
        (folder / "joints.gpkg").unlink()
    monkeypatch.setattr(many, "place_one", in_small_parts)
    for count, workers, said in ((1, 3, "{'workers': 3}"), (2, 2, "None"), (2, 5, "{'workers': 2}"), (1, 1, "None")):
        told = many.place_jobs([str(job) for job in jobs[:count]], workers=workers)
        assert [(one.state, one.message) for one in told] == [("placed", said)] * count, (count, workers)
        for one, was in zip(told, before, strict=False):
            assert differing(was, tables(one.written)) == []


def test_the_next_part_is_asked_for_only_when_a_process_waits_for_it():
    asked = []

    def numbers():
        for number in range(-9, 0):
            asked.append(number)
            yield number

    told = 0
    for done in in_processes(abs, numbers(), workers=2):
        told += 1
        assert done.result == abs(asked[done.number])
        assert len(asked) - told <= 1, "of two in hand one is done"
    assert told == len(asked) == 9


PLACE = """
import datetime as dt, os, sys
sys.path[:0] = {paths!r}
from functools import partial
from asbuilt.archive import parts
from asbuilt.errors import OutputError
from asbuilt.job import load_job
from asbuilt.processor import place_into
from asbuilt.waiting import write_rows

if __name__ == "__main__":
    try:
        by = partial(parts.by_processes, workers=2)
        place_into(load_job({job!r}), {out!r}, today=dt.date.fromisoformat({today!r}), part=1, judged_by=by)
    except OutputError as error:
        sys.exit(str(error))
"""


def whoever(random, process):
    """Draw one of the processes that place, write, judge, or start those that judge; with what it is."""
    first = psutil.Process(process.pid)
    found = [("placing", first)]
    for child in first.children(recursive=True):
        with suppress(psutil.Error):
            line = " ".join(child.cmdline())
            kinds = {"write_as_told": "writer", "resource_tracker": "", "forkserver": "judging or starting them"}
            found.append((next((kind for word, kind in kinds.items() if word in line), ""), child))
    return random.choice([one for one in found if one[0]])


def kill(seed, folder):
    """Place a job by several processes, and kill one of them at a moment of its own; gives how it ended."""
    random = Random(seed)
    out, temporary = folder / "joints.gpkg", folder / "temporary"
    temporary.mkdir(exist_ok=True)
    if not (folder / "job.toml").exists():
        placed(load_job(write_mains(Random(MAINS), folder)), out, part=AT_ONCE)
        (folder / "place.py").write_text(
            PLACE.format(
                paths=[str(Path(parts.__file__).parents[2])], job=str(folder / "job.toml"), out=str(out),
                today=TODAY.isoformat(),
            ), "utf-8",
        )  # fmt: skip
    held, known = tables(out), {*folder.iterdir()}
    environment = {**os.environ, "TMPDIR": str(temporary)}
    with subprocess.Popen(
        [sys.executable, str(folder / "place.py")], stderr=subprocess.PIPE, text=True, env=environment
    ) as process:
        # What judges is there after loading, placing, and loading in the process that starts those that judge.
        until = time.monotonic() + 60
        while len(psutil.Process(process.pid).children(recursive=True)) < 3 and process.poll() is None:
            assert time.monotonic() < until, "no process was started"
            time.sleep(0.02)
        time.sleep(2.5 * random.random())
        all_of_them = [psutil.Process(process.pid), *psutil.Process(process.pid).children(recursive=True)]
        who, killed = whoever(random, process)
        ended = process.poll() is not None
        with suppress(psutil.NoSuchProcess):
            killed.kill()
        said = process.communicate()[1]
    until = time.monotonic() + 60
    while ({*folder.iterdir()} != known or left_in(temporary)) and time.monotonic() < until:
        time.sleep(0.05)
    assert {*folder.iterdir()} == known, "something is left beside the file"
    assert left_in(temporary) == [], "something is left in the temporary folder"
    _, alive = psutil.wait_procs(all_of_them, timeout=60)
    assert not alive, f"{who} was killed, and these go on: {alive}"
    assert differing(held, tables(out)) == [], "another file is there"
    if who != "placing" and process.returncode:
        assert (process.returncode, said.count("\n"), "cannot be written" in said) == (1, 1, True), said
    return f"{who} {'after the end' if ended else 'killed'}, {'written' if process.returncode == 0 else 'not written'}"


@posix
@pytest.mark.parametrize("seed", range(3))
def test_a_kill_of_any_process_leaves_a_whole_file_and_nothing_else(tmp_path, seed):
    assert kill(seed, tmp_path)


if __name__ == "__main__":
    ends: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as made:
        for number in range(int(sys.argv[1]), int(sys.argv[2])):
            try:
                ends[kill(number, Path(made))] += 1
            except (AssertionError, psutil.Error) as wrong:
                ends["wrong"] += 1
                print(number, repr(wrong)[:2000])
    print(dict(ends))
