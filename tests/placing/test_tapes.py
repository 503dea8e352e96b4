"""Stations by a tape that was off, or filled in by whole lengths: told with their rows, and their joints not judged."""

import crew_slips
import numpy as np
import pytest
from blunders import said
from survey_mains import laid, station

SHOTS = {"sigma_horizontal": 0.02, "sigma_vertical": 0.02}
DAY = slice(36, 54)


def rows_of(job):
    return job.log.index[job.log["route"] == "A"]


def taped_and_back(job, factor):
    """Tape a day from its first joint, and the next one from where it truly begins."""
    rows = rows_of(job)
    along = job.along(rows)
    start = along[DAY.start - 1]
    job.say(rows[DAY], start + factor * (along[DAY] - start))


def taped_on(job, factor):
    """Tape a day, and go on from where it ended by this tape."""
    rows = rows_of(job)
    along = job.along(rows)
    taped_and_back(job, factor)
    ahead = rows[DAY.stop :]
    job.say(ahead, along[DAY.stop :] + (factor - 1.0) * (along[DAY.stop - 1] - along[DAY.start - 1]))


@pytest.mark.parametrize("lengths", [True, False])
@pytest.mark.parametrize("factor", [0.98, 1.02])
@pytest.mark.parametrize("tape", [taped_and_back, taped_on])
@pytest.mark.parametrize("seed", [0, 1, 2, 3])
def test_a_day_by_a_tape_that_is_off_is_told_and_not_judged(tmp_path, tape, factor, lengths, seed):
    job = crew_slips.logged(seed, error=0.05, noise=0.02, joints=100, lengths=lengths)
    sound = crew_slips.told(tmp_path / "sound", job)
    assert "stations-shifted" not in sound.codes
    tape(job, factor)
    told = crew_slips.told(tmp_path / "off", job)
    assert (told.off > 5.0).any()
    assert "stations-shifted" in told.codes
    assert (told.silent, told.falsely_sure) == (0, 0)


def filled_in(job, before=6, behind=6):
    """Fill stations in by whole lengths past the first cut pipe, and go on with true ones; give the joints put off."""
    rows = rows_of(job)
    along = job.along(rows)
    true = np.hypot(*np.diff(job.places[: len(rows), :2], axis=0).T)
    cut = next(one for one in np.flatnonzero(true < 16.0) if before < one < len(rows) - behind - 2)
    filled = slice(cut - before + 1, cut + behind + 1)
    job.say(rows[filled], along[cut - before] + 20.0 * np.arange(1, before + behind + 1))
    return {str(row + 1) for row in range(cut + 1, cut + behind + 1)}


@pytest.mark.parametrize("lengths", [True, False])
@pytest.mark.parametrize("seed", range(6))
def test_stations_filled_in_past_a_cut_pipe_are_told_where_the_true_ones_go_on(tmp_path, lengths, seed):
    job = crew_slips.logged(seed, shape="curved", error=0.05, noise=0.02, joints=100, cuts=5, lengths=lengths)
    assert "stations-shifted" not in crew_slips.told(tmp_path / "sound", job).codes
    off = filled_in(job)
    told = crew_slips.told(tmp_path / "filled", job)
    assert set(told.placement.joints["joint"][told.off > 3.0]) == off
    (message,) = told.placement.findings.query("code == 'stations-shifted'")["message"]
    assert f"joint {max(off, key=int)} (" in message
    assert (told.silent, told.falsely_sure) == (0, 0)


def test_whole_lengths_counted_throughout_are_no_sign_of_stations_filled_in(tmp_path):
    job = crew_slips.logged(1, shape="curved", error=0.0, noise=0.02, joints=100, cuts=12, lengths=False)
    assert "stations-shifted" not in crew_slips.told(tmp_path, job).codes


@pytest.mark.parametrize("heights", [True, False])
def test_pipes_on_a_slope_are_no_tape_that_counts_too_little(tmp_path, heights):
    main = laid(3, every=2, noise=0.02, cuts=0, bends=0)
    # A hill of 13 percent in the middle: pipes of 20 ft lie 19.83 ft apart in plan.
    slope = np.zeros(len(main.places) - 1)
    slope[30:50] = 0.22
    flat = 20.0 * np.cos(slope)
    along = np.concatenate([[0.0], np.cumsum(flat)])
    climb = np.concatenate([[0.0], np.cumsum(20.0 * np.sin(slope))])
    main.log["station"] = [station(one) for one in along]
    shot = np.arange(0, len(along), 2)
    main.shots = main.shots.iloc[: len(shot)].assign(
        easting=6_700_000.0, northing=2_000_000.0 + along[shot], elevation=np.round(150.0 + climb[shot], 3)
    )
    if not heights:
        main.shots = main.shots.drop(columns="elevation")
    codes = set(said(tmp_path, main, centerline=SHOTS).placed.findings["code"])
    assert "stations-shifted" not in codes


def test_pipes_of_another_length_are_no_tape_where_the_line_ends_by_the_log(tmp_path):
    """Common practice, no source: one maker's pipes may be longer than another's by some hundredths of a length."""
    job = crew_slips.logged(0, shape="straight", error=0.05, noise=0.02, joints=100, cuts=0, lengths=True)
    rows = rows_of(job)
    shorter = np.concatenate([np.zeros(36), 0.4 * np.arange(1, 19), np.full(46, 7.2)])
    ahead = np.diff(job.places[[0, -1], :2], axis=0)[0]
    job.places[:, :2] -= shorter[:, None] * ahead / np.hypot(*ahead)
    job.say(rows, job.along(rows) - shorter)
    at = np.unique(np.append(np.arange(0, 100, 2), 99))
    job.shots = job.shots.iloc[[0] * len(at)].assign(
        point=1001 + np.arange(len(at)), easting=job.places[at, 0], northing=job.places[at, 1]
    )
    told = crew_slips.told(tmp_path, job)
    assert told.off.max() < 1.0
    assert "stations-shifted" not in told.codes
