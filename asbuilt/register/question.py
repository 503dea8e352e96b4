"""What is asked of a register: near a place, along a route, in an area; by date, verdict, finding or inspector."""

from __future__ import annotations

import datetime as dt
import difflib
import itertools
import json
import math
import re
import unicodedata
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from asbuilt import units
from asbuilt.checks import CHECK_KINDS
from asbuilt.errors import AsbuiltError
from asbuilt.inputs.fields import EVIDENCE_FIELDS
from asbuilt.line import station_text
from asbuilt.register import beside, places
from asbuilt.register.layout import REGISTER_DOMAINS
from asbuilt.register.marks import LATEST as LATEST_MARK
from asbuilt.register.service import LATEST
from asbuilt.schema import DOMAINS, LAYERS

DEFLECTION = (
    "verdict", "verdict_assumes", "deflection_deg", "deflection_source", "deflection_floor_deg",
    "deflection_ceiling_deg", "allowable_deg",
    "allowable_source", "turn_deg", "measured_deg", "inspection",
)  # fmt: skip
"""What is told of the state in which an earlier job left a joint."""
NEAREST = 10
"""Joints given where a place is named and no distance."""

_SIZE = re.compile(r"\s*(?:DN\s*)?([0-9]+\.?[0-9]*)\s*(in|inch|inches|\"|mm|dn|)\.?\s*", re.IGNORECASE)


@dataclass(frozen=True)
class Question:
    """A question; joints must meet every condition given."""

    near: str | None = None
    """`LAT,LON` (or with N, S, E, W behind), or `E,N` in the register's coordinates, or `E,N,EPSG` in others."""
    within: str | None = None
    """A distance with its unit: us-ft, ft or m; the register's own if none is given."""
    nearest: int | None = None
    """How many to give, nearest first."""
    routes: Sequence[str] = ()
    from_station: str | None = None
    to_station: str | None = None
    area: Path | str | None = None
    joints: Sequence[str] = ()
    """Joint numbers or joint_uids."""
    since: dt.date | None = None
    until: dt.date | None = None
    verdicts: Sequence[str] = ()
    findings: Sequence[str] = ()
    inspectors: Sequence[str] = ()
    sizes: Sequence[str] = ()
    """Nominal sizes, with their unit where the register has both: `12`, `12in`, `300mm`."""
    types: Sequence[str] = ()
    kinds: Sequence[str] = ()
    crews: Sequence[str] = ()
    jobs: Sequence[str] = ()
    """Jobs any of whose loads speaks of the joint."""
    loads: Sequence[int] = ()
    months: Sequence[str] = ()
    """Years or months in which a joint was inspected: `2026`, `2026-03`."""
    items: Sequence[str] = ()
    """Items of an inspection as the log has them: `gauge=no`, `lubricated=` for one that is blank; `inspection=failed`
    asks for the state that a joint's inspection comes to; `gasket_temperature=below 40 F` for what was recorded."""
    columns: Sequence[str] = ()
    """Columns of the contractor's log: `Lot=4711`."""
    services: Sequence[str] = ()
    tested: Sequence[str] = ()
    """Results of pressure tests that the joint was under; `untested` for those that were under none."""
    no_inspection: bool = False
    no_photo: bool = False
    unmarked: bool = False
    """Only joints with a finding that nobody marked: one of those asked for, or else any that stands."""
    over_deg: float | None = None
    """Only joints whose deflection is more than this, degrees."""
    changed_since: dt.date | None = None
    """Only joints of which something changed in the register on this day (UTC) or later."""
    accept_accuracy: str | None = None
    """How good a change of datum must be for the places and polygons asked for, like `1m`; whatever is known, if left
    out."""


def accepted(asked: Question) -> float | None:
    """Give the accuracy that is accepted of a change of datum, metres."""
    return (
        None if asked.accept_accuracy is None else places.metres(asked.accept_accuracy, "m", option="--accept-accuracy")
    )


OVER = "(coalesce(j.deflection_deg, j.deflection_floor_deg) > :over_deg OR j.measured_deg > :over_deg)"
MAY_BE_OVER = (f"(NOT coalesce({OVER}, FALSE) AND coalesce(j.deflection_deg, j.measured_deg) IS NULL "
               "AND coalesce(j.deflection_ceiling_deg > :over_deg, TRUE))")  # fmt: skip
