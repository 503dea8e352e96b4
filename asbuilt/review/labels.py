"""Where the words of a plot stand, so that none lies on another, or across the line, or runs off the edge.

`templates/labels.js` does the same in the browser, whose plots change their size and what they show; one file of cases
holds both to the same answers.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import NamedTuple

EM = 0.7
"""Width of a letter or figure, as a part of the height of its type; somewhat more than in the fonts used."""
PROSE = 0.6
"""The same of words in small letters."""
_REACH = 0.3
"""Part of a unit vector from which on a word stands to one side of its place, rather than across it."""


class Box(NamedTuple):
    """A rectangle in points of the page, right and up."""

    left: float
    right: float
    bottom: float
    top: float

    def meets(self, other: Box) -> bool:
        """Say whether two rectangles overlap."""
        across = self.left < other.right and other.left < self.right
        return across and self.bottom < other.top and other.bottom < self.top

    def within(self, other: Box) -> bool:
        """Say whether this rectangle lies inside another one."""
        across = self.left >= other.left and self.right <= other.right
        return across and self.bottom >= other.bottom and self.top <= other.top


@dataclass
class Frame:
    """A plot's frame, and the boxes of the words that stand in it already."""

    edge: Box
    taken: list[Box] = field(default_factory=list)
    line: Sequence[tuple[float, float]] = ()
    """Places of the line that no word stands across, or only one that must be there and has no other room."""

    def free(self, box: Box) -> bool:
        """Say whether a word may stand there."""
        return box.within(self.edge) and not any(box.meets(one) for one in self.taken)

    def crossed(self, box: Box) -> bool:
        """Say whether the line runs through a box."""
        left, right, bottom, top = box
        return any(
            _cuts(one, other, box)
            for one, other in pairwise(self.line)
            # Most straights lie to one side of it.
            if not (
                (one[0] < left and other[0] < left)
                or (one[0] > right and other[0] > right)
                or (one[1] < bottom and other[1] < bottom)
                or (one[1] > top and other[1] > top)
            )
        )


def _cuts(one: tuple[float, float], other: tuple[float, float], box: Box) -> bool:
    """Say whether a straight runs through a box: whether some part of it is within its width and within its height."""
    begin, end = 0.0, 1.0
    for start, stop, low, high in zip(one, other, box[0::2], box[1::2], strict=True):
        if start == stop:
            if not low < start < high:
                return False
            continue
        first, last = sorted(((low - start) / (stop - start), (high - start) / (stop - start)))
        begin, end = max(begin, first), min(end, last)
    return begin < end


def thinned(places: Iterable[tuple[float, float]], least: float) -> list[tuple[float, float]]:
    """Leave out of a line the places that lie less than so far from the one before them.

    Examples
    --------
    >>> thinned([(0, 0), (0.4, 0), (2, 0), (2.1, 0)], 1)
    [(0, 0), (2, 0), (2.1, 0)]
    """
    kept: list[tuple[float, float]] = []
    last = None
    for last in places:
        if not kept or abs(last[0] - kept[-1][0]) + abs(last[1] - kept[-1][1]) >= least:
            kept.append(last)
    return kept if last is None or kept[-1] == last else [*kept, last]


def together(texts: Sequence[str]) -> str:
    """Name several things at once, like ones by their number.

    Examples
    --------
    >>> together(["22.5°", "22.5°", "45°"])
    '2 × 22.5°, 45°'
    """
    return ", ".join(text if many == 1 else f"{many} × {text}" for text, many in Counter(texts).items())


def width(text: str, size: float) -> float:
    """Estimate how wide a text of one line is, in the unit of its type's height."""
    return EM * size * len(text)


def prose(text: str, size: float) -> float:
    """Estimate how wide words of small letters are, which are narrower than figures and names, in the type's unit."""
    return PROSE * size * len(text)


