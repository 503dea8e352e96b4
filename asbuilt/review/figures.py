"""The plots of one route as drawings, for print and reports: deflection along the route, plan, and elevation profile.

The same three that the pages show on the screen.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from asbuilt import units
from asbuilt.arrays import Floats
from asbuilt.review import labels
from asbuilt.review.drawing import INK, Drawing, Field, at_each, through, uprights
from asbuilt.review.look import GREY, MARKS, PINE
from asbuilt.review.shown import (
    FLATTEST,
    ROUND,
    allowable_steps,
    bends,
    beside,
    bounds,
    deflection_top,
    design_in_plan,
    errors,
    from_to,
    heights,
    measured,
    place_beside,
    round_length,
    within_view,
)

if TYPE_CHECKING:
    from asbuilt.review.reading import Route

KINDS = ("deflection", "plan", "profile")
PAPER_WIDTH = 7.2
"""Inches: the width of print between the margins of letter and A4."""
_HEIGHTS = {"deflection": 2.7, "profile": 2.1}
_TITLES = {"deflection": "deflection at the joints", "plan": "plan", "profile": "elevation"}
_POINTS = 72.0
_SMALL, _AWAY = 6.0, 6.0
"""Height of small type, and how far a word in plan stands from its place; points."""
_LEGEND, _LEGEND_ROW, _HANDLE = 6.5, 10.0, 14.0
"""Height of the legend's type, of its rows, and the width of what it explains; points."""
_WIDE = 330.0
"""Points from which on a plot has room for a title and for more beside it."""
_MARGINS = {"left": 43.0, "right": 7.0, "bottom": 40.0, "top": 20.0, "plan": 2.0}
_DASHES = {"dotted": "0.8 1.4", "dashed": "3 1.4"}
_PALE, _AXIS = "#D8DCE0", "#8A9097"
_TRIANGLE = "m-1-.9h2l-1 1.8z"
_STAR = "m0-1 .22.69h.73l-.58.43.22.69-.59-.42-.59.42.22-.69-.58-.43h.73z"


def plot_route(route: Route, kind: str, *, width: float = PAPER_WIDTH, height: float | None = None) -> Drawing:
    """Draw one of the plots of a route.

    Parameters
    ----------
    route : Route
        From `read_review`.
    kind : {"deflection", "plan", "profile"}
        The deflection at every joint against its allowable: a mark stands at the deflection, or, where the survey gives
        only bounds, at the most that it lets the joint take, with a bar down to the least; thin lines are one standard
        error either way. The plan has equal scales, a north arrow and a scale bar; a long main is turned to fill it.
        The profile of elevations states its exaggeration.
    width, height : float
        Inches; if left out, the width of print between the margins of letter and A4, and the height that suits it.

    Returns
    -------
    Drawing
        With the texts `svg` and the bytes `png`; a notebook shows it.
    """
    high = height if height is not None else _HEIGHTS.get(kind) or _plan_height(route, width)
    drawing = Drawing(width * _POINTS, high * _POINTS)
    {"deflection": _deflection, "plan": _plan, "profile": _profile}[kind](drawing, route)
    return drawing


def _plan_height(route: Route, width: float) -> float:
    across, up = np.ptp(route.plan.line, axis=0)
    return float(np.clip(width * up / max(across, 1e-9) + 0.6, 1.6, 3.4))


# Deflection -----------------------------------------------------------------------------------------------------------


class _Entry(NamedTuple):
    """What the legend explains: how it is drawn, and in words."""

    word: str
    path: str
    """About the middle of what is drawn."""
    look: dict[str, str | float]


def _deflection(drawing: Drawing, route: Route) -> None:
    drawn, spread, noise, (there, gauged) = within_view(route), bounds(route), errors(route), measured(route)
    where, limit = allowable_steps(route)
    entries: list[_Entry] = []
    if len(spread.at):
        entries.append(_line_entry(from_to(route), color=GREY, width=2.5, opacity=0.45))
    if len(noise.at):
        entries.append(_line_entry("one standard error", color=GREY, width=0.7))
    if np.isfinite(limit).any():
        entries.append(_line_entry("allowable", width=1.3))
    entries += _mark_entries(route, drawn)
    if len(there):
        entries.append(_Entry("measured at the joint", _STAR, {"scale": 3.0, "width": 0.9}))
    above = _legend(drawing, entries)
    top = deflection_top(route)
    # Marks at nothing and the names of bends stand above the axis, which would cut them.
    field = _field(drawing, route, above, (-0.13 if bends(route) else -0.05) * top, top)
    _title(drawing, route, "deflection", field)
    _up_axis(drawing, field, "Deflection, degrees")
    for bars, entry in ((spread, from_to(route)), (noise, "one standard error")):
        look = next((one.look for one in entries if one.word == entry), {})
        low, high = (field.down(np.minimum(values, top)) for values in bars[1:])
        drawing.line(uprights(field.right(bars.at), high, low), **look)  # type: ignore[arg-type]
    drawing.line(through(field.right(where), field.down(limit)), width=1.3)
    _station_axis(drawing, field, route)
    drawing.line(at_each(field.right(there), field.down(gauged), _STAR, 3.0), scale=3.0, width=0.9)
    _marks(drawing, field, route, route.joints["distance"], drawn)
    _bends(drawing, field, route, np.zeros(len(route.joints)))


