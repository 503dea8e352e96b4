"""What the job says of its routes however they are read: starts, directions, standard errors, missing elevations."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.errors import JobFileError
from asbuilt.inputs.headers import named_columns
from asbuilt.line import station_text, stationing
from asbuilt.line.names import RouteNames

if TYPE_CHECKING:
    from asbuilt.job import Job

LINE_NAMES = {
    "route": frozenset(
        {
            "route", "routeid", "routename", "routeno", "line", "lineid", "linename", "main", "mainid", "mainname",
            "run",
        }
    ),
    "start_station": frozenset(
        {
            "startstation", "stastart", "startsta", "stationstart", "beginstation", "stabegin", "beginsta", "begsta",
            "stabeg", "stationbegin", "fromstation", "stafrom", "fromsta", "stationfrom", "startchainage",
            "chainagestart", "fromchainage", "chainagefrom",
        }
    ),
}  # fmt: skip
"""Plain forms of the names by which the columns of a line layer go; common practice, no source."""


def told_where(where: str, taken: Bools, what: str) -> str:
    """Say how many rows or features the job took."""
    return f"{where}: {int(taken.sum())} of {len(taken)} {what} are taken, as centerline.where says"


def known_elevations(elevation: Floats, first: Ints, names: Sequence[str], where: str) -> tuple[Floats, list[str]]:
    """Take elevations that are zero along a whole route as unknown, and say what is not known."""
    flat = np.maximum.reduceat(np.abs(np.nan_to_num(elevation, nan=0.0)), first[:-1]) == 0
    elevation = np.where(np.repeat(flat, np.diff(first)), np.nan, elevation)
    if flat.all():
        return elevation, [f"{where}: the lines have no elevations (none, or all zero); deflection is horizontal only"]
    notes = [
        f"{where}: route {names[number]} has no elevations (none, or all zero); its deflection is horizontal only"
        for number in np.flatnonzero(flat).tolist()
    ]
    unknown = np.isnan(elevation[np.repeat(~flat, np.diff(first))])
    if unknown.any():
        notes.append(
            f"{where}: {int(unknown.sum()):,} of {len(unknown):,} vertices have no elevation; between two that have "
            "one it was interpolated, which places joints and measures nothing"
        )
    return elevation, notes


def stated_starts(job: Job, names: Sequence[str], where: str) -> Floats:
    """Give the start station that the job states for each route; 0 where it states none."""
    wanted = job.centerline.start_station
    key = f"centerline.start_station (neither a column of {where} nor a station)"
    if not isinstance(wanted, dict):
        stated = station_text.parse_station(wanted if wanted is not None else 0.0, key=key)
        return np.full(len(names), stated)
    missing = [name for name in names if name not in wanted]
    if missing:
        alike = RouteNames(list(wanted)).alike(missing[0])
        meant = f" (it has {' and '.join(map(repr, alike))}; route names must match exactly)" if alike else ""
        raise JobFileError(f"centerline.start_station: no station for route {missing[0]!r}{meant}; add it")
    return stationing.job_stations([wanted[name] for name in names], [key] * len(names)).value


def running(job: Job, names: Sequence[str], first: Ints) -> Ints:
    """Give the order in which vertices run with the stations: as drawn, or backwards on reversed routes."""
    routes, order = RouteNames(names), np.arange(first[-1])
    for name in job.centerline.reversed:
        number = routes.number(name, key="centerline.reversed")
        order[first[number] : first[number + 1]] = order[first[number] : first[number + 1]][::-1]
    return order


def sigmas(job: Job, count: int, column: Callable[[str, str], Floats]) -> tuple[Floats | None, Floats | None]:
    """Give the standard errors that the job states, in plan and in height: numbers, or columns read by `column`."""

    def one(key: str, stated: float | str | None) -> Floats | None:
        if stated is None:
            return None
        return column(key, stated) if isinstance(stated, str) else np.broadcast_to(float(stated), count)

    wanted = job.centerline
    return (
        one("centerline.sigma_horizontal", wanted.sigma_horizontal),
        one("centerline.sigma_vertical", wanted.sigma_vertical),
    )


def could_be_route(columns: Iterable[str]) -> str:
    """Say which column could name the route, by its own name, where one could."""
    found = named_columns(list(columns), LINE_NAMES).get("route", [])
    return f"; by its name, {found[0]!r} could be it" if len(found) == 1 else ""


def no_route_column(wanted: str, columns: Iterable[str], where: str) -> JobFileError:
    """Say that no column has the name that `centerline.route` gives; who meant the route's own name is told its key."""
    return JobFileError(
        f"centerline.route: {where} has no column {wanted!r}; its columns are {', '.join(columns)}"
        f"{could_be_route(columns)}. The name of a file's one route goes into centerline.route_name"
    )
