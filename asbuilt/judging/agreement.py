"""Readings of a stretch held against the turns of the survey: as written, and as if written down in another way.

Gaps read looking back, or some rows off their joints, look like any others, and between sparse shots no joint is
bounded by itself. But whatever the survey shows, at a joint or at a shot that joints share, is what the readings there
add up to.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple, TypeVar

import numpy as np
import numpy.typing as npt

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints, hypotenuse
from asbuilt.judging import at_odds
from asbuilt.judging.deflection import wrapped
from asbuilt.judging.readings import CENTIMETRES_SHOWN, CM_IN, OF_OTHERS, ROW_OFF
from asbuilt.judging.sightings import in_right_and_up
from asbuilt.line.routes import between, heights_measured
from asbuilt.notes import OfRoutes

if TYPE_CHECKING:
    from asbuilt.judging.readings import Readings
    from asbuilt.judging.survey import Seen
    from asbuilt.line.routes import Located, Routes
    from asbuilt.placing.joints import Joints

_Kind = TypeVar("_Kind", bound=np.generic)

_SURE = np.log(1e5)
"""How much likelier the survey is by the other way than as written, at least: by 100,000 times."""
_KEPT = np.log(1e3)
"""How much likelier as written beside such a stretch, for the readings there to be taken as they are."""
_CONTRADICT, _AGREE = 2.5, 2.0
"""Standard errors by which readings as written contradict the survey, at least; and mean square, in that of the errors,
of what readings that agree with it leave: 1, and by chance hardly 2. Chosen here, no source."""
_UNTOLD = 0.3
"""Part of the squares of the turns that readings leave at most, the other way; chosen here, no source."""
_UNSTATED_FT = 0.05
"""Standard error of shots for which nobody states any; larger ones leave too much for anything to be told."""
_SAME_PLACE = 1e-6
"""Shots this near to one another in plan, in coordinate units, show no direction."""
_READ = 0.5
"""Part of the joints that share a turn, by their weights, that must have been read."""
_ALIKE = 0.01
"""Part by which the variances of readings beside one another may differ, and be taken for the same; chosen here, no
source."""
_FEW = 8
"""One part in so many of the joints is few: their sums are then corrected, and not made anew."""
_ALL_READ = 1.0 - 1e-6
"""But for rounding, as here where all of them were."""
_POOLED, _LEAST = 20, 0.25
"""Degrees of freedom from which the log itself tells how well its gaps were read, and part of the stated standard error
below which that is not taken to be."""


class Way(NamedTuple):
    """A way in which readings may have been written down."""

    text: str
    rows: int = 0
    """How many joints ahead each joint's own readings stand."""
    right: float = 1.0
    """Sign of what was read to the right; as for the next."""
    up: float = 1.0
    times: float = 1.0
    reason: str | None = None
    """Why readings so written give no deflection; None where the deflection is as large as it was read."""


_AS_WRITTEN = Way("as they are written")
_WAYS = (
    Way(
        "right and left are exchanged, as where the clock was read looking back, or the columns of 3 and 9 o'clock "
        "stand for one another", right=-1.0,
    ),
    Way(
        "top and bottom are exchanged, as where the columns of 12 and 6 o'clock stand for one another, or where the "
        "survey's elevations are readings of a rod or depths, which fall as the pipe rises", up=-1.0,
    ),
    Way("they are turned by half the clock, as where gaps were measured to the other side", right=-1.0, up=-1.0),
    *(Way(f"each stands {many} farther {where} than it was read at", rows=way * rows, reason=ROW_OFF)
      for rows, many in ((1, "one joint"), (2, "two joints"), (3, "three joints"))
      for way, where in ((1, "on"), (-1, "back"))),
    Way("they are in centimetres", times=1.0 / CM_IN, reason=CENTIMETRES_SHOWN),
)  # fmt: skip


class Misread(NamedTuple):
    """Readings that agree with the survey only as if written in another way."""

    notes: tuple[OfRoutes, ...]
    reason: tuple[tuple[str, Bools], ...]
    """Why readings give no deflection, and at which joints: shape (joints,)."""
    at_odds: Bools
    """Joints that share a turn which readings, added up as written, contradict beyond chance: shape (joints,)."""


