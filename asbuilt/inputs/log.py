"""The joint log: records read, their columns matched and normalised, the original rows kept.

Every row of the log becomes one record, or one broken row with its reason; none is dropped.
"""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Bools, Floats, Ints, as_floats, as_mask, as_one, in_a_row, of_rows
from asbuilt.errors import InputFileError, JobFileError
from asbuilt.held import held, with_held
from asbuilt.inputs import cells as cell
from asbuilt.inputs import doubtful_columns, tables, trouble, unread_columns, values, vectors, words
from asbuilt.inputs.cells import Unreadable
from asbuilt.inputs.chosen_columns import chosen_here
from asbuilt.inputs.fields import FIELD_NAMES, PASSED_FIELDS, known_names
from asbuilt.inputs.header_units import WORDS, refuse_other_units, unit_of_places, without_row_of_units
from asbuilt.inputs.headers import has_column, match_columns, normalised
from asbuilt.inputs.log_cells import read_cells
from asbuilt.inputs.no_records import without_no_records
from asbuilt.inputs.pipe import pipe_said
from asbuilt.inputs.sections import by_their_own_names
from asbuilt.inputs.sheet_days import day_notes
from asbuilt.inputs.stations import station_notes, without_dots_for_plus, without_offsets
from asbuilt.inputs.text_table import BrokenRow, TextTable, filtered, table_from_columns, with_source
from asbuilt.inputs.unread_columns import ELSEWHERE_FIELD
from asbuilt.line.stationing import Form, Stations, parse_stations
from asbuilt.waiting import ROWS, Waiting

if TYPE_CHECKING:
    import pandas as pd

    from asbuilt.job import Job
    from asbuilt.keys.log import Records


_DEGREES = ("latitude", "lat", "longitude", "long", "lon", "lng")
"""Names, in their plain form, of columns that hold degrees."""
STRUCK_OUT = "the row is struck through in the sheet"
"""What `Log.broken` says of such a row."""
SAME_PLACE = 0.25
"""Records of one joint number are one joint while they lie within this part of a laying length."""


@dataclass(frozen=True)
class Log:
    """All records of a job in the order of its files; arrays have shape (n,)."""

    fields: dict[str, pa.Array]
    """Normalised fields by name; null where blank or unreadable. Fields that no file carries are absent."""
    stations: Stations
    file: pa.Array
    """The file of each record, as the job names it."""
    row: Ints
    originals: tuple[Future[Waiting], ...]
    """The rows of each file as it has them, being written; see `original`. Some records of a job have none."""
    broken: pa.Array
    """Why a row could not be read as a record; null for records."""
    unreadable: Unreadable
    matches: tuple[tuple[str, str, str], ...]
    """File, field and column of every match of a column."""
    not_read: tuple[tuple[str, str], ...]
    """File and name of every column that no field is read from; it is kept in `original`."""
    notes: tuple[str, ...]
    inputs: tuple[tuple[str, str], ...]
    last_day: dt.date | None = None
    """Nothing can be dated later: a record that is, is not taken for a joint's latest."""
    systems: tuple[tuple[int, str | None], ...] = ()
    """For each file in order: its number of records, and the coordinate system of its points, where it names one."""
    place_units: tuple[str | None, ...] = ()
    """For each file in order: "ft" or "m", where it says so of its coordinates."""
    files: tuple[str, ...] = ()
    """The files that have records, as the job names them; of some records of a job, those of all."""

    def __len__(self) -> int:
        return len(self.row)

    @property
    def original(self) -> pa.Array:
        """The rows as the files have them: each a JSON object of its cells that are not blank."""
        return self.originals_of(0, len(self))

    def originals_of(self, start: int, stop: int) -> pa.Array:
        """Give the rows of successive records as the files have them, from `start` up to, and without, `stop`."""
        parts, first = [pa.array([], pa.string())], 0
        for written in (one.result() for one in self.originals):
            begin, end = max(start - first, 0), min(stop - first, written.num_rows)
            if begin < end:
                parts += written.rows(begin, end)["original"].chunks
            first += written.num_rows
        return pa.concat_arrays(parts)

    def of_records(self, rows: Ints) -> Log:
        """Give the log of some records, in ascending order, without their original rows."""
        some = in_a_row(rows)
        return replace(
            self,
            fields={name: of_rows(values, rows) for name, values in self.fields.items()},
            stations=self.stations.of(some),
            file=of_rows(self.file, rows),
            row=self.row[some],
            originals=(),
            broken=of_rows(self.broken, rows),
            unreadable=self.unreadable.of_records(rows),
        )

    @cached_property
    def failed(self) -> Bools:
        """True for the records that say of an item that it did not pass, shape (records,)."""
        failed = np.zeros(len(self), dtype=np.bool_)
        for field in (one for one in PASSED_FIELDS if one in self.fields):
            failed |= as_mask(pc.equal(self.fields[field], "no"))
        return failed

    def text(self, field: str) -> pa.Array:
        """Give a text field, all null where no file carries it."""
        return self.fields.get(field, pa.nulls(len(self), pa.string()))

    def number(self, field: str) -> Floats:
        """Give a number field, NaN where it is blank."""
        if field not in self.fields:
            return np.full(len(self), np.nan)
        return as_floats(self.fields[field])


