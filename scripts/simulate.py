"""Hold verdicts against the truth: simulated mains of known deflections, surveyed more or less closely.

    python scripts/simulate.py              # the tables of scripts/docs/measured/verdicts.md
    python scripts/simulate.py --mains 10   # the same from fewer mains

Mains of many shapes are laid in three allowables, and shot at every joint, at some of them, between them or beside
them, with noise in all three coordinates; the verdict on each joint is then held against what it truly takes.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))
from laying import starts

import asbuilt

LENGTH_FT, JOINTS = 20.0, 60
ALLOWABLES_DEG = (1.5, 3.0, 5.0)
NOISES_FT = {"0": (0.0, 0.0), "0.03": (0.03, 0.03), "0.1": (0.1, 0.1), "0.02 / 0.1": (0.02, 0.1)}
"""Horizontal and vertical."""
NEAR_FT, BEND_DEG = 0.9, 22.5
START = np.array([6_700_000.0, 2_000_000.0, 500.0])
Floats = Any
"""An array of numbers."""
Cell = tuple[str, str, str, float]
"""Shape, spacing, noise, allowable."""


def straight(chance: np.random.Generator, many: int) -> Floats:
    return chance.normal(0.0, 0.05, many) + 0j


def constant(chance: np.random.Generator, many: int) -> Floats:
    return np.full(many, chance.uniform(0.5, 1.3) * chance.choice([-1, 1])) + 0j


def uneven(chance: np.random.Generator, many: int) -> Floats:
    return np.abs(chance.normal(chance.uniform(0.3, 1.1), 0.3, many)) + 0j


def s_curve(chance: np.random.Generator, many: int) -> Floats:
    return chance.uniform(0.5, 1.3) * np.where(np.arange(many) < many * chance.uniform(0.3, 0.7), 1.0, -1.0) + 0j


def alternating(chance: np.random.Generator, many: int) -> Floats:
    return chance.uniform(0.5, 1.3) * (-1.0) ** np.arange(many) + 0j


def zigzag(chance: np.random.Generator, many: int) -> Floats:
    return chance.uniform(-1.3, 1.3, many) + 0j


def kinks(chance: np.random.Generator, many: int) -> Floats:
    return np.where(chance.random(many) < 0.1, chance.uniform(-1.5, 1.5, many), chance.normal(0.0, 0.03, many)) + 0j


def vertical(chance: np.random.Generator, many: int) -> Floats:
    # Up and down in turn, each so short that no pipe stands upright.
    return 1j * uneven(chance, many) * np.where((np.arange(many) + 7) // 14 % 2 == 0, 1.0, -1.0)


def compound(chance: np.random.Generator, many: int) -> Floats:
    return uneven(chance, many) * np.exp(1j * (chance.uniform(0, 2 * np.pi) + np.linspace(0.0, 2.0, many)))


def random_ways(chance: np.random.Generator, many: int) -> Floats:
    return chance.uniform(0.0, 1.3, many) * np.exp(1j * chance.uniform(0, 2 * np.pi, many))


SHAPES: dict[str, Callable[[np.random.Generator, int], Floats]] = {
    "straight": straight, "constant curve": constant, "uneven curve": uneven, "S": s_curve, "alternating": alternating,
    "zigzag": zigzag, "kinks": kinks, "vertical": vertical, "compound": compound, "all ways": random_ways,
    "mixed allowables": uneven, "bends, plane logged": random_ways, "bends, no plane": random_ways,
}  # fmt: skip
"""Deflections of a main's joints as parts of their allowables: to the right, and upward as the imaginary part."""
ONE_WAY = ("straight", "constant curve", "uneven curve", "mixed allowables")
"""Shapes that curve one way between any two shots, noise aside."""
SPACINGS = ("every", "2nd", "5th", "random", "mid-pipe", "near")
TAKEN_AS_AT_JOINTS = {
    "at joints, unsaid": 0.0, "taken so, 1 ft past": 1.0 / LENGTH_FT, "taken so, at quarter": 0.25,
    "taken so, mid-pipe": 0.5,
}  # fmt: skip
"""How far ahead of its joint each shot lies, as a part of a pipe, where the first shot is given as the first joint."""


