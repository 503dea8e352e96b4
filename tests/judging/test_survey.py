"""What a survey tells of the deflection at each joint: floors, ceilings, uncertainty, fittings."""

import importlib.util
import sys
from itertools import pairwise
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from laying import EAST, EXACT, NORTH, codes, lines, log, pipe, place, values

import asbuilt
from asbuilt.judging.fittings import Bends, left_over
from asbuilt.judging.sightings import ShotErrors, Straights, in_right_and_up, turned, without_bends
from asbuilt.line.routes import Located

SIMULATE = Path(__file__).parents[2] / "scripts" / "simulate.py"


def simulation():
    spec = importlib.util.spec_from_file_location("simulate", SIMULATE)
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


def along(shots, every):
    """Give the stations of all joints along a line that was shot at every n-th of them."""
    chord = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(shots[:, :2], axis=0).T))])
    return np.interp(np.arange((len(shots) - 1) * every + 1), np.arange(len(shots)) * every, chord)


def surveyed(points, every, **tables):
    """Place a log of every joint on a line that was shot at every n-th joint."""
    at = np.round(along(points[::every], every), 4)
    records = log(points, station=[f"{int(one // 100)}+{one % 100:07.4f}" for one in at])
    return place(lines(A=points[::every]), records, **tables)


def seen_at(points, every, **tables):
    return surveyed(points, every, **tables).joints


@settings(max_examples=25, deadline=None)
@given(st.lists(st.floats(0.1, 6.0), min_size=19, max_size=19), st.sampled_from([2, 5, 10]))
def test_on_a_main_that_curves_one_way_every_joint_lies_under_its_ceiling_and_some_joint_over_each_floor(turns, every):
    found = seen_at(pipe(turns), every)
    truth = np.concatenate([[np.nan], turns, [np.nan]])
    floor, ceiling = found["deflection_floor_deg"].to_numpy(), found["deflection_ceiling_deg"].to_numpy()
    known = np.isfinite(ceiling)
    assert (truth[known] <= ceiling[known] + 1e-3).all()
    for at in np.flatnonzero(floor > 0):
        near = slice(max(at - every, 1), at + every + 1)
        assert np.nanmax(truth[near]) >= floor[at] - 1e-3


def test_turn_at_a_shot_between_joints_is_floor_and_ceiling():
    # Equal deflections of 2 deg, shot at every 5th joint: between legs of 5 lengths the line turns 10 deg, which the
    # 9 joints strictly between the outer shots share by their weights, 1/5 to 1 and back to 1/5: 5 in all.
    found = seen_at(pipe([2.0] * 24), 5)
    assert found["deflection_floor_deg"][5] == pytest.approx(10 / 5, abs=1e-3)
    assert found["deflection_ceiling_deg"][5] == pytest.approx(10, abs=1e-3)
    # Of a joint between two shots, two lengths from one of them, 3/5 shows there: it takes 10 / (3/5) at most.
    assert found["deflection_ceiling_deg"][7] == pytest.approx(10 / 0.6, abs=2e-3)
    assert found["deflection_floor_deg"][7] == 0
    assert np.isnan(found["deflection_deg"][5])


def test_shots_at_every_joint_show_the_deflection_itself():
    turns = [1.0, 4.0, 0.5, 3.0]
    found = seen_at(pipe(turns), 1)
    for column in ("deflection_deg", "deflection_floor_deg", "deflection_ceiling_deg"):
        assert found[column][1:-1].tolist() == pytest.approx(turns, abs=1e-4)


def test_shots_closer_than_joints_show_the_deflection_itself():
    # Shot at a third and two thirds of each length, and not at the joints.
    points = pipe([3.0, 4.0, 2.0])
    thirds = [a + (b - a) * part for a, b in pairwise(points) for part in (1 / 3, 2 / 3)]
    shots = np.array([points[0], *thirds, points[-1]])
    found = place(lines(A=shots), log(points)).joints
    assert found["deflection_deg"][1:-1].tolist() == pytest.approx([3.0, 4.0, 2.0], abs=1e-6)


def test_within_over_and_cannot_tell_between_sparse_shots():
    slight = seen_at(pipe([0.3] * 24), 5)
    assert slight["verdict"][7:18].unique().tolist() == ["within-assumed"]
    sharp = seen_at(pipe([9.5] * 24), 5)
    # 47.5 deg shared by joints of 5 lengths' weight: 9.5 each, over the 5 of the table.
    assert sharp["verdict"][[5, 10, 15]].tolist() == ["over"] * 3
    middling = seen_at(pipe([2.0] * 24), 5)
    assert middling["verdict"][2:-2].unique().tolist() == ["cannot-tell"]


