"""Routes whose bends all lie off their corners alike, by what the shots around the bends turn together."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints, scatter
from asbuilt.line.routes import Routes
from asbuilt.survey.against_log import Logged
from asbuilt.survey.bends import LEAST_ALONE, LEAST_BEND, missed, vertex_ahead, with_doubts
from asbuilt.survey.doubts import Doubt

_FARTHEST = 5.0
"""Laying lengths by which joints are tried farther ahead and farther back."""
_STEP = 0.25
_LEAST_MOVED = 0.75
"""Laying lengths by which joints stand elsewhere at the least; a station counted wrongly by a length is one."""
_MOST_BEND = np.radians(100.0)
"""No fitting turns by more; what a log has beyond it is no bend that could be reckoned with."""
_LEAST_SPREAD = np.radians(1.0)
"""Spread of the turns of a line beside its bends that is taken at the least."""
_AROUND = 4
"""Shots on either side of a bend whose turns say what the line turns there besides."""
_SHARING = 2
"""Legs between those of two bends up to which what one turns may be taken for the other's."""
_UNLIKELY = 12.0
"""Natural logarithm of how much less likely turns are to be by the stations than with all joints moved; judgement."""
_BETTER = 5.0
"""How many times smaller than that what is left has to be with all joints moved; judgement, no source."""


def slid(routes: Routes, logged: Logged, doubts: Sequence[Doubt]) -> Iterator[Doubt]:
    """Find routes on which bends fit the turns of the line only with all joints moved along it by one length.

    A bend between two shots turns the line in part at either. What it does not explain of their turns is held against
    what the line turns beside its bends, where it lies by its station, and with all joints of the route moved.

    Parameters
    ----------
    routes : Routes
        Lines that were shot; of others, each corner tells alone.
    logged : Logged
    doubts : sequence of Doubt
        Of the survey and the log; routes whose places are doubted as a whole are left out.

    Yields
    ------
    Doubt
    """
    if not routes.shot or routes.pieces is not None or routes.calibration is not None:
        return
    # Of a log that runs on beyond its line bends may say why.
    told = [
        one.route
        for one in doubts
        if one.misplaced or (one.longer >= 0 and (one.off_shots or one.code == "equation-ignored"))
    ]
    bend = logged.bend & (logged.angle >= LEAST_BEND) & (logged.angle <= _MOST_BEND)
    rows = np.flatnonzero(bend & ~np.isin(logged.route, told))
    if not len(rows):
        return
    route, angle, laying = logged.route[rows], logged.angle[rows], logged.laying
    at, _ = with_doubts(routes, route, logged.distance[rows], doubts)
    left = missed(routes, route, at, angle, laying)
    most = np.bincount(route, weights=(left / _LEAST_SPREAD) ** 2 / 4.0, minlength=len(routes.names))
    for number in np.flatnonzero(most >= _UNLIKELY).tolist():
        one = routes.of_routes(number, number + 1)
        mine = np.flatnonzero(route == number)
        mine = mine[_alone(one, at[mine], angle[mine], laying)]
        if not len(mine) or angle[mine].max() < LEAST_ALONE:
            continue
        if (moved := _moved(one, at[mine], angle[mine], laying)) is not None:
            yield _told(one, logged, rows[mine], number, moved)


def _moved(routes: Routes, at: Floats, angle: Floats, laying: float) -> float | None:
    """Give by how much the joints of a route lie farther ahead, where that alone explains its bends."""
    steps = laying * np.arange(-_FARTHEST, _FARTHEST + _STEP, _STEP)
    turn = np.abs(np.nan_to_num(routes.turns[0]))
    lacking = _lacking(routes, turn, at, angle, laying, steps)
    best = steps[(lacking**2).sum(axis=1).argmin()]
    spread = _spread(routes, turn, at, best)
    unlike = ((lacking / spread) ** 2).sum(axis=1) / 4.0
    as_logged, least = float(unlike[np.abs(steps) <= _STEP * laying].min()), float(unlike.min())
    if as_logged - least < _UNLIKELY or as_logged < _BETTER * least:
        return None
    alike = steps[unlike <= least + 1.0]
    moved = float(alike.mean())
    return moved if np.ptp(alike) <= laying and abs(moved) >= _LEAST_MOVED * laying else None


