"""The list of issues: everything to act on or check, a row each, that goes out, is filled in, and comes back.

What a person typed is kept from list to list: an issue of the same joint and code is the same issue, one that is found
no more stays in the list as gone, and what a row said before it changed stands beside it.
"""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from asbuilt import units
from asbuilt.checks import KINDS
from asbuilt.errors import InputFileError
from asbuilt.inputs import values
from asbuilt.inputs.headers import normalised
from asbuilt.layers.csv_rows import unguarded, write_csv
from asbuilt.layers.workbooks import write_sheets
from asbuilt.notes import NOTES
from asbuilt.review.laid import file_only, has_test
from asbuilt.review.reading import stands_on
from asbuilt.review.remarks import between_joints, in_the_log, remarks_of
from asbuilt.review.rows import known
from asbuilt.review.tables import plain_source
from asbuilt.schema import DOMAINS, SURVEY_CODES

if TYPE_CHECKING:
    from asbuilt.arrays import Floats
    from asbuilt.inputs import side_tables
    from asbuilt.review.reading import Review, Route
    from asbuilt.review.rows import Column

Row = dict[str, Any]

TYPED = ("by whom", "closed on", "remark")
"""Columns that people fill in."""
COLUMNS = (
    "number", "state", "route", "station", "joint", "shot", "easting", "northing", "latitude", "longitude", "finding",
    "severity", "what", "crew's remark", "measured", "limit", "unit", "rests on", "to do", *TYPED, "was", "job",
    "system",
)  # fmt: skip
"""Columns of the list, in order."""
_NEEDED = ("number", "state", "route", "station", "joint", "shot", "finding", "what", *TYPED, "job")
OPEN, CLOSED, CHANGED, AGAIN, GONE = "open", "closed", "closed, changed since", "closed, found again", "gone"
_FACTS = ("station", "what", "measured", "limit", "to do")
"""Columns whose earlier text is kept in `was` where it is another one now."""
_NUMBERS = ("easting", "northing", "latitude", "longitude", "measured", "limit")
_SAME_PLACE_M = 0.1
"""By how much, in meters, the ends of a length without a test may move from one survey to the next and it stay the same
length: centimeters that a survey taken anew moves a whole line, far below a pipe. Common practice, no source."""
_OF_ONE_JOINT = ("deflection-over", "deflection-unclear")
"""Findings whose `measured` is a deflection with the joint's standard error."""
_LEAST_M = 0.003
"""By how much, in meters, places differ where nothing moved: a hundredth of a foot, to which stations are written."""
_ALIKE = 1.96 * math.sqrt(2.0)
"""Standard errors by which two measurements of one thing, of the same error, differ by chance in 5 of 100; textbook."""
_WHEN_CLOSED = " when closed"
_AT_CLOSING = re.compile(rf"\b(measured|what){_WHEN_CLOSED}: ([^;]+)")
_ENDS = re.compile(r" from (\S+) to (\S+), [\d.,]+(?= )")
"""The ends and the length in what a length without a test says."""
_STATION = re.compile(r"(-?)(\d+)\+(\d+(?:\.\d+)?)(.*)")
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f]")
"""Letters that no workbook can hold."""


@dataclass(frozen=True)
class Issues:
    """A list of issues: the rows, and the columns that people added to them."""

    rows: list[Row]
    """In the order of the list; a row that is found on a route reviewed now has `at`, the number of its joint or -1."""
    job: str
    added: tuple[str, ...] = ()


def found(review: Review) -> list[Row]:
    """List what a placed file holds to act on or to check: findings, records set aside, and notes on the job.

    Parameters
    ----------
    review : Review

    Returns
    -------
    list of dict
        Rows of `COLUMNS` without numbers, the most severe first on each route; with `at`, the number of the joint on
        its route, or -1. Those of notes have `routes`, how many they are of, and `on`, those on whose pages they stand.
    """
    rows: list[Row] = []
    aside = review.set_aside
    not_placed: dict[str, set[str]] = {}
    for name, joint in zip(aside["route"].tolist(), aside["joint"].tolist(), strict=True):
        not_placed.setdefault(name, set()).add(joint)
    for route in review.routes:
        rows += _on(route, not_placed.get(route.name, set()), geographic=review.geographic)
    wanted = {route.name for route in review.routes} | set(review.without_joints)
    others = set(review.known_routes) - wanted
    for one in aside.records(("reason", "file", "row", "message", "route", "joint")):
        if one["route"] in others:
            continue
        what = f"{one['file']}, row {one['row']}: {one['message']}"
        rows.append(_row(one["reason"], "act", KINDS[one["reason"]].to_do, route=one["route"], joint=one["joint"],
                         what=what))  # fmt: skip
    for note in review.notes:
        # The list names one route: a note on several stays in it whichever of them are looked at.
        name = note.routes[0] if len(note.routes) == 1 else ""
        if note.severity in ("act", "check") and name not in others:
            said = _row(note.code, note.severity, NOTES[note.code].to_do, route=name, what=file_only(note.text))
            pages = {one.name for one in review.routes if stands_on(note.routes, one.name, review.without_joints)}
            rows.append(said | {"on": pages, "routes": len(note.routes)})
    about = {"job": review.run["name"], "system": review.run["output_crs"]}
    return [row | about for row in rows]


