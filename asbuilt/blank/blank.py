"""A blank log of a job: all that it says and holds, whether it is written as a workbook or as a page."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from asbuilt.blank.columns import Column
    from asbuilt.blank.spans import Span
    from asbuilt.job import Job
    from asbuilt.line.stationing import Form

CAUTION = (
    "Trench work, lifting and jacking injure and kill: the site's safety plan and local codes come first. Limits here "
    "are the job's; the pipe maker's instructions govern. Never alter an entry to fit a limit."
)
PAPERS = {"letter": (1, 10.2), "legal": (5, 13.2), "tabloid": (3, 16.2), "a4": (9, 10.9), "a3": (8, 15.7)}
"""Number by which a workbook names a paper, and the width between its margins, lying across, inches."""


_NAMED = 6
"""Routes that the head of a log names with their stations."""


@dataclass(frozen=True)
class Blank:
    """All that a blank log says and holds."""

    job: Job
    columns: tuple[Column, ...]
    routes: tuple[Span, ...]
    form: Form
    rows: int
    paper: str
    sheets: tuple[str, ...]
    """Names of a workbook's sheets: each is a whole log, and all of them are read as one."""

    @property
    def caution(self) -> str:
        """The caution that stands on every page."""
        return CAUTION

    @property
    def paper_width(self) -> float:
        """Width between the margins, inches."""
        return PAPERS[self.paper][1]

    @property
    def routes_named(self) -> str:
        """The routes in a few words."""
        names = [one.name for one in self.routes]
        if not names:
            return "Route ______"
        return f"Route {names[0]}" if len(names) == 1 else f"Routes {', '.join(names)}"

    @property
    def about(self) -> str:
        """What the log is of: routes with their stations, and what holds for all of its joints."""
        ends = [f"{one.name} ({one.first} to {one.last})" if one.first else one.name for one in self.routes[:_NAMED]]
        more = [f"and {len(self.routes) - _NAMED} more"] if len(self.routes) > _NAMED else []
        routes = "; ".join([*ends, *more])
        fixed = [f"{field.replace('_', ' ')} {value}" for field, value in self.job.records.fixed.items()]
        unit, length = self.job.records.station_unit, self.job.records.laying_length
        parts = [
            f"{'Routes' if len(ends) > 1 else 'Route'} {routes or '______'}",
            f"nominal laying length {length:g} {'m' if unit == 'm' else 'ft'}",
            *([f"at every joint {', '.join(fixed)}"] if fixed else []),
        ]
        return "; ".join(parts) + "."

    @property
    def how(self) -> str:
        """How the log is filled in."""
        return (
            "One row a joint, in the order laid; leave the rows after the last one blank. Bold headings are required. "
            "Blank means not recorded: write yes or no only for what was looked at. A value outside a limit is "
            "written down as found, and reported."
        )
