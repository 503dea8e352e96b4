"""Pipe that is not of ductile iron, as a log says it, and whose outside diameters it has.

One nominal size has several outside diameters: 12 in pipe of ductile iron, and of PVC in cast-iron sizes, is 13.20 in
across, of PVC or steel in iron pipe sizes 12.75 in. A deflection read with a rule is wrong by as much.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Bools, Ints, as_mask

if TYPE_CHECKING:
    from asbuilt.keys.log import Records

PIPE_FIELD = "pipe_sizes"
"""Which diameters pipe has that is not of ductile iron, by record; null where it is. Written into no layer."""
CAST_IRON, IRON_PIPE, NOT_SAID = "cast-iron sizes", "iron pipe sizes", "not said"
ASK_SERIES = (
    '; where pipe is not of ductile iron, say records.diameters = "ductile-iron" if it has the outside diameters of '
    'ductile iron, as PVC of AWWA C900 has, or "iron-pipe" (IPS)'
)
_ORDER = (NOT_SAID, IRON_PIPE, CAST_IRON)
_RANKS = {"": 0} | {sizes: rank for rank, sizes in enumerate(_ORDER, start=1)}
"""Of two cells of a record, the one that says more holds."""
_FIELDS = ("pipe_class", "size", "kind")
_COLUMN = re.compile(r"(?i)pipe|mat(?:eria)?l|mat'l|class|spec|\bs?dr\b")
_CAST_IRON = re.compile(
    r"(?i)\bC[\s-]?90[09]\b|\b[CD]\.?I\.?[\s-]?O\.?D\b|\bDIPS\b|\b[CD]I[\s-]sizes?\b|cast[\s-]iron\s+(?:size|o\.?d)"
)
_IRON_PIPE = re.compile(r"(?i)\bI\.?P\.?S\b|\biron[\s-]pipe[\s-]sizes?\b|\bD[\s-]?2241\b")
_IRON = re.compile(r"(?i)\bD\.?I\.?P?\b|\bductile\b|\bC\.?I\.?P?\b|\bcast[\s-]iron\b")
_OTHER = re.compile(
    r"(?i)\b(?:C?PVC|UPVC|PVCO|[COU]-PVC)\b|\bPVC-[MOU]\b|\bC[\s-]?90[1-8]\b|\bS?DR[\s-]?\d|\b[HM]DPE\b"
    r"|\bPE[\s-]?(?:80|100|3\d{3}|4710)\b|\bpolyethylene\b(?!\s*(?:wrap|encas|sleev|bag|tub))|^steel$|\bsteel\s+pipe\b"
    r"|\bP?CCP\b|\basbestos\b|\bGRP\b|\bD[\s-]?3034\b"
)


def sizes_of(text: str) -> str:
    """Say whose outside diameters the pipe that a cell names has; "" where the cell names none but of ductile iron.

    AWWA C900 and C909 are pipe of PVC in cast-iron sizes, ASTM D2241 in iron pipe sizes (from memory). PVC by itself,
    and all that is known by its dimension ratio only, is made in both.

    Examples
    --------
    >>> [sizes_of(text) for text in ("C900 DR 18", "PVC SDR 21 IPS", "PVC DR18", "CL 350", "DIP")]
    ['cast-iron sizes', 'iron pipe sizes', 'not said', '', '']
    """
    if _CAST_IRON.search(text):
        return CAST_IRON
    if _IRON_PIPE.search(text):
        return IRON_PIPE
    return NOT_SAID if _OTHER.search(text) and not _IRON.search(text) else ""


def pipe_said(
    fields: Mapping[str, pa.Array], unread: Mapping[str, pa.Array], wanted: Records, rows: int
) -> dict[str, pa.Array]:  # fmt: skip
    """Give `PIPE_FIELD` of the records that say, or whose job says, that their pipe is not of ductile iron.

    Parameters
    ----------
    fields : mapping of field to its cells as text
    unread : mapping of column to the cells that no field is read from
    wanted : Records
    rows : how many there are

    Returns
    -------
    dict
        Without it where no record is of such pipe.

    Examples
    --------
    >>> from asbuilt.keys.log import Records
    >>> wanted = Records(station_unit="ft", laying_length=20.0)
    >>> classes, material = pa.array(["DR 18", "C900 DR 18", "CL 350"]), pa.array(["PVC", "PVC", "DIP"])
    >>> pipe_said({"pipe_class": classes}, {"Material": material}, wanted, 3)["pipe_sizes"].to_pylist()
    ['not said', 'cast-iron sizes', None]
    """
    columns = [fields[field] for field in _FIELDS if field in fields]
    columns += [cells for name, cells in unread.items() if _COLUMN.search(name)]
    found = np.zeros(rows, dtype=np.int8)
    for cells in columns:
        coded = pc.dictionary_encode(cells)
        said = np.array([_RANKS[sizes_of(text)] for text in coded.dictionary.to_pylist()], dtype=np.int8)
        if said.any():
            at = coded.indices.fill_null(len(said)).to_numpy(zero_copy_only=False)
            found = np.maximum(found, np.append(said, np.int8(0))[at])
    if wanted.diameters is not None:
        found[found == _RANKS[NOT_SAID]] = _RANKS[IRON_PIPE if wanted.diameters == "iron-pipe" else CAST_IRON]
        if wanted.diameters == "iron-pipe":
            found[found == 0] = _RANKS[IRON_PIPE]
    return {PIPE_FIELD: pa.array([None, *_ORDER]).take(pa.array(found))} if found.any() else {}


def pipe_of(fields: Mapping[str, pa.Array], record: Ints) -> pa.Array | None:
    """Give `PIPE_FIELD` of some records; None where the log is of ductile iron."""
    return fields[PIPE_FIELD].take(pa.array(record)) if PIPE_FIELD in fields else None


def not_iron(fields: Mapping[str, pa.Array], record: Ints) -> Bools:
    """Say which of some records are of pipe that is not of ductile iron."""
    pipe = pipe_of(fields, record)
    found: Bools = np.zeros(len(record), dtype=np.bool_) if pipe is None else as_mask(pc.is_valid(pipe))
    return found
