"""Joints as points to stake out, those of open issues and those to shoot or read: GPX and CSV for a receiver."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections import Counter
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from asbuilt import units
from asbuilt.checks import CHECK_KINDS
from asbuilt.layers.csv_rows import write_csv
from asbuilt.review.deflections import on_another_line
from asbuilt.review.issues import CLOSED, is_open
from asbuilt.review.tables import MOST_ROWS, Table

if TYPE_CHECKING:
    from asbuilt.arrays import Ints
    from asbuilt.review.reading import Review, Route

GPX = "http://www.topografix.com/GPX/1/1"
"""Name space of GPX 1.1; waypoints are in degrees of WGS 84, their elevations in metres."""
COLUMNS = ("point", "northing", "easting", "elevation", "description", "place_doubted_by", "route", "joint", "station",
           "latitude", "longitude", "system")  # fmt: skip


def stakes(
    review: Review, rows: Sequence[dict[str, Any]], asked: Mapping[str, Sequence[tuple[Ints, Ints]]]
) -> list[dict[str, Any]]:
    """List the joints that have an open issue, and those to shoot or read: where each is, and what it is about.

    Parameters
    ----------
    review : Review
    rows : rows of the list of issues
    asked : by route, the joints of each length that are to be shot or read, and those of them that are not judged

    Returns
    -------
    list of dict
        In the order of the routes and along them; `point` is the number of the joint's first open issue in the list,
        so that it stays the same from review to review, and without one "route joint"; none of joints that are known
        to stand elsewhere, as on another's line. Where a finding says that a joint may do so, `place_doubted_by` has
        its code, and the description says it. Elevations are those of the
        pipe's center, as in layer joints. Of a length whose issues are all closed, nothing is asked.
    """
    issues: dict[str, dict[int, list[dict[str, Any]]]] = {}
    closed: dict[str, set[int]] = {}
    for row in rows:
        if row.get("at", -1) >= 0 and is_open(row):
            issues.setdefault(row["route"], {}).setdefault(row["at"], []).append(row)
        elif row.get("at", -1) >= 0 and row["state"] == CLOSED:
            closed.setdefault(row["route"], set()).add(row["at"])
    found: list[dict[str, Any]] = []
    about = {"system": review.run["output_crs"]} | ({"northing": "", "easting": ""} if review.geographic else {})
    for route in review.routes:
        own = issues.get(route.name, {})
        done = closed.get(route.name, set())
        to_shoot = _named_by_findings(route, own, done)
        to_shoot |= _to_shoot(route, asked.get(route.name, ()), set(own), done)
        found += [
            _point(route, at, own.get(at, []), to_shoot.get(at, "")) | about
            for at in sorted(own.keys() | to_shoot)
            if not route.misplaced[at]
        ]
    return found


def _to_shoot(
    route: Route, asked: Sequence[tuple[Ints, Ints]], with_issue: set[int], closed: set[int]
) -> dict[int, str]:
    """Say of each joint that is to be shot or read in which length it lies."""
    station, told = route.joints["station"], {}
    for every, unclear in asked:
        if with_issue.isdisjoint(unclear.tolist()):
            continue
        length = " to ".join(dict.fromkeys((station[every[0]], station[every[-1]])))
        for at in every.tolist():
            if at not in closed:
                told[at] = f"{SHOOT}: the survey leaves joints of {length} unjudged"
    return told


def _named_by_findings(route: Route, own: Mapping[int, Sequence[dict[str, Any]]], closed: set[int]) -> dict[int, str]:
    """Say of each joint at which the finding of another one asks for a shot or a reading which one it is."""
    told: dict[int, str] = {}
    for code in ("deflection-over", "deflection-unclear", "deflection-conflict"):
        for at, turn in route.turns_named(code).items():
            if all(row["finding"] != code for row in own.get(at, ())):
                continue
            for other in range(turn.first, turn.last + 1):
                if other not in closed:
                    told.setdefault(other, f"{SHOOT}: it shares a turn with joint {route.joints['joint'][at]}")
    return told


SHOOT = "to shoot or read"


def _point(route: Route, at: int, some: Sequence[dict[str, Any]], shoot: str) -> dict[str, Any]:
    joint = route.joints.take(np.array([at])).records(_CELLS)[0]
    own = float(joint["elevation"])
    known = bool(np.isfinite(own))
    # A finding of its deflection says itself what to shoot.
    also = [SHOOT] if shoot and not any(row["finding"].startswith("deflection-") for row in some) else []
    doubted = route.place_doubted[at]
    unsure = f"; it may lie elsewhere than here, see {doubted}" if doubted else ""
    return {
        "at": at, "route": route.name, "joint": joint["joint"] or "", "station": joint["station"] or "",
        "northing": round(float(joint["map_northing"]), 3), "easting": round(float(joint["map_easting"]), 3),
        "latitude": round(float(joint["latitude"]), 8), "longitude": round(float(joint["longitude"]), 8),
        "findings": ", ".join([*dict.fromkeys(row["finding"] for row in some), *also]),
        "point": some[0]["number"] if some else f"{route.name} {joint['joint'] or joint['station']}",
        "elevation": round(own, 3) if known else "",
        "metres": round(own * units.factor(route.unit, "m"), 3) if known else "",
        "description": ("; ".join([*map(_told, some), *also]) if some else shoot) + unsure,
        "place_doubted_by": doubted,
    }  # fmt: skip


_CELLS = ("joint", "station", "map_easting", "map_northing", "latitude", "longitude", "elevation")


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
    by_records = [one for one in found if _asks_of_records(one)]
    shown = [one for one in found if not _asks_of_records(one)] if len(by_records) > _MANY else found
    here, many = shown[:MOST_ROWS], len(found)
    closed: dict[str, str] = {}
    staked = {one["at"] for one in found}
    for row in rows:
        if row["route"] == route.name and row.get("at", -1) >= 0 and row["state"] == CLOSED and row["at"] not in staked:
            closed.setdefault(row["joint"], row["by whom"] or "no name given")
    names = [f"{joint} ({who})" for joint, who in closed.items()]
    more = f" and {len(names) - MOST_ROWS} more" if len(names) > MOST_ROWS else ""
    left = f"Not among them, as their issues are closed (by whom): joints {', '.join(names[:MOST_ROWS])}{more}."
    doubted = sum(bool(one["place_doubted_by"]) for one in found)
    unsure = (
        f"{doubted:,} of the {many:,} may lie elsewhere than these coordinates say (see the findings in parentheses): "
        "have that cleared before anything is dug or shot there."
    )
    nothing = f"No joint of this route has an open issue. {left if closed else ''}".strip()
    if by_records and not shown:
        nothing = _left_to_the_file(by_records, "joints")
    lost = _left_out(route)
    notes = [
        f"{lost}, but for joints surveyed themselves." if lost else "",
        unsure if doubted else "",
        left if closed else "",
        f"Northing and easting in {here[0]['system']}." if here else "",
        f"{len(shown) - MOST_ROWS:,} more stand in stakes.csv." if len(shown) > MOST_ROWS else "",
        _left_to_the_file(by_records, "more") if len(shown) < many else "",
        f"Every joint of {', '.join(lengths)} is to be shot or read." if lengths else "",
    ]
    cells = [
        [str(one["point"]), one["station"], one["joint"],
         *(_fixed(one[name], places) for name, places in _PLACES.items()),
         one["findings"] + (f" (may lie elsewhere: {one['place_doubted_by']})" if one["place_doubted_by"] else "")]
        for one in here
    ]  # fmt: skip
    return Table(
        "stakes", "Joints to stake out: those with open issues, and those to shoot or read",
        ("Point", "Station", "Joint", *(name.capitalize() for name in _PLACES), "What was found"), cells,
        numeric=(3, 4, 5, 6), joints=[one["at"] for one in here], count=many,
        note=" ".join(filter(None, notes)), none=f"{lost}." if lost else nothing,
    )  # fmt: skip


_MANY = 10
"""Joints of which records alone are asked about that stand among the others on a page; more are counted."""


def _asks_of_records(one: Mapping[str, Any]) -> bool:
    """Say whether a point is of a joint whose records alone are asked about, and nothing is to be seen there."""
    kinds = [CHECK_KINDS.get(code) for code in one["findings"].split(", ")]
    return all(kind is not None and kind.about == "inspection" and kind.severity != "act" for kind in kinds)


def _left_to_the_file(some: Sequence[Mapping[str, Any]], word: str) -> str:
    """Count the joints of which records alone are asked about, by what was found."""
    told = Counter(code for one in some for code in one["findings"].split(", "))
    which = ", ".join(f"{code} at {many:,}" for code, many in told.most_common())
    return f"{len(some):,} {word}, of which only records are asked about ({which}), stand in stakes.csv and stakes.gpx."


def _left_out(route: Route) -> str:
    """Say why joints of a route are not staked out; nothing where all are that have anything to look at."""
    if not route.misplaced.any():
        return ""
    if on_another_line(route):
        return "The line seems to be another's: nothing is staked out until the names of log and line are put right"
    return (
        "All joints of the line stand elsewhere: nothing is staked out until what is said of the whole line is put "
        "right"
    )


_PLACES = {"northing": 2, "easting": 2, "latitude": 7, "longitude": 7}
"""Decimals of each: a hundredth of a foot or metre."""


def _fixed(value: Any, places: int) -> str:
    return f"{value:.{places}f}" if value not in ("", None) else ""


def _told(row: dict[str, Any]) -> str:
    """Say what is to be looked at; of a joint that is missing, that the point is the one where the gap begins."""
    gap = f" (this point is joint {row['joint']}, where the gap begins)" if row["finding"] == "joints-missing" else ""
    return f"issue {row['number']}: {row['what']}{gap}"


def write_stakes(found: Sequence[dict[str, Any]], review: Review, folder: Path) -> list[str]:
    """Write the points as `stakes.csv` and `stakes.gpx`; give their names."""
    write_csv(folder / "stakes.csv", COLUMNS, found)
    root = ET.Element("gpx", {"xmlns": GPX, "version": "1.1", "creator": "asbuilt"})
    about = ET.SubElement(root, "metadata")
    ET.SubElement(about, "name").text = f"{review.run['name']}: joints to look at"
    if lost := [
        f"route {route.name}: {why[0].lower()}{why[1:]}" for route in review.routes if (why := _left_out(route))
    ]:
        ET.SubElement(about, "desc").text = "; ".join(lost)
    for one in found:
        point = ET.SubElement(root, "wpt", {"lat": f"{one['latitude']:.8f}", "lon": f"{one['longitude']:.8f}"})
        if one["metres"] != "":
            ET.SubElement(point, "ele").text = f"{one['metres']:.3f}"
        alone = isinstance(one["point"], str)
        ET.SubElement(point, "name").text = one["point"] if alone else f"{one['point']} {one['route']} {one['joint']}"
        # A receiver shows the first words of it.
        unsure = f"PLACE DOUBTED ({one['place_doubted_by']}); " if one["place_doubted_by"] else ""
        ET.SubElement(point, "desc").text = f"{unsure}{one['station']}: {one['description']}"
    ET.ElementTree(root).write(folder / "stakes.gpx", encoding="utf-8", xml_declaration=True)
    return ["stakes.csv", "stakes.gpx"]
