"""Stations: the trade's text, the equations that break the count, and the units under them."""

import time
from fractions import Fraction
from itertools import pairwise

import numpy as np
import pyarrow as pa
import pytest
from hypothesis import given
from hypothesis import strategies as st

from asbuilt import units
from asbuilt.errors import InputFileError, JobFileError
from asbuilt.line.station_text import how_to_write, parse_station
from asbuilt.line.stationing import (
    Stations,
    candidate_distances,
    format_stations,
    one_station,
    parse_stations,
    regions,
    resolve,
    station_at,
    write_stations,
)


def stations(*text):
    return parse_stations(pa.array(text, pa.string()))


def on_route(*text, found):
    return resolve(found, np.zeros(len(text), dtype=np.int64), stations(*text), 0.0)


@pytest.mark.parametrize(
    ("text", "value", "side", "region"),
    [
        ("12+34.56", 1234.56, 0, 0),
        ("0+00", 0.0, 0, 0),
        ("STA 12+34.56", 1234.56, 0, 0),
        ("Sta. 12+34.56", 1234.56, 0, 0),
        ("sta:12 + 34.5", 1234.5, 0, 0),
        ("24+50.00 BK", 2450.0, -1, 0),
        ("24+50 back", 2450.0, -1, 0),
        ("30+00 AH", 3000.0, 1, 0),
        ("30+00 Ahead", 3000.0, 1, 0),
        ("24+60.00 AH EQ 1", 2460.0, 0, 2),
        ("24+60.00 ahead eq. 2", 2460.0, 0, 3),
        ("STA 24+60.00BK EQ2", 2460.0, 0, 2),
        ("-0+50.00", -50.0, 0, 0),
    ],
)
def test_us_customary_stations_are_read_in_every_form_that_logs_carry(text, value, side, region):
    found = stations(text)
    assert (found.value[0], found.side[0], found.region[0], found.form) == (value, side, region, "hundreds")


@pytest.mark.parametrize(
    ("text", "remedy"),
    [
        ("R2 28+44.31", "write it like 28+44.31 AH EQ 1"),
        ("28+44.31 r1", "write it like 28+44.31 BK EQ 1"),
        ("28+44.31 EQ 1", "write it like 12+34.56"),
        ("1" * 400 + "+00", "write it like 12+34.56"),
    ],
)
def test_what_is_no_station_is_said_with_the_way_to_write_it(text, remedy):
    assert np.isnan(parse_stations(pa.array([text, "1+00"])).value[0])
    assert how_to_write(text, "hundreds").startswith(remedy)


def test_a_station_as_written_is_read_back_at_its_own_place():
    found = regions(np.zeros(1), np.array([900.0]), [(0, 300.0, 100.0), (0, 400.0, 200.0)], names=["A"])
    distance = np.arange(0.5, 900.0, 7.0)
    value, region = station_at(found, np.zeros(len(distance), dtype=np.int64), distance)
    text = write_stations(found, np.zeros(len(distance), dtype=np.int64), value, region, "hundreds")
    assert (
        "1+50.50 BK EQ 1"
        in write_stations(
            found, np.zeros(2, dtype=np.int64), np.array([150.5, 250.0]), np.array([1, 3]), "hundreds"
        ).to_pylist()
    )
    again = resolve(found, np.zeros(len(distance), dtype=np.int64), parse_stations(text), 0.0)
    np.testing.assert_allclose(again.distance, distance, atol=1e-9)


def test_metric_stations_count_thousands():
    assert stations("1+234.567", "0+000").value.tolist() == [1234.567, 0.0]


def test_plain_decimals_are_stations_too():
    assert stations("1234.5", "20").value.tolist() == [1234.5, 20.0]


@pytest.mark.parametrize("text", ["12+3", "12+3456", "twelve", "12+34+56", "12+AB", "+", "12+34.5.6", "12+34 R"])
def test_what_is_not_a_station_is_unreadable_not_guessed(text):
    assert np.isnan(stations("10+00", text).value[1])


def test_a_column_that_mixes_kinds_is_refused_with_the_remedy():
    with pytest.raises(InputFileError, match=r"12\+34.*1\+234.*records\.station_format"):
        stations("12+34.56", "1+234.567")


def test_a_declared_kind_leaves_the_others_unreadable():
    found = parse_stations(pa.array(["12+34", "1+234"]), "hundreds")
    assert found.value[0] == 1234.0
    assert np.isnan(found.value[1])


