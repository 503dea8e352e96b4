"""The commands of the register: load, find, mark."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from asbuilt.commands.options import BY, DAY, JSON, PROGRESS, REGISTER, SET_ASIDE, WRONG_INPUT
from asbuilt.terminal import screen
from asbuilt.terminal.progress import shown as progress_shown

if TYPE_CHECKING:
    from asbuilt.register.question import Question


@click.command()
@click.argument("files", metavar="FILE.gpkg...", type=click.Path(path_type=Path), nargs=-1)
@click.option("--into", metavar="REGISTER", required=True, help="A GeoPackage, or postgresql://user@host/database.")
@click.option("--crs", help="Coordinate system of a register to be made, like EPSG:6418; the file's, if left out.")
@click.option("--main", metavar="NAME", help="Main that the job's routes belong to: their names stand under its own.")
@click.option("--tolerance", default="1ft", show_default=True, help="Places nearer than this are one place.")
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
    tolerance: str,
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
        asbuilt load jobs/*/joints.gpkg --into register.gpkg
        asbuilt load joints.gpkg --into postgresql://maps@server/water --dry-run
        asbuilt load --undo 3 --into register.gpkg
    """
    if bool(files) == (undo is not None):
        raise click.UsageError("name files to load, or a load to undo with --undo")
    from dataclasses import asdict

    from asbuilt.register import loading, question
    from asbuilt.register.undo import undo as undo_load
    from asbuilt.terminal import history

    if undo is not None:
        undone = undo_load(undo, into, by=by, dry_run=dry_run)
        if as_json:
            screen.as_json(asdict(undone))
        else:
            history.print_undone(undone)
        return
    tolerance_m = question.metres(tolerance, "m", option="--tolerance")
    options: dict[str, Any] = {"crs": crs, "main": main, "tolerance_m": tolerance_m, "by": by, "dry_run": dry_run}
    if len(files) > 1:
        _load_many(files, into, options, strict, as_json, progress)
        return
    with progress_shown(progress) as report:
        loaded = loading.load(files[0], into, **options, progress=report)
    if as_json:
        screen.as_json(asdict(loaded) | {"changed": loaded.changed}, default=str)
    else:
        history.print_loaded(loaded)
    if strict and loaded.joints["left_out"]:
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
@click.option("--area", type=click.Path(path_type=Path), help="Only within the polygons of this file.")
@click.option("--joint", "joints", multiple=True, help="Only this joint number or joint_uid; may be repeated.")
@click.option("--since", type=DAY, help="Only joints inspected on this day or later.")
@click.option("--until", type=DAY, help="Only joints inspected on this day or earlier.")
@click.option("--verdict", "verdicts", multiple=True, help="Only with this verdict; may be repeated.")
@click.option("--finding", "findings", multiple=True, help="Only with this finding, by its code; may be repeated.")
@click.option("--inspector", "inspectors", multiple=True, help="Only inspected by this person; may be repeated.")
@click.option("--out", type=click.Path(path_type=Path), help="Write what is found: .csv, .xlsx, .gpkg or .geojson.")
@click.option(
    "--map", "map_page", type=click.Path(path_type=Path), help="Write a web page with a map of what is found."
)
@JSON
def find(register: str, as_json: bool, out: Path | None, map_page: Path | None, **asked: Any) -> None:
    """Find joints in the register, nearest first, each with its history. Joints must meet every condition given.

    \b
    Examples:
        asbuilt find register.gpkg --near 38.6512,-121.2024 --within 50ft
        asbuilt find register.gpkg --route A --from 12+00 --to 14+00 --out joints.xlsx
        asbuilt find register.gpkg --area district.geojson --verdict over --map over.html
    """
    from asbuilt.register import results
    from asbuilt.register.search import find as find_joints
    from asbuilt.terminal import history

    for path in (out, map_page):
        if path is not None:
            results.check_name(path, is_map=path is map_page)
    question = asked_of(asked)
    found = find_joints(register, question)
    if out is not None:
        results.write(found, out)
    if map_page is not None:
        from asbuilt.serve.page import write_map

        write_map(found, question, map_page)
    if as_json:
        screen.as_json(found.as_json())
        return
    history.print_found(found)
    for path in (out, map_page):
        if path is not None:
            screen.line(f"Wrote {path}.")


@click.command()
@REGISTER
@JSON
def conflicts(register: str, as_json: bool) -> None:
    """List the joints that loads left out because they contradict the REGISTER, and how to settle them.

    \b
    Example:
        asbuilt conflicts register.gpkg
    """
    from asbuilt.register import waiting
    from asbuilt.terminal import history

    found = waiting.conflicts(register)
    if as_json:
        screen.as_json({"register": register, **waiting.counted(found), "conflicts": found})
        return
    history.print_waiting(register, found)


@click.command()
@REGISTER
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
    if strict and any(one.loaded.joints["left_out"] for one in told if one.loaded is not None):
        raise click.exceptions.Exit(SET_ASIDE)


def asked_of(options: dict[str, Any]) -> Question:
    """Make a question of the options of `find`."""
    from dataclasses import fields

    from asbuilt.register.question import Question

    given: dict[str, Any] = {
        name: value.date() if isinstance(value, dt.datetime) else value for name, value in options.items()
    }
    return Question(**{one.name: given[one.name] for one in fields(Question) if one.name in given})
