"""Columns of a large job lie in files: what comes of it is the same, and bad data is told in the same words."""

import sys
from concurrent.futures import ThreadPoolExecutor
from itertools import pairwise
from random import Random

import numpy as np
import pyarrow as pa
import pytest
import whole_jobs
from test_parts import AT_ONCE, TODAY, differing, held_from, tables

from asbuilt import held
from asbuilt.errors import AsbuiltError, InputFileError, OutputError
from asbuilt.inputs import content
from asbuilt.inputs import tables as read
from asbuilt.inputs.fields import known_names
from asbuilt.job import Job, load_job
from asbuilt.line.routes import Located
from asbuilt.processor import place_into

FIELDS = known_names(
    Job.from_mapping(
        {"name": "Quarry Lane", "centerline": {}, "records": {"station_unit": "us-ft", "laying_length": 20}}
    )
)


@pytest.mark.parametrize("seed", range(6))
def test_a_job_is_the_same_with_its_columns_in_files(tmp_path, seed):
    random = Random(f"held {seed}")
    job = load_job(whole_jobs.make(random, tmp_path).path)

    def placed(name):
        try:
            place_into(job, tmp_path / name, today=TODAY, part=AT_ONCE)
        except AsbuiltError as error:
            return str(error)
        return tables(tmp_path / name)

    in_memory = placed("in_memory.gpkg")
    with held_from(random.randint(1, 40)):
        in_files = placed("in_files.gpkg")
    if isinstance(in_memory, str):
        assert in_files == in_memory
    else:
        assert differing(in_memory, in_files) == []


def test_what_is_held_cannot_be_written_into_and_leaves_no_file(tmp_path, monkeypatch):
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    values = np.arange(5.0)
    columns = {"place": Located(np.arange(5), values), "name": pa.array(["a", None, "b", "c", "d"])[1:], "none": None}
    found = held.held(columns, held.IN_MEMORY + 1)
    assert (found["name"].equals(columns["name"]), found["none"], type(found["place"])) == (True, None, Located)
    assert (found["place"].weight == values).all()
    with pytest.raises(ValueError, match="read-only"):
        found["place"].weight[0] = 1.0
    assert list(tmp_path.iterdir()) == []
    held.let_go()
    assert found["place"].vertex.tolist() == [0, 1, 2, 3, 4]


@pytest.mark.parametrize("seed", range(30))
def test_texts_one_behind_the_other(seed, monkeypatch):
    random = Random(seed)
    monkeypatch.setattr(held, "IN_MEMORY", 2)
    monkeypatch.setattr(held, "_IN_PLACE", 0)
    words = ["", "ñ", "J-7", None]
    lengths = [random.randint(0, 9) for _ in range(random.randint(2, 5))] + [3]
    parts = [pa.array(random.choices(words, k=many), pa.string()) for many in lengths]
    parts = [one.slice(random.randint(0, max(len(one) - 1, 0))) for one in parts]
    found = held.concatenated(parts, 10)
    found.validate(full=True)
    assert found.equals(pa.concat_arrays(parts))


def test_one_value_for_all_rows_takes_no_file():
    every = np.broadcast_to(np.nan, 10**9)
    assert held.held((every,), 10**9)[0] is every


def test_few_rows_stay_where_they_are():
    values = np.arange(3)
    assert held.held(values, 3) is values


@pytest.mark.parametrize("seed", range(20))
def test_rows_in_groups_are_all_rows_and_no_route_is_parted(seed, monkeypatch):
    random = np.random.default_rng(seed)
    monkeypatch.setattr(held, "IN_MEMORY", int(random.integers(1, 200)))
    monkeypatch.setattr(held, "AT_ONCE", int(random.integers(1, 40)))
    route = random.integers(0, 9, int(random.integers(1, 100)))
    rows = np.sort(random.choice(1000, len(route), replace=False))
    groups = list(held.in_groups(rows, route))
    assert sorted(np.concatenate(groups).tolist()) == rows.tolist()
    route_of = dict(zip(rows.tolist(), route.tolist(), strict=True))
    of = [{route_of[one] for one in group.tolist()} for group in groups]
    assert all(max(one) < min(other) for one, other in pairwise(of))
    assert all((np.diff(group) > 0).all() for group in groups)
    assert (held.in_blocks(lambda some: rows[some], len(rows)) == rows).all()


