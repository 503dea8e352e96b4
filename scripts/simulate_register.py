"""Hold a register against a model in plain Python, in many sequences of loads, corrections, undos, marks and notes.

    python scripts/simulate_register.py --sequences 1000 --seed 1
    python scripts/simulate_register.py --sequences 200 --seed 1 --server

The first keeps registers in GeoPackages, in memory where there is such a folder; the second in a PostGIS of its own. A
sequence that fails is made shorter, as far as it still fails, and printed as a program.
"""

from __future__ import annotations

import argparse
import shutil
import sys
import time
from collections.abc import Callable
from contextlib import nullcontext
from pathlib import Path

from hypothesis import HealthCheck, seed, settings
from hypothesis.stateful import run_state_machine_as_test

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))
from register_model import Form, RegisterMachine, fresh_files, fresh_schema, place_forms, read_once
from registers import quick_folder
from servers import postgis

STEPS = 8
"""Steps of a sequence at most."""


def main() -> None:
    """Run the sequences, and tell how many were run."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--sequences", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--server", action="store_true", help="in PostGIS")
    given = parser.parse_args()
    folder = quick_folder()
    try:
        with postgis() if given.server else nullcontext("") as address, read_once():
            empty: Callable[[], str] = fresh_schema(address) if given.server else fresh_files(folder)
            begun = time.monotonic()
            machine = machine_of(place_forms(folder), empty)
            run(machine, given.sequences, given.seed)
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    print(
        f"{machine.sequences} sequences, {machine.steps} steps compared, seed {given.seed}, "
        f"{'PostGIS' if given.server else 'GeoPackage'}, {time.monotonic() - begun:.0f} s: no difference"
    )


def machine_of(placed: dict[Form, Path], empty: Callable[[], str]) -> type[RegisterMachine]:
    """Make a machine of its own counts."""
    return type("Machine", (RegisterMachine,), {"placed": placed, "empty": staticmethod(empty)})


def run(machine: type[RegisterMachine], sequences: int, number: int) -> None:
    """Run so many sequences."""
    run_state_machine_as_test(
        seed(number)(machine),
        settings=settings(
            max_examples=sequences, stateful_step_count=STEPS, deadline=None, database=None,
            suppress_health_check=list(HealthCheck), print_blob=False,
        ),
    )  # fmt: skip


if __name__ == "__main__":
    main()
