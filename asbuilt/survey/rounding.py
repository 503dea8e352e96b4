"""Shots that were rounded when they were written down or exported: to what, and by how much that moves them.

What was rounded lies anywhere within half a step of what is written, so its standard error is the step over the square
root of 12 (textbook). Where that is more than the error that the job states, it is in the shots.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.line.routes import heights_measured
from asbuilt.notes import OfRoutes
from asbuilt.survey.doubts import file_of

if TYPE_CHECKING:
    from asbuilt.line.routes import Routes

UNIFORM = 12.0**-0.5
"""Standard error of what was rounded, in parts of the step."""
_FEWEST, _FEWEST_HEIGHTS = 8, 12
"""Shots of a route that are all multiples of a step by no chance, and elevations, which are one number each."""
_ASKED = 24
"""Shots of a route that are looked at first."""
_SLACK = 0.01
"""Numbers this near to a multiple, as a part of the step, are one: what is left of another unit's decimals."""
NOT_SEEN_M = 0.008
"""A standard error that no verdict shows, where the job states none."""
_METRE_STEPS, _FOOT_STEPS = (10.0, 1.0, 0.5, 0.25, 0.1, 0.05), (10.0, 5.0, 1.0, 0.5, 0.25, 0.1)
_DEGREE_STEPS = (1e-3, 1e-4, 1e-5, 1e-6)
_DEGREE_M = 111_320.0
"""A degree of latitude; textbook."""
_MOSTLY = 0.8
"""Numbers of which this part runs on evenly are of a line that was drawn so, or of pipes all alike."""
_RESTLESS = 8
"""So often numbers run on by a step more or less than just before, where they were rounded; on a drawn line where its
grade changes, or beside a short pipe. Common practice, no source."""
_NAMED = 3
"""Routes named in a note."""


class Rounded(NamedTuple):
    """To what the shots of each route were rounded: shapes (routes,)."""

    sigma: Floats
    """Standard error that it makes, coordinate units; 0 where none shows."""
    words: list[str]


def with_rounding(routes: Routes) -> tuple[Routes, list[OfRoutes]]:
    """Give shots the error by which their coordinates, or their elevations, were rounded, and tell of it.

    Parameters
    ----------
    routes : Routes

    Returns
    -------
    routes : Routes
        With `rounding_horizontal` and `rounding_vertical` where that is more than the error stated.
    notes : list of OfRoutes
    """
    if not routes.shot or routes.pieces is not None:
        return routes, []
    plan, notes = _counted(routes, _plan_steps(routes), routes.sigma_horizontal, _IN_PLAN)
    up, more = _counted(routes, _height_steps(routes), routes.sigma_vertical, _IN_HEIGHT)
    if plan is None and up is None:
        return routes, []
    return replace(routes, rounding_horizontal=plan, rounding_vertical=up), notes + more


class _Told(NamedTuple):
    """Words for what was rounded."""

    fields: tuple[str, ...]
    key: str
    result: str


_IN_PLAN = _Told(
    ("easting", "northing"), "centerline.sigma_horizontal", "turns in plan and places are taken as no surer than that"
)
_IN_HEIGHT = _Told(("elevation",), "centerline.sigma_vertical", "turns up and down are taken as no surer than that")


def _counted(
    routes: Routes, found: Rounded, stated: Floats | None, told: _Told
) -> tuple[Floats | None, list[OfRoutes]]:
    """Give the error by rounding of each shot where it counts, or None; and what is said of it, once for each step."""
    each = np.repeat(found.sigma, np.diff(routes.first))
    least = stated if stated is not None else np.full(len(each), NOT_SEEN_M * units.factor("m", routes.unit))
    counts = each > least
    if not counts.any():
        return None, []
    of = np.unique(routes.vertex_route[counts]).tolist()
    notes = []
    for words in sorted({found.words[one] for one in of}):
        mine = [one for one in of if found.words[one] == words]
        notes.append(_note(routes, mine, words, float(found.sigma[mine[0]]), stated is not None, told))
    return np.where(counts, each, 0.0), notes


def _note(routes: Routes, of: Sequence[int], words: str, sigma: float, stated: bool, told: _Told) -> OfRoutes:
    columns = {field: column for _, field, column in routes.matches}
    named = [f"{column!r}" for field in told.fields if (column := columns.get(field)) is not None]
    where = f" (column{'s' if len(named) > 1 else ''} {' and '.join(named)})" if named else ""
    names = ", ".join(repr(routes.names[one]) for one in of[:_NAMED])
    more = f" and {len(of) - _NAMED} more" if len(of) > _NAMED else ""
    symbol = units.SYMBOLS[routes.unit]
    than = f"more than {told.key} states" if stated else f"and the job states no {told.key}"
    text = (
        f"{file_of(routes)}: the {' and '.join(f'{field}s' for field in told.fields)}{where} of route"
        f"{'s' if len(of) > 1 else ''} {names}{more} are rounded to {words}: a standard error of {sigma:.2g} {symbol}, "
        f"{than}. {told.result[0].upper()}{told.result[1:]}; have the shots with all their decimals"
    )
    return OfRoutes(text, tuple(routes.names[one] for one in of))


