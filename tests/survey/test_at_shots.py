"""Joints by their stations against the shots: what shots at the middle of each pipe tell, and what they do not."""

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
