"""The present state of a joint that several jobs speak of: what a later job says nothing of stays from the earlier one.

A survey without a log does not blank the inspection, and the record of a leak, whose line ends at the joint, does not
blank its deflection; nor does a survey without sizes, which knows no allowable, take a verdict away. A correction by
the job itself blanks what it blanks; of what it says as before, what another job said since stays: a corrected log does
not bring an old survey back. A place that is known distinctly less well does not take that of one which it does not
contradict. A verdict that rests on assumptions, or tells nothing, does not take the place of one that
was measured of the same pipe in the same place. A finding stands while what it is about does.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

import numpy as np

from asbuilt import units
from asbuilt.checks import CHECK_KINDS
from asbuilt.register.layout import SEEN, as_json


class Group(NamedTuple):
    """Columns that are from one load together."""

    load_column: str
    """Column that names the load they are from."""
    columns: tuple[str, ...]
    told_by: str
    """Column that tells whether a job says anything here."""
    nothing: str | None
    """What that column holds where it says nothing."""
    day: str
    """What tells the day on which it was found out: of two jobs the later day holds. `NEVER` where none does."""
    by: tuple[str, ...] = ()
    """Columns by which it is seen to be as before; all, if none is named."""
    less: str | None = None
    """What the column that tells holds where the job cannot tell for want of what another job knows."""
    measured: tuple[str, ...] = ()
    """What it holds where the group was measured: nothing else takes its place while the pipe stays where it is."""


NEVER = ""
SURVEYED_ON = "surveyed_on"
"""Day of a job's survey; no column of the joints, but of what the load says of its job."""
INSPECTION, DEFLECTION, PLACE = "inspection_load_id", "deflection_load_id", "place_load_id"
GROUPS = (
    Group(INSPECTION, ("inspection", "inspected_on", "inspector"), "inspection", "none", day="inspected_on"),
    Group(
        DEFLECTION,
        (
            "turn_deg", "turn_horizontal_deg", "turn_vertical_deg", "bend_angle_deg", "deflection_deg",
            "deflection_source", "deflection_floor_deg", "deflection_ceiling_deg", "sigma_deg", "allowable_deg",
            "allowable_source", "verdict", "verdict_assumes",
        ),
        "verdict",
        "not-computed",
        day=NEVER,
        less="no-allowable",
        measured=("within", "over"),
    ),
    Group(
        PLACE,
        (
            "easting", "northing", "longitude", "latitude", "elevation", "position_source", "sigma_horizontal",
            "accuracy_horizontal", "accuracy_vertical", "accuracy_source", "design_station", "design_offset",
            "design_height", "ground_elevation", "cover", "cover_least",
        ),
        "easting",
        None,
        day=SURVEYED_ON,
        by=("longitude", "latitude", "elevation"),
    ),
)  # fmt: skip
_ABOUT = {"inspection": INSPECTION, "deflection": DEFLECTION, "place": PLACE}


class Fact(NamedTuple):
    """Columns that stay where a later job of another name leaves the first of them blank."""

    load_column: str
    """Column that names the load they are from; blank where that is the load of the state."""
    columns: tuple[str, ...]