class _Shown(NamedTuple):
    """Turns that the survey shows, in order along the routes: shapes (turns,), or (2, turns), to the right and up."""

    turn: Floats
    """0 where it is not known."""
    known: Bools
    variance: Floats
    route: Ints
    place: Floats
    joint: Ints
    """The joint that turns alone; -1 where all around a shot do."""
    shot: Ints


def misread(
    routes: Routes, joints: Joints, seen: Seen, measured: Readings, plain: Bools, sigma: float, confidence: float, *,
    in_inches: bool,
) -> Misread:  # fmt: skip
    """Find stretches on which readings contradict the survey as written, and agree with it if written in another way.

    Parameters
    ----------
    routes : Routes
    joints : Joints
    seen : Seen
    measured : Readings
    plain : array of bool, shape (joints,)
        Joints of two pipes with no joint missing beside them, on shots of which none is doubted.
    sigma : float
        Standard error of one reading, by which those of `measured` were found.
    confidence : float
        Of there being no turn at odds with its readings on a whole main, where there is none in truth.
    in_inches : bool
        Whether the readings are taken as inches.

    Returns
    -------
    Misread

    Source
    ------
    The turn at a shot is the sum of the deflections around it by their weights (`shares`), and of a joint shot with
    both its neighbours its own. Where the errors of shots and readings are normal, half the difference of the sums of
    squares of what two ways leave is the logarithm of how many times likelier the one makes the survey than the other
    (likelihood ratio, textbook). The standard error of a reading is what the fits around the joints of the route leave.
    """
    none = Misread((), (), np.zeros(len(joints), dtype=np.bool_))
    if not routes.shot or not np.isfinite(measured.vector.one).any():
        return none
    place = between(routes.along, seen.located)
    shown = _shown(routes, seen, plain, place)
    if not len(shown.turn[0]):
        return none
    scatter = _scatter(measured, joints.route, len(routes.names), sigma)
    scale = scatter[joints.route]
    ways = [way for way in _WAYS if in_inches or way.reason != CENTIMETRES_SHOWN]
    summed = _Sums(shown, seen.located, joints.route, _values(measured, scale, joints.route))
    every = summed(np.ones(len(joints)))
    # Ways that differ in signs alone add up to the same.
    sums = {rows: summed.of_readings(rows) for rows in {way.rows for way in (_AS_WRITTEN, *ways)}}
    added = {
        (rows, times): _added(shown, sums[rows], every, times)
        for rows, times in {(way.rows, way.times) for way in (_AS_WRITTEN, *ways)}
    }
    as_written = _left(shown, added[0, 1.0], _AS_WRITTEN)
    against = [_against(shown, as_written, added[way.rows, way.times], way) for way in ways]
    notes = list[OfRoutes]()
    reason = {way.reason: np.zeros(len(joints), dtype=np.bool_) for way in ways if way.reason is not None}
    # What a joint turns that was not read, nobody knows.
    odd = at_odds.turns(shown.route, as_written, confidence)
    odd = odd[(shown.shot[odd] >= 0) & (sums[0].read[odd] > _ALL_READ * every[odd])]
    untold = as_written.copy()
    terms = np.sum(shown.known, axis=0)

    def inside(route: int, rows: Ints, least: int, most: int) -> Bools:
        low = place[joints.route == route].min() if least == 0 else shown.place[rows[least - 1]]
        high = place[joints.route == route].max() if most == len(rows) - 1 else shown.place[rows[most + 1]]
        there: Bools = (joints.route == route) & (place >= low) & (place <= high) & np.isfinite(measured.vector.one)
        return there

    for route in np.unique(shown.route[_could_be(against, shown.route)]).tolist():
        rows = np.flatnonzero(shown.route == route)
        gains, left, without = (np.stack([one[rows] for one in each]) for each in zip(*against, strict=True))
        counted = np.where(np.isnan(left), 0, terms[rows])
        while (found := _best(gains, as_written[rows], left, without, counted)) is not None:
            at, first, last = found
            way, least, most = ways[at], *_reach(gains[at], first, last)
            there = inside(route, rows, least, most)
            notes.append(_note(routes.names[route], way, joints, np.flatnonzero(there)))
            if way.reason is not None:
                reason[way.reason] |= there
            gains[:, least : most + 1] = -at_odds.AT_ONE
            untold[rows[least : most + 1]] = np.nan
    reason[OF_OTHERS] = np.zeros(len(joints), dtype=np.bool_)
    for route in at_odds.routes(shown.route, untold):
        begin, end = np.searchsorted(shown.route, [route, route + 1])
        rows = begin + np.flatnonzero(np.isfinite(untold[begin:end]))
        while (stretch := at_odds.of_other_joints(_compared(shown, added[0, 1.0], rows), scatter[route])) is not None:
            there = inside(route, rows, *stretch)
            reason[OF_OTHERS] |= there
            notes.append(_note_of_others(routes.names[route], joints, np.flatnonzero(there)))
            rows = np.delete(rows, np.arange(stretch[0], stretch[1] + 1))
    return Misread(tuple(notes), tuple((why, where) for why, where in reason.items() if where.any()),
                   at_odds.joints(shown.shot[odd], seen.located))  # fmt: skip


