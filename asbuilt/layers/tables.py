"""The layers of a placed job as tables: a row for each joint, straight, finding, route, length and record."""

from __future__ import annotations

import datetime as dt
import json
import platform
from collections.abc import Callable, Iterator, Mapping
from functools import cache, partial
from importlib import metadata
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.addresses import shown
from asbuilt.arrays import Floats, Ints, as_mask, chosen, of_rows
from asbuilt.held import cuts
from asbuilt.inputs.log import station_form
from asbuilt.judging import pressure, restraint, verdicts
from asbuilt.judging.bounds import at_most_back
from asbuilt.judging.found_in_inspections import required_fields
from asbuilt.judging.judged import Judged
from asbuilt.judging.pipes import pipe_back
from asbuilt.keys.fields import RECORD_FIELDS
from asbuilt.layers import shapes
from asbuilt.layers.beside import Beside, Kept
from asbuilt.layers.geopackage import Layer
from asbuilt.layers.outcome import Added, OfJob, OfRecords, Outcome, Whole, in_order_of_checks
from asbuilt.line import stationing
from asbuilt.line.routes import drawn
from asbuilt.placing.place import sigma_horizontal
from asbuilt.schema import FILE_VERSION
from asbuilt.version import __version__
from asbuilt.waiting import Made

if TYPE_CHECKING:
    from asbuilt.line.projection import Step
    from asbuilt.line.stationed import StationedLine

_PACKAGES = ("numpy", "pyarrow", "pyogrio", "pyproj", "shapely", "geopandas", "fiona", "python-calamine")


def _joints(done: Outcome) -> pa.Table:
    judged, joints = done.judged, done.judged.joints
    easting, northing = done.map_points
    longitude, latitude = done.to_degrees.apply(joints.easting, joints.northing)
    counted = np.bincount(done.found["joint_index"].drop_null().to_numpy(), minlength=len(joints))
    untold = judged.doubted.untold[joints.route]
    sigma = sigma_horizontal(done.line, joints, done.ready.stations.sigma[joints.route])
    known_to = judged.known_to.unless_untold(untold)
    accuracy, source = done.to_map.with_accuracy(_floats(known_to.horizontal), known_to.source, done.routes.unit)
    return pa.table(
        {
            "joint_uid": joints.uid,
            "route": chosen(done.route_names, joints.route),
            "joint": joints.name,
            "station": joints.station,
            "distance": _floats(joints.distance),
            "easting": _floats(easting),
            "northing": _floats(northing),
            "elevation": _floats(joints.elevation),
            "longitude": _floats(longitude),
            "latitude": _floats(latitude),
            "size": _floats(judged.number("size")),
            "joint_type": judged.text("joint_type"),
            "kind": judged.text("kind"),
            "restrained": judged.text("restrained"),
            "position_source": joints.position_source,
            "sigma_horizontal": _floats(np.where(untold, np.nan, sigma)),
            "accuracy_horizontal": accuracy,
            "accuracy_vertical": _floats(known_to.vertical),
            "accuracy_source": source,
            "turn_deg": _degrees(done.turns.turn),
            "turn_horizontal_deg": _degrees(done.turns.horizontal),
            "turn_vertical_deg": _degrees(done.turns.vertical),
            "bend_angle_deg": _floats(judged.fitting_deg),
            "deflection_deg": _floats(judged.deflection_deg),
            "deflection_source": _sources(judged),
            "deflection_floor_deg": _degrees(judged.seen.floor),
            "deflection_ceiling_deg": _degrees(at_most_back(judged.seen.ceiling)),
            "sigma_deg": _degrees(judged.judgement.sigma),
            "measured_deg": _floats(judged.readings.measured_deg),
            "measured_direction_deg": _floats(judged.readings.measured_direction_deg),
            "sigma_measured_deg": _floats(judged.readings.sigma_measured_deg),
            "gap_mean": _floats(judged.readings.fit.mean),
            "gap_residual": _floats(judged.readings.fit.residual),
            "allowable_deg": _floats(judged.allowable_deg),
            "allowable_source": judged.allowable_source,
            "verdict": judged.verdict,
            "verdict_assumes": judged.assumes,
            "inspection": done.inspection,
            "design_station": judged.design.station,
            "design_offset": _floats(judged.design.offset),
            "design_height": _floats(judged.design.height),
            "ground_elevation": _floats(judged.cover.ground),
            "cover": _floats(judged.cover.cover),
            "cover_least": _floats(judged.cover.least),
            "findings": pa.array(counted, pa.int32()),
            "inspected_on": _or_nulls(judged.text("inspected_on"), pa.date32()),
            "inspector": judged.text("inspector"),
            "geom": shapes.points_wkb(easting, northing, joints.elevation),
        }
    )


