"""What is doubtful in a survey, each at the shot or the length of line that it is about."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.errors import JobFileError
from asbuilt.held import in_blocks

if TYPE_CHECKING:
    from asbuilt.line.routes import Routes

NAMED = 5
"""Shots named in one message; more are counted."""
_ROUNDED = 5.0
"""Standard errors that a shot and the straight between its neighbours lie apart at most, all rounded to whole steps."""

SHARED = 1.25
"""Laying lengths on either side of a shot, the middle of both, from which on a cut pipe may lie in one of them."""
_BEYOND_CHANCE = 2.5
"""Standard errors of a turn that few reach by chance, and by which few joints at their limit are called over it."""
UNSTATED = 1.1
"""What joints turn at most, times this, where no error of the shots is stated: as by some hundredths of a foot between
pipes of 20 ft. Judgement."""


class Doubt(NamedTuple):
    """One thing to look at in the survey; lengths in coordinate units."""

    code: str
    message: str
    vertex: int = -1
    """The shot; -1 where it is about a length of a route or a whole route."""
    last: int = -1
    """Last shot of a run of shots that it is about; -1 where it is about one alone."""
    route: int = -1
    start: float = 0.0
    """Distance along the route where the length begins; that of the shot, where it is about one."""
    end: float = 0.0
    value: float = np.nan
    limit: float = np.nan
    unit: str | None = None
    basis: str = ""
    longer: float = 0.0
    """By how much it makes the line longer than it is; less than nothing where it is shorter than its log."""
    turn: float = 0.0
    """The turn that bends in the log would have to explain, radians; 0 where none can."""
    bends: int = 2
    """How many bends that takes: a line that goes there and back turns twice at least."""
    height_unknown: bool = False
    """Whether the shot's elevation is to be taken as unknown."""
    no_shots: tuple[int, ...] = ()
    """Shots that it takes to be none, before the job is parted by its routes."""
    misplaced: bool = False
    """Whether it puts all joints of its route elsewhere than they are: then nothing else is told of that route that
    rests on their places."""
    of_another: bool = False
    """Whether the joints on its length may stand on another line: of them, too, nothing rests on their places."""
    off_shots: float = 0.0
    """By how much the joints on its length lie off their shots."""
    drift: float = 0.0
    """By how much more they do for each unit of length behind its start."""
    aside: float = 0.0
    """By how much the shots ahead of it lie aside of those back, or these of those: nobody knows which are right."""
    up: float = 0.0
    """And by how much above or below."""
    by_tie: bool = False
    """Whether a tie puts them there: then joints whose stations are stretched between ties are off, too."""


@dataclass(frozen=True)
class Doubts:
    """All that is doubtful in a survey."""

    found: tuple[Doubt, ...] = ()

    def of(self, code: str) -> list[Doubt]:
        """Give those of one code."""
        return [one for one in self.found if one.code == code]

    def shots(self) -> Ints:
        """Number the vertices that are doubted."""
        runs = [np.arange(one.vertex, max(one.vertex, one.last) + 1) for one in self.found if one.vertex >= 0]
        return np.unique(np.concatenate(runs)) if runs else np.zeros(0, dtype=np.int64)

    def nearest(self, routes: Routes, vertex: Ints) -> Ints:
        """Give the doubted shot on which the line at a place rests, or -1.

        Parameters
        ----------
        routes : Routes
        vertex : array of int, shape (n,)
            The vertex back of each place.

        Returns
        -------
        array of int, shape (n,)
            A turn rests on the shots of the two legs beside it, so a doubted shot reaches two legs either way.
        """
        route = routes.vertex_route
        doubted: Bools = np.zeros(len(route), dtype=np.bool_)
        doubted[self.shots()] = True

        def of_some(some: slice) -> Ints:
            at = vertex[some]
            found = np.full(len(at), -1, dtype=np.int64)
            for by in (-1, 0, 1, 2):
                shot = np.clip(at + by, 0, len(route) - 1)
                near = (shot == at + by) & doubted[shot] & (route[shot] == route[at]) & (found < 0)
                found[near] = shot[near]
            return found

        return in_blocks(of_some, len(vertex))


def label(routes: Routes, vertex: int) -> str:
    """Name a shot: by its point number, else by its row, else by its count along the route.

    Parameters
    ----------
    routes : Routes
    vertex : int
    """
    point = routes.shot_point[vertex].as_py() if routes.shot_point is not None else None
    row = f"row {routes.shot_row[vertex]}" if routes.shot_row is not None else None
    if point is not None:
        return f"point {point} ({row})" if row else f"point {point}"
    number = vertex - int(routes.first[np.searchsorted(routes.first, vertex, side="right") - 1]) + 1
    return row or f"vertex {number}"


