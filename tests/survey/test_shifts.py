"""Shots that all lie off from one on, and what looks like them: fittings not logged yet, joints over there and back."""

import laying
import numpy as np
import pytest


@pytest.mark.parametrize(("way", "column"), [(0, "accuracy_horizontal"), (2, "accuracy_vertical")])
def test_joints_lie_within_their_accuracy_where_all_shots_from_one_on_are_off(way, column):
    """They lay 6 ft off with an accuracy of 0.1 ft."""
    points, shots = _run(0)
    shots[30:, way] += 6.0
    placed = _placed(points, shots)
    assert {"shot-astray", "shot-height"} & set(placed.findings["code"])
    assert placed.joints[column].gt(5.9).all()
    other = {"accuracy_horizontal", "accuracy_vertical"} - {column}
    assert placed.joints[other.pop()].lt(3.0).all()


@pytest.mark.parametrize("joints", [1, 40])
def test_an_offset_of_fittings_beyond_a_partial_log_is_no_shift(joints):
    """Two bends of 45 degrees take the main aside, where the log does not reach yet."""
    turns = np.zeros(88)
    turns[[60, 61]] = 45.0, -45.0
    points = laying.pipe(turns)
    placed = laying.place(laying.lines(A=points), laying.log(points).iloc[:joints], records={"covers": "part"})
    assert not {"shot-astray", "shot-height"} & set(placed.findings["code"])


def test_two_joints_beyond_their_allowable_there_and_back_are_named_as_what_it_may_be():
    turns = np.zeros(58)
    turns[[30, 31]] = 12.0, -12.0
    points = laying.pipe(turns)
    placed = laying.place(laying.lines(A=points), laying.log(points))
    (told,) = placed.findings.query("code == 'shot-astray'")["message"]
    assert "the two joints there are deflected beyond what they may be: name this shot in" in told


def _run(many, *, aside=0.0, up=0.0, noise=0.02, seed=0):
    """Give joints of a main that runs north, and their shots, of which some in a row lie to its right, or above it."""
    chance = np.random.default_rng([seed, many])
    points = laying.pipe(chance.uniform(-0.5, 0.5, 58))
    shots = points + chance.normal(0.0, noise, points.shape)
    shots[20 : 20 + many] += [aside, 0.0, up]
    return points, shots


def _placed(points, shots, **more):
    stated = {"sigma_horizontal": 0.02, "sigma_vertical": 0.02}
    return laying.place(laying.lines(A=shots), laying.log(points, **more), centerline=stated)


@pytest.mark.parametrize("many", [1, 2, 3])
@pytest.mark.parametrize("aside", [2.5, 4.0, -6.0])
def test_joints_lie_within_their_accuracy_where_a_shot_or_a_few_lie_beside_the_pipe(aside, many):
    """They lay 6 ft off with an accuracy of 3.7 ft, and 2 ft off with one of 0.5 ft, beside the finding at the shot."""
    points, shots = _run(many, aside=aside)
    placed = _placed(points, shots)
    (told,) = placed.findings.query("code == 'shot-astray'")["value"]
    assert told == pytest.approx(abs(aside), abs=0.7)
    away = np.hypot(placed.joints["easting"] - points[:, 0], placed.joints["northing"] - points[:, 1])
    assert away[20 : 20 + many].min() > abs(aside) - 0.7
    assert (away <= placed.joints["accuracy_horizontal"]).all()
    # Those behind the shots do not lie aside.
    assert placed.joints["accuracy_horizontal"][:19].lt(abs(aside)).all()


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("many", [2, 3])
@pytest.mark.parametrize("off", [{"aside": 2.2}, {"aside": 4.0}, {"aside": -6.0}, {"up": 2.2}, {"up": -3.0}])
def test_two_or_three_shots_in_a_row_of_something_else_are_told_and_no_pipe_is_blamed(off, many, seed):
    """The joints beside them were called over, and of two in a row nothing was told of the shots."""
    placed = _placed(*_run(many, **off, seed=seed))
    code = "shot-height" if "up" in off else "shot-astray"
    (told,) = placed.findings["message"][placed.findings["code"] == code]
    which = "vertex 21 and vertex 22" if many == 2 else "vertex 21 to vertex 23"
    (by,) = off.values()
    word = {"aside": ("left", "right"), "up": ("below", "above")}[next(iter(off))][by > 0]
    assert which in told
    assert f" {word} " in told
    assert "over" not in set(placed.joints["verdict"])
    assert not {"within", "within-assumed"} & set(placed.joints["verdict"][19 : 21 + many])


