"""Joint numbers: the order in which a crew numbers the joints it makes.

A number such as `J-101A` has a prefix, a count and a letter; within one prefix the counts run with the
stations, or against them where the crew laid downstation.
"""

from __future__ import annotations

import bisect
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Bools, Floats, Ints, as_floats, as_ints, codes

_PATTERN = r"^(?P<prefix>.*?)(?P<count>\d{1,15})(?P<letter>[A-Za-z]?)$"


class JointNumbers(NamedTuple):
    """Joint numbers taken apart: shapes (n,)."""

    series: Ints
    """Same value for the same prefix; -1 where there is no count."""
    number: Floats
    """The count, with a letter as a small fraction behind it (101A lies between 101 and 102)."""


def joint_numbers(text: pa.Array) -> JointNumbers:
    """Take joint numbers apart into their series and count.

    Examples
    --------
    >>> joint_numbers(pa.array(["J-101", "J-101A", "K-7", "plug"]))
    JointNumbers(series=array([ 0,  0,  1, -1]), number=array([101.  , 101.01,   7.  ,    nan]))
    >>> joint_numbers(pa.array(["7", None, "7"]))
    JointNumbers(series=array([ 0, -1,  0]), number=array([ 7., nan,  7.]))
    """
    coded = pc.dictionary_encode(text)  # routes number their joints alike: each distinct text is taken apart once
    parts = pc.extract_regex(coded.dictionary, _PATTERN)
    prefix = pc.utf8_upper(pc.struct_field(parts, "prefix"))
    count = as_floats(pc.cast(pc.struct_field(parts, "count"), pa.float64()))
    letter = pc.utf8_upper(pc.struct_field(parts, "letter"))
    place = pc.index_in(letter, value_set=pa.array(list("ABCDEFGHIJKLMNOPQRSTUVWXYZ")))
    # A blank one has the last place of both, behind those of the texts.
    at = as_ints(coded.indices, -1)
    series, number = np.append(codes(prefix), -1), np.append(count + (as_ints(place, -1) + 1) / 100.0, np.nan)
    return JointNumbers(series[at], number[at])


def in_order(values: Sequence[float] | Floats | Ints, *, rising: bool = False) -> Bools:
    """Mark a longest run of values that never falls: what is not marked is what stands out of order.

    Parameters
    ----------
    values : array, shape (n,)
    rising : bool
        The run must rise from each value to the next.

    Returns
    -------
    array of bool, shape (n,)

    Examples
    --------
    >>> in_order([1.0, 2.0, 9.0, 3.0, 4.0]).tolist()
    [True, True, False, True, True]
    """
    values = np.asarray(values, dtype=np.float64)
    # Equal values beside one another go together: a log of many days has few runs of them.
    first = (
        np.flatnonzero(np.append(True, np.diff(values) != 0)) if len(values) and not rising else np.arange(len(values))
    )
    held = np.diff(np.append(first, len(values)))
    # For each value at which a run can end, rising: how many values the longest such run has, and its last ones.
    ends: list[float] = []
    counts: list[int] = []
    end_at: list[int] = []
    before = np.full(len(first), -1, dtype=np.int64)
    place = bisect.bisect_left if rising else bisect.bisect_right
    for at, (value, own) in enumerate(zip(values[first].tolist(), held.tolist(), strict=True)):
        ahead = place(ends, value)
        count = own
        if ahead:
            before[at] = end_at[ahead - 1]
            count += counts[ahead - 1]
        behind = ahead
        while behind < len(ends) and counts[behind] <= count:
            behind += 1
        ends[ahead:behind], counts[ahead:behind], end_at[ahead:behind] = [value], [count], [at]
    marked = np.zeros(len(first), dtype=np.bool_)
    at = end_at[-1] if end_at else -1
    while at >= 0:
        marked[at] = True
        at = int(before[at])
    return np.repeat(marked, held)


def out_of_order(group: Ints, count: Floats) -> Bools:
    """Mark the joints whose numbers do not run with the other numbers of their group.

    Parameters
    ----------
    group : array of int, shape (n,)
        Joints to be compared with one another, each group contiguous; -1 for none.
    count : array, shape (n,)
        Their numbers, in the order of their stations.

    Examples
    --------
    >>> out_of_order(np.zeros(5, dtype=np.int64), np.array([5.0, 4.0, 1.0, 3.0, 2.0])).tolist()
    [False, False, True, False, False]
    >>> out_of_order(np.zeros(4, dtype=np.int64), np.array([32.0, 33.0, 32.0, 35.0])).tolist()
    [False, False, True, False]
    """
    wrong = np.zeros(len(group), dtype=np.bool_)
    together = (group[1:] == group[:-1]) & (group[1:] >= 0)
    step = np.where(together, np.diff(count), 0.0)
    at = np.searchsorted(group_starts(group), np.arange(1, len(group)), side="right")
    groups = int(at.max(initial=0)) + 1
    rising = np.bincount(at, step > 0, groups)
    falling = np.bincount(at, step < 0, groups)
    # Only the groups that both rise and fall need the search for what stands out.
    starts = np.append(group_starts(group), len(group))
    for number in np.flatnonzero((rising > 0) & (falling > 0)):
        part = slice(starts[number - 1], starts[number])
        direction = 1.0 if rising[number] >= falling[number] else -1.0
        # Of 32, 33, 32, 35 the second 32 is wrong, not 33; one number twice in a row is repeated, not out of order.
        own = np.concatenate([[True], np.diff(count[part]) != 0])
        wrong[part] = ~in_order(direction * count[part][own], rising=True)[np.cumsum(own) - 1]
    return wrong


def group_starts(group: Ints) -> Ints:
    """Give the index at which each contiguous group begins."""
    if not len(group):
        return np.zeros(0, dtype=np.int64)
    return np.concatenate([[0], np.flatnonzero(np.diff(group) != 0) + 1])
