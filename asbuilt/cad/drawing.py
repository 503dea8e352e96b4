"""A drawing of what was built, as DXF: the centerline in 3D, joints as blocks, findings on a layer of their own.

What has no elevation is drawn flat, on layers that say so: an elevation of nought would pass for a measured one.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from asbuilt import units
from asbuilt.cad.lines import Line, Work
from asbuilt.errors import OutputError
from asbuilt.layers import outputs

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.layouts.layout import Modelspace

LAYERS = {
    "ASBUILT-CENTERLINE": ("Centerline as built, in 3D", 5),
    "ASBUILT-CENTERLINE-FLAT": ("Centerline whose elevation is not known, drawn at 0", 8),
    "ASBUILT-JOINTS": ("Joints with their attributes", 7),
    "ASBUILT-JOINTS-FLAT": ("Joints whose elevation is not known, drawn at 0", 8),
    "ASBUILT-FINDINGS": ("Findings on joints, shots and lengths", 1),
    "ASBUILT-NOTES": ("What the drawing rests on", 8),
}
"""Layers of the drawing: what is on each, and its colour by the index of colours."""
JOINT_TAGS = ("JOINT", "ROUTE", "STATION", "VERDICT", "DEFLECTION_DEG", "ALLOWABLE_DEG", "INSPECTION", "ELEVATION",
              "JOINT_TYPE", "SIZE", "JOINT_UID")  # fmt: skip
FINDING_TAGS = ("CODE", "SEVERITY", "ROUTE", "JOINT", "STATION", "POINT", "MESSAGE", "PLACE")
MARK = "asbuilt job"
"""Property of the drawing that names the job which made it."""
_INSERT_UNITS = {"m": 6, "ft": 2, "us-ft": 21}
_LONGEST = 2000
"""Letters of an attribute: some readers take no more in a line."""


def check_drawing(work: Work, path: Path) -> None:
    """Refuse a drawing that could not be written there.

    Raises
    ------
    OutputError
        When its name is of another kind of file, another thing is there, or the library for drawings is not installed.
    """
    try:
        import ezdxf  # noqa: F401
    except ImportError:
        raise OutputError("--dxf needs ezdxf, which is not installed: pip install 'asbuilt[cad]'") from None
    if path.suffix.lower() != ".dxf":
        raise OutputError(f"{path}: the name of a drawing ends in .dxf; name it so in --dxf")
    outputs.refuse_to_replace(path, kind="drawing", job=_text(work.placed.job), key="--dxf")


def write_drawing(work: Work, path: Path, caution: str) -> None:
    """Write a drawing of what was built.

    Parameters
    ----------
    work : Work
    path : path of the file; an earlier drawing of the same job is replaced
    caution : str
        What stands in the drawing beside it.

    Raises
    ------
    OutputError
    """
    from ezdxf.filemanagement import new

    check_drawing(work, path)
    drawing = new("R2010", setup=False)
    drawing.header["$INSUNITS"] = _INSERT_UNITS[work.unit]
    drawing.header["$MEASUREMENT"] = 1 if work.unit == "m" else 0
    drawing.header.custom_vars.append(MARK, _text(work.placed.job))
    for name, (description, color) in LAYERS.items():
        drawing.layers.add(name, color=color).description = description
    size = 0.05 * work.placed.run["laying_length"] * units.factor(work.placed.run["station_unit"], work.unit)
    _blocks(drawing, size)
    space = drawing.modelspace()
    for line in work.lines:
        _centerline(space, line)
    _joints(space, work, size)
    _findings(space, work, size)
    _notes(space, work, size, caution)
    with outputs.put_in_place(path, option="--dxf") as unfinished, outputs.write_errors(path, "--dxf"):
        drawing.saveas(unfinished)


def _blocks(drawing: Drawing, size: float) -> None:
    """Make the marks: a ring across the line for a joint, a three-cornered flag for a finding."""
    joint = drawing.blocks.new("ASBUILT_JOINT")
    joint.add_circle((0, 0), size)
    joint.add_line((-size, 0), (size, 0))
    _tags(joint, JOINT_TAGS, size)
    finding = drawing.blocks.new("ASBUILT_FINDING")
    corners = [(0, 0), (size, 2 * size), (-size, 2 * size)]
    finding.add_lwpolyline(corners, close=True)
    _tags(finding, FINDING_TAGS, size)


def _tags(block: Any, tags: tuple[str, ...], size: float) -> None:
    """Give a block its attributes; the first alone is shown beside it, the others are read by choosing the block."""
    for number, tag in enumerate(tags):
        place = (1.5 * size, size * (0.5 - 1.5 * number))
        attribute = block.add_attdef(tag, place, dxfattribs={"height": size, "prompt": tag})
        attribute.is_invisible = number > 0


def _centerline(space: Modelspace, line: Line) -> None:
    """Draw a route: in 3D where elevations are known, else flat; every straight on the one or the other."""
    known = np.isfinite(line.points[:, 2])
    straights = known[:-1] & known[1:]
    for in_space, some in groupby(range(len(straights)), key=lambda at: bool(straights[at])):
        numbers = list(some)
        points = line.points[numbers[0] : numbers[-1] + 2]
        if in_space:
            space.add_polyline3d(points.tolist(), dxfattribs={"layer": "ASBUILT-CENTERLINE"})
        else:
            space.add_lwpolyline(points[:, :2].tolist(), dxfattribs={"layer": "ASBUILT-CENTERLINE-FLAT"})


def _joints(space: Modelspace, work: Work, size: float) -> None:
    turned = _turned(work)
    for row in work.joints.to_dict("records"):
        known = math.isfinite(row["elevation"])
        place = (row["easting"], row["northing"], row["elevation"] if known else 0.0)
        layer = "ASBUILT-JOINTS" if known else "ASBUILT-JOINTS-FLAT"
        values = {tag: _told(row[tag.lower()]) for tag in JOINT_TAGS}
        values["ELEVATION"] = _told(row["elevation"]) if known else "unknown"
        rotation = turned.get(row["joint_uid"], 0.0)
        block = space.add_blockref("ASBUILT_JOINT", place, dxfattribs={"layer": layer, "rotation": rotation})
        block.add_auto_attribs(values)


def _turned(work: Work) -> dict[str, float]:
    """Give the angle of each joint's mark, degrees counter-clockwise from east: across the line, by its neighbours."""
    turned: dict[str, float] = {}
    for _, part in work.joints.sort_values("distance", kind="stable").groupby("route", sort=False):
        if len(part) < 2:
            continue
        east, north = (np.gradient(part[name].to_numpy()) for name in ("easting", "northing"))
        turned |= dict(zip(part["joint_uid"], np.degrees(np.arctan2(north, east)) + 90.0, strict=True))
    return turned


