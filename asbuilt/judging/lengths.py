"""The length of the line against the length logged, before stations are stretched onto it: a check, not a fit.

Three lengths are compared between the ends of each route's joints and its ties: that of the line as it was shot, that
counted by the stations, and that of the pipes laid. Stretching between ties makes the first two agree wherever it is
done; what it has to make up is told here, with what may be behind it.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from asbuilt.judging.judged import piece_joint
from asbuilt.line import arcs, ties
from asbuilt.line.routes import between
from asbuilt.notes import OfRoutes

if TYPE_CHECKING:
    from asbuilt.arrays import Bools, Floats
    from asbuilt.job import Job
    from asbuilt.judging.deflection import Segments
    from asbuilt.judging.judged import Judged
    from asbuilt.line.stationed import StationedLine
    from asbuilt.placing.joints import Joints

PART = 0.001
"""Lengths that differ by less than this part of themselves agree, as taped ones do; common practice, no source."""
LEAST_CURVE = 1e-3
"""A curve longer than its line by less than this is none; with neither ties nor pipes there is nothing to compare."""
SAME = 1e-6
"""Places nearer to one another than this are one, coordinate units."""
LAID_PART = 0.002
"""The same of the pipes laid, whose lengths are nominal."""
MOST = 0.9
"""Part of the pipes whose laid lengths must be known, for their sum to say anything."""


_NOT_COUNTED = ("climb", "disordered")


class Interval(NamedTuple):
    """A part of a route between two places that are known: an end of its joints, or a tie. Station units."""

    route: str
    start: str
    end: str
    joints: int
    line: float
    """Along the line as it was shot."""
    stations: float
    """As the stations count, unstretched."""
    laid: float | None
    """Sum of the lengths of the pipes laid; None where the log does not have most of them, or does not reach."""
    curve: float
    """What the curve that the shots show has more than the line."""
    disordered: int = 0
    """Joints out of order among them, of whose pipes nobody knows where they lie."""
    climb: float = 0.0
    """What the line has in space more than in plan: NaN without elevations, nothing for stations along the slope."""

    def as_counts(self) -> dict[str, Any]:
        """Give the numbers for the run, to a thousandth."""
        told = {name: one for name, one in self._asdict().items() if name not in _NOT_COUNTED}
        return {name: round(one, 3) if isinstance(one, float) else one for name, one in told.items()}


def compare(
    line: StationedLine, joints: Joints, straights: Segments, laid: Floats, laying_length: float, disordered: Bools
) -> list[Interval]:
    """Compare the line, the stations and the pipes laid, on every route and between its ties.

    Parameters
    ----------
    line : StationedLine
    joints : Joints
    straights : Segments
        Between successive joints.
    laid : array, shape (straights,)
        Length of the pipe of each straight, station units; NaN where the log has none.
    laying_length : float
        Station units.
    disordered : array of bool, shape (joints,)
        Joints of which nobody knows where they lie.
    """
    routes, found = line.routes, line.routes.calibration
    running = routes.slope_distance if line.slope else routes.distance
    at = between(running, joints.located)
    climbed = between(routes.slope_distance - running, joints.located)
    excess = between(arcs.excess(line.routes, laying_length * line.scale), joints.located)
    intervals = []
    starts = np.flatnonzero(np.diff(joints.route, prepend=-1))
    ends_at = np.append(starts[1:], len(joints))
    # Routes with nothing to compare are the most, where there are many.
    pipes = np.bincount(joints.route[straights.back], np.isfinite(laid), len(routes.names))[joints.route[starts]]
    some = np.full(len(starts), found is not None) | (pipes > 0) | (excess[ends_at - 1] > LEAST_CURVE)
    for first, last in zip(starts[some].tolist(), ends_at[some].tolist(), strict=True):
        route, rows = int(joints.route[first]), slice(first, last)
        tied = range(int(found.first[route]), int(found.first[route + 1])) if found is not None else range(0)
        known = [float(found.actual[one]) for one in tied] if found is not None else []
        names = [found.keys[one] for one in tied] if found is not None else []
        for name, place in (("first joint", float(at[first])), ("last joint", float(at[last - 1]))):
            # An end of the joints that lies between two ties divides nothing.
            if not known or not min(known) - SAME <= place <= max(known) + SAME:
                known.append(place)
                names.append(name)
        own = laid[slice(*np.searchsorted(straights.back, [first, last - 1]).tolist())]
        sums = np.concatenate([[0.0], np.cumsum(np.where(np.isfinite(own), own, laying_length))])
        measured = len(own) > 0 and np.isfinite(own).mean() >= MOST
        order = np.argsort(known, kind="stable")
        for back, ahead in zip(order[:-1].tolist(), order[1:].tolist(), strict=True):
            low, high = known[back], known[ahead]
            inside = (at[rows] >= low - SAME) & (at[rows] <= high + SAME)
            if high - low <= 0 or inside.sum() < 2:
                continue
            ends, covered = np.array([low, high]), low >= at[first] - SAME and high <= at[last - 1] + SAME
            counted = ends if found is None else ties.off_line(found, np.full(2, route), ends)
            one = Interval(
                routes.names[route], names[back], names[ahead], int(inside.sum()), (high - low) / line.scale,
                float(np.diff(counted)[0]) / line.scale,
                float(np.diff(np.interp(ends, at[rows], sums))[0]) if measured and covered else None,
                float(np.diff(np.interp(ends, at[rows], excess[rows]))[0]) / line.scale,
                int(np.count_nonzero(disordered[rows][inside])),
                float(np.diff(np.interp(ends, at[rows], climbed[rows]))[0]) / line.scale,
            )  # fmt: skip
            if found is not None or one.laid is not None or one.curve > LEAST_CURVE:
                intervals.append(one)
    return intervals


def of_judged(job: Job, line: StationedLine, judged: Judged) -> list[Interval]:
    """Compare the lengths of a judged job."""
    laid = judged.number("laid_length")[piece_joint(judged)]
    # Where joints are missing from the log, a finding says so; the other pipes must add up without them. Those that
    # stand elsewhere in it have their pipes there.
    elsewhere = np.where(judged.apart, 0, judged.missing - judged.absent) * job.records.laying_length
    # Beside a station that is off by itself none is: the next step is as much too short.
    back = judged.segments.back
    missing = (judged.missing > 0) & (np.maximum(judged.slips[back], judged.slips[back + 1]) == 0.0)
    laid = np.where(missing, judged.segments.length / line.scale - elsewhere, laid)
    disordered = np.zeros(len(judged.joints), dtype=np.bool_)
    disordered[judged.out_of_order.joint] = True
    return compare(line, judged.joints, judged.segments, laid, job.records.laying_length, disordered)


def told(intervals: list[Interval], least: float, symbol: str, by_curve: bool) -> Iterator[OfRoutes]:
    """Say where the lengths do not agree, and what may be behind it.

    Parameters
    ----------
    intervals : list of Interval
    least : float
        Lengths that differ by less than this agree, station units.
    symbol : of the station unit
    by_curve : bool
        Joints were placed on a curve through the shots.
    """
    for one in intervals:
        where = f"route {one.route}, {one.start} to {one.end}"
        short = one.stations - one.line
        if abs(short) > max(least, PART * one.stations):
            behind = "add ties between them, to see where it comes from"
            if not by_curve and arcs.EXPLAINED * short < one.curve < short / arcs.EXPLAINED:
                behind = (
                    f"the curve through the shots is {one.curve:.2f} {symbol} longer than the straights between them: "
                    'place joints on it, with centerline.between = "curve"'
                )
            text = (
                f"{where}: the line measures {one.line:.2f} {symbol}, and the stations count {one.stations:.2f} "
                f"{symbol}; the ties spread the {abs(short):.2f} {symbol} evenly, which proves nothing: {behind}"
            )
            yield OfRoutes.one(one.route, text)
        elif not by_curve and one.line == one.stations and one.curve > max(least, PART * one.line):
            text = (
                f"{where}: the curve through its shots is {one.curve:.2f} {symbol} longer than the straights between "
                "them, so that its last joints are placed up to so far ahead of where they lie: place joints on the "
                'curve, with centerline.between = "curve", or add a tie at the end'
            )
            yield OfRoutes.one(one.route, text)
        if one.laid is None:
            continue
        # Pipes are taped along the slope: on a grade of 6 percent they are longer than level stations by so much.
        most, more = max(least, LAID_PART * one.stations), one.laid - one.stations
        if abs(more) > most and not abs(more - one.climb) <= most:
            behind = (
                "look for joints or pieces that are not in the log, and for stations that were not taken along the pipe"
            )
            if one.disordered:
                many = "1 joint stands" if one.disordered == 1 else f"{one.disordered:,} joints stand"
                behind = (
                    f"{many} out of order there, whose pipes may count twice or not at all: have these settled before "
                    "the sum is looked at"
                )
            text = (
                f"{where}: the pipes laid add up to {one.laid:.2f} {symbol}, and the stations count "
                f"{one.stations:.2f} {symbol}: {behind}"
            )
            yield OfRoutes.one(one.route, text)


def spacing_of(legs: Floats) -> dict[str, float]:
    """Say how far apart the shots of a line are: how many legs there are, the middle one, the least and the most.

    Parameters
    ----------
    legs : array, shape (shots - 1,)
        Between successive shots.

    Examples
    --------
    >>> spacing_of(np.array([20.0, 100.0, 21.0]))
    {'legs': 3, 'middle': 21.0, 'least': 20.0, 'most': 100.0}
    """
    told = {"middle": np.median(legs), "least": legs.min(), "most": legs.max()}
    return {"legs": len(legs), **{word: round(float(value), 3) for word, value in told.items()}}
