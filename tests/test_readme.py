"""The examples of the README and of the documentation run, and give what they say."""

import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from asbuilt.cli import cli
from asbuilt.job import Job

ROOT = Path(__file__).resolve().parent.parent
PAGES = [ROOT / "README.md", *sorted((ROOT / "scripts" / "docs").rglob("*.md"))]
TEXT = "\n".join(page.read_text("utf-8") for page in PAGES)


def blocks(language):
    return re.findall(rf"```{language}\n(.*?)```", TEXT, flags=re.DOTALL)


def test_the_python_example_prints_what_the_readme_shows():
    done = subprocess.run(
        [sys.executable, "-c", "\n".join(blocks("python"))], capture_output=True, text=True, check=True, cwd=ROOT
    )
    (shown,) = blocks("text")
    assert done.stdout.strip().splitlines() == shown.strip().splitlines()


def test_the_job_example_is_a_valid_job():
    (example,) = [block for block in blocks("toml") if "[records]" in block]
    whole = tomllib.loads(example)
    Job.from_mapping(whole)
    for part in blocks("toml"):
        Job.from_mapping(whole | tomllib.loads(part))


@pytest.mark.parametrize("line", [line for block in blocks("sh") for line in block.splitlines()])
def test_every_command_shown_exists(line):
    words = line.split("#")[0].split()
    if words[0] in ("python", "python3"):
        assert (ROOT / words[1]).is_file()
        assert words[2:] in ([], ["demo"], ["test"])
        return
    if words[:2] == ["pip", "install"]:
        known = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["optional-dependencies"]
        assert set(re.findall(r"asbuilt\[(.*?)\]", line)) <= set(known)
        return
    if words[0] == "dask":
        command = pytest.importorskip(f"distributed.cli.dask_{words[1]}").main
    else:
        assert words[0] == "asbuilt"
        command = cli.commands[words[1]]
    options = {name for parameter in command.params for name in (*parameter.opts, *parameter.secondary_opts)}
    assert {word for word in words if word.startswith("--")} <= options


def test_every_page_that_is_named_is_there():
    for page in PAGES:
        for target in re.findall(r"\]\(([^)#:]+)\)", page.read_text("utf-8")):
            made = "reference/" in target or target.endswith(".svg")
            assert made or (page.parent / target).exists(), (page, target)
