"""Stations as logs write them: words before, units and offsets behind, and the odd one among many."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from laying import lines, pipe

from asbuilt import place
from asbuilt.errors import InputFileError
from asbuilt.inputs.log import read_log
from asbuilt.job import Job


def job(**records):
    return Job.from_mapping(
        {"name": "Mill Race", "centerline": {"route": "route"},
         "records": {"station_unit": "us-ft", "laying_length": 20.0} | records}
    )  # fmt: skip


def read(station, unit="us-ft", **columns):
    return read_log(job(station_unit=unit, laying_length=6.0), pd.DataFrame({"station": station} | columns))


IN_FEET = st.sampled_from([" ft", "'", " feet", " LF", "", "."])
IN_METRES = st.sampled_from([" m", "m", " metres", "", "."])
BEFORE = st.sampled_from(["", "STA ", "Sta. ", "CH ", "Ch. ", "Chainage ", "chainage: ", "STN "])


@given(st.integers(0, 9_999_999), BEFORE, IN_FEET)
def test_us_customary_stations_are_read_whatever_stands_around_them(hundredths, before, behind):
    text = f"{before}{hundredths // 10000}+{hundredths // 100 % 100:02d}.{hundredths % 100:02d}{behind}"
    assert read([text]).stations.value[0] == hundredths / 100


@given(st.integers(0, 99_999_999), st.one_of(BEFORE, st.sampled_from(["km ", "KM", "Km. "])), IN_METRES)
def test_metric_stations_are_read_whatever_stands_around_them(millimetres, before, behind):
    text = f"{before}{millimetres // 1000000}+{millimetres // 1000 % 1000:03d}.{millimetres % 1000:03d}{behind}"
    assert read([text], unit="m").stations.value[0] == millimetres / 1000


@pytest.mark.parametrize(
    ("text", "unit", "remedy"),
    [
        ("12+34.56 m", "us-ft", "its unit is not that of the stations"),
        ("1+234.5 ft", "m", "its unit is not that of the stations"),
        ("km 1.234", "m", "kilometres or metres?"),
        ("km 1+234", "us-ft", "write it like"),
        ("#REF!", "us-ft", "the spreadsheet could not compute it"),
    ],
)
def test_a_station_in_another_unit_stops_its_row_and_is_never_converted(text, unit, remedy):
    usual = [f"0+{at * 20:02d}" if unit == "us-ft" else f"0+{at * 5:03d}" for at in range(4)]
    placement = place(
        job(station_unit=unit), centerline=lines(A=pipe(np.zeros(6))), records=pd.DataFrame({"station": [*usual, text]})
    )
    outcome = placement.placed.records
    assert outcome.reason.to_pylist() == [None] * 4 + ["station-unreadable"]
    assert remedy in outcome.message[4].as_py()


@given(st.lists(st.tuples(st.integers(0, 5000), st.sampled_from([None, -3.5, 2.0, 0.0])), min_size=1, max_size=30),
       st.sampled_from(["{0} {1}", "{0}, {1}", "{0}  {1}", "{0}; {1}"]), st.booleans())  # fmt: skip
def test_an_offset_behind_a_station_is_the_records_offset(rows, form, side_first):
    def offset(value):
        if value == 0.0:
            return "CL"
        side, amount = ("RT" if value > 0 else "LT"), f"{abs(value):g}"
        return f"{side} {amount}" if side_first else f"{amount}' {side}"

    stations = [f"{at // 100}+{at % 100:02d}" for at, _ in rows]
    texts = [form.format(one, offset(value)) if value is not None else one
             for one, (_, value) in zip(stations, rows, strict=True)]  # fmt: skip
    log = read(texts)
    assert log.stations.value.tolist() == [float(at) for at, _ in rows]
    assert [None if np.isnan(one) else one for one in log.number("offset").tolist()] == [value for _, value in rows]


def test_an_offset_behind_the_station_that_differs_from_its_column_sets_the_row_aside():
    log = pd.DataFrame({"station": ["0+00 RT 3", "0+20 RT 3", "0+40"], "offset": ["3.0", "LT 3", "1 LT"]})
    placement = place(job(), centerline=lines(A=pipe(np.zeros(6))), records=log)
    assert placement.placed.records.reason.to_pylist() == [None, "offset-unreadable", None]
    assert placement.log.unreadable.text.to_pylist() == ["LT 3, but RT 3 behind the station"]


@given(st.lists(st.integers(1000, 5000), min_size=2, max_size=40), st.data())
def test_a_number_without_plus_is_read_as_it_stands_and_told(values, data):
    bare = data.draw(st.lists(st.booleans(), min_size=len(values), max_size=len(values)))
    bare[0] = False
    log = read(
        [f"{at}.5" if plain else f"{at // 100}+{at % 100:02d}.5" for at, plain in zip(values, bare, strict=True)]
    )
    assert log.stations.value.tolist() == [at + 0.5 for at in values]
    assert log.stations.form == "hundreds"
    told = [note for note in log.notes if "without a +" in note]
    assert len(told) == any(bare)
    if any(bare):
        assert f"row {bare.index(True) + 1})" in told[0]


def test_a_number_that_may_have_lost_its_plus_stops_its_row():
    stations = ["10+00", "10+20", "11", "10+40.0", "20+00"]
    line = lines(A=pipe(np.zeros(60)))
    placement = place(
        Job.from_mapping({"name": "t", "centerline": {"route": "route", "start_station": "10+00"},
                          "records": {"station_unit": "us-ft", "laying_length": 20}}),
        centerline=line, records=pd.DataFrame({"station": stations}),
    )  # fmt: skip
    assert placement.placed.records.reason.to_pylist()[2] == "station-unreadable"
    assert "it may lack its +; write it like 12+34.56" in placement.placed.records.message[2].as_py()


@given(st.integers(11, 60), st.integers(0, 5), st.randoms(use_true_random=False))
def test_an_odd_station_stops_only_its_row(count, odd, random):
    odd = min(odd, (count - odd) // 10)
    texts = [f"{at // 5}+{at % 5 * 20:02d}" for at in range(count - odd)] + [f"{at}+345" for at in range(odd)]
    random.shuffle(texts)
    log = read(texts)
    wrong = [len(one.partition("+")[2]) == 3 for one in texts]
    assert np.isnan(log.stations.value).tolist() == wrong
    told = [note for note in log.notes if "not written like the others" in note]
    assert len(told) == (odd > 0)
    if odd:
        assert f"row {wrong.index(True) + 1})" in told[0]


def test_a_column_half_in_each_kind_is_still_refused():
    with pytest.raises(InputFileError, match="more than one way"):
        read(["12+34", "12+36", "1+234", "1+236"])


def test_a_dot_for_the_plus_is_known_by_the_rows_above_and_below_alone():
    # 0.40 is four tenths of a foot at the start, and 7.91 is 7+91 between 7+71 and 8+11.
    for texts, left_out in (
        (["0.40", "0+20", "0+40"], []),
        (["7+71", "7.91", "8+11"], [2]),
        (["7+71", "791.40", "8+11"], []),
        (["0+02", "7.91", "0+11"], []),
        (["7+71", "9.91", "8+11"], []),
        (["7+51", "7+71", "7.91"], [3]),
    ):
        log = read_log(job(), pd.DataFrame({"station": ["0+00", *texts]}))
        assert np.flatnonzero(np.isnan(log.stations.value)).tolist() == left_out, texts
        assert any("with a dot where the others have a +" in note for note in log.notes) == bool(left_out)