def test_an_unclear_deflection_says_what_would_settle_it():
    found = surveyed(pipe([2.0] * 24), 5).findings
    unclear = found[found["code"] == "deflection-unclear"].set_index("joint")
    assert "the 9 joints from 0+19.98 to 1+79.78 share the turn" in unclear["message"]["6"]
    assert "a shot at each of them, or a reading at this one, tells" in unclear["message"]["6"]
    assert unclear["message"]["3"].startswith("up to 25 deg")  # 2/5 of it shows at the shot ahead, which turns 10


def test_an_over_between_sparse_shots_names_the_stretch():
    found = surveyed(pipe([9.5] * 24), 5).findings
    message = found[found["code"] == "deflection-over"].iloc[0]["message"]
    assert message.startswith("one of the 9 joints from ")
    assert "is over: the line turns 47.5 deg there, and by their places they may turn it 25.03 deg" in message


@pytest.mark.parametrize("apart", [2, 3, 5])
def test_a_finding_on_a_turn_that_joints_share_has_their_stretch_in_its_columns_as_in_its_words(apart):
    found = surveyed(pipe([9.5] * 10 + [2.0] * 10 + [0.0] * 9), apart).findings
    named = found["message"].str.extract(r"joints from (\S+) to (\S+?)(?: share| is over|, or)", expand=True)
    assert {"deflection-over", "deflection-unclear"} <= set(found["code"][named[0].notna()])
    assert found["from_station"].fillna("").tolist() == named[0].fillna("").tolist()
    assert found["to_station"].fillna("").tolist() == named[1].fillna("").tolist()


def test_a_joint_missing_from_the_log_shares_the_turn():
    # Shots at the logged joints only: the 40-ft straight hides a joint, and the turns beside it are shared with it.
    points = pipe([4.0, 4.0, 4.0, 4.0])
    kept = np.delete(points, 2, axis=0)
    found = place(lines(A=kept), log(kept)).joints
    assert np.isnan(found["deflection_deg"][1])
    assert found["deflection_ceiling_deg"][1] == pytest.approx(6.0, abs=1e-3)
    assert found["deflection_floor_deg"][1] == pytest.approx(4.0, abs=1e-3)  # by weights of 1 and 1/2


def test_where_turns_go_against_one_another_the_ceiling_takes_in_what_the_other_way_may_hide():
    found = seen_at(pipe([3.0] * 5 + [0.0] * 4 + [-3.0] * 5 + [0.0] * 10), 5)
    # 9 deg to the right at one shot, 9 to the left at the next. A joint just before the second may turn right by 4/5
    # of itself there and show only 1/5 at the first: 9 / (1/5) x (4/5) = 36 deg are hidden at most.
    assert found["deflection_ceiling_deg"][10] == pytest.approx(9.0 + 36.0, rel=1e-3)


REPEATS = 12_000
"""Surveys of one main: the spread found from so many is sure to 0.65 percent."""


def repeated(points, every, horizontal, vertical):
    """Survey one main many times; give the placement."""
    shots, chance = points[::every], np.random.default_rng(11)
    noise = chance.normal(size=(REPEATS, *shots.shape)) * [horizontal, horizontal, vertical]
    routes = {f"R{number}": shots + one for number, one in enumerate(noise)}
    records = pd.DataFrame(
        {
            "route": np.repeat(list(routes), len(points)),
            "station": np.concatenate([along(one, every) for one in routes.values()]),
            "size": 12,
            "joint type": "push-on",
        }
    )
    return place(
        lines(**routes), records, centerline={"sigma_horizontal": horizontal, "sigma_vertical": vertical},
        records={"station_format": "decimal"},
    )  # fmt: skip


@pytest.mark.parametrize(("every", "vertical"), [(1, 0.02), (1, 0.03), (1, 0.09), (2, 0.03)])
def test_sigma_agrees_with_repeated_surveys(every, vertical):
    """The spread of each joint's turn is what was propagated, within 2 percent."""
    points = pipe([4.0, 3.0, 5.0] if every == 1 else [4.0, 3.0, 5.0, 4.0, 3.5], up=0.02)
    found = repeated(points, every, 0.03, vertical).joints
    column = "deflection_deg" if every == 1 else "turn_deg"
    spread = found[column].to_numpy().reshape(REPEATS, -1).std(axis=0)
    stated = np.sqrt((found["sigma_deg"].to_numpy().reshape(REPEATS, -1) ** 2).mean(axis=0))
    # Joints half way between two shots do not turn in the drawn line.
    inner = slice(1, -1) if every == 1 else slice(2, -2, 2)
    np.testing.assert_allclose(stated[inner], spread[inner], rtol=0.02)


