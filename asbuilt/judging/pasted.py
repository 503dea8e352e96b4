"""Blocks of readings that stand in a log twice, in the same order, at other joints: pasted over them, and not read.

Each block by itself looks like any other rows, and a survey of sparse shots bounds no joint by itself: so nothing else
tells it. Which of the two was read nobody knows, so nothing is taken from either.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import numpy.typing as npt

from asbuilt.arrays import Bools, Floats, Ints, as_floats, codes
from asbuilt.judging.readings import UNKNOWNS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from asbuilt.inputs.log import Log

_ROWS = 5
"""Rows of a block, at least."""
BY_CHANCE = 1e-6
"""Chance makes a block as long as one that is told in fewer than so many logs."""
_AT_ONCE, _OVER = 250_000, 10_000
"""Rows of a log that are looked at together, with so many of those behind them: a block is pasted near where it is."""
_FACTOR = np.uint64(0x9E3779B97F4A7C15)
"""An odd number by which rows are mixed into one; any does."""

Keys = npt.NDArray[np.uint64]


class Pasted(NamedTuple):
    """Blocks of records whose readings stand twice."""

    block: Ints
    """Block of each record; -1 of those in none: shape (records,)."""
    same_as: tuple[str, ...]
    """Of each block, the rows that have the same readings."""


def pasted_blocks(log: Log, route: Ints, fields: Sequence[str], apart: Bools, elsewhere: Ints) -> Pasted:
    """Find blocks of records that have the readings of others, row by row.

    Parameters
    ----------
    log : Log
    route : array of int, shape (records,)
    fields : sequence of str
        Names of the readings.
    apart : array of bool, shape (records,)
        Records of which something else is said already, as that they were copied down.
    elsewhere : array of int, shape (records,)
        The record that each one repeats as a whole, of which is told; -1 of others.

    Returns
    -------
    Pasted
        Blocks in order, none that overlap one another, and none of the same joints, which were keyed twice.

    Source
    ------
    A row is as likely to repeat by chance as its readings come again among the rows between which they stand; a block
    of n rows may begin anywhere, so that the product over its rows, by the square of the rows, is how often chance
    makes one. Rows that are even all around are what crews write, and count for nothing.
    """
    block, said, station = np.full(len(log), -1, dtype=np.int64), list[str](), log.stations.value
    fields = [field for field in fields if field in log.fields]
    if len(fields) < UNKNOWNS:
        return Pasted(block, ())
    for start in range(0, max(len(log) - _OVER, 1), _AT_ONCE):
        some = slice(start, start + _AT_ONCE + _OVER)
        for first, last, back in _found(log, route, fields, apart, some).tolist():
            rows, others = np.arange(first, last + 1), np.arange(first, last + 1) - back
            if (block[rows] >= 0).any() or (block[others] >= 0).any():
                continue
            again = (route[rows] == route[others]) & (station[rows] == station[others])
            if 2 * np.count_nonzero(again | (elsewhere[rows] == others)) > len(rows):
                continue
            for these, those in ((others, rows), (rows, others)):
                block[these] = len(said)
                of = f" of {log.file[int(those[0])].as_py()}" if len(log.files) > 1 else ""
                said.append(f"rows {log.row[int(those[0])]} to {log.row[int(those[-1])]}{of}")
    return Pasted(block, tuple(said))


def _found(log: Log, route: Ints, fields: Sequence[str], apart: Bools, some: slice) -> Ints:
    """Find the blocks among some records that chance hardly makes: the first and last, and how far ahead theirs are."""
    key, uneven = _keys([as_floats(log.fields[field][some]) for field in fields])
    new = np.diff(route[some], prepend=-2) != 0
    if len(log.files) > 1:
        new |= np.diff(codes(log.file[some]), prepend=-2) != 0
    found = _repeated(key, (key != 0) & ~apart[some], new)
    if len(found):
        # Of what chance repeats there may be much: only what it hardly does is looked at one by one.
        sums = np.append(0.0, np.cumsum(np.log(_likely(key, uneven))))
        made = sums[found[:, 1] + 1] - sums[found[:, 0]] + 2.0 * np.log(len(log))
        found = found[(made <= np.log(BY_CHANCE)) & (found[:, 2] > found[:, 1] - found[:, 0])]
    there: Ints = found + np.array([some.start, some.start, 0])
    return there


def _keys(read: Sequence[Floats]) -> tuple[Keys, Bools]:
    """Give a number for the readings of each record, 0 where too few were read, and where they are not even."""
    key, count = np.zeros(len(read[0]), dtype=np.uint64), np.zeros(len(read[0]), dtype=np.int8)
    least, most = np.full(len(key), np.inf), np.full(len(key), -np.inf)
    for one in read:
        known = np.isfinite(one)
        key = _mixed(key, np.where(known, one, -1.0).view(np.uint64))
        count += known
        least, most = np.fmin(least, one), np.fmax(most, one)
    return np.where(count >= UNKNOWNS, key | np.uint64(1), np.uint64(0)), most > least


def _mixed(key: Keys, more: Keys) -> Keys:
    found: Keys = (key ^ (key >> np.uint64(29))) * _FACTOR + more
    return found


def _likely(key: Keys, uneven: Bools) -> Floats:
    """Give how likely the readings of each record come again by chance, by the rows between which they stand."""
    _, of, count = np.unique(key, return_inverse=True, return_counts=True)
    first, last = np.full(len(count), len(key)), np.zeros(len(count), dtype=np.int64)
    at = np.arange(len(key))
    np.minimum.at(first, of, at)
    np.maximum.at(last, of, at)
    often: Floats = (np.maximum(count - 1, 1) / np.maximum(last - first, 1))[of]
    return np.where(uneven, np.minimum(often, 1.0), 1.0)


def _repeated(key: Keys, usable: Bools, new: Bools) -> Ints:
    """Find runs of records that repeat others, (n, 3): first, last, and how many rows before them these stand.

    A run lies in one file and on one route, where none is `new` but its first.
    """
    many = max(len(key) - _ROWS + 1, 0)
    left_out, begun = (np.concatenate([[0], np.cumsum(one)]) for one in (~usable, new))
    whole = (left_out[_ROWS:] == left_out[:many]) & (begun[_ROWS:] == begun[1 : many + 1])
    mixed = key[:many].copy()
    for step in range(1, _ROWS):
        mixed = _mixed(mixed, key[step : step + many])
    at = np.flatnonzero(whole)
    mixed = mixed[at]
    ordered = np.sort(mixed)
    if not (ordered[1:] == ordered[:-1]).any():
        return np.zeros((0, 3), dtype=np.int64)
    order = np.argsort(mixed, kind="stable")
    again = np.flatnonzero(mixed[order[1:]] == mixed[order[:-1]])
    later, back = at[order[again + 1]], at[order[again + 1]] - at[order[again]]
    order = np.argsort(later)
    later, back = later[order], back[order]
    begins = np.flatnonzero((np.diff(later, prepend=-2) != 1) | (np.diff(back, prepend=0) != 0))
    ends = np.append(begins[1:], len(later))[: len(begins)] - 1
    return np.stack([later[begins], later[ends] + _ROWS - 1, back[begins]], axis=1)
