"""The ground over the pipe: shots of it, a surface of triangles (LandXML), or a grid of heights (GeoTIFF)."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any
from xml.etree.ElementTree import Element

import numpy as np

from asbuilt import units
from asbuilt.arrays import Floats, Ints
from asbuilt.errors import InputFileError, JobFileError
from asbuilt.inputs.landxml import LINEAR_UNITS
from asbuilt.inputs.landxml_file import MAX_BYTES
from asbuilt.inputs.side_tables import SideTable, read_side_table
from asbuilt.inputs.vectors import file_digest
from asbuilt.line import projection
from asbuilt.line.names import RouteNames
from asbuilt.line.nearest import nearest

if TYPE_CHECKING:
    from asbuilt.job import Job
    from asbuilt.keys.line import Cover
    from asbuilt.line.routes import Routes

GROUND_NAMES = {
    "easting": frozenset({"easting", "east", "e", "eastings"}),
    "northing": frozenset({"northing", "north", "n", "northings"}),
    "elevation": frozenset({"ground", "groundelevation", "groundelev", "surface", "existingground", "finishedgrade"}),
    "route": frozenset({"route", "line", "main"}),
}
"""Fields of a table of ground shots; its heights are the ground's, and never those of another column."""


@dataclass(frozen=True)
class Ground:
    """The ground, asked for its elevation at places on the routes."""

    at: Callable[[Ints, Floats, Floats, Floats], Floats]
    """Of route, distance along it, easting and northing, shapes (n,): elevation in coordinate units; NaN unknown."""
    inputs: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]


def read_ground(job: Job, routes: Routes) -> Ground | None:
    """Read the ground that the job names; None where it names none, or a column of the log.

    Parameters
    ----------
    job : Job
    routes : Routes

    Raises
    ------
    InputFileError, JobFileError
        When the file cannot be read, or its coordinates or heights cannot be those of the survey.
    """
    wanted = job.cover
    if wanted is None:
        return None
    if (wanted.path is None) == (wanted.log_column is None):
        raise JobFileError(
            f"{job.source}: cover: say where the ground is: path names its file, or log_column a column of the log"
        )
    if wanted.path is None:
        return None
    path = job.file(wanted.path)
    if not path.is_file():
        raise InputFileError(f"{path}: there is no such file; correct cover.path")
    if path.suffix.lower() == ".xml":
        return _triangles(path, wanted, routes)
    if path.suffix.lower() in (".tif", ".tiff"):
        return _grid(job, path, wanted, routes)
    return _shots(job, path, wanted, routes)


def _shots(job: Job, path: Path, wanted: Cover, routes: Routes) -> Ground:
    """Take shots of the ground beside the pipe: between two of them along a route it runs straight."""
    table = read_side_table(
        path, GROUND_NAMES, required=("easting", "northing", "elevation"), key="cover.path",
        chosen=dict(wanted.columns), columns_key="cover.columns",
    )  # fmt: skip
    # A shot of the pipe alone has no ground.
    height = table.numbers("elevation", required=False) * units.factor(wanted.unit or routes.unit, routes.unit)
    known = np.isfinite(height)
    if not known.any():
        raise InputFileError(f"{path}: no row has an elevation of the ground; name its column in cover.columns")
    on, east, north = _routes_of(table, routes), table.numbers("easting"), table.numbers("northing")
    reach = job.records.laying_length * units.factor(job.records.station_unit, routes.unit)
    lines: dict[int, tuple[Floats, Floats]] = {}
    used = np.zeros(len(table), dtype=np.bool_)
    for number in range(len(routes.names)):
        rows = np.flatnonzero(known & ((on == number) | (on < 0)))
        found = nearest(routes, np.full(len(rows), number), east[rows], north[rows])
        near = found.away <= reach
        used[rows[near]] = True
        order = np.argsort(found.distance[near], kind="stable")
        lines[number] = found.distance[near][order], height[rows][near][order]
    notes = [f"ground: {int(used.sum())} shots of {path.name}; between two along a route it is taken to run straight"]
    if (known & ~used).any():
        notes.append(
            f"ground: {int((known & ~used).sum())} shots of {path.name} lie more than a laying length from every "
            "route, and were not used"
        )

    def at(route: Ints, distance: Floats, easting: Floats, northing: Floats) -> Floats:
        ground = np.full(len(route), np.nan)
        for number, (along, heights) in lines.items():
            rows = np.flatnonzero(route == number)
            if len(along):
                ground[rows] = np.interp(distance[rows], along, heights, left=np.nan, right=np.nan)
        return ground

    return Ground(at, table.inputs, tuple(notes))


