"""Lines that end before their log does: shots are missing at either end, and bends of the log may tell at which."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt import units
from asbuilt.arrays import Floats, Ints, as_mask
from asbuilt.inputs.log import SAME_PLACE, station_form
from asbuilt.line import stationing
from asbuilt.notes import OfRoutes
from asbuilt.placing.bends_of_log import APART
from asbuilt.placing.hints import by_route
from asbuilt.survey.against_log import ENOUGH, SHOT_EACH
from asbuilt.survey.at_shots import AT_ONE, off_joints, tells
from asbuilt.survey.bends_tried import Lines
from asbuilt.survey.doubts import Doubt

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.line.stationed import StationedLine
    from asbuilt.placing.bends_of_log import Telling

_FEWEST_BEYOND = 2
_A_PIPE = (0.5, 1.1)
"""Laying lengths of a pipe that ends beyond the line: its joint alone is told, where the log has none at the other end,
so that all may stand a pipe too far."""
_AT_THEIRS, _FEWEST_OFF = 0.9, 2
"""Part of the shots of a line one pipe shorter than its log that lie where they were taken, by the lengths of pipe; and
how many more must lie off where they were not. Judgement: one pipe that was cut puts two off."""


def short_lines(
    job: Job,
    line: StationedLine,
    log: Log,
    route: Ints,
    reason: pa.Array,
    bends: Telling,
    told: Collection[int] = (),
    jumped: Collection[int] = (),
    known: Collection[int] = (),
) -> tuple[list[OfRoutes], list[Doubt]]:
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
    jumped : collection of int
        Routes on which stations run off the pipes from one joint on: there not all joints stand off alike.
    known : collection of int
        Routes on which joints were surveyed themselves, which shows where they are.

    Returns
    -------
    list of OfRoutes
        What is said of each, with what to do.
    list of Doubt
        One of each, which makes its line shorter than it is: nobody knows where its joints lie.
    """
    off, found = as_mask(pc.equal(reason, "station-off-route")), line.regions
    notes: list[OfRoutes] = []
    doubts: list[Doubt] = []
    if not off.any():
        return notes, doubts
    form, length = station_form(job, log), job.records.laying_length
    spans = line.spans(form)
    lines = np.array([found.station_from[found.first[:-1]], found.station_to[found.first[1:] - 1]])
    logs = np.full(lines.shape, np.nan)
    of_route = dict(by_route(route, np.isfinite(log.stations.value)))
    for number, rows in of_route.items():
        logs[:, number] = log.stations.value[rows].min(), log.stations.value[rows].max()
    for number, rows in by_route(route, off & np.isfinite(log.stations.value)):
        if number in told:
            continue
        start, end = lines[:, number].tolist()
        value = np.unique(log.stations.value[rows])
        beyond, before = value[value > end] - end, start - value[value < start][::-1]
        mine = of_route[number]
        every, on = log.stations.value[mine], log.stations.value[mine[~off[mine]]]
        left = (end - on.max(), on.min() - start) if len(on) else (0.0, 0.0)
        # Of a line that was shot at the middle of each pipe, a joint at either end lies half a pipe beyond it.
        each_end = len(beyond) == len(before) == 1 and max(beyond[0], before[0]) < _A_PIPE[1] * length
        if each_end and job.centerline.shots_at_joints is False:
            continue
        for far, where, other, moved, ends in (
            (beyond, "beyond the end", "start", "ahead", left), (before, "before the start", "end", "back", left[::-1]),
        ):  # fmt: skip
            # One station alone is mistyped; those that follow one another from the line's end on are of pipes laid.
            many = int(np.argmax(np.append(np.diff(far, prepend=0.0) > APART * length, True)))
            if not many:
                continue
            a_pipe = bool(far[many - 1] <= _A_PIPE[1] * length)
            last = far[0] >= _A_PIPE[0] * length and far[0] + ends[0] <= _A_PIPE[1] * length
            if many < _FEWEST_BEYOND and not (last and ends[1] >= SAME_PLACE * length):
                if last and number not in known:
                    one = _one_pipe_more(job, line, number, every, bends.of(number), where, moved)
                    notes += [OfRoutes.one(line.names.names[number], text) for text in one[0]]
                    doubts += one[1]
                continue
            by = f"{far[many - 1]:.2f} {line.symbol}"
            short, whole = float(far[many - 1]) * line.scale, float(line.routes.length[number])
            shift = short if moved == "back" else -short
            in_place, by_shots = False, ""
            if number not in jumped:
                in_place, by_shots = _by_shots(line, number, (every - start) * line.scale, shift, by, length)
            by_bends = _by_bends(line, log, bends.of(number), shift, by, length, form)
            told_by, code = by_bends or by_shots, "coverage-short"
            if told_by and many < _FEWEST_BEYOND:
                # The line may have all its shots, and the log another start.
                code = "bend-off-corner" if by_bends else "joints-off-shots"
            # Where each row has the station of the next one, the shots are at joints, too.
            in_place &= not a_pipe
            all_moved = f"all joints of the route stand {by} too far {moved}"
            if told_by and not by_bends and each_end:
                all_moved += (
                    ", unless the shots were taken beside the joints, as at the middle of each pipe: then say "
                    "centerline.shots_at_joints = false"
                )
            if told_by:
                missing = f"shots are missing at its {other}, and " if code == "coverage-short" else ""
                why = f"{told_by}: {missing}{all_moved}. "
            elif in_place:
                why = (
                    f"The other shots are at joints as the stations have them: shots are missing {where} of the line. "
                )
            else:
                why = (
                    "Where the stations are right, shots are missing there, or at the other end, and then "
                    f"{all_moved}. "
                )
            set_aside = "the joint there is" if many == 1 else f"the {many} joints there are"
            name = line.names.names[number]
            text = (
                f"route {name}: its line runs {spans[number]}, and the log runs on for {by} "
                f"{where}: {set_aside} set aside. {why}Have the surveyor say at which joints the line begins and ends; "
                "get the shots that are missing, or correct the start station "
                f"(centerline.start_station){_exchanged(line.names.names, lines, logs, number, length)}"
            )
            notes.append(OfRoutes.one(name, text))
            message = (
                f"the log runs on for {by} {where} of the line: shots are missing at one end of it, and all joints of "
                f"the route may stand that much too far {moved}"
                f"{', as where each row has the station of the other end of its pipe' if a_pipe else ''}"
            )
            if in_place:
                message = f"the log runs on for {by} {where} of the line: shots are missing there"
            if told_by:
                message = f"the log runs on for {by} {where} of the line. {why.removesuffix('. ')}"
                if code != "coverage-short":
                    message += ": look at the start station, centerline.start_station, and at the stations of the log"
            doubts.append(Doubt(
                code, message, -1, -1, number, 0.0, whole, short, length * line.scale,
                units.SYMBOLS[line.routes.unit], "the log is longer than its line", -short, misplaced=bool(told_by),
                off_shots=0.0 if told_by or in_place else short,
            ))  # fmt: skip
            if each_end:
                # They cannot all stand too far ahead and too far back.
                break
    return notes, doubts


