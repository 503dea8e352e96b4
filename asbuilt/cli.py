"""The commands: each parses its options, calls the function of the same name, and prints what came of it.

Exit status: 0 done; 1 done, but records were set aside and --strict was given; 2 the inputs or options are
wrong, and nothing was written; 3 the program failed; 130 interrupted.
"""

from __future__ import annotations

import json
import shutil
import signal
import sys
import tempfile
import threading
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from importlib import resources
from pathlib import Path
from types import FrameType
from typing import TYPE_CHECKING, Any, NoReturn

import click

from asbuilt.errors import AsbuiltError, OutputError
from asbuilt.version import __version__

if TYPE_CHECKING:
    from rich.table import Table

    from asbuilt.owner_map.map_layers import Written
    from asbuilt.processor import Placement
    from asbuilt.returned.markup import Returned

DONE, SET_ASIDE, WRONG_INPUT, FAILED, INTERRUPTED = 0, 1, 2, 3, 130

CAUTION = (
    "These are findings on records, not an acceptance of work. Limits come from the approved submittal and the "
    "project's specification; local codes and the pipe maker's instructions govern, and the judgement is a "
    "licensed engineer's."
)

TEST_CAUTION = (
    "Pressure testing injures and kills: nothing here replaces the site's safety plan, or says that a main may be put "
    "under pressure. Testing allowances are those of AWWA C600, from memory; the project's specification governs."
)

_ROWS_SHOWN = 20

_JOB = click.argument("job", metavar="JOB.toml", type=click.Path(path_type=Path))
_JSON = click.option("--json", "as_json", is_flag=True, help="Print one JSON object on stdout, and nothing else there.")
_STRICT = click.option("--strict", is_flag=True, help="End with status 1 if any record was set aside.")
_PROGRESS = click.option(
    "--progress",
    type=click.Choice(["bar", "json", "none"]),
    default="bar",
    show_default=True,
    help="How to show progress on stderr: a bar (only on a terminal), one JSON object a line, or none.",
)


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="asbuilt")
def cli() -> None:
    """Turn a pipe crew's joint log and a surveyed centerline into joint records on a utility's map.

    \b
    Example, the first thing to try:
        asbuilt demo
    """


