"""Alignments from LandXML 1.2: lines, circular curves and spirals, station equations and profiles.

The file's points fix the geometry. What else it states of an element (radius, length, point of intersection) must
agree with them; nothing is moved to make ends meet.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal, InvalidOperation
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple
from xml.etree.ElementTree import Element, TreeBuilder

import numpy as np

from asbuilt import units
from asbuilt.arrays import Floats
from asbuilt.errors import InputFileError
from asbuilt.inputs.bounds import MOST_DEPTH, most, raised
from asbuilt.line.curves import Pieces, Profile, tangent_offsets

MAX_BYTES = 200_000_000
"""Largest file read: far above any set of alignments, far below what would exhaust memory."""
GAP_TOLERANCE_M = 0.001
"""How far an element may start from the end of the one before it."""
CLOSURE_TOLERANCE_M = 0.002
"""How far the parts of one element may disagree: coordinates written to the millimetre come within this."""
END_TOLERANCE_M = 0.01
"""A profile that stops this near an end of its alignment reaches it: stations are written to few decimals."""
MOST_TURN = 4 * math.pi
"""A spiral that turns further has a wrong radius or length."""

SECTIONS = frozenset({"Units", "CoordinateSystem", "CgPoints", "Alignments"})
UNREAD = frozenset({"Feature", "CrossSects", "Superelevation", "Cant"})
LINEAR_UNITS = {"meter": "m", "foot": "ft", "USSurveyFoot": "us-ft"}
FEET = frozenset({"foot", "feet", "USSurveyFoot"})
"""Names whose elevations are told apart by 2 parts per million only: no reason to refuse a file."""

Point = tuple[float, float]
"""Easting and northing."""


@dataclass(frozen=True)
class Alignment:
    """One alignment, in the coordinate units of its file."""

    name: str
    start_station: float
    equations: tuple[tuple[float, float, float], ...]
    """Station equations in order: internal station (counted on without equations), back, ahead."""
    pieces: Pieces
    profile: Profile | None
    length: float
    vertices: Floats
    """Easting and northing of the ends of the pieces, shape (pieces + 1, 2)."""


@dataclass(frozen=True)
class AlignmentFile:
    """What a LandXML file says of alignments."""

    path: Path
    unit: str
    """`us-ft`, `ft` or `m`: of coordinates, lengths, stations and elevations."""
    epsg: int | None
    alignments: tuple[Alignment, ...]
    notes: tuple[str, ...]
    sha256: str


def read_alignments(path: Path) -> AlignmentFile:
    """Read the alignments of a LandXML 1.2 file.

    Parameters
    ----------
    path : path of the file
        Its namespace may be any. Document type declarations and entities are refused.

    Returns
    -------
    AlignmentFile
        At least one alignment. Where an alignment has several profiles, the first is taken, and a note says so.

    Raises
    ------
    InputFileError
        When the file is not LandXML, is too large, or an element is incomplete, contradicts itself, does not start
        where the one before it ends, or is of a kind that is not supported.

    Source
    ------
    Names and meaning of elements: LandXML 1.2 schema; from memory.
    """
    root, sha256 = _parse(path)
    unit = _unit(path, root)
    at = _Place(str(path), units.factor("m", unit), _named_points(root), [])
    if root.get("version") != "1.2":
        at.note(f"states LandXML version {root.get('version', 'none')}; it was read as 1.2")
    epsg = _epsg(at, root)
    elements = [alignment for section in root.iter("Alignments") for alignment in section.iter("Alignment")]
    if not elements:
        raise InputFileError(f"{path}: has no Alignment; export the pipe's alignment, not only surfaces or points")
    alignments = []
    for number, element in enumerate(elements, 1):
        name = element.get("name") or f"alignment {number}"
        alignments.append(_alignment(at.within(f"alignment {name!r}"), name, element))
    return AlignmentFile(path, unit, epsg, tuple(alignments), tuple(at.notes), sha256)


@dataclass(frozen=True)
class _Place:
    """A place in the file, by name: reads numbers and points there, and says what is wrong with them."""

    where: str
    per_metre: float
    points: dict[str, list[Element]]
    notes: list[str]

    def within(self, what: str) -> _Place:
        return replace(self, where=f"{self.where}: {what}")

    def wrong(self, problem: str) -> InputFileError:
        return InputFileError(f"{self.where}: {problem}")

    def note(self, text: str) -> None:
        self.notes.append(f"{self.where}: {text}")

    @property
    def gap_tolerance(self) -> float:
        return GAP_TOLERANCE_M * self.per_metre

    @property
    def tolerance(self) -> float:
        return CLOSURE_TOLERANCE_M * self.per_metre

    @property
    def end_tolerance(self) -> float:
        return END_TOLERANCE_M * self.per_metre

    def text(self, element: Element, attribute: str) -> str:
        text = (element.get(attribute) or "").strip()
        if not text:
            raise self.wrong(f"has no {attribute}; add it, or export the file again")
        return text

    def parse(self, text: str, what: str) -> float:
        try:
            value = float(text)
        except ValueError:
            value = math.nan
        if not math.isfinite(value) or "_" in text:
            raise self.wrong(f"{what} {text[:40]!r} is not a number; correct it")
        return value

    def number(self, element: Element, attribute: str) -> float:
        return self.parse(self.text(element, attribute), attribute)

    def positive(self, element: Element, attribute: str) -> float:
        value = self.number(element, attribute)
        if value <= 0:
            raise self.wrong(f"{attribute} {self.text(element, attribute)} must be above 0; correct it")
        return value

    def numbers(self, text: str | None, what: str) -> list[float]:
        return [self.parse(part, what) for part in (text or "").split()]

    def rounding(self, text: str) -> float:
        """Half a unit of the last decimal that a number is written to."""
        try:
            exponent = Decimal(text).as_tuple().exponent
        except InvalidOperation:
            return 0.0
        return 0.5 * 10.0**exponent if isinstance(exponent, int) else 0.0

    def agrees(self, element: Element, attribute: str, found: float) -> None:
        """Refuse an element whose stated length or radius is not that of its points."""
        if element.get(attribute) is None:
            return
        stated = self.number(element, attribute)
        if abs(stated - found) > self.tolerance + self.rounding(self.text(element, attribute)):
            raise self.wrong(
                f"states {attribute} {self.text(element, attribute)}, but its points give {found:.4f}; "
                "correct the one that is wrong, or export the file again"
            )

    def point(self, element: Element, name: str) -> Point:
        child = element.find(name)
        if child is None:
            raise self.wrong(f"has no {name}; add it, or export the file again")
        values = self.numbers(self._written(child, name), name)
        if len(values) not in (2, 3):
            raise self.wrong(f"{name} must be northing, easting and perhaps elevation, but has {len(values)} numbers")
        return values[1], values[0]

    def _written(self, point: Element, name: str) -> str | None:
        if (point.text or "").strip() or point.get("pntRef") is None:
            return point.text
        reference = self.text(point, "pntRef")
        named = {tuple((found.text or "").split()) for found in self.points.get(reference, [])}
        if len(named) != 1:
            many = "no CgPoint has that name" if not named else "several CgPoints with different places have that name"
            raise self.wrong(f"{name} refers to point {reference!r}, but {many}; correct the reference")
        return " ".join(named.pop())


class _Piece(NamedTuple):
    """A piece of line as it is put together; curvature right positive."""

    start: Point
    end: Point
    azimuth: float
    curvature_start: float
    curvature_end: float
    length: float


class _Sections:
    """Parser target that builds only the sections needed, without namespaces: surfaces are passed over."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._builder = TreeBuilder()
        self._depth, self._deepest = 0, most(MOST_DEPTH)
        self._left_out_from = 0

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        self._depth += 1
        if self._depth > self._deepest:
            raise InputFileError(
                f"{self._path}: has elements more than {self._deepest} deep in one another, which no alignment has; "
                f"export the file again, or {raised(MOST_DEPTH)}"
            )
        if self._left_out_from:
            return
        name = tag.rpartition("}")[2]
        if name in UNREAD or (self._depth == 2 and name not in SECTIONS):
            self._left_out_from = self._depth
            return
        self._builder.start(name, attributes)

    def end(self, tag: str) -> None:
        if not self._left_out_from:
            self._builder.end(tag.rpartition("}")[2])
        elif self._left_out_from == self._depth:
            self._left_out_from = 0
        self._depth -= 1

    def data(self, data: str) -> None:
        if not self._left_out_from:
            self._builder.data(data)

    def close(self) -> Element:
        return self._builder.close()


