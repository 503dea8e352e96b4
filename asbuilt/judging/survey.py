"""What a survey can tell of the deflection at each joint, and how surely.

A joint that was shot, with both its neighbours, shows its deflection itself. Elsewhere joints share the turns that the
shots show (`shares`): a turn larger than they may make together says that one of them is over, and while the main
curves one way between shots, each has a ceiling.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np

from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.judging import bounds, deflection, grades, shares, sightings
from asbuilt.judging.bounds import Measured
from asbuilt.judging.deflection import Segments, Turns
from asbuilt.judging.fittings import Bends, left_over
from asbuilt.judging.shares import Shares
from asbuilt.judging.sightings import ShotErrors, Sighted, Turned
from asbuilt.line.routes import Located, Routes, between

AT = 1e-6
"""Places this near, in coordinate units, are one place."""
STEEPEST = 0.98
"""Where elevations are unknown, a turn in plan is at least this part of itself in space: the cosine of a grade of 20
percent."""
_ROUNDS = 3


@dataclass(frozen=True)
class Survey:
    """What was shot, and what was laid there: shapes (joints,), lengths in coordinate units."""

    routes: Routes
    joints: Sighted
    straights: Segments
    """Between the joints where they were sighted."""
    bends: Bends
    unknown_bend: Bools
    """True for bends without their angle: what turns a stretch with one among its joints, nothing says."""
    missing: Ints
    """Joints that must lie between two joints but are not in the log, shape (segments,)."""
    heights: Bools
    """True where the elevation of the joint's own shot was measured."""
    astray: Bools
    """True for joints shot off the line: where they lie, the line's shots tell nothing of the pipe."""
    allowable: Floats
    """Radians; NaN where no allowable is on file."""
    tolerance: float
    """As for `sightings.sighted`."""
    sigma_along: float
    """Standard error of a joint's place along the line."""
    laying_length: float
    """Coordinate units."""
    confidence: float

    @cached_property
    def along(self) -> Floats:
        """A length in space for every shot of the line, running on from route to route."""
        return sightings.along_lines(self.routes)

    @cached_property
    def place(self) -> Floats:
        """The place of every joint by that length."""
        return between(self.along, self.joints.located)

    @cached_property
    def shares(self) -> Shares:
        """All joints that turn the line, and what each allows; NaN where that is not known."""
        located = self.joints.located
        allowable = _turning(self, np.where(self.unknown_bend, np.nan, self.allowable))
        if len(allowable) > len(located.vertex):
            more, along = _turning(self, self.place)[len(located.vertex) :], self.along
            vertex = np.clip(np.searchsorted(along, more, side="right") - 1, 0, len(along) - 2)
            weight = np.clip((more - along[vertex]) / np.maximum(along[vertex + 1] - along[vertex], AT), 0.0, 1.0)
            located = Located(np.concatenate([located.vertex, vertex]), np.concatenate([located.weight, weight]))
        return Shares(located, allowable, self.sigma_along)


class Seen(NamedTuple):
    """What the survey says of the deflection at each joint: shapes (joints,), angles in radians."""

    exact: Bools
    """True where the survey shows the deflection itself, or what the two joints of a fitting take together."""
    turned: Turned
    """That deflection as a vector, with its errors; NaN where it is not known."""
    slack: Floats
    """By how much that vector may be off, since the joint may lie away from its shot."""
    deflection: Floats
    """What the joint takes; NaN where only bounds are known, at fittings, and at the ends of routes."""
    floor: Floats
    """The least that the largest of the joints sharing the turn takes, at the joint nearest the shot; 0 elsewhere."""
    ceiling: Floats
    """The most that the joint takes, while the main curves one way there; NaN where the survey sets no bound."""
    ceiling_most: Floats
    """The same, at the job's confidence."""
    sigma: Floats
    """Standard error of the turn at the joint; NaN where none is stated."""
    over: Bools
    """True where the joints that share a turn cannot all be within what they allow: at one of them."""
    together: Floats
    """What those joints turn, where they do; NaN elsewhere."""
    together_sigma: Floats
    """Standard error of that turn."""
    room: Floats
    """What they may turn together; NaN elsewhere."""
    shot: Ints
    """The shot at which they turn; -1 elsewhere, and where they were looked at by two shots together."""
    located: Located
    """Where each joint was sighted on the line."""
    at_shots: tuple[Ints, Ints]
    """First and last shot at which each joint's turn was seen, between the legs there; -1 where it was not."""
    level: Bools
    """True where what is known of the joint leaves out the turn upward or downward."""
    upward: Floats
    """The most that it turns upward or downward by the elevations beside it, where `level`; 0 where they do not say,
    infinite where they turn against one another. Part of the ceilings already, but not of `turned`."""
    by_fitting: Bools
    """True where it goes by how a fitting lies."""
    sharing: Ints
    """How many joints share the turn that floor and `over` come from."""
    first: Ints
    """First joint of that stretch."""
    last: Ints
    """Last joint of that stretch."""
    ceiling_first: Ints
    """First joint of the stretch that the ceiling comes from."""
    ceiling_last: Ints
    """Last joint of that stretch."""


