"""Folders of work that is not finished, marked as those of a living process: what a killed one left is removed."""

from __future__ import annotations

import os
import re
import shutil
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO

_HELD = "held"
"""A file in such a folder, locked as long as its process lives; empty until it is locked."""
_PREFIX = "asbuilt-"
_TEMPORARY = re.compile(rf"{_PREFIX}[a-z0-9_]{{8}}")


def hold(folder: Path) -> IO[bytes] | None:
    """Mark a folder as that of a living process, until the file that is given is closed; None where none is locked."""
    file = None
    with suppress(OSError):
        file = (folder / _HELD).open("wb", buffering=0)
        if _lock(file):
            file.write(b"\n")
            return file
    if file is not None:
        file.close()
    return None


def left_behind(folder: Path) -> bool:
    """Tell whether a folder was marked by a process that does not live any more.

    Without a mark it is of a process that has just made it, or somebody else's.

    Raises
    ------
    OSError
        When that cannot be told.
    """
    mark = folder / _HELD
    if folder.is_symlink() or not mark.stat().st_size:
        return False
    with mark.open("r+b") as file:
        return _lock(file)


def make_temporary() -> tuple[Path, IO[bytes] | None]:
    """Make a folder in the system's place for them, held by this process; remove what killed ones of its user left.

    Raises
    ------
    OSError
        When there is no room for it.
    """
    folder = Path(tempfile.mkdtemp(prefix=_PREFIX)).resolve()
    held = hold(folder)
    for other in folder.parent.iterdir():
        if other != folder and _TEMPORARY.fullmatch(other.name) is not None:
            # Others work on this machine too, and what is theirs is left to them.
            with suppress(OSError):
                if _is_own(other) and left_behind(other):
                    shutil.rmtree(other, ignore_errors=True)
    return folder, held


@contextmanager
def temporary() -> Iterator[Path]:
    """Give a folder as `make_temporary` makes it, and remove it afterwards.

    Examples
    --------
    >>> with temporary() as folder:
    ...     print(folder.is_dir())
    True
    >>> folder.exists()
    False
    """
    folder, held = make_temporary()
    try:
        yield folder
    finally:
        remove(folder, held)


def remove(folder: Path, held: IO[bytes] | None) -> None:
    """Remove a folder that this process holds; what cannot be removed stays."""
    if held is not None:
        held.close()
    shutil.rmtree(folder, ignore_errors=True)


def _is_own(folder: Path) -> bool:
    # On Windows the place itself is a user's own.
    return sys.platform == "win32" or folder.lstat().st_uid == os.getuid()


def _lock(file: IO[bytes]) -> bool:
    """Lock a file until it is closed, by this process or with its end; say whether nobody else has it locked."""
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