class _Source(NamedTuple):
    """One file of the log: its rows, and the points of its features where it is a layer."""

    table: TextTable
    points: Floats | None = None
    """Easting, northing and elevation, shape (rows, 3); NaN where a feature has no point."""
    crs: str | None = None
    name: str = ""
    """The file as the job names it."""


def read_log(job: Job, data: pd.DataFrame | None = None) -> Log:
    """Read the job's log: one file, or several that are one log.

    Parameters
    ----------
    job : Job
    data : DataFrame, optional
        Records already in memory, used instead of the job's paths.

    Raises
    ------
    InputFileError, JobFileError
        When a file, sheet or column is missing, or there are no records at all.
    """
    read = [_read_one(job, source) for source in _sources(job, data)]
    logs = [log for log, _ in read]
    log = logs[0] if len(logs) == 1 else _joined(logs)
    if not len(log):
        where = ", ".join(job.records.path) or "the records data"
        raise InputFileError(f"{where}: there are no records in it; give the joint log")
    _refuse_names_nowhere(job, log)
    notes = [*words.never_met(job, set().union(*(met for _, met in read))), *_fixed_nowhere(job, log, len(logs))]
    # A log of text that came back as a workbook runs with the job as it is.
    if data is None and job.records.encoding is not None and tables.only_workbooks(job.records.path):
        notes = [*notes, "records.encoding has no effect: a workbook says its encoding itself"]
    return replace(log, notes=(*log.notes, *notes), files=tuple(pc.unique(log.file).to_pylist()))


def _fixed_nowhere(job: Job, log: Log, sources: int) -> list[str]:
    """Say which values of the job for the whole log stand nowhere: each file has a column of that field."""
    columns = {field: [one for _, other, one in log.matches if other == field] for field in job.records.fixed}
    return [
        f"records.fixed.{field} has no effect: the log's column {columns[field][0]!r} is read; remove one of the two "
        f"(records.columns says what is read from which column)"
        for field in job.records.fixed
        if len(columns[field]) == sources
    ]


def station_form(job: Job, log: Log) -> Form:
    """Choose how stations are written in the result: as the log does, or as its unit is used to."""
    if log.stations.form != "decimal":
        return log.stations.form
    return "thousands" if job.records.station_unit == "m" else "hundreds"


def text_tables(job: Job, data: pd.DataFrame | None = None) -> list[TextTable]:
    """Read the files of the job's log as text, in their order.

    Parameters
    ----------
    job : Job
    data : DataFrame, optional
        Records already in memory, used instead of the job's paths.

    Raises
    ------
    InputFileError, JobFileError
        When a file, sheet or column is missing.
    """
    return [source.table for source in _sources(job, data)]


