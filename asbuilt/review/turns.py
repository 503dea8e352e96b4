"""Turns that several joints share: which joints a finding names, and how many of them are over at least."""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from asbuilt.review.rows import Rows

_WINDOW = re.compile(r"\bjoints from (\S.*?) to (\S.*?)(?= share | is over|, or |, tell|;|$)")
"""The joints at which a finding asks for shots or readings, as `judging.judged.stretch_of` writes their stations."""


_OF_A_BEND = " deg to its two joints"
"""What a finding says of the turn that a bend leaves, as `judging.found_in_deflection.deflection_over` writes it."""


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


def joints_named(by_station: Mapping[str, Sequence[int]], at: int, words: str) -> Iterator[Turn]:
    """Give the joints on either side of joint `at` that its finding names by their stations, for each that it names.

    Of a station that occurs more than once, the joint nearest to it is meant.

    Parameters
    ----------
    by_station : mapping
        The joints at each station, in their order along the route.
    at : int
        Number of the joint at which the finding is.
    words : str
        Of the finding.
    """
    for named in _WINDOW.finditer(words):
        first, last = (by_station.get(station, ()) for station in named.groups())
        behind, ahead = [one for one in first if one <= at], [one for one in last if one >= at]
        if behind and ahead:
            yield Turn(behind[-1], ahead[0])


def shared_turns(findings: Rows, by_station: Mapping[str, Sequence[int]]) -> dict[int, Turn]:
    """Give for each joint that is over by a turn shared with others the joints that share it: one of them is over.

    So it is with the two ends of a bend, where both were logged and the same is said of both.
    """
    over = findings.take(findings["code"] == "deflection-over")
    found: dict[int, Turn] = {}
    said = dict(zip(over["at"].tolist(), over["message"].tolist(), strict=True))
    for at, words in sorted(said.items()):
        for turn in joints_named(by_station, at, words):
            found.setdefault(at, turn)
        if _OF_A_BEND in words and at not in found and said.get(at + 1) == words:
            found[at] = found[at + 1] = Turn(at, at + 1)
    return found


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
