"""A placed job on its way into the register: read, checked, carried to the register's coordinates, and digested.

What it says of each joint is digested to one number, so that what is known already is recognised by content.
"""

from __future__ import annotations

import hashlib
import json
import uuid
from concurrent.futures import Executor, ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Floats, Ints, as_floats, as_ints, as_one, first_bytes, of_rows
from asbuilt.checks import as_found
from asbuilt.errors import InputFileError
from asbuilt.held import blocks, held, let_go
from asbuilt.inputs.vectors import file_digest
from asbuilt.layers import shapes
from asbuilt.line import projection
from asbuilt.line.station_text import TAIL_DIGITS
from asbuilt.line.stationing import parse_stations
from asbuilt.placed import PlacedFile
from asbuilt.placing.naming import joint_uids
from asbuilt.register import layout
from asbuilt.register.layout import SEEN
from asbuilt.stored import GEOMETRY

if TYPE_CHECKING:
    from pyproj import CRS

FINDING_NAMESPACE = uuid.UUID("0b2b5a9e-6c0d-5f4e-8f3a-7f5d2a9c1e64")

# A place in other coordinates is compared as a place; where in which file a record stood is not what it says.
_NOT_CONTENT = {"joint_uid", "easting", "northing", "longitude", "latitude", "record", "file", "row"}

_LOOKED_AT = np.sort(np.random.default_rng(0).random(1000))
"""Which texts of a column are looked at to tell whether any are alike, as parts of its length.

By chance, and not evenly, as names come again on every route.
"""

_ROWS, _TEXTS = 65_536, 1000
"""Rows and texts that are digested at a time."""

_SET_OFF = 0.5 + 2**0.5 / 100.0
"""Steps begin where no number of few decimals lies, so that such a number's noise does not carry it over."""

Digests = npt.NDArray[np.uint64]


@dataclass(frozen=True)
class Incoming:
    """A placed job, in the register's coordinates; arrays are of shape (joints,) unless named otherwise."""

    path: Path
    sha256: str
    crs: str
    """Coordinate system of the file's layers."""
    datum_step: str
    notes: tuple[str, ...]
    run: dict[str, Any]
    """The file's table run, by column."""
    tables: dict[str, pa.Table]
    """The layers as they stand in the file, without their geometry; row n is feature `fids[layer][n]`."""
    fids: dict[str, Ints]
    lines: list[bytes]
    """The centerline of each route in the register's coordinates, as well-known binary; shape (routes,)."""
    easting: Floats
    northing: Floats
    station_number: Floats
    content: Ints
    """Digest of all that the job says of each joint, with its inspections and findings."""
    record_joint: Ints
    """Index of the joint of each inspection, shape (inspections,)."""
    record_content: Ints
    """Digest of each inspection, shape (inspections,)."""
    finding_joint: Ints
    """Index of the joint of each finding, or -1 where it is about a length of a route; shape (findings,)."""
    finding_uid: pa.Array
    whole: str
    """SHA-256 of all digests: the content of the load."""
    beside: str
    """Digest of the rows that are kept beside the joints; empty where there are none."""
    main: str | None
    """The main that the job's routes were put under, whose name then stands before theirs."""
    own_uid: pa.Array
    """The joint_uid of each joint as the file has it, under no main."""
    own_routes: list[str]
    """Routes of the file, as it names them."""
    size_unit: str
    """Unit of nominal sizes: in or mm."""
    accept_m: float | None
    """Accuracy that was accepted of a change of datum, metres."""
    place_accuracy: dict[str, pa.Array]
    """Columns of the joints' place accuracy with that of the change of datum in it; none where no datum changed."""
    _whole_columns: dict[str, pa.Array] = field(default_factory=dict, init=False, repr=False, compare=False)

    @property
    def is_of_parts(self) -> bool:
        """Whether the job speaks of parts of its lines alone."""
        return bool(self.run["counts"].get("basis", {}).get("covers") == "part")

    @property
    def job(self) -> str:
        """Name of the job."""
        return str(self.run["name"])

    @property
    def surveyed_on(self) -> str | None:
        """Day of the survey, where the job says one."""
        day = self.run.get("surveyed_on")
        return None if day is None else str(day)

    def text(self, column: str) -> pa.Array:
        """Give a text column of the joints."""
        return self._column(column)

    def number(self, column: str) -> Floats:
        """Give a number column of the joints; unknown is NaN."""
        return as_floats(self._column(column).cast(pa.float64()))

    def _column(self, column: str) -> pa.Array:
        """Give a column of the joints as one array: made once, as it is asked for by many."""
        if column not in self._whole_columns:
            self._whole_columns[column] = _one(self.tables["joints"], column)
        return self._whole_columns[column]


