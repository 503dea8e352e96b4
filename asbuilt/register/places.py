"""Places, lengths and polygons as people write them, in a register's coordinates."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from asbuilt import stores, units
from asbuilt.errors import AsbuiltError, InputFileError
from asbuilt.line import projection
from asbuilt.register.ground import Ground
from asbuilt.register.store import Store

if TYPE_CHECKING:
    from pyproj import CRS

    from asbuilt.arrays import Floats

_LONGEST = 1e9
"""No length asked for is longer than this, in any unit: the earth is 40,000,000 m round."""
_LENGTH = re.compile(r"\s*([0-9]*\.?[0-9]+)\s*(us-ft|ft|feet|foot|'|m|metres?|meters?|)\.?\s*", re.IGNORECASE)
_UNITS = {"us-ft": "us-ft", "ft": "ft", "feet": "ft", "foot": "ft", "'": "ft", "": ""}
_BEHIND = re.compile(r"([0-9]+\.?[0-9]*)\s*([NSEWnsew])")


@dataclass(frozen=True)
class Place:
    """A place in a register's coordinates, and how it was read."""

    easting: float
    northing: float
    read_as: str


def length(text: str, default: str, *, option: str) -> tuple[float, str]:
    """Read a length with its unit.

    Raises
    ------
    AsbuiltError
        Naming the option.

    Examples
    --------
    >>> length("50 feet", "m", option="--within"), length("15", "m", option="--within")
    ((50.0, 'ft'), (15.0, 'm'))
    """
    read = _LENGTH.fullmatch(text)
    if read is None:
        raise AsbuiltError(f"{option}: {text!r} is not a length; write it like 50ft, 15m or 50us-ft")
    if float(read[1]) > _LONGEST:
        raise AsbuiltError(
            f"{option}: {text!r} is longer than any way on the earth; write it like 50ft, 15m or 50us-ft"
        )
    return float(read[1]), _UNITS.get(read[2].lower(), "m") or default


def metres(text: str, default: str, *, option: str) -> float:
    """Read a length with its unit as metres.

    Examples
    --------
    >>> metres("100ft", "m", option="--within")
    30.48
    """
    value, unit = length(text, default, option=option)
    return value * float(units.METRES[unit])


def place(text: str, store: Store, accept_m: float | None = None) -> Place:
    """Read a place.

    Parameters
    ----------
    text : str
        Two numbers are latitude and longitude where they can be (at most 90 and 180) or the register is in
        degrees, else easting and northing; with an EPSG number they are easting and northing in that system, or
        latitude and longitude if it is geographic. A space may stand for the comma between them.
    store : Store
    accept_m : float, optional
        Accuracy that is accepted of a change of datum, metres.

    Raises
    ------
    AsbuiltError
    """
    parts = _signed(_with_comma(_plain_numbers(text))).split(",")
    if len(parts) not in (2, 3):
        raise _no_place(text)
    try:
        first, second = float(parts[0]), float(parts[1])
    except ValueError:
        raise _no_place(text) from None
    if not (abs(first) <= _LONGEST and abs(second) <= _LONGEST):
        raise AsbuiltError(f"--near: {text!r} is no place on the earth; write E,N or E,N,EPSG or LAT,LON")
    system = _system(parts[2]) if len(parts) == 3 else None
    if system is None and 90 < abs(first) <= 180 and abs(second) <= 90:
        raise AsbuiltError(f"--near: {text!r} looks like longitude and latitude; latitude comes first: LAT,LON")
    if system is None and not store.crs.is_geographic and not (abs(first) <= 90 and abs(second) <= 180):
        return Place(first, second, f"easting {first:.2f}, northing {second:.2f} in {store.crs.name}")
    if system is None or system.is_geographic:
        return _from_degrees(first, second, system, store, accept_m)
    words = f"easting {first:.2f}, northing {second:.2f} in {system.name}"
    longitude, latitude = Ground(system).lonlat(np.array([first]), np.array([second]))
    if not np.isfinite([longitude[0], latitude[0]]).all():
        raise AsbuiltError(f"--near: {words} lies where that system has no places; easting comes first: E,N,EPSG")
    _refuse_elsewhere(float(longitude[0]), float(latitude[0]), f"--near: {words}", store.crs)
    step = _step(system, store.crs, np.array([first]), np.array([second]), accept_m, "--near")
    east, north = step.apply(np.array([first]), np.array([second]))
    return _checked(east[0], north[0], f"{words}; {step.words}", store)


