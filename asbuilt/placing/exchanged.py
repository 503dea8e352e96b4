"""Logs whose bends turn another line of the job than their own, as where the names of two routes are exchanged."""

from __future__ import annotations

from math import comb, prod
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.inputs.log import station_form
from asbuilt.line import stationing
from asbuilt.notes import OfRoutes
from asbuilt.survey.bends import LEAST_ALONE
from asbuilt.survey.bends_tried import FEW_FIT, MOST_FIT, Lines
from asbuilt.survey.doubts import Doubt

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.line.stationed import StationedLine
    from asbuilt.placing.bends_of_log import Telling
    from asbuilt.placing.positions import Positions

_LONGER = 2.0
"""Laying lengths by which a log may run on beyond a line that is its own."""
_HALF = 0.5
"""Part of the bends of a log that may lie at corners of its own line by chance, where another log tells, too; and part
of those that lie on straights of it where it tells by itself. Judgement."""
_CHANCE_OF_ALL = 0.01
"""Chance, at most, at which the logs of a ring of routes would fit one another's lines if they were put anywhere.
Judgement: that none fits its own line tells besides."""
_MOST_IN_RING = 4
"""Routes exchanged in a ring; more are not looked for."""
_MOST_LINES = 8
"""Lines of others that a log is followed to, those first that it fits least by chance: of mains that all turn alike
each log fits every line, and there are a hundred million rings of four among a hundred of them. Ours, no source."""
_CHANCE_OF_ONE = 0.005
"""The same of one log that fits the line of a route whose own log fits it, too."""


class _Link(NamedTuple):
    """A log of which another line explains the bends better than its own."""

    to: int
    """The other route."""
    many: int
    """Its telling bends."""
    there: int
    """How many of them lie at corners of the other line."""
    here: int
    """How many of them lie at corners of its own line."""
    first: int
    """Row of the log of the first of those that lie at corners of the other line."""
    chance: float
    """The chance that so many would, were the log put anywhere on that line."""
    alone: bool
    """Whether it tells without a log of another route that fits in return: most of its bends lie on straights of its
    own line, and would not lie at its corners if they were counted from its other end."""


class _Ring(NamedTuple):
    """Routes of which the log of each fits the line of the next one."""

    routes: tuple[int, ...]
    links: tuple[_Link, ...]
    """Of the routes in their order; none of a last one whose log has no bend that tells."""
    closed: bool
    """Whether the last one's log may be that of the first one's line."""
    chance: float
    """The chance that logs put anywhere would fit so, with all the lines that each could have fitted."""

    @classmethod
    def of(cls, path: tuple[int, ...], links: tuple[_Link, ...], *, closed: bool, routes: int) -> _Ring:
        """Reckon the chance of a ring, of a job of so many routes."""
        # Each but the last of a ring is one of all others.
        tried = (routes - 1) ** max(len(path) - 1, 1)
        return cls(path, links, closed, tried * prod(link.chance for link in links))

    @property
    def tells(self) -> bool:
        """Whether it is more than chance, and one of its logs tells by itself that its line is another's."""
        most = _CHANCE_OF_ALL if self.closed else _CHANCE_OF_ONE
        return self.chance <= most and any(link.alone for link in self.links)