def _row(code: str, severity: str, to_do: str, **more: Any) -> Row:
    told = {name: _written(value) for name, value in more.items()}
    plain = {"finding": code, "severity": severity, "to do": to_do, "at": -1, "joints_in_the_log": 0}
    return dict.fromkeys(COLUMNS, "") | plain | told


def _written(value: Any) -> Any:
    """Give a cell without what no workbook can hold; blank for what is not known."""
    if isinstance(value, str):
        return _CONTROL.sub("", value).strip()
    # Nothing but a number that is none differs from itself.
    return "" if value is None or value != value else value


def _on(route: Route, not_placed: Collection[str], *, geographic: bool) -> Iterator[Row]:
    """Give the rows of a route's findings to act on or to check, in the order in which they matter."""
    joints, remarks = route.joints, remarks_of(route)
    names = set(joints["joint"].tolist())
    latitude, longitude = (joints[name].tolist() for name in ("latitude", "longitude"))
    contradicted = set(route.findings["at"][route.findings["code"] == "deflection-conflict"].tolist())
    sigma, bends = _errors(route).tolist(), known(joints["bend_angle_deg"]).tolist()
    for one in ordered(route.findings.take(route.findings["severity"] != "note").records()):
        at, code = int(one["at"]), str(one["code"])
        # That readings contradict the survey is said at the joint already, with what to do.
        if code == "deflection-unclear" and at in contradicted:
            continue
        between, to_do, aside = _gap(joints["joint"], one, not_placed, names)
        if code == "deflection-over" and at in route.shared_turns:
            between, to_do = route.one_of(at), _OF_ALL
        if code == "deflection-over" and not np.isfinite(joints["own_deflection_deg"][at]) and bends[at]:
            to_do = _OF_BEND
        yield _row(
            code, one["severity"], to_do, route=route.name, at=at,
            station=one["station"], joint=one["joint"], shot=one["point"], what=sentence_of(one["message"]),
            unit=one["unit"], between=between, joints_in_the_log=aside,
            measured=_known(one["value"]), limit=_known(one["limit"]), unrounded=_unrounded(one["value"]),
            symbol=units.SYMBOLS[route.station_unit],
            error=_unrounded(sigma[at]) if at >= 0 and code in _OF_ONE_JOINT else "",
            **{"rests on": plain_source(one["basis"] or ""), "crew's remark": remarks.get(at, "")},
            easting="" if geographic else _known(one["map_easting"], 3),
            northing="" if geographic else _known(one["map_northing"], 3),
            latitude=_known(latitude[at], 8) if at >= 0 else "",
            longitude=_known(longitude[at], 8) if at >= 0 else "",
        )  # fmt: skip
    yield from _without_test(route)


_IF_OVER = (
    "have what is over laid anew, or bring the engineer's decision in writing, with the pipe maker's instructions"
)
_OF_ALL = f"Shoot or read each of these joints; {_IF_OVER}"
"""What to do where one of several joints that share a turn is over: a shot at one of them tells nothing."""
_OF_BEND = f"Read both joints of the bend; {_IF_OVER}"


def _errors(route: Route) -> Floats:
    """Give the standard error of the deflection that a finding tells of each joint, degrees.

    Where floor and ceiling bound it, that of a turn between shots a laying length apart: at shots farther apart a turn
    is surer by as much as the share of a joint that lies between them is less (textbook).
    """
    own, sigma = route.joints["own_deflection_deg"], route.joints["sigma_deg"]
    stated = route.joints["sigma_horizontal"]
    shot = max(float(np.nanmax(stated, initial=0.0)), _LEAST_M * units.factor("m", route.unit))
    of_bound = np.degrees(math.sqrt(6.0) * shot / (route.laying_length * route.scale))
    return np.where(np.isfinite(own), sigma, of_bound)