def _segments(done: OfJob) -> pa.Table:
    joints, segments = done.placed.joints, done.ready.straights
    back, ahead = segments.back, segments.back + 1
    laid = done.log.number("laid_length")[joints.record[pipe_back(done.job, segments)]] * done.line.scale
    easting, northing = done.map_points
    ends = [values[which] for which in (back, ahead) for values in (easting, northing, joints.elevation)]
    return pa.table(
        {
            "route": chosen(done.route_names, joints.route[back]),
            "from_joint": joints.name.take(pa.array(back)),
            "to_joint": joints.name.take(pa.array(ahead)),
            "length": _floats(segments.length),
            "laid_length": _floats(laid),
            "difference": _floats(segments.length - laid),
            "azimuth_deg": _degrees(segments.azimuth),
            "grade_percent": _floats(100.0 * np.tan(segments.inclination)),
            "geom": shapes.lines_wkb(*ends),
        }
    )


def _findings(done: Outcome) -> pa.Table:
    joints, joint = done.judged.joints, done.found["joint_index"].combine_chunks()
    first, last = (done.found[name].combine_chunks() for name in ("first", "last"))
    route = pc.coalesce(pa.array(joints.route).take(joint), done.found["length_route"])
    easting, northing, elevation = _finding_points(done, joint)
    return pa.table(
        {
            "code": done.found["code"],
            "severity": done.found["severity"],
            "route": done.route_names.take(route),
            "joint": joints.name.take(joint),
            "joint_uid": joints.uid.take(joint),
            "station": pc.coalesce(joints.station.take(joint), done.found["length_station"]),
            "from_station": pc.coalesce(joints.station.take(first), done.found["length_station"]),
            "to_station": pc.coalesce(joints.station.take(last), done.found["length_end"]),
            "point": done.found["point"],
            **{name: done.found[name] for name in ("value", "limit", "unit", "basis", "message")},
            "geom": shapes.points_wkb(easting, northing, elevation),
        }
    )


def _finding_points(done: Outcome, joint: pa.Array) -> tuple[Floats, Floats, Floats]:
    """Give the place to look at: the joint's, or the shot's; a finding on a length of a route has none."""
    index, known = pc.fill_null(joint, 0).to_numpy(), as_mask(joint.is_valid())
    places = (*done.map_points, done.judged.joints.elevation)
    found = [np.where(known, values[index], np.nan) for values in places]
    shot = done.found["shot"].combine_chunks()
    at, rows = shot.drop_null().to_numpy(), np.flatnonzero(as_mask(shot.is_valid()))
    if len(at):
        routes = done.routes
        places = (*done.to_map.apply(routes.easting[at], routes.northing[at]), routes.elevation[at])
        for values, own in zip(found, places, strict=True):
            values[rows] = own
    return found[0], found[1], found[2]


def _centerline(done: Whole) -> pa.Table:
    return pa.concat_tables(_of_some_routes(done)).combine_chunks()


def _of_some_routes(done: Whole) -> Iterator[pa.Table]:
    """Give the rows of `centerline`, those of many shots in several tables."""
    form = station_form(done.job, done.log)
    for one in cuts(np.diff(done.routes.first)):
        yield _lines(done.line.of_routes(*one), done.route_names.slice(one[0], one[1] - one[0]), done.to_map, form)


