"""The main job from its inputs to its layers: read, place, compute, judge, and write.

Everything between reading and writing works on columns of all joints at once.
"""

from __future__ import annotations

import datetime as dt
import json
import platform
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from importlib import metadata
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints, as_ints, as_mask, counted, of_rows
from asbuilt.errors import JobFileError, OutputError
from asbuilt.inputs import allowables
from asbuilt.inputs.centerline import read_centerline
from asbuilt.inputs.log import Log, read_log, station_form
from asbuilt.inputs.ties import read_ties
from asbuilt.job import RECORD_FIELDS, Job, load_job
from asbuilt.judging import (
    accuracy,
    deflection,
    doubted,
    findings,
    fittings,
    pressure,
    readings,
    restraint,
    survey,
    verdicts,
)
from asbuilt.judging.deflection import Segments, Turns
from asbuilt.judging.findings import Judged
from asbuilt.layers import geopackage
from asbuilt.line import projection, stationing, ties
from asbuilt.line.routes import Located, Routes, drawn, points
from asbuilt.line.stationed import StationedLine, stationed_line
from asbuilt.placing import elevations
from asbuilt.placing.joints import Joints
from asbuilt.placing.place import Placed, place_records, sigma_horizontal
from asbuilt.placing.places import offset_points
from asbuilt.version import __version__

if TYPE_CHECKING:
    import geopandas as gpd
    import pandas as pd

Progress = Callable[[str, int, int], None]

STEPS = ("read the centerline", "read the log", "place the joints", "compute deflection", "check", "write")
_PACKAGES = ("numpy", "pyarrow", "pyogrio", "pyproj", "shapely", "geopandas", "fiona", "python-calamine")


