"""A placed file as the review needs it: for each route its joints in order, and everything said about them.

What is blank in the file is not shown.
"""

from __future__ import annotations

import difflib
from bisect import bisect_left
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints, as_ints
from asbuilt.errors import InputFileError
from asbuilt.judging.lengths import spacing_of
from asbuilt.line import stationing
from asbuilt.notes import Note
from asbuilt.placed import PlacedFile, read_placed
from asbuilt.review.plan import Plan, plan_of
from asbuilt.review.rows import Rows
from asbuilt.review.turns import Turn, least_over, turns_named
from asbuilt.stored import GEOMETRY

if TYPE_CHECKING:
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
        # Several plots ask for the same ones.
        if (start, end, most) not in self._known:
            self._known[start, end, most] = self._ticks(start, end, most)
        return self._known[start, end, most]

    @cached_property
    def _known(self) -> dict[tuple[float, float, int], tuple[Floats, list[str]]]:
        return {}

    def _ticks(self, start: float, end: float, most: int) -> tuple[Floats, list[str]]:
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

    @cached_property
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
    joints: Rows
    """In order along the route, numbered from 0; with crew and remarks of each joint's record that counts, and
    own_deflection_deg: the deflection where it is known of the joint alone, NaN where floor and ceiling bound it, and
    may_take_deg: of joints that nothing settles, the most that each may take at the confidence of the verdicts, as its
    finding has it; NaN where nothing bounds it.
    Easting and northing are those of the plan; map_easting and map_northing those of the file's layers."""
    last: Rows
    """The record that counts of each joint, in the order of the joints; blank where there is none."""
    segments: Rows
    findings: Rows
    """With `at`, the number of the joint, or -1, and the place of the finding in the file's layers."""
    inspections: Rows
    lengths: dict[str, Rows]
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
    doubts: tuple[dict[str, Any], ...] = ()
    """Lengths on which joints may stand elsewhere, as `judging.doubted.Doubted.places` gives them."""

    @cached_property
    def place_doubted(self) -> list[str]:
        """By which findings each joint may stand elsewhere, their codes; blank where it was surveyed, or by none."""
        told: list[list[str]] = [[] for _ in range(len(self.joints))]
        at = self.joints["distance"]
        for one in self.doubts:
            there = (at >= one["from"]) & (at <= one["to"]) & self._by_stations
            for joint in np.flatnonzero(there).tolist():
                told[joint] += [] if one["code"] in told[joint] else [one["code"]]
        return [", ".join(codes) for codes in told]

    @cached_property
    def by_station(self) -> dict[str, list[int]]:
        """The joints at each station, in their order along the route."""
        found: dict[str, list[int]] = {}
        for at, station in enumerate(self.joints["station"].tolist()):
            found.setdefault(station, []).append(at)
        return found

    def turns_named(self, code: str) -> dict[int, Turn]:
        """Give the joints that findings of a code name, besides the joint that each is at: those that share a turn."""
        some = self.findings.take((self.findings["code"] == code) & (self.findings["at"] >= 0))
        columns = (some[name].tolist() for name in ("at", "from_station", "to_station"))
        return dict(turns_named(zip(*columns, strict=True), self.by_station))

    @cached_property
    def shared_turns(self) -> dict[int, Turn]:
        """Of each joint that is over by a turn shared with others, or by what a bend leaves to its ends, which."""
        return self.turns_named("deflection-over")

    @cached_property
    def _turns(self) -> list[Turn]:
        return sorted(set(self.shared_turns.values()))

    def over_at_least(self, first: int = 0, last: int | None = None) -> tuple[int, int]:
        """Count the joints over, at least, from one joint to another, and the shared turns by which that is known."""
        last = len(self.joints) - 1 if last is None else last
        over = (np.flatnonzero(self.joints["verdict"][first : last + 1] == "over") + first).tolist()
        # A turn of which joints beyond have a part tells nothing of those here.
        start, end = (bisect_left(self._turns, (at,)) for at in (first, last + 1))
        turns = [turn for turn in self._turns[start:end] if turn.last <= last]
        return least_over([at for at in over if at not in self.shared_turns], turns), len(turns)

    def one_of(self, at: int) -> str:
        """Name the joints that share the turn by which a joint is over; blank where it is over by itself, or not."""
        turn = self.shared_turns.get(at)
        return f"one of {' to '.join(str(self.joints['joint'][one] or '?') for one in turn)}" if turn else ""

    @cached_property
    def misplaced(self) -> Bools:
        """True for the joints that are known to stand elsewhere than they were laid, shape (joints,)."""
        lost = any(one["misplaced"] for one in self.doubts)
        # An older file does not say it, but of this.
        lost |= "routes-exchanged" in self.findings["code"].tolist()
        return self._by_stations & lost

    @cached_property
    def _by_stations(self) -> Bools:
        found: Bools = self.joints["position_source"] == "station"
        return found

    @property
    def scale(self) -> float:
        """Coordinate units in a station unit."""
        return units.factor(self.station_unit, self.unit)

    @cached_property
    def plan(self) -> Plan:
        """Where line and joints are drawn in plan."""
        return plan_of(self.line[:, 1:3], np.column_stack([self.joints["easting"], self.joints["northing"]]))


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
    set_aside: Rows
    required: dict[str, frozenset[str | None]]
    """Fields that the job requires, and the joint families at which it does."""
    known_routes: tuple[str, ...]
    """All routes of the file, those not wanted too."""

    def notes_on(self, route: Route) -> list[Note]:
        """Give the notes on the whole job and on this route, with those on routes that have no page of their own."""
        return [note for note in self.notes if stands_on(note.routes, route.name, self.without_joints)]

    @cached_property
    def geographic(self) -> bool:
        """Whether the file's layers are in degrees."""
        from pyproj import CRS

        return bool(CRS(self.run["output_crs"]).is_geographic)


