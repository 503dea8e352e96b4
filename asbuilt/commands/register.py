"""The commands of the register: load, find, mark and what else is asked of it or noted in it."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from asbuilt.commands import spared
from asbuilt.commands.options import ACCEPT, BY, DAY, FILE, JSON, LATER, PROGRESS, REGISTER, SET_ASIDE, WRONG_INPUT
from asbuilt.terminal import screen
from asbuilt.terminal.progress import shown as progress_shown

if TYPE_CHECKING:
    from asbuilt.register.question import Question


@click.command()
@click.argument("files", metavar="FILE...", type=LATER, nargs=-1)
@click.option("--into", metavar="REGISTER", required=True, help="A GeoPackage, or postgresql://user@host/database.")
@click.option("--crs", help="Coordinate system of a register to be made, like EPSG:6418; the file's, if left out.")
@click.option("--main", metavar="NAME", help="Main that the job's routes belong to: their names stand under its own.")
@click.option(
    "--replaces",
    multiple=True,
    metavar="ROUTE",
    help="Main that this one was laid in place of: a route, or a part like 'A 12+00..14+00'; its joints "
    "stay, as replaced. May be repeated.",
)
@click.option("--tolerance", default="1ft", show_default=True, help="Places nearer than this are one place.")
@ACCEPT
@click.option(
    "--end-tests",
    is_flag=True,
    help="End the pressure tests that this job brought before, on routes of which the file has none; else they stay.",
)
@click.option("--dry-run", is_flag=True, help="Only list what would happen.")
@click.option("--strict", is_flag=True, help="End with status 1 if any joint was left out for a conflict.")
@click.option("--undo", type=int, metavar="LOAD", help="Undo a load, instead of loading a file.")
@BY
@JSON
@PROGRESS
def load(
    files: tuple[Path, ...],
    into: str,
    crs: str | None,
    main: str | None,
    replaces: tuple[str, ...],
    tolerance: str,
    accept_accuracy: str | None,
    end_tests: bool,
    dry_run: bool,
    strict: bool,
    undo: int | None,
    by: str | None,
    as_json: bool,
    progress: str,
) -> None:
    """Merge placed jobs into the register; a register that is not there is made.

    Of many files each is a load of its own, in the order given; one that is wrong changes nothing, and the others are
    loaded.

    \b
    Examples:
        asbuilt load joints.gpkg --into register.gpkg
        asbuilt load mill.gpkg quarry.gpkg --into register.gpkg
        asbuilt load joints.gpkg --into postgresql://maps@server/water --dry-run
        asbuilt load relaid.gpkg --into register.gpkg --main "Elm Street 2031" --replaces A
        asbuilt load job_of_1998.gpkg --into register.gpkg --accept-accuracy 1m
        asbuilt load --undo 3 --into register.gpkg
    """
    if bool(files) == (undo is not None):
        raise click.UsageError("name files to load, or a load to undo with --undo")
    from dataclasses import asdict

    from asbuilt.register import loading, places
    from asbuilt.register.undo import undo as undo_load
    from asbuilt.terminal import history

    if undo is not None:
        undone = undo_load(undo, into, by=by, dry_run=dry_run)
        if as_json:
            screen.as_json(asdict(undone))
        else:
            history.print_undone(undone)
        return
    tolerance_m = places.metres(tolerance, "m", option="--tolerance")
    accept_m = accept_accuracy and places.metres(accept_accuracy, "m", option="--accept-accuracy")
    options: dict[str, Any] = {
        "crs": crs, "main": main, "tolerance_m": tolerance_m, "by": by, "dry_run": dry_run, "accept_m": accept_m
    }  # fmt: skip
    if len(files) > 1:
        if replaces:
            raise click.UsageError("--replaces is for one file: name the one whose main takes the other's place")
        if end_tests:
            raise click.UsageError("--end-tests is for one file: name the one whose earlier tests end")
        _load_many(files, into, options, strict, as_json, progress)
        return
    with progress_shown(progress) as report:
        loaded = loading.load(files[0], into, **options, replaces=replaces, end_tests=end_tests, progress=report)
    if as_json:
        screen.as_json(asdict(loaded) | {"changed": loaded.changed}, default=str)
    else:
        history.print_loaded(loaded)
    if strict and loaded.conflicts:
        raise click.exceptions.Exit(SET_ASIDE)


@click.command()
@REGISTER
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
@click.option("--area", type=FILE, help="Only within the polygons of this file.")
@ACCEPT
@click.option("--joint", "joints", multiple=True, help="Only this joint number or joint_uid; may be repeated.")
@click.option("--since", metavar="YYYY-MM-DD", type=DAY, help="Only joints inspected on this day or later.")
@click.option("--until", metavar="YYYY-MM-DD", type=DAY, help="Only joints inspected on this day or earlier.")
@click.option("--verdict", "verdicts", multiple=True, help="Only with this verdict; may be repeated.")
@click.option("--finding", "findings", multiple=True, help="Only with this finding, by its code; may be repeated.")
@click.option("--inspector", "inspectors", multiple=True, help="Only inspected by this person; may be repeated.")
@click.option("--size", "sizes", multiple=True, help="Only of this nominal size: 12, 12in, 300mm; may be repeated.")
@click.option("--type", "types", multiple=True, help="Only of this joint type, like push-on; may be repeated.")
@click.option("--kind", "kinds", multiple=True, help="Only of this kind, like bend; may be repeated.")
@click.option("--crew", "crews", multiple=True, help="Only laid by this crew; may be repeated.")
@click.option("--job", "jobs", multiple=True, help="Only joints that are in this job; may be repeated.")
@click.option("--load", "loads", type=int, multiple=True, help="Only joints that are in this load; may be repeated.")
@click.option("--month", "months", multiple=True, help="Only inspected in this year or month: 2026, 2026-03.")
@click.option(
    "--item",
    "items",
    multiple=True,
    metavar="ITEM=VALUE",
    help="Only with this in a record: gauge=no, cut=, 'gasket temperature=below 40 F'.",
)
@click.option(
    "--column", "columns", multiple=True, metavar="NAME=VALUE", help="Only with this in a column of the log: Lot=4711."
)
@click.option("--service", "services", multiple=True, help="Only in-service, replaced or abandoned; may be repeated.")
@click.option("--tested", multiple=True, metavar="RESULT", help="Only under a pressure test: passed, failed, untested.")
@click.option("--no-inspection", is_flag=True, help="Only joints without a dated inspection.")
@click.option("--no-photo", is_flag=True, help="Only joints without a photo.")
@click.option("--unmarked", is_flag=True, help="Only joints with a finding that nobody looked at.")
@click.option("--over-deg", type=float, metavar="DEGREES", help="Only joints deflected by more than this.")
@click.option(
    "--changed-since",
    metavar="YYYY-MM-DD",
    type=DAY,
    help="Only joints about which the register has learned anything new since this day.",
)
@click.option(
    "--group-by",
    multiple=True,
    metavar="KEY",
    help="Count by job, main, crew, inspector, year, month, size, type, kind, verdict, finding or service; may "
    "be repeated.",
)
@click.option("--out", type=FILE, help="Write what is found: .csv, .xlsx, .gpkg or .geojson.")
@click.option("--map", "map_page", type=FILE, help="Write a web page with a map of what is found.")
@JSON
def find(
    register: str, as_json: bool, out: Path | None, map_page: Path | None, group_by: tuple[str, ...], **asked: Any
) -> None:
    """Find joints in the register, nearest first, each with its history. Joints must meet every condition given.

    \b
    Examples:
        asbuilt find register.gpkg --near 38.6512,-121.2024 --within 50ft
        asbuilt find register.gpkg --route A --from 12+00 --to 14+00 --out joints.xlsx
        asbuilt find register.gpkg --month 2026-01 --size 12in --item gauge=no --column Lot=4711
        asbuilt find register.gpkg --area district.geojson --verdict over --map over.html
        asbuilt find register.gpkg --month 2026 --group-by crew --group-by month
    """
    # Counts are made in data frames, and GeoParquet is read by them.
    if not group_by and "parquet" not in str(asked["area"]).lower():
        spared.data_frames()
    from asbuilt.register.search import find as find_joints
    from asbuilt.register.search import find_in_parts
    from asbuilt.terminal import answers
    from asbuilt.terminal.cautions import DIGGING_CAUTION

    if out is not None or map_page is not None:
        from asbuilt.register import results

        for path in (out, map_page):
            if path is not None:
                results.check_name(path, is_map=path is map_page)
    question = asked_of(asked)
    if group_by:
        _print_groups(register, question, group_by, out, map_page, as_json)
        return
    written: dict[Path, bool] = {}
    if out is not None:
        with find_in_parts(register, question) as answer:
            written[out] = results.write(answer, out, DIGGING_CAUTION)
    # A page of the answer is for the terminal; whoever wants all of it has it in a file.
    found = find_joints(register, question, most=None if as_json or map_page is not None else answers.PAGE)
    if map_page is not None:
        from asbuilt.serve.page import write_map

        written[map_page] = write_map(found, question, map_page)
    if as_json:
        screen.as_json(found.as_json())
        return
    answers.print_found(found)
    for path, replaced in written.items():
        screen.line(_wrote(path, replaced))
    screen.line(f"\n{DIGGING_CAUTION}")


def _print_groups(
    register: str, question: Question, by: tuple[str, ...], out: Path | None, map_page: Path | None, as_json: bool
) -> None:
    from asbuilt.register import results
    from asbuilt.register.grouping import group
    from asbuilt.terminal import answers

    if map_page is not None:
        raise click.UsageError("--group-by counts joints, and a page shows them: leave one out")
    counted = group(register, question, by)
    replaced = results.write_groups(counted, out) if out is not None else False
    if as_json:
        screen.as_json(counted.as_json())
        return
    answers.print_groups(counted)
    if out is not None:
        screen.line(_wrote(out, replaced))


def _wrote(path: Path, replaced: bool) -> str:
    return f"Wrote {path}{', in place of an earlier answer' if replaced else ''}."


@click.command()
@REGISTER
@click.option("--job", metavar="NAME", help="Only those of this job.")
@click.option("--route", metavar="NAME", help="Only those of this route of the job.")
@click.option("--joint", metavar="NUMBER", help="Only this joint of the job.")
@click.option("--all", "each", is_flag=True, help="List every joint, not only how many of each route.")
@click.option(
    "--settle",
    "decision",
    type=click.Choice(["ours", "theirs", "main"]),
    help="Settle them: keep the register's joints, take the job's for the same ones, or give the job its own main.",
)
@click.option("--main", metavar="NAME", help="Name of the main, for --settle main.")
@click.option("--file", type=FILE, help="The job's placed file, if it is no longer where it was.")
@click.option(
    "--however-far",
    is_flag=True,
    help="For --settle ours and theirs: settle joints that lie farther apart than a pipe is long.",
)
@click.option(
    "--other-sizes",
    is_flag=True,
    help="For --settle theirs: settle joints that the job has of another size than the register.",
)
@click.option("--note", help="Why it was settled so.")
@BY
@JSON
def conflicts(
    register: str,
    job: str | None,
    route: str | None,
    joint: str | None,
    each: bool,
    decision: str | None,
    main: str | None,
    file: Path | None,
    however_far: bool,
    other_sizes: bool,
    note: str | None,
    by: str | None,
    as_json: bool,
) -> None:
    """List the joints that loads left out because they contradict the REGISTER, and settle them.

    \b
    Examples:
        asbuilt conflicts register.gpkg --job "Contract 2" --all
        asbuilt conflicts register.gpkg --job "Survey 2031" --route A --settle theirs --by "R. Vance"
        asbuilt conflicts register.gpkg --job "Contract 2" --settle main --main "Contract 2"
    """
    from dataclasses import asdict

    from asbuilt.register import settling, waiting
    from asbuilt.terminal import history

    if decision is not None:
        done = settling.settle(
            register, decision, job=job, route=route, joint=joint, main=main, file=file, however_far=however_far,
            other_sizes=other_sizes, by=by, note=note,
        )  # fmt: skip
        if as_json:
            screen.as_json(asdict(done))
        else:
            history.print_settling(done)
        return
    wanted = {"job": job, "route": route, "joint": joint}
    found, settled = (
        [one for one in some if all(value is None or one[name] == value for name, value in wanted.items())]
        for some in (waiting.conflicts(register), waiting.settled_away(register))
    )
    if as_json:
        told = {"register": register, **waiting.counted(found), "conflicts": found, "settled_away": settled}
        screen.as_json(told)
        return
    history.print_waiting(register, found, each=each or joint is not None)
    history.print_settled_away(register, settled)


@click.command()
@REGISTER
@click.option("--against", metavar="OTHER", help="A copy that may have gone on by itself: only tell what differs.")
@JSON
def info(register: str, against: str | None, as_json: bool) -> None:
    """Tell what is in the REGISTER: jobs, mains, how complete inspections are by job, crew, year and item.

    \b
    Examples:
        asbuilt info register.gpkg
        asbuilt info register.gpkg --against copy.gpkg
    """
    from asbuilt.register.inventory import apart
    from asbuilt.register.inventory import info as tell
    from asbuilt.terminal import history

    if against is not None:
        differing = apart(register, against)
        if as_json:
            screen.as_json(differing, default=str)
        else:
            history.print_apart(differing)
        return
    told = tell(register)
    if as_json:
        screen.as_json(told, default=str)
    else:
        history.print_info(told)


@click.command()
@REGISTER
@click.argument("main", metavar="MAIN")
@click.option(
    "--as",
    "as_",
    type=click.Choice(["abandoned", "replaced", "in-service"]),
    required=True,
    help="What became of its joints.",
)
@click.option("--note", help="A note to keep with it.")
@BY
@JSON
def main(register: str, main: str, as_: str, note: str | None, by: str | None, as_json: bool) -> None:
    """Note that the joints of a MAIN are out of service, or in service again. They stay, and answers say so.

    MAIN is a route of the register, or a part of one by its stations, like 'A 12+00..14+00'.

    \b
    Example:
        asbuilt main register.gpkg "A 12+00..14+00" --as abandoned --note "filled with grout" --by "R. Vance"
    """
    from dataclasses import asdict

    from asbuilt.register.service import note_service

    noted = note_service(register, main, as_, note=note, by=by)
    if as_json:
        screen.as_json(asdict(noted))
    else:
        screen.line(f"{main}: {len(noted.joints)} joints noted as {as_}: {noted.joints[0]} to {noted.joints[-1]}.")


@click.command()
@REGISTER
@click.argument("finding", metavar="FINDING")
@click.option("--note", help="A note to keep with the mark.")
@click.option(
    "--as",
    "as_",
    type=click.Choice(["looked-at", "open"]),
    default="looked-at",
    show_default=True,
    help="What became of the finding.",
)
@BY
@JSON
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
        screen.as_json(written)
    else:
        screen.line(f"Marked finding {finding} as {as_}, by {written['marked_by']}.")


def _load_many(
    files: tuple[Path, ...], into: str, options: dict[str, Any], strict: bool, as_json: bool, progress: str
) -> None:
    from dataclasses import asdict

    from asbuilt.archive.loads import load_files
    from asbuilt.terminal import archive

    with progress_shown(progress) as report:
        told = load_files(files, into, **options, progress=report)
    if as_json:
        loads = [
            {"file": one.file, "message": one.message}
            if one.loaded is None
            else asdict(one.loaded) | {"changed": one.loaded.changed}
            for one in told
        ]
        screen.as_json({"register": into, "loads": loads}, default=str)
    else:
        archive.print_loads(told, into, dry_run=bool(options["dry_run"]))
    if any(one.loaded is None for one in told):
        raise click.exceptions.Exit(WRONG_INPUT)
    if strict and any(one.loaded.conflicts for one in told if one.loaded is not None):
        raise click.exceptions.Exit(SET_ASIDE)


def asked_of(options: dict[str, Any]) -> Question:
    """Make a question of the options of `find`."""
    from dataclasses import fields

    from asbuilt.register.question import Question

    given: dict[str, Any] = {
        name: value.date() if isinstance(value, dt.datetime) else value for name, value in options.items()
    }
    return Question(**{one.name: given[one.name] for one in fields(Question) if one.name in given})
