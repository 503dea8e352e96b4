"""What a load should make a person ask: a main laid beside another, a survey that takes the place of another.

Nothing here is an error; each is told once for each pair of jobs, with its count and the remedy.
"""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt import units
from asbuilt.arrays import Bools, Ints, as_mask
from asbuilt.inputs.vectors import file_digest
from asbuilt.notes import OF_THE_LINE, Note
from asbuilt.register import fields, ground, merge
from asbuilt.register.again import BESIDE_M, FEW
from asbuilt.register.incoming import Incoming
from asbuilt.register.layout import run_told
from asbuilt.register.loaded import Loaded
from asbuilt.register.planning import Plan
from asbuilt.register.store import Store, floats, ints, today

REACH_M = 15.0
"""How far joints of a main are asked for, to draw the line between them: longer than half of any pipe length."""
TOLD = 5
"""Jobs and routes that are told by name; the others are counted."""
FAR_KM = 50
"""Joints of one register are nearer to one another than this; a neighbouring zone is farther. Ours, no source."""
_KM_OF_A_MILE = 1.609344
RISE_M = 0.15
"""Half a foot: heights of one joint that differ by more, and by more than both are good for, are not of one survey's
error. Ours, no source."""


def tell_of_days(incoming: Incoming, result: Loaded) -> None:
    """Say which inspections, and whether the survey, are dated later than today: they are not taken for the latest."""
    last = today()
    records = incoming.tables["inspections"]
    late = np.zeros(0, dtype=np.int64)
    if "inspected_on" in records.column_names:
        late = np.flatnonzero(as_mask(pc.greater(records["inspected_on"].combine_chunks().cast(pa.date32()), last)))
    if len(late):
        named = ", ".join(
            " ".join(str(records[name][row]) for name in ("route", "joint", "inspected_on"))
            for row in late[:TOLD].tolist()
        )
        more = ", ..." if len(late) > TOLD else ""
        result.notes.append(
            f"inspections dated later than today: {len(late)} ({named}{more}); have the dates corrected: no inspection "
            "of another job gives way to one of them"
        )
    if incoming.surveyed_on is not None and incoming.surveyed_on > last.isoformat():
        result.notes.append(
            f"centerline.surveyed_on of the job, {incoming.surveyed_on}, is later than today: correct it and load the "
            "job again; no survey of another job gives way to this one"
        )


def tell_of_records_set_aside(incoming: Incoming, result: Loaded) -> None:
    """Say how many records of the job are in no joint, and why: the joints alone do not show that they are missing."""
    aside = incoming.tables["set_aside"]
    if not aside.num_rows:
        return
    reasons = Counter(aside["reason"].to_pylist()).most_common()
    result.notes.append(
        f"{aside.num_rows:,} record{'s are' if aside.num_rows > 1 else ' is'} set aside, in no joint of this file: "
        f"{', '.join(f'{reason} {count:,}' for reason, count in reasons)}; asbuilt check tells which rows: put them "
        "right, place the job again, and load that"
    )


def tell_of_lines(notes: Sequence[Note], result: Loaded) -> None:
    """Say what the job notes of lines on which all joints may stand elsewhere than they were laid."""
    result.notes += [
        f"{note.text}. Joints there that were not surveyed themselves are loaded at places that may be wrong, and "
        "without accuracy: put it right, place the job again, and load that"
        for note in notes
        if note.code in OF_THE_LINE or note.code == "direction-untold"
    ]


def tell_of_inputs(path: Path, run: Mapping[str, Any], result: Loaded) -> None:
    """Say which files that the job was placed from stand where they did, or beside it, and were changed since."""
    changed = []
    for one in run["inputs"]:
        named = Path(one["path"])
        there = [beside for beside in (path.parent / named, path.parent / named.name, named) if beside.exists()]
        try:
            if there and one["sha256"] not in map(file_digest, there):
                changed.append(str(there[0]))
        except OSError:
            continue  # what may not be read tells nothing
    if changed:
        result.notes.append(
            f"{path} was placed before {', '.join(changed)} {'was' if len(changed) == 1 else 'were'} changed, and "
            "tells what stood there then: place the job again, and load that, if the changes are to be in the register"
        )