def what_it_tells(survey: Survey) -> Seen:
    """Find the deflection at every joint, or its floor and ceiling, with their uncertainties.

    Parameters
    ----------
    survey : Survey

    Returns
    -------
    Seen
    """
    legs = legs_between(survey.routes)
    around = _around(survey)
    doubted = sightings.doubted(survey.routes, survey.joints, survey.astray)
    errors = ShotErrors.of(survey.routes, survey.joints, survey.sigma_along)
    own = _own_turns(survey, legs, around, doubted, errors)
    shots = _shot_turns(survey, legs, around, doubted, errors, ~own.exact)
    ceiling, most = _ceilings(survey, legs, shots, around)
    over = _overs(survey, legs, around, shots, errors, own.exact)
    level = np.where(own.exact, own.turned.level, shots.level[around.one] | shots.level[around.other])
    over = _by_grades(survey, over, level & ~survey.bends.there)
    shared = over.there & (~own.exact | level)
    number, size = np.arange(len(own.exact)), own.turned.measured.size
    bend = survey.bends.there
    # The larger of a fitting's two joints takes at least half of what it leaves them.
    half = np.where(bend, 0.5, 1.0)
    here = around.one, around.other
    known = np.isfinite(own.turn)
    return _with_grades(survey, Seen(
        exact=own.exact,
        turned=own.turned,
        slack=own.slack,
        deflection=np.where(own.exact & ~bend, size, np.nan),
        floor=np.where(own.exact, size * half, np.where(known, over.floor, np.nan)),
        ceiling=np.where(own.exact, size, np.where(known, ceiling, np.nan)),
        ceiling_most=np.where(known & ~own.exact, most, np.nan),
        sigma=_stated(survey, own.sigma),
        over=shared,
        together=over.turn,
        together_sigma=over.sigma,
        room=over.room,
        shot=over.shot,
        located=survey.joints.located,
        at_shots=(np.where(own.by_legs, around.one, -1), np.where(own.by_legs, around.other, -1)),
        level=level,
        upward=np.zeros(len(own.exact)),
        by_fitting=np.where(own.exact, bend, shots.fitted[here[0]] | shots.fitted[here[1]]),
        sharing=np.where(own.exact & ~shared, 1, over.sharing),
        first=np.where(own.exact & ~shared, number, over.first),
        last=np.where(own.exact & ~shared, number, over.last),
        ceiling_first=np.where(own.exact, number, around.first[around.one]),
        ceiling_last=np.where(own.exact, number, around.last[around.other]),
    ))  # fmt: skip


def _with_grades(survey: Survey, found: Seen) -> Seen:
    """Let measured elevations beside a joint bound its turn upward or downward, where its own leave that out."""
    if not found.level.any():
        return found
    up = grades.upward(
        survey.routes, survey.joints.located, survey.shares.located, survey.bends.there | survey.unknown_bend,
        survey.sigma_along, survey.confidence,
    )  # fmt: skip
    shown, most = (np.where(found.level & ~np.isnan(one), one, 0.0) for one in up)
    ceilings = [np.hypot(*both) for both in ((found.ceiling, shown), (found.ceiling_most, most))]
    ceiling, ceiling_most = (np.where(np.isfinite(one), one, np.nan) for one in ceilings)
    return found._replace(ceiling=ceiling, ceiling_most=ceiling_most, upward=most)


