"""Hold places beside bends against the truth: mains with fittings of known laying lengths, shot at one place of each.

    python scripts/simulate_bends.py             # the table of scripts/docs/measured/places.md
    python scripts/simulate_bends.py --mains 5   # the same from fewer mains

A fitting has a joint at each of its two ends, as far from its center as its laying length; a crew shoots its center,
or the joint at one of its ends, and counts stations along the center line of the pipe.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Any, NamedTuple

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))
from laying import starts

import asbuilt

Floats = Any
LENGTH_FT, PIPES = 20.0, 60
NOISE_FT, SIGMA_STATION_FT = 0.03, 0.1
SPREAD_DEG = 0.4
"""Standard deviation of what joints turn that are no fitting's."""
ANGLES_DEG = (11.25, 22.5, 45.0, 90.0)
CENTER_TO_END_IN = {
    4: (4.0, 6.5), 6: (5.0, 8.0), 8: (5.5, 9.0), 12: (7.5, 12.0), 16: (8.0, 15.0), 24: (11.0, 22.0), 36: (18.0, 28.0),
}  # fmt: skip
"""Inches from the center of a fitting to its ends by nominal size, of bends up to 45 degrees and of 90.
Mechanical-joint bends of AWWA C110, from memory."""
COMPACT = (0.65, 1.05)
"""Fittings of a main are so much of that, as compact ones are shorter."""
SHOTS = ("at joints", "each 5th, bends", "bends and ends")
SHOT_AT = ("center", "first end", "second end", "any of these", "both ends")
LOGGED = ("first end", "center", "both ends")


class Off(NamedTuple):
    """Joints, how far they truly lie from their places, and what was stated at 95 %: shapes (joints,)."""

    away: Floats
    stated: Floats
    near: Floats
    """True within a pipe length of a bend."""

    def told(self, rows: Floats) -> str:
        """Give the median and the 95 % of misses, the median of what is stated, and the share outside."""
        away, stated = self.away[rows], self.stated[rows]
        outside = 100.0 * np.mean(away > stated)
        return f"{np.median(away):.2f}, {np.quantile(away, 0.95):.2f} | {np.median(stated):.2f} | {outside:.1f}"


def main_of(chance: np.random.Generator, logged: str, size: int) -> tuple[pd.DataFrame, dict[str, Floats]]:
    """Lay a main: its log with the true places, and the places of its fittings that can be shot."""
    at_bend = np.sort(chance.choice(np.arange(6, PIPES - 5, 8), 5, replace=False))
    angle = dict(zip(at_bend.tolist(), chance.choice(ANGLES_DEG, 5).tolist(), strict=True))
    azimuth, part = chance.uniform(0.0, 2.0 * np.pi), chance.uniform(*COMPACT)
    here, along = np.array([6_700_000.0, 2_000_000.0]), 0.0
    rows: list[tuple[Any, ...]] = [(here, along, "pipe", "", -1)]
    fittings: dict[str, list[Floats]] = {name: [] for name in SHOT_AT[:3]}

    def on(length: float) -> None:
        nonlocal here, along
        here, along = here + length * np.array([np.sin(azimuth), np.cos(azimuth)]), along + length

    for pipe in range(PIPES):
        on(LENGTH_FT)
        if pipe not in angle:
            rows.append((here, along, "pipe", "", -1))
            azimuth += np.radians(chance.normal(0.0, SPREAD_DEG))
            continue
        number, turn = len(fittings["center"]), angle[pipe]
        reach = part * CENTER_TO_END_IN[size][angle[pipe] > 45.0] / 12.0
        fittings["first end"].append(here)
        bend = "bend", f"{turn:g}", number
        rows.append((here, along, *(bend if logged != "center" else ("pipe", "", -1))))
        azimuth += np.radians(chance.normal(0.0, SPREAD_DEG))
        on(reach)
        fittings["center"].append(here)
        if logged == "center":
            rows.append((here, along, *bend))
        azimuth += np.radians(turn) * chance.choice([-1.0, 1.0])
        on(reach)
        fittings["second end"].append(here)
        rows.append((here, along, *(("bend", "", number) if logged == "both ends" else ("pipe", "", -1))))
        azimuth += np.radians(chance.normal(0.0, SPREAD_DEG))
    log = pd.DataFrame(rows, columns=["place", "station", "kind", "bend angle", "fitting"])
    return log, {name: np.array(places) for name, places in fittings.items()}


