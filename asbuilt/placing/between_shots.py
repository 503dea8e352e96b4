"""Records placed on the line, which runs straight between its shots, or on a curve through them where the job says so.

Fittings keep their corners: where the log has a bend, and where the line turns more than joints can.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pyarrow.compute as pc

from asbuilt.arrays import Bools, as_mask
from asbuilt.line import arcs
from asbuilt.line.stationed import StationedLine, stationed_line
from asbuilt.placing.place import Placed, place_records

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.line.ties import Ties
    from asbuilt.placing.joints import Joints

NEAR = 0.5
"""A bend within this part of a laying length from a shot is at the shot."""
OF_ONE_FITTING = 0.25
"""A shot within this part of a laying length from that of a bend may be of the fitting's other end."""


def placed(job: Job, line: StationedLine, log: Log, ties: Ties | None) -> tuple[StationedLine, Placed]:
    """Place records on the line, and say where it has corners.

    Parameters
    ----------
    job : Job
    line : StationedLine
        Straight between its shots.
    log : Log
    ties : Ties, or None where the job has none

    Returns
    -------
    line : StationedLine
        With its corners, and with arcs between shots where the job asks for a curve.
    placed : Placed
    """
    found = place_records(job, line, log)
    if line.routes.pieces is not None:
        return line, found
    line = replace(line, routes=replace(line.routes, corner=_at_bends(job, line, log, found.joints)))
    if job.centerline.between == "chord":
        return line, found
    # Where the bends are is known by now; the line with arcs is a little longer, and everything is placed anew.
    curved = arcs.with_arcs(replace(line.routes, calibration=None), job.records.laying_length * line.scale)
    line = stationed_line(job, curved, ties)
    return line, place_records(job, line, log)


def _at_bends(job: Job, line: StationedLine, log: Log, joints: Joints) -> Bools:
    """Mark the vertex at each bend of the log; of a bend between shots, the vertices on either side.

    Where a bend was shot at both of its ends, the line turns at both, and both are marked.
    """
    kind, angle = joints.of_log(log.text("kind")), log.number("bend_angle")[joints.record]
    bends = np.flatnonzero(as_mask(pc.equal(kind, "bend")) | (as_mask(kind.is_null()) & (np.abs(angle) > 0)))
    vertex = joints.located.vertex[bends]
    laying_length, distance = job.records.laying_length * line.scale, line.routes.distance
    near = NEAR * laying_length
    behind, before = (joints.distance[bends] - distance[vertex], distance[vertex + 1] - joints.distance[bends])
    marked = np.zeros(len(distance), dtype=np.bool_)
    marked[vertex[(behind <= near) | (before > near)]] = True
    marked[vertex[(before <= near) | (behind > near)] + 1] = True
    beside = np.flatnonzero(np.abs(np.diff(distance)) <= OF_ONE_FITTING * laying_length)
    beside = beside[line.routes.vertex_route[beside] == line.routes.vertex_route[beside + 1]]
    either = marked[beside] | marked[beside + 1]
    marked[beside[either]] = marked[beside[either] + 1] = True
    return marked
