"""SQLite's spatial index of points, packed in one go: for many points tens of times faster than one by one."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from asbuilt.arrays import Floats, Ints

Cells = npt.NDArray[np.void]

_CELL = np.dtype([("number", ">i8"), ("bounds", ">f4", 4)])
"""A cell of a node: a row or a child, and its box (west, east, south, north).

Source: SQLite's R*Tree module, "Custom R-Tree Queries" and the comment on node format in rtree.c (from memory);
SQLite's own rtreecheck() holds the tests' trees to it.
"""


@dataclass(frozen=True)
class Tree:
    """An R-tree as SQLite holds it in its tables."""

    links: list[tuple[str, str]]
    """Each name of a table, and as JSON the node that each row or node in it is in."""
    nodes: list[tuple[int, bytes]]


def node_size(database: sqlite3.Connection, index: str) -> int:
    """Give the bytes of a node of an R-tree: all of a database are of one size."""
    return len(database.execute(f"SELECT data FROM {index}_node WHERE nodeno = 1").fetchone()[0])


def packed(size: int, number: Ints, west: Floats, east: Floats, south: Floats, north: Floats) -> Tree:
    """Pack boxes into an R-tree of two dimensions.

    Parameters
    ----------
    size : int
        Bytes of a node.
    number : array of int, shape (n,)
        Numbers of the boxes' rows.
    west, east, south, north : array, shape (n,)
        Their sides; of a point, west is east and south is north.
    """
    tree, room = Tree([], []), (size - 4) // _CELL.itemsize
    level = _leaves(number, (west, east, south, north))[_strips(west, south, room)]
    # Levels from the leaves up; the nodes of each are numbered behind those below, and the root is node 1.
    next_node, depth = 2, 0
    while len(level) > room:
        count = -(-len(level) // room)
        node = np.arange(len(level)) // room + next_node
        tree.links.append(("rowid" if depth == 0 else "parent", _link(level["number"], node)))
        tree.nodes.extend(_written(level, room, size, np.arange(next_node, next_node + count)))
        level, next_node, depth = _parents(level, room, next_node), next_node + count, depth + 1
    root = np.ones(1, dtype=np.int64)
    tree.links.append(("rowid" if depth == 0 else "parent", _link(level["number"], root.repeat(len(level)))))
    tree.nodes.extend(_written(level, room, size, root, depth))
    return tree


def put(database: sqlite3.Connection, index: str, tree: Tree) -> None:
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
    for part, pairs in tree.links:
        database.execute(f"INSERT INTO {index}_{part} SELECT CAST(key AS INTEGER), value FROM json_each(?)", [pairs])
    database.executemany(f"INSERT INTO {index}_node VALUES (?, ?)", tree.nodes)


def _leaves(number: Ints, sides: tuple[Floats, ...]) -> Cells:
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


def _link(child: Ints, node: Ints) -> str:
    """Say as one JSON object in which node each row or node is: row by row they would take longer."""
    import pyarrow as pa
    import pyarrow.compute as pc

    order = np.argsort(child)
    texts = (pa.array(one[order].astype(np.int64)).cast(pa.string()) for one in (child, node))
    pairs = pc.binary_join_element_wise('"', next(texts), '":', next(texts), "")
    return f"{{{','.join(pairs.to_pylist())}}}"


def _written(level: Cells, room: int, size: int, nodes: Ints, depth: int = 0) -> Iterator[tuple[int, bytes]]:
    """Give each node with its number, as SQLite holds it."""
    octets = level.tobytes()
    step = room * _CELL.itemsize
    for at, node in enumerate(nodes.tolist()):
        cells = octets[at * step : (at + 1) * step]
        count = len(cells) // _CELL.itemsize
        yield node, (depth.to_bytes(2, "big") + count.to_bytes(2, "big") + cells).ljust(size, b"\0")
