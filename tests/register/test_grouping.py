"""Answers counted by groups, what changed since a day, and names that nothing in the register has."""

import datetime as dt
import json
from typing import Any

import pytest
from laying import EAST, NORTH
from registers import placed

from asbuilt import cli
from asbuilt.errors import AsbuiltError
from asbuilt.register.grouping import KEYS, group
from asbuilt.register.loading import load
from asbuilt.register.marks import mark
from asbuilt.register.question import Question
from asbuilt.register.search import find
from asbuilt.register.service import note_service
from asbuilt.register.settling import settle
from asbuilt.register.undo import undo

TODAY, LATER = dt.datetime.now(dt.UTC).date(), dt.datetime.now(dt.UTC).date() + dt.timedelta(days=2)
JOB = {
    "crew": {0: "Crew 1", 1: "crew 1", 2: "Crew 1", 3: "Crew 2"}, "gauge": {4: "no"}, "size": {5: "8"},
    "date": {0: "2026-01-15", 5: None}, "inspector": {3: "Élodie Marsh"}, "Lot": {2: "4711", 3: "Größe"},
    "kind": "pipe",
}  # fmt: skip


@pytest.fixture(scope="module")
def jobs(folder):
    """Give a main of 6 joints, a leak's record of its first two, a second main, and one that contradicts."""
    return (
        placed(folder / "main.gpkg", "Contract 1", **JOB),
        placed(folder / "leak.gpkg", "Leak 2031", joints=2, date="2031-05-06"),
        placed(folder / "second.gpkg", "Contract 2", routes=("B",), joints=3, north=5000.0),
        placed(folder / "third.gpkg", "Contract 3", joints=2, north=9000.0, inspector="Q. Ferro"),
    )


def numbers(register, **asked):
    return "".join(f"{one['route']}{one['joint']}" for one in find(register, Question(**asked)).joints)


def test_every_group_counts_what_the_filter_of_its_name_finds(register, jobs):
    for job in jobs[:3]:
        load(job, register)
    options = {"job": "jobs", "main": "routes", "crew": "crews", "inspector": "inspectors", "year": "months",
               "month": "months", "size": "sizes", "type": "types", "kind": "kinds", "verdict": "verdicts",
               "finding": "findings", "service": "services"}  # fmt: skip
    assert set(options) == set(KEYS)
    for key in KEYS:
        told = group(register, Question(), [key])
        assert told.total["joints"] == 9
        assert told.total["length"] == pytest.approx(5 * 20.0 + 2 * 20.0, abs=0.01)
        named = [one for one in told.groups if one[key] not in ("not named", "undated", "kind unknown", "no finding")]
        assert named, key
        for one in named:
            asked: dict[str, Any] = {options[key]: [one[key]]}
            found = find(register, Question(**asked)).joints
            states = [joint["inspection"] for joint in found]
            if key not in ("verdict", "finding"):  # their filters look at earlier jobs' states too
                assert one["joints"] == len(found), (key, one)
                assert (one["complete"], one["failed"]) == (states.count("complete"), states.count("failed"))
    crews = {one["crew"]: one["joints"] for one in group(register, Question(), ["crew"]).groups}
    assert crews == {"Crew 1": 3, "Crew 2": 1, "not named": 7}  # the leak's records name no crew
    crossed = group(register, Question(routes=["A"]), ["crew", "month"]).groups
    assert {(one["crew"], one["month"]): one["joints"] for one in crossed} == {
        ("Crew 1", "2026-01"): 1, ("Crew 1", "2026-04"): 2, ("Crew 2", "2026-04"): 1,
        ("not named", "2026-04"): 1, ("not named", "2031-05"): 2, ("not named", "undated"): 1,
    }  # fmt: skip
    crossed = group(register, Question(routes=["A"]), ["job", "year"]).groups
    assert {(one["job"], one["year"]): one["joints"] for one in crossed} == {
        ("Contract 1", "2026"): 5, ("Contract 1", "undated"): 1, ("Leak 2031", "2031"): 2,
    }  # fmt: skip
    failed = group(register, Question(routes=["A"], findings=["inspection-failed"]), ["finding", "job"]).groups
    assert [(one["job"], one["joints"]) for one in failed if one["finding"] == "inspection-failed"] == [
        ("Contract 1", 1)
    ]
    only = group(register, Question(crews=["crew 1"]), ["month"]).groups
    assert {one["month"]: one["joints"] for one in only} == {"2026-01": 1, "2026-04": 2}


