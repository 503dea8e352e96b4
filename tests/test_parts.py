"""A large job is judged some routes at a time: its layers are then the same, cell by cell, as those judged at once."""

import csv
import datetime as dt
import json
import sqlite3
import tempfile
from contextlib import closing, contextmanager
from pathlib import Path
from random import Random

import numpy as np
import pyarrow.parquet as pq
import pytest
import whole_jobs

from asbuilt import held, waiting
from asbuilt.errors import AsbuiltError, InputFileError, OutputError
from asbuilt.inputs import content
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


def same_in_parts(path, parts, folder, random):
    job = without_what_belongs_to_several_routes(load_job(path))
    whole = place_into(job, folder / "at_once.gpkg", today=TODAY, part=AT_ONCE)
    many = 1
    for part in parts:
        again = place_into(job, folder / "in_parts.gpkg", today=TODAY, part=part)
        assert differing(tables(folder / "at_once.gpkg"), tables(folder / "in_parts.gpkg")) == [], part
        assert json.dumps(again.counts) == json.dumps(whole.counts)
        assert again.notes == whole.notes
        many = max(many, len(again.added))
    with held_from(random.randint(1, 60)):
        again = place_into(job, folder / "held.gpkg", today=TODAY, part=parts[-1])
    assert differing(tables(folder / "at_once.gpkg"), tables(folder / "held.gpkg")) == []
    assert again.notes == whole.notes
    return many


@contextmanager
def held_from(rows):
    """Have all columns of more rows held in files, and made some rows at a time; and files read in small blocks."""
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(held, "IN_MEMORY", rows)
        patched.setattr(held, "AT_ONCE", rows)
        patched.setattr(held, "_IN_PLACE", rows)
        patched.setattr(content, "_IN_MEMORY", 7 * rows)
        patched.setattr(content, "_BLOCK", 5 * rows)
        yield


def record(random, rng, name, at, station, angle):
    """Draw a row of the log, now and then one with something wrong in it."""
    return {
        "Route": name if random.random() < 0.98 else "Nowhere",
        "Joint": f"J{at}" if random.random() < 0.97 else "J3",
        "Station": f"{station:.2f}" if random.random() < 0.97 else random.choice(["", "??", "99999"]),
        "Size": random.choice(["12"] * 20 + ["8", ""]),
        "Joint type": random.choice(["push-on"] * 8 + ["odd"]),
        "Kind": "bend" if angle else "pipe",
        "Bend angle": angle or "",
        "Date": random.choice(["2026-04-02", "2026-04-09", "2031-01-01"]),
        "Home to mark": random.choice(["yes", "yes", "no", ""]),
        "Laid length": random.choice(["20"] * 9 + ["13"]),
        **{f"Gap {hour}": random.choice([f"{2 + rng.normal(0, 0.1):.2f}", ""]) for hour in (12, 3, 6, 9)},
    }


def write_mains(random, folder):
    """Write a job of several mains with all that a part may get wrong: noise, gaps, blunders, and rows in any order."""
    rng = np.random.default_rng(random.randrange(10**9))
    shots, log, keys, ties = [], [], [], []
    names = [f"R{number}" for number in range(random.randint(3, 8))]
    sparse, heights = random.choice([1, 2, 5]), random.choice(["all", "some", "none"])
    for number, name in enumerate(names):
        count = random.choice([0, 1, 2, 5, 30, 80])
        turn = np.radians(rng.normal(0, random.choice([0.0, 1.0, 4.0]), max(count, 3)))
        bends = {} if count < 10 else {random.randrange(2, count - 2): random.choice([11.25, 45.0]) for _ in range(2)}
        for at, angle in bends.items():
            turn[at] += np.radians(angle)
        azimuth = np.cumsum(turn)
        east = 6.7e6 + 900.0 * number + np.cumsum(20 * np.sin(azimuth))
        north = 2.0e6 + np.cumsum(20 * np.cos(azimuth))
        up = 50 + np.cumsum(rng.normal(0, 0.1, len(turn)))
        along = 20.0 * np.arange(len(turn))
        for at in sorted({*range(0, len(turn), sparse), len(turn) - 1}):
            off = rng.normal(0, 0.02, 3) + (random.random() < 0.03) * rng.normal(0, 3.0, 3)
            bare = heights == "none" or (heights == "some" and random.random() < 0.3)
            place = [f"{one:.3f}" for one in (north[at] + off[1], east[at] + off[0], up[at] + off[2])]
            shots.append((len(shots) + 1, *place[:2], "" if bare else place[2], name))
        jump = 100.0 if random.random() < 0.4 and count > 10 else 0.0
        if jump:
            back = along[8] + 10
            keys += ["[[centerline.equations]]", f'route = "{name}"', f"back = {back}", f"ahead = {back + jump}"]
        elif random.random() < 0.4 and count > 10:
            ties += [(name, f"{along[at]:.2f}", f"{east[at]:.3f}", f"{north[at]:.3f}") for at in (0, count - 1)]
        log += [
            record(random, rng, name, at, along[at] + (jump if at > 8 else 0.0), bends.get(at))
            for at in range(count)
            for _ in range(random.choice([0] + [1] * 20 + [2]))
        ]
    if random.random() < 0.5:
        random.shuffle(log)
    log = log or [{"Route": names[0], "Joint": "J1", "Station": "0"}]
    for name, head, rows in (
        ("shots.csv", ("Point", "Northing", "Easting", "Elevation", "Route"), shots),
        ("log.csv", list(log[0]), [list(one.values()) for one in log]),
        ("ties.csv", ("Route", "Station", "Easting", "Northing"), ties),
    ):
        with (folder / name).open("w", newline="") as file:
            csv.writer(file).writerows([head, *rows])
    text = ['name = "Mains"', 'crs = "EPSG:6418"', "[centerline]", 'path = "shots.csv"', "start_station = 0"]
    text += ['ties_path = "ties.csv"', "max_closure_ppm = 100000"] if ties else []
    known = random.choice([[], ["sigma_horizontal = 0.02"], ["sigma_horizontal = 0.02", "sigma_vertical = 0.03"]])
    text += random.choice([known, known, ['source = "drawn"']])
    text += random.choice([[], ['between = "curve"'] * ('source = "drawn"' not in text), ['elevation = "top-of-pipe"']])
    text += [*keys, "[records]", 'path = "log.csv"', 'station_unit = "us-ft"', "laying_length = 20", "[limits]",
             'table = "awwa-c600"', f'confidence_of = "{random.choice(["joint", "main"])}"']  # fmt: skip
    text += ["[profile]", "least_grade = 0.2", "least_rise = 0.5"] if random.random() < 0.5 else []
    (folder / "job.toml").write_text("\n".join(text) + "\n", "utf-8")
    return folder / "job.toml"


