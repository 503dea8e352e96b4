"""The surveyed centerline read from its file: lines, survey shots, or alignments, as routes."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints, as_mask
from asbuilt.errors import InputFileError, JobFileError
from asbuilt.inputs import tables, values, vectors
from asbuilt.inputs.headers import match_columns
from asbuilt.inputs.text_table import TextTable, table_from_columns, with_source
from asbuilt.inputs.where import rows_where
from asbuilt.line import stationing
from asbuilt.line.curves import join_pieces
from asbuilt.line.names import RouteNames, route_order
from asbuilt.line.routes import Routes, routes_from_vertices

if TYPE_CHECKING:
    import geopandas as gpd
    from pyproj import CRS

    from asbuilt.job import Job


JOINING_TOLERANCE_M = 0.01
SHOT_NAMES = {
    "point": frozenset({"point", "pt", "pointno", "pointnumber", "ptno", "p", "pnt", "shot", "no", "id"}),
    "northing": frozenset({"northing", "north", "n", "nord", "northings"}),
    "easting": frozenset({"easting", "east", "e", "eastings"}),
    "elevation": frozenset({"elevation", "elev", "el", "z", "height", "h"}),
    "description": frozenset({"description", "desc", "code", "d", "note", "remarks", "feature"}),
    "route": frozenset({"route", "routeid", "line", "main", "run"}),
    "station": frozenset({"station", "sta", "chainage"}),
    "joint": frozenset(),
}
_TEXT_SUFFIXES = (".csv", ".txt")
_IN_PLAN = ("northing", "easting")
_POINTS = frozenset({0, 4})
"""Kinds of geometry, as shapely numbers them, that are shots: points, and collections of points."""
HEADLESS_ORDER = ("point", "northing", "easting", "elevation", "description")
"""Order of the columns of a shot file without a header; common practice, no source."""


def read_centerline(job: Job, data: gpd.GeoDataFrame | None = None) -> Routes:
    """Read the job's centerline: a line layer, or survey shots in order.

    Parameters
    ----------
    job : Job
    data : GeoDataFrame, optional
        Lines already in memory, used instead of the job's path.

    Raises
    ------
    InputFileError, JobFileError
        When a file, layer, column, coordinate system or unit is missing or in conflict.
    """
    if data is not None:
        if not hasattr(data, "geometry"):
            raise JobFileError("centerline: the data frame has no geometry; give a GeoDataFrame of lines")
        return _routes_from_features(job, vectors.features_from_frame(data), "the centerline data")
    if job.centerline.path is None:
        raise JobFileError(f"{job.source}: centerline.path: this key is required; name the centerline's file")
    path = job.file(job.centerline.path)
    if not vectors.is_there(path):
        raise InputFileError(f"{path}: there is no such file; correct centerline.path")
    if path.suffix.lower() == ".xml":
        return _routes_from_alignments(job, path)
    if path.suffix.lower() in (*_TEXT_SUFFIXES, *tables.WORKBOOK_SUFFIXES):
        return _routes_from_shots(job, _shots_of_table(job, path), str(path))
    return _routes_from_features(
        job, vectors.read_features(path, job.centerline.layer, key="centerline.layer"), str(path)
    )


def _routes_from_features(job: Job, features: vectors.Features, where: str) -> Routes:
    import shapely

    if job.centerline.where:
        wanted = rows_where(features.columns, job.centerline.where, where=where, key="centerline.where")
        features = vectors.taken(features, wanted)
        features = features._replace(notes=(*features.notes, _told_where(where, wanted, "features")))
    if set(shapely.get_type_id(features.geometry).tolist()) & _POINTS:
        return _routes_from_shots(job, _shots_of_layer(job, features, where), where)
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
    elevation, notes = _known_elevations(coordinates[:, 2] * vertical, first, order, where)
    first_rows = [int(rows[part_of[head]]) for head in heads]
    start = _start_stations(job, features, order, first_rows, where)
    sigma = _feature_sigmas(job, features, np.array(first_rows), np.diff(first), where)
    run = _running(job, order, first)
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


def _known_elevations(elevation: Floats, first: Ints, names: Sequence[str], where: str) -> tuple[Floats, list[str]]:
    """Take elevations that are zero along a whole route as unknown, and say what is not known."""
    flat = np.maximum.reduceat(np.abs(np.nan_to_num(elevation, nan=0.0)), first[:-1]) == 0
    elevation = np.where(np.repeat(flat, np.diff(first)), np.nan, elevation)
    if flat.all():
        return elevation, [f"{where}: the lines have no elevations (none, or all zero); deflection is horizontal only"]
    notes = [
        f"{where}: route {names[number]} has no elevations (none, or all zero); its deflection is horizontal only"
        for number in np.flatnonzero(flat).tolist()
    ]
    missing = int(np.isnan(elevation[np.repeat(~flat, np.diff(first))]).sum())
    if missing:
        notes.append(
            f"{where}: {missing} vertices have no elevation; where both neighbours have one it was interpolated"
        )
    return elevation, notes


def _start_stations(
    job: Job, features: vectors.Features, names: Sequence[str], rows: Sequence[int], where: str
) -> Floats:
    """Give each route's start station: from a column of its first feature, or as the job states it."""
    wanted = job.centerline.start_station
    if not isinstance(wanted, str) or wanted not in features.columns:
        return _stated_starts(job, names, where)
    given = features.columns[wanted].take(pa.array(rows)).to_pylist()
    if None in given:
        row = rows[given.index(None)]
        raise InputFileError(f"{where}: feature {features.ids[row]} has no start station in {wanted!r}; fill it in")
    keys = [f"{where}, feature {features.ids[row]}, column {wanted!r}" for row in rows]
    return stationing.job_stations([one if isinstance(one, int | float) else str(one) for one in given], keys).value


