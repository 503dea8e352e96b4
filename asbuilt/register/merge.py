"""Which joint of the register an incoming joint is: new, known and unchanged, changed, or in conflict.

Joints are matched by joint_uid, else by route and place; a doubt is a conflict, and conflicts are left out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt
    import pyarrow as pa

    from asbuilt.arrays import Bools, Floats, Ints

NEW, UPDATED, UNCHANGED, CONFLICT = 0, 1, 2, 3
TOLERANCE_M = 0.3048
"""One foot: places nearer to one another are one, unless a load is told another distance."""
MOVED = 0.001
"""Metres: less is a rounding of coordinates, not another place."""
FAR = 100.0
"""Metres: a correction that moves a joint farther is a second joint by that name, as of two jobs under one name."""


@dataclass(frozen=True)
class Candidates:
    """Pairs of an incoming joint and a joint of the register that it may be; arrays of shape (pairs,)."""

    row: Ints
    """Index of the incoming joint."""
    joint: Ints
    """A number of the register's joint: the same joint has the same number in all pairs."""
    same_uid: Bools
    same_route: Bools
    away: Floats
    """Horizontal distance between the two, metres."""
    rise: Floats
    """Difference of their elevations, metres; NaN where either is unknown."""
    same_job: Bools
    """Whether an earlier load of the same job spoke of the register's joint."""
    known_content: Ints
    """What that load said of it, digested; 0 where none did."""
    known_away: Floats
    """Distance from where that load had it, metres."""
    agreed: Bools
    """Whether somebody settled that the two are one joint."""


@dataclass(frozen=True)
class Decision:
    """What becomes of each incoming joint; arrays of shape (n,)."""

    what: Ints
    """NEW, UPDATED, UNCHANGED or CONFLICT."""
    pair: Ints
    """Index of the pair that says which joint of the register it is, or is in conflict with; -1 for a new one."""
    reason: pa.Array
    """Code of the conflict; null where there is none."""


SAME_JOINT_ELSEWHERE = "same-joint-elsewhere"
TWO_IN_ONE_PLACE = "two-joints-in-one-place"
SAME_ROUTE_ELSEWHERE = "same-route-elsewhere"
SURVEYED_AGAIN = "surveyed-again"
RENUMBERED = "renumbered"
NUMBER_OF_ANOTHER = "number-of-another"
OF_NUMBERS = (RENUMBERED, NUMBER_OF_ANOTHER)
"""Of a log whose numbers may have moved."""
RECORD_OF_ANOTHER = "record-of-another"


@dataclass(frozen=True)
class Held:
    """Joints that wait because numbers or routes of their log may have been exchanged; arrays of shape (n,)."""

    pair: Ints
    """Index of the pair that each waits with; -1 for all others."""
    reason: npt.NDArray[np.object_]
    """RENUMBERED, with the joint of its place; NUMBER_OF_ANOTHER or RECORD_OF_ANOTHER, with its number's; or None."""


def decide(count: int, content: Ints, pairs: Candidates, tolerance: float, held: Held | None = None) -> Decision:
    """Tell what becomes of each incoming joint.

    Parameters
    ----------
    count : int
        Number of incoming joints.
    content : array of int, shape (count,)
        What the job says of each, digested.
    pairs : Candidates
        At least every pair of the same joint_uid, every one that was settled, and every pair within the tolerance of
        one another whose incoming joint is not known by its joint_uid at that place.
    tolerance : float
        Metres within which two places are one.
    held : Held, optional
        Joints that wait unless somebody settled which ones they are.

    Returns
    -------
    Decision

    Examples
    --------
    One joint known by its joint_uid, 0.1 m away, whose record changed; one that is new:

    >>> one = lambda value: np.array([value])
    >>> pairs = Candidates(row=one(0), joint=one(7), same_uid=one(True), same_route=one(True), away=one(0.1),
    ...     rise=one(np.nan), same_job=one(True), known_content=one(1), known_away=one(0.1), agreed=one(False))
    >>> decide(2, np.array([5, 6]), pairs, 0.3).what.tolist() == [UPDATED, NEW]
    True
    """
    pair = np.full(count, -1, dtype=np.int64)
    reason = np.full(count, None, dtype=object)
    by_uid = np.flatnonzero(pairs.same_uid)
    pair[pairs.row[by_uid]] = by_uid
    near = pairs.away <= tolerance
    # Its own job may move a joint: a corrected station. Of another job it is a second joint by that name.
    corrected = pairs.same_job[by_uid] & (pairs.away[by_uid] <= FAR)
    elsewhere = by_uid[~near[by_uid] & ~corrected]
    reason[pairs.row[elsewhere]] = SAME_JOINT_ELSEWHERE
    _match_by_place(pairs, tolerance, pair, reason)
    if held is not None:
        waits = held.pair >= 0
        pair[waits], reason[waits] = held.pair[waits], held.reason[waits]
    _match_as_agreed(pairs, pair, reason)
    what = np.full(count, NEW, dtype=np.int64)
    matched = np.flatnonzero(pair >= 0)
    of = pair[matched]
    same = pairs.same_job[of] & (pairs.known_content[of] == content[matched]) & (pairs.known_away[of] <= MOVED)
    what[matched] = np.where(same, UNCHANGED, UPDATED)
    what[reason != None] = CONFLICT  # noqa: E711 - elementwise
    # A question needs none of what a load does.
    import pyarrow as pa

    return Decision(what, pair, pa.array(reason, pa.string()))