def _sources(job: Job, data: pd.DataFrame | None) -> list[_Source]:
    if data is not None:
        table = table_from_columns(_arrow_table(data), name="the records data")
        shapes: Any = getattr(data, "geometry", None)
        if str(getattr(shapes, "dtype", "")) != "geometry":
            return [_Source(table, name=table.path)]
        system = shapes.crs.to_wkt() if shapes.crs is not None else None
        return [_Source(table, vectors.single_points(np.asarray(shapes)), system)]
    wanted = job.records
    if not wanted.path:
        raise JobFileError(f"{job.source}: records.path: this key is required; name the log's files")
    found: list[_Source] = []
    files: dict[str, str] = {}
    for name in wanted.path:
        path = job.file(name)
        if not vectors.is_there(path):
            raise InputFileError(f"{path}: there is no such file; correct records.path")
        sources = _sources_in(job, path, name)
        # Forms that nobody filled in are alike.
        if any(len(one.table.row) for one in sources):
            other = files.setdefault(sources[0].table.sha256, name)
            if other != name:
                raise JobFileError(
                    f"{job.source}: records.path: {name} is {other} once more, byte for byte, and every record would "
                    "count twice; name it once"
                )
        found += [_taken(job, source) for source in sources]
    return found


def _sources_in(job: Job, path: Path, name: str) -> list[_Source]:
    """Give what is read from one file: a layer, a table, or several sheets that are one log."""
    if path.suffix.lower() in vectors.SUFFIXES:
        return [_layer(job, path)._replace(name=name)]
    wanted, fields = job.records, known_names(job)
    aside = wanted.struck_out == "set-aside"
    if len(wanted.sheet) > 1 or "*" in wanted.sheet:
        found = tables.read_sheets(path, fields=fields, sheets=wanted.sheet, decimal=wanted.decimal, struck_aside=aside)
    else:
        sheet = wanted.sheet[0] if wanted.sheet else None
        found = [
            tables.read_table(
                path,
                fields=fields,
                sheet=sheet,
                encoding=wanted.encoding,
                decimal=wanted.decimal,
                struck_aside=aside,
                sheet_key="records.sheet",
            )
        ]
    _refuse_columns_nowhere(job, found)
    records = [_records_of(job, by_their_own_names(one, fields)) for one in found]
    return [_Source(one, name=f"{name}, sheet {one.sheet!r}" if one.among_sheets else name) for one in records]


def _records_of(job: Job, table: TextTable) -> TextTable:
    """Leave out of a table what is no record."""
    mapping = matched(job, table)
    return without_no_records(without_row_of_units(table, mapping), mapping)


def matched(job: Job, table: TextTable) -> dict[str, str]:
    """Match a log's columns to fields: the column of each field that it has."""
    return match_columns(table.columns, FIELD_NAMES, chosen_here(job, table), where=table.where, key="records.columns")


def _refuse_columns_nowhere(job: Job, sheets: Sequence[TextTable]) -> None:
    """Refuse a column chosen by the job that none of several sheets has; one of them has it at least."""
    every = {name for table in sheets for name in table.columns}
    for field, one in job.records.columns.items():
        if len(sheets) > 1 and isinstance(one, str) and not has_column(every, one):
            raise InputFileError(
                f"{sheets[0].path}: records.columns.{field}: no sheet has a column {one!r}; correct it"
            )


def _refuse_names_nowhere(job: Job, log: Log) -> None:
    """Refuse a name among several for one field that no file and no sheet has."""
    for field, names in job.records.columns.items():
        if isinstance(names, str | int):
            continue
        met = [column for _, other, column in log.matches if other == field]
        for one in (one for one in names if not has_column(met, one)):
            raise JobFileError(f"{job.source}: records.columns.{field}: no sheet has a column {one!r}; correct it")


def _taken(job: Job, source: _Source) -> _Source:
    """Take the rows that the job names; all of them where it names none."""
    table, ranges = source.table, job.records.row_ranges
    if not ranges:
        return source
    there = np.concatenate([table.row, np.array([one.row for one in table.broken], dtype=np.int64)])
    taken = np.zeros(len(there), dtype=bool)
    for first, last in ranges:
        inside = (there >= first) & (there <= last)
        if not inside.any():
            named = f"row {first}" if first == last else f"rows {first} to {last}"
            raise JobFileError(f"{job.source}: records.rows: {table.path} has no record in {named}; correct it")
        taken |= inside
    keep = taken[: len(table.row)]
    broken = tuple(one for one, is_taken in zip(table.broken, taken[len(table.row) :], strict=True) if is_taken)
    note = f"{table.path}: {int(taken.sum())} of {len(there)} rows are taken, as records.rows says"
    table = replace(
        table, data=filtered(table.data, keep), row=table.row[keep], broken=broken, notes=(*table.notes, note)
    )
    return source._replace(table=table, points=None if source.points is None else source.points[keep])