def as_seen(found: Seen, turned: Turns, routes: Routes) -> Turns:
    """Give turns as the deflections beside them were seen: between the legs at a shot, where these show them.

    Where joints are missing from the log, the straight to the next joint of the log cuts the corner between.

    Parameters
    ----------
    found : Seen
    turned : Turns
        Between the straights to the joints on either side.
    routes : Routes
    """
    one, other = found.at_shots
    rows = np.flatnonzero(one >= 0)
    if len(rows):
        legs = legs_between(routes)
        before, after = one[rows] - 1 - routes.vertex_route[one[rows]], other[rows] - routes.vertex_route[other[rows]]
        turn, horizontal, vertical = (part.copy() for part in turned)
        turn[rows] = deflection.angle_between(*legs.facing(before, after))
        horizontal[rows] = deflection.wrapped(legs.azimuth[after] - legs.azimuth[before])
        vertical[rows] = legs.inclination[after] - legs.inclination[before]
        turned = Turns(turn, horizontal, vertical)
    return deflection.level_where(turned, found.level)


def unbounded(found: Seen, where: Bools) -> Seen:
    """Let the survey set no bounds to some joints, such as those whose turns rest on a shot that is doubted.

    Parameters
    ----------
    found : Seen
    where : array of bool, shape (joints,)
    """
    unsaid = where & np.isfinite(found.floor)
    if not unsaid.any():
        return found
    measured = replace(found.turned.measured, one=np.where(unsaid, np.nan, found.turned.measured.one))
    return found._replace(
        exact=found.exact & ~unsaid,
        turned=replace(found.turned, measured=measured),
        deflection=np.where(unsaid, np.nan, found.deflection),
        floor=np.where(unsaid, 0.0, found.floor),
        ceiling=np.where(unsaid, np.nan, found.ceiling),
        ceiling_most=np.where(unsaid, np.nan, found.ceiling_most),
        over=found.over & ~unsaid,
        shot=np.where(unsaid, -1, found.shot),
    )


def as_drawn(turns: Turns, straights: Segments, bends: Bends, missing: Ints) -> Seen:
    """Give what a line that nobody shot says of the deflection at each joint: the pipe is taken to lie on it.

    Parameters
    ----------
    turns, straights
        At, and between, the joints.
    bends : Bends
    missing : array of int, shape (segments,)
        Joints that must lie between two joints but are not in the log: they share the turns beside them.

    Returns
    -------
    Seen
    """
    count = len(turns.turn)
    number, none, no = np.arange(count), np.zeros(count), np.zeros(count, dtype=np.bool_)
    chord = _by_chords(~no, straights, bends, np.zeros_like(missing), count)
    rows = np.flatnonzero(chord.exact)
    left, sharing = np.full(count, np.nan), np.ones(count, dtype=np.int64)
    left[rows] = left_over(*straights.facing(chord.before[rows], chord.after[rows]), _some(bends, rows))[0]
    sharing[rows] += missing[chord.before[rows]] + missing[chord.after[rows]]
    exact = np.isfinite(left) & (sharing == 1)
    part, nan = np.where(bends.there, left / 2.0, left), np.full(count, np.nan)
    turned = Turned(Measured(np.where(exact, left, np.nan), none, none, none, none), none, np.zeros((count, 3)), no)
    return Seen(
        exact=exact, turned=turned, slack=none, deflection=np.where(exact & ~bends.there, left, np.nan),
        floor=part / sharing, ceiling=left, ceiling_most=np.where(exact, np.nan, left), sigma=nan, over=no,
        together=nan, together_sigma=nan, room=nan, shot=np.full(count, -1),
        located=Located(np.zeros(count, dtype=np.int64), none), at_shots=(np.full(count, -1), np.full(count, -1)),
        level=np.isnan(turns.vertical), upward=none, by_fitting=bends.there, sharing=sharing, first=number,
        last=number, ceiling_first=number, ceiling_last=number,
    )  # fmt: skip


class _Around(NamedTuple):
    """Shots around each joint (joints,), and what lies around each shot (vertices,)."""

    one: Ints
    """The shot at which the joint's turn is seen, or the one before it."""
    other: Ints
    """The shot at which the joint's turn is seen, or the one after it."""
    hidden: Bools
    """True where no one shot shows the turn of a bend: it lies between two shots, or both its ends were shot."""
    inner: Bools
    """True for shots that have a shot on either side."""
    sharing: Ints
    """Joints strictly between the shots on either side of each shot; a bend counts twice."""
    between: Ints
    """Joints strictly between the shots before and after those of each joint, likewise (joints,)."""
    first: Ints
    last: Ints


