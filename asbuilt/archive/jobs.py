"""Many jobs, each placed for itself: one bad job stops no other, and every job is told of."""

from __future__ import annotations

import csv
import hashlib
import os
import socket
from collections import Counter, defaultdict
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from asbuilt.addresses import address_of, scheme_of, shown, without_secrets
from asbuilt.archive.pool import Done, in_processes
from asbuilt.archive.resume import input_files, placed_before
from asbuilt.errors import AsbuiltError, OutputError, written_down
from asbuilt.job import Job, load_job, read_job
from asbuilt.layers import outputs
from asbuilt.stores import forget, full_name, later, path_of

if TYPE_CHECKING:
    from asbuilt.processor import JudgedBy

Progress = Callable[[str, int, int], None]

State = Literal["placed", "unchanged", "wrong", "failed"]
"""Placed now; placed earlier, from the same inputs by the same version; inputs are wrong; the program failed."""
REPORT_COLUMNS = outputs.REPORT_COLUMNS


@dataclass(frozen=True)
class JobTold:
    """What became of a job among many."""

    job: str
    """Path of the job file."""
    state: State
    records_read: int | None = None
    inspections_placed: int | None = None
    records_set_aside: int | None = None
    joints: int | None = None
    findings: int | None = None
    tries: int = 1
    written: str | None = None
    message: str = ""
    """What is wrong, or worth knowing."""


_COUNTS = ("records_read", "inspections_placed", "records_set_aside", "joints", "findings")
_LOADED = ("asbuilt.processor", "geopandas")
"""What placing loads, in longer than a small job takes; not pyogrio, whose GDAL opens files when it is loaded."""
LARGE = 1 << 25
"""Bytes of logs of a job that a cluster's workers share; logs of 300,000 joints have about as many."""
_ENDED = "the process that placed it ended before it was done"


def place_jobs(
    jobs: Sequence[Path | str],
    *,
    workers: int = 1,
    scheduler: str | None = None,
    resume: bool = False,
    into: Path | None = None,
    progress: Progress | None = None,
) -> list[JobTold]:
    """Place many jobs, each into its own `output.path`, in processes that are started once.

    Parameters
    ----------
    jobs : sequence of paths of job files
    workers : int
        How many processes of this machine work at once; each has one job in memory. Where there are fewer jobs, the
        parts of a large one are judged by its share of them, beside the process that places it.
    scheduler : str, optional
        Address of the scheduler of a Dask cluster, whose workers place the jobs in place of processes of this machine.
        One job by itself whose logs have `LARGE` bytes or more is placed here, and its parts are judged by the workers.
    resume : bool
        Leave jobs out whose inputs and version are unchanged, and whose output is whole.
    into : path, optional
        Where a job that is the only one writes, instead of its `output.path`.
    progress : function of (step, jobs done, jobs), optional

    Returns
    -------
    list of JobTold
        In the order of the jobs.

    Raises
    ------
    OutputError
        When two jobs would write one file, or one would write what another reads; nothing is written then. When a
        cluster cannot be used, or is lost; jobs that were told as placed stay then.

    Examples
    --------
    >>> place_jobs(["no-such-job.toml"])[0].state
    'wrong'
    """
    report = progress or (lambda step, done, of: None)
    paths = [later(job) for job in jobs]
    if into is not None and len(paths) != 1:
        raise OutputError(f"{shown(str(into))}: is a file for one job, and here are {len(paths)}; each writes its own")
    found = [_loaded(path) for path in paths]
    _refuse_shared_files([one for one in found if isinstance(one, Job)])
    told = {number: one for number, one in enumerate(found) if isinstance(one, JobTold)}
    to_place = [number for number in range(len(paths)) if number not in told]
    names = [full_name(paths[number]) for number in to_place]
    each = workers // max(len(names), 1)
    target = None if into is None else full_name(into)
    if scheduler is None:
        task = partial(place_one, resume=resume, into=target)
        if each > 1:
            from asbuilt.archive.parts import by_processes

            task = partial(task, judged_by=partial(by_processes, workers=each))
        work = in_processes(task, names, workers, loading=_LOADED)
    else:
        from asbuilt.archive.cluster import on_cluster

        large = [one for one in found if isinstance(one, Job) and _is_large(one, into)]
        if len(names) == len(large) == 1:
            from asbuilt.archive.parts import by_cluster

            # Who cannot judge is refused before the job is read.
            list(on_cluster(abs, [], scheduler))
            task = partial(place_one, resume=resume, into=target, judged_by=partial(by_cluster, address=scheduler))
            work = in_processes(task, names, 1, loading=_LOADED)
        else:
            handed = [_handed(one, into) for one in found if isinstance(one, Job)]
            work = on_cluster(partial(place_elsewhere, resume=resume), handed, scheduler)
    report("place the jobs", len(told), len(paths))
    for done in work:
        number = to_place[done.number]
        told[number] = _told(_name(paths[number]), done)
        report(f"{told[number].state}: {told[number].job}", len(told), len(paths))
    return [told[number] for number in range(len(paths))]


