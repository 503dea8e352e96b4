"""Elevations of the log held against those of the shots: one that lies off the shot beside it, or all alike."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import pyarrow as pa

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints, scatter, together
from asbuilt.line.routes import Located, Routes, between, heights_measured
from asbuilt.notes import OfRoutes
from asbuilt.survey.doubts import Doubt, label

_NEAR = 0.25
"""Laying lengths from a shot within which a joint is near it."""
_LEAVES = np.radians(5.0)
"""The pipe leaves a shot by no more than what the line turns up there and this, which few joints may deflect."""
_STEEP = 1.0
"""Beside a steeper leg, as of a riser, a place in plan tells no elevation."""
_FAR = 6.0
"""Standard errors by which a joint lies above a shot at the most: of what is stated, and of how the route's scatter."""
_LEAST_M = 0.1
"""Elevations are worth no more than this, whatever is stated; judgement."""
_MANY = 0.25
"""Where more of a route's joints lie off the shots, the others of the log are worth no more."""
_ENOUGH = 8
"""Joints near shots by which it can be told that all lie off alike."""

_ANOTHER_M = 1.5
"""Elevations of top and invert, with an error of the rod, lie no farther apart on most mains; judgement."""


class Held(NamedTuple):
    """What elevations of the log say of those of the shots."""

    doubts: list[Doubt]
    """At shots off which a joint lies by itself."""
    shown: Floats
    """Standard error that the elevation of each joint shows, coordinate units; 0 where it lies at the shots."""
    notes: list[OfRoutes]
    """Of routes on which all lie off alike."""


def hold_heights(
    routes: Routes, route: Ints, located: Located, elevation: Floats, own: Bools, station: pa.Array, laying: float
) -> Held:  # fmt: skip
    """Hold elevations that the log has of its joints against those of the shots near them.

    Parameters
    ----------
    routes : Routes
    route : array of int, shape (joints,)
        In order.
    located : Located
        Where the joints lie.
    elevation : array, shape (joints,)
    own : array of bool, shape (joints,)
        Whose elevation is the log's.
    station : string array, shape (joints,)
    laying : float
        Laying length, coordinate units.
    """
    shown, doubts, notes = np.zeros(len(route)), list[Doubt](), list[OfRoutes]()
    if not routes.shot or routes.pieces is not None or not own.any():
        return Held(doubts, shown, notes)
    vertex = located.vertex + (located.weight > 0.5)
    off = np.abs(routes.distance[vertex] - between(routes.distance, located))
    with np.errstate(invalid="ignore", divide="ignore"):
        slope = np.diff(routes.elevation) / np.diff(routes.distance)
    back, ahead = np.append(0.0, slope), np.append(slope, 0.0)
    back[routes.first[:-1]] = ahead[routes.first[1:] - 1] = 0.0
    even = (np.abs(back) < _STEEP) & (np.abs(ahead) < _STEEP)
    near = own & (off <= _NEAR * laying) & even[vertex] & heights_measured(routes)[vertex]
    rows = np.flatnonzero(near)
    if not len(rows):
        return Held(doubts, shown, notes)
    above = elevation[rows] - between(routes.elevation, located)[rows]
    sigma = np.zeros(len(rows)) if routes.errors[1] is None else np.nan_to_num(routes.errors[1][vertex[rows]])
    turn = np.abs(np.arctan(ahead) - np.arctan(back))[vertex[rows]]
    leaves = off[rows] * np.tan(np.minimum(turn + _LEAVES, np.pi / 4.0))
    least, symbol = _LEAST_M * units.factor("m", routes.unit), units.SYMBOLS[routes.unit]
    for part in together(np.arange(len(rows)), route[rows]):
        middle = float(np.median(above[part]))
        enough = len(part) >= _ENOUGH
        noise = scatter(above[part] - middle) if enough else 0.0
        most = np.maximum(_FAR * np.maximum(np.sqrt(2.0) * sigma[part], noise), least)
        number = int(route[rows[part[0]]])
        low, high = np.searchsorted(route, [number, number + 1]).tolist()
        mine, name = low + np.flatnonzero(own[low:high]), routes.names[number]
        alike = enough and abs(middle) > float(np.median(most))
        if alike:
            shown[mine] = abs(middle)
            text = (
                f"route {name}: the elevations of {len(part):,} joints in the log lie {abs(middle):.2f} {symbol} "
                f"{'above' if middle > 0 else 'below'} those of the shots near them, all alike: they are of another "
                "part of the pipe than the shots, or from another benchmark. Accuracies take that as the standard "
                "error of the log's elevations; have both of one thing, or leave those of the log out"
            )
            notes.append(OfRoutes.one(name, text))
        elif noise > max(least, np.sqrt(2.0) * float(np.median(sigma[part]))):
            shown[mine] = noise
        by = above[part] - (middle if alike else 0.0)
        far = np.abs(by) > most + leaves[part]
        if np.count_nonzero(far) > _MANY * len(part):
            # Nobody knows of those between shots that they are any better.
            shown[mine] = np.maximum(shown[mine], np.abs(by[far]).max())
        for one in np.flatnonzero(far).tolist():
            joint, at = int(rows[part[one]]), int(vertex[rows[part[one]]])
            shown[joint] = max(float(shown[joint]), abs(float(by[one])))
            place, limit = float(routes.distance[at]), float(most[one] + leaves[part[one]])
            message = (
                f"the elevation of {label(routes, at)}, {routes.elevation[at]:.2f}, lies {abs(by[one]):.2f} {symbol} "
                f"{'below' if by[one] > 0 else 'above'} that of the joint beside it in the log, at station "
                f"{station[joint].as_py()}{', more than the others do' if alike else ''}: one of the two is wrong; "
                "check both"
            )
            doubts.append(Doubt("shot-height", message, at, -1, number, place, place, abs(float(by[one])),
                                limit, symbol, "the joint's elevation in the log"))  # fmt: skip
    return Held(doubts, shown, notes)


