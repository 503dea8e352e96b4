"""What the elevations of a survey are of, and how far that lies above the center of the pipe.

A shot on top of the pipe lies half an outside diameter above its center, one on the invert half an inside diameter
below it; each joint goes by its own size.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from asbuilt import units
from asbuilt.arrays import Floats, Ints
from asbuilt.errors import JobFileError
from asbuilt.inputs.diameters import outside_diameters
from asbuilt.inputs.pipe import ASK_SERIES, PIPE_FIELD, pipe_of
from asbuilt.line.routes import between, heights_measured
from asbuilt.notes import OfRoutes
from asbuilt.survey.rounding import NOT_SEEN_M, heights_rounded

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.line.routes import Routes
    from asbuilt.placing.joints import Joints

_THICKEST = 0.2
"""Part of its outside diameter that a pipe's wall, linings included, is at most; common practice, no source."""
LOW_M, _FEWEST = (0.2, 5.0), 8
"""Depths of cover and readings of a rod lie between these: rods are no longer, and trenches hardly deeper (common
practice, no source). So do elevations beside the sea; of fewer shots nothing is asked."""
WORDS = {"top-of-pipe": "the top of the pipe", "pipe-center": "the pipe's center", "invert": "the invert"}


def to_pipe_center(job: Job, routes: Routes, log: Log, joints: Joints) -> tuple[Routes, Joints, tuple[str, ...]]:
    """Bring elevations to the center of the pipe, as the job says what the survey shot.

    Parameters
    ----------
    job : Job
    routes : Routes
    log : Log
    joints : Joints

    Returns
    -------
    routes, joints
        With elevations of the pipe's center; as they were where the job does not say what was shot. A vertex goes by
        the joint nearest to it, a joint between two of them by their centers, and one surveyed itself, or on an
        alignment, by its own size. Height above the center is taken straight up, which on a grade of 10 percent is
        0.5 percent of it too little.
    notes : tuple of str
        Which conversion was made.

    Raises
    ------
    JobFileError
        When a diameter that the conversion needs is not known.
    """
    reference = job.centerline.elevation
    if reference == "none":
        nowhere = np.full(len(joints), np.nan)
        return routes, replace(joints, elevation=nowhere), ("the job leaves the survey's elevations out",)
    if not np.isfinite(joints.elevation).any():
        return routes, joints, ()
    if reference is None:
        return routes, joints, (
            "elevations are taken as they are: the job does not say what the survey shot (centerline.elevation)",
        )  # fmt: skip
    if reference == "pipe-center":
        return routes, joints, ("elevations are of the pipe's center, as the job says",)
    above, source = heights_above_center(job, log, joints, routes.unit)
    known, filled = _from_neighbours(above, job, log, joints, routes)
    vertices = _at_vertices(known, joints, routes)
    low, high = np.abs(known).min(), np.abs(known).max()
    word = "lowered" if reference == "top-of-pipe" else "raised"
    span = f"{low:.3f}" if high - low < 0.0005 else f"{low:.3f} to {high:.3f}"
    half = "outside" if reference == "top-of-pipe" else "inside"
    notes = [
        f"elevations are of {WORDS[reference]}: {word} to the pipe's center by half of the {half} diameter, {span} "
        f"{units.SYMBOLS[routes.unit]} ({source})"
    ]
    if filled:
        notes.append(f"joints of no known diameter, {filled} of them, go by the joint nearest to each")
    if routes.pieces is not None:
        notes.append("layer centerline keeps the alignment's own elevations")
    lowered = known
    if routes.pieces is None:
        # Each shot was taken on the pipe there: the center runs straight from shot to shot, whatever lies between.
        lowered = np.where(joints.own_shot, known, between(vertices, joints.located))
    joints = replace(joints, elevation=joints.elevation - lowered)
    return replace(routes, elevation=routes.elevation - vertices), joints, tuple(notes)