def _gap(
    names: Column, one: dict[Any, Any], not_placed: Collection[str], on_route: Collection[str]
) -> tuple[str, str, int]:
    """Name a gap in the log by the joints on either side of it, say what to do, and how many of it the log has.

    The finding stands at the joint behind the gap. Joints of it that are in the log, but could not be placed, are not
    missing from it: their records want correcting.
    """
    code, at = str(one["code"]), int(one["at"])
    to_do = KINDS[code].to_do if code in KINDS else ""
    if code != "joints-missing" or not 0 <= at < len(names) - 1:
        return "", to_do, 0
    back, ahead = str(names[at]), str(names[at + 1])
    fits = one["value"] / one["limit"] - 1.0
    aside, missing = in_the_log(back, ahead, not_placed), max(round(fits), 1)
    if aside:
        many = "s" if len(aside) > 1 else ""
        corrected = f"ave the record{many} of joint{many} {', '.join(aside)}, in the log but not placed, corrected"
        to_do = f"H{corrected}" if len(aside) >= missing else f"{to_do}, and h{corrected}"
    return between_joints(back, ahead, fits, not_placed, on_route), to_do, min(len(aside), missing)


def _without_test(route: Route) -> Iterator[Row]:
    """Give the row of a route that no pressure test is on file of, where no finding tells so: the job names none."""
    if has_test(route) or "length-untested" in route.findings["code"].tolist():
        return
    first, last = route.stations.text(route.line[[0, -1], 0])
    length, symbol = round(float(route.line[-1, 0]) / route.scale, 2), units.SYMBOLS[route.station_unit]
    kind = KINDS["length-untested"]
    yield _row(
        "length-untested", kind.severity, kind.to_do, route=route.name, station=first, unit=symbol, measured=length,
        what=f"No pressure test from {first} to {last}, {length:g} {symbol}",
        **{"rests on": "the job's pressure tests: it names none"},
    )  # fmt: skip


def ordered(findings: Sequence[dict[Any, Any]]) -> list[dict[Any, Any]]:
    """Put findings in the order in which they matter: by severity, the survey first, then by kind, the worst first."""
    return sorted(findings, key=_rank)


def _rank(finding: dict[Any, Any]) -> tuple[int, bool, int, float]:
    code, part = finding["code"], 0.0
    # Of deflections the worst stands first; other kinds are read along the route.
    if code.startswith("deflection-"):
        part = -finding["value"] / finding["limit"] if finding["limit"] else -np.inf
    order = _SEVERITIES[finding["severity"]], code not in SURVEY_CODES, _KINDS.get(code, len(_KINDS))
    return *order, part if part == part else -np.inf


_SEVERITIES = {name: number for number, name in enumerate(DOMAINS["severity"])}
_KINDS = {code: number for number, code in enumerate(DOMAINS["finding_code"])}


def sentence_of(message: str | None) -> str:
    """Give a message of a finding a capital letter."""
    return message[:1].upper() + message[1:] if message else ""


def _known(value: Any, decimals: int = 3) -> Any:
    """Give a number to so many places, adding nothing to take the sign from a nought; blank where it is unknown."""
    return round(float(value), decimals) + 0.0 if value is not None and np.isfinite(value) else ""


def _unrounded(value: Any) -> Any:
    """Give a number with all its digits, for what is computed or rounded from it; blank where it is unknown."""
    return float(value) if value is not None and np.isfinite(value) else ""


# What comes back ------------------------------------------------------------------------------------------------------


def read_issues(path: Path, job: str, today: dt.date) -> Issues:
    """Read a list of issues that came back, as an XLSX or CSV file.

    Parameters
    ----------
    path : path of the list
    job : name of the job that it must be of
    today : date
        No issue can have been closed later.

    Raises
    ------
    InputFileError
        When the file is damaged, is no list of issues, is of another job, or a date cannot be read or is still to come;
        naming the row.
    """
    from asbuilt.inputs import side_tables, tables

    table = side_tables.read_side_table(
        path, {name: frozenset({normalised(name)}) for name in COLUMNS}, required=_NEEDED, key="--issues"
    )
    whole = tables.read_table(path, fields={name: frozenset({normalised(name)}) for name in COLUMNS})
    added = tuple(name for name in whole.columns if name not in table.columns.values())
    texts = {name: table.texts(name) for name in table.cells} | {name: whole.data[name].to_pylist() for name in added}
    rows = [
        {name: unguarded(cells[at] or "") for name, cells in texts.items()} | {"row": int(table.row[at])}
        for at in range(len(table))
    ]
    _refuse_others(path, rows, job)
    _read_dates(path, rows, table, today)
    return Issues(rows, job, added)


