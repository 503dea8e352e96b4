"""The alignments of a LandXML file as routes."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from asbuilt import units
from asbuilt.errors import InputFileError, JobFileError
from asbuilt.inputs.coordinate_system import coordinate_system
from asbuilt.inputs.route_keys import stated_starts
from asbuilt.line.curves import join_pieces
from asbuilt.line.routes import Routes

if TYPE_CHECKING:
    from asbuilt.job import Job


def routes_from_alignments(job: Job, path: Path) -> Routes:
    """Take the alignments of a LandXML file as routes, with their curves, profiles, stations and equations."""
    from asbuilt.inputs.landxml import read_alignments

    file = read_alignments(path)
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
    first = np.concatenate([[0], np.cumsum([len(one.vertices) for one in alignments])])
    vertices = np.concatenate([one.vertices for one in alignments])
    distance = np.concatenate([np.append(one.pieces.distance, one.length) for one in alignments])
    stated = job.centerline.start_station is not None
    start = stated_starts(job, names, str(path)) if stated else np.array([one.start_station for one in alignments])
    return Routes(
        names=tuple(names),
        first=first,
        easting=vertices[:, 0],
        northing=vertices[:, 1],
        elevation=np.full(len(vertices), np.nan),
        distance=distance,
        slope_distance=np.full(len(vertices), np.nan),
        start_station=start,
        crs=crs,
        unit=unit,
        notes=file.notes,
        inputs=((str(path), file.sha256),),
        pieces=join_pieces([one.pieces for one in alignments]),
        profiles=tuple(one.profile for one in alignments),
        equations=tuple(
            (number, back, ahead) for number, one in enumerate(alignments) for _, back, ahead in one.equations
        ),
    )
