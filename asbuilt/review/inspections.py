"""How complete a route's inspection is: by field of the log, by crew and by date."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from asbuilt.inputs.allowables import families
from asbuilt.inputs.fields import EVIDENCE_FIELDS
from asbuilt.review.rows import known
from asbuilt.review.tables import Table, cell
from asbuilt.schema import LAYERS

if TYPE_CHECKING:
    from asbuilt.review.reading import Review, Route

_STATES = ("complete", "incomplete", "failed", "none")


def inspection_tables(review: Review, route: Route) -> list[Table]:
    """Say how complete the inspection is: by field of the log, by crew, and by date."""
    return [
        _by_field(review, route),
        _by_group(route, "crew", "Inspection by crew", "Crew"),
        _open_only(_by_group(route, "inspected_on", "Inspection by date: days with something open", "Inspected on")),
    ]


def _open_only(days: Table) -> Table:
    """Leave out the days on which every joint is complete."""
    rows = [row for row in days.rows if row[1] != row[2]]
    left = len(days.rows) - len(rows)
    if not left:
        return days
    said = f"On {left} {'other ' if rows else ''}{'day' if left == 1 else 'days'} every joint is complete."
    return replace(days, rows=rows, note=said, none=said)


def _by_field(review: Review, route: Route) -> Table:
    records = route.inspections
    rows = []
    about = LAYERS["inspections"].columns
    asked = ("inspector", "inspected_on", "crew", *EVIDENCE_FIELDS, *_gap_fields("gap"), *_gap_fields("gauge"), "photo")
    lacking = _required_and_blank(review, route)
    for field in dict.fromkeys((*asked, *lacking)):
        if field not in records and field not in lacking:
            continue
        cells = records[field][known(records[field])].tolist() if field in records else []
        judged = about[field].domain == "yes_no"
        given = len(cells) - cells.count("")
        passed, failed = (str(cells.count(value)) if judged else "" for value in ("yes", "no"))
        required = ["not required", "", ""]
        if field in lacking:
            joints, blank = lacking[field]
            required = [str(joints), str(blank), f"{math.floor(100 * (joints - blank) / joints)} %"]
        # The page gives no temperature, so the layer's unit would only mislead.
        title = about[field].title.removesuffix(" (F)")
        rows.append([title, str(given), passed, failed, *required])
    return Table(
        "by-field", f"Inspection by field: {len(records)} records of {len(route.joints)} joints",
        ("Field", "Recorded", "Passed", "Failed", "Required at", "Blank there", "Complete"), rows,
        numeric=(1, 2, 3, 4, 5, 6),
        note="Recorded, passed and failed count every record, those of a joint inspected again too. Required at: the "
        "joints at which the job requires the field; blank there: those of them whose latest record lacks it; "
        "complete: the others, as a part. Fields that no log has, and the job does not require, are left out.",
    )  # fmt: skip


def _required_and_blank(review: Review, route: Route) -> dict[str, tuple[int, int]]:
    """Count for each required field the joints at which it is required, and those of them whose record lacks it."""
    import pyarrow as pa

    joints = route.joints
    last = route.last
    family = families(*(pa.array(joints[name], pa.string()) for name in ("joint_type", "restrained"))).to_pylist()
    told = {}
    for field, families_of in review.required.items():
        where = np.array([one in families_of for one in family], dtype=np.bool_)
        blank = ~known(last[field]) | (last[field] == "") if field in last else where
        if where.any():
            told[field] = (int(where.sum()), int((blank & where).sum()))
    return told


def _gap_fields(field: str) -> list[str]:
    return [f"{field}_{hour}" for hour in (12, *range(1, 12))]


def _by_group(route: Route, field: str, caption: str, title: str) -> Table:
    joints = route.joints
    if field not in joints or not known(joints[field]).any():
        return Table(field, caption, (title,), [], none=f"The log does not say: {title.lower()}.")
    by: dict[str, Counter[str]] = {}
    told = Counter(zip(joints[field].tolist(), joints["inspection"].tolist(), strict=True))
    for (name, state), many in told.items():
        by.setdefault(cell(name) or "not recorded", Counter())[state] += many
    rows = []
    for name, counts in sorted(by.items()):
        many = counts.total()
        share = 100 * counts["complete"] / many
        rows.append([name, str(many), *(str(counts[state]) for state in _STATES), f"{share:.0f} %"])
    return Table(
        field, caption, (title, "Joints", *(state.capitalize() for state in _STATES), "Complete, part"), rows,
        numeric=(1, 2, 3, 4, 5, 6),
    )  # fmt: skip