def _refuse_others(path: Path, rows: Sequence[Row], job: str) -> None:
    seen: dict[str, int] = {}
    for row in rows:
        if row["job"] and row["job"] != job:
            raise InputFileError(
                f"{path}: row {row['row']}: this is an issue of the job {row['job']!r}, and the file is of {job!r}; "
                "give back the list of this job"
            )
        number = row["number"]
        if number and not number.isdigit():
            raise InputFileError(
                f"{path}: row {row['row']}: number {number!r} is not a whole number; put the number back that the list "
                "had, or leave it blank in a row of your own"
            )
        if number in seen and number:
            raise InputFileError(
                f"{path}: number {number} stands in rows {seen[number]} and {row['row']}; leave it blank in the row "
                "that you added"
            )
        seen[number] = row["row"]
    if rows and not any(row["job"] for row in rows):
        raise InputFileError(f"{path}: no row names its job; give back the list that asbuilt review wrote")


def _read_dates(path: Path, rows: Sequence[Row], table: side_tables.SideTable, today: dt.date) -> None:
    import pyarrow as pa

    text = table.cells["closed on"]
    order = values.date_order(text)
    for row, given in zip(rows, text.to_pylist(), strict=True):
        if not given and row["state"].strip().casefold() == CLOSED:
            raise InputFileError(
                f"{path}: row {row['row']}: state says closed, and no day stands in closed on; write the day there "
                "like 2026-04-02, or put the state back that the list had"
            )
        if not given:
            continue
        told = values.date(given, order=order or "ymd")
        unsure = order is None and values.needs_date_order(pa.array([given]))
        if told is None or unsure:
            raise InputFileError(
                f"{path}: row {row['row']}: closed on {given!r} is not a date that can only be read one way; write it "
                "like 2026-04-02"
            )
        if told > today:
            raise InputFileError(
                f"{path}: row {row['row']}: closed on {given!r} is later than today, {today}: nothing is closed on a "
                "day that is still to come; correct it, or leave it blank until then"
            )
        row["closed on"] = told.isoformat()


# What is found held against what came back --------------------------------------------------------------------------


def merged(now: Sequence[Row], earlier: Issues | None, job: str, routes: frozenset[str] = frozenset()) -> Issues:
    """Carry what people typed over to the issues found now.

    Parameters
    ----------
    now : rows of `found`
    earlier : the list that came back; None for a first one
    job : name of the job
    routes : names of the routes that were not looked at now, whose rows stay as they are

    Returns
    -------
    Issues
        Those found, those of the earlier list that are gone, and rows that people added, by their numbers.
    """
    if earlier is None:
        return Issues([row | {"number": at, "state": OPEN} for at, row in enumerate(now, start=1)], job)
    left = [row for row in earlier.rows if _is_ours(row) and row["route"] not in routes]
    kept = [row for row in earlier.rows if not _is_ours(row) or row["route"] in routes]
    pairs = _pairs(now, left)
    highest = max([int(row["number"]) for row in earlier.rows if row["number"]], default=0)
    rows: list[Row] = []
    for at, row in enumerate(now):
        if at in pairs:
            rows.append(_carried(row, left[pairs[at]], earlier.added))
            continue
        highest += 1
        rows.append(row | dict.fromkeys(earlier.added, "") | {"number": highest, "state": OPEN})
    used = set(pairs.values())
    gone = [row | {"state": GONE} for at, row in enumerate(left) if at not in used]
    for row in [*gone, *kept]:
        if not row["number"]:
            highest += 1
        number = int(row["number"]) if row["number"] else highest
        state = CLOSED if row["closed on"] else OPEN
        if _is_ours(row) and row["state"] in (GONE, CHANGED, AGAIN):
            state = row["state"]
        rows.append(_with_numbers(row) | {"number": number, "state": state, "job": earlier.job})
    return Issues(sorted(rows, key=lambda row: int(row["number"])), job, earlier.added)


def _is_ours(row: Row) -> bool:
    """Say whether a row of the list was found by the program, and not added by a person."""
    return row["finding"] in KINDS or row["finding"] in NOTES


