"""Was it tested, must it be restrained, what was set aside here: against jobs whose every length is known."""

import datetime as dt
import json

import pyogrio
import pytest
import shapely
from laying import EAST, NORTH
from registers import placed

from asbuilt import cli
from asbuilt.errors import AsbuiltError
from asbuilt.register.beside import stands
from asbuilt.register.inventory import info
from asbuilt.register.layout import BESIDE
from asbuilt.register.loading import load
from asbuilt.register.opening import open_existing
from asbuilt.register.question import Question
from asbuilt.register.search import find
from asbuilt.register.settling import settle
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
    results = [[test["result"] for test in one["pressure_tests"]] for one in find(register, Question()).joints]
    assert results == [["passed"]] * 3 + [["untested"]] * 2  # the third lies where the untested length begins
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
        (["find", register, "--route", "A"], "1 record of 1 job was set aside there and is in no joint"),
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


@pytest.mark.parametrize("by", ["settle", "load"])
def test_what_a_waiting_job_brings_waits_with_it_and_goes_to_its_main(register, job, by):
    """The test of another main, with a route "A" too, stood on this one at once, and stayed when it was settled."""
    load(job("Contract 1", restraint=()), register)
    load(job("Contract 2", routes=("B",), east=500.0, restraint=()), register)
    before = info(register)
    other = job("Ferry", PASSED, east=9_000.0)
    assert load(other, register).joints["left_out"] == 5
    waits = info(register)
    assert all(waits[layer] == before[layer] for layer in ("pressure_tests", "restraint", "set_aside"))
    assert numbers(register, tested=["passed"]) == ""
    with_lines = "SELECT count(*) FROM centerline t WHERE " + stands("t")
    store = open_existing(register)
    assert store.rows(with_lines) == [(2,)]
    store.close()
    if by == "settle":
        settle(register, "main", job="Ferry", main="Ferry")
    else:
        load(other, register, main="Ferry")
    after = info(register)
    assert {one["route"] for one in after["pressure_tests"]} == {"Ferry: A"}
    assert {one["route"] for one in after["restraint"]} == {"Ferry: A"}
    assert sorted(one["route"] for one in after["set_aside"]) == ["A", "B", "Ferry: A"]
    assert numbers(register, tested=["passed"], routes=["A"]) == ""
    assert numbers(register, tested=["passed"], routes=["Ferry: A"]) == "123"
    store = open_existing(register)
    assert store.rows(with_lines) == [(3,)]
    store.close()


def test_what_a_job_brings_holds_where_its_joints_are_settled_to_be_the_registers(register, job):
    load(job("Contract 1", restraint=()), register)
    load(job("Survey", PASSED, north=9.0, restraint=()), register)
    assert numbers(register, tested=["passed"]) == ""
    settle(register, "ours", job="Survey")
    assert [one["result"] for one in info(register)["pressure_tests"]] == ["passed", "untested"]


@pytest.fixture(scope="module")
def in_part(job):
    """Give a main A, and another contract of two routes, whose A is another main far off and was found to leak."""
    other = job(
        "Ferry", FAILED, PASSED | {"route": "C"}, routes=("C", "A"), east=9_000.0,
        restraint=(RESTRAINT, RESTRAINT | {"route": "C"}),
    )  # fmt: skip
    return job("Contract 1", PASSED), other


def of_routes(register):
    """List of which routes of which jobs something stands beside the joints, and the findings of lengths."""
    told = info(register)
    layers = {layer: sorted({(one["job"], one["route"]) for one in told[layer]})
              for layer in ("pressure_tests", "restraint", "set_aside")}  # fmt: skip
    store = open_existing(register)
    lines = store.rows(f"SELECT t.load_id, t.route FROM centerline t WHERE {stands('t')} ORDER BY t.fid")
    of_lengths = store.rows("SELECT code, route FROM findings WHERE joint_uid IS NULL AND state = 'standing'")
    store.close()
    return layers | {"lines": lines, "failed": [route for code, route in of_lengths if code == "test-failed"]}


