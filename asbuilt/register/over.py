"""How many of the joints whose verdict is over are: a turn that several joints share tells that one of them is."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Any, NamedTuple

from asbuilt.register.store import Store


class Shared(NamedTuple):
    """The first and the last of the joints that share a turn, by their places in `Overs.at`."""

    first: int
    last: int


@dataclass(frozen=True)
class Overs:
    """Joints found whose verdict is over; each by its place in the answer."""

    turns: dict[int, Shared | None]
    """The turn that each shares by which it is over; None where the register does not have the joints that share it."""
    at: dict[int, int]
    """Of joints over on mains that such turns are on: their places along their mains, in one count."""

    def count(self, over: Collection[int]) -> dict[str, int]:
        """Count joints over at least, and the turns shared by which that is known.

        Parameters
        ----------
        over : collection of int
            Joints whose verdict is over, by their places in the answer.

        Returns
        -------
        dict
            `over`, all of those; `over_at_least`, so many joints are over for certain, these or others that share their
            turns; one for turns that have a joint in common; and `turns_shared`.

        Examples
        --------
        Joint 0 is over by itself, and one of the joints that stand third to sixth along the main:

        >>> overs = Overs({2: Shared(2, 4), 3: Shared(3, 5)}, {0: 0, 2: 2, 3: 3})
        >>> overs.count([0, 2, 3])
        {'over': 3, 'over_at_least': 2, 'turns_shared': 2}
        >>> overs.count([0])
        {'over': 1, 'over_at_least': 1, 'turns_shared': 0}
        """
        turns = {nr: self.turns[nr] for nr in over if nr in self.turns}
        if not turns:
            return {"over": len(over), "over_at_least": len(over), "turns_shared": 0}
        from asbuilt.review.turns import Turn, least_over

        told = sorted({turn for turn in turns.values() if turn is not None})
        by_itself = [nr for nr in over if nr not in turns]
        # Those on other mains are in no turn.
        certain = [self.at.get(nr, -1 - number) for number, nr in enumerate(by_itself)]
        unknown = sum(turn is None for turn in turns.values())
        least = least_over(certain, [Turn(*turn) for turn in told])
        return {"over": len(over), "over_at_least": max(least, 1), "turns_shared": len(told) + unknown}


def shared(store: Store) -> Overs:
    """Find the joints just staged as "found" that are over by turns which they share with others.

    Parameters
    ----------
    store : Store

    Returns
    -------
    Overs
    """
    load = "coalesce({0}.deflection_load_id, {0}.load_id)"
    over = store.rows(
        f"SELECT t.nr, j.fid, j.route, l.job, f.from_station, f.to_station FROM found t JOIN joints j ON j.fid = t.fid "
        f"JOIN loads l ON l.load_id = {load.format('j')} JOIN findings f ON f.joint_uid = j.joint_uid "
        f"AND f.load_id = {load.format('j')} AND f.state = 'standing' AND f.code = 'deflection-over' "
        "WHERE j.verdict = 'over' AND f.from_station IS NOT NULL ORDER BY t.nr"
    )
    if not over:
        return Overs({}, {})
    store.stage("turned", {"route": sorted({route for _, _, route, *_ in over})})
    rows = store.rows(
        f"SELECT j.fid, t.nr, j.route, l.job, j.station FROM joints j JOIN loads l ON l.load_id = {load.format('j')} "
        "LEFT JOIN found t ON t.fid = j.fid AND j.verdict = 'over' WHERE j.route IN (SELECT route FROM turned) "
        "ORDER BY j.route, l.job, j.distance, j.fid"
    )
    return _put_together(over, rows)


def _put_together(over: list[tuple[Any, ...]], rows: list[tuple[Any, ...]]) -> Overs:
    """Find the joints that share each turn among those of its main, as one job has them in order."""
    from asbuilt.review.turns import turns_named

    place = {int(fid): number for number, (fid, *_) in enumerate(rows)}
    by_station: dict[tuple[str, str], dict[str, list[int]]] = {}
    for number, (_, _, route, job, station) in enumerate(rows):
        by_station.setdefault((route, job), {}).setdefault(station, []).append(number)
    turns: dict[int, Shared | None] = {}
    for nr, fid, route, job, *ends in over:
        found = dict(turns_named([(place[int(fid)], *ends)], by_station[route, job]))
        turns[int(nr)] = Shared(*next(iter(found.values()))) if found else None
    return Overs(turns, {int(nr): number for number, (_, nr, *_) in enumerate(rows) if nr is not None})
