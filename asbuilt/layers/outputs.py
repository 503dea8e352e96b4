"""Files that appear whole or not at all: written beside their final name, and renamed when complete."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from asbuilt.errors import OutputError
from asbuilt.job import Job


@contextmanager
def put_in_place(path: Path, *, option: str) -> Iterator[Path]:
    """Give a path to write to; what is there at the end takes the place of `path`, unless something failed.

    Parameters
    ----------
    path : path of the file; an earlier one stays as it was until then, and a link stays a link
    option : the command's option that names another place, for messages

    Raises
    ------
    OutputError
        When there cannot be a file.

    Examples
    --------
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     final = Path(folder, "note.txt")
    ...     with put_in_place(final, option="--out") as unfinished:
    ...         _ = unfinished.write_text("all of it")
    ...         print(final.exists())
    ...     print(final.read_text())
    False
    all of it
    """
    final = path.resolve()
    with write_errors(path, option):
        # A folder of its own also holds what a library puts beside a file, and is removed in one piece.
        folder = Path(tempfile.mkdtemp(prefix=f".{final.name}-", dir=final.parent))
    try:
        unfinished = folder / f"unfinished{final.suffix}"
        yield unfinished
        with write_errors(path, option):
            os.replace(unfinished, final)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


@contextmanager
def write_errors(path: Path, option: str) -> Iterator[None]:
    """Turn what the operating system says of a failed write into one message.

    Raises
    ------
    OutputError
    """
    try:
        yield
    except OSError as error:
        raise OutputError(
            f"{path}: cannot be written ({error.strerror}); check the folder's rights, or choose another with {option}"
        ) from error


def check_output(path: Path, inputs: list[Path], job: Job, *, key: str = "output.path or --out") -> None:
    """Refuse an output that would overwrite one of the job's inputs; `key` names where it can be changed.

    Raises
    ------
    OutputError
    """
    sources = [*inputs, Path(job.source)]
    for source in sources:
        if source.exists() and path.exists() and source.samefile(path):
            raise OutputError(f"{path}: this is an input of the job; give another {key}")
