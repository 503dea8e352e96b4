"""The stated standard error of shots, held against the lengths of the pipes laid between them.

A pipe is as long as it was laid, whatever the main does. So a straight between two shots, each at a joint, misses the
laid length by the errors of the two shots along it, and by what joints are open. What it misses beyond that was not
stated.
Shots taken beside their joints along the pipe look the same; where the job does not say that they were
(`centerline.shots_at_joints`), verdicts and accuracies go by the larger error, and a person is told.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt import units
from asbuilt.arrays import as_floats, as_mask, scatter, together
from asbuilt.held import cuts
from asbuilt.judging.sightings import AT_A_SHOT
from asbuilt.notes import OfRoutes
from asbuilt.survey.evenness import LEVEL, beyond_chance

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.line.stationed import StationedLine
    from asbuilt.placing.joints import Joints

OPEN_M = 0.012
"""By how much lengths between joints differ besides, standard error: joints are open by 0 to 40 mm. Common practice, no
source."""
FAR, RATE = 2.0, 0.0455
"""Normal errors lie outside so many standard errors at this rate."""
FEWEST = 10
"""Of fewer pipes nothing is said."""


def with_errors_by_lengths(
    job: Job, line: StationedLine, log: Log, joints: Joints
) -> tuple[StationedLine, list[OfRoutes]]:
    """Give the shots of a route the standard error that laid lengths show, where the stated one does not explain it.

    Parameters
    ----------
    job : Job
    line : StationedLine
    log : Log
    joints : Joints

    Returns
    -------
    line : StationedLine
    told : list of OfRoutes
        For each route whose shots have a larger error since.
    """
    routes = line.routes
    if (
        routes.sigma_horizontal is None
        or not routes.shot
        or job.centerline.shots_at_joints is False
        or "laid_length" not in log.fields
    ):
        return line, []
    count = np.bincount(joints.route, minlength=len(routes.names))
    end = np.append(0, np.cumsum(count))
    found, larger, symbol = list[OfRoutes](), routes.sigma_horizontal.copy(), units.SYMBOLS[routes.unit]
    for start, stop in cuts(count):
        for one in _shown(job, line, log, joints, slice(*end[[start, stop]].tolist())):
            own = slice(*routes.first[[one.route, one.route + 1]].tolist())
            larger[own] = np.maximum(larger[own], one.seen)
            name = routes.names[one.route]
            text = (
                f"route {name}: the straights between its shots miss the lengths of {one.pipes} "
                f"pipes as shots with a standard error of {one.seen:.2g} {symbol} along the pipe do, and "
                f"centerline.sigma_horizontal states {one.stated:.2g} {symbol}: either the shots were taken beside the "
                f"joints, or they are not known so well; verdicts and accuracies take {one.seen:.2g} {symbol}, unless "
                "the job says that they are beside them (centerline.shots_at_joints = false)"
            )
            found.append(OfRoutes.one(name, text))
    return replace(line, routes=replace(routes, sigma_horizontal=larger)) if found else line, found


class _Shown(NamedTuple):
    """A route whose pipes show a larger error of its shots than is stated."""

    route: int
    pipes: int
    seen: float
    """Standard error, coordinate units; as the next."""
    stated: float


def _shown(job: Job, line: StationedLine, log: Log, joints: Joints, some: slice) -> Iterator[_Shown]:
    """Look at the joints of some routes."""
    routes, scale = line.routes, line.scale
    route, record = joints.route[some], joints.record[some]
    vertex = joints.located.vertex[some] + (joints.located.weight[some] > 0.5)
    off = np.abs(routes.distance[vertex] - joints.distance[some])
    shot = (off <= AT_A_SHOT * job.records.laying_length * scale) & (route == routes.vertex_route[vertex])
    kind = log.text("kind").take(pa.array(record))
    shot &= as_mask(pc.fill_null(pc.equal(kind, "pipe"), True))
    back = np.flatnonzero(route[1:] == route[:-1])
    from_shot, to_shot = vertex[back], vertex[back + 1]
    rise = np.nan_to_num(routes.elevation[to_shot] - routes.elevation[from_shot])
    east, north = (one[to_shot] - one[from_shot] for one in (routes.easting, routes.northing))
    length = np.sqrt(east**2 + north**2 + rise**2)
    number = log.fields["laid_length"].take(pa.array(record[back + (job.records.pipe == "back")]))
    laid = as_floats(number) * scale
    miss, sigma = length - laid, routes.errors[0]
    assert sigma is not None
    # A length that misses by a good part of a pipe is of another pipe, or of several.
    usable = shot[back] & shot[back + 1] & (np.abs(miss) < 0.25 * laid) & (to_shot > from_shot)
    other = (OPEN_M * units.factor("m", routes.unit)) ** 2
    for rows in together(np.flatnonzero(usable), route[back]):
        if len(rows) < FEWEST:
            continue
        left = np.abs(miss[rows] - np.median(miss[rows]))
        hit = left > FAR * np.sqrt(sigma[from_shot[rows]] ** 2 + sigma[to_shot[rows]] ** 2 + other)
        # Successive lengths have a shot in common, and every other one has not.
        if any(beyond_chance(np.array([part.mean()]), len(part), RATE, LEVEL)[0] for part in (hit[::2], hit[1::2])):
            seen = np.sqrt(max(scatter(left) ** 2 - other, 0.0) / 2.0)
            stated = float(np.median(sigma[from_shot[rows]]))
            yield _Shown(int(route[back[rows[0]]]), len(rows), float(seen), stated)
