"""Many jobs on a Dask cluster: as in processes of this machine, whatever becomes of workers and scheduler."""

import json
import os
import shutil
import signal
import subprocess
import sys
import time
from functools import partial
from pathlib import Path
from random import Random
from typing import Any

import pytest
import test_large_job as large
from test_many_jobs import made, run, tables, wait_until
from test_parts import AT_ONCE, differing, write_mains
from test_parts import tables as whole_tables

from asbuilt import cli
from asbuilt.archive import cluster as on
from asbuilt.archive import jobs as many
from asbuilt.archive import parts
from asbuilt.errors import AsbuiltError, OutputError
from asbuilt.job import load_job
from asbuilt.placed import read_placed

distributed = pytest.importorskip("distributed", reason="NOT CHECKED: the extra cluster is not installed")
ROOT = Path(__file__).resolve().parents[2]
SAMPLE = sorted(path.name for path in (ROOT / "sample_gis").glob("job*.toml"))
posix = pytest.mark.skipif(os.name != "posix", reason="NOT CHECKED: needs signals of POSIX")


def local(**more):
    """Start a scheduler and two workers, each a process that is started again when it ends."""
    given = {"n_workers": 2, "threads_per_worker": 1, "dashboard_address": "127.0.0.1:0", "silence_logs": 60} | more
    return distributed.LocalCluster(**given)


@pytest.fixture
def cluster():
    # One for each test: a cluster whose workers were killed too often starts no more of them.
    with local() as started:
        yield started


@pytest.fixture
def sample(tmp_path):
    return Path(shutil.copytree(ROOT / "sample_gis", tmp_path / "sample"))


def workers(started):
    """Give the process ids of the workers."""
    return [worker.process.pid for worker in started.workers.values() if worker.process and worker.process.pid]


def test_a_cluster_gives_what_processes_of_this_machine_give(cluster, sample, capsys):
    jobs = [sample / name for name in SAMPLE]
    bad = sample / "job_metric.toml"
    bad.write_text(bad.read_text("utf-8").replace("joint_log_mill_race.csv", "gone.csv"), "utf-8")
    gone = sample / "gone.toml"
    reports = [sample / "by processes.csv", sample / "by cluster.csv"]
    told, found = [], []
    for how, report in zip((["--workers", 2], ["--scheduler", cluster.scheduler_address]), reports, strict=True):
        status, out, err = run(capsys, "place", *jobs, gone, "--json", "--report", report, *how)
        assert (status, err) == (2, ""), err
        told.append(json.loads(out) | {"report": None})
        written = [one["written"] for one in told[-1]["told"] if one["written"]]
        found.append([tables(path) for path in written])
        assert told[-1]["jobs_by_state"] == {"placed": len(SAMPLE) - 1, "wrong": 2}
        for path in written:
            Path(path).unlink()
    assert told[0] == told[1]
    assert found[0] == found[1]
    assert reports[0].read_bytes() == reports[1].read_bytes()


def test_one_job_goes_into_the_file_that_is_named_by_a_cluster_too(cluster, sample, tmp_path, capsys):
    named = tmp_path / "here.gpkg"
    how = ["--out", named, "--scheduler", cluster.scheduler_address]
    status, out, _ = run(capsys, "place", sample / "job_foundry.toml", "--json", *how)
    assert (status, json.loads(out)["told"][0]["written"]) == (0, str(named))
    assert read_placed(named).run["joints"] > 0
    assert not (sample / "joints_foundry.gpkg").exists()


def test_resuming_leaves_out_on_a_cluster_what_was_placed_anywhere(cluster, sample, capsys):
    jobs = [sample / name for name in SAMPLE]
    assert run(capsys, "place", *jobs[:2])[0] == 0
    for states in ({"unchanged": 2, "placed": len(SAMPLE) - 2}, {"unchanged": len(SAMPLE)}):
        status, out, _ = run(capsys, "place", *jobs, "--resume", "--json", "--scheduler", cluster.scheduler_address)
        assert (status, json.loads(out)["jobs_by_state"]) == (0, states)


