"""Rows whose stations stand in reverse: told by their uneven lengths and bends, and not judged where nothing tells."""

import crew_slips
import numpy as np
import pytest
from laying import lines, log, pipe, place


def in_reverse(job, rows, column):
    job.log.loc[rows, column] = job.log.loc[rows, column].to_numpy()[::-1]


def shifted(told):
    return told.placement.findings.query("code == 'stations-shifted'")["message"].tolist()


@pytest.mark.parametrize("sheet", [0, 1, 2])
@pytest.mark.parametrize("seed", range(7))
def test_no_joint_of_a_sheet_whose_stations_are_in_reverse_is_judged(tmp_path, seed, sheet):
    job = crew_slips.logged(seed, joints=90)
    in_reverse(job, job.sheet(sheet), "station")
    told = crew_slips.told(tmp_path, job)
    assert (told.off > 2.0).sum() >= 28
    (message,) = shifted(told)
    assert f"of the 30 rows from sheet {sheet}.csv row 2" in message
    assert told.silent == 0
    assert told.falsely_sure == 0


@pytest.mark.parametrize("seed", range(7))
def test_lengths_tell_numbers_in_reverse_from_stations_in_reverse(tmp_path, seed):
    job = crew_slips.logged(seed, joints=90, cuts=12, lengths=True)
    sound = crew_slips.told(tmp_path, job).placement.joints
    in_reverse(job, job.sheet(1), "joint")
    told = crew_slips.told(tmp_path, job)
    assert not shifted(told)
    assert told.placement.joints["verdict"].tolist() == sound["verdict"].tolist()


@pytest.mark.parametrize("column", ["joint", "station"])
def test_where_nothing_tells_numbers_from_stations_both_are_asked(tmp_path, column):
    job = crew_slips.logged(0, joints=90, cuts=0, noise=0.02)
    in_reverse(job, job.sheet(1), column)
    told = crew_slips.told(tmp_path, job)
    (message,) = shifted(told)
    assert "no length or bend tells whether numbers or stations are in reverse" in message
    assert told.silent == 0


@pytest.mark.parametrize("series", ["{0}", "D{1}-{0}"])
@pytest.mark.parametrize("seed", range(7))
def test_numbers_that_begin_anew_on_each_sheet_tell_a_sheet_in_reverse(tmp_path, seed, series):
    job = crew_slips.logged(seed, joints=90)
    count = job.log.groupby(["route", "sheet"]).cumcount() + 1
    job.log["joint"] = [series.format(one, sheet) for one, sheet in zip(count, job.log["sheet"], strict=True)]
    assert not shifted(crew_slips.told(tmp_path, job))
    in_reverse(job, job.sheet(1), "station")
    told = crew_slips.told(tmp_path, job)
    assert len(shifted(told)) == 1
    assert told.silent == 0
    assert told.falsely_sure == 0


@pytest.mark.parametrize("seed", range(7))
def test_rows_of_a_sheet_that_stand_from_the_last_to_the_first_are_in_place(tmp_path, seed):
    job = crew_slips.logged(seed, joints=90)
    job.log["joint"] = (job.log.groupby(["route", "sheet"]).cumcount() + 1).astype(str)
    rows = job.sheet(1)
    job.log.loc[rows] = job.log.loc[rows[::-1]].to_numpy()
    assert not shifted(crew_slips.told(tmp_path, job))


@pytest.mark.parametrize("blank", [[0], [0, 1, 2], [20], range(40)])
def test_numbers_that_begin_anew_are_placed_where_days_were_left_blank(blank):
    points = pipe(np.zeros(38))
    day = np.where(np.arange(40) < 20, "2026-04-02", "2026-04-03")
    day[blank] = ""
    job = place(lines(A=points), log(points, joint=[str(1 + at % 20) for at in range(40)], date=day))
    np.testing.assert_allclose(job.joints[["easting", "northing"]], points[:, :2], atol=0.02)
    assert "stations-shifted" not in set(job.findings["code"])


@pytest.mark.parametrize("seed", [0, 1, 2, 6])
def test_lengths_alone_tell_a_sheet_without_numbers(tmp_path, seed):
    job = crew_slips.logged(seed, joints=90, cuts=12, lengths=True, error=0.1)
    job.log = job.log.drop(columns="joint")
    sound = crew_slips.told(tmp_path, job)
    assert not shifted(sound)
    in_reverse(job, job.sheet(1), "station")
    told = crew_slips.told(tmp_path, job)
    (message,) = shifted(told)
    assert "fit the steps between their stations only if the stations are taken in reverse" in message
    assert told.silent == 0