def read_incoming(
    file: PlacedFile, register_crs: CRS, main: str | None = None, accept_m: float | None = None
) -> Incoming:
    """Read a placed job and carry it to the register's coordinates; elevations stay as they are.

    Parameters
    ----------
    file : PlacedFile
    register_crs : pyproj.CRS
    main : str, optional
        Main to put the job's routes under.
    accept_m : float, optional
        Accuracy that is accepted of a change of datum, metres.

    Raises
    ------
    InputFileError
        When the file cannot be read, or not be carried over.
    """
    with ThreadPoolExecutor(2) as beside:
        return _incoming(file, register_crs, main, accept_m, beside)


def _one(table: pa.Table, name: str) -> pa.Array:
    """Give a column as one array."""
    return held(as_one(table[name]), table.num_rows)


def _layer(file: PlacedFile, layer: str) -> tuple[pa.Table, Ints]:
    """Read the columns of a layer that a register keeps, and the number of the feature of each row."""
    return file.numbered(layer, [name for name in file.columns[layer] if name in layout.REGISTER_LAYERS[layer].columns])


def _incoming(
    file: PlacedFile, register_crs: CRS, main: str | None, accept_m: float | None, beside: Executor
) -> Incoming:
    from pyproj import CRS

    path, own_crs = file.path, file.crs
    # No layer takes longer to digest than the records: they are read beside the joints, and digested from then on.
    records = beside.submit(_layer, file, "inspections")
    of_records = beside.submit(lambda: _record_digests(records.result()[0], main))
    tables, fids = {}, {}
    for layer in (*layout.JOB_LAYERS, *layout.BESIDE):
        tables[layer], fids[layer] = records.result() if layer == "inspections" else _layer(file, layer)
    lines = [_measured(line) for line in file.table(layout.LINES, ("route",), geometry=True)[GEOMETRY].to_pylist()]
    own_uid = _one(tables["joints"], "joint_uid")
    own_routes = sorted(pc.unique(tables["joints"]["route"]).to_pylist())
    if main is not None:
        tables = _under_main(tables, main)
    joints_named = beside.submit(_joints_of, path, tables)
    of_file = beside.submit(file_digest, path)
    joints = tables["joints"]
    easting, northing, step = _carried(path, joints, CRS(own_crs), register_crs, accept_m)
    found = _as_found(tables["findings"])
    finding_content = digests(found, computed=True)
    content = digests(joints, computed=True)
    record_joint, finding_joint = joints_named.result()
    record_content = _told_apart(record_joint, of_records.result())
    content += _gathered(record_joint, record_content, len(content)) * np.uint64(3)
    content += _gathered(finding_joint, finding_content, len(content)) * np.uint64(5)
    loose = np.sort(finding_content[finding_joint < 0])
    # A job that says the same of joints elsewhere says something else.
    spots = mixed(content ^ mixed(steps(easting).view(np.uint64)) ^ (steps(northing).view(np.uint64) << np.uint64(1)))
    of_beside = _beside(tables, lines)
    whole = hashlib.sha256(np.sort(spots).tobytes() + loose.tobytes() + of_beside.encode())
    accuracy = held(_place_accuracy(joints, step, str(file.run["coordinate_unit"])), len(content))
    for name, values in accuracy.items():
        tables["joints"] = tables["joints"].set_column(joints.column_names.index(name), name, values)
    columns = {
        "easting": easting, "northing": northing, "station_number": station_numbers(_one(joints, "station")),
        "content": content.view(np.int64), "record_joint": record_joint,
        "record_content": record_content.view(np.int64), "finding_joint": finding_joint,
        "own_uid": own_uid, "place_accuracy": accuracy,
    }  # fmt: skip
    return Incoming(
        path=path,
        sha256=of_file.result(),
        crs=own_crs,
        datum_step=step.name,
        notes=step.notes,
        run=file.run,
        tables=tables,
        fids=fids,
        lines=_carried_lines(path, lines, step, register_crs),
        finding_uid=_finding_uids(found),
        whole=whole.hexdigest(),
        beside=of_beside,
        main=main,
        own_routes=own_routes,
        size_unit=str(file.run["size_unit"]),
        accept_m=accept_m,
        **held(columns, len(content)),
    )