def test_of_a_job_that_waits_in_part_what_is_of_that_route_waits_too(register, in_part):
    """The failed test of the other A stood on this one, whose own had passed."""
    first, other = in_part
    load(first, register)
    loaded = load(other, register)
    assert (loaded.joints["new"], loaded.joints["left_out"]) == (5, 6)  # record 5 of C, the first route, has no place
    assert sum(loaded.findings[name] for name in ("added", "left_out", "unchanged")) == loaded.findings["read"]
    (note,) = [note for note in loaded.notes if note.startswith("all joints of A are left out")]
    assert note.endswith("pressure test: 1, to be restrained: 1")
    own, new = ("Contract 1", "A"), ("Ferry", "C")
    assert of_routes(register) == {
        "pressure_tests": [own, new], "restraint": [own, new], "set_aside": [own, new],
        "lines": [(1, "A"), (2, "C")], "failed": [],
    }  # fmt: skip
    assert numbers(register, tested=["failed"]) == ""
    settle(register, "main", job="Ferry", main="Ferry")
    after = of_routes(register)
    assert after["pressure_tests"] == [own, ("Ferry", "Ferry: A"), ("Ferry", "Ferry: C")]
    assert after["failed"] == ["Ferry: A"]
    assert numbers(register, tested=["failed"], routes=["Ferry: A"]) == "123"


def test_the_filters_of_the_desktop_gis_show_what_holds(folder, in_part):
    register = folder / "filtered.gpkg"
    load(in_part[0], register)
    undo(load(in_part[0], register, main="North").load, register)
    for path in in_part:
        load(path, register)
    told = info(register)
    for layer in BESIDE:
        # As the host hands a layer's filter to the reader of the file.
        rows = pyogrio.read_dataframe(register, layer=layer, where=stands("", layer))
        every = pyogrio.read_dataframe(register, layer=layer)
        assert 0 < len(rows) < len(every)
        if layer in told:
            assert sorted(rows["route"]) == sorted(one["route"] for one in told[layer])


def test_what_a_job_had_of_a_route_stays_where_its_correction_waits(register, job):
    """A corrected file whose A lies elsewhere took the test and the restrained length from the joints that stay."""
    on_both = (PASSED, PASSED | {"route": "B"})
    load(job("Contract 1", *on_both, routes=("A", "B")), register)
    before = of_routes(register)
    wrong = job("Contract 1", FAILED, PASSED | {"route": "C"}, routes=("C", "A"), east=9_000.0, restraint=())
    loaded = load(wrong, register)
    assert (loaded.joints["new"], loaded.joints["left_out"]) == (5, 6)
    after = of_routes(register)
    assert ("Contract 1", "A") in after["restraint"]
    assert after["failed"] == before["failed"] == []
    assert (1, "A") in after["lines"]
    assert not [one for one in loaded.beside_changes if one["route"] == "A"]
    assert numbers(register, tested=["passed"], routes=["A"]) == "123"
    settle(register, "ours", job="Contract 1", however_far=True)
    assert numbers(register, tested=["failed"], routes=["A"]) == "123"
    undo(2, register)
    assert of_routes(register) == before


SURVEYED = TEST | {"route": "North line", "from": "0+40", "to": "0+80", "makeup_gal": 0.0}


@pytest.fixture(scope="module")
def twice(job):
    """Give a job, and another of the same main from 40 ft farther back, which calls it by another route."""
    numbered = {at: f"N{at + 1}" for at in range(8)}
    second = job(
        "Contract 2", SURVEYED, routes=("North line",), joints=8, north=-40.0, joint=numbered, restraint=(),
        date="2026-06-01", station={7: "by the gate"},
    )  # fmt: skip
    return job("Contract 1"), second


