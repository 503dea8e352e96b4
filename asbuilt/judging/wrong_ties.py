"""Ties that are wrong: a tie moves the joints around it, and what else tells where these lie goes against it.

A tie is left out, and the joints are placed by the others. Where they then lie at their shots, and with it did not, the
tie is doubted; likewise where the line is longer than the stations count before it, and as much shorter behind it, and
the pipes laid go with the stations in both.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from asbuilt import units
from asbuilt.arrays import Floats, Ints
from asbuilt.judging.at_joints import are_at_joints, nearest_joints
from asbuilt.judging.places import LEAST_TURNS
from asbuilt.line import ties
from asbuilt.line.routes import between
from asbuilt.survey.doubts import Doubt

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.line.stationed import StationedLine
    from asbuilt.line.stationing import Form
    from asbuilt.line.ties import Calibration
    from asbuilt.placing.joints import Joints

LEAST_M, CLEAR, BETTER = 0.3, 5.0, 3.0
"""A tie that is off by less may have a station in whole feet; by how many times how far joints lie off their shots it
must be off; and so many times farther off they must lie with it than without it. Judgement."""
PART = 0.001
"""Where lengths alone tell it, the least as a part of the length between two ties: taped ones differ by less."""
AGREE, AS_MUCH, QUIET = 0.25, 0.6, 1.0 / 3.0
"""Parts of what a tie is off: by which the pipes laid and the stations may differ, by how much at least the line and
the stations differ on either side of it, and by how much at most between other ties. Judgement."""
LEAST_BY_TIES_M, ENOUGH, STILL = 0.6, 2, 0.125
"""Where nothing but ties tells it: the least, how many lengths between other ties there must be, and by what part of
what the tie is off their stations differ from the line at most. Judgement."""
REGULAR = 0.1
"""Laying lengths by which a step of the stations differs from a whole pipe at most, where no length was recorded."""


class _Route(NamedTuple):
    """Joints and shots of a route that has ties, as stations run: coordinate units."""

    number: int
    counted: Floats
    """Distance of each joint by its station, from the stated start: shape (joints,)."""
    shots: Floats
    """Places of the shots, but those at the ends: shape (shots,)."""
    length: float
    over: Floats
    """What the pipes laid up to each joint are longer than its station counts: shape (joints,)."""
    unknown: Floats
    """By how much the steps up to each joint differ from whole pipes, where no pipe was recorded: shape (joints,)."""


class _Wrong(NamedTuple):
    """A tie left out."""

    at: int
    off: float
    """How far ahead it lies of where the other ties put its station, coordinate units."""
    tells: str
    """What tells it, in words, and on what that rests."""
    basis: str
    better: float
    """By how much the joints lie nearer to the shots without it, square coordinate units, or how far it is off."""


class _Tried(NamedTuple):
    """The shots around a tie against the joints, placed with it and without it: coordinate units."""

    before: float
    """How far the middle one lies off a joint."""
    after: float
    with_it: bool
    """Whether they lie at joints placed with it, and placed without it."""
    without_it: bool
    better: float

    def clear(self, off: float) -> bool:
        """Say whether the shots show that the tie is off by so much."""
        return self.without_it and abs(off) >= CLEAR * self.after and self.before >= BETTER * self.after


def wrong_ties(job: Job, line: StationedLine, log: Log, joints: Joints, form: Form) -> Iterator[Doubt]:
    """Find ties that move the joints around them off their shots, or against the pipes laid.

    Parameters
    ----------
    job : Job
    line : StationedLine
    log : Log
    joints : Joints
    form : Form
        As the log writes its stations.
    """
    routes, found = line.routes, line.routes.calibration
    if found is None or not routes.shot or routes.pieces is not None:
        return
    for number in np.flatnonzero(np.diff(found.first) > 1).tolist():
        first, end = np.searchsorted(joints.route, [number, number + 1]).tolist()
        rows = first + np.flatnonzero(~joints.surveyed[first:end])
        if len(rows) < LEAST_TURNS:
            continue
        route, left = _route(job, line, log, joints, number, rows), found
        # Half of the ties must hold against the other half.
        for _ in range((int(np.diff(found.first)[number]) - 1) // 2 or 1):
            wrong = _worst(job, line, route, left)
            if wrong is None:
                break
            yield _doubt(line, route, left, wrong, form)
            left = left.without(wrong.at)


def _route(job: Job, line: StationedLine, log: Log, joints: Joints, number: int, rows: Ints) -> _Route:
    routes, found = line.routes, line.routes.calibration
    assert found is not None
    along = routes.slope_distance if line.slope else routes.distance
    running = between(along, joints.located)[rows]
    counted = ties.off_line(found, np.full(len(rows), number), running)
    shots = along[int(routes.first[number]) : int(routes.first[number + 1])]
    laid, laying = log.number("laid_length")[joints.record[rows]] * line.scale, job.records.laying_length * line.scale
    step = np.diff(counted)
    pipe = laid[1:] if job.records.pipe == "back" else laid[:-1]
    recorded = pipe > 0
    whole = ~recorded & (np.abs(step - laying) <= REGULAR * laying)
    over = np.where(recorded, pipe - step, np.where(whole, laying - step, 0.0))
    unknown = np.where(recorded | whole, 0.0, np.abs(step - laying))
    return _Route(
        number, counted, shots[1:-1], float(shots[-1]), *(np.concatenate([[0.0], np.cumsum(one)])
                                                         for one in (over, unknown))
    )  # fmt: skip


def _worst(job: Job, line: StationedLine, route: _Route, found: Calibration) -> _Wrong | None:
    """Give the tie that is wrong by what tells most; None where none is."""
    some = range(int(found.first[route.number]), int(found.first[route.number + 1]))
    if len(some) < 2:
        return None
    metre, symbol = units.factor("m", line.routes.unit), units.SYMBOLS[line.routes.unit]
    by_shots: list[_Wrong] = []
    by_lengths: list[_Wrong] = []
    for at in some:
        others = found.without(at)
        off = float(found.actual[at] - _onto(others, route.number, found.counted[at : at + 1])[0])
        if abs(off) < LEAST_M * metre:
            continue
        tried = _tried(route, found, others, at) if job.centerline.shots_at_joints is not False else None
        if tried is not None and tried.clear(off):
            tells = (
                f"the shots around it lie {tried.before:.2f} {symbol} off the joints, the middle one of them, and "
                f"{tried.after:.2f} {symbol} without it"
            )
            by_shots.append(_Wrong(at, off, tells, "the shots, and the other ties", tried.better))
        elif tried is None or not tried.with_it:
            by_lengths += _by_lengths(route, found, some, at, off, metre)
    return max(by_shots or by_lengths, key=lambda one: one.better, default=None)


def _tried(route: _Route, found: Calibration, others: Calibration, at: int) -> _Tried | None:
    """Place the joints around a tie with it and without it; None where too few shots lie between them."""
    low, high = _around(route, found, at)
    shots = route.shots[(route.shots >= low) & (route.shots <= high)]
    (_, before, part), (_, after, other) = (
        nearest_joints(_onto(one, route.number, route.counted), shots) for one in (found, others)
    )
    # A shot must lie between two joints either way.
    known = np.isfinite(before) & np.isfinite(after)
    if np.count_nonzero(known) < LEAST_TURNS:
        return None
    before, after = np.abs(before[known]), np.abs(after[known])
    middle = float(np.median(before)), float(np.median(after))
    better = float(np.sum(before**2 - after**2))
    return _Tried(*middle, are_at_joints(part[known]), are_at_joints(other[known]), better)


def _by_lengths(route: _Route, found: Calibration, some: range, at: int, off: float, metre: float) -> list[_Wrong]:
    """Doubt a tie before which the line is longer than the stations count, and behind it as much shorter, or so.

    Before the first tie and behind the last one, the first and the last joint are taken to lie at the ends of the line.
    """
    counted, actual = (one[some[0] : some[-1] + 1] for one in (found.counted, found.actual))
    closure, here, size = np.diff(actual) - np.diff(counted), at - some[0], abs(off)
    others = np.abs(np.delete(closure, [one for one in (here - 1, here) if 0 <= one < len(closure)]))
    ends = route.counted[[0, -1]]
    counted, actual = np.array([ends[0], *counted, ends[1]]), np.array([0.0, *actual, route.length])
    near = counted[here : here + 3]
    before, behind = np.diff(actual[here : here + 3]) - np.diff(near)
    inside = ends[0] <= near[0] < near[1] < near[2] <= ends[1]
    if not inside or before * behind >= 0 or min(abs(before), abs(behind)) < AS_MUCH * size:
        return []
    if size < max(PART * (near[2] - near[0]) / 2.0, others.max(initial=0.0) / QUIET):
        return []
    over, unknown = (np.diff(np.interp(near, route.counted, one)) for one in (route.over, route.unknown))
    if np.abs(over).max() > AGREE * size:
        return []
    by, basis = "while the pipes laid go with the stations", "the pipes laid, and the other ties"
    if unknown.max() > AGREE * size:
        # Stations that slip there, and slip back, do that as well: no joint there is sure either way.
        alone = 0 < here < len(some) - 1 and len(others) >= ENOUGH
        if not alone or size < max(LEAST_BY_TIES_M * metre, others.max() / STILL):
            return []
        by, basis = "unless it is the stations that run off there, and back again", "the other ties"
    tells = f"the line is longer than the stations count on one side of it and as much shorter on the other, {by}"
    return [_Wrong(at, off, tells, basis, size)]


def _doubt(line: StationedLine, route: _Route, found: Calibration, wrong: _Wrong, form: Form) -> Doubt:
    routes, number, off = line.routes, route.number, abs(wrong.off)
    part = slice(int(routes.first[number]), int(routes.first[number + 1]))
    along = (routes.slope_distance if line.slope else routes.distance)[part]
    low, high = _around(route, found, wrong.at)
    start, here, end = np.interp([low, found.actual[wrong.at], high], along, routes.distance[part])
    others = replace(line, routes=replace(routes, calibration=found.without(wrong.at)))
    at = np.array([number])
    (station,) = others.written(at, *others.station_at_distance(at, np.array([here])), form).to_pylist()
    symbol = units.SYMBOLS[routes.unit]
    way = "ahead of" if wrong.off > 0 else "behind"
    message = (
        f"{found.keys[wrong.at]} of route {routes.names[number]!r} lies {off:.2f} {symbol} {way} the place that the "
        f"other ties give its station, and {wrong.tells}: by them its station would be {station}; correct its station "
        "or its coordinates, or leave it out: the joints up to the ties beside it are placed up to as far off"
    )
    return Doubt("joints-off-shots", message, -1, -1, number, float(start), float(end), off, LEAST_M
                 * units.factor("m", routes.unit), symbol, wrong.basis, off_shots=off, by_tie=True)  # fmt: skip


def _around(route: _Route, found: Calibration, at: int) -> tuple[float, float]:
    """Give the places of the ties beside one, or of the ends of the line."""
    first, last = int(found.first[route.number]), int(found.first[route.number + 1]) - 1
    low = float(found.actual[at - 1]) if at > first else 0.0
    return low, float(found.actual[at + 1]) if at < last else route.length


def _onto(found: Calibration, number: int, counted: Floats) -> Floats:
    return ties.onto_line(found, np.full(len(counted), number), counted)
