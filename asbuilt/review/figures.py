"""Plots of one route on matplotlib axes: deflection along the route, plan, and elevation profile.

The same three that the pages show, for a report of one's own and for print.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from asbuilt import fittings, units
from asbuilt.arrays import Bools, Floats
from asbuilt.review.look import GREEN, GREY, MARKS

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from asbuilt.review.reading import Route

KINDS = ("deflection", "plan", "profile")
_SIZES = {"deflection": (7.2, 2.7), "plan": (7.2, 3.0), "profile": (7.2, 2.1)}
"""Inches; 7.2 is the width of print between the margins of letter and A4."""
_INK = "#20252B"
_MANY = 1500
"""More marks than these are drawn as a picture inside the SVG: as outlines they make it slow and large."""
ROUND = (1, 2, 5)
LEAST_TOP_DEG = 1.0
"""What the deflection axis shows at least, so that a straight main without limits does not look bent."""


def plot_deflection(ax: Axes, route: Route) -> None:
    """Draw the deflection at every joint against its allowable, along the route.

    Parameters
    ----------
    ax : matplotlib Axes
    route : Route
        From `read_review`.

    Notes
    -----
    A mark stands at the deflection; where the survey gives only bounds, at the most that it lets the joint take, with
    a bar down to the least. Thin lines are one standard error either way.
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
    ax.set_ylim(0, top)
    for place, text in bends(route):
        ax.annotate(text, (at[place], 0), (at[place], -0.035 * top), annotation_clip=False, fontsize=6, ha="center",
                    va="top", color=_INK)  # fmt: skip
        ax.plot([at[place]], [0], marker="v", color=GREEN, markersize=4, clip_on=False)
    ax.set_ylabel("Deflection, degrees", fontsize=8)
    _station_axis(ax, route, pad=9 if bends(route) else 3)
    ax.grid(axis="y", color="#D8DCE0", linewidth=0.5)
    _legend(ax)


def plot_plan(ax: Axes, route: Route) -> None:
    """Draw the route in plan, grid north up, with equal scales, a north arrow and a scale bar.

    Parameters
    ----------
    ax : matplotlib Axes
    route : Route
        From `read_review`.
    """
    joints, line = route.joints, route.line
    ax.plot(line[:, 1], line[:, 2], color=_INK, linewidth=0.8, zorder=1)
    _scatter(ax, route, joints["easting"].to_numpy(), joints["northing"].to_numpy(), part=0.6)
    ax.set_aspect("equal", adjustable="datalim")
    ax.margins(0.08, 0.16)
    length = line[-1, 0]
    places, names = route.stations.ticks(0.0, length, 8)
    for place, name in zip(places, names, strict=True):
        _beside(ax, route, place, name, _INK, side=-1)
    for place, text in bends(route):
        _beside(ax, route, joints["distance"].iloc[place], text, GREEN, side=1)
    ax.annotate(
        "grid\nnorth", (0.975, 0.97), (0, -32), xycoords="axes fraction", textcoords="offset points", fontsize=6,
        ha="center", va="top", color=_INK,
        arrowprops={"arrowstyle": "-|>", "color": _INK, "shrinkA": 0, "linewidth": 1.2},
    )  # fmt: skip
    _scale_bar(ax, route)
    ax.set(xticks=[], yticks=[])
    ax.spines[:].set_visible(False)


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
    _scatter(ax, route, at, elevation, part=0.6)
    for place, text in bends(route):
        where = (at[place], elevation[place])
        ax.annotate(text, where, (0, -11), textcoords="offset points", fontsize=6, ha="center", color=_INK)
    ax.set_ylabel(f"Elevation, {units.SYMBOLS[route.unit]}", fontsize=8)
    _station_axis(ax, route, pad=3)
    low, high = np.nanmin(elevation), np.nanmax(elevation)
    exaggeration = _set_exaggeration(ax, low, high)
    ax.grid(axis="y", color="#D8DCE0", linewidth=0.5)
    ax.set_title(f"heights drawn {exaggeration:g} times as large as lengths", fontsize=7, loc="right", color=_INK)


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
    return float(1.12 * max(known, min(bound, 3 * known), LEAST_TOP_DEG))


def allowable_steps(route: Route) -> tuple[Floats, Floats]:
    """Give the allowable as a step line: distances and degrees, NaN where none is on file."""
    at, limit = route.joints["distance"].to_numpy(), route.joints["allowable_deg"].to_numpy()
    edge = np.concatenate([at[:1], (at[1:] + at[:-1]) / 2, at[-1:]])
    same = (limit[1:] == limit[:-1]) | (np.isnan(limit[1:]) & np.isnan(limit[:-1]))
    start = np.concatenate([[0], np.flatnonzero(~same) + 1])
    end = np.append(start[1:], len(at))
    return np.column_stack([edge[start], edge[end]]).ravel(), np.repeat(limit[start], 2)


