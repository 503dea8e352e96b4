"""Spoilt texts, job files, cells and files by the thousand, each by its seed.

    python scripts/abuse.py parsers --count 1000000
    python scripts/abuse.py bytes --count 1000 --first 0 --seconds 600
    python scripts/abuse.py keys --count 1 --first 4711 --keep folder   # one again, its files kept

Kinds: `parsers` hands texts to the readers of stations, numbers, dates, sizes, LandXML and job files; `keys`,
`extremes` (each key by each extreme, in turn), `cells` and `bytes` spoil one thing of a whole job, another one after
every twenty seeds, and take it through the commands; `stored` does so with a placed file or a register.
Each runs in a process of its own kind, with bounded memory and time, so that one that dies is counted like one that
fails.
"""

from __future__ import annotations

import argparse
import multiprocessing
import shutil
import signal
import sys
import tempfile
import time
import traceback
import warnings
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path
from random import Random
from types import FrameType

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

KINDS = ("parsers", "keys", "extremes", "cells", "bytes", "stored")
LONGEST_S, MOST_MEMORY = 120, 6 << 30
_BATCH = {"parsers": 2000}
_OF_A_JOB = 20
"""Seeds that spoil the same job."""


def _too_long(number: int, frame: FrameType | None) -> None:
    raise TimeoutError(f"takes more than {LONGEST_S} s")


def _prepare() -> None:
    import resource

    warnings.simplefilter("ignore")
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    signal.signal(signal.SIGALRM, _too_long)


def batch(kind: str, seeds: range, keep: Path | None, sound: Path) -> tuple[Counter[str], list[tuple[int, str]]]:
    """Run the cases of some seeds; gives how they ended, and the seeds that failed with why."""
    ends: Counter[str] = Counter()
    failed = []
    for seed in seeds:
        folder = keep / str(seed) if keep else Path(tempfile.mkdtemp(prefix="asbuilt-abuse-"))
        folder.mkdir(parents=True, exist_ok=True)
        end, why = one(kind, seed, folder, sound)
        ends[end] += 1
        if why:
            failed.append((seed, why))
        if not keep:
            shutil.rmtree(folder, ignore_errors=True)
    return ends, failed


def one(kind: str, seed: int, folder: Path, sound: Path) -> tuple[str, str]:
    """Run the case of a seed; gives how it ended, and what failed."""
    import abused

    random, spoilt = Random(seed), ""
    signal.alarm(LONGEST_S)
    try:
        if kind == "parsers":
            return abused.parse(random, folder), ""
        job, spoilt = abused.make(random, _sound(seed // _OF_A_JOB, kind, sound), folder, kind, seed)
        return abused.walk(random, job, kind), ""
    except Exception:
        return "failed", f"{spoilt}\n{traceback.format_exc()[-3000:]}"
    finally:
        signal.alarm(0)


def _sound(number: int, kind: str, kept: Path) -> Path:
    """Give the folder of a whole job, made where it was not made yet, in place of the one before it."""
    import abused

    folder = kept / str(number)
    if not folder.exists():
        shutil.rmtree(kept)
        folder.mkdir(parents=True)
        abused.whole(Random(number), folder, kind)
    return folder


def main() -> int:
    """Run the cases one after the other; the exit status is 1 where one failed or killed its process."""
    options = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    options.add_argument("kind", choices=KINDS)
    options.add_argument("--count", type=int, default=100, help="how many cases are run")
    options.add_argument("--first", type=int, default=0, help="seed of the first")
    options.add_argument("--seconds", type=float, default=float("inf"), help="begin no batch after this time")
    options.add_argument("--keep", type=Path, help="folder in which the files stay")
    asked = options.parse_args()
    ends: Counter[str] = Counter()
    failed: list[int] = []
    size, last, started = _BATCH.get(asked.kind, 1), asked.first + asked.count, time.monotonic()
    pool, sound = _pool(), Path(tempfile.mkdtemp(prefix="asbuilt-abuse-sound-"))
    for first in range(asked.first, last, size):
        if time.monotonic() - started > asked.seconds:
            break
        seeds = range(first, min(first + size, last))
        try:
            found, wrong = pool.submit(batch, asked.kind, seeds, asked.keep, sound).result()
        except BrokenProcessPool:
            found, wrong = Counter(died=1), [(seeds[0], f"the process died; seeds {seeds[0]} to {seeds[-1]}")]
            pool = _pool()
        ends += found
        for seed, why in wrong:
            failed.append(seed)
            again = f"python scripts/abuse.py {asked.kind} --count 1 --first {seed} --keep folder"
            print(f"seed {seed}: {why}\n{again}", flush=True)
    pool.shutdown()
    shutil.rmtree(sound)
    told = ", ".join(f"{count:,} {end}" for end, count in sorted(ends.items()))
    print(f"{sum(ends.values()):,} cases of {asked.kind} from seed {asked.first}: {told}; failed: {failed or 'none'}")
    return 1 if failed else 0


def _pool() -> ProcessPoolExecutor:
    return ProcessPoolExecutor(1, multiprocessing.get_context("spawn"), initializer=_prepare)


if __name__ == "__main__":
    sys.exit(main())
