"""Options that several commands take, and how a command ends."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from asbuilt import stores

DONE, SET_ASIDE, WRONG_INPUT, FAILED, INTERRUPTED = 0, 1, 2, 3, 130
DIFFERENT = SET_ASIDE
"""With --strict, a difference is told as records set aside are."""


class FilePath(click.Path):
    """A path, or an address, of which the path of its copy is given: see `asbuilt.stores`."""

    def __init__(self, taken: Callable[[str], Path]) -> None:
        super().__init__(path_type=Path)
        self._taken = taken

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Give the path."""
        return super().convert(self._taken(str(value)), param, ctx)


def _on_this_machine(name: str) -> Path:
    stores.refuse_address(
        name, "no store takes or gives a folder whole; name one of this machine, or one at which the store is mounted"
    )
    return Path(name)


FILE = FilePath(stores.local)
LATER = FilePath(stores.later)
"""A file that the command copies when its turn comes, where others follow it."""
FOLDER = FilePath(_on_this_machine)
JOB = click.argument("job", metavar="JOB.toml", type=LATER)
JSON = click.option("--json", "as_json", is_flag=True, help="Print one JSON object on stdout, and nothing else there.")
STRICT = click.option("--strict", is_flag=True, help="End with status 1 if any record was set aside.")
PROGRESS = click.option(
    "--progress",
    type=click.Choice(["bar", "json", "none"]),
    default="bar",
    show_default=True,
    help="How to show progress on stderr: a bar (only on a terminal), one JSON object a line, or none.",
)
REGISTER = click.argument("register", metavar="REGISTER")
BY = click.option("--by", metavar="NAME", help="Who does this; the user of this machine, if left out.")


class _Day(click.DateTime):
    """A day, written like 2026-03-24."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Give the day."""
        try:
            return super().convert(value, param, ctx)
        except click.BadParameter:
            self.fail(f"{value!r} is no day; write it like 2026-03-24", param, ctx)


DAY = _Day(["%Y-%m-%d"])
ACCEPT = click.option(
    "--accept-accuracy",
    metavar="DISTANCE",
    help="How good a change of datum must be, like 1m. Where grids are not installed, a datum is then taken for "
    "another realization of it if that is as good.",
)
