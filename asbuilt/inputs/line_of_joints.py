"""A line strung through the joints themselves, where no centerline was surveyed apart from them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints, as_mask, codes
from asbuilt.errors import InputFileError, JobFileError
from asbuilt.inputs.coordinate_system import coordinate_system, height_factor, projected_advice
from asbuilt.inputs.degrees import refuse_elsewhere
from asbuilt.inputs.log import SAME_PLACE, Log
from asbuilt.inputs.shots import Shots
from asbuilt.inputs.text_table import table_from_columns, with_source
from asbuilt.line import projection

if TYPE_CHECKING:
    from pyproj import CRS

    from asbuilt.job import Job

WHERE = "the joints of the log"
_FEW = 4


def shots_of_joints(job: Job, log: Log) -> Shots:
    """Take the joints of a log that have coordinates as the shots of their line, in the order of the log.

    A joint that stands in the log again, at the same place, is one shot. The line's system is the job's `crs`; without
    it, that of the log, which must be projected.

    Raises
    ------
    JobFileError
        When the log has no coordinates, or their system is unknown, in degrees without `crs`, or of another place.
    InputFileError
        When a coordinate cannot be carried over to the line's system.
    """
    places = np.stack([log.number(field) for field in ("easting", "northing", "elevation")], axis=1)
    plan = places[:, :2]
    usable = np.isfinite(plan).all(axis=1) & (plan != 0).any(axis=1) & as_mask(log.broken.is_null())
    some_have = log.text("route").null_count < len(log)
    usable &= as_mask(log.text("route").is_valid()) | (not some_have)
    if not usable.any():
        raise JobFileError(
            f"{job.source}: centerline.from_joints: no record of the log has an easting and a northing; map them in "
            "records.columns, or name the surveyed line in centerline.path"
        )
    named = _line_system(job, log, plan[usable][0])
    line = coordinate_system(job, named if job.crs is None else None, WHERE, lambda: None)
    start = 0
    for count, own in log.systems:
        part = start + np.flatnonzero(usable[start : start + count])
        start += count
        if len(part):
            places[part] = _carried(job, log, part, places[part], own or job.records.crs, line)
    rows = np.flatnonzero(usable)
    laying = job.records.laying_length * units.factor(job.records.station_unit, line[1])
    rows = rows[_first_of_each(log, rows, places[rows], SAME_PLACE * laying)]
    without = int((~usable).sum())
    note = (
        f"{WHERE} are the line itself (centerline.from_joints): it is strung through {len(rows)} of them, as "
        f"{'their stations run' if job.centerline.order == 'station' else 'they stand in the log'}, so that nothing "
        f"but stations and lengths tells whether a coordinate is wrong"
        + (f"; {without} records without coordinates are no part of it" if without else "")
    )
    notes = [note, *_beside_themselves(job, log, rows)]
    columns = {
        name: log.fields[field].take(pa.array(rows))
        for name, field in (("route", "route"), ("point", "joint"), ("station", "station"))
        if field in log.fields and log.fields[field].null_count < len(log)
    }
    table = table_from_columns(pa.table(columns or {"row": pa.array(log.row[rows])}), name=WHERE)
    table = replace(with_source(table, "", notes), row=log.row[rows])
    return Shots(table, {name: name for name in columns}, places[rows], named)


def _beside_themselves(job: Job, log: Log, rows: Ints) -> list[str]:
    """Notice joints that lie right or left of the line by their own record, and through which it is strung."""
    aside = rows[np.nan_to_num(log.number("offset")[rows]) != 0.0]
    if not len(aside):
        return []
    named = ", ".join(_named(log, at) for at in aside[:_FEW]) + (" and others" if len(aside) > _FEW else "")
    count = "1 joint of the log lies" if len(aside) == 1 else f"{len(aside):,} joints of the log lie"
    return [
        f"{count} right or left of the line by its own offset ({named}), and the line is strung through "
        f"{'it' if len(aside) == 1 else 'them'} all the same (centerline.from_joints), so it turns there and back: "
        "take the coordinates out of records that are no joints of this line, or the offset out of those that are; a "
        "line to measure offsets from is one of its own (centerline.path)"
    ]


def _line_system(job: Job, log: Log, first: Floats) -> str:
    """Choose the system of the line: the job's, or the one that the coordinates of the log are in."""
    from pyproj import CRS

    if job.crs is not None:
        return job.crs
    own = next((one for _, one in log.systems if one), None) or job.records.crs
    if own is not None and CRS.from_user_input(own).is_geographic:
        raise JobFileError(
            f"{job.source}: crs: the joints are in degrees, and lengths and angles need a projected system; name in "
            f"crs the one in which the line is to lie, for instance {projected_advice((first[0], first[1]))}"
        )
    if own is None:
        raise JobFileError(f"{job.source}: crs: the log does not say its coordinate system; add it, like EPSG:6418")
    return own


def _carried(job: Job, log: Log, rows: Ints, places: Floats, named: str | None, line: tuple[CRS, str, float]) -> Floats:
    """Carry joints to the system of the line, their elevations to the unit in which it has them.

    What the change of systems is good for is told where the log's positions are carried over, as of every line.
    """
    from pyproj import CRS

    crs, unit, vertical = line
    source = CRS.from_user_input(named) if named is not None else None
    carried = places.copy()
    if np.isfinite(places[:, 2]).any():
        carried[:, 2] *= height_factor(job, source, unit) / vertical
    if source is None:
        return carried
    if source.is_geographic:
        refuse_elsewhere(lambda at: _named(log, rows[at]), places, crs, "records.crs")
    step = projection.map_step(
        source, crs, places[:, 0], places[:, 1], key="records.crs", accept_m=job.accept_accuracy_m
    )
    carried[:, 0], carried[:, 1] = step.apply(places[:, 0], places[:, 1])
    lost = np.flatnonzero(~np.isfinite(carried[:, :2]).all(axis=1))
    if len(lost):
        raise InputFileError(
            f"{_named(log, rows[lost[0]])}: the joint cannot be carried over to "
            f"{crs.name}; correct its coordinates, or records.crs"
        )
    return carried


def _named(log: Log, at: int) -> str:
    return f"{log.file[at].as_py()}: row {log.row[at]}"


def _first_of_each(log: Log, rows: Ints, places: Floats, near: float) -> Bools:
    """Mark the records that are not of a joint whose record at the same place stands before them."""
    named = log.text("joint").take(pa.array(rows))
    if not len(rows) or named.null_count == len(rows):
        return np.ones(len(rows), dtype=np.bool_)
    route = pc.fill_null(log.text("route").take(pa.array(rows)), "")
    key = codes(pc.binary_join_element_wise(route, pc.utf8_upper(pc.fill_null(named, "")), "\t"))
    first = np.unique(key, return_index=True)[1][key]
    apart = np.hypot(*(places[:, :2] - places[first, :2]).T)
    again: Bools = (first < np.arange(len(rows))) & (apart <= near) & as_mask(named.is_valid())
    return ~again
