"""Many rows at a time against few: into the register, and out of it in parts."""

import datetime as dt
import json
import sqlite3
import tempfile
import threading
from contextlib import closing
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import pyarrow as pa
import pytest
from loads_at_random import JOBS, drawn, load_all
from pyproj import CRS
from registers import contents, placed

from asbuilt import cli, held, stored, waiting
from asbuilt.errors import OutputError
from asbuilt.placed import read_placed
from asbuilt.register import (
    exchanged,
    geopackage_rows,
    geopackage_store,
    incoming,
    keeping,
    layout,
    postgis_rows,
    search,
    writing,
)
from asbuilt.register.incoming import digests, read_incoming
from asbuilt.register.loading import load
from asbuilt.register.opening import make_register, open_existing
from asbuilt.register.question import Question
from asbuilt.register.search import find
from asbuilt.register.store import listed
from asbuilt.register.undo import undo
from asbuilt.terminal import answers

HIDDEN = ("loaded_at", "undone_at", "made_at")
JOB = {"routes": ("A", "B"), "gauge": {3: "no"}, "remarks": {1: "wet"}, "date": {5: None}, "size": {2: "8"}}


def everything(path):
    """Give every cell of every table of a register in a file, its geometries, places in the index and widths."""
    with closing(sqlite3.connect(path)) as database:
        found = {}
        for table in layout.REGISTER_LAYERS:
            names = [name for _, name, *_ in database.execute(f"PRAGMA table_info({table})") if name not in HIDDEN]
            columns = ", ".join(f'"{name}"' for name in names)
            found[table] = database.execute(f"SELECT {columns} FROM {table} ORDER BY fid").fetchall()
        for table, about in layout.REGISTER_LAYERS.items():
            if about.geometry_type is not None:
                found[f"{table} index"] = database.execute(f"SELECT * FROM rtree_{table}_geom ORDER BY id").fetchall()
                assert database.execute(f"SELECT rtreecheck('rtree_{table}_geom')").fetchone() == ("ok",)
        found["widths"] = database.execute(
            "SELECT table_name, min_x, max_x, min_y, max_y FROM gpkg_contents ORDER BY table_name"
        ).fetchall()
        return found


@pytest.mark.parametrize("main", [None, "North"])
def test_rows_taken_from_the_file_as_a_whole_are_those_taken_one_by_one(folder, monkeypatch, main):
    first = placed(folder / "first.gpkg", "Contract 1", **JOB)
    second = placed(folder / "second.gpkg", "Contract 2", north=5000.0, **(JOB | {"routes": ("C", "D")}))
    corrected = placed(folder / "corrected.gpkg", "Contract 1", **(JOB | {"gauge": {}}))
    taken = []
    for whole in (True, False):
        if not whole:
            monkeypatch.setattr(geopackage_rows, "_successive", lambda numbers: False)
        for one in folder.glob("bulk.gpkg*"):
            one.unlink()
        register = str(folder / "bulk.gpkg")
        for job in (first, second, corrected):
            load(job, register, main=main, by="R. Vance")
        taken.append(everything(register))
    assert len(taken[0]["joints"]) == 24
    assert taken[0]["joints_earlier"]
    for table in taken[0]:
        assert taken[0][table] == taken[1][table], table


@pytest.fixture
def first_loads(folder, monkeypatch):
    """Give a function that loads into a new register, undoes that and loads again, and tells all that it holds then."""
    first = placed(folder / "first.gpkg", "Contract 1", **JOB)
    corrected = placed(folder / "corrected.gpkg", "Contract 1", **(JOB | {"gauge": {}}))

    def load_them(many):
        monkeypatch.setattr(geopackage_store, "MANY", many)
        for one in folder.glob("beside.gpkg*"):
            one.unlink()
        register = str(folder / "beside.gpkg")
        load(first, register, by="R. Vance")
        once = everything(register)
        undo(1, register, by="R. Vance")
        for job in (first, corrected):
            load(job, register, by="R. Vance")
        return once, everything(register)

    return load_them