@given(st.integers(0, 10**9), st.sampled_from(["hundreds", "thousands", "decimal"]))
def test_a_station_written_and_read_again_is_the_same(thousandths, form):
    value = np.array([thousandths / 1000.0])
    text = format_stations(value, form, decimals=3)
    assert parse_stations(text, form).value[0] == pytest.approx(value[0], abs=1e-9)


@given(st.integers(0, 10**8))
def test_reading_gives_exactly_the_number_that_the_decimal_text_means(hundredths):
    text = f"{hundredths // 10000}+{hundredths // 100 % 100:02d}.{hundredths % 100:02d}"
    assert parse_stations(pa.array([text]), "hundreds").value[0] == float(Fraction(hundredths, 100))


def test_a_gap_equation_moves_what_lies_ahead_of_it():
    # Textbook station-equation arithmetic (route surveying; common practice, no source):
    # from 10+00 to 24+50 back is 1,450 ft; 24+50 back = 30+00 ahead; 31+00 is 100 ft further.
    found = regions(np.array([1000.0]), np.array([3000.0]), [(0, 2450.0, 3000.0)], names=["A"])
    places = on_route("24+50", "30+00", "31+00", "26+00", found=found)
    assert places.distance[:3].tolist() == [1450.0, 1450.0, 1550.0]
    assert places.gap.tolist() == [False, False, False, True]


def test_a_repeat_equation_makes_stations_ambiguous_unless_the_log_says_which():
    found = regions(np.array([1000.0]), np.array([3000.0]), [(0, 3000.0, 2450.0)], names=["A"])
    places = on_route("26+00", "26+00 BK", "26+00 AH", "26+00 AH EQ 1", "20+00", "32+00", found=found)
    assert np.isnan(places.distance[0])
    assert (places.candidates[0], places.lowest[0], places.highest[0]) == (2, 1600.0, 2150.0)
    assert places.distance[1:].tolist() == [1600.0, 2150.0, 2150.0, 1000.0, 2750.0]


def test_several_equations_on_one_route():
    found = regions(np.array([0.0]), np.array([1000.0]), [(0, 300.0, 500.0), (0, 700.0, 600.0)], names=["A"])
    # 0..300, then 500..700 (distance 300..500), then 600.. (distance 500..1000)
    places = on_route("2+50", "4+00", "5+50", "6+50", "6+50 BK", "6+50 AH", "8+00", found=found)
    assert np.nan_to_num(places.distance, nan=-1).tolist() == [250.0, -1.0, 350.0, -1.0, 450.0, 550.0, 700.0]
    assert places.gap.tolist() == [False, True, False, False, False, False, False]


def test_routes_do_not_share_their_equations():
    found = regions(np.array([0.0, 0.0]), np.array([900.0, 900.0]), [(1, 300.0, 500.0)], names=["A", "B"])
    places = resolve(found, np.array([0, 1]), stations("4+00", "4+00"), 0.0)
    assert places.distance[0] == 400.0
    assert places.gap.tolist() == [False, True]


@given(st.floats(0, 2500), st.booleans())
def test_a_distance_read_as_a_station_and_region_leads_back(distance, gap):
    equation = (0, 2450.0, 3000.0) if gap else (0, 3000.0, 2450.0)
    found = regions(np.array([1000.0]), np.array([2500.0]), [equation], names=["A"])
    route = np.zeros(1, dtype=np.int64)
    station, region = station_at(found, route, np.array([distance]))
    back = resolve(found, route, Stations(station, np.zeros(1, dtype=np.int64), region, "hundreds"), 1e-6)
    assert back.lowest[0] == pytest.approx(distance, abs=1e-6)
    assert back.highest[0] == pytest.approx(distance, abs=1e-6)


def test_equations_out_of_order_are_refused_by_name():
    with pytest.raises(JobFileError, match=r"route 'A'.*in order along the route"):
        regions(np.array([0.0]), np.array([900.0]), [(0, 500.0, 600.0), (0, 300.0, 400.0)], names=["A"])
    with pytest.raises(JobFileError, match=r"beyond the route's end at 900\.00"):
        regions(np.array([0.0]), np.array([900.0]), [(0, 1500.0, 1600.0)], names=["A"])


