"""Layers in longitude and latitude, as GeoJSON and web maps have them, carried over to the job's projected system."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from asbuilt import units
from asbuilt.errors import InputFileError, JobFileError
from asbuilt.inputs.coordinate_system import projected_advice, system_named, vertical_factor
from asbuilt.line import projection

if TYPE_CHECKING:
    from pyproj import CRS

    from asbuilt.arrays import Floats
    from asbuilt.inputs.vectors import Features
    from asbuilt.job import Job


def projected(job: Job, features: Features, where: str) -> tuple[Features, projection.Step | None]:
    """Carry a layer in degrees over to the projected system that the job names; others are given back as they are.

    Parameters
    ----------
    job : Job
        Its `crs` is the system in which the line is to lie.
    features : Features
    where : str
        Names the layer in messages.

    Returns
    -------
    features : Features
        In the job's system, where they were in degrees.
    step : Step or None
        What was done, with how good it is.

    Raises
    ------
    JobFileError
        When the layer is in degrees and the job names no projected system, or nothing says the unit of its elevations,
        or no change of datum that is good enough is to be had.
    InputFileError
        When a place lies outside the area of the system.
    """
    import shapely
    from pyproj import CRS

    given = CRS.from_user_input(features.crs) if features.crs is not None else None
    if given is None or not given.is_geographic:
        return features, None
    places, of = shapely.get_coordinates(features.geometry, include_z=True, return_index=True)
    if not len(places):
        return features, None
    wanted = system_named(job)
    if wanted is None or not wanted.is_projected:
        advice = projected_advice((float(places[0, 0]), float(places[0, 1])))
        raise JobFileError(
            f"{job.source}: crs: {where} is in degrees ({given.name}), and lengths and angles need a projected system; "
            f"name in crs the one in which the line is to lie, for instance {advice}"
        )
    flat = given.sub_crs_list[0] if given.is_compound else given.to_2d()
    refuse_elsewhere(lambda at: f"{where}: feature {features.ids[of[at]]}", places, wanted, "the layer's system")
    step = projection.map_step(flat, wanted, places[:, 0], places[:, 1], key="crs", accept_m=job.accept_accuracy_m)
    east, north = step.apply(places[:, 0], places[:, 1])
    height = places[:, 2] * _to_eastings(job, given, wanted, where) if np.isfinite(places[:, 2]).any() else places[:, 2]
    carried = np.column_stack([east, north, height])
    # Geometries without elevations keep none.
    solid = shapely.has_z(features.geometry)
    lines = features.geometry.copy()
    lines[solid] = shapely.set_coordinates(lines[solid], carried[solid[of]])
    lines[~solid] = shapely.set_coordinates(lines[~solid], carried[~solid[of], :2])
    note = f"{where} is carried over from degrees ({flat.name}) to {wanted.name}: {step.words}"
    # The line is done with the way itself, and a job goes to other processes without it.
    done = step._replace(transformer=None)
    return features._replace(geometry=lines, crs=wanted.to_wkt(), notes=(*features.notes, note, *step.notes)), done


def _to_eastings(job: Job, given: CRS, wanted: CRS, where: str) -> float:
    """Give the factor that brings elevations to what the job says of them, or to the unit of the eastings.

    GeoJSON has heights in metres by its standard (RFC 7946), and in practice in whatever they were: the job says it.
    """
    unit, stated = units.of_crs(wanted) or job.centerline.unit or "m", job.centerline.elevation_unit
    if given.is_compound:
        own = vertical_factor(job, given.axis_info[2:], wanted, unit)
        return own / units.factor(stated, unit) if stated is not None else own
    if stated is None:
        raise JobFileError(
            f"{job.source}: centerline.elevation_unit: {where} has elevations beside degrees, and nothing says their "
            f"unit; say us-ft, ft or m, as they were written (eastings are to be in {unit})"
        )
    return 1.0


def refuse_elsewhere(named: Callable[[int], str], degrees: Floats, crs: CRS, key: str) -> None:
    """Refuse longitudes and latitudes outside the area in which a system is used.

    Parameters
    ----------
    named : function
        Names a place by its number, in messages.
    degrees : array, shape (n, 2 or more)
        Longitudes and latitudes.
    crs : pyproj.CRS
    key : str
        What says the system of the degrees.
    """
    east, north = degrees[:, 0], degrees[:, 1]
    away = np.flatnonzero(~projection.inside(crs, east, north))
    if not len(away):
        return
    first = named(int(away[0]))
    at = f"{east[away[0]]:g}, {north[away[0]]:g}"
    if projection.inside(crs, north, east)[away].all():
        raise InputFileError(f"{first}: latitude and longitude are exchanged ({at}); exchange the two")
    if projection.inside(crs, -np.abs(east), north)[away].all():
        raise InputFileError(f"{first}: longitudes west of Greenwich are written without a minus sign ({at}); write it")
    raise InputFileError(
        f"{first}: longitude and latitude {at} lie outside the area of {crs.name}; correct the coordinates, crs, or "
        f"{key}"
    )
