"""Hold places against the truth where stations are off: taped, rounded, wheeled, counted; stated in the job, or not.

    python scripts/simulate_stations.py             # the tables of scripts/docs/measured/places.md
    python scripts/simulate_stations.py --jobs 4    # the same from fewer jobs

Each job has three mains of one crew, with cut lengths among their pipes. They are shot at every joint, at some joints,
or each 20, 50 or 100 ft wherever that is, with their bends or without, and nothing but the log's stations says where
joints lie on the line.
"""

from __future__ import annotations

import argparse
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from simulate import LENGTH_FT, SHAPES, run
from simulate_places import COMPASS

import asbuilt

Floats = Any
ROUTES, JOINTS, ALLOWABLE_DEG = 3, 50, 4.0
SHAPES_LAID = ("straight", "uneven curve", "S", "zigzag", "kinks", "vertical", "compound", "bends")
SHOT = ("every joint", "2nd", "5th", "random joints", "each 20 ft", "each 50 ft", "each 100 ft", "surveyed joints")
BENDS_DEG = (22.5, 45.0)


def exact(true: Floats, laid: Floats, chance: np.random.Generator) -> Floats:
    return true


def taped(true: Floats, laid: Floats, chance: np.random.Generator) -> Floats:
    return true + chance.normal(0.0, 0.1, len(true))


def roughly(true: Floats, laid: Floats, chance: np.random.Generator) -> Floats:
    return true + chance.normal(0.0, 0.4, len(true))


def whole_feet(true: Floats, laid: Floats, chance: np.random.Generator) -> Floats:
    return np.round(true)


def wheeled(true: Floats, laid: Floats, chance: np.random.Generator) -> Floats:
    return true * (1.0 + chance.normal(0.0, 0.002)) + chance.normal(0.0, 0.1, len(true))


def wheeled_well(true: Floats, laid: Floats, chance: np.random.Generator) -> Floats:
    return true * (1.0 + chance.choice([-1, 1]) * 0.003)


def chained_well(true: Floats, laid: Floats, chance: np.random.Generator) -> Floats:
    return true + np.concatenate([[0.0], np.cumsum(chance.normal(0.0, 0.1 * np.sqrt(np.diff(true) / 100.0)))])


def chained(true: Floats, laid: Floats, chance: np.random.Generator) -> Floats:
    return true + np.concatenate([[0.0], np.cumsum(chance.normal(0.0, 0.08, len(true) - 1))])


def counted(true: Floats, laid: Floats, chance: np.random.Generator) -> Floats:
    return np.concatenate([[0.0], np.cumsum(laid)])


STATIONS: dict[str, Callable[[Floats, Floats, np.random.Generator], Floats]] = {
    "exact": exact, "taped, 0.1 ft": taped, "roughly, 0.4 ft": roughly, "whole feet": whole_feet,
    "wheel, 0.2 % and 0.1 ft": wheeled, "wheel, 0.3 %": wheeled_well,
    "chain, 0.1 ft per 100 ft": chained_well, "chained, 0.08 ft a pipe": chained, "counted of laid lengths": counted,
}  # fmt: skip
"""How the crew's stations come about: true ones along the line in plan, and the lengths laid, to those in the log."""
STATED = {"exact": 0.0, "taped, 0.1 ft": 0.1, "roughly, 0.4 ft": 0.4, "whole feet": 0.29}


class Off(NamedTuple):
    """Joints but the ends, how far they truly lie from their places in plan and height, and what was stated at 95 %."""

    away: Floats
    stated: Floats
    up: Floats
    stated_up: Floats
    within: Floats
    """1 where called within."""
    over: Floats
    """1 where called over, all of one joint."""
    part: Floats
    """What each takes of its allowable."""