def _parse(path: Path) -> tuple[Element, str]:
    # defusedxml holds back what expat would follow: entities, external files, document type declarations.
    from defusedxml.common import DefusedXmlException
    from defusedxml.ElementTree import DefusedXMLParser, ParseError

    digest = hashlib.sha256()
    parser = DefusedXMLParser(target=_Sections(path), forbid_dtd=True)
    try:
        if path.stat().st_size > MAX_BYTES:
            raise InputFileError(
                f"{path}: is larger than {MAX_BYTES / 1e6:g} MB, the most that is read; "
                "export the alignments alone, without surfaces"
            )
        with path.open("rb") as file:
            while block := file.read(1 << 20):
                digest.update(block)
                parser.feed(block)
        root: Element = parser.close()
    except OSError as error:
        raise InputFileError(f"{path}: cannot be read ({error.strerror}); check the path") from None
    except DefusedXmlException:
        raise InputFileError(
            f"{path}: has a document type declaration or entities, which can read other files or exhaust memory; "
            "LandXML needs none: export the file again without them"
        ) from None
    except (ParseError, LookupError, ValueError) as error:
        raise InputFileError(f"{path}: is not well-formed XML ({error}); export the file again") from None
    if root.tag != "LandXML":
        raise InputFileError(
            f"{path}: is not LandXML (its outermost element is {root.tag[:40]}); give a LandXML 1.2 file"
        )
    return root, digest.hexdigest()