def _stated_starts(job: Job, names: Sequence[str], where: str) -> Floats:
    """Give the start station that the job states for each route; 0 where it states none."""
    wanted = job.centerline.start_station
    key = f"centerline.start_station (neither a column of {where} nor a station)"
    if not isinstance(wanted, dict):
        stated = stationing.parse_station(wanted if wanted is not None else 0.0, key=key)
        return np.full(len(names), stated)
    missing = [name for name in names if name not in wanted]
    if missing:
        alike = RouteNames(list(wanted)).alike(missing[0])
        meant = f" (it has {' and '.join(map(repr, alike))}; route names must match exactly)" if alike else ""
        raise JobFileError(f"centerline.start_station: no station for route {missing[0]!r}{meant}; add it")
    return stationing.job_stations([wanted[name] for name in names], [key] * len(names)).value


def _routes_from_alignments(job: Job, path: Path) -> Routes:
    """Take the alignments of a LandXML file as routes, with their curves, profiles, stations and equations."""
    from asbuilt.inputs.landxml import read_alignments

    file = read_alignments(path)
    found = f"EPSG:{file.epsg}" if file.epsg is not None else None
    crs, unit, _ = coordinate_system(job, found, str(path), lambda: None)
    if unit != file.unit:
        raise JobFileError(
            f"crs: {crs.name} is in {units.WORDS[unit]}, but {path} is in {units.WORDS[file.unit]}; correct the crs"
        )
    if job.records.station_unit != file.unit:
        raise JobFileError(
            f"records.station_unit: the stations of {path} are in {units.WORDS[file.unit]}, but the log's are in "
            f"{units.WORDS[job.records.station_unit]}; give a log and a centerline with the same stations"
        )
    if job.centerline.sigma_horizontal is not None or job.centerline.sigma_vertical is not None:
        raise JobFileError(
            "centerline.sigma_horizontal, centerline.sigma_vertical: an alignment is drawn, not shot, and has no "
            "shot noise; remove the keys"
        )
    if job.centerline.reversed:
        raise JobFileError("centerline.reversed: an alignment runs with its stations; remove the key")
    alignments = file.alignments
    names = [one.name for one in alignments]
    if len(names) == 1 and job.centerline.route_name:
        names = [job.centerline.route_name]
    if len(set(names)) < len(names):
        raise InputFileError(f"{path}: several alignments have one name; give each a name of its own")
    first = np.concatenate([[0], np.cumsum([len(one.vertices) for one in alignments])])
    vertices = np.concatenate([one.vertices for one in alignments])
    distance = np.concatenate([np.append(one.pieces.distance, one.length) for one in alignments])
    stated = job.centerline.start_station is not None
    start = _stated_starts(job, names, str(path)) if stated else np.array([one.start_station for one in alignments])
    return Routes(
        names=tuple(names),
        first=first,
        easting=vertices[:, 0],
        northing=vertices[:, 1],
        elevation=np.full(len(vertices), np.nan),
        distance=distance,
        slope_distance=np.full(len(vertices), np.nan),
        start_station=start,
        crs=crs,
        unit=unit,
        notes=file.notes,
        inputs=((str(path), file.sha256),),
        pieces=join_pieces([one.pieces for one in alignments]),
        profiles=tuple(one.profile for one in alignments),
        equations=tuple(
            (number, back, ahead) for number, one in enumerate(alignments) for _, back, ahead in one.equations
        ),
    )


