"""The coordinate system of a centerline: what its file and the job say, and whether these agree."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from asbuilt import units
from asbuilt.errors import JobFileError

if TYPE_CHECKING:
    from pyproj import CRS

    from asbuilt.job import Job


def coordinate_system(job: Job, found: str | None, where: str, first_point: Any) -> tuple[CRS, str, float]:
    """Settle the centerline's coordinate system from the file and the job.

    Returns
    -------
    crs : pyproj.CRS
        Projected.
    unit : {"us-ft", "ft", "m"}
        Of eastings and northings.
    vertical : float
        Factor that brings the file's elevations to this unit; 1 where neither file nor job says theirs.

    Raises
    ------
    JobFileError
        When there is none, they conflict, it is in degrees, or its unit is unknown.
    """
    from pyproj import CRS

    wanted = system_named(job)
    given = CRS.from_user_input(found) if found is not None else None
    if wanted is None and given is None:
        raise JobFileError(f"crs: {where} does not say its coordinate system; add it to the job, like EPSG:6418")
    if wanted is not None and given is not None and not _same_system(wanted, given):
        raise JobFileError(
            f"crs: the job says {job.crs} ({wanted.name}), but {where} says {given.name}; remove the job's crs "
            "if the file is right, or correct the file"
        )
    crs = wanted if wanted is not None else given
    assert crs is not None
    if crs.is_geographic:
        raise JobFileError(
            f"crs: {where} is in degrees ({crs.name}); lengths and angles need a projected system: "
            f"project it first, for instance to {projected_advice(first_point())}"
        )
    if not crs.is_projected:
        raise JobFileError(f"crs: {crs.name} is not a projected coordinate system; give the one of the survey")
    unit = units.of_crs(crs)
    said = job.centerline.unit
    if unit is None and said is None:
        raise JobFileError(f"centerline.unit: {crs.name} does not say feet or metres; add the unit")
    if unit is not None and said is not None and unit != said:
        raise JobFileError(
            f"centerline.unit: the job says {said}, but the coordinates of {crs.name} are in {units.WORDS[unit]}; "
            "remove the key"
        )
    unit = unit or said or "m"
    return crs, unit, vertical_factor(job, (given or crs).axis_info[2:], crs, unit)


def system_named(job: Job) -> CRS | None:
    """Give the coordinate system that the job names in `crs`, if it does."""
    from pyproj import CRS
    from pyproj.exceptions import CRSError

    try:
        return CRS.from_user_input(job.crs) if job.crs is not None else None
    except CRSError:
        raise JobFileError(f"crs: {job.crs!r} is not a known coordinate system; write it like EPSG:6418") from None


def vertical_factor(job: Job, up: Any, crs: CRS, unit: str) -> float:
    """Give the factor from the file's elevations to its eastings' unit, by what the file or the job says of them."""
    stated = job.centerline.elevation_unit
    if not up:
        return units.factor(stated, unit) if stated is not None else 1.0
    if stated is not None and abs(up[0].unit_conversion_factor / float(units.METRES[stated]) - 1.0) > 1e-9:
        raise JobFileError(
            f"centerline.elevation_unit: the job says {stated}, but the file's vertical system is in "
            f"{up[0].unit_name}; remove the key if the file is right, or correct the file"
        )
    return float(up[0].unit_conversion_factor / crs.axis_info[0].unit_conversion_factor)


def height_notes(vertical: float, unit: str) -> list[str]:
    """Say that elevations were read in another unit than their eastings, as `coordinate_system` found.

    Parameters
    ----------
    vertical : float
        Factor that brings the file's elevations to the unit of its eastings.
    unit : {"us-ft", "ft", "m"}
        Of eastings and northings.

    Examples
    --------
    >>> height_notes(3937 / 1200, "us-ft")
    ['elevations are read in metres, and eastings in US survey feet']
    """
    read = [name for name in units.METRES if abs(vertical / units.factor(name, unit) - 1.0) < 1e-9 and name != unit]
    return [f"elevations are read in {units.WORDS[name]}, and eastings in {units.WORDS[unit]}" for name in read]


def _same_system(wanted: CRS, given: CRS) -> bool:
    if wanted.equals(given, ignore_axis_order=True):
        return True
    horizontal = given.sub_crs_list[0] if given.is_compound else given
    code = horizontal.to_epsg(min_confidence=20)
    return wanted.equals(horizontal, ignore_axis_order=True) or (code is not None and code == wanted.to_epsg())


def projected_advice(point: tuple[float, float] | None) -> str:
    from pyproj.aoi import AreaOfInterest
    from pyproj.database import query_utm_crs_info

    if point is None or not (-180 <= point[0] <= 180 and -80 <= point[1] <= 84):
        return "the utility's State Plane or UTM zone"
    area = AreaOfInterest(point[0], point[1], point[0], point[1])
    zones = query_utm_crs_info(datum_name="WGS 84", area_of_interest=area)
    return f"the utility's State Plane zone or UTM (EPSG:{zones[0].code})" if zones else "UTM"


def height_factor(job: Job, source: CRS | None, unit: str) -> float:
    """Give the factor from the log's elevations to the centerline's unit, by what the job or the system says of them.

    A system without a vertical axis says nothing: its elevations are those of the centerline only where both are in
    feet, or both in metres, by their eastings.

    Raises
    ------
    JobFileError
        When nothing says their unit: feet taken for metres would lie three times too high.
    """
    stated = job.records.elevation_unit
    if stated is not None:
        return units.factor(stated, unit)
    up = source.axis_info[2:] if source is not None else []
    if up:
        return float(up[0].unit_conversion_factor / float(units.METRES[unit]))
    own = unit if source is None else units.of_crs(source) if source.is_projected else None
    if own is not None and (own == "m") == (unit == "m"):
        return units.factor(own, unit)
    name = source.name if source is not None else "no system"
    raise JobFileError(
        f"{job.source}: records.elevation_unit: the log has elevations beside coordinates of "
        f"{name}, and nothing says their unit; say us-ft, ft or m, as they were written (the centerline's are in "
        f"{unit})"
    )
