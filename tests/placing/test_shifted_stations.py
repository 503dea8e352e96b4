"""Stations of a run of rows that run off the pipes and back again: named with the rows, and none of them judged."""

import crew_slips
import numpy as np
import pandas as pd
import pytest
from blunders import said, stations_of_a_page_shifted
from survey_mains import laid

SHOTS = {"sigma_horizontal": 0.02, "sigma_vertical": 0.02}


@pytest.mark.parametrize("by", [20.0, -20.0, 33.0])
@pytest.mark.parametrize("every", [1, 4])
def test_joints_of_a_page_whose_stations_are_shifted_may_lie_as_far_off_and_are_not_judged(tmp_path, by, every):
    main = laid(6, every=every, noise=0.02, cuts=0)
    truth = main.truth()
    stations_of_a_page_shifted(by)(main, 6)
    placement = said(tmp_path, main, centerline=SHOTS, records={"sigma_station": 0.03}).placed
    (message,) = placement.findings.query("code == 'stations-shifted'")["message"]
    assert f"{'ahead of' if by > 0 else 'behind'} the pipes laid at 30 joints" in message
    assert "row 31, joint 31" in message
    assert "row 60, joint 60" in message
    assert ("as if these were the stations of the other end of each pipe" in message) == (abs(by) == 20.0)
    joints = placement.joints.assign(number=placement.joints["joint"].astype(int)).set_index("number").sort_index()
    assert not {"within", "within-assumed", "over"} & set(joints.loc[31:60, "verdict"])
    away = [
        np.hypot(one.easting - truth[one.joint][0], one.northing - truth[one.joint][1]) for one in joints.itertuples()
    ]
    assert (np.array(away) <= joints["accuracy_horizontal"] + 0.5).all()
    assert joints.loc[2:28, "accuracy_horizontal"].max() < 5.0


@pytest.mark.parametrize("seed", range(6))
def test_a_joint_left_out_and_one_short_pipe_are_no_shift(tmp_path, seed):
    main = laid(seed, noise=0.02)
    main.log = main.log.drop(index=[30, 55]).reset_index(drop=True)
    placement = said(tmp_path, main, centerline=SHOTS).placed
    assert "stations-shifted" not in set(placement.findings["code"])


def from_row(job, row, by):
    rows = job.log.index[job.log["route"] == "A"][row:]
    job.say(rows, job.along(rows) + by)


def a_station_written_twice(job):
    rows = job.log.index[job.log["route"] == "A"][40:]
    job.say(rows, job.along(rows - 1))


def two_sheets_exchanged(job):
    first, second = job.sheet(0), job.sheet(1)
    job.log.loc[[*first, *second], "station"] = job.log.loc[[*second, *first], "station"].to_numpy()


def a_page_a_row_too_high(job):
    rows = job.sheet(1)
    job.say(rows, job.along(rows + 1))


CARRIED = {
    "a station written twice": a_station_written_twice,
    "a pipe not counted": lambda job: from_row(job, 40, -20.0),
    "a pipe counted twice": lambda job: from_row(job, 40, 20.0),
    "a cut pipe counted as a whole one": lambda job: from_row(job, 40, 14.0),
    "a day begun at the hundred before": lambda job: from_row(job, 36, -100.0),
    "a day begun at the hundred behind": lambda job: from_row(job, 36, 100.0),
    "a page with the stations of the next row": a_page_a_row_too_high,
    "the stations of two sheets exchanged": two_sheets_exchanged,
}


@pytest.mark.parametrize("slip", CARRIED.values(), ids=CARRIED)
@pytest.mark.parametrize("seed", [0, 3, 5, 6])
def test_joints_that_a_slip_carries_off_are_told_and_none_is_judged(tmp_path, slip, seed):
    job = crew_slips.logged(seed, error=0.05, noise=0.02, joints=95)
    slip(job)
    told = crew_slips.told(tmp_path, job)
    assert (told.off > 10.0).sum() > 20
    assert "stations-shifted" in told.codes
    assert told.silent == 0
    assert told.falsely_sure == 0


@pytest.mark.parametrize("factor", [0.99, 1.01])
@pytest.mark.parametrize("seed", range(7))
def test_a_day_by_a_tape_that_is_wrong_is_told_where_lengths_tell_it(tmp_path, seed, factor):
    job = crew_slips.logged(seed, error=0.05, noise=0.02, joints=120, lengths=True)
    rows = job.log.index[job.log["route"] == "A"][36:54]
    job.say(rows, factor * job.along(rows))
    told = crew_slips.told(tmp_path, job)
    assert (told.off > 5.0).sum() >= 15
    assert "stations-shifted" in told.codes
    assert told.silent == 0


def all_by(pipes):
    def slip(job):
        job.say(job.log.index, np.maximum(job.along(job.log.index) + 20.0 * pipes, 0.0))

    return slip


def all_have_the_next_station(job):
    along = job.along(job.log.index)
    job.say(job.log.index, np.append(along[1:], along[-1] + 20.0))