def exchanged(
    job: Job, line: StationedLine, log: Log, route: Ints, surveyed: Positions, bends: Telling
) -> tuple[list[OfRoutes], list[Doubt]]:
    """Find logs whose bends lie on straights of their own line, and at corners of another one.

    Parameters
    ----------
    job : Job
    line : StationedLine
    log : Log
    route : array of int, shape (records,)
    surveyed : Positions
        Records surveyed themselves: of a route that has some, their places tell more than bends.
    bends : Telling
        Of the log.

    Returns
    -------
    list of OfRoutes
        What is said of routes that are exchanged, or of a log of another line, with what to do.
    list of Doubt
        One of each such route.
    """
    names, laying = line.names.names, job.records.laying_length * line.scale
    if len(names) < 2 or not len(bends.at):
        return [], []
    lines = Lines.of(line.routes, laying)
    fits, straight = lines.fit(bends.route, bends.at, bends.angle)
    many, own, aside = (np.bincount(bends.route, weights=one, minlength=len(names)) for one in (None, fits, straight))
    closely = np.bincount(bends.route, lines.at_theirs(bends.route, bends.at, bends.angle), minlength=len(names))
    by_stations = many > 0
    by_stations[np.unique(route[surveyed.known & (route >= 0)])] = False
    asked, asked_closely = by_stations & (own <= _HALF * many), by_stations & (closely <= FEW_FIT * many)
    alone = asked & (own <= FEW_FIT * many) & (aside >= _HALF * many)
    rings: list[_Ring] = []
    if alone.any():
        of_own = {one: (int(own[one]), bool(alone[one])) for one in np.flatnonzero(asked).tolist()}
        links = _links(line, log, route, bends, lines, of_own)
        rings = _rings(links, _without_bends(line, log, route, bends, lines), len(names))
    told = {one for ring in rings for one in ring.routes}
    rings += _near_by(line, log, route, bends, lines, asked_closely & ~np.isin(np.arange(len(many)), list(told)))
    at_theirs = set(np.flatnonzero((many > 0) & (own >= MOST_FIT * many)).tolist())
    form = station_form(job, log)
    notes: list[OfRoutes] = []
    doubts: list[Doubt] = []
    for ring in rings:
        by = dict(zip(ring.routes, ring.links, strict=False))
        first = ring.routes[0]
        said = {
            one: _told(names, by[one], one, log, form) if one in by else
            f"the log of {names[one]} has no such bend, and the line of {names[first]} no such corner"
            for one in ring.routes
        }  # fmt: skip
        if ring.closed:
            head = f"routes {_listed(sorted(names[one] for one in ring.routes))} seem to be exchanged"
            remedy = (
                "look at the route names of the log and at what names the lines (codes or route names of the shots), "
                "and correct whichever are exchanged"
            )
        else:
            other = names[by[first].to]
            too = f", as {other} has, too" if by[first].to in at_theirs else ""
            head = f"route {names[first]} seems to have a log of the line of {other}{too}"
            remedy = "see whether a log was handed in twice, or lines or logs were named wrongly, and correct it"
        text = (
            f"{head}: {'; '.join(said.values())}. As placed, {'their' if ring.closed else 'its'} joints stand on a "
            "line that is not theirs: no accuracy is claimed of them, and the survey tells nothing of their "
            f"deflection. {remedy[0].upper()}{remedy[1:]}"
        )
        notes.append(OfRoutes(text, tuple(names[one] for one in ring.routes)))
        for one, text in said.items():
            at_own, of_all = (float(by[one].here), float(by[one].many)) if one in by else (0.0, np.nan)
            doubts.append(Doubt(
                "routes-exchanged", f"{head}: {text}: {remedy}", -1, -1, one, 0.0, float(line.routes.length[one]),
                at_own, of_all, None, "a bend turns the line where it stands", misplaced=True,
            ))  # fmt: skip
    return notes, doubts


def _listed(names: list[str]) -> str:
    return f"{', '.join(names[:-1])} and {names[-1]}"


def _told(names: tuple[str, ...], link: _Link, one: int, log: Log, form: stationing.Form) -> str:
    first = stationing.format_stations(log.stations.value[[link.first]], form)[0].as_py()
    of_those = f"of {link.many} bends of {np.degrees(LEAST_ALONE):.0f} deg and more in the log of {names[one]}"
    if link.many == 1:
        return (
            f"the one bend of {np.degrees(LEAST_ALONE):.0f} deg and more in the log of {names[one]}, at {first}, lies "
            f"at a corner of the line of {names[link.to]} that turns so, and its own line does not turn so there"
        )
    own = (
        f"{link.here} lie at corners" if link.here > 1 else "one lies at a corner" if link.here else "none lies at one"
    )
    return (
        f"{of_those}, {link.there} lie at corners of the line of {names[link.to]} that turn so (the first at {first}), "
        f"and {own} of its own line"
    )


