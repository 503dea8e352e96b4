"""Plots of one route on matplotlib axes: deflection along the route, plan, and elevation profile.

The same three that the pages show, for a report of one's own and for print.
"""

from __future__ import annotations

import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import wraps
from typing import IO, TYPE_CHECKING, Any, TypeVar

import numpy as np

from asbuilt import units
from asbuilt.arrays import Bools, Floats
from asbuilt.judging import fittings
from asbuilt.review import labels
from asbuilt.review.look import GREY, MARKS, PINE

if TYPE_CHECKING:
    from pathlib import Path

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from asbuilt.review.reading import Route

Drawn = TypeVar("Drawn")

KINDS = ("deflection", "plan", "profile")
_SIZES = {"deflection": (7.2, 2.7), "plan": (7.2, 3.0), "profile": (7.2, 2.1)}
"""Inches; 7.2 is the width of print between the margins of letter and A4."""
_INK = "#20252B"
_SMALL, _AWAY = 6.0, 6.0
"""Height of small type, and how far a word in plan stands from its place; points."""
_MANY = 1500
"""More marks than these are drawn as a picture inside the SVG: as outlines they make it slow and large."""
ROUND = (1, 2, 5)
LEAST_TOP_DEG = 1.0
"""What the deflection axis shows at least, so that a straight main without limits does not look bent."""


@contextmanager
def _drawing(**settings: Any) -> Iterator[None]:
    """Draw names as they are: a dollar sign begins no formula, and a letter that the font lacks is a box."""
    from matplotlib import rc_context

    with rc_context({"text.parse_math": False, **settings}), warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing from")  # told by `letters_not_drawn`
        yield


def _plain_texts(draw: Callable[..., Drawn]) -> Callable[..., Drawn]:
    @wraps(draw)
    def drawn(*given: Any, **more: Any) -> Drawn:
        with _drawing():
            return draw(*given, **more)

    return drawn


def letters_not_drawn(route: Route) -> str:
    """Give the letters in the names of a route and its joints that the plots' font lacks; the plots show boxes."""
    from matplotlib.font_manager import FontProperties, findfont, get_font

    known = get_font(findfont(FontProperties())).get_charmap()
    names = [route.name, *route.joints["joint"].dropna()]
    return "".join(sorted({letter for letter in "".join(names) if ord(letter) not in known}))


@_plain_texts
def plot_deflection(ax: Axes, route: Route) -> None:
    """Draw the deflection at every joint against its allowable, along the route.

    Parameters
    ----------
    ax : matplotlib Axes
    route : Route
        From `read_review`.

    Notes
    -----
    The legend stands above the axes, in as many rows as it needs; give the figure its size before. A mark stands at
    the deflection; where the survey gives only bounds, at the most that it lets the joint take, with a bar down to
    the least. Thin lines are one standard error either way.
    """
    joints = route.joints
    at, drawn = joints["distance"].to_numpy(), within_view(route)
    floor, ceiling = joints["deflection_floor_deg"].to_numpy(), joints["deflection_ceiling_deg"].to_numpy()
    many = len(joints) > _MANY
    own = np.isfinite(joints["own_deflection_deg"].to_numpy())
    bounded = ~own & np.isfinite(ceiling)
    if bounded.any():
        ax.vlines(at[bounded], np.nan_to_num(floor[bounded]), ceiling[bounded], colors=GREY, alpha=0.45, linewidth=2.5,
                  label="from at least to at most", rasterized=many)  # fmt: skip
    sigma = joints["sigma_deg"].where(own).to_numpy()
    if np.isfinite(sigma).any():
        ax.vlines(at, np.maximum(drawn - sigma, 0), drawn + sigma, colors=GREY, linewidth=0.7, rasterized=many,
                  label="one standard error")  # fmt: skip
    where, limit = allowable_steps(route)
    if np.isfinite(limit).any():
        ax.plot(where, limit, color=_INK, linewidth=1.3, label="allowable")
    _scatter(ax, route, at, drawn)
    measured = joints["measured_deg"].to_numpy()
    if np.isfinite(measured).any():
        ax.scatter(at, measured, marker="*", s=32, facecolors="none", edgecolors=_INK, linewidths=0.9,
                   label="measured at the joint", rasterized=many)  # fmt: skip
    top = deflection_top(route)
    # Marks at nothing and the names of bends stand above the axis, which would cut them.
    ax.set_ylim((-0.13 if bends(route) else -0.05) * top, top)
    ax.set_ylabel("Deflection, degrees", fontsize=8)
    _station_axis(ax, route)
    _bends(ax, route, np.zeros(len(joints)))
    ax.grid(axis="y", color="#D8DCE0", linewidth=0.5)
    _legend(ax)


