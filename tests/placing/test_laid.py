"""Stations counted from laid lengths: where joints lie, what is left of the line, and what is refused."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from laying import EAST, NORTH, lines, place

from asbuilt.errors import InputFileError

LENGTHS = st.lists(st.integers(200, 2000), min_size=3, max_size=25)


def line_of(length, east=EAST):
    return np.array([[east, NORTH, 50.0], [east, NORTH + length, 50.0]])


def crew_log(lengths, route="A", first=1):
    return pd.DataFrame({"route": route, "joint": [str(first + at) for at in range(len(lengths))], "size": "12",
                         "joint type": "push-on", "laid length": [f"{one:.2f}" for one in lengths]})  # fmt: skip


def laid(line, log, **records):
    return place(line, log, records={"station_from": "laid_length", "covers": "part", **records})


@settings(max_examples=20)
@given(LENGTHS, LENGTHS, st.sampled_from(["ahead", "back"]), st.randoms(use_true_random=False))
def test_joints_lie_where_the_lengths_before_them_end(one, other, pipe, random):
    one, other = np.array(one) / 100, np.array(other) / 100
    routes = lines(A=line_of(one.sum()), B=line_of(other.sum(), EAST + 900))
    # The records of two routes may stand among one another; each route's own keep their order.
    rows = [*crew_log(one, "A").to_dict("records")], [*crew_log(other, "B").to_dict("records")]
    mixed = []
    while any(rows):
        mixed.append(random.choice([some for some in rows if some]).pop(0))
    placement = laid(routes, pd.DataFrame(mixed), pipe=pipe)
    for name, lengths in (("A", one), ("B", other)):
        joints = placement.joints[placement.joints["route"] == name]
        ends = np.cumsum(lengths)
        expected = ends if pipe == "back" else ends - lengths
        np.testing.assert_allclose(joints["northing"] - NORTH, expected, atol=1e-6)
        (told,) = [note for note in placement.notes if note.text.startswith(f"route {name}: stations are counted")]
        assert told.code == "log-read"
        assert f"they add up to {lengths.sum():,.2f} ft" in told.text


@settings(max_examples=20)
@given(LENGTHS, st.integers(-900, 900).filter(lambda cents: abs(cents) > 60))
def test_the_closure_is_the_line_s_length_less_what_was_laid(lengths, cents):
    lengths, left = np.array(lengths) / 100, cents / 100
    length = lengths.sum() + left
    if length < 5:
        return
    placement = laid(lines(A=line_of(length)), crew_log(lengths))
    (told,) = [note for note in placement.notes if note.text.startswith("route A: stations are counted")]
    assert told.code == "lengths-differ"
    assert f"closure {left:+,.2f} ft, {left / length * 1e6:+,.0f} ppm" in told.text
    # Joints beyond the line's end are set aside, and none is moved to make the lengths fit.
    starts = np.cumsum(lengths) - lengths
    beyond = (starts > length + placement.line.tolerance).tolist()
    assert [one == "station-off-route" for one in placement.placed.records.reason.to_pylist()] == beyond


@pytest.mark.parametrize(
    ("rise", "stationing", "told"),
    [(24.0, "horizontal", True), (24.0, "slope", False), (-24.0, "horizontal", True), (60.0, "horizontal", False)],
)
def test_lengths_that_close_along_the_slope_alone_are_told(rise, stationing, told):
    line = line_of(200.0)
    line[1, 2] += rise
    along = np.hypot(200.0, 24.0)
    placement = laid(lines(A=line), crew_log([along / 10] * 10), stationing=stationing)
    text = next(note.text for note in placement.notes if note.text.startswith("route A: stations are counted"))
    assert (f"along its slope the line is {along:,.2f} ft long: if lengths were taken along the pipe" in text) == told


def closure_of(lengths, line_length, **records):
    placement = laid(lines(A=line_of(line_length)), crew_log(lengths), **records)
    (told,) = [note for note in placement.notes if note.text.startswith("route A: stations are counted")]
    return told


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({3: 6.1}, ["row 4, 6.10 ft (20.01 ft if it was written in metres; with 20 ft in its place"]),
        ({3: 2.0}, ["row 4, 2.00 ft (with 20 ft in its place, closure is within the tolerance)"]),
        ({6: 60.0}, ["row 7, 60.00 ft (longer than a pipe of 20 ft; with 20 ft in its place"]),
        ({3: 6.1, 6: 60.0}, ["row 4, 6.10 ft (20.01 ft", "row 7, 60.00 ft (longer than a pipe of 20 ft)"]),
    ],
)
def test_the_row_of_a_length_that_may_be_wrong_is_named(wrong, said):
    lengths = [wrong.get(at, 20.0) for at in range(10)]
    told = closure_of(lengths, 200.0)
    assert told.code == "lengths-differ"
    for one in said:
        assert one in told.text
    assert told.text.count(": row ") == len(said)


def test_a_cut_pipe_of_a_log_that_closes_is_not_doubted():
    told = closure_of([20.0, 20.0, 6.1, 20.0, 12.5, 20.0], 98.6)
    assert told.code == "log-read"
    assert "look at" not in told.text


def test_pipes_that_are_mostly_of_another_length_are_not_each_named():
    assert "look at" not in closure_of([22.0] * 8, 176.0).text


def test_a_joint_beyond_the_line_is_told_of_the_lengths_not_of_its_station():
    log = crew_log([20.0, 60.0, 20.0, 20.0])
    message = laid(lines(A=line_of(70.0)), log).placed.records.message[3].as_py()
    assert "the laid lengths before this joint add up to station 1+00.00" in message
    assert "correct the laid length" in message


def test_equations_of_the_route_are_counted_over():
    placement = place(
        lines(A=line_of(200)), crew_log([50, 50, 50, 50]),
        centerline={"equations": [{"route": "A", "back": "1+00", "ahead": "5+00"}]},
        records={"station_from": "laid_length", "laying_length": 50},
    )  # fmt: skip
    assert placement.joints["station"].tolist() == ["0+00.00", "0+50.00", "1+00.00", "5+50.00"]
    np.testing.assert_allclose(placement.joints["northing"] - NORTH, [0, 50, 100, 150])


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"laid length": ["20", None, "x", "20"]}, r"row 2 \(and 1 more: rows 3\): no laid length that can be read"),
        ({"joint": ["1", "2", "2", "3"]}, r"row 3: joint 2 stands a second time, .* counted twice \(1 such rows: 3\)"),
        ({"station": [None, "0+20", None, None]}, r"row 2: the log has stations"),
    ],
)
def test_what_would_shift_every_station_ahead_is_refused_with_its_row(change, message):
    with pytest.raises(InputFileError, match=message):
        laid(lines(A=line_of(80)), crew_log([20, 20, 20, 20]).assign(**change))


@pytest.mark.parametrize("last", [None, "0"])
def test_the_last_joint_needs_no_length_for_no_station_is_counted_from_it(last):
    log = crew_log([20.0, 20.0, 20.0, 5.0])
    log["laid length"] = ["20", "20", "20", last]
    assert laid(lines(A=line_of(60.0)), log).joints["northing"].sub(NORTH).tolist() == [0, 20, 40, 60]
    with pytest.raises(InputFileError, match="row 4: no laid length"):
        laid(lines(A=line_of(60.0)), log, pipe="back")


def test_only_lengths_that_are_filled_in_are_counted():
    log = crew_log([20.0, 18.0, 20.0])
    log.loc[2, "laid length"] = None
    (told,) = [note.text for note in laid(lines(A=line_of(58.0)), log).notes if "stations are counted" in note.text]
    assert "counted from its 2 laid lengths" in told


def test_a_log_whose_lengths_are_in_no_known_column_is_asked_which_it_is():
    log = crew_log([20.0] * 4).rename(columns={"laid length": "measure"})
    with pytest.raises(InputFileError, match=r"no column is known as the laid length.*records\.columns\.laid_length"):
        laid(lines(A=line_of(80.0)), log)
