"""Columns whose name, or whose cells, leave open what they are: asked of the job, never guessed."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.errors import JobFileError
from asbuilt.inputs import values
from asbuilt.inputs.fields import DOUBTFUL_NAMES
from asbuilt.inputs.headers import normalised
from asbuilt.keys.fields import CLOCK_HOURS, GAP_FIELDS
from asbuilt.vocabulary import JOINT_TYPES, KINDS, joint_type

_MOST = 0.6
"""A column is what this part of its cells at least is."""
_FEWEST = 3
_HEIGHT = re.compile(
    r"elev|height|level|altitude|invert|crown|(?:^|[^a-z])(?:z|h|el|rl|alt|top|inv)(?:[^a-z]|$)", re.IGNORECASE
)


def could_be(columns: Iterable[str], taken: Mapping[str, str]) -> dict[str, tuple[str, ...]]:
    """Give the columns that could be one field or another, of those that nothing is read from.

    A field that has its column already is none of them; where one field is left, it is given if it is the likeliest.

    Parameters
    ----------
    columns : the file's column names
    taken : dict of str to str
        Column by field, as far as they are known.

    Examples
    --------
    >>> could_be(["Station", "By", "Joint No", "Line No"], {"station": "Station", "joint": "Joint No"})
    {'By': ('inspector', 'crew'), 'Line No': ('route',)}
    >>> could_be(["Route", "Pipe No"], {"route": "Route"})
    {'Pipe No': ('joint',)}
    """
    left = {name: DOUBTFUL_NAMES.get(normalised(name), ()) for name in columns if name not in taken.values()}
    open_fields = {name: tuple(field for field in fields if field not in taken) for name, fields in left.items()}
    return {
        name: fields
        for name, fields in open_fields.items()
        if len(fields) > 1 or (fields and fields[0] == left[name][0])
    }


def asked(columns: Iterable[str], taken: Mapping[str, str], where: str) -> list[str]:
    """Ask what columns are that could be one field or another.

    Parameters
    ----------
    columns, taken : as for `could_be`
    where : the file, for messages

    Examples
    --------
    >>> asked(["Station", "By"], {"station": "Station"}, "log.csv")[0][:47]
    "log.csv: column 'By' could be inspector or crew"
    """
    return [
        f"{where}: column {name!r} could be {' or '.join(fields)}: nothing is read from it; "
        f"{'say which,' if len(fields) > 1 else 'if it is, say'} records.columns.{fields[0]} = {name!r}"
        for name, fields in could_be(columns, taken).items()
    ]


def refuse_numbered_gaps(mapping: Mapping[str, str], chosen: Collection[str], where: str) -> None:
    """Refuse gaps at 1, 2, 3 and on: they number the readings, and say nothing of the clock."""
    hours = {hour for hour, field in zip(CLOCK_HOURS, GAP_FIELDS, strict=True) if field in mapping}
    said = any(field in chosen for field in GAP_FIELDS)
    if not said and len(hours) >= 2 and hours == set(range(1, len(hours) + 1)) and len(hours) < len(CLOCK_HOURS):
        first = mapping["gap_1"]
        raise JobFileError(
            f"{where}: the columns {first!r} to {mapping[f'gap_{len(hours)}']!r} seem to number the gap readings; say "
            f'at which clock position each was taken, as in records.columns.gap_12 = "{first}"'
        )


def refuse_other_content(
    mapping: Mapping[str, str], chosen: Iterable[str], cells: Mapping[str, pa.Array], columns: Sequence[str], where: str
) -> None:
    """Refuse a column that by its name is one thing and by its cells another, unless the job says what it is.

    That joints are numbered by words for their types no job can mean: a name may mean another thing on each sheet.

    Parameters
    ----------
    mapping : dict of str to str
        Column by field.
    chosen : the fields whose columns the job names
    cells : mapping of field to pyarrow string array
    columns : the file's column names
    where : the file, for messages

    Raises
    ------
    JobFileError
    """
    for field, others in _MISTAKEN.items():
        if field not in mapping or (field in chosen and field != "joint") or field not in cells:
            continue
        words = _counts(cells[field])
        if sum(words.values()) < _FEWEST or _are_mostly(words, _OWN[field]):
            continue
        for other in others:
            if _are_mostly(words, _OWN[other]):
                column = mapping[field]
                at = columns.index(column) + 1
                told = f"{where}: column {column!r} is named like {field}, but holds {other} ({_shown(words)})"
                if field in chosen:
                    raise JobFileError(
                        f"{told}, though records.columns.{field} names it; where a name means another thing on each "
                        f'sheet, name the columns of all, as in records.columns.{field} = ["{column}", "..."] and '
                        f'records.columns.{other} = ["...", "{column}"], or correct the names in the sheet'
                    )
                raise JobFileError(
                    f'{told}; say which it is, records.columns.{other} = "{column}", or records.columns.{field} = '
                    f'"{column}"; by its position, counted from the left, it is {at}, as in '
                    f"records.columns.{other} = {at}"
                )


def others_unread(
    unread: Mapping[str, pa.Array], columns: Sequence[str], mapping: Mapping[str, str], where: str
) -> list[str]:
    """Tell of columns from which nothing is read, though their cells are of a field that no column is read as.

    Parameters
    ----------
    unread : mapping of str to pyarrow string array
        The cells of each column that no field is read from.
    columns : the file's column names
    mapping : dict of str to str
        Column by field.
    where : the file, for messages

    Examples
    --------
    >>> types = pa.array(["push-on", "MJ", "push-on"])
    >>> others_unread({"Joint": types}, ["No", "Joint"], {"joint": "No"}, "log.csv")[0][:79]
    "log.csv: nothing is read from column 'Joint', though it holds joint_type ('push"
    """
    told = []
    for name, cells in unread.items():
        words = _counts(cells)
        if sum(words.values()) < _FEWEST:
            continue
        for field in _WORDED:
            if field not in mapping and _are_mostly(words, _WORDED[field]):
                at = columns.index(name) + 1
                told.append(
                    f"{where}: nothing is read from column {name!r}, though it holds {field} ({_shown(words)}), and no "
                    f'column is read as that; say records.columns.{field} = "{name}", or by its position, counted '
                    f"from the left, records.columns.{field} = {at}"
                )
                break
    return told


def _counts(cells: pa.Array) -> dict[str, int]:
    """Say how often each text of a column stands there."""
    return {one["values"]: one["counts"] for one in pc.value_counts(cells.drop_null()).to_pylist()}


def _shown(words: Mapping[str, int]) -> str:
    return ", ".join(repr(one) for one in [*filter(None, words)][:3])


def heights_not_read(table_columns: Sequence[str], data: pa.Table, mapping: Mapping[str, str]) -> list[str]:
    """Give the columns of a survey that look like elevations, though none is read as that.

    Parameters
    ----------
    table_columns : the file's column names
    data : pyarrow table of text, shape (n, columns)
    mapping : dict of str to str
        Column by field.

    Examples
    --------
    >>> data = pa.table({"N": ["1"], "E": ["2"], "Top RL": ["31.2"], "Code": ["WM"]})
    >>> heights_not_read(data.column_names, data, {"northing": "N", "easting": "E"})
    ['Top RL']
    """
    if "elevation" in mapping:
        return []
    left = [name for name in table_columns if name not in mapping.values() and _HEIGHT.search(name)]
    return [name for name in left if _numbers(data[name].combine_chunks())]


def _numbers(cells: pa.Array) -> bool:
    given = cells.drop_null()
    return bool(len(given)) and bool(np.mean(np.isfinite(values.numbers(given))) >= _MOST)


def _are_mostly(words: Mapping[str, int], is_one: Callable[[str], bool]) -> bool:
    """Say whether the cells of a column are of a kind, by how often each text stands there."""
    every, known = sum(words.values()), 0
    for word, times in words.items():
        known += times if word and is_one(word) else 0
        if known / every >= _MOST:
            return True
    return False


_KIND_WORDS = frozenset(word for words in KINDS.values() for word in words if len(word) > 2)
_OWN: dict[str, Callable[[str], bool]] = {
    "joint": lambda text: any(map(str.isdigit, text)) and joint_type(text) not in JOINT_TYPES,
    "joint_type": lambda text: joint_type(text) in JOINT_TYPES,
    "kind": lambda text: any(word in _KIND_WORDS for word in re.findall(r"[a-z]+", text.casefold())),
    "pipe_class": lambda text: re.fullmatch(r"(?i)\s*(?:cl(?:ass)?|pc|k|c|pn)[\s.-]*\d+\s*", text) is not None,
}
"""What cells of a field look like."""
_LAID = frozenset({"pipe", "bend", "elbow", "tee", "valve", "length", "straight"})
_WORDED: dict[str, Callable[[str], bool]] = {
    "joint_type": _OWN["joint_type"],
    "kind": lambda text: values.kind(text) in KINDS and not _LAID.isdisjoint(text.casefold().split()),
}
"""Fields whose cells are words of the trade, and nothing else: "DI pipe" is a material."""
_MISTAKEN = {"joint": ("joint_type", "kind"), "joint_type": ("kind", "pipe_class"), "kind": ("joint_type",)}
"""Fields whose names crews give to columns of other fields."""
