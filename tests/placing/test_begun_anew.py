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


def test_numbers_begun_anew_with_stations_running_on_are_in_order():
    placement = placed(day(0, 41), day(0, 40, start=820.0))
    assert placement.counts["joints"] == 81
    assert set(placement.findings["code"]) == {"joint-repeated"}
    assert placement.findings["message"].iloc[0] == "this joint number is used at 2 places on the route; rows 1 and 42"


def test_one_number_out_of_order_is_found_among_numbers_begun_anew():
    days = [day(0, 41), day(0, 40, start=820.0)]
    days[1].loc[10, "joint"] = "35"
    placement = placed(*days)
    assert placement.findings.query("code == 'order-broken'")["station"].tolist() == ["10+20.00"]
