"""The design that a main was to be laid to: alignments, lines, or an earlier placed file, read as routes are."""

from __future__ import annotations

import sqlite3
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from asbuilt import units
from asbuilt.arrays import Ints
from asbuilt.errors import InputFileError, JobFileError
from asbuilt.inputs.centerline import read_centerline
from asbuilt.keys.line import Centerline
from asbuilt.line.routes import Routes
from asbuilt.line.stationed import StationPieces, stationed_line
from asbuilt.placed import PlacedFile, read_placed
from asbuilt.stored import geopackage_kind

if TYPE_CHECKING:
    from asbuilt.job import Job
    from asbuilt.keys.line import Design


@dataclass(frozen=True)
class DesignLine:
    """The design's lines, in the coordinates of the survey, and how its stations run."""

    routes: Routes
    pieces: StationPieces
    """In the log's station unit."""
    of_route: Ints
    """Number of the design's route for each of the job's; -1 where it has none."""

    def station(self, route: Ints, distance: Any) -> Any:
        """Give the design's station at distances along its routes, shape (n,)."""
        found = np.full(len(route), np.nan)
        for number in np.unique(route).tolist():
            rows = np.flatnonzero(route == number)
            of = np.flatnonzero(self.pieces.route == number)
            start = self.pieces.distance_from[of]
            at = of[np.clip(np.searchsorted(start, distance[rows], side="right") - 1, 0, None)]
            length = self.pieces.distance_to[at] - self.pieces.distance_from[at]
            pace = np.divide(self.pieces.station_to[at] - self.pieces.station_from[at], length,
                             out=np.zeros(len(at)), where=length > 0)  # fmt: skip
            found[rows] = self.pieces.station_from[at] + pace * (distance[rows] - self.pieces.distance_from[at])
        return found


def read_design(job: Job, routes: Routes) -> DesignLine | None:
    """Read the job's design; None where it names none.

    Parameters
    ----------
    job : Job
    routes : Routes
        The surveyed ones, in whose coordinates the design must be.

    Raises
    ------
    InputFileError, JobFileError
        When it cannot be read, is in another coordinate system or unit, or has no line for any of the job's routes.
    """
    if job.design is None:
        return None
    path = job.file(job.design.path)
    if path.suffix.lower() == ".parquet" and path.is_dir():
        raise InputFileError(
            f"{path}: this is a folder of GeoParquet files, and a design is read from one file; place that job again "
            f"with --out {path.with_suffix('.gpkg').name}, and name that in design.path"
        )
    earlier = read_placed(path) if _is_placed(path) else None
    read = job.model_copy(update={"centerline": _as_centerline(job.design, earlier), "crs": None})
    with warnings.catch_warnings():
        # The measure along the line of an earlier placed file is found again from its vertices.
        warnings.filterwarnings("ignore", message="Measured")
        try:
            found = read_centerline(read)
        except (JobFileError, InputFileError):
            # A file that does not say its system is taken to be in the survey's.
            read = read.model_copy(update={"crs": _system(job, routes)})
            with _of_the_design():
                found = read_centerline(read)
    if not found.crs.equals(routes.crs, ignore_axis_order=True) and found.crs.to_epsg() != routes.crs.to_epsg():
        raise JobFileError(
            f"design.path: {path} is in {found.crs.name}, and the centerline in {routes.crs.name}: offsets between "
            "the two would be those of the systems; give the design in the system of the survey"
        )
    if earlier is None:
        with _of_the_design():
            pieces = stationed_line(read, found).pieces()
    else:
        pieces = _earlier_pieces(job, earlier, found)
    return DesignLine(found, pieces, _matched(job, routes, found))


def _is_placed(path: Path) -> bool:
    """Say whether the design is the GeoPackage of a placed job."""
    try:
        return path.suffix.lower() == ".gpkg" and path.is_file() and geopackage_kind(path) == "placed"
    except sqlite3.Error:
        return False


def _as_centerline(design: Design, earlier: PlacedFile | None) -> Centerline:
    if earlier is not None:
        if design.route is not None or design.layer is not None:
            raise JobFileError("design.layer, design.route: a placed file needs neither; remove them")
        return Centerline(path=design.path, layer="centerline", route="route")
    return Centerline(
        path=design.path, layer=design.layer, route=design.route, start_station=design.start_station,
        equations=design.equations,
    )  # fmt: skip


def _system(job: Job, routes: Routes) -> str | None:
    """Name the survey's system, by which a design that says none is read."""
    if job.crs is not None:
        return job.crs
    authority = routes.crs.to_authority()
    return ":".join(authority) if authority else None


@contextmanager
def _of_the_design() -> Iterator[None]:
    """Name the design's keys in what is said of its file: it is read as a centerline is."""
    try:
        yield
    except (JobFileError, InputFileError) as error:
        raise type(error)(str(error).replace("centerline.", "design.")) from None


def _earlier_pieces(job: Job, earlier: PlacedFile, found: Routes) -> StationPieces:
    unit = earlier.run["station_unit"]
    if unit != job.records.station_unit or earlier.run["coordinate_unit"] != found.unit:
        raise JobFileError(
            f"design.path: {earlier.path} has stations in {units.WORDS[unit]} and elevations in "
            f"{units.WORDS[earlier.run['coordinate_unit']]}; place it again in the units of this job"
        )
    frame = earlier.frame("stationing")
    number = {name: at for at, name in enumerate(found.names)}
    columns = ("from_distance", "to_distance", "from_station", "to_station")
    return StationPieces(
        np.asarray(frame["route"].map(number), np.int64), np.asarray(frame["stretch"], np.int64),
        *(frame[name].to_numpy(np.float64) for name in columns),
    )  # fmt: skip


def _matched(job: Job, routes: Routes, found: Routes) -> Ints:
    """Give each of the job's routes its line of the design: as the job says, by its name, or the only one there is."""
    assert job.design is not None
    theirs, said = {name: number for number, name in enumerate(found.names)}, job.design.routes
    for ours, name in said.items():
        if ours not in routes.names:
            raise JobFileError(f"design.routes: there is no route {ours!r}; the routes are {', '.join(routes.names)}")
        if name not in theirs:
            raise JobFileError(f"design.routes: the design has no line {name!r}; it has {', '.join(found.names)}")
    if len(routes.names) == len(found.names) == 1:
        return np.zeros(1, dtype=np.int64)
    matched = np.array([theirs.get(said.get(name, name), -1) for name in routes.names], dtype=np.int64)
    if (matched < 0).all():
        raise JobFileError(
            f"design.routes: no line of the design has the name of a route; say which is which, as "
            f'{{"{routes.names[0]}" = "{found.names[0]}"}} (the design has {", ".join(found.names)})'
        )
    return matched
