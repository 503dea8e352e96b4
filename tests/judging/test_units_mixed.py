"""A page of readings in another unit than the others of its log: named, and nothing judged by it; honest logs not."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import pyarrow as pa
import pytest
from blunders import said
from survey_mains import laid

from asbuilt.judging.units_mixed import in_another_unit

HOURS = (12, 3, 6, 9)
FIELDS = [f"gap_{hour}" for hour in HOURS]


def mixed(read, unit, *, band=None, types=None):
    log: Any = SimpleNamespace(
        fields=dict.fromkeys(FIELDS), number=lambda field: read[:, FIELDS.index(field)],
        file=pa.array(["log.csv"] * len(read)), text=lambda field: pa.array(types or ["push-on"] * len(read)),
    )  # fmt: skip
    job: Any = SimpleNamespace(
        records=SimpleNamespace(readings_in=unit), inspection=SimpleNamespace(insertion_band=band)
    )
    return in_another_unit(job, log, FIELDS, read.mean(axis=1))


def read_around(rng, rows, mean, step, scatter):
    return step * np.round(rng.normal(mean, scatter, (rows, 4)) / step)


@pytest.mark.parametrize("rows", [4, 12, 60])
@pytest.mark.parametrize(
    ("unit", "mean", "step", "factor", "coarse", "word"),
    [("in", 2.0, 1 / 16, 25.4, 1.0, "mm"), ("mm", 55.0, 1.0, 0.1, 0.1, "cm"), ("mm", 55.0, 1.0, 1 / 25.4, 0.01, "in")],
)
@pytest.mark.parametrize("seed", range(3))
def test_a_page_in_another_unit_is_found_whole(seed, unit, mean, step, factor, coarse, word, rows):
    rng = np.random.default_rng(seed)
    read = read_around(rng, 100, mean, step, 0.05 * mean)
    read[30 : 30 + rows] = coarse * np.round(read[30 : 30 + rows] * factor / coarse)
    found = mixed(read, unit)
    assert (np.flatnonzero(found.record).tolist(), found.unit) == (list(range(30, 30 + rows)), word)


@pytest.mark.parametrize("unit", ["in", "mm"])
def test_no_honest_log_is_told_to_be_in_two_units(unit):
    rng, inch = np.random.default_rng(5), {"in": 1.0, "mm": 25.4}[unit]
    step = {"in": 1 / 16, "mm": 1.0}[unit]
    for _ in range(300):
        # Gaps of all sizes, of spigots pushed home or short; and a second crew that reads to the mark behind.
        read = read_around(rng, 100, rng.uniform(0.3, 2.5) * inch, step, rng.uniform(0.02, 0.3) * inch)
        read = np.maximum(read * rng.lognormal(0.0, rng.uniform(0.0, 0.4), (100, 1)), 0.0)
        start = int(rng.integers(0, 80))
        read[start : start + 20] *= rng.choice([1.0, 0.2, 0.3, 3.0, 5.0])
        assert not mixed(step * np.round(read / step), unit).record.any()


def test_joints_of_another_type_and_a_band_that_holds_them_are_no_page_in_another_unit():
    rng = np.random.default_rng(2)
    read = read_around(rng, 100, 2.0, 1 / 16, 0.1)
    read[30:50] = np.round(25.4 * read[30:50])
    assert mixed(read, "in").record.sum() == 20
    assert not mixed(read, "in", types=["push-on"] * 30 + ["mechanical"] * 20 + ["push-on"] * 50).record.any()
    assert not mixed(read, "in", band=(40.0, 60.0)).record.any()


def test_neither_deflection_nor_insertion_is_judged_by_a_page_in_another_unit(tmp_path):
    main = laid(3, every=5, noise=0.02)
    read = np.round(55.0 + np.random.default_rng(3).normal(0.0, 1.0, (len(main.log), 4)))
    job = {
        "centerline": {"sigma_horizontal": 0.02}, "records": {"reading_unit": "mm"},
        "inspection": {"sigma_reading": 1.0, "insertion_band": [45, 65]},
    }  # fmt: skip
    read[40:] /= 10.0
    main.log[[f"gap {hour}" for hour in HOURS]] = read.astype(str)
    placement = said(tmp_path, main, **job).placed
    odd = placement.findings.query("code == 'entry-doubtful'")
    assert odd["joint"].tolist() == [str(number) for number in range(41, len(main.log) + 1)]
    assert odd["message"].str.contains("as if written in centimetres, as those of the rows beside it are").all()
    assert placement.joints["measured_deg"][40:].isna().all()
    assert placement.joints["measured_deg"][:40].notna().all()
    assert "insertion-off" not in set(placement.findings["code"])