def gathered(
    places: Sequence[float], texts: Sequence[str], size: float, edge: tuple[float, float] = (-math.inf, math.inf)
) -> list[tuple[list[int], float]]:
    """Gather what lies too near together along an axis to be named apart.

    Parameters
    ----------
    places : sequence of float
        Along the axis, in points, ascending; a name stands in the middle of what it names.
    texts : sequence of str
    size : float
        Height of the type, points.
    edge : pair of float
        Where the axis begins and ends, points: a name is moved inward rather than run over it.

    Returns
    -------
    list of (list of int, float)
        The things of each name, and where its middle stands.

    Examples
    --------
    >>> gathered([0, 10, 200], ["45°", "45°", "90°"], 6)
    [([0, 1], 5.0), ([2], 200.0)]
    """
    groups: list[list[int]] = []
    for number in range(len(places)):
        groups.append([number])
        while len(groups) > 1:
            (left, one), (right, other) = (_middle(group, places, texts, size, edge) for group in groups[-2:])
            if right - left >= one + other + size / 2:
                break
            groups[-2:] = [groups[-2] + groups[-1]]
    return [(group, _middle(group, places, texts, size, edge)[0]) for group in groups]


def _middle(
    group: list[int], places: Sequence[float], texts: Sequence[str], size: float, edge: tuple[float, float]
) -> tuple[float, float]:
    """Give where the middle of a name stands, and half its width."""
    half = width(together([texts[at] for at in group]), size) / 2
    between = (places[group[0]] + places[group[-1]]) / 2
    return min(max(between, edge[0] + half), edge[1] - half), half


def near(one: tuple[float, float], other: tuple[float, float], size: float) -> bool:
    """Say whether two places in plan lie too near together to be named apart.

    Examples
    --------
    >>> near((0, 0), (29, 0), 6), near((0, 0), (0, 13), 6)
    (True, False)
    """
    return abs(other[0] - one[0]) < 5 * size and abs(other[1] - one[1]) < 2 * size


def rows(spans: Sequence[tuple[float, float]]) -> list[int]:
    """Give each stretch along an axis the first row in which it overlaps none before it.

    Examples
    --------
    >>> rows([(0, 10), (5, 15), (12, 20)])
    [0, 1, 0]
    """
    ends: list[float] = []
    found = []
    for start, end in spans:
        row = next((number for number, taken in enumerate(ends) if taken <= start), len(ends))
        ends[row : row + 1] = [end]
        found.append(row)
    return found


def ways(right: float, up: float) -> list[tuple[float, float]]:
    """Give the ways from its place in which a word is tried: its own, the opposite one, above, below, right, left."""
    return [(right, up), (-right, -up), (0.0, 1.0), (0.0, -1.0), (1.0, 0.0), (-1.0, 0.0)]


def alignment(right: float, up: float) -> tuple[str, str]:
    """Give how a text that lies this way from its place is set: across, and up."""
    across = "left" if right > _REACH else "right" if right < -_REACH else "center"
    return across, "bottom" if up > _REACH else "top" if up < -_REACH else "center"


def box(place: tuple[float, float], way: tuple[float, float], text: str, size: float, away: float) -> Box:
    """Give the box of a text of one line that stands some points away from its place, in a way given as unit vector."""
    across, up = alignment(*way)
    left = place[0] + away * way[0] - {"left": 0.0, "center": 0.5, "right": 1.0}[across] * width(text, size)
    bottom = place[1] + away * way[1] - {"bottom": 0.0, "center": 0.5, "top": 1.0}[up] * size * 1.2
    return Box(left, left + width(text, size), bottom, bottom + size * 1.2)


def find_room(
    frame: Frame,
    place: tuple[float, float],
    way: tuple[float, float],
    text: str,
    size: float,
    away: float,
    *,
    must: bool = True,
) -> tuple[float, float] | None:
    """Give the first way in which a word beside its place has room, and take that room; None where it has none.

    Parameters
    ----------
    frame : Frame
    place : pair of float
        Right and up, points.
    way : pair of float
        Unit vector of the way tried first.
    text : str
    size, away : float
        Height of the type, and how far the word stands from its place; points.
    must : bool
        Whether the word stands across the line rather than not at all.

    Examples
    --------
    A word as wide as its frame is high does not fit to the right; it fits below.

    >>> find_room(Frame(Box(0, 50, 0, 50)), (25, 25), (1, 0), "12+00", 6, 6)
    (0.0, 1.0)
    """
    rooms = [(tried, box(place, tried, text, size, away)) for tried in ways(*way)]
    free = [one for one in rooms if frame.free(one[1])]
    found = next((one for one in free if not frame.crossed(one[1])), free[0] if free and must else None)
    if found is None:
        return None
    frame.taken.append(found[1])
    return found[0]