def test_records_made_ready_beside_the_joints_are_those_put_in_behind_them(first_loads, monkeypatch):
    made = []
    taken_over = geopackage_store.GeoPackageStore._take_over

    def noted(*given):
        made.append(given[1:])
        taken_over(*given)

    monkeypatch.setattr(geopackage_store.GeoPackageStore, "_take_over", noted)
    behind = first_loads(1000)
    assert made == []
    beside = first_loads(1)
    # Into a table that holds no row, even where it held some before: numbers go on behind theirs.
    assert [(table, count) for table, _, count in made] == [("inspections", 12), ("inspections", 12)]
    assert [row[0] for row in beside[1]["inspections"]][:2] == [13, 14]
    assert beside == behind


def test_records_that_cannot_be_made_ready_beside_the_joints_come_behind_them(first_loads, monkeypatch):
    behind = first_loads(1000)
    filled = []

    def full(*given):
        filled.append(given)
        raise sqlite3.OperationalError("database or disk is full")

    monkeypatch.setattr(geopackage_rows, "_fill", full)
    assert first_loads(1) == behind
    assert len(filled) == 2


def few_at_a_time(monkeypatch, rows):
    """Let a load hold all columns in files, and read, digest and write so many rows at a time."""
    for of, name, value in (
        (held, "IN_MEMORY", 0), (held, "AT_ONCE", rows), (waiting, "IN_MEMORY", 0), (stored, "ROWS", rows),
        (incoming, "_ROWS", rows), (geopackage_store, "MANY", 1), (geopackage_store, "PART", rows),
        (keeping, "PART", rows), (exchanged, "AT_ONCE", rows), (exchanged, "_PAIRS", rows),
    ):  # fmt: skip
        monkeypatch.setattr(of, name, value)


@pytest.mark.parametrize("main", [None, "North"])
@pytest.mark.parametrize("rows", [1, 5])
def test_a_register_filled_some_rows_at_a_time_is_that_filled_at_once(folder, monkeypatch, rows, main):
    of_many = JOB | {"routes": ("A", "B", "East crossing")}
    first = placed(folder / "first.gpkg", "Contract 1", **of_many)
    second = placed(folder / "second.gpkg", "Contract 2", north=5000.0, **(JOB | {"routes": ("C", "D")}))
    corrected = placed(folder / "corrected.gpkg", "Contract 1", **(of_many | {"gauge": {}}))
    filled = []
    for name in ("at_once", "few"):
        register = str(folder / f"{name}-{rows}-{main}.gpkg")
        for job in (first, second, corrected):
            load(job, register, main=main, by="R. Vance")
        filled.append(everything(register))
        few_at_a_time(monkeypatch, rows)
    assert filled[0]["joints_earlier"]
    assert filled[1] == filled[0]


@pytest.mark.parametrize("seed", range(6))
def test_random_loads_some_rows_at_a_time_are_those_at_once(register, tmp_path, monkeypatch, seed):
    chance = np.random.default_rng(seed)
    jobs = [drawn(chance, tmp_path / f"{at}.gpkg", str(chance.choice(JOBS)), branch=at % 2 == 0) for at in range(4)]
    found = []
    for name in (str(tmp_path / "at_once.gpkg"), register):
        load_all(name, jobs)
        found.append(contents(name, *(table for table in layout.REGISTER_LAYERS if table != "register")))
        few_at_a_time(monkeypatch, 1 + seed)
    assert found[1] == found[0]


