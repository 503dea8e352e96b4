"""The job's ties, from the job file and from a table of ties."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from asbuilt.arrays import Floats, Ints
from asbuilt.inputs.side_tables import read_side_table
from asbuilt.line import stationing
from asbuilt.line.names import RouteNames
from asbuilt.line.ties import Ties

if TYPE_CHECKING:
    from collections.abc import Sequence

    from asbuilt.job import Job

TIE_NAMES = {
    "route": frozenset({"route", "routeid", "line", "main", "run"}),
    "station": frozenset({"station", "sta", "chainage"}),
    "easting": frozenset({"easting", "east", "e", "eastings"}),
    "northing": frozenset({"northing", "north", "n", "northings"}),
}


class _Rows(NamedTuple):
    """Ties as the job or a table lists them."""

    routes: list[str | None]
    stations: list[tuple[Floats, Ints, Ints]]
    """Value, side and stretch of the stations, in one or more parts."""
    easting: Floats
    northing: Floats
    keys: list[str]
    inputs: tuple[tuple[str, str], ...] = ()


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
    given = [_of_the_job(job)]
    if job.centerline.ties_path is not None:
        given.append(_of_the_table(job, job.centerline.ties_path))
    keys = [key for rows in given for key in rows.keys]
    if not keys:
        return None
    routes, wanted = RouteNames(names), [name for rows in given for name in rows.routes]
    numbers = [routes.number(name, key=key) for name, key in zip(wanted, keys, strict=True)]
    parts = [np.concatenate(part) for part in zip(*(part for rows in given for part in rows.stations), strict=True)]
    return Ties(
        np.array(numbers, dtype=np.int64),
        stationing.Stations(parts[0], parts[1], parts[2], "decimal"),
        np.concatenate([rows.easting for rows in given]),
        np.concatenate([rows.northing for rows in given]),
        tuple(keys),
        tuple(one for rows in given for one in rows.inputs),
    )


def _of_the_job(job: Job) -> _Rows:
    given = job.centerline.ties
    keys = [f"centerline.ties (no. {number})" for number in range(1, len(given) + 1)]
    read = [stationing.one_station(one.station, key=f"{key}.station") for key, one in zip(keys, given, strict=True)]
    return _Rows(
        [one.route for one in given], [one[:3] for one in read],
        np.array([one.easting for one in given]), np.array([one.northing for one in given]), keys,
    )  # fmt: skip


def _of_the_table(job: Job, name: str) -> _Rows:
    table = read_side_table(
        job.file(name), TIE_NAMES, required=("station", "easting", "northing"), key="centerline.ties_path",
        chosen=dict(job.centerline.ties_columns), columns_key="centerline.ties_columns",
    )  # fmt: skip
    easting, northing = table.numbers("easting"), table.numbers("northing")
    read = table.stations("station")
    keys = [table.where(at) for at in range(len(table))]
    return _Rows(table.texts("route"), [read[:3]], easting, northing, keys, table.inputs)