def job_of(shape: str, shot: str, stations: str, noise_ft: float, states: bool, chance: np.random.Generator) -> Off:
    """Lay, shoot, log and place one job of three mains."""
    names, lines, logs, truths, parts, starts = [], [], [], [], [], {}
    for number in range(ROUTES):
        bend = np.zeros(JOINTS - 2)
        if shape == "bends":
            bend[4::9] = chance.choice(BENDS_DEG, len(bend[4::9]))
        ways = SHAPES["kinks" if shape == "bends" else shape](chance, JOINTS - 2)
        length = np.where(chance.random(JOINTS - 1) < 0.15, chance.uniform(6.0, 18.0, JOINTS - 1), LENGTH_FT)
        # Spigots are pushed home by what they are; a tape reads the laid length to a hundredth.
        length = length - chance.uniform(0.0, 0.08, JOINTS - 1)
        none = np.zeros(JOINTS - 2)
        points = run(ways * ALLOWABLE_DEG, none + 0j, bend, none, chance.uniform(-0.05, 0.05), length)
        turned = chance.uniform(0.0, 2.0 * np.pi)
        east, north = (points[:, :2] - points[0, :2]).T
        points[:, 0] = points[0, 0] + east * np.cos(turned) - north * np.sin(turned)
        points[:, 1] = points[0, 1] + east * np.sin(turned) + north * np.cos(turned) + 3000.0 * number
        true = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points[:, :2], axis=0).T))])
        at = where_shot(shot, true, chance)
        at = np.union1d(at, true[1:-1][bend > 0])
        shots = np.stack([np.interp(at, true, one) for one in points.T], axis=1)
        shots = shots + chance.normal(0.0, noise_ft, shots.shape)
        laid = np.where(np.abs(length - LENGTH_FT) < 0.1, LENGTH_FT, np.round(length, 1))
        station = STATIONS[stations](true, laid, chance)
        log = pd.DataFrame({
            "route": f"M{number}", "joint": np.arange(JOINTS), "station": np.round(np.clip(station, 0.0, None), 2),
            "size": 12, "joint type": "kind", "laid length": np.append(laid, LENGTH_FT),
            "kind": np.where(np.pad(bend, 1) > 0, "bend", "pipe"), "bend angle": np.pad(bend, 1), "plane": "right",
        })  # fmt: skip
        if shot == "surveyed joints":
            some = np.arange(JOINTS) % 7 == 3
            own = points + chance.normal(0.0, noise_ft, points.shape)
            for name, one in zip(("easting", "northing", "elevation"), own.T, strict=True):
                log[name] = np.where(some, np.round(one, 3), np.nan)
        names.append(f"M{number}")
        # Which end is the first is said, so that no chance fit of a drifting log turns a line round.
        toward = np.degrees(np.arctan2(*(shots[0, :2] - shots[-1, :2])))
        starts[names[-1]] = COMPASS[int(np.round(toward / 45.0)) % 8]
        lines.append(shapely.LineString(shots))
        logs.append(log)
        truths.append(points)
        parts.append(np.concatenate([[0.0], np.abs(ways), [0.0]]))
    line = gpd.GeoDataFrame({"route": names}, geometry=lines, crs="EPSG:6418")
    with tempfile.TemporaryDirectory() as folder:
        limits = f"joint_type,size,allowable_deg,source\nkind,12,{ALLOWABLE_DEG},made up\n"
        (Path(folder) / "limits.csv").write_text(limits)
        job = asbuilt.Job.from_mapping({
            "name": "simulated",
            "centerline": {"route": "route", "sigma_horizontal": noise_ft, "sigma_vertical": noise_ft,
                           "source": "survey", "start_station": 0.0, "starts": starts},
            "records": {"station_unit": "us-ft", "laying_length": LENGTH_FT, "station_format": "decimal",
                        "station_tolerance": 60.0,
                        # Lengths are laid along the slope.
                        "stationing": "slope" if stations.startswith("counted") else "horizontal",
                        **({"sigma_station": STATED[stations]} if states else {})},
            "limits": {"project": "limits.csv"},
        }, folder=folder)  # fmt: skip
        placement = asbuilt.place(job, centerline=line, records=pd.concat(logs, ignore_index=True))
    joints = placement.joints
    truth = pd.DataFrame(np.concatenate(truths), columns=["true_east", "true_north", "true_up"])
    truth["route"], truth["joint"] = np.repeat(names, JOINTS), np.tile(np.arange(JOINTS), ROUTES).astype(str)
    truth["part"] = np.concatenate(parts)
    joints["own"] = placement.judged.seen.exact
    both = joints.merge(truth, on=["route", "joint"])
    both = both[~both["joint"].isin(["0", str(JOINTS - 1)])]
    return Off(
        np.hypot(both["easting"] - both["true_east"], both["northing"] - both["true_north"]).to_numpy(),
        both["accuracy_horizontal"].to_numpy(),
        (both["elevation"] - both["true_up"]).to_numpy(),
        both["accuracy_vertical"].to_numpy(),
        (both["verdict"] == "within").to_numpy(),
        ((both["verdict"] == "over") & both["own"]).to_numpy(),
        both["part"].to_numpy(),
    )