def _plan_steps(routes: Routes) -> Rounded:
    many = len(routes.names)
    sigma, words = np.zeros(many), [""] * many
    enough = np.diff(routes.first) >= _FEWEST
    own = (routes.easting, routes.northing)
    for step, word in _length_steps(routes.unit):
        new = _rounded(routes.first, own, step, enough & (sigma == 0))
        sigma[new] = step * UNIFORM
        words = [word if one else words[at] for at, one in enumerate(new.tolist())]
    rest = np.flatnonzero(enough & (sigma == 0))
    geodetic = routes.crs.geodetic_crs
    if not len(rest) or geodetic is None:
        return Rounded(sigma, words)
    # Few shots tell that there is nothing: all of a route are carried over only where these were rounded.
    some = _asked(routes.first, rest)
    degrees = _degrees(routes, some.ravel())
    for step in _DEGREE_STEPS:
        likely = np.flatnonzero(_multiples(degrees.reshape(2, *some.shape), step).all(axis=(0, 2)))
        for at in likely.tolist():
            number, part = int(rest[at]), slice(int(routes.first[rest[at]]), int(routes.first[rest[at] + 1]))
            all_of_it = _degrees(routes, np.arange(part.start, part.stop))
            ends = np.array([0, all_of_it.shape[1]])
            if sigma[number] == 0 and _rounded(ends, tuple(all_of_it), step, np.ones(1, dtype=np.bool_))[0]:
                narrow = np.cos(np.radians(float(all_of_it[1, 0])))
                metres = step * _DEGREE_M * np.sqrt((1.0 + narrow**2) / 2.0)
                sigma[number] = metres * UNIFORM * units.factor("m", routes.unit)
                words[number] = f"{-int(np.round(np.log10(step)))} decimals of a degree, {step * _DEGREE_M:.2g} m"
    return Rounded(sigma, words)


def _height_steps(routes: Routes) -> Rounded:
    many = len(routes.names)
    at = np.flatnonzero(heights_measured(routes))
    first = np.searchsorted(routes.vertex_route[at], np.arange(many + 1))
    return heights_rounded(first, routes.elevation[at], routes.unit)


def heights_rounded(first: Ints, elevation: Floats, unit: str) -> Rounded:
    """Say to what the elevations of each route were rounded.

    Parameters
    ----------
    first : array of int, shape (routes + 1,)
        Where those of each route begin.
    elevation : array
        In order along the routes.
    unit : {"us-ft", "ft", "m"}

    Examples
    --------
    >>> falls = 50.0 - 0.137 * np.arange(40)
    >>> found = heights_rounded(np.array([0, 40, 80]), np.concatenate([np.round(falls, 1), falls]), "us-ft")
    >>> found.sigma.round(4).tolist(), found.words[0]
    ([0.0289, 0.0], '0.1 ft')
    """
    many = len(first) - 1
    sigma, words = np.zeros(many), [""] * many
    enough = np.diff(first) >= _FEWEST_HEIGHTS
    for step, word in _length_steps(unit):
        new = _rounded(first, (elevation,), step, enough & (sigma == 0))
        sigma[new] = step * UNIFORM
        words = [word if one else words[number] for number, one in enumerate(new.tolist())]
    return Rounded(sigma, words)


def _length_steps(unit: str) -> list[tuple[float, str]]:
    """Give the steps to which lengths are rounded, the widest first, in coordinate units and in words."""
    foot = unit if unit != "m" else "us-ft"
    steps = [(units.factor("m", unit) * one, f"{one:g} m") for one in _METRE_STEPS]
    steps += [(units.factor(foot, unit) * one, f"{one:g} ft") for one in _FOOT_STEPS]
    return sorted(steps, reverse=True)


def _asked(first: Ints, route: Ints) -> Ints:
    """Give some shots of each route, its ends among them: shape (routes, shots)."""
    return first[route][:, None] + np.linspace(0.0, np.diff(first)[route] - 1, _ASKED).T.astype(np.int64)


def _multiples(values: Floats, step: float) -> Bools:
    """Say which numbers are as many steps from the first of their route, along the last axis."""
    parts = (values - values[..., :1]) / step
    found: Bools = np.abs(parts - np.round(parts)) <= _SLACK
    return found


def _rounded(first: Ints, values: Sequence[Floats], step: float, asked: Bools) -> Bools:
    """Say on which of the routes asked for all numbers are multiples of a step, and of no wider one by the main itself.

    Pipes of whole feet that run due north lie whole feet apart, unrounded, and so do elevations on one grade. Numbers
    that were rounded are as often odd as even, no multiples of five, and not one as far from the next as every other.
    """
    found = np.zeros(len(first) - 1, dtype=np.bool_)
    rest = np.flatnonzero(asked)
    if not len(rest):
        return found
    some = _asked(first, rest)
    likely = rest[np.logical_and.reduce([_multiples(one[some], step).all(axis=1) for one in values])]
    for number in likely.tolist():
        part = slice(int(first[number]), int(first[number + 1]))
        if not all(_multiples(one[part], step).all() for one in values):
            continue
        digits = [np.round((one[part] - one[part][0]) / step) for one in values]
        random = [_uneven(np.diff(one)) and (one % 2 != 0).any() and (one % 5 != 0).any() for one in digits]
        still = [not one.any() for one in digits]
        found[number] = any(random) and all(a or b for a, b in zip(random, still, strict=True))
    return found


def _uneven(steps: Floats) -> bool:
    """Say whether numbers do not run on by one and the same from each to the next, or from most of them.

    On a grade near a whole step a pipe, most do, and what is rounded shows where the next is a step more or less.
    """
    sizes, counts = np.unique(steps, return_counts=True)
    usual = int(np.argmax(counts))
    restless = np.count_nonzero(np.abs(np.diff(steps)) == 1) >= _RESTLESS
    return bool(len(sizes) > 1 and (sizes[usual] == 0 or counts[usual] < _MOSTLY * len(steps) or restless))


def _degrees(routes: Routes, vertex: Ints) -> Floats:
    from pyproj import Transformer

    step = Transformer.from_crs(routes.crs, routes.crs.geodetic_crs, always_xy=True)
    return np.stack(step.transform(routes.easting[vertex], routes.northing[vertex]))
