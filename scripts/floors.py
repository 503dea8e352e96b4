"""Print the lowest versions that pyproject.toml allows, as exact pins for pip's --constraint.

python3 scripts/floors.py > floors.txt
pip install --constraint floors.txt --editable .[test]
"""

from __future__ import annotations

import tomllib
from pathlib import Path


def main() -> None:
    """Print one pin for each dependency of the package, of a register on a server, of serving one, and of a cluster."""
    project = tomllib.loads((Path(__file__).resolve().parent.parent / "pyproject.toml").read_text("utf-8"))["project"]
    extras = project["optional-dependencies"]
    for requirement in (*project["dependencies"], *extras["postgis"], *extras["serve"], *extras["cluster"]):
        print(requirement.partition(",")[0].replace(">=", "==").replace("[binary]", ""))


if __name__ == "__main__":
    main()
