"""Cells of a log read field by field: as numbers, words, dates, yes or no, with what could not be read listed."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Ints, as_mask, empty_ints, first_bytes
from asbuilt.held import held
from asbuilt.inputs import values
from asbuilt.inputs.fields import GROUND_FIELD, NUMBER_FIELDS, POSITIVE_FIELDS, READING_FIELDS, SIZE_IN_KIND
from asbuilt.inputs.text_table import TextTable
from asbuilt.keys.fields import RECORD_FIELDS
from asbuilt.vocabulary import KINDS, YES_NO_FIELDS, joint_type

if TYPE_CHECKING:
    from asbuilt.job import Job
    from asbuilt.keys.log import Records

_ERROR = r"^(?:#(?:REF!|N/A|VALUE!|NAME\?|DIV/0!|NULL!|NUM!|SPILL!|CALC!|GETTING_DATA)|Err:\d{3})$"
"""What a spreadsheet shows where a formula failed: it says nothing of a joint."""
_LETTERS = np.isin(np.arange(256), list(b"abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"))
_NO_WORD = re.compile(
    r"\d{1,4}\+\d{2,3}(?:\.\d+)?|\d{1,4}([-/.])\d{1,2}\1\d{2,4}(?:[ T].*)?|\d+\.\d+|\d+(?:\.\d+)?\s*[\"″”]|[\W_]+"
)
"""A station, a date, a number with a point, inches, or a mark: no name and no word for what was laid or jointed."""
_STATION = r"^\d{1,4}\+\d{2,3}(?:\.\d+)?$"
_DAY, _DAY_LENGTH = r"^(?:19|20)\d\d-[01]\d-[0-3]\d(?: |T|$)", 10


class Unreadable(NamedTuple):
    """Cells that hold something that could not be read: shapes (cells,)."""

    record: Ints
    field: pa.Array
    text: pa.Array
    why: pa.Array
    """Why it could not be, where the text alone does not show it; null elsewhere."""

    @classmethod
    def of(cls, record: Ints, field: pa.Array, text: pa.Array) -> Unreadable:
        """Give cells of which the text shows why they could not be read."""
        return cls(record, field, text, pa.nulls(len(record), pa.string()))

    def of_plain_text(self) -> Unreadable:
        """Give those of which the text alone shows why they could not be read."""
        kept = pc.is_null(self.why)
        field, text, why = (one.filter(kept) for one in self[1:])
        return Unreadable(self.record[as_mask(kept)], field, text, why)

    @classmethod
    def joined(cls, parts: Sequence[Unreadable]) -> Unreadable:
        """Put lists of one log together, in the order of its records."""
        if not parts:
            return cls.of(empty_ints(), pa.array([], pa.string()), pa.array([], pa.string()))
        record = np.concatenate([one.record for one in parts])
        order = np.argsort(record, kind="stable")
        field, text, why = (pa.concat_arrays([one[at] for one in parts]).take(pa.array(order)) for at in (1, 2, 3))
        return cls(record[order], field, text, why)

    def of_records(self, rows: Ints) -> Unreadable:
        """Give those of some records, in ascending order, by their place among these."""
        kept = np.isin(self.record, rows)
        field, text, why = (one.filter(pa.array(kept)) for one in self[1:])
        return Unreadable(np.searchsorted(rows, self.record[kept]), field, text, why)


_NAMES = ("inspector", "crew")
"""Fields that are asked for by name, which two spaces must not make another one."""


def normalised(
    job: Job, table: TextTable, cells: dict[str, pa.Array], written: dict[str, pa.Array]
) -> tuple[dict[str, pa.Array], list[str]]:
    """Read every field that a log carries.

    Parameters
    ----------
    job : Job
    table : the rows as text
    cells : mapping of field to its text, in the job's words
    written : mapping of field to its text, as the log has it

    Returns
    -------
    fields : dict
        Null where blank or unreadable.
    notes : list of str
    """
    wanted, comma = job.records, table.decimal_comma
    fields: dict[str, pa.Array] = {}
    notes: list[str] = []
    readers: dict[str, Callable[[str], float | None]] = {
        "size": partial(values.nominal_size, unit=wanted.sizes_in, decimal_comma=comma),
        "gasket_temperature": partial(values.temperature_f, unit=wanted.temperatures_in, decimal_comma=comma),
        "bend_angle": partial(values.bend_angle, decimal_comma=comma),
    }
    words: dict[str, Callable[[str], str | None]] = {
        "joint_type": joint_type,
        "kind": values.kind,
        "bend_plane": values.bend_plane,
    }
    for field in (*RECORD_FIELDS, GROUND_FIELD):
        if field not in cells:
            continue
        text = cells[field]
        if field in readers:
            fields[field] = values.spread(text, readers[field], pa.float64())
        elif field in words:
            fields[field] = values.spread(text, words[field], pa.string())
        elif field in YES_NO_FIELDS:
            fields[field], told = _yes_or_no(field, text, table.where)
            notes += told
        elif field == "offset":
            read = partial(values.offset, unit=unit_of(wanted, field), decimal_comma=comma)
            fields[field] = values.spread(text, read, pa.float64())
        elif field in NUMBER_FIELDS:
            number = values.numbers(text, unit=unit_of(wanted, field), decimal_comma=comma)
            number = np.where(number > 0, number, np.nan) if field in POSITIVE_FIELDS else number
            fields[field] = pa.array(number, from_pandas=True)
        elif field == "inspected_on":
            order, told = _date_order(wanted, text, table.where)
            notes += told
            fields[field] = values.dates(text, order)
        elif field in _NAMES:
            fields[field] = values.spread(text, values.name, pa.string())
        else:
            fields[field] = text
        if field == "joint":
            notes += _days_for_numbers(text, table.where)
        # No number and no date is read from such a cell, but a text is taken as it stands.
        if field in ("joint_type", "kind", "inspector", "crew") and not _LETTERS[first_bytes(text)].all():
            words_of = values.spread(text, lambda one: None if _NO_WORD.fullmatch(one) else one, pa.string())
            fields[field] = pc.if_else(pc.is_valid(words_of), fields[field], pa.scalar(None, pa.string()))
        if field == "joint":
            fields[field] = _without_stations(text)
        is_text = field not in ("route", "station") and pa.types.is_string(fields[field].type)
        if is_text and _any_begins(text, "#", "Err:"):
            failed = pc.match_substring_regex(text, _ERROR)
            fields[field] = pc.if_else(failed, pa.scalar(None, fields[field].type), fields[field])
        if fields[field] is not text:
            fields[field] = held(fields[field], len(text))
    if "kind" in cells:
        fields["bend_angle"] = _angles_from_kind(written["kind"], fields)
        said = values.spread(written["kind"], partial(values.size_in_kind, unit=wanted.sizes_in), pa.float64())
        if "size" in fields and said.null_count < len(said):
            fields[SIZE_IN_KIND] = said
    return fields, notes


def _without_stations(text: pa.Array) -> pa.Array:
    """Take no station for a joint's number where others have numbers: it stands in a row of another table."""
    stations = pc.fill_null(pc.match_substring_regex(text, _STATION), False)
    count = pc.sum(stations).as_py() or 0
    if not 0 < 2 * count < len(text) - text.null_count:
        return text
    return pc.if_else(stations, pa.scalar(None, text.type), text)


