"""What many jobs, or many files, came to, in one table."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from asbuilt.terminal import screen
from asbuilt.terminal.cautions import CAUTION
from asbuilt.terminal.words import many, passed_by

if TYPE_CHECKING:
    from asbuilt.archive.jobs import JobTold
    from asbuilt.archive.loads import FileTold

SHOWN = 40
"""Jobs and files that are shown one by one; those with something to say come first."""
NOTES = 60
"""What is noted about files that is printed; --json gives all."""


def print_jobs(told: Sequence[JobTold], total: dict[str, Any], report: Path | None) -> None:
    """Print what became of each job, and the sum of all."""
    table = screen.table("job", "", "records", "placed", "set aside", "joints", "findings")
    for column in table.columns[2:]:
        column.justify = "right"
    ordered = sorted(told, key=lambda one: (one.state not in ("wrong", "failed"), not one.message))
    for one in ordered[:SHOWN]:
        counts = (one.records_read, one.inspections_placed, one.records_set_aside, one.joints, one.findings)
        screen.row(table, one.job, one.state, *counts)
    screen.show(table)
    if len(told) > SHOWN:
        screen.line(f"And {len(told) - SHOWN} more jobs: --report FILE.csv and --json have them all.")
    for one in ordered[:SHOWN]:
        if one.message:
            screen.line(one.message if one.message.startswith(one.job) else f"{one.job}: {one.message}")
    states = ", ".join(f"{count} {state}" for state, count in sorted(total["jobs_by_state"].items()))
    screen.line(f"\n{many(total['jobs'], 'job')}: {states}.")
    screen.line(
        f"{total['records_read']} records read = {total['inspections_placed']} placed + {total['records_set_aside']} "
        f"set aside; {total['joints']} joints, {total['findings']} findings."
    )
    if any(one.written for one in told):
        screen.line("What is found in a job, and noted about it, stands in its file: layers findings and notes.")
    if report is not None:
        screen.line(f"Wrote {report}.")
    screen.line(f"\n{CAUTION}")


def print_loads(told: Sequence[FileTold], register: str, *, dry_run: bool) -> None:
    """Print what became of each file, and the sum of all."""
    table = screen.table("file", "load", "joints", "new", "changed", "unchanged", "left out")
    for column in table.columns[1:]:
        column.justify = "right"
    names = ("read", "new", "updated", "unchanged", "left_out")
    ordered = sorted(told, key=lambda one: one.loaded is not None)
    for one in ordered[:SHOWN]:
        if one.loaded is None:
            screen.row(table, one.file, "wrong")
        else:
            screen.row(table, one.file, one.loaded.load, *(one.loaded.joints[name] for name in names))
    screen.show(table)
    if len(told) > SHOWN:
        screen.line(f"And {len(told) - SHOWN} more files: --json has them all.")
    for one in ordered[:SHOWN]:
        if one.message:
            screen.line(one.message if one.message.startswith(one.file) else f"{one.file}: {one.message}")
    _print_notes(told)
    loaded = [one.loaded for one in told if one.loaded is not None]
    sums = {name: sum(one.joints[name] for one in loaded) for name in names}
    screen.line(
        f"\n{many(len(told), 'file')}: {len(loaded)} read, {len(told) - len(loaded)} wrong. {sums['read']} joints = "
        f"{sums['new']} new + {sums['updated']} changed + {sums['unchanged']} unchanged + {sums['left_out']} left out."
    )
    if sums["left_out"] and not dry_run:
        screen.line(f"What was left out waits to be settled: asbuilt conflicts {register}")
    if dry_run:
        screen.line("This is what would happen to each file by itself; nothing was written.")


def _print_notes(told: Sequence[FileTold]) -> None:
    """Print what is noted about each file: what a load asks is asked of one among many, too."""
    noted = [
        (one.file, said)
        for one in told
        if one.loaded is not None
        for said in (*one.loaded.notes, *passed_by(one.loaded))
    ]
    for file, said in noted[:NOTES]:
        screen.note(f"{file}: {said}")
    if len(noted) > NOTES:
        screen.line(f"And {len(noted) - NOTES} more notes: --json has them all.")
