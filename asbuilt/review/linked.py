"""The three plots of a route's page, which a browser keeps linked: pointing at a joint in one marks it in all.

Drawn by Bokeh from one shared set of joints; `templates/page.js` moves the mark, writes the stations and states the
exaggeration. What the plots are made of is the same for every route: it is made once, and a route fills in its numbers.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from functools import cache
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from asbuilt import units
from asbuilt.arrays import Floats
from asbuilt.review.look import GREY, MARKS, PINE
from asbuilt.review.shown import (
    ROUND,
    allowable_steps,
    bends,
    beside,
    deflection_top,
    heights,
    place_beside,
    within_view,
)

if TYPE_CHECKING:
    from bokeh.models import ColumnDataSource
    from bokeh.plotting import figure as Figure

    from asbuilt.review.reading import Route

_PLAN_HEIGHTS = (260, 460)
_NORTH_BELOW = 106
"""How far the north arrow stands below the upper edge of the plan, of its height; pixels."""
INK = "#20252B"
"""Replaced by the page's own ink, light or dark, where the browser draws."""
_SHARED = ("distance", "drawn", "east", "north", "elevation")

Filled = dict[str, dict[str, Any]]
"""Values to fill in: by the name that a part of the plots has, and what of it."""


class _Shape(NamedTuple):
    """What decides of what parts the plots are made; all else is filled in."""

    equations: int
    beside: tuple[tuple[str, str], ...]
    """Lines of the profile beside the pipe, and how they are drawn."""
    station_unit: str
    unit: str
    plan_unit: str


def scripts() -> list[str]:
    """Give Bokeh's own scripts, to be embedded in a page."""
    from bokeh.resources import Resources

    # Its warnings are about its own workings: newer releases warn of views that zooming takes away.
    return [str(script) for script in Resources(mode="inline", components=["bokeh"], log_level="error").js_raw]


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
    shape = _Shape(
        len(route.equations), tuple((word, style) for word, (_, style) in beside(route).items()),
        units.SYMBOLS[route.station_unit], units.SYMBOLS[route.unit], units.SYMBOLS[route.plan_unit],
    )  # fmt: skip
    item = json.loads(_made(shape))
    filled = _shared(route) | _of_deflection(route) | _of_plan(route) | _of_profile(route) | _of_stations(route)
    _fill(item, filled)
    return json.dumps(item, separators=(",", ":"), allow_nan=False)


def _fill(item: Any, filled: Filled) -> None:
    """Write values into the parts that are named for them; each name must be there."""
    from bokeh.core.serialization import Serializer

    serializer = Serializer(deferred=False)
    left = set(filled)
    for attributes in _parts(item):
        name = attributes.get("name")
        if name in filled:
            attributes.update({key: serializer.encode(value) for key, value in filled[name].items()})
            left.discard(name)
    if left:
        raise AssertionError(f"no part of the plots is named {', '.join(sorted(left))}")


def _parts(item: Any) -> Iterator[dict[str, Any]]:
    """Give the attributes of every part of a document that has some."""
    if isinstance(item, dict):
        if item.get("type") == "object" and "attributes" in item:
            yield item["attributes"]
        for value in item.values():
            yield from _parts(value)
    elif isinstance(item, list):
        for value in item:
            yield from _parts(value)


# What a route fills in ------------------------------------------------------------------------------------------------


def _shared(route: Route) -> Filled:
    joints, length = route.joints, float(route.line[-1, 0])
    right, up = (route.plan.joints - route.line[0, 1:3]).T
    values = (joints["distance"].to_numpy(), within_view(route), right, up, joints["elevation"].to_numpy())
    # Relative to the route's start, four bytes hold a hundredth of a foot over a hundred miles.
    shared: dict[str, Any] = dict(zip(_SHARED, map(_short, values), strict=True))
    return {
        "joints": {"data": shared | {"verdict": joints["verdict"].tolist()}},
        "along": {"start": -0.01 * length, "end": 1.01 * length, "bounds": (-0.05 * length, 1.05 * length)},
    }


