"""Columns of a log that no field is read from: named where they are about inspection, searched for words of trouble."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping, Sequence

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import as_mask, first_bytes
from asbuilt.inputs.trouble import has_word, tells
from asbuilt.inputs.values import yes_no

ELSEWHERE_FIELD = "said_elsewhere"
"""What unread columns say of trouble, by record: judged by no check but read to the reviewer, written into no layer."""

_SPEAKS_OF_INSPECTION = re.compile(
    r"(?:^|[^a-z])(?:un|not? ?|non-?)?(?:gasket|gskt|lub|clean|gau?g|feeler|gap|torque|insert|deflect|leak|damag|"
    r"defect|fail|accept|reject|pass(?:ed)?(?:[^a-z]|$)|repair|seat|restrain|align)",
    re.IGNORECASE,
)
_DENIED = re.compile(r"(?:^|[^a-z])(?:no|not|non|free|without|un)(?:[^a-z]|$)", re.IGNORECASE)
_ANSWERS = 12
"""Distinct words at most of a column that answers yes or no."""
_CROSS = re.compile(r"\s*[xX✗✘]\s*")


def told(columns: Mapping[str, pa.Array], asked: Collection[str], where: str) -> list[str]:
    """Name, as notes, the unread columns that are about a joint's inspection, by their names or by their cells.

    Parameters
    ----------
    columns : mapping of str to pyarrow string array, shape (n,)
        The cells of each column that no field is read from.
    asked : those of them that are asked about already
    where : the file, for messages

    Examples
    --------
    >>> lots = pa.array(["B", "C", "D"])
    >>> told({"Lot": lots, "Leaking?": lots, "Market Street": lots}, (), "log.csv")
    ["log.csv: nothing is read from column 'Leaking?', though its name speaks of inspection; map it in records.columns \
where it is one of the fields, or read it yourself"]
    >>> told({"Lot": lots, "Stabbed": pa.array(["Y", "N", None])}, (), "log.csv")
    ["log.csv: nothing is read from column 'Stabbed', though its cells say yes or no; map it in records.columns where \
it is one of the fields, or read it yourself"]
    """
    left = {name: cells for name, cells in columns.items() if name not in asked}
    speaking = [name for name in left if _SPEAKS_OF_INSPECTION.search(name)]
    answering = [name for name, cells in left.items() if name not in speaking and _all_answers(cells)]
    return [
        *_named(speaking, "name speaks", "names speak", "of inspection", where),
        *_named(answering, "cells say", "cells say", "yes or no", where),
    ]


def _named(columns: Sequence[str], one: str, several: str, what: str, where: str) -> list[str]:
    if not columns:
        return []
    column, though, each, them = "column", f"its {one}", "it", "it"
    if len(columns) > 1:
        column, though, each, them = "columns", f"their {several}", "each", "them"
    return [
        f"{where}: nothing is read from {column} {', '.join(map(repr, columns))}, though {though} {what}; map {each} "
        f"in records.columns where it is one of the fields, or read {them} yourself"
    ]


def _all_answers(cells: pa.Array) -> bool:
    """Say whether a column holds answers in words or marks; counts such as 1 and 0 may be anything."""
    words = [word for word in pc.unique(cells).drop_null().to_pylist() if word.strip()]
    return 0 < len(words) <= _ANSWERS and all(yes_no(word) is not None and not word.strip().isdigit() for word in words)


def said(columns: Mapping[str, pa.Array], words: Sequence[str]) -> pa.Array | None:
    """Give what unread columns say of trouble: cells with a word of trouble, or a yes below such a word.

    Parameters
    ----------
    columns : mapping of str to pyarrow string array, shape (n,)
        The cells of each column that no field is read from.
    words : beginnings of words that may tell of trouble

    Returns
    -------
    pyarrow string array, shape (n,), or None
        ``column: cell``, one after the other; null where a record says nothing of trouble, None where none does.

    Examples
    --------
    >>> columns = {"Leaking?": pa.array(["Yes", "No"]), "Foreman": pa.array(["bell cracked", None])}
    >>> said(columns, ["leak", "crack"]).to_pylist()
    ['Leaking?: Yes; Foreman: bell cracked', None]
    """
    parts = []
    for name, cells in columns.items():
        telling = as_mask(tells(cells, words))
        if has_word(pa.array([name]), words)[0].as_py():
            coded, is_trouble = pc.dictionary_encode(cells), _answers("no" if _DENIED.search(name) else "yes")
            answers = pa.array([is_trouble(one) for one in coded.dictionary.to_pylist()], pa.bool_())
            telling |= as_mask(answers.take(coded.indices))
        if telling.any():
            nothing = pa.scalar(None, pa.string())
            parts.append(pc.if_else(pa.array(telling), pc.binary_join_element_wise(name, cells, ": "), nothing))
    return one_after_another(*parts) if parts else None


_MISPLACED = r"(?i)^(?:void|fail(?:ed|ure)?|reject(?:ed)?|redo|re-do|not ok|no good)(?:\W|$)"
_BEGINS = np.isin(np.arange(256), list(b"vfrnVFRN"))


def misplaced(columns: Mapping[str, pa.Array]) -> pa.Array | None:
    """Give what columns of names and numbers say of trouble, in words that are neither: void, failed, rejected, redo.

    Parameters
    ----------
    columns : mapping of str to pyarrow string array, shape (n,)

    Returns
    -------
    pyarrow string array, shape (n,), or None
        As for `said`.

    Examples
    --------
    >>> misplaced({"Jt": pa.array(["12", "VOID"]), "By": pa.array(["R. Vale", "V. Failor"])}).to_pylist()
    [None, 'Jt: VOID']
    """
    parts = []
    for name, cells in columns.items():
        # A large log has few such cells, and only these are searched.
        if not _BEGINS[first_bytes(cells)].any():
            continue
        if as_mask(telling := pc.match_substring_regex(cells, _MISPLACED)).any():
            nothing = pa.scalar(None, pa.string())
            parts.append(pc.if_else(telling, pc.binary_join_element_wise(name, cells, ": "), nothing))
    return one_after_another(*parts) if parts else None


def one_after_another(*texts: pa.Array) -> pa.Array:
    """Join the texts of each row that are there; null where none is.

    Examples
    --------
    >>> one_after_another(pa.array(["a", None, None]), pa.array(["b", "c", None])).to_pylist()
    ['a; b', 'c', None]
    """
    # Not the joining kernel's own way of leaving nulls out: it drops rows that have nothing else.
    ended = [pc.fill_null(pc.binary_join_element_wise(one, "; ", ""), "") for one in texts]
    joined = pc.binary_join_element_wise(*ended, "")
    ends = pc.utf8_slice_codeunits(joined, 0, -2)
    return pc.if_else(pc.equal(joined, ""), pa.scalar(None, pa.string()), ends)


def _answers(wanted: str) -> Callable[[str], bool]:
    return lambda cell: yes_no(cell) == wanted or (wanted == "yes" and bool(_CROSS.fullmatch(cell)))
