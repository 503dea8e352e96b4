"""Build the desktop-GIS plugin as a zip that its host installs.

    python scripts/build_plugin.py [FOLDER]             # writes asbuilt_plugin-VERSION.zip; into dist/ if left out
    python scripts/build_plugin.py --release [FOLDER]   # the same for publishing: refuses what is not ready for it
    python scripts/build_plugin.py --strings            # brings the texts to be translated up to date

The zip holds the plugin with its translations and its help, the package's own words for fields and codes, and the
package as a wheel, from which the plugin makes the environment of its command. Addresses and author stand in
plugin_release.toml beside this script. Translations need Qt's lrelease (Debian package qttools5-dev-tools).
"""

from __future__ import annotations

import ast
import importlib.util
import json
import re
import shutil
import subprocess
import sys
import tempfile
import tomllib
import zipfile
from pathlib import Path
from typing import Any
from xml.etree import ElementTree
from xml.sax.saxutils import escape

ROOT = Path(__file__).resolve().parent.parent
PLUGIN = ROOT / "asbuilt" / "plugin"
STYLES = ROOT / "asbuilt" / "data" / "styles"
DOCS = ROOT / "scripts" / "docs"
ADDRESSES = ROOT / "scripts" / "plugin_release.toml"
STRINGS = PLUGIN / "i18n" / "asbuilt.ts"
LANGUAGES = ("de", "es")
UNFINISHED = '<translation type="unfinished"></translation>'
STYLE = (
    "<style>body{max-width:48em;margin:2em auto;padding:0 1em;font:16px/1.5 sans-serif}img{max-width:100%}"
    "td,th{text-align:left;vertical-align:top;padding:.2em .8em .2em 0}pre{overflow-x:auto}</style>"
)
NAME = "asbuilt_plugin"
SUFFIXES = (".py", ".txt", ".svg", ".ts")
UNOPENED = ("stationing", "required", "notes")
"""The tables of a placed job that the plugin does not open, and the domains that stand only there."""
UNSHOWN = ("note_code", "note_about")


def main() -> int:
    """Do what was asked for and give the exit status."""
    sys.path.insert(0, str(ROOT))
    options = [one for one in sys.argv[1:] if one.startswith("--")]
    if options == ["--strings"]:
        write_strings()
        return 0
    if options not in ([], ["--release"]):
        print(__doc__)
        return 2
    folders = [Path(one) for one in sys.argv[1:] if not one.startswith("--")]
    if options:
        refuse_unready()
    path = build(folders[0] if folders else ROOT / "dist")
    if not lrelease():
        print("NOT TRANSLATED: Qt's lrelease is not here (Debian package qttools5-dev-tools); the plugin is in English")
    print(path)
    return 0


def refuse_unready() -> None:
    """Refuse to build for publishing while a placeholder, a translation or Qt's lrelease is missing."""
    wrong = [
        f"{ADDRESSES.name}: {key} is a placeholder ({value}); fill it in"
        for key, value in addresses().items()
        if not value.strip() or ".example" in value
    ]
    if not lrelease():
        wrong.append("Qt's lrelease is not here; install it (Debian package qttools5-dev-tools)")
    for language in LANGUAGES:
        missing = sum(not translated for translated in translations(language).values())
        if missing:
            wrong.append(f"{source_of(language).name}: {missing} texts are not translated")
    if wrong:
        raise SystemExit("not ready to be published:\n" + "\n".join(wrong))


def addresses() -> dict[str, str]:
    """Give author and addresses, as a publisher has filled them in."""
    return {key: str(value) for key, value in tomllib.loads(ADDRESSES.read_text("utf-8")).items()}


def build(folder: Path) -> Path:
    """Write the zip into a folder, and give its path."""
    from asbuilt.version import __version__

    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{NAME}-{__version__}.zip"
    members = {
        str(file.relative_to(PLUGIN)): file.read_bytes()
        for file in sorted(PLUGIN.rglob("*"))
        if (file.suffix in SUFFIXES or file.name == "LICENSE") and "__pycache__" not in file.parts
    }
    metadata = members["metadata.txt"].decode().replace("@VERSION@", __version__)
    for key, value in addresses().items():
        metadata = metadata.replace(f"@{key.upper()}@", value)
    members["metadata.txt"] = metadata.encode()
    members["vocabulary.json"] = json.dumps(vocabulary(), ensure_ascii=False, indent=1).encode()
    for style in sorted(STYLES.glob("*.qml")):
        members[f"styles/{style.name}"] = style.read_bytes()
    members |= {f"i18n/{name}": content for name, content in compiled().items()} | help_pages()
    with tempfile.TemporaryDirectory() as scratch:
        wheel = build_wheel(Path(scratch))
        members[f"package/{wheel.name}"] = wheel.read_bytes()
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in sorted(members.items()):
            # A fixed time, so that the same sources give the same file.
            entry = zipfile.ZipInfo(f"{NAME}/{Path(name).as_posix()}", (1980, 1, 1, 0, 0, 0))
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, content)
    return path


