"""Elevations that are none, however they are written: not judged as a scatter, and no room for joints."""

import numpy as np
import pytest
from laying import lines, log, pipe, place

SHOT = {"sigma_horizontal": 0.03, "sigma_vertical": 0.03, "source": "survey"}
POINTS = pipe(np.random.default_rng(7).normal(0.0, 0.4, 58), up=0.01)
HEIGHTS = {
    "one number to the end": (slice(30, None), 100.37), "one number to the beginning": (slice(None, 25), 1.0),
    "one number between": (slice(20, 40), 100.0), "no value of -99": (slice(20, 40), -99.0),
    "a zero to the end": (slice(30, None), 0.0), "every other zero": (slice(None, None, 2), 0.0),
}  # fmt: skip


def placed(heights=(), *, every=1, seed=1, **keys):
    """Shoot a main that climbs from 20 ft by a foot in a hundred, and write other elevations in."""
    points = POINTS + np.random.default_rng(seed).normal(0.0, 0.03, POINTS.shape) - [0.0, 0.0, 30.0]
    points[:, 2] = np.round(points[:, 2], 2)
    for rows, value in heights:
        points[rows, 2] = value
    return place(lines(A=points[::every]), log(POINTS), centerline=SHOT | keys, records={"sigma_station": 0.05})


@pytest.mark.parametrize("what", HEIGHTS)
def test_elevations_that_are_none_are_told_as_such_and_as_nothing_else(what):
    rows, value = HEIGHTS[what]
    job = placed([(rows, value)])
    told = job.findings.query("code == 'shot-height'")
    assert told["message"].str.contains(f"elevation {value:g} of .* is no elevation").all()
    assert len(told)
    assert not {"joints-missing", "shots-too-even"} & set(job.findings["code"])
    none = np.zeros(len(POINTS), dtype=bool)
    none[rows] = True
    # At either side the next shot is of the pipe, so an accuracy may stand there.
    inside = none & np.roll(none, 1) & np.roll(none, -1)
    assert job.joints["accuracy_vertical"][inside].isna().all()
    assert "within" not in set(job.joints["verdict"][none])


@pytest.mark.parametrize("seed", range(4))
def test_true_elevations_are_measured(seed):
    job = placed(seed=seed)
    assert not {"shot-height", "joints-missing", "shots-too-even"} & set(job.findings["code"])
    assert job.joints["accuracy_vertical"].notna().all()
    assert set(job.joints["verdict"][1:-1]) == {"within"}


@pytest.mark.parametrize("every", [1, 4])
def test_a_step_in_height_that_is_doubted_leaves_no_room_for_joints(every):
    points = POINTS + np.random.default_rng(1).normal(0.0, 0.03, POINTS.shape)
    points[32:, 2] += 60.0
    job = place(lines(A=points[::every]), log(POINTS), centerline=SHOT)
    assert "shot-height" in set(job.findings["code"])
    assert "joints-missing" not in set(job.findings["code"])
    # Nobody knows on which side of the step the elevations are right.
    assert not job.joints["accuracy_vertical"].lt(60.0).any()
    assert not job.joints["accuracy_horizontal"].gt(30.0).any()


def test_a_day_of_elevations_in_metres_is_told_as_one_in_another_unit():
    points = POINTS + np.random.default_rng(1).normal(0.0, 0.03, POINTS.shape)
    points[:, 2] += 700.0
    true = points[:, 2].copy()
    # The foot by its definition of 1959, 0.3048 m.
    points[32:, 2] *= 0.3048
    job = place(lines(A=points), log(POINTS), centerline=SHOT)
    (told,) = job.findings.query("code == 'shot-height'")["message"]
    assert told.endswith("the two are as one height in metres and in feet: give the elevations one unit")
    lies = np.abs(job.joints.geometry.z.to_numpy() - true[: len(job.joints)])
    # The heights climb by a hundredth along the main, and so does what the unit makes of them.
    assert (lies <= 1.01 * job.joints["accuracy_vertical"]).all()


@pytest.mark.parametrize("value", [100.0, 100.37])
def test_one_elevation_for_all_shots_is_no_even_scatter_and_is_said(value):
    job = placed([(slice(None), value)])
    assert "shots-too-even" not in set(job.findings["code"])
    (note,) = [note.text for note in job.notes if "which no survey finds" in note.text]
    assert f"have the elevation {value:g}" in note
    assert 'centerline.elevation = "none"' in note
    assert not [note for note in placed().notes if "which no survey finds" in note.text]
    # Nothing is measured of turns up and down, and no elevation is made up.
    judged = job.joints[job.joints["verdict"].isin(["within", "within-assumed"])]
    assert len(judged)
    assert judged["verdict_assumes"].str.contains("level").all()
    assert job.joints.geometry.z.isna().all()


def test_a_level_crossing_under_a_river_to_a_tenth_of_a_foot_was_shot():
    points = POINTS.copy()
    points[:, 2] = 50.0
    points[20:30, 2] = 35.0
    points += np.random.default_rng(2).normal(0.0, [0.03, 0.03, 0.01], points.shape)
    points[:, 2] = np.round(points[:, 2], 1)
    kind = np.where(np.isin(np.arange(60), [19, 20, 29, 30]), "bend", "pipe")
    angle = np.where(kind == "bend", "45", "")
    job = place(lines(A=points), log(POINTS, kind=kind, **{"bend angle": angle, "bend plane": "vertical"}),
                centerline=SHOT | {"sigma_vertical": 0.05})  # fmt: skip
    assert not job.findings["message"].str.contains("is no elevation").any()


@pytest.mark.parametrize(("many", "told"), [(7, False), (8, True)])
def test_one_elevation_at_an_end_of_the_line_is_none_where_it_stands_often_enough(many, told):
    # A step of 10 ft in 20 could be a pipe's at its end, and a true elevation does not come back 8 times.
    job = placed([(slice(60 - many, None), float(np.round(POINTS[59 - many, 2] - 20.0, 2)))])
    assert job.findings["message"].str.contains("is no elevation").any() == told


def test_one_elevation_that_was_looked_at_is_not_asked_about():
    def asked(**keys):
        return [one.text for one in placed([(slice(None), 100.0)], **keys).notes if "no survey finds" in one.text]

    assert asked()
    assert not asked(shots_checked=[f"A:{at}" for at in range(1, 61)])
