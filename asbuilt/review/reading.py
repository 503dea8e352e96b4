"""A placed file as the review needs it: for each route its joints in order, and everything said about them.

Any column may be missing or blank; what is not in the file is not shown.
"""

from __future__ import annotations

import difflib
import re
import sqlite3
import tomllib
import warnings
from collections.abc import Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import pyarrow as pa

from asbuilt import units
from asbuilt.arrays import Floats
from asbuilt.errors import InputFileError, JobFileError
from asbuilt.job import Job
from asbuilt.line import stationing
from asbuilt.schema import LAYERS

if TYPE_CHECKING:
    import pandas as pd

NEEDED = ("joints", "segments", "findings", "centerline", "inspections", "set_aside", "run")
LENGTH_LAYERS = ("restraint", "pressure_tests")
"""Layers of lengths of a route, which a file has or has not."""

_NUMBERS = (
    "distance", "easting", "northing", "elevation", "longitude", "latitude", "size", "sigma_horizontal",
    "accuracy_horizontal", "accuracy_vertical", "turn_deg",
    "turn_horizontal_deg", "turn_vertical_deg", "bend_angle_deg", "deflection_deg", "deflection_floor_deg",
    "deflection_ceiling_deg", "sigma_deg", "measured_deg", "sigma_measured_deg",
    "measured_direction_deg", "allowable_deg",
)  # fmt: skip
_TEXTS = (
    "joint_uid", "joint", "station", "joint_type", "kind", "restrained", "position_source", "accuracy_source",
    "allowable_source", "verdict", "deflection_source", "inspection", "inspector", "remarks", "crew",
)  # fmt: skip
_EQUATION = re.compile(r"(\S+) BK = (\S+) AH")


class Equation(NamedTuple):
    """A station equation where it lies along its route."""

    distance: float
    back: str
    ahead: str


@dataclass(frozen=True)
class Stationing:
    """The stations of one route by distance: a piece for each stretch between equations."""

    distance_from: Floats
    distance_to: Floats
    station_from: Floats
    station_to: Floats
    form: stationing.Form

    def text(self, distance: Floats) -> list[str]:
        """Write the stations at distances along the route."""
        piece = np.clip(np.searchsorted(self.distance_from, distance, side="right") - 1, 0, None)
        station = self.station_from[piece] + (distance - self.distance_from[piece]) / self._scale[piece]
        return [text or "" for text in stationing.format_stations(station, self.form).to_pylist()]

    def ticks(self, start: float, end: float, most: int) -> tuple[Floats, list[str]]:
        """Give where round stations lie between two distances, no more than so many, and how they are written."""
        step = next(step for step in self._steps() if (end - start) / (step * self._scale.min()) <= most)
        places, names = [np.zeros(0)], []
        # At an equation a station ahead of it may lie close upon one back of it.
        apart = 0.6 * (end - start) / most
        for at in range(len(self.distance_from)):
            first, last = self.station_from[at], self.station_to[at]
            round_ones = np.arange(np.ceil(first / step - 1e-9), np.floor(last / step + 1e-9) + 1) * step
            place = self.distance_from[at] + (round_ones - first) * self._scale[at]
            inside = (place >= start - 1e-6) & (place <= end + 1e-6)
            inside[:1] &= not len(places[-1]) or place[:1] - places[-1][-1] >= apart
            places.append(place[inside])
            names += stationing.format_stations(round_ones[inside], self.form, decimals=0).to_pylist()
        return np.concatenate(places), names

    @property
    def _scale(self) -> Floats:
        """Coordinate units in a station unit, by piece."""
        length = self.station_to - self.station_from
        whole = (self.distance_to - self.distance_from).sum() / max(length.sum(), 1e-9)
        return np.where(length > 0, (self.distance_to - self.distance_from) / np.where(length > 0, length, 1), whole)

    @staticmethod
    def _steps() -> Sequence[float]:
        return [base * 10.0**power for power in range(9) for base in (1, 2, 5)]


