"""Cover: how far the ground lies above the top of the pipe, at each joint and along the pipe ahead of it."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from asbuilt import units
from asbuilt.arrays import Floats, Ints
from asbuilt.inputs.fields import GROUND_FIELD
from asbuilt.inputs.ground import Ground
from asbuilt.placing.elevations import heights_above_center

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.judging.deflection import Segments
    from asbuilt.line.routes import Routes
    from asbuilt.line.stationed import StationedLine
    from asbuilt.placing.joints import Joints

STEP_M = 1.0
"""The pipe between two joints is looked at this often."""

_DEEPEST_M = 15.0
"""Mains in trenches lie less deep; common practice, no source."""
_MOSTLY = 0.5


class Covered(NamedTuple):
    """Cover of the joints: shapes (joints,), coordinate units; NaN where it is not known."""

    ground: Floats
    """Elevation of the ground at the joint."""
    cover: Floats
    """Of the ground above the top of the pipe at the joint."""
    least: Floats
    """The least at the joint and along the pipe to the next one."""
    notes: tuple[str, ...]


def cover_of(job: Job, ground: Ground | None, log: Log, joints: Joints, straights: Segments, routes: Routes) -> Covered:
    """Say how much cover the pipe has.

    Parameters
    ----------
    job : Job
    ground : Ground, or None where the job names none, or a column of the log
    log : Log
    joints : Joints
        With elevations of the pipe's center, where the job says what was shot.
    straights : Segments
    routes : Routes

    Returns
    -------
    Covered
        Elevations of ground and pipe are taken as of one vertical datum; the top lies straight above the center.
    """
    nowhere = np.full(len(joints), np.nan)
    if job.cover is not None and job.cover.log_column is not None:
        ground = _ground_of_log(job, log, joints, routes)
    if ground is None:
        return Covered(nowhere, nowhere, nowhere, ())
    height = ground.at(joints.route, joints.distance, joints.easting, joints.northing)
    if job.centerline.elevation in (None, "none"):
        why = "cover is not computed: the job does not say what the survey shot (centerline.elevation)"
        return Covered(height, nowhere, nowhere, (*ground.notes, why))
    top = joints.elevation + _half_outside(job, log, joints, routes.unit)
    cover = height - top
    least = np.fmin(cover, _along(ground, joints, straights, top, routes))
    least[np.isnan(cover)] = np.nan
    notes = [
        *ground.notes,
        "cover is that over the top of the pipe; ground and survey are taken as of one vertical datum",
    ]
    unknown = int(np.isnan(cover).sum())
    if unknown:
        notes.append(
            f"the cover of {unknown} of {len(joints)} joints is not known and was not judged: the ground, the pipe's "
            "elevation or its diameter is not known there"
        )
    return Covered(height, cover, least, tuple(notes))


def doubtful_cover(job: Job, line: StationedLine, covered: Covered, joints: Joints) -> list[str]:
    """Notice ground that lies far too high over the pipe or below it, and cover that is asked for and mostly not known.

    Ground that is too high, or not known, is silent otherwise: no joint of theirs has too little.

    Parameters
    ----------
    job : Job
    line : StationedLine
    covered : Covered
    joints : Joints
    """
    if job.cover is None or not len(joints):
        return []
    notes, limit = [], _DEEPEST_M * units.factor("m", job.records.station_unit)
    # Joints stand in the order of their routes.
    first = np.flatnonzero(np.diff(joints.route, prepend=-1))
    for number, cover in zip(
        joints.route[first].tolist(), np.split(covered.cover / line.scale, first[1:]), strict=True
    ):
        name = line.names.names[number]
        deep = int((cover > limit).sum())
        if deep:
            notes.append(
                f"route {name}: at {deep} of {len(cover)} joints the ground is more than {limit:.0f} {line.symbol} "
                f"above the pipe, up to {np.nanmax(cover):,.0f} {line.symbol}: look at its elevations, their unit "
                "(cover.unit) and their datum; no joint there is told as lying under too little"
            )
        under = int((cover < 0.0).sum())
        if under > _MOSTLY * len(cover):
            notes.append(
                f"route {name}: at {under} of {len(cover)} joints the ground lies below the top of the pipe, by up to "
                f"{-np.nanmin(cover):,.1f} {line.symbol}, where pipe is not buried: look at its elevations, their unit "
                "(cover.unit) and their datum, and at what the survey shot (centerline.elevation)"
            )
        unknown = int(np.isnan(cover).sum())
        if job.cover.least is not None and unknown > _MOSTLY * len(cover):
            notes.append(
                f"route {name}: cover.least asks for {job.cover.least:g} {line.symbol}, and the cover of {unknown} of "
                f"{len(cover)} joints is not known: they are not held against it; look at the ground's coordinates, "
                "and whether the pipe's elevations and diameters are known"
            )
    return notes


def _ground_of_log(job: Job, log: Log, joints: Joints, routes: Routes) -> Ground:
    """Take the ground from the log's own column: between two joints that have it, it runs straight."""
    assert job.cover is not None
    height = log.number(GROUND_FIELD)[joints.record] * units.factor(job.cover.unit or routes.unit, routes.unit)
    known = np.isfinite(height)

    def at(route: Ints, distance: Floats, easting: Floats, northing: Floats) -> Floats:
        ground = np.full(len(route), np.nan)
        for number in np.unique(joints.route[known]):
            rows, own = np.flatnonzero(route == number), known & (joints.route == number)
            order = np.argsort(joints.distance[own], kind="stable")
            along, up = joints.distance[own][order], height[own][order]
            ground[rows] = np.interp(distance[rows], along, up, left=np.nan, right=np.nan)
        return ground

    column = job.cover.log_column
    note = (
        f"ground: {int(known.sum())} of {len(joints)} joints have it in the log's column {column!r}; between two of "
        "them along a route it is taken to run straight"
    )
    return Ground(at, (), (note,))


def _half_outside(job: Job, log: Log, joints: Joints, unit: str) -> Floats:
    read = job.model_copy(update={"centerline": job.centerline.model_copy(update={"elevation": "top-of-pipe"})})
    return heights_above_center(read, log, joints, unit)[0]


def _along(ground: Ground, joints: Joints, straights: Segments, top: Floats, routes: Routes) -> Floats:
    """Give the least cover between each joint and the next; NaN where none follows or none is known."""
    found = np.full(len(joints), np.nan)
    back, ahead = straights.back, straights.back + 1
    if not len(back):
        return found
    count = np.clip(np.ceil(straights.length / (STEP_M * units.factor("m", routes.unit))), 1, 1000).astype(np.int64)
    first = np.cumsum(count) - count
    owner = np.repeat(np.arange(len(back)), count)
    part = (np.arange(len(owner)) - first[owner] + 0.5) / count[owner]

    def there(values: Floats) -> Floats:
        return values[back][owner] + part * (values[ahead] - values[back])[owner]

    height = ground.at(joints.route[back][owner], *map(there, (joints.distance, joints.easting, joints.northing)))
    cover = np.where(np.isnan(height), np.inf, height - there(top))
    least = np.minimum.reduceat(np.where(np.isnan(cover), np.inf, cover), first)
    found[back] = np.where(np.isfinite(least), least, np.nan)
    return found