@dataclass(frozen=True)
class Told:
    """Joints of a cell, counted by what is said of them and by what they are; mains by whether one over was found."""

    joints: int = 0
    within: int = 0
    assumed: int = 0
    over: int = 0
    unclear: int = 0
    truly_over: int = 0
    wrong_within: int = 0
    wrong_assumed: int = 0
    wrong_over: int = 0
    mains_over: int = 0
    mains_found: int = 0

    def __add__(self, other: Told) -> Told:
        return Told(**{name: getattr(self, name) + getattr(other, name) for name in self.__dataclass_fields__})


@dataclass(frozen=True)
class Main:
    """A main as laid: its joints in space, what each takes of what it allows, and its bends."""

    points: Floats
    part: Floats
    """Deflection over allowable at each joint but the first and the last; the larger of a bend's two joints."""
    allowable: Floats
    bend: np.ndarray


def lay(shape: str, allowable_deg: float, chance: np.random.Generator) -> Main:
    """Lay one main of a shape."""
    many = JOINTS - 2
    allowable = np.full(many, allowable_deg)
    if shape == "mixed allowables":
        allowable = np.where(np.arange(many) % 2 == 0, allowable_deg, 0.3 * allowable_deg)
    ways, other = SHAPES[shape](chance, many), np.zeros(many) + 0j
    bend, roll, slope = np.zeros(many, dtype=bool), np.zeros(many), chance.uniform(-0.03, 0.03)
    if shape.startswith("bends"):
        bend[9::10] = True
        for at in np.flatnonzero(bend):
            other[at] = SHAPES[shape](chance, 1)[0]
            roll[at] = 0.0 if shape.endswith("logged") else chance.uniform(0, 2 * np.pi)
    points = run(ways * allowable, other * allowable, np.where(bend, BEND_DEG, 0.0), roll, slope)
    return Main(points, np.maximum(np.abs(ways), np.abs(other)), allowable, bend)


def run(
    ways: Floats, other: Floats, bend_deg: Floats, roll: Floats, slope: float, length: Floats | float = LENGTH_FT
) -> Floats:
    """Give the joints of a main in space.

    Parameters
    ----------
    ways : array, shape (joints - 2,)
        What each joint turns, degrees: to the right, and upward as the imaginary part.
    other : array, shape (joints - 2,)
        The same of the second joint of a bend.
    bend_deg : array, shape (joints - 2,)
        0 where there is no bend.
    roll : array, shape (joints - 2,)
        Where the bend turns to, radians from the right toward the top of the pipe.
    slope : of the first pipe
    length : array, shape (joints - 1,), or a number
        Of the pipes, ft.
    """
    length = np.broadcast_to(length, len(ways) + 1)
    ahead, side, up = np.array([0.0, 1.0, 0.0]), np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, 1.0])
    ahead, up = ahead * np.cos(slope) + up * np.sin(slope), up * np.cos(slope) - ahead * np.sin(slope)
    points = [START, START + length[0] * ahead]
    for at, first in enumerate(ways):
        turns = [first]
        if bend_deg[at]:
            turns += [bend_deg[at] * np.exp(1j * roll[at]), other[at]]
        for turn in np.pi / 180.0 * np.array(turns):
            to = np.cos(np.angle(turn)) * side + np.sin(np.angle(turn)) * up
            axis, size = np.cross(ahead, to), abs(turn)
            ahead, side, up = (
                one * np.cos(size) + np.cross(axis, one) * np.sin(size) + axis * (axis @ one) * (1 - np.cos(size))
                for one in (ahead, side, up)
            )
        if bend_deg[at]:
            # The next fitting lies in a plane of its own: level again, where it is logged so.
            side = np.array([ahead[1], -ahead[0], 0.0]) / np.hypot(ahead[0], ahead[1])
            up = np.cross(side, ahead)
        points.append(points[-1] + length[at + 1] * ahead)
    return np.array(points)


def shots_along(spacing: str, chance: np.random.Generator) -> Floats:
    """Give where a main is shot: in lengths of pipe from its first joint."""
    last = JOINTS - 1
    if spacing in TAKEN_AS_AT_JOINTS:
        return np.minimum(np.arange(JOINTS) + TAKEN_AS_AT_JOINTS[spacing], last)
    if spacing == "mid-pipe":
        return np.concatenate([[0.0], np.arange(last) + 0.5, [last]])
    if spacing == "near":
        return np.concatenate([[0.0], np.arange(1, last) + NEAR_FT / LENGTH_FT, [last]])
    if spacing == "random":
        return np.concatenate([[0.0], 1.0 + np.flatnonzero(chance.random(last - 1) < 0.4), [last]])
    return np.unique(np.append(np.arange(0, JOINTS, {"every": 1, "2nd": 2, "5th": 5}[spacing]), last)).astype(float)