@dataclass(frozen=True)
class Route:
    """One route of a placed file; lengths are in `unit`, stations in `station_unit`."""

    name: str
    joints: pd.DataFrame
    """In order along the route, numbered from 0; with crew and remarks of each joint's record that counts, and
    own_deflection_deg: the deflection where it is known of the joint alone, NaN where floor and ceiling bound it."""
    segments: pd.DataFrame
    findings: pd.DataFrame
    """With `at`, the number of the joint, or -1."""
    inspections: pd.DataFrame
    lengths: dict[str, pd.DataFrame]
    """Rows of `LENGTH_LAYERS` on this route."""
    about: dict[Any, Any]
    """The route's row of layer centerline."""
    line: Floats
    """Distance, easting, northing and elevation of the centerline's vertices, shape (vertices, 4)."""
    stations: Stationing
    equations: tuple[Equation, ...]
    unit: str
    station_unit: str
    plan_unit: str
    """Unit of eastings and northings of the plan."""
    laying_length: float
    """In station units."""
    laying_length_from: str
    size_unit: str

    @property
    def scale(self) -> float:
        """Coordinate units in a station unit."""
        return units.factor(self.station_unit, self.unit)


@dataclass(frozen=True)
class Review:
    """A placed file, read for review."""

    path: Path
    run: dict[Any, Any]
    routes: tuple[Route, ...]
    without_joints: tuple[str, ...]
    """Routes wanted on which no joint lies."""
    set_aside: pd.DataFrame
    only_route: bool
    """The job has one route: a record that names none is of it."""
    titles: dict[tuple[str, str], str]
    """Heading of each column, by layer and name, as the file has it."""
    job: Job | None


def read_review(path: Path | str, routes: Sequence[str] = ()) -> Review:
    """Read a placed file for review.

    Parameters
    ----------
    path : path of a GeoPackage that `place` wrote
    routes : sequence of str
        Routes wanted; all, if left out.

    Returns
    -------
    Review
        With the routes that have joints.

    Raises
    ------
    InputFileError
        When the file is not a placed one, or a route is not in it.

    Examples
    --------
    Three joints, the middle one turning 2 degrees, drawn on axes of one's own:

    >>> import tempfile, asbuilt, geopandas as gpd, pandas as pd, shapely
    >>> from matplotlib.figure import Figure
    >>> from asbuilt.review import plot_deflection
    >>> line = gpd.GeoDataFrame(geometry=[shapely.LineString(
    ...     [(6700000, 2000000, 50), (6700000, 2000020, 50), (6700000.698, 2000039.988, 50)])], crs="EPSG:6418")
    >>> log = pd.DataFrame({"station": ["0+00", "0+20", "0+40"], "joint": [1, 2, 3], "size": 12,
    ...     "joint type": "push-on"})
    >>> job = asbuilt.Job.from_mapping({"name": "Quarry Lane", "centerline": {}, "limits": {"table": "awwa-c600"},
    ...     "records": {"station_unit": "us-ft", "laying_length": 20}})
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     path = Path(folder, "joints.gpkg")
    ...     asbuilt.place(job, centerline=line, records=log).write(path)
    ...     (route,) = read_review(path).routes
    >>> plot_deflection(Figure().subplots(), route)
    >>> route.joints["deflection_deg"].round(3).tolist()[1], route.stations.text(np.array([20.0]))
    (2.0, ['0+20.00'])
    """
    path = Path(path)
    titles = _titles(path)
    run = _frame(path, "run").iloc[0].to_dict()
    centerline = _centerline(path)
    wanted = _wanted(path, routes, centerline["route"].tolist())
    where = _where(wanted) if routes else None
    layers = {name: _frame(path, name, where) for name in ("joints", "segments", "findings", "inspections")}
    layers |= {name: _frame(path, name, where) for name in LENGTH_LAYERS if (name, "route") in titles}
    job = _job(run)
    by_route = {
        name: {str(route): part for route, part in frame.groupby("route", sort=False)} for name, frame in layers.items()
    }
    made = [
        _route(name, centerline[centerline["route"] == name], by_route, layers, run, job)
        for name in wanted
        if name in by_route["joints"]
    ]
    if not made:
        raise InputFileError(f"{path}: no joint lies on {' or '.join(wanted)}; name another route with --route")
    bare = tuple(name for name in wanted if name not in by_route["joints"])
    only = len(centerline["route"].unique()) == 1
    return Review(path, run, tuple(made), bare, _frame(path, "set_aside"), only, titles, job)


def _titles(path: Path) -> dict[tuple[str, str], str]:
    """Check that this is a placed file, and give the headings of its columns."""
    if not path.is_file():
        raise InputFileError(f"{path}: there is no such file; name a GeoPackage that asbuilt place wrote")
    try:
        with closing(sqlite3.connect(path.resolve().as_uri() + "?mode=ro", uri=True)) as database:
            tables = {name for (name,) in database.execute("SELECT table_name FROM gpkg_contents")}
            rows = database.execute("SELECT table_name, column_name, title FROM gpkg_data_columns").fetchall()
            runs = database.execute("SELECT count(*) FROM run").fetchone()[0] if "run" in tables else 0
    except sqlite3.Error:
        tables, rows, runs = set(), [], 0
    missing = [name for name in NEEDED if name not in tables]
    if missing or runs != 1:
        lacks = f"it has no layer {', '.join(missing)}" if tables and missing else "it is no GeoPackage of one job"
        raise InputFileError(f"{path}: not a placed file ({lacks}); name a GeoPackage that asbuilt place wrote")
    return {(layer, column): title for layer, column, title in rows}


