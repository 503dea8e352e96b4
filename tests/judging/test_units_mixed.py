"""A page of readings in another unit than the others of its log: named, and nothing judged by it; honest logs not."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import pyarrow as pa
import pytest
from blunders import said
from survey_mains import laid

from asbuilt.judging.readings import unit_slipped
from asbuilt.judging.units_mixed import in_another_unit, in_tenths, off_the_rule

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
    [
        ("in", 2.0, 1 / 16, 25.4, 1.0, "mm"),
        ("in", 2.0, 1 / 16, 1 / 12, 0.01, "ft"),
        ("in", 2.0, 1 / 16, 2.54, 0.1, "cm"),
        ("mm", 55.0, 1.0, 0.1, 0.1, "cm"),
        ("mm", 55.0, 1.0, 1 / 25.4, 0.01, "in"),
    ],
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


VAGUE = {"sigma_horizontal": 3.0, "sigma_vertical": 3.0}
"""Shots that say nothing of turns: the readings here are not of the main."""


def _read_at(main, tilts, *, mean, sigma, chance, written):
    """Write gaps of a main whose joints deflect to the right by so many degrees: 13.20 in pipe, inches as read."""
    half = 13.2 / 2.0 * np.tan(np.radians(tilts))
    exact = mean + np.stack([0.0 * half, -half, 0.0 * half, half], axis=1)
    for hour, read in zip(HOURS, (exact + chance.normal(0.0, sigma, exact.shape)).T, strict=True):
        main.log[f"gap {hour}"] = [written(one) for one in read]


@pytest.mark.parametrize("written", ["{:.2f}", "{:.3f}"])
def test_gaps_in_feet_show_no_deflection_until_their_unit_is_said(tmp_path, written):
    """Taken for inches they showed a twelfth of each deflection, and joints of 6 degrees were within, as measured."""
    main, chance = laid(3, every=6, bends=0), np.random.default_rng(4)
    tilts = np.where(np.arange(90) % 9 == 4, 6.5, 0.5)
    _read_at(main, tilts, mean=2.0, sigma=0.03, chance=chance, written=lambda inches: written.format(inches / 12.0))
    taken = said(tmp_path, main, centerline=VAGUE).placed
    assert taken.joints["measured_deg"].isna().all()
    assert not taken.joints["deflection_source"].eq("readings").any()
    (note,) = [one.text for one in taken.notes if one.code == "readings-unused"]
    assert "as if written in feet at 90; say records.reading_unit" in note
    stated = said(tmp_path, main, centerline=VAGUE, records={"reading_unit": "in"}).placed
    assert stated.joints["measured_deg"].notna().sum() > 80
    _read_at(main, tilts, mean=2.0, sigma=0.03, chance=chance, written="{:.2f}".format)
    sound = said(tmp_path, main, centerline=VAGUE).placed.joints
    assert (sound["verdict"].eq("over") == (tilts == 6.5)).all()


def test_columns_that_are_named_in_inches_are_not_asked_whether_they_are_in_feet(tmp_path):
    """Pipes pushed nearly home, read in hundredths of an inch: the job was asked for what every column says."""
    main, chance = laid(3, every=6, bends=0), np.random.default_rng(4)
    _read_at(main, np.full(90, 0.2), mean=0.3, sigma=0.02, chance=chance, written="{:.2f}".format)
    asked = said(tmp_path, main).placed
    assert "readings-unused" in [one.code for one in asked.notes]
    main.log = main.log.rename(columns={f"gap {hour}": f"gap {hour} (in)" for hour in HOURS[:2]})
    assert said(tmp_path, main).placed.joints["measured_deg"].isna().all()
    main.log = main.log.rename(columns={f"gap {hour}": f"gap {hour} (in)" for hour in HOURS[2:]})
    named = said(tmp_path, main).placed
    assert "readings-unused" not in [one.code for one in named.notes]
    assert named.joints["measured_deg"].notna().sum() > 80


def _false_over(tmp_path, main, tilts, **tables):
    placed = said(tmp_path, main, centerline=VAGUE, **tables).placed
    wrong = placed.joints["verdict"].eq("over").to_numpy() & (tilts < 5.0)
    return np.count_nonzero(wrong), " ".join(one.text for one in placed.notes if one.code == "readings-unused")


def test_gaps_in_centimetres_show_no_deflection_until_their_unit_is_said(tmp_path):
    """Taken for inches they showed two and a half times each deflection: joints of 3 degrees were over, as measured."""
    main, chance = laid(3, every=6, bends=0), np.random.default_rng(4)
    tilts = np.where(np.arange(90) % 9 == 4, 3.0, 0.5)
    _read_at(main, tilts, mean=2.0, sigma=0.03, chance=chance, written=lambda inches: f"{2.54 * inches:.1f}")
    wrong, told = _false_over(tmp_path, main, tilts)
    assert wrong == 0
    assert "as if written in centimetres at 90; say records.reading_unit" in told
    assert _false_over(tmp_path, main, tilts, records={"reading_unit": "in"})[0] == 10
    band = {"insertion_band": [1.75, 2.25]}
    wrong, told = _false_over(tmp_path, main, tilts, records={"reading_unit": "in"}, inspection=band)
    assert wrong == 0
    assert "as if written in centimetres at 90" in told
    for written in ("{:.1f}", "{:.2f}", "{:.4f}"):
        _read_at(main, tilts, mean=2.0, sigma=0.03, chance=chance, written=written.format)
        assert _false_over(tmp_path, main, tilts, inspection=band) == (0, "")


@pytest.mark.parametrize("mean", [5.0, 7.3, 9.0])
@pytest.mark.parametrize("unit", [None, "mm"])
def test_a_usual_gap_in_tenths_of_a_millimetre_may_be_in_centimetres(mean, unit):
    job: Any = SimpleNamespace(
        records=SimpleNamespace(readings_in="mm", reading_unit=unit), inspection=SimpleNamespace(insertion_band=None)
    )
    assert unit_slipped(job, mean, fine_gaps=True) == (unit is None or mean < 6.0)
    assert not unit_slipped(job, mean, fine_gaps=False)


def test_gaps_read_with_a_rule_in_inches_are_taken_for_neither_feet_nor_centimetres():
    chance = np.random.default_rng(8)
    for _ in range(2000):
        step = float(chance.choice([1 / 32, 1 / 16, 1 / 8]))
        read = np.abs(step * np.round(chance.normal(chance.uniform(0.1, 0.6), chance.uniform(0.02, 0.2), 240) / step))
        written: Any = np.round(read, int(chance.integers(2, 6)))
        assert not off_the_rule(written)
        assert not in_tenths(written)
