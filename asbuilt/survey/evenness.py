"""Shots that are none: interpolated, smoothed, or taken from a design, and evener than shots of their error can be.

A real main makes the scatter of its shots across a smooth line only larger: normal errors are never likelier to lie in
a set that is convex and symmetric about no error than where there is nothing but error (Anderson 1955, from memory). So
a scatter that errors of the stated size leave at a rate of one in many millions was not left by such errors, whatever
the main does. Windows with no shot in common are independent. Those that are too even are counted, so that bends, and
true shots between the others, do not hide them.
"""

from __future__ import annotations

from collections.abc import Iterator, Set
from itertools import pairwise
from math import exp, lgamma
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints, together
from asbuilt.held import cuts
from asbuilt.line.routes import heights_measured
from asbuilt.survey.doubts import Doubt, checked, label
from asbuilt.survey.heights import alike

if TYPE_CHECKING:
    from asbuilt.job import Job
    from asbuilt.line.routes import Routes

CODE = "shots-too-even"
LEVEL = 1e-8
"""Rate of false alarms of each single test of a route; there are some hundreds, most of which say one thing."""
FEWEST = 12
"""Of fewer shots on a route nothing is said."""
LARGE, LARGE_ALONE = 0.3, 0.17
"""Parts of the stated error below which the scatter of most windows, and of one by itself, must lie: an error that was
stated twice too large, to be safe, is no sign of anything (common practice, no source)."""
MANY = 0.5
"""Where this part of a route's shots are none, the others prove nothing either."""
_KINDS = (
    (3, 3, 2), (3, 4, 2), (4, 4, 2), (5, 5, 2), (6, 6, 2), (10, 10, 2),
    (5, 5, 3), (6, 6, 3), (10, 10, 3), (5, 5, 4), (6, 6, 4), (10, 10, 4),
)  # fmt: skip
"""Shots of a window, from window to window, and numbers that fix the smooth line through one: a straight has two."""
_ALONE = ((12, 2), (16, 2), (30, 2), (16, 3), (30, 3), (16, 4))
"""The same of windows that tell by themselves: a stretch between others that were shot."""
_RATES = (0.5, 0.3, 0.1, 0.01, 1e-3)
"""Rates at which errors leave a window so even; windows are counted by each."""
_PRETEST, _SHARE = 0.3, 0.4
"""A quarter of single differences lie within this part of their standard error by chance; more are looked at."""
_STRETCH, _OF_STRETCH = 16, 12
_ROUNDED = tuple(
    size * unit for unit in (1.0, 1.0 / 0.3048, 3937.0 / 1200.0, 0.3048)
    for size in (1.0, 0.5, 0.1, 0.05, 0.02, 0.01, 0.005, 0.002, 0.001, 0.0001)
)  # fmt: skip
"""Steps to which coordinates are rounded, in their own unit or before they were carried over from another."""
_AT_ONCE = 1 << 15
"""Numbers that are fitted at one time: a processor has them at hand."""
_UP = "in height"
_AS_METRES = (0.2, 0.45)
"""Parts of its stated error in feet that heights in metres scatter: 0.3, but for chance and rounding."""
_ASKED = 24
"""Shots of a route by which its rounding is told."""


class _Part(NamedTuple):
    """What is looked at of some shots, in order along their routes: across the line, up, or along it."""

    word: str
    vertex: Ints
    route: Ints
    along: Floats
    """Where a smooth line has its value; for the plan, only roughly."""
    values: tuple[Floats, ...]
    """One, or easting and northing, of which the part square to each window's chord counts."""
    sigma: Floats
    orders: tuple[int, ...] = (2, 3, 4)
    """How many numbers fix the smooth lines that are tried: a straight has two."""


