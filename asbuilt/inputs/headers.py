"""Rows of column names: found among the first rows of a file, made plain, and matched to fields."""

from __future__ import annotations

import difflib
import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from functools import lru_cache

from asbuilt.errors import InputFileError
from asbuilt.keys.fields import MEASURES

FIRST_ROWS = 50
"""Rows in which column names are looked for."""
UNIT_HINT = re.compile(
    r"\([^)]*\)|\[[^\]]*\]|[°º]\s*[cf]?\b|,\s*(?:ft|in|mm|m|deg|ft-lbs?|n-m)\.?\s*$"
    r"|(?<=[^\W_])_(?:us_?ft|ft|feet|in|mm|m|deg|(?:deg_?)?[fc])\s*$"
)
_SECOND = """checkedby chkdby ckdby verifiedby witnessedby qcby laidby installedby pipelayer squad connection
    connectiontype component itemtype piecetype pipeline watermain memo observations fieldnotes remarksnotes photoid
    photoref latitude lat longitude long lon lng rl toprl reducedlevel workdate jointdate datejointed installdate
    installationdate dateinstalled datechecked lineid mainid jointcount bore nominalbore lubricantok greased pipelen
    lengthofpipe chain ch chge spigotod stat
    wallclass jointref fittingtype temp temperature"""
SECOND_CHOICE = frozenset(_SECOND.split())
"""Plain names by which a column is taken only where no other goes by a plainer one."""
_BEHIND = re.compile(
    r"(?<=\w)\.?,?(?:\s+(?:in\s+)?|\s*[-/]\s*)(?:(?P<torque>ft[-·. ]?lbs?f?|lb[-·. ]?ft|n[-·. ]?m)"
    r"|(?P<length>(?:us[- ]?(?:survey[- ])?|s)?(?:ft|feet|foot)|l\.?f|met(?:er|re)s?|m)|(?P<small>in|inch(?:es)?|mm)"
    r"|(?P<temperature>(?:deg(?:rees)?\.?\s*)?(?:f(?:ahrenheit)?|c(?:elsius)?))|(?P<angle>deg(?:rees)?))\.?\s*$",
    re.IGNORECASE,
)
"""Units behind a name without brackets: "Gap 12 in" is a gap, but "Spigot in" says whether the spigot was in."""
_UNNAMED = "column "
_SECOND_TIME = 2
"""What `column_names` puts behind a name that stands a second time."""
_TWO_TABLES = 3
"""Fields of which two columns bear one name, where a sheet has two tables side by side."""
_NUMERIC = re.compile(r"[+-]?\d[\d.,+]*")


@lru_cache(4096)
def normalised(name: str) -> str:
    """Bring a column name to its plain form: small letters and digits, without unit hints.

    Examples
    --------
    >>> normalised("Gasket Temp. (F)"), normalised("STA."), normalised("Laid length, ft"), normalised("Joint #")
    ('gaskettemp', 'sta', 'laidlength', 'joint')
    >>> normalised("Elev_m"), normalised("Gasket_Temp_F")
    ('elev', 'gaskettemp')
    """
    # Each of some hundred known names, and each cell of a first row, is asked for again and again.
    return re.sub(r"[^a-z0-9]", "", UNIT_HINT.sub(" ", name.lower()))


def plain_name(name: str, known: Mapping[str, str]) -> str:
    """Bring a column name to its plain form, without a unit behind it where that is one of the field that it names.

    Parameters
    ----------
    name : str
    known : mapping of plain name to field

    Examples
    --------
    >>> known = {"gaskettemp": "gasket_temperature", "gap12": "gap_12", "spigot": "spigot_clean"}
    >>> [plain_name(name, known) for name in ("Gasket temp F", "Gap 12 in", "Spigot in")]
    ['gaskettemp', 'gap12', 'spigotin']
    """
    whole = normalised(name)
    if whole in known:
        return whole
    unit = _BEHIND.search(name)
    if unit is None:
        return whole
    rest = normalised(name[: unit.start()])
    return rest if MEASURES.get(known.get(rest, "")) == unit.lastgroup else whole


