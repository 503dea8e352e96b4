"""What the commands of a job show on a terminal: counts, rows to act on, columns, what was written."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from asbuilt.checks import CHECK_KINDS
from asbuilt.schema import SURVEY_CODES
from asbuilt.terminal import screen
from asbuilt.terminal.cautions import CAUTION, TEST_CAUTION
from asbuilt.terminal.groups import grouped, said

if TYPE_CHECKING:
    from rich.table import Table

    from asbuilt.inputs.first_look import FirstLook
    from asbuilt.layers.outcome import Whole
    from asbuilt.notes import Note
    from asbuilt.owner_map.fitting import Written
    from asbuilt.placement import Placement
    from asbuilt.returned.markup import Returned

_WIDEST = 25
_ROWS_SHOWN = 20
_STARTS_SHOWN = 5
_NOTES_SHOWN = 10
_DECIMALS = 4


def told_of_rows(placement: Placement) -> list[dict[str, Any]]:
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
            "point": None,
        }
        for one, (route, joint) in zip(found, names, strict=True)
    ]  # fmt: skip
    of_lengths: list[dict[str, Any]] = [
        {
            "file": None, "row": None, "route": one.route, "joint": None, "kind": one.kind, "severity": one.severity,
            "fields": [], "message": one.text, "point": one.point,
        }
        for one in length_remarks(placement)
    ]  # fmt: skip
    return of_rows + of_lengths


def print_rows(told: list[dict[str, Any]]) -> None:
    """Tell of the survey first, then of the rows to act on and of those to check, alike ones together."""

    if not told:
        return
    survey = [one for one in told if one["kind"] in SURVEY_CODES]
    if survey:
        table = screen.table(
            "shot", "route", "what is doubtful", title="In the survey: look here before any pipe is blamed"
        )
        for one in survey[:_ROWS_SHOWN]:
            screen.row(table, one["point"] or "(a length)", one["route"], one["message"])
        screen.show(table)
        if len(survey) > _ROWS_SHOWN:
            screen.line(f"And {len(survey) - _ROWS_SHOWN} more in the survey; layer findings has them all.")
    told = [one for one in told if one["kind"] not in SURVEY_CODES]
    for title, severities in (("To act on", ("act",)), ("To check, or to know", ("check", "note"))):
        _print_groups(title, [one for one in told if one["severity"] in severities])
    if told:
        screen.line("--return FILE.xlsx marks all of them in the log, --json lists them one by one.")


def _print_groups(title: str, told: list[dict[str, Any]]) -> None:
    """Name what there is to act on or to check, alike ones together, with the number of those that are not named."""
    if not told:
        return
    groups = grouped(told)
    table = screen.table("row", "joint", "what is wrong, and what is expected", title=f"{title} ({len(told):,})")
    for group in groups[:_ROWS_SHOWN]:
        one = group.first
        joint = " ".join(part for part in (one["route"], one["joint"]) if part)
        screen.row(table, f"{one['file']} {one['row']}" if one["file"] else "(a length)", joint, said(group))
    screen.show(table)
    left = groups[_ROWS_SHOWN:]
    if left:
        screen.line(f"And {sum(group.times for group in left):,} more of {len(left):,} other kinds or texts.")


def print_summary(whole: Whole) -> None:
    counts = whole.counts
    table = screen.table("", "", show_header=False)
    # A long name of a coordinate system goes on below, and leaves the labels their width.
    table.columns[1].max_width = _WIDEST
    table.columns[1].justify = "right"
    screen.row(table, "records read", str(counts["records_read"]))
    screen.row(table, "= placed", str(counts["inspections_placed"]))
    screen.row(table, "+ set aside", str(counts["records_set_aside"]))
    for reason, count in counts["set_aside_by_reason"].items():
        screen.row(table, f"    {reason}", str(count))
    table.add_section()
    screen.row(table, f"joints, on {counts['routes_with_joints']} of {counts['routes']} routes", str(counts["joints"]))
    for source, count in counts["joints_by_position"].items():
        screen.row(table, f"    placed by: {source}", str(count))
    for verdict, count in counts["joints_by_verdict"].items():
        screen.row(table, f"    deflection: {verdict}", str(count))
        if verdict == "over" and counts["joints_over_together"]:
            screen.row(table, "        at them or at others beside them", str(counts["joints_over_together"]))
    for state, count in counts["joints_by_inspection"].items():
        screen.row(table, f"    inspection: {state}", str(count))
    table.add_section()
    screen.row(table, "findings", str(counts["findings"]))
    for code, kind in CHECK_KINDS.items():
        if code in counts["findings_by_code"]:
            screen.row(table, f"    {code} ({kind.severity})", str(counts["findings_by_code"][code]))
    _add_as_said(table, whole)
    _add_lengths(table, whole)
    _add_closures(table, whole)
    _add_accuracy(table, whole)
    screen.line(f"\n{whole.job.name}: what became of the log", bold=True)
    screen.show(table)
    print_notes(whole.notes)
    if counts["pressure_tests"]["tests"]:
        screen.line(TEST_CAUTION)


def print_notes(notes: Sequence[Note]) -> None:
    """Tell the notes of a job: of many of one kind the first few, with how many more there are."""
    many, told = Counter(note.code for note in notes), Counter[str]()
    for note in notes:
        told[note.code] += 1
        if told[note.code] <= _NOTES_SHOWN:
            screen.note(note.text)
        elif told[note.code] == many[note.code]:
            more = many[note.code] - _NOTES_SHOWN
            screen.note(
                f"{more:,} more of this kind ({note.code}); --json tells them all, and so does the layer notes of the "
                "file that is written"
            )


def _add_as_said(table: Table, whole: Whole) -> None:
    """Add where the line begins and lies by what job and survey say, for whoever knows the place."""
    from asbuilt.units import SYMBOLS

    said = whole.counts["as_said"]
    table.add_section()
    for one in said["starts"][:_STARTS_SHOWN]:
        end = f", at its {one['end']} end" if one["end"] else ""
        screen.row(table, f"route {one['route']} begins at", f"{one['station']}{end}")
    if len(said["starts"]) > _STARTS_SHOWN:
        screen.row(table, "    and other routes", str(len(said["starts"]) - _STARTS_SHOWN))
    screen.row(table, "coordinates are of", said["crs"])
    screen.row(table, "    so the first joint lies at (lat, lon)", f"{said['latitude']:.5f}, {said['longitude']:.5f}")
    if said["elevation_least"] is not None:
        span = f"{said['elevation_least']:.2f} to {said['elevation_most']:.2f} {SYMBOLS[said['elevation_unit']]}"
        screen.row(table, "    and the joints at elevations of", span)


def _add_lengths(table: Table, whole: Whole) -> None:
    """Add what the job says of restraint and pressure tests, if anything."""
    from asbuilt.units import SYMBOLS

    restraint, tests = whole.counts["restraint"], whole.counts["pressure_tests"]
    if restraint["lengths"]:
        table.add_section()
        screen.row(table, "lengths that the design wants restrained", str(restraint["lengths"]))
        screen.row(table, "    joints in them", str(restraint["joints"]))
        screen.row(table, "    joints not recorded as restrained", str(restraint["joints_unrestrained"]))
    if tests["tests"]:
        table.add_section()
        screen.row(table, "pressure tests", str(tests["tests"]))
        for result, count in tests["by_result"].items():
            screen.row(table, f"    {result}", str(count))
        symbol = SYMBOLS[whole.job.records.station_unit]
        screen.row(
            table, f"    lengths under no test: {tests['untested_lengths']}", f"{tests['untested_length']:g} {symbol}"
        )


def _add_closures(table: Table, whole: Whole) -> None:
    """Add what the stretching between ties makes up."""
    from asbuilt.units import SYMBOLS

    symbol = SYMBOLS[whole.job.records.station_unit]
    if whole.counts["ties"]:
        table.add_section()
    for one in whole.counts["ties"]:
        names = " to ".join(name.removeprefix("centerline.ties ") for name in (one["from"], one["to"]))
        text = f"closure on {one['route']}, ties {names}: {one['length']:g} {symbol}"
        screen.row(table, text, f"{one['closure']:+.2f} {symbol}, {one['closure_ppm']:+.0f} ppm")


def _add_accuracy(table: Table, whole: Whole) -> None:
    """Add the accuracy of the survey, where it was checked."""
    from asbuilt.units import SYMBOLS

    found, symbol = whole.counts["survey_check"], SYMBOLS[whole.routes.unit]
    if found is None:
        return
    table.add_section()
    screen.row(table, "check points of the survey", str(found["points"]))
    for word in ("horizontal", "vertical"):
        accuracy = found[f"accuracy_{word}"]
        shown = f"{accuracy:.3f} {symbol}" if accuracy is not None else "not known"
        screen.row(table, f"    {word} accuracy at 95 % (FGDC-STD-007.3)", shown)


def print_columns(whole: Whole) -> None:

    for what, source in (("survey", whole.routes), ("log", whole.log)):
        if not source.matches:
            continue
        table = screen.table("file", f"column of the {what}", "is read as", title=f"Columns of the {what}")
        read = [*source.matches, *((file, "(not read)", column) for file, column in source.not_read)]
        every = dict.fromkeys(Path(file).name for file, _, _ in read)
        where: dict[tuple[str, str], list[str]] = {}
        for file, field, column in read:
            where.setdefault((column, field), []).append(Path(file).name)
        for (column, field), files in where.items():
            screen.row(table, _sources(files, list(every)), column, field)
        screen.show(table)


def _sources(some: list[str], every: list[str]) -> str:
    """Name the files and sheets that have a column, all of them in a word or two.

    Examples
    --------
    >>> days = ["log.xlsx, sheet 'Mar 4'", "log.xlsx, sheet 'Mar 5'"]
    >>> _sources(days, days), _sources(days, [*days, "more.csv"]), _sources(["log.csv"], ["log.csv"])
    ('both sheets', "log.xlsx, sheet 'Mar 4'; log.xlsx, sheet 'Mar 5'", 'log.csv')
    """
    if len(every) > 1 and len(some) == len(every):
        count = "both" if len(every) == 2 else f"all {len(every)}"
        return f"{count} {'sheets' if all(', sheet ' in one for one in every) else 'files'}"
    return "; ".join(some)


def print_first_look(look: FirstLook) -> None:
    """Print what the file of a log holds."""
    where = "" if look.sheet is None else f", sheet {look.sheet!r}"
    named = f"column names in row {look.header_row}" if look.header_row else "no row of column names"
    screen.line(f"\n{look.path}{where}: {named}; rows {', '.join(look.rows) or 'none'}")
    read_as = {column: field for field, column in look.fields.items()}
    for column in look.columns:
        fields = [field for field, several in look.doubtful.items() if column in several]
        if fields:
            read_as[column] = f"{' or '.join(fields)}? (say which in records.columns.{fields[0]})"
    table = screen.table("column of the log", "is read as")
    for column in look.columns:
        screen.row(table, column, read_as.get(column, "(not read)"))
    screen.show(table)


def print_handed_back(handed_back: Returned) -> None:
    for note in handed_back.notes:
        screen.note(note)
    count = sum(handed_back.remarks.values())
    screen.line(f"\nWrote {', '.join(map(str, handed_back.paths))} ({count} remarks), and nothing else.")
    screen.line("Corrected and handed in, name it in records.path: the sheet and column of remarks are not read.")


def print_before_map(whole: Whole) -> None:
    """Say in one line what asbuilt check says of the job whose joints go onto the map."""
    counts = whole.counts
    read, aside, act = counts["records_read"], counts["records_set_aside"], to_act_on(whole)
    told = "; asbuilt check tells which" if aside or act else ""
    screen.line(f"{read:,} read, {aside:,} set aside, {act:,} to act on{told}")


def to_act_on(whole: Whole) -> int:
    """Count the findings to act on."""
    by_code = whole.counts["findings_by_code"]
    return sum(by_code.get(code, 0) for code, kind in CHECK_KINDS.items() if kind.severity == "act")


def print_mapped(written: Written, dry_run: bool) -> None:
    for note in written.notes:
        screen.note(note)
    layer = f"layer {written.layer} of {written.into}"
    _print_differences(written)
    there = f"{written.already_there} of {written.joints} joints are there already"
    made = f"{'would be made' if dry_run else 'was made'}, " if written.created else ""
    changed = f", {written.updated} {'would be updated' if dry_run else 'updated'}" if written.differing else ""
    if dry_run:
        screen.line(f"{layer}: {made}{there}; {written.added} would be added{changed}. Nothing was written.")
        return
    screen.line(f"{layer}: {made}{there}; {written.added} added{changed}.")
    screen.line(f"\n{CAUTION}")


def _print_differences(written: Written) -> None:
    """List what the map has otherwise, field by field, and the joints that the job has no more."""
    if written.differences:
        table = screen.table("joint", "column", "on the map", "in the job", title="Joints that differ")
        for one in written.differences[:_ROWS_SHOWN]:
            screen.row(table, one.joint, one.column, *_shortened(one.there or "(blank)", one.here or "(blank)"))
        screen.show(table)
        if len(written.differences) > _ROWS_SHOWN:
            left = len(written.differences) - _ROWS_SHOWN
            screen.line(f"And {left} more difference{'s' if left > 1 else ''}; --json lists them all.")
    if written.moves:
        screen.line(f"Held against the map: {written.moves}.")
    if written.dropped:
        more = len(written.dropped) - _ROWS_SHOWN
        names = ", ".join(written.dropped[:_ROWS_SHOWN])
        rest = f" and {more} more" if more > 0 else ""
        screen.line(f"On the map, but not in the job, and left as they are: {names}{rest}")


def _shortened(there: str, here: str) -> tuple[str, str]:
    """Write two values with as many decimals as tell them apart, but four at least, where they have more.

    Examples
    --------
    >>> _shortened("6.13446148023547", "6.21327598456385"), _shortened("0.30000000000000004", "0.3000001")
    (('6.1345', '6.2133'), ('0.3000000', '0.3000001'))
    >>> _shortened("4711.123456789A", "over"), _shortened("8.0", "12")
    (('4711.123456789A', 'over'), ('8.0', '12'))
    """
    for decimals in range(_DECIMALS, 15):
        short = [
            f"{float(one):.{decimals}f}" if re.fullmatch(rf"-?\d+\.\d{{{decimals + 1},}}", one) else one
            for one in (there, here)
        ]
        if short[0] != short[1]:
            return short[0], short[1]
    return there, here


def print_written(path: Path) -> None:
    from asbuilt.schema import LAYERS

    screen.line(f"\nWrote {path} ({', '.join(LAYERS)}).")


def print_review(written: dict[str, Any]) -> None:
    from asbuilt.review.turns import at_least

    # Every joint stands in one of the columns; a column of none would only push the others together.
    seldom = {"no-allowable": "no allowable", "not-computed": "not computed"}
    found = [one["joints_by_verdict"] for one in written["routes"]]
    columns = {"cannot-tell": "cannot tell"} | {
        verdict: word for verdict, word in seldom.items() if any(one.get(verdict) for one in found)
    }
    columns |= {"within-assumed": "within-assumed", "within": "within"}
    table = screen.table("route", "joints", "over", *columns.values(), "to act on", "to check")
    for one in written["routes"]:
        verdicts, severities = one["joints_by_verdict"], one["findings_by_severity"]
        over = at_least(one["joints_over_at_least"], one["turns_shared"])
        told = (verdicts.get(verdict, 0) for verdict in columns)
        counts = (one["joints"], over, *told, severities.get("act", 0), severities.get("check", 0))
        screen.row(table, one["route"], *map(str, counts))
    table.show_edge = table.pad_edge = False
    screen.keep_words(table)
    screen.show(table)
    for one in written["routes"]:
        if one.get("letters_not_drawn"):
            screen.note(
                f"route {one['route']}: no font on this machine has {one['letters_not_drawn']}; PDFs and the plots' "
                "PNG files show boxes or nothing in their place. Install a font that has them, or use the pages and "
                "the SVG files"
            )
    shown, linked, missing = (
        sum(one[f"photos_{what}"] for one in written["routes"]) for what in ("shown", "linked", "missing")
    )
    if shown or linked or missing:
        screen.line(f"\nPhotos: {shown} in the pages, {linked} linked, {missing} missing")
    states = ", ".join(f"{many} {state}" for state, many in written["issues"].items()) or "none"
    screen.line(
        f"\nIssues: {states} (issues.xlsx, issues.csv); joints to stake out: {written['joints_to_stake_out']} "
        "(stakes.gpx, stakes.csv)"
    )
    if written["removed"]:
        removed = written["removed"]
        more = f" and {len(removed) - _ROWS_SHOWN} more" if len(removed) > _ROWS_SHOWN else ""
        screen.note(
            f"the earlier review in {written['written']} had files that this one does not write, and they were removed "
            f"with it: {', '.join(removed[:_ROWS_SHOWN])}{more}. Review with the same options to have them anew, or "
            "into another folder with --out to keep both"
        )
    screen.line(f"\nWrote {len(written['files'])} files; open {Path(written['written']) / written['index']}")
