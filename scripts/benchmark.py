"""Time and memory of the main job, as ratios within one run on one machine.

    python scripts/benchmark.py                  # everything; --joints 100000 for a smaller one
    python scripts/benchmark.py --postgis URL    # also placement and turns in SQL on a PostGIS server
    python scripts/benchmark.py --larger 3000000 # also time and memory of larger jobs
    python scripts/benchmark.py --keep           # the run is kept in scripts/benchmarks/: see kept_runs.py

What is compared: the whole job (`asbuilt place`) against bare writing (read the same CSV with Arrow, write the same
finished tables with Arrow, nothing else), where each joint is shot and where every fifth is, with errors; against
a plain GeoPandas script that only places joints and computes turns in a loop; a small job, and a question to a small
register, against importing geopandas; many small jobs in one go, by one worker and by two; loading the whole job into
a new register, and its review of one route, against placing it; and questions to that register, which
benchmark_register.py and benchmark_review.py look at further. Each run is a process of its own; of the whole job and
of bare writing the median of three counts, by turns. Memory is that of another run.
"""

from __future__ import annotations

import argparse
import csv
import json
import math
import os
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path
from typing import Any, NamedTuple

import kept_runs
import numpy as np
import psutil

COLUMNS = (
    "Route", "Joint", "Station", "Size", "Joint type", "Laid length", "Date", "Inspector", "Groove clean",
    "Gasket temp", "Lube", "Home to mark", "Gauge OK", "Gap 12", "Gap 3", "Gap 6", "Gap 9", "Crew", "Remarks",
)  # fmt: skip


