"""Remarks alike put together: how often, and in which row first; none is left out of a count."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from typing import Any, NamedTuple

_VARIES = re.compile(r"'[^']*'|[-+]?\d[\d.,+]*")
"""What differs between remarks that say the same of different joints: figures, and what a cell holds."""
_FEW_TEXTS, _OFTEN = 4, 3
_NAMED = 3
"""Rows named behind the first one."""
_SEVERITIES = ("act", "check", "note")


class Group(NamedTuple):
    """Remarks of one kind that say the same, apart from figures and what cells hold."""

    told: tuple[dict[str, Any], ...]
    """The remarks in the order of the log."""
    same: bool
    """Whether all of them say the very same."""

    @property
    def first(self) -> dict[str, Any]:
        """The remark whose row comes first."""
        return self.told[0]

    @property
    def times(self) -> int:
        """How many they are."""
        return len(self.told)


def grouped(told: Sequence[dict[str, Any]]) -> list[Group]:
    """Put remarks together that are alike, the most severe ones and then the most frequent ones first.

    Parameters
    ----------
    told : sequence of remarks, as `results.told_of_rows` gives them

    Returns
    -------
    list of Group
        Their times add up to the number of remarks.

    Examples
    --------
    >>> about = {"kind": "no-allowable", "severity": "note"}
    >>> told = [about | {"message": f"no allowable for push-on {size} in", "row": row}
    ...         for row, size in enumerate([12, 12, 12, 16], start=7)]
    >>> [(group.times, group.first["row"], group.first["message"]) for group in grouped(told)]
    [(3, 7, 'no allowable for push-on 12 in'), (1, 10, 'no allowable for push-on 16 in')]
    """
    times = Counter((one["kind"], one["message"]) for one in told)
    texts = Counter(kind for kind, _ in times)
    alike: dict[tuple[str, str, str], list[dict[str, Any]]] = {}
    for one in told:
        # A text that stands often, or is one of few, stays as it is: its figures tell it from the others.
        exact = times[one["kind"], one["message"]] >= _OFTEN or texts[one["kind"]] <= _FEW_TEXTS
        template = one["message"] if exact else _VARIES.sub("#", one["message"])
        alike.setdefault((one["severity"], one["kind"], template), []).append(one)
    groups = [Group(tuple(some), len({one["message"] for one in some}) == 1) for some in alike.values()]
    return sorted(groups, key=lambda group: (_SEVERITIES.index(group.first["severity"]), -group.times))


def said(group: Group) -> str:
    """Say what a group is about: how often, and where first.

    Examples
    --------
    >>> told = [{"message": "no allowable for push-on 12 in", "file": "log.csv", "row": row} for row in range(7, 145)]
    >>> said(Group(tuple(told), True))
    '138 x no allowable for push-on 12 in; first in row 7, then 8, 9, 10 and 134 more'
    >>> told = [{"message": f"station {at}+99 is not on route A", "file": "log.csv", "row": at} for at in (8, 9)]
    >>> said(Group(tuple(told), False))
    '2 x like this, first in row 8, then 9: station 8+99 is not on route A'
    """
    message = str(group.first["message"])
    if group.times == 1:
        return message
    where = _where(group)
    return f"{group.times:,} x {message}; {where}" if group.same else f"{group.times:,} x like this, {where}: {message}"


def _where(group: Group) -> str:
    """Name the first rows; rows of other files, and lengths, are told by the file or the route."""
    places = []
    for before, one in zip((None, *group.told), group.told[: _NAMED + 1], strict=False):
        at = f"{one['row']}" if one["row"] else f"route {one['route']}"
        elsewhere = before is not None and before["file"] != one["file"] and one["row"]
        places.append(f"{one['file']} {at}" if elsewhere else at)
    first = f"first in row {places[0]}" if group.first["row"] else f"first on {places[0]}"
    more = group.times - len(places)
    return f"{first}, then {', '.join(places[1:])}" + (f" and {more:,} more" if more else "")