def _line_entry(word: str, **look: str | float) -> _Entry:
    return _Entry(word, f"m{-_HANDLE / 2:g} 0h{_HANDLE:g}", look)


def _mark_entries(route: Route, drawn: Floats) -> list[_Entry]:
    there = set(route.joints["verdict"][np.isfinite(drawn)])
    return [_Entry(mark.word, mark.outline, _look(name, 1.0)) for name, mark in MARKS.items() if name in there]


def _legend(drawing: Drawing, entries: list[_Entry]) -> float:
    """Set the legend above the field, in as many rows as it needs, and give how far down it reaches, points."""
    left, edge = _MARGINS["left"], drawing.width - _MARGINS["right"]
    right, down = left, _MARGINS["top"] + _LEGEND_ROW / 2
    for entry in entries:
        long = _HANDLE + 4.0 + labels.prose(entry.word, _LEGEND)
        if right > left and right + long > edge:
            right, down = left, down + _LEGEND_ROW
        scale = float(entry.look.get("scale", 1.0))
        place = f"M{(right + _HANDLE / 2) / scale:.6g} {down / scale:.6g}"
        drawing.line(place + entry.path, **entry.look)  # type: ignore[arg-type]
        drawing.words(entry.word, right + _HANDLE + 4.0, down, _LEGEND, stands="center")
        right += long + 9.0
    return down + _LEGEND_ROW / 2 + 3.0 if entries else _MARGINS["top"]


# Plan -----------------------------------------------------------------------------------------------------------------


def _plan(drawing: Drawing, route: Route) -> None:
    field, design = _plan_field(drawing, route), design_in_plan(route)
    said = "design dashed" if np.isfinite(design).any() else ""
    _title(drawing, route, "plan", field, labels.width(said, 7.0))
    drawing.line(through(field.right(route.plan.line[:, 0]), field.down(route.plan.line[:, 1])))
    if said:
        drawing.line(through(field.right(design[:, 0]), field.down(design[:, 1])), dash=_DASHES["dashed"])
        drawing.words(said, field.left + field.width, field.top - 8.0, 7.0, across="right")
    _marks(drawing, field, route, route.plan.joints[:, 0], route.plan.joints[:, 1], part=0.6)
    line = labels.thinned((_in_points(field, *place) for place in route.plan.line.tolist()), 1.0)
    frame = labels.Frame(
        labels.Box(0.0, field.width, 0.0, field.height), [_north_arrow(drawing, field, route.plan.north)], line
    )
    frame.taken.append(_scale_bar(drawing, field, route))
    _name_bends_in_plan(drawing, field, route, frame)
    for place, name in zip(*route.stations.ticks(0.0, route.line[-1, 0], 8), strict=True):
        east, north, *_ = place_beside(route, place, -1)
        drawing.line(f"M{field.right(east):.2f} {field.down(north):.2f}h0", width=2.2, cap="round")
        _write(drawing, field, route, place, name, frame, side=-1)


def _plan_field(drawing: Drawing, route: Route) -> Field:
    """Lay out the plan with equal scales, in the middle of its room, with some of it left for names."""
    left, top = _MARGINS["plan"], _MARGINS["top"]
    width, height = drawing.width - left - _MARGINS["right"], drawing.height - top - _MARGINS["plan"]
    places = np.concatenate([route.plan.line, route.plan.joints])
    places = places[np.isfinite(places).all(axis=1)]
    middle, span = (places.max(axis=0) + places.min(axis=0)) / 2, np.ptp(places, axis=0)
    points = 1.0 / max(1.16 * span[0] / width, 1.32 * span[1] / height, 1e-9)
    half = np.array([width, height]) / points / 2
    (start, bottom), (end, upper) = middle - half, middle + half
    return Field(left, top, width, height, (start, end), (bottom, upper))


