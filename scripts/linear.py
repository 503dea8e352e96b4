"""Time at n and at 4 n of everything that a job can have many of: work that grows faster than its input shows here.

    python scripts/linear.py                  each of them, about two minutes
    python scripts/linear.py routes pieces    only these
    python scripts/linear.py --part 0.5       with half of n, as every change is tested
    python scripts/linear.py --profile 20 routes   where the time goes at 4 n

Measured is the processor's time of placing and writing, or of loading, least of two runs; at most 4.5 x is asked for.
What takes longer is measured again, least of five: another program can spoil one run, not all. Ends with 1 if any
takes longer.
"""

import argparse
import cProfile
import gc
import pstats
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

import asbuilt

MOST = 4.5
_FOLDER = tempfile.TemporaryDirectory()
FILES = Path(_FOLDER.name)
"""Files of the jobs that are read from some."""
EAST, NORTH, CRS = 6_700_000.0, 2_000_000.0, "EPSG:6418"
COMPLETE = {
    "size": "12", "joint type": "push-on", "inspector": "R. Vance", "date": "2026-04-02", "home to mark": "yes",
    "gauge": "ok",
}  # fmt: skip
Inputs = tuple[dict[str, Any], gpd.GeoDataFrame, pd.DataFrame | None]


def straight(count: int, *, beside: float = 0.0, length: float = 20.0) -> np.ndarray:
    """Give points due north of one another."""
    along = length * np.arange(count)
    return np.column_stack([np.full(count, EAST + beside), NORTH + along, np.full(count, 50.0)])


def lines(names: list[str], shapes: list[shapely.LineString]) -> gpd.GeoDataFrame:
    return gpd.GeoDataFrame({"route": names}, geometry=shapes, crs=CRS)


def log(count: int, *, route: str = "A", first: int = 1, length: float = 20.0, **more: object) -> pd.DataFrame:
    stations = [f"{int(at // 100)}+{at % 100:05.2f}" for at in length * np.arange(count)]
    return pd.DataFrame(
        {"route": route, "joint": np.arange(first, first + count), "station": stations, **COMPLETE, **more}
    )


def one_route(count: int) -> gpd.GeoDataFrame:
    return lines(["A"], [shapely.LineString(straight(count))])


def of_routes(n: int) -> Inputs:
    names = [f"R {number}" for number in range(n)]
    shapes = [shapely.LineString(straight(4, beside=200.0 * number)) for number in range(n)]
    return {}, lines(names, shapes), pd.concat([log(4, route=name) for name in names], ignore_index=True)


def of_joints(n: int) -> Inputs:
    return {}, one_route(n), log(n)


def of_vertices(n: int) -> Inputs:
    shape = shapely.LineString(straight(n, length=20.0 * 100 / n))
    return {}, lines(["A"], [shape]), log(100)


def of_pieces(n: int) -> Inputs:
    points = straight(n + 1)
    shapes = [shapely.LineString(points[at : at + 2]) for at in range(n)]
    return {}, lines(["A"] * n, shapes), log(100)


def of_equations(n: int) -> Inputs:
    equations = [{"route": "A", "back": 20.0 * at + 10, "ahead": 20.0 * at + 10.001} for at in range(1, n + 1)]
    return {"centerline": {"equations": equations}}, one_route(n + 2), log(n)


def of_ties(n: int) -> Inputs:
    ties = [{"route": "A", "station": 20.0 * at, "easting": EAST, "northing": NORTH + 20.0 * at} for at in range(n)]
    return {"centerline": {"ties": ties}}, one_route(n), log(n)


def of_set_aside(n: int) -> Inputs:
    bad = log(n, first=1000)
    bad["station"] = [f"l{number}+OO" for number in range(n)]
    return {}, one_route(100), pd.concat([log(100), bad], ignore_index=True)


def of_unknown_routes(n: int) -> Inputs:
    bad = log(n, first=1000)
    bad["route"] = [f"no such {number}" for number in range(n)]
    return {}, one_route(100), pd.concat([log(100), bad], ignore_index=True)


def of_columns(n: int) -> Inputs:
    more = pd.DataFrame({f"note {number}": [f"text {number}"] * 200 for number in range(n)})
    return {}, one_route(200), pd.concat([log(200), more], axis=1)


def of_findings(n: int) -> Inputs:
    return {}, one_route(n), log(n, gauge="failed")


def of_restraint(n: int) -> Inputs:
    lengths = [{"route": "A", "from": 20.0 * at, "to": 20.0 * at + 15, "why": "a bend"} for at in range(n)]
    return {"restraint": lengths}, one_route(n + 1), log(n + 1)


