"""The command that writes the engineer's pages: review."""

from __future__ import annotations

from pathlib import Path

import click

from asbuilt.commands.options import JSON, PROGRESS
from asbuilt.terminal import results, screen
from asbuilt.terminal.cautions import CAUTION
from asbuilt.terminal.progress import shown as progress_shown


@click.command()
@click.argument("file", metavar="FILE", type=click.Path(path_type=Path))
@click.option("--out", metavar="DIR", type=click.Path(path_type=Path), required=True, help="Folder to write.")
@click.option("--route", "routes", multiple=True, help="Only this route; can be given several times.")
@click.option("--pdf", is_flag=True, help="Also print each page to PDF, through a headless Chromium.")
@click.option(
    "--paper", type=click.Choice(["letter", "a4"]), default="letter", show_default=True, help="Paper of the PDFs."
)
@click.option("--plots", is_flag=True, help="Also write each plot as SVG and PNG.")
@JSON
@PROGRESS
def review(
    file: Path, out: Path, routes: tuple[str, ...], pdf: bool, paper: str, plots: bool, as_json: bool, progress: str
) -> None:
    """Write the engineer's review of a placed FILE: a page for each route, with plots and tables.

    \b
    Examples:
        asbuilt review joints.gpkg --out review
        asbuilt review joints.gpkg --out review --route A --pdf --plots
    """
    from asbuilt.review import write_review

    with progress_shown(progress) as report:
        written = write_review(file, out, routes=routes, pdf=pdf, paper=paper, plots=plots, progress=report)
    if as_json:
        screen.as_json(written)
        return
    results.print_review(written)
    screen.line(f"\n{CAUTION}")
