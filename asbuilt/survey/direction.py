"""Which way each line runs, as the places of its log tell it, and the refusal of lines that run against it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

import numpy as np
import pyarrow as pa

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.errors import InputFileError
from asbuilt.line.routes import Routes
from asbuilt.notes import OfRoutes
from asbuilt.survey.against_log import AT_A_SHOT, ENOUGH, SHOT_EACH, Logged
from asbuilt.survey.bends import (
    AT_A_CORNER,
    LEAST_ALONE,
    LEAST_BEND,
    REACH,
    Corners,
    ToCorner,
    missed,
    near,
    rise_around,
    to_corner,
    turn_around,
    vertex_ahead,
    with_doubts,
)
from asbuilt.survey.bends_logged import BendsLogged
from asbuilt.survey.doubts import Doubt, file_of
from asbuilt.survey.screening import JOINT_MOST

SOME = 100
"""Shots of a route by which its direction is told."""
_COMPASS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")
_NAMED = 4
_SHARING = 2
"""Legs between those of two bends up to which what one turns may be taken for the other's."""
_MOST = 0.8
"""Part of the bends of a route that must lie so for a line to be drawn backward."""
MOVED = 5.0
"""Laying lengths by which a first shot that is lost, or is another thing's, puts all joints off at most. Judgement."""


class Direction(NamedTuple):
    """What the log's places say of the direction of each line: shapes (routes,)."""

    forward: Bools
    """Bends or shots of joints stand where the stations put them."""
    backward: Bools
    """They do so only where the stations are counted from the other end."""
    by: list[str]
    """What tells it."""
    moved: Floats
    """How far ahead of their places all bends lie, coordinate units, where that explains them as well as a line that
    runs backward; NaN where it does not."""
    proven: Bools
    """True of lines that run backward where no curve, and no upright bend, of a sound main looks so: they are refused,
    others doubted."""


def direction(
    routes: Routes, logged: Logged, corners: Corners, bends: Callable[[], BendsLogged], doubts: Sequence[Doubt] = ()
) -> Direction:
    """Tell from bends, and from shots at the joints, which way each line runs.

    Parameters
    ----------
    routes : Routes
    logged : Logged
    corners : Corners
        Of the lines.
    bends : function
        Gives those of the log, of records that are set aside beyond an end of their line, too.
    doubts : sequence of Doubt
        Those that make lines longer than they are: what lies ahead of them is looked for as far ahead.
    """
    count = len(routes.names)
    none = np.zeros(count, dtype=np.bool_)
    found = Direction(none.copy(), none.copy(), [""] * count, np.full(count, np.nan), none.copy())
    _by_bends(routes.chords, logged, corners, bends, doubts, found)
    if routes.pieces is not None:
        # It says itself how its stations run, unless bends tell that the log's do not run so.
        return found._replace(forward=~found.backward)
    _by_shots(routes, logged, found)
    return found


