"""Keys of the job that are at odds with the data, or say the reverse of what a word or a column's name means.

Each may be meant so, and is then right; nobody can tell that from here. What cannot be right is refused.
"""

from __future__ import annotations

import datetime as dt
import difflib
from typing import TYPE_CHECKING

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt import units
from asbuilt.errors import JobFileError
from asbuilt.inputs.diameters import published
from asbuilt.inputs.fields import FIELD_NAMES
from asbuilt.inputs.headers import named_columns
from asbuilt.inputs.shots import SHOT_NAMES
from asbuilt.inputs.words import against_their_meaning
from asbuilt.keys.fields import FALLBACK_REQUIRED, GAP_FIELDS, GAUGE_FIELDS
from asbuilt.vocabulary import JOINT_TYPES, joint_type

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

    from asbuilt.arrays import Floats
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.line.routes import Routes

_ACROSS = (0.9, 2.0)
"""A pipe is so many nominal sizes across, linings and walls included; common practice, no source. So are the others."""
_UNLIKE = 0.1
_LONGEST_DAYS = 5 * 366
LEAST_SIGMA_M = 0.0005
"""No shot in a trench is known better than to half a millimetre."""


def key_notes(job: Job, log: Log, routes: Routes, known: Collection[str]) -> list[str]:
    """Notice keys of the job that are at odds with the log, the survey or themselves.

    Parameters
    ----------
    job : Job
    log : Log
    routes : Routes
    known : joint families of the limits' tables

    Returns
    -------
    list of str

    Raises
    ------
    JobFileError
        When a pipe cannot be as wide as the job says, or depths of a gauge are taken for gaps.
    """
    return [
        *against_their_meaning(job),
        *_columns("records.columns", log, job.records.columns, FIELD_NAMES),
        *_columns("centerline.columns", routes, job.centerline.columns, SHOT_NAMES),
        *_days(job, log), *_diameter(job, log), *_families(job, log, known), *_sigmas(job, routes),
    ]  # fmt: skip


def _columns(
    key: str, source: Log | Routes, chosen: Collection[str], names: Mapping[str, frozenset[str]]
) -> list[str]:  # fmt: skip
    """Notice a column that is read as one field and named for another, where the file has one named for the field."""
    told = []
    columns: dict[str, dict[str, str]] = {}
    for file, field, column in source.matches if chosen else ():
        columns.setdefault(file, {})[column] = field
    for file, column in source.not_read if chosen else ():
        columns.setdefault(file, {})[column] = ""
    for file, read_as in columns.items():
        named = named_columns(list(read_as), names)
        by_name = {column: field for field, found in named.items() for column in found}
        for column, field in read_as.items():
            own = by_name.get(column, field)
            other = named.get(field, [column])[0]
            if field not in chosen or own == field or other == column:
                continue
            if {own in GAP_FIELDS, field in GAP_FIELDS} == {True, False} and {own, field} <= {
                *GAP_FIELDS,
                *GAUGE_FIELDS,
            }:
                raise JobFileError(
                    f"{file}: {key}.{field} takes column {column!r}, which is named for {own}, and leaves column "
                    f"{other!r}: depths of a gauge are no gaps, and deflections would be read from them; take the "
                    "columns by their names, or correct the names"
                )
            told.append(
                f"{file}: {key}.{field} takes column {column!r}, which is named for {own}, and leaves "
                f"column {other!r}, which is named for {field}: make sure that they are not exchanged"
            )
    return told