def help_pages() -> dict[str, bytes]:
    """Give the documentation as plain pages, so that the plugin's help needs no network."""
    from markdown_it import MarkdownIt

    reader = MarkdownIt("commonmark").enable("table")
    files = sorted([*DOCS.glob("howto/*.md"), *DOCS.glob("tutorials/*.md"), DOCS / "conventions.md"])
    pages = {}
    for file in files:

        def link(found: re.Match[str], file: Path = file) -> str:
            text, target, anchor = found[1], found[2], found[3] or ""
            # The site has pages that are made for it alone.
            there = (file.parent / f"{target}.md").resolve() in files
            return f"[{text}]({target}.html{anchor})" if there else text

        text = re.sub(r"\[([^\]]+)\]\((?!\w+:)([^)\s#]+)\.md(#[^)\s]*)?\)", link, file.read_text("utf-8"))
        title = text.lstrip("# ").partition("\n")[0]
        page = f'<!doctype html><html lang="en"><meta charset="utf-8"><title>{escape(title)}</title>{STYLE}'
        name = file.relative_to(DOCS).with_suffix(".html").as_posix()
        pages[f"help/{name}"] = f"{page}<body>{reader.render(text)}</body></html>".encode()
    pages |= {f"help/images/{file.name}": file.read_bytes() for file in sorted((DOCS / "images").glob("*.png"))}
    return pages


