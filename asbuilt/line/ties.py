"""Ties: points whose station and coordinates are both known, onto which the stations of a route are stretched.

What the stretching has to make up between two ties is their closure: the line's length between them, less that
counted by the stations.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.errors import InputFileError, JobFileError
from asbuilt.inputs import tables, values
from asbuilt.line import stationing

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


class _Rows(NamedTuple):
    """Ties as the job or a file lists them."""

    routes: list[str | None]
    stations: list[tuple[Floats, Ints, Ints]]
    """Value, side and region of the stations, in one or more parts."""
    easting: Floats
    northing: Floats
    keys: list[str]


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
    keys = [f"centerline.ties (no. {number})" for number in range(1, len(wanted.ties) + 1)]
    read = [
        stationing.one_station(one.station, key=f"{key}.station") for key, one in zip(keys, wanted.ties, strict=True)
    ]
    given = [
        _Rows(
            [one.route for one in wanted.ties], [one[:3] for one in read],
            np.array([one.easting for one in wanted.ties]), np.array([one.northing for one in wanted.ties]), keys,
        )
    ]  # fmt: skip
    inputs: tuple[tuple[str, str], ...] = ()
    if wanted.ties_path is not None:
        more, inputs = _read_file(job, wanted.ties_path)
        given.append(more)
    keys = [key for rows in given for key in rows.keys]
    if not keys:
        return None
    names_given = [name for rows in given for name in rows.routes]
    number = {one: _route_of(one, names, keys[names_given.index(one)]) for one in dict.fromkeys(names_given)}
    parts = [np.concatenate(part) for part in zip(*(part for rows in given for part in rows.stations), strict=True)]
    return Ties(
        np.array([number[one] for one in names_given], dtype=np.int64),
        stationing.Stations(parts[0], parts[1], parts[2], "decimal"),
        np.concatenate([rows.easting for rows in given]),
        np.concatenate([rows.northing for rows in given]),
        tuple(keys),
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
    slips = [units.factor("m", "ft"), units.factor("ft", "m")]
    hint = [
        "; stations in another unit do this: see records.station_unit"
        if np.isclose(slips, one, rtol=0.02).any()
        else ""
        for one in (1.0 + intervals.ppm / 1e6).tolist()
    ]
    told = [
        f"{found.keys[intervals.back[at]]} to {found.keys[intervals.back[at] + 1]}: the line is "
        f"{intervals.closure[at] / scale:+.2f} {symbol} off the {intervals.counted[at] / scale:.2f} {symbol} of the "
        f"stations, {intervals.ppm[at]:+.0f} parts per million; at most {limit:.0f} are allowed "
        f"(centerline.max_closure_ppm): correct a tie, or centerline.grid_factor{hint[at]}"
        for at in np.flatnonzero(over).tolist()
    ]
    if told:
        raise JobFileError("\n  ".join(told))


def _stretched(found: Calibration, route: Ints, distance: Floats, source: Floats, target: Floats) -> Floats:
    result = np.array(distance, dtype=np.float64)
    count = np.diff(found.first)
    rows = np.flatnonzero((route >= 0) & (count[route] > 0) & np.isfinite(result))
    if not len(rows):
        return result
    on, given = route[rows], result[rows]
    first, last = found.first[on], found.first[on + 1] - 1
    # One search over all routes: each route's ties are shifted beyond the reach of the routes before it.
    reach = 2.0 * (max(np.abs(source).max(), np.abs(given).max()) + 1.0)
    shift = reach * np.arange(len(count))
    back = np.searchsorted(source + np.repeat(shift, count), given + shift[on], side="right") - 1
    back = np.clip(back, first, np.maximum(last - 1, first))
    ahead = np.minimum(back + 1, last)
    length = source[ahead] - source[back]
    part = np.divide(given - source[back], length, out=np.zeros(len(rows)), where=length > 0)
    stretched = target[back] + np.clip(part, 0.0, 1.0) * (target[ahead] - target[back])
    beyond = np.minimum(given - source[first], 0.0) + np.maximum(given - source[last], 0.0)
    result[rows] = stretched + beyond
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


def _read_file(job: Job, name: str) -> tuple[_Rows, tuple[tuple[str, str], ...]]:
    path = job.file(name)
    if not path.is_file():
        raise InputFileError(f"{path}: there is no such file; correct centerline.ties_path")
    table = tables.read_table(path, fields=TIE_NAMES)
    if table.broken:
        raise InputFileError(f"{path}: row {table.broken[0].row}: {table.broken[0].reason}; correct the row")
    mapping = tables.match_columns(
        table.columns, TIE_NAMES, dict(job.centerline.ties_columns), where=str(path), key="centerline.ties_columns"
    )
    missing = [field for field in ("station", "easting", "northing") if field not in mapping]
    if missing:
        raise InputFileError(
            f"{path}: no column is known as {missing[0]}; name it so, or map it with centerline.ties_columns"
        )
    cells = {field: table.data[column].combine_chunks() for field, column in mapping.items()}
    numbers = {
        field: values.numbers(cells[field], decimal_comma=table.decimal_comma) for field in ("easting", "northing")
    }
    keys = [f"{path}: row {row}" for row in table.row]
    incomplete = ~np.isfinite(numbers["easting"] + numbers["northing"]) | np.asarray(cells["station"].is_null())
    if incomplete.any():
        raise InputFileError(
            f"{keys[int(np.argmax(incomplete))]}: a tie needs a station, an easting and a northing; complete the row"
        )
    stations = values.with_point(cells["station"], decimal_comma=table.decimal_comma)
    read = stationing.parse_stations(stations, where=f"{path}, column {mapping['station']!r}")
    if np.isnan(read.value).any():
        at = int(np.argmax(np.isnan(read.value)))
        raise InputFileError(
            f"{keys[at]}: station {cells['station'][at].as_py()!r} cannot be read; write it like "
            f"{stationing.EXAMPLES[read.form]}"
        )
    routes = cells["route"].to_pylist() if "route" in cells else [None] * len(keys)
    return _Rows(routes, [read[:3]], numbers["easting"], numbers["northing"], keys), ((str(path), table.sha256),)
