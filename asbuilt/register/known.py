"""Names that a question uses and that nothing in the register has: told with the names that are near to them."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence

from asbuilt.register import question
from asbuilt.register.question import Question
from asbuilt.register.store import Store

ROWS = 20_000
"""Rows of the logs that are looked through for their columns and what these say."""
LISTED = 20
"""Names that are listed where none is near."""
_ROUTES = "SELECT j.route FROM joints j UNION SELECT n.route FROM joint_names n"
_STANDING = "FROM inspections i WHERE i.state = 'standing'"


def unknown(store: Store, asked: Question) -> str | None:
    """Say which name of a question nothing in the register has, by its option, and the names that may be meant."""
    for option, what, given, sql in _names(asked):
        known = [str(name) for (name,) in store.rows(sql) if name is not None] if given else []
        said = _among(option, what, given, known)
        if said is not None:
            return said
    said = _sizes(store, asked.sizes) if asked.sizes else None
    return said or next(filter(None, (_column(store, one) for one in asked.columns)), None)


def several(asked: Question) -> bool:
    """Say whether a question names several of a kind, any of which will do."""
    return any(len(given) > 1 for _, _, given, _ in _names(asked)) or len(asked.sizes) > 1


def _names(asked: Question) -> Iterator[tuple[str, str, Sequence[str], str]]:
    """Give option, word, names asked for, and where the register's names stand."""
    yield "route", "route", asked.routes, _ROUTES
    yield "job", "job", asked.jobs, "SELECT DISTINCT l.job FROM loads l WHERE l.state = 'standing'"
    yield "load", "load", [str(one) for one in asked.loads], "SELECT l.load_id FROM loads l WHERE l.state = 'standing'"
    yield "crew", "crew", asked.crews, f"SELECT DISTINCT i.crew {_STANDING}"
    yield "inspector", "inspector", asked.inspectors, f"SELECT DISTINCT i.inspector {_STANDING}"
    yield "type", "joint type", asked.types, "SELECT DISTINCT j.joint_type FROM joints j"
    yield "kind", "kind", asked.kinds, "SELECT DISTINCT j.kind FROM joints j"


def _among(option: str, what: str, given: Sequence[str], known: Sequence[str]) -> str | None:
    lower = {name.lower() for name in known}
    for one in given:
        if one.lower() not in lower:
            near = question.meant(one, known)
            names = sorted(known)[:LISTED]
            listed = f"; the register has {', '.join(names)}" if names else "; the register has none"
            return f"--{option}: the register has no {what} {one!r}{near or listed}"
        if option in ("route", "job") and one not in known:
            return f"--{option}: the register has no {what} {one!r}{question.meant(one, known)}"
    return None


def _sizes(store: Store, sizes: Sequence[str]) -> str | None:
    known = store.rows("SELECT DISTINCT j.size, j.size_unit FROM joints j WHERE j.size IS NOT NULL ORDER BY 1, 2")
    for one in sizes:
        size, unit = question.size_of(one)
        if not any(size == of and unit in ("", of_unit or unit) for of, of_unit in known):
            nearest = sorted(known, key=lambda row: abs(float(row[0]) - size))[:3]
            words = ", ".join(f"{of:g}{of_unit or ''}" for of, of_unit in nearest) or "none"
            return f"--size: no joint of the register is of size {one!r}; the nearest sizes are {words}"
    return None


def column(store: Store, name: str) -> str | None:
    """Say of a column to group by that no log has it, with the names that may be meant."""
    said = _column(store, f"{name}=")
    return said and said.replace("--column:", "--group-by:", 1)


def _column(store: Store, text: str) -> str | None:
    """Say of a column that no log has it, or of a value that the column has it nowhere."""
    name, _, value = (part.strip() for part in text.partition("="))
    rows = [json.loads(row or "{}") for (row,) in store.rows(f"SELECT i.original {_STANDING} LIMIT {ROWS}")]
    columns = {column.lower(): column for row in rows for column in row}
    if name.lower() not in columns:
        near = question.meant(name, list(columns.values()))
        listed = f"; their columns are {', '.join(sorted(columns.values())[:LISTED])}"
        return f"--column: no log of the register has a column {name!r}{near or listed}"
    said = {str(cell) for row in rows for column, cell in row.items() if column.lower() == name.lower()}
    near = question.meant(value, said)
    if near and value.lower() not in {one.lower() for one in said}:
        return f"--column: no row of the logs has {value!r} in {columns[name.lower()]!r}{near}"
    return None
