"""Blunders of the job file, told with their key; honest jobs, of which nothing is told."""

import re
from typing import Any

import job_blunders
import pytest
from job_blunders import planned, told

SEEDS = (1, 2)


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("blunder", job_blunders.REFUSED, ids=lambda one: one.__name__)
def test_what_cannot_be_right_in_a_job_is_refused_with_its_key_and_the_remedy(tmp_path, blunder, seed):
    job = planned(seed)
    assert re.search(blunder(job), told(tmp_path, job).refused)


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("blunder", job_blunders.NOTED, ids=lambda one: one.__name__)
def test_what_is_doubtful_in_a_job_is_noted_and_no_joint_is_surely_within_by_it(tmp_path, blunder, seed):
    job = planned(seed, every=getattr(blunder, "every", 1))
    code, text = blunder(job)
    found = told(tmp_path, job)
    assert found.refused == ""
    assert any(one == code and re.search(text, said) for one, said in found.notes)
    assert found.wrong_within == 0


DOUBTS = {"keys-doubtful", "limits-doubtful", "allowables-doubtful", "readings-unused", "survey-screened", "line-short"}
HONEST: dict[str, dict[str, Any]] = {
    "shot at every joint": {}, "shot at every fifth": {"every": 5}, "noisy": {"noise": 0.06}, "curved": {"spread": 2.5},
    "pipes of 18 ft": {"length": 18.0}, "with coordinates": {"coordinates": True}, "without bends": {"bends": 0},
}  # fmt: skip


@pytest.mark.parametrize("kind", HONEST)
def test_an_honest_job_raises_no_doubt_of_its_keys(tmp_path, kind):
    job = planned(3, **HONEST[kind])
    job.says("records", laying_length=HONEST[kind].get("length", 20.0))
    sigma = HONEST[kind].get("noise", 0.02)
    job.says("centerline", sigma_horizontal=sigma, sigma_vertical=sigma)
    found = told(tmp_path, job)
    assert found.refused == ""
    assert [one for one in found.notes if one[0] in DOUBTS] == []
    assert found.off < 5.0
    assert found.wrong_within == 0
