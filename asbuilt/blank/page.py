"""The blank log as one page for a tablet in the trench: it needs no network, and keeps what is typed.

What it hands out is the log as CSV, with the headings by which the reader knows its columns.
"""

from __future__ import annotations

import base64
import codecs
import hashlib
import json
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING, Any

from asbuilt.blank.columns import GROUPS, required_fields
from asbuilt.errors import JobFileError
from asbuilt.layers.outputs import BLANK_MARK
from asbuilt.line.station_text import EXAMPLES
from asbuilt.vocabulary import JOINT_TYPES

if TYPE_CHECKING:
    from pathlib import Path

    import jinja2

    from asbuilt.blank.blank import Blank
    from asbuilt.blank.columns import Column
    from asbuilt.job import Job

_UNICODE = ("utf-8", "utf-16", "utf-16-le", "utf-16-be")
_KEPT = ("route", "size", "joint_type", "pipe_class", "inspector", "crew")
"""Fields whose entry stays for the next joint. Evidence never does: each joint is looked at by itself."""


def write_page(blank: Blank, path: Path) -> None:
    """Write a blank log as one web page with everything in it.

    Parameters
    ----------
    blank : Blank
    path : path of the page; its folder is there
    """
    script = _source("log.js")
    digest = base64.b64encode(hashlib.sha256(script.encode("utf-8")).digest()).decode("ascii")
    policy = f"default-src 'none'; script-src 'sha256-{digest}'; style-src 'unsafe-inline'; img-src data:"
    groups = [(name, [one for one in blank.columns if one.group == name]) for name in GROUPS]
    text = _templates().get_template("log.html").render(
        blank=blank, mark=BLANK_MARK, policy=policy, script=script, style=_source("log.css"), told=_told(blank),
        groups=[(name, some) for name, some in groups if some], numbers=("number", "reading"),
    )  # fmt: skip
    path.write_text(text, "utf-8")


def _told(blank: Blank) -> str:
    """Give what the page's script needs to know, as JSON that is safe within a script element."""
    job = blank.job
    told = {
        "job": job.name,
        "routes": [one.name for one in blank.routes],
        "columns": [_column(one) for one in blank.columns],
        "required": required_fields(job),
        "families": {word: name for name, words in JOINT_TYPES.items() for word in (name, *words)},
        "kept": [field for field in _KEPT if field in [one.field for one in blank.columns]],
        "form": blank.form,
        "example": EXAMPLES[blank.form],
        "fractions": job.records.readings_in == "in",
        "encoding": _encoding(job),
    }
    return json.dumps(told, ensure_ascii=True).replace("<", "\\u003c")


def _column(column: Column) -> dict[str, Any]:
    limit = column.limit._asdict() if column.limit is not None else None
    return {
        "field": column.field, "heading": column.heading, "title": column.title, "kind": column.kind,
        "choices": column.choices, "closed": column.closed, "limit": limit,
    }  # fmt: skip


def _encoding(job: Job) -> dict[str, str]:
    """Say how the page writes its file, so that the job reads it: in Unicode, or by the letters of a code page."""
    named = job.records.encoding
    if named is None:
        return {"name": "utf-8"}
    try:
        name = codecs.lookup(named).name
    except LookupError:
        raise JobFileError(
            f"{job.source}: records.encoding: there is no encoding {named!r}; use utf-8, utf-16 or cp1252"
        ) from None
    if name in ("utf-8", "utf-8-sig"):
        return {"name": "utf-8"}
    if name in _UNICODE:
        return {"name": "utf-16"} if name == "utf-16" else {"name": name}
    try:
        letters = [bytes([code]).decode(name, "replace") for code in range(256)]
    except (LookupError, UnicodeDecodeError):
        letters = []
    if "".join(letters[:128]) != "".join(map(chr, range(128))) or set(map(len, letters)) != {1}:
        raise JobFileError(
            f"{job.source}: records.encoding: a page cannot write {named}; use utf-8, utf-16 or cp1252, or a workbook"
        )
    return {"name": "letters", "letters": "".join(letters[128:])}


def _source(name: str) -> str:
    return resources.files("asbuilt.blank").joinpath("templates", name).read_text("utf-8")


@cache
def _templates() -> jinja2.Environment:
    import jinja2

    return jinja2.Environment(
        loader=jinja2.PackageLoader("asbuilt.blank"), autoescape=True, undefined=jinja2.StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