@dataclass(frozen=True)
class Placement:
    """A placed job: its layers as data frames, and all that the layers are made of.

    Frames are made when first asked for; writing does not make them.
    """

    job: Job
    line: StationedLine
    log: Log
    placed: Placed
    judged: Judged
    turns: Turns
    found: pa.Table
    inspection: pa.Array
    to_map: projection.Step
    to_degrees: projection.Step
    checked: accuracy.Accuracy | None
    """Accuracy of the survey by its check shots, where the job has any."""
    inputs: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]

    @property
    def routes(self) -> Routes:
        """The surveyed routes."""
        return self.line.routes

    @cached_property
    def joints(self) -> gpd.GeoDataFrame:
        """Joints, a point each: where, what, and its deflection and verdict."""
        return self._frame("joints")

    @cached_property
    def segments(self) -> gpd.GeoDataFrame:
        """Straights between successive joints."""
        return self._frame("segments")

    @cached_property
    def findings(self) -> gpd.GeoDataFrame:
        """Things to look at, each with what its limit rests on."""
        return self._frame("findings")

    @cached_property
    def centerline(self) -> gpd.GeoDataFrame:
        """Routes, with their distance as measure."""
        return self._frame("centerline")

    @cached_property
    def restraint(self) -> pd.DataFrame:
        """Lengths that the design wants restrained, with the counts of their joints."""
        frame: pd.DataFrame = self.table("restraint").to_pandas()
        return frame

    @cached_property
    def pressure_tests(self) -> pd.DataFrame:
        """Pressure tests with their allowances and results, and lengths under no test."""
        frame: pd.DataFrame = self.table("pressure_tests").to_pandas()
        return frame

    @cached_property
    def inspections(self) -> pd.DataFrame:
        """Every placed record, normalised, with its original row as JSON."""
        frame: pd.DataFrame = self.table("inspections").to_pandas()
        return frame

    @cached_property
    def set_aside(self) -> pd.DataFrame:
        """Every record that could not be placed, with its reason and original row."""
        frame: pd.DataFrame = self.table("set_aside").to_pandas()
        return frame

    @cached_property
    def map_crs(self) -> str:
        """Coordinate system of the layers, as the job names it or as well-known text."""
        if self.job.output.crs is not None:
            return self.job.output.crs
        authority = self.routes.crs.to_authority()
        return ":".join(authority) if authority else str(self.routes.crs.to_wkt())

    @property
    def counts(self) -> dict[str, Any]:
        """The counts of the run, which prove that no record was lost.

        Returns
        -------
        dict
            `records_read`, `inspections_placed`, `records_set_aside`, and counts by reason, verdict,
            inspection state and finding.
        """
        read, placed = len(self.log), int(self.placed.records.placed.sum())
        aside = counted(self.placed.records.reason)
        return {
            "records_read": read,
            "inspections_placed": placed,
            "records_set_aside": sum(aside.values()),
            "set_aside_by_reason": aside,
            "routes": len(self.routes.names),
            "routes_with_joints": len(np.unique(self.judged.joints.route)),
            "joints": len(self.judged.joints),
            "joints_by_position": counted(self.judged.joints.position_source),
            "joints_by_verdict": counted(self.judged.verdict),
            "joints_by_inspection": counted(self.inspection),
            "findings": self.found.num_rows,
            "findings_by_code": counted(self.found["code"]),
            "ties": self._closures,
            "survey_check": self.checked.as_counts() if self.checked is not None else None,
            "restraint": self._restraint_counts,
            "pressure_tests": self._test_counts,
        }

    def write(self, path: Path | str, *, made_at: dt.datetime | None = None) -> None:
        """Write all layers to a GeoPackage, whole or not at all.

        Parameters
        ----------
        path : path of the file; an earlier file there is replaced only when the new one is complete
        made_at : datetime, optional
            Time to be recorded; now, if left out.

        Raises
        ------
        OutputError
            When the file cannot be written there, or is one of the job's inputs.
        """
        path = Path(path)
        check_output(path, [Path(name) for name, _ in self.inputs], self.job)
        made_at = made_at or dt.datetime.now(dt.UTC)
        unit_words = {
            "unit": units.WORDS[self.routes.unit],
            "station_unit": units.WORDS[self.job.records.station_unit],
            "reading_unit": units.SMALL_WORDS[self.job.records.readings_in],
        }
        geopackage.write_geopackage(path, self._layers(made_at), crs=self.map_crs, units=unit_words)

    def _layers(self, made_at: dt.datetime) -> Iterator[geopackage.Layer]:
        for name in (
            "joints",
            "segments",
            "findings",
            "centerline",
            "restraint",
            "pressure_tests",
            "inspections",
            "set_aside",
        ):
            yield geopackage.Layer(name, self.table(name))
        yield geopackage.Layer("run", self._run_table(made_at))

    def _frame(self, name: str) -> gpd.GeoDataFrame:
        import geopandas as gpd
        import shapely

        table = self.table(name)
        frame = table.drop_columns(["geom"]).to_pandas()
        geometry = shapely.from_wkb(table["geom"].to_numpy(zero_copy_only=False))
        return gpd.GeoDataFrame(frame, geometry=geometry, crs=self.map_crs)

    def table(self, name: str) -> pa.Table:
        """Give a layer as an Arrow table, its geometry as well-known binary in the column "geom"."""
        makers: dict[str, Callable[[], pa.Table]] = {
            "joints": self._joints_table,
            "segments": self._segments_table,
            "findings": self._findings_table,
            "centerline": self._centerline_table,
            "restraint": lambda: restraint.restraint_table(self.line, self.judged.restraint),
            "pressure_tests": lambda: pressure.pressure_table(self.job, self.line, self.judged.tests),
            "inspections": self._inspections_table,
            "set_aside": self._set_aside_table,
        }
        return makers[name]()

    @property
    def _restraint_counts(self) -> dict[str, int]:
        found = self.judged.restraint
        return {
            "lengths": len(found.lengths),
            "joints": int(np.sum(found.last - found.first)),
            "joints_unrestrained": len(found.missing[0]),
        }

    @property
    def _closures(self) -> list[dict[str, Any]]:
        """The closure of each interval between ties, in station units on the ground."""
        found = self.routes.calibration
        if found is None:
            return []
        intervals, scale = ties.closures(found), self.judged.scale
        return [
            {
                "route": self.routes.names[route],
                "from": found.keys[back],
                "to": found.keys[back + 1],
                "length": round(counted / scale, 3),
                "closure": round(closure / scale, 3),
                "closure_ppm": round(ppm, 1),
            }
            for route, back, counted, closure, ppm in zip(*(part.tolist() for part in intervals), strict=True)
        ]

    @property
    def _test_counts(self) -> dict[str, Any]:
        tests = self.judged.tests
        untested = float(np.sum(tests.untested.end - tests.untested.start) / self.judged.scale)
        return {
            "tests": len(tests.judged),
            "by_result": dict(Counter(one.result for one in tests.judged)),
            "untested_lengths": len(tests.untested),
            "untested_length": round(untested, 3),
        }

    @cached_property
    def _map_points(self) -> tuple[Floats, Floats]:
        joints = self.judged.joints
        return self.to_map.apply(joints.easting, joints.northing)

    @cached_property
    def _route_names(self) -> pa.Array:
        return pa.array(self.routes.names, pa.string())

    def _joints_table(self) -> pa.Table:
        judged, joints = self.judged, self.judged.joints
        easting, northing = self._map_points
        longitude, latitude = self.to_degrees.apply(joints.easting, joints.northing)
        counted = np.bincount(self.found["joint_index"].drop_null().to_numpy(), minlength=len(joints))
        sigma = sigma_horizontal(self.job, self.line, joints)
        along = self.job.records.sigma_station * judged.scale
        accuracy_horizontal, accuracy_vertical, accuracy_source = accuracy.joint_accuracy(
            self.checked, self.routes, joints, sigma, along
        )
        return pa.table(
            {
                "joint_uid": joints.uid,
                "route": self._route_names.take(pa.array(joints.route)),
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
                "sigma_horizontal": _floats(sigma),
                "accuracy_horizontal": _floats(accuracy_horizontal),
                "accuracy_vertical": _floats(accuracy_vertical),
                "accuracy_source": accuracy_source,
                "turn_deg": _degrees(self.turns.turn),
                "turn_horizontal_deg": _degrees(self.turns.horizontal),
                "turn_vertical_deg": _degrees(self.turns.vertical),
                "bend_angle_deg": _floats(judged.fitting_deg),
                "deflection_deg": _floats(judged.deflection_deg),
                "deflection_source": _sources(judged),
                "deflection_floor_deg": _degrees(judged.seen.floor),
                "deflection_ceiling_deg": _degrees(judged.seen.ceiling),
                "sigma_deg": _degrees(judged.seen.sigma),
                "measured_deg": _floats(judged.readings.measured_deg),
                "measured_direction_deg": _floats(judged.readings.measured_direction_deg),
                "sigma_measured_deg": _floats(judged.readings.sigma_measured_deg),
                "gap_mean": _floats(judged.readings.fit.mean),
                "gap_residual": _floats(judged.readings.fit.residual),
                "allowable_deg": _floats(judged.allowable_deg),
                "allowable_source": judged.allowable_source,
                "verdict": judged.verdict,
                "verdict_assumes": judged.assumes,
                "inspection": self.inspection,
                "findings": pa.array(counted, pa.int32()),
                "inspected_on": _or_nulls(judged.text("inspected_on"), pa.date32()),
                "inspector": judged.text("inspector"),
                "geom": geopackage.points_wkb(easting, northing, joints.elevation),
            }
        )

    def _segments_table(self) -> pa.Table:
        judged, joints, segments = self.judged, self.judged.joints, self.judged.segments
        back, ahead = segments.back, segments.back + 1
        laid = judged.number("laid_length")[findings.piece_joint(judged)] * judged.scale
        easting, northing = self._map_points
        ends = [values[which] for which in (back, ahead) for values in (easting, northing, joints.elevation)]
        return pa.table(
            {
                "route": self._route_names.take(pa.array(joints.route[back])),
                "from_joint": joints.name.take(pa.array(back)),
                "to_joint": joints.name.take(pa.array(ahead)),
                "length": _floats(segments.length),
                "laid_length": _floats(laid),
                "difference": _floats(segments.length - laid),
                "azimuth_deg": _degrees(segments.azimuth),
                "grade_percent": _floats(100.0 * np.tan(segments.inclination)),
                "geom": geopackage.lines_wkb(*ends),
            }
        )

    def _findings_table(self) -> pa.Table:
        joints, joint = self.judged.joints, self.found["joint_index"].combine_chunks()
        route = pc.coalesce(pa.array(joints.route).take(joint), self.found["length_route"])
        easting, northing, elevation = self._finding_points(joint)
        return pa.table(
            {
                "code": self.found["code"],
                "severity": self.found["severity"],
                "route": self._route_names.take(route),
                "joint": joints.name.take(joint),
                "joint_uid": joints.uid.take(joint),
                "station": pc.coalesce(joints.station.take(joint), self.found["length_station"]),
                "point": self.found["point"],
                **{name: self.found[name] for name in ("value", "limit", "unit", "basis", "message")},
                "geom": geopackage.points_wkb(easting, northing, elevation),
            }
        )

    def _finding_points(self, joint: pa.Array) -> tuple[Floats, Floats, Floats]:
        """Give the place to look at: the joint's, or the shot's; a finding on a length of a route has none."""
        index, known = pc.fill_null(joint, 0).to_numpy(), as_mask(joint.is_valid())
        places = (*self._map_points, self.judged.joints.elevation)
        found = [np.where(known, values[index], np.nan) for values in places]
        shot = self.found["shot"].combine_chunks()
        at, rows = shot.drop_null().to_numpy(), np.flatnonzero(as_mask(shot.is_valid()))
        if len(at):
            routes = self.routes
            places = (*self.to_map.apply(routes.easting[at], routes.northing[at]), routes.elevation[at])
            for values, own in zip(found, places, strict=True):
                values[rows] = own
        return found[0], found[1], found[2]

    def _centerline_table(self) -> pa.Table:
        routes, form = self.routes, station_form(self.job, self.log)
        line, distance, first = drawn(routes)
        easting, northing = self.to_map.apply(line.easting, line.northing)
        return pa.table(
            {
                "route": self._route_names,
                "start_station": stationing.format_stations(self.line.start, form),
                "equations": self.line.equation_texts(form),
                "length": _floats(routes.length),
                "vertices": pa.array(np.diff(routes.first), pa.int64()),
                "geom": geopackage.paths_wkb(easting, northing, line.elevation, distance, first),
            }
        )

    def _inspections_table(self) -> pa.Table:
        records, log = self.placed.records, self.log
        rows = np.flatnonzero(records.placed)
        joint = pa.array(records.joint[rows])
        station = stationing.format_stations(log.stations.value[rows], station_form(self.job, log))
        columns = {
            "record": pa.array(rows + 1, pa.int64()),
            "file": of_rows(log.file, rows),
            "row": pa.array(log.row[rows], pa.int64()),
            "joint_uid": self.judged.joints.uid.take(joint),
            "route": self._route_names.take(pa.array(records.route[rows])),
            "joint": self.judged.joints.name.take(joint),
            "station": station,
        }
        for field in RECORD_FIELDS:
            if field not in columns and field in log.fields:
                columns[field] = of_rows(log.fields[field], rows)
        columns["station_settled_by"] = of_rows(records.settled_by, rows)
        columns["original"] = of_rows(log.original, rows)
        return pa.table(columns)

    def _set_aside_table(self) -> pa.Table:
        records, log = self.placed.records, self.log
        rows = np.flatnonzero(~records.placed)
        return pa.table(
            {
                "record": pa.array(rows + 1, pa.int64()),
                "file": of_rows(log.file, rows),
                "row": pa.array(log.row[rows], pa.int64()),
                "reason": of_rows(records.reason, rows),
                "message": of_rows(records.message, rows),
                "original": of_rows(log.original, rows),
            }
        )

    def _run_table(self, made_at: dt.datetime) -> pa.Table:
        counts = self.counts
        inputs = [{"path": path, "sha256": digest} for path, digest in self.inputs]
        matches = [{"file": file, "field": field, "column": column} for file, field, column in self.log.matches]
        versions = {"python": platform.python_version()} | {name: metadata.version(name) for name in _PACKAGES}
        values = {
            "name": self.job.name,
            "made_at": made_at.isoformat(timespec="seconds"),
            "asbuilt_version": __version__,
            "crs": self.routes.crs.name,
            "output_crs": self.map_crs,
            "datum_step": f"map: {self.to_map.name}; longitude and latitude: {self.to_degrees.name}",
            "station_unit": self.job.records.station_unit,
            "coordinate_unit": self.routes.unit,
            "records_read": counts["records_read"],
            "inspections_placed": counts["inspections_placed"],
            "records_set_aside": counts["records_set_aside"],
            "joints": counts["joints"],
            "segments": len(self.judged.segments.back),
            "findings": counts["findings"],
            "counts": json.dumps(counts),
            "inputs": json.dumps(inputs),
            "matches": json.dumps(matches, ensure_ascii=False),
            "job": self.job.text,
            "versions": json.dumps(versions),
            "notes": json.dumps(self.notes, ensure_ascii=False),
        }
        return pa.table({name: pa.array([value]) for name, value in values.items()})