def survey(main: Main, spacing: str, noise: tuple[float, float], chance: np.random.Generator) -> tuple[Floats, Floats]:
    """Shoot one main; give the shots, and the stations of all joints along the line through them."""
    along = shots_along(spacing, chance)
    exact = np.stack([np.interp(along, np.arange(JOINTS), one) for one in main.points.T], axis=1)
    shots = exact + chance.normal(size=exact.shape) * [noise[0], noise[0], noise[1]]
    chord = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(shots[:, :2], axis=0).T))])
    return shots, chord if spacing in TAKEN_AS_AT_JOINTS else np.interp(np.arange(JOINTS), along, chord)


def tell(
    shape: str, spacing: str, noise: tuple[float, float], allowable_deg: float, mains: int, seed: int, **more: object
) -> Told:
    """Lay, survey and judge mains of one cell, and count what is said of their joints.

    Parameters
    ----------
    shape : a key of `SHAPES`
    spacing : one of `SPACINGS`
    noise : horizontal and vertical, ft
    allowable_deg : float
    mains : int
    seed : int
    more
        Tables of the job, added to.
    """
    chance = np.random.default_rng(
        [seed, *shape.encode(), *spacing.encode(), int(1e4 * noise[1]), int(10 * allowable_deg)]
    )
    laid = [lay(shape, allowable_deg, chance) for _ in range(mains)]
    shot = [survey(main, spacing, noise, chance) for main in laid]
    said = spacing not in TAKEN_AS_AT_JOINTS
    placement = placed(laid, shot, noise, shape.endswith("logged"), said, **more)
    return counted(placement, laid)


def placed(
    laid: list[Main],
    shot: list[tuple[Floats, Floats]],
    noise: tuple[float, float],
    plane: bool,
    said: bool = True,
    **more: object,
) -> asbuilt.Placement:
    """Place the logs of mains on the lines of their shots; `said` by a job that says that shots are at joints."""
    names = [f"M{number}" for number in range(len(laid))]
    logs = []
    for name, main, (_, station) in zip(names, laid, shot, strict=True):
        bend = np.concatenate([[False], main.bend, [False]])
        logs.append(pd.DataFrame({
            "route": name, "joint": np.arange(JOINTS), "station": station, "size": 12,
            "joint type": joint_types(main), "kind": np.where(bend, "bend", "pipe"),
            "bend angle": np.where(bend, f"{BEND_DEG}", ""), "plane": np.where(bend & plane, "right", ""),
        }))  # fmt: skip
    line = gpd.GeoDataFrame(
        {"route": names}, geometry=[shapely.LineString(shots) for shots, _ in shot], crs="EPSG:6418"
    )
    with tempfile.TemporaryDirectory() as folder:
        write_allowables(laid, Path(folder))
        values: dict[str, object] = {
            "name": "simulated",
            "centerline": {"route": "route", "sigma_horizontal": noise[0], "sigma_vertical": noise[1],
                           "shots_at_joints": said, "starts": starts(line)},
            "records": {"station_unit": "us-ft", "laying_length": LENGTH_FT, "station_format": "decimal",
                        "station_tolerance": 2.0, "spacing_tolerance": 2.0},
            "limits": {"project": "allowables.csv"},
        }  # fmt: skip
        values |= more
        job = asbuilt.Job.from_mapping(values, folder=folder)
        return asbuilt.place(job, centerline=line, records=pd.concat(logs, ignore_index=True))


def joint_types(main: Main) -> list[str]:
    """Give the type of each joint of a main, by what it allows."""
    return [f"kind {one:g}" for one in (main.allowable[0], *main.allowable, main.allowable[-1])]


def write_allowables(laid: list[Main], folder: Path) -> None:
    """Write what the types of joints of some mains allow."""
    kinds = sorted({kind for main in laid for kind in joint_types(main)})
    rows = "\n".join(f"{kind},12,{kind.split()[1]},simulated" for kind in kinds)
    (folder / "allowables.csv").write_text(f"joint_type,size,allowable_deg,source\n{rows}\n")


