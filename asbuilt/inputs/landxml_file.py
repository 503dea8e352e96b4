"""A LandXML file taken apart safely: its elements, and a place in it, by name, where numbers and points are read."""

from __future__ import annotations

import hashlib
import math
from dataclasses import dataclass, replace
from decimal import Decimal, InvalidOperation
from pathlib import Path
from xml.etree.ElementTree import Element, TreeBuilder

from asbuilt.errors import InputFileError
from asbuilt.inputs.bounds import MOST_DEPTH, most, raised

MAX_BYTES = 200_000_000
"""Largest file read: far above any set of alignments, far below what would exhaust memory."""
GAP_TOLERANCE_M = 0.001
"""How far an element may start from the end of the one before it."""
CLOSURE_TOLERANCE_M = 0.002
"""How far the parts of one element may disagree: coordinates written to the millimetre come within this."""
END_TOLERANCE_M = 0.01
"""A profile that stops this near an end of its alignment reaches it: stations are written to few decimals."""

SECTIONS = frozenset({"Units", "CoordinateSystem", "CgPoints", "Alignments"})
UNREAD = frozenset({"Feature", "CrossSects", "Superelevation", "Cant"})

Point = tuple[float, float]
"""Easting and northing."""


@dataclass(frozen=True)
class Place:
    """A place in the file, by name: reads numbers and points there, and says what is wrong with them."""

    where: str
    per_metre: float
    points: dict[str, list[Element]]
    notes: list[str]

    def within(self, what: str) -> Place:
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


def parse(path: Path) -> tuple[Element, str]:
    """Give the outermost element of a LandXML file, without surfaces and namespaces, and the file's SHA-256.

    Raises
    ------
    InputFileError
        When the file cannot be read, is too large or not LandXML, or has a document type declaration or entities.
    """
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
