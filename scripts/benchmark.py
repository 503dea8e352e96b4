"""Time and memory of the main job, as ratios within one run on one machine.

    python scripts/benchmark.py                  # everything; --joints 100000 for a smaller one
    python scripts/benchmark.py --postgis URL    # also placement and turns in SQL on a PostGIS server
    python scripts/benchmark.py --keep           # the ratios are added to scripts/benchmarks.csv, beside the last ones

What is compared: the whole job (`asbuilt place`) against bare writing (read the same CSV with Arrow, write
the same finished tables with Arrow, nothing else), against a plain GeoPandas script that only places joints and
computes turns in a loop, and a small job against importing geopandas. Each run is a process of its own.
"""

from __future__ import annotations

import argparse
import csv
import datetime as dt
import importlib.metadata
import json
import math
import os
import platform
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np

COLUMNS = (
    "Route", "Joint", "Station", "Size", "Joint type", "Laid length", "Date", "Inspector", "Groove clean",
    "Gasket temp", "Lube", "Home to mark", "Gauge OK", "Gap 12", "Gap 3", "Gap 6", "Gap 9", "Crew", "Remarks",
)  # fmt: skip


def make_job(folder: Path, joints: int, routes: int) -> Path:
    """Write a job of so many joints on so many routes: shots at joints, a log of 19 columns in CSV, with gaps."""
    import geopandas as gpd
    import shapely

    rng = np.random.default_rng(1)
    each = joints // routes
    turn = np.radians(rng.normal(0, 1.2, (routes, each)))
    azimuth = np.cumsum(turn, axis=1)
    start = 6_700_000 + 500.0 * np.arange(routes)
    east = start[:, None] + np.cumsum(20 * np.sin(azimuth), axis=1)
    north = 2_000_000 + np.cumsum(20 * np.cos(azimuth), axis=1)
    up = 50 + np.cumsum(rng.normal(0, 0.02, (routes, each)), axis=1)
    lines = shapely.linestrings(
        np.stack([east, north, up], axis=2).reshape(-1, 3), indices=np.repeat(np.arange(routes), each)
    )
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
    job.write_text(
        'name = "benchmark"\n[centerline]\npath = "line.gpkg"\nroute = "route_id"\n'
        '[records]\npath = "log.csv"\nstation_unit = "us-ft"\nlaying_length = 20.0\n[limits]\ntable = "awwa-c600"\n'
    )
    return job


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
    begun = time.perf_counter()
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
    print(json.dumps({"seconds": time.perf_counter() - begun}))


def loop(folder: Path, by_rows: bool) -> None:
    """Place joints and compute turns as a plain GeoPandas script would, one joint after another.

    With `by_rows`, the log is gone through by `iterrows`, as such scripts are mostly written; without, by its columns,
    which is the fastest such loop. Nothing is checked, joined to inspections or written.
    """
    import geopandas as gpd
    import pandas as pd
    import shapely

    begun = time.perf_counter()
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
    print(json.dumps({"seconds": time.perf_counter() - begun}))


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
        begun = time.perf_counter()
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
        print(json.dumps({"seconds": time.perf_counter() - begun}))
        connection.rollback()


def timed(command: list[str]) -> tuple[float, float, str]:
    """Run a process; give its wall time in seconds, its peak memory in GB, and what it printed."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    begun = time.perf_counter()
    # Programs are compared as installed ones run: with their bytecode kept.
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    done = subprocess.run(command, capture_output=True, text=True, check=False, env=environment)
    seconds = time.perf_counter() - begun
    if done.returncode:
        raise SystemExit(f"{' '.join(command)} failed:\n{done.stderr}")
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    return seconds, (peak if peak > before else before) / 1e6, done.stdout


def stage(name: str, folder: Path, *more: str) -> float:
    """Run one of this script's stages in a process of its own; give the seconds that it reports."""
    _, _, printed = timed([sys.executable, __file__, "--stage", name, "--folder", str(folder), *more])
    return float(json.loads(printed)["seconds"])


def best(command: list[str], times: int) -> float:
    """Give the least wall time of several runs."""
    return min(timed(command)[0] for _ in range(times))


HISTORY = Path(__file__).resolve().with_name("benchmarks.csv")
"""Ratios as they were measured, a row for each; only those of the same joints and machine can be held together."""