def _days_for_numbers(text: pa.Array, where: str) -> list[str]:
    """Say where joint numbers are days, as a spreadsheet program makes them of numbers such as 3-12."""
    if not (pc.max(pc.binary_length(text)).as_py() or 0) >= _DAY_LENGTH:
        return []
    days = as_mask(pc.match_substring_regex(text, _DAY))
    if not days.any():
        return []
    return [
        f"{where}: joints are numbered by days in {np.count_nonzero(days):,} rows, the first "
        f"{text[int(np.argmax(days))].as_py()}: a spreadsheet program takes a number such as 3-12 for a day; have the "
        "column written as text, or these joints keep days for their names"
    ]


def _any_begins(text: pa.Array, *heads: str) -> bool:
    return any(pc.any(pc.starts_with(text, head)).as_py() for head in heads)


def _yes_or_no(field: str, text: pa.Array, where: str) -> tuple[pa.Array, list[str]]:
    """Read yes or no; a cross among check marks means no, X in a column of nothing else yes, and both are told."""
    if not values.crosses_alone(text):
        readers = {"cut": _cut, "restrained": values.yes_no}
        read = values.spread(text, readers.get(field, values.pass_fail), pa.string())
        if not read.null_count > text.null_count or not values.holds_check_marks(text):
            return read, []
        crossed = values.spread(text, lambda one: "no" if values.crossed(one) else None, pa.string())
        if not (no := as_mask(crossed.is_valid())).any():
            return read, []
        first = text[int(np.argmax(no))].as_py()
        note = (
            f"{where}: {field} holds check marks, and {first!r} among them is read as no; if it means anything else, "
            f'say records.words.{field} = {{"{first}" = "yes"}}'
        )
        return pc.coalesce(read, crossed), [note]
    note = (
        f"{where}: {field} holds X and nothing else, read as yes; if it means no, say "
        f'records.words.{field} = {{X = "no"}}'
    )
    return pc.if_else(pc.is_valid(text), "yes", text), [note]


