"""The pipe in each straight between two joints: whose record it is, how long it should be, and what may lie between."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from asbuilt import units
from asbuilt.judging import bounds

if TYPE_CHECKING:
    from asbuilt.arrays import Bools, Floats, Ints
    from asbuilt.job import Job
    from asbuilt.judging.deflection import Segments
    from asbuilt.placing.joints import Joints

SPACING_TOLERANCE_M = 0.15
"""A straight and its pipe differ by less; common practice, no source."""


def pipe_back(job: Job, straights: Segments) -> Ints:
    """Give the joint whose record describes each straight, as the job says which of its two.

    Parameters
    ----------
    job : Job
    straights : Segments

    Returns
    -------
    array of int, shape (segments,)
    """
    return straights.back + (1 if job.records.pipe == "back" else 0)


def spacings(
    job: Job, joints: Joints, straights: Segments, laid: Floats, scale: float
) -> tuple[Floats, Floats, Bools, Floats]:  # fmt: skip
    """Give each straight's length, the length to be expected, whether that was recorded, and what may lie between.

    Parameters
    ----------
    job : Job
    joints : Joints
    straights : Segments
    laid : array, shape (segments,)
        Recorded length of the pipe in each straight, station units; NaN where none is recorded.
    scale : float
        Coordinate units in a station unit.

    Returns
    -------
    spacing, expected, recorded, tolerance : arrays, shape (segments,)
        Lengths on the ground, in station units.
    """
    spacing, recorded = straights.length / scale, laid > 0
    expected = np.where(recorded, laid, job.records.laying_length)
    tolerance = job.records.spacing_tolerance
    if tolerance is None:
        tolerance = SPACING_TOLERANCE_M * units.factor("m", job.records.station_unit)
    return spacing, expected, recorded, tolerance + by_stations(job, joints, straights)


def by_stations(job: Job, joints: Joints, straights: Segments) -> Floats:
    """Give how far errors of stations may put the ends of each straight apart, at the job's confidence.

    Parameters
    ----------
    job : Job
    joints : Joints
    straights : Segments

    Returns
    -------
    array, shape (segments,)
        Station units.
    """
    off = np.where(joints.surveyed, 0.0, job.records.sigma_station or 0.0)
    apart: Floats = np.hypot(off[straights.back], off[straights.back + 1])
    return bounds.one_sided(job.limits.confidence) * apart