"""What stands in place of `OVER` for joints whose deflection nothing bounds below what is asked for."""


def conditions(asked: Question, station_units: Collection[str], over: str = OVER) -> tuple[list[str], dict[str, Any]]:
    """Give what does not concern places as SQL on joints `j`, with its values.

    Parameters
    ----------
    asked : Question
    station_units : collection of str
        Units in which the routes asked for have their stations.
    over : OVER or MAY_BE_OVER
        Which joints are meant where the question asks for those deflected by more than so much.
    """
    if (asked.from_station or asked.to_station) and not asked.routes:
        raise AsbuiltError("--from, --to: a station means nothing without its route; add --route")
    if asked.since and asked.until and asked.since > asked.until:
        raise AsbuiltError(f"--since, --until: {asked.since} is later than {asked.until}; exchange the two")
    _refuse_reversed(asked, station_units)
    _check_words("verdict", asked.verdicts, DOMAINS["verdict"])
    _check_words("finding", asked.findings, DOMAINS["finding_code"])
    sql: list[str] = []
    values: dict[str, Any] = {}
    if asked.routes:
        sql.append(_along_routes(asked, station_units, values))
    if asked.verdicts:
        sql.append(_of_verdict(_marks("verdict", asked.verdicts, values)))
    if asked.joints:
        marks = _marks("joint", asked.joints, values)
        called = f"SELECT n.joint_uid FROM joint_names n WHERE n.joint IN ({marks}) AND {beside.stands('n')}"
        sql.append(f"(j.joint IN ({marks}) OR j.joint_uid IN ({marks}) OR j.joint_uid IN ({called}))")
    if asked.findings:
        sql.append(f"j.joint_uid IN (SELECT f.joint_uid FROM findings f WHERE {of_findings(asked, values)})")
    if asked.changed_since is not None:
        values["changed_since"] = asked.changed_since.isoformat()
        sql.append(f"j.joint_uid IN ({CHANGED})")
    if asked.over_deg is not None:
        values["over_deg"] = asked.over_deg
        sql.append(over)
    return sql + _of_joint(asked, values) + _with_record(asked, values), values


def _refuse_reversed(asked: Question, station_units: Collection[str]) -> None:
    """Refuse a range of stations that ends before it begins: no joint lies in it."""
    if asked.from_station is None or asked.to_station is None:
        return
    (first, of_first), (last, of_last) = (
        _station(text, station_units, option=f"--{name}")
        for name, text in (("from", asked.from_station), ("to", asked.to_station))
    )
    if first * units.factor(of_first, "m") > last * units.factor(of_last, "m") + _ROUNDED:
        told = f"{asked.from_station.strip()} is farther along than {asked.to_station.strip()}"
        raise AsbuiltError(f"--from, --to: station {told}; exchange the two")


def _along_routes(asked: Question, station_units: Collection[str], values: dict[str, Any]) -> str:
    """Match the joints of routes, between stations, by the register's names or by what another job calls them."""
    marks = _marks("route", asked.routes, values)

    def meets(row: str) -> str:
        between = [
            _of_station(station, name, compare, station_units, values, row)
            for name, station, compare in (("from", asked.from_station, ">="), ("to", asked.to_station, "<="))
            if station is not None
        ]
        return " AND ".join([f"{row}.route IN ({marks})", *between])

    # One list of joints, as with an OR no index of routes would be looked into.
    return (
        f"j.fid IN (SELECT r.fid FROM joints r WHERE {meets('r')} UNION ALL SELECT r.fid FROM joint_names n "
        f"JOIN joints r ON r.joint_uid = n.joint_uid WHERE {meets('n')} AND {beside.stands('n')})"
    )


