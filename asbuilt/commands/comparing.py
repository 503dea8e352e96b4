"""The command that holds two placed files against each other: compare."""

from __future__ import annotations

from pathlib import Path

import click

from asbuilt.commands.options import DIFFERENT, FILE, JSON
from asbuilt.terminal import screen
from asbuilt.terminal.cautions import CAUTION


@click.command()
@click.argument("old", metavar="OLD.gpkg", type=FILE)
@click.argument("new", metavar="NEW.gpkg", type=FILE)
@click.option("--page", metavar="FILE.html", type=FILE, help="Write the differences as a page.")
@click.option("--out", metavar="FILE.xlsx", type=FILE, help="Write all of them as a workbook.")
@click.option(
    "--tolerance",
    metavar="LENGTH",
    default="0.001m",
    show_default=True,
    help="Moves up to this far are not listed: 0.05ft, 0.02m.",
)
@click.option("--other-name", is_flag=True, help="The two files are of one job, though its name has changed.")
@click.option("--strict", is_flag=True, help="End with status 1 if the two files differ.")
@JSON
def compare(
    old: Path, new: Path, page: Path | None, out: Path | None, tolerance: str, other_name: bool, strict: bool,
    as_json: bool,
) -> None:  # fmt: skip
    """Say what is different between two placed files of a job, OLD and NEW.

    Joints that came, went, moved or changed, field by field; findings and records set aside that came and went.

    \b
    Examples:
        asbuilt compare joints-march.gpkg joints-april.gpkg
        asbuilt compare joints-march.gpkg joints-april.gpkg --tolerance 0.05ft --page changes.html --out changes.xlsx
    """
    from asbuilt.comparing import comparison, written
    from asbuilt.register.places import metres
    from asbuilt.terminal import differences

    for path in (page, out):
        if path is not None:
            written.check_name(path, is_page=path is page)
    found = comparison.compare(
        old, new, tolerance_m=metres(tolerance, "m", option="--tolerance"), other_name=other_name
    )
    if page is not None:
        written.write_page(found, page, CAUTION)
    if out is not None:
        written.write_workbook(found, out)
    paths = [str(path) for path in (page, out) if path is not None]
    if as_json:
        screen.as_json(found.as_json() | {"answer": written.answer(found), "written": paths})
    else:
        differences.print_comparison(found, paths)
    if strict and not found.same:
        raise click.exceptions.Exit(DIFFERENT)