def _lines(of: StationedLine, names: pa.Array, to_map: Step, form: stationing.Form) -> pa.Table:
    routes = of.routes
    line, distance, first = drawn(routes)
    easting, northing = to_map.apply(line.easting, line.northing)
    return pa.table(
        {
            "route": names,
            "start_station": stationing.format_stations(of.start, form),
            "equations": of.equation_texts(form),
            "length": _floats(routes.length),
            "vertices": pa.array(np.diff(routes.first), pa.int64()),
            "geom": shapes.paths_wkb(easting, northing, line.elevation, distance, first),
        }
    )


def _inspections(done: OfRecords, start: int, stop: int) -> pa.Table:
    """Give the rows of placed records among those from `start` up to, and without, `stop`."""
    records, log, joints = done.placed.records, done.log, done.placed.joints
    rows = start + np.flatnonzero(records.joint[start:stop] >= 0)
    joint = pa.array(records.joint[rows])
    station = stationing.format_stations(log.stations.value[rows], station_form(done.job, log))
    columns = {
        "record": pa.array(rows + 1, pa.int64()),
        "file": of_rows(log.file, rows),
        "row": pa.array(log.row[rows], pa.int64()),
        "joint_uid": joints.uid.take(joint),
        "route": done.route_names.take(pa.array(records.route[rows])),
        "joint": joints.name.take(joint),
        "station": station,
    }
    for field in RECORD_FIELDS:
        if field not in columns and field in log.fields:
            columns[field] = of_rows(log.fields[field], rows)
    if "photo_files" in log.fields:
        columns["photo_files"] = of_rows(log.fields["photo_files"], rows)
    columns["station_settled_by"] = of_rows(records.settled_by, rows)
    columns["latest"] = pa.array(["no", "yes"]).take(pa.array(done.latest[rows].astype(np.int8)))
    columns["original"] = of_rows(log.originals_of(start, stop), rows - start)
    return pa.table(columns)


def _set_aside(done: OfRecords, start: int, stop: int) -> pa.Table:
    """Give the rows of records set aside among those from `start` up to, and without, `stop`."""
    records, log = done.placed.records, done.log
    rows = start + np.flatnonzero(records.joint[start:stop] < 0)
    return pa.table(
        {
            "record": pa.array(rows + 1, pa.int64()),
            "file": of_rows(log.file, rows),
            "row": pa.array(log.row[rows], pa.int64()),
            "route": _named_route(done, rows),
            "joint": of_rows(log.text("joint"), rows),
            "reason": of_rows(records.reason, rows),
            "message": of_rows(records.message, rows),
            "original": of_rows(log.originals_of(start, stop), rows - start),
        }
    )


def _named_route(done: OfRecords, rows: Ints) -> pa.Array:
    """Give the route that records name: a route of the centerline, or what the log has in its place."""
    number = done.placed.records.route[rows]
    known = done.route_names.take(pa.array(number, mask=number < 0))
    return pc.coalesce(known, of_rows(done.log.text("route"), rows))


def _stationing(done: Whole) -> pa.Table:
    pieces = done.line.pieces()
    return pa.table(
        {
            "route": done.route_names.take(pa.array(pieces.route)),
            "stretch": pa.array(pieces.stretch),
            "from_distance": _floats(pieces.distance_from),
            "to_distance": _floats(pieces.distance_to),
            "from_station": _floats(pieces.station_from),
            "to_station": _floats(pieces.station_to),
        }
    )


def _required(done: Whole) -> pa.Table:
    families = pa.array(done.families, pa.string())
    asked = required_fields(done.job, families)
    rows = [
        (family, field) for field, where in asked.items() for family in families.filter(pa.array(where)).to_pylist()
    ]
    return pa.table(
        {
            "family": pa.array([family or None for family, _ in rows], pa.string()),
            "field": pa.array([field for _, field in rows], pa.string()),
        }
    )


def _notes(done: Whole) -> pa.Table:
    said = {
        name: pa.array([getattr(note, name) for note in done.notes], pa.string())
        for name in ("code", "severity", "about", "text")
    }
    routes = [json.dumps(note.routes, ensure_ascii=False) if note.routes else None for note in done.notes]
    return pa.table(said | {"routes": pa.array(routes, pa.string())})