def _of_joint(asked: Question, values: dict[str, Any]) -> list[str]:
    """Match what a joint is, which job and load speak of it, and what is or is not known of it."""
    sql: list[str] = []
    if asked.sizes:
        sql.append(f"({' OR '.join(_of_size(one, nr, values) for nr, one in enumerate(asked.sizes))})")
    for name, wanted, column in (("type", asked.types, "joint_type"), ("kind", asked.kinds, "kind")):
        if wanted:
            sql.append(f"lower(j.{column}) IN ({_marks(name, _in_small_letters(wanted), values)})")
    if asked.jobs:
        marks = _marks("job", asked.jobs, values)
        of = f"SELECT l.load_id FROM loads l WHERE l.state = 'standing' AND l.job IN ({marks})"
        sql.append(_spoken_of(of))
    if asked.loads:
        sql.append(_spoken_of(", ".join(str(int(one)) for one in asked.loads)))
    if asked.services:
        _check_words("service", asked.services, REGISTER_DOMAINS["service"])
        marks = _marks("service", asked.services, values)
        state = f"(SELECT o.service FROM ({LATEST}) o WHERE o.joint_uid = j.joint_uid)"
        sql.append(f"coalesce({state}, 'in-service') IN ({marks})")
    states = inspection_states(asked)
    if states:
        sql.append(f"j.inspection IN ({_marks('state', states, values)})")
    if asked.tested:
        sql.append(_of_tests(asked.tested, values))
    if asked.no_inspection:
        sql.append("NOT EXISTS (SELECT 1 FROM inspections i WHERE i.joint_uid = j.joint_uid AND i.state = 'standing' "
                   "AND i.inspected_on IS NOT NULL)")  # fmt: skip
    if asked.no_photo:
        sql.append("NOT EXISTS (SELECT 1 FROM inspections i WHERE i.joint_uid = j.joint_uid AND i.state = 'standing' "
                   "AND i.photo IS NOT NULL)")  # fmt: skip
    if asked.unmarked and not asked.findings:
        sql.append(f"EXISTS (SELECT 1 FROM findings f WHERE f.joint_uid = j.joint_uid AND {_UNMARKED})")
    return sql


_UNMARKED = f"f.state = 'standing' AND {LATEST_MARK.format(finding='f')} = 'open'"
"""Whether a finding `f` stands and nobody marked it."""


def _of_tests(results: Sequence[str], values: dict[str, Any]) -> str:
    _check_words("tested", results, DOMAINS["test_result"])
    held = [one for one in results if one != beside.UNTESTED]
    sql = [beside.of_tests(_marks("tested", held, values))] if held else []
    if len(held) < len(results):
        sql.append(f"NOT {beside.of_tests(None)}")
    return f"({' OR '.join(sql)})"


CHANGED = (
    "SELECT c.joint_uid FROM joints c JOIN loads l ON l.load_id = c.load_id WHERE l.loaded_at >= :changed_since "
    "UNION SELECT i.joint_uid FROM inspections i JOIN loads l ON l.load_id = i.load_id WHERE i.state = 'standing' "
    "AND l.loaded_at >= :changed_since "
    "UNION SELECT e.joint_uid FROM joints_earlier e JOIN loads l ON l.load_id = e.load_id "
    "WHERE l.undone_at >= :changed_since "
    "UNION SELECT f.joint_uid FROM findings f JOIN finding_marks m ON m.finding_uid = f.finding_uid "
    "WHERE m.marked_at >= :changed_since AND f.joint_uid IS NOT NULL "
    "UNION SELECT s.joint_uid FROM joint_service s WHERE s.noted_at >= :changed_since "
    "UNION SELECT d.register_uid FROM settled d WHERE d.settled_at >= :changed_since AND d.register_uid IS NOT NULL"
)
"""Joints of which something changed since a day: they came, were corrected, marked, replaced, settled, or a load that
spoke of them was undone."""


def _spoken_of(loads: str) -> str:
    """Match joints of which a load speaks: by its state now or before, or by a record."""
    return (
        f"(j.load_id IN ({loads}) OR j.joint_uid IN (SELECT e.joint_uid FROM joints_earlier e WHERE e.load_id IN "
        f"({loads})) OR j.joint_uid IN (SELECT i.joint_uid FROM inspections i WHERE i.load_id IN ({loads})))"
    )


def size_of(text: str) -> tuple[float, str]:
    """Read a nominal size and its unit, which is empty where none is said.

    Examples
    --------
    >>> size_of("12in"), size_of("DN 300"), size_of("8")
    ((12.0, 'in'), (300.0, 'mm'), (8.0, ''))
    """
    read = _SIZE.fullmatch(text)
    if read is None:
        raise AsbuiltError(f"--size: {text!r} is not a nominal size; write it like 12, 12in or 300mm")
    unit = {"": "", '"': "in", "in": "in", "inch": "in", "inches": "in", "mm": "mm", "dn": "mm"}[read[2].lower()]
    return float(read[1]), "mm" if not unit and text.strip().lower().startswith("dn") else unit


