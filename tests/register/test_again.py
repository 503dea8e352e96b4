"""A main surveyed again, a little beside where the register has it, and mains that lie close beside one another.

Which joints are the same is known, as each job is made from the mains that it surveys.
"""

from typing import Any

import laying
import numpy as np
import pytest
from registers import contents

from asbuilt.register.loading import load
from asbuilt.register.question import Question
from asbuilt.register.search import find
from asbuilt.register.settling import settle
from asbuilt.register.waiting import conflicts

JOINTS = 12


def job(
    path, name, route="A", *, east=0.0, along=0.0, inspected=False, numbers=True, size="8", joints=JOINTS, **tables
):
    """Place a job of a main that turns a little at each joint, `east` feet beside it and `along` feet ahead on it.

    Of several, `east` gives how far each joint lies beside it.
    """
    points = laying.pipe(np.full(joints - 1, 0.5)) + np.array([0.0, along, 0.0])
    points[:, 0] += np.append(east, east[-1]) if np.ndim(east) else east
    log = laying.log(points[:joints], route=route).assign(size=size)
    if not numbers:
        log = log.drop(columns="joint")
    log = log.assign(date="2019-04-02", inspector="M. Sol") if inspected else log[
        [one for one in log.columns if one in ("joint", "station", "route", "size", "joint type")]
    ]  # fmt: skip
    laying.place(laying.lines(**{route: points}), log, name=name, **tables).write(path)
    return path


@pytest.mark.parametrize("east", [1.2, 2.5, 4.0])
@pytest.mark.parametrize(("route", "numbers"), [("A", False), ("Oak main", True)])
def test_a_main_surveyed_again_is_not_doubled(folder, register, east, route, numbers):
    load(job(folder / "laid.gpkg", "Contract 1", inspected=True), register)
    loaded = load(job(folder / "survey.gpkg", "Survey", route, east=east, numbers=numbers), register)
    assert (loaded.joints["new"], loaded.joints["left_out"]) == (0, JOINTS)
    assert any("surveyed again?" in note and "--settle theirs" in note for note in loaded.notes)
    waits = conflicts(register)
    assert {one["reason"] for one in waits} == {"surveyed-again"}
    # Each waits with the joint that it is.
    assert [one["register"]["joint"] for one in waits] == [str(1 + row) for row in range(JOINTS)]
    settle(register, "theirs", job="Survey")
    assert not conflicts(register)
    joints = find(register, Question()).joints
    assert [(one["route"], one["joint"], len(one["history"])) for one in joints] == [
        ("A", str(1 + row), 2) for row in range(JOINTS)
    ]


def test_one_that_is_another_main_is_put_under_its_own(folder, register):
    load(job(folder / "laid.gpkg", "Contract 1", inspected=True), register)
    load(job(folder / "survey.gpkg", "Survey", "B", east=3.0), register)
    settle(register, "main", job="Survey", main="Twin")
    assert not conflicts(register)
    assert len(find(register, Question()).joints) == 2 * JOINTS


def test_what_was_laid_beside_a_main_is_not_held(folder, register):
    """Another log tells another main; so do other sizes, and joints at other places along it."""
    load(job(folder / "laid.gpkg", "Contract 1", inspected=True), register)
    differs: list[dict[str, Any]] = [{"inspected": True}, {"size": "12"}, {"along": 4.0}, {"joints": 2}]
    for number, more in enumerate(differs, start=1):
        file = job(
            folder / f"beside_{number}.gpkg", f"Beside {number}", f"B{number}", east=2.5 * (-1) ** number, **more
        )
        loaded = load(file, register, dry_run=True)
        assert loaded.joints["new"] == loaded.joints["read"], more
    part = job(folder / "part.gpkg", "Repairs", numbers=False, east=2.0, records={"covers": "part"})
    assert load(part, register, dry_run=True).joints["new"] == JOINTS


FEET_OFF = np.where(np.arange(JOINTS) % 2, 1.2, 0.8)
"""Every second joint beyond the 0.3 m within which two places are one."""


def test_one_main_a_foot_beside_another_waits_as_a_whole(folder, register):
    load(job(folder / "laid.gpkg", "Contract 1", inspected=True), register)
    beside = job(folder / "beside.gpkg", "Contract 2", "B", east=FEET_OFF, inspected=True)
    for dry_run in (True, False):
        loaded = load(beside, register, dry_run=dry_run)
        assert (loaded.joints["new"], loaded.joints["left_out"]) == (0, JOINTS)
        (note,) = [one for one in loaded.notes if "more joints of route B lie" in one]
        assert note.startswith("6 more joints of route B lie 1.20 ft beside joints of A, and wait with the 6 of that")
    waits = conflicts(register)
    assert [one["register"]["joint"] for one in waits] == [str(1 + row) for row in range(JOINTS)]
    # Under a name of its own it is no better known which main it is; by places it is, and as a whole.
    assert "load the file with --main NAME and with a smaller --tolerance (those in its places lie 0.80 ft" in note
    assert load(beside, register, main="Twin", dry_run=True).joints["left_out"] == JOINTS
    loaded = load(beside, register, main="Twin", tolerance_m=0.2)
    assert (loaded.joints["new"], loaded.joints["left_out"]) == (JOINTS, 0)
    assert not conflicts(register)