@_plain_texts
def plot_plan(ax: Axes, route: Route) -> None:
    """Draw the route in plan with equal scales, a north arrow and a scale bar; a long main is turned to fill it.

    Parameters
    ----------
    ax : matplotlib Axes
    route : Route
        From `read_review`.
    """
    plan = route.plan
    ax.plot(*plan.line.T, color=_INK, linewidth=0.8, zorder=1)
    _scatter(ax, route, plan.joints[:, 0], plan.joints[:, 1], part=0.6)
    ax.set_aspect("equal", adjustable="datalim")
    ax.margins(0.08, 0.16)
    ax.autoscale_view()
    ax.apply_aspect()
    # What follows is set to this view, and must not change it.
    ax.autoscale(False)
    width, height = _points(ax)
    frame = labels.Frame(labels.Box(0.0, width, 0.0, height), [_north_arrow(ax, plan.north)])
    frame.taken.append(_scale_bar(ax, route))
    _name_bends_in_plan(ax, route, frame)
    places, names = route.stations.ticks(0.0, route.line[-1, 0], 8)
    for place, name in zip(places, names, strict=True):
        _beside(ax, route, place, name, frame, side=-1)
    ax.set(xticks=[], yticks=[])
    ax.spines[:].set_visible(False)


@_plain_texts
def plot_profile(ax: Axes, route: Route) -> None:
    """Draw the elevation of the joints along the route, with the exaggeration stated.

    Parameters
    ----------
    ax : matplotlib Axes
        Its size on paper sets the exaggeration, so give the figure its size before.
    route : Route
        From `read_review`.
    """
    at, elevation = route.joints["distance"].to_numpy(), route.joints["elevation"].to_numpy()
    if not np.isfinite(elevation).any():
        ax.text(0.5, 0.5, "no elevations in the file", transform=ax.transAxes, ha="center", va="center", fontsize=9)
        ax.set(xticks=[], yticks=[])
        _plain(ax)
        return
    line = route.line
    ax.plot(line[:, 0], line[:, 3], color=_INK, linewidth=0.8, zorder=1)
    for word, (height, style) in beside(route).items():
        ax.plot(at, height, color=_INK, linewidth=0.8, linestyle=style, zorder=1)
        known = np.flatnonzero(np.isfinite(height))
        # Below a line that runs below the pipe, so that the words stand on neither.
        shift = -9 if np.nansum(height - elevation) < 0 else 3
        place = at[known[0]], height[known[0]]
        ax.annotate(word, place, (2, shift), textcoords="offset points", fontsize=7)
    _scatter(ax, route, at, elevation, part=0.6)
    ax.set_ylabel(f"Elevation, {units.SYMBOLS[route.unit]}", fontsize=8)
    _station_axis(ax, route)
    exaggeration = _set_exaggeration(ax, *heights(route))
    _bends(ax, route, elevation)
    ax.grid(axis="y", color="#D8DCE0", linewidth=0.5)
    wide = _points(ax)[0] > 300
    said = f"elevation drawn {exaggeration:g} times" + (" (vertical exaggeration)" if wide else "")
    ax.set_title(said, fontsize=7, loc="right", color=_INK, y=1.0)


def drawn_deflection(route: Route) -> Floats:
    """Give where each joint's mark stands, degrees.

    At its deflection, else at the most that it can be, or at the least where that is over; infinite where the survey
    sets no bound, and NaN where nothing was computed.
    """
    joints = route.joints
    floor = joints["deflection_floor_deg"].where(joints["verdict"] == "over", np.inf)
    bounds = joints["deflection_ceiling_deg"].fillna(floor).where(joints["verdict"] != "not-computed")
    drawn: Floats = joints["own_deflection_deg"].fillna(bounds).to_numpy(dtype=np.float64)
    return drawn