def _unit(path: Path, root: Element) -> str:
    found = [element for units_element in root.iter("Units") for element in units_element]
    if not found:
        raise InputFileError(f"{path}: has no Units; add Metric or Imperial with its linearUnit")
    named = found[0].get("linearUnit") or ""
    if named not in LINEAR_UNITS:
        raise InputFileError(
            f"{path}: Units: linearUnit {named!r} is not supported; export the file in {', '.join(LINEAR_UNITS)}"
        )
    elevations = found[0].get("elevationUnit", named)
    if elevations != named and not {elevations, named} <= FEET:
        raise InputFileError(
            f"{path}: Units: elevationUnit {elevations!r} differs from linearUnit {named!r}; export both in one unit"
        )
    return LINEAR_UNITS[named]


def _epsg(at: _Place, root: Element) -> int | None:
    system = root.find("CoordinateSystem")
    text = "" if system is None else (system.get("epsgCode") or "").strip()
    digits = text.upper().removeprefix("EPSG:")
    if digits.isascii() and digits.isdigit() and int(digits) > 0:
        return int(digits)
    if text:
        at.note(f"epsgCode {text!r} is not an EPSG code and was not used; give the job its crs")
    return None


def _named_points(root: Element) -> dict[str, list[Element]]:
    points: dict[str, list[Element]] = {}
    for point in root.iter("CgPoint"):
        points.setdefault(point.get("name", ""), []).append(point)
    return points


def _alignment(at: _Place, name: str, element: Element) -> Alignment:
    start_station = at.number(element, "staStart")
    parts = _join(at, _plan(at, element))
    pieces = _as_arrays(parts)
    length = float(pieces.distance[-1] + pieces.length[-1])
    stated = element.get("length")
    if stated is not None and abs(at.parse(stated, "length") - length) > at.end_tolerance + at.rounding(stated):
        at.note(f"states length {stated}, but its elements add up to {length:.3f}, which was used")
    return Alignment(
        name=name,
        start_station=start_station,
        equations=_equations(at, element, start_station, length),
        pieces=pieces,
        profile=_profile(at, element, start_station, length),
        length=length,
        vertices=np.array([parts[0].start, *(part.end for part in parts)]),
    )


def _plan(at: _Place, element: Element) -> list[tuple[_Place, list[_Piece]]]:
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


def _join(at: _Place, plan: list[tuple[_Place, list[_Piece]]]) -> list[_Piece]:
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


def _as_arrays(parts: Sequence[_Piece]) -> Pieces:
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


def _straight(start: Point, end: Point) -> _Piece:
    return _Piece(start, end, _bearing(start, end), 0.0, 0.0, math.dist(start, end))


def _line(at: _Place, element: Element) -> list[_Piece]:
    piece = _straight(at.point(element, "Start"), at.point(element, "End"))
    at.agrees(element, "length", piece.length)
    return [piece]


