"""The first screen: what it says of mains that are fine, sparse, bad, assumed or drawn, and never says too much."""

import csv
import re
import xml.etree.ElementTree as ET
from collections import Counter

import faces
import laying
import numpy as np
import pandas as pd
import pytest
import shapely

from asbuilt.notes import NOTES
from asbuilt.review import answer, deflections, issues, laid, read_review, stakes, to_act_on, write_review
from asbuilt.review.pages import _turn_words
from asbuilt.review.reading import stands_on
from asbuilt.review.remarks import to_read_table
from asbuilt.review.shown import drawn_deflection
from asbuilt.schema import ASSUMPTIONS, CONDITIONS

STATED = {"sigma_horizontal": 0.005, "sigma_vertical": 0.005}
TESTED = [{"route": "A", "from": "0+00", "to": "end", "pressure_psi": 150, "duration_h": 2, "makeup_gal": 0.0,
           "tested_on": "2026-06-02"}]  # fmt: skip


def reviewed(folder, turns, *, shots=1, also=0, change=None, tested=True, told=True, centerline=None, **tables):
    """Place a main with a shot at every joint, or at the first ones and every so manieth; read it for review."""
    # A main on which every shot had one elevation would be asked about.
    points = laying.pipe(np.asarray(turns, dtype=float), up=0.002)
    log = laying.log(points)
    kept = sorted({*range(0, len(points), shots), len(points) - 1} | set(range(also)))
    along = shapely.line_locate_point(shapely.LineString(points[kept, :2]), shapely.points(points[:, :2]))
    log["station"] = [f"{int(at // 100)}+{at % 100:05.2f}" for at in np.floor(100 * along + 1e-6) / 100]
    tests = [{**TESTED[0], "to": log["station"].iloc[-1]}] if tested else []
    if change is not None:
        log = change(log)
    line = laying.lines(A=points[kept])
    more = {"centerline": {**STATED, **(centerline or {})}, "pressure_tests": tests, **tables}
    laying.place(line, log, told=told, **more).write(folder / "placed.gpkg")
    return read_review(folder / "placed.gpkg")


def first_screen(review):
    rows = issues.merged(issues.found(review), None, review.run["name"]).rows
    return answer.answer(review, review.routes[0], rows), to_act_on.to_act_on(review.routes[0], rows)


def test_every_assumption_has_its_condition_and_every_note_to_confirm_its_remedy():
    assert list(CONDITIONS) == list(ASSUMPTIONS)
    assert all(bool(kind.to_do) == (kind.severity != "note") for kind in NOTES.values())


def test_nothing_stands_against_a_main_that_was_measured_whole(tmp_path):
    review = reviewed(tmp_path, np.zeros(28), centerline={"starts": "south"})
    said, table = first_screen(review)
    assert said.sentence == ("No open findings: 28 within as measured; 2 not computed (the ends of the route).")
    assert table.rows == []
    states = dict(said.states)
    assert states["Evidence"] == "30 complete of 30 joints placed, of 30 expected; no record of this route set aside."
    assert states["Tests, restraint"] == "Pressure tests: 1 passed; no length on file that must be restrained."
    for words in ("0.005 us-ft in plan", "a shot every 20 ft", "95 % sure of each joint", "1.4 of 28 verdicts",
                  "no table of an approved submittal", "all alike", "A survey of the pipe"):  # fmt: skip
        assert words in said.basis.replace("0.005 ft", "0.005 us-ft")
    assert "stations alone" not in said.basis


def test_where_stations_alone_put_shots_at_joints_the_first_screen_says_so_and_what_would_settle_it(tmp_path):
    line = {"starts": "south", "shots_at_joints": False}
    said, _ = first_screen(reviewed(tmp_path, np.zeros(28), centerline=line, records={"sigma_station": 0.05}))
    assert said.sentence == (
        "No open findings, if what was not measured holds: none within as measured; 28 only if the shots are at the "
        "joints and not all beside them alike; 2 not computed (the ends of the route)."
    )
    for words in ("only the stations put the shots at joints", "centerline.shots_at_joints = true"):
        assert words in said.basis


@pytest.mark.parametrize(("told", "says"), [(True, False), (None, True)])
def test_a_job_that_says_that_the_joints_were_shot_is_not_told_that_only_stations_say_so(tmp_path, told, says):
    """Shots at every second joint: those between are within only if the main curves one way."""
    centerline = {"starts": "south", "shots_at_joints": told}
    said, _ = first_screen(reviewed(tmp_path, np.full(28, 0.2), shots=2, centerline=centerline))
    assert "curves one way" in said.sentence
    assert ("only the stations put the shots at joints" in said.basis) is says


@pytest.mark.parametrize("shots", [1, 4])
def test_joints_that_may_not_deflect_have_no_part_of_an_allowable(tmp_path, shots):
    """A table may say that a rigid joint is allowed nothing; nothing has no hundredth parts."""
    (tmp_path / "rigid.csv").write_text("joint type,size,allowable deg,source\npush-on,12,0,Submittal 9\n")
    turns = [0.0] * 8 + [3.0] * 9 + [0.0] * 8
    limits = {"table": str(tmp_path / "rigid.csv")}
    reviewed(tmp_path, turns, shots=shots, centerline={"starts": "south"}, limits=limits)
    write_review(tmp_path / "placed.gpkg", tmp_path / "review")
    page = (tmp_path / "review" / "route-A.html").read_text("utf-8")
    assert "inf %" not in page
    assert ("none is allowed: exceeds by" if shots == 1 else "no deflection is allowed there") in page


