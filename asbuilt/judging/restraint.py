"""Lengths that the design wants restrained, and the joints in them that are not recorded as restrained.

Which lengths these are is said by the job, from the design; nothing here computes or proposes them.
"""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Bools, Ints, as_mask, empty_ints
from asbuilt.errors import InputFileError
from asbuilt.inputs.log import Log, station_form
from asbuilt.inputs.vectors import file_digest
from asbuilt.judging import stretches
from asbuilt.placing.placement import route_regions, station_scale

if TYPE_CHECKING:
    from pathlib import Path

    from asbuilt.job import Job
    from asbuilt.line.routes import Routes
    from asbuilt.placing.placement import Joints

COLUMNS = ("route", "from", "to", "why")


@dataclass(frozen=True)
class Restraint:
    """Lengths that must be restrained, with their joints: shapes (n,)."""

    lengths: stretches.Stretches
    why: tuple[str, ...]
    named_by: tuple[str, ...]
    """The job's key, or the file and row, that names each length."""
    first: Ints
    """The joints of a length are those from `first` up to, but not including, `last`."""
    last: Ints
    restrained: Bools
    """Joints recorded as restrained, shape (joints,)."""
    inputs: tuple[tuple[str, str], ...] = ()

    @property
    def missing(self) -> tuple[Ints, Ints]:
        """Joints not recorded as restrained, and the length that each of them lies in: shapes (found,)."""
        loose = [np.flatnonzero(~self.restrained[a:b]) + a for a, b in zip(self.first, self.last, strict=True)]
        if not loose:
            return empty_ints(), empty_ints()
        return np.concatenate(loose), np.repeat(np.arange(len(loose)), [len(rows) for rows in loose])


def find_restraint(job: Job, routes: Routes, log: Log, joints: Joints) -> Restraint:
    """Find the lengths that the job's design wants restrained, and whether their joints are.

    Parameters
    ----------
    job : Job
    routes : Routes
    log : Log
    joints : Joints

    Returns
    -------
    Restraint
        A joint is restrained where its record says so, or its joint type is a restrained one.

    Raises
    ------
    JobFileError, InputFileError
        When a length names an unknown route or a station that is not on it, or a file of lengths is wrong.
    """
    named: list[stretches.Named] = []
    why: list[str] = []
    inputs = []
    for number, one in enumerate(job.restraint, start=1):
        key = f"restraint (no. {number})"
        if one.path is not None:
            path = job.file(one.path)
            rows = _read_lengths(path, f"{key}.path")
            inputs.append((str(path), file_digest(path)))
            named += [length for length, _ in rows]
            why += [reason for _, reason in rows]
        elif one.start is not None and one.end is not None:
            named.append(stretches.Named(one.route, one.start, one.end, key))
            why.append(one.why or "")
    lengths = stretches.resolve(job, routes, named, station_form(job, log))
    _, tolerance = route_regions(job, routes)
    first, last = stretches.joints_within(lengths, joints, tolerance * station_scale(job, routes))
    by = tuple(one.key for one in named)
    return Restraint(lengths, tuple(why), by, first, last, _restrained(log, joints), tuple(inputs))


def restraint_table(job: Job, routes: Routes, found: Restraint) -> pa.Table:
    """List the lengths that must be restrained, with the counts of their joints.

    Parameters
    ----------
    job : Job
    routes : Routes
    found : Restraint

    Returns
    -------
    pyarrow table
        Columns as described in `asbuilt.schema`, layer restraint.
    """
    lengths = found.lengths
    _, length = found.missing
    return pa.table(
        {
            "route": pa.array([routes.names[at] for at in lengths.route], pa.string()),
            "from_station": lengths.from_station,
            "to_station": lengths.to_station,
            "from_distance": lengths.start,
            "to_distance": lengths.end,
            "length": (lengths.end - lengths.start) / station_scale(job, routes),
            "why": pa.array(found.why, pa.string()),
            "named_by": pa.array(found.named_by, pa.string()),
            "joints": found.last - found.first,
            "joints_unrestrained": np.bincount(length, minlength=len(lengths)),
        }
    )


def _restrained(log: Log, joints: Joints) -> Bools:
    taken = pa.array(joints.record)
    by_type = as_mask(pc.starts_with(log.text("joint_type").take(taken), "restrained"))
    return by_type | as_mask(pc.equal(log.text("restrained").take(taken), "yes"))


def _read_lengths(path: Path, key: str) -> list[tuple[stretches.Named, str]]:
    if not path.is_file():
        raise InputFileError(f"{key}: there is no file {path}; correct it")
    try:
        reader = csv.DictReader(io.StringIO(path.read_bytes().decode("utf-8-sig"), newline=""))
        names = [name.strip() for name in reader.fieldnames or ()]
        reader.fieldnames = names
        missing = [name for name in COLUMNS[1:] if name not in names]
        if missing:
            raise InputFileError(f"{path}: the column {missing[0]!r} is missing; the columns are {','.join(COLUMNS)}")
        rows = [(number, row) for number, row in enumerate(reader, start=2) if any(row.values())]
    except (UnicodeDecodeError, csv.Error):
        raise InputFileError(f"{path}: is not a CSV file in UTF-8; give {','.join(COLUMNS)}") from None
    return [_read_length(row, f"{path}: row {number}") for number, row in rows]


def _read_length(row: dict[str, str | None], where: str) -> tuple[stretches.Named, str]:
    cells = {name: (row.get(name) or "").strip() for name in COLUMNS}
    blank = [name for name in COLUMNS[1:] if not cells[name]]
    if blank:
        raise InputFileError(f"{where}: {blank[0]} must be filled in")
    return stretches.Named(cells["route"] or None, cells["from"], cells["to"], where), cells["why"]
