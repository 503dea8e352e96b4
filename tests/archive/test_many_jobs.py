"""Many jobs at once: each as if it were placed alone, whatever becomes of the others."""

import csv
import json
import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from functools import partial
from pathlib import Path
from random import Random
from typing import get_args

import pytest
import whole_jobs

from asbuilt import cli
from asbuilt.archive import jobs as many
from asbuilt.archive.pool import in_processes
from asbuilt.archive.resume import input_files, placed_before
from asbuilt.commands import options
from asbuilt.errors import OutputError
from asbuilt.job import Job, load_job
from asbuilt.placed import read_placed

ROOT = Path(__file__).resolve().parents[2]
SAMPLE = sorted(path.name for path in (ROOT / "sample_gis").glob("job*.toml"))
CLOCKS = {"gpkg_contents": "last_change", "layer_styles": "update_time", "run": "made_at"}
"""Columns that say when a file was written."""


def run(capsys, *arguments):
    status = cli.run([str(argument) for argument in arguments])
    printed = capsys.readouterr()
    return status, printed.out, printed.err


def tables(path):
    """Give all that stands in a placed file, byte by byte, but for when it was written."""
    with closing(sqlite3.connect(path)) as database:
        database.text_factory = bytes
        names = [name.decode() for (name,) in database.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        found = {}
        for name in names:
            columns = [row[1].decode() for row in database.execute(f'PRAGMA table_info("{name}")')]
            kept = ", ".join(f'"{one}"' for one in columns if one != CLOCKS.get(name))
            found[name] = (kept, database.execute(f'SELECT {kept} FROM "{name}"').fetchall())
        return found


def made(folder, seeds):
    """Make a job for each seed in a folder of its own; those come back that can be placed."""
    found = []
    for seed in seeds:
        own = folder / f"job {seed}"
        own.mkdir()
        job = whole_jobs.make(Random(seed), own)
        if job.placed:
            found.append(job)
    return found


def test_many_jobs_come_out_as_each_does_alone(folder, capsys):
    jobs = made(folder, range(100, 108))
    assert len(jobs) > 4
    for job in jobs:
        assert run(capsys, "place", job.path)[0] == 0
    outputs = [job.path.with_name("joints.gpkg") for job in jobs]
    alone = [tables(path) for path in outputs]
    for path in outputs:
        path.unlink()
    report = folder / "placed.csv"
    status, out, err = run(capsys, "place", *(job.path for job in jobs), "--workers", 2, "--json", "--report", report)
    assert (status, err) == (0, "")
    told = json.loads(out)
    assert [one["job"] for one in told["told"]] == [str(job.path) for job in jobs]
    assert (told["jobs"], told["jobs_by_state"]) == (len(jobs), {"placed": len(jobs)})
    assert told["records_read"] == sum(job.records for job in jobs)
    assert told["inspections_placed"] == sum(job.placed for job in jobs)
    assert told["records_read"] == told["inspections_placed"] + told["records_set_aside"]
    for path, was in zip(outputs, alone, strict=True):
        assert tables(path) == was
    with report.open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [(row["job"], int(row["records_read"])) for row in rows] == [(str(job.path), job.records) for job in jobs]


def test_a_bad_job_stops_no_other_and_the_worst_is_how_the_command_ends(tmp_path, capsys):
    sample = Path(shutil.copytree(ROOT / "sample_gis", tmp_path / "sample"))
    bad = sample / "job_metric.toml"
    bad.write_text(bad.read_text("utf-8").replace('station_unit = "m"', 'station_unit = "miles"'), "utf-8")
    given = (sample / "job_sawmill.toml", bad, sample / "job_foundry.toml", sample / "gone.toml")
    status, out, _ = run(capsys, "place", *given, "--workers", 2)
    assert status == 2
    assert "4 jobs: 2 placed, 2 wrong." in out
    assert "records.station_unit: 'miles' is not one of" in out
    assert "gone.toml: there is no such file" in out
    assert sorted(path.name for path in sample.glob("*.gpkg") if "joints" in path.name) == [
        "joints_foundry.gpkg", "joints_sawmill.gpkg",
    ]  # fmt: skip
    assert run(capsys, "place", sample / "job.toml", sample / "job_foundry.toml", "--strict")[0] == 1
    assert run(capsys, "place", sample / "job_sawmill.toml", sample / "job_foundry.toml", "--strict")[0] == 0


def test_jobs_that_share_a_file_are_refused_before_anything_is_written(tmp_path, capsys):
    sample = Path(shutil.copytree(ROOT / "sample_gis", tmp_path / "sample"))
    before = sorted(sample.iterdir())
    text = (sample / "job_foundry.toml").read_text("utf-8")
    (tmp_path / "other").mkdir()
    second = sample / "job_second.toml"
    second.write_text(text.replace('path = "joints_foundry.gpkg"', 'path = "../other/../sample/joints_foundry.gpkg"'))
    status, _, err = run(capsys, "place", sample / "job_foundry.toml", second, sample / "job.toml")
    assert (status, "job_foundry.toml are one file" in err) == (2, True), err
    # Where neither is there yet, nobody can know whether the disk keeps capitals apart.
    second.write_text(text.replace('path = "joints_foundry.gpkg"', 'path = "Joints_FOUNDRY.gpkg"'))
    status, _, err = run(capsys, "place", sample / "job_foundry.toml", second)
    assert (status, "job_foundry.toml are one file" in err) == (2, True), err
    status, _, err = run(capsys, "place", second, sample / "job.toml", second)
    assert (status, "is named twice" in err) == (2, True), err
    reads = (sample / "job.toml").read_text("utf-8").replace('path = "centerline.gpkg"', 'path = "joints_foundry.gpkg"')
    second.write_text(reads, "utf-8")
    status, _, err = run(capsys, "place", second, sample / "job_foundry.toml")
    assert (status, "which" in err, "writes; place that job first" in err) == (2, True, True), err
    second.unlink()
    assert sorted(sample.iterdir()) == before


@pytest.mark.parametrize("option", [["--out", "here.gpkg"], ["--report", "report.xlsx"], ["--workers", "0"]])
def test_options_that_cannot_be_meant_are_refused(option, tmp_path, capsys):
    sample = Path(shutil.copytree(ROOT / "sample_gis", tmp_path / "sample"))
    status, _, err = run(capsys, "place", sample / "job.toml", sample / "job_foundry.toml", *option)
    assert status == 2
    assert option[0] in err or "report" in err
    assert not (sample / "joints.gpkg").exists()


def test_one_job_is_placed_by_workers_into_the_file_that_is_named(tmp_path, capsys):
    sample = Path(shutil.copytree(ROOT / "sample_gis", tmp_path / "sample"))
    job, named = sample / "job_foundry.toml", tmp_path / "here.gpkg"
    assert run(capsys, "place", job)[0] == 0
    alone = tables(sample / "joints_foundry.gpkg")
    (sample / "joints_foundry.gpkg").unlink()
    for state in ("placed", "unchanged"):
        status, out, _ = run(capsys, "place", job, "--out", named, "--workers", 2, "--resume", "--json")
        assert (status, json.loads(out)["jobs_by_state"]) == (0, {state: 1})
        assert json.loads(out)["told"][0]["written"] == str(named)
    assert tables(named) == alone
    assert not (sample / "joints_foundry.gpkg").exists()
    with pytest.raises(OutputError, match="here are 2"):
        many.place_jobs([job, sample / "job.toml"], into=named)


def test_a_report_does_not_replace_what_is_none(tmp_path, capsys):
    sample = Path(shutil.copytree(ROOT / "sample_gis", tmp_path / "sample"))
    log = sample / "joint_log_quarry.csv"
    before = log.read_bytes()
    status, _, err = run(capsys, "place", sample / "job_foundry.toml", "--report", log)
    assert (status, "is no report of asbuilt place" in err) == (2, True), err
    assert (log.read_bytes(), (sample / "joints_foundry.gpkg").exists()) == (before, False)
    report = tmp_path / "report.csv"
    for _ in range(2):  # a report is replaced by the next one
        assert run(capsys, "place", sample / "job_foundry.toml", "--report", report)[0] == 0
    assert report.read_text("utf-8-sig").splitlines()[0] == ",".join(many.REPORT_COLUMNS)


def killed_once(flag, number):
    """Give ten times a number; the process of number 2 is killed, the first time or each time."""
    marks = Path(flag)
    if number == 2 and (marks.name == "always" or not marks.exists()):
        marks.touch()
        os.kill(os.getpid(), signal.SIGKILL)
    time.sleep(0.05)
    return 10 * number


@pytest.mark.skipif(os.name != "posix", reason="NOT CHECKED: needs signals of POSIX")
@pytest.mark.parametrize("how", ["once", "always"])
def test_a_killed_process_takes_no_other_task_with_it(tmp_path, how):
    found = {one.number: one for one in in_processes(partial(killed_once, str(tmp_path / how)), range(7), workers=2)}
    assert sorted(found) == list(range(7))  # nothing lost, nothing twice
    assert all(found[number][1:4] == (10 * number, 1, False) for number in range(7) if number != 2)
    assert found[2][1:4] == ((20, 2, False) if how == "once" else (None, 2, True))


def test_processes_are_started_where_the_temporary_folder_has_a_long_path(tmp_path):
    temporary = tmp_path / ("long" * 30)
    temporary.mkdir()
    code = (
        "from asbuilt.archive.pool import in_processes\n"
        "if __name__ == '__main__':\n"
        "    print(sorted(done.result for done in in_processes(abs, [-1, 2], workers=2)))\n"
    )
    (tmp_path / "asking.py").write_text(code, "utf-8")
    asked = subprocess.run(
        [sys.executable, str(tmp_path / "asking.py")], capture_output=True, text=True,
        env=os.environ | {"TMPDIR": str(temporary)},
    )  # fmt: skip
    assert (asked.returncode, asked.stdout) == (0, "[1, 2]\n"), asked.stderr


@pytest.mark.skipif(sys.platform != "linux", reason="NOT CHECKED: elsewhere each process loads what it needs by itself")
@pytest.mark.parametrize("loading", [(), ("asbuilt.processor",)])
def test_what_a_task_loads_is_loaded_once_for_all_processes(tmp_path, loading):
    # In a process of its own: the one that hands out processes is started once for each.
    (tmp_path / "asking.py").write_text("import sys\n\ndef task(name):\n    return name in sys.modules\n", "utf-8")
    code = (
        "import asking\n"
        "from asbuilt.archive.pool import in_processes\n"
        "if __name__ == '__main__':\n"
        f"    done = in_processes(asking.task, ['asbuilt.processor'] * 4, workers=2, loading={loading!r})\n"
        "    print([one.result for one in done])\n"
    )
    (tmp_path / "script.py").write_text(code, "utf-8")
    command = [sys.executable, "script.py"]
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    done = subprocess.run(command, cwd=tmp_path, env=environment, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == str([bool(loading)] * 4)


def killed_while_placing(path, *, resume, into, flag):
    """Place a job; the process that is at the first one is killed after its output was begun."""
    if "job 200" in path and not Path(flag).exists():
        Path(flag).touch()
        from asbuilt.layers import geopackage

        geopackage._describe_columns = lambda *given: os.kill(os.getpid(), signal.SIGKILL)
    return many.place_one(path, resume, into)


@pytest.mark.skipif(os.name != "posix", reason="NOT CHECKED: needs signals of POSIX")
def test_a_job_whose_process_was_killed_is_named_and_placed_at_the_second_try(folder, monkeypatch):
    jobs = made(folder, range(200, 206))
    paths = [str(job.path) for job in jobs]
    assert any("job 200" in path for path in paths)
    monkeypatch.setattr(many, "place_one", partial(killed_while_placing, flag=str(folder / "killed")))
    told = many.place_jobs(paths, workers=2)
    assert [(one.job, one.state, one.records_read) for one in told] == [
        (str(job.path), "placed", job.records) for job in jobs
    ]
    assert [(one.tries, one.message) for one in told if one.tries > 1] == [
        (2, "the process that placed it ended before it was done, and it was tried once again")
    ]
    assert all(read_placed(one.written).run["records_read"] == one.records_read for one in told)


def test_resume_leaves_out_what_is_placed_and_places_what_changed(tmp_path, capsys):
    sample = Path(shutil.copytree(ROOT / "sample_gis", tmp_path / "sample"))
    paths = [sample / name for name in SAMPLE]
    assert run(capsys, "place", *paths, "--workers", 2)[0] == 0

    def placed_again():
        told = [many.place_one(str(path), resume=True) for path in paths]
        return {Path(one.job).name for one in told if one.state == "placed"}

    told = json.loads(run(capsys, "place", *paths, "--resume", "--json", "--workers", 2)[1])
    assert told["jobs_by_state"] == {"unchanged": len(SAMPLE)}
    assert told["records_read"] == told["inspections_placed"] + told["records_set_aside"] == 745
    # A letter of a log; the job's own text; an output that lost a row; one that is gone; another version's.
    (sample / "joint_log_quarry.csv").write_bytes((sample / "joint_log_quarry.csv").read_bytes() + b"\n")
    foundry = sample / "job_foundry.toml"
    foundry.write_text(foundry.read_text("utf-8") + "\n# looked at again\n", "utf-8")
    with closing(sqlite3.connect(sample / "joints_metric.gpkg")) as database, database:
        database.execute("DELETE FROM findings WHERE fid = 1")
    (sample / "joints_repair.gpkg").unlink()
    with closing(sqlite3.connect(sample / "joints_sawmill.gpkg")) as database, database:
        database.execute("UPDATE run SET asbuilt_version = '0.0.9'")
    assert placed_again() == set(SAMPLE)
    assert placed_again() == set()


def test_a_folder_of_layers_that_is_placed_is_left_out_too(tmp_path):
    sample = Path(shutil.copytree(ROOT / "sample_gis", tmp_path / "sample"))
    job = sample / "job_repair.toml"
    job.write_text(job.read_text("utf-8").replace("joints_repair.gpkg", "joints_repair.parquet"), "utf-8")
    assert [many.place_one(str(job), resume=True).state for _ in range(2)] == ["placed", "unchanged"]
    (sample / "joints_repair.parquet" / "findings.parquet").unlink()
    assert placed_before(load_job(job), sample / "joints_repair.parquet") is None


def keys_of_files(model, before=""):
    """List the keys of a job file that name files."""
    found = []
    for name, about in model.model_fields.items():
        inner = [one for one in (about.annotation, *get_args(about.annotation)) if hasattr(one, "model_fields")]
        inner += [one for part in get_args(about.annotation) for one in get_args(part) if hasattr(one, "model_fields")]
        found += [key for one in inner for key in keys_of_files(one, f"{before}{name}.")]
        if name.endswith("path"):
            found.append(before + name)
    return found


def test_a_file_of_every_key_that_names_one_counts_for_resuming(tmp_path):
    """What a placed file says was read is what resuming looks at; a key that one of them forgets shows here."""
    assert sorted(keys_of_files(Job)) == [
        "centerline.path", "centerline.ties_path", "cover.path", "design.path", "output.path", "records.path",
        "restraint.path", "survey_check.path",
    ]  # fmt: skip
    sample = Path(shutil.copytree(ROOT / "sample_gis", tmp_path / "sample"))
    shutil.copy(sample / "alignment_foundry.xml", sample / "design.xml")
    (sample / "lengths.csv").write_text("route,from,to,why\nE,5+40,6+40,a bend\n", "utf-8")
    (sample / "ground.csv").write_text("Easting,Northing,Ground\n1,2,3\n", "utf-8")
    more = '\n[design]\npath = "design.xml"\n[cover]\npath = "ground.csv"\n[[restraint]]\npath = "lengths.csv"\n'
    with (sample / "job_foundry.toml").open("a", encoding="utf-8") as file:
        file.write(more)
    for name in SAMPLE:
        told = many.place_one(str(sample / name), resume=False)
        assert told.state == "placed", told.message
        job, read = load_job(sample / name), read_placed(told.written).run["inputs"]
        assert {Path(one["path"]) for one in read} == set(input_files(job))
        for path in input_files(job):
            assert placed_before(job, Path(told.written)) is not None
            content = path.read_bytes()
            path.write_bytes(content + b" ")
            assert placed_before(job, Path(told.written)) is None, path
            path.write_bytes(content)


@pytest.mark.skipif(os.name != "posix", reason="NOT CHECKED: needs signals of POSIX")
@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGKILL])
def test_no_process_outlives_the_one_that_started_it(tmp_path, how):
    code = (
        "import os, sys, time\n"
        "from functools import partial\n"
        "from pathlib import Path\n"
        "from asbuilt import cli\n"
        "from asbuilt.archive import jobs, pool\n"
        "sys.path.insert(0, sys.argv[1])\n"
        "import outliving\n"
        "jobs.place_one = partial(outliving.task, folder=sys.argv[2])\n"
        "if __name__ == '__main__':\n"
        "    sys.argv[1:] = ['place', 'a.toml', 'b.toml', '--workers', '2']\n"
        "    cli.main()\n"
    )
    for name in ("a", "b"):
        text = f'name = "{name}"\n[centerline]\npath = "line.gpkg"\n[records]\npath = "log.csv"\n'
        text += f'station_unit = "ft"\nlaying_length = 20\n[output]\npath = "{name}.gpkg"\n'
        (tmp_path / f"{name}.toml").write_text(text, "utf-8")
    marks = tmp_path / "marks"
    marks.mkdir()
    script = tmp_path / "script.py"
    script.write_text(code, "utf-8")
    command = [sys.executable, str(script), str(Path(__file__).parent), str(marks)]
    with subprocess.Popen(command, cwd=tmp_path, env=os.environ | {"PYTHONPATH": str(ROOT)}) as process:
        assert wait_until(lambda: len(list(marks.glob("[0-9]*"))) == 2)
        pids = [int(one.name) for one in marks.glob("[0-9]*")]
        process.send_signal(how)
        process.wait(300)
    assert process.returncode == (options.INTERRUPTED if how == signal.SIGTERM else -how)
    assert wait_until(lambda: not any(alive(pid) for pid in pids))
    assert wait_until(lambda: len(list(marks.glob("taken back *"))) == 2)


