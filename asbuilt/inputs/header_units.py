"""The unit that a column's name says, held against the unit in which the job reads the column.

A log whose header says feet and whose job says metres would be placed three times too far, and its angles would be
wrong 25 times over where inches are taken for millimetres. Nobody can tell from here which of the two is right.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING, NamedTuple

from asbuilt.errors import JobFileError
from asbuilt.keys.fields import GAP_FIELDS, GAUGE_FIELDS

if TYPE_CHECKING:
    from asbuilt.keys.log import Records

_READING_FIELDS = (*GAP_FIELDS, *GAUGE_FIELDS)
_END = r"\.?\s*[)\]]?\s*$"


class _Family(NamedTuple):
    """Units of one quantity."""

    pattern: re.Pattern[str]
    """Finds a unit at the end of a column's name: one letter only in brackets, where it cannot be a word's."""
    meant: Mapping[str, str]
    """The unit by the first letters of what was found."""


def _family(words: str, meant: dict[str, str]) -> _Family:
    return _Family(re.compile(words, re.IGNORECASE), meant)


_LENGTH = _family(
    r"(?:[(\[]\s*(us-?ft|ft|feet|foot|m|met(?:er|re)s?)|[\s,_-](us-?ft|ft|feet|met(?:er|re)s?)|_(m))" + _END,
    {"u": "ft", "f": "ft", "m": "m"},
)
_SMALL = _family(r"(?:[(\[,]\s*|_)(mm|in|inch(?:es)?|\")" + _END, {"mm": "mm", "i": "in", '"': "in"})
_TEMPERATURE = _family(r"(?:[(\[]\s*(?:°|º|deg\.?\s*)?|[°º]\s*|\bdeg\.?\s*|_)([FC])" + _END, {"f": "F", "c": "C"})
_TORQUE = _family(
    r"[(\[,\s]\s*(ft[-·. ]?lbs?f?|lb[-·. ]?ft|n[-·. ]?m)" + _END, {"f": "ft-lb", "l": "ft-lb", "n": "N-m"}
)
_LENGTH_FIELDS = ("station", "offset", "laid_length")
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
    if field in (*_LENGTH_FIELDS, *_PLACE_FIELDS):
        family = _LENGTH
    elif field in _READING_FIELDS or field in ("outside_diameter", "size"):
        family = _SMALL
    elif field == "gasket_temperature":
        family = _TEMPERATURE
    elif field == "bolt_torque":
        family = _TORQUE
    else:
        return None
    found = family.pattern.search(column)
    if found is None:
        return None
    word = next(one for one in found.groups() if one).lower()
    return next(unit for start, unit in family.meant.items() if word.startswith(start))


def refuse_other_units(mapping: Mapping[str, str], wanted: Records, where: str) -> None:
    """Refuse a column whose name says another unit than that in which the job reads it.

    Parameters
    ----------
    mapping : dict of str to str
        Column by field.
    wanted : Records
    where : str
        File of the log.

    Raises
    ------
    JobFileError
    """
    for field, column in mapping.items():
        unit = unit_said(column, field)
        key, taken = _read_in(field, wanted)
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
