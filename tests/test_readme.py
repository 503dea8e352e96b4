"""The README's examples run, and give what it says."""

import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from asbuilt.cli import cli
from asbuilt.job import Job
from asbuilt.schema import DOMAINS, LAYERS

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text("utf-8")


def blocks(language):
    return re.findall(rf"```{language}\n(.*?)```", README, flags=re.DOTALL)


def test_the_python_example_prints_what_the_readme_shows():
    done = subprocess.run(
        [sys.executable, "-c", "\n".join(blocks("python"))], capture_output=True, text=True, check=True, cwd=ROOT
    )
    (shown,) = blocks("text")
    assert done.stdout.strip().splitlines() == shown.strip().splitlines()


def test_the_job_example_is_a_valid_job():
    example, *more = blocks("toml")
    Job.from_mapping(tomllib.loads(example))
    for part in more:
        Job.from_mapping(tomllib.loads(f"{example}\n{part}"))


@pytest.mark.parametrize("line", [line for block in blocks("sh") for line in block.splitlines()])
def test_every_command_shown_exists(line):
    words = line.split("#")[0].split()
    if words[0] == "python3":
        assert (ROOT / words[1]).is_file()
        assert words[2] in ("demo", "test")
        return
    assert words[0] == "asbuilt"
    options = {name for parameter in cli.commands[words[1]].params for name in parameter.opts}
    assert {word for word in words if word.startswith("--")} <= options


def test_every_layer_verdict_and_finding_stands_in_the_readme():
    from asbuilt.judging.findings import CHECKS

    for name in (*LAYERS, *(check.code for check in CHECKS), "within", "over", "no-allowable", "not-computed"):
        assert f"`{name}`" in README, name
    assert set(DOMAINS["verdict"]) >= {"within", "over", "no-allowable", "not-computed"}