def run_table(done: Whole, made_at: dt.datetime) -> pa.Table:
    counts = done.counts
    inputs = [{"path": shown(path), "sha256": digest} for path, digest in done.inputs]
    matches = [{"file": shown(file), "field": field, "column": column} for file, field, column in done.log.matches]
    values = {
        "file_version": FILE_VERSION,
        "name": done.job.name,
        "made_at": made_at.isoformat(timespec="seconds"),
        "asbuilt_version": __version__,
        "crs": done.routes.crs.name,
        "output_crs": done.map_crs,
        "datum_step": f"map: {done.to_map.name}; longitude and latitude: {done.to_degrees.name}",
        "surveyed_on": done.job.centerline.surveyed_on,
        "station_unit": done.job.records.station_unit,
        "coordinate_unit": done.routes.unit,
        "size_unit": done.job.records.sizes_in,
        "reading_unit": done.job.records.readings_in,
        "torque_unit": done.job.records.torque_unit,
        "station_format": station_form(done.job, done.log),
        "laying_length": float(done.job.records.laying_length),
        "pipe": done.job.records.pipe,
        "records_read": counts["records_read"],
        "inspections_placed": counts["inspections_placed"],
        "records_set_aside": counts["records_set_aside"],
        "joints": counts["joints"],
        "segments": done.segments,
        "findings": counts["findings"],
        "counts": json.dumps(counts, allow_nan=False),
        "inputs": json.dumps(inputs, allow_nan=False),
        "matches": json.dumps(matches, ensure_ascii=False, allow_nan=False),
        "job": done.job.text,
        "versions": json.dumps(_versions(), allow_nan=False),
    }
    kinds = {"surveyed_on": pa.date32()}
    return pa.table({name: pa.array([value], kinds.get(name)) for name, value in values.items()})


@cache
def _versions() -> dict[str, str]:
    """Give the versions at work, which stay as long as the process; looking them up costs as much as placing."""
    return {"python": platform.python_version()} | {name: metadata.version(name) for name in _PACKAGES}


def _floats(values: Floats) -> pa.Array:
    """Make a column of numbers, null where unknown."""
    return pa.array(values, pa.float64(), from_pandas=True)


def _degrees(radians: Floats) -> pa.Array:
    return _floats(np.degrees(radians))


def _sources(judged: Judged) -> pa.Array:
    known = np.isfinite(judged.deflection_deg)
    return chosen(pa.array(verdicts.SOURCES), judged.judgement.source, ~known)


def _or_nulls(values: pa.Array, kind: pa.DataType) -> pa.Array:
    return values if values.type == kind else pa.nulls(len(values), kind)


OF_PLACES: dict[str, Callable[[OfJob], pa.Table]] = {"segments": _segments}
"""The layers that are made of joints in their places, before these are judged."""
OF_ROUTES: dict[str, Callable[[Outcome], pa.Table]] = {
    **OF_PLACES,
    "joints": _joints,
    "findings": _findings,
    "restraint": lambda done: restraint.restraint_table(done.line, done.judged.restraint),
    "pressure_tests": lambda done: pressure.pressure_table(done.job, done.line, done.judged.tests),
}
"""The layers that are made of joints, in their places or judged, of all routes or of some; see `as_texts`."""
OF_RECORDS: dict[str, Callable[[OfRecords, int, int], pa.Table]] = {
    "inspections": _inspections,
    "set_aside": _set_aside,
}
"""The layers that have a row for each record placed, or set aside, of those in a range."""
OF_JOB: dict[str, Callable[[Whole], pa.Table]] = {
    "centerline": _centerline,
    "stationing": _stationing,
    "required": _required,
    "notes": _notes,
}
"""The other layers but `run`, each made of the whole job."""
TABLES = (
    "joints", "segments", "findings", "centerline", "restraint", "pressure_tests", "inspections", "set_aside",
    "stationing", "required", "notes",
)  # fmt: skip
"""The layers but `run`, in the order in which they are shown."""
_BEFORE = (*OF_RECORDS, *OF_PLACES)
WRITTEN = (*_BEFORE, *(name for name in TABLES if name not in _BEFORE), "run")
"""All layers in the order in which they are written: first those that are known before their job is judged."""