def _of_deflection(route: Route) -> Filled:
    joints, top = route.joints, deflection_top(route)
    distance, drawn = joints["distance"].to_numpy(), within_view(route)
    floor, ceiling = joints["deflection_floor_deg"].to_numpy(), joints["deflection_ceiling_deg"].to_numpy()
    own, sigma = np.isfinite(joints["own_deflection_deg"].to_numpy()), joints["sigma_deg"].to_numpy()
    bounded, stated = ~own & np.isfinite(ceiling), own & np.isfinite(sigma) & np.isfinite(drawn)
    measured = joints["measured_deg"].to_numpy()
    known = np.isfinite(measured)
    return {
        "deflections": {"start": -0.1 * top, "end": top},
        "bounds": _uprights(distance[bounded], np.nan_to_num(floor[bounded]), ceiling[bounded]),
        "errors": _uprights(distance[stated], np.maximum(drawn - sigma, 0.0)[stated], (drawn + sigma)[stated]),
        "allowable": _places(*allowable_steps(route)),
        "measured": _places(distance[known], measured[known]),
        "deflection bends": _bent(route, np.zeros(len(joints))),
    }


def _of_plan(route: Route) -> Filled:
    plan, origin = route.plan, route.line[0, 1:3]
    across, up = np.ptp(plan.line, axis=0)
    height = int(np.clip(900 * up / max(across, 1e-9), *_PLAN_HEIGHTS))
    way = "turned to fill the width" if plan.turned else "grid north up"
    wide, high = (_with_room(places) for places in np.concatenate([plan.line, plan.joints]).T - origin[:, None])
    return {
        "plan": {"height": height},
        "plan title": {"text": f"Plan, {way}, equal scales"},
        "plan across": {"start": wide[0], "end": wide[1]},
        "plan up": {"start": high[0], "end": high[1]},
        "plan line": _places(*(plan.line - origin).T),
        "plan places": {"data": _named_in_plan(route, origin)},
        "north": {"y": height - _NORTH_BELOW, "angle": -float(np.arctan2(*plan.north))},
    }


def _of_profile(route: Route) -> Filled:
    distance, elevation = (route.joints[name].to_numpy() for name in ("distance", "elevation"))
    known = np.isfinite(elevation).any()
    low, high = heights(route) if known else (0.0, 1.0)
    room = 0.25 * max(high - low, 1.0)
    more = beside(route)
    told = ", ".join(f"{word} {style}" for word, (_, style) in more.items())
    title = f"Elevation{f' ({told})' if told else ''}" if known else "Elevation: none in the file"
    return {
        "profile title": {"text": title},
        "elevations": {"start": low - room, "end": high + room},
        "profile line": _places(route.line[:, 0], route.line[:, 3]),
        **{f"profile {word}": _places(distance, height) for word, (height, _) in more.items()},
        "profile bends": _bent(route, elevation),
    }


def _of_stations(route: Route) -> Filled:
    """Mark the stations, and break the axis at the equations, which are written out over the deflections."""
    places, names = route.stations.ticks(0.0, float(route.line[-1, 0]), 8)
    top = deflection_top(route)
    # Filled in, they take the names by which the page finds what to draw in its ink and on its paper.
    at = {
        f"equation {number} in {name}": {"location": one.distance, "name": name}
        for number, one in enumerate(route.equations)
        for name in ("ink", "paper")
    }
    told = {
        f"equation {number} in words": {
            "x": one.distance, "y": top, "text": f"{one.back} back\n{one.ahead} ahead", "name": "ink",
        }
        for number, one in enumerate(route.equations)
    }  # fmt: skip
    return {
        "stations": {"major_label_overrides": dict(zip(places.tolist(), names, strict=True))},
        "station ticks": {"ticks": places.tolist()},
        **at,
        **told,
    }


def _with_room(places: Floats) -> tuple[float, float]:
    """Give the ends of an axis with room for names beside what lies outermost; the page gives both equal scales."""
    low, high = float(places.min()), float(places.max())
    room = 0.1 * max(high - low, 1.0)
    return low - room, high + room


def _places(across: Floats, up: Floats) -> dict[str, Any]:
    return {"data": {"across": _short(across), "up": _short(up)}}


def _uprights(at: Floats, low: Floats, high: Floats) -> dict[str, Any]:
    return {"data": {"across": _short(at), "low": _short(low), "high": _short(high)}}


def _bent(route: Route, up: Floats) -> dict[str, Any]:
    """Give the bends along the route; the page names them, together where they lie too near one another."""
    named = [(at, text) for at, text in bends(route) if np.isfinite(up[at])]
    at = np.array([place for place, _ in named], dtype=np.int64)
    return {"data": _places(route.joints["distance"].to_numpy()[at], up[at])["data"] | {"text": [t for _, t in named]}}


