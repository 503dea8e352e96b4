"""What a register says of its contents, against jobs whose every joint is known."""

import json
import shutil

import pytest
from registers import placed

from asbuilt import cli
from asbuilt.register.grouping import group
from asbuilt.register.inventory import apart, info
from asbuilt.register.loading import load
from asbuilt.register.question import Question
from asbuilt.register.search import find
from asbuilt.register.service import note_service
from asbuilt.register.undo import undo


def test_the_contents_are_counted_by_job_main_crew_year_and_item(register, folder, capsys):
    crews = {0: "Crew 1", 1: "Crew 1", 2: "Crew 2"}
    one = placed(folder / "one.gpkg", "Contract 1", crew=crews, gauge={2: "no"}, date={5: "2027-01-04"})
    load(one, register)
    load(placed(folder / "two.gpkg", "Contract 2", routes=("B",), joints=3, north=5000.0), register)
    load(placed(folder / "three.gpkg", "Contract 3", joints=2, east=9000.0), register)
    note_service(register, "B", "abandoned")
    told = info(register)
    assert (told["joints"], told["inspections"]) == (9, 9)
    assert (told["waiting"], told["out_of_service"]) == ({"joints": 2, "jobs": 1}, {"abandoned": 3})
    assert [(one["job"], one["loads"], int(one["joints_brought"])) for one in told["jobs"]] == [
        ("Contract 1", 1, 6), ("Contract 2", 1, 3), ("Contract 3", 1, 0)
    ]  # fmt: skip
    assert [(one["route"], one["joints"]) for one in told["mains"]] == [("A", 6), ("B", 3)]
    by = {what: {one["of"]: (one["joints"], one["failed"]) for one in rows} for what, rows in told["complete"].items()}
    assert by == {
        "job": {"Contract 1": (6, 1), "Contract 2": (3, 0)},
        "crew": {"Crew 1": (2, 0), "Crew 2": (1, 1), "not named": (6, 0)},
        "year": {"2026": (8, 1), "2027": (1, 0)},
    }
    assert all(sum(one[state] for state in ("complete", "incomplete", "failed", "none")) == one["joints"]
               for rows in told["complete"].values() for one in rows)  # fmt: skip
    assert all(sum(counts.values()) == 9 for counts in told["items"].values())
    # A repair counts for whoever made it, and takes nothing from what the first crew, job and year answer for.
    again = placed(folder / "again.gpkg", "Repair", joints=1, first=3, east=0.0, north=40.0, crew="Crew 3",
                   date="2027-03-01")  # fmt: skip
    load(again, register)
    told = info(register)["complete"]
    by = {what: {one["of"]: (one["joints"], one["failed"]) for one in rows} for what, rows in told.items()}
    assert by == {
        "job": {"Contract 1": (6, 1), "Contract 2": (3, 0), "Repair": (1, 0)},
        "crew": {"Crew 1": (2, 0), "Crew 2": (1, 1), "Crew 3": (1, 0), "not named": (6, 0)},
        "year": {"2026": (8, 1), "2027": (2, 0)},
    }
    assert cli.run(["info", register]) == 0
    said = capsys.readouterr().out
    assert "9 joints, 10 inspections" in said
    assert "a repair counts for whoever made it" in " ".join(said.split())
    assert cli.run(["info", register, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["mains"][1]["joints"] == 3


def test_a_corrected_survey_takes_no_inspection_from_its_crew(register, folder):
    """The joints were new by the second load, and their records of the first: they were counted as of no record."""
    crews = {0: "Crew 1", 1: "Crew 1", 2: "Crew 2"}
    load(placed(folder / "one.gpkg", "Contract 1", crew=crews, gauge={2: "no"}), register)
    before = info(register)["complete"]["crew"]
    load(placed(folder / "shot_again.gpkg", "Contract 1", crew=crews, gauge={2: "no"}, east=0.2), register)
    assert info(register)["complete"]["crew"] == before
    assert {one["of"]: (one["joints"], one["failed"]) for one in before} == {
        "Crew 1": (2, 0), "Crew 2": (1, 1), "not named": (3, 0)
    }  # fmt: skip


def test_what_a_job_left_uninspected_stays_its_own_and_is_of_no_crew_or_year(register, folder):
    blank = dict.fromkeys(("inspector", "date", "home_to_mark", "gauge", "gasket_temp"))
    load(placed(folder / "laid.gpkg", "Contract 1", **{name: {0: None} for name in blank}), register)
    load(placed(folder / "leak.gpkg", "Leak 2031", joints=1, date="2031-05-06", crew="Repair"), register)
    told = info(register)["complete"]
    by = {what: {one["of"]: (one["joints"], one["none"]) for one in rows} for what, rows in told.items()}
    assert by["job"] == {"Contract 1": (6, 1), "Leak 2031": (1, 0)}
    assert by["crew"] == {"Repair": (1, 0), "not named": (5, 0)}
    assert by["year"] == {"2026": (5, 0), "2031": (1, 0)}
    undo(2, register)
    assert [(one["of"], one["none"]) for one in info(register)["complete"]["job"]] == [("Contract 1", 1)]


@pytest.mark.parametrize("register", ["geopackage"], indirect=True)
def test_two_copies_that_went_on_apart_are_told_by_their_loads_and_notes(register, folder, capsys):
    load(placed(folder / "one.gpkg", "Contract 1"), register)
    copy = folder / "copy.gpkg"
    shutil.copy(register, copy)
    assert cli.run(["info", register, "--against", str(copy)]) == 0
    assert "have the same loads, marks and notes" in " ".join(capsys.readouterr().out.split())
    load(placed(folder / "two.gpkg", "Contract 2", routes=("B",), north=5000.0), register)
    load(placed(folder / "three.gpkg", "Contract 3", routes=("C",), north=9000.0), copy)
    note_service(copy, "A", "abandoned", by="R. Vance")
    told = apart(register, copy)
    jobs = {side: [one["job"] for one in told[side]["loads"]] for side in ("only_here", "only_there")}
    assert jobs == {"only_here": ["Contract 2"], "only_there": ["Contract 3"]}
    assert len(told["only_there"]["joint_service"]) == 6
    assert cli.run(["info", register, "--against", str(copy)]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "load 2 of Contract 2" in said
    assert "load 2 of Contract 3" in said
    assert "nothing merges two registers" in said


CREWS = ("ÑANDÚ", "ñandú", "n\u0303andu\u0301", "Straße", "STRASSE", "İbrahim", "ibrahim", "E\u0301lodie", "ÉLODIE",
         "О'Брайен", "о'брайен")  # fmt: skip


def test_crews_in_any_letters_are_counted_as_they_are_found(register, folder):
    """The same in both stores, of which one knows small letters of ASCII alone."""
    load(placed(folder / "letters.gpkg", "Letters", joints=11, crew=dict(enumerate(CREWS))), register)
    told = {one["of"]: one["joints"] for one in info(register)["complete"]["crew"]}
    assert told == {"ñandú": 3, "Straße": 1, "STRASSE": 1, "İbrahim": 2, "ÉLODIE": 2, "о'брайен": 2}
    for crew, joints in told.items():
        assert find(register, Question(crews=[crew])).count == joints, crew
    counted = group(register, Question(), ["crew"]).groups
    assert sorted(one["joints"] for one in counted) == sorted(told.values())
