"""What all tests share."""

import datetime as dt
import shutil

import pytest
import servers
from hypothesis import settings
from registers import quick_folder

# Speed is judged in scripts/benchmark.py, never by a test's clock.
# The same examples in every run, and no more than find what is wrong again; `pytest --hypothesis-profile explore` looks
# for others.
settings.register_profile("asbuilt", deadline=None, derandomize=True, max_examples=40)
settings.register_profile("explore", deadline=None, max_examples=1000)
settings.load_profile("asbuilt")


FIRST = ("plugin/", "serve/", "test_whole_jobs.py", "register/test_register.py", "review/", "survey/")
"""What takes longest: a file is one process's work, and the last to begin would keep the others waiting."""

SLOW = ("plugin/", "serve/", "terminal/", "review/", "register/", "test_whole_jobs.py", "test_abused.py",
        "test_layout.py::test_the_ways", "test_layout.py::test_no_module_imports", "returned/", "blank/",
        "test_sample.py", "test_readme.py", "test_cli.py", "test_placed.py", "test_parts.py", "owner_map/",
        "comparing/", "archive/", "layers/", "cad/", "survey/test_blunders.py", "judging/test_survey.py",
        "judging/test_places.py::test_joints_lie", "judging/test_places.py::test_an_accuracy",
        "judging/test_verdicts.py::test_the_ceiling",
        "judging/test_readings.py::test_a_deflection", "placing/test_placement.py::test_every_record",
        "placing/test_sparse_coordinates.py", "placing/test_laid.py", "placing/test_surveyed.py::test_every_record",
        "placing/test_surveyed.py::test_the_noise", "inputs/test_tables.py::test_any_log",
        "inputs/test_tables.py::test_no_row", "inputs/test_log_rows.py::test_a_row_with_error",
        "inputs/test_log_sheets.py::test_sheets_with_columns", "test_s3.py")  # fmt: skip
"""What needs a host program, a browser or a server, writes files and reads them again, or takes many whole jobs."""

VERSIONS = ("inputs/", "line/", "placing/test_placement.py", "placing/test_surveyed.py", "placing/test_elevation.py",
            "placing/test_laid.py", "judging/test_deflection.py", "judging/test_readings.py",
            "judging/test_verdicts.py", "judging/test_findings.py", "judging/test_stretches.py",
            "layers/test_geopackage.py", "layers/test_geoparquet.py", "register/test_register.py",
            "register/test_questions.py", "register/test_formats.py",
            "owner_map/test_utility_map.py", "returned/", "review/test_review.py", "cad/", "blank/test_workbook.py",
            "serve/", "test_job.py", "test_placed.py", "test_cli.py", "test_sample.py", "test_s3.py")  # fmt: skip
"""What another Python, or another version of a library, can change: what is read, placed, judged, kept and written."""

THE_SAME = ("::test_every_record_is_placed_or_set_aside", "::test_any_log", "::test_no_row", "::test_a_kill_",
            "::test_the_ceiling", "::test_a_full_disk", "::test_the_noise", "[postgis")  # fmt: skip
"""Of these, what runs at length for its own sake, kills, fills disks, or asks another program: the same for all."""


def pytest_collection_modifyitems(items):
    """Mark what is slow, so that the rest can be run at every change, and begin with what takes longest."""
    for item in items:
        where = _where(item)
        if where.startswith(SLOW) or "[postgis" in item.nodeid:
            item.add_marker("slow")
        in_browser = any("chromium" in mark.kwargs.get("reason", "") for mark in item.iter_markers("skipif"))
        alone = in_browser or any(one in item.nodeid for one in THE_SAME)
        if (where.startswith(VERSIONS) or not where) and not alone:
            item.add_marker("versions")
    items.sort(key=lambda item: next((at for at, one in enumerate(FIRST) if _where(item).startswith(one)), len(FIRST)))


def _where(item):
    return item.nodeid.partition("tests/")[2]


@pytest.fixture(autouse=True, scope="module")
def _day_of_loads(request):
    """Load registers on a day later than any that their tests' jobs have, but for those that are still to come."""
    with pytest.MonkeyPatch.context() as patch:
        if "tests/register/" in request.node.nodeid:
            from asbuilt.register import doubts, keeping

            for module in (keeping, doubts):
                patch.setattr(module, "today", lambda: dt.date(2040, 1, 1))
        yield


@pytest.fixture(scope="session")
def register_server():
    """Give the address of a database with PostGIS, or None where there is no server."""
    if servers.programs() is None:
        yield None
        return
    with servers.postgis() as address:
        yield address


@pytest.fixture(scope="module")
def folder():
    """Give a folder in memory where there is one: disks are slow, and few tests are about them."""
    made = quick_folder()
    yield made
    shutil.rmtree(made)


@pytest.fixture(params=["geopackage", "postgis"])
def register(request, folder):
    """Give the name of a register that is not there yet, in each store."""
    if request.param == "geopackage":
        for one in folder.glob("register.gpkg*"):
            one.unlink()
        return str(folder / "register.gpkg")
    psycopg = pytest.importorskip("psycopg", reason="NOT CHECKED against PostGIS: its libraries are not installed")
    address = request.getfixturevalue("register_server")
    if address is None:
        pytest.skip("NOT CHECKED against PostGIS: Debian's postgresql-postgis is not installed")
    with psycopg.connect(address, autocommit=True) as connection:
        connection.execute("DROP SCHEMA IF EXISTS asbuilt CASCADE")
    return address