class _Shots(NamedTuple):
    """Survey shots: their rows, which column is which field, and where they are points, their coordinates."""

    table: TextTable
    mapping: dict[str, str]
    points: Floats | None = None
    """Easting, northing and elevation, shape (rows, 3)."""
    crs: str | None = None


def _told_where(where: str, taken: Bools, what: str) -> str:
    return f"{where}: {int(taken.sum())} of {len(taken)} {what} are taken, as centerline.where says"


def _shots_of_table(job: Job, path: Path) -> _Shots:
    wanted = job.centerline
    table = tables.read_table(path, fields=SHOT_NAMES, encoding=wanted.encoding, sheet=wanted.sheet)
    mapping = _shot_columns(job, table)
    for field in _IN_PLAN:
        if field not in mapping:
            raise JobFileError(
                f"centerline.columns.{field}: no column of {path} is known as {field}; "
                f"map it (its columns are {', '.join(table.columns)})"
            )
    if table.broken:
        broken = table.broken[0]
        raise InputFileError(f"{path}: row {broken.row}: {broken.reason}; correct the row")
    if not wanted.where:
        return _Shots(table, mapping)
    columns = dict(zip(table.columns, table.data.columns, strict=True))
    rows = rows_where(columns, wanted.where, where=str(path), key="centerline.where")
    data, notes = table.data.filter(pa.array(rows)), (*table.notes, _told_where(str(path), rows, "rows"))
    return _Shots(replace(table, data=data, row=table.row[rows], notes=notes), mapping)


def _shots_of_layer(job: Job, features: vectors.Features, where: str) -> _Shots:
    """Take the points of a layer as shots; their attributes say what the columns of a file say."""
    points = vectors.single_points(features.geometry)
    lost = np.flatnonzero(np.isnan(points[:, 0])) if points is not None else np.arange(len(features.ids))
    if points is None or len(lost):
        raise InputFileError(
            f"{where}: feature {features.ids[lost[0]]} is no single point, as others of the layer are; correct it, or "
            "take the shots by centerline.where"
        )
    # The layer's own numbers keep the rows of a layer without any column.
    columns = {"row": pa.array([str(one) for one in features.ids]), **features.columns}
    table = table_from_columns(pa.table(columns), name=where)
    sha256 = features.inputs[0][1] if features.inputs else ""
    table = with_source(table, sha256, features.notes)
    given = [field for field in _IN_PLAN if field in job.centerline.columns]
    if given:
        raise JobFileError(f"centerline.columns.{given[0]}: the shots of {where} are points already; remove this key")
    return _Shots(table, _shot_columns(job, table, without=_IN_PLAN), points, features.crs)


def _shot_columns(job: Job, table: TextTable, *, without: Sequence[str] = ()) -> dict[str, str]:
    names = {field: known for field, known in SHOT_NAMES.items() if field not in without}
    chosen: dict[str, str | int] = dict(job.centerline.columns)
    if not table.headed and not chosen:
        chosen = {name: number for number, name in enumerate(HEADLESS_ORDER[: len(table.columns)], start=1)}
    if job.centerline.route is not None and "route" not in chosen:
        chosen["route"] = job.centerline.route
    return match_columns(table.columns, names, chosen, where=table.path, key="centerline.columns")


def _routes_from_shots(job: Job, shots: _Shots, path: str) -> Routes:
    table, mapping, points = shots.table, shots.mapping, shots.points
    first_point = None if points is None else (float(points[0, 0]), float(points[0, 1]))
    crs, unit, vertical = coordinate_system(job, shots.crs, path, lambda: first_point)
    names, notes = _shot_routes(job, table, mapping, path)
    rows = np.flatnonzero([name is not None for name in names])
    rows, left_out = _without_left_out(job, table, mapping, rows, path)
    if not len(rows):
        raise InputFileError(f"{path}: no survey shot belongs to a route; correct centerline.codes or the file")
    order, route = route_order([str(names[row]) for row in rows])
    rank = _shot_rank(job, table, mapping, rows, path)
    sequence = np.lexsort((rank, route))
    rows, route = rows[sequence], route[sequence]
    easting, northing, elevation = _shot_coordinates(shots, rows, path)
    first = np.searchsorted(route, np.arange(len(order) + 1))
    elevation, elevation_notes = _known_elevations(elevation * vertical, first, order, path)
    sigma = _shot_sigmas(job, table, rows, path)
    joint = _shot_joints(job, table, mapping, rows, path)
    run = _running(job, order, first)
    start = _stated_starts(job, order, path)
    return routes_from_vertices(
        order, first, easting[run], northing[run], elevation[run], start, crs, unit,
        sigma=(sigma[0][run] if sigma[0] is not None else None, sigma[1][run] if sigma[1] is not None else None),
        joint=joint.take(pa.array(run)) if joint is not None else None,
        point=table.data[mapping["point"]].take(pa.array(rows[run])).combine_chunks() if "point" in mapping else None,
        row=table.row[rows[run]],
        word=pa.array(_first_words(table, mapping)).take(pa.array(rows[run])) if "description" in mapping else None,
        notes=(*table.notes, *notes, *left_out, *elevation_notes),
        inputs=((path, table.sha256),) if table.sha256 else (),
    )  # fmt: skip