def point_name(routes: Routes, vertex: int) -> str:
    """Name a shot as column `point` has it: its point number, else what `label` calls it."""
    point = routes.shot_point[vertex].as_py() if routes.shot_point is not None else None
    return str(point) if point is not None else label(routes, vertex)


def listed(routes: Routes, vertices: Iterable[int]) -> str:
    """Name some shots, the first few by name and the others by their count."""
    every = list(vertices)
    names = ", ".join(label(routes, one) for one in every[:NAMED])
    return f"{names} and {len(every) - NAMED} more" if len(every) > NAMED else names


def file_of(routes: Routes) -> str:
    """Name the file of the survey for messages."""
    return routes.inputs[0][0] if routes.inputs else "the centerline data"


def checked(routes: Routes, names: Iterable[str]) -> Bools:
    """Say which shots the job says were looked at and are right, shape (vertices,).

    Parameters
    ----------
    routes : Routes
    names : iterable of str
        Point numbers, or `ROUTE:NUMBER` with the vertex counted along its route from 1.
    """
    mask = np.zeros(len(routes.easting), dtype=np.bool_)
    wanted = set(names)
    if not wanted:
        return mask
    if routes.shot_point is not None:
        mask |= np.array([text in wanted for text in routes.shot_point.to_pylist()], dtype=np.bool_)
    for number, name in enumerate(routes.names):
        begin, end = int(routes.first[number]), int(routes.first[number + 1])
        for text in wanted:
            head, _, tail = text.rpartition(":")
            if head == name and tail.isdigit() and 0 < int(tail) <= end - begin:
                mask[begin + int(tail) - 1] = True
    return mask


def refuse_absent(routes: Routes, names: Iterable[str]) -> None:
    """Refuse point numbers, said to be of shots that were looked at, that no shot has: the shot meant stays doubted.

    Parameters
    ----------
    routes : Routes
    names : iterable of str
        As for `checked`.

    Raises
    ------
    JobFileError
    """
    if not (names := tuple(names)):
        return
    points = set() if routes.shot_point is None else set(routes.shot_point.to_pylist())
    absent = [one for one in names if one not in points and one.rpartition(":")[0] not in routes.names]
    if absent:
        raise JobFileError(
            f"centerline.shots_checked: {file_of(routes)} has no point {absent[0]!r}; correct the number, or name a "
            f'vertex of a route, as in "{routes.names[0]}:17"'
        )


def least_off(least: float, rounding: Floats | None, count: int) -> Floats:
    """Give how far each shot must lie off its neighbours to be looked at: farther than rounding puts it.

    Parameters
    ----------
    least : float
        Where nothing was rounded, coordinate units.
    rounding : array, shape (shots,), or None
        Standard error that rounding makes.
    count : int
        Of the shots.
    """
    return np.full(count, least) if rounding is None else np.maximum(least, _ROUNDED * rounding)


def most_turn(back: Floats, ahead: Floats, laying: float, most: float, sigma: Floats | None) -> Floats:
    """Give the most that joints turn a line at each shot, with what the errors of the shots add, radians.

    Parameters
    ----------
    back, ahead : array, shape (vertices,)
        Lengths of the legs.
    laying : float
        Laying length, coordinate units.
    most : float
        The most that a joint may deflect, radians.
    sigma : array, shape (vertices,), or None
        Standard errors of the shots; None where none is stated.

    Examples
    --------
    Between legs of two pipes three joints share what a line turns:

    >>> legs = np.array([20.0, 40.0])
    >>> np.degrees(most_turn(legs, legs, 20.0, np.radians(5.0), None)).round(6).tolist()
    [5.5, 12.375]
    """
    shared = (back + ahead) / (2.0 * laying)
    least: Floats = most * np.where(shared > SHARED, shared + 0.25, np.maximum(1.0, shared))
    if sigma is None:
        return UNSTATED * least
    return least + _BEYOND_CHANCE * noise_of_turns(back, ahead, sigma)


def noise_of_turns(back: Floats, ahead: Floats, sigma: Floats) -> Floats:
    """Give the standard error of the turn at each shot, radians, by that of the shots and the lengths of its legs."""
    with np.errstate(divide="ignore", invalid="ignore"):
        noise: Floats = sigma * np.sqrt(back**-2.0 + ahead**-2.0 + (1.0 / back + 1.0 / ahead) ** 2)
    return noise
