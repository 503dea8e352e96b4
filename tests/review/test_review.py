"""The engineer's review: what it reads, counts and draws, against published tables and the sample's story."""

import base64
import csv
import dataclasses
import hashlib
import json
import re
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from fractions import Fraction
from html.parser import HTMLParser
from pathlib import Path

import laying
import numpy as np
import pandas as pd
import pytest
import shapely
from drawings import overlapping, paths, places, words
from hypothesis import given
from hypothesis import strategies as st

import asbuilt
from asbuilt import cli
from asbuilt.errors import InputFileError, OutputError
from asbuilt.review import (
    deflections,
    drawing,
    figures,
    inspections,
    issues,
    laid,
    linked,
    look,
    not_placed,
    pages,
    plot_route,
    read_review,
    shown,
    tables,
    to_act_on,
    write_review,
)
from asbuilt.review.curves import as_crews_read, find_curves, offset_of_length, radius_of_lengths
from asbuilt.review.remarks import to_read_table
from asbuilt.review.shown import allowable_steps, within_view

ROOT = Path(__file__).resolve().parents[2]
PUBLISHED = Path(__file__).parents[1] / "data" / "published"
MARKUP = "<script>window.ran = 1</script><img src=x onerror='window.ran = 1'> & \"wet\" trench"


@pytest.fixture(scope="module")
def sample(tmp_path_factory):
    folder = tmp_path_factory.mktemp("sample") / "sample"
    shutil.copytree(ROOT / "sample_gis", folder)
    for name in ("job", "job_metric"):
        placement = asbuilt.place(folder / f"{name}.toml", today=laying.TODAY)
        placement.write(folder / placement.job.output.path)
    return folder


@pytest.fixture(scope="module")
def small(tmp_path_factory):
    """Two short mains, placed."""
    folder = tmp_path_factory.mktemp("small")
    points = laying.pipe(np.concatenate([np.zeros(3), [7.0], np.zeros(3)]))
    both = laying.lines(A=points, B=points + np.array([0.0, 500.0, 0.0]), C=points + np.array([0.0, 900.0, 0.0]))
    logs = [laying.log(points, route=[name] * len(points)) for name in ("A", "B")]
    laying.place(both, pd.concat(logs, ignore_index=True)).write(folder / "joints.gpkg")
    return folder / "joints.gpkg"


@pytest.fixture(scope="module")
def mains(sample):
    review, metric = read_review(sample / "joints.gpkg"), read_review(sample / "joints_metric.gpkg")
    return {route.name: route for route in (*review.routes, *metric.routes)}


def placed(folder, points, *, shots=None, name="A", **more):
    """Place a main whose shots are `shots` (its joints, if left out), and read it for review."""
    shots = points if shots is None else shots
    log = laying.log(points, **more)
    along = shapely.line_locate_point(shapely.LineString(shots[:, :2]), shapely.points(points[:, :2]))
    log["station"] = [f"{int(at // 100)}+{at % 100:05.2f}" for at in np.floor(100 * along) / 100]
    placement = laying.place(laying.lines(**{name: shots}), log)
    placement.write(folder / "joints.gpkg")
    return read_review(folder / "joints.gpkg")


def asked(review, at=0):
    """Give the rows of what to act on or check on a route."""
    rows = issues.merged(issues.found(review), None, review.run["name"]).rows
    return to_act_on.to_act_on(review.routes[at], rows).rows


# Curves -------------------------------------------------------------------------------------------------------------


def angle(row):
    if "deflection_deg" in row:
        return float(row["deflection_deg"])
    degrees, minutes = row["deflection_deg_min"].split("-")
    return int(degrees) + int(minutes) / 60


@pytest.mark.parametrize("table", ["push_on_offsets.csv", "mechanical_offsets.csv"])
@pytest.mark.parametrize("length", [18, 20])
def test_offset_and_radius_are_those_of_the_published_table(table, length):
    """AWWA C600, maximum deflection of full-length pipe (from memory): inches, and radii rounded to 5 or 10 ft."""
    rows = list(csv.DictReader((PUBLISHED / table).open()))
    assert len(rows) >= 10
    for row in rows:
        offset = 12 * offset_of_length(float(length), angle(row))
        assert offset == pytest.approx(float(row[f"offset_{length}ft_in"]), abs=1.0), row
        radius = radius_of_lengths(float(length), angle(row))
        assert radius == pytest.approx(float(row[f"radius_{length}ft_ft"]), rel=0.04), row


@given(st.floats(0.0, 20.0))
def test_an_offset_is_read_to_the_nearest_eighth_of_an_inch(offset_ft):
    text = as_crews_read(offset_ft, "us-ft")
    read = sum(Fraction(part) for part in text.removesuffix(" in").split())
    assert abs(float(read) - 12 * offset_ft) <= 1 / 16 + 1e-9
    assert read * 8 == int(read * 8)


@given(st.floats(0.3, 8.0), st.integers(12, 60), st.sampled_from([-1, 1]))
def test_lengths_with_equal_deflections_touch_a_circle_of_that_radius(deflection, joints, way):
    """Through three joints runs a circle of radius abc / 4K; by Pythagoras it passes a length's middle farther in."""
    straight = np.zeros(3)
    turn = np.concatenate([straight, np.full(joints, float(way * deflection)), straight])
    points = laying.pipe(turn[1:-1])[:, :2]
    (x1, y1), (x2, y2) = points[4] - points[3], points[5] - points[3]
    sides = np.hypot(x1, y1) * np.hypot(x2, y2) * np.hypot(x2 - x1, y2 - y1)
    through = sides / (2 * abs(x1 * y2 - x2 * y1))
    nothing = np.zeros(len(turn), dtype=bool)
    found = find_curves(
        20.0 * np.arange(len(turn), dtype=np.float64), turn, np.full(len(turn), np.nan), nothing, nothing
    )
    assert (found.first.tolist(), found.last.tolist()) == ([3], [joints + 2])
    assert found.total_deg[0] == pytest.approx(way * joints * deflection)
    assert found.radius[0] == pytest.approx(np.sqrt(through**2 - 10.0**2), rel=1e-6)


def test_the_samples_curves_are_found_with_their_way_and_radius(mains):
    """Curves of 1.5 and 2 degrees on A, of 3 on B (170-183, two over), of 1.2 on C (one over): see its README."""
    found = {name: deflections.curve_table(route) for name, route in mains.items()}
    turned = {name: [(row[2], row[5], row[6]) for row in table.rows if "to the" in row[2]]
              for name, table in found.items()}  # fmt: skip
    least = f"{radius_of_lengths(20.0, 5.0):,.0f}"
    assert [row[0] for row in turned["A"]] == ["to the right", "to the left"]
    for row, deflection in zip(turned["A"], (1.5, 2.0), strict=True):
        assert float(row[1].replace(",", "")) == pytest.approx(radius_of_lengths(20.0, deflection), rel=0.01)
        assert row[2] == least
    ((_, radius, _),) = turned["B"]
    # Twelve joints of 3 degrees and two of 6.1:
    assert float(radius) == pytest.approx(radius_of_lengths(20.0, (12 * 3 + 2 * 6.1) / 14), rel=0.01)
    assert found["B"].rows[0][-1] == "wider than the least radius; 2 of its joints over"
    assert (found["B"].rows[0][0], found["B"].rows[0][1]) == ("36+80.75", "39+40.73")
    ((_, radius, _),) = turned["C"]
    # Forty joints of 1.2 degrees and one of 4.2:
    assert float(radius) == pytest.approx(radius_of_lengths(6.0, (40 * 1.2 + 4.2) / 41), rel=0.01)