def _of_size(text: str, number: int, values: dict[str, Any]) -> str:
    values[f"size_{number}"], unit = size_of(text)
    of = f" AND (j.size_unit = '{unit}' OR j.size_unit IS NULL)" if unit else ""
    return f"(j.size = :size_{number}{of})"


def _check_words(option: str, given: Sequence[str], known: Collection[str]) -> None:
    """Refuse a word that is none of those known, and suggest what may be meant."""
    for one in given:
        if one not in known:
            raise AsbuiltError(f"--{option}: {one!r} is not one of {', '.join(known)}{meant(one, known)}")


def meant(word: str, known: Collection[str]) -> str:
    """Suggest the names that a misspelt one is near to; nothing where none is.

    Examples
    --------
    >>> meant("R. Vence", ["R. Vance", "M. Sol"]), meant("Q", ["R. Vance"])
    ("; did you mean 'R. Vance'?", '')
    """
    by_lower = {one.lower(): one for one in known}
    near = difflib.get_close_matches(word.lower(), list(by_lower), n=3, cutoff=0.6)
    return f"; did you mean {' or '.join(repr(by_lower[one]) for one in near)}?" if near else ""


_WITH_UNIT = re.compile(r"(.*[0-9])\s*(us-ft|ft|feet|foot|'|m|metres|meters)\.?", re.IGNORECASE)
_HUNDREDS, _THOUSANDS = re.compile(r"\+\s*[0-9]{2}(\.|\D|$)"), re.compile(r"\+\s*[0-9]{3}(\.|\D|$)")
_ROUNDED = 0.005
"""Half of the last decimal of a station: one written in the other unit is rounded by so much."""


def _of_station(
    text: str, name: str, compare: str, station_units: Collection[str], values: dict[str, Any], row: str
) -> str:
    """Compare the station of a row with one, in every unit that the route's jobs have."""
    value, unit = _station(text, station_units, option=f"--{name}")
    parts = []
    for one in sorted(station_units) or [unit]:
        key = f"{name}_station_{one.replace('-', '_')}"
        slack = 0.0 if one == unit else _ROUNDED
        values[key] = value * units.factor(unit, one) + (-slack if compare == ">=" else slack)
        of = f"{row}.station_unit = '{one}' AND " if station_units else ""
        parts.append(f"({of}{row}.station_number {compare} :{key})")
    return f"({' OR '.join(parts)})"


def stations_words(asked: Question, station_units: Collection[str]) -> str | None:
    """Say how the stations asked for are read, as one without a unit is read by what else is asked.

    Examples
    --------
    >>> stations_words(Question(routes=("M",), from_station="10+50", to_station="3500 ft"), {"m"})
    'from station 10+50, read as 1050 m; to station 3500 ft, read as 3500 ft'
    >>> stations_words(Question(routes=("A", "M"), from_station="10+50"), {"m", "us-ft"})
    'from station 10+50, read as 1050 ft'
    """
    told = []
    for name, text in (("from", asked.from_station), ("to", asked.to_station)):
        if text is not None:
            value, unit = _station(text, station_units, option=f"--{name}")
            told.append(f"{name} station {text.strip()}, read as {value:.10g} {units.SYMBOLS[unit]}")
    return "; ".join(told) or None


def _station(text: str, station_units: Collection[str], *, option: str) -> tuple[float, str]:
    """Read a station that is asked for, and its unit."""
    with_unit = _WITH_UNIT.fullmatch(text.strip())
    value = station_text.parse_station(with_unit[1] if with_unit else text, key=option)
    return value, station_unit(text, station_units, option=option)


def station_unit(text: str, among: Collection[str], *, option: str) -> str:
    """Tell the unit of a station that is asked for: by its words, by its digits behind the plus, or as the route's.

    Raises
    ------
    AsbuiltError
        When the route has stations in feet and in metres, and nothing tells which is meant.

    Examples
    --------
    >>> station_unit("12+00", {"us-ft", "m"}, option="--from"), station_unit("0+900", {"us-ft", "m"}, option="--from")
    ('us-ft', 'm')
    >>> station_unit("900", {"m"}, option="--from"), station_unit("900 ft", {"us-ft", "m"}, option="--from")
    ('m', 'us-ft')
    """
    with_unit = _WITH_UNIT.fullmatch(text.strip())
    feet = "ft" if "ft" in among and "us-ft" not in among else "us-ft"
    if with_unit:
        said = with_unit[2].lower()
        return "m" if said.startswith("m") else said if said == "us-ft" else feet
    if _HUNDREDS.search(text) and (feet in among or not among):
        return feet
    if _THOUSANDS.search(text) and ("m" in among or not among):
        return "m"
    if len(set(among)) > 1 and "m" in among:
        raise AsbuiltError(
            f"{option}: {text!r} may be feet or metres, as the route's jobs have both; write 1234.5 ft or 376.3 m"
        )
    return next(iter(sorted(among)), feet)


