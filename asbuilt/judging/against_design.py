"""Joints held against the design: how far right or left of it, how far above or below, at the design's station."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pyarrow as pa

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.line import stationing
from asbuilt.line.nearest import nearest
from asbuilt.line.routes import points
from asbuilt.line.stationed import STATION_TOLERANCE_M
from asbuilt.placing.elevations import WORDS, heights_above_center

if TYPE_CHECKING:
    from asbuilt.inputs.design import DesignLine
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.line.routes import Routes
    from asbuilt.placing.joints import Joints


class AgainstDesign(NamedTuple):
    """Joints against the design: shapes (joints,), coordinate units."""

    station: pa.Array
    """The design's station square to which the joint lies, as text; null where there is none."""
    offset: Floats
    """Right positive, looking ahead along the design; NaN where unknown."""
    height: Floats
    """Of the pipe's center above that of the design; NaN where unknown."""
    notes: tuple[str, ...]
    doubts: tuple[str, ...] = ()
    """What says that the design runs the other way, or that its stations are others than the log's."""


def against_design(
    job: Job, design: DesignLine | None, log: Log, joints: Joints, routes: Routes, form: stationing.Form
) -> AgainstDesign:
    """Hold the joints against the design.

    Parameters
    ----------
    job : Job
    design : DesignLine, or None where the job names none
    log : Log
    joints : Joints
        With elevations of the pipe's center, where the job says what was shot.
    routes : Routes
    form : how stations are written

    Returns
    -------
    AgainstDesign
        A joint beyond an end of the design is held against nothing: an offset from an end is no offset from a line.
    """
    nowhere = np.full(len(joints), np.nan)
    if job.design is None or design is None:
        return AgainstDesign(pa.nulls(len(joints), pa.string()), nowhere, nowhere, ())
    on = design.of_route[joints.route]
    rows = np.flatnonzero(on >= 0)
    found = nearest(design.routes, on[rows], joints.easting[rows], joints.northing[rows])
    at = points(design.routes, on[rows], found.located)
    east, north = joints.easting[rows] - at.easting, joints.northing[rows] - at.northing
    right = east * np.cos(at.azimuth) - north * np.sin(at.azimuth)
    along = east * np.sin(at.azimuth) + north * np.cos(at.azimuth)
    beside = ~_beyond(design, on[rows], found.distance, along)
    offset, height, station = nowhere.copy(), nowhere.copy(), nowhere.copy()
    # A little beyond an end the offset is that square to the design, and not the distance from its end.
    at_end = (found.distance <= 0.0) | (found.distance >= design.routes.length[on[rows]] - 1e-9)
    square = np.where(at_end, right, np.where(right < 0, -found.away, found.away))
    offset[rows] = np.where(beside, square, np.nan)
    station[rows] = np.where(beside, design.station(on[rows], found.distance), np.nan)
    above, why_not = _above_center(job, log, joints, routes.unit)
    height[rows] = np.where(beside, joints.elevation[rows] - (at.elevation - above[rows]), np.nan)
    notes = (*_how_read(job, design, routes, why_not), *_not_held(joints, on, int((~beside).sum()), height, why_not))
    doubts = _doubted(job, design, log, joints, routes, station, rows[beside], found.distance[beside], form)
    return AgainstDesign(stationing.format_stations(station, form), offset, height, notes, tuple(doubts))