def place(
    job: Job | Path | str,
    *,
    centerline: gpd.GeoDataFrame | None = None,
    records: pd.DataFrame | None = None,
    today: dt.date | None = None,
    progress: Progress | None = None,
) -> Placement:
    """Place a joint log on its surveyed centerline and judge every joint.

    Parameters
    ----------
    job : Job, or path of a job file
    centerline : GeoDataFrame, optional
        Route lines in memory, used instead of the job's centerline file.
    records : DataFrame, optional
        Joint records in memory, used instead of the job's log files.
    today : date, optional
        Dates after it are doubtful; the present day, if left out.
    progress : function of (step, steps done, steps), optional

    Returns
    -------
    Placement

    Raises
    ------
    JobFileError, InputFileError
        When the job or a file is wrong; the message names it and the remedy.

    Examples
    --------
    Three joints, the middle one turning 2 degrees:

    >>> import geopandas as gpd, pandas as pd, shapely
    >>> line = gpd.GeoDataFrame(geometry=[shapely.LineString(
    ...     [(6700000, 2000000, 50), (6700000, 2000020, 50), (6700000.698, 2000039.988, 50)])], crs="EPSG:6418")
    >>> log = pd.DataFrame({"station": ["0+00", "0+20", "0+40"], "joint": [1, 2, 3], "size": 12,
    ...     "joint type": "push-on"})
    >>> job = Job.from_mapping({"name": "Quarry Lane", "centerline": {}, "limits": {"table": "awwa-c600"},
    ...     "records": {"station_unit": "us-ft", "laying_length": 20}})
    >>> placement = place(job, centerline=line, records=log)
    >>> placement.joints[["joint", "station", "deflection_deg", "verdict"]].round(3).values.tolist()[1]
    ['2', '0+20.00', 2.0, 'within-assumed']
    """
    steps = _stepper(progress)
    if isinstance(job, dict):
        raise JobFileError("the job: make a Job of the mapping first, with Job.from_mapping")
    if not isinstance(job, Job):
        job = load_job(job)
    steps()
    routes = read_centerline(job, centerline)
    if job.centerline.elevation == "none":
        routes = elevations.without_elevations(routes)
    routes, shot_doubts, survey_notes = doubted.screened(job, routes)
    line = stationed_line(job, routes, read_ties(job, routes.names))
    checked = accuracy.check_survey(job, line.routes)
    line = replace(line, routes=accuracy.with_errors_found(line.routes, checked.accuracy))
    limits = allowables.read_allowables(job)
    steps()
    log = read_log(job, records)
    steps()
    placed = place_records(job, line, log)
    line, joints, doubts, direction_notes = doubted.against_the_log(job, line, log, placed.joints, shot_doubts)
    placed = placed._replace(joints=joints, notes=(*placed.notes, *survey_notes, *direction_notes))
    routes, joints, height_notes = elevations.to_pipe_center(job, line.routes, log, placed.joints)
    line = replace(line, routes=routes)
    placed = placed._replace(joints=joints, notes=(*placed.notes, *height_notes))
    to_map, to_degrees = _map_steps(job, routes, joints)
    steps()
    turned, judged = _judge(job, line, log, placed, limits, doubts, today or dt.date.today())
    steps()
    read_notes = (*routes.notes, *log.notes, *_survey_notes(routes, joints), *_area_notes(routes, joints, to_degrees))
    reading_notes = readings.reading_notes(job, log, judged.readings)
    found = findings.find_all(judged)
    inspection = findings.inspection_state(judged)
    return Placement(
        job=job,
        line=line,
        log=log,
        placed=placed,
        judged=judged,
        turns=turned,
        found=found,
        inspection=inspection,
        to_map=to_map,
        to_degrees=to_degrees,
        checked=checked.accuracy,
        inputs=(
            *routes.inputs,
            *_tie_inputs(routes),
            *checked.inputs,
            *log.inputs,
            *limits.inputs,
            *judged.restraint.inputs,
        ),
        notes=(*read_notes, *checked.notes, *reading_notes, *placed.notes, *to_map.notes, *to_degrees.notes),
    )