@pytest.mark.parametrize(("horizontal", "vertical"), [(0.02, 0.1), (0.05, 0.02)])
def test_the_covariance_of_a_deflection_agrees_with_repeated_surveys(horizontal, vertical):
    """Right and up, whatever the turn and the noise: the vector is what verdicts go by."""
    seen = repeated(pipe([4.0, 0.0, 5.0], up=0.02), 1, horizontal, vertical).judged.seen
    found = in_right_and_up(seen.turned)
    one, other, variance_one, variance_other = (
        getattr(found, name).reshape(REPEATS, -1)[:, 1:-1]
        for name in ("one", "other", "variance_one", "variance_other")
    )
    np.testing.assert_allclose(np.sqrt(variance_one.mean(axis=0)), one.std(axis=0), rtol=0.02)
    np.testing.assert_allclose(np.sqrt(variance_other.mean(axis=0)), other.std(axis=0), rtol=0.02)


@pytest.mark.parametrize("residual", [(2.0, 0.0), (0.0, 2.0), (1.5, -1.5)])
@pytest.mark.parametrize(("angle", "roll"), [(22.5, 90.0), (45.0, 0.0), (45.0, 30.0), (90.0, 90.0), (90.0, 0.0)])
def test_the_covariance_at_a_bend_is_that_of_its_fitting_carried_round_by_the_pipe_before_it(angle, roll, residual):
    """What a bend leaves over, by finite differences of all nine coordinates."""
    horizontal, vertical, slope = 0.02, 0.1, np.radians(6.0)
    one = [np.array([part]) for part in (np.radians(angle), np.radians(roll), False, -1, np.nan)]
    bend = Bends(*one)
    back = np.array([np.sin(0.7) * np.cos(slope), np.cos(0.7) * np.cos(slope), np.sin(slope)])
    out = left_over(back[None], back[None], bend)[1][0]
    right = np.array([out[1], -out[0], 0.0]) / np.hypot(out[0], out[1])
    axes = np.stack([right, np.cross(right, out)])
    ahead = out + np.tan(np.radians(residual)) @ axes
    shots = np.stack([-20.0 * back, 0.0 * back, 20.0 * ahead / np.linalg.norm(ahead)])

    def left(shots):
        before, after = (part / np.linalg.norm(part) for part in np.diff(shots, axis=0))
        return axes @ (after - left_over(before[None], after[None], bend)[1][0])

    step = 1e-5 * np.eye(9).reshape(9, 3, 3)
    slopes = np.stack([(left(shots + one) - left(shots - one)) / 2e-5 for one in step])
    expected = slopes.T @ np.diag([horizontal**2, horizontal**2, vertical**2] * 3) @ slopes
    unit, at = [part / np.linalg.norm(part) for part in np.diff(shots, axis=0)], np.array([0.0])
    first, middle, last = (Located(np.array([vertex]), at) for vertex in range(3))
    places = first, middle, middle, last
    straights = Straights(unit[0][None], unit[1][None], at + 20.0, at + 20.0, places, np.array([False]))
    errors = ShotErrors(np.full(3, horizontal**2), np.full(3, vertical**2), np.zeros((3, 3)), 0.0)
    found = in_right_and_up(turned(straights, bend, errors))
    stated = [[found.variance_one[0], found.covariance[0]], [found.covariance[0], found.variance_other[0]]]
    # Of the second order in what is left, 2 degrees.
    np.testing.assert_allclose(stated, expected, atol=0.05 * expected.max())


@pytest.mark.parametrize("parts", [(0.2, 0.5, 0.9), (0.0, 0.3, 1.0), (0.4, 0.7, 1.4), (-0.5, 0.2, 0.6)])
def test_the_covariance_of_a_turn_between_shots_is_that_of_its_shots_carried_to_the_joints(parts):
    """Joints that lie beside the chord, on one leg or on two: by finite differences of all coordinates of the shots."""
    horizontal, vertical = 0.02, 0.1
    shots = np.array([[-100.0, -9.0, 1.0], [0.0, 0.0, 0.0], [100.0, 6.0, 2.0], [200.0, 3.0, 7.0]])
    beside = np.array([[0.0, 0.8, 0.3], [0.2, 1.6, 0.5], [0.0, 0.3, 0.1]])
    leg = np.floor(parts).astype(int)
    leg[np.asarray(parts) == 1.0] = 0  # the joint at the end of the leg
    weight = np.asarray(parts) - leg

    def directions(shots):
        joints = shots[leg + 1] * (1.0 - weight)[:, None] + shots[leg + 2] * weight[:, None] + beside
        lengths = np.linalg.norm(np.diff(joints, axis=0), axis=1)
        return np.diff(joints, axis=0) / lengths[:, None], lengths

    (back, ahead), lengths = directions(shots)
    places = [Located(np.array([one + 1]), np.array([part])) for one, part in zip(leg, weight, strict=True)]
    straights = Straights(
        back[None], ahead[None], lengths[:1], lengths[1:], (places[0], places[1], places[1], places[2]),
        np.array([False]),
    )  # fmt: skip
    errors = ShotErrors(np.full(4, horizontal**2), np.full(4, vertical**2), np.zeros((4, 3)), 0.0)
    found = turned(straights, without_bends(1), errors)
    normal = np.cross(back, ahead) / np.linalg.norm(np.cross(back, ahead))

    def turn(shots):
        one, other = directions(shots)[0]
        return np.array([np.cross(normal, ahead) @ other - np.cross(normal, back) @ one, normal @ (other - one)])

    step = 1e-5 * np.eye(12).reshape(12, 4, 3)
    slopes = np.stack([(turn(shots + one) - turn(shots - one)) / 2e-5 for one in step])
    expected = slopes.T @ np.diag([horizontal**2, horizontal**2, vertical**2] * 4) @ slopes
    measured = found.measured
    stated = [[measured.variance_one[0], measured.covariance[0]], [measured.covariance[0], measured.variance_other[0]]]
    np.testing.assert_allclose(stated, expected, rtol=1e-6, atol=1e-9 * expected.max())


