"""Jobs with one thing spoilt, and texts that no crew would write: what readers of text and of files must survive.

Each case comes from a `random.Random`, so a seed names it: a few in the suite, as many as wanted in scripts/abuse.py.
"""

import csv
import io
import json
import math
import shutil
import sqlite3
import tomllib
import zipfile
from contextlib import closing, suppress
from pathlib import Path
from random import Random

import pyarrow as pa
import whole_jobs

from asbuilt.errors import AsbuiltError
from asbuilt.inputs import header_units, headers, landxml, stations, values
from asbuilt.job import Job, load_job
from asbuilt.line import station_text, stationing
from asbuilt.register import places

SAMPLE = Path(__file__).resolve().parents[1] / "sample_gis"
NUMBERS = (0, -0.0, -1, 1e-320, 1e-12, 0.1, 1, 4, 7, 1e6, 1e9, 1e15, 1e308, -1e308, float("nan"), float("inf"),
           2**31, 2**63, 2**64, 10**400, -(10**400))  # fmt: skip
TEXTS = (
    "", " ", "\t", "\0", "a\0b", "\x1b[2J", "N" * 300, "N" * 140_000, "..", "../..", ".", "~", "C:\\x", "\\\\x\\y",
    "nul", "/dev/null", "/vsimem/x", "/vsicurl/http://127.0.0.1:1/x.gpkg", "http://127.0.0.1:1/x", "http://[",
    "EPSG:999999", "EPSG:4978", "EPSG:5703", "+proj=geos +h=1", "rot13", "undefined", "utf-16", "utf-8\0", "[/x]",
    "$x^{$", "<b>&amp;", "9\n.\n", "-2", "450", "450 1/2",
    "é\u0301", "\ufeff", "\u202e", "\ud7ff", "\U0010ffff", "=1+1", "%s", "{0}", "'", '"', ";", "--", "nan", "inf",
    "1e308", "1e-320", "9" * 400, "9" * 5000, "11 1/0", "1/0", "1/" + "3" * 400, "1+00" * 100, "0+00", "-0+00.00",
    "1 at 0+20.00", "a\tb", "a\nb", "fid", "*", "?", "(", "[", "(?:" * 50, "١٢", "１２", "²", "1_000", "0x10", "+", "-",
)  # fmt: skip
"""Names, paths, patterns and numbers written as text that were found to be trouble somewhere."""
EXTREMES = (*NUMBERS, *TEXTS, True, [], {}, [[]], ["", ""], "0001-01-01", "9999-12-31")
_PIECES = (
    *"0123456789+-.,/ '\"°%eEx#()[]<>:;|\t\n\r\\_=", "12+34.56", "1 1/2", "1/0", "DN", "mm", "in", "ft", "BK", "AH",
    "EQ", "RT", "LT", "Feb", "2026", "-04-", "T", "PM", "nan", "inf", "1e308", "9" * 40, "l2+00", "é", "\0", "\u202e",
    "²", "١", "′", "½", "\ud800", "at", "C", "F", "deg", "[[", "]]", "{", "}", "=", '"""', "null",
)  # fmt: skip


def text(random: Random) -> str:
    """Make a text of a few pieces, or one that was trouble before."""
    if random.random() < 0.15:
        return random.choice(TEXTS)
    return "".join(random.choice(_PIECES) for _ in range(random.randint(0, 9)))


def _finite(value) -> None:
    assert value is None or not isinstance(value, float) or math.isfinite(value), value


def _landxml(random, folder) -> None:
    spoilt = list(_ALIGNMENT)
    for _ in range(random.randint(1, 4)):
        at = random.randrange(len(spoilt))
        spoilt[at] = random.choice(("", random.choice(spoilt), text(random), spoilt[at] * 2))
    path = folder / "line.xml"
    path.write_bytes("".join(spoilt).encode("utf-8", "surrogatepass"))
    landxml.read_alignments(path)


def _toml(random, folder) -> None:
    lines = _JOB.splitlines()
    for _ in range(random.randint(1, 3)):
        at = random.randrange(len(lines))
        key = lines[at].partition("=")[0]
        lines[at] = random.choice((lines[at] + text(random), key + "=" + text(random), f"{key} = {toml(text(random))}"))
    path = folder / "job.toml"
    path.write_bytes("\n".join(lines).encode("utf-8", "surrogatepass"))
    load_job(path)


