"""What an output may not be: a file that the job reads, by whatever name; and folders that give no right to write."""

import hashlib
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from disks import WITHOUT_RIGHTS, ignoring_capitals

from asbuilt.layers import outputs

ROOT = Path(__file__).resolve().parents[2]
SAMPLE = ROOT / "sample_gis"


def asbuilt(*arguments, before=()):
    """Run the command; give its exit status and what it says on standard error."""
    done = subprocess.run(
        [*before, sys.executable, "-m", "asbuilt", *map(str, arguments)], capture_output=True, text=True, cwd=ROOT
    )
    return done.returncode, " ".join(done.stderr.split())


@pytest.fixture
def disk(tmp_path):
    with ignoring_capitals(tmp_path) as mounted:
        yield mounted


def test_an_input_in_other_capitals_is_no_output_where_the_disk_takes_them_for_one(disk):
    """A centerline that is read from an earlier placed file of the same job: nothing else would keep it from going."""
    job = shutil.copytree(SAMPLE, disk / "Job", copy_function=shutil.copyfile) / "job.toml"
    assert asbuilt("place", job, "--out", disk / "Job" / "First.gpkg")[0] == 0
    text = job.read_text().replace('"centerline.gpkg"', '"First.gpkg"').replace('"mains"', '"centerline"')
    text = text.replace('"route_id"', '"route"').replace('start_station = "sta_start"', 'start_station = "10+00"')
    job.write_text(text)
    before = hashlib.sha256((disk / "Job" / "First.gpkg").read_bytes()).hexdigest()
    # This disk numbers a file anew for each way to write its name.
    assert not (disk / "Job" / "First.gpkg").samefile(disk / "job" / "FIRST.GPKG")
    for name in ("FIRST.gpkg", "../job/first.GPKG", "../JOB/First.gpkg"):
        status, said = asbuilt("place", job, "--out", disk / "Job" / name)
        assert (status, "this is an input of the job" in said) == (2, True), said
    assert hashlib.sha256((disk / "Job" / "First.gpkg").read_bytes()).hexdigest() == before


def test_names_that_differ_in_capitals_are_two_files_where_the_disk_keeps_them_apart(tmp_path):
    for name in ("log.csv", "LOG.csv"):
        (tmp_path / name).touch()
    if len(list(tmp_path.iterdir())) == 1:
        pytest.skip("NOT CHECKED: this disk does not keep capitals apart")
    assert not outputs.same_file(tmp_path / "log.csv", tmp_path / "LOG.csv")
    assert not outputs.same_file(tmp_path / "log.csv", tmp_path / "Log.csv", there=False)
    assert outputs.same_file(tmp_path / "new.gpkg", tmp_path / "NEW.gpkg", there=False)  # nobody can know
    (tmp_path / "link.csv").symlink_to(tmp_path / "LOG.csv")
    assert outputs.same_file(tmp_path / "link.csv", tmp_path / "LOG.csv")


@pytest.mark.skipif(not shutil.which("setpriv"), reason="NOT CHECKED: setpriv (util-linux) is not here")
@pytest.mark.parametrize(
    ("arguments", "name"),
    [
        (("place", "{sample}/job.toml", "--out", "{folder}/joints.gpkg"), "joints.gpkg"),
        (("check", "{sample}/job.toml", "--return", "{folder}/back.xlsx"), "back"),
        (("sheet", "{sample}/job.toml", "--out", "{folder}/log.xlsx"), "log.xlsx"),
        (("load", "{placed}", "--into", "{folder}/register.gpkg"), "register.gpkg"),
        (("find", "{register}", "--route", "B", "--out", "{folder}/found.gpkg"), "found.gpkg"),
        (("review", "{placed}", "--out", "{folder}/review"), "review"),
        (("compare", "{placed}", "{other}", "--out", "{folder}/what.xlsx"), "what.xlsx"),
    ],
)
def test_a_folder_without_rights_is_one_message_and_nothing_is_left(made, tmp_path, arguments, name):
    folder = tmp_path / "locked"
    folder.mkdir(mode=0o555)
    asked = [one.format(folder=folder, sample=SAMPLE, **made) for one in arguments]
    status, said = asbuilt(*asked, before=WITHOUT_RIGHTS)
    assert status == 2, said
    assert str(folder / name) in said
    assert "Permission denied" in said
    assert "Traceback" not in said
    assert not list(folder.iterdir())


@pytest.mark.skipif(not shutil.which("setpriv"), reason="NOT CHECKED: setpriv (util-linux) is not here")
def test_a_register_without_rights_is_read_and_not_written(made, tmp_path):
    folder = tmp_path / "kept"
    folder.mkdir()
    register = Path(shutil.copy(made["register"], folder / "register.gpkg"))
    register.chmod(0o444)
    folder.chmod(0o555)
    before = hashlib.sha256(register.read_bytes()).hexdigest()
    assert asbuilt("find", register, "--route", "B", before=WITHOUT_RIGHTS)[0] == 0
    assert asbuilt("info", register, before=WITHOUT_RIGHTS)[0] == 0
    for work in (
        ("load", made["other"], "--into", register),
        ("load", "--undo=1", "--into", register),
        ("main", register, "B", "--as=abandoned"),
    ):
        status, said = asbuilt(*work, before=WITHOUT_RIGHTS)
        assert (status, str(register) in said, "Traceback" in said) == (2, True, False), said
    assert hashlib.sha256(register.read_bytes()).hexdigest() == before
    assert [one.name for one in folder.iterdir()] == ["register.gpkg"]


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """Give two placed files of one job, and a register with it."""
    folder = tmp_path_factory.mktemp("made")
    found = {name: folder / f"{name}.gpkg" for name in ("placed", "other", "register")}
    for name in ("placed", "other"):
        assert asbuilt("place", SAMPLE / "job.toml", "--out", found[name])[0] == 0
    assert asbuilt("load", found["placed"], "--into", found["register"])[0] == 0
    return found


