"""Shots that scatter less than shots can: interpolated, splined, smoothed, off a design; and true ones, never told."""

import math

import numpy as np
import pytest
from laying import lines, log, pipe, place
from scipy import stats
from scipy.interpolate import CubicSpline

from asbuilt.survey import evenness

SIGMA = 0.03
SAID = {"centerline": {"sigma_horizontal": SIGMA, "sigma_vertical": SIGMA}}
POINTS = pipe(np.random.default_rng(7).uniform(-1.0, 1.0, 60))
ALONG = 20.0 * np.arange(len(POINTS))


def shot(seed=1):
    return POINTS + np.random.default_rng(seed).normal(0.0, SIGMA, POINTS.shape)


def told(points, **centerline):
    placement = place(lines(A=np.round(points, 3)), log(POINTS), centerline=SAID["centerline"] | centerline)
    found = placement.findings[placement.findings["code"] == evenness.CODE]
    return placement, found


def between(points, every, curve):
    kept = np.union1d(np.arange(0, len(points), every), [len(points) - 1])
    return np.column_stack([curve(ALONG[kept], one[kept]) for one in points.T])


def on_chords(at, values):
    return np.interp(ALONG, at, values)


def on_a_spline(at, values):
    return CubicSpline(at, values)(ALONG)


def smoothed(points):
    padded = np.pad(points, ((2, 2), (0, 0)), mode="edge")
    return np.mean([padded[at : at + len(points)] for at in range(5)], axis=0)


def design():
    bearing = 5.0e-4 * np.maximum(ALONG - 300.0, 0.0)
    steps = 20.0 * np.column_stack([np.sin(bearing), np.cos(bearing), np.full(len(bearing), 0.0103)])
    return POINTS[0] + np.vstack([np.zeros(3), np.cumsum(steps[:-1], axis=0)])


@pytest.mark.parametrize("seed", range(5))
def test_true_shots_are_measured_as_they_were(seed):
    placement, found = told(shot(seed))
    assert not len(found)
    assert set(placement.joints["verdict"][1:-1]) == {"within"}


@pytest.mark.parametrize(
    "points",
    [
        between(shot(), 2, on_chords), between(shot(), 3, on_chords), between(shot(), 5, on_chords),
        between(shot(), 10, on_chords), between(shot(), 5, on_a_spline), smoothed(shot()), design(),
    ],
    ids=["each 2nd", "each 3rd", "each 5th", "each 10th", "spline", "smoothed", "design"],
)  # fmt: skip
def test_shots_that_nobody_took_are_told_with_their_numbers_and_no_joint_is_within_as_measured(points):
    placement, found = told(points)
    assert len(found) >= 1
    assert found["message"].str.contains(r"of 62 shots from vertex \d+ to vertex \d+ scatter").all()
    assert (found["value"] < 0.3 * SIGMA).all()
    assert (found["limit"] == SIGMA).all()
    assert set(placement.joints["verdict"][1:-1]) <= {"within-assumed", "cannot-tell"}
    within = placement.joints[placement.joints["verdict"] == "within-assumed"]
    assert within["verdict_assumes"].str.contains("drawn").all()
    assert placement.joints["accuracy_horizontal"].isna().all()


def test_only_the_joints_beside_a_stretch_of_them_are_as_drawn():
    points = shot()
    points[20:44] = np.linspace(points[20], points[43], 24)
    placement, found = told(points)
    assert len(found)
    drawn = placement.joints["verdict_assumes"].fillna("").str.contains("drawn").to_numpy()
    assert drawn[22:42].all()
    assert not drawn[:18].any()
    assert not drawn[46:].any()
    assert set(placement.joints["verdict"][1:18]) == {"within"}


def test_heights_alone_may_be_none():
    points = shot()
    points[:, 2] = POINTS[0, 2] + 0.00713 * ALONG
    placement, found = told(points)
    assert found["message"].str.contains("scatter in height by").tolist() == [True]
    assert set(placement.joints["verdict"][1:-1]) == {"within-assumed"}


