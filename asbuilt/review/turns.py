"""Turns that several joints share: which joints a finding names, and how many of them are over at least."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from asbuilt.review.rows import Rows


def tells_of_one_of(words: str) -> bool:
    """Tell whether a finding is about a turn that joints share, of which one is over.

    Examples
    --------
    >>> tells_of_one_of("one of the 3 joints from 2+00 to 2+40 is over: the line turns 12 deg there")
    True
    >>> tells_of_one_of("deflection 6.1 deg is over the allowable 5 deg")
    False
    """
    return _OF_A_BEND in words or _WINDOW.search(words) is not None


class Turn(NamedTuple):
    """The first and the last of the joints that share a turn, by their numbers on the route."""

    first: int
    last: int


def turns_named(findings: Rows, by_station: Mapping[str, Sequence[int]], code: str) -> Iterator[tuple[int, Turn]]:
    """Give the joints that findings name by their stations, besides the joint that each is at.

    Of a station that occurs more than once, the joint nearest to that joint is meant.

    Parameters
    ----------
    findings : rows of a route's findings
    by_station : mapping
        The joints at each station, in their order along the route.
    code : str
        Of the findings that are looked at.

    Yields
    ------
    int, Turn
        Number of the joint on the route, and those that its finding names.
    """
    some = findings.take((findings["code"] == code) & (findings["at"] >= 0))
    for at, *ends in zip(*(some[name].tolist() for name in ("at", "from_station", "to_station")), strict=True):
        first, last = (by_station.get(station, ()) for station in ends)
        behind, ahead = [one for one in first if one <= at], [one for one in last if one >= at]
        if behind and ahead:
            yield at, Turn(behind[-1], ahead[0])


def shared_turns(findings: Rows, by_station: Mapping[str, Sequence[int]]) -> dict[int, Turn]:
    """Give for each joint that is over by what it shares with others the joints that share it: one of them is over.

    So it is with the two ends of a bend, where both were logged and the same is said of both.
    """
    return dict(turns_named(findings, by_station, "deflection-over"))


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
