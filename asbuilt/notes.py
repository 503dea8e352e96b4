"""Notes: what was noticed about a job as a whole, each with a code that a program can tell it by, and a text.

No reader looks into a text: what a note is about, and how much it matters, belongs to its code.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from asbuilt.addresses import shown


class NoteKind(NamedTuple):
    """A kind of note: how much it matters, what it is about, and what it says in general."""

    severity: str
    about: str
    meaning: str
    to_do: str = ""
    """What a person does about it; nothing where it is for information only."""


NOTES: dict[str, NoteKind] = {
    "line-drawn": NoteKind(
        "act",
        "verdicts",
        "The centerline is a design, or was drawn: no verdict says how the pipe was laid",
        "Have the pipe shot, or the joints read, before anything is said of how it lies",
    ),
    "line-drawn-between": NoteKind(
        "check",
        "verdicts",
        "The centerline is a design, or drawn: only joints surveyed themselves were measured",
        "Have the other joints shot or read",
    ),
    "shots-exact": NoteKind(
        "check",
        "verdicts",
        "Verdicts take the shots as without error",
        "Ask the surveyor for the standard error of the shots, and place the job again",
    ),
    "sigma-understated": NoteKind(
        "check",
        "verdicts",
        "Check shots, laid lengths, or joints off their shots show more error than stated",
        "Ask the surveyor; state the larger standard error, and place the job again",
    ),
    "joints-by-stations": NoteKind("note", "verdicts", "Stations alone tell which shots are at joints"),
    "allowables-doubtful": NoteKind(
        "act",
        "verdicts",
        "Allowables of the job's own are far from the usual ones, or of no joint of the log",
        "Hold them against the approved submittal",
    ),
    "limits-doubtful": NoteKind(
        "check",
        "verdicts",
        "A limit or tolerance of the job is as if in another unit, or nothing can be beyond it",
        "Hold the job's limits against the specification, and place the job again",
    ),
    "keys-doubtful": NoteKind(
        "check",
        "log",
        "A key of the job is at odds with the data, or says the reverse of what a word means",
        "Correct the key, or make sure that it is meant so, and place the job again",
    ),
    "accuracy-limited": NoteKind(
        "check",
        "survey",
        "The check shots are too few or too uneven for a sure accuracy",
        "Have more check shots taken",
    ),
    "survey-read": NoteKind("note", "survey", "How the centerline was read, and what was left out or filled in"),
    "survey-screened": NoteKind(
        "check",
        "survey",
        "What was done about doubtful shots",
        "Have the surveyor confirm what was done about the shots",
    ),
    "shots-rounded": NoteKind(
        "act",
        "survey",
        "Shots were rounded to more than their stated error; verdicts and accuracies count it",
        "Have the shots exported with all their decimals, and place the job again",
    ),
    "direction-untold": NoteKind(
        "check",
        "survey",
        "Nothing in the data tells which way the line runs",
        "Confirm at which end of the line its stations start",
    ),
    "elevations-read": NoteKind("note", "survey", "What the elevations are of, and what was made of them"),
    "lengths-differ": NoteKind(
        "check",
        "survey",
        "The line, the stations and the pipes laid are not equally long",
        "Find out which is wrong: line, stations or lengths of pipe",
    ),
    "line-of-another": NoteKind(
        "act",
        "survey",
        "The log of a route fits another line, as where two routes are exchanged",
        "Have the names of routes in the log and of the lines put right, and place the job again",
    ),
    "line-short": NoteKind(
        "act",
        "survey",
        "The log runs on beyond an end of its line",
        "Get the shots that are missing, or correct the start station, and place the job again",
    ),
    "shots-apart": NoteKind(
        "check",
        "survey",
        "Shots lie far apart where the rest of the route was shot closely",
        "Look for shots that were lost, or have some taken there",
    ),
    "area-outside": NoteKind(
        "check",
        "survey",
        "The joints lie outside the area of the coordinate system",
        "Confirm the coordinate system with the surveyor",
    ),
    "failures-aside": NoteKind(
        "act",
        "log",
        "Records that could not be placed say that an item of the inspection did not pass",
        "Find out which joints they are of, and have the items made good and inspected again",
    ),
    "rows-doubled": NoteKind(
        "check",
        "log",
        "Rows of the log repeat others joint by joint, as where a sheet was copied",
        "Have one of the two taken out of the log, or say which counts, and place the job again",
    ),
    "cells-shifted": NoteKind(
        "check",
        "log",
        "Several cells of a row cannot be read, as where they stand beside their columns",
        "Have the cells put into their columns, and place the job again",
    ),
    "log-read": NoteKind("note", "log", "How the log was read, and what was left out or filled in"),
    "start-station": NoteKind("note", "log", "Where stations begin, where the job does not say or ties differ"),
    "stations-doubtful": NoteKind(
        "check",
        "log",
        "The stations seem to be in another unit, to run the other way, or to begin anew",
        "Confirm unit, direction and start of the stations",
    ),
    "stations-unknown": NoteKind(
        "check",
        "log",
        "How far off joints are along the line is not known: nothing tells their error there",
        "Ask the crew how well it measured, say records.sigma_station, and place the job again",
    ),
    "stations-shown": NoteKind("note", "log", "The error of stations, as joints or bends that were shot show it"),
    "equation-unstated": NoteKind(
        "act",
        "log",
        "The stations run ahead of the pipes laid, or behind, as after an equation not stated",
        "Have the stations there confirmed; state the equation, or correct them, and place the job again",
    ),
    "positions-doubtful": NoteKind(
        "act",
        "log",
        "Coordinates of the log lie far from where its stations are",
        "Have coordinates or stations corrected in the log, whichever are wrong",
    ),
    "positions-read": NoteKind("note", "log", "How surveyed positions of joints were read"),
    "temperatures-doubtful": NoteKind(
        "check",
        "log",
        "Gasket temperatures, or the least asked for, seem to be in another unit",
        "Find out in which unit they were read, say it, and place the job again",
    ),
    "readings-alike": NoteKind(
        "check",
        "readings",
        "Readings at joint after joint are alike, or in order, as if filled down or sorted",
        "Ask how the joints were read: verdicts by those readings are worth no more than they are",
    ),
    "readings-turned": NoteKind(
        "check",
        "readings",
        "Readings agree with the survey only rows off, turned or in centimetres, or not at all",
        "Ask how the gaps were read and written down, have that put right, and place the job again",
    ),
    "readings-unused": NoteKind(
        "check",
        "readings",
        "Gaps were read at joints, and give no deflection: what they would show is not judged",
        "Have the size, the outside diameter or the missing readings of these joints handed in",
    ),
    "readings-taken": NoteKind("note", "readings", "What the readings at the joints rest on, and what is not judged"),
    "design-read": NoteKind("note", "design", "How the design was read, and what was not held against it"),
    "cover-found": NoteKind("note", "cover", "Where the ground was taken from, and where the cover is not known"),
    "cover-doubtful": NoteKind(
        "check",
        "cover",
        "The ground lies far too high over the pipe, or cover asked for is mostly not known",
        "Have the ground's coordinates, unit and datum confirmed, and place the job again",
    ),
    "profile-found": NoteKind(
        "check",
        "design",
        "Grades under the least, and high and low points without an outlet",
        "Ask the designer whether the profile may stay so",
    ),
    "map-step": NoteKind("note", "map", "How coordinates were carried to the map's system"),
}
"""Every kind of note by its code."""

OF_THE_LINE: dict[str, str] = {"line-of-another": "routes-exchanged", "line-short": "coverage-short"}
"""Notes by which all joints of a route may stand elsewhere, so that all else that is said of it is doubtful: each with
the code of the finding that such a route has."""


SUBJECTS: dict[str, str] = {
    "verdicts": "What all verdicts on deflection rest on",
    "survey": "The survey and its centerline",
    "log": "The joint log",
    "readings": "Readings at the joints",
    "cover": "The ground over the pipe",
    "design": "The design, and the profile as it lies",
    "map": "The map's coordinates",
}
"""What a note may be about."""


class OfRoutes(NamedTuple):
    """A text about some routes of a job, with their names."""

    text: str
    routes: tuple[str, ...]

    @classmethod
    def one(cls, name: str, text: str) -> OfRoutes:
        """Give a text about one route."""
        return cls(text, (name,))


Said = str | OfRoutes
"""What is noticed: of the whole job, or of some of its routes."""


class Note(NamedTuple):
    """One note on a job."""

    code: str
    severity: str
    text: str
    routes: tuple[str, ...] = ()
    """Names of the routes that it is about; none of the whole job, or where that is not known."""

    @property
    def about(self) -> str:
        """What the note is about: one of `SUBJECTS`."""
        return NOTES[self.code].about


def noted(code: str, texts: Iterable[Said]) -> list[Note]:
    """Make notes of one kind.

    Parameters
    ----------
    code : one of `NOTES`
    texts : iterable of str or OfRoutes

    Examples
    --------
    >>> noted("shots-exact", ["no standard error is stated"])
    [Note(code='shots-exact', severity='check', text='no standard error is stated', routes=())]
    >>> noted("line-short", [OfRoutes.one("Mill Road", "the log runs on for 40 ft")])[0].routes
    ('Mill Road',)
    """
    each = ((one, ()) if isinstance(one, str) else one for one in texts)
    return [Note(code, NOTES[code].severity, shown(text), routes) for text, routes in each]
