"""Shots that are none, and true ones: how often each is told by check `shots-too-even`.

Mains of `simulate.py`, turned every way, are shot with errors of the stated size at all its spacings and rounded to
0.001 to 0.1 ft; none of them should be told. The same mains have shots put in that nobody took: on chords or splines
through each so manieth shot, smoothed, off a design, or on one half alone. Printed: mains told of all mains; for shots
that are none, by the plan or the spacing, and by the heights.

Run as ``.venv/bin/python scripts/simulate_even.py``.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from pyproj import CRS
from scipy.interpolate import CubicSpline

sys.path.insert(0, str(Path(__file__).parent))
from simulate import JOINTS, LENGTH_FT, SHAPES, SPACINGS, START, Main, lay, survey

import asbuilt
from asbuilt.line.routes import routes_from_vertices
from asbuilt.survey import evenness

Floats = Any
"""An array of numbers."""
SIGMAS_FT, ROUNDED_FT = (0.02, 0.05, 0.1), (0.001, 0.01, 0.02, 0.05, 0.1)
OVERSTATED = (1.0, 2.0, 3.0)
LAID = ("straight", "constant curve", "uneven curve", "kinks", "zigzag", "all ways")
PAIRS_FT = ((0.02, 0.001), (0.02, 0.01), (0.05, 0.01), (0.1, 0.01))
"""Stated standard error, and what coordinates are rounded to."""
FAKED = ("chord 2", "chord 3", "chord 5", "chord 10", "spline 5", "mean 3", "mean 5", "design", "half of it")


def turned(main: Main, chance: np.random.Generator) -> Main:
    """Turn a main: along an axis of the coordinates, between the two, or anyhow."""
    angle = chance.choice([0.0, np.pi / 2, np.pi / 4, chance.uniform(0.0, 2.0 * np.pi)])
    cos, sin = np.cos(angle), np.sin(angle)
    points = (main.points - START) @ np.array([[cos, sin, 0.0], [-sin, cos, 0.0], [0.0, 0.0, 1.0]]) + START
    return replace(main, points=points)


def told(shots: list[Floats], sigma: float) -> tuple[set[int], set[int]]:
    """Give the mains of which something is told: by plan or spacing, and by heights."""
    first = np.concatenate([[0], np.cumsum([len(one) for one in shots])])
    points, names = np.concatenate(shots), [f"M{number}" for number in range(len(shots))]
    stated = np.full(len(points), sigma)
    routes = routes_from_vertices(
        names,
        first,
        points[:, 0],
        points[:, 1],
        points[:, 2],
        np.zeros(len(names)),
        CRS("EPSG:6418"),
        "us-ft",
        sigma=(stated, stated),
    )
    job = asbuilt.Job.from_mapping(
        {"name": "simulated", "centerline": {}, "records": {"station_unit": "us-ft", "laying_length": LENGTH_FT}}
    )
    found = evenness.even_shots(job, routes)
    heights = {one.route for one in found if "in height" in one.message}
    return {one.route for one in found if "in height" not in one.message}, heights


def rounded(shots: Floats, step: float) -> Floats:
    """Round shots."""
    return np.round(shots / step) * step


def faked(how: str, main: Main, sigma: float, chance: np.random.Generator) -> Floats:
    """Give shots of a main, some or all of which nobody took."""
    shots, _ = survey(main, "every", (sigma, sigma), chance)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(shots[:, :2], axis=0).T))])
    word, _, number = how.partition(" ")
    if word in ("chord", "spline"):
        kept = np.union1d(np.arange(0, JOINTS, int(number)), [JOINTS - 1])
        if word == "chord":
            return np.column_stack([np.interp(along, along[kept], one[kept]) for one in shots.T])
        return CubicSpline(along[kept], shots[kept])(along)
    if word == "mean":
        side = int(number) // 2
        padded = np.pad(shots, ((side, side), (0, 0)), mode="edge")
        return np.mean([padded[at : at + JOINTS] for at in range(2 * side + 1)], axis=0)
    if word == "design":
        radius, length = chance.choice([400.0, 800.0, 1500.0]), LENGTH_FT * JOINTS
        bearing = (
            chance.uniform(0, 2 * np.pi)
            + np.clip(LENGTH_FT * np.arange(JOINTS) - 0.3 * length, 0, 0.4 * length) / radius
        )
        grade = np.full(JOINTS, chance.uniform(-0.03, 0.03))
        return START + np.cumsum(LENGTH_FT * np.column_stack([np.sin(bearing), np.cos(bearing), grade]), axis=0)
    half = JOINTS // 2
    shots[half:] = np.linspace(shots[half], shots[-1], JOINTS - half)
    return shots


def main() -> None:
    """Print the tables."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--mains", type=int, default=2, help="mains of each cell")
    options.add_argument("--seed", type=int, default=1)
    given = options.parse_args()
    chance = np.random.default_rng(given.seed)
    print(f"{given.mains} mains of each cell, seed {given.seed}\n")
    print("| true shots, stated | " + " | ".join(f"rounded to {step:g} ft" for step in ROUNDED_FT) + " |")
    print("|---" * (len(ROUNDED_FT) + 1) + "|")
    for larger in OVERSTATED:
        cells = []
        for step in ROUNDED_FT:
            alarms = mains = 0
            for sigma in SIGMAS_FT:
                shots = [
                    rounded(survey(turned(lay(shape, 5.0, chance), chance), spacing, (sigma, sigma), chance)[0], step)
                    for shape in SHAPES for spacing in SPACINGS for _ in range(given.mains)
                ]  # fmt: skip
                plan, heights = told(shots, larger * sigma)
                alarms, mains = alarms + len(plan | heights), mains + len(shots)
            cells.append(f"{alarms} of {mains}")
        word = "as they are" if larger == 1.0 else f"{larger:g} times too large"
        print(f"| {word} | " + " | ".join(cells) + " |", flush=True)
    print(
        "\n| shots that are none | "
        + " | ".join(f"{sigma:g} ft, rounded to {step:g}" for sigma, step in PAIRS_FT)
        + " |"
    )
    print("|---" * (len(PAIRS_FT) + 1) + "|")
    for how in FAKED:
        cells = []
        for sigma, step in PAIRS_FT:
            shots = [
                rounded(faked(how, turned(lay(shape, 5.0, chance), chance), sigma, chance), step)
                for shape in LAID for _ in range(5 * given.mains)
            ]  # fmt: skip
            cells.append("{:.0f}, {:.0f} %".format(*(100.0 * len(one) / len(shots) for one in told(shots, sigma))))
        print(f"| {how} | " + " | ".join(cells) + " |", flush=True)


if __name__ == "__main__":
    main()