def _station_column(random, folder) -> None:
    written = pa.array([_storable(random) for _ in range(random.randint(1, 4))])
    apart, _ = stations.without_offsets(written)
    form = random.choice(("hundreds", "thousands", "decimal"))
    found = stationing.parse_stations(apart, form)
    assert len(found.value) == len(written)
    assert not any(math.isinf(one) for one in found.value)
    stationing.format_stations(found.value, form)


def _storable(random) -> str:
    return text(random).encode("utf-8", "replace").decode("utf-8")


def _header(random, folder) -> None:
    name = text(random)
    headers.normalised(name)
    header_units.unit_said(name, random.choice(("laid_length", "size", "gap_12", "station", "bolt_torque")))


def _reads(read):
    return lambda random, folder: _finite(read(random, text(random)))


PARSERS = {
    "numbers": lambda random, folder: values.numbers(pa.array([_storable(random)]), unit="ft"),
    "number": _reads(lambda random, one: values.number(
        one, unit=random.choice(("ft", "in", "mm", "deg", None)), decimal_comma=random.random() < 0.3)),
    "offset": _reads(lambda random, one: values.offset(one, unit="ft", decimal_comma=random.random() < 0.3)),
    "size": _reads(lambda random, one: values.nominal_size(one, unit=random.choice(("in", "mm")))),
    "temperature": _reads(lambda random, one: values.temperature_f(one, unit=random.choice("FC"))),
    "bend": _reads(lambda random, one: values.bend_angle(one)),
    "bend in words": _reads(lambda random, one: values.bend_angle_in(one)),
    "plane": _reads(lambda random, one: values.bend_plane(one)),
    "kind": _reads(lambda random, one: values.kind(one)),
    "yes or no": _reads(lambda random, one: values.yes_no(one)),
    "date": _reads(lambda random, one: values.date(one, order=random.choice(("mdy", "dmy", "ymd")))),
    "date order": lambda random, folder: values.date_order(pa.array([_storable(random)])),
    "stations": _station_column,
    "station of a key": lambda random, folder: _finite(station_text.parse_station(_storable(random), key="from")),
    "length": lambda random, folder: _finite(places.length(text(random), "ft", option="--within")[0]),
    "header": _header,
    "landxml": _landxml,
    "toml": _toml,
}  # fmt: skip
"""Readers of text: each gives an answer, or an error with its remedy."""


_OF_FILES = ("landxml", "toml")
_OF_TEXTS = tuple(name for name in PARSERS if name not in _OF_FILES)


def parse(random: Random, folder) -> str:
    """Hand one text to one reader; gives the reader's name, and asserts that it answers or refuses in words."""
    # Whole files take a hundred times as long as texts.
    name = random.choice(_OF_FILES if random.random() < 0.01 else _OF_TEXTS)
    with suppress(AsbuiltError):
        PARSERS[name](random, folder)
    return name


# A whole job with one thing spoilt.


def toml(value) -> str:
    """Write a value as TOML does."""
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, dict):
        return "{" + ", ".join(f"{toml(str(key))} = {toml(one)}" for key, one in value.items()) + "}"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(map(toml, value)) + "]"
    if isinstance(value, bool):
        return str(value).lower()
    return str(value)


def _keys(model, path=()):
    """List every key of a table of the job file, and of the tables in it."""
    for name, about in model.model_fields.items():
        key = (*path, about.alias or name)
        yield key
        inner = [one for one in _models(about.annotation) if one is not model]
        for one in inner:
            yield from _keys(one, key)


def _models(annotation):
    if hasattr(annotation, "model_fields"):
        return [annotation]
    return [one for part in getattr(annotation, "__args__", ()) for one in _models(part)]


KEYS = tuple(_keys(Job))


def _value(random):
    kind = random.random()
    if kind < 0.4:
        return random.choice(NUMBERS)
    if kind < 0.8:
        return random.choice(TEXTS)
    word, other, number = random.choice(TEXTS), random.choice(TEXTS), random.choice(NUMBERS)
    return random.choice(([], {}, True, ["", ""], [word], {word: other}, {word: number}, [number] * 2, [[]]))


def _spoil_key(random, job: Path, seed: int = 0) -> str:
    return _with_key(random, job, random.choice(KEYS), _value(random))


