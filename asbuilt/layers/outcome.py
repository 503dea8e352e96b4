"""What a job came to: what its layers are made of, route by route, and as a whole with the counts that prove its rows.

A large job is judged some routes at a time: each part adds its counts to the whole, which is then as if it had been
judged at once.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Bools, Floats, Ints, appearing, as_mask, counted, most_frequent
from asbuilt.inputs.log import Log, station_form
from asbuilt.job import Job
from asbuilt.judging import accuracy, lengths, readings, verdicts
from asbuilt.judging.cover import doubtful_cover
from asbuilt.judging.deflection import Turns
from asbuilt.judging.far_apart import far_apart
from asbuilt.judging.findings import CHECKS
from asbuilt.judging.found_along_lines import perhaps_missing
from asbuilt.judging.judge import InPlace, Ready
from asbuilt.judging.judged import Judged
from asbuilt.judging.profile import profile_notes
from asbuilt.line import projection, stationing, ties
from asbuilt.line.routes import Routes, heights_measured
from asbuilt.line.stationed import StationedLine
from asbuilt.notes import Note, OfRoutes
from asbuilt.placing.place import Placed
from asbuilt.survey.direction import compass


@dataclass(frozen=True)
class OfRecords:
    """The records of a job in their places."""

    ready: InPlace

    @property
    def job(self) -> Job:
        """The job as its file has it."""
        return self.ready.job

    @property
    def line(self) -> StationedLine:
        """The surveyed routes with their stations."""
        return self.ready.line

    @property
    def log(self) -> Log:
        """The joint log."""
        return self.ready.log

    @property
    def placed(self) -> Placed:
        """Records and joints in their places."""
        return self.ready.placed

    @property
    def routes(self) -> Routes:
        """The surveyed routes."""
        return self.line.routes

    @cached_property
    def map_crs(self) -> str:
        """Coordinate system of the layers, as the job names it or as well-known text."""
        if self.job.output.crs is not None:
            return self.job.output.crs
        authority = self.routes.crs.to_authority()
        return ":".join(authority) if authority else str(self.routes.crs.to_wkt())

    @cached_property
    def route_names(self) -> pa.Array:
        """Names of the routes, by their numbers."""
        return pa.array(self.routes.names, pa.string())

    @cached_property
    def latest(self) -> Bools:
        """True for the records that give their joints' present state, shape (records,)."""
        latest = np.zeros(len(self.log), dtype=np.bool_)
        latest[self.placed.joints.record] = True
        return latest


@dataclass(frozen=True)
class OfJob(OfRecords):
    """A placed job, or some of its routes."""

    ready: Ready

    @property
    def checked(self) -> accuracy.Accuracy | None:
        """Accuracy of the survey by its check shots, where the job has any."""
        return self.ready.checked

    @property
    def to_map(self) -> projection.Step:
        """How coordinates are carried to the map."""
        return self.ready.to_map

    @property
    def to_degrees(self) -> projection.Step:
        """How coordinates are carried to longitude and latitude."""
        return self.ready.to_degrees

    @cached_property
    def map_points(self) -> tuple[Floats, Floats]:
        """Easting and northing of the joints on the map."""
        joints = self.placed.joints
        return self.to_map.apply(joints.easting, joints.northing)


class Added(NamedTuple):
    """What some routes add to what is said of their job; texts are counted in the order of the joints."""

    routes_with_joints: int
    joints: int
    segments: int
    by_position: Counter[str]
    by_verdict: Counter[str]
    over_together: int
    """Joints of the verdict `over` of which only this is known: one of those that share their turn is over."""
    by_inspection: Counter[str]
    findings_at_joints: Counter[str]
    """By the code of the check; as for the next."""
    findings_on_lengths: Counter[str]
    wrong_at_most: dict[str, float]
    of_unknown_rate: dict[str, int]
    missing_at_least: dict[str, int]
    missing_perhaps: dict[str, int]
    """Places where joints may be missing, or a station or a length is wrong."""
    places_doubted: dict[str, list[dict[str, Any]]]
    """Lengths of the routes on which joints may stand elsewhere, as `judging.doubted.Doubted.places` has them."""
    restraint: dict[str, int]
    pressure_tests: dict[str, Any]
    intervals: list[lengths.Interval]
    """The line, the stations and the pipes laid, compared on every route and between its ties."""
    readings: readings.Taken
    families: list[str]
    """Families of the joints, each once; blank where there is none."""
    inputs: tuple[tuple[str, str], ...]
    clock_notes: tuple[OfRoutes, ...]
    apart_notes: tuple[OfRoutes, ...]
    by_stations: int
    """Verdicts `within`, as measured, on joints that stations alone put at shots, where the job does not say more."""
    design_notes: tuple[str, ...]
    design_doubts: tuple[str, ...]
    cover_notes: tuple[str, ...]
    cover_doubts: tuple[str, ...]
    profile_notes: tuple[OfRoutes, ...]


