"""Limits and tolerances by which a check can tell nothing are told; those of honest jobs are not."""

import pytest
from laying import lines, log, pipe, place

POINTS = pipe([0.0] * 20)


def _told(**tables):
    records = tables.pop("records", {})
    main = log(POINTS, **{"gauge 12": "0.31", "gauge 3": "0.30", "gauge 6": "0.38", "ground": "60"})
    placed = place(lines(A=POINTS), main, records={"reading_unit": "in", **records}, **tables)
    return " ".join(note.text for note in placed.notes if note.code == "limits-doubtful")


@pytest.mark.parametrize(
    ("tables", "told"),
    [
        (
            {"records": {"spacing_tolerance": 12.7}},
            r"records.spacing_tolerance = 12.7 is in ft, and pipes are 20 ft long",
        ),
        ({"records": {"position_tolerance": 25.4}}, "coordinates may be those of the joint beside"),
        ({"records": {"station_tolerance": 25}}, "a joint that far beyond the end"),
        ({"records": {"sigma_station": 6.0}}, "a pipe that is missing may be an error of its station"),
        ({"inspection": {"required": []}}, "inspection.required is empty: no record can be incomplete"),
        (
            {"inspection": {"required": [], "required_for": {"mechanical": ["inspector"]}}},
            "only records of mechanical joints can be incomplete",
        ),
        ({"inspection": {"gauge_spread": 6.35}}, "no gauge depth of the log is more than 0.38"),
        ({"limits": {"table": "awwa-c600", "confidence": 0.68}}, "32 of 100 are called within or over wrongly"),
        ({"cover": {"log_column": "ground", "least": 1.0}}, "if 1 m is meant, say 3.28"),
        ({"profile": {"least_grade": 0.002}}, "is in percent: if a rise of 0.002 in 1 is meant, say 0.2"),
        ({"profile": {"least_rise": 6.0}}, "if 6 inches are meant, say 0.5"),
    ],
)
def test_a_limit_by_which_nothing_is_told_is_told(tables, told):
    assert told in _told(**tables)


@pytest.mark.parametrize("at", [("max_offset", 3.6, "say 0.3"), ("max_height", 2.4, "say 0.2")])
def test_a_limit_of_the_design_in_inches_is_told(tmp_path, at):
    key, value, remedy = at
    lines(A=POINTS).to_file(tmp_path / "design.gpkg")
    design = {"path": str(tmp_path / "design.gpkg"), "route": "route", "elevation": "pipe-center"}
    assert f"design.{key} = {value} is in ft, more than is asked of mains" in _told(design={**design, key: value})
    assert remedy in _told(design={**design, key: value})
    assert _told(design={**design, "max_offset": 0.5, "max_height": 0.2}) == ""


@pytest.mark.parametrize(
    "tables",
    [
        {},
        {
            "records": {
                "spacing_tolerance": 2.0,
                "position_tolerance": 5.0,
                "sigma_station": 2.9,
                "station_tolerance": 5.0,
            }
        },
        {"inspection": {"required": ["inspector"], "gauge_spread": 0.25}},
        {"limits": {"table": "awwa-c600", "confidence": 0.9}},
        {"cover": {"log_column": "ground", "least": 2.5}, "profile": {"least_grade": 0.1, "least_rise": 1.0}},
    ],
)
def test_limits_of_an_honest_job_are_not_told(tables):
    assert _told(**tables) == ""