def _shot_coordinates(shots: _Shots, rows: Ints, path: str) -> tuple[Floats, Floats, Floats]:
    """Give easting, northing and elevation of some of the shots; NaN where no elevation is known."""
    table, mapping = shots.table, shots.mapping
    elevation = np.full(len(rows), np.nan)
    if "elevation" in mapping:
        elevation = _coordinate(table, mapping, "elevation", rows, path, required=False)
    if shots.points is None:
        plan = (_coordinate(table, mapping, field, rows, path) for field in ("easting", "northing"))
        return next(plan), next(plan), elevation
    easting, northing, height = shots.points[rows].T
    # Points without heights of their own, or with zeros throughout, may have them in a column.
    return easting, northing, height if np.nan_to_num(height).any() or "elevation" not in mapping else elevation


def _without_left_out(
    job: Job, table: TextTable, mapping: dict[str, str], rows: Ints, path: str
) -> tuple[Ints, list[str]]:
    """Leave out the shots that the job names by their point numbers."""
    wanted = job.centerline.shots_left_out
    if not wanted:
        return rows, []
    if "point" not in mapping:
        raise JobFileError(f"centerline.shots_left_out: {path} has no column of point numbers; map it")
    point = table.data[mapping["point"]].combine_chunks().take(pa.array(rows))
    absent = sorted(set(wanted) - set(point.to_pylist()))
    if absent:
        raise JobFileError(f"centerline.shots_left_out: {path} has no point {absent[0]!r}; correct the number")
    kept = rows[~as_mask(pc.is_in(point, value_set=pa.array(wanted)))]
    return kept, [f"{path}: {len(rows) - len(kept)} shots were left out, as the job says (centerline.shots_left_out)"]


def _words(table: TextTable, mapping: dict[str, str]) -> list[list[str]]:
    """Give the words of each shot's description."""
    texts = table.data[mapping["description"]].to_pylist()
    return [[word for word in re.split(r"[\s,;]+", text or "") if word] for text in texts]


def _first_words(table: TextTable, mapping: dict[str, str]) -> list[str]:
    return [words[0] if words else "" for words in _words(table, mapping)]


def _code_of(words: list[str], codes: Iterable[str]) -> str | None:
    """Find the longest code with which a description begins: of one word, or of several."""
    begun = [code for code in codes if words[: len(code.split())] == code.split()]
    return max(begun, key=len, default=None)


def _shot_routes(job: Job, table: TextTable, mapping: dict[str, str], path: str) -> tuple[list[str | None], list[str]]:
    wanted = job.centerline
    if "route" in mapping:
        names = table.data[mapping["route"]].to_pylist()
        if None in names:
            row = table.row[names.index(None)]
            raise InputFileError(f"{path}: row {row}: the shot has no route in {mapping['route']!r}; fill it in")
        return names, []
    only = wanted.route_name or job.name
    if not wanted.codes and not wanted.codes_left_out:
        return [only] * table.data.num_rows, []
    key = "codes" if wanted.codes else "codes_left_out"
    if "description" not in mapping:
        raise JobFileError(f"centerline.{key}: {path} has no description column to find codes in; map it")
    left_out, codes = set(wanted.codes_left_out), wanted.codes
    both = sorted(left_out & set(codes))
    if both:
        raise JobFileError(
            f"centerline.codes_left_out: {both[0]!r} is a route's code in centerline.codes too; remove one"
        )
    found = [_code_of(words, [*codes, *left_out]) for words in _words(table, mapping)]
    first_words = _first_words(table, mapping)
    if left_out and codes and None in found:
        at = found.index(None)
        raise InputFileError(
            f"{path}: row {table.row[at]}: the code {first_words[at]!r} stands neither in centerline.codes nor in "
            "codes_left_out; add it to one of them"
        )
    names = [None if code in left_out else codes.get(code or "") if codes else only for code in found]
    every = zip(found, first_words, names, strict=True)
    others = sorted({code or word for code, word, name in every if name is None})
    absent = ", ".join(sorted(left_out - set(found)))
    notes = [f"{path}: no shot has the code {absent} (centerline.codes_left_out)"] if absent else []
    if others:
        told = "as the job says" if left_out else "with other codes"
        count = sum(name is None for name in names)
        notes.append(f"{path}: {count} shots {told} were left out ({', '.join(others)})")
    return names, notes


