"""A placed file as the review needs it: for each route its joints in order, and everything said about them.

What is blank in the file is not shown.
"""

from __future__ import annotations

import difflib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from asbuilt import units
from asbuilt.arrays import Floats
from asbuilt.errors import InputFileError
from asbuilt.judging.lengths import spacing_of
from asbuilt.line import stationing
from asbuilt.notes import Note
from asbuilt.placed import PlacedFile, read_placed
from asbuilt.review.plan import Plan, plan_of
from asbuilt.stored import GEOMETRY

if TYPE_CHECKING:
    import pandas as pd
    from pyproj import CRS

LENGTH_LAYERS = ("restraint", "pressure_tests")
"""Layers of lengths of a route."""


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
    own_deflection_deg: the deflection where it is known of the joint alone, NaN where floor and ceiling bound it, and
    may_take_deg: of joints that nothing settles, the most that each may take at the confidence of the verdicts, as its
    finding has it; NaN where nothing bounds it.
    Easting and northing are those of the plan; map_easting and map_northing those of the file's layers."""
    last: pd.DataFrame
    """The record that counts of each joint, in the order of the joints; blank where there is none."""
    segments: pd.DataFrame
    findings: pd.DataFrame
    """With `at`, the number of the joint, or -1, and the place of the finding in the file's layers."""
    inspections: pd.DataFrame
    lengths: dict[str, pd.DataFrame]
    """Rows of `LENGTH_LAYERS` on this route."""
    line: Floats
    """Distance, easting, northing and elevation of the centerline's vertices, shape (vertices, 4)."""
    shots: dict[str, float]
    """How far apart the shots are, in station units, as `judging.lengths.spacing_of` tells it; of a line through which
    nobody says that the pipe was shot, its corners. A line that curves between its shots has many more vertices."""
    stations: Stationing
    equations: tuple[Equation, ...]
    unit: str
    station_unit: str
    plan_unit: str
    """Unit of eastings and northings of the plan."""
    laying_length: float
    """In station units."""
    size_unit: str

    @property
    def scale(self) -> float:
        """Coordinate units in a station unit."""
        return units.factor(self.station_unit, self.unit)

    @cached_property
    def plan(self) -> Plan:
        """Where line and joints are drawn in plan."""
        return plan_of(self.line[:, 1:3], self.joints[["easting", "northing"]].to_numpy())