def curve_shot_at_every_third(tmp_path, worst):
    """Joints 13 to 28 at 4.9 of 5 degrees but for those of `worst`; give the joints that are truly over, the review."""
    turns = np.zeros(39)
    turns[11:27] = 4.9
    for joint, turn in worst.items():
        turns[joint - 2] = turn
    review = reviewed(tmp_path, turns, shots=3, centerline={"starts": "south"})
    names = review.routes[0].joints["joint"].tolist()
    return [name for name, turn in zip(names[1:-1], turns, strict=True) if turn > 5.0], review


@pytest.mark.parametrize(
    ("worst", "least"), [({17: 9.0}, 1), ({14: 9.0, 24: 9.0}, 2), ({15: 8.0, 17: 8.0, 21: 8.0, 26: 8.0}, 2)]
)
def test_of_joints_that_share_turns_no_more_are_said_to_be_over_than_the_shots_show(tmp_path, worst, least):
    """Known truth: one joint over its allowable makes two turns that it has a part in too large."""
    truly, review = curve_shot_at_every_third(tmp_path, worst)
    (route,) = review.routes
    blamed = [route.joints["joint"][at] for at in route.shared_turns]
    assert len(blamed) >= least
    said, table = first_screen(review)
    among = {at for turn in route.shared_turns.values() for at in range(turn.first, turn.last + 1)}
    assert set(truly) <= {route.joints["joint"][at] for at in among}
    told = f"at least {least} joint{'s' if least > 1 else ''} over among {len(among)} joints that share turns"
    assert least <= len(truly)
    assert f"Not yet: {told}" in said.sentence
    # A shot at the one where the turn was seen would tell nothing.
    over = [row for row in table.rows if row[1].startswith("one of ")]
    assert len(over) == len(blamed)
    assert all("Shoot or read each of these joints" in row[4] for row in over)
    listed = deflections.over_table(route)
    assert len(listed.rows) == len(blamed)
    assert all(row[1].startswith("one of ") and row[4].startswith("at least ") for row in listed.rows)
    assert "which may be within" in listed.note
    assert answer.counts(route)["joints_over_at_least"] == least


def test_a_joint_over_by_itself_is_counted_by_itself_beside_turns_that_others_share(tmp_path):
    """Shots at the first 11 joints, and at every third behind them: joint 6 is measured, those of the curve are not."""
    turns = np.zeros(39)
    turns[4], turns[16:23] = 7.0, 5.4
    said, table = first_screen(reviewed(tmp_path, turns, shots=3, also=11, centerline={"starts": "south"}))
    assert "1 joint over, and at least 1 more among 5 joints that share a turn" in said.sentence
    assert {row[1] for row in table.rows if "over" in row[2]} == {"6", "one of 20 to 24"}


def test_of_a_bend_that_was_logged_by_both_its_ends_one_joint_is_over_at_least(tmp_path):
    """A 45-degree bend, 2 ft long, on a line that turns 57 degrees there: 12 are left to two joints of 5."""
    azimuths = np.radians([0.0] * 10 + [28.5] + [57.0] * 18)
    lengths = np.where(np.arange(29) == 10, 2.0, 20.0)
    steps = np.stack([lengths * np.sin(azimuths), lengths * np.cos(azimuths), 0.002 * lengths], axis=1)
    points = laying.pipe(np.zeros(28))[0] + np.concatenate([np.zeros((1, 3)), np.cumsum(steps, axis=0)])
    ends = np.isin(np.arange(len(points)), (10, 11))
    log = laying.log(points, kind=np.where(ends, "bend", "pipe"), **{"bend angle": np.where(ends, "45", "")})
    shots = laying.lines(A=points + np.random.default_rng(5).normal(0.0, 0.01, points.shape))
    stated = {"sigma_horizontal": 0.01, "sigma_vertical": 0.01, "starts": "south", "shots_at_joints": True}
    laying.place(shots, log, centerline=stated).write(tmp_path / "placed.gpkg")
    review = read_review(tmp_path / "placed.gpkg")
    said, table = first_screen(review)
    assert (review.routes[0].joints["verdict"] == "over").sum() == 2
    over = review.routes[0].findings.take(review.routes[0].findings["code"] == "deflection-over")
    stations = log["station"].iloc[10], log["station"].iloc[11]
    assert [(one["from_station"], one["to_station"]) for one in over.records()] == [stations] * 2
    assert "at least 1 joint over among 2 joints that share a turn" in said.sentence
    (row,) = [row for row in table.rows if "bend leaves" in row[2]]
    assert row[1] == "one of 11 to 12"
    assert row[4].startswith("Read both joints of the bend")


def test_readings_that_contradict_the_survey_are_one_issue_and_one_row(tmp_path):
    """Shots at every joint, 7 degrees at joint 12; its gaps are even all around, which is no deflection at all."""
    turns = np.zeros(28)
    turns[10] = 7.0
    points = laying.pipe(turns, up=0.002)
    log = laying.log(points)
    gaps = np.where(log["joint"].astype(str) == "12", "2", "")
    log = log.assign(**{f"gap {hour}": gaps for hour in (12, 3, 6, 9)})
    shots = laying.lines(A=points + np.random.default_rng(3).normal(0.0, 0.02, points.shape))
    stated = {"sigma_horizontal": 0.02, "sigma_vertical": 0.02, "starts": "south", "shots_at_joints": True}
    laying.place(shots, log, centerline=stated).write(tmp_path / "placed.gpkg")
    review = read_review(tmp_path / "placed.gpkg")
    (route,) = review.routes
    assert {"deflection-conflict", "deflection-unclear"} <= set(route.findings["code"])
    said, table = first_screen(review)
    assert "1 joint whose readings contradict the survey" in said.sentence
    assert "cannot judge" not in said.sentence
    assert [row["finding"] for row in issues.found(review) if row["joint"] == "12"] == ["deflection-conflict"]
    (row,) = [row for row in table.rows if row[1] == "12"]
    assert "times what chance explains" in row[3]
    assert "12" not in [row[1] for row in table.rows if "cannot judge" in row[2]]


