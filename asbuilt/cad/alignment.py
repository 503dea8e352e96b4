"""The alignment as it lies, as LandXML 1.2: lines between the shots, profile, station equations, joints as points.

Source: names and meaning of elements, LandXML 1.2 schema; from memory. Points are northing, easting, elevation.
"""

from __future__ import annotations

import re
from pathlib import Path
from xml.etree.ElementTree import Element, ElementTree, SubElement, indent

import numpy as np

from asbuilt.cad.lines import MISS_TOLD, Line, Work
from asbuilt.errors import OutputError
from asbuilt.layers import outputs
from asbuilt.version import __version__

NAMESPACE = "http://www.landxml.org/schema/LandXML-1.2"
_LINEAR = {"m": ("Metric", "meter"), "ft": ("Imperial", "foot"), "us-ft": ("Imperial", "USSurveyFoot")}
_OTHER_UNITS = {
    "Metric": {"areaUnit": "squareMeter", "volumeUnit": "cubicMeter", "temperatureUnit": "celsius",
               "pressureUnit": "HPA"},
    "Imperial": {"areaUnit": "squareFoot", "volumeUnit": "cubicFeet", "temperatureUnit": "fahrenheit",
                 "pressureUnit": "inHG"},
}  # fmt: skip
_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def check_alignment(work: Work, path: Path) -> None:
    """Refuse an alignment that could not be written there.

    Raises
    ------
    OutputError
        When its name is of another kind of file, or another thing is there.
    """
    if path.suffix.lower() not in (".xml", ".landxml"):
        raise OutputError(f"{path}: the name of a LandXML file ends in .xml; name it so in --landxml")
    outputs.refuse_to_replace(path, kind="alignment", job=_text(work.placed.job), key="--landxml")


def write_alignment(work: Work, path: Path) -> None:
    """Write the routes as LandXML alignments, and the joints as coordinate points.

    Parameters
    ----------
    work : Work
    path : path of the file; an earlier one of the same job is replaced

    Raises
    ------
    OutputError
    """
    check_alignment(work, path)
    with outputs.put_in_place(path, option="--landxml") as unfinished, outputs.write_errors(path, "--landxml"):
        ElementTree(_document(work)).write(unfinished, encoding="utf-8", xml_declaration=True)


def _document(work: Work) -> Element:
    made = str(work.placed.run["made_at"])
    root = Element(
        "LandXML", {"xmlns": NAMESPACE, "version": "1.2", "date": made[:10], "time": made[11:19], "readOnly": "false"}
    )
    # What this file is stands at its head, so that a later one may take its place.
    SubElement(root, "Project", {"name": _text(work.placed.job), "desc": "As built, by the joint log and the survey"})
    SubElement(root, "Application", {"name": "asbuilt", "version": __version__})
    system, linear = _LINEAR[work.unit]
    units = {"linearUnit": linear, **_OTHER_UNITS[system], "angularUnit": "decimal degrees",
             "directionUnit": "decimal degrees"}  # fmt: skip
    SubElement(SubElement(root, "Units"), system, units)
    epsg = work.crs.to_epsg()
    SubElement(root, "CoordinateSystem", {"name": work.crs.name} | ({"epsgCode": str(epsg)} if epsg else {}))
    _joints(SubElement(root, "CgPoints", {"name": "Joints"}), work)
    alignments = SubElement(root, "Alignments", {"name": _text(work.placed.job)})
    for line in work.lines:
        _alignment(alignments, line)
    indent(root)
    return root


def _joints(parent: Element, work: Work) -> None:
    names = ("route", "joint", "station", "verdict", "easting", "northing", "elevation")
    for route, joint, station, verdict, *place in zip(*(work.joints[name] for name in names), strict=True):
        point = SubElement(
            parent, "CgPoint",
            {"name": _text(f"{route} {joint}"), "code": "JOINT", "desc": _text(f"{station}, deflection {verdict}")},
        )  # fmt: skip
        point.text = _point(*place)


def _alignment(parent: Element, line: Line) -> None:
    about = {"name": _text(line.name), "length": f"{line.along[-1]:.6f}", "staStart": f"{line.start_station:.6f}"}
    if line.station_miss >= MISS_TOLD:
        about["desc"] = (
            f"Stations count along this line; the job's stations differ from them by up to {line.station_miss:.2f}, "
            "being counted on the ground or between ties"
        )
    alignment = SubElement(parent, "Alignment", about)
    geometry = SubElement(alignment, "CoordGeom")
    lengths = np.diff(line.along)
    for start, end, length in zip(line.points[:-1], line.points[1:], lengths, strict=True):
        piece = SubElement(geometry, "Line", {"length": f"{length:.6f}"})
        SubElement(piece, "Start").text = _point(start[0], start[1])
        SubElement(piece, "End").text = _point(end[0], end[1])
    for distance, back, ahead in line.equations:
        internal = f"{line.start_station + distance:.6f}"
        SubElement(
            alignment, "StaEquation", {"staInternal": internal, "staBack": f"{back:.6f}", "staAhead": f"{ahead:.6f}"}
        )
    known = np.isfinite(line.points[:, 2])
    if known.sum() >= 2:
        profile = SubElement(SubElement(alignment, "Profile"), "ProfAlign", {"name": "As built"})
        for distance, elevation in zip(line.along[known], line.points[known, 2], strict=True):
            SubElement(profile, "PVI").text = f"{line.start_station + distance:.6f} {elevation:.6f}"


def _point(easting: float, northing: float, elevation: float = np.nan) -> str:
    up = f" {elevation:.6f}" if np.isfinite(elevation) else ""
    return f"{northing:.6f} {easting:.6f}{up}"


def _text(text: str) -> str:
    """Give a text without the characters that XML cannot hold.

    Examples
    --------
    >>> _text("Main 7" + chr(0))
    'Main 7'
    """
    return _NOT_XML.sub("", str(text))
