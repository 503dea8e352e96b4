"""The checks: what in a job's joints is worth a person's look, each with what its limit rests on.

Every check is one function of `found_along_lines`, `found_beside`, `found_in_deflection`, `found_in_entries`,
`found_in_inspections` or `found_in_numbers`; `_FINDERS` joins it by its code with its row of `asbuilt.checks`. It says
which joints it found and why.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Floats, Ints
from asbuilt.checks import CHECK_KINDS
from asbuilt.inputs.fields import EVIDENCE_FIELDS
from asbuilt.judging import (
    found_along_lines,
    found_beside,
    found_in_deflection,
    found_in_entries,
    found_in_inspections,
    found_in_numbers,
)
from asbuilt.judging.judged import Found, Judged, any_of


class Check(NamedTuple):
    """One row of the table of checks."""

    code: str
    severity: str
    find: Callable[[Judged], Found]


def inspection_state(judged: Judged) -> pa.Array:
    """Say of each joint whether its inspection is complete, incomplete, failed, or none.

    Parameters
    ----------
    judged : Judged

    Returns
    -------
    pyarrow string array, shape (joints,)
    """
    evidence = np.zeros(len(judged.joints), dtype=np.bool_)
    for field in (*EVIDENCE_FIELDS, "inspector", "inspected_on"):
        evidence |= found_in_inspections.is_given(judged, field)
    missing = any_of(found_in_inspections.missing_fields(judged).values(), len(judged.joints))
    failed = any_of(found_in_inspections.failed_fields(judged).values(), len(judged.joints))
    choices = ["failed", "none", "incomplete"]
    code = np.select([failed, ~evidence, missing], [0, 1, 2], default=3)
    return pa.array([*choices, "complete"]).take(pa.array(code))


def find_all(judged: Judged) -> pa.Table:
    """Run every check.

    Parameters
    ----------
    judged : Judged

    Returns
    -------
    pyarrow table
        A row for each finding, with the index of its joint, in order along the routes; those on a length of a
        route have its route and station in place of a joint, and come last.
    """
    found = [(check, check.find(judged)) for check in CHECKS]
    some = [(check, one) for check, one in found if len(one.joint)] or found[:1]
    table = pa.concat_tables([_as_table(check, one) for check, one in some])
    return table.take(pc.sort_indices(table, sort_keys=[("joint_index", "ascending")]))


def _as_table(check: Check, found: Found) -> pa.Table:
    count = len(found.joint)

    def numbers(values: Floats | None) -> pa.Array:
        return pa.array(values, pa.float64(), from_pandas=True) if values is not None else pa.nulls(count, pa.float64())

    def indexes(values: Ints | None) -> pa.Array:
        return pa.array(values, pa.int64(), mask=values < 0) if values is not None else pa.nulls(count, pa.int64())

    def texts(one: pa.Array | str | None) -> pa.Array:
        return one if isinstance(one, pa.Array) else pa.repeat(pa.scalar(one, pa.string()), count)

    return pa.table(
        {
            "joint_index": indexes(found.joint),
            "length_route": pa.array(found.length.route) if found.length else pa.nulls(count, pa.int64()),
            "length_station": found.length.from_station if found.length else pa.nulls(count, pa.string()),
            "length_end": found.length.to_station if found.length else pa.nulls(count, pa.string()),
            "first": indexes(found.first),
            "last": indexes(found.last),
            "shot": indexes(found.shot),
            "point": found.point if found.point is not None else pa.nulls(count, pa.string()),
            "record": pa.array(found.record, pa.int64()) if found.record is not None else pa.nulls(count, pa.int64()),
            "code": pa.repeat(check.code, count),
            "severity": pa.repeat(check.severity, count),
            "value": numbers(found.value),
            "limit": numbers(found.limit),
            "unit": texts(found.unit),
            "basis": texts(found.basis),
            "message": found.message,
        }
    )


_FINDERS: dict[str, Callable[[Judged], Found]] = {
    "routes-exchanged": found_along_lines.in_the_survey("routes-exchanged"),
    "shot-astray": found_along_lines.in_the_survey("shot-astray"),
    "shot-order": found_along_lines.in_the_survey("shot-order"),
    "unit-doubtful": found_along_lines.in_the_survey("unit-doubtful"),
    "stations-shifted": found_along_lines.in_the_survey("stations-shifted"),
    "deflection-over": found_in_deflection.deflection_over,
    "bend-other-way": found_in_deflection.bend_other_way,
    "line-off": found_beside.line_off,
    "grade-off": found_beside.grade_off,
    "cover-short": found_beside.cover_short,
    "inspection-failed": found_in_inspections.inspection_failed,
    "failure-overruled": found_in_numbers.failure_overruled,
    "joints-missing": found_along_lines.joints_missing,
    "turn-unlogged": found_along_lines.turn_unlogged,
    "restraint-missing": found_along_lines.restraint_missing,
    "test-failed": found_along_lines.test_failed,
    "test-pressure-low": found_along_lines.test_pressure_low,
    "test-short": found_along_lines.test_short,
    "insertion-off": found_in_inspections.insertion_off,
    "gauge-uneven": found_in_inspections.gauge_uneven,
    "station-contradicted": found_in_numbers.station_contradicted,
    "shot-repeated": found_along_lines.in_the_survey("shot-repeated"),
    "shot-height": found_along_lines.in_the_survey("shot-height"),
    "shots-too-even": found_along_lines.in_the_survey("shots-too-even"),
    "line-doubles-back": found_along_lines.in_the_survey("line-doubles-back"),
    "equation-ignored": found_along_lines.in_the_survey("equation-ignored"),
    "bend-off-corner": found_along_lines.in_the_survey("bend-off-corner"),
    "joints-off-shots": found_along_lines.in_the_survey("joints-off-shots"),
    "coverage-short": found_along_lines.in_the_survey("coverage-short"),
    "deflection-conflict": found_in_deflection.deflection_conflict,
    "inspection-missing": found_in_inspections.inspection_missing,
    "deflection-unclear": found_in_deflection.deflection_unclear,
    "line-unclear": found_beside.line_unclear,
    "grade-unclear": found_beside.grade_unclear,
    "cover-unclear": found_beside.cover_unclear,
    "allowable-missing": found_in_deflection.allowable_missing,
    "bend-plane-missing": found_in_deflection.bend_plane_missing,
    "bend-angle-missing": found_in_deflection.bend_angle_missing,
    "gap-uneven": found_in_inspections.gap_uneven,
    "readings-copied": found_in_inspections.readings_copied,
    "gasket-cold": found_in_inspections.gasket_cold,
    "torque-off": found_in_inspections.torque_off,
    "entry-doubtful": found_in_entries.entry_doubtful,
    "spacing-short": found_along_lines.spacing_short,
    "joint-repeated": found_in_numbers.joint_repeated,
    "order-broken": found_in_numbers.order_broken,
    "position-conflict": found_along_lines.position_conflict,
    "size-changes": found_along_lines.size_changes,
    "date-doubtful": found_in_inspections.date_doubtful,
    "test-doubtful": found_along_lines.test_doubtful,
    "test-early": found_along_lines.test_early,
    "length-untested": found_along_lines.length_untested,
    "remark-to-read": found_in_inspections.remark_to_read,
    "photo-missing": found_in_inspections.photo_missing,
    "field-unreadable": found_in_inspections.field_unreadable,
}


CHECKS: Sequence[Check] = [Check(code, kind.severity, _FINDERS[code]) for code, kind in CHECK_KINDS.items()]
"""Every check: its code, how severe what it finds is, and the function that finds it."""