def _routes_of(table: SideTable, routes: Routes) -> Ints:
    """Give the number of the route that each row names; -1 where it names none."""
    names = RouteNames(routes.names)
    return np.array(
        [-1 if name is None else names.number(name, key=f"{table.where(row)}: route")
         for row, name in enumerate(table.texts("route"))],
        dtype=np.int64,
    )  # fmt: skip


def _triangles(path: Path, wanted: Cover, routes: Routes) -> Ground:
    """Take a surface of triangles from a LandXML file.

    Source: LandXML 1.2, elements Surface, Definition, P (northing, easting, elevation) and F (three points; i="1" is no
    part of the surface); from memory.
    """
    import shapely

    found, unit, epsg = _surfaces(path)
    if unit != routes.unit:
        raise JobFileError(
            f"cover.path: {path} is in {units.WORDS[unit]}, and the survey in {units.WORDS[routes.unit]}; export the "
            "surface in the unit of the survey"
        )
    if epsg is not None and routes.crs.to_epsg() is not None and epsg != routes.crs.to_epsg():
        raise JobFileError(
            f"cover.path: {path} is in EPSG:{epsg}, and the survey in EPSG:{routes.crs.to_epsg()}; export the surface "
            "in the system of the survey"
        )
    name = _chosen(path, wanted, list(found))
    corners = found[name]
    tree = shapely.STRtree(shapely.polygons(corners[:, :, :2]))

    def at(route: Ints, distance: Floats, easting: Floats, northing: Floats) -> Floats:
        ground = np.full(len(route), np.nan)
        point, triangle = tree.query(shapely.points(easting, northing), predicate="intersects")
        ground[point] = _on_plane(corners[triangle], easting[point], northing[point])
        return ground

    return Ground(at, ((str(path), file_digest(path)),), (f"ground: surface {name!r} of {path.name}",))


def _on_plane(corners: Floats, easting: Floats, northing: Floats) -> Floats:
    """Give the elevation of triangles, shape (n, 3 corners, 3), above points within them."""
    one, two = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    east, north = easting - corners[:, 0, 0], northing - corners[:, 0, 1]
    area = one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]
    first = (east * two[:, 1] - north * two[:, 0]) / area
    second = (north * one[:, 0] - east * one[:, 1]) / area
    height: Floats = corners[:, 0, 2] + first * one[:, 2] + second * two[:, 2]
    return height


def _chosen(path: Path, wanted: Cover, names: list[str]) -> str:
    if wanted.surface is None and len(names) == 1:
        return names[0]
    if wanted.surface in names:
        return str(wanted.surface)
    many = f"there is no surface {wanted.surface!r}" if wanted.surface else f"{path} has {len(names)} surfaces"
    raise JobFileError(f"cover.surface: {many}; name one of {', '.join(map(repr, names))}")


def _surfaces(path: Path) -> tuple[dict[str, Floats], str, int | None]:
    """Read the triangles of every surface, shape (triangles, 3 corners, 3), the file's unit and its EPSG code."""
    found: dict[str, Floats] = {}
    unit, epsg = "", None
    for element in _elements(path):
        tag = element.tag.rpartition("}")[2]
        if tag in ("Metric", "Imperial"):
            unit = LINEAR_UNITS.get(element.get("linearUnit", ""), "")
        elif tag == "CoordinateSystem" and (element.get("epsgCode") or "").isdigit():
            epsg = int(str(element.get("epsgCode")))
        elif tag == "Surface":
            name = element.get("name") or f"surface {len(found) + 1}"
            triangles = _of_surface(path, name, element)
            if len(triangles):
                found[name] = triangles
            element.clear()
    if not unit:
        raise InputFileError(
            f"{path}: its Units have no linearUnit that is known; export it in {', '.join(LINEAR_UNITS)}"
        )
    if not found:
        raise InputFileError(f"{path}: has no surface of triangles; export the ground as a TIN surface")
    return found, unit, epsg


def _elements(path: Path) -> Iterator[Element]:
    from defusedxml.common import DefusedXmlException
    from defusedxml.ElementTree import ParseError, iterparse

    if path.stat().st_size > MAX_BYTES:
        raise InputFileError(f"{path}: is larger than {MAX_BYTES / 1e6:g} MB, the most that is read; cut the surface")
    try:
        yield from (element for _, element in iterparse(str(path), forbid_dtd=True))
    except DefusedXmlException:
        raise InputFileError(f"{path}: has a document type declaration or entities; export it without them") from None
    except (ParseError, LookupError, ValueError) as error:
        raise InputFileError(f"{path}: is not well-formed XML ({error}); export the file again") from None