def test_few_joints_within_only_if_something_holds_are_named(tmp_path):
    review = reviewed(tmp_path, np.zeros(28), shots=2, also=11, centerline={"starts": "south"})
    (route,) = review.routes
    settled = np.flatnonzero(route.joints["verdict"] == "within-assumed")
    route.joints["verdict"][settled[2:]] = "within"
    said, _ = first_screen(review)
    places = [f"{one['joint']} at {one['station']}" for one in route.joints.take(settled[:2]).records()]
    assert f". Within only so: joints {', '.join(places)}." in dict(said.states)["Deflection"]


def test_corners_of_a_line_that_nobody_calls_shot_are_not_called_shots(tmp_path):
    review = reviewed(tmp_path, np.zeros(8), centerline=dict.fromkeys(STATED))
    assert "nobody says whether it was shot" in answer.basis(review, review.routes[0])
    assert "a corner of it every 20 ft" in answer.basis(review, review.routes[0])
    assert "a shot every" not in answer.basis(review, review.routes[0])


def test_what_is_within_only_if_is_never_counted_as_within(tmp_path):
    """Shots at every second joint bound those between only while the main curves one way."""
    review = reviewed(tmp_path, np.zeros(28), shots=2, also=11, centerline={"starts": "south"})
    said, _ = first_screen(review)
    by = Counter(review.routes[0].joints["verdict"])
    assert by["within-assumed"] > 10
    assert by["within"] > 5
    for text in (said.sentence, dict(said.states)["Deflection"]):
        assert f"{by['within']} within as measured" in text
        assert f"{by['within-assumed']} only if the main curves one way between shots" in text
        assert str(by["within"] + by["within-assumed"]) not in re.sub(r"[^\d]", " ", text).split()
    assert said.sentence.startswith("No open findings, if what was not measured holds")


def test_a_joint_over_that_rests_on_an_assumption_says_so(tmp_path):
    turns = np.zeros(28)
    turns[14] = 7.0
    said, table = first_screen(reviewed(tmp_path, turns, centerline={"sigma_horizontal": None, "sigma_vertical": None}))
    assert "1 joint over (if the shots are without error)" in said.sentence
    assert said.sentence.endswith(". None within as measured; 27 only if the shots are without error.")
    assert table.rows[0][:2] == ["3+00.00", "16"]
    assert "this rests on more than was measured: no standard error of the shots is stated" in table.rows[0][2]
    # 7 degrees of 5 allowed.
    assert table.rows[0][3] == "140 % of 5.00 deg: exceeds by 2.00 deg"
    sure, table = first_screen(reviewed(tmp_path, turns, centerline=laying.LOOKED_AT))
    assert "1 joint over." in sure.sentence
    assert "without error" not in " ".join(cell for row in table.rows for cell in row)


def test_the_worst_stands_first_and_each_thing_is_counted_once(tmp_path):
    def change(log):
        log.loc[3, "gauge"] = "fail"
        log.loc[[5, 6, 8], "inspector"] = ""
        log.loc[20, "joint type"] = "welded"
        log.loc[25, "station"] = "what"
        return log.drop(index=[12])

    turns = np.zeros(28)
    turns[[7, 17]] = [6.0, 9.0]
    review = reviewed(tmp_path, turns, change=change, tested=False)
    said, table = first_screen(review)
    words = ("2 joints over", "1 inspection failed", "3 incomplete", "missing from the log",
             "1 joint without an allowable on file", "1 record not placed", "no pressure test on file")  # fmt: skip
    assert [one for one in words if one not in said.sentence] == []
    over = [row[0] for row in table.rows if "over the allowable" in row[2]]
    assert over == ["3+60.00", "1+60.00"]
    assert [row[0] for row in table.rows][:2] == over
    # Two neighbours lack the same: one row.
    assert [row[1] for row in table.rows if "Not recorded" in row[2]] == ["6 to 7 (2 joints)", "9"]
    # 28 joints stand in the file; one was left out of the log and one could not be placed: both are gaps in it.
    assert "of at least 30 expected" in dict(said.states)["Evidence"]
    assert "1 record of this route set aside" in dict(said.states)["Evidence"]
    assert table.count == len(review.routes[0].findings) + 2  # the record set aside, and no test


def test_a_direction_that_nothing_in_the_data_tells_is_to_be_confirmed(tmp_path):
    review = reviewed(tmp_path, np.zeros(28), told=False)
    said, table = first_screen(review)
    assert said.sentence == "Not yet: 1 thing about the job to confirm."
    (row,) = table.rows
    assert row[0] == "whole route"
    assert "Nothing in the data tells which way the line runs" in row[2]
    assert row[4] == NOTES["direction-untold"].to_do


