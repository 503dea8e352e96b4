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
