"""What goes to a terminal: the one place that escapes, bounds and encodes the words a person reads there.

Names and remarks come from files of others: they are shown as they are, never read as markup, and never steer the
terminal. A reader that goes away does not stop the work; a full disk behind the output is said.
"""

from __future__ import annotations

import json
import math
import os
import re
import sys
from typing import IO, TYPE_CHECKING, Any, TextIO, cast

from asbuilt.addresses import shown
from asbuilt.errors import OutputError

if TYPE_CHECKING:
    from rich.table import Table

LONGEST = 4000
"""Letters of one text that are shown; the rest is counted."""
_STEERING = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069]")


def prepare() -> None:
    """Let every letter be printed: one that the output's encoding lacks is shown by its number."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")


def clean(text: str, *, longest: int = LONGEST) -> str:
    r"""Give a text as it can be shown: control characters by their escapes, and no longer than fits.

    Examples
    --------
    >>> print(clean("Len [m]\x1b[2J"))
    Len [m]\x1b[2J
    >>> clean("abcdef", longest=4)
    'abcd ... (2 more letters)'
    """
    text = shown(text)
    if len(text) > longest:
        text = f"{text[:longest]} ... ({len(text) - longest:,} more letters)"
    return _STEERING.sub(lambda found: repr(found.group())[1:-1], text.replace("\t", " "))


def line(text: str = "", *, bold: bool = False) -> None:
    """Print a text on a line of its own; it is never wrapped."""
    shown = clean(text)
    if bold and sys.stdout is not None and sys.stdout.isatty():
        shown = f"\x1b[1m{shown}\x1b[0m"
    _write(sys.stdout, f"{shown}\n")


def note(text: str) -> None:
    """Print a note."""
    line(f"note: {text}")


def complain(text: str) -> None:
    """Print what is wrong where errors go."""
    _write(sys.stderr, f"{clean(text, longest=10 * LONGEST)}\n")


def as_json(value: Any, *, default: Any = None) -> None:
    """Print one JSON object on a line; numbers that JSON does not know are null."""
    encoding = (getattr(sys.stdout, "encoding", None) or "utf-8").lower().replace("-", "")
    text = json.dumps(_plain(value), ensure_ascii=encoding != "utf8", allow_nan=False, default=default)
    # Half of a surrogate pair has no letter in any encoding.
    _write(sys.stdout, text.encode("utf-8", "backslashreplace").decode("utf-8") + "\n")


def table(*columns: str, title: str | None = None, show_lines: bool = False, show_header: bool = True) -> Table:
    """Make a table whose columns are headed by plain texts; fill it with `row`."""
    from rich.table import Table
    from rich.text import Text

    heading = Text(clean(title)) if title else None
    made = Table(title=heading, title_justify="left", show_lines=show_lines, show_header=show_header)
    for column in columns:
        # What is too wide goes on below; a cell that is cut may lack the end of a station or of a file's name.
        made.add_column(Text(clean(column)), overflow="fold")
    return made


def row(rows: Table, *cells: Any) -> None:
    """Add a row of plain texts; None is a blank cell."""
    from rich.text import Text

    rows.add_row(*(Text("" if cell is None else clean(str(cell))) for cell in cells))


def keep_words(rows: Table) -> None:
    """Let a table without edges break its cells between words alone, where the screen is as wide as that takes.

    Where it is not, the columns stand closer, without lines between them.
    """
    from rich import box
    from rich.console import Console

    texts = [[str(cell) for cell in (column.header, *column.cells)] for column in rows.columns]
    longest = [max((len(word) for text in some for word in text.split()), default=1) for some in texts]
    # A letter parts two columns, and each has its padding, the first and the last one too.
    room = Console(file=cast(IO[str], _Stdout())).width - sum(longest) - (len(longest) - 1)
    if room < 0:
        return
    padding = min(room // len(longest), 2)
    if padding < 2:
        rows.box, rows.padding = box.SIMPLE_HEAD, (0, padding, 0, 0)
    left = room - padding * len(longest)
    for column, some, least in zip(rows.columns, texts, longest, strict=True):
        more = min(max(map(len, some)) - least, left)
        column.width, left = least + more, left - more


def show(rows: Table) -> None:
    """Print a table."""
    from rich.console import Console

    Console(highlight=False, file=cast(IO[str], _Stdout())).print(rows)


def finish() -> None:
    """Write out what is left of the output.

    Raises
    ------
    OutputError
        When it cannot be written.
    """
    _write(sys.stdout, "")
    _write(sys.stderr, "")


class _Stdout:
    """Standard output as a file for tables, written like all else."""

    encoding = property(lambda self: getattr(sys.stdout, "encoding", None))

    def isatty(self) -> bool:
        return sys.stdout is not None and sys.stdout.isatty()

    def fileno(self) -> int:
        return sys.stdout.fileno()

    def write(self, text: str) -> int:
        _write(sys.stdout, text)
        return len(text)

    def flush(self) -> None:
        _write(sys.stdout, "")


def _write(stream: TextIO | None, text: str) -> None:
    if stream is None:
        return
    try:
        stream.write(text)
        stream.flush()
    except BrokenPipeError:
        # Whoever read has seen enough; the work goes on. The interpreter's last flush must find an open file, too.
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
    except (OSError, ValueError) as error:
        if stream is sys.stderr:
            return
        # What is left in the buffer would fail once more when the interpreter ends.
        sys.stdout = open(os.devnull, "w")  # noqa: SIM115
        reason = error.strerror if isinstance(error, OSError) and error.strerror else "it is closed"
        raise OutputError(
            f"the printed output could not be written ({reason}); files named on the command line were written before"
        ) from None


def _plain(value: Any) -> Any:
    if isinstance(value, str):
        return shown(value)
    if isinstance(value, float) and not math.isfinite(value):
        return None
    if isinstance(value, dict):
        return {key: _plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    return value
