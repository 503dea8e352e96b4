"""One row for each check, and for each reason to set a record aside: all that is said of it but what it finds.

A check has its row here and its function in `judging`, named in `judging.findings`; terminal, layers, remarks, pages
and documentation take the rest from the row.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

_HOURS = (12, *range(1, 12))
_GAPS = tuple(f"gap_{hour}" for hour in _HOURS)
_GAUGES = tuple(f"gauge_{hour}" for hour in _HOURS)
# A remark must not invite anyone to alter evidence.
_IF_TRUE = "if it was written down wrongly, the entry corrected; if it is true, the entry left as it is, and reported"


ROWS = "; rows "
"""Behind it a message names rows of the log: a row put in moves them, and it is the same finding."""


def as_found(message: str | None) -> str | None:
    """Give what a finding says without the rows that it names, by which it is known again in a corrected log.

    Examples
    --------
    >>> as_found("2 records of this joint; the latest one counts; rows 7 and 48")
    '2 records of this joint; the latest one counts'
    """
    return message and message.partition(ROWS)[0]


class CheckKind(NamedTuple):
    """What is said of a check, or of a reason to set a record aside."""

    severity: str
    meaning: str
    fields: tuple[str, ...]
    """Fields of the log that it is about; of a check that names them itself, or of a whole row, none."""
    expected: str | None
    """What is expected of the contractor; None where the message says it, or it is not about a row of the log."""
    to_do: str = ""
    """What the reviewing engineer has done about it."""
    about: Literal["place", "inspection", "deflection"] = "place"
    """What of its joint it is about: where it lies and what is beside it, its inspection, or its deflection. In a
    register a finding stands while that does."""


CHECK_KINDS: dict[str, CheckKind] = {
    "routes-exchanged": CheckKind(
        "act",
        "The bends of the log lie at corners of another line, and not of its own",
        (),
        None,
        "Have the names of routes in the log and of the lines put right before anything else is looked at",
    ),
    "shot-astray": CheckKind(
        "act",
        "A survey shot lies off the line of the shots beside it",
        (),
        None,
        "Have the survey crew look at this shot; leave it out, or shoot it again",
    ),
    "shot-order": CheckKind(
        "act",
        "Survey shots stand in another order than they lie in",
        (),
        None,
        "Have the survey crew put the shots in the order in which they lie",
    ),
    "unit-doubtful": CheckKind(
        "act",
        "The line is as long as its log only in another unit",
        (),
        None,
        "Have the survey crew state the unit of the coordinates",
    ),
    "bend-off-corner": CheckKind(
        "act",
        "A bend of the log lies off the corner of its angle",
        (),
        None,
        "Have the start station, and the station and row of the bend, confirmed before any pipe is blamed",
    ),
    "equation-ignored": CheckKind(
        "act",
        "The stations are counted on past a station equation, as if it were not there",
        (),
        None,
        "Have the crew say by which count it went; leave the equation out for this log, or have its stations corrected",
    ),
    "stations-shifted": CheckKind(
        "act",
        "The stations of a run of rows run off the pipes laid",
        (),
        None,
        "Have the crew say what these stations were measured to, and have them corrected",
    ),
    "deflection-over": CheckKind(
        "act",
        "The deflection is over the allowable",
        ("station",),
        "a station corrected if it was written down wrongly; else what was laid, reported",
        "Shoot or read it again; if it is over, have it laid anew, or bring the engineer's "
        "decision in writing, with the pipe maker's instructions",
        about="deflection",
    ),
    "bend-other-way": CheckKind(
        "act",
        "The line turns to the other side than the bend that the log has there",
        ("bend_plane", "kind"),
        "where the bend turns to, looking ahead along the stations: right or left, up or down",
        "Have the crew say to which side the bend turns, and correct the log",
        about="deflection",
    ),
    "test-failed": CheckKind(
        "act",
        "A pressure test took more make-up water than its allowance",
        (),
        None,
        "Have the leak found and mended, and the length tested again",
    ),
    "restraint-missing": CheckKind(
        "act",
        "The joint is unrestrained within a length that must be restrained",
        ("restrained",),
        "yes in restrained, if the joint is; else left as it is, and reported",
        "See that the joint is restrained as designed, and have it recorded",
        about="inspection",
    ),
    "inspection-failed": CheckKind(
        "act",
        "An inspection item did not pass",
        (),
        _IF_TRUE,
        "Have the item made good and inspected again, or the entry corrected",
        about="inspection",
    ),
    "line-off": CheckKind(
        "act",
        "The joint lies farther right or left of the design than the job allows",
        ("station",),
        "a station corrected if it was written down wrongly; else what was laid, reported",
        "Shoot it again; if it lies there, have it laid anew, or the design changed by its engineer",
    ),
    "grade-off": CheckKind(
        "act",
        "The joint lies farther above or below the design than the job allows",
        ("station",),
        "a station corrected if it was written down wrongly; else what was laid, reported",
        "Shoot it again; if it lies there, have it laid anew, or the design changed by its engineer",
    ),
    "failure-overruled": CheckKind(
        "act",
        "A later record passes what had failed, and nothing shows that it was looked at again",
        ("joint", "inspected_on"),
        "the joint number corrected if it is another joint's record; else the day on which it was made good",
        "Have the contractor say whether the joint was made good, and which record counts",
        about="inspection",
    ),
    "cover-short": CheckKind(
        "act",
        "The pipe has less cover than the job asks for",
        (),
        None,
        "Measure the cover there; if it is short, have it made up, or the pipe protected as its engineer says",
    ),
    "joints-missing": CheckKind(
        "act",
        "The next joint is too far: joints are missing, or a station or length is wrong",
        ("station",),
        "a row for each joint before this one, or stations and lengths that are right",
        "Have the contractor hand in the records of the joints between",
    ),
    "turn-unlogged": CheckKind(
        "act",
        "The line turns where no joint is in the log",
        ("station",),
        "a row for the joint that turns there, or stations that are right",
        "Have the shot looked at, and the joint there found, measured and recorded",
    ),
    "test-pressure-low": CheckKind(
        "act",
        "A pressure test was held at less pressure than the job requires",
        (),
        None,
        "Have the length tested again at the pressure that the specification asks for, or correct the record",
    ),
    "test-short": CheckKind(
        "act",
        "A pressure test was held for less time than the job requires",
        (),
        None,
        "Have the length tested again for as long as the specification asks, or correct the record",
    ),
    "insertion-off": CheckKind(
        "act",
        "The spigot is in too far, or not far enough",
        _GAPS,
        _IF_TRUE,
        "Have the joint looked at, and laid anew if the readings hold",
        about="inspection",
    ),
    "gauge-uneven": CheckKind(
        "act",
        "The feeler gauge went in to uneven depths: the gasket may be displaced",
        _GAUGES,
        _IF_TRUE,
        "Have the gasket looked at, and the joint laid anew if it is displaced",
        about="inspection",
    ),
    "station-contradicted": CheckKind(
        "act",
        "Records of one joint and one day, or without days, give it different stations",
        ("station",),
        "the rows of which one is void taken out; or the number corrected, where they are of two joints",
        "Have the contractor say which record counts: the joint stands where the last row says",
    ),
    "shot-repeated": CheckKind(
        "check",
        "One place was shot twice, and both shots are strung into the line",
        (),
        None,
        "Have the survey crew say which of the two shots counts",
    ),
    "shot-height": CheckKind(
        "check",
        "The elevation of a survey shot cannot be that of the pipe",
        (),
        None,
        "Have the survey crew give the true elevation",
    ),
    "shots-too-even": CheckKind(
        "check",
        "Shots scatter less than their stated error allows: interpolated, smoothed or designed",
        (),
        None,
        "Have the survey crew say which shots were taken on the pipe; leave out the others",
    ),
    "line-doubles-back": CheckKind(
        "check",
        "The line turns back on itself, as no pipe does",
        (),
        None,
        "Have the survey crew put the shots in order",
    ),
    "coverage-short": CheckKind(
        "check",
        "A length of the line has no joint in the log, or was not shot",
        (),
        None,
        "Have the missing shots or records handed in",
    ),
    "joints-off-shots": CheckKind(
        "check",
        "Joints lie off their shots alike: by the start station, a tie or a piece not logged",
        (),
        None,
        "Have the start station, ties, pieces not in the log, and the part of the joint that was shot confirmed",
    ),
    "deflection-conflict": CheckKind(
        "check",
        "Survey and readings at the joint disagree about the deflection",
        ("station",),
        "a station or a reading corrected if it was written down wrongly; else left, and reported",
        "Have the joint shot again and read again",
        about="deflection",
    ),
    "inspection-missing": CheckKind(
        "check",
        "A required inspection item was not recorded",
        (),
        "the marked cells filled in from the field records; left blank where there are none",
        "Have the entry filled in from the field records",
        about="inspection",
    ),
    "deflection-unclear": CheckKind(
        "check",
        "The survey cannot tell whether the deflection is within the allowable",
        ("station",),
        "shots or readings at the joint itself, where there are any",
        "Have the joint read around the clock, or shot with all those that the finding names",
        about="deflection",
    ),
    "line-unclear": CheckKind(
        "check",
        "The survey cannot tell whether the joint lies near enough to the design line",
        (),
        None,
        "Shoot the joint itself, or shoot closer together",
    ),
    "grade-unclear": CheckKind(
        "check",
        "The survey cannot tell whether the joint lies near enough to the design grade",
        (),
        None,
        "Shoot the height of the joint itself, or shoot closer together",
    ),
    "cover-unclear": CheckKind(
        "check",
        "The survey cannot tell whether the pipe has the cover that the job asks for",
        (),
        None,
        "Measure the cover there",
    ),
    "allowable-missing": CheckKind(
        "check",
        "No allowable deflection is on file for this joint type and size",
        ("joint_type", "size"),
        "joint type and size as in the approved submittal",
        "Bring the allowable from the approved submittal, and place the job again",
        about="deflection",
    ),
    "bend-plane-missing": CheckKind(
        "check",
        "A bend has no plane in the log; level or upright, it leaves its joints too much",
        ("bend_plane", "kind"),
        "where the bend turns to: right, left, up or down, or degrees clockwise from the top",
        "Have the plane of the bend recorded, or its joints read",
        about="deflection",
    ),
    "bend-angle-missing": CheckKind(
        "check",
        "A bend has no angle in the log, so what its joints take is not computed",
        ("bend_angle", "kind"),
        "the angle of the bend, such as 45",
        "Have the angle of the bend recorded",
        about="deflection",
    ),
    "gap-uneven": CheckKind(
        "check",
        "The insertion readings around the joint contradict one another",
        _GAPS,
        _IF_TRUE,
        "Have the gaps read again",
        about="inspection",
    ),
    "readings-copied": CheckKind(
        "check",
        "Readings are the same in more rows, one below the other, than chance makes",
        (*_GAPS, *_GAUGES),
        "what was read at each joint; left blank where nothing was",
        "Ask which of these joints were read; have the others read, or shot",
        about="inspection",
    ),
    "gasket-cold": CheckKind(
        "check",
        "The gasket was colder than the job's limit when it was fitted",
        ("gasket_temperature",),
        _IF_TRUE,
        "Ask how the gasket was warmed; have the joint looked at",
        about="inspection",
    ),
    "torque-off": CheckKind(
        "check",
        "The bolt torque is outside the range for this size",
        ("bolt_torque",),
        _IF_TRUE,
        "Have the bolts checked with a torque wrench",
        about="inspection",
    ),
    "entry-doubtful": CheckKind(
        "check",
        "An entry is far from the others of its column: in another unit, or its point slipped",
        (),
        _IF_TRUE,
        "Ask what was measured, and have the entry corrected if it is wrong",
        about="inspection",
    ),
    "spacing-short": CheckKind(
        "check",
        "The next joint is nearer than a cut or fitting would explain",
        ("station", "laid_length"),
        "stations that are right, or the cut or fitting recorded",
        "Have the stations corrected, or the cut piece recorded",
    ),
    "joint-repeated": CheckKind(
        "check",
        "The log has more than one record of this joint number",
        ("joint",),
        "one row for each joint; a joint laid again, with its date",
        "Have the contractor say which record counts",
        about="inspection",
    ),
    "order-broken": CheckKind(
        "check",
        "The joint number is out of order against the stations",
        ("joint", "station"),
        "joint numbers and stations corrected where they were written down wrongly",
        "Have number or station corrected, whichever is wrong",
    ),
    "position-conflict": CheckKind(
        "check",
        "The surveyed position and the station disagree",
        ("easting", "northing", "station"),
        "coordinates or a station corrected, whichever was written down wrongly",
        "Have coordinates or station corrected, whichever is wrong",
    ),
    "size-changes": CheckKind(
        "check",
        "The size changes without a reducer or tee in the log",
        ("size", "kind"),
        "the size corrected if it was written down wrongly, or the fitting between added to the log",
        "Have the size corrected, or the fitting recorded",
        about="inspection",
    ),
    "date-doubtful": CheckKind(
        "check",
        "The inspection date is before the work began, or in the future",
        ("inspected_on",),
        "the date of the inspection",
        "Have the date corrected",
        about="inspection",
    ),
    "test-doubtful": CheckKind(
        "check",
        "A pressure test's pressure or duration looks as if written in another unit",
        (),
        None,
        "Have the record of the test corrected, or say in limits what pressure and duration are required",
    ),
    "test-early": CheckKind(
        "check",
        "Joints were inspected after the pressure test of their length",
        (),
        None,
        "Have the length tested again after its last joint",
    ),
    "length-untested": CheckKind(
        "check",
        "A length of the route is under no pressure test, or under one that cannot be judged",
        (),
        None,
        "Have the contractor test the length, or hand in the record of its test",
    ),
    "remark-to-read": CheckKind(
        "note",
        "A remark in the log has a word that may tell of trouble at the joint",
        ("remarks",),
        "left as it is; what was done about it, reported",
        "Read the remark, and ask what was done about it",
        about="inspection",
    ),
    "photo-missing": CheckKind(
        "note",
        "A photo that the log names is not in the job's folders of photos",
        ("photo",),
        "the photo handed in, or its name corrected",
        "Ask for the photo",
        about="inspection",
    ),
    "field-unreadable": CheckKind(
        "note",
        "An entry of the log could not be read",
        (),
        None,
        "Ask what the entry says",
        about="inspection",
    ),
}
"""Every check by its code, the most severe first."""

ASIDE_KINDS: dict[str, CheckKind] = {
    "station-unreadable": CheckKind(
        "act", "The station cannot be read", ("station",), None, "Have the station written as the others are"
    ),
    "station-missing": CheckKind("act", "No station is given", ("station",), None, "Have the station filled in"),
    "station-off-route": CheckKind(
        "act",
        "The station lies beyond an end of the route",
        ("station", "route"),
        None,
        "Have station or route corrected",
    ),
    "offset-unreadable": CheckKind(
        "act",
        "The offset from the line cannot be read",
        ("offset",),
        "an offset like 3.2 LT, 3.0 RT or -3.2",
        "Have the offset written as the message says",
    ),
    "station-in-gap": CheckKind(
        "act",
        "The station falls in the gap of a station equation, where no station exists",
        ("station",),
        None,
        "Have the station corrected: it does not exist",
    ),
    "station-ambiguous": CheckKind(
        "act",
        "The station occurs more than once on the route, and nothing tells which is meant",
        ("station",),
        None,
        "Have the station say on which side of the equation it lies",
    ),
    "route-unknown": CheckKind(
        "act",
        "The route is not in the centerline, or none is given",
        ("route",),
        None,
        "Have the route named as the centerline names it",
    ),
    "row-unreadable": CheckKind(
        "act",
        "The row does not fit the columns of its file",
        (),
        "one cell for each column, as the column names have it",
        "Have the row mended",
    ),
    "row-struck": CheckKind(
        "act",
        "The row is struck through in its sheet, as void",
        (),
        "a row that counts not struck through; a void one as it stands",
        "Have it confirmed that the row is void",
    ),
}
"""Every reason to set a record aside, by its code."""

KINDS = CHECK_KINDS | ASIDE_KINDS
"""Every kind of remark on a record."""