def _pairs(now: Sequence[Row], left: Sequence[Row]) -> dict[int, int]:
    """Find the row of the earlier list that each issue is, by joint and code; several of a joint by their stations."""
    pairs: dict[int, int] = {}
    for key in (_exactly, _at_its_station, _of_its_joint, _of_its_joint_as_spreadsheets_write_it, _of_the_job):
        waiting: dict[tuple[str, ...], list[int]] = {}
        used = set(pairs.values())
        for at, row in enumerate(left):
            if at not in used and (name := key(row)) is not None:
                waiting.setdefault(name, []).append(at)
        for at, row in enumerate(now):
            if at not in pairs and (name := key(row)) is not None and waiting.get(name):
                pairs[at] = waiting[name].pop(0)
    _pair_lengths(now, left, pairs)
    return pairs


def _pair_lengths(now: Sequence[Row], left: Sequence[Row], pairs: dict[int, int]) -> None:
    """Pair lengths without a test by where they begin, to within what a new survey moves them, the nearest first.

    They have neither joint nor shot, and their station is one of the line.
    """
    used, code = set(pairs.values()), "length-untested"
    new = [at for at, row in enumerate(now) if at not in pairs and row["finding"] == code]
    old = [at for at, row in enumerate(left) if at not in used and row["finding"] == code]
    apart = sorted(
        (_apart(left[other]["station"], now[at]["station"]), at, other) for at in new for other in old
        if now[at]["route"] == left[other]["route"]
    )  # fmt: skip
    for far, at, other in apart:
        if far <= _same_place(now[at]) and at not in pairs and other not in used:
            pairs[at] = other
            used.add(other)


def _same_place(row: Row) -> float:
    symbol = row.get("symbol") or row["unit"]
    return units.factor("m", "m" if symbol == units.SYMBOLS["m"] else "ft") * _SAME_PLACE_M


def _apart(before: str, now: str) -> float:
    """Give how far two stations lie apart as they are written; infinite where they are of two regions of the line."""
    read = [_STATION.fullmatch(text) for text in (before, now)]
    if read[0] is None or read[1] is None or read[0][4] != read[1][4]:
        return 0.0 if before == now else math.inf
    first, second = (float(f"{one[1]}{one[2]}{one[3]}") for one in read if one)
    # Stations are written to a hundredth or a thousandth: no more of a difference is known.
    return round(abs(first - second), 6)


def _same_length(closed: str, before: Row, row: Row) -> bool:
    """Say whether a length without a test is the closed one but for what a survey taken anew moves its ends."""
    now = str(row["what"])
    old, new = _ENDS.search(closed), _ENDS.search(now)
    if old is None or new is None or before.get("to do", "") != row["to do"]:
        return False
    same_words = _ENDS.sub("", closed, count=1) == _ENDS.sub("", now, count=1)
    return same_words and all(_apart(old[end], new[end]) <= _same_place(row) for end in (1, 2))


def _exactly(row: Row) -> tuple[str, ...]:
    return tuple(str(row[name]) for name in ("finding", "route", "joint", "shot", "station", "what"))


def _at_its_station(row: Row) -> tuple[str, ...] | None:
    # Without joint, shot or station nothing but the words tells one from another.
    named = any(row[name] for name in ("joint", "shot", "station"))
    return tuple(str(row[name]) for name in ("finding", "route", "joint", "shot", "station")) if named else None


def _of_its_joint(row: Row) -> tuple[str, ...] | None:
    named = row["joint"] or row["shot"]
    return tuple(str(row[name]) for name in ("finding", "route", "joint", "shot")) if named else None


def _of_its_joint_as_spreadsheets_write_it(row: Row) -> tuple[str, ...] | None:
    """A spreadsheet that opens a CSV file takes 007 for the number 7."""
    found = _of_its_joint(row)
    return None if found is None else tuple(part.strip().lstrip("0").casefold() for part in found)


def _of_the_job(row: Row) -> tuple[str, ...] | None:
    """A note has its code and its route alone; its words change with the data."""
    return (row["finding"], row["route"]) if row["finding"] in NOTES else None


def _carried(row: Row, before: Row, added: Sequence[str]) -> Row:
    """Carry what was typed in an earlier row over to the same issue as it is now."""
    changes = [
        f"{name}: {before[name]}" for name in _FACTS
        if before.get(name) and not _same(before[name], row[name])
    ]  # fmt: skip
    typed, was = {name: before.get(name, "") for name in (*TYPED, *added)}, before.get("was", "")
    state = OPEN
    if typed["closed on"]:
        state = before["state"] if before["state"] in (CHANGED, AGAIN) else CLOSED
        if changes and (alike := _alike(row, before)):
            changes = [] if _AT_CLOSING.search(was) or state != CLOSED else [alike]
        elif changes:
            state = CHANGED
        state = AGAIN if before["state"] == GONE else state
    if state != CLOSED:
        # Who closes it anew closes what it is by then.
        was = was.replace(_WHEN_CLOSED, "")
    was = "; ".join(one for one in (was, *changes) if one)
    return row | typed | {"number": int(before["number"] or 0), "state": state, "was": was}