class _Chords(NamedTuple):
    """The straights on either side of each joint, or of its fitting: shapes (joints,)."""

    turn: Floats
    """NaN where there is no straight on one side."""
    before: Ints
    after: Ints
    exact: Bools
    """True where all joints that those straights run between were shot, and none is missing from the log."""


class _Own(NamedTuple):
    """What the survey shows of each joint by itself: shapes (joints,)."""

    exact: Bools
    turned: Turned
    turn: Floats
    sigma: Floats
    slack: Floats
    by_legs: Bools
    """True where the turn was seen between the legs at one shot, or at both ends of a fitting."""


class _Shots(NamedTuple):
    """What the joints around each shot turn together: shapes (vertices,)."""

    seen: Measured
    axis: Floats
    usable: Bools
    level: Bools
    fitted: Bools
    """True where a fitting was taken out of the turn."""


class _Overs(NamedTuple):
    """Floors under the largest deflection, and where joints are over together, at one joint each: shapes (joints,)."""

    floor: Floats
    there: Bools
    turn: Floats
    sigma: Floats
    room: Floats
    shot: Ints
    sharing: Ints
    first: Ints
    last: Ints


def _around(survey: Survey) -> _Around:
    routes, joints = survey.routes, survey.joints
    along = sightings.along_lines(routes)
    place = between(along, joints.located)
    one = joints.located.vertex + (joints.at & (joints.located.weight > 0.5))
    other = np.where(joints.at, one, one + 1)
    hidden = np.zeros(len(place), dtype=np.bool_)
    fitting = np.flatnonzero(survey.bends.there)
    if len(fitting):
        one[fitting], other[fitting], hidden[fitting] = _around_fittings(
            along, between(along, joints.logged), survey.bends, fitting, survey.tolerance
        )
    inner = np.zeros(len(along), dtype=np.bool_)
    inner[1:-1] = routes.vertex_route[2:] == routes.vertex_route[:-2]
    number = np.arange(len(along))
    # Joints at a shot lie on it exactly.
    low = along[np.maximum(number - 1, 0)] + AT
    high = along[np.minimum(number + 1, len(along) - 1)] - AT
    first, end = np.searchsorted(place, low, side="right"), np.searchsorted(place, high, side="left")
    counted = np.sort(_turning(survey, place))
    sharing = np.searchsorted(counted, high, side="left") - np.searchsorted(counted, low, side="right")
    return _Around(
        one=one,
        other=other,
        hidden=hidden,
        inner=inner,
        sharing=np.maximum(sharing, 0),
        between=np.searchsorted(counted, high[other], side="left") - np.searchsorted(counted, low[one], side="right"),
        first=np.minimum(first, len(place) - 1),
        last=np.maximum(end - 1, 0),
    )


def _around_fittings(
    along: Floats, place: Floats, bends: Bends, fitting: Ints, tolerance: float
) -> tuple[Ints, Ints, Bools]:
    """Give the first and last shot on each fitting, or else the shots around it, and whether one shot shows its turn.

    A fitting may be shot at its center, at its ends, or not at all.
    """
    mate = np.where(bends.other_end[fitting] >= 0, bends.other_end[fitting], fitting)
    center, half = (place[fitting] + place[mate]) / 2.0, np.abs(place[fitting] - place[mate]) / 2.0
    first = np.searchsorted(along, center - half - tolerance, side="left")
    last = np.searchsorted(along, center + half + tolerance, side="right") - 1
    before = np.clip(np.searchsorted(along, center, side="right") - 1, 0, len(along) - 2)
    on_it = first <= last
    return np.where(on_it, first, before), np.where(on_it, last, before + 1), first != last


def _turning(survey: Survey, values: Floats) -> Floats:
    """Give a value for all joints that turn the line: logged ones, second joints of fittings, and missing ones.

    Values of missing joints lie evenly between those of the joints beside them.
    """
    more = [values]
    alone = survey.bends.there & (survey.bends.other_end < 0)
    if alone.any():
        more.append(values[alone])
    if survey.missing.any():
        gap = np.flatnonzero(survey.missing)
        count = survey.missing[gap]
        part = (np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count) + 1) / np.repeat(count + 1, count)
        start, end = values[survey.straights.back[gap]], values[survey.straights.back[gap] + 1]
        more.append(np.repeat(start, count) + part * np.repeat(end - start, count))
    return np.concatenate(more) if len(more) > 1 else values


