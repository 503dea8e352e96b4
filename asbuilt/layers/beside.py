"""Layers that a process of their own writes, while the next part of their job is judged.

What judges keeps the interpreter's lock of its process: a thread that writes would wait for it most of the time.
Rows go to the other process in Arrow's format by files in the temporary folder, each removed when it is read; what it
is told, a line of JSON each, are the names of these files, and how many rows a layer has. It ends after whoever started
it, and removes what that left unfinished.
"""

from __future__ import annotations

import json
import os
import pickle
import shutil
import signal
import subprocess
import sys
import traceback
from collections import Counter, defaultdict, deque
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager, suppress
from functools import cached_property
from pathlib import Path
from typing import IO, Any, NamedTuple

import pyarrow as pa

from asbuilt import living
from asbuilt.arrays import as_texts
from asbuilt.errors import AsbuiltError, OutputError
from asbuilt.held import keeping_errors
from asbuilt.layers import geopackage, geoparquet, outputs
from asbuilt.layers.geopackage import Layer
from asbuilt.waiting import write_rows

_START = "from asbuilt.layers.beside import write_as_told; write_as_told()"
# Only GeoParquet is written by data frames and shapes; pyogrio and pyarrow load them wherever they are installed.
_START_SPARING = (
    "from asbuilt.commands import spared; spared.for_one_command(); spared.data_frames(); spared.coordinates(); "
    f"{_START}"
)


_WAITING = 1 << 25
"""Octets of rows, at most, that wait to be handed on, behind those that are handed on by then."""


class Kept(NamedTuple):
    """Rows in a file of Arrow's format, which another process has written."""

    file: str
    num_rows: int


class Beside:
    """Takes the rows of layers, and hands them to the process that writes them.

    A thread does that, table by table in the order in which they are added; what goes wrong in it is raised when later
    ones are added, or at the end.
    """

    def __init__(
        self, process: subprocess.Popen[bytes], path: Path, folder: Path, beside_output: Path, names: Sequence[str]
    ) -> None:
        self._process = process
        self.path = path
        """Of the output."""
        self.folder = folder
        """In the temporary folder of this machine, and removed in every case."""
        self.beside_output = beside_output
        """A folder beside the output, which others may see, and removed as well."""
        self._open = list(names)
        self._rows: Counter[str] = Counter()
        self._files = 0
        self._thread = ThreadPoolExecutor(1)
        self._handing_on: deque[tuple[Future[None], int]] = deque()
        """What the thread has to do, with the octets of rows that wait for it."""

    def add(self, name: str, rows: pa.Table | Kept) -> None:
        """Take rows of a layer, behind those that it has; none at all tell its columns. Files are removed when read.

        Raises
        ------
        OutputError
            When the temporary folder does not hold them, or the process cannot write.
        """
        self._rows[name] += rows.num_rows
        if isinstance(rows, Kept):
            self._hand_on(0, self.tell, {"layer": name, "file": rows.file})
            return
        self._files += 1
        self._hand_on(rows.nbytes, self._written, name, self.folder / f"{self._files}.arrow", rows)

    def end(self, name: str) -> None:
        """Say that a layer has all its rows.

        Raises
        ------
        OutputError
            When the process cannot write.
        """
        self._hand_on(0, self.tell, {"layer": name, "rows": self._rows[name]})
        self._open.remove(name)

    def _written(self, name: str, file: Path, table: pa.Table) -> None:
        write_rows(file, table)
        self.tell({"layer": name, "file": str(file)})

    def _hand_on(self, octets: int, work: Callable[..., None], *of: Any) -> None:
        """Have something done in the thread, behind what it has to do; so many octets of rows wait until it is."""
        self._settle(_WAITING)
        self._handing_on.append((self._thread.submit(work, *of), octets))

    def _settle(self, left: int) -> None:
        """Wait until no more than so many octets of rows wait; what went wrong with those before them is raised."""
        while self._handing_on and (
            self._handing_on[0][0].done() or sum(octets for _, octets in self._handing_on) > left
        ):
            self._handing_on.popleft()[0].result()

    def tell(self, message: Mapping[str, Any]) -> None:
        """Tell the process something.

        Raises
        ------
        OutputError
            When it cannot write.
        """
        assert self._process.stdin is not None
        try:
            self._process.stdin.write(json.dumps(message).encode() + b"\n")
            self._process.stdin.flush()
        except OSError:
            self._take_answer()

    def wait(self) -> None:
        """Wait until all is written.

        Raises
        ------
        OutputError
            When it cannot be; another error as it was raised there.
        ValueError
            When a layer was not ended.
        """
        if self._open:
            raise ValueError(f"these layers were not ended: {', '.join(self._open)}")
        self._settle(-1)
        self._take_answer()

    def stop(self) -> None:
        """Let the thread end: it does no more than it has begun."""
        self._thread.shutdown(cancel_futures=True)

    def _take_answer(self) -> None:
        assert self._process.stdout is not None
        answer = self._process.stdout.read()
        try:
            error = pickle.loads(answer)
        except (EOFError, pickle.UnpicklingError):
            status = self._process.wait()
            how = f"was ended by signal {-status}, as when memory runs out" if status < 0 else f"ended with {status}"
            raise OutputError(
                f"{self.path}: cannot be written (the process that writes it {how}); see that memory is free, and run "
                "the command again"
            ) from None
        if error is not None:
            raise error