def _shot_joints(job: Job, table: TextTable, mapping: dict[str, str], rows: Ints, path: str) -> pa.Array | None:
    """Give the number of the joint that each shot is of: a column's, or behind a word of the description."""
    word = job.centerline.joint_after
    column = mapping.get("joint", mapping.get("description") if word is not None else None)
    if word is not None and column is None:
        raise JobFileError(f"centerline.joint_after: {path} has no description column to find joints in; map it")
    if column is None:
        return None
    text = table.data[column].combine_chunks().take(pa.array(rows))
    if word is None:
        return text
    pattern = rf"(?i)(?:^|[\s,;]){re.escape(word)}[\s#:.]*(?P<joint>[0-9A-Za-z][0-9A-Za-z./-]*)"
    return pc.struct_field(pc.extract_regex(text, pattern), "joint")


def _shot_rank(job: Job, table: TextTable, mapping: dict[str, str], rows: Ints, path: str) -> Floats:
    if job.centerline.order == "file":
        return rows.astype(np.float64)
    if job.centerline.order == "station":
        if "station" not in mapping:
            raise JobFileError(f'centerline.order = "station": {path} has no station column; map it')
        text = table.data[mapping["station"]].combine_chunks().take(pa.array(rows))
        rank = stationing.parse_stations(text, where=f"{path}, column {mapping['station']!r}").value
    elif "point" in mapping:
        text = table.data[mapping["point"]].combine_chunks().take(pa.array(rows))
        rank = values.numbers(_numbered(text), decimal_comma=False)
    else:
        return rows.astype(np.float64)
    if np.isnan(rank).any():
        row = table.row[rows[int(np.argmax(np.isnan(rank)))]]
        raise InputFileError(
            f"{path}: row {row}: the {job.centerline.order} cannot be read as a number; correct "
            'it, or say centerline.order = "file"'
        )
    return rank


def _numbered(point: pa.Array) -> pa.Array:
    """Give names such as W101, all with the same letters before their numbers, without these."""
    parts = pc.extract_regex(point, r"^(?P<letters>[^0-9]*)(?P<number>[0-9]+)$")
    letters = pc.unique(pc.struct_field(parts, "letters"))
    return pc.struct_field(parts, "number") if len(letters) == 1 and letters[0].as_py() else point


def _coordinate(
    table: TextTable, mapping: dict[str, str], field: str, rows: Ints, path: str, required: bool = True
) -> Floats:
    text = table.data[mapping[field]].combine_chunks().take(pa.array(rows))
    value = values.numbers(text, decimal_comma=table.decimal_comma)
    unreadable = np.isnan(value) & (np.asarray(text.is_valid()) | required)
    if unreadable.any():
        at = int(np.argmax(unreadable))
        raise InputFileError(
            f"{path}: row {table.row[rows[at]]}: {field} {text[at].as_py()!r} is not a number; correct the shot"
        )
    return value


