"""Rows that stand in a log twice, as where a sheet was copied: which they repeat, and where the two disagree."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import as_ints, as_mask, of_rows
from asbuilt.held import in_groups
from asbuilt.line import stationing
from asbuilt.notes import OfRoutes
from asbuilt.placing.naming import route_and_name

if TYPE_CHECKING:
    from collections.abc import Sequence

    from asbuilt.arrays import Bools, Floats, Ints
    from asbuilt.inputs.log import Log

_RUN = 5
"""Rows one below the other that repeat as many others in their order; fewer may be joints looked at again."""
_MOST = 0.5
"""A part of them that stands at the very stations: else numbers begin anew, as on each crew's sheet."""
_SHOWN = 5
_PAGES_SHOWN = 10


class _Page(NamedTuple):
    """Rows one below the other that repeat others: records, in order."""

    later: Ints
    earlier: Ints
    """The record that each of them repeats."""
    apart: Ints
    """Which of them stand at another station: places among them."""


def _pages(log: Log, route: Ints) -> list[_Page]:
    """Find runs of rows of which each repeats the joint, and the day, of a row as far above it."""
    named = np.flatnonzero((route >= 0) & as_mask(log.text("joint").is_valid()))
    # Joints of one route have nothing to do with those of another.
    found = [_repeated(log, rows, route[rows]) for rows in in_groups(named, route[named])]
    rows, before = (np.concatenate(one) for one in zip(*found, strict=True)) if found else (named, named)
    if len(rows) < _RUN:
        return []
    order = np.argsort(rows)
    rows, before = rows[order], before[order]
    if "inspected_on" in log.fields:
        days = pc.cast(log.fields["inspected_on"], pa.int32())
        same = as_ints(days.take(pa.array(rows)), 0) == as_ints(days.take(pa.array(before)), 0)
        rows, before = rows[same], before[same]
    breaks = np.flatnonzero((np.diff(rows) != 1) | (np.diff(before) != 1)) + 1
    pages = []
    for later, earlier in zip(np.split(rows, breaks), np.split(before, breaks), strict=True):
        if len(later) < _RUN:
            continue
        alike = _same_station(log.stations.value[later], log.stations.value[earlier])
        if np.mean(alike) >= _MOST:
            pages.append(_Page(later, earlier, np.flatnonzero(~alike)))
    return pages


def _repeated(log: Log, rows: Ints, route: Ints) -> tuple[Ints, Ints]:
    """Give those of some rows whose joints stand in rows before, and the last one before of each."""
    key = route_and_name(route, of_rows(log.text("joint"), rows))
    order = np.argsort(key, kind="stable")
    again = np.flatnonzero(np.diff(key[order]) == 0)
    return rows[order[again + 1]], rows[order[again]]


def _same_station(one: Floats, other: Floats) -> Bools:
    same: Bools = (one == other) | (np.isnan(one) & np.isnan(other))
    return same


def repeats_elsewhere(log: Log, route: Ints) -> Ints:
    """Give, for each record of a page that stands twice, the record that it repeats at another station; -1 for others.

    Parameters
    ----------
    log : Log
    route : array of int, shape (records,)

    Returns
    -------
    array of int, shape (records,)
    """
    pages, of = _pages(log, route), np.full(len(log), -1, dtype=np.int64)
    for page in pages:
        of[page.later[page.apart]] = page.earlier[page.apart]
    return of


def doubled_notes(log: Log, route: Ints, names: Sequence[str], form: stationing.Form) -> list[OfRoutes]:
    """Say which rows of a log repeat others joint by joint, and at which of them the stations differ.

    Parameters
    ----------
    log : Log
    route : array of int, shape (records,)
    names : sequence of str
        Of the routes.
    form : how stations are written
    """
    pages = _pages(log, route)
    notes = []
    for page in pages[:_PAGES_SHOWN]:
        many, others = len(page.later), len(page.later) - len(page.apart)
        stations = "all" if others == many else f"{others:,} of them"
        text = (
            f"{_rows(log, page.later)} repeat {_rows(log, page.earlier)}: the same {many:,} joints in the same order, "
            f"of the same days, {stations} at the same stations, as where a sheet was copied"
        )
        if len(page.apart):
            text += f"; the stations differ at {_differing(log, page, form)}"
        text += "; have one of the two taken out, or say which counts"
        notes.append(OfRoutes(text, _routes_of([page], route, names)))
    more = pages[_PAGES_SHOWN:]
    if more:
        notes.append(OfRoutes(f"{len(more):,} more runs of rows repeat others so", _routes_of(more, route, names)))
    return notes


def _routes_of(pages: Sequence[_Page], route: Ints, names: Sequence[str]) -> tuple[str, ...]:
    # A row and the one that it repeats are of one route.
    return tuple(names[one] for one in np.unique(route[np.concatenate([page.later for page in pages])]).tolist())


def _rows(log: Log, records: Ints) -> str:
    file = log.file[int(records[0])].as_py()
    first, last = (int(log.row[int(records[at])]) for at in (0, -1))
    # A page may go on into the next sheet.
    end = log.file[int(records[-1])].as_py()
    return f"{file} rows {first} to {last}" if file == end else f"{file} row {first} to {end} row {last}"


def _differing(log: Log, page: _Page, form: stationing.Form) -> str:
    told = []
    for at in page.apart[:_SHOWN].tolist():
        pair = np.array([page.earlier[at], page.later[at]])
        one, other = (
            text if np.isfinite(value) else "no station"
            for text, value in zip(
                stationing.format_stations(np.nan_to_num(log.stations.value[pair]), form).to_pylist(),
                log.stations.value[pair].tolist(),
                strict=True,
            )
        )
        told.append(f"joint {log.text('joint')[int(pair[0])].as_py()} ({one}, and {other})")
    more = len(page.apart) - _SHOWN
    return ", ".join(told) + (f" and {more:,} more" if more > 0 else "")