@contextmanager
def writing_beside(
    path: Path, names: Sequence[str], *, crs: str, units: Mapping[str, str], process: subprocess.Popen[bytes]
) -> Iterator[Beside]:
    """Have a process write layers, whole or not at all; at the end of the block they are in their place.

    Parameters
    ----------
    path : path of the file or folder; an earlier one there is replaced only when the new one is complete
    names : sequence of str
        The layers in the order in which they are written. In the block each is given rows, or none, and is ended.
    crs, units : as for `geopackage.write_geopackage`
    process : what `process_to_write` gave for this path

    Raises
    ------
    OutputError
        As for `geopackage.write_geopackage`; or when the process has ended, or the temporary folder is full.

    Examples
    --------
    >>> from asbuilt.layers.shapes import points_wkb
    >>> import numpy as np
    >>> place = points_wkb(np.array([6.7e6]), np.array([2.0e6]), np.array([50.0]))
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     path = Path(folder, "joints.gpkg")
    ...     given = {"crs": "EPSG:6418", "units": {"unit": "US survey feet"}}
    ...     with process_to_write(path) as writer, writing_beside(path, ["joints"], **given, process=writer) as beside:
    ...         beside.add("joints", pa.table({"joint": ["101"], "geom": place}))
    ...         beside.end("joints")
    ...     import geopandas as gpd
    ...     gpd.read_file(path, layer="joints").joint.tolist()
    ['101']
    """
    form_of(path).check_target(path)
    with _temporary_folder() as folder, outputs.put_in_place(path, option="--out") as unfinished:
        beside = Beside(process, path, folder, unfinished.parent, names)
        try:
            beside.tell(
                {"path": str(path), "unfinished": str(unfinished), "folder": str(folder), "names": list(names),
                 "crs": crs, "units": dict(units)}
            )  # fmt: skip
            yield beside
            beside.wait()
        except BaseException:
            process.kill()
            process.wait()
            raise
        finally:
            beside.stop()


def form_of(path: Path) -> Any:
    """Give the module that writes files of such a name."""
    return geoparquet if path.suffix == geoparquet.SUFFIX else geopackage


@contextmanager
def process_to_write(path: Path) -> Iterator[subprocess.Popen[bytes]]:
    """Start a process for `writing_beside`, which gets ready meanwhile; it ends with the block.

    Parameters
    ----------
    path : path of the file or folder that it is to write

    Raises
    ------
    OutputError
        When there cannot be another process.
    """
    command = [sys.executable, "-P", "-c", _START if form_of(path) is geoparquet else _START_SPARING]
    # It finds the package and its libraries where this process has found them.
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(one or os.getcwd() for one in sys.path)}
    with outputs.write_errors(path, "--out"):
        # In a group of its own, Ctrl+C on a terminal tells it nothing, not even before it can heed that.
        process = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, env=environment, process_group=0
        )
    assert process.stdin is not None
    assert process.stdout is not None
    try:
        yield process
    finally:
        # What it has not read when it ends, it need not know.
        with suppress(OSError):
            process.stdin.close()
        process.stdout.close()
        process.wait()


