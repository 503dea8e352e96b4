"""Routes as flat arrays of vertices, and points found along them by distance.

Route `r` owns the vertices `first[r]` up to `first[r + 1]`; distances run from its first vertex, in the
units of the coordinates.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import numpy.typing as npt
import pyarrow as pa

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints, as_mask, running, together
from asbuilt.errors import InputFileError
from asbuilt.held import concatenated, cuts, held, in_blocks, with_held
from asbuilt.line.curves import Pieces, Profile

if TYPE_CHECKING:
    from pyproj import CRS

    from asbuilt.line.projection import Step
    from asbuilt.line.ties import Calibration


FARTHEST = 1e9
"""No easting or northing on the ground is larger."""


class Among(NamedTuple):
    """Where some routes of a job lie among all of them: what is laid out one route behind another is as in the job."""

    before: int
    """How many routes of the job come before the first one."""
    along: Floats
    """As for `Routes.along`."""
    farthest: float
    """As for `Routes.farthest`."""


@dataclass(frozen=True)
class Routes:
    """Surveyed routes: shapes (routes,) and (vertices,), coordinates in the units of `crs`."""

    names: tuple[str, ...]
    first: Ints
    easting: Floats
    northing: Floats
    elevation: Floats
    """Elevation of each vertex; NaN where it is unknown."""
    distance: Floats
    """Horizontal distance of each vertex from its route's start."""
    slope_distance: Floats
    """Distance along the line in space from its route's start; NaN beyond an unknown elevation."""
    start_station: Floats
    """Station of each route's first vertex, in station units."""
    crs: CRS
    unit: str
    notes: tuple[str, ...] = ()
    inputs: tuple[tuple[str, str], ...] = ()
    """Path and SHA-256 of each file read."""
    source: str | None = None
    """How the line came about: "survey", "drawn" or "design"; None where nobody says."""
    pieces: Pieces | None = None
    """Lines, curves and spirals between successive vertices, where the centerline is an alignment; a route has one
    piece less than vertices. Without them the vertices are concatenated by straights."""
    arcs: Pieces | None = None
    """Arcs between successive vertices, where the job places joints between shots on a curve through these."""
    corner: Bools | None = None
    """Vertices at a fitting, whose turn the line does not share: shape (vertices,)."""
    profiles: tuple[Profile | None, ...] = ()
    """Vertical alignment of each route that has one."""
    equations: tuple[tuple[int, float, float], ...] = ()
    """Station equations that stand in the centerline's file: route, back, ahead."""
    sigma_horizontal: Floats | None = None
    """Standard error of each vertex in easting and in northing, coordinate units; None where none is stated."""
    sigma_vertical: Floats | None = None
    """Standard error of each vertex's elevation, coordinate units; None where none is stated."""
    rounding_horizontal: Floats | None = None
    """Standard error that rounding makes in each vertex's easting and northing, coordinate units, where it is more than
    the one stated, and 0 elsewhere; None where none was rounded so far."""
    rounding_vertical: Floats | None = None
    """The same of elevations."""
    height_measured: Bools | None = None
    """True where the vertex's elevation was measured, and not put between measured ones; None where all known are."""
    shot_joint: pa.Array | None = None
    """Number of the joint that each vertex is a shot of, where the shots carry any; null for others."""
    shot_point: pa.Array | None = None
    """Point number of each vertex, where the centerline is a file of shots that has them."""
    shot_row: Ints | None = None
    """Row of each vertex in its file, where the centerline is a file of shots."""
    shot_word: pa.Array | None = None
    """First word of each shot's description, where the centerline is a file of shots that has them."""
    matches: tuple[tuple[str, str, str], ...] = ()
    """File, field and column of every match of a column, where the centerline is a file of shots."""
    not_read: tuple[tuple[str, str], ...] = ()
    """File and name of every column of a file of shots that no field is read from."""
    calibration: Calibration | None = None
    """How the stations lie on the line, where the job has ties."""
    datum_step: Step | None = None
    """What carried the line over from degrees, where its file is in degrees."""
    among: Among | None = None
    """Where these routes lie among those of the job; None where they are all of them."""

    def of_routes(self, start: int, stop: int) -> Routes:
        """Give successive routes as a line of their own, from `start` up to, and without, `stop`."""
        low, high = int(self.first[start]), int(self.first[stop])
        parts = {
            name: values[low:high] for name in _OF_VERTICES if (values := getattr(self, name)) is not None
        }  # fmt: skip
        # A route has one piece less than vertices.
        pieces = {
            name: values.part(low - start, high - stop)
            for name in ("pieces", "arcs")
            if (values := getattr(self, name)) is not None
        }
        return replace(
            self,
            names=self.names[start:stop],
            first=self.first[start : stop + 1] - low,
            start_station=self.start_station[start:stop],
            profiles=self.profiles[start:stop],
            equations=equations_of(self.equations, start, stop),
            calibration=self.calibration.of_routes(start, stop) if self.calibration is not None else None,
            among=Among(start, self.along[low:high], self.farthest),
            **parts,
            **pieces,
        )

    def held(self, rows: int) -> Routes:
        """Give the same routes; those of a large job out of a file, which has `rows` rows."""
        return with_held(self, max(rows, len(self.easting)), (*_OF_VERTICES, "pieces", "arcs"))

    @cached_property
    def errors(self) -> tuple[Floats | None, Floats | None]:
        """Standard errors of the vertices in plan and in height: what is stated, and what rounding adds to it."""
        plan, up = (
            sigma if rounding is None else rounding if sigma is None else np.hypot(sigma, rounding)
            for sigma, rounding in (
                (self.sigma_horizontal, self.rounding_horizontal), (self.sigma_vertical, self.rounding_vertical),
            )
        )  # fmt: skip
        return held((plan, up), len(self.easting))

    @cached_property
    def along(self) -> Floats:
        """A length in space for every vertex, running on from route to route with a wide gap between."""
        if self.among is not None:
            return self.among.along
        rise = np.nan_to_num(np.diff(self.elevation))
        step = np.sqrt(np.diff(self.easting) ** 2 + np.diff(self.northing) ** 2 + rise**2)
        apart = np.diff(self.vertex_route) > 0
        step[apart] = 1.0 + step[~apart].max(initial=1.0)
        return held(np.concatenate([[0.0], np.cumsum(step)]), len(self.easting))

    @cached_property
    def farthest(self) -> float:
        """The largest distance of a vertex from its route's start in the job."""
        return self.among.farthest if self.among is not None else float(self.distance.max())

    @cached_property
    def turns(self) -> tuple[Floats, Floats, Floats]:
        """The turn at each vertex, and its legs back and ahead, as `turns` gives them."""
        return turns(self.easting, self.northing, self.vertex_route)

    @property
    def laid_out(self) -> Floats:
        """A horizontal place for every vertex, one route of the job laid straight behind another."""
        return self.lay_out(self.vertex_route, self.distance)

    def lay_out(self, route: Ints, distance: Floats) -> Floats:
        """Give places on routes as `laid_out` has the vertices: one route of the job straight behind another."""
        before = self.among.before if self.among is not None else 0
        return distance + (route + before) * (2.0 * self.farthest + 1.0)

    @property
    def plan(self) -> Pieces | None:
        """The curves on which the line runs between its vertices; None where it runs straight."""
        return self.pieces if self.pieces is not None else self.arcs

    @cached_property
    def chords(self) -> Routes:
        """The same lines without curves, to see where they turn at their vertices: alignments by chords of a metre."""
        if self.pieces is None:
            return self
        places, distance, first = drawn(self)
        return replace(
            self, first=first, easting=places.easting, northing=places.northing, elevation=places.elevation,
            distance=distance, slope_distance=np.full(len(distance), np.nan), pieces=None, among=None,
        )  # fmt: skip

    @property
    def shot(self) -> bool:
        """False where the line is known not to have been shot on the pipe: it was drawn, or is a design."""
        return self.source not in ("drawn", "design")

    @property
    def length(self) -> Floats:
        """Horizontal length of each route, shape (routes,)."""
        return self.distance[self.first[1:] - 1]

    @cached_property
    def vertex_route(self) -> Ints:
        """Route of each vertex, shape (vertices,)."""
        return held(np.repeat(np.arange(len(self.names)), np.diff(self.first)), len(self.easting))


