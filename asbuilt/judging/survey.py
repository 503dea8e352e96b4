"""What a survey can tell of the deflection at each joint, and how surely.

A joint that was shot, with both its neighbours, shows its deflection itself. Elsewhere joints share the turns that the
shots show (`shares`): a turn larger than they may make together says that one of them is over, and while the main
curves one way between shots, each has a ceiling.
"""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.judging import deflection, grades, sightings
from asbuilt.judging.around import around_joints, by_chords
from asbuilt.judging.bounds import Measured
from asbuilt.judging.deflection import Segments, Turns
from asbuilt.judging.fittings import Bends, left_over
from asbuilt.judging.over_together import by_grades, overs
from asbuilt.judging.own_turns import own_turns
from asbuilt.judging.shot_turns import ceilings, shot_turns
from asbuilt.judging.shown import Survey
from asbuilt.judging.sightings import Turned
from asbuilt.line.routes import Located

NO_BOUND = np.pi / 2.0
"""A ceiling of more than a right angle bounds nothing that pipes could do."""


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
    legs = survey.legs
    around = around_joints(survey)
    doubted = sightings.doubted(survey.routes, survey.joints, survey.astray)
    errors = survey.errors
    own = own_turns(survey, legs, around, doubted, errors)
    shots = shot_turns(survey, legs, around, doubted, errors, ~own.exact)
    ceiling, most = (np.where(one < NO_BOUND, one, np.nan) for one in ceilings(survey, legs, shots, around))
    over = overs(survey, legs, around, shots, errors, own.exact)
    level = np.where(own.exact, own.turned.level, shots.level[around.one] | shots.level[around.other])
    over = by_grades(survey, over, level & ~survey.bends.there)
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
        survey.in_plan_alone, survey.sigma_along, survey.confidence,
    )  # fmt: skip
    shown, most = (np.where(found.level & ~np.isnan(one), one, 0.0) for one in up)
    bounded = [np.hypot(*both) for both in ((found.ceiling, shown), (found.ceiling_most, most))]
    ceiling, ceiling_most = (np.where(np.isfinite(one), one, np.nan) for one in bounded)
    return found._replace(ceiling=ceiling, ceiling_most=ceiling_most, upward=most)


def as_seen(found: Seen, turned: Turns, survey: Survey) -> Turns:
    """Give turns as the deflections beside them were seen: between the legs at a shot, where these show them.

    Where joints are missing from the log, the straight to the next joint of the log cuts the corner between.

    Parameters
    ----------
    found : Seen
    turned : Turns
        Between the straights to the joints on either side.
    survey : Survey
    """
    one, other = found.at_shots
    rows = np.flatnonzero(one >= 0)
    if len(rows):
        legs, routes = survey.legs, survey.routes
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
    chord = by_chords(~no, straights, bends, np.zeros_like(missing), count)
    rows = np.flatnonzero(chord.exact)
    left, sharing = np.full(count, np.nan), np.ones(count, dtype=np.int64)
    left[rows] = left_over(*straights.facing(chord.before[rows], chord.after[rows]), bends.take(rows))[0]
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


def _stated(survey: Survey, sigma: Floats) -> Floats:
    """Give standard errors where the job states any."""
    none = survey.routes.sigma_horizontal is None and survey.routes.sigma_vertical is None
    return np.full(len(sigma), np.nan) if none else sigma