def hold_unused(routes: Routes, route: Ints, elevation: Floats, logged: Floats) -> tuple[list[str], list[OfRoutes]]:
    """Hold elevations that the log has of joints without coordinates, which nothing else is done with, to the survey's.

    Parameters
    ----------
    routes : Routes
    route : array of int, shape (joints,)
        In order.
    elevation : array, shape (joints,)
        By the survey, coordinate units; NaN where it has none.
    logged : array, shape (joints,)
        By the log, coordinate units; NaN where it has none, and where that of the log is used.

    Returns
    -------
    read : list of str
        That they are not used.
    apart : list of OfRoutes
        Of routes on which all lie far above the survey's, or below, or most lie far off.
    """
    known = np.isfinite(logged)
    if not known.any():
        return [], []
    many = int(np.count_nonzero(known))
    read = [
        f"the log has elevations of {many:,} joints without coordinates of their own there: these are held against the "
        "survey's and not used otherwise"
    ]
    most, symbol = _ANOTHER_M * units.factor("m", routes.unit), units.SYMBOLS[routes.unit]
    rows, apart = np.flatnonzero(known & np.isfinite(elevation)), list[OfRoutes]()
    above = logged[rows] - elevation[rows]
    for part in together(np.arange(len(rows)), route[rows]):
        middle, name = float(np.median(above[part])), routes.names[int(route[rows[part[0]]])]
        off = float(np.median(np.abs(above[part])))
        if len(part) < _ENOUGH or off <= most:
            continue
        alike = float(np.median(np.abs(above[part] - middle)))
        way = "above" if middle > 0 else "below"
        text = (
            f"route {name}: half of the {len(part):,} joints whose elevations the log has lie {off:.2f} {symbol} or "
            f"more from the survey's, in the middle {abs(middle):.2f} {symbol} {way} it, and half of them within "
            f"{alike:.2f} {symbol} of that: one of the two is of another benchmark or datum, in another unit "
            "(centerline.elevation_unit), or of something else; find out which before verdicts are gone by"
        )
        apart.append(OfRoutes.one(name, text))
    return read, apart
