"""Shots held against one another before anything is placed on them: what is astray, out of order, shot twice.

A shot that makes the line longer moves every joint ahead of it. Where that is certain to be a mistake and moves joints
far, the survey is refused with the remedy; else it is a doubt at the shot.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import groupby, pairwise, permutations, product
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.errors import InputFileError
from asbuilt.held import in_blocks
from asbuilt.line.routes import turns
from asbuilt.survey.doubts import Doubt, checked, file_of, label, least_off, listed

if TYPE_CHECKING:
    from asbuilt.job import Job
    from asbuilt.line.routes import Routes
    from asbuilt.survey.bends_logged import BendsLogged

BACK = np.radians(120.0)
"""No fitting turns a line so far back: the sharpest bend is 90 degrees, and its joints add some. Common practice, no
source. Of sparse shots several bends may, between a shot and those beside it."""
AGAIN = np.radians(60.0)
"""A line that is sound again without a shot turns less than this beside it."""
JOINT_MOST = np.radians(8.5)
"""More than any joint of the shipped tables allows: where nothing says what those of a log may."""
REFUSED_LENGTHS = 5.0
"""Laying lengths by which doubtful shots may lengthen a route before it is refused."""
SAME_SPOT_M = 0.5
"""A shot this near an earlier one is of the same place."""
TWICE_M = 0.15
"""Successive shots this near one another are of one place, if the line turns there and back."""
LEAST_RISER_M = 0.3
"""Shots of one place that are farther apart in elevation are not one place shot twice; judgement."""
_UPRIGHT = np.pi / 2.0
LEAST_OFF_M = 0.3
"""A shot nearer to the line through its neighbours moves no joint by more than can be seen. Successive shots no farther
apart, between which the line turns aside and back, are of one place, but for two bends there: no pipe is so short."""
FAR_LEG = 20.0
"""A leg of so many usual legs, and of so many laying lengths, was not shot."""
FEW_SHOTS = 10
_FEWEST = 4
"""Of fewer shots, the middle is not that of the sound ones."""
_NEARER = 0.1
"""A shot whose northing and easting are exchanged lies this much nearer to the others the other way round."""
_MOST_BLOCKS = 5
_MOST_SHOTS = 200
_STRAIGHTER = 0.25
"""Without a shot that is astray, the turns around it come down to less than this part."""
_LEFT_OUT = "(centerline.shots_left_out)"


class _Line(NamedTuple):
    """Vertices of all routes, with their turns and legs."""

    east: Floats
    north: Floats
    route: Ints
    turn: Floats
    back: Floats
    ahead: Floats
    longer: Floats
    """By how much each vertex makes its route longer; 0 at the ends."""


def screen(
    job: Job, routes: Routes, most: float = JOINT_MOST, logged: Callable[[], BendsLogged] | None = None
) -> list[Doubt]:
    """Find the shots that do not belong where they are in their line.

    Parameters
    ----------
    job : Job
    routes : Routes
        Vertices joined by straights; an alignment is drawn, and has nothing to screen.
    most : float
        The most that a joint of the log may deflect, radians: a line that turns there and back by more is a shot astray
        before it is a pipe.
    logged : function, optional
        Gives the bends of the log; asked where a line turns back.

    Returns
    -------
    list of Doubt
        In order along the routes. Those with a `turn` are doubtful only while no bend in the log explains them.

    Raises
    ------
    InputFileError
        When shots that are certain to be wrong make a route longer by more than `REFUSED_LENGTHS` laying lengths.
    """
    if routes.pieces is not None:
        return []
    right = checked(routes, job.centerline.shots_checked)
    laying = job.records.laying_length * units.factor(job.records.station_unit, routes.unit)
    line = _lined(routes.easting, routes.northing, routes.vertex_route, routes.turns)
    _refuse(routes, _exchanged(routes, line, right, laying), laying)
    certain = [one for one in _turned_back(routes, line, right) if not right[one.vertex]]
    if certain and logged is not None:
        certain = logged().not_turned_by(certain, routes, laying, most)
    _refuse(routes, certain, laying)
    told = {one.vertex for one in certain}
    spikes = [
        one
        for one in (*_spikes(routes, line, laying, most), *_ends(routes, line, laying, most))
        if not (right[one.vertex] or told & _around(one.vertex))
    ]
    twice = [one for one in _shot_twice(routes, line) if not (right[one.vertex] or told & _around(one.vertex))]
    gaps = _far_legs(routes, line, laying)
    return sorted([*certain, *spikes, *twice, *gaps], key=lambda one: (one.route, one.start))


def _around(vertex: int) -> set[int]:
    return {vertex - 1, vertex, vertex + 1}


def _lined(east: Floats, north: Floats, route: Ints, turned: tuple[Floats, Floats, Floats]) -> _Line:
    turn, back, ahead = turned

    def by_way_of(some: slice) -> Floats:
        # Nothing at the ends of routes, which have one leg.
        at = np.arange(some.start, some.stop).clip(1, len(east) - 2)
        across = np.hypot(east[at + 1] - east[at - 1], north[at + 1] - north[at - 1])
        legs = back[some] + ahead[some]
        longer: Floats = np.where(np.isfinite(legs), legs - across, 0.0)
        return longer

    return _Line(east, north, route, turn, back, ahead, in_blocks(by_way_of, len(east)))


def _exchanged(routes: Routes, line: _Line, right: Bools, laying: float) -> list[Doubt]:
    """Find the shots whose northing and easting are exchanged, at the ends of a route and beside one another, too.

    Such a shot lies a far leg away from the rest, and among them once the two are exchanged.
    """
    found = []
    for number in range(len(routes.names)):
        begin, end = int(routes.first[number]), int(routes.first[number + 1])
        legs = line.ahead[begin : end - 1]
        if end - begin < _FEWEST or not (legs > FAR_LEG * max(float(np.median(legs)), laying)).any():
            continue
        east, north = line.east[begin:end], line.north[begin:end]
        middle = float(np.median(east)), float(np.median(north))
        away = np.hypot(east - middle[0], north - middle[1])
        other = np.hypot(north - middle[0], east - middle[1])
        far = (away > FAR_LEG * laying) & (other < _NEARER * away) & ~right[begin:end]
        mended_east, mended_north = np.where(far, north, east), np.where(far, east, north)
        longer = float(legs.sum() - np.hypot(np.diff(mended_east), np.diff(mended_north)).sum())
        if not far.any() or longer < (1.0 - _NEARER) * float(legs.sum()):
            continue
        those = (np.flatnonzero(far) + begin).tolist()
        what = f"northing and easting of {listed(routes, those)} are exchanged"
        found.append(_told(routes, line, "shot-astray", those[0], what, "exchange the two", longer=longer))
    return found


def _turned_back(routes: Routes, line: _Line, right: Bools) -> list[Doubt]:
    """Find the shots at which the line turns back, and say of each what it is."""
    metre = units.factor("m", routes.unit)
    with np.errstate(invalid="ignore"):
        sharp = (np.abs(line.turn) > BACK) & (np.minimum(line.back, line.ahead) > TWICE_M * metre) & ~right
    if not sharp.any():
        return []
    found: list[Doubt] = []
    for number in np.unique(line.route[sharp]).tolist():
        begin, end = int(routes.first[number]), int(routes.first[number + 1])
        found += _of_route(routes, line, np.arange(begin, end), np.flatnonzero(sharp[begin:end]) + begin)
    return found


def _of_route(routes: Routes, line: _Line, members: Ints, sharp: Ints) -> Iterator[Doubt]:
    """Tell the shots at which a route turns back: single ones first, then blocks out of order, then the rest."""
    waiting = sorted(sharp.tolist(), key=lambda one: -line.longer[one])
    singles: dict[int, Doubt] = {}
    for vertex in waiting[:_MOST_SHOTS]:
        if not singles.keys() & _around(vertex):
            one = _single(routes, line, members, vertex)
            if one is not None:
                singles[vertex] = one
    yield from singles.values()
    kept = np.setdiff1d(members, np.array(list(singles), dtype=np.int64))
    east, north, route = line.east[kept], line.north[kept], line.route[kept]
    left = _lined(east, north, route, turns(east, north, route))
    with np.errstate(invalid="ignore"):
        still = np.flatnonzero(np.abs(left.turn) > BACK)
    still = still[np.isin(kept[still], sharp)]
    if not len(still):
        return
    block = _blocks(routes, left, kept)
    if block is not None:
        yield block
        return
    for at in still.tolist():
        vertex = int(kept[at])
        yield _doubt(
            routes, "line-doubles-back", vertex,
            f"the line turns back by {np.degrees(abs(left.turn[at])):.0f} degrees at {label(routes, vertex)}: check "
            "this shot and those beside it, and their order",
            value=float(np.degrees(abs(left.turn[at]))), limit=float(np.degrees(BACK)), unit="deg",
            basis="no fitting turns a main back (common practice, no source)", longer=float(line.longer[vertex]),
            turn=float(abs(line.turn[vertex])),
        )  # fmt: skip


def _single(routes: Routes, line: _Line, members: Ints, vertex: int) -> Doubt | None:
    """Say what is wrong with one shot, if the line is sound without it."""
    east, north, metre = line.east, line.north, units.factor("m", routes.unit)
    back, ahead = vertex - 1, vertex + 1
    # A shot and the next one exchanged: both turn the line back, and neither alone mends it.
    for one in (vertex - 1, vertex):
        if one - 1 >= members[0] and one + 2 <= members[-1] and _better_exchanged(line, one):
            for again, first in ((one + 1, one - 1), (one, one + 2)):
                if np.hypot(east[again] - east[first], north[again] - north[first]) < SAME_SPOT_M * metre:
                    return _again(routes, line, again, first)
            return _told(
                routes, line, "shot-order", one, f"{label(routes, one)} and {label(routes, one + 1)} stand in the "
                "wrong order: the line goes past, back and on again", "number them in the order in which they lie",
                longer=float(line.longer[one] + line.longer[one + 1]) / 2.0,
            )  # fmt: skip
    at_end = _end_exchanged(line, members, vertex)
    if at_end is not None:
        first = min(at_end, vertex)
        which = "first" if vertex > at_end else "last"
        what = (
            f"{label(routes, first)} and {label(routes, first + 1)}, the {which} two shots, stand in the wrong order, "
            "or one of them is astray: the line goes past and back"
        )
        remedy = "number them in the order in which they lie, or correct the one that is astray"
        told = _told(routes, line, "shot-order", first, what, remedy, longer=float(line.longer[vertex]))
        return told._replace(last=first + 1)
    without = _turns_without(line, members, vertex)
    if not np.all(np.abs(without) < AGAIN):
        return None
    exchanged = _path(east[back], north[back], north[vertex], east[vertex], east[ahead], north[ahead])
    apart = float(np.hypot(east[ahead] - east[back], north[ahead] - north[back]))
    longer = float(line.longer[vertex])
    if exchanged - apart < 0.1 * longer:
        what = f"northing and easting of {label(routes, vertex)} are exchanged"
        return _told(routes, line, "shot-astray", vertex, what, "exchange the two", longer=longer)
    others = members[np.abs(members - vertex) > 1]
    away = np.hypot(east[others] - east[vertex], north[others] - north[vertex])
    if len(away) and away.min() < SAME_SPOT_M * metre:
        return _again(routes, line, vertex, int(others[np.argmin(away)]))
    leg = _leg_near(line, members, vertex)
    if leg is not None:
        what = (
            f"{label(routes, vertex)} stands in the wrong order: it lies between {label(routes, leg)} and "
            f"{label(routes, leg + 1)}"
        )
        return _told(routes, line, "shot-order", vertex, what, "number it where it lies", longer=longer)
    off = _off(line, vertex)
    what = (
        f"{label(routes, vertex)} lies {off:.1f} {units.SYMBOLS[routes.unit]} off the line from {label(routes, back)} "
        f"to {label(routes, ahead)}"
    )
    return _told(
        routes, line, "shot-astray", vertex, what, f"correct it, or leave it out {_LEFT_OUT}", longer=longer,
        turn=float(abs(line.turn[vertex])),
    )._replace(value=off)  # fmt: skip


def _again(routes: Routes, line: _Line, vertex: int, first: int) -> Doubt:
    what = f"{label(routes, vertex)} is the place of {label(routes, first)}, shot again; the line runs there and back"
    remedy = f"leave one of the two out {_LEFT_OUT}"
    return _told(routes, line, "shot-repeated", vertex, what, remedy, longer=float(line.longer[vertex]))


def _told(
    routes: Routes, line: _Line, code: str, vertex: int, what: str, remedy: str, *, longer: float, turn: float = 0.0
) -> Doubt:
    symbol = units.SYMBOLS[routes.unit]
    moved = f"; it makes the line {longer:.1f} {symbol} longer, and joints ahead of it stand that much too far back"
    message = f"{what}{moved if longer >= 0.05 else ''}: {remedy}"
    return _doubt(
        routes, code, vertex, message, value=longer, unit=symbol, basis="the shots on either side", longer=longer,
        turn=turn,
    )  # fmt: skip


def _doubt(
    routes: Routes, code: str, vertex: int, message: str, *, value: float, unit: str, basis: str, limit: float = np.nan,
    longer: float = 0.0, turn: float = 0.0, last: int = -1,
) -> Doubt:  # fmt: skip
    """Make a doubt at a shot."""
    at = float(routes.distance[vertex])
    return Doubt(code, message, vertex, last, int(routes.vertex_route[vertex]), at, at, value, limit, unit, basis,
                 longer, turn)  # fmt: skip


def _path(*places: float) -> float:
    """Give the length of a line from place to place, given as eastings and northings in turn."""
    east, north = np.array(places[0::2]), np.array(places[1::2])
    return float(np.hypot(np.diff(east), np.diff(north)).sum())


def _turns_without(line: _Line, members: Ints, vertex: int) -> Floats:
    """Give the turns beside a shot if it were left out; 0 at the ends of the route."""
    around = np.arange(max(vertex - 2, members[0]), min(vertex + 3, members[-1] + 1))
    around = around[around != vertex]
    turn, _, _ = turns(line.east[around], line.north[around], np.zeros(len(around), dtype=np.int64))
    return np.nan_to_num(turn)


def _better_exchanged(line: _Line, vertex: int) -> bool:
    """Say whether the line is sound with a shot and the next one exchanged."""
    around = np.array([vertex - 1, vertex + 1, vertex, vertex + 2])
    turn, _, _ = turns(line.east[around], line.north[around], np.zeros(4, dtype=np.int64))
    both = np.abs(line.turn[[vertex, vertex + 1]]) > BACK
    return bool(both.all() and np.all(np.abs(turn[1:-1]) < AGAIN))


def _end_exchanged(line: _Line, members: Ints, vertex: int) -> int | None:
    """Give the end of the route that is the shot beside it exchanged with it, if the line is sound so."""
    for end, step in ((int(members[0]), 1), (int(members[-1]), -1)):
        if vertex == end + step and len(members) >= _FEWEST:
            around = np.array([vertex, end, end + 2 * step, end + 3 * step])
            turn, _, _ = turns(line.east[around], line.north[around], np.zeros(4, dtype=np.int64))
            if np.all(np.abs(turn[1:-1]) < AGAIN):
                return end
    return None


def _leg_near(line: _Line, members: Ints, vertex: int) -> int | None:
    """Find the leg elsewhere on the route on which a shot lies."""
    starts = members[:-1][(np.abs(members[:-1] - vertex) > 1) & (members[:-1] + 1 != vertex)]
    if not len(starts):
        return None
    on, off, _ = _beside_legs(line, starts, vertex, 0.05)
    return int(starts[int(np.argmin(np.where(on, off, np.inf)))]) if on.any() else None


def _beside_legs(line: _Line, starts: Ints, vertex: int, part: float) -> tuple[Bools, Floats, Floats]:
    """Say on which legs a shot lies, no farther off than so much of their length, how far off, and how far along."""
    east, north = line.east[starts], line.north[starts]
    step_east, step_north = line.east[starts + 1] - east, line.north[starts + 1] - north
    length = np.maximum(np.hypot(step_east, step_north), 1e-9)
    to_east, to_north = line.east[vertex] - east, line.north[vertex] - north
    along = (to_east * step_east + to_north * step_north) / length
    off = np.abs(to_east * step_north - to_north * step_east) / length
    return (along > 0) & (along < length) & (off < part * length), off, along


def _off(line: _Line, vertex: int) -> float:
    """Give how far a shot lies from the straight between its neighbours."""
    east, north = line.east[vertex - 1 : vertex + 2], line.north[vertex - 1 : vertex + 2]
    step = np.array([east[2] - east[0], north[2] - north[0]])
    to = np.array([east[1] - east[0], north[1] - north[0]])
    along = float(np.clip(to @ step / max(step @ step, 1e-12), 0.0, 1.0))
    return float(np.hypot(*(to - along * step)))


def _blocks(routes: Routes, line: _Line, kept: Ints) -> Doubt | None:
    """Find blocks of shots that stand in the wrong order: laid end to end otherwise, they make a line without jumps."""
    legs = line.ahead[:-1]
    usual = float(np.median(legs))
    jumps = np.flatnonzero(legs > max(5.0 * usual, 1e-9))
    with np.errstate(invalid="ignore"):
        turned = np.maximum(np.nan_to_num(np.abs(line.turn[jumps])), np.nan_to_num(np.abs(line.turn[jumps + 1])))
    jumps = jumps[turned > BACK]
    if not 0 < len(jumps) < _MOST_BLOCKS:
        return None
    ends = [0, *(jumps + 1).tolist(), len(kept)]
    blocks = list(pairwise(ends))
    before = float(legs[jumps].sum())
    later = _added_later(routes, line, kept, blocks)
    if later is not None:
        first, remedy = later
        what = (
            f"after {label(routes, int(kept[jumps[0]]))} the line jumps {legs[jumps[0]]:.0f} "
            f"{units.SYMBOLS[routes.unit]} to {label(routes, int(kept[jumps[0] + 1]))} and turns back: the shots from "
            f"{label(routes, first)} on lie between earlier ones, as if added later"
        )
        return _told(routes, line, "shot-order", first, what, remedy, longer=before)
    # Of two ways as good, the one that turns fewer blocks round: the other is the same line from its other end.
    ways = (
        (round(_joins(line, one), 3), sum(b < a for a, b in one), one) for one in _arrangements(len(blocks), blocks)
    )
    joins, _, order = min(ways)
    if joins > 0.3 * before:
        return None
    names = [f"{label(routes, int(kept[a]))} to {label(routes, int(kept[b]))}" for a, b in order]
    longer = before - joins
    first = int(kept[jumps[0] + 1])
    what = (
        f"after {label(routes, int(kept[jumps[0]]))} the line jumps {legs[jumps[0]]:.0f} {units.SYMBOLS[routes.unit]} "
        f"to {label(routes, first)} and turns back, as where two crews number their shots"
    )
    remedy = f"they lie in the order {', then '.join(names)}: number them so"
    return _told(routes, line, "shot-order", first, what, remedy, longer=longer)


def _added_later(routes: Routes, line: _Line, kept: Ints, blocks: list[tuple[int, int]]) -> tuple[int, str] | None:
    """Find blocks of shots that all lie between those of the longest block, and say between which.

    Returns
    -------
    tuple of int and str, or None
        The first of them, and where they belong; None where any lies beside the longest block, or beyond its ends.
    """
    start, end = max(blocks, key=lambda one: one[1] - one[0])
    legs, others = np.arange(start, end - 1), np.setdiff1d(np.arange(len(kept)), np.arange(start, end))
    if not len(legs):
        return None
    found: list[tuple[int, float, int]] = []
    for shot in others.tolist():
        on, off, along = _beside_legs(line, legs, shot, _AMONG)
        if not on.any():
            return None
        leg = int(np.argmin(np.where(on, off, np.inf)))
        found.append((leg, float(along[leg]), shot))
    told = []
    for leg, some in groupby(sorted(found), key=lambda one: one[0]):
        shots = [label(routes, int(kept[shot])) for _, _, shot in some]
        both = f"{label(routes, int(kept[legs[leg]]))} and {label(routes, int(kept[legs[leg] + 1]))}"
        told.append(f"{' to '.join(dict.fromkeys((shots[0], shots[-1])))} between {both}")
    more = f", and {len(told) - _NAMED} more such places" if len(told) > _NAMED else ""
    return int(kept[others[0]]), (
        'put them where they belong in the file, and say centerline.order = "file", or number them so: '
        f"{', '.join(told[:_NAMED])}{more}"
    )


_AMONG = 0.1
"""A shot lies between two others if it is no farther off their straight than so much of it: a curve of 45 degrees."""
_NAMED = 40
"""So many places are named; a message has an end."""


def _arrangements(count: int, blocks: list[tuple[int, int]]) -> Iterator[tuple[tuple[int, int], ...]]:
    """Give each way to lay blocks end to end, as first and last vertices; each block either way round."""
    for order in permutations(range(count)):
        for turned in product((False, True), repeat=count):
            yield tuple(
                (blocks[at][1] - 1, blocks[at][0]) if back else (blocks[at][0], blocks[at][1] - 1)
                for at, back in zip(order, turned, strict=True)
            )


def _joins(line: _Line, order: tuple[tuple[int, int], ...]) -> float:
    ends = np.array([one[1] for one in order[:-1]]), np.array([one[0] for one in order[1:]])
    return float(np.hypot(*(part[ends[1]] - part[ends[0]] for part in (line.east, line.north))).sum())


def _refuse(routes: Routes, certain: list[Doubt], laying: float) -> None:
    """Refuse a survey of which shots that are wrong make a route far too long."""
    for number in sorted({one.route for one in certain}):
        mine = sorted((one for one in certain if one.route == number), key=lambda one: -one.longer)
        longer = sum(one.longer for one in mine)
        if longer <= REFUSED_LENGTHS * laying:
            continue
        name, symbol = routes.names[number], units.SYMBOLS[routes.unit]
        head = f"{file_of(routes)}: route {name!r}: {_strung(routes, mine, number)}{mine[0].message}"
        if len(mine) > 1:
            rest = listed(routes, (one.vertex for one in mine[1:]))
            head += f"; the line turns back at {rest}, too, and is {longer:.0f} {symbol} too long in all"
        raise InputFileError(f"{head}. {_RIGHT}")


_RIGHT = "Shots that were looked at and are right can be named in centerline.shots_checked"


def _strung(routes: Routes, mine: list[Doubt], number: int) -> str:
    """Say that shots of several things are strung into one line, where their descriptions show it."""
    if routes.shot_word is None:
        told = "shots of other things may be among the main's (centerline.codes), or they are strung out of order"
        return "" if len(mine) < 3 else f"{told} (centerline.order); "
    words = routes.shot_word.slice(int(routes.first[number]), int(routes.first[number + 1] - routes.first[number]))
    counts = {one["values"]: one["counts"] for one in words.value_counts().to_pylist() if one["values"]}
    if len(counts) < 2:
        return ""
    shown = ", ".join(f"{word} ({count})" for word, count in sorted(counts.items(), key=lambda one: -one[1])[:8])
    return f"shots of several descriptions are strung into one line, {shown}: name the main's in centerline.codes; "


def _spikes(routes: Routes, line: _Line, laying: float, most: float) -> Iterator[Doubt]:
    """Find shots off the line through their neighbours: without one, the line that turns there and back is straight."""
    turn, count = line.turn, len(line.turn)
    if count < 5:
        return

    def turning_back(some: slice) -> Bools:
        own = turn[some]
        before, after = (turn[np.arange(some.start + by, some.stop + by).clip(0, count - 1)] for by in (-1, 1))
        # Beside an end of the line there is one neighbour that turns back, which tells less.
        at_end = np.isnan(before) | np.isnan(after)
        least_turn = np.where(at_end, max(most, JOINT_MOST), most)
        together = least_turn * np.maximum(1.0, (line.back[some] + line.ahead[some]) / (2.0 * laying))
        with np.errstate(invalid="ignore"):
            found: Bools = (own * before < 0) & (own * after < 0)
            found |= at_end & ((own * before < 0) | (own * after < 0))
            found &= (np.abs(own) > together) & (np.abs(own) <= BACK)
        return found

    there_and_back: Bools = in_blocks(turning_back, count)
    least = least_off(LEAST_OFF_M * units.factor("m", routes.unit), routes.rounding_horizontal, count)
    for vertex in np.flatnonzero(there_and_back).tolist():
        with_it = float(np.nansum(np.abs(turn[vertex - 1 : vertex + 2])))
        members = np.array([routes.first[line.route[vertex]], routes.first[line.route[vertex] + 1] - 1])
        left = float(np.abs(_turns_without(line, members, vertex)).sum())
        off = _off(line, vertex)
        if left < _STRAIGHTER * with_it and off > least[vertex]:
            what = (
                f"{label(routes, vertex)} lies {off:.1f} {units.SYMBOLS[routes.unit]} off the line from "
                f"{label(routes, vertex - 1)} to {label(routes, vertex + 1)}"
            )
            remedy = "check the shot, or record the bends that turn the main there and back"
            yield _told(
                routes, line, "shot-astray", vertex, what, remedy, longer=float(line.longer[vertex]),
                turn=float(abs(turn[vertex])),
            )._replace(value=off)  # fmt: skip


def _ends(routes: Routes, line: _Line, laying: float, most: float) -> Iterator[Doubt]:
    """Find the first and the last shots of routes to which the line turns more than its joints may, from even ones."""
    metre, symbol = units.factor("m", routes.unit), units.SYMBOLS[routes.unit]
    least = least_off(LEAST_OFF_M * metre, routes.rounding_horizontal, len(line.turn))
    sizes = np.diff(routes.first)
    for number in np.flatnonzero(sizes > FEW_SHOTS).tolist():
        begin, end = int(routes.first[number]), int(routes.first[number + 1]) - 1
        for vertex, beside, further in ((begin, begin + 1, begin + 2), (end, end - 1, end - 2)):
            legs = np.array([line.back[beside], line.ahead[beside]])
            # One turn alone may be a joint's, so it must be more than any joint takes.
            together = max(most, JOINT_MOST) * max(1.0, float(legs.sum()) / (2.0 * laying))
            turn, even = abs(float(line.turn[beside])), abs(float(line.turn[further]))
            leg = float(np.hypot(line.east[vertex] - line.east[beside], line.north[vertex] - line.north[beside]))
            off = leg * float(np.sin(min(turn, np.pi / 2.0)))
            # The shot beside it turns back where it is the one astray.
            if not (together < turn <= BACK and even < together / 2.0 and off > least[vertex]):
                continue
            what = (
                f"the line turns by {np.degrees(turn):.0f} deg to {label(routes, vertex)}, its "
                f"{'first' if vertex == begin else 'last'} shot, {off:.1f} {symbol} beside where it runs on straight, "
                "and its joints may not take that"
            )
            remedy = "check the shot, or record the bend that turns the main there"
            yield _told(routes, line, "shot-astray", vertex, what, remedy, longer=0.0, turn=turn)._replace(
                bends=1, value=off
            )


def _shot_twice(routes: Routes, line: _Line) -> Iterator[Doubt]:
    """Find successive shots of one place: their noise makes the line turn there and back."""
    near, twice = (one * units.factor("m", routes.unit) for one in (LEAST_OFF_M, TWICE_M))
    next_turn = np.full(len(line.turn), np.nan)
    next_turn[:-1] = line.turn[1:]
    with np.errstate(invalid="ignore"):
        wild = np.minimum(np.abs(line.turn), np.abs(next_turn)) > np.radians(30.0)
        found = (line.ahead > 0) & (line.ahead < near) & wild & (line.turn * next_turn < 0)
    for vertex in np.flatnonzero(found).tolist():
        away = float(line.ahead[vertex])
        rise = abs(float(routes.elevation[vertex + 1] - routes.elevation[vertex]))
        if rise > LEAST_RISER_M * units.factor("m", routes.unit):
            yield _riser(routes, vertex, away, rise)
            continue
        # Two small bends may be that near one another, where shots of one place are nearer.
        turn = min(abs(float(line.turn[vertex])), abs(float(next_turn[vertex]))) if away > twice else 0.0
        message = (
            f"{label(routes, vertex)} and {label(routes, vertex + 1)} are {away:.2f} {units.SYMBOLS[routes.unit]} "
            f"apart, one place shot twice, and the line turns between them: leave one of the two out {_LEFT_OUT}"
        )
        yield _doubt(routes, "shot-repeated", vertex, message, value=away, limit=near,
                     unit=units.SYMBOLS[routes.unit], basis="the shots on either side", last=vertex + 1,
                     turn=turn)  # fmt: skip


def _riser(routes: Routes, vertex: int, away: float, rise: float) -> Doubt:
    """Doubt two shots of one place in plan that lie above one another: a vertical pipe, if the log has its bends."""
    symbol = units.SYMBOLS[routes.unit]
    message = (
        f"{label(routes, vertex)} and {label(routes, vertex + 1)} are {away:.2f} {symbol} apart in plan and {rise:.2f} "
        f"{symbol} in elevation, as at the two ends of a riser: record its bends, or where it is one place shot twice, "
        f"leave the one with the wrong elevation out {_LEFT_OUT}"
    )
    return _doubt(routes, "shot-height", vertex, message, value=rise, unit=symbol,
                  limit=LEAST_RISER_M * units.factor("m", routes.unit), basis="the shots on either side",
                  last=vertex + 1, turn=_UPRIGHT)  # fmt: skip


def _far_legs(routes: Routes, line: _Line, laying: float) -> Iterator[Doubt]:
    """Find the lengths of a shot line that were not shot: legs far longer than the rest."""
    if routes.shot_row is None:
        return
    for number in np.flatnonzero(np.diff(routes.first) > FEW_SHOTS).tolist():
        begin, end = int(routes.first[number]), int(routes.first[number + 1]) - 1
        legs = line.ahead[begin:end]
        usual = float(np.median(legs))
        for nth, at in enumerate(np.flatnonzero(legs > FAR_LEG * max(usual, laying)).tolist()):
            vertex, symbol = begin + at, units.SYMBOLS[routes.unit]
            again = _numbered_behind(routes, line, begin, vertex + 1) if nth < _LOOKED_AT else ""
            message = (
                f"nothing was shot from {label(routes, vertex)} to {label(routes, vertex + 1)}, {legs[at]:.0f} "
                f"{symbol}, where shots are {usual:.0f} {symbol} apart elsewhere: "
                f"{again or 'complete the survey, or check that both are of one main'}"
            )
            yield Doubt(
                "coverage-short", message, -1, -1, number, float(routes.distance[vertex]),
                float(routes.distance[vertex + 1]), float(legs[at]), usual, symbol, "the usual distance between shots",
            )  # fmt: skip


_LOOKED_AT = 20
"""Far legs of a route whose far ends are held against all of its shots."""


def _numbered_behind(routes: Routes, line: _Line, begin: int, vertex: int) -> str:
    """Say of a shot behind a far leg that it is the place of one before it, as where it was shot again at the end."""
    # A ring main ends where it begins.
    inner = np.arange(begin + 1, vertex - 1)
    away = np.hypot(line.east[inner] - line.east[vertex], line.north[inner] - line.north[vertex])
    if not len(away) or away.min() >= SAME_SPOT_M * units.factor("m", routes.unit):
        return ""
    first = label(routes, int(inner[np.argmin(away)]))
    return (
        f"{label(routes, vertex)} is the place of {first}, shot again, and its number strings it in here: leave one of "
        f"the two out {_LEFT_OUT}, or have shots strung as they stand in the file (centerline.order)"
    )
