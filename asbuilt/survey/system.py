"""Coordinates against the system that they are said to be in: its area, its unit, its order, its scale."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from asbuilt import units
from asbuilt.arrays import Bools, Floats
from asbuilt.errors import InputFileError, JobFileError
from asbuilt.line.projection import inside
from asbuilt.survey.doubts import file_of, label

if TYPE_CHECKING:
    from pyproj import CRS

    from asbuilt.line.routes import Routes

MOST_SCALE_ERROR = 0.01
"""A projection whose scale is further from that of the job is not one to measure lengths in."""
NOTED_SCALE_ERROR = 0.001
"""State Plane zones stay within 1 in 10,000 and UTM zones within 1 in 1,000. Source: NOAA Manual NOS
NGS 5 (State Plane of 1983); EPSG Guidance Note 7-2 for UTM's 0.9996; both from memory."""

_LONGEST = 8
"""Digits before the point that coordinates have at most: 10,000,000 ft, and zones written in front; common practice."""
_EARTH_M = 6_371_000.0
"""Mean radius of the earth; textbook."""
_HEIGHT_M, _HIGHEST_M = 300.0, 4500.0
"""A factor rounded to four decimals has its ground higher or lower by about as much; nobody lays mains higher than
the latter. Common practice, no source."""


def refuse_foreign(routes: Routes, samples: tuple[Floats, Floats]) -> None:
    """Refuse coordinates that lie far outside the area of their system, and say what would bring them inside.

    Parameters
    ----------
    routes : Routes
    samples : easting and northing of a point of each route, as `a_point_of_each` gives them

    Raises
    ------
    InputFileError
    """
    outside = ~_inside(routes.crs, *samples)
    if not outside.any():
        return
    east, north = (values[outside] for values in samples)
    name = routes.names[int(np.argmax(outside))]
    where = f"{file_of(routes)}: route {name!r} lies far outside the area of {routes.crs.name}"
    at = f"easting {east[0]:.2f}, northing {north[0]:.2f}"
    raise InputFileError(f"{where} ({at}); {_remedy(routes, east, north)}")


def refuse_strays(routes: Routes) -> None:
    """Refuse shots that lie far outside the area of their system, where others of their route lie in it.

    Parameters
    ----------
    routes : Routes
        Shots whose northing and easting are exchanged are left to what knows their neighbours (`screening.screen`).

    Raises
    ------
    InputFileError
    """
    # Corners of what each route spans: where these are inside, so are all of its shots.
    east, north = (
        [of_each(values, routes.first[:-1]) for of_each in (np.minimum.reduceat, np.maximum.reduceat)]
        for values in (routes.easting, routes.northing)
    )
    if all(_inside(routes.crs, one, other).all() for one in east for other in north):
        return
    away = ~_inside(routes.crs, routes.easting, routes.northing)
    away[away] = ~_inside(routes.crs, routes.northing[away], routes.easting[away])
    if not away.any():
        return
    of = int(routes.vertex_route[np.argmax(away)])
    some = np.flatnonzero(away & (routes.vertex_route == of))
    one, many, all_of_it = int(some[0]), len(some), int(routes.first[of + 1] - routes.first[of])
    count = f"{many:,} of its {all_of_it:,} shots, the first" if many > 1 else "one of its shots,"
    raise InputFileError(
        f"{file_of(routes)}: route {routes.names[of]!r}: {count} {label(routes, one)} (easting "
        f"{routes.easting[one]:.2f}, northing {routes.northing[one]:.2f}), lie{'s' if many == 1 else ''} far outside "
        f"the area of {routes.crs.name}, and the others in it: look for a digit that is missing or one too many, and "
        "for a day that was shot in another zone or system; correct them, or bring them into the system of the others"
    )


def refuse_scale(routes: Routes, samples: tuple[Floats, Floats], combined_factor: float) -> list[str]:
    """Refuse a projection that stretches lengths, as web maps do; note one whose scale the job does not state.

    Parameters
    ----------
    routes : Routes
    samples : easting and northing of a point of each route, as `a_point_of_each` gives them
    combined_factor : float
        Grid over ground, as the job states it.

    Returns
    -------
    list of str
        What was noticed.

    Raises
    ------
    JobFileError

    Source
    ------
    Scale factors as PROJ computes them for the projection.
    """
    scale = _scale(routes, samples)
    notes = _factor_notes(routes, scale, combined_factor)
    off = np.abs(scale / combined_factor - 1.0)
    worst = int(np.argmax(off)) if np.isfinite(off).any() else -1
    if worst < 0 or not off[worst] > NOTED_SCALE_ERROR:
        return notes
    feet = f"{routes.crs.name} draws lengths here {scale[worst]:.4f} times as long as they are on the ground"
    if off[worst] > MOST_SCALE_ERROR:
        raise JobFileError(
            f"crs: {feet}, so joints placed by their stations would be {100 * off[worst]:.0f} % of their distance off; "
            "bring the centerline into a system to measure in, such as the utility's State Plane or UTM zone"
        )
    return [*notes, f"{feet}: check centerline.combined_factor, which is {combined_factor:g}"]


