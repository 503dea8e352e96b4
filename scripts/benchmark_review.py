"""Time and sizes of the review: 100 routes of 50 joints, and one route of 5,000.

    python scripts/benchmark_review.py                    # this tree
    python scripts/benchmark_review.py --against FOLDER   # and another one by turns, as ratios; --turns 5

Measured is the processor's time, user and system, of `asbuilt review` in a process of its own, with loading the
libraries, which is also measured alone. Each tree reviews the file that it placed itself.
"""

from __future__ import annotations

import argparse
import json
import os
import resource
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

from benchmark import make_job

HERE = Path(__file__).resolve().parents[1]
JOBS = {"100 routes of 50 joints": (5_000, 100), "1 route of 5,000 joints": (5_000, 1)}


def seconds(tree: Path, *arguments: str) -> float:
    """Run Python in a process of its own with the package of a tree, and give the processor's time that it took."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    environment = os.environ | {"PYTHONPATH": str(tree)}
    subprocess.run([sys.executable, *arguments], check=True, stdout=subprocess.DEVNULL, env=environment, cwd=tree)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def placed(tree: Path, folder: Path, job: Path) -> Path:
    """Place a job with a tree, in a folder of its own."""
    path = folder / f"{tree.name}.gpkg"
    seconds(tree, "-m", "asbuilt", "place", str(job), "--out", str(path), "--progress", "none")
    return path


def sizes(folder: Path) -> dict[str, int]:
    """Give the bytes of a review: of its largest page, and of all files."""
    files = {path.name: path.stat().st_size for path in folder.rglob("*") if path.is_file()}
    return {"largest_page": max(size for name, size in files.items() if name.startswith("route-")),
            "whole_page": files["whole.html"], "all": sum(files.values())}  # fmt: skip


def main() -> None:
    """Measure, and print a line of JSON for each job."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--against", type=Path, metavar="FOLDER", help="another tree of the program")
    options.add_argument("--turns", type=int, default=3)
    given = options.parse_args()
    trees = [HERE, *([given.against.resolve()] if given.against else [])]
    loading = [min(seconds(tree, "-c", "import asbuilt.review.pages, pandas, pyogrio, jinja2") for _ in range(3))
               for tree in trees]  # fmt: skip
    print(json.dumps({"what": "loading the libraries", "seconds": [round(one, 2) for one in loading]}), flush=True)
    for what, (joints, routes) in JOBS.items():
        with tempfile.TemporaryDirectory(prefix="asbuilt-review-") as name:
            folder = Path(name)
            files = [placed(tree, folder, make_job(folder, joints, routes)) for tree in trees]
            found: list[list[float]] = [[] for _ in trees]
            out = [folder / f"review-{number}" for number in range(len(trees))]
            for _ in range(given.turns):
                for number, tree in enumerate(trees):
                    review = ("-m", "asbuilt", "review", str(files[number]), "--out", str(out[number]))
                    found[number].append(seconds(tree, *review, "--progress", "none"))
            told: dict[str, object] = {"what": what, "seconds": [[round(one, 2) for one in some] for some in found]}
            if len(trees) > 1:
                told["ratio"] = round(statistics.median(found[0]) / statistics.median(found[1]), 3)
            print(json.dumps(told | {"bytes": [sizes(one) for one in out]}), flush=True)


if __name__ == "__main__":
    main()