def tell_of_a_name_given_twice(store: Store, incoming: Incoming, plan: Plan, result: Loaded) -> None:
    """Say where a job of this name is in the register and few joints of the file are of its: two jobs may be meant.

    So it is where a main was laid in two seasons, and the second log begins with the last joint of the first, or its
    numbers begin anew.
    """
    here = np.flatnonzero(plan.decision.what == merge.CONFLICT)
    elsewhere = here[as_mask(pc.equal(plan.decision.reason.take(pa.array(here)), merge.SAME_JOINT_ELSEWHERE))]
    elsewhere = elsewhere[plan.pairs.same_job[plan.decision.pair[elsewhere]]]
    if 2 * (result.joints["new"] + len(elsewhere)) <= result.joints["read"]:
        return
    # All joints are looked at only where there is such a job.
    if not store.rows("SELECT 1 FROM loads WHERE job = :job AND state = 'standing' LIMIT 1", job=incoming.job):
        return
    found = store.rows(
        "SELECT j.route, min(l.load_id), count(*) FROM joints j JOIN loads l ON l.load_id = j.first_load_id "
        "WHERE l.job = :job AND l.state = 'standing' GROUP BY j.route ORDER BY 2, 1",
        job=incoming.job,
    )
    count = sum(int(joints) for *_, joints in found)
    known = result.joints["updated"] + result.joints["unchanged"]
    if 2 * known >= count:
        return
    routes = ", ".join(str(route) for route, *_ in found[:TOLD]) + (", ..." if len(found) > TOLD else "")
    of_them = "no joint of this file is one of them"
    if known:
        are = "is one of them" if known == 1 else "are of them"
        of_them = f"only {known} of the {result.joints['read']} joints of this file {are}"
    ended = ""
    if result.joints["updated"]:
        named = ", ".join(f"{one['route']} {one['joint']}" for one in result.changes[:TOLD])
        more = ", ..." if result.joints["updated"] > TOLD else ""
        ended = f". What this file says of {named}{more} takes the place of what was known"
    waits = ""
    if len(elsewhere) == 1:
        waits = " (1 has the number of a joint that lies elsewhere, and waits)"
    elif len(elsewhere):
        waits = f" ({len(elsewhere)} have the numbers of joints that lie elsewhere, and wait)"
    result.notes.append(
        f"a job of the name {incoming.job!r} is in the register already (load {found[0][1]}, {count} joints of "
        f"{routes}), and {of_them}{waits}: is it the same job? If not, as where this is another season's, undo this "
        "load and give this job a name of its own, as under one name each load is taken for a correction of the one "
        f"before{ended}"
    )


def tell_of_a_name_like_another(store: Store, incoming: Incoming, result: Loaded) -> None:
    """Say where the register has a job whose name is this one's but for its spelling: one job may be meant."""
    found = store.rows("SELECT job, max(load_id) FROM loads WHERE state = 'standing' GROUP BY job ORDER BY 2")
    if any(job == incoming.job for job, _ in found):
        return
    alike = [(str(job), int(number)) for job, number in found if _plain_name(job) == _plain_name(incoming.job)]
    for job, number in alike[-1:]:
        result.notes.append(
            f"the register has a job {job!r} (load {number}), whose name is spelled otherwise than this one's, "
            f"{incoming.job!r}, and says the same: is it the same job? Then undo this load, give the job that name, "
            "and load it again: under a name of its own it corrects nothing of that job, and the records of both stand"
        )


def _plain_name(name: str) -> tuple[str, ...]:
    """Give the words of a name without capitals, marks between them, and zeros in front of numbers.

    Examples
    --------
    >>> _plain_name("Contract 27-01: Quarry  Lane") == _plain_name("CONTRACT 27/1 quarry_lane")
    True
    >>> _plain_name("Contract 27-01") == _plain_name("Contract 27-10")
    False
    """
    words = re.split(r"[\W_]+", unicodedata.normalize("NFKC", name).casefold())
    return tuple(word.lstrip("0") if word.isdigit() else word for word in words if word) or (name,)


