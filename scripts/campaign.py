"""Thousands of whole random jobs through every command, each by its seed.

    python scripts/campaign.py --jobs 1000 --first 0
    python scripts/campaign.py --jobs 1 --first 4711 --keep folder     # one again, its files kept

Prints how many went how far, and each that failed with its seed.
"""

from __future__ import annotations

import argparse
import shutil
import sys
import tempfile
import time
import traceback
from collections import Counter
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

import whole_jobs


def main() -> int:
    """Run the campaign; the exit status is 1 where a job failed."""
    options = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    options.add_argument("--jobs", type=int, default=100)
    options.add_argument("--first", type=int, default=0, help="seed of the first job")
    options.add_argument("--seconds", type=float, default=float("inf"), help="stop after this time")
    options.add_argument("--keep", type=Path, help="folder in which the jobs stay")
    asked = options.parse_args()
    ends: Counter[str] = Counter()
    started, failed = time.monotonic(), []
    seed = asked.first
    for seed in range(asked.first, asked.first + asked.jobs):
        if time.monotonic() - started > asked.seconds:
            break
        folder = asked.keep / str(seed) if asked.keep else Path(tempfile.mkdtemp(prefix="asbuilt-campaign-"))
        folder.mkdir(parents=True, exist_ok=True)
        try:
            job = whole_jobs.make(Random(seed), folder)
            ends[whole_jobs.walk(job, review=seed % 3 == 0, plots=seed % 30 == 0)] += 1
        except Exception:
            failed.append(seed)
            print(f"seed {seed} failed:\n{traceback.format_exc()[-3000:]}", flush=True)
        finally:
            if not asked.keep:
                shutil.rmtree(folder, ignore_errors=True)
    told = ", ".join(f"{count} {end}" for end, count in sorted(ends.items()))
    done = ends.total() + len(failed)
    print(f"{done} jobs, seeds {asked.first} to {asked.first + done - 1}, {time.monotonic() - started:.0f} s: {told}")
    print(f"failed: {failed}" if failed else "none failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
