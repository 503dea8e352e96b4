"""The checks of deflection: joints over their allowable, those that nothing settles, and what is missing for it."""

from __future__ import annotations

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Bools, Floats, Ints, as_mask
from asbuilt.inputs.pipe import not_iron
from asbuilt.inputs.values import USUAL_BENDS, spread
from asbuilt.judging import verdicts
from asbuilt.judging.bounds import at_most_back, one_sided
from asbuilt.judging.fittings import Bends, left_over
from asbuilt.judging.judged import Found, Judged, nothing_found, plain, rows_of, say, stretch_of
from asbuilt.judging.readings import components
from asbuilt.schema import ASSUMPTIONS


def deflection_over(judged: Judged) -> Found:
    rows = rows_of(pc.equal(judged.verdict, "over"))
    seen, allowable = judged.seen, judged.allowable_deg[rows]
    source, bend = judged.judgement.source[rows], np.isfinite(judged.fitting_deg[rows])
    shared = (source == verdicts.SURVEY) & np.isinf(judged.judgement.least[rows])
    by_fitting = (source == verdicts.SURVEY) & bend & ~shared
    value = np.select(
        [shared, by_fitting],
        [np.degrees(seen.together[rows]), np.degrees(seen.ceiling[rows])],
        judged.deflection_deg[rows],
    )
    limit = np.select([shared, by_fitting], [np.degrees(seen.room[rows]), 2.0 * allowable], allowable)
    shown, allowed = plain(value), plain(limit)
    how = pa.array(["", ", by the readings at the joint,", ", by survey and readings,"]).take(pa.array(source))
    stretch = stretch_of(judged, seen.first[rows], seen.last[rows])
    messages = [
        say("deflection ", shown, " deg", how, " is over the allowable ", allowed, " deg"),
        say("the bend leaves ", shown, " deg to its two joints, which may take ", allowed, " deg together: one of "
             "them is over; a reading at either end tells which"),
        say("one of the ", plain(seen.sharing[rows].astype(float)), " joints ", stretch, " is over: the line turns ",
             shown, " deg there, and by their places they may turn it ", allowed, " deg; a shot or a reading at each "
             "of them tells which"),
        say("the joint ", stretch, " is over: the line turns ", shown, " deg there, and by its place it may turn it ",
             allowed, " deg; a shot or a reading at it tells"),
    ]  # fmt: skip
    which = np.select([shared & (seen.sharing[rows] == 1), shared, by_fitting], [3, 2, 1], 0)
    message = pc.choose(pa.array(which), *messages) if len(rows) else pa.array([], pa.string())
    beside = _beside_a_bend(judged, rows)
    alone = (which == 0) & as_mask(pc.equal(beside, "")) & ~bend
    first, last = _sharing(judged, rows, shared & (seen.sharing[rows] > 1), by_fitting)
    one_row = (which == 1) & (first < 0) & as_mask(pc.equal(beside, ""))
    message = say(message, _moved(judged, rows), beside, _as_a_bend(value, np.where(alone, allowable, np.inf)))
    message = say(message, _as_another_bend(judged, rows[one_row], one_row), _resting_on(judged, rows))
    basis = judged.allowable_source.take(pa.array(rows)).dictionary_decode()
    return Found(rows, message, value, limit, "deg", basis, first=first, last=last)


def _sharing(judged: Judged, rows: Ints, shared: Bools, by_fitting: Bools) -> tuple[Ints, Ints]:
    """Give the joints of which one is over, for each that is by what it shares with others; -1 where it is by itself.

    They share a turn of the line, or what a bend leaves to its two ends, where both of them were logged.
    """
    first, last = (np.where(shared, of[rows], -1) for of in (judged.seen.first, judged.seen.last))
    # What a bend leaves is said at each joint of it that the log has; one by itself is the one that is over.
    one_bend = by_fitting[1:] & by_fitting[:-1] & (np.diff(rows) == 1) & (np.diff(judged.seen.ceiling[rows]) == 0)
    back = np.flatnonzero(one_bend)
    for at in (back, back + 1):
        first[at], last[at] = rows[back], rows[back + 1]
    return first, last