def tell_of_a_job_far_off(store: Store, incoming: Incoming, result: Loaded) -> None:
    """Say where a job lies far from all that the register has: nothing else tells a zone from its neighbour."""
    if not result.joints["new"] or result.joints["new"] < result.joints["read"]:
        return
    if not store.rows("SELECT 1 FROM joints LIMIT 1"):
        return
    spots = np.column_stack([incoming.easting, incoming.northing])
    spots = spots[np.isfinite(spots).all(axis=1)]
    if not len(spots):
        return
    least, middle = spots.min(axis=0), (spots.min(axis=0) + spots.max(axis=0)) / 2.0
    half = float(store.ground.away(*middle[:, None], *least[:, None])[0])
    # Most jobs lie among others; a store lists all that a box holds, so small ones are asked for first.
    for kilometres in (1.0, 10.0, FAR_KM):
        box = store.ground.box(float(middle[0]), float(middle[1]), half + 1000.0 * kilometres)
        if np.all(np.isfinite(box)) and store.rows(f"SELECT 1 FROM joints j WHERE {store.inside(box)} LIMIT 1"):
            return
    longitude, latitude = store.ground.lonlat(*middle[:, None])
    result.notes.append(
        f"no joint of the register lies within {FAR_KM} km ({FAR_KM / _KM_OF_A_MILE:.0f} miles) of this job, which "
        f"lies around latitude {latitude[0]:.4f}, longitude {longitude[0]:.4f}: is that the place? If not, undo this "
        "load, and correct the coordinate system of the job's survey, or its unit"
    )


def tell_of_a_newer_load(store: Store, incoming: Incoming, plan: Plan, result: Loaded) -> None:
    """Say what speaks for it that the file is older than what the job's loads brought before: the later load holds."""
    changed = np.flatnonzero(plan.decision.what == merge.UPDATED)
    before = store.rows(
        "SELECT load_id, run FROM loads WHERE job = :job AND state = 'standing' ORDER BY load_id", job=incoming.job
    )
    if not len(changed) or not before:
        return
    number, run = int(before[-1][0]), run_told(before[-1][1])
    signs = []
    if fields.is_earlier(incoming.surveyed_on, run.get(fields.SURVEYED_ON), today().isoformat()):
        signs.append(f"its survey is of {run[fields.SURVEYED_ON]}, this file's of {incoming.surveyed_on}")
    if str(incoming.run["made_at"]) < str(run.get("made_at") or ""):
        signs.append(f"it was placed at {run['made_at']}, this file at {incoming.run['made_at']}")
    # A day that the file leaves blank says nothing of its age.
    dated = np.isin(changed, incoming.record_joint[_dated(incoming)]).astype(np.int64)
    store.stage("going", {"fid": plan.fid[changed], "row": changed, "dated": dated})
    own = "JOIN loads l ON l.load_id = {0}.load_id WHERE l.job = :job AND l.state = 'standing'"
    theirs = store.rows(
        "SELECT max(i.inspected_on) FROM going g JOIN joints j ON j.fid = g.fid JOIN inspections i "
        f"ON i.joint_uid = j.joint_uid {own.format('i')} AND i.state = 'standing' AND i.inspected_on <= :today "
        "AND g.dated = 1",
        job=incoming.job, today=today().isoformat(),
    )[0][0]  # fmt: skip
    ours = _latest_day(incoming, changed)
    if theirs is not None and ours is not None and ours < str(theirs):
        signs.append(f"the latest inspection of these joints there is of {theirs}, in this file of {ours}")
    row, load, content = store.arrays(
        "SELECT g.row, e.load_id, e.content FROM going g JOIN joints j ON j.fid = g.fid JOIN joints_earlier e "
        f"ON e.joint_uid = j.joint_uid {own.format('e')} AND e.load_id < :latest ORDER BY g.row, e.fid",
        [ints] * 3, job=incoming.job, latest=number,
    )  # fmt: skip
    same = content == incoming.content[row]
    back = dict(zip(row[same].tolist(), load[same].tolist(), strict=True))
    if back:
        joints = incoming.tables["joints"]
        named = ", ".join(f"{joints['route'][row]} {joints['joint'][row]}" for row in list(back)[:TOLD])
        more = ", ..." if len(back) > TOLD else ""
        signs.append(
            f"of the {len(changed)} joints that change, {len(back)} go back to what load {max(back.values())} said, "
            f"which was corrected since ({named}{more})"
        )
    if signs:
        result.notes.append(
            f"load {number} of this job seems to be newer than this file: {'; '.join(signs)}. The load that comes last "
            "holds: is this file the older one? Then undo this load"
        )


