"""Outside diameters of pipe by nominal size: from a published table, or as the log gives them.

Inches of nominal size are looked up in AWWA C151, millimetres (DN) in EN 545; a size in neither has no diameter.
"""

from __future__ import annotations

from functools import cache
from importlib import resources
from typing import NamedTuple

import numpy as np
import pyarrow as pa

from asbuilt import units
from asbuilt.arrays import Floats
from asbuilt.inputs.side_tables import read_side_table
from asbuilt.units import SmallUnit

FROM_LOG = "the log"
COLUMNS = ("unit", "size", "outside_diameter", "source")


class Diameters(NamedTuple):
    """Outside diameters, and where each stands: shapes (n,)."""

    outside_m: Floats
    """Metres; NaN where no table has the size and the log gives none."""
    source: pa.Array
    """The table that has the size, or "the log"; null where there is no diameter."""


def outside_diameters(size: Floats, sizes_in: SmallUnit, own: Floats | None = None) -> Diameters:
    """Give each pipe's outside diameter: its own where the log has it, else the published one of its size.

    Parameters
    ----------
    size : array, shape (n,)
        Nominal size; NaN where unknown.
    sizes_in : {"in", "mm"}
        Unit of nominal sizes, which tells the table: C151 for inches, EN 545 for millimetres.
    own : array, shape (n,), optional
        Outside diameter as the log or the job gives it, in the same unit; NaN where it does not.

    Returns
    -------
    Diameters

    Source
    ------
    AWWA C150/C151 and ISO 2531 / EN 545, outside diameter of ductile iron pipe; from memory.

    Examples
    --------
    >>> found = outside_diameters(np.array([12.0, 13.0, 12.0]), "in", np.array([np.nan, np.nan, 12.75]))
    >>> (found.outside_m / 0.0254).round(2).tolist()
    [13.2, nan, 12.75]
    >>> found.source.to_pylist()[1:]
    [None, 'the log']
    """
    table = published(sizes_in)
    sizes = np.array(sorted(table))
    at = np.searchsorted(sizes, size).clip(max=len(sizes) - 1)
    known = sizes[at] == size
    outside = np.where(known, np.array([table[one][0] for one in sizes])[at], np.nan)
    names = pa.array([*(table[one][1] for one in sizes), FROM_LOG])
    place = at
    if own is not None:
        given = np.isfinite(own)
        outside, known, place = np.where(given, own, outside), known | given, np.where(given, len(sizes), at)
    return Diameters(outside * units.factor(sizes_in, "m"), names.take(pa.array(place, mask=~known)))


@cache
def published(sizes_in: SmallUnit) -> dict[float, tuple[float, str]]:
    """Give the published outside diameters of sizes in inches, or in millimetres.

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
    unit, source = table.texts("unit"), table.required_texts("source")
    size, outside = table.numbers("size").tolist(), table.numbers("outside_diameter").tolist()
    return {size[at]: (outside[at], source[at]) for at in range(len(table)) if unit[at] == sizes_in}
