"""Tasks handed to the workers of a Dask cluster; a worker that ends takes no task with it."""

from __future__ import annotations

import logging
import pickle
import socket
import warnings
from collections import Counter
from collections.abc import Callable, Generator, Iterable, Iterator
from contextlib import contextmanager
from queue import Empty, SimpleQueue
from typing import TYPE_CHECKING, Any, NoReturn
from uuid import uuid4

from asbuilt.archive.pool import TRIES, Done
from asbuilt.errors import OutputError
from asbuilt.version import __version__

if TYPE_CHECKING:
    from distributed import Client, Future, Worker

WITH_SCHEDULER = 10_000
"""Tasks that are with the scheduler at once: it keeps all that it was given in memory."""
PATIENCE = 30.0
"""Seconds in which a scheduler has to answer, and in which a worker has to come where there is none."""
_HOW = "dask worker {} --nworkers auto --nthreads 1"


def on_cluster(
    task: Callable[[Any], Any], given: Iterable[Any], address: str, *, ahead: int | None = None
) -> Generator[Done]:
    """Do a task for each thing given on the workers of a cluster, and tell of each as soon as it is done.

    The scheduler hands a task out again when its worker ends, up to as often as it is set to. A task that it gives up
    may only have waited at workers that another one ended: it is tried again after all others, with none beside it.

    Parameters
    ----------
    task : function at the top of a module, which raises nothing
    given : iterable
        What the task is called with, one at a time; the next is asked for when it can be handed out.
    address : str
        Of the scheduler, like tcp://maps-server:8786.
    ahead : int, optional
        Tasks for each worker that are handed out at once; if left out, as many as the scheduler bears.

    Yields
    ------
    Done

    Raises
    ------
    OutputError
        When distributed is not installed, or no scheduler answers; when a worker is of another version or does several
        tasks in one process. Nothing is handed out then. Also when the scheduler or all workers are lost meanwhile.
    """
    with _client(address) as client:
        _refuse_unfit(client, address)
        run = _Run(client, address, task)
        most = WITH_SCHEDULER if ahead is None else ahead * len(client.nthreads())
        given_up = []
        new = enumerate(given)
        while True:
            while len(run.out) < most and (first := next(new, None)):
                run.hand_out(*first)
            if not run.out:
                break
            done, one = run.next_back()
            if done.ended:
                given_up.append((done, one))
            else:
                yield done
        for done, one in given_up:
            for _ in range(1, TRIES):
                run.hand_out(done.number, one)
                done, _ = run.next_back()
                if not done.ended:
                    break
            yield done


class _Run:
    """Tasks on their way to workers and back.

    Results come back through the scheduler, not out of the worker's memory, which may be gone when it is asked.
    """

    def __init__(self, client: Client, address: str, task: Callable[[Any], Any]) -> None:
        self.client, self.address, self.task = client, address, task
        self.topic = f"asbuilt-{uuid4().hex}"
        self.handed = 0
        self.out: dict[str, tuple[int, Any, Future]] = {}
        self.back: SimpleQueue[tuple[str, Any]] = SimpleQueue()
        self.ends: Counter[int] = Counter()
        """How often a worker ended that had a task."""
        client.subscribe_topic("all", self._heard)
        client.subscribe_topic(self.topic, lambda event: self.back.put(event[1]))

    def hand_out(self, number: int, one: Any) -> None:
        self.handed += 1
        key = f"{self.topic}-{self.handed}"
        try:
            future = self.client.submit(_do, self.task, one, __version__, self.topic, key, key=key, pure=False)
        except (RuntimeError, OSError) as error:
            self._lost(f"does not answer any more ({error})")
        self.out[key] = number, one, future
        future.add_done_callback(lambda future: self.back.put((future.key, None)))

    def next_back(self) -> tuple[Done, Any]:
        """Give what came of a task, and what it was called with."""
        from distributed import KilledWorker

        while True:
            try:
                key, packed = self.back.get(timeout=PATIENCE)
            except Empty:
                self._look_for_workers()
                continue
            number, one, future = self.out.get(key, (-1, None, None))
            if future is None or (packed is None and future.status not in ("error", "cancelled")):
                continue  # told already, or on its way
            if packed is None and future.status == "cancelled":
                self._lost("was lost")
            del self.out[key]
            error = future.exception() if packed is None else None
            future.release()
            if isinstance(error, KilledWorker):
                return Done(number, None, self.ends[number], ended=True), one
            tries = self.ends[number] + 1
            if error is not None:
                return Done(number, None, tries, False, _cannot("a worker", error)), one
            result = pickle.loads(packed)
            if isinstance(result, _Unfit):
                return Done(number, None, tries, False, str(result)), one
            return Done(number, result, tries, ended=False), one

    def _look_for_workers(self) -> None:
        if self.client.status != "running":
            self._lost("does not answer any more")
        try:
            self.client.wait_for_workers(1, timeout=PATIENCE)
        except (TimeoutError, OSError):
            self._lost("has no worker any more")

    def _heard(self, event: tuple[float, Any]) -> None:
        told = event[1]
        if isinstance(told, dict) and told.get("action") == "remove-worker":
            self.ends.update(self.out[key][0] for key in told.get("processing-tasks", ()) if key in self.out)

    def _lost(self, what: str) -> NoReturn:
        raise OutputError(
            f"{self.address}: the scheduler {what}. Jobs told as placed are whole, and those that workers have in hand "
            "either become whole or are left as they were; start scheduler and workers again, and go on with --resume"
        )


