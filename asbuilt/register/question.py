"""What is asked of a register: near a place, along a route, in an area; by date, verdict, finding or inspector."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from asbuilt import units
from asbuilt.errors import AsbuiltError, InputFileError
from asbuilt.inputs import vectors
from asbuilt.line import stationing
from asbuilt.register.store import Store
from asbuilt.schema import DOMAINS

if TYPE_CHECKING:
    from pyproj import CRS

DEFLECTION = (
    "verdict", "verdict_assumes", "deflection_deg", "deflection_source", "deflection_floor_deg",
    "deflection_ceiling_deg", "allowable_deg",
    "allowable_source", "turn_deg", "measured_deg", "inspection",
)  # fmt: skip
"""What is told of the state in which an earlier job left a joint."""
NEAREST = 10
"""Joints given where a place is named and no distance."""

_LENGTH = re.compile(r"\s*([0-9]*\.?[0-9]+)\s*(us-ft|ft|m|)\s*")

_BEHIND = re.compile(r"([0-9]+\.?[0-9]*)\s*([NSEWnsew])")


@dataclass(frozen=True)
class Question:
    """A question; all that is given must hold."""

    near: str | None = None
    """`LAT,LON` (or with N, S, E, W behind), or `E,N` in the register's coordinates, or `E,N,EPSG` in others."""
    within: str | None = None
    """A distance with its unit: us-ft, ft or m; the register's own if none is given."""
    nearest: int | None = None
    """How many to give, nearest first."""
    routes: Sequence[str] = ()
    from_station: str | None = None
    to_station: str | None = None
    area: Path | None = None
    joints: Sequence[str] = ()
    """Joint numbers or joint_uids."""
    since: dt.date | None = None
    until: dt.date | None = None
    verdicts: Sequence[str] = ()
    findings: Sequence[str] = ()
    inspectors: Sequence[str] = ()


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
    >>> length("50ft", "m", option="--within"), length("15", "m", option="--within")
    ((50.0, 'ft'), (15.0, 'm'))
    """
    read = _LENGTH.fullmatch(text)
    if read is None:
        raise AsbuiltError(f"{option}: {text!r} is not a length; write it like 50ft, 15m or 50us-ft")
    return float(read[1]), read[2] or default


def metres(text: str, default: str, *, option: str) -> float:
    """Read a length with its unit as metres.

    Examples
    --------
    >>> metres("100ft", "m", option="--within")
    30.48
    """
    value, unit = length(text, default, option=option)
    return value * float(units.METRES[unit])


def own_unit(crs: CRS) -> str:
    """Name the unit of a register's coordinates; metres where they are degrees."""
    return (units.of_crs(crs) if crs.is_projected else None) or "m"


def place(text: str, store: Store) -> Place:
    """Read a place.

    Parameters
    ----------
    text : str
        Two numbers are latitude and longitude where they can be (at most 90 and 180) or the register is in
        degrees, else easting and northing; with an EPSG number they are easting and northing in that system, or
        latitude and longitude if it is geographic.

    Raises
    ------
    AsbuiltError
    """
    parts = _signed(text).split(",")
    if len(parts) not in (2, 3):
        raise _no_place(text)
    try:
        first, second = float(parts[0]), float(parts[1])
    except ValueError:
        raise _no_place(text) from None
    system = _system(parts[2]) if len(parts) == 3 else None
    if system is None and not store.crs.is_geographic and not (abs(first) <= 90 and abs(second) <= 180):
        return Place(first, second, f"easting {first:.2f}, northing {second:.2f} in {store.crs.name}")
    if system is None or system.is_geographic:
        return _from_degrees(first, second, system, store)
    step = _step(system, store.crs, first, second)
    east, north = step.apply(np.array([first]), np.array([second]))
    return _checked(east[0], north[0], f"easting {first:.2f}, northing {second:.2f} in {system.name}", store)