def place_one(given: str | Job, resume: bool, into: str | None = None, judged_by: JudgedBy | None = None) -> JobTold:
    """Place one of many jobs, of which the path is given or what was read; what is wrong is told, nothing is raised.

    It can be said where it writes, instead of its `output.path`, and who judges the parts of a large one, as to
    `place_into`.
    """
    # Loaded in the process that places; the one that hands out the jobs needs none of it.
    from asbuilt.processor import place_into

    name = _name(given.source if isinstance(given, Job) else given)
    try:
        job = given if isinstance(given, Job) else load_job(given)
        output = job.file(job.output.path) if into is None else later(into)
        before = placed_before(job, output) if resume else None
        if before is not None:
            return _counted(name, "unchanged", output, before.run)
        return _counted(name, "placed", output, place_into(job, output, judged_by=judged_by).counts)
    except AsbuiltError as error:
        return JobTold(name, "wrong", message=str(error))
    except Exception as error:
        return JobTold(name, "failed", message=written_down(error))
    finally:
        forget()


class Handed(NamedTuple):
    """A job that another machine is to place."""

    path: str
    """Full path of the job file, or its address, without a key."""
    text: str | None
    """The job file itself, where it is at an address: a key that opens it would lie with the scheduler."""
    digest: str
    """SHA-256 of its text."""
    seen: tuple[str, ...]
    """Files that it reads and the folder that it writes to, as far as this machine sees them."""
    into: str | None = None
    """Full path, or address without a key, of what it writes instead of its `output.path`."""


def place_elsewhere(handed: Handed, resume: bool) -> JobTold:
    """Place a job on a worker, which must see what the machine sees that handed the job out."""
    files = [name for name in (handed.path, *handed.seen) if scheme_of(name) is None]
    unseen = [name for name in files if not os.access(name, os.R_OK)]
    what = f"{unseen[0]} cannot be read by the worker" if unseen else ""
    job = None
    if not unseen:
        try:
            job = load_job(handed.path) if handed.text is None else read_job(handed.text, path_of(handed.path))
            if _digest(job.text) != handed.digest:
                what = "another file of this name is there for the worker"
        except AsbuiltError as error:
            what = f"{error}: so says the worker"
    if job is None or what:
        message = (
            f"{_name(handed.path)}: {what} on {socket.gethostname()}; every worker must see the job, its files and the "
            "folder of its output under the same path"
        )
        return JobTold(_name(handed.path), "wrong", message=message)
    return place_one(job, resume, handed.into)


def totals(told: Sequence[JobTold]) -> dict[str, Any]:
    """Count the jobs by what became of them, and add up their records, joints and findings.

    Examples
    --------
    >>> totals([JobTold("a.toml", "placed", 5, 4, 1, 4, 0), JobTold("b.toml", "wrong")])["jobs_by_state"]
    {'placed': 1, 'wrong': 1}
    """
    sums = {name: sum(getattr(one, name) or 0 for one in told) for name in _COUNTS}
    return {"jobs": len(told), "jobs_by_state": dict(Counter(one.state for one in told))} | sums


def check_report(path: Path) -> None:
    """Refuse a report that could not be written, or would replace what is none, before any job is placed.

    Raises
    ------
    OutputError
    """
    if path.suffix.lower() != ".csv":
        raise OutputError(f"{path}: the name of a report ends in .csv; name it so in --report")
    if path.is_dir():
        raise OutputError(f"{path}: this is a folder; name a file in --report")
    if not path.resolve().parent.is_dir():
        raise OutputError(f"{path}: there is no folder {path.resolve().parent}; make it, or correct --report")
    outputs.refuse_to_replace(path, kind="report", key="--report")


