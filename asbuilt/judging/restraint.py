"""Lengths that the design wants restrained, and the joints in them that are not recorded as restrained.

Which lengths these are is said by the job, from the design; nothing here computes or proposes them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Bools, Ints, as_mask, empty_ints
from asbuilt.inputs.log import Log, station_form
from asbuilt.inputs.side_tables import SideTable, read_side_table
from asbuilt.judging import stretches

if TYPE_CHECKING:
    from asbuilt.job import Job
    from asbuilt.line.stationed import StationedLine
    from asbuilt.placing.joints import Joints

COLUMNS = ("route", "from", "to", "why")
NAMES = {
    "route": frozenset({"line", "main", "run"}),
    "from": frozenset({"fromstation", "begin", "start"}),
    "to": frozenset({"tostation", "end"}),
    "why": frozenset({"reason", "remarks"}),
}


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


def find_restraint(job: Job, line: StationedLine, log: Log, joints: Joints) -> Restraint:
    """Find the lengths that the job's design wants restrained, and whether their joints are.

    Parameters
    ----------
    job : Job
    line : StationedLine
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
    inputs: list[tuple[str, str]] = []
    for number, one in enumerate(job.restraint, start=1):
        key = f"restraint (no. {number})"
        if one.path is not None:
            table = read_side_table(job.file(one.path), NAMES, required=COLUMNS[1:], key=f"{key}.path")
            inputs += table.inputs
            named += _lengths(table)
            why += table.required_texts("why")
        elif one.start is not None and one.end is not None:
            named.append(stretches.Named(one.route, one.start, one.end, key))
            why.append(one.why or "")
    lengths = stretches.resolve(line, named, station_form(job, log))
    first, last = stretches.joints_within(lengths, joints, line.tolerance * line.scale)
    by = tuple(one.key for one in named)
    return Restraint(lengths, tuple(why), by, first, last, _restrained(log, joints), tuple(inputs))


def restraint_table(line: StationedLine, found: Restraint) -> pa.Table:
    """List the lengths that must be restrained, with the counts of their joints.

    Parameters
    ----------
    line : StationedLine
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
            "route": pa.array([line.names.names[at] for at in lengths.route], pa.string()),
            "from_station": lengths.from_station,
            "to_station": lengths.to_station,
            "from_distance": lengths.start,
            "to_distance": lengths.end,
            "length": (lengths.end - lengths.start) / line.scale,
            "why": pa.array(found.why, pa.string()),
            "named_by": pa.array(found.named_by, pa.string()),
            "joints": found.last - found.first,
            "joints_unrestrained": np.bincount(length, minlength=len(lengths)),
        }
    )


def _restrained(log: Log, joints: Joints) -> Bools:
    by_type = as_mask(pc.starts_with(joints.of_log(log.text("joint_type")), "restrained"))
    return by_type | as_mask(pc.equal(joints.of_log(log.text("restrained")), "yes"))


def _lengths(table: SideTable) -> list[stretches.Named]:
    ends = zip(table.texts("route"), _stations(table, "from"), _stations(table, "to"), strict=True)
    return [stretches.Named(*one, table.where(at)) for at, one in enumerate(ends)]


def _stations(table: SideTable, field: str) -> list[str]:
    """Give stations as they are written; one that cannot be read is refused with its row."""
    table.required_texts(field)
    table.stations(field)
    return table.pointed_texts(field)