@cli.command()
@click.argument("folder", metavar="[DIR]", type=click.Path(path_type=Path), default=Path("asbuilt-sample"))
@_JSON
@_PROGRESS
def demo(folder: Path, as_json: bool, progress: str) -> None:
    """Write the sample job to DIR (./asbuilt-sample if left out) and place its joints.

    \b
    Example:
        asbuilt demo my-first-job
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise OutputError(f"{folder}: is there already and is not empty; name another folder: asbuilt demo OTHER")
    with resources.as_file(_sample_folder()) as source:
        shutil.copytree(source, folder, dirs_exist_ok=True)
    results = []
    for job in sorted(folder.glob("job*.toml")):
        placement, written = _place(job, None, progress)
        results.append({"written": str(written), **placement.counts})
        if not as_json:
            _print_summary(placement)
            _print_written(written)
    if as_json:
        click.echo(json.dumps({"folder": str(folder), "jobs": results}))
        return
    click.echo(f"\nThe sample's story, and what to look for in it: {folder / 'README.md'}")
    click.echo(f"The engineer's pages: asbuilt review {folder / 'joints.gpkg'} --out {folder / 'review'}")
    click.echo(f"\n{CAUTION}")


@cli.command()
@click.argument("job", metavar="JOB.toml", type=click.Path(path_type=Path), required=False)
@click.option("--template", "print_template", is_flag=True, help="Print a commented job file to fill in.")
@click.option(
    "--return",
    "returned",
    metavar="FILE.xlsx",
    type=click.Path(path_type=Path),
    help="Write the contractor's log back as a workbook with remarks; of several logs, a workbook for each.",
)
@_STRICT
@_JSON
@_PROGRESS
def check(
    job: Path | None, print_template: bool, returned: Path | None, strict: bool, as_json: bool, progress: str
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

        click.echo(template(), nl=False)
        return
    if job is None:
        raise click.UsageError("name a job file, or print one to fill in with --template")
    from asbuilt.processor import STEPS
    from asbuilt.processor import place as place_job

    with _shown_progress(progress) as report:
        placement = place_job(job, progress=report)
        handed_back = None
        if returned is not None:
            from asbuilt.returned.markup import write_return

            report("write the log with remarks", len(STEPS) - 1, len(STEPS))
            handed_back = write_return(placement, returned)
    _print_result(placement, as_json, with_columns=True, handed_back=handed_back)
    if not as_json and handed_back is not None:
        _print_handed_back(handed_back)
    elif not as_json:
        click.echo(f"\nNothing was written. To write the layers: asbuilt place {job}")
    _end(placement, strict)


@cli.command()
@_JOB
@click.option("--out", type=click.Path(path_type=Path), help="GeoPackage to write, instead of the job's output.path.")
@_STRICT
@_JSON
@_PROGRESS
def place(job: Path, out: Path | None, strict: bool, as_json: bool, progress: str) -> None:
    """Place the log's joints on the centerline, judge them, and write the GeoPackage layers.

    \b
    Example:
        asbuilt place job.toml --out joints.gpkg
    """
    placement, written = _place(job, out, progress)
    _print_result(placement, as_json, written=written)
    if not as_json:
        _print_written(written)
        click.echo(f"\n{CAUTION}")
    _end(placement, strict)


@cli.command()
@click.argument("file", metavar="FILE", type=click.Path(path_type=Path))
@click.option("--out", metavar="DIR", type=click.Path(path_type=Path), required=True, help="Folder to write.")
@click.option("--route", "routes", multiple=True, help="Only this route; can be given several times.")
@click.option("--pdf", is_flag=True, help="Also print each page to PDF, through a headless Chromium.")
@click.option(
    "--paper", type=click.Choice(["letter", "a4"]), default="letter", show_default=True, help="Paper of the PDFs."
)
@click.option("--plots", is_flag=True, help="Also write each plot as SVG and PNG.")
@_JSON
@_PROGRESS
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

    with _shown_progress(progress) as report:
        written = write_review(file, out, routes=routes, pdf=pdf, paper=paper, plots=plots, progress=report)
    if as_json:
        click.echo(json.dumps(written, ensure_ascii=False))
        return
    _print_review(written)
    click.echo(f"\n{CAUTION}")


@cli.command(name="map")
@_JOB
@click.option("--dry-run", is_flag=True, help="Only say what would happen, and which values do not fit.")
@_STRICT
@_JSON
@_PROGRESS
def map_joints(job: Path, dry_run: bool, strict: bool, as_json: bool, progress: str) -> None:
    """Append the job's joints to the utility's own layer, as the job's [map] says.

    Joints that are there already are not added again, and what is there is not touched. A value that does not fit its
    column is reported, and nothing is written.

    \b
    Examples:
        asbuilt map job.toml --dry-run
        asbuilt map job.toml
    """
    from asbuilt.owner_map.map_layers import write_map
    from asbuilt.processor import STEPS
    from asbuilt.processor import place as place_job

    with _shown_progress(progress) as report:
        placement = place_job(job, progress=report)
        report("write the map", len(STEPS) - 1, len(STEPS))
        written = write_map(placement, dry_run=dry_run)
    if as_json:
        result = {"into": written.into, "layer": written.layer, "created": written.created, "joints": written.joints}
        result |= {"already_there": written.already_there, "added": 0 if dry_run else written.added}
        result |= {"to_add": written.added, "dry_run": dry_run, "notes": [*placement.notes, *written.notes]}
        click.echo(json.dumps(result, ensure_ascii=False))
    else:
        _print_mapped(written, dry_run)
    _end(placement, strict)


_REGISTER = click.argument("register", metavar="REGISTER")
_BY = click.option("--by", metavar="NAME", help="Who does this; the user of this machine, if left out.")
_DAY = click.DateTime(["%Y-%m-%d"])


@cli.command()
@click.argument("file", metavar="FILE.gpkg", type=click.Path(path_type=Path), required=False)
@click.option("--into", metavar="REGISTER", required=True, help="A GeoPackage, or postgresql://user@host/database.")
@click.option("--crs", help="Coordinate system of a register to be made, like EPSG:6418; the file's, if left out.")
@click.option("--tolerance", default="1ft", show_default=True, help="Places nearer than this are one place.")
@click.option("--dry-run", is_flag=True, help="Only list what would happen.")
@click.option("--strict", is_flag=True, help="End with status 1 if any joint was left out for a conflict.")
@click.option("--undo", type=int, metavar="LOAD", help="Undo a load, instead of loading a file.")
@_BY
@_JSON
@_PROGRESS
def load(
    file: Path | None,
    into: str,
    crs: str | None,
    tolerance: str,
    dry_run: bool,
    strict: bool,
    undo: int | None,
    by: str | None,
    as_json: bool,
    progress: str,
) -> None:
    """Merge a placed job into the register; a register that is not there is made.

    \b
    Examples:
        asbuilt load joints.gpkg --into register.gpkg
        asbuilt load joints.gpkg --into postgresql://maps@server/water --dry-run
        asbuilt load --undo 3 --into register.gpkg
    """
    if (file is None) == (undo is None):
        raise click.UsageError("name a file to load, or a load to undo with --undo")
    from dataclasses import asdict

    from asbuilt.register import loading, printing, question
    from asbuilt.register.undo import undo as undo_load

    if undo is not None:
        undone = undo_load(undo, into, by=by, dry_run=dry_run)
        if as_json:
            click.echo(json.dumps(asdict(undone), ensure_ascii=False))
        else:
            printing.print_undone(undone)
        return
    assert file is not None
    tolerance_m = question.metres(tolerance, "m", option="--tolerance")
    with _shown_progress(progress) as report:
        loaded = loading.load(file, into, crs=crs, tolerance_m=tolerance_m, by=by, dry_run=dry_run, progress=report)
    if as_json:
        click.echo(json.dumps(asdict(loaded) | {"changed": loaded.changed}, ensure_ascii=False, default=str))
    else:
        printing.print_loaded(loaded)
    if strict and loaded.joints["left_out"]:
        raise click.exceptions.Exit(SET_ASIDE)


@cli.command()
@_REGISTER
@click.option(
    "--near",
    metavar="PLACE",
    help="LAT,LON, or E,N in the register's coordinates, or E,N,EPSG. Two numbers that can be a latitude and a "
    "longitude are taken for them.",
)
@click.option("--within", metavar="DISTANCE", help="How far from there, on the ground: 50ft, 15m.")
@click.option("--nearest", type=click.IntRange(1), help="How many at most; 10 for --near without --within.")
@click.option("--route", "routes", multiple=True, help="Only this route; may be repeated.")
@click.option("--from", "from_station", metavar="STATION", help="Only from this station of the route on.")
@click.option("--to", "to_station", metavar="STATION", help="Only up to this station of the route.")
@click.option("--area", type=click.Path(path_type=Path), help="Only within the polygons of this file.")
@click.option("--joint", "joints", multiple=True, help="Only this joint number or joint_uid; may be repeated.")
@click.option("--since", type=_DAY, help="Only joints inspected on this day or later.")
@click.option("--until", type=_DAY, help="Only joints inspected on this day or earlier.")
@click.option("--verdict", "verdicts", multiple=True, help="Only with this verdict; may be repeated.")
@click.option("--finding", "findings", multiple=True, help="Only with this finding, by its code; may be repeated.")
@click.option("--inspector", "inspectors", multiple=True, help="Only inspected by this person; may be repeated.")
@click.option("--out", type=click.Path(path_type=Path), help="Write what is found: .csv, .xlsx, .gpkg or .geojson.")
@click.option(
    "--map", "map_page", type=click.Path(path_type=Path), help="Write a web page with a map of what is found."
)
@_JSON
def find(register: str, as_json: bool, out: Path | None, map_page: Path | None, **asked: Any) -> None:
    """Find joints in the register, nearest first, each with its history. All that is asked must hold.

    \b
    Examples:
        asbuilt find register.gpkg --near 38.6512,-121.2024 --within 50ft
        asbuilt find register.gpkg --route A --from 12+00 --to 14+00 --out joints.xlsx
        asbuilt find register.gpkg --area district.geojson --verdict over --map over.html
    """
    from asbuilt.register import printing, results
    from asbuilt.register.question import Question
    from asbuilt.register.search import find as find_joints

    for name in ("since", "until"):
        asked[name] = asked[name].date() if asked[name] is not None else None
    for path in (out, map_page):
        if path is not None:
            results.check_name(path, is_map=path is map_page)
    found = find_joints(register, Question(**asked))
    if out is not None:
        results.write(found, out)
    if map_page is not None:
        results.write_map(found, map_page)
    if as_json:
        click.echo(json.dumps(found.as_json(), ensure_ascii=False))
        return
    printing.print_found(found)
    for path in (out, map_page):
        if path is not None:
            click.echo(f"Wrote {path}.")


@cli.command()
@_REGISTER
@click.argument("finding", metavar="FINDING")
@click.option("--note", help="What whoever looked wants to be known.")
@click.option(
    "--as",
    "as_",
    type=click.Choice(["looked-at", "open"]),
    default="looked-at",
    show_default=True,
    help="What became of the finding.",
)
@_BY
@_JSON
def mark(register: str, finding: str, note: str | None, as_: str, by: str | None, as_json: bool) -> None:
    """Mark a finding of the register as looked at, with a note. Every mark is kept; the latest counts.

    FINDING is its finding_uid, as asbuilt find --json gives it, or the first letters of it, as asbuilt find prints.

    \b
    Example:
        asbuilt mark register.gpkg 6a0c2f0e-5b1d-5b62-9f59-0c8a2f1f4a11 --note "dug up, tight" --by "R. Vance"
    """
    from asbuilt.register.marks import mark as mark_finding

    written = mark_finding(register, finding, note=note, by=by, as_=as_)
    if as_json:
        click.echo(json.dumps(written, ensure_ascii=False))
    else:
        click.echo(f"Marked finding {finding} as {as_}, by {written['marked_by']}.")


def main() -> NoReturn:
    """Run a command and end with its exit status."""
    # Who started this may end it so (the desktop GIS does): as after Ctrl+C, nothing half-written stays.
    signal.signal(signal.SIGTERM, _interrupted)
    sys.exit(run(sys.argv[1:]))


def _interrupted(number: int, frame: FrameType | None) -> NoReturn:
    raise KeyboardInterrupt


def run(arguments: list[str]) -> int:
    """Run a command given as its arguments, and give its exit status.

    Examples
    --------
    >>> run(["check", "no-such-job.toml"])
    2
    """
    try:
        status = cli.main(arguments, prog_name="asbuilt", standalone_mode=False)
    except AsbuiltError as error:
        click.echo(str(error), err=True)
        return WRONG_INPUT
    except click.ClickException as error:
        error.show()
        return WRONG_INPUT
    except (click.Abort, KeyboardInterrupt):
        click.echo("interrupted: an output that was being written is left as it was before", err=True)
        return INTERRUPTED
    except BrokenPipeError:
        return DONE
    except Exception as error:
        click.echo(_failure(error), err=True)
        return FAILED
    return status if isinstance(status, int) else DONE


def _place(job: Path, out: Path | None, progress: str) -> tuple[Placement, Path]:
    from asbuilt.job import load_job
    from asbuilt.processor import STEPS
    from asbuilt.processor import place as place_job

    loaded = load_job(job)
    path = out if out is not None else loaded.file(loaded.output.path)
    with _shown_progress(progress) as report:
        placement = place_job(loaded, progress=report)
        report(STEPS[-1], len(STEPS) - 1, len(STEPS))
        placement.write(path)
        report(STEPS[-1], len(STEPS), len(STEPS))
    return placement, path


def _end(placement: Placement, strict: bool) -> None:
    if strict and placement.counts["records_set_aside"]:
        raise click.exceptions.Exit(SET_ASIDE)


def _print_result(
    placement: Placement,
    as_json: bool,
    *,
    written: Path | None = None,
    with_columns: bool = False,
    handed_back: Returned | None = None,
) -> None:
    told = _told_of_rows(placement) if with_columns else []
    if as_json:
        result: dict[str, Any] = {"name": placement.job.name, **placement.counts, "notes": placement.notes}
        if written is not None:
            result["written"] = str(written)
        if with_columns:
            result["columns"] = [list(match) for match in placement.log.matches]
            result["columns_not_read"] = [list(one) for one in placement.log.not_read]
            result["rows"] = told
        if handed_back is not None:
            result["returned"] = [str(path) for path in handed_back.paths]
            result["remarks"] = handed_back.remarks
            result["notes"] = [*result["notes"], *handed_back.notes]
        click.echo(json.dumps(result, ensure_ascii=False))
        return
    if with_columns:
        _print_columns(placement)
    _print_summary(placement)
    _print_rows(told)


def _told_of_rows(placement: Placement) -> list[dict[str, Any]]:
    """Say which rows of the log, and lengths of its routes, are remarked on, and why."""
    import pyarrow as pa

    from asbuilt.returned.markup import length_remarks, remarks

    log, found = placement.log, remarks(placement)
    records = pa.array([one.record for one in found], pa.int64())
    names = zip(*(log.text(field).take(records).to_pylist() for field in ("route", "joint")), strict=True)
    of_rows = [
        {
            "file": log.file[one.record].as_py(), "row": int(log.row[one.record]), "route": route, "joint": joint,
            "kind": one.kind, "severity": one.severity, "fields": list(one.fields), "message": one.text,
        }
        for one, (route, joint) in zip(found, names, strict=True)
    ]  # fmt: skip
    of_lengths: list[dict[str, Any]] = [
        {
            "file": None, "row": None, "route": one.route, "joint": None, "kind": one.kind, "severity": one.severity,
            "fields": [], "message": one.text,
        }
        for one in length_remarks(placement)
    ]  # fmt: skip
    return of_rows + of_lengths


def _print_rows(told: list[dict[str, Any]]) -> None:
    """Name the rows to act on, and count the others."""
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    if not told:
        return
    acts = [one for one in told if one["severity"] == "act"]
    console = Console(highlight=False)
    if acts:
        table = Table("row", "joint", "what is wrong, and what is expected", title="To act on", title_justify="left")
        for one in acts[:_ROWS_SHOWN]:
            joint = " ".join(part for part in (one["route"], one["joint"]) if part)
            cells = (f"{one['file']} {one['row']}" if one["file"] else "(a length)", joint, one["message"])
            table.add_row(*map(Text, cells))
        console.print(table)
    more, others = len(acts) - _ROWS_SHOWN, len(told) - len(acts)
    parts = [f"{more} more to act on"] if more > 0 else []
    parts += [f"{others} to check or to know"] if others else []
    if parts:
        click.echo(f"And {' and '.join(parts)}: --return FILE.xlsx marks them all in the log, --json lists them.")


def _print_summary(placement: Placement) -> None:
    from rich.console import Console
    from rich.table import Table

    from asbuilt.judging.findings import CHECKS

    counts = placement.counts
    table = Table(show_header=False)
    table.add_column()
    table.add_column(justify="right")
    table.add_row("records read", str(counts["records_read"]))
    table.add_row("= placed", str(counts["inspections_placed"]))
    table.add_row("+ set aside", str(counts["records_set_aside"]))
    for reason, count in counts["set_aside_by_reason"].items():
        table.add_row(f"    {reason}", str(count))
    table.add_section()
    table.add_row(f"joints, on {counts['routes_with_joints']} of {counts['routes']} routes", str(counts["joints"]))
    for source, count in counts["joints_by_position"].items():
        table.add_row(f"    placed by: {source}", str(count))
    for verdict, count in counts["joints_by_verdict"].items():
        table.add_row(f"    deflection: {verdict}", str(count))
    for state, count in counts["joints_by_inspection"].items():
        table.add_row(f"    inspection: {state}", str(count))
    table.add_section()
    table.add_row("findings", str(counts["findings"]))
    for one in CHECKS:
        if one.code in counts["findings_by_code"]:
            table.add_row(f"    {one.code} ({one.severity})", str(counts["findings_by_code"][one.code]))
    _add_lengths(table, placement)
    _add_closures(table, placement)
    _add_accuracy(table, placement)
    console = Console(highlight=False)
    console.print(f"\n{placement.job.name}: what became of the log", style="bold", markup=False, soft_wrap=True)
    console.print(table)
    for note in placement.notes:
        console.print(f"note: {note}", soft_wrap=True, markup=False)
    if counts["pressure_tests"]["tests"]:
        console.print(TEST_CAUTION, soft_wrap=True, markup=False)


def _add_lengths(table: Table, placement: Placement) -> None:
    """Add what the job says of restraint and pressure tests, if anything."""
    from asbuilt.units import SYMBOLS

    restraint, tests = placement.counts["restraint"], placement.counts["pressure_tests"]
    if restraint["lengths"]:
        table.add_section()
        table.add_row("lengths that the design wants restrained", str(restraint["lengths"]))
        table.add_row("    joints in them", str(restraint["joints"]))
        table.add_row("    joints not recorded as restrained", str(restraint["joints_unrestrained"]))
    if tests["tests"]:
        table.add_section()
        table.add_row("pressure tests", str(tests["tests"]))
        for result, count in tests["by_result"].items():
            table.add_row(f"    {result}", str(count))
        symbol = SYMBOLS[placement.job.records.station_unit]
        table.add_row(
            f"    lengths under no test: {tests['untested_lengths']}", f"{tests['untested_length']:g} {symbol}"
        )


def _add_closures(table: Table, placement: Placement) -> None:
    """Add what the stretching between ties makes up."""
    from asbuilt.units import SYMBOLS

    symbol = SYMBOLS[placement.job.records.station_unit]
    if placement.counts["ties"]:
        table.add_section()
    for one in placement.counts["ties"]:
        names = " to ".join(name.removeprefix("centerline.ties ") for name in (one["from"], one["to"]))
        text = f"closure on {one['route']}, ties {names}: {one['length']:g} {symbol}"
        table.add_row(text, f"{one['closure']:+.2f} {symbol}, {one['closure_ppm']:+.0f} ppm")


def _add_accuracy(table: Table, placement: Placement) -> None:
    """Add the accuracy of the survey, where it was checked."""
    from asbuilt.units import SYMBOLS

    found, symbol = placement.counts["survey_check"], SYMBOLS[placement.routes.unit]
    if found is None:
        return
    table.add_section()
    table.add_row("check points of the survey", str(found["points"]))
    for word in ("horizontal", "vertical"):
        accuracy = found[f"accuracy_{word}"]
        shown = f"{accuracy:.3f} {symbol}" if accuracy is not None else "not known"
        table.add_row(f"    {word} accuracy at 95 % (FGDC-STD-007.3)", shown)


def _print_columns(placement: Placement) -> None:
    from rich.console import Console
    from rich.table import Table

    table = Table("file", "column of the log", "is read as", title="Columns", title_justify="left")
    for file, field, column in placement.log.matches:
        table.add_row(Path(file).name, column, field)
    for file, column in placement.log.not_read:
        table.add_row(Path(file).name, column, "(not read)")
    Console(highlight=False).print(table)


def _print_handed_back(handed_back: Returned) -> None:
    for note in handed_back.notes:
        click.echo(f"note: {note}")
    count = sum(handed_back.remarks.values())
    click.echo(f"\nWrote {', '.join(map(str, handed_back.paths))} ({count} remarks), and nothing else.")
    click.echo("Corrected and handed in, name it in records.path: the sheet and column of remarks are not read.")


def _print_mapped(written: Written, dry_run: bool) -> None:
    for note in written.notes:
        click.echo(f"note: {note}")
    layer = f"layer {written.layer} of {written.into}"
    there = f"{written.already_there} of {written.joints} joints are there already"
    made = f"{'would be made' if dry_run else 'was made'}, " if written.created else ""
    if dry_run:
        click.echo(f"{layer}: {made}{there}; {written.added} would be added. Nothing was written.")
        return
    click.echo(f"{layer}: {made}{there}; {written.added} added.")
    click.echo(f"\n{CAUTION}")


def _print_written(path: Path) -> None:
    from asbuilt.schema import LAYERS

    click.echo(f"\nWrote {path} ({', '.join(LAYERS)}).")


def _print_review(written: dict[str, Any]) -> None:
    from rich.console import Console
    from rich.table import Table

    table = Table("page", "route", "joints", "over", "cannot tell", "findings to act on", "to check")
    for one in written["routes"]:
        verdicts, severities = one["joints_by_verdict"], one["findings_by_severity"]
        counts = (one["joints"], verdicts.get("over", 0), verdicts.get("cannot-tell", 0), severities.get("act", 0),
                  severities.get("check", 0))  # fmt: skip
        table.add_row(one["page"], one["route"], *map(str, counts))
    Console(highlight=False).print(table)
    click.echo(f"\nWrote {len(written['files'])} files; open {Path(written['written']) / written['index']}")


def _sample_folder() -> Any:
    packed = resources.files("asbuilt").joinpath("data/sample_gis")
    if packed.is_dir():
        return packed
    return Path(__file__).resolve().parent.parent / "sample_gis"  # a checkout, not an installed wheel


@contextmanager
def _shown_progress(kind: str) -> Iterator[Callable[[str, int, int], None]]:
    if kind == "json":
        yield lambda step, done, of: click.echo(json.dumps({"step": step, "done": done, "of": of}), err=True)
        return
    if kind == "none" or not sys.stderr.isatty():
        yield lambda step, done, of: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (BarColumn(), TextColumn("{task.description}"), TimeElapsedColumn())
    bar = Progress(*columns, console=Console(stderr=True), transient=True)
    task = bar.add_task("", total=None)
    # Work that ends within a second needs no bar.
    timer = threading.Timer(1.0, bar.start)
    timer.daemon = True
    timer.start()
    try:
        yield lambda step, done, of: bar.update(task, description=step, completed=done, total=of)
    finally:
        timer.cancel()
        bar.stop()


def _failure(error: Exception) -> str:
    with tempfile.NamedTemporaryFile("w", prefix="asbuilt-", suffix=".log", delete=False, encoding="utf-8") as log:
        log.write("".join(traceback.format_exception(error)))
    return f"asbuilt failed: {type(error).__name__}: {error}\nThe details are in {log.name}; please report them."