def _doubted(
    job: Job, design: DesignLine, log: Log, joints: Joints, routes: Routes, station: Floats, rows: Ints, at: Floats,
    form: stationing.Form,
) -> list[str]:  # fmt: skip
    """Notice designs that run against the stations of the log, and those whose stations are a pipe or more from its.

    Parameters
    ----------
    station : array, shape (joints,)
        The design's, square to which each joint lies.
    rows : array of int, shape (n,)
        Joints beside the design, in order along their routes.
    at : array, shape (n,)
        How far along the design each of them lies.
    """
    logged = log.stations.value[joints.record]
    symbol, told = units.SYMBOLS[job.records.station_unit], []
    for some in np.split(np.arange(len(rows)), np.flatnonzero(np.diff(joints.route[rows])) + 1):
        if len(some) < _FEWEST:
            continue
        name, theirs = (lines.names[of[joints.route[rows[some[0]]]]] for lines, of in (
            (routes, np.arange(len(routes.names))), (design.routes, design.of_route)))  # fmt: skip
        if at[some[-1]] < at[some[0]]:
            told.append(
                f"design: its line {theirs} runs against the stations of route {name}: right and left of the design "
                "are told looking ahead along the design, which is back along the stations; draw it the other way round"
            )
            continue
        apart = station[rows[some]] - logged[rows[some]]
        if not np.isfinite(apart).any():
            continue
        middle = rows[some[int(np.nanargmin(np.abs(apart - np.nanmedian(apart))))]]
        off = float(station[middle] - logged[middle])
        # Stations that were measured along the pipe drift from the design's.
        long = float(np.ptp(logged[rows[some]]))
        if abs(off) > max(job.records.laying_length, _DRIFT * long):
            both = stationing.format_stations(np.array([station[middle], logged[middle]]), form).to_pylist()
            told.append(
                f"design: the stations of its line {theirs} lie {abs(off):.2f} {symbol} "
                f"{'ahead of' if off > 0 else 'behind'} those of route {name} at the same places (its {both[0]} is "
                f"{both[1]} of the log, in the middle): stations of the design are named in findings; say "
                "design.start_station, or make sure that the two are counted otherwise"
            )
    return told


_DRIFT = 0.005
"""Part of a route's length by which its stations may come to lie off the design's; common practice, no source."""
_FEWEST = 3
"""Joints beside a design by which its direction is told."""


def _beyond(design: DesignLine, route: Ints, distance: Floats, along: Floats) -> Bools:
    """Mark joints that lie before the design's start or behind its end."""
    slack = STATION_TOLERANCE_M * units.factor("m", design.routes.unit)
    length = design.routes.length[route]
    before: Bools = (distance <= 0.0) & (along < -slack)
    return before | ((distance >= length - 1e-9) & (along > slack))


def _above_center(job: Job, log: Log, joints: Joints, unit: str) -> tuple[Floats, str | None]:
    """Give how far what the design's elevations are of lies above the pipe's center, or say why it is not known."""
    assert job.design is not None
    unknown = np.full(len(joints), np.nan)
    shot, drawn = job.centerline.elevation, job.design.elevation
    if drawn is None:
        return unknown, "the job does not say what the design's elevations are of (design.elevation)"
    if shot is None:
        return unknown, "the job does not say what the survey shot (centerline.elevation)"
    if shot == "none":
        return unknown, "the job leaves the survey's elevations out"
    if drawn == "pipe-center":
        return np.zeros(len(joints)), None
    read = job.model_copy(update={"centerline": job.centerline.model_copy(update={"elevation": drawn})})
    return heights_above_center(read, log, joints, unit)[0], None


def _how_read(job: Job, design: DesignLine, routes: Routes, why_not: str | None) -> list[str]:
    assert job.design is not None
    notes = [f"design: {text}" for text in design.routes.notes]
    if job.design.elevation is not None and why_not is None:
        notes.append(f"design: its elevations are taken as those of {WORDS[job.design.elevation]}")
    bare = [name for name, number in zip(routes.names, design.of_route, strict=True) if number < 0]
    if bare:
        notes.append(f"design: it has no line for {', '.join(bare[:8])}, {len(bare)} of {len(routes.names)} routes")
    return notes


def _not_held(joints: Joints, on: Ints, beyond: int, height: Floats, why_not: str | None) -> list[str]:
    """Say which joints were not held against the design."""
    notes = []
    if beyond:
        notes.append(f"design: {beyond} joints lie beyond its ends, and were not held against it")
    if why_not is not None:
        notes.append(f"design: heights were not held against it, since {why_not}")
        return notes
    unknown = int((np.isnan(height) & (on >= 0)).sum()) - beyond
    if unknown > 0:
        notes.append(
            f"design: the heights of {unknown} joints were not held against it: their elevation, the design's, or the "
            "pipe's diameter is not known there"
        )
    return notes