def _under_main(tables: dict[str, pa.Table], main: str) -> dict[str, pa.Table]:
    """Put the routes of a job under a main; its joints are then others than those of a route of the same name."""
    under = {layer: _routes_under_main(table, main) for layer, table in tables.items()}
    joints = under["joints"]
    known = _one(tables["joints"], "joint_uid")
    uids = joint_uids(_one(joints, "route"), _one(joints, "joint"))
    for layer in layout.JOB_LAYERS:
        table = under[layer]
        [at] = _indexes([_one(table, "joint_uid")], known)
        of = held(uids.take(pa.array(at, mask=at < 0)), table.num_rows)
        under[layer] = table.set_column(table.column_names.index("joint_uid"), "joint_uid", of)
    return under


def _routes_under_main(table: pa.Table, main: str) -> pa.Table:
    """Name the routes of a layer as they are called under a main."""
    route = pc.binary_join_element_wise(pa.scalar(f"{main}: "), table["route"], "")
    return table.set_column(table.column_names.index("route"), "route", held(as_one(route), table.num_rows))


def _record_digests(records: pa.Table, main: str | None) -> Digests:
    """Digest the records of a job as its routes are called in the register; their joint_uid counts for nothing."""
    return digests(records if main is None else _routes_under_main(records, main))


def _beside(tables: dict[str, pa.Table], lines: list[bytes]) -> str:
    """Digest the rows of each layer that is kept beside the joints, whatever their order."""
    whole = hashlib.sha256()
    rows = 0
    for layer in layout.BESIDE:
        table = tables[layer]
        if layer == layout.LINES:
            table = table.append_column("line", pa.array([_line_digest(line) for line in lines], pa.string()))
        rows += table.num_rows
        whole.update(layer.encode() + np.sort(digests(table, computed=True)).tobytes())
    return whole.hexdigest() if rows else ""


def _line_digest(line: bytes) -> str:
    """Digest the vertices of a line, by steps of what a person would see."""
    return hashlib.sha256(steps(shapes.path_vertices(line)[:, :3]).tobytes()).hexdigest()


_WITH_MEASURES = 2000
"""Kinds of geometry of well-known binary (ISO 19125, from memory) above it have measures."""


def _measured(line: bytes) -> bytes:
    """Give a line its measures, the distances in plan, where its file has none: GeoParquet knows no measures."""
    import shapely

    if int.from_bytes(line[1:5], "little") > _WITH_MEASURES:
        return line
    east, north, up = shapely.get_coordinates(shapely.from_wkb(line), include_z=True).T
    along = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(east), np.diff(north)))])
    measured: bytes = shapes.paths_wkb(east, north, up, along, np.array([0, len(east)]))[0].as_py()
    return measured


def _carried_lines(path: Path, lines: list[bytes], step: projection.Step, register: CRS) -> list[bytes]:
    """Carry centerlines to the register's coordinates; their elevations and measures stay as the job has them."""
    if step.transformer is None:
        return lines
    vertices = [shapes.path_vertices(line) for line in lines]
    first = np.cumsum([0, *map(len, vertices)])
    easting, northing, elevation, measure = np.concatenate(vertices).T
    easting, northing = step.apply(easting, northing)
    if np.isnan(easting).any():
        raise InputFileError(
            f"{path}: its centerline lies in part where the register's {register.name} has no coordinates"
        )
    carried: list[bytes] = shapes.paths_wkb(easting, northing, elevation, measure, first).to_pylist()
    return carried


def steps(values: Floats) -> Floats:
    """Count the steps of a computed number, each of what a person would see.

    Examples
    --------
    >>> steps(np.array([1.2345, 1.2345 + 1e-9, 1.2365])).tolist()
    [1235.0, 1235.0, 1237.0]
    """
    counted: Floats = np.floor(values / SEEN + _SET_OFF)
    return counted


def digests(table: pa.Table, *, computed: bool = False) -> Digests:
    """Digest every row of a table to one number, by its columns' names and values.

    Parameters
    ----------
    table : pyarrow.Table
        Blank cells and columns that a place or a file name fills do not count, so that a column that a later
        version adds changes nothing while it is blank.
    computed : bool
        Whether its numbers were computed, and count by steps of what a person would see; else they count exactly.

    Returns
    -------
    array of uint64, shape (n,)

    Examples
    --------
    >>> one, other = digests(pa.table({"joint": ["1", "1"], "size": [12.0, None]}))
    >>> bool(digests(pa.table({"joint": ["1"]}))[0] == other != one)
    True
    """
    # Some at a time, so that what is made of them is at hand when it is needed next.
    parts = [np.zeros(0, dtype=np.uint64)]
    for rows in table.to_batches(max_chunksize=_ROWS):
        parts.append(_some_digests(rows, computed))
        if rows.num_rows == _ROWS:
            let_go()
    return np.concatenate(parts)