def build_wheel(folder: Path) -> Path:
    """Build the package's wheel into a folder: pip brings what is needed for it, if it is not here."""
    command = [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--wheel-dir", str(folder), str(ROOT)]
    if importlib.util.find_spec("hatchling") is not None:
        command.append("--no-build-isolation")
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode:
        raise SystemExit(f"the wheel cannot be built: {done.stderr.strip()}")
    return next(folder.glob("*.whl"))


def vocabulary() -> dict[str, Any]:
    """Give what the plugin must know of the package: its version, its fields and the words for its codes."""
    from build_docs import tables_of

    from asbuilt import schema
    from asbuilt.inputs import allowables, headers
    from asbuilt.inputs.fields import FIELD_NAMES
    from asbuilt.inputs.route_keys import LINE_NAMES
    from asbuilt.job import Job
    from asbuilt.keys.fields import RECORD_FIELDS
    from asbuilt.register.beside import stands
    from asbuilt.register.layout import BESIDE, REGISTER_DOMAINS
    from asbuilt.version import __version__

    inspections = schema.LAYERS["inspections"].columns
    words = {"unit": "coordinate units", "station_unit": "station units", "reading_unit": "the unit of readings"}
    return {
        "version": __version__,
        "file_version": schema.FILE_VERSION,
        "extras": extras(),
        "stands": {layer: stands("", layer) for layer in BESIDE},
        "fields": [
            {
                "name": field,
                "title": inspections[field].title,
                "description": inspections[field].description.format_map(words),
                "names": sorted(FIELD_NAMES[field]),
            }
            for field in RECORD_FIELDS
        ],
        "job_keys": [f"{table}.{key}" for table, rows in tables_of(Job, "") if table for key, _ in rows],
        "line_fields": [{"name": field, "names": sorted(names)} for field, names in LINE_NAMES.items()],
        "unit_hint": headers.UNIT_HINT.pattern,
        "units": schema.DOMAINS["length_unit"],
        "tables": sorted(allowables.SHIPPED),
        "domains": {name: words for name, words in REGISTER_DOMAINS.items() if name not in UNSHOWN},
        "assumptions": schema.ASSUMPTIONS,
        "layers": {
            name: {column: about.title for column, about in layer.columns.items()}
            for name, layer in schema.LAYERS.items()
            if name not in UNOPENED
        },
    }


def extras() -> list[str]:
    """Name the package's extras that the plugin's commands use: none for contributors, clusters or addresses."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    return sorted(set(project["optional-dependencies"]) - {"cloud", "cluster", "docs", "fuzz", "qt6", "test"})


def write_strings() -> None:
    """Bring the template and every translation up to date; what is translated stays."""
    found = strings()
    STRINGS.write_text(as_source(found, dict.fromkeys(found, ""), ""), "utf-8")
    for language in LANGUAGES:
        known = translations(language) if source_of(language).is_file() else {}
        source_of(language).write_text(
            as_source(found, {text: known.get(text, "") for text in found}, language), "utf-8"
        )


def strings() -> dict[str, str]:
    """Give all that a person reads in the plugin, and the file that each text stands in first."""
    found: dict[str, str] = {}
    for file in sorted(PLUGIN.glob("*.py")):
        for node in ast.walk(ast.parse(file.read_text("utf-8"))):
            match node:
                # What is no plain text there is one of the texts of the styles or of the vocabulary.
                case ast.Call(func=ast.Name(id="tr"), args=[ast.Constant(value=str(text))]):
                    found.setdefault(text, f"../{file.name}")
    for style in sorted(STYLES.glob("*.qml")):
        for text in style_texts(style):
            found.setdefault(text, f"../../data/styles/{style.name}")
    for text in vocabulary_texts():
        found.setdefault(text, "../../schema.py")
    return found


def vocabulary_texts() -> list[str]:
    """Give the texts of the vocabulary that a person reads: titles, descriptions, meanings of codes, assumptions."""
    known = vocabulary()
    titles = [title for layer in known["layers"].values() for title in layer.values()]
    meanings = [text for words in known["domains"].values() for text in words.values()]
    fields = [field[text] for field in known["fields"] for text in ("title", "description")]
    return [*titles, *fields, *meanings, *known["assumptions"].values()]


def style_texts(style: Path) -> list[str]:
    """Give the texts of a style that a person reads: those of its legend, and those in its labels."""
    root = ElementTree.fromstring(style.read_bytes())
    legend = [one.get("label", "") for renderer in root.iter("renderer-v2") for one in renderer.iter()]
    labels = [one.get("fieldName", "") for one in root.iter("text-style") if one.get("isExpression") == "1"]
    texts = [*legend, *(text.strip() for label in labels for text in re.findall("'([^']*)'", label))]
    return [text for text in texts if text]


def source_of(language: str) -> Path:
    """Give the path of a language's translations."""
    return PLUGIN / "i18n" / f"asbuilt_{language}.ts"


def translations(language: str) -> dict[str, str]:
    """Give each text with its translation, "" where it has none."""
    root = ElementTree.fromstring(source_of(language).read_bytes())
    return {message.findtext("source", ""): message.findtext("translation", "") for message in root.iter("message")}


def as_source(found: dict[str, str], translated: dict[str, str], language: str) -> str:
    """Write texts as a Qt translation source."""
    messages = []
    for text, file in found.items():
        done = translated[text]
        written = f"<translation>{escape(done)}</translation>" if done else UNFINISHED
        messages.append(
            f'    <message>\n        <location filename="{file}"/>\n        <source>{escape(text)}</source>\n'
            f"        {written}\n    </message>"
        )
    named = f' language="{language}"' if language else ""
    head = (
        f'<?xml version="1.0" encoding="utf-8"?>\n<!DOCTYPE TS>\n<TS version="2.1"{named}>\n<context>\n'
        "    <name>asbuilt</name>"
    )
    return "\n".join([head, *messages, "</context>\n</TS>\n"])


def lrelease() -> str | None:
    """Find Qt's compiler of translations."""
    return next(filter(None, map(shutil.which, ("lrelease", "lrelease-qt5", "lrelease6", "pyside6-lrelease"))), None)


def compiled() -> dict[str, bytes]:
    """Compile every translation; nothing where Qt's compiler is not here."""
    program, made = lrelease(), {}
    with tempfile.TemporaryDirectory() as scratch:
        for language in LANGUAGES if program else ():
            path = Path(scratch, f"asbuilt_{language}.qm")
            command = [str(program), "-silent", str(source_of(language)), "-qm", str(path)]
            done = subprocess.run(command, capture_output=True, text=True, check=False)
            if done.returncode or not path.is_file():
                raise SystemExit(f"{source_of(language)} cannot be compiled: {done.stderr.strip()}")
            made[path.name] = path.read_bytes()
    return made


if __name__ == "__main__":
    sys.exit(main())