@posix
def test_workers_killed_while_jobs_run_lose_nothing_and_do_nothing_twice(cluster, folder):
    jobs = made(folder, range(300, 330))
    assert len(jobs) > 20
    alone = []
    for job in jobs:
        assert cli.run(["place", str(job.path), "--json"]) == 0
        alone.append(tables(job.path.with_name("joints.gpkg")))
        job.path.with_name("joints.gpkg").unlink()
    draw, killed = Random(1), []

    def shown(step, done, of):
        # While others are handed out; a worker that was killed before may still be on its way up.
        if done in (4, 9, 14, 19):
            time.sleep(0.3 * draw.random())
            pids = [pid for pid in workers(cluster) if pid not in killed]
            if pids:
                killed.append(draw.choice(pids))
                os.kill(killed[-1], signal.SIGKILL)

    told = many.place_jobs([job.path for job in jobs], scheduler=cluster.scheduler_address, progress=shown)
    assert len(killed) > 1
    assert [(one.job, one.state, one.records_read) for one in told] == [
        (str(job.path), "placed", job.records) for job in jobs
    ]
    assert all(("ended before it was done" in one.message) == (one.tries > 1) for one in told)
    assert any(one.tries > 1 for one in told)
    assert [tables(one.written) for one in told] == alone
    for job in jobs:  # what a killed worker had begun lies hidden in a folder of its own, and is no output
        assert [path.name for path in job.path.parent.glob("*.gpkg") if path.name.startswith("joints")] == [
            "joints.gpkg"
        ]


def killing(number):
    """Give ten times a number; whatever worker is at number 2 ends."""
    time.sleep(0.5 if number == 2 else 0.02)
    if number == 2:
        os.kill(os.getpid(), signal.SIGKILL)
    return 10 * number


@posix
def test_a_task_that_ends_each_worker_takes_no_other_with_it(cluster):
    found = {done.number: done for done in on.on_cluster(killing, range(12), cluster.scheduler_address)}
    assert sorted(found) == list(range(12))
    assert {number: done.result for number, done in found.items() if number != 2} == {
        number: 10 * number for number in range(12) if number != 2
    }
    assert (found[2].result, found[2].ended) == (None, True)
    assert found[2].tries > 2


def test_a_job_whose_files_a_worker_cannot_see_is_told_as_such(cluster, sample):
    hidden = sample / "hidden"
    jobs = [sample / "job_foundry.toml", sample / "job_sawmill.toml", sample / "job_metric.toml"]
    log = sample / "joint_log_mill_race.csv"

    def shown(step, done, of):
        # What this machine has seen by now is taken away before a worker looks.
        if step == "place the jobs":
            hidden.mkdir()
            jobs[0].rename(hidden / "job_foundry.toml")
            log.rename(hidden / log.name)

    told = many.place_jobs(jobs, scheduler=cluster.scheduler_address, progress=shown)
    assert [one.state for one in told] == ["wrong", "placed", "wrong"]
    assert f"{jobs[0]} cannot be read by the worker on " in told[0].message
    assert f"{log} cannot be read by the worker on " in told[2].message
    assert all("under the same path" in one.message for one in (told[0], told[2]))


def test_a_worker_that_sees_another_job_under_the_name_is_told(cluster, sample):
    job = sample / "job_foundry.toml"

    def shown(step, done, of):
        if step == "place the jobs":
            job.write_text(job.read_text("utf-8") + "\n# another\n", "utf-8")

    told = many.place_jobs([job], scheduler=cluster.scheduler_address, progress=shown)
    assert (told[0].state, "another file of this name is there for the worker" in told[0].message) == ("wrong", True)
    assert not (sample / "joints_foundry.gpkg").exists()


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"preload": "import asbuilt.version\nasbuilt.version.__version__ = '0.0.9'\n"}, "has asbuilt 0.0.9"),
        ({"preload": "import sys\nsys.modules['asbuilt.archive.cluster'] = None\n"}, "cannot run asbuilt"),
        ({"threads_per_worker": 3}, "would do 3 jobs in one process"),
        ({"n_workers": 0}, "this scheduler has no worker; start some"),
    ],
)
def test_workers_that_cannot_do_the_jobs_are_refused(given, said, sample, capsys, monkeypatch):
    monkeypatch.setattr(on, "PATIENCE", 3.0 if given == {"n_workers": 0} else on.PATIENCE)
    with local(**{"n_workers": 1} | given) as started:
        status, _, err = run(capsys, "place", sample / "job_foundry.toml", "--scheduler", started.scheduler_address)
    assert (status, said in err) == (2, True), err
    assert not (sample / "joints_foundry.gpkg").exists()


