"""The answer on the first screen: one sentence, what to act on, the state of the route, and what all of it rests on.

What is within only if something holds that was not measured is never counted with what was measured.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any, NamedTuple

import pyarrow as pa

from asbuilt import units
from asbuilt.judging import verdicts
from asbuilt.review.deflections import part_of, route_curves, sparse
from asbuilt.review.issues import CLOSED, GONE, conditions, is_open, sentence_of
from asbuilt.review.laid import has_test
from asbuilt.review.look import MARKS, SEVERITIES
from asbuilt.review.remarks import quoted
from asbuilt.review.rows import known
from asbuilt.review.tables import MOST_ROWS, Table, cell, letter, measured, number, plain_source, to_compare
from asbuilt.schema import DOMAINS, SURVEY_CODES

if TYPE_CHECKING:
    from asbuilt.review.reading import Review, Route
    from asbuilt.review.rows import Rows

Row = dict[str, Any]

_TOLD = (
    *SURVEY_CODES, "deflection-over", "deflection-conflict", "deflection-unclear", "allowable-missing",
    "inspection-failed", "line-off", "grade-off", "cover-short", "line-unclear", "grade-unclear", "cover-unclear",
    "inspection-missing", "joints-missing", "restraint-missing", "test-failed", "test-pressure-low", "test-short",
    "length-untested",
)  # fmt: skip
"""Findings that the sentence counts in words of their own."""
_ASKED = ("Station", "Joint", "What", "By how much", "What to do")
_ANYWHERE = ("restraint-missing", "allowable-missing")
"""Findings whose message says the same of joints that need not follow one another."""
_ALONG = ("line-off", "grade-off", "cover-short")
"""Findings of places along the pipe: those at successive joints are one stretch, told by its worst."""
_CANNOT_TELL = ("line-unclear", "grade-unclear", "cover-unclear")
"""Findings that one row tells of all joints: their list is the list of issues."""
_WITHOUT_ROUTE = ("route-unknown", "row-unreadable")
"""Reasons for which a record may have no route that could be told."""
_RESULTS = {
    "passed": "passed", "failed": "failed", "failed-retested": "failed and passed when repeated",
    "below-required": "held below what the job requires",
    "below-retested": "held below what the job requires and passed when repeated",
    "not-judged": "not judged",
}  # fmt: skip


class Answer(NamedTuple):
    """What the first screen says in words."""

    sentence: str
    closings: str
    """Who closed what, by the list of issues; blank where nothing is closed."""
    states: list[tuple[str, str]]
    """Deflection, evidence, and tests and restraint: a line each."""
    basis: str


def answer(review: Review, route: Route, rows: Sequence[Row]) -> Answer:
    """Answer whether a route has open findings.

    Parameters
    ----------
    review : Review
    route : Route
        One of its routes.
    rows : rows of the list of issues
    """
    against = _against(review, route)
    assumed = _verdicts(route)["within-assumed"]
    if against:
        said = f"Not yet: {', '.join(against)}."
        said += f" {_within(route)}." if assumed else ""
    elif assumed:
        said = f"No open findings, if what was not measured holds: {_deflection(route)}."
    else:
        said = f"No open findings: {_deflection(route)}."
    states = [
        ("Deflection", _capital(_deflection(route)) + _only_if(route)),
        ("Evidence", _evidence(review, route)),
        ("Tests, restraint", _capital(f"{_tests(route)}; {_restraint(route)}")),
    ]
    return Answer(said, _closings(route, rows), [(name, f"{text}.") for name, text in states], basis(review, route))


def _against(review: Review, route: Route) -> list[str]:
    """Say in a few words each what is open on a route, the worst first."""
    found = list(zip(*(route.findings[name].tolist() for name in ("code", "severity", "value")), strict=True))
    codes, severity = Counter(code for code, *_ in found), {code: level for code, level, _ in found}
    rest = Counter({code: many for code, many in codes.items() if code not in _TOLD})
    others = {level: sum(many for code, many in rest.items() if severity[code] == level) for level in ("act", "check")}
    aside = _set_aside_of(review, route)
    inspection = Counter(route.joints["inspection"].tolist())
    untested = sum(value for code, _, value in found if code == "length-untested")
    doubts = sum(codes[code] for code in SURVEY_CODES)
    notes = sum(note.severity in ("act", "check") for note in review.notes)
    symbol = units.SYMBOLS[route.station_unit]
    told = [
        "no shots of the pipe, so these pages cannot say how it lies" if design_only(review) else "",
        _over(route),
        _many(inspection["failed"], "inspection", "failed"),
        _many(inspection["incomplete"], "" if inspection["failed"] else "inspection", "incomplete"),
        _many(inspection["none"], "joint", "without any inspection"),
        _many(codes["restraint-missing"], "joint", "not recorded as restrained"),
        _many(codes["test-failed"], "pressure test", "failed"),
        _many(codes["test-pressure-low"] + codes["test-short"], "finding", "of a pressure test below what is required"),
        _many(codes["line-off"], "joint", "too far beside the design"),
        _many(codes["grade-off"], "joint", "too far above or below the design"),
        _many(codes["cover-short"], "joint", "under too little cover"),
        _many(doubts, "doubt", "about the survey"),
        _least(_missing(review, route), "missing from the log"),
        _many(codes["deflection-conflict"], "joint", "whose readings contradict the survey"),
        _of_all(codes["deflection-unclear"], route, "that the survey cannot judge"),
        _many(codes["line-unclear"], "joint", "that the survey cannot hold against the design's line"),
        _many(codes["grade-unclear"], "joint", "that the survey cannot hold against the design's grade"),
        _many(codes["cover-unclear"], "joint", "whose cover the survey cannot tell"),
        _many(codes["allowable-missing"], "joint", "without an allowable on file"),
        _many(aside, "record", "not placed"),
        "" if has_test(route) else "no pressure test on file",
        f"{number(untested, 2)} {symbol} under no test" if untested and has_test(route) else "",
        _many(others["act"], "other finding", "to act on"),
        _many(others["check"], "other finding", "to check"),
        _many(notes, "thing", "about the job to confirm"),
    ]
    return [one for one in told if one]


def _over(route: Route) -> str:
    assumes = route.joints["verdict_assumes"][route.joints["verdict"] == "over"].tolist()
    some = [one for one in assumes if one]
    if not some:
        return _many(len(assumes), "joint", "over")
    many = "" if len(assumes) == len(some) else f"{len(some)} of them only "
    return f"{_many(len(assumes), 'joint', 'over')} ({many}if {_if(some)})"


def _if(assumes: Sequence[str]) -> str:
    """Say what verdicts assume, whichever of them does."""
    words = dict.fromkeys(word for one in dict.fromkeys(assumes) for word in one.split())
    return conditions(" ".join(words))


def _deflection(route: Route) -> str:
    by = _verdicts(route)
    told = [
        _within(route),
        _over(route),
        _many(by["cannot-tell"], "", "that the survey cannot judge"),
        _many(by["no-allowable"], "", "without an allowable on file"),
        _many(by["not-computed"], "", "not computed, such as the ends of the route"),
    ]
    return "; ".join(one for one in told if one)


def _within(route: Route) -> str:
    """Say how many joints are within as measured, and how many only if something holds."""
    joints = route.joints
    measured = f"{_verdicts(route)['within']:,} within as measured"
    assumes = joints["verdict_assumes"][joints["verdict"] == "within-assumed"].tolist()
    return "; ".join(one for one in (measured, _assumed(Counter(one or "" for one in assumes))) if one)


def _verdicts(route: Route) -> Counter[str]:
    return Counter(route.joints["verdict"].tolist())


_FEW = 5
"""Joints within only if something holds that the first screen names; the table of all joints has more of them."""


def _only_if(route: Route) -> str:
    """Name the joints that are within only if something holds, where these are few."""
    some = route.joints.take(route.joints["verdict"] == "within-assumed")
    if not 0 < len(some) <= _FEW:
        return ""
    named = [f"{joint} at {station}" for joint, station in zip(some["joint"], some["station"], strict=True)]
    return f". Within only so: joint{'s' if len(some) > 1 else ''} {', '.join(named)}"


def _assumed(many: Counter[str]) -> str:
    """Say of joints within by assumption what holds of all of them, and what else of some.

    Examples
    --------
    >>> _assumed(Counter({"shots-exact": 204, "fitting-plane shots-exact": 7}))
    '211 only if the shots are without error (7 of them also if bends lie as recorded)'
    >>> _assumed(Counter({"one-way": 3, "level": 2}))
    '3 only if the main curves one way between shots; 2 only if the pipe turns up or down, where no elevation \
was shot, no more than those beside it show (not at all where there are none)'
    """
    words = {one: one.split() for one in many}
    of_all = [word for word in next(iter(words.values()), []) if all(word in some for some in words.values())]
    if not of_all:
        return "; ".join(f"{number:,} only if {conditions(one)}" for one, number in many.most_common())
    rest = Counter({" ".join(w for w in words[one] if w not in of_all): number for one, number in many.items()})
    also = "; ".join(f"{number:,} of them also if {conditions(one)}" for one, number in rest.most_common() if one)
    return f"{many.total():,} only if {conditions(' '.join(of_all))}" + (f" ({also})" if also else "")


def _evidence(review: Review, route: Route) -> str:
    by, placed = Counter(route.joints["inspection"].tolist()), len(route.joints)
    missing = _missing(review, route)
    aside = _set_aside_of(review, route)
    # A record set aside may be of a joint that no other record tells of.
    expected = f"{'at least ' if missing or aside else ''}{placed + missing:,} expected"
    told = [f"{by['complete']:,} complete of {_many(placed, 'joint')} placed, of {expected}"]
    told += [
        _many(by["incomplete"], "", "incomplete"), _many(by["failed"], "", "failed"),
        _many(by["none"], "", "without any inspection"), _least(missing, "missing from the log"),
        f"{_many(aside, 'record')} of this route set aside" if aside else "no record of this route set aside",
    ]  # fmt: skip
    return "; ".join(one for one in told if one)


def _missing(review: Review, route: Route) -> int:
    return int(review.run["counts"].get("joints_missing_at_least", {}).get(route.name, 0))


def _set_aside_of(review: Review, route: Route) -> int:
    """Count the records that name a route and could not be placed."""
    return sum(name == route.name for name in review.set_aside["route"].tolist())


def _least(many: int, words: str) -> str:
    return f"at least {_many(many, 'joint')} {words}" if many else ""


def _tests(route: Route) -> str:
    tests = route.lengths["pressure_tests"]
    if not has_test(route):
        return "no pressure test on file"
    results = tests["result"].tolist()
    by = Counter(results)
    untested = sum(
        length for length, result in zip(tests["length"].tolist(), results, strict=True) if result == "untested"
    )
    told = [f"{by[result]} {words}" for result, words in _RESULTS.items() if by[result]]
    symbol = units.SYMBOLS[route.station_unit]
    return f"pressure tests: {', '.join(told)}" + (
        f"; {number(untested, 2)} {symbol} under no test" if untested else ""
    )


def _restraint(route: Route) -> str:
    lengths = route.lengths["restraint"]
    if not len(lengths):
        return "no length on file that must be restrained"
    joints, free = int(lengths["joints"].sum()), int(lengths["joints_unrestrained"].sum())
    held = (
        f"{free} of their {_many(joints, 'joint')} not recorded as restrained" if free else "all recorded as restrained"
    )
    return f"{_many(len(lengths), 'length')} that must be restrained: {held}"


def basis(review: Review, route: Route) -> str:
    """Say in one line what the verdicts rest on: shots, confidence, table, and whether anything was surveyed."""
    about = review.run["counts"].get("basis", {})
    unit, symbol = units.SYMBOLS[route.unit], units.SYMBOLS[route.station_unit]
    legs = route.shots
    line = _line(review)
    vertex = ("a corner of it", "corner") if line == _UNSAID else ("a shot", "shot")
    spacing = f"{vertex[0]} every {number(legs['middle'], 0)} {symbol} (the middle one of {legs['legs']:,} legs"
    ends = dict.fromkeys(number(legs[end], 0) for end in ("least", "most"))
    spacing += f", {' to '.join(ends)})" if len(ends) > 1 else ", all alike)"
    surveyed = not any(note.code in ("line-drawn", "line-drawn-between") for note in review.notes)
    told = [
        line,
        *([_errors(about, unit), spacing, *_without_elevation(review, route, vertex[1])] if surveyed else []),
        _wrong(review, route),
        f"allowables: {_allowables(route, about)}",
    ]
    return _capital("; ".join(told)) + "."


def _without_elevation(review: Review, route: Route, vertex: str) -> list[str]:
    """Say at how many shots, or corners of a line, no elevation was measured, where any is missing."""
    counts = review.run["counts"]
    missing = counts.get("shots_without_elevation", {}).get(route.name, 0)
    many = counts.get("shot_spacing", {}).get(route.name, {}).get("legs", 0) + 1
    if not missing:
        return []
    some = f"{missing:,} of {many:,} {vertex}s without a measured elevation"
    return [some if missing < many else f"no {vertex} has an elevation"]


def _wrong(review: Review, route: Route) -> str:
    """Say how many verdicts may be wrong; of those that rest on errors nobody stated, that it is not known."""
    about = review.run["counts"].get("basis", {})
    columns = (pa.array(route.joints[name], pa.string()) for name in ("verdict", "verdict_assumes"))
    of_known_rate, of_unknown_rate = verdicts.settled(*columns)
    sound, unknown = int(of_known_rate.sum()), int(of_unknown_rate.sum())
    if_so = int((of_known_rate & known(route.joints["verdict_assumes"])).sum())
    most = review.run["counts"].get("verdicts_wrong_at_most", {}).get(route.name, 0)
    of = "main" if about.get("confidence_of") == "main" else "joint"
    sure = f"{100 * about['confidence']:.4g} % sure of each {of}" if about else "confidence not in the file"
    told = []
    if sound:
        assumed = f" and what {if_so:,} of them assume holds" if if_so else ""
        limits = f"if all lay at their limits{assumed}"
        told.append(f"{sure}: at most {most:.3g} of {sound:,} verdicts wrong by chance, {limits}")
    if unknown:
        many = f"{unknown:,} other" if sound else f"{unknown:,}"
        told.append(f"how many of {many} verdicts are wrong is not known, as no error of what they rest on is stated")
    return "; ".join(told) or "no joint is judged over or within"


_LINES = {"survey": "a survey of the pipe", "drawn": "a line that was drawn", "design": "a design"}
_UNSAID = "a line of which nobody says whether it was shot on the pipe or drawn"


def _line(review: Review) -> str:
    """Say how the line came about; of older files only alignments are known to be designs."""
    about, noted = review.run["counts"].get("basis", {}), {note.code for note in review.notes}
    drawn = noted & {"line-drawn", "line-drawn-between"}
    said = _LINES.get(about.get("source", "design" if drawn else "survey"), _UNSAID)
    if not drawn:
        return said
    return f"{said}, not a survey" if "line-drawn" in noted else f"{said}, but for joints surveyed themselves"


def _errors(about: dict[str, Any], unit: str) -> str:
    """Say how well a shot is known, as the job states it, or check shots show it."""
    told = []
    for way, where in (("horizontal", "in plan"), ("vertical", "in height")):
        least, most = about.get(f"sigma_{way}") or (None, None)
        if least is None:
            told.append(f"not stated {where}")
        else:
            told.append(f"{least:.3g} {unit} {where}" if least == most else f"{least:.3g} to {most:.3g} {unit} {where}")
    if all(one.startswith("not stated") for one in told):
        return "standard error of a shot not stated"
    return f"standard error of a shot {', '.join(told)}"


def _allowables(route: Route, about: dict[str, Any]) -> str:
    sources = Counter(filter(None, route.joints["allowable_source"].tolist())).most_common()
    told = "; ".join(f"{plain_source(source)} ({_many(many, 'joint')})" for source, many in sources)
    own = about.get("project")
    which = f"the job's own table {own} is on file" if own else "no table of an approved submittal is on file"
    return f"{told or 'none on file'}; {which}"


def _closings(route: Route, rows: Sequence[Row]) -> str:
    """Say how many issues of a route and of the whole job are closed, and by whom; the sentence counts them all."""
    ours = [row for row in rows if row["route"] == route.name or row["finding"] in DOMAINS["note_code"]]
    here = [row for row in ours if row["state"] != GONE]
    closed = [row for row in here if row["state"] == CLOSED]
    changed = sum(is_open(row) and bool(row["closed on"]) for row in here)
    if not closed and not changed:
        return ""
    who = Counter(row["by whom"] or "no name given" for row in closed)
    named = ", ".join(f"{many} by {name}" if name != "no name given" else f"{many} without a name"
                      for name, many in who.most_common(5))  # fmt: skip
    also = f" {_many(changed, 'issue')} changed or came back since being closed, and count as open." if changed else ""
    return f"The list of issues has {len(closed)} of {len(here)} closed ({named}).{also}" if closed else also.strip()


def _many(count: int, thing: str, what: str = "") -> str:
    """Count things in words; nothing for none.

    Examples
    --------
    >>> _many(1, "joint", "over"), _many(1200, "joint"), _many(3, "", "incomplete"), _many(0, "joint")
    ('1 joint over', '1,200 joints', '3 incomplete', '')
    """
    if not count:
        return ""
    return " ".join(part for part in (f"{count:,}", thing + "s" if thing and count != 1 else thing, what) if part)


def _of_all(count: int, route: Route, what: str) -> str:
    """Count joints among all of their route; nothing for none."""
    return f"{count:,} of {_many(len(route.joints), 'joint', what)}" if count else ""


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def design_only(review: Review) -> bool:
    """Say whether the joints lie on a design, or a line that was drawn, and nothing was surveyed."""
    return any(note.code == "line-drawn" for note in review.notes)


# The one table --------------------------------------------------------------------------------------------------------


def to_act_on(route: Route, rows: Sequence[Row]) -> Table:
    """List what to act on or to check, the worst first: where, what, by how much, and what to do.

    Parameters
    ----------
    route : Route
    rows : rows of the list of issues
        Those of this route, and those of the whole job, are shown.
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
    for row in rows:
        if "at" in row and row["finding"] in DOMAINS["note_code"]:
            told.append((["whole job", "", sentence_of(row["what"]), "", _to_do([row])], -1, 1))
    more = f"{left_out} more to check stand in the list of issues. " if left_out else ""
    return Table(
        "to-act-on", "What to act on or to check, worst first", _ASKED, [cells for cells, _, _ in told],
        joints=[at for _, at, _ in told], count=sum(many for *_, many in told) + left_out,
        note=more + letters.note, none="Nothing in these records must be acted on or checked.",
    )  # fmt: skip


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
    """
    if value == "" or limit == "":
        return measured(None if value == "" else value, unit)
    if unit != "deg" or not code.startswith("deflection-"):
        return f"{measured(value, unit)} against {measured(limit, unit)}"
    word = "exceeds" if code == "deflection-over" else "may exceed"
    of = f" of {limit:.2f} deg" if limit > 0 else ""
    return f"{part_of(value, limit)}{of}: {word} by {value - limit:.2f} deg"


def _unclear_cells(route: Route, some: Sequence[Row]) -> list[str]:
    said = sparse(route)
    where = f"{said.first} to {said.last}" if said.first != said.last else said.first
    cannot = said.cannot + _remarks(some, said.cannot)
    return [where, _many(len(some), "joint"), cannot, said.share, f"{_capital(said.remedy)}{_closed(some)}"]


def _cannot_tell_cells(some: Sequence[Row], letters: _Letters) -> list[str]:
    """Tell in one row of joints that the survey cannot hold against a limit, by the one nearest to failing it."""
    stretches = _stretches(some)
    where = ", ".join(_from_to(run, "station") for run in stretches[:_NAMED])
    more = f" and {len(stretches) - _NAMED} more stretches" if len(stretches) > _NAMED else ""
    first = max(some, key=_past)
    source = letters(first["rests on"])
    what = f"The worst of them, joint {first['joint']}: {first['what']}" if len(some) > 1 else first["what"]
    what = f"{what} ({source})"
    return [f"{where}{more}", _many(len(some), "joint"), what + _remarks(some, what),
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
    what = f"{_many(len(aside), 'record')} of this route could not be placed: {told}"
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
    who = f" by {last['by whom']}" if last["by whom"] else ""
    how = f"{len(closed)} of {len(run)} closed, the last" if len(run) > 1 else _capital(last["state"])
    remark = f": {last['remark']}" if last["remark"] else ""
    return f". {how} on {last['closed on']}{who}{remark}"


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
    found = route.findings.take(route.findings["severity"] == "note")
    told = found.take(slice(MOST_ROWS)).records(("station", "joint", "message"))
    rows = [[cell(one["station"]), cell(one["joint"]), sentence_of(one["message"])] for one in told]
    more = len(found) - MOST_ROWS
    return Table(
        "information", "Findings for information", ("Station", "Joint", "What was found"), rows,
        joints=found["at"][:MOST_ROWS].tolist(), count=len(found),
        note=f"The first {MOST_ROWS} of {len(found)}; layer findings has them all." if more > 0 else "",
        none="No findings for information.",
    )  # fmt: skip


# Records not placed, and counts ---------------------------------------------------------------------------------------


def set_aside_on(review: Review, route: Route) -> Table:
    """List the records that name a route, or can be of no other one, and could not be placed on it."""
    here = review.set_aside["route"] == route.name
    nowhere = sum(reason in _WITHOUT_ROUTE for reason in review.set_aside["reason"][~here].tolist())
    found = _set_aside(review.set_aside.take(here), f"Records of route {route.name} that could not be placed")
    if not nowhere:
        return found
    many = "1 more record of the job names" if nowhere == 1 else f"{nowhere} more records of the job name"
    also = f"{many} no route of the centerline, and may belong here; the index lists all that were not placed."
    return replace(found, note=f"{found.note} {also}".strip(), none=f"Every record that names it was placed. {also}")


def set_aside_table(review: Review) -> Table:
    """List the records of the job that could not be placed."""
    return _set_aside(review.set_aside, "Records of the job that could not be placed, on any route")


def _set_aside(aside: Rows, caption: str) -> Table:
    rows = [
        [cell(one["file"]), cell(one["row"]), cell(one["joint"]),
         DOMAINS["set_aside_reason"].get(str(one["reason"]), str(one["reason"])), cell(one["message"])]
        for one in aside.take(slice(MOST_ROWS)).records(("file", "row", "joint", "reason", "message"))
    ]  # fmt: skip
    more = len(aside) - MOST_ROWS
    return Table(
        "set-aside", caption, ("File", "Row", "Joint", "Reason", "Message"), rows, numeric=(1,),
        note=f"The first {MOST_ROWS} of {len(aside)}; layer set_aside has them all." if more > 0 else "",
        count=len(aside), none="Every record was placed.",
    )  # fmt: skip


def counts(route: Route) -> dict[str, Any]:
    """Count a route's joints by verdict and its findings by severity and code."""
    verdicts, severities, codes = (
        Counter(column.tolist())
        for column in (route.joints["verdict"], route.findings["severity"], route.findings["code"])
    )
    return {
        "joints": len(route.joints),
        "joints_by_verdict": {name: verdicts[name] for name in MARKS if name in verdicts},
        "findings": len(route.findings),
        "findings_by_severity": {name: severities[name] for name in SEVERITIES if name in severities},
        "findings_by_code": dict(codes.most_common()),
        "curves": sum(len(found.first) for found in route_curves(route).values()),
    }