def test_a_standard_error_that_is_stated_twice_too_large_is_no_matter_and_the_true_one_mends_it():
    points = POINTS + np.random.default_rng(3).normal(0.0, 0.01, POINTS.shape)
    assert not len(told(points, sigma_horizontal=0.02, sigma_vertical=0.02)[1])
    assert len(told(points, sigma_horizontal=0.1, sigma_vertical=0.1)[1])
    assert not len(told(points, sigma_horizontal=0.01, sigma_vertical=0.01)[1])


def test_rounding_few_shots_and_shots_that_were_looked_at_say_nothing():
    straight = pipe(np.zeros(60)) + np.random.default_rng(5).normal(0.0, SIGMA, POINTS.shape)
    placement = place(lines(A=np.round(straight, 1)), log(POINTS), **SAID)
    assert evenness.CODE not in set(placement.findings["code"])
    few = pipe(np.zeros(8))
    assert evenness.CODE not in set(place(lines(A=few), log(few), **SAID).findings["code"])
    names = [f"A:{number}" for number in range(1, 63)]
    assert not len(told(between(shot(), 5, on_chords), shots_checked=names)[1])
    assert not len(told(design(), source="survey", sigma_horizontal=0.0, sigma_vertical=0.0)[1])


def test_a_line_of_shots_with_its_rounding_in_another_unit_is_read_as_rounded():
    first = np.array([0, 40])
    metres = np.round(np.random.default_rng(1).uniform(0.0, 900.0, 40), 2)
    for values, step in ((metres, 0.01), (metres / 0.3048, 0.01 / 0.3048), (metres * 3937 / 1200, 0.01 * 3937 / 1200)):
        assert evenness._rounded(values, first)[0] == pytest.approx(step)
    assert evenness._rounded(metres * np.pi, first)[0] == 0.0


@pytest.mark.parametrize("freedom", [1, 2, 3, 8, 14])
@pytest.mark.parametrize("rate", [0.5, 0.1, 1e-3, 1e-8])
def test_windows_and_their_counts_are_never_rarer_than_is_said(freedom, rate):
    """Source: scipy's chi-square and binomial distributions."""
    assert stats.chi2.cdf(evenness._quantile(freedom, rate), freedom) <= rate * (1 + 1e-9)
    assert evenness._middle(freedom) == pytest.approx(stats.chi2.median(freedom), rel=0.05)
    for many in (5, 12, 40):
        share = np.arange(math.ceil(many * rate), many + 1) / many
        bound = np.exp(-many * evenness.divergence(share, rate))
        assert (stats.binom.sf(np.round(many * share) - 1, many, rate) <= bound * (1 + 1e-9)).all()


@pytest.mark.parametrize(("width", "order"), [(3, 2), (5, 3), (10, 4)])
def test_what_a_window_misses_is_what_least_squares_leave(width, order):
    """Source: numpy's `polyfit`, weighted, at uneven places."""
    chance = np.random.default_rng(2)
    along, value = np.cumsum(chance.uniform(5.0, 40.0, 30)), chance.normal(0.0, 1.0, 30)
    sigma = chance.uniform(0.5, 2.0, 30)
    part = evenness._Part("in height", np.arange(30), np.zeros(30, dtype=int), along, (value,), sigma)
    by_order = dict(evenness._windows(part, np.zeros(30), width, {2, order}))
    assert set(by_order) == {2, order}
    for start, found in zip(by_order[order].starts.tolist(), by_order[order].misfit, strict=True):
        rows = slice(start, start + width)
        fit = np.polynomial.Polynomial.fit(along[rows], value[rows], order - 1, w=1.0 / sigma[rows])
        left = (value[rows] - fit(along[rows])) / sigma[rows]
        assert found == pytest.approx((left**2).sum(), rel=1e-6, abs=1e-9)


def test_heights_in_metres_under_feet_are_asked_about_as_that():
    """A straight grade surveyed in metres scatters by 0.3 of what feet do: it was called interpolated alone."""
    points = shot()
    points[:, 2] *= 1200.0 / 3937.0
    _, found = told(points)
    (message,) = found["message"][found["message"].str.contains("in height")]
    assert "they are in metres (centerline.elevation_unit), or" in message
    assert not told(smoothed(shot()))[1]["message"].str.contains("across the line.*in metres").any()
