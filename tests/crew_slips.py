"""Slips of a crew or a clerk with stations and numbers, planted in logs of several sheets whose joints are known.

A job has one route or two, laid in one of several shapes and logged on several sheets, each a file of its own. The
truth is where the joints were laid.
"""

import datetime as dt
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
import pandas as pd
from laying import COMPLETE, CRS, EAST, NORTH, TODAY
from survey_mains import BENDS, station

import asbuilt

SHAPES = ("straight", "curved", "S", "bends", "one bend", "two routes", "rolling")
A_DAY, A_SHEET = 18, 30


@dataclass
class Logged:
    """A job as a crew would hand it in: its log, its shots, and where each joint truly lies."""

    log: pd.DataFrame
    """With `sheet`, and `truth`: the row of `places`."""
    shots: pd.DataFrame
    places: np.ndarray
    station_error: float
    values: dict[str, Any]

    def sheet(self, which, route="A"):
        """Give the rows of a sheet."""
        return self.log.index[(self.log["sheet"] == which) & (self.log["route"] == route)]

    def along(self, rows):
        return np.array([float(one.replace("+", "")) for one in self.log.loc[rows, "station"]])

    def say(self, rows, along):
        self.log.loc[rows, "station"] = [station(one) for one in along]


def logged(seed, *, shape=None, every=None, noise=None, error=None, cuts=None, lengths=None, joints=None, known=None):
    """Lay a job; what is not said is drawn."""
    rng = np.random.default_rng([seed, 77])
    shape = SHAPES[seed % len(SHAPES)] if shape is None else shape
    every = int(rng.choice([1, 1, 2, 3, 5])) if every is None else every
    noise = float(rng.choice([0.0, 0.02, 0.05])) if noise is None else noise
    error = float(rng.choice([0.0, 0.05, 0.1, 0.3])) if error is None else error
    cuts = int(rng.choice([0, 2, 5, 12])) if cuts is None else cuts
    lengths = bool(rng.random() < 0.6) if lengths is None else lengths
    many = int(rng.integers(70, 130)) if joints is None else joints
    bends_logged = bool(rng.random() < 0.85)
    parts, shot, places = [], [], []
    for number, route in enumerate("AB" if shape == "two routes" else "A"):
        log, own, seen = _main(rng, shape, many, cuts, error, every, noise, bends=bends_logged)
        own[:, 0] += 3000.0 * number
        seen["easting"] += 3000.0 * number
        log["route"], seen["route"] = route, route
        log["truth"] = np.arange(len(own)) + number * many
        parts.append(log)
        shot.append(seen)
        places.append(own)
    log = pd.concat(parts, ignore_index=True)
    if not lengths:
        log = log.drop(columns=["laid length", "cut"])
    values = {
        "centerline": {},
        "records": {"sigma_station": error} if (rng.random() < 0.5 if known is None else known) else {},
    }
    if noise:
        values["centerline"] = {"sigma_horizontal": noise, "sigma_vertical": noise}
    return Logged(log, pd.concat(shot, ignore_index=True), np.concatenate(places), error, values)


