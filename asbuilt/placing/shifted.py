"""Surveyed joints that all lie off the places of their stations alike: another datum, another foot, another origin.

One joint that lies elsewhere is a slip; all of them by one way, in easting and northing, are a system. That is seen
however small it is beside what a station is worth, since no error of stations goes one way along a line that turns.
Where all of them, or those of a stretch, lie ahead of their stations or behind by one length, coordinates may stand at
other rows than theirs. In either case nobody knows which is right, and the accuracy of their places is no better.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from asbuilt import units
from asbuilt.arrays import Floats, Ints, together
from asbuilt.inputs.log import station_form
from asbuilt.line import stationing
from asbuilt.line.routes import Located, points
from asbuilt.notes import OfRoutes
from asbuilt.placing.mistyped import GROSS
from asbuilt.placing.places import Places, offset_points
from asbuilt.placing.positions import Positions
from asbuilt.survey.at_shots import steps_of

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.line.stationed import StationedLine

_ENOUGH = 8
"""Surveyed joints of a route by which a shift can be told."""
_LEAST_M = 0.3
"""A shift of less moves no joint by more than can be seen."""
_ALIKE = 0.25
"""Half of the joints lie within this part of the shift from it, at most."""
_AT_ENDS = 0.5
"""The first and the last quarter of the joints lie off it by no larger part of the shift."""
_A_STRETCH = 4
"""Surveyed joints of a stretch by which that can be told of it."""
_CLEAR = 6.0
"""Times the middle one of how far stations and coordinates step otherwise, by which a stretch begins to lie off."""
_TAPE = 0.005
"""Part of what they measured by which stations may be off; judgement."""
_WIDE = 3.0
"""Times the middle one of how far joints lie off a shift, to hold 95 percent: normal errors, 2 over 0.67; textbook."""
_AT_95 = 1.96
"""Standard errors that hold 95 percent in one direction; textbook."""
_TWO_FEET = 0.25
"""A shift is that of the two feet, which differ by 2 parts in a million, to this part of it."""


def shifted(
    job: Job, line: StationedLine, log: Log, route: Ints, surveyed: Positions, stationed: Places, found: Places
) -> tuple[Floats, list[OfRoutes]]:
    """Say of which routes surveyed joints lie off their stations alike: all, or those of a stretch.

    Parameters
    ----------
    job : Job
    line : StationedLine
    log : Log
    route : array of int, shape (n,)
    surveyed : Positions
    stationed : Places
        By the stations.
    found : Places
        By the survey.

    Returns
    -------
    by : array, shape (n,)
        How far each may be off for that, coordinate units.
    notes : list of OfRoutes
    """
    by = np.zeros(len(route))
    notes = _all_shifted(job, line, log, route, surveyed, stationed, by)
    notes += _along(job, line, log, route, surveyed, stationed, found, by)
    if by.any() and (sigma := line.routes.errors[0]) is not None:
        # Beside a shift as long as that, errors of the coordinates lead farther along it, and not across.
        by[by > 0.0] += _AT_95 * sigma[found.located.vertex[by > 0.0]]
    return by, notes


def _along(
    job: Job, line: StationedLine, log: Log, route: Ints, surveyed: Positions, stationed: Places, found: Places,
    by: Floats,
) -> list[OfRoutes]:  # fmt: skip
    """Say of which routes surveyed joints lie ahead of their stations, or behind, alike; and add by how much."""
    rows = np.flatnonzero(surveyed.known & (surveyed.vertex < 0) & np.isfinite(stationed.distance - found.distance))
    rows = rows[np.lexsort((stationed.distance[rows], route[rows]))]
    least, laying = _LEAST_M * units.factor("m", line.routes.unit), job.records.laying_length * line.scale
    form, notes = station_form(job, log), []
    for mine in together(rows, route):
        if len(mine) < _ENOUGH:
            continue
        number, place, told = int(route[mine[0]]), stationed.distance[mine], False
        ahead = found.distance[mine] - place
        # A line that cuts corners off is shorter than its pipe; coordinates that are right are as far apart as joints.
        apart = _apart(surveyed.easting[mine], surveyed.northing[mine], np.diff(place), least)
        apart *= np.where(np.diff(found.distance[mine]) < 0.0, -1.0, 1.0)
        ahead = ahead[0] + np.append(0.0, np.cumsum(apart)) - (place - place[0])
        usual = float(np.median(np.abs(np.diff(ahead))))
        step = [at for at in steps_of(ahead, least, np.inf) if abs(ahead[at] - ahead[at - 1]) > _CLEAR * usual]
        ahead = _without_slips_of_stations(ahead, place, step, laying)
        for low, high in zip([0, *step], [*step, len(mine)], strict=True):
            some = mine[low:high]
            middle = float(np.median(ahead[low:high]))
            rest = float(np.median(np.abs(ahead[low:high] - middle)))
            # A tape may be off by a part of what it measured; no joint is by that where stations begin.
            begun = place[0] if low == 0 else 0.0
            early = float(np.median(ahead[low : low + max(len(some) // 4, 2)]))
            if abs(early - middle) > _AT_ENDS * abs(middle):
                continue
            if len(some) < _A_STRETCH or abs(middle) < max(least, _TAPE * begun) or rest > _ALIKE * abs(middle):
                continue
            known = by[some] > 0.0
            by[some] = np.maximum(by[some], abs(middle) + _WIDE * rest)
            # What is farther off than a slip is told with its rows: `mistyped.doubted`.
            if known.all() or told or abs(middle) > GROSS * laying:
                continue
            told, symbol = True, units.SYMBOLS[line.routes.unit]
            ends = stationing.format_stations(log.stations.value[some[[0, -1]]], form).to_pylist()
            name = line.names.names[number]
            text = (
                f"route {name}: by their coordinates in the log the {len(some):,} joints with stations from {ends[0]} "
                f"to {ends[1]} lie {abs(middle):.2f} {symbol} {'ahead of' if middle > 0 else 'behind'} where their "
                f"stations are, all alike (half of them within {rest:.2f} {symbol} of that), as where coordinates "
                "stand in other rows than their joints', or stations count from elsewhere; they stand by the "
                "coordinates, and their accuracies count that these may be as far off: have the two compared, or leave "
                "the coordinates out (records.use_coordinates = false)"
            )
            notes.append(OfRoutes.one(name, text))
    return notes


def _apart(easting: Floats, northing: Floats, stepped: Floats, least: float) -> Floats:
    """Give how far successive joints are apart, by way of none that lies beside the others, shape (joints - 1,).

    Examples
    --------
    The third joint lies 6 ft beside the others:

    >>> north = np.array([0.0, 20.0, 40.0, 60.0])
    >>> _apart(np.array([0.0, 0.0, 6.0, 0.0]), north, np.full(3, 20.0), 1.0).tolist()
    [20.0, 20.0, 20.0]
    """
    apart: Floats = np.hypot(np.diff(easting), np.diff(northing))
    past = np.hypot(easting[2:] - easting[:-2], northing[2:] - northing[:-2])
    straight = apart.copy()
    for at in np.flatnonzero(apart[1:] + apart[:-1] - past > least / 2.0).tolist():
        both = slice(at, at + 2)
        if abs(past[at] - stepped[both].sum()) < abs(apart[both].sum() - stepped[both].sum()):
            straight[both] = past[at] / 2.0
    return straight


def _without_slips_of_stations(ahead: Floats, place: Floats, steps: list[int], laying: float) -> Floats:
    """Take away what stations step by themselves, shape (joints,): there coordinates go on by a pipe and they do not.

    Examples
    --------
    A station that was counted 3 ft too far from the third joint on, and coordinates that are 3 ft too far from there:

    >>> _without_slips_of_stations(np.array([0.0, 0.0, -3.0]), np.array([0.0, 20.0, 43.0]), [2], 20.0).tolist()
    [0.0, 0.0, 0.0]
    >>> _without_slips_of_stations(np.array([0.0, 0.0, 3.0]), np.array([0.0, 20.0, 40.0]), [2], 20.0).tolist()
    [0.0, 0.0, 3.0]
    """
    kept = ahead.copy()
    for at in steps:
        own, jump = float(place[at] - place[at - 1]), float(ahead[at] - ahead[at - 1])
        if abs(own - laying) > abs(own + jump - laying) + abs(jump) / 2.0:
            kept[at:] -= jump
    return kept


def _all_shifted(
    job: Job, line: StationedLine, log: Log, route: Ints, surveyed: Positions, places: Places, by: Floats
) -> list[OfRoutes]:
    """Say of which routes the surveyed joints all lie off by one way; and add by how much.

    Where they lie is by the stations.
    """
    rows = np.flatnonzero(surveyed.known & (surveyed.vertex < 0) & np.isfinite(places.distance))
    if len(rows) < _ENOUGH:
        return []
    rows = rows[np.lexsort((places.distance[rows], route[rows]))]
    there = points(line.routes, route[rows], Located(places.located.vertex[rows], places.located.weight[rows]))
    east, north = offset_points(there, log.number("offset")[rows] * line.scale)
    off = np.stack([surveyed.easting[rows] - east, surveyed.northing[rows] - north], axis=1)
    told = []
    for of_route in together(np.arange(len(rows)), route[rows]):
        if len(of_route) < _ENOUGH:
            continue
        own, number = off[of_route], int(route[rows[of_route[0]]])
        shift = np.median(own, axis=0)
        size, rest = float(np.hypot(*shift)), float(np.median(np.hypot(*(own - shift).T)))
        # What is farther off than a slip is told with its rows: `mistyped.doubted`.
        gross = size > GROSS * job.records.laying_length * line.scale
        if gross or size < _LEAST_M * units.factor("m", line.routes.unit) or rest > _ALIKE * size:
            continue
        # Where a line cuts a corner off, joints farther on lie off alike, and those before it do not.
        quarter = len(own) // 4
        ends = (np.median(part, axis=0) for part in (own[:quarter], own[-quarter:]))
        if max(float(np.hypot(*(one - shift))) for one in ends) > _AT_ENDS * size:
            continue
        by[rows[of_route]] = size + _WIDE * rest
        symbol, name = units.SYMBOLS[line.routes.unit], line.names.names[number]
        text = (
            f"route {name}: the {len(own):,} joints whose coordinates the log holds all lie "
            f"{size:.2f} {symbol} from where their stations are, by the same way ({shift[0]:+.2f} {symbol} in easting, "
            f"{shift[1]:+.2f} {symbol} in northing, and half of them within {rest:.2f} {symbol} of that): one of the "
            f"two surveys is shifted{_why(shift, surveyed, rows)}; the joints stand by the log's coordinates, each "
            "is as far off where it is these that are wrong, and their accuracies count it: confirm records.crs and "
            "its datum, or leave them out (records.use_coordinates = false)"
        )
        told.append(OfRoutes.one(name, text))
    return told


def _why(shift: Floats, surveyed: Positions, rows: Ints) -> str:
    """Say whether the shift is that of coordinates written in the other of the two feet."""
    middle = np.array([np.median(surveyed.easting[rows]), np.median(surveyed.northing[rows])])
    feet = 2e-6 * middle
    if min(np.hypot(*(shift - feet)), np.hypot(*(shift + feet))) < _TWO_FEET * np.hypot(*feet):
        return ", as where coordinates in US survey feet are taken for international ones, or the other way round"
    return ", as by another datum or another origin"
