"""Lengths of a route that a job names by two stations, such as those to be restrained or those under test.

Each is resolved by its route's equations into distances along the centerline.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pyarrow as pa

from asbuilt.arrays import Floats, Ints, empty_ints
from asbuilt.errors import JobFileError
from asbuilt.line import stationing

if TYPE_CHECKING:
    from asbuilt.line.stationed import StationedLine
    from asbuilt.placing.joints import Joints


class Named(NamedTuple):
    """A length as the job names it, and the key or row that names it."""

    route: str | None
    start: str | float
    end: str | float
    key: str


@dataclass(frozen=True)
class Stretches:
    """Lengths along routes: shapes (n,)."""

    route: Ints
    start: Floats
    """Horizontal distance along the route where the length begins, coordinate units."""
    end: Floats
    from_station: pa.Array
    to_station: pa.Array

    def __len__(self) -> int:
        return len(self.route)

    def take(self, rows: Ints) -> Stretches:
        """Give some of the lengths."""
        texts = (text.take(pa.array(rows)) for text in (self.from_station, self.to_station))
        return Stretches(self.route[rows], self.start[rows], self.end[rows], *texts)

    def plus(self, others: Stretches) -> Stretches:
        """Give these lengths, and others behind them."""
        numbers = [np.concatenate([getattr(self, name), getattr(others, name)]) for name in ("route", "start", "end")]
        texts = [
            pa.concat_arrays([getattr(self, name), getattr(others, name)]) for name in ("from_station", "to_station")
        ]
        return Stretches(*numbers, *texts)


def nothing_named() -> Stretches:
    """Give no length at all."""
    none, no_text = np.zeros(0), pa.array([], pa.string())
    return Stretches(empty_ints(), none, none, no_text, no_text)


def resolve(line: StationedLine, named: Sequence[Named], form: stationing.Form) -> Stretches:
    """Find where named lengths begin and end along their routes.

    Parameters
    ----------
    line : StationedLine
    named : sequence of Named
    form : how the stations are written in the result

    Raises
    ------
    JobFileError
        When a route is unknown, a station is not on its route or occurs there more than once, or a length ends
        before it begins: every such length is named by its key.
    """
    if not named:
        return nothing_named()
    problems: list[str] = []
    read = [_read(one, line, problems) for one in named]
    _refuse(problems)
    route = np.array([at for at, *_ in read], dtype=np.int64)
    ends = [_joined([start for _, start, _ in read]), _joined([end for *_, end in read])]
    resolved = [line.resolve(route, stations) for stations in ends]
    for at, one in enumerate(named):
        for word, given, where in zip(("from", "to"), (one.start, one.end), resolved, strict=True):
            if where.candidates[at] != 1:
                what = f"{one.key}.{word}: station {given}"
                problems.append(_why_not(what, line, int(route[at]), where, at, form))
    _refuse(problems)
    for at, one in enumerate(named):
        if resolved[0].distance[at] >= resolved[1].distance[at]:
            problems.append(f"{one.key}: from {one.start} is not before to {one.end} along the route; exchange them")
    _refuse(problems)
    start, end = (line.distance(route, where.distance) for where in resolved)
    texts = [
        line.written(route, stations.value, where.region, form) for stations, where in zip(ends, resolved, strict=True)
    ]
    return Stretches(route, start, end, *texts)


def remaining(line: StationedLine, covered: Stretches, asked: Ints, form: stationing.Form) -> Stretches:
    """Give the lengths of the routes asked for that none of the given lengths covers.

    Parameters
    ----------
    line : StationedLine
    covered : Stretches
    asked : array of int, shape (n,)
        Routes.
    form : how the stations are written in the result

    Returns
    -------
    Stretches
        In order along the routes; a piece no longer than a station's tolerance is left out.
    """
    if not len(asked):
        return nothing_named()
    least, length = line.tolerance * line.scale, line.routes.length
    order = np.lexsort((covered.start, covered.route))
    first = np.searchsorted(covered.route[order], asked)
    last = np.searchsorted(covered.route[order], asked, side="right")
    pieces: list[tuple[int, float, float]] = []
    for route, begin, end in zip(asked.tolist(), first.tolist(), last.tolist(), strict=True):
        reached = 0.0
        for at in order[begin:end]:
            pieces.append((route, reached, float(covered.start[at])))
            reached = max(reached, float(covered.end[at]))
        pieces.append((route, reached, float(length[route])))
    kept = [piece for piece in pieces if piece[2] - piece[1] > least]
    route = np.array([piece[0] for piece in kept], dtype=np.int64)
    ends = [np.array([piece[which] for piece in kept], dtype=np.float64) for which in (1, 2)]
    texts = [line.written(route, *line.station_at_distance(route, distance), form) for distance in ends]
    return Stretches(route, *ends, *texts)


def joints_within(stretches: Stretches, joints: Joints, slack: float) -> tuple[Ints, Ints]:
    """Find the joints in each length, its ends included.

    Parameters
    ----------
    stretches : Stretches
    joints : Joints
    slack : float
        How far beyond an end a joint still counts as at the end, coordinate units: stations are rounded, and a joint
        surveyed itself lies a little off its station.

    Returns
    -------
    first, last : array of int, shape (n,)
        The joints of a length are those from `first` up to, but not including, `last`.
    """
    low, high = np.searchsorted(joints.route, stretches.route), np.searchsorted(joints.route, stretches.route, "right")
    first, last = np.empty(len(low), dtype=np.int64), np.empty(len(low), dtype=np.int64)
    for at in range(len(low)):
        along = joints.distance[low[at] : high[at]]
        first[at] = low[at] + np.searchsorted(along, stretches.start[at] - slack, "left")
        last[at] = low[at] + np.searchsorted(along, stretches.end[at] + slack, "right")
    return first, last


def _read(one: Named, line: StationedLine, problems: list[str]) -> tuple[int, stationing.Stations, stationing.Stations]:
    ends = []
    for word, given in (("from", one.start), ("to", one.end)):
        try:
            ends.append(stationing.one_station(given, key=f"{one.key}.{word}"))
        except JobFileError as error:
            problems.append(str(error))
            ends.append(stationing.one_station(0.0, key=one.key))
    try:
        route = line.names.number(one.route, key=f"{one.key}.route")
    except JobFileError as error:
        problems.append(str(error))
        route = 0
    return route, ends[0], ends[1]


def _why_not(
    what: str, line: StationedLine, number: int, where: stationing.Resolved, at: int, form: stationing.Form
) -> str:
    route, symbol = line.names.names[number], line.symbol
    if where.candidates[at] > 1:
        return (
            f"{what} occurs more than once on route {route} ({where.lowest[at]:.2f} and {where.highest[at]:.2f} "
            f"{symbol} from its start); add BK or AH, and the equation's number where it has several"
        )
    if where.gap[at]:
        return f"{what} falls in the gap of a station equation on route {route}; correct it"
    return f"{what} is not on route {route}, which runs {line.spans(form)[number]}; correct the station or the route"


def _refuse(problems: Sequence[str]) -> None:
    if problems:
        raise JobFileError("\n  ".join(problems))


def _joined(stations: Sequence[stationing.Stations]) -> stationing.Stations:
    parts = [np.concatenate(part) for part in zip(*(one[:3] for one in stations), strict=True)]
    return stationing.Stations(parts[0], parts[1], parts[2], "decimal")
