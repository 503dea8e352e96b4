"""How far stations put joints off: as the job states it, as joints, bends or ties show it, or not known."""

import numpy as np
import pandas as pd
import pytest
from laying import EAST, LOOKED_AT, NORTH, lines, log, place

from asbuilt.judging.at_joints import are_at_joints

MANY = 60
STATED = {"sigma_horizontal": 0.02, "sigma_vertical": 0.02, "start_station": 0.0}
DECIMAL = {"station_format": "decimal", "station_tolerance": 20.0}


def straight(along):
    return np.stack([np.full(len(along), EAST), NORTH + np.asarray(along), np.full(len(along), 50.0)], axis=1)


def main(shot, off, *, records=None, centerline=None, **columns):
    """Place a straight main of 20-ft pipes, shot so far along, of which each station is off by so much."""
    true = 20.0 * np.arange(MANY)
    rows = log(straight(true), station=np.char.mod("%.3f", np.maximum(true + off, 0.0)), **columns)
    placement = place(
        lines(A=straight(shot)),
        rows,
        centerline={**STATED, **LOOKED_AT, **(centerline or {})},
        records={**DECIMAL, **(records or {})},
    )
    joints = placement.joints
    away = np.abs(joints["northing"].to_numpy() - NORTH - true[joints["joint"].astype(int) - 1])
    return placement, away, joints["accuracy_horizontal"].to_numpy()


def told(placement, code):
    return [note.text for note in placement.notes if note.code == code]


def errors(sigma, seed=3):
    return np.random.default_rng(seed).normal(0.0, sigma, MANY) * (np.arange(MANY) > 0)


def test_stations_whose_error_the_shots_explain_are_said_to_be_taken_as_exact():
    """Stations without error, and shots exactly where they put the joints: a standard error of "0 to 0 ft" was told."""
    placement, *_ = main(20.0 * np.arange(MANY), np.zeros(MANY))
    (text,) = told(placement, "stations-shown")
    assert "their accuracies take stations as exact, since the errors of the shots explain" in text
    assert " 0 us-ft" not in text
    (other,) = told(main(20.0 * np.arange(MANY), errors(0.3))[0], "stations-shown")
    assert "take the standard error of a station as 0.3" in other


@pytest.mark.parametrize("each", [1, 2, 5])
@pytest.mark.parametrize(
    "off",
    [
        lambda seed: errors(0.3, seed),
        lambda seed: np.round(errors(3.0, seed)) - errors(3.0, seed),
        lambda seed: (0.001 + 0.0004 * seed) * 20.0 * np.arange(MANY),
        lambda seed: np.cumsum(errors(0.08, seed)),
    ],
    ids=["taped", "whole feet", "a wheel that counts too much", "chained"],
)
def test_joints_that_were_shot_show_how_far_off_stations_are_whatever_makes_them_so(each, off):
    shot = np.append(np.arange(0.0, 20.0 * (MANY - 1), 20.0 * each), 20.0 * (MANY - 1))
    found = [main(shot, off(seed)) for seed in range(4)]
    away, stated = (np.concatenate(one) for one in list(zip(*found, strict=True))[1:])
    placement = found[0][0]
    assert np.mean(away > stated) < 0.08
    # Taken as exact, most of them would lie outside.
    assert np.mean(away > 2.4477 * 0.02) > 0.4
    assert np.median(stated) < 4.0 * np.sqrt(np.mean(away**2))
    assert (
        placement.joints["accuracy_source"].str.contains("the station's error as joints that were shot show it").all()
    )
    (text,) = told(placement, "stations-shown")
    assert text.startswith(
        f"{MANY} joints lie where stations put them, and the job does not say how well these are known"
    )
    assert not told(placement, "stations-unknown")
    assert placement.joints["sigma_horizontal"].median() > 0.04


@pytest.mark.parametrize(
    "columns",
    [{}, {"laid length": ["20.00"] * MANY}, {"laid length": ["20.05"] * MANY}],
    ids=["no lengths", "laid", "open"],
)
def test_of_shots_taken_anywhere_nothing_tells_and_no_accuracy_is_stated_but_square_to_the_line_and_in_height(columns):
    shot = np.append(np.arange(0.0, 1170.0, 33.0), 20.0 * (MANY - 1))
    placement, _, stated = main(shot, errors(0.3), **columns)
    joints = placement.joints
    assert np.isnan(stated).all()
    assert joints["sigma_horizontal"].isna().all()
    assert joints["accuracy_vertical"].notna().all()
    assert joints["accuracy_source"].str.contains("the station's error, which nothing tells").all()
    (text,) = told(placement, "stations-unknown")
    assert text.startswith(f"{MANY} joints lie where stations put them, and neither does the job say how well")
    assert "records.sigma_station" in text
    assert next(note for note in placement.notes if note.code == "stations-unknown").severity == "check"


