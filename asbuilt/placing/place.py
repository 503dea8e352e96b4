"""A log onto its line: each record gets its place along the centerline, or is set aside with a reason."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pyarrow.compute as pc

from asbuilt.arrays import Floats, Ints, as_mask, hypotenuse
from asbuilt.errors import InputFileError, JobFileError
from asbuilt.held import give_back, held, in_blocks
from asbuilt.inputs.log import SAME_PLACE, station_form
from asbuilt.inputs.shifted_cells import shifted_notes
from asbuilt.line import arcs
from asbuilt.line.routes import between
from asbuilt.notes import Note, Said, noted
from asbuilt.placing import hints, mistyped
from asbuilt.placing.begun_anew import begun_anew
from asbuilt.placing.bends_of_log import telling_bends
from asbuilt.placing.beside_shots import beside_shots
from asbuilt.placing.doubled import doubled_notes
from asbuilt.placing.exchanged import exchanged
from asbuilt.placing.inches import inches_behind_the_point
from asbuilt.placing.joints import Joints, gather
from asbuilt.placing.jumps import station_jumps
from asbuilt.placing.out_of_the_way import contradicted, out_of_the_way, told
from asbuilt.placing.places import by_station
from asbuilt.placing.positions import coarse, position_tolerance, surveyed_positions
from asbuilt.placing.reasons import messages, nothing_placed, reasons
from asbuilt.placing.records import Records
from asbuilt.placing.settle import settle, settle_by_survey
from asbuilt.placing.shifted import shifted
from asbuilt.placing.short_lines import short_lines
from asbuilt.placing.skipped import skipped
from asbuilt.placing.surveyed import by_survey, not_used, own_shots
from asbuilt.placing.trouble_aside import with_trouble

if TYPE_CHECKING:
    import pyarrow as pa

    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.line.stationed import StationedLine
    from asbuilt.survey.doubts import Doubt


_AT_95 = 2.4477
"""Standard errors of a place in plan that hold 95 percent of places; textbook (FGDC-STD-007.3: 1.7308 times RMSE)."""


class Placed(NamedTuple):
    """Records and joints of a job, placed on its routes."""

    records: Records
    joints: Joints
    notes: tuple[Note, ...]
    ignored: tuple[Doubt, ...]
    """Station equations of the job that the log does not go by, routes that are exchanged, and lines that are shorter
    than their log."""
    jumped: frozenset[int] = frozenset()
    """Routes along which the stations jump, as at an equation."""


def place_records(job: Job, line: StationedLine, log: Log) -> Placed:
    """Place every record of a log on its route, and gather records into joints.

    Parameters
    ----------
    job : Job
    line : StationedLine
    log : Log

    Returns
    -------
    Placed
        Every record is either placed or set aside with a reason.

    Raises
    ------
    JobFileError, InputFileError
        When the log does not name its routes, or no record could be placed.
    """
    form, same_place = station_form(job, log), SAME_PLACE * job.records.laying_length * line.scale
    many = len(log)
    route = held(record_routes(log, line), many)
    surveyed = held(surveyed_positions(job, line.routes, log, route, position_tolerance(job) * line.scale), many)
    resolved = in_blocks(lambda some: line.resolve(route[some], log.stations.of(some)), many)
    settled = held(settle(line, route, log, resolved), many)
    surveyed = own_shots(job, line, route, settled.along, surveyed)
    wrong, written = mistyped.mistyped(job, line, log, route, settled.along, surveyed), surveyed
    surveyed = surveyed.without(wrong)
    astray = contradicted(job, line, log, route, settled.along, surveyed)
    surveyed = surveyed.without(astray[0])
    settled = settle_by_survey(line, log, route, resolved, surveyed, settled)
    settled, surveyed = held((settled, surveyed), many)
    reason, doubt = held(reasons(log, route, settled.along, resolved, surveyed.known), many)
    counted = job.records.station_from == "laid_length"
    said = messages(line, log, route, resolved, reason, form, counted=counted, bows=_bows(job, line, reason))
    message, of_trouble = with_trouble(job, log, reason, told(line, said, astray))
    message = held(message, many)
    del said, astray
    hints.refuse_points_for_plus(job, line, log, route)
    doubtful: list[Said] = [*hints.unit_notes(job, line, log, route), *hints.rounded_notes(job, line, log, route)]
    doubtful += hints.digitising_notes(line, log, route, pc.coalesce(reason, doubt))
    notes = noted("start-station", hints.start_notes(job, line, log, route)) + noted("positions-read", surveyed.notes)
    notes += noted("lengths-differ", hints.length_notes(job, log, route)) + noted("failures-aside", of_trouble)
    notes += noted("rows-doubled", doubled_notes(log, route, line.names.names, form))
    notes += noted("cells-shifted", shifted_notes(log))
    bends = telling_bends(line, log, route, settled.along, job.records.laying_length * line.scale)
    jumps = station_jumps(job, line, log, route, settled.along, surveyed, bends)
    inches = inches_behind_the_point(job, line, log, route, settled.along)
    # Where stations jump, what lies ahead is off by that.
    bends = bends.without(jumps.of)
    left_out = skipped(job, line, log, route, settled.along, bends)
    said_exchanged, others = exchanged(job, line, log, route, surveyed, bends)
    notes += noted("line-of-another", said_exchanged)
    of_others = {one.route for one in others}
    known = np.unique(route[surveyed.known])
    said_short, short = short_lines(job, line, log, route, reason, bends, of_others, jumps.of, known)
    notes += noted("line-short", said_short)
    doubtful += begun_anew(job, line, log, route, settled.along, as_mask(reason.is_null()) & ~surveyed.known)
    notes += noted("stations-doubtful", doubtful)
    notes += noted("temperatures-doubtful", hints.temperature_notes(job, log))
    notes += noted("equation-unstated", jumps.unstated)
    placed = held(np.flatnonzero(as_mask(reason.is_null())), many)
    if not len(placed):
        raise InputFileError("; ".join([nothing_placed(log, reason, message), *(note.text for note in notes)]))
    places = by_station(line, route, settled.along, settled.region, log.stations.value)
    by = None
    if surveyed.known.any():
        notes += noted("positions-doubtful", coarse(job, line.routes, log)[1])
        stationed, places = places, by_survey(job, line, log, route, surveyed, places)
        by, said = shifted(job, line, log, route, surveyed, stationed, places)
        notes += noted("positions-doubtful", said)
    surveyed, aside, more = beside_shots(job, line, log, surveyed, places)
    notes += noted("positions-doubtful", more)
    if by is not None:
        surveyed = surveyed._replace(carried=np.hypot(surveyed.carried, by))
    places = not_used(line, log, route, written, wrong, places)
    by_slips = mistyped.doubted(job, line, log, route, settled.along, surveyed, wrong, places)
    notes += noted("positions-doubtful", by_slips)
    notes += noted("positions-doubtful", out_of_the_way(job, line, log, route, surveyed, places))
    settled_by = settled.by
    # Joints are gathered where a job takes the most room; how their places were found is not needed for it.
    del resolved, settled, written
    give_back(many)
    places, surveyed, aside = held((places, surveyed, aside), many)
    joints, joint = gather(line, log, placed, places, route, surveyed, same_place, form)
    records = held(Records(
        route, places.distance, places.region, reason, message, settled_by, joint,
        places.apart, places.away, places.above, aside, doubt,
    ), many)  # fmt: skip
    doubts = (*jumps.ignored, *inches, *others, *short, *left_out)
    return Placed(records, joints, tuple(notes), doubts, frozenset(jumps.of))


def _bows(job: Job, line: StationedLine, reason: pa.Array) -> Floats | None:
    """Give what the curve through the shots of each route has more than its line, where a station lies beyond one."""
    if job.centerline.between == "curve" or not pc.any(pc.equal(reason, "station-off-route")).as_py():
        return None
    routes = line.routes
    excess: Floats = arcs.excess(routes, job.records.laying_length * line.scale)
    return excess[routes.first[1:] - 1] / line.scale


def record_routes(log: Log, line: StationedLine) -> Ints:
    """Give the route of each record; -1 where it is unknown."""
    names = line.names
    if "route" not in log.fields:
        if len(names.names) > 1:
            raise JobFileError(
                f"records.columns.route: the centerline has several routes ({names.listed}), but no column of the log "
                "is known as the route; map it, or state it for the whole log with records.fixed.route"
            )
        return np.zeros(len(log), dtype=np.int64)
    route, given = names.numbers(log.fields["route"]), log.fields["route"]
    return np.where(as_mask(given.is_null()), 0, route) if len(names.names) == 1 else route


def sigma_horizontal(line: StationedLine, joints: Joints, along: Floats) -> Floats:
    """Give the standard error of each joint's position in plan, in the direction in which it is largest.

    Parameters
    ----------
    line : StationedLine
    joints : Joints
    along : array, shape (joints,)
        Standard error of the station along the line, coordinate units.

    Returns
    -------
    array, shape (joints,)
        Coordinate units; NaN where the job does not say how well the shots are known. The errors of the shots on
        either side, through their weights, and that of the station along the line; that of a shot where the joint
        itself was surveyed, with that of a change of datum by which its coordinates came.

    Source
    ------
    Propagation of independent errors; textbook.
    """
    routes = line.routes
    sigma = routes.errors[0]
    if routes.sigma_horizontal is None or sigma is None:
        return np.full(len(joints), np.nan)
    variance, (vertex, weight) = sigma**2, joints.located
    shots = variance[vertex] * (1.0 - weight) ** 2 + variance[vertex + 1] * weight**2
    own = hypotenuse(hypotenuse(between(sigma, joints.located), joints.rounded), joints.carried / _AT_95)
    return np.where(joints.surveyed, own, np.sqrt(shots + along**2))
