"""Marks on findings: who looked at one, when, and what they noted; every mark is kept, the latest counts."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from asbuilt.errors import AsbuiltError, InputFileError
from asbuilt.register.layout import REGISTER_DOMAINS
from asbuilt.register.opening import changing
from asbuilt.register.store import Store, insert, now, who

SHORTEST = 8
"""Letters that name a finding."""
LATEST = (
    "coalesce((SELECT m.mark FROM finding_marks m WHERE m.fid = (SELECT max(x.fid) FROM finding_marks x "
    "WHERE x.finding_uid = {finding}.finding_uid)), 'open')"
)
"""What became of a finding, as SQL: its latest mark counts."""


def mark(
    register: Path | str, finding_uid: str, *, note: str | None = None, by: str | None = None, as_: str = "looked-at"
) -> dict[str, Any]:
    """Mark a finding of a register.

    Parameters
    ----------
    register : path of a register, or a postgresql:// address
    finding_uid : str
        The finding, as `find --json` names it, or the first letters of its name: eight or more.
    note : str, optional
        A note to keep with the mark.
    by : str, optional
        Who looked; the user of this machine, if left out.
    as_ : {"looked-at", "open"}
        What became of the finding.

    Returns
    -------
    dict
        The mark as it was written.

    Raises
    ------
    InputFileError
        When the register has no such finding, or several whose names begin so.
    """
    if as_ not in REGISTER_DOMAINS["mark"]:
        raise AsbuiltError(f"--as: {as_!r} is not one of {', '.join(REGISTER_DOMAINS['mark'])}")
    with changing(register) as store:
        written = {
            "finding_uid": _whole(store, finding_uid),
            "mark": as_,
            "note": note,
            "marked_by": who(by),
            "marked_at": now(),
        }
        insert(store, "finding_marks", **written)
        return written


def _whole(store: Store, begins: str) -> str:
    """Give the whole name of the finding whose name begins so."""
    exactly = "SELECT DISTINCT finding_uid FROM findings WHERE finding_uid = :begins"
    found = store.rows(exactly, begins=begins)
    if not found and len(begins) < SHORTEST:
        raise InputFileError(f"a finding is named by {SHORTEST} letters or more, not {begins!r}; see asbuilt find")
    if not found:
        begun = f"SELECT DISTINCT finding_uid FROM findings WHERE substr(finding_uid, 1, {len(begins)}) = :begins"
        found = store.rows(begun, begins=begins)
    if len(found) != 1:
        many = f"{len(found)} findings begin with" if found else "there is no finding"
        raise InputFileError(f"{store.name}: {many} {begins}; take its finding_uid from asbuilt find --json")
    return str(found[0][0])