def bends(route: Route) -> list[tuple[int, str]]:
    """Give the joints that lie at bends, with the angle in words; bends near one another are named together."""
    angle, distance = route.joints["bend_angle_deg"].to_numpy(), route.joints["distance"].to_numpy()
    there = np.flatnonzero(np.isfinite(angle))
    if not len(there):
        return []
    near = 0.02 * route.line[-1, 0]
    groups = np.split(there, np.flatnonzero(np.diff(distance[there]) > near) + 1)
    named = []
    second = second_ends(route)
    for group in groups:
        angles = dict.fromkeys(f"{value:g}°" for value in angle[group])
        many = len(group) - int(second[group].sum())
        times = f"{many} × " if many > 1 else ""
        named.append((int(group[0]), times + ", ".join(angles)))
    return named


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
        span = np.ptp(route.line[:, 1:3], axis=0)
        height = float(np.clip(width * span[1] / max(span[0], 1e-9) + 0.6, 1.6, 3.4))
    figure = Figure(figsize=(width, height))
    margins = (0.02, 0.02) if kind == "plan" else (0.6, 0.55)
    figure.subplots_adjust(
        left=margins[0] / width, right=1 - 0.1 / width, bottom=margins[1] / height,
        top=1 - (0.5 if kind == "deflection" else 0.28) / height,
    )  # fmt: skip
    ax = figure.add_subplot()
    pad = 19 if kind == "deflection" else 6
    ax.set_title(f"{route.name}: {_TITLES[kind]}", fontsize=9, loc="left", color=_INK, pad=pad)
    {"deflection": plot_deflection, "plan": plot_plan, "profile": plot_profile}[kind](ax, route)
    return figure


_TITLES = {"deflection": "deflection at the joints", "plan": "plan", "profile": "elevation"}


def save_figure(route: Route, kind: str, path: Path) -> None:
    """Write one of the plots of a route as SVG or PNG, by the ending of the path."""
    from matplotlib import rc_context

    # Without a salt the names inside an SVG, and so the file, would differ in every run.
    with rc_context({"svg.hashsalt": f"{route.name} {kind}"}):
        figure = route_figure(route, kind)
        metadata = {"Date": None} if path.suffix == ".svg" else None
        figure.savefig(path, dpi=200, metadata=metadata)


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


def _station_axis(ax: Axes, route: Route, *, pad: float) -> None:
    length = float(route.line[-1, 0])
    ax.set_xlim(-0.01 * length, 1.01 * length)
    places, names = route.stations.ticks(0.0, length, 9)
    ax.set_xticks(places, names, fontsize=7)
    ax.tick_params(axis="y", labelsize=7)
    ax.tick_params(axis="x", pad=pad)
    ax.set_xlabel(f"Station, {units.SYMBOLS[route.station_unit]}", fontsize=8)
    for equation in route.equations:
        for shift in (-0.0015, 0.0015):
            ax.axvline(equation.distance + shift * length, color=_INK, linewidth=0.7, linestyle=(0, (4, 2)))
        beyond = equation.distance > 0.7 * length
        ax.annotate(
            f"{equation.back} back = {equation.ahead} ahead", (equation.distance, 0.97),
            (-5 if beyond else 5, 0), xycoords=("data", "axes fraction"), textcoords="offset points", fontsize=6,
            ha="right" if beyond else "left", va="top", color=_INK,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 1, "alpha": 0.8},
        )  # fmt: skip
    _plain(ax)


def _plain(ax: Axes) -> None:
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)
    for side in ("bottom", "left"):
        ax.spines[side].set_color("#8A9097")


def _legend(ax: Axes) -> None:
    ax.legend(
        loc="lower left", bbox_to_anchor=(0, 1.01), ncols=8, fontsize=6.5, frameon=False, handletextpad=0.4,
        columnspacing=1.2, borderpad=0,
    )  # fmt: skip


def _scale_bar(ax: Axes, route: Route) -> None:
    ax.autoscale_view()
    ax.apply_aspect()
    left, right = ax.get_xlim()
    bottom, top = ax.get_ylim()
    length = round_length(0.2 * (right - left))
    start, height = left + 0.02 * (right - left), bottom + 0.05 * (top - bottom)
    ax.plot([start, start + length], [height, height], color=_INK, linewidth=2.5, solid_capstyle="butt")
    label = f"{length:,g} {units.SYMBOLS[route.plan_unit]}"
    ax.annotate(label, (start + length / 2, height), (0, 3), textcoords="offset points", fontsize=7, ha="center")


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


def _beside(ax: Axes, route: Route, distance: float, text: str, color: str, *, side: int) -> None:
    """Write beside the line in plan: right of it where `side` is 1, left where it is -1, looking ahead."""
    east, north, *right = place_beside(route, distance, side)
    ax.plot([east], [north], marker=".", color=color, markersize=3, zorder=10)
    across, up = alignment(*right)
    ax.annotate(text, (east, north), (6 * right[0], 6 * right[1]), textcoords="offset points", fontsize=6, ha=across,
                va=up, color=_INK)  # fmt: skip


def place_beside(route: Route, distance: float, side: int) -> tuple[float, float, float, float]:
    """Give a place on the line in plan, and which way lies square to it: right where `side` is 1, left where -1."""
    line, reach = route.line, 0.01 * route.line[-1, 0]
    places = np.array([distance, max(distance - reach, 0), min(distance + reach, line[-1, 0])])
    east, north = (np.interp(places, line[:, 0], line[:, column]) for column in (1, 2))
    along = np.array([east[2] - east[1], north[2] - north[1]]) / max(np.hypot(np.ptp(east), np.ptp(north)), 1e-9)
    away = side / max(np.hypot(*along), 1e-9)
    return float(east[0]), float(north[0]), float(along[1] * away), float(-along[0] * away)


def alignment(right: float, up: float) -> tuple[str, str]:
    """Give how a text that lies this way from its place is set: across, and up."""
    across = "left" if right > 0.3 else "right" if right < -0.3 else "center"
    return across, "bottom" if up > 0.3 else "top" if up < -0.3 else "center"
