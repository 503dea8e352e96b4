"""The three plots of a route's page, which a browser keeps linked: pointing at a joint in one marks it in all.

Drawn by Bokeh from one shared set of joints; `templates/page.js` moves the mark, writes the stations and states the
exaggeration. What the plots are made of is the same for every route: `scripts/build_plots.py` made it once, in
`templates/plots.json`, and a route fills in its numbers. So Bokeh's scripts are read, and Bokeh itself is not loaded.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Sequence
from functools import cache
from importlib import resources
from importlib.metadata import version
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from asbuilt import units
from asbuilt.arrays import Floats
from asbuilt.review.shown import (
    FLATTEST,
    Bars,
    allowable_steps,
    bends,
    beside,
    bounds,
    deflection_top,
    design_in_plan,
    errors,
    heights,
    measured,
    place_beside,
    within_view,
)

if TYPE_CHECKING:
    from asbuilt.review.reading import Route

PLAN_HEIGHTS = (260, 460)
_NORTH_BELOW = 106
"""How far the north arrow stands below the upper edge of the plan, of its height; pixels."""
SHARED = ("distance", "drawn", "east", "north", "elevation")
_EQUATION = "equation in "
"""What the parts are named by that stand in the plots once for each station equation."""

_NAN = {"type": "number", "value": "nan"}

Filled = dict[str, dict[str, Any]]
"""Values to fill in: by the name that a part of the plots has, and what of it."""


@cache
def scripts() -> tuple[str, ...]:
    """Give Bokeh's own scripts, to be embedded in a page."""
    found = find_spec("bokeh")
    folder = Path(found.submodule_search_locations[0]) if found and found.submodule_search_locations else Path()
    library = (folder / "server" / "static" / "js" / "bokeh.min.js").read_text("utf-8")
    # Its warnings are about its own workings: newer releases warn of views that zooming takes away.
    return library, 'Bokeh.set_log_level("error");'


def linked_plots(route: Route) -> str:
    """Draw the linked plots of a route.

    Parameters
    ----------
    route : Route

    Returns
    -------
    str
        JSON for `Bokeh.embed.embed_item`.
    """
    filled = _shared(route) | _of_deflection(route) | _of_plan(route) | _of_profile(route) | _of_stations(route)
    made = _made(units.SYMBOLS[route.plan_unit], tuple((name, tuple(values)) for name, values in filled.items()))
    written = {(name, key): _json(_encoded(value)) for name, values in filled.items() for key, value in values.items()}
    equations = _of_equations(route)
    told = [written[slot] if slot in written else _for_each(made.repeated[slot[0]], equations) for slot in made.slots]
    return "".join(piece for pair in zip(made.texts, [*told, ""], strict=True) for piece in pair)


class _Made(NamedTuple):
    """What the plots are made of as JSON, cut where a route fills in its values."""

    texts: list[str]
    slots: list[tuple[str, str]]
    """What stands behind each text but the last: one of the values of a name, or what is repeated for equations."""
    repeated: dict[str, dict[str, Any]]
    """The parts that stand there once for each equation."""


@cache
def _made(unit: str, asked: tuple[tuple[str, tuple[str, ...]], ...]) -> _Made:
    """Give what the plots are made of, cut for the values of these names, each of which must have its place.

    Routes with ground or a design beside them fill in more than others.
    """
    item = json.loads(_plots())[unit]
    item["version"] = item["doc"]["version"] = version("bokeh")
    named: dict[str, list[Any]] = {}
    for part in _with_names(item):
        named.setdefault(part["attributes"]["name"], []).append(part)
    missing = [name for name, _ in asked if name not in named]
    if missing:
        raise AssertionError(f"no part of the plots is named {', '.join(sorted(missing))}")
    slots: list[tuple[str, str]] = []
    repeated: dict[str, dict[str, Any]] = {}
    for name, keys in asked:
        for part in named[name]:
            part["attributes"].update((key, _slot(slots, name, key)) for key in keys)
    for part in [part for name, parts in named.items() if name.startswith(_EQUATION) for part in parts]:
        name = part["id"]
        repeated[name] = dict(part)
        part.clear()
        # Behind another part of its list, so that its comma goes with it.
        part["for each"] = _slot(slots, name, "")
    texts = re.split(r'"slot (\d+)"', re.sub(r',\{"for each":("slot \d+")\}', r"\1", _json(item)))
    return _Made(texts[::2], [slots[int(number)] for number in texts[1::2]], repeated)


