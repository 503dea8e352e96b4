"""Print the lowest versions that pyproject.toml allows, as exact pins for pip's --constraint.

python3 scripts/floors.py > floors.txt
pip install --constraint floors.txt --editable .[test]
"""

from __future__ import annotations

import tomllib
from itertools import chain
from pathlib import Path


def main() -> None:
    """Print one pin for each dependency of the package, and of the extras for servers, clusters and stores."""
    project = tomllib.loads((Path(__file__).resolve().parent.parent / "pyproject.toml").read_text("utf-8"))["project"]
    extras = project["optional-dependencies"]
    asked = (extras[name] for name in ("postgis", "serve", "cluster", "cloud"))
    for requirement in chain(project["dependencies"], *asked):
        print(requirement.partition(",")[0].replace(">=", "==").replace("[binary]", ""))


if __name__ == "__main__":
    main()