@pytest.mark.parametrize(
    ("deflection", "every", "compared"),
    [
        (2.0, 1, "wider than the least radius"),
        (2.0, 5, "not tighter on the whole; the shots do not tell of each joint"),
        (5.5, 1, "tighter than the least radius; 60 of its joints over"),
        (5.5, 5, "tighter than the least radius; at least 5 of its joints over"),
    ],
)
def test_a_curve_has_the_radius_of_its_pipe_and_is_called_wide_only_where_each_joint_was_shot(
    tmp_path, deflection, every, compared
):
    """Sixty joints of one deflection, of which 5 degrees are allowed: R = L / (2 tan(deflection / 2)) by the pipe."""
    points = laying.pipe(np.concatenate([np.zeros(10), np.full(60, deflection), np.zeros(9)]))
    (route,) = placed(tmp_path, points, shots=points[::every]).routes
    (row,) = deflections.curve_table(route).rows
    assert float(row[5].replace(",", "")) == pytest.approx(radius_of_lengths(20.0, deflection), rel=0.01)
    assert float(row[6].replace(",", "")) == pytest.approx(radius_of_lengths(20.0, 5.0), abs=0.5)
    assert row[8] == compared


def test_one_joint_that_no_shot_tells_of_keeps_a_curve_from_being_called_wide(tmp_path):
    points = laying.pipe(np.concatenate([np.zeros(10), np.full(60, 2.0), np.zeros(9)]))
    (route,) = placed(tmp_path, points, shots=np.delete(points, 40, axis=0)).routes
    (row,) = deflections.curve_table(route).rows
    assert row[8] == "not tighter on the whole; the shots do not tell of each joint"


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("scatter", [0.0, 0.2])
def test_a_compound_curve_is_told_by_its_parts_and_none_by_their_mean(seed, scatter):
    """Curves of 3 and of 4.5 degrees between tangents that turn the same way: R = L / (2 tan(deflection / 2))."""
    chance = np.random.default_rng(seed)
    turn = np.concatenate([np.full(8, 0.3), np.full(12, 3.0), np.full(9, 4.5), np.full(8, 0.3), np.zeros(4)])
    turn[turn > 0] += scatter * chance.normal(0.0, 1.0, 37).clip(-1.2, 1.2) * (turn[turn > 0] > 1.0)
    nothing = np.zeros(len(turn), dtype=bool)
    found = find_curves(
        20.0 * np.arange(len(turn), dtype=np.float64), turn, np.full(len(turn), np.nan), nothing, nothing
    )
    assert (found.first.tolist(), found.last.tolist()) == ([8, 20], [19, 28])
    for radius, deflection in zip(found.radius, (3.0, 4.5), strict=True):
        assert radius == pytest.approx(radius_of_lengths(20.0, deflection), rel=0.06)


@pytest.mark.parametrize("among", [0.26, 0.5])
@pytest.mark.parametrize("rest", [(), (0.4,), (0.3, 0.5)])
def test_one_joint_that_turns_among_some_that_hardly_do_is_no_curve(among, rest):
    turn = np.array([0.0, among, among + 0.2, among, 6.2, *rest, 0.0])
    nothing = np.zeros(len(turn), dtype=bool)
    found = find_curves(
        20.0 * np.arange(len(turn), dtype=np.float64), turn, np.full(len(turn), np.nan), nothing, nothing
    )
    assert not len(found.first)


def test_a_bend_is_no_curve():
    turn = np.array([0, 0, 22.5, 22.5, 22.5, 22.5, 0, 0])
    nothing = np.zeros(8, dtype=bool)
    at = 20.0 * np.arange(8, dtype=np.float64)
    assert len(find_curves(at, turn, np.full(8, np.nan), nothing, nothing).first) == 1
    assert len(find_curves(at, turn, np.full(8, np.nan), nothing, turn > 0).first) == 0


def test_turns_within_the_noise_of_the_survey_are_no_curve():
    turn = np.full(20, 0.5)
    nothing = np.zeros(20, dtype=bool)
    at = 20.0 * np.arange(20, dtype=np.float64)
    assert len(find_curves(at, turn, np.full(20, 0.1), nothing, nothing).first) == 1
    assert len(find_curves(at, turn, np.full(20, 0.3), nothing, nothing).first) == 0


# Stations -----------------------------------------------------------------------------------------------------------


def test_stations_jump_at_an_equation_by_textbook_arithmetic(mains):
    """A: 24+50 back = 30+00 ahead, 1,450 ft from 10+00. B: 29+00 back = 27+50 ahead, 2,400 ft from 5+00."""
    (gap,), (repeat,) = mains["A"].equations, mains["B"].equations
    assert (gap.back, gap.ahead, gap.distance) == ("24+50.00", "30+00.00", pytest.approx(1450, abs=0.01))
    assert (repeat.back, repeat.ahead, repeat.distance) == ("29+00.00", "27+50.00", pytest.approx(2400, abs=0.01))
    assert mains["A"].stations.text(np.array([0.0, 1400.0, 1500.0])) == ["10+00.00", "24+00.00", "30+50.00"]
    assert mains["B"].stations.text(np.array([2350.0, 2450.0])) == ["28+50.00", "28+00.00"]
    assert mains["C"].equations == ()


@pytest.mark.parametrize("name", ["A", "B", "C"])
def test_the_axis_says_of_every_joint_the_station_it_has(mains, name):
    route = mains[name]
    written = [text.split()[0] for text in route.joints["station"]]
    shown = route.stations.text(route.joints["distance"])

    def number(text):
        return float(text.replace("+", ""))

    assert max(abs(number(one) - number(other)) for one, other in zip(written, shown, strict=True)) < 0.02


def test_ticks_stand_at_round_stations_on_both_sides_of_an_equation(mains):
    places, names = mains["B"].stations.ticks(0.0, 4350.0, 9)
    assert names == ["5+00", "10+00", "15+00", "20+00", "25+00", "30+00", "35+00", "40+00", "45+00"]
    assert np.diff(places).round().tolist() == [500, 500, 500, 500, 650, 500, 500, 500]


# What the tables say ------------------------------------------------------------------------------------------------


