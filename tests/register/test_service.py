"""Mains out of service stay in the register and answers say so; a job under a second name doubles no record."""

import json

import pyogrio
import pytest
from laying import EAST, NORTH
from registers import column, contents, placed

import asbuilt
from asbuilt import cli
from asbuilt.errors import AsbuiltError
from asbuilt.register.loading import load
from asbuilt.register.question import Question
from asbuilt.register.search import find
from asbuilt.register.service import note_service
from asbuilt.register.undo import undo


@pytest.fixture(scope="module")
def jobs(folder):
    """Give a main of 6 joints, two relaid in the same trench (under another name, and its own), and a short one."""
    return {
        "old": placed(folder / "old.gpkg", "Contract 1"),
        "new": placed(folder / "new.gpkg", "Relay 2031", routes=("N",), east=0.2, date="2031-05-06"),
        "same": placed(folder / "same.gpkg", "Relay 2032", east=0.2, date="2031-05-06"),
        "short": placed(folder / "short.gpkg", "Relay 2033", routes=("S",), joints=3, east=0.2),
    }


@pytest.fixture
def old(register, jobs):
    load(jobs["old"], register)
    return register


def states(register):
    joints = find(register, Question()).joints
    return [(one["route"], one["joint"], one["service"], one["replaced_by"]) for one in joints]


def test_a_relaid_main_replaces_the_old_one_which_stays_and_says_so(old, jobs, capsys, tmp_path):
    assert load(jobs["new"], old).joints["left_out"] == 6
    relaid = load(jobs["new"], old, replaces=["A"])
    assert (relaid.joints["new"], relaid.joints["left_out"], relaid.replaced) == (6, 0, 6)
    assert asbuilt.conflicts(old) == []
    assert states(old) == [("A", str(one), "replaced", "N") for one in range(1, 7)] + [
        ("N", str(one), "in-service", None) for one in range(1, 7)
    ]
    near = find(old, Question(near=f"{EAST},{NORTH + 20.0}", within="1ft")).joints
    assert [(one["route"], one["service"]) for one in near] == [("A", "replaced"), ("N", "in-service")]
    cli.run(["find", old, "--route", "A", "--joint", "2"])
    assert "REPLACED by N" in capsys.readouterr().out
    for suffix in ("gpkg", "geojson", "xlsx", "csv"):
        assert cli.run(["find", old, "--out", str(tmp_path / f"found.{suffix}")]) == 0
    assert set(pyogrio.read_dataframe(tmp_path / "found.gpkg", layer="joints")["replaced_by"].fillna("")) == {"N", ""}
    # A corrected log of the new main meets no joint of the old one any more.
    told = find(old, Question(), most=2)
    assert (told.count, told.out_of_service) == (12, {"replaced": 6})
    cli.run(["find", old])
    assert "12 joints, of which 6 replaced\n" in capsys.readouterr().out
    again = load(jobs["new"], old)
    assert (again.changed, again.conflicts) == (False, [])
    undo(relaid.load, old)
    assert {one[2] for one in states(old)} == {"in-service"}
    assert find(old, Question()).out_of_service == {}


def test_a_relaid_main_of_the_same_name_needs_a_main_of_its_own(old, jobs):
    before = contents(old)
    with pytest.raises(AsbuiltError, match=r"A has joints of the same route and number.*--main NAME"):
        load(jobs["same"], old, replaces=["A"])
    assert contents(old) == before
    relaid = load(jobs["same"], old, main="Elm Street 2032", replaces=["A"])
    assert (relaid.joints["new"], relaid.joints["left_out"], relaid.replaced) == (6, 0, 6)
    assert {(one[0], one[2]) for one in states(old)} == {("A", "replaced"), ("Elm Street 2032: A", "in-service")}


def test_a_load_that_only_replaces_names_the_load_that_takes_it_back(old, jobs, capsys):
    first = load(jobs["new"], old, replaces=["A"])
    note_service(old, "A", "in-service")
    cli.run(["load", str(jobs["new"]), "--into", old, "--replaces", "A"])
    assert f"Done: this is load {first.load}." in capsys.readouterr().out
    assert {one[2] for one in states(old) if one[0] == "A"} == {"replaced"}
    undo(first.load, old)
    assert {one[:3] for one in states(old)} == {("A", str(one), "in-service") for one in range(1, 7)}


