"""The routes that a blank log is for, and from which station to which each reaches: by the line, where it is there."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from asbuilt.errors import JobFileError
from asbuilt.inputs.centerline import read_centerline
from asbuilt.inputs.ties import read_ties
from asbuilt.line.stationed import stationed_line
from asbuilt.line.stationing import format_stations

if TYPE_CHECKING:
    from collections.abc import Sequence

    from asbuilt.job import Job
    from asbuilt.line.stationing import Form


class Span(NamedTuple):
    """A route, and its stations where they are known, in station units: with the tolerance of stations at its ends."""

    name: str
    least: float | None = None
    most: float | None = None
    first: str = ""
    """The stations of its ends as they are written."""
    last: str = ""
    length: float = 0.0
    """Station units; 0 where it is not known."""


class Spans(NamedTuple):
    """The routes of a job."""

    routes: tuple[Span, ...]
    one_route: bool
    """Whether the line is known to have one route only."""
    inputs: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]


def station_form(job: Job) -> Form:
    """Say how stations are written in a log that is still blank: as the job says, or as its unit is used to."""
    return job.records.station_format or ("thousands" if job.records.station_unit == "m" else "hundreds")


def read_spans(job: Job, wanted: Sequence[str]) -> Spans:
    """Give the routes that a blank log is for.

    Parameters
    ----------
    job : Job
    wanted : sequence of str
        Names of routes; all of them, where it is empty.

    Returns
    -------
    Spans
        By the centerline, where its file is there; else by what the job file names: a log is begun before the survey.

    Raises
    ------
    JobFileError, InputFileError
        When a wanted route is none of the line's, or the centerline is there and wrong.
    """
    path = job.centerline.path
    if path is not None and job.file(path).exists():
        found = _by_the_line(job)
    else:
        named = _named_in(job)
        where = f"{job.file(path)} is not there yet" if path is not None else "the job names no centerline"
        told = (
            f"routes are those that the job file names ({', '.join(named)})" if named else "routes are written freely"
        )
        notes = (f"{where}: {told}, and stations are not held against a line",)
        found = Spans(tuple(map(Span, named)), job.centerline.route_name is not None, (), notes)
        if not named:
            return found._replace(routes=tuple(map(Span, wanted)))
    unknown = [name for name in wanted if name not in [one.name for one in found.routes]]
    if unknown:
        known = ", ".join(one.name for one in found.routes)
        raise JobFileError(f"--route {unknown[0]}: there is no such route; the routes are {known}")
    return found._replace(routes=tuple(one for one in found.routes if not wanted or one.name in wanted))


def _by_the_line(job: Job) -> Spans:
    routes = read_centerline(job)
    line = stationed_line(job, routes, read_ties(job, routes.names))
    regions, form = line.regions, station_form(job)
    first = regions.first[:-1]
    least = np.minimum.reduceat(regions.station_from, first)
    most = np.maximum.reduceat(regions.station_to, first)
    length = np.add.reduceat(regions.station_to - regions.station_from, first)
    ends = [format_stations(value, form).to_pylist() for value in (least, most)]
    rows = zip(
        routes.names, (least - line.tolerance).tolist(), (most + line.tolerance).tolist(), *ends, length.tolist(),
        strict=True,
    )  # fmt: skip
    return Spans(tuple(Span(*row) for row in rows), len(routes.names) == 1, routes.inputs, ())


def _named_in(job: Job) -> list[str]:
    """List the routes that a job file names."""
    line = job.centerline
    if line.route_name is not None:
        return [line.route_name]
    by_route = [one for one in (line.start_station, line.starts) if isinstance(one, dict)]
    named = [name for one in by_route for name in one]
    named += [*line.codes.values(), *line.reversed]
    for some in (line.equations, line.ties, job.restraint, job.pressure_tests):
        named += [one.route for one in some if one.route is not None]
    return list(dict.fromkeys(named))