def as_low_as_depths(routes: Routes) -> list[OfRoutes]:
    """Say of routes that all their elevations are as low as depths of cover and readings of a rod.

    Nothing in the survey tells these from those of a main beside the sea.

    Parameters
    ----------
    routes : Routes
        With the elevations as they were shot.
    """
    known, notes = heights_measured(routes), list[OfRoutes]()
    if not routes.shot or not known.any():
        return notes
    metre, symbol = units.factor("m", routes.unit), units.SYMBOLS[routes.unit]
    first = routes.first[:-1]
    low, high = (
        reduce.reduceat(np.where(known, routes.elevation, away), first)
        for reduce, away in ((np.minimum, np.inf), (np.maximum, -np.inf))
    )
    many = np.add.reduceat(known.astype(np.int64), first)
    for route in np.flatnonzero((many >= _FEWEST) & (low > LOW_M[0] * metre) & (high < LOW_M[1] * metre)).tolist():
        name = routes.names[route]
        text = (
            f"route {name}: all elevations of the survey lie between {low[route]:.2f} and {high[route]:.2f} {symbol}, "
            "as those beside the sea do, and depths of cover and readings of a rod: they are taken for elevations, and "
            'nothing here tells whether they are; where they are not, leave them out (centerline.elevation = "none")'
        )
        notes.append(OfRoutes.one(name, text))
    return notes


def unused_in_the_log(job: Job, log: Log, joints: Joints, unit: str) -> Floats:
    """Give the elevations that the log has of joints whose own are not used, in coordinate units; NaN elsewhere."""
    if "elevation" not in log.fields:
        return np.full(len(joints), np.nan)
    said = job.records.elevation_unit
    factor = 1.0 if said is None else units.factor(said, unit)
    return np.where(joints.own_height, np.nan, factor * log.number("elevation")[joints.record])


def with_rounding(joints: Joints, routes: Routes) -> tuple[Joints, list[OfRoutes]]:
    """Give elevations surveyed with the joints themselves the error by which they were rounded, and tell of it.

    Parameters
    ----------
    joints : Joints
    routes : Routes

    Returns
    -------
    joints : Joints
        With `rounded_up`: the error stated of the shots says nothing of what was rounded in the log.
    notes : list of OfRoutes
        Where it is more than that.
    """
    rows = np.flatnonzero(joints.own_height)
    if not len(rows):
        return joints, []
    on = joints.route[rows]
    found = heights_rounded(np.searchsorted(on, np.arange(len(routes.names) + 1)), joints.elevation[rows], routes.unit)
    stated = 0.0 if routes.sigma_vertical is None else between(routes.sigma_vertical, joints.located)[rows]
    rounded = joints.rounded_up.copy()
    rounded[rows] = np.maximum(rounded[rows], found.sigma[on])
    seen = found.sigma[on] > np.maximum(stated, NOT_SEEN_M * units.factor("m", routes.unit))
    notes = [
        OfRoutes.one(
            routes.names[one],
            f"the elevations of {np.count_nonzero(on == one)} joints of route {routes.names[one]!r} in the log are "
            f"rounded to {found.words[one]}: verdicts and accuracies take them as no surer than that, a standard error "
            f"of {found.sigma[one]:.2g} {units.SYMBOLS[routes.unit]}; have them with their decimals",
        )
        for one in np.unique(on[seen]).tolist()
    ]
    return replace(joints, rounded_up=rounded), notes


def without_elevations(routes: Routes) -> Routes:
    """Leave the elevations of routes out: deflection is then horizontal only."""
    unknown = np.full(len(routes.elevation), np.nan)
    profiles = (None,) * len(routes.profiles)
    return replace(routes, elevation=unknown, slope_distance=unknown, profiles=profiles, sigma_vertical=None)


def heights_above_center(job: Job, log: Log, joints: Joints, unit: str) -> tuple[Floats, str]:
    """Give how far the thing that was shot lies above the pipe's center at each joint.

    Parameters
    ----------
    job : Job
    log : Log
    joints : Joints
    unit : {"us-ft", "ft", "m"}
        Of the result.

    Returns
    -------
    array, shape (joints,)
        Half an outside diameter, or less than zero by half an inside one; NaN where it is not known.
    str
        Where the outside diameters stand.
    """
    sizes_in, size = job.records.sizes_in, log.number("size")[joints.record]
    own = log.number("outside_diameter")[joints.record]
    found = outside_diameters(size, sizes_in, own, pipe_of(log.fields, joints.record))
    outside = found.outside_m * units.factor("m", unit)
    source = ", ".join(sorted(text for text in found.source.unique().to_pylist() if text))
    if job.centerline.elevation == "top-of-pipe":
        return outside / 2.0, source
    wall = _walls(job, size) * units.factor(sizes_in, unit)
    inside = outside - 2.0 * wall
    if (wall > _THICKEST * outside).any():
        at = int(np.nanargmax(wall / outside))
        per = units.factor(unit, sizes_in)
        raise JobFileError(
            f"centerline.wall_thickness: {wall[at] * per:g} {sizes_in} of a pipe that is {outside[at] * per:.4g} "
            f"{sizes_in} across is no wall; give the wall's thickness in "
            f"{'inches' if sizes_in == 'in' else 'millimetres'}"
        )
    return -inside / 2.0, f"{source}; wall thickness by the job"