def check_output(path: Path, inputs: list[Path], job: Job, *, key: str = "output.path or --out") -> None:
    """Refuse an output that would overwrite one of the job's inputs; `key` names where it can be changed.

    Raises
    ------
    OutputError
    """
    sources = [*inputs, Path(job.source)]
    for source in sources:
        if source.exists() and path.exists() and source.samefile(path):
            raise OutputError(f"{path}: this is an input of the job; give another {key}")


def _judge(
    job: Job,
    line: StationedLine,
    log: Log,
    placed: Placed,
    limits: allowables.Allowables,
    doubts: doubted.Doubted,
    today: dt.date,
) -> tuple[Turns, Judged]:
    joints, routes, scale = placed.joints, line.routes, line.scale
    straights = deflection.segments(joints.next_on_route, joints.easting, joints.northing, joints.elevation)
    missing = findings.missing_joints(job, log, joints, straights, scale)
    turned, bends, seen = _survey_says(job, routes, log, joints, straights, missing, scale, doubts.joints)
    taken = pa.array(joints.record)
    family = allowables.families(log.text("joint_type").take(taken), log.text("restrained").take(taken))
    allowable, source = limits.look_up(family, log.number("size")[joints.record])
    kind = log.text("kind").take(pa.array(joints.record))
    unknown_bend = as_mask(pc.equal(kind, "bend")) & ~bends.there
    measured = readings.read_readings(job, log, joints)
    agreeing = readings.agreeing(job, measured)
    bounds = _bounds(
        seen, measured, agreeing, bends, unknown_bend, allowable, deflection.one_sided(job.limits.confidence)
    )
    rests_on = _rests_on(routes, turned, seen, bends, bounds.by_readings)
    assumes = verdicts.assumption_words(rests_on)
    judged_so = pc.is_in(bounds.verdict, pa.array(["within", "over"]))
    return turned, Judged(
        job=job,
        log=log,
        joints=joints,
        segments=straights,
        missing=missing,
        scale=scale,
        seen=seen,
        turns=turned,
        deflection_deg=np.where(bounds.by_readings, measured.measured_deg, bounds.survey_deg),
        by_readings=bounds.by_readings,
        least_deg=bounds.least_deg,
        most_deg=bounds.most_deg,
        allowable_deg=allowable,
        allowable_source=source,
        verdict=verdicts.if_assumed(bounds.verdict, assumes),
        assumes=pc.if_else(judged_so, assumes, None),
        fitting_deg=np.degrees(bends.angle),
        bend_without_angle=unknown_bend,
        records=placed.records,
        joint_of_record=placed.records.joint,
        family=family,
        today=today,
        readings=measured,
        restraint=restraint.find_restraint(job, line, log, joints),
        tests=pressure.judge_tests(job, line, log, joints),
        doubted=doubts,
    )