def _arrow_table(data: pd.DataFrame) -> pa.Table:
    """Take a data frame's columns over; a column of mixed things is taken as their texts, geometry is left out."""
    if not hasattr(data, "columns"):
        raise JobFileError("records: give the joint records as a data frame; files are named in records.path")
    columns = {}
    for name in data.columns:
        cells = data[name]
        if str(cells.dtype) == "geometry":
            continue
        try:
            columns[str(name)] = pa.array(cells, from_pandas=True)
        except (pa.ArrowInvalid, pa.ArrowTypeError):
            texts = cells.astype(str).where(cells.notna(), None)
            columns[str(name)] = pa.array(texts, pa.string(), from_pandas=True)
    return pa.table(columns)


def _layer(job: Job, path: Path) -> _Source:
    features = vectors.read_features(path, job.records.layer, key="records.layer", encoding=job.records.encoding)
    table = table_from_columns(pa.table(features.columns), name=str(path))
    points, notes = vectors.single_points(features.geometry), []
    whole = np.ones(len(features.ids), dtype=bool)
    whole[[at for at, _ in features.broken]] = False
    if points is not None:
        absent = table.row[np.isnan(points[:, 0]) & whole]
        count = "1 feature has" if len(absent) == 1 else f"{len(absent):,} features have"
        notes += [f"{path}: {count} no point that can be read (first: row {absent[0]})"] if len(absent) else []
    table = with_source(table, features.inputs[0][1], notes)
    rows = table.data.to_pylist() if features.broken else []
    broken = tuple(
        BrokenRow(
            int(table.row[at]),
            f"feature {features.ids[at]} is broken ({why})",
            {name: cell for name, cell in rows[at].items() if cell is not None},
        )
        for at, why in features.broken
    )
    table = replace(table, data=filtered(table.data, whole), row=table.row[whole], broken=broken)
    return _Source(table, None if points is None else points[whole], features.crs)


