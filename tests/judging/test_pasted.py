"""Blocks of readings pasted over other rows: both named, and nothing taken from either; in honest logs none is."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import pyarrow as pa
import pytest
from blunders import said
from survey_mains import laid
from test_readings_copied import HONEST, HOURS, read_around, with_gaps

from asbuilt.judging import pasted
from asbuilt.judging.pasted import pasted_blocks
from asbuilt.keys.fields import GAP_FIELDS


class _Read:
    """Gap readings of a log of one file, with stations 20 ft apart."""

    def __init__(self, read, station=None):
        self.read, self.file, self.files = read, pa.array(["log.csv"] * len(read)), ["log.csv"]
        self.fields = {f"gap_{hour}": pa.array(read[:, at]) for at, hour in enumerate(HOURS)}
        self.row = np.arange(2, len(read) + 2)
        self.stations = SimpleNamespace(value=20.0 * np.arange(len(read)) if station is None else station)

    def __len__(self):
        return len(self.read)


def blocks(read, *, station=None, elsewhere=None):
    log: Any = _Read(read, station)
    other = np.full(len(read), -1) if elsewhere is None else elsewhere
    return pasted_blocks(
        log, np.zeros(len(read), dtype=np.int64), GAP_FIELDS, np.zeros(len(read), dtype=np.bool_), other
    )


@pytest.mark.parametrize(("step", "sigma", "deflection"), HONEST)
def test_no_honest_crew_is_told_to_have_pasted(step, sigma, deflection):
    rng = np.random.default_rng(11)
    for _ in range(36):
        toward = rng.uniform(0, 6.28)
        parts = [
            read_around(rng, 100, step=step, sigma=sigma, deflection=one, toward=toward)
            for one in (0.0, deflection, deflection, 0.0)
        ]
        assert not blocks(np.concatenate(parts)).same_as


@pytest.mark.parametrize("rows", [8, 12, 30])
@pytest.mark.parametrize("seed", range(5))
def test_both_blocks_are_named_with_the_rows_of_the_other(rows, seed):
    read = read_around(
        np.random.default_rng(seed), 120, step=1 / 16, sigma=1 / 16, deflection=0.5, toward=1.0, scatter=0.05
    )
    assert not blocks(read).same_as
    read[70 : 70 + rows] = read[20 : 20 + rows]
    found = blocks(read)
    assert np.flatnonzero(found.block == 0).tolist() == list(range(20, 20 + rows))
    assert np.flatnonzero(found.block == 1).tolist() == list(range(70, 70 + rows))
    assert found.same_as == (f"rows 72 to {71 + rows}", f"rows 22 to {21 + rows}")
    # A sheet that was keyed twice is of the same joints.
    station = 20.0 * np.arange(120)
    station[70 : 70 + rows] = station[20 : 20 + rows]
    assert not blocks(read, station=station).same_as
    # And of a page that stands twice as a whole more is said.
    elsewhere = np.full(120, -1)
    elsewhere[70 : 70 + rows] = np.arange(20, 20 + rows)
    assert not blocks(read, elsewhere=elsewhere).same_as


def test_no_verdict_rests_on_a_block_that_was_pasted(tmp_path):
    main = laid(3, every=5, noise=0.02)
    read = with_gaps(main, 3)
    job = {"centerline": {"sigma_horizontal": 0.02}, "inspection": {"sigma_reading": 0.03}}
    assert "readings-copied" not in set(said(tmp_path, main, **job).placed.findings["code"])
    read[40:52] = read[28:40]
    main.log[[f"gap {hour}" for hour in HOURS]] = read.astype(str)
    placed = said(tmp_path, main, **job).placed
    earlier, later = placed.findings.query("code == 'readings-copied'").itertuples()
    assert (earlier.joint, later.joint) == ("29", "41")
    assert "of 12 rows, joint 41 to joint 52, are those of rows 29 to 40, in the same order" in later.message
    assert placed.joints["measured_deg"][28:52].isna().all()
    assert placed.joints["measured_deg"][:28].notna().any()


@pytest.mark.parametrize("start", range(0, 260, 20))
def test_a_block_is_found_wherever_a_long_log_is_parted(monkeypatch, start):
    """Of a log longer than what is looked at together, each window holds rows of the next one, too."""
    monkeypatch.setattr(pasted, "_AT_ONCE", 50)
    monkeypatch.setattr(pasted, "_OVER", 60)
    read = read_around(np.random.default_rng(4), 300, step=0.01, sigma=1 / 16, deflection=0.5, toward=1.0, scatter=0.05)
    assert not blocks(read).same_as
    read[start + 25 : start + 37] = read[start : start + 12]
    assert blocks(read).same_as == (f"rows {start + 27} to {start + 38}", f"rows {start + 2} to {start + 13}")