def test_a_main_relaid_in_part_replaces_that_part(old, jobs):
    """The new one ends at 0+40; 50 ft are 15.24 m: only the joint at 1+00 is farther from it than 15 m."""
    with pytest.raises(AsbuiltError, match=r"1 of the 6 joints of A \(6\) lie more than 49 ft"):
        load(jobs["short"], old, replaces=["A"])
    with pytest.raises(AsbuiltError, match="the register has no route 'Q'"):
        load(jobs["short"], old, replaces=["Q"])
    with pytest.raises(AsbuiltError, match="has no joint there"):
        load(jobs["short"], old, replaces=["A 90+00..91+00"])
    load(jobs["short"], old, replaces=["A 0+00..0+40"])
    assert [one[1] for one in states(old) if one[2] == "replaced"] == ["1", "2", "3"]


def test_a_relaid_main_that_lies_beyond_the_part_replaced_is_not_told_to_be_merged_into_the_old_one(old, jobs):
    before = contents(old)
    with pytest.raises(AsbuiltError, match=r"joints 4 to 6, which --replaces does not name.*name the whole length"):
        load(jobs["same"], old, main="Elm Street 2032", replaces=["A 0+00..0+40"])
    assert contents(old) == before


def test_a_dry_run_of_replacing_changes_nothing(old, jobs):
    before = contents(old, "joints", "joint_service", "loads")
    tried = load(jobs["new"], old, replaces=["A"], dry_run=True)
    assert (tried.joints["new"], tried.replaced) == (6, 6)
    assert contents(old, "joints", "joint_service", "loads") == before


def test_an_abandoned_main_has_a_state_and_can_come_back(old, capsys):
    assert cli.run(["main", old, "A 0+20..0+60", "--as", "abandoned", "--note", "grouted", "--by", "R. Vance"]) == 0
    assert "3 joints noted as abandoned: 2 to 4" in capsys.readouterr().out
    assert [one[1] for one in states(old) if one[2] == "abandoned"] == ["2", "3", "4"]
    assert set(column(old, "joint_service", "noted_by")) == {"R. Vance"}
    note_service(old, "A", "in-service")
    assert {one[2] for one in states(old)} == {"in-service"}


def test_a_job_partly_left_out_is_finished_by_loading_it_under_a_main(old, folder):
    """Joints 5 to 8, beside the main: 5 and 6 are known elsewhere; under a main all four belong together."""
    other = placed(folder / "partly.gpkg", "Contract 2", first=5, joints=4, east=29.0)
    partly = load(other, old)
    assert (partly.joints["new"], partly.joints["left_out"]) == (2, 2)
    assert load(other, old, main="C 2", dry_run=True).taken_back == [2]
    whole = load(other, old, main="C 2")
    assert (whole.joints["new"], whole.joints["left_out"], whole.taken_back) == (4, 0, [2])
    assert asbuilt.conflicts(old) == []
    assert [one[:2] for one in states(old)][6:] == [("C 2: A", str(one)) for one in (5, 6, 7, 8)]
    assert len(column(old, "inspections", "joint_uid")) == 10


def test_a_job_under_a_second_name_doubles_no_inspection_and_is_noticed(old, folder):
    renamed = placed(folder / "renamed.gpkg", "Contract 1 final")
    loaded = load(renamed, old)
    assert loaded.inspections["added"] == 0
    assert loaded.records_of_loads == [1]
    assert any("6 of 6 records are those of load 1 (Contract 1)" in note for note in loaded.notes)
    assert len(column(old, "inspections", "joint_uid")) == 6
    assert [len(one["history"]) for one in find(old, Question()).joints] == [1] * 6
    with pytest.raises(
        AsbuiltError, match=r"load 2 \(Contract 1 final\) brought records that load 1 had brought before"
    ):
        undo(1, old)
    undo(2, old)
    assert undo(1, old).joints_removed == 6


def test_records_told_anew_are_entered(old, folder):
    survey = placed(folder / "leak.gpkg", "Leak 2031", joints=3, date="2031-05-06")
    loaded = load(survey, old)
    assert (loaded.inspections["added"], loaded.records_of_loads) == (3, [])
    assert json.loads(column(old, "loads", "run")[1])["records_of_loads"] == []
