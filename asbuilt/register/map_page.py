"""A page with a map of joints found: one file, drawn by its own script, that needs no network."""

from __future__ import annotations

import html
import json
import math
from importlib import resources
from pathlib import Path
from typing import Any

from asbuilt import units
from asbuilt.layers import outputs
from asbuilt.register.results import check_name, earlier_state
from asbuilt.register.search import Found, size_words
from asbuilt.review.look import MARKS

_SHOWN = (
    "joint_uid", "route", "joint", "station", "away", "verdict", "deflection_deg", "allowable_deg",
    "joint_type", "kind", "inspection", "elevation", "coordinate_unit", "photos",
)  # fmt: skip
_OF_RECORD = ("inspected_on", "inspector", "remarks", "photo", "state", "load_id", "job")


def write_map(found: Found, path: Path) -> None:
    """Write a page with a map of the joints found, which needs nothing else and no network.

    Raises
    ------
    OutputError
    """
    check_name(path, is_map=True)
    with outputs.put_in_place(path, option="--map") as unfinished, outputs.write_errors(path, "--map"):
        unfinished.write_text(page(found), "utf-8")


def page(found: Found) -> str:
    """Make the page.

    Parameters
    ----------
    found : Found

    Returns
    -------
    str
        HTML; every text of a log stands in it as data, never as markup.
    """
    data = _embedded(_data(found))
    title = html.escape(_title(found))
    shell = resources.files("asbuilt").joinpath("data/find_map.html").read_text("utf-8")
    return shell.replace("{{title}}", title).replace("{{data}}", data)


def _title(found: Found) -> str:
    count = len(found.joints)
    joints = f"{count} joint" if count == 1 else f"{count} joints"
    if found.near is None:
        return joints
    return f"{joints} nearest to a place" if found.within_words is None else f"{joints} {found.within_words} of a place"


def _embedded(data: dict[str, Any]) -> str:
    """Write data so that nothing in it can end the script element that holds it."""
    text = json.dumps(data, ensure_ascii=False)
    return text.replace("&", "\\u0026").replace("<", "\\u003c").replace(">", "\\u003e")


def _data(found: Found) -> dict[str, Any]:
    places = [(joint["longitude"], joint["latitude"]) for joint in found.joints]
    if found.near_degrees is not None:
        places.append((found.near_degrees[1], found.near_degrees[0]))
    middle = _middle([latitude for _, latitude in places])
    joints = []
    for joint in found.joints:
        shown = {name: joint[name] for name in _SHOWN} | {"size": size_words(joint["size"], joint["size_unit"])}
        shown["at"] = _on_page(joint["longitude"], joint["latitude"], middle)
        shown["history"] = [{name: one.get(name) for name in _OF_RECORD} for one in joint["history"]]
        shown["earlier"] = [earlier_state(one) for one in joint["earlier"]]
        shown["findings"] = [
            {name: one[name] for name in ("code", "severity", "message", "mark", "marks")} for one in joint["findings"]
        ]
        joints.append(shown)
    near = None
    if found.near is not None and found.near_degrees is not None:
        near = {
            "words": found.near.read_as,
            "at": _on_page(found.near_degrees[1], found.near_degrees[0], middle),
            "within_m": found.within_m,
        }
    metres = float(units.METRES[found.away_unit])
    return {
        "register": found.register, "near": near, "unit": found.symbol, "metres_in_unit": metres,
        "lines": _lines(found), "joints": joints,
        "marks": [
            {"verdict": verdict, "word": one.word, "color": one.color, "path": one.path, "filled": one.filled}
            for verdict, one in MARKS.items()
        ],
    }  # fmt: skip


def _middle(latitudes: list[float]) -> float:
    return (min(latitudes) + max(latitudes)) / 2 if latitudes else 0.0


def _on_page(longitude: float, latitude: float, middle: float) -> list[float]:
    """Give metres east and north on a plane that touches the Earth at the middle latitude; for drawing only."""
    degree = 111_320.0
    return [round(longitude * degree * math.cos(math.radians(middle)), 3), round(latitude * degree, 3)]


def _lines(found: Found) -> list[list[int]]:
    """Give pairs of joints found, by index, that are next to one another on a route."""
    index = {joint["joint_uid"]: at for at, joint in enumerate(found.joints)}
    pairs = []
    for at, joint in enumerate(found.joints):
        ahead = index.get((joint["next"] or {}).get("joint_uid", ""))
        if ahead is not None:
            pairs.append([at, ahead])
    return pairs
