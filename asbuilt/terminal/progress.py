"""Progress of a long work, on stderr."""

from __future__ import annotations

import json
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from asbuilt.terminal import screen

Report = Callable[[str, int, int], None]
"""Told of a step, of the steps done, and of all steps."""


@contextmanager
def shown(kind: str) -> Iterator[Report]:
    """Show progress as a bar (only on a terminal), as one JSON object a line, or not at all."""
    if kind == "json":
        yield lambda step, done, of: screen.complain(json.dumps({"step": step, "done": done, "of": of}))
        return
    if kind == "none" or sys.stderr is None or not sys.stderr.isatty():
        yield lambda step, done, of: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (BarColumn(), TextColumn("{task.description}", markup=False), TimeElapsedColumn())
    bar = Progress(*columns, console=Console(stderr=True), transient=True)
    task = bar.add_task("", total=None)
    # Work that ends within a second needs no bar.
    timer = threading.Timer(1.0, bar.start)
    timer.daemon = True
    timer.start()
    try:
        yield lambda step, done, of: bar.update(task, description=step, completed=done, total=of)
    finally:
        timer.cancel()
        bar.stop()
