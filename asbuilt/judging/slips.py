"""Stations that lie off by themselves: one step too long and the next as much too short, as the pipes laid show.

Where a joint's station is off by less than a pipe, its number is in order, and nothing but the two steps beside it
tells. How far off it is they tell, too: its place is known no better than that.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from asbuilt.judging.pipes import pipe_back, spacings

if TYPE_CHECKING:
    from asbuilt.arrays import Floats
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.judging.deflection import Segments
    from asbuilt.placing.joints import Joints


def slipped(job: Job, log: Log, joints: Joints, straights: Segments, scale: float) -> Floats:
    """Give how far each joint stands off by its own station, where the pipes on both sides say so.

    Parameters
    ----------
    job : Job
    log : Log
    joints : Joints
    straights : Segments
        From each joint to the next one of its route.
    scale : float
        Coordinate units in a station unit.

    Returns
    -------
    array, shape (joints,)
        Coordinate units; 0 where nothing says so, and of joints that were surveyed.
    """
    off = np.zeros(len(joints))
    laid = log.number("laid_length")[joints.record[pipe_back(job, straights)]]
    spacing, expected, _, tolerance = spacings(job, joints, straights, laid, scale)
    tolerance, over = np.broadcast_to(tolerance, spacing.shape), spacing - expected
    joint, back, ahead = straights.adjacent
    most = tolerance[back] + tolerance[ahead]
    slip = np.minimum(np.abs(over[back]), np.abs(over[ahead])) > np.maximum(tolerance[back], tolerance[ahead])
    slip &= np.abs(over[back] + over[ahead]) <= most
    # Two lengths that stand in one another's row are no wrong station.
    slip &= np.abs(spacing[back] - expected[ahead]) > most
    off[joint[slip]] = np.maximum(np.abs(over[back]), np.abs(over[ahead]))[slip] * scale
    off[joints.surveyed] = 0.0
    return off