def _some_digests(rows: pa.RecordBatch, computed: bool) -> Digests:
    total = np.zeros(rows.num_rows, dtype=np.uint64)
    for name, column in zip(rows.schema.names, rows.columns, strict=True):
        if name not in _NOT_CONTENT and column.null_count < rows.num_rows:
            total += _column_digests(name, column, computed)
    return mixed(total)


def _column_digests(name: str, column: pa.Array, computed: bool) -> Digests:
    """Digest the cells of a column; a blank one is 0. Texts are digested once each."""
    if pa.types.is_date32(column.type):
        column = column.cast(pa.int32())
    if not pa.types.is_string(column.type):
        values = as_floats(column.cast(pa.float64()))
        told = steps(values) if computed else values
        bits = (told + 0.0).view(np.uint64)  # adding makes -0.0 and 0.0 one
        cells = mixed(bits ^ _text_digest(name))
        return np.where(np.isnan(values), np.uint64(0), cells)
    # Where no two are alike, as rows as logged, looking for those that are takes a quarter of the time.
    some = column.take(pa.array(np.unique((_LOOKED_AT * len(column)).astype(np.int64))))
    if not column.null_count and len(some.unique()) == len(some):
        return _text_digests(name, column)
    coded = column.dictionary_encode()
    each = np.append(_text_digests(name, coded.dictionary), np.uint64(0))
    return each[as_ints(coded.indices, len(each) - 1)]


def _text_digests(name: str, texts: pa.Array) -> Digests:
    head, made = f"{name}\t".encode(), hashlib.blake2b
    octets = []
    for begin in range(0, len(texts), _TEXTS):
        some = texts[begin : begin + _TEXTS].cast(pa.binary()).to_pylist()
        octets.append(b"".join([made(head + text, digest_size=8).digest() for text in some]))
    return np.frombuffer(b"".join(octets), "<u8").astype(np.uint64)


def _text_digest(text: str) -> np.uint64:
    return np.uint64(int.from_bytes(hashlib.blake2b(text.encode(), digest_size=8).digest(), "little"))


