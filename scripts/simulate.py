"""Hold verdicts against the truth: a simulated main of known deflections, surveyed more or less closely.

    python scripts/simulate.py            # the table that stands in DEVELOPERS.md

The main is laid in curves and straights whose deflections are known. It is shot at every joint, or at every 2nd, 5th or
10th, with noise in all three coordinates; the verdict on each joint is then compared with what it truly takes.
"""

from __future__ import annotations

import argparse

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

import asbuilt

LENGTH_FT, ALLOWABLE_DEG = 20.0, 5.0
LENGTHS_PER_SHOT = (1, 2, 5, 10)
NOISES_FT = (0.01, 0.03, 0.1)


def main() -> None:
    """Print how often each verdict is right, wrong, or that the survey cannot tell."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--mains", type=int, default=40, help="mains of 300 joints simulated for each row")
    mains = options.parse_args().mains
    print(f"{mains} mains of 300 joints for each row; {ALLOWABLE_DEG:g} deg allowed; percent")
    print("| laid | lengths per shot | noise, ft | right | cannot tell | within, of those over | over, of the others |")
    print("|---|---|---|---|---|---|---|")
    for laid in ("curves", "zigzags"):
        for lengths in LENGTHS_PER_SHOT:
            for noise in NOISES_FT:
                told = np.sum([verdicts_of(laid, lengths, noise, seed) for seed in range(mains)], axis=0)
                shares = 100.0 * told[:4] / [told[4:].sum(), told[4:].sum(), *told[4:]]
                print(f"| {laid} | {lengths} | {noise} | " + " | ".join(f"{share:.1f}" for share in shares) + " |")


def verdicts_of(laid: str, lengths: int, noise: float, seed: int) -> np.ndarray:
    """Lay and survey one main, and count its joints by what is said of them and by what they are.

    Parameters
    ----------
    laid : {"curves", "zigzags"}
    lengths : int
        Lengths of pipe from shot to shot.
    noise : float
        Standard error of a shot in each coordinate, ft.
    seed : int

    Returns
    -------
    array, shape (6,)
        Joints with a right verdict, with none, with a wrong within, with a wrong over; joints over, joints not over.
    """
    chance = np.random.default_rng(seed)
    deflection, joints = (curves if laid == "curves" else zigzags)(chance)
    shots = joints[::lengths] + chance.normal(0.0, noise, joints[::lengths].shape)
    placement = surveyed(shots, joints, noise)
    found = placement.joints.iloc[1:-1]
    verdict = found["verdict"].to_numpy()
    over = deflection > ALLOWABLE_DEG
    # Where joints share a turn, "over" says that one of them is.
    seen = placement.judged.seen
    one_is = np.array([over[max(a - 1, 0) : b].any() for a, b in zip(seen.first[1:-1], seen.last[1:-1], strict=True)])
    one_is = np.where(seen.exact[1:-1], over, one_is)
    verdict = np.where(verdict == "within-assumed", "within", verdict)
    judged = np.isin(verdict, ("within", "over", "cannot-tell"))
    wrong_within, wrong_over = (verdict == "within") & over, (verdict == "over") & ~one_is
    open_ = verdict == "cannot-tell"
    right = judged & ~open_ & ~wrong_within & ~wrong_over
    told = [right.sum(), open_.sum(), wrong_within.sum(), wrong_over.sum()]
    return np.array([*told, (judged & over).sum(), (judged & ~over).sum()])


def surveyed(shots: np.ndarray, joints: np.ndarray, noise: float) -> asbuilt.Placement:
    """Place a log of all joints on a line of shots."""
    step = np.diff(shots[:, :2], axis=0)
    chord = np.concatenate([[0.0], np.cumsum(np.hypot(*step.T))])
    every = round((len(joints) - 1) / (len(shots) - 1))
    station = np.interp(np.arange(len(joints)), np.arange(len(shots)) * every, chord)
    log = pd.DataFrame({"joint": np.arange(len(joints)), "station": station, "size": 12, "joint type": "push-on"})
    line = gpd.GeoDataFrame(geometry=[shapely.LineString(shots)], crs="EPSG:6418")
    job = asbuilt.Job.from_mapping(
        {
            "name": "simulated",
            "centerline": {"sigma_horizontal": noise, "sigma_vertical": noise},
            "records": {"station_unit": "us-ft", "laying_length": LENGTH_FT, "station_format": "decimal"},
            "limits": {"table": "awwa-c600"},
        }
    )
    return asbuilt.place(job, centerline=line, records=log)


def curves(chance: np.random.Generator, count: int = 301) -> tuple[np.ndarray, np.ndarray]:
    """Lay straights and curves; give the deflection at every joint between two lengths, degrees, and all joints."""
    turn: list[float] = []
    while len(turn) < count - 2:
        run = int(chance.integers(10, 40))
        if chance.random() < 0.3:
            turn += chance.normal(0.0, 0.3, run).tolist()
        else:
            side, size = chance.choice([-1, 1]), chance.uniform(1.0, 6.0)
            turn += (side * np.abs(chance.normal(size, 0.5, run))).tolist()
    return _laid(np.array(turn[: count - 2]), chance)


def zigzags(chance: np.random.Generator, count: int = 301) -> tuple[np.ndarray, np.ndarray]:
    """Lay joints that turn to the left and to the right by chance: what sparse shots cannot see."""
    return _laid(chance.uniform(-6.5, 6.5, count - 2), chance)


def _laid(turn: np.ndarray, chance: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    azimuth = np.radians(np.concatenate([[0.0], np.cumsum(turn)]))
    grade = np.full(len(azimuth), np.arctan(chance.uniform(-0.03, 0.03)))
    level = LENGTH_FT * np.cos(grade)
    step = np.stack([level * np.sin(azimuth), level * np.cos(azimuth), LENGTH_FT * np.sin(grade)], axis=1)
    start = np.array([[6_700_000.0, 2_000_000.0, 500.0]])
    joints = start + np.concatenate([np.zeros((1, 3)), np.cumsum(step, axis=0)])
    cosine = np.cos(grade[0]) ** 2 * np.cos(np.radians(turn)) + np.sin(grade[0]) ** 2
    return np.degrees(np.arccos(np.clip(cosine, -1.0, 1.0))), joints


if __name__ == "__main__":
    main()
