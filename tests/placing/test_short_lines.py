"""Logs that run on beyond their lines: shots missing, or two routes exchanged."""

import numpy as np
import pandas as pd
import pytest
from laying import lines, log, pipe, place


def two_mains(first, second):
    """Lay two mains, and give their lines and one log of both."""
    chance = np.random.default_rng(3)
    one, other = (pipe(chance.uniform(-1.5, 1.5, many - 1)) for many in (first, second))
    other = other + np.array([3000.0, 500.0, 0.0])
    logs = [log(points).assign(route=name) for name, points in (("A", one), ("B", other))]
    return one, other, pd.concat(logs, ignore_index=True)


def said(placement):
    return [note.text for note in placement.notes if note.code == "line-short"]


@pytest.mark.parametrize("second", [60, 84])
def test_two_routes_exchanged_are_asked_about(second):
    one, other, logged = two_mains(90, second)
    (note,) = said(place(lines(A=other, B=one), logged))
    assert note.startswith("route A: its line runs 0+00.00 to ")
    assert note.endswith(
        "The log of A is as long as the line of B, and that of B as the line of A: see whether the two are exchanged"
    )
    assert said(place(lines(A=one, B=other), logged)) == []


def test_a_short_line_beside_another_of_any_length_is_no_exchange():
    one, other, logged = two_mains(90, 60)
    (note,) = said(place(lines(A=one[:70], B=other), logged))
    assert note.endswith("or correct the start station (centerline.start_station)")


def test_a_last_joint_a_little_beyond_the_line_is_no_pipe_too_many():
    # The crew logged no joint at the start of the line, and the line ends 3 ft short: no route is a pipe off for that.
    points = pipe(np.zeros(28))
    line = points.copy()
    line[-1] -= 0.15 * (points[-1] - points[-2])
    assert said(place(lines(A=line), log(points).iloc[1:])) == []
    # A whole pipe short, the last joint may be the one that tells that all stand a pipe too far.
    assert len(said(place(lines(A=points[:-1]), log(points).iloc[1:]))) == 1


@pytest.mark.parametrize("said", [None, True, False])
def test_a_main_shot_at_the_middle_of_each_pipe_is_asked_about_where_nobody_says_so(said):
    """All joints were told to stand half a pipe too far back and too far ahead, also where shots are said to be so."""
    points = pipe([*np.random.default_rng(2).uniform(-0.5, 0.5, 38)])
    middles = (points[1:] + points[:-1]) / 2.0
    stated = {"start_station": 10.0, "sigma_horizontal": 0.02, "sigma_vertical": 0.02}
    stated |= {} if said is None else {"shots_at_joints": said}
    placed = place(lines(A=middles), log(points), centerline=stated)
    assert placed.set_aside["joint"].tolist() == ["1", "40"]
    told = " ".join(placed.findings["message"][placed.findings["code"] == "joints-off-shots"])
    judged = placed.joints["verdict"].isin(["within", "within-assumed"]).sum()
    if said is False:
        assert judged > 30
        assert "stand 10.00 ft too far" not in told
    else:
        assert judged == 0
        assert told.count("stand 10.00 ft too far") == 1
        assert "unless the shots were taken beside the joints, as at the middle of each pipe" in told
        assert "centerline.shots_at_joints = false" in told


def of_one_pipe_fewer(shot, *, cut=(), bend=None, joints=60, **centerline):
    """Place a log of 60 joints on a line of 59 shots that starts, as its job has it, at the first joint."""
    lengths = np.full(joints - 1, 20.0)
    lengths[list(cut)] = 9.0
    chance = np.random.default_rng(5)
    turns = chance.uniform(-1.0, 1.0, joints - 1)
    if bend is not None:
        turns[bend] = 45.0
    heading = np.radians(np.cumsum(turns))
    steps = lengths[:, None] * np.stack([np.sin(heading), np.cos(heading), np.zeros(joints - 1)], axis=1)
    points = np.array([6_700_000.0, 2_000_000.0, 50.0]) + np.concatenate([np.zeros((1, 3)), np.cumsum(steps, axis=0)])
    told = np.arange(joints) == (-1 if bend is None else bend)
    logged = log(points, kind=np.where(told, "bend", "pipe"), **{"bend angle": np.where(told, "45", "")})
    shots = {"middle": (points[1:] + points[:-1]) / 2.0, "not the last": points[:-1], "not the first": points[1:]}[shot]
    shots = shots + chance.normal(0.0, 0.02, shots.shape)
    stated = {"sigma_horizontal": 0.02, "sigma_vertical": 0.02, "shots_at_joints": None, **centerline}
    stated = {key: value for key, value in stated.items() if value is not None}
    placement = place(lines(A=shots), logged, centerline=stated, records={"sigma_station": 0.1})
    number = placement.joints["joint"].astype(int).to_numpy() - 1
    off = np.hypot(*(placement.joints[["easting", "northing"]].to_numpy() - points[number, :2]).T)
    return placement, off


@pytest.mark.parametrize("shot", ["middle", "not the last", "not the first"])
@pytest.mark.parametrize("said", [None, True, False])
def test_a_log_of_one_pipe_more_than_its_line_is_asked_which_joint_was_not_shot(shot, said):
    """Joints 10 or 20 ft off were stated to 0.3 ft, and their deflections within: pipes of one length show nothing."""
    placement, off = of_one_pipe_fewer(shot, shots_at_joints=said)
    assert np.median(off) == pytest.approx({"middle": 10.0, "not the last": 0.0, "not the first": 20.0}[shot], abs=0.5)
    assert (off <= placement.joints["accuracy_horizontal"]).all()
    assert not placement.joints["verdict"].isin(["within", "within-assumed", "over"]).any()
    (found,) = placement.findings["message"][placement.findings["code"] == "joints-off-shots"]
    assert found.startswith("of 59 shots and 60 joints, the log runs on for one pipe beyond the end of the line")
    assert (
        "stand 20.00 ft too far ahead; or each pipe was shot at its middle, and all stand 10.00 ft too far ahead"
        in found
    )


@pytest.mark.parametrize("shot", ["middle", "not the last", "not the first"])
def test_pipes_that_were_cut_tell_which_joint_was_not_shot(shot):
    placement, _ = of_one_pipe_fewer(shot, cut=(20, 41))
    found = placement.findings["message"][placement.findings["code"] == "joints-off-shots"].tolist()
    if shot == "not the last":
        assert found == []
        assert placement.joints["verdict"].isin(["within"]).sum() > 50
        return
    where = "at the middle of each pipe" if shot == "middle" else "at each joint but the first"
    assert f"by the lengths between them the shots were taken {where}" in found[0]
    assert placement.joints["accuracy_horizontal"].isna().all()


def test_a_bend_at_its_shot_or_the_job_tells_that_the_last_joint_was_not_shot():
    for told in ({"bend": 22}, {"shots_at_joints": True, "start_station": 0.0}):
        placement, off = of_one_pipe_fewer("not the last", **told)
        assert off.max() < 0.5
        assert "joints-off-shots" not in set(placement.findings["code"])
        assert placement.joints["accuracy_horizontal"].max() < 1.0
    # A bend between two shots turns the line at both of them: it is at neither.
    placement, off = of_one_pipe_fewer("middle", bend=22)
    assert (off <= placement.joints["accuracy_horizontal"].fillna(np.inf)).all()
