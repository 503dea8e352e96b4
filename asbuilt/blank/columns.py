"""What a joint's row of a blank log holds: columns with units, choices and limits, as the job and the checks have them.

The columns come from the table of checks and the fields of a record, so a new check brings its column along.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Literal, NamedTuple

from asbuilt import checks, units
from asbuilt.errors import JobFileError
from asbuilt.inputs.allowables import read_allowables
from asbuilt.inputs.fields import EVIDENCE_FIELDS, NUMBER_FIELDS, READING_FIELDS
from asbuilt.inputs.headers import unnamed
from asbuilt.inputs.values import USUAL_BENDS
from asbuilt.judging.found_in_inspections import FT_LB_IN_N_M, bolt_torques
from asbuilt.judging.pipes import SPACING_TOLERANCE_M
from asbuilt.keys.fields import FALLBACK_REQUIRED, GAP_FIELDS, GAUGE_FIELDS, RECORD_FIELDS
from asbuilt.line.station_text import EXAMPLES
from asbuilt.schema import LAYERS
from asbuilt.vocabulary import JOINT_TYPES, KINDS, YES_NO_FIELDS

if TYPE_CHECKING:
    from collections.abc import Iterable

    from asbuilt.blank.spans import Span
    from asbuilt.job import Job
    from asbuilt.line.stationing import Form

Kind = Literal["text", "long text", "number", "reading", "station", "date", "yes or no", "choice", "photo"]
Of = Literal["value", "date", "mean", "spread", "size", "route"]

GROUPS = ("Where", "What was laid", "Making the joint", "Readings around the joint", "Record")
_WHERE = ("route", "joint", "station", "offset", "easting", "northing", "elevation")
_LAID = (
    "kind", "size", "outside_diameter", "joint_type", "pipe_class", "laid_length", "cut", "restrained", "bend_angle",
    "bend_plane",
)  # fmt: skip
_RECORD = ("inspected_on", "inspector", "crew", "remarks", "photo")
_EVERY_LOG = (
    "route", "joint", "station", "kind", "size", "joint_type", "laid_length", "cut", "restrained", "bend_angle",
    "bend_plane", "inspected_on", "inspector", "remarks", "photo",
)  # fmt: skip
_IF_ASKED = ("offset", "easting", "northing", "elevation")
"""What checks look at where a log has it, but no crew measures: in the log where the job maps or requires it."""
_QUARTERS = (12, 3, 6, 9)
"""Hours at which a joint is read all around, where the job names no others."""
_PLANES = ("horizontal", "vertical", "left", "right", "up", "down", "rolled")
_HOW = {
    "route": "The route, main or line, that the joint is on.",
    "size": "Nominal size of the pipe.",
    "joint_type": "How the joint is made.",
    "station": "Station of the joint: the face of the bell.",
    "joint": "Number of the joint, each once; a joint laid again keeps its number, with the new date.",
    "kind": "What was laid from this joint.",
    "laid_length": "Length of the pipe as laid; of a cut pipe, what was left.",
    "bend_plane": "Which way the bend turns, looking ahead; or its roll in degrees, clockwise from the top.",
    "gasket_temperature": "Temperature of the gasket when it was fitted.",
    "bolt_torque": "Torque of the bolts of a mechanical joint.",
    "photo": "File names of the photos, separated by semicolons.",
    "remarks": "What is out of the ordinary, in your own words.",
}
"""What the crew is told of a field, where the schema's words are for readers of the layers."""


class Limit(NamedTuple):
    """What an entry is held against; one outside is asked about, never refused: a log says what was found."""

    of: Of
    """What is held: the value, a date, mean or spread of several fields, or the value by size or by route."""
    says: str
    least: float | str | None = None
    most: float | str | None = None
    fields: tuple[str, ...] = ()
    """The fields that are taken together."""
    by: tuple[tuple[float | str, float, float], ...] = ()
    """Size or route, least and most."""


class Column(NamedTuple):
    """A column of a blank log."""

    field: str
    heading: str
    """As it stands above the column: the reader knows it again."""
    title: str
    unit: str
    kind: Kind
    hint: str
    checked: tuple[str, ...]
    """What asbuilt checks with it, in the words of the checks."""
    choices: tuple[str, ...] = ()
    closed: bool = False
    """Whether another value than the choices would not be understood."""
    limit: Limit | None = None
    required: tuple[str, ...] = ()
    """Joint families in which the job requires it; "*" stands for all others."""

    @property
    def group(self) -> str:
        """The part of the work that it belongs to: one of `GROUPS`."""
        if self.field in _WHERE:
            return GROUPS[0]
        if self.field in _LAID:
            return GROUPS[1]
        if self.field in READING_FIELDS:
            return GROUPS[3]
        return GROUPS[4] if self.field in _RECORD else GROUPS[2]


