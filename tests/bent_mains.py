"""Mains with bends at some of their joints, and the logs of some placed on the lines of others."""

import numpy as np
import pandas as pd
from laying import lines, log, pipe, place

JOINTS = 71
STATED = {"sigma_horizontal": 0.03, "sigma_vertical": 0.03}


def main(seed, bends, *, angle=22.5, joints=JOINTS, written=True):
    """Lay a main with bends at some of its joints; give its shots and its log, without its route."""
    chance = np.random.default_rng(seed)
    turn = chance.uniform(-1.0, 1.0, joints - 2)
    turn[[at - 1 for at in bends]] = angle * np.where(np.arange(len(bends)) % 2, -1.0, 1.0)
    points = pipe(turn) + np.array([400.0 * seed, 30.0 * seed, 0.0])
    told = [at in bends and written for at in range(joints)]
    return points, log(points, kind=np.where(told, "bend", "pipe"), **{"bend angle": np.where(told, f"{angle:g}", "")})


def placed(mains, named=None, *, every=2, **tables):
    """Place the logs of mains, by their names, on the lines that are named so, shot at every so manieth joint."""
    chance = np.random.default_rng(1)
    shots = {
        name: mains[other][0][::every] + chance.normal(0.0, 0.02, mains[other][0][::every].shape)
        for name, other in (named or {name: name for name in mains}).items()
    }
    records = pd.concat([one.assign(route=name) for name, (_, one) in mains.items()], ignore_index=True)
    return place(lines(**shots), records, **{"centerline": STATED, **tables})


TWO = {"A": main(1, (22, 48)), "B": main(2, (30, 56))}