@dataclass(frozen=True)
class Review:
    """A placed file, read for review."""

    path: Path
    run: dict[str, Any]
    """The file's row of layer run."""
    notes: tuple[Note, ...]
    routes: tuple[Route, ...]
    without_joints: tuple[str, ...]
    """Routes wanted on which no joint lies."""
    set_aside: pd.DataFrame
    required: dict[str, frozenset[str | None]]
    """Fields that the job requires, and the joint families at which it does."""
    known_routes: tuple[str, ...]
    """All routes of the file, those not wanted too."""

    @property
    def geographic(self) -> bool:
        """Whether the file's layers are in degrees."""
        from pyproj import CRS

        return bool(CRS(self.run["output_crs"]).is_geographic)


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
    Three joints, the middle one turning 2 degrees, and their plot:

    >>> import tempfile, asbuilt, geopandas as gpd, pandas as pd, shapely
    >>> from asbuilt.review import plot_route
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
    >>> "allowable" in plot_route(route, "deflection", width=5).svg
    True
    >>> route.joints["deflection_deg"].round(3).tolist()[1], route.stations.text(np.array([20.0]))
    (2.0, ['0+20.00'])
    """
    from pyproj import CRS

    placed = read_placed(path)
    wanted = _wanted(placed, routes)
    only = wanted if routes else ()
    layers = {name: placed.frame(name, routes=only) for name in ("joints", "segments", "findings", *LENGTH_LAYERS)}
    layers["findings"] = _with_places(placed, layers["findings"], only)
    layers["stationing"] = placed.frame("stationing", routes=only)
    logged = [name for name in placed.columns["inspections"] if name != "original"]
    layers["inspections"] = placed.frame("inspections", logged, routes=only)
    joints = layers["joints"] = _joints(layers["joints"], layers["inspections"], layers["findings"])
    number = dict(zip(joints["joint_uid"], joints.groupby("route").cumcount(), strict=True))
    layers["findings"]["at"] = [number.get(uid, -1) for uid in layers["findings"]["joint_uid"]]
    by_route = {name: _parted(frame, frame["route"]) for name, frame in layers.items()}
    by_route["last"] = _parted(latest_records(layers["inspections"]).reindex(joints["joint_uid"]), joints["route"])
    none = {name: _plain(frame.iloc[:0]) for name, frame in layers.items()}
    centerline = placed.table("centerline", routes=only, geometry=True).to_pylist()
    crs = CRS(placed.run["output_crs"])
    made = [
        _route(about, none | {name: of[about["route"]] for name, of in by_route.items() if about["route"] in of},
               placed.run, crs)
        for about in centerline
        if about["route"] in by_route["joints"]
    ]  # fmt: skip
    if not made:
        raise InputFileError(f"{path}: no joint lies on {' or '.join(wanted)}; name another route with --route")
    bare = tuple(name for name in wanted if name not in by_route["joints"])
    return Review(
        placed.path,
        placed.run,
        placed.notes,
        tuple(made),
        bare,
        placed.frame("set_aside"),
        _required(placed),
        placed.route_names,
    )


def _with_places(placed: PlacedFile, findings: pd.DataFrame, only: Sequence[str]) -> pd.DataFrame:
    """Add to the findings where they are: those at a shot have no joint to tell it."""
    import shapely

    table = placed.table("findings", ("code",), routes=only, geometry=True)
    points = shapely.from_wkb(table[GEOMETRY].to_numpy(zero_copy_only=False))
    # Of a length there is no point, and so no place.
    return findings.assign(map_easting=shapely.get_x(points), map_northing=shapely.get_y(points))


def _required(placed: PlacedFile) -> dict[str, frozenset[str | None]]:
    """Give for each required field the joint families at which it is."""
    families: dict[str, set[str | None]] = {}
    for row in placed.table("required").to_pylist():
        families.setdefault(row["field"], set()).add(row["family"])
    return {field: frozenset(some) for field, some in families.items()}


def _wanted(placed: PlacedFile, asked: Sequence[str]) -> list[str]:
    known = list(placed.route_names)
    for name in asked:
        if name not in known:
            near = difflib.get_close_matches(name, known, n=3, cutoff=0.0)
            raise InputFileError(f"{placed.path}: there is no route {name!r}; the nearest names are {', '.join(near)}")
    return [name for name in known if name in asked] if asked else known


def _parted(frame: pd.DataFrame, route: pd.Series) -> dict[str, pd.DataFrame]:
    """Part a table by the route of each row."""
    grouped = _plain(frame).groupby(route.to_numpy(), sort=False)
    return {str(name): part.reset_index(drop=True) for name, part in grouped}


def _plain(frame: pd.DataFrame) -> pd.DataFrame:
    """Give a table whose texts are plain ones, and None where there is none, in few blocks.

    Each of the many small tables that it is parted into would else be put together from a hundred columns.
    """
    words = [str(name) for name, values in frame.items() if values.dtype.kind not in "fiub"]
    frame = frame.copy()
    frame[words] = frame[words].astype(object).where(frame[words].notna(), None)
    frame.columns = frame.columns.astype(object)
    return frame.copy()


def _route(about: dict[str, Any], parts: dict[str, pd.DataFrame], run: dict[str, Any], crs: CRS) -> Route:
    joints = parts["joints"]
    line, plan_unit = _plan(about, joints, crs)
    stations, equations = _stationing(parts["stationing"], run["station_format"])
    legs = np.diff(line[:, 0]) / units.factor(run["station_unit"], run["coordinate_unit"])
    return Route(
        name=about["route"],
        joints=joints,
        last=parts["last"],
        segments=parts["segments"],
        findings=parts["findings"],
        inspections=parts["inspections"],
        lengths={layer: parts[layer] for layer in LENGTH_LAYERS},
        line=line,
        shots=run["counts"].get("shot_spacing", {}).get(about["route"]) or spacing_of(legs),
        stations=stations,
        equations=equations,
        unit=run["coordinate_unit"],
        station_unit=run["station_unit"],
        plan_unit=plan_unit,
        laying_length=run["laying_length"],
        size_unit=run["size_unit"],
    )


def _joints(joints: pd.DataFrame, inspections: pd.DataFrame, findings: pd.DataFrame) -> pd.DataFrame:
    """Put the joints of every route in order, and give every column that the review asks for."""
    joints = joints.sort_values(["route", "distance"], kind="stable", ignore_index=True)
    joints["map_easting"], joints["map_northing"] = joints["easting"], joints["northing"]
    last = latest_records(inspections)
    for field in ("crew", "remarks"):
        joints[field] = joints["joint_uid"].map(last[field]) if field in last else None
    # The two joints of a fitting share what it leaves of the turn: either may take all of it.
    shared = joints["bend_angle_deg"].notna() & (joints["deflection_source"] != "readings")
    shared &= joints["deflection_ceiling_deg"] > joints["deflection_deg"] + 0.005
    joints["own_deflection_deg"] = joints["deflection_deg"].mask(shared)
    unclear = findings[findings["code"] == "deflection-unclear"].drop_duplicates("joint_uid").set_index("joint_uid")
    joints["may_take_deg"] = joints["joint_uid"].map(unclear["value"]).where(joints["verdict"] == "cannot-tell")
    return joints


def latest_records(inspections: pd.DataFrame) -> pd.DataFrame:
    """Give the record that counts of each joint, by its joint_uid."""
    return inspections[inspections["latest"] == "yes"].set_index("joint_uid")


def _plan(about: dict[str, Any], joints: pd.DataFrame, crs: CRS) -> tuple[Floats, str]:
    """Give the centerline's vertices and the unit of the plan; a map in degrees is laid flat in metres."""
    import shapely
    from pyproj import CRS, Transformer

    vertices = shapely.get_coordinates(shapely.from_wkb(about[GEOMETRY]), include_z=True)
    unit = units.of_crs(crs) if not crs.is_geographic else None
    if unit is None:
        origin = f"+lat_0={joints['latitude'].mean()} +lon_0={joints['longitude'].mean()}"
        flat = Transformer.from_crs(crs, CRS(f"+proj=tmerc {origin} +units=m"), always_xy=True)
        vertices[:, 0], vertices[:, 1] = flat.transform(vertices[:, 0], vertices[:, 1])
        joints["easting"], joints["northing"] = flat.transform(joints["easting"], joints["northing"])
        unit = "m"
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(vertices[:, :2], axis=0).T))])
    along *= float(about["length"]) / along[-1]
    return np.column_stack([along, vertices]), unit


def _stationing(pieces: pd.DataFrame, form: stationing.Form) -> tuple[Stationing, tuple[Equation, ...]]:
    """Take the pieces of a route's stations, and the equations between its stretches."""
    values = [pieces[name].to_numpy() for name in ("from_distance", "to_distance", "from_station", "to_station")]
    ahead = np.flatnonzero(np.diff(pieces["stretch"].to_numpy())) + 1
    back, front = (
        stationing.format_stations(station, form).to_pylist() for station in (values[3][ahead - 1], values[2][ahead])
    )
    equations = [Equation(float(values[0][at]), *pair) for at, *pair in zip(ahead, back, front, strict=True)]
    return Stationing(values[0], values[1], values[2], values[3], form), tuple(equations)