class _Bounds(NamedTuple):
    """Between what each joint's deflection lies, at the job's confidence, degrees; what that rests on; the verdict."""

    least_deg: Floats
    most_deg: Floats
    survey_deg: Floats
    by_readings: Bools
    verdict: pa.Array


def _bounds(
    seen: survey.Seen,
    measured: readings.Readings,
    known: Bools,
    bends: fittings.Bends,
    unknown_bend: Bools,
    allowable: Floats,
    z: float,
) -> _Bounds:
    """Bound each deflection by the survey, or by the readings at the joint where the survey leaves it open."""
    computed = np.isfinite(seen.floor) & ~unknown_bend
    # Noise square to a turn only ever makes it look larger; "over" must hold without it.
    floor = np.sqrt(np.maximum(seen.floor**2 - seen.across_floor**2, 0.0))
    least = np.where(computed, np.degrees(floor - z * seen.sigma_floor), np.nan)
    most = np.where(computed, np.degrees(seen.ceiling + z * seen.sigma_ceiling), np.nan)
    by_survey = deflection.verdicts(least, most, allowable, computed)
    survey_deg = np.where(computed, np.degrees(seen.deflection), np.nan)
    if not known.any():
        return _Bounds(least, most, survey_deg, known, by_survey)
    least_read, most_read = measured.bounds_deg(z)
    # Readings at a fitting logged once are of one of its two joints, and say nothing of the other.
    most_read = np.where((bends.there | unknown_bend) & (bends.other_end < 0), np.nan, most_read)
    by_reading = deflection.verdicts(least_read, most_read, allowable, known)
    is_open = as_mask(pc.is_in(by_survey, pa.array(["cannot-tell", "not-computed"])))
    settles = as_mask(pc.is_in(by_reading, pa.array(["within", "over", "no-allowable"])))
    used = known & is_open & (settles | np.isnan(survey_deg))
    verdict = pc.if_else(pa.array(used), by_reading, by_survey)
    least, most = np.where(used, least_read, least), np.where(used, most_read, most)
    return _Bounds(least, most, survey_deg, used, verdict)