def _resting_on(judged: Judged, rows: Ints) -> pa.Array:
    """Say of joints on what their verdict rests without its being measured."""

    def told(words: str) -> str:
        return "; this rests on more than was measured: " + "; ".join(ASSUMPTIONS[word] for word in words.split())

    return pc.fill_null(spread(judged.assumes.take(pa.array(rows)), told, pa.string()), "")


def _moved(judged: Judged, rows: Ints) -> pa.Array:
    """Say of joints what may have moved them, behind them or all of their line, where that parts them from shots."""
    moved = judged.doubted.moved[rows] / judged.scale
    said = say(
        "; doubted shots before it make the line ", plain(moved), f" {judged.symbol} longer, so the joint may stand "
        "that much too far back: look at the shots before the pipe",
    )  # fmt: skip
    changed = say(
        "; shots before it that may be those of another main change the length of the line by ", plain(moved),
        f" {judged.symbol}, so the joint may stand so far off: look at what is said of them first",
    )  # fmt: skip
    exchanged = np.isin(judged.joints.route[rows], [one.route for one in judged.doubted.doubts if one.of_another])
    said = pc.if_else(pa.array(exchanged), changed, said)
    ahead = (
        "; the stations before it run past an equation as if it were not there: look at the stations before the pipe"
    )
    said = pc.if_else(pa.array(moved > 0), said, ahead)
    off = judged.doubted.off_shots[rows] / judged.scale
    from_one_on = say(
        "; by its station it lies, or may lie, ", plain(off), f" {judged.symbol} off its shot, as the joints beside it "
        "do: look at what is said of them first",
    )  # fmt: skip
    said = pc.if_else(pa.array(off > 0), from_one_on, said)
    beside = "; the shots there may be those of another main: look at what is said of them first"
    said = pc.if_else(pa.array(judged.doubted.on_another(judged.joints)[rows]), beside, said)
    lost = "; all joints of the line stand elsewhere than they were laid: look at what is said of the whole line first"
    said = pc.if_else(pa.array(judged.doubted.misplaced(judged.joints)[rows]), lost, said)
    return pc.if_else(pa.array(judged.doubted.displaced[rows]), said, "")


def _beside_a_bend(judged: Judged, rows: Ints) -> pa.Array:
    """Say of joints beside which a bend of the log lies off its corner that the line may turn there by the bend."""
    joints, reach = judged.joints, judged.job.records.laying_length * judged.scale
    near = np.zeros(len(rows), dtype=np.bool_)
    for one in judged.doubted.doubts:
        if one.code == "bend-off-corner":
            at = joints.distance[rows]
            near |= (joints.route[rows] == one.route) & (at >= one.start - reach) & (at <= one.end + reach)
    said = "; a bend is logged beside it and lies off the corner of the line: look at the stations before the pipe"
    return pc.if_else(pa.array(near), said, "")


def _as_a_bend(turned: Floats, allowable: Floats) -> pa.Array:
    """Say of joints that turn as a bend does that it may have been laid there and not written down, degrees.

    Its two joints seldom take more than one allowable from it together, or add that; judgement.
    """
    made = np.array(sorted(USUAL_BENDS))
    nearest = made[np.abs(turned[:, None] - made).argmin(axis=1)]
    like = (turned > 2.0 * allowable) & (np.abs(turned - nearest) <= allowable)
    said = say("; a bend of ", plain(nearest), " deg turns so: look whether one was laid there and is not in the log")
    return pc.if_else(pa.array(like), said, "")


