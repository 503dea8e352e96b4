"""Turns that several joints share: which joints a finding names, and how many of them are over at least."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple


class Turn(NamedTuple):
    """The first and the last of the joints that share a turn, by their numbers on the route."""

    first: int
    last: int


def turns_named(
    findings: Iterable[tuple[int, str | None, str | None]], by_station: Mapping[str, Sequence[int]]
) -> Iterator[tuple[int, Turn]]:
    """Give the joints that findings name besides the one that each is at.

    Of a station that occurs more than once, the joint nearest to that joint is meant.

    Parameters
    ----------
    findings : iterable of (joint, from_station, to_station)
        Number of the joint on the route that each is at, and its columns of these names.
    by_station : mapping
        The joints at each station, in their order along the route.

    Yields
    ------
    int, Turn
        Number of the joint, and those that its finding names.

    Examples
    --------
    >>> by_station = {"0+20": [1], "0+40": [2, 4], "0+60": [5]}
    >>> dict(turns_named([(1, None, None), (2, "0+20", "0+40"), (5, "0+40", "0+60")], by_station))
    {2: Turn(first=1, last=2), 5: Turn(first=4, last=5)}
    """
    for at, *ends in findings:
        first, last = (by_station.get(station or "", ()) for station in ends)
        behind, ahead = [one for one in first if one <= at], [one for one in last if one >= at]
        if behind and ahead:
            yield at, Turn(behind[-1], ahead[0])


def least_over(certain: Collection[int], turns: Collection[Turn]) -> int:
    """Count the joints that are over at least: those that are for certain, and one for turns that have one in common.

    Examples
    --------
    >>> turns = [Turn(13, 17), Turn(16, 20), Turn(19, 23), Turn(22, 26)]
    >>> least_over([], turns), least_over([20], turns), least_over([5, 9], [])
    (2, 3, 2)
    """
    left, known = [], sorted(certain)
    for turn in sorted(turns, key=lambda one: one.last):
        within = bisect_left(known, turn.first)
        if within == len(known) or known[within] > turn.last:
            left.append(turn)
    many, last = len(known), -1
    for turn in left:
        if turn.first > last:
            many, last = many + 1, turn.last
    return many


def at_least(many: int, turns: int) -> str:
    """Write a count of joints over; by turns that joints share it is the least.

    Examples
    --------
    >>> at_least(1200, 0), at_least(2, 4)
    ('1,200', 'at least 2')
    """
    return f"{'at least ' if turns else ''}{many:,}"
