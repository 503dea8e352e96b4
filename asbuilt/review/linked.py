"""The three plots of a route's page, which a browser keeps linked: pointing at a joint in one marks it in all.

Drawn by Bokeh from one shared set of joints; `templates/page.js` moves the mark, writes the stations and states the
exaggeration.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import numpy as np

from asbuilt import units
from asbuilt.arrays import Floats
from asbuilt.review.figures import (
    ROUND,
    allowable_steps,
    bends,
    beside,
    deflection_top,
    heights,
    place_beside,
    within_view,
)
from asbuilt.review.look import GREY, MARKS, PINE

if TYPE_CHECKING:
    from bokeh.models import ColumnDataSource
    from bokeh.plotting import figure as Figure

    from asbuilt.review.reading import Route

_PLAN_HEIGHTS = (260, 460)
INK = "#20252B"
"""Replaced by the page's own ink, light or dark, where the browser draws."""


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
    from bokeh.embed import json_item
    from bokeh.layouts import column
    from bokeh.models import ColumnDataSource, Range1d

    joints, line = route.joints, route.line
    origin = line[0, 1:3]
    right, up = (route.plan.joints - origin).T
    length = float(line[-1, 0])
    shared = {
        "distance": joints["distance"].to_numpy(),
        "drawn": within_view(route),
        "east": right,
        "north": up,
        "elevation": joints["elevation"].to_numpy(),
    }
    # Relative to the route's start, four bytes hold a hundredth of a foot over a hundred miles.
    source = ColumnDataSource({name: _short(values) for name, values in shared.items()}, name="joints")
    source.data["verdict"] = joints["verdict"].tolist()
    picked = ColumnDataSource({name: [] for name in shared}, name="picked")
    along = Range1d(-0.01 * length, 1.01 * length, bounds=(-0.05 * length, 1.05 * length))
    figures = [
        _deflection(route, source, picked, along),
        _plan(route, source, picked, origin),
        _profile(route, source, picked, along),
    ]
    layout = column(*figures, sizing_mode="stretch_width", name="plots")
    return json.dumps(json_item(layout), separators=(",", ":"), allow_nan=False)


def _deflection(route: Route, source: ColumnDataSource, picked: ColumnDataSource, along: Any) -> Figure:
    joints, top = route.joints, deflection_top(route)
    plot = _figure(
        "Deflection at the joints", 340, name="deflection", x_range=along, y_range=(-0.1 * top, top),
    )  # fmt: skip
    distance, drawn = joints["distance"].to_numpy(), within_view(route)
    floor, ceiling = joints["deflection_floor_deg"].to_numpy(), joints["deflection_ceiling_deg"].to_numpy()
    own = np.isfinite(joints["own_deflection_deg"].to_numpy())
    bounded = ~own & np.isfinite(ceiling)
    if bounded.any():
        _uprights(plot, distance[bounded], np.nan_to_num(floor[bounded]), ceiling[bounded], width=3, alpha=0.5)
    sigma = joints["sigma_deg"].to_numpy()
    stated = own & np.isfinite(sigma) & np.isfinite(drawn)
    if stated.any():
        low, high = np.maximum(drawn - sigma, 0.0), drawn + sigma
        _uprights(plot, distance[stated], low[stated], high[stated], width=1, alpha=0.8)
    where, limit = allowable_steps(route)
    plot.line(_short(where), _short(limit), line_color=INK, line_width=2, name="ink")
    _marks(plot, source, "distance", "drawn")
    measured = joints["measured_deg"].to_numpy()
    if np.isfinite(measured).any():
        plot.scatter(
            _short(distance), _short(measured), marker="star", size=9, fill_color=None, line_color=INK, name="ink"
        )
    _bends(plot, route, distance, np.zeros(len(joints)))
    _stations(plot, route, top)
    plot.yaxis.axis_label = "degrees"
    plot.vspan("distance", source=picked, line_color=GREY, line_width=1, level="overlay")
    _picked(plot, picked, "distance", "drawn")
    return plot


