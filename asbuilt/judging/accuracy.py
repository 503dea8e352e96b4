"""Positional accuracy by independent check shots: the same points, surveyed again by better means.

The national standard for spatial data accuracy (FGDC-STD-007.3) states it at 95 percent confidence; a utility's record
says how well each position is known and how that was found (ASCE 75).
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt import units
from asbuilt.arrays import Floats, as_ints, as_mask
from asbuilt.errors import InputFileError
from asbuilt.inputs.check_shots import read_check_shots
from asbuilt.judging.bounds import one_sided
from asbuilt.notes import Note, noted

if TYPE_CHECKING:
    from asbuilt.inputs.side_tables import SideTable
    from asbuilt.job import Job
    from asbuilt.line.routes import Routes

HORIZONTAL, VERTICAL, CIRCULAR = 1.7308, 1.9600, 2.4477
"""Factors to 95 percent: of the radial error, of the vertical one, and of that in one coordinate. FGDC-STD-007.3."""
LEAST_RATIO = 0.6
"""Errors in easting and northing more unequal than this have no accuracy by the standard."""
ENOUGH_POINTS = 20
"""Check points that the standard asks for at least."""
STANDARD = "FGDC-STD-007.3"


@dataclass(frozen=True)
class Accuracy:
    """Errors of a survey at its check points, and its accuracy at 95 percent; coordinate units."""

    points: int
    points_vertical: int
    rmse_easting: float
    rmse_northing: float
    rmse_horizontal: float
    """Radial: the root of the sum of both squares."""
    rmse_vertical: float | None
    accuracy_horizontal: float | None
    """None where the standard gives none, as the errors in easting and northing are too unequal."""
    accuracy_vertical: float | None

    def as_counts(self) -> dict[str, Any]:
        """Give the numbers for the run, to a ten-thousandth."""
        return {name: round(value, 4) if value is not None else None for name, value in asdict(self).items()}


class Checked(NamedTuple):
    """What the job's check shots say; both None and empty where it has none."""

    accuracy: Accuracy | None = None
    notes: tuple[Note, ...] = ()
    inputs: tuple[tuple[str, str], ...] = ()


def accuracy_of(easting: Floats, northing: Floats, elevation: Floats) -> Accuracy:
    """Compute the accuracy of a survey from its errors at check points.

    Parameters
    ----------
    easting, northing, elevation : array, shape (points,)
        Measured less check, coordinate units; elevation may be NaN.

    Returns
    -------
    Accuracy

    Source
    ------
    FGDC-STD-007.3-1998, part 3, appendix 3-A: 1.7308 RMSE_r where errors are alike; 2.4477 x 0.5 (RMSE_x + RMSE_y)
    where the smaller is 0.6 to 1.0 of the larger; 1.9600 RMSE_z.

    Examples
    --------
    >>> found = accuracy_of(np.array([0.1, -0.1]), np.array([0.1, 0.1]), np.array([0.2, np.nan]))
    >>> round(found.accuracy_horizontal, 5), round(found.accuracy_vertical, 3), found.points_vertical
    (0.24477, 0.392, 1)
    """
    heights = elevation[np.isfinite(elevation)]
    east, north = _rmse(easting), _rmse(northing)
    radial, vertical = float(np.hypot(east, north)), _rmse(heights) if len(heights) else None
    larger = max(east, north)
    ratio = min(east, north) / larger if larger > 0 else 1.0
    horizontal = None
    if ratio == 1.0:
        horizontal = HORIZONTAL * radial
    elif ratio >= LEAST_RATIO:
        horizontal = CIRCULAR * 0.5 * (east + north)
    return Accuracy(
        points=len(easting),
        points_vertical=len(heights),
        rmse_easting=east,
        rmse_northing=north,
        rmse_horizontal=radial,
        rmse_vertical=vertical,
        accuracy_horizontal=horizontal,
        accuracy_vertical=VERTICAL * vertical if vertical is not None else None,
    )


def check_survey(job: Job, routes: Routes) -> Checked:
    """Hold the job's check shots against what the survey measured.

    Parameters
    ----------
    job : Job
    routes : Routes

    Raises
    ------
    InputFileError
        When the file cannot be read, or none of its points is one of the survey's.
    """
    if job.survey_check is None:
        return Checked()
    table = read_check_shots(job, job.survey_check)
    check = _coordinates(table, "")
    measured, unmatched = _measured(table, routes)
    used = np.isfinite(measured[0]) & np.isfinite(measured[1])
    errors = [one[used] - other[used] for one, other in zip(measured, check, strict=True)]
    accuracy = accuracy_of(errors[0], errors[1], errors[2])
    notes = _notes(accuracy, routes)
    if unmatched:
        text = f"{table.path}: {unmatched} check points are not among the centerline's shots; left out"
        notes = noted("accuracy-limited", [text]) + notes
    return Checked(accuracy, tuple(notes), table.inputs)


