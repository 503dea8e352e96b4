"""Build the desktop-GIS plugin as a zip that its host installs.

    python scripts/build_plugin.py [FOLDER]     # writes asbuilt_plugin-VERSION.zip; into dist/ if left out
    python scripts/build_plugin.py --strings    # brings the texts to be translated up to date

The zip holds the plugin, the package's own words for fields and codes, and the package as a wheel, from which the
plugin makes the environment of its command. Needs hatchling (in the extra "test").
"""

from __future__ import annotations

import ast
import json
import subprocess
import sys
import tempfile
import tomllib
import zipfile
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

ROOT = Path(__file__).resolve().parent.parent
PLUGIN = ROOT / "asbuilt" / "plugin"
STRINGS = PLUGIN / "i18n" / "asbuilt.ts"
NAME = "asbuilt_plugin"
SUFFIXES = (".py", ".txt", ".svg", ".ts", ".qm")


def main() -> int:
    """Do what was asked for and give the exit status."""
    if sys.argv[1:] == ["--strings"]:
        STRINGS.write_text(strings(), "utf-8")
        return 0
    folder = Path(sys.argv[1]) if sys.argv[1:] else ROOT / "dist"
    print(build(folder))
    return 0


def build(folder: Path) -> Path:
    """Write the zip into a folder, and give its path."""
    sys.path.insert(0, str(ROOT))
    from asbuilt.version import __version__

    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{NAME}-{__version__}.zip"
    members = {
        str(file.relative_to(PLUGIN)): file.read_bytes()
        for file in sorted(PLUGIN.rglob("*"))
        if file.suffix in SUFFIXES and "__pycache__" not in file.parts
    }
    members["metadata.txt"] = members["metadata.txt"].replace(b"@VERSION@", __version__.encode())
    members["vocabulary.json"] = json.dumps(vocabulary(), ensure_ascii=False, indent=1).encode()
    for style in sorted((ROOT / "asbuilt" / "data" / "styles").glob("*.qml")):
        members[f"styles/{style.name}"] = style.read_bytes()
    members["LICENSE"] = (ROOT / "LICENSE").read_bytes()
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


def build_wheel(folder: Path) -> Path:
    """Build the package's wheel into a folder."""
    command = [sys.executable, "-m", "hatchling", "build", "--target", "wheel", "--directory", str(folder)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    if done.returncode:
        raise SystemExit(f"the wheel cannot be built (is hatchling installed?): {done.stderr.strip()}")
    return next(folder.glob("*.whl"))


def vocabulary() -> dict[str, Any]:
    """Give what the plugin must know of the package: its version, its fields and the words for its codes."""
    from asbuilt import schema
    from asbuilt.inputs import allowables, headers
    from asbuilt.inputs.fields import FIELD_NAMES
    from asbuilt.keys.fields import RECORD_FIELDS
    from asbuilt.register.layout import REGISTER_DOMAINS
    from asbuilt.version import __version__

    inspections = schema.LAYERS["inspections"].columns
    words = {"unit": "coordinate units", "station_unit": "station units", "reading_unit": "the unit of readings"}
    return {
        "version": __version__,
        "extras": extras(),
        "fields": [
            {
                "name": field,
                "title": inspections[field].title,
                "description": inspections[field].description.format_map(words),
                "names": sorted(FIELD_NAMES[field]),
            }
            for field in RECORD_FIELDS
        ],
        "unit_hint": headers.UNIT_HINT.pattern,
        "units": schema.DOMAINS["length_unit"],
        "tables": sorted(allowables.SHIPPED),
        "domains": REGISTER_DOMAINS,
        "layers": {
            name: {column: about.title for column, about in layer.columns.items()}
            for name, layer in schema.LAYERS.items()
        },
    }


def extras() -> list[str]:
    """Name the package's extras that its commands use."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    return sorted(set(project["optional-dependencies"]) - {"test", "docs"})


def strings() -> str:
    """Give the texts of the plugin as a Qt translation source."""
    found: dict[str, str] = {}
    for file in sorted(PLUGIN.glob("*.py")):
        for node in ast.walk(ast.parse(file.read_text("utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "tr":
                found.setdefault(ast.literal_eval(node.args[0]), f"../{file.name}")
    messages = [
        f'    <message>\n        <location filename="{file}"/>\n        <source>{escape(text)}</source>\n'
        '        <translation type="unfinished"></translation>\n    </message>'
        for text, file in found.items()
    ]
    head = (
        '<?xml version="1.0" encoding="utf-8"?>\n<!DOCTYPE TS>\n<TS version="2.1">\n<context>\n    <name>asbuilt</name>'
    )
    return "\n".join([head, *messages, "</context>\n</TS>\n"])


if __name__ == "__main__":
    sys.exit(main())
