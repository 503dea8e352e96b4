"""Layers that a process of their own writes: whole or not at all, whichever of the two processes is killed, and when.

As a script it kills by any seeds: `python tests/layers/test_writing_beside.py 0 100`.
"""

import hashlib
import os
import subprocess
import sys
import tempfile
import textwrap
import time
from collections import Counter
from pathlib import Path
from random import Random

import numpy as np
import pyarrow as pa
import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from test_parts import AT_ONCE, TODAY, differing, tables, write_mains

from asbuilt.errors import OutputError
from asbuilt.job import load_job
from asbuilt.layers import beside
from asbuilt.layers.shapes import points_wkb
from asbuilt.processor import place_into

UNITS = {"unit": "US survey feet", "station_unit": "US survey feet", "reading_unit": "inches"}
PLACE = """
import datetime as dt, os, signal, subprocess, sys, threading
sys.path[:0] = {paths!r}
from asbuilt.errors import OutputError
from asbuilt.job import load_job
from asbuilt.processor import place_into

class Killed(subprocess.Popen):
    def __init__(self, *args, **named):
        super().__init__(*args, **named)
        threading.Timer({when!r}, self.kill).start()

if {writer!r}:
    subprocess.Popen = Killed
else:
    threading.Timer({when!r}, lambda: os.kill(os.getpid(), signal.SIGKILL)).start()
try:
    place_into(load_job({job!r}), {out!r}, today=dt.date.fromisoformat({today!r}), part=1)
except OutputError as error:
    sys.exit(str(error))
"""


def joints(count):
    place = points_wkb(6.7e6 + np.arange(count), np.full(count, 2.0e6), np.full(count, 50.0))
    return pa.table({"joint": pa.array([f"J{number}" for number in range(count)], pa.string()), "geom": place})


def write(path, *parts, then=lambda writer: None):
    with (
        beside.process_to_write(path) as process,
        beside.writing_beside(path, ["joints"], crs="EPSG:6418", units=UNITS, process=process) as writer,
    ):
        for part in parts:
            writer.add("joints", part)
        then(writer)
        writer.end("joints")
    return path


def digest(path):
    return hashlib.sha256(path.read_bytes()).hexdigest()


@pytest.fixture
def temporary(tmp_path, monkeypatch):
    """Give a temporary folder of the test's own, in which nothing may be left."""
    folder = tmp_path / "temporary"
    folder.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(folder))
    return folder


def test_rows_are_written_in_the_order_in_which_they_came(tmp_path, temporary):
    import geopandas as gpd

    path = write(tmp_path / "joints.gpkg", joints(0), joints(3), joints(0), joints(2))
    assert gpd.read_file(path, layer="joints").joint.tolist() == ["J0", "J1", "J2", "J0", "J1"]
    assert list(temporary.iterdir()) == []


def test_what_goes_wrong_here_ends_the_other_process_and_leaves_the_earlier_file(tmp_path, temporary):
    path = write(tmp_path / "joints.gpkg", joints(3))
    before = digest(path)
    processes = []

    def wrong(writer):
        processes.append(writer._process)
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        write(path, joints(9), then=wrong)
    assert processes[0].returncode is not None
    assert digest(path) == before
    assert sorted(tmp_path.iterdir()) == [path, temporary]
    assert list(temporary.iterdir()) == []


def test_a_fault_of_the_program_there_is_raised_here_with_its_place(tmp_path, temporary):
    odd = joints(2).append_column("odd", pa.array([1, 2]))
    with pytest.raises(ValueError, match="does not describe these columns") as raised:
        write(tmp_path / "joints.gpkg", odd)
    assert "geopackage.py" in "".join(raised.value.__notes__)
    assert list(tmp_path.iterdir()) == [temporary]
    assert list(temporary.iterdir()) == []


def test_rows_that_do_not_come_are_missed(tmp_path, temporary):
    def one_more(writer):
        writer._rows["joints"] += 1

    with pytest.raises(OutputError, match=r"only 2 of 3 rows of joints were written"):
        write(tmp_path / "joints.gpkg", joints(2), then=one_more)
    assert list(tmp_path.iterdir()) == [temporary]


def test_a_layer_that_is_not_ended_is_not_waited_for(tmp_path, temporary):
    def never(writer):
        writer.end = lambda name: None

    with pytest.raises(ValueError, match="these layers were not ended: joints"):
        write(tmp_path / "joints.gpkg", joints(2), then=never)
    assert list(tmp_path.iterdir()) == [temporary]
    assert list(temporary.iterdir()) == []


