"""Lines in pieces joined end to start: each gap that is closed is told with its size and place, wider ones refused."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np

from asbuilt.arrays import Floats
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
    ends = np.array([[one[0, :2], one[-1, :2]] for one in pieces])
    chain, head, last, gaps = [pieces[0]], 0, 0, list[Gap]()
    waiting = np.arange(1, len(pieces))
    while len(waiting):
        # Rows: the chain's end and beginning; columns: the pieces, each by its first and its last vertex.
        open_ends = np.array([chain[-1][-1, :2], chain[0][0, :2]])
        away = np.hypot(*np.moveaxis(open_ends[:, None, None] - ends[waiting], -1, 0))
        at_head, member, side = np.unravel_index(int(np.argmin(away)), away.shape)
        width, number = round(float(away[at_head, member, side]), 6), int(waiting[member])
        if width > tolerance:
            beside = ids[head if at_head else last]
            raise InputFileError(
                f"{where}: {len(waiting) + 1} pieces do not meet: the end of feature {beside} at "
                f"{open_ends[at_head, 0]:.2f}, {open_ends[at_head, 1]:.2f} is {width:.2f} apart from the nearest, "
                f"feature {ids[number]}; draw what is missing, or give each piece its own route name; if nothing is "
                "missing there, say centerline.join_tolerance"
            )
        piece = pieces[number] if bool(side) == bool(at_head) else pieces[number][::-1]
        place = _meeting(piece, chain[0]) if at_head else _meeting(chain[-1], piece)
        if width > TOLD:
            gaps.append(Gap(width, float(place[0]), float(place[1])))
        if at_head:
            chain.insert(0, piece)
            head = number
        else:
            chain.append(piece)
            last = number
        waiting = np.delete(waiting, member)
    # Each piece begins where the one before it ends.
    line = np.concatenate([chain[0], *(piece[1:] for piece in chain[1:])])
    return Joined(shapely.LineString(line), head, gaps)


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