def match_columns(
    columns: Sequence[str],
    fields: Mapping[str, frozenset[str]],
    chosen: Mapping[str, str | int],
    *,
    where: str,
    key: str,
) -> dict[str, str]:
    """Match columns to fields: as the job says, and otherwise by name.

    Parameters
    ----------
    columns : the file's column names
    fields : mapping of field to the plain forms of the names it goes by
        A column named as the field itself always matches.
    chosen : mapping of field to column
        The job's own choice: a name, or a position counted from 1.
    where, key : the file and the job's key, for messages

    Returns
    -------
    dict
        Column of each field found.

    Raises
    ------
    InputFileError
        When a chosen column is not there, or two columns match one field.

    Examples
    --------
    >>> fields = {"station": frozenset({"sta"}), "remarks": frozenset({"notes"})}
    >>> match_columns(["Sta.", "Notes", "By"], fields, {"inspector": "by"}, where="log.csv", key="records.columns")
    {'inspector': 'By', 'station': 'Sta.', 'remarks': 'Notes'}
    """
    known = names_of_fields(fields)
    usual = {known.get(plain_name(column, known)): column for column in columns}
    matched = {
        field: _chosen_column(columns, wanted, f"{where}: {key}.{field}", usual.get(field))
        for field, wanted in chosen.items()
    }
    taken = set(matched.values())
    named = named_columns([column for column in columns if column not in taken], fields)
    twice = [one for one, found in named.items() if len(found) > 1 and found[1] == f"{found[0]} ({_SECOND_TIME})"]
    if len(twice) >= _TWO_TABLES:
        names = ", ".join(repr(named[field][0]) for field in twice[:_TWO_TABLES])
        raise InputFileError(
            f"{where}: the columns {names} stand twice, as of two tables side by side: put the rows of one below those "
            "of the other"
        )
    for field, found in named.items():
        if field in matched:
            continue
        if len(found) > 1:
            raise InputFileError(
                f"{where}: the columns {' and '.join(map(repr, found))} could each be {field}; "
                f'say which with {key}.{field} = "{found[0]}", or by its position, counted from the left: '
                f"{key}.{field} = {columns.index(found[0]) + 1}"
            )
        matched[field] = found[0]
    return matched


def named_columns(columns: Sequence[str], fields: Mapping[str, frozenset[str]]) -> dict[str, list[str]]:
    """Give the columns that each field could be by their names; fields that no column could be are absent.

    Examples
    --------
    >>> named_columns(["Sta.", "Note", "By"], {"station": frozenset({"sta"}), "remarks": frozenset({"note"})})
    {'station': ['Sta.'], 'remarks': ['Note']}
    >>> named_columns(["Checked by", "Insp."], {"inspector": frozenset({"insp", "checkedby"})})
    {'inspector': ['Insp.']}
    """
    known = names_of_fields(fields)
    names = {column: plain_name(column, known) for column in columns}
    could = {field: [column for column, name in names.items() if known.get(name) == field] for field in fields}
    plainer = {field: [one for one in found if names[one] not in SECOND_CHOICE] for field, found in could.items()}
    return {field: plainer[field] or found for field, found in could.items() if found}


def has_column(columns: Iterable[str], wanted: str) -> bool:
    """Say whether a name that a job gives is one of some columns', apart from capitals and spaces.

    Examples
    --------
    >>> has_column(["Jt No.", "Joint #"], "jt no."), has_column(["Jt No.", "Joint #"], "Joint")
    (True, False)
    """
    return _loosely(wanted) in map(_loosely, columns)


def _loosely(name: str) -> str:
    return "".join(name.split()).casefold()


def _chosen_column(columns: Sequence[str], wanted: str | int, what: str, usual: str | None) -> str:
    """Find the column that the job names; `usual` is the one that its field goes by, for the message."""
    if isinstance(wanted, int):
        if 1 <= wanted <= len(columns):
            return columns[wanted - 1]
        raise InputFileError(f"{what}: there is no column {wanted}; the file has {len(columns)} columns")
    if wanted in columns:
        return wanted
    plain, loose = _loosely(wanted), {column: _loosely(column) for column in columns}
    found = [column for column in columns if loose[column] == plain]
    if len(found) == 1:
        return found[0]
    if found:
        raise InputFileError(f"{what}: {wanted!r} could be {' or '.join(map(repr, found))}; write it just as it is")
    nearest = difflib.get_close_matches(plain, loose.values(), n=1, cutoff=0.5)
    meant = [usual] if usual is not None else [column for column in columns if loose[column] in nearest]
    hint = [f"; did you mean {column!r}?" for column in meant[:1]]
    raise InputFileError(f"{what}: there is no column {wanted!r}; the columns are {', '.join(columns)}{''.join(hint)}")