def _slot(slots: list[tuple[str, str]], name: str, key: str) -> str:
    slots.append((name, key))
    return f"slot {len(slots) - 1}"


@cache
def _plots() -> str:
    return resources.files("asbuilt.review").joinpath("templates", "plots.json").read_text("utf-8")


def _with_names(item: Any) -> Iterator[dict[str, Any]]:
    """Give every part that has a name."""
    if isinstance(item, dict) and item.get("type") == "object" and item.get("attributes", {}).get("name"):
        yield item
    for value in item.values() if isinstance(item, dict) else item if isinstance(item, list) else ():
        yield from _with_names(value)


def _for_each(part: dict[str, Any], equations: Sequence[Filled]) -> str:
    """Write a part of a list for each equation, with its values, a comma before each."""
    name = part["attributes"]["name"]
    return "".join(
        "," + _json(part | {"id": f"{part['id']}-{number}", "attributes": part["attributes"] | values[name]})
        for number, values in enumerate(equations)
    )


def _json(value: Any) -> str:
    return json.dumps(value, separators=(",", ":"), allow_nan=False)


def _encoded(value: Any) -> Any:
    """Write a value as the documents of every release of Bokeh have it: maps as entries, what is no number by name."""
    if isinstance(value, dict):
        return {"type": "map", "entries": [[key, _encoded(one)] for key, one in value.items()]}
    if isinstance(value, np.ndarray):
        return [one if one == one else _NAN for one in value.tolist()]
    return value


# What a route fills in ------------------------------------------------------------------------------------------------


def _shared(route: Route) -> Filled:
    joints, length = route.joints, float(route.line[-1, 0])
    right, up = (route.plan.joints - route.line[0, 1:3]).T
    values = (joints["distance"], within_view(route), right, up, joints["elevation"])
    shared: dict[str, Any] = dict(zip(SHARED, map(_short, values), strict=True))
    return {
        "joints": {"data": shared | {"verdict": joints["verdict"].tolist()}},
        "along": {"start": -0.01 * length, "end": 1.01 * length, "bounds": (-0.05 * length, 1.05 * length)},
    }


def _of_deflection(route: Route) -> Filled:
    top = deflection_top(route)
    return {
        "deflections": {"start": -0.1 * top, "end": top},
        "bounds": _uprights(bounds(route)),
        "errors": _uprights(errors(route)),
        "allowable": _places(*allowable_steps(route)),
        "measured": _places(*measured(route)),
        "deflection bends": _bent(route, np.zeros(len(route.joints))),
    }


def _of_plan(route: Route) -> Filled:
    plan, origin = route.plan, route.line[0, 1:3]
    across, up = np.ptp(plan.line, axis=0)
    height = int(np.clip(900 * up / max(across, 1e-9), *PLAN_HEIGHTS))
    way = "turned to fit" if plan.turned else "grid north up"
    design = design_in_plan(route)
    beside = {"plan design": _places(*(design - origin).T)} if np.isfinite(design).any() else {}
    way += ", design dashed" if beside else ""
    wide, high = (_with_room(places) for places in np.concatenate([plan.line, plan.joints]).T - origin[:, None])
    return {
        "plan": {"height": height},
        "plan title": {"text": f"Plan, {way}, equal scales"},
        "plan across": {"start": wide[0], "end": wide[1]},
        "plan up": {"start": high[0], "end": high[1]},
        "plan line": _places(*(plan.line - origin).T),
        **beside,
        "plan places": {"data": _named_in_plan(route, origin)},
        "north": {"y": height - _NORTH_BELOW, "angle": -float(np.arctan2(*plan.north))},
    }


