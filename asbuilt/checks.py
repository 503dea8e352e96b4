"""One row for each check, and for each reason to set a record aside: all that is said of it but what it finds.

A check has its row here and its function in `judging.findings`; terminal, layers, remarks, pages and documentation take
the rest from the row.
"""

from __future__ import annotations

from typing import NamedTuple

_HOURS = (12, *range(1, 12))
_GAPS = tuple(f"gap_{hour}" for hour in _HOURS)
_GAUGES = tuple(f"gauge_{hour}" for hour in _HOURS)
# A remark must not invite anyone to alter evidence.
_IF_TRUE = "if it was written down wrongly, the entry corrected; if it is true, the entry left as it is, and reported"


class CheckKind(NamedTuple):
    """What is said of a check, or of a reason to set a record aside."""

    severity: str
    meaning: str
    fields: tuple[str, ...]
    """Fields of the log that it is about; of a check that names them itself, or of a whole row, none."""
    expected: str | None
    """What is expected of the contractor; None where the message says it, or it is not about a row of the log."""


CHECK_KINDS: dict[str, CheckKind] = {
    "shot-astray": CheckKind("act", "A survey shot lies off the line of the shots beside it", (), None),
    "shot-order": CheckKind("act", "Survey shots stand in another order than they lie in", (), None),
    "unit-doubtful": CheckKind("act", "The line is as long as its log only in another unit", (), None),
    "deflection-over": CheckKind(
        "act",
        "The deflection is over the allowable",
        ("station",),
        "a station corrected if it was written down wrongly; else what was laid, reported",
    ),
    "line-off": CheckKind(
        "act",
        "The joint lies farther right or left of the design than the job allows",
        ("station",),
        "a station corrected if it was written down wrongly; else what was laid, reported",
    ),
    "grade-off": CheckKind(
        "act",
        "The joint lies farther above or below the design than the job allows",
        ("station",),
        "a station corrected if it was written down wrongly; else what was laid, reported",
    ),
    "cover-short": CheckKind("act", "The pipe has less cover than the job asks for", (), None),
    "inspection-failed": CheckKind("act", "An inspection item did not pass", (), _IF_TRUE),
    "joints-missing": CheckKind(
        "act",
        "The next joint is farther away than one length: joints are missing from the log",
        ("station",),
        "a row for each joint before this one, or stations and lengths that are right",
    ),
    "restraint-missing": CheckKind(
        "act",
        "The joint is unrestrained within a length that must be restrained",
        ("restrained",),
        "yes in restrained, if the joint is; else left as it is, and reported",
    ),
    "test-failed": CheckKind("act", "A pressure test took more make-up water than its allowance", (), None),
    "insertion-off": CheckKind("act", "The spigot is in too far, or not far enough", _GAPS, _IF_TRUE),
    "gauge-uneven": CheckKind(
        "act", "The feeler gauge went in to uneven depths: the gasket may be displaced", _GAUGES, _IF_TRUE
    ),
    "shot-repeated": CheckKind("check", "One place was shot twice, and both shots are strung into the line", (), None),
    "shot-height": CheckKind("check", "The elevation of a survey shot cannot be that of the pipe", (), None),
    "line-doubles-back": CheckKind("check", "The line turns back on itself, as no pipe does", (), None),
    "coverage-short": CheckKind("check", "A length of the line has no joint in the log, or was not shot", (), None),
    "deflection-conflict": CheckKind(
        "check",
        "Survey and readings at the joint disagree about the deflection",
        ("station",),
        "a station or a reading corrected if it was written down wrongly; else left, and reported",
    ),
    "inspection-missing": CheckKind(
        "check",
        "A required inspection item was not recorded",
        (),
        "the marked cells filled in from the field records; left blank where there are none",
    ),
    "deflection-unclear": CheckKind(
        "check",
        "The survey cannot tell whether the deflection is within the allowable",
        ("station",),
        "shots or readings at the joint itself, where there are any",
    ),
    "allowable-missing": CheckKind(
        "check",
        "No allowable deflection is on file for this joint type and size",
        ("joint_type", "size"),
        "joint type and size as in the approved submittal",
    ),
    "bend-angle-missing": CheckKind(
        "check",
        "A bend has no angle in the log, so what its joints take is not computed",
        ("bend_angle", "kind"),
        "the angle of the bend, such as 45",
    ),
    "gap-uneven": CheckKind("check", "The insertion readings around the joint contradict one another", _GAPS, _IF_TRUE),
    "gasket-cold": CheckKind(
        "check", "The gasket was colder than the job's limit when it was fitted", ("gasket_temperature",), _IF_TRUE
    ),
    "torque-off": CheckKind("check", "The bolt torque is outside the range for this size", ("bolt_torque",), _IF_TRUE),
    "spacing-short": CheckKind(
        "check",
        "The next joint is nearer than a cut or fitting would explain",
        ("station", "laid_length"),
        "stations that are right, or the cut or fitting recorded",
    ),
    "joint-repeated": CheckKind(
        "check",
        "The log has more than one record of this joint number",
        ("joint",),
        "one row for each joint; a joint laid again, with its date",
    ),
    "order-broken": CheckKind(
        "check",
        "The joint number is out of order against the stations",
        ("joint", "station"),
        "joint numbers and stations corrected where they were written down wrongly",
    ),
    "position-conflict": CheckKind(
        "check",
        "The surveyed position and the station disagree",
        ("easting", "northing", "station"),
        "coordinates or a station corrected, whichever was written down wrongly",
    ),
    "size-changes": CheckKind(
        "check",
        "The size changes without a reducer or tee in the log",
        ("size", "kind"),
        "the size corrected if it was written down wrongly, or the fitting between added to the log",
    ),
    "date-doubtful": CheckKind(
        "check",
        "The inspection date is before the work began, or in the future",
        ("inspected_on",),
        "the date of the inspection",
    ),
    "test-early": CheckKind("check", "Joints were inspected after the pressure test of their length", (), None),
    "length-untested": CheckKind("check", "A length of the route is under no pressure test", (), None),
    "photo-missing": CheckKind(
        "note",
        "A photo that the log names is not in the job's folders of photos",
        ("photo",),
        "the photo handed in, or its name corrected",
    ),
    "field-unreadable": CheckKind("note", "An entry of the log could not be read and is taken as blank", (), None),
}
"""Every check by its code, the most severe first."""

ASIDE_KINDS: dict[str, CheckKind] = {
    "station-unreadable": CheckKind("act", "The station cannot be read", ("station",), None),
    "station-missing": CheckKind("act", "No station is given", ("station",), None),
    "station-off-route": CheckKind("act", "The station lies beyond an end of the route", ("station", "route"), None),
    "offset-unreadable": CheckKind(
        "act", "The offset from the line cannot be read", ("offset",), "an offset like 3.2 LT, 3.0 RT or -3.2"
    ),
    "station-in-gap": CheckKind(
        "act", "The station falls in the gap of a station equation, where no station exists", ("station",), None
    ),
    "station-ambiguous": CheckKind(
        "act", "The station occurs more than once on the route, and nothing tells which is meant", ("station",), None
    ),
    "route-unknown": CheckKind("act", "The route is not in the centerline, or none is given", ("route",), None),
    "row-unreadable": CheckKind(
        "act",
        "The row does not fit the columns of its file",
        (),
        "one cell for each column, as the column names have it",
    ),
}
"""Every reason to set a record aside, by its code."""

KINDS = CHECK_KINDS | ASIDE_KINDS
"""Every kind of remark on a record."""