@contextmanager
def _client(address: str) -> Iterator[Client]:
    try:
        from distributed import Client
    except ModuleNotFoundError as error:
        raise OutputError(
            f"--scheduler needs {error.name}, which is not installed: pip install 'asbuilt[cluster]'"
        ) from None
    # What it has to say is told in our own messages.
    log = logging.getLogger("distributed")
    level = log.level
    log.setLevel(logging.CRITICAL + 1)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            try:
                client = Client(address, timeout=PATIENCE, set_as_default=False)
            except (OSError, ValueError, TypeError) as error:
                raise OutputError(
                    f"{address}: no scheduler answers there ({error}); start one with `dask scheduler`, and give the "
                    "address that it tells, like tcp://maps-server:8786, in --scheduler"
                ) from None
            with client:
                yield client
    finally:
        log.setLevel(level)


class _Unfit(str):
    """Why a worker cannot do what it is handed."""


def _refuse_unfit(client: Client, address: str) -> None:
    """Refuse a cluster without workers, or with one that cannot do what it would be handed."""
    try:
        client.wait_for_workers(1, timeout=PATIENCE)
    except (TimeoutError, OSError):
        raise OutputError(
            f"{address}: this scheduler has no worker; start some with `{_HOW.format(address)}`"
        ) from None
    for worker, said in client.run(_why_unfit, __version__, on_error="return").items():
        if isinstance(said, BaseException):
            said = _cannot(f"the worker {worker}", said)
        if said:
            raise OutputError(f"{said}. Nothing was written")


def _cannot(worker: str, error: BaseException) -> str:
    return (
        f"{worker} cannot run asbuilt {__version__} ({type(error).__name__}: {error}); install this version, with the "
        "extra cluster, wherever workers run"
    )


def _why_unfit(version: str, dask_worker: Worker) -> str:
    """Say on a worker why it cannot do what is asked by a version of this program; nothing where it can."""
    where = f"the worker {dask_worker.address} on {socket.gethostname()}"
    if version != __version__:
        return f"{where} has asbuilt {__version__}, and this is {version}; install one version everywhere"
    if dask_worker.state.nthreads != 1:
        return (
            f"{where} would do {dask_worker.state.nthreads} jobs in one process; start workers with one thread each: "
            f"{_HOW.format('ADDRESS')}"
        )
    return ""


def _do(task: Callable[[Any], Any], given: Any, version: str, topic: str, key: str) -> None:
    """Do a task on a worker, which may have come after those that were asked whether they can."""
    from distributed import get_worker

    worker = get_worker()
    unfit = _why_unfit(version, worker)
    worker.log_event(topic, (key, pickle.dumps(_Unfit(unfit) if unfit else task(given))))
