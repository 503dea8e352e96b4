"""Runs of joint numbers and dates, held against trying every run there is."""

from itertools import combinations, pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from asbuilt.placing.sequence import in_order


@pytest.mark.parametrize("rising", [False, True])
@given(values=st.lists(st.integers(0, 4), max_size=9))
def test_no_run_in_order_is_longer_than_the_one_marked(rising, values):
    def runs(chosen):
        return all(a < b if rising else a <= b for a, b in pairwise(chosen))

    marked = in_order(values, rising=rising)
    assert runs(np.array(values)[marked].tolist())
    longer = int(marked.sum()) + 1
    assert not any(runs(chosen) for chosen in combinations(values, longer))