def equations_of(
    equations: tuple[tuple[int, float, float], ...], start: int, stop: int
) -> tuple[tuple[int, float, float], ...]:
    """Give the station equations of successive routes, from `start` up to, and without, `stop`, numbered from 0."""
    return tuple((route - start, back, ahead) for route, back, ahead in equations if start <= route < stop)


_OF_VERTICES = (
    "easting", "northing", "elevation", "distance", "slope_distance", "corner", "sigma_horizontal", "sigma_vertical",
    "rounding_horizontal", "rounding_vertical", "height_measured", "shot_joint", "shot_point", "shot_row", "shot_word",
)  # fmt: skip
"""What `Routes` has for every vertex, or None."""


class Located(NamedTuple):
    """Points on routes: each lies the part `weight` of the way from `vertex` to the next; shapes (n,)."""

    vertex: Ints
    weight: Floats


def routes_from_vertices(
    names: Sequence[str],
    first: Ints,
    easting: Floats,
    northing: Floats,
    elevation: Floats,
    start_station: Floats,
    crs: CRS,
    unit: str,
    *,
    sigma: tuple[Floats | None, Floats | None] = (None, None),
    joint: pa.Array | None = None,
    point: pa.Array | None = None,
    row: Ints | None = None,
    word: pa.Array | None = None,
    notes: Sequence[str] = (),
    inputs: Sequence[tuple[str, str]] = (),
) -> Routes:
    """Build routes from vertices in order, dropping repeated ones and filling elevations between known ones.

    Parameters
    ----------
    names : sequence of str
        Route names, all different.
    first : array of int, shape (routes + 1,)
        Where each route's vertices begin.
    easting, northing, elevation : array, shape (vertices,)
        Coordinates in `unit`; elevation may be NaN.
    start_station : array, shape (routes,)
        Station of each first vertex, station units.
    sigma : pair of arrays, shape (vertices,), or None
        Standard errors of the vertices, horizontal and vertical, in `unit`.
    joint : pyarrow string array, shape (vertices,), optional
        Number of the joint that each vertex is a shot of.
    point : pyarrow string array, shape (vertices,), optional
        Point number of each vertex.
    row : array of int, shape (vertices,), optional
        Row of each vertex in its file of shots.
    word : pyarrow string array, shape (vertices,), optional
        First word of each shot's description.

    Raises
    ------
    InputFileError
        When a route has fewer than two different vertices, or all at one place in plan, a name occurs twice, or a
        coordinate is no place.

    Examples
    --------
    >>> from pyproj import CRS
    >>> z = np.array([0.0, 0.0, 0.0])
    >>> line = routes_from_vertices(["A"], np.array([0, 3]), np.array([0.0, 3.0, 3.0]),
    ...     np.array([0.0, 4.0, 4.0]), z, np.array([0.0]), CRS("EPSG:6418"), "us-ft")
    >>> line.distance.tolist()
    [0.0, 5.0]
    """
    twice = [name for name, count in Counter(names).items() if count > 1]
    if twice:
        raise InputFileError(f"centerline: the route name {min(twice)!r} occurs twice; give each route one name")
    parts = cuts(np.diff(first))
    if len(parts) > 1:
        columns = easting, northing, elevation, *sigma, joint, point, row, word
        return _in_parts(parts, columns, names, first, start_station, crs, unit, notes, inputs)
    _refuse_no_place(names, first, easting, northing)
    route = np.repeat(np.arange(len(names)), np.diff(first))
    same = np.zeros(len(route), dtype=np.bool_)
    same_height = (elevation[1:] == elevation[:-1]) | np.isnan(elevation[1:]) | np.isnan(elevation[:-1])
    same[1:] = (route[1:] == route[:-1]) & (easting[1:] == easting[:-1]) & (northing[1:] == northing[:-1]) & same_height
    lends_height = np.flatnonzero(same[1:] & np.isnan(elevation[:-1]))
    elevation = elevation.copy()
    elevation[lends_height] = elevation[lends_height + 1]
    keep = ~same
    route, easting, northing, elevation = route[keep], easting[keep], northing[keep], elevation[keep]
    first = np.searchsorted(route, np.arange(len(names) + 1))
    short = np.flatnonzero(np.diff(first) < 2)
    if len(short):
        raise InputFileError(
            f"centerline: route {names[short[0]]!r} has no length (fewer than two different points); "
            "remove it or complete its line"
        )
    measured = np.isfinite(elevation)
    elevation = _between_known(route, first, easting, northing, elevation)
    horizontal = np.hypot(np.diff(easting), np.diff(northing))
    slope = np.hypot(horizontal, np.diff(elevation))
    distance = _cumulative(horizontal, route, first)
    upright = np.flatnonzero(distance[first[1:] - 1] == 0.0)
    if len(upright):
        raise InputFileError(
            f"centerline: route {names[upright[0]]!r} has no length in plan: all its points lie above one another; "
            "correct their coordinates, or remove it"
        )
    return Routes(
        names=tuple(names),
        first=first,
        easting=easting,
        northing=northing,
        elevation=elevation,
        height_measured=None if bool(measured.all()) else measured,
        distance=distance,
        slope_distance=_cumulative(slope, route, first),
        start_station=np.asarray(start_station, dtype=np.float64),
        crs=crs,
        unit=unit,
        notes=tuple(notes),
        inputs=tuple(inputs),
        sigma_horizontal=sigma[0][keep] if sigma[0] is not None else None,
        sigma_vertical=sigma[1][keep] if sigma[1] is not None else None,
        shot_point=point.filter(pa.array(keep)) if point is not None else None,
        shot_row=row[keep] if row is not None else None,
        shot_word=word.filter(pa.array(keep)) if word is not None else None,
        shot_joint=_lent(joint, same).filter(pa.array(keep)) if joint is not None else None,
    )