def _irregular_line(at: _Place, element: Element) -> list[_Piece]:
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


def _curve(at: _Place, element: Element) -> list[_Piece]:
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
    return [_Piece(start, end, azimuth, side / radius, side / radius, radius * turn)]


def _spiral(at: _Place, element: Element) -> list[_Piece]:
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
    return [_Piece(start, end, azimuth, curvature[0], curvature[1], length)]


def _check_tangents(
    at: _Place, first: tuple[Point, float], last: tuple[Point, float], intersection: Point, chord: float
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


def _spiral_radius(at: _Place, element: Element, attribute: str) -> float:
    if at.text(element, attribute).upper() in ("INF", "INFINITY"):
        return math.inf
    return at.positive(element, attribute)


def _side(at: _Place, element: Element) -> int:
    rotation = at.text(element, "rot")
    if rotation not in ("cw", "ccw"):
        raise at.wrong(f"rot {rotation!r} is neither cw (right turn) nor ccw (left turn); correct it")
    return 1 if rotation == "cw" else -1


PLAN_ELEMENTS: dict[str, Callable[[_Place, Element], list[_Piece]]] = {
    "Line": _line,
    "Curve": _curve,
    "Spiral": _spiral,
    "IrregularLine": _irregular_line,
}


def _equations(
    at: _Place, element: Element, start_station: float, length: float
) -> tuple[tuple[float, float, float], ...]:
    found: list[tuple[float, float, float]] = []
    internal_before, ahead_before = start_station, start_station
    for number, equation in enumerate(element.findall("StaEquation"), 1):
        place = at.within(f"StaEquation {number}")
        if equation.get("staIncrement", "increasing") != "increasing":
            raise place.wrong("stations that decrease ahead are not supported; number the alignment the other way")
        internal, ahead = place.number(equation, "staInternal"), place.number(equation, "staAhead")
        if not internal_before <= internal <= start_station + length + place.tolerance:
            raise place.wrong(
                f"staInternal {internal:.3f} must lie between {internal_before:.3f} and the alignment's end at "
                f"{start_station + length:.3f}; internal stations count on from staStart without equations"
            )
        back = ahead_before + (internal - internal_before)
        if equation.get("staBack") is not None:
            stated = place.number(equation, "staBack")
            rounding = sum(place.rounding(place.text(equation, name)) for name in ("staBack", "staInternal"))
            if abs(stated - back) > place.tolerance + 2 * rounding:
                raise place.wrong(
                    f"staBack {stated:.3f} contradicts staInternal, which gives {back:.3f}; correct the wrong one"
                )
            back = stated
        found.append((internal, back, ahead))
        internal_before, ahead_before = internal, ahead
    return tuple(found)


class _Bend(NamedTuple):
    """A point of vertical intersection, with the curve that rounds it."""

    distance: float
    elevation: float
    place: _Place
    element: Element


class _Rounding(NamedTuple):
    """A vertical curve: what it takes of the tangents before and after it, and how it bends."""

    back: float
    ahead: float
    grade_change: float
    curvature: float


def _profile(at: _Place, element: Element, start_station: float, length: float) -> Profile | None:
    found = [child for profile in element.findall("Profile") for child in profile if child.tag == "ProfAlign"]
    if not found:
        at.note("has no design profile (ProfAlign), so its elevations are unknown")
        return None
    if len(found) > 1:
        at.note(f"has {len(found)} profiles (ProfAlign); the first, {found[0].get('name', 'without name')!r}, was used")
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


def _bends(at: _Place, element: Element, start_station: float) -> list[_Bend]:
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


def _rounded(at: _Place, bends: list[_Bend]) -> Profile:
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


def _no_curve(at: _Place, element: Element, back: float, ahead: float) -> _Rounding:
    return _Rounding(0.0, 0.0, 0.0, 0.0)


def _parabola(at: _Place, element: Element, back: float, ahead: float) -> _Rounding:
    length = at.positive(element, "length")
    return _Rounding(length / 2, length / 2, (ahead - back) / length, 0.0)


def _arc(at: _Place, element: Element, back: float, ahead: float) -> _Rounding:
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


PROFILE_ELEMENTS: dict[str, Callable[[_Place, Element, float, float], _Rounding]] = {
    "PVI": _no_curve,
    "ParaCurve": _parabola,
    "CircCurve": _arc,
}
