"""The alignments of a LandXML file as routes."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from asbuilt import units
from asbuilt.errors import InputFileError, JobFileError
from asbuilt.inputs.coordinate_system import coordinate_system
from asbuilt.inputs.route_keys import stated_starts
from asbuilt.line.curves import Pieces, join_pieces
from asbuilt.line.routes import Routes

if TYPE_CHECKING:
    from asbuilt.arrays import Floats
    from asbuilt.inputs.landxml import Alignment
    from asbuilt.job import Job


class _LaidOut(NamedTuple):
    """One alignment in pieces, with the ends of the pieces; shapes (pieces,) and (pieces + 1,)."""

    pieces: Pieces
    vertices: Floats
    distance: Floats
    slope_distance: Floats
    """NaN beyond the profile."""


def routes_from_alignments(job: Job, path: Path) -> Routes:
    """Take the alignments of a LandXML file as routes, with their curves, profiles, stations and equations."""
    from asbuilt.inputs.landxml import read_alignments

    file = read_alignments(path, job.centerline.profile)
    found = f"EPSG:{file.epsg}" if file.epsg is not None else None
    crs, unit, _ = coordinate_system(job, found, str(path), lambda: None)
    if unit != file.unit:
        raise JobFileError(
            f"crs: {crs.name} is in {units.WORDS[unit]}, but {path} is in {units.WORDS[file.unit]}; correct the crs"
        )
    if job.records.station_unit != file.unit:
        raise JobFileError(
            f"records.station_unit: the stations of {path} are in {units.WORDS[file.unit]}, but the log's are in "
            f"{units.WORDS[job.records.station_unit]}; give a log and a centerline with the same stations"
        )
    if job.centerline.sigma_horizontal is not None or job.centerline.sigma_vertical is not None:
        raise JobFileError(
            "centerline.sigma_horizontal, centerline.sigma_vertical: an alignment is drawn, not shot, and has no "
            "shot noise; remove the keys"
        )
    if job.centerline.reversed:
        raise JobFileError("centerline.reversed: an alignment runs with its stations; remove the key")
    alignments = file.alignments
    names = [one.name for one in alignments]
    if len(names) == 1 and job.centerline.route_name:
        names = [job.centerline.route_name]
    if len(set(names)) < len(names):
        raise InputFileError(f"{path}: several alignments have one name; give each a name of its own")
    laid_out = [_laid_out(one, by_slope=job.records.stationing == "slope") for one in alignments]
    first = np.concatenate([[0], np.cumsum([len(one.distance) for one in laid_out])])
    vertices = np.concatenate([one.vertices for one in laid_out])
    distance = np.concatenate([one.distance for one in laid_out])
    stated = job.centerline.start_station is not None
    start = stated_starts(job, names, str(path)) if stated else np.array([one.start_station for one in alignments])
    return Routes(
        names=tuple(names),
        first=first,
        easting=vertices[:, 0],
        northing=vertices[:, 1],
        elevation=np.full(len(vertices), np.nan),
        distance=distance,
        slope_distance=np.concatenate([one.slope_distance for one in laid_out]),
        start_station=start,
        crs=crs,
        unit=unit,
        notes=file.notes,
        inputs=((str(path), file.sha256),),
        pieces=join_pieces([one.pieces for one in laid_out]),
        profiles=tuple(one.profile for one in alignments),
        equations=tuple(
            (number, back, ahead) for number, one in enumerate(alignments) for _, back, ahead in one.equations
        ),
    )


def _laid_out(one: Alignment, *, by_slope: bool) -> _LaidOut:
    """Lay an alignment out; where stations run along the slope, cut so that its length grows evenly in each piece."""
    ends = np.append(one.pieces.distance, one.length)
    if one.profile is None:
        return _LaidOut(one.pieces, one.vertices, ends, np.full(len(ends), np.nan))
    cut = one.pieces.cut(one.profile.cuts())
    distance = np.append(cut.distance, one.length)
    steps = np.hypot(np.diff(distance), np.diff(one.profile.at(distance)[0]))
    running = np.append(0.0, np.cumsum(steps))
    if not by_slope:
        return _LaidOut(one.pieces, one.vertices, ends, running[np.searchsorted(distance, ends)])
    vertices = np.vstack([np.column_stack([cut.easting, cut.northing]), one.vertices[-1]])
    return _LaidOut(cut, vertices, distance, running)
