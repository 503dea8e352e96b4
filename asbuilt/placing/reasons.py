"""Why a record is set aside, and what to do about it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Bools, Floats, Ints, as_mask
from asbuilt.inputs.log import STRUCK_OUT
from asbuilt.line import arcs, station_text, stationing

if TYPE_CHECKING:
    from collections.abc import Sequence

    from asbuilt.inputs.log import Log
    from asbuilt.line.stationed import StationedLine


def reasons(
    log: Log, route: Ints, along: Floats, resolved: stationing.Resolved, surveyed: Bools
) -> tuple[pa.Array, pa.Array]:
    """Say why each record is set aside, and why a surveyed one, which is not, cannot be placed by its station."""
    blank = as_mask(log.fields["station"].is_null())
    unread = log.unreadable.record[as_mask(pc.equal(log.unreadable.field, "offset"))]
    choices = [
        (as_mask(pc.equal(log.broken, STRUCK_OUT)), "row-struck"),
        (as_mask(log.broken.is_valid()), "row-unreadable"),
        (route < 0, "route-unknown"),
        (blank, "station-missing"),
        (np.isnan(log.stations.value), "station-unreadable"),
        (np.isin(np.arange(len(log)), unread), "offset-unreadable"),
        (resolved.gap, "station-in-gap"),
        (resolved.candidates == 0, "station-off-route"),
        (np.isnan(along), "station-ambiguous"),
    ]
    code = np.select([mask for mask, _ in choices], range(len(choices)), default=-1)
    reason = pa.array([reason for _, reason in choices]).take(pa.array(code, mask=code < 0))
    if not surveyed.any():
        return reason, pa.nulls(len(log), pa.string())
    nothing, known = pa.scalar(None, pa.string()), pa.array(surveyed)
    return pc.if_else(known, nothing, reason), pc.if_else(known, reason, nothing)


def messages(
    line: StationedLine,
    log: Log,
    route: Ints,
    resolved: stationing.Resolved,
    reason: pa.Array,
    form: stationing.Form,
    *,
    counted: bool = False,
    bows: Floats | None = None,
) -> pa.Array:
    """Say of each record set aside what is wrong and what to do.

    `bows` is what the curve through the shots of each route has more than its line, station units.
    """
    rows = np.flatnonzero(as_mask(reason.is_valid()))
    taken = pa.array(rows)
    spans, most = line.spans(form), line.regions.count(np.maximum(route[rows], 0)) - 1
    beyond = log.stations.value[rows] - line.regions.station_to[line.regions.first[np.maximum(route[rows], 0) + 1] - 1]
    bow = np.zeros(len(rows)) if bows is None else bows[np.maximum(route[rows], 0)]
    told = zip(
        reason.take(taken).to_pylist(),
        log.broken.take(taken).to_pylist(),
        log.text("route").take(taken).to_pylist(),
        log.fields["station"].take(taken).to_pylist(),
        route[rows].tolist(),
        resolved.lowest[rows].tolist(),
        resolved.highest[rows].tolist(),
        (log.stations.region[rows] - 1 > most).tolist(),
        beyond.tolist(),
        bow.tolist(),
        _elsewhere(log, rows),
        strict=True,
    )
    texts = [_message(*one, line=line, spans=spans, form=log.stations.form, counted=counted) for one in told]
    message = np.full(len(log), None, dtype=object)
    message[rows] = texts
    return pa.array(message, pa.string())


def _elsewhere(log: Log, rows: Ints) -> list[str]:
    """Say of each record in which other column of its row a station stands; blank where in none."""
    found = dict.fromkeys(rows.tolist(), "")
    odd = log.unreadable
    here = np.isin(odd.record, rows) & as_mask(pc.match_substring_regex(odd.text, r"^\d{1,4}\+\d{2,3}(?:\.\d+)?$"))
    at = np.flatnonzero(here)
    told = zip(odd.record[at].tolist(), *(one.take(pa.array(at)).to_pylist() for one in odd[1:3]), strict=True)
    for record, field, text in told:
        name = field.replace("_", " ")
        found[record] = f"station {text} stands in the row under {name}: put its cells into their columns"
    return list(found.values())


def _message(
    reason: str,
    broken: str | None,
    route_text: str | None,
    station: str | None,
    route: int,
    lowest: float,
    highest: float,
    no_equation: bool,
    beyond: float,
    bow: float,
    elsewhere: str,
    *,
    line: StationedLine,
    spans: Sequence[str],
    form: stationing.Form,
    counted: bool,
) -> str:
    name = line.names.names[max(route, 0)]
    if reason == "row-struck":
        return f'{broken}; nothing is to be done where it is void; where it counts, say records.struck_out = "read"'
    if reason == "row-unreadable":
        return f"{broken}; correct the row"
    if reason == "route-unknown" and route_text is None:
        return "no route is given, and the centerline has several; fill it in"
    if reason == "route-unknown":
        return f"{line.names.unknown(str(route_text))}; correct the route, or have its line surveyed"
    if reason == "station-missing":
        return f"no station is given; {elsewhere or 'fill it in'}"
    if reason == "station-unreadable":
        return f"station {station!r} cannot be read; {station_text.how_to_write(str(station), form)}"
    if reason == "offset-unreadable":
        return "the offset cannot be read, so the joint may lie to either side; write it like 3.2 LT, 3.0 RT or -3.2"
    if reason == "station-in-gap":
        return (
            f"station {station} falls in the gap of a station equation on route {name}: no such station "
            "exists; correct it"
        )
    if reason == "station-off-route" and no_equation:
        return f"station {station} names an equation that route {name} does not have; correct the equation's number"
    if reason == "station-off-route" and counted:
        return (
            f"the laid lengths before this joint add up to station {station}, and route {name} runs {spans[route]}; "
            "correct the laid length that is wrong, here or in a row before"
        )
    if reason == "station-off-route":
        short = 0 < arcs.EXPLAINED * beyond < bow
        told = f"{_short_of_the_curve(beyond, bow, line.symbol)}; if this is not so, " if short else ""
        return (
            f"station {station} is not on route {name}, which runs {spans[route]}; {told}correct the station, or "
            "the route's start station (centerline.start_station)"
        )
    return (
        f"station {station} occurs more than once on route {name}: {lowest:.2f} {line.symbol} and "
        f"{highest:.2f} {line.symbol} from its start; add BK or AH"
    )


def _short_of_the_curve(beyond: float, bow: float, symbol: str) -> str:
    """Say of a station a little beyond the end of a line what to do where straights between shots are too short."""
    return (
        f"it lies {beyond:.2f} {symbol} beyond the end, and the curve through the shots is {bow:.2f} {symbol} longer "
        'than the straights between them: place joints on it, with centerline.between = "curve"; or add a tie at the '
        "end (centerline.ties), or hold to the end what lies so little beyond it (records.station_tolerance)"
    )


def nothing_placed(log: Log, reason: pa.Array, message: pa.Array) -> str:
    counts = ", ".join(f"{one['counts']} {one['values']}" for one in reason.value_counts().to_pylist() if one["values"])
    first = int(np.argmax(as_mask(reason.is_valid())))
    return (
        f"{log.file[first].as_py()}: none of the {len(log)} records could be placed ({counts}); "
        f"the first is row {log.row[first]}: {message[first].as_py()}"
    )
