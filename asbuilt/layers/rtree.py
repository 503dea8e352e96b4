"""SQLite's spatial index, packed node by node: for many boxes tens of times faster than one by one."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.held import blocks

if TYPE_CHECKING:
    from asbuilt.arrays import Floats, Ints

Cells = npt.NDArray[np.void]

_CELL = np.dtype([("number", ">i8"), ("bounds", ">f4", 4)])
"""A cell of a node: a row or a child, and its box (west, east, south, north).

Source: SQLite's R*Tree module, "Custom R-Tree Queries" and the comment on node format in rtree.c (from memory);
SQLite's own rtreecheck() holds the tests' trees to it.
"""


_NODES = 1000
"""Nodes that are handed to SQLite at a time."""


class Packing:
    """Packs boxes into an R-tree of two dimensions in the order in which they come: those beside one another together.

    Parameters
    ----------
    size : int
        Bytes of a node.

    Examples
    --------
    >>> packing, along = Packing(1228), np.arange(60.0)
    >>> for some in (slice(0, 30), slice(30, 60)):
    ...     tables = packing.add(np.arange(60)[some], *[along[some]] * 4)
    >>> tables["rowid"].num_rows, packing.end()["rowid"].num_rows
    (51, 9)
    """

    def __init__(self, size: int) -> None:
        self._size = size
        self.room = (size - 4) // _CELL.itemsize
        """Boxes that a node has room for."""
        self._waiting = np.empty(0, dtype=_CELL)
        self._leaves: list[Cells] = []
        # The root is node 1; those of each level are numbered behind those below.
        self._next = 2

    def add(self, number: Ints, west: Floats, east: Floats, south: Floats, north: Floats) -> dict[str, pa.Table]:
        """Take boxes, and give rows for the tables of the index, by what the names of these end in.

        Parameters
        ----------
        number : array of int, shape (n,)
            Numbers of the boxes' rows.
        west, east, south, north : array, shape (n,)
            Their sides; of a point, west is east and south is north.
        """
        cells = np.concatenate([self._waiting, _cells(number, (west, east, south, north))])
        # What is left for the end is never nothing: it may be the root.
        full = max(len(cells) - 1, 0) // self.room * self.room
        self._waiting = cells[full:]
        if not full:
            return {}
        tables, leaves = self._packed(cells[:full], "rowid")
        self._leaves.append(leaves)
        return tables

    def end(self) -> dict[str, pa.Table]:
        """Give the rows that are left when all boxes are in."""
        tables = []
        level, part, depth = self._waiting, "rowid", 0
        if self._leaves:
            rest, last = self._packed(level, part)
            tables.append(rest)
            level, part, depth = np.concatenate([*self._leaves, last]), "parent", 1
            while len(level) > self.room:
                bounds = level["bounds"].astype(np.float64)
                nodes, level = self._packed(level[_strips(bounds[:, 0], bounds[:, 2], self.room)], part)
                tables.append(nodes)
                depth += 1
        tables.append(self._rows(level, part, np.ones(1, dtype=np.int64), depth))
        return _together(tables)

    def _packed(self, level: Cells, part: str) -> tuple[dict[str, pa.Table], Cells]:
        """Pack a level into nodes; give the rows that say so, and the level above."""
        above = _parents(level, self.room, self._next)
        self._next += len(above)
        return self._rows(level, part, above["number"].astype(np.int64)), above

    def _rows(self, level: Cells, part: str, nodes: Ints, depth: int = 0) -> dict[str, pa.Table]:
        """Say of nodes what each is, and of all that is in them in which it is."""
        octets = _octets(level, self.room, self._size, depth)
        data = pa.Array.from_buffers(pa.binary(self._size), len(nodes), [None, pa.py_buffer(octets)])
        within = nodes.repeat(self.room)[: len(level)]
        names = ["rowid", "nodeno"] if part == "rowid" else ["nodeno", "parentnode"]
        return {
            "node": pa.table({"nodeno": nodes, "data": data.cast(pa.binary())}),
            part: pa.table([level["number"].astype(np.int64), within], names=names),
        }


@dataclass(frozen=True)
class Rows:
    """The rows of an R-tree's tables as the interpreter's own module of SQLite takes them."""

    links: list[tuple[str, str]]
    """Names of tables, and as JSON the node that some rows or nodes in it are in: one by one takes longer."""
    nodes: pa.Table


def node_size(database: sqlite3.Connection, index: str) -> int:
    """Give the bytes of a node of an R-tree: all of a database are of one size."""
    return len(database.execute(f"SELECT data FROM {index}_node WHERE nodeno = 1").fetchone()[0])


def packed(size: int, number: Ints, west: Floats, east: Floats, south: Floats, north: Floats) -> Rows:
    """Pack boxes that come in no order, as `Packing.add` takes them.

    Parameters
    ----------
    size : int
        Bytes of a node.
    number, west, east, south, north : as for `Packing.add`
    """
    packing = Packing(size)
    order, parts = _strips(west, south, packing.room), []
    for one in blocks(len(order)):
        some = order[one]
        parts.append(packing.add(number[some], west[some], east[some], south[some], north[some]))
    tables = _together([*parts, packing.end()])
    node = tables.pop("node")
    return Rows([(part, text) for part, table in tables.items() for text in _as_json(table)], node)


def _as_json(links: pa.Table) -> Iterator[str]:
    """Write links from rows or nodes to the nodes that they are in, in ascending order and some at a time."""
    keys, values = (column.to_numpy() for column in links.columns)
    order = np.argsort(keys)
    for one in blocks(len(order)):
        key, value = (pa.array(numbers[order[one]]).cast(pa.string()) for numbers in (keys, values))
        pairs = pc.binary_join_element_wise('"', key, '":', value, "")
        yield f"{{{pc.binary_join(pa.ListArray.from_arrays([0, len(pairs)], pairs), ',')[0].as_py()}}}"


def put(database: sqlite3.Connection, index: str, rows: Rows) -> None:
    """Put a tree in place of what an R-tree holds.

    Examples
    --------
    >>> database = sqlite3.connect(":memory:")
    >>> _ = database.execute("CREATE VIRTUAL TABLE places USING rtree(id, minx, maxx, miny, maxy)")
    >>> along, across = np.arange(1000.0), np.zeros(1000)
    >>> size = node_size(database, "places")
    >>> put(database, "places", packed(size, np.arange(1, 1001), along, along, across, across))
    >>> database.execute("SELECT id FROM places WHERE minx <= 500 AND maxx >= 499").fetchall()
    [(500,), (501,)]
    >>> database.execute("SELECT rtreecheck('places')").fetchone()
    ('ok',)
    """
    for part in ("node", "rowid", "parent"):
        database.execute(f"DELETE FROM {index}_{part}")
    for part, pairs in rows.links:
        database.execute(f"INSERT INTO {index}_{part} SELECT CAST(key AS INTEGER), value FROM json_each(?)", [pairs])
    for some in rows.nodes.to_batches(max_chunksize=_NODES):
        nodes = zip(*(column.to_pylist() for column in some.columns), strict=True)
        database.executemany(f"INSERT INTO {index}_node VALUES (?, ?)", nodes)


def _cells(number: Ints, sides: tuple[Floats, ...]) -> Cells:
    """Make a cell of each box, rounded outwards to single precision."""
    cells = np.empty(len(number), dtype=_CELL)
    cells["number"] = number
    for side, values in enumerate(sides):
        near, outward = values.astype(np.float32), np.float32(np.inf if side % 2 else -np.inf)
        inside = near < values if side % 2 else near > values
        cells["bounds"][:, side] = np.where(inside, np.nextafter(near, outward), near)
    return cells


def _strips(easting: Floats, northing: Floats, room: int) -> Ints:
    """Order points by strips of easting and by northing in each, so that a node's points lie together.

    Source: sort-tile-recursive packing (Leutenegger and others, 1997; from memory).
    """
    by_easting = np.argsort(easting, kind="stable")
    leaves = max(1, -(-len(easting) // room))
    in_strip = room * int(np.ceil(np.sqrt(leaves)))
    strip = np.arange(len(easting)) // in_strip
    order: Ints = by_easting[np.lexsort((northing[by_easting], strip))]
    return order


def _parents(level: Cells, room: int, first: int) -> Cells:
    starts = np.arange(0, len(level), room)
    cells = np.empty(len(starts), dtype=_CELL)
    cells["number"] = np.arange(first, first + len(starts))
    bounds = level["bounds"].astype(np.float32)
    for side, reduce in enumerate((np.minimum, np.maximum) * 2):
        cells["bounds"][:, side] = reduce.reduceat(bounds[:, side], starts)
    return cells


def _octets(level: Cells, room: int, size: int, depth: int) -> npt.NDArray[np.uint8]:
    """Give the bytes of each node of a level: its depth, where it is the root, how many cells it has, and these."""
    count = max(1, -(-len(level) // room))
    cells = np.zeros(count * room, dtype=_CELL)
    cells[: len(level)] = level
    octets = np.zeros((count, size), dtype=np.uint8)
    held = np.full(count, room)
    held[-1] = len(level) - (count - 1) * room
    octets[:, :4] = np.stack([np.full(count, depth), held], axis=1).astype(">u2").view(np.uint8)
    octets[:, 4 : 4 + room * _CELL.itemsize] = cells.view(np.uint8).reshape(count, -1)
    return octets


def _together(tables: list[dict[str, pa.Table]]) -> dict[str, pa.Table]:
    parts = dict.fromkeys(part for some in tables for part in some)
    return {part: pa.concat_tables([some[part] for some in tables if part in some]) for part in parts}
