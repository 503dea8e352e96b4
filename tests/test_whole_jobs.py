"""Whole random jobs go through every command, and every answer is held against what the generator knows."""

import tempfile
from pathlib import Path

import whole_jobs
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st


# A job is not made smaller: that would take minutes, and what failed is named by the command and its message.
@given(st.randoms(use_true_random=False), st.integers(0, 3))
@settings(
    max_examples=20, phases=(Phase.explicit, Phase.reuse, Phase.generate),
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)  # fmt: skip
def test_every_job_is_refused_with_a_message_or_comes_out_as_it_was_laid(random, turn):
    with tempfile.TemporaryDirectory() as folder:
        job = whole_jobs.make(random, Path(folder))
        whole_jobs.walk(job, review=turn == 0)
