"""The checks against design and ground: beside the design, above or below it, and under too little cover.

What lies beyond its limit by less than its place is known to is not found beyond it: the survey cannot tell.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.judging.judged import ROUNDING, Found, Judged, nothing_found, plain, say

_NORMAL_95 = 1.9600
"""Standard errors that hold 95 percent in one direction. Source: FGDC-STD-007.3, vertical accuracy."""
_EXACT = "; how well places are known is not stated, so they are taken as exact"


class _Side(NamedTuple):
    """What is held against the design, and how it is told."""

    key: str
    """The limit's key in the job's design."""
    less: str
    more: str
    apart: Callable[[Judged], Floats]
    known_to: Callable[[Judged], Floats]
    way: str
    """In which direction that is, in words."""


def _offset_known_to(judged: Judged) -> Floats:
    """Give how well offsets are known, coordinate units: in the one direction that they are measured in.

    What is unknown along the line counts as far as the line leads toward the design or away from it.
    """
    known = judged.known_to
    return np.hypot(known.across, np.nan_to_num(_slopes(judged) * known.along))


def _slopes(judged: Judged) -> Floats:
    """Give by how much the offset changes in a unit along the line, to the joint before or behind, the larger."""
    joints, offset = judged.joints, judged.design.offset
    slope = np.zeros(len(joints))
    if len(joints) < 2:
        return slope
    run = np.diff(joints.distance)
    same = (np.diff(joints.route) == 0) & (run > 0)
    step = np.nan_to_num(np.abs(np.divide(np.diff(offset), run, out=np.zeros(len(run)), where=same)))
    slope[:-1] = step
    slope[1:] = np.maximum(slope[1:], step)
    return slope


def _height_known_to(judged: Judged) -> Floats:
    """Give how well heights are known, coordinate units; without bound where one was put between measured ones."""
    return np.where(judged.known_to.put_between, np.inf, judged.known_to.vertical)


_LINE = _Side(
    "max_offset", "left of", "right of", lambda judged: judged.design.offset, _offset_known_to, " to either side"
)
_GRADE = _Side(
    "max_height", "below", "above", lambda judged: judged.design.height, lambda judged: _height_known_to(judged),
    " in height",
)  # fmt: skip


def line_off(judged: Judged) -> Found:
    return _against_design(judged, _LINE, beyond)


def line_unclear(judged: Judged) -> Found:
    return _against_design(judged, _LINE, unclear)


def grade_off(judged: Judged) -> Found:
    return _against_design(judged, _GRADE, beyond)


def grade_unclear(judged: Judged) -> Found:
    return _against_design(judged, _GRADE, unclear)


def beyond(past: Floats, known_to: Floats) -> Bools:
    """Mark what lies past its limit by more than it is known to.

    Parameters
    ----------
    past : array, shape (n,)
        By how much it passes its limit; negative within it, NaN where that is not known.
    known_to : array, shape (n,)
        Accuracy at 95 percent; NaN where it is not stated: taken as exact. Infinite where nothing is known of it.

    Examples
    --------
    >>> past, known_to = np.array([0.3, 0.05, -0.05, -0.3, 0.05]), np.array([0.1, 0.1, 0.1, 0.1, np.nan])
    >>> beyond(past, known_to).tolist()
    [True, False, False, False, True]
    >>> unclear(past, known_to).tolist()
    [False, True, True, False, False]
    """
    found: Bools = past - np.nan_to_num(known_to) > ROUNDING
    return found


def unclear(past: Floats, known_to: Floats) -> Bools:
    """Mark what may lie on either side of its limit: see `beyond`."""
    found: Bools = (past + np.nan_to_num(known_to) > ROUNDING) & ~beyond(past, known_to)
    return found


def _against_design(judged: Judged, side: _Side, which: Callable[[Floats, Floats], Bools]) -> Found:
    """Hold distances from the design against the job's limit, in its unit; one that is not known is over nothing."""
    limit = getattr(judged.job.design, side.key, None)
    if limit is None:
        return nothing_found()
    off, known_to = (_in_stations(judged, one(judged)) for one in (side.apart, side.known_to))
    rows = np.flatnonzero(which(np.abs(off) - limit, known_to))
    word = pc.if_else(pa.array(off[rows] > 0), side.more, side.less)
    where = say(
        plain(np.abs(off[rows])), f" {judged.symbol} ", word, " the design at its station ",
        judged.design.station.take(pa.array(rows)), _known(judged, known_to[rows], side.way),
    )  # fmt: skip
    told = f", where the job allows {limit:g} {judged.symbol}"
    if which is unclear:
        told = f": the survey cannot tell whether it lies within the {limit:g} {judged.symbol} that the job allows"
    basis = _basis(f"the job's design.{side.key}", known_to[rows])
    return Found(rows, say(where, told), np.abs(off[rows]), np.full(len(rows), limit), judged.symbol, basis)


