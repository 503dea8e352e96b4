"""The cells of one source of a log: in the job's words, read field by field, ditto marks standing for what is above."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from asbuilt.inputs import cells as cell
from asbuilt.inputs import words
from asbuilt.inputs.cells import Unreadable
from asbuilt.inputs.repeats import not_to_be_taken, repeats_told, with_marks_again, with_repeats
from asbuilt.inputs.stations import with_written_offsets

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pyarrow as pa

    from asbuilt.arrays import Bools, Ints
    from asbuilt.inputs.text_table import TextTable
    from asbuilt.job import Job


class CellsRead(NamedTuple):
    """The cells of one source, read field by field."""

    cells: dict[str, pa.Array]
    """In the job's words."""
    fields: dict[str, pa.Array]
    """Null where blank or unreadable."""
    unreadable: Unreadable
    notes: list[str]
    met: set[tuple[str, str]]
    """Those of the job's words that the cells hold, with their fields."""


def read_cells(job: Job, table: TextTable, cells: Mapping[str, pa.Array], behind: pa.Array, placed: Bools) -> CellsRead:
    """Read the cells of one source, each ditto mark and blank cell that stands for the one above as that.

    Parameters
    ----------
    job : Job
    table : TextTable
    cells : mapping of field to text, shape (n,)
        As the log has them.
    behind : pyarrow string array, shape (n,)
        Offsets that stand behind the stations.
    placed : array of bool, shape (n,)
        True where the row's station can be read.
    """
    given, above = with_repeats(job, cells)
    read = _read(job, table, given, behind)
    if not above:
        return read
    held: dict[str, Ints] = not_to_be_taken(
        cells, above, read.unreadable, placed, table.row, [one.row for one in table.broken]
    )
    if held:
        given, left = with_marks_again(cells, given, held)
        read = _read(job, table, given, behind)
        read = read._replace(unreadable=Unreadable.joined([read.unreadable, left]))
    return read._replace(notes=[*repeats_told(cells, above, held, table.row, table.where), *read.notes])


def _read(job: Job, table: TextTable, written: dict[str, pa.Array], behind: pa.Array) -> CellsRead:
    cells, met = _in_the_jobs_words(job, written)
    offset = with_written_offsets(cells.get("offset"), behind, unit=cell.unit_of(job.records, "offset"))
    cells |= {"offset": offset} if offset is not None else {}
    fields, notes = cell.normalised(job, table, cells, written)
    return CellsRead(cells, fields, cell.unreadable(cells, fields), notes, met)


def _in_the_jobs_words(job: Job, cells: dict[str, pa.Array]) -> tuple[dict[str, pa.Array], set[tuple[str, str]]]:
    """Put the cells of each field into the words that the job says; give the (field, word) met."""
    given, met = dict(cells), set()
    for field, said in job.records.words.items():
        if field in given:
            given[field], found = words.in_ours(given[field], said, exact=field == "route")
            met |= {(field, theirs) for theirs in found}
    return given, met