def wait_until(true):
    end = time.monotonic() + 300
    while not (found := true()) and time.monotonic() < end:
        time.sleep(0.05)
    return found


def alive(pid):
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    return not Path(f"/proc/{pid}/stat").exists() or Path(f"/proc/{pid}/stat").read_text().split()[2] != "Z"


def test_many_files_are_loaded_in_one_go_and_a_bad_one_changes_nothing(tmp_path, capsys):
    sample = Path(shutil.copytree(ROOT / "sample_gis", tmp_path / "sample"))
    names = [sample / name for name in ("job.toml", "job_foundry.toml", "job_sawmill.toml")]
    assert run(capsys, "place", *names)[0] == 0
    files = [sample / name for name in ("joints.gpkg", "joint_log_quarry.csv", "joints_sawmill.gpkg")]
    status, out, _ = run(capsys, "load", *files, "--into", tmp_path / "many.gpkg", "--json")
    told = json.loads(out)["loads"]
    assert status == 2
    assert [one.get("load") for one in told] == [1, None, 2]
    assert "joint_log_quarry.csv" in told[1]["message"]
    for file in (files[0], files[2]):
        assert run(capsys, "load", file, "--into", tmp_path / "single.gpkg")[0] == 0
    found = [json.loads(run(capsys, "find", tmp_path / name, "--json")[1]) for name in ("many.gpkg", "single.gpkg")]
    assert found[0]["count"] == sum(one["joints"]["new"] for one in told if "joints" in one) > 500
    same = ("joint_uid", "verdict", "easting", "load_id")
    assert [[one[key] for key in same] for one in found[0]["joints"]] == [
        [one[key] for key in same] for one in found[1]["joints"]
    ]
    status, out, _ = run(capsys, "load", *files[::2], "--into", tmp_path / "many.gpkg")
    assert (status, "2 files: 2 read, 0 wrong." in out) == (0, True)
    status, _, err = run(capsys, "load", files[0], files[0], "--into", tmp_path / "many.gpkg")
    assert (status, "is named twice" in err) == (2, True)