def _wanted(path: Path, asked: Sequence[str], known: list[str]) -> list[str]:
    for name in asked:
        if name not in known:
            near = difflib.get_close_matches(name, known, n=3, cutoff=0.0)
            raise InputFileError(f"{path}: there is no route {name!r}; the nearest names are {', '.join(near)}")
    return [name for name in known if name in asked] if asked else known


def _where(routes: Sequence[str]) -> str:
    return f"route IN ({', '.join(_quoted(name) for name in routes)})"


def _quoted(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"


def _frame(path: Path, layer: str, where: str | None = None) -> pd.DataFrame:
    from pyogrio import read_dataframe

    columns = None
    if layer == "inspections":
        columns = [name for name in LAYERS[layer].columns if name != "original"]
    frame: pd.DataFrame = read_dataframe(path, layer=layer, read_geometry=False, where=where, columns=columns)
    for name in frame.columns:
        if name in _NUMBERS:
            frame[name] = frame[name].astype("float64")
    return frame


def _centerline(path: Path) -> pd.DataFrame:
    from pyogrio import read_dataframe

    with warnings.catch_warnings():
        # The measure is not needed: distance is found again from the vertices.
        warnings.filterwarnings("ignore", message="Measured")
        frame: pd.DataFrame = read_dataframe(path, layer="centerline")
    return frame


def _job(run: dict[Any, Any]) -> Job | None:
    """Give the job that the file was made by, or None where it was made in memory or by another version."""
    try:
        return Job.from_mapping(tomllib.loads(run["job"])) if run["job"] else None
    except (JobFileError, tomllib.TOMLDecodeError):
        return None


def _route(
    name: str,
    about: pd.DataFrame,
    by_route: dict[str, dict[str, pd.DataFrame]],
    layers: dict[str, pd.DataFrame],
    run: dict[Any, Any],
    job: Job | None,
) -> Route:
    parts = {layer: by_route[layer].get(name, layers[layer].iloc[:0]).reset_index(drop=True) for layer in layers}
    joints = _joints(parts["joints"], parts["inspections"])
    findings = parts["findings"]
    place = dict(zip(joints["joint_uid"], joints.index, strict=True))
    findings["at"] = [place.get(uid, -1) for uid in findings["joint_uid"]]
    line, plan_unit = _plan(about, joints, run)
    stations, equations = _stationing(about.iloc[0], joints)
    laying_length, source = _laying_length(job, parts["segments"], run)
    return Route(
        name=name,
        joints=joints,
        segments=parts["segments"],
        findings=findings,
        inspections=parts["inspections"],
        lengths={layer: parts[layer] for layer in LENGTH_LAYERS if layer in parts},
        about=about.drop(columns="geometry").iloc[0].to_dict(),
        line=line,
        stations=stations,
        equations=equations,
        unit=run["coordinate_unit"],
        station_unit=run["station_unit"],
        plan_unit=plan_unit,
        laying_length=laying_length,
        laying_length_from=source,
        size_unit=job.records.sizes_in if job else ("mm" if run["station_unit"] == "m" else "in"),
    )


def _joints(joints: pd.DataFrame, inspections: pd.DataFrame) -> pd.DataFrame:
    """Put the joints in order, give every column that the review asks for, and add crew and remarks."""
    joints = joints.sort_values("distance", kind="stable", ignore_index=True)
    last = latest_records(inspections)
    for field in ("crew", "remarks"):
        joints[field] = joints["joint_uid"].map(last[field]) if field in last else None
    for name in _NUMBERS:
        if name not in joints:
            joints[name] = np.nan
    for name in _TEXTS:
        joints[name] = joints[name].astype(object).where(joints[name].notna(), None) if name in joints else None
    # The two joints of a fitting share what it leaves of the turn: either may take all of it.
    shared = joints["bend_angle_deg"].notna() & (joints["deflection_source"] != "readings")
    shared &= joints["deflection_ceiling_deg"] > joints["deflection_deg"] + 0.005
    joints["own_deflection_deg"] = joints["deflection_deg"].mask(shared)
    return joints


def latest_records(inspections: pd.DataFrame) -> pd.DataFrame:
    """Give the record that counts of each joint, by its joint_uid: the latest by date, and then by order in the log.

    A record without a date counts as made on the latest day of the joint's records before it, as in the placing.
    """
    import pandas as pd

    ordered = inspections
    if "inspected_on" in inspections and inspections["inspected_on"].notna().any():
        uid, day = inspections["joint_uid"], pd.to_datetime(inspections["inspected_on"])
        so_far = day.groupby(uid).cummax().groupby(uid).ffill()
        ordered = inspections.loc[day.fillna(so_far).sort_values(kind="stable", na_position="first").index]
    return ordered.drop_duplicates("joint_uid", keep="last").set_index("joint_uid")


def _laying_length(job: Job | None, segments: pd.DataFrame, run: dict[Any, Any]) -> tuple[float, str]:
    if job is not None:
        return job.records.laying_length, "the job's laying length"
    scale = units.factor(run["coordinate_unit"], run["station_unit"])
    return float(segments["length"].median()) * scale, "the middle one of the surveyed lengths; the file holds no job"


def _plan(about: pd.DataFrame, joints: pd.DataFrame, run: dict[Any, Any]) -> tuple[Floats, str]:
    """Give the centerline's vertices and the unit of the plan; a map in degrees is laid flat in metres."""
    import shapely
    from pyproj import CRS, Transformer

    vertices = shapely.get_coordinates(about.geometry.to_numpy(), include_z=True)
    unit = units.of_crs(CRS(run["output_crs"])) if not CRS(run["output_crs"]).is_geographic else None
    if unit is None:
        origin = f"+lat_0={joints['latitude'].mean()} +lon_0={joints['longitude'].mean()}"
        flat = Transformer.from_crs(run["output_crs"], CRS(f"+proj=tmerc {origin} +units=m"), always_xy=True)
        vertices[:, 0], vertices[:, 1] = flat.transform(vertices[:, 0], vertices[:, 1])
        joints["easting"], joints["northing"] = flat.transform(joints["easting"], joints["northing"])
        unit = "m"
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(vertices[:, :2], axis=0).T))])
    along *= float(about["length"].iloc[0]) / along[-1]
    return np.column_stack([along, vertices]), unit