def within_view(route: Route) -> Floats:
    """Give `drawn_deflection`, with what lies above the axis held just under its top."""
    return np.minimum(drawn_deflection(route), 0.97 * deflection_top(route))


def deflection_top(route: Route) -> float:
    """Give the top of the deflection axis, degrees: everything known exactly, and bounds up to three times that."""
    joints = route.joints
    most = joints[["allowable_deg", "own_deflection_deg", "measured_deg"]].max().max()
    drawn = drawn_deflection(route)
    bound = np.max(drawn[np.isfinite(drawn)], initial=0.5)
    known = most if np.isfinite(most) else bound
    # Equations are written along the top, above what is known exactly.
    room = 1.12 if not route.equations else 1.3
    return float(room * max(known, min(bound, 3 * known), LEAST_TOP_DEG))


def allowable_steps(route: Route) -> tuple[Floats, Floats]:
    """Give the allowable as a step line: distances and degrees, NaN where none is on file."""
    at, limit = route.joints["distance"].to_numpy(), route.joints["allowable_deg"].to_numpy()
    edge = np.concatenate([at[:1], (at[1:] + at[:-1]) / 2, at[-1:]])
    same = (limit[1:] == limit[:-1]) | (np.isnan(limit[1:]) & np.isnan(limit[:-1]))
    start = np.concatenate([[0], np.flatnonzero(~same) + 1])
    end = np.append(start[1:], len(at))
    return np.column_stack([edge[start], edge[end]]).ravel(), np.repeat(limit[start], 2)


def bends(route: Route) -> list[tuple[int, str]]:
    """Give the joints that lie at bends, with the angle in words; one logged by its two ends by the first of them."""
    angle = route.joints["bend_angle_deg"].to_numpy()
    there = np.flatnonzero(np.isfinite(angle) & ~second_ends(route))
    return [(int(at), f"{angle[at]:g}°") for at in there]


def beside(route: Route) -> dict[str, tuple[Floats, str]]:
    """Give what is known of the ground over the joints and of the design beside them: elevations, and how to draw them.

    Examples
    --------
    >>> import pandas as pd
    >>> from types import SimpleNamespace
    >>> joints = pd.DataFrame({"elevation": [50.0], "ground_elevation": [np.nan], "design_height": [0.25]})
    >>> {word: height.tolist() for word, (height, _) in beside(SimpleNamespace(joints=joints)).items()}
    {'design': [49.75]}
    """
    joints = route.joints
    ground, design = joints["ground_elevation"], joints["elevation"] - joints["design_height"]
    lines = {"ground": (ground.to_numpy(np.float64), "dotted"), "design": (design.to_numpy(np.float64), "dashed")}
    return {word: line for word, line in lines.items() if np.isfinite(line[0]).any()}


def heights(route: Route) -> tuple[float, float]:
    """Give the lowest and the highest elevation in a route's profile; NaN where none is known."""
    more = [height for height, _ in beside(route).values()]
    known = np.concatenate([route.joints["elevation"].to_numpy(), route.line[:, 3], *more])
    known = known[np.isfinite(known)]
    return (float(known.min()), float(known.max())) if len(known) else (np.nan, np.nan)


def second_ends(route: Route) -> Bools:
    """Mark the joints that are the second end of a bend logged by its two ends: shape (joints,).

    The two lie within a quarter of a laying length, have one angle, and turn it between them.
    """
    joints = route.joints
    angle, turn = joints["bend_angle_deg"].to_numpy(), joints["turn_deg"].fillna(0.0).to_numpy()
    near = np.diff(joints["distance"].to_numpy()) <= fittings.CLOSE * route.laying_length * route.scale
    pair = near & (angle[1:] == angle[:-1]) & (turn[1:] + turn[:-1] < 1.5 * angle[1:])
    second = np.zeros(len(joints), dtype=np.bool_)
    for at in np.flatnonzero(pair) + 1:
        second[at] = not second[at - 1]
    return second


