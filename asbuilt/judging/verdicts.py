"""Verdicts, and what they rest on: measured, or within the allowable only if something unmeasured holds."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Bools
from asbuilt.schema import ASSUMPTIONS

if TYPE_CHECKING:
    from collections.abc import Mapping


def assumption_words(rests_on: Mapping[str, Bools]) -> pa.Array:
    """Give the words for what each joint's verdict rests on without its being measured.

    Parameters
    ----------
    rests_on : mapping of a word of `schema.ASSUMPTIONS` to an array of bool, shape (n,)

    Returns
    -------
    pyarrow string array, shape (n,)
        Words apart by spaces, in the order of `schema.ASSUMPTIONS`; null where all was measured.

    Examples
    --------
    >>> level, one_way = np.array([True, True, False]), np.array([False, True, False])
    >>> assumption_words({"level": level, "one-way": one_way}).to_pylist()
    ['level', 'one-way level', None]
    """
    words = [word for word in ASSUMPTIONS if word in rests_on]
    code = np.sum([rests_on[word].astype(np.int64) << bit for bit, word in enumerate(words)], axis=0)
    texts = [" ".join(word for bit, word in enumerate(words) if number >> bit & 1) for number in range(1 << len(words))]
    return pa.array([None, *texts[1:]], pa.string()).take(pa.array(code))


def if_assumed(verdict: pa.Array, assumes: pa.Array) -> pa.Array:
    """Turn "within" into "within-assumed" where it rests on something that was not measured.

    Parameters
    ----------
    verdict, assumes : pyarrow string arrays, shape (n,)

    Examples
    --------
    >>> if_assumed(pa.array(["within", "within", "over"]), pa.array([None, "level", "level"])).to_pylist()
    ['within', 'within-assumed', 'over']
    """
    assumed = pc.and_(pc.equal(verdict, "within"), assumes.is_valid())
    return pc.if_else(assumed, "within-assumed", verdict)