def even_shots(job: Job, routes: Routes) -> list[Doubt]:
    """Find shots that scatter less than their stated standard error lets shots scatter.

    Parameters
    ----------
    job : Job
    routes : Routes
        With the standard errors that the job or the shots state. Those that check shots show have what a survey is off
        as a whole in them, and are not for this.

    Returns
    -------
    list of Doubt
        One of a route for its plan, for its heights, and for the spacing of its shots; the whole route's shots are
        taken to be none where many are.
    """
    found: list[Doubt] = []
    if routes.pieces is not None or not routes.shot:
        return found
    right = checked(routes, job.centerline.shots_checked)
    for part in _parts(routes):
        ends = np.searchsorted(part.route, [end for _, end in cuts(np.diff(routes.first))])
        parts = [_of_shots(part, slice(*some)) for some in pairwise([0, *ends.tolist()])]
        asked = np.unique(np.concatenate([_suspicious(one) for one in parts]))
        if not len(asked):
            continue
        some = np.flatnonzero(np.isin(part.route, asked))
        vertex = part.vertex[some]
        even, ratio = _too_even(_of_shots(part, some), _step(part, routes, some))
        for mine in together(np.arange(len(vertex)), routes.vertex_route[vertex]):
            route, those = int(routes.vertex_route[vertex[mine[0]]]), vertex[mine[even[mine]]]
            if len(those) and not right[those].all():
                none = those if len(those) < MANY * len(mine) else vertex[mine]
                one = _told(routes, part, route, those, len(mine), ratio[route])
                found.append(one._replace(no_shots=tuple(none.tolist())))
    return found


def _told(routes: Routes, part: _Part, route: int, those: Ints, many: int, ratio: float) -> Doubt:
    symbol = units.SYMBOLS[routes.unit]
    stated = float(np.median(part.sigma[np.searchsorted(part.vertex, those)]))
    first, last = int(those[0]), int(those[-1])
    as_metres = part.word == _UP and routes.unit != "m" and _AS_METRES[0] < ratio < _AS_METRES[1]
    metres = "they are in metres (centerline.elevation_unit), " if as_metres else ""
    start, end = float(routes.distance[first]), float(routes.distance[last])
    message = (
        f"{len(those)} of {many} shots from {label(routes, first)} to {label(routes, last)} scatter {part.word} by "
        f"{ratio * stated:.2g} {symbol}, and with the stated standard error of {stated:.2g} {symbol} shots cannot be "
        f"so even: they were interpolated, smoothed or taken from a design, {metres}or the standard error is far "
        "smaller. Have the survey crew say which were shot on the pipe; leave out the others, or state the standard "
        "error they have"
    )
    return Doubt(CODE, message, -1, -1, route, start, end, ratio * stated, stated, symbol,
                 "the stated standard error of the shots, and chi-square")  # fmt: skip


def _parts(routes: Routes) -> Iterator[_Part]:
    every, route = np.arange(len(routes.easting)), routes.vertex_route
    # Where shots were rounded to more than their error, their scatter is the rounding's.
    if (
        routes.rounding_horizontal is None
        and routes.sigma_horizontal is not None
        and (routes.sigma_horizontal > 0).any()
    ):
        plan, sigma = (routes.easting, routes.northing), routes.sigma_horizontal
        yield _Part("across the line", every, route, routes.distance, plan, sigma)
        number = every.astype(np.float64)
        yield _Part("along the line, in their spacing,", every, route, number, (routes.distance,), sigma, (2,))
    if routes.rounding_vertical is None and routes.sigma_vertical is not None and (routes.sigma_vertical > 0).any():
        # One number for all is no even scatter; that is told by itself.
        at = np.flatnonzero(heights_measured(routes) & ~alike(routes))
        yield _Part(_UP, at, route[at], routes.distance[at], (routes.elevation[at],), routes.sigma_vertical[at])


def _of_shots(part: _Part, rows: Ints | slice) -> _Part:
    values = tuple(one[rows] for one in part.values)
    return _Part(
        part.word, part.vertex[rows], part.route[rows], part.along[rows], values, part.sigma[rows], part.orders
    )


def _step(part: _Part, routes: Routes, rows: Ints) -> Floats:
    """Give the step to which what some shots were measured by is rounded, shape (rows,)."""
    of = part.route[rows]
    first = np.flatnonzero(np.diff(of, prepend=-1, append=-1))
    measured = part.values if part.word == _UP else (routes.easting, routes.northing)
    step = np.max([_rounded(one[rows], first) for one in measured], axis=0)
    found: Floats = np.repeat(step, np.diff(first))
    return found


def _rounded(values: Floats, first: Ints) -> Floats:
    """Give the step to which the coordinates of each route are rounded, shape (routes,); 0 where none shows."""
    found = np.zeros(len(first) - 1)
    rows = first[:-1] + np.linspace(0.0, np.diff(first) - 1, _ASKED).astype(np.int64)
    told, slack = values[rows], 1e-14 * np.abs(values[rows]).max(initial=1.0)
    for step in sorted(_ROUNDED):
        off = np.abs(told - step * np.round(told / step)).max(axis=0)
        # A step that the slack of the numbers themselves would fit tells nothing.
        found = np.where((off <= slack) & (slack < 0.05 * step), step, found)
    return found