def test_a_worker_of_another_version_that_comes_later_does_no_job(cluster, monkeypatch):
    monkeypatch.setattr(on, "_refuse_unfit", lambda client, address: None)
    monkeypatch.setattr(on, "__version__", "9.9.9")
    found = list(on.on_cluster(abs, [-1], cluster.scheduler_address))
    assert [(done.result, "and this is 9.9.9" in done.refused) for done in found] == [(None, True)]
    assert many._told("a.toml", found[0]).state == "wrong"


@pytest.mark.parametrize("address", ["tcp://127.0.0.1:9", "no address", "ftp://127.0.0.1:9"])
def test_an_address_without_a_scheduler_is_told(address, sample, capsys, monkeypatch):
    monkeypatch.setattr(on, "PATIENCE", 1.0)
    status, _, err = run(capsys, "place", sample / "job_foundry.toml", "--scheduler", address)
    assert (status, f"{address}: no scheduler answers there" in err) == (2, True), err


def test_without_its_library_a_cluster_is_refused(sample, capsys, monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    status, _, err = run(capsys, "place", sample / "job_foundry.toml", "--scheduler", "tcp://127.0.0.1:9")
    assert (status, "pip install 'asbuilt[cluster]'" in err) == (2, True), err


def test_a_cluster_and_processes_of_this_machine_are_not_asked_for_together(sample, capsys):
    status, _, err = run(capsys, "place", sample / "job.toml", "--scheduler", "tcp://127.0.0.1:9", "--workers", 2)
    assert (status, "give one of them" in err) == (2, True)


@posix
def test_a_lost_scheduler_is_told_and_resuming_goes_on(folder, capsys, monkeypatch):
    monkeypatch.setattr(on, "PATIENCE", 5.0)
    jobs = made(folder, range(400, 412))
    where = folder / "scheduler.json"
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    dask = [sys.executable, "-m", "distributed.cli.dask_scheduler", "--scheduler-file", where, "--host", "127.0.0.1"]
    dask += ["--port", "0", "--no-dashboard"]
    worker = [sys.executable, "-m", "distributed.cli.dask_worker", "--scheduler-file", where, "--nthreads", "1"]
    worker += ["--no-dashboard", "--local-directory", folder / "worker"]
    quiet: dict[str, Any] = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "env": environment}
    with subprocess.Popen(dask, **quiet) as scheduler:
        assert wait_until(where.exists)
        with subprocess.Popen(worker, **quiet) as working:
            done_before = []

            def shown(step, done, of):
                if done == 3:
                    done_before.append(step)
                    scheduler.kill()

            address = json.loads(where.read_text())["address"]
            with pytest.raises(AsbuiltError, match="the scheduler was lost") as said:
                many.place_jobs([job.path for job in jobs], scheduler=address, progress=shown)
            assert "--resume" in str(said.value)
            working.terminate()
            working.wait(60)
    assert len(done_before) == 1
    whole = [path for job in jobs if (path := job.path.with_name("joints.gpkg")).exists()]
    assert len(whole) >= 3
    for path in whole:
        read_placed(path)
    status, out, _ = run(capsys, "place", *(job.path for job in jobs), "--resume", "--json")
    told = json.loads(out)
    assert (status, told["jobs_by_state"]) == (0, {"unchanged": len(whole), "placed": len(jobs) - len(whole)})
    assert told["records_read"] == sum(job.records for job in jobs)


@pytest.fixture
def mains(tmp_path):
    return large.made_in(tmp_path)


@pytest.fixture
def temporary(tmp_path, monkeypatch):
    return large.temporary_in(tmp_path, monkeypatch)


@pytest.fixture
def by_cluster(temporary, cluster):
    """Judge parts on a cluster of which each worker has the temporary folder of the test."""
    return partial(parts.by_cluster, address=cluster.scheduler_address)


