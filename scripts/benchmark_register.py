"""What the register costs, as ratios within one run on one machine.

    python scripts/benchmark_register.py                                   # GeoPackage
    python scripts/benchmark_register.py --postgis postgresql://u@h/empty  # also a database that holds no register
    python scripts/benchmark_register.py --joints 100000                   # a smaller one

What is compared: loading a placed job into a new register against the bare copy of its rows (the same layers read
with Arrow, and appended with Arrow to a GeoPackage, or by COPY to tables of PostGIS); loading 100 joints into the
large register against loading all; finding the nearest joints against looking at every one.
"""

from __future__ import annotations

import argparse
import datetime as dt
import json
import resource
import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa

from asbuilt.layers import geopackage
from asbuilt.line.stationing import format_stations
from asbuilt.placing.naming import joint_uids
from asbuilt.register.layout import JOB_LAYERS
from asbuilt.register.loading import load
from asbuilt.register.opening import on_server, open_existing
from asbuilt.register.question import Question
from asbuilt.register.search import find

EAST, NORTH, CRS = 6_700_000.0, 2_000_000.0, "EPSG:6418"


def placed_job(path: Path, name: str, joints: int, routes: int, *, prefix: str = "R", east: float = EAST) -> Path:
    """Write what `asbuilt place` would write of so many joints, with the program's own writer."""
    rng = np.random.default_rng(joints)
    each = joints // routes
    on = np.repeat(np.arange(routes), each)
    along = np.tile(20.0 * np.arange(each), routes)
    easting, northing = east + 100.0 * on + rng.normal(0, 0.05, len(on)), NORTH + along
    elevation = 50.0 + rng.normal(0, 0.1, len(on))
    route = pa.array([f"{prefix}{number:04d}" for number in range(routes)]).take(pa.array(on))
    number = pa.array([f"J-{one + 1}" for one in range(each)]).take(pa.array(np.tile(np.arange(each), routes)))
    uid = joint_uids(route, number)
    station = format_stations(along, "hundreds")
    deflection = np.abs(rng.normal(0, 1.2, len(on)))
    days = pa.array((np.datetime64("2026-03-01") + (np.arange(len(on)) % 120)).astype("datetime64[D]"))
    inspector = pa.array([f"Inspector {one}" for one in range(7)]).take(pa.array(np.arange(len(on)) % 7))
    joints_table = pa.table(
        {
            "joint_uid": uid, "route": route, "joint": number, "station": station, "distance": along,
            "easting": easting, "northing": northing, "elevation": elevation,
            "longitude": -121.5 + 1e-6 * on, "latitude": 38.65 + 5e-5 * along, "size": np.full(len(on), 12.0),
            "joint_type": pa.repeat("push-on", len(on)), "kind": pa.repeat("pipe", len(on)),
            "position_source": pa.repeat("station", len(on)), "turn_deg": deflection, "deflection_deg": deflection,
            "allowable_deg": np.full(len(on), 5.0),
            "allowable_source": pa.repeat("AWWA C600, maximum deflection, push-on joint (from memory)", len(on)),
            "verdict": pa.repeat("within", len(on)), "inspection": pa.repeat("complete", len(on)),
            "findings": pa.array(np.zeros(len(on)), pa.int32()), "inspected_on": days, "inspector": inspector,
            "geom": geopackage.points_wkb(easting, northing, elevation),
        }
    )  # fmt: skip
    original = pa.array(
        [
            f'{{"Joint": "{a}", "Station": "{b}", "Size": "12", "Joint type": "push-on", "Laid length": "20.0", '
            f'"Gasket temp": "{45 + row % 30}", "Lube": "yes", "Home to mark": "OK", "Gauge OK": "OK"}}'
            for row, (a, b) in enumerate(zip(number.to_pylist(), station.to_pylist(), strict=True))
        ]
    )
    yes = pa.repeat("yes", len(on))
    inspections = pa.table(
        {
            "record": np.arange(len(on)) + 1, "file": pa.repeat("log.csv", len(on)), "row": np.arange(len(on)) + 2,
            "joint_uid": uid, "route": route, "joint": number, "station": station, "size": np.full(len(on), 12.0),
            "joint_type": pa.repeat("push-on", len(on)), "laid_length": np.full(len(on), 20.0), "inspected_on": days,
            "inspector": inspector, "groove_clean": yes, "gasket_temperature": 45.0 + np.arange(len(on)) % 30,
            "lubricated": yes, "insertion_mark": yes, "gauge": yes, "original": original,
        }
    )  # fmt: skip
    picked = np.arange(0, len(on), 50)
    taken = pa.array(picked)
    findings = pa.table(
        {
            "code": pa.repeat("inspection-missing", len(picked)), "severity": pa.repeat("check", len(picked)),
            "route": route.take(taken), "joint": number.take(taken), "joint_uid": uid.take(taken),
            "station": station.take(taken), "message": pa.repeat("not recorded: inspector", len(picked)),
            "geom": geopackage.points_wkb(easting[picked], northing[picked], elevation[picked]),
        }
    )  # fmt: skip
    run = pa.table(
        {"name": [name], "station_unit": ["us-ft"], "coordinate_unit": ["us-ft"], "made_at": [str(dt.date.min)]}
    )
    tables = {"joints": joints_table, "findings": findings, "inspections": inspections, "run": run}
    words = {"unit": "US survey feet", "station_unit": "US survey feet", "reading_unit": "inches"}
    geopackage.write_geopackage(
        path, [geopackage.Layer(layer, table) for layer, table in tables.items()], crs=CRS, units=words
    )
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


def finding(register: str, middle: tuple[float, float]) -> tuple[float, float]:
    """Time the nearest ten joints by the index, and by looking at every joint; the store is open in both."""
    from asbuilt.register import question, search

    store = open_existing(register)
    near = Question(near=f"{middle[0]},{middle[1]}")
    place = question.place(near.near or "", store)

    def scan() -> None:
        fid, easting, northing, height, *_ = search._slim(store, [], {}, None, None)
        here = np.full(len(fid), place.easting), np.full(len(fid), place.northing)
        away = store.ground.away(*here, easting, northing, height)
        search._known(store, fid[np.argsort(away)[:10]], np.sort(away)[:10], "us-ft")

    try:
        with store.reading():
            by_index = statistics.median(timed(lambda: search._find(store, near)) for _ in range(9))
            return by_index, timed(scan)
    finally:
        store.close()


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
    return [
        ("load of all / bare copy", whole, bare),
        ("load of 100 / load of all", few, whole),
        ("load of all again, nothing new / load of all", again, whole),
        ("nearest by index / by looking at all", by_index, scan),
        ("find --near --within 50ft, with opening / by looking at all", whole_find, scan),
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