def _factor_notes(routes: Routes, scale: Floats, factor: float) -> list[str]:
    """Notice ground over grid for grid over ground, by the height that each of the two would have the ground at.

    A factor is the projection's scale, times the earth's radius over that of the ground (textbook).
    """
    known = scale[np.isfinite(scale)]
    if factor == 1.0 or not len(known):
        return []
    by_it, inverse = (_EARTH_M * (float(np.median(known)) / one - 1.0) for one in (factor, 1.0 / factor))
    heights = routes.elevation[np.isfinite(routes.elevation)]
    if len(heights):
        ground = float(np.median(heights)) * units.factor(routes.unit, "m")
        wrong = abs(by_it - ground) > 2.0 * _HEIGHT_M and abs(inverse - ground) < _HEIGHT_M
    else:
        wrong = by_it < -2.0 * _HEIGHT_M and -_HEIGHT_M < inverse < _HIGHEST_M
    if not wrong:
        return _factor_of_no_ground(factor, by_it)
    return [
        f"centerline.combined_factor = {factor:.9g} would have the ground {by_it:.0f} m high, its inverse "
        f"{1.0 / factor:.9g} {inverse:.0f} m: it is grid over ground, and this looks like ground over grid"
    ]


def _factor_of_no_ground(factor: float, by_it: float) -> list[str]:
    """Notice a factor, a digit of which slipped, by the height at which it would have the ground.

    Elevations say nothing against it: small jobs count theirs from a point that is given 100.
    """
    if -_HEIGHT_M <= by_it <= _HIGHEST_M:
        return []
    return [
        f"centerline.combined_factor = {factor:.9g} would have the ground {by_it:.0f} m high: a digit of it may have "
        "slipped; all joints are placed by it"
    ]


def a_point_of_each(routes: Routes) -> tuple[Floats, Floats]:
    """Give a point of each route that no single bad shot moves."""
    first, count = routes.first[:-1], np.diff(routes.first)
    low, high = first + (count - 1) // 2, first + count // 2
    medians = []
    for values in (routes.easting.copy(), routes.northing.copy()):
        for start, end in zip(routes.first[:-1].tolist(), routes.first[1:].tolist(), strict=True):
            values[start:end].sort()
        medians.append((values[low] + values[high]) / 2.0)
    return medians[0], medians[1]


def _inside(crs: CRS, easting: Floats, northing: Floats) -> Bools:
    from pyproj import Transformer

    own = crs.geodetic_crs
    if own is None:
        return np.ones(len(easting), dtype=np.bool_)
    longitude, latitude = Transformer.from_crs(crs, own, always_xy=True).transform(easting, northing)
    return inside(crs, np.asarray(longitude), np.asarray(latitude))


def _remedy(routes: Routes, easting: Floats, northing: Floats) -> str:
    """Say which slip explains coordinates that are outside: the first that brings all of them inside."""
    crs, unit = routes.crs, routes.unit
    if _inside(crs, northing, easting).all():
        return (
            "northing and easting are exchanged throughout: name the columns the other way round in "
            "centerline.columns, or exchange them in the file"
        )
    if (np.abs(easting) <= 180).all() and (np.abs(northing) <= 90).all():
        return "these are degrees, not a projected system: say so in the file, and project it first"
    if (np.abs(easting) <= 90).all() and (np.abs(northing) <= 180).all():
        return "these are degrees, latitude first, not a projected system: project the file first"
    factor = units.factor("us-ft", "m") if unit == "m" else units.factor("m", unit)
    if _inside(crs, easting * factor, northing * factor).all():
        written = "feet" if unit == "m" else "metres"
        return (
            f"they are written in {written}, and {crs.name} is in {units.WORDS[unit]}: name the same system in "
            f"{written} as crs"
        )
    digits = _digits_left_out(crs, easting, northing)
    if digits:
        return (
            f"complete the {digits} if leading digits were left out in the field or in the file, as they are of long "
            "numbers; else correct crs to the system that the survey is in"
        )
    return "correct crs to the system that the survey is in"


def _digits_left_out(crs: CRS, easting: Floats, northing: Floats) -> str:
    """Say which coordinate leading digits would bring inside: `northing`, `easting`, or both; empty where none do."""
    east, north = (_completed(float(one[0])) for one in (easting, northing))
    for name, some, others in (
        ("northing", easting[:1], north), ("easting", east, northing[:1]), ("northing and the easting", east, north),
    ):  # fmt: skip
        if _inside(crs, *(one.ravel() for one in np.meshgrid(some, others))).any():
            return name
    return ""


def _completed(value: float) -> Floats:
    """Give what a coordinate may have been before its leading digits were left out, up to `_LONGEST` digits."""
    digits = len(str(int(abs(value))))
    powers = 10.0 ** np.arange(digits, _LONGEST)
    return value + np.copysign(np.outer(powers, np.arange(1.0, 10.0)).ravel(), value)


def _scale(routes: Routes, samples: tuple[Floats, Floats]) -> Floats:
    """Give the scale of the projection at each route: the one furthest from 1 of its two directions."""
    from pyproj import Proj, Transformer

    own = routes.crs.geodetic_crs
    if own is None:
        return np.full(len(routes.names), np.nan)
    longitude, latitude = Transformer.from_crs(routes.crs, own, always_xy=True).transform(*samples)
    factors = Proj(routes.crs).get_factors(longitude, latitude, errcheck=False)
    scales = np.stack([np.atleast_1d(factors.meridional_scale), np.atleast_1d(factors.parallel_scale)])
    scales = np.where(np.isfinite(scales) & (scales > 0) & (scales < 1e6), scales, np.nan)
    furthest = np.argmax(np.abs(np.nan_to_num(scales, nan=1.0) - 1.0), axis=0)
    chosen: Floats = scales[furthest, np.arange(scales.shape[1])]
    return chosen