def _read_one(job: Job, source: _Source) -> tuple[Log, set[tuple[str, str]]]:
    """Read one source, and which of the job's words for fields it has."""
    wanted, table = job.records, source.table
    mapping = matched(job, table)
    in_columns = "easting" in mapping and "northing" in mapping
    by_points = wanted.use_coordinates and source.points is not None and not in_columns
    shots_say = job.centerline.joint_after is not None or "joint" in job.centerline.columns
    counted = wanted.station_from == "laid_length"
    if "station" not in mapping and not (counted or by_points or shots_say or (in_columns and wanted.use_coordinates)):
        raise JobFileError(
            f"records.columns.station: no column of {table.where} is known as the station; "
            f"map it (its columns are {', '.join(table.columns)})"
        )
    _refuse_shared_columns(mapping, table)
    doubtful_columns.refuse_numbered_gaps(mapping, wanted.columns, table.where)
    refuse_other_units(mapping, wanted, table.where, table.units)
    originals = _in_background(table)
    cells = {field: as_one(table.data[column]) for field, column in mapping.items()}
    doubtful_columns.refuse_other_content(mapping, wanted.columns, cells, table.columns, table.where)
    _refuse_degrees_without_system(mapping, cells, wanted, table.where)
    for field, value in wanted.fixed.items():
        cells.setdefault(field, pa.array([value] * table.data.num_rows, pa.string()))
    cells.setdefault("station", pa.nulls(table.data.num_rows, pa.string()))
    where = f"{table.where}, column {mapping.get('station', 'station')!r}"
    station, behind = without_offsets(cells["station"])
    pointed = values.with_point(station, decimal_comma=table.decimal_comma)
    stations = parse_stations(pointed, wanted.station_format, where=where, unit=wanted.station_unit)
    stations, dotted = without_dots_for_plus(pointed, stations, table.row, where, wanted)
    del station
    behind, pointed, stations = held((behind, pointed, stations), len(table.row))
    read = read_cells(job, table, cells, behind, np.isfinite(stations.value))
    cells, fields, unreadable = read.cells, read.fields, read.unreadable
    unread = {name: as_one(table.data[name]) for name in table.columns if name not in mapping.values()}
    named = {mapping[field]: read.cells[field] for field in ("joint", "inspector", "crew") if field in mapping}
    elsewhere = [unread_columns.said(unread, trouble.remark_words(job)), unread_columns.misplaced(named)]
    told = [one for one in elsewhere if one is not None]
    fields |= {ELSEWHERE_FIELD: unread_columns.one_after_another(*told)} if told else {}
    fields |= pipe_said(cells, unread, wanted, table.data.num_rows)
    notes = [*read.notes, *station_notes(pointed, stations, table.row, where, wanted), *dotted]
    _refuse_fixed(job, mapping, unreadable)
    if by_points and source.points is not None:
        fields |= _point_fields(source.points)
    log = Log(
        fields=fields,
        stations=stations,
        file=pa.repeat(source.name, len(table.row)),
        row=table.row,
        originals=(originals,),
        broken=_struck_out(table),
        unreadable=unreadable,
        matches=tuple((table.where, field, column) for field, column in mapping.items()),
        not_read=tuple((table.where, name) for name in unread),
        notes=(
            *table.notes,
            *notes,
            *doubtful_columns.asked(table.columns, mapping, table.where),
            *unread_columns.told(unread, doubtful_columns.could_be(table.columns, mapping), table.where),
            *doubtful_columns.others_unread(unread, table.columns, mapping, table.where),
            *day_notes(table, fields),
            *_unnumbered(table, cells),
        ),
        inputs=((table.path, table.sha256),) if table.sha256 else (),
    )
    log = _with_broken_rows(log, source, mapping, trouble.remark_words(job)) if table.broken else log
    log = with_held(log, len(log), ("file", "row", "broken", "unreadable"))
    said = unit_of_places(mapping, table.units) if in_columns else None
    return replace(log, systems=((len(log), source.crs if by_points else None),), place_units=(said,)), read.met


def _struck_out(table: TextTable) -> pa.Array:
    """Say which rows are struck through, and set aside for that; null for all others.

    Their cells are read all the same: a ditto mark below them stands for what they say.
    """
    if not table.struck:
        return pa.nulls(len(table.row), pa.string())
    return pc.if_else(pa.array(np.isin(table.row, sorted(table.struck))), STRUCK_OUT, pa.scalar(None, pa.string()))


def _refuse_fixed(job: Job, mapping: dict[str, str], unreadable: cell.Unreadable) -> None:
    """Refuse a value of the job for the whole log that cannot be read: it would be blank in every record."""
    for field, value in job.records.fixed.items():
        if field not in mapping and pc.any(pc.equal(unreadable.field, field)).as_py():
            unit = cell.unit_read(job.records, field)
            raise JobFileError(
                f"{job.source}: records.fixed.{field}: {value!r} cannot be read"
                f"{f' in {WORDS.get(unit, unit)}' if unit else ''}; write it as a cell of a log holds it"
            )


def _point_fields(points: Floats) -> dict[str, pa.Array]:
    """Take the points of a layer as the surveyed coordinates of its records; heights of zero throughout are none."""
    east, north, height = points.T
    fields = {"easting": pa.array(east, from_pandas=True), "northing": pa.array(north, from_pandas=True)}
    if np.nan_to_num(height).any():
        fields["elevation"] = pa.array(height, from_pandas=True)
    return fields


def _refuse_shared_columns(mapping: dict[str, str], table: TextTable) -> None:
    fields: dict[str, str] = {}
    for field, column in mapping.items():
        if column in fields:
            raise JobFileError(
                f"records.columns.{field}: column {column!r} of {table.where} is read as {fields[column]} already; "
                "give each field a column of its own"
            )
        fields[column] = field


