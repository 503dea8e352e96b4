"""The present state of a joint that several jobs speak of: what a later job says nothing of stays from the earlier one.

A survey without a log does not blank the inspection, and the record of a leak, whose line ends at the joint, does not
blank its deflection. A correction by the job itself blanks what it blanks.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

import numpy as np

from asbuilt import units
from asbuilt.register.store import Store


class Group(NamedTuple):
    """Columns that are from one load together."""

    load_column: str
    """Column that names the load they are from."""
    columns: tuple[str, ...]
    told_by: str
    """Column that tells whether a job says anything here."""
    nothing: str
    """What that column holds where it says nothing."""


GROUPS = (
    Group("inspection_load_id", ("inspection", "inspected_on", "inspector"), "inspection", "none"),
    Group(
        "deflection_load_id",
        (
            "turn_deg", "turn_horizontal_deg", "turn_vertical_deg", "bend_angle_deg", "deflection_deg",
            "deflection_source", "deflection_floor_deg", "deflection_ceiling_deg", "sigma_deg", "measured_deg",
            "measured_direction_deg", "sigma_measured_deg", "gap_mean", "gap_residual", "allowable_deg",
            "allowable_source", "verdict", "verdict_assumes",
        ),
        "verdict",
        "not-computed",
    ),
)  # fmt: skip
TOGETHER = (("size", "size_unit"), ("joint_type",), ("kind",), ("restrained",), ("elevation", "accuracy_vertical"))
"""Columns that stay where the later job leaves the first of them blank."""
LENGTHS = ("elevation", "accuracy_vertical")
"""Columns in the unit of the job's coordinates."""
NEEDED = (
    *(name for group in GROUPS for name in (group.load_column, *group.columns)),
    *(name for names in TOGETHER for name in names), "load_id", "coordinate_unit",
)  # fmt: skip


def keep(
    file: Mapping[str, Any], known: Mapping[str, Any], job: str, jobs: Mapping[int, str], unit: str
) -> dict[str, Any]:
    """Give what stays of a joint's present state under a later job's.

    Parameters
    ----------
    file : mapping
        What the later job says of the joint, by column.
    known : mapping
        The present state.
    job : str
        Name of the later job.
    jobs : mapping
        Name of the job of each load.
    unit : {"us-ft", "ft", "m"}
        Unit of the later job's coordinates.

    Returns
    -------
    dict
        Values that take the place of the file's.

    Examples
    --------
    >>> known = dict.fromkeys(NEEDED) | {"inspection": "complete", "inspection_load_id": 1, "load_id": 1, "size": 12.0}
    >>> kept = keep({"inspection": "none", "verdict": "over", "size": None}, known, "Survey", {1: "Contract 1"}, "m")
    >>> kept["inspection"], kept["inspection_load_id"], kept["size"], "verdict" in kept
    ('complete', 1, 12.0, False)
    """
    kept: dict[str, Any] = {}
    for group in GROUPS:
        of = known[group.load_column] or known["load_id"]
        said = file.get(group.told_by) not in (None, group.nothing)
        there = known[group.told_by] not in (None, group.nothing)
        if jobs.get(of) != job and there and not said:
            kept |= {name: known[name] for name in group.columns} | {group.load_column: of}
    if jobs.get(known["load_id"]) == job:
        return kept
    for names in TOGETHER:
        if file.get(names[0]) is None and known[names[0]] is not None:
            kept |= {name: known[name] for name in names}
    for name in LENGTHS:
        if kept.get(name) is not None:
            kept[name] *= units.factor(known["coordinate_unit"], unit)
    return kept


def forget(store: Store, load: int) -> None:
    """Take what is from an undone load out of later states; the last that another job said comes in its place."""
    for table in ("joints", "joints_earlier"):
        for group in GROUPS:
            found = store.rows(
                f"SELECT t.fid, (SELECT max(e.fid) FROM joints_earlier e JOIN loads l ON l.load_id = e.load_id "
                f"WHERE e.joint_uid = t.joint_uid AND e.{group.load_column} = e.load_id AND l.state = 'standing') "
                f"FROM {table} t WHERE t.{group.load_column} = :load AND t.load_id <> :load",
                load=load,
            )
            if found:
                _fill(store, table, group, found)


def _fill(store: Store, table: str, group: Group, found: Sequence[tuple[Any, ...]]) -> None:
    """Fill a group of columns from earlier states, or blank it where there is none."""
    fid, source = (np.array([one or 0 for one in values], dtype=np.int64) for values in zip(*found, strict=True))
    store.stage("inherited", {"fid": fid, "source": source})
    of = f"FROM inherited i LEFT JOIN joints_earlier e ON e.fid = i.source WHERE i.fid = {table}.fid"
    settings = [f'"{name}" = (SELECT e."{name}" {of})' for name in group.columns if name != group.told_by]
    settings.append(f"{group.told_by} = (SELECT coalesce(e.{group.told_by}, '{group.nothing}') {of})")
    settings.append(f"{group.load_column} = (SELECT coalesce(e.load_id, {table}.load_id) {of})")
    store.execute(f"UPDATE {table} SET {', '.join(settings)} WHERE fid IN (SELECT fid FROM inherited)")
