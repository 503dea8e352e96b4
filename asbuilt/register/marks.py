"""Marks on findings: who looked at one, when, and what they noted; every mark is kept, the latest counts."""

from __future__ import annotations

import datetime as dt
import getpass
from typing import Any

from asbuilt.errors import AsbuiltError, InputFileError
from asbuilt.register.layout import REGISTER_DOMAINS
from asbuilt.register.opening import open_existing
from asbuilt.register.store import insert


def mark(
    register: str, finding_uid: str, *, note: str | None = None, by: str | None = None, as_: str = "looked-at"
) -> dict[str, Any]:
    """Mark a finding of a register.

    Parameters
    ----------
    register : str
        Path of a register, or a postgresql:// address.
    finding_uid : str
        The finding, as `find --json` names it.
    note : str, optional
        What whoever looked wants to be known.
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
        When the register has no such finding.
    """
    if as_ not in REGISTER_DOMAINS["mark"]:
        raise AsbuiltError(f"--as: {as_!r} is not one of {', '.join(REGISTER_DOMAINS['mark'])}")
    store = open_existing(register)
    try:
        with store.changing():
            found = store.rows("SELECT count(*) FROM findings WHERE finding_uid = :uid", uid=finding_uid)[0][0]
            if not found:
                raise InputFileError(
                    f"{store.name}: there is no finding {finding_uid}; take its finding_uid from asbuilt find --json"
                )
            written = {
                "finding_uid": finding_uid,
                "mark": as_,
                "note": note,
                "marked_by": by or getpass.getuser(),
                "marked_at": dt.datetime.now(dt.UTC).isoformat(timespec="seconds"),
            }
            insert(store, "finding_marks", **written)
            return written
    finally:
        store.close()
