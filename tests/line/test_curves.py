"""Points on lines, circular curves and spirals, and elevations on grades, parabolas and arcs."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp
from scipy.special import fresnel

from asbuilt.line.curves import Pieces, Profile, join_pieces, tangent_offsets

TENTH_OF_A_MILLIMETRE = 1e-4
"""What points on spirals must agree within, metres; the tests below ask for far more."""

radii = st.one_of(st.just(np.inf), st.floats(10, 1e5), st.floats(-1e5, -10))
lengths = st.floats(0.1, 500)
bearings = st.floats(0, 2 * np.pi, exclude_max=True)


def piece(easting=0.0, northing=0.0, azimuth=0.0, start=0.0, end=0.0, length=100.0, distance=0.0):
    values = (distance, easting, northing, azimuth, start, end, length)
    return Pieces(*(np.array([value], dtype=float) for value in values))


def found(pieces, along):
    along = np.atleast_1d(np.asarray(along, dtype=float))
    return pieces.locate(np.zeros(len(along), dtype=np.int64), along)


def integrated(azimuth, start, end, length, along):
    """Point on a spiral from a start at the origin, by SciPy's adaptive quadrature (QUADPACK)."""

    def direction(s):
        return azimuth + start * s + (end - start) * s**2 / (2 * length)

    def part(of_direction):
        return quad(lambda s: of_direction(direction(s)), 0, along, limit=500, epsabs=1e-10, epsrel=1e-12)[0]

    return part(np.sin), part(np.cos)


def test_a_line_goes_its_azimuth_from_its_start():
    easting, northing, azimuth = found(piece(500.0, 1000.0, np.arctan2(3, 4)), [0.0, 5.0, 100.0])
    assert easting == pytest.approx([500.0, 503.0, 560.0], abs=1e-12)
    assert northing == pytest.approx([1000.0, 1004.0, 1080.0], abs=1e-12)
    assert azimuth == pytest.approx(np.arctan2(3, 4))


@given(st.floats(10, 1e6), st.sampled_from([1, -1]), bearings, st.floats(0, 2 * np.pi))
def test_an_arc_stays_on_its_circle(radius, side, azimuth, turn):
    # Closed form: the center is square to the tangent, on the right of a right turn.
    center = radius * side * np.array([np.cos(azimuth), -np.sin(azimuth)])
    out = azimuth - side * np.pi / 2 + side * turn
    expected = center + radius * np.array([np.sin(out), np.cos(out)])
    curve = piece(azimuth=azimuth, start=side / radius, end=side / radius, length=radius * turn + 1.0)
    easting, northing, there = found(curve, radius * turn)
    assert (easting[0], northing[0]) == pytest.approx(tuple(expected), abs=1e-14 * radius + 1e-12)
    assert np.exp(1j * there[0]) == pytest.approx(np.exp(1j * (azimuth + side * turn)))


def test_a_right_turn_has_positive_curvature():
    easting, _, azimuth = found(piece(start=0.01, end=0.01), 50.0)
    assert easting[0] > 0
    assert azimuth[0] == pytest.approx(0.5)
    easting, _, azimuth = found(piece(start=-0.01, end=-0.01), 50.0)
    assert easting[0] < 0
    assert azimuth[0] == pytest.approx(2 * np.pi - 0.5)


def test_a_very_flat_arc_keeps_its_digits():
    # The offset from the tangent is s**2 / (2 R) to within 1e-17 of it at R = 1e9, s = 100: 5 micrometres.
    easting, northing, _ = found(piece(start=1e-9, end=1e-9), 100.0)
    assert easting[0] == pytest.approx(100.0**2 / 2 * 1e-9, rel=1e-13)
    assert northing[0] == pytest.approx(100.0, rel=1e-15)


@given(radii, radii, lengths, bearings, st.floats(0, 1))
def test_a_spiral_agrees_with_adaptive_quadrature(radius_start, radius_end, length, azimuth, part):
    start, end, along = 1 / radius_start, 1 / radius_end, part * length
    expected = integrated(azimuth, start, end, length, along)
    easting, northing, _ = found(piece(azimuth=azimuth, start=start, end=end, length=length), along)
    assert (easting[0], northing[0]) == pytest.approx(expected, abs=TENTH_OF_A_MILLIMETRE / 1e4)