def _stationing(about: pd.Series[Any], joints: pd.DataFrame) -> tuple[Stationing, tuple[Equation, ...]]:
    """Lay the route's stations out along it, by its joints where equations break them."""
    read = stationing.parse_stations(pa.array(joints["station"], pa.string()))
    written = _EQUATION.findall(about.get("equations") or "")
    values = [[stationing.parse_station(text, key="equation") for text in pair] for pair in written]
    start = stationing.parse_station(about["start_station"], key="start_station")
    distance, length = joints["distance"].to_numpy(), float(about["length"])
    usual = _usual_scale(read.value, distance)
    station_length = max(length / usual, sum(back - start for back, _ in values[:1]))
    found = stationing.regions(
        np.array([start]), np.array([station_length]), [(0, back, ahead) for back, ahead in values], names=["route"],
        tolerance=np.inf,
    )  # fmt: skip
    resolved = stationing.resolve(found, np.zeros(len(joints), dtype=np.int64), read, np.inf)
    known = np.isfinite(resolved.distance)
    breaks = _interpolated(found.distance_from[1:], resolved.distance[known], distance[known], usual)
    edges = np.concatenate([[0.0], breaks, [length]])
    station_to = found.station_to.copy()
    station_to[-1] = found.station_from[-1] + (length - edges[-2]) / usual
    made = Stationing(edges[:-1], edges[1:], found.station_from, station_to, read.form)
    return made, tuple(Equation(float(at), *pair) for at, pair in zip(breaks, written, strict=True))


def _usual_scale(station: Floats, distance: Floats) -> float:
    """Give the coordinate units in a station unit, by the middle one of the joints' spacings."""
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.diff(distance) / np.diff(station)
    ratio = ratio[np.isfinite(ratio) & (ratio > 0)]
    return float(np.median(ratio)) if len(ratio) else 1.0


def _interpolated(wanted: Floats, known: Floats, distance: Floats, scale: float) -> Floats:
    """Carry station distances to distances along the line, between joints and on beyond them."""
    if not len(known):
        return wanted * scale
    between = np.interp(wanted, known, distance)
    beyond: Floats = np.minimum(wanted - known[0], 0.0) + np.maximum(wanted - known[-1], 0.0)
    return np.asarray(between + scale * beyond)