def _compared(shown: _Shown, added: _Added, rows: Ints) -> at_odds.Compared:
    parts = shown.turn, added.turned, added.sureness, shown.variance
    return at_odds.Compared(*(np.stack([one[rows] for one in part]) for part in parts))


def _note(name: str, way: Way, joints: Joints, at: Ints) -> OfRoutes:
    first, last = (joints.station[int(one)].as_py() for one in (at[0], at[-1]))
    remedy = (
        "find out how the clock was read, and name the columns so in records.columns, or have these rows corrected"
        if way.reason is None
        else "no deflection is taken from them; find out how they were written down, and have them corrected"
    )
    text = (
        f"route {name}, from {first} to {last}: the gaps read at {len(at)} joints agree with the survey only if "
        f"{way.text}: as written the two contradict one another wherever the pipe turns; {remedy}"
    )
    return OfRoutes.one(name, text)


def _note_of_others(name: str, joints: Joints, at: Ints) -> OfRoutes:
    first, last = (joints.station[int(one)].as_py() for one in (at[0], at[-1]))
    text = (
        f"route {name}, from {first} to {last}: the gaps read at {len(at)} joints tell nothing of the turns that the "
        "survey shows there, as where they were entered from the other end of the main, stand in rows of other joints, "
        "or the joints lie at other shots; no deflection is taken from them; find out which, and have it corrected"
    )
    return OfRoutes.one(name, text)


def _shown(routes: Routes, seen: Seen, plain: Bools, place: Floats) -> _Shown:
    """Give the turns that the survey shows: of joints by themselves, and at shots whose turns joints share."""
    count = len(routes.easting)
    alone = seen.exact & (routes.sigma_horizontal is not None)
    own = np.flatnonzero(alone & plain)
    found = replace(seen.turned, measured=seen.turned.measured.take(own), toward=seen.turned.toward[own])
    turned = in_right_and_up(found)
    unknown_up = seen.level | (routes.sigma_vertical is None)
    right, up = turned.one, np.where(unknown_up[own], np.nan, turned.other)
    vertex, weight = seen.located
    shared, unlike = (_at_each_shot(vertex, (1.0 - weight, weight), where, count) > 0.0 for where in (~alone, ~plain))
    inner = np.zeros(count, dtype=np.bool_)
    inner[1:-1] = routes.vertex_route[2:] == routes.vertex_route[:-2]
    shot = np.flatnonzero(shared & inner & ~unlike)
    shot = shot[_covered(routes, seen, place, shot)]
    along, deviation = _at_shots(routes, shot)
    where = np.concatenate([place[own], routes.along[shot]])
    order = np.argsort(where, kind="stable")
    turn = np.concatenate([[right, up], along], axis=1)[:, order]
    return _Shown(
        turn=np.nan_to_num(turn),
        known=np.isfinite(turn),
        variance=np.concatenate([[turned.variance_one, turned.variance_other], deviation], axis=1)[:, order],
        route=np.concatenate([routes.vertex_route[seen.located.vertex[own]], routes.vertex_route[shot]])[order],
        place=where[order],
        joint=np.concatenate([own, np.full(len(shot), -1)])[order],
        shot=np.concatenate([np.full(len(own), -1), shot])[order],
    )


