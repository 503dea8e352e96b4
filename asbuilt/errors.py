"""What can be wrong with what a person hands in; each class names one thing they can act on.

The text of an error is the whole message a person sees: it names the file, row or key, and the remedy.
"""

import errno
import tempfile
import traceback

from asbuilt.addresses import shown


class AsbuiltError(Exception):
    """Inputs or options are wrong: nothing was written or changed (exit status 2)."""

    def __init__(self, message: str = "") -> None:
        super().__init__(shown(message))


class JobFileError(AsbuiltError):
    """The job file must be corrected; the message names the key."""


class InputFileError(AsbuiltError):
    """A data file must be corrected; the message names the file, and the row or feature."""


class EarlierFileError(InputFileError):
    """Raised when a placed file is of an earlier version, so that its job has to be placed again."""


class LogRefusedError(InputFileError):
    """A log that must be corrected before any of it is placed, with the record at which that shows.

    Parameters
    ----------
    message : str
    record : int
        Record of the whole log, counted from 0.
    """

    def __init__(self, message: str, record: int) -> None:
        super().__init__(message)
        self.record = record


class OutputError(AsbuiltError):
    """The output cannot be written where it was asked for."""


_REMEDIES = {
    errno.ENAMETOOLONG: "give it a shorter name",
    errno.EACCES: "check the rights of the file and of its folder",
    errno.EPERM: "check the rights of the file and of its folder",
    errno.EROFS: "choose a folder that can be written to",
    errno.ENOSPC: "make room on the disk, and on that of temporary files",
    errno.EDQUOT: "make room: the disk has no more for this user",
    errno.EFBIG: "choose a disk that takes files of this size",
    errno.EMFILE: "close other programs, or let a process open more files",
    errno.ENFILE: "close other programs, which hold too many files open",
    errno.ENOENT: "check the path",
    errno.ENOTDIR: "check the path: a part of it is a file, not a folder",
    errno.EISDIR: "name a file, not a folder",
    errno.ELOOP: "check the path: its links lead round in a circle",
    errno.EBUSY: "close the program that uses it",
    errno.ETXTBSY: "close the program that uses it",
    errno.EIO: "the disk or the share fails: copy the file elsewhere",
    errno.ESTALE: "the share was lost: mount it again",
    errno.ETIMEDOUT: "the share or the host does not answer: try again",
    errno.EHOSTDOWN: "the share does not answer: try again",
}
"""What a person can do about what an operating system says. Source of the names: POSIX.1-2017, errno.h."""


def said_outside(error: OSError) -> str | None:
    """Say in one message what an operating system refused, and the remedy; None where nobody could act on it.

    Examples
    --------
    >>> said_outside(OSError(errno.ENAMETOOLONG, "File name too long", "log.csv"))
    'log.csv: File name too long; give it a shorter name. What was being written is left as it was before'
    """
    remedy = _REMEDIES.get(error.errno or 0)
    if remedy is None:
        return None
    where = f"{shown(str(error.filename))}: " if error.filename is not None else ""
    return f"{where}{error.strerror}; {remedy}. What was being written is left as it was before"


def written_down(error: Exception) -> str:
    """Write the details of a failure of the program into a file of their own, and say what a person should know."""
    with tempfile.NamedTemporaryFile("w", prefix="asbuilt-", suffix=".log", delete=False, encoding="utf-8") as log:
        log.write("".join(traceback.format_exception(error)))
    return f"asbuilt failed: {type(error).__name__}: {error}\nThe details are in {log.name}; please report them."
