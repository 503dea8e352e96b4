"""Was it tested, must it be restrained, what was set aside here: against jobs whose every length is known."""

import json

import pytest
from laying import EAST, NORTH
from registers import placed

from asbuilt import cli
from asbuilt.errors import AsbuiltError
from asbuilt.register.inventory import info
from asbuilt.register.loading import load
from asbuilt.register.opening import open_existing
from asbuilt.register.question import Question
from asbuilt.register.search import find
from asbuilt.register.undo import undo

TEST = {"route": "A", "from": "0+00", "to": "0+40", "pressure_psi": 150, "duration_h": 2, "tested_on": "2026-05-04"}
PASSED, FAILED = TEST | {"makeup_gal": 0.0}, TEST | {"makeup_gal": 50.0}
RESTRAINT = {"route": "A", "from": "0+60", "to": "0+80", "why": "bend at 0+80"}


@pytest.fixture(scope="module")
def job(folder):
    """Give a maker of jobs of six joints every 20 ft, the fifth of which has a record that cannot be placed."""
    made = iter(range(100))

    def make(name="Contract 1", *tests, restraint=(RESTRAINT,), **how):
        tables = {"pressure_tests": list(tests), "restraint": list(restraint)}
        tables = {key: value for key, value in tables.items() if value}
        how.setdefault("station", {4: "beside the pump"})
        return placed(folder / f"beside {next(made)}.gpkg", name, tables=tables, **how)

    return make


def numbers(register, **asked):
    return "".join(one["joint"] for one in find(register, Question(**asked)).joints)


def test_was_it_tested(register, job):
    load(job("Contract 1", PASSED), register)
    load(job("Contract 2", routes=("B",), east=500.0, restraint=()), register)
    assert numbers(register, tested=["passed"]) == "123"  # at 0+00, 0+20 and 0+40
    assert numbers(register, tested=["untested"], routes=["A"]) == "46"  # record 5 is in no joint
    assert numbers(register, tested=["untested"], routes=["B"]) == "12346"
    assert numbers(register, tested=["failed"]) == ""
    (second,) = find(register, Question(near=f"{EAST},{NORTH + 20.0}", within="2ft")).joints
    (said,) = second["pressure_tests"]
    assert (said["result"], said["tested_on"], said["pressure"], said["job"]) == (
        "passed", "2026-05-04", 150.0, "Contract 1",
    )  # fmt: skip
    with pytest.raises(AsbuiltError, match="did you mean 'passed'"):
        numbers(register, tested=["pased"])


def test_a_test_corrected_added_or_undone_is_known_though_no_joint_changes(register, job):
    first, second = job("Contract 1"), job("Contract 1", FAILED)
    load(first, register)
    assert numbers(register, tested=["untested"]) == "12346"
    assert not load(first, register).changed
    loaded = load(second, register)
    assert (loaded.changed, loaded.joints["unchanged"], loaded.load) == (True, 5, 2)
    assert (numbers(register, tested=["failed"]), numbers(register, tested=["untested"])) == ("123", "46")
    assert not load(second, register).changed
    load(job("Contract 1", FAILED, PASSED), register)
    assert (numbers(register, tested=["failed"]), numbers(register, tested=["passed"])) == ("", "123")
    undo(3, register)
    assert (numbers(register, tested=["failed"]), numbers(register, tested=["passed"])) == ("123", "")


def test_the_test_outlasts_a_later_job_of_the_same_joints(register, job):
    load(job("Contract 1", PASSED), register)
    load(job("Leak 2027", joints=2, date="2027-03-01", station={}, restraint=()), register)
    assert numbers(register, tested=["passed"]) == "123"
    (joint,) = find(register, Question(joints=["2"])).joints
    assert [one["job"] for one in joint["pressure_tests"] if one["result"] == "passed"] == ["Contract 1"]


def test_what_must_be_restrained_and_what_was_set_aside(register, job, capsys):
    load(job("Contract 1", PASSED), register)
    found = find(register, Question(near=f"{EAST},{NORTH + 60.0}", within="2ft"))
    (fourth,) = found.joints
    (length,) = fourth["restraint"]
    assert (fourth["joint"], length["why"], length["joints_unrestrained"]) == ("4", "bend at 0+80", 1)
    (aside,) = found.set_aside
    assert (aside["route"], aside["joint"], aside["job"]) == ("A", "5", "Contract 1")
    assert "beside the pump" in aside["original"]
    assert find(register, Question(joints=["5"])).set_aside == [aside]
    assert find(register, Question(joints=["4"])).set_aside == []
    assert find(register, Question(jobs=["Contract 1"])).as_json()["set_aside"] == [aside]
    told = info(register)
    assert told["set_aside"] == [aside]
    assert {(one["from_station"], one["result"]) for one in told["pressure_tests"]} >= {("0+00.00", "passed")}
    for words, said in (
        (["find", register, "--route", "A"], "1 record of 1 job there was set aside and is in no joint"),
        (["find", register, "--joint", "2"], "pressure test 0+00.00 to 0+40.00, 2026-05-04: passed (Contract 1)"),
        (["find", register, "--joint", "4"], "to be restrained 0+60.00 to 0+80.00: 1 of 1 joints are not recorded"),
        (["info", register], "Records set aside, in no joint"),
    ):
        capsys.readouterr()
        assert cli.run(words) == 0
        assert said in " ".join(capsys.readouterr().out.replace("│", " ").split())
    assert cli.run(["find", register, "--tested", "passed", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["count"] == 3


def test_under_a_main_of_its_own_they_go_by_its_name(register, job):
    load(job("Contract 1", PASSED), register, main="North")
    assert numbers(register, tested=["passed"], routes=["North: A"]) == "123"
    store = open_existing(register)
    try:
        assert {route for (route,) in store.rows("SELECT route FROM pressure_tests")} == {"North: A"}
    finally:
        store.close()
