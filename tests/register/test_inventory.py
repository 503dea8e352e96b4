"""What a register says of its contents, against jobs whose every joint is known."""

import json

from registers import placed

from asbuilt import cli
from asbuilt.register.inventory import info
from asbuilt.register.loading import load
from asbuilt.register.service import note_service


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
    # The crew that inspected a joint again answers for it, and no longer the one before.
    again = placed(folder / "again.gpkg", "Repair", joints=1, first=3, east=0.0, north=40.0, crew="Crew 3",
                   date="2027-03-01")  # fmt: skip
    load(again, register)
    counted = {one["of"]: (one["joints"], one["failed"]) for one in info(register)["complete"]["crew"]}
    assert counted == {"Crew 1": (2, 0), "Crew 3": (1, 0), "not named": (6, 0)}
    assert cli.run(["info", register]) == 0
    assert "9 joints, 10 inspections" in capsys.readouterr().out
    assert cli.run(["info", register, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["mains"][1]["joints"] == 3
