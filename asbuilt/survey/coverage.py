"""The lengths at the ends of lines that their logs do not reach."""

from __future__ import annotations

from collections.abc import Collection, Iterator

import numpy as np

from asbuilt import units
from asbuilt.arrays import Floats
from asbuilt.line.routes import Routes
from asbuilt.survey.against_log import UNCOVERED, Logged
from asbuilt.survey.bends import LEAST_ALONE
from asbuilt.survey.bends_tried import Lines
from asbuilt.survey.doubts import Doubt


def coverage(routes: Routes, logged: Logged, longer: Floats, unsure: Collection[int] = ()) -> Iterator[Doubt]:
    """Find the ends of lines that the log does not reach; routes with no joint at all are counted elsewhere.

    Parameters
    ----------
    routes : Routes
    logged : Logged
    longer : array, shape (routes,)
        By how much doubted shots make each route longer than it is.
    unsure : collection of int
        Routes of which something else is known that moves bends.
    """
    if not len(logged.route):
        return
    starts = np.flatnonzero(np.diff(logged.route, prepend=-1))
    ends = np.append(starts[1:], len(logged.route)) - 1
    symbol, lengths = units.SYMBOLS[routes.unit], routes.length
    for first, last in zip(starts.tolist(), ends.tolist(), strict=True):
        number = int(logged.route[first])
        length = float(lengths[number])
        parts = ((0.0, float(logged.distance[first]), "before its first joint"),
                 (float(logged.distance[last]), length - float(longer[number]), "beyond its last joint"))  # fmt: skip
        for low, high, where in parts:
            if high - low > UNCOVERED * logged.laying:
                head = f"the log has no joint on {high - low:.0f} {symbol} of the line {where}"
                remedy = 'complete the log, or say that it is of a part alone, records.covers = "part"'
                by = low - high if low == 0.0 else high - low
                told = "" if number in unsure else _by_bends(routes, logged, number, by)
                message = f"{head}{told}" if told else f"{head}: {remedy}"
                yield Doubt("coverage-short", message, -1, -1, number, low, high, high - low,
                            UNCOVERED * logged.laying, symbol, "the line is longer than its log",
                            misplaced=bool(told))  # fmt: skip


def _by_bends(routes: Routes, logged: Logged, route: int, by: float) -> str:
    """Say of a log whose bends lie at corners once all are moved along the line, and not before, where they lie."""
    rows = np.flatnonzero(logged.bend & (logged.angle >= LEAST_ALONE) & (logged.route == route))
    if not len(rows):
        return ""
    there = Lines.of_one(routes, route, logged.laying).moved(logged.distance[rows], logged.angle[rows], by)
    if not there.any():
        return ""
    first, angle = logged.station[int(rows[there][0])].as_py(), np.degrees(logged.angle[rows][there][0])
    one = len(rows) == 1
    ends = ("end", "start") if by < 0 else ("start", "end")
    return (
        f", and {f'the bend of {angle:.4g} deg' if one else f'{there.sum()} of its {len(rows)} bends'} logged "
        f"{'at' if one else 'from'} {first}{'' if one else ' on'} {'lies' if one else 'lie'} about as far "
        f"{'ahead of' if by < 0 else 'behind'} {'the corner' if one else 'corners'} of the line that "
        f"{'turns' if one else 'turn'} so: the line has that much more at its {ends[0]} than the log, and not at its "
        f"{ends[1]}, and all joints of the route stand that much too far {'ahead' if by < 0 else 'back'}. Correct the "
        "start station (centerline.start_station), or have the surveyor say at which joint the line begins"
    )
