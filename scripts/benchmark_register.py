"""What the register costs, as ratios within one run on one machine.

    python scripts/benchmark_register.py                                   # GeoPackage
    python scripts/benchmark_register.py --postgis postgresql://u@h/empty  # also a database that holds no register
    python scripts/benchmark_register.py --joints 100000                   # a smaller one

What is compared: loading a placed job into a new register against the bare copy of its rows (the same layers read
with Arrow, and appended with Arrow to a GeoPackage, or by COPY to tables of PostGIS); loading 100 joints into the
large register against loading all; finding the nearest joints, and those of an inspector, a day, a verdict and a
finding, against looking at every one; the served answers to 50 readers during a load against those to one alone, and to
as many without a load, who wait for one another.
"""

from __future__ import annotations

import argparse
import datetime as dt
import json
import os
import re
import resource
import statistics
import subprocess
import sys
import tempfile
import threading
import time
import urllib.request
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa

import asbuilt
from asbuilt.register.layout import JOB_LAYERS
from asbuilt.register.loading import load
from asbuilt.register.opening import on_server, open_existing
from asbuilt.register.question import Question
from asbuilt.register.search import find

EAST, NORTH, CRS = 6_700_000.0, 2_000_000.0, "EPSG:6418"


def placed_job(path: Path, name: str, joints: int, routes: int, *, prefix: str = "R", east: float = EAST) -> Path:
    """Place a made-up job of so many joints: one in a thousand failed, has no allowable and a rare inspector."""
    import geopandas as gpd
    import pandas as pd
    import shapely

    rng = np.random.default_rng(joints)
    each = joints // routes
    count = each * routes
    on, at = np.repeat(np.arange(routes), each), np.tile(np.arange(each), routes)
    rare = at % 1000 == 500
    easting = east + 100.0 * on + rng.normal(0, 0.05, count)
    places = np.column_stack([easting, NORTH + 20.0 * at, 50.0 + rng.normal(0, 0.1, count)])
    lines = gpd.GeoDataFrame(
        {"route": [f"{prefix}{number:04d}" for number in range(routes)]},
        geometry=shapely.linestrings(places, indices=on),
        crs=CRS,
    )
    person = np.char.add("Inspector ", np.where(rare, 7, np.arange(count) % 7).astype(str)).astype(object)
    person[np.arange(count) % 50 == 7] = None
    log = pd.DataFrame(
        {
            "route": lines["route"].to_numpy()[on], "joint": np.char.add("J-", (at + 1).astype(str)),
            "station": [f"{int(one // 5)}+{one % 5 * 20:02d}" for one in at.tolist()], "size": "12",
            "joint type": np.where(rare, "restrained", "push-on"), "laid length": "20.0", "inspector": person,
            "date": (np.datetime64("2024-03-01") + 800 * np.arange(count) // count).astype(str),
            "gasket temp": (45 + np.arange(count) % 30).astype(str), "home to mark": "yes",
            "gauge": np.where(rare, "no", "ok"),
        }
    )  # fmt: skip
    job = asbuilt.Job.from_mapping(
        {
            "name": name, "centerline": {"route": "route"},
            "records": {"station_unit": "us-ft", "laying_length": 20.0}, "limits": {"table": "awwa-c600"},
        }
    )  # fmt: skip
    asbuilt.place(job, centerline=lines, records=log, today=dt.date(2026, 7, 1)).write(path)
    return path


def timed(work: Callable[[], Any]) -> float:
    """Give how long something takes, seconds."""
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


def bare_geopackage(source: Path, target: Path) -> None:
    """Read the job's layers and append them to a new GeoPackage, with Arrow, spatial indexes included."""
    from pyogrio.raw import read_arrow, write_arrow

    for number, layer in enumerate(JOB_LAYERS):
        meta, table = read_arrow(source, layer=layer)
        geometry = {}
        if meta["geometry_name"]:
            geometry = {"geometry_name": "geom", "geometry_type": "Point Z", "crs": meta["crs"]}
        write_arrow(table, target, layer=layer, driver="GPKG", append=number > 0, **geometry)


def bare_copy(source: Path, address: str) -> None:
    """Read the job's layers and COPY them to plain tables without any index."""
    import io

    import psycopg
    import pyarrow.csv
    from pyogrio.raw import read_arrow

    with psycopg.connect(address) as connection:
        for layer in JOB_LAYERS:
            _, table = read_arrow(source, layer=layer, read_geometry=False)
            columns = ", ".join(f'"{field.name}" {_type(field.type)}' for field in table.schema)
            connection.execute(f"DROP TABLE IF EXISTS public.bare_{layer}")
            connection.execute(f"CREATE TABLE public.bare_{layer} ({columns})")
            with connection.cursor().copy(f"COPY public.bare_{layer} FROM STDIN (FORMAT csv)") as copy:
                for batch in table.to_batches(max_chunksize=65_536):
                    sink = io.BytesIO()
                    options = pyarrow.csv.WriteOptions(include_header=False)
                    pyarrow.csv.write_csv(pa.Table.from_batches([batch]), sink, options)
                    copy.write(sink.getbuffer())


def _type(kind: pa.DataType) -> str:
    if pa.types.is_date(kind):
        return "date"
    if pa.types.is_integer(kind):
        return "bigint"
    return "double precision" if pa.types.is_floating(kind) else "text"


ASKED = {
    "inspector": Question(inspectors=("Inspector 7",)),
    "a day": Question(since=dt.date(2025, 3, 1), until=dt.date(2025, 3, 1)),
    "verdict": Question(verdicts=("no-allowable",)),
    "finding": Question(findings=("inspection-failed",)),
}
"""Questions without a place, each answered by a few joints in a thousand."""


def asking(register: str) -> dict[str, float]:
    """Time the choosing of the joints that each question asks for, seconds."""
    from asbuilt.register import search

    store = open_existing(register)

    def choosing(asked: Question) -> Callable[[], Any]:
        def choose() -> None:
            if not len(search._choose(store, asked, None, None)[0]):
                raise RuntimeError(f"no joint meets {asked}, so its time says nothing")

        return choose

    try:
        with store.reading():
            return {name: statistics.median(timed(choosing(asked)) for _ in range(5)) for name, asked in ASKED.items()}
    finally:
        store.close()


def finding(register: str, middle: tuple[float, float]) -> tuple[float, float]:
    """Time the nearest ten joints by the index, and by looking at every joint; the store is open in both."""
    from asbuilt.register import known_joints, places, search

    store = open_existing(register)
    near = Question(near=f"{middle[0]},{middle[1]}")
    place = places.place(near.near or "", store)

    def scan() -> None:
        fid, easting, northing, height, *_ = search._slim(store, [], {}, None, None)
        here = np.full(len(fid), place.easting), np.full(len(fid), place.northing)
        away = store.ground.away(*here, easting, northing, height)
        known_joints.known_of(store, fid[np.argsort(away)[:10]], np.sort(away)[:10], "us-ft")

    try:
        with store.reading():
            by_index = statistics.median(timed(lambda: search._find(store, near)) for _ in range(9))
            return by_index, timed(scan)
    finally:
        store.close()


READERS = 50
WITHOUT_S = 10.0
"""Seconds for which as many readers ask without a load."""


def readers(register: str, job: Path, near: str) -> tuple[list[float], list[float], list[float]]:
    """Time the answers of the served register: for one reader, for many, and for many during a load."""
    command = [sys.executable, "-m", "asbuilt", "serve", register, "--port", "0"]
    environment = os.environ | {"PYTHONUNBUFFERED": "1"}
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment) as server:
        try:
            said = re.search(r"at (http://\S+) ", server.stdout.readline() if server.stdout else "")
            if said is None:
                raise RuntimeError("the register is not served")
            address = f"{said[1]}/find?near={near}&within=50ft"

            def ask() -> float:
                # An answer that is not whole, or none, ends the benchmark.
                return timed(lambda: json.load(urllib.request.urlopen(address, timeout=300))["joints"][0])

            _when_up(said[1])
            alone = [ask() for _ in range(20)]

            def together(meanwhile: Callable[[], Any]) -> list[float]:
                done = threading.Event()

                def read() -> list[float]:
                    times = [ask()]
                    while not done.is_set():
                        times.append(ask())
                    return times

                with ThreadPoolExecutor(READERS) as pool:
                    reading = [pool.submit(read) for _ in range(READERS)]
                    try:
                        meanwhile()
                    finally:
                        done.set()
                    return [one for each in reading for one in each.result()]

            return alone, together(lambda: time.sleep(WITHOUT_S)), together(lambda: load(job, register))
        finally:
            server.terminate()