def _in_parts(
    parts: Sequence[tuple[int, int]],
    columns: Sequence[Any],
    names: Sequence[str],
    first: Ints,
    start_station: Floats,
    crs: CRS,
    unit: str,
    notes: Sequence[str],
    inputs: Sequence[tuple[str, str]],
) -> Routes:
    """Build many routes some at a time, of which the columns of vertices are held."""
    built = []
    for low, high in parts:
        of = slice(int(first[low]), int(first[high]))
        some: list[Any] = [one[of] if one is not None else None for one in columns]
        easting, northing, elevation, plan, up, joint, point, row, word = some
        built.append(
            routes_from_vertices(
                names[low:high], first[low : high + 1] - of.start, easting, northing, elevation,
                start_station[low:high], crs, unit, sigma=(plan, up), joint=joint, point=point, row=row, word=word,
            ).held(len(columns[0]))
        )  # fmt: skip
    if any(one.height_measured is not None for one in built):
        built = [replace(one, height_measured=heights_measured(one)) for one in built]
    given = [name for name in _OF_VERTICES if getattr(built[0], name) is not None]
    many = np.concatenate([np.diff(one.first) for one in built])
    return replace(
        built[0],
        names=tuple(names),
        first=np.concatenate([[0], np.cumsum(many)]),
        start_station=np.asarray(start_station, dtype=np.float64),
        notes=tuple(notes),
        inputs=tuple(inputs),
        **{name: concatenated([getattr(one, name) for one in built], len(columns[0])) for name in given},
    )


