"""Thousands of whole random jobs through every command, each by its seed.

    python scripts/campaign.py --jobs 1000 --first 0 --processes 4
    python scripts/campaign.py --jobs 1 --first 4711 --keep folder     # one again, its files kept

Prints how many went how far, and each that failed with its seed and how to run it again.
"""

from __future__ import annotations

import argparse
import multiprocessing
import shutil
import sys
import tempfile
import time
import traceback
from collections import Counter
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

import whole_jobs


def one(seed: int, keep: Path | None) -> tuple[int, str, str]:
    """Take the job of a seed through every command; gives the seed, how far it went, and what failed."""
    folder = keep / str(seed) if keep else Path(tempfile.mkdtemp(prefix="asbuilt-campaign-"))
    folder.mkdir(parents=True, exist_ok=True)
    try:
        job = whole_jobs.make(Random(seed), folder)
        return seed, whole_jobs.walk(job, review=seed % 3 == 0, plots=seed % 30 == 0), ""
    except Exception:
        return seed, "failed", traceback.format_exc()[-3000:]
    finally:
        if not keep:
            shutil.rmtree(folder, ignore_errors=True)


def main() -> int:
    """Run the campaign; the exit status is 1 where a job failed."""
    options = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    options.add_argument("--jobs", type=int, default=100, help="how many jobs are made")
    options.add_argument("--first", type=int, default=0, help="seed of the first job")
    options.add_argument("--seconds", type=float, default=float("inf"), help="begin no job after this time")
    options.add_argument("--processes", type=int, default=1, help="how many jobs run at a time")
    options.add_argument("--keep", type=Path, help="folder in which the jobs stay")
    asked = options.parse_args()
    ends: Counter[str] = Counter()
    failed: list[int] = []
    started, seeds = time.monotonic(), iter(range(asked.first, asked.first + asked.jobs))
    with ProcessPoolExecutor(asked.processes, multiprocessing.get_context("spawn")) as pool:
        running: set[Future[tuple[int, str, str]]] = set()
        while True:
            while len(running) < asked.processes and time.monotonic() - started < asked.seconds:
                if (seed := next(seeds, None)) is None:
                    break
                running.add(pool.submit(one, seed, asked.keep))
            if not running:
                break
            finished, running = wait(running, return_when=FIRST_COMPLETED)
            for seed, end, why in (done.result() for done in finished):
                ends[end] += 1
                if why:
                    failed.append(seed)
                    again = f"python scripts/campaign.py --jobs 1 --first {seed} --keep folder"
                    print(f"seed {seed} failed ({again}):\n{why}", flush=True)
    told = ", ".join(f"{count} {end}" for end, count in sorted(ends.items()))
    last = asked.first + ends.total() - 1
    print(f"{ends.total()} jobs, seeds {asked.first} to {last}, {time.monotonic() - started:.0f} s: {told}")
    print(f"failed: {sorted(failed)}" if failed else "none failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