def _as_another_bend(judged: Judged, rows: Ints, which: Bools) -> pa.Array:
    """Say of some joints at bends that the line turns there as another bend does, or none: the log may have it wrong.

    Parameters
    ----------
    judged : Judged
    rows : array of int, shape (n,)
    which : array of bool, shape (m,)
        Where these stand among what is told; n are true.
    """
    made = np.array([0.0, *sorted(USUAL_BENDS)])
    turned = np.degrees(judged.turns.turn[rows])
    nearest = made[np.abs(turned[:, None] - made).argmin(axis=1)]
    had = np.abs(judged.fitting_deg[rows])
    like = (np.abs(turned - nearest) <= judged.allowable_deg[rows]) & np.isfinite(turned) & (nearest != had)
    head = say("; the line turns ", plain(turned), " deg there, as ")
    another = say(
        head, "a bend of ", plain(nearest), " deg does, and the log has one of ", plain(had), " deg: look which it is"
    )  # fmt: skip
    none = say(head, "without a bend: look whether the bend is in its row of the log")
    found = np.zeros(len(which), dtype=np.int64)
    found[which] = np.where(like, np.arange(1, len(rows) + 1), 0)
    said = pc.if_else(pa.array(nearest == 0.0), none, another)
    return pa.concat_arrays([pa.array([""]), said.cast(pa.string())]).take(pa.array(found))


def _kind_unknown(judged: Judged, rows: Ints) -> tuple[Bools, pa.Array]:
    """Say which joints would be over but for a piece among those that turn there which may be a bend; and its word."""
    unknown = np.flatnonzero(as_mask(judged.unknown_kind.is_valid()))
    if not len(unknown):
        return np.zeros(len(rows), dtype=np.bool_), pa.nulls(len(rows), pa.string())
    seen = judged.seen
    own = np.isin(rows, unknown)
    first = np.where(own, rows, seen.first[rows])
    at = np.searchsorted(unknown, first)
    piece = unknown[np.minimum(at, len(unknown) - 1)]
    beside = (at < len(unknown)) & (piece <= np.where(own, rows, seen.last[rows]))
    turned = np.where(seen.exact[rows], seen.turned.measured.size[rows], seen.together[rows])
    over = beside & (judged.judgement.least[rows] == 0.0) & (np.degrees(turned) > judged.allowable_deg[rows])
    return over, pc.fill_null(judged.unknown_kind.take(pa.array(piece)), "")


