"""Verdicts against the truth where elevations were measured at some shots only.

Mains with planted turns upward or downward are shot at every joint, or at every second one, with a part of the
elevations left out at random, or every second one. Printed: how many joints over their allowable are called within, or
within if the pipe bends one way between elevations.

Run as ``.venv/bin/python scripts/simulate_heights.py``.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
from simulate import JOINTS, Main, Told, counted, lay, placed, run, survey

Floats = Any
"""An array of numbers."""
ALLOWABLE_DEG, NOISE_FT = 5.0, (0.03, 0.03)
LEFT_OUT = {"10 %": 0.1, "50 %": 0.5, "90 %": 0.9, "every second": None}
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


def tell(kind: str, spacing: str, part: float | None, mains: int, seed: int) -> Told:
    """Lay, survey and judge mains, and count what is said of their joints."""
    chance = np.random.default_rng([seed, *kind.encode(), *spacing.encode(), int(100 * (part or 0))])
    some = [laid(kind, chance) for _ in range(mains)]
    shot = [survey(main, spacing, NOISE_FT, chance) for main in some]
    shot = [(leave_out(shots, part, chance), station) for shots, station in shot]
    return counted(placed(some, shot, NOISE_FT, False), some)


def main() -> None:
    """Print the table."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--mains", type=int, default=40, help=f"mains of {JOINTS} joints simulated for each cell")
    options.add_argument("--seed", type=int, default=1)
    given = options.parse_args()
    print("| laid | shot | left out | over | within | if assumed | cannot tell | over, called within | "
          "over, called within if |")  # fmt: skip
    print("|---" * 9 + "|")
    for kind in LAID:
        for spacing in ("every", "2nd"):
            for name, part in LEFT_OUT.items():
                told = tell(kind, spacing, part, given.mains, given.seed)
                shares = [told.within, told.assumed, told.unclear]
                wrong = [told.wrong_within, told.wrong_assumed]
                cells = [f"{100 * one / told.joints:.1f}" for one in shares]
                cells += [f"{100 * one / told.truly_over:.1f}" if told.truly_over else "–" for one in wrong]
                print(f"| {kind} | {spacing} | {name} | {told.truly_over} | {' | '.join(cells)} |", flush=True)


if __name__ == "__main__":
    main()
