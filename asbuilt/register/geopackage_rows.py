"""Rows of a placed file taken into a table of a register as a whole, by one statement; many of them beside other work.

SQLite lets other threads of this process go on while it works, as long as it asks Python for nothing. So values that
are added to the file's rows go to it in one piece, out of which it takes each by itself.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

import numpy as np

from asbuilt.held import blocks, let_go
from asbuilt.register import layout
from asbuilt.register.store import listed, quoted

if TYPE_CHECKING:
    import pyarrow as pa

    from asbuilt.arrays import Floats, Ints
    from asbuilt.register.incoming import Incoming

    Values: TypeAlias = Sequence[Any] | Ints | Floats | pa.Array
    Cells: TypeAlias = Values | Callable[[slice], Values]

_DIGITS = 20
"""Letters of the longest whole number of eight bytes, with its sign."""
_PARTS = 10_000.0
"""Numbers of so few decimals go to SQLite as whole numbers of parts: it reads a decimal's last digit as it likes."""
_LONGEST = 500_000_000
"""Bytes that go to SQLite in one piece: it takes no more than twice as many, unless it was built for more."""


class NotInOnePieceError(Exception):
    """Python would have to be asked for values that are added to rows."""


@dataclass(frozen=True)
class Taken:
    """How some rows of a layer of the placed file are taken into a table, and what is added to them."""

    table: str
    layer: str
    columns: dict[str, str]
    """SQL for each column filled, with `p` for the row of the file."""
    values: dict[str, Any]
    """What stands in the SQL as :name."""
    asked: dict[str, list[Any]]
    """Lists that Python is asked about: the SQL function added_NAME gives an item of list NAME by its index."""

    def into(self, database: sqlite3.Connection) -> None:
        """Put the rows into the table of a database, to which the placed file is attached as `placed`."""
        database.execute(
            f"INSERT INTO main.{self.table} ({quoted(list(self.columns))}) SELECT {', '.join(self.columns.values())} "
            f"FROM placed.{self.layer} p WHERE p.fid BETWEEN :first_fid AND :last_fid ORDER BY p.fid",
            self.values,
        )


def are_whole(rows: Ints, fids: Ints) -> bool:
    """Tell whether rows are all of a layer, and its features are numbered without a gap."""
    return len(rows) == len(fids) and _successive(rows) and _successive(fids)


def taken(
    table: str, incoming: Incoming, layer: str, cells: Mapping[str, Cells], same: Mapping[str, str | int]
) -> Iterator[Taken]:
    """Say how rows of a whole layer are taken, some at a time, with cells that replace the file's or are added.

    Cells are values, or a function of a slice of the rows that makes those of it.
    """
    for some in blocks(incoming.tables[layer].num_rows):
        made = {name: values(some) if callable(values) else values[some] for name, values in cells.items()}
        yield _taken(table, incoming, layer, some, made, same)
        let_go()


def _taken(
    table: str,
    incoming: Incoming,
    layer: str,
    some: slice,
    cells: Mapping[str, Values],
    same: Mapping[str, str | int],
) -> Taken:
    theirs, fids = incoming.tables[layer].slice(some.start, some.stop - some.start), incoming.fids[layer][some]
    # What the file has as it is needs not be handed over.
    other = {*incoming.place_accuracy, *(("route", "joint_uid") if incoming.main is not None else ())}
    cells = {name: values for name, values in cells.items() if name in other or not _same(theirs, name, values)}
    columns = {name: f":{name}" for name in same}
    for name in theirs.column_names:
        if name in layout.kinds(table) and name not in cells:
            columns.setdefault(name, f'p."{name}"')
    handed: dict[str, Any] = {**same, "first_fid": int(fids[0]), "last_fid": int(fids[-1])}
    asked = {}
    for name, values in cells.items():
        sql, piece = _counted(values, int(fids[0])), None
        if sql is None:
            sql, piece = _in_one_piece(f"added_{name}", values)
        if sql is None:
            sql, asked[name] = f"added_{name}(p.fid - :first_fid)", listed(values)
        if piece is not None:
            handed[f"added_{name}"] = piece
        columns[name] = sql
    return Taken(table, layer, columns, handed, asked)


@contextmanager
def filling(
    file: Path, placed: Path, made: Sequence[str], last: int, table: str, rows: Iterator[Taken]
) -> Iterator[Future[None]]:
    """Fill a table in a database of its own, in a thread beside what is done in the block.

    Parameters
    ----------
    file : path of the database, which is not there yet
    placed : path of the placed file
    made : sequence of str
        The statement that makes the table, and behind it those that make its indexes.
    last : int
        The last number that a row of the table had; those of its new rows go on behind it.
    table : str
        Its name.
    rows : iterator of Taken
        The rows.

    Returns
    -------
    Future
        Raises `sqlite3.Error` where the database could not be filled, and `NotInOnePieceError` where Python would have
        to be asked.
    """
    with (
        closing(sqlite3.connect(file, isolation_level=None, check_same_thread=False)) as database,
        ThreadPoolExecutor(1) as beside,
    ):
        try:
            yield beside.submit(_fill, database, placed, made, last, table, rows)
        except BaseException:
            database.interrupt()
            raise