def test_a_station_just_beyond_the_end_is_held_to_it_within_the_tolerance():
    found = regions(np.array([0.0]), np.array([100.0]), [], names=["A"])
    route = np.zeros(2, dtype=np.int64)
    assert resolve(found, route, stations("1+00.4", "1+00.6"), 0.5).candidates.tolist() == [1, 0]


def test_the_two_feet_differ_by_two_parts_per_million():
    # 1 US survey foot = 1200/3937 m, 1 international foot = 0.3048 m, exactly (24 FR 5348, 1959; from memory).
    assert units.METRES["us-ft"] == Fraction(1200, 3937)
    assert units.METRES["us-ft"] / units.METRES["ft"] - 1 == Fraction(2, 999998)
    million = 1_000_000 * units.factor("us-ft", "ft")
    assert million == pytest.approx(1_000_002.000004, abs=1e-6)


def test_unit_factors_agree_with_the_registry_of_proj():
    # Independent source: the EPSG unit table as shipped with PROJ.
    from pyproj.database import get_units_map

    table = get_units_map(auth_name="EPSG", category="linear")
    assert units.factor("us-ft", "m") == pytest.approx(table["US survey foot"].conv_factor, rel=1e-15)
    assert units.factor("ft", "m") == table["foot"].conv_factor


def test_a_station_of_the_job_file_names_its_key_when_it_is_wrong():
    with pytest.raises(JobFileError, match=r"centerline\.equations\.back: 'soon' is not a station"):
        parse_station("soon", key="centerline.equations.back")


_PIECES = (
    "STA", "station ", "Ch.", "km", "KM ", ".", ":", " ", "\t", "-", "0", "7", "12", "123", "1234567890", "+", " + ",
    "34", "34.5", ".56", ".", "ft", "'", "’", " m", "metres.", "BK", "ah", " AHEAD.", "back", "EQ 2", "eqn.", "R3 ",
    "٣", "ß", "e5", "nan", "#REF!", "\n",
)  # fmt: skip


@given(st.lists(st.sampled_from(_PIECES), max_size=9).map("".join) | st.floats() | st.integers(-(10**9), 10**9))
def test_a_station_by_itself_is_read_as_one_of_a_column_is(given):
    """What a question names is read without Arrow, and is to be the same station."""

    def read(by):
        try:
            return by()
        except JobFileError as error:
            return str(error)

    alone = read(lambda: parse_station(given, key="--from"))
    assert alone == read(lambda: float(one_station(given, key="--from").value[0]))


def test_laying_out_equations_takes_time_in_proportion_to_the_routes():
    # Four times the routes, each with an equation, must not take sixteen times as long.
    def seconds(count):
        names = [str(number) for number in range(count)]
        equations = [(number, 100.0, 300.0) for number in range(count)]
        begun = time.process_time()
        regions(np.zeros(count), np.full(count, 500.0), equations, names=names)
        return time.process_time() - begun

    seconds(100)
    assert min(seconds(8000) for _ in range(3)) < 8.0 * min(seconds(2000) for _ in range(3))


@given(
    st.lists(st.tuples(st.integers(0, 6), st.integers(-6, 6)), max_size=5),
    st.lists(st.integers(-3, 60), min_size=1, max_size=20),
    st.sampled_from([0.0, 0.4, 30.0]),
)
def test_places_of_a_station_are_those_found_one_by_one(equations, values, tolerance):
    station, laid = 1000.0, []
    for length, jump in equations:
        back = station + 50.0 * length
        laid.append((1, back, back + 50.0 * jump))
        station = back + 50.0 * jump
    of_route = 50.0 * sum(length for length, _ in equations) + 100.0
    found = regions(np.array([0.0, 1000.0, 0.0]), np.array([5.0, of_route, 5.0]), laid, names=["A", "B", "C"])
    value = 1000.0 + 25.0 * np.array(values)
    texts = format_stations(value, "hundreds")
    resolved = resolve(found, np.ones(len(values), dtype=np.int64), parse_stations(texts), tolerance)
    for row, one in enumerate(value):
        places = candidate_distances(found, 1, float(one), tolerance)
        distances = [distance for distance, _ in places]
        distinct = distances[:1] + [at for before, at in pairwise(distances) if at - before > 1e-6]
        assert resolved.candidates[row] == len(distinct)
        assert np.array_equal(resolved.distance[row], distances[0] if len(distinct) == 1 else np.nan, equal_nan=True)
        assert resolved.region[row] == (places[-1][1] if len(distinct) == 1 else 0)