def _signed(text: str) -> str:
    """Write N, S, E and W behind degrees as signs, and give latitude first."""
    parts = [part.strip().replace("°", "").strip() for part in text.split(",")]
    named = [_BEHIND.fullmatch(part) for part in parts]
    sides = ["".join(one[2].upper() for one in named[:2] if one)]
    if len(parts) < 2 or sides[0] not in {n + e for n in "NS" for e in "EW"} | {e + n for n in "NS" for e in "EW"}:
        return ",".join(parts)
    degrees = [f"{'-' if one[2].upper() in 'SW' else ''}{one[1]}" for one in named[:2] if one]
    return ",".join([*(degrees if sides[0][0] in "NS" else degrees[::-1]), *parts[2:]])


def _from_degrees(latitude: float, longitude: float, system: CRS | None, store: Store) -> Place:
    from pyproj import CRS

    if system is None:
        system = store.crs if store.crs.is_geographic else CRS("EPSG:4326")
    if not (abs(latitude) <= 90 and abs(longitude) <= 180):
        raise AsbuiltError(f"--near: {latitude:g},{longitude:g} is not LAT,LON: a latitude is at most 90 degrees")
    words = f"latitude {latitude:.7f}, longitude {longitude:.7f} ({system.name})"
    if system.equals(store.crs, ignore_axis_order=True):
        return Place(longitude, latitude, words)
    step = _step(system, store.crs, longitude, latitude)
    east, north = step.apply(np.array([longitude]), np.array([latitude]))
    return _checked(east[0], north[0], f"{words}; {step.words}", store)


def _checked(easting: float, northing: float, words: str, store: Store) -> Place:
    if not (np.isfinite(easting) and np.isfinite(northing)):
        raise AsbuiltError(f"--near: {words} lies where {store.crs.name} has no coordinates")
    return Place(float(easting), float(northing), words)


def _step(source: CRS, target: CRS, easting: float, northing: float) -> Any:
    from asbuilt.line.projection import best_step

    step = best_step(source, target, np.array([easting]), np.array([northing]))
    if step is None:
        raise AsbuiltError(
            f"--near: no transformation from {source.name} to {target.name} is known here beyond a ballpark guess"
        )
    return step


def _system(text: str) -> CRS:
    from pyproj import CRS
    from pyproj.exceptions import CRSError

    try:
        return CRS.from_user_input(text if not text.isdigit() else f"EPSG:{text}")
    except CRSError:
        raise AsbuiltError(f"--near: {text!r} is not a known EPSG number; write it like 6418") from None


def _no_place(text: str) -> AsbuiltError:
    return AsbuiltError(f"--near: {text!r} is not a place; write E,N or E,N,EPSG or LAT,LON")


def area(path: Path, crs: CRS) -> Any:
    """Read polygons and carry them to a register's coordinates.

    Returns
    -------
    shapely geometry
        Their union.

    Raises
    ------
    InputFileError
        When there are none, or their file says no coordinate system.
    """
    import shapely
    from pyproj import CRS as Crs
    from pyproj import Transformer

    if not path.is_file():
        raise InputFileError(f"{path}: there is no such file; name a file of polygons with --area")
    features = vectors.read_features(path, None, key="--area")
    kinds = ("Polygon", "MultiPolygon")
    shapes = [one for one in features.geometry if one is not None and one.geom_type in kinds and not one.is_empty]
    if not shapes:
        raise InputFileError(f"{path}: has no polygons; give a file of polygons with --area")
    if features.crs is None:
        raise InputFileError(f"{path}: does not say its coordinate system; give it one (for a Shapefile, its .prj)")
    own = Crs(features.crs)
    union = shapely.force_2d(shapely.union_all(shapely.make_valid(np.array(shapes, dtype=object))))
    if own.equals(crs, ignore_axis_order=True):
        return union
    # Long straight edges are curves in other coordinates.
    west, south, east, north = union.bounds
    dense = shapely.segmentize(union, max(east - west, north - south, 1e-9) / 200)
    carry = Transformer.from_crs(own, crs, always_xy=True)
    return shapely.transform(dense, lambda vertices: np.column_stack(carry.transform(vertices[:, 0], vertices[:, 1])))


