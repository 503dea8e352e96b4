"""Whether a job need not be placed again: the same job file, the same inputs, the same version, and a whole output."""

from __future__ import annotations

from pathlib import Path

from asbuilt.errors import AsbuiltError
from asbuilt.inputs.allowables import SHIPPED
from asbuilt.inputs.vectors import file_digest
from asbuilt.job import Job
from asbuilt.placed import PlacedFile, read_placed
from asbuilt.version import __version__


def input_files(job: Job, *, read: bool = True) -> list[Path]:
    """Give every file that a job is read from, each once.

    Parameters
    ----------
    job : Job
    read : bool
        Whether those at addresses are copied here, to be read.

    Examples
    --------
    >>> job = Job.from_mapping({"name": "Quarry Lane", "centerline": {"path": "line.gpkg"}, "limits": {
    ...     "table": "awwa-c600", "project": "ours.csv"},
    ...     "records": {"path": ["a.csv", "b.csv"], "station_unit": "ft", "laying_length": 20}}, folder="jobs")
    >>> [path.name for path in input_files(job)]
    ['line.gpkg', 'a.csv', 'b.csv', 'ours.csv']
    """
    named = (
        job.centerline.path,
        job.centerline.ties_path,
        *job.records.path,
        *(name for name in (job.limits.table, job.limits.project) if name not in SHIPPED),
        *(length.path for length in job.restraint),
        job.survey_check.path if job.survey_check is not None else None,
        job.design.path if job.design is not None else None,
        job.cover.path if job.cover is not None else None,
    )
    taken = job.file if read else job.path_of
    return list(dict.fromkeys(taken(name) for name in named if name is not None))


def placed_before(job: Job, output: Path) -> PlacedFile | None:
    """Give what the job was placed into, if placing it again would give the same.

    Parameters
    ----------
    job : Job
    output : path of its placed file

    Returns
    -------
    PlacedFile or None
        None where the job's text, a file of it or the version is another, where the output is not whole, and for a
        job that looks for photos, since what lies in their folders is not written down.
    """
    if job.records.photos or not output.exists():
        return None
    try:
        placed = read_placed(output)
        digests = {(path.name, file_digest(path)) for path in input_files(job)}
    except (AsbuiltError, OSError):
        return None
    read = {(Path(one["path"]).name, one["sha256"]) for one in placed.run["inputs"]}
    same = (placed.job, placed.run["job"], placed.run["asbuilt_version"]) == (job.name, job.text, __version__)
    return placed if same and digests == read else None