def _walls(job: Job, size: Floats) -> Floats:
    wanted = job.centerline.wall_thickness
    if wanted is None:
        raise JobFileError(
            "centerline.wall_thickness: elevations of the invert need the pipe's wall thickness, linings included; "
            f"give it in {units.SMALL_WORDS[job.records.sizes_in]}, as one number or by size: "
            '{"12" = 0.37, "8" = 0.33}'
        )
    if not isinstance(wanted, dict):
        return np.full(len(size), wanted)
    try:
        by_size = {float(text): wall for text, wall in wanted.items()}
    except ValueError as error:
        raise JobFileError(f"centerline.wall_thickness: the sizes must be numbers ({error})") from None
    sizes = np.unique(size[np.isfinite(size)])
    missing = [f"{one:g}" for one in sizes.tolist() if one not in by_size]
    if missing:
        raise JobFileError(f"centerline.wall_thickness: no wall thickness is given for size {missing[0]}; add it")
    wall = np.full(len(size), np.nan)
    for one, thickness in by_size.items():
        wall[size == one] = thickness
    return wall


def _from_neighbours(above: Floats, job: Job, log: Log, joints: Joints, routes: Routes) -> tuple[Floats, int]:
    """Give joints of unknown diameter that of the nearest joint on their route; also say how many there were."""
    known = np.isfinite(above)
    lost = np.setdiff1d(joints.route, joints.route[known])
    if len(lost):
        size = log.number("size")[joints.record[joints.route == lost[0]]]
        size = np.unique(size[np.isfinite(size)])
        read = (
            f" (no pipe of {size[0]:g} {job.records.sizes_in}, as its size is read, is in the tables: is that its "
            "outside diameter, or in another unit, records.size_unit?)"
            if len(size) and PIPE_FIELD not in log.fields
            else ""
        )
        raise JobFileError(
            f"centerline.elevation: no joint on route {routes.names[lost[0]]!r} is of a known diameter{read}; give "
            "sizes (records.columns.size or records.fixed.size) or outside diameters (records.columns.outside_diameter)"
            f"{ASK_SERIES if PIPE_FIELD in log.fields else ''}"
        )
    unknown = np.flatnonzero(~known)
    filled = above.copy()
    filled[unknown] = _nearest(above[known], joints.route[known], joints.distance[known],
                               joints.route[unknown], joints.distance[unknown])  # fmt: skip
    return filled, len(unknown)


def _at_vertices(above: Floats, joints: Joints, routes: Routes) -> Floats:
    """Give every vertex the height of the joint nearest to it; 0 on routes without joints."""
    result = np.zeros(len(routes.elevation))
    rows = np.flatnonzero(np.isin(routes.vertex_route, joints.route))
    on, along = routes.vertex_route[rows], routes.distance[rows]
    result[rows] = _nearest(above, joints.route, joints.distance, on, along)
    return result


def _nearest(values: Floats, route: Ints, distance: Floats, on: Ints, along: Floats) -> Floats:
    """Give the value at the place nearest along the same route; places are in order along their routes."""
    wide = 4.0 * (np.abs(distance).max(initial=0.0) + np.abs(along).max(initial=0.0) + 1.0)
    places, wanted = distance + route * wide, along + on * wide
    ahead = np.searchsorted(places, wanted).clip(1, max(len(places) - 1, 1))
    back = ahead - 1
    ahead = np.minimum(ahead, len(places) - 1)
    nearer = np.abs(places[ahead] - wanted) < np.abs(places[back] - wanted)
    return np.asarray(values[np.where(nearer, ahead, back)])
