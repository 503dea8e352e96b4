"""Rows copied from one log into another under other numbers: told by day, readings and order; honest logs are not."""

import numpy as np
import pytest
from registers import placed

from asbuilt.register.copied import Rows, runs_alike
from asbuilt.register.loading import load

HOURS = (12, 3, 6, 9)
COPIED = "were rows copied from one log into the other?"


def readings(seed, count=20):
    """Give gaps around each joint, by their columns: a hundredth is read, and they lie around a quarter of an inch."""
    read = np.round(np.random.default_rng(seed).normal(0.25, 0.08, (count, len(HOURS))).clip(0.02), 2)
    return {f"gap_{hour}": [f"{one:.2f}" for one in column] for hour, column in zip(HOURS, read.T, strict=True)}


def log(path, name, read, **how):
    count = len(read["gap_12"])
    return placed(path, name, joints=count, **{key: dict(enumerate(ones)) for key, ones in read.items()}, **how)


def joined(*parts):
    return {key: [one for part, rows in parts for one in np.array(part[key])[rows].tolist()] for key in parts[0][0]}


@pytest.fixture(scope="module")
def first(folder):
    return log(folder / "first.gpkg", "Phase 1", readings(1))


@pytest.mark.parametrize(("rows", "order"), [
    (slice(4, 12), "joints 5 to 12, that load 1 brought, in the same order"),
    (slice(11, 3, -1), "joints 12 to 5, that load 1 brought, in the opposite order"),
])  # fmt: skip
def test_rows_copied_under_other_numbers_are_asked_about(register, folder, first, rows, order):
    load(first, register)
    own = readings(2)
    copied = joined((own, slice(0, 6)), (readings(1), rows), (own, slice(14, 20)))
    path = log(folder / f"copied {rows.start}.gpkg", "Phase 2", copied, routes=("B",), east=3000.0, first=101)
    for dry_run in (True, False):
        result = load(path, register, dry_run=dry_run)
        [note] = [one for one in result.notes if COPIED in one]
        assert "8 records of route B (joints 107 to 114) have the day and the readings of those of route A" in note
        assert order in note
    assert result.joints["new"] == 20


def test_rows_of_one_route_copied_over_those_of_another_of_the_same_job_are_asked_about(register, folder):
    own, other = readings(1), readings(2)
    both = {"routes": ("A", "B"), "joints": 20}

    def job(name, of_b):
        every = joined((own, slice(None)), (of_b, slice(None)))
        return placed(folder / name, "Phase 1", **both, **{key: dict(enumerate(ones)) for key, ones in every.items()})

    assert not [one for one in load(job("right.gpkg", other), register).notes if COPIED in one]
    wrong = joined((own, slice(0, 8)), (other, slice(8, 20)))
    [note] = [one for one in load(job("wrong.gpkg", wrong), register).notes if COPIED in one]
    assert note.startswith("8 records of route B (joints 1 to 8) have the day and the readings of those of route A")


def test_honest_logs_and_corrections_are_not_asked_about(register, folder, first):
    load(first, register)
    alike = {key: ["0.25"] * 20 for key in readings(1)}
    others = (
        log(folder / "other.gpkg", "Phase 2", readings(3), routes=("B",), east=3000.0),
        log(folder / "quarter.gpkg", "Phase 3", alike, routes=("C",), east=6000.0),
        log(folder / "quarter too.gpkg", "Phase 4", alike, routes=("D",), east=9000.0),
        log(folder / "renamed.gpkg", "Phase I", readings(1)),  # the same joints under another job's name
        log(folder / "moved.gpkg", "Phase 2", joined((readings(3), [19, *range(19)])), routes=("B",), east=3000.0),
        log(folder / "another day.gpkg", "Phase 5", readings(1), routes=("E",), east=12000.0, date="2026-05-02"),
    )  # fmt: skip
    for path in others:
        assert not [one for one in load(path, register).notes if COPIED in one], path


def test_no_pair_of_honest_logs_of_one_day_has_runs_alike():
    """A few of the logs that were tried by thousands: fine and coarse readings, one or many a joint, lazy crews."""
    for seed in range(100):
        rng = np.random.default_rng(seed)
        of_joint, step, lazy = rng.choice([1, 2, 4]), rng.choice([1 / 16, 1 / 32, 0.01]), rng.choice([0.0, 0.5])

        def rows(of_joint=of_joint, step=step, lazy=lazy, rng=rng):
            count = int(rng.integers(5, 300))
            read = np.round(rng.normal(0.375, 0.1, (count, of_joint)) / step) * step
            read[rng.random(count) < lazy] = 0.375
            day = np.sort(rng.choice([f"2026-04-{number:02d}" for number in range(1, 9)], count))
            return Rows(day, read, np.full(count, "A"), np.zeros(count, dtype=np.int64))

        ours, theirs = rows(), rows()
        assert runs_alike(ours, theirs) == [], seed
