"""Hold places against the truth: how far joints lie from where they are placed, and from what is stated of that.

    python scripts/simulate_places.py              # the tables of scripts/docs/measured/places.md
    python scripts/simulate_places.py --mains 5    # the same from fewer mains

Mains of many shapes are shot at every joint or at some of them, with noise; their logs count stations along the pipe.
The alignments of the tests are followed too: shot on the curve itself, each 12 or 30 m, and joints are placed between.
"""

from __future__ import annotations

import argparse
import tempfile
from pathlib import Path
from typing import Any, NamedTuple

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from simulate import BEND_DEG, JOINTS, LENGTH_FT, NOISES_FT, SHAPES, joint_types, lay, shots_along, write_allowables

import asbuilt
from asbuilt.inputs.landxml import read_alignments

Floats = Any
SPACINGS = ("every", "2nd", "5th", "random", "near")
WAYS = ("chord", "curve")
RESTS_ON = ("turns", "allowables")
SIGMA_STATION_FT = 0.1
COMPASS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")
LANDXML = Path(__file__).parents[1] / "tests" / "data" / "landxml"


class Off(NamedTuple):
    """Joints between shots, how far they truly lie from their places, and what was stated at 95 %: shapes (joints,)."""

    away: Floats
    stated: Floats
    up: Floats
    stated_up: Floats

    @property
    def told(self) -> list[str]:
        """The median and the greatest miss, the median of what is stated, and the shares outside."""
        outside = 100.0 * np.mean(self.away > self.stated)
        higher = 100.0 * np.mean(np.abs(self.up) > self.stated_up)
        return [
            f"{np.median(self.away):.2f}", f"{np.quantile(self.away, 0.95):.2f}", f"{np.median(self.stated):.2f}",
            f"{outside:.1f}", f"{higher:.1f}",
        ]  # fmt: skip