_OF_ANOTHER_JOB = (
    "FROM loads p JOIN joints_earlier e ON e.joint_uid = n.joint_uid JOIN loads l ON l.load_id = e.load_id "
    "WHERE p.load_id = n.load_id AND l.state = 'standing' AND l.job <> p.job AND NOT EXISTS "
    "(SELECT 1 FROM joints_earlier x JOIN loads y ON y.load_id = x.load_id "
    "WHERE x.joint_uid = e.joint_uid AND x.fid > e.fid AND y.job = l.job AND y.state = 'standing')"
)
"""The last state `e` of a joint `n` by each job other than that of its present state."""


def _of_verdict(marks: str) -> str:
    """Match the present verdict; where that settles nothing, also the last one of another job."""
    # One list of joints, as with an OR beside it no index of verdicts would be looked into.
    return (
        f"j.fid IN (SELECT v.fid FROM joints v WHERE v.verdict IN ({marks}) UNION ALL "
        "SELECT n.fid FROM joints_earlier g JOIN joints n ON n.joint_uid = g.joint_uid "
        f"WHERE n.verdict NOT IN ('within', 'over') AND g.verdict IN ({marks}) "
        "AND coalesce(g.deflection_load_id, g.load_id) = g.load_id "
        f"AND EXISTS (SELECT 1 {_OF_ANOTHER_JOB} AND e.fid = g.fid))"
    )


def of_findings(asked: Question, values: dict[str, Any]) -> str:
    """Match the findings `f` that are asked for: those that stand, and those in the last state of another job.

    Of these only such as nobody marked, where the question asks for them.
    """
    is_open = f" AND {LATEST_MARK.format(finding='f')} = 'open'" if asked.unmarked else ""
    return (
        f"f.code IN ({_marks('finding', asked.findings, values)}) AND (f.state = 'standing' "
        "OR EXISTS (SELECT 1 FROM joints n WHERE n.joint_uid = f.joint_uid AND EXISTS "
        f"(SELECT 1 {_OF_ANOTHER_JOB} AND e.load_id = f.load_id))){is_open}"
    )


def _with_record(asked: Question, values: dict[str, Any]) -> list[str]:
    """Match joints one of whose records meets all that is asked of records."""
    of_record = of_records(asked, values)
    if not of_record:
        return []
    if asked.near is None and asked.area is None:
        # Without a place the records that meet it lead to the joints; with one, the joints there to their records.
        return [
            "j.joint_uid IN (SELECT i.joint_uid FROM inspections i WHERE i.state = 'standing' AND "
            f"{' AND '.join(of_record)})"
        ]
    return [
        "EXISTS (SELECT 1 FROM inspections i WHERE i.joint_uid = j.joint_uid AND i.state = 'standing' AND "
        f"{' AND '.join(of_record)})"
    ]


def of_records(asked: Question, values: dict[str, Any]) -> list[str]:
    """Give what is asked of records as SQL on inspections `i`; its values are added to those given."""
    of_record = []
    for name, day, compare in (("since", asked.since, ">="), ("until", asked.until, "<=")):
        if day is not None:
            values[name] = day.isoformat()
            of_record.append(f"i.inspected_on {compare} :{name}")
    if asked.inspectors:
        marks = _marks("inspector", _in_small_letters(asked.inspectors), values)
        of_record.append(f"lower(i.inspector) IN ({marks})")
    if asked.crews:
        of_record.append(f"lower(i.crew) IN ({_marks('crew', _in_small_letters(asked.crews), values)})")
    if asked.months:
        each = []
        for number, month in enumerate(asked.months):
            values[f"first_{number}"], values[f"after_{number}"] = _month(month)
            each.append(f"(i.inspected_on >= :first_{number} AND i.inspected_on < :after_{number})")
        of_record.append(f"({' OR '.join(each)})")
    items = [one for one in asked.items if _item(one)[0] != "inspection"]
    of_record += [_of_item(one, number, values) for number, one in enumerate(items)]
    of_record += [_of_column(one, number, values) for number, one in enumerate(asked.columns)]
    return of_record + (of_its_inspection(asked, values) if of_record else [])