def columns(job: Job, spans: tuple[Span, ...], form: Form, *, one_route: bool) -> tuple[Column, ...]:
    """Give the columns of a job's blank log, in the order of the fields of a record.

    Parameters
    ----------
    job : Job
    spans : tuple of Span
        The routes that the log is for.
    form : how stations are written
    one_route : whether the line has one route, so that a log need not name it

    Returns
    -------
    tuple of Column

    Raises
    ------
    JobFileError
        When two columns would have one heading.
    """
    fields = _fields(job, one_route=one_route)
    made = tuple(_column(job, field, fields, spans, form) for field in fields)
    seen: dict[str, str] = {}
    for one in made:
        other = seen.setdefault(one.heading.casefold(), one.field)
        if other != one.field:
            raise JobFileError(
                f"{job.source}: records.columns: {one.heading!r} would head the columns of {other} and {one.field}; "
                "name another column for one of them"
            )
    return made


def _fields(job: Job, *, one_route: bool) -> list[str]:
    required = {field for fields in job.inspection.required_by_family().values() for field in fields}
    asked = required | set(job.records.columns)
    looked_at = {field for kind in checks.KINDS.values() for field in kind.fields}
    wanted = {*_EVERY_LOG, *(field for field in EVIDENCE_FIELDS if field not in READING_FIELDS)}
    wanted |= looked_at - set(READING_FIELDS) - set(_IF_ASKED)
    inspection = job.inspection
    if inspection.insertion_band is not None or inspection.sigma_reading is not None:
        wanted |= _around(GAP_FIELDS, asked)
    if inspection.gauge_spread is not None:
        wanted |= _around(GAUGE_FIELDS, asked)
    if one_route and "route" not in asked:
        wanted.discard("route")
    wanted |= asked
    if job.records.station_from == "laid_length":
        # Such a log has lengths in place of stations, and is refused with both.
        wanted = (wanted | {"laid_length"}) - {"station"}
    return _placed([field for field in RECORD_FIELDS if field in wanted - set(job.records.fixed)], job)


def _around(fields: Iterable[str], asked: set[str]) -> set[str]:
    """Give the readings around a joint: at the hours that the job names, else at the quarters."""
    named = asked.intersection(fields)
    return named or {field for field in fields if int(field.rpartition("_")[2]) in _QUARTERS}


def _placed(fields: list[str], job: Job) -> list[str]:
    """Put the fields whose columns the job gives by number where it has them."""
    numbers = {number: field for field, number in job.records.columns.items() if isinstance(number, int)}
    others = iter([field for field in fields if field not in numbers.values()])
    beyond = [f"records.columns.{field}" for number, field in numbers.items() if number > len(fields)]
    if beyond:
        raise JobFileError(
            f"{job.source}: {beyond[0]}: a blank log of this job has {len(fields)} columns; give the column's name"
        )
    return [numbers[at] if at in numbers else next(others) for at in range(1, len(fields) + 1)]


def _column(job: Job, field: str, fields: list[str], spans: tuple[Span, ...], form: Form) -> Column:
    info = LAYERS["inspections"].columns[field]
    title, unit = re.sub(r"\s*\(.*\)$", "", info.title), _unit(job, field)
    # The reader knows readings by field and hour: "Gap 12".
    name = field.replace("_", " ").capitalize() if field in READING_FIELDS else title
    mapped = job.records.columns.get(field)
    mapped = mapped[0] if isinstance(mapped, tuple) else mapped
    example = f"as {EXAMPLES[form]}" if field == "station" and form != "decimal" else ""
    told = ", ".join(filter(None, (unit, example)))
    choices, closed = _choices(job, field, spans)
    words = info.description.format(station_unit=unit, reading_unit=unit, unit=unit)
    families = required_fields(job)
    return Column(
        field=field,
        # A column that the log left unnamed goes by its place there, which is no heading.
        heading=mapped if isinstance(mapped, str) and not unnamed(mapped) else f"{name} ({told})" if told else name,
        title=title,
        unit=told,
        kind=_kind(field, choices),
        hint=_HOW.get(field, words),
        checked=tuple(dict.fromkeys(f"{one.meaning}." for one in checks.KINDS.values() if field in one.fields)),
        choices=choices,
        closed=closed,
        limit=_limit(job, field, fields, spans),
        required=tuple(family for family, needed in families.items() if field in needed),
    )


def _unit(job: Job, field: str) -> str:
    records = job.records
    if field in READING_FIELDS:
        return records.readings_in
    return {
        "station": units.SYMBOLS[records.station_unit],
        "offset": units.SYMBOLS[records.station_unit],
        "laid_length": units.SYMBOLS[records.station_unit],
        "size": records.sizes_in,
        "outside_diameter": records.sizes_in,
        "gasket_temperature": records.temperatures_in,
        "bolt_torque": records.torque_unit,
        "bend_angle": "deg",
    }.get(field, "")


def _kind(field: str, choices: tuple[str, ...]) -> Kind:
    if field in YES_NO_FIELDS:
        return "yes or no"
    if choices:
        return "choice"
    if field in READING_FIELDS:
        return "reading"
    if field in NUMBER_FIELDS or field in ("size", "gasket_temperature", "bend_angle"):
        return "number"
    named: dict[str, Kind] = {"station": "station", "inspected_on": "date", "remarks": "long text", "photo": "photo"}
    return named.get(field, "text")