def off(shots: str, shot_at: str, logged: str, size: int, mains: int, seed: int) -> Off:
    """Lay, shoot and place mains of one cell, and say how far off their joints are."""
    chance = np.random.default_rng([seed, *shots.encode(), *shot_at.encode(), *logged.encode(), size])
    lines, logs, truth = [], [], []
    for number in range(mains):
        log, fittings = main_of(chance, logged, size)
        true = np.stack(log["place"].to_list())
        fitting = log["fitting"].to_numpy()
        every = {"at joints": 1, "each 5th, bends": 5, "bends and ends": len(log)}[shots]
        taken = [(float(log["station"][at]), true[at]) for at in range(len(log))
                 if fitting[at] < 0 and (at % every == 0 or at == len(log) - 1)]  # fmt: skip
        for one in range(len(fittings["center"])):
            where = str(chance.choice(SHOT_AT[:3])) if shot_at == "any of these" else shot_at
            station = float(log["station"][np.flatnonzero(fitting == one)[0]])
            wheres = SHOT_AT[1:3] if where == "both ends" else (where,)
            taken += [(station + 1e-3 * at, fittings[one_end][one]) for at, one_end in enumerate(wheres)]
        # A fitting is shot where it says, and nowhere else.
        beside = {float(log["station"][at]) for at in range(1, len(log)) if fitting[at] < 0 and (
            fitting[at - 1] >= 0 or (at + 1 < len(log) and fitting[at + 1] >= 0 and logged == "center"))}  # fmt: skip
        taken = [one for one in taken if one[0] not in beside]
        places = np.array([place for _, place in sorted(taken, key=lambda one: one[0])])
        lines.append(shapely.LineString(places + chance.normal(0.0, NOISE_FT, places.shape)))
        station = np.clip(log["station"] + chance.normal(0.0, SIGMA_STATION_FT, len(log)), 0.0, None)
        logs.append(pd.DataFrame({
            "route": f"M{number}", "joint": np.arange(len(log)), "station": np.round(np.sort(station), 3),
            "size": size, "joint type": "mechanical", "kind": log["kind"], "bend angle": log["bend angle"],
        }))  # fmt: skip
        centers = fittings["center"]
        away = np.hypot(*(true[:, None] - centers[None]).transpose(2, 0, 1)).min(axis=1)
        truth.append(pd.DataFrame({
            "route": f"M{number}", "joint": np.arange(len(log)).astype(str), "east": true[:, 0], "north": true[:, 1],
            "near": away <= LENGTH_FT + 2.5,
        }))  # fmt: skip
    line = gpd.GeoDataFrame({"route": [f"M{one}" for one in range(mains)]}, geometry=lines, crs="EPSG:6418")
    job = asbuilt.Job.from_mapping({
        "name": "simulated",
        "centerline": {"route": "route", "sigma_horizontal": NOISE_FT, "sigma_vertical": NOISE_FT, "source": "survey",
                       "start_station": 0.0, "starts": starts(line)},
        "records": {"station_unit": "us-ft", "laying_length": LENGTH_FT, "station_format": "decimal",
                    "station_tolerance": 60.0, "sigma_station": SIGMA_STATION_FT},
        "limits": {"table": "awwa-c600"},
    })  # fmt: skip
    joints = asbuilt.place(job, centerline=line, records=pd.concat(logs, ignore_index=True)).joints
    both = joints.merge(pd.concat(truth), on=["route", "joint"])
    away = np.hypot(both["easting"] - both["east"], both["northing"] - both["north"]).to_numpy()
    return Off(away, both["accuracy_horizontal"].to_numpy(), both["near"].to_numpy())


def main() -> None:
    """Print the table."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--mains", type=int, default=6, help="mains of 5 bends of each size in each cell")
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--sizes", nargs="+", type=int, default=[6, 12, 24], choices=list(CENTER_TO_END_IN))
    options.add_argument("--logged", nargs="+", choices=LOGGED, default=list(LOGGED))
    given = options.parse_args()
    print(f"{given.mains} mains of each of {given.sizes} in, noise {NOISE_FT} ft, seed {given.seed}; feet\n")
    near_and_far = ("within a pipe of a bend: off", "stated", "outside, %", "elsewhere: off", "stated", "outside, %")
    print("| shot | a bend's shot | " + " | ".join(near_and_far) + " |")
    print("|---" * 8 + "|")
    for shots in SHOTS:
        for shot_at in SHOT_AT:
            parts = [off(shots, shot_at, logged, size, given.mains, given.seed)
                     for logged in given.logged for size in given.sizes]  # fmt: skip
            found = Off(*(np.concatenate(one) for one in zip(*parts, strict=True)))
            near = found.near.astype(bool)
            print(f"| {shots} | {shot_at} | {found.told(near)} | {found.told(~near)} |", flush=True)


if __name__ == "__main__":
    main()
