"""The plan of a LandXML alignment: its lines, circular curves and spirals, each held against what it states."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import NamedTuple
from xml.etree.ElementTree import Element

import numpy as np

from asbuilt.inputs.landxml_file import Place, Point
from asbuilt.line.curves import Pieces, tangent_offsets

MOST_TURN = 4 * math.pi
"""A spiral that turns further has a wrong radius or length."""


class Piece(NamedTuple):
    """A piece of line as it is put together; curvature right positive."""

    start: Point
    end: Point
    azimuth: float
    curvature_start: float
    curvature_end: float
    length: float


def read_plan(at: Place, element: Element) -> list[Piece]:
    """Read the horizontal geometry of an alignment as pieces in a row.

    Parameters
    ----------
    at : Place
        The alignment's own.
    element : its element

    Raises
    ------
    InputFileError
        When an element is incomplete, contradicts itself, does not start where the one before it ends, or is of a kind
        that is not supported.
    """
    return _join(at, _elements(at, element))


def _elements(at: Place, element: Element) -> list[tuple[Place, list[Piece]]]:
    """Read the elements of the horizontal geometry, each with its place in the file."""
    children = [child for geometry in element.findall("CoordGeom") for child in geometry]
    if not children:
        raise at.wrong("has no CoordGeom with elements; export its horizontal geometry")
    found = []
    for number, child in enumerate(children, 1):
        place = at.within(f"element {number} ({child.tag})")
        reader = PLAN_ELEMENTS.get(child.tag)
        if reader is None:
            raise place.wrong(f"{child.tag} is not supported; supported are {', '.join(PLAN_ELEMENTS)}")
        found.append((place, reader(place, child)))
    return found


def _join(at: Place, plan: list[tuple[Place, list[Piece]]]) -> list[Piece]:
    """Put the pieces in a row: each must start where the one before it ends."""
    for number, ((_, before), (place, after)) in enumerate(pairwise(plan), 1):
        gap = math.dist(before[-1].end, after[0].start)
        if gap > place.gap_tolerance:
            raise place.wrong(
                f"its Start lies {gap:.4f} from the End of element {number}, more than {place.gap_tolerance:.4f}; "
                "elements must follow one another: correct the points, or export the file again"
            )
    for place, parts in plan:
        if all(part.length <= place.gap_tolerance for part in parts):
            place.note("has no length and was left out")
    kept = [part for place, parts in plan for part in parts if part.length > place.gap_tolerance]
    if not kept:
        raise at.wrong("has no length; remove it or complete its elements")
    return kept


def as_arrays(parts: Sequence[Piece]) -> Pieces:
    """Give the pieces of a row as the line has them."""
    length = np.array([part.length for part in parts])
    start = np.array([part.start for part in parts])
    return Pieces(
        distance=np.concatenate([[0.0], np.cumsum(length)[:-1]]),
        easting=start[:, 0],
        northing=start[:, 1],
        azimuth=np.array([part.azimuth for part in parts]) % (2 * np.pi),
        curvature_start=np.array([part.curvature_start for part in parts]),
        curvature_end=np.array([part.curvature_end for part in parts]),
        length=length,
    )


def _bearing(start: Point, end: Point) -> float:
    return math.atan2(end[0] - start[0], end[1] - start[1])


def _straight(start: Point, end: Point) -> Piece:
    return Piece(start, end, _bearing(start, end), 0.0, 0.0, math.dist(start, end))


def _line(at: Place, element: Element) -> list[Piece]:
    piece = _straight(at.point(element, "Start"), at.point(element, "End"))
    at.agrees(element, "length", piece.length)
    return [piece]


def _irregular_line(at: Place, element: Element) -> list[Piece]:
    dimensions = next((number for number in (2, 3) if element.find(f"PntList{number}D") is not None), None)
    if dimensions is None:
        raise at.wrong("has neither PntList2D nor PntList3D; add its points")
    name = f"PntList{dimensions}D"
    values = at.numbers(element.findtext(name), name)
    if len(values) % dimensions:
        raise at.wrong(f"{name} has {len(values)} numbers, not a multiple of {dimensions}; correct it")
    middle = [(values[at + 1], values[at]) for at in range(0, len(values), dimensions)]
    points = [at.point(element, "Start"), *middle, at.point(element, "End")]
    pieces = [_straight(start, end) for start, end in pairwise(points)]
    # The list may repeat the start and the end, so pieces without length are no fault here.
    return [piece for piece in pieces if piece.length > at.gap_tolerance] or pieces[:1]


def _curve(at: Place, element: Element) -> list[Piece]:
    side = _side(at, element)
    start, center, end = (at.point(element, name) for name in ("Start", "Center", "End"))
    radius, other = math.dist(center, start), math.dist(center, end)
    if abs(radius - other) > at.tolerance or radius <= at.tolerance:
        raise at.wrong(
            f"its Start lies {radius:.4f} and its End {other:.4f} from its Center; these must be one radius "
            f"within {at.tolerance:.4f}: correct the points, or export the file again"
        )
    at.agrees(element, "radius", radius)
    turn = side * (_bearing(center, end) - _bearing(center, start)) % (2 * math.pi)
    if min(turn, 2 * math.pi - turn) * radius <= at.tolerance:
        raise at.wrong("its Start and End are one point, so its length is unknown; split it in two curves")
    at.agrees(element, "length", radius * turn)
    azimuth = _bearing(center, start) + side * math.pi / 2
    return [Piece(start, end, azimuth, side / radius, side / radius, radius * turn)]


def _spiral(at: Place, element: Element) -> list[Piece]:
    kind = at.text(element, "spiType")
    if kind != "clothoid":
        raise at.wrong(f"spiType {kind!r} is not supported, only clothoid; replace it in the design, or by short lines")
    side, length = _side(at, element), at.positive(element, "length")
    curvature = [side / _spiral_radius(at, element, name) for name in ("radiusStart", "radiusEnd")]
    if abs(sum(curvature)) / 2 * length > MOST_TURN:
        raise at.wrong("its length and radii make more than two full turns; correct them")
    start, end = at.point(element, "Start"), at.point(element, "End")
    ends = tangent_offsets(*(np.array([value]) for value in (*curvature, length, length)))
    forward, right, turn = (float(value[0]) for value in ends)
    chord, stated = math.hypot(forward, right), math.dist(start, end)
    if abs(chord - stated) > at.tolerance:
        raise at.wrong(
            f"by its length and radii its End is {chord:.4f} from its Start, but the points are {stated:.4f} apart, "
            f"more than {at.tolerance:.4f} off; correct the one that is wrong, or export the file again"
        )
    # The chord between the points fixes the direction far better than the short way to the PI, which is the check.
    azimuth = _bearing(start, end) - math.atan2(right, forward)
    if element.find("PI") is None:
        at.note("has no PI, so its direction follows from its ends, and rot and radii could not be checked")
    else:
        _check_tangents(at, (start, azimuth), (end, azimuth + turn), at.point(element, "PI"), chord)
    return [Piece(start, end, azimuth, curvature[0], curvature[1], length)]


def _check_tangents(
    at: Place, first: tuple[Point, float], last: tuple[Point, float], intersection: Point, chord: float
) -> None:
    """Refuse a spiral whose PI is not on its tangents: its radii, its rot or its points are wrong."""
    for name, (point, azimuth) in {"Start": first, "End": last}.items():
        away = math.dist(point, intersection)
        offset = abs(away * math.sin(_bearing(point, intersection) - azimuth))
        # A PI beyond the spiral's own size swings with the rounding of the spiral's ends.
        allowed = at.tolerance * max(1.0, away / chord)
        if offset > allowed:
            raise at.wrong(
                f"by its length, radii and rot its PI lies {offset:.4f} off the tangent at its {name}, more than "
                f"{allowed:.4f}; correct the one that is wrong, or export the file again"
            )


def _spiral_radius(at: Place, element: Element, attribute: str) -> float:
    if at.text(element, attribute).upper() in ("INF", "INFINITY"):
        return math.inf
    return at.positive(element, attribute)


def _side(at: Place, element: Element) -> int:
    rotation = at.text(element, "rot")
    if rotation not in ("cw", "ccw"):
        raise at.wrong(f"rot {rotation!r} is neither cw (right turn) nor ccw (left turn); correct it")
    return 1 if rotation == "cw" else -1


PLAN_ELEMENTS: dict[str, Callable[[Place, Element], list[Piece]]] = {
    "Line": _line,
    "Curve": _curve,
    "Spiral": _spiral,
    "IrregularLine": _irregular_line,
}