def _named_in_plan(route: Route, origin: Floats) -> dict[str, Any]:
    """Give round stations and bends in plan; the page writes their names beside the line where there is room."""
    stations = zip(*route.stations.ticks(0.0, float(route.line[-1, 0]), 8), strict=True)
    distance = route.joints["distance"].to_numpy()
    # Bends first: they are named before the stations.
    named = [(float(distance[at]), text, "bend") for at, text in bends(route)]
    named += [(float(place), text, "station") for place, text in stations]
    places = [place_beside(route, place, 1 if kind == "bend" else -1) for place, _, kind in named]
    east, north, right, up = np.array(places).reshape(-1, 4).T
    return {"east": _short(east - origin[0]), "north": _short(north - origin[1]), "right": _short(right),
            "up": _short(up), "text": [text for _, text, _ in named], "kind": [kind for *_, kind in named]}  # fmt: skip


def _short(values: Floats) -> Any:
    return np.asarray(values, dtype=np.float32)


# What the plots are made of -------------------------------------------------------------------------------------------


@cache
def _made(shape: _Shape) -> str:
    """Make the plots without their numbers, as JSON: every part that a route fills in has a name."""
    from bokeh.embed import json_item
    from bokeh.layouts import column
    from bokeh.models import Range1d

    source, picked = _source("joints", *_SHARED, "verdict"), _source("picked", *_SHARED)
    along = Range1d(name="along")
    figures = [
        _deflection(shape, source, picked, along), _plan(shape, source, picked), _profile(shape, source, picked, along),
    ]  # fmt: skip
    return json.dumps(json_item(column(*figures, sizing_mode="stretch_width", name="plots")))


def _source(name: str, *columns: str) -> ColumnDataSource:
    from bokeh.models import ColumnDataSource

    return ColumnDataSource({column: [] for column in columns}, name=name)


def _deflection(shape: _Shape, source: ColumnDataSource, picked: ColumnDataSource, along: Any) -> Figure:
    from bokeh.models import Range1d

    plot = _figure("deflection", "Deflection at the joints", 340, x_range=along, y_range=Range1d(name="deflections"))
    for name, width, alpha in (("bounds", 3, 0.5), ("errors", 1, 0.8)):
        plot.segment(
            "across", "low", "across", "high", source=_source(name, "across", "low", "high"), line_color=GREY,
            line_width=width, line_alpha=alpha,
        )  # fmt: skip
    _line(plot, "allowable", line_width=2)
    _marks(plot, source, "distance", "drawn")
    plot.scatter(
        "across", "up", source=_source("measured", "across", "up"), marker="star", size=9, fill_color=None,
        line_color=INK, name="ink",
    )  # fmt: skip
    _bends(plot)
    _stations(plot, shape, told=True)
    plot.yaxis.axis_label = "degrees"
    plot.vspan("distance", source=picked, line_color=GREY, line_width=1, level="overlay")
    _picked(plot, picked, "distance", "drawn")
    return plot


def _plan(shape: _Shape, source: ColumnDataSource, picked: ColumnDataSource) -> Figure:
    from bokeh.models import ImperialLength, Label, MetricLength, Range1d, ScaleBar

    ranges = {"x_range": Range1d(name="plan across"), "y_range": Range1d(name="plan up")}
    plot = _figure("plan", "Plan", _PLAN_HEIGHTS[1], **ranges)
    _line(plot, "plan line")
    _marks(plot, source, "east", "north", part=0.75)
    _places_in_plan(plot)
    symbol = shape.plan_unit
    lengths = (MetricLength if symbol == "m" else ImperialLength)(
        include=[symbol], ticks=[base * 10.0**power for power in range(6) for base in ROUND]
    )
    plot.add_layout(
        ScaleBar(
            range=plot.x_range, unit=symbol, dimensional=lengths, location="bottom_left",
            background_fill_alpha=0, border_line_color=None, bar_length=0.12, bar_line_color=GREY, bar_line_width=3,
            padding=4, margin=0,
        ),
        "below",
    )  # fmt: skip
    plot.add_layout(
        Label(x=28, y=0, x_units="screen", y_units="screen", text="▲\nN", text_align="center", text_baseline="middle",
              text_font_size="14px", text_color=INK, name="north")
    )  # fmt: skip
    plot.axis.visible = False
    plot.grid.visible = False
    _picked(plot, picked, "east", "north")
    return plot


