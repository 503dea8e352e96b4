"""Joints in the words of the utility's own map: its column names, types, coded values and fixed values.

Every value is held against its column before anything is written; what does not fit is reported, never bent.
"""

from __future__ import annotations

import difflib
import fnmatch
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Bools, as_mask
from asbuilt.inputs.text_table import as_text

if TYPE_CHECKING:
    from asbuilt.keys.outputs import Map

Kind = Literal["text", "integer", "real", "date", "datetime", "boolean", "uuid", "other"]

TYPES: dict[str, pa.DataType] = {
    "text": pa.string(),
    "integer": pa.int64(),
    "real": pa.float64(),
    "date": pa.date32(),
    "datetime": pa.timestamp("ms"),
    "boolean": pa.bool_(),
    "uuid": pa.string(),
}
_FORMS: dict[str, str] = {
    "integer": r"^[+-]?\d{1,18}(?:\.0*)?$",
    "real": r"^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?$",
    "date": r"^\d{4}-\d{2}-\d{2}$",
    "datetime": r"^\d{4}-\d{2}-\d{2}(?:[T ]\d{2}:\d{2}(?::\d{2})?)?$",
    "boolean": r"(?i)^(?:yes|no|true|false|0|1)$",
    "uuid": r"(?i)^\{?[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}\}?$",
}
_WORDS = {"text": "text", "integer": "a whole number", "real": "a number", "date": "a date", "datetime": "a time",
          "boolean": "yes or no", "uuid": "a UUID"}  # fmt: skip
_SHOWN = 3


@dataclass(frozen=True)
class Field:
    """A column of the utility's layer, and what it can hold."""

    name: str
    kind: Kind
    width: int | None = None
    """Most characters of a text, or bytes where `encoding` is given."""
    encoding: str | None = None
    least: float | None = None
    most: float | None = None
    allowed: frozenset[str] | None = None
    """The coded values of its domain, as text."""
    pattern: str | None = None
    """A glob that its texts match."""
    required: bool = False
    """Whether it takes no blank and has no default."""


@dataclass(frozen=True)
class Target:
    """The utility's layer."""

    name: str
    fields: tuple[Field, ...]
    geometry: str
    """Such as Point or MultiPoint."""
    has_z: bool
    crs: str | None
    """Coordinate system, as well-known text or like EPSG:6418; None where the layer does not say."""
    reserved: frozenset[str] = frozenset()
    """Columns that the store fills itself, such as its row numbers."""

    def field(self, name: str) -> Field | None:
        """Give a column by its name, in any letters."""
        return next((one for one in self.fields if one.name.casefold() == name.casefold()), None)


def fit(ours: pa.Table, wanted: Map, target: Target) -> tuple[pa.Table, list[str]]:
    """Bring joints into the columns of the utility's layer.

    Parameters
    ----------
    ours : pyarrow table
        Joints, with columns as described in `asbuilt.schema`.
    wanted : Map
        Which of our fields goes where, with coded and fixed values.
    target : Target

    Returns
    -------
    table : pyarrow table
        The layer's columns that are written, typed as they are there.
    problems : list of str
        Every value that does not fit, and every column that is missing, each naming the job's key; empty where all
        is well.

    Examples
    --------
    >>> from asbuilt.keys.outputs import Map
    >>> wanted = Map(into="u.gpkg", key="joint", columns={"joint": "NO", "verdict": "CODE"},
    ...     values={"verdict": {"within": 1}})
    >>> target = Target("joints", (Field("NO", "text", width=2), Field("CODE", "integer")), "Point", True, None)
    >>> table, problems = fit(pa.table({"joint": ["7", "123"], "verdict": ["within", "within"]}), wanted, target)
    >>> table["CODE"].to_pylist(), problems
    ([1, 1], ["map.columns.joint: 1 value does not fit NO (text of at most 2 characters): '123'"])
    """
    problems: list[str] = []
    columns: dict[str, pa.Array] = {}
    for field, name in wanted.columns.items():
        column = _flat(ours[field])
        key = f"map.columns.{field}"
        if field in wanted.values:
            column = _coded(column, wanted.values[field], f"map.values.{field}", problems)
        _put(columns, column, key, name, target, problems)
    for name, value in wanted.fixed.items():
        text = str(value).lower() if isinstance(value, bool) else str(value)
        _put(columns, pa.array([text] * ours.num_rows, pa.string()), f"map.fixed.{name}", name, target, problems)
    unfilled = [one.name for one in target.fields if one.required and one.name not in columns]
    problems += [f"map: the column {name} must be filled in; give it a field or a fixed value" for name in unfilled]
    return pa.table(columns), problems


