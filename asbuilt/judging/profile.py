"""The profile as it lies: grades under the least one, and high and low points without an outlet for air or water."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Floats, Ints, as_mask
from asbuilt.notes import OfRoutes

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.judging.deflection import Segments
    from asbuilt.line.stationed import StationedLine
    from asbuilt.placing.joints import Joints

_OUTLETS = "(?i)valve|drain|blow|hydrant|flush|outlet|vent|pump"
"""Words of what is laid that can let air or water out; common practice, no source."""
_NEAR = 1.5
"""An outlet within so many laying lengths of a point serves it; common practice, no source."""
_SHOWN = 6


def profile_notes(job: Job, line: StationedLine, log: Log, joints: Joints, straights: Segments) -> list[OfRoutes]:
    """Say where the pipe lies flatter than the job's least grade, and which high and low points have no outlet.

    Parameters
    ----------
    job : Job
    line : StationedLine
    log : Log
    joints : Joints
    straights : Segments

    Returns
    -------
    list of OfRoutes
        Nothing where the job asks for neither.
    """
    wanted, notes = job.profile, list[OfRoutes]()
    if wanted is None:
        return notes
    for number in np.unique(joints.route).tolist():
        name = line.names.names[number]
        on = joints.route == number
        if not np.isfinite(joints.elevation[on]).any():
            notes.append(OfRoutes.one(name, f"route {name}: no elevations are known, so nothing is said of its grades"))
            continue
        said = []
        if wanted.least_grade is not None:
            said += _flat(wanted.least_grade, joints, straights, number, name)
        if wanted.least_rise is not None:
            rows = np.flatnonzero(on & np.isfinite(joints.elevation))
            said += _without_outlets(job, wanted.least_rise * line.scale, line.scale, log, joints, rows, name)
        notes += [OfRoutes.one(name, text) for text in said]
    return notes


def turning_points(height: Floats, rise: float) -> list[tuple[int, str]]:
    """Find the high and low points of a profile, smaller waves left out.

    Parameters
    ----------
    height : array, shape (n,)
        In order along the route.
    rise : float
        How far the profile must rise and fall on either side of a point.

    Returns
    -------
    list of (number of the point, "high" or "low")

    Examples
    --------
    >>> turning_points(np.array([0.0, 2.0, 1.9, 2.1, 0.5, 3.0]), 1.0)
    [(3, 'high'), (4, 'low')]
    """
    found: list[tuple[int, str]] = []
    high = low = heading = 0
    # Only where the profile turns at all can it turn by so much.
    turns = np.flatnonzero(np.diff(np.sign(np.diff(height)))) + 1
    for at in [0, *turns.tolist(), len(height) - 1]:
        high = at if height[at] > height[high] else high
        low = at if height[at] < height[low] else low
        if heading >= 0 and height[at] <= height[high] - rise:
            found += [(high, "high")] if heading else []
            heading, low = -1, at
        elif heading <= 0 and height[at] >= height[low] + rise:
            found += [(low, "low")] if heading else []
            heading, high = 1, at
    return found


def _flat(least: float, joints: Joints, straights: Segments, number: int, name: str) -> list[str]:
    grade = 100.0 * np.abs(np.tan(straights.inclination))
    known = (joints.route[straights.back] == number) & np.isfinite(grade)
    back = straights.back[known & (grade < least * (1.0 - 1e-9))]
    if not len(back):
        return []
    begins = np.append(True, np.diff(back) != 1)
    first, last = np.flatnonzero(begins), np.append(np.flatnonzero(begins)[1:], len(back)) - 1
    stations = joints.station.to_pylist()
    lengths = [f"{stations[back[a]]} to {stations[back[b] + 1]}" for a, b in zip(first, last, strict=True)]
    return [
        f"route {name}: {len(back)} of {int(known.sum())} lengths of pipe lie flatter than the job's least grade of "
        f"{least:g} %: {_listed(lengths)}"
    ]


def _without_outlets(
    job: Job, rise: float, scale: float, log: Log, joints: Joints, on: Ints, name: str
) -> list[str]:  # fmt: skip
    kind = log.text("kind").take(pa.array(joints.record[on]))
    outlets = joints.distance[on][as_mask(pc.match_substring_regex(kind, _OUTLETS))]
    near, stations = _NEAR * job.records.laying_length * scale, joints.station.to_pylist()
    bare: dict[str, list[str]] = {"high": [], "low": []}
    for at, word in turning_points(joints.elevation[on], rise):
        if not (np.abs(outlets - joints.distance[on[at]]) <= near).any():
            bare[word].append(str(stations[on[at]]))
    words = {"high": "valve or vent", "low": "valve or drain"}
    return [
        f"route {name}: the log has no {words[word]} near {len(some)} {word} point{'s' * (len(some) > 1)} of the pipe: "
        f"{_listed(some)}"
        for word, some in bare.items()
        if some
    ]


def _listed(some: list[str]) -> str:
    more = f" and {len(some) - _SHOWN} more" if len(some) > _SHOWN else ""
    return ", ".join(some[:_SHOWN]) + more
