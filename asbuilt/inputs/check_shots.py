"""Check shots: points of the survey that were shot again, independently and better."""

from __future__ import annotations

from typing import TYPE_CHECKING

from asbuilt.errors import InputFileError
from asbuilt.inputs.side_tables import SideTable, read_side_table

if TYPE_CHECKING:
    from asbuilt.job import Job
    from asbuilt.keys.line import SurveyCheck

CHECK_NAMES = {
    "point": frozenset({"point", "pt", "pointno", "pointnumber", "ptno", "no", "id"}),
    "easting": frozenset({"easting", "east", "e", "checkeasting"}),
    "northing": frozenset({"northing", "north", "n", "checknorthing"}),
    "elevation": frozenset({"elevation", "elev", "el", "z", "checkelevation"}),
    "measured_easting": frozenset({"measuredeasting", "measeasting", "surveyedeasting"}),
    "measured_northing": frozenset({"measurednorthing", "measnorthing", "surveyednorthing"}),
    "measured_elevation": frozenset({"measuredelevation", "measelevation", "surveyedelevation"}),
}


def read_check_shots(job: Job, wanted: SurveyCheck) -> SideTable:
    """Read the job's check shots, each point once.

    Raises
    ------
    InputFileError
        When the file cannot be read, or a point occurs in it twice: one point checks a survey once.
    """
    table = read_side_table(
        job.file(wanted.path), CHECK_NAMES, required=("easting", "northing"), key="survey_check.path",
        chosen=dict(wanted.columns), columns_key="survey_check.columns",
    )  # fmt: skip
    first: dict[str, int] = {}
    for at, point in enumerate(table.texts("point")):
        if point is not None and first.setdefault(point, at) != at:
            raise InputFileError(
                f"{table.where(at)}: check point {point} is in row {table.row[first[point]]} already; a point counts "
                "once: leave one of them out, or give their mean"
            )
    return table
