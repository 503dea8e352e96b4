"""Temporary folders of killed processes are removed by the next one; those of living ones and of others are not."""

import os
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from asbuilt import living

HOLDING = """
import sys, time
from asbuilt import living

folder, held = living.make_temporary()
(folder / "log.csv").write_text("what was copied here")
print(folder, flush=True)
time.sleep(600)
"""


@pytest.fixture
def place(tmp_path, monkeypatch):
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    return tmp_path


def holding(place):
    command = [sys.executable, "-c", HOLDING]
    root = Path(living.__file__).parents[1]
    where = os.environ | {"TMPDIR": str(place), "TEMP": str(place)}
    found = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=root, env=where)
    return found, Path(found.stdout.readline().strip())


def test_the_folder_of_a_killed_process_is_removed_by_the_next_one_and_no_other(place, monkeypatch):
    (killed, left), (alive, its) = holding(place), holding(place)
    try:
        killed.kill()
        killed.communicate()
        assert (left / "log.csv").is_file()
        others = [place / name for name in ("asbuilt-abcdefgh", "asbuilt-print-1", "notes", "asbuilt-of-a-crew")]
        for other in others:
            other.mkdir()
        # Not marked yet; and marked, but with no name of ours.
        (others[3] / "held").write_text("theirs")
        (place / "asbuilt-ijklmnop").symlink_to(others[3])
        if sys.platform != "win32":
            with monkeypatch.context() as of_another:
                of_another.setattr(os, "getuid", lambda: -1)
                with living.temporary():
                    assert left.is_dir(), "it is another user's"
        with living.temporary() as own:
            assert not left.exists()
            assert {one.name for one in place.iterdir()} == {
                own.name, its.name, "asbuilt-ijklmnop", *(one.name for one in others)
            }  # fmt: skip
        assert (its / "log.csv").read_text() == "what was copied here"
    finally:
        alive.kill()
        alive.communicate()
    with living.temporary():
        assert not its.exists()


def test_a_folder_is_gone_after_its_work_even_when_that_failed(place):
    with pytest.raises(ZeroDivisionError), living.temporary() as folder:
        _ = len(folder.name) / 0
    assert list(place.iterdir()) == []
