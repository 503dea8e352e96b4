"""Sections of a sheet: column names that stand again further down hold for the rows below them.

A page of a log often begins with the names of its columns once more, and a later page may have a column more.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Ints, as_mask, as_one, first_bytes, of_rows
from asbuilt.inputs.headers import column_names, fields_named, names_of_fields, plain_name
from asbuilt.inputs.text_table import BrokenRow, TextTable, filtered

_LEAST_NAMES = 3
"""A row that names fewer fields may be a record: "Joint" is a kind, "Main" a route."""
_LOOKED_AT = 4
_LETTERS = np.isin(np.arange(256), list(b"abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"))


class _Header(NamedTuple):
    """A row of column names further down."""

    row: int
    names: tuple[str, ...]
    """By position; a blank name where it has none."""


def by_their_own_names(table: TextTable, fields: Mapping[str, frozenset[str]]) -> TextTable:
    """Read the rows below column names that stand again by these names; the rows of names are no records.

    Parameters
    ----------
    table : TextTable
    fields : mapping of field to the plain forms of the names it goes by

    Returns
    -------
    TextTable
        With the columns of all sections; a column that names the same field is one column.

    Examples
    --------
    >>> import numpy as np
    >>> from asbuilt.inputs.text_table import table_from_columns
    >>> rows = pa.table({"Sta": ["0+00", "Gauge", "ok"], "Jt": ["1", "Joint", "2"], "Gauge": ["ok", "Station", "0+20"]})
    >>> fields = {"station": frozenset({"sta"}), "joint": frozenset({"jt"}), "gauge": frozenset()}
    >>> by_their_own_names(table_from_columns(rows, name="log"), fields).data.to_pylist()
    [{'Sta': '0+00', 'Jt': '1', 'Gauge': 'ok'}, {'Sta': '0+20', 'Jt': '2', 'Gauge': 'ok'}]
    """
    known = names_of_fields(fields)
    headers = [*_among_rows(table, known), *_among_broken(table, known)] if table.headed else []
    if not headers:
        return table
    headers.sort()
    wide = _widened(table, headers)
    names, places = _places(table.columns, headers, known)
    own = wide.row[:, None] > np.array([one.row for one in headers])
    section = own.sum(axis=1)
    is_header = np.isin(wide.row, [one.row for one in headers])
    keep = ~is_header
    columns = [_column(wide, at, section, places) for at in range(len(names))]
    told = [
        f"{table.where}: row {one.row} has column names again"
        + ("" if place == places[0] else ", which hold for the rows below it")
        for one, place in zip(headers, places[1:], strict=True)
    ]
    data = filtered(pa.table(columns, names=list(names)), keep)
    return replace(
        wide, columns=tuple(names), data=data, row=wide.row[keep], notes=(*table.notes, *told),
        places=tuple((row, place) for row, place in zip([0, *(one.row for one in headers)], places, strict=True)),
        numeric=frozenset(),
    )  # fmt: skip


def _among_rows(table: TextTable, known: Mapping[str, str]) -> list[_Header]:
    """Find the rows that are column names: only cells that are names of fields are looked at whole."""
    told = [name for name in table.columns if plain_name(name, known) in known][:_LOOKED_AT]
    likely = np.zeros(len(table.row), dtype=bool)
    for name in told:
        column = as_one(table.data[name])
        # Names begin with a letter and are short; most cells of a log are numbers.
        rows = np.flatnonzero(_LETTERS[first_bytes(column)])
        column = of_rows(column, rows)
        words = pc.fill_null(pc.match_substring_regex(column, r"^[A-Za-z][A-Za-z .#/()_-]{0,30}\d{0,2}$"), False)
        rows, coded = rows[as_mask(words)], pc.dictionary_encode(column.filter(words))
        named = np.array([plain_name(one, known) in known for one in coded.dictionary.to_pylist()], dtype=bool)
        if len(rows) and named.any():
            likely[rows[named[coded.indices.to_numpy()]]] = True
    found = []
    for at in np.flatnonzero(likely).tolist():
        cells = tuple(table.data[name][at].as_py() or "" for name in table.columns)
        if _are_names(cells, known):
            found.append(_Header(int(table.row[at]), cells))
    return found


def _among_broken(table: TextTable, known: Mapping[str, str]) -> list[_Header]:
    headers = [_Header(one.row, _by_position(table, one)) for one in table.broken]
    return [one for one in headers if _are_names(one.names, known)]


def _are_names(cells: Sequence[str], known: Mapping[str, str]) -> bool:
    named = fields_named(cells, known)
    return named >= _LEAST_NAMES and 2 * named >= sum(map(bool, cells))


def _by_position(table: TextTable, broken: BrokenRow) -> tuple[str, ...]:
    """Give the cells of a row that has more of them than there are columns, by their positions."""
    more = max(len(broken.cells), 1) + len(table.columns)
    every = column_names([*table.columns, *[""] * more])
    last = max(every.index(name) for name in broken.cells if name in every) if broken.cells else -1
    return tuple(broken.cells.get(name, "") for name in every[: last + 1])


def _widened(table: TextTable, headers: Sequence[_Header]) -> TextTable:
    """Add as columns the positions that later column names reach to, and put the rows there that fit them."""
    width = max(len(table.columns), *(len(one.names) for one in headers))
    names = column_names([*table.columns, *[""] * (width - len(table.columns))])
    fitting: list[tuple[int, tuple[str, ...]]] = []
    left = []
    for one in table.broken:
        above = [header for header in headers if header.row <= one.row]
        cells = _by_position(table, one)
        fits = above and len(cells) <= len(above[-1].names)
        if fits:
            fitting.append((one.row, cells))
        else:
            left.append(one)
    if width == len(table.columns) and not fitting:
        return table
    blank = pa.chunked_array([pa.nulls(len(table.row), pa.string())])
    data = pa.table([*table.data.columns, *[blank] * (width - len(table.columns))], names=list(names))
    row = table.row
    if fitting:
        padded = [[cell or None for cell in (*cells, *[""] * (width - len(cells)))] for _, cells in fitting]
        added = pa.table([pa.array(column, pa.string()) for column in zip(*padded, strict=True)], names=list(names))
        row = np.concatenate([row, np.array([at for at, _ in fitting], dtype=np.int64)])
        order = np.argsort(row, kind="stable")
        data, row = pa.concat_tables([data, added]).take(pa.array(order)), row[order]
    return replace(table, columns=names, data=data, row=row, broken=tuple(left))


def _places(
    first: Sequence[str], headers: Sequence[_Header], known: Mapping[str, str]
) -> tuple[list[str], list[tuple[int, ...]]]:
    """Give the columns of all sections, and for each section the position of each of them; -1 where it has none."""
    names = list(first)
    of_sections: list[dict[str, int]] = [{name: at for at, name in enumerate(first)}]
    for header in headers:
        place: dict[str, int] = {}
        for at, name in enumerate(header.names):
            if not name and at < len(first):
                place.setdefault(first[at], at)
            elif name:
                same = next((one for one in names if one not in place and _alike(one, name, known)), None)
                if same is None:
                    same = column_names([*names, name])[-1]
                    names.append(same)
                place[same] = at
        of_sections.append(place)
    return names, [tuple(place.get(name, -1) for name in names) for place in of_sections]


def _alike(one: str, other: str, known: Mapping[str, str]) -> bool:
    """Say whether two columns hold the same: by their names, or by the field that these name."""
    first, second = plain_name(one, known), plain_name(other, known)
    return one == other or (first == second != "") or (first in known and known[first] == known.get(second))


def _column(wide: TextTable, at: int, section: Ints, places: Sequence[Sequence[int]]) -> pa.Array:
    """Give one column, each section's rows from where it stands there."""
    found = pa.nulls(len(wide.row), pa.string())
    for number, place in enumerate(places):
        if place[at] >= 0:
            source = wide.data.column(place[at]).combine_chunks()
            found = pc.if_else(pa.array(section == number), source, found)
    return found
