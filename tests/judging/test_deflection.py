"""Turns and deflections against published tables, closed forms and properties that always hold."""

import csv
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from asbuilt.judging import bounds, deflection

PUBLISHED = Path(__file__).parents[1] / "data" / "published"


def along(*directions, length=20.0, start=(0.0, 0.0, 0.0)):
    """Lay lengths of pipe in given (azimuth, inclination) directions, degrees; give the joints' positions."""
    azimuth, inclination = np.radians(np.array(directions)).T
    step = length * np.stack(
        [np.sin(azimuth) * np.cos(inclination), np.cos(azimuth) * np.cos(inclination), np.sin(inclination)], axis=1
    )
    return np.concatenate([[start], start + np.cumsum(step, axis=0)])


def turns_of(points):
    found = deflection.segments(np.arange(len(points) - 1), *points.T)
    return deflection.turns(len(points), found)


def test_turn_keeps_its_digits_where_the_arc_cosine_loses_them():
    tiny = 1e-7
    points = along((0, 0), (tiny, 0), length=1.0)
    assert np.degrees(turns_of(points).turn[1]) == pytest.approx(tiny, rel=1e-6)


@given(st.floats(0, 360), st.floats(-60, 60), st.floats(-170, 170), st.floats(-60, 60))
def test_turn_agrees_with_the_compound_bend_relation(azimuth, back, turn, ahead):
    # cos(turn) = cos(v1) cos(v2) cos(H) + sin(v1) sin(v2): compound bends, textbook relation (from memory).
    found = turns_of(along((azimuth, back), (azimuth + turn, ahead)))
    v1, v2, h = np.radians([back, ahead, turn])
    relation = np.cos(v1) * np.cos(v2) * np.cos(h) + np.sin(v1) * np.sin(v2)
    assert np.cos(found.turn[1]) == pytest.approx(relation, abs=1e-9)
    assert np.degrees(found.horizontal[1]) == pytest.approx(turn, abs=1e-6)
    assert np.degrees(found.vertical[1]) == pytest.approx(ahead - back, abs=1e-6)


def test_right_and_up_are_positive():
    right_and_up = turns_of(along((10, 0), (15, 2)))
    assert np.degrees(right_and_up.horizontal[1]) == pytest.approx(5)
    assert np.degrees(right_and_up.vertical[1]) == pytest.approx(2)
    left_and_down = turns_of(along((2, 1), (358, -1)))
    assert np.degrees(left_and_down.horizontal[1]) == pytest.approx(-4)
    assert np.degrees(left_and_down.vertical[1]) == pytest.approx(-2)


@given(st.floats(-180, 180), st.tuples(*[st.floats(-1e6, 1e6)] * 3))
def test_turning_and_moving_the_whole_survey_changes_no_turn(spin, shift):
    points = along((30, 1), (34, 0), (33, -2), (39, 5))
    a = np.radians(spin)
    rotation = np.array([[np.cos(a), np.sin(a), 0], [-np.sin(a), np.cos(a), 0], [0, 0, 1]])
    moved = turns_of(points @ rotation.T + np.array(shift))
    # A million feet leave nine or ten digits of a foot: a few millionths of a degree on 20 ft.
    np.testing.assert_allclose(np.degrees(moved.turn[1:-1]), np.degrees(turns_of(points).turn[1:-1]), atol=1e-5)


@given(st.floats(0.0, 2 * np.pi), st.tuples(*[st.floats(-1, 1)] * 3).filter(lambda axis: np.hypot(*axis[:2]) > 0.1))
def test_turning_the_survey_about_any_axis_in_space_changes_no_turn(angle, axis):
    from scipy.spatial.transform import Rotation

    points = along((30, 1), (34, 0), (33, -2), (39, 5))
    rotation = Rotation.from_rotvec(angle * np.array(axis) / np.linalg.norm(axis))
    moved = rotation.apply(points)
    np.testing.assert_allclose(
        np.degrees(turns_of(moved).turn[1:-1]), np.degrees(turns_of(points).turn[1:-1]), atol=1e-9
    )


def test_ends_of_a_route_have_no_turn():
    found = turns_of(along((0, 0), (5, 0)))
    assert np.isnan(found.turn[[0, 2]]).all()


def test_without_elevations_the_turn_is_horizontal_only():
    points = along((10, 10), (14, -10))
    points[2, 2] = np.nan
    found = turns_of(points)
    assert np.degrees(found.turn[1]) == pytest.approx(4)
    assert np.isnan(found.vertical[1])


def test_a_straight_without_length_has_no_direction_and_no_turn():
    points = along((10, 0), (14, 0), (14, 0))
    points[2] = points[1]
    assert np.isnan(turns_of(points).turn[1:3]).all()


def published(name):
    with (PUBLISHED / name).open() as file:
        return list(csv.DictReader(file))


def degrees(text):
    parts = [float(part) for part in text.split("-")]
    return parts[0] + (parts[1] / 60 if len(parts) > 1 else 0)


@pytest.mark.parametrize("table", ["push_on_offsets.csv", "mechanical_offsets.csv"])
@pytest.mark.parametrize("length", [18, 20])
def test_offsets_and_radii_of_c600_come_out_of_laid_pipe(table, length):
    """Lay two lengths at the published deflection, and read the offset and the radius back from the joints.

    Source: AWWA C600, tables of maximum deflection of full-length pipe (from memory). The tables print
    offsets to the inch (half inch for some) and radii to 5 or 10 ft.
    """
    for row in published(table):
        angle = degrees(row.get("deflection_deg") or row["deflection_deg_min"])
        points = along((0, 0), (angle, 0), (2 * angle, 0), length=length)
        measured = np.degrees(turns_of(points).turn[1])
        assert measured == pytest.approx(angle, abs=1e-9)
        offset_in = 12 * length * np.sin(np.radians(measured))
        assert offset_in == pytest.approx(float(row[f"offset_{length}ft_in"]), abs=1.0), row
        radius = length / (2 * np.tan(np.radians(measured) / 2))
        assert radius == pytest.approx(float(row[f"radius_{length}ft_ft"]), rel=0.04), row
        # The joints of equal deflections lie on a circle; its radius through three of them:
        assert circle_through(points[1:, :2]) == pytest.approx(length / (2 * np.sin(np.radians(angle) / 2)), rel=1e-9)


def circle_through(points):
    a, b, c = (np.linalg.norm(points[i] - points[j]) for i, j in ((0, 1), (1, 2), (0, 2)))
    (x1, y1), (x2, y2) = points[1] - points[0], points[2] - points[0]
    return a * b * c / (2 * abs(x1 * y2 - x2 * y1))


def test_a_deflection_at_its_allowable_is_within():
    at = np.array([5.0 + 1e-12])
    assert deflection.verdicts(at, at, np.array([5.0]), np.array([True])).to_pylist() == ["within"]


def test_one_sided_bounds_are_those_of_the_normal_distribution():
    from scipy.stats import norm

    for confidence in (0.5, 0.9, 0.95, 0.99):
        assert bounds.one_sided(confidence) == pytest.approx(norm.ppf(confidence), abs=1e-12)