def test_the_worst_joint_stands_first_with_what_crews_can_read(mains):
    table = deflections.over_table(mains["B"])
    assert [row[1] for row in table.rows] == ["176", "177"]
    first = dict(zip(table.columns, table.rows[0], strict=True))
    assert (first["Verdict"], first["Deflection, deg"], first["Allowable, deg"]) == ("over", "6.12", "5.00")
    assert first["Of the allowable"] == "122 %: exceeds by 1.12 deg"
    # 240 in x sin(6.12 deg) = 25.6 in; 240 in x sin(5 deg) = 20.9 in.
    assert first["Offset per length"] == "25 5/8 in / 20 7/8 in"
    assert "AWWA C600" in table.note
    assert mains["B"].joints["joint"][table.joints[0]] == "176"


def test_joints_between_sparse_shots_show_their_bounds(tmp_path):
    points = laying.pipe(np.concatenate([np.zeros(10), np.full(10, 2.0), np.zeros(9)]))
    (route,) = placed(tmp_path, points, shots=points[::5]).routes
    table = deflections.unclear_table(route)
    assert {row[2] for row in table.rows} == {"cannot-tell"}
    said = {row[1]: row[4] for row in table.rows}
    # Joint 16 is at a shot that turns 10 degrees, shared by joints of the weight of five; 4/5 of joint 17 shows there.
    assert said["16"] == "2.00 to 10.00"
    assert said["17"] == "0.00 to 12.49"
    unbounded = route.joints.records()[15] | {"deflection_floor_deg": 0.0, "may_take_deg": np.nan}
    assert deflections.deflection_words(unbounded) == "no bound"
    stretches = deflections.sparse(route).table
    assert sum(int(row[2]) for row in stretches.rows) == (route.joints["verdict"] == "cannot-tell").sum()
    # Ten joints of 2 degrees each turn 20 degrees: an even share of what the shots see is what was laid.
    assert stretches.rows[0][2:7] == ["9", "2.00", "40 %", "15.01", "5.00"]
    # Joint 17 may take 12.49 degrees, 7.49 more than its 5.
    assert dict(zip(table.columns, table.rows[0], strict=True))["Of the allowable"].startswith("up to ")
    assert "250 %: may exceed by 7.49 deg" in " ".join(row[7] for row in table.rows)
    drawn = dict(zip(route.joints["joint"], within_view(route), strict=True))
    assert (drawn["16"], drawn["17"]) == (pytest.approx(10.0), pytest.approx(12.5, abs=0.02))


@pytest.mark.parametrize(("azimuth", "at_left"), [(76.0, False), (104.0, True)])
def test_the_scale_bar_stands_in_the_corner_that_the_line_leaves_free(tmp_path, azimuth, at_left):
    along, way = 20.0 * np.arange(60), np.radians(azimuth)
    points = laying.pipe(np.zeros(58))
    points[:, :2] = points[0, :2] + along[:, None] * [np.sin(way), np.cos(way)]
    (route,) = placed(tmp_path, points).routes
    drawing = plot_route(route, "plan", width=7, height=2.2)
    bars = [(float(start), float(long)) for start, long in re.findall(r'd="M([\d.]+) [\d.]+h([\d.]+)"', drawing.svg)]
    ((start, long),) = [bar for bar in bars if bar[1] > 20]
    assert (start + long / 2 < drawing.width / 2) == at_left


def test_many_unclear_joints_are_counted_in_stretches_not_listed_one_by_one(tmp_path):
    points = laying.pipe(np.concatenate([np.zeros(10), np.tile([3.0, -3.0], (6, 1)).repeat(30), np.zeros(9)]))
    review = placed(tmp_path, points, shots=points[::5])
    (route,) = review.routes
    unclear = (route.joints["verdict"] == "cannot-tell").sum()
    assert unclear > 150
    folded = deflections.unclear_table(route)
    assert (len(folded.rows), folded.count) == (tables.MOST_ROWS, unclear)
    assert f"The first 100 of {unclear}" in folded.note
    said = deflections.sparse(route)
    assert sum(int(row[2]) for row in said.table.rows) == unclear
    assert said.cannot == f"Shots every 100 ft cannot judge {unclear} joints"
    shares = [float(row[3]) / float(row[6]) for row in said.table.rows]
    assert shares == sorted(shares, reverse=True)
    # One row for all of them among what to act on or check.
    (row,) = (row for row in asked(review) if "cannot judge" in row[2])
    assert row[1] == f"{unclear} joints"
    assert row[4].startswith(f"Shoot or read every joint between the shots, {said.table.rows[0][7]}")


def test_quantities_add_up_to_the_layers(sample):
    review = read_review(sample / "joints.gpkg")
    for route in review.routes:
        table = laid.quantities(review, route)
        *parts, total = table.rows
        for column, exact in ((2, len(route.joints)), (3, len(route.segments))):
            assert sum(int(row[column]) for row in parts) == int(total[column]) == exact
        length = float(total[4].replace(",", ""))
        assert length == pytest.approx(route.segments["length"].sum(), abs=0.01)
        assert sum(float(row[4].replace(",", "")) for row in parts) == pytest.approx(length, abs=0.05)


def test_inspection_is_counted_as_the_samples_story_has_it(sample, mains):
    """B: the mark not reached at 101; the gauge failed at 30, and at 197 before it was laid anew."""
    by_field, by_crew, by_date = inspections.inspection_tables(read_review(sample / "joints.gpkg"), mains["B"])
    failed = {row[0]: row[3] for row in by_field.rows}
    assert (failed["Insertion mark"], failed["Gauge"]) == ("1", "2")
    # Required, and blank in the record that counts: the inspector at 95, the date at 133.
    required = {row[0]: row[4:] for row in by_field.rows}
    assert required["Inspector"] == required["Inspected on"] == ["217", "1", "99 %"]
    # Torque is required at the eight mechanical joints only, which all have it.
    assert required["Bolt torque"] == ["8", "0", "100 %"]
    assert required["Groove clean"] == ["not required", "", ""]
    assert sum(int(row[1]) for row in by_crew.rows) == len(mains["B"].joints)
    for table in (by_crew, by_date):
        assert sum(int(row[4]) for row in table.rows) == 2
    # Days on which nothing is open are counted, not listed.
    days = len(set(mains["B"].joints["inspected_on"]))
    assert all(row[1] != row[2] for row in by_date.rows)
    assert by_date.note == f"On {days - len(by_date.rows)} other days every joint is complete."


def test_the_table_of_restrained_lengths_names_the_joints_that_the_findings_name(tmp_path):
    """Joint 5 at 0+80 is at the printed end of the length; joint 4 is restrained by its type."""
    points = laying.pipe(np.zeros(9))
    types = ["restrained-push-on" if at == 3 else "push-on" for at in range(len(points))]
    lengths = [{"route": "A", "from": "0+35", "to": "0+79.99", "why": "bend, sheet C-4"}]
    placement = laying.place(laying.lines(A=points), laying.log(points, **{"joint type": types}), restraint=lengths)
    placement.write(tmp_path / "joints.gpkg")
    found = placement.findings[placement.findings["code"] == "restraint-missing"]
    assert found["joint"].tolist() == ["3", "5"]
    review = read_review(tmp_path / "joints.gpkg")
    (table,) = laid.length_tables(review, review.routes[0])
    assert table.rows[0][-2:] == ["4", "3 (0+40.00), 5 (0+80.00)"]
    assert deflections.without_limit(review.routes[0]).rows[0][0] == "12 in restrained-push-on"