@dataclass(frozen=True)
class Outcome(OfJob):
    """A judged job, or some of its routes: what the layers of joints, straights and findings are made of."""

    judged: Judged
    turns: Turns
    found: pa.Table
    inspection: pa.Array

    def added(self) -> Added:
        """Give what these routes add to what is said of the whole job."""
        judged, restraint = self.judged, self.judged.restraint
        at_joint = self.found["joint_index"].is_valid()
        route, perhaps = judged.joints.route[judged.segments.back], perhaps_missing(judged)
        return Added(
            routes_with_joints=len(np.unique(judged.joints.route)),
            joints=len(judged.joints),
            segments=len(judged.segments.back),
            by_position=appearing(judged.joints.position_source),
            by_verdict=appearing(judged.verdict),
            over_together=int((as_mask(pc.equal(judged.verdict, "over")) & np.isnan(judged.deflection_deg)).sum()),
            by_inspection=appearing(self.inspection),
            findings_at_joints=appearing(self.found["code"].filter(at_joint)),
            findings_on_lengths=appearing(self.found["code"].filter(pc.invert(at_joint))),
            wrong_at_most=self._wrong_at_most,
            of_unknown_rate=self._by_route(np.bincount(judged.joints.route[self._settled[1]], minlength=self._count)),
            # As many joints at least are missing from the log.
            missing_at_least=self._by_route(np.bincount(route, np.where(perhaps, 0, judged.absent), self._count)),
            missing_perhaps=self._by_route(np.bincount(route[perhaps], minlength=self._count)),
            places_doubted=judged.doubted.places(self.routes),
            restraint={
                "lengths": len(restraint.lengths),
                "joints": int(np.sum(restraint.last - restraint.first)),
                "joints_unrestrained": len(restraint.missing[0]),
            },
            pressure_tests=self._test_counts,
            intervals=lengths.of_judged(self.job, self.line, judged),
            readings=readings.taken(judged.readings),
            families=pc.unique(pc.fill_null(judged.family, "")).to_pylist(),
            inputs=restraint.inputs,
            clock_notes=judged.misread,
            apart_notes=tuple(far_apart(self.line, judged, self.job.records.laying_length)),
            by_stations=int(np.count_nonzero(judged.by_stations & as_mask(pc.equal(judged.verdict, "within")))),
            design_notes=judged.design.notes,
            design_doubts=judged.design.doubts,
            cover_notes=judged.cover.notes,
            cover_doubts=tuple(doubtful_cover(self.job, self.line, judged.cover, judged.joints)),
            profile_notes=tuple(profile_notes(self.job, self.line, self.log, judged.joints, judged.segments)),
        )

    @property
    def _count(self) -> int:
        return len(self.routes.names)

    def _by_route(self, many: npt.NDArray[Any]) -> dict[str, int]:
        """Give whole numbers by the route's name; routes with none are left out."""
        return {name: int(number) for name, number in zip(self.routes.names, many.tolist(), strict=True) if number}

    @property
    def _wrong_at_most(self) -> dict[str, float]:
        """How many of each route's verdicts may be wrong at the stated confidence, if all its joints lie at limits."""
        many = verdicts.most_wrong(self._settled[0], self.judged.joints.route, self._count, self.judged.confidence)
        return {
            name: round(number, 2) for name, number in zip(self.routes.names, many.tolist(), strict=True) if number > 0
        }

    @cached_property
    def _settled(self) -> tuple[Bools, Bools]:
        """Which verdicts are wrong as often as stated at most, and of which nothing says how often they are."""
        return verdicts.settled(self.judged.verdict, self.judged.judgement.assumes)

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


