"""Hold stated standard errors of deflections against how far repeated surveys of one main scatter.

    python scripts/simulate_errors.py                    # the table of scripts/docs/measured/deflections.md
    python scripts/simulate_errors.py --surveys 2000     # the same from fewer surveys, less sure

A main of known deflections is surveyed many times with noise of the stated size, and each survey is a route of one job.
Beside each row stands by how much a scatter that is found from so many surveys is off by itself, one standard error.
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
from asbuilt.judging.sightings import in_right_and_up

LENGTH_FT, START = 20.0, np.array([6_700_000.0, 2_000_000.0, 50.0])
AT_ONCE = 500
"""Surveys placed as one job."""
LEAST_TURN_DEG = 0.05
"""Places at which the drawn line turns less, as halfway between two shots, have nothing to compare."""
Floats = Any
"""An array of numbers."""


class Main(NamedTuple):
    """A main: what its joints turn to the right and upward, degrees, the slope that it begins with, and its bend."""

    right: tuple[float, ...]
    up: tuple[float, ...]
    slope: float
    bend: tuple[int, float, str] | None = None
    """Its joint, what it turns, and the plane that the log says."""


MAINS = {
    "level": Main((4, 3, 5), (0, 0, 0), 0.0), "slope 2 %": Main((4, 3, 5), (0, 0, 0), 0.02),
    "slope 20 %": Main((4, 3, 5), (1, -2, 2), 0.2), "turns upward": Main((0, 0, 0), (4, 3, 5), 0.02),
    "small, 1.0 to 1.5": Main((1.0, 1.5, 1.2), (0.2, 0, 0.3), 0.02), "large": Main((10, 8, 12), (3, 0, -5), 0.05),
    "level bend of 45": Main((2, 47, -1.5), (0, 0, 0), 0.02, (2, 45.0, "right")),
    "upright bend of 45": Main((2, 2, -1.5), (0, 45, 0), 0.02, (2, 45.0, "up")),
    "bend of no plane": Main((2, 47, -1.5), (0, 0, 0), 0.02, (2, 45.0, "")),
    "five joints": Main((4, 3, 5, 4, 3.5), (0,) * 5, 0.02),
}  # fmt: skip
NOISES_FT = (0.03, 0.03), (0.02, 0.06)
"""Horizontal and vertical."""
CASES = [
    *((name, "every", noise) for name in MAINS if name != "five joints" for noise in NOISES_FT),
    *((name, "every", (0.05, 0.02)) for name in ("level", "level bend of 45")),
    *(("five joints", shots, noise) for shots in ("2nd", "mid-pipe", "two a pipe", "themselves")
      for noise in NOISES_FT),
]  # fmt: skip


def laid(main: Main) -> Floats:
    """Give the places of a main's joints, shape (joints, 3)."""
    azimuth, rise = (
        np.radians(np.concatenate([[begin], begin + np.cumsum(turns)]))
        for begin, turns in ((0.0, main.right), (np.degrees(np.arctan(main.slope)), main.up))
    )
    step = [np.sin(azimuth) * np.cos(rise), np.cos(azimuth) * np.cos(rise), np.sin(rise)]
    return np.concatenate([[START], START + np.cumsum(LENGTH_FT * np.stack(step, axis=1), axis=0)])


def shot_at(shots: str, joints: int) -> Floats:
    """Give where shots are taken, in joints counted along the main."""
    pipe = np.arange(joints - 1.0)
    between = {"every": [pipe], "2nd": [pipe[::2]], "themselves": [pipe[::2]], "mid-pipe": [pipe + 0.5],
               "two a pipe": [pipe + 1 / 3, pipe + 2 / 3]}[shots]  # fmt: skip
    return np.unique(np.concatenate([[0.0], *between, [joints - 1.0]]))