def exchanged(text: str) -> str:
    """Give a place with its two numbers exchanged.

    Examples
    --------
    >>> exchanged("2000457,6700448"), exchanged("4279456.8 629301.3")
    ('6700448,2000457', '629301.3,4279456.8')
    """
    first, second, *system = (part.strip() for part in _with_comma(_plain_numbers(text)).split(","))
    return ",".join([second, first, *system])


_SPACED = re.compile(
    r"\s*(?:([^,]*[0-9'\"″”′’°]\s*[NSEWnsew])\s*([^,]*[NSEWnsew])|([NSEWnsew][^,]*?)\s+([NSEWnsew][^,]*))\s*"
)


_NUMBER, _IN_GROUPS = r"[0-9]+(?:\.[0-9]*)?", r"[0-9]{1,3}(?:,[0-9]{3})+(?:\.[0-9]*)?"
_TWO_IN_GROUPS = re.compile(rf"\s*({_IN_GROUPS})(?:\s*[,;])?\s+({_IN_GROUPS})\s*")
_LABELLED = re.compile(
    rf"\s*([EN])\s*({_IN_GROUPS}|{_NUMBER})(?:\s*[,;]\s*|\s+)([EN])\s*({_IN_GROUPS}|{_NUMBER})\s*", re.IGNORECASE
)


def _plain_numbers(text: str) -> str:
    """Write eastings and northings without commas between thousands, and without the letters before them.

    Examples
    --------
    >>> _plain_numbers("6,792,172.3 2,092,182.5"), _plain_numbers("E 6792172.3, N 2,092,182.5")
    ('6792172.3,2092182.5', '6792172.3,2092182.5')
    >>> _plain_numbers("N 2092182.5 E 6792172.3"), _plain_numbers("N 38.65 E 121.5"), _plain_numbers("38,121.5")
    ('6792172.3,2092182.5', 'N 38.65 E 121.5', '38,121.5')
    """
    in_groups, named = _TWO_IN_GROUPS.fullmatch(text), _LABELLED.fullmatch(text)
    if in_groups is not None:
        return ",".join(one.replace(",", "") for one in in_groups.groups())
    if named is None:
        return text
    values = {named[at].upper(): named[at + 1].replace(",", "") for at in (1, 3)}
    if len(values) < 2 or max(map(float, values.values())) <= _DEGREES_MOST:
        return text
    return f"{values['E']},{values['N']}"


_DEGREES_MOST = 180.0
"""Behind letters, numbers up to here are degrees."""


def _with_comma(text: str) -> str:
    """Put a comma between the two numbers of a place where there is a space, or a letter, between them alone.

    Examples
    --------
    >>> _with_comma("38°39'15.3N 121°30'50.4W"), _with_comma("38 39 15.3 -121 30 50.4"), _with_comma("38.65 -121.5")
    ("38°39'15.3N,121°30'50.4W", '38 39 15.3,-121 30 50.4', '38.65,-121.5')
    """
    if "," in text:
        return text
    named = _SPACED.fullmatch(text)
    if named is not None:
        return ",".join(one.strip() for one in named.groups() if one)
    words = text.split()
    if len(words) not in (2, 4, 6):
        return text
    half = len(words) // 2
    return f"{' '.join(words[:half])},{' '.join(words[half:])}"


def _signed(text: str) -> str:
    """Write N, S, E and W behind degrees as signs, and give latitude first."""
    parts = [_decimal(part.strip()).replace("°", "").strip() for part in text.split(",")]
    named = [_BEHIND.fullmatch(part) for part in parts]
    sides = ["".join(one[2].upper() for one in named[:2] if one)]
    if len(parts) < 2 or sides[0] not in {n + e for n in "NS" for e in "EW"} | {e + n for n in "NS" for e in "EW"}:
        return ",".join(parts)
    degrees = [f"{'-' if one[2].upper() in 'SW' else ''}{one[1]}" for one in named[:2] if one]
    return ",".join([*(degrees if sides[0][0] in "NS" else degrees[::-1]), *parts[2:]])


_DEGREES = re.compile(
    r"([NSEWnsew]?)\s*(-?[0-9]{1,3})\s*[°dD :-]\s*([0-9]{1,2}(?:\.[0-9]+)?)\s*"
    r"(?:['′’mM :-]\s*(?:([0-9]{1,2}(?:\.[0-9]+)?)\s*(?:\"|″|”|''|[sS])?)?)?\s*([NSEWnsew]?)"
)


