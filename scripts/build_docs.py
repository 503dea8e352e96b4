"""Build the documentation site from `scripts/docs/` and from the code, into the folder `site/`, which git ignores.

    python scripts/build_docs.py            # needs the extra "docs"

The reference is made from the code: commands from their own help, job keys from the model and the job template, layers
and codes from the schema, findings from the checks, the Python API from its docstrings.
"""

from __future__ import annotations

import argparse
import re
import shutil
import subprocess
import sys
import tempfile
import types
import typing
from collections.abc import Iterator
from pathlib import Path

from pydantic import BaseModel
from pydantic.fields import FieldInfo

ROOT = Path(__file__).resolve().parent.parent
SOURCE = ROOT / "scripts" / "docs"
PUBLIC = (
    "place",
    "load_job",
    "Job",
    "Placement",
    "write_return",
    "write_map",
    "load",
    "undo",
    "find",
    "conflicts",
    "Question",
    "mark",
)
ERRORS = ("AsbuiltError", "InputFileError", "JobFileError", "OutputError")


def main() -> int:
    """Build the site and give the exit status; a broken link or reference fails it."""
    options = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    options.add_argument("--out", type=Path, default=ROOT / "site")
    out = options.parse_args().out
    pages = out.with_name(f"{out.name}-pages")
    shutil.rmtree(pages, ignore_errors=True)
    shutil.copytree(SOURCE, pages)
    (pages / "reference").mkdir(exist_ok=True)
    for name, text in references().items():
        (pages / "reference" / f"{name}.md").write_text(text, "utf-8")
    sys.path.insert(0, str(SOURCE))
    import figures

    figures.draw(pages / "images")
    command = [sys.executable, "-m", "sphinx", "-W", "--keep-going", "-q", "-b", "html", str(pages), str(out)]
    status = subprocess.call(command)
    shutil.rmtree(pages)
    if status == 0:
        print(f"wrote {out}; open {out / 'index.html'}")
    return status


NAMES = ("commands", "job", "layers", "findings", "blunders", "python")
"""Pages of the reference; a page of each name stands in its place in the source tree, so that links lead somewhere."""


def references() -> dict[str, str]:
    """Make the pages of the reference, by name."""
    made = commands_page(), job_page(), layers_page(), findings_page(), blunders_page(), python_page()
    return dict(zip(NAMES, made, strict=True))


def commands_page() -> str:
    """Describe every command by its own help."""
    return (
        "# Commands\n\nExit status: 0 done; 1 done, but records were set aside, joints left out or files differ, and "
        "`--strict` was given; 2 the inputs or options are wrong, one message says what to do, and nothing was "
        "written; 3 the program failed.\n\n"
        "```{eval-rst}\n.. click:: asbuilt.cli:cli\n   :prog: asbuilt\n   :nested: full\n```\n"
    )


def job_page() -> str:
    """Describe every key of the job file: its kind and default from the model, its meaning from the template."""
    from asbuilt.job import Job

    told = template_comments()
    parts = [
        "# The job file\n\nTOML; paths are relative to the file. `asbuilt check --template` prints one to fill in. "
        "A key that is not listed here is refused, and the nearest one is suggested.\n"
    ]
    for table, rows in tables_of(Job, ""):
        heading = f"`[{table}]`" if table else "At the top"
        parts += [f"\n## {heading}\n", "| key | kind | default | meaning |", "|---|---|---|---|"]
        for key, field in rows:
            shown = ".".join(part for part in (table, key) if part)
            default = "required" if field.is_required() else plain_default(field)
            meaning = told.get(shown, "")
            parts.append(f"| `{key}` | {cell(kind(field.annotation))} | {cell(default)} | {cell(meaning)} |")
    return "\n".join(parts) + "\n"


def tables_of(model: type[BaseModel], name: str) -> Iterator[tuple[str, list[tuple[str, FieldInfo]]]]:
    """Give the tables of the job file with their keys, outer ones first."""
    rows: list[tuple[str, FieldInfo]] = []
    inner: list[tuple[str, type[BaseModel]]] = []
    for key, field in model.model_fields.items():
        shown = field.alias or key
        found = [one for one in leaves(field.annotation) if isinstance(one, type) and issubclass(one, BaseModel)]
        if found:
            inner.append((f"{name}.{shown}" if name else shown, found[0]))
        else:
            rows.append((shown, field))
    yield name, rows
    for path, one in inner:
        yield from tables_of(one, path)


def leaves(annotation: object) -> Iterator[object]:
    """Give the types that an annotation is made of."""
    parts = typing.get_args(annotation)
    if not parts or typing.get_origin(annotation) is typing.Literal:
        yield annotation
    for part in parts:
        yield from leaves(part)


def kind(annotation: object) -> str:
    """Say in words what kind of value a key takes."""
    origin, parts = typing.get_origin(annotation), typing.get_args(annotation)
    if origin is typing.Literal:
        choices = [str(part) for part in parts]
        return " \\| ".join(choices) if len(choices) < 8 else "the name of a field"
    if origin is typing.Annotated:
        return kind(parts[0])
    if origin in (typing.Union, types.UnionType):
        return ", or ".join(dict.fromkeys(kind(part) for part in parts if part is not type(None)))
    if origin is tuple:
        return f"a list: {kind(parts[0])}" if parts[-1] is Ellipsis else f"{len(parts)} values: {kind(parts[0])}"
    if origin is dict:
        return f"a table of {kind(parts[0])} = {kind(parts[1])}"
    words = {"str": "text", "float": "a number", "int": "a whole number", "bool": "true or false", "date": "a date"}
    name: str = getattr(annotation, "__name__", str(annotation))
    return words.get(name, name)