def test_of_a_joint_whose_station_nothing_tells_the_elevation_is_no_surer_than_the_grade_makes_it():
    # Along a grade of one in ten, shot each 33 ft, a joint that lies 5 ft off is half a foot off in height.
    true, along = 20.0 * np.arange(MANY), np.append(np.arange(0.0, 1170.0, 33.0), 20.0 * (MANY - 1))
    shots = straight(along) + np.stack([0 * along, 0 * along, 0.1 * along], axis=1)
    rows = log(straight(true), station=np.char.mod("%.3f", true))
    joints = place(lines(A=shots), rows, centerline=STATED, records=DECIMAL).joints
    assert joints["accuracy_vertical"].min() > 0.5


def test_an_error_that_the_job_states_is_taken_and_one_that_is_stated_as_none_too():
    shot = np.append(np.arange(0.0, 1170.0, 33.0), 20.0 * (MANY - 1))
    placement, away, stated = main(shot, errors(0.3), records={"sigma_station": 0.3})
    assert np.mean(away > stated) < 0.08
    assert placement.joints["accuracy_source"].str.contains("shots, the station's error and the line between").all()
    exact, _, none = main(shot, errors(0.3), records={"sigma_station": 0.0})
    # A station that is off by itself, as the steps beside it show, is off whatever is stated.
    assert np.median(none) < 0.06
    for one in (placement, exact):
        assert not told(one, "stations-unknown") + told(one, "stations-shown")


BENDS = 4 + 9 * np.arange(6)
"""Joints of a main that are bends of 22.5 degrees, to the right and to the left."""


def bent(off, *, each=33.0, bends=BENDS):
    """Place a main with bends, shot at these and each so many feet, of which each station is off by so much."""
    joint, azimuth = np.arange(MANY), np.zeros(MANY)
    for count, at in enumerate(bends):
        azimuth[at:] += np.radians(22.5) * (1 if count % 2 == 0 else -1)
    step = 20.0 * np.stack([np.sin(azimuth), np.cos(azimuth), 0.0 * azimuth], axis=1)
    points = np.array([EAST, NORTH, 50.0]) + np.concatenate([np.zeros((1, 3)), np.cumsum(step[:-1], axis=0)])
    true = 20.0 * joint
    along = np.union1d(np.append(np.arange(0.0, true[-1] - 10.0, each), true[-1]), true[list(bends)])
    shots = np.stack([np.interp(along, true, one) for one in points.T], axis=1)
    # Shots without error would be taken for none.
    shots = shots + np.random.default_rng(5).normal(0.0, 0.02, shots.shape)
    is_bend = np.isin(joint, bends)
    rows = log(
        points, station=np.char.mod("%.3f", np.maximum(true + off, 0.0)), kind=np.where(is_bend, "bend", "pipe"),
        **{"bend angle": np.where(is_bend, "22.5", "")},
    )  # fmt: skip
    placement = place(lines(A=shots), rows, centerline=STATED, records=DECIMAL)
    joints = placement.joints
    true_at = points[joints["joint"].astype(int) - 1]
    away = np.hypot(joints["easting"] - true_at[:, 0], joints["northing"] - true_at[:, 1]).to_numpy()
    return placement, away, joints["accuracy_horizontal"].to_numpy()


@pytest.mark.parametrize(
    "off",
    [
        lambda seed: errors(0.3, seed),
        lambda seed: (0.001 + 0.0004 * seed) * 20.0 * np.arange(MANY),
        lambda seed: np.cumsum(errors(0.08, seed)),
    ],
    ids=["taped", "a wheel that counts too much", "chained"],
)
def test_bends_at_their_corners_show_how_far_off_stations_are_where_other_joints_were_not_shot(off):
    found = [bent(off(seed)) for seed in range(6)]
    away, stated = (np.concatenate(one) for one in list(zip(*found, strict=True))[1:])
    assert np.mean(away > stated) < 0.05
    assert np.median(stated) < 6.0 * np.sqrt(np.mean(away**2))
    (text,) = told(found[0][0], "stations-shown")
    assert f"by {len(BENDS)} bends at their corners, or ties, their accuracies take" in text


def test_few_bends_tell_nothing_and_those_near_the_start_do_not_vouch_for_the_end():
    wheel = 0.003 * 20.0 * np.arange(MANY)
    assert np.isnan(bent(wheel, bends=BENDS[:3])[2]).all()
    _, away, stated = bent(wheel, bends=(2, 5, 8, 11))
    assert np.mean(away > stated) < 0.05


def test_joints_surveyed_themselves_show_it_too_and_have_none_of_it():
    shot = np.append(np.arange(0.0, 1170.0, 33.0), 20.0 * (MANY - 1))
    true, some = straight(20.0 * np.arange(MANY)), np.arange(MANY) % 5 == 2
    own = {
        name: np.where(some, one, np.nan) for name, one in zip(("easting", "northing"), true.T + 0.003, strict=False)
    }
    placement, away, stated = main(shot, errors(0.4), **own)
    assert np.mean(away > stated) < 0.08
    assert (stated[some] < 0.06).all()
    assert np.median(stated[~some]) > 0.5
    assert told(placement, "stations-shown")[0].startswith("48 joints lie where stations put them")


