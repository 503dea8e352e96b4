"""Bounds of a deflection that was measured as a vector, held against brute force and against simulated errors."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import ncx2, norm

from asbuilt.judging.bounds import Measured, factor_outside, least, most, one_sided

AROUND = np.linspace(0.0, 2.0 * np.pi, 20_001)


def measured(one, other, sigma_one, sigma_other, correlation, many=1):
    full = [np.full(many, value) for value in (sigma_one**2, sigma_other**2, correlation * sigma_one * sigma_other)]
    return Measured(np.broadcast_to(one, many).astype(float), np.broadcast_to(other, many).astype(float), *full)


@given(
    st.floats(-5, 5), st.floats(-5, 5), st.floats(0.01, 2), st.floats(0.01, 2), st.floats(-0.95, 0.95),
    st.floats(0.5, 4),
)  # fmt: skip
def test_bounds_are_the_nearest_and_the_farthest_point_of_the_ellipse(one, other, sigma_one, sigma_other, both, z):
    covariance = np.array(
        [[sigma_one**2, both * sigma_one * sigma_other], [both * sigma_one * sigma_other, sigma_other**2]]
    )
    edge = z * np.linalg.cholesky(covariance) @ np.stack([np.cos(AROUND), np.sin(AROUND)])
    distance = np.hypot(one + edge[0], other + edge[1])
    center = np.array([one, other])
    inside = center @ np.linalg.solve(covariance, center) <= z**2
    found = measured(one, other, sigma_one, sigma_other, both)
    assert most(found, z)[0] == pytest.approx(distance.max(), abs=1e-4)
    assert least(found, z)[0] == pytest.approx(0.0 if inside else distance.min(), abs=1e-4)


@pytest.mark.parametrize("confidence", [0.9, 0.95, 0.99, 0.9999])
def test_the_factor_outside_a_circle_is_never_under_that_of_the_rice_distribution(confidence):
    # scipy's noncentral chi-square: the square of the length of a vector whose errors are alike in all directions.
    radius = np.array([0.0, 0.1, 0.3, 1.0, 2.0, 5.0, 20.0, 100.0])
    exact = np.sqrt(ncx2.ppf(confidence, 2, np.maximum(radius, 1e-9) ** 2)) - radius
    found = factor_outside(measured(0.0, 0.0, 1.0, 1.0, 0.0, len(radius)), radius, confidence)
    assert (found >= exact - 1e-4).all()
    assert (found <= exact + 0.13).all()
    assert factor_outside(measured(0.0, 0.0, 1.0, 0.0, 0.0), np.array([1.0]), confidence)[0] == pytest.approx(
        norm.ppf(confidence)
    )


@pytest.mark.parametrize(
    ("size", "along", "across"),
    [(0.7, 0.2, 0.2), (3.0, 0.14, 0.42), (5.0, 0.14, 0.7), (2.0, 0.2, 0.4), (3.0, 0.4, 0.1)],
)
def test_the_error_of_a_length_is_that_of_repeated_vectors(size, along, across):
    """Errors square to a vector turn it, and reach its length by half of what the turned axes say. 400,000 vectors."""
    chance, none = np.random.default_rng(8), np.zeros(400_000)
    one, other = size + chance.normal(0, along, 400_000), chance.normal(0, across, 400_000)
    found = Measured(one, other, none + along**2, none + across**2, none)
    stated = np.sqrt(np.mean(found.sigma_of_size**2))
    assert stated == pytest.approx(found.size.std(), rel=0.015)


@pytest.mark.parametrize(
    ("limit", "sigma"), [(1.5, (0.7, 0.7)), (1.5, (0.1, 0.7)), (5.0, (0.14, 0.7)), (3.0, (1.4, 0.3))]
)
def test_a_deflection_at_its_limit_is_wrongly_judged_at_most_as_often_as_stated(limit, sigma):
    """Whatever its direction, and however unequal the errors: 20,000 measurements each."""
    chance, many = np.random.default_rng(5), 20_000
    for angle in np.linspace(0.0, np.pi / 2, 5):
        one = limit * np.cos(angle) + chance.normal(0, sigma[0], many)
        other = limit * np.sin(angle) + chance.normal(0, sigma[1], many)
        found = measured(one, other, sigma[0], sigma[1], 0.0, many)
        far = factor_outside(found, np.full(many, limit), 0.95)
        assert np.mean(most(found, one_sided(0.95)) <= limit) < 0.055
        assert np.mean(least(found, far) > limit) < 0.055
