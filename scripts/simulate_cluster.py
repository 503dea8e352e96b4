"""What a cluster's scheduler costs per job, measured with empty jobs, and what a cluster of any size would reach by it.

    python scripts/simulate_cluster.py                        measure, and model 1 to 10,000 workers
    python scripts/simulate_cluster.py --jobs 1000 4000       other counts of empty jobs
    python scripts/simulate_cluster.py --cost 0.00105         seconds a job costs the scheduler, measured elsewhere
    python scripts/simulate_cluster.py --seconds 2 --joints 500   how long a worker takes for a job, of how many joints

Measured: seconds and memory per job of `asbuilt.archive.cluster.on_cluster`, with a task that does nothing, at growing
counts; scheduler and the program that hands out are one process, as both are one at a time, and two workers beside it
take their share of the cores. Modelled: jobs come back one at a time through that one process, whose times for a
job are drawn about the measured mean, and each worker asks for the next when its last one was taken back.
"""

from __future__ import annotations

import argparse
import heapq
import random
import resource
import sys
import time

WORKERS = (1, 10, 100, 1_000, 10_000)
SEED = 1


def nothing(given: int) -> int:
    return given


def measured(jobs: int, address: str) -> tuple[float, float]:
    """Hand out so many empty jobs; give seconds, and those of the processor for scheduler and handing out."""
    from asbuilt.archive.cluster import on_cluster

    began, used = time.perf_counter(), time.process_time()
    found = sorted(done.result for done in on_cluster(nothing, range(jobs), address))
    if found != list(range(jobs)):
        raise SystemExit("jobs were lost, or done twice")
    return time.perf_counter() - began, time.process_time() - used


def modelled(workers: int, cost: float, seconds: float, draw: random.Random) -> tuple[float, float]:
    """Give jobs a second, and the share of time in which workers are at work.

    Parameters
    ----------
    workers : int
    cost : float
        Seconds that the scheduler and the handing out take for a job; drawn evenly from half to one and a half of it.
    seconds : float
        That a worker takes for a job; drawn likewise.

    Examples
    --------
    >>> one, many = modelled(1, 0.001, 1.0, random.Random(1)), modelled(10_000, 0.001, 1.0, random.Random(1))
    >>> round(one[0]), round(many[0], -1), one[1] > 0.99, many[1] < 0.11
    (1, 1000.0, True, True)
    """
    jobs = max(2_000, 30 * workers)
    asks = [(0.0, worker) for worker in range(workers)]
    free = busy = end = 0.0
    for _ in range(jobs):
        asked, worker = heapq.heappop(asks)
        free = max(asked, free) + cost * draw.uniform(0.5, 1.5)
        took = seconds * draw.uniform(0.5, 1.5)
        busy += took
        heapq.heappush(asks, (free + took, worker))
        end = max(end, free + took)
    return jobs / end, busy / (workers * end)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--jobs", type=int, nargs="+", default=[1_000, 2_000, 4_000, 8_000], metavar="N")
    parser.add_argument("--cost", type=float, metavar="SECONDS")
    parser.add_argument("--seconds", type=float, nargs="+", default=[0.2, 3.1, 31.0], metavar="SECONDS")
    parser.add_argument("--joints", type=int, nargs="+", default=[500, 50_000, 500_000], metavar="N")
    options = parser.parse_args()
    if len(options.seconds) != len(options.joints):
        parser.error("give as many --seconds as --joints")
    cost = options.cost
    if cost is None:
        from distributed import LocalCluster

        print("jobs     seconds   processor   ms a job   peak MB")
        with LocalCluster(
            n_workers=2, threads_per_worker=1, dashboard_address="127.0.0.1:0", silence_logs=60
        ) as cluster:
            measured(100, cluster.scheduler_address)
            for jobs in options.jobs:
                seconds, used = measured(jobs, cluster.scheduler_address)
                cost = used / jobs
                peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e3
                print(f"{jobs:7} {seconds:8.2f} {used:11.2f} {1e3 * cost:10.2f} {peak:9.0f}", flush=True)
    draw = random.Random(SEED)
    print(f"\nmodelled with {1e3 * cost:.2f} ms a job at the scheduler")
    print("joints a job   workers   jobs/s   joints/s   at work")
    for joints, seconds in zip(options.joints, options.seconds, strict=True):
        for workers in WORKERS:
            rate, share = modelled(workers, cost, seconds, draw)
            print(f"{joints:12} {workers:9} {rate:8.1f} {rate * joints:10.0f} {100 * share:8.0f} %")
    return 0


if __name__ == "__main__":
    sys.exit(main())
