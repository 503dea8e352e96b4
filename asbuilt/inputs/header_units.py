"""The unit that a column's name, or a row of units below it, says, held against that in which the job reads the column.

A log whose header says feet and whose job says metres would be placed three times too far, and its angles would be
wrong 25 times over where inches are taken for millimetres. Nobody can tell from here which of the two is right.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from asbuilt.errors import JobFileError
from asbuilt.inputs.text_table import TextTable
from asbuilt.keys.fields import GAP_FIELDS, GAUGE_FIELDS, MEASURES

if TYPE_CHECKING:
    from asbuilt.keys.log import Records

WORDS = {"ft": "feet", "m": "metres", "in": "inches", "mm": "millimetres", "F": "°F", "C": "°C"}
"""Units as a sentence says them."""
_READING_FIELDS = (*GAP_FIELDS, *GAUGE_FIELDS)
_END = r"\.?\s*[)\]]?\s*$"


class _Family(NamedTuple):
    """Units of one quantity."""

    pattern: re.Pattern[str]
    """Finds a unit in brackets, or at the end of a column's name by itself."""
    meant: Mapping[str, str]
    """The unit by the first letters of what was found; those of none stand last."""
    foreign: re.Pattern[str]
    """Finds a unit in brackets in which nothing is read."""


def _family(words: str, meant: dict[str, str], foreign: str) -> _Family:
    said = rf"[(\[]\s*(?:in\s+)?({words})\.?\s*(?:[)\]]|$)|(?:[\s,_/°º-]\s*|\d(?=\"))({words})\.?\s*$"
    others = rf"[(\[]\s*(?:in\s+)?({foreign}){_END}"
    return _Family(re.compile(said, re.IGNORECASE), meant, re.compile(others, re.IGNORECASE))


_YARDS_AND_SUCH = r"y(?:ar)?ds?|mi(?:les?)?|chains?|links?|rods?|fathoms?|dm|dekamet(?:er|re)s?|decimet(?:er|re)s?"
_LENGTH = _family(
    r"(?:us[- ]?(?:survey[- ])?|s)?(?:ft|feet|foot)|l\.?f|m|met(?:er|re)s?",
    {"m": "m", "": "ft"},
    rf"{_YARDS_AND_SUCH}|[cm]m|(?:centi|milli)met(?:er|re)s?|in|inch(?:es)?|\"",
)
_SMALL = _family(
    r"mm|in|inch(?:es)?|\"",
    {"mm": "mm", "": "in"},
    rf"{_YARDS_AND_SUCH}|[ck]?m|(?:centi)?met(?:er|re)s?|ft|feet|foot|mils?|thou",
)
_DEGREES = r"(?:°|º|deg(?:rees)?\.?\s*)?"
_TEMPERATURE = _family(
    rf"{_DEGREES}(?:f(?:ahrenheit)?|c(?:elsius)?)",
    {"f": "F", "c": "C"},
    rf"{_DEGREES}(?:[KR]|kelvin|rankine)",
)
_TORQUE = _family(
    r"ft[-·. ]?lbs?f?|lb[-·. ]?ft|n[-·. ]?m",
    {"n": "N-m", "": "ft-lb"},
    r"in[-·. ]?lbs?f?|lb[-·. ]?in|kgf?[-·. ]?c?m|da[-·. ]?n[-·. ]?m|kn[-·. ]?m",
)
_SHOWN = 5
_FAMILIES = {"length": _LENGTH, "small": _SMALL, "temperature": _TEMPERATURE, "torque": _TORQUE}
_IN_A_ROW = re.compile(
    r"[(\[]?\s*(us[- ]?(?:survey[- ])?f(?:t|oot|eet)|ft\.?|feet|foot|met(?:er|re)s?|m|mm|cm|in\.?|inch(?:es)?|[\"'°º]"
    r"|(?:[°º]|deg\.?)\s*[FC]|[FC]|deg\.?|degrees?|ft[-·. ]?lbs?f?|lb[-·. ]?ft|n[-·. ]?m"
    rf"|{_YARDS_AND_SUCH})\s*[)\]]?",
    re.IGNORECASE,
)
"""A cell that is a unit and nothing else."""
_NOT_OF_A_UNIT = re.compile(
    r"[(\[]?\s*(?:no\.?|nr\.?|#|[-–—/*.]|text|dates?|y/n|yes/no|ok/fail|pass/fail|p/f|n/a|units?|id|sta\.?|[ymd]{1,4}(?:[-/.][ymd]{1,4}){2}"
    r")\s*[)\]]?",
    re.IGNORECASE,
)
"""What stands in such a row below columns that have no unit."""
_PLACE_FIELDS = ("easting", "northing", "elevation")