@dataclass(frozen=True)
class Whole(OfJob):
    """A placed and judged job as a whole: its records, its line, its counts and notes."""

    added: tuple[Added, ...]
    """By its parts, in the order of its routes."""
    inputs: tuple[tuple[str, str], ...]
    notes: tuple[Note, ...]
    """What was noticed about the job as a whole."""

    @cached_property
    def counts(self) -> dict[str, Any]:
        """The counts of the run, which prove that no record was lost.

        Returns
        -------
        dict
            `records_read`, `inspections_placed`, `records_set_aside`, and counts by reason, verdict,
            inspection state and finding.
        """
        parts, aside = self.added, counted(self.placed.records.reason)
        at_joints = [one.findings_at_joints for one in parts]
        on_lengths = [one.findings_on_lengths for one in parts]
        return {
            "records_read": len(self.log),
            "inspections_placed": int(self.placed.records.placed.sum()),
            "records_set_aside": sum(aside.values()),
            "set_aside_by_reason": aside,
            "routes": len(self.routes.names),
            "routes_with_joints": sum(one.routes_with_joints for one in parts),
            "joints": sum(one.joints for one in parts),
            "joints_by_position": most_frequent(one.by_position for one in parts),
            "joints_by_verdict": most_frequent(one.by_verdict for one in parts),
            "joints_over_together": sum(one.over_together for one in parts),
            "verdicts_wrong_at_most": _together(one.wrong_at_most for one in parts),
            "verdicts_of_unknown_rate": _together(one.of_unknown_rate for one in parts),
            "shots_without_elevation": self._without_elevation,
            "shot_spacing": self._shot_spacing,
            "basis": self._basis,
            "as_said": self._as_said,
            "joints_by_inspection": most_frequent(one.by_inspection for one in parts),
            "findings": sum(found.total() for found in (*at_joints, *on_lengths)),
            "findings_by_code": most_frequent([*at_joints, _in_order(on_lengths)]),
            "joints_missing_at_least": _together(one.missing_at_least for one in parts),
            "joints_missing_perhaps": _together(one.missing_perhaps for one in parts),
            "places_doubted": _together(one.places_doubted for one in parts),
            "ties": self._closures,
            "lengths": [one.as_counts() for one in self.intervals],
            "survey_check": self.checked.as_counts() if self.checked is not None else None,
            # A job that asks for either has one part.
            "restraint": parts[0].restraint,
            "pressure_tests": parts[0].pressure_tests,
        }

    @property
    def intervals(self) -> list[lengths.Interval]:
        """The line, the stations and the pipes laid, compared on every route and between its ties."""
        return [interval for one in self.added for interval in one.intervals]

    @property
    def segments(self) -> int:
        """How many straights there are between joints."""
        return sum(one.segments for one in self.added)

    @property
    def families(self) -> list[str]:
        """Families of the joints, each once; blank where there is none."""
        return list(dict.fromkeys(family for one in self.added for family in one.families))

    @property
    def _without_elevation(self) -> dict[str, int]:
        """At how many shots of each route no elevation was measured; routes that lack none are left out."""
        if not self.routes.shot:
            return {}
        route = self.routes.vertex_route[~heights_measured(self.routes)]
        many = np.bincount(route, minlength=len(self.routes.names))
        return {name: number for name, number in zip(self.routes.names, many.tolist(), strict=True) if number}

    @property
    def _shot_spacing(self) -> dict[str, dict[str, float]]:
        """How far apart the shots of each route are, in station units; a line that nobody shot has none."""
        if not self.routes.shot:
            return {}
        legs = [np.diff(one) / self.line.scale for one in np.split(self.routes.distance, self.routes.first[1:-1])]
        return {name: lengths.spacing_of(some) for name, some in zip(self.routes.names, legs, strict=True)}

    @property
    def _basis(self) -> dict[str, Any]:
        """What the verdicts rest on: confidence, tables of allowables, and the standard errors of the shots."""
        limits = self.job.limits
        return {
            "confidence": limits.confidence,
            "confidence_of": limits.confidence_of,
            "table": limits.table,
            "project": Path(limits.project).name if limits.project else None,
            "fraction": limits.fraction,
            "source": self.routes.source,
            "shots_at_joints": self.job.centerline.shots_at_joints,
            "covers": self.job.records.covers,
            "sigma_horizontal": _least_and_most(self.routes.sigma_horizontal),
            "sigma_vertical": _least_and_most(self.routes.sigma_vertical),
        }

    @property
    def _as_said(self) -> dict[str, Any]:
        """What is taken as job and survey say it: who knows the place sees whether joints lie there."""
        joints, routes = self.placed.joints, self.routes
        longitude, latitude = self.ready.to_degrees.apply(joints.easting[:1], joints.northing[:1])
        stations = stationing.format_stations(self.line.start, station_form(self.job, self.log)).to_pylist()
        starts = zip(routes.names, stations, compass(routes), strict=True)
        height = joints.elevation[np.isfinite(joints.elevation)]
        least, most = (round(float(one), 3) for one in (height.min(), height.max())) if len(height) else (None, None)
        return {
            "crs": routes.crs.name,
            "elevation_least": least,
            "elevation_most": most,
            "elevation_unit": routes.unit,
            "longitude": round(float(longitude[0]), 5),
            "latitude": round(float(latitude[0]), 5),
            "starts": [{"route": name, "station": station, "end": end} for name, station, end in starts],
        }

    @property
    def _closures(self) -> list[dict[str, Any]]:
        """The closure of each interval between ties, in station units on the ground."""
        found = self.routes.calibration
        if found is None:
            return []
        intervals, scale = ties.closures(found), self.line.scale
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


_PLACE = {one.code: number for number, one in enumerate(CHECKS)}
"""Where each check stands among all."""


def in_order_of_checks(code: pa.Array) -> Ints:
    """Give the order that brings findings into that of the checks, those of one check staying as they are."""
    return np.argsort([_PLACE[one] for one in code.to_pylist()], kind="stable")


def _in_order(counts: Iterable[Counter[str]]) -> Counter[str]:
    """Add up findings on lengths, in the order of the checks."""
    total = most_frequent(counts)
    return Counter({one.code: total[one.code] for one in CHECKS if one.code in total})


def _together(parts: Iterable[Mapping[str, Any]]) -> dict[str, Any]:
    """Put what is said by route behind one another."""
    return {name: value for part in parts for name, value in part.items()}


def _least_and_most(sigma: Floats | None) -> list[float] | None:
    """Give the range of the standard errors; None where none are stated."""
    known = sigma[np.isfinite(sigma)] if sigma is not None else np.zeros(0)
    return [round(float(known.min()), 6), round(float(known.max()), 6)] if len(known) else None