def _by_bends(
    routes: Routes, logged: Logged, corners: Corners, bends: Callable[[], BendsLogged], doubts: Sequence[Doubt],
    found: Direction,
) -> None:  # fmt: skip
    """Compare where the line turns with the bends of the log; bends that lie alike from either end tell nothing."""
    rows = np.flatnonzero(logged.bend & (logged.angle >= LEAST_BEND))
    if not len(rows):
        return
    route, angle, laying = logged.route[rows], logged.angle[rows], logged.laying
    at, from_end = with_doubts(routes, route, logged.distance[rows], doubts)
    there = turn_around(routes, route, at, REACH * laying)
    mirrored = turn_around(routes, route, from_end, REACH * laying)
    here, other = (to_corner(routes, corners, route, place, angle) for place in (at, from_end))
    with np.errstate(invalid="ignore"):
        off, off_other = np.abs(here.off), np.abs(other.off)
        fits, fits_other = off <= AT_A_CORNER * laying, off_other <= AT_A_CORNER * laying
        # A bend between two shots turns the line at the nearer of them, which may be half a leg away.
        misses, misses_other = off > np.maximum(laying, here.leg / 2.0), off_other > np.maximum(laying, other.leg / 2.0)
    # A bend between sparse shots turns the line at those beside it, however far away they are.
    lacking, lacking_other = (missed(routes, route, place, angle, laying) for place in (at, from_end))
    here_alone = ((there > angle / 2) & (mirrored < angle / 4) & (lacking < angle / 2)) | (
        fits & (misses_other | np.isnan(off_other))
    )
    # The shots beside it may turn as a bend there would, too, though both are out of reach.
    here_alone &= lacking_other - lacking > angle / 2
    # Where both see one corner, near the middle of the line, the turn within reach of both tells nothing.
    nearer = fits_other & misses & (here.vertex == other.vertex)
    straight = (
        (there < angle / 4) & (lacking > angle / 2) & ~_upright(routes, route, at, angle, logged.in_plane[rows], laying)
    )
    other_alone = ((mirrored > angle / 2) & straight & ~misses_other) | nearer
    against = straight | nearer
    turns_there = (mirrored > angle / 2) & ~misses_other
    telling = ~_sharing_legs(routes, route, at, laying)
    sure = against & telling & _only_a_bend(routes, logged, route, from_end, other, at)
    for number in np.unique(route[telling]).tolist():
        mine = telling & (route == number)
        by_here, by_other, wanted = here_alone[mine], other_alone[mine], angle[mine]
        # A curve turns as much as one small bend within that reach.
        enough_here, enough = (
            bool(np.count_nonzero(by) > 1 or wanted[by].max(initial=0.0) >= LEAST_ALONE) for by in (by_here, by_other)
        )
        found.forward[number] |= enough_here and not by_other.any() and bool(np.mean(there[mine] > wanted / 2) >= 0.5)
        if enough and np.mean(against[mine]) >= _MOST and np.mean(turns_there[mine]) >= _MOST:
            moved = _moved(here.off[mine], laying) if routes.shot else np.nan
            if _first_shots_lost(routes, number, bends(), int(turns_there[mine].sum()), moved, laying):
                continue
            found.backward[number] = True
            found.proven[number] = bool(sure[mine].any())
            found.moved[number] = moved
            which = ", ".join(logged.station.take(pa.array(rows[mine][:_NAMED])).to_pylist())
            known, symbol = mine & nearer, units.SYMBOLS[routes.unit]
            if known.any():
                which += (
                    f": {off_other[known].max():.1f} {symbol} off, and {off[known].min():.1f} {symbol} as it is drawn"
                )
            found.by[number] = f"the line turns by the bends of the log ({which})"


def _upright(routes: Routes, route: Ints, at: Floats, angle: Floats, in_plane: Bools, laying: float) -> Bools:
    """Tell which bends, of those whose plane the log does not say, turn the line up or down where they lie."""
    ahead = vertex_ahead(routes, route, at)
    leg = routes.distance[ahead] - routes.distance[ahead - 1]
    turned: Bools = ~in_plane & (rise_around(routes, route, at, REACH * laying + leg) > angle / 4.0)
    return turned


def _only_a_bend(routes: Routes, logged: Logged, route: Ints, at: Floats, corner: ToCorner, own: Floats) -> Bools:
    """Tell at which places the line has a corner of the bend's angle that joints cannot turn, and no bend of the log.

    Parameters
    ----------
    routes : Routes
    logged : Logged
    route : array of int, shape (bends,)
    at : array, shape (bends,)
        Where each bend lies counted from the other end.
    corner : ToCorner
        From there.
    own : array, shape (bends,)
        Where it lies by its station.
    """
    laying = logged.laying
    with np.errstate(invalid="ignore"):
        there = np.flatnonzero(np.abs(corner.off) <= AT_A_CORNER * laying)
    found = np.zeros(len(at), dtype=np.bool_)
    place, leg = at[there] + corner.off[there], corner.leg[there]
    turn = turn_around(routes, route[there], place, AT_A_CORNER * laying)
    found[there] = turn > JOINT_MOST * np.maximum(1.0, leg / laying)
    bend = np.flatnonzero(logged.bend & (logged.angle >= LEAST_BEND))
    key = np.sort(routes.lay_out(logged.route[bend], logged.distance[bend]))
    for one, spot, far in zip(there.tolist(), place.tolist(), (REACH * laying + leg).tolist(), strict=True):
        found[one] &= not near(key, routes.lay_out(route[one : one + 1], np.array([spot])), far)[0]
    return found


def _moved(off: Floats, laying: float) -> float:
    """Give by how much all bends lie off their corners, if by about the same and by little; else NaN."""
    alike = np.isfinite(off).all() and np.ptp(off) <= AT_A_CORNER * laying and np.abs(off).max() <= MOVED * laying
    return float(np.median(off)) if alike else np.nan


def _sharing_legs(routes: Routes, route: Ints, at: Floats, laying: float) -> Bools:
    """Tell which bends lie so near another one between sparse shots that these turn by both."""
    if not routes.shot:
        return np.zeros(len(at), dtype=np.bool_)
    order = np.lexsort((at, route))
    ahead = vertex_ahead(routes, route[order], at[order])
    long = routes.distance[ahead] - routes.distance[ahead - 1] > SHOT_EACH * laying
    # Two places of one bend, as of its ends, are one.
    apart = np.diff(at[order]) > AT_A_CORNER * laying
    near = (np.diff(ahead) <= _SHARING) & (np.diff(route[order]) == 0) & (long[1:] | long[:-1]) & apart
    shared = np.zeros(len(at), dtype=np.bool_)
    shared[order] = np.append(near, False) | np.insert(near, 0, False)
    return shared