def test_restrained_lengths_and_pressure_tests_are_shown_with_their_joints(tmp_path):
    """100 ft of 12 in for 2 h at 150 psi, AWWA C600 (from memory): 2 x 100 x 12 x sqrt(150) / 148,000 = 0.199 gal."""
    points = laying.pipe(np.zeros(9))
    log = laying.log(points, restrained=["yes" if at in (2, 3) else "" for at in range(len(points))])
    lengths = [{"route": "A", "from": "0+35", "to": "0+85", "why": "bend, sheet C-4"}]
    tests = [{"route": "A", "from": "0+00", "to": "1+00", "pressure_psi": 150, "duration_h": 2, "makeup_gal": 0.1}]
    placement = laying.place(laying.lines(A=points), log, restraint=lengths, pressure_tests=tests)
    placement.write(tmp_path / "joints.gpkg")
    review = read_review(tmp_path / "joints.gpkg")
    restraint, pressure = laid.length_tables(review, review.routes[0])
    row = dict(zip(restraint.columns, restraint.rows[0], strict=True))
    assert (row["Why"], row["Joints"]) == ("bend, sheet C-4", "3")
    assert (row["Recorded as restrained"], row["Not recorded as restrained"]) == ("3, 4", "5 (0+80.00)")
    first, second = (dict(zip(pressure.columns, one, strict=True)) for one in pressure.rows)
    assert (first["Result"], first["Allowance"], first["Make-up water"]) == ("passed", "0.199 gal", "0.1 gal")
    assert (second["Result"], second["From station"], second["To station"]) == ("under no test", "1+00.00", "2+00.00")


def test_closures_between_ties_stand_with_the_survey(tmp_path):
    """Stations taped 0.10 ft short over 200 ft: 500 parts per million."""
    points = laying.pipe(np.zeros(9))
    log = laying.log(points)
    ends = [{"route": "A", "station": station, "easting": points[at, 0], "northing": points[at, 1]}
            for station, at in (("0+00", 0), ("1+99.90", 10))]  # fmt: skip
    log.loc[10, "station"] = "1+99.90"
    laying.place(laying.lines(A=points), log, centerline={"ties": ends}).write(tmp_path / "joints.gpkg")
    review = read_review(tmp_path / "joints.gpkg")
    (closure,) = (row[1] for row in laid.survey_table(review, review.routes[0]).rows if "Closure" in row[0])
    assert closure == "+0.100 ft, +500 parts per million"


def test_readings_at_the_joint_stand_beside_the_survey(tmp_path):
    """Gaps even but for 0.6 in between top and bottom of a 13.2 in pipe: atan(0.6 / 13.2) = 2.6 degrees."""
    points = laying.pipe(np.array([0, 0, 0, 2.6, 0, 0, 0]))
    gaps = {f"gap {hour}": np.full(len(points), 1.0) for hour in (12, 3, 6, 9)}
    gaps["gap 9"][4], gaps["gap 3"][4] = 1.3, 0.7
    (route,) = placed(tmp_path, points, **gaps).routes
    assert deflections.measured_words(route.joints.records()[4]).startswith("2.6")


def test_every_finding_stands_on_a_page(sample):
    for name in ("joints", "joints_metric"):
        review = read_review(sample / f"{name}.gpkg")
        rows = issues.merged(issues.found(review), None, review.run["name"]).rows
        for route in review.routes:
            notes = to_act_on.for_information(route)
            aside = (review.set_aside["route"] == route.name).sum()
            here = [note for note in review.notes if not note.routes or route.name in note.routes]
            confirm = sum(note.severity in ("act", "check") for note in here)
            acted = to_act_on.to_act_on(route, rows)
            untested = not laid.has_test(route) and "length-untested" not in set(route.findings["code"])
            unseen = any(row[2].startswith("Not measured: ") for row in acted.rows)
            to_read = to_read_table(route)
            shown = acted.count + notes.count + to_read.count
            assert shown == len(route.findings) + aside + confirm + untested + unseen
            assert notes.count + to_read.count == (route.findings["severity"] == "note").sum()