@contextmanager
def _temporary_folder() -> Iterator[Path]:
    with keeping_errors():
        folder, held = living.make_temporary()
    try:
        yield folder
    finally:
        living.remove(folder, held)


def write_as_told() -> None:
    """Write layers as this process is told on its standard input, and answer on its standard output what went wrong."""
    # Where there are no such groups, Ctrl+C tells both processes; the one that started this one sees to it.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    told = _Told(sys.stdin.buffer)
    try:
        asked = told.next()
    except EOFError:
        return
    with suppress(OSError), os.fdopen(os.dup(1), "wb") as answer:
        # What a library prints is no answer.
        os.dup2(2, 1)
        answer.write(pickle.dumps(_error_of_writing(asked, told)))
    # Until the file is in its place, or nobody is left to put it there.
    sys.stdin.buffer.read()
    for folder in (Path(asked["unfinished"]).parent, Path(asked["folder"])):
        shutil.rmtree(folder, ignore_errors=True)


def _error_of_writing(asked: Mapping[str, Any], told: _Told) -> BaseException | None:
    path, layers = Path(asked["path"]), (Layer(name, _Arriving(told, name)) for name in asked["names"])
    try:
        form_of(path).fill(Path(asked["unfinished"]), layers, path=path, crs=asked["crs"], units=asked["units"])
    except BaseException as error:
        if not isinstance(error, AsbuiltError):
            error.add_note("".join(traceback.format_exception(error)))
        return error
    return None


class _Told:
    """What this process is told of layers, in whatever order."""

    def __init__(self, lines: IO[bytes]) -> None:
        self._lines = lines
        self._files: dict[str, deque[Path]] = defaultdict(deque)
        self._rows: dict[str, int] = {}

    def next(self) -> dict[str, Any]:
        line = self._lines.readline()
        if not line.endswith(b"\n"):
            raise EOFError("the process that started this one has ended")
        message: dict[str, Any] = json.loads(line)
        return message

    def first_file(self, name: str) -> Path:
        while not self._files[name]:
            self._take()
        return self._files[name][0]

    def files(self, name: str) -> Iterator[Path]:
        """Give the files of a layer as they come, until it has all its rows."""
        while self._files[name] or name not in self._rows:
            if self._files[name]:
                yield self._files[name].popleft()
            else:
                self._take()

    def rows(self, name: str) -> int:
        while name not in self._rows:
            self._take()
        return self._rows[name]

    def _take(self) -> None:
        message = self.next()
        if "file" in message:
            self._files[message["layer"]].append(Path(message["file"]))
        else:
            self._rows[message["layer"]] = message["rows"]


class _Arriving:
    """Rows of a layer that come while they are written."""

    def __init__(self, told: _Told, name: str) -> None:
        self._told = told
        self._name = name

    @cached_property
    def schema(self) -> pa.Schema:
        """Names and kinds of the columns."""
        with pa.OSFile(str(self._told.first_file(self._name))) as file:
            return as_texts(pa.ipc.open_file(file).schema.empty_table()).schema

    @property
    def num_rows(self) -> int:
        """How many rows the process that gives them has given."""
        return self._told.rows(self._name)

    def batches(self) -> Iterator[pa.RecordBatch]:
        """Give all rows, in order."""
        for path in self._told.files(self._name):
            with pa.memory_map(str(path)) as file:
                rows = pa.ipc.open_file(file)
                for number in range(rows.num_record_batches):
                    yield from as_texts(pa.Table.from_batches([rows.get_batch(number)])).to_batches()
            # Where a file cannot go while it is looked at, it goes with its folder.
            with suppress(OSError):
                path.unlink()
