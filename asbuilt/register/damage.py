"""What is damaged in a register: looked for after a question failed, and by who asks what is in it.

A question reads the pages that it needs, and a register of millions of joints is not read whole for each; so its answer
says nothing of the others.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from asbuilt.errors import AsbuiltError, InputFileError
from asbuilt.register.store import Store

_OF_A_LOAD = ("joints", "joints_earlier", "inspections", "findings")


@contextmanager
def told_of_damage(store: Store) -> Iterator[None]:
    """Say what is damaged in a register where the work failed for it; what else fails is raised as it is.

    Raises
    ------
    InputFileError
        Naming the table, and the column where it is one.
    """
    try:
        yield
    except AsbuiltError:
        raise
    except Exception as error:
        found = _found(store) or _undecoded(error)
        if found is None:
            raise
        raise _damaged(store, found) from error


def _undecoded(error: Exception) -> str | None:
    """Give what SQLite says of a text that is none; a register is not searched for such texts."""
    said = str(error)
    return said if isinstance(error, sqlite3.Error) and said.startswith("Could not decode") else None


def refuse_damaged(store: Store) -> None:
    """Read a register whole, and refuse it where any of it is damaged.

    Raises
    ------
    InputFileError
    """
    found = _found(store)
    if found is not None:
        raise _damaged(store, found)


def _damaged(store: Store, found: str) -> InputFileError:
    return InputFileError(
        f"{store.name}: was damaged or edited by hand ({found}); put back a copy of it, or load its jobs into a "
        "new register"
    )


def lost_from(store: Store) -> str | None:
    """Name the first table or column of a new register that one lacks; None where all are there."""
    made_with = store.made_with()
    there = {table: set(store.column_names(table)) for table, _ in made_with}
    for table, name in made_with:
        if not there[table]:
            return f"it has no table {table} any more"
        if name not in there[table]:
            return f"table {table} has no column {name} any more"
    return None


def _found(store: Store) -> str | None:
    """Say what is damaged in a register; None where nothing is."""
    return lost_from(store) or store.damage() or _without_load(store)


def _without_load(store: Store) -> str | None:
    for table in _OF_A_LOAD:
        rows = store.rows(f"SELECT count(*) FROM {table} WHERE load_id NOT IN (SELECT load_id FROM loads)")[0][0]
        if rows:
            return f"{rows} rows of table {table} are of loads that table loads has no more"
    return None
