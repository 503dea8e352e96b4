"""Where a blank log is written, and what it is never written over."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from asbuilt.blank import columns, page, spans, workbook
from asbuilt.blank.blank import Blank
from asbuilt.errors import JobFileError, OutputError
from asbuilt.inputs.bounds import of_job
from asbuilt.job import load_job
from asbuilt.layers import outputs

if TYPE_CHECKING:
    from collections.abc import Sequence

    from asbuilt.job import Job

MOST_ROWS = 20_000
_FEWEST_ROWS, _SPARE = 40, 1.1
"""Rows of a log of which no line tells the length, and how many more are given than pipes of full length need."""


class Written(NamedTuple):
    """What was written."""

    path: Path
    blank: Blank
    notes: tuple[str, ...]


def write_sheet(
    job: Job | Path | str, path: Path, *, routes: Sequence[str] = (), rows: int | None = None, paper: str | None = None
) -> Written:
    """Write a blank log for the crew, from a job: a workbook (.xlsx), or a page for a tablet (.html).

    Filled in, either is read as the job's log.

    Parameters
    ----------
    job : Job, or path of a job file
    path : path of the log; its ending says which of the two it is
    routes : sequence of str
        Routes that the log is for; all of the job's, if left out.
    rows : int, optional
        Rows of the workbook; else as many as the line has lengths of pipe, and some more.
    paper : {"letter", "legal", "tabloid", "a4", "a3"}, optional
        Paper of the workbook; else the one that goes with the job's units.

    Raises
    ------
    OutputError
        When a file cannot be written there, or another thing is there: a log that is filled in is never replaced.
    JobFileError, InputFileError
        When the job or one of its files is wrong.
    """
    loaded = job if not isinstance(job, Path | str) else load_job(job)
    if path.suffix.lower() not in (".xlsx", ".html"):
        raise OutputError(f"{path}: a blank log is a workbook (.xlsx) or a page (.html); name it so in --out")
    with of_job(loaded.bounds):
        found = spans.read_spans(loaded, routes)
    form = spans.station_form(loaded)
    made = columns.columns(loaded, found.routes, form, one_route=found.one_route)
    blank = Blank(
        job=loaded,
        columns=made,
        routes=found.routes,
        form=form,
        rows=rows if rows is not None else _rows(loaded, found.routes),
        paper=paper or ("a4" if loaded.records.station_unit == "m" else "letter"),
        sheets=_sheets(loaded),
    )
    outputs.check_output(path, [*found.inputs, *_files(loaded)], loaded, kind="blank", key="--out")
    write = workbook.write_workbook if path.suffix.lower() == ".xlsx" else page.write_page
    with outputs.put_in_place(path, option="--out") as unfinished:
        write(blank, unfinished)
    return Written(path, blank, found.notes)


def _rows(job: Job, routes: Sequence[spans.Span]) -> int:
    lengths = sum(one.length for one in routes) / job.records.laying_length
    return min(MOST_ROWS, max(_FEWEST_ROWS, round(lengths * _SPARE) + 10 * len(routes)))


def _sheets(job: Job) -> tuple[str, ...]:
    """Name the sheets as the job will look for them."""
    names = tuple(name for name in job.records.sheet if name != "*") or ("Joint log",)
    plain: dict[str, str] = {}
    for name in names:
        if len(name) > 31 or any(letter in name for letter in "[]:*?/\\"):
            raise JobFileError(f"{job.source}: records.sheet: no workbook can have a sheet named {name!r}; correct it")
        other = plain.setdefault(name.casefold(), name)
        if other != name:
            raise JobFileError(
                f"{job.source}: records.sheet: no workbook can have sheets named {other!r} and {name!r}; correct one"
            )
    return names


def _files(job: Job) -> list[tuple[str, str]]:
    """List the files that a job is read from besides its centerline and its logs, as far as they are there."""
    named = [job.limits.table, job.limits.project, job.centerline.path, job.centerline.ties_path]
    named += [one.path for one in job.restraint]
    named += [one.path for one in (job.survey_check, job.design, job.cover) if one is not None]
    return [(str(job.file(name)), "") for name in named if name is not None]
