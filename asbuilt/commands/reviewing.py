"""The command that writes the engineer's pages: review."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from asbuilt.commands import spared
from asbuilt.commands.options import FILE, FOLDER, JSON, PROGRESS
from asbuilt.terminal import results, screen
from asbuilt.terminal.cautions import CAUTION, DIGGING_CAUTION
from asbuilt.terminal.progress import shown as progress_shown

if TYPE_CHECKING:
    from asbuilt.cad.lines import Work


@click.command()
@click.argument("file", metavar="FILE", type=FILE)
@click.option("--out", metavar="DIR", type=FOLDER, required=True, help="Folder to write.")
@click.option("--route", "routes", multiple=True, help="Only this route; can be given several times.")
@click.option("--pdf", is_flag=True, help="Also print each page to PDF, through a headless Chromium.")
@click.option(
    "--paper", type=click.Choice(["letter", "a4"]), default="letter", show_default=True, help="Paper of the PDFs."
)
@click.option("--plots", is_flag=True, help="Also write each plot as SVG and PNG.")
@click.option(
    "--photos",
    type=click.Choice(["embed", "link"]),
    default="link",
    show_default=True,
    help="Scale the photos of the joints down into the pages, or link to their files.",
)
@click.option(
    "--photo-folder",
    metavar="DIR",
    type=FOLDER,
    help="The job's folder, from which FILE names its photos; FILE's own folder, if left out.",
)
@click.option(
    "--dxf",
    metavar="FILE.dxf",
    type=FILE,
    help="Also draw what was built: centerline in 3D, joints as blocks, findings. Needs the extra cad.",
)
@click.option("--landxml", metavar="FILE.xml", type=FILE, help="Also write the alignment as it lies.")
@click.option(
    "--issues",
    metavar="LIST",
    type=FILE,
    help="List of issues of an earlier review, filled in (XLSX or CSV): what people typed is kept and shown.",
)
@JSON
@PROGRESS
def review(
    file: Path, out: Path, routes: tuple[str, ...], pdf: bool, paper: str, plots: bool,
    photos: Literal["embed", "link"], photo_folder: Path | None, dxf: Path | None,
    landxml: Path | None, issues: Path | None, as_json: bool, progress: str,
) -> None:  # fmt: skip
    """Write the engineer's review of a placed FILE: a page for each route, a list of issues, and points to stake out.

    \b
    Examples:
        asbuilt review joints.gpkg --out review
        asbuilt review joints.gpkg --out review --route A --pdf --plots
        asbuilt review joints.gpkg --out review --photos embed
        asbuilt review joints.gpkg --out review --issues review/issues.xlsx
        asbuilt review joints.gpkg --out review --dxf as-built.dxf --landxml as-built.xml
    """
    # GeoParquet alone is read by data frames, and what is drawn for CAD.
    if file.suffix.lower() != ".parquet" and not file.is_dir() and dxf is None and landxml is None:
        spared.data_frames()
    from asbuilt.review import write_review

    work = _ready(file, routes, dxf, landxml)
    with progress_shown(progress) as report:
        written = write_review(
            file, out, routes=routes, pdf=pdf, paper=paper, plots=plots, photos=photos, photo_folder=photo_folder,
            issues=issues, progress=report,
        )  # fmt: skip
    told = [] if work is None else _hand_back(work, dxf, landxml)
    if as_json:
        screen.as_json(written | {"handed_back": told})
        return
    results.print_review(written)
    for line in told:
        screen.line(line)
    screen.line(f"\n{CAUTION}")


def _ready(file: Path, routes: tuple[str, ...], dxf: Path | None, landxml: Path | None) -> Work | None:
    """Read what is to be drawn, and refuse what could not be, before anything is written."""
    if dxf is None and landxml is None:
        return None
    from asbuilt.cad.alignment import check_alignment
    from asbuilt.cad.drawing import check_drawing
    from asbuilt.cad.lines import read_work

    work = read_work(file, routes)
    if dxf is not None:
        check_drawing(work, dxf)
    if landxml is not None:
        check_alignment(work, landxml)
    return work


def _hand_back(work: Work, dxf: Path | None, landxml: Path | None) -> list[str]:
    """Write what was built for who draws; says what was written, and what a reader of it must know."""
    from asbuilt.cad.alignment import write_alignment
    from asbuilt.cad.drawing import write_drawing
    from asbuilt.cad.lines import MISS_TOLD
    from asbuilt.units import SYMBOLS

    told = []
    if dxf is not None:
        write_drawing(work, dxf, f"{CAUTION} {DIGGING_CAUTION}")
        told.append(f"Wrote {dxf}: a drawing in {work.crs.name}")
    if landxml is not None:
        write_alignment(work, landxml)
        told.append(f"Wrote {landxml}: the alignment as it lies, with the joints as points")
        told += [
            f"note: stations in {landxml.name} count along the line of route {line.name}; the job's differ from them "
            f"by up to {line.station_miss:.2f} {SYMBOLS[work.unit]}, being counted on the ground or between ties"
            for line in work.lines
            if line.station_miss >= MISS_TOLD
        ]
    return told
