"""Rows as CSV, in which texts of a log stay texts."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from asbuilt.layers.outputs import plain_text


def unguarded(text: str) -> str:
    """Take away the apostrophe that `plain_text` put before a text.

    Examples
    --------
    >>> unguarded("'=1+1"), unguarded("'tis"), unguarded("A 101")
    ('=1+1', "'tis", 'A 101')
    """
    return text[1:] if text.startswith("'") and plain_text(text[1:]) == text else text


def write_csv(path: Path, columns: Sequence[str], rows: Iterable[Mapping[str, Any]]) -> None:
    """Write rows as a CSV file that spreadsheets open as UTF-8.

    Parameters
    ----------
    path : path of the file
    columns : names of the columns, in order
    rows : iterable of mapping
        A column that a row lacks is left blank.
    """
    with path.open("w", encoding="utf-8-sig", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(columns)
        writer.writerows([plain_text(row.get(name)) for name in columns] for row in rows)