@pytest.mark.parametrize("up", [0.97, -0.97])
def test_one_shot_a_foot_too_high_is_told(up):
    """It passed by a hundredth of a metre, and its joint was called over."""
    placed = _placed(*_run(1, up=up, noise=0.003))
    (told,) = placed.findings.query("code == 'shot-height'")["message"]
    assert "of vertex 21" in told
    assert "over" not in set(placed.joints["verdict"])


@pytest.mark.parametrize("seed", range(10))
@pytest.mark.parametrize("gap", [0, 1, 2])
def test_a_main_taken_around_something_by_its_joints_is_no_run_of_shots_off(seed, gap):
    """Joints deflected as far as they may be, there and back; errors of the shots make some turns a little larger."""
    turns = np.zeros(58)
    turns[20:22], turns[22 + gap : 24 + gap] = 5.0, -5.0
    turns[24 + 2 * gap : 26 + 2 * gap], turns[26 + 3 * gap : 28 + 3 * gap] = -5.0, 5.0
    points = laying.pipe(0.98 * turns)
    shots = points + np.random.default_rng(seed).normal(0.0, 0.03, points.shape)
    stated = {"sigma_horizontal": 0.03, "sigma_vertical": 0.03}
    placed = laying.place(laying.lines(A=shots), laying.log(points), centerline=stated)
    assert not {"shot-astray", "shot-height"} & set(placed.findings["code"])


def test_a_main_taken_around_something_by_bends_of_the_log_is_no_run_of_shots_off():
    turns, angle = np.zeros(58), np.full(60, "", dtype=object)
    turns[[20, 21, 23, 24]] = 22.5, -22.5, -22.5, 22.5
    angle[[21, 22, 24, 25]] = "22.5"
    points = laying.pipe(turns)
    told = set(_placed(points, points, **{"bend angle": angle, "kind": np.where(angle == "", "pipe", "bend")})
               .findings["code"])  # fmt: skip
    assert not {"shot-astray", "shot-height"} & told
    assert "shot-astray" in set(_placed(points, points).findings["code"])


def _branched(points, many, step, *, inward=False, every=1, seed=0):
    """Give shots of a main, with shots of a branch that leaves it square at its 21st joint strung in behind that."""
    chance = np.random.default_rng([seed, many])
    main, lead = points[::every], points[20] + np.outer(np.arange(1, many + 1) * step, [1.0, 0.0, 0.0])
    shots = np.insert(main, 20 // every + 1, lead[::-1] if inward else lead, axis=0)
    return shots + chance.normal(0.0, 0.02, shots.shape)


@pytest.mark.parametrize("inward", [False, True])
@pytest.mark.parametrize("every", [1, 4])
@pytest.mark.parametrize("step", [3.0, 8.0])
@pytest.mark.parametrize("many", [2, 3, 4])
def test_shots_of_a_branch_strung_into_the_main_are_told_and_no_pipe_is_blamed(many, step, every, inward):
    """Of most nothing was said at the shots: the pipe was over, and joints ahead were within where they lay not."""
    points = laying.pipe(np.random.default_rng(many).uniform(-0.5, 0.5, 58))
    placed = _placed(points, _branched(points, many, step, inward=inward, every=every))
    first = 20 // every + 2
    (told,) = placed.findings.query("code == 'shot-astray'")["message"]
    assert f"vertex {first} {'and' if many == 2 else 'to'} vertex {first + many - 1} lead away from the line" in told
    assert "line-doubles-back" not in set(placed.findings["code"])
    assert "over" not in set(placed.joints["verdict"])
    assert not {"within", "within-assumed"} & set(placed.joints["verdict"][22:])


def test_a_main_taken_around_something_by_right_angles_is_no_branch():
    """Four bends of 90 degrees, in the log; in a log that has them as pipes they are asked about."""
    turns, angle = np.zeros(58), np.full(60, "", dtype=object)
    turns[[20, 21, 23, 24]] = 90.0, -90.0, -90.0, 90.0
    angle[[21, 22, 24, 25]] = "90"
    points = laying.pipe(turns)
    placed = _placed(points, points, **{"bend angle": angle, "kind": np.where(angle == "", "pipe", "bend")})
    assert not {"shot-astray", "line-doubles-back"} & set(placed.findings["code"])
    (told,) = _placed(points, points).findings.query("code == 'shot-astray'")["message"]
    assert "or record the bends that take the main around" in told