def _first_shots_lost(
    routes: Routes, number: int, bends: BendsLogged, turned: int, moved: float, laying: float
) -> bool:  # fmt: skip
    """Say whether a line that its log runs on beyond lacks its first shots, before it is one drawn backward.

    A line that runs backward, and is short besides, is wrong in two ways where one explains as much: bends that lie
    beyond its end turn it nowhere as it is counted from there, and it is short by as much as all its bends lie off.
    """
    beyond, own = float(bends.beyond[number]), bends.route == number
    if beyond < laying / 2.0:
        return False
    outside = own & (bends.at > routes.length[number]) & (bends.angle >= LEAST_BEND)
    many = turned + np.count_nonzero(outside)
    return bool(turned < _MOST * many or abs(moved + beyond) <= AT_A_CORNER * laying)


def _by_shots(routes: Routes, logged: Logged, found: Direction) -> None:
    """Compare the shots with the joints' distances, counted from either end.

    Joints of one spacing lie alike from either end, but for a shift: what a shift of the log along the line explains as
    well is no evidence.
    """
    joints = np.bincount(logged.route, minlength=len(routes.names))
    shots = np.diff(routes.first)
    asked = np.flatnonzero((joints >= ENOUGH) & (shots >= ENOUGH + 2))
    if not len(asked):
        return
    vertex, which = _some_shots(routes, asked)
    route, distance = asked[which], routes.distance[vertex]
    count = np.bincount(which)
    mirrored = routes.length[route] - distance
    # Places of routes on one line, with room between routes for what a shift moves.
    wide = float(max(logged.distance.max(), routes.length.max())) + 2.0 * logged.laying + 1.0
    joint = logged.distance + logged.route * wide

    def share(at: Floats, of: Bools, shifts: Floats) -> Floats:
        """Give the largest share of shots that lie at joints under any shift; 0 of routes that are not asked about."""
        some = of[which]
        place = at[some] + route[some] * wide
        hits = [np.bincount(which[some], near(joint, place + one, tolerance), len(asked)) for one in shifts]
        largest: Floats = np.max(hits, axis=0) / count
        return largest

    tolerance, none, every = AT_A_SHOT * logged.laying, np.zeros(1), np.ones(len(asked), dtype=np.bool_)
    shifts = np.arange(-0.5, 0.5, AT_A_SHOT) * logged.laying
    here, other = share(distance, every, none), share(mirrored, every, none)
    forward, backward = here > 0.6, other > 0.9
    forward &= share(mirrored, forward, shifts) < 0.6 * here
    backward &= share(distance, backward, shifts) < 0.6 * other
    found.forward[asked[forward]] = True
    for number in asked[backward & ~found.backward[asked]].tolist():
        found.backward[number] = found.proven[number] = True
        found.by[number] = "the line's shots lie at the joints of the log"


def _some_shots(routes: Routes, asked: Ints) -> tuple[Ints, Ints]:
    """Choose shots along each route that is asked about, but for its ends, and say to which of them each belongs."""
    shots = np.diff(routes.first)[asked] - 2
    count = np.minimum(shots, SOME)
    which = np.repeat(np.arange(len(asked)), count)
    order = np.arange(len(which)) - np.repeat(np.cumsum(count) - count, count)
    return routes.first[asked][which] + 1 + order * shots[which] // count[which], which


def compass(routes: Routes) -> list[str | None]:
    """Say of each route at which of its ends it starts, as seen from the other; None where it ends where it starts."""
    first, last = routes.first[:-1], routes.first[1:] - 1
    east = routes.easting[first] - routes.easting[last]
    north = routes.northing[first] - routes.northing[last]
    octant = np.round(np.arctan2(east, north) / (np.pi / 4.0)).astype(int) % 8
    closed = np.hypot(east, north) < 0.02 * routes.length
    return [None if ring else _COMPASS[at] for at, ring in zip(octant.tolist(), closed.tolist(), strict=True)]