def _suspicious(part: _Part) -> Ints:
    """Give the routes on which more single differences are small than chance makes so, by a rough count."""
    count = len(part.vertex)
    routes = int(part.route.max(initial=-1)) + 1
    asked = np.zeros(routes, dtype=np.bool_)
    coefficients, values = [np.ones(count)], part.values
    for order in range(1, part.orders[-1] + 1):
        if count <= order:
            break
        with np.errstate(divide="ignore", invalid="ignore"):
            span = 1.0 / (part.along[order:] - part.along[:-order])
            values = tuple(np.diff(one) * span for one in values)
            coefficients = [
                (
                    (coefficients[at - 1][1:] if at else 0.0) - (coefficients[at][:-1] if at < order else 0.0)
                ) * span
                for at in range(order + 1)
            ]  # fmt: skip
            if order == 1:
                continue
            size = np.abs(values[0])
            if len(values) == 2:
                east, north = (one[order:] - one[:-order] for one in part.values)
                size = np.abs(values[0] * north - values[1] * east) / np.hypot(east, north)
            ends = len(size)
            variance = sum((one * part.sigma[at : at + ends]) ** 2 for at, one in enumerate(coefficients))
            small = size < _PRETEST * np.sqrt(variance)
        same = part.route[order:] == part.route[:-order]
        small &= same
        of = part.route[order:]
        asked |= np.bincount(of[small], minlength=routes) >= np.maximum(
            _SHARE * np.bincount(of[same], minlength=routes), 4.0
        )
        upto = np.concatenate([[0], np.cumsum(small)])
        if len(upto) > _STRETCH:
            full = np.flatnonzero(upto[_STRETCH:] - upto[:-_STRETCH] >= _OF_STRETCH)
            asked[of[full + _STRETCH - 1]] = True
    return np.flatnonzero(asked & (np.bincount(part.route, minlength=routes) >= FEWEST))


def _too_even(part: _Part, step: Floats) -> tuple[Bools, dict[int, float]]:
    """Say which shots are too even, shape (shots,), and by route how their scatter is to the stated one."""
    even = np.zeros(len(part.vertex), dtype=np.bool_)
    ratio: dict[int, float] = {}
    begin = np.flatnonzero(np.diff(part.route, prepend=-1))
    position = np.arange(len(part.route)) - np.repeat(begin, np.diff(np.append(begin, len(part.route))))

    def take(starts: Ints, width: int, misfit: Floats) -> None:
        first = np.zeros(len(even), dtype=np.bool_)
        first[starts] = True
        for after in range(width):
            even[after:] |= first[: len(first) - after]
        of = part.route[starts]
        for own in together(np.arange(len(starts)), of):
            route = int(of[own[0]])
            ratio[route] = max(ratio.get(route, 0.0), float(np.sqrt(_median(misfit[own]))))

    for width in sorted({width for width, *_ in (*_KINDS, *_ALONE)}):
        strides = [(stride, order) for wide, stride, order in _KINDS if wide == width and order in part.orders]
        alone = [order for wide, order in _ALONE if wide == width and order in part.orders]
        for order, one in _windows(part, step, width, {order for _, order in strides} | set(alone)):
            for stride in (stride for stride, of_order in strides if of_order == order):
                group = part.route[one.starts] * stride + position[one.starts] % stride
                for rows in _among_many(one, group, width - order):
                    take(one.starts[rows], width, one.misfit[rows] / (width - order))
            if order in alone:
                each = np.bincount(part.route)[part.route[one.starts]]
                told = one.least <= _quantile(width - order, LEVEL) * each ** (-2.0 / (width - order))
                rows = np.flatnonzero(told & (one.misfit < LARGE_ALONE**2 * (width - order)))
                if len(rows):
                    take(one.starts[rows], width, one.misfit[rows] / (width - order))
    return even, ratio


class _Windows(NamedTuple):
    """Windows of one width, each with how far it misses a smooth line: squares, shapes (windows,)."""

    starts: Ints
    """First shot of each."""
    misfit: Floats
    least: Floats
    """The same with what rounding can have taken away, which lets values fall on one another."""