def surveyed(
    main: Main, shots: str, noise: tuple[float, float], many: int, chance: np.random.Generator
) -> asbuilt.Placement:
    """Place many surveys of one main, each with its own noise."""
    points = laid(main)
    joint, at = np.arange(len(points)), shot_at(shots, len(points))
    errors = [noise[0], noise[0], noise[1]]
    seen = np.stack([np.interp(at, joint, axis) for axis in points.T], axis=1)
    every = seen + chance.normal(size=(many, *seen.shape)) * errors
    along = np.cumsum(np.hypot(*np.moveaxis(np.diff(every[:, :, :2], axis=1), 2, 0)), axis=1)
    station = [np.interp(joint, at, [0.0, *one]) for one in along]
    names = [f"R{number}" for number in range(many)]
    log = pd.DataFrame({
        "route": np.repeat(names, len(points)), "station": np.concatenate(station), "size": 12,
        "joint type": "push-on",
    })  # fmt: skip
    if main.bend is not None:
        there = np.tile(joint == main.bend[0], many)
        log["kind"] = np.where(there, "bend", "pipe")
        log["bend angle"] = np.where(there, f"{main.bend[1]:g}", "")
        log["plane"] = np.where(there, main.bend[2], "")
    if shots == "themselves":
        own = points + chance.normal(size=(many, *points.shape)) * errors
        for name, values in zip(("easting", "northing", "elevation"), own.reshape(-1, 3).T, strict=True):
            log[name] = values
    line = gpd.GeoDataFrame({"route": names}, geometry=shapely.linestrings(every), crs="EPSG:6418")
    values = {
        "name": "repeated",
        "centerline": {"route": "route", "sigma_horizontal": noise[0], "sigma_vertical": noise[1],
                       "shots_at_joints": True, "starts": starts(line)},
        "records": {"station_unit": "us-ft", "laying_length": LENGTH_FT, "station_format": "decimal"},
        "limits": {"table": "awwa-c600"},
    }  # fmt: skip
    return asbuilt.place(asbuilt.Job.from_mapping(values), centerline=line, records=log)


def compared(main: Main, shots: str, noise: tuple[float, float], many: int, seed: int) -> tuple[str, list[Floats]]:
    """Give the deflections, and by how many percent their stated errors differ: of sizes, and of parts right and up."""
    chance, joints = np.random.default_rng(seed), len(main.right) + 2
    parts = []
    for start in range(0, many, AT_ONCE):
        placed = surveyed(main, shots, noise, min(AT_ONCE, many - start), chance)
        seen = placed.judged.seen
        vector = in_right_and_up(seen.turned)
        size = np.where(seen.exact, np.degrees(seen.turned.measured.size), placed.joints["turn_deg"])
        columns = [size, placed.joints["sigma_deg"], np.where(seen.exact, vector.one, np.nan),
                   np.sqrt(vector.variance_one), np.where(seen.exact, vector.other, np.nan),
                   np.sqrt(vector.variance_other)]  # fmt: skip
        parts.append(np.stack([np.asarray(one, dtype=float).reshape(-1, joints) for one in columns]))
    found = np.concatenate(parts, axis=1)[:, :, 1:-1]
    turns = found[0].mean(axis=0)
    rows = turns > LEAST_TURN_DEG
    told = []
    for at in (0, 2, 4):
        measured, stated = found[at][:, rows], found[at + 1][:, rows]
        spread, usual = np.nanstd(measured, axis=0), np.sqrt(np.nanmean(stated**2, axis=0))
        # A bend of no plane has no part square to its turn.
        told.append(100.0 * (usual / np.where(spread > usual / 10.0, spread, np.nan) - 1.0))
    return ", ".join(f"{one:.1f}" for one in turns[rows]), told


def main() -> None:
    """Print the table."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--surveys", type=int, default=20_000, help="of each main")
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--mains", nargs="+", choices=MAINS, default=list(MAINS))
    given = options.parse_args()
    print(f"{given.surveys:,} surveys of each main, seed {given.seed}; stated over found, percent, joint by joint\n")
    print("| main | shot | noise, ft | deflections, deg | size | right | up | sampling error |")
    print("|---" * 8 + "|")
    for case, (name, shots, noise) in enumerate(CASES):
        if name in given.mains:
            turns, told = compared(MAINS[name], shots, noise, given.surveys, given.seed + 1000 * case)
            cells = [", ".join(f"{one:+.1f}" if np.isfinite(one) else "–" for one in each) for each in told]
            sure = 100.0 / np.sqrt(2.0 * given.surveys)
            row = [name, shots, f"{noise[0]:g} / {noise[1]:g}", turns, *cells, f"{sure:.1f}"]
            print(f"| {' | '.join(row)} |", flush=True)


if __name__ == "__main__":
    main()