def _its_record(day: str) -> str:
    """Tell whether a record `i` is the one that the job of a load `p` judged: the latest of its joint in that job.

    Where another job had brought the same records, which are not entered twice, it is the one of the judged day.
    """
    of_job = (
        "FROM inspections x JOIN loads y ON y.load_id = x.load_id WHERE x.joint_uid = i.joint_uid "
        "AND x.state = 'standing' AND y.job = p.job"
    )
    later = "x.inspected_on > i.inspected_on OR (i.inspected_on IS NULL AND x.inspected_on IS NOT NULL)"
    return (
        f"((EXISTS (SELECT 1 FROM loads q WHERE q.load_id = i.load_id AND q.job = p.job) "
        f"AND NOT EXISTS (SELECT 1 {of_job} AND ({later}))) OR (NOT EXISTS (SELECT 1 {of_job}) AND {day}))"
    )


def _same_day(state: str) -> str:
    return f"({state}.inspected_on = i.inspected_on OR ({state}.inspected_on IS NULL AND i.inspected_on IS NULL))"


_DAY_FOUND = " OR ".join(
    f"EXISTS (SELECT 1 FROM {table} s WHERE s.joint_uid = i.joint_uid AND s.load_id = f.load_id AND {_same_day('s')})"
    for table in ("joints", "joints_earlier")
)
"""Whether a record `i` is of the day of the inspection that the load of a finding `f` judged."""


def of_its_inspection(asked: Question, values: dict[str, Any]) -> list[str]:
    """Match records `i` that the states of inspections and the findings about inspections asked for are from.

    A crew that laid a joint which passed did not fail it because another crew's record years later did, nor is it that
    crew's finding which nobody marked.
    """
    own = []
    if inspection_states(asked):
        own.append(
            "EXISTS (SELECT 1 FROM joints s JOIN loads p ON p.load_id = coalesce(s.inspection_load_id, s.load_id) "
            f"WHERE s.joint_uid = i.joint_uid AND {_its_record(_same_day('s'))})"
        )
    wanted = asked.findings or (CHECK_KINDS if asked.unmarked else ())
    about = [code for code in wanted if CHECK_KINDS[code].about == "inspection"]
    if about:
        which = of_findings(asked, values) if asked.findings else _UNMARKED
        own.append(
            "EXISTS (SELECT 1 FROM findings f JOIN loads p ON p.load_id = f.load_id "
            f"WHERE f.joint_uid = i.joint_uid AND {which} "
            f"AND (f.code NOT IN ({_marks('about', about, values)}) OR {_its_record(f'({_DAY_FOUND})')}))"
        )
    return own


def _month(text: str) -> tuple[str, str]:
    """Give the first day of a year or month, and the first after it.

    Examples
    --------
    >>> _month("2026"), _month("2026-12")
    (('2026-01-01', '2027-01-01'), ('2026-12-01', '2027-01-01'))
    """
    read = re.fullmatch(r"([0-9]{4})(?:-(0[1-9]|1[0-2]))?", text.strip())
    if read is None:
        raise AsbuiltError(f"--month: {text!r} is neither a year nor a month; write it like 2026 or 2026-03")
    year, month = int(read[1]), int(read[2] or 12)
    after = f"{year + 1}-01-01" if month == 12 else f"{year}-{month + 1:02d}-01"
    return f"{year}-{read[2] or '01'}-01", after


ITEMS = tuple(name for name, about in LAYERS["inspections"].columns.items()
              if about.domain is not None or about.kind == "text")  # fmt: skip
"""Columns of an inspection record that are texts."""


_INSPECTED = ("inspected_on", "inspector", "crew", "photo", "remarks", *EVIDENCE_FIELDS)
SAYS = f"coalesce({', '.join(f'CAST(i.{name} AS varchar(40))' for name in _INSPECTED)}) IS NOT NULL"
"""Whether a record `i` says anything of an inspection, as SQL: those of a survey do not."""
OF_AN_INSPECTION = (
    f"({SAYS} OR EXISTS (SELECT 1 FROM joints s WHERE s.joint_uid = i.joint_uid "
    "AND coalesce(s.inspection_load_id, s.load_id) = i.load_id))"
)
"""The same, or whether it is all that there is of the joint's inspection: what another job's survey did not inspect is
not blank."""