def _one_pipe_more(
    job: Job, line: StationedLine, number: int, every: Floats, bends: Telling, where: str, moved: str
) -> tuple[list[str], list[Doubt]]:
    """Ask about a log of one pipe more than its line, which was shot at about every pipe: which joint has no shot?

    With the joint at one end of the line shot, that at the other was not; or it is the other way round; or each pipe
    was shot at its middle, and no joint at all. Pipes of uneven lengths tell which.

    Parameters
    ----------
    every : array, shape (records,)
        Stations of the log.
    moved : {"ahead", "back"}
        Which way joints stand too far, unless the shots are at the joints where stations have them.
    """
    routes, length = line.routes, job.records.laying_length * line.scale
    shot = routes.distance[routes.first[number] : routes.first[number + 1]]
    each = len(shot) >= ENOUGH and float(np.median(np.diff(shot))) <= SHOT_EACH * length
    at = np.unique(every) * line.scale
    if not (routes.shot and routes.pieces is None and each and len(at) >= ENOUGH) or _tied(line, number):
        return [], []
    one = Lines.of_one(routes, number, length)
    if one.at_theirs(np.zeros(len(bends.at), dtype=np.int64), bends.at, bends.angle).any():
        return [], []
    shot, at = (shot, at) if moved == "ahead" else (shot[-1] - shot[::-1], at[-1] - at[::-1])
    missed = [
        int(np.count_nonzero(np.abs(_off_nearest(places - places[0], shot)) > AT_ONE * length))
        for places in (at, (at[1:] + at[:-1]) / 2.0, at[1:])
    ]
    best = int(np.argmin(missed))
    if missed[best] > (1.0 - _AT_THEIRS) * len(shot):
        return [], []
    told = all(other >= missed[best] + _FEWEST_OFF for which, other in enumerate(missed) if which != best)
    said = job.centerline.shots_at_joints and job.centerline.start_station is not None
    if (told and best == 0) or (said and not told):
        return [], []
    symbol, name = line.symbol, line.names.names[number]
    far, near = ("last", "first") if moved == "ahead" else ("first", "last")
    pipe = float(at[1] - at[0]) / line.scale
    half = f"{pipe / 2.0:.2f} {symbol}"
    count = f"{len(shot)} shots and {len(at)} joints"
    if told:
        what = "at the middle of each pipe" if best == 1 else f"at each joint but the {near}"
        by = half if best == 1 else f"{pipe:.2f} {symbol}"
        why = f"by the lengths between them the shots were taken {what}, and all joints stand {by} too far {moved}"
    else:
        why = (
            f"either the {far} joint was not shot, and all stand right; or the {near} was not, and all stand "
            f"{pipe:.2f} {symbol} too far {moved}; or each pipe was shot at its middle, and all stand {half} too far "
            f"{moved}"
        )
    text = (
        f"route {name}: of {count}, the log runs on for one pipe {where} of the line, and the joint there is set "
        f"aside: {why}. Have the surveyor say at which joint the line begins, or tie a joint in (centerline.ties), and "
        "correct the start station (centerline.start_station); where it is right, and the shots are at the joints, "
        "say so: centerline.start_station and centerline.shots_at_joints = true"
    )
    message = f"of {count}, the log runs on for one pipe {where} of the line: {why}"
    doubt = Doubt(
        "joints-off-shots", message, -1, -1, number, 0.0, float(routes.length[number]), pipe * line.scale,
        AT_ONE * length, units.SYMBOLS[routes.unit], "the log is one pipe longer than its line", misplaced=told,
        off_shots=0.0 if told else pipe * line.scale,
    )  # fmt: skip
    return [text], [doubt]