@pytest.mark.skipif(os.name == "nt", reason="NOT CHECKED: no signals here")
@pytest.mark.parametrize("after", [0.01, 0.05, 0.1])
def test_ctrl_c_while_the_other_process_gets_ready_has_it_say_nothing(after):
    """As a terminal does it: all processes of its group are told."""
    program = f"""
        import os, signal, time
        from pathlib import Path
        from asbuilt.layers.beside import process_to_write
        signal.signal(signal.SIGINT, lambda *_: None)
        with process_to_write(Path("joints.gpkg")) as process:
            time.sleep({after})
            os.killpg(0, signal.SIGINT)
        print(process.returncode)
        """
    command = [sys.executable, "-c", textwrap.dedent(program)]
    done = subprocess.run(command, capture_output=True, text=True, start_new_session=True, check=True)
    assert (done.stdout, done.stderr) == ("0\n", "")


@pytest.mark.skipif(os.name == "nt", reason="NOT CHECKED: no signals here")
def test_another_process_that_is_killed_is_said_so_and_leaves_the_earlier_file(tmp_path, temporary):
    path = write(tmp_path / "joints.gpkg", joints(3))
    before = digest(path)

    def killed(writer):
        writer._process.kill()
        writer._process.wait()

    with pytest.raises(
        OutputError, match=r"joints\.gpkg: cannot be written \(the process that writes it was ended by "
    ):
        write(path, joints(9), then=killed)
    assert digest(path) == before
    assert sorted(tmp_path.iterdir()) == [path, temporary]
    assert list(temporary.iterdir()) == []


def test_a_full_disk_is_said_so_and_leaves_the_earlier_file(tmp_path, temporary):
    pytest.importorskip("resource", reason="NOT CHECKED: the size of a file cannot be limited here")
    path = write(tmp_path / "joints.gpkg", joints(3))
    before = digest(path)
    script = textwrap.dedent(
        f"""
        import resource, signal, sys, tempfile
        sys.path[:0] = [{str(Path(__file__).parent)!r}]
        tempfile.tempdir = {str(temporary)!r}
        from test_writing_beside import *

        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (500_000, resource.RLIM_INFINITY))
        try:
            write(Path({str(path)!r}), *[joints(2000)] * 20)
        except OutputError as error:
            sys.exit(str(error))
        """
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=False)
    assert done.returncode == 1
    assert done.stderr.startswith(f"{path}: cannot be written (")
    assert done.stderr.count("\n") == 1
    assert digest(path) == before
    assert sorted(tmp_path.iterdir()) == [path, temporary]
    assert list(temporary.iterdir()) == []


def test_a_temporary_folder_that_is_gone_is_named(tmp_path, temporary):
    temporary.rmdir()
    with pytest.raises(OutputError, match=r"temporary: rows that wait to be written cannot be kept"):
        write(tmp_path / "joints.gpkg", joints(3))
    assert list(tmp_path.iterdir()) == []


def kill(seed, folder):
    """Place a job in parts, and kill one of its two processes at a moment of its own; gives how it ended."""
    random = Random(seed)
    out, temporary = folder / "joints.gpkg", folder / "temporary"
    temporary.mkdir(exist_ok=True)
    if not (folder / "job.toml").exists():
        job = load_job(write_mains(Random(3), folder)).model_copy(update={"design": None, "cover": None})
        place_into(job, out, today=TODAY, part=AT_ONCE)
    # Most of the time before the writing begins is that of loading libraries.
    writer, when = random.random() < 0.5, random.random()
    script = PLACE.format(
        paths=[str(Path(beside.__file__).parents[2])], writer=writer, when=when * (1.5 if writer else 4.0),
        job=str(folder / "job.toml"), out=str(out), today=TODAY.isoformat(),
    )  # fmt: skip
    before, held = digest(out), tables(out)
    known = {*folder.iterdir()}
    environment = {**os.environ, "TMPDIR": str(temporary)}
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=False, env=environment)
    # The other process ends by itself, when it looks for rows or has written what it has.
    until = time.monotonic() + 60
    while ({*folder.iterdir()} != known or any(temporary.iterdir())) and time.monotonic() < until:
        time.sleep(0.05)
    assert {*folder.iterdir()} == known, "something is left beside the file"
    assert list(temporary.iterdir()) == [], "something is left in the temporary folder"
    if writer and done.returncode:
        assert "was ended by signal 9" in done.stderr, done.stderr
        assert done.stderr.count("\n") == 1
    same = digest(out) == before
    assert same or differing(held, tables(out)) == []
    who = "writer" if writer else "placing"
    return f"{who} {'ended first' if done.returncode == 0 else 'killed'}, {'earlier' if same else 'new'} file"


@pytest.mark.skipif(os.name == "nt", reason="NOT CHECKED: no signals here")
@pytest.mark.parametrize("seed", range(4))
def test_a_kill_at_any_moment_leaves_a_whole_file_and_nothing_else(tmp_path, seed):
    assert "killed" in kill(seed, tmp_path) or seed > 0


if __name__ == "__main__":
    ends = Counter()
    with tempfile.TemporaryDirectory() as made:
        for number in range(int(sys.argv[1]), int(sys.argv[2])):
            try:
                ends[kill(number, Path(made))] += 1
            except AssertionError as error:
                ends["wrong"] += 1
                print(number, error)
    print(dict(ends))
