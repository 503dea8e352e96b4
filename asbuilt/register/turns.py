"""Turns of the readers of one process, so that a program that writes gets in between them.

SQLite lets a reader join the lock that another thread of its process already holds, without asking whether a writer
waits. Where requests overlap without end, as behind a busy search page, a load would never find the moment in which
nobody reads. So readers come in for a short while, and then wait until all have gone out.

Source: SQLite, "File Locking And Concurrency In SQLite Version 3", on writer starvation and the PENDING lock; that
threads of one process share a lock was measured.
"""

from __future__ import annotations

import threading
import time
from functools import cache
from pathlib import Path

LONGEST_S = 0.25
"""Seconds in which readers may join those that read already."""


class Turns:
    """Lets readers in together, and the next ones only when all of them have gone out.

    A thread that reads already may always come in again: it would wait for itself.

    Examples
    --------
    >>> turns = Turns()
    >>> turns.enter()
    >>> turns.enter()
    >>> turns.leave()
    >>> turns.leave()
    """

    def __init__(self) -> None:
        self._changed = threading.Condition()
        self._inside = 0
        self._since = 0.0
        self._own = threading.local()

    def enter(self) -> None:
        """Come in, when it is this reader's turn."""
        depth = getattr(self._own, "depth", 0)
        with self._changed:
            if not depth:
                self._changed.wait_for(self._open)
                if not self._inside:
                    self._since = time.monotonic()
                self._inside += 1
        self._own.depth = depth + 1

    def leave(self) -> None:
        """Go out; the reader's lock must be given up before."""
        self._own.depth -= 1
        if self._own.depth:
            return
        with self._changed:
            self._inside -= 1
            if not self._inside:
                self._changed.notify_all()

    def _open(self) -> bool:
        return not self._inside or time.monotonic() - self._since < LONGEST_S


@cache
def turns_of(path: Path) -> Turns:
    """Give the turns of one file; `path` is its real one."""
    return Turns()
