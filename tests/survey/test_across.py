"""Shots of two mains side by side exchanged from one on, or along a stretch; mains that cross, of which nothing is."""

import numpy as np
import pandas as pd
import pytest
from laying import lines, log, pipe, place

SHOT = {"sigma_horizontal": 0.03, "sigma_vertical": 0.03, "source": "survey"}
AWAY = 8.0


def two(seed, *, every=1, bow=0.0):
    """Lay two mains of 80 joints 8 ft apart; give the joints of each, and those that were shot."""
    chance = np.random.default_rng(seed)
    points = pipe(chance.normal(bow, 0.4, 78))
    along = np.gradient(points[:, :2], axis=0)
    square = np.column_stack([along[:, 1], -along[:, 0], np.zeros(80)]) / np.hypot(*along.T)[:, None]
    mains = {"A": points, "B": points + AWAY * square}
    shot = {name: np.union1d(np.arange(at, 80, every), [0, 79]) for at, name in enumerate(mains)}
    return mains, shot


def placed(mains, shots, *, seed=1, logged=None, **keys):
    chance = np.random.default_rng(seed)
    seen = {name: one + chance.normal(0.0, 0.03, one.shape) for name, one in shots.items()}
    logs = [log(points, route=name, **(logged or {})) for name, points in mains.items()]
    return place(lines(**seen), pd.concat(logs, ignore_index=True), centerline=SHOT | keys,
                 records={"sigma_station": 0.05})  # fmt: skip


def exchanged(mains, shot, start, end):
    """Give the shots of either main, those of joints from one up to another exchanged."""
    other = {"A": "B", "B": "A"}
    found = {}
    for name, rows in shot.items():
        here, there = (np.isin(one, np.arange(start, end)) for one in (rows, shot[other[name]]))
        places = [(at, mains[name][at]) for at in rows[~here]]
        places += [(at, mains[other[name]][at]) for at in shot[other[name]][there]]
        found[name] = np.array([place for _, place in sorted(places, key=lambda one: one[0])])
    return found


@pytest.mark.parametrize("bow", [0.0, 1.0])
@pytest.mark.parametrize("every", [1, 3, 5])
def test_shots_exchanged_from_one_on_leave_no_joint_of_either_main_sure(every, bow):
    mains, shot = two(3, every=every, bow=bow)
    job = placed(mains, exchanged(mains, shot, 40, 80))
    told = job.findings.query("code == 'shot-astray'")["message"]
    assert sum("those ahead of there, or those before" in one for one in told) == 2
    assert "about 8" in told.iloc[0] or "about 7" in told.iloc[0]
    assert job.joints["accuracy_horizontal"].isna().all()
    assert set(job.joints["verdict"]) <= {"cannot-tell", "not-computed"}


@pytest.mark.parametrize("every", [1, 3, 5])
def test_shots_exchanged_along_a_stretch_leave_the_others_known(every):
    mains, shot = two(4, every=every)
    job = placed(mains, exchanged(mains, shot, 30, 55))
    joints = job.joints.assign(at=job.joints["joint"].astype(int) - 1)
    there = joints.query("30 <= at < 55")
    assert there["accuracy_horizontal"].isna().all()
    assert set(there["verdict"]) == {"cannot-tell"}
    before = joints.query("at < 30 - 2 * @every")
    assert before["accuracy_horizontal"].notna().all()
    # The steps make the lines longer, so that joints ahead of them may stand too far back.
    truth = np.array([mains[name][at, :2] for name, at in zip(joints["route"], joints["at"], strict=True)])
    off = np.hypot(*(joints[["easting", "northing"]].to_numpy() - truth).T)
    known = joints["accuracy_horizontal"].notna().to_numpy()
    assert (off[known] <= joints["accuracy_horizontal"][known]).all()


def test_where_the_shots_were_looked_at_nothing_is_told():
    mains, shot = two(3, every=5)
    shots = exchanged(mains, shot, 40, 80)
    job = placed(
        mains, shots, shots_checked=[f"{name}:{at}" for name, one in shots.items() for at in range(1, len(one))]
    )
    assert "shot-astray" not in set(job.findings["code"])
    assert job.joints["accuracy_horizontal"].notna().all()


def crossing(mains, *, both, over):
    """Lay A, or both, over to the other side, from joint 40 on within so many pipes."""
    part = np.clip((np.arange(80) - 40) / over, 0.0, 1.0)[:, None]
    a, b = mains["A"], mains["B"]
    across = b - a
    return {"A": a + (1.0 if both else 2.0) * part * across, "B": b - part * across if both else b}


@pytest.mark.parametrize("every", [1, 3, 5])
@pytest.mark.parametrize("seed", range(4))
def test_of_a_main_that_crosses_the_other_by_its_joints_nothing_is_told(seed, every):
    mains, shot = two(seed, every=every)
    laid = crossing(mains, both=False, over=8)
    job = placed(laid, {name: laid[name][rows] for name, rows in shot.items()})
    assert not job.findings["message"].str.contains("across that of").any()
    assert job.joints["accuracy_horizontal"].notna().all()


def test_mains_that_change_sides_by_bends_of_their_logs_are_no_exchange():
    mains, _ = two(5)
    laid = crossing(mains, both=True, over=1)
    bend = np.isin(np.arange(80), [40, 41])
    more = {"kind": np.where(bend, "bend", "pipe"), "bend angle": np.where(bend, "22.5", "")}
    job = placed(laid, laid, logged=more)
    assert "shot-astray" not in set(job.findings["code"])
    assert job.joints["accuracy_horizontal"].notna().all()


def test_mains_that_were_strung_from_opposite_ends_are_told_as_well():
    mains, shot = two(4)
    seen = exchanged(mains, shot, 30, 55)
    job = placed({"A": mains["A"], "B": mains["B"][::-1]}, {"A": seen["A"], "B": seen["B"][::-1]})
    told = job.findings[job.findings["message"].str.contains("across that of")]
    assert told["route"].tolist() == ["A", "A", "B", "B"]
    at = job.joints["joint"].astype(int) - 1
    there = np.where(job.joints["route"] == "A", at, 79 - at)
    between = (there >= 30) & (there < 55)
    assert set(job.joints["verdict"][between]) == {"cannot-tell"}
    assert job.joints["accuracy_horizontal"][between].isna().all()
