"""The stated standard error of shots, held against the lengths of the pipes laid between them.

A pipe is as long as it was laid, whatever the main does. So a straight between two shots, each at a joint, misses the
laid length by the errors of the two shots along it, and by what joints are open. What it misses beyond that was not
stated.
Shots taken beside their joints along the pipe look the same, so no verdict goes by it; a person is told.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt import units
from asbuilt.arrays import as_mask, together
from asbuilt.judging.pipes import pipe_back
from asbuilt.judging.sightings import AT_A_SHOT
from asbuilt.survey.evenness import LEVEL, divergence

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.judging.deflection import Segments
    from asbuilt.line.routes import Routes
    from asbuilt.placing.joints import Joints

OPEN_M = 0.012
"""By how much lengths between joints differ besides, standard error: joints are open by 0 to 40 mm. Common practice, no
source."""
FAR, RATE = 2.0, 0.0455
"""Normal errors lie outside so many standard errors at this rate."""
FEWEST = 10
"""Of fewer pipes nothing is said."""


def understated(job: Job, routes: Routes, log: Log, joints: Joints, straights: Segments, scale: float) -> list[str]:
    """Say on which routes shots miss the laid lengths by more than their stated standard error explains.

    Parameters
    ----------
    job : Job
    routes : Routes
    log : Log
    joints : Joints
    straights : Segments
        Between successive joints.
    scale : float
        Coordinate units in a station unit.
    """
    if routes.sigma_horizontal is None or not routes.shot or "laid_length" not in log.fields or not len(straights.back):
        return []
    vertex = joints.located.vertex + (joints.located.weight > 0.5)
    off = np.abs(routes.distance[vertex] - joints.distance)
    shot = (off <= AT_A_SHOT * job.records.laying_length * scale) & (joints.route == routes.vertex_route[vertex])
    kind = log.text("kind").take(pa.array(joints.record))
    shot &= as_mask(pc.fill_null(pc.equal(kind, "pipe"), True))
    back, ahead = vertex[straights.back], vertex[straights.back + 1]
    rise = np.nan_to_num(routes.elevation[ahead] - routes.elevation[back])
    east, north = (one[ahead] - one[back] for one in (routes.easting, routes.northing))
    length = np.sqrt(east**2 + north**2 + rise**2)
    laid = log.number("laid_length")[joints.record[pipe_back(job, straights)]] * scale
    miss, sigma = length - laid, routes.errors[0]
    assert sigma is not None
    # A length that misses by a good part of a pipe is of another pipe, or of several.
    usable = shot[straights.back] & shot[straights.back + 1] & (np.abs(miss) < 0.25 * laid) & (ahead > back)
    found, symbol = [], units.SYMBOLS[routes.unit]
    of = joints.route[straights.back]
    other = (OPEN_M * units.factor("m", routes.unit)) ** 2
    for rows in together(np.flatnonzero(usable), of):
        if len(rows) < FEWEST:
            continue
        left = np.abs(miss[rows] - np.median(miss[rows]))
        stated = float(np.median(sigma[back[rows]]))
        hit = left > FAR * np.sqrt(sigma[back[rows]] ** 2 + sigma[ahead[rows]] ** 2 + other)
        # Successive lengths have a shot in common, and every other one has not.
        for part in (hit[::2], hit[1::2]):
            share = np.array([part.mean()])
            if share[0] > RATE and len(part) * divergence(share, RATE)[0] > -np.log(LEVEL):
                seen = np.sqrt(max((1.4826 * float(np.median(left))) ** 2 - other, 0.0) / 2.0)
                name = routes.names[of[rows[0]]]
                found.append(
                    f"route {name}: the straights between its shots miss the lengths of {len(rows)} "
                    f"pipes as shots with a standard error of {seen:.2g} {symbol} along the pipe do, and "
                    f"centerline.sigma_horizontal states {stated:.2g} {symbol}: either the shots were taken beside the "
                    "joints, or they are not known so well, and verdicts are surer than they may be"
                )
                break
    return found
