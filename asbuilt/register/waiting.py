"""Joints that a load left out because they contradict the register: kept until somebody settles them.

A joint waits until it is settled, or until a later load of its job speaks of its route again, corrected or under a
main of its own; nothing is merged by a guess.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from asbuilt import units
from asbuilt.register import merge, question
from asbuilt.register.layout import run_told
from asbuilt.register.opening import reading
from asbuilt.register.question import Question
from asbuilt.register.store import Store

SAID = ("size", "joint_type", "kind", "verdict", "inspection", "inspected_on", "inspector")
"""What is kept of what the job says of a joint left out, so that answers can tell whether it would be in them."""
SETTLED = (
    "FROM settled s WHERE NOT (s.decision = 'theirs' AND EXISTS "
    "(SELECT 1 FROM loads u WHERE u.load_id = s.load_id AND u.state = 'undone'))"
)
"""What was settled and holds: what a load settled is undone with it."""
_MESSAGES = {
    merge.SAME_JOINT_ELSEWHERE: "the register has a joint of this route and number {away:.2f} {unit} away",
    merge.SAME_ROUTE_ELSEWHERE: "the register has this route elsewhere: what it has near this station is {away:.0f} "
    "{unit} away, and no joint is in both",
    merge.TWO_IN_ONE_PLACE: "another joint lies within {away:.2f} {unit}, and nothing tells that it is the same",
    merge.SURVEYED_AGAIN: "a joint of the register lies {away:.2f} {unit} beside it, and so with the others of its "
    "route: it may be that main, surveyed again",
    merge.RENUMBERED: "an earlier load of the job has a joint of another number at this place, and this number "
    "elsewhere: the log may have been renumbered",
    merge.NUMBER_OF_ANOTHER: "its number is that of a joint {away:.2f} {unit} away that has another number in this "
    "file: give it one of its own",
    merge.RECORD_OF_ANOTHER: "an earlier load of the job has its record under another route: the names of routes may "
    "have been exchanged in the log",
}


def message(reason: str, away_m: float, unit: str) -> str:
    """Say why a joint was left out, with the distance in a unit.

    Examples
    --------
    >>> message(merge.SAME_JOINT_ELSEWHERE, 3.048, "ft")
    'the register has a joint of this route and number 10.00 ft away'
    """
    away = away_m / float(units.METRES[unit])
    return _MESSAGES[reason].format(away=away, unit=units.SYMBOLS[unit])


def settled_away(register: Path | str) -> list[dict[str, Any]]:
    """List the joints of which somebody settled that they stay out, as `conflicts` lists those that wait."""
    with reading(register) as store:
        return left_out(store)[1]


def conflicts(register: Path | str) -> list[dict[str, Any]]:
    """List the joints that wait to be settled.

    Parameters
    ----------
    register : path of a register, or a postgresql:// address

    Returns
    -------
    list of dict
        As `load --json` lists conflicts, each with "job", "load" and "loaded_at" of the load that left it out.

    Raises
    ------
    AsbuiltError
        When the register cannot be read.
    """
    with reading(register) as store:
        return waiting(store)


def waiting(store: Store) -> list[dict[str, Any]]:
    """List the joints of an open register that wait to be settled, by the load that left them out."""
    return left_out(store)[0]


def left_out(store: Store) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """List the joints that wait to be settled, and those of which somebody settled that they stay out."""
    rows = store.rows(
        "SELECT l.load_id, l.job, l.loaded_at, l.conflicts, l.run FROM loads l WHERE l.state = 'standing' "
        "AND EXISTS (SELECT 1 FROM loads y WHERE y.job = l.job AND y.state = 'standing' AND y.joints_left_out > 0) "
        "ORDER BY l.load_id"
    )
    kept: dict[tuple[str, str], list[dict[str, Any]]] = {}
    for number, job, at, text, run in rows:
        told = run_told(run)
        main = told.get("main")
        # Loads of an earlier version do not say their routes: they are taken to speak of those they left out.
        conflicts = json.loads(text or "[]")
        of = [one["route"].removeprefix(f"{main}: ") if main else one["route"] for one in conflicts]
        for route in {*told.get("routes", ()), *of}:
            kept.pop((job, route), None)
        for route, one in zip(of, conflicts, strict=True):
            kept.setdefault((job, route), []).append({"job": job, "load": number, "loaded_at": at, **one})
    # Loads of an earlier version say the distance in metres, whatever the register's unit.
    every = [
        one | {"message": message(one["reason"], one["away_m"], store.unit)} for some in kept.values() for one in some
    ]
    waits = _waits(store, every)
    return (
        [one for one, so in zip(every, waits, strict=True) if so],
        [one for one, so in zip(every, waits, strict=True) if not so],
    )


def _waits(store: Store, found: list[dict[str, Any]]) -> list[bool]:
    """Tell which wait: not those of which somebody settled that the register's joint stays, of just what was said."""
    if not found:
        return []
    settled = store.rows(f"SELECT s.job, s.joint_uid, s.decision, s.said, s.load_id {SETTLED} ORDER BY s.fid")
    latest = {(job, uid): (decision, content, load) for job, uid, decision, content, load in settled}

    def waits(one: dict[str, Any]) -> bool:
        decision, content, load = latest.get((one["job"], one["joint_uid"]), (None, None, None))
        return bool(decision != "ours" or (one.get("content") != content and one["load"] != load))

    return list(map(waits, found))