def deflection_unclear(judged: Judged) -> Found:
    rows = rows_of(pc.equal(judged.verdict, "cannot-tell"))
    seen, limit, judgement = judged.seen, judged.allowable_deg[rows], judged.judgement
    most = np.degrees(judgement.most[rows])
    low, high = plain(np.degrees(np.maximum(judgement.least[rows], 0.0))), plain(most)
    allowed = say("against ", plain(limit), " deg allowed: ")
    sure = f" deg at {judged.confidence:.4g}, " if judged.confidence > 0.999 else f" deg at {judged.confidence:.1%}, "
    sure = sure.replace(".0%", "%")
    stretch = stretch_of(judged, seen.ceiling_first[rows], seen.ceiling_last[rows])
    sharing = seen.ceiling_last[rows] - seen.ceiling_first[rows] + 1
    by_kind, word = _kind_unknown(judged, rows)
    turned = np.where(seen.exact[rows], seen.turned.measured.size[rows], seen.together[rows])
    by = judgement.both_ways_by[rows]
    beside = judged.text("joint").take(pa.array(np.maximum(by, 0)))
    to_its_two, up_and_down_by = (plain(np.degrees(at_most_back(one[rows]))) for one in (seen.ceiling, seen.upward))
    remedies = [
        say("between ", low, " and ", high, sure, allowed, "a reading at the joint, or a finer survey, tells"),
        say("the bend leaves ", to_its_two, " deg to its two joints, ", allowed, "a reading at either end tells"),
        say("up to ", high, sure, allowed,
            pc.if_else(pa.array(sharing > 1), say("the ", plain(sharing.astype(float)), " joints ", stretch,
                       " share the turn; a shot at each of them, or a reading at this one, tells"),
                       say("shots do not show what the joint ", stretch, " turns by itself; a shot at it and at the "
                           "joints beside it, or a reading, tells"))),
        say("the shots on either side do not bound it, ", allowed, "shots at the joints ", stretch,
             ", or a reading at this one, tell"),
        say("between ", low, " and ", high, sure, allowed, "the readings at the joint do not settle it; finer ones, "
             "or shots at the joints ", stretch, ", tell"),
        say("the readings are of one of the bend's two joints, at least ", low, sure, allowed, "readings at the other "
             "joint, or shots on the straights beside the bend, tell"),
        say("the line there rests on shot ", pc.fill_null(judged.doubted.joint_shot.take(pa.array(rows)), ""),
             ", which is doubted: look at the shot before the pipe; a reading at the joint tells, too"),
        say("survey and readings contradict one another here, ", allowed, "read the joint again, or shoot it again"),
        say("up to ", high, sure, allowed, "it turns ", plain(np.degrees(seen.turned.measured.size[rows])), " deg in "
             "plan, and the elevations shot on either side let it turn up to ", up_and_down_by, " deg "
             "up or down; elevations shot at it and at the joints beside it, or a reading, tell"),
        say("up to ", high, sure, allowed, "elevations are missing there, and those shot on either side let it turn up "
             "to ", up_and_down_by, " deg up or down; elevations shot at the joints ", stretch,
             ", or a reading at this one, tell"),
        say("it turns ", plain(np.degrees(seen.turned.measured.size[rows])), " deg in plan, ", allowed, "elevations "
             "are missing there, and those shot on either side turn up and down and do not bound how far it does; "
             "elevations shot at it and at the joints beside it, or a reading, tell"),
        say("the shots around it may be of other joints, and show no turn to hold against ", plain(limit), " deg "
             "allowed: a reading at the joint tells"),
        say("the line turns ", plain(np.degrees(turned)), " deg there, ", allowed, "what was laid, '", word,
             "', cannot be read, and may be a bend: say which kind it is in the log, or in [records.words.kind]; a "
             "reading at the joint tells, too"),
        say("up to ", high, sure, allowed, "the readings at joint ", beside, " show it to turn more than the shots do "
             "while the main curves one way between them, and it turns back nobody knows where; a shot at each of the "
             "joints ", stretch, ", or a reading at this one, tells"),
        say("a joint there stands out of order by its number or row, so that the turn may be another joint's, ",
             allowed, "have number and station settled first; a reading at the joint tells, too"),
    ]  # fmt: skip
    bend, by_reading = np.isfinite(judged.fitting_deg[rows]), judgement.source[rows] == verdicts.READINGS
    unbounded = ~np.isfinite(most)
    # Where the turn in plan alone would be within, the elevations leave it open.
    upward = np.degrees(seen.upward[rows])
    up_and_down = np.isinf(upward) & seen.exact[rows] & ~by_reading & ~bend
    by_grade = (upward > 0) & (most**2 <= limit**2 + upward**2) & ~by_reading & ~bend
    resting = as_mask(judged.doubted.joint_shot.is_valid())[rows]
    exact, displaced = seen.exact[rows], judged.doubted.displaced[rows]
    contradict = judgement.conflict[rows] | judgement.by_neither[rows]
    masks = [by_kind, contradict, by_reading & unbounded, by_reading, resting, displaced,
             judged.out_of_order.turning[rows], up_and_down, unbounded, by >= 0, by_grade & exact, by_grade,
             exact & ~bend, exact]  # fmt: skip
    which = np.select(masks, [12, 7, 5, 4, 6, 11, 14, 10, 3, 13, 8, 9, 0, 1], default=2)
    message = pc.choose(pa.array(which), *remedies) if len(rows) else pa.array([], pa.string())
    message = say(message, _moved(judged, rows))
    value = np.where(np.isfinite(most), most, np.nan)
    # To be shot, as these remedies say.
    several = np.isin(which, (3, 4, 9, 13)) | ((which == 2) & (sharing > 1))
    first, last = (np.where(several, of[rows], -1) for of in (seen.ceiling_first, seen.ceiling_last))
    basis = judged.allowable_source.take(pa.array(rows)).dictionary_decode()
    return Found(rows, message, value, limit, "deg", basis, first=first, last=last)