def _when_up(address: str) -> None:
    """Wait until a server that names its address also answers there."""
    for _ in range(300):
        try:
            urllib.request.urlopen(f"{address}/about", timeout=300).close()
            return
        except OSError:
            time.sleep(0.2)
    raise RuntimeError(f"nothing answers at {address}")


def measure(register: str, folder: Path, joints: int) -> list[tuple[str, float, float]]:
    """Measure one store; give names of comparisons with the two times of each, seconds."""
    large, small = folder / "large.gpkg", folder / "small.gpkg"
    if on_server(register):
        bare = timed(lambda: bare_copy(large, register))
    else:
        bare = timed(lambda: bare_geopackage(large, folder / "bare.gpkg"))
    whole = timed(lambda: load(large, register))
    few = timed(lambda: load(small, register))
    again = timed(lambda: load(large, register))
    middle = EAST + 50_000.0 * min(1.0, joints / 1e6) + 31.0, NORTH + 10_003.0
    by_index, scan = finding(register, middle)
    whole_find = statistics.median(
        timed(lambda: find(register, Question(near=f"{middle[0]},{middle[1]}", within="50ft"))) for _ in range(5)
    )
    of = "server" if on_server(register) else "file"
    count, routes = max(1000, joints // 10), max(1, joints // 10_000)
    more = placed_job(folder / f"more-{of}.gpkg", "more", count, routes, prefix="M", east=EAST - 200_000.0)
    alone, many, together = readers(register, more, f"{middle[0]},{middle[1]}")
    bare_query = statistics.median(alone)
    return [
        (
            f"answer to one of {READERS} readers, median / to one alone",
            statistics.median(many),
            bare_query,
        ),
        (
            f"answer to one of {READERS} readers during a load, median / to one of as many without a load",
            statistics.median(together),
            statistics.median(many),
        ),
        (
            f"answer to one of {READERS} readers during a load, median / to one alone",
            statistics.median(together),
            bare_query,
        ),
        (
            f"answer to one of {READERS} readers during a load, 95 in 100 / to one alone",
            statistics.quantiles(together, n=20)[-1],
            bare_query,
        ),
        ("load of all / bare copy", whole, bare),
        ("load of 100 / load of all", few, whole),
        ("load of all again, nothing new / load of all", again, whole),
        ("nearest by index / by looking at all", by_index, scan),
        ("find --near --within 50ft, with opening / by looking at all", whole_find, scan),
        *(
            (f"joints by {name}, a few in a thousand / looking at all joints", chosen, scan)
            for name, chosen in asking(register).items()
        ),
    ]


def main() -> None:
    """Measure, and print the ratios."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--joints", type=int, default=1_000_000)
    options.add_argument("--postgis", metavar="URL")
    given = options.parse_args()
    with tempfile.TemporaryDirectory(prefix="asbuilt-register-") as name:
        folder = Path(name)
        placed_job(folder / "large.gpkg", "large", given.joints, max(1, given.joints // 1000))
        placed_job(folder / "small.gpkg", "small", 100, 1, prefix="S", east=EAST - 50.0)
        for register in (str(folder / "register.gpkg"), given.postgis):
            if register is None:
                continue
            kind = "PostGIS" if on_server(register) else "GeoPackage"
            for what, seconds, against in measure(register, folder, given.joints):
                ratio = {"store": kind, "what": what, "seconds": round(seconds, 3), "against": round(against, 3)}
                print(json.dumps(ratio | {"ratio": round(seconds / against, 5)}), flush=True)
    print(json.dumps({"peak_memory_gb": round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6, 2)}))


if __name__ == "__main__":
    main()