@pytest.mark.parametrize(
    ("radius_start", "radius_end", "length"),
    [(np.inf, 10.0, 500.0), (10.0, np.inf, 500.0), (10.0, 12.0, 500.0), (-10.0, 10.0, 500.0), (300.0, 80.0, 60.0)],
)
def test_a_spiral_of_many_turns_agrees_with_a_stepwise_solution(radius_start, radius_end, length):
    # SciPy's eighth-order Runge-Kutta follows the curve step by step, through as many as eight full turns.
    start, end = 1 / radius_start, 1 / radius_end
    along = np.linspace(0, length, 101)

    def follow(s, state):
        return [np.sin(state[2]), np.cos(state[2]), start + (end - start) * s / length]

    expected = solve_ivp(follow, (0, length), [0, 0, 0.3], "DOP853", along, rtol=1e-12, atol=1e-11).y
    easting, northing, azimuth = found(piece(azimuth=0.3, start=start, end=end, length=length), along)
    np.testing.assert_allclose(easting, expected[0], atol=1e-7)
    np.testing.assert_allclose(northing, expected[1], atol=1e-7)
    np.testing.assert_allclose(np.exp(1j * azimuth), np.exp(1j * expected[2]), atol=1e-9)


@given(st.floats(10, 1e5), lengths, st.floats(0.001, 1))
def test_a_spiral_from_a_line_is_a_pair_of_fresnel_integrals(radius, length, part):
    # Closed form: with A**2 = R L, the point is A sqrt(pi) (C, S)(s / (A sqrt(pi))).
    scale = np.sqrt(np.pi * radius * length)
    along = part * length
    sine, cosine = fresnel(along / scale)
    forward, right, turn = tangent_offsets(*(np.array([value]) for value in (0.0, 1 / radius, length, along)))
    assert (forward[0], right[0]) == pytest.approx((scale * cosine, scale * sine), abs=1e-10)
    assert turn[0] == pytest.approx(along**2 / (2 * radius * length))


def test_a_spiral_agrees_with_the_textbook_series():
    # Route-surveying textbooks: X = L (1 - t**2/10 + t**4/216 - ...), Y = L (t/3 - t**3/42 + t**5/1320 - ...),
    # t = L / (2 R) in radians; from memory. The first term left out is below L t**7 / 75600.
    length, radius = 60.0, 150.0
    t = length / (2 * radius)
    forward, right, turn = tangent_offsets(*(np.array([value]) for value in (0.0, 1 / radius, length, length)))
    assert turn[0] == pytest.approx(t)
    assert forward[0] == pytest.approx(length * (1 - t**2 / 10 + t**4 / 216), abs=length * t**6 / 9360 * 1.01)
    assert right[0] == pytest.approx(length * (t / 3 - t**3 / 42 + t**5 / 1320), abs=length * t**7 / 75600 * 1.01)


@given(radii, radii, lengths, bearings, st.floats(0, 1))
def test_a_spiral_walked_back_passes_the_same_points(radius_start, radius_end, length, azimuth, part):
    there = piece(azimuth=azimuth, start=1 / radius_start, end=1 / radius_end, length=length)
    end_easting, end_northing, end_azimuth = (float(value[0]) for value in found(there, length))
    back = piece(end_easting, end_northing, end_azimuth + np.pi, -1 / radius_end, -1 / radius_start, length)
    np.testing.assert_allclose(found(there, part * length)[:2], found(back, length - part * length)[:2], atol=1e-9)


@given(radii, radii, lengths, bearings, bearings, st.floats(-1e7, 1e7), st.floats(-1e7, 1e7), st.floats(0, 1))
def test_turning_and_moving_an_alignment_turns_and_moves_its_points(
    radius_start, radius_end, length, azimuth, turned, east, north, part
):
    shape = {"start": 1 / radius_start, "end": 1 / radius_end, "length": length}
    easting, northing, there = found(piece(30.0, 40.0, azimuth, **shape), part * length)
    cosine, sine = np.cos(turned), np.sin(turned)

    def move(e, n):
        return e * cosine + n * sine + east, n * cosine - e * sine + north

    to_east, to_north = move(30.0, 40.0)
    moved = found(piece(to_east, to_north, azimuth + turned, **shape), part * length)
    np.testing.assert_allclose(moved[:2], move(easting, northing), atol=1e-8)
    np.testing.assert_allclose(np.exp(1j * moved[2]), np.exp(1j * (there + turned)), atol=1e-12)