def stands_on(routes: Collection[str], page: str, without_page: Collection[str]) -> bool:
    """Say whether what is said of some routes, or of the whole job where it names none, stands on the page of a route.

    Parameters
    ----------
    routes : collection of str
    page : str
        Name of the page's route.
    without_page : collection of str
        Routes on which no joint lies: what is said of them stands on the pages of all others, or it would on none.

    Examples
    --------
    >>> [stands_on(routes, "A", ("C",)) for routes in ((), ("A", "B"), ("B",), ("C",))]
    [True, True, False, True]
    """
    return not routes or page in routes or any(one in without_page for one in routes)


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
    centerline = placed.table("centerline", routes=only, geometry=True).to_pylist()
    names = [about["route"] for about in centerline]
    tables = {
        name: placed.table(name, routes=only)
        for name in ("joints", "segments", "findings", "stationing", *LENGTH_LAYERS)
    }
    logged = [name for name in placed.columns["inspections"] if name != "original"]
    tables["inspections"] = placed.table("inspections", logged, routes=only)
    number = {name: _numbers(table["route"], names) for name, table in tables.items()}
    rows = {name: Rows.of(table) for name, table in tables.items()}
    order = np.lexsort((rows["joints"]["distance"], number["joints"]))
    number["joints"], joints = number["joints"][order], rows["joints"].take(order)
    place = {uid: at for at, uid in enumerate(joints["joint_uid"].tolist())}
    rows["findings"] = _with_places(placed, rows["findings"], only)
    rows["findings"] = rows["findings"].plus(at=_at(rows["findings"], place, number["joints"]))
    number["last"], rows["last"] = number["joints"], _latest(rows["inspections"], place)
    rows["joints"] = _joints(joints, rows["last"], rows["findings"], place)
    by_route = {name: _parted(some, number[name], len(names)) for name, some in rows.items()}
    crs = CRS(placed.run["output_crs"])
    made = [
        _route(about, {name: of[at] for name, of in by_route.items()}, placed.run, crs)
        for at, about in enumerate(centerline)
        if len(by_route["joints"][at])
    ]
    if not made:
        raise InputFileError(f"{path}: no joint lies on {' or '.join(wanted)}; name another route with --route")
    with_joints = {route.name for route in made}
    bare = tuple(name for name in wanted if name not in with_joints)
    return Review(
        placed.path,
        placed.run,
        placed.notes,
        tuple(made),
        bare,
        Rows.of(placed.table("set_aside")),
        _required(placed),
        placed.route_names,
    )


def _numbers(route: pa.ChunkedArray, names: Sequence[str]) -> Ints:
    """Give the number of each row's route among the names; -1 of a row that is of none."""
    return as_ints(pc.index_in(route, pa.array(names, pa.string())).combine_chunks(), -1)


def _with_places(placed: PlacedFile, findings: Rows, only: Sequence[str]) -> Rows:
    """Add to the findings where they are: those at a shot have no joint to tell it."""
    import shapely

    table = placed.table("findings", ("code",), routes=only, geometry=True)
    points = shapely.from_wkb(table[GEOMETRY].to_numpy(zero_copy_only=False))
    # Of a length there is no point, and so no place.
    return findings.plus(map_easting=shapely.get_x(points), map_northing=shapely.get_y(points))


