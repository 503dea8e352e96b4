"""What reaches a person on a terminal is what the files say, whatever the terminal and the files are like."""

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from asbuilt.terminal import screen

ROOT = Path(__file__).resolve().parents[2]
SAMPLE = ROOT / "sample_gis"


def command(*arguments, **more):
    encoding = {"PYTHONIOENCODING": more.pop("encoding", "utf-8")}
    words = [sys.executable, "-m", "asbuilt", *map(str, arguments)]
    return subprocess.run(words, cwd=ROOT, env=os.environ | encoding, capture_output="stdout" not in more, **more)


@pytest.mark.parametrize("encoding", ["cp1252", "cp437", "latin-1", "ascii"])
def test_a_letter_that_the_output_lacks_does_not_fail_the_work(tmp_path, encoding):
    job = (SAMPLE / "job_foundry.toml").read_text("utf-8").replace('name = "', 'name = "Žlutý \N{PILE OF POO} ', 1)
    for path in SAMPLE.glob("*foundry*"):
        (tmp_path / path.name).write_bytes(path.read_bytes())
    (tmp_path / "job_foundry.toml").write_text(job, "utf-8")
    done = command("check", tmp_path / "job_foundry.toml", encoding=encoding)
    assert done.returncode == 0, done.stderr
    assert b"what became of the log" in done.stdout
    done = command("check", tmp_path / "job_foundry.toml", "--json", encoding=encoding)
    assert json.loads(done.stdout.decode(encoding))["name"].startswith("Žlutý \N{PILE OF POO}")


@pytest.mark.skipif(os.name != "posix", reason="NOT CHECKED: needs a POSIX shell")
def test_a_reader_that_has_seen_enough_does_not_change_how_the_work_ends(tmp_path):
    out = tmp_path / "joints.gpkg"
    line = (
        f'"{sys.executable}" -m asbuilt place sample_gis/job_foundry.toml --out "{out}" | true; echo ${{PIPESTATUS[0]}}'
    )
    done = subprocess.run(["bash", "-c", line], cwd=ROOT, capture_output=True, text=True)
    assert (done.stdout.strip(), done.stderr) == ("0", "")
    assert out.exists()


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="NOT CHECKED: there is no /dev/full here")
@pytest.mark.parametrize("more", [(), ("--json",)])
def test_an_output_that_cannot_be_written_is_said_and_ends_with_2(more):
    with open("/dev/full", "w") as full:
        done = command("check", SAMPLE / "job_foundry.toml", *more, stdout=full, stderr=subprocess.PIPE)
    assert done.returncode == 2
    assert b"the printed output could not be written (No space left on device)" in done.stderr
    assert b"Traceback" not in done.stderr


def test_names_are_never_read_as_markup(capsys):
    rows = screen.table("Len [m]", "[/x]", title="[bold]all[/bold]")
    screen.row(rows, "[red]", "$x^{$")
    screen.show(rows)
    shown = capsys.readouterr().out
    assert all(text in shown for text in ("Len [m]", "[/x]", "[bold]all[/bold]", "[red]", "$x^{$"))


def test_a_name_cannot_steer_the_terminal_nor_fill_it(capsys):
    screen.line("a\x1b[2Jb\u202ec" + "d" * 10_000)
    shown = capsys.readouterr().out
    assert shown.startswith(r"a\x1b[2Jb\u202ec")
    assert shown.rstrip().endswith("more letters)")
    assert len(shown) < 5000


def test_numbers_that_json_does_not_know_are_null(capsys):
    screen.as_json({"a": [float("nan"), 1.5], "b": (float("inf"),)})
    assert json.loads(capsys.readouterr().out) == {"a": [None, 1.5], "b": [None]}


COUNTS = ("joints", "main (ft)", "complete", "incomplete", "failed", "none", "over", "out of service")


@pytest.mark.parametrize("keys", [("main",), ("main", "inspector"), ("main", "inspector", "size")])
def test_a_table_of_groups_keeps_its_words_whole_in_eighty_letters(capsys, monkeypatch, keys):
    monkeypatch.setenv("COLUMNS", "80")
    rows = screen.table(*keys, *COUNTS)
    rows.show_edge = rows.pad_edge = False
    of = {"main": "Mill Race", "inspector": "R. Vance", "size": "12 in"}
    cells = [*(of[key] for key in keys), "121", "2,400.0", "118", "2", "1", "0", "0", "14"]
    screen.row(rows, *cells)
    screen.keep_words(rows)
    screen.show(rows)
    shown = capsys.readouterr().out
    assert max(map(len, shown.splitlines())) <= 80
    words = set(re.split(r"[\s\u2500-\u257f]+", shown))
    assert words >= {word for text in (*keys, *COUNTS, *cells) for word in text.split()}