def _dated(incoming: Incoming) -> Bools:
    """Tell which records of a file have a day."""
    records = incoming.tables["inspections"]
    if "inspected_on" not in records.column_names:
        return np.zeros(len(records), dtype=np.bool_)
    return as_mask(records["inspected_on"].combine_chunks().is_valid())


def _latest_day(incoming: Incoming, rows: Ints) -> str | None:
    """Give the day of the latest inspection of joints in a file, today at the latest; None where it has none."""
    records = incoming.tables["inspections"]
    if not _dated(incoming).any():
        return None
    days = (
        records["inspected_on"]
        .combine_chunks()
        .cast(pa.date32())
        .filter(pa.array(np.isin(incoming.record_joint, rows)))
    )
    last = pc.max(days.filter(pc.less_equal(days, today()))).as_py()
    return None if last is None else str(last.isoformat())


def tell_of_another_order_of_dates(store: Store, plan: Plan, incoming: Incoming, result: Loaded) -> None:
    """Say where the dates of a job's joints come again with month and day exchanged: another order was read."""
    changed = np.flatnonzero(plan.decision.what == merge.UPDATED)
    columns = incoming.tables["joints"].column_names
    if len(changed) < FEW or "inspected_on" not in columns:
        return
    store.stage("dated", {"fid": plan.fid[changed], "row": changed})
    found = store.rows(
        "SELECT d.row, j.inspected_on FROM dated d JOIN joints j ON j.fid = d.fid JOIN loads l "
        "ON l.load_id = j.inspection_load_id WHERE l.job = :job AND j.inspected_on IS NOT NULL ORDER BY d.nr",
        job=incoming.job,
    )
    days = incoming.tables["joints"]["inspected_on"].combine_chunks().cast(pa.string()).to_pylist()
    other = [(int(row), str(day), days[int(row)]) for row, day in found if days[int(row)] not in (None, str(day))]
    exchanged = [(row, day, now) for row, day, now in other if now == f"{day[:4]}-{day[8:]}-{day[5:7]}"]
    if len(exchanged) < FEW or 2 * len(exchanged) <= len(other):
        return
    joints = incoming.tables["joints"]
    named = ", ".join(
        f"{joints['route'][row]} {joints['joint'][row]}: {day}, now {now}" for row, day, now in exchanged[:FEW]
    )
    more = ", ..." if len(exchanged) > FEW else ""
    result.notes.append(
        f"the dates of {len(exchanged)} joints are those that the register has with month and day exchanged "
        f"({named}{more}): the log was read by another order of dates than before. Which one is right stands in the "
        "log; if it is the former, undo this load, say it in the job (records.date_order) and place and load the job "
        "again"
    )


