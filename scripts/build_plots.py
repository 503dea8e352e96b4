"""Make what the linked plots of the review are made of: asbuilt/review/templates/plots.json.

    python scripts/build_plots.py [FILE]

The plots without their numbers, as Bokeh writes them, for a plan in feet and for one in metres; every part that a route
fills in has a name. The review reads the file and does not load Bokeh, which takes longer than all else of a small job.
"""

from __future__ import annotations

import json
import re
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from asbuilt.review.drawing import INK
from asbuilt.review.linked import PLAN_HEIGHTS, SHARED
from asbuilt.review.look import GREY, MARKS, PINE
from asbuilt.review.shown import BESIDE, ROUND

if TYPE_CHECKING:
    from bokeh.models import ColumnDataSource
    from bokeh.plotting import figure as Figure

MADE = Path(__file__).resolve().parent.parent / "asbuilt" / "review" / "templates" / "plots.json"


def main() -> None:
    """Write the file."""
    path = Path(sys.argv[1]) if len(sys.argv) > 1 else MADE
    path.write_text(made(), "utf-8", newline="\n")


def made() -> str:
    """Give the plots for both units of a plan, as JSON."""
    return json.dumps({unit: plots(unit) for unit in ("ft", "m")}, indent=0, separators=(",", ":")) + "\n"


def plots(unit: str) -> Any:
    """Make the plots, without their numbers, of a plan in a unit."""
    from bokeh.embed import json_item
    from bokeh.layouts import column
    from bokeh.models import Range1d

    source, picked = _source("joints", *SHARED, "verdict"), _source("picked", *SHARED)
    along = Range1d(name="along")
    figures = [_deflection(source, picked, along), _plan(unit, source, picked), _profile(source, picked, along)]
    item: Any = json_item(column(*figures, sizing_mode="stretch_width", name="plots"))
    # Its settings are all as they are without them, and older releases know of none; a review writes the release.
    item["doc"].pop("config", None)
    item["version"] = item["doc"]["version"] = ""
    return _numbered(item)


def _numbered(item: Any) -> Any:
    """Number the parts from 1, in the order in which they stand: the same in every run."""
    text = json.dumps(item)
    names = dict.fromkeys(re.findall(r'"id": "(p\d+)"', text))
    numbers = {name: f"p{number}" for number, name in enumerate(names, start=1)}
    return json.loads(re.sub(r'"(p\d+)"', lambda one: f'"{numbers.get(one[1], one[1])}"', text))


def _source(name: str, *columns: str) -> ColumnDataSource:
    from bokeh.models import ColumnDataSource

    return ColumnDataSource({column: [] for column in columns}, name=name)


def _deflection(source: ColumnDataSource, picked: ColumnDataSource, along: Any) -> Figure:
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
    _stations(plot, told=True)
    plot.yaxis.axis_label = "degrees"
    plot.vspan("distance", source=picked, line_color=GREY, line_width=1, level="overlay")
    _picked(plot, picked, "distance", "drawn")
    return plot


def _plan(unit: str, source: ColumnDataSource, picked: ColumnDataSource) -> Figure:
    from bokeh.models import ImperialLength, Label, MetricLength, Range1d, ScaleBar

    ranges = {"x_range": Range1d(name="plan across"), "y_range": Range1d(name="plan up")}
    plot = _figure("plan", "Plan", PLAN_HEIGHTS[1], **ranges)
    _line(plot, "plan line")
    _line(plot, "plan design", line_dash=BESIDE["design"])
    _marks(plot, source, "east", "north", part=0.75)
    _places_in_plan(plot)
    lengths = (MetricLength if unit == "m" else ImperialLength)(
        include=[unit], ticks=[base * 10.0**power for power in range(6) for base in ROUND]
    )
    plot.add_layout(
        ScaleBar(
            range=plot.x_range, unit=unit, dimensional=lengths, location="bottom_left",
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


def _profile(source: ColumnDataSource, picked: ColumnDataSource, along: Any) -> Figure:
    from bokeh.models import Range1d

    plot = _figure("profile", "Elevation", 250, x_range=along, y_range=Range1d(name="elevations"))
    _line(plot, "profile line")
    for word, style in BESIDE.items():
        _line(plot, f"profile {word}", line_dash=style)
    _marks(plot, source, "distance", "elevation", part=0.75)
    _bends(plot)
    _stations(plot, told=False)
    plot.yaxis.name = "heights"
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


def _stations(plot: Figure, *, told: bool) -> None:
    """Mark stations on the axis, and break it at an equation; a route repeats what it is made of, or leaves it out."""
    from bokeh.models import FixedTicker, Label, Span

    plot.xaxis.ticker = FixedTicker(ticks=[], name="station ticks")
    plot.xaxis.name = "stations"
    plot.xgrid.visible = False
    for color, width, name in ((INK, 5, "ink"), ("#ffffff", 3, "paper")):
        plot.add_layout(Span(dimension="height", line_color=color, line_width=width, name=f"equation in {name}"))
    if told:
        plot.add_layout(
            Label(x=0, y=0, y_offset=-4, x_offset=7, text_color=INK, name="equation in words", text="",
                  tags=["equation"], text_font_size="11px", text_align="left", text_baseline="top")
        )  # fmt: skip


if __name__ == "__main__":
    main()