def _decimal(text: str) -> str:
    """Write degrees, minutes and seconds as decimal degrees; anything else stays as it is.

    Examples
    --------
    >>> _decimal("38°39'04.3\\"N"), _decimal("121 12.144 W"), _decimal("-121-30-50.4"), _decimal("6700000")
    ('38.6511944N', '121.2024000W', '-121.5140000', '6700000')
    """
    read = _DEGREES.fullmatch(text)
    if read is None:
        return text
    minutes, seconds = float(read[3]), float(read[4] or 0.0)
    if minutes >= 60.0 or seconds >= 60.0:
        raise AsbuiltError(f"--near: {text!r} has 60 minutes or seconds, or more")
    sign = "-" if read[2].startswith("-") else ""
    return f"{sign}{abs(int(read[2])) + minutes / 60.0 + seconds / 3600.0:.7f}{read[1] or read[5]}"


def _from_degrees(latitude: float, longitude: float, system: CRS | None, store: Store, accept_m: float | None) -> Place:
    from pyproj import CRS

    if system is None:
        system = store.crs if store.crs.is_geographic else CRS("EPSG:4326")
    if not (abs(latitude) <= 90 and abs(longitude) <= 180):
        raise AsbuiltError(f"--near: {latitude:g},{longitude:g} is not LAT,LON: a latitude is at most 90 degrees")
    words = f"latitude {latitude:.7f}, longitude {longitude:.7f} ({system.name})"
    _refuse_elsewhere(longitude, latitude, f"--near: {words}", store.crs)
    if system.equals(store.crs, ignore_axis_order=True):
        return Place(longitude, latitude, words)
    step = _step(system, store.crs, np.array([longitude]), np.array([latitude]), accept_m, "--near")
    east, north = step.apply(np.array([longitude]), np.array([latitude]))
    return _checked(east[0], north[0], f"{words}; {step.words}", store)


_FAR_DEG = 2.0
"""A place this far outside of where a register's system is used was hardly meant; ours, no source."""


def _refuse_elsewhere(longitude: float, latitude: float, words: str, crs: CRS) -> None:
    """Refuse a place far outside of where the register's system is used, by the bounds that its registry gives."""
    used = crs.area_of_use
    if used is None or used.west > used.east:
        return

    def outside(east: float, north: float) -> bool:
        return not (
            used.west - _FAR_DEG <= east <= used.east + _FAR_DEG
            and used.south - _FAR_DEG <= north <= used.north + _FAR_DEG
        )

    if not outside(longitude, latitude):
        return
    other = next((one for one in ((latitude, -longitude), (-latitude, longitude), (longitude, latitude))
                  if not outside(one[1], one[0])), None)  # fmt: skip
    hint = f"; did you mean {other[0]:.7g},{other[1]:.7g}?" if other else "; check the two numbers, and their system"
    raise AsbuiltError(
        f"{words} lies far outside of where the register's system is used ({crs.name}: latitude "
        f"{used.south:g} to {used.north:g}, longitude {used.west:g} to {used.east:g}){hint}"
    )


def _checked(easting: float, northing: float, words: str, store: Store) -> Place:
    if not (np.isfinite(easting) and np.isfinite(northing)):
        raise AsbuiltError(f"--near: {words} lies where {store.crs.name} has no coordinates")
    return Place(float(easting), float(northing), words)


def _step(
    source: CRS, target: CRS, easting: Floats, northing: Floats, accept_m: float | None, option: str
) -> projection.Step:
    step = projection.best_step(source, target, easting, northing, accept_m=accept_m)
    if step is None:
        what = projection.what_would_do(source, target, easting, northing, accept_m)
        raise AsbuiltError(
            f"{option}: no transformation from {source.name} to {target.name} that is good enough is known here; {what}"
        )
    return step


def _system(text: str) -> CRS:
    from pyproj import CRS
    from pyproj.exceptions import CRSError

    try:
        system = CRS.from_user_input(text if not text.isdigit() else f"EPSG:{text}")
    except CRSError:
        raise AsbuiltError(f"--near: {text!r} is not a known EPSG number; write it like 6418") from None
    if not (system.is_projected or system.is_geographic):
        raise AsbuiltError(f"--near: {system.name} has no eastings and northings; name a projected system, like 6418")
    return system