def described(wanted: Map, ours: pa.Table, crs: str) -> Target:
    """Describe the layer to be made: types as the job says, else as the values are.

    Parameters
    ----------
    wanted : Map
    ours : pyarrow table
        Joints.
    crs : str
        Coordinate system of the layer.
    """
    stated = {name.casefold(): kind for name, kind in wanted.types.items()}
    fields = []
    for field, name in wanted.columns.items():
        coded = wanted.values.get(field)
        kind = _kind_of_values(coded.values()) if coded else _kind_of_type(ours[field].type)
        fields.append(_field(name, stated.get(name.casefold(), kind)))
    for name, value in wanted.fixed.items():
        fields.append(_field(name, stated.get(name.casefold(), _kind_of_values([value]))))
    known = not ours["elevation"].null_count or bool(wanted.unknown_elevation is not None)
    return Target(wanted.layer or "", tuple(fields), "Point", known, crs)


def other_types(wanted: Map, target: Target) -> list[str]:
    """Name the columns of a layer that are of another type than the job says of those to be made.

    A job that made its layer says the types of it ever after, and so do the next jobs that go into it.
    """
    problems = []
    for name, kind in wanted.types.items():
        stated, there = _field(name, kind), target.field(name)
        # A column that is not there is told where a value is to go into it.
        if there is None or (stated.kind == there.kind and None in (stated.width, there.width)):
            continue
        if (stated.kind, stated.width) != (there.kind, there.width):
            problems.append(
                f"map.types.{name}: the layer is there already, and has it as {_words(there)}; correct the type, or "
                "remove it"
            )
    return problems


def keys(table: pa.Table, names: Sequence[str]) -> pa.Array:
    """Write the key of each row as one text; null where a part of it is blank."""
    parts = [pc.utf8_lower(_flat(as_text(table[name]))) for name in names]
    return pc.binary_join_element_wise(*parts, "\x1f")


def shown_keys(table: pa.Table, names: Sequence[str]) -> list[str]:
    """Write the key of each row for a person to read."""
    parts = [pc.fill_null(_flat(as_text(table[name])), "(blank)") for name in names]
    return [str(one) for one in pc.binary_join_element_wise(*parts, " ").to_pylist()]


def _put(
    columns: dict[str, pa.Array], column: pa.Array, key: str, name: str, target: Target, problems: list[str]
) -> None:
    field = target.field(name)
    if field is None:
        names = [one.name for one in target.fields]
        near = difflib.get_close_matches(name, names, n=1, cutoff=0.5)
        hint = f"did you mean {near[0]!r}?" if near else f"its columns are {', '.join(names)}"
        problems.append(f"{key}: the layer {target.name} has no column {name!r}; {hint}")
        return
    if field.kind == "other" or field.name in target.reserved:
        problems.append(f"{key}: the column {field.name} is filled by the layer itself, or of a type not known here")
        return
    values, wrong = _converted(column, field)
    blank = as_mask(values.is_null()) & ~wrong
    if field.required and blank.any():
        problems.append(f"{key}: {_many(blank)} blank, but {field.name} must be filled in")
    if wrong.any():
        shown = pc.unique(as_text(pa.chunked_array([column.filter(pa.array(wrong))]))).to_pylist()[:_SHOWN]
        fits = "does" if wrong.sum() == 1 else "do"
        problems.append(
            f"{key}: {_many(wrong)} {fits} not fit {field.name} ({_words(field)}): {', '.join(map(repr, shown))}"
        )
    columns[field.name] = values


def _converted(column: pa.Array, field: Field) -> tuple[pa.Array, Bools]:
    """Give the values as the column holds them, and say which do not fit."""
    text = _flat(as_text(pa.chunked_array([column])))
    if field.kind in ("text", "other"):
        return text, _wrong_text(text, field)
    if field.kind == "real" and pa.types.is_floating(column.type):
        values, wrong = column, np.zeros(len(column), dtype=np.bool_)
    else:
        readable = as_mask(pc.match_substring_regex(text, _FORMS[field.kind]))
        wrong = ~readable & as_mask(text.is_valid())
        values = _read(pc.if_else(pa.array(readable), text, pa.scalar(None, pa.string())), field.kind)
        wrong |= as_mask(values.is_null()) & as_mask(text.is_valid())
    if field.kind in ("integer", "real"):
        for bound, beyond in ((field.least, pc.less), (field.most, pc.greater)):
            if bound is not None:
                wrong |= as_mask(beyond(values, bound))
    if field.allowed is not None:
        wrong |= ~as_mask(pc.is_in(text, value_set=pa.array(sorted(field.allowed)))) & as_mask(text.is_valid())
    return values, wrong