def test_sigma_of_equal_lengths_is_the_closed_form():
    # Independent noise s on three joints, lengths a and b: s^2 (1/a^2 + 1/b^2 + (1/a + 1/b)^2); 0.14 deg at 0.02 ft.
    found = seen_at(pipe([2.0, 2.0, 2.0]), 1, centerline={"sigma_horizontal": 0.02, "sigma_vertical": 0.02})
    expected = np.degrees(0.02 * np.sqrt(2 / 20**2 + (2 / 20) ** 2))
    assert found["sigma_deg"][2] == pytest.approx(expected, rel=2e-3)
    assert expected == pytest.approx(0.14, abs=0.002)


def test_sigma_is_the_closed_form_where_the_last_joint_of_the_log_was_shot_off_the_line():
    # A curve shot at every second joint; joints 6, 7 and 8, the last of the log, were shot themselves.
    points = pipe([2.0] * 7)
    own = [[f"{one:.4f}" if at >= 5 else "" for at, one in enumerate(points[:8, axis])] for axis in (0, 1)]
    line = lines(A=points[::2])
    sigmas = {"sigma_horizontal": 0.02, "sigma_vertical": 0.02}
    found = place(line, log(points[:8], easting=own[0], northing=own[1]), centerline=sigmas).joints
    expected = np.degrees(0.02 * np.sqrt(2 / 20**2 + (2 / 20) ** 2))
    assert found["sigma_deg"][6] == pytest.approx(expected, rel=2e-3)
    assert found["deflection_deg"][6] == pytest.approx(2.0, abs=1e-3)


def test_noise_beside_the_allowable_is_told_from_noise_far_from_it():
    points = pipe([3.0, 4.8, 5.2, 7.0, 1.0])
    sure = seen_at(points, 1, centerline=EXACT)
    assert sure["verdict"][1:-1].tolist() == ["within", "within", "over", "over", "within"]
    noisy = seen_at(points, 1, centerline={"sigma_horizontal": 0.05, "sigma_vertical": 0.05})
    assert noisy["verdict"][1:-1].tolist() == ["within", "cannot-tell", "cannot-tell", "over", "within"]
    lax = seen_at(
        points,
        1,
        centerline={"sigma_horizontal": 0.05, "sigma_vertical": 0.05},
        limits={"table": "awwa-c600", "confidence": 0.5},
    )
    assert lax["verdict"][1:-1].tolist() == ["within", "within", "over", "over", "within"]


CELLS = [
    ("constant curve", "every", "0.1", 1.5), ("all ways", "every", "0.02 / 0.1", 3.0),
    ("zigzag", "near", "0.03", 5.0), ("mixed allowables", "2nd", "0.03", 5.0),
    ("uneven curve", "mid-pipe", "0.03", 3.0), ("compound", "5th", "0.1", 5.0), ("S", "random", "0.03", 3.0),
    ("bends, no plane", "every", "0.03", 5.0), ("bends, plane logged", "near", "0.03", 5.0),
]  # fmt: skip


@pytest.mark.parametrize(("shape", "spacing", "noise", "allowable"), CELLS)
def test_verdicts_on_simulated_mains_are_wrong_in_less_than_five_of_a_hundred(shape, spacing, noise, allowable):
    simulate = simulation()
    told = simulate.tell(shape, spacing, simulate.NOISES_FT[noise], allowable, 6, 1)
    assert not simulate.beyond_chance(told.wrong_within, told.truly_over)
    assert not simulate.beyond_chance(told.wrong_over, told.joints - told.truly_over)
    if shape in simulate.ONE_WAY:
        assert not simulate.beyond_chance(told.wrong_assumed, told.truly_over)


