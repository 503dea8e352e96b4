"""Records set aside that a question may mean: they are in no joint, have no place, and say what their row said."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from asbuilt.register import beside, waiting
from asbuilt.register.layout import run_told
from asbuilt.register.question import Question
from asbuilt.register.store import Store, ints

_FIELDS = {"crew": "crews", "inspector": "inspectors"}
"""Fields of a row that are held against a question, and what it asks of them by."""
_FROM_ABOVE = ("do", "ditto", "dto")
_OPTIONS = {
    "since": "--since", "until": "--until", "months": "--month", "items": "--item", "verdicts": "--verdict",
    "findings": "--finding", "sizes": "--size", "types": "--type", "kinds": "--kind", "services": "--service",
    "tested": "--tested", "no_inspection": "--no-inspection", "no_photo": "--no-photo", "unmarked": "--unmarked",
    "over_deg": "--over-deg", "changed_since": "--changed-since", "from_station": "--from", "to_station": "--to",
}  # fmt: skip
"""What a question may ask of which a record set aside is not held against it."""


def meant(store: Store, asked: Question, beyond: str | None = None) -> list[dict[str, Any]]:
    """Give the records set aside that a question may mean: of its routes or those found, as far as their rows tell.

    Parameters
    ----------
    store : Store
        With the numbers of the joints found staged as "found".
    asked : Question
    beyond : str, optional
        Route of the nearest joint where none was found: what was set aside may be just what lies there.
    """
    condition = "1 = 1"
    if asked.routes or asked.near is not None or asked.area is not None:
        there = _routes(store) | ({beyond} if beyond is not None else set())
        store.stage("aside_of", {"route": sorted(set(asked.routes) or there)})
        condition = "(b.route IS NULL OR b.route IN (SELECT route FROM aside_of))"
    return _held(store, asked, condition, surely=False)


def say(store: Store, asked: Question) -> bool:
    """Tell whether a record set aside has the names that a question asks for, as no joint may have them."""
    asks = asked.crews or asked.inspectors or asked.columns
    return bool(asks and _held(store, asked, "1 = 1", surely=True))


def _held(store: Store, asked: Question, condition: str, *, surely: bool) -> list[dict[str, Any]]:
    """List records that meet a condition, and what a question asks of their rows: surely, or as far as they tell."""
    found = [
        one
        for one in beside.listed(store, "set_aside", condition)
        if (not asked.jobs or one["job"] in asked.jobs)
        and (not asked.loads or one["load_id"] in asked.loads)
        and (not asked.joints or one["joint"] in asked.joints)
    ]
    if not found or not (asked.crews or asked.inspectors or asked.columns):
        return found
    store.stage("aside_loads", {"load": ints(sorted({one["load_id"] for one in found}))})
    runs = store.rows("SELECT l.load_id, l.run FROM loads l JOIN aside_loads a ON a.load = l.load_id")
    columns = {int(load): run_told(run).get("matches", ()) for load, run in runs}
    return [
        one
        for one in found
        if meets(json.loads(one["original"] or "{}"), asked, columns[int(one["load_id"])], surely=surely)
    ]


def meets(
    row: Mapping[str, Any], asked: Question, matches: Sequence[Mapping[str, Any]], *, surely: bool = False
) -> bool:
    """Tell whether a row of a log may be of the crew, by the inspector and with the cells that a question asks for.

    A blank cell may stand for the one above it, and so does a ditto mark: nothing is sure then.

    Examples
    --------
    >>> matches = [{"field": "crew", "column": "Gang"}]
    >>> meets({"Gang": "Crew 7"}, Question(crews=["crew 7"]), matches)
    True
    >>> meets({"Gang": "Crew 7"}, Question(crews=["Crew 2"]), matches)
    False
    >>> meets({"Gang": "do."}, Question(crews=["Crew 2"]), matches)
    True
    >>> meets({"Lot": "4711"}, Question(columns=["lot=4712"]), matches)
    False
    """
    wanted = [(field, list(getattr(asked, name))) for field, name in _FIELDS.items() if getattr(asked, name)]
    held = [(str(one["column"]), words) for field, words in wanted for one in matches if one["field"] == field]
    for text in asked.columns:
        name, _, value = text.partition("=")
        held.append((name, [value]))
    cells = {_plain(name): _plain(cell) for name, cell in row.items()}
    said = [(cells.get(_plain(name), ""), [_plain(word) for word in words]) for name, words in held]
    return all(cell in words or (not surely and _stands_for_another(cell)) for cell, words in said)


def _stands_for_another(cell: str) -> bool:
    return not any(letter.isalnum() for letter in cell) or cell.rstrip(".") in _FROM_ABOVE


def _plain(cell: Any) -> str:
    return " ".join(str("" if cell is None else cell).split()).casefold()


def unsure(asked: Question) -> list[str]:
    """Name the options of a question that records set aside are not held against.

    Examples
    --------
    >>> unsure(Question(crews=("Crew 2",), sizes=("12in",), no_photo=True))
    ['--size', '--no-photo']
    """
    return [option for name, option in _OPTIONS.items() if getattr(asked, name) not in ((), [], None, False)]


def words(records: list[dict[str, Any]], options: Sequence[str]) -> str:
    """Say how many records were set aside, which are the first, and what they were not held against.

    Examples
    --------
    >>> record = {"job": "Quarry Lane", "route": "B", "joint": "9", "file": "log.csv", "row": 7}
    >>> words([record], ["--size"])
    '1 record of 1 job was set aside there and is in no joint (B 9 in log.csv row 7), not held against --size'
    """
    said = beside.said_aside(records)
    return f"{said}, not held against {waiting.listed_options(options)}" if options else said


def _routes(store: Store) -> set[str]:
    """Name the routes of the joints found, as the register has them and as other jobs call them."""
    found = store.rows(
        "SELECT j.route FROM found t JOIN joints j ON j.fid = t.fid UNION SELECT n.route FROM found t "
        "JOIN joints j ON j.fid = t.fid JOIN joint_names n ON n.joint_uid = j.joint_uid "
        f"WHERE {beside.stands('n')}"
    )
    return {str(route) for (route,) in found}