def _refuse_no_place(names: Sequence[str], first: Ints, easting: Floats, northing: Floats) -> None:
    """Refuse coordinates that are no numbers, or larger than any on the ground."""
    wrong = np.flatnonzero(~((np.abs(easting) <= FARTHEST) & (np.abs(northing) <= FARTHEST)))
    if len(wrong):
        route = int(np.searchsorted(first, wrong[0], side="right")) - 1
        raise InputFileError(
            f"centerline: point {wrong[0] - first[route] + 1} of route {names[route]!r} has the easting "
            f"{easting[wrong[0]]:g} and the northing {northing[wrong[0]]:g}, which is no place on the ground; correct "
            "them"
        )


def heights_measured(routes: Routes) -> Bools:
    """Say at which shots the elevation was measured, and not put between measured ones, shape (vertices,)."""
    known = np.isfinite(routes.elevation)
    return known if routes.height_measured is None else known & routes.height_measured


def with_elevations(routes: Routes, elevation: Floats) -> Routes:
    """Give routes other elevations, filled between known ones.

    Parameters
    ----------
    routes : Routes
    elevation : array, shape (vertices,)
        Of each vertex; NaN where it is unknown.

    Returns
    -------
    Routes
        What was put between known ones is not measured.

    Examples
    --------
    >>> from pyproj import CRS
    >>> line = routes_from_vertices(["A"], np.array([0, 3]), np.array([0.0, 10.0, 20.0]), np.zeros(3),
    ...     np.array([1.0, -9999.0, 3.0]), np.array([0.0]), CRS("EPSG:6418"), "us-ft")
    >>> changed = with_elevations(line, np.array([1.0, np.nan, 3.0]))
    >>> changed.elevation.tolist(), changed.height_measured.tolist()
    ([1.0, 2.0, 3.0], [True, False, True])
    """
    route, first = routes.vertex_route, routes.first
    filled = _between_known(route, first, routes.easting, routes.northing, elevation)
    horizontal = np.hypot(np.diff(routes.easting), np.diff(routes.northing))
    slope = _cumulative(np.hypot(horizontal, np.diff(filled)), route, first)
    measured = heights_measured(routes) & np.isfinite(elevation)
    return replace(routes, elevation=filled, slope_distance=slope, height_measured=measured)


