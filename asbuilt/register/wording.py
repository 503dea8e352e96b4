"""What a register knows of a joint, in words: its size, its deflection, what was found and what waits."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from asbuilt.register.waiting import unsure_words
from asbuilt.schema import conditions

if TYPE_CHECKING:
    from asbuilt.register.search import Found

WITHIN = ("within", "within-assumed")
"""Verdicts by which what a joint may deflect at most is under its allowable."""


def size_words(size: float | None, unit: str | None) -> str | None:
    """Write a nominal size with its unit.

    Examples
    --------
    >>> size_words(6.0, "in"), size_words(150.0, "mm"), size_words(12.0, None)
    ('6 in', '150 mm', '12 (unit unknown)')
    """
    return None if size is None else f"{size:g} {unit or '(unit unknown)'}"


def waiting_words(found: Found) -> str | None:
    """Say how many joints wait to be settled, of those that were asked for; None where none does."""
    joints, jobs = found.waiting["joints"], found.waiting["jobs"]
    if not joints:
        return None
    told = f"{joints} joint{'s' * (joints != 1)} of {jobs} job{'s' * (jobs != 1)}"
    most = f"; {unsure_words(found.unsure)}" if found.unsure else ""
    return f"besides, {told} wait to be settled and are not here; asbuilt conflicts lists them{most}"


def deflection_words(state: dict[str, Any]) -> str:
    """Say what is known of a joint's deflection.

    Examples
    --------
    >>> state = {"deflection_deg": 3.0, "allowable_deg": 5.0, "verdict": "within", "verdict_assumes": None}
    >>> deflection_words(state)
    'deflection 3.00 of 5.00 deg: within'
    >>> deflection_words(state | {"verdict": "within-assumed", "verdict_assumes": "shots-exact"})
    'deflection 3.00 of 5.00 deg: within-assumed, only if the shots are without error'

    Between sparse shots a joint is bounded, and has no deflection of its own:

    >>> deflection_words(state | {"deflection_deg": None, "deflection_floor_deg": 0.0, "deflection_ceiling_deg": 2.1})
    'deflection 0.00 to 2.10 of 5.00 deg: within'

    Where one of several joints is over, the shots do not tell which, and none has a deflection of its own:

    >>> deflection_words(state | {"deflection_deg": None, "verdict": "over"})
    'deflection: over, at this joint or at others that its finding names'
    """
    assumed = conditions(state["verdict_assumes"] or "")
    only_if = f", only if {assumed}" if assumed else ""
    of = f" of {state['allowable_deg']:.2f}" if state["allowable_deg"] is not None else ""
    if state["deflection_deg"] is None:
        floor, ceiling = state.get("deflection_floor_deg"), state.get("deflection_ceiling_deg")
        # What cannot be told may be more than its ceiling, by the errors of the shots.
        if state["verdict"] in WITHIN and floor is not None and ceiling is not None:
            return f"deflection {floor:.2f} to {ceiling:.2f}{of} deg: {state['verdict']}{only_if}"
        others = ", at this joint or at others that its finding names" if state["verdict"] == "over" else ""
        return f"deflection: {state['verdict']}{others}{only_if}"
    return f"deflection {state['deflection_deg']:.2f}{of} deg: {state['verdict']}{only_if}"


def shared_words(counted: dict[str, int]) -> str | None:
    """Say of joints found whose verdict is over that turns which joints share tell it; None where none does.

    Examples
    --------
    >>> print(shared_words({"over": 8, "over_at_least": 2, "turns_shared": 3}))  # doctest: +ELLIPSIS
    over: 8 joints have that verdict, and at least 2 joints are: a turn that joints share tells ...
    >>> shared_words({"over": 2, "over_at_least": 2, "turns_shared": 0})
    """
    if not counted["turns_shared"]:
        return None
    many, least = counted["over"], counted["over_at_least"]
    return (
        f"over: {many:,} joint{' has' if many == 1 else 's have'} that verdict, and at least {least:,} "
        f"joint{' is' if least == 1 else 's are'}: a turn that joints share tells that one of them is, which may be "
        "another than the one that has the verdict"
    )


def reading_words(joint: dict[str, Any]) -> list[str]:
    """Say what was read at a joint, on which day and by which load, where anything was.

    Examples
    --------
    >>> record = {"load_id": 2, "inspected_on": "2020-11-05"}
    >>> reading_words({"measured_deg": 6.75, "reading_load_id": None, "load_id": 2, "history": [record]})
    ['read at the joint: 6.75 deg, 2020-11-05, load 2']
    """
    if joint["measured_deg"] is None:
        return []
    load = joint["reading_load_id"] or joint["load_id"]
    days = [one["inspected_on"] for one in joint["history"] if one["load_id"] == load and one.get("inspected_on")]
    on = f", {max(days)}" if days else ""
    return [f"read at the joint: {joint['measured_deg']:.2f} deg{on}, load {load}"]


def source_words(joint: dict[str, Any]) -> list[str]:
    """Say from which loads the place, the inspection and the deflection are, where they are not all from one.

    Examples
    --------
    >>> source_words({"load_id": 2, "place_load_id": 1, "inspection_load_id": 2, "deflection_load_id": 2})
    ['place from load 1; inspection and deflection from load 2']
    >>> source_words({"load_id": 2, "place_load_id": 2, "inspection_load_id": 2, "deflection_load_id": None})
    []
    """
    of: dict[int, list[str]] = {}
    for what in ("place", "inspection", "deflection"):
        of.setdefault(joint[f"{what}_load_id"] or joint["load_id"], []).append(what)
    return ["; ".join(f"{' and '.join(some)} from load {load}" for load, some in of.items())] if len(of) > 1 else []


def finding_words(finding: dict[str, Any]) -> str:
    """Say what was found, and what whoever looked at it last had to say.

    Examples
    --------
    >>> mark = {"mark": "looked-at", "note": "dug up, tight", "by": "R. Vance", "at": "2031-05-06T09:00:00+00:00"}
    >>> finding_words({"severity": "act", "message": "gauge failed", "mark": "looked-at", "marks": [mark]})
    'act: gauge failed [looked-at on 2031-05-06 by R. Vance: dug up, tight]'
    """
    said = f"{finding['severity']}: {finding['message']}"
    if not finding["marks"]:
        return said
    latest = finding["marks"][-1]
    note = f": {latest['note']}" if latest["note"] else ""
    return f"{said} [{latest['mark']} on {latest['at'][:10]} by {latest['by']}{note}]"


def earlier_state(state: dict[str, Any]) -> str:
    """Say how an earlier job left a joint's deflection.

    Examples
    --------
    >>> earlier_state({"load_id": 1, "deflection_deg": 6.1, "allowable_deg": 5.0, "verdict": "over", "findings": [],
    ...     "verdict_assumes": None, "surveyed_on": "2026-03-02"})
    'by load 1, surveyed on 2026-03-02: deflection 6.10 of 5.00 deg: over'
    """
    day = f", surveyed on {state['surveyed_on']}" if state["surveyed_on"] else ""
    findings = [f"; {finding_words(finding)}" for finding in state["findings"]]
    return f"by load {state['load_id']}{day}: {deflection_words(state)}{''.join(findings)}"