def _at(findings: Rows, place: dict[str, int], route: Ints) -> Ints:
    """Give the number of each finding's joint on its route; -1 of one that is at no joint."""
    at = np.array([place.get(uid, -1) for uid in findings["joint_uid"].tolist()], dtype=np.int64)
    first = np.searchsorted(route, route)
    return np.where(at >= 0, at - first[at], -1) if len(at) else at


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


def _parted(rows: Rows, route: Ints, routes: int) -> list[Rows]:
    """Part rows by the number of each one's route."""
    order = np.argsort(route, kind="stable")
    ends = np.searchsorted(route[order], np.arange(routes + 1))
    sorted_rows = rows if (order[1:] > order[:-1]).all() else rows.take(order)
    return [sorted_rows.take(slice(*ends[at : at + 2].tolist())) for at in range(routes)]


def _route(about: dict[str, Any], parts: dict[str, Rows], run: dict[str, Any], crs: CRS) -> Route:
    line, joints, plan_unit = _plan(about, parts["joints"], crs)
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
        doubts=tuple(run["counts"].get("places_doubted", {}).get(about["route"], ())),
    )


def _joints(joints: Rows, last: Rows, findings: Rows, place: dict[str, int]) -> Rows:
    """Give the joints every column that the review asks for."""
    nothing = np.full(len(joints), None, dtype=object)
    told = {field: last.get(field, nothing) for field in ("crew", "remarks")}
    # The two joints of a fitting share what it leaves of the turn: either may take all of it.
    bend, own = joints["bend_angle_deg"], joints["deflection_deg"]
    shared = (bend == bend) & (joints["deflection_source"] != "readings")
    shared &= joints["deflection_ceiling_deg"] > own + 0.005
    may_take, unclear = np.full(len(joints), np.nan), findings.take(findings["code"] == "deflection-unclear")
    may_take[[place[uid] for uid in unclear["joint_uid"].tolist()]] = unclear["value"]
    return joints.plus(
        **told, map_easting=joints["easting"], map_northing=joints["northing"],
        own_deflection_deg=np.where(shared, np.nan, own),
        may_take_deg=np.where(joints["verdict"] == "cannot-tell", may_take, np.nan),
    )  # fmt: skip


def _latest(inspections: Rows, place: dict[str, int]) -> Rows:
    """Give the record that counts of each joint, in the order of the joints; a blank one where there is none."""
    counts = np.flatnonzero(inspections["latest"] == "yes")
    record = np.full(len(place), -1, dtype=np.int64)
    record[[place[uid] for uid in inspections["joint_uid"][counts].tolist()]] = counts
    return inspections.take(record)


def _plan(about: dict[str, Any], joints: Rows, crs: CRS) -> tuple[Floats, Rows, str]:
    """Give the centerline's vertices, the joints and the unit of the plan; a map in degrees is laid flat in metres."""
    import shapely
    from pyproj import CRS, Transformer

    vertices = shapely.get_coordinates(shapely.from_wkb(about[GEOMETRY]), include_z=True)
    unit = units.of_crs(crs) if not crs.is_geographic else None
    if unit is None:
        origin = f"+lat_0={np.nanmean(joints['latitude'])} +lon_0={np.nanmean(joints['longitude'])}"
        flat = Transformer.from_crs(crs, CRS(f"+proj=tmerc {origin} +units=m"), always_xy=True)
        vertices[:, 0], vertices[:, 1] = flat.transform(vertices[:, 0], vertices[:, 1])
        joints = joints.plus(
            **dict(zip(("easting", "northing"), flat.transform(joints["easting"], joints["northing"]), strict=True))
        )
        unit = "m"
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(vertices[:, :2], axis=0).T))])
    along *= float(about["length"]) / along[-1]
    return np.column_stack([along, vertices]), joints, unit


def _stationing(pieces: Rows, form: stationing.Form) -> tuple[Stationing, tuple[Equation, ...]]:
    """Take the pieces of a route's stations, and the equations between its stretches."""
    values = [pieces[name] for name in ("from_distance", "to_distance", "from_station", "to_station")]
    ahead = np.flatnonzero(np.diff(pieces["stretch"])) + 1
    back, front = (
        stationing.format_stations(station, form).to_pylist() for station in (values[3][ahead - 1], values[2][ahead])
    )
    equations = [Equation(float(values[0][at]), *pair) for at, *pair in zip(ahead, back, front, strict=True)]
    return Stationing(values[0], values[1], values[2], values[3], form), tuple(equations)