@pytest.mark.parametrize("spacing", ["2nd", "5th", "mid-pipe"])
def test_constant_curves_over_their_limit_are_found_however_sparse_the_shots(spacing):
    simulate, found = simulation(), []
    for seed in range(5):
        laid = simulate.lay("constant curve", 5.0, np.random.default_rng(seed))
        turns = np.full(simulate.JOINTS - 2, 5.2)
        main = simulate.Main(pipe(turns), np.full(len(turns), 1.04), laid.allowable, laid.bend)
        shots = [simulate.survey(main, spacing, (0.01, 0.01), np.random.default_rng(seed))]
        told = simulate.counted(simulate.placed([main], shots, (0.01, 0.01), plane=False), [main])
        found.append(told.mains_found)
    assert found == [1] * 5


def bend_points(angle, residual=0.0, *, roll=90.0, straights=3):
    """Lay straight lengths, a bend at the middle, and straight lengths on; the roll is clockwise from the top."""
    turn = np.radians(angle + residual)
    to = np.array([np.sin(np.radians(roll)), 0.0, np.cos(np.radians(roll))])
    back, ahead = np.array([0.0, 1.0, 0.0]), np.cos(turn) * np.array([0.0, 1.0, 0.0]) + np.sin(turn) * to
    start = np.array([EAST, NORTH, 50.0])
    first = [start + 20.0 * number * back for number in range(straights + 1)]
    return np.array(first + [first[-1] + 20.0 * number * ahead for number in range(1, straights + 1)])


def with_bend(points, angle, plane=None, *, at=3, **more):
    kind = ["pipe"] * len(points)
    kind[at] = "bend"
    columns = {"kind": kind, "bend angle": [angle if each == "bend" else None for each in kind]}
    if plane is not None:
        columns["plane"] = [plane if each == "bend" else None for each in kind]
    return place(lines(A=points), log(points, **columns, **more)).joints


@pytest.mark.parametrize(
    ("roll", "plane"),
    [(90, "horizontal"), (270, "horizontal"), (0, "vertical"), (180, "V"), (90, "right"), (30, "30"), (30, "rolled")],
)
def test_the_two_joints_of_a_bend_share_what_its_angle_leaves(roll, plane):
    found = with_bend(bend_points(45, 3.0, roll=roll), 45, plane)
    assert found["deflection_floor_deg"][3] == pytest.approx(1.5, abs=1e-4)
    assert found["deflection_ceiling_deg"][3] == pytest.approx(3.0, abs=1e-4)


def test_a_bend_logged_to_the_other_side_is_judged_by_the_side_that_the_survey_shows():
    found = with_bend(bend_points(22.5, roll=270), 22.5, "right")
    assert found["deflection_ceiling_deg"][3] == pytest.approx(0.0, abs=1e-4)
    # It is told: tests/survey/test_blunders.py, left_and_right_exchanged.


def test_a_bend_of_unknown_roll_gives_the_least_that_closes_the_turn():
    # Laid 20 deg off the horizontal: by the horizontal plane the joints take much, by an unknown roll nothing.
    points = bend_points(45, roll=70)
    assert with_bend(points, 45, "rolled")["deflection_floor_deg"][3] == pytest.approx(0.0, abs=1e-4)
    assert with_bend(points, 45)["deflection_floor_deg"][3] == pytest.approx(0.0, abs=1e-4)
    assert with_bend(points, 45, "horizontal")["deflection_floor_deg"][3] > 5


def test_a_bend_that_leaves_more_than_one_joint_may_take_is_unclear():
    found = with_bend(bend_points(45, 7.0), 45, "right")
    assert found["verdict"][3] == "cannot-tell"
    placement = place(
        lines(A=bend_points(45, 7.0)),
        log(bend_points(45, 7.0), kind=["pipe"] * 3 + ["bend"] + ["pipe"] * 3, **{"bend angle": 45}),
    )
    assert "deflection-unclear" in codes(placement, "4")
    assert with_bend(bend_points(45, 11.0), 45, "right")["verdict"][3] == "over"


def test_a_bend_logged_by_its_two_ends_is_one_fitting():
    # A 45-deg bend whose ends lie 1.5 ft apart: the line turns by half of the angle at each end.
    half = np.radians(22.5)
    start = np.array([EAST, NORTH, 50.0])
    before = [start + np.array([0, 20.0 * number, 0]) for number in range(4)]
    end = before[-1] + 1.5 * np.array([np.sin(half), np.cos(half), 0])
    out = np.radians(45 + 2.0)
    after = [end + 20.0 * number * np.array([np.sin(out), np.cos(out), 0]) for number in range(1, 4)]
    points = np.array([*before, end, *after])
    kind = ["pipe"] * 3 + ["bend"] * 2 + ["pipe"] * 3
    for angles in ([45, 45], [45, None], [None, 45]):
        angle = [None] * 3 + angles + [None] * 3
        found = place(lines(A=points), log(points, kind=kind, **{"bend angle": angle})).joints
        assert found["bend_angle_deg"][3:5].tolist() == pytest.approx([45, 45])
        assert found["deflection_floor_deg"][3:5].tolist() == pytest.approx([1.0, 1.0], abs=1e-4)
        assert found["verdict"][3:5].tolist() == ["within-assumed", "within-assumed"]