def unit_said(column: str, field: str) -> str | None:
    """Read the unit that the name of a column says for a field of a log or a survey, or None.

    Examples
    --------
    >>> unit_said("Sta (ft)", "station"), unit_said("Chainage, metres", "station"), unit_said("Team", "station")
    ('ft', 'm', None)
    >>> unit_said("Gap 12 (mm)", "gap_12"), unit_said("Gap_12_mm", "gap_12")
    ('mm', 'mm')
    >>> unit_said("Gasket temp °C", "gasket_temperature"), unit_said("Gasket_Temp_F", "gasket_temperature")
    ('C', 'F')
    >>> unit_said("Torque (ft-lb)", "bolt_torque"), unit_said("Bolt torque N·m", "bolt_torque")
    ('ft-lb', 'N-m')
    """
    family = _family_of(field)
    found = family.pattern.search(column) if family is not None else None
    if family is None or found is None:
        return None
    word = re.sub(r"^(?:[°º]|deg(?:rees)?)[\s.]*", "", next(one for one in found.groups() if one).lower())
    return next(unit for start, unit in family.meant.items() if word.startswith(start))


def without_row_of_units(table: TextTable, mapping: Mapping[str, str]) -> TextTable:
    """Take the units that the first row below the column names gives, where it holds nothing else: it is no record.

    Parameters
    ----------
    table : TextTable
    mapping : dict of str to str
        Column by field.

    Examples
    --------
    >>> import pyarrow as pa
    >>> from asbuilt.inputs.text_table import table_from_columns
    >>> rows = {"Joint": [None, "1"], "Sta": ["(ft)", "0+00"], "Gap 12": ["mm", "50"], "Kind": ["-", "pipe"]}
    >>> table = table_from_columns(pa.table(rows), name="log")
    >>> found = without_row_of_units(table, {"joint": "Joint", "station": "Sta", "gap_12": "Gap 12", "kind": "Kind"})
    >>> found.row.tolist(), found.units
    ([2], {'Sta': 'ft', 'Gap 12': 'mm'})
    """
    if not table.headed or not len(table.row):
        return table
    cells = {name: cell for name, cell in table.data.slice(0, 1).to_pylist()[0].items() if cell is not None}
    found = {name: match[1] for name, cell in cells.items() if (match := _IN_A_ROW.fullmatch(cell)) is not None}
    of_fields = [name for field, name in mapping.items() if name in found and _family_of(field) is not None]
    if not of_fields or not all(name in found or _NOT_OF_A_UNIT.fullmatch(cells[name]) for name in cells):
        return table
    said = ", ".join(f"{name} in {found[name]}" for name in of_fields[:_SHOWN])
    more = f" and {len(of_fields) - _SHOWN} more" if len(of_fields) > _SHOWN else ""
    note = f"{table.where}: row {table.row[0]} is a row of units and no record: {said}{more}"
    return replace(
        table, data=table.data.slice(1), row=table.row[1:], notes=(*table.notes, note),
        units={name: found[name] for name in of_fields},
    )  # fmt: skip


def _family_of(field: str) -> _Family | None:
    return _FAMILIES.get(MEASURES.get(field, ""))


