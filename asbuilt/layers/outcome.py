"""What a job came to: all that its layers are made of, and the counts that prove that no record was lost."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa

from asbuilt.arrays import Bools, Floats, counted
from asbuilt.inputs.log import Log
from asbuilt.job import Job
from asbuilt.judging import accuracy, lengths, verdicts
from asbuilt.judging.deflection import Turns
from asbuilt.judging.judged import Judged
from asbuilt.judging.sightings import heights_measured
from asbuilt.line import projection, ties
from asbuilt.line.routes import Routes
from asbuilt.line.stationed import StationedLine
from asbuilt.notes import Note
from asbuilt.placing.place import Placed


@dataclass(frozen=True)
class Outcome:
    """A placed and judged job: what its layers are made of."""

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
    intervals: list[lengths.Interval]
    """The line, the stations and the pipes laid, compared on every route and between its ties."""
    inputs: tuple[tuple[str, str], ...]
    notes: tuple[Note, ...]
    """What was noticed about the job as a whole."""

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
            "verdicts_wrong_at_most": self._wrong_at_most,
            "verdicts_of_unknown_rate": self._of_unknown_rate,
            "shots_without_elevation": self._without_elevation,
            "shot_spacing": self._shot_spacing,
            "basis": self._basis,
            "joints_by_inspection": counted(self.inspection),
            "findings": self.found.num_rows,
            "findings_by_code": counted(self.found["code"]),
            "joints_missing_at_least": self._missing_at_least,
            "ties": self._closures,
            "lengths": [one.as_counts() for one in self.intervals],
            "survey_check": self.checked.as_counts() if self.checked is not None else None,
            "restraint": self._restraint_counts,
            "pressure_tests": self._test_counts,
        }

    @property
    def _wrong_at_most(self) -> dict[str, float]:
        """How many of each route's verdicts may be wrong at the stated confidence, if all its joints lie at limits."""
        judged, names = self.judged, self.routes.names
        known, _ = self._settled
        many = verdicts.most_wrong(known, judged.joints.route, len(names), judged.confidence)
        return {name: round(number, 2) for name, number in zip(names, many.tolist(), strict=True) if number > 0}

    @property
    def _of_unknown_rate(self) -> dict[str, int]:
        """On how many of each route's verdicts nothing says how often such are wrong."""
        _, unknown = self._settled
        many = np.bincount(self.judged.joints.route[unknown], minlength=len(self.routes.names))
        return {name: number for name, number in zip(self.routes.names, many.tolist(), strict=True) if number}

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
        legs = [np.diff(one) / self.judged.scale for one in np.split(self.routes.distance, self.routes.first[1:-1])]
        return {name: lengths.spacing_of(some) for name, some in zip(self.routes.names, legs, strict=True)}

    @cached_property
    def _settled(self) -> tuple[Bools, Bools]:
        return verdicts.settled(self.judged.verdict, self.judged.judgement.assumes)

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
            "sigma_horizontal": _least_and_most(self.routes.sigma_horizontal),
            "sigma_vertical": _least_and_most(self.routes.sigma_vertical),
        }

    @property
    def _missing_at_least(self) -> dict[str, int]:
        """How many joints at least are missing from the log of each route; routes that miss none are left out."""
        route = self.judged.joints.route[self.judged.segments.back]
        many = np.bincount(route, self.judged.missing, minlength=len(self.routes.names))
        return {name: int(number) for name, number in zip(self.routes.names, many.tolist(), strict=True) if number}

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
    def map_points(self) -> tuple[Floats, Floats]:
        """Easting and northing of the joints on the map."""
        joints = self.judged.joints
        return self.to_map.apply(joints.easting, joints.northing)

    @cached_property
    def route_names(self) -> pa.Array:
        """Names of the routes, by their numbers."""
        return pa.array(self.routes.names, pa.string())


def _least_and_most(sigma: Floats | None) -> list[float] | None:
    """Give the range of the standard errors; None where none are stated."""
    known = sigma[np.isfinite(sigma)] if sigma is not None else np.zeros(0)
    return [round(float(known.min()), 6), round(float(known.max()), 6)] if len(known) else None
