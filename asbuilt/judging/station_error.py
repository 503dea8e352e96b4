"""How far stations put joints off along the line: as the job states it, or as shots of joints show it.

A joint between shots lies where its station puts it, and no better. Where the job does not say how well stations are
known, joints that were shot tell: by its station a joint lies so far before its shot, or behind it. That holds whatever
stations suffer from, a reading, a rounding, or a wheel that counts too much. Where no joint was shot, nothing tells.
"""

from __future__ import annotations

from math import lgamma, log
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from asbuilt import units
from asbuilt.arrays import Floats, Ints
from asbuilt.judging.bounds import one_sided
from asbuilt.judging.places import LEAST_TURNS, for_few
from asbuilt.line import arcs
from asbuilt.line.routes import between
from asbuilt.notes import Note, noted

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.line.routes import Routes
    from asbuilt.line.stationed import StationedLine
    from asbuilt.placing.joints import Joints
    from asbuilt.placing.records import Records

STATED, SHOWN, BY_LENGTHS, EXACT = 0, 1, 2, 3
"""What is known of the error of stations: the job's own, or what shots of joints show; what laid lengths show of each
by itself; or nothing is, and they are taken as exact."""
AT_JOINTS, BY_CHANCE = 0.75, 1e-3
"""So many of the shots lie nearer to joints than those taken anywhere do, but by such a chance: they are of joints."""
FAR, OF_FOUR = 4.0, 3
"""Joints farther off their shots than three of four of their route are, by so many times, count as off by so much: a
wrong entry says nothing of the others."""


FEWEST = 10
"""Of fewer lengths nothing is said."""
COUNTED_M = 0.005
"""Stations that miss the lengths laid by less were added up from these, and show nothing; no source."""


class StationError(NamedTuple):
    """What is known of the error of stations."""

    sigma: Floats
    """Standard error of a joint's place along the line by its station, coordinate units: shape (routes,)."""
    known: int
    """`STATED`, `SHOWN`, `BY_LENGTHS` or `EXACT`."""
    many: int = 0
    """How many joints that were shot, or lengths, show it; 0 where it is stated."""

    @property
    def words(self) -> str:
        """What the accuracy of a place says of it."""
        return (
            "the station's error",
            "the station's error as joints that were shot show it",
            "the station's error as the laid lengths show it, without what adds up along the main,",
            "the station taken as exact, since nothing tells its error,",
        )[self.known]

    def of_routes(self, start: int, stop: int) -> StationError:
        """Give the same of successive routes, from `start` up to, and without, `stop`."""
        return self._replace(sigma=self.sigma[start:stop])


def station_error(job: Job, line: StationedLine, log: Log, joints: Joints, records: Records) -> StationError:
    """Say how well stations are known, by the job or by joints that were shot.

    Parameters
    ----------
    job : Job
    line : StationedLine
    log : Log
    joints : Joints
    records : Records

    Returns
    -------
    StationError
        Of routes with few joints that tell, that of all routes together.
    """
    many = len(line.routes.names)
    if job.records.sigma_station is not None:
        return StationError(np.full(many, job.records.sigma_station * line.scale), STATED)
    laying_length = job.records.laying_length * line.scale
    seen = [_at_own_place(joints, records, laying_length)]
    if line.routes.shot and line.routes.pieces is None:
        seen.append(_at_shots(line, joints, laying_length))
    route, off = (np.concatenate(one) for one in zip(*seen, strict=True))
    if len(off) < LEAST_TURNS:
        return _by_lengths(job, line, log, joints)
    noise = line.routes.errors[0]
    of_shots = 2.0 * float(np.mean(noise**2)) if noise is not None else 0.0
    count = np.bincount(route, minlength=many)
    square = _held_to_the_usual(route, off, count) ** 2
    mean = np.divide(np.bincount(route, square, many), count, out=np.zeros(many), where=count > 0)
    each = mean * for_few(count.astype(np.float64))
    whole = float(np.mean(square)) * float(for_few(np.array([len(off)]))[0])
    variance = np.where(count >= LEAST_TURNS, each, whole)
    return StationError(np.sqrt(np.maximum(variance - of_shots, 0.0)), SHOWN, len(off))


def notes(found: StationError, routes: Routes, joints: Joints) -> list[Note]:
    """Say what the accuracies of joints placed by their stations take for the error of these, where the job does not.

    Parameters
    ----------
    found : StationError
    routes : Routes
    joints : Joints
    """
    many = int(np.count_nonzero(~joints.surveyed))
    if found.known == STATED or not routes.shot or routes.sigma_horizontal is None or not many:
        return []
    lies, symbol = "1 joint lies" if many == 1 else f"{many:,} joints lie", units.SYMBOLS[routes.unit]
    if found.known in (BY_LENGTHS, EXACT):
        taken = (
            f"stations as off by {found.sigma[0]:.2g} {symbol} each, as they differ from the laid lengths, and by "
            "nothing that adds up along the main, as of a wheel that counts too much"
            if found.known == BY_LENGTHS
            else "stations as exact"
        )
        text = (
            f"{lies} where stations put them, and neither does the job say how well stations are known "
            f"(records.sigma_station) nor do shots of joints tell it: their accuracies take {taken}; by what the "
            "crew's measuring was off besides, joints lie farther off than is stated"
        )
        return noted("stations-exact", [text])
    low, high = (float(one(found.sigma)) for one in (np.min, np.max))
    span = f"{high:.2g}" if high - low < 0.1 * high else f"{low:.2g} to {high:.2g}"
    text = (
        f"{lies} where stations put them, and the job does not say how well these are known: by {found.many:,} joints "
        f"that were shot their accuracies take the standard error of a station as {span} {symbol}; say "
        "records.sigma_station where the crew knows it"
    )
    return noted("stations-shown", [text])