ELEVATION = Fact("elevation_load_id", ("elevation", "accuracy_vertical"))
READING = Fact(
    "reading_load_id",
    ("measured_deg", "measured_direction_deg", "sigma_measured_deg", "gap_mean", "gap_residual"),
)
"""What was read at the joint: a later survey, which read nothing, neither blanks it nor passes over it."""
FACTS = (
    Fact("size_load_id", ("size", "size_unit")),
    Fact("joint_type_load_id", ("joint_type",)),
    Fact("kind_load_id", ("kind",)),
    Fact("restrained_load_id", ("restrained",)),
    ELEVATION,
    READING,
)
OF_READINGS = ("deflection-over", "deflection-conflict", "deflection-unclear")
"""Findings about a deflection that stand with the reading that they are from, too."""
AWAY = "away_m"
"""How far a job has a joint from where the register has it, metres; no column of the joints."""
WORSE = 1.5
"""A place good to so many times what another one is good to is not as good: a mean of the two would count it less than
half (weights go by the square, textbook). Ours, no source."""
WORSE_M = 0.003
"""Metres: accuracies of places that differ by less, a hundredth of a foot, are alike. Ours, no source."""
BEYOND = 2.0
"""Places farther apart than so many times what both together are good to contradict one another: at 95 percent each,
six in a million are by chance (0.05 to the power of 4, textbook)."""
CONTRADICTED = "contradicted"
"""Whether a job's survey and its reading contradict one another; no column of the joints, but told by its findings."""
READ_AGAINST = "read_against"
"""Whether one of `OF_READINGS` stands that is from the load of the reading; no column of the joints."""
_READ = ("readings", "survey-and-readings")
_GRAVER = {"over": 3, "cannot-tell": 2, "within": 1}
FROM_LOADS = tuple(one.load_column for one in (*GROUPS, *FACTS))
"""Every column that names the load that some of a state is from."""
OF_RECORDS = {INSPECTION: "inspected_on"} | {
    fact.load_column: fact.columns[0] for fact in FACTS if fact not in (ELEVATION, READING)
}
"""What a record says too of what a state has from a load, by the column that names that load."""
STANDS_UNDER = "stands_under"
"""Key of what a load says of itself: the loads by whose names, numbers or stations joints stand of which it speaks."""
SEEN_DEG = 1e-8
"""Degrees on the earth that a person would see of a place: 1 mm."""
IN_PLACE_DEG = 3e-7
"""Degrees on the earth within which a pipe is where it was: a tenth of a foot; ours, no source."""
PIPE = ("size", "joint_type", "kind")
"""What tells one pipe from another that was laid in its place."""
LENGTHS = (
    "elevation", "sigma_horizontal", "accuracy_horizontal", "accuracy_vertical", "design_offset", "design_height",
    "ground_elevation", "cover", "cover_least",
)  # fmt: skip
"""Columns in the unit of the job's coordinates."""
NEEDED = (
    *(name for group in GROUPS for name in (group.load_column, *group.columns)),
    *(name for fact in FACTS for name in (fact.load_column, *fact.columns)), "load_id", "coordinate_unit",
)  # fmt: skip


class Said(NamedTuple):
    """What was said of a joint before, in the unit of the later job, by the load column of each group and fact."""

    own: Mapping[str, Mapping[str, Any]]
    """What the later job itself said last; none where it said nothing."""
    others: Mapping[str, Mapping[str, Any]]
    """What another job said last, with the load that it is from."""


def about(code: str) -> str:
    """Name the load column of the group that a finding is about.

    Examples
    --------
    >>> about("inspection-failed"), about("shot-astray")
    ('inspection_load_id', 'place_load_id')
    """
    return _ABOUT[CHECK_KINDS[code].about]


def holds(finding: str, joint: str) -> str:
    """Give SQL that tells whether a finding is about what holds of its joint, by the names of the two in it."""
    codes = {column: [code for code in CHECK_KINDS if about(code) == column] for column in (INSPECTION, DEFLECTION)}
    cases = " ".join(
        f"WHEN {finding}.code IN ({', '.join(map(repr, some))}) THEN {joint}.{column}" for column, some in codes.items()
    )
    return f"({finding}.load_id = CASE {cases} ELSE {joint}.{PLACE} END OR {of_reading(finding, joint)})"


def of_reading(finding: str, joint: str) -> str:
    """Give SQL that tells whether a finding is from the reading that holds of its joint.

    No index of loads is to be used for it: a load has many findings, of which each joint would be held against all.
    """
    return (
        f"({finding}.code IN ({', '.join(map(repr, OF_READINGS))}) AND {joint}.measured_deg IS NOT NULL "
        f"AND coalesce({finding}.load_id, NULL) = coalesce({joint}.{READING.load_column}, {joint}.load_id))"
    )