def _lent(joint: pa.Array, same: npt.NDArray[np.bool_]) -> pa.Array:
    """Let a repeated shot, which is dropped, lend its joint's number to the one before it."""
    index = np.arange(len(joint))
    index[:-1] += same[1:] & as_mask(joint.is_null())[:-1]
    return joint.take(pa.array(index))


def locate(routes: Routes, route: Ints, distance: Floats, *, slope: bool = False) -> Located:
    """Find the pieces of line that hold points at given distances along their routes.

    Parameters
    ----------
    routes : Routes
    route : array of int, shape (n,)
    distance : array, shape (n,)
        From each route's start, coordinate units; held to the route's ends.
    slope : bool
        Distances run along the line in space, not horizontally.

    Returns
    -------
    Located
        Its weights are within [0, 1].

    Examples
    --------
    >>> from pyproj import CRS
    >>> line = routes_from_vertices(["A"], np.array([0, 3]), np.array([0.0, 10.0, 10.0]),
    ...     np.array([0.0, 0.0, 10.0]), np.zeros(3), np.array([0.0]), CRS("EPSG:6418"), "us-ft")
    >>> locate(line, np.array([0, 0]), np.array([2.5, 15.0]))
    Located(vertex=array([0, 1]), weight=array([0.25, 0.5 ]))
    """
    along = routes.slope_distance if slope else routes.distance
    first, last = routes.first[route], routes.first[route + 1] - 1
    distance = np.clip(distance, along[first], along[last])
    # One search over all routes: each route's distances are shifted beyond those of the routes before it.
    shift = np.concatenate([[0.0], np.cumsum(along[routes.first[1:] - 1] + 1.0)])
    index = np.searchsorted(along + shift[routes.vertex_route], distance + shift[route], side="right") - 1
    index = np.clip(index, first, last - 1)
    # The shift costs digits, so the last step compares the plain distances.
    index = np.where((distance < along[index]) & (index > first), index - 1, index)
    length = along[index + 1] - along[index]
    weight = np.divide(distance - along[index], length, out=np.zeros(len(index)), where=length > 0)
    return Located(index, np.clip(weight, 0.0, 1.0))


def between(values: Floats, located: Located) -> Floats:
    """Interpolate a value of the vertices at located points, shape (n,)."""
    return values[located.vertex] * (1.0 - located.weight) + values[located.vertex + 1] * located.weight


class Points(NamedTuple):
    """Points of routes: shapes (n,)."""

    easting: Floats
    northing: Floats
    elevation: Floats
    """NaN where the centerline has no elevation."""
    azimuth: Floats
    """Direction of the line there, radians clockwise from grid north."""


def points(routes: Routes, route: Ints, located: Located) -> Points:
    """Give the coordinates of located points: on the straight between two vertices, or on the curve itself.

    Parameters
    ----------
    routes : Routes
    route : array of int, shape (n,)
    located : Located

    Returns
    -------
    Points
    """
    plan = routes.plan
    if plan is None:
        east = routes.easting[located.vertex + 1] - routes.easting[located.vertex]
        north = routes.northing[located.vertex + 1] - routes.northing[located.vertex]
        heights = between(routes.elevation, located)
        places = between(routes.easting, located), between(routes.northing, located)
        return Points(*places, heights, np.arctan2(east, north))
    piece = located.vertex - route
    easting, northing, azimuth = plan.locate(piece, located.weight * plan.length[piece])
    if routes.pieces is None:
        return Points(easting, northing, between(routes.elevation, located), azimuth)
    elevation, distance = np.full(len(route), np.nan), between(routes.distance, located)
    by_route = np.argsort(route, kind="stable")
    for rows in together(by_route, route):
        profile = routes.profiles[route[rows[0]]]
        if profile is not None:
            elevation[rows] = profile.at(distance[rows])[0]
    return Points(easting, northing, elevation, azimuth)


