"""Stations that run ahead of the pipes laid, or behind them, from one joint on: a station equation nobody stated, or
one that the job states and the crew counted on past.

A joint missing from the log leaves the stations right; an equation that the job does not have puts all that follow on
the wrong place, by the same amount. Joints that were surveyed tell the two apart, and so does the end of the line.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pyarrow.compute as pc

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints, as_mask, together
from asbuilt.held import held, in_groups
from asbuilt.inputs.log import SAME_PLACE, Log
from asbuilt.line.routes import between, heights_measured
from asbuilt.line.stationing import format_stations
from asbuilt.notes import OfRoutes
from asbuilt.placing.off_the_pipes import BESIDE, STEADY, THERE, Steps, joint_named, off_the_pipes
from asbuilt.placing.reversed_rows import reversed_rows, sheets
from asbuilt.placing.sequence import JointNumbers, joint_numbers
from asbuilt.placing.tapes import ODD, OfRoute, off_for_a_while
from asbuilt.survey.doubts import Doubt

if TYPE_CHECKING:
    from asbuilt.job import Job
    from asbuilt.line.stationed import StationedLine
    from asbuilt.placing.bends_of_log import Telling
    from asbuilt.placing.positions import Positions

_MANY = 3
"""Jumps on one route from which on its order is broken, and no equation explains it."""
_UNMEASURED = 1.5
"""Laying lengths by which a step must differ from a pipe of no recorded length, which may have been cut."""
_ALL = 12
"""Jumps, those there and back at odd stations among them, up to which a route is looked at."""
AGREES_M = 0.15
"""Stations and a length that differ by less agree; common practice, no source."""
_NUMBERED = 0.9
"""Part of the joints that must be numbered, for their numbers to be their order."""


class Jumps(NamedTuple):
    """Where stations run ahead of the pipes laid, or behind them."""

    unstated: list[OfRoutes]
    """As after a station equation that the job does not have."""
    ignored: list[Doubt]
    """By as much as a station equation of the job, past which the stations were counted on; or off and back again."""
    of: set[int]
    """The routes of which either is told."""

    def add(self, found: list[Doubt]) -> None:
        """Add runs of joints, but those of which the same is told: they may be off as far as the farther one says."""
        for new in found:
            if any(one.route == new.route and one.code != new.code for one in self.ignored):
                continue
            same = [at for at, one in enumerate(self.ignored) if one.route == new.route and _overlap(one, new)]
            for at in same:
                one = self.ignored[at]
                self.ignored[at] = one._replace(off_shots=max(one.off_shots, new.off_shots))
            if not same:
                self.ignored.append(new)
                self.of.add(new.route)


def _overlap(one: Doubt, new: Doubt) -> bool:
    """Say whether most of the length of a new doubt is that of one that is told."""
    return 2.0 * (min(one.end, new.end) - max(one.start, new.start)) > new.end - new.start


def station_jumps(
    job: Job, line: StationedLine, log: Log, route: Ints, along: Floats, surveyed: Positions, bends: Telling
) -> Jumps:  # fmt: skip
    """Say where stations run ahead of the pipes, or behind them, as after a station equation.

    Parameters
    ----------
    job : Job
    line : StationedLine
    log : Log
    route : array of int, shape (n,)
    along : array, shape (n,)
        Station units from the start of the route; NaN where the station has no place.
    surveyed : Positions
    bends : Telling
        Of the log.

    Returns
    -------
    Jumps
    """
    told = Jumps([], [], set())
    if job.records.station_from == "laid_length":
        return told
    numbers, laid = held(joint_numbers(log.text("joint")), len(log)), held(log.number("laid_length"), len(log))
    cut = as_mask(pc.equal(log.text("cut"), "yes"))
    rows = np.flatnonzero((route >= 0) & np.isfinite(log.stations.value))
    for some in in_groups(rows, route[rows]):
        _on_routes(job, line, log, bends, route, along, surveyed, some, numbers, laid, cut, told)
    told.ignored.sort(key=lambda one: one.route)
    return told


def _on_routes(
    job: Job,
    line: StationedLine,
    log: Log,
    bends: Telling,
    route: Ints,
    along: Floats,
    surveyed: Positions,
    rows: Ints,
    numbers: JointNumbers,
    laid: Floats,
    cut: Bools,
    told: Jumps,
) -> None:
    """Look at some routes, of which these are the records."""
    rows = rows[np.argsort(route[rows], kind="stable")]
    ordered = [
        _in_order(job, log, numbers, part, along[part])
        for part in together(rows, route)
        if np.count_nonzero(np.isfinite(along[part])) > 2 * STEADY
    ]
    if not ordered:
        return
    ends = np.cumsum([0, *(len(part) for part, _ in ordered)])
    rows, in_series = (np.concatenate(parts) for parts in zip(*ordered, strict=True))
    at = np.concatenate([_carried_on(log.stations.value[part], along[part]) for part, _ in ordered])
    # From the last joint of a route there is no step to the first one of the next.
    own = np.ones(len(rows) - 1, dtype=np.bool_)
    own[ends[1:-1] - 1] = False
    step, of = np.diff(at), np.repeat(np.arange(len(ordered)), np.diff(ends))[:-1]
    forward, back = (np.bincount(of, one & own, len(ordered)) for one in (step > 0, step < 0))
    way = np.where(forward >= back, 1.0, -1.0)
    steps = _steps(job, line, rows, in_series, laid, way[of] * step, surveyed)
    telling, at_fitting = _telling(steps, way[of] * step, _at_fittings(log, rows), job.records.laying_length)
    # Two stations that are one may be those of a fitting's ends; where the stations run off elsewhere, they tell.
    telling |= at_fitting & (np.bincount(of, telling & own, len(ordered)) > 0)[of]
    many = np.bincount(of, telling & own, len(ordered))
    falling = own & steps.close & (way[of] * step < -SAME_PLACE * job.records.laying_length)
    against = np.bincount(of, falling, len(ordered))
    for which in np.flatnonzero((against > 1) | (many > 1)).tolist():
        joints, between = slice(ends[which], ends[which + 1]), slice(ends[which], ends[which + 1] - 1)
        number = int(route[rows[ends[which]]])
        told.ignored.extend(
            reversed_rows(job, line, log, bends, number, rows[joints], at[joints], falling[between], telling[between])
        )
    equations = np.diff(line.regions.first)[route[rows[ends[:-1]]]] > 1
    for which in np.flatnonzero(((many > 0) & (many <= _ALL)) | equations).tolist():
        joints, between = slice(ends[which], ends[which + 1]), slice(ends[which], ends[which + 1] - 1)
        mine = steps.of(between)
        number = int(route[rows[ends[which]]])
        _in_route(
            job, line, log, bends, number, rows[joints], at[joints], mine, telling[between], float(way[which]), told
        )
    may_be_off = _may_be_off(steps, own, way[of] * step, ends, job.records.laying_length)
    # Where numbers are in reverse, the order by them tells nothing of pipes.
    for which in may_be_off[against[may_be_off] <= 1].tolist():
        joints, between = slice(ends[which], ends[which + 1]), slice(ends[which], ends[which + 1] - 1)
        mine, number = steps.of(between), int(route[rows[ends[which]]])
        pipes = _against_pipes(job, line, number, rows[joints], at[joints], mine, float(way[which]), laid, cut)
        told.add(off_for_a_while(job, line, log, pipes))


def _may_be_off(steps: Steps, own: Bools, step: Floats, ends: Ints, laying: float) -> Ints:
    """Give the routes on which stations may run off the pipes for a while: those of which most are, soon left out."""
    odd = np.abs(steps.plain) > ODD * laying
    since = np.concatenate([[0.0], np.cumsum(np.where(own & ~odd, steps.plain, 0.0))])
    spread = np.maximum.reduceat(since, ends[:-1]) - np.minimum.reduceat(since, ends[:-1])
    jumps = np.add.reduceat(np.append(own & odd & (steps.recorded | (step < laying)), False), ends[:-1])
    found: Ints = np.flatnonzero((spread > ODD * laying) | (jumps > 0))
    return found


def _against_pipes(
    job: Job,
    line: StationedLine,
    route: int,
    rows: Ints,
    at: Floats,
    steps: Steps,
    way: float,
    laid: Floats,
    cut: Bools,
) -> OfRoute:
    """Hold the stations of a route against its pipes, which are laid along the slope of its line."""
    step = way * np.diff(at)
    over, pipes = _in_their_rows(job, rows, step, steps, laid)
    if not line.slope:
        located, routes = line.locate(np.full(len(at), route), at), line.routes
        climb = np.nan_to_num(between(routes.slope_distance - routes.distance, located)) / line.scale
        over = over + np.where(steps.surveyed, 0.0, way * np.diff(climb))
    vertices = slice(int(line.routes.first[route]), int(line.routes.first[route + 1]))
    level = not heights_measured(line.routes)[vertices].any()
    return OfRoute(route, rows, at, way, step, over, steps.recorded, cut[pipes], level)


def _in_their_rows(job: Job, rows: Ints, step: Floats, steps: Steps, laid: Floats) -> tuple[Floats, Ints]:
    """Give by how much steps differ from their pipes, and the records of these: in the rows before or behind, too.

    A crew from the other end writes a length in the row beside the one that the job says.
    """
    first, last = np.arange(len(step)) + (job.records.pipe == "back"), len(rows) - 1
    pipes = [rows[np.clip(first + by, 0, last)] for by in (0, -1, 1)]
    over = [np.where(steps.recorded & ~steps.surveyed, step - laid[one], steps.plain) for one in pipes]
    odd = [np.count_nonzero(steps.recorded & ~(np.abs(one) <= ODD * job.records.laying_length)) for one in over]
    best = int(np.argmin(odd))
    best = best if 2 * odd[best] < odd[0] - 1 else 0
    return np.nan_to_num(over[best]), pipes[best]


def _telling(steps: Steps, step: Floats, fitting: Bools, laying: float) -> tuple[Bools, Bools]:
    """Say at which steps stations run off, and at which they may, beside a fitting that may be as short as that.

    Of a pipe that may have been cut, only one tells that goes farther than any pipe, or nowhere.
    """
    told = steps.measured | (steps.close & (steps.over > 0))
    least = np.where(told, SAME_PLACE, _UNMEASURED) * laying
    nowhere = steps.close & (step < THERE * laying)
    back = (nowhere & ~fitting) | (step < -SAME_PLACE * laying)
    found: Bools = np.where(told | (steps.over > 0), np.abs(steps.over) > least, back)
    return found, nowhere & ~found


def _at_fittings(log: Log, rows: Ints) -> Bools:
    """Say between which successive records a fitting may lie, which is shorter than any pipe."""
    if "kind" not in log.fields:
        return np.zeros(len(rows) - 1, dtype=np.bool_)
    fitting = as_mask(pc.not_equal(log.fields["kind"], "pipe"))[rows]
    found: Bools = fitting[1:] | fitting[:-1]
    return found


def _in_route(
    job: Job,
    line: StationedLine,
    log: Log,
    bends: Telling,
    route: int,
    rows: Ints,
    at: Floats,
    steps: Steps,
    telling: Bools,
    way: float,
    told: Jumps,
) -> None:
    """Look at the records of one route, in the order of their joint numbers, or of the log where they have none."""
    laying, step = job.records.laying_length, np.diff(at)
    # What the stations as written go on farther than the pipes.
    written = way * np.diff(log.stations.value[rows]) - (way * step - steps.over)
    past = _past(line, route, steps.over, written, at, laying)
    doubted: list[Doubt] = []
    if not past and telling.any():
        doubted = off_the_pipes(job, line, log, bends, route, rows, at, steps, np.flatnonzero(telling), way)
        told.ignored.extend(doubted)
        if doubted:
            told.of.add(route)
    telling[list(past)] = True
    jump = np.flatnonzero(telling)
    if not 0 < len(jump) <= _MANY or (np.diff([-1, *jump.tolist(), len(step)]) <= STEADY).any():
        return
    total = float(steps.over[jump].sum())
    if not past and abs(total) < SAME_PLACE * laying:
        return
    length = float(line.routes.length[route]) / line.scale
    # Behind the last joint; less than nothing where the stations run past the end.
    left = length - float(at[-1]) if way > 0 else float(at[-1])
    ends = abs(left + total) <= laying
    right_at_the_end = abs(left) <= min(laying, abs(total) / 2.0)
    for one in jump.tolist():
        if one in past:
            how = "as the surveyed joints show" if steps.surveyed[one] else ""
            if ends and not right_at_the_end:
                how = _ends(left, line.symbol)
            elif not how and steps.close[one]:
                how = "and the joint numbers leave no room for joints between"
            told.of.add(route)
            told.ignored.append(_counted_on(line, log, route, past[one], (rows[one], rows[one + 1]), how))
            continue
        pipes = abs(steps.over[one]) / laying
        if abs(step[one]) < SAME_PLACE * laying or (pipes < 1.0 and not steps.surveyed[one]):
            # A station written twice, or a piece of pipe: no equation.
            continue
        if steps.surveyed[one]:
            why = "as the surveyed joints show"
        elif not (doubted and (ends or steps.close[one])):
            continue
        elif ends and not right_at_the_end:
            why = _ends(left, line.symbol)
        else:
            why = "and the joint numbers leave no room for joints between"
        back, ahead = rows[one], rows[one + 1]
        stations = log.fields["station"]
        told.of.add(route)
        text = (
            f"{log.file[ahead].as_py()} row {log.row[ahead]}: from {joint_named(log, ahead)} on, the stations of route "
            f"{line.names.names[route]} run {abs(steps.over[one]):.2f} {line.symbol} "
            f"{'ahead of' if steps.over[one] > 0 else 'behind'} the pipes laid, {why}: a station equation between "
            f"{stations[back].as_py()} and {stations[ahead].as_py()} that the job does not have? If it is one, state "
            "it in centerline.equations; else a length was counted wrongly, and all joints ahead are placed as far "
            "off, or joints are missing from the log"
        )
        told.unstated.append(OfRoutes.one(line.names.names[route], text))


def _ends(left: float, symbol: str) -> str:
    return f"and they end {abs(left):.2f} {symbol} {'past' if left < 0 else 'before'} the end of the line"


class _Equation(NamedTuple):
    """A station equation of a route, station units."""

    along: float
    """From the start of the route."""
    back: float
    ahead: float


def _equations(line: StationedLine, route: int) -> list[_Equation]:
    found = line.regions
    return [
        _Equation(float(found.distance_from[at]), float(found.station_to[at - 1]), float(found.station_from[at]))
        for at in range(int(found.first[route]) + 1, int(found.first[route + 1]))
    ]


def _past(
    line: StationedLine, route: int, over: Floats, written: Floats, along: Floats, laying: float
) -> dict[int, _Equation]:
    """Give, by the step from which on stations run off, the equations past which they were counted on."""
    found = {_counted_past(one, over, written, along, laying): one for one in _equations(line, route)}
    return {step: one for step, one in found.items() if step is not None}


def _counted_past(
    equation: _Equation, over: Floats, written: Floats, along: Floats, laying: float
) -> int | None:  # fmt: skip
    """Find the step near an equation from which on stations run off by just what the equation makes of them.

    Stations that were counted on past it lie in its gap, or twice on the line, for as long: these have no place of
    their own, and the step is behind them.
    """
    by = equation.ahead - equation.back
    slack = min(SAME_PLACE * laying, abs(by) / 4.0)
    reach = abs(by) + 2.0 * laying
    near = (along[:-1] <= equation.along + reach) & (along[1:] >= equation.along - reach)
    # A log that goes by the equation has its jump.
    if (near & (np.abs(written - by) <= slack)).any():
        return None
    hit = np.flatnonzero(near & (np.abs(over + by) <= slack))
    return int(hit[np.argmin(np.abs(along[hit] - equation.along))]) if len(hit) else None


def _counted_on(
    line: StationedLine, log: Log, route: int, equation: _Equation, between: tuple[int, int], how: str
) -> Doubt:
    """Tell of an equation that a log seems not to know, with all that lies ahead of it."""
    form, by = log.stations.form, equation.ahead - equation.back
    back, ahead = (one.as_py() for one in format_stations(np.array([equation.back, equation.ahead]), form))
    message = (
        f"{log.file[between[1]].as_py()} row {log.row[between[1]]}: the stations of route {line.names.names[route]} "
        f"are counted on past the station equation {back} BK = {ahead} AH, as if it were not there: from "
        f"{joint_named(log, between[1])} on they run {abs(by):.2f} {line.symbol} "
        f"{'behind' if by > 0 else 'ahead of'} the pipes laid{', ' + how if how else ''}, so that all joints ahead are "
        f"placed {abs(by):.2f} {line.symbol} too {'far back' if by > 0 else 'far ahead'}: leave the equation out of "
        "the job, if the crew never went by it, or have the stations ahead of it corrected"
    )
    # Stations that occur twice, for as long before it, are set aside: joints beside them share their turns.
    begin = max(equation.along + min(by, 0.0), 0.0)
    start = float(line.distance(np.array([route]), np.array([begin]))[0])
    return Doubt(
        "equation-ignored", message, -1, -1, route, start, float(line.routes.length[route]), abs(by), np.nan,
        line.symbol, "the pipes laid, and the equations of the job",
    )  # fmt: skip


def _in_order(job: Job, log: Log, numbers: JointNumbers, rows: Ints, along: Floats) -> tuple[Ints, Floats]:
    """Put records in the order of their joint numbers, the first of each; as they stand where they have none."""
    series, number = numbers.series[rows], numbers.number[rows]
    counted = (series >= 0) & np.isfinite(number)
    if np.count_nonzero(counted) < _NUMBERED * len(rows):
        return rows, np.full(len(rows), np.nan)
    own = counted & (series == np.bincount(series[counted]).argmax())
    if np.count_nonzero(own) >= _NUMBERED * len(rows) and (np.diff(number[own]) > 0).all():
        return rows[own], number[own]
    several = np.count_nonzero(own) < _NUMBERED * len(rows)
    of_series, first = np.unique(number[own], return_index=True)
    if not several and len(of_series) >= _NUMBERED * np.count_nonzero(own):
        return rows[own][first], of_series
    # A joint looked at twice has its number twice; joints elsewhere have it where a crew begins anew.
    kept = np.flatnonzero(counted if several else own)
    order = kept[np.lexsort((along[kept], number[kept], series[kept]))]
    again = (np.diff(series[order]) == 0) & (np.diff(number[order]) == 0)
    again &= np.diff(along[order]) < SAME_PLACE * job.records.laying_length
    kept = np.setdiff1d(kept, order[1:][again])
    if several:
        return _sheet_by_sheet(rows[kept], number[kept], series[kept])
    if len(of_series) >= _NUMBERED * len(kept):
        return rows[own][first], of_series
    return _sheet_by_sheet(rows[kept], number[kept], sheets(log, rows[kept]))


def _sheet_by_sheet(rows: Ints, number: Floats, sheet: Ints) -> tuple[Ints, Floats]:
    """Put records whose numbers begin anew in the order of these on each sheet, and count them on from one to the next.

    As they stand, without numbers, where no sheet holds them together.

    Examples
    --------
    >>> _sheet_by_sheet(np.arange(5), np.array([1.0, 2.0, 3.0, 2.0, 1.0]), np.array([0, 0, 0, 1, 1]))
    (array([0, 1, 2, 4, 3]), array([1., 2., 3., 4., 5.]))
    >>> _sheet_by_sheet(np.arange(4), np.array([1.0, 1.0, 2.0, 2.0]), np.array([0, 1, 0, 1]))
    (array([0, 1, 2, 3]), array([nan, nan, nan, nan]))

    Rows without a file or day, -1, are a sheet too:

    >>> _sheet_by_sheet(np.arange(4), np.array([1.0, 2.0, 1.0, 2.0]), np.array([-1, -1, 0, 0]))
    (array([0, 1, 2, 3]), array([1., 2., 3., 4.]))
    """
    starts = np.flatnonzero(np.append(True, np.diff(sheet) != 0))
    of = np.repeat(np.arange(len(starts)), np.diff(np.append(starts, len(rows))))
    order = np.lexsort((number, of))
    step = np.diff(number[order])
    if len(starts) != len(np.unique(sheet)) or (step[np.diff(of) == 0] <= 0).any():
        return rows, np.full(len(rows), np.nan)
    step[np.diff(of) > 0] = 1.0
    return rows[order], np.cumsum(np.append(number[order][:1], step))


def _carried_on(station: Floats, along: Floats) -> Floats:
    """Carry places along a route on by the stations, where these run past its ends."""
    if np.isfinite(along).all():
        return along
    known = np.flatnonzero(np.isfinite(along))
    near = known[np.maximum(np.searchsorted(known, np.arange(len(along)), side="right") - 1, 0)]
    carried: Floats = np.where(np.isfinite(along), along, along[near] + station - station[near])
    return carried


def _steps(
    job: Job, line: StationedLine, rows: Ints, number: Floats, laid: Floats, step: Floats, surveyed: Positions
) -> Steps:
    """Hold the stations of successive joints against the pipes between them."""
    laying, tolerance = job.records.laying_length, AGREES_M * units.factor("m", job.records.station_unit)
    of_pipe = laid[rows[1:] if job.records.pipe == "back" else rows[:-1]]
    between = np.maximum(np.diff(number), 1.0)
    close = np.diff(number) <= 1.0
    # Numbers that were left out stand for whole pipes.
    recorded = (of_pipe > 0) & ~(between > 1.0)
    # What goes back did so whatever was numbered between.
    many = np.where(step < 0, 1.0, np.nan_to_num(between, nan=1.0))
    over = step - np.where(recorded, of_pipe, laying * many)
    plain = over
    # A length that was written down wrongly is no jump of the stations.
    over = np.where(recorded & (np.abs(step - laying) <= tolerance), 0.0, over)
    # Nor is one that stands in a row beside its own, as of a crew from the other end.
    odd = np.flatnonzero(recorded & (np.abs(over) > SAME_PLACE * laying))
    for by in (-1, 0, 1, 2):
        beside = laid[rows[np.clip(odd + by, 0, len(rows) - 1)]]
        over[odd[np.abs(step[odd] - beside) <= BESIDE * laying]] = 0.0
    chord = np.hypot(np.diff(surveyed.easting[rows]), np.diff(surveyed.northing[rows])) / line.scale
    both = np.isfinite(chord)
    over, plain = (np.where(both, step - chord, one) for one in (over, plain))
    return Steps(over, recorded | both, both, close, plain, recorded)