def keep(
    file: Mapping[str, Any],
    known: Mapping[str, Any],
    said: Said,
    job: str,
    jobs: Mapping[int, str],
    unit: str,
    today: str,
) -> dict[str, Any]:
    """Give what stays of a joint's present state under a later job's, or comes back from another job's.

    Parameters
    ----------
    file : mapping
        What the later job says of the joint, by column, and the day of its survey.
    known : mapping
        The present state, and the day of the survey that its place is from.
    said : Said
        What was said of the joint before.
    job : str
        Name of the later job.
    jobs : mapping
        Name of the job of each load.
    unit : {"us-ft", "ft", "m"}
        Unit of the later job's coordinates.
    today : str
        A day later than this is mistyped, and no later day.

    Returns
    -------
    dict
        Values that take the place of the file's.

    Examples
    --------
    >>> known = dict.fromkeys(NEEDED) | {"inspection": "complete", "inspection_load_id": 1, "load_id": 1, "size": 12.0}
    >>> file = {"inspection": "none", "verdict": "over", "size": None, "easting": 1.0}
    >>> kept = keep(file, known, Said({}, {}), "Survey", {1: "Contract 1"}, "m", "2026-11-28")
    >>> kept["inspection"], kept["inspection_load_id"], kept["size"], "verdict" in kept
    ('complete', 1, 12.0, False)
    """
    kept: dict[str, Any] = {}
    back: dict[str, Any] = {}
    for fact in FACTS:
        of, own = known[fact.load_column] or known["load_id"], said.own.get(fact.load_column)
        nothing = file.get(fact.columns[0]) is None
        if fact is READING:
            if nothing and not _same_pipe(file, known):
                continue
            nothing |= jobs.get(of) != job and _read_before(file, known, today)
        if jobs.get(of) != job and (nothing or (own is not None and _same_in(fact.columns, file, own))):
            kept |= {name: known[name] for name in fact.columns} | {fact.load_column: of}
        elif nothing:
            # Of a blank, too, it is told whose it is: that load may be undone.
            back |= said.others.get(fact.load_column, {})
    other_limit = judged_unrestrained(file, kept | back)
    for group in GROUPS:
        of = known[group.load_column] or known["load_id"]
        of_deflection = group.load_column == DEFLECTION
        if jobs.get(of) != job:
            stays = _stays_as_read(file, known, kept) if of_deflection else None
            if stays is None:
                stays = _stays(group, file, known, said.own.get(group.load_column), today)
            if group.load_column == PLACE:
                stays |= less_sure(file, known, unit)
            if stays or (of_deflection and other_limit):
                kept |= {name: known[name] for name in group.columns} | {group.load_column: of}
        elif group.nothing is not None and not (of_deflection and reads(file)):
            others = said.others.get(group.load_column, {})
            says_nothing = file.get(group.told_by) in (None, group.nothing)
            earlier = is_earlier(file.get(group.day), others.get(group.day), today)
            if others.get(group.told_by) not in (None, group.nothing) and (says_nothing or earlier):
                back |= others
    if PLACE in kept:
        kept[ELEVATION.load_column] = known[ELEVATION.load_column] or known["load_id"]
    carry(kept, known["coordinate_unit"], unit)
    kept |= back
    if DEFLECTION not in kept and reads(file) and file.get("verdict") in (None, "not-computed"):
        # The job cannot judge what lies beside pipes that it does not have, but its reading contradicts its survey.
        kept["verdict"] = "cannot-tell"
    return kept


def reads(file: Mapping[str, Any]) -> bool:
    """Tell whether a reading of a job counts for its verdict: one that does not agree with itself tells nothing."""
    read = file.get("deflection_source") in _READ or file.get(CONTRADICTED)
    return bool(file.get(READING.columns[0]) is not None and read)


def _read_before(file: Mapping[str, Any], known: Mapping[str, Any], today: str) -> bool:
    """Tell whether a job's reading is of an earlier day than the one known, which holds then."""
    if known[READING.columns[0]] is None:
        return False
    of_reading, of_inspection = (known[name] or known["load_id"] for name in (READING.load_column, INSPECTION))
    return bool(of_reading == of_inspection and is_earlier(file.get("inspected_on"), known["inspected_on"], today))