@pytest.fixture
def settled(register, twice):
    first, second = twice
    load(first, register)
    load(second, register)
    settle(register, "theirs", job="Contract 2", by="R. Vance")
    return register


def test_a_joint_under_another_jobs_route_is_told_of_that_jobs_test(settled):
    # 0+40 to 0+80 of the second job is 0+00 to 0+40 of the first, under whose names these joints stand.
    assert numbers(settled, tested=["passed"]) == "123"
    (second,) = find(settled, Question(near=f"{EAST},{NORTH + 20.0}", within="2ft")).joints
    assert (second["route"], second["joint"]) == ("A", "2")
    assert [(one["route"], one["joint"], one["station"], one["job"]) for one in second["called"]] == [
        ("North line", "N4", "0+60.00", "Contract 2")
    ]
    assert [one["job"] for one in second["pressure_tests"] if one["result"] == "passed"] == ["Contract 2"]


def test_whoever_asks_by_the_other_jobs_names_finds_the_joint(settled, capsys):
    every = ["N1", "N2", "1", "2", "3", "4"]
    found = find(settled, Question(routes=("North line",)))
    assert [one["joint"] for one in found.joints][:6] == every  # in the order of that line
    assert [one["joint"] for one in found.set_aside] == ["N8"]
    between = Question(routes=("North line",), from_station="0+20", to_station="0+60")
    assert [one["joint"] for one in find(settled, between).joints] == ["N2", "1", "2"]
    assert numbers(settled, joints=["N5"]) == "3"
    assert [one["joint"] for one in find(settled, Question(joints=("3",))).set_aside] == []
    assert cli.run(["find", settled, "--joint", "N5"]) == 0
    assert "called North line N5 by Contract 2, at station 0+80.00" in " ".join(
        capsys.readouterr().out.replace("│", " ").split()
    )


def test_names_and_tests_go_with_an_undone_load_and_come_with_the_next(settled, twice):
    undo(3, settled)
    assert (numbers(settled, tested=["passed"]), numbers(settled, routes=["North line"])) == ("", "N1N2N7")
    settle(settled, "theirs", job="Contract 2", by="R. Vance")
    assert numbers(settled, tested=["passed"]) == "123"


def test_a_test_of_a_job_in_metres_is_about_joints_that_an_earlier_load_had_in_feet(register, job):
    load(job("Contract 1", PASSED), register)
    store = open_existing(register, writing=True)
    with store.changing():
        store.execute(
            "UPDATE pressure_tests SET from_distance = from_distance * 0.3048, to_distance = to_distance * 0.3048, "
            "coordinate_unit = 'm'"
        )
    store.close()
    assert numbers(register, tested=["passed"]) == "123"


def test_the_line_of_a_main_comes_into_the_register_as_surveyed(register, job):
    path = job("Contract 1")
    assert load(path, register).beside["centerline"] == 1
    assert lines(register) == {("A", 1): [(EAST, NORTH), (EAST, NORTH + 120.0)]}
    moved = job("Contract 1", east=0.2)
    load(moved, register)
    assert lines(register) == {("A", 2): [(EAST + 0.2, NORTH), (EAST + 0.2, NORTH + 120.0)]}
    load(job("Contract 2", routes=("B",), east=500.0, restraint=()), register)
    assert set(lines(register)) == {("A", 2), ("B", 3)}
    undo(2, register)
    assert set(lines(register)) == {("A", 1), ("B", 3)}


def test_a_line_in_another_system_is_carried_over_with_its_joints(register, job):
    load(job("Contract 1"), register, crs="EPSG:6417")
    ((first, last),) = lines(register).values()
    joints = find(register, Question(routes=("A",))).joints
    assert first == pytest.approx((joints[0]["easting"], joints[0]["northing"]), abs=0.001)
    assert last[1] > joints[-1]["northing"]