def _rests_on(
    routes: Routes, turned: Turns, seen: survey.Seen, bends: fittings.Bends, by_readings: Bools
) -> dict[str, Bools]:
    """Say at which joints a verdict would rest on what was not measured, by the words for it."""
    drawn = routes.pieces is not None
    unsaid = routes.sigma_horizontal is None, routes.sigma_vertical is None
    level = np.isnan(turned.vertical)
    rests_on = {
        "one-way": ~seen.exact,
        "level": level,
        "drawn": np.full(len(level), drawn),
        "shots-exact": (unsaid[0] | (unsaid[1] & ~level)) & (not drawn),
    }
    by_survey = {word: where & ~by_readings for word, where in rests_on.items()}
    return by_survey | {"fitting-plane": bends.there}


def _survey_says(
    job: Job,
    routes: Routes,
    log: Log,
    joints: Joints,
    straights: Segments,
    missing: Ints,
    scale: float,
    on_doubted: Bools,
) -> tuple[Turns, fittings.Bends, survey.Seen]:
    """Take the turns at the joints where the survey saw them, and what it says of each joint's deflection."""
    laying_length, sigma_along = job.records.laying_length * scale, job.records.sigma_station * scale
    if routes.pieces is not None:
        turned = deflection.turns(len(joints), straights)
        bends = _bends(log, joints, turned, straights, laying_length)
        return turned, bends, survey.exactly(turned, straights, bends, missing)
    tolerance = max(survey.AT_A_SHOT * laying_length, 2.0 * sigma_along)
    sighted = survey.sighted(routes, joints.located, tolerance, joints.surveyed, joints.own_shot)
    between_shots = _straights_between(routes, log, joints, sighted.located, scale)
    turned = deflection.turns(len(joints), between_shots)
    bends = _bends(log, joints, turned, straights, laying_length)
    astray = joints.own_shot | (np.abs(log.number("offset")[joints.position]) > 0)
    if astray.any():
        places = joints.easting, joints.northing, joints.elevation
        astray = astray & survey.off_the_line(routes, joints.located, *places, laying_length)
    seen = survey.seen(routes, sighted, between_shots, bends, missing, tolerance, sigma_along, astray)
    return turned, bends, survey.unbounded(seen, on_doubted)