def _stays_as_read(file: Mapping[str, Any], known: Mapping[str, Any], kept: Mapping[str, Any]) -> bool | None:
    """Tell whether the verdict known holds against a job's, by what was read at the joint; None where that is no help.

    A survey settles nothing that a reading speaks against, which only another reading does; a reading takes the place
    of every verdict of a survey but an `over`, beside which it stands.
    """
    stated, before = file.get("verdict"), known["verdict"]
    if reads(file) and READING.load_column not in kept:
        stated = "cannot-tell" if stated in (None, "not-computed") else stated
        if stated not in _GRAVER:
            return None
        own = known["deflection_source"] in _READ or known.get(READ_AGAINST)
        return bool(before == "over" and stated != "over" and not own and file["deflection_source"] != _READ[1])
    if known.get(READ_AGAINST) and kept.get(READING.columns[0]) is not None:
        before = "cannot-tell" if before in (None, "not-computed") else before
        return True if _GRAVER.get(str(stated), 0) < _GRAVER.get(str(before), 0) else None
    return None


def judged_unrestrained(file: Mapping[str, Any], kept: Mapping[str, Any]) -> bool:
    """Tell whether a job that says nothing of restraint judges a joint that stays restrained by another's limit.

    Examples
    --------
    >>> file = {"restrained": None, "joint_type": "push-on", "verdict": "within"}
    >>> judged_unrestrained(file, {"restrained": "yes"}), judged_unrestrained(file, {"restrained": "no"})
    (True, False)
    """
    by_type = str(file.get("joint_type")).startswith("restrained")
    judged = file.get("verdict") not in (None, "not-computed", "no-allowable")
    return judged and not by_type and kept.get("restrained") == "yes"


def carry(state: dict[str, Any], unit: str, to: str) -> None:
    """Carry the lengths of a joint's state from one unit of coordinates to another."""
    if unit != to:
        for name in LENGTHS:
            if state.get(name) is not None:
                state[name] *= units.factor(unit, to)


def _stays(
    group: Group, file: Mapping[str, Any], known: Mapping[str, Any], own: Mapping[str, Any] | None, today: str
) -> bool:
    """Tell whether what another job said of a group holds: nothing, nothing new, or nothing as sure or late is said."""
    if file.get(group.told_by) in (None, group.nothing):
        return True
    if known[group.told_by] in (None, group.nothing):
        return False
    if (
        known[group.told_by] in group.measured
        and file.get(group.told_by) not in group.measured
        and _in_place(file, known)
    ):
        return True
    if group.less is not None and file.get(group.told_by) == group.less:
        return bool(known[group.told_by] != group.less)
    # An elevation that the job does not give stands in its own earlier state, too, as another job had it.
    by = [name for name in group.by if file.get(name) is not None] or group.columns
    if own is not None and _same_in(by, file, own):
        return True
    return is_earlier(file.get(group.day), known.get(group.day), today)


def less_sure(file: Mapping[str, Any], known: Mapping[str, Any], unit: str) -> bool:
    """Tell whether a job knows a joint's place distinctly less well than the register, and does not contradict it.

    Where either does not say how well it knows the place in plan, or the job knows its height better, it is not told.

    Parameters
    ----------
    file, known : mapping
        As for `keep`.
    unit : {"us-ft", "ft", "m"}
        Unit of the job's coordinates.

    Examples
    --------
    Good to 0.05 ft as the register has it, and to 0.12 or 0.07 ft by a job that has it elsewhere:

    >>> known = {"accuracy_horizontal": 0.05, "accuracy_vertical": None, "coordinate_unit": "ft"}
    >>> for accuracy, away in ((0.12, 0.06), (0.07, 0.06), (0.12, 0.30)):
    ...     file = {"accuracy_horizontal": accuracy, "accuracy_vertical": None, AWAY: away * 0.3048}
    ...     print(less_sure(file, known, "ft"))
    True
    False
    False
    """
    own, theirs = file.get("accuracy_horizontal"), known["accuracy_horizontal"]
    up, theirs_up = file.get("accuracy_vertical"), known["accuracy_vertical"]
    if own is None or theirs is None:
        return False
    to, of = float(units.METRES[unit]), float(units.METRES[known["coordinate_unit"]])
    own, theirs = own * to, theirs * of
    surer_up = up is not None and (theirs_up is None or up * to < theirs_up * of - WORSE_M)
    worse = own > WORSE * theirs and own > theirs + WORSE_M
    return bool(worse and not surer_up and file[AWAY] <= BEYOND * np.hypot(own, theirs))


