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
from asbuilt.held import concatenated, cuts, held
from asbuilt.inputs import vectors
from asbuilt.inputs.coordinate_system import coordinate_system, height_notes
from asbuilt.inputs.joining import joined, told
from asbuilt.inputs.route_keys import could_be_route, known_elevations, no_route_column, running, sigmas, stated_starts
from asbuilt.line import stationing
from asbuilt.line.names import route_order
from asbuilt.line.routes import Routes, routes_from_vertices

if TYPE_CHECKING:
    from asbuilt.job import Job


JOINING_TOLERANCE_M = 0.01
_IN_ONE_PIECE = 1
"""The kind of geometry, as shapely numbers them, that is one line."""


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
    parts, part_of = geometry[rows], np.arange(len(rows))
    # Parts are copies: of lines in one piece there need be none.
    if not (kinds[rows] == _IN_ONE_PIECE).all():
        parts, part_of = shapely.get_parts(parts, return_index=True)
    part_route = route[part_of]
    ids = [features.ids[row] for row in rows[part_of].tolist()]
    parts, heads, joints = _one_line_each(job, parts, part_route, order, ids, unit, where)
    first = np.concatenate([[0], np.cumsum(shapely.get_num_coordinates(parts))])
    many = int(first[-1])
    columns = [held(_columns(parts[low:high]), many) for low, high in cuts(np.diff(first))]
    easting, northing, elevation = concatenated(columns, many)
    elevation, notes = known_elevations(elevation * vertical, first, order, where)
    notes = [*notes, *(height_notes(vertical, unit) if np.isfinite(elevation).any() else ())]
    first_rows = [int(rows[part_of[head]]) for head in heads]
    start = _start_stations(job, features, order, first_rows, where)
    sigma = _feature_sigmas(job, features, np.array(first_rows), np.diff(first), where)
    if job.centerline.reversed:
        run = running(job, order, first)
        easting, northing, elevation = easting[run], northing[run], elevation[run]
    return routes_from_vertices(
        order, first, easting, northing, elevation, start, crs, unit,
        sigma=sigma, notes=(*features.notes, *absent, *joints, *notes), inputs=features.inputs,
    )  # fmt: skip


def _columns(lines: npt.NDArray[np.object_]) -> tuple[Floats, Floats, Floats]:
    """Give easting, northing and elevation of all vertices of some lines."""
    import shapely

    found = shapely.get_coordinates(lines, include_z=True)
    easting, northing, elevation = (found[:, at].copy() for at in range(3))
    return easting, northing, elevation


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
                f"(its columns are {', '.join(features.columns) or 'none'}{could_be_route(features.columns)})"
            )
        return [job.centerline.route_name or job.name]
    if column not in features.columns:
        raise no_route_column(column, features.columns, where)
    values = features.columns[column].to_pylist()
    names = [_text(values[row]) for row in rows]
    if "" in names:
        raise InputFileError(
            f"{where}: feature {features.ids[rows[names.index('')]]} has no route name in {column!r}; fill it in"
        )
    return names


def _one_line_each(
    job: Job, parts: npt.NDArray[np.object_], route: Ints, names: Sequence[str], ids: Sequence[Any], unit: str,
    where: str,
) -> tuple[npt.NDArray[np.object_], Ints, list[str]]:  # fmt: skip
    """Give each route's pieces as one line, the piece with which each line begins, and the gaps that were closed."""
    by_route = np.argsort(route, kind="stable")
    tolerance = _join_tolerance(job, unit)
    if len(parts) == len(names):
        return parts[by_route], by_route, []
    lines, heads = np.empty(len(names), dtype=object), np.empty(len(names), dtype=np.int64)
    notes: list[str] = []
    for number, (name, members) in enumerate(zip(names, np.split(by_route, _ends(route)), strict=True)):
        called = f"{where}: route {name!r}"
        lines[number], head, gaps = joined(list(parts[members]), tolerance, called, [ids[one] for one in members])
        heads[number] = members[head]
        notes += told(gaps, called, units.SYMBOLS[unit])
    return lines, heads, notes


def _join_tolerance(job: Job, unit: str) -> float:
    """Give the widest gap that is closed, coordinate units; one as long as a pipe would hide a missing pipe."""
    wanted = job.centerline.join_tolerance
    if wanted is None:
        return JOINING_TOLERANCE_M * units.factor("m", unit)
    pipe = job.records.laying_length * units.factor(job.records.station_unit, unit)
    if wanted >= pipe:
        raise JobFileError(
            f"centerline.join_tolerance: {wanted:g} {units.SYMBOLS[unit]} is no less than a pipe length, and would "
            "hide a missing one; give less, or draw what is missing"
        )
    return wanted


def _ends(route: Ints) -> Ints:
    return np.cumsum(np.bincount(route))[:-1]


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