def test_two_bends_close_together_are_two_fittings():
    laid = [np.array([EAST, NORTH + 20.0 * number, 50.0]) for number in range(4)]
    laid.append(laid[-1] + 3.0 * np.array([np.sin(np.pi / 4), np.cos(np.pi / 4), 0]))
    laid += [laid[-1] + [0, 20.0 * number, 0] for number in range(1, 4)]
    points = np.array(laid)
    kind = ["pipe"] * 3 + ["bend"] * 2 + ["pipe"] * 3
    found = place(lines(A=points), log(points, kind=kind, **{"bend angle": [None] * 3 + [45, 45] + [None] * 3})).joints
    assert found["deflection_floor_deg"][3:5].tolist() == pytest.approx([0.0, 0.0], abs=1e-4)


def test_a_bend_that_was_not_shot_leaves_the_joints_around_it_unclear():
    points = bend_points(45, straights=4)
    shots = np.delete(points, 4, axis=0)
    chord = float(np.hypot(*(points[5] - points[3])[:2]))
    at = [0, 20, 40, 60, 60 + chord / 2, *(60 + chord + 20 * np.arange(4))]
    kind = ["pipe"] * 4 + ["bend"] + ["pipe"] * 4
    records = log(points, station=[f"{int(one // 100)}+{one % 100:05.2f}" for one in at], kind=kind)
    records["bend angle"] = [45 if each == "bend" else None for each in kind]
    found = place(lines(A=shots), records).joints
    assert found["verdict"][2:7].tolist() == [
        "within-assumed",
        "cannot-tell",
        "cannot-tell",
        "cannot-tell",
        "within-assumed",
    ]


def test_a_bend_between_shots_on_the_straights_beside_it_shows_what_it_leaves():
    points = bend_points(45, 3.0, straights=2)
    quarters = [a + (b - a) * part for a, b in pairwise(points) for part in (0.25, 0.75)]
    shots = np.array([points[0], *quarters, points[-1]])
    chord = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(shots[:, :2], axis=0).T))])
    at = [0, 20, (chord[4] + chord[5]) / 2, chord[-1] - 20, chord[-1]]
    kind = ["pipe", "pipe", "bend", "pipe", "pipe"]
    records = log(points, station=[f"0+{one:05.2f}" for one in at], kind=kind)
    records["bend angle"] = [45 if each == "bend" else None for each in kind]
    found = place(lines(A=shots), records).joints
    assert found["deflection_floor_deg"][2] == pytest.approx(1.5, abs=1e-6)


def test_sigma_may_stand_in_a_column_of_the_lines_or_of_the_shots(tmp_path):
    points = pipe([2.0, 2.0, 2.0])
    line = lines(A=points).assign(error=0.05)
    found = place(line, log(points), centerline={"sigma_horizontal": "error", "sigma_vertical": "error"}).joints
    plain = place(lines(A=points), log(points), centerline={"sigma_horizontal": 0.05, "sigma_vertical": 0.05}).joints
    assert found["sigma_deg"][2] == plain["sigma_deg"][2]
    shots = tmp_path / "shots.csv"
    rows = [f"{number},{n},{e},{z},0.05" for number, (e, n, z) in enumerate(points)]
    shots.write_text("\n".join(["point,northing,easting,elevation,error", *rows]))
    file = {"path": str(shots), "sigma_horizontal": "error", "sigma_vertical": "error", "route": None}
    job = asbuilt.Job.from_mapping(values(centerline=file) | {"crs": "EPSG:6418"})
    assert asbuilt.place(job, records=log(points)).joints["sigma_deg"][2] == pytest.approx(plain["sigma_deg"][2])


def test_a_sigma_that_is_no_column_or_no_number_is_refused():
    points = pipe([2.0])
    with pytest.raises(asbuilt.JobFileError, match=r"centerline.sigma_horizontal: .* has no column 'error'"):
        place(lines(A=points), log(points), centerline={"sigma_horizontal": "error"})
    with pytest.raises(asbuilt.InputFileError, match=r"error is -1\.0; give the standard error"):
        place(lines(A=points).assign(error=-1.0), log(points), centerline={"sigma_horizontal": "error"})


def fitting_by_its_ends(left=2.0, apart=1.6):
    """Lay straights with a 45-deg fitting between them, whose ends lie a little apart; both ends were shot."""
    half, start = np.radians(22.5), np.array([EAST, NORTH, 50.0])
    before = [start + np.array([0, 20.0 * number, 0]) for number in range(4)]
    end = before[-1] + apart * np.array([np.sin(half), np.cos(half), 0])
    out = np.radians(45 + left)
    after = [end + 20.0 * number * np.array([np.sin(out), np.cos(out), 0]) for number in range(1, 4)]
    return np.array([*before, end, *after])


