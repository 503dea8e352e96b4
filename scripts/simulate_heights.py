"""Verdicts against the truth where elevations were measured at some shots only.

Mains with planted turns upward or downward are shot at every joint, or at every second one, with a part of the
elevations left out at random, or every second one. Printed: how many joints over their allowable are called within, or
within if the pipe bends one way between elevations; how many of the latter lie where it does so; and how many are
called over though none of the joints that share their turn is.

Run as ``.venv/bin/python scripts/simulate_heights.py``.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
from simulate import JOINTS, Main, Told, counted, lay, placed, run, shots_along, survey

Floats = Any
"""An array of numbers."""
ALLOWABLE_DEG, NOISE_FT = 5.0, (0.03, 0.03)
LEFT_OUT = {"10 %": 0.1, "50 %": 0.5, "90 %": 0.9, "every second": None}
NONE_DEG = 0.1
"""Turns against one another that sum up to less are none."""
LAID = ("planted", "planted in a curve", "vertical", "all ways", "straight", "uneven curve")


def planted(chance: np.random.Generator, curve: float) -> Main:
    """Lay a main with three joints that turn 1.05 to 1.6 of what they allow, up or down, in a curve or none."""
    many = JOINTS - 2
    ways = np.full(many, curve) * chance.choice([-1, 1]) + chance.normal(0.0, 0.03, many)
    at = 8 + 16 * np.arange(3) + chance.integers(0, 8, 3)
    ways[at] = 0.0
    ways = ways + 0j
    ways[at] = 1j * chance.choice([-1, 1], 3) * chance.uniform(1.05, 1.6, 3)
    none = np.zeros(many)
    points = run(ways * ALLOWABLE_DEG, none + 0j, none, none, chance.uniform(-0.03, 0.03))
    return Main(points, np.abs(ways), np.full(many, ALLOWABLE_DEG), none.astype(bool))


def laid(kind: str, chance: np.random.Generator) -> Main:
    """Lay one main of a kind."""
    if kind.startswith("planted"):
        return planted(chance, 0.3 if kind.endswith("curve") else 0.0)
    return lay(kind, ALLOWABLE_DEG, chance)


def leave_out(shots: Floats, part: float | None, chance: np.random.Generator) -> Floats:
    """Leave out a part of the elevations, but for the first and the last."""
    kept = np.arange(len(shots)) % 2 == 0 if part is None else chance.random(len(shots)) >= part
    kept[[0, -1]] = True
    return np.column_stack([shots[:, :2], np.where(kept, shots[:, 2], np.nan)])


def turns(main: Main) -> tuple[Floats, Floats]:
    """Give what the joints of a main turn in plan and in height, degrees."""
    east, north, up = np.diff(main.points, axis=0).T
    azimuth, grade = np.degrees(np.unwrap(np.arctan2(east, north))), np.degrees(np.arctan2(up, np.hypot(east, north)))
    found = [np.concatenate([[0.0], np.diff(one), [0.0]]) for one in (azimuth, grade)]
    return found[0], found[1]


def as_assumed(turn: Floats, places: Floats, *, alone_shows: bool) -> Floats:
    """Say at which joints the main turns one way as far as the measurements reach that bound them.

    Parameters
    ----------
    turn : array, shape (joints,)
    places : array of int
        Joints at which it was measured.
    alone_shows : bool
        True where a joint measured with both its neighbours needs no assumption.
    """
    found = np.ones(len(turn), dtype=bool)
    for joint in np.flatnonzero(np.abs(turn) > NONE_DEG):
        at = int(np.searchsorted(places, joint))
        if alone_shows and {joint - 1, joint, joint + 1} <= set(places.tolist()):
            continue
        low = places[max(at - (1 if at < len(places) and places[at] == joint else 2), 0)]
        high = places[min(at + 1, len(places) - 1)]
        against = turn[low + 1 : high] * np.sign(turn[joint])
        # Where no change shows at all, it is taken to turn not at all.
        shown = ((places > low) & (places < high)).any()
        found[joint] = shown and -against[against < 0].sum() < NONE_DEG
    return found


def tell(kind: str, spacing: str, part: float | None, mains: int, seed: int) -> tuple[Told, int]:
    """Lay, survey and judge mains; count what is said of their joints, and what is wrong though all lies as assumed."""
    chance = np.random.default_rng([seed, *kind.encode(), *spacing.encode(), int(100 * (part or 0))])
    some = [laid(kind, chance) for _ in range(mains)]
    shot = [survey(main, spacing, NOISE_FT, chance) for main in some]
    shot = [(leave_out(shots, part, chance), station) for shots, station in shot]
    placement = placed(some, shot, NOISE_FT, False)
    assumed = (placement.joints["verdict"] == "within-assumed").to_numpy().reshape(mains, -1)
    wrong = 0
    for main, (shots, _), within in zip(some, shot, assumed, strict=True):
        along = shots_along(spacing, chance).astype(int)
        plan, height = turns(main)
        holds = as_assumed(plan, along, alone_shows=True)
        holds &= as_assumed(height, along[np.isfinite(shots[:, 2])], alone_shows=True)
        wrong += int((within & holds & (np.concatenate([[0.0], main.part, [0.0]]) > 1.0)).sum())
    return counted(placement, some), wrong


def main() -> None:
    """Print the table."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--mains", type=int, default=40, help=f"mains of {JOINTS} joints simulated for each cell")
    options.add_argument("--seed", type=int, default=1)
    given = options.parse_args()
    print("| laid | shot | left out | over | within | if assumed | cannot tell | over, called within | "
          "over, called within if | of these, where it is as assumed | wrong over |")  # fmt: skip
    print("|---" * 11 + "|")
    for kind in LAID:
        for spacing in ("every", "2nd"):
            for name, part in LEFT_OUT.items():
                told, though = tell(kind, spacing, part, given.mains, given.seed)
                shares = [told.within, told.assumed, told.unclear]
                wrong = [told.wrong_within, told.wrong_assumed]
                cells = [f"{100 * one / told.joints:.1f}" for one in shares]
                cells += [f"{100 * one / told.truly_over:.1f}" if told.truly_over else "–" for one in wrong]
                cells += [str(though), f"{100 * told.wrong_over / max(told.joints - told.truly_over, 1):.2f}"]
                print(f"| {kind} | {spacing} | {name} | {told.truly_over} | {' | '.join(cells)} |", flush=True)


if __name__ == "__main__":
    main()
