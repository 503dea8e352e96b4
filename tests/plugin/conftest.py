"""What the tests of the plugin share: its zip, the host with the plugin in it, a placed job and a register."""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from desktop import ROOT, SAMPLE, Host, build_plugin, placed_by_command


@pytest.fixture(scope="session")
def built(tmp_path_factory):
    return build_plugin.build(tmp_path_factory.mktemp("built"))


@pytest.fixture
def host(tmp_path, built):
    """Give a host with the plugin installed in a clean profile, which runs scripts."""
    return Host(tmp_path, built)


@pytest.fixture(scope="session")
def placed(tmp_path_factory):
    return placed_by_command(SAMPLE / "job.toml", tmp_path_factory.mktemp("placed") / "joints.gpkg")


@pytest.fixture(scope="session")
def loaded(placed, tmp_path_factory):
    """Give a register with the sample in it."""
    register = tmp_path_factory.mktemp("loaded") / "register.gpkg"
    subprocess.run([sys.executable, "-m", "asbuilt", "load", placed, "--into", register], check=True,
                   capture_output=True, cwd=ROOT)  # fmt: skip
    return register


@pytest.fixture
def register(loaded, tmp_path):
    return Path(shutil.copy(loaded, tmp_path / "register.gpkg"))