def test_what_the_file_does_not_hold_is_not_shown(sample, tmp_path):
    path = shutil.copy(sample / "joints.gpkg", tmp_path / "bare.gpkg")
    blank = ("deflection_floor_deg", "deflection_ceiling_deg", "sigma_deg", "elevation", "turn_vertical_deg")
    with closing(sqlite3.connect(path)) as database, database:
        triggers = [name for (name,) in database.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")]
        for name in triggers:
            database.execute(f'DROP TRIGGER "{name}"')
        database.execute(f"UPDATE joints SET {', '.join(f'{name} = NULL' for name in blank)}")
    written = write_review(path, tmp_path / "review", routes=["A"])
    page = (tmp_path / "review" / written["routes"][0]["page"]).read_text("utf-8")
    assert "Elevation: none in the file" in page
    assert "one standard error" not in page


def test_a_map_in_degrees_is_laid_flat_for_the_plan(tmp_path):
    """Joints 20 US survey feet apart are 6.096 m apart, by the foot's definition."""
    points = laying.pipe(np.zeros(9))
    laying.place(laying.lines(A=points), laying.log(points), output={"crs": "EPSG:4326"}).write(
        tmp_path / "joints.gpkg"
    )
    (route,) = read_review(tmp_path / "joints.gpkg").routes
    assert route.plan_unit == "m"
    apart = np.hypot(*(np.diff(route.joints[name]) for name in ("easting", "northing")))
    # The grid of the survey is not quite to the scale of the ground.
    assert apart == pytest.approx(20 * 1200 / 3937, rel=2e-4)


@pytest.mark.parametrize(
    ("rows", "columns", "limits"),
    [(slice(3, 4), None, {"table": "awwa-c600"}), (slice(None), ["joint", "station"], {})],
    ids=["one joint", "stations only, and no limits"],
)
def test_the_barest_log_has_a_page_too(tmp_path, rows, columns, limits):
    points = laying.pipe(np.zeros(9))
    log = laying.log(points).iloc[rows]
    placement = laying.place(laying.lines(A=points), log if columns is None else log[columns], limits=limits)
    placement.write(tmp_path / "joints.gpkg")
    written = write_review(tmp_path / "joints.gpkg", tmp_path / "review", plots=True)
    page = (tmp_path / "review" / written["routes"][0]["page"]).read_text("utf-8")
    assert (
        "nan" not in re.sub(r"<script.*?</script>|<style.*?</style>|base64,[^\"]*", "", page, flags=re.DOTALL).lower()
    )


# Plots --------------------------------------------------------------------------------------------------------------


def test_scales_in_plan_are_equal_and_those_in_profile_as_stated(mains):
    """What lies 1 across and 1 up is drawn as far across as up, or as many times farther up as the plot says."""
    for name in "AB":
        route = mains[name]
        for kind, line in (("plan", route.plan.line), ("profile", route.line[:, [0, 3]])):
            for size in ((3.0, 3.0), (9.0, 2.5)):
                plot = plot_route(route, kind, width=size[0], height=size[1])
                drawn = places(max(paths(plot), key=lambda one: one.get("d").count("L")))
                across, up = np.ptp(drawn, axis=0) / np.ptp(line, axis=0)
                said = [re.search(r"drawn ([\d.]+) times", text) for text, _ in words(plot)]
                stated = next((float(one[1]) for one in said if one), 1.0)
                assert up / across == pytest.approx(stated, rel=0.005)


@pytest.fixture(scope="module")
def crowded(tmp_path_factory):
    folder = tmp_path_factory.mktemp("crowded")
    laying.crowded().write(folder / "placed.gpkg")
    (route,) = read_review(folder / "placed.gpkg").routes
    assert (len(route.equations), len(shown.bends(route))) == (3, 6)
    return route


@pytest.mark.parametrize("width", [3.0, 4.5, 8.0])
@pytest.mark.parametrize("kind", figures.KINDS)
def test_no_word_of_a_plot_lies_on_another_or_beyond_its_edges(mains, crowded, kind, width):
    for route in (*mains.values(), crowded):
        plot = plot_route(route, kind, width=width, height=3.2)
        boxes = words(plot)
        assert overlapping(boxes) == []
        for text, box in boxes:
            assert box.left >= 0, text
            assert box.right <= plot.width + 8, text
            assert 0 <= box.bottom < box.top <= plot.height, text


def test_bends_close_together_are_named_together_and_each_has_its_mark(crowded):
    for width, names in ((3.0, {"2 × 45°, 2 × 22.5°, 2 × 11.25°"}), (20.0, {"2 × 45°", "2 × 22.5°", "2 × 11.25°"})):
        plot = plot_route(crowded, "profile", width=width, height=3.0)
        assert {text for text, _ in words(plot) if "°" in text} == names
        (marks,) = paths(plot, stroke=look.PINE)
        assert len(places(marks)) == 6


@pytest.mark.parametrize("width", [2.2, 3.0, 4.5, 8.0])
def test_the_legend_is_no_wider_than_the_plot_and_stands_above_it(width, sample):
    asbuilt.place(sample / "job_sawmill.toml", today=laying.TODAY).write(sample / "joints_sawmill.gpkg")
    (route,) = read_review(sample / "joints_sawmill.gpkg").routes
    plot = plot_route(route, "deflection", width=width, height=3.4)
    told = {"least to most if one way", "one standard error", "allowable", "measured at the joint"}
    told |= {look.MARKS[name].word for name in set(route.joints["verdict"])}
    legend = [(text, box) for text, box in words(plot) if text in told]
    assert len(legend) == 8
    assert max(box.right for _, box in legend) <= plot.width
    drawn = [places(one)[:, 1].min() for one in paths(plot) if len(places(one)) > 1]
    assert max(box.top for _, box in legend) < min(drawn)


def test_marks_at_nothing_stand_whole_above_the_axis(mains):
    for route in mains.values():
        plot = plot_route(route, "deflection", width=7.0, height=3.0)
        (within,) = (one for one in paths(plot, stroke=look.AZURE) if len(places(one)) > 1)
        scale = float(re.search(r"scale\(([\d.]+)\)", within.get("transform"))[1])
        axis = max(places(one)[0, 1] for one in paths(plot, stroke=figures._AXIS))
        # A mark is about 2 high in the unit of its scale.
        assert places(within)[:, 1].max() + scale < axis


def test_the_profile_shows_the_whole_line_however_few_joints_are_looked_at(sample):
    asbuilt.place(sample / "job_repair.toml", today=laying.TODAY).write(sample / "joints_repair.gpkg")
    (route,) = read_review(sample / "joints_repair.gpkg").routes
    assert len(route.joints) == 2
    plot = plot_route(route, "profile", width=7.0, height=3.0)
    line = places(max(paths(plot), key=lambda one: one.get("d").count("L")))
    edge = [places(one)[0, 1] for one in paths(plot, stroke=figures._AXIS)]
    assert len(line) == len(route.line)
    assert min(edge) < line[:, 1].min() < line[:, 1].max() < max(edge)


@pytest.mark.parametrize("kind", figures.KINDS)
def test_a_plot_with_hostile_names_is_still_a_drawing(mains, kind):
    """Letters that XML has no place for, markup, and a name of three hundred letters."""
    names = ("</text><script>alert(1)</script>", "a\x0b\x00\ud800b & c", "$x^{$ [/x]", "W" * 300)
    for name in names:
        plot = plot_route(dataclasses.replace(mains["A"], name=name), kind)
        boxes = words(plot)
        title = min((box.top, text) for text, box in boxes if ": " in text)[1]
        assert title.startswith(name[:1])
        assert overlapping(boxes) == []
        assert max(box.right for _, box in boxes) <= plot.width
        assert "<script" not in plot.svg


def test_a_round_station_close_upon_another_at_an_equation_is_left_out(tmp_path):
    """8+00 back = 12+00 ahead: both lie at one place, and only one can be written there."""
    asbuilt.place(ROOT / "sample_gis" / "job_foundry.toml").write(tmp_path / "placed.gpkg")
    (route,) = read_review(tmp_path / "placed.gpkg").routes
    places, names = route.stations.ticks(0.0, float(route.line[-1, 0]), 9)
    assert "8+00" in names
    assert "12+00" not in names
    assert np.diff(places).min() > 50


def test_the_allowable_is_a_step_where_size_or_type_change_and_open_where_none_is_on_file(mains):
    where, limit = allowable_steps(mains["A"])
    joints = mains["A"].joints
    at = np.searchsorted(where[::2], joints["distance"], side="right") - 1
    assert np.array_equal(limit[::2][at], joints["allowable_deg"], equal_nan=True)
    assert np.isnan(limit).any()


def test_plots_are_written_as_svg_and_png(small, tmp_path):
    written = write_review(small, tmp_path / "review", routes=["A"], plots=True)
    files = [tmp_path / "review" / name for name in written["routes"][0]["plots"]]
    assert len(files) == 6
    assert all(file.read_bytes()[:4] == (b"\x89PNG" if file.suffix == ".png" else b"<svg") for file in files)


def test_level_pipe_is_drawn_level(tmp_path):
    """Heights drawn a thousand times and more made hills of the survey's noise."""
    review = placed(tmp_path, laying.pipe(np.zeros(60)))
    (route,) = review.routes
    drawn = linked._of_profile(route)["elevations"]
    along = route.joints["distance"][-1] - route.joints["distance"][0]
    assert drawn["end"] - drawn["start"] == pytest.approx(along / 1000)
    assert (drawn["end"] + drawn["start"]) / 2 == pytest.approx(50.0)


def test_the_linked_plots_are_made_of_what_bokeh_makes(tmp_path):
    """If this fails with a newer Bokeh: run scripts/build_plots.py, and look at the plots in a browser."""
    script = str(ROOT / "scripts" / "build_plots.py")
    subprocess.run([sys.executable, script, str(tmp_path / "plots.json")], check=True)
    assert (tmp_path / "plots.json").read_bytes() == (
        Path(linked.__file__).parent / "templates/plots.json"
    ).read_bytes()


def test_bokehs_scripts_are_those_that_it_names_itself():
    from bokeh.resources import Resources

    library, level = Resources(mode="inline", components=["bokeh"], log_level="error").js_raw
    mine = linked.scripts()
    assert mine[0].strip() in str(library)
    assert mine[1] == str(level)


def test_a_review_does_not_load_the_plotting_library(small, tmp_path):
    """It takes longer to load than all else of a small job."""
    program = "import sys; from asbuilt.review import write_review; write_review(sys.argv[1], sys.argv[2])"
    program += "; print([name for name in ('bokeh', 'matplotlib') if name in sys.modules])"
    done = subprocess.run(
        [sys.executable, "-c", program, str(small), str(tmp_path / "review")],
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.strip() == "[]"


def test_letters_that_no_font_has_are_told_in_a_sentence(tmp_path, capsys):
    """A letter of the range for private use, which the standard gives to nobody, is in no font; others may be."""
    points = laying.pipe([0.0, 1.0, 0.0])
    laying.place(laying.lines(**{"\U0010fff0A $x^{$": points}), laying.log(points)).write(tmp_path / "joints.gpkg")
    command = ["review", str(tmp_path / "joints.gpkg"), "--out", str(tmp_path / "review"), "--plots"]
    assert cli.run(command) == 0
    out, err = capsys.readouterr()
    assert "no font on this machine has \U0010fff0" in out
    assert "Warning" not in err
    assert cli.run([*command, "--json"]) == 0
    assert "\U0010fff0" in json.loads(capsys.readouterr().out)["routes"][0]["letters_not_drawn"]
    if not any(map(shutil.which, ("chromium", "chromium-browser"))):
        pytest.skip("NOT CHECKED: no Chromium is here")
    assert cli.run([*command[:-1], "--pdf", "--json"]) == 0
    assert "\U0010fff0" in json.loads(capsys.readouterr().out)["routes"][0]["letters_not_drawn"]


def test_a_picture_without_words_is_told_where_the_machine_has_no_font(monkeypatch):
    import resvg_py

    drawn = resvg_py.svg_to_bytes
    monkeypatch.setattr(resvg_py, "svg_to_bytes", lambda **given: drawn(**given, skip_system_fonts=True))
    drawing._has.cache_clear()
    drawing._looks.cache_clear()
    assert drawing.missing_letters("A1") == "1A"
    drawing._has.cache_clear()
    drawing._looks.cache_clear()


# Pages --------------------------------------------------------------------------------------------------------------


class Shown(HTMLParser):
    """What a browser makes of a page: its elements, and the texts in them."""

    def __init__(self, page):
        super().__init__(convert_charrefs=True)
        self.elements, self.texts = [], []
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))

    def handle_data(self, data):
        self.texts.append(data)


