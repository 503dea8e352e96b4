"""What a later job says nothing of stays; answers are in order along the main, whatever the jobs' units."""

import laying
import numpy as np
import pytest
from laying import EAST, NORTH
from registers import contents, placed

from asbuilt.errors import AsbuiltError
from asbuilt.register import fields
from asbuilt.register.loading import load
from asbuilt.register.marks import mark
from asbuilt.register.question import Question
from asbuilt.register.search import find
from asbuilt.register.undo import undo

BLANK = {"inspector": None, "date": None, "home_to_mark": None, "gauge": None, "gasket_temp": None}


@pytest.fixture(scope="module")
def jobs(folder):
    """Give a contract with a failed gauge, a survey of it without a log of inspections, and a leak's record."""
    row = {name: {1: None} for name in BLANK if name != "gauge"}
    return {
        "contract": placed(folder / "contract.gpkg", "Contract 1", gauge={2: "no"}),
        "survey": placed(folder / "survey.gpkg", "Survey 2031", east=0.2, **BLANK, size=None),
        "leak": placed(folder / "leak.gpkg", "Leak 2032", joints=2, date="2032-03-01", remarks={1: "clamp"}),
        "blanked": placed(folder / "blanked.gpkg", "Contract 1", **row, gauge={1: None, 2: "no"}),
    }


def joint(register, number):
    return find(register, Question(joints=(number,))).joints[0]


def test_a_survey_without_a_log_moves_the_joint_and_blanks_no_inspection(register, jobs):
    load(jobs["contract"], register)
    before = joint(register, "3")
    loaded = load(jobs["survey"], register)
    assert loaded.joints["updated"] == 6
    after = joint(register, "3")
    assert after["easting"] == pytest.approx(EAST + 0.2)
    for name in ("inspection", "inspected_on", "inspector", "size", "size_unit"):
        assert (after[name], name) == (before[name], name)
    assert (after["inspection"], after["inspection_load_id"], after["load_id"]) == ("failed", 1, 2)
    assert "inspection-missing" not in [one["code"] for one in after["findings"]]
    changed = {name for one in loaded.changes for name in one["changed"]}
    assert not changed & {"inspection", "inspected_on", "inspector", "size"}


def test_a_leak_s_record_blanks_no_deflection_but_brings_its_inspection(register, jobs):
    load(jobs["contract"], register)
    before = joint(register, "2")
    assert before["verdict"] == "within-assumed"
    load(jobs["leak"], register)
    after = joint(register, "2")
    for name in ("verdict", "deflection_deg", "allowable_deg", "turn_deg"):
        assert (after[name], name) == (before[name], name)
    assert (after["deflection_load_id"], after["inspection_load_id"], after["inspected_on"]) == (1, 2, "2032-03-01")


def test_the_job_itself_blanks_what_its_correction_blanks(register, jobs):
    load(jobs["contract"], register)
    assert joint(register, "2")["inspector"] == "R. Vance"
    load(jobs["blanked"], register)
    assert joint(register, "2")["inspector"] is None
    load(jobs["survey"], register)
    assert joint(register, "1")["inspector"] == "R. Vance"


def test_undoing_a_load_takes_what_is_from_it_out_of_later_states(register, jobs):
    load(jobs["contract"], register)
    load(jobs["survey"], register)
    assert joint(register, "3")["inspection"] == "failed"
    undo(1, register)
    left = joint(register, "3")
    assert (left["inspection"], left["inspected_on"], left["inspection_load_id"]) == ("none", None, 2)
    assert len(contents(register, "joints")["joints"]) == 6


def test_a_mark_on_an_earlier_job_s_finding_is_shown(register, jobs):
    load(jobs["contract"], register)
    finding = next(one for one in joint(register, "3")["findings"] if one["code"] == "inspection-failed")
    mark(register, finding["finding_uid"], note="dug up, tight", by="M. Sol")
    load(jobs["survey"], register)
    # The survey says nothing of the inspection, so what was found in it still stands.
    found = joint(register, "3")["findings"]
    told = [(one["mark"], one["marks"][0]["note"]) for one in found if one["code"] == "inspection-failed"]
    assert told == [("looked-at", "dug up, tight")]