def make_job(folder: Path, joints: int, routes: int, apart: int = 1) -> Path:
    """Write a job of so many joints on so many routes: a log of 19 columns in CSV, with gaps.

    Shots lie at all joints, or at joints so many `apart`, and then have errors, which the job states.
    """
    import geopandas as gpd
    import shapely

    rng = np.random.default_rng(1)
    each = joints // routes
    turn = np.radians(rng.normal(0, 1.2, (routes, each)))
    azimuth = np.cumsum(turn, axis=1)
    # A thousand routes side by side, and the next thousand north of them: all in the area of the coordinate system.
    row, column = np.divmod(np.arange(routes), 1000)
    east = (6_700_000 + 500.0 * column)[:, None] + np.cumsum(20 * np.sin(azimuth), axis=1)
    north = (2_000_000 + 25_000.0 * row)[:, None] + np.cumsum(20 * np.cos(azimuth), axis=1)
    up = 50 + np.cumsum(rng.normal(0, 0.02, (routes, each)), axis=1)
    shots = np.stack([east, north, up], axis=2)
    error = np.array((0.03, 0.03, 0.05))
    if apart > 1:
        at = np.unique(np.append(np.arange(0, each, apart), each - 1))
        shots = shots[:, at] + np.random.default_rng(2).normal(0, error, (routes, len(at), 3))
    lines = shapely.linestrings(shots.reshape(-1, 3), indices=np.repeat(np.arange(routes), shots.shape[1]))
    names = [f"R{number:04d}" for number in range(routes)]
    gpd.GeoDataFrame({"route_id": names}, geometry=lines, crs="EPSG:6418").to_file(folder / "line.gpkg", layer="mains")
    days = [f"2026-{month:02d}-{day:02d}" for month in (3, 4, 5, 6) for day in range(1, 28)]
    with (folder / "log.csv").open("w", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(COLUMNS)
        for number, name in enumerate(names):
            along = np.hypot(np.diff(east[number]), np.diff(north[number]))
            stations = np.floor(100 * np.concatenate([[0.0], np.cumsum(along)])) / 100
            failed = rng.random(each) < 0.02
            gaps = [tuple(f"{gap:.2f}" for gap in row) for row in (2 + rng.normal(0, 0.05, (each, 4))).tolist()]
            for joint, station in enumerate(stations):
                writer.writerow(
                    (
                        name, f"J-{joint + 1}", station_text(station), "12", "push-on", "20.0",
                        days[joint * len(days) // each], f"Inspector {joint % 7}", "Y", str(45 + joint % 30), "yes",
                        "OK", "N" if failed[joint] else "OK", *gaps[joint], f"Crew {number % 5}",
                        "" if joint % 9 else "dry trench",
                    )
                )  # fmt: skip
    job = folder / "job.toml"
    stated = f"sigma_horizontal = {error[0]}\nsigma_vertical = {error[2]}\n" if apart > 1 else ""
    job.write_text(
        f'name = "benchmark"\n[centerline]\npath = "line.gpkg"\nroute = "route_id"\nstarts = "as-drawn"\n{stated}'
        '[records]\npath = "log.csv"\nstation_unit = "us-ft"\nlaying_length = 20.0\n[limits]\ntable = "awwa-c600"\n'
    )
    return job


TURNS = 3
"""Runs of the main job and of bare writing, of which the median counts."""


def station_text(station: float) -> str:
    """Write a station in full stations of 100."""
    hundredths = round(100 * station)
    return f"{hundredths // 10_000}+{hundredths % 10_000 // 100:02d}.{hundredths % 100:02d}"


def bare(folder: Path) -> None:
    """Read the CSV and write the job's finished tables, all with Arrow: the least that such a job can cost.

    The tables come from an earlier run and wait in memory; only reading the CSV and writing is timed.
    """
    import pyarrow.csv
    from pyogrio.raw import read_arrow, write_arrow

    finished = folder / "joints.gpkg"
    import fiona

    layers = []
    for layer in fiona.listlayers(finished):
        if layer == "layer_styles":
            continue
        meta, table = read_arrow(finished, layer=layer)
        layers.append((layer, meta, table))
    copy = folder / "bare.gpkg"
    copy.unlink(missing_ok=True)
    begun, worked = time.perf_counter(), time.process_time()
    pyarrow.csv.read_csv(folder / "log.csv")
    for number, (layer, meta, table) in enumerate(layers):
        geometry = meta["geometry_type"]
        if geometry is not None:
            name = meta["geometry_name"] or "wkb_geometry"
            table = table.rename_columns({name: "geom"})
            options = {"geometry_name": "geom", "geometry_type": geometry, "crs": meta["crs"]}
        else:
            options = {}
        write_arrow(table, copy, layer=layer, driver="GPKG", append=number > 0, **options)
    print(json.dumps({"seconds": time.perf_counter() - begun, "processor": time.process_time() - worked}))


def loop(folder: Path, by_rows: bool) -> None:
    """Place joints and compute turns as a plain GeoPandas script would, one joint after another.

    With `by_rows`, the log is gone through by `iterrows`, as such scripts are mostly written; without, by its columns,
    which is the fastest such loop. Nothing is checked, joined to inspections or written.
    """
    import geopandas as gpd
    import pandas as pd
    import shapely

    begun, worked = time.perf_counter(), time.process_time()
    lines = gpd.read_file(folder / "line.gpkg").set_index("route_id").geometry
    log = pd.read_csv(folder / "log.csv")
    points = []
    pairs: Iterable[tuple[Any, Any]] = ((row["Route"], row["Station"]) for _, row in log.iterrows())
    if not by_rows:
        pairs = zip(log["Route"], log["Station"], strict=True)
    for route, station in pairs:
        whole, rest = str(station).split("+")
        points.append(lines[route].interpolate(int(whole) * 100 + float(rest)))
    placed = gpd.GeoDataFrame(log, geometry=points, crs=lines.crs)
    turns = [math.nan] * len(placed)
    for _, route in placed.groupby("Route", sort=False):
        shapes, rows = list(route.geometry), list(route.index)
        for at in range(1, len(shapes) - 1):
            one = [b - a for a, b in zip(shapes[at - 1].coords[0], shapes[at].coords[0], strict=True)]
            two = [b - a for a, b in zip(shapes[at].coords[0], shapes[at + 1].coords[0], strict=True)]
            cosine = sum(p * q for p, q in zip(one, two, strict=True)) / (math.hypot(*one) * math.hypot(*two))
            turns[rows[at]] = math.degrees(math.acos(max(-1.0, min(1.0, cosine))))
    placed["turn"] = turns
    assert shapely.has_z(placed.geometry.iloc[0])
    print(json.dumps({"seconds": time.perf_counter() - begun, "processor": time.process_time() - worked}))


def postgis(folder: Path, url: str) -> None:
    """Place joints and compute turns in SQL, with the lines and the log already in the server's tables."""
    import psycopg
    from pyogrio import read_dataframe

    lines = read_dataframe(folder / "line.gpkg")
    with psycopg.connect(url) as connection, connection.cursor() as cursor:
        cursor.execute("CREATE EXTENSION IF NOT EXISTS postgis")
        cursor.execute("CREATE TEMP TABLE line (route text PRIMARY KEY, geom geometry(LineStringZ, 6418))")
        with cursor.copy("COPY line FROM STDIN") as copy:
            for name, shape in zip(lines["route_id"], lines.geometry, strict=True):
                copy.write_row((name, "SRID=6418;" + shape.wkb_hex))
        cursor.execute("CREATE TEMP TABLE log (route text, joint text, station text)")
        with (folder / "log.csv").open(newline="") as file, cursor.copy("COPY log FROM STDIN") as copy:
            rows = csv.reader(file)
            next(rows)
            for row in rows:
                copy.write_row(row[:3])
        cursor.execute("ANALYZE line; ANALYZE log")
        begun, worked = time.perf_counter(), time.process_time()
        cursor.execute(
            """
            CREATE TEMP TABLE joint AS
            WITH measured AS (
                SELECT route, joint, split_part(station, '+', 1)::float8 * 100
                    + split_part(station, '+', 2)::float8 AS distance FROM log),
            placed AS (
                SELECT m.*, ST_LineInterpolatePoint(geom, least(1, distance / ST_Length(geom))) AS point
                FROM measured m JOIN line USING (route)),
            steps AS (
                SELECT *, ST_X(point) - ST_X(lag(point) OVER w) AS e1, ST_Y(point) - ST_Y(lag(point) OVER w) AS n1,
                    ST_Z(point) - ST_Z(lag(point) OVER w) AS u1, ST_X(lead(point) OVER w) - ST_X(point) AS e2,
                    ST_Y(lead(point) OVER w) - ST_Y(point) AS n2, ST_Z(lead(point) OVER w) - ST_Z(point) AS u2
                FROM placed WINDOW w AS (PARTITION BY route ORDER BY distance))
            SELECT route, joint, distance, point, degrees(atan2(
                sqrt((n1*u2 - u1*n2)^2 + (u1*e2 - e1*u2)^2 + (e1*n2 - n1*e2)^2), e1*e2 + n1*n2 + u1*u2)) AS turn
            FROM steps
            """
        )
        print(json.dumps({"seconds": time.perf_counter() - begun, "processor": time.process_time() - worked}))
        connection.rollback()


class Time(NamedTuple):
    """How long something took, in seconds."""

    clock: float
    processor: float
    """User and system time."""


class Row(NamedTuple):
    """What is measured, what it is held against, and the most that their ratio is to be."""

    name: str
    one: Time
    other: Time
    goal: float


class Memory(NamedTuple):
    """What processes take of memory together, GB; what they share counts once (proportional set size)."""

    own: float
    """What nothing but they can free."""
    mapped: float
    """What they have mapped of files besides: the system drops it where it needs the room."""

    @property
    def total(self) -> float:
        return self.own + self.mapped

    @classmethod
    def now(cls, processes: Iterable[psutil.Process]) -> Memory:
        found: Counter[str] = Counter()
        for one in processes:
            for line in Path(f"/proc/{one.pid}/smaps_rollup").read_text().splitlines():
                name, _, rest = line.partition(":")
                if name.startswith("Pss_"):
                    found[name] += int(rest.split()[0])
        return cls((found["Pss_Anon"] + found["Pss_Shmem"]) * 1024 / 1e9, found["Pss_File"] * 1024 / 1e9)


def memory_of(process: subprocess.Popen[str], seen: list[Memory]) -> None:
    """Look at the memory of a process and of all that it starts, as long as it runs.

    It is looked at five times a second: shorter peaks are missed.
    """
    first = psutil.Process(process.pid)
    while process.poll() is None:
        with suppress(psutil.Error, OSError):
            seen.append(Memory.now((first, *first.children(recursive=True))))
        time.sleep(0.2)


def timed(command: list[str], *, memory: bool = False) -> tuple[Time, list[Memory], str]:
    """Run a process; give its time, its memory from moment to moment if that is asked for, and what it printed.

    Columns of a large job lie in files of the temporary folder: where memory is looked at, that is one on a disk.
    """
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    begun = time.perf_counter()
    # Programs are compared as installed ones run: with their bytecode kept.
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    if memory:
        environment["TMPDIR"] = "/var/tmp"
    process = subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=environment, encoding="utf-8"
    )
    seen: list[Memory] = []
    watch = threading.Thread(target=memory_of, args=(process, seen))
    if memory:
        watch.start()
    printed, said = process.communicate()
    seconds = time.perf_counter() - begun
    if memory:
        watch.join()
    if process.returncode:
        raise SystemExit(f"{' '.join(command)} failed:\n{said}")
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    processor = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return Time(seconds, processor), seen, printed


def stage(name: str, folder: Path, *more: str) -> Time:
    """Run one of this script's stages in a process of its own; give the time that it reports."""
    _, _, printed = timed([sys.executable, __file__, "--stage", name, "--folder", str(folder), *more])
    told = json.loads(printed)
    return Time(float(told["seconds"]), float(told["processor"]))


def place(job: Path) -> list[str]:
    """Give the command that places a job."""
    return [sys.executable, "-m", "asbuilt", "place", str(job)]


def loading(placed: Path, register: Path) -> list[str]:
    """Give the command that loads a placed file into a register."""
    return [sys.executable, "-m", "asbuilt", "load", str(placed), "--into", str(register)]


def median(times: Iterable[Time]) -> Time:
    """Give the median time of several runs, by the clock and of a processor."""
    return Time(*map(statistics.median, zip(*times, strict=True)))


def against_bare(folder: Path) -> tuple[Time, Time]:
    """Give the median time of placing a job and of bare writing, by turns."""
    turns = [(timed(place(folder / "job.toml"))[0], stage("bare", folder)) for _ in range(TURNS)]
    return median(one for one, _ in turns), median(other for _, other in turns)


def by_turns(commands: dict[str, list[str]], turns: int) -> dict[str, Time]:
    """Give the least times of several runs of each command, run one after the other in each turn."""
    found: dict[str, list[Time]] = {name: [] for name in commands}
    for _ in range(turns):
        for name, command in commands.items():
            found[name].append(timed(command)[0])
    return {name: Time(*map(min, zip(*some, strict=True))) for name, some in found.items()}


def starts(folder: Path, turns: int) -> list[Row]:
    """Hold the start of commands, a small job and a question to a small register against importing GeoPandas."""
    asbuilt = [sys.executable, "-m", "asbuilt"]
    job, register = str(make_job(folder, 600, 3)), str(folder / "register.gpkg")
    timed([*asbuilt, "place", job])
    timed(loading(folder / "joints.gpkg", folder / "register.gpkg"))
    commands = {
        "import geopandas": [sys.executable, "-c", "import geopandas"],
        "asbuilt --help": [*asbuilt, "--help"],
        "600 joints": [*asbuilt, "place", job],
        "find by stations among 600 joints": [
            *asbuilt, "find", register, "--route", "R0001", "--from", "12+00", "--to", "13+00",
        ],
    }  # fmt: skip
    found = by_turns(commands, turns)
    goals = {"asbuilt --help": 1 / 3, "600 joints": 1.5, "find by stations among 600 joints": 0.53}
    return [
        Row(f"{name} / import geopandas", found[name], found["import geopandas"], goal) for name, goal in goals.items()
    ]


def afterwards(folder: Path, whole: Time, geopandas: Time) -> list[Row]:
    """Hold what is done with a placed job against placing it: loaded, asked for, and one of its routes reviewed."""
    asbuilt = [sys.executable, "-m", "asbuilt"]
    placed, register = folder / "joints.gpkg", folder / "register.gpkg"
    stations = "--route", "R0001", "--from", "12+00", "--to", "13+00"
    loaded, again = (timed(loading(placed, register))[0] for _ in range(2))
    find = median(timed([*asbuilt, "find", str(register), *stations])[0] for _ in range(TURNS))
    near = [*asbuilt, "find", str(register), "--near", "6700500,2000500", "--within", "100ft"]
    nearest = median(timed(near)[0] for _ in range(TURNS))
    review = timed([*asbuilt, "review", str(placed), "--out", str(folder / "review"), "--route", "R0001"])[0]
    return [
        Row("load into a new register / whole job", loaded, whole, math.nan),
        Row("load of the same again / load into a new register", again, loaded, math.nan),
        Row("find by stations in that register / import geopandas", find, geopandas, math.nan),
        Row("find near a place in that register / import geopandas", nearest, geopandas, math.nan),
        Row("review of one of its routes / whole job", review, whole, math.nan),
    ]


def many_jobs(folder: Path, jobs: int) -> list[Row]:
    """Measure jobs of 500 joints: many in one go on two processes, their start in it, and one after others."""
    paths = []
    for number in range(jobs):
        own = folder / f"{number:04d}"
        own.mkdir()
        job = make_job(own, 500, 2)
        job.write_text(job.read_text().replace('"benchmark"', f'"benchmark {number}"', 1))
        paths.append(str(job))
    second = Time(1.0, 1.0)

    def command(some: list[str], workers: int) -> list[str]:
        return [sys.executable, "-m", "asbuilt", "place", *some, "--progress", "none", "--workers", str(workers)]

    # What its processes take of a processor is not told to who started them.
    one, two = (Time(timed(command(paths, workers))[0].clock / jobs, math.nan) for workers in (1, 2))
    # What the machine has of two processors: two commands that share nothing, half of the jobs each.
    begun = time.perf_counter()
    halves = [
        subprocess.Popen(command(paths[half::2], 1), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        for half in (0, 1)
    ]
    for each in halves:
        each.wait()
    apart = Time((time.perf_counter() - begun) / jobs, math.nan)
    return [
        Row(f"a job of 500 joints, {jobs} by two workers / 1 second", two, second, 0.15),
        Row(f"a job of 500 joints, {jobs} by one worker / by two (at least)", one, two, 1.8),
        Row("the same by one worker / by two commands of one worker each", one, apart, math.nan),
        Row("a job of 500 joints after others / 1 second", stage("jobs", folder), second, math.nan),
    ]


def one_after_another(folder: Path) -> None:
    """Place the jobs of a folder in this process, and tell the median time of one, all but the first."""
    from asbuilt.archive.jobs import place_one

    times = []
    for job in sorted(folder.glob("*/job.toml"))[:100]:
        begun, worked = time.perf_counter(), time.process_time()
        place_one(str(job), resume=False)
        times.append(Time(time.perf_counter() - begun, time.process_time() - worked))
    clock, processor = (statistics.median(some) for some in zip(*times[1:], strict=True))
    print(json.dumps({"seconds": clock, "processor": processor}))


def main() -> None:
    """Run all comparisons and print them as a table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--joints", type=int, default=1_000_000)
    parser.add_argument("--jobs", type=int, default=1000, help="how many jobs are placed in one go")
    parser.add_argument("--turns", type=int, default=15, help="of the commands whose start is measured")
    parser.add_argument("--larger", type=int, nargs="*", default=[], help="joints of further jobs")
    parser.add_argument("--postgis", help="URL of a PostGIS server")
    parser.add_argument("--stage", choices=["bare", "rows", "columns", "postgis", "jobs"])
    parser.add_argument("--folder", type=Path)
    parser.add_argument("--keep", action="store_true", help="write the run into scripts/benchmarks/")
    arguments = parser.parse_args()
    if arguments.stage == "postgis":
        return postgis(arguments.folder, arguments.postgis)
    if arguments.stage == "bare":
        return bare(arguments.folder)
    if arguments.stage == "jobs":
        return one_after_another(arguments.folder)
    if arguments.stage:
        return loop(arguments.folder, arguments.stage == "rows")
    load = os.getloadavg()[0]
    with tempfile.TemporaryDirectory() as temporary:
        small, many = Path(temporary, "small"), Path(temporary, "many")
        small.mkdir()
        many.mkdir()
        rows = starts(small, arguments.turns)
        rows += many_jobs(many, arguments.jobs)
        peaks: dict[str, list[Memory]] = {}
        took: dict[str, Time] = {}

        def whole(name: str, joints: int, apart: int = 1) -> Path:
            """Make a job, and place it once for its memory: to look at that takes time from what is looked at."""
            folder = Path(temporary, name)
            folder.mkdir()
            job = make_job(folder, joints, max(joints // 1000, 1), apart)
            _, peaks[name], _ = timed(place(job), memory=True)
            return folder

        tenth = whole("tenth", arguments.joints // 10)
        full = whole("whole job", arguments.joints)
        took["tenth"] = median(timed(place(tenth / "job.toml"))[0] for _ in range(TURNS))
        took["whole job"], written = against_bare(full)
        rows.append(Row("growth from a tenth of the joints", took["whole job"], took["tenth"], 11.0))
        rows.append(Row("whole job / bare writing", took["whole job"], written, 1.25))
        rows.append(Row("GeoPandas loop over rows / whole job (at least)", stage("rows", full), took["whole job"], 5.0))
        columns = stage("columns", full)
        rows.append(Row("GeoPandas loop over columns / whole job", columns, took["whole job"], math.nan))
        rows += afterwards(full, took["whole job"], rows[0].other)
        _, peaks["load into a new register"], _ = timed(loading(full / "joints.gpkg", full / "other.gpkg"), memory=True)
        if arguments.postgis:
            # What the server takes of a processor is not known here.
            sql = stage("postgis", full, "--postgis", arguments.postgis)._replace(processor=math.nan)
            rows.append(Row("PostGIS SQL, placement and turns only / whole job", sql, took["whole job"], math.nan))
        shutil.rmtree(full)
        fifth = whole("shot at every fifth joint", arguments.joints, apart=5)
        rows.append(Row("the same, shot at every fifth / bare writing", *against_bare(fifth), 1.25))
        shutil.rmtree(fifth)
        for joints in arguments.larger:
            name = f"whole job of {joints:,}"
            folder = whole(name, joints)
            took[name] = timed(place(folder / "job.toml"))[0]
            shutil.rmtree(folder)
            many_times = joints / arguments.joints
            rows.append(Row(f"growth to {joints:,} joints", took[name], took["whole job"], 1.1 * many_times))
    print(f"{'comparison':52} {'seconds':>9} {'against':>9} {'ratio':>7} {'of processor time':>18} {'goal':>6}")
    for name, one, other, goal in rows:
        ratios = one.clock / other.clock, one.processor / other.processor
        print(f"{name:52} {one.clock:9.2f} {other.clock:9.2f} {ratios[0]:7.2f} {ratios[1]:18.2f} {goal:6.2f}")
    most = {name: (max(one.own for one in seen), max(one.total for one in seen)) for name, seen in peaks.items()}
    for name, (own, total) in most.items():
        print(
            f"peak memory, {name}: {total:.2f} GB in all processes, {own:.2f} of it not mapped of files (goal: under 1)"
        )
    if arguments.keep:
        figures = [
            kept_runs.Figure(f"peak memory{of}, {name}", round(peak, 3), "GB")
            for name, both in most.items()
            for of, peak in zip((" but for mapped files", ""), both, strict=True)
        ]
        for name, *times, _ in rows:
            for unit, (one, other) in zip(("by the clock", "of a processor"), zip(*times, strict=True), strict=True):
                if math.isfinite(one):
                    seconds = round(one, 3), round(other, 3)
                    figures.append(kept_runs.Figure(name, round(one / other, 4), f"ratio of seconds {unit}", seconds))
        kept = kept_runs.keep("benchmark", {"joints": arguments.joints}, figures, load)
        print(f"kept as {kept.name}; held against the one before: python scripts/kept_runs.py")
    return None


if __name__ == "__main__":
    main()