@pytest.mark.parametrize("seed", range(4))
def test_corrections_of_many_routes_looked_at_few_joints_at_a_time_are_those_at_once(
    register, tmp_path, monkeypatch, seed
):
    """Names of routes exchanged in the log, joints moved, left out and put in, of routes whose numbers are alike."""
    chance = np.random.default_rng(seed)
    rows = list(range(24))
    heat = {row: f"H{chance.integers(100, 999)}" for row in rows}
    other = heat | {row: heat[(row + 6) % 24] for row in rows[: 12 * (seed % 2)]} | {int(chance.integers(24)): "H1"}
    first = placed(tmp_path / "first.gpkg", routes=tuple("ABCD"), heat=heat)
    corrected = placed(
        tmp_path / "corrected.gpkg", routes=tuple("ABCD"), heat=other, gauge={7: "no"}, joint={20: "21A"},
        drop=[int(chance.integers(24))],
    )  # fmt: skip
    again = placed(tmp_path / "again.gpkg", "Survey", routes=tuple("ABCD"), date={3: None}, inspector="M. Sol")
    found = []
    for name in (str(tmp_path / "at_once.gpkg"), register):
        load_all(name, [first, corrected, again, first])
        found.append(contents(name, *(table for table in layout.REGISTER_LAYERS if table != "register")))
        few_at_a_time(monkeypatch, 1 + seed)
    assert found[1] == found[0]


def test_a_joint_is_not_held_against_all_findings_of_a_load(folder, tmp_path, monkeypatch):
    """300,000 joints of which 6,018 had findings were not loaded again in five minutes."""
    plans, rows = [], geopackage_store.GeoPackageStore.rows

    def explained(store, sql, **values):
        if "JOIN findings f ON f.joint_uid" in sql and "deflection-over" in sql:
            plans.extend(rows(store, f"EXPLAIN QUERY PLAN {sql}", **values))
        return rows(store, sql, **values)

    monkeypatch.setattr(geopackage_store.GeoPackageStore, "rows", explained)
    register = tmp_path / "register.gpkg"
    for name, inspector in (("Contract 1", "A"), ("Contract 2", "B"), ("Contract 1", "C")):
        load(placed(folder / f"{inspector}.gpkg", name, gauge={3: "no"}, inspector=inspector), register)
    assert plans
    assert not [step for *_, step in plans if "findings_load" in step]


def test_what_a_load_has_read_is_not_in_memory(folder, monkeypatch):
    few_at_a_time(monkeypatch, 2)
    job = read_incoming(read_placed(placed(folder / "first.gpkg", "Contract 1", **JOB)), CRS("EPSG:6418"))
    files = [of for _, of in held._mapped_now()]
    octets = {
        f"{layer}.{name}": one.address for layer, table in job.tables.items()
        for name, column in zip(table.column_names, table.columns, strict=True) for chunk in column.chunks
        for one in chunk.buffers() if one is not None and one.size
    }  # fmt: skip
    octets |= {name: value.ctypes.data for name, value in vars(job).items() if isinstance(value, np.ndarray)}
    octets |= {f"number of {name}": value.ctypes.data for name, value in job.fids.items() if len(value)}
    assert len(octets) > 90
    assert [name for name, one in octets.items() if not any(one in of for of in files)] == []


@pytest.mark.parametrize("late", [False, True])
@pytest.mark.parametrize("error", [KeyboardInterrupt, OutputError])
def test_a_load_cut_off_while_records_are_made_ready_leaves_nothing(folder, tmp_path, monkeypatch, error, late):
    register = folder / f"cut-{error.__name__}-{late}.gpkg"
    first = placed(folder / "first.gpkg", "Contract 1", **JOB)
    make_register(str(register), "EPSG:6418").close()
    before = register.read_bytes()
    monkeypatch.setattr(geopackage_store, "MANY", 1)
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    seen, ready, fill = [], threading.Event(), geopackage_rows._fill

    def filled(*given):
        fill(*given)
        ready.set()

    monkeypatch.setattr(geopackage_rows, "_fill", filled)

    def cut_off(*_):
        assert not late or ready.wait(60)
        seen.extend(tmp_path.iterdir())
        raise error

    monkeypatch.setattr(writing, "_write_joints", cut_off)
    with pytest.raises(error):
        load(first, str(register))
    assert len(seen) == 1
    assert list(tmp_path.iterdir()) == []
    assert register.read_bytes() == before
    monkeypatch.undo()
    assert load(first, str(register)).joints["new"] == 12