@given(radii, radii, st.floats(5, 500), bearings)
def test_the_azimuth_is_the_direction_in_which_the_points_move(radius_start, radius_end, length, azimuth):
    curve = piece(azimuth=azimuth, start=1 / radius_start, end=1 / radius_end, length=length)
    step = 1e-3
    easting, northing, there = found(curve, length / 2 + np.array([-step, 0.0, step]))
    moved = (northing[2] - northing[0] + 1j * (easting[2] - easting[0])) / (2 * step)
    # A chord of 2 mm lies within step**2 (curvature**2 + its change) / 6 < 1e-8 of the tangent.
    assert moved == pytest.approx(np.exp(1j * there[1]), abs=1e-7)


def test_many_points_of_many_routes_are_those_found_one_at_a_time():
    rng = np.random.default_rng(11)
    kinds = [(0.0, 0.0), (0.01, 0.01), (-0.02, -0.02), (0.0, 0.05), (0.03, 0.0), (-0.1, 0.1)]
    routes = [
        join_pieces([
            piece(rng.uniform(0, 1e6), rng.uniform(0, 1e6), rng.uniform(0, 6), start, end, rng.uniform(5, 300))
            for start, end in kinds
        ])
        for _ in range(50)
    ]  # fmt: skip
    pieces = join_pieces(routes)
    assert len(pieces.length) == 300
    at = rng.integers(0, 300, 2000)
    along = rng.uniform(0, 1, 2000) * pieces.length[at]
    together = pieces.locate(at, along)
    alone = [pieces.locate(at[i : i + 1], along[i : i + 1]) for i in range(2000)]
    np.testing.assert_allclose(together, np.concatenate(alone, axis=1), atol=1e-9)


def test_no_points_are_no_points():
    assert [len(values) for values in piece().locate(np.zeros(0, dtype=np.int64), np.zeros(0))] == [0, 0, 0]


def profile(*rows, end):
    distance, elevation, grade, change, curvature = (np.array(column) for column in zip(*rows, strict=True))
    return Profile(distance, elevation, grade, change, curvature, end)


grades = st.floats(-0.3, 0.3)


@given(grades, grades, st.floats(10, 1000), st.floats(0, 1))
def test_a_parabola_is_the_textbook_vertical_curve(back, ahead, length, part):
    # Surveying textbooks: y = y0 + g1 x + (g2 - g1) x**2 / (2 L).
    x = part * length
    curve = profile((50.0, 200.0, back, (ahead - back) / length, 0.0), end=50.0 + length)
    elevation, grade = curve.at(np.array([50.0 + x]))
    assert elevation[0] == pytest.approx(200.0 + back * x + (ahead - back) * x**2 / (2 * length), abs=1e-10)
    assert grade[0] == pytest.approx(back + (ahead - back) * x / length, abs=1e-12)


def test_the_high_point_of_a_crest_is_where_the_textbook_puts_it():
    # x = -g1 L / (g2 - g1) from the curve's beginning: +3 % to -2 % in 400 ft has its high point at 240 ft.
    crest = profile((0.0, 100.0, 0.03, -0.05 / 400, 0.0), end=400.0)
    elevation, grade = crest.at(np.array([239.0, 240.0, 241.0]))
    assert grade[1] == pytest.approx(0.0, abs=1e-15)
    assert elevation[1] == pytest.approx(100.0 + 0.03 * 240 / 2)
    assert elevation[1] > max(elevation[0], elevation[2])


@given(grades, st.floats(500, 1e5), st.sampled_from([1, -1]), st.floats(0, 100))
def test_a_vertical_arc_stays_on_its_circle(grade, radius, side, x):
    curve = profile((10.0, 30.0, grade, 0.0, side / radius), end=110.0)
    elevation, there = curve.at(np.array([10.0 + x]))
    inclination = np.arctan(grade)
    center = 10.0 - side * radius * np.sin(inclination), 30.0 + side * radius * np.cos(inclination)
    away = np.array([10.0 + x - center[0], elevation[0] - center[1]])
    assert np.hypot(*away) == pytest.approx(radius, abs=1e-9)
    assert there[0] == pytest.approx(-away[0] / away[1], abs=1e-9)  # the tangent is square to the radius


def test_beyond_its_ends_a_profile_has_no_elevation():
    line = profile((10.0, 5.0, 0.1, 0.0, 0.0), (20.0, 6.0, -0.1, 0.0, 0.0), end=30.0)
    elevation, grade = line.at(np.array([9.999, 10.0, 15.0, 20.0, 30.0, 30.001, np.nan]))
    assert elevation == pytest.approx([np.nan, 5.0, 5.5, 6.0, 5.0, np.nan, np.nan], nan_ok=True)
    assert grade == pytest.approx([np.nan, 0.1, 0.1, -0.1, -0.1, np.nan, np.nan], nan_ok=True)
