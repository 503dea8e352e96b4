"""Joints by their stations against the shots: what shots tell that are sparse, or at mid-pipe, and what they do not."""

import numpy as np
import pandas as pd
import pytest
from crew_slips import logged, told


def shot_at_mid_pipe(seed, cuts):
    """Shoot the middle of each pipe and both ends of the line, to 0.03 ft."""
    job = logged(
        seed, shape=("straight", "curved", "S")[seed % 3], every=1, noise=0.03, error=0.05, cuts=cuts, known=False
    )
    middle = (job.places[1:] + job.places[:-1]) / 2.0
    seen = np.concatenate([job.places[:1], middle, job.places[-1:]])
    seen += np.random.default_rng(seed).normal(0.0, 0.03, seen.shape)
    job.shots = pd.DataFrame(np.round(seen, 3), columns=["easting", "northing", "elevation"])
    job.shots["point"], job.shots["route"] = 1001 + np.arange(len(seen)), "A"
    return job


@pytest.mark.parametrize("cuts", [0, 1, 2, 5])
@pytest.mark.parametrize("seed", [10, 14, 16])
def test_a_main_shot_at_mid_pipe_and_at_both_ends_shows_no_drift_and_no_other_start(tmp_path, seed, cuts):
    """Of a line as long as its log joints were told to lie 51 ft farther off at the end than at the start."""
    came = told(tmp_path, shot_at_mid_pipe(seed, cuts))
    assert came.refused == ""
    assert "joints-off-shots" not in came.codes
    assert came.falsely_sure == 0


@pytest.mark.parametrize("every", [2, 3, 4])
@pytest.mark.parametrize("seed", range(4))
def test_joints_shot_by_their_numbers_are_at_shots_too(tmp_path, seed, every):
    """Of an honest log it was told that all joints are 20 or 40 ft off: only those between the shots were looked at."""
    job = logged(seed, shape="curved", every=every, noise=0.03, error=0.0, cuts=0, known=False)
    nearest = np.array(
        [np.argmin(np.hypot(*(job.places[:, :2] - one).T)) for one in job.shots[["easting", "northing"]].to_numpy()]
    )
    job.shots["joint"] = [job.log["joint"].iloc[at] for at in nearest]
    job.values["centerline"]["columns"] = {"joint": "joint"}
    came = told(tmp_path, job)
    assert came.refused == ""
    assert "joints-off-shots" not in came.codes
    assert set(came.placement.joints["position_source"]) == {"surveyed", "station"}