@_plain_texts
def route_figure(route: Route, kind: str) -> Figure:
    """Draw one of the plots of a route on a figure of its own, sized for print.

    Parameters
    ----------
    route : Route
    kind : {"deflection", "plan", "profile"}
    """
    from matplotlib.figure import Figure

    width, height = _SIZES[kind]
    if kind == "plan":
        span = np.ptp(route.plan.line, axis=0)
        height = float(np.clip(width * span[1] / max(span[0], 1e-9) + 0.6, 1.6, 3.4))
    figure = Figure(figsize=(width, height))
    margins = (0.02, 0.02) if kind == "plan" else (0.6, 0.55)
    figure.subplots_adjust(
        left=margins[0] / width, right=1 - 0.1 / width, bottom=margins[1] / height, top=1 - 0.28 / height,
    )  # fmt: skip
    ax = figure.add_subplot()
    {"deflection": plot_deflection, "plan": plot_plan, "profile": plot_profile}[kind](ax, route)
    above = 6.0
    legend = ax.get_legend()
    if legend is not None:
        above = legend.get_window_extent().height * 72.0 / figure.dpi + 9
        figure.subplots_adjust(top=1 - (above + 15) / 72.0 / height)
    # Its place is known: looking for one among the ticks takes a sixth of the drawing.
    ax.set_title(f"{route.name}: {_TITLES[kind]}", fontsize=9, loc="left", color=_INK, pad=above, y=1.0)
    return figure


_TITLES = {"deflection": "deflection at the joints", "plan": "plan", "profile": "elevation"}


def save_figure(route: Route, kind: str, where: Path | IO[bytes], form: str) -> None:
    """Write one of the plots of a route as "svg" or "png"."""
    # Without a salt the names inside an SVG, and so the file, would differ in every run.
    with _drawing(**{"svg.hashsalt": f"{route.name} {kind}"}):
        figure = route_figure(route, kind)
        figure.savefig(where, format=form, dpi=200, metadata={"Date": None} if form == "svg" else None)


def _scatter(ax: Axes, route: Route, across: Floats, up: Floats, part: float = 1.0) -> None:
    verdict = route.joints["verdict"].to_numpy()
    for order, (name, mark) in enumerate(MARKS.items()):
        which = (verdict == name) & np.isfinite(up)
        if which.any():
            hollow = not mark.filled and mark.matplotlib != "x"
            ax.scatter(
                across[which], up[which], marker=mark.matplotlib, s=(part * 0.55 * mark.size) ** 2, label=mark.word,
                zorder=9 - order, linewidths=0.8, rasterized=len(across) > _MANY,
                facecolors="none" if hollow else mark.color, edgecolors=mark.color if hollow or mark.filled else None,
            )  # fmt: skip


def _station_axis(ax: Axes, route: Route) -> None:
    length = float(route.line[-1, 0])
    ax.set_xlim(-0.01 * length, 1.01 * length)
    most = int(np.clip(_points(ax)[0] / 45, 2, 9))
    places, names = route.stations.ticks(0.0, length, most)
    ax.set_xticks(places, names, fontsize=7)
    ax.tick_params(axis="y", labelsize=7)
    ax.set_xlabel(f"Station, {units.SYMBOLS[route.station_unit]}", fontsize=8)
    _equations(ax, route)
    _plain(ax)


def _equations(ax: Axes, route: Route) -> None:
    """Break the axis at the equations, and write them along the top, in rows where they lie close together."""
    length, wide = float(route.line[-1, 0]), _points(ax)[0]
    places = [one.distance / length * wide for one in route.equations]
    texts = [f"{one.back} back = {one.ahead} ahead" for one in route.equations]
    widest = max((labels.width(text, _SMALL) for text in texts), default=0.0)
    lines = 1
    if any(widest > max(place, wide - place) - 5 for place in places):
        texts, lines = [f"{one.back} back\n{one.ahead} ahead" for one in route.equations], 2
        widest = max(labels.width(line, _SMALL) for text in texts for line in text.split("\n"))
    beyond = [place + 5 + widest > wide for place in places]
    spans = [(place - 5 - widest, place) if left else (place, place + 5 + widest)
             for place, left in zip(places, beyond, strict=True)]  # fmt: skip
    for equation, text, left, row in zip(route.equations, texts, beyond, labels.rows(spans), strict=True):
        for shift in (-0.0015, 0.0015):
            ax.axvline(equation.distance + shift * length, color=_INK, linewidth=0.7, linestyle=(0, (4, 2)))
        ax.annotate(
            text, (equation.distance, 1), (-5 if left else 5, -3 - (1.2 * lines + 0.5) * _SMALL * row),
            xycoords=("data", "axes fraction"), textcoords="offset points", fontsize=_SMALL,
            ha="right" if left else "left", va="top", color=_INK,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 1, "alpha": 0.8},
        )  # fmt: skip