def stations(points: Floats, chance: np.random.Generator) -> Floats:
    """Count along the pipe, on the level, each station with an error of its own."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points[:, :2], axis=0).T))])
    found: Floats = np.clip(along + chance.normal(0.0, SIGMA_STATION_FT, len(along)), 0.0, None)
    return found


def off(
    shape: str, spacing: str, noise: str, allowable_deg: float, way: str, mains: int, seed: int, tied: bool = False,
    rests_on: str = "turns",
) -> Off:  # fmt: skip
    """Lay, shoot and place mains of one cell, and say how far off joints are between the first and the last."""
    chance = np.random.default_rng([seed, *shape.encode(), *spacing.encode(), *noise.encode(), int(10 * allowable_deg)])
    horizontal, vertical = NOISES_FT[noise]
    laid = [lay(shape, allowable_deg, chance) for _ in range(mains)]
    lines, logs, ties, starts = [], [], [], {}
    for number, main in enumerate(laid):
        where = shots_along(spacing, chance)
        exact = np.stack([np.interp(where, np.arange(JOINTS), one) for one in main.points.T], axis=1)
        shots = exact + chance.normal(size=exact.shape) * [horizontal, horizontal, vertical]
        station = stations(main.points, chance)
        bend = np.concatenate([[False], main.bend, [False]])
        lines.append(shapely.LineString(shots))
        # Which end is the first is said, so that no chance fit of a drifting log turns a line round.
        east, north = shots[0, :2] - shots[-1, :2]
        starts[f"M{number}"] = COMPASS[int(np.round(np.degrees(np.arctan2(east, north)) / 45.0)) % 8]
        logs.append(pd.DataFrame({
            "route": f"M{number}", "joint": np.arange(JOINTS), "station": np.round(station, 3),
            "size": 12, "joint type": joint_types(main), "kind": np.where(bend, "bend", "pipe"),
            "bend angle": np.where(bend, f"{BEND_DEG}", ""),
        }))  # fmt: skip
        ties += [
            {"route": f"M{number}", "station": float(station[at]), "easting": float(main.points[at][0]),
             "northing": float(main.points[at][1])} for at in (0, JOINTS - 1)
        ]  # fmt: skip
    line = gpd.GeoDataFrame({"route": [f"M{number}" for number in range(mains)]}, geometry=lines, crs="EPSG:6418")
    with tempfile.TemporaryDirectory() as folder:
        write_allowables(laid, Path(folder))
        job = asbuilt.Job.from_mapping({
            "name": "simulated",
            "centerline": {"route": "route", "sigma_horizontal": horizontal, "sigma_vertical": vertical, "between": way,
                           "accuracy_rests_on": rests_on, "start_station": 0.0, "starts": starts,
                           **({"ties": ties, "max_closure_ppm": 50_000} if tied else {})},
            "records": {"station_unit": "us-ft", "laying_length": LENGTH_FT, "station_format": "decimal",
                        "station_tolerance": 60.0, "sigma_station": SIGMA_STATION_FT},
            "limits": {"project": "allowables.csv"},
        }, folder=folder)  # fmt: skip
        joints = asbuilt.place(job, centerline=line, records=pd.concat(logs, ignore_index=True)).joints
    truth = pd.DataFrame(np.concatenate([main.points for main in laid]), columns=["east", "north", "height"])
    truth["route"] = np.repeat([f"M{number}" for number in range(mains)], JOINTS)
    truth["joint"] = np.tile(np.arange(JOINTS), mains).astype(str)
    both = joints.merge(truth, on=["route", "joint"])
    both = both[~both["joint"].isin(["0", str(JOINTS - 1)])]
    return Off(
        np.hypot(both["easting"] - both["east"], both["northing"] - both["north"]).to_numpy(),
        both["accuracy_horizontal"].to_numpy(),
        (both["elevation"] - both["height"]).to_numpy(),
        both["accuracy_vertical"].to_numpy(),
    )


def along_alignment(file: Path, way: str, spacing_m: float) -> list[str]:
    """Shoot an alignment on its curve, place joints of 6 m by their stations, and say how far off they are."""
    told = []
    read = read_alignments(file)
    for one in read.alignments:
        total = float(one.length)

        def exact(distance: Floats, one: Any = one) -> Floats:
            piece = np.clip(np.searchsorted(one.pieces.distance, distance, side="right") - 1, 0, None)
            easting, northing, _ = one.pieces.locate(piece, distance - one.pieces.distance[piece])
            return np.stack([easting, northing], axis=1)

        shots = exact(np.append(np.arange(0.0, total - spacing_m / 2, spacing_m), total))
        at = np.arange(6.0, total - 6.0, 6.0)
        line = gpd.GeoDataFrame(geometry=[shapely.LineString(shots)], crs=f"EPSG:{read.epsg or 32635}")
        log = pd.DataFrame({"joint": np.arange(len(at)), "station": np.round(at, 3)})
        job = asbuilt.Job.from_mapping({
            "name": "simulated", "centerline": {"between": way, "sigma_horizontal": 0.01, "start_station": 0.0},
            "records": {"station_unit": "m", "laying_length": 6.0, "station_format": "decimal"},
        })  # fmt: skip
        joints = asbuilt.place(job, centerline=line, records=log).joints
        joints = joints.set_index("joint").loc[np.arange(len(at)).astype(str)]
        truth = exact(at)
        away = np.hypot(joints["easting"] - truth[:, 0], joints["northing"] - truth[:, 1]).to_numpy()
        outside = 100.0 * np.mean(away > joints["accuracy_horizontal"].to_numpy())
        name = f"| {file.stem} | {spacing_m:g} m | {way} | {len(at)}"
        told.append(f"{name} | {np.median(away):.3f} | {away.max():.3f} | {outside:.1f} |")
    return told


def main() -> None:
    """Print the tables."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--mains", type=int, default=20, help=f"mains of {JOINTS} joints for each cell")
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--allowable", type=float, default=3.0, help="degrees; deflections are parts of it")
    options.add_argument("--noise", choices=list(NOISES_FT), default="0.03")
    options.add_argument("--tied", action="store_true", help="tie each main at both ends")
    options.add_argument("--rests-on", choices=RESTS_ON, default="turns", help="centerline.accuracy_rests_on")
    options.add_argument("--shapes", nargs="+", choices=SHAPES, default=list(SHAPES))
    options.add_argument("--ways", nargs="+", choices=WAYS, default=WAYS)
    given = options.parse_args()
    print(f"{given.mains} mains of {JOINTS} joints in each cell, noise {given.noise} ft, seed {given.seed}; feet\n")
    print("| laid | shot | between | off, median | 95 % | stated | outside, % | in height, % |")
    print("|---" * 8 + "|")
    for shape in given.shapes:
        for spacing in SPACINGS:
            for way in given.ways:
                cell = shape, spacing, given.noise, given.allowable, way
                found = off(*cell, given.mains, given.seed, given.tied, given.rests_on)
                print(f"| {shape} | {spacing} | {way} | " + " | ".join(found.told) + " |", flush=True)
    if given.shapes != list(SHAPES):
        return
    print("\n| alignment | shot each | between | joints | off, median, m | most | outside, % |")
    print("|---" * 7 + "|")
    for file in sorted(LANDXML.glob("*.xml")):
        for spacing_m in (12.0, 30.0):
            for way in given.ways:
                print("\n".join(along_alignment(file, way, spacing_m)), flush=True)


if __name__ == "__main__":
    main()