def with_errors_found(routes: Routes, found: Accuracy | None) -> Routes:
    """Give the shots the standard errors that the check shots show, where the job states none, or contradicts them.

    Parameters
    ----------
    routes : Routes
    found : Accuracy, or None where the job has no check shots
    """
    if found is None or not routes.shot:
        return routes
    shots = len(routes.easting)
    horizontal, vertical = (
        _larger(stated, rmse, count, shots) for _, stated, rmse, count in _held_against(found, routes)
    )
    return replace(routes, sigma_horizontal=horizontal, sigma_vertical=vertical, source="survey")


def _measured(table: SideTable, routes: Routes) -> tuple[list[Floats], int]:
    """Give what the survey measured at each check point, and how many of them it did not."""
    path = table.path
    if "measured_easting" in table and "measured_northing" in table:
        return _coordinates(table, "measured_"), 0
    if "point" not in table:
        raise InputFileError(
            f"{path}: it does not say what the survey measured; add the columns measured_easting, "
            "measured_northing and measured_elevation, or point with the numbers of the centerline's shots"
        )
    if routes.shot_point is None:
        raise InputFileError(
            f"{path}: the centerline is not a file of shots with point numbers; add the columns measured_easting, "
            "measured_northing and measured_elevation"
        )
    number = table.cells["point"]
    vertex = as_ints(pc.index_in(number, value_set=routes.shot_point, skip_nulls=True), -1)
    if (vertex < 0).all():
        raise InputFileError(f"{path}: none of its points is among the centerline's shots; correct the point numbers")
    point = pc.if_else(pa.array(vertex >= 0), number, pa.scalar(None, pa.string()))
    several = as_mask(pc.is_in(routes.shot_point, value_set=point, skip_nulls=True))
    places = pc.value_counts(routes.shot_point.filter(pa.array(several))).to_pylist()
    twice = [one["values"] for one in places if one["counts"] > 1]
    if twice:
        raise InputFileError(
            f"{path}: point {twice[0]} is the number of several shots of the centerline, so what was measured "
            "cannot be told; give each shot a number of its own, or add the columns measured_easting, "
            "measured_northing and measured_elevation"
        )
    found = [np.where(vertex >= 0, one[vertex], np.nan) for one in (routes.easting, routes.northing, routes.elevation)]
    return found, int((vertex < 0).sum())


def _coordinates(table: SideTable, prefix: str) -> list[Floats]:
    """Give easting, northing and elevation; only the last may be blank."""
    return [
        table.numbers(prefix + field, required=field != "elevation") for field in ("easting", "northing", "elevation")
    ]


def _notes(found: Accuracy, routes: Routes) -> list[Note]:
    symbol = units.SYMBOLS[routes.unit]
    notes = []
    if found.points < ENOUGH_POINTS:
        word = "point" if found.points == 1 else "points"
        notes.append(
            f"survey check: {found.points} check {word}; {STANDARD} asks for at least {ENOUGH_POINTS}, so the accuracy "
            "is less sure than it says"
        )
    if found.accuracy_horizontal is None:
        notes.append(
            f"survey check: the errors in easting and northing ({found.rmse_easting:.3f}, {found.rmse_northing:.3f} "
            f"{symbol}) "
            f"are too unequal for a horizontal accuracy by {STANDARD}; look for a blunder or a shift"
        )
    understated = [
        f"survey check: the check shots show a standard error of {rmse:.3f} {symbol}, more than the "
        f"{float(np.median(stated)):g} {symbol} of centerline.sigma_{word}; verdicts rest on the larger one"
        for word, stated, rmse, count in _held_against(found, routes)
        if stated is not None and rmse is not None and _contradicted(stated, rmse, count)
    ]
    return noted("accuracy-limited", notes) + noted("sigma-understated", understated)


def _held_against(found: Accuracy, routes: Routes) -> tuple[tuple[str, Floats | None, float | None, int], ...]:
    """Give what the job states of the shots, the errors found, and of how many values these are."""
    return (
        ("horizontal", routes.sigma_horizontal, found.rmse_horizontal / np.sqrt(2.0), 2 * found.points),
        ("vertical", routes.sigma_vertical, found.rmse_vertical, found.points_vertical),
    )


def _larger(stated: Floats | None, rmse: float | None, count: int, shots: int) -> Floats | None:
    """Give the errors that are stated, or what the check shots show where these are none or contradicted."""
    if rmse is None or (stated is not None and not _contradicted(stated, rmse, count)):
        return stated
    shown = np.full(shots, rmse)
    return shown if stated is None else np.maximum(stated, shown)


def _contradicted(stated: Floats, rmse: float, count: int) -> bool:
    """Say whether errors are larger than stated ones make them in 95 of 100 surveys."""
    return bool(count) and rmse > float(np.median(stated)) * _upper(count)


def _upper(count: int) -> float:
    """Give the ratio to the true standard error under which 95 percent of errors of `count` values lie.

    Chi-square by Wilson and Hilferty.
    """
    part = 2.0 / (9.0 * count)
    return float((1.0 - part + one_sided(0.95) * np.sqrt(part)) ** 1.5)


def _rmse(errors: Floats) -> float:
    return float(np.sqrt(np.mean(errors**2)))