def _no_place(text: str) -> AsbuiltError:
    return AsbuiltError(f"--near: {text!r} is not a place; write E,N or E,N,EPSG or LAT,LON")


def area(path: Path | str, crs: CRS, accept_m: float | None = None) -> Any:
    """Read polygons and carry them to a register's coordinates.

    Parameters
    ----------
    path : path of a file of polygons
    crs : pyproj.CRS
        The register's.
    accept_m : float, optional
        Accuracy that is accepted of a change of datum, metres.

    Returns
    -------
    shapely geometry
        Their union.

    Raises
    ------
    InputFileError
        When there are none, their file says no coordinate system, or they cannot be carried over.
    """
    import shapely
    from pyproj import CRS as Crs

    from asbuilt.inputs import vectors

    path = stores.local(path)
    if not vectors.is_there(path):
        raise InputFileError(f"{path}: there is no such file; name a file of polygons with --area")
    if path.suffix.lower() not in vectors.SUFFIXES:
        raise InputFileError(
            f"{path}: polygons are not read from a file of this kind; give a GeoPackage, Shapefile, file geodatabase, "
            "GeoJSON, FlatGeobuf or GeoParquet file with --area"
        )
    features = vectors.read_features(path, None, key="--area")
    kinds = ("Polygon", "MultiPolygon")
    shapes = [one for one in features.geometry if one is not None and one.geom_type in kinds and not one.is_empty]
    if not shapes:
        raise InputFileError(f"{path}: has no polygons; give a file of polygons with --area")
    if features.crs is None:
        raise InputFileError(f"{path}: does not say its coordinate system; give it one (for a Shapefile, its .prj)")
    own = Crs(features.crs)
    if not (own.is_projected or own.is_geographic):
        raise InputFileError(f"{path}: its system, {own.name}, has no eastings and northings; give it a projected one")
    drawn = shapely.force_2d(np.array(shapes, dtype=object))
    valid = shapely.make_valid(drawn)
    _refuse_crossed(path, drawn, valid)
    union = shapely.union_all(valid)
    if own.equals(crs, ignore_axis_order=True):
        return union
    west, south, east, north = union.bounds
    longitude, latitude = Ground(own).lonlat(
        np.array([west, (west + east) / 2.0, east]), np.array([south, (south + north) / 2.0, north])
    )
    used = crs.area_of_use
    # Polygons that reach where the system is used are not elsewhere, wherever their middle is.
    if used is not None and not (
        longitude[0] <= used.east and longitude[2] >= used.west
        and latitude[0] <= used.north and latitude[2] >= used.south
    ):  # fmt: skip
        _refuse_elsewhere(float(longitude[1]), float(latitude[1]), f"{path}: the middle of its polygons", crs)
    # Long straight edges are curves in other coordinates.
    dense = shapely.segmentize(union, max(east - west, north - south, 1e-9) / 200)
    step = _step(own, crs, np.array([west, east]), np.array([south, north]), accept_m, f"--area {path}")
    carried = shapely.get_coordinates(dense)
    carried = np.column_stack(step.apply(carried[:, 0], carried[:, 1]))
    if not np.isfinite(carried).all():
        raise InputFileError(f"{path}: reaches beyond where {crs.name} has coordinates; draw a smaller polygon")
    return shapely.set_coordinates(dense, carried)


_SLIVER = 1e-4
"""Part of a polygon's area by which a slip in its drawing may change it; ours, no source."""


def _refuse_crossed(path: Path, drawn: Any, valid: Any) -> None:
    """Refuse polygons whose outline crosses itself, so that nothing tells what is inside; but not for slips."""
    import shapely

    # An outline that crosses itself winds about its parts in different ways: its own area is their difference.
    differs = np.abs(shapely.area(valid) - shapely.area(drawn)) > _SLIVER * shapely.area(valid)
    crossed = np.flatnonzero(differs)
    if len(crossed):
        reason = shapely.is_valid_reason(drawn[crossed[0]])
        where = re.search(r"\[(\S+) (\S+?)( \S+)?\]", reason)
        at = f" at {float(where[1]):.10g}, {float(where[2]):.10g}" if where else ""
        raise InputFileError(
            f"{path}: the outline of polygon {crossed[0] + 1} crosses itself{at}, so that nothing tells what lies "
            "inside; put its corners in order"
        )