def _own_turns(survey: Survey, legs: Segments, around: _Around, doubted: Bools, errors: ShotErrors) -> _Own:
    joints, bends, straights = survey.joints, survey.bends, survey.straights
    one, other = around.one, around.other
    # A straight to one of two shots at a fitting's ends would cut the fitting's corner.
    cut = (one < other) & bends.there & (bends.other_end < 0)
    chord = _by_chords(joints.shot & ~cut, straights, bends, survey.missing, len(one))
    inner = around.inner[one] & around.inner[other] & np.isfinite(chord.turn)
    alone = around.between <= np.where(bends.there, 2, 1)
    by_legs = ~chord.exact & inner & alone & ~doubted[one] & ~doubted[other] & _apart_from_missing(survey, around)
    found = _blank(len(one))
    rows = np.flatnonzero(np.isfinite(chord.turn) & ~by_legs)
    pairs = sightings.between_joints(
        survey.routes, joints, straights, survey.heights, chord.before[rows], chord.after[rows]
    )
    _fill(found, rows, sightings.turned(pairs, _some(bends, rows), errors))
    rows = np.flatnonzero(by_legs)
    if len(rows):
        pairs = sightings.between_shots(survey.routes, legs, one[rows], other[rows])
        _fill(found, rows, sightings.turned(pairs, _some(bends, rows), errors))
    exact = (chord.exact | by_legs) & np.isfinite(found.measured.one)
    sigma = np.sqrt(found.measured.variance_one)
    found.measured.one[~exact] = np.nan
    slack = _slack(survey, found.measured.size, chord.exact & exact)
    return _Own(exact, found, chord.turn, sigma, slack, by_legs & exact)


def _apart_from_missing(survey: Survey, around: _Around) -> Bools:
    """Say which joints have no joint that the log lacks on the legs beside them, wherever it lies (joints,).

    Of m joints missing in a straight, one of pipes no longer than a laying length, the nearest to either of its ends
    may be as near as m lengths leave it.
    """
    clear = np.ones(len(around.one), dtype=np.bool_)
    at = np.flatnonzero(survey.missing)
    if not len(at):
        return clear
    back, along, last = survey.straights.back[at], survey.along, len(survey.along) - 1
    nearest = np.maximum(survey.straights.length[at] - survey.missing[at] * survey.laying_length, 0.0)
    reach = along[np.minimum(around.other[back] + 1, last)] - survey.place[back]
    clear[back] &= nearest >= reach - survey.tolerance
    reach = survey.place[back + 1] - along[np.maximum(around.one[back + 1] - 1, 0)]
    clear[back + 1] &= nearest >= reach - survey.tolerance
    return clear


def _slack(survey: Survey, size: Floats, exact: Bools) -> Floats:
    """Give how far a turn may be from the deflection of a joint that may lie away from the shot taken to be its own.

    A joint at the part e of a straight's length from its shot shows the part 1 - e of its deflection there, and the
    part e at the other end of the straight; a fitting so shows its angle, too.
    """
    off = survey.joints.off_the_shot(survey.along)
    slack: Floats = np.zeros(len(size))
    if not off.any():
        return slack
    back, ahead = survey.straights.back, survey.straights.back + 1
    length = np.where(survey.bends.other_end[back] == ahead, np.inf, np.maximum(survey.straights.length, AT))
    from_back, from_ahead = np.maximum(off[back], 0.0) / length, np.maximum(-off[ahead], 0.0) / length
    angle = np.nan_to_num(survey.bends.angle)
    for _ in range(_ROUNDS):
        largest = np.nan_to_num(np.where(exact, size + slack, survey.allowable)) + angle
        moved = from_back * largest[back] + from_ahead * largest[ahead]
        slack = np.zeros(len(size))
        slack += np.bincount(back, moved, minlength=len(size)) + np.bincount(ahead, moved, minlength=len(size))
    return np.where(exact, slack, 0.0)