def _plan(route: Route, source: ColumnDataSource, picked: ColumnDataSource, origin: Floats) -> Figure:
    from bokeh.models import ImperialLength, Label, MetricLength, Range1d, ScaleBar

    plan = route.plan
    across, up = np.ptp(plan.line, axis=0)
    height = int(np.clip(900 * up / max(across, 1e-9), *_PLAN_HEIGHTS))
    way = "turned to fill the width" if plan.turned else "grid north up"
    ranges = [Range1d(*_with_room(places)) for places in np.concatenate([plan.line, plan.joints]).T - origin[:, None]]
    plot = _figure(f"Plan, {way}, equal scales", height, name="plan", x_range=ranges[0], y_range=ranges[1])
    plot.line(*map(_short, (plan.line - origin).T), line_color=INK, name="ink")
    _marks(plot, source, "east", "north", part=0.75)
    _named_in_plan(plot, route, origin)
    symbol = units.SYMBOLS[route.plan_unit]
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
        Label(x=28, y=height - 106, x_units="screen", y_units="screen", text="▲\nN", text_align="center",
              text_baseline="middle", angle=-float(np.arctan2(*plan.north)), text_font_size="14px", text_color=INK,
              name="north")
    )  # fmt: skip
    plot.axis.visible = False
    plot.grid.visible = False
    _picked(plot, picked, "east", "north")
    return plot


def _with_room(places: Floats) -> tuple[float, float]:
    """Give the ends of an axis with room for names beside what lies outermost; the page gives both equal scales."""
    low, high = float(places.min()), float(places.max())
    room = 0.1 * max(high - low, 1.0)
    return low - room, high + room


def _profile(route: Route, source: ColumnDataSource, picked: ColumnDataSource, along: Any) -> Figure:
    from bokeh.models import Range1d

    elevation = route.joints["elevation"].to_numpy()
    known = np.isfinite(elevation).any()
    low, high = heights(route) if known else (0.0, 1.0)
    room = 0.25 * max(high - low, 1.0)
    more = beside(route)
    told = ", ".join(f"{word} {style}" for word, (_, style) in more.items())
    title = f"Elevation{f' ({told})' if told else ''}" if known else "Elevation: none in the file"
    plot = _figure(title, 250, name="profile", x_range=along, y_range=Range1d(low - room, high + room))
    line = route.line
    plot.line(_short(line[:, 0]), _short(line[:, 3]), line_color=INK, name="ink")
    for height, style in more.values():
        plot.line(
            _short(route.joints["distance"].to_numpy()), _short(height), line_color=INK, line_dash=style, name="ink"
        )
    _marks(plot, source, "distance", "elevation", part=0.75)
    _bends(plot, route, route.joints["distance"].to_numpy(), elevation)
    _stations(plot, route)
    plot.yaxis.axis_label = units.SYMBOLS[route.unit]
    plot.vspan("distance", source=picked, line_color=GREY, line_width=1, level="overlay")
    _picked(plot, picked, "distance", "elevation")
    return plot


def _figure(title: str, height: int, **more: Any) -> Figure:
    from bokeh.plotting import figure

    return figure(
        title=title, height=height, sizing_mode="stretch_width", toolbar_location=None, tools="", min_border_left=52,
        min_border_right=14, output_backend="canvas", **more,
    )  # fmt: skip


def _marks(plot: Figure, source: ColumnDataSource, across: str, up: str, part: float = 1.0) -> None:
    """Draw the joints of each verdict, those that matter most on top."""
    from bokeh.models import CDSView, GroupFilter

    for name, mark in reversed(MARKS.items()):
        if name not in set(source.data["verdict"]):
            continue
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


def _uprights(plot: Figure, at: Floats, low: Floats, high: Floats, *, width: int, alpha: float) -> None:
    plot.segment(_short(at), _short(low), _short(at), _short(high), line_color=GREY, line_width=width,
                 line_alpha=alpha)  # fmt: skip