def where_shot(shot: str, true: Floats, chance: np.random.Generator) -> Floats:
    """Give how far along the pipe, in plan, a main is shot: both ends at least."""
    if shot.endswith(" ft"):
        return np.append(np.arange(0.0, true[-1] - 10.0, float(shot.split()[1])), true[-1])
    if shot == "surveyed joints":
        return np.append(np.arange(0.0, true[-1] - 10.0, 30.0), true[-1])
    if shot == "random joints":
        some = 1 + np.flatnonzero(chance.random(len(true) - 2) < 0.3)
    else:
        some = np.arange(0, len(true) - 1, {"every joint": 1, "2nd": 2, "5th": 5}[shot])
    return true[np.unique(np.concatenate([[0], some, [len(true) - 1]]))]


def cell(shape: str, shot: str, stations: str, noise_ft: float, states: bool, jobs: int, seed: int) -> list[Off]:
    """Lay and place jobs of one cell."""
    chance = np.random.default_rng([seed, *shape.encode(), *shot.encode(), *stations.encode(), int(100 * noise_ft)])
    return [job_of(shape, shot, stations, noise_ft, states, chance) for _ in range(jobs)]


def shares(found: list[Off]) -> list[str]:
    """Give misses and what was stated, and the shares outside of those stated; wrong verdicts within and over."""
    away, stated, up, stated_up, within, over, part = (np.concatenate(values) for values in zip(*found, strict=True))
    known = np.isfinite(stated)
    truly = part > 1.0
    wrong = [f"{np.sum(one & false)} of {np.sum(false)}" for one, false in ((within, truly), (over, ~truly))]
    return [
        f"{np.median(away):.2f}, {np.quantile(away, 0.95):.2f}", f"{100.0 * np.mean(known):.0f}",
        f"{np.median(stated[known]):.2f}" if known.any() else "–",
        f"{100.0 * np.mean((away > stated)[known]):.1f}" if known.any() else "–",
        f"{100.0 * np.mean(np.abs(up) > stated_up):.1f}", *wrong,
    ]  # fmt: skip


def main() -> None:
    """Print the tables."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--jobs", type=int, default=2, help=f"jobs of {ROUTES} mains for each shape and noise")
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--shapes", nargs="+", choices=SHAPES_LAID, default=list(SHAPES_LAID))
    options.add_argument("--shot", nargs="+", choices=SHOT, default=list(SHOT))
    options.add_argument("--stations", nargs="+", choices=list(STATIONS), default=list(STATIONS))
    options.add_argument("--each", action="store_true", help="a row for each shape, too")
    given = options.parse_args()
    print(f"{given.jobs} jobs of {ROUTES} mains of {JOINTS} joints of each of {len(given.shapes)} shapes, two noises\n")
    print("| stations | shot | stated | off, median, 95 % | accuracy of, % | stated at 95 % | outside, % | in height, "
          "% | wrong within | wrong over |")  # fmt: skip
    print("|---" * 10 + "|")
    for stations in given.stations:
        for shot in given.shot:
            for states in (True, False) if stations in STATED else (False,):
                row = f"| {stations} | {shot} | {'yes' if states else 'no'} | "
                whole = []
                for shape in given.shapes:
                    found = [one for noise in (0.03, 0.1) for one in
                             cell(shape, shot, stations, noise, states, given.jobs, given.seed)]  # fmt: skip
                    whole += found
                    if given.each:
                        print(f"|   {shape} {row[2:]}" + " | ".join(shares(found)) + " |", flush=True)
                print(row + " | ".join(shares(whole)) + " |", flush=True)


if __name__ == "__main__":
    main()
