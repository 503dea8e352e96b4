"""Runs of the benchmark that are kept as files: whole, without a trace of where they were made, and held together."""

import getpass
import json
import socket
import subprocess
import sys
from pathlib import Path

import pytest

SCRIPTS = Path(__file__).resolve().parent.parent / "scripts"


@pytest.fixture
def kept_runs():
    sys.path.insert(0, str(SCRIPTS))
    try:
        import kept_runs
    finally:
        sys.path.remove(str(SCRIPTS))
    return kept_runs


def test_a_run_is_kept_in_a_file_of_its_own_and_held_against_the_one_before(kept_runs, tmp_path):
    def keep(joints, value):
        figures = [kept_runs.Figure("whole / bare", value, "ratio of seconds by the clock", (3.0, 2.0))]
        return kept_runs.keep("benchmark", {"joints": joints}, figures, 0.25, tmp_path)

    first, other, second = keep(600, 2.0), keep(1000, 9.0), keep(600, 1.0)
    assert len({first, other, second}) == 3
    found = kept_runs.pairs(kept_runs.runs(tmp_path))
    (new, old), (alone, none) = sorted(found, key=lambda pair: pair[0]["of"]["joints"])
    assert (new["file"], old["file"], alone["file"], none) == (second.name, first.name, other.name, None)
    assert "-50 %" in kept_runs.compared(new, old)[-1]
    assert not any(line.startswith("other ") for line in kept_runs.compared(new, old))
    assert "none" in kept_runs.compared(alone, none)[-1]


def test_another_machine_other_versions_and_figures_that_are_gone_are_told(kept_runs, tmp_path):
    figures = [kept_runs.Figure("gone", 1.0, "GB"), kept_runs.Figure("stays", 0.0, "GB")]
    kept_runs.keep("benchmark", {}, figures, 0.0, tmp_path)
    [run] = kept_runs.runs(tmp_path)
    new = run | {"machine": run["machine"] | {"cores": 999}, "versions": run["versions"] | {"numpy": "0.1"}}
    told = kept_runs.compared(new | {"figures": run["figures"][1:]}, run)
    assert f"other machine: cores 999, not {run['machine']['cores']}" in told
    assert f"other versions: numpy 0.1, not {run['versions']['numpy']}" in told
    assert told[-1] == "gone, GB: no longer measured"


def test_the_runs_kept_here_are_whole_and_say_nothing_of_where_they_were_made(kept_runs):
    kept = kept_runs.runs()
    assert kept
    for run in kept:
        assert run["file"].startswith(run["day"])
        assert run["machine"].keys() == {"processor", "cores", "memory_gb", "load_before"}
        assert run["versions"].keys() >= {"python", *kept_runs.LIBRARIES}
        assert all(figure["value"] >= 0 and figure["unit"] for figure in run["figures"])
        text = json.dumps(run)
        names = {socket.gethostname(), str(Path.home())} | ({getpass.getuser()} - {"root"})
        assert not any(name in text for name in names), run["file"]
        assert not any(f'"{folder}' in text for folder in ("/", "C:\\\\")), run["file"]


def test_the_command_prints_the_newest_run_of_each_kind():
    command = [sys.executable, str(SCRIPTS / "kept_runs.py")]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    assert "benchmark of joints" in done.stdout
