"""Survey shots read as routes: a text file, a workbook or a layer of points; whose they are, and in which order."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Floats, Ints, as_mask
from asbuilt.errors import InputFileError, JobFileError
from asbuilt.inputs import tables, values, vectors
from asbuilt.inputs.coordinate_system import coordinate_system, height_notes
from asbuilt.inputs.doubtful_columns import heights_not_read
from asbuilt.inputs.header_units import refuse_other_units_of_shots
from asbuilt.inputs.headers import match_columns, normalised
from asbuilt.inputs.route_keys import known_elevations, no_route_column, running, sigmas, stated_starts, told_where
from asbuilt.inputs.text_table import TextTable, table_from_columns, with_source
from asbuilt.inputs.where import rows_where
from asbuilt.line import stationing
from asbuilt.line.names import route_order
from asbuilt.line.routes import Routes, routes_from_vertices

if TYPE_CHECKING:
    from asbuilt.job import Job


SHOT_NAMES = {
    "point": frozenset(
        {
            "point",
            "pt",
            "pointno",
            "pointnumber",
            "ptno",
            "p",
            "pnt",
            "shot",
            "no",
            "id",
            "pointid",
            "ptid",
            "pointname",
        }
    ),
    "northing": frozenset({"northing", "north", "n", "nord", "northings"}),
    "easting": frozenset({"easting", "east", "e", "eastings"}),
    "elevation": frozenset({"elevation", "elevations", "elev", "el", "z", "height", "h", "rl", "reducedlevel"}),
    "description": frozenset({"description", "desc", "code", "d", "note", "remarks", "feature"}),
    "route": frozenset({"route", "routeid", "line", "main", "run"}),
    "station": frozenset({"station", "sta", "chainage"}),
    "joint": frozenset(),
}
_IN_PLAN = ("northing", "easting")
HEADLESS_ORDER = ("point", "northing", "easting", "elevation", "description")
"""Order of the columns of a shot file without a header; common practice, no source."""


class Shots(NamedTuple):
    """Survey shots: their rows, which column is which field, and where they are points, their coordinates."""

    table: TextTable
    mapping: dict[str, str]
    points: Floats | None = None
    """Easting, northing and elevation, shape (rows, 3)."""
    crs: str | None = None


def shots_of_table(job: Job, path: Path) -> Shots:
    """Read the rows of a text file or a workbook as shots."""
    wanted = job.centerline
    if wanted.encoding is not None and tables.only_workbooks([path]):
        raise JobFileError(
            f"centerline.encoding: {path} is a workbook, which says its encoding itself; remove this key"
        )
    table = tables.read_table(
        path, fields=SHOT_NAMES, encoding=wanted.encoding, sheet=wanted.sheet, sheet_key="centerline.sheet"
    )
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
        return Shots(table, mapping)
    columns = dict(zip(table.columns, table.data.columns, strict=True))
    rows = rows_where(columns, wanted.where, where=str(path), key="centerline.where")
    data, notes = table.data.filter(pa.array(rows)), (*table.notes, told_where(str(path), rows, "rows"))
    return Shots(replace(table, data=data, row=table.row[rows], notes=notes), mapping)


def shots_of_layer(job: Job, features: vectors.Features, where: str) -> Shots:
    """Take the points of a layer as shots; their attributes say what the columns of a file say."""
    points = vectors.single_points(features.geometry)
    lost = np.flatnonzero(np.isnan(points[:, 0])) if points is not None else np.arange(len(features.ids))
    if points is None or len(lost):
        raise InputFileError(
            f"{where}: feature {features.ids[lost[0]]} is no single point, as others of the layer are; correct it, or "
            "take the shots by centerline.where"
        )
    # The layer's own numbers keep the rows of a layer without any column.
    columns = features.columns or {"row": pa.array([str(one) for one in features.ids])}
    table = table_from_columns(pa.table(columns), name=where)
    sha256 = features.inputs[0][1] if features.inputs else ""
    table = with_source(table, sha256, features.notes)
    given = [field for field in _IN_PLAN if field in job.centerline.columns]
    if given:
        raise JobFileError(f"centerline.columns.{given[0]}: the shots of {where} are points already; remove this key")
    return Shots(table, _shot_columns(job, table, without=_IN_PLAN), points, features.crs)


def _shot_columns(job: Job, table: TextTable, *, without: Sequence[str] = ()) -> dict[str, str]:
    names = {field: known for field, known in SHOT_NAMES.items() if field not in without}
    chosen: dict[str, str | int] = dict(job.centerline.columns)
    if not table.headed and not chosen:
        chosen = {name: number for number, name in enumerate(HEADLESS_ORDER[: len(table.columns)], start=1)}
    wanted = job.centerline.route
    if wanted is not None and "route" not in chosen:
        if normalised(wanted) not in map(normalised, table.columns):
            raise no_route_column(wanted, table.columns, str(table.path))
        chosen["route"] = wanted
    return match_columns(table.columns, names, chosen, where=table.path, key="centerline.columns")


def routes_from_shots(job: Job, shots: Shots, path: str) -> Routes:
    """String the shots of each route in their order."""
    table, mapping, points = shots.table, shots.mapping, shots.points
    first_point = None if points is None else (float(points[0, 0]), float(points[0, 1]))
    crs, unit, vertical = coordinate_system(job, shots.crs, path, lambda: first_point)
    refuse_other_units_of_shots(mapping, unit, job.centerline.elevation_unit or unit, path)
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
    elevation, elevation_notes = known_elevations(elevation * vertical, first, order, path)
    elevation_notes = [*elevation_notes, *(height_notes(vertical, unit) if np.isfinite(elevation).any() else ())]
    sigma = _shot_sigmas(job, table, rows, path)
    joint = _shot_joints(job, table, mapping, rows, path)
    run = running(job, order, first)
    start = stated_starts(job, order, path)
    stated = (job.centerline.sigma_horizontal, job.centerline.sigma_vertical)
    routes = routes_from_vertices(
        order, first, easting[run], northing[run], elevation[run], start, crs, unit,
        sigma=(sigma[0][run] if sigma[0] is not None else None, sigma[1][run] if sigma[1] is not None else None),
        joint=joint.take(pa.array(run)) if joint is not None else None,
        point=table.data[mapping["point"]].take(pa.array(rows[run])).combine_chunks() if "point" in mapping else None,
        row=table.row[rows[run]],
        word=pa.array(_first_words(table, mapping)).take(pa.array(rows[run])) if "description" in mapping else None,
        notes=(*table.notes, *notes, *left_out, *elevation_notes, *_heights_not_read(table, mapping, elevation, path)),
        inputs=((path, table.sha256),) if table.sha256 else (),
    )  # fmt: skip
    read = [*mapping.values(), *job.centerline.where, *stated]
    return replace(
        routes,
        matches=tuple((path, field, column) for field, column in mapping.items()),
        not_read=tuple((path, name) for name in table.columns if name not in read),
    )


def _heights_not_read(table: TextTable, mapping: dict[str, str], elevation: Floats, path: str) -> list[str]:
    """Tell of columns that look like elevations where the shots have none."""
    found = [] if np.isfinite(elevation).any() else heights_not_read(table.columns, table.data, mapping)
    return [
        f"{path}: no column is known as the elevation, but {name!r} looks like one; if it is, say "
        f'centerline.columns.elevation = "{name}"'
        for name in found[:1]
    ]


def _shot_coordinates(shots: Shots, rows: Ints, path: str) -> tuple[Floats, Floats, Floats]:
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


_CODES = 12
"""So many first words of descriptions, at the most, are taken for codes: else they are remarks. Judgement."""


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
        raise JobFileError(f"centerline.{key}: {path} has no description column to find codes in; {_to_map(table)}")
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
        left = f"1 shot {told} was" if count == 1 else f"{count} shots {told} were"
        notes.append(f"{path}: {left} left out ({', '.join(others)})")
    kept = Counter(word for word, name in zip(first_words, names, strict=True) if word and name is not None)
    if not codes and 1 < len(kept) <= _CODES:
        several = ", ".join(f"{word} ({count})" for word, count in kept.most_common())
        notes.append(
            f"{path}: shots of several codes are strung into the main: {several}; leave out those that are not shots "
            "of it (centerline.codes_left_out)"
        )
    return names, notes


def _to_map(table: TextTable) -> str:
    return f"map it, centerline.columns.description (its columns are {', '.join(table.columns)})"


def _shot_joints(job: Job, table: TextTable, mapping: dict[str, str], rows: Ints, path: str) -> pa.Array | None:
    """Give the number of the joint that each shot is of: a column's, or behind a word of the description."""
    word = job.centerline.joint_after
    column = mapping.get("joint", mapping.get("description") if word is not None else None)
    if word is not None and column is None:
        raise JobFileError(
            f"centerline.joint_after: {path} has no description column to find joints in; {_to_map(table)}"
        )
    if column is None:
        return None
    text = table.data[column].combine_chunks().take(pa.array(rows))
    if word is None:
        return text
    pattern = rf"(?i)(?:^|[\s,;]){re.escape(word)}[\s#:.]*(?P<joint>[0-9A-Za-z][0-9A-Za-z./-]*)"
    return pc.struct_field(pc.extract_regex(text, pattern), "joint")


def _shot_rank(job: Job, table: TextTable, mapping: dict[str, str], rows: Ints, path: str) -> Floats:
    # The joints of a log stand in their order, whatever their numbers.
    if job.centerline.order == "file" or (job.centerline.from_joints and job.centerline.order == "point"):
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

    return sigmas(job, len(rows), column)