def near(store: Store, found: list[dict[str, Any]], easting: float, northing: float, metres: float) -> list[Any]:
    """Give those of the waiting joints that lie within a distance of a place in the register's coordinates."""
    places = _places(found)
    if not len(found):
        return []
    here = np.full(len(found), easting), np.full(len(found), northing)
    away = store.ground.away(*here, np.nan_to_num(places[:, 0]), np.nan_to_num(places[:, 1]))
    # One whose place was not kept may be anywhere, so it is told.
    close = (away <= metres) | np.isnan(places).any(axis=1)
    return [one for one, is_close in zip(found, close.tolist(), strict=True) if is_close]


def inside(found: list[dict[str, Any]], polygons: Any) -> list[dict[str, Any]]:
    """Give those of the waiting joints that lie in polygons in the register's coordinates."""
    import shapely

    if not found:
        return []
    places = _places(found)
    close = shapely.intersects_xy(polygons, places[:, 0], places[:, 1]) | np.isnan(places).any(axis=1)
    return [one for one, is_close in zip(found, close.tolist(), strict=True) if is_close]


def _places(found: list[dict[str, Any]]) -> Any:
    places = [[one.get("easting", np.nan), one.get("northing", np.nan)] for one in found]
    return np.array(places, dtype=np.float64).reshape(-1, 2)


def meets(one: dict[str, Any], asked: Question) -> bool:
    """Tell whether a waiting joint may meet the conditions of a question that are not about places.

    What was not kept of it, by a load of an earlier version, may be anything, so the joint is told.
    """
    tests: list[tuple[str, Callable[[Any], bool]]] = []
    if asked.routes:
        theirs = (one["route"], one["register"]["route"])
        tests.append(("route", lambda route: any(each in asked.routes for each in theirs)))
    if asked.joints:
        tests.append(("joint_uid", lambda uid: uid in asked.joints or one["joint"] in asked.joints))
    if asked.since:
        tests.append(("inspected_on", lambda day: day is not None and day >= str(asked.since)))
    if asked.until:
        tests.append(("inspected_on", lambda day: day is not None and day <= str(asked.until)))
    if asked.verdicts:
        tests.append(("verdict", lambda verdict: verdict in asked.verdicts))
    if asked.findings:
        tests.append(("findings", lambda codes: any(code in asked.findings for code in codes)))
    if asked.inspectors:
        people = [question.small(person) for person in asked.inspectors]
        tests.append(("inspector", lambda person: person is not None and question.small(person) in people))
    if asked.jobs:
        tests.append(("job", lambda job: job in asked.jobs))
    if asked.loads:
        tests.append(("load", lambda load: load in asked.loads))
    if asked.months:
        tests.append(("inspected_on", lambda day: day is not None and day.startswith(tuple(asked.months))))
    if asked.sizes:
        tests.append(("size", lambda size: size in [question.size_of(text)[0] for text in asked.sizes]))
    states = question.inspection_states(asked)
    if states:
        tests.append(("inspection", lambda state: state in states))
    if asked.no_inspection:
        tests.append(("inspected_on", lambda day: day is None))
    if asked.unmarked:
        tests.append(("findings", bool))
    for name, given in (("joint_type", asked.types), ("kind", asked.kinds)):
        if given:
            words = [word.lower() for word in given]
            tests.append((name, lambda value, words=words: value is not None and value.lower() in words))  # type: ignore[misc]
    return all(name not in one or test(one[name]) for name, test in tests)


_NOT_KEPT = (
    "crews", "columns", "services", "tested", "no_photo", "over_deg", "changed_since", "from_station", "to_station",
)  # fmt: skip
"""What a question may ask of which nothing is kept of a waiting joint."""


def unsure(asked: Question) -> list[str]:
    """Name the options of a question that waiting joints are not held against: their count is the most there may be.

    Examples
    --------
    >>> unsure(Question(crews=("Crew 2",), sizes=("12in",), items=("gauge=no",)))
    ['--crew', '--item']
    """
    names = [name for name in _NOT_KEPT if getattr(asked, name) not in ((), [], None, False)]
    names += ["items"] if len(question.inspection_states(asked)) < len(asked.items) else []
    return [_OPTIONS.get(name, f"--{name.replace('_', '-')}") for name in names]


_OPTIONS = {"crews": "--crew", "columns": "--column", "services": "--service", "items": "--item",
            "from_station": "--from", "to_station": "--to"}  # fmt: skip


def unsure_words(options: Sequence[str]) -> str:
    """Say that a count of waiting joints is the most there may be.

    Examples
    --------
    >>> unsure_words(["--crew", "--item"])
    'that is the most there may be, as no joint that waits is held against --crew and --item'
    """
    return f"that is the most there may be, as no joint that waits is held against {listed_options(options)}"


def listed_options(options: Sequence[str]) -> str:
    """List options in a sentence.

    Examples
    --------
    >>> listed_options(["--crew"]), listed_options(["--crew", "--item", "--month"])
    ('--crew', '--crew, --item and --month')
    """
    *others, last = options
    return f"{', '.join(others)} and {last}" if others else last


def counted(found: list[dict[str, Any]]) -> dict[str, int]:
    """Count waiting joints and the jobs that they are of."""
    return {"joints": len(found), "jobs": len({one["job"] for one in found})}