def test_a_log_with_markup_shows_it_as_text(tmp_path):
    points = laying.pipe(np.concatenate([np.zeros(5), [7.0], np.zeros(5)]))
    name = "<b>Main & 1</b>"
    review = placed(tmp_path, points, remarks=[MARKUP] * len(points), crew=[MARKUP] * len(points), name=name)
    written = write_review(review.path, tmp_path / "review")
    index, route = (
        Shown((tmp_path / "review" / file).read_text("utf-8")) for file in ("index.html", written["routes"][0]["page"])
    )
    assert name in index.texts
    assert f"Route {name}: deflection review" in route.texts
    assert MARKUP in route.texts  # the crew, in the table of inspection by crew
    for page in (index, route):
        tags = [tag for tag, _ in page.elements]
        assert tags.count("b") == 0
        assert all(about["src"].startswith("data:image/svg") for tag, about in page.elements if tag == "img")
        assert not any(key.startswith("on") for _, about in page.elements for key in about)
        assert tags.count("script") == (0 if page is index else 3 + len(linked.scripts()) + 1)


def test_a_route_without_joints_is_named_on_the_index(small, tmp_path):
    written = write_review(small, tmp_path / "review")
    assert [one["route"] for one in written["routes"]] == ["A", "B"]
    assert "Routes on which no joint lies: C." in (tmp_path / "review" / "index.html").read_text("utf-8")
    with pytest.raises(InputFileError, match="no joint lies on C"):
        read_review(small, ["C"])


def test_the_index_adds_up_its_routes_and_says_of_which_route_a_record_is(small, tmp_path):
    written = write_review(small, tmp_path / "review")
    page = (tmp_path / "review" / "index.html").read_text("utf-8")
    total = re.search(r'<tr class="total">(.*?)</tr>', page, flags=re.DOTALL)[1]
    told = {name: int(text) for name, text in re.findall(r'data-title="([^"]+)">([\d,]+)</td>', total)}
    assert told["Joints"] == sum(one["joints"] for one in written["routes"])
    for verdict, mark in look.MARKS.items():
        assert told[mark.word] == sum(one["joints_by_verdict"].get(verdict, 0) for one in written["routes"])
    for severity, asked in look.SEVERITIES.items():
        many = sum(one["findings_by_severity"].get(severity, 0) for one in written["routes"])
        assert told[f"Findings: {asked.lower()}"] == many
    aside = not_placed.set_aside_table(read_review(small))
    assert aside.columns[:4] == ("File", "Row", "Route", "Joint")
    alone = write_review(small, tmp_path / "alone", routes=["A"])
    assert len(alone["routes"]) == 1
    assert 'class="total"' not in (tmp_path / "alone" / "index.html").read_text("utf-8")


def test_only_the_pages_own_scripts_may_run(small, tmp_path):
    written = write_review(small, tmp_path / "review")
    page = (tmp_path / "review" / written["routes"][0]["page"]).read_text("utf-8")
    policy = re.search(r'Content-Security-Policy" content="([^"]*)"', page)[1].replace("&#39;", "'")
    assert "default-src 'none'" in policy
    programs = re.findall(r"<script>(.*?)</script>", page, flags=re.DOTALL)
    digests = {base64.b64encode(hashlib.sha256(one.encode()).digest()).decode() for one in programs}
    assert digests == set(re.findall(r"'sha256-([^']*)'", policy))
    assert programs


