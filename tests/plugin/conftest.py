"""What the tests of the plugin share: its zip, the host with the plugin in it, a placed job and a register."""

import shutil
from pathlib import Path

import pytest
from desktop import READY, SAMPLE, Desktop, Host, asbuilt, build_plugin, placed_by_command


@pytest.fixture(scope="session", autouse=True)
def _ready():
    """End the command that is kept ready with the tests."""
    yield
    READY.end()


@pytest.fixture(scope="session")
def built(tmp_path_factory):
    return build_plugin.build(tmp_path_factory.mktemp("built"))


@pytest.fixture(scope="session")
def desktop(tmp_path_factory, built):
    """Give a process of the host with the plugin installed in a clean profile."""
    made = Desktop(tmp_path_factory.mktemp("desktop"), built)
    yield made
    made.end()


@pytest.fixture
def host(tmp_path, desktop):
    """Give that host to one test, which finds nothing of the tests before it."""
    yield Host(tmp_path, desktop)
    shutil.rmtree(desktop.profile / "asbuilt_environment", ignore_errors=True)


@pytest.fixture(scope="session")
def placed(tmp_path_factory):
    return placed_by_command(SAMPLE / "job.toml", tmp_path_factory.mktemp("placed") / "joints.gpkg")


@pytest.fixture(scope="session")
def loaded(placed, tmp_path_factory):
    """Give a register with the sample in it."""
    register = tmp_path_factory.mktemp("loaded") / "register.gpkg"
    asbuilt("load", placed, "--into", register)
    return register


@pytest.fixture
def register(loaded, tmp_path):
    return Path(shutil.copy(loaded, tmp_path / "register.gpkg"))
