"""How far stations put joints off: as the job states it, as shots of joints or laid lengths show it, or not known."""

import numpy as np
import pandas as pd
import pytest
from laying import EAST, NORTH, lines, log, place

from asbuilt.judging.station_error import _are_at_joints

MANY = 60
STATED = {"sigma_horizontal": 0.02, "sigma_vertical": 0.02, "start_station": 0.0}
DECIMAL = {"station_format": "decimal", "station_tolerance": 20.0}


def straight(along):
    return np.stack([np.full(len(along), EAST), NORTH + np.asarray(along), np.full(len(along), 50.0)], axis=1)


def main(shot, off, *, records=None, **columns):
    """Place a straight main of 20-ft pipes, shot so far along, of which each station is off by so much."""
    true = 20.0 * np.arange(MANY)
    rows = log(straight(true), station=np.char.mod("%.3f", np.maximum(true + off, 0.0)), **columns)
    placement = place(lines(A=straight(shot)), rows, centerline=STATED, records={**DECIMAL, **(records or {})})
    joints = placement.joints
    away = np.abs(joints["northing"].to_numpy() - NORTH - true[joints["joint"].astype(int) - 1])
    return placement, away, joints["accuracy_horizontal"].to_numpy()


def told(placement, code):
    return [note.text for note in placement.notes if note.code == code]


def errors(sigma, seed=3):
    return np.random.default_rng(seed).normal(0.0, sigma, MANY) * (np.arange(MANY) > 0)


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
    assert not told(placement, "stations-exact")
    assert placement.joints["sigma_horizontal"].median() > 0.04


def test_of_shots_taken_anywhere_nothing_tells_and_the_accuracy_says_what_it_takes_as_exact():
    shot = np.append(np.arange(0.0, 1170.0, 33.0), 20.0 * (MANY - 1))
    placement, away, stated = main(shot, errors(0.3))
    assert (
        placement.joints["accuracy_source"]
        .str.contains("the station taken as exact, since nothing tells its error")
        .all()
    )
    (text,) = told(placement, "stations-exact")
    assert "their accuracies take stations as exact" in text
    assert "records.sigma_station" in text
    assert np.mean(away > stated) > 0.5
    note = next(note for note in placement.notes if note.code == "stations-exact")
    assert note.severity == "check"


def test_an_error_that_the_job_states_is_taken_and_one_that_is_stated_as_none_too():
    shot = np.append(np.arange(0.0, 1170.0, 33.0), 20.0 * (MANY - 1))
    placement, away, stated = main(shot, errors(0.3), records={"sigma_station": 0.3})
    assert np.mean(away > stated) < 0.08
    assert placement.joints["accuracy_source"].str.contains("shots, the station's error and the line between").all()
    exact, _, none = main(shot, errors(0.3), records={"sigma_station": 0.0})
    assert none.max() < 0.06
    for one in (placement, exact):
        assert not told(one, "stations-exact") + told(one, "stations-shown")


def test_laid_lengths_show_what_each_station_is_off_by_itself_and_not_what_adds_up():
    shot = np.append(np.arange(0.0, 1170.0, 33.0), 20.0 * (MANY - 1))
    laid = [f"{one:.2f}" for one in np.full(MANY, 20.05)]
    placement, away, stated = main(shot, errors(0.3), **{"laid length": laid})
    assert np.mean(away > stated) < 0.08
    assert stated.max() < 2.4477 * 0.45
    assert placement.joints["accuracy_source"].str.contains("without what adds up along the main").all()
    (text,) = told(placement, "stations-exact")
    assert "by nothing that adds up along the main" in text
    # Stations that were added up from the laid lengths show nothing.
    counted, _, _ = main(shot, np.zeros(MANY), **{"laid length": ["20.00"] * MANY})
    assert "their accuracies take stations as exact" in told(counted, "stations-exact")[0]


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
        wrong = sum(_are_at_joints(chance.random(many)) for _ in range(2000))
        assert wrong <= 6
        # Joints shot, with stations off by a twentieth of a pipe.
        part = np.minimum(np.abs(chance.normal(0.0, 0.1, (300, many))), 1.0)
        assert np.mean([_are_at_joints(one) for one in part]) > (0.2 if many < 7 else 0.95)