def _spoil_extreme(random, job: Path, seed: int) -> str:
    """Give a key an extreme: as many successive seeds as there are pairs of the two take each pair once."""
    return _with_key(random, job, KEYS[seed % len(KEYS)], EXTREMES[seed // len(KEYS) % len(EXTREMES)])


def _with_key(random, job: Path, key: tuple[str, ...], value) -> str:
    told = tomllib.loads(job.read_text("utf-8"))
    *tables, last = key
    at = told
    for name in tables:
        at = at.setdefault(name, {})
        at = at[random.randrange(len(at))] if isinstance(at, list) and at else at
    if not isinstance(at, dict):
        return "key"
    at[last] = value
    job.write_text("\n".join(f"{name} = {toml(one)}" for name, one in told.items()), "utf-8")
    return f"key {'.'.join(key)} = {value!r:.60}"


def _spoil_cells(random, job: Path, seed: int) -> str:
    path = random.choice(sorted(job.parent.glob("*.csv")) or [job])
    if path == job:
        return _spoil_key(random, job)
    rows = list(csv.reader(io.StringIO(path.read_text("utf-8", "replace"), newline="")))
    for _ in range(random.choice((1, 1, 3))):
        cells = random.choice(rows)
        if cells:
            cells[random.randrange(len(cells))] = random.choice((text(random), str(random.choice(NUMBERS[:-2]))))
    written = io.StringIO(newline="")
    csv.writer(written).writerows(rows)
    path.write_bytes(written.getvalue().encode("utf-8", "surrogatepass"))
    return f"cells of {path.name}"


def _spoilt_bytes(random, content: bytes) -> bytes:
    spoilt = bytearray(content)
    for _ in range(random.choice((1, 1, 2, 8, 60))):
        if not spoilt:
            break
        # Heads and directories tell the most: half of the damage goes there.
        at = random.randrange(min(len(spoilt), 2000) if random.random() < 0.5 else len(spoilt))
        how = random.random()
        if how < 0.6:
            spoilt[at] = random.randrange(256)
        elif how < 0.75:
            del spoilt[at : at + random.choice((1, 7, 4096))]
        elif how < 0.9:
            spoilt[at:at] = random.choice((b"\0", b"\xff", b"<", b"&a;", b'"', b"\n", b"9" * 400))
        else:
            del spoilt[at:]
    return bytes(spoilt)


def _spoil_bytes(random, job: Path, seed: int) -> str:
    path = random.choice(sorted(one for one in job.parent.iterdir() if one.is_file()))
    content = path.read_bytes()
    if zipfile.is_zipfile(path) and random.random() < 0.7:
        with zipfile.ZipFile(path) as book:
            parts = {one: book.read(one) for one in book.namelist()}
        part = random.choice(list(parts))
        parts[part] = _spoilt_bytes(random, parts[part])
        with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as book:
            for one, inner in parts.items():
                book.writestr(one, inner)
        return f"bytes of {path.name}, {part}"
    path.write_bytes(_spoilt_bytes(random, content))
    return f"bytes of {path.name}"


def _spoil_stored(random, job: Path, seed: int) -> str:
    path = job.parent / random.choice(("out.gpkg", "register.gpkg"))
    if random.random() < 0.5:
        path.write_bytes(_spoilt_bytes(random, path.read_bytes()))
        return f"bytes of {path.name}"
    with closing(sqlite3.connect(path)) as database, database:
        asked = "SELECT name FROM sqlite_master WHERE type = ? ORDER BY name"
        for (trigger,) in database.execute(asked, ["trigger"]).fetchall():
            database.execute(f'DROP TRIGGER "{trigger}"')
        table = random.choice([name for (name,) in database.execute(asked, ["table"]) if name != "sqlite_sequence"])
        column = random.choice([row[1] for row in database.execute(f'PRAGMA table_info("{table}")')])
        value = str(random.choice((*NUMBERS, *TEXTS))) if random.random() < 0.7 else None
        statement, values = random.choice((
            (f'DROP TABLE "{table}"', ()),
            (f'ALTER TABLE "{table}" DROP COLUMN "{column}"', ()),
            (f'DELETE FROM "{table}"', ()),
            (f'UPDATE OR IGNORE "{table}" SET "{column}" = ?', (value,)),
            (f'UPDATE OR IGNORE "{table}" SET "{column}" = ? WHERE rowid = 1', (value,)),
        ))  # fmt: skip
        # An index, or that it must not be null, holds some of them off.
        with suppress(sqlite3.Error):
            database.execute(statement, values)
    return f"{path.name}: {statement} {values!r:.60}"


SPOILS = {
    "keys": _spoil_key, "extremes": _spoil_extreme, "cells": _spoil_cells, "bytes": _spoil_bytes,
    "stored": _spoil_stored,
}  # fmt: skip


def whole(random, folder: Path, kind: str) -> None:
    """Make a whole job in a folder, or put the sample there; place and load it, too, where what is stored is spoilt."""
    if random.random() < 0.5:
        whole_jobs.make(random, folder)
    else:
        for one in SAMPLE.iterdir():
            if one.is_file() and one.suffix not in (".md", ".png"):
                shutil.copy(one, folder)
    if kind == "stored":
        job = random.choice(sorted(folder.glob("job*.toml")))
        if whole_jobs.run("place", job, "--out", folder / "out.gpkg", "--json")[0] == 2:
            for old in folder.iterdir():
                old.unlink() if old.is_file() else shutil.rmtree(old)
            whole(random, folder, kind)
            return
        assert whole_jobs.run("load", folder / "out.gpkg", "--into", folder / "register.gpkg", "--json")[0] == 0


def make(random, sound: Path, folder: Path, kind: str, seed: int) -> tuple[Path, str]:
    """Copy a whole job and spoil one thing in it; gives the job file, and what was spoilt."""
    shutil.copytree(sound, folder, dirs_exist_ok=True)
    job = random.choice(sorted(folder.glob("job*.toml")))
    return job, SPOILS[kind](random, job, seed)


def walk(random, job: Path, kind: str) -> str:
    """Take a spoilt job through a few commands; gives how far it went, and asserts that none fails or half-writes."""
    return _walk_stored(random, job.parent) if kind == "stored" else _walk(random, job)


def _walk(random, job: Path) -> str:
    placed = job.parent / "out.gpkg"
    status, told = whole_jobs.run("place", job, "--out", placed, "--json")
    if status == 2:
        assert not placed.exists()
        assert not list(job.parent.glob(".out*")), "an unfinished file is left"
        assert "Traceback" not in told
        assert len(told) < 50_000
        return "refused"
    assert told["records_read"] == told["inspections_placed"] + told["records_set_aside"]
    further = random.random()
    if further < 0.3:
        register = job.parent / "register.gpkg"
        status, told = whole_jobs.run("load", placed, "--into", register, "--by", "abuse", "--json")
        if status == 0:
            whole_jobs.run("find", register, "--joint", random.choice(TEXTS[5:]).replace("\0", ""), "--json")
    elif further < 0.4:
        whole_jobs.run("review", placed, "--out", job.parent / "review", "--json")
    return "placed"


def _walk_stored(random, folder: Path) -> str:
    """Ask all that reads what is stored; a register that a load refuses stays byte by byte as it was."""
    placed, register = folder / "out.gpkg", folder / "register.gpkg"
    ends = [
        whole_jobs.run("find", register, "--json")[0],
        whole_jobs.run("info", register, "--json")[0],
        whole_jobs.run("conflicts", register, "--all")[0],
        whole_jobs.run("load", placed, "--into", folder / "another.gpkg", "--json")[0],
        whole_jobs.run("compare", placed, placed, "--json")[0],
        whole_jobs.run("load", "--undo", "1", "--into", register, "--dry-run", "--json")[0],
    ]
    assert ends[3] == 0 or not (folder / "another.gpkg").exists()
    before = register.read_bytes()
    ends.append(whole_jobs.run("load", placed, "--into", register, "--json")[0])
    if ends[-1] == 2:
        assert register.read_bytes() == before, "a refused load left another register"
    if random.random() < 0.2:
        ends.append(whole_jobs.run("review", placed, "--out", folder / "review", "--json")[0])
    assert not [one for one in folder.iterdir() if one.name.endswith(("-wal", "-journal", "-shm"))]
    return "refused" if 2 in ends else "read"


_ALIGNMENT = tuple(
    piece + end
    for line in (SAMPLE / "alignment_foundry.xml").read_text("utf-8").splitlines()
    for *whole, last in [line.split(" ")]
    for piece, end in [*((one, " ") for one in whole), (last, "\n")]
)
_JOB = (SAMPLE / "job.toml").read_text("utf-8")