def _among_many(windows: _Windows, group: Ints, freedom: int) -> Iterator[Ints]:
    """Give the windows that are too even in the groups where too many are: by each rate that tells of others."""
    many = np.bincount(group)
    # The middle one of a group is small where half of them, or one more, are.
    small = windows.misfit / _middle(freedom) < LARGE**2
    middle = np.bincount(group[small], minlength=len(many)) > (many - 1) // 2
    last = np.zeros(0, dtype=np.int64)
    for rate in _RATES:
        hit = windows.least <= _quantile(freedom, rate)
        share = np.bincount(group[hit], minlength=len(many)) / np.maximum(many, 1)
        told = (share > max(rate, MANY)) & (many * divergence(share, rate) > -np.log(LEVEL)) & middle
        rows = np.flatnonzero(hit & told[group])
        if not np.array_equal(rows, last):
            yield rows
        last = rows


def _windows(part: _Part, step: Floats, width: int, orders: Set[int]) -> Iterator[tuple[int, _Windows]]:
    """Fit smooth lines of some orders, in ascending order, to all windows of a width."""
    size, many = max(1, _AT_ONCE // width), len(part.route) - width + 1
    parts = [_fitted(part, step, slice(at, min(at + size, many)), width, orders) for at in range(0, many, size)]
    of_one = part.route[: max(many, 0)] == part.route[width - 1 :]
    for at, order in enumerate(sorted(orders)):
        misfit, least = (np.concatenate([one[at][which] for one in parts] or [np.zeros(0)]) for which in (0, 1))
        starts = np.flatnonzero(of_one & np.isfinite(least))
        yield order, _Windows(starts, misfit[starts], least[starts])


def _fitted(part: _Part, step: Floats, starts: slice, width: int, orders: Set[int]) -> list[tuple[Floats, Floats]]:
    """Give by order how far each window misses a smooth line, without and with what rounding can have taken away."""

    def seen(shots: Floats) -> Floats:
        found: Floats = sliding_window_view(shots, width)[starts].T
        return found

    along, value = (seen(one) - one[starts] for one in (part.along, part.values[0]))
    found = []
    with np.errstate(divide="ignore", invalid="ignore"):
        if len(part.values) == 2:
            north = seen(part.values[1]) - part.values[1][starts]
            chord = np.hypot(value[-1], north[-1])
            east_part, north_part = value[-1] / chord, north[-1] / chord
            along, value = value * east_part + north * north_part, value * north_part - north * east_part
        weight = 1.0 / seen(part.sigma)
        along = along / np.abs(along).max(axis=0) - 0.5
        left = value * weight
        rounding = ((step[starts] * weight) ** 2).sum(axis=0) / 6.0
        base: list[Floats] = []
        power = np.ones(())
        for number in range(1, max(orders) + 1):
            one, power = weight * power, power * along
            for other in base:
                one = one - (one * other).sum(axis=0) * other
            one = one / np.sqrt((one**2).sum(axis=0))
            base.append(one)
            left = left - (left * one).sum(axis=0) * one
            if number in orders:
                misfit = (left**2).sum(axis=0)
                found.append((misfit, misfit + rounding))
    return found


def _median(values: Floats) -> float:
    """Give the median of some numbers, which are many times a few: sorted whole, they are faster than parted."""
    values, half = np.sort(values), len(values) // 2
    return float(values[half] if len(values) % 2 else (values[half - 1] + values[half]) / 2.0)


def _quantile(freedom: int, rate: float) -> float:
    """Give a number under which chi-square lies no oftener than at a rate: the first term of its series.

    Examples
    --------
    >>> round(_quantile(2, 0.01), 6)
    0.02
    """
    half = freedom / 2.0
    return 2.0 * exp((np.log(rate) + lgamma(half + 1.0)) / half)


def _middle(freedom: int) -> float:
    """Give the median of chi-square, by Wilson and Hilferty."""
    return freedom * (1.0 - 2.0 / (9.0 * freedom)) ** 3


def beyond_chance(share: Floats, many: Ints | int, rate: float, level: float) -> Bools:
    """Say which shares of so many independent trials lie above their rate by more than chance at a level allows."""
    found: Bools = (share > rate) & (many * divergence(share, rate) > -np.log(level))
    return found


def divergence(share: Floats, rate: float) -> Floats:
    """Give by how much a share of independent trials, each, outweighs its rate: their number times it bounds the
    logarithm of the binomial tail (Chernoff)."""
    with np.errstate(divide="ignore", invalid="ignore"):
        one = np.where(share > 0, share * np.log(share / rate), 0.0)
        other = np.where(share < 1, (1.0 - share) * np.log((1.0 - share) / (1.0 - rate)), 0.0)
    found: Floats = one + other
    return found