def test_every_page_carries_the_caution_and_a_blank_box_for_the_reviewer(small, tmp_path):
    write_review(small, tmp_path / "review")
    found = sorted((tmp_path / "review").glob("*.html"))
    assert [one.name for one in found] == ["index.html", "route-A.html", "route-B.html", "whole.html"]
    for one in found:
        page = one.read_text("utf-8")
        for said in ("approved submittal", "licensed engineer", "local codes", "injure and kill"):
            assert said in page
        assert "<dt>Name</dt><dd></dd>" in page
        assert "<dt>License</dt><dd></dd>" in page
        assert "<dt>Date</dt><dd></dd>" in page


# Writing, whole or not at all ---------------------------------------------------------------------------------------


def test_a_newer_review_takes_the_place_of_an_earlier_one_and_of_nothing_else(small, tmp_path):
    out = tmp_path / "review"
    write_review(small, out)
    write_review(small, out, routes=["A"])
    assert not (out / "route-B.html").exists()
    (out / "my notes.txt").write_text("keep")
    with pytest.raises(OutputError, match=r"holds what no review wrote \(my notes\.txt\)"):
        write_review(small, out)
    assert (out / "my notes.txt").read_text() == "keep"
    assert [one.name for one in tmp_path.iterdir()] == ["review"]