def _links(
    line: StationedLine, log: Log, route: Ints, bends: Telling, lines: Lines, asked: dict[int, tuple[int, bool]]
) -> dict[int, list[_Link]]:
    """Find the lines that explain the bends of each log better than its own, of the logs that are asked about.

    Of each is given how many of its bends lie at corners of its own line, and whether most lie on straights of it.
    """
    routes, count = line.routes, len(line.names.names)
    links: dict[int, list[_Link]] = {}
    runs = _runs(line, log, route)
    for one, (own, aside) in asked.items():
        mine = bends.of(one)
        size = len(mine.at)
        # A line drawn the other way round is told by itself.
        back, _ = lines.fit(mine.route, routes.length[one] - mine.at, mine.angle)
        others = np.flatnonzero((np.arange(count) != one) & (routes.length + _LONGER * lines.laying >= runs[one]))
        alone = aside and back.sum() < MOST_FIT * size
        hit = _on_others(line, lines, mine, others)
        found = []
        for at in np.flatnonzero(hit.sum(axis=1) >= max(MOST_FIT * size, own + 1)).tolist():
            other, there = int(others[at]), int(hit[at].sum())
            part = lines.by_chance(other, mine.angle[hit[at]])
            chance = comb(size, there) * float(part.prod())
            # Where that line is one of many that would fit, it tells nothing.
            if chance * len(others) <= 1.0:
                found.append(_Link(other, size, there, own, int(mine.row[hit[at]][0]), chance, alone))
        if found:
            links[one] = found
    return links


def _near_by(line: StationedLine, log: Log, route: Ints, bends: Telling, lines: Lines, asked: Bools) -> list[_Ring]:
    """Find pairs of routes whose logs fit one another's line closely, and not their own, though its corners are near.

    As where two mains with the same bends, a pipe or two apart, are exchanged: either start station would be wrong.
    """
    links: dict[int, list[_Link]] = {}
    runs, some = _runs(line, log, route), np.flatnonzero(asked)
    for one in some.tolist():
        mine = bends.of(one)
        many = len(mine.at)
        others = some[(some != one) & (line.routes.length[some] + _LONGER * lines.laying >= runs[one])]
        hit = lines.at_theirs(np.repeat(others, many), np.tile(mine.at, len(others)), np.tile(mine.angle, len(others)))
        hit = hit.reshape(-1, many)
        own = int(lines.at_theirs(mine.route, mine.at, mine.angle).sum())
        for at in np.flatnonzero(hit.sum(axis=1) >= max(MOST_FIT * many, own + 1)).tolist():
            other, there = int(others[at]), int(hit[at].sum())
            chance = comb(many, there) * float(lines.by_chance(other, mine.angle[hit[at]], closely=True).prod())
            first = int(mine.row[hit[at]][0])
            links.setdefault(one, []).append(_Link(other, many, there, own, first, chance, alone=True))
    return [ring for ring in _rings(links, {}, len(line.names.names)) if ring.closed]


def _on_others(line: StationedLine, lines: Lines, bends: Telling, others: Ints) -> Bools:
    """Tell which bends of a log lie at corners of other lines, shape (lines, bends).

    Stations are counted from the start of the log's own line, or from that of the other one, where these differ.
    """
    many = len(bends.at)
    on, angle = np.repeat(others, many), np.tile(bends.angle, len(others))
    at = np.tile(bends.at, len(others))
    from_other = at + (line.start[bends.route[0]] - line.start[on]) * line.scale
    either = [lines.fit(on, place, angle)[0].reshape(-1, many) for place in (at, from_other)]
    return np.where((either[0].sum(axis=1) >= either[1].sum(axis=1))[:, None], *either)


