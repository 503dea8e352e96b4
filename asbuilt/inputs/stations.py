"""Stations as logs write them: an offset behind a station, numbers without + among stations with it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import as_mask
from asbuilt.inputs import values
from asbuilt.line import station_text, stationing

if TYPE_CHECKING:
    from asbuilt.arrays import Bools, Ints
    from asbuilt.keys.log import Records

_SIDE = r"(?:RIGHT|LEFT|RT\.?|LT\.?|R|L)"
_AMOUNT = r"\d+(?:[.,]\d+)?\s*(?:'|’|′|FT\.?|FEET|M)?"
_WITH_OFFSET = (
    r"(?i)^(?P<station>.*\d['’′]?(?:\s*(?:ft|m|bk|back|ah|ahead)\.?)?)[\s,;/]+"
    rf"(?P<offset>(?:RIGHT|LEFT|RT\.?|LT\.?)\s*{_AMOUNT}|[RL]\s+{_AMOUNT}|{_AMOUNT}\s*{_SIDE}|C/?L)$"
)
"""R and L before their amount stand apart from it: "28+44.31 R3" is no offset."""


def without_offsets(text: pa.Array) -> tuple[pa.Array, pa.Array]:
    """Part stations from the offsets written behind them.

    Parameters
    ----------
    text : pyarrow string array, shape (n,)

    Returns
    -------
    stations, offsets : pyarrow string arrays, shape (n,)
        The offset is null where there is none.

    Examples
    --------
    >>> stations, offsets = without_offsets(pa.array(["12+34.56 RT 3.0", "12+60, 3.2' LT", "12+80 AH", "13+00 R3"]))
    >>> stations.to_pylist(), offsets.to_pylist()
    (['12+34.56', '12+60', '12+80 AH', '13+00 R3'], ['RT 3.0', "3.2' LT", None, None])
    """
    # Only texts with a side in them are taken apart: most logs have none.
    if not pc.any(pc.match_substring_regex(text, r"(?i)[\s\d'](?:r|l|rt|lt|right|left|c/?l)\b")).as_py():
        return text, pa.nulls(len(text), pa.string())
    parts = pc.extract_regex(text, _WITH_OFFSET)
    station, offset = pc.struct_field(parts, "station"), pc.struct_field(parts, "offset")
    return pc.if_else(pc.is_valid(parts), station, text), offset


def with_written_offsets(column: pa.Array | None, behind: pa.Array, *, unit: str) -> pa.Array | None:
    """Join a log's column of offsets with the offsets behind its stations; two that differ make neither readable.

    Examples
    --------
    >>> column, behind = pa.array([None, "3 RT", "1.0"]), pa.array(["RT 3", "3.0 RT", "LT 2"])
    >>> with_written_offsets(column, behind, unit="ft").to_pylist()
    ['RT 3', '3 RT', '1.0, but LT 2 behind the station']
    """
    if behind.null_count == len(behind):
        return column
    if column is None:
        return behind
    both = np.flatnonzero(as_mask(pc.and_(pc.is_valid(column), pc.is_valid(behind))))
    texts = pc.coalesce(column, behind).to_pylist()
    for at in both.tolist():
        own, other = column[at].as_py(), behind[at].as_py()
        if values.offset(own, unit=unit) != values.offset(other, unit=unit):
            texts[at] = f"{own}, but {other} behind the station"
    return pa.array(texts, pa.string())


def station_notes(text: pa.Array, stations: stationing.Stations, row: Ints, where: str, wanted: Records) -> list[str]:
    """Say which stations were read otherwise than the others, and which could not be.

    Parameters
    ----------
    text : pyarrow string array, shape (n,)
        Stations as written, without offsets.
    stations : what they were read as
    row : array of int, shape (n,)
        Rows of the file.
    where : the file and its column
    wanted : the job's `[records]`
    """
    if stations.form == "decimal":
        return []
    plain = as_mask(pc.and_(pc.is_valid(text), pc.invert(pc.match_substring(text, "+"))))
    read, notes = np.isfinite(stations.value), []
    if (bare := plain & read).any():
        shown = stationing.format_stations(stations.value[bare][:1], stations.form)[0].as_py()
        notes.append(
            f"{where}: {_counted(bare, row)} without a + among stations with it, read as plain "
            f"{wanted.station_unit} ({_first(text, bare)!r} as {shown})"
        )
    left = np.flatnonzero(~read & as_mask(pc.is_valid(text)))
    if wanted.station_format is None and len(left):
        other = stationing.parse_stations(
            text.take(pa.array(left)), "thousands" if stations.form == "hundreds" else "hundreds"
        )
        odd = np.zeros(len(text), dtype=bool)
        odd[left[np.isfinite(other.value)]] = True
        if odd.any():
            notes.append(
                f"{where}: {_counted(odd, row)} not written like the others ({_first(text, odd)!r}, not like "
                f"{station_text.EXAMPLES[stations.form]}), not used: a record without another place is set aside"
            )
    return notes


def without_dots_for_plus(
    text: pa.Array, stations: stationing.Stations, row: Ints, where: str, wanted: Records
) -> tuple[stationing.Stations, list[str]]:
    """Leave out stations written with a dot for the + among stations with it: they would be read a hundredth as far.

    Only where the rows above and below them say so: with a + it lies between theirs, and as it is written it does not.

    Parameters
    ----------
    text : pyarrow string array, shape (n,)
        Stations as written, without offsets.
    stations : what they were read as
    row : array of int, shape (n,)
    where : the file and its column
    wanted : the job's `[records]`

    Returns
    -------
    stations, notes
        Those left out have no value.
    """
    if stations.form == "decimal":
        return stations, []
    digits, size = (2, 100.0) if stations.form == "hundreds" else (3, 1000.0)
    dotted = as_mask(pc.match_substring_regex(text, rf"^\s*\d+\.\d{{{digits}}}\s*$"))
    plus = np.flatnonzero(np.isfinite(stations.value) & as_mask(pc.match_substring(text, "+")))
    at = np.flatnonzero(dotted & np.isfinite(stations.value))
    if not len(at) or len(plus) < 2:
        return stations, []
    ahead = np.clip(np.searchsorted(plus, at), 1, len(plus) - 1)
    beside = np.sort(np.stack([stations.value[plus[ahead - 1]], stations.value[plus[ahead]]]), axis=0)
    low, high = beside[0] - wanted.laying_length, beside[1] + wanted.laying_length
    as_written, with_plus = stations.value[at], stations.value[at] * size
    at = at[(with_plus >= low) & (with_plus <= high) & ((as_written < low) | (as_written > high))]
    if not len(at):
        return stations, []
    found = np.zeros(len(text), dtype=bool)
    found[at] = True
    first = _first(text, found).strip()
    note = (
        f"{where}: {_counted(found, row)} with a dot where the others have a + ({first!r}, as if "
        f"{first.replace('.', '+', 1)}), not used: write the +; a record without another place is set aside"
    )
    return stations._replace(value=np.where(found, np.nan, stations.value)), [note]


def _counted(found: Bools, row: Ints) -> str:
    count, first = int(found.sum()), int(row[int(np.argmax(found))])
    return f"1 station (row {first})" if count == 1 else f"{count:,} stations (first: row {first})"


def _first(text: pa.Array, found: Bools) -> str:
    return str(text[int(np.argmax(found))].as_py())