ENDS = [-(2**63), 2**63 - 1, 0, -1, 10**18]


@pytest.mark.parametrize(
    "values",
    [
        np.array(ENDS), pa.array(["0a", "é", "zz", "  ", "\t\n"]), [b"\0\xff", b"12", b"''", b"-1", b"\0\0"],
        pa.array(["cut", *map(str, range(10, 15)), "off"])[1:6],
        np.array([0.0, 0.1, -1234.5678, 12345.67, 9e11 + 0.25]),
    ],
)  # fmt: skip
def test_values_of_one_length_go_to_sqlite_in_one_piece_as_they_are(values):
    sql, piece = geopackage_rows._in_one_piece("added", values)
    with closing(sqlite3.connect(":memory:")) as database:
        database.execute("CREATE TABLE p (fid INTEGER PRIMARY KEY)")
        database.executemany("INSERT INTO p VALUES (?)", [(fid,) for fid in range(3, 8)])
        found = database.execute(f"SELECT {sql} FROM p ORDER BY fid", {"added": piece, "first_fid": 3}).fetchall()
    assert [one for (one,) in found] == listed(values)


@pytest.mark.parametrize(
    "values",
    [
        np.array([0.5, 1.00001]), np.array([0.5, -0.0]), np.array([0.5, np.nan]), np.array([0.5, np.inf]),
        np.array([0.5, 1e12]), ["A", "B1"], ["A", None], [b"1", None], ["", ""], pa.array([1.5, 2.5]),
    ],
)  # fmt: skip
def test_values_that_are_not_of_one_length_do_not_go_in_one_piece(values):
    assert geopackage_rows._in_one_piece("added", values) == (None, None)


def test_a_text_has_one_digest_whether_or_not_it_comes_again():
    unlike = [f"row {number}" for number in range(1200)]
    alone = digests(pa.table({"original": unlike}))
    assert len(set(alone.tolist())) == 1200
    # Begins with texts that are not alike, so that none is looked for among the others.
    assert digests(pa.table({"original": [*unlike, "row 7"]}))[-1] == alone[7]
    assert digests(pa.table({"original": ["row 7", *unlike]})).tolist() == [alone[7], *alone]
    assert digests(pa.table({"original": [*unlike, None]})).tolist()[:-1] == alone.tolist()


ODD: dict[str, list[Any]] = {
    "text": ['Söderlund, "Å"\n\t\\N', "", None, "🛠", "x" * 70_000],
    "bigint": [-(2**63), 2**63 - 1, None, 0, -1],
    "double precision": [-0.0, 5e-324, None, float("inf"), 6_700_000.123456789],
    "date": [dt.date(1, 1, 1), dt.date(9999, 12, 31), None, dt.date(1999, 12, 31), dt.date(2024, 2, 29)],
    "bytea": [b"", b"\x00\xff", None, b"\\", b"\xff\xff\xff\xff"],
}
"""Values at the ends of what a column can hold, by the server's kind of column."""


@pytest.mark.parametrize("rows", [slice(0, 5), slice(1, 4), slice(2, 3), slice(0, 0)])
@pytest.mark.parametrize("register", ["postgis"], indirect=True)
def test_a_server_takes_in_each_value_as_it_is(register, rows):
    import psycopg

    kinds = (pa.string(), pa.int64(), pa.float64(), pa.date32(), pa.binary())
    arrays = [pa.array(values, kind) for values, kind in zip(ODD.values(), kinds, strict=True)]
    # Cut out of a longer batch, as rows of a table are.
    batch = pa.record_batch(arrays, names=["a", "b", "c", "d", "e"])[rows]
    with psycopg.connect(register) as connection:
        columns = ", ".join(f"{name} {kind}" for name, kind in zip("abcde", ODD, strict=True))
        connection.execute(f"CREATE TEMP TABLE odd ({columns})")
        with connection.cursor().copy("COPY odd FROM STDIN (FORMAT binary)") as copy:
            for part in (postgis_rows.HEAD, postgis_rows.written(batch), postgis_rows.TAIL):
                copy.write(part)
        found = connection.execute("SELECT a, b, c, d, e FROM odd").fetchall()
    assert repr(found) == repr(list(zip(*(values[rows] for values in ODD.values()), strict=True)))  # -0.0 is not 0.0


