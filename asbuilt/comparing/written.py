"""A comparison as files: a page to read or print, and a workbook with all of its rows."""

from __future__ import annotations

from importlib import resources
from pathlib import Path
from typing import Any, NamedTuple

from asbuilt import units
from asbuilt.comparing.comparison import Comparison
from asbuilt.errors import OutputError
from asbuilt.layers import outputs
from asbuilt.layers.workbooks import columns_of, write_sheets
from asbuilt.review.tables import plain_time

SHOWN = 500
"""Rows of one table on the page; the workbook has them all."""


class Table(NamedTuple):
    """A table of the page."""

    caption: str
    none: str
    columns: list[str]
    rows: list[list[str]]
    found: int


def check_name(path: Path, *, is_page: bool) -> None:
    """Refuse a name under which a comparison cannot be written.

    Raises
    ------
    OutputError

    Examples
    --------
    >>> check_name(Path("changes.txt"), is_page=True)
    Traceback (most recent call last):
        ...
    asbuilt.errors.OutputError: changes.txt: the name of a page ends in .html; name it so in --page
    """
    if is_page and path.suffix.lower() not in (".html", ".htm"):
        raise OutputError(f"{path}: the name of a page ends in .html; name it so in --page")
    if not is_page and path.suffix.lower() != ".xlsx":
        raise OutputError(f"{path}: the name of a workbook ends in .xlsx; name it so in --out")
    if not path.resolve().parent.is_dir():
        raise OutputError(f"{path}: there is no folder {path.resolve().parent}; make it, or name another")


def write_workbook(found: Comparison, path: Path) -> None:
    """Write every row of a comparison into a workbook, a sheet for each kind.

    Raises
    ------
    OutputError
    """
    check_name(path, is_page=False)
    outputs.refuse_to_replace(path, kind="comparison", key="--out")
    with outputs.put_in_place(path, option="--out") as unfinished, outputs.write_errors(path, "--out"):
        write_sheets(_sheets(found), unfinished, bare=("what",))


def write_page(found: Comparison, path: Path, caution: str) -> None:
    """Write a comparison as one page that needs nothing else.

    Raises
    ------
    OutputError
    """
    check_name(path, is_page=True)
    outputs.refuse_to_replace(path, kind="comparison", key="--page")
    with outputs.put_in_place(path, option="--page") as unfinished, outputs.write_errors(path, "--page"):
        unfinished.write_text(_page(found, caution), "utf-8")


def summary(found: Comparison) -> list[tuple[str, str]]:
    """Say how many of what are different, in words and numbers."""
    joints, symbol = found.counts["joints"], units.SYMBOLS[found.unit]
    rows = [
        ("joints in the earlier file", joints["old"]), ("joints in the later file", joints["new"]),
        ("    in both", joints["in_both"]), ("    in both, and the same", joints["same"]),
        ("    came", joints["came"]), ("    went", joints["went"]),
        ("    under another number", joints["renamed"]),
        (f"    moved by more than {found.tolerance:.3g} {symbol}", joints["moved"]),
        ("    with another verdict", joints["other_verdict"]),
        *((f"        {step}", count) for step, count in found.counts["verdicts"].items()),
        ("    with other deflections or limits", joints["other_deflection"]),
        ("    with other evidence", joints["other_evidence"]),
        ("    placed otherwise against the design", joints["other_design"]),
        ("    with another ground or cover", joints["other_cover"]),
        *((f"findings that {_verb(what)}", count) for what, count in found.counts["findings"].items()),
        *((f"records set aside that {_verb(what)}", count) for what, count in found.counts["set_aside"].items()),
        ("routes, restrained lengths and tests that differ", len(found.lengths)),
    ]  # fmt: skip
    return [(words, str(count)) for words, count in rows]


