"""What `compare` shows on a terminal: the answer, the counts, and the first of each kind of difference."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from asbuilt import units
from asbuilt.comparing.written import LENGTHS, answer, heading, in_words, summary, tables
from asbuilt.layers.workbooks import columns_of
from asbuilt.terminal import screen
from asbuilt.terminal.cautions import CAUTION

if TYPE_CHECKING:
    from asbuilt.comparing.comparison import Comparison

_ROWS_SHOWN = 20
_WIDEST = 16
"""Letters of a joint or a station that stand on one line."""


def print_comparison(found: Comparison, paths: list[str]) -> None:
    """Print what is different between two placed files."""
    screen.line(f"\n{found.new.job}: {' and '.join(found.names)}", bold=True)
    counts = screen.table("", "", show_header=False)
    counts.columns[1].justify = "right"
    for words, count in summary(found):
        screen.row(counts, words, count)
    screen.show(counts)
    for note in found.notes:
        screen.note(note)
    for caption, rows in tables(found).items():
        _print_rows(caption, rows, units.SYMBOLS[found.unit])
    if found.job_lines:
        count = "1 line" if len(found.job_lines) == 1 else f"{len(found.job_lines)} lines"
        screen.line(f"The job file differs in {count}; --json and the page show them.")
    screen.line(f"\n{answer(found)}")
    if paths:
        screen.line(f"Wrote {', '.join(paths)}.")
    screen.line(f"\n{CAUTION}")


def _print_rows(caption: str, rows: list[dict[str, Any]], symbol: str) -> None:
    if not rows:
        return
    columns = columns_of(rows)
    shown = [{column: in_words(row.get(column)) for column in columns} for row in rows[:_ROWS_SHOWN]]
    if not _SAID.keys().isdisjoint(columns):
        _print_lines(caption, shown)
    else:
        # A column in which nothing stands would break the words of others.
        columns = [column for column in columns if any(row[column] for row in shown)]
        shown = [{column: row[column] for column in columns} for row in shown]
        title = caption if set(LENGTHS).isdisjoint(columns) else f"{caption} (lengths in {symbol})"
        table = screen.table(*map(heading, columns), title=title)
        for name, column in zip(columns, table.columns, strict=True):
            if name in ("joint", "station"):
                column.width = min(_WIDEST, max(len(name), *(len(row[name]) for row in shown)))
        for row in shown:
            screen.row(table, *row.values())
        screen.show(table)
    if len(rows) > _ROWS_SHOWN:
        screen.line(f"And {len(rows) - _ROWS_SHOWN} more; --json, --page and --out have them.")


def _print_lines(caption: str, rows: list[dict[str, str]]) -> None:
    """Print each row as a line of what it is about, and below it what it said and says; a table would cut the words."""
    screen.line(f"\n{caption}")
    for row in rows:
        screen.line(f"  {', '.join(text for name, text in row.items() if text and name not in _SAID)}")
        for name, word in _SAID.items():
            if row.get(name):
                screen.line(f"      {word}: {row[name]}")


_SAID = {"old": "was", "new": "now"}
"""Columns with what was said and is said."""
