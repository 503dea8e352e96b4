"""Runs of a benchmark kept as files, one for each, and the newest held against an earlier one.

    python scripts/benchmark.py --keep                     adds a run to scripts/benchmarks/
    python scripts/kept_runs.py                            the newest of each kind against the one before it
    python scripts/kept_runs.py --run NEW.json --against OLD.json

A run says on which day, machine and versions it was measured, and what else the machine did: its name and its folders
are not written down. Only ratios within one run can be held against those of another machine or another load.
"""

from __future__ import annotations

import argparse
import datetime as dt
import importlib.metadata
import json
import os
import platform
import subprocess
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path
from typing import Any, NamedTuple

KEPT = Path(__file__).resolve().with_name("benchmarks")
LIBRARIES = ("asbuilt", "geopandas", "numpy", "pandas", "pyarrow", "pydantic", "pyogrio", "pyproj", "shapely")


class Figure(NamedTuple):
    """A number that was measured; a ratio with the seconds that it is made of."""

    name: str
    value: float
    unit: str
    seconds: tuple[float, ...] = ()
    """Of what is measured, and of what it is held against."""


def keep(kind: str, of: dict[str, Any], figures: Iterable[Figure], load: float, folder: Path = KEPT) -> Path:
    """Write a run to a file of its own, and give the file.

    Parameters
    ----------
    kind : str
        Which benchmark it is.
    of : dict
        What it was measured on, like {"joints": 100000}: only runs on the same are held together.
    figures : iterable of Figure
    load : float
        How many processes worked or waited, on the average, before it began.
    folder : path
    """
    day = dt.date.today().isoformat()
    told = {
        "benchmark": kind,
        "day": day,
        "of": of,
        "machine": {**machine(), "load_before": round(load, 1)},
        "versions": versions(),
        "figures": [one._asdict() for one in figures],
    }
    folder.mkdir(exist_ok=True)
    number = 1 + sum(1 for _ in folder.glob(f"{day}-*.json"))
    path = folder / f"{day}-{number:02d}-{kind}.json"
    path.write_text(json.dumps(told, indent=1) + "\n", "utf-8")
    return path


def machine() -> dict[str, Any]:
    """Describe this machine: its processor, cores and memory."""
    cpuinfo = Path("/proc/cpuinfo")
    lines = cpuinfo.read_text("utf-8").splitlines() if cpuinfo.exists() else []
    models = [line.partition(":")[2].strip() for line in lines if line.startswith("model name")]
    memory = os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES") / 2**30
    processor = models[0] if models else platform.processor() or platform.machine()
    return {"processor": processor, "cores": os.cpu_count(), "memory_gb": round(memory)}


def versions() -> dict[str, str]:
    """Give the versions of Python, of the libraries and of this tree."""
    told = {"python": platform.python_version(), **{one: importlib.metadata.version(one) for one in LIBRARIES}}
    command = ["git", "-C", str(KEPT.parent), "rev-parse", "--short", "HEAD"]
    with suppress(OSError, subprocess.CalledProcessError):  # not a checkout
        told["commit"] = subprocess.run(command, capture_output=True, text=True, check=True).stdout.strip()
    return told


def runs(folder: Path = KEPT) -> list[dict[str, Any]]:
    """Read all runs of a folder, the newest last."""
    return [{**json.loads(path.read_text("utf-8")), "file": path.name} for path in sorted(folder.glob("*.json"))]


def pairs(kept: list[dict[str, Any]]) -> list[tuple[dict[str, Any], dict[str, Any] | None]]:
    """Give the newest run of each kind, on the same joints and the like, with the one before it."""
    alike: dict[str, list[dict[str, Any]]] = {}
    for run in kept:
        alike.setdefault(json.dumps([run["benchmark"], run["of"]]), []).append(run)
    return [(some[-1], some[-2] if len(some) > 1 else None) for some in alike.values()]


def compared(new: dict[str, Any], old: dict[str, Any] | None) -> list[str]:
    """Hold a run against an earlier one, in lines to be printed; without one, its own figures.

    Examples
    --------
    >>> run = {"file": "b.json", "benchmark": "benchmark", "day": "2026-11-28", "of": {"joints": 600},
    ...     "machine": {"cores": 2, "load_before": 0.1}, "versions": {"numpy": "2.4"},
    ...     "figures": [{"name": "whole / bare", "value": 1.2, "unit": "ratio"}]}
    >>> before = {**run, "file": "a.json", "versions": {"numpy": "2.3"},
    ...     "figures": [{"name": "whole / bare", "value": 1.5, "unit": "ratio"}]}
    >>> for line in compared(run, before): print(line)
    benchmark of joints 600: b.json (load 0.1) against a.json (load 0.1)
    other versions: numpy 2.4, not 2.3
    whole / bare                                               1.2      1.5   -20 %  ratio
    """
    of = ", ".join(f"{name} {value}" for name, value in new["of"].items())
    against = f" against {old['file']} (load {old['machine']['load_before']})" if old else ", which has none before it"
    lines = [f"{new['benchmark']} of {of}: {new['file']} (load {new['machine']['load_before']}){against}"]
    earlier = {} if old is None else {(one["name"], one["unit"]): one for one in old["figures"]}
    for what in ("machine", "versions"):
        if old is None:
            break
        names = sorted((new[what].keys() | old[what].keys()) - {"load_before"})
        said = [(name, new[what].get(name, "none"), old[what].get(name, "none")) for name in names]
        other = [f"{name} {here}, not {there}" for name, here, there in said if here != there]
        lines += [f"other {what}: {'; '.join(other)}"] if other else []
    for one in new["figures"]:
        before = earlier.pop((one["name"], one["unit"]), None)
        was = f"{before['value']:8.3g}" if before else "    none"
        change = f"{100 * (one['value'] / before['value'] - 1):+5.0f} %" if before and before["value"] else " " * 7
        lines.append(f"{one['name']:52} {one['value']:9.3g} {was} {change}  {one['unit']}")
    return [*lines, *(f"{name}, {unit}: no longer measured" for name, unit in earlier)]


def main() -> None:
    """Print runs held against earlier ones."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--run", type=Path, help="a run other than the newest of each kind")
    options.add_argument("--against", type=Path, help="the run to hold it against; give --run, too")
    given = options.parse_args()
    if given.against and not given.run:
        options.error("--against is for the run that --run names")
    kept = runs()
    if given.run:
        new, *old = (
            {**json.loads(one.read_text("utf-8")), "file": one.name} for one in (given.run, given.against) if one
        )
        before = [run for run in kept if (run["benchmark"], run["of"]) == (new["benchmark"], new["of"])]
        before = [run for run in before if run["file"] < new["file"]]
        print("\n".join(compared(new, old[0] if old else before[-1] if before else None)))
        return
    print("\n\n".join("\n".join(compared(*pair)) for pair in pairs(kept)))


if __name__ == "__main__":
    main()