def _covered(routes: Routes, seen: Seen, place: Floats, shot: Ints) -> Bools:
    """Say at which shots the log has joints up to the shots on either side: beyond them others may turn."""
    route = routes.vertex_route[seen.located.vertex]
    begins = np.flatnonzero(np.diff(route, prepend=-1))
    first, last = np.full(len(routes.names), np.inf), np.full(len(routes.names), -np.inf)
    first[route[begins]], last[route[begins]] = (least.reduceat(place, begins) for least in (np.minimum, np.maximum))
    of = routes.vertex_route[shot]
    tolerance = 0.01 * (routes.along[shot + 1] - routes.along[shot - 1])
    reached: Bools = (first[of] <= routes.along[shot - 1] + tolerance) & (
        last[of] >= routes.along[shot + 1] - tolerance
    )
    return reached


def _at_shots(routes: Routes, shot: Ints) -> tuple[Floats, Floats]:
    """Give the turns to the right and upward at some shots, NaN where not known, and their variances: (2, shots).

    Source: independent errors s of three shots and the lengths a, b between them leave the turn a variance of
    s^2 (1/a^2 + 1/b^2 + (1/a + 1/b)^2) (common practice, no source).
    """
    measured = heights_measured(routes)
    (flat_back, azimuth_back, slope_back), (flat, azimuth, slope) = (_legs(routes, one) for one in (shot - 1, shot))
    level = ~(measured[shot - 1] & measured[shot] & measured[shot + 1])
    turn = np.stack([wrapped(azimuth - azimuth_back), np.where(level, np.nan, slope - slope_back)])
    back, ahead = (1.0 / np.maximum(one, _SAME_PLACE) for one in (flat_back, flat))
    unstated = _UNSTATED_FT * units.factor("ft", routes.unit)
    errors = [np.full(len(routes.easting), unstated**2) if one is None else one**2 for one in routes.errors]
    variance = [one[shot - 1] * back**2 + one[shot] * (back + ahead) ** 2 + one[shot + 1] * ahead**2 for one in errors]
    return turn, np.stack(variance)


def _legs(routes: Routes, shot: Ints) -> tuple[Floats, Floats, Floats]:
    """Give the length in plan, azimuth and slope of the leg ahead of each shot."""
    east, north, rise = (one[shot + 1] - one[shot] for one in (routes.easting, routes.northing, routes.elevation))
    flat = hypotenuse(east, north)
    return flat, np.arctan2(east, north), np.arctan2(rise, flat)


def _scatter(measured: Readings, route: Ints, routes: int, sigma: float) -> Floats:
    """Give by how many times the gaps of each route scatter more than stated: their variance, shape (routes,)."""
    fit = measured.fit
    known = np.isfinite(fit.residual) & np.isfinite(measured.vector.one)
    freedom = np.bincount(route[known], fit.freedom[known], minlength=routes)
    left = np.bincount(route[known], (fit.residual**2 * fit.positions)[known], minlength=routes)
    times = np.divide(left, freedom * sigma**2, out=np.ones(routes), where=freedom >= _POOLED)
    found: Floats = np.maximum(times, _LEAST**2)
    return found


class _Values(NamedTuple):
    """A value of each joint, and what counts for it where nothing was read: shapes (joints,)."""

    own: Floats
    unread: Floats
    power: int = 1
    """To which the weights are taken by which it is added up."""
    alike: float = 0.0
    """Values this near to one another, as a part of each, are taken for the same."""


def _values(measured: Readings, scale: Floats, route: Ints) -> list[_Values]:
    """Give what was read to the right and up, the variances of both, and 1 where anything was read.

    Joints that were not read turn as those of their route do.
    """
    read, there = measured.vector, np.isfinite(measured.vector.one)
    (right, right_spread), (up, up_spread) = (_usual(one, route) for one in (read.one, read.other))
    return [
        _Values(np.where(there, read.one, right), right),
        _Values(np.where(there, read.other, up), up),
        _Values(np.where(there, scale * read.variance_one, right_spread), right_spread, 2, _ALIKE),
        _Values(np.where(there, scale * read.variance_other, up_spread), up_spread, 2, _ALIKE),
        _Values(there.astype(np.float64), np.zeros(len(there))),
    ]


class _Summed(NamedTuple):
    """Sums at each turn of readings that stand some joints ahead: shapes (turns,)."""

    right: Floats
    up: Floats
    variance_right: Floats
    variance_up: Floats
    read: Floats
    """The weights of the joints that were read."""