def mixed(bits: Digests) -> Digests:
    """Spread the bits of each number: the finaliser of the splitmix generator (Steele and others, 2014)."""
    bits = (bits ^ (bits >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    bits = (bits ^ (bits >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return bits ^ (bits >> np.uint64(31))


def _gathered(joint: Ints, content: Digests, joints: int) -> Digests:
    """Add up the digests of each joint's rows; their order does not count."""
    known = joint >= 0
    order = np.argsort(joint[known], kind="stable")
    total = np.zeros(joints, dtype=np.uint64)
    if not len(order):
        return total
    ordered = joint[known][order]
    first = np.flatnonzero(np.diff(ordered, prepend=-1))
    total[ordered[first]] = np.add.reduceat(content[known][order], first)
    return total


def _told_apart(joint: Ints, content: Digests) -> Digests:
    """Number the equal records of a joint, so that each has a digest of its own.

    Examples
    --------
    >>> _told_apart(np.array([0, 1, 1, 1]), np.array([7, 7, 5, 7], dtype=np.uint64)).tolist()
    [7, 7, 5, 8]
    """
    several = np.flatnonzero(np.bincount(joint)[joint] > 1)
    order = several[np.lexsort((content[several], joint[several]))]
    same = (np.diff(joint[order], prepend=-1) == 0) & (np.diff(content[order], prepend=np.uint64(0)) == 0)
    at = np.arange(len(order))
    number = np.zeros(len(joint), dtype=np.uint64)
    number[order] = at - np.maximum.accumulate(np.where(same, 0, at))
    return content + number


def _carried(
    path: Path, joints: pa.Table, own: CRS, register: CRS, accept_m: float | None
) -> tuple[Floats, Floats, projection.Step]:
    easting, northing = (as_floats(joints[name].combine_chunks()) for name in ("easting", "northing"))
    if own.equals(register, ignore_axis_order=True):
        return easting, northing, projection.Step(None, "none", ())
    step = projection.best_step(own, register, easting, northing, accept_m=accept_m)
    if step is None:
        what = projection.what_would_do(own, register, easting, northing, accept_m)
        raise InputFileError(
            f"{path}: no transformation from {own.name} to the register's {register.name} that is good enough is known "
            f"here; {what}"
        )
    carried_easting, carried_northing = step.apply(easting, northing)
    lost = int(np.isnan(carried_easting).sum())
    if lost:
        raise InputFileError(f"{path}: {lost} joints lie where the register's {register.name} has no coordinates")
    step = step._replace(
        notes=(*step.notes, f"coordinates of the register: {step.words}; elevations stay as their job has them")
    )
    return carried_easting, carried_northing, step


def _place_accuracy(joints: pa.Table, step: projection.Step, unit: str) -> dict[str, pa.Array]:
    """Put the accuracy of a change of datum into that of the joints' places."""
    names = ("accuracy_horizontal", "accuracy_source")
    if step.accuracy_m == 0.0 or not set(names) <= set(joints.column_names):
        return {}
    own, source = (joints[name].combine_chunks() for name in names)
    known = step.with_accuracy(own, source, unit)
    return dict(zip(names, known, strict=True))


def _joints_of(path: Path, tables: dict[str, pa.Table]) -> tuple[Ints, Ints]:
    """Find the joint of each inspection and of each finding; every joint has a joint_uid of its own."""
    named = [_one(tables[layer], "joint_uid") for layer in ("joints", "inspections", "findings")]
    uid = named[0]
    if uid.null_count:
        raise InputFileError(f"{path}: {uid.null_count} joints have no joint_uid; make the file anew")
    own, of_records, of_findings = _indexes(named, uid)
    twice = np.flatnonzero(own != np.arange(len(own)))
    if len(twice):
        raise InputFileError(f"{path}: joint_uid {uid[twice[0]]} stands at more than one joint; make the file anew")
    for layer, column, joint in zip(("inspections", "findings"), named[1:], (of_records, of_findings), strict=True):
        lost = (joint < 0) & ~np.asarray(column.is_null())
        if lost.any() or (layer == "inspections" and column.null_count):
            raise InputFileError(f"{path}: {layer} has rows whose joint is not in layer joints; make the file anew")
    return of_records, of_findings


def _indexes(named: list[pa.Array], known: pa.Array) -> list[Ints]:
    """Find texts of columns among those known, each by its first place; -1 where it is not one of them.

    Of a large job those that begin alike are looked for by themselves: the list of those known takes the memory.

    Examples
    --------
    >>> [one.tolist() for one in _indexes([pa.array(["B", None, "C"]), pa.array(["A"])], pa.array(["A", "B", "B"]))]
    [[1, -1, -1], [0]]
    """
    groups = max(len(blocks(len(known))), 1)
    group, of_known = ([first_bytes(one) % groups for one in some] for some in (named, [known]))
    found = [np.full(len(one), -1, dtype=np.int64) for one in named]
    for part in range(groups):
        among = np.flatnonzero(of_known[0] == part)
        some = [np.flatnonzero(of == part) for of in group]
        # Asked in one go, as most of the time goes into the list of those known.
        asked = pa.concat_arrays([of_rows(one, rows) for one, rows in zip(named, some, strict=True)])
        at = as_ints(pc.index_in(asked, value_set=of_rows(known, among)), -1)
        place = np.where(at < 0, -1, np.append(among, -1)[at])
        for one, rows, of in zip(
            found, some, np.split(place, np.cumsum([len(rows) for rows in some])[:-1]), strict=True
        ):
            one[rows] = of
    return found


def station_numbers(station: pa.Array) -> Floats:
    """Read stations as numbers, each in whatever form it is written; what is no station is NaN."""
    number = np.full(len(station), np.nan)
    for form in TAIL_DIGITS:
        read = parse_stations(station, form).value  # type: ignore[arg-type]
        number = np.where(np.isnan(number), read, number)
    return number


def _as_found(findings: pa.Table) -> pa.Table:
    """Leave out of the messages the rows that they name: a corrected log moves them, and finds the same."""
    at, said = findings.column_names.index("message"), findings["message"].combine_chunks().dictionary_encode()
    texts = pa.array([as_found(text) for text in said.dictionary.to_pylist()], pa.string())
    return findings.set_column(at, "message", texts.take(said.indices))


def _finding_uids(findings: pa.Table) -> pa.Array:
    """Name each finding by what it says, so that its marks outlast a corrected log that repeats it."""
    names = [name for name in ("code", "route", "joint_uid", "station", "message") if name in findings.column_names]
    said = [
        json.dumps(row, ensure_ascii=False) for row in zip(*(findings[name].to_pylist() for name in names), strict=True)
    ]
    seen: dict[str, int] = {}
    uids = []
    for one in said:
        seen[one] = seen.get(one, 0) + 1
        uids.append(str(uuid.uuid5(FINDING_NAMESPACE, f"{one}{seen[one]}")))
    return pa.array(uids, pa.string())
