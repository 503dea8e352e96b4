"""What a register can be asked for: the words that its joints, records and jobs use, offered where one is typed."""

from __future__ import annotations

import json
from typing import Any

from asbuilt.register.inventory import ITEMS
from asbuilt.register.opening import reading
from asbuilt.register.question import TEMPERATURE
from asbuilt.register.store import Store
from asbuilt.register.wording import size_words

MOST = 500
"""Words offered of each; others can still be typed."""
_SAMPLED, _RECORDS = 200, 50
"""Loads, and records of each, that are looked at for the columns of a log: a record does not keep its blank cells."""


def choices(register: str) -> dict[str, Any]:
    """Tell what the fields of a question may hold.

    Parameters
    ----------
    register : str

    Returns
    -------
    dict
        By the name of the option of `find`, the words in use; "item" gives them for each item of an inspection.

    Raises
    ------
    AsbuiltError
        When the register cannot be read.
    """
    with reading(register) as store:
        years = _words(store, "inspections", "substr(CAST(t.inspected_on AS varchar(10)), 1, 4)")
        sizes = store.rows("SELECT DISTINCT t.size, t.size_unit FROM joints t WHERE t.size IS NOT NULL ORDER BY 2, 1")
        return {
            "route": _words(store, "joints", "t.route"),
            "size": [f"{size:g}" if unit is None else size_words(size, unit) for size, unit in sizes[:MOST]],
            "type": _words(store, "joints", "t.joint_type"),
            "kind": _words(store, "joints", "t.kind"),
            "inspector": _words(store, "inspections", "t.inspector"),
            "crew": _words(store, "inspections", "t.crew"),
            "month": years,
            "job": _words(store, "loads", "t.job"),
            "load": [str(load) for (load,) in store.rows("SELECT load_id FROM loads ORDER BY load_id LIMIT 500")],
            "item": {"inspection": _words(store, "joints", "t.inspection")}
            | {name: _words(store, "inspections", f't."{name}"') for name in ITEMS}
            | {TEMPERATURE: ["below 40 F", "below 5 C"]},
            "column": _log_columns(store),
        }


def _words(store: Store, table: str, what: str) -> list[str]:
    standing = " AND t.state = 'standing'" if table != "joints" else ""
    found = store.rows(
        f"SELECT DISTINCT {what} FROM {table} t WHERE {what} IS NOT NULL{standing} ORDER BY 1 LIMIT {MOST}"
    )
    return [str(word) for (word,) in found]


def _log_columns(store: Store) -> list[str]:
    """Name the columns of the contractors' logs, as the first records of each load have them."""
    rows = store.rows(
        "SELECT i.original FROM inspections i JOIN (SELECT min(x.fid) AS fid FROM inspections x "
        f"GROUP BY x.load_id ORDER BY x.load_id DESC LIMIT {_SAMPLED}) f ON i.fid >= f.fid "
        f"AND i.fid < f.fid + {_RECORDS} ORDER BY i.fid"
    )
    names: dict[str, None] = {}
    for (original,) in rows:
        names |= dict.fromkeys(json.loads(original or "{}"))
    return list(names)[:MOST]
