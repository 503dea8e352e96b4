"""A placed file as a drawing needs it: lines, joints and findings in one unit, and how stations run on the lines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from asbuilt import units
from asbuilt.arrays import Floats
from asbuilt.errors import InputFileError
from asbuilt.placed import PlacedFile, read_placed

if TYPE_CHECKING:
    import geopandas as gpd
    import pandas as pd
    from pyproj import CRS


MISS_TOLD = 0.01
"""A miss of stations from here on is told."""


@dataclass(frozen=True)
class Line:
    """One route as it lies, in the drawing's unit."""

    name: str
    points: Floats
    """Easting, northing and elevation of its vertices, shape (n, 3); NaN where no elevation is known."""
    along: Floats
    """Distance of each vertex from the start, measured on these points, shape (n,)."""
    start_station: float
    equations: tuple[tuple[float, float, float], ...]
    """Where stations jump: distance along the line, station back, station ahead."""
    station_miss: float
    """How far a station counted along the line may be from the job's, at most: stations on the ground, ties."""


@dataclass(frozen=True)
class Work:
    """What was built, in a projected system."""

    placed: PlacedFile
    crs: CRS
    unit: str
    """Of all lengths: that of the system's eastings."""
    lines: tuple[Line, ...]
    joints: pd.DataFrame
    """With easting, northing and elevation in `unit`."""
    findings: gpd.GeoDataFrame


def read_work(path: Path | str, routes: Sequence[str] = ()) -> Work:
    """Read a placed file for a drawing.

    Parameters
    ----------
    path : path of a GeoPackage that `place` wrote
    routes : sequence of str
        Routes wanted; all, if left out.

    Raises
    ------
    InputFileError
        When the file is not a placed one, a route is not in it, or it is in degrees, in which nothing can be drawn.
    """
    from pyproj import CRS

    placed = read_placed(path)
    strange = [name for name in routes if name not in placed.route_names]
    if strange:
        raise InputFileError(
            f"{placed.path}: there is no route {strange[0]!r}; its routes are {', '.join(placed.route_names[:10])}"
        )
    crs = CRS(placed.run["output_crs"])
    unit = None if crs.is_geographic else units.of_crs(crs)
    if unit is None:
        raise InputFileError(
            f"{placed.path}: its layers are in {crs.name}, which is not in feet or metres, so nothing can be drawn to "
            "scale; place the job with a projected system in output.crs"
        )
    up = units.factor(placed.run["coordinate_unit"], unit)
    stations = units.factor(placed.run["station_unit"], unit)
    pieces = dict(list(placed.frame("stationing", routes=routes).groupby("route", sort=False)))
    shapes = placed.shapes("centerline", routes=routes)
    lines = tuple(
        _line(str(name), shape, float(length), pieces[name], up, stations)
        for name, shape, length in zip(shapes["route"], shapes.geometry, shapes["length"], strict=True)
    )
    joints = placed.frame("joints", routes=routes)
    joints["elevation"] *= up
    return Work(placed, crs, unit, lines, joints, placed.shapes("findings", routes=routes))


def _line(name: str, shape: object, length: float, pieces: pd.DataFrame, up: float, stations: float) -> Line:
    """Lay out a route; `up` and `stations` lead from the file's units to the drawing's."""
    import shapely

    points = shapely.get_coordinates(shape, include_z=True) * [1.0, 1.0, up]
    step = np.hypot(*np.diff(points[:, :2], axis=0).T)
    # Two shots of one place make no length of line.
    kept = np.concatenate([[True], step > 1e-6])
    points, step = points[kept], step[step > 1e-6]
    along = np.concatenate([[0.0], np.cumsum(step)])
    at = {word: pieces[f"{word}_distance"].to_numpy() * along[-1] / length for word in ("from", "to")}
    station = {word: pieces[f"{word}_station"].to_numpy() * stations for word in ("from", "to")}
    jump = np.flatnonzero(np.diff(pieces["stretch"].to_numpy())) + 1
    equations, back = [], float(station["from"][0])
    miss, since = 0.0, 0.0
    for number in range(len(pieces)):
        if number in jump:
            back += at["from"][number] - since
            equations.append((float(at["from"][number]), back, float(station["from"][number])))
            back, since = float(station["from"][number]), float(at["from"][number])
        for word in ("from", "to"):
            counted = back + at[word][number] - since
            miss = max(miss, abs(float(counted - station[word][number])))
    return Line(name, points, along, float(station["from"][0]), tuple(equations), miss)