def _tied(line: StationedLine, number: int) -> bool:
    ties = line.routes.calibration
    return ties is not None and int(ties.first[number + 1]) > int(ties.first[number])


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
    return f"{head} about {by} {ahead} {corner}, by as much as the log runs on"


def _by_shots(
    line: StationedLine, number: int, at: Floats, moved: float, by: str, length: float
) -> tuple[bool, str]:  # fmt: skip
    """Say whether the shots are at joints as these stand; and, where they are with all moved alone, what to say of it.

    Joints are given by their places from the start of the route, coordinate units.
    """
    routes = line.routes
    if not routes.shot or routes.pieces is not None or number in [one for one, *_ in line.equations]:
        return False, ""
    here, there = off_joints(routes, number, at, moved, length * line.scale)
    if not tells(there, here):
        return tells(here, there), ""
    moved_so, as_logged = (np.count_nonzero(one <= AT_ONE) for one in (there, here))
    return False, (
        f"With all joints {by} farther {'back' if moved < 0 else 'ahead'}, {moved_so} of {there.size} shots are at "
        f"joints, and {as_logged} where the stations have them"
    )


def _off_nearest(places: Floats, shot: Floats) -> Floats:
    """Give how far from each shot the nearest of some places lies; both ascend."""
    ahead = np.searchsorted(places, shot).clip(1, len(places) - 1)
    found: Floats = np.minimum(np.abs(shot - places[ahead - 1]), np.abs(places[ahead] - shot))
    return found


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