def _item(text: str) -> tuple[str, str, str]:
    """Take an item apart: its name, how it is compared, and its value; a word may stand for the comparison.

    Examples
    --------
    >>> _item("gauge=no"), _item("gasket temperature=below 40 F"), _item("gasket_temperature>=4C")
    (('gauge', '=', 'no'), ('gasket_temperature', '<', '40 F'), ('gasket_temperature', '>=', '4C'))
    >>> _item("gauge")
    ('gauge', '', '')
    """
    read = _COMPARED.fullmatch(text.strip())
    if read is None:
        return text.strip().replace(" ", "_").replace("-", "_"), "", ""
    compare, value = read[2], read[3]
    worded = _WORDED.fullmatch(value) if compare == "=" else None
    if worded is not None:
        compare, value = _COMPARISONS[worded[1].lower()], worded[2]
    return read[1].replace(" ", "_").replace("-", "_"), compare, value


_COMPARED = re.compile(r"([^=<>]+?)\s*(<=|>=|=|<|>)\s*(.*)", re.DOTALL)
_COMPARISONS = {"below": "<", "above": ">", "at most": "<=", "at least": ">=",
                **{sign: sign for sign in ("<=", ">=", "<", ">")}}  # fmt: skip
_WORDED = re.compile(rf"({'|'.join(_COMPARISONS)})\s*([-+\d.].*)", re.IGNORECASE)
TEMPERATURE = "gasket_temperature"
"""What is recorded in one unit, degrees F, whatever unit the job has; other readings are in the unit of their job."""
_DEGREES = re.compile(r"([-+]?\d+(?:\.\d*)?|[-+]?\.\d+)\s*(?:°|º|deg(?:rees)?\.?)?\s*([FC])", re.IGNORECASE)


def temperature_f(text: str) -> float:
    """Read a temperature that is asked for, with its unit, as degrees F.

    Raises
    ------
    ValueError
        When it is none, or has no unit.

    Examples
    --------
    >>> temperature_f("40 F"), temperature_f("4.5 degC"), temperature_f("-5 °C")
    (40.0, 40.1, 23.0)
    """
    read = _DEGREES.fullmatch(text.strip())
    if read is None:
        raise ValueError(f"{text[:100]!r} is not a temperature with its unit; write it like 40 F or 4.5 C")
    degrees = float(read[1])
    return degrees if read[2].upper() == "F" else round(degrees * 9 / 5 + 32, 6)


def inspection_states(asked: Question) -> list[str]:
    """Give the states of the inspection as a whole that are asked for, which is a joint's and no record's.

    Examples
    --------
    >>> inspection_states(Question(items=("inspection=failed", "gauge=no")))
    ['failed']
    """
    states = [value.lower() for name, _, value in map(_item, asked.items) if name == "inspection"]
    _check_words("item inspection=", states, DOMAINS["inspection"])
    return states


def _of_item(text: str, number: int, values: dict[str, Any]) -> str:
    name, compare, value = _item(text)
    if name == TEMPERATURE and compare and (value or compare == "="):
        return _of_temperature(compare, value, number, values)
    about = LAYERS["inspections"].columns.get(name)
    if name != TEMPERATURE and about is not None and about.kind == "number":
        raise AsbuiltError(
            f"--item: {text!r}: each job has {name} in a unit of its own, so it cannot be asked for over all of them; "
            "ask for the column of one job's log by --column"
        )
    if compare != "=" or name not in ITEMS:
        said = meant(name, (*ITEMS, TEMPERATURE))
        raise AsbuiltError(
            f"--item: {text!r} is not an item and its value, like gauge=no, lubricated= or "
            f"'{TEMPERATURE}=below 40 F'{said or '; asbuilt info names the items'}"
        )
    if not value:
        return f'(i."{name}" IS NULL AND {OF_AN_INSPECTION})'
    return f'lower(i."{name}") IN ({_marks(f"item_{number}", _in_small_letters([value]), values)})'