class _Sums:
    """Sums values of joints at each turn: of the joint that turns alone, or of all around a shot by their weights."""

    def __init__(self, shown: _Shown, located: Located, route: Ints, values: Sequence[_Values]) -> None:
        back, ahead = 1.0 - located.weight, located.weight
        self._shown = shown
        self._vertex = located.vertex
        self._route = route
        self._values = values
        shared = bool((shown.shot >= 0).any())
        self._weights = {1: (back, ahead), 2: (back**2, ahead**2)} if shared else {}
        self._some_alone = bool((shown.joint >= 0).any())
        self._as_written = _Summed(*(self(one.own, one.power) for one in values))

    def of_readings(self, rows: int) -> _Summed:
        """Sum readings that stand so many joints ahead; beyond their route what was not read counts."""
        if rows == 0:
            return self._as_written
        # Beyond the last joint of all there is none of any route.
        beyond = np.flatnonzero(_moved(self._route + 1, rows) != self._route + 1)
        found = []
        for one, as_written in zip(self._values, self._as_written, strict=True):
            moved = _moved(one.own, rows)
            moved[beyond] = one.unread[beyond]
            other = moved - one.own
            few = np.flatnonzero(np.abs(other) > one.alike * one.own)
            # Where most joints were read, and as well as those beside them, few change anything.
            if not len(few):
                found.append(as_written)
            elif len(few) * _FEW < len(other):
                found.append(as_written + self(other, one.power, few))
            else:
                found.append(self(moved, one.power))
        return _Summed(*found)

    def __call__(self, values: Floats, power: int = 1, some: Ints | slice = slice(None)) -> Floats:
        """Give the sums, shape (turns,), with the weights taken to a power; of some joints, if all others have 0."""
        alone, shot = self._shown.joint, self._shown.shot
        if not self._weights:
            return values[alone]
        count = max(int(self._vertex.max()) + 2, int(shot.max()) + 1)
        weights = self._weights[power]
        at_shots = _at_each_shot(self._vertex[some], [one[some] for one in weights], values[some], count)[shot]
        return np.where(alone >= 0, values[alone], at_shots) if self._some_alone else at_shots


class _Added(NamedTuple):
    """What readings add up to at each turn: shapes (2, turns), to the right and up, and (turns,)."""

    turned: tuple[Floats, Floats]
    sureness: tuple[Floats, Floats]
    """One over the variance of what the survey shows less what they add up to; 0 where either is not known."""
    without: Floats
    """Squares of what the survey shows, in that variance; NaN where most of the joints were not read."""


def _added(shown: _Shown, summed: _Summed, every: Floats, times: float) -> _Added:
    """Take sums of readings for what the main turns, with so many times what was read."""
    sureness = []
    for known, variance, read in zip(shown.known, shown.variance, summed[2:4], strict=True):
        wide = read * times**2 + variance
        with np.errstate(divide="ignore"):
            sureness.append(np.where(known & (wide > 0.0), 1.0 / wide, 0.0))
    without = shown.turn[0] ** 2 * sureness[0] + shown.turn[1] ** 2 * sureness[1]
    without[summed.read < np.where(shown.joint >= 0, 1.0, _READ * every)] = np.nan
    turned = (summed.right, summed.up) if times == 1.0 else (summed.right * times, summed.up * times)
    return _Added(turned, (sureness[0], sureness[1]), without)


class _Against(NamedTuple):
    """Readings written in some way, held against the survey beside those as written: shapes (turns,)."""

    gain: Floats
    """By how much the survey is likelier so, as a logarithm; 0 where it is not known."""
    left: Floats
    """Squares of what readings leave of each turn; NaN where that is not known of both."""
    without: Floats


def _against(shown: _Shown, as_written: Floats, added: _Added, way: Way) -> _Against:
    left = _left(shown, added, way)
    gain = (as_written - left) / 2.0
    unknown = np.isnan(gain)
    left[unknown], gain[unknown] = np.nan, 0.0
    return _Against(np.clip(gain, -at_odds.AT_ONE, at_odds.AT_ONE, out=gain), left, added.without)


def _left(shown: _Shown, added: _Added, way: Way) -> Floats:
    """Give the squares of what readings leave of each turn, in variances of both, shape (turns,).

    NaN where most of the joints were not read.
    """
    signs = (way.right, way.up)
    right, up = (turn - sign * one for turn, sign, one in zip(shown.turn, signs, added.turned, strict=True))
    found: Floats = right**2 * added.sureness[0] + up**2 * added.sureness[1]
    found[np.isnan(added.without)] = np.nan
    return found


