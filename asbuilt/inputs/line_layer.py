"""A layer of lines read as routes: pieces joined end to start, and what their columns say of each."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
import pyarrow as pa

from asbuilt import units
from asbuilt.arrays import Floats, Ints
from asbuilt.errors import InputFileError, JobFileError
from asbuilt.inputs import vectors
from asbuilt.inputs.coordinate_system import coordinate_system
from asbuilt.inputs.route_keys import known_elevations, running, sigmas, stated_starts
from asbuilt.line import stationing
from asbuilt.line.names import route_order
from asbuilt.line.routes import Routes, routes_from_vertices

if TYPE_CHECKING:
    from asbuilt.job import Job


JOINING_TOLERANCE_M = 0.01


def routes_from_lines(job: Job, features: vectors.Features, where: str) -> Routes:
    """Read the lines of a layer as routes: pieces of one route joined, in the direction of the first."""
    import shapely

    crs, unit, vertical = coordinate_system(job, features.crs, where, lambda: _first_point(features.geometry))
    geometry = features.geometry
    present = ~(shapely.is_missing(geometry) | shapely.is_empty(geometry))
    kinds = np.where(present, shapely.get_type_id(geometry), -1)
    wrong = np.flatnonzero(present & ~np.isin(kinds, (1, 2, 5)))
    if len(wrong):
        raise InputFileError(
            f"{where}: feature {features.ids[wrong[0]]} is a {geometry[wrong[0]].geom_type}, neither a line nor a "
            "point; give the layer of centerlines, or of survey shots"
        )
    rows = np.flatnonzero(present)
    absent = [
        f"{where}: feature {features.ids[row]} has no readable line, and was left out"
        for row in np.flatnonzero(~present).tolist()
    ]
    if not len(rows):
        raise InputFileError(f"{where}: there are no lines in it; give the surveyed centerline")
    names = _route_names(job, features, rows, where)
    _refuse_gaps(job, features, np.flatnonzero(~present), names, where)
    order, route = route_order(names)
    parts, part_of = shapely.get_parts(geometry[rows], return_index=True)
    part_route = route[part_of]
    parts, heads = _one_line_each(parts, part_route, order, unit, where)
    coordinates, line = shapely.get_coordinates(parts, include_z=True, return_index=True)
    first = np.searchsorted(line, np.arange(len(order) + 1))
    elevation, notes = known_elevations(coordinates[:, 2] * vertical, first, order, where)
    first_rows = [int(rows[part_of[head]]) for head in heads]
    start = _start_stations(job, features, order, first_rows, where)
    sigma = _feature_sigmas(job, features, np.array(first_rows), np.diff(first), where)
    run = running(job, order, first)
    return routes_from_vertices(
        order, first, coordinates[run, 0], coordinates[run, 1], elevation[run], start, crs, unit,
        sigma=sigma, notes=(*features.notes, *absent, *notes), inputs=features.inputs,
    )  # fmt: skip


def _refuse_gaps(job: Job, features: vectors.Features, absent: Ints, names: list[str], where: str) -> None:
    """Refuse a route of which one piece is there and another has no line: what lies beyond it would be moved."""
    column = job.centerline.route
    if column is None:
        return
    for row in absent.tolist():
        name = _text(features.columns[column][row].as_py())
        if name in names:
            raise InputFileError(
                f"{where}: feature {features.ids[row]}, a piece of route {name!r}, has no readable line; repair it, or "
                "delete it if it is not needed"
            )


def _route_names(job: Job, features: vectors.Features, rows: Ints, where: str) -> list[str]:
    column = job.centerline.route
    if column is None:
        if len(rows) > 1:
            raise JobFileError(
                f"centerline.route: {where} has {len(rows)} lines; name the column that names the route "
                f"(its columns are {', '.join(features.columns) or 'none'})"
            )
        return [job.centerline.route_name or job.name]
    if column not in features.columns:
        raise JobFileError(
            f"centerline.route: {where} has no column {column!r}; its columns are {', '.join(features.columns)}"
        )
    values = features.columns[column].to_pylist()
    names = [_text(values[row]) for row in rows]
    if "" in names:
        raise InputFileError(
            f"{where}: feature {features.ids[rows[names.index('')]]} has no route name in {column!r}; fill it in"
        )
    return names


def _one_line_each(
    parts: npt.NDArray[np.object_], route: Ints, names: Sequence[str], unit: str, where: str
) -> tuple[npt.NDArray[np.object_], Ints]:
    """Give each route's pieces as one line, and the piece with which each line begins."""
    by_route = np.argsort(route, kind="stable")
    if len(parts) == len(names):
        return parts[by_route], by_route
    tolerance = JOINING_TOLERANCE_M * units.factor("m", unit)
    lines, heads = np.empty(len(names), dtype=object), np.empty(len(names), dtype=np.int64)
    for number, (name, members) in enumerate(zip(names, np.split(by_route, _ends(route)), strict=True)):
        lines[number], head = _joined(list(parts[members]), tolerance, name, where)
        heads[number] = members[head]
    return lines, heads


