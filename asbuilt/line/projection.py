"""From the centerline's coordinates to longitude and latitude, and to the utility's map.

The datum step is chosen once for the job's area and named; a guess between datums is refused.
"""

from __future__ import annotations

import warnings
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from asbuilt.arrays import Floats
from asbuilt.errors import JobFileError

if TYPE_CHECKING:
    from pyproj import CRS, Transformer
    from pyproj.transformer import AreaOfInterest


WGS84 = "EPSG:4326"


class Step(NamedTuple):
    """A chosen way from one coordinate system to another."""

    transformer: Transformer | None
    """None where both are the same."""
    name: str
    """What is done, step for step, with its stated accuracy."""
    notes: tuple[str, ...]
    words: str = "the same system"
    """The change of datum in it, if any, and how good it is."""
    accuracy_m: float = 0.0
    """Stated accuracy; NaN where it is not known."""

    def apply(self, easting: Floats, northing: Floats) -> tuple[Floats, Floats]:
        """Carry points over; eastings (or longitudes) first, shape (n,)."""
        if self.transformer is None:
            return easting, northing
        known = np.isfinite(easting)
        east, north = np.full(len(easting), np.nan), np.full(len(easting), np.nan)
        east[known], north[known] = self.transformer.transform(easting[known], northing[known])
        beyond = ~(np.isfinite(east) & np.isfinite(north))  # PROJ says infinity where a point cannot be carried over
        east[beyond] = north[beyond] = np.nan
        return east, north


def map_step(source: CRS, target: str | CRS, easting: Floats, northing: Floats, *, key: str = "output.crs") -> Step:
    """Choose the best way to another coordinate system for an area.

    Parameters
    ----------
    source : pyproj.CRS
    target : str
        Such as "EPSG:4326".
    easting, northing : array, shape (n,)
        Points of the area, in `source`.
    key : str
        The job's key that names the target, for messages.

    Raises
    ------
    JobFileError
        When the target is unknown, or only a ballpark transformation is to be had.

    Examples
    --------
    >>> from pyproj import CRS
    >>> step = map_step(CRS("EPSG:6418"), "EPSG:6339", np.array([6.7e6]), np.array([2.0e6]))
    >>> [round(float(value[0]), 1) for value in step.apply(np.array([6.7e6]), np.array([2.0e6]))]
    [629166.1, 4279316.2]
    """
    from pyproj import CRS
    from pyproj.exceptions import CRSError

    try:
        wanted = CRS.from_user_input(target)
    except CRSError:
        raise JobFileError(f"{key}: {target!r} is not a known coordinate system; write it like EPSG:6418") from None
    if source.equals(wanted, ignore_axis_order=True):
        return Step(None, "none", ())
    step = best_step(source, wanted, easting, northing)
    if step is None:
        raise JobFileError(
            f"{key}: no transformation from {source.name} to {wanted.name} is known here beyond a ballpark "
            "guess; install the PROJ grids it needs, or choose a system on the same datum"
        )
    return step._replace(notes=(*step.notes, f"coordinates of the map: {step.words}"))


def geographic_step(source: CRS, easting: Floats, northing: Floats) -> Step:
    """Choose the way to longitude and latitude: WGS 84, else the source's own datum with a note.

    Parameters
    ----------
    source : pyproj.CRS
    easting, northing : array, shape (n,)

    Returns
    -------
    Step
    """
    from pyproj import CRS, Transformer

    step = best_step(source, CRS(WGS84), easting, northing)
    if step is not None:
        return step
    own = source.geodetic_crs
    assert own is not None
    own_degrees = Transformer.from_crs(source, own, always_xy=True)
    note = f"longitude and latitude are on {own.name}: no transformation from it to WGS 84 is known here"
    return Step(own_degrees, own_degrees.description, (note,), "on the same datum")


def best_step(source: CRS, target: CRS, easting: Floats, northing: Floats) -> Step | None:
    """Choose the best way from one system to another for an area; None where only a ballpark guess is known.

    Parameters
    ----------
    source, target : pyproj.CRS
    easting, northing : array, shape (n,)
        Points of the area, in `source`.
    """
    from pyproj.transformer import TransformerGroup

    area = _area(source, easting, northing)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # a missing grid is reported below, with what it means
        group = TransformerGroup(source, target, always_xy=True, area_of_interest=area, allow_ballpark=False)
    if not group.transformers:
        return None
    best = group.transformers[0]
    accuracy = f" (accuracy {best.accuracy:g} m)" if best.accuracy is not None and best.accuracy >= 0 else ""
    notes: tuple[str, ...] = ()
    if not group.best_available:
        missing = group.unavailable_operations[0].name
        notes = (f"a better transformation exists, but its grids are not installed here: {missing}",)
    known = best.accuracy if best.accuracy is not None and best.accuracy >= 0 else np.nan
    changes = [one.name for one in best.operations or () if one.type_name == "Transformation"]
    words = "on the same datum"
    if changes:
        words = f"{' and '.join(changes)}, {f'good to {known:g} m' if np.isfinite(known) else 'of unknown accuracy'}"
    return Step(best, f"{best.description}{accuracy}", notes, words, known)


def _area(source: CRS, easting: Floats, northing: Floats) -> AreaOfInterest | None:
    from pyproj import Transformer
    from pyproj.transformer import AreaOfInterest

    own = source.geodetic_crs
    if own is None or not np.isfinite(easting).any():
        return None
    to_degrees = Transformer.from_crs(source, own, always_xy=True)
    west, south, east, north = to_degrees.transform_bounds(
        np.nanmin(easting), np.nanmin(northing), np.nanmax(easting), np.nanmax(northing)
    )
    margin = 0.01  # degrees: older PROJ finds nothing for an area without extent
    return AreaOfInterest(west - margin, south - margin, east + margin, north + margin)
