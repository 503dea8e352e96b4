"""What is drawn around an answer: the joints and mains of the register within the window of a map."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Any

import numpy as np

from asbuilt.errors import AsbuiltError
from asbuilt.register import beside, fields, layout, service, waiting
from asbuilt.register.ground import Ground
from asbuilt.register.neighbours import ALONG, LAID
from asbuilt.register.opening import reading
from asbuilt.register.store import Store, floats

DRAWN = 3000
"""Joints that are drawn singly in one window; beyond it only their mains are."""
_SEEN = 4000
"""Parts of a window's width that can be told apart."""
_WAIT = ("job", "load", "route", "joint", "station", "message")
_TOLD = ("joint_uid", "route", "joint", "station", "verdict", "inspection")
_COLUMNS = (*_TOLD, "longitude", "latitude")
EARLIER = "surveyed-again"
"""State of a line where later surveys give its joints their places."""


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
        "joints", "mains", "surveyed" (centerlines) and "waiting" (to be settled), each a FeatureCollection; "count" of
        the joints there; "drawn" tells whether they are given singly. A main tells whether it is in service; so does a
        line as surveyed, or whether its joints were surveyed again.
    """
    west, south, east, north = box
    with reading(register) as store:
        bounds = store.ground.bounds(*box)
        inside = "" if bounds is None else f"{store.inside(bounds)} AND "
        here = f"{inside}j.longitude BETWEEN :west AND :east AND j.latitude BETWEEN :south AND :north"
        place = {"west": west, "east": east, "south": south, "north": north}
        (count,) = store.columns(f"SELECT count(*) FROM joints j WHERE {here}", 1, **place)[0]
        step = max(1, count // (10 * DRAWN))
        rows = list(
            store.dicts(
                f"SELECT {', '.join(f'j.{name}' for name in _COLUMNS)}, f.job, s.job FROM joints j {LAID} "
                f"JOIN loads s ON s.load_id = coalesce(j.{fields.PLACE}, j.load_id) WHERE {here} "
                f"AND j.fid - (j.fid / {step}) * {step} = 0 ORDER BY f.job, j.route, {ALONG}, j.fid",
                [*_COLUMNS, "laid_by", "surveyed_by"],
                **place,
            )
        )
        out = {uid: state for uid, state, _ in store.rows(service.LATEST)}
        waits = placed_waits(waiting.waiting(store), store.ground)
        surveyed = _surveyed(store, box, rows, out)
    drawn = count <= DRAWN
    return {
        "count": count,
        "drawn": drawn,
        "joints": _collection([_point(row) for row in rows] if drawn else []),
        "mains": _collection(_lines(rows, out)),
        "surveyed": _collection(surveyed),
        "waiting": _collection([_wait(one) for one in waits if _inside(one, box)][:DRAWN]),
    }


def _surveyed(
    store: Store, box: tuple[float, float, float, float], joints: list[dict[str, Any]], out: dict[str, str]
) -> list[dict[str, Any]]:
    """Give the centerlines that reach into a window, as far as they do, with no more vertices than can be seen."""
    import shapely

    bounds = store.ground.bounds(*box)
    inside = "" if bounds is None else f" AND {store.inside(bounds, layout.LINES)}"
    found = store.rows(
        f"SELECT j.route, l.job, j.geom FROM {layout.LINES} j JOIN loads l ON l.load_id = j.load_id "
        f"WHERE {beside.stands('j')}{inside} ORDER BY j.fid"
    )
    of_route: dict[str, list[dict[str, Any]]] = {}
    for joint in joints:
        of_route.setdefault(joint["route"], []).append(joint)
    features = []
    for (route, job, _), line in zip(found, store.shapes([cell for *_, cell in found]), strict=True):
        places = np.column_stack(store.ground.lonlat(*shapely.get_coordinates(line).T))
        shown = shapely.clip_by_rect(shapely.simplify(shapely.LineString(places), (box[2] - box[0]) / _SEEN), *box)
        for state, part in _states_along(shown, job, of_route.get(route, []), out):
            properties = {"route": route, "job": job, "service": state}
            geometry = json.loads(shapely.to_geojson(part))
            features.append({"type": "Feature", "properties": properties, "geometry": geometry})
    return features


def _states_along(
    line: Any, job: str, joints: Sequence[dict[str, Any]], out: dict[str, str]
) -> Iterator[tuple[str, Any]]:
    """Cut a line as surveyed where joints along it are out of service from one to the next; yield state and part."""
    import shapely
    from shapely.ops import substring

    if line.is_empty:
        return
    own = [joint for joint in joints if joint["surveyed_by"] == job]
    states = [out.get(joint["joint_uid"], "in-service") for joint in own]
    if joints and not own:
        yield EARLIER, line
    elif len(set(states)) < 2 or line.geom_type != "LineString":
        yield (states[0] if len(set(states)) == 1 else "in-service"), line
    else:
        at = shapely.line_locate_point(line, shapely.points([(one["longitude"], one["latitude"]) for one in own]))
        order = np.argsort(at, kind="stable").tolist()
        begin, state = 0.0, states[order[0]]
        for back, ahead in pairwise(order):
            # A length is out of service where both its ends are, as of the mains.
            if states[ahead] != state:
                end = float(at[ahead] if state == "in-service" else at[back])
                yield state, substring(line, begin, end)
                begin, state = end, states[ahead]
        yield state, substring(line, begin, line.length)


def placed_waits(waits: Sequence[dict[str, Any]], ground: Ground) -> list[dict[str, Any]]:
    """Tell of joints that wait to be settled what a page shows, with longitude and latitude; None where not kept."""
    places = floats([one.get(name) for one in waits for name in ("easting", "northing")]).reshape(-1, 2)
    lonlat = np.column_stack(ground.lonlat(places[:, 0], places[:, 1])).tolist() if len(waits) else []
    return [
        {name: one[name] for name in _WAIT}
        | dict(zip(("longitude", "latitude"), at if np.all(np.isfinite(at)) else (None, None), strict=True))
        for one, at in zip(waits, lonlat, strict=True)
    ]


def _inside(one: dict[str, Any], box: tuple[float, float, float, float]) -> bool:
    west, south, east, north = box
    return one["longitude"] is not None and west <= one["longitude"] <= east and south <= one["latitude"] <= north


def _wait(one: dict[str, Any]) -> dict[str, Any]:
    named = f"{one['route']} {one['joint']} waits to be settled: {one['message']}"
    return {
        "type": "Feature", "properties": {"name": named},
        "geometry": {"type": "Point", "coordinates": [one["longitude"], one["latitude"]]},
    }  # fmt: skip


def _point(row: dict[str, Any]) -> dict[str, Any]:
    properties = {name: row[name] for name in _TOLD}
    return {
        "type": "Feature", "properties": properties,
        "geometry": {"type": "Point", "coordinates": [row["longitude"], row["latitude"]]},
    }  # fmt: skip


def _lines(rows: list[dict[str, Any]], out: dict[str, str]) -> list[dict[str, Any]]:
    """Join successive joints of one route that one job laid; a length is out of service where both its ends are."""
    parts: dict[tuple[str, str, str], list[list[list[float]]]] = {}
    for back, ahead in pairwise(rows):
        if (back["laid_by"], back["route"]) == (ahead["laid_by"], ahead["route"]):
            states = [out.get(one["joint_uid"], "in-service") for one in (back, ahead)]
            state = states[0] if "in-service" not in states else "in-service"
            laid = back["laid_by"], back["route"], state
            ends = [[back["longitude"], back["latitude"]], [ahead["longitude"], ahead["latitude"]]]
            parts.setdefault(laid, []).append(ends)
    return [
        {
            "type": "Feature", "properties": {"route": route, "service": state},
            "geometry": {"type": "MultiLineString", "coordinates": lines},
        }
        for (_, route, state), lines in parts.items()
    ]  # fmt: skip


def _collection(features: list[dict[str, Any]]) -> dict[str, Any]:
    return {"type": "FeatureCollection", "features": features}
