"""Readings that tell nothing of the turns that the survey shows along a stretch, in whatever way they are read.

So are those that were entered from the other end of the main, from another sheet, or many rows off their joints: each
looks like any other, and a joint that turned far may have been given the readings of one that lies straight.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from asbuilt.arrays import Bools, Floats, Ints

if TYPE_CHECKING:
    from asbuilt.line.routes import Located

_SURE = np.log(1e5)
"""How much likelier it is that the readings are of other joints than that they are as written, at least; judgement."""
AT_ONE = np.log(1e2)
"""How much one turn adds to that at most: several must speak for it, and not one slip."""
FEWEST = 8
"""Turns, at least, by which anything is told."""
_FAR, _SPEAKING, _TOGETHER = 20.0, 3, 60
"""Squares of what readings leave of a turn, of which so many of a route must be larger within so many successive turns
for it to be looked at: of turns that are as they were read, 1 in 20,000 is (chi-square, textbook)."""
_QUIET = 0.4549
"""Median of the square of a normal deviate (chi-square of one degree of freedom, textbook)."""
_MIDDLE = 1.3863
"""Median of chi-square of two degrees of freedom; textbook."""
_UNDERSTATED = 4.0
"""Errors of shots and readings may be stated at half of what they are."""
_TAIL = 2.0
"""Degrees of freedom of Student's distribution, in which few turns may be far larger than most; judgement."""
_LOWER = np.log(np.sqrt(2.0 * np.pi) / np.sqrt(8.0))
"""By how much its density is lower than the normal one where both are highest, in logarithms; textbook."""
_TOLD = 0.5
"""Part of a turn that readings of the right joints tell at least, of what they can, but for errors; judgement."""
_LEAST_TOLD = 0.1
"""Part of a turn that readings of a main can tell, below which it is not looked at; judgement."""
_TURNS = 2.0
"""Mean square of turns, in the variance of both, from which on a stretch turns by more than errors; judgement."""
_SURELY = 3.0
"""Standard errors by which they tell less than they can."""
_SEVERAL = 3.0
"""Turns, as many as if all were alike, by which that must be known: not by one slip."""


class Compared(NamedTuple):
    """Turns that the survey shows of a route, in order along it, and what the readings there add up to.

    Shapes (2, turns), to the right and up.
    """

    turn: Floats
    """By the survey."""
    read: Floats
    """By the readings."""
    sureness: Floats
    """One over the variance of their difference; 0 where either is not known."""
    of_survey: Floats
    """The part of that variance that is the survey's."""


def turns(route: Ints, left: Floats, confidence: float) -> Ints:
    """Give the turns that contradict what was read beyond chance.

    Parameters
    ----------
    route : array of int, shape (turns,)
        In order.
    left : array, shape (turns,)
        Squares of what readings leave of each turn, in the variance of both; NaN where nothing is to be told.
    confidence : float
        Of there being none on a whole main, where there is none in truth.

    Source
    ------
    The chi-square of two degrees of freedom passes x at a rate of exp(-x / 2) (textbook).
    """
    limit = -2.0 * np.log((1.0 - confidence) / np.maximum(np.bincount(route), 1))
    found = np.flatnonzero(left > limit[route])
    for one in np.unique(route[found]).tolist():
        # Where most turns show that errors were stated too small, more is asked.
        first, end = np.searchsorted(route, [one, one + 1])
        known = left[first:end][np.isfinite(left[first:end])]
        noise = float(np.median(known)) / _MIDDLE if len(known) >= FEWEST else 1.0
        limit[one] *= np.clip(noise, 1.0, _UNDERSTATED)
    return found[left[found] > limit[route[found]]]


def joints(shot: Ints, located: Located) -> Bools:
    """Say which joints have a part in the turns at some shots, shape (joints,)."""
    odd = np.zeros(int(located.vertex.max()) + 2, dtype=np.bool_)
    odd[shot] = True
    found: Bools = (odd[located.vertex] & (located.weight < 1.0)) | (odd[located.vertex + 1] & (located.weight > 0.0))
    return found


def routes(route: Ints, left: Floats) -> list[int]:
    """Give the routes on which several turns near one another contradict their readings; see `turns`."""
    far = np.flatnonzero(left > _FAR)
    first, last = far[: len(far) - _SPEAKING + 1], far[_SPEAKING - 1 :]
    near = (last - first < _TOGETHER) & (route[first] == route[last])
    found: list[int] = np.unique(route[first[near]]).tolist()
    return found


