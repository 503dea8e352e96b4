"""The checks of inspections: what was not looked at, did not pass, or reads oddly in a joint's own record."""

from __future__ import annotations

import csv
from importlib import resources
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints, as_mask, together
from asbuilt.checks import ROWS
from asbuilt.inputs import values
from asbuilt.inputs.fields import PASSED_FIELDS
from asbuilt.inputs.trouble import remark_words, tells
from asbuilt.inputs.unread_columns import ELSEWHERE_FIELD, one_after_another
from asbuilt.judging import copied
from asbuilt.judging.judged import ROUNDING, Found, Judged, any_of, nothing_found, plain, say
from asbuilt.judging.readings import IN_ANOTHER, mean_known, residual_limit, sigma_reading
from asbuilt.keys.fields import FALLBACK_REQUIRED, GAP_FIELDS, GAUGE_FIELDS

if TYPE_CHECKING:
    from asbuilt.job import Job
    from asbuilt.units import SmallUnit


FT_LB_IN_N_M = 1.3558179483314004


_OF_FAMILY, _JOB_SAYS = "for this joint family", "the job does not say what it requires (inspection.required)"
_FIELD_WORDS = {"inspected_on": "inspection date", "bolt_torque": "bolt torque", "laid_length": "laid length"}


def inspection_missing(judged: Judged) -> Found:
    missing = missing_fields(judged)
    rows = np.flatnonzero(any_of(missing.values(), len(judged.joints)))
    message = say("not recorded: ", _listed(missing, rows))
    count = np.sum([mask[rows] for mask in missing.values()], axis=0) if missing else np.zeros(len(rows))
    family, asked = judged.family.take(pa.array(rows)), judged.job.inspection
    basis = values.spread(
        pc.fill_null(family, ""),
        lambda one: f"required by the job {_OF_FAMILY}" if asked.says(one) else f"usual {_OF_FAMILY}; {_JOB_SAYS}",
        pa.string(),
    )
    return Found(rows, message, count.astype(np.float64), None, "fields", basis)


def inspection_failed(judged: Judged) -> Found:
    failed = failed_fields(judged)
    rows = np.flatnonzero(any_of(failed.values(), len(judged.joints)))
    return Found(rows, say("did not pass: ", _listed(failed, rows)), basis="the inspector's entry")


def field_unreadable(judged: Judged) -> Found:
    unreadable = judged.log.unreadable
    joint = judged.joint_of_record[unreadable.record]
    cells = np.flatnonzero(joint >= 0)
    field, text, why = (one.take(pa.array(cells)) for one in unreadable[1:])
    why = pc.coalesce(why, _in_the_other_unit(judged.job, field, text))
    because = pc.fill_null(pc.binary_join_element_wise(": ", why, ""), "; it is taken as blank")
    message = say(field, ": '", text, "' cannot be read", because)
    return Found(joint[cells], message, basis="the log's row")


def _in_the_other_unit(job: Job, field: pa.Array, text: pa.Array) -> pa.Array:
    """Say of sizes that state the other unit how they could be read; null of all other cells."""
    unit = job.records.sizes_in
    other: SmallUnit = "in" if unit == "mm" else "mm"
    told = (
        f"it is in {units.SMALL_WORDS[other]}, and sizes are read in {units.SMALL_WORDS[unit]}; it is taken as blank; "
        f'where those of the log are in {units.SMALL_WORDS[other]}, say records.size_unit = "{other}"'
    )
    sizes = pc.if_else(pc.equal(field, "size"), text, pa.scalar(None, pa.string()))
    return values.spread(sizes, lambda one: told if values.nominal_size(one, unit=other) else None, pa.string())


def photo_missing(judged: Judged) -> Found:
    missing = judged.log.text("photo_missing")
    rows = np.flatnonzero(as_mask(missing.is_valid()) & (judged.joint_of_record >= 0))
    message = say("not found among the photos: ", missing.take(pa.array(rows)))
    return Found(judged.joint_of_record[rows], message, basis="the folders of records.photos")


