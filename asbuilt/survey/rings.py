"""Ring mains strung from another point than the one at which their stations start, by bends and uneven lengths.

A line that closes on itself has no end that could tell where it starts: strung from another corner it is as long, as
smooth and as evenly shot. Its log tells where the bends lie, and the pieces that are no whole lengths.
"""

from __future__ import annotations

from dataclasses import replace
from math import comb
from typing import NamedTuple

import numpy as np

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.line.routes import Routes, routes_from_vertices
from asbuilt.survey.against_log import SHOT_EACH, Logged
from asbuilt.survey.bends import BEND_OFF, LEAST_ALONE, to_corner
from asbuilt.survey.bends_tried import MOST_FIT, Lines
from asbuilt.survey.doubts import Doubt, label

_CLOSED = 1.5
"""Laying lengths, or usual legs, between the ends of a line that is a ring; common practice, no source."""
_OPEN = 0.25
"""Part of its length between the ends of a line from which on it is no ring, whatever its legs are; judgement."""
_ROUND = 10.0
"""Laying lengths that a ring is long at the least."""
_OTHER_START = 5.0
"""Laying lengths within which a start station that is off explains bends off their corners."""
_HALF = 0.5
"""Part of the telling marks of a log that may lie at theirs by chance, as the ring was strung. Judgement."""
_CHANCE = 0.01
"""Chance, at most, at which so many marks would lie at theirs were the log put anywhere on the ring. Judgement."""
_UNEVEN, _AS_LONG, _NEAR = 0.05, 0.03, 0.25
"""Laying lengths by which a piece differs from the usual one, by which it may differ from its leg, and which its ends
may lie from the shots at both ends of that."""
_LONGEST = 1.5
"""Laying lengths of a piece at the most: a longer spacing is of joints that are missing."""
_MARKS = 40
"""Marks of a log that are looked at, spread over it."""
_STEP = 0.5
"""Laying lengths from place to place where a ring may start, besides at its shots."""


class _Ring(NamedTuple):
    """A ring twice around, so that nothing on it lies at an end."""

    lines: Lines
    around: float
    """How long it is once around, with the gap at its ends."""
    starts: Floats
    """Where on the ring, from the first vertex, the stations may start."""
    each: bool
    """Whether it was shot at every joint."""


class _Marks(NamedTuple):
    """What a log has that does not look alike anywhere: bends, and pieces that are no whole lengths."""

    bend: Floats
    """Where each bend lies from the start of the stations."""
    angle: Floats
    piece: Floats
    """Where each piece begins."""
    long: Floats

    @property
    def many(self) -> int:
        return len(self.bend) + len(self.piece)


class Strung(NamedTuple):
    """What logs tell of the points at which rings start."""

    doubts: list[Doubt]
    untold: list[int]
    """Rings on which the log would lie as well elsewhere."""