@pytest.mark.parametrize("off", [0.0, 0.4, 0.9])
def test_stations_a_little_off_do_not_turn_a_fitting_into_deflection(off):
    points = fitting_by_its_ends()
    kind = ["pipe"] * 3 + ["bend"] * 2 + ["pipe"] * 3
    angle = [None] * 3 + [45, 45] + [None] * 3
    records = log(points, start=off, kind=kind, **{"bend angle": angle})
    found = place(lines(A=points), records, records={"station_tolerance": 1.0}).joints
    assert found["deflection_floor_deg"][3:5].tolist() == pytest.approx([1.0, 1.0], abs=1e-4)


def test_a_fitting_logged_once_and_shot_at_both_ends_leaves_what_its_straights_show():
    points = fitting_by_its_ends()
    chord = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points[:, :2], axis=0).T))])
    at = [*chord[:3], (chord[3] + chord[4]) / 2, *chord[5:]]
    kind = ["pipe"] * 3 + ["bend"] + ["pipe"] * 3
    records = log(points[1:], station=[f"{int(one // 100)}+{one % 100:05.2f}" for one in at], kind=kind)
    records["bend angle"] = [45 if each == "bend" else None for each in kind]
    found = place(lines(A=points), records, records={"spacing_tolerance": 1.0}).joints
    assert found["deflection_floor_deg"][3] == pytest.approx(1.0, abs=1e-4)


def test_an_offset_from_the_line_is_not_vouched_for_by_the_lines_shots():
    points = np.array([[EAST, NORTH + 20.0 * number, 50.0] for number in range(8)])
    thirds = [a + (b - a) * part for a, b in pairwise(points) for part in (1 / 3, 2 / 3)]
    offset = [0, 0, 0, 0, 3, 0, 0, 0]
    for shots in (np.array([points[0], *thirds, points[-1]]), points[[0, 2, 5, 7]]):
        found = place(lines(A=shots), log(points, offset=offset)).joints
        assert found["turn_deg"][4] == pytest.approx(17.06, abs=0.01)
        assert found["verdict"][3:6].tolist() == ["cannot-tell"] * 3


def test_an_offset_around_an_obstacle_is_seen_across_a_quiet_shot():
    points = pipe([0, 0, 0, 0, 8.0, 0, -8.0, 0, 0, 0, 0, 0])
    found = seen_at(np.concatenate([points, points[-1:] + np.array([0, 20.0, 0])]), 2)
    assert (found["deflection_ceiling_deg"][[5, 7]] >= 8.0 - 1e-3).all()
    assert found["verdict"][[5, 7]].tolist() == ["cannot-tell"] * 2


def test_joints_near_a_shot_but_not_at_it_share_its_turn():
    # Two joints 3 ft apart that turn 4.8 deg each; the wide tolerance of uncertain stations must not hide one of them.
    places = np.cumsum([0, 10, 20, 17, 3, 15, 15])
    turns = np.array([0, 0, 0, 4.8, 4.8, 0])
    azimuth = np.radians(np.cumsum(turns))
    steps = np.diff(places)[:, None] * np.stack([np.sin(azimuth), np.cos(azimuth), 0 * azimuth], axis=1)
    points = np.array([EAST, NORTH, 50.0]) + np.concatenate([np.zeros((1, 3)), np.cumsum(steps, axis=0)])

    def on_pipe(at):
        piece = min(np.searchsorted(places, at, side="right") - 1, len(steps) - 1)
        return points[piece] + steps[piece] * (at - places[piece]) / np.linalg.norm(steps[piece])

    shots = np.array([on_pipe(at) for at in (0, 10, 30, 39, 57, 65, 80)])
    found = place(lines(A=shots), log(points), records={"sigma_station": 2.5, "station_tolerance": 1.0}).joints
    assert "over" not in found["verdict"].tolist()


def test_two_fittings_in_a_row_logged_by_their_ends_are_two():
    turns = np.array([0, 0, 22.5, 22.5, 22.5, 22.5, 0, 0])
    lengths = np.array([20, 20, 20, 1.5, 2.0, 1.5, 20, 20, 20])
    azimuth = np.radians(np.concatenate([[0.0], np.cumsum(turns)]))
    steps = lengths[:, None] * np.stack([np.sin(azimuth), np.cos(azimuth), 0 * azimuth], axis=1)
    points = np.array([EAST, NORTH, 50.0]) + np.concatenate([np.zeros((1, 3)), np.cumsum(steps, axis=0)])
    kind = ["pipe"] * 3 + ["bend"] * 4 + ["pipe"] * 3
    angle = [None] * 3 + [45] * 4 + [None] * 3
    found = place(lines(A=points), log(points, kind=kind, **{"bend angle": angle})).joints
    assert found["deflection_floor_deg"][3:7].tolist() == pytest.approx([0.0] * 4, abs=1e-4)


