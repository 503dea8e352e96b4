"""Blunders of the job file, told with their key; honest jobs, of which nothing is told."""

import math
import re
from typing import Any

import job_blunders
import numpy as np
import pytest
from job_blunders import OUTSIDE_IN, planned, told
from laying import CRS
from pyproj import Transformer

SEEDS = (1, 2)


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("blunder", job_blunders.REFUSED, ids=lambda one: one.__name__)
def test_what_cannot_be_right_in_a_job_is_refused_with_its_key_and_the_remedy(tmp_path, blunder, seed):
    job = planned(seed)
    assert re.search(blunder(job), told(tmp_path, job).refused)


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("blunder", job_blunders.NOTED, ids=lambda one: one.__name__)
def test_what_is_doubtful_in_a_job_is_noted_and_no_joint_is_surely_within_by_it(tmp_path, blunder, seed):
    job = planned(seed, every=getattr(blunder, "every", 1))
    code, text = blunder(job)
    found = told(tmp_path, job)
    assert found.refused == ""
    assert any(one == code and re.search(text, said) for one, said in found.notes)
    assert found.wrong_within == 0


DOUBTS = {
    "readings-turned",
    "keys-doubtful",
    "limits-doubtful",
    "allowables-doubtful",
    "readings-unused",
    "survey-screened",
    "line-short",
}
HONEST: dict[str, dict[str, Any]] = {
    "shot at every joint": {}, "shot at every fifth": {"every": 5}, "noisy": {"noise": 0.06}, "curved": {"spread": 2.5},
    "pipes of 18 ft": {"length": 18.0}, "with coordinates": {"coordinates": True}, "without bends": {"bends": 0},
}  # fmt: skip


@pytest.mark.parametrize("kind", HONEST)
def test_an_honest_job_raises_no_doubt_of_its_keys(tmp_path, kind):
    job = planned(3, **HONEST[kind])
    job.says("records", laying_length=HONEST[kind].get("length", 20.0))
    sigma = HONEST[kind].get("noise", 0.02)
    job.says("centerline", sigma_horizontal=sigma, sigma_vertical=sigma)
    found = told(tmp_path, job)
    assert found.refused == ""
    assert [one for one in found.notes if one[0] in DOUBTS] == []
    assert found.off < 5.0
    assert found.wrong_within == 0


@pytest.mark.parametrize(
    "units",
    [
        {
            "station": "ft",
            "laid_length": "(ft)",
            "Gap_12": "in",
            "gasket_temp": "°F",
            "bend_angle": "deg",
            "joint": "no.",
        },
        {"station": "[ft]", "gauge": "ok/fail", "date": "yyyy-mm-dd"},
        {"laid_length": "feet"},
    ],
)
def test_a_row_of_units_that_the_job_goes_by_is_no_record(tmp_path, units):
    found = told(tmp_path, job_blunders.with_row_of_units(planned(1), **units))
    assert found.refused == ""
    assert found.placed.counts["records_read"] == found.placed.counts["inspections_placed"] == 60
    (note,) = [text for code, text in found.notes if "row of units" in text]
    assert "row 2 is a row of units and no record" in note


def test_a_first_record_with_a_unit_s_letter_in_it_stays_one(tmp_path):
    job = planned(1)
    job.log.loc[0, ["station", "gauge"]] = ["", "F"]
    found = told(tmp_path, job)
    assert found.placed.counts["records_read"] == 60
    assert not any("row of units" in text for _, text in found.notes)


def test_the_table_of_blunders_of_the_job_leaves_none_unsaid(tmp_path):
    table = job_blunders.rows(tmp_path, 1)
    assert len(table) == len({one.planted for one in table}) >= 50
    assert [one.planted for one in table if not one.said] == []


def test_a_run_says_where_the_line_begins_and_lies_by_the_job(tmp_path):
    job = planned(1)
    places = Transformer.from_crs(CRS, "EPSG:6318", always_xy=True).transform(*job.places[0, :2])
    said = told(tmp_path, job).placed.counts["as_said"]
    east, north = job.places[0, :2] - job.places[-1, :2]
    octant = ["north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"]
    end = octant[round(math.degrees(math.atan2(east, north)) / 45.0) % 8]
    assert said["starts"] == [{"route": "A", "station": "10+00.00", "end": end}]
    assert (said["longitude"], said["latitude"]) == pytest.approx(places, abs=2e-5)
    # The pipe's center, of shots on its top, with their errors.
    span = job.places[:, 2].min() - OUTSIDE_IN / 24.0, job.places[:, 2].max() - OUTSIDE_IN / 24.0
    assert (said["elevation_least"], said["elevation_most"]) == pytest.approx(span, abs=0.1)
    assert said["elevation_unit"] == "us-ft"
    # A neighbouring zone of the same axes, which its area lets pass, puts the joint elsewhere.
    other = tmp_path / "other"
    other.mkdir()
    job.values["crs"] = "EPSG:6420"
    moved = told(other, job).placed.counts["as_said"]
    assert "zone 3" in moved["crs"]
    assert abs(moved["latitude"] - places[1]) > 1.0


@pytest.mark.parametrize(("raised", "asked"), [(0.0, True), (20.0, False)])
def test_depths_handed_in_for_elevations_are_asked_about_since_nothing_tells_them_from_a_main_by_the_sea(
    tmp_path, raised, asked
):
    job, draw = planned(2), np.random.default_rng(2)
    job.shots["elevation"] = (raised + 4.0 + np.cumsum(draw.normal(0.0, 0.03, len(job.shots)))).round(2)
    said = [text for code, text in told(tmp_path, job).notes if code == "elevations-read" and "depths" in text]
    assert len(said) == asked
    assert all(
        re.match(r"route A: all elevations of the survey lie between 3\.\d\d and 4\.\d\d ft", one) for one in said
    )


def test_elevations_in_another_unit_than_their_eastings_are_told(tmp_path):
    job = planned(1)
    job.shots["elevation"] = (job.shots["elevation"] * 1200 / 3937).round(4)
    job.says("centerline", elevation_unit="m")
    found = told(tmp_path, job)
    assert ("survey-read", "elevations are read in metres, and eastings in US survey feet") in found.notes
    assert found.wrong_within == 0