def deflection_conflict(judged: Judged) -> Found:
    """Hold the readings against the survey: by the errors of both where they are known, else by the allowable."""
    seen, measured, judgement = judged.seen, judged.readings, judged.judgement
    short, chance = judgement.short
    rows = np.flatnonzero(judgement.conflict | judgement.short.found | judgement.over_by_shots)
    alone = judgement.conflict[rows]
    value, limit = (
        np.where(alone, judgement.apart[rows], short[rows]),
        np.where(alone, judgement.apart_limit[rows], chance[rows]),
    )
    right, up = components(measured.measured_deg[rows], measured.measured_direction_deg[rows])
    survey_right, survey_up = _surveyed(judged, rows)
    differ = say(
        "the survey shows a deflection of ", plain(np.degrees(seen.deflection[rows])), " deg and the readings one of ",
        plain(measured.measured_deg[rows]), " deg: ", plain(np.hypot(right - survey_right, up - survey_up)),
        " deg apart in size and direction, ", plain(value, 1), " standard errors of both; chance puts them ",
        plain(limit, 1), " apart at most",
    )  # fmt: skip
    stretch = stretch_of(judged, seen.first[rows], seen.last[rows])
    less = say(
        "the readings at the ", plain(seen.sharing[rows].astype(float)), " joints ", stretch,
        " add up to less than the ", plain(np.degrees(seen.together[rows])), " deg that the line turns there, by ",
        plain(value, 1), " standard errors of both; chance leaves ", plain(limit, 1), " at most",
    )  # fmt: skip
    unstated = say(
        "the readings show ", plain(measured.measured_deg[rows]), " deg, within, and the shots ",
        plain(np.hypot(survey_right, survey_up)), " deg, over the ", plain(judged.allowable_deg[rows]), " deg allowed; "
        "nobody stated how sure the shots are (centerline.sigma_horizontal, centerline.sigma_vertical): state it, or "
        "shoot or read the joint again",
    )  # fmt: skip
    message = pc.if_else(pa.array(judgement.over_by_shots[rows]), unstated, pc.if_else(pa.array(alone), differ, less))
    often = f"{1.0 - judged.job.limits.confidence:.2g}".rstrip("0")
    basis = f"standard errors of both; by chance a main without any conflict shows one at a rate of {often}"
    added_up = ~alone & ~judgement.over_by_shots[rows] & (seen.first[rows] < seen.last[rows])
    first, last = (np.where(added_up, of[rows], -1) for of in (seen.first, seen.last))
    return Found(rows, message, value, limit, "standard errors", basis, first=first, last=last)


def _surveyed(judged: Judged, rows: Ints) -> tuple[Floats, Floats]:
    """Give the surveyed deflection to the right and upward, degrees; the readings' own upward where it is unknown."""
    turned = judged.seen.turned
    size, toward = np.degrees(turned.measured.one[rows]), turned.toward[rows]
    up = components(judged.readings.measured_deg[rows], judged.readings.measured_direction_deg[rows])[1]
    return size * np.cos(toward), np.where(turned.level[rows], up, size * np.sin(toward))


def allowable_missing(judged: Judged) -> Found:
    rows = rows_of(pc.equal(judged.verdict, "no-allowable"))
    family = pc.fill_null(judged.family.take(pa.array(rows)), "joint of unknown type")
    size = plain(judged.number("size")[rows])
    size = pc.if_else(
        pa.array(np.isnan(judged.number("size")[rows])), "unknown size", say(size, f" {judged.job.records.sizes_in}")
    )
    made = pc.if_else(
        pa.array(not_iron(judged.log.fields, judged.joints.record[rows])), " of pipe that is not of ductile iron", ""
    )
    plain_type = judged.not_restrained.take(pa.array(rows))
    as_named = say(
        "; a row is there of ", plain_type, ", for joints that are not recorded as restrained: if it is that of the "
        "restrained joint, name its type ", family,
    )  # fmt: skip
    message = say(
        "no allowable on file for ", family, ", ", size, made, pc.fill_null(as_named, ""),
        pc.if_else(plain_type.is_valid(), "; else ", "; "), "bring it from the approved submittal",
    )  # fmt: skip
    tables = " and ".join(name for name in (judged.job.limits.table, judged.job.limits.project) if name)
    basis = f"looked in {tables}" if tables else "the job names no table of limits"
    return Found(rows, message, judged.deflection_deg[rows], None, "deg", basis)


