"""The rows or features that a job takes of a file that holds others too: by what stands in their columns."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Bools, as_mask
from asbuilt.errors import JobFileError
from asbuilt.inputs.text_table import as_text, trimmed

_SHOWN = 8


def rows_where(
    columns: Mapping[str, pa.Array | pa.ChunkedArray],
    wanted: Mapping[str, Sequence[str | float | bool]],
    *,
    where: str,
    key: str,
) -> Bools:
    """Find the rows in which every wanted column holds one of its values.

    Parameters
    ----------
    columns : mapping of name to column, each of shape (n,)
    wanted : mapping of a column's name to the values that are taken; compared as text, to the letter
    where, key : the file and the job's key, for messages

    Returns
    -------
    array of bool, shape (n,)

    Raises
    ------
    JobFileError
        When a column is not there, or no row holds what is wanted: the message names what there is.

    Examples
    --------
    >>> layer = {"system": pa.array(["water", "sewer", "water"]), "size": pa.array([12.0, 8.0, 8.0])}
    >>> rows_where(layer, {"system": ["water"], "size": [8, 12]}, where="mains.gpkg", key="centerline.where").tolist()
    [True, False, True]
    """
    taken: Bools | None = None
    for name, values in wanted.items():
        if name not in columns:
            raise JobFileError(f"{key}: {where} has no column {name!r}; its columns are {', '.join(columns) or 'none'}")
        text = _as_text(columns[name])
        # Each by itself: they may be of several kinds.
        named = pa.concat_arrays([_as_text(pa.array([one])) for one in values])
        found = as_mask(pc.is_in(text, value_set=named))
        if not found.any():
            there = sorted(one for one in pc.unique(text).to_pylist() if one is not None)
            more = f" and {len(there) - _SHOWN} more" if len(there) > _SHOWN else ""
            raise JobFileError(
                f"{key}: no {name} of {where} is {' or '.join(map(repr, map(str, values)))}; "
                f"it holds {', '.join(there[:_SHOWN]) or 'nothing'}{more}"
            )
        taken = found if taken is None else taken & found
    if taken is None:
        return np.ones(len(next(iter(columns.values()), ())), dtype=np.bool_)
    if not taken.any():
        raise JobFileError(f"{key}: no row of {where} holds all that is wanted at once; correct it")
    return taken


def _as_text(column: pa.Array | pa.ChunkedArray) -> pa.Array:
    whole = column if isinstance(column, pa.ChunkedArray) else pa.chunked_array([column])
    return trimmed(as_text(whole)).combine_chunks()