def coordinate_system(job: Job, found: str | None, where: str, first_point: Any) -> tuple[CRS, str, float]:
    """Settle the centerline's coordinate system from the file and the job.

    Returns
    -------
    crs : pyproj.CRS
        Projected.
    unit : {"us-ft", "ft", "m"}
        Of eastings and northings.
    vertical : float
        Factor that brings the file's elevations to this unit; 1 where the file names no vertical system.

    Raises
    ------
    JobFileError
        When there is none, they conflict, it is in degrees, or its unit is unknown.
    """
    from pyproj import CRS
    from pyproj.exceptions import CRSError

    try:
        wanted = CRS.from_user_input(job.crs) if job.crs is not None else None
    except CRSError:
        raise JobFileError(f"crs: {job.crs!r} is not a known coordinate system; write it like EPSG:6418") from None
    given = CRS.from_user_input(found) if found is not None else None
    if wanted is None and given is None:
        raise JobFileError(f"crs: {where} does not say its coordinate system; add it to the job, like EPSG:6418")
    if wanted is not None and given is not None and not _same_system(wanted, given):
        raise JobFileError(
            f"crs: the job says {job.crs} ({wanted.name}), but {where} says {given.name}; remove the job's crs "
            "if the file is right, or correct the file"
        )
    crs = wanted if wanted is not None else given
    assert crs is not None
    if crs.is_geographic:
        raise JobFileError(
            f"crs: {where} is in degrees ({crs.name}); lengths and angles need a projected system: "
            f"project it first, for instance to {_projected_advice(first_point())}"
        )
    if not crs.is_projected:
        raise JobFileError(f"crs: {crs.name} is not a projected coordinate system; give the one of the survey")
    unit = units.of_crs(crs)
    said = job.centerline.unit
    if unit is None and said is None:
        raise JobFileError(f"centerline.unit: {crs.name} does not say feet or metres; add the unit")
    if unit is not None and said is not None and unit != said:
        raise JobFileError(
            f"centerline.unit: the job says {said}, but the coordinates of {crs.name} are in {units.WORDS[unit]}; "
            "remove the key"
        )
    up = (given or crs).axis_info[2:]
    vertical = up[0].unit_conversion_factor / crs.axis_info[0].unit_conversion_factor if up else 1.0
    return crs, unit or said or "m", vertical


def _same_system(wanted: CRS, given: CRS) -> bool:
    if wanted.equals(given, ignore_axis_order=True):
        return True
    horizontal = given.sub_crs_list[0] if given.is_compound else given
    code = horizontal.to_epsg(min_confidence=20)
    return wanted.equals(horizontal, ignore_axis_order=True) or (code is not None and code == wanted.to_epsg())


def _projected_advice(point: tuple[float, float] | None) -> str:
    from pyproj.aoi import AreaOfInterest
    from pyproj.database import query_utm_crs_info

    if point is None or not (-180 <= point[0] <= 180 and -80 <= point[1] <= 84):
        return "the utility's State Plane or UTM zone"
    area = AreaOfInterest(point[0], point[1], point[0], point[1])
    zones = query_utm_crs_info(datum_name="WGS 84", area_of_interest=area)
    return f"the utility's State Plane zone or UTM (EPSG:{zones[0].code})" if zones else "UTM"


def _first_point(geometry: npt.NDArray[np.object_]) -> tuple[float, float] | None:
    import shapely

    coordinates = shapely.get_coordinates(geometry[~shapely.is_missing(geometry)][:1])
    return (float(coordinates[0, 0]), float(coordinates[0, 1])) if len(coordinates) else None


def _running(job: Job, names: Sequence[str], first: Ints) -> Ints:
    """Give the order in which vertices run with the stations: as drawn, or backwards on reversed routes."""
    routes, order = RouteNames(names), np.arange(first[-1])
    for name in job.centerline.reversed:
        number = routes.number(name, key="centerline.reversed")
        order[first[number] : first[number + 1]] = order[first[number] : first[number + 1]][::-1]
    return order


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

    return _sigmas(job, int(vertices.sum()), column)


def _shot_sigmas(job: Job, table: TextTable, rows: Ints, path: str) -> tuple[Floats | None, Floats | None]:
    def column(key: str, name: str) -> Floats:
        if name not in table.columns:
            raise JobFileError(f"{key}: {path} has no column {name!r}; its columns are {', '.join(table.columns)}")
        value = _coordinate(table, {name: name}, name, rows, path)
        if (value < 0).any():
            raise InputFileError(
                f"{path}: row {table.row[rows[int(np.argmax(value < 0))]]}: {name} is below zero; give a standard error"
            )
        return value

    return _sigmas(job, len(rows), column)


def _sigmas(job: Job, count: int, column: Callable[[str, str], Floats]) -> tuple[Floats | None, Floats | None]:
    def one(key: str, stated: float | str | None) -> Floats | None:
        if stated is None:
            return None
        return column(key, stated) if isinstance(stated, str) else np.full(count, float(stated))

    wanted = job.centerline
    return (
        one("centerline.sigma_horizontal", wanted.sigma_horizontal),
        one("centerline.sigma_vertical", wanted.sigma_vertical),
    )


def _text(value: object) -> str:
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    return "" if value is None else str(value).strip()
