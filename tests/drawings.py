"""What stands in a plot drawn as SVG: its words and the boxes that they take, its lines, and its marks."""

import re
from xml.etree import ElementTree

import numpy as np

from asbuilt.review import labels

SVG = "{http://www.w3.org/2000/svg}"
_ANCHORS = {None: 0.0, "middle": 0.5, "end": 1.0}


def words(drawing):
    """List the words that are written from left to right, with their boxes, points right and down."""
    found = []
    for one in ElementTree.fromstring(drawing.svg).iter(f"{SVG}text"):
        if one.get("transform"):
            continue
        size, text = float(one.get("font-size")), one.text
        wide = labels.width(text, size) if re.search(r"\d", text) else labels.prose(text, size)
        left = float(one.get("x")) - _ANCHORS[one.get("text-anchor")] * wide
        line = float(one.get("y"))
        found.append((text, labels.Box(left, left + wide, line - 0.94 * size, line + 0.24 * size)))
    return found


def overlapping(boxes):
    """List the words that lie on one another."""
    return [
        (one, other) for at, (one, box) in enumerate(boxes) for other, second in boxes[at + 1 :] if box.meets(second)
    ]  # fmt: skip


def paths(drawing, **look):
    """List the paths that have these attributes."""
    found = ElementTree.fromstring(drawing.svg).iter(f"{SVG}path")
    wanted = {name.replace("_", "-"): value for name, value in look.items()}
    return [one for one in found if all(one.get(name) == value for name, value in wanted.items())]


def places(path):
    """Give where a path begins and goes on to, points right and down, shape (places, 2)."""
    scale = float((re.search(r"scale\(([\d.e-]+)\)", path.get("transform") or "") or [0, 1])[1])
    return scale * np.array(
        [[float(part) for part in one] for one in re.findall(r"[ML](\S+?) (-?[\d.]+)", path.get("d"))]
    )
