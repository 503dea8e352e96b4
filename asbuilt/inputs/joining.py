"""Lines in pieces joined end to start: each gap that is closed is told with its size and place, wider ones refused."""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from itertools import islice
from typing import Any, NamedTuple

import numpy as np

from asbuilt.arrays import Floats, Ints
from asbuilt.errors import InputFileError

TOLD = 0.001
"""Gaps wider than this, in coordinate units, are told: narrower ones are the rounding of coordinates."""
_SHOWN = 5


class Gap(NamedTuple):
    """Where two ends were apart: how far, and the place halfway."""

    width: float
    easting: float
    northing: float


class Joined(NamedTuple):
    """The pieces of one route as one line."""

    line: Any
    head: int
    """The piece with which the line begins."""
    gaps: list[Gap]


def joined(parts: Sequence[Any], tolerance: float, where: str, ids: Sequence[Any]) -> Joined:
    """Join the pieces of one route end to start, in the direction of the first piece; the nearest ends meet first.

    Ends that are apart meet halfway: the line gets neither a step back nor a length that was not drawn.

    Parameters
    ----------
    parts : sequence of shapely lines
    tolerance : widest gap that is closed, coordinate units
    where : the file and route, for messages
    ids : sequence
        Feature of each piece.

    Raises
    ------
    InputFileError
        When two pieces are the same line, or the next gap is wider; names its size, place and features.

    Examples
    --------
    >>> import shapely
    >>> parts = [shapely.LineString([(0, 0, 5), (0, 10, 5)]), shapely.LineString([(0, 20, 6), (0, 10.4, 5)])]
    >>> one = joined(parts, 0.5, "line", ["1", "2"])
    >>> one.line.wkt, one.gaps
    ('LINESTRING Z (0 0 5, 0 10.2 5, 0 20 6)', [Gap(width=0.4, easting=0.0, northing=10.2)])
    """
    import shapely

    if len({shapely.normalize(part).wkb for part in parts}) < len(parts):
        raise InputFileError(f"{where}: two pieces are the same line; delete one of them")
    pieces = [shapely.get_coordinates(part, include_z=True) for part in parts]
    ends = _Ends(np.array([[one[0, :2], one[-1, :2]] for one in pieces]), tolerance)
    chain, gaps = deque([pieces[0]]), list[Gap]()
    open_ends = [_End(0, 1), _End(0, 0)]
    for left in range(len(pieces) - 1, 0, -1):
        at_head, end, width = ends.next_to(open_ends)
        if width > tolerance:
            beside = open_ends[at_head]
            place = ends.places[beside]
            raise InputFileError(
                f"{where}: {left + 1} pieces do not meet: the end of feature {ids[beside.piece]} at "
                f"{place[0]:.2f}, {place[1]:.2f} is {width:.2f} apart from the nearest, "
                f"feature {ids[end.piece]}; draw what is missing, or give each piece its own route name; if nothing is "
                "missing there, say centerline.join_tolerance"
            )
        piece = pieces[end.piece] if end.side == at_head else pieces[end.piece][::-1]
        place = _meeting(piece, chain[0]) if at_head else _meeting(chain[-1], piece)
        if width > TOLD:
            gaps.append(Gap(width, float(place[0]), float(place[1])))
        if at_head:
            chain.appendleft(piece)
        else:
            chain.append(piece)
        open_ends[at_head] = _End(end.piece, 1 - end.side)
    # Each piece begins where the one before it ends.
    line = np.concatenate([chain[0], *(piece[1:] for piece in islice(chain, 1, None))])
    return Joined(shapely.LineString(line), open_ends[1].piece, gaps)


class _End(NamedTuple):
    """An end of a piece."""

    piece: int
    side: int
    """0 for its first vertex, 1 for its last."""


class _Ends:
    """The ends of pieces, found by their place: looking at all of them for each one would take ever longer."""

    def __init__(self, places: Floats, tolerance: float) -> None:
        import shapely

        self.places = places
        """Easting and northing, shape (pieces, 2, 2)."""
        self._tolerance = tolerance
        self._waiting = np.ones(len(places), dtype=np.bool_)
        self._waiting[0] = False
        x, y = places.reshape(-1, 2).T
        # Widths are rounded before they are judged: one that is rounded down to the tolerance is still in reach.
        reach = tolerance + 1e-5
        self._around = shapely.box(x - reach, y - reach, x + reach, y + reach)
        self._tree = shapely.STRtree(shapely.points(x, y))

    def next_to(self, open_ends: Sequence[_End]) -> tuple[int, _End, float]:
        """Take the waiting piece that is nearest to an open end: give which open end, the piece's end, and how far."""
        _, beside = self._tree.query(self._around[[2 * one.piece + one.side for one in open_ends]])
        near = np.unique(beside // 2)
        near = near[self._waiting[near]]
        found = self._nearest(open_ends, near) if len(near) else None
        # Nothing is in reach: the message names the nearest of all.
        if found is None or found[2] > self._tolerance:
            found = self._nearest(open_ends, np.flatnonzero(self._waiting))
        self._waiting[found[1].piece] = False
        return found

    def _nearest(self, open_ends: Sequence[_End], pieces: Ints) -> tuple[int, _End, float]:
        # Rows: the chain's end and beginning; columns: the pieces, each by its first and its last vertex.
        places = np.array([self.places[one] for one in open_ends])
        away = np.hypot(*np.moveaxis(places[:, None, None] - self.places[pieces], -1, 0))
        at_head, member, side = np.unravel_index(int(np.argmin(away)), away.shape)
        width = round(float(away[at_head, member, side]), 6)
        return int(at_head), _End(int(pieces[member]), int(side)), width


def _meeting(back: Floats, ahead: Floats) -> Floats:
    """Let two pieces meet halfway between the end of one and the beginning of the other; give the place."""
    halfway: Floats = (back[-1] + ahead[0]) / 2
    # Heights are no question of drawing: the first one that is known stays.
    halfway[2] = back[-1, 2] if np.isfinite(back[-1, 2]) else ahead[0, 2]
    back[-1] = ahead[0] = halfway
    return halfway


def told(gaps: Sequence[Gap], where: str, symbol: str) -> list[str]:
    """Say which gaps were closed.

    Examples
    --------
    >>> told([Gap(0.4, 0.0, 10.2)], "line: route A", "ft")
    ['line: route A: ends of its pieces up to 0.400 ft apart were joined halfway: 0.400 ft at 0.00, 10.20']
    """
    if not gaps:
        return []
    widest = sorted(gaps, reverse=True)
    shown = "; ".join(f"{one.width:.3f} {symbol} at {one.easting:.2f}, {one.northing:.2f}" for one in widest[:_SHOWN])
    more = f"; and {len(gaps) - _SHOWN} narrower" if len(gaps) > _SHOWN else ""
    return [
        f"{where}: ends of its pieces up to {widest[0].width:.3f} {symbol} apart were joined halfway: {shown}{more}"
    ]