def _at_own_place(joints: Joints, records: Records, laying_length: float) -> tuple[Ints, Floats]:
    """Give the routes of joints that were surveyed themselves, and how far along the line stations put them off."""
    rows = np.flatnonzero(joints.surveyed)
    apart, away = (one[joints.position[rows]] for one in (records.apart, records.away))
    off = np.sqrt(np.maximum(apart**2 - away**2, 0.0))
    # One that is off by more has a wrong station, or wrong coordinates, and is told.
    usual = off < laying_length / 2.0
    return joints.route[rows[usual]], off[usual]


def _at_shots(line: StationedLine, joints: Joints, laying_length: float) -> tuple[Ints, Floats]:
    """Give the routes of shots that are of joints, and how far off stations put these; none where shots lie anywhere.

    The ends of a line are left out: stations begin at the first shot, and joints beyond the last one are held to it.
    """
    routes, rows = line.routes, np.flatnonzero(~joints.surveyed)
    none = np.empty(0, dtype=np.int64), np.empty(0)
    if len(rows) < 2:
        return none
    inner = np.flatnonzero(np.diff(routes.vertex_route, prepend=-1, append=-1)[:-1] == 0)
    inner = inner[routes.vertex_route[np.minimum(inner + 1, len(routes.distance) - 1)] == routes.vertex_route[inner]]
    place = routes.lay_out(joints.route[rows], joints.distance[rows])
    # Stations count what the curve is longer than its straights; between ties these take it up.
    longer = arcs.excess(routes, laying_length)[inner] if routes.calibration is None else 0.0
    shot, route = routes.laid_out[inner] + longer, routes.vertex_route[inner]
    ahead = np.searchsorted(place, shot).clip(1, len(place) - 1)
    beside = (joints.route[rows[ahead - 1]] == route) & (joints.route[rows[ahead]] == route)
    back, ahead = shot - place[ahead - 1], place[ahead] - shot
    beside &= (back >= 0) & (ahead >= 0) & (back + ahead > 0)
    back, ahead, route = back[beside], ahead[beside], route[beside]
    off = np.minimum(back, ahead)
    return (route, off) if _are_at_joints(2.0 * off / (back + ahead)) else none


def _by_lengths(job: Job, line: StationedLine, log: Log, joints: Joints) -> StationError:
    """Give what stations are off each by itself, as their differences scatter about the laid lengths.

    By as much as all differ from their laid lengths alike, joints are open.
    """
    scale, many = line.scale, len(line.routes.names)
    # Pipes are as long as the line in space.
    along = line.routes.slope_distance if np.isfinite(line.routes.slope_distance).all() else line.routes.distance
    back = joints.next_on_route
    back = back[~(joints.surveyed[back] | joints.surveyed[back + 1])]
    laid = log.number("laid_length")[joints.record[back + (job.records.pipe == "back")]] * scale
    differs = (np.diff(between(along, joints.located))[back] - laid)[np.isfinite(laid)]
    # A length that misses by a good part of a pipe is of another pipe, or of several.
    differs = differs[np.abs(differs) < job.records.laying_length * scale / 4.0]
    if len(differs) < FEWEST:
        return StationError(np.zeros(many), EXACT)
    differs = np.abs(differs - np.median(differs))
    # Nine of ten normal errors lie within 1.645 standard errors; of stations that were rounded hardly fewer do.
    sigma = float(np.quantile(differs, 0.9)) / one_sided(0.95) / np.sqrt(2.0)
    counted = sigma < COUNTED_M * units.factor("m", job.records.station_unit) * scale
    return StationError(np.full(many, 0.0 if counted else sigma), EXACT if counted else BY_LENGTHS, len(differs))


def _are_at_joints(part: Floats) -> bool:
    """Say whether shots lie at joints: part by part of the way from a joint to halfway to the next one.

    Shots taken anywhere lie evenly over that way. That three of four lie within a part of it happens to them by a
    chance of at most that part to the power of their number, times the ways to choose them.

    Examples
    --------
    >>> _are_at_joints(np.array([0.01, 0.03, 0.02, 0.05])), _are_at_joints(np.linspace(0.05, 0.95, 40))
    (True, False)
    """
    n = len(part)
    if n < LEAST_TURNS:
        return False
    k = int(np.ceil(AT_JOINTS * n))
    within = float(np.partition(part, k - 1)[k - 1])
    ways = lgamma(n + 1) - lgamma(k + 1) - lgamma(n - k + 1)
    return within <= 0.0 or ways + k * log(within) < log(BY_CHANCE)


def _held_to_the_usual(route: Ints, off: Floats, count: Ints) -> Floats:
    """Hold what is off by far more than three of four of its route to a multiple of that."""
    order = np.lexsort((off, route))
    first = np.searchsorted(route[order], np.arange(len(count)))
    most, some = np.full(len(count), np.inf), np.flatnonzero(count >= LEAST_TURNS)
    most[some] = FAR * off[order[first[some] + OF_FOUR * count[some] // 4]]
    held: Floats = np.minimum(off, most[route])
    return held