def tell_of_another_name_of_a_route(incoming: Incoming, plan: Plan, result: Loaded) -> None:
    """Say where a route of the job stands where an earlier load of it had a route of another name."""
    rows = np.flatnonzero((plan.decision.what == merge.CONFLICT) & (plan.decision.pair >= 0))
    pair = plan.decision.pair[rows]
    rows = rows[plan.pairs.same_job[pair] & ~plan.pairs.same_route[pair]]
    names = np.asarray(incoming.text("route"), dtype=object)
    former = plan.register["route"][plan.decision.pair[rows]]
    for route, was in sorted(set(zip(names[rows].tolist(), former.tolist(), strict=True))):
        count, of = int(((names[rows] == route) & (former == was)).sum()), int((names == route).sum())
        if count < FEW or 2 * count <= of:
            continue
        result.notes.append(
            f"{count} of {of} joints of route {route} stand where an earlier load of this job has route {was}: was the "
            f"route given another name? They wait to be settled. Give it the name {was} again, and place and load the "
            f"job; or asbuilt conflicts {result.register} --job {incoming.job!r} --route {route!r} --settle theirs, by "
            f"which they are the joints of {was}, which keep that name in the register"
        )


def tell_of_a_route_in_part(incoming: Incoming, plan: Plan, result: Loaded) -> None:
    """Say where joints of a route go to the register's of that name, though no joint that both have is in one place."""
    what, pair = plan.decision.what, plan.decision.pair
    names = np.asarray(incoming.text("route"), dtype=object)
    waits = np.flatnonzero(what == merge.CONFLICT)
    waits = waits[plan.pairs.same_uid[pair[waits]] & ~plan.pairs.same_job[pair[waits]]]
    for route in sorted(set(names[waits].tolist())):
        of = names == route
        new, known = (
            int((of & (what == merge.NEW)).sum()),
            int((of & (what != merge.NEW) & (what != merge.CONFLICT)).sum()),
        )
        if new and not known:
            count = int((names[waits] == route).sum())
            result.notes.append(
                f"{count} joint{'s' * (count != 1)} of route {route} wait, as the register has joints of these numbers "
                f"elsewhere, and not one is where the register has it; the other {new} are taken into the register's "
                f"{route} all the same. Is that the same main? If not, undo this load, and load the file with --main "
                "NAME"
            )


def tell_of_places(store: Store, incoming: Incoming, plan: Plan, result: Loaded) -> None:
    """Say which joints leave the place that another job's survey gave them, and which keep it."""
    changed = np.flatnonzero(plan.decision.what == merge.UPDATED)
    if not len(changed):
        return
    kept = plan.kept.get(fields.PLACE, {})
    store.stage("placed_before", {"fid": plan.fid[changed], "row": changed})
    found = store.rows(
        "SELECT p.row, j.place_load_id, l.job, l.run, j.accuracy_vertical, j.coordinate_unit, "
        "j.accuracy_horizontal FROM placed_before p "
        "JOIN joints j ON j.fid = p.fid JOIN loads l ON l.load_id = j.place_load_id WHERE l.job <> :job ORDER BY p.nr",
        job=incoming.job,
    )
    _tell_of_heights(incoming, plan, found, kept, ground.own_unit(store.crs), result)
    _tell_of_worse_places(
        incoming, [one for one in found if kept.get(one[0]) is None], ground.own_unit(store.crs), result
    )
    less_sure = set(plan.less_sure.tolist())
    _tell_of_surer_places(incoming, plan, [one for one in found if one[0] in less_sure], store, result)
    by_load: dict[tuple[int, str, str | None, bool], list[float]] = {}
    for row, load, job, run, *_ in found:
        if row in less_sure:
            continue
        away = float(plan.pairs.away[plan.decision.pair[row]])
        if away > merge.MOVED:
            day = run_told(run).get(fields.SURVEYED_ON)
            by_load.setdefault((int(load), str(job), day, kept.get(row) is not None), []).append(away)
    unit = store.unit
    for (load, job, day, stays), away_m in sorted(by_load.items(), key=lambda one: one[0][:2])[:TOLD]:
        far = _far_words(max(away_m), unit)
        dated = day is not None and incoming.surveyed_on is not None
        count, verb = ("1 joint", "s") if len(away_m) == 1 else (f"{len(away_m)} joints", "")
        if stays:
            why = (
                f"that survey, of {day}, is the later one; this job's is of {incoming.surveyed_on}"
                if dated and fields.is_earlier(incoming.surveyed_on, day, today().isoformat())
                else "this job has them where it had them before"
            )
            result.notes.append(
                f"{count} stay{verb} where the survey of {job} (load {load}) has them, {far} from this job's: {why}"
            )
            continue
        moved = f"{count} move{verb} by {far}, from where {job} (load {load}) had them to where this job has them"
        if dated:
            result.notes.append(
                f"{moved}; its survey, of {incoming.surveyed_on}, is not earlier than that one, of {day}"
            )
            continue
        result.notes.append(
            f"{moved}; the later load counts, as not both jobs say when they were surveyed (centerline.surveyed_on). "
            f"If the survey of {job} is the later one, undo this load and load {load}, and load the two again in the "
            "order of their surveys"
        )
    if len(by_load) > TOLD:
        result.notes.append(f"so it is with joints from {len(by_load) - TOLD} more loads")