def of_other_joints(compared: Compared, scatter: float) -> tuple[int, int] | None:
    """Give the first and last turn of the stretch whose readings are likeliest of other joints; None where none is.

    Parameters
    ----------
    compared : Compared
    scatter : float
        By how many times its readings were taken to scatter more than stated, in their variance.

    Source
    ------
    Turns that the readings are not of scatter as those of the main do: most like the middle one, few far more, as
    Student's distribution has it. The slope of one on the other, and its standard error whatever the scatter of each
    turn is, are textbook (least squares; errors of White's kind).
    """
    turn, sureness = compared.turn, compared.sureness
    known, scores = sureness > 0.0, np.zeros(turn.shape[1])
    # Readings that are alike at all joints, but for errors, are of any of them.
    if known.sum() < FEWEST or _can_tell(compared, scatter) < _LEAST_TOLD:
        return None
    for one, other, sure, at in zip(turn, compared.read, sureness, known, strict=True):
        if at.any():
            left, apart = (one - other) ** 2 * sure, (one - np.median(one[at])) ** 2 * sure
            noise, usual = (float(np.median(values[at])) / _QUIET for values in (left, apart))
            noise, usual = np.clip(noise, 1.0, _UNDERSTATED), max(usual, 1.0)
            likelier = (left / noise + np.log(noise / usual) - (_TAIL + 1.0) * np.log1p(apart / (_TAIL * usual))) / 2.0
            scores[at] += (likelier - _LOWER)[at]
    gain = np.clip(scores, -AT_ONE, AT_ONE)
    first, last = stretch(gain)
    part = slice(first, last + 1)
    if gain[part].sum() < _SURE + 2.0 * np.log(len(gain)) or known[:, part].sum() < FEWEST:
        return None
    return (first, last) if _tell_less(Compared(*(one[:, part] for one in compared)), scatter) else None


def stretch(gain: Floats) -> tuple[int, int]:
    """Give the first and last turn of the stretch for which most speaks.

    Examples
    --------
    >>> stretch(np.array([-1.0, 2.0, -1.0, 3.0, -4.0, 1.0]))
    (1, 3)
    """
    total = np.concatenate([[0.0], np.cumsum(gain)])
    last = int(np.argmax(total[1:] - np.minimum.accumulate(total[:-1])))
    first = int(np.argmin(total[: last + 1]))
    return first, last


def _apart(values: Floats, sureness: Floats) -> Floats:
    """Give by how much values are apart from their mean: what all of a stretch turns alike, any readings there tell."""
    usual = np.maximum(sureness.sum(axis=1), np.finfo(np.float64).tiny)
    found: Floats = values - ((values * sureness).sum(axis=1) / usual)[:, None]
    return found


def _can_tell(compared: Compared, scatter: float) -> float:
    """Give the part of a turn that readings tell if they are right, their errors being what they are."""
    sureness = compared.sureness
    whole = float((sureness * _apart(compared.read, sureness) ** 2).sum())
    # Readings that leave little of one another may be off all the same, as on a bell that was not cut square.
    errors = float(np.count_nonzero(sureness) - (compared.of_survey * sureness).sum()) / min(scatter, 1.0)
    return 1.0 - errors / whole if whole > 0.0 else 0.0


def _tell_less(compared: Compared, scatter: float) -> bool:
    """Say whether turns rise with what was read surely by less than they would if it was read there."""
    sureness = compared.sureness
    seen, said = (_apart(one, sureness) for one in (compared.turn, compared.read))
    weight = sureness * said**2
    whole = float(weight.sum())
    bent = float((sureness * seen**2).sum()) >= _TURNS * np.count_nonzero(sureness)
    if not bent or whole**2 <= _SEVERAL * float((weight**2).sum()):
        return False
    slope = float((sureness * said * seen).sum()) / whole
    deviation = float(np.sqrt(((sureness * said * (seen - slope * said)) ** 2).sum())) / whole
    can_tell = _can_tell(compared, scatter)
    return slope < _TOLD * can_tell and slope + _SURELY * deviation < can_tell