def test_a_sparse_survey_is_one_sentence_and_stretches_by_their_even_share(tmp_path):
    """Thirty joints of 2 and thirty of 3 degrees, shot at every fifth: shares of 40 and 60 % of the 5 allowed."""
    turns = np.concatenate([np.zeros(10), np.full(30, 2.0), np.zeros(20), np.full(30, 3.0), np.zeros(9)])
    review = reviewed(tmp_path, turns, shots=5)
    (route,) = review.routes
    said = deflections.sparse(route)
    unclear = int((route.joints["verdict"] == "cannot-tell").sum())
    assert unclear > 40
    assert said.cannot == f"Shots every 100 ft cannot judge {unclear} joints"
    assert "a shot every 100 ft (the middle one of" in answer.basis(review, route)
    assert [row[3:5] for row in said.table.rows] == [["3.00", "60 %"], ["2.00", "40 %"]]
    assert said.share.startswith("an even share of the turn is up to 60 % of the allowable; one joint may take up to ")
    worst = said.table.rows[0]
    # Whole lengths between shots, a hundred feet each: a joint is settled by shots at both of its neighbours.
    assert said.remedy.startswith(f"shoot or read every joint between the shots, {worst[7]}, ")
    begin, end = (float(one.replace("+", "")) for one in worst[7].split(" to "))
    assert all(one % 100 < 3 or one % 100 > 97 for one in (begin, end))
    assert begin < float(worst[0].replace("+", "")) - 15
    assert end > float(worst[1].replace("+", "")) + 15
    first, table = first_screen(review)
    assert f"the survey cannot judge {unclear} of {len(route.joints)} joints" in first.sentence
    assert dict(first.states)["Deflection"].startswith(
        f"None found over; the survey cannot judge {unclear} of {len(route.joints)} joints; "
    )
    assert deflections.over_table(route).none.startswith(
        f"No joint is found over its allowable; {unclear} of {len(route.joints)} cannot be judged, and "
    )
    assert len([row for row in table.rows if "cannot judge" in row[2]]) == 1
    # A line that curves between its shots has many vertices besides them.
    curved = reviewed(tmp_path, turns, shots=5, centerline={"between": "curve"})
    assert len(curved.routes[0].line) > len(route.line)
    assert deflections.sparse(curved.routes[0]).cannot.startswith("Shots every 100 ft cannot judge ")
    assert "a shot every 100 ft (the middle one of" in answer.basis(curved, curved.routes[0])
    review = reviewed(tmp_path, turns, shots=5)
    write_review(review.path, tmp_path / "out")
    page = (tmp_path / "out" / "route-A.html").read_text("utf-8")
    assert f"Every joint of {worst[7]}, {said.table.rows[1][7]} is to be shot or read" in page
    assert page.count("<details") == 2
    assert "It is no verdict: any of them may take more" in page


def test_joints_over_against_one_another_between_shots_are_among_those_to_shoot(tmp_path):
    """Pipe around a vault: two joints over, one to the right and one to the left, anywhere between sparse shots."""
    chance = np.random.default_rng(5)
    named_of_all = []
    for number in range(12):
        many, apart = 58, int(chance.integers(1, 3))
        at = int(chance.integers(0, many - apart))
        turns = np.zeros(many)
        turns[[at, at + apart]] = np.array([1.0, -1.0]) * chance.uniform(5.3, 7.0) * chance.choice([-1.0, 1.0])
        (folder := tmp_path / str(number)).mkdir()
        (route,) = reviewed(folder, turns, shots=5, centerline=laying.LOOKED_AT).routes
        assert not (route.joints["verdict"] == "over").any()
        station, told = route.joints["station"].tolist(), deflections.sparse(route).table.rows
        named = {row[7] for row in told}
        ranges = [[station.index(one) for one in (name.split(" to ") * 2)[:2]] for name in named]
        inside = {joint for first, last in ranges for joint in range(first, last + 1)}
        # The first joint of the route turns nothing.
        assert {at + 1, at + 1 + apart} <= inside, (number, at, apart, named)
        named_of_all.append(len(inside) / many)
    # Not the whole main: three lengths of five joints in sixty, at the most.
    assert np.mean(named_of_all) < 0.35


def test_joints_that_cancel_out_at_the_shots_are_asked_about_though_nothing_is_found(tmp_path):
    """Three joints around something and back: the shots show nothing at all, and no length is named."""
    turns = np.zeros(58)
    turns[26:29] = 5.3, -10.07, 5.3
    review = reviewed(tmp_path, turns, shots=5, centerline={**laying.LOOKED_AT, "starts": "south"})
    (route,) = review.routes
    assert set(route.joints["verdict"]) == {"within-assumed", "not-computed"}
    first, table = first_screen(review)
    assert first.sentence.startswith("No open findings, if what was not measured holds: ")
    (row,) = table.rows
    assert row[1] == "58 joints"
    assert "where it goes around something and back, the shots show nothing of it" in row[2]
    assert "elevation" not in row[2]
    assert row[4].startswith("Shoot or read every joint where the pipe may go around something")


def test_a_main_without_elevations_asks_for_them_though_nothing_is_found(tmp_path):
    """Three joints over in grade alone: of a line without heights nothing is found, and that is not enough."""
    points = laying.pipe(np.zeros(58))
    level = laying.lines(A=points[:, :2])
    tests = [{**TESTED[0], "to": "11+80.00"}]
    laying.place(
        level, laying.log(points), centerline={**laying.LOOKED_AT, "starts": "south", "sigma_horizontal": 0.02},
        pressure_tests=tests,
    ).write(tmp_path / "placed.gpkg")  # fmt: skip
    _, table = first_screen(read_review(tmp_path / "placed.gpkg"))
    (row,) = [row for row in table.rows if row[2].startswith("Not measured")]
    assert "where none was shot they show nothing of it" in row[2]
    assert row[4] == "Have the elevation of every joint shot, or the joints read"