def _choices(job: Job, field: str, spans: tuple[Span, ...]) -> tuple[tuple[str, ...], bool]:
    """Give the values to choose from, and whether no other can be right."""
    if field in YES_NO_FIELDS:
        return ("yes", "no"), True
    if field == "route":
        return tuple(one.name for one in spans), bool(spans)
    if field == "kind":
        return tuple(KINDS), False
    if field == "bend_angle":
        return tuple(f"{angle:g}" for angle in sorted(USUAL_BENDS, reverse=True)), False
    if field == "bend_plane":
        return _PLANES, False
    if field in ("size", "joint_type"):
        rows = read_allowables(job).rows
        if field == "size":
            return tuple(f"{size:g}" for size in sorted({size for _, size in rows})), False
        own = {family for family, _ in rows if not family.startswith("restrained-") or family in JOINT_TYPES}
        return tuple(dict.fromkeys([*JOINT_TYPES, *sorted(own)])), False
    return (), False


def _limit(job: Job, field: str, fields: list[str], spans: tuple[Span, ...]) -> Limit | None:
    inspection, records, unit = job.inspection, job.records, _unit(job, field)
    if field == "station":
        return _along_the_line(spans)
    if field == "gasket_temperature":
        least = inspection.min_gasket_temperature_f
        least = round((least - 32.0) / 1.8, 1) if unit == "C" else least
        return Limit("value", f"The job wants {least:g} {unit} or more: a colder gasket is warmed first.", least)
    if field == "laid_length":
        tolerance = records.spacing_tolerance
        if tolerance is None:
            tolerance = SPACING_TOLERANCE_M * units.factor("m", records.station_unit)
        says = f"The nominal laying length is {records.laying_length:g} {unit}."
        return Limit("value", says, 0.0, round(records.laying_length + tolerance, 3))
    if field in GAP_FIELDS and inspection.insertion_band is not None:
        least, most = inspection.insertion_band
        says = f"Gaps on average around the joint: {least:g} to {most:g} {unit}."
        return Limit("mean", says, least, most, tuple(one for one in fields if one in GAP_FIELDS))
    if field in GAUGE_FIELDS and inspection.gauge_spread is not None:
        says = f"Depths of the feeler gauge around the joint differ by {inspection.gauge_spread:g} {unit} at most."
        together = tuple(one for one in fields if one in GAUGE_FIELDS)
        return Limit("spread", says, None, inspection.gauge_spread, together)
    if field == "bolt_torque" and records.sizes_in == "in" and "size" in fields:
        return _torques(job)
    if field == "inspected_on":
        first, last = (str(day) if day else None for day in (inspection.laid_from, inspection.laid_to))
        parts = [f"from {first}" if first else "", f"to {last}" if last else ""]
        return Limit(
            "date", f"A date of the work{', '.join(['', *filter(None, parts)])}; none in the future.", first, last
        )
    return None


def _along_the_line(spans: tuple[Span, ...]) -> Limit | None:
    known = [one for one in spans if one.least is not None and one.most is not None]
    if not known or len(known) < len(spans):
        return None
    alone = len(known) == 1
    says = "; ".join(f"{'' if alone else one.name + ' '}from {one.first} to {one.last}" for one in known[:4])
    more = f"; and {len(known) - 4} more routes" if len(known) > 4 else ""
    by = tuple((one.name, one.least, one.most) for one in known if one.least is not None and one.most is not None)
    return Limit("route", f"The line runs {says}{more}.", min(one[1] for one in by), max(one[2] for one in by), (), by)


def _torques(job: Job) -> Limit:
    table = bolt_torques()
    factor = FT_LB_IN_N_M if job.records.torque_unit == "N-m" else 1.0
    rows = zip(table.size.tolist(), (table.least * factor).tolist(), (table.most * factor).tolist(), strict=True)
    by = tuple((size, round(least, 1), round(most, 1)) for size, least, most in rows)
    ranges: dict[tuple[float, float], list[float]] = {}
    for size, least, most in by:
        ranges.setdefault((least, most), []).append(size)
    sizes = {ends: "-".join(f"{size:g}" for size in sorted({min(some), max(some)})) for ends, some in ranges.items()}
    said = "; ".join(f"{sizes[low, high]} in: {low:g}-{high:g}" for low, high in ranges)
    return Limit("size", f"By size, {job.records.torque_unit}: {said} (AWWA C600, C111, from memory).", by=by)


def required_fields(job: Job) -> dict[str, tuple[str, ...]]:
    """Give the fields that each joint family must have; "*" stands for all others."""
    families = job.inspection.required_by_family()
    if job.records.station_from != "laid_length":
        return families
    # Without one length, no station ahead of it can be counted.
    families = {FALLBACK_REQUIRED: (), **families}
    return {family: tuple(dict.fromkeys([*fields, "laid_length"])) for family, fields in families.items()}


def always_required(column: Column) -> bool:
    """Say whether the job requires a field of every joint family that it does not name."""
    return FALLBACK_REQUIRED in column.required
