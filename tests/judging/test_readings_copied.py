"""Readings copied down over rows: named with their rows and not judged by; honest logs, of which none is accused."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import pyarrow as pa
import pytest
from blunders import said
from survey_mains import laid

from asbuilt import held
from asbuilt.judging import copied
from asbuilt.judging.copied import copied_rows, sorted_rows
from asbuilt.keys.fields import GAP_FIELDS

HOURS = (12, 3, 6, 9)


class _Read:
    """Gap readings of a log of one file."""

    def __init__(self, read):
        self.fields = {f"gap_{hour}": read[:, at] for at, hour in enumerate(HOURS[: read.shape[1]])}
        self.file, self.files = pa.array(["log.csv"] * len(read)), ("log.csv",)

    def number(self, field):
        return self.fields[field]

    def __len__(self):
        return len(self.file)


def runs(read, *, unit="in", sigma=None):
    job: Any = SimpleNamespace(
        records=SimpleNamespace(readings_in=unit), inspection=SimpleNamespace(sigma_reading=sigma)
    )  # fmt: skip
    log: Any = _Read(read)
    return copied_rows(job, log, np.zeros(len(read), dtype=np.int64), GAP_FIELDS)


def read_around(rng, rows, *, step, sigma, deflection, toward, scatter=0.0):
    """Read gaps of 2 in to insertion marks around 12-in pipe, inches: as an honest crew does."""
    angle = np.radians([0, 90, 180, 270])
    mean = 2.0 + rng.normal(0.0, scatter, rows)
    tilt = 6.6 * np.tan(np.radians(deflection)) * np.cos(angle - toward)
    read = mean[:, None] + np.broadcast_to(tilt, (rows, 4)) + rng.normal(0.0, sigma, (rows, 4))
    return np.round(step * np.round(read / step), 4)


# From readings far finer than a crew's to such as are even all along a straight; none differs in truth from the next.
HONEST = [
    (step, sigma, deflection)
    for step in (1 / 4, 1 / 8, 1 / 16, 0.01)
    for sigma in (0.02, 1 / 32, 1 / 16)
    for deflection in (0.0, 0.4, 2.0)
]


@pytest.mark.parametrize(("step", "sigma", "deflection"), HONEST)
def test_no_honest_crew_is_told_to_have_copied(step, sigma, deflection):
    rng = np.random.default_rng(7)
    for stated in (None, sigma, 2 * sigma):
        for _ in range(12):
            curve = read_around(rng, 100, step=step, sigma=sigma, deflection=deflection, toward=rng.uniform(0, 6.28))
            straight = read_around(rng, 100, step=step, sigma=sigma, deflection=0.0, toward=0.0)
            assert (runs(np.concatenate([straight, curve, straight]), sigma=stated) < 0).all()


@pytest.mark.parametrize("rows", [6, 12, 40])
@pytest.mark.parametrize("seed", range(5))
def test_readings_copied_down_are_numbered_as_one_run(rows, seed):
    rng = np.random.default_rng(seed)
    read = read_around(rng, 120, step=1 / 16, sigma=1 / 16, deflection=0.5, toward=1.0, scatter=0.05)
    read[50 : 50 + rows] = read[50] = [2.0625, 1.9375, 2.0, 2.125]
    found = runs(read)
    assert np.flatnonzero(found == 0).tolist() == list(range(50, 50 + rows))
    # Even readings are what crews write of straight pushes.
    read[50 : 50 + rows] = 2.0
    assert (runs(read) < 0).all()


def with_gaps(main, seed):
    """Read the gaps at each joint of a main to 0.01 in with a standard error of 0.03 in."""
    read = np.round(2.0 + np.random.default_rng(seed).normal(0.0, 0.03, (len(main.log), 4)), 2)
    main.log[[f"gap {hour}" for hour in HOURS]] = read.astype(str)
    return read


def test_no_verdict_rests_on_readings_that_were_copied(tmp_path):
    main = laid(3, every=5, noise=0.02)
    read = with_gaps(main, 3)
    job = {"centerline": {"sigma_horizontal": 0.02}, "inspection": {"sigma_reading": 0.03}}
    before = said(tmp_path, main, **job).placed.joints
    read[40:52] = read[40]
    main.log[[f"gap {hour}" for hour in HOURS]] = read.astype(str)
    placement = said(tmp_path, main, **job).placed
    (found,) = placement.findings.query("code == 'readings-copied'").itertuples()
    assert found.joint == "41"
    assert "are the same in 12 rows, joint 41 to joint 52, as if they were copied down" in found.message
    assert found.message.endswith("; rows 41 to 52")
    joints = placement.joints
    assert "readings" in set(before["deflection_source"][40:52])
    assert not {"readings", "survey-and-readings"} & set(joints["deflection_source"][40:52].dropna())
    assert joints["measured_deg"][40:52].isna().all()
    assert joints["verdict"][60:].tolist() == before["verdict"][60:].tolist()
    (note,) = (one.text for one in placement.notes if one.code == "readings-unused")
    assert "as if copied down from another row at 12" in note


def test_rows_of_which_each_column_was_sorted_are_the_same_however_many_are_looked_at_in_one_go(monkeypatch):
    """A sorted page of sixty rows among others, over the ends of blocks of sixteen."""
    rng = np.random.default_rng(3)
    read = rng.normal(2.0, 0.06, (300, 4)).round(2)
    read[100:160] = np.sort(read[100:160], axis=0)
    log: Any = _Read(read)
    at_once = sorted_rows(log, GAP_FIELDS)
    assert np.flatnonzero(at_once)[[0, -1]].tolist() == [100, 159]
    monkeypatch.setattr(held, "AT_ONCE", 16)
    monkeypatch.setattr(copied, "_OVER", 20)
    assert sorted_rows(log, GAP_FIELDS).tolist() == at_once.tolist()