def _date_order(wanted: Records, text: pa.Array, where: str) -> tuple[values.DateOrder, list[str]]:
    if wanted.date_order is not None:
        return wanted.date_order, []
    found = values.date_order(text)
    if found is not None:
        return found, []
    order: values.DateOrder = "dmy" if wanted.station_unit == "m" else "mdy"
    shown = values.unclear_date(text)
    if shown is None:
        return order, []
    words = "day" if order == "dmy" else "month"
    return order, [f"{where}: dates such as {shown} are read {words} first; if that is wrong, say records.date_order"]


def unit_of(wanted: Records, field: str) -> str:
    """Give the unit in which a number field is written."""
    if field == "bolt_torque":
        return wanted.torque_unit
    if field in READING_FIELDS:
        return wanted.readings_in
    if field == "outside_diameter":
        return wanted.sizes_in
    return "m" if wanted.station_unit == "m" else "ft"


def unit_read(wanted: Records, field: str) -> str | None:
    """Give the unit in which a field is written where it is a quantity, or None."""
    if field == "size":
        return wanted.sizes_in
    if field == "gasket_temperature":
        return wanted.temperatures_in
    return unit_of(wanted, field) if field in NUMBER_FIELDS else None


def _cut(text: str) -> str | None:
    """Read whether a pipe was cut; the length that it was cut to says so too."""
    return values.yes_no(text) or ("yes" if values.number(text, unit="ft") or values.number(text, unit="m") else None)


def _angles_from_kind(text: pa.Array, fields: dict[str, pa.Array]) -> pa.Array:
    """Take a bend's angle from what was laid ("45 bend") where the log has no angle of its own."""
    bends = pc.if_else(pc.equal(fields["kind"], "bend"), text, pa.scalar(None, pa.string()))
    angle = values.spread(bends, values.bend_angle_in, pa.float64())
    if angle.null_count > bends.null_count and "size" in fields:
        # "30 bend" is one of 30 deg where that is not the size.
        unusual = values.spread(bends, values.unusual_angle_in, pa.float64())
        angle = pc.coalesce(
            angle, pc.if_else(pc.not_equal(unusual, fields["size"]), unusual, pa.scalar(None, pa.float64()))
        )
    return pc.coalesce(fields["bend_angle"], angle) if "bend_angle" in fields else angle


def _unknown_kinds(text: pa.Array, kind: pa.Array) -> Iterator[Unreadable]:
    """List what was laid where the log says it in no word of ours: the word is kept, and nothing is known of it."""
    known = values.spread(kind, lambda one: one in KINDS or values.kind_is_known(one), pa.bool_())
    if pc.any(pc.invert(known)).as_py():
        rows = np.flatnonzero(as_mask(pc.invert(known)))
        words = text.take(pa.array(rows))
        why = pa.repeat(
            "no word that is known for what was laid; it is kept as it stands, and may be a bend: say what it stands "
            "for in [records.words.kind]", len(rows),
        )  # fmt: skip
        yield Unreadable(rows, pa.repeat("kind", len(rows)), words, why)


def unreadable(cells: dict[str, pa.Array], fields: dict[str, pa.Array]) -> Unreadable:
    """List the cells that hold something that could not be read."""
    found = [*_unknown_kinds(cells["kind"], fields["kind"])] if "kind" in cells else []
    for field, text in cells.items():
        if field == "station" or fields[field].null_count == text.null_count:
            continue
        rows = np.flatnonzero(as_mask(pc.and_(pc.is_valid(text), pc.is_null(fields[field]))))
        found.append(Unreadable.of(rows, pa.repeat(field, len(rows)), text.take(pa.array(rows))))
    return Unreadable.joined(found)