def kept(rows: list[tuple[str, float, float, float]], joints: int, peak: float, load: float) -> list[dict[str, str]]:
    """Describe each ratio with the day, the machine and the versions that it was measured with."""
    libraries = ("asbuilt", "numpy", "pyarrow", "pyogrio", "shapely")
    memory = os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES") / 2**30
    around = {
        "day": dt.date.today().isoformat(),
        "machine": f"{platform.machine()}, {os.cpu_count()} cores, {memory:.0f} GB",
        "load_before": f"{load:.1f}",
        "versions": "; ".join(
            [f"Python {platform.python_version()}", *(f"{one} {importlib.metadata.version(one)}" for one in libraries)]
        ),
        "joints": str(joints),
    }
    ratios = [(name, one / other, "ratio") for name, one, other, _ in rows]
    return [
        around | {"comparison": name, "value": f"{value:.3g}", "unit": unit}
        for name, value, unit in [*ratios, ("peak memory of the whole job", peak, "GB")]
    ]


def keep(rows: list[dict[str, str]]) -> None:
    """Add rows to the history, and print each beside the last of the same comparison, joints and machine."""
    earlier: dict[tuple[str, ...], dict[str, str]] = {}
    alike = ("comparison", "joints", "machine")
    if HISTORY.exists():
        with HISTORY.open(newline="", encoding="utf-8") as file:
            earlier = {tuple(row[name] for name in alike): row for row in csv.DictReader(file)}
    for row in rows:
        last = earlier.get(tuple(row[name] for name in alike))
        before = "never measured before on such a machine"
        if last:
            before = f"{last['value']} on {last['day']}, when {last['load_before']} processes waited for the machine"
        print(f"{row['comparison']:52} {row['value']:>7} {row['unit']}; {before}")
    new = not HISTORY.exists()
    with HISTORY.open("a", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, list(rows[0]), lineterminator="\n")
        if new:
            writer.writeheader()
        writer.writerows(rows)


def main() -> None:
    """Run all comparisons and print them as a table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--joints", type=int, default=1_000_000)
    parser.add_argument("--postgis", help="URL of a PostGIS server")
    parser.add_argument("--stage", choices=["bare", "rows", "columns", "postgis"])
    parser.add_argument("--folder", type=Path)
    parser.add_argument("--keep", action="store_true", help="add the ratios to scripts/benchmarks.csv")
    arguments = parser.parse_args()
    if arguments.stage == "postgis":
        return postgis(arguments.folder, arguments.postgis)
    if arguments.stage == "bare":
        return bare(arguments.folder)
    if arguments.stage:
        return loop(arguments.folder, arguments.stage == "rows")
    asbuilt = [sys.executable, "-m", "asbuilt"]
    load = os.getloadavg()[0]
    with tempfile.TemporaryDirectory() as temporary:
        small, tenth, full = (Path(temporary) / name for name in ("small", "tenth", "full"))
        for folder in (small, tenth, full):
            folder.mkdir()
        import_seconds = best([sys.executable, "-c", "import geopandas"], 9)
        help_seconds = best([*asbuilt, "--help"], 5)
        small_seconds = best([*asbuilt, "place", str(make_job(small, 600, 3))], 9)
        rows = [
            ("600 joints / import geopandas", small_seconds, import_seconds, 2.0),
            ("asbuilt --help / import geopandas", help_seconds, import_seconds, 1 / 3),
        ]
        jobs = [(tenth, arguments.joints // 10), (full, arguments.joints)]
        seconds = {}
        for folder, joints in jobs:
            job = make_job(folder, joints, joints // 1000)
            seconds[folder], peak, _ = timed([*asbuilt, "place", str(job)])
        rows.append(("growth from a tenth of the joints", seconds[full], seconds[tenth], 11.0))
        rows.append((f"{arguments.joints:,} joints / bare writing", seconds[full], stage("bare", full), 1.6))
        rows.append(("GeoPandas loop over rows / whole job (at least)", stage("rows", full), seconds[full], 5.0))
        rows.append(("GeoPandas loop over columns / whole job", stage("columns", full), seconds[full], math.nan))
        if arguments.postgis:
            sql = stage("postgis", full, "--postgis", arguments.postgis)
            rows.append(("PostGIS SQL, placement and turns only / whole job", sql, seconds[full], math.nan))
        print(f"{'comparison':52} {'seconds':>9} {'against':>9} {'ratio':>7} {'goal':>6}")
        for name, one, other, goal in rows:
            print(f"{name:52} {one:9.2f} {other:9.2f} {one / other:7.2f} {goal:6.2f}")
        print(f"peak memory of the whole job: {peak:.2f} GB (goal: under 3)")
        if arguments.keep:
            keep(kept(rows, arguments.joints, peak, load))
    return None


if __name__ == "__main__":
    main()
