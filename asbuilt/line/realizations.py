"""Realizations of one datum: systems so near to one another that one may be taken for the other, and how good that is.

Most legacy work is on plain NAD83, and says no more; registers are on NAD83(2011). Where the grids between the two are
not installed, the difference is known well enough for many uses, but only a person can say for which.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from pyproj import CRS


class Alike(NamedTuple):
    """How good it is to take one system's coordinates for another's."""

    accuracy_m: float
    why: str


NAD83_M = 1.0
"""Differences between the realizations of NAD83 in the conterminous United States, metres, at most: 0.2 to 1.0 between
NAD83(1986) and the HARN of each state, and under 0.1 m between those after it. Source: National Geodetic Survey,
frequently asked questions on NAD83; from memory."""
_NAD83 = {
    "North American Datum 1983",
    "NAD83 (High Accuracy Reference Network)",
    "NAD83 (High Accuracy Reference Network - Corrected)",
    "NAD83 (Federal Base Network)",
    "NAD83 (Continuously Operating Reference Station 1996)",
    "NAD83 (National Spatial Reference System 2007)",
    "NAD83 (National Spatial Reference System 2011)",
}
"""Datums by their names in the EPSG data set. Those of the Pacific and of the Marianas move with other plates."""
_CONTERMINOUS = (-125.0, 24.0, -66.0, 50.0)
"""West, south, east, north; degrees."""


def alike(source: CRS, target: CRS, bounds: tuple[float, float, float, float]) -> Alike | None:
    """Tell how good it is to take one system's degrees for another's; None where nothing is known of that.

    Parameters
    ----------
    source, target : pyproj.CRS
    bounds : tuple of float
        West, south, east and north of the area, degrees.

    Returns
    -------
    Alike or None

    Examples
    --------
    >>> from pyproj import CRS
    >>> sierra = (-121.3, 38.8, -121.1, 39.0)
    >>> alike(CRS("EPSG:2226"), CRS("EPSG:6418"), sierra).accuracy_m
    1.0
    >>> alike(CRS("EPSG:4267"), CRS("EPSG:6318"), sierra) is None  # NAD27: a hundred metres away
    True
    """
    west, south, east, north = _CONTERMINOUS
    if {_datum(source), _datum(target)} <= _NAD83:
        inside = west <= bounds[0] and south <= bounds[1] and bounds[2] <= east and bounds[3] <= north
        return Alike(NAD83_M, "realizations of NAD83 in the conterminous United States") if inside else None
    for one, other in ((source, target), (target, source)):
        accuracy, members = _ensemble(one)
        if accuracy is not None and _datum(other) in members:
            return Alike(accuracy, f"members of the ensemble {_datum(one)}")
    return None


def _datum(crs: CRS) -> str:
    """Name the datum, or the ensemble of datums, of a system."""
    own = crs.geodetic_crs
    return str(own.datum.name) if own is not None and own.datum is not None else crs.name


def _ensemble(crs: CRS) -> tuple[float | None, set[str]]:
    """Give the accuracy of an ensemble as the EPSG data set states it, and its members' names."""
    own = crs.geodetic_crs
    told = own.to_json_dict().get("datum_ensemble") if own is not None else None
    if not told:
        return None, set()
    return float(told["accuracy"]), {str(one["name"]) for one in told["members"]}
