"""Lines, circular curves and spirals in plan, and grades, parabolas and arcs in profile.

Pieces of all routes are flat arrays, and points on them are found for all joints at one time: on the curve itself,
not on its chord.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np

from asbuilt.arrays import Floats, Ints

TURN_PER_PART = np.pi / 2
"""A spiral is integrated in parts that turn no more than this, radians; 10 nodes then reach full precision."""
LEAST_PIECE = 1e-6
"""A piece that is cut is no shorter, coordinate units."""
GRADE_PER_PART = 0.002
"""A vertical curve is measured in parts whose grade changes no more: their slope length is then true to 2e-7 of it."""
NODES, WEIGHTS = np.polynomial.legendre.leggauss(10)


@dataclass(frozen=True)
class Pieces:
    """Pieces of alignments in plan: shapes (pieces,), lengths in coordinate units, curvature 1 / unit.

    Curvature is that of a right turn where positive, 0 on a line, constant on a circular curve, and changes
    evenly with length on a spiral (clothoid).
    """

    distance: Floats
    """Distance of each piece's start from its route's start."""
    easting: Floats
    northing: Floats
    azimuth: Floats
    """Direction at the start, radians clockwise from grid north."""
    curvature_start: Floats
    curvature_end: Floats
    length: Floats

    def part(self, start: int, stop: int) -> Pieces:
        """Give successive pieces, from `start` up to, and without, `stop`."""
        return Pieces(*(getattr(self, one.name)[start:stop] for one in fields(self)))

    def locate(self, piece: Ints, along: Floats) -> tuple[Floats, Floats, Floats]:
        """Find points on pieces, with the direction of the line there.

        Parameters
        ----------
        piece : array of int, shape (n,)
            The piece that holds each point.
        along : array, shape (n,)
            Distance from the start of the piece, coordinate units.

        Returns
        -------
        easting, northing : array, shape (n,)
        azimuth : array, shape (n,)
            Radians clockwise from grid north, in [0, 2 pi).

        Examples
        --------
        A quarter of a circle of radius 100 to the right, from due north to due east:

        >>> one = np.ones(1)
        >>> curve = Pieces(0 * one, 0 * one, 0 * one, 0 * one, one / 100, one / 100, one * 50 * np.pi)
        >>> easting, northing, azimuth = curve.locate(np.array([0]), np.array([50 * np.pi]))
        >>> easting.round(9).tolist(), northing.round(9).tolist(), np.degrees(azimuth).round(9).tolist()
        ([100.0], [100.0], [90.0])
        """
        forward, right, turn = np.array(along, dtype=np.float64), np.zeros(len(piece)), np.zeros(len(piece))
        curved = np.flatnonzero(((self.curvature_start != 0) | (self.curvature_end != 0))[piece])
        if len(curved):
            on = piece[curved]
            forward[curved], right[curved], turn[curved] = tangent_offsets(
                self.curvature_start[on], self.curvature_end[on], self.length[on], forward[curved]
            )
        to_east, to_north = np.sin(self.azimuth)[piece], np.cos(self.azimuth)[piece]
        easting = self.easting[piece] + forward * to_east + right * to_north
        northing = self.northing[piece] + forward * to_north - right * to_east
        return easting, northing, (self.azimuth[piece] + turn) % (2 * np.pi)

    def cut(self, distance: Floats) -> Pieces:
        """Cut the pieces of one route at distances from its start: the same line in more pieces.

        Parameters
        ----------
        distance : array, shape (n,)
            In any order; those that lie at an end of a piece already, to a millionth of a unit, cut nothing.

        Examples
        --------
        >>> one = np.ones(1)
        >>> curve = Pieces(0 * one, 0 * one, 0 * one, 0 * one, one / 100, one / 100, one * 50 * np.pi)
        >>> halves = curve.cut(np.array([25 * np.pi]))
        >>> np.degrees(halves.azimuth).round(9).tolist(), halves.length.round(6).tolist()
        ([0.0, 45.0], [78.539816, 78.539816])
        """
        piece = np.clip(np.searchsorted(self.distance, distance, side="right") - 1, 0, None)
        along = distance - self.distance[piece]
        inside = (along > LEAST_PIECE) & (self.length[piece] - along > LEAST_PIECE)
        number = np.concatenate([np.arange(len(self.length)), piece[inside]])
        along = np.concatenate([np.zeros(len(self.length)), along[inside]])
        order = np.lexsort((along, number))
        number, along = number[order], along[order]
        kept = np.append(True, (np.diff(number) > 0) | (np.diff(along) > LEAST_PIECE))
        number, along = number[kept], along[kept]
        until = np.where(np.append(np.diff(number) > 0, True), self.length[number], np.append(along[1:], 0.0))
        easting, northing, azimuth = self.locate(number, along)
        change = (self.curvature_end - self.curvature_start)[number] / self.length[number]
        bent = self.curvature_start[number]
        return Pieces(
            self.distance[number] + along, easting, northing, azimuth, bent + change * along, bent + change * until,
            until - along,
        )  # fmt: skip


def join_pieces(parts: Sequence[Pieces]) -> Pieces:
    """Put the pieces of several routes into one set of arrays, in order.

    Parameters
    ----------
    parts : sequence of Pieces
        At least one.
    """
    return Pieces(*(np.concatenate([getattr(part, field.name) for part in parts]) for field in fields(Pieces)))


def tangent_offsets(
    curvature_start: Floats, curvature_end: Floats, length: Floats, along: Floats
) -> tuple[Floats, Floats, Floats]:
    """Give the place of points on curves as seen along the tangent at the curve's start.

    Parameters
    ----------
    curvature_start, curvature_end : array, shape (n,)
        Of the whole curve, right turn positive, 1 / unit.
    length : array, shape (n,)
        Of the whole curve.
    along : array, shape (n,)
        Distance of the point from the curve's start.

    Returns
    -------
    forward : array, shape (n,)
        Distance along the tangent.
    right : array, shape (n,)
        Offset from the tangent, right positive.
    turn : array, shape (n,)
        Turn from the tangent at the start, radians, right positive.

    Examples
    --------
    A spiral from a line to radius 200 in 60 turns 60 / (2 x 200) radians; its offset is near 60**2 / (6 x 200).

    >>> forward, right, turn = (float(value[0]) for value in tangent_offsets(
    ...     np.array([0.0]), np.array([1 / 200]), np.array([60.0]), np.array([60.0])))
    >>> round(forward, 4), round(right, 4), round(turn, 6)
    (59.8651, 2.9952, 0.15)
    """
    change = (curvature_end - curvature_start) / length
    turn = along * (curvature_start + change * along / 2)
    # The chord of an arc leaves its tangent at half the turn; in this form nothing cancels on flat curves.
    chord = along * np.sinc(turn / (2 * np.pi))
    forward, right = chord * np.cos(turn / 2), chord * np.sin(turn / 2)
    spiral = np.flatnonzero(change)
    if len(spiral):
        forward[spiral], right[spiral] = _integrate(curvature_start[spiral], change[spiral], along[spiral])
    return forward, right, turn


def _integrate(curvature: Floats, change: Floats, along: Floats) -> tuple[Floats, Floats]:
    """Integrate the direction along spirals: Gauss-Legendre, over as many parts as the turn asks for."""
    sharpest = np.maximum(np.abs(curvature), np.abs(curvature + change * along))
    parts = np.maximum(np.ceil(sharpest * np.abs(along) / TURN_PER_PART), 1).astype(np.int64)
    first = np.cumsum(parts) - parts
    number = np.arange(parts.sum()) - np.repeat(first, parts)
    half = np.repeat(along / parts / 2, parts)
    curvature, change = np.repeat(curvature, parts), np.repeat(change, parts)
    forward, right = np.zeros(len(half)), np.zeros(len(half))
    for node, weight in zip(NODES, WEIGHTS, strict=True):
        at = half * (2 * number + 1 + node)
        turn = at * (curvature + change * at / 2)
        forward += weight * np.cos(turn)
        right += weight * np.sin(turn)
    return np.add.reduceat(forward * half, first), np.add.reduceat(right * half, first)


@dataclass(frozen=True)
class Profile:
    """Vertical alignment of one route as pieces in order of distance: shapes (pieces,), coordinate units.

    A piece is a grade (`grade_change` and `curvature` both 0), a parabola or a circular arc.
    """

    distance: Floats
    """Horizontal distance of each piece's start from the route's start."""
    elevation: Floats
    grade: Floats
    """Rise over run at each piece's start, up positive."""
    grade_change: Floats
    """Change of grade in a unit of distance on a parabola, sag positive; else 0."""
    curvature: Floats
    """1 / radius of a circular arc, sag positive; else 0."""
    end: float
    """Distance at which the last piece ends."""

    def at(self, distance: Floats) -> tuple[Floats, Floats]:
        """Give elevation and grade at distances along the route.

        Parameters
        ----------
        distance : array, shape (n,)
            Horizontal distance from the route's start, coordinate units.

        Returns
        -------
        elevation, grade : array, shape (n,)
            NaN outside the profile.

        Examples
        --------
        A crest from +2 % to -1 % in 300 ft, from elevation 100: textbook form 100 + 0.02 x - 0.03 x**2 / 600.

        >>> crest = Profile(*(np.array([value]) for value in (0.0, 100.0, 0.02, -0.03 / 300, 0.0)), end=300.0)
        >>> elevation, grade = crest.at(np.array([0.0, 200.0, 300.0, 301.0]))
        >>> elevation.round(9).tolist(), grade.round(9).tolist()
        ([100.0, 102.0, 101.5, nan], [0.02, 0.0, -0.01, nan])
        """
        piece = np.clip(np.searchsorted(self.distance, distance, side="right") - 1, 0, None)
        known = (distance >= self.distance[0]) & (distance <= self.end)
        along = np.where(known, distance - self.distance[piece], np.nan)
        rise, grade = self._arc(piece, along)
        change = self.grade_change[piece]
        return self.elevation[piece] + rise + change * along**2 / 2, grade + change * along

    def cuts(self) -> Floats:
        """Give distances between which the length along the line is that of straight grades, shape (n,).

        Examples
        --------
        >>> crest = Profile(*(np.array([value]) for value in (0.0, 100.0, 0.002, -0.004 / 300, 0.0)), end=300.0)
        >>> crest.cuts().tolist()
        [0.0, 150.0, 300.0]
        """
        until = np.append(self.distance[1:], self.end)
        change = self.at(np.nextafter(until, self.distance))[1] - self.grade
        parts = np.maximum(np.ceil(np.round(np.abs(change) / GRADE_PER_PART, 6)), 1).astype(np.int64)
        first = np.cumsum(parts) - parts
        part = (np.arange(parts.sum()) - np.repeat(first, parts)) / np.repeat(parts, parts)
        return np.append(np.repeat(self.distance, parts) + part * np.repeat(until - self.distance, parts), self.end)

    def _arc(self, piece: Ints, along: Floats) -> tuple[Floats, Floats]:
        """Give rise and grade on arcs; without curvature an arc is its tangent."""
        # On a circle the sine of the inclination changes evenly with horizontal distance.
        grade = self.grade[piece]
        cosine = 1 / np.hypot(1.0, grade)
        sine = grade * cosine
        sine_there = sine + self.curvature[piece] * along
        cosine_there = np.sqrt(1 - sine_there**2)
        return along * (sine + sine_there) / (cosine + cosine_there), sine_there / cosine_there