def test_where_a_shot_is_not_believed_no_share_of_its_turn_is_told(tmp_path):
    """One shot 3 ft beside a straight main: nobody knows what is turned there, and nought would be a claim."""
    turns = np.zeros(28)
    turns[13:16] = 8.5, -17.0, 8.5
    review = reviewed(tmp_path, turns, centerline={"starts": "south"})
    (row,) = deflections.sparse(review.routes[0]).table.rows
    assert (row[3], row[4], row[5]) == ("not known", "", "no bound")
    assert deflections.sparse(review.routes[0]).share == "nothing bounds what one joint takes"


def test_a_record_set_aside_leaves_open_how_many_joints_are_to_be_expected(tmp_path):
    review = reviewed(tmp_path, np.zeros(28), change=lambda log: pd.concat(
        [log, log.iloc[-1:].assign(joint="31", station="6+20.00")], ignore_index=True))  # fmt: skip
    said, _ = first_screen(review)
    assert "30 complete of 30 joints placed, of at least 30 expected" in dict(said.states)["Evidence"]


@pytest.mark.parametrize(("logged", "said"), [(None, "not logged"), (20.0, "560.00 (28 of 29 logged)")])
def test_a_length_that_no_record_tells_is_not_told_as_nought(tmp_path, logged, said):
    """Thirty joints, 29 lengths: none logged, or all but one."""

    def change(log):
        return log if logged is None else log.assign(laid_length=[np.nan, *[logged] * 28, np.nan])

    review = reviewed(tmp_path, np.zeros(28), change=change)
    assert laid.quantities(review, review.routes[0]).rows[-1][5] == said


@pytest.mark.parametrize(
    ("joint", "said"),
    [
        ({"own_deflection_deg": 3.0, "verdict": "within"}, "60 %: 2.00 deg left"),
        ({"own_deflection_deg": np.nan, "deflection_ceiling_deg": 4.0, "verdict": "within-assumed"},
         "up to 80 %: 1.00 deg left, if what it assumes holds"),
        ({"own_deflection_deg": 4.9, "may_take_deg": 5.3, "verdict": "cannot-tell"},
         "98 %, up to 106 % with its error: may exceed by 0.30 deg"),
        ({"own_deflection_deg": np.nan, "may_take_deg": 5.3, "verdict": "cannot-tell"},
         "up to 106 %: may exceed by 0.30 deg"),
        ({"own_deflection_deg": 4.0, "may_take_deg": np.nan, "verdict": "cannot-tell"}, "80 %, not bounded"),
        ({"own_deflection_deg": np.nan, "deflection_floor_deg": 6.0, "verdict": "over"},
         "at least 120 %: exceeds by at least 1.00 deg"),
        ({"own_deflection_deg": np.nan, "may_take_deg": np.nan, "verdict": "cannot-tell"}, "not bounded"),
        ({"own_deflection_deg": 4.9, "verdict": "no-allowable"}, ""),
    ],
)  # fmt: skip
def test_a_joint_is_told_in_per_cent_of_its_allowable_and_never_by_a_negative_rest(joint, said):
    told = deflections.against_words({"allowable_deg": 5.0} | joint)
    assert told == said
    assert "-" not in told


def test_the_numbers_of_a_joint_agree_between_table_card_and_list(tmp_path):
    turns = np.zeros(28)
    turns[14] = 7.0
    review = reviewed(tmp_path, turns)
    (route,) = review.routes
    (row,) = (row for row in issues.found(review) if row["finding"] == "deflection-over")
    joint = route.joints.records()[row["at"]]
    (over,) = deflections.over_table(route).rows
    assert row["measured"] == pytest.approx(joint["own_deflection_deg"], abs=0.001)
    assert over[4].startswith(f"{row['measured']:.2f} ± ")
    much = to_act_on.how_much(row["finding"], row["unrounded"], row["limit"], row["unit"])
    assert much.replace(" of 5.00 deg", "") == over[7] == deflections.against_words(joint)


def test_what_an_unclear_joint_may_take_is_one_number_in_stretches_table_card_and_list(tmp_path):
    """The shots are known to 0.02 ft, so at the confidence of the verdicts a joint may take more than they show."""
    turns = np.concatenate([np.zeros(10), np.full(12, 1.5), np.zeros(9)])
    review = reviewed(tmp_path, turns, shots=3, centerline={"sigma_horizontal": 0.02, "sigma_vertical": 0.02})
    (route,) = review.routes
    listed = {row["at"]: row for row in issues.found(review) if row["finding"] == "deflection-unclear"}
    assert len(listed) == (route.joints["verdict"] == "cannot-tell").sum() > 3
    table = deflections.unclear_table(route)
    for at, cells in zip(table.joints, table.rows, strict=True):
        row = listed[at]
        much = to_act_on.how_much(row["finding"], row["unrounded"], row["limit"], row["unit"])
        assert much.partition(": ")[2] == cells[7].partition(": ")[2] != ""
        # More than the shots show by themselves.
        assert row["unrounded"] > route.joints["deflection_ceiling_deg"][at] + 0.05
        assert cells[4].endswith(f" to {row['unrounded']:.2f}")
        assert drawn_deflection(route)[at] == row["unrounded"]
    most = max(row["unrounded"] for row in listed.values())
    assert f"{most:.2f}" in {row[5] for row in deflections.sparse(route).table.rows}
    assert deflections.sparse(route).share.endswith(f"one joint may take up to {100 * most / 5.0:,.0f} %")