def gasket_cold(judged: Judged) -> Found:
    least = judged.job.inspection.min_gasket_temperature_f
    value = judged.number("gasket_temperature")
    rows = np.flatnonzero(value < least)
    found, limit, unit = value[rows], least, judged.job.records.temperatures_in
    if unit == "C":
        found, limit = (found - 32.0) / 1.8, round((least - 32.0) / 1.8, 1)
    message = say("gasket at ", plain(found), f" {unit} when fitted, under {limit:g} {unit}: warm it before fitting")
    basis = "the job's limit (40 F: common practice, no source)"
    return Found(rows, message, found, np.full(len(rows), limit), unit, basis)


def insertion_off(judged: Judged) -> Found:
    band = judged.job.inspection.insertion_band
    if band is None:
        return nothing_found()
    mean, unit = judged.readings.fit.mean, judged.job.records.readings_in
    # What is in another unit says nothing of the spigot.
    with_mean = mean_known(judged.readings) & ~judged.usual.mixed[0].record[judged.joints.record]
    low, high = with_mean & (mean < band[0] - ROUNDING), with_mean & (mean > band[1] + ROUNDING)
    rows = np.flatnonzero(low | high)
    far = pc.if_else(pa.array(high[rows]), "the spigot is not far enough in", "the spigot is in too far")
    message = say(
        far, ": the gap to the insertion mark is ", plain(mean[rows]), f" {unit} on average, outside {band[0]:g} to ",
        f"{band[1]:g} {unit}",
    )  # fmt: skip
    limit = np.where(low, *band)[rows]
    return Found(rows, message, mean[rows], limit, unit, "the job's band (inspection.insertion_band)")


def gap_uneven(judged: Judged) -> Found:
    fit, unit, sigma = judged.readings.fit, judged.job.records.readings_in, sigma_reading(judged.job)
    limit = residual_limit(fit.freedom, fit.positions, sigma)
    # In another unit all that is uneven is as many times too large, or too small.
    other_unit = as_mask(pc.is_in(judged.readings.reason, pa.array(IN_ANOTHER)))
    rows = np.flatnonzero((fit.residual > limit) & ~other_unit)
    message = say(
        "the gap readings contradict one another: a straight spigot leaves ", plain(fit.residual[rows]),
        f" {unit} of them unexplained (RMS), more than ", plain(limit[rows]), f" {unit}; read them again",
    )  # fmt: skip
    own = "the job's" if judged.job.inspection.sigma_reading else "an assumed"
    basis = f"{own} {sigma:g} {unit} (1 sigma) of a reading; one joint in 1,000 passes the limit by chance"
    return Found(rows, message, fit.residual[rows], limit[rows], unit, basis)


def readings_copied(judged: Judged) -> Found:
    """Find rows one below the other with the same readings all around, and blocks of rows that have those of others."""
    log, joint_of = judged.log, judged.joint_of_record
    found: list[tuple[int, int, str, int]] = []
    for fields, named, runs in zip((GAP_FIELDS, GAUGE_FIELDS), copied.NAMED, judged.usual.copied, strict=True):
        for records in together(np.flatnonzero(runs >= 0), runs):
            placed = records[joint_of[records] >= 0]
            if not len(placed):
                continue
            first, last, many = int(records[0]), int(records[-1]), len(records)
            read = [log.number(field)[first] for field in fields if field in log.fields]
            shown = ", ".join(f"{one:g}" for one in read if np.isfinite(one))
            of = f" of {log.file[first].as_py()}" if len(log.files) > 1 else ""
            ends = " to ".join(f"joint {judged.joints.name[int(joint_of[one])].as_py()}" for one in placed[[0, -1]])
            none = "" if fields is GAUGE_FIELDS else "; no deflection is taken from them"
            message = (
                f"the {named} {shown} are the same in {many} rows, {ends}, as if they were copied down and not read: "
                f"chance makes so many in fewer than one log in {1 / copied.BY_CHANCE:,.0f}{none}"
                f"{ROWS}{log.row[first]} to {log.row[last]}{of}"
            )
            found.append((int(joint_of[placed[0]]), int(placed[0]), message, many))
    pasted = judged.usual.pasted
    for records in together(np.flatnonzero(pasted.block >= 0), pasted.block):
        placed = records[joint_of[records] >= 0]
        if not len(placed):
            continue
        ends = " to ".join(f"joint {judged.joints.name[int(joint_of[one])].as_py()}" for one in placed[[0, -1]])
        of = f" of {log.file[int(records[0])].as_py()}" if len(log.files) > 1 else ""
        message = (
            f"the gap readings of {len(records)} rows, {ends}, are those of "
            f"{pasted.same_as[int(pasted.block[records[0]])]}, in the same order, as if one block was pasted over the "
            "other: write those that were read; no deflection is taken from either"
            f"{ROWS}{log.row[int(records[0])]} to {log.row[int(records[-1])]}{of}"
        )
        found.append((int(joint_of[placed[0]]), int(placed[0]), message, len(records)))
    found.sort()
    return Found(
        np.array([one[0] for one in found], dtype=np.int64), pa.array([one[2] for one in found], pa.string()),
        np.array([float(one[3]) for one in found]), None, "rows", "the scatter of the log's readings",
        record=np.array([one[1] for one in found], dtype=np.int64),
    )  # fmt: skip