def test_of_a_main_that_begins_at_a_joint_of_another_a_tolerance_is_named_that_can_be_given(folder, register):
    load(job(folder / "laid.gpkg", "Contract 1", inspected=True), register)
    parting = job(folder / "parting.gpkg", "Contract 2", "B", east=np.linspace(0.0, 2.1, JOINTS), inspected=True)
    (note,) = [one for one in load(parting, register).notes if "more joints of route B lie" in one]
    assert "(those in its places lie 0.00 to 0.95 ft from its joints; what lies nearer than the tolerance waits" in note
    loaded = load(parting, register, main="Twin", tolerance_m=0.03)
    assert (loaded.joints["new"], loaded.joints["left_out"]) == (JOINTS - 1, 1)


def test_one_main_a_foot_beside_another_is_settled_as_that_one_as_a_whole(folder, register):
    load(job(folder / "laid.gpkg", "Contract 1", inspected=True), register)
    load(job(folder / "beside.gpkg", "Contract 2", "B", east=FEET_OFF, inspected=True), register)
    settle(register, "theirs", job="Contract 2")
    assert not conflicts(register)
    joints = find(register, Question()).joints
    assert [(one["route"], one["joint"], len(one["history"])) for one in joints] == [
        ("A", str(1 + row), 2) for row in range(JOINTS)
    ]


def test_of_a_main_that_goes_another_way_only_what_lies_beside_the_other_waits_with_it(folder, register):
    load(job(folder / "laid.gpkg", "Contract 1", inspected=True), register)
    away = np.where(np.arange(JOINTS) < 8, FEET_OFF, 30.0)
    loaded = load(job(folder / "away.gpkg", "Contract 2", "B", east=away, inspected=True), register)
    assert (loaded.joints["new"], loaded.joints["left_out"]) == (4, 8)
    # One that comes near at two joints only, as at a crossing, waits there alone.
    crossing = np.where(np.arange(JOINTS) < 2, 0.8, np.where(np.arange(JOINTS) < 5, 3.0, 60.0))
    loaded = load(job(folder / "crossing.gpkg", "Contract 3", "C", east=crossing, inspected=True), register)
    assert loaded.joints["left_out"] == 2


def test_a_main_out_of_service_holds_nothing(folder, register):
    old, new = job(folder / "laid.gpkg", "Contract 1", inspected=True), job(folder / "new.gpkg", "Relay", "B", east=2.0)
    load(old, register)
    before = contents(register)
    assert load(new, register, dry_run=True).joints["left_out"] == JOINTS
    assert contents(register) == before
    assert load(new, register, replaces=["A"]).joints["new"] == JOINTS


@pytest.mark.parametrize(("west", "order"), [(0.5, ("W", "E")), (0.8, ("E", "W"))])
def test_joints_in_the_places_of_two_mains_are_held_against_the_nearer_one(folder, register, west, order):
    """Mains 1.2 ft apart, and one of them surveyed again between the two under a name of its own."""
    load(job(folder / "w.gpkg", "West", "W", inspected=True), register)
    load(job(folder / "e.gpkg", "East", "E", east=1.2, inspected=True, size="12"), register)
    loaded = load(job(folder / "survey.gpkg", "Survey", "Elm", east=west), register)
    assert loaded.joints["left_out"] == JOINTS
    (note,) = [one for one in loaded.notes if "2 mains" in one]
    assert f"({order[0]} " in note
    waits = conflicts(register)
    assert [(one["register"]["route"], one["register"]["joint"]) for one in waits] == [
        (order[0], str(1 + row)) for row in range(JOINTS)
    ]


@pytest.mark.parametrize(("inspector", "told"), [("M. Sol", True), ("R. Vance", False)])
def test_a_job_corrected_under_another_name_is_asked_about(folder, register, inspector, told):
    """Every record was touched, so that none is one of the register's to the letter: all stood twice, unsaid."""

    def loaded(name, inspector, remarks):
        points = laying.pipe(np.zeros(JOINTS - 1))
        log = laying.log(points[:JOINTS], date="2019-04-02", inspector=inspector, remarks=remarks)
        laying.place(laying.lines(A=points), log, name=name).write(folder / f"{name}.gpkg")
        return load(folder / f"{name}.gpkg", register)

    loaded("Contract 1", "M. Sol", "dry trench")
    notes = [one for one in loaded("Contract 1 final", inspector, "wet trench").notes if "under another name" in one]
    assert bool(notes) is told
    if told:
        assert notes[0].startswith(f"{JOINTS} of {JOINTS} records are of the joint, day and inspector of records of")
        assert "load 1 (Contract 1)" in notes[0]
