"""What to act on or to check on a route, the worst first, and what is there for information."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from asbuilt.notes import OF_THE_LINE
from asbuilt.review.deflections import part_of, sparse
from asbuilt.review.issues import AGAIN, CHANGED, Row, is_note_on, sentence_of
from asbuilt.review.look import SEVERITIES
from asbuilt.review.remarks import TO_READ, quoted
from asbuilt.review.tables import MOST_ROWS, Table, capital, cell, how_many, letter, measured, on_its_page, to_compare
from asbuilt.schema import DOMAINS, SURVEY_CODES

if TYPE_CHECKING:
    from asbuilt.review.reading import Route

_ASKED = ("Station", "Joint", "What", "By how much", "What to do")
_ANYWHERE = ("restraint-missing", "allowable-missing")
"""Findings whose message says the same of joints that need not follow one another."""
_ALONG = ("line-off", "grade-off", "cover-short")
"""Findings of places along the pipe: those at successive joints are one stretch, told by its worst."""
_CANNOT_TELL = ("line-unclear", "grade-unclear", "cover-unclear")
"""Findings that one row tells of all joints: their list is the list of issues."""


def to_act_on(route: Route, rows: Sequence[Row]) -> Table:
    """List what to act on or to check, the worst first: where, what, by how much, and what to do.

    Parameters
    ----------
    route : Route
    rows : rows of the list of issues
        Those of this route are shown, and notes on it or on the whole job.
    """
    here = [row for row in rows if "at" in row and row["route"] == route.name]
    letters = _Letters()
    told: list[tuple[list[str], int, int]] = []
    left_out = 0
    placed = [row for row in here if row["finding"] in DOMAINS["finding_code"]]
    placed.sort(key=_rank)
    for code in dict.fromkeys(row["finding"] for row in placed):
        some = [row for row in placed if row["finding"] == code]
        if code == "deflection-unclear":
            told.append((_unclear_cells(route, some), some[0]["at"], len(some)))
            continue
        if code in _CANNOT_TELL:
            told.append((_cannot_tell_cells(some, letters), _worst(some)["at"], len(some)))
            continue
        gathered = _stretches(some) if code in _ALONG else _gathered(some, apart=code in _ANYWHERE)
        listed = gathered if some[0]["severity"] == "act" else gathered[:MOST_ROWS]
        left_out += sum(map(len, gathered[len(listed) :]))
        told += [(_cells(run, letters), _told_by(run)["at"], len(run)) for run in listed]
    aside = [row for row in here if row["finding"] in DOMAINS["set_aside_reason"]]
    if aside:
        told.append((_aside_cells(aside), -1, len(aside)))
    unseen = _unseen_cells(route)
    if unseen is not None:
        told.append(unseen)
    found = {row["finding"] for row in placed}
    of_job = [row for row in rows if "at" in row and is_note_on(row, route.name)]
    first = [row for row in of_job if OF_THE_LINE.get(row["finding"]) in found]
    notes = [_job_cells(row, route.name) for row in of_job if row not in first]
    told = [*(_job_cells(row, route.name) for row in first), *told, *notes]
    more = f"{left_out} more to check stand in the list of issues. " if left_out else ""
    return Table(
        "to-act-on", "What to act on or to check, worst first", _ASKED, [cells for cells, _, _ in told],
        joints=[at for _, at, _ in told], count=sum(many for *_, many in told) + left_out,
        note=more + letters.note, none="Nothing in these records must be acted on or checked.",
    )  # fmt: skip


def _job_cells(row: Row, page: str) -> tuple[list[str], int, int]:
    """Tell what was noticed about the whole job, or about routes of it; what makes all else doubtful stands first."""
    where = {0: "whole job", 1: "whole route"}.get(row["routes"], f"{row['routes']} routes")
    return [where, "", sentence_of(on_its_page(row["what"], page)), "", _to_do([row])], -1, 1


def _unseen_cells(route: Route) -> tuple[list[str], int, int] | None:
    """Tell in one row of the joints within only by what no shot shows: no issue, and yet nothing measured them."""
    verdict, assumes = route.joints["verdict"].tolist(), route.joints["verdict_assumes"].tolist()
    by = [set((words or "").split()) & set(_UNSEEN) if one == "within-assumed" else set()
          for one, words in zip(verdict, assumes, strict=True)]  # fmt: skip
    some = [at for at, words in enumerate(by) if words]
    if not some:
        return None
    station, name = route.joints["station"], route.joints["joint"]
    ends = dict.fromkeys((station[some[0]], station[some[-1]]))
    who = ", ".join(str(name[at]) for at in some) if len(some) <= _FEW else how_many(len(some), "joint")
    words = [word for word in _UNSEEN if any(word in one for one in by)]
    what, to_do = zip(*(_UNSEEN[word] for word in words), strict=True)
    where = f"Not measured: {'; '.join(what)}"
    return [" to ".join(ends), who, where, "", capital("; ".join(to_do))], some[0], 1


_UNSEEN = {
    "one-way": (
        "within only if the main curves one way between shots, and where it goes around something and back, the shots "
        "show nothing of it",
        "shoot or read every joint where the pipe may go around something, as at crossings; ask the crew where",
    ),
    "level": (
        "within only if the pipe keeps its grade where no elevation was shot, or changes it no more than the "
        "elevations on either side show, and where none was shot they show nothing of it",
        "have the elevation of every joint shot, or the joints read",
    ),
}
"""What no shot shows of joints that are within by assumption, and what would show it."""
_FEW = 5


def _rank(row: Row) -> tuple[int, bool, int]:
    return (_SEVERE[row["severity"]], row["finding"] not in SURVEY_CODES, _KNOWN[row["finding"]])


_SEVERE = {name: number for number, name in enumerate(SEVERITIES)}
_KNOWN = {code: number for number, code in enumerate(DOMAINS["finding_code"])}


class _Letters:
    """What limits rest on, by letters in the table and in full below it."""

    def __init__(self) -> None:
        self.known: dict[str, str] = {}

    def __call__(self, source: str) -> str:
        return self.known.setdefault(source, letter(len(self.known))) if source else ""

    @property
    def note(self) -> str:
        told = "; ".join(f"{one}: {source}" for source, one in self.known.items())
        return f"In brackets, what it rests on: {told}. {to_compare(told)}".strip() if told else ""


def _cells(run: Sequence[Row], letters: _Letters) -> list[str]:
    first = _told_by(run)
    much = _much(first)
    source = letters(first["rests on"])
    what = f"{first['what']} ({source})" if source else first["what"]
    if first["finding"] in _ALONG and len(run) > 1:
        what = f"The worst of them, joint {first['joint']}: {what}"
    where = first.get("between") or _joints_of(run)
    return [_from_to(run, "station"), where, what + _remarks(run, what), much, _to_do(run)]


def _remarks(run: Sequence[Row], said: str) -> str:
    """Say what the crew wrote beside the joints of a row."""
    told = quoted([(row["joint"], row["crew's remark"]) for row in run], said)
    return f".{told}" if told and not said.endswith(".") else told


def _told_by(run: Sequence[Row]) -> Row:
    """Give the finding by which a row of the table is told."""
    return _worst(run) if run[0]["finding"] in _ALONG else run[0]


def _much(row: Row) -> str:
    """Say by how much a row passes its limit, by the value with all its digits: rounding twice may go too far."""
    return how_much(row["finding"], row.get("unrounded", row["measured"]), row["limit"], row["unit"])


def how_much(code: str, value: Any, limit: Any, unit: str) -> str:
    """Say by how much a limit is passed.

    Examples
    --------
    >>> how_much("deflection-over", 6.12, 5.0, "deg"), how_much("deflection-unclear", 20.5, 5.0, "deg")
    ('122 % of 5.00 deg: exceeds by 1.12 deg', '410 % of 5.00 deg: may exceed by 15.50 deg')
    >>> how_much("torque-off", 60.0, 75.0, "ft-lb"), how_much("inspection-missing", 1.0, "", "fields")
    ('60 ft-lb against 75 ft-lb', '1 field')
    >>> how_much("deflection-conflict", 18.2, 2.96, "standard errors")
    '6.1 times what chance explains'
    """
    if value == "" or limit == "":
        return measured(None if value == "" else value, unit)
    if code == "deflection-conflict":
        return f"{value / limit:.1f} times what chance explains"
    if unit != "deg" or not code.startswith("deflection-"):
        return f"{measured(value, unit)} against {measured(limit, unit)}"
    word = "exceeds" if code == "deflection-over" else "may exceed"
    of = f" of {limit:.2f} deg" if limit > 0 else ""
    return f"{part_of(value, limit)}{of}: {word} by {value - limit:.2f} deg"


def _unclear_cells(route: Route, some: Sequence[Row]) -> list[str]:
    said = sparse(route)
    where = f"{said.first} to {said.last}" if said.first != said.last else said.first
    cannot = said.cannot + _remarks(some, said.cannot)
    many = how_many(len(some), "joint") + (f" in {said.stretches} stretches" if said.stretches > 1 else "")
    return [where, many, cannot, capital(said.share), f"{capital(said.remedy)}{_closed(some)}"]


def _cannot_tell_cells(some: Sequence[Row], letters: _Letters) -> list[str]:
    """Tell in one row of joints that the survey cannot hold against a limit, by the one nearest to failing it."""
    stretches = _stretches(some)
    where = ", ".join(_from_to(run, "station") for run in stretches[:_NAMED])
    more = f" and {len(stretches) - _NAMED} more stretches" if len(stretches) > _NAMED else ""
    first = max(some, key=_past)
    source = letters(first["rests on"])
    what = f"The worst of them, joint {first['joint']}: {first['what']}" if len(some) > 1 else first["what"]
    what = f"{what} ({source})"
    return [f"{where}{more}", how_many(len(some), "joint"), what + _remarks(some, what),
            _much(first), _to_do(some)]  # fmt: skip


_NAMED = 3
"""Stretches that a row names; the list of issues has them all."""


def _past(one: Row) -> float:
    """Say by how much a value passes its limit, less than nothing within it; cover must not be less."""
    past = one["measured"] - one["limit"]
    return float(-past if one["finding"].startswith("cover-") else past)


def _aside_cells(aside: Sequence[Row]) -> list[str]:
    reasons = Counter(row["finding"] for row in aside)
    told = "; ".join(f"{DOMAINS['set_aside_reason'][code].lower()}: {many}" for code, many in reasons.most_common())
    what = f"{how_many(len(aside), 'record')} of this route could not be placed: {told}"
    return [
        "not placed",
        "",
        what,
        "",
        f"Have the records corrected; each stands under Records not placed{_closed(aside)}",
    ]


def _to_do(run: Sequence[Row]) -> str:
    return f"{run[0]['to do']}{_closed(run)}"


def _closed(run: Sequence[Row]) -> str:
    """Say what the list of issues has as closed of the issues of a row."""
    closed = [row for row in run if row["closed on"]]
    if not closed:
        return ""
    last = closed[-1]
    when = f"on {last['closed on']}" + (f" by {last['by whom']}" if last["by whom"] else "")
    remark = f": {last['remark']}" if last["remark"] else ""
    since = {CHANGED: ", and has changed since", AGAIN: ", and was found again"}
    if len(run) > 1:
        reopened = Counter(since[row["state"]] for row in closed if row["state"] in since)
        told = "".join(f"; {many} of them {words.removeprefix(', and ')}" for words, many in reopened.items())
        return f". {len(closed)} of {len(run)} closed, the last {when}{remark}{told}"
    if last["state"] in since:
        return f". This was closed {when}{since[last['state']]}{remark}"
    return f". {capital(last['state'])} {when}{remark}"


def _stretches(found: Sequence[Row]) -> list[list[Row]]:
    """Gather successive joints, whatever was measured there, the worst stretch first."""
    runs: list[list[Row]] = []
    for one in sorted(found, key=lambda one: one["at"]):
        if runs and 0 <= one["at"] == runs[-1][-1]["at"] + 1:
            runs[-1].append(one)
        else:
            runs.append([one])
    return sorted(runs, key=lambda run: _passed_by(_worst(run)), reverse=True)


def _worst(run: Sequence[Row]) -> Row:
    return max(run, key=_passed_by)


def _passed_by(one: Row) -> float:
    """Say by how much a finding passes its limit, whichever way that is."""
    return abs(one["measured"] - one["limit"]) if one["measured"] != "" and one["limit"] != "" else 0.0


def _gathered(found: Sequence[Row], *, apart: bool) -> list[list[Row]]:
    """Gather what is said alike of successive joints, or where it is said of a length or a kind, of joints `apart`."""
    runs: list[list[Row]] = []
    last_said: dict[tuple[Any, ...], list[Row]] = {}
    for one in found:
        said = tuple(one[name] for name in ("what", "rests on", "limit", *(() if apart else ("measured",))))
        run = last_said.get(said)
        if run is not None and one["at"] >= 0 and (apart or one["at"] == run[-1]["at"] + 1):
            run.append(one)
        else:
            last_said[said] = [one]
            runs.append(last_said[said])
    return runs


def _joints_of(run: Sequence[Row]) -> str:
    """Name the joints of a row, successive ones by the first and the last; a shot by its point."""
    if run[0]["shot"]:
        return f"shot {run[0]['shot']}"
    breaks = [at for at in range(1, len(run)) if run[at]["at"] != run[at - 1]["at"] + 1]
    edges = zip([0, *breaks], [*breaks, len(run)], strict=True)
    named = ", ".join(_from_to(run[start:end], "joint") for start, end in edges)
    return f"{named} ({len(run)} joints)" if len(run) > 1 else named


def _from_to(run: Sequence[Row], name: str) -> str:
    first, last = run[0][name] or "", run[-1][name] or ""
    return f"{first} to {last}" if len(run) > 1 and first != last else first


def for_information(route: Route) -> Table:
    """List the findings about which nothing need be done."""
    found = route.findings.take((route.findings["severity"] == "note") & (route.findings["code"] != TO_READ))
    told = found.take(slice(MOST_ROWS)).records(("station", "joint", "message"))
    rows = [[cell(one["station"]), cell(one["joint"]), sentence_of(one["message"])] for one in told]
    more = len(found) - MOST_ROWS
    return Table(
        "information", "Findings for information", ("Station", "Joint", "What was found"), rows,
        joints=found["at"][:MOST_ROWS].tolist(), count=len(found),
        note=f"The first {MOST_ROWS} of {len(found)}; layer findings has them all." if more > 0 else "",
        none="No findings for information.",
    )  # fmt: skip