def _ends(route: Ints) -> Ints:
    return np.cumsum(np.bincount(route))[:-1]


def _joined(parts: list[Any], tolerance: float, name: str, where: str) -> tuple[Any, int]:
    """Join the pieces of one route end to start, in the direction of the first piece; say which one begins it."""
    import shapely

    if len({shapely.normalize(part).wkb for part in parts}) < len(parts):
        raise InputFileError(f"{where}: two pieces of route {name!r} are the same line; delete one of them")
    chain = [shapely.get_coordinates(parts[0], include_z=True)]
    waiting = {number: shapely.get_coordinates(part, include_z=True) for number, part in enumerate(parts) if number}
    head = 0
    while waiting:
        for number, piece in waiting.items():
            begins = _link(chain, piece, tolerance)
            if begins is not None:
                head = number if begins else head
                del waiting[number]
                break
        else:
            gap = min(_apart(end, piece[side]) for piece in waiting.values() for side in (0, -1)
                      for end in (chain[0][0], chain[-1][-1]))  # fmt: skip
            raise InputFileError(
                f"{where}: route {name!r} is in {len(waiting) + 1} pieces whose ends do not meet "
                f"(the nearest are {gap:.2f} apart); join them, or give each piece its own route name"
            )
    return shapely.LineString(np.concatenate(chain)), head


def _link(chain: list[Floats], piece: Floats, tolerance: float) -> bool | None:
    """Join a piece to a chain where their ends meet: True at its beginning, False at its end, else None."""
    for candidate in (piece, piece[::-1]):
        if _apart(chain[-1][-1], candidate[0]) <= tolerance:
            chain.append(candidate[1:] if _apart(chain[-1][-1], candidate[0]) > 0 else candidate)
            return False
        if _apart(candidate[-1], chain[0][0]) <= tolerance:
            chain.insert(0, candidate)
            return True
    return None


def _apart(one: Floats, other: Floats) -> float:
    return float(np.hypot(one[0] - other[0], one[1] - other[1]))


def _start_stations(
    job: Job, features: vectors.Features, names: Sequence[str], rows: Sequence[int], where: str
) -> Floats:
    """Give each route's start station: from a column of its first feature, or as the job states it."""
    wanted = job.centerline.start_station
    if not isinstance(wanted, str) or wanted not in features.columns:
        return stated_starts(job, names, where)
    given = features.columns[wanted].take(pa.array(rows)).to_pylist()
    if None in given:
        row = rows[given.index(None)]
        raise InputFileError(f"{where}: feature {features.ids[row]} has no start station in {wanted!r}; fill it in")
    keys = [f"{where}, feature {features.ids[row]}, column {wanted!r}" for row in rows]
    return stationing.job_stations([one if isinstance(one, int | float) else str(one) for one in given], keys).value


def _feature_sigmas(
    job: Job, features: vectors.Features, rows: Ints, vertices: Ints, where: str
) -> tuple[Floats | None, Floats | None]:
    """Give the standard errors of all vertices: one number for the job, or a column with one for each line."""

    def column(key: str, name: str) -> Floats:
        if name not in features.columns:
            raise JobFileError(f"{key}: {where} has no column {name!r}; its columns are {', '.join(features.columns)}")
        given = features.columns[name].take(pa.array(rows)).to_pylist()
        wrong = [at for at, value in enumerate(given) if not isinstance(value, int | float) or not 0 <= value < np.inf]
        if wrong:
            raise InputFileError(
                f"{where}: feature {features.ids[rows[wrong[0]]]}: {name} is {given[wrong[0]]!r}; give the standard "
                "error of its shots"
            )
        return np.repeat(np.array(given, dtype=np.float64), vertices)

    return sigmas(job, int(vertices.sum()), column)


def _first_point(geometry: npt.NDArray[np.object_]) -> tuple[float, float] | None:
    import shapely

    coordinates = shapely.get_coordinates(geometry[~shapely.is_missing(geometry)][:1])
    return (float(coordinates[0, 0]), float(coordinates[0, 1])) if len(coordinates) else None


def _text(value: object) -> str:
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    return "" if value is None else str(value).strip()
