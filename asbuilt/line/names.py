"""Route names: one rule for log, equations, ties and lengths alike.

Names are exact. A name that differs from a route's only by case, spaces or punctuation is suggested, never taken.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Ints, as_ints
from asbuilt.errors import JobFileError

SHOWN = 8
"""Names listed in a message."""


class RouteNames:
    """The names of a centerline's routes, in order.

    Parameters
    ----------
    names : sequence of str
        All different.

    Examples
    --------
    >>> routes = RouteNames(["Mill Race", "Quarry Lane"])
    >>> routes.numbers(pa.array(["Quarry Lane", "QUARRY LANE", None])).tolist()
    [1, -1, -1]
    >>> routes.unknown("quarry-lane")
    "there is no route 'quarry-lane'; did you mean 'Quarry Lane'? Route names must match exactly"
    """

    def __init__(self, names: Sequence[str]) -> None:
        self.names = tuple(names)

    def numbers(self, text: pa.Array) -> Ints:
        """Give the number of each route named in a column, shape (n,); -1 where it is unknown or blank."""
        return as_ints(pc.index_in(text, value_set=pa.array(self.names, pa.string()), skip_nulls=True), -1)

    def number(self, name: str | None, *, key: str) -> int:
        """Give the number of one route named in a job or a table; the only route needs no name.

        Parameters
        ----------
        name : str, or None where none is given
        key : the job's key, or the file and row, for the message

        Raises
        ------
        JobFileError
            When there is no such route, or several and none is named.
        """
        if name is None and len(self.names) == 1:
            return 0
        if name is None:
            raise JobFileError(f"{key}: the centerline has several routes; name one of {self.listed}")
        found = self._number.get(name)
        if found is None:
            raise JobFileError(f"{key}: {self.unknown(name)}")
        return found

    def unknown(self, name: str) -> str:
        """Say that there is no route of a name, and which one may be meant."""
        alike = self.alike(name)
        if alike:
            return (
                f"there is no route {name!r}; did you mean {' or '.join(map(repr, alike))}? Route names must match "
                "exactly"
            )
        return f"there is no route {name!r}; the routes are {self.listed}"

    def alike(self, name: str) -> tuple[str, ...]:
        """Give the routes whose names differ from a name only by case, spaces or punctuation."""
        return self._folded.get(_folded(name), ())

    @property
    def listed(self) -> str:
        """The routes' names for a message: the first few of them."""
        return ", ".join(self.names[:SHOWN]) + (", ..." if len(self.names) > SHOWN else "")

    @cached_property
    def _number(self) -> dict[str, int]:
        return {name: number for number, name in enumerate(self.names)}

    @cached_property
    def _folded(self) -> dict[str, tuple[str, ...]]:
        folded: dict[str, tuple[str, ...]] = {}
        for name in self.names:
            plain = _folded(name)
            folded[plain] = (*folded.get(plain, ()), name)
        return folded


def route_order(names: Sequence[str]) -> tuple[list[str], Ints]:
    """Give the distinct route names in the order in which they first occur, and the number of each row's route.

    Examples
    --------
    >>> route_order(["B", "A", "B"])
    (['B', 'A'], array([0, 1, 0]))
    """
    number: dict[str, int] = {}
    rows = [number.setdefault(name, len(number)) for name in names]
    return list(number), np.array(rows, dtype=np.int64)


def _folded(name: str) -> str:
    return "".join(letter for letter in name.casefold() if letter.isalnum()) or name