def _lacking(routes: Routes, turn: Floats, at: Floats, angle: Floats, laying: float, steps: Floats) -> Floats:
    """Give what the bends, moved by each step, do not explain of the turns of the shots around them, (steps, bends).

    Joints ahead of a bend that was not shot stand too far ahead on the line, by what the line cuts off there.
    """
    here = np.zeros(len(steps), dtype=np.int64)
    lacking = np.zeros((len(steps), len(at)))
    cut = np.zeros(len(steps))
    for one in np.argsort(at, kind="stable").tolist():
        place, bend = at[one] + steps - cut, np.full(len(steps), angle[one])
        own = _cut_off(routes, turn, here, place, bend)
        tried = [missed(routes, here, place - part * own, bend, laying) for part in (0.0, 0.5, 1.0)]
        lacking[:, one] = np.min(tried, axis=0)
        cut += own
    return lacking


def _cut_off(routes: Routes, turn: Floats, route: Ints, place: Floats, angle: Floats) -> Floats:
    """Give how much shorter the leg at each place is than the pipe, by how the turn of a bend is shared by its ends."""
    ahead = vertex_ahead(routes, route, place)
    both = turn[ahead - 1] + turn[ahead]
    one = angle * turn[ahead - 1] / np.where(both > 0.0, both, 1.0)
    leg = routes.distance[ahead] - routes.distance[ahead - 1]
    # The sides of the triangle whose angles these are.
    sides = (np.sin(one) + np.sin(angle - one)) / np.sin(angle)
    return np.where(both > angle / 2.0, leg * (sides - 1.0), 0.0)


def _alone(routes: Routes, at: Floats, angle: Floats, laying: float) -> Bools:
    """Tell which bends of a route share no shots with another, nor lie ahead of some whose corners may be cut off."""
    along = routes.distance
    order = np.argsort(at, kind="stable")
    ahead = np.searchsorted(along, at[order]).clip(1, len(along) - 1)
    close = np.diff(ahead) <= _SHARING
    shared = np.append(close, False) | np.insert(close, 0, False)
    most_cut = (along[ahead] - along[ahead - 1]) * (1.0 / np.cos(angle[order] / 2.0) - 1.0)
    before = np.cumsum(np.where(shared, most_cut, 0.0)) <= _STEP * laying
    alone = np.zeros(len(at), dtype=np.bool_)
    alone[order] = ~shared & before
    return alone


def _spread(routes: Routes, turn: Floats, at: Floats, moved: float) -> Floats:
    """Give what the line turns at its shots beside each bend: the more of what it does on the route, and around it."""
    own = turn.copy()
    places = np.concatenate([at, at + moved])
    ahead = np.searchsorted(routes.distance, places).clip(1, len(own) - 1)
    # The shots beside a bend turn by it, wherever it is.
    own[np.concatenate([ahead - 1, ahead])] = np.nan
    own[[0, -1]] = np.nan
    spread = np.full(len(at), _LEAST_SPREAD)
    known = own[np.isfinite(own)]
    if len(known):
        spread[:] = max(scatter(known), _LEAST_SPREAD)
    for one, pair in enumerate(ahead.reshape(2, -1).T.tolist()):
        around = own[max(min(pair) - 1 - _AROUND, 0) : max(pair) + 1 + _AROUND]
        if np.isfinite(around).any():
            spread[one] = max(spread[one], float(np.sqrt(np.nanmean(around**2))))
    return spread


def _told(routes: Routes, logged: Logged, rows: Ints, number: int, moved: float) -> Doubt:
    symbol, length = units.SYMBOLS[routes.unit], float(routes.length[0])
    way = "farther ahead" if moved > 0 else "farther back"
    stations = ", ".join(str(one) for one in logged.station.take(rows[:3]).to_pylist())
    alone = len(rows) == 1
    which = f"the bend logged at {stations} fits" if alone else f"the {len(rows)} bends of the log ({stations}) fit"
    remedy = (
        "look at the start station, centerline.start_station: where it is wrong, every joint is placed as far off; "
        "else at the station of the bend, and at the row in which it is written"
        if alone
        else "look at the start station, centerline.start_station, as every joint of the route is as far off"
    )
    message = (
        f"{which} what the line turns at its shots only about {abs(moved):.0f} {symbol} {way} along it than by "
        f"{'its station' if alone else 'their stations'}: {remedy}"
    )
    return Doubt("bend-off-corner", message, -1, -1, number, 0.0, length, abs(moved), _LEAST_MOVED * logged.laying,
                 symbol, "a bend turns the line where it stands", misplaced=not alone,
                 off_shots=abs(moved) if alone else 0.0)  # fmt: skip
