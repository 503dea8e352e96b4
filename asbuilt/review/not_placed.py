"""The records that could not be placed: those of a route, and those of the whole job."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from asbuilt.review.tables import MOST_ROWS, Table, cell
from asbuilt.schema import DOMAINS

if TYPE_CHECKING:
    from asbuilt.review.reading import Review, Route
    from asbuilt.review.rows import Rows

_WITHOUT_ROUTE = ("route-unknown", "row-unreadable")
"""Reasons for which a record may have no route that could be told."""


def set_aside_on(review: Review, route: Route) -> Table:
    """List the records that name a route, or can be of no other one, and could not be placed on it."""
    here = review.set_aside["route"] == route.name
    nowhere = sum(reason in _WITHOUT_ROUTE for reason in review.set_aside["reason"][~here].tolist())
    found = _set_aside(
        review.set_aside.take(here), ("file", "row", "joint"), f"Records of route {route.name} that could not be placed"
    )
    if not nowhere:
        return found
    many = "1 more record of the job names" if nowhere == 1 else f"{nowhere} more records of the job name"
    also = f"{many} no route of the centerline, and may belong here; the index lists all that were not placed."
    return replace(found, note=f"{found.note} {also}".strip(), none=f"Every record that names it was placed. {also}")


def set_aside_table(review: Review) -> Table:
    """List the records of the job that could not be placed."""
    return _set_aside(
        review.set_aside, ("file", "row", "route", "joint"), "Records of the job that could not be placed, on any route"
    )


def _set_aside(aside: Rows, where: tuple[str, ...], caption: str) -> Table:
    rows = [
        [*(cell(one[name]) for name in where),
         DOMAINS["set_aside_reason"].get(str(one["reason"]), str(one["reason"])), cell(one["message"])]
        for one in aside.take(slice(MOST_ROWS)).records((*where, "reason", "message"))
    ]  # fmt: skip
    more = len(aside) - MOST_ROWS
    return Table(
        "set-aside", caption, (*(name.capitalize() for name in where), "Reason", "Message"), rows, numeric=(1,),
        note=f"The first {MOST_ROWS} of {len(aside)}; layer set_aside has them all." if more > 0 else "",
        count=len(aside), none="Every record was placed.",
    )  # fmt: skip
