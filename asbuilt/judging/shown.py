"""What was shot of a main, and what was laid there: all that the survey's part of the judgement looks at."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.judging import deflection
from asbuilt.judging.deflection import Segments
from asbuilt.judging.fittings import Bends
from asbuilt.judging.shares import Shares
from asbuilt.judging.sightings import ShotErrors, Sighted
from asbuilt.line.routes import Located, Routes, between

AT = 1e-6
"""Places this near, in coordinate units, are one place."""


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
        return self.routes.along

    @property
    def in_plan_alone(self) -> Bools:
        """Joints that were shot by themselves, without an elevation, shape (joints,)."""
        return self.joints.own & ~self.heights

    @cached_property
    def place(self) -> Floats:
        """The place of every joint by that length."""
        return between(self.along, self.joints.located)

    @cached_property
    def legs(self) -> Segments:
        """The legs between successive shots."""
        route = self.routes.vertex_route
        ahead = np.flatnonzero(route[1:] == route[:-1])
        return deflection.segments(ahead, self.routes.easting, self.routes.northing, self.routes.elevation)

    @cached_property
    def errors(self) -> ShotErrors:
        """The errors of the shots."""
        return ShotErrors.of(self.routes, self.joints, self.sigma_along)

    @cached_property
    def shares(self) -> Shares:
        """All joints that turn the line, and what each allows; NaN where that is not known."""
        located = self.joints.located
        allowable = turning(self, np.where(self.unknown_bend, np.nan, self.allowable))
        if len(allowable) > len(located.vertex):
            more, along = turning(self, self.place)[len(located.vertex) :], self.along
            vertex = np.clip(np.searchsorted(along, more, side="right") - 1, 0, len(along) - 2)
            weight = np.clip((more - along[vertex]) / np.maximum(along[vertex + 1] - along[vertex], AT), 0.0, 1.0)
            located = Located(np.concatenate([located.vertex, vertex]), np.concatenate([located.weight, weight]))
        return Shares(located, allowable, self.sigma_along)


def turning(survey: Survey, values: Floats) -> Floats:
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


def leg_lengths(routes: Routes, legs: Segments) -> tuple[Floats, Bools]:
    """Give the length of the leg ahead of each shot, and whether there is one."""
    length, there = np.ones(len(routes.easting)), np.zeros(len(routes.easting), dtype=np.bool_)
    length[legs.back], there[legs.back] = legs.length, True
    return length, there
