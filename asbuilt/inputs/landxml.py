"""Alignments from LandXML 1.2: lines, circular curves and spirals, station equations and profiles.

The file's points fix the geometry. What else it states of an element (radius, length, point of intersection) must
agree with them; nothing is moved to make ends meet.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from xml.etree.ElementTree import Element

import numpy as np

from asbuilt import units
from asbuilt.arrays import Floats
from asbuilt.errors import InputFileError
from asbuilt.inputs.landxml_file import Place, parse
from asbuilt.inputs.landxml_plan import as_arrays, read_plan
from asbuilt.inputs.landxml_profile import read_profile
from asbuilt.line.curves import Pieces, Profile

LINEAR_UNITS = {"meter": "m", "foot": "ft", "USSurveyFoot": "us-ft"}
FEET = frozenset({"foot", "feet", "USSurveyFoot"})
"""Names whose elevations are told apart by 2 parts per million only: no reason to refuse a file."""


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


def read_alignments(path: Path, profile: str | None = None) -> AlignmentFile:
    """Read the alignments of a LandXML 1.2 file.

    Parameters
    ----------
    path : path of the file
        Its namespace may be any. Document type declarations and entities are refused.
    profile : str, optional
        Name of the profile that is taken of each alignment.

    Returns
    -------
    AlignmentFile
        At least one alignment. Where an alignment has several profiles and none is named, the first is taken, and a
        note says so.

    Raises
    ------
    InputFileError
        When the file is not LandXML, is too large, has no profile of that name, or an element is incomplete,
        contradicts itself, does not start where the one before it ends, or is of a kind that is not supported.

    Source
    ------
    Names and meaning of elements: LandXML 1.2 schema; from memory.
    """
    root, sha256 = parse(path)
    unit = _unit(path, root)
    at = Place(str(path), units.factor("m", unit), _named_points(root), [])
    if root.get("version") != "1.2":
        at.note(f"states LandXML version {root.get('version', 'none')}; it was read as 1.2")
    epsg = _epsg(at, root)
    elements = [alignment for section in root.iter("Alignments") for alignment in section.iter("Alignment")]
    if not elements:
        raise InputFileError(f"{path}: has no Alignment; export the pipe's alignment, not only surfaces or points")
    alignments = []
    for number, element in enumerate(elements, 1):
        name = element.get("name") or f"alignment {number}"
        alignments.append(_alignment(at.within(f"alignment {name!r}"), name, element, profile))
    return AlignmentFile(path, unit, epsg, tuple(alignments), tuple(at.notes), sha256)


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


def _epsg(at: Place, root: Element) -> int | None:
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


def _alignment(at: Place, name: str, element: Element, profile: str | None) -> Alignment:
    start_station = at.number(element, "staStart")
    parts = read_plan(at, element)
    pieces = as_arrays(parts)
    length = float(pieces.distance[-1] + pieces.length[-1])
    stated = element.get("length")
    if stated is not None and abs(at.parse(stated, "length") - length) > at.end_tolerance + at.rounding(stated):
        at.note(f"states length {stated}, but its elements add up to {length:.3f}, which was used")
    return Alignment(
        name=name,
        start_station=start_station,
        equations=_equations(at, element, start_station, length),
        pieces=pieces,
        profile=read_profile(at, element, start_station, length, profile),
        length=length,
        vertices=np.array([parts[0].start, *(part.end for part in parts)]),
    )


def _equations(
    at: Place, element: Element, start_station: float, length: float
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
