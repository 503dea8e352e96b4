"""The joints of open issues as points to stake out: GPX and CSV for a receiver."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from asbuilt import units
from asbuilt.layers.csv_rows import write_csv
from asbuilt.review.issues import CLOSED, is_open
from asbuilt.review.tables import MOST_ROWS, Table

if TYPE_CHECKING:
    from asbuilt.review.reading import Review, Route

GPX = "http://www.topografix.com/GPX/1/1"
"""Name space of GPX 1.1; waypoints are in degrees of WGS 84, their elevations in metres."""
COLUMNS = ("point", "northing", "easting", "elevation", "description", "route", "joint", "station", "latitude",
           "longitude", "system")  # fmt: skip


def stakes(review: Review, rows: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    """List the joints that have an open issue: where each is, and what is to be looked at.

    Parameters
    ----------
    review : Review
    rows : rows of the list of issues

    Returns
    -------
    list of dict
        In the order of the routes and along them; `point` is the number of the joint's first open issue in the list,
        so that it stays the same from review to review. Elevations are those of the pipe's center, as in layer joints.
    """
    asked: dict[str, dict[int, list[dict[str, Any]]]] = {}
    for row in rows:
        if row.get("at", -1) >= 0 and is_open(row):
            asked.setdefault(row["route"], {}).setdefault(row["at"], []).append(row)
    found: list[dict[str, Any]] = []
    for route in review.routes:
        own, metres = route.joints["elevation"], units.factor(route.unit, "m")
        for at, some in sorted(asked.get(route.name, {}).items()):
            first = some[0]
            known = bool(np.isfinite(own[at]))
            found.append(
                {name: first[name] for name in ("northing", "easting", "route", "joint", "station", "latitude",
                                                "longitude", "system")}
                | {"at": at, "findings": ", ".join(dict.fromkeys(row["finding"] for row in some)),
                   "point": first["number"], "elevation": round(float(own[at]), 3) if known else "",
                   "metres": round(float(own[at] * metres), 3) if known else "",
                   "description": "; ".join(map(_told, some))}
            )  # fmt: skip
    return found


def stake_table(
    route: Route, found: Sequence[dict[str, Any]], rows: Sequence[dict[str, Any]], lengths: Sequence[str]
) -> Table:
    """List the joints of a route to stake out with their coordinates, for who has only the sheets.

    Parameters
    ----------
    route : Route
    found : points of this route, as `stakes` gives them
    rows : rows of the list of issues
    lengths : stations from and to which every joint is to be shot or read, with an issue or without
    """
    here, many = found[:MOST_ROWS], len(found)
    closed: dict[str, str] = {}
    staked = {one["at"] for one in found}
    for row in rows:
        if row["route"] == route.name and row.get("at", -1) >= 0 and row["state"] == CLOSED and row["at"] not in staked:
            closed.setdefault(row["joint"], row["by whom"] or "no name given")
    names = [f"{joint} ({who})" for joint, who in closed.items()]
    more = f" and {len(names) - MOST_ROWS} more" if len(names) > MOST_ROWS else ""
    left = f"Not among them, as their issues are closed (by whom): joints {', '.join(names[:MOST_ROWS])}{more}."
    notes = [left if closed else "", f"Northing and easting in {here[0]['system']}." if here else "",
             f"{many - MOST_ROWS} more stand in stakes.csv." if many > MOST_ROWS else "",
             f"Every joint of {', '.join(lengths)} is to be shot or read, also those that are not listed here: their "
             "coordinates stand in layer joints." if lengths else ""]  # fmt: skip
    cells = [
        [str(one["point"]), one["station"], one["joint"],
         *(_fixed(one[name], places) for name, places in _PLACES.items()), one["findings"]]
        for one in here
    ]  # fmt: skip
    return Table(
        "stakes", "Joints with open issues, to stake out",
        ("Point", "Station", "Joint", *(name.capitalize() for name in _PLACES), "What was found"), cells,
        numeric=(3, 4, 5, 6), joints=[one["at"] for one in here], count=many,
        note=" ".join(filter(None, notes)), none=f"No joint of this route has an open issue. {notes[0]}".strip(),
    )  # fmt: skip


_PLACES = {"northing": 2, "easting": 2, "latitude": 7, "longitude": 7}
"""Decimals of each: a hundredth of a foot or metre."""


def _fixed(value: Any, places: int) -> str:
    return f"{value:.{places}f}" if value not in ("", None) else ""


def _told(row: dict[str, Any]) -> str:
    """Say what is to be looked at; of a joint that is missing, that the point is the one where the gap begins."""
    gap = f" (this point is joint {row['joint']}, where the gap begins)" if row["finding"] == "joints-missing" else ""
    return f"issue {row['number']}: {row['what']}{gap}"


def write_stakes(found: Sequence[dict[str, Any]], job: str, folder: Path) -> list[str]:
    """Write the points as `stakes.csv` and `stakes.gpx`; give their names."""
    write_csv(folder / "stakes.csv", COLUMNS, found)
    root = ET.Element("gpx", {"xmlns": GPX, "version": "1.1", "creator": "asbuilt"})
    ET.SubElement(ET.SubElement(root, "metadata"), "name").text = f"{job}: joints to look at"
    for one in found:
        point = ET.SubElement(root, "wpt", {"lat": f"{one['latitude']:.8f}", "lon": f"{one['longitude']:.8f}"})
        if one["metres"] != "":
            ET.SubElement(point, "ele").text = f"{one['metres']:.3f}"
        ET.SubElement(point, "name").text = f"{one['point']} {one['route']} {one['joint']}"
        ET.SubElement(point, "desc").text = f"{one['station']}: {one['description']}"
    ET.ElementTree(root).write(folder / "stakes.gpx", encoding="utf-8", xml_declaration=True)
    return ["stakes.csv", "stakes.gpx"]
