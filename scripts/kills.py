"""Loads into a register, and undoing them, killed at moments of their own by seed; what is left is before or after.

    python scripts/kills.py --count 1000 --first 0                  # a register that is a file
    python scripts/kills.py --count 1000 --first 0 --postgis        # one in a PostGIS that is started for it
    python scripts/kills.py --count 1 --first 4711                  # one again

Seeds that are even kill the process in itself, at a function call whose number the seed draws, and are the same each
time; odd ones kill it from outside after a time that the seed draws, in the middle of whatever it does, and so within
a statement or a write as well. A load that is killed corrects a main that is in the register; of four seeds two kill
the undoing of that load. After each kill the register is read whole, in one view, as a server may still end what it
was told to; it must hold what it held before the load or what it holds after it, and be sound.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import signal
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import closing, contextmanager
from multiprocessing.connection import Connection
from pathlib import Path
from random import Random
from types import FrameType
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

import servers
from registers import HIDDEN, column, contents, placed

from asbuilt.register import layout
from asbuilt.register.damage import refuse_damaged
from asbuilt.register.loading import load
from asbuilt.register.opening import open_existing
from asbuilt.register.undo import undo

FORKS = multiprocessing.get_context("forkserver")
JOINTS = 40


def change_until(path: str | None, register: str, last: float, told: Connection | None) -> None:
    """Load a job, or undo the last load, and end this process without a word at the call of that number.

    Tells how many calls there were.
    """
    calls = 0

    def count(frame: FrameType, event: str, argument: Any) -> None:
        nonlocal calls
        calls += event in ("call", "c_call")
        if calls >= last:
            os.kill(os.getpid(), signal.SIGKILL)

    if told is not None or last != float("inf"):
        sys.setprofile(count)
    if path is None:
        undo(max(column(register, "loads", "load_id")), register)
    else:
        load(path, register)
    sys.setprofile(None)
    if told is not None:
        told.send(calls)


class Campaign:
    """A register with a main in it, the correction that is killed, and what it holds before and after."""

    def __init__(self, folder: Path, register: str) -> None:
        self.register = register
        first = placed(folder / "one.gpkg", joints=JOINTS)
        self.correction = str(placed(folder / "corrected.gpkg", joints=JOINTS, remarks="corrected", gauge={3: "no"}))
        load(first, register)
        self.before = self._state()
        self.after = self.before
        self.calls: dict[str | None, int] = {}
        self.seconds: dict[str | None, float] = {}
        # As it goes in, and as it is taken back.
        for path in (self.correction, None):
            here, there = FORKS.Pipe(duplex=False)
            self._run(path, float("inf"), there).join()
            self.calls[path] = here.recv()
            self.after = self._state() if path else self.after
        load(self.correction, self.register)
        for path in (None, self.correction):
            began = time.monotonic()
            self._run(path, float("inf"), None).join()
            self.seconds[path] = time.monotonic() - began
        self._taken_back()
        assert self.before != self.after

    def kill(self, seed: int) -> str:
        """Kill the change of a seed; gives how it ended, and raises AssertionError where the register is neither."""
        random = Random(seed)
        path = None if seed // 2 % 2 else self.correction
        if path is None:
            load(self.correction, self.register)
        if seed % 2:
            process = self._run(path, float("inf"), None)
            process.join(random.uniform(0.0, 1.1 * self.seconds[path]))
            process.kill()
        else:
            # The last calls are those in which it is written and becomes the register's.
            calls = self.calls[path]
            process = self._run(path, random.randrange(random.choice((0, 9 * calls // 10)), calls), None)
        process.join()
        with closing(open_existing(self.register)) as store:
            refuse_damaged(store)
        state = self._state()
        assert state in (self.before, self.after), "the register is neither as before nor as after"
        killed, end = process.exitcode == -signal.SIGKILL, "before" if state == self.before else "after"
        done = process.exitcode, end == ("before" if path is None else "after")
        assert killed or done == (0, True), f"it ended by itself with {process.exitcode}"
        if end == "after":
            self._taken_back()
        what = "undone" if path is None else "loaded"
        return f"{what}, killed, as {end}" if killed else f"{what}, ended first"

    def _run(self, path: str | None, last: float, told: Connection | None) -> Any:
        process = FORKS.Process(target=change_until, args=(path, self.register, last, told))
        process.start()
        return process

    def _taken_back(self) -> None:
        undo(max(column(self.register, "loads", "load_id")), self.register)
        assert self._state() == self.before, "undoing the load did not give back what was"

    def _state(self) -> dict[str, list[Any]]:
        """Give what the register holds, without the numbers of loads, which differ from try to try."""
        state = {}
        for table, rows in contents(self.register).items():
            names = [name for name in layout.kinds(table) if name not in HIDDEN]
            kept = [at for at, name in enumerate(names) if not name.endswith("load_id") and name != "ended_by"]
            state[table] = sorted((tuple(row[at] for at in kept) for row in rows), key=repr)
        return state


@contextmanager
def registers(on_server: bool, folder: Path) -> Iterator[str]:
    """Give the name of a register that is not there yet."""
    if not on_server:
        yield str(folder / "register.gpkg")
        return
    if servers.programs() is None:
        sys.exit("NOT RUN: there is no PostGIS here; install Debian's postgresql-postgis")
    with servers.postgis() as address:
        yield address


def main() -> int:
    """Run the kills one after the other; the exit status is 1 where one left something else."""
    options = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    options.add_argument("--count", type=int, default=100, help="how many are killed")
    options.add_argument("--first", type=int, default=0, help="seed of the first")
    options.add_argument("--seconds", type=float, default=float("inf"), help="begin none after this time")
    options.add_argument("--postgis", action="store_true", help="in a database, not in a file")
    asked = options.parse_args()
    FORKS.set_forkserver_preload(
        ["asbuilt.register.loading", "asbuilt.register.postgis_store", "pyogrio.raw", "pandas"]
    )
    ends: Counter[str] = Counter()
    began, failed = time.monotonic(), ""
    with tempfile.TemporaryDirectory() as made, registers(asked.postgis, Path(made)) as register:
        campaign = Campaign(Path(made), register)
        for seed in range(asked.first, asked.first + asked.count):
            if time.monotonic() - began > asked.seconds:
                break
            try:
                ends[campaign.kill(seed)] += 1
            except Exception as error:
                failed = f"seed {seed} failed, and what it left would spoil those after it: {error}"
                break
    told = ", ".join(f"{count:,} {end}" for end, count in sorted(ends.items()))
    where = "PostGIS" if asked.postgis else "a file"
    calls = " and ".join(f"{count:,}" for count in campaign.calls.values())
    print(f"{ends.total():,} changes of {where}, seeds from {asked.first}, {calls} calls: {told}")
    print(failed or "none failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
