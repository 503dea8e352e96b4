"""The versions that are written down as tested, against what the package asks for."""

import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
EXTRAS = {name: texts for name, texts in PROJECT["optional-dependencies"].items() if name != "fuzz"}
ASKED = [Requirement(text) for texts in (PROJECT["dependencies"], *EXTRAS.values()) for text in texts]


@pytest.fixture(scope="module")
def tested():
    lines = (ROOT / "scripts" / "tested_versions.txt").read_text("utf-8").splitlines()
    pins = dict(line.split("==") for line in lines if not line.startswith("#"))
    return {canonicalize_name(name): version for name, version in pins.items()}


@pytest.mark.parametrize("asked", [one for one in ASKED if one.name != PROJECT["name"]], ids=lambda one: one.name)
def test_each_library_has_a_tested_version_that_the_package_takes(tested, asked):
    assert asked.specifier.contains(tested[canonicalize_name(asked.name)])
