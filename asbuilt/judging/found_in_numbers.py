"""The checks of joint numbers: used more than once, or out of order."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Ints, as_mask
from asbuilt.checks import ROWS
from asbuilt.inputs.fields import EVIDENCE_FIELDS
from asbuilt.judging.judged import Found, Judged, plain, say
from asbuilt.placing.begun_anew import FEW_RECORDS
from asbuilt.placing.naming import route_and_name
from asbuilt.placing.sequence import joint_numbers, out_of_order
from asbuilt.vocabulary import YES_NO_FIELDS

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log

WHAT_WAS_LAID = ("kind", "size", "joint_type", "laid_length", "bend_angle")
"""Fields of the pipe itself, which no second inspection changes."""
_NAMED = 5
"""Rows named in a finding."""


def joint_repeated(judged: Judged) -> Found:
    key = route_and_name(judged.joints.route, judged.text("joint"))
    named = as_mask(judged.text("joint").is_valid())
    places = np.bincount(key, minlength=int(key.max(initial=0)) + 1)[key]
    records = judged.joints.records
    rows = np.flatnonzero((records > 1) | (named & (places > 1)))
    several = pa.array(places[rows] > 1)
    placed = judged.joint_of_record >= 0
    # A joint without a number shares its key with all others without one: only its own records are its rows.
    own = np.where(named, key, int(key.max(initial=0)) + 1 + np.arange(len(key)))
    told = pa.array(_rows_told(judged.log, np.where(placed, own[judged.joint_of_record], -1), own[rows]), pa.string())
    same = say(plain(records[rows].astype(np.float64)), " records of this joint; the latest one counts")
    same = say(same, _contradicting(judged, rows), told)
    apart = say("this joint number is used at ", plain(places[rows].astype(np.float64)), " places on the route", told)
    value = np.where(places[rows] > 1, places[rows], records[rows]).astype(np.float64)
    return Found(rows, pc.if_else(several, apart, same), value, np.ones(len(rows)), "records", "one record a joint")


def _contradicting(judged: Judged, joints: Ints) -> pa.Array:
    """Say in which fields a joint's records contradict one another: the order of the rows alone then decides.

    What was laid cannot change from one day to another; what an inspector found can.
    """
    record = np.flatnonzero(judged.joint_of_record >= 0)
    counts = judged.joints.record[judged.joint_of_record[record]]
    same_day = np.ones(len(record), dtype=np.bool_)
    if "inspected_on" in judged.log.fields:
        day = pc.fill_null(pc.cast(judged.log.fields["inspected_on"], pa.int32()), -1).to_numpy()
        same_day = day[record] == day[counts]
    found = [field for field in EVIDENCE_FIELDS if field in YES_NO_FIELDS]
    passed = _differing(judged, record[same_day], counts[same_day], found)
    laid = _differing(judged, record, counts, WHAT_WAS_LAID)
    told = "; of its records of one day some passed and some did not ({}), and the last row counts: have it settled"
    other = "; its records differ in what was laid ({}): have it settled whether they are of one joint"
    said = [
        (told.format(", ".join(passed[at])) if at in passed else "")
        + (other.format(", ".join(laid[at])) if at in laid else "")
        for at in joints.tolist()
    ]
    return pa.array(said, pa.string())


def _differing(judged: Judged, record: Ints, counts: Ints, names: Iterable[str]) -> dict[int, list[str]]:
    """Give, by joint, the fields in which records say something else than the record that counts."""
    fields: dict[int, list[str]] = {}
    for field in names:
        if field in judged.log.fields:
            text = judged.log.fields[field]
            other = as_mask(pc.not_equal(text.take(pa.array(record)), text.take(pa.array(counts))))
            for joint in np.unique(judged.joint_of_record[record[other]]).tolist():
                fields.setdefault(joint, []).append(field)
    return fields


def order_broken(judged: Judged) -> Found:
    numbers = joint_numbers(judged.text("joint"))
    route = judged.joints.route
    group = route * (int(numbers.series.max(initial=0)) + 1) + numbers.series
    group = np.where(numbers.series < 0, -1, group)
    # Where a crew begins anew at 1, each count is in an order of its own.
    again = _count_of_number(judged)
    group = np.where(group < 0, -1, group * (int(again.max(initial=0)) + 1) + again)
    order = np.lexsort((judged.joints.distance, group))
    group = group[order]
    wrong = np.zeros(len(order), dtype=np.bool_)
    wrong[order] = out_of_order(group, numbers.number[order])
    rows = np.flatnonzero(wrong)
    message = say("the number stands out of order at ", judged.joints.station.take(pa.array(rows)))
    return Found(rows, message, basis="joint numbers run with the stations along the route")


def _count_of_number(judged: Judged) -> Ints:
    """Give which count of its route each joint belongs to: how often its number stands before it, shape (joints,).

    0 for all where a route repeats a few numbers only: those are slips, and no crew that begins anew.
    """
    key = route_and_name(judged.joints.route, judged.text("joint"))
    order = np.lexsort((judged.joints.distance, key))
    new = np.append(True, np.diff(key[order]) != 0) if len(key) else np.zeros(0, dtype=np.bool_)
    count = np.empty(len(key), dtype=np.int64)
    count[order] = np.arange(len(key)) - np.flatnonzero(new)[np.cumsum(new) - 1]
    often = np.bincount(judged.joints.route, count > 0) >= FEW_RECORDS
    return np.where(often[judged.joints.route], count, 0)


def _rows_told(log: Log, key: Ints, wanted: Ints) -> list[str]:
    """Name the rows of the records of some joints, by a key that the records of one number share."""
    record = np.flatnonzero(np.isin(key, wanted))
    record = record[np.argsort(key[record], kind="stable")]
    several = len(pc.unique(log.file)) > 1
    file = log.file.take(pa.array(record)).to_pylist()
    told: dict[int, list[str]] = {}
    for one, of, row in zip(key[record].tolist(), file, log.row[record].tolist(), strict=True):
        told.setdefault(one, []).append(f"{of} {row}" if several else str(row))
    return [f"{ROWS}{_listed(told[one])}" for one in wanted.tolist()]


def _listed(rows: list[str]) -> str:
    if len(rows) > _NAMED:
        return f"{', '.join(rows[:_NAMED])} and {len(rows) - _NAMED} more"
    return f"{', '.join(rows[:-1])} and {rows[-1]}"
