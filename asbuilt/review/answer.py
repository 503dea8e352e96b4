"""The answer on the first screen: one sentence, the state of the route, and what all of it rests on.

What is within only if something holds that was not measured is never counted with what was measured.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import pyarrow as pa

from asbuilt import units
from asbuilt.judging import verdicts
from asbuilt.review.deflections import route_curves
from asbuilt.review.issues import CLOSED, GONE, Row, is_note_on, is_open
from asbuilt.review.laid import has_test
from asbuilt.review.look import MARKS, SEVERITIES
from asbuilt.review.remarks import TO_READ
from asbuilt.review.rows import known
from asbuilt.review.tables import capital, how_many, number, plain_source
from asbuilt.review.turns import least_over
from asbuilt.schema import SURVEY_CODES, conditions

if TYPE_CHECKING:
    from asbuilt.review.reading import Review, Route

_TOLD = (
    *SURVEY_CODES, "deflection-over", "deflection-conflict", "deflection-unclear", "allowable-missing",
    "inspection-failed", "line-off", "grade-off", "cover-short", "line-unclear", "grade-unclear", "cover-unclear",
    "inspection-missing", "joints-missing", "restraint-missing", "test-failed", "test-pressure-low", "test-short",
    "length-untested",
)  # fmt: skip
"""Findings that the sentence counts in words of their own."""
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
    open: tuple[str, ...]
    """What the sentence says is open, each in a few words, the worst first."""


def answer(review: Review, route: Route, rows: Sequence[Row]) -> Answer:
    """Answer whether a route has open findings.

    Parameters
    ----------
    review : Review
    route : Route
        One of its routes.
    rows : rows of the list of issues
    """
    aside = sum(row["joints_in_the_log"] for row in rows if "at" in row and row["route"] == route.name)
    # Joints whose records could not be placed are not missing from the log.
    missing = max(_missing(review, route) - aside, 0)
    against = _against(review, route, missing)
    assumed = _verdicts(route)["within-assumed"]
    if against:
        said = f"Not yet: {', '.join(against)}."
        said += f" {capital(_within(route))}." if assumed else ""
    elif assumed:
        said = f"No open findings, if what was not measured holds: {_deflection(route)}."
    else:
        said = f"No open findings: {_deflection(route)}."
    states = [
        ("Deflection", capital(_deflection(route)) + _only_if(route)),
        ("Evidence", _evidence(review, route, missing)),
        ("Tests, restraint", capital(f"{_tests(route)}; {_restraint(route)}")),
        *_remarks(route),
    ]
    return Answer(said, _closings(route, rows), [(name, f"{text}.") for name, text in states],
                  basis(review, route), tuple(against))  # fmt: skip


def for_index(done: Sequence[Mapping[str, Any]]) -> tuple[list[str], str]:
    """Give the answer of each route without what is open on every one of them, and that by itself, blank for nothing.

    Parameters
    ----------
    done : sequence of mappings
        Of each route its `answer`, and what is `open` on it.

    Examples
    --------
    >>> done = [{"answer": f"Not yet: {many} over, no pressure test on file. None within as measured.",
    ...     "open": [f"{many} over", "no pressure test on file"]} for many in (1, 2, 5)]
    >>> for_index(done)[0]
    ['Not yet: 1 over.', 'Not yet: 2 over.', 'Not yet: 5 over.']
    >>> for_index(done)[1]
    'Of every route: no pressure test on file. None within as measured.'
    >>> for_index(done[:2])[1]
    ''
    """
    told, opened = [one["answer"] for one in done], [list(one["open"]) for one in done]
    if len(done) < _MANY_ROUTES or not all(opened):
        return told, ""
    alike = [words for words in opened[0] if all(words in some for some in opened)]
    rest = [text.partition(f"{', '.join(some)}.")[2] for text, some in zip(told, opened, strict=True)]
    same_rest = rest[0] if len(set(rest)) == 1 else ""
    if not alike:
        return told, ""
    own = [", ".join(words for words in some if words not in alike) for some in opened]
    answers = [
        (f"Not yet: {words}." if words else "Not yet, by what is said of every route.") + ("" if same_rest else more)
        for words, more in zip(own, rest, strict=True)
    ]
    return answers, f"Of every route: {', '.join(alike)}.{same_rest}"


_MANY_ROUTES = 3
"""Routes from which on the index says once what is open on every one of them; a choice of this review, no source."""


def _remarks(route: Route) -> list[tuple[str, str]]:
    """Say at which joints remarks may tell of trouble; nothing where no remark does."""
    at = dict.fromkeys(route.findings["at"][route.findings["code"] == TO_READ].tolist())
    if not at:
        return []
    named = [str(route.joints["joint"][one]) for one in at if one >= 0][:_FEW]
    more = " and others" if len(at) > len(named) else ""
    words = "have a word that may tell of trouble; nothing here judges what it means"
    return [("Remarks", f"To read: those at joint{'s' if len(at) > 1 else ''} {', '.join(named)}{more} {words}")]


def _against(review: Review, route: Route, missing: int) -> list[str]:
    """Say in a few words each what is open on a route, the worst first."""
    found = list(zip(*(route.findings[name].tolist() for name in ("code", "severity", "value")), strict=True))
    codes, severity = Counter(code for code, *_ in found), {code: level for code, level, _ in found}
    rest = Counter({code: many for code, many in codes.items() if code not in _TOLD})
    aside = _set_aside_of(review, route)
    inspection = Counter(route.joints["inspection"].tolist())
    untested = sum(value for code, _, value in found if code == "length-untested")
    doubts, tests_below = sum(codes[code] for code in SURVEY_CODES), codes["test-pressure-low"] + codes["test-short"]
    notes = sum(note.severity in ("act", "check") for note in review.notes_on(route))
    symbol = units.SYMBOLS[route.station_unit]
    at = {code: set(route.findings["at"][route.findings["code"] == code].tolist()) for code in _OF_READINGS}
    contradicted, unclear = at["deflection-conflict"], at["deflection-unclear"]
    told = [
        "no shots of the pipe, so these pages cannot say how it lies" if design_only(review) else "",
        _over(route),
        how_many(codes["test-failed"], "pressure test", "failed"),
        how_many(codes["restraint-missing"], "joint", "not recorded as restrained"),
        how_many(inspection["failed"], "inspection", "failed"),
        how_many(inspection["incomplete"], "" if inspection["failed"] else "inspection", "incomplete"),
        how_many(inspection["none"], "joint", "without any inspection"),
        how_many(tests_below, "finding", "of a pressure test below what is required"),
        how_many(codes["line-off"], "joint", "too far beside the design"),
        how_many(codes["grade-off"], "joint", "too far above or below the design"),
        how_many(codes["cover-short"], "joint", "under too little cover"),
        how_many(doubts, "doubt", "about the survey"),
        _least(missing, "missing from the log"),
        _perhaps(review, route),
        how_many(len(contradicted), "joint", "whose readings contradict the survey"),
        _cannot_judge(len(unclear - contradicted), route),
        how_many(codes["line-unclear"], "joint", "that the survey cannot hold against the design's line"),
        how_many(codes["grade-unclear"], "joint", "that the survey cannot hold against the design's grade"),
        how_many(codes["cover-unclear"], "joint", "whose cover the survey cannot tell"),
        how_many(codes["allowable-missing"], "joint", "without an allowable on file"),
        how_many(aside, "record", "not placed"),
        "" if has_test(route) else "no pressure test on file",
        f"{number(untested, 2)} {symbol} under no test" if untested and has_test(route) else "",
        *(_others(rest, severity, level, words) for level, words in (("act", "to act on"), ("check", "to check"))),
        how_many(notes, "thing", "about the job to confirm"),
    ]
    return [one for one in told if one]


_OF_READINGS = ("deflection-conflict", "deflection-unclear")
"""What stands in the way of a verdict where readings contradict the survey: one joint may have both."""


def _others(rest: Counter[str], severity: Mapping[str, str], level: str, words: str) -> str:
    """Count findings that have no words of their own in the sentence, and name the codes of the most frequent.

    Examples
    --------
    >>> _others(Counter({"joint-repeated": 4, "date-doubtful": 1}), dict.fromkeys(("joint-repeated", "date-doubtful"),
    ...     "check"), "check", "to check")
    '5 other findings to check (joint-repeated, date-doubtful)'
    """
    some = Counter({code: many for code, many in rest.items() if severity[code] == level})
    named = ", ".join(code for code, _ in some.most_common(_CODES)) + (", and others" if len(some) > _CODES else "")
    told = how_many(some.total(), "other finding", words)
    return f"{told} ({named})" if told else ""


_CODES = 3
"""Codes that the sentence names."""


def _over(route: Route) -> str:
    assumes = route.joints["verdict_assumes"][route.joints["verdict"] == "over"].tolist()
    some = [one for one in assumes if one]
    told = _joints_over(route)
    if not some:
        return told
    many = "" if len(assumes) == len(some) else "some only " if route.shared_turns else f"{len(some)} of them only "
    return f"{told} ({many}if {_if(some)})"


def _joints_over(route: Route) -> str:
    """Count the joints over, and say where the survey shows only that one of several is; blank where none is over."""
    over, turns = np.flatnonzero(route.joints["verdict"] == "over").tolist(), route.shared_turns
    certain = [at for at in over if at not in turns]
    if not turns:
        return how_many(len(certain), "joint", "over")
    different = set(turns.values())
    among = how_many(len({at for turn in different for at in range(turn.first, turn.last + 1)}), "joint")
    sharing = f"{among} that share {'a turn' if len(different) == 1 else 'turns'}"
    more = least_over(certain, different) - len(certain)
    if not certain:
        return f"at least {how_many(more, 'joint')} over among {sharing}"
    told = f"at least {more:,} more" if more else "perhaps more"
    return f"{how_many(len(certain), 'joint')} over, and {told} among {sharing}"


def _if(assumes: Sequence[str]) -> str:
    """Say what verdicts assume, whichever of them does."""
    words = dict.fromkeys(word for one in dict.fromkeys(assumes) for word in one.split())
    return conditions(" ".join(words))


def _deflection(route: Route) -> str:
    by, over = _verdicts(route), _over(route)
    told = [
        over if over or not by["cannot-tell"] else "none found over",
        _cannot_judge(by["cannot-tell"], route),
        how_many(by["no-allowable"], "", "without an allowable on file"),
        _within(route),
        _not_computed(route),
    ]
    return "; ".join(one for one in told if one)


def _not_computed(route: Route) -> str:
    """Count the joints of which no deflection was computed: at the ends of a route there is none."""
    where = np.flatnonzero(route.joints["verdict"] == "not-computed").tolist()
    if where == [0, len(route.joints) - 1]:
        return "2 not computed (the ends of the route)"
    return how_many(len(where), "", "not computed, such as the ends of the route")


def _within(route: Route) -> str:
    """Say how many joints are within as measured, and how many only if something holds."""
    joints = route.joints
    measured = how_many(_verdicts(route)["within"], "", "within as measured") or "none within as measured"
    assumes = joints["verdict_assumes"][joints["verdict"] == "within-assumed"].tolist()
    return "; ".join(one for one in (measured, _assumed(Counter(one or "" for one in assumes))) if one)


def _verdicts(route: Route) -> Counter[str]:
    return Counter(route.joints["verdict"].tolist())


_FEW = 5
"""Joints within only if something holds that the first screen names; the table of all joints has more of them."""


def _only_if(route: Route) -> str:
    """Name the joints that are within only if something holds, where these are few; of many, say what could be so."""
    some = route.joints.take(route.joints["verdict"] == "within-assumed")
    if len(some) > _FEW and any("one-way" in assumes.split() for assumes in some["verdict_assumes"]):
        return ". Where the pipe goes around something between two shots and back, the shots show nothing of it"
    if not 0 < len(some) <= _FEW:
        return ""
    named = [f"{joint} at {station}" for joint, station in zip(some["joint"], some["station"], strict=True)]
    return f". Within only so: joint{'s' if len(some) > 1 else ''} {', '.join(named)}"


def _assumed(many: Counter[str]) -> str:
    """Say of joints within by assumption what holds of all of them, and what else of some.

    Examples
    --------
    >>> _assumed(Counter({"shots-exact": 204, "fitting-plane shots-exact": 7}))
    '211 only if the shots are without error; 7 of these only if, besides, each bend lies in the plane that the log \
gives, or else in the one that leaves its joints least'
    >>> _assumed(Counter({"one-way": 3, "level": 2}))
    '3 only if the main curves one way between shots; 2 only if the pipe keeps its grade where no elevation was shot, \
or changes it no more than the elevations on either side show'
    """
    words = {one: one.split() for one in many}
    of_all = [word for word in next(iter(words.values()), []) if all(word in some for some in words.values())]
    if not of_all:
        return "; ".join(f"{number:,} only if {conditions(one)}" for one, number in many.most_common())
    rest = Counter({" ".join(w for w in words[one] if w not in of_all): number for one, number in many.items()})
    told = [f"{many.total():,} only if {conditions(' '.join(of_all))}"]
    told += [f"{number:,} of these only if, besides, {conditions(one)}" for one, number in rest.most_common() if one]
    return "; ".join(told)


def _evidence(review: Review, route: Route, missing: int) -> str:
    by, placed = Counter(route.joints["inspection"].tolist()), len(route.joints)
    in_gaps = _missing(review, route)
    aside = _set_aside_of(review, route)
    # A record set aside may be of a joint that no other record tells of.
    more = in_gaps or aside or _perhaps(review, route)
    expected = f"{'at least ' if more else ''}{placed + in_gaps:,} expected"
    told = [f"{by['complete']:,} complete of {how_many(placed, 'joint')} placed, of {expected}"]
    told += [
        how_many(by["incomplete"], "", "incomplete"), how_many(by["failed"], "", "failed"),
        how_many(by["none"], "", "without any inspection"), _least(missing, "missing from the log"),
        _perhaps(review, route),
        f"{how_many(aside, 'record')} of this route set aside" if aside else "no record of this route set aside",
    ]  # fmt: skip
    return "; ".join(one for one in told if one)


def _missing(review: Review, route: Route) -> int:
    """Count the joints for which there is room, at least, where lengths between joints are too long."""
    return int(review.run["counts"].get("joints_missing_at_least", {}).get(route.name, 0))


def _perhaps(review: Review, route: Route) -> str:
    """Count the places where lengths between joints are too long, and their numbers leave room for no other joint."""
    places = int(review.run["counts"].get("joints_missing_perhaps", {}).get(route.name, 0))
    return how_many(places, "place", "where a joint may be missing, or a station or a length is wrong")


def _set_aside_of(review: Review, route: Route) -> int:
    """Count the records that name a route and could not be placed."""
    return sum(name == route.name for name in review.set_aside["route"].tolist())


def _least(many: int, words: str) -> str:
    return f"at least {how_many(many, 'joint')} {words}" if many else ""


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
    of_them = f"{free} of {'its' if len(lengths) == 1 else 'their'} {how_many(joints, 'joint')} not"
    held = f"{of_them if free else 'all'} recorded as restrained"
    return f"{how_many(len(lengths), 'length')} that must be restrained: {held}"


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
        *(_by_station(review, route, vertex[1]) if surveyed else []),
        *_readings(review, route),
        _wrong(review, route),
        f"allowables: {_allowables(route, about)}",
    ]
    return capital("; ".join(told)) + "."


def _readings(review: Review, route: Route) -> list[str]:
    """Say how many deflections the readings at the joints give, and what is assumed of these."""
    by = Counter(route.joints["deflection_source"].tolist())
    alone, both = by["readings"], by["survey-and-readings"]
    if not alone and not both:
        return []
    told = [f"{alone:,} deflections by readings at the joints alone" if alone else "",
            f"{both:,} by survey and readings" if both else ""]  # fmt: skip
    assumed = [note.text for note in review.notes if note.code == "readings-taken" and "an assumption" in note.text]
    return [", ".join(filter(None, told)), *(text.partition(";")[0] for text in assumed)]


def _without_elevation(review: Review, route: Route, vertex: str) -> list[str]:
    """Say at how many shots, or corners of a line, no elevation was measured, where any is missing."""
    counts = review.run["counts"]
    missing = counts.get("shots_without_elevation", {}).get(route.name, 0)
    many = counts.get("shot_spacing", {}).get(route.name, {}).get("legs", 0) + 1
    if not missing:
        return []
    some = f"{missing:,} of {many:,} {vertex}s without a measured elevation"
    return [some if missing < many else f"no {vertex} has an elevation"]


def _by_station(review: Review, route: Route, vertex: str) -> list[str]:
    """Say that stations alone tell which shot is at which joint, where a verdict rests on it."""
    assumed = {word for words in route.joints["verdict_assumes"].tolist() for word in (words or "").split()}
    # A joint surveyed by its own number shows where the others lie, as the job may say itself.
    shown = (route.joints["position_source"] == "surveyed").any()
    shown |= bool(review.run["counts"].get("basis", {}).get("shots_at_joints"))
    if "shots-at-joints" not in assumed and ("one-way" not in assumed or shown):
        return []
    return [
        f"only the stations put the {vertex}s at joints: if the first {vertex} lies beside its joint, as at mid-pipe, "
        "the others lie as far beside theirs, and no station shows it (where the crew shot the joints themselves, say "
        "so in the job: centerline.shots_at_joints = true)"
    ]


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
        told.append(f"{sure}: at most {_at_most(most)} of {sound:,} verdicts wrong by chance, {limits}")
    if unknown:
        many = f"{unknown:,} other" if sound else f"{unknown:,}"
        told.append(f"how many of {many} verdicts are wrong is not known, as no error of what they rest on is stated")
    return "; ".join(told) or "no joint is judged over or within"


def _at_most(many: float) -> str:
    """Write an expected number in two digits, never less than it is.

    Examples
    --------
    >>> [_at_most(many) for many in (7.75, 1.4, 0.0125, 148.6)]
    ['7.8', '1.4', '0.013', '149']
    """
    digits = max(1 - int(np.floor(np.log10(many))), 0) if many > 0 else 0
    return f"{np.ceil(round(many * 10**digits, 6)) / 10**digits:.{digits}f}"


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
    told = "; ".join(f"{plain_source(source)} ({how_many(many, 'joint')})" for source, many in sources)
    own = about.get("project")
    which = f"the job's own table {own} is on file" if own else "no table of an approved submittal is on file"
    return f"{told or 'none on file'}; {which}"


def _closings(route: Route, rows: Sequence[Row]) -> str:
    """Say how many issues of a route and of the whole job are closed, and by whom; the sentence counts them all."""
    ours = [row for row in rows if row["route"] == route.name or is_note_on(row, route.name)]
    here = [row for row in ours if row["state"] != GONE]
    closed = [row for row in here if row["state"] == CLOSED]
    changed = sum(is_open(row) and bool(row["closed on"]) for row in here)
    if not closed and not changed:
        return ""
    who = Counter(row["by whom"] or "no name given" for row in closed)
    named = ", ".join(f"{many} by {name}" if name != "no name given" else f"{many} without a name"
                      for name, many in who.most_common(5))  # fmt: skip
    again = how_many(changed, "issue")
    also = f" {again} changed or came back since being closed, and count as open." if changed else ""
    return f"The list of issues has {len(closed)} of {len(here)} closed ({named}).{also}" if closed else also.strip()


def _cannot_judge(count: int, route: Route) -> str:
    """Count the joints that the survey cannot judge among all of their route; nothing for none."""
    return f"the survey cannot judge {count:,} of {how_many(len(route.joints), 'joint')}" if count else ""


def design_only(review: Review) -> bool:
    """Say whether the joints lie on a design, or a line that was drawn, and nothing was surveyed."""
    return any(note.code == "line-drawn" for note in review.notes)


def counts(route: Route) -> dict[str, Any]:
    """Count a route's joints by verdict and its findings by severity and code."""
    verdicts, severities, codes = (
        Counter(column.tolist())
        for column in (route.joints["verdict"], route.findings["severity"], route.findings["code"])
    )
    over, turns = route.over_at_least()
    return {
        "joints": len(route.joints),
        "joints_over_at_least": over,
        "turns_shared": turns,
        "joints_by_verdict": {name: verdicts[name] for name in MARKS if name in verdicts},
        "findings": len(route.findings),
        "findings_by_severity": {name: severities[name] for name in SEVERITIES if name in severities},
        "findings_by_code": dict(codes.most_common()),
        "curves": sum(len(found.first) for found in route_curves(route).values()),
    }