def of_astray(n: int) -> Inputs:
    """Routes, each with a shot that lies 36 ft beside it."""
    names = [f"R {number}" for number in range(n)]
    shapes = []
    for number in range(n):
        points = straight(20, beside=400.0 * number)
        points[10, 0] += 36.0
        shapes.append(shapely.LineString(points))
    return {}, lines(names, shapes), pd.concat([log(20, route=name) for name in names], ignore_index=True)


def of_jumps(n: int) -> Inputs:
    """Routes, each with a bend, on which a station is written twice."""
    records = []
    for name in (f"R {number}" for number in range(n)):
        one = log(20, route=name)
        one["station"] = [*one["station"][:10], *one["station"][9:19]]
        records.append(one.assign(kind="", angle="").astype(str))
        records[-1].loc[15, ["kind", "angle"]] = "bend", "45"
    return {}, bent(n, 15), pd.concat(records, ignore_index=True)


def of_tapes(n: int) -> Inputs:
    """Routes, each with a day by a tape that was off, and stations filled in past a cut pipe each twentieth row."""
    names, records, shapes = [f"R {number}" for number in range(n)], [], []
    laid = np.where(np.arange(80) % 20 == 10, 12.0, 20.0)
    true = np.concatenate([[0.0], np.cumsum(laid[:-1])])
    along = true + 0.02 * (np.clip(true, 300.0, 600.0) - 300.0) + np.where(np.arange(80) % 20 > 10, 8.0, 0.0)
    for number, name in enumerate(names):
        one = log(80, route=name)
        one["station"] = [f"{int(at // 100)}+{at % 100:05.2f}" for at in along]
        records.append(one.assign(**{"laid length": laid}))
        shape = straight(80, beside=400.0 * number)
        shape[:, 1] = NORTH + true
        shapes.append(shapely.LineString(shape))
    return {}, lines(names, shapes), pd.concat(records, ignore_index=True)


def of_slid(n: int) -> Inputs:
    """Routes whose bends lie two pipes off their corners."""
    records = []
    for name in (f"R {number}" for number in range(n)):
        records.append(log(20, route=name).assign(kind="", angle="").astype(str))
        records[-1].loc[8, ["kind", "angle"]] = "bend", "45"
    return {}, bent(n, 10), pd.concat(records, ignore_index=True)


def bent(n: int, at: int) -> gpd.GeoDataFrame:
    """Give lines of 20 points, each with a bend of 45 degrees."""
    along = np.arange(20)
    past = 20.0 * np.maximum(along - at, 0)
    shape = np.column_stack(
        [EAST + past * np.sqrt(0.5), NORTH + 20.0 * np.minimum(along, at) + past * np.sqrt(0.5), np.full(20, 50.0)]
    )
    shapes = [shapely.LineString(shape + np.array([400.0 * number, 0.0, 0.0])) for number in range(n)]
    return lines([f"R {number}" for number in range(n)], shapes)


def of_surveyed_again(n: int) -> list[Path]:
    """Two files of jobs for a register: mains, and a survey of each of them a foot and a half beside it."""
    names, files = [f"R {number}" for number in range(n)], []
    stations = pd.concat([log(6, route=name) for name in names], ignore_index=True)
    surveyed = stations[["route", "joint", "station", "size", "joint type"]].assign(joint="")
    for name, east, records in (("Contract", 0.0, stations), ("Survey", 1.5, surveyed)):
        lying = [shapely.LineString(straight(6, beside=400.0 * at + east)) for at in range(n)]
        files.append(FILES / f"{name} {n}.gpkg")
        called = [f"{one} again" for one in names] if east else names
        placed_into(({"name": name}, lines(called, lying), records.assign(route=np.repeat(called, 6))), files[-1])
    return files


def of_loads(n: int) -> list[Path]:
    """Files of three jobs, one after the other, that all speak of the same joints of one main."""
    files = []
    for number in range(3):
        files.append(FILES / f"job {number} of {n}.gpkg")
        line = lines(["A"], [shapely.LineString(straight(n, beside=0.05 * number))])
        placed_into(({"name": f"Job {number}"}, line, log(n, remarks=f"seen {number}")), files[-1])
    return files