def lines(register):
    """Give the ends of each line that stands, by route and load."""
    store = open_existing(register)
    try:
        found = store.rows(f"SELECT b.route, b.load_id, b.geom FROM centerline b WHERE {stands('b')} ORDER BY b.fid")
        shapes = store.shapes([cell for *_, cell in found])
        return {
            (route, load): [tuple(shapely.get_coordinates(shape)[at].tolist()) for at in (0, -1)]
            for (route, load, _), shape in zip(found, shapes, strict=True)
        }
    finally:
        store.close()


def noted(loaded, *words):
    """Give the one note that has all of these words."""
    (note,) = [one for one in loaded.notes if all(word in one for word in words)]
    return note


def findings_of_tests(register):
    store = open_existing(register)
    try:
        found = store.rows("SELECT code FROM findings WHERE state = 'standing' AND code = 'test-failed'")
        return [code for (code,) in found]
    finally:
        store.close()


def test_a_failed_test_stays_where_the_corrected_job_has_none(register, job):
    load(job("Contract 1", FAILED), register)
    assert findings_of_tests(register) == ["test-failed"]
    corrected = job("Contract 1", size="8")
    for loaded in (load(corrected, register, dry_run=True), load(corrected, register)):
        assert "A 0+00.00 to 0+40.00, 2026-05-04: failed" in noted(loaded, "no pressure tests of A", "--end-tests")
        assert (loaded.tests_stay, loaded.beside_changes) == (["A"], [])
    assert (numbers(register, tested=["failed"]), findings_of_tests(register)) == ("123", ["test-failed"])
    assert [one["result"] for one in info(register)["pressure_tests"]] == ["failed", "untested"]
    undo(2, register)
    load(job("Contract 1", PASSED), register)
    assert (numbers(register, tested=["failed"]), numbers(register, tested=["passed"])) == ("", "123")


def test_tests_end_where_somebody_says_so_and_are_named(register, job):
    load(job("Contract 1", FAILED), register)
    without = job("Contract 1")
    load(without, register)
    for loaded in (load(without, register, end_tests=True, dry_run=True), load(without, register, end_tests=True)):
        assert loaded.changed
        noted(loaded, "0+00.00 to 0+40.00, 2026-05-04: failed", "ends with this load", "put it back")
    assert (numbers(register, tested=["failed"]), findings_of_tests(register)) == ("", [])
    assert numbers(register, tested=["untested"]) == "12346"
    (told,) = find(register, Question(changed_since=dt.date(2020, 1, 1))).beside_changes
    assert (told["what"], told["result"], told["load"]) == ("ended", "failed", 3)
    assert not load(without, register).changed  # it said so once
    undo(3, register)
    assert (numbers(register, tested=["failed"]), findings_of_tests(register)) == ("123", ["test-failed"])


