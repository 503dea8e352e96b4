"""Readings of a stretch against the turns of the survey: a row off on one route, on one sheet, or telling nothing."""

import numpy as np
import pandas as pd
import pytest
from job_blunders import ALLOWED_DEG, HOURS, planned
from laying import TODAY
from survey_mains import laid

import asbuilt

GAPS = [f"Gap {hour}" for hour in HOURS]


def placed(folder, job):
    job.shots.to_csv(folder / "shots.csv", index=False)
    job.log.to_csv(folder / "log.csv", index=False)
    return asbuilt.place(asbuilt.Job.from_mapping(job.values, folder=folder), today=TODAY)


def turned(placement):
    return [note.text for note in placement.notes if note.code == "readings-turned"]


def moved_down(job, rows=slice(None), by=1):
    for gap in GAPS:
        read = job.log[gap].tolist()
        read[rows] = [""] * by + read[rows][:-by]
        job.log[gap] = read
    return job


def test_of_two_routes_only_the_one_whose_gaps_stand_a_row_off_is_told_and_loses_them(tmp_path):
    one, other = planned(1, every=3, bends=0), moved_down(planned(2, every=3, bends=0))
    other.shots["easting"] += 5000.0
    one.shots["route"], other.shots["route"], other.log["route"] = "A", "B", "B"
    one.shots, one.log = pd.concat([one.shots, other.shots]), pd.concat([one.log, other.log])
    one.says("centerline", route_name=None, start_station={"A": "10+00", "B": "10+00"})
    placement = placed(tmp_path, one)
    (said,) = turned(placement)
    assert said.startswith("route B, from 10+20.00 to ")
    read = placement.joints.groupby("route")["measured_deg"].count()
    assert read["A"] == 60
    assert read.get("B", 0) == 0


@pytest.mark.parametrize(("by", "many"), [(2, "two"), (3, "three")])
def test_gaps_two_or_three_rows_down_are_told_by_how_many(tmp_path, by, many):
    placement = placed(tmp_path, moved_down(planned(1, every=4, bends=0, spread=2.0), by=by))
    (said,) = turned(placement)
    assert f"each stands {many} joints farther on than it was read at" in said
    assert placement.joints["measured_deg"].notna().sum() == 0


def test_one_sheet_a_row_off_is_told_with_its_stretch_and_other_joints_keep_their_readings(tmp_path):
    job = moved_down(planned(4, every=2, bends=0, joints=120, spread=2.0), slice(40, 80))
    placement = placed(tmp_path, job)
    (said,) = turned(placement)
    assert "each stands one joint farther on than it was read at" in said
    known = placement.joints["measured_deg"].notna().to_numpy()
    assert not known[44:76].any()
    assert known[:28].all()
    assert known[92:].all()


@pytest.mark.parametrize("seed", range(4))
def test_readings_that_only_scatter_are_not_told_to_be_in_centimetres_though_smaller_ones_leave_less(tmp_path, seed):
    main, draw = laid(seed, joints=80, bends=0, cuts=0, spread=0.05, noise=0.02, grade=0.1), np.random.default_rng(seed)
    right, up = draw.normal(0.0, 0.03, (2, 80))
    for hour in HOURS:
        clock = np.radians(30.0 * (hour % 12))
        main.log[f"Gap {hour}"] = [f"{one:.3f}" for one in 2.0 + right * np.sin(clock) + up * np.cos(clock)]
    job = planned(seed)
    job.shots, job.log = main.shots, main.log.assign(route="A")
    job.says("centerline", start_station="0+00")
    assert turned(placed(tmp_path, job)) == []


def of_joints(job, numbers):
    """Give each joint the gaps of another, as rows count from 0."""
    for gap in GAPS:
        job.log[gap] = job.log[gap].to_numpy()[numbers]
    return job


def wrong_within(job, placement):
    at = placement.joints["joint"].astype(int).to_numpy() - 1
    return int(np.sum((placement.joints["verdict"] == "within") & (job.turned[at] > ALLOWED_DEG)))


@pytest.mark.parametrize("seed", range(4))
def test_gaps_entered_from_the_other_end_tell_nothing_and_leave_no_joint_within_that_is_over(tmp_path, seed):
    job = of_joints(planned(seed, every=3, bends=0, joints=90, spread=2.0), np.arange(90)[::-1])
    placement = placed(tmp_path, job)
    (said,) = turned(placement)
    assert "joints tell nothing of the turns that the survey shows there" in said
    assert placement.joints["measured_deg"].notna().sum() <= 10
    assert wrong_within(job, placement) == 0


def test_of_two_sheets_exchanged_no_reading_is_taken_and_those_before_and_after_both_are(tmp_path):
    rows = np.arange(150)
    rows[30:60], rows[90:120] = np.arange(90, 120), np.arange(30, 60)
    placement = placed(tmp_path, of_joints(planned(3, every=2, bends=0, joints=150, spread=2.0), rows))
    said = turned(placement)
    assert said
    assert all("tell nothing of the turns" in one for one in said)
    known = placement.joints["measured_deg"].notna().to_numpy()
    assert not known[34:56].any()
    assert not known[94:116].any()
    assert known[:26].all()
    assert known[124:].all()


@pytest.mark.parametrize("seed", range(6))
def test_where_readings_and_a_shared_turn_contradict_one_another_none_is_within_by_its_reading(tmp_path, seed):
    # Four turns tell too little of a stretch; each by itself tells that one of its joints was read wrong.
    job = planned(seed, every=8, bends=0, joints=34)
    as_read = placed(tmp_path, job)
    over = np.flatnonzero(job.turned > ALLOWED_DEG)
    rows = np.arange(34)
    rows[over] = (over + 3) % 34
    spoilt = placed(tmp_path, of_joints(job, rows))
    assert turned(spoilt) == []
    assert wrong_within(job, spoilt) == 0
    assert (as_read.joints["verdict"] == "within").sum() >= 28


@pytest.mark.parametrize("seed", range(8))
def test_readings_worse_than_stated_on_a_main_that_curves_one_way_are_taken(tmp_path, seed):
    job, draw = planned(seed, every=3, bends=0, joints=90, spread=2.0, noise=0.04), np.random.default_rng(seed)
    for gap in GAPS:
        job.log[gap] = [f"{float(one) + draw.normal(0.0, 0.08):.2f}" for one in job.log[gap]]
    placement = placed(tmp_path, job)
    assert turned(placement) == []
    assert placement.joints["measured_deg"].notna().all()