def _tell_of_heights(
    incoming: Incoming, plan: Plan, found: Sequence[tuple[Any, ...]], kept: Mapping[int, Any], unit: str, result: Loaded
) -> None:
    """Say which joints have another height here than in another job's survey, by more than both are good for."""
    if not found:
        return
    row = ints([one[0] for one in found])
    own, rise = incoming.number("accuracy_vertical")[row], plan.pairs.rise[plan.decision.pair[row]]
    theirs = floats([one[4] for one in found]) * np.array([float(units.METRES[one[5]]) for one in found])
    good_for = np.nan_to_num(own) * float(units.METRES[incoming.run["coordinate_unit"]]) + np.nan_to_num(theirs)
    by_load: dict[tuple[int, str, bool], list[float]] = {}
    for at in np.flatnonzero(np.abs(rise) > np.maximum(RISE_M, good_for)).tolist():
        stays = kept.get(int(row[at])) is not None
        by_load.setdefault((int(found[at][1]), str(found[at][2]), stays), []).append(float(rise[at]))
    for (load, job, stays), rises in sorted(by_load.items())[:TOLD]:
        far = ground.range_words(np.abs(rises), unit)
        way = "higher" if min(rises) > 0.0 else "lower" if max(rises) < 0.0 else "higher or lower"
        result.notes.append(
            f"{len(rises)} joint{'s lie' if len(rises) > 1 else ' lies'} {far} {way} by this job than by {job} (load "
            f"{load}): is one of the two in another vertical datum or unit, or shot on another part of the pipe? The "
            f"heights of {f'{job} stay' if stays else 'this job hold now'}"
        )


def _tell_of_surer_places(
    incoming: Incoming, plan: Plan, found: Sequence[tuple[Any, ...]], store: Store, result: Loaded
) -> None:
    """Say which joints stay where another job has them, as it knows their places better and this one agrees."""
    unit = ground.own_unit(store.crs)
    own = incoming.number("accuracy_horizontal") * float(units.METRES[incoming.run["coordinate_unit"]])
    by_load: dict[tuple[int, str], list[tuple[int, float]]] = {}
    for row, load, job, _, _, coordinate_unit, theirs in found:
        by_load.setdefault((int(load), str(job)), []).append((row, theirs * float(units.METRES[coordinate_unit])))
    for (load, job), some in sorted(by_load.items())[:TOLD]:
        rows = ints([row for row, _ in some])
        away = plan.pairs.away[plan.decision.pair[rows]]
        good = [ground.range_words(one, unit) for one in (np.array([theirs for _, theirs in some]), own[rows])]
        stay, them = ("1 joint stays", "it") if len(rows) == 1 else (f"{len(rows)} joints stay", "them")
        result.notes.append(
            f"{stay} where {job} (load {load}) has {them}, {_far_words(float(away.max()), store.unit)} from where this "
            f"job has {them}: good to {good[0]} at 95 % there and to {good[1]} by this job, and the two agree within "
            "what they are good to. If pipe was moved since, have it surveyed as well as it was before"
        )