def _fill(
    database: sqlite3.Connection, placed: Path, made: Sequence[str], last: int, table: str, rows: Iterator[Taken]
) -> None:
    # It is of use only when it is whole, and to this process.
    for setting in ("journal_mode = OFF", "synchronous = OFF", "cache_size = -16000"):
        database.execute(f"PRAGMA {setting}")
    attach(database, placed)
    database.execute("BEGIN")
    database.execute(made[0])
    database.execute("INSERT INTO sqlite_sequence VALUES (?, ?)", (table, last))
    for some in rows:
        if some.asked:
            raise NotInOnePieceError
        some.into(database)
    for index in made[1:]:
        database.execute(index)
    database.execute("COMMIT")


def attach(database: sqlite3.Connection, placed: Path) -> None:
    """Let rows be taken from a placed file as `placed`, and none be changed."""
    database.execute("ATTACH ? AS placed", (f"{placed.resolve().as_uri()}?mode=ro",))


def _successive(numbers: Ints) -> bool:
    """Tell whether numbers go up by one."""
    return bool(int(numbers[-1]) - int(numbers[0]) + 1 == len(numbers) and np.all(np.diff(numbers) == 1))


def _counted(values: Values, first: int) -> str | None:
    """Give SQL for whole numbers that are all one, or go up by one with the file's rows, the first of which is named.

    Examples
    --------
    >>> _counted(np.array([4, 4]), 1), _counted(np.array([7, 8]), 1), _counted(np.array([7, 9]), 1)
    ('4', 'p.fid + 6', None)
    """
    if not (isinstance(values, np.ndarray) and values.dtype == np.int64):
        return None
    if np.all(values == values[0]):
        return f"{values[0]}"
    return f"p.fid + {int(values[0]) - first}" if _successive(values.astype(np.int64)) else None


def _in_one_piece(name: str, values: Values) -> tuple[str | None, memoryview | None]:
    """Give SQL for values of one length each, and these one behind the other; None where they are of several lengths.

    Examples
    --------
    >>> sql, piece = _in_one_piece("added_content", np.array([7, -9]))
    >>> sql
    'CAST(substr(:added_content, 20 * (p.fid - :first_fid) + 1, 20) AS INTEGER)'
    >>> bytes(piece).split()
    [b'7', b'-9']
    >>> _in_one_piece("added_route", ["A", "B12"])
    (None, None)
    """
    import pyarrow as pa
    import pyarrow.compute as pc

    array, parts = values if isinstance(values, pa.Array) else pa.array(values), ""
    if isinstance(values, np.ndarray) and values.dtype == np.float64:
        counted = np.rint(values * _PARTS)
        # Divided by the same number there, they are the same to the last digit; but -0.0 would lose its sign.
        exact = (counted / _PARTS == values) & (np.abs(counted) < 2**53) & ~((values == 0.0) & np.signbit(values))
        if exact.all():
            array, parts = pa.array(counted.astype(np.int64)), f" / {_PARTS!r}"
    kind = {pa.string(): "TEXT", pa.binary(): "BLOB", pa.int64(): "INTEGER"}.get(array.type)
    if kind == "INTEGER":
        array = pc.utf8_lpad(array.cast(pa.string()), _DIGITS)
    if kind is None or array.null_count:
        return None, None
    lengths = pc.min_max(pc.binary_length(array)).as_py()
    size = lengths["min"] or 0
    if not size or size != lengths["max"] or size * len(array) > _LONGEST:
        return None, None
    sql = f"CAST(substr(:{name}, {size} * (p.fid - :first_fid) + 1, {size}) AS {kind}){parts}"
    _, offsets, octets = array.buffers()
    first = int(np.frombuffer(offsets, dtype=np.int32)[array.offset])
    return sql, memoryview(octets)[first : first + size * len(array)]


def _same(table: pa.Table, name: str, values: Values) -> bool:
    """Tell whether a column of the file holds these values already."""
    import pyarrow as pa

    from asbuilt.arrays import as_floats, as_one

    if name not in table.column_names:
        return False
    theirs = as_one(table[name])
    if isinstance(values, np.ndarray):
        numbers = pa.types.is_floating(theirs.type) and values.dtype == np.float64
        return bool(numbers and np.array_equal(as_floats(theirs), values, equal_nan=True))
    return isinstance(values, pa.Array) and bool(values.type == theirs.type and values.equals(theirs))
