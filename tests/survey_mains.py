"""Mains whose joints are known, with the shots and the log that an errorless crew would hand in."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from laying import COMPLETE, EAST, NORTH

BENDS = (11.25, 22.5, 45.0, 90.0)


@dataclass
class Main:
    """A main as laid: where each joint is, what was shot, and what the log says."""

    places: np.ndarray
    shots: pd.DataFrame
    log: pd.DataFrame

    def truth(self):
        """Give each joint's easting and northing by its number."""
        return {str(at + 1): tuple(place[:2]) for at, place in enumerate(self.places)}


def station(along):
    """Write a distance as a station."""
    return f"{int(round(along, 2) // 100)}+{round(along, 2) % 100:05.2f}"


def laid(seed, *, joints=90, bends=4, spread=2.0, length=20.0, cuts=3, every=1, noise=0.0, grade=3.0, riser=None):
    """Lay a main: curves of small deflections, bends, cuts, rolling grades, a riser; shot at every so-many joints.

    Shots are taken at bends and ends in any case.
    """
    rng = np.random.default_rng(seed)
    turn = np.radians(rng.uniform(-spread, spread, joints))
    at_bend = np.sort(rng.choice(np.arange(4, joints - 4, 5), bends, replace=False))
    angle = rng.choice(BENDS[:3], bends)
    turn[at_bend] = np.radians(angle) * np.where(np.arange(bends) % 2, -1, 1)
    lengths = np.full(joints - 1, length)
    lengths[rng.choice(joints - 1, cuts, replace=False)] = np.round(rng.uniform(8, 15, cuts), 2)
    azimuth = rng.uniform(0, 2 * np.pi) + np.cumsum(turn)[:-1]
    slope = np.radians(np.clip(np.cumsum(rng.uniform(-0.6, 0.6, joints - 1)), -grade, grade))
    flat = lengths * np.cos(slope)
    step = np.stack([flat * np.sin(azimuth), flat * np.cos(azimuth), lengths * np.sin(slope)], axis=1)
    places = np.concatenate([[[EAST, NORTH, 150.0]], np.array([EAST, NORTH, 150.0]) + np.cumsum(step, axis=0)])
    along = np.concatenate([[0.0], np.cumsum(flat)])
    kind, angles = np.full(joints, "pipe", dtype=object), np.full(joints, "", dtype=object)
    kind[at_bend], angles[at_bend] = "bend", [f"{one:g}" for one in angle]
    if riser is not None:
        places[joints // 2 :, 2] += riser
        kind[joints // 2 - 1 : joints // 2 + 1] = "bend"
        angles[joints // 2 - 1 : joints // 2 + 1] = "90"
    shot = np.unique(np.concatenate([np.arange(0, joints, every), at_bend, [joints // 2 - 1, joints // 2, joints - 1]]))
    seen = places[shot] + rng.normal(0, noise, (len(shot), 3)) if noise else places[shot]
    shots = pd.DataFrame({
        "point": 1001 + np.arange(len(shot)), "northing": np.round(seen[:, 1], 3), "easting": np.round(seen[:, 0], 3),
        "elevation": np.round(seen[:, 2], 3), "description": "WM-A TOP",
    })  # fmt: skip
    log = pd.DataFrame({
        "joint": [str(at + 1) for at in range(joints)], "station": [station(one) for one in along],
        "kind": kind, "bend angle": angles, "laid length": [f"{one:.2f}" for one in [*lengths, length]], **COMPLETE,
    })  # fmt: skip
    log["cut"] = ["yes" if one < length else "" for one in [*lengths, length]]
    return Main(places, shots, log)


def nearest_row(main, joint):
    """Give the shot nearest to a joint, counted from 0."""
    place = main.places[joint]
    away = np.hypot(main.shots["easting"] - place[0], main.shots["northing"] - place[1])
    return int(np.argmin(away))