def of_pasted(n: int) -> Inputs:
    """Joints with gaps, of which blocks of twenty stand in the log a second time, at other joints."""
    rng = np.random.default_rng(1)
    once = rng.normal(2.0, 0.05, (n // 40 + 1, 20, 4)).round(2)
    gaps = np.concatenate([once, rng.permutation(once)]).reshape(-1, 4)[:n]
    return {}, one_route(n), log(n, **dict(zip(("gap 12", "gap 3", "gap 6", "gap 9"), gaps.T, strict=True)))


def of_sheets(n: int) -> Inputs:
    path = FILES / f"{n} sheets.xlsx"
    with pd.ExcelWriter(path) as book:
        for number in range(n):
            stations = log(20 * n).iloc[20 * number : 20 * (number + 1)]
            stations.to_excel(book, sheet_name=f"Crew {number}", index=False)
    return {"records": {"path": str(path), "sheet": "*"}}, one_route(20 * n), None


SUBJECTS: dict[str, tuple[Callable[[int], Inputs | list[Path]], int]] = {
    "routes": (of_routes, 1_000), "joints": (of_joints, 10_000), "vertices": (of_vertices, 50_000),
    "pieces": (of_pieces, 5_000), "equations": (of_equations, 1_000), "ties": (of_ties, 1_000),
    "set-aside": (of_set_aside, 20_000), "unknown-routes": (of_unknown_routes, 10_000), "columns": (of_columns, 500),
    "findings": (of_findings, 10_000), "restraint": (of_restraint, 2_000), "sheets": (of_sheets, 50),
    "astray": (of_astray, 200), "jumps": (of_jumps, 200), "tapes": (of_tapes, 100), "slid": (of_slid, 200),
    "surveyed-again": (of_surveyed_again, 250), "loads": (of_loads, 2_000), "pasted": (of_pasted, 10_000),
}  # fmt: skip
"""What there can be many of: a job, or files for a register, with n of them, and the n to begin with."""


def done(given: Inputs | list[Path]) -> None:
    """Place a job and write it, or load files into a register."""
    with tempfile.TemporaryDirectory() as folder:
        if isinstance(given, tuple):
            placed_into(given, Path(folder, "joints.gpkg"))
            return
        for file in given:
            asbuilt.load(file, Path(folder, "register.gpkg"), by="linear")


def placed_into(given: Inputs, path: Path) -> None:
    """Place a job and write it."""
    more, line, records = given
    values: dict[str, Any] = {
        "name": "Quarry Lane", "limits": {"table": "awwa-c600"}, **more,
        "records": {"station_unit": "us-ft", "laying_length": 20.0, **more.get("records", {})},
    }  # fmt: skip
    values["centerline"] = {"route": "route", "sigma_horizontal": 0.02, **more.get("centerline", {})}
    asbuilt.place(asbuilt.Job.from_mapping(values), centerline=line, records=records).write(path)


def compared(make: Callable[[int], Inputs | list[Path]], n: int) -> tuple[float, float]:
    """Give the seconds at n and at 4 n."""
    few, many = make(n), make(4 * n)
    found = seconds(few), seconds(many)
    return found if found[1] / found[0] <= MOST else (seconds(few, runs=5), seconds(many, runs=5))


def seconds(given: Inputs | list[Path], *, runs: int = 2) -> float:
    """Give the least of the processor's time of some runs."""
    found = []
    for _ in range(runs):
        gc.collect()
        began = time.process_time()
        done(given)
        found.append(time.process_time() - began)
    return min(found)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("subjects", nargs="*", metavar="WHAT", help=", ".join(SUBJECTS))
    parser.add_argument("--profile", type=int, metavar="ROWS", help="print where the time goes at 4 n")
    parser.add_argument("--part", type=float, default=1.0, metavar="SHARE", help="how much of n to begin with")
    options = parser.parse_args()
    unknown = set(options.subjects) - set(SUBJECTS)
    if unknown:
        parser.error(f"there is no {', '.join(sorted(unknown))}; name some of {', '.join(SUBJECTS)}")
    done(of_joints(100))  # what is loaded at the first time counts for none
    too_long = []
    for name in options.subjects or SUBJECTS:
        make, whole = SUBJECTS[name]
        n = round(options.part * whole)
        if options.profile:
            given, profile = make(4 * n), cProfile.Profile()
            profile.runcall(done, given)
            pstats.Stats(profile).sort_stats("tottime").print_stats(options.profile)
            continue
        few, many = compared(make, n)
        ratio = many / few
        too_long += [name] if ratio > MOST else []
        print(f"{name:15} n = {n:6}: {few:7.2f} s, 4 n: {many:7.2f} s, {ratio:5.2f} x", flush=True)
    if too_long:
        print(f"More than {MOST} x: {', '.join(too_long)}", file=sys.stderr)
    return 1 if too_long else 0


if __name__ == "__main__":
    sys.exit(main())
