"""Tasks handed to processes that are started once; a process that ends amid a task takes no other task with it."""

from __future__ import annotations

import multiprocessing
import os
import signal
import sys
import threading
from collections import deque
from collections.abc import Callable, Generator, Iterable, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from functools import partial
from multiprocessing import util
from multiprocessing.connection import wait as wait_for
from types import FrameType
from typing import Any, NamedTuple

from asbuilt.errors import OutputError

TRIES = 2
"""A task whose process ended is tried once again, after all others."""


class Done(NamedTuple):
    """What came of a task."""

    number: int
    """Which of the tasks it was, from 0."""
    result: Any
    """What it gave; None where its process ended each time."""
    tries: int
    ended: bool
    """Whether its process ended at the last try."""
    refused: str = ""
    """Why a worker did not take it."""


def in_processes(
    task: Callable[[Any], Any], given: Iterable[Any], workers: int, *, loading: Sequence[str] = ()
) -> Generator[Done]:
    """Do a task for each thing given, in as many processes as wanted, and tell of each as soon as it is done.

    Parameters
    ----------
    task : function at the top of a module, which raises nothing
    given : iterable
        What the task is called with, one at a time; the next is asked for when a process waits for it.
    workers : int
        How many processes work at once.
    loading : sequence of str
        Modules that the task loads: on Linux they are loaded once, and each process begins with them. None that opens a
        file or starts a thread of its own when it is loaded: both would be shared.

    Yields
    ------
    Done

    Raises
    ------
    OutputError
        When no process can be started.

    Examples
    --------
    >>> sorted(done.result for done in in_processes(abs, [-1, 2, -3], workers=2))
    [1, 2, 3]
    """
    # Each process is a pool of its own: it is then known which task a process that ended was at, and the others go on.
    context = multiprocessing.get_context("forkserver" if _can_hear() else "spawn")
    # Elsewhere the system's own libraries do not bear that a process is parted that has loaded them.
    if sys.platform == "linux":
        context.set_forkserver_preload(list(loading))
    before = set(multiprocessing.active_children())
    again: deque[tuple[int, Any, int]] = deque()
    new = ((number, one, 1) for number, one in enumerate(given))
    running: dict[Future[Any], tuple[ProcessPoolExecutor, int, Any, int]] = {}
    idle: list[ProcessPoolExecutor] = []
    try:
        while True:
            while len(running) < workers and (first := next(new, None) or (again.popleft() if again else None)):
                number, one, tries = first
                process, future = _begun(context, idle, partial(_do, task, one))
                running[future] = process, number, one, tries
            if not running:
                return
            for future in wait(running, return_when=FIRST_COMPLETED).done:
                process, number, one, tries = running.pop(future)
                if not isinstance(future.exception(), BrokenProcessPool):
                    idle.append(process)
                    yield Done(number, future.result(), tries, ended=False)
                elif tries < TRIES:
                    again.append((number, one, tries + 1))
                else:
                    yield Done(number, None, tries, ended=True)
    finally:
        for process in idle:
            process.shutdown()
        if running:
            # Interrupted: whoever is at work takes back what it has half-written, and ends.
            for child in set(multiprocessing.active_children()) - before:
                child.terminate()
        for process, *_ in running.values():
            process.shutdown(cancel_futures=True)


def _can_hear() -> bool:
    """Say whether a process that starts others can be spoken to: by a socket, whose path is short.

    Source: unix(7) of Linux, 108 bytes of a path with the one that ends it; other systems allow 104 (from memory).
    """
    return os.name != "nt" and len(os.fsencode(util.get_temp_dir())) + len("/listener-12345678") < 104


def _begun(
    context: Any, idle: list[ProcessPoolExecutor], work: Callable[[], Any]
) -> tuple[ProcessPoolExecutor, Future[Any]]:
    """Hand work to a process that is idle, or to one that is started for it."""
    if idle:
        process = idle.pop()
        return process, process.submit(work)
    for _ in range(TRIES):
        process = _process(context)
        try:
            return process, process.submit(work)
        except (OSError, EOFError) as error:
            # What starts the processes has ended, and is started anew; or there is no room for another process.
            why = error
    raise OutputError(
        f"another process of this program cannot be started ({str(why) or type(why).__name__}); see that memory is "
        "free, and run the command again"
    )


def _process(context: Any) -> ProcessPoolExecutor:
    return ProcessPoolExecutor(1, mp_context=context, initializer=_prepare, initargs=(dict(os.environ),))


_working = False
"""Whether this process is at a task."""


def _prepare(environment: dict[str, str]) -> None:
    """Give this process the environment of whoever started it, be ended by them, and end with them."""
    # What starts the processes was itself started with the first of them, and keeps the environment of that time.
    os.environ.update(environment)
    for name in os.environ.keys() - environment.keys():
        del os.environ[name]
    # After Ctrl+C on a terminal every process is told; the one that started the others sees to them.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, _asked_to_end)
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _asked_to_end(number: int, frame: FrameType | None) -> None:
    if _working:
        raise KeyboardInterrupt
    os._exit(number)


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        wait_for([parent.sentinel])
        os.kill(os.getpid(), signal.SIGTERM)


def _do(task: Callable[[Any], Any], given: Any) -> Any:
    global _working
    _working = True
    try:
        return task(given)
    except KeyboardInterrupt:
        # What the task had begun is taken back by now.
        os._exit(signal.SIGTERM)
    finally:
        _working = False
