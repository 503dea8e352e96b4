"""Parts of one large job, judged by several processes of this machine or by the workers of a cluster.

A part goes to its worker by a file, and its rows come back as files, each in a folder of who writes the job's layers:
they are handed on as they lie, and removed when they are written, or with their folder whatever becomes of the job.
"""

from __future__ import annotations

import pickle
import socket
import traceback
from collections.abc import Callable, Generator, Iterable, Iterator
from contextlib import closing
from functools import partial
from pathlib import Path
from typing import Any
from uuid import uuid4

import pyarrow as pa

from asbuilt.archive.pool import Done, in_processes
from asbuilt.errors import AsbuiltError, OutputError
from asbuilt.held import keeping_errors
from asbuilt.judging.judge import Ready
from asbuilt.layers.beside import Beside, Kept
from asbuilt.layers.tables import Part, part_of
from asbuilt.processor import judged
from asbuilt.waiting import write_rows

_LOADED = ("asbuilt.archive.parts",)
_AHEAD = 2
"""Parts that each worker of a cluster has at once: one that it is at, and one that waits."""


def by_processes(parts: Iterator[Ready], beside: Beside, *, workers: int) -> Generator[Part]:
    """Judge parts of a job in processes of this machine, and give what becomes of them in their order.

    Parameters
    ----------
    parts : iterator of Ready
        The next is asked for when a process waits for it.
    beside : Beside
        Who writes the layers of the job.
    workers : int
        How many processes judge at once, each with one part in memory.

    Raises
    ------
    OutputError
        When the temporary folder does not hold a part or its rows; when the process that judges a part ended before it
        was done, at each try. Another error as it was raised there.
    """
    work = partial(in_processes, workers=workers, loading=_LOADED)
    return _in_order(parts, beside.folder, work, beside.path)


def by_cluster(parts: Iterator[Ready], beside: Beside, *, address: str) -> Generator[Part]:
    """Judge parts of a job on the workers of a Dask cluster, and give what becomes of them in their order.

    Parameters
    ----------
    parts, beside : as for `by_processes`
    address : str
        Of the scheduler, like tcp://maps-server:8786.

    Raises
    ------
    OutputError
        As for `by_processes`, of the folder of the output, which every worker must see; as for `cluster.on_cluster`.
    """
    from asbuilt.archive.cluster import on_cluster

    return _in_order(parts, beside.beside_output, partial(on_cluster, address=address, ahead=_AHEAD), beside.path)


def _in_order(
    parts: Iterable[Ready],
    folder: Path,
    work: Callable[[Callable[[str], Any], Iterator[str]], Generator[Done]],
    path: Path,
) -> Generator[Part]:
    files = (str(_kept(one, folder / f"{number}.part")) for number, one in enumerate(parts))
    ready: dict[int, Part] = {}
    told = 0
    with closing(work(judge_part, files)) as each:
        for done in each:
            ready[done.number] = _result(done, path)
            (folder / f"{done.number}.part").unlink(missing_ok=True)
            while told in ready:
                yield ready.pop(told)
                told += 1


def _result(done: Done, path: Path) -> Part:
    if done.refused:
        raise OutputError(done.refused)
    if done.ended:
        raise OutputError(
            f"{path}: cannot be written (each process that judged a part of it ended before it was done, "
            f"{done.tries} times, as when memory runs out); see that memory is free, and run the command again"
        )
    if isinstance(done.result, Exception):
        raise done.result
    part: Part = done.result
    return part


def judge_part(file: str) -> Part | Exception:
    """Judge the part of a job that a file holds, and keep its rows beside it; what goes wrong is given, not raised."""
    try:
        part = part_of(judged(_taken(Path(file))))
        # No two tries have a file in common: a worker that is taken for lost may still be at work.
        own = f"{Path(file).stem}-{uuid4().hex}"
        kept = {name: Path(file).with_name(f"{own}-{name}.arrow") for name in part.rows}
        for name, rows in part.rows.items():
            write_rows(kept[name], rows)
        return part._replace(rows={name: Kept(str(kept[name]), rows.num_rows) for name, rows in part.rows.items()})
    except AsbuiltError as error:
        return error
    except Exception as error:
        error.add_note("".join(traceback.format_exception(error)))
        return error


def _kept(ready: Ready, file: Path) -> Path:
    """Write a part to a file, in one go: what one worker reads is whole."""
    with keeping_errors(file), file.open("wb") as opened:
        _Pickler(opened, protocol=5).dump(ready)
    return file


def _taken(file: Path) -> Ready:
    try:
        with file.open("rb") as opened:
            ready: Ready = pickle.load(opened)
    except OSError as error:
        raise OutputError(
            f"{file.parents[1]}: cannot be read by the worker on {socket.gethostname()} ({error.strerror}); every "
            "worker must see the folder of the output under the same path"
        ) from None
    return ready


class _Pickler(pickle.Pickler):
    """Keeps of a column the rows that it has, and not all those that it is a slice of."""

    def reducer_override(self, value: Any) -> Any:
        if isinstance(value, pa.Array):
            # Put together with none, since an array by itself would be given back as the slice that it is.
            return pa.concat_arrays([value, value.slice(0, 0)]).__reduce__()
        return NotImplemented