def test_no_number_stands_on_a_page_as_a_power_of_ten(tmp_path):
    def change(log):
        log["restrained"] = "yes"
        return log

    lengths = [{"route": "A", "from": "0+00", "to": "1+00", "why": "bend"}]
    review = reviewed(tmp_path, np.full(28, 1e-12), change=change, restraint=lengths)
    write_review(review.path, tmp_path / "out")
    page = (tmp_path / "out" / "route-A.html").read_text("utf-8")
    text = re.sub(r"<(script|style)[^>]*>.*?</\1>|<[^>]*>", " ", page, flags=re.DOTALL)
    assert re.findall(r"\d(?:\.\d+)?e[-+]?\d+", text) == []
    assert re.findall(r"\bnan\b", text, flags=re.IGNORECASE) == []


def test_a_page_uses_one_word_for_what_rests_on_an_assumption(tmp_path):
    review = reviewed(tmp_path, np.zeros(28), shots=2)
    write_review(review.path, tmp_path / "out")
    page = (tmp_path / "out" / "route-A.html").read_text("utf-8")
    assert "within-assumed" in page
    assert not re.search(r"(?<!within-)\bassumed\b", re.sub(r"<script.*?</script>|<style.*?</style>", "", page,
                                                            flags=re.DOTALL))  # fmt: skip


def test_a_route_of_another_name_is_not_blamed(tmp_path):
    points = laying.pipe(np.zeros(8))
    both = laying.lines(A=points, B=points + np.array([0.0, 900.0, 0.0]))
    logs = [laying.log(points, route=[name] * len(points)) for name in ("A", "B")]
    logs[1].loc[3, "gauge"] = "fail"
    laying.place(both, pd.concat(logs, ignore_index=True), centerline=STATED).write(tmp_path / "placed.gpkg")
    review = read_review(tmp_path / "placed.gpkg")
    rows = issues.merged(issues.found(review), None, review.run["name"]).rows
    fine, bad = (answer.answer(review, route, rows).sentence for route in review.routes)
    assert "failed" not in fine
    assert "1 inspection failed" in bad


def test_a_line_that_is_anothers_stands_before_all_that_rests_on_it_and_nothing_is_staked_out_there(tmp_path):
    laying.two_exchanged().write(tmp_path / "placed.gpkg")
    review = read_review(tmp_path / "placed.gpkg")
    _, table = first_screen(review)
    note, finding, unclear, *_ = table.rows
    assert note[0] == "2 routes"
    assert note[2].startswith("Routes A and B seem to be exchanged: ")
    assert "look at the route names of the log" in finding[2]
    assert unclear[2] == "The line seems to be another's, and its shots cannot judge 69 joints"
    assert unclear[4] == "Put the names of log and line right first: shots at these places would be of other joints"
    write_review(tmp_path / "placed.gpkg", tmp_path / "review")
    assert len((tmp_path / "review/stakes.csv").read_text().splitlines()) == 1
    page = (tmp_path / "review/route-A.html").read_text("utf-8")
    assert "nothing is staked out until the names of log and line are put right" in page.replace("&#39;", "'")


def test_a_line_that_its_log_runs_on_beyond_stands_before_all_that_rests_on_it(tmp_path):
    points = laying.pipe(np.full(60, 0.5))
    laying.place(laying.lines(A=points[:50:5]), laying.log(points)).write(tmp_path / "placed.gpkg")
    _, table = first_screen(read_review(tmp_path / "placed.gpkg"))
    assert table.rows[0][0] == "whole route"
    assert "the log runs on for" in table.rows[0][2]
    assert len(table.rows) > 3


def test_what_is_said_of_the_line_of_one_route_stands_on_its_page_alone(tmp_path):
    points = laying.pipe(np.full(60, 0.5))
    other = points + np.array([900.0, 0.0, 0.0])
    records = pd.concat([laying.log(one).assign(route=name) for name, one in (("A", points), ("B", other))])
    placement = laying.place(laying.lines(A=points, B=other[:50]), records.reset_index(drop=True), centerline=STATED)
    placement.write(tmp_path / "placed.gpkg")
    review = read_review(tmp_path / "placed.gpkg")
    rows = issues.merged(issues.found(review), None, review.run["name"]).rows
    shown = {
        route.name: any(
            "the log runs on for" in row[2] for row in to_act_on.to_act_on(route, rows).rows if row[0] == "whole route"
        )
        for route in review.routes
    }
    assert shown == {"A": False, "B": True}
    told = {route.name: answer.answer(review, route, rows).sentence for route in review.routes}
    things = {name: int(said.partition(" thing")[0].rpartition(" ")[2]) for name, said in told.items()}
    assert things["B"] == things["A"] + 1


@pytest.fixture(scope="module")
def one_noted(tmp_path_factory):
    """Two mains, of the second of which a sheet stands twice and all shots have one elevation."""
    points = laying.pipe(np.full(30, 0.5), up=0.002)
    other = points + np.array([900.0, 0.0, 0.0])
    other[:, 2] = 100.0
    own, theirs = (laying.log(one).assign(route=name) for name, one in (("A", points), ("B", other)))
    records = pd.concat([own, theirs, theirs[5:15]]).reset_index(drop=True)
    path = tmp_path_factory.mktemp("noted") / "placed.gpkg"
    job = STATED | {"sigma_horizontal": 0.02, "sigma_vertical": 0.05}
    laying.place(laying.lines(A=points, B=other), records, centerline=job).write(path)
    return path


