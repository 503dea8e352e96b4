"""Outside diameters of pipe by nominal size: from a published table, or as the log gives them.

Inches of nominal size are looked up in AWWA C151, or in the series of the pipe that the log names, millimetres (DN) in
EN 545; a size in none of them has no diameter, nor has pipe of which nobody says in what series it is.
"""

from __future__ import annotations

from functools import cache
from importlib import resources
from typing import NamedTuple

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt import units
from asbuilt.arrays import Floats, as_mask
from asbuilt.inputs.side_tables import read_side_table
from asbuilt.units import SmallUnit

FROM_LOG = "the log"
IRON = "ductile iron"
COLUMNS = ("unit", "pipe", "size", "outside_diameter", "source")


class Diameters(NamedTuple):
    """Outside diameters, and where each stands: shapes (n,)."""

    outside_m: Floats
    """Metres; NaN where no table has the size and the log gives none."""
    source: pa.Array
    """The table that has the size, or "the log"; null where there is no diameter."""


def outside_diameters(
    size: Floats, sizes_in: SmallUnit, own: Floats | None = None, pipe: pa.Array | None = None
) -> Diameters:
    """Give each pipe's outside diameter: its own where the log has it, else the published one of its size.

    Parameters
    ----------
    size : array, shape (n,)
        Nominal size; NaN where unknown.
    sizes_in : {"in", "mm"}
        Unit of nominal sizes, which tells the table: C151 for inches, EN 545 for millimetres.
    own : array, shape (n,), optional
        Outside diameter as the log or the job gives it, in the same unit; NaN where it does not.
    pipe : pyarrow string array, shape (n,), optional
        Whose diameters pipe has that is not of ductile iron, as `pipe.pipe_said` gives it; null where it is.

    Returns
    -------
    Diameters

    Source
    ------
    AWWA C150/C151 and ISO 2531 / EN 545, outside diameter of ductile iron pipe; AWWA C900, of PVC pipe in cast-iron
    sizes; ASTM D2241 and ASME B36.10M, of pipe in iron pipe sizes; all from memory.

    Examples
    --------
    >>> found = outside_diameters(np.array([12.0, 13.0, 12.0]), "in", np.array([np.nan, np.nan, 12.75]))
    >>> (found.outside_m / 0.0254).round(2).tolist()
    [13.2, nan, 12.75]
    >>> found.source.to_pylist()[1:]
    [None, 'the log']
    """
    found, source = _published(size, sizes_in, IRON)
    for sizes in [] if pipe is None else pc.unique(pipe).drop_null().to_pylist():
        here = pc.fill_null(pc.equal(pipe, sizes), False)
        other, other_source = _published(size, sizes_in, sizes)
        found, source = np.where(as_mask(here), other, found), pc.if_else(here, other_source, source)
    if own is not None:
        given = np.isfinite(own)
        found, source = np.where(given, own, found), pc.if_else(pa.array(given), FROM_LOG, source)
    return Diameters(found * units.factor(sizes_in, "m"), source)


def _published(size: Floats, sizes_in: SmallUnit, pipe: str) -> tuple[Floats, pa.Array]:
    """Give the published diameter of each size, and where it stands; NaN and null where none is."""
    table = published(sizes_in, pipe)
    sizes = np.array([*sorted(table), np.inf])
    at = np.searchsorted(sizes[:-1], size)
    known = sizes[at] == size
    rows = [table[one] for one in sizes[:-1].tolist()]
    outside = np.array([*(row[0] for row in rows), np.nan])[at]
    names = pa.array([row[1] for row in rows], pa.string())
    return np.where(known, outside, np.nan), names.take(pa.array(at, mask=~known))


@cache
def published(sizes_in: SmallUnit, pipe: str = IRON) -> dict[float, tuple[float, str]]:
    """Give the published outside diameters of sizes in inches, or in millimetres, of one kind of pipe.

    Returns
    -------
    dict
        Nominal size to (outside diameter in the same unit, source).

    Examples
    --------
    >>> published("in")[12.0]
    (13.2, 'AWWA C150/C151, outside diameter of ductile iron pipe (from memory)')
    """
    fields = {name: frozenset[str]() for name in COLUMNS}
    with resources.as_file(resources.files("asbuilt").joinpath("data/outside_diameters.csv")) as path:
        table = read_side_table(path, fields, required=COLUMNS, key="the published diameters")
    kinds, source = zip(table.texts("unit"), table.texts("pipe"), strict=True), table.required_texts("source")
    size, outside = table.numbers("size").tolist(), table.numbers("outside_diameter").tolist()
    return {size[at]: (outside[at], source[at]) for at, kind in enumerate(kinds) if kind == (sizes_in, pipe)}