def _straights_between(routes: Routes, log: Log, joints: Joints, located: Located, scale: float) -> Segments:
    line = points(routes, joints.route, located)
    easting, northing = offset_points(line, log.number("offset")[joints.position] * scale)
    places = ((joints.easting, easting), (joints.northing, northing), (joints.elevation, line.elevation))
    return deflection.segments(joints.next_on_route, *(np.where(joints.own_shot, own, on) for own, on in places))


def _bends(log: Log, joints: Joints, turned: Turns, straights: Segments, laying_length: float) -> fittings.Bends:
    """Give the bend at each joint, with its angle and where it turns to as the log has them."""
    taken = pa.array(joints.record)
    kind = log.text("kind").take(taken)
    angle = np.abs(log.number("bend_angle")[joints.record])
    angle[~(angle > 0)] = np.nan
    # An angle with nothing said of what was laid is a bend's, too.
    bend = as_mask(pc.equal(kind, "bend")) | (as_mask(kind.is_null()) & np.isfinite(angle))
    if not bend.any():
        none = np.full(len(joints), np.nan)
        return fittings.Bends(none, none, np.zeros(len(joints), dtype=np.bool_), np.full(len(joints), -1))
    angle = np.radians(np.where(bend, angle, np.nan))
    other_end, angle = fittings.two_ends(bend, angle, turned.turn, straights.back, straights.length, laying_length)
    planes = log.text("bend_plane").take(taken)
    planes = pc.coalesce(planes, planes.take(pa.array(other_end, mask=other_end < 0)))
    coded = planes.dictionary_encode()
    roll, either_way = fittings.rolls([*coded.dictionary.to_pylist(), None])
    plane = as_ints(coded.indices, len(roll) - 1)
    return fittings.Bends(angle, roll[plane], either_way[plane], other_end)