def layers(done: Whole, of_routes: Callable[[str], pa.Table], made_at: dt.datetime) -> Iterator[Layer]:
    """Give the layers of a job, one by one, in the order in which they are written.

    Parameters
    ----------
    done : Whole
    of_routes : function of the name of a layer of `OF_ROUTES`
    made_at : datetime
    """
    for name in WRITTEN:
        if name in OF_ROUTES:
            yield Layer(name, of_routes(name))
        elif name in OF_RECORDS:
            yield Layer(name, _rows(done, name))
        else:
            yield Layer(name, _of_whole(done, name, made_at))


def _of_whole(done: Whole, name: str, made_at: dt.datetime) -> pa.Table:
    return run_table(done, made_at) if name == "run" else OF_JOB[name](done)


def _rows(done: OfRecords, name: str) -> Made:
    placed = int(done.placed.records.placed.sum())
    count = placed if name == "inspections" else len(done.log) - placed
    return Made(len(done.log), count, partial(OF_RECORDS[name], done))


class Part(NamedTuple):
    """What a part of a job gives: the rows of some of its routes, and what they add to what is said of the job."""

    added: Added
    rows: Mapping[str, pa.Table | Kept]
    """By layer, but for what is known before joints are judged; findings at joints alone."""
    on_lengths: pa.Table
    """Findings on lengths of routes, which come behind those at all joints."""


def part_of(done: Outcome) -> Part:
    """Make the rows of a part of a job that is judged."""
    rows = {name: table_of(done) for name, table_of in OF_ROUTES.items() if name not in OF_PLACES}
    findings = rows["findings"]
    first = findings.num_rows - done.found["joint_index"].null_count
    rows["findings"] = findings.slice(0, first)
    # Taken, as a slice of them would keep all.
    return Part(done.added(), rows, findings.take(pa.array(np.arange(first, findings.num_rows))))


class Gathered:
    """The layers of a job that is judged some routes at a time, handed on to be written in the order of its routes."""

    def __init__(self, beside: Beside) -> None:
        self.added: list[Added] = []
        self._beside = beside
        self._on_lengths: list[pa.Table] = []

    def add_records(self, done: OfRecords) -> None:
        """Hand on the rows of the job's records, when they have their places."""
        for name in OF_RECORDS:
            rows = _rows(done, name)
            self._beside.add(name, rows.schema.empty_table())
            for batch in rows.batches():
                self._beside.add(name, pa.Table.from_batches([batch]))
            self._beside.end(name)

    def add_places(self, done: OfJob) -> None:
        """Hand on the rows that are made of joints in their places, of some routes."""
        for name, table_of in OF_PLACES.items():
            self._beside.add(name, table_of(done))

    def end_places(self) -> None:
        """Say that the joints of all routes are handed on in their places."""
        for name in OF_PLACES:
            self._beside.end(name)

    def add(self, part: Part) -> None:
        """Hand on the rows of some routes, and keep what they add to what is said of the job."""
        self.added.append(part.added)
        self._on_lengths.append(part.on_lengths)
        for name, rows in part.rows.items():
            self._beside.add(name, rows)

    def end(self, done: Whole, made_at: dt.datetime) -> None:
        """Hand on what is known when all routes are judged."""
        on_lengths = pa.concat_tables(self._on_lengths)
        self._beside.add("findings", on_lengths.take(pa.array(in_order_of_checks(on_lengths["code"]))))
        for name in WRITTEN:
            if name in _BEFORE:
                continue
            if name == "centerline":
                for rows in _of_some_routes(done):
                    self._beside.add(name, rows)
            elif name not in OF_ROUTES:
                self._beside.add(name, _of_whole(done, name, made_at))
            self._beside.end(name)
