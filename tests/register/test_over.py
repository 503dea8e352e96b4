"""Joints over by turns that they share are not each counted as over: against what is true of each of them."""

import laying
import numpy as np
import pytest
import shapely

from asbuilt import cli
from asbuilt.register.grouping import group
from asbuilt.register.loading import load
from asbuilt.register.question import Question
from asbuilt.register.search import find
from asbuilt.register.wording import shared_words
from asbuilt.serve.page import told

STATED = {"sigma_horizontal": 0.005, "sigma_vertical": 0.005, "starts": "south"}


def shot_at_every_third(path, turns, name="Curve", also=0):
    """Place a main of which the first joints were shot, and every third one."""
    points = laying.pipe(turns, up=0.002)
    log = laying.log(points)
    shots = sorted({*range(0, len(points), 3), len(points) - 1, *range(also)})
    along = shapely.line_locate_point(shapely.LineString(points[shots, :2]), shapely.points(points[:, :2]))
    log["station"] = [f"{int(at // 100)}+{at % 100:05.2f}" for at in np.floor(100 * along + 1e-6) / 100]
    log["crew"] = ["Crew 1"] * 20 + ["Crew 2"] * (len(log) - 20)
    laying.place(laying.lines(A=points[shots]), log, name=name, centerline=STATED).write(path)
    return path


def curve(worst):
    """Turns of 4.9 degrees at joints 13 to 28, which may make 5, but for some that make more."""
    turns = np.zeros(39)
    turns[11:27] = 4.9
    for joint, turn in worst.items():
        turns[joint - 2] = turn
    return turns


@pytest.mark.parametrize(
    ("worst", "least"), [({17: 9.0}, 1), ({14: 9.0, 24: 9.0}, 2), ({15: 8.0, 17: 8.0, 21: 8.0, 26: 8.0}, 2)]
)
def test_no_more_joints_are_counted_as_over_than_are(folder, register, worst, least):
    load(shot_at_every_third(folder / "curve.gpkg", curve(worst)), register)
    found = find(register, Question(verdicts=["over"]))
    assert found.over["over"] == len(found.joints) > found.over["over_at_least"] == least <= len(worst)
    assert found.over["turns_shared"] > 0
    for key in ("main", "verdict", "crew"):
        counted = group(register, Question(), [key])
        assert counted.total["over_at_least"] == least
        assert sum(one["over"] for one in counted.groups) == len(found.joints)
        assert all(one["over_at_least"] <= len(worst) for one in counted.groups)


def test_a_joint_over_by_itself_is_counted_beside_a_turn_that_others_share(folder, register, capsys):
    """Joint 6 was shot, as the ten around it; one of those behind them is over."""
    turns = np.zeros(39)
    turns[4], turns[16:23] = 7.0, 5.4
    load(shot_at_every_third(folder / "curve.gpkg", turns, also=11), register)
    total = group(register, Question(), ["main"]).total
    assert (total["over_at_least"], total["turns_shared"] > 0) == (2, True)
    assert find(register, Question(joints=["6"])).over == {"over": 1, "over_at_least": 1, "turns_shared": 0}
    assert cli.run(["find", register, "--group-by", "main"]) == 0
    assert "and at least 2 joints are" in " ".join(capsys.readouterr().out.split())


def test_the_answer_says_that_joints_share_a_turn(folder, register, capsys):
    load(shot_at_every_third(folder / "curve.gpkg", curve({17: 9.0})), register)
    assert cli.run(["find", register, "--route", "A"]) == 0
    found = find(register, Question(routes=["A"]))
    words = shared_words(found.over)
    assert words is not None
    assert "and at least 1 joint is" in words
    assert words in " ".join(capsys.readouterr().out.split())
    assert told(found)["shared_words"] == words


def test_where_none_is_shared_the_count_is_plain(folder, register):
    turns = np.zeros(39)
    turns[4] = 7.0
    load(shot_at_every_third(folder / "curve.gpkg", turns, also=11), register)
    found = find(register, Question())
    assert found.over == {"over": 1, "over_at_least": 1, "turns_shared": 0}
    assert told(found)["shared_words"] is None
