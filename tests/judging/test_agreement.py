"""Readings of a stretch against the turns of the survey: a row off on one route, on one sheet, or telling nothing."""

import numpy as np
import pandas as pd
import pytest
from job_blunders import HOURS, planned
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