@pytest.mark.parametrize("slip", [all_by(1), all_by(2), all_have_the_next_station], ids=["one", "two", "next"])
@pytest.mark.parametrize("shape", ["straight", "curved", "bends"])
@pytest.mark.parametrize("every", [1, 5])
def test_a_route_whose_stations_run_a_pipe_beyond_its_line_is_told_and_not_judged(tmp_path, slip, shape, every):
    for seed, lengths in ((0, True), (1, False)):
        job = crew_slips.logged(
            seed, shape=shape, every=every, lengths=lengths, cuts=12, error=0.05, noise=0.02, known=True
        )
        slip(job)
        told = crew_slips.told(tmp_path / str(seed), job)
        assert (told.off > 5.0).all()
        assert {"coverage-short", "bend-off-corner", "joints-off-shots"} & set(told.codes)
        assert (told.silent, told.falsely_sure) == (0, 0)


@pytest.mark.parametrize("pipes", [-1, 1, 2])
def test_uneven_lengths_between_shots_tell_a_route_a_pipe_off_on_a_line_that_goes_on(tmp_path, pipes):
    job = crew_slips.logged(3, shape="straight", every=1, cuts=12, error=0.05, noise=0.02, joints=120)
    # Neither end of the line has a joint by which it could be told.
    job.log = job.log.iloc[10:100].reset_index(drop=True)
    job.values["records"]["covers"] = "part"
    assert "joints-off-shots" not in crew_slips.told(tmp_path / "sound", job).codes
    all_by(pipes)(job)
    told = crew_slips.told(tmp_path / "off", job)
    (message,) = told.placement.findings.query("code == 'joints-off-shots'")["message"]
    assert f"farther {'ahead' if pipes < 0 else 'back'}" in message
    assert told.silent == 0
    assert told.falsely_sure == 0


@pytest.mark.parametrize("left_out", [2, 4])
def test_joints_at_their_shots_are_judged_where_the_last_shots_are_missing(tmp_path, left_out):
    job = crew_slips.logged(3, shape="straight", every=1, cuts=12, error=0.05, noise=0.02)
    job.shots = job.shots.iloc[:-left_out]
    told = crew_slips.told(tmp_path, job)
    (message,) = told.placement.findings.query("code == 'coverage-short'")["message"]
    assert message.endswith("shots are missing there")
    assert (told.placement.joints["verdict"] == "within").mean() > 0.8


def numbered_on(job):
    for route in job.log.groupby("route").groups.values():
        job.log.loc[route, "joint"] = [str(at + 1) for at in range(len(route))]


def a_joint_left_out(job):
    job.log = job.log.drop(index=33).reset_index(drop=True)


def a_joint_left_out_and_none_by_number(job):
    a_joint_left_out(job)
    numbered_on(job)


def a_valve_with_both_its_joints_at_one_station(job):
    valve = job.log.loc[[40]].assign(joint="40A")
    job.log["kind"] = job.log.get("kind", "pipe")
    job.log = pd.concat([job.log.loc[:40], valve, job.log.loc[41:]], ignore_index=True)
    job.log["kind"] = job.log["kind"].fillna("pipe")
    job.log.loc[[40, 41], "kind"] = "valve"
    if "laid length" in job.log:
        job.log.loc[[40, 41], "laid length"] = ["1.50", "18.50"]


def numbers_against_the_stations(job):
    for route in job.log.groupby("route").groups.values():
        job.log.loc[route, "joint"] = job.log.loc[route, "joint"].to_numpy()[::-1]


def numbers_of_each_sheet_from_another_hundred(job):
    count = job.log.groupby(["route", "sheet"]).cumcount() + 1
    job.log["joint"] = (100 * (job.log["sheet"] + 1) + count).astype(str)


def numbers_of_each_sheet_from_one(job):
    job.log["joint"] = (job.log.groupby(["route", "sheet"]).cumcount() + 1).astype(str)


def all_looked_at_twice(job):
    job.log = pd.concat([job.log, job.log.assign(date="2026-05-04", sheet=9)], ignore_index=True)


def one_station_off(job):
    job.say([30], job.along([30]) + 9.0)


def a_part_of_the_line(job):
    job.log = job.log.iloc[20:60].reset_index(drop=True)
    job.values["records"]["covers"] = "part"


SOUND = {
    "nothing": lambda job: None, "a joint left out": a_joint_left_out,
    "a joint left out, numbered on": a_joint_left_out_and_none_by_number,
    "a valve": a_valve_with_both_its_joints_at_one_station, "numbered downstation": numbers_against_the_stations,
    "other hundreds": numbers_of_each_sheet_from_another_hundred, "from one": numbers_of_each_sheet_from_one,
    "looked at twice": all_looked_at_twice, "one odd station": one_station_off,
    "a part": a_part_of_the_line,
}  # fmt: skip


@pytest.mark.parametrize("sound", SOUND.values(), ids=SOUND)
@pytest.mark.parametrize("seed", range(7))
def test_sound_logs_of_every_shape_have_no_shift(tmp_path, sound, seed):
    job = crew_slips.logged(seed)
    sound(job)
    told = crew_slips.told(tmp_path, job)
    assert not told.refused
    assert "stations-shifted" not in told.codes
