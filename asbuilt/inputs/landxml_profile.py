"""The profile of a LandXML alignment: grades, parabolas and arcs between points of vertical intersection."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from typing import NamedTuple
from xml.etree.ElementTree import Element

import numpy as np

from asbuilt.inputs.landxml_file import Place
from asbuilt.line.curves import Profile


class _Bend(NamedTuple):
    """A point of vertical intersection, with the curve that rounds it."""

    distance: float
    elevation: float
    place: Place
    element: Element


class _Rounding(NamedTuple):
    """A vertical curve: what it takes of the tangents before and after it, and how it bends."""

    back: float
    ahead: float
    grade_change: float
    curvature: float


def read_profile(
    at: Place, element: Element, start_station: float, length: float, wanted: str | None = None
) -> Profile | None:
    """Read the profile of an alignment, the first unless one is named; None where it has none.

    Parameters
    ----------
    at : Place
        The alignment's own.
    element : its element
    start_station : float
        Station of its start, without equations, in the file's unit as all lengths here.
    length : float
        Horizontal length of the alignment.
    wanted : str, optional
        Name of the profile.

    Raises
    ------
    InputFileError
        When no profile has that name; when a point is incomplete or out of order, curves overlap, or all of it lies
        beyond the alignment.
    """
    found = [child for profile in element.findall("Profile") for child in profile if child.tag == "ProfAlign"]
    if not found:
        at.note("has no design profile (ProfAlign), so its elevations are unknown")
        return None
    if wanted is not None:
        named = [one for one in found if one.get("name") == wanted]
        if not named:
            names = ", ".join(repr(one.get("name", "without name")) for one in found)
            raise at.wrong(f"has no profile {wanted!r}, but {names}; correct centerline.profile")
        found = named
    if len(found) > 1:
        first, *others = (repr(one.get("name", "without name")) for one in found)
        at.note(
            f"has {len(found)} profiles (ProfAlign); the first, {first}, was used, and not {', '.join(others)}: name "
            "the pipe's in centerline.profile"
        )
    if element.find("StaEquation") is not None:
        at.note("profile stations are read as internal ones, which count on without station equations")
    at = at.within("profile")
    bends = _bends(at, found[0], start_station)
    profile = _rounded(at, bends)
    profile = _reach(profile, length, at.end_tolerance)
    if profile.end <= 0 or profile.distance[0] >= length:
        raise at.wrong("lies wholly beyond its alignment; its stations must count from the alignment's staStart")
    if profile.distance[0] > 0 or profile.end < length:
        first, last = start_station + profile.distance[0], start_station + profile.end
        at.note(f"runs from station {first:.3f} to {last:.3f}; elevations are unknown on the rest of the alignment")
    return profile


def _bends(at: Place, element: Element, start_station: float) -> list[_Bend]:
    bends: list[_Bend] = []
    for number, child in enumerate(element, 1):
        place = at.within(f"element {number} ({child.tag})")
        if child.tag not in PROFILE_ELEMENTS:
            raise place.wrong(f"{child.tag} is not supported; supported are {', '.join(PROFILE_ELEMENTS)}")
        values = place.numbers(child.text, "station and elevation")
        if len(values) != 2:
            raise place.wrong(f"must be a station and an elevation, but has {len(values)} numbers")
        distance = values[0] - start_station
        if bends and distance <= bends[-1].distance:
            raise place.wrong(f"station {values[0]:.3f} is not beyond the one before it; put them in order")
        bends.append(_Bend(distance, values[1], place, child))
    if len(bends) < 2:
        raise at.wrong("has fewer than two points; give its PVIs, or remove it")
    for bend in (bends[0], bends[-1]):
        if bend.element.tag != "PVI":
            raise bend.place.wrong("a profile must begin and end with a PVI; add the grade that leads to this curve")
    return bends


def _rounded(at: Place, bends: list[_Bend]) -> Profile:
    """Lay grades and vertical curves out in order of distance."""
    grades = [(b.elevation - a.elevation) / (b.distance - a.distance) for a, b in pairwise(bends)]
    curves = [
        PROFILE_ELEMENTS[bend.element.tag](bend.place, bend.element, back, ahead)
        for bend, back, ahead in zip(bends, [grades[0], *grades], [*grades, grades[-1]], strict=True)
    ]
    rows: list[tuple[float, float, float, float, float]] = []
    for grade, (bend, next_bend), (curve, next_curve) in zip(grades, pairwise(bends), pairwise(curves), strict=True):
        start, stop = bend.distance + curve.ahead, next_bend.distance - next_curve.back
        if stop < start - at.tolerance:
            raise next_bend.place.wrong(
                f"it and the one before it overlap by {start - stop:.3f} of length; shorten a curve"
            )
        if stop > start:
            rows.append((start, bend.elevation + grade * curve.ahead, grade, 0.0, 0.0))
        if next_curve.back:
            tangent_point = next_bend.elevation - grade * next_curve.back
            rows.append((stop, tangent_point, grade, next_curve.grade_change, next_curve.curvature))
    distance, elevation, grade_at, change, curvature = (np.array(column) for column in zip(*rows, strict=True))
    return Profile(distance, elevation, grade_at, change, curvature, end=bends[-1].distance)


def _reach(profile: Profile, length: float, tolerance: float) -> Profile:
    """Let a profile reach the alignment's ends where only the rounding of its stations keeps it from them."""
    distance, elevation = profile.distance.copy(), profile.elevation.copy()
    if 0 < distance[0] <= tolerance:
        elevation[0] -= profile.grade[0] * distance[0]
        distance[0] = 0.0
    end = length if length - tolerance <= profile.end < length else profile.end
    return replace(profile, distance=distance, elevation=elevation, end=end)


def _no_curve(at: Place, element: Element, back: float, ahead: float) -> _Rounding:
    return _Rounding(0.0, 0.0, 0.0, 0.0)


def _parabola(at: Place, element: Element, back: float, ahead: float) -> _Rounding:
    length = at.positive(element, "length")
    return _Rounding(length / 2, length / 2, (ahead - back) / length, 0.0)


def _arc(at: Place, element: Element, back: float, ahead: float) -> _Rounding:
    radius, length = at.positive(element, "radius"), at.positive(element, "length")
    turn = math.atan(ahead) - math.atan(back)
    # Grades come from rounded elevations, so radius and length may differ by as much as hardly moves the arc,
    # whose middle lies length x turn / 8 off the point of intersection.
    if abs(length - radius * abs(turn)) * abs(turn) / 8 > at.tolerance:
        raise at.wrong(
            f"states length {length:.3f}, but its radius and grades give {radius * abs(turn):.3f}; "
            "correct the one that is wrong, or export the file again"
        )
    tangent = radius * math.tan(abs(turn) / 2)
    return _Rounding(
        tangent / math.hypot(1.0, back), tangent / math.hypot(1.0, ahead), 0.0, math.copysign(1 / radius, turn)
    )


PROFILE_ELEMENTS: dict[str, Callable[[Place, Element, float, float], _Rounding]] = {
    "PVI": _no_curve,
    "ParaCurve": _parabola,
    "CircCurve": _arc,
}