def _bends(ax: Axes, route: Route, up: Floats) -> None:
    """Mark the bends along the route; those too near together for a name each are named together."""
    found = [(at, text) for at, text in bends(route) if np.isfinite(up[at])]
    if not found:
        return
    distance = route.joints["distance"].to_numpy()
    at, texts = [place for place, _ in found], [text for _, text in found]
    ax.scatter(distance[at], up[at], marker="v", s=20, facecolors="none", edgecolors=PINE, linewidths=1.0, zorder=10)
    left, right = ax.get_xlim()
    places = (distance[at] - left) / (right - left) * _points(ax)[0]
    wide = _points(ax)[0]
    for group, centre in labels.gathered(places.tolist(), texts, _SMALL, (0.0, wide)):
        name = labels.together([texts[number] for number in group])
        middle = left + centre / wide * (right - left)
        # Under everything along its width, or the pipe would run through it.
        half = labels.width(name, _SMALL) / 2 * (right - left) / wide
        above = [*[at[number] for number in group], *np.flatnonzero(np.abs(distance - middle) <= half)]
        ax.annotate(name, (middle, np.nanmin(up[above])), (0, -5), textcoords="offset points", fontsize=_SMALL,
                    ha="center", va="top", color=_INK)  # fmt: skip


def _points(ax: Axes) -> tuple[float, float]:
    """Give how wide and high axes are, in points."""
    box, dpi = ax.get_window_extent(), ax.figure.dpi
    return float(box.width * 72.0 / dpi), float(box.height * 72.0 / dpi)


def _plain(ax: Axes) -> None:
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)
    for side in ("bottom", "left"):
        ax.spines[side].set_color("#8A9097")


def _legend(ax: Axes) -> None:
    """Set the legend above the axes, in as many columns as they are wide enough for."""
    handles, names = ax.get_legend_handles_labels()
    for columns in range(max(len(names), 1), 0, -1):
        legend = ax.legend(
            handles, names, loc="lower left", bbox_to_anchor=(0, 1.01), ncols=columns, fontsize=6.5, frameon=False,
            handletextpad=0.4, columnspacing=1.2, borderpad=0,
        )  # fmt: skip
        if legend.get_window_extent().width <= ax.get_window_extent().width:
            return


def _north_arrow(ax: Axes, north: Floats) -> labels.Box:
    """Draw the arrow to grid north in the upper right corner, and give its box in points from the axes' corner."""
    width, height = _points(ax)
    middle = np.array([width - 30.0, height - 28.0])
    (across, up), (right, top) = (middle + part * north for part in (-11.0, 24.0))
    ax.annotate(
        "grid\nnorth", (right / width, top / height), (across / width, up / height), xycoords="axes fraction",
        textcoords="axes fraction", fontsize=_SMALL, ha="center", va="center", color=_INK,
        arrowprops={"arrowstyle": "-|>", "color": _INK, "shrinkA": 2, "shrinkB": 0, "linewidth": 1.2},
    )  # fmt: skip
    return labels.Box(width - 60, width, height - 56, height)


def _scale_bar(ax: Axes, route: Route) -> labels.Box:
    """Draw the scale bar, and give its box in points from the axes' corner."""
    left, right = ax.get_xlim()
    bottom, top = ax.get_ylim()
    length = round_length(0.2 * (right - left))
    start, height = left + 0.02 * (right - left), bottom + 0.05 * (top - bottom)
    ax.plot([start, start + length], [height, height], color=_INK, linewidth=2.5, solid_capstyle="butt")
    label = f"{length:,g} {units.SYMBOLS[route.plan_unit]}"
    ax.annotate(label, (start + length / 2, height), (0, 3), textcoords="offset points", fontsize=7, ha="center")
    width, points = (size / span for size, span in zip(_points(ax), (right - left, top - bottom), strict=True))
    up = (height - bottom) * points
    return labels.Box(0.0, (start - left + length) * width + 3, up - 3, up + 12)