def _runs(line: StationedLine, log: Log, route: Ints) -> Floats:
    """Give how long the log of each route is, coordinate units; 0 where it has none."""
    rows = np.flatnonzero((route >= 0) & np.isfinite(log.stations.value))
    low, high = (np.full(len(line.names.names), one) for one in (np.inf, -np.inf))
    np.minimum.at(low, route[rows], log.stations.value[rows])
    np.maximum.at(high, route[rows], log.stations.value[rows])
    runs: Floats = np.maximum(high - low, 0.0) * line.scale
    return runs


def _without_bends(line: StationedLine, log: Log, route: Ints, bends: Telling, lines: Lines) -> dict[int, Ints]:
    """Give routes whose log has no telling bend, and the lines without a corner of which it could be the log."""
    corner = lines.corners
    sharp = np.unique(lines.routes.vertex_route[corner.vertex[corner.turn >= LEAST_ALONE]])
    runs = _runs(line, log, route)
    straight = np.setdiff1d(np.arange(len(runs)), sharp)
    silent = np.setdiff1d(np.flatnonzero(runs > 0.0), bends.route)
    return {
        one: straight[line.routes.length[straight] + _LONGER * lines.laying >= runs[one]]
        for one in np.intersect1d(silent, sharp).tolist()
    }


def _rings(links: dict[int, list[_Link]], silent: dict[int, Ints], routes: int) -> list[_Ring]:
    """Follow logs to the lines that they fit: in a ring back to the first one, or to a line with a log of its own.

    Each log is in one ring at most, in that one which is least by chance.

    Examples
    --------
    >>> link = _Link(1, 2, 2, 0, 0, 0.001, True)
    >>> links = {0: [link, link._replace(to=3, chance=0.0001)], 1: [link._replace(to=2)], 2: [link._replace(to=0)]}
    >>> [(ring.routes, ring.closed, round(ring.chance, 12)) for ring in _rings(links, {}, 4)]
    [((0, 1, 2), True, 9e-09)]
    """
    links = {one: _least_by_chance(one, some) for one, some in links.items()}
    found: dict[frozenset[int], _Ring] = {}
    for first in links:
        waiting: list[tuple[tuple[int, ...], tuple[_Link, ...]]] = [((first,), ())]
        while waiting:
            path, by = waiting.pop()
            last = path[-1]
            if last not in links and first not in silent.get(last, ()):
                continue
            for link in links.get(last, ()):
                if link.to == first:
                    _keep(found, _Ring.of(path, (*by, link), closed=True, routes=routes))
                elif link.to not in path and len(path) < _MOST_IN_RING and (link.to > first or link.to not in links):
                    waiting.append(((*path, link.to), (*by, link)))
            if last not in links:
                _keep(found, _Ring.of(path, by, closed=True, routes=routes))
    for one, some in links.items():
        _keep(found, _Ring.of((one,), (min(some, key=lambda link: link.chance),), closed=False, routes=routes))
    taken: set[int] = set()
    chosen: list[_Ring] = []
    for ring in sorted(found.values(), key=lambda one: (not one.closed, one.chance)):
        if ring.tells and not taken & set(ring.routes):
            taken.update(ring.routes)
            chosen.append(ring)
    return chosen


def _least_by_chance(one: int, links: list[_Link]) -> list[_Link]:
    """Give the lines that a log is followed to; of those alike the ones next to it, so that these lead back to it."""
    return sorted(links, key=lambda link: (link.chance, abs(link.to - one)))[:_MOST_LINES]


def _keep(found: dict[frozenset[int], _Ring], ring: _Ring) -> None:
    """Keep a ring, unless there is one of the same routes that is less by chance."""
    before = found.get(frozenset(ring.routes))
    if before is None or ring.chance < before.chance:
        found[frozenset(ring.routes)] = ring
