"""A leak's record counts stations on a line of its own: the joints dug up stay where the main's stations have them."""

import laying
import numpy as np
import pytest

from asbuilt.register.loading import load
from asbuilt.register.question import Question
from asbuilt.register.search import find
from asbuilt.register.undo import undo

JOINTS = 12
POINTS = laying.pipe(np.full(JOINTS - 1, 0.5))[:JOINTS]


def leak(path, rows=(6, 7, 8), name="Leak 2027", **records):
    """Place a job of a few joints, whose stations begin with them."""
    points = POINTS[list(rows)]
    log = laying.log(points, first=1 + rows[0]).assign(date="2027-03-01", inspector="Q. Ferro")
    laying.place(laying.lines(A=points), log, name=name, records={"covers": "part", **records}).write(path)
    return path


@pytest.fixture
def filled(folder, register):
    """Give a register with a main of twelve joints every 20 ft, and what a load of the leak tells."""
    laid = folder / "laid.gpkg"
    laying.place(laying.lines(A=POINTS), laying.log(POINTS).assign(date="2020-03-01"), name="Contract 1").write(laid)
    load(laid, register)
    return register, load(leak(folder / "leak.gpkg"), register)


def between(register, start, end):
    return [one["joint"] for one in find(register, Question(routes=["A"], from_station=start, to_station=end)).joints]


def test_joints_dug_up_are_found_by_the_stations_of_their_main(filled):
    register, loaded = filled
    assert (loaded.joints["updated"], loaded.joints["left_out"]) == (3, 0)
    (note,) = [one for one in loaded.notes if "another station in this job" in one]
    assert "A 7: 0+00.00, there 1+20" in note
    assert between(register, "1+10", "1+70") == ["7", "8", "9"]
    (joint,) = find(register, Question(joints=["7"])).joints
    assert joint["station"].startswith("1+20")
    assert (joint["previous"]["joint"], joint["next"]["joint"]) == ("6", "8")
    assert (joint["inspected_on"], joint["inspector"]) == ("2027-03-01", "Q. Ferro")
    (called,) = joint["called"]
    assert (called["station"], called["job"]) == ("0+00.00", "Leak 2027")
    # By the stations of the leak they are found, too.
    assert set(between(register, "0+00", "0+10")) == {"1", "7"}
    # The main runs on in order through them.
    assert [one["joint"] for one in find(register, Question(routes=["A"])).joints] == [
        str(1 + n) for n in range(JOINTS)
    ]


def test_a_correction_and_an_undo_of_the_leak_leave_the_stations(folder, filled):
    register, _ = filled
    again = load(leak(folder / "again.gpkg", rows=(6, 7)), register)
    assert between(register, "1+10", "1+70") == ["7", "8", "9"]
    for number in (again.load, 2):
        if number is not None:
            undo(number, register)
    assert between(register, "1+10", "1+70") == ["7", "8", "9"]
    assert find(register, Question(joints=["7"])).joints[0]["called"] == []


def test_stations_that_differ_by_feet_alone_are_those_of_the_later_job(folder, filled, register):
    points = POINTS[[4, 5]]
    log = laying.log(points, first=5).assign(date="2028-03-01", station=["0+83.00", "1+03.00"])
    line = laying.lines(A=points)
    laying.place(
        line, log, name="Leak 2028", records={"covers": "part"}, centerline={"start_station": "0+83.00"}
    ).write(folder / "near.gpkg")
    loaded = load(folder / "near.gpkg", register)
    assert not [one for one in loaded.notes if "another station in this job" in one]
    assert find(register, Question(joints=["5"])).joints[0]["station"] == "0+83.00"
