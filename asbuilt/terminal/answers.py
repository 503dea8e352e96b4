"""What `find` shows on a terminal: joints with all that is known of them, and joints counted by groups."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from asbuilt import units
from asbuilt.register import aside, ending, naming, waiting
from asbuilt.register.beside import aside_words, restraint_words, test_words
from asbuilt.register.changes import change_words
from asbuilt.register.inventory import STATES
from asbuilt.register.marks import SHORTEST
from asbuilt.register.wording import (
    deflection_words,
    earlier_state,
    finding_words,
    reading_words,
    shared_words,
    size_words,
    source_words,
)
from asbuilt.review.turns import at_least
from asbuilt.schema import DOMAINS
from asbuilt.terminal import screen
from asbuilt.terminal.words import many, named

if TYPE_CHECKING:
    from asbuilt.register.grouping import Groups
    from asbuilt.register.search import Found

_PLAIN = {"over", "within"}
"""Verdicts that need no words."""
PAGE = 100
"""Joints that are printed one by one; --out and --json give all."""


def print_found(found: Found) -> None:
    """Print the joints found, nearest first, each with its history in the order of time."""
    if found.near is not None:
        screen.line("; ".join(part for part in (f"near {found.near.read_as}", found.within_words) if part))
    if found.stations_read_as is not None:
        screen.line(found.stations_read_as)
    if not found.joints:
        screen.line("No joint of the register meets the question.")
        if found.nearest is not None:
            one = found.nearest
            screen.line(f"The nearest is {one['route']} {one['joint']} at {one['station']}, {one['away']:,.1f} "
                        f"{found.symbol} away.")  # fmt: skip
        _say_waiting(found)
        return
    away = found.near is not None
    table = screen.table(
        "joint", "station", *([f"away ({found.symbol})"] if away else []), "what is known", show_lines=True
    )
    for joint in found.joints[:PAGE]:
        far = [f"{joint['away']:.1f}"] if away else []
        lines = [
            f"{_what(joint)}; {deflection_words(joint)}",
            *reading_words(joint),
            *place_words(joint),
            *source_words(joint),
            *map(naming.words, joint["called"]),
            *map(change_words, joint.get("changes", ())),
            *map(earlier_state, joint["earlier"]),
            *map(_record, joint["history"]),
            *map(test_words, joint["pressure_tests"]),
            *map(restraint_words, joint["restraint"]),
            *map(aside_words, joint["set_aside"]),
            *(f"{finding_words(one)} ({one['finding_uid'][:SHORTEST]})" for one in joint["findings"]),
        ]
        if not joint["history"]:
            lines.insert(len(lines) - len(joint["findings"]), "no inspection on record")
        name = f"{joint['route']} {joint['joint']}"
        screen.row(table, name, joint["station"], *far, "\n".join(lines))
    screen.show(table)
    shown = f"; the first {PAGE} are shown, and --out and --json give all" if found.count > PAGE else ""
    screen.line(f"{many(found.count, 'joint')}{_gone_words(found)}{shown}")
    shared = shared_words(found.over)
    if shared is not None:
        screen.note(shared)
    _say_how_found(found.joints[:PAGE])
    for verdict in sorted({joint["verdict"] for joint in found.joints[:PAGE]} - _PLAIN):
        meaning = DOMAINS["verdict"][verdict]
        screen.line(f"{verdict}: {meaning[0].lower()}{meaning[1:]}.")
    _say_waiting(found)
    if any(joint["findings"] for joint in found.joints):
        screen.line(
            "To note that a finding was looked at, name it by the letters in parentheses behind it: "
            f"asbuilt mark {found.register} LETTERS --note NOTE"
        )


def _gone_words(found: Found) -> str:
    """Say how many of the joints found are in service no more."""
    told = [f"{count} {state}" for state, count in found.out_of_service.items()]
    return f", of which {' and '.join(told)}" if told else ""


def place_words(joint: dict[str, Any]) -> list[str]:
    """Say when a joint's place was surveyed and how well it is known, where anything is known of that.

    Examples
    --------
    >>> place_words({"accuracy_horizontal": 3.283, "accuracy_source": "stated", "coordinate_unit": "us-ft",
    ...     "surveyed_on": "2026-04-20"})
    ['place surveyed on 2026-04-20', 'place good to 3.28 ft at 95 %']
    >>> place_words({"accuracy_horizontal": None, "accuracy_source": None, "coordinate_unit": "us-ft",
    ...     "surveyed_on": None})
    []
    """
    told = [f"place surveyed on {joint['surveyed_on']}"] if joint["surveyed_on"] else []
    accuracy, source = joint["accuracy_horizontal"], joint["accuracy_source"]
    if accuracy is None:
        return [*told, "the accuracy of the place is not known"] if source else told
    unit = units.SYMBOLS[joint["coordinate_unit"]]
    return [*told, f"place good to {accuracy:.2f} {unit} at 95 %"]


def _say_how_found(joints: Sequence[dict[str, Any]]) -> None:
    """Say once, of all joints shown, what the accuracies of their places were found by."""
    sources = Counter((one["accuracy_horizontal"] is not None, one["accuracy_source"]) for one in joints
                      if one["accuracy_source"])  # fmt: skip
    for (known, source), count in sources.most_common():
        of = "" if len(sources) == 1 else f" of {many(count, 'joint')}"
        screen.line(
            f"How well places{of} are known was found by {source}."
            if known
            else f"The accuracy of places{of} is not known: {source}."
        )


def _say_waiting(found: Found) -> None:
    _say(found.unknown, found.may_be_over)
    for one in found.doubtful_lines:
        screen.note(f"joints of {one['route']} may all stand elsewhere ({one['job']}): {one['message']}")
    _say_gone(found.gone)
    for one in found.under_mains:
        said = f"Besides, {many(one['joints'], 'joint')} of {one['route']} (the route {one['called']} of {one['job']})"
        screen.line(f"{said} meet{'s' if one['joints'] == 1 else ''} the question: add --route {one['route']!r}")
    for change in found.beside_changes:
        screen.note(ending.words(change))
    _say_set_aside(found)
    _say_what_waits(found.register, found.waits, found.unsure)
    if found.settled_away:
        count = waiting.counted(found.settled_away)
        left_out = f"{many(count['joints'], 'joint')} of {many(count['jobs'], 'job')}"
        screen.line(f"Besides, {left_out} were settled to stay out; asbuilt conflicts {found.register} names them")


def _say(*notes: str | None) -> None:
    for note in notes:
        if note is not None:
            screen.note(note)


def _say_gone(gone: list[dict[str, Any]]) -> None:
    """Name the joints that undone loads took out."""
    if gone:
        of = ", ".join(sorted({f"load {one['load']} ({one['job']}), undone {one['at'][:10]}" for one in gone}))
        screen.line(f"Gone since then: {many(len(gone), 'joint')}: {named(gone, len(gone))}; they came with {of}.")


def _say_set_aside(found: Found | Groups) -> None:
    if found.set_aside:
        said = aside.words(found.set_aside, found.aside_unsure)
        screen.line(f"{said}; asbuilt info {found.register} lists them")


def _say_what_waits(register: str, waits: list[dict[str, Any]], unsure: Sequence[str]) -> None:
    count = waiting.counted(waits)
    if count["joints"]:
        joints, jobs = many(count["joints"], "joint"), many(count["jobs"], "job")
        most = f"; {waiting.unsure_words(unsure)}" if unsure else ""
        screen.line(
            f"Besides, {joints} of {jobs} there wait to be settled; asbuilt conflicts {register} lists them{most}"
        )


def print_groups(counted: Groups) -> None:
    """Print what a question finds, counted by groups."""
    symbol = units.SYMBOLS[counted.unit]
    if counted.stations_read_as is not None:
        screen.line(counted.stations_read_as)
    out = counted.total["out_of_service"]
    table = screen.table(
        *counted.by, "joints", f"main ({symbol})", *STATES, "over", *(["out of service"] if out else [])
    )
    for column in table.columns[len(counted.by) :]:
        column.justify = "right"
    # So that it fits 80 letters with its words whole.
    table.show_edge = table.pad_edge = False
    total = dict(zip(counted.by, ["in all", *[""] * (len(counted.by) - 1)], strict=True)) | counted.total
    for one in (*counted.groups, total):
        of = [str(one[key]) for key in counted.by]
        count = [
            *(str(one[name]) for name in STATES),
            at_least(one["over_at_least"], one["turns_shared"]),
            *([str(one["out_of_service"])] if out else []),
        ]
        screen.row(table, *of, str(one["joints"]), f"{one['length']:,.1f}", *count)
    screen.keep_words(table)
    screen.show(table)
    shared = shared_words(counted.total)
    if shared is not None:
        screen.note(shared)
    screen.line(
        "The states are those that the joints have now, whichever job they are from; what each job's own inspections "
        f"came to: asbuilt info {counted.register}"
    )
    if 0 < out < counted.total["joints"]:
        screen.line(
            f"{many(out, 'joint')} of them {'is' if out == 1 else 'are'} replaced or abandoned: --service in-service "
            "leaves such out, --group-by service counts them and their main alone"
        )
    _say(counted.unknown, counted.may_be_over)
    _say_gone(counted.gone)
    _say_set_aside(counted)
    _say_what_waits(counted.register, counted.waits, counted.unsure)


def _what(joint: dict[str, Any]) -> str:
    size = size_words(joint["size"], joint["size_unit"])
    what = " ".join(part for part in (size, joint["joint_type"], joint["kind"]) if part)
    if joint["service"] == "in-service":
        return what
    by = f" by {joint['replaced_by']}" if joint["replaced_by"] else ""
    return f"{joint['service'].upper()}{by}: {what}"


def _record(record: dict[str, Any]) -> str:
    crew = record.get("crew")
    parts = [record.get("inspector"), crew and f"crew: {crew}", record.get("remarks")]
    failed = [name for name, value in record.items() if value == "no" and name not in ("cut", "restrained")]
    if failed:
        parts.append(f"not passed: {', '.join(failed)}")
    if record.get("gasket_temperature") is not None:
        parts.append(f"gasket at {record['gasket_temperature']:.0f} F")
    if record.get("photo"):
        parts.append(f"photo {record['photo']}")
    if record["state"] != "standing":
        parts.append(record["state"])
    parts.append(f"load {record['load_id']} ({record['job']})")
    return f"{record.get('inspected_on', 'undated')}: {'; '.join(part for part in parts if part)}"
