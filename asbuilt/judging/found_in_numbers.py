"""The checks of joint numbers: used more than once, a pass written over a failure, or out of order."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Bools, Ints, as_ints, as_mask
from asbuilt.checks import ROWS
from asbuilt.inputs.fields import PASSED_FIELDS
from asbuilt.judging.judged import Found, Judged, nothing_found, plain, say
from asbuilt.placing.naming import route_and_name

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log

WHAT_WAS_LAID = ("kind", "size", "joint_type", "laid_length", "bend_angle")
"""Fields of the pipe itself, which no second inspection changes."""
_STATIONS_ALIKE = 0.01
"""Stations of one joint may differ by this part of a laying length, as rounded ones do."""
_MANY_SHARED, _PART_SHARED = 8, 0.25
"""More joints than so many, and than this part of a route, share numbers where two counts were kept. Judgement."""
_NAMED = 5
"""Rows named in a finding."""


def joint_repeated(judged: Judged) -> Found:
    key = route_and_name(judged.joints.route, judged.text("joint"))
    named = as_mask(judged.text("joint").is_valid())
    # Joints without a number share one key, and no number.
    places = np.where(named, np.bincount(key, minlength=int(key.max(initial=0)) + 1)[key], 1)
    records = judged.joints.records
    shared = np.bincount(judged.joints.route, weights=(places > 1).astype(np.float64)).astype(np.float64)
    many = shared > np.maximum(_MANY_SHARED, _PART_SHARED * np.bincount(judged.joints.route))
    # Where two counts were kept the first joint of the route tells of all: at each the same would be said.
    counted_twice = np.flatnonzero((places > 1) & many[judged.joints.route])
    begins = np.append(True, np.diff(judged.joints.route[counted_twice]) != 0)[: len(counted_twice)]
    head, end = counted_twice[begins], counted_twice[np.append(begins[1:], True)[: len(begins)]]
    told_by_head = np.zeros(len(places), dtype=np.bool_)
    told_by_head[counted_twice[~begins]] = True
    rows = np.flatnonzero((records > 1) | ((places > 1) & ~told_by_head))
    if not len(rows):
        return nothing_found()
    several = pa.array(places[rows] > 1)
    placed = judged.joint_of_record >= 0
    # Of those only its own records are a joint's rows.
    own = np.where(named, key, int(key.max(initial=0)) + 1 + np.arange(len(key)))
    told = pa.array(_rows_told(judged.log, np.where(placed, own[judged.joint_of_record], -1), own[rows]), pa.string())
    kept = _kept(judged)
    which = pa.array([kept.get(joint, "; the latest one counts") for joint in rows.tolist()], pa.string())
    same = say(plain(records[rows].astype(np.float64)), " records of this joint", which)
    same = say(same, _contradicting(judged, rows), _or_two_joints(judged, rows, named), told)
    heads = np.isin(rows, head)
    first, last = np.full(len(rows), -1, dtype=np.int64), np.full(len(rows), -1, dtype=np.int64)
    first[heads], last[heads] = head, end
    station = judged.joints.station
    several_counts = say(
        "; so are those of ", plain(shared[judged.joints.route[rows]]), " joints of the route, from ",
        station.take(pa.array(np.maximum(first, 0))), " to ", station.take(pa.array(np.maximum(last, 0))), ", as where "
        "two crews, or two days, count each from 1: then have the crew or the day written before each number",
    )  # fmt: skip
    several_counts = pc.if_else(pa.array(heads), several_counts, "")
    apart = say("this joint number is used at ", plain(places[rows].astype(np.float64)), " places on the route",
                several_counts, told)  # fmt: skip
    value = np.where(places[rows] > 1, places[rows], records[rows]).astype(np.float64)
    message = pc.if_else(several, apart, same)
    one = np.ones(len(rows))
    return Found(rows, message, value, one, "records", "one record a joint", first=first, last=last)


def _or_two_joints(judged: Judged, rows: Ints, named: Bools) -> pa.Array:
    """Say of joints without numbers, behind which the log lacks one, that a record may be of that."""
    behind = np.zeros(len(named), dtype=np.bool_)
    behind[judged.segments.back[judged.absent > 0]] = True
    words = "; or they are of two joints, and one has the other's station, as the log lacks a joint right ahead of it"
    return pc.if_else(pa.array((behind & ~named)[rows]), words, "")


def station_contradicted(judged: Judged) -> Found:
    """Find joints that a record of the same day as the one that counts gives another station.

    The order of the rows alone then places the joint, as where a sheet stands in the log twice, old and corrected.
    Where the two stations lie far apart the number stands at both, and one of them is void.
    """
    log, joints, day = judged.log, judged.joints, _days(judged.log)
    record = np.flatnonzero(judged.joint_of_record >= 0)
    joint = judged.joint_of_record[record]
    counts = joints.position[joint]
    stations = log.stations.value
    apart = np.abs(stations[record] - stations[counts])
    other = (day[record] == day[counts]) & ~joints.surveyed[joint]
    other &= apart > _STATIONS_ALIKE * judged.job.records.laying_length
    far = _at_two_places(judged)
    if not other.any() and not far:
        return nothing_found()
    rows = np.unique(joint[other])
    most = np.zeros(len(joints))
    np.maximum.at(most, joint[other], apart[other])
    kept = other | ((record == counts) & np.isin(joint, rows))
    owner = np.full(len(log), -1, dtype=np.int64)
    owner[record[kept]] = joint[kept]
    texts = {
        one: f"its records {'have no date' if day[joints.position[one]] < 0 else 'are of one day'} and give it "
        f"stations up to {most[one]:.2f} {judged.symbol} apart; the last row places it{told}"
        for one, told in zip(rows.tolist(), _rows_told(log, owner, rows), strict=True)
    }
    for one, (off, told) in far.items():
        texts.setdefault(one, told)
        most[one] = max(most[one], off)
    found = np.array(sorted(texts), dtype=np.int64)
    said = pa.array([texts[one] for one in found.tolist()], pa.string())
    return Found(found, said, most[found], unit=judged.symbol, basis="the records of the joint")


def _at_two_places(judged: Judged) -> dict[int, tuple[float, str]]:
    """Find joints whose number a page that stands in the log twice gives two places: how far apart, and what to say."""
    log, of, joint = judged.log, judged.usual.elsewhere, judged.joint_of_record
    later = np.flatnonzero((of >= 0) & (joint >= 0))
    later = later[(joint[of[later]] >= 0) & (joint[of[later]] != joint[later])]
    told: dict[int, tuple[float, str]] = {}
    for record in later.tolist():
        pair = np.array([of[record], record])
        off = float(abs(np.diff(log.stations.value[pair])[0]))
        here = " and ".join(str(judged.joints.station[int(joint[one])].as_py()) for one in pair)
        text = (
            f"its number stands at {here}, {off:.2f} {judged.symbol} apart, in rows that repeat one another: one of "
            f"the two is void, and its place is no joint{ROWS}{_listed(_row_names(log, pair))}"
        )
        for one in joint[pair].tolist():
            told.setdefault(one, (off, text))
    return told


def _kept(judged: Judged) -> dict[int, str]:
    """Say of joints that failed why the failure counts, where another record says that they passed.

    Only where one of the two has no date, so that nothing shows which was made later.
    """
    log, day, said = judged.log, _days(judged.log), {}
    record = np.flatnonzero(judged.joint_of_record >= 0)
    counts = judged.joints.record[judged.joint_of_record[record]]
    for field in (one for one in PASSED_FIELDS if one in log.fields):
        passed = as_mask(pc.equal(log.fields[field].take(pa.array(record)), "yes"))
        failed = as_mask(pc.equal(log.fields[field].take(pa.array(counts)), "no"))
        for one in np.flatnonzero(passed & failed & ((day[record] < 0) != (day[counts] < 0))).tolist():
            failure, passing = _row_names(log, np.array([counts[one], record[one]]))
            said[int(judged.joint_of_record[record[one]])] = (
                f"; row {failure} counts, in which it did not pass ({field}); row {passing} says that it passed, and "
                "one of the two has no date, so that nothing shows which was made later: have the date filled in, or "
                "the joint looked at again"
            )
    return said


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
    passed = _differing(judged, record[same_day], counts[same_day], PASSED_FIELDS)
    laid = _differing(judged, record, counts, WHAT_WAS_LAID)
    told = "; of its records of one day some passed and some did not ({}), and the last row counts: have it settled"
    mended = "; an earlier one did not pass ({}), and the latest one does"
    overruled = {joint: fields for joint, (fields, _) in judged.overruled.items() if joint not in passed}
    other = "; its records differ in what was laid ({}): have it settled whether they are of one joint"
    said = [
        (told.format(", ".join(passed[at])) if at in passed else "")
        + (mended.format(", ".join(overruled[at])) if at in overruled else "")
        + (other.format(", ".join(laid[at])) if at in laid else "")
        for at in joints.tolist()
    ]
    return pa.array(said, pa.string())


def failure_overruled(judged: Judged) -> Found:
    """Find failures that a later record turns into a pass, though nothing shows that the joint was looked at again.

    One joint that failed and was inspected anew on a later day is how work is made good. A record of the same day or of
    none, of another pipe, or on a page that repeats joints of which most had passed, may be of another joint.
    """
    overruled = judged.overruled
    if not overruled:
        return nothing_found()
    counts, day = judged.joints.record, _days(judged.log)
    run, mostly_passed = judged.usual.run, judged.usual.mostly_passed
    record = np.flatnonzero(judged.joint_of_record >= 0)
    other = _differing(judged, record, counts[judged.joint_of_record[record]], WHAT_WAS_LAID)
    joints, said = [], []
    for joint, (fields, records) in sorted(overruled.items()):
        latest = int(counts[joint])
        if mostly_passed[latest]:
            why = f"it stands among {run[latest]} rows that repeat joints of which most had passed"
        elif day[latest] < 0 or (day[records] < 0).any() or (day[records] == day[latest]).any():
            why = "it is of the same day, or neither has a date"
        elif joint in other:
            why = f"the two differ in what was laid ({', '.join(other[joint])})"
        else:
            continue
        rows = _listed(_row_names(judged.log, np.append(records, latest)))
        joints.append(joint)
        said.append(
            f"did not pass in an earlier record: {', '.join(fields)}; the last of its records says it passed, and it "
            f"counts, but {why}: have it settled whether it is this joint, and was made good{ROWS}{rows}"
        )
    return Found(np.array(joints, dtype=np.int64), pa.array(said, pa.string()), basis="the records of the joint")


def _days(log: Log) -> Ints:
    """Give the day of each record; -1 where it has none."""
    if "inspected_on" not in log.fields:
        return np.full(len(log), -1, dtype=np.int64)
    return as_ints(pc.cast(log.fields["inspected_on"], pa.int32()), -1)


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
    """Find joints whose numbers do not run with their stations, and say which of the two is likely wrong, and how."""
    found, text = judged.out_of_order, judged.text("joint")
    rows = found.joint
    if not len(rows):
        return nothing_found()
    here = judged.joints.station.take(pa.array(rows))
    other = text.take(pa.array(np.maximum(found.exchanged, 0)))
    exchanged = say(
        ", in order but for joint ", other, " beside it: numbers or stations of the two are exchanged, and each may "
        "stand where the other does",
    )  # fmt: skip
    number = say("; the pipes on both sides fit it there, so its number is likely the wrong one", _free(judged, rows))
    number = pc.if_else(
        pa.array(found.counted_back),
        "; the numbers fall along the line there, as those of a crew that came from the other end",
        number,
    )
    slip = pc.coalesce(say(", and its station may be a slip for ", found.slip), "")
    gap = pc.fill_null(say(", in the gap between ", *_gap_around(judged)), "")
    rows_beside = pa.array(found.by_row)
    by = pc.if_else(rows_beside, "the rows beside its own", "its number")
    station = say(
        pc.coalesce(say("; by ", by, " and the pipes laid it belongs at about ", found.station, gap, slip), ""),
        "; until ", pc.if_else(rows_beside, "its station", "station or number"), " is corrected, nobody knows where it "
        "lies",
    )  # fmt: skip
    why = pc.if_else(pa.array(found.number_wrong), number, station)
    why = pc.if_else(pa.array(found.exchanged >= 0), exchanged, why)
    off = found.off[rows] / judged.scale
    return Found(
        rows, say("the ", pc.if_else(rows_beside, "row", "number"), " stands out of order at ", here, why),
        np.where(off > 0.0, off, np.nan), unit=judged.symbol,
        basis=say(pc.if_else(rows_beside, "rows of a log", "joint numbers"), " run with the stations along the route"),
    )  # fmt: skip


def _gap_around(judged: Judged) -> tuple[pa.Array, str, pa.Array]:
    """Give the stations on either side of the gap in the log where each joint belongs; null where there is none."""
    behind, station = judged.out_of_order.behind, judged.joints.station
    gap = np.isin(behind, judged.segments.back[judged.missing > 0])
    sides = (station.take(pa.array(behind + side, mask=~gap)) for side in (0, 1))
    return next(sides), " and ", next(sides)


def _free(judged: Judged, rows: Ints) -> pa.Array:
    """Give the number that is free between those of the joints on either side of each; nothing where none is."""
    series, number = judged.numbers
    text = judged.text("joint")
    told = []
    for row in rows.tolist():
        beside = [one for one in (row - 1, row + 1) if 0 <= one < len(number) and series[one] == series[row]]
        same = len(beside) == 2 and len({int(judged.joints.route[one]) for one in (*beside, row)}) == 1
        free = same and abs(number[beside[1]] - number[beside[0]]) == 2.0
        ends = " and ".join(str(text[one].as_py()) for one in beside)
        told.append(f": one is free between {ends}" if free else "")
    return pa.array(told, pa.string())


def _rows_told(log: Log, key: Ints, wanted: Ints) -> list[str]:
    """Name the rows of the records of some joints, by a key that the records of one number share."""
    record = np.flatnonzero(np.isin(key, wanted))
    record = record[np.argsort(key[record], kind="stable")]
    told: dict[int, list[str]] = {}
    for one, name in zip(key[record].tolist(), _row_names(log, record), strict=True):
        told.setdefault(one, []).append(name)
    return [f"{ROWS}{_listed(told[one])}" for one in wanted.tolist()]


def _row_names(log: Log, record: Ints) -> list[str]:
    """Name rows, with their files where the log has several."""
    several = len(log.files) > 1
    file = log.file.take(pa.array(record)).to_pylist()
    return [f"{of} {row}" if several else str(row) for of, row in zip(file, log.row[record].tolist(), strict=True)]


def _listed(rows: list[str]) -> str:
    if len(rows) > _NAMED:
        return f"{', '.join(rows[:_NAMED])} and {len(rows) - _NAMED} more"
    return f"{', '.join(rows[:-1])} and {rows[-1]}"