def names_of_fields(fields: Mapping[str, frozenset[str]]) -> dict[str, str]:
    known = {name: field for field, names in fields.items() for name in names}
    # Set last, so that a field's own name wins over a name that another field goes by too.
    return known | {normalised(field): field for field in fields}


def find_header(rows: Sequence[Sequence[str]], known: Mapping[str, str], header: bool | None) -> int | None:
    """Find the row of column names among the first rows; None where all rows are data."""
    if header is False:
        return None
    named = [_named(row, known) for row in rows]
    best = max(range(len(named)), key=lambda at: len(named[at]))
    if len(named[best]) >= 2:
        # Names that stand again further down may be more: the rows between are records, too.
        return next(at for at in range(best + 1) if at == best or _goes_before(rows[at], named[at], named[best]))
    filled = [sum(map(bool, row)) for row in rows]
    # A row with one cell is a title, unless all rows are of one cell.
    first = next(at for at, count in enumerate(filled) if count >= min(2, max(filled)))
    looks_like_data = sum(bool(_NUMERIC.fullmatch(cell)) for cell in rows[first]) >= 2
    return None if looks_like_data and not header else first


def fields_named(cells: Iterable[str], known: Mapping[str, str]) -> int:
    """Count the fields that the cells of a row name."""
    return len(_named(cells, known))


def _named(cells: Iterable[str], known: Mapping[str, str]) -> set[str]:
    return {field for field in (known.get(plain_name(cell, known)) for cell in cells) if field is not None}


def from_row_above(
    above: Sequence[str], names: Sequence[str], known: Mapping[str, str], groups: Collection[int]
) -> dict[int, str]:
    """Give the column names that begin in the row above the others, or stand there alone.

    Parameters
    ----------
    above, names : rows of equally many cells
        The row above the column names, and that of the column names.
    known : mapping of plain name to field
    groups : columns over which the row above names a group

    Returns
    -------
    dict of int to str
        Name by column. Nothing where the row above is rather a title: half of its cells then name nothing here.

    Examples
    --------
    >>> known = {"jointno": "joint", "station": "station", "laidlength": "laid_length", "length": "laid_length"}
    >>> from_row_above(["Joint", "Station", "Laid"], ["No.", "", "Length"], known, ())
    {0: 'Joint No.', 1: 'Station'}
    >>> from_row_above(["Job", "Elm Street", "Station"], ["No.", "Length", ""], known, ())
    {}
    """
    both = enumerate(zip(above, names, strict=True))
    full = {at: f"{over} {name}".strip() if over != name else name for at, (over, name) in both if over}
    told = {at: name for at, name in full.items() if plain_name(name, known) in known}
    if 2 * len(told.keys() | {at for at in groups if at in full}) <= len(full):
        return {}
    return {at: name for at, name in told.items() if plain_name(names[at], known) not in known}


def _goes_before(row: Sequence[str], named: set[str], best: set[str]) -> bool:
    """Say whether a row is one of column names, though one further down names more of them.

    Titles such as "Route, A, Date, 4/2" name fields, too: half of their cells are values, and no station is among them.
    """
    enough = len(named) >= 3 and 2 * len(named & best) >= len(best) and 2 * len(named) > sum(map(bool, row))
    return enough and ("station" in named or "station" not in best)


def column_names(cells: Sequence[str]) -> tuple[str, ...]:
    """Name each column once; a blank name becomes the column's position."""
    names: dict[str, None] = {}
    for at, cell in enumerate(cells, start=1):
        plain = name = cell or f"{_UNNAMED}{at}"
        count = 1
        while name in names:
            count += 1
            name = f"{plain} ({count})"
        names[name] = None
    return tuple(names)


def last_filled(cells: Sequence[str]) -> int:
    return max((at for at, cell in enumerate(cells, start=1) if cell), default=0)


def unnamed(column: str) -> bool:
    """Say whether a name is what `column_names` calls a column without one.

    Examples
    --------
    >>> unnamed("column 11"), unnamed("Column"), unnamed("Joint")
    (True, False, False)
    """
    return column.startswith(_UNNAMED) and column.removeprefix(_UNNAMED).isdigit()
