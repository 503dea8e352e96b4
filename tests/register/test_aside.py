"""Records set aside are told where they may be what a question asks for, and only there: each row's crew is known."""

import pytest
from laying import EAST, NORTH
from registers import placed

from asbuilt import cli
from asbuilt.errors import AsbuiltError
from asbuilt.register.grouping import group
from asbuilt.register.loading import load
from asbuilt.register.question import Question
from asbuilt.register.search import find
from asbuilt.serve.page import told

CREWS = ["Crew 1", "Crew 1", "Crew 2", "do.", "Crew 2", "Crew 2"]


@pytest.fixture
def job(folder):
    """Give a main of six joints whose first, third and fourth records cannot be placed."""
    return placed(
        folder / "aside.gpkg", "Contract 1", station={0: "no station", 2: "by the pump", 3: "by the pump"},
        crew=dict(enumerate(CREWS)), inspector="M. Sol", Lot={0: "4711", 2: "4712", 3: None},
    )  # fmt: skip


def aside(register, **asked):
    return [one["joint"] for one in find(register, Question(**asked)).set_aside]


def test_what_cannot_be_of_the_crew_asked_for_is_not_told(register, job):
    load(job, register)
    assert aside(register) == aside(register, routes=["A"]) == ["1", "3", "4"]
    assert aside(register, crews=["crew 1"]) == ["1", "4"]  # nobody knows here what the ditto mark stands for
    assert aside(register, crews=["Crew 2"]) == ["3", "4"]
    assert aside(register, crews=["Crew 1", "Crew 2"]) == ["1", "3", "4"]
    assert aside(register, inspectors=["m. sol"]) == ["1", "3", "4"]
    assert aside(register, columns=["Lot=4711"]) == ["1", "4"]
    assert aside(register, columns=["lot=4712"], crews=["Crew 2"]) == ["3", "4"]
    with pytest.raises(AsbuiltError, match="no log of the register has"):
        find(register, Question(columns=["Lot=4799"]))


def test_what_records_set_aside_were_not_held_against_is_said(register, job, capsys):
    load(job, register)
    found = find(register, Question(sizes=["12in"], crews=["Crew 2"], no_photo=True))
    assert found.as_json()["set_aside_not_held_against"] == ["--size", "--no-photo"]
    assert told(found)["aside_not_held"] == "size and no-photo"
    assert find(register, Question(crews=["Crew 2"])).aside_unsure == []
    assert cli.run(["find", register, "--no-photo"]) == 0
    assert "in no joint (A 1 in" in (said := " ".join(capsys.readouterr().out.split()))
    assert "not held against --no-photo; asbuilt info" in said


def test_a_count_by_groups_tells_what_is_in_no_joint(register, job, capsys):
    load(job, register)
    counted = group(register, Question(crews=["Crew 2"]), ["job"])
    assert counted.total["joints"] == 2
    assert [one["joint"] for one in counted.as_json()["set_aside"]] == ["3", "4"]
    assert cli.run(["find", register, "--group-by", "job"]) == 0
    assert "3 records of 1 job were set aside there" in " ".join(capsys.readouterr().out.split())


def test_where_nothing_is_found_the_records_of_the_nearest_main_are_told(register, job):
    """The joint asked for is the very one whose record was set aside."""
    load(job, register)
    found = find(register, Question(near=f"{EAST},{NORTH + 40.0}", within="5ft"))
    assert (found.joints, found.nearest and found.nearest["joint"]) == ([], "2")
    assert [one["joint"] for one in found.set_aside] == ["1", "3", "4"]


def test_a_load_says_what_is_in_no_joint_and_info_lists_what_is_alike_in_one_row(register, job, folder, capsys):
    """The table of a load showed no record missing; and each of many records of one misspelt route took eight lines."""
    said = [note for dry_run in (True, False) for note in load(job, register, dry_run=dry_run).notes]
    told = [note for note in said if "3 records are set aside, in no joint of this file: station-unreadable 3" in note]
    assert len(told) == 2
    assert not any("set aside" in note for note in load(placed(folder / "all.gpkg", "Contract 2", routes=("B",),
                                                                north=5000.0), register).notes)  # fmt: skip
    assert cli.run(["info", register]) == 0
    rows = [line for line in capsys.readouterr().out.splitlines() if "2: 3 to 4" in line]
    assert len(rows) == 1