def conditions(asked: Question) -> tuple[list[str], dict[str, Any]]:
    """Give what does not concern places as SQL on joints `j`, with its values."""
    if (asked.from_station or asked.to_station) and not asked.routes:
        raise AsbuiltError("--from, --to: a station means nothing without its route; add --route")
    if asked.since and asked.until and asked.since > asked.until:
        raise AsbuiltError(f"--since, --until: {asked.since} is later than {asked.until}; exchange the two")
    for option, given, domain in (("verdict", asked.verdicts, "verdict"), ("finding", asked.findings, "finding_code")):
        for one in given:
            if one not in DOMAINS[domain]:
                raise AsbuiltError(f"--{option}: {one!r} is not one of {', '.join(DOMAINS[domain])}")
    sql: list[str] = []
    values: dict[str, Any] = {}
    if asked.routes:
        sql.append(f"j.route IN ({_marks('route', asked.routes, values)})")
    if asked.verdicts:
        sql.append(_of_verdict(_marks("verdict", asked.verdicts, values)))
    if asked.joints:
        marks = _marks("joint", asked.joints, values)
        sql.append(f"(j.joint IN ({marks}) OR j.joint_uid IN ({marks}))")
    if asked.findings:
        sql.append(_of_finding(_marks("finding", asked.findings, values)))
    for name, station, compare in (("from", asked.from_station, ">="), ("to", asked.to_station, "<=")):
        if station is not None:
            values[name + "_station"] = stationing.parse_station(station, key=f"--{name}")
            sql.append(f"j.station_number {compare} :{name}_station")
    return sql + _of_records(asked, values), values


_OF_ANOTHER_JOB = (
    "FROM loads p JOIN joints_earlier e ON e.joint_uid = n.joint_uid JOIN loads l ON l.load_id = e.load_id "
    "WHERE p.load_id = n.load_id AND l.state = 'standing' AND l.job <> p.job AND NOT EXISTS "
    "(SELECT 1 FROM joints_earlier x JOIN loads y ON y.load_id = x.load_id "
    "WHERE x.joint_uid = e.joint_uid AND x.fid > e.fid AND y.job = l.job AND y.state = 'standing')"
)
"""The last state `e` of a joint `n` by each job other than that of its present state."""


def _of_verdict(marks: str) -> str:
    """Match the present verdict; where that settles nothing, also the last one of another job."""
    return (
        f"(j.verdict IN ({marks}) OR (j.verdict NOT IN ('within', 'over') AND j.joint_uid IN "
        f"(SELECT n.joint_uid FROM joints_earlier g JOIN joints n ON n.joint_uid = g.joint_uid WHERE g.verdict IN "
        f"({marks}) AND EXISTS (SELECT 1 {_OF_ANOTHER_JOB} AND e.fid = g.fid))))"
    )


def _of_finding(marks: str) -> str:
    """Match the findings that stand, and those in the last state of another job."""
    return (
        f"j.joint_uid IN (SELECT f.joint_uid FROM findings f WHERE f.code IN ({marks}) AND (f.state = 'standing' "
        "OR EXISTS (SELECT 1 FROM joints n WHERE n.joint_uid = f.joint_uid AND EXISTS "
        f"(SELECT 1 {_OF_ANOTHER_JOB} AND e.load_id = f.load_id))))"
    )


def _of_records(asked: Question, values: dict[str, Any]) -> list[str]:
    of_record = []
    for name, day, compare in (("since", asked.since, ">="), ("until", asked.until, "<=")):
        if day is not None:
            values[name] = day.isoformat()
            of_record.append(f"i.inspected_on {compare} :{name}")
    if asked.inspectors:
        marks = _marks("inspector", [one.lower() for one in asked.inspectors], values)
        of_record.append(f"lower(i.inspector) IN ({marks})")
    if not of_record:
        return []
    return [
        "EXISTS (SELECT 1 FROM inspections i WHERE i.joint_uid = j.joint_uid AND i.state = 'standing' AND "
        f"{' AND '.join(of_record)})"
    ]


def _marks(name: str, wanted: Sequence[str], values: dict[str, Any]) -> str:
    keys = [f"{name}_{number}" for number in range(len(wanted))]
    values.update(zip(keys, wanted, strict=True))
    return ", ".join(f":{key}" for key in keys)