def _of_profile(route: Route) -> Filled:
    distance, elevation = (route.joints[name] for name in ("distance", "elevation"))
    known = np.isfinite(elevation).any()
    low, high = heights(route) if known else (0.0, 1.0)
    least = FLATTEST * float(distance[-1] - distance[0])
    room = max(0.25 * max(high - low, 1.0), (least - (high - low)) / 2)
    more = beside(route)
    told = ", ".join(f"{word} {style}" for word, (_, style) in more.items())
    title = f"Elevation{f' ({told})' if told else ''}" if known else "Elevation: none in the file"
    return {
        # Empty axes would look like a profile whose line is lost.
        "profile": {"visible": bool(known)},
        "profile title": {"text": title},
        "heights": {"axis_label": units.SYMBOLS[route.unit]},
        "elevations": {"start": low - room, "end": high + room},
        "profile line": _places(route.line[:, 0], route.line[:, 3]),
        **{f"profile {word}": _places(distance, height) for word, (height, _) in more.items()},
        "profile bends": _bent(route, elevation),
    }


def _of_stations(route: Route) -> Filled:
    """Mark the stations."""
    places, names = route.stations.ticks(0.0, float(route.line[-1, 0]), 8)
    stations = {"axis_label": f"station, {units.SYMBOLS[route.station_unit]}"}
    return {
        "stations": stations | {"major_label_overrides": dict(zip(places.tolist(), names, strict=True))},
        "station ticks": {"ticks": places.tolist()},
    }


def _of_equations(route: Route) -> list[Filled]:
    """Break the axis at the equations, which are written out over the deflections."""
    top = deflection_top(route)
    # Filled in, they take the names by which the page finds what to draw in its ink and on its paper.
    return [
        {f"{_EQUATION}{name}": {"location": one.distance, "name": name} for name in ("ink", "paper")}
        | {
            f"{_EQUATION}words": {
                "x": one.distance, "y": top, "text": f"{one.back} back\n{one.ahead} ahead", "name": "ink",
            }
        }
        for one in route.equations
    ]  # fmt: skip


def _with_room(places: Floats) -> tuple[float, float]:
    """Give the ends of an axis with room for names beside what lies outermost; the page gives both equal scales."""
    low, high = float(places.min()), float(places.max())
    room = 0.1 * max(high - low, 1.0)
    return low - room, high + room


def _places(across: Floats, up: Floats) -> dict[str, Any]:
    return {"data": {"across": _short(across), "up": _short(up)}}


def _uprights(bars: Bars) -> dict[str, Any]:
    return {"data": dict(zip(("across", "low", "high"), map(_short, bars), strict=True))}


def _bent(route: Route, up: Floats) -> dict[str, Any]:
    """Give the bends along the route; the page names them, together where they lie too near one another."""
    named = [(at, text) for at, text in bends(route) if np.isfinite(up[at])]
    at = np.array([place for place, _ in named], dtype=np.int64)
    return {"data": _places(route.joints["distance"][at], up[at])["data"] | {"text": [t for _, t in named]}}


def _named_in_plan(route: Route, origin: Floats) -> dict[str, Any]:
    """Give round stations and bends in plan; the page writes their names beside the line where there is room."""
    stations = zip(*route.stations.ticks(0.0, float(route.line[-1, 0]), 8), strict=True)
    distance = route.joints["distance"]
    # Bends first: they are named before the stations.
    named = [(float(distance[at]), text, "bend") for at, text in bends(route)]
    named += [(float(place), text, "station") for place, text in stations]
    places = [place_beside(route, place, 1 if kind == "bend" else -1) for place, _, kind in named]
    east, north, right, up = np.array(places).reshape(-1, 4).T
    return {"east": _short(east - origin[0]), "north": _short(north - origin[1]), "right": _short(right),
            "up": _short(up), "text": [text for _, text, _ in named], "kind": [kind for *_, kind in named]}  # fmt: skip


def _short(values: Floats) -> Floats:
    # A ten-thousandth of a foot or of a degree is finer than any screen.
    return np.round(values, 4)
