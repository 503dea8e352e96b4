"""Small jobs for tests: a line, a log and a job file's values, all in memory."""

import datetime as dt

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

import asbuilt

EAST, NORTH, CRS = 6_700_000.0, 2_000_000.0, "EPSG:6418"
EXACT = {"sigma_horizontal": 0.0, "sigma_vertical": 0.0}
"""Shots that the job says are without error."""
LOOKED_AT = {"shots_checked": [f"A:{number}" for number in range(1, 101)]}
"""Shots without error that stand for true ones of the stated standard error: the job says that they are right."""
TODAY = dt.date(2026, 7, 1)
MADE = dt.datetime(2026, 7, 1, tzinfo=dt.UTC)

COMPLETE = {
    "size": "12", "joint type": "push-on", "inspector": "R. Vance", "date": "2026-04-02",
    "home to mark": "yes", "gauge": "ok", "gasket temp": "55",
}  # fmt: skip


def pipe(turns, *, length=20.0, up=0.0):
    """Lay lengths with given turns (degrees) between them, starting north; give the joints' positions."""
    azimuth = np.radians(np.concatenate([[0.0], np.cumsum(turns)]))
    step = length * np.stack([np.sin(azimuth), np.cos(azimuth), np.full(len(azimuth), up)], axis=1)
    return np.concatenate([[[EAST, NORTH, 50.0]], np.array([EAST, NORTH, 50.0]) + np.cumsum(step, axis=0)])


def lines(**routes):
    """Make a centerline layer of routes given by name as points."""
    return gpd.GeoDataFrame(
        {"route": list(routes)}, geometry=[shapely.LineString(points) for points in routes.values()], crs=CRS
    )


def log(points, *, start=0.0, first=1, **more):
    """Make a complete log with a record at each joint; columns given by name replace or add to it."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points[:, :2], axis=0).T))]) + start
    stations = [f"{int(at // 100)}+{at % 100:05.2f}" for at in np.round(along, 2)]
    stations = [text.replace("+100.00", "+99.99") for text in stations]
    columns = {"joint": [str(first + number) for number in range(len(points))], "station": stations, **COMPLETE, **more}
    return pd.DataFrame(columns, index=range(len(points)))


def values(*, centerline=None, records=None, **tables):
    """Give a job's values, with tables added to; the mains are shot at their joints, and the job says so."""
    return {
        "name": "Quarry Lane",
        "centerline": {"route": "route", "shots_at_joints": True, **(centerline or {})},
        "records": {"station_unit": "us-ft", "laying_length": 20.0, **(records or {})},
        "limits": {"table": "awwa-c600"},
        **tables,
    }


def starts(line: gpd.GeoDataFrame) -> dict[str, str]:
    """Say of each route of a layer at which of its ends its stations start: where it is drawn from; of no ring."""
    found = {}
    for name, one in zip(line["route"], line.geometry, strict=True):
        (east, north), (last_east, last_north) = one.coords[0][:2], one.coords[-1][:2]
        if np.hypot(east - last_east, north - last_north) >= 0.02 * one.length:
            octant = round(np.arctan2(east - last_east, north - last_north) / (np.pi / 4))
            found[name] = COMPASS[octant % 8]
    return found


COMPASS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")


def place(line, log, *, told=True, **tables):
    """Place a log in memory; the job says at which end of each line the stations start, unless it is not told."""
    whole = values(**tables)
    if told and not {"starts", "reversed"} & set(whole["centerline"]) and "route" in line:
        whole["centerline"]["starts"] = starts(line)
    job = asbuilt.Job.from_mapping(whole)
    return asbuilt.place(job, centerline=line, records=log, today=TODAY)


def crowded():
    """Place a main of 2,000 ft with six bends and three equations within 200 ft of one another."""
    turn = np.zeros(98)
    turn[[39, 40, 43, 44, 47, 48]] = [45.0, -45.0, 22.5, -22.5, 11.25, -11.25]
    points = pipe(turn)
    records = log(points)
    angle = {40: 45, 41: 45, 44: 22.5, 45: 22.5, 48: 11.25, 49: 11.25}
    records["kind"] = ["bend" if at in angle else "pipe" for at in range(100)]
    records["bend angle"] = [str(angle.get(at, "")) for at in range(100)]
    along = 20.0 * np.arange(100) + 1e-6
    ahead = along + 500.0 * np.searchsorted([810.0, 850.0, 890.0], along)
    records["station"] = [f"{int(at // 100)}+{at % 100:05.2f}" for at in ahead]
    equations = [{"route": "A", "back": back, "ahead": ahead}
                 for back, ahead in (("8+10", "13+10"), ("13+50", "18+50"), ("18+90", "23+90"))]  # fmt: skip
    return place(lines(A=points), records, told=False, centerline={"equations": equations})


def codes(placement, joint=None):
    """List the codes of the findings, of one joint if named."""
    found = placement.findings
    return sorted(found["code"] if joint is None else found.loc[found["joint"] == joint, "code"])


def two_exchanged():
    """Place the logs of two equally long mains with bends on the lines of one another."""
    chance = np.random.default_rng(4)
    shots, logs = {}, []
    for name, other, bends in (("A", "B", (22, 48)), ("B", "A", (30, 56))):
        turn = chance.uniform(-1.0, 1.0, 69)
        turn[[at - 1 for at in bends]] = 22.5, -22.5
        points = pipe(turn) + np.array([500.0 * len(logs), 0.0, 0.0])
        told = np.isin(np.arange(71), bends)
        more = {"kind": np.where(told, "bend", "pipe"), "bend angle": np.where(told, "22.5", "")}
        logs.append(log(points, route=name, **more))
        shots[other] = points[::2] + chance.normal(0.0, 0.02, points[::2].shape)
    return place(lines(**shots), pd.concat(logs, ignore_index=True), centerline={"sigma_horizontal": 0.02})
