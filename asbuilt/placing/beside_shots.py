"""Coordinates of the log held against the shots of its line: those beside a shot by more than errors explain.

A joint near a shot lies on the line, but for the errors of the two. Farther from any shot the pipe may lie beside the
line by as much as it curves, and nothing is told there.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from asbuilt import units
from asbuilt.arrays import Floats, scatter, together
from asbuilt.notes import OfRoutes
from asbuilt.survey.evenness import beyond_chance

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.line.stationed import StationedLine
    from asbuilt.placing.places import Places
    from asbuilt.placing.positions import Positions

_NEAR = 0.25
"""Laying lengths from a shot within which a joint is near it."""
_LEAVES = np.radians(5.0)
"""The pipe leaves a shot by no more than what the line turns there and this, which few joints may deflect."""
_FAR = 6.0
"""Standard errors of both by which a joint lies beside a shot at the most."""
_LEAST_M = 0.1
"""Coordinates are worth no more than this, whatever is stated; judgement."""
_MANY = 0.25
"""Where more of a route's joints lie beside the shots, it is no slip of some: the coordinates are worse than stated."""
_ENOUGH = 8
"""Joints near shots by which that can be told."""
_TWICE, _RATE = 2.0, 0.0455
"""Normal errors lie outside so many standard errors at this rate."""
_SURE = 1e-4
"""Rate of false alarms at which the stated errors of a route are contradicted."""


def beside_shots(
    job: Job, line: StationedLine, log: Log, surveyed: Positions, places: Places
) -> tuple[Positions, Floats, list[OfRoutes]]:
    """Give coordinates that lie beside the shots of the line the error that this shows.

    Parameters
    ----------
    job : Job
    line : StationedLine
    log : Log
    surveyed : Positions
    places : Places
        By the survey.

    Returns
    -------
    surveyed : Positions
        With a larger standard error where it shows.
    aside : array, shape (records,)
        How far from the line errors let those lie that lie farther, coordinate units; NaN for others.
    notes : list of OfRoutes
        One of each route of which many do.
    """
    routes, notes, aside = line.routes, list[OfRoutes](), np.broadcast_to(np.nan, len(places.distance))
    if routes.source != "survey" or routes.pieces is not None:
        return surveyed, aside, notes
    own = surveyed.known & (surveyed.vertex < 0) & np.isfinite(places.away)
    if "offset" in log.fields:
        own &= np.nan_to_num(log.number("offset")) == 0.0
    rows = np.flatnonzero(own)
    vertex = places.located.vertex[rows] + (places.located.weight[rows] > 0.5)
    route = routes.vertex_route[vertex]
    off = np.abs(routes.distance[vertex] - places.distance[rows])
    # Beyond the ends of a line a joint lies off it by as much as the line is short.
    near = (vertex > routes.first[route]) & (vertex < routes.first[route + 1] - 1)
    near &= off <= _NEAR * job.records.laying_length * line.scale
    rows, vertex, route, off = rows[near], vertex[near], route[near], off[near]
    if not len(rows):
        return surveyed, aside, notes
    turn = np.abs(np.nan_to_num(routes.turns[0]))[vertex]
    sigma = routes.errors[0][vertex] if routes.errors[0] is not None else np.zeros(len(rows))
    error = np.sqrt(2.0 * sigma**2 + surveyed.rounded[rows] ** 2 + surveyed.carried[rows] ** 2)
    most = np.maximum(_FAR * error, _LEAST_M * units.factor("m", routes.unit))
    leaves = off * np.tan(np.minimum(turn + _LEAVES, np.pi / 4.0))
    most += leaves
    away = places.away[rows]
    beside, at_shots = away > most, leaves <= error / 2.0
    if not (beside.any() or at_shots.any()):
        return surveyed, aside, notes
    rounded, aside = np.array(surveyed.rounded), np.array(aside)
    every = np.flatnonzero(own)
    on = routes.vertex_route[places.located.vertex[every]]
    order = np.argsort(on, kind="stable")
    every, on = every[order], on[order]
    for part in together(np.argsort(route, kind="stable"), route):
        number = int(route[part[0]])
        mine = every[slice(*np.searchsorted(on, [number, number + 1]))]
        hit, exact = part[beside[part]], part[at_shots[part]]
        worse = len(part) >= _ENOUGH and len(hit) > _MANY * len(part)
        if not worse and not _scatter(away[exact], error[exact]):
            aside[rows[hit]] = most[hit]
            spread = _between(
                places.distance[rows[part]], np.where(beside[part], away[part], 0.0), places.distance[mine]
            )
            rounded[mine] = np.maximum(rounded[mine], spread)
            continue
        some = part if worse else exact
        middle = float(np.median(away[some]))
        # What is stated of the shots is believed; coordinates of the log have that much at the least.
        shown = np.sqrt(max(scatter(away[some]) ** 2 - 2.0 * float(np.median(sigma[some])) ** 2, 0.0))
        rounded[mine] = np.maximum(rounded[mine], shown)
        name = line.names.names[number]
        text = (
            f"route {name}: of {len(some):,} joints near shots half lie "
            f"{middle / line.scale:.2f} {line.symbol} or more beside the line by their coordinates in the log, and "
            "neither the errors stated nor its curves explain it: one of the two surveys is not known so well. "
            f"Verdicts and accuracies take {shown / line.scale:.2g} {line.symbol} as the standard error of the log's "
            "coordinates; where these are the worse ones, go by the stations (records.use_coordinates = false)"
        )
        notes.append(OfRoutes.one(name, text))
    return surveyed._replace(rounded=rounded), aside, notes


def _scatter(away: Floats, error: Floats) -> bool:
    """Say whether joints at shots lie beside them by more than their errors let joints lie by chance.

    Examples
    --------
    >>> one = np.abs(np.random.default_rng(1).normal(0.0, 0.1, 60))
    >>> _scatter(one, np.full(60, 0.1)), _scatter(one, np.full(60, 0.05))
    (False, True)
    """
    if len(away) < _ENOUGH or not (error > 0.0).all():
        return False
    share = np.array([(away > _TWICE * error).mean()])
    return bool(beyond_chance(share, len(away), _RATE, _SURE)[0])


def _between(checked: Floats, off: Floats, at: Floats) -> Floats:
    """Give how far joints may lie beside the line: those checked as far as they do, others as those on either side.

    Examples
    --------
    >>> _between(np.array([0.0, 100.0, 200.0]), np.array([0.0, 3.0, 0.0]), np.array([0.0, 20.0, 100.0, 180.0, 220.0]))
    array([0., 3., 3., 3., 0.])
    """
    order = np.argsort(checked, kind="stable")
    place, off = checked[order], off[order]
    back = np.searchsorted(place, at, side="right") - 1
    ahead = np.searchsorted(place, at, side="left")
    sides = [np.where((one >= 0) & (one < len(place)), off[one.clip(0, len(place) - 1)], 0.0) for one in (back, ahead)]
    found: Floats = np.maximum(*sides)
    return found
