"""What can be wrong with what a person hands in; each class names one thing they can act on.

The text of an error is the whole message a person sees: it names the file, row or key, and the remedy.
"""


class AsbuiltError(Exception):
    """Inputs or options are wrong: nothing was written or changed (exit status 2)."""


class JobFileError(AsbuiltError):
    """The job file must be corrected; the message names the key."""


class InputFileError(AsbuiltError):
    """A data file must be corrected; the message names the file, and the row or feature."""


class OutputError(AsbuiltError):
    """The output cannot be written where it was asked for."""