def _tie_inputs(routes: Routes) -> tuple[tuple[str, str], ...]:
    return routes.calibration.inputs if routes.calibration is not None else ()


def _survey_notes(routes: Routes, joints: Joints) -> list[str]:
    if routes.pieces is not None and joints.surveyed.any():
        return ["an alignment is drawn, not shot: verdicts take the surveyed joints on it as without error"]
    if routes.pieces is not None:
        return [survey.DESIGN_ONLY]
    return [survey.SHOTS_AS_EXACT] if routes.sigma_horizontal is None else []


def _map_steps(job: Job, routes: Routes, joints: Joints) -> tuple[projection.Step, projection.Step]:
    if job.output.crs is None:
        to_map = projection.Step(None, "none", ())
    else:
        to_map = projection.map_step(routes.crs, job.output.crs, joints.easting, joints.northing)
    return to_map, projection.geographic_step(routes.crs, joints.easting, joints.northing)


def _area_notes(routes: Routes, joints: Joints, to_degrees: projection.Step) -> list[str]:
    """Notice coordinates outside the area that their system is made for."""
    area = routes.crs.area_of_use
    longitude, latitude = to_degrees.apply(joints.easting[:1], joints.northing[:1])
    if area is None or (area.west <= longitude[0] <= area.east and area.south <= latitude[0] <= area.north):
        return []
    return [
        f"the joints lie outside the area of {routes.crs.name} ({area.name}): check the coordinate system, and that "
        "northing and easting are not exchanged"
    ]


def _stepper(progress: Progress | None) -> Callable[[], None]:
    done = iter(range(len(STEPS)))

    def step() -> None:
        number = next(done)
        if progress is not None:
            progress(STEPS[number], number, len(STEPS))

    return step


def _floats(values: Floats) -> pa.Array:
    """Make a column of numbers, null where unknown."""
    return pa.array(values, pa.float64(), from_pandas=True)


def _degrees(radians: Floats) -> pa.Array:
    return _floats(np.degrees(radians))


def _sources(judged: Judged) -> pa.Array:
    known = np.isfinite(judged.deflection_deg)
    return pa.array(["survey", "readings"]).take(pa.array(judged.by_readings.astype(np.int64), mask=~known))


def _or_nulls(values: pa.Array, kind: pa.DataType) -> pa.Array:
    return values if values.type == kind else pa.nulls(len(values), kind)