@pytest.mark.parametrize("seed", range(5))
def test_mains_are_the_same_in_parts(tmp_path, seed, monkeypatch):
    # Every row goes by way of the temporary folder, as those of a large job do.
    monkeypatch.setattr(waiting, "IN_MEMORY", 0)
    monkeypatch.setattr(waiting, "ROWS", 50)
    random = Random(seed)
    assert same_in_parts(write_mains(random, tmp_path), (1, 60), tmp_path, random) > 1


@pytest.mark.parametrize("seed", range(4))
def test_a_random_job_is_the_same_in_parts(tmp_path, seed):
    job = whole_jobs.make(Random(seed), tmp_path)
    try:
        same_in_parts(job.path, (1, 10), tmp_path, Random(seed))
    except AsbuiltError as error:
        pytest.skip(f"refused: {error}")


def test_a_job_with_something_that_belongs_to_several_routes_is_judged_at_once(tmp_path):
    path = write_mains(Random(0), tmp_path)
    test = ['route = "R0"', "from = 0", "to = 20", "pressure_psi = 150", "duration_h = 2", "makeup_gal = 0"]
    path.write_text("\n".join([path.read_text("utf-8"), "[[pressure_tests]]", *test, ""]), "utf-8")
    job = load_job(path)
    assert len(place_into(job, tmp_path / "joints.gpkg", today=TODAY, part=1).added) == 1


def test_the_layers_as_geoparquet_are_the_same_in_parts(tmp_path):
    job = load_job(write_mains(Random(1), tmp_path))
    for name, part in (("at_once", AT_ONCE), ("in_parts", 1)):
        place_into(job, tmp_path / f"{name}.parquet", today=TODAY, part=part)
    for layer in ("joints", "segments", "findings", "inspections", "set_aside"):
        one, other = (
            pq.read_table(tmp_path / f"{name}.parquet" / f"{layer}.parquet") for name in ("at_once", "in_parts")
        )
        assert one.equals(other), layer


def test_what_goes_wrong_while_rows_are_written_is_told_as_it_is_and_leaves_no_file(tmp_path, monkeypatch):
    job = load_job(write_mains(Random(1), tmp_path))

    def broken(self):
        raise ZeroDivisionError("a fault of the program")

    monkeypatch.setattr(waiting.Made, "batches", broken)
    with pytest.raises(ZeroDivisionError, match="a fault of the program"):
        place_into(job, tmp_path / "joints.gpkg", today=TODAY)
    assert not (tmp_path / "joints.gpkg").exists()
    assert [one for one in tmp_path.iterdir() if one.name.startswith(".")] == []


def test_a_survey_that_its_log_refuses_ends_the_writing_of_its_records(tmp_path, monkeypatch):
    job, temporary = load_job(write_mains(Random(1), tmp_path)), tmp_path / "temporary"
    temporary.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(temporary))
    begun = []

    def refused(*_args):
        begun.extend(temporary.iterdir())
        raise InputFileError("shots.csv: the line runs against its stations")

    monkeypatch.setattr("asbuilt.judging.doubted.against_the_log", refused)
    before = {*tmp_path.iterdir()}
    with pytest.raises(InputFileError, match="the line runs against its stations"):
        place_into(job, tmp_path / "joints.gpkg", today=TODAY, part=1)
    assert len(begun) == 1, "rows of records are handed on before"
    assert {*tmp_path.iterdir()} == before
    assert list(temporary.iterdir()) == []


def test_a_temporary_folder_that_is_full_is_named(tmp_path, monkeypatch):
    job = load_job(write_mains(Random(1), tmp_path))

    def full(*_args, **_named):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(waiting, "IN_MEMORY", 0)
    monkeypatch.setattr("tempfile.TemporaryFile", full)
    with pytest.raises(OutputError, match=r"temporary folder \(No space left on device\); make room there"):
        place_into(job, tmp_path / "joints.gpkg", today=TODAY)
    assert not (tmp_path / "joints.gpkg").exists()


if __name__ == "__main__":
    import sys

    refused = parted = 0
    for number in range(int(sys.argv[1]), int(sys.argv[2])):
        with tempfile.TemporaryDirectory() as folder:
            random = Random(number)
            made = write_mains(random, Path(folder)) if number % 2 else whole_jobs.make(random, Path(folder)).path
            try:
                parted += same_in_parts(made, (1, 40), Path(folder), random) > 1
            except AsbuiltError as error:
                refused += 1
                if number % 2:
                    print(number, "refused", str(error)[:200])
            except AssertionError as error:
                print(number, str(error)[:2000])
    print(refused, "refused", parted, "parted")