def _shot_turns(
    survey: Survey, legs: Segments, around: _Around, doubted: Bools, errors: ShotErrors, open_joints: Bools
) -> _Shots:
    """Give what the joints around each shot turn together; only at shots near joints that need it."""
    count = len(around.inner)
    needed = np.zeros(count + 2, dtype=np.bool_)
    for shot in (around.one[open_joints], around.other[open_joints]):
        needed[shot] = needed[shot + 1] = needed[shot + 2] = True
    # What a fitting between two shots turned cannot be told from what the joints did.
    blind = doubted.copy()
    for shot in (around.one, around.one + 1, around.other):
        blind[shot[around.hidden].clip(max=count - 1)] = True
    vertex = np.flatnonzero(around.inner & needed[1:-1] & ~blind)
    fitted = _at_shots(around, survey.bends, vertex)
    found = _blank(count)
    _fill(found, vertex, sightings.turned(sightings.between_shots(survey.routes, legs, vertex, vertex), fitted, errors))
    usable, has_fitting = np.isfinite(found.measured.one), np.zeros(count, dtype=np.bool_)
    has_fitting[vertex] = fitted.there
    found.measured.one[~usable] = 0.0
    return _Shots(found.measured, found.axis, usable, found.level, has_fitting)


def _ceilings(survey: Survey, legs: Segments, shots: _Shots, around: _Around) -> tuple[Floats, Floats]:
    """Give each joint's ceiling while the main curves one way: as the turns show it, and at the job's confidence."""
    count, located = len(around.one), survey.joints.located
    ceilings = np.full(count, np.nan), np.full(count, np.nan)
    if not shots.usable.any():
        return ceilings
    length, same_route = _leg_lengths(survey.routes, legs)
    # Shots that show no turn, and the joints between them, have no part in it.
    kept = shots.usable.copy()
    kept[:-1] |= shots.usable[1:]
    kept[1:] |= shots.usable[:-1]
    vertex, number = np.flatnonzero(kept), np.cumsum(kept) - 1
    same_route = (same_route & np.append(kept[1:], False))[vertex]
    some, _ = _among(survey.shares.located, kept, number)
    joined = Shares(some, np.zeros(len(some.vertex)), survey.sigma_along)
    inside, rows = _among(located, kept, number)
    seen, axis, usable = shots.seen.take(vertex), shots.axis[vertex], shots.usable[vertex]
    none = np.zeros(len(vertex))
    plain = replace(seen, variance_one=none, variance_other=none, covariance=none)
    for found, turns, sharing in ((ceilings[0], plain, replace(joined, sigma=0.0)), (ceilings[1], seen, joined)):
        bound = shares.one_way(turns, axis, usable, sharing, same_route, length[vertex], survey.confidence, seen)
        most = bound.ceilings(inside)
        found[rows] = np.where(np.isfinite(most) & ~around.hidden[rows], most, np.nan)
    return ceilings


def _among(located: Located, kept: Bools, number: Ints) -> tuple[Located, Ints]:
    """Give the joints at, or between, shots that are kept, with new numbers of these; and which they are."""
    last = located.weight == 1.0
    vertex, weight = located.vertex + last, np.where(last, 0.0, located.weight)
    rows = np.flatnonzero(kept[vertex] & ((weight == 0.0) | kept[np.minimum(vertex + 1, len(kept) - 1)]))
    return Located(number[vertex[rows]], weight[rows]), rows