def counted(placement: asbuilt.Placement, laid: list[Main]) -> Told:
    """Count joints by what is said of them and by what they are."""
    part = np.concatenate([np.concatenate([[0.0], main.part, [0.0]]) for main in laid])
    truly = part > 1.0
    verdict, seen = placement.joints["verdict"].to_numpy(), placement.judged.seen
    # Where joints share a turn, "over" says that one of them is.
    upto = np.concatenate([[0], np.cumsum(truly)])
    one_is = upto[seen.last + 1] > upto[seen.first]
    one_is = np.where(seen.exact, truly, one_is)
    over = verdict == "over"
    judged = np.isin(verdict, ("within", "within-assumed", "over", "cannot-tell"))
    by_main = (truly & judged).reshape(len(laid), -1).any(axis=1), over.reshape(len(laid), -1).any(axis=1)
    return Told(
        joints=int(judged.sum()), within=int((verdict == "within").sum()),
        assumed=int((verdict == "within-assumed").sum()), over=int(over.sum()),
        unclear=int((verdict == "cannot-tell").sum()), truly_over=int((truly & judged).sum()),
        wrong_within=int(((verdict == "within") & truly).sum()),
        wrong_assumed=int(((verdict == "within-assumed") & truly).sum()), wrong_over=int((over & ~one_is).sum()),
        mains_over=int(by_main[0].sum()), mains_found=int((by_main[0] & by_main[1]).sum()),
    )  # fmt: skip


def main() -> None:
    """Print the tables."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--mains", type=int, default=40, help=f"mains of {JOINTS} joints simulated for each cell")
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--taken", action="store_true", help="shots beside joints, taken as at them, instead")
    options.add_argument("--shapes", nargs="+", choices=SHAPES, default=list(SHAPES))
    given = options.parse_args()
    spacings = tuple(TAKEN_AS_AT_JOINTS) if given.taken else SPACINGS
    many = len(given.shapes) * len(spacings) * len(NOISES_FT) * len(ALLOWABLES_DEG)
    print(f"{given.mains} mains of {JOINTS} joints in each of {many} cells, seed {given.seed}; percent\n")
    print(
        "| laid | shot | cannot tell | within | if assumed | wrong within, of those over | wrong if assumed, of those "
        "over | wrong over, of the others | mains over that are found |"
    )
    print("|---" * 9 + "|")
    cells: dict[Cell, Told] = {}
    for shape in given.shapes:
        for spacing in spacings:
            some = {
                (shape, spacing, noise, allowable): tell(
                    shape, spacing, NOISES_FT[noise], allowable, given.mains, given.seed
                )
                for noise in NOISES_FT
                for allowable in ALLOWABLES_DEG
            }
            print(f"| {shape} | {spacing} | " + " | ".join(_shares(sum(some.values(), Told()))) + " |", flush=True)
            cells |= some
    print("\nWorst cells (wrong, of how many; more than 5 % beyond chance are marked):\n")
    for name, of in (("wrong_within", "truly_over"), ("wrong_over", "others"), ("wrong_assumed", "truly_over")):
        for key, wrong, many in worst(cells, name, of):
            print(f"- {name}: {', '.join(map(str, key))}: {wrong} of {many}{beyond_chance(wrong, many)}")


def worst(cells: dict[Cell, Told], name: str, of: str) -> list[tuple[Cell, int, int]]:
    """List the five cells with the largest share of wrong verdicts of a kind; of those assumed, on one-way shapes."""
    shares = []
    for key, told in cells.items():
        many = told.truly_over if of == "truly_over" else told.joints - told.truly_over
        if many and (name != "wrong_assumed" or key[0] in ONE_WAY):
            shares.append((key, getattr(told, name), many))
    return sorted(shares, key=lambda one: -one[1] / one[2])[:5]


def beyond_chance(wrong: int, many: int) -> str:
    """Say where more are wrong than the stated 5 % and chance explain: one cell in a thousand or fewer."""
    chance = 0.05 * many + 3.09 * (0.05 * 0.95 * many) ** 0.5 + 1.0
    return "  **more than chance**" if wrong > chance else ""


def _shares(told: Told) -> list[str]:
    others = told.joints - told.truly_over
    pairs = (
        (told.unclear, told.joints), (told.within, told.joints), (told.assumed, told.joints),
        (told.wrong_within, told.truly_over), (told.wrong_assumed, told.truly_over), (told.wrong_over, others),
        (told.mains_found, told.mains_over),
    )  # fmt: skip
    return [f"{100.0 * part / whole:.1f}" if whole else "–" for part, whole in pairs]


if __name__ == "__main__":
    main()
