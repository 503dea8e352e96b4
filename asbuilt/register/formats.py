"""The format of a register: a newer one is refused, an earlier one is brought up to date by a load, by nothing else."""

from __future__ import annotations

from asbuilt.errors import InputFileError
from asbuilt.register import layout
from asbuilt.register.store import Store

_CAME_WITH = {
    2: ("joints", "size_unit"),
    3: ("joints", "verdict_assumes"),
    4: ("findings", "point"),
    5: ("inspections", "photo_files"),
}
"""Columns by which a register that does not say its format is told: each came with the format before it."""


def settle_format(store: Store, *, updating: bool) -> None:
    """See that this program knows the format of an opened register.

    Parameters
    ----------
    store : Store
    updating : bool
        Whether one of an earlier format is brought up to date, as by a load.

    Raises
    ------
    InputFileError
        When the format is newer, or earlier and the register is not to be changed.
    """
    with store.reading():
        present = format_of(store)
    if present > layout.FORMAT:
        raise InputFileError(
            f"{store.name}: its format is number {present}, and this version of asbuilt knows formats up to number "
            f"{layout.FORMAT}; use the version of asbuilt that wrote it, or a newer one. Nothing was changed"
        )
    if present == layout.FORMAT:
        return
    if not updating:
        raise InputFileError(
            f"{store.name}: was made by an earlier version of asbuilt (its format is number {present}, now "
            f"{layout.FORMAT}); load any file into it, even one that is in, to bring it up to date"
        )
    store.update_format()


def format_of(store: Store) -> int:
    """Give the number of a register's format."""
    if "format" in store.column_names("register"):
        return int(store.rows("SELECT format FROM register")[0][0])
    there = [number for number, (table, column) in _CAME_WITH.items() if column in store.column_names(table)]
    return max(there, default=1)