def test_notes_on_one_route_stand_on_its_page_and_in_the_list_with_its_name(one_noted):
    review = read_review(one_noted)
    rows = issues.found(review)
    of_code = {row["finding"]: row["route"] for row in rows if row["finding"] in NOTES}
    assert of_code["rows-doubled"] == of_code["survey-screened"] == "B"
    for words in ("the same 10 joints in the same order", "which no survey finds"):
        told = {route.name: to_act_on.to_act_on(route, rows).rows for route in review.routes}
        assert [name for name, cells in told.items() if any(words in row[2] for row in cells)] == ["B"]
        said = {route.name: laid.survey_table(review, route).rows for route in review.routes}
        assert [name for name, cells in said.items() if any(words in row[1] for row in cells)] == ["B"]
    (page,) = (row for row in said["B"] if "which no survey finds" in row[1])
    assert page[0] == "Note on the route"


def test_a_review_of_one_route_lists_no_note_on_another_and_keeps_what_was_typed_of_it(one_noted):
    every = read_review(one_noted)
    first = issues.merged(issues.found(every), None, every.run["name"])
    typed = [{name: str(cell) for name, cell in row.items() if name not in ("at", "on")} for row in first.rows]
    for row in typed:
        if row["finding"] == "rows-doubled":
            row |= {"closed on": "2026-04-02", "by whom": "R. Vance", "state": "closed"}
    one = read_review(one_noted, ["A"])
    found = issues.found(one)
    assert not [row for row in found if row["route"] == "B"]
    back = issues.merged(found, issues.Issues(typed, every.run["name"]), every.run["name"], frozenset("B"))
    (kept,) = (row for row in back.rows if row["finding"] == "rows-doubled")
    assert (kept["state"], kept["by whom"], kept["route"]) == ("closed", "R. Vance", "B")
    (route,) = one.routes
    assert "R. Vance" not in answer.answer(one, route, back.rows).closings


def test_what_is_noted_of_a_route_without_joints_stands_on_all_pages():
    """Of route C no record could be placed, so it has no page."""
    assert stands_on(("C",), "A", ("C",))
    assert not stands_on(("B",), "A", ("C",))


def test_what_was_typed_at_a_note_on_one_route_is_not_carried_to_the_same_note_on_another(one_noted):
    review = read_review(one_noted)
    found = issues.found(review)
    first = issues.merged(found, None, review.run["name"])
    typed = [{name: str(cell) for name, cell in row.items() if name not in ("at", "on")} for row in first.rows]
    for row in typed:
        if row["finding"] == "rows-doubled":
            row |= {"closed on": "2026-04-02", "by whom": "R. Vance", "state": "closed", "route": "A"}
    back = issues.merged(found, issues.Issues(typed, review.run["name"]), review.run["name"])
    states = {row["route"]: (row["state"], row["by whom"]) for row in back.rows if row["finding"] == "rows-doubled"}
    assert states == {"A": (issues.GONE, "R. Vance"), "B": (issues.OPEN, "")}