def _bends(plot: Figure, route: Route, across: Floats, up: Floats) -> None:
    """Mark the bends; the page names them, together where they lie too near one another for a name each."""
    from bokeh.models import ColumnDataSource

    named = [(at, text) for at, text in bends(route) if np.isfinite(up[at])]
    if not named:
        return
    at = [place for place, _ in named]
    source = ColumnDataSource(
        {"across": _short(across[at]), "up": _short(up[at]), "text": [text for _, text in named]},
        name=f"{plot.name} bends",
    )
    plot.scatter(
        "across", "up", source=source, marker="inverted_triangle", size=9, fill_color=None, line_color=PINE,
        line_width=2,
    )  # fmt: skip
    names = ColumnDataSource({"across": [], "up": [], "text": []}, name=f"{plot.name} bend names")
    plot.text(
        "across", "up", text="text", source=names, y_offset=7, text_align="center", text_baseline="top",
        text_font_size="11px", text_color=INK, name="ink",
    )  # fmt: skip


def _named_in_plan(plot: Figure, route: Route, origin: Floats) -> None:
    """Mark round stations and bends in plan; the page writes their names beside the line where there is room."""
    from bokeh.models import CDSView, ColumnDataSource, GroupFilter

    stations = zip(*route.stations.ticks(0.0, float(route.line[-1, 0]), 8), strict=True)
    distance = route.joints["distance"].to_numpy()
    # Bends first: they are named before the stations.
    named = [(float(distance[at]), text, "bend") for at, text in bends(route)]
    named += [(float(place), text, "station") for place, text in stations]
    if not named:
        return
    east, north, right, up = np.array(
        [place_beside(route, place, 1 if kind == "bend" else -1) for place, _, kind in named]
    ).T
    columns = {"east": _short(east - origin[0]), "north": _short(north - origin[1]), "right": _short(right),
               "up": _short(up), "text": [text for _, text, _ in named],
               "kind": [kind for *_, kind in named]}  # fmt: skip
    source = ColumnDataSource(columns, name="plan places")
    for kind, look in (
        ("station", {"size": 5, "line_color": INK, "name": "ink"}),
        ("bend", {"marker": "inverted_triangle", "size": 9, "line_color": PINE, "line_width": 2}),
    ):
        view = CDSView(filter=GroupFilter(column_name="kind", group=kind))
        plot.scatter("east", "north", source=source, view=view, fill_color=None, **look)
    names = ColumnDataSource(
        {name: [] for name in ("east", "north", "text", "right", "down", "across", "baseline")}, name="plan names"
    )
    plot.text(
        "east", "north", text="text", x_offset="right", y_offset="down", text_align="across", source=names,
        text_baseline="baseline", text_font_size="11px", text_color=INK, name="ink",
    )  # fmt: skip


def _stations(plot: Figure, route: Route, top: float | None = None) -> None:
    """Mark the stations, and break the axis at the equations, which are written out at `top`, if it is given."""
    from bokeh.models import FixedTicker, Label, Span

    places, names = route.stations.ticks(0.0, float(route.line[-1, 0]), 8)
    plot.xaxis.ticker = FixedTicker(ticks=places.tolist())
    plot.xaxis.major_label_overrides = dict(zip(places.tolist(), names, strict=True))
    plot.xaxis.name = "stations"
    plot.xaxis.axis_label = f"station, {units.SYMBOLS[route.station_unit]}"
    plot.xgrid.visible = False
    for equation in route.equations:
        plot.add_layout(Span(location=equation.distance, dimension="height", line_color=INK, line_width=5, name="ink"))
        plot.add_layout(Span(location=equation.distance, dimension="height", line_color="#ffffff", line_width=3,
                             name="paper"))  # fmt: skip
        if top is None:
            continue
        plot.add_layout(
            Label(
                x=equation.distance, y=top, y_offset=-4, x_offset=7, text_color=INK, name="ink", tags=["equation"],
                text=f"{equation.back} back\n{equation.ahead} ahead", text_font_size="11px",
                text_align="left", text_baseline="top",
            )
        )  # fmt: skip


def _short(values: Floats) -> Any:
    return np.asarray(values, dtype=np.float32)