def _alike(row: Row, before: Row) -> str:
    """Say what a closed issue was when somebody closed it, where it is the same now but for what a survey taken anew
    makes different; blank where it is another one.

    It is held against what it was when it was closed, so that many small steps are not let pass one by one.
    """
    untested = row["finding"] == "length-untested"
    name = "what" if untested or (row["finding"] in _OF_ONE_JOINT and row["measured"] == "") else "measured"
    noted = _AT_CLOSING.search(before.get("was", ""))
    closed = noted[2].strip() if noted and noted[1] == name else str(before.get(name, ""))
    if untested:
        same = _same_length(closed, before, row)
    else:
        same = _says_alike(closed if name == "what" else str(before.get("what", "")), before, row)
        same = same and (name == "what" or _measured_alike(closed, row))
    return f"{name}{_WHEN_CLOSED}: {closed}" if same else ""


def _measured_alike(closed: str, row: Row) -> bool:
    """Say whether a deflection is the one that was closed but for what its error explains."""
    was, error, now = _number(closed), row.get("error"), row["measured"]
    if was is None or not isinstance(error, float) or not isinstance(now, float):
        return False
    return abs(now - was) <= _ALIKE * error


def _says_alike(closed: str, before: Row, row: Row) -> bool:
    """Say whether the words about a deflection are those of then, at the same place, but for their figures.

    Where nothing is measured the stations in them must be the same, too.
    """
    same = all(_same(before.get(name, ""), row[name]) for name in ("measured", "limit", "severity", "to do")
               if name != "measured" or row[name] == "")  # fmt: skip
    words = [_FIGURES.sub("#", text) for text in (closed, str(row["what"]))]
    near = _apart(str(before.get("station", "")), str(row["station"])) <= _same_place(row)
    if row["measured"] == "":
        figures = [_FIGURES.findall(text) for text in (closed, str(row["what"]))]
        near = near and len(figures[0]) == len(figures[1])
        near = near and all(_apart(*both) <= _same_place(row) for both in zip(*figures, strict=True))
    return same and words[0] == words[1] and near


_FIGURES = re.compile(r"-?\d[\d.,+]*")


def _same(before: str, now: Any) -> bool:
    """Say whether a cell that was read back says what it says now, however a spreadsheet writes its numbers."""
    if not isinstance(now, float):
        return before == str(now).strip()
    read = _number(before)
    return read is not None and abs(read - now) < 1e-6


def _number(text: str) -> float | None:
    """Read a number of a cell that was read back, however a spreadsheet writes it."""
    return values.number(text, decimal_comma="," in text and "." not in text)


def _with_numbers(row: Row) -> Row:
    """Give a row that was read back with its numbers as such: as a text, one with a minus sign would be guarded."""
    read = {name: _number(row.get(name, "")) for name in _NUMBERS}
    return row | {name: one for name, one in read.items() if one is not None}


# Files --------------------------------------------------------------------------------------------------------------


def write_issues(issues: Issues, folder: Path) -> list[str]:
    """Write the list as `issues.xlsx` and `issues.csv`; give their names."""
    columns = (*COLUMNS, *issues.added)
    rows = [{name: row.get(name, "") for name in columns} for row in issues.rows]
    write_csv(folder / "issues.csv", columns, rows)
    write_sheets({"Issues": [_with_dates(row) for row in rows]}, folder / "issues.xlsx", bare=columns)
    return ["issues.csv", "issues.xlsx"]


def _with_dates(row: Row) -> Row:
    return row | {"closed on": dt.date.fromisoformat(row["closed on"])} if row["closed on"] else row


def is_note_on(row: Row, route: str) -> bool:
    """Say whether a row is a note that stands on the page of a route; one that was not found now, by its own route."""
    if row["finding"] not in NOTES:
        return False
    return route in row["on"] if "on" in row else row["route"] in ("", route)


def is_open(row: Row) -> bool:
    """Say whether an issue still waits for someone: one that changed since it was closed does."""
    return row["state"] in (OPEN, CHANGED, AGAIN)