def plain_default(field: FieldInfo) -> str:
    """Write a key's default as TOML has it; blank where there is none."""
    default = field.get_default(call_default_factory=True)
    if default is None or default in ((), {}):
        return ""
    return f"`{str(default).lower() if isinstance(default, bool) else default}`"


def template_comments() -> dict[str, str]:
    """Give what the job template says of each key."""
    from asbuilt.job import template

    told: dict[str, str] = {}
    table = ""
    for line in template().splitlines():
        text = line.removeprefix("# ").strip()
        if text.startswith("["):
            table, _, comment = (part.strip() for part in text.partition("#"))
            table = table.strip("[]").strip()
            # "[map.values.verdict]" is an example of what stands in "map.values".
            for name in (table, table.rpartition(".")[0]):
                told.setdefault(name, comment)
            continue
        key, equals, rest = text.partition(" = ")
        if not equals or " " in key.strip():
            continue
        comment = rest.rpartition("# ")[2] if "# " in rest else ""
        # "makeup_gal | makeup_l" speaks of both keys.
        for name in [key.strip(' "'), *re.findall(r"\b(\w+_\w+)\b(?= \||$)", comment)]:
            told.setdefault(f"{table}.{name}".strip("."), comment)
    return told


def layers_page() -> str:
    """Describe every layer, column and coded value of the output."""
    from asbuilt.schema import DOMAINS, LAYERS

    units = {
        "unit": "the centerline's coordinate unit",
        "station_unit": "the stations' unit",
        "reading_unit": "the unit of readings",
    }
    parts = ["# Layers and columns\n\nWhat `asbuilt place` writes. The file carries these descriptions itself.\n"]
    for name, layer in LAYERS.items():
        geometry = layer.geometry_type or "no geometry"
        parts += [f"\n## `{name}`\n", f"{layer.description} ({geometry})\n"]
        parts += ["| column | heading on a map | meaning |", "|---|---|---|"]
        for column, info in layer.columns.items():
            codes = f" Codes: [{info.domain}](#codes-{info.domain})." if info.domain else ""
            text = info.description.format_map(units).rstrip(".") + "." + codes
            parts.append(f"| `{column}` | {cell(info.title)} | {cell(text)} |")
    parts.append("\n## Codes\n")
    for domain, meanings in DOMAINS.items():
        parts += [f"\n(codes-{domain})=\n### `{domain}`\n", "| code | meaning |", "|---|---|"]
        parts += [f"| `{code}` | {cell(meaning)} |" for code, meaning in meanings.items()]
    return "\n".join(parts) + "\n"


def findings_page() -> str:
    """Describe every check: its code, its severity and its meaning."""
    from asbuilt.judging.findings import CHECKS
    from asbuilt.schema import DOMAINS

    rows = {check.code: check.severity for check in CHECKS}
    parts = ["# Findings\n\nEvery check, the gravest first. A finding also says what its limit rests on.\n"]
    for severity, meaning in DOMAINS["severity"].items():
        parts += [f"\n## {severity}: {meaning}\n", "| code | meaning |", "|---|---|"]
        parts += [
            f"| `{code}` | {cell(DOMAINS['finding_code'][code])} |" for code, one in rows.items() if one == severity
        ]
    return "\n".join(parts) + "\n"


def blunders_page() -> str:
    """Plant the tests' blunders of survey, log and job file, and tell what is said of each."""
    sys.path.insert(0, str(ROOT / "tests"))
    import blunders
    import job_blunders

    with tempfile.TemporaryDirectory() as folder:
        table = blunders.rows(Path(folder), seed=1)
    with tempfile.TemporaryDirectory() as folder:
        of_jobs = job_blunders.rows(Path(folder), seed=1)
    of_the_job = (
        "## Blunders of the job file\n\nThese are planted in the job files of mains of 60 joints, three of which turn "
        "more than is allowed, with gaps read at every joint. By none of them is a joint that is over called within, "
        "but for what `verdict_assumes` names.\n\n"
    )
    head = (
        "# Blunders held against the truth\n\nEach of these is planted in a main of 90 joints, made at random, "
        "so where every joint lies is known. The table is made by planting them anew: what is said, at which point, "
        "joint or row, and how far the joint that is farthest off was placed from where it lies. Where it is refused, "
        "no joint is placed.\n\n"
    )
    written = (SOURCE / "reference" / "blunders.md").read_text("utf-8")
    _, heading, untold = written.partition("\n## ")
    tables = f"{blunders.as_markdown(table)}\n\n{of_the_job}{blunders.as_markdown(of_jobs)}"
    return f"{head}{tables}\n{heading}{untold}"


def python_page() -> str:
    """Describe the public functions by their docstrings."""
    functions = "\n\n".join(f".. autofunction:: asbuilt.{name}" for name in PUBLIC if name[0].islower())
    classes = "\n\n".join(f".. autoclass:: asbuilt.{name}\n   :members:" for name in PUBLIC if name[0].isupper())
    errors = "\n\n".join(f".. autoexception:: asbuilt.{name}" for name in ERRORS)
    return (
        "# Python\n\nEach function does what a command, or one of its options, does.\n\n"
        f"```{{eval-rst}}\n{functions}\n\n{classes}\n\n{errors}\n```\n"
    )


def cell(text: str) -> str:
    """Write text so that a Markdown table keeps it whole."""
    return text.replace("\n", " ").replace("|", "\\|").replace("\\\\|", "\\|").replace("<", "&lt;")


if __name__ == "__main__":
    sys.exit(main())
