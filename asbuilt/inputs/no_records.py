"""Rows among the records that are none: subtotals, signatures, page numbers. They are left out, and listed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Bools, as_mask
from asbuilt.inputs import values
from asbuilt.inputs.text_table import TextTable, filtered
from asbuilt.vocabulary import JOINT_TYPES, YES_NO_FIELDS, joint_type

_SPAN = r"(?:day|page|sheet|shift|week)"
_COUNTED = r"(?:joints?|pipes?|lengths?)"
_TOTAL = (
    rf"(?:(?:sub|grand|daily|weekly|running|crew|job|(?:to)?{_SPAN}(?:['’]?s)?|cum(?:ulative|\.)?)?[\s-]*totals?\b"
    r"|sum\b|cumulative\b|(?:average|avg\.?|count)\s*(?::.*)?$"
    rf"|(?:laid|footage|length|{_COUNTED}(?:\s+laid)?)\s+(?:today|this\s+{_SPAN})\b"
    rf"|(?:to)?day['’]?s\s+(?:footage|length|count)\b|\d+\s+{_COUNTED}\s+(?:laid|total|this\s+{_SPAN})\b)"
)
_ROLE = (
    r"(?:inspector|foreman|superintendent|contractor|engineer|owner|witness|surveyor|q[ac](?:/q[ac])?)(?:['’]?s)?"
    r"(?:\s+rep(?:resentative|\.)?)?"
)
_ACT = (
    r"(?:approved|accepted|checked|reviewed|prepared|submitted|received|witnessed|inspected|certified|completed|recorded"
    r"|logged|verified|tested|laid)"
)
_WORDS = (
    rf"(?i)^(?:{_TOTAL}|(?:page|sheet)\s+\d|(?:{_ROLE}\s+)?(?:sign(?:ed|ature)|initials)\b|sign\.?$|date\s+signed\b"
    rf"|print(?:ed)?\s+name\b|(?:{_ROLE}|name|title|date)\s*:?\s*_{{3,}}|{_ROLE}\s*:"
    rf"|{_ACT}(?:\s+(?:(?:and|&|/)\s+{_ACT}|correct))?(?:\s+by\b|\s*:|\s*_{{3,}})|(?:approved|accepted|certified)$"
    rf"|i\s+(?:hereby\s+)?certify\b|_{{3,}}$|(?:carried|brought)\s+forward\b|end\s+of\s+(?:log|{_SPAN})\b)"
)
"""How such rows begin; common practice, no source."""
BESIDE = frozenset({"route", "laid_length", "inspected_on", "inspector", "crew", "remarks"})
"""What may stand beside the words: a sum of lengths, a name, a date. Anything else makes a record of the row."""
_ROLES = (
    rf"(?i)^(?:{_ROLE}|pm|project manager|clerk|name|title|company|date|q[ac]|signed|signature|approved|accepted)\s*:?$"
)
"""A cell that names who signs, and nothing else."""
_A_NUMBER = r"^[\s\d.,'’$%-]+(?:ft|feet|lf|m|ea)?\.?$"
_SHOWN = 10


def _no_entry(cells: pa.ChunkedArray, field: str, wanted: Bools) -> Bools:
    """Mark those of the wanted rows whose cell is a word, or a date, that cannot be what its column asks."""
    found = np.zeros(len(wanted), dtype=np.bool_)
    for at in np.flatnonzero(wanted).tolist():
        found[at] = not _is_entry(cells[at].as_py() or "", field)
    return found


def _is_entry(text: str, field: str) -> bool:
    """Say whether a cell can be an entry of its column, whatever the unit.

    Examples
    --------
    >>> [_is_entry(text, "joint_type") for text in ("MJ", "Foreman")], _is_entry("R. Vale", "size")
    ([True, False], False)
    """
    if field == "station":
        return True
    if values.date(text, order="mdy") is not None or values.date(text, order="dmy") is not None:
        return False
    if field == "joint_type":
        return joint_type(text) in JOINT_TYPES
    if field == "kind":
        return values.kind_is_known(text)
    if field in YES_NO_FIELDS:
        return values.pass_fail(text) is not None or values.crossed(text) or len(text.strip()) == 1
    return any(map(str.isdigit, text))


def without_no_records(table: TextTable, mapping: Mapping[str, str]) -> TextTable:
    """Leave out the rows that are no records, and list each with what it says.

    A row with a station or a joint of its own, or any word on how a joint was laid or found, is a record. Where a row
    begins as a total, numbers in it are sums.

    Parameters
    ----------
    table : TextTable
    mapping : mapping of field to column

    Examples
    --------
    >>> from asbuilt.inputs.text_table import table_from_columns
    >>> rows = {"Sta": ["0+00", "Subtotal", None], "Len": ["20", "20", None], "By": ["RV", None, "Signed: RV"]}
    >>> table = table_from_columns(pa.table(rows), name="log")
    >>> found = without_no_records(table, {"station": "Sta", "laid_length": "Len", "inspector": "By"})
    >>> found.row.tolist(), found.notes
    ([1], ("log: 2 rows are no records and were left out: row 2 ('Subtotal 20'), row 3 ('Signed: RV')",))
    """
    likely = np.ones(len(table.row), dtype=bool)
    if "station" in mapping:
        station = table.data[mapping["station"]]
        likely = as_mask(pc.or_kleene(pc.is_null(station), pc.match_substring_regex(station, _WORDS)))
    if not likely.any():
        return table
    says = {name: as_mask(pc.match_substring_regex(table.data[name], _WORDS)) for name in table.columns}
    # A role by itself is no signature where people are named: beside a joint it is who looked at it.
    signing = [name for field, name in mapping.items() if field not in BESIDE]
    signs = {name: says[name] | as_mask(pc.match_substring_regex(table.data[name], _ROLES)) for name in signing}
    signed = np.logical_or.reduce([np.zeros(len(table.row), dtype=bool), *signs.values()])
    likely &= np.logical_or.reduce([*says.values(), signed])
    begun, totalled = np.zeros((2, len(table.row)), dtype=bool)
    for name in table.columns:
        if name != mapping.get("remarks"):
            totalled |= ~begun & as_mask(pc.match_substring_regex(table.data[name], f"(?i)^{_TOTAL}"))
        begun |= as_mask(pc.is_valid(table.data[name]))
    for field, name in mapping.items():
        if field not in BESIDE:
            # A cell with the words themselves is no word on a joint, wherever it stands, nor is a sum in a row of sums.
            summed = totalled & as_mask(pc.match_substring_regex(table.data[name], _A_NUMBER))
            no_entry = signs[name] | (signed & _no_entry(table.data[name], field, likely & signed))
            likely &= as_mask(pc.is_null(table.data[name])) | no_entry | summed
    rows = np.flatnonzero(likely)
    if not len(rows):
        return table
    shown = [
        f"row {table.row[at]} ({' '.join(cell for cell in table.data.slice(at, 1).to_pylist()[0].values() if cell)!r})"
        for at in rows[:_SHOWN].tolist()
    ]
    more = f" and {len(rows) - _SHOWN} more" if len(rows) > _SHOWN else ""
    count = "1 row is no record and was" if len(rows) == 1 else f"{len(rows):,} rows are no records and were"
    note = f"{table.where}: {count} left out: {', '.join(shown)}{more}"
    return replace(table, data=filtered(table.data, ~likely), row=table.row[~likely], notes=(*table.notes, note))