def test_a_joint_missing_from_the_log_shares_the_turn_of_an_alignment():
    alignment = Path(__file__).parents[1] / "data" / "landxml" / "metric_arcs_with_profile.xml"
    stations = [at for at in np.arange(340.0, 420.0, 6.0) if at != 376.0]
    records = pd.DataFrame({"station": stations, "joint": range(len(stations)), "size": 300, "joint type": "push-on"})
    values_ = {
        "name": "Weir Lane", "centerline": {"path": str(alignment)},
        "records": {"station_unit": "m", "laying_length": 6.0}, "limits": {"table": "en-545"},
    }  # fmt: skip
    found = asbuilt.place(asbuilt.Job.from_mapping(values_), records=records).joints.set_index("station")
    beside = found.loc[["0+370.000", "0+382.000"]]
    assert beside["verdict"].tolist() == ["cannot-tell"] * 2
    assert (beside["deflection_floor_deg"] * 2).tolist() == pytest.approx(beside["deflection_ceiling_deg"].tolist())


def test_the_ends_of_every_route_are_alike():
    """Three routes of the same shots and joints: the first and the last of a job are judged and told of alike."""
    points = np.round(pipe([1.0, 2.5, 2.0, 3.0, 2.0, 2.5, 1.0, 2.0, 3.0]), 4)
    kept = [0, 3, 6, 9, 10]
    records = pd.concat([log(points).assign(route=name) for name in "ABC"], ignore_index=True)
    found = place(
        lines(**dict.fromkeys("ABC", points[kept])), records,
        centerline={"sigma_horizontal": 0.02, "sigma_vertical": 0.02}, records={"station_tolerance": 2.0},
    )  # fmt: skip
    one, *others = (
        [
            found.joints.loc[found.joints["route"] == name, ["verdict", "deflection_ceiling_deg"]].values.tolist(),
            found.findings.loc[found.findings["route"] == name, ["code", "station", "message"]].values.tolist(),
        ] for name in "ABC"
    )  # fmt: skip
    # The joint at an end of the line turns nothing: it shares no turn with the others.
    assert "joints from 0+20.00 to" in str(one[1])
    assert str(one) == str(others[0]) == str(others[1])


def dipped(angle, planes, *, every=1):
    """Place a main that goes down by a bend and up again three pipes on; its log has the two in some planes."""
    slope = np.radians(np.where((np.arange(40) >= 15) & (np.arange(40) < 18), -angle, 0.0))
    step = 20.0 * np.stack([np.zeros(40), np.cos(slope), np.sin(slope)], axis=1)
    points = np.array([EAST, NORTH, 50.0]) + np.concatenate([[[0.0, 0.0, 0.0]], np.cumsum(step, axis=0)])
    bends, columns = {15: planes[0], 18: planes[1]}, ("kind", "bend angle", "bend plane")
    cells = [("bend", f"{angle:g}", bends[at]) if at in bends else ("pipe", "", "") for at in range(41)]
    records = log(points, **dict(zip(columns, map(list, zip(*cells, strict=True)), strict=True)))
    shot = sorted({*range(0, 41, every), 40, *bends})
    stated = {"sigma_horizontal": 0.02, "sigma_vertical": 0.02}
    # Elevations that are one number over and over would be taken for none.
    shots = points[shot] + np.random.default_rng(3).normal(0.0, 0.003, points[shot].shape)
    return place(lines(A=shots), records, centerline=stated)


@pytest.mark.parametrize("angle", [11.25, 22.5, 45.0])
@pytest.mark.parametrize("every", [1, 3])
def test_up_and_down_of_bends_exchanged_are_told_at_the_bends_and_no_joint_is_over(angle, every):
    exchanged = dipped(angle, ("up", "down"), every=every)
    told = exchanged.findings.query("code == 'bend-other-way'").set_index("joint")["message"]
    assert float(told["16"].removeprefix("the survey turns down ").partition(" ")[0]) == pytest.approx(angle, abs=0.06)
    assert "deg up; its joints are judged as if it said down" in told["16"]
    assert "deg down; its joints are judged as if it said up" in told["19"]
    assert told.str.endswith("that say up or down are so, as where the two are exchanged").all()
    right = dipped(angle, ("down", "up"), every=every)
    assert "bend-other-way" not in set(right.findings["code"])
    # Nothing is over or judged otherwise than by the right log.
    assert exchanged.joints["verdict"].tolist() == right.joints["verdict"].tolist()
    assert "over" not in set(exchanged.joints["verdict"])


def test_one_upright_bend_exchanged_among_others_is_told_alone():
    told = dipped(22.5, ("down", "down")).findings.query("code == 'bend-other-way'")
    assert told["joint"].tolist() == ["19"]
    assert not told["message"].str.contains("exchanged").any()