def test_a_test_that_the_job_has_no_more_or_otherwise_is_named(register, job, capsys):
    other = TEST | {"from": "0+60", "to": "0+80", "makeup_gal": 0.0}
    load(job("Contract 1", FAILED, other), register)
    loaded = load(job("Contract 1", other), register)
    noted(loaded, "A 0+00.00 to 0+40.00, 2026-05-04: failed", "ends with this load", "it has A 0+60.00 to 0+80.00")
    assert not [note for note in loaded.notes if "pressure test A 0+60" in note]
    loaded = load(job("Contract 1", PASSED, other), register)
    noted(loaded, "A 0+00.00 to 0+40.00, 2026-05-04: passed", "new with this file")
    loaded = load(job("Contract 1", FAILED, other), register)
    noted(loaded, "A 0+00.00 to 0+40.00, 2026-05-04: failed in this file; it was passed before")
    found = find(register, Question(changed_since=dt.date(2020, 1, 1), routes=["A"]))
    assert [one["what"] for one in found.beside_changes] == ["ended", "came", "changed"]
    assert find(register, Question(changed_since=dt.date(2020, 1, 1), routes=["A"], loads=[2])).beside_changes == [
        found.beside_changes[0]
    ]
    undo(4, register)
    told = find(register, Question(changed_since=dt.date(2020, 1, 1))).beside_changes
    assert [(one["what"], one["result"]) for one in told][-1] == ("undone", "failed")
    capsys.readouterr()
    assert cli.run(["find", register, "--changed-since", "2020-01-01"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "pressure test A 0+00.00 to 0+40.00, 2026-05-04: failed: ended with load 2 (Contract 1)" in said


def test_restrained_lengths_and_records_set_aside_that_end_are_named(register, job):
    load(job("Contract 1"), register)
    loaded = load(job("Contract 1", station={}, restraint=()), register, dry_run=True)
    assert "A 0+60.00 to 0+80.00 (bend at 0+80)" in noted(loaded, "to be restrained")
    assert noted(loaded, "are joints of this file now").endswith(": A 5 in the records data row 5")
    loaded = load(job("Contract 1", drop=[4]), register)
    assert noted(loaded, "neither set aside nor in a joint").endswith(": A 5 in the records data row 5")
    assert [one["layer"] for one in loaded.beside_changes] == ["set_aside"]
    assert load(job("Contract 2", routes=("B",), east=500.0, restraint=()), register).beside_changes == []


def test_what_a_job_put_under_a_main_leaves_out_is_named(register, job):
    load(job("Contract 1", FAILED), register)
    loaded = load(job("Contract 1"), register, main="North")
    assert loaded.taken_back == [1]
    noted(loaded, "North: A 0+00.00 to 0+40.00, 2026-05-04: failed", "ends with this load")
    again = load(job("Contract 1", FAILED), register, main="North", dry_run=True)
    noted(again, "North: A 0+00.00 to 0+40.00, 2026-05-04: failed", "new with this file")


def test_the_table_of_a_load_adds_up_for_findings_and_names_the_job_s_own_route(register, job, capsys):
    load(job("Contract 1", gauge={1: "no"}), register)
    for again in (job("Contract 1", gauge={1: "no"}), job("Contract 1", gauge={1: "no", 2: "no"})):
        found = load(again, register).findings
        assert found["read"] == found["added"] + found["unchanged"] + found["left_out"]
    assert (found["added"], found["left_out"]) == (1, 0)
    far = load(job("Contract 2", gauge={1: "no"}, east=5000.0), register)
    assert far.findings["read"] == far.findings["added"] + far.findings["unchanged"] + far.findings["left_out"]
    assert far.findings["left_out"] > 0
    noted(
        load(job("Contract 3", routes=("E",), north=900.0, restraint=()), register, main="Ph 2"), "route E as 'Ph 2: E'"
    )
    capsys.readouterr()
    assert cli.run(["find", register, "--joint", "2", "--route", "A"]) == 0
    assert "gasket at 55 F" in " ".join(capsys.readouterr().out.split())


def test_a_second_phase_under_its_own_main_is_told_where_its_route_is_asked_for(register, job, capsys):
    load(job("Phase 1"), register)
    load(job("Phase 2", north=120.0), register, main="Ph 2")
    found = find(register, Question(routes=["A"], from_station="0+00", to_station="0+20"))
    assert [one["joint"] for one in found.joints] == ["1", "2"]
    told = {"route": "Ph 2: A", "joints": 2, "job": "Phase 2", "called": "A"}
    assert found.under_mains == found.as_json()["under_mains"] == [told]
    near = Question(routes=["A"], near=f"{EAST},{NORTH + 140.0}", within="5ft")
    assert [one["joints"] for one in find(register, near).under_mains] == [1]
    assert find(register, Question(routes=["Ph 2: A"])).under_mains == []
    assert find(register, Question(routes=["A", "Ph 2: A"])).under_mains == []
    capsys.readouterr()
    assert cli.run(["find", register, "--route", "A"]) == 0
    assert "Besides, 5 joints of Ph 2: A (the route A of Phase 2)" in " ".join(capsys.readouterr().out.split())