def _north_arrow(drawing: Drawing, field: Field, north: Floats) -> labels.Box:
    """Draw the arrow to grid north in the upper right corner, and give its box in points from the field's corner."""
    middle = np.array([field.left + field.width - 30.0, field.top + 28.0])
    (right, down), (across, up) = north * [1, -1], np.array([-north[1], -north[0]])
    tail, neck, tip = (middle + length * np.array([right, down]) for length in (2.0, 17.0, 24.0))
    sides = [neck + half * np.array([across, up]) for half in (-2.4, 2.4)]
    drawing.line(_outline([tail, neck]), width=1.2)
    drawing.line(_outline([tip, *sides]) + "z", width=0.5, fill=INK)
    words = middle + -11.0 * np.array([right, down])
    for text, shift in (("grid", -0.6), ("north", 0.6)):
        drawing.words(text, words[0], words[1] + shift * _SMALL * 1.1, _SMALL, across="center", stands="center")
    return labels.Box(field.width - 46, field.width, field.height - 56, field.height)


def _outline(places: list[Floats]) -> str:
    return "M" + "L".join(f"{right:.2f} {down:.2f}" for right, down in places)


_AROUND_BAR = 24.0
"""How near to the scale bar the line may come, points: its names stand between."""


def _scale_bar(drawing: Drawing, field: Field, route: Route) -> labels.Box:
    """Draw the scale bar in the lower corner that the line leaves free, and give its box from the field's corner."""
    span = field.across[1] - field.across[0]
    length = round_length(0.2 * span)
    long, start, up = length / span * field.width, 0.02 * field.width, 0.05 * field.height
    places = route.plan.joints
    low = field.top + field.height - field.down(places[:, 1]) < up + _AROUND_BAR
    at_left = low & (field.right(places[:, 0]) - field.left < start + long + _AROUND_BAR)
    at_right = low & (field.left + field.width - field.right(places[:, 0]) < start + long + _AROUND_BAR)
    if at_left.any() and not at_right.any():
        start = field.width - start - long
    left, down = field.left + start, field.top + field.height - up
    drawing.line(f"M{left:.2f} {down:.2f}h{long:.2f}", width=2.5)
    label = f"{length:,g} {units.SYMBOLS[route.plan_unit]}"
    drawing.words(label, left + long / 2, down - 3.0, 7.0, across="center", stands="bottom")
    return labels.Box(start - 3, start + long + 3, up - 3, up + 12)


