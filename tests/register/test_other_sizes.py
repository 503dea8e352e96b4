"""Joints that would be taken for those of another size: a main of 8 in is not one of 12 in, wherever it lies."""

import pytest
from registers import placed

from asbuilt import cli
from asbuilt.errors import AsbuiltError
from asbuilt.register.loading import load
from asbuilt.register.question import Question
from asbuilt.register.search import find
from asbuilt.register.settling import settle
from asbuilt.register.waiting import conflicts

NEAR = 3.0
"""Feet: joints of one number this far apart wait, and are no pipe's length from one another."""


def sizes(register):
    return [(one["size"], one["size_unit"]) for one in find(register, Question()).joints]


@pytest.fixture
def register_of_twelve(register, folder):
    load(placed(folder / "twelve.gpkg", "Contract 1"), register)
    return register


def test_joints_of_another_size_are_not_taken_for_the_same_ones_without_its_being_said(
    register_of_twelve, folder, capsys
):
    register = register_of_twelve
    load(placed(folder / "eight.gpkg", "Survey 2031", east=NEAR, size="8"), register)
    with pytest.raises(AsbuiltError) as told:
        settle(register, "theirs", job="Survey 2031")
    said = str(told.value)
    assert "6 of 6 joints of Survey 2031 would take the place of joints of another size" in said
    assert "(A 1: 8 in, there 12 in; A 2: 8 in, there 12 in; A 3: 8 in, there 12 in; ...)" in said
    for remedy in ("--settle main --main NAME", "--replaces", "--other-sizes"):
        assert remedy in said
    assert len(conflicts(register)) == 6
    assert set(sizes(register)) == {(12.0, "in")}
    assert cli.run(["conflicts", register, "--job", "Survey 2031", "--settle", "theirs", "--other-sizes"]) == 0
    capsys.readouterr()
    assert conflicts(register) == []
    assert set(sizes(register)) == {(8.0, "in")}


@pytest.mark.parametrize("size", ["12", None])
def test_joints_of_the_same_size_or_of_none_known_are_taken(register_of_twelve, folder, size):
    load(placed(folder / "same.gpkg", "Survey 2031", east=NEAR, size=size), register_of_twelve)
    assert settle(register_of_twelve, "theirs", job="Survey 2031").joints == 6


def test_the_registers_joints_are_kept_whatever_their_sizes(register_of_twelve, folder):
    load(placed(folder / "eight.gpkg", "Survey 2031", east=NEAR, size="8"), register_of_twelve)
    assert settle(register_of_twelve, "ours", job="Survey 2031").joints == 6