def _refuse_degrees_without_system(
    mapping: dict[str, str], cells: dict[str, pa.Array], wanted: Records, where: str
) -> None:
    """Refuse columns of latitude and longitude that nothing says the system of: they would be read as feet."""
    fields = [field for field in ("easting", "northing") if normalised(mapping.get(field, "")) in _DEGREES]
    # A form's columns that nobody filled say nothing.
    named = [mapping[field] for field in fields if pc.any(pc.not_equal(cells[field], "")).as_py()]
    if named and wanted.use_coordinates and wanted.crs is None:
        raise JobFileError(
            f"{where}: the columns {' and '.join(map(repr, named))} are degrees; say their coordinate system, such as "
            'records.crs = "EPSG:4326" for WGS 84, or go by the stations alone with records.use_coordinates = false'
        )


def _unnumbered(table: TextTable, cells: dict[str, pa.Array]) -> list[str]:
    """Tell of a log that nothing is read from as its joints' numbers."""
    if "joint" in cells or not table.headed:
        return []
    return [
        f"{table.where}: no column is read as the joint's number, and joints are named by their places; where one "
        "holds it, map it, records.columns.joint"
    ]


def _in_background(table: TextTable) -> Future[Waiting]:
    """Begin to write a file's rows as JSON: the dearest part of reading, and nothing needs it before the layers do."""
    worker = ThreadPoolExecutor(1)
    begun = worker.submit(_originals, table)
    worker.shutdown(wait=False)
    return begun


def _originals(table: TextTable) -> Waiting:
    waiting, count = Waiting(pa.schema([("original", pa.string())])), table.data.num_rows
    broken = pa.array([json.dumps(one.cells, ensure_ascii=False) for one in table.broken], pa.string())
    order = _file_order(table)
    for start in range(0, len(order), ROWS):
        of = order[start : start + ROWS]
        whole = np.flatnonzero(of < count)
        first = int(of[whole[0]]) if len(whole) else 0
        written = _rows_as_json(table.data.slice(first, len(whole)), table.columns)
        if len(whole) < len(of):
            odd = np.flatnonzero(of >= count)
            both = pa.concat_arrays([written, broken.take(pa.array(of[odd] - count))])
            written = both.take(pa.array(np.argsort(np.concatenate([whole, odd]))))
        waiting.add(pa.table({"original": written}))
    return waiting


def _rows_as_json(data: pa.Table, columns: Sequence[str]) -> pa.Array:
    """Write each row as a JSON object of its cells that are not blank, whole columns at a time."""
    # A blank cell stays null, and the join below leaves nulls out together with their names.
    pieces = [_named(name, as_one(column)) for name, column in zip(columns, data.columns, strict=True)]
    # Arrow's join drops rows that are null throughout, so a row without any cell gets an empty piece.
    empty = pc.if_else(pc.is_null(pc.coalesce(*pieces)), "", pa.scalar(None, pa.string()))
    body = pc.binary_join_element_wise(*pieces, empty, ", ", null_handling="skip")
    return pc.binary_join_element_wise("{", body, "}", "")


def _named(name: str, text: pa.Array) -> pa.Array:
    """Write a column's cells as members of a JSON object; null where blank."""
    coded = pc.dictionary_encode(text)  # logs repeat themselves: each distinct text is written once
    key = json.dumps(name, ensure_ascii=False) + ": "
    members = pc.binary_join_element_wise(key + '"', coded.dictionary, '"', "")
    escaping = as_mask(pc.match_substring_regex(coded.dictionary, r'[\x00-\x1f"\\]'))
    if escaping.any():
        odd = coded.dictionary.filter(pa.array(escaping)).to_pylist()
        escaped = pa.array([key + json.dumps(one, ensure_ascii=False) for one in odd], pa.string())
        members = pc.replace_with_mask(members, pa.array(escaping), escaped)
    return members.take(coded.indices)


def _trouble_in(
    broken: Sequence[BrokenRow], mapping: dict[str, str], remark_words: Sequence[str]
) -> dict[str, pa.Array]:
    """Give what rows that do not fit the columns say of trouble: items that did not pass, and words of trouble."""
    passed = {
        field: ["no" if values.pass_fail(one.cells.get(mapping[field], "")) == "no" else None for one in broken]
        for field in PASSED_FIELDS
        if field in mapping
    }
    cells = [pa.array([*one.cells.values()], pa.string()) for one in broken]
    texts = ["; ".join(some.filter(trouble.tells(some, remark_words)).to_pylist()) or None for some in cells]
    said = {field: pa.array(answers, pa.string()) for field, answers in passed.items() if any(answers)}
    return said | ({ELSEWHERE_FIELD: pa.array(texts, pa.string())} if any(texts) else {})