def cover_short(judged: Judged) -> Found:
    return _cover(judged, beyond)


def cover_unclear(judged: Judged) -> Found:
    return _cover(judged, unclear)


def _cover(judged: Judged, which: Callable[[Floats, Floats], Bools]) -> Found:
    cover = judged.job.cover
    if cover is None or cover.least is None:
        return nothing_found()
    at, least = (_in_stations(judged, one) for one in (judged.cover.cover, judged.cover.least))
    known_to = _in_stations(judged, _cover_known_to(judged))
    rows = np.flatnonzero(which(cover.least - least, known_to))
    message = say(
        plain(least[rows]), f" {judged.symbol} of cover", _where_least(judged, at, least, rows),
        _known(judged, known_to[rows], ""),
        f": the survey cannot tell whether it is the {cover.least:g} {judged.symbol} that the job asks for"
        if which is unclear else f", where the job asks for {cover.least:g} {judged.symbol}",
    )  # fmt: skip
    ground = "" if cover.sigma is not None else "; the ground is taken as exact"
    basis = _basis("the job's cover.least", known_to[rows], ground)
    return Found(rows, message, least[rows], np.full(len(rows), cover.least), judged.symbol, basis)


def _where_least(judged: Judged, at: Floats, least: Floats, rows: Ints) -> pa.Array:
    ahead = say(" over the pipe ahead of it, ", plain(at[rows]), f" {judged.symbol} at the joint")
    return pc.if_else(pa.array(least[rows] < at[rows] - ROUNDING), ahead, " over the joint")


def _cover_known_to(judged: Judged) -> Floats:
    """Give how well cover is known, coordinate units: by the height of the worse end of the pipe, and the ground's."""
    assert judged.job.cover is not None
    heights, back = _height_known_to(judged), judged.segments.back
    pipe = heights.copy()
    pipe[back] = np.fmax(heights[back], heights[back + 1])
    unit = judged.job.cover.unit or judged.unit
    ground = _NORMAL_95 * (judged.job.cover.sigma or 0.0) * units.factor(unit, judged.unit)
    if judged.job.cover.sigma is None:
        return pipe
    # A height that nothing bounds stays so: it is no number as large as there is.
    return np.hypot(np.nan_to_num(pipe, posinf=np.inf), ground)


def _in_stations(judged: Judged, values: Floats) -> Floats:
    return values / units.factor(judged.job.records.station_unit, judged.unit)


def _known(judged: Judged, known_to: Floats, way: str) -> pa.Array:
    """Say how well a place is known, and in which direction; nothing where that is not stated."""
    said = say(", known to ", plain(known_to), f" {judged.symbol}{way} at 95 %")
    between = pc.if_else(pa.array(np.isinf(known_to)), ", by an elevation put between measured ones", "")
    return pc.if_else(pa.array(np.isfinite(known_to)), said, between)


def _basis(limit: str, known_to: Floats, more: str = "") -> pa.Array:
    stated = pa.array(~np.isnan(known_to))
    return pc.if_else(stated, pa.scalar(limit + more), pa.scalar(limit + _EXACT + more))
