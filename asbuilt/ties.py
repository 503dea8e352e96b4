"""Ties: points whose station and coordinates are both known, onto which the stations of a route are stretched.

What the stretching has to make up between two ties is their closure: the line's length between them, less that
counted by the stations.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from asbuilt import stationing, tables, values
from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.errors import InputFileError, JobFileError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from asbuilt.job import Job

TIE_NAMES = {
    "route": frozenset({"route", "routeid", "line", "main", "run"}),
    "station": frozenset({"station", "sta", "chainage"}),
    "easting": frozenset({"easting", "east", "e", "eastings"}),
    "northing": frozenset({"northing", "north", "n", "northings"}),
}
DEFAULT_MAX_PPM = 10_000.0
"""Closure over which a tie is refused where the job says nothing: one part in a hundred is a mistake, not a tape."""


class Ties(NamedTuple):
    """Points of known station and coordinates: shapes (ties,)."""

    route: Ints
    stations: stationing.Stations
    easting: Floats
    northing: Floats
    keys: tuple[str, ...]
    """The job's key, or the file and row, that names each tie."""
    inputs: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Calibration:
    """How distances counted by the stations lie on the line: shapes (ties,), in order along their routes."""

    first: Ints
    """Index of each route's first tie, shape (routes + 1,)."""
    counted: Floats
    """Distance of each tie from the stated start of its route by the stations, coordinate units on the grid."""
    actual: Floats
    """Distance of each tie along the line itself."""
    keys: tuple[str, ...]
    offset: Floats
    """How far each tie lies from the line, coordinate units."""
    inputs: tuple[tuple[str, str], ...] = ()


class Closures(NamedTuple):
    """Intervals between successive ties of one route: shapes (intervals,), coordinate units on the grid."""

    route: Ints
    back: Ints
    """The tie at which the interval begins; it ends at the next."""
    counted: Floats
    closure: Floats
    """Length of the line less that counted by the stations."""
    ppm: Floats


def read_ties(job: Job, names: Sequence[str]) -> Ties | None:
    """Read the job's ties; None where it has none.

    Parameters
    ----------
    job : Job
    names : sequence of str
        The routes.

    Raises
    ------
    JobFileError, InputFileError
        When a tie names no route, or its station or coordinates cannot be read.
    """
    wanted = job.centerline
    rows: list[tuple[str | None, str | float, float, float, str]] = [
        (one.route, one.station, one.easting, one.northing, f"centerline.ties (no. {number})")
        for number, one in enumerate(wanted.ties, start=1)
    ]
    inputs: tuple[tuple[str, str], ...] = ()
    if wanted.ties_path is not None:
        more, inputs = _read_file(job, wanted.ties_path)
        rows += more
    if not rows:
        return None
    route = np.array([_route_of(name, names, key) for name, *_, key in rows], dtype=np.int64)
    parsed = [stationing.one_station(station, key=f"{key}.station") for _, station, *_, key in rows]
    parts = [np.concatenate(part) for part in zip(*(one[:3] for one in parsed), strict=True)]
    return Ties(
        route,
        stationing.Stations(parts[0], parts[1], parts[2], "decimal"),
        np.array([row[2] for row in rows], dtype=np.float64),
        np.array([row[3] for row in rows], dtype=np.float64),
        tuple(row[4] for row in rows),
        inputs,
    )


def calibrate(ties: Ties, counted: Floats, actual: Floats, offset: Floats, names: Sequence[str]) -> Calibration:
    """Put ties in order along their routes.

    Parameters
    ----------
    ties : Ties
    counted, actual : array, shape (ties,)
        Distance by the stations, and along the line, coordinate units.
    offset : array, shape (ties,)
        How far each tie lies from the line.
    names : sequence of str
        The routes.

    Raises
    ------
    JobFileError
        When the stations of two ties run against the line.

    Examples
    --------
    >>> stations = stationing.Stations(np.array([100.0, 0.0]), np.zeros(2, int), np.zeros(2, int), "decimal")
    >>> ties = Ties(np.zeros(2, int), stations, np.zeros(2), np.zeros(2), ("no. 1", "no. 2"))
    >>> found = calibrate(ties, np.array([100.0, 0.0]), np.array([101.0, 0.0]), np.zeros(2), ["A"])
    >>> onto_line(found, np.zeros(3, int), np.array([-5.0, 50.0, 110.0])).tolist()
    [-5.0, 50.5, 111.0]
    >>> closures(found).ppm.tolist()
    [10000.0]
    """
    order = np.lexsort((actual, counted, ties.route))
    route, counted, actual = ties.route[order], counted[order], actual[order]
    keys = tuple(ties.keys[at] for at in order)
    same = route[1:] == route[:-1]
    wrong = np.flatnonzero(same & ((np.diff(actual) <= 0) | (np.diff(counted) <= 0)))
    if len(wrong):
        at = wrong[0]
        raise JobFileError(
            f"{keys[at]} and {keys[at + 1]}: on route {names[route[at]]!r} the second lies "
            f"{counted[at + 1] - counted[at]:.2f} ahead of the first by their stations, but "
            f"{actual[at + 1] - actual[at]:.2f} along the line; correct one of them"
        )
    first = np.searchsorted(route, np.arange(len(names) + 1))
    return Calibration(first, counted, actual, keys, offset[order], ties.inputs)