def _with_broken_rows(log: Log, source: _Source, mapping: dict[str, str], remark_words: Sequence[str]) -> Log:
    """Add the rows that do not fit the columns, at their place in the file; of their cells only trouble is read."""
    table, broken = source.table, source.table.broken
    count = len(broken)
    row = np.concatenate([log.row, np.array([one.row for one in broken], dtype=np.int64)])
    order = _file_order(table)
    rank = np.empty(len(order), dtype=np.int64)
    rank[order] = np.arange(len(order))

    def longer(values: pa.Array, more: pa.Array | None = None) -> pa.Array:
        tail = more if more is not None else pa.nulls(count, values.type)
        return pa.concat_arrays([values, tail]).take(pa.array(order))

    unreadable = log.unreadable._replace(record=rank[log.unreadable.record])
    said = _trouble_in(broken, mapping, remark_words)
    blank = {name: pa.nulls(len(log), pa.string()) for name in said}
    return Log(
        fields={name: longer(column, said.get(name)) for name, column in (blank | log.fields).items()},
        stations=_stations_with(log.stations, count, order),
        file=longer(log.file, pa.repeat(source.name, count)),
        row=row[order],
        originals=log.originals,
        broken=longer(log.broken, pa.array([one.reason for one in broken])),
        unreadable=unreadable,
        matches=log.matches,
        not_read=log.not_read,
        notes=log.notes,
        inputs=log.inputs,
    )


def _file_order(table: TextTable) -> Ints:
    """Give the order that puts the rows, followed by the broken ones, as they stand in the file."""
    broken = np.array([one.row for one in table.broken], dtype=np.int64)
    return np.argsort(np.concatenate([table.row, broken]), kind="stable")


def _stations_with(stations: Stations, count: int, order: Ints) -> Stations:
    none = np.zeros(count, dtype=np.int64)
    return Stations(
        np.concatenate([stations.value, np.full(count, np.nan)])[order],
        np.concatenate([stations.side, none])[order],
        np.concatenate([stations.region, none])[order],
        stations.form,
    )


def _joined(logs: Sequence[Log]) -> Log:
    """Put the logs of several files one behind the other."""
    start = np.concatenate([[0], np.cumsum([len(log) for log in logs])])
    kinds = {name: column.type for log in logs for name, column in log.fields.items()}
    forms = {log.stations.form: log.file[0].as_py() for log in logs if log.stations.form != "decimal"}
    if len(forms) > 1:
        (one, one_file), (other, other_file) = list(forms.items())[:2]
        raise InputFileError(
            f"{other_file}: stations are written as {other}, but in {one_file} as {one}; make them alike, "
            "or say records.station_format"
        )
    return Log(
        fields={
            name: pa.concat_arrays([log.fields.get(name, pa.nulls(len(log), kind)) for log in logs])
            for name, kind in kinds.items()
        },
        stations=Stations(
            np.concatenate([log.stations.value for log in logs]),
            np.concatenate([log.stations.side for log in logs]),
            np.concatenate([log.stations.region for log in logs]),
            next(iter(forms), "decimal"),
        ),
        file=pa.concat_arrays([log.file for log in logs]),
        row=np.concatenate([log.row for log in logs]),
        originals=tuple(one for log in logs for one in log.originals),
        broken=pa.concat_arrays([log.broken for log in logs]),
        unreadable=Unreadable.joined(
            [log.unreadable._replace(record=log.unreadable.record + at) for log, at in zip(logs, start, strict=False)]
        ),
        matches=tuple(match for log in logs for match in log.matches),
        not_read=tuple(one for log in logs for one in log.not_read),
        notes=tuple(note for log in logs for note in log.notes),
        inputs=tuple(dict.fromkeys(one for log in logs for one in log.inputs)),
        systems=tuple(one for log in logs for one in log.systems),
        place_units=tuple(one for log in logs for one in log.place_units),
    )