WRITING = """
import sys, time
from pathlib import Path
from asbuilt.layers.outputs import put_in_place

with put_in_place(Path(sys.argv[1]), option="--out") as unfinished:
    unfinished.write_text("half of it")
    print(unfinished.parent, flush=True)
    time.sleep(600)
"""


BETWEEN = """
import os, signal, sys
from pathlib import Path
from asbuilt.layers import outputs

rename, calls = os.replace, []

def until(old, new):
    rename(old, new)
    calls.append(old)
    if len(calls) == int(sys.argv[2]):
        os.kill(os.getpid(), signal.SIGKILL)

outputs.os.replace = until
# As where a system cannot let two folders change places in one step.
outputs._change_places = lambda one, other: False
with outputs.put_in_place(Path(sys.argv[1]), option="--out") as unfinished:
    unfinished.mkdir()
    (unfinished / "joints.parquet").write_text("new")
"""


@pytest.mark.skipif(sys.platform == "win32", reason="NOT CHECKED: needs signals of POSIX")
@pytest.mark.parametrize(("renames", "left"), [(1, "earlier"), (2, "new")])
def test_a_folder_of_a_process_killed_between_its_renames_is_not_lost_when_the_next_fails(tmp_path, renames, left):
    final = tmp_path / "layers"
    final.mkdir()
    (final / "joints.parquet").write_text("earlier")
    done = subprocess.run([sys.executable, "-c", BETWEEN, str(final), str(renames)], cwd=ROOT, check=False)
    assert done.returncode == -9
    assert final.exists() == (renames == 2)
    with pytest.raises(ZeroDivisionError), outputs.put_in_place(final, option="--out"):
        _ = 1 / 0
    assert (final / "joints.parquet").read_text() == left
    assert [one.name for one in tmp_path.iterdir()] == ["layers"]


@pytest.mark.skipif(sys.platform != "linux", reason="NOT CHECKED: two folders change places in one step on Linux alone")
def test_there_is_no_moment_without_a_folder_where_two_change_places_in_one_step(tmp_path, monkeypatch):
    final = tmp_path / "layers"
    final.mkdir()
    (final / "joints.parquet").write_text("earlier")
    monkeypatch.setattr(os, "replace", lambda old, new: pytest.fail("the folder is renamed in two steps"))
    with outputs.put_in_place(final, option="--out") as unfinished:
        unfinished.mkdir()
        (unfinished / "joints.parquet").write_text("new")
    assert (final / "joints.parquet").read_text() == "new"
    assert [one.name for one in tmp_path.iterdir()] == ["layers"]


@pytest.mark.skipif(sys.platform == "win32", reason="NOT CHECKED: needs signals of POSIX")
def test_an_earlier_folder_does_not_come_back_where_the_new_one_was_removed_by_hand(tmp_path):
    final = tmp_path / "layers"
    final.mkdir()
    subprocess.run([sys.executable, "-c", BETWEEN, str(final), "2"], cwd=ROOT, check=False)
    shutil.rmtree(final)
    with pytest.raises(ZeroDivisionError), outputs.put_in_place(final, option="--out"):
        _ = 1 / 0
    assert list(tmp_path.iterdir()) == []


def test_what_a_killed_process_left_behind_is_removed_by_the_next_and_what_a_living_one_writes_is_not(tmp_path):
    final = tmp_path / "joints.gpkg"
    command = [sys.executable, "-c", WRITING, str(final)]
    with (
        subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=ROOT) as killed,
        subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=ROOT) as living,
    ):
        try:
            left, its = (Path(one.stdout.readline().strip()) for one in (killed, living))
            killed.kill()
            killed.wait()
            assert left.is_dir()
            # Of somebody else, of another output, of a process that has not locked its own yet, and a link.
            others = [
                tmp_path / name for name in (".joints.gpkg-mine", ".joints.gpkg-2-abcdefgh", ".joints.gpkg-abcd_efg")
            ]
            for other in others:
                other.mkdir()
                (other / "held").touch()
            (others[0] / "held").write_text("mine")
            (others[1] / "held").write_text("theirs")
            (tmp_path / ".joints.gpkg-ijklmnop").symlink_to(others[0])
            with outputs.put_in_place(final, option="--out") as unfinished:
                assert {one.name for one in tmp_path.iterdir()} == {
                    unfinished.parent.name, its.name, ".joints.gpkg-ijklmnop", *(other.name for other in others),
                }  # fmt: skip
                unfinished.write_text("all of it")
            assert final.read_text() == "all of it"
            assert (its / "unfinished.gpkg").read_text() == "half of it"
            assert all((other / "held").exists() for other in others)
        finally:
            living.kill()
