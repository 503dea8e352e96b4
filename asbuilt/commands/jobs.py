"""The commands that take a job, and those that lead to one: demo, columns, check, place, map."""

from __future__ import annotations

import shutil
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from asbuilt.commands import spared
from asbuilt.commands.options import FAILED, FILE, FOLDER, JOB, JSON, LATER, PROGRESS, SET_ASIDE, STRICT, WRONG_INPUT
from asbuilt.errors import InputFileError, LogRefusedError, OutputError
from asbuilt.terminal import archive, results, screen
from asbuilt.terminal.cautions import CAUTION, DIGGING_CAUTION
from asbuilt.terminal.progress import shown as progress_shown

if TYPE_CHECKING:
    from asbuilt.layers.outcome import Whole
    from asbuilt.placement import Placement
    from asbuilt.returned.markup import Returned


@click.command()
@click.argument("folder", metavar="[DIR]", type=FOLDER, default=Path("asbuilt-sample"))
@JSON
@PROGRESS
def demo(folder: Path, as_json: bool, progress: str) -> None:
    """Write the sample job to DIR (./asbuilt-sample if left out) and place its joints.

    \b
    Example:
        asbuilt demo my-first-job
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise OutputError(f"{folder}: is there already and is not empty; name another folder: asbuilt demo OTHER")
    was_there = folder.exists()
    try:
        told = _placed_sample(folder, as_json, progress)
    except BaseException:
        # The folder held nothing before: interrupted or failed, it holds nothing again.
        shutil.rmtree(folder, ignore_errors=True)
        if was_there:
            folder.mkdir(exist_ok=True)
        raise
    if as_json:
        screen.as_json({"folder": str(folder), "jobs": told})
        return
    screen.line(f"\nThe sample's story, and what to look for in it: {folder / 'README.md'}")
    screen.line(f"The engineer's pages: asbuilt review {folder / 'joints.gpkg'} --out {folder / 'review'}")
    screen.line(f"\n{CAUTION}")


@click.command()
@click.argument("logs", metavar="LOG...", type=FILE, nargs=-1, required=True)
@click.option("--sheet", metavar="NAME", help="Of a workbook with several; '*' for every sheet that holds records.")
@click.option("--layer", metavar="NAME", help="Of a vector file with several.")
@JSON
def columns(logs: tuple[Path, ...], sheet: str | None, layer: str | None, as_json: bool) -> None:
    """Say which columns the files of a log have, and what each would be read as; nothing is written.

    \b
    Example:
        asbuilt columns joint_log.xlsx
    """
    from dataclasses import asdict

    from asbuilt.inputs.first_look import look, look_at_sheets

    each = [look_at_sheets(path) if sheet == "*" else [look(path, sheet=sheet, layer=layer)] for path in logs]
    looks = [one for found in each for one in found]
    if as_json:
        screen.as_json({"files": [asdict(one) for one in looks]})
        return
    for one in looks:
        results.print_first_look(one)


@click.command()
@click.argument("job", metavar="JOB.toml", type=LATER, required=False)
@click.option("--template", "print_template", is_flag=True, help="Print a commented job file to fill in.")
@click.option("--keys", is_flag=True, help="Only take the job file apart: its keys, files by their full paths.")
@click.option(
    "--return",
    "returned",
    metavar="FILE.xlsx",
    type=FILE,
    help="Write the contractor's log back as a workbook with remarks; of several logs, a workbook for each.",
)
@STRICT
@JSON
@PROGRESS
def check(
    job: Path | None,
    print_template: bool,
    keys: bool,
    returned: Path | None,
    strict: bool,
    as_json: bool,
    progress: str,
) -> None:
    """Read and judge the inputs only; nothing is written but what --return asks for.

    \b
    Examples:
        asbuilt check --template > job.toml
        asbuilt check job.toml
        asbuilt check job.toml --return log-with-remarks.xlsx
    """
    if print_template:
        from asbuilt.job import template

        # A line at a time: a text as long as the template would be cut.
        for one in template().splitlines():
            screen.line(one)
        return
    if job is None:
        raise click.UsageError("name a job file, or print one to fill in with --template")
    if keys:
        from asbuilt.inputs.job_keys import job_keys

        found = job_keys(job)
        if as_json:
            screen.as_json({"job": str(job), "keys": found})
            return
        for told in found:
            screen.line(told["text"])
        return
    from asbuilt.processor import STEPS
    from asbuilt.processor import place as place_job

    with progress_shown(progress) as report:
        try:
            placement = place_job(job, progress=report)
        except LogRefusedError as refused:
            if returned is None:
                raise
            raise InputFileError(_refused_log(job, refused, returned)) from None
        handed_back = None
        if returned is not None:
            from asbuilt.returned.markup import write_return

            report("write the log with remarks", len(STEPS) - 1, len(STEPS))
            handed_back = write_return(placement, returned)
    _print_result(placement.whole, as_json, checked=placement, handed_back=handed_back)
    if not as_json and handed_back is not None:
        results.print_handed_back(handed_back)
    elif not as_json:
        screen.line(f"\nNothing was written. To write the layers: asbuilt place {job}")
    if not as_json:
        screen.line(f"\n{CAUTION}")
        screen.line(DIGGING_CAUTION)
    _end(placement.whole, strict)


def _refused_log(job: Path, refused: LogRefusedError, returned: Path) -> str:
    """Hand a refused log back with the reason at its row, and give the message with where it is."""
    from asbuilt.job import load_job
    from asbuilt.returned.markup import write_refused

    written = write_refused(load_job(job), refused, returned)
    return f"{refused}. The log with this remark at its row: {written}"


@click.command()
@click.argument("jobs", metavar="JOB.toml...", type=LATER, nargs=-1, required=True)
@click.option("--out", type=FILE, help="File or folder to write, instead of the job's output.path.")
@click.option(
    "--workers",
    type=click.IntRange(1),
    metavar="N",
    help="Processes that place many jobs at once, or judge the parts of a large one; 1 if left out.",
)
@click.option(
    "--scheduler",
    metavar="ADDRESS",
    help="Scheduler of a Dask cluster (extra cluster) whose workers do the same, like tcp://maps-server:8786.",
)
@click.option("--resume", is_flag=True, help="Leave out jobs that are placed, with inputs and version unchanged.")
@click.option("--report", metavar="FILE.csv", type=FILE, help="Write what became of each of many jobs.")
@STRICT
@JSON
@PROGRESS
def place(
    jobs: tuple[Path, ...],
    out: Path | None,
    workers: int | None,
    scheduler: str | None,
    resume: bool,
    report: Path | None,
    strict: bool,
    as_json: bool,
    progress: str,
) -> None:
    """Place the log's joints on the centerline, judge them, and write the GeoPackage layers.

    Of many jobs each writes its own output.path, and one that is wrong stops no other; the worst of them is how the
    command ends. Where there are fewer jobs than workers, the joints of a large one are judged by several of them.

    \b
    Examples:
        asbuilt place job.toml --out joints.gpkg
        asbuilt place mill.toml quarry.toml --workers 4 --resume --report placed.csv
        asbuilt place county.toml --workers 8
        asbuilt place mill.toml quarry.toml --scheduler tcp://maps-server:8786
    """
    if workers is not None and scheduler is not None:
        raise click.UsageError(
            "--workers is for processes of this machine, --scheduler for a cluster; give one of them"
        )
    if len(jobs) > 1 and out is not None:
        raise click.UsageError("--out is for one job alone; of many, each writes its own output.path")
    if len(jobs) > 1 or workers is not None or scheduler is not None or resume or report is not None:
        _place_many(jobs, out, workers or 1, scheduler, resume, report, strict, as_json, progress)
        return
    whole, written = _place(jobs[0], out, progress)
    _print_result(whole, as_json, written=written)
    if not as_json:
        results.print_written(written)
        screen.line(f"\n{CAUTION}")
    _end(whole, strict)


@click.command(name="map")
@JOB
@click.option("--dry-run", is_flag=True, help="Only say what would happen, and which values do not fit.")
@STRICT
@JSON
@PROGRESS
def map_joints(job: Path, dry_run: bool, strict: bool, as_json: bool, progress: str) -> None:
    """Append the job's joints to the utility's own layer, as the job's [map] says.

    Joints that are there already are not added again, and what is there is not touched unless [map] says update = true.
    A value that does not fit its column is reported, and nothing is written.

    \b
    Examples:
        asbuilt map job.toml --dry-run
        asbuilt map job.toml
    """
    from asbuilt.owner_map.map_layers import write_map
    from asbuilt.processor import STEPS
    from asbuilt.processor import place as place_job

    with progress_shown(progress) as report:
        placement = place_job(job, progress=report)
        report("write the map", len(STEPS) - 1, len(STEPS))
        if not as_json:
            results.print_before_map(placement.whole)
        written = write_map(placement, dry_run=dry_run)
    if as_json:
        result = {"into": written.into, "layer": written.layer, "created": written.created, "joints": written.joints}
        result |= {"already_there": written.already_there, "added": 0 if dry_run else written.added}
        result |= {"differing": written.differing, "updated": 0 if dry_run else written.updated}
        result |= {"to_update": written.updated, "differences": [one._asdict() for one in written.differences]}
        result |= {"not_in_the_job": list(written.dropped), "moves": written.moves}
        counts = placement.whole.counts
        result |= {name: counts[name] for name in ("records_read", "records_set_aside")}
        result |= {"findings_to_act_on": results.to_act_on(placement.whole)}
        result |= {"to_add": written.added, "dry_run": dry_run, "notes": [*_texts(placement.whole), *written.notes]}
        result["note_codes"] = _codes(placement.whole)
        screen.as_json(result)
    else:
        results.print_mapped(written, dry_run)
    _end(placement.whole, strict)


def _placed_sample(folder: Path, as_json: bool, progress: str) -> list[dict[str, Any]]:
    """Write the sample to a folder and place its jobs; tell of each."""
    with resources.as_file(_sample_folder()) as source:
        shutil.copytree(source, folder, dirs_exist_ok=True)
    told = []
    for job in sorted(folder.glob("job*.toml")):
        whole, written = _place(job, None, progress)
        told.append({"written": str(written), **whole.counts})
        if not as_json:
            results.print_summary(whole)
            results.print_written(written)
    return told


def _place(job: Path, out: Path | None, progress: str) -> tuple[Whole, Path]:
    from asbuilt.job import load_job

    loaded = load_job(job)
    path = out if out is not None else loaded.file(loaded.output.path)
    # GeoParquet alone is read and written by data frames.
    if "parquet" not in f"{path} {loaded.model_dump_json()}".lower():
        spared.data_frames()
    from asbuilt.processor import place_into

    with progress_shown(progress) as report:
        whole = place_into(loaded, path, progress=report)
    return whole, path


def _place_many(
    jobs: tuple[Path, ...],
    out: Path | None,
    workers: int,
    scheduler: str | None,
    resume: bool,
    report: Path | None,
    strict: bool,
    as_json: bool,
    progress: str,
) -> None:
    from dataclasses import asdict

    from asbuilt.archive import jobs as many

    if report is not None:
        many.check_report(report)
    with progress_shown(progress) as shown:
        told = many.place_jobs(jobs, workers=workers, scheduler=scheduler, resume=resume, into=out, progress=shown)
    if report is not None:
        many.write_report(told, report)
    total = many.totals(told)
    if as_json:
        screen.as_json(
            {**total, "told": [asdict(one) for one in told], "report": str(report) if report is not None else None}
        )
    else:
        archive.print_jobs(told, total, report)
    states = {one.state for one in told}
    if "failed" in states:
        raise click.exceptions.Exit(FAILED)
    if "wrong" in states:
        raise click.exceptions.Exit(WRONG_INPUT)
    if strict and total["records_set_aside"]:
        raise click.exceptions.Exit(SET_ASIDE)


def _end(whole: Whole, strict: bool) -> None:
    if strict and whole.counts["records_set_aside"]:
        raise click.exceptions.Exit(SET_ASIDE)


def _print_result(
    whole: Whole,
    as_json: bool,
    *,
    written: Path | None = None,
    checked: Placement | None = None,
    handed_back: Returned | None = None,
) -> None:
    """Print what became of a job; of one that was only checked, its columns and rows, too."""
    told = results.told_of_rows(checked) if checked is not None else []
    if as_json:
        result: dict[str, Any] = {"name": whole.job.name, **whole.counts, "notes": _texts(whole)}
        result["note_codes"] = _codes(whole)
        if written is not None:
            result["written"] = str(written)
        if checked is not None:
            result["columns"] = [list(match) for match in whole.log.matches]
            result["columns_not_read"] = [list(one) for one in whole.log.not_read]
            result["survey_columns"] = [list(match) for match in whole.routes.matches]
            result["survey_columns_not_read"] = [list(one) for one in whole.routes.not_read]
            result["rows"] = told
        if handed_back is not None:
            result["returned"] = [str(path) for path in handed_back.paths]
            result["remarks"] = handed_back.remarks
            result["notes"] = [*result["notes"], *handed_back.notes]
        screen.as_json(result)
        return
    if checked is not None:
        results.print_columns(whole)
    results.print_summary(whole)
    results.print_rows(told)


def _texts(whole: Whole) -> list[str]:
    return [note.text for note in whole.notes]


def _codes(whole: Whole) -> list[dict[str, Any]]:
    """Give the notes on the job as a program tells them apart, in the order of their texts."""
    return [
        {"code": note.code, "severity": note.severity, "about": note.about, "routes": list(note.routes)}
        for note in whole.notes
    ]


def _sample_folder() -> Any:
    packed = resources.files("asbuilt").joinpath("data/sample_gis")
    if packed.is_dir():
        return packed
    return Path(__file__).resolve().parents[2] / "sample_gis"  # a checkout, not an installed wheel