def strung_elsewhere(routes: Routes, logged: Logged) -> Strung:
    """Find rings on which what a log has lies at its place only with the stations counted from another point.

    Parameters
    ----------
    routes : Routes
    logged : Logged
        Of routes on which no joint was surveyed or tied.

    Returns
    -------
    Strung
    """
    found = Strung([], [])
    if routes.pieces is not None or not len(logged.route):
        return found
    first, last = routes.first[:-1], routes.first[1:] - 1
    gap = np.hypot(routes.easting[last] - routes.easting[first], routes.northing[last] - routes.northing[first])
    for number in np.intersect1d(logged.route, np.flatnonzero(gap < _OPEN * routes.length)).tolist():
        ring = _ring(routes, number, float(gap[number]), logged.laying)
        if ring is None:
            continue
        marks = _marks(logged, number, ring)
        hit = _tried(ring, marks)
        ahead = ring.starts
        near = np.minimum(ahead, ring.around - ahead) <= _OTHER_START * logged.laying
        count = hit.sum(axis=2)
        here, back = int(count[0, near].max()), int(count[1, near].max())
        count[:, near] = -1
        best = int(count.max())
        if best < max(here, 1) or marks.many == 0:
            if here == 0:
                found.untold.append(number)
            continue
        way, _ = np.unravel_index(count.argmax(), count.shape)
        # Of successive places that fit as well, the one in the middle.
        alike = np.flatnonzero(count[way] == best)
        run = np.split(alike, np.flatnonzero(np.diff(alike) > 1) + 1)[0]
        at = int(run[len(run) // 2])
        if (
            here <= _HALF * marks.many
            and best >= max(MOST_FIT * marks.many, here + 2)
            and best > back
            and _by_chance(ring, hit, hit[way, at]) <= _CHANCE
        ):
            found.doubts.append(_told(routes, logged, number, marks, here, best, float(ahead[at]), back=way == 1))
        elif best >= here:
            found.untold.append(number)
    return found


def _ring(routes: Routes, number: int, gap: float, laying: float) -> _Ring | None:
    """Give a route twice around; None where it does not close on itself."""
    first, end = int(routes.first[number]), int(routes.first[number + 1])
    leg, length = np.diff(routes.distance[first:end]), float(routes.length[number])
    east, north = routes.easting[first:end], routes.northing[first:end]
    usual = float(np.median(leg))
    if length < _ROUND * laying or len(leg) < 3 or gap > _CLOSED * max(usual, laying):
        return None
    # Where the first place was shot again, that is one place.
    again = gap <= _NEAR * laying
    once = np.arange(len(east) - again)
    twice = np.concatenate([once, once, once[:1]])
    made = routes_from_vertices(
        [routes.names[number]], np.array([0, len(twice)]), east[twice], north[twice], np.zeros(len(twice)),
        np.zeros(1), routes.crs, routes.unit,
    )  # fmt: skip
    around, each = float(made.length[0]) / 2.0, routes.shot and usual <= SHOT_EACH * laying
    starts = np.union1d(routes.distance[first:end][once], np.arange(0.0, around, _STEP * laying))
    return _Ring(Lines.of(replace(made, source=routes.source), laying), around, starts, each)


def _marks(logged: Logged, number: int, ring: _Ring) -> _Marks:
    rows = np.arange(*np.searchsorted(logged.route, [number, number + 1]))
    at, laying = logged.distance[rows], logged.laying
    bends = rows[logged.bend[rows] & (logged.angle[rows] >= LEAST_ALONE)]
    long = np.diff(at)
    uneven = np.zeros(0, dtype=np.int64)
    if ring.each and len(long):
        odd = np.abs(long - np.median(long)) > _UNEVEN * laying
        uneven = np.flatnonzero(odd & (long > _UNEVEN * laying) & (long < _LONGEST * laying))
    bends, uneven = (_some(one) for one in (bends, uneven))
    return _Marks(logged.distance[bends], logged.angle[bends], at[uneven], long[uneven])


def _some(rows: Ints) -> Ints:
    every = np.linspace(0, len(rows) - 1, min(len(rows), _MARKS)).astype(np.int64)
    return rows[every]


def _tried(ring: _Ring, marks: _Marks) -> Bools:
    """Say which marks lie at theirs with the stations counted ahead, or back, from each start: (2, starts, marks)."""
    found = np.zeros((2, len(ring.starts), marks.many), dtype=np.bool_)
    for way, sign in enumerate((1.0, -1.0)):

        def on_ring(along: Floats, sign: float = sign) -> Floats:
            place = np.mod(ring.starts[:, None] + sign * along, ring.around)
            # Half a ring from either end of the two.
            return np.where(place < ring.around / 2.0, place + ring.around, place)

        if len(marks.bend):
            place = on_ring(marks.bend)
            angle = np.broadcast_to(marks.angle, place.shape).ravel()
            fits = _at_a_corner(ring, place.ravel(), angle)
            found[way, :, : len(marks.bend)] = fits.reshape(place.shape)
        if len(marks.piece):
            begins = on_ring(marks.piece)
            found[way, :, len(marks.bend) :] = _at_a_leg(ring, begins, begins + sign * marks.long, marks.long)
    return found


def _at_a_corner(ring: _Ring, place: Floats, angle: Floats) -> Bools:
    """Say which bends lie where the line turns by their angles, at one shot or in part at two."""
    on, lines = np.zeros(len(place), dtype=np.int64), ring.lines
    corner = to_corner(lines.routes, lines.corners, on, place, angle)
    found: Bools = np.abs(np.nan_to_num(corner.off, nan=np.inf)) <= BEND_OFF[0] * lines.laying
    return found | lines.at_theirs(on, place, angle)


def _at_a_leg(ring: _Ring, begins: Floats, ends: Floats, long: Floats) -> Bools:
    """Say which pieces lie on a leg that is as long."""
    along, laying = ring.lines.routes.distance, ring.lines.laying

    def nearest(place: Floats) -> Ints:
        ahead = np.searchsorted(along, place).clip(1, len(along) - 1)
        near: Ints = ahead - (place - along[ahead - 1] < along[ahead] - place)
        return near

    one, other = nearest(begins), nearest(ends)
    found: Bools = np.abs(one - other) == 1
    found &= np.abs(np.abs(along[other] - along[one]) - long) <= _AS_LONG * laying
    found &= (np.abs(along[one] - begins) <= _NEAR * laying) & (np.abs(along[other] - ends) <= _NEAR * laying)
    return found


def _by_chance(ring: _Ring, every: Bools, hit: Bools) -> float:
    """Give the chance that so many marks would lie at theirs with the stations counted from any point, either way."""
    many = every.shape[0] * every.shape[1]
    part = (every.sum(axis=(0, 1)) + 1.0) / (many + 1.0)
    ways = 2.0 * ring.around / ring.lines.laying * comb(len(hit), int(hit.sum()))
    return ways * float(part[hit].prod())


def _told(
    routes: Routes, logged: Logged, number: int, marks: _Marks, here: int, there: int, by: float, *, back: bool
) -> Doubt:
    first, symbol = int(routes.first[number]), units.SYMBOLS[routes.unit]
    along = routes.distance[first : int(routes.first[number + 1])]
    vertex = first + int(np.abs(along - by).argmin())
    marks_of = (marks.bend, "bends of 20 deg and more"), (marks.piece, "pieces that are no whole lengths")
    kinds = " and ".join(f"{len(one)} {what}" for one, what in marks_of if len(one))
    other = ", and the other way round" if back else ""
    message = (
        f"route {routes.names[number]!r} is a ring that is strung from {label(routes, first)}: of {kinds} of its log "
        f"{here or 'none'} lie{'s' if here < 2 else ''} where the line turns so, or a leg is as long; counted from "
        f"about {label(routes, vertex)} on{other}, {by:.0f} {symbol} farther along, {there} do. So the shots are "
        "strung from another point than the one at which the stations start, and every joint of the route stands "
        "elsewhere than it was laid: number the shots, or draw the line, from the point at which the stations start"
    )
    return Doubt("shot-order", message, vertex, -1, number, 0.0, float(routes.length[number]), by,
                 _OTHER_START * logged.laying, symbol, "the bends and lengths of the log", misplaced=True)  # fmt: skip
