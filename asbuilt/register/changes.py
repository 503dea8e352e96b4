"""What changed in a register since a day: joints that came, were corrected, undone, marked, replaced or settled."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Any

from asbuilt.register.store import Store

if TYPE_CHECKING:
    from asbuilt.register.question import Question

_JOINTS = "FROM found t JOIN joints j ON j.fid = t.fid "
_CHANGES = {
    "came": "SELECT t.nr, l.loaded_at, l.load_id, l.loaded_by, l.job "
    f"{_JOINTS} JOIN loads l ON l.load_id = j.first_load_id WHERE l.loaded_at >= :since",
    # The state that a load replaced tells that it corrected or added to what was known.
    "corrected": "SELECT DISTINCT t.nr, l.loaded_at, l.load_id, l.loaded_by, l.job "
    f"{_JOINTS} JOIN joints_earlier e ON e.joint_uid = j.joint_uid JOIN loads l ON l.load_id = e.replaced_by "
    "WHERE e.ended_as = 'superseded' AND l.state = 'standing' AND l.loaded_at >= :since",
    "undone": "SELECT DISTINCT t.nr, l.undone_at, l.load_id, l.undone_by, l.job "
    f"{_JOINTS} JOIN joints_earlier e ON e.joint_uid = j.joint_uid JOIN loads l ON l.load_id = e.load_id "
    "WHERE l.undone_at >= :since",
    "marked": "SELECT DISTINCT t.nr, m.marked_at, NULL, m.marked_by, m.mark "
    f"{_JOINTS} JOIN findings f ON f.joint_uid = j.joint_uid JOIN finding_marks m ON m.finding_uid = f.finding_uid "
    "WHERE m.marked_at >= :since",
    "noted": "SELECT t.nr, s.noted_at, s.load_id, s.noted_by, s.service "
    f"{_JOINTS} JOIN joint_service s ON s.joint_uid = j.joint_uid WHERE s.noted_at >= :since",
    "settled": "SELECT t.nr, d.settled_at, d.load_id, d.settled_by, d.decision "
    f"{_JOINTS} JOIN settled d ON d.register_uid = j.joint_uid WHERE d.settled_at >= :since",
}
"""By what happened: number in the answer, when, load, who, and of what (job, mark, service or decision)."""


def add_changes(store: Store, told: list[dict[str, Any]], since: dt.date) -> None:
    """Add to each joint found, as `changes`, what happened to it since a day, in the order of time.

    Parameters
    ----------
    store : Store
        With the joints' numbers staged as "found".
    told : list of dict
        The joints found, in the same order; changed in place.
    since : date
        Days are those of UTC, in which the register writes its times.
    """
    for joint in told:
        joint["changes"] = []
    if not told:
        return
    for what, sql in _CHANGES.items():
        for nr, at, load, by, of in store.rows(sql, since=since.isoformat()):
            told[nr]["changes"].append({"what": what, "at": at, "load": load, "by": by, "of": of})
    for joint in told:
        joint["changes"].sort(key=lambda one: (one["at"], one["load"] or 0))


def gone(store: Store, asked: Question) -> list[dict[str, Any]]:
    """List joints that the register has no more, as a load was undone since the day asked for.

    Of what a question asks besides places only routes, joints, jobs and loads are looked at: what records say of a
    joint that is gone is undone too.
    """
    names = ("joint_uid", "route", "joint", "station", "easting", "northing", "load", "job", "at", "by")
    found = store.dicts(
        "SELECT e.joint_uid, e.route, e.joint, e.station, e.easting, e.northing, l.load_id, l.job, l.undone_at, "
        "l.undone_by FROM joints_earlier e JOIN loads l ON l.load_id = e.replaced_by WHERE e.ended_as = 'undone' "
        "AND l.undone_at >= :since AND NOT EXISTS (SELECT 1 FROM joints j WHERE j.joint_uid = e.joint_uid) "
        "ORDER BY l.undone_at, e.fid",
        names,
        since=str(asked.changed_since),
    )
    latest = {one["joint_uid"]: one for one in found}
    return [one for one in latest.values() if _may_be_asked_for(one, asked)]


def _may_be_asked_for(one: dict[str, Any], asked: Question) -> bool:
    return (
        (not asked.routes or one["route"] in asked.routes)
        and (not asked.joints or one["joint"] in asked.joints or one["joint_uid"] in asked.joints)
        and (not asked.jobs or one["job"] in asked.jobs)
        and (not asked.loads or one["load"] in asked.loads)
    )


def change_words(change: dict[str, Any]) -> str:
    """Say what happened to a joint.

    Examples
    --------
    >>> change_words({"what": "came", "at": "2026-05-02T08:00:00+00:00", "load": 3, "by": "R. Vance", "of": "Quarry"})
    '2026-05-02: came with load 3 (Quarry), by R. Vance'
    >>> change_words({"what": "noted", "at": "2026-05-02T08:00:00+00:00", "load": None, "by": "R. Vance",
    ...     "of": "abandoned"})
    '2026-05-02: noted as abandoned, by R. Vance'
    """
    load = f" with load {change['load']}" if change["load"] is not None else ""
    words = {
        "came": f"came{load} ({change['of']})",
        "corrected": f"changed{load} ({change['of']})",
        "undone": f"load {change['load']} ({change['of']}) was undone",
        "marked": f"a finding was marked as {change['of']}",
        "noted": f"noted as {change['of']}{load}",
        "settled": f"settled: {change['of']}",
    }
    return f"{change['at'][:10]}: {words[change['what']]}, by {change['by']}"
