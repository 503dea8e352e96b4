"""The command that makes a blank log for the crew: sheet."""

from __future__ import annotations

from pathlib import Path

import click

from asbuilt.commands.options import FILE, JOB, JSON
from asbuilt.terminal import screen


@click.command()
@JOB
@click.option(
    "--out", metavar="FILE", type=FILE, required=True,
    help="The log to write: a workbook (.xlsx), or a page for a tablet (.html).",
)  # fmt: skip
@click.option("--route", "routes", multiple=True, help="Only for this route; can be given several times.")
@click.option("--rows", type=click.IntRange(1, 20_000), help="Rows of the workbook, instead of as many as joints fit.")
@click.option(
    "--paper",
    type=click.Choice(["letter", "legal", "tabloid", "a4", "a3"]),
    help="Paper of the workbook, instead of letter or A4.",
)
@JSON
def sheet(job: Path, out: Path, routes: tuple[str, ...], rows: int | None, paper: str | None, as_json: bool) -> None:
    """Write a blank log for the crew: columns, lists and limits as the job and the checks have them.

    Filled in, the workbook is read as the job's log, and so is the file that the page hands out. A log that is filled
    in is never written over.

    \b
    Examples:
        asbuilt sheet job.toml --out log.xlsx
        asbuilt sheet job.toml --out log.html --route A
    """
    from asbuilt.blank.writing import write_sheet

    written = write_sheet(job, out, routes=routes, rows=rows, paper=paper)
    blank = written.blank
    if as_json:
        columns = [{"field": one.field, "heading": one.heading} for one in blank.columns]
        told = {"written": str(written.path), "routes": [one.name for one in blank.routes], "columns": columns}
        screen.as_json(told | {"rows": blank.rows, "notes": list(written.notes)})
        return
    screen.line(f"Written: {written.path}, a blank log of {len(blank.columns)} columns for {blank.routes_named}.")
    for note in written.notes:
        screen.line(f"Note: {note}")
    screen.line(f"Filled in, name it in records.path of {job} (or the CSV that the page hands out).")
    screen.line(f"\n{blank.caution}")
