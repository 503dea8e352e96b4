"""Shots that all lie off from one on, and what looks like them: fittings not logged yet, joints over there and back."""

import laying
import numpy as np
import pytest


@pytest.mark.parametrize("joints", [1, 40])
def test_an_offset_of_fittings_beyond_a_partial_log_is_no_shift(joints):
    """Two bends of 45 degrees take the main aside, where the log does not reach yet."""
    turns = np.zeros(88)
    turns[[60, 61]] = 45.0, -45.0
    points = laying.pipe(turns)
    placed = laying.place(laying.lines(A=points), laying.log(points).iloc[:joints], records={"covers": "part"})
    assert not {"shot-astray", "shot-height"} & set(placed.findings["code"])


def test_two_joints_beyond_their_allowable_there_and_back_are_named_as_what_it_may_be():
    turns = np.zeros(58)
    turns[[30, 31]] = 12.0, -12.0
    points = laying.pipe(turns)
    placed = laying.place(laying.lines(A=points), laying.log(points))
    (told,) = placed.findings.query("code == 'shot-astray'")["message"]
    assert "the two joints there are deflected beyond what they may be: name this shot in" in told