def _profile(shape: _Shape, source: ColumnDataSource, picked: ColumnDataSource, along: Any) -> Figure:
    from bokeh.models import Range1d

    plot = _figure("profile", "Elevation", 250, x_range=along, y_range=Range1d(name="elevations"))
    _line(plot, "profile line")
    for word, style in shape.beside:
        _line(plot, f"profile {word}", line_dash=style)
    _marks(plot, source, "distance", "elevation", part=0.75)
    _bends(plot)
    _stations(plot, shape, told=False)
    plot.yaxis.axis_label = shape.unit
    plot.vspan("distance", source=picked, line_color=GREY, line_width=1, level="overlay")
    _picked(plot, picked, "distance", "elevation")
    return plot


def _figure(name: str, title: str, height: int, **more: Any) -> Figure:
    from bokeh.models import Title
    from bokeh.plotting import figure

    return figure(
        title=Title(text=title, name=f"{name} title"), name=name, height=height, sizing_mode="stretch_width",
        toolbar_location=None, tools="", min_border_left=52, min_border_right=14, output_backend="canvas", **more,
    )  # fmt: skip


def _line(plot: Figure, name: str, **look: Any) -> None:
    plot.line("across", "up", source=_source(name, "across", "up"), line_color=INK, name="ink", **look)


def _marks(plot: Figure, source: ColumnDataSource, across: str, up: str, part: float = 1.0) -> None:
    """Draw the joints of each verdict, those that matter most on top."""
    from bokeh.models import CDSView, GroupFilter

    for name, mark in reversed(MARKS.items()):
        view = CDSView(filter=GroupFilter(column_name="verdict", group=name))
        fill = mark.color if mark.filled else None
        plot.scatter(
            across, up, source=source, view=view, marker=mark.bokeh, size=part * mark.size, fill_color=fill,
            line_color=mark.color, line_width=1.5 if not mark.filled else 0.5,
        )  # fmt: skip


def _picked(plot: Figure, picked: ColumnDataSource, across: str, up: str) -> None:
    """Draw the mark of the joint pointed at: on a layer of its own, so that moving it does not redraw the joints."""
    plot.scatter(
        across, up, source=picked, marker="circle", size=20, fill_color=None, line_color=INK, line_width=2.5,
        level="overlay", name="ink",
    )  # fmt: skip


def _bends(plot: Figure) -> None:
    """Mark the bends, and have room for the names that the page gives them."""
    plot.scatter(
        "across", "up", source=_source(f"{plot.name} bends", "across", "up", "text"), marker="inverted_triangle",
        size=9, fill_color=None, line_color=PINE, line_width=2,
    )  # fmt: skip
    plot.text(
        "across", "up", text="text", source=_source(f"{plot.name} bend names", "across", "up", "text"), y_offset=7,
        text_align="center", text_baseline="top", text_font_size="11px", text_color=INK, name="ink",
    )  # fmt: skip


def _places_in_plan(plot: Figure) -> None:
    """Mark round stations and bends in plan, and have room for their names."""
    from bokeh.models import CDSView, GroupFilter

    source = _source("plan places", "east", "north", "right", "up", "text", "kind")
    looks: dict[str, dict[str, Any]] = {
        "station": {"size": 5, "line_color": INK, "name": "ink"},
        "bend": {"marker": "inverted_triangle", "size": 9, "line_color": PINE, "line_width": 2},
    }
    for kind, look in looks.items():
        view = CDSView(filter=GroupFilter(column_name="kind", group=kind))
        plot.scatter("east", "north", source=source, view=view, fill_color=None, **look)
    names = _source("plan names", "east", "north", "text", "right", "down", "across", "baseline")
    plot.text(
        "east", "north", text="text", x_offset="right", y_offset="down", text_align="across", source=names,
        text_baseline="baseline", text_font_size="11px", text_color=INK, name="ink",
    )  # fmt: skip


def _stations(plot: Figure, shape: _Shape, *, told: bool) -> None:
    """Mark stations on the axis, and break it at the equations; those are written out where they are told."""
    from bokeh.models import FixedTicker, Label, Span

    plot.xaxis.ticker = FixedTicker(ticks=[], name="station ticks")
    plot.xaxis.name = "stations"
    plot.xaxis.axis_label = f"station, {shape.station_unit}"
    plot.xgrid.visible = False
    for number in range(shape.equations):
        for color, width, name in ((INK, 5, "ink"), ("#ffffff", 3, "paper")):
            plot.add_layout(
                Span(dimension="height", line_color=color, line_width=width, name=f"equation {number} in {name}")
            )
        if told:
            plot.add_layout(
                Label(x=0, y=0, y_offset=-4, x_offset=7, text_color=INK, name=f"equation {number} in words", text="",
                      tags=["equation"], text_font_size="11px", text_align="left", text_baseline="top")
            )  # fmt: skip