def write_report(told: Sequence[JobTold], path: Path) -> None:
    """Write a row for each job to a CSV file, whole or not at all.

    Raises
    ------
    OutputError
        When it cannot be written.
    """
    check_report(path)
    rows = [[outputs.plain_text(value) for value in asdict(one).values()] for one in told]
    with (
        outputs.put_in_place(path, option="--report") as unfinished,
        outputs.write_errors(path, "--report"),
        unfinished.open("w", encoding="utf-8-sig", newline="") as file,
    ):
        csv.writer(file).writerows([REPORT_COLUMNS, *rows])


def _loaded(path: Path) -> Job | JobTold:
    try:
        return load_job(path)
    except AsbuiltError as error:
        return JobTold(_name(path), "wrong", message=str(error))


def _is_large(job: Job, into: Path | None) -> bool:
    """Say whether the logs of a job, and the folder of its output, lie on disks, and the logs are large."""
    named = [*(job.path_of(name) for name in job.records.path), into or job.path_of(job.output.path)]
    if any(address_of(path) is not None for path in named):
        return False
    return sum(path.stat().st_size for path in named[:-1] if path.is_file()) >= LARGE


def _name(path: Path | str) -> str:
    """Name a job as it may be told: of an address without its key."""
    name = str(path)
    return without_secrets(name) if scheme_of(name) else shown(name)


def _handed(job: Job, into: Path | None = None) -> Handed:
    named = (*input_files(job, read=False), (into or job.path_of(job.output.path)).parent)
    here = [one for one in named if address_of(one) is None]
    seen = tuple(str(one.absolute()) for one in here if os.access(one, os.R_OK))
    address = address_of(job.source)
    path = address or str(Path(job.source).absolute())
    target = None if into is None else address_of(into) or str(into.absolute())
    return Handed(path, None if address is None else job.text, _digest(job.text), seen, target)


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def _refuse_shared_files(jobs: Sequence[Job]) -> None:
    """Refuse jobs that would write one file, or of which one would write what another reads."""
    # Names that differ in capitals are one file on some disks: they are looked at more closely.
    writers: defaultdict[str, list[Job]] = defaultdict(list)
    for job in jobs:
        output = job.path_of(job.output.path)
        alike = writers[outputs.letters_of(str(output.resolve()))]
        for other in alike:
            if not outputs.same_file(other.path_of(other.output.path), output, there=False):
                continue
            if Path(other.source).resolve() == Path(job.source).resolve():
                raise OutputError(f"{job.source}: is named twice; name each job once. Nothing was written")
            raise OutputError(
                f"{job.source}: its output.path and that of {other.source} are one file, {output.resolve()}; give each "
                "job a file of its own. Nothing was written"
            )
        alike.append(job)
    for job in jobs:
        for path in input_files(job, read=False):
            for writer in writers.get(outputs.letters_of(str(path.resolve())), ()):
                if writer is not job and outputs.same_file(writer.path_of(writer.output.path), path, there=False):
                    raise OutputError(
                        f"{job.source}: reads {path}, which {writer.source} writes; place that job first, and then "
                        "this one. Nothing was written"
                    )


def _told(job: str, done: Done) -> JobTold:
    if done.refused:
        return JobTold(job, "wrong", tries=done.tries, message=done.refused)
    if done.result is None:
        return JobTold(
            job, "failed", tries=done.tries,
            message=f"{_ENDED}, {done.tries} times; place it by itself, and look whether its memory suffices",
        )  # fmt: skip
    told: JobTold = replace(done.result, job=job, tries=done.tries)
    if done.tries == 1:
        return told
    again = f"{_ENDED}, and it was tried once again" if done.tries == 2 else f"{_ENDED}, {done.tries - 1} times"
    return replace(told, message=f"{told.message}; {again}" if told.message else again)


def _counted(job: str, state: State, output: Path, counts: dict[str, Any]) -> JobTold:
    return JobTold(job, state, written=shown(str(output)), **{name: counts[name] for name in _COUNTS})