@pytest.mark.parametrize("register", ["geopackage"], indirect=True)
def test_counts_are_shown_written_and_refused_by_name(register, jobs, folder, capsys):
    load(jobs[0], register)
    out = folder / "crews.csv"
    out.unlink(missing_ok=True)
    assert cli.run(["find", register, "--group-by", "crew", "--out", str(out)]) == 0
    assert "in all" in " ".join(capsys.readouterr().out.split())
    assert out.read_text("utf-8-sig").splitlines()[1].startswith("Crew 1,3,40.0,")
    assert cli.run(["find", register, "--group-by", "crew", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["total"]["joints"], told["groups"][0]["length"]) == (6, pytest.approx(40.0))
    assert cli.run(["find", register, "--group-by", "crw"]) == 2
    assert "did you mean 'crew'" in capsys.readouterr().err
    assert cli.run(["find", register, "--group-by", "crew", "--out", str(folder / "crews.geojson")]) == 2
    assert cli.run(["find", register, "--group-by", "crew", "--map", str(folder / "crews.html")]) == 2


def test_what_changed_since_a_day_is_found_and_told(register, jobs):
    for job in (jobs[0], jobs[1], jobs[2], jobs[3]):
        load(job, register)
    finding = find(register, Question(joints=["5"])).joints[0]["findings"][0]["finding_uid"]
    mark(register, finding, note="seen", by="R. Vance")
    note_service(register, "A 0+60..0+60", "abandoned", by="R. Vance")
    settle(register, "ours", job="Contract 3", by="R. Vance", however_far=True)
    for number in (4, 2, 3):
        undo(number, register, by="R. Vance")
    found = find(register, Question(changed_since=TODAY))
    changes = {one["joint"]: [change["what"] for change in one["changes"]] for one in found.joints}
    assert {name: sorted(what) for name, what in changes.items()} == {
        "1": ["came", "settled", "undone"], "2": ["came", "settled", "undone"], "3": ["came"], "4": ["came", "noted"],
        "5": ["came", "marked"], "6": ["came"],
    }  # fmt: skip
    assert [(one["route"], one["joint"], one["load"]) for one in found.gone] == [
        ("B", "1", 3),
        ("B", "2", 3),
        ("B", "3", 3),
    ]
    near = Question(changed_since=TODAY, near=f"{EAST},{NORTH}", within="50 ft")
    assert find(register, near).gone == []
    none = find(register, Question(changed_since=LATER))
    assert (none.joints, none.gone) == ([], [])


def test_a_correction_is_told_as_a_change_and_one_taken_back_is_not(register, jobs, folder):
    load(jobs[0], register)
    load(placed(folder / "again.gpkg", "Contract 1", **(JOB | {"gauge": {}})), register)
    told = {one["joint"]: [change["what"] for change in one["changes"]]
            for one in find(register, Question(changed_since=TODAY)).joints}  # fmt: skip
    assert told["5"] == ["came", "corrected"]
    assert told["3"] == ["came"]
    undo(2, register)
    told = {one["joint"]: [change["what"] for change in one["changes"]]
            for one in find(register, Question(changed_since=TODAY)).joints}  # fmt: skip
    assert told["5"] == ["came", "undone"]


def test_names_that_nothing_has_are_refused_with_those_near_to_them(register, jobs):
    load(jobs[0], register)
    assert numbers(register, inspectors=["Élodie Marsh"]) == "A4"
    assert numbers(register, columns=["Lot=Größe"]) == "A4"
    for asked, told in (
        ({"inspectors": ["R. Vence"]}, "did you mean 'R. Vance'"),
        ({"inspectors": ["Elodie March"]}, "did you mean 'Élodie Marsh'"),
        ({"crews": ["Crew1"]}, r"did you mean '[Cc]rew 1'"),
        ({"jobs": ["Contrct 1"]}, "did you mean 'Contract 1'"),
        ({"routes": ["a"]}, "did you mean 'A'"),
        ({"loads": [7]}, "no load '7'; the register has 1"),
        ({"types": ["pushon"]}, "did you mean 'push-on'"),
        ({"kinds": ["valve"]}, "no kind 'valve'; the register has pipe"),
        ({"sizes": ["10in"]}, "the nearest sizes are"),
        ({"columns": ["Lott=4711"]}, "did you mean 'Lot'"),
        ({"columns": ["Lot=4712"]}, "did you mean '4711'"),
    ):
        with pytest.raises(AsbuiltError, match=told):
            find(register, Question(**asked))


def test_a_name_that_only_waiting_joints_have_does_not_hide_them(register, jobs):
    load(jobs[0], register)
    load(jobs[3], register)
    for asked in ({"inspectors": ["Q. Ferro"]}, {"jobs": ["Contract 3"]}, {"loads": [2]}, {"crews": ["Crew 9"]},
                  {"sizes": ["12in"], "jobs": ["Contract 3"]}, {"columns": ["Weld=4"]}):  # fmt: skip
        found = find(register, Question(**asked))
        assert (found.joints, found.waiting) == ([], {"joints": 2, "jobs": 1}), asked
    assert find(register, Question(months=["2026-04"])).waiting["joints"] == 2
    assert find(register, Question(months=["2026-01"])).waiting["joints"] == 0
    assert group(register, Question(), ["job"]).as_json()["waiting"]["joints"] == 2


def test_a_column_of_the_log_groups_as_its_filter_finds(register, jobs, capsys):
    for job in jobs[:3]:
        load(job, register)
    told = {one["column=lot"]: one["joints"] for one in group(register, Question(), ["column=lot"]).groups}
    assert told == {"4711": 1, "Größe": 1, "blank": 7}
    for value in ("4711", "Größe"):
        assert told[value] == len(find(register, Question(columns=[f"Lot={value}"])).joints)
    crossed = group(register, Question(routes=["A"]), ["job", "column=Lot"]).groups
    assert {(one["job"], one["column=Lot"]): one["joints"] for one in crossed} == {
        ("Contract 1", "4711"): 1, ("Contract 1", "Größe"): 1, ("Contract 1", "blank"): 4, ("Leak 2031", "blank"): 2,
    }  # fmt: skip
    with pytest.raises(AsbuiltError, match=r"--group-by: no log of the register has a column 'Lott'; did you mean"):
        group(register, Question(), ["column=Lott"])
    with pytest.raises(AsbuiltError, match="nor a column of the log, like column=Lot"):
        group(register, Question(), ["Lot"])
    assert cli.run(["find", register, "--group-by", "column=Lot", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["group_by"] == ["column=Lot"]


def test_a_finding_asked_for_is_the_only_one_in_the_groups(register, folder):
    load(placed(folder / "two_findings.gpkg", "Contract 1", gauge={4: "no"}, size={4: "8"}), register)
    every = {one["finding"] for one in group(register, Question(joints=["5"]), ["finding"]).groups}
    assert {"inspection-failed", "size-changes"} <= every
    told = group(register, Question(findings=["inspection-failed"]), ["finding"]).groups
    found = find(register, Question(findings=["inspection-failed"])).joints
    assert [(one["finding"], one["joints"]) for one in told] == [("inspection-failed", len(found))]
    two = ["inspection-failed", "size-changes"]
    assert {one["finding"] for one in group(register, Question(findings=two), ["finding"]).groups} == set(two)


def test_a_failure_that_another_job_put_right_is_counted_as_found(register, folder):
    load(placed(folder / "found.gpkg", "Contract 1", gauge={0: "no"}), register)
    load(placed(folder / "put_right.gpkg", "Leak 2031", joints=1, date="2031-05-06"), register)
    asked = Question(findings=["inspection-failed"])
    assert [one["joint"] for one in find(register, asked).joints] == ["1"]
    told = group(register, asked, ["finding", "job"]).groups
    assert [(one["finding"], one["job"], one["joints"]) for one in told] == [("inspection-failed", "Contract 1", 1)]


@pytest.mark.parametrize("register", ["geopackage"], indirect=True)
def test_an_answer_in_place_of_an_earlier_one_says_so(register, jobs, folder, capsys):
    load(jobs[0], register)
    out = folder / "answer.csv"
    out.unlink(missing_ok=True)
    for route, said in (("A", f"Wrote {out}."), ("A", f"Wrote {out}, in place of an earlier answer.")):
        assert cli.run(["find", register, "--route", route, "--out", str(out)]) == 0
        assert said.replace(" ", "") in "".join(capsys.readouterr().out.split())


def test_what_is_out_of_service_is_counted_apart(register, jobs, capsys):
    load(jobs[0], register)
    capsys.readouterr()
    assert cli.run(["find", register, "--group-by", "main"]) == 0
    assert "out of service" not in capsys.readouterr().out
    note_service(register, "A 0+60..1+00", "abandoned")
    told = group(register, Question(), ["main"])
    assert [(one["joints"], one["out_of_service"]) for one in told.groups] == [(6, 3)]
    by_service = {one["service"]: one for one in group(register, Question(), ["service"]).groups}
    assert {name: (one["joints"], one["out_of_service"]) for name, one in by_service.items()} == {
        "in-service": (3, 0), "abandoned": (3, 3)
    }  # fmt: skip
    assert by_service["in-service"]["length"] == pytest.approx(40.0, abs=0.01)
    assert cli.run(["find", register, "--group-by", "main"]) == 0
    assert "3 joints of them are replaced or abandoned" in capsys.readouterr().out
