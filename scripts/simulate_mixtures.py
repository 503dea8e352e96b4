"""Hold verdicts against the truth on mains of no one shape: mixtures of shapes, allowables, bends, pieces and spacings.

    python scripts/simulate_mixtures.py                      # the table of scripts/docs/measured/verdicts.md
    python scripts/simulate_mixtures.py --jobs 20 --seed 7   # fewer jobs, from another seed

Each job has a laying length, errors of shots and stations, and elevations or none, all by chance. Its mains turn in
stretches of many kinds, also just at what their joints allow; pieces are cut, bends lie level or anyhow, and each
stretch is shot in a way of its own. Where more verdicts of a job are wrong than chance explains, its seed is told.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))
from laying import starts
from simulate import (
    JOINTS,
    NEAR_FT,
    SHAPES,
    SPACINGS,
    Main,
    Told,
    beyond_chance,
    counted,
    joint_types,
    run,
    write_allowables,
)

import asbuilt

Floats = Any
MAINS = 12
SIGMAS_FT = (0.0, 0.01, 0.03, 0.06, 0.1, 0.2)
LENGTHS_FT = (13.0, 18.0, 20.0)
ALLOWABLES_DEG = (1.5, 2.5, 3.0, 4.0, 5.0)
BENDS_DEG = (11.25, 22.5, 45.0)
KINDS = ("straight", "constant curve", "uneven curve", "S", "alternating", "zigzag", "kinks", "vertical", "compound",
         "all ways", "at the limit")  # fmt: skip


@dataclass(frozen=True)
class Mixed:
    """A main, how it was shot, and what its log says."""

    main: Main
    turned: Floats
    """What each joint but the first and the last turns, degrees: right, and upward as the imaginary part."""
    shots: Floats
    """Places along the pipe, ft."""
    along: Floats
    """Of the joints, ft."""
    angle: Floats
    level: np.ndarray
    """True for bends that lie level, and are logged so."""


def stretches(chance: np.random.Generator, many: int) -> Floats:
    """Divide joints into stretches of five to thirty, and number these."""
    ends = np.cumsum(chance.integers(5, 31, many))
    return np.searchsorted(ends, np.arange(many), side="right")


def mixed(chance: np.random.Generator, laying: float, bent: bool, cut: bool) -> Mixed:
    """Lay one main of many kinds, and choose where it is shot."""
    many = JOINTS - 2
    ways, allowable = np.zeros(many) + 0j, np.zeros(many)
    part = stretches(chance, many)
    for one in np.unique(part):
        rows = np.flatnonzero(part == one)
        kind = str(chance.choice(KINDS))
        if kind == "at the limit":
            ways[rows] = chance.uniform(0.97, 1.08, len(rows)) * np.exp(1j * chance.uniform(0, 2 * np.pi))
        else:
            ways[rows] = SHAPES[kind](chance, len(rows))
    part = stretches(chance, many)
    for one in np.unique(part):
        rows = np.flatnonzero(part == one)
        allowable[rows] = chance.choice(ALLOWABLES_DEG, len(rows) if chance.random() < 0.3 else 1)
    bend = (chance.random(many) < 1 / 15) & bent
    angle = np.where(bend, chance.choice(BENDS_DEG, many), 0.0)
    level = bend & (chance.random(many) < 0.5)
    roll = np.where(level, 0.0, chance.uniform(0, 2 * np.pi, many))
    other = np.where(bend, chance.uniform(0, 1.2, many) * np.exp(1j * chance.uniform(0, 2 * np.pi, many)), 0j)
    length = np.full(many + 1, laying)
    if cut:
        length *= np.where(chance.random(many + 1) < 0.1, chance.uniform(0.3, 1.0, many + 1), 1.0)
    points = run(ways * allowable, other * allowable, angle, roll, chance.uniform(-0.05, 0.05), length)
    main = Main(points, np.maximum(np.abs(ways), np.abs(other)), allowable, bend)
    along = np.concatenate([[0.0], np.cumsum(length)])
    return Mixed(main, ways * allowable, shot_along(chance, along), along, angle, level)


def shot_along(chance: np.random.Generator, along: Floats) -> Floats:
    """Choose where a main is shot: at both ends, and in each stretch in a way of its own."""
    inner, places = along[1:-1], [along[[0, -1]]]
    part = stretches(chance, len(inner))
    for one in np.unique(part):
        rows = np.flatnonzero(part == one)
        spacing = str(chance.choice(SPACINGS))
        if spacing == "mid-pipe":
            places.append((inner[rows] + along[rows]) / 2.0)
        elif spacing == "near":
            places.append(inner[rows] + np.minimum(NEAR_FT, (along[rows + 2] - inner[rows]) / 2.0))
        elif spacing == "random":
            places.append(inner[rows[chance.random(len(rows)) < 0.4]])
        else:
            places.append(inner[rows[:: {"every": 1, "2nd": 2, "5th": 5}[spacing]]])
    found = np.unique(np.concatenate(places))
    return found[np.concatenate([[True], np.diff(found) > 0.5])]


def one_way(laid: Mixed) -> np.ndarray:
    """Say around which joints all that share their turns, or the next ones, turn to one side: shape (JOINTS,)."""
    holds = np.zeros(JOINTS, dtype=bool)
    shot: Floats = np.searchsorted(laid.shots, laid.along, side="right")
    for at in range(1, JOINTS - 1):
        low = laid.shots[max(shot[at] - 4, 0)]
        high = laid.shots[min(shot[at] + 3, len(laid.shots) - 1)]
        rows = np.flatnonzero((laid.along[1:-1] > low) & (laid.along[1:-1] < high))
        ways = laid.turned[rows]
        holds[at] = not laid.main.bend[rows].any() and (np.real(ways[:, None] * np.conj(ways)) >= 0).all()
    return holds


def told_of(seed: int) -> tuple[Told, tuple[int, int], str]:
    """Lay, survey and judge the mains of one job.

    Returns
    -------
    told : Told
    assumed : int, int
        Verdicts that are within if the main curves one way, where it does and the joint is over; and such joints.
    words : what is known of the job
    """
    chance = np.random.default_rng([seed, 11])
    laying = float(chance.choice(LENGTHS_FT))
    noise = float(chance.choice(SIGMAS_FT)), float(chance.choice(SIGMAS_FT))
    sigma_station = float(chance.choice((0.0, 0.0, 0.1)))
    flat, bent, cut = (bool(chance.random() < share) for share in (0.15, 0.5, 0.5))
    laid = [mixed(chance, laying, bent, cut) for _ in range(MAINS)]
    lines, logs = [], []
    for number, one in enumerate(laid):
        exact = np.stack([np.interp(one.shots, one.along, axis) for axis in one.main.points.T], axis=1)
        shots = exact + chance.normal(size=exact.shape) * [noise[0], noise[0], noise[1]]
        lines.append(shapely.LineString(shots[:, :2] if flat else shots))
        chord = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(shots[:, :2], axis=0).T))])
        station = np.interp(one.along, one.shots, chord)
        off = chance.normal(0.0, 1.0, JOINTS) * sigma_station
        off[[0, -1]] = 0.0
        bend = np.concatenate([[0.0], one.angle, [0.0]])
        plane = np.concatenate([[False], one.level, [False]])
        logs.append(pd.DataFrame({
            "route": f"M{number}", "joint": np.arange(JOINTS), "station": np.clip(station + off, 0.0, chord[-1]),
            "size": 12, "joint type": joint_types(one.main), "kind": np.where(bend > 0, "bend", "pipe"),
            "bend angle": np.where(bend > 0, np.char.mod("%g", bend), ""), "plane": np.where(plane, "right", ""),
        }))  # fmt: skip
    line = gpd.GeoDataFrame({"route": [f"M{number}" for number in range(MAINS)]}, geometry=lines, crs="EPSG:6418")
    with tempfile.TemporaryDirectory() as folder:
        write_allowables([one.main for one in laid], Path(folder))
        job = asbuilt.Job.from_mapping({
            "name": "simulated",
            "centerline": {"route": "route", "start_station": 0.0, "sigma_horizontal": noise[0],
                           "sigma_vertical": noise[1], "shots_at_joints": True, "starts": starts(line)},
            "records": {"station_unit": "us-ft", "laying_length": laying, "station_format": "decimal",
                        "station_tolerance": 2.0, "spacing_tolerance": 2.0, "sigma_station": sigma_station},
            "limits": {"project": "allowables.csv"},
        }, folder=folder)  # fmt: skip
        placement = asbuilt.place(job, centerline=line, records=pd.concat(logs, ignore_index=True))
    if len(placement.joints) != JOINTS * MAINS:
        raise SystemExit(f"seed {seed}: {len(placement.joints)} joints of {JOINTS * MAINS} were placed")
    mains = [one.main for one in laid]
    over = np.concatenate([np.concatenate([[0.0], one.part, [0.0]]) for one in mains]) > 1.0
    assumes = placement.joints["verdict_assumes"].to_numpy()
    may = over & np.concatenate([one_way(one) for one in laid]) & ~placement.judged.seen.exact & (not flat)
    assumed = int((may & (assumes == "one-way") & (placement.joints["verdict"] == "within-assumed").to_numpy()).sum())
    words = f"pipes {laying:g} ft, shots {noise[0]:g} / {noise[1]:g} ft, stations {sigma_station:g} ft"
    words += "".join(f", {word}" for word, there in (("flat", flat), ("bends", bent), ("cut", cut)) if there)
    return counted(placement, mains), (assumed, int(may.sum())), words


def main() -> None:
    """Print how many verdicts were wrong, and in which jobs more than chance explains."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--jobs", type=int, default=100, help=f"jobs of {MAINS} mains of {JOINTS} joints")
    options.add_argument("--seed", type=int, default=1, help="of the first job; the next ones follow")
    given = options.parse_args()
    total, assumed = Told(), np.zeros(2, dtype=np.int64)
    worst: list[tuple[float, str]] = []
    for seed in range(given.seed, given.seed + given.jobs):
        told, some, words = told_of(seed)
        total, assumed = total + told, assumed + some
        others = told.joints - told.truly_over
        kinds: list[tuple[str, int, int]] = [
            ("within", told.wrong_within, told.truly_over), ("over", told.wrong_over, others),
            ("within if it curves one way, where it does", some[0], some[1]),
        ]  # fmt: skip
        for name, wrong, many in kinds:
            if many:
                mark = beyond_chance(wrong, many)
                worst.append((wrong / many, f"wrong {name}: {wrong} of {many}, seed {seed} ({words}){mark}"))
                if mark:
                    print(worst[-1][1], flush=True)
    print(f"{total.joints:,} joints of {given.jobs} jobs, seeds {given.seed} to {given.seed + given.jobs - 1}:")
    others = total.joints - total.truly_over
    for name, wrong, many in (
        ("wrong within, of those over", total.wrong_within, total.truly_over),
        ("wrong over, of the others", total.wrong_over, others),
        ("wrong within if one way, of those over where it holds", int(assumed[0]), int(assumed[1])),
        ("within", total.within, total.joints), ("within, assumed", total.assumed, total.joints),
        ("over", total.over, total.joints), ("cannot tell", total.unclear, total.joints),
        ("mains over their limit that are found", total.mains_found, total.mains_over),
    ):  # fmt: skip
        print(f"- {name}: {wrong:,} of {many:,}, {100.0 * wrong / max(many, 1):.2f} %")
    print("The highest rates:")
    for _, text in sorted(worst, reverse=True)[:8]:
        print(f"- {text}")


if __name__ == "__main__":
    main()
