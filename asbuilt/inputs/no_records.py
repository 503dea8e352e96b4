"""Rows among the records that are none: subtotals, signatures, page numbers. They are left out, and listed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import as_mask
from asbuilt.inputs.text_table import TextTable

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
_A_NUMBER = r"^[\s\d.,'’$%-]+(?:ft|feet|lf|m|ea)?\.?$"
_SHOWN = 10


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
    likely &= np.logical_or.reduce(list(says.values()))
    begun, totalled = np.zeros((2, len(table.row)), dtype=bool)
    for name in table.columns:
        if name != mapping.get("remarks"):
            totalled |= ~begun & as_mask(pc.match_substring_regex(table.data[name], f"(?i)^{_TOTAL}"))
        begun |= as_mask(pc.is_valid(table.data[name]))
    for field, name in mapping.items():
        if field not in BESIDE:
            # A cell with the words themselves is no word on a joint, wherever it stands, nor is a sum in a row of sums.
            summed = totalled & as_mask(pc.match_substring_regex(table.data[name], _A_NUMBER))
            likely &= as_mask(pc.is_null(table.data[name])) | says[name] | summed
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
    return replace(table, data=table.data.filter(pa.array(~likely)), row=table.row[~likely], notes=(*table.notes, note))
