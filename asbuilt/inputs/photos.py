"""Photos that a log names, looked for in the folders that the job names."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import pyarrow as pa
import pyarrow.compute as pc

from asbuilt import stores
from asbuilt.errors import JobFileError

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job

PICTURES = (".jpg", ".jpeg", ".png", ".gif", ".webp", ".heic", ".tif", ".tiff", ".pdf")
_SEPARATORS = re.compile(r"[;,\n|]")


def with_photos(job: Job, log: Log) -> Log:
    """Look for the photos that a log names, and add what was found and what was not.

    Parameters
    ----------
    job : Job
        Its `records.photos` names folders; photos in folders within them are found, too.
    log : Log

    Returns
    -------
    Log
        With the fields `photo_files` (files as paths from the job's folder) and `photo_missing` (names of which there
        is no file, or more than one), each apart by "; " and null where there is none. Without folders, as it was; with
        a note where the log names no photo.

    Raises
    ------
    JobFileError
        When a folder is not there.
    """
    if not job.records.photos:
        return log
    known = _files(job)
    if "photo" not in log.fields:
        note = "records.photos has no effect: no column of the log names photos; map it, records.columns.photo"
        return replace(log, notes=(*log.notes, note))
    coded = log.fields["photo"].dictionary_encode()
    told = [_look_up(text, known) for text in coded.dictionary.to_pylist()]
    files, missing = (pa.array(["; ".join(one[part]) or None for one in told], pa.string()) for part in (0, 1))
    found = {"photo_files": files.take(coded.indices), "photo_missing": missing.take(coded.indices)}
    return replace(log, fields=log.fields | {name: _whole(one) for name, one in found.items()})


def _whole(column: pa.Array | pa.ChunkedArray) -> pa.Array:
    return column.combine_chunks() if isinstance(column, pa.ChunkedArray) else pc.cast(column, pa.string())


def _files(job: Job) -> dict[str, set[str]]:
    """List the pictures of the job's folders by name, with and without their endings, in small letters."""
    known: dict[str, set[str]] = {}
    for named in job.records.photos:
        folder = job.path_of(named)
        stores.refuse_address(
            folder,
            "photos are looked for in folders of this machine (records.photos); copy the folder, or name one "
            "at which the store is mounted",
        )
        if not folder.is_dir():
            raise JobFileError(f"records.photos: {folder} is no folder; name the folder of the photos")
        for path in sorted(folder.rglob("*")):
            if path.suffix.lower() in PICTURES and path.is_file():
                shown = path.relative_to(job.folder) if path.is_relative_to(job.folder) else path.resolve()
                within = path.relative_to(folder).as_posix().casefold()
                for name in {path.name.casefold(), path.stem.casefold(), within}:
                    known.setdefault(name, set()).add(shown.as_posix())
    return known


def _look_up(text: str, known: dict[str, set[str]]) -> tuple[list[str], list[str]]:
    """Give the files that an entry of the log names, and the names of which there is not just one.

    Examples
    --------
    >>> _look_up("IMG_1.jpg; img_2, IMG_9", {"img_1.jpg": {"photos/IMG_1.jpg"}, "img_2": {"photos/IMG_2.JPG"}})
    (['photos/IMG_1.jpg', 'photos/IMG_2.JPG'], ['IMG_9'])
    """
    files: list[str] = []
    missing: list[str] = []
    for name in filter(None, (part.strip() for part in _SEPARATORS.split(text))):
        plain = Path(name.replace("\\", "/")).name
        found = known.get(name.replace("\\", "/").casefold()) or known.get(plain.casefold(), set())
        if len(found) == 1:
            files += found
        else:
            missing.append(f"{name} (is there {len(found)} times)" if found else name)
    return files, missing