def test_one_wrong_station_says_nothing_of_the_others():
    off = errors(0.05)
    shot = np.append(np.arange(0.0, 20.0 * (MANY - 1), 40.0), 20.0 * (MANY - 1))
    usual = main(shot, off)[2]
    off[20] = 8.0
    assert np.median(main(shot, off)[2]) < 1.6 * np.median(usual)


def test_routes_with_few_shots_go_by_those_of_the_whole_job():
    true = straight(20.0 * np.arange(MANY))
    beside = np.array([200.0, 0.0, 0.0])
    rows = [log(true, station=np.char.mod("%.3f", 20.0 * np.arange(MANY) + np.abs(errors(0.3, seed))), route=name)
            for name, seed in (("A", 1), ("B", 2))]  # fmt: skip
    rows[1] = rows[1][:4]
    placement = place(
        lines(A=true[::2], B=true[[0, 3]] + beside), pd.concat(rows, ignore_index=True),
        centerline=STATED, records=DECIMAL,
    )  # fmt: skip
    stated = placement.joints.groupby("route")["accuracy_horizontal"].median()
    assert 0.5 < stated["A"] < 1.2
    assert 0.5 < stated["B"] < 1.2


def test_shots_taken_anywhere_are_hardly_ever_taken_for_shots_of_joints():
    chance = np.random.default_rng(11)
    for many in (4, 7, 12, 40, 300):
        wrong = sum(are_at_joints(chance.random(many)) for _ in range(2000))
        assert wrong <= 6
        # Joints shot, with stations off by a twentieth of a pipe.
        part = np.minimum(np.abs(chance.normal(0.0, 0.1, (300, many))), 1.0)
        assert np.mean([are_at_joints(one) for one in part]) > (0.2 if many < 7 else 0.95)


@pytest.mark.parametrize("each", [1, 2])
def test_a_stated_error_that_joints_off_their_shots_contradict_is_not_believed(each):
    shot = np.append(np.arange(0.0, 20.0 * (MANY - 1), 20.0 * each), 20.0 * (MANY - 1))
    found = [main(shot, errors(0.5, seed), records={"sigma_station": 0.05}) for seed in range(4)]
    away, stated = (np.concatenate(one) for one in list(zip(*found, strict=True))[1:])
    assert np.mean(away > stated) < 0.05
    for placement, *_ in found:
        (text,) = told(placement, "sigma-understated")
        assert "records.sigma_station states 0.05 ft" in text
        seen = float(text.split("standard error of ")[1].split()[0])
        assert seen == pytest.approx(0.5, rel=0.5)
        assert placement.joints["accuracy_source"].str.contains("where that is more than is stated").all()
    # Shots that lie beside the joints show nothing of stations.
    placement, *_ = main(shot, errors(0.5), records={"sigma_station": 0.05}, centerline={"shots_at_joints": False})
    assert not told(placement, "sigma-understated")


@pytest.mark.parametrize("each", [1, 2, 5])
@pytest.mark.parametrize(("sigma", "wrong"), [(0.0, 0), (0.1, 0), (0.4, 0), (0.1, 4)])
def test_a_true_error_that_is_stated_is_never_contradicted_nor_by_a_few_wrong_stations(each, sigma, wrong):
    shot = np.append(np.arange(0.0, 20.0 * (MANY - 1), 20.0 * each), 20.0 * (MANY - 1))
    for seed in range(6):
        off = errors(sigma, seed)
        off[7 : 7 + 10 * wrong : 10] += 3.0
        assert not told(main(shot, off, records={"sigma_station": sigma})[0], "sigma-understated")


def test_shots_halfway_between_joints_contradict_no_error_of_stations():
    # One of five mains was shot at mid-pipe, the others at their joints, and stations are as good as they are stated.
    true, beside = 20.0 * np.arange(MANY), np.array([200.0, 0.0, 0.0])
    shots, logs = {}, []
    for at, name in enumerate("ABCDE"):
        along = true if at else np.append(np.append(0.0, true[1:-1] + 10.0), true[-1])
        shots[name] = straight(along) + at * beside + np.random.default_rng(at).normal(0.0, 0.02, (MANY, 3))
        station = np.maximum(true + errors(0.05, at), 0.0)
        logs.append(log(straight(true), station=np.char.mod("%.3f", station), route=name))
    placement = place(
        lines(**shots), pd.concat(logs, ignore_index=True), centerline=STATED,
        records={**DECIMAL, "sigma_station": 0.05},
    )  # fmt: skip
    assert not told(placement, "sigma-understated")