def bend_plane_missing(judged: Judged) -> Found:
    """Tell the bends of no recorded plane whose joints are within only if the bend lies rolled to suit them.

    Laid level or upright, as bends are, it would leave one of its joints more than that may take.
    """
    open_plane = np.isfinite(judged.fitting_deg) & as_mask(judged.text("bend_plane").is_null()) & ~judged.seen.level
    open_plane &= as_mask(pc.match_substring(judged.assumes, "fitting-plane")) & judged.seen.exact
    middle, before, after = judged.segments.adjacent
    at = np.flatnonzero(open_plane[middle])
    if not len(at):
        return nothing_found()
    rows = middle[at]
    back, ahead = judged.segments.facing(before[at], after[at])
    none = np.full(len(rows), -1, dtype=np.int64)
    angle, either = np.radians(judged.fitting_deg[rows]), np.ones(len(rows), dtype=np.bool_)
    as_logged = np.full(len(rows), np.nan)
    level, upright = (
        np.degrees(left_over(back, ahead, Bends(angle, np.full(len(rows), roll), either, none, as_logged))[0])
        for roll in (np.pi / 2.0, 0.0)
    )
    left, least, limit = np.minimum(level, upright), np.degrees(judged.seen.ceiling[rows]), judged.allowable_deg[rows]
    noise = one_sided(judged.confidence) * np.degrees(np.nan_to_num(judged.seen.sigma[rows]))
    told = left - noise > limit
    rows = rows[told]
    level, upright, left, least, limit = (one[told] for one in (level, upright, left, least, limit))
    message = say(
        "the log does not say in which plane the bend of ", plain(judged.fitting_deg[rows]), " deg lies: laid level it "
        "leaves ", plain(level), " deg to its joints, and upright ", plain(upright), " deg, of ", plain(limit),
        " deg allowed each; only rolled so that it suits them does it leave them ", plain(least), " deg",
    )  # fmt: skip
    return Found(rows, message, left, limit, "deg", "bends are laid level or upright; common practice, no source")


def bend_other_way(judged: Judged) -> Found:
    """Tell the bends at which the line turns to the other side than the log says; said of one end of each."""
    turned = judged.bend_other_way
    there = np.isfinite(turned)
    # Where a fitting was logged by its two ends, the first one stands for it.
    first = there & ~(np.append(False, there[:-1]) & (np.append(-1, judged.joints.route[:-1]) == judged.joints.route))
    rows = np.flatnonzero(first)
    if not len(rows):
        return nothing_found()
    upright, behind = judged.bend_upright[rows], turned[rows] < 0
    planes = judged.text("bend_plane")
    says = as_mask(pc.is_in(planes, value_set=pa.array(["left", "right", "up", "down"])))
    says = there | (says & np.isfinite(judged.fitting_deg))
    # Routes twice over: of their bends in plan, and of their upright ones.
    of = 2 * judged.joints.route + judged.bend_upright
    wrong, all_of_them = (np.bincount(of[some], minlength=int(of.max()) + 1) for some in (there, says))
    throughout = (wrong[of[rows]] == all_of_them[of[rows]]) & (wrong[of[rows]] > 1)
    one = pa.array(np.where(upright, np.where(behind, "down", "up"), np.where(behind, "left", "right")))
    other = pa.array(np.where(upright, np.where(behind, "up", "down"), np.where(behind, "to the right", "to the left")))
    message = say(
        "the survey turns ", one, " ", plain(np.abs(np.degrees(turned[rows])), 1), " deg here, where the log has a "
        "bend of ", plain(judged.fitting_deg[rows]), " deg ", other, "; its joints are judged as if it said ", one,
    )  # fmt: skip
    message = say(message, pc.if_else(
        pa.array(throughout),
        say("; all ", plain(wrong[of[rows]].astype(float)), " bends of the route that say ",
            pa.array(np.where(upright, "up or down are so, as where the two are exchanged", "left or right are so, as "
                     "where the crew looked back along the stations"))),
        "",
    ))  # fmt: skip
    return Found(rows, message, np.abs(np.degrees(turned[rows])), judged.fitting_deg[rows], "deg", "the log's bend")


def bend_angle_missing(judged: Judged) -> Found:
    rows = np.flatnonzero(judged.bend_without_angle)
    message = pa.repeat("a bend without its angle; what its joints take cannot be told from what it turns", len(rows))
    return Found(rows, message, basis="the log's row")