def _overs(
    survey: Survey, legs: Segments, around: _Around, shots: _Shots, errors: ShotErrors, exact: Bools
) -> _Overs:  # fmt: skip
    """Find turns larger than the joints that share them may make, at single shots and at pairs of them."""
    count = len(exact)
    turn, sigma, room = (np.full(count, np.nan) for _ in range(3))
    found = _Overs(
        np.zeros(count), np.zeros(count, dtype=np.bool_), turn, sigma, room, np.full(count, -1),
        np.ones(count, dtype=np.int64), np.arange(count), np.arange(count),
    )  # fmt: skip
    free = np.flatnonzero(~exact)
    if not len(free):
        return found
    along, place = survey.along, survey.place
    length, _ = _leg_lengths(survey.routes, legs)
    joined = shares.room(survey.shares, length)
    one = np.flatnonzero(shots.usable & (around.last >= around.first) & (joined.weight > 0))
    single = _Turning(
        shots.seen.take(one), shots.level[one], joined.most[one], joined.weight[one], joined.variance[one],
        around.first[one], around.last[one], around.sharing[one], along[one], one,
    )  # fmt: skip
    # Two looks at each turn, alone and with the next: each at half of the error.
    confidence = 1.0 - (1.0 - survey.confidence) / 2.0
    _put(found, single, place, free, confidence, floors=True)
    quiet = shots.usable & ~shots.fitted
    two = np.flatnonzero(quiet[:-1] & quiet[1:] & (survey.routes.vertex_route[1:] == survey.routes.vertex_route[:-1]))
    if len(two):
        pairs = sightings.between_shots(survey.routes, legs, two, two + 1)
        both = sightings.turned(pairs, sightings.without_bends(len(two)), errors)
        double = _Turning(
            both.measured, both.level, joined.most[two] + joined.most[two + 1],
            joined.weight[two] + joined.weight[two + 1], joined.variance[two] + joined.variance[two + 1],
            around.first[two], np.maximum(around.last[two], around.last[two + 1]),
            around.sharing[two] + around.sharing[two + 1], (along[two] + along[two + 1]) / 2.0,
            np.full(len(two), -1),
        )  # fmt: skip
        _put(found, double, place, free, confidence, floors=False)
    return found


def _by_grades(survey: Survey, found: _Overs, open_joints: Bools) -> _Overs:
    """Find changes of grade between measured elevations that are larger than the joints there may turn together.

    At joints of which the survey leaves out the turn upward or downward, and where nothing is over by itself.
    """
    free = np.flatnonzero(open_joints)
    if not len(free):
        return found
    seen = grades.breaks(
        survey.routes, survey.joints.located, survey.shares, survey.bends.there | survey.unknown_bend
    )  # fmt: skip
    along, place, counted = survey.along, survey.place, np.sort(_turning(survey, survey.place))
    low, high = along[seen.back] + AT, along[seen.ahead] - AT
    first, end = np.searchsorted(place, low, side="right"), np.searchsorted(place, high, side="left")
    sharing = np.searchsorted(counted, high, side="left") - np.searchsorted(counted, low, side="right")
    rows = np.flatnonzero(end > first)
    turns = _Turning(
        seen.change.take(rows), np.zeros(len(rows), dtype=np.bool_), seen.room[rows], seen.weight[rows],
        seen.variance[rows], first[rows], end[rows] - 1, sharing[rows], along[seen.vertex[rows]],
        np.full(len(rows), -1),
    )  # fmt: skip
    _put(found, turns, place, free, 1.0 - (1.0 - survey.confidence) / 2.0, floors=False)
    return found


class _Turning(NamedTuple):
    """Turns and the joints that share them: shapes (turns,)."""

    seen: Measured
    level: Bools
    room: Floats
    weight: Floats
    variance: Floats
    first: Ints
    last: Ints
    sharing: Ints
    place: Floats
    shot: Ints


def _put(found: _Overs, turns: _Turning, place: Floats, free: Ints, confidence: float, *, floors: bool) -> None:
    """Give each turn to the joint nearest to it that was not measured itself; where several are, the largest counts."""
    off = np.where(np.isnan(turns.variance), 0.0, turns.variance)
    seen = replace(
        turns.seen, variance_one=turns.seen.variance_one + off, variance_other=turns.seen.variance_other + off
    )
    factor = bounds.factor_outside(seen, np.nan_to_num(turns.room), confidence)
    least = bounds.least(seen, factor) * np.where(turns.level, STEEPEST, 1.0)
    over = least > turns.room + np.radians(deflection.ROUNDING_DEG)
    excess = np.where(over, 1e3 + turns.seen.size, turns.seen.size / np.maximum(turns.weight, AT))
    order = np.argsort(excess, kind="stable")
    at = np.searchsorted(place[free], turns.place[order]).clip(1, max(len(free) - 1, 1))
    back, ahead = free[at - 1], free[np.minimum(at, len(free) - 1)]
    closer = turns.place[order] - place[back] <= place[ahead] - turns.place[order]
    joint = np.where(closer, back, ahead)
    inside = (joint >= turns.first[order]) & (joint <= turns.last[order])
    swapped = np.where(closer, ahead, back)
    joint = np.where(inside, joint, swapped)
    inside = (joint >= turns.first[order]) & (joint <= turns.last[order])
    told = np.concatenate([[0], np.cumsum(found.there)])
    # Two shots together say more only where neither of them does by itself.
    new = told[turns.last[order] + 1] == told[turns.first[order]]
    chosen = inside if floors else inside & over[order] & new
    joint, rows = joint[chosen], order[chosen]
    if floors:
        found.floor[joint] = turns.seen.size[rows] / turns.weight[rows]
    found.there[joint] = over[rows]
    found.turn[joint], found.room[joint] = turns.seen.size[rows], turns.room[rows]
    found.sigma[joint], found.shot[joint] = np.sqrt(turns.seen.variance_one[rows]), turns.shot[rows]
    found.sharing[joint], found.first[joint], found.last[joint] = (
        turns.sharing[rows], turns.first[rows], turns.last[rows]
    )  # fmt: skip


