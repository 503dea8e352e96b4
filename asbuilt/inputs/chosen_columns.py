"""The columns of a log that its job names, where files and sheets have columns of their own."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from asbuilt.errors import InputFileError
from asbuilt.inputs.fields import GROUND_FIELD
from asbuilt.inputs.headers import has_column, normalised

if TYPE_CHECKING:
    from asbuilt.inputs.text_table import TextTable
    from asbuilt.job import Job
    from asbuilt.keys.values import Columns


def chosen_here(job: Job, table: TextTable) -> dict[str, str | int]:
    """Give the columns that the job chooses; of several sheets, those that this one has."""
    chosen = dict[str, str | int]()
    several = dict[str, list[str]]()
    for field, one in job.records.columns.items():
        if isinstance(one, str | int):
            chosen[field] = one
        else:
            several[field] = [name for name in one if has_column(table.columns, name)]
    # A column that is one field's only one here is none of another's, though that has its name on other sheets.
    taken = {
        one if isinstance(one, str) else table.columns[one - 1]
        for one in chosen.values()
        if isinstance(one, str) or one <= len(table.columns)
    }
    for _ in several:
        alone = taken | {found[0] for found in several.values() if len(found) == 1}
        several = {
            field: [one for one in found if len(found) == 1 or one not in alone] for field, found in several.items()
        }
    for field, here in several.items():
        if (name := _of_several(job.records.columns[field], here, table, field)) is not None:
            chosen[field] = name
    if job.cover is not None and job.cover.log_column is not None:
        _refuse_no_column(job.cover.log_column, table)
        chosen[GROUND_FIELD] = job.cover.log_column
    if not table.among_sheets:
        return chosen
    return {field: one for field, one in chosen.items() if isinstance(one, int) or has_column(table.columns, one)}


def _of_several(names: Columns, found: Sequence[str], table: TextTable, field: str) -> str | None:
    """Give the one of several names that a table has; None where a sheet among others has none."""
    assert not isinstance(names, str | int)
    if len(found) > 1:
        raise InputFileError(
            f"{table.where}: records.columns.{field}: the columns {' and '.join(map(repr, found))} are both here; "
            "name one of them"
        )
    if not found and not table.among_sheets:
        raise InputFileError(
            f"{table.where}: records.columns.{field}: there is no column {' or '.join(map(repr, names))}; the columns "
            f"are {', '.join(table.columns)}"
        )
    return found[0] if found else None


def _refuse_no_column(wanted: str, table: TextTable) -> None:
    if not table.among_sheets and normalised(wanted) not in {normalised(name) for name in table.columns}:
        raise InputFileError(
            f"{table.where}: cover.log_column: there is no column {wanted!r}; its columns are "
            f"{', '.join(table.columns)}"
        )