def _name_bends_in_plan(drawing: Drawing, field: Field, route: Route, frame: labels.Frame) -> None:
    """Mark the bends in plan; those too near together for a name each are named together."""
    distance, found = route.joints["distance"], bends(route)
    places = [_in_points(field, *place_beside(route, distance[joint], 1)[:2]) for joint, _ in found]
    groups: list[list[int]] = []
    for number, place in enumerate(places):
        near = bool(groups) and labels.near(place, places[groups[-1][-1]], _SMALL)
        groups[-1:] = [[*groups[-1], number]] if near else [*groups[-1:], [number]]
    at = np.array([place_beside(route, distance[joint], 1)[:2] for joint, _ in found]).reshape(-1, 2)
    _bend_marks(drawing, field.right(at[:, 0]), field.down(at[:, 1]))
    for group in groups:
        middle = distance[found[group[len(group) // 2]][0]]
        name = labels.together([found[number][1] for number in group])
        _write(drawing, field, route, middle, name, frame, side=1)


def _write(
    drawing: Drawing, field: Field, route: Route, distance: float, text: str, frame: labels.Frame, *, side: int
) -> None:
    """Write beside the line in plan: bends right of it, `side` 1, stations left, -1; else where there is room."""
    east, north, *right = place_beside(route, distance, side)
    place, outward = _in_points(field, east, north), (right[0], right[1])
    way = labels.find_room(frame, place, outward, text, _SMALL, _AWAY, must=side == 1)
    if way is None:
        return
    across, stands = labels.alignment(*way)
    written = field.right(east) + _AWAY * way[0], field.down(north) - _AWAY * way[1]
    drawing.words(text, *written, _SMALL, across=across, stands=stands)


def _in_points(field: Field, east: float, north: float) -> tuple[float, float]:
    """Give where a place lies in a field, in points right and up from its lower left corner."""
    return field.right(east) - field.left, field.top + field.height - field.down(north)


# Profile --------------------------------------------------------------------------------------------------------------


def _profile(drawing: Drawing, route: Route) -> None:
    at, elevation = route.joints["distance"], route.joints["elevation"]
    if not np.isfinite(elevation).any():
        field = _field(drawing, route, _MARGINS["top"], 0.0, 1.0)
        _title(drawing, route, "profile", field)
        middle = field.left + field.width / 2, field.top + field.height / 2
        drawing.words("no elevations in the file", *middle, 9.0, across="center", stands="center")
        return
    wide = drawing.width > _WIDE
    bare = _field(drawing, route, _MARGINS["top"] + (0.0 if wide else _LEGEND_ROW), 0.0, 1.0)
    exaggeration, low, high = _exaggerated(bare, *heights(route))
    field = bare._replace(up=(low, high))
    said = f"elevation drawn {exaggeration:g} times" + (" (vertical exaggeration)" if wide else "")
    drawing.words(said, field.left + field.width, field.top - 8.0, 7.0, across="right")
    _title(drawing, route, "profile", field, labels.width(said, 7.0) + 8.0 if wide else 0.0)
    _up_axis(drawing, field, f"Elevation, {units.SYMBOLS[route.unit]}")
    drawing.line(through(field.right(route.line[:, 0]), field.down(route.line[:, 3])))
    for word, (height, style) in beside(route).items():
        drawing.line(through(field.right(at), field.down(height)), dash=_DASHES[style])
        known = np.flatnonzero(np.isfinite(height))
        # Below a line that runs below the pipe, so that the words stand on neither.
        shift = 9.0 if np.nansum(height - elevation) < 0 else -3.0
        drawing.words(word, field.right(at[known[0]]) + 2.0, field.down(height[known[0]]) + shift, 7.0)
    _station_axis(drawing, field, route)
    _marks(drawing, field, route, at, elevation, part=0.6)
    _bends(drawing, field, route, elevation)


def _exaggerated(field: Field, low: float, high: float) -> tuple[float, float, float]:
    """Give how many times too large heights are drawn, a round number, and the values at the edges for it."""
    span = field.across[1] - field.across[0]
    wanted = max((high - low) * 1.35, FLATTEST * span)
    lengths = span / field.width * field.height
    exaggeration = round_length(lengths / wanted)
    middle, half = (low + high) / 2, lengths / exaggeration / 2
    return exaggeration, middle - half, middle + half


# Of all three ---------------------------------------------------------------------------------------------------------


def _field(drawing: Drawing, route: Route, above: float, low: float, high: float) -> Field:
    """Lay out a plot along the route."""
    length, left = float(route.line[-1, 0]), _MARGINS["left"]
    width, height = drawing.width - left - _MARGINS["right"], drawing.height - above - _MARGINS["bottom"]
    return Field(left, above, width, height, (-0.01 * length, 1.01 * length), (low, high))


def _title(drawing: Drawing, route: Route, kind: str, field: Field, taken: float = 0.0) -> None:
    """Write what a plot shows above it; a name too long for what is left of its line is cut off, with a mark."""
    most = int((field.width - taken) / labels.width("m", 9.0)) - len(_TITLES[kind]) - 3
    name = route.name if len(route.name) <= max(most, 1) else f"{route.name[: max(most, 1)]}…"
    drawing.words(f"{name}: {_TITLES[kind]}", field.left, _MARGINS["top"] - 8.0, 9.0)


def _look(verdict: str, part: float) -> dict[str, str | float]:
    """Give how the mark of a verdict is drawn, part of its size on the screen."""
    mark = MARKS[verdict]
    scale = part * 0.275 * mark.size
    if not mark.outline.endswith("z"):
        # A dot is the round end of a line of no length.
        dot = mark.outline == "h0"
        return {"color": mark.color, "scale": scale, "width": 2 * scale + 0.8 if dot else 0.8, "cap": "round"}
    filled: dict[str, str | float] = {"fill": mark.color} if mark.filled else {}
    return {"color": mark.color, "scale": scale, "width": 0.8, **filled}


def _marks(drawing: Drawing, field: Field, route: Route, across: Floats, up: Floats, part: float = 1.0) -> None:
    """Draw the joints of each verdict, those that matter most on top."""
    verdict = route.joints["verdict"]
    for name, mark in reversed(MARKS.items()):
        which = (verdict == name) & np.isfinite(up) & np.isfinite(across)
        look = _look(name, part)
        places = field.right(across[which]), field.down(up[which])
        drawing.line(at_each(*places, mark.outline, float(look["scale"])), **look)  # type: ignore[arg-type]


def _up_axis(drawing: Drawing, field: Field, title: str) -> None:
    """Mark round values on the axis that stands upright, with a thin line across at each."""
    (low, high), left = field.up, field.left
    most = max(field.height / 14.0, 2.0)
    step = next(
        base * power for power in 10.0 ** np.arange(-6, 9) for base in ROUND if (high - low) / (base * power) <= most
    )
    values = np.arange(np.ceil(low / step - 1e-9), np.floor(high / step + 1e-9) + 1) * step
    decimals = max(-int(np.floor(np.log10(step) + 1e-9)), 0)
    for value, down in zip(values.tolist(), field.down(values).tolist(), strict=True):
        drawing.line(f"M{left:.2f} {down:.2f}h{field.width:.2f}", color=_PALE, width=0.5)
        drawing.line(f"M{left:.2f} {down:.2f}h-3", color=_AXIS)
        drawing.words(f"{value + 0.0:.{decimals}f}", left - 5.0, down, 7.0, across="right", stands="center")
    drawing.line(f"M{left:.2f} {field.top:.2f}v{field.height:.2f}", color=_AXIS)
    drawing.words(title, 9.0, field.top + field.height / 2, 8.0, across="center", turned=True)


def _station_axis(drawing: Drawing, field: Field, route: Route) -> None:
    length, low = float(route.line[-1, 0]), field.top + field.height
    most = int(np.clip(field.width / 45, 2, 9))
    for place, name in zip(*route.stations.ticks(0.0, length, most), strict=True):
        right = float(field.right(place))
        drawing.line(f"M{right:.2f} {low:.2f}v3", color=_AXIS)
        drawing.words(name, right, low + 5.0, 7.0, across="center", stands="top")
    drawing.line(f"M{field.left:.2f} {low:.2f}h{field.width:.2f}", color=_AXIS)
    title = f"Station, {units.SYMBOLS[route.station_unit]}"
    drawing.words(title, field.left + field.width / 2, low + 17.0, 8.0, across="center", stands="top")
    _equations(drawing, field, route)


def _equations(drawing: Drawing, field: Field, route: Route) -> None:
    """Break the axis at the equations, and write them along the top, in rows where they lie close together."""
    if not route.equations:
        return
    places = [float(field.right(one.distance)) - field.left for one in route.equations]
    texts = [[f"{one.back} back = {one.ahead} ahead"] for one in route.equations]
    widest = max(labels.width(text, _SMALL) for (text,) in texts)
    if any(widest > max(place, field.width - place) - 5 for place in places):
        texts = [[f"{one.back} back", f"{one.ahead} ahead"] for one in route.equations]
        widest = max(labels.width(line, _SMALL) for text in texts for line in text)
    beyond = [place + 5 + widest > field.width for place in places]
    spans = [(place - 5 - widest, place) if left else (place, place + 5 + widest)
             for place, left in zip(places, beyond, strict=True)]  # fmt: skip
    for place, text, left, row in zip(places, texts, beyond, labels.rows(spans), strict=True):
        for shift in (-0.7, 0.7):
            at = field.left + place + shift
            drawing.line(f"M{at:.2f} {field.top:.2f}v{field.height:.2f}", width=0.7, dash="2.8 1.4")
        down = field.top + 3 + (1.2 * len(text) + 0.5) * _SMALL * row
        right, long = field.left + place + (-5 if left else 5), max(labels.width(line, _SMALL) for line in text)
        drawing.behind(right - long * left, down, long, 1.2 * _SMALL * len(text))
        for number, line in enumerate(text):
            drawing.words(line, right, down + 1.2 * _SMALL * number, _SMALL, across="right" if left else "left",
                          stands="top")  # fmt: skip


def _bends(drawing: Drawing, field: Field, route: Route, up: Floats) -> None:
    """Mark the bends along the route; those too near together for a name each are named together."""
    found = [(at, text) for at, text in bends(route) if np.isfinite(up[at])]
    if not found:
        return
    right = field.right(route.joints["distance"]) - field.left
    at, texts = [place for place, _ in found], [text for _, text in found]
    _bend_marks(drawing, field.left + right[at], field.down(up[at]))
    for group, centre in labels.gathered(right[at].tolist(), texts, _SMALL, (0.0, field.width)):
        name = labels.together([texts[number] for number in group])
        # Under everything along its width, or the pipe would run through it.
        under = np.flatnonzero(np.abs(right - centre) <= labels.width(name, _SMALL) / 2)
        lowest = np.nanmin(up[[*[at[number] for number in group], *under]])
        drawing.words(name, field.left + centre, field.down(lowest) + 5.0, _SMALL, across="center", stands="top")


def _bend_marks(drawing: Drawing, right: Floats, down: Floats) -> None:
    drawing.line(at_each(right, down, _TRIANGLE, 2.2), color=PINE, width=1.0, scale=2.2)