def answer(found: Comparison) -> str:
    """Say in one sentence whether the two files are the same."""
    if found.same:
        return "Both files say the same of every joint, finding and record."
    joints = found.counts["joints"]
    parts = [
        f"{joints[key]} {words}"
        for key, words in (
            ("came", "came"), ("went", "went"), ("moved", "moved"), ("renamed", "renamed"),
            ("other_verdict", "with another verdict"), ("other_deflection", "with other deflections or limits"),
            ("other_evidence", "with other evidence"), ("other_design", "placed otherwise against the design"),
            ("other_cover", "with another ground or cover"),
        )
        if joints[key]
    ]  # fmt: skip
    told = f"Joints: {', '.join(parts)}." if parts else "No joint came, went, moved or has another verdict."
    said = [f"{count} {what}" for what, count in found.counts["findings"].items()]
    aside = [f"{count} {_verb(what)}" for what, count in found.counts["set_aside"].items()]
    also = f" Records set aside: {', '.join(aside)}." if aside else ""
    return f"{told} Findings: {', '.join(said) or 'the same'}.{also}"


def tables(found: Comparison) -> dict[str, list[dict[str, Any]]]:
    """Give the tables of a comparison as a person reads them, by caption; lengths rounded to a thousandth."""
    return {
        "Joints that came, went or moved": found.joints,
        "What changed of joints, field by field": found.fields,
        "Findings that came and went": found.findings,
        "Records set aside that came and went": found.set_aside,
        "Routes, restrained lengths and pressure tests": found.lengths,
        "Files that the job was read from": found.inputs,
    }


def in_words(value: Any) -> str:
    """Write a value for a person to read.

    Examples
    --------
    >>> in_words(1.23456), in_words(None), in_words(-0.0001), in_words("A 7")
    ('1.235', '', '0.000', 'A 7')
    """
    if value is None:
        return ""
    return f"{round(value, 3) + 0.0:.3f}" if isinstance(value, float) else str(value)


def _verb(what: str) -> str:
    return {"came": "came", "went": "went", "changed": "say something else"}[what]


def _sheets(found: Comparison) -> dict[str, list[dict[str, Any]]]:
    about: list[dict[str, Any]] = [
        {"what": "earlier file", "value": str(found.old.path)},
        {"what": "later file", "value": str(found.new.path)},
    ]
    about += [{"what": "made at", "value": f"{found.old.run['made_at']}, and {found.new.run['made_at']}"}]
    about += [{"what": "job", "value": found.new.job}, {"what": "unit of lengths", "value": units.WORDS[found.unit]}]
    about += [{"what": words.strip(), "value": count} for words, count in summary(found)]
    about += [{"what": "note", "value": note} for note in found.notes]
    return {
        "comparison": about, "joints": found.joints, "fields": found.fields, "findings": found.findings,
        "set aside": found.set_aside, "lengths": found.lengths,
        "inputs": [*found.inputs, *({"file": "job file", "what": line} for line in found.job_lines)],
    }  # fmt: skip


def _page(found: Comparison, caution: str) -> str:
    import jinja2

    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("asbuilt.comparing"), autoescape=True, undefined=jinja2.StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    environment.filters["plain_time"] = plain_time
    style = resources.files("asbuilt.review").joinpath("templates", "page.css").read_text("utf-8")
    shown = [_table(caption, rows, units.SYMBOLS[found.unit]) for caption, rows in tables(found).items()]
    return environment.get_template("comparison.html").render(
        found=found, style=style, caution=caution, tables=shown, summary=summary(found), answer=answer(found),
        unit=units.WORDS[found.unit],
    )  # fmt: skip


LENGTHS = ("horizontal", "up", "east", "north")
"""Columns of lengths, in coordinate units."""


def heading(column: str) -> str:
    """Head a column in words.

    Examples
    --------
    >>> heading("horizontal"), heading("position_source")
    ('in plan', 'position source')
    """
    return "in plan" if column == "horizontal" else column.replace("_", " ")


def _table(caption: str, rows: list[dict[str, Any]], symbol: str) -> Table:
    columns = columns_of(rows)
    cells = [[in_words(row.get(column)) for column in columns] for row in rows[:SHOWN]]
    titles = [f"{heading(column)}, {symbol}" if column in LENGTHS else heading(column) for column in columns]
    return Table(caption, "None.", titles, cells, len(rows))