def staked(folder):
    """Give the points to stake out of a review, and what each says in the file for a receiver."""
    with (folder / "stakes.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    ways = ET.parse(folder / "stakes.gpx").getroot().findall(f"{{{stakes.GPX}}}wpt")
    return rows, [one.findtext(f"{{{stakes.GPX}}}desc") for one in ways]


def test_joints_that_may_lie_elsewhere_say_so_where_they_are_staked_out(tmp_path):
    """The log runs on beyond its line: at which end shots are missing nobody knows, so any joint may be elsewhere."""
    points = laying.pipe(np.full(60, 0.5))
    records = laying.log(points)
    records.loc[20, "gauge"] = "fail"
    laying.place(laying.lines(A=points[:50:5]), records).write(tmp_path / "placed.gpkg")
    write_review(tmp_path / "placed.gpkg", tmp_path / "review")
    rows, told = staked(tmp_path / "review")
    assert "21" in {row["joint"] for row in rows}
    assert {row["place_doubted_by"] for row in rows} == {"coverage-short"}
    assert all(row["description"].endswith("; it may lie elsewhere than here, see coverage-short") for row in rows)
    assert all(one.startswith("PLACE DOUBTED (coverage-short); ") for one in told)
    page = (tmp_path / "review/route-A.html").read_text("utf-8")
    assert f"{len(rows)} of the {len(rows)} may lie elsewhere than these coordinates say" in page
    faces.agree(tmp_path / "placed.gpkg", tmp_path / "review")


def test_joints_of_which_only_records_are_asked_are_counted_where_they_would_hide_those_that_failed(tmp_path):
    points = laying.pipe(np.full(60, 0.5))
    records = laying.log(points)
    records.loc[10:45, "gasket temp"] = "31"
    records.loc[[20, 50], "gauge"] = "fail"
    laying.place(laying.lines(A=points), records, inspection={"min_gasket_temperature_f": 40}).write(
        tmp_path / "placed.gpkg"
    )
    write_review(tmp_path / "placed.gpkg", tmp_path / "review")
    rows, _ = staked(tmp_path / "review")
    assert len(rows) == 37
    page = (tmp_path / "review/route-A.html").read_text("utf-8")
    table = page[page.index("Joints to stake out: ") :]
    table = table[: table.index("</figure>" if "</figure>" in table else "Along the route")]
    assert table.count("inspection-failed") == 2
    assert "35 more, of which only records are asked about (gasket-cold at 35), stand in stakes.csv" in table


def test_of_a_line_without_a_doubt_no_place_is_doubted(tmp_path):
    points = laying.pipe(np.full(60, 0.5))
    records = laying.log(points)
    records.loc[20, "gauge"] = "fail"
    laying.place(laying.lines(A=points[::5]), records).write(tmp_path / "placed.gpkg")
    write_review(tmp_path / "placed.gpkg", tmp_path / "review")
    rows, told = staked(tmp_path / "review")
    assert rows
    assert not any(row["place_doubted_by"] for row in rows)
    assert not any("DOUBTED" in one for one in told)


def test_joints_known_to_stand_elsewhere_are_not_staked_out_but_for_those_surveyed_themselves(tmp_path):
    """Bends tell that a line which is 60 ft short begins 60 ft late; one joint was shot itself."""
    turn = np.zeros(60)
    turn[[19, 40]] = 22.5, -22.5
    points = laying.pipe(turn)
    told = np.isin(np.arange(len(points)), (20, 41))
    more = {"kind": np.where(told, "bend", "pipe"), "bend angle": np.where(told, "22.5", "")}
    records = laying.log(points, gauge=np.where(np.isin(np.arange(len(points)), (10, 50)), "fail", "ok"), **more)
    laying.place(laying.lines(A=points[3:]), records).write(tmp_path / "placed.gpkg")
    write_review(tmp_path / "placed.gpkg", tmp_path / "review")
    rows, _ = staked(tmp_path / "review")
    assert rows == []
    page = (tmp_path / "review/route-A.html").read_text("utf-8")
    assert "nothing is staked out until what is said of the whole line is put right" in page
    said = (tmp_path / "review/stakes.gpx").read_text("utf-8")
    assert "route A: all joints of the line stand elsewhere" in said
    faces.agree(tmp_path / "placed.gpkg", tmp_path / "review")
    own = np.arange(len(points)) == 50
    where = {
        name: np.where(own, [f"{one:.3f}" for one in points[:, at]], "")
        for at, name in enumerate(("easting", "northing"))
    }
    laying.place(laying.lines(A=points[3:]), records.assign(**where)).write(tmp_path / "shot.gpkg")
    write_review(tmp_path / "shot.gpkg", tmp_path / "again")
    assert {row["joint"] for row in staked(tmp_path / "again")[0]} <= {"51"}


def test_a_remark_of_trouble_has_a_place_of_its_own_and_its_rule_is_named(tmp_path):
    def remarked(log):
        return log.assign(remarks=["dry", "leak at bell"] + [""] * (len(log) - 2))

    review = reviewed(tmp_path, np.zeros(28), change=remarked)
    (route,) = review.routes
    table = to_read_table(route)
    assert [row[1:] for row in table.rows] == [["2", "leak at bell"]]
    assert "by a plain rule" in table.note
    assert "nothing here judges what they mean" in table.note
    assert to_act_on.for_information(route).rows == []
    said, _ = first_screen(review)
    assert dict(said.states)["Remarks"].startswith("To read: those at joint 2 have a word")
    write_review(tmp_path / "placed.gpkg", tmp_path / "out")
    page = (tmp_path / "out" / "route-A.html").read_text("utf-8")
    assert page.index('id="plots-title"') < page.index('id="to-read"') < page.index('id="stakes"')


def test_a_joint_that_may_be_missing_is_not_counted_as_missing(tmp_path):
    """Joints 10 and 11 stand 25.8 ft apart, and no number is free between them: the station of 11 may be wrong."""

    def beyond(log):
        log.loc[10, "station"] = "2+05.80"
        return log

    review = reviewed(tmp_path, np.zeros(28), change=beyond)
    said, _ = first_screen(review)
    assert "missing from the log" not in said.sentence
    assert "1 place where a joint may be missing, or a station or a length is wrong" in said.sentence
    assert "30 joints placed, of at least 30 expected; 1 place where" in dict(said.states)["Evidence"]


def test_a_note_leaves_out_the_route_whose_page_it_stands_on(tmp_path):
    (route,) = reviewed(tmp_path, np.zeros(28)).routes
    note = {"finding": "shots-apart", "routes": 1, "what": "route A: 237 ft were not shot"}
    note |= {"to do": "", "closed on": ""}
    cells, *_ = to_act_on._job_cells(note, route.name)
    assert cells[:3] == ["whole route", "", "237 ft were not shot"]
    assert to_act_on._job_cells(note, "B")[0][2].startswith("Route A: 237 ft")


def test_what_no_shot_shows_at_a_joint_is_no_turn_of_nothing(tmp_path):
    """Between shots 100 ft apart the line is drawn straight: 0.00 there was read as measured."""
    turns = np.zeros(28)
    turns[9] = 2.0
    (route,) = reviewed(tmp_path, turns, shots=5).routes
    told = _turn_words(route.joints)
    assert set(told["Turn right, deg"][1:-1]) == {"not measured"}
    (route,) = reviewed(tmp_path, turns).routes
    right = _turn_words(route.joints)["Turn right, deg"]
    assert right[10] == "2.00"
    assert right[12] == "0.00"


def test_without_elevations_no_profile_is_drawn(tmp_path):
    points = laying.pipe(np.zeros(28))
    laying.place(laying.lines(A=points[:, :2]), laying.log(points)).write(tmp_path / "flat.gpkg")
    write_review(tmp_path / "flat.gpkg", tmp_path / "flat")
    page = (tmp_path / "flat" / "route-A.html").read_text("utf-8")
    assert "no profile is drawn" in page
    assert page.count('class="picture"') == 2
    reviewed(tmp_path, np.zeros(28))
    write_review(tmp_path / "placed.gpkg", tmp_path / "out")
    page = (tmp_path / "out" / "route-A.html").read_text("utf-8")
    assert "no profile is drawn" not in page
    assert page.count('class="picture"') == 3
