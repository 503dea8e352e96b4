"""Lines that end before their log does: shots are missing at either end, and bends of the log may tell at which."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt import units
from asbuilt.arrays import Floats, Ints, as_mask
from asbuilt.inputs.log import station_form
from asbuilt.line import stationing
from asbuilt.placing.hints import by_route
from asbuilt.survey.bends_tried import Lines
from asbuilt.survey.doubts import Doubt

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.line.stationed import StationedLine
    from asbuilt.placing.bends_of_log import Telling

_APART = 2.5
"""Laying lengths between successive joints, one of which may be missing from the log."""
_FEWEST_BEYOND = 2


def short_lines(
    job: Job, line: StationedLine, log: Log, route: Ints, reason: pa.Array, bends: Telling, told: Collection[int] = ()
) -> tuple[list[str], list[Doubt]]:
    """Notice routes whose log runs on beyond the end of the line, pipe for pipe: shots are missing at either end.

    Parameters
    ----------
    job : Job
    line : StationedLine
    log : Log
    route : array of int, shape (records,)
    reason : pyarrow string array, shape (records,)
        Why each record is set aside; null where it is not.
    bends : Telling
        Of the log.
    told : collection of int
        Routes whose log is told to be of another line.

    Returns
    -------
    list of str
        What is said of each, with what to do.
    list of Doubt
        One of each, which makes its line shorter than it is: nobody knows where its joints lie.
    """
    off, found = as_mask(pc.equal(reason, "station-off-route")), line.regions
    notes: list[str] = []
    doubts: list[Doubt] = []
    if not off.any():
        return notes, doubts
    form, length = station_form(job, log), job.records.laying_length
    spans = line.spans(form)
    lines = np.array([found.station_from[found.first[:-1]], found.station_to[found.first[1:] - 1]])
    logs = np.full(lines.shape, np.nan)
    for number, rows in by_route(route, np.isfinite(log.stations.value)):
        logs[:, number] = log.stations.value[rows].min(), log.stations.value[rows].max()
    for number, rows in by_route(route, off & np.isfinite(log.stations.value)):
        if number in told:
            continue
        start, end = lines[:, number].tolist()
        value = np.unique(log.stations.value[rows])
        beyond, before = value[value > end] - end, start - value[value < start][::-1]
        for far, where, other, moved in (
            (beyond, "beyond the end", "start", "ahead"), (before, "before the start", "end", "back"),
        ):  # fmt: skip
            # One station alone is mistyped; those that follow one another from the line's end on are of pipes laid.
            many = int(np.argmax(np.append(np.diff(far, prepend=0.0) > _APART * length, True)))
            if many < _FEWEST_BEYOND:
                continue
            by = f"{far[many - 1]:.2f} {line.symbol}"
            short, whole = float(far[many - 1]) * line.scale, float(line.routes.length[number])
            by_bends = _by_bends(line, log, bends.of(number), short if moved == "back" else -short, by, length, form)
            all_moved = f"all joints of the route stand {by} too far {moved}"
            if by_bends:
                why = f"{by_bends}: shots are missing at its {other}, and {all_moved}. "
            else:
                why = (
                    "Where the stations are right, shots are missing there, or at the other end, and then "
                    f"{all_moved}. "
                )
            notes.append(
                f"route {line.names.names[number]}: its line runs {spans[number]}, and the log runs on for {by} "
                f"{where}: the {many} joints there are set aside. {why}Have the surveyor say at which joints the "
                "line begins and ends; get the shots that are missing, or correct the start station "
                f"(centerline.start_station){_exchanged(line.names.names, lines, logs, number, length)}"
            )
            message = (
                f"the log runs on for {by} {where} of the line: shots are missing at one end of it, and all joints of "
                f"the route may stand that much too far {moved}"
            )
            if by_bends:
                message = f"the log runs on for {by} {where} of the line. {why.removesuffix('. ')}"
            doubts.append(Doubt(
                "coverage-short", message, -1, -1, number, 0.0, whole, short, length * line.scale,
                units.SYMBOLS[line.routes.unit], "the log is longer than its line", -short, misplaced=bool(by_bends),
            ))  # fmt: skip
    return notes, doubts


def _by_bends(
    line: StationedLine, log: Log, bends: Telling, moved: float, by: str, length: float, form: stationing.Form
) -> str:
    """Say of a log whose bends lie at corners once all are moved along the line, and not before, where they lie."""
    many = len(bends.at)
    if not many:
        return ""
    one = Lines.of_one(line.routes, int(bends.route[0]), length * line.scale)
    there = one.moved(bends.at, bends.angle, moved)
    if not there.any():
        return ""
    value = log.stations.value[bends.row[there][:1]]
    first = stationing.format_stations(value, form)[0].as_py()
    lone = f"The bend of {np.degrees(bends.angle[there][0]):.4g} deg logged at {first} lies"
    head = lone if many == 1 else f"Of {many} bends of the log {there.sum()} lie, the first logged at {first},"
    ahead = "ahead of" if moved < 0 else "behind"
    corner = "the corner of the line that turns so" if many == 1 else "corners of the line that turn so"
    return f"{head} about {by} {ahead} {corner}, by as much as the line is too short"


def _exchanged(names: Sequence[str], lines: Floats, logs: Floats, number: int, length: float) -> str:
    """Ask whether two routes are exchanged: the log of each is as long as the line of the other, and not as its own.

    Lines and logs are given by their first and last stations, shape (2, routes).
    """
    mine = slice(number, number + 1)
    own, theirs, ours = (
        np.abs(one - other).max(axis=0) <= length
        for one, other in ((logs, lines), (logs, lines[:, mine]), (logs[:, mine], lines))
    )
    others = np.flatnonzero(~own & theirs & ours)
    if not len(others):
        return ""
    return (
        f". The log of {names[number]} is as long as the line of {names[others[0]]}, and that of {names[others[0]]} as "
        f"the line of {names[number]}: see whether the two are exchanged"
    )