def _of_temperature(compare: str, value: str, number: int, values: dict[str, Any]) -> str:
    """Match records by the temperature of the gasket."""
    if not value:
        return f"(i.{TEMPERATURE} IS NULL AND {OF_AN_INSPECTION})"
    try:
        values[f"item_{number}"] = temperature_f(value)
    except ValueError as error:
        raise AsbuiltError(f"--item: {TEMPERATURE}: {error}") from None
    return f"i.{TEMPERATURE} {compare} :item_{number}"


def _of_column(text: str, number: int, values: dict[str, Any]) -> str:
    """Match a cell of the log's own row, which is kept as JSON."""
    name, equals, value = (part.strip() for part in text.partition("="))
    if not equals or not name:
        raise AsbuiltError(f"--column: {text!r} is not a column of the log and its value, like Lot=4711")
    if not value:
        return _of_blank_column(name, number, values)
    cell = json.dumps({name: value}, ensure_ascii=False)[1:-1]
    # The text of the row holds the cell as it was written; % and _ stand for themselves.
    each = []
    for way, text in enumerate(_in_small_letters([cell])):
        escaped = text.replace("!", "!!").replace("%", "!%").replace("_", "!_")
        values[f"column_{number}_{way}"] = f"%{escaped}%"
        each.append(f"lower(i.original) LIKE :column_{number}_{way} ESCAPE '!'")
    return f"({' OR '.join(each)})"


def _of_blank_column(name: str, number: int, values: dict[str, Any]) -> str:
    """Match rows that have nothing in a column, or not the column: cells are texts, and blank ones may be left out."""
    each = []
    for way, key in enumerate(_in_small_letters([json.dumps(name, ensure_ascii=False)])):
        escaped = key.replace("!", "!!").replace("%", "!%").replace("_", "!_")
        values[f"cell_{number}_{way}"], values[f"blank_{number}_{way}"] = f'%{escaped}: "%', f'{key}: ""'
        row = f"replace(lower(i.original), :blank_{number}_{way}, '')"
        each.append(f"(i.original IS NULL OR {row} NOT LIKE :cell_{number}_{way} ESCAPE '!')")
    return f"({' AND '.join(each)} AND {OF_AN_INSPECTION})"


_MOST_WAYS = 64
"""Ways of writing a word that are tried at most."""


def small(name: str) -> str:
    """Write a name in small letters, each letter as one, as `--crew` takes names that differ in capitals alone for one.

    Examples
    --------
    >>> small("ÑANDÚ") == small("ñandú"), small("İNAN"), small("STRASSE") == small("Straße")
    (True, 'inan', False)
    >>> small("Cafe\u0301") == small("CAFÉ")
    True
    """
    return "".join(letter.lower()[0] for letter in unicodedata.normalize("NFC", name))


def _in_small_letters(words: Sequence[str]) -> list[str]:
    """Write words in small letters as either store does: SQLite leaves letters beyond ASCII as they are, each as it is.

    A word with so many of them that there are too many ways is written in those in which people write names.

    Examples
    --------
    >>> _in_small_letters(["Élodie R."])
    ['élodie r.', 'Élodie r.', 'e\u0301lodie r.']
    >>> _in_small_letters(["иван Иванов"])
    ['иван Иванов', 'иван иванов', 'ИВАН ИВАНОВ', 'Иван Иванов']
    """
    # An accent may be a letter's, or stand behind it, as files from some systems have it.
    forms = [unicodedata.normalize(form, word) for word in words for form in ("NFC", "NFD")]
    return list(dict.fromkeys(way for form in dict.fromkeys([*words, *forms]) for way in _ways(form)))


def _ways(word: str) -> Iterable[str]:
    ways = [[letter.lower()] if letter.isascii() else _cases(letter) for letter in word]
    if math.prod(map(len, ways)) <= _MOST_WAYS:
        return map("".join, itertools.product(*ways))
    spelt = (word, word.lower(), word.upper(), word.title())
    return ("".join(letter.lower() if letter.isascii() else letter for letter in one) for one in spelt)


def _cases(letter: str) -> list[str]:
    """Give a letter as small, an İ without the dot that stands over it, and as capital, where that is one letter."""
    return list(dict.fromkeys(one for one in (letter.lower()[0], letter.upper(), letter) if len(one) == 1))


def _marks(name: str, wanted: Sequence[str], values: dict[str, Any]) -> str:
    keys = [f"{name}_{number}" for number in range(len(wanted))]
    values.update(zip(keys, wanted, strict=True))
    return ", ".join(f":{key}" for key in keys)
