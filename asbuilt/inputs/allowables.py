"""Allowable deflections: published tables by joint family and nominal size, and the job's own.

No table is fallen back on silently: a joint whose family and size stand in no table has no allowable.
"""

from __future__ import annotations

import csv
import io
import math
from dataclasses import dataclass
from importlib import resources
from typing import TYPE_CHECKING

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Floats, Ints, as_ints
from asbuilt.errors import InputFileError, JobFileError
from asbuilt.inputs.vectors import file_digest
from asbuilt.vocabulary import joint_type

if TYPE_CHECKING:
    from asbuilt.job import Job


SHIPPED = {"awwa-c600": ("awwa_c600.csv", "in"), "en-545": ("en_545.csv", "mm")}
COLUMNS = ("joint_type", "size", "allowable_deg", "source")


@dataclass(frozen=True)
class Allowables:
    """Allowable deflection, degrees, and its source by joint family and nominal size."""

    rows: dict[tuple[str, float], tuple[float, str]]
    inputs: tuple[tuple[str, str], ...] = ()

    def look_up(self, family: pa.Array, size: Floats) -> tuple[Floats, pa.Array]:
        """Give the allowable deflection of each joint, and where it stands.

        Parameters
        ----------
        family : pyarrow string array, shape (n,)
        size : array, shape (n,)
            Nominal size, in the tables' unit.

        Returns
        -------
        allowable_deg : array, shape (n,)
            NaN where no row covers the joint.
        source : pyarrow string array, shape (n,)

        Examples
        --------
        >>> table = Allowables({("push-on", 12.0): (5.0, "submittal 14")})
        >>> table.look_up(pa.array(["push-on", "mechanical"]), np.array([12.0, 12.0]))[0].tolist()
        [5.0, nan]
        """
        kind, family_code, size_code, sizes = _families_and_sizes(family, size)
        codes, joint = np.unique(family_code * (len(sizes) + 1) + size_code, return_inverse=True)
        found = [
            self.rows.get((kind[int(code) // (len(sizes) + 1)], float(sizes[int(code) % (len(sizes) + 1)])))
            if code % (len(sizes) + 1) < len(sizes)
            else None
            for code in codes
        ]
        degrees = np.array([row[0] if row else np.nan for row in found], dtype=np.float64)
        source = pa.array([row[1] if row else None for row in found], pa.string())
        return degrees[joint], source.take(pa.array(joint))


def families(joint_type: pa.Array, restrained: pa.Array) -> pa.Array:
    """Name the family under which a joint's limits stand: a restrained joint has limits of its own.

    Examples
    --------
    >>> families(pa.array(["push-on", "mechanical", None]), pa.array(["yes", "no", "yes"])).to_pylist()
    ['restrained-push-on', 'mechanical', None]
    """
    add = pc.and_(pc.equal(restrained, "yes"), pc.invert(pc.starts_with(joint_type, "restrained")))
    return pc.if_else(pc.fill_null(add, False), pc.binary_join_element_wise("restrained", joint_type, "-"), joint_type)


def read_allowables(job: Job) -> Allowables:
    """Read the tables that the job names; the project's rows win over the standard's.

    Parameters
    ----------
    job : Job

    Raises
    ------
    InputFileError, JobFileError
        When a table is missing or unreadable, naming the file and row.
    """
    rows: dict[tuple[str, float], tuple[float, str]] = {}
    inputs = []
    for key, name in (("table", job.limits.table), ("project", job.limits.project)):
        if name is None:
            continue
        if name in SHIPPED:
            rows |= shipped_table(name)
            _check_size_unit(job, key, name)
            continue
        path = job.file(name)
        if not path.is_file():
            raise JobFileError(
                f"limits.{key}: {path} is neither a file nor one of the tables {', '.join(SHIPPED)}; correct it"
            )
        rows |= _read_table(path.read_bytes(), str(path))
        inputs.append((str(path), file_digest(path)))
    part = job.limits.fraction
    if part != 1.0:
        rows = {key: (degrees * part, f"{part:g} of {source}") for key, (degrees, source) in rows.items()}
    return Allowables(rows, tuple(inputs))


def shipped_table(name: str) -> dict[tuple[str, float], tuple[float, str]]:
    """Give a published table that comes with the program, by its name.

    Parameters
    ----------
    name : {"awwa-c600", "en-545"}

    Returns
    -------
    dict
        (joint family, nominal size) to (allowable deflection in degrees, source).

    Examples
    --------
    >>> shipped_table("awwa-c600")["push-on", 12.0]
    (5.0, 'AWWA C600, maximum deflection of push-on joints (from memory)')
    """
    file, _ = SHIPPED[name]
    return _read_table(resources.files("asbuilt").joinpath(f"data/{file}").read_bytes(), file)


def _check_size_unit(job: Job, key: str, name: str) -> None:
    unit, words = job.records.sizes_in, {"in": "inches", "mm": "millimetres"}
    if unit != SHIPPED[name][1]:
        raise JobFileError(
            f"limits.{key}: {name} lists sizes in {words[SHIPPED[name][1]]}, but the log's are in {words[unit]}; "
            "choose a table for these sizes, or say records.size_unit"
        )


def _read_table(content: bytes, where: str) -> dict[tuple[str, float], tuple[float, str]]:
    try:
        reader = csv.DictReader(io.StringIO(content.decode("utf-8-sig"), newline=""))
        names = [name.strip() for name in reader.fieldnames or ()]
    except (UnicodeDecodeError, csv.Error):
        raise InputFileError(f"{where}: is not a CSV file in UTF-8; give {','.join(COLUMNS)}") from None
    missing = [name for name in COLUMNS if name not in names]
    if missing:
        raise InputFileError(f"{where}: the column {missing[0]!r} is missing; the columns are {','.join(COLUMNS)}")
    reader.fieldnames = names
    rows: dict[tuple[str, float], tuple[float, str]] = {}
    for number, row in enumerate(reader, start=2):
        key, value = _read_row(row, f"{where}: row {number}")
        if key in rows:
            raise InputFileError(f"{where}: row {number}: {key[0]} size {key[1]:g} stands twice; remove one")
        rows[key] = value
    if not rows:
        raise InputFileError(f"{where}: there are no rows in it; give at least one allowable")
    return rows


def _read_row(row: dict[str, str], where: str) -> tuple[tuple[str, float], tuple[float, str]]:
    family, source = (row["joint_type"] or "").strip(), (row["source"] or "").strip()
    if not family or not source:
        raise InputFileError(f"{where}: joint_type and source must be filled in")
    size = _positive(row["size"], f"{where}: size")
    degrees = _positive(row["allowable_deg"], f"{where}: allowable_deg", or_zero=True)
    if degrees >= 90:
        raise InputFileError(f"{where}: allowable_deg {degrees:g} is not a joint deflection; give degrees")
    return (joint_type(family) or family, size), (degrees, source)


def _positive(text: str | None, where: str, or_zero: bool = False) -> float:
    try:
        value = float(text or "")
    except ValueError:
        value = math.nan
    if not (value > 0 or (or_zero and value == 0)) or math.isinf(value):
        raise InputFileError(f"{where}: {text!r} is not a positive number; correct it")
    return value


def _families_and_sizes(family: pa.Array, size: Floats) -> tuple[list[str], Ints, Ints, Floats]:
    coded = pc.dictionary_encode(pc.fill_null(family, ""))
    sizes = np.unique(size[np.isfinite(size)])
    size_code = np.where(np.isfinite(size), np.searchsorted(sizes, size), len(sizes))
    return coded.dictionary.to_pylist(), as_ints(coded.indices, -1), size_code, sizes
