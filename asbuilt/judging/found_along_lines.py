"""The checks along lines: joints missing or out of order, positions, sizes, design, restraint, tests, survey."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints, as_mask
from asbuilt.judging.judged import (
    Found,
    Judged,
    at_fittings,
    nothing_found,
    piece_joint,
    plain,
    say,
)
from asbuilt.judging.pipes import by_stations, pipe_back, spacings
from asbuilt.judging.pressure import laid_after, makeup_gal, pressure_kpa, pressure_unit, required_kpa
from asbuilt.placing.positions import position_tolerance
from asbuilt.placing.sequence import joint_numbers

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.judging.deflection import Segments
    from asbuilt.judging.out_of_order import OutOfOrder
    from asbuilt.placing.joints import Joints


SHORT_PART = 0.9
"""A length shorter than this part of the nominal one must have been cut, or end at a fitting."""


SHORTEST_PIECE_M = 0.3
"""No cut piece or fitting between two joints is shorter; common practice, no source."""


def missing_joints(job: Job, log: Log, joints: Joints, straights: Segments, scale: float) -> Ints:
    """Count the joints that must lie in each straight but are not in the log, shape (segments,)."""
    laid = log.number("laid_length")[joints.record[pipe_back(job, straights)]]
    spacing, expected, _, tolerance = spacings(job, joints, straights, laid, scale)
    # The recorded piece lies first; whole lengths at most may follow it.
    least = np.maximum(np.ceil((spacing - expected - tolerance) / job.records.laying_length), 0.0)
    least[_at_the_other_end(job, log, joints, straights, spacing, least > 0.0, tolerance)[0]] = 0.0
    return least.astype(np.int64)


def _at_the_other_end(
    job: Job, log: Log, joints: Joints, straights: Segments, spacing: Floats, short: Bools, tolerance: Floats
) -> tuple[Ints, Ints]:
    """Find straights too long for the short pipe recorded there, which fits on the other side of its joint.

    As where the job has lengths for the pipe ahead of each joint, and they are of the pipe behind it: no joint is
    missing.

    Returns
    -------
    straight, other : array of int
        The straights, and those in which the pipes fit.
    """
    at = np.flatnonzero(short)
    if not len(at):
        return at, at
    back_has = job.records.pipe == "back"
    laid = log.number("laid_length")[joints.record]
    joint, beside = straights.back[at] + back_has, straights.back[at] + (not back_has)
    of = np.full(len(joints) + 1, -1, dtype=np.int64)
    of[straights.back] = np.arange(len(straights.back))
    other = of[joint if back_has else joint - 1]
    expected = np.where(laid[beside] > 0, laid[beside], job.records.laying_length)
    fits = (other >= 0) & (laid[joint] > 0) & (np.abs(spacing[at] - expected) <= tolerance[at])
    fits &= np.abs(spacing[other] - laid[joint]) <= tolerance[other]
    return at[fits], other[fits]


def apart(job: Job, log: Log, joints: Joints, straights: Segments, missing: Ints) -> Bools:
    """Tell which straights run between joints that are no neighbours, by their numbers, in a log of a part of its line.

    A job of repairs lists joints here and there: what lies between them is no gap of its log. Shape (segments,).
    """
    if job.records.covers != "part":
        return np.zeros(len(missing), dtype=np.bool_)
    series, number = joint_numbers(joints.of_log(log.text("joint")))
    back, ahead = straights.back, straights.back + 1
    alike = (series[back] >= 0) & (series[back] == series[ahead])
    found: Bools = (missing > 0) & alike & (np.abs(number[ahead] - number[back]) > 1.0)
    return found


def absent(straights: Segments, missing: Ints, apart: Bools, disorder: OutOfOrder) -> Ints:
    """Count the joints that the log lacks in each straight: not those that it has, but at a wrong station.

    Parameters
    ----------
    straights : Segments
    missing : array of int, shape (segments,)
        Joints for which there is room.
    apart : array of bool, shape (segments,)
        Straights of which a log of repairs says nothing.
    disorder : OutOfOrder
        A joint that belongs in a straight by its number is told there, and is not missing from the log.

    Returns
    -------
    array of int, shape (segments,)
    """
    behind = disorder.behind[disorder.behind >= 0]
    lacking = np.where(apart, 0, missing)
    if len(behind) and lacking.any():
        elsewhere = np.bincount(behind, minlength=int(straights.back.max()) + 1)[straights.back]
        lacking = np.maximum(lacking - elsewhere, 0)
    return lacking


def perhaps_missing(judged: Judged) -> Bools:
    """Tell the straights that joints may be missing from, by their lengths, and whose joints have successive numbers.

    There a station or a length may be wrong instead, and nothing else is missing. Shape (segments,).
    """
    (series, number), back = judged.numbers, judged.segments.back
    alike = (series[back] >= 0) & (series[back] == series[back + 1])
    found: Bools = (judged.absent > 0) & alike & (np.abs(number[back + 1] - number[back]) <= 1.0)
    return found


def joints_missing(judged: Judged) -> Found:
    if not judged.absent.any():
        return nothing_found()
    laid = judged.number("laid_length")[piece_joint(judged)]
    spacing, expected, recorded, tolerance = spacings(judged.job, judged.joints, judged.segments, laid, judged.scale)
    nominal = judged.job.records.laying_length
    whole = recorded & (np.abs(spacing - nominal) <= tolerance) & (laid < nominal)
    at = np.flatnonzero(judged.absent)
    back = judged.segments.back[at]
    word = pc.if_else(pa.array(judged.absent[at] == 1), " joint is", " joints are")
    word = pc.if_else(
        pa.array(perhaps_missing(judged)[at]), pc.replace_substring_regex(word, "is$|are$", "may be"), word
    )
    message = say(
        "at least ", plain(judged.absent[at].astype(float)), word, " missing between ",
        judged.joints.station.take(pa.array(back)), " and ",
        judged.joints.station.take(pa.array(back + 1)), ": ", plain(spacing[at]),
        f" {judged.symbol} apart, and a length is ", plain(expected[at]), f" {judged.symbol}",
        _by_numbers(judged, back),
        pc.if_else(pa.array(whole[at]), "; or else the laid length is wrong, since a whole length fits there", ""),
        _resting(judged, back),
    )  # fmt: skip
    return Found(back, message, spacing[at], expected[at], judged.symbol, "the recorded or nominal laying length")


def _by_numbers(judged: Judged, back: Ints) -> pa.Array:
    """Say of pairs of joints whether their numbers leave room for others between them; nothing without numbers."""
    text, (series, number) = judged.text("joint"), judged.numbers
    alike = (series[back] >= 0) & (series[back] == series[back + 1])
    step = np.where(alike, np.abs(number[back + 1] - number[back]), np.nan)
    one, other = (text.take(pa.array(rows)) for rows in (back, back + 1))
    numbered = say("the joints are numbered ", one, " and ", other)
    free = pc.cast(pa.array(np.nan_to_num(np.maximum(np.ceil(step) - 1.0, 0.0)).astype(np.int64)), pa.string())
    room = say("; ", numbered, ", which leaves room for ", free, " between them")
    none = say("; or else one of the two stations is wrong: ", numbered, ", with no number between them")
    told = pc.choose(pa.array(np.where(step > 1.0, 1, 0)), none, room) if len(back) else pa.array([], pa.string())
    told = pc.coalesce(_elsewhere(judged, back, series, number), told)
    return pc.fill_null(pc.if_else(pa.array(np.isfinite(step)), told, ""), "")


def _elsewhere(judged: Judged, back: Ints, series: Ints, number: Floats) -> pa.Array:
    """Say of pairs of joints where one stands whose number is between theirs; null where the route has none."""
    text, station, route = judged.text("joint"), judged.joints.station, judged.joints.route
    order = np.lexsort((number, series, route))
    order = order[(series[order] >= 0) & np.isfinite(number[order])]
    # One key for route, series and number: places in the sorted joints are compared, not the numbers themselves.
    group = np.concatenate([[0], np.cumsum((np.diff(route[order]) != 0) | (np.diff(series[order]) != 0))])
    place = np.full(len(number), -1, dtype=np.int64)
    place[order] = np.arange(len(order))
    told: list[str | None] = []
    for at in back.tolist():
        low, high = sorted((int(place[at]), int(place[at + 1])))
        if low < 0 or group[low] != group[high]:
            told.append(None)
            continue
        lowest, highest = number[order[low]], number[order[high]]
        first, last = low + 1, high - 1
        while first <= last and number[order[first]] == lowest:
            first += 1
        while first <= last and number[order[last]] == highest:
            last -= 1
        if first > last:
            told.append(None)
            continue
        one, more = int(order[first]), f" (and {last - first:,} more such)" if last > first else ""
        told.append(
            f"; or else a station or a number is wrong: joint {text[one].as_py()}, which belongs between "
            f"{text[at].as_py()} and {text[at + 1].as_py()} by its number, stands at {station[one].as_py()}{more}"
        )
    return pa.array(told, pa.string())


def turn_unlogged(judged: Judged) -> Found:
    """Tell the turns that no joint of the log takes, against what the joints beside them allow."""
    found = judged.unlogged
    back = found.back
    allowed = np.fmax(judged.allowable_deg[back], judged.allowable_deg[np.minimum(back + 1, len(judged.joints) - 1)])
    value = np.degrees(found.turn)
    against = pc.if_else(
        pa.array(np.isfinite(allowed)), say(", and the joints beside it are allowed ", plain(allowed), " deg"), ""
    )
    shots = pc.if_else(pa.array(found.many == 2), " more shot", " more shots")
    more = say(", and at ", pc.cast(pa.array(found.many - 1), pa.string()), shots, " before the next joint")
    message = say(
        "the line turns ", plain(value), " deg at ", judged.unlogged_shot, ", ",
        plain(found.ahead / judged.scale), f" {judged.symbol} ahead of this joint, where the log has no joint", against,
        pc.if_else(pa.array(found.many > 1), more, ""),
        "; a joint turns there that nobody recorded, or the shot or a station is wrong",
        _resting(judged, back),
    )  # fmt: skip
    return Found(back, pc.fill_null(message, ""), value, allowed, "deg", "what the joints on either side are allowed")


def spacing_short(judged: Judged) -> Found:
    laid = judged.number("laid_length")[piece_joint(judged)]
    spacing, expected, recorded, tolerance = spacings(judged.job, judged.joints, judged.segments, laid, judged.scale)
    back = judged.segments.back
    fitting = at_fittings(judged)
    cut = as_mask(pc.equal(judged.text("cut"), "yes"))
    may_be_short = fitting[back] | fitting[back + 1] | cut[piece_joint(judged)]
    shortest = SHORTEST_PIECE_M * units.factor("m", judged.job.records.station_unit)
    least = np.where(may_be_short, shortest, SHORT_PART * expected)
    least = np.where(recorded, expected - tolerance, least)
    least = np.where(recorded, least, least - by_stations(judged.job, judged.joints, judged.segments))
    longer = spacing - expected > tolerance
    ends = _at_the_other_end(judged.job, judged.log, judged.joints, judged.segments, spacing, longer, tolerance)[1]
    below = spacing < least - 1e-9
    least = np.where(below, least, expected)
    below[ends] = True
    at = np.flatnonzero(below)
    piece = pc.if_else(pa.array(spacing[at] < shortest), "shorter than any piece", "at a cut or a fitting")
    why = pc.if_else(
        pa.array(recorded[at]), "under the recorded laid length",
        pc.if_else(pa.array(may_be_short[at]), piece, "with no cut or fitting recorded"),
    )  # fmt: skip
    way = "behind" if judged.job.records.pipe == "ahead" else "ahead of"
    pipe = "back" if judged.job.records.pipe == "ahead" else "ahead"
    fits = (
        f"; a length of the log fits here, whose row has it at the other end: are its lengths those of the pipe {way} "
        f'each joint? Then say records.pipe = "{pipe}"'
    )
    message = say(
        plain(spacing[at]), f" {judged.symbol} from ", judged.joints.station.take(pa.array(back[at])), " to ",
        judged.joints.station.take(pa.array(back[at] + 1)), ", ", why,
        pc.if_else(pa.array(np.isin(at, ends)), fits, ""), _resting(judged, back[at]),
    )  # fmt: skip
    return Found(back[at], message, spacing[at], least[at], judged.symbol, "the recorded or nominal laying length")


def _resting(judged: Judged, back: Ints) -> pa.Array:
    """Say of straights, by their back joints, on which doubted shot they rest; nothing where on none."""
    shot = judged.doubted.joint_shot
    shot = pc.coalesce(shot.take(pa.array(back)), shot.take(pa.array(back + 1)))
    return pc.fill_null(say("; the line there rests on shot ", shot, ", which is doubted"), "")


def size_changes(judged: Judged) -> Found:
    """Find joints whose size is not that of the joint back of them, though no reducer or tee lies between."""
    size, route = judged.number("size"), judged.joints.route
    known = np.flatnonzero(np.isfinite(size))
    back, rows = known[:-1], known[1:]
    changed = (size[back] != size[rows]) & (route[back] == route[rows])
    back, rows = back[changed], rows[changed]
    kind = pc.is_in(judged.text("kind"), pa.array(["reducer", "tee"]))
    made = np.concatenate([[0], np.cumsum(as_mask(kind))])
    odd = made[rows + 1] == made[back]
    back, rows = back[odd], rows[odd]
    unit = judged.job.records.sizes_in
    message = say(
        "size ", plain(size[rows]), f" {unit} follows ", plain(size[back]), f" {unit} at ",
        judged.joints.station.take(pa.array(back)), ", and the log has no reducer or tee between; its allowable is "
        "that of its own size",
    )  # fmt: skip
    return Found(rows, message, size[rows], size[back], unit, "pipe changes its size at a fitting; common practice")


def position_conflict(judged: Judged) -> Found:
    records, joints = judged.records, judged.joints
    spot, limit = joints.position, position_tolerance(judged.job)
    apart, away = records.apart[spot] / judged.scale, records.away[spot] / judged.scale
    doubt = records.doubt.take(pa.array(spot))
    useless = as_mask(pc.and_(doubt.is_valid(), pc.not_equal(doubt, "station-missing")))
    off = np.isnan(apart) & (away > limit)
    above = records.above[spot] / judged.scale
    high = np.abs(above) > limit
    not_used = ~joints.surveyed & (apart > limit)
    aside = records.aside[spot] / judged.scale
    beside = np.isfinite(aside)
    rows = np.flatnonzero(not_used | (joints.surveyed & ((apart > limit) | useless | off | high | beside)))
    taken, here = pa.array(rows), joints.station.take(pa.array(rows))
    written = pc.coalesce(judged.log.text("station").take(pa.array(spot[rows])), "")
    found = [
        say("surveyed ", plain(apart[rows]), f" {judged.symbol} from where its station ", written,
             " lies; it stands where it was surveyed, at ", here),
        say("its station ", written, " cannot be used (", pc.coalesce(doubt.take(taken), ""),
             "); it stands where it was surveyed, at ", here),
        say("surveyed ", plain(away[rows]), f" {judged.symbol} from the centerline, at ", here),
        say("surveyed ", plain(np.abs(above[rows])), f" {judged.symbol} ",
             pc.if_else(pa.array(above[rows] > 0), "above", "below"), " the centerline, at ", here),
        say("its coordinates lie ", plain(apart[rows]), f" {judged.symbol} from where its station ", written,
             " lies, and farther from its neighbours' than their stations allow: mistyped, and not used"),
        say("surveyed ", plain(away[rows]), f" {judged.symbol} beside the shots of the line, at ", here,
            ", and no error that is stated explains it: either its coordinates are wrong, or the shot near it is; it "
            "stands where its coordinates are"),
    ]  # fmt: skip
    cases = [not_used, apart > limit, useless, off, high]
    which = np.select([one[rows] for one in cases], [4, 0, 1, 2, 3], default=5)
    message = pc.choose(pa.array(which), *found) if len(rows) else pa.array([], pa.string())
    nothing = np.full(len(spot), np.nan)
    value = np.choose(which, [one[rows] for one in (apart, nothing, away, np.abs(above), apart, away)])
    limits = np.select([which == 1, which == 5], [np.nan, aside[rows]], default=limit)
    basis = pc.if_else(
        pa.array(which == 5), "the stated errors of the shots, and how a pipe may leave them",
        "the job's records.position_tolerance, else a quarter of a laying length",
    )  # fmt: skip
    return Found(rows, message, value, limits, judged.symbol, basis)


def restraint_missing(judged: Judged) -> Found:
    rows, length = judged.restraint.missing
    taken, lengths = pa.array(length), judged.restraint.lengths
    said = pc.if_else(pc.equal(judged.text("restrained").take(pa.array(rows)), "no"), "recorded as not restrained", "")
    said = pc.if_else(pc.equal(pc.fill_null(said, ""), ""), "not recorded as restrained", said)
    message = say(
        said, ", between ", lengths.from_station.take(taken), " and ", lengths.to_station.take(taken),
        ", where the design wants it restrained: ", pa.array(judged.restraint.why, pa.string()).take(taken),
    )  # fmt: skip
    basis = say("the design, by the job's ", pa.array(judged.restraint.named_by, pa.string()).take(taken))
    return Found(rows, message, basis=basis)


def test_failed(judged: Judged) -> Found:
    rows = np.flatnonzero([one.result == "failed" for one in judged.tests.judged])
    lengths = judged.tests.lengths.take(rows)
    ends = say(lengths.from_station, " to ", lengths.to_station)
    message = say("pressure test ", ends, ": ", pa.array([judged.tests.judged[at].message for at in rows], pa.string()))
    # In US gallons always: one unit for one column.
    measured = np.array([makeup_gal(judged.job.pressure_tests[at]) for at in rows], dtype=np.float64)
    allowance = np.array([judged.tests.judged[at].allowance_gal for at in rows], dtype=np.float64)
    joint = np.full(len(rows), -1, dtype=np.int64)
    return Found(joint, message, measured, allowance, "gal", "AWWA C600, testing allowance (from memory)", lengths)


def test_pressure_low(judged: Judged) -> Found:
    least, (symbol, size) = required_kpa(judged.job), pressure_unit(judged.job)
    if least is None:
        return nothing_found()
    held = np.array([pressure_kpa(test) for test in judged.job.pressure_tests])
    return _below_required(judged, held / size, least / size, symbol, "held at", "the job's limits.test_pressure")


def test_short(judged: Judged) -> Found:
    hours = judged.job.limits.test_hours
    if hours is None:
        return nothing_found()
    held = np.array([test.duration_h for test in judged.job.pressure_tests])
    return _below_required(judged, held, hours, "h", "held for", "the job's limits.test_hours")


def _below_required(judged: Judged, held: Floats, least: float, unit: str, how: str, basis: str) -> Found:
    """Find the tests held below what the job requires, unless later ones passed the whole of their length."""
    again = np.array([one.result.endswith("retested") for one in judged.tests.judged], dtype=np.bool_)
    rows = np.flatnonzero((held < least * (1.0 - 1e-9)) & ~again)
    lengths = judged.tests.lengths.take(rows)
    message = say(
        "pressure test ", lengths.from_station, " to ", lengths.to_station, f": {how} ", plain(held[rows]),
        f" {unit}, where the job requires {least:.4g} {unit}; it proves nothing of this length",
    )  # fmt: skip
    joint = np.full(len(rows), -1, dtype=np.int64)
    return Found(joint, message, held[rows], np.full(len(rows), least), unit, basis, lengths)


def test_doubtful(judged: Judged) -> Found:
    """Tell pressures and durations at which hardly a main is tested: by them a test passes that failed."""
    told = [(at, doubt) for at, one in enumerate(judged.tests.judged) for doubt in one.doubts]
    if not told:
        return nothing_found()
    lengths = judged.tests.lengths.take(np.array([at for at, _ in told], dtype=np.int64))
    message = say(
        "pressure test ", lengths.from_station, " to ", lengths.to_station, ": ",
        pa.array([doubt.message for _, doubt in told], pa.string()), "; correct the record, or say in the job's limits "
        "what tests must be",
    )  # fmt: skip
    value, limit = (np.array([getattr(doubt, name) for _, doubt in told]) for name in ("value", "limit"))
    unit = pa.array([doubt.unit for _, doubt in told], pa.string())
    basis = "the pressures and times of other mains; common practice, no source"
    return Found(np.full(len(told), -1, dtype=np.int64), message, value, limit, unit, basis, lengths)


def test_early(judged: Judged) -> Found:
    if "inspected_on" not in judged.log.fields or not judged.tests.judged:
        return nothing_found()
    dates = judged.text("inspected_on")
    after = laid_after(judged.job, judged.tests, judged.joints, dates.to_numpy(zero_copy_only=False))
    tests, count = np.unique(after[after >= 0], return_counts=True)
    first = np.array([int(np.flatnonzero(after == test)[0]) for test in tests], dtype=np.int64)
    lengths = judged.tests.lengths.take(tests)
    tested = pa.array([str(judged.job.pressure_tests[test].tested_on) for test in tests], pa.string())
    message = say(
        "pressure test ", lengths.from_station, " to ", lengths.to_station, " of ", tested, ": ",
        plain(count.astype(float)), " joints there were inspected after it, the first at ",
        judged.joints.station.take(pa.array(first)), " on ", pc.cast(dates.take(pa.array(first)), pa.string()),
        "; they were not under this test: a date is wrong, or the length needs another test",
    )  # fmt: skip
    joint = np.full(len(tests), -1, dtype=np.int64)
    return Found(joint, message, count.astype(float), None, None, "the dates of the log and of the test", lengths)


def length_untested(judged: Judged) -> Found:
    """Tell lengths under no test, and those of tests that cannot be judged; `test_doubtful` has the rest."""
    tests = judged.tests
    unclear = [at for at, one in enumerate(tests.judged)
               if one.result == "not-judged" and not one.retested and not one.doubts]  # fmt: skip
    lengths = tests.untested.plus(tests.lengths.take(np.array(unclear, dtype=np.int64)))
    amount = (lengths.end - lengths.start) / judged.scale
    none = [""] * len(tests.untested)
    which = pa.array(none + [" that can be judged"] * len(unclear), pa.string())
    why = pa.array(none + [f": {tests.judged[at].message}" for at in unclear], pa.string())
    message = say(
        "no pressure test", which, " from ", lengths.from_station, " to ", lengths.to_station, ", ", plain(amount),
        f" {judged.symbol}", why,
    )  # fmt: skip
    joint = np.full(len(lengths), -1, dtype=np.int64)
    return Found(joint, message, amount, None, judged.symbol, "the job's pressure tests", lengths)


def in_the_survey(code: str) -> Callable[[Judged], Found]:
    """Make the check that tells what was doubtful in the survey under one code."""

    def find(judged: Judged) -> Found:
        doubted = judged.doubted
        at = np.array([row for row, one in enumerate(doubted.doubts) if one.code == code], dtype=np.int64)
        if not len(at):
            return nothing_found()
        some = [doubted.doubts[row] for row in at.tolist()]
        # One unit for one check: doubts of one code come from the shots, and are in the unit of the coordinates.
        return Found(
            np.full(len(at), -1, dtype=np.int64),
            pa.array([one.message for one in some], pa.string()),
            np.array([one.value for one in some]),
            np.array([one.limit for one in some]),
            some[0].unit,
            pa.array([one.basis for one in some], pa.string()),
            doubted.lengths.take(at),
            np.array([one.vertex for one in some], dtype=np.int64),
            doubted.point.take(pa.array(at)),
        )

    return find
