"""What is drawn around an answer: the joints and mains of the register within the window of a map."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from asbuilt.errors import AsbuiltError
from asbuilt.register.opening import open_existing

DRAWN = 3000
"""Joints that are drawn singly in one window; beyond it only their mains are."""
_WIDE_DEG = 3.0
_COLUMNS = ("joint_uid", "route", "joint", "station", "verdict", "longitude", "latitude", "first_load_id")


def window(text: str) -> tuple[float, float, float, float]:
    """Read a window: west, south, east, north in degrees.

    Raises
    ------
    AsbuiltError

    Examples
    --------
    >>> window("-121.3,38.6,-121.2,38.7")
    (-121.3, 38.6, -121.2, 38.7)
    """
    try:
        west, south, east, north = (float(part) for part in text.split(","))
    except ValueError:
        raise AsbuiltError(f"bbox: {text[:100]!r} is not a window; write WEST,SOUTH,EAST,NORTH in degrees") from None
    if not (-180 <= west < east <= 180 and -90 <= south < north <= 90):
        raise AsbuiltError(f"bbox: {text[:100]!r} is not a window on the Earth; write WEST,SOUTH,EAST,NORTH in degrees")
    return west, south, east, north


def around(register: str, box: tuple[float, float, float, float]) -> dict[str, Any]:
    """Give the joints of a window as GeoJSON features, and the lines from joint to joint along their mains.

    Parameters
    ----------
    register : str
    box : west, south, east, north, degrees

    Returns
    -------
    dict
        "joints" and "mains", each a FeatureCollection; "count" of the joints there; "drawn" tells whether they are
        given singly.
    """
    west, south, east, north = box
    store = open_existing(register)
    try:
        with store.reading():
            # A window wider than the register's coordinate system reaches has no box in it.
            wide = max(east - west, north - south) > _WIDE_DEG
            inside = "" if wide else f"{store.inside(store.ground.bounds(*box))} AND "
            here = f"{inside}j.longitude BETWEEN :west AND :east AND j.latitude BETWEEN :south AND :north"
            place = {"west": west, "east": east, "south": south, "north": north}
            (count,) = store.columns(f"SELECT count(*) FROM joints j WHERE {here}", 1, **place)[0]
            step = max(1, count // (10 * DRAWN))
            rows = list(
                store.dicts(
                    f"SELECT {', '.join(f'j.{name}' for name in _COLUMNS)} FROM joints j WHERE {here} "
                    f"AND j.fid - (j.fid / {step}) * {step} = 0 ORDER BY j.first_load_id, j.route, j.distance",
                    _COLUMNS,
                    **place,
                )
            )
    finally:
        store.close()
    drawn = count <= DRAWN
    return {
        "count": count,
        "drawn": drawn,
        "joints": _collection([_point(row) for row in rows] if drawn else []),
        "mains": _collection(_lines(rows)),
    }


def _point(row: dict[str, Any]) -> dict[str, Any]:
    properties = {name: row[name] for name in _COLUMNS[:5]}
    return {
        "type": "Feature", "properties": properties,
        "geometry": {"type": "Point", "coordinates": [row["longitude"], row["latitude"]]},
    }  # fmt: skip


def _lines(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Join successive joints of one route that one job laid."""
    parts: dict[tuple[int, str], list[list[list[float]]]] = {}
    for back, ahead in pairwise(rows):
        laid = back["first_load_id"], back["route"]
        if laid == (ahead["first_load_id"], ahead["route"]):
            ends = [[back["longitude"], back["latitude"]], [ahead["longitude"], ahead["latitude"]]]
            parts.setdefault(laid, []).append(ends)
    return [
        {
            "type": "Feature", "properties": {"route": route},
            "geometry": {"type": "MultiLineString", "coordinates": lines},
        }
        for (_, route), lines in parts.items()
    ]  # fmt: skip


def _collection(features: list[dict[str, Any]]) -> dict[str, Any]:
    return {"type": "FeatureCollection", "features": features}