@pytest.mark.parametrize("register", ["postgis"], indirect=True)
def test_the_first_load_leaves_every_key_and_index_as_it_found_them(register, folder):
    def of():
        store = open_existing(register)
        try:
            keys = store.rows(
                "SELECT CAST(CAST(conrelid AS regclass) AS text), conname, pg_get_constraintdef(oid) "
                "FROM pg_constraint WHERE connamespace = CAST('asbuilt' AS regnamespace) ORDER BY 1, 2"
            )
            indexes = store.rows("SELECT indexname, indexdef FROM pg_indexes WHERE schemaname = 'asbuilt' ORDER BY 1")
            return keys, indexes
        finally:
            store.close()

    make_register(register, "EPSG:6418").close()
    before = of()
    assert {name for _, name, _ in before[0]} >= {"joints_pkey", "joints_uid", "inspections_joint_uid_fkey"}
    load(placed(folder / "first.gpkg", "Contract 1", **JOB), register)
    assert of() == before
    load(placed(folder / "second.gpkg", "Contract 2", north=5000.0, **(JOB | {"routes": ("C",)})), register)
    assert of() == before


def test_an_answer_taken_in_parts_is_that_taken_at_once(register, folder, monkeypatch, capsys):
    path = placed(folder / "of_parts.gpkg", "Contract 1", routes=("A", "B"), gauge={3: "no"}, remarks={1: "wet"})
    load(path, register)
    load(placed(folder / "of_leak.gpkg", "Leak 2031", joints=2, date="2031-05-06"), register)
    written = []
    for size in (5000, 5):
        monkeypatch.setattr(search, "PART", size)
        for suffix in ("csv", "geojson", "xlsx", "gpkg"):
            (folder / f"parts.{suffix}").unlink(missing_ok=True)
            assert cli.run(["find", register, "--out", str(folder / f"parts.{suffix}")]) == 0
        assert "12 joints" in capsys.readouterr().out
        points = gpd.read_file(folder / "parts.gpkg", layer="joints").drop(columns="geometry")
        written.append(((folder / "parts.csv").read_bytes(), (folder / "parts.geojson").read_bytes(), points))
    assert written[0][:2] == written[1][:2]
    pd.testing.assert_frame_equal(written[0][2], written[1][2])
    rows = pd.read_csv(folder / "parts.csv", encoding="utf-8-sig")
    assert sorted(set(rows["rank"])) == list(range(1, 13))
    assert len(rows) == 14  # the leak's records of two joints stand beside their first ones
    assert len(json.loads((folder / "parts.geojson").read_text())["features"]) == 12


@pytest.mark.parametrize("register", ["geopackage"], indirect=True)
def test_a_terminal_gets_a_page_and_the_count(register, folder, monkeypatch, capsys):
    load(placed(folder / "of_page.gpkg", "Contract 1", routes=("A", "B")), register)
    monkeypatch.setattr(answers, "PAGE", 5)
    assert cli.run(["find", register]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "12 joints; the first 5 are shown, and --out and --json give all" in said
    assert ("A 5" in said, "A 6" in said) == (True, False)
    assert cli.run(["find", register, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["count"], len(told["joints"])) == (12, 12)
    few = find(register, Question(), most=4)
    assert ([one["joint"] for one in few.joints], few.count) == (["1", "2", "3", "4"], 12)