def _match_by_place(pairs: Candidates, tolerance: float, pair: Ints, reason: npt.NDArray[np.object_]) -> None:
    """Match joints without a joint_uid in the register by their place; several candidates are a conflict."""
    # A joint that another record names by its joint_uid is that one's, wherever the correction moved it.
    taken = np.isin(pairs.joint, pairs.joint[pairs.same_uid])
    # On another route it is another joint; if it may lie above or below, both stand.
    apart = ~pairs.same_route & (np.abs(pairs.rise) > tolerance)
    near = ~pairs.same_uid & (pairs.away <= tolerance) & ~apart
    own = pair[pairs.row]
    moved = (own >= 0) & (pairs.away[own] > tolerance)
    crowded = np.flatnonzero(near & ~taken & moved)
    reason[pairs.row[crowded]] = TWO_IN_ONE_PLACE
    pair[pairs.row[crowded]] = crowded
    _hold_what_lies_on_those_in_conflict(pairs, np.flatnonzero(near & taken & moved), pair, reason)
    # Where the record that names a joint is in conflict, the joint stays where it is, and nobody knows whose it is.
    in_doubt = np.isin(pairs.joint, pairs.joint[pairs.same_uid & (reason != None)[pairs.row]])  # noqa: E711
    free = np.flatnonzero(near & (~taken | in_doubt) & (own < 0))
    of_route = pairs.same_route[free] & ~in_doubt[free]
    here, beside = free[of_route], free[~of_route]
    reason[pairs.row[beside]] = TWO_IN_ONE_PLACE
    pair[pairs.row[beside]] = beside
    rows_of_joint = np.unique(pairs.joint[here], return_inverse=True)[1]
    alone = (np.bincount(pairs.row[here], minlength=len(pair))[pairs.row[here]] == 1) & (
        np.bincount(rows_of_joint, minlength=1)[rows_of_joint] == 1
    )
    alone &= reason[pairs.row[here]] == None  # noqa: E711 - elementwise
    reason[pairs.row[here[~alone]]] = TWO_IN_ONE_PLACE
    pair[pairs.row[here]] = here


def _hold_what_lies_on_those_in_conflict(
    pairs: Candidates, on: Ints, pair: Ints, reason: npt.NDArray[np.object_]
) -> None:
    """Leave out what a correction moved to the place of a joint whose own record is in conflict, and so stays there.

    `on` are pairs of a moved joint and the joint whose place it takes; what is left out so stays where it is, in turn.
    """
    named = np.flatnonzero(pairs.same_uid & np.isin(pairs.joint, pairs.joint[on]))
    of_joint = dict(zip(pairs.joint[named].tolist(), pairs.row[named].tolist(), strict=True))
    over: dict[int, list[int]] = {}
    for one in on.tolist():
        over.setdefault(of_joint[int(pairs.joint[one])], []).append(one)
    waits = [row for row in over if reason[row] is not None]
    while waits:
        for one in over.get(waits.pop(), ()):
            row = int(pairs.row[one])
            if reason[row] is None:
                pair[row], reason[row] = one, TWO_IN_ONE_PLACE
                waits.append(row)


def _match_as_agreed(pairs: Candidates, pair: Ints, reason: npt.NDArray[np.object_]) -> None:
    """Match what somebody settled to be one joint, unless another record is that joint by now."""
    open_rows = (pair[pairs.row] < 0) | (reason != None)[pairs.row]  # noqa: E711 - elementwise
    agreed = np.flatnonzero(pairs.agreed & open_rows)
    if not len(agreed):
        return
    settled = (pair >= 0) & (reason == None)  # noqa: E711 - elementwise
    agreed = agreed[~np.isin(pairs.joint[agreed], pairs.joint[pair[settled]])]
    for of in (pairs.joint, pairs.row):
        agreed = agreed[np.lexsort((pairs.row[agreed], pairs.joint[agreed]))]
        agreed = agreed[np.unique(of[agreed], return_index=True)[1]]
    reason[pairs.row[agreed]] = None
    pair[pairs.row[agreed]] = agreed