def _findings(space: Modelspace, work: Work, size: float) -> None:
    """Flag every finding; one on a length of a route, which has no place, at the start of its route."""
    starts = {line.name: line.points[0] for line in work.lines}
    up = units.factor(work.placed.run["coordinate_unit"], work.unit)
    for row, place, own in zip(work.findings.to_dict("records"), *_flags(work, starts, up), strict=True):
        values = {tag: _told(row.get(tag.lower())) for tag in FINDING_TAGS}
        values["PLACE"] = "its own" if own else "on a length of the route; drawn at its start"
        block = space.add_blockref("ASBUILT_FINDING", place, dxfattribs={"layer": "ASBUILT-FINDINGS"})
        block.add_auto_attribs(values)


def _flags(work: Work, starts: dict[str, Any], up: float) -> tuple[list[tuple[float, float, float]], list[bool]]:
    places, own = [], []
    first = work.lines[0].points[0]
    for shape, route in zip(work.findings.geometry, work.findings["route"], strict=True):
        placed = shape is not None and not shape.is_empty
        east, north, elevation = (
            (shape.x, shape.y, shape.z * up if shape.has_z else math.nan) if placed else starts.get(route, first)
        )
        places.append((float(east), float(north), float(elevation) if math.isfinite(elevation) else 0.0))
        own.append(placed)
    return places, own


def _notes(space: Modelspace, work: Work, size: float, caution: str) -> None:
    """Write beside the first route what the drawing is, and the caution."""
    start = work.lines[0].points[0]
    for number, text in enumerate(_words(work, caution)):
        place = (start[0] + 4 * size, start[1] - size * (4 + 2 * number))
        space.add_text(text, height=size, dxfattribs={"layer": "ASBUILT-NOTES", "insert": place})


def _words(work: Work, caution: str) -> Iterator[str]:
    run = work.placed.run
    yield _text(f"{work.placed.job}, as built, by the joint log and the survey; placed {run['made_at']}")
    yield _text(f"{work.crs.name}; lengths and elevations in {units.WORDS[work.unit]}")
    yield from (f"{part}." for part in _text(caution).rstrip(".").split(". "))


def _told(value: Any) -> str:
    """Write a value for an attribute.

    Examples
    --------
    >>> _told(2.50001), _told(None), _told("slope 5%%u\\nwet")
    ('2.5', '', 'slope 5% %u wet')
    """
    if value is None or value != value:
        return ""
    return f"{value:.3f}".rstrip("0").rstrip(".") if isinstance(value, float) else _text(value)


def _text(value: object) -> str:
    """Give a text on one line, in which nothing is read as a code of the drawing's format."""
    plain = re.sub(r"[\x00-\x1f\x7f]+", " ", str(value)).encode("utf-8", "replace").decode("utf-8")
    # Two per cent signs begin a code for underlining and the like, and a caret one for a control character.
    plain = plain.replace("%%", "% %").replace("^", "^ ")
    return plain if len(plain) <= _LONGEST else f"{plain[: _LONGEST - 4]} ..."