def gauge_uneven(judged: Judged) -> Found:
    most, spread, unit = (
        judged.job.inspection.gauge_spread,
        judged.readings.gauge_spread,
        judged.job.records.readings_in,
    )
    if most is None:
        return nothing_found()
    rows = np.flatnonzero(spread > most + ROUNDING)
    message = say(
        "feeler-gauge depths differ by ", plain(spread[rows]), f" {unit} around the joint, more than {most:g} {unit}: "
        "the gasket may be displaced",
    )  # fmt: skip
    return Found(
        rows, message, spread[rows], np.full(len(rows), most), unit, "the job's limit (inspection.gauge_spread)"
    )


def torque_off(judged: Judged) -> Found:
    table = bolt_torques()
    torque = judged.number("bolt_torque")
    if judged.job.records.torque_unit == "N-m":
        torque = torque / FT_LB_IN_N_M
    size = judged.number("size")
    at = np.searchsorted(table.size, size).clip(max=len(table.size) - 1)
    mechanical = as_mask(pc.ends_with(judged.family, "mechanical"))
    inches = judged.job.records.sizes_in == "in"
    known = mechanical & (table.size[at] == size) & inches
    low, high = known & (torque < table.least[at]), known & (torque > table.most[at])
    rows = np.flatnonzero(low | high)
    limit = np.where(low, table.least[at], table.most[at])[rows]
    message = say(
        "bolt torque ", plain(torque[rows]), " ft-lb is outside ", plain(table.least[at][rows]), " to ",
        plain(table.most[at][rows]), " ft-lb",
    )  # fmt: skip
    return Found(rows, message, torque[rows], limit, "ft-lb", table.source)


def date_doubtful(judged: Judged) -> Found:
    if "inspected_on" not in judged.log.fields:
        return nothing_found()
    dates = judged.text("inspected_on")
    limits = judged.job.inspection
    last = min(limits.laid_to or judged.today, judged.today)
    after = as_mask(pc.greater(dates, pa.scalar(last)))
    before = np.zeros(len(after), dtype=np.bool_)
    if limits.laid_from:
        before = as_mask(pc.less(dates, pa.scalar(limits.laid_from)))
    rows = np.flatnonzero(after | before)
    bound = pc.if_else(pa.array(before[rows]), f"before the work began on {limits.laid_from}", f"after {last}")
    shown = pc.cast(dates.take(pa.array(rows)), pa.string())
    message = say("inspected on ", shown, ", ", bound)
    others, days = _still_to_come(judged, rows)
    told = say("a record of it is dated ", days, f", after {judged.today}: it is not taken for the latest")
    turn, why = _out_of_turn(judged, np.append(rows, others))
    every = np.concatenate([rows, others, turn])
    order = np.argsort(every, kind="stable")
    message = pa.concat_arrays([message, told, why]).take(pa.array(order))
    return Found(every[order], message, basis="the job's dates of laying, today, and the rows before and behind")


def _still_to_come(judged: Judged, told: Ints) -> tuple[Ints, pa.Array]:
    """Find joints that have a record dated after today beside the one that counts; and the day of that record."""
    dates, joint = judged.log.fields["inspected_on"], judged.joint_of_record
    late = np.flatnonzero(as_mask(pc.greater(dates, pa.scalar(judged.today))) & (joint >= 0) & ~np.isin(joint, told))
    joints, first = np.unique(joint[late], return_index=True)
    return joints, pc.cast(dates.take(pa.array(late[first])), pa.string())


