"""Stations and joint numbers that begin anew: another length of pipe is refused, a second inspection is none."""

import itertools

import numpy as np
import pandas as pd
import pytest
from laying import lines, log, pipe, place

import asbuilt

LINE = pipe(np.zeros(79))
"""81 joints, 1,600 ft."""


def day(first, last, *, numbered=True, uneven=(), date="2026-04-02", start=0.0):
    """Give the records of a day, numbered from 1 and with stations from a start on; some lengths cut."""
    length = np.full(last - first - 1, 20.0)
    for at, cut in uneven:
        length[at] = cut
    along = start + np.concatenate([[0.0], np.cumsum(length)])
    laid = [f"{one:g}" for one in [*length, 20.0]]
    sheet = log(LINE[: last - first], date=date, **{"laid length": laid})
    sheet["station"] = [f"{int(at // 100)}+{at % 100:05.2f}" for at in along]
    return sheet if numbered else sheet.drop(columns="joint")


def placed(*days, line=LINE, **records):
    return place(lines(A=line), pd.concat(days, ignore_index=True), records=records)


def doubted(placement):
    return [note.text for note in placement.notes if note.code == "stations-doubtful"]


@pytest.mark.parametrize("numbered", [True, False])
@pytest.mark.parametrize("ends", [(0, 41, 81), (0, 27, 54, 81)])
def test_days_that_each_begin_at_the_start_are_refused_where_the_line_has_room_for_them(ends, numbered):
    # Common practice, no source: a crew that begins a sheet a day, with 0+00 and joint 1 at its head.
    days = [day(*one, numbered=numbered) for one in itertools.pairwise(ends)]
    with pytest.raises(asbuilt.InputFileError) as refused:
        placed(*days)
    said = str(refused.value)
    assert f"row {ends[1] + 1}: the stations of route A begin anew at 0+00.00" in said
    assert "let the stations" in said
    assert 'records.covers = "part"' in said


def test_days_of_other_pipes_are_refused_however_long_the_line_is():
    days = day(0, 21, uneven=[(4, 12.5), (9, 16.0)]), day(0, 21, uneven=[(7, 8.0)])
    with pytest.raises(
        asbuilt.InputFileError, match=r"not the same joints.*joint 5 has laid length 12.5 in row 5 and 20"
    ):
        placed(*days, covers="part")


def test_bends_at_other_joints_are_other_pipes():
    days = [day(0, 41), day(0, 40)]
    for one, at in zip(days, ((5, 20), (9, 30)), strict=True):
        one["kind"] = ["bend" if row in at else "pipe" for row in range(len(one))]
        one["bend angle"] = ["22.5" if row in at else "" for row in range(len(one))]
    with pytest.raises(asbuilt.InputFileError, match="joint 6 has kind bend in row 6 and pipe in row 47"):
        placed(*days, covers="part")


@pytest.mark.parametrize("again", [81, 40, 12])
def test_a_second_inspection_is_placed_without_a_doubt(again):
    placement = placed(day(0, 81), day(0, again, date="2026-05-04"))
    assert placement.counts["joints"] == 81
    assert doubted(placement) == []
    found = placement.findings.query("code == 'joint-repeated'")
    assert len(found) == again
    assert found["message"].iloc[0] == "2 records of this joint; the latest one counts; rows 1 and 82"


@pytest.mark.parametrize("numbered", [True, False])
def test_a_second_inspection_of_a_main_half_logged_is_known_by_its_uneven_lengths(numbered):
    uneven = [(4, 12.5), (11, 16.0), (30, 9.25)]
    days = [day(0, 41, uneven=uneven, numbered=numbered, date=date) for date in ("2026-04-02", "2026-05-04")]
    placement = placed(*days)
    assert placement.counts["joints"] == 41
    assert doubted(placement) == []


def test_one_slip_in_a_second_inspection_is_told_at_its_joint():
    days = [day(0, 81), day(0, 81, date="2026-05-04")]
    days[1].loc[30, "size"] = "21"
    placement = placed(*days)
    assert placement.counts["joints"] == 81
    said = placement.findings.query("code == 'joint-repeated' and joint == '31'")["message"].item()
    assert said.endswith("; rows 31 and 112")
    assert "differ in what was laid (size)" in said


@pytest.mark.parametrize(("line", "covers"), [(81, "part"), (300, "whole")])
def test_what_the_data_leave_open_is_told(line, covers):
    # Said to be of a part; or a line so long that it may not be laid to its end.
    placement = placed(day(0, 41), day(0, 41), line=pipe(np.zeros(line - 2)), covers=covers)
    (said,) = doubted(placement)
    assert "row 42: the stations of route A begin anew at 0+00.00, after 8+00.00 in row 41" in said


@pytest.mark.parametrize("backwards", [False, True])
@pytest.mark.parametrize("ends", [(0, 76, 81), (0, 5, 10, 15, 20, 25, 30), (0, 60, 75, 78, 81)])
def test_short_days_that_begin_anew_are_refused_where_the_line_has_just_their_length_left(ends, backwards):
    # Common practice, no source: five lengths of a large main are a day's work.
    days = [day(*one, date=f"2026-04-{at + 2:02d}") for at, one in enumerate(itertools.pairwise(ends))]
    if backwards:
        days[-1] = days[-1][::-1]
    with pytest.raises(asbuilt.InputFileError) as refused:
        placed(*days, line=pipe(np.zeros(ends[-1] - 2)))
    said = str(refused.value)
    assert "the stations of route A begin anew" in said
    assert 'records.covers = "part"' in said