def _wrong_text(text: pa.Array, field: Field) -> Bools:
    distinct = pc.dictionary_encode(text)
    fits = [_fits(one, field) for one in distinct.dictionary.to_pylist()]
    taken = pa.array(fits, pa.bool_()).take(distinct.indices)
    return as_mask(pc.invert(pc.fill_null(taken, True)))


def _fits(text: str, field: Field) -> bool:
    if field.allowed is not None and text not in field.allowed:
        return False
    if field.pattern is not None and not fnmatch.fnmatchcase(text, field.pattern):
        return False
    if field.encoding is None:
        return field.width is None or len(text) <= field.width
    try:
        return field.width is None or len(text.encode(field.encoding)) <= field.width
    except UnicodeEncodeError:
        return False


def _read(text: pa.Array, kind: str) -> pa.Array:
    if kind == "integer":
        return pc.cast(pc.replace_substring_regex(text, r"\.0*$|^\+", ""), pa.int64())
    if kind == "real":
        return pc.cast(pc.replace_substring_regex(text, r"^\+", ""), pa.float64())
    if kind == "boolean":
        return pc.match_substring_regex(text, r"(?i)^(?:yes|true|1)$")
    if kind in ("date", "datetime"):
        # Each distinct text once: a text such as 2026-02-30 has the form of a date and is none.
        distinct = pc.dictionary_encode(text)
        days = [_day(one) for one in distinct.dictionary.to_pylist()]
        return pa.array(days, TYPES["datetime"]).take(distinct.indices).cast(TYPES[kind])
    return text


def _day(text: str) -> object:
    import datetime as dt

    try:
        return dt.datetime.fromisoformat(text)
    except ValueError:
        return None


def _coded(column: pa.Array, values: Mapping[str, str | bool | int | float], key: str, problems: list[str]) -> pa.Array:
    """Put the utility's coded values in place of ours."""
    distinct = pc.dictionary_encode(_flat(as_text(pa.chunked_array([column]))))
    named = distinct.dictionary.to_pylist()
    absent = [one for one in named if one not in values]
    if absent:
        problems.append(f"{key}: there is no value for {', '.join(map(repr, absent[:8]))}; add it")
    texts = [str(values[one]).lower() if isinstance(values.get(one), bool) else str(values.get(one)) for one in named]
    mapped = pa.array([None if one in absent else text for one, text in zip(named, texts, strict=True)], pa.string())
    return mapped.take(distinct.indices)


def _kind_of_type(kind: pa.DataType) -> str:
    if pa.types.is_floating(kind):
        return "real"
    if pa.types.is_integer(kind):
        return "integer"
    return "date" if pa.types.is_date(kind) else "text"


def _kind_of_values(values: Iterable[object]) -> str:
    kinds = {type(value).__name__ for value in values}
    return {"int": "integer", "float": "real", "bool": "boolean", "date": "date"}.get(
        next(iter(kinds)) if len(kinds) == 1 else "", "real" if kinds == {"int", "float"} else "text"
    )


def _field(name: str, stated: str) -> Field:
    found = re.fullmatch(r"(\w+)(?:\((\d+)\))?", stated)
    assert found is not None
    return Field(name, found[1], width=int(found[2]) if found[2] else None)  # type: ignore[arg-type]


def _words(field: Field) -> str:
    words = _WORDS[field.kind]
    if field.width is not None:
        words += f" of at most {field.width} {'bytes' if field.encoding else 'characters'}"
    if field.encoding:
        words += f" in {field.encoding}"
    bounds = []
    if field.least is not None or field.most is not None:
        ends = [f"{word} {end:.12g}" for word, end in (("from", field.least), ("to", field.most)) if end is not None]
        bounds.append(" ".join(ends))
    if field.allowed is not None:
        few = sorted(field.allowed)
        bounds.append("one of " + ", ".join(few[:8]) + (", ..." if len(few) > 8 else ""))
    if field.pattern is not None:
        bounds.append(f"like {field.pattern}")
    return ", ".join([words, *bounds])


def _many(mask: Bools) -> str:
    count = int(mask.sum())
    return "1 value" if count == 1 else f"{count:,} values"


def _flat(column: pa.ChunkedArray | pa.Array) -> pa.Array:
    return column.combine_chunks() if isinstance(column, pa.ChunkedArray) else column
