"""A large job is judged some routes at a time: its layers are then the same, cell by cell, as those judged at once."""

import datetime as dt
import json
import sqlite3
import tempfile
from contextlib import closing
from pathlib import Path
from random import Random

import pytest
import whole_jobs

from asbuilt.errors import AsbuiltError
from asbuilt.job import load_job
from asbuilt.processor import place_into

TODAY = dt.date(2026, 6, 1)
AT_ONCE = 10**9


def tables(path):
    """Read every table of a file but its R-trees, with the kind of every cell, and without the moment of writing."""
    with closing(sqlite3.connect(path)) as database:
        names = [
            name for (name,) in database.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
            if not name.startswith("rtree_")
        ]  # fmt: skip
        found = {}
        for name in names:
            columns = [row[1] for row in database.execute(f'PRAGMA table_info("{name}")')]
            kept = [one for one in columns if one not in ("made_at", "last_change", "update_time")]
            listed = ", ".join(f'typeof("{one}"), "{one}"' for one in kept)
            found[name] = [tuple(row) for row in database.execute(f'SELECT {listed} FROM "{name}" ORDER BY rowid')]
    return found


def differing(one, other):
    """Name the first cells in which two files differ, with a few of them."""
    assert list(one) == list(other)
    told = []
    for name, rows in one.items():
        assert len(rows) == len(other[name]), (name, len(rows), len(other[name]))
        told += [(name, a, b) for a, b in zip(rows, other[name], strict=True) if a != b][:2]
    return told


def without_what_belongs_to_several_routes(job):
    return job.model_copy(update={"design": None, "cover": None, "restraint": (), "pressure_tests": ()})


def same_in_parts(path, parts, folder):
    job = without_what_belongs_to_several_routes(load_job(path))
    whole = place_into(job, folder / "at_once.gpkg", today=TODAY, part=AT_ONCE)
    many = 1
    for part in parts:
        again = place_into(job, folder / "in_parts.gpkg", today=TODAY, part=part)
        assert differing(tables(folder / "at_once.gpkg"), tables(folder / "in_parts.gpkg")) == [], part
        assert json.dumps(again.counts) == json.dumps(whole.counts)
        assert again.notes == whole.notes
        many = max(many, len(again.added))
    return many


@pytest.mark.parametrize("seed", range(12))
def test_a_random_job_is_the_same_in_parts(tmp_path, seed):
    job = whole_jobs.make(Random(seed), tmp_path)
    try:
        same_in_parts(job.path, (1, 10, 40), tmp_path)
    except AsbuiltError as error:
        pytest.skip(f"refused: {error}")


if __name__ == "__main__":
    import sys

    refused = parted = 0
    for number in range(int(sys.argv[1]), int(sys.argv[2])):
        with tempfile.TemporaryDirectory() as folder:
            made = whole_jobs.make(Random(number), Path(folder))
            try:
                parted += same_in_parts(made.path, (1, 10), Path(folder)) > 1
            except AsbuiltError:
                refused += 1
            except AssertionError as error:
                print(number, str(error)[:3000])
    print(refused, "refused", parted, "parted")