def test_a_failed_review_leaves_the_earlier_one(small, tmp_path, monkeypatch):
    out = tmp_path / "review"
    write_review(small, out, routes=["A"])
    before = (out / "route-A.html").read_bytes()
    monkeypatch.setattr(pages, "_whole_page", lambda *given, **more: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        write_review(small, out)
    assert (out / "route-A.html").read_bytes() == before
    assert [one.name for one in tmp_path.iterdir()] == ["review"]


def test_wrong_files_and_routes_are_named_with_the_remedy(small, sample, tmp_path):
    with pytest.raises(InputFileError, match=r"gone\.gpkg: there is no such file"):
        read_review(tmp_path / "gone.gpkg")
    with pytest.raises(InputFileError, match=r"centerline\.gpkg: is not a placed file .*asbuilt place wrote"):
        read_review(sample / "centerline.gpkg")
    with pytest.raises(InputFileError, match=r"job\.toml: is no GeoPackage"):
        read_review(sample / "job.toml")
    with pytest.raises(InputFileError, match=r"no route 'AA'; the nearest names are A"):
        read_review(small, ["AA"])


def test_pdf_without_a_browser_says_what_to_do_and_writes_nothing(small, tmp_path, monkeypatch):
    monkeypatch.setattr(shutil, "which", lambda name: None)
    with pytest.raises(OutputError, match="print the pages from any browser"):
        write_review(small, tmp_path / "review", pdf=True)
    assert not list(tmp_path.iterdir())


def test_the_command_says_what_it_wrote(small, tmp_path, capsys):
    out = tmp_path / "review"
    arguments = [
        "review",
        str(small),
        "--out",
        str(out),
        "--route",
        "B",
        "--json",
        "--progress",
        "json",
    ]
    assert cli.run(arguments) == 0
    printed = capsys.readouterr()
    result = json.loads(printed.out)
    assert result["routes"][0]["joints_by_verdict"]["over"] == 1
    assert sorted(result["files"]) == sorted(str(one.relative_to(out)) for one in out.rglob("*") if one.is_file())
    steps = [json.loads(line) for line in printed.err.splitlines()]
    assert [step["done"] for step in steps] == list(range(len(steps)))
    assert cli.run(["review", str(small), "--out", str(tmp_path / "no" / "where")]) == 2


@pytest.mark.parametrize(
    ("job", "said", "not_said"),
    [
        ("job_foundry.toml", "these pages cannot say how it lies", "stands against it"),
        ("job.toml", "without error", "cannot say how it lies"),
        ("job_sawmill.toml", "more than the 0.03", "without error"),
    ],
)
def test_what_the_verdicts_rest_on_stands_beside_the_answer(tmp_path, job, said, not_said):
    asbuilt.place(ROOT / "sample_gis" / job).write(tmp_path / "placed.gpkg")
    write_review(tmp_path / "placed.gpkg", tmp_path / "out")
    page = next((tmp_path / "out").glob("route-*.html")).read_text("utf-8")
    first = page[page.index('<h2 id="answer"') : page.index('class="caution"')]
    assert said in first
    assert not_said not in first


def test_sawmill_court_names_one_worst_a_joint_each_curve_and_each_field_once(tmp_path):
    asbuilt.place(ROOT / "sample_gis" / "job_sawmill.toml").write(tmp_path / "placed.gpkg")
    review = read_review(tmp_path / "placed.gpkg")
    route = review.routes[0]
    joints = route.joints.frame.set_index("joint")
    # Joint 62 is over by the floor of its turn, 8.16 degrees; joint 61 is unclear by what it may take, as its finding
    # has it: its ceiling of 8.40 degrees and the error of the shots.
    (finding,) = (row for row in issues.found(review) if (row["finding"], row["joint"]) == ("deflection-unclear", "61"))
    assert finding["unrounded"] > joints["deflection_ceiling_deg"]["61"] == pytest.approx(8.40, abs=0.01)
    worst = dict(zip(joints.index, deflections.worst_deg(route.joints), strict=True))
    assert [worst["62"], worst["61"]] == pytest.approx([8.16, finding["unrounded"]], abs=0.01)
    assert "±" not in deflections.deflection_words(joints.loc["61"].to_dict())
    curves = deflections.curve_table(route).rows
    assert len(curves) == 2, "the curve of 8 to 17 and the one of 33 to 49, laid at 2 degrees each"
    fields = [row[0] for row in inspections.inspection_tables(review, route)[0].rows]
    assert len(fields) == len(set(fields))


def test_a_turn_of_nothing_has_no_sign():
    assert pages._rounded([-0.001, 0.0, -0.006, 1234.5], 2) == ["0.00", "0.00", "-0.01", "1,234.50"]


def test_records_not_placed_stand_on_the_page_of_the_route_that_they_name(sample):
    review = read_review(sample / "joints.gpkg")
    told = {route.name: not_placed.set_aside_on(review, route) for route in review.routes}
    # The sample's story: rows of the logs, by route.
    assert [row[:3] for row in told["A"].rows] == [
        ["joint_log.xlsx", "36", "31"], ["joint_log.xlsx", "59", "52"], ["joint_log.xlsx", "77", "70"],
        ["joint_log.xlsx", "85", "78"], ["joint_log.xlsx", "126", "117"],
    ]  # fmt: skip
    assert [row[2] for row in told["B"].rows] == ["86", "190", "closure"]
    everywhere = not_placed.set_aside_table(review)
    assert len(everywhere.rows) == 10  # two name a route that the centerline has not
    metric = read_review(sample / "joints_metric.gpkg")
    assert [row[2] for row in not_placed.set_aside_on(metric, metric.routes[0]).rows] == ["23"]


def test_a_page_says_beside_its_answer_that_records_are_not_on_it(sample, tmp_path):
    write_review(sample / "joints.gpkg", tmp_path / "review", routes=["B"])
    page = (tmp_path / "review" / "route-B.html").read_text("utf-8")
    assert "3 records of this route could not be placed" in page


def test_results_of_tests_and_counts_are_told_in_words(sample):
    asbuilt.place(sample / "job_sawmill.toml", today=laying.TODAY).write(sample / "joints_sawmill.gpkg")
    review = read_review(sample / "joints_sawmill.gpkg")
    (restraint, tests) = laid.length_tables(review, review.routes[0])
    result = [row[tests.columns.index("Result")] for row in tests.rows]
    assert result == ["passed", "failed, passed when repeated", "passed", "passed", "under no test"]
    assert "Horizontal length, ft" in restraint.columns
    # The formula stands beside what it gives (AWWA C600, from memory), and so does what its length is.
    assert "L = S D sqrt(P) / 148,000" in tests.note
    assert "horizontal length S of it in ft" in tests.note
    missing = [row for row in asked(read_review(sample / "joints.gpkg")) if row[2].startswith("Not recorded")]
    assert {row[3] for row in missing} == {"1 field"}


def test_a_bend_logged_by_its_two_ends_is_one_bend_and_its_row_says_what_either_joint_may_take(sample):
    asbuilt.place(sample / "job_sawmill.toml", today=laying.TODAY).write(sample / "joints_sawmill.gpkg")
    (route,) = read_review(sample / "joints_sawmill.gpkg").routes
    # The sample's story: one bend of 45 degrees at joints 80 and 81, which leaves 1.4 (surveyed as 1.5) to the two.
    assert [words for _, words in shown.bends(route)] == ["45°", "22.5°"]
    bend = route.joints.frame.set_index("joint").loc["80"]
    assert deflections.deflection_words(bend.to_dict()) == "0.74 to 1.47"
    assert within_view(route)[79] == pytest.approx(1.47, abs=0.01)
    assert deflections.worst_deg(route.joints)[79] == pytest.approx(1.47, abs=0.01)
    quarry = read_review(sample / "joints.gpkg").routes[1]
    assert [words for _, words in shown.bends(quarry)] == ["45°", "22.5°", "11.25°", *["22.5°"] * 4]


def test_what_is_found_alike_at_the_joints_of_a_length_is_one_row(tmp_path):
    points = laying.pipe(np.zeros(9))
    log = laying.log(points, restrained=["yes" if at == 4 else "" for at in range(len(points))])
    lengths = [{"route": "A", "from": "0+00", "to": "2+00", "why": "bend, sheet C-4"}]
    laying.place(laying.lines(A=points), log, restraint=lengths).write(tmp_path / "placed.gpkg")
    # Joint 5 is restrained; the others of the length are one row.
    (row,) = (row for row in asked(read_review(tmp_path / "placed.gpkg")) if "recorded as restrained" in row[2])
    assert row[:2] == ["0+00.00 to 2+00.00", "1 to 4, 6 to 11 (10 joints)"]


def test_blank_fields_are_counted_as_the_findings_count_them(tmp_path):
    """A restrained joint is a family of its own; of two records of a joint the later one by date counts."""
    points = laying.pipe(np.zeros(7))
    log = laying.log(points, restrained=["yes" if at in (3, 4) else "" for at in range(len(points))])
    log.loc[5, "home to mark"] = ""
    log.loc[6, "inspector"] = ""
    # Entered last, but written a day before: the record above it, of the later day, counts.
    log = pd.concat([log, log.iloc[[2]].assign(date="2026-04-01", inspector="", gauge="")], ignore_index=True)
    log.to_csv(tmp_path / "log.csv", index=False)
    laying.lines(A=points).to_file(tmp_path / "line.gpkg")
    # A job file, since the review knows by the job what is required.
    (tmp_path / "job.toml").write_text("""name = "Quarry Lane"
centerline = { path = "line.gpkg", route = "route" }
records = { path = ["log.csv"], station_unit = "us-ft", laying_length = 20.0 }
limits = { table = "awwa-c600" }
inspection = { required = ["inspector", "insertion_mark"], required_for = { restrained-push-on = ["remarks"] } }
""")
    asbuilt.place(tmp_path / "job.toml", today=laying.TODAY).write(tmp_path / "placed.gpkg")
    review = read_review(tmp_path / "placed.gpkg")
    route = review.routes[0]
    rows = {row[0]: row[4:] for row in inspections.inspection_tables(review, route)[0].rows}
    assert rows["Inspector"] == ["7", "1", "85 %"]
    assert rows["Insertion mark"] == ["7", "1", "85 %"]
    assert rows["Remarks"] == ["2", "2", "0 %"]
    assert rows["Gauge"] == ["not required", "", ""]
    missing = route.findings.take(route.findings["code"] == "inspection-missing")
    assert sum(int(row[1] or 0) for row in rows.values()) == missing["value"].sum() == 4


def test_a_metric_job_in_memory_with_sizes_in_inches_is_reviewed_in_inches(tmp_path):
    points = laying.pipe(np.zeros(7), length=6.0)
    records = {"station_unit": "m", "laying_length": 6.0, "size_unit": "in"}
    laying.place(laying.lines(A=points), laying.log(points), records=records).write(tmp_path / "placed.gpkg")
    review = read_review(tmp_path / "placed.gpkg")
    (route,) = review.routes
    assert (route.size_unit, route.laying_length) == ("in", 6.0)
    assert laid.quantities(review, route).rows[0][0] == "12 in"


def test_temperatures_of_a_log_in_celsius_are_told_in_celsius(sample):
    """The log of C has 3,5 at one gasket; 40 F are (40 - 32) / 1.8 = 4.4 C."""
    review = read_review(sample / "joints_metric.gpkg")
    (route,) = review.routes
    (cold,) = (row for row in asked(review) if "warm it" in row[2])
    assert cold[3] == "3.5 C against 4.4 C"
    told = " ".join(
        title for table in inspections.inspection_tables(review, route) for row in table.rows for title in row
    )
    assert "(F)" not in told


def test_a_main_is_not_cleared_while_records_of_it_are_not_placed(tmp_path):
    points = laying.pipe(np.zeros(7))
    log = laying.log(points, route=["A"] * len(points))
    log.loc[8, "station"] = "9+00.00"
    log = pd.concat([log, log.iloc[[3]].assign(route="Z", joint="4")], ignore_index=True)
    both = laying.lines(A=points, B=points + np.array([0.0, 500.0, 0.0]))
    laying.place(both, log, centerline={"sigma_horizontal": 0.001}).write(tmp_path / "placed.gpkg")
    review = read_review(tmp_path / "placed.gpkg")
    table = not_placed.set_aside_on(review, review.routes[0])
    assert [(row[1], row[2]) for row in table.rows] == [("9", "9")]
    assert "1 more record of the job names no route of the centerline" in table.note
    write_review(tmp_path / "placed.gpkg", tmp_path / "review")
    page = (tmp_path / "review" / "route-A.html").read_text("utf-8")
    assert "hold nothing against this main" not in page
    assert "1 record of this route could not be placed" in page
    assert "1 more record of the job names no route" in page