def _tell_of_worse_places(incoming: Incoming, found: Sequence[tuple[Any, ...]], unit: str, result: Loaded) -> None:
    """Say which joints leave a place that was known better by what the two jobs say of their own places."""
    if not found:
        return
    theirs = floats([one[6] for one in found]) * np.array([float(units.METRES[one[5]]) for one in found])
    own = incoming.number("accuracy_horizontal")[ints([one[0] for one in found])]
    own = own * float(units.METRES[incoming.run["coordinate_unit"]])
    worse = (own > fields.WORSE * theirs) & (own > theirs + fields.WORSE_M)
    by_load: dict[tuple[int, str, bool], list[int]] = {}
    for at in np.flatnonzero(worse | (np.isnan(own) & ~np.isnan(theirs))).tolist():
        by_load.setdefault((int(found[at][1]), str(found[at][2]), bool(worse[at])), []).append(at)
    for (load, job, known), rows in sorted(by_load.items())[:TOLD]:
        now = (
            f"those of this job, which hold now, are good to {ground.range_words(own[rows], unit)}" if known
            else "how good those of this job are, which hold now, it does not say"
        )  # fmt: skip
        result.notes.append(
            f"{len(rows)} joint{'s' * (len(rows) != 1)} had places good to {ground.range_words(theirs[rows], unit)} at "
            f"95 % by {job} (load {load}); {now}. If no pipe was moved since, the "
            "former places are the better ones: undo this load"
        )


def tell_of_leftovers(store: Store, incoming: Incoming, replaced: Sequence[str], out: set[str], result: Loaded) -> None:
    """Name the joints of replaced mains that lie along the new one, and stay in service as they were not named.

    Parameters
    ----------
    store : Store
    incoming : Incoming
    replaced : sequence of str
        The joint_uids of those replaced.
    out : set of str
        Those of all joints that are out of service then.
    result : Loaded
        Gets a note for each route.
    """
    import shapely

    across, up = store.ground.reach(incoming.easting, incoming.northing, 1.0)
    store.stage("now_replaced", {"joint_uid": list(replaced)})
    found = store.rows(
        "SELECT j.route, j.joint, j.station, j.joint_uid, j.easting, j.northing FROM joints j WHERE j.route IN "
        "(SELECT r.route FROM joints r JOIN now_replaced n ON n.joint_uid = r.joint_uid) ORDER BY j.route, j.distance"
    )
    out = out | set(incoming.text("joint_uid").to_pylist())
    left = [one for one in found if one[3] not in out]
    points = shapely.points(np.array([one[4:] for one in left], dtype=np.float64).reshape(-1, 2) / (across, up))
    routes = np.array(incoming.text("route").to_pylist(), dtype=object)
    beside = np.zeros(len(left), dtype=np.bool_)
    for route in sorted(set(routes.tolist())):
        rows = np.flatnonzero(routes == route)
        rows = rows[np.argsort(incoming.number("distance")[rows], kind="stable")]
        if len(rows) > 1:
            line = shapely.linestrings(np.column_stack([incoming.easting[rows] / across, incoming.northing[rows] / up]))
            along = shapely.line_locate_point(line, points)
            # Where the old main goes on beyond an end of the new one, no joint of it lies along that.
            within = (along > 0.0) & (along < line.length)
            beside |= within & (shapely.distance(line, points) <= BESIDE_M)
    of_route: dict[str, list[tuple[Any, ...]]] = {}
    for one in np.flatnonzero(beside).tolist():
        of_route.setdefault(str(left[one][0]), []).append(left[one])
    for route, some in of_route.items():
        named = ", ".join(f"{joint} at {station}" for _, joint, station, *_ in some[:TOLD])
        more = ", ..." if len(some) > TOLD else ""
        stays = "1 joint of" if len(some) == 1 else f"{len(some)} joints of"
        near = ground.length_words(BESIDE_M, store.unit, 1 if store.unit == "m" else 0)
        result.notes.append(
            f"{stays} {route} within {near} of the new main {'stays' if len(some) == 1 else 'stay'} in service, as "
            f"--replaces does not name {'it' if len(some) == 1 else 'them'} ({named}{more}). If the new main took the "
            f"place of {'this one' if len(some) == 1 else 'these'}, too: asbuilt main {result.register} "
            f"'{route} FROM..TO' --as replaced, with the stations between which such joints lie"
        )