def onto_line(found: Calibration, route: Ints, counted: Floats) -> Floats:
    """Stretch distances counted by the stations onto the line: linearly between ties, unstretched beyond them.

    Parameters
    ----------
    found : Calibration
    route : array of int, shape (n,)
        -1 where it is unknown.
    counted : array, shape (n,)
        From the stated start of the route, coordinate units; NaN stays NaN.

    Returns
    -------
    array, shape (n,)
        From the start of the line; unchanged on routes without ties.
    """
    return _stretched(found, route, counted, found.counted, found.actual)


def off_line(found: Calibration, route: Ints, actual: Floats) -> Floats:
    """Turn distances along the line into those that the stations count: the inverse of `onto_line`."""
    return _stretched(found, route, actual, found.actual, found.counted)


def between_ties(found: Calibration, route: Ints, actual: Floats) -> Bools:
    """Say which places along the line lie between two ties of their route, shape (n,)."""
    several = np.flatnonzero(np.diff(found.first) > 1)
    low, high = np.full(len(found.first), np.inf), np.full(len(found.first), -np.inf)
    low[several], high[several] = found.actual[found.first[several]], found.actual[found.first[several + 1] - 1]
    # A station at a tie may come out a rounding error off it.
    return (actual >= low[route] - 1e-6) & (actual <= high[route] + 1e-6)


def closures(found: Calibration) -> Closures:
    """Give what the stretching makes up between successive ties, shape (intervals,)."""
    route = np.repeat(np.arange(len(found.first) - 1), np.diff(found.first))
    back = np.flatnonzero(route[1:] == route[:-1])
    counted = found.counted[back + 1] - found.counted[back]
    closure = (found.actual[back + 1] - found.actual[back]) - counted
    return Closures(route[back], back, counted, closure, 1e6 * closure / counted)


def refuse_closures(found: Calibration, max_ppm: float | None, slack: float, scale: float, symbol: str) -> None:
    """Refuse ties that do not close.

    Parameters
    ----------
    found : Calibration
    max_ppm : float, optional
        The job's limit, parts per million.
    slack : float
        Where the job gives none, closures up to this length, coordinate units, always pass.
    scale : float
        Coordinate units in a station unit.
    symbol : str
        Of the station unit.

    Raises
    ------
    JobFileError
        Naming every interval that is over the limit.
    """
    intervals = closures(found)
    limit = max_ppm if max_ppm is not None else DEFAULT_MAX_PPM
    over = np.abs(intervals.ppm) > limit
    if max_ppm is None:
        over &= np.abs(intervals.closure) > slack
    told = [
        f"{found.keys[intervals.back[at]]} to {found.keys[intervals.back[at] + 1]}: the line is "
        f"{intervals.closure[at] / scale:+.2f} {symbol} off the {intervals.counted[at] / scale:.2f} {symbol} of the "
        f"stations, {intervals.ppm[at]:+.0f} parts per million; at most {limit:.0f} are allowed "
        "(centerline.max_closure_ppm): correct a tie, or grid_factor"
        for at in np.flatnonzero(over).tolist()
    ]
    if told:
        raise JobFileError("\n  ".join(told))


def _stretched(found: Calibration, route: Ints, distance: Floats, source: Floats, target: Floats) -> Floats:
    result = np.array(distance, dtype=np.float64)
    for number, (start, end) in enumerate(pairwise(found.first.tolist())):
        here = np.flatnonzero(route == number) if end > start else np.zeros(0, dtype=np.int64)
        if not len(here):
            continue
        given, one, other = result[here], source[start:end], target[start:end]
        beyond = np.minimum(given - one[0], 0.0) + np.maximum(given - one[-1], 0.0)
        result[here] = np.interp(given, one, other) + beyond
    return result


def _route_of(name: str | None, names: Sequence[str], key: str) -> int:
    folded = [one.casefold() for one in names]
    if name is None and len(folded) == 1:
        return 0
    if name is None:
        raise JobFileError(f"{key}: the centerline has several routes; say which one: {', '.join(names[:8])}")
    if name.casefold() not in folded:
        raise JobFileError(f"{key}: there is no route {name!r}; the routes are {', '.join(names[:8])}")
    return folded.index(name.casefold())


def _read_file(job: Job, name: str) -> tuple[list[tuple[str | None, str | float, float, float, str]], Any]:
    path = job.file(name)
    if not path.is_file():
        raise InputFileError(f"{path}: there is no such file; correct centerline.ties_path")
    table = tables.read_table(path, fields=TIE_NAMES)
    if table.broken:
        raise InputFileError(f"{path}: row {table.broken[0].row}: {table.broken[0].reason}; correct the row")
    mapping = tables.match_columns(table.columns, TIE_NAMES, {}, where=str(path), key="columns")
    missing = [field for field in ("station", "easting", "northing") if field not in mapping]
    if missing:
        raise InputFileError(
            f"{path}: no column is known as {missing[0]}; name the columns route, station, easting, northing"
        )
    cells = {field: table.data[column].combine_chunks() for field, column in mapping.items()}
    numbers = {
        field: values.numbers(cells[field], decimal_comma=table.decimal_comma) for field in ("easting", "northing")
    }
    routes = cells["route"].to_pylist() if "route" in cells else [None] * len(table.row)
    rows: list[tuple[str | None, str | float, float, float, str]] = []
    for at, (route, station) in enumerate(zip(routes, cells["station"].to_pylist(), strict=True)):
        key = f"{path}: row {table.row[at]}"
        east, north = float(numbers["easting"][at]), float(numbers["northing"][at])
        if station is None or not np.isfinite([east, north]).all():
            raise InputFileError(f"{key}: a tie needs a station, an easting and a northing; complete the row")
        rows.append((route, station, east, north, key))
    return rows, ((str(path), table.sha256),)