def _of_surface(path: Path, name: str, surface: Element) -> Floats:
    where = f"{path}: surface {name!r}"
    number: dict[str, int] = {}
    points: list[list[float]] = []
    faces: list[list[int]] = []
    try:
        for element in surface.iter():
            tag = element.tag.rpartition("}")[2]
            if tag == "P" and element.get("id") is not None:
                number[str(element.get("id"))] = len(points)
                north, east, up = map(float, (element.text or "").split())
                points.append([east, north, up])
            elif tag == "F" and element.get("i") != "1":
                one, two, three = (number[part] for part in (element.text or "").split())
                faces.append([one, two, three])
    except KeyError as error:
        raise InputFileError(f"{where}: a face names point {error}, which is not there; export it again") from None
    except ValueError:
        raise InputFileError(
            f"{where}: a point must be northing, easting and elevation, and a face three points; export it again"
        ) from None
    corners = np.array(points).reshape(-1, 3)[np.array(faces, dtype=np.int64).reshape(-1, 3)]
    one, two = corners[:, 1, :2] - corners[:, 0, :2], corners[:, 2, :2] - corners[:, 0, :2]
    # A face on one line has no inside.
    flat: Floats = corners[one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0] != 0]
    return flat


def _grid(job: Job, path: Path, wanted: Cover, routes: Routes) -> Ground:
    """Take a grid of heights from a GeoTIFF; between the middles of its cells the ground is taken as bilinear."""
    if wanted.unit is None:
        raise JobFileError(
            f"cover.unit: {path} does not say the unit of its heights surely; say us-ft, ft or m: a grid in metres "
            "under a survey in feet would make the cover wrong by tens of feet"
        )
    try:
        import rasterio
        from rasterio.errors import RasterioError
    except ImportError:
        raise InputFileError(
            f"{path}: reading it needs rasterio, which is not installed: pip install 'asbuilt[ground]'"
        ) from None
    try:
        with rasterio.open(path) as file:
            if file.crs is None or file.count < 1:
                raise InputFileError(f"{path}: does not say its coordinate system; write it into the file")
            heights = file.read(1, masked=True).astype(np.float64).filled(np.nan)
            inverse, system = ~file.transform, file.crs.to_wkt()
    except RasterioError as error:
        raise InputFileError(f"{path}: cannot be read as a GeoTIFF ({error}); export the ground again") from None
    step = projection.map_step(
        routes.crs, system, routes.easting, routes.northing, key=f"cover.path: {path}", accept_m=job.accept_accuracy_m
    )
    at = _in_cells(heights * units.factor(wanted.unit, routes.unit), inverse, step)
    told = f", reached by {step.words}" if step.accuracy_m != 0.0 else ""
    return Ground(at, ((str(path), file_digest(path)),), (f"ground: the grid of {path.name}{told}",))


def _in_cells(heights: Floats, inverse: Any, step: projection.Step) -> Callable[..., Floats]:
    def at(route: Ints, distance: Floats, easting: Floats, northing: Floats) -> Floats:
        x, y = step.apply(easting, northing)
        column, row = inverse.a * x + inverse.b * y + inverse.c, inverse.d * x + inverse.e * y + inverse.f
        # Heights stand at the middles of the cells.
        return _bilinear(heights, np.asarray(row) - 0.5, np.asarray(column) - 0.5)

    return at


def _bilinear(heights: Floats, row: Floats, column: Floats) -> Floats:
    """Give heights between the middles of cells; NaN beyond the outermost middles, and beside a cell without any."""
    rows, columns = heights.shape
    known = (row >= 0) & (row <= rows - 1) & (column >= 0) & (column <= columns - 1)
    known &= min(rows, columns) > 1
    if not known.any():
        return np.full(len(row), np.nan)
    top = np.clip(np.floor(np.where(known, row, 0)), 0, rows - 2).astype(np.int64)
    left = np.clip(np.floor(np.where(known, column, 0)), 0, columns - 2).astype(np.int64)
    down, right = row - top, column - left
    upper = heights[top, left] * (1 - right) + heights[top, left + 1] * right
    lower = heights[top + 1, left] * (1 - right) + heights[top + 1, left + 1] * right
    return np.where(known, upper * (1 - down) + lower * down, np.nan)