def refuse_backward(
    routes: Routes,
    found: Direction,
    stated: str | Mapping[str, str] | None,
    start_texts: Sequence[str],
    with_joints: Ints,
    rings: Sequence[int] = (),
    turned: Sequence[str] = (),
) -> tuple[list[OfRoutes], list[Doubt], list[int]]:
    """Refuse lines that run against their stations, and say which end starts where nothing in the data proves it.

    Parameters
    ----------
    routes : Routes
    found : Direction
    stated : the job's centerline.starts
        A line "as-drawn" starts where it is drawn from, unless the data show that it does not.
    start_texts : sequence of str
        Station at the start of each route.
    with_joints : array of int
        The routes on which joints stand; of others nothing is asked.
    rings : sequence of int
        Rings of which nothing tells where they start.
    turned : sequence of str
        The job's centerline.reversed: of the routes that it names, the job says which way they run.

    Returns
    -------
    notes : list of OfRoutes
        What a person should look at.
    doubts : list of Doubt
        Lines that seem to run against their stations, by what a sound main may look like as well.
    asked : list of int
        Routes of which nothing tells which way they run, but for rings.

    Raises
    ------
    InputFileError
    """
    ends, as_drawn = compass(routes), stated == "as-drawn"
    asked: list[int] = []
    doubts: list[Doubt] = []
    for number in with_joints.tolist():
        name = routes.names[number]
        said = stated.get(name) if isinstance(stated, Mapping) else None if as_drawn else stated
        if said is not None and ends[number] is not None:
            if _opposite(said, str(ends[number])):
                raise InputFileError(
                    f"{file_of(routes)}: route {name!r} starts at its {ends[number]} end, where station "
                    f"{start_texts[number]} is, but centerline.starts says {said}: {_remedy(name)}; or correct that key"
                )
            continue
        if found.backward[number] and not found.forward[number]:
            otherwise = (
                f'if it starts at its {ends[number]} end, say so: centerline.starts = {{"{name}" = "{ends[number]}"}}'
                if ends[number] is not None
                else "as it is a ring, string it from the point at which the stations start, if that is another"
            )
            or_moved = _or_moved(routes, float(found.moved[number]))
            seen = f"route {name!r}: {found.by[number]} only if its stations are counted from its other end"
            if found.proven[number]:
                raise InputFileError(
                    f"{file_of(routes)}: {seen}, so {_against(routes, name)}; or, {otherwise}{or_moved}"
                )
            message = (
                f"{seen}; pipe curved there by its joints may look so, too, and so may an upright bend: find out at "
                f"which end {start_texts[number]} is. If it is the other one, {_to_do(routes, name)}; else, "
                f"{otherwise}{or_moved}"
            )
            doubts.append(
                Doubt("bend-off-corner", message, route=number, end=float(routes.length[number]),
                      basis="a bend turns the line where it stands", misplaced=True)
            )  # fmt: skip
            continue
        if not (found.forward[number] or ends[number] is None or name in turned or as_drawn):
            asked.append(number)
    notes = [
        OfRoutes.one(
            routes.names[at],
            f"route {routes.names[at]!r} is a ring, and nothing in the data tells at which point of it the stations "
            f"start: check that {start_texts[at]} is where its line begins, or tie a joint in (centerline.ties)",
        )
        for at in rings
    ]
    if not asked:
        return notes, doubts, asked
    shown = ", ".join(f"{routes.names[at]}: {start_texts[at]} at its {ends[at]} end" for at in asked[:_NAMED])
    more = f" and {len(asked) - _NAMED} more" if len(asked) > _NAMED else ""
    text = (
        f"nothing in the data tells which way the line runs; check where the stations start ({shown}{more}), and say "
        'it in centerline.starts ("as-drawn" where all start there), or name the route in centerline.reversed; until '
        "then its joints have no accuracy, and verdicts that the survey would not give either way assume that the "
        "stations start where it is drawn from"
    )
    return [*notes, OfRoutes(text, tuple(routes.names[at] for at in asked))], doubts, asked


def _opposite(one: str, other: str) -> bool:
    apart = abs(_COMPASS.index(one) - _COMPASS.index(other))
    return min(apart, 8 - apart) > 2


def _against(routes: Routes, name: str) -> str:
    what = "it is drawn against its stations" if routes.pieces is None else "it runs against the stations of the log"
    return f"{what}: {_to_do(routes, name)}"


def _to_do(routes: Routes, name: str) -> str:
    if routes.pieces is None:
        return _remedy(name)
    return "get the alignment by whose stations the crew went, or the log's stations counted along this one"


def _or_moved(routes: Routes, by: float) -> str:
    if np.isnan(by):
        return ""
    return (
        f". Its bends fit as well if every joint lies {abs(by):.1f} {units.SYMBOLS[routes.unit]} farther "
        f"{'ahead' if by > 0 else 'back'}: see, too, whether a shot at its start is lost, as by a mistyped code, or is "
        "of another thing, and whether centerline.start_station is right"
    )


def _remedy(name: str) -> str:
    return f'name it in centerline.reversed = ["{name}"] (or take it out, where it stands there)'
