"""What can be wrong with what a person hands in; each class names one thing they can act on.

The text of an error is the whole message a person sees: it names the file, row or key, and the remedy.
"""

import tempfile
import traceback


class AsbuiltError(Exception):
    """Inputs or options are wrong: nothing was written or changed (exit status 2)."""


class JobFileError(AsbuiltError):
    """The job file must be corrected; the message names the key."""


class InputFileError(AsbuiltError):
    """A data file must be corrected; the message names the file, and the row or feature."""


class OutputError(AsbuiltError):
    """The output cannot be written where it was asked for."""


def written_down(error: Exception) -> str:
    """Write the details of a failure of the program into a file of their own, and say what a person should know."""
    with tempfile.NamedTemporaryFile("w", prefix="asbuilt-", suffix=".log", delete=False, encoding="utf-8") as log:
        log.write("".join(traceback.format_exception(error)))
    return f"asbuilt failed: {type(error).__name__}: {error}\nThe details are in {log.name}; please report them."
