"""Stations that occur more than once on their route: what settles which place is meant."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Floats, Ints, together
from asbuilt.line import stationing
from asbuilt.line.nearest import nearest
from asbuilt.placing.sequence import in_order, joint_numbers

if TYPE_CHECKING:
    from collections.abc import Sequence

    from asbuilt.inputs.log import Log
    from asbuilt.line.stationed import StationedLine
    from asbuilt.placing.positions import Positions


class Settled(NamedTuple):
    """Where stations are once settled: shapes (n,)."""

    along: Floats
    """Station units from the route's start; NaN where nothing settles it."""
    region: Ints
    by: pa.Array
    """What settled a station that occurs more than once; null where nothing had to."""


def settle(line: StationedLine, route: Ints, log: Log, resolved: stationing.Resolved) -> Settled:
    """Settle stations that occur more than once: by BK or AH, by the equation named, or by the joints' sequence."""
    along, region = resolved.distance.copy(), resolved.region.copy()
    by: npt.NDArray[np.object_] = np.full(len(route), None, dtype=object)
    stations = log.stations
    spoken = np.flatnonzero(((stations.side != 0) | (stations.region != 0)) & np.isfinite(along))
    if len(spoken):
        none = np.zeros(len(spoken), dtype=np.int64)
        plain = stationing.Stations(stations.value[spoken], none, none, stations.form)
        repeats = line.resolve(route[spoken], plain).candidates > 1
        by_equation = stations.region[spoken] != 0
        by[spoken[repeats & by_equation]] = "equation"
        by[spoken[repeats & ~by_equation]] = "back/ahead"
    asked = np.flatnonzero(np.isin(route, np.unique(route[resolved.candidates > 1])) & (resolved.candidates >= 1))
    for rows in together(asked[np.argsort(route[asked], kind="stable")], route):
        for row, (place, at) in _by_sequence(line, int(route[rows[0]]), rows, log, resolved).items():
            along[row], region[row], by[row] = place, at, "joint sequence"
    return Settled(along, region, pa.array(by, pa.string()))


def _by_sequence(
    line: StationedLine, route: int, rows: Ints, log: Log, resolved: stationing.Resolved
) -> dict[int, tuple[float, int]]:
    """Place ambiguous records so that distances never fall along the joint numbers, where only one way exists.

    The lowest and the highest places that keep the order are found from either side; where both agree,
    the order leaves no choice.
    """
    numbers = joint_numbers(log.text("joint").take(pa.array(rows)))
    numbered = numbers.series >= 0
    rows, series, count = rows[numbered], numbers.series[numbered], numbers.number[numbered]
    settled: dict[int, tuple[float, int]] = {}
    for one in np.unique(series):
        members = rows[series == one][np.argsort(count[series == one], kind="stable")]
        known = members[resolved.candidates[members] == 1]
        if len(known) < 2:
            continue
        if np.sum(np.sign(np.diff(resolved.distance[known]))) < 0:
            members, known = members[::-1], known[::-1]
        anchors = set(known[in_order(resolved.distance[known])].tolist())
        options = {
            int(row): line.candidates(route, float(log.stations.value[row]))
            for row in members
            if resolved.candidates[row] > 1
        }
        lowest = _sweep(members.tolist(), anchors, options, resolved.distance, rising=True)
        highest = _sweep(members[::-1].tolist(), anchors, options, resolved.distance, rising=False)
        settled |= {row: place for row, place in lowest.items() if highest.get(row) == place}
    return settled


def _sweep(
    members: Sequence[int],
    anchors: set[int],
    options: dict[int, list[tuple[float, int]]],
    distance: Floats,
    *,
    rising: bool,
) -> dict[int, tuple[float, int]]:
    sign = 1.0 if rising else -1.0
    bound = -np.inf
    chosen: dict[int, tuple[float, int]] = {}
    for row in members:
        if row in anchors:
            bound = max(bound, sign * float(distance[row]))
        feasible = [place for place in options.get(row, ()) if sign * place[0] >= bound - 1e-6]
        if feasible:
            chosen[row] = min(feasible, key=lambda place: sign * place[0])
            bound = sign * chosen[row][0]
    return chosen


def settle_by_survey(
    line: StationedLine,
    log: Log,
    route: Ints,
    resolved: stationing.Resolved,
    surveyed: Positions,
    settled: Settled,
) -> Settled:
    """Settle stations that occur more than once by the surveyed position: the nearest place is meant."""
    rows = np.flatnonzero(surveyed.known & (resolved.candidates > 1))
    if not len(rows):
        return settled
    hit = nearest(line.routes, route[rows], surveyed.easting[rows], surveyed.northing[rows])
    at = line.along(route[rows], hit.located)
    along, region = settled.along.copy(), settled.region.copy()
    for number, row in enumerate(rows.tolist()):
        options = line.candidates(int(route[row]), float(log.stations.value[row]))
        along[row], region[row] = min(options, key=lambda option: abs(option[0] - at[number]))
    told = np.zeros(len(log), dtype=np.bool_)
    told[rows] = True
    return Settled(along, region, pc.if_else(pa.array(told), "survey", settled.by))