def _far_words(metres: float, unit: str) -> str:
    """Say how far at most, never as nothing.

    Examples
    --------
    >>> _far_words(0.3048, "ft"), _far_words(0.0012, "ft")
    ('up to 1.00 ft', 'less than 0.01 ft')
    """
    least = 0.005 * float(units.METRES[unit])
    return f"up to {ground.length_words(metres, unit)}" if metres >= least else f"less than 0.01 {units.SYMBOLS[unit]}"


def tell_of_mains_beside(store: Store, incoming: Incoming, plan: Plan, out: set[str], result: Loaded) -> None:
    """Say where new joints lie along a main of another job that is in service: the new one may replace it."""
    rows = np.flatnonzero(plan.decision.what == merge.NEW)
    if not len(rows) or not store.rows("SELECT 1 FROM joints LIMIT 1"):
        return
    beside = _beside(store, incoming, rows, out)
    by_job: dict[str, list[tuple[str, int]]] = {}
    for (job, route), count in sorted(beside.items()):
        if count >= min(FEW, len(rows)):
            by_job.setdefault(job, []).append((route, count))
    unit = store.unit
    near = ground.length_words(BESIDE_M, unit, 1 if unit == "m" else 0)
    for job, routes in list(by_job.items())[:TOLD]:
        count = max(number for _, number in routes)
        named = ", ".join(route for route, _ in routes[:TOLD])
        remedy = " ".join(f"--replaces {route!r}" for route, _ in routes[:TOLD])
        result.notes.append(
            f"{count} of the {len(rows)} new joints of this job lie within {near} of the main {named} of {job}, which "
            f"is in service; if this main was laid in its place, load the file with {remedy}"
        )
    if len(by_job) > TOLD:
        result.notes.append(f"new joints lie as near to mains of {len(by_job) - TOLD} more jobs")


def _beside(store: Store, incoming: Incoming, rows: Ints, out: set[str]) -> dict[tuple[str, str], int]:
    """Count the new joints beside each main of another job, by job and route."""
    import shapely

    across, up = store.ground.reach(incoming.easting[rows], incoming.northing[rows], REACH_M)
    store.stage("new_joints", {"easting": incoming.easting[rows], "northing": incoming.northing[rows]})
    found = store.rows(
        "SELECT DISTINCT j.fid, j.joint_uid, j.route, l.job, j.distance, j.easting, j.northing "
        f"FROM {store.near('new_joints')} JOIN loads l ON l.load_id = j.first_load_id WHERE l.job <> :job",
        job=incoming.job, reach_east=across, reach_north=up,
    )  # fmt: skip
    found = sorted((one for one in found if one[1] not in out), key=lambda one: (one[3], one[2], one[4] or 0.0, one[0]))
    if not found:
        return {}
    scale = np.array([across, up]) / REACH_M
    places = np.array([one[5:7] for one in found], dtype=np.float64) / scale
    key = [(str(one[3]), str(one[2])) for one in found]
    # From each joint to the next of its main; a joint whose next one is far is a line of no length.
    after = np.minimum(np.arange(len(found)) + 1, len(found) - 1)
    same = np.array([one == key[other] for one, other in zip(key, after.tolist(), strict=True)])
    joined = same & (np.hypot(*(places[after] - places).T) <= 2.0 * REACH_M)
    ends = np.where(joined[:, None], places[after], places)
    tree = shapely.STRtree(shapely.linestrings(np.stack([places, ends], axis=1)))
    points = shapely.points(np.column_stack([incoming.easting[rows], incoming.northing[rows]]) / scale)
    point, line = tree.query(points, predicate="dwithin", distance=BESIDE_M)
    pairs = {(one, key[other]) for one, other in zip(point.tolist(), line.tolist(), strict=True)}
    counted: dict[tuple[str, str], int] = {}
    for _, of in pairs:
        counted[of] = counted.get(of, 0) + 1
    return counted