def _days(job: Job, log: Log) -> list[str]:
    """Notice a survey that ended before its joints were laid, and laying that took years."""
    told = []
    days = log.fields["inspected_on"].drop_null() if "inspected_on" in log.fields else pa.array([], pa.date32())
    surveyed = job.centerline.surveyed_on
    if surveyed is not None and len(days):
        later = pc.sum(pc.greater(days, pa.scalar(surveyed, pa.date32()))).as_py()
        if 2 * later > len(days):
            told.append(
                f"centerline.surveyed_on = {surveyed}: {later:,} of {len(days):,} records are of later "
                "days, and nobody "
                "shoots a joint before it is laid; correct it, as in a register the later survey of a joint holds"
            )
    begin, end = job.inspection.laid_from, job.inspection.laid_to
    if begin is None and end is None:
        return told
    first, last = pc.min(days).as_py(), pc.max(days).as_py()
    begins: dt.date | None = begin or first
    ends: dt.date | None = end or last
    if begins is not None and ends is not None and (ends - begins).days > _LONGEST_DAYS:
        told.append(
            f"inspection.laid_from and laid_to leave {(ends - begins).days / 365.25:.0f} years for the "
            f"laying, {begins} to {ends}: a date of another year is not told by them; correct them"
        )
    return told


def _diameter(job: Job, log: Log) -> list[str]:
    """Refuse an outside diameter that no pipe of its size has; notice one that is not the published one."""
    if "outside_diameter" not in job.records.fixed or any(field == "outside_diameter" for _, field, _ in log.matches):
        return []
    stated, size = log.number("outside_diameter"), log.number("size")
    known = np.isfinite(stated) & np.isfinite(size)
    if not known.any():
        return []
    across, nominal, unit = float(stated[known][0]), float(np.median(size[known])), job.records.sizes_in
    said = f"records.fixed.outside_diameter: {across:g} {unit}"
    if not _ACROSS[0] * nominal <= across <= _ACROSS[1] * nominal:
        raise JobFileError(
            f"{job.source}: {said}, and the log's pipe is of nominal size {nominal:g}: none is so wide or so narrow; "
            "correct it, or the size"
        )
    usual, source = published(unit).get(nominal, (across, ""))
    if abs(across / usual - 1.0) <= _UNLIKE:
        return []
    return [
        f"{said}, and pipe of size {nominal:g} is {usual:g} by {source}: deflections by readings at the "
        "joint go by it; make sure that it is of this pipe"
    ]


def _families(job: Job, log: Log, known: Collection[str]) -> list[str]:
    """Notice fields required of a joint type that nothing else knows: no record is asked for them."""
    logged = {one for one in pc.unique(log.text("joint_type")).to_pylist() if one is not None}
    every = sorted({*JOINT_TYPES, *known, *logged})
    told = []
    for given in job.inspection.required_for:
        family = joint_type(given) or given
        if given == FALLBACK_REQUIRED or family in every or family.removeprefix("restrained-") in every:
            continue
        near = difflib.get_close_matches(family, every, n=1, cutoff=0.5)
        meant = f"did you mean {near[0]!r}?" if near else f"the log has {', '.join(sorted(logged)) or 'none'}"
        told.append(
            f"inspection.required_for.{given}: no joint is of this type, and none is asked for its fields; {meant}"
        )
    return told


def _sigmas(job: Job, routes: Routes) -> list[str]:
    """Notice a standard error of shots that no instrument reaches."""
    told = []
    for key in ("horizontal", "vertical"):
        sigma = getattr(routes, f"sigma_{key}")
        if sigma_is_impossible(sigma, routes.unit):
            stated = float(np.median(sigma))
            told.append(
                f"centerline.sigma_{key} is {stated:.2g} {units.SYMBOLS[routes.unit]}, "
                f"{1000.0 * stated * units.factor(routes.unit, 'm'):.2g} mm, and no shot in a trench is "
                "known so well: it "
                "is a standard error in the unit of the coordinates, not its square; verdicts take the shots as exact, "
                "and say so"
            )
    return told


def sigma_is_impossible(sigma: Floats | None, unit: str) -> bool:
    """Say whether a stated standard error of shots is smaller than any is; 0 says that they are without error.

    Examples
    --------
    >>> sigma_is_impossible(np.array([0.0004]), "us-ft"), sigma_is_impossible(np.array([0.0]), "us-ft")
    (True, False)
    """
    return sigma is not None and 0.0 < float(np.median(sigma)) * units.factor(unit, "m") < LEAST_SIGMA_M