def _by_chords(shot: Bools, straights: Segments, bends: Bends, missing: Ints, count: int) -> _Chords:
    middle, before, after = straights.adjacent
    none = np.full(count, -1, dtype=np.int64)
    back, ahead, turn = none.copy(), none.copy(), np.full(count, np.nan)
    back[middle], ahead[middle] = before, after
    pair = np.flatnonzero(bends.other_end >= 0)
    # A fitting logged by its ends: its joints share the turn from the straight before it to the one after it.
    leading = pair[bends.other_end[pair] > pair]
    trailing = bends.other_end[leading]
    ahead[leading], back[trailing] = ahead[trailing], back[leading]
    whole = np.flatnonzero((back >= 0) & (ahead >= 0))
    turn[whole] = deflection.angle_between(*straights.facing(back[whole], ahead[whole]))
    sound = shot[straights.back] & shot[straights.back + 1] & (missing == 0)
    exact = np.zeros(count, dtype=np.bool_)
    exact[whole] = sound[back[whole]] & sound[ahead[whole]] & np.isfinite(turn[whole])
    return _Chords(turn, back, ahead, exact)


def _at_shots(around: _Around, bends: Bends, vertex: Ints) -> Bends:
    """Give the fitting at each of some shots."""
    number = np.full(len(around.inner), -1, dtype=np.int64)
    there = np.flatnonzero(bends.there & ~around.hidden)
    number[around.one[there]] = there
    if not len(there):
        return sightings.without_bends(len(vertex))
    found = _some(bends, number[vertex])
    return found._replace(angle=np.where(number[vertex] >= 0, found.angle, np.nan))


def _stated(survey: Survey, sigma: Floats) -> Floats:
    """Give standard errors where the job states any."""
    none = survey.routes.sigma_horizontal is None and survey.routes.sigma_vertical is None
    return np.full(len(sigma), np.nan) if none else sigma


def legs_between(routes: Routes) -> Segments:
    """Lay the legs between successive shots."""
    route = routes.vertex_route
    ahead = np.flatnonzero(route[1:] == route[:-1])
    return deflection.segments(ahead, routes.easting, routes.northing, routes.elevation)


def _leg_lengths(routes: Routes, legs: Segments) -> tuple[Floats, Bools]:
    """Give the length of the leg ahead of each shot, and whether there is one."""
    length, there = np.ones(len(routes.easting)), np.zeros(len(routes.easting), dtype=np.bool_)
    length[legs.back], there[legs.back] = legs.length, True
    return length, there


def _blank(count: int) -> Turned:
    nan = [np.full(count, np.nan) for _ in range(4)]
    zero = np.zeros(count)
    measured = Measured(nan[0], zero, nan[1], nan[2], nan[3])
    return Turned(measured, np.zeros(count), np.zeros((count, 3)), np.zeros(count, dtype=np.bool_))


def _fill(into: Turned, rows: Ints, found: Turned) -> None:
    for name in ("one", "variance_one", "variance_other", "covariance"):
        getattr(into.measured, name)[rows] = getattr(found.measured, name)
    into.toward[rows], into.axis[rows], into.level[rows] = found.toward, found.axis, found.level


def _some(bends: Bends, rows: Ints) -> Bends:
    return Bends(bends.angle[rows], bends.roll[rows], bends.either_way[rows], bends.other_end[rows])