def test_what_a_load_asks_is_asked_of_one_file_among_many_too(tmp_path, capsys):
    """A later log of a job that leaves out most of its joints."""
    sample = Path(shutil.copytree(ROOT / "sample_gis", tmp_path / "sample"))
    job, log = sample / "job_foundry.toml", sample / "joint_log_foundry.csv"
    files = [tmp_path / "first.gpkg", tmp_path / "later.gpkg"]
    assert run(capsys, "place", job, "--out", files[0])[0] == 0
    log.write_text("\n".join(log.read_text("utf-8").splitlines()[:12]) + "\n", "utf-8")
    assert run(capsys, "place", job, "--out", files[1])[0] == 0
    single, one_go = tmp_path / "single.gpkg", tmp_path / "one go.gpkg"
    assert run(capsys, "load", files[0], "--into", single)[0] == 0
    status, told, _ = run(capsys, "load", files[1], "--into", single, "--json")
    assert (status, len(json.loads(told)["not_mentioned"]) > 10) == (0, True)
    status, out, _ = run(capsys, "load", *files, "--into", one_go)
    said = " ".join(out.split())
    assert status == 0
    assert f"{files[1]}: the file says nothing of joints that this job brought earlier" in said
    for note in json.loads(told)["notes"]:
        assert " ".join(f"{files[1]}: {note}".split()) in said


def asked_for(name):
    return os.environ.get(name)


def test_processes_have_the_environment_of_now_and_not_of_the_first_time(monkeypatch):
    list(in_processes(abs, [1], workers=1))
    monkeypatch.setenv("ASBUILT_TRIED", "now")
    assert [done.result for done in in_processes(asked_for, ["ASBUILT_TRIED"], workers=1)] == ["now"]
    monkeypatch.delenv("ASBUILT_TRIED")
    assert [done.result for done in in_processes(asked_for, ["ASBUILT_TRIED"], workers=1)] == [None]