def left_beside(path):
    """Wait until nothing is left beside an output: a worker that is at a part may still write rows of it."""
    assert wait_until(lambda: list(path.parent.iterdir()) == [path])


def test_the_layers_of_a_large_job_are_the_same_by_the_workers_of_a_cluster(mains, temporary, by_cluster):
    large.same(mains, by_cluster)
    large.as_before(mains, temporary)


@posix
def test_a_worker_killed_at_a_part_loses_nothing_and_does_nothing_twice(
    mains,
    temporary,
    by_cluster,
    tmp_path,
    monkeypatch,
):
    monkeypatch.setattr(parts, "judge_part", partial(large.killed_at_part, flag=str(tmp_path / "once")))
    large.same(mains, by_cluster)
    assert (tmp_path / "once").exists()
    large.as_before(mains, temporary)


@posix
def test_a_part_that_ends_each_worker_is_one_message_and_no_file(
    mains,
    temporary,
    by_cluster,
    tmp_path,
    monkeypatch,
):
    monkeypatch.setattr(parts, "judge_part", partial(large.killed_at_part, flag=str(tmp_path / "always")))
    with pytest.raises(OutputError, match=r"joints\.gpkg: cannot be written .* times, as when memory") as said:
        large.placed(mains[0], mains[1], by_cluster)
    assert str(said.value).count("\n") == 0
    left_beside(mains[1])
    large.as_before(mains, temporary)


@posix
def test_what_goes_wrong_in_a_part_on_a_worker_is_told_as_itself(mains, temporary, by_cluster, monkeypatch):
    monkeypatch.setattr(parts, "judge_part", partial(large.wrong_at_part, error=ZeroDivisionError("a fault")))
    with pytest.raises(ZeroDivisionError, match="a fault"):
        large.placed(mains[0], mains[1], by_cluster)
    left_beside(mains[1])
    large.as_before(mains, temporary)


@posix
def test_a_disk_of_the_output_that_is_full_of_rows_is_named(mains, temporary, by_cluster, monkeypatch):
    monkeypatch.setattr(parts, "judge_part", large.full_at_part)
    said = r"out: rows .* cannot be kept beside the output \(.*another folder in output\.path"
    with pytest.raises(OutputError, match=said):
        large.placed(mains[0], mains[1], by_cluster)
    left_beside(mains[1])
    large.as_before(mains, temporary)


def test_one_large_job_by_itself_is_placed_here_and_its_parts_by_the_workers(cluster, tmp_path, monkeypatch):
    job = write_mains(Random(large.MAINS), tmp_path)
    large.placed(load_job(job), tmp_path / "joints.gpkg", part=AT_ONCE)
    before = whole_tables(tmp_path / "joints.gpkg")
    monkeypatch.setattr(many, "place_one", large.in_small_parts)
    for least, said in ((1, str({"address": cluster.scheduler_address})), (many.LARGE, "")):
        monkeypatch.setattr(many, "LARGE", least)
        (told,) = many.place_jobs([str(job)], scheduler=cluster.scheduler_address)
        assert (told.state, told.message) == ("placed", said)
        if said:
            assert differing(before, whole_tables(told.written)) == []


def test_a_large_job_is_not_read_where_no_scheduler_answers(sample, capsys, monkeypatch):
    monkeypatch.setattr(on, "PATIENCE", 1.0)
    monkeypatch.setattr(many, "LARGE", 1)
    monkeypatch.setattr(many, "in_processes", None)
    status, _, err = run(capsys, "place", sample / "job_foundry.toml", "--scheduler", "tcp://127.0.0.1:9")
    assert (status, "no scheduler answers there" in err) == (2, True), err


def test_the_next_task_is_asked_for_only_when_a_worker_may_wait_for_it(cluster):
    asked = []

    def numbers():
        for number in range(-19, 0):
            asked.append(number)
            yield number

    told = 0
    for done in on.on_cluster(abs, numbers(), cluster.scheduler_address, ahead=2):
        told += 1
        assert done.result == abs(asked[done.number])
        assert len(asked) - told <= 3, "of two in hand for each of two workers one is done"
    assert told == len(asked) == 19