def gives_way(
    file: Mapping[str, Any], known: Mapping[str, Any], said: Said, job: str, jobs: Mapping[int, str], unit: str,
    today: str,
) -> bool:  # fmt: skip
    """Tell whether a job's place gives way to another's only as that is surer; parameters as for `keep`."""
    (group,) = (one for one in GROUPS if one.load_column == PLACE)
    of_another = jobs.get(known[PLACE] or known["load_id"]) != job
    return of_another and less_sure(file, known, unit) and not _stays(group, file, known, said.own.get(PLACE), today)


def _in_place(file: Mapping[str, Any], known: Mapping[str, Any]) -> bool:
    """Tell whether a job speaks of the same pipe in the same place: no survey of its own moved it."""
    place = [name for name in ("longitude", "latitude") if file.get(name) is not None and known[name] is not None]
    return _same_pipe(file, known) and all(abs(file[name] - known[name]) <= IN_PLACE_DEG for name in place)


def _same_pipe(file: Mapping[str, Any], known: Mapping[str, Any]) -> bool:
    """Tell whether a job speaks of the same pipe, as far as both say what it is."""
    return all(file.get(name) in (None, known[name]) or known[name] is None for name in PIPE)


def gave_way(file: Mapping[str, Any], kept: Mapping[str, Any]) -> str | None:
    """Give what a job says of a joint where another load's holds, as JSON by column; None where all is its own.

    Parameters
    ----------
    file, kept : mapping
        What the job says of the joint, and what takes its place: as `keep` takes and gives them.

    Examples
    --------
    >>> file = dict.fromkeys(NEEDED) | {"verdict": "not-computed", "allowable_deg": 5.0, "size": 12.0}
    >>> gave_way(file, {"deflection_load_id": 2, "size_load_id": None})
    '{"allowable_deg": 5.0, "verdict": "not-computed"}'
    """
    of = [name for group in (*GROUPS, *FACTS) if kept.get(group.load_column) is not None for name in group.columns]
    if not of:
        return None
    said = {name: file[name] for name in dict.fromkeys(of) if file[name] is not None}
    known = {name: value for name, value in said.items() if value == value}
    return as_json({name: value if isinstance(value, float) else str(value) for name, value in known.items()})


def is_earlier(day: Any, known: Any, today: str) -> bool:
    """Tell whether a day is earlier than the one known; one that is still to come is mistyped, and holds nothing.

    Examples
    --------
    >>> is_earlier("2026-04-02", "2026-05-01", "2026-11-28"), is_earlier("2062-04-02", "2026-05-01", "2026-11-28")
    (True, True)
    >>> is_earlier("2026-04-02", "2062-05-01", "2026-11-28"), is_earlier(None, "2026-05-01", "2026-11-28")
    (False, False)
    """
    if day is None or known is None or str(known) > today:
        return False
    return str(day) > today or str(day) < str(known)


def dated_by_another(
    file: Mapping[str, Any], known: Mapping[str, Any], kept: Mapping[str, Any], jobs: Mapping[int, str], job: str
) -> bool:
    """Tell whether an inspection without a day takes the place of one that another job dated."""
    of_another = jobs.get(known[INSPECTION] or known["load_id"]) != job
    said = INSPECTION not in kept and file["inspection"] not in (None, "none")
    return bool(said and file["inspected_on"] is None and of_another and known["inspected_on"] is not None)


def _same_in(names: Iterable[str], one: Mapping[str, Any], other: Mapping[str, Any]) -> bool:
    """Tell whether a person would see no difference in any of these columns."""
    return all(_same(name, one.get(name), other[name]) for name in names)


def _same(name: str, one: Any, other: Any) -> bool:
    """Tell whether a person would see no difference."""
    if isinstance(one, float) and isinstance(other, float):
        return one == other or abs(one - other) < (SEEN_DEG if name in ("longitude", "latitude") else SEEN)
    return one == other or str(one) == str(other)