def round_length(most: float) -> float:
    """Give the greatest of 1, 2, 5, 10, 20, ... that is no greater.

    Examples
    --------
    >>> round_length(730.0), round_length(49.0), round_length(0.3)
    (500.0, 20.0, 0.2)
    """
    power = 10.0 ** np.floor(np.log10(most))
    return float(max(base for base in ROUND if base * power <= most * (1 + 1e-9)) * power)


def _set_exaggeration(ax: Axes, low: float, high: float) -> float:
    """Set the heights that the axis shows so that they are drawn a round number of times too large."""
    box = ax.get_window_extent()
    left, right = ax.get_xlim()
    lengths, height = (right - left) / box.width, box.height
    wanted = max((high - low) * 1.35, 1e-3 * (right - left))
    exaggeration = round_length(lengths * height / wanted)
    middle, half = (low + high) / 2, lengths * height / exaggeration / 2
    ax.set_ylim(middle - half, middle + half)
    # Holds whatever becomes of the figure's layout afterwards.
    ax.set_aspect(exaggeration, adjustable="datalim")
    return exaggeration


def _name_bends_in_plan(ax: Axes, route: Route, frame: labels.Frame) -> None:
    """Mark the bends in plan; those too near together for a name each are named together."""
    distance = route.joints["distance"].to_numpy()
    found = bends(route)
    groups: list[list[int]] = []
    for number, (joint, _) in enumerate(found):
        place = _in_points(ax, *place_beside(route, distance[joint], 1)[:2])
        before = _in_points(ax, *place_beside(route, distance[found[groups[-1][-1]][0]], 1)[:2]) if groups else None
        near = before is not None and labels.near(place, before, _SMALL)
        groups[-1:] = [[*groups[-1], number]] if near else [*groups[-1:], [number]]
    for group in groups:
        for number in group:
            east, north, *_ = place_beside(route, distance[found[number][0]], 1)
            ax.plot([east], [north], marker="v", markerfacecolor="none", markeredgecolor=PINE, markersize=4, zorder=10)
        middle = distance[found[group[len(group) // 2]][0]]
        _write(ax, route, middle, labels.together([found[number][1] for number in group]), frame, side=1)


def _beside(ax: Axes, route: Route, distance: float, text: str, frame: labels.Frame, *, side: int) -> None:
    """Mark a place on the line in plan, and write beside it where there is room."""
    east, north, *_ = place_beside(route, distance, side)
    ax.plot([east], [north], marker=".", color=_INK, markersize=3, zorder=10)
    _write(ax, route, distance, text, frame, side=side)


def _write(ax: Axes, route: Route, distance: float, text: str, frame: labels.Frame, *, side: int) -> None:
    """Write beside the line in plan: right of it where `side` is 1, left where it is -1; else where there is room."""
    east, north, *right = place_beside(route, distance, side)
    place = _in_points(ax, east, north)
    way = labels.find_room(frame, place, (right[0], right[1]), text, _SMALL, _AWAY)
    if way is None:
        return
    across, up = labels.alignment(*way)
    ax.annotate(text, (east, north), (_AWAY * way[0], _AWAY * way[1]), textcoords="offset points",
                fontsize=_SMALL, ha=across, va=up, color=_INK)  # fmt: skip


def _in_points(ax: Axes, east: float, north: float) -> tuple[float, float]:
    """Give where a place lies in axes, in points from their lower left corner."""
    (left, right), (bottom, top) = ax.get_xlim(), ax.get_ylim()
    width, height = _points(ax)
    return (east - left) / (right - left) * width, (north - bottom) / (top - bottom) * height


def place_beside(route: Route, distance: float, side: int) -> tuple[float, float, float, float]:
    """Give a place on the line in plan, and which way lies square to it: right where `side` is 1, left where -1."""
    line, reach = route.line, 0.01 * route.line[-1, 0]
    places = np.array([distance, max(distance - reach, 0), min(distance + reach, line[-1, 0])])
    east, north = (np.interp(places, line[:, 0], route.plan.line[:, column]) for column in (0, 1))
    along = np.array([east[2] - east[1], north[2] - north[1]]) / max(np.hypot(np.ptp(east), np.ptp(north)), 1e-9)
    away = side / max(np.hypot(*along), 1e-9)
    return float(east[0]), float(north[0]), float(along[1] * away), float(-along[0] * away)