@pytest.fixture(scope="module")
def of_two_units(folder):
    """Give 11 joints of route A in feet, 0+00 to 2+00, and 10 more of the same main in metres from 2+20 on."""
    feet = placed(folder / "feet.gpkg", "Phase 1", joints=11)
    stations = {row: f"0+{(220.0 + 20.0 * row) * 1200 / 3937:07.3f}" for row in range(10)}
    records = {"station_unit": "m", "laying_length": 6.096, "size_unit": "in"}
    metres = placed(
        folder / "metres.gpkg", "Phase 2", joints=10, first=12, north=220.0, station=stations,
        tables={"centerline": {"start_station": "0+067.056"}, "records": records},
    )  # fmt: skip
    return feet, metres


def test_stations_and_order_hold_across_jobs_of_two_units(register, of_two_units):
    for job in of_two_units:
        load(job, register)
    every = find(register, Question(routes=("A",))).joints
    assert [one["joint"] for one in every] == [str(number) for number in range(1, 22)]
    assert {one["station_unit"] for one in every} == {"us-ft", "m"}
    assert NORTH + 399.0 < every[-1]["northing"] < NORTH + 401.0

    def between(first, last):
        asked = Question(routes=("A",), from_station=first, to_station=last)
        return [one["joint"] for one in find(register, asked).joints]

    known = [str(number) for number in range(6, 17)]
    assert between("1+00", "3+00") == known
    assert between("0+030.480", "0+091.441") == known
    assert between("100 ft", "300ft") == known
    assert between("100 us-ft", "91.441 m") == known
    with pytest.raises(AsbuiltError, match="may be feet or metres"):
        between("100", "300")


@pytest.mark.parametrize(
    ("known", "file", "stays"),
    [
        ({}, {}, True),
        ({}, {"verdict": "cannot-tell"}, True),
        ({"verdict": "over"}, {}, True),
        ({}, {"verdict": "over"}, False),  # measured anew
        ({"verdict": "within-assumed"}, {}, False),
        ({}, {"latitude": 38.6501}, False),  # it was surveyed elsewhere
        ({}, {"size": 8.0}, False),  # another pipe
        ({}, {"size": None, "latitude": 38.65 + 2e-7}, True),
    ],
)
def test_only_a_measured_verdict_takes_the_place_of_a_measured_one_of_the_same_pipe(known, file, stays):
    same = {"size": 12.0, "joint_type": "push-on", "kind": "pipe", "longitude": -121.2, "latitude": 38.65}
    before = dict.fromkeys(fields.NEEDED) | same | {"verdict": "within", "deflection_deg": 0.36, "load_id": 1}
    now = same | {"verdict": "within-assumed", "turn_deg": 1.33, "easting": 1.0, "inspection": "complete"} | file
    known = before | {"deflection_load_id": 1} | known
    kept = fields.keep(now, known, fields.Said({}, {}), "Repair", {1: "Contract"}, "m", "2026-11-28")
    assert ("verdict" in kept) is stays
    if stays:
        assert (kept["deflection_deg"], kept["deflection_load_id"]) == (0.36, 1)


def test_repairs_of_joints_here_and_there_leave_their_deflections_as_measured(register, folder):
    """A work order of two joints apart has a chord between them, which measures no joint."""
    turns = np.random.default_rng(3).uniform(-0.6, 0.6, 14)
    turns[7] = 5.7
    points = np.round(laying.pipe(turns), 4)  # as a collector writes them: none is at its station to the last digit
    line, log = laying.lines(A=points), laying.log(points[:-1])
    shot = {"centerline": {"sigma_horizontal": 0.03, "sigma_vertical": 0.03, **laying.LOOKED_AT}}
    laying.place(line, log, name="Contract 1", **shot).write(folder / "laid.gpkg")
    some = log.iloc[[1, 2, 13]].assign(date="2026-05-02")
    laying.place(line, some, name="Repair", records={"covers": "part"}, **shot).write(folder / "repair.gpkg")
    load(folder / "laid.gpkg", register)
    before = joint(register, "3")
    assert before["verdict"] == "within"
    load(folder / "repair.gpkg", register)
    after = joint(register, "3")
    assert [after[name] for name in ("verdict", "turn_deg", "deflection_deg", "deflection_load_id")] == [
        "within", before["turn_deg"], before["deflection_deg"], 1,
    ]  # fmt: skip
    assert (after["inspected_on"], after["inspection_load_id"]) == ("2026-05-02", 2)
    codes = {finding["code"] for one in find(register, Question()).joints for finding in one["findings"]}
    assert not codes & {"joints-missing", "turn-unlogged"}
