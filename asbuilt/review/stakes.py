"""The joints of open issues as points to stake out: GPX and CSV for a receiver."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from asbuilt import units
from asbuilt.layers.csv_rows import write_csv
from asbuilt.review.issues import is_open

if TYPE_CHECKING:
    from asbuilt.review.reading import Review

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
                | {"point": first["number"], "elevation": round(float(own[at]), 3) if known else "",
                   "metres": round(float(own[at] * metres), 3) if known else "",
                   "description": "; ".join(map(_told, some))}
            )  # fmt: skip
    return found


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