def test_a_temporary_folder_that_cannot_be_written_to_is_told(monkeypatch):
    def full(*_, **__):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("tempfile.TemporaryFile", full)
    told = r"columns of a large job cannot be kept in the temporary folder \(No space left on device\); make room there"
    with pytest.raises(OutputError, match=told):
        held.held(np.arange(3), held.IN_MEMORY + 1)


def test_a_log_that_breaks_off_while_it_is_read_is_told_as_that(tmp_path, monkeypatch):
    path = tmp_path / "log.csv"
    path.write_text("Station,Joint\n" + "0+20,1\n" * 100, "utf-8")

    def broken_off(*_):
        yield b"Station"
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(content, "_IN_MEMORY", 1)
    monkeypatch.setattr(content, "iter", broken_off, raising=False)
    with pytest.raises(InputFileError, match=r"log.csv: cannot be read \(Input/output error\); check the path"):
        read.read_table(path, fields=FIELDS)


def _log(random):
    """Write a log as a crew may, with quotation marks, rows too short or too long, blank rows, and odd letters."""
    end = random.choice(["\n", "\r\n", "\r"])
    between = random.choice([",", ";", "\t"])
    words = [
        "0+20",
        "J-7",
        "",
        " ok ",
        "Calle Ñuñoa",
        '"say ""so"""',
        f'"two{between}in one"',
        "1.5",
        "–",
        "é",
        '"open',
    ]
    rows = [between.join(["Station", "Joint", "Remarks"])]
    taken = words[: random.choice([4, 8, 11])]
    rows += [
        between.join(random.choices(taken, k=random.choice([3] * 8 + [1, 2, 5]))) for _ in range(random.randint(1, 30))
    ]
    text = end.join(rows) + random.choice(["", end])
    if random.random() < 0.1:
        text = text.replace("J-7", '"two\nlines"', 1)
    octets = text.encode(random.choice(["utf-8", "utf-8-sig", "utf-16", "cp1252"]), "replace")
    return octets.replace(b"ok", b"o\0", 1) if random.random() < 0.05 else octets


@pytest.mark.parametrize("encoding", [None, "utf-8", "cp1252", "shift_jis", "no such"])
def test_a_text_read_in_blocks_is_the_same_text(tmp_path, monkeypatch, encoding):
    random, told = Random(str(encoding)), set()
    for number in range(150):
        path = tmp_path / f"{number}.csv"
        path.write_bytes(_log(random))

        def found(path=path):
            try:
                table = read.read_table(path, fields=FIELDS, encoding=encoding)
            except AsbuiltError as error:
                return str(error)
            return (table.data.to_pydict(), table.row.tolist(), table.broken, table.notes, table.sha256)

        whole = found()
        with monkeypatch.context() as small:
            small.setattr(held, "IN_MEMORY", 2)
            small.setattr(content, "_IN_MEMORY", 1)
            small.setattr(content, "_BLOCK", random.randint(1, 40))
            assert found() == whole, path.read_bytes()
        told.add(isinstance(whole, str))
    assert told == ({True} if encoding == "no such" else {True, False})


def test_threads_hold_columns_while_others_look_at_what_is_held(monkeypatch):
    monkeypatch.setattr(held, "IN_MEMORY", 0)
    interval = sys.getswitchinterval()

    def hold(number):
        return [held.held(np.full(9, number), 9) for _ in range(80)]

    sys.setswitchinterval(1e-6)
    try:
        with ThreadPoolExecutor(4) as several:
            found = list(several.map(hold, range(6)))
    finally:
        sys.setswitchinterval(interval)
    assert [set(np.concatenate(one).tolist()) for one in found] == [{number} for number in range(6)]