def _moved(values: npt.NDArray[_Kind], rows: int) -> npt.NDArray[_Kind]:
    """Give of each joint the value of that so many ahead; zero where there is none."""
    found = np.zeros_like(values)
    if rows >= 0:
        found[: max(len(values) - rows, 0)] = values[rows:]
    else:
        found[-rows:] = values[:rows]
    return found


def _usual(one: Floats, route: Ints) -> tuple[Floats, Floats]:
    """Give the mean of what was read on each joint's route, for those of its joints that were not, and its variance."""
    known, count = np.isfinite(one), int(route.max()) + 1
    many = np.maximum(np.bincount(route[known], minlength=count), 1)
    mean = np.bincount(route[known], one[known], minlength=count) / many
    square = np.bincount(route[known], (one[known] - mean[route[known]]) ** 2, minlength=count) / many
    return mean[route], square[route]


def _at_each_shot(vertex: Ints, weights: Sequence[Floats], values: Floats | Bools, count: int) -> Floats:
    """Sum values of joints, by their weights at the shot behind and at that ahead of each: shape (count,)."""
    back, ahead = weights
    found: Floats = np.zeros(count)
    found += np.bincount(vertex, back * values, minlength=count)
    if ahead.any():
        found[1:] += np.bincount(vertex, ahead * values, minlength=count)[: count - 1]
    return found


def _could_be(against: Sequence[_Against], route: Ints) -> Bools:
    """Say which turns are of routes on which any way is likely enough over any stretch: shape (turns,)."""
    number = np.cumsum(np.diff(route, prepend=route[0]) != 0)
    first = np.flatnonzero(np.diff(number, prepend=-1))
    least = _SURE + 2.0 * np.log(np.diff(first, append=len(route)))
    found = np.zeros(len(first), dtype=np.bool_)
    for gain, left, without in against:
        # Over a stretch of which readings tell enough, what is added is more than nothing, too.
        told = _UNTOLD * without - left
        told[np.isnan(told)] = 0.0
        total = np.cumsum(gain + told)
        # Each route starts below all that was before it.
        apart = number * (np.ptp(total) + 1.0)
        lowest = np.minimum.accumulate(np.concatenate([[0.0], total[:-1]]) - apart) + apart
        found |= np.maximum.reduceat(total - lowest, first) > least
    of_turns: Bools = found[number]
    return of_turns


def _best(
    gains: Floats, as_written: Floats, left: Floats, without: Floats, terms: Ints
) -> tuple[int, int, int] | None:  # fmt: skip
    """Give the way, and the first and last turn of the stretch, for which most speaks; None where not enough does.

    Readings must tell most of the turns there, too: of those that scatter as the main turns, smaller ones leave less.
    """
    found, most = None, _SURE + 2.0 * np.log(len(as_written))
    for at, gain in enumerate(gains):
        first, last = at_odds.stretch(gain)
        part = slice(first, last + 1)
        count = int(terms[at, part].sum())
        known = np.isfinite(left[at, part])
        before, after, nothing = (float(one[part][known].sum()) for one in (as_written, left[at], without[at]))
        if count < at_odds.FEWEST or after > _AGREE * count or _deviations(before, count) < _CONTRADICT:
            continue
        over_chance = 2.0 * max(after / count, 1.0)
        sure = float(gain[part].sum()) * 2.0 / over_chance
        if sure > most and after < _UNTOLD * nothing:
            found, most = (at, first, last), sure
    return found


def _deviations(squares: float, count: int) -> float:
    """Give by how many standard errors a sum of squares is too large for so many normal deviates.

    Source: Wilson and Hilferty, textbook.
    """
    part = 2.0 / (9.0 * count)
    return float(((squares / count) ** (1.0 / 3.0) - (1.0 - part)) / np.sqrt(part))


def _reach(gain: Floats, first: int, last: int) -> tuple[int, int]:
    """Widen a stretch to where as much speaks for readings as written beside it."""
    back, ahead = np.cumsum(-gain[:first][::-1]), np.cumsum(-gain[last + 1 :])
    least, most = (int(np.argmax(one > _KEPT)) if (one > _KEPT).any() else len(one) for one in (back, ahead))
    return first - least, last + most
