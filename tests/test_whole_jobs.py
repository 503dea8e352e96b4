"""Whole random jobs go through every command, and every answer is held against what the generator knows."""

import tempfile
from pathlib import Path

import whole_jobs
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st


@given(st.randoms(use_true_random=False), st.integers(0, 3))
@settings(max_examples=20, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
def test_every_job_is_refused_with_a_message_or_comes_out_as_it_was_laid(random, turn):
    with tempfile.TemporaryDirectory() as folder:
        job = whole_jobs.make(random, Path(folder))
        whole_jobs.walk(job, review=turn == 0)