@pytest.mark.parametrize(("again", "records"), [((0, 5), {"covers": "part"}), ((0, 7), {}), ((0, 2), {})])
def test_a_few_joints_looked_at_again_are_placed(again, records):
    # A line that is longer than its log, but not by just what the log repeats.
    placement = placed(day(0, 76), day(*again, date="2026-04-09"), **records)
    assert placement.counts["joints"] == 76
    assert codes(placement) - {"coverage-short"} == {"joint-repeated"}


def test_failed_joints_looked_at_again_in_a_row_are_no_new_day():
    first, again = day(0, 76), day(0, 5, date="2026-04-09")
    first.loc[:3, "gauge"] = "fail"
    placement = placed(first, again)
    assert placement.counts["joints"] == 76
    assert "failure-overruled" not in set(placement.findings["code"])
    said = placement.findings.query("code == 'joint-repeated' and joint == '2'")["message"].item()
    assert "; an earlier one did not pass (gauge), and the latest one does; rows 2 and 78" in said


def test_a_pass_written_over_a_failure_is_told_where_nothing_shows_a_second_look():
    first = day(0, 81)
    first.loc[2, "gauge"] = "fail"
    for again, why in (
        (day(0, 10, date="2026-04-09"), "it stands among 10 rows that repeat joints of which most had passed"),
        (day(2, 3).assign(joint="3", station="0+40.00"), "it is of the same day"),
        (day(2, 3, date="2026-04-09").assign(joint="3", station="0+40.00", size="8"), "what was laid (size)"),
    ):
        found = placed(first, again).findings.query("code == 'failure-overruled'")
        assert (found["joint"].item(), found["severity"].item()) == ("3", "act")
        assert "did not pass in an earlier record: gauge" in found["message"].item()
        assert why in found["message"].item()
        assert "; rows 3 and " in found["message"].item()


@pytest.mark.parametrize(("failed_on", "passed_on"), [("2026-04-01", ""), ("", "2026-04-09")])
def test_a_failure_stays_where_the_pass_or_the_failure_has_no_date(failed_on, passed_on):
    """An undated pass made a dated failure a joint without fault."""
    first = day(0, 81)
    first.loc[2, ["gauge", "date"]] = "fail", failed_on
    later = day(2, 3, date=passed_on).assign(joint="3", station="0+40.00")
    placement = placed(first, later)
    assert placement.joints.query("joint == '3'")["inspection"].item() == "failed"
    assert {"inspection-failed", "joint-repeated"} <= codes(placement)
    assert "failure-overruled" not in codes(placement)
    said = placement.findings.query("code == 'joint-repeated'")["message"].item()
    assert "; row 3 counts, in which it did not pass (gauge); row 82 says that it passed, and one of" in said
    assert "the latest one counts" not in said


def test_a_failure_that_a_dated_pass_made_good_stays_so_beside_an_undated_one():
    first = day(0, 81)
    first.loc[2, "gauge"] = "fail"
    again = [day(2, 3, date=one).assign(joint="3", station="0+40.00") for one in ("2026-04-09", "")]
    placement = placed(first, *again)
    assert "inspection-failed" not in codes(placement)
    assert placement.joints.query("joint == '3'")["inspection"].item() != "failed"


def test_without_any_dates_the_order_of_the_log_decides_and_that_is_told():
    first = day(0, 81, date="")
    first.loc[2, "gauge"] = "fail"
    placement = placed(first, day(2, 3, date="").assign(joint="3", station="0+40.00"))
    assert "failure-overruled" in codes(placement)
    assert "inspection-failed" not in codes(placement)


def test_a_joint_made_good_on_a_later_day_is_told_as_its_second_record_alone():
    first = day(0, 81)
    first.loc[2, "gauge"] = "fail"
    later = day(2, 3, date="2026-04-09").assign(joint="3", station="0+40.00")
    placement = placed(first, later)
    assert codes(placement) == {"joint-repeated"}
    assert "an earlier one did not pass (gauge)" in placement.findings["message"].item()


def codes(placement):
    return set(placement.findings["code"])


def test_numbers_begun_anew_with_stations_running_on_are_in_order():
    placement = placed(day(0, 41), day(0, 40, start=820.0))
    assert placement.counts["joints"] == 81
    (found,) = placement.findings.to_dict("records")
    assert (found["code"], found["joint"], found["station"]) == ("joint-repeated", "1", "0+00.00")
    assert found["message"] == (
        "this joint number is used at 2 places on the route; so are those of 80 joints of the route, from 0+00.00 to "
        "16+00.00, as where two crews, or two days, count each from 1: then have the crew or the day written before "
        "each number; rows 1 and 42"
    )
    assert (found["from_station"], found["to_station"]) == ("0+00.00", "16+00.00")


def test_among_numbers_begun_anew_a_joint_with_two_records_of_its_own_is_told_besides():
    again = day(20, 21, date="2026-05-04").assign(joint="21", station="4+00.00")
    placement = placed(day(0, 41), day(0, 40, start=820.0), again)
    found = placement.findings.query("code == 'joint-repeated'")
    assert found["station"].tolist() == ["0+00.00", "4+00.00"]


def test_one_number_out_of_order_is_found_among_numbers_begun_anew():
    days = [day(0, 41), day(0, 40, start=820.0)]
    days[1].loc[10, "joint"] = "35"
    placement = placed(*days)
    assert placement.findings.query("code == 'order-broken'")["station"].tolist() == ["10+20.00"]