def drawn(routes: Routes) -> tuple[Points, Floats, Ints]:
    """Give the routes as they are drawn: their vertices, and points a metre apart where they are curved.

    Returns
    -------
    points : Points
    distance : array, shape (points,)
    first : array of int, shape (routes + 1,)
        Where each route's points begin.
    """
    if routes.plan is None:
        still = np.zeros(len(routes.easting))
        return Points(routes.easting, routes.northing, routes.elevation, still), routes.distance, routes.first
    step = units.factor("m", routes.unit)
    distances = [
        np.unique(np.concatenate([routes.distance[start:end], np.arange(0.0, routes.distance[end - 1], step)]))
        for start, end in pairwise(routes.first.tolist())
    ]
    first = np.concatenate([[0], np.cumsum([len(one) for one in distances])])
    route = np.repeat(np.arange(len(distances)), np.diff(first))
    distance = np.concatenate(distances)
    return points(routes, route, locate(routes, route, distance)), distance, first


def _between_known(route: Ints, first: Ints, easting: Floats, northing: Floats, elevation: Floats) -> Floats:
    """Fill unknown elevations that lie between known ones of the same route, by distance."""
    unknown = np.isnan(elevation)
    if not unknown.any() or unknown.all():
        return elevation
    along = _cumulative(np.hypot(np.diff(easting), np.diff(northing)), route, first)
    filled = elevation.copy()
    for number in np.unique(route[unknown]):
        part = slice(first[number], first[number + 1])
        known = ~unknown[part]
        if known.any():
            filled[part] = np.interp(along[part], along[part][known], elevation[part][known], left=np.nan, right=np.nan)
    return filled


def _cumulative(length: Floats, route: Ints, first: Ints) -> Floats:
    """Sum lengths from vertex to vertex along each route, starting each route at zero."""
    step = np.zeros(len(route))
    step[1:] = np.where(route[1:] == route[:-1], length, 0.0)
    # Summed route by route: one running sum over all routes would carry their lengths as rounding error.
    return running(step, first)


def turns(easting: Floats, northing: Floats, route: Ints) -> tuple[Floats, Floats, Floats]:
    """Give the turn at each vertex, its leg back, and its leg ahead, in plan.

    Parameters
    ----------
    easting, northing : array, shape (vertices,)
    route : array of int, shape (vertices,)

    Returns
    -------
    turn : array, shape (vertices,)
        Radians, right positive; NaN at the ends of routes and beside legs of no length.
    back, ahead : array, shape (vertices,)
        Lengths of the legs; NaN where there is none.

    Examples
    --------
    >>> turn, back, ahead = turns(np.array([0.0, 0.0, 5.0]), np.array([0.0, 3.0, 3.0]), np.array([0, 0, 0]))
    >>> np.degrees(turn[1:2]).round(6).tolist(), back[1:2].tolist(), ahead[1:2].tolist()
    ([90.0], [3.0], [5.0])
    """

    def of_some(some: slice) -> tuple[Floats, Floats, Floats]:
        # With the vertex before the first one, and the one behind the last.
        first = max(some.start - 1, 0)
        around = slice(first, some.stop + 1)
        turn, back, ahead = _turns(easting[around], northing[around], route[around])
        own = slice(some.start - first, some.stop - first)
        return turn[own], back[own], ahead[own]

    return in_blocks(of_some, len(easting))


def _turns(easting: Floats, northing: Floats, route: Ints) -> tuple[Floats, Floats, Floats]:
    count = len(easting)
    back, ahead, turn = (np.full(count, np.nan) for _ in range(3))
    if count < 2:
        return turn, back, ahead
    east, north, same = np.diff(easting), np.diff(northing), route[1:] == route[:-1]
    length = np.where(same, np.hypot(east, north), np.nan)
    back[1:], ahead[:-1] = length, length
    with np.errstate(invalid="ignore"):
        azimuth = np.where(length > 0, np.arctan2(east, north), np.nan)
    turn[1:-1] = (np.diff(azimuth) + np.pi) % (2.0 * np.pi) - np.pi
    turn[1:-1] = np.where(same[1:] & same[:-1], turn[1:-1], np.nan)
    return turn, back, ahead