def _out_of_turn(judged: Judged, told: Ints) -> tuple[Ints, pa.Array]:
    """Find joints with a record whose date stands out of turn in the log, but for those that are told of already."""
    why, joint = judged.usual.why, judged.joint_of_record[judged.usual.out_of_turn]
    joints, first = np.unique(joint, return_index=True)
    new = (joints >= 0) & ~np.isin(joints, told)
    return joints[new], pa.array([why[at] for at in first[new].tolist()], pa.string())


def required_fields(job: Job, family: pa.Array) -> dict[str, Bools]:
    """Say for each field at which joints a job requires it, by their families."""
    by_family = job.inspection.required_by_family()
    coded = pc.dictionary_encode(pc.fill_null(family, ""))
    families, code = coded.dictionary.to_pylist(), coded.indices.to_numpy()
    required: dict[str, Bools] = {}
    for number, family in enumerate(families):
        plain = by_family.get(family.removeprefix("restrained-"), by_family[FALLBACK_REQUIRED])
        for field in by_family.get(family, plain):
            required[field] = required.get(field, np.zeros(len(code), dtype=np.bool_)) | (code == number)
    return required


def missing_fields(judged: Judged) -> dict[str, Bools]:
    missing = {
        field: where & ~is_given(judged, field) for field, where in required_fields(judged.job, judged.family).items()
    }
    return {field: mask for field, mask in missing.items() if mask.any()}


def failed_fields(judged: Judged) -> dict[str, Bools]:
    failed = {field: as_mask(pc.equal(judged.text(field), "no")) for field in PASSED_FIELDS}
    return {field: mask for field, mask in failed.items() if mask.any()}


def remark_to_read(judged: Judged) -> Found:
    """Tell what may mean trouble in the remarks and in unread columns of all records; what it means is not judged."""
    words, nothing = remark_words(judged.job), pa.nulls(len(judged.log), pa.string())
    remarks, elsewhere = (judged.log.fields.get(field, nothing) for field in ("remarks", ELSEWHERE_FIELD))
    telling = pc.if_else(tells(remarks, words), remarks, nothing)
    text = one_after_another(telling, elsewhere)
    records = np.flatnonzero(as_mask(text.is_valid()) & (judged.joint_of_record >= 0))
    text = text.take(pa.array(records))
    said = pc.utf8_slice_codeunits(text, 0, _REMARK_SHOWN)
    longer = pc.if_else(pc.greater(pc.utf8_length(text), _REMARK_SHOWN), "...", "")
    message = say('the log says "', said, longer, '": read it, since nothing else here judges what it tells')
    told = "words of inspection.remark_words"
    return Found(judged.joint_of_record[records], message, basis=told, record=records)


_REMARK_SHOWN = 200
"""Characters of a remark that its finding repeats; the record has all of it."""


def is_given(judged: Judged, field: str) -> Bools:
    given: Bools = as_mask(judged.text(field).is_valid())
    return given


class BoltTorques(NamedTuple):
    """Least and most bolt torque of mechanical joints, ft-lb, by nominal size in inches: shapes (sizes,)."""

    size: Floats
    least: Floats
    most: Floats
    source: str


def bolt_torques() -> BoltTorques:
    """Give the published bolt torques.

    Source: AWWA C600 and C111, from memory.

    Examples
    --------
    >>> table = bolt_torques()
    >>> table.least[table.size == 12], table.most[table.size == 12]
    (array([75.]), array([90.]))
    """
    text = resources.files("asbuilt").joinpath("data/bolt_torque.csv").read_text("utf-8")
    rows = list(csv.DictReader(text.splitlines()))
    size, least, most = (np.array([float(row[name]) for row in rows]) for name in ("size", "least_ft_lb", "most_ft_lb"))
    return BoltTorques(size, least, most, rows[0]["source"])


def _listed(masks: dict[str, Bools], rows: Ints) -> pa.Array:
    """List, for each row, the fields whose mask holds there."""
    nothing = pa.scalar(None, pa.string())
    words = [
        pc.if_else(pa.array(mask[rows]), _FIELD_WORDS.get(field, field.replace("_", " ")), nothing)
        for field, mask in masks.items()
    ]
    if not words:
        return pa.array([], pa.string())
    return pc.binary_join_element_wise(*words, ", ", null_handling="skip")