def _main(rng, shape, many, cuts, error, every, noise, *, bends):
    turn = np.radians({
        "straight": rng.normal(0.0, 0.1, many), "curved": rng.uniform(0.2, 2.0, many),
        "S": 1.5 * np.sin(np.arange(many) / many * 4.0 * np.pi) + rng.normal(0.0, 0.2, many),
    }.get(shape, rng.uniform(-1.5, 1.5, many)))  # fmt: skip
    angle = np.zeros(many)
    count = {"bends": 5, "one bend": 1, "two routes": 3}.get(shape, 0)
    if count:
        at = np.sort(rng.choice(np.arange(5, many - 5, 6), count, replace=False))
        angle[at] = rng.choice(BENDS[1:3] if count == 1 else BENDS[:3], count)
        turn[at] = np.radians(angle[at]) * np.where(np.arange(count) % 2, -1, 1)
    length = np.full(many - 1, 20.0)
    if cuts:
        length[rng.choice(many - 1, cuts, replace=False)] = np.round(rng.uniform(5.0, 17.5, cuts), 2)
    slope = (
        np.radians(np.clip(np.cumsum(rng.uniform(-0.6, 0.6, many - 1)), -4, 4))
        if shape == "rolling"
        else np.zeros(many - 1)
    )
    azimuth = rng.uniform(0, 2 * np.pi) + np.cumsum(turn)[:-1]
    flat = length * np.cos(slope)
    step = np.stack([flat * np.sin(azimuth), flat * np.cos(azimuth), length * np.sin(slope)], axis=1)
    first = np.array([[EAST, NORTH, 150.0]])
    places = np.concatenate([first, first + np.cumsum(step, axis=0)])
    along = np.concatenate([[0.0], np.cumsum(flat)])
    if error:
        along = np.maximum(np.round(along + rng.normal(0.0, error, many), 2), 0.0)
        along[0] = 0.0
        along[-1] = np.cumsum(flat)[-1]
    vertex = np.unique(np.concatenate([np.arange(0, many, every), np.flatnonzero(angle), [many - 1]]))
    seen = places[vertex] + rng.normal(0.0, noise, (len(vertex), 3)) if noise else places[vertex]
    shots = pd.DataFrame({
        "point": 1001 + np.arange(len(vertex)), "northing": np.round(seen[:, 1], 3),
        "easting": np.round(seen[:, 0], 3), "elevation": np.round(seen[:, 2], 3),
    })  # fmt: skip
    days = np.arange(many) // A_DAY
    log = pd.DataFrame({
        "joint": [str(at + 1) for at in range(many)], "station": [station(one) for one in along],
        "laid length": [f"{one:.2f}" for one in [*length, 20.0]],
        "cut": ["yes" if one < 20.0 else "" for one in [*length, 20.0]], **COMPLETE,
    })  # fmt: skip
    if bends:
        log["kind"] = np.where(angle > 0, "bend", "pipe")
        log["bend angle"] = [f"{one:g}" if one else "" for one in angle]
    log["date"] = [f"{dt.date(2026, 4, 1) + dt.timedelta(days=int(one))}" for one in days]
    log["sheet"] = np.arange(many) // A_SHEET
    return log, places, shots


class Told(NamedTuple):
    """What came of it."""

    refused: str
    placement: Any
    off: np.ndarray
    """How far each joint stands from where it was laid, ft."""
    far: np.ndarray
    """Whether it stands farther off than 2 ft and than the accuracy stated for it; that alone, where none is."""

    @property
    def silent(self):
        """Count the joints that are farther off than is said, and have a verdict."""
        judged = self.placement.joints["verdict"].isin(["within", "within-assumed", "over"])
        return int((self.far & judged).sum())

    @property
    def falsely_sure(self):
        """Count the joints that are farther off than the accuracy stated for them, and 2 ft."""
        accuracy = self.placement.joints["accuracy_horizontal"].to_numpy(float)
        return int((self.off > accuracy + 2.0).sum())

    @property
    def codes(self):
        return [] if self.placement is None else self.placement.findings["code"].tolist()


def told(folder, job, **tables):
    """Place a job whose sheets are files, and hold it against the truth."""
    folder.mkdir(parents=True, exist_ok=True)
    names = []
    for which, rows in job.log.groupby("sheet", sort=True):
        names.append(f"sheet {which}.csv")
        rows.drop(columns=["sheet", "truth"]).to_csv(folder / names[-1], index=False)
    job.shots.to_csv(folder / "shots.csv", index=False)
    values = {
        "name": "Slips", "crs": CRS,
        "centerline": {"path": "shots.csv", "start_station": 0, **job.values["centerline"]},
        "records": {"path": names, "station_unit": "us-ft", "laying_length": 20.0, **job.values["records"]},
        "limits": {"table": "awwa-c600"}, **tables,
    }  # fmt: skip
    try:
        placement = asbuilt.place(asbuilt.Job.from_mapping(values, folder=folder), today=TODAY)
    except asbuilt.AsbuiltError as error:
        none = np.zeros(0)
        return Told(str(error), None, none, none.astype(bool))
    truth = {}
    for which, rows in job.log.groupby("sheet", sort=True):
        truth |= {(f"sheet {which}.csv", at + 2): own for at, own in enumerate(rows["truth"])}
    joints = placement.joints
    # The record of each joint that counts.
    mine = placement.inspections.drop_duplicates("joint_uid", keep="last").set_index("joint_uid")
    where = [truth[mine.loc[uid, "file"], int(mine.loc[uid, "row"])] for uid in joints["joint_uid"]]
    real = job.places[where]
    off = np.hypot(joints["easting"].to_numpy() - real[:, 0], joints["northing"].to_numpy() - real[:, 1])
    accuracy = joints["accuracy_horizontal"].to_numpy(float)
    far = off > np.maximum(np.nan_to_num(accuracy), 2.0)
    return Told("", placement, off, far)