def unit_of_places(mapping: Mapping[str, str], below: Mapping[str, str]) -> str | None:
    """Give the unit that a log says of its eastings and northings, in their names or the row of units below them.

    Parameters
    ----------
    mapping : dict of str to str
        Column by field.
    below : dict of str to str
        The unit by column, where a row below the names gives some.

    Examples
    --------
    >>> unit_of_places({"easting": "E (m)", "northing": "N (m)"}, {}), unit_of_places({"easting": "E"}, {"E": "ft"})
    ('m', 'ft')
    """
    columns = [mapping[field] for field in ("easting", "northing") if field in mapping]
    said = [unit_said(name, "easting") for one in columns for name in (one, f"{one} ({below.get(one, '')})")]
    return next((unit for unit in said if unit is not None), None)


def _refuse_foreign(column: str, field: str, taken: str | None, where: str) -> None:
    """Refuse a column whose name says a unit in which no such field is read: its numbers would be taken as they are."""
    family = _family_of(field)
    found = family.foreign.search(column) if family is not None else None
    if family is not None and found is not None:
        units = " or ".join(WORDS.get(one, one) for one in ([taken] if taken else dict.fromkeys(family.meant.values())))
        raise JobFileError(
            f"{where}: column {column!r} says {found[1]}, but {field} is read in {units}; write it in {units}, or "
            "correct the name of the column"
        )


def refuse_other_units(
    mapping: Mapping[str, str], wanted: Records, where: str, below: Mapping[str, str] | None = None
) -> None:  # fmt: skip
    """Refuse a column whose name, or the row of units below it, says another unit than that in which the job reads it.

    Parameters
    ----------
    mapping : dict of str to str
        Column by field.
    wanted : Records
    where : str
        File of the log.
    below : dict of str to str, optional
        The unit by column, where a row below the names gives some.

    Raises
    ------
    JobFileError
    """
    below = below or {}
    names = [(field, column) for field, column in mapping.items()]
    for field, column in [
        *names,
        *((field, f"{column} ({below[column]})") for field, column in names if column in below),
    ]:
        unit = unit_said(column, field)
        key, taken = _read_in(field, wanted)
        _refuse_foreign(column, field, taken, where)
        if unit is not None and taken is not None and unit != taken:
            raise JobFileError(
                f"{where}: column {column!r} says {unit}, but {field} is read in {taken}; "
                f'say records.{key} = "{unit}", or correct the name of the column if it is {taken}'
            )


def refuse_other_units_of_shots(mapping: Mapping[str, str], unit: str, elevation_unit: str, where: str) -> None:
    """Refuse a column of a survey whose name says another unit than that in which its coordinates are read.

    Parameters
    ----------
    mapping : dict of str to str
        Column by field.
    unit, elevation_unit : {"us-ft", "ft", "m"}
        Of eastings and northings, and of elevations.
    where : str
        File of the shots.

    Raises
    ------
    JobFileError
    """
    for field in _PLACE_FIELDS:
        said = unit_said(mapping.get(field, ""), field)
        taken = "m" if (elevation_unit if field == "elevation" else unit) == "m" else "ft"
        _refuse_foreign(mapping.get(field, ""), field, taken, where)
        if said is None or said == taken:
            continue
        remedy = f'say centerline.elevation_unit = "{said}"' if field == "elevation" else "correct the crs"
        raise JobFileError(
            f"{where}: column {mapping[field]!r} says {said}, but {field} is read in {taken}; {remedy}, or correct the "
            f"name of the column if it is {taken}"
        )


def _read_in(field: str, wanted: Records) -> tuple[str, str | None]:
    """Give the job's key that states the unit of a field, and the unit that it states; None where it states none."""
    if field in ("easting", "northing"):
        return "crs", None
    if field == "elevation":
        stated = wanted.elevation_unit
        return "elevation_unit", None if stated is None else "m" if stated == "m" else "ft"
    if field in _READING_FIELDS:
        return "reading_unit", wanted.readings_in
    if field in ("outside_diameter", "size"):
        return "size_unit", wanted.sizes_in
    if field == "gasket_temperature":
        return "temperature_unit", wanted.temperatures_in
    if field == "bolt_torque":
        return "torque_unit", wanted.torque_unit
    return "station_unit", "m" if wanted.station_unit == "m" else "ft"
