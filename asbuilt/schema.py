"""What the output holds: every layer, every column with its meaning and unit, and the values that are codes.

Written into the GeoPackage, so that a map shows the words of the trade; "{unit}" stands for the unit of the
centerline's coordinates and "{station_unit}" for that of the stations.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

from asbuilt.checks import ASIDE_KINDS, CHECK_KINDS
from asbuilt.notes import NOTES, SUBJECTS

FILE_VERSION = 3
"""Version of the layout of a placed file: raised whenever a reader must know of a change."""

Kind = Literal["text", "number", "whole", "date"]
GeometryType = Literal["Point Z", "LineString Z", "LineString ZM"]


class ColumnInfo(NamedTuple):
    """A column: the heading a map shows, what it means, the coded values it may take, and the kind of its values."""

    title: str
    description: str
    domain: str | None = None
    """Name of one of `DOMAINS`; None where any value may stand."""
    kind: Kind = "text"

    @property
    def unit(self) -> str | None:
        """What the column's unit is that of: "unit" (coordinates), "station_unit" or "reading_unit"; None for others.

        Examples
        --------
        >>> LAYERS["joints"].columns["distance"].unit, LAYERS["joints"].columns["gap_mean"].unit
        ('unit', 'reading_unit')
        """
        named = [name for name in ("unit", "station_unit", "reading_unit") if f"{{{name}}}" in self.description]
        return named[0] if self.kind == "number" and named else None


class LayerInfo(NamedTuple):
    """A layer: what one row is, its kind of geometry, and its columns."""

    description: str
    geometry_type: GeometryType | None
    columns: dict[str, ColumnInfo]


DOMAINS: dict[str, dict[str, str]] = {
    "deflection_source": {
        "survey": "The turn between the surveyed straights",
        "readings": "Gaps read around the joint",
        "survey-and-readings": "Both, weighted by how sure they are",
    },
    "verdict": {
        "over": "Over the allowable deflection",
        "within": "Within the allowable deflection, as measured",
        "within-assumed": "Within the allowable deflection only if what the verdict assumes holds",
        "cannot-tell": "The survey cannot tell whether the joint is within or over",
        "no-allowable": "No allowable deflection is on file for this joint type and size",
        "not-computed": "Not computed, as at an end of the route, where pipe lies on one side only",
    },
    "severity": {
        "act": "Something is wrong and needs action before the work is accepted",
        "check": "Someone must look: the records are incomplete or contradict one another",
        "note": "For information; nothing need be done",
    },
    "inspection": {
        "complete": "Every required item was recorded, and none failed",
        "incomplete": "A required item was not recorded",
        "failed": "A recorded item did not pass",
        "none": "Nothing about the inspection was recorded",
    },
    "position_source": {
        "station": "Placed on the centerline by its station",
        "station-tied": "Placed by its station, adjusted between ties of known station and coordinates",
        "surveyed": "Surveyed at the joint itself",
    },
    "finding_code": {code: kind.meaning for code, kind in CHECK_KINDS.items()},
    "set_aside_reason": {code: kind.meaning for code, kind in ASIDE_KINDS.items()},
    "test_result": {
        "passed": "The make-up water was within the testing allowance",
        "failed": "The make-up water was over the testing allowance",
        "failed-retested": "The test failed, and later tests passed the whole of its length",
        "below-required": "The test was held at less pressure, or for less time, than the job requires",
        "below-retested": "The test was held below what the job requires; later tests passed its whole length",
        "not-judged": "The test cannot be judged: no make-up water, a size unknown, or a unit in doubt",
        "untested": "Under no test",
    },
    "yes_no": {"yes": "Yes, or passed", "no": "No, or failed"},
    "note_code": {code: note.meaning for code, note in NOTES.items()},
    "note_about": SUBJECTS,
    "small_unit": {"in": "Inch", "mm": "Millimetre"},
    "torque_unit": {"ft-lb": "Foot-pound", "N-m": "Newton metre"},
    "station_format": {
        "hundreds": "As 12+34.56: two digits before the decimal point",
        "thousands": "As 1+234.567: three digits before the decimal point",
        "decimal": "A plain decimal number",
    },
    "pipe_side": {
        "ahead": "A record describes the pipe laid ahead of its joint",
        "back": "A record describes the pipe laid back of its joint",
    },
    "length_unit": {
        "us-ft": "US survey foot, 1200/3937 m",
        "ft": "International foot, 0.3048 m",
        "m": "Metre",
    },
}
"""Coded values, by the name of their domain: each value and its meaning."""

SURVEY_CODES = (
    "routes-exchanged", "shot-astray", "shot-order", "unit-doubtful", "shot-repeated", "shot-height", "shots-too-even",
    "line-doubles-back", "coverage-short", "bend-off-corner", "equation-ignored", "joints-off-shots",
    "stations-shifted",
)  # fmt: skip
"""Codes of the findings on the survey: to be looked at before any pipe is blamed."""

ASSUMPTIONS: dict[str, str] = {
    "one-way": "the main curves one way between shots, no joint against the next",
    "level": "no elevation was measured there: the pipe turns up or down no more than the elevations on either side "
    "show while it bends one way between them, and not at all where there are none",
    "fitting-plane": "the bend lies in the plane that the log gives or, where it gives none, in the one that leaves "
    "its two joints least, and both deflect the same way",
    "drawn": "nothing of the line there was shot: it was drawn, is a design, or its shots are too even to be any, and "
    "the pipe lies on it",
    "shots-exact": "no standard error of the shots is stated, and they are taken as without error",
    "shots-at-joints": "the shots that stations put at joints are at them and not all beside them alike, which nothing "
    "else in the data tells",
    "allowable-as-given": "the allowable is as the job's own table has it, though that is far from the "
    "published one, or from what joints are known to take",
    "line-start": "the stations start at that end of the line from which it is drawn, which nothing in the data tells",
}
"""What a verdict may rest on without its being measured: the words of `joints.verdict_assumes`, in their order."""

CONDITIONS: dict[str, str] = {
    "one-way": "the main curves one way between shots",
    "level": "the pipe keeps its grade where no elevation was shot, or changes it no more than the elevations on "
    "either side show",
    "fitting-plane": "each bend lies in the plane that the log gives, or else in the one that leaves its joints least",
    "drawn": "the pipe lies as drawn",
    "shots-exact": "the shots are without error",
    "shots-at-joints": "the shots are at the joints and not all beside them alike",
    "allowable-as-given": "the allowable is as the job's own table has it, far from the usual",
    "line-start": "the stations start where the line is drawn from",
}
"""`ASSUMPTIONS` in few words, as the end of a sentence that begins with "if"."""


def conditions(words: str) -> str:
    """Say what a verdict assumes, as the end of a sentence that begins with "if".

    Examples
    --------
    >>> conditions("one-way shots-exact")
    'the main curves one way between shots and the shots are without error'
    """
    told = [CONDITIONS.get(word, word) for word in words.split()]
    return " and ".join([", ".join(told[:-1]), told[-1]] if len(told) > 1 else told)


_ROUTE = ColumnInfo("Route", "Name of the route (main or line) in the centerline.")
_JOINT = ColumnInfo("Joint", "Joint number, as in the log; 'at' and the station where the log has no number.")
_JOINT_UID = ColumnInfo(
    "Joint ID", "Lasting identifier of the joint, the same in every run: a UUID made from route and joint number."
)
_STATION = ColumnInfo(
    "Station",
    "Station along the route, in {station_unit}; with BK or AH, and the equation's number, where it occurs more than "
    "once.",
)
_RECORD = ColumnInfo("Record", "Number of the record, counted from 1 through all files of the log.", kind="whole")
_FILE = ColumnInfo("File", "Log file that holds the record, as the job names it, and its sheet where several are read.")
_ROW = ColumnInfo("Row", "Row of that file, counted from its top with the header row included.", kind="whole")
_ORIGINAL = ColumnInfo("Original row", "The row as the file has it: a JSON object of its cells that are not blank.")
_SIZE = ColumnInfo("Size", "Nominal pipe size: inches, or DN in millimetres, as the job says.", kind="number")
_JOINT_TYPE = ColumnInfo(
    "Joint type", "Joint family: push-on, restrained-push-on, mechanical, flanged, or one of the job's own."
)
_KIND = ColumnInfo("Kind", "What was laid: pipe, bend, tee, valve, reducer, sleeve, cap, or as the log says.")
_RESTRAINED = ColumnInfo("Restrained", "Whether the joint is restrained against pulling apart.", "yes_no")
_INSPECTED_ON = ColumnInfo("Inspected on", "Date of the inspection.", kind="date")
_INSPECTOR = ColumnInfo("Inspector", "Who inspected the joint.")

_JOINTS = {
    "joint_uid": _JOINT_UID,
    "route": _ROUTE,
    "joint": _JOINT,
    "station": _STATION,
    "distance": ColumnInfo(
        "Distance",
        "Horizontal distance along the route from its start, in {unit}; it does not jump at equations.",
        kind="number",
    ),
    "easting": ColumnInfo("Easting", "Easting in this layer's coordinate system, in its own unit.", kind="number"),
    "northing": ColumnInfo("Northing", "Northing in this layer's coordinate system, in its own unit.", kind="number"),
    "elevation": ColumnInfo(
        "Elevation",
        "Elevation, in {unit}: of the pipe's center where the job says what was shot, else of what was shot; see the "
        "notes. Blank where unknown.",
        kind="number",
    ),
    "longitude": ColumnInfo(
        "Longitude", "Longitude in degrees, east positive; the datum step is in layer run.", kind="number"
    ),
    "latitude": ColumnInfo(
        "Latitude", "Latitude in degrees, north positive; the datum step is in layer run.", kind="number"
    ),
    "size": _SIZE,
    "joint_type": _JOINT_TYPE,
    "kind": _KIND,
    "restrained": _RESTRAINED,
    "position_source": ColumnInfo("Position from", "How the joint's position is known.", "position_source"),
    "sigma_horizontal": ColumnInfo(
        "Position sigma",
        "Standard error (1 sigma) of the horizontal position in the direction in which it is largest, in {unit}.",
        kind="number",
    ),
    "accuracy_horizontal": ColumnInfo(
        "Accuracy, horizontal",
        "Horizontal accuracy of the position at 95 % confidence, in {unit}; blank where unknown.",
        kind="number",
    ),
    "accuracy_vertical": ColumnInfo(
        "Accuracy, vertical",
        "Vertical accuracy of the elevation at 95 % confidence, in {unit}; blank where unknown.",
        kind="number",
    ),
    "accuracy_source": ColumnInfo(
        "Accuracy found by",
        "How the accuracy was found: by independent check shots or by what the job states; between shots also by the "
        "station's error and by what the line may do there, with what that takes for granted; or why none is stated.",
    ),
    "turn_deg": ColumnInfo(
        "Turn (deg)", "Angle between the straights back and ahead of the joint, degrees.", kind="number"
    ),
    "turn_horizontal_deg": ColumnInfo(
        "Turn, horizontal (deg)", "Change of azimuth at the joint, degrees; right positive.", kind="number"
    ),
    "turn_vertical_deg": ColumnInfo(
        "Turn, vertical (deg)", "Change of inclination at the joint, degrees; up positive.", kind="number"
    ),
    "bend_angle_deg": ColumnInfo(
        "Bend angle (deg)", "Angle of the fitting at this joint, degrees; blank for no bend.", kind="number"
    ),
    "deflection_deg": ColumnInfo(
        "Deflection (deg)",
        "What the joint takes of the turn, degrees: by the survey, by the readings at the joint, or by both; blank "
        "where only bounds are known, as between sparse shots and at the two joints of a bend.",
        kind="number",
    ),
    "deflection_source": ColumnInfo("Deflection from", "What the deflection was taken from.", "deflection_source"),
    "deflection_floor_deg": ColumnInfo(
        "Deflection, at least (deg)",
        "The least that the largest deflection of the joints sharing a surveyed turn can be, degrees; at the joint "
        "nearest the shot. At a bend, half of what its angle leaves to its two joints.",
        kind="number",
    ),
    "deflection_ceiling_deg": ColumnInfo(
        "Deflection, at most (deg)",
        "The most that the survey lets this joint's deflection be while the main curves one way there, degrees.",
        kind="number",
    ),
    "sigma_deg": ColumnInfo(
        "Deflection sigma (deg)",
        "Standard error (1 sigma) of the deflection, or of the turn where the survey gives only bounds, degrees.",
        kind="number",
    ),
    "measured_deg": ColumnInfo(
        "Measured deflection (deg)", "Deflection from the insertion readings around the joint, degrees.", kind="number"
    ),
    "measured_direction_deg": ColumnInfo(
        "Measured direction (deg)",
        "Where the pipe ahead turns to, by the readings: degrees clockwise from the top of the pipe, looking ahead.",
        kind="number",
    ),
    "sigma_measured_deg": ColumnInfo(
        "Measured sigma (deg)", "Standard error (1 sigma) of the measured deflection, degrees.", kind="number"
    ),
    "gap_mean": ColumnInfo(
        "Mean gap",
        "Gap between bell face and insertion mark, averaged around the joint, in {reading_unit}.",
        kind="number",
    ),
    "gap_residual": ColumnInfo(
        "Gap residual",
        "Root mean square of what mean and deflection leave of the gap readings, in {reading_unit}; needs four.",
        kind="number",
    ),
    "allowable_deg": ColumnInfo(
        "Allowable (deg)",
        "Allowable deflection for this joint type and size, degrees; blank where none is on file.",
        kind="number",
    ),
    "allowable_source": ColumnInfo("Allowable from", "What the allowable rests on: table, edition, part allowed."),
    "verdict": ColumnInfo("Verdict", "Deflection against the allowable. A finding, not an acceptance.", "verdict"),
    "verdict_assumes": ColumnInfo(
        "Verdict assumes",
        "What the verdict rests on without its being measured, words separated by spaces: "
        + "; ".join(f"{word}: {meaning}" for word, meaning in ASSUMPTIONS.items())
        + ". Blank where all was measured.",
    ),
    "inspection": ColumnInfo("Inspection", "Whether the joint's inspection record is complete.", "inspection"),
    "design_station": ColumnInfo(
        "Design station", "The design's station square to which the joint lies; blank where there is no design."
    ),
    "design_offset": ColumnInfo(
        "Offset from design",
        "How far the joint lies to the right of the design, in {unit}; left is negative.",
        kind="number",
    ),
    "design_height": ColumnInfo(
        "Height over design",
        "How far the pipe's center lies above the design's, in {unit}; below is negative. Blank where unknown.",
        kind="number",
    ),
    "ground_elevation": ColumnInfo(
        "Ground", "Elevation of the ground over the joint, in {unit}; blank where unknown.", kind="number"
    ),
    "cover": ColumnInfo(
        "Cover", "Of the ground above the top of the pipe at the joint, in {unit}; blank where unknown.", kind="number"
    ),
    "cover_least": ColumnInfo(
        "Least cover",
        "The least cover at the joint and along the pipe to the next one, in {unit}; blank where unknown.",
        kind="number",
    ),
    "findings": ColumnInfo("Findings", "Number of findings at this joint; see layer findings.", kind="whole"),
    "inspected_on": _INSPECTED_ON,
    "inspector": _INSPECTOR,
}

_SEGMENTS = {
    "route": _ROUTE,
    "from_joint": ColumnInfo("From joint", "Joint at the back end of the straight."),
    "to_joint": ColumnInfo("To joint", "Joint at the ahead end of the straight."),
    "length": ColumnInfo(
        "Length", "Length between the two joints, in {unit}; horizontal where elevations are unknown.", kind="number"
    ),
    "laid_length": ColumnInfo("Laid length", "Length of this pipe as the log has it, in {unit}.", kind="number"),
    "difference": ColumnInfo("Difference", "Length less laid length, in {unit}.", kind="number"),
    "azimuth_deg": ColumnInfo(
        "Azimuth (deg)", "Direction looking ahead, degrees clockwise from grid north.", kind="number"
    ),
    "grade_percent": ColumnInfo(
        "Grade (%)", "Rise over horizontal distance, percent; rising ahead is positive.", kind="number"
    ),
}

_FINDINGS = {
    "code": ColumnInfo("Finding", "What was found.", "finding_code"),
    "severity": ColumnInfo("Severity", "How much it matters.", "severity"),
    "route": _ROUTE,
    "joint": _JOINT,
    "joint_uid": _JOINT_UID,
    "station": _STATION,
    "from_station": ColumnInfo(
        "From station",
        "Station where the length begins that the finding is about, or of the first of the joints that share what was "
        "found, in {station_unit}; blank where it is about its joint alone.",
    ),
    "to_station": ColumnInfo("To station", "Station where that length ends, or of the last of those joints."),
    "point": ColumnInfo(
        "Point", "Point number of the survey shot that the finding is about, else its row or vertex; blank for others."
    ),
    "value": ColumnInfo("Value", "The value that was judged, in the unit beside it.", kind="number"),
    "limit": ColumnInfo("Limit", "The limit it was held against, in the unit beside it.", kind="number"),
    "unit": ColumnInfo("Unit", "Unit of value and limit."),
    "basis": ColumnInfo("Basis", "What the limit rests on."),
    "message": ColumnInfo("Message", "The finding in words."),
}

_CENTERLINE = {
    "route": _ROUTE,
    "start_station": ColumnInfo("Start station", "Station of the route's first vertex, in {station_unit}."),
    "equations": ColumnInfo("Station equations", "Station equations in order along the route, in {station_unit}."),
    "length": ColumnInfo("Length", "Horizontal length of the route, in {unit}.", kind="number"),
    "vertices": ColumnInfo("Vertices", "Number of vertices (survey shots) of the route.", kind="whole"),
}

_FROM_STATION = ColumnInfo("From station", "Station where the length begins, in {station_unit}.")
_TO_STATION = ColumnInfo("To station", "Station where the length ends, in {station_unit}.")
_FROM_DISTANCE = ColumnInfo(
    "From distance", "Distance along the route where the length begins, in {unit}.", kind="number"
)
_TO_DISTANCE = ColumnInfo("To distance", "Distance along the route where the length ends, in {unit}.", kind="number")
_STRETCH = ColumnInfo("Length", "Horizontal length along the route, on the ground, in {station_unit}.", kind="number")

_RESTRAINT = {
    "route": _ROUTE,
    "from_station": _FROM_STATION,
    "to_station": _TO_STATION,
    "from_distance": _FROM_DISTANCE,
    "to_distance": _TO_DISTANCE,
    "length": _STRETCH,
    "why": ColumnInfo("Why", "Why the design wants this length restrained, as the job says."),
    "named_by": ColumnInfo("Named by", "Key of the job file, or file and row, that names this length."),
    "joints": ColumnInfo("Joints", "Number of joints in the length, its ends included.", kind="whole"),
    "joints_unrestrained": ColumnInfo(
        "Not restrained", "Number of these that are not recorded as restrained.", kind="whole"
    ),
}

_PRESSURE_TESTS = {
    "route": _ROUTE,
    "from_station": _FROM_STATION,
    "to_station": _TO_STATION,
    "from_distance": _FROM_DISTANCE,
    "to_distance": _TO_DISTANCE,
    "length": _STRETCH,
    "result": ColumnInfo(
        "Result",
        "Make-up water against the testing allowance, pressure and time against the job's limits; not an acceptance.",
        "test_result",
    ),
    "sizes": ColumnInfo("Sizes", "Each nominal size in the length, and how much there is of it, in {station_unit}."),
    "pressure": ColumnInfo("Pressure", "Average test pressure, in the unit beside it.", kind="number"),
    "pressure_unit": ColumnInfo("Pressure unit", "Unit of the pressure: psi or kPa."),
    "duration_h": ColumnInfo("Duration (h)", "Duration of the test, hours.", kind="number"),
    "allowance": ColumnInfo(
        "Allowance",
        "Make-up water allowed over the whole test for the sizes known, in the unit beside it.",
        kind="number",
    ),
    "makeup": ColumnInfo(
        "Make-up water", "Make-up water measured over the whole test, in the unit beside it.", kind="number"
    ),
    "water_unit": ColumnInfo("Water unit", "Unit of allowance and make-up water: gal (US) or L."),
    "tested_on": ColumnInfo("Tested on", "Date of the test.", kind="date"),
    "message": ColumnInfo("Message", "The result in words."),
}


def _passed(title: str, description: str) -> ColumnInfo:
    return ColumnInfo(title, description, "yes_no")


def _at_clock(field: str, title: str, description: str) -> dict[str, ColumnInfo]:
    return {
        f"{field}_{hour}": ColumnInfo(
            f"{title} at {hour}", f"{description} at {hour} o'clock, looking ahead, in {{reading_unit}}.", kind="number"
        )
        for hour in (12, *range(1, 12))
    }


_INSPECTIONS = {
    "record": _RECORD,
    "file": _FILE,
    "row": _ROW,
    "joint_uid": _JOINT_UID,
    "route": _ROUTE,
    "joint": _JOINT,
    "station": _STATION,
    "offset": ColumnInfo(
        "Offset", "Offset square to the centerline, in {station_unit}; right positive, looking ahead.", kind="number"
    ),
    "kind": _KIND,
    "size": _SIZE,
    "outside_diameter": ColumnInfo(
        "Outside diameter", "Outside diameter of the pipe as logged, in the unit of its nominal size.", kind="number"
    ),
    "joint_type": _JOINT_TYPE,
    "pipe_class": ColumnInfo("Pipe class", "Pressure or thickness class of the pipe, as logged."),
    "laid_length": ColumnInfo("Laid length", "Length of the pipe as laid, in {station_unit}.", kind="number"),
    "cut": ColumnInfo("Cut", "Whether the pipe was cut.", "yes_no"),
    "restrained": _RESTRAINED,
    "bend_angle": ColumnInfo("Bend angle (deg)", "Angle of the fitting, degrees.", kind="number"),
    "bend_plane": ColumnInfo(
        "Bend plane", "Plane in which the fitting turns: horizontal, vertical or rolled, as logged."
    ),
    "inspected_on": _INSPECTED_ON,
    "inspector": _INSPECTOR,
    "crew": ColumnInfo("Crew", "Crew that laid the pipe."),
    "groove_clean": _passed("Groove clean", "Whether the bell's gasket groove was clean."),
    "spigot_clean": _passed("Spigot clean", "Whether the spigot was clean back to the insertion marks."),
    "gasket_clean": _passed("Gasket clean", "Whether the gasket was clean."),
    "gasket_temperature": ColumnInfo(
        "Gasket temperature (F)", "Temperature of the gasket when fitted, degrees F.", kind="number"
    ),
    "gasket_seated": _passed("Gasket seated", "Whether the gasket was seated evenly in its groove."),
    "lubricated": _passed("Lubricated", "Whether gasket and spigot were lubricated."),
    "insertion_mark": _passed("Insertion mark", "Whether the spigot went in to its insertion mark."),
    "gauge": _passed("Gauge", "Whether the feeler gauge touched the gasket evenly all around."),
    **_at_clock("gap", "Gap", "Distance from the bell face to the insertion mark"),
    **_at_clock("gauge", "Gauge depth", "Depth at which the feeler gauge touched the gasket"),
    "bolt_torque": ColumnInfo(
        "Bolt torque", "Torque of the bolts of a mechanical joint; as logged, unit as the job says.", kind="number"
    ),
    "easting": ColumnInfo(
        "Easting", "Easting that the log has for the joint, in the log's own coordinate system.", kind="number"
    ),
    "northing": ColumnInfo(
        "Northing", "Northing that the log has for the joint, in the log's own coordinate system.", kind="number"
    ),
    "elevation": ColumnInfo(
        "Elevation", "Elevation that the log has for the joint, in the log's own unit.", kind="number"
    ),
    "remarks": ColumnInfo("Remarks", "Remarks of the crew or the inspector."),
    "photo": ColumnInfo("Photo", "Photo numbers or files, as logged."),
    "photo_files": ColumnInfo(
        "Photo files", "Files of these photos that were found, as paths from the job's folder, separated by semicolons."
    ),
    "station_settled_by": ColumnInfo(
        "Station settled by",
        "What told which place is meant where a station occurs more than once: back/ahead, equation, joint sequence or "
        "survey.",
    ),
    "latest": ColumnInfo("Latest", "Whether this is the joint's latest record, which counts.", "yes_no"),
    "original": _ORIGINAL,
}

_SET_ASIDE = {
    "record": _RECORD,
    "file": _FILE,
    "row": _ROW,
    "route": ColumnInfo("Route", "Route that the record names, as the log has it; or the only one there is."),
    "joint": ColumnInfo("Joint", "Joint number, as the log has it."),
    "reason": ColumnInfo("Reason", "Why the record could not be placed.", "set_aside_reason"),
    "message": ColumnInfo("Message", "The reason in words, and what to correct."),
    "original": _ORIGINAL,
}

_STATIONING = {
    "route": _ROUTE,
    "stretch": ColumnInfo(
        "Stretch", "Number of the stretch between station equations, from 1 on each route.", kind="whole"
    ),
    "from_distance": ColumnInfo(
        "From distance", "Distance along the route where the piece begins, in {unit}.", kind="number"
    ),
    "to_distance": ColumnInfo(
        "To distance", "Distance along the route where the piece ends, in {unit}.", kind="number"
    ),
    "from_station": ColumnInfo(
        "From station", "Station where the piece begins, as a number, in {station_unit}.", kind="number"
    ),
    "to_station": ColumnInfo(
        "To station", "Station where the piece ends, as a number, in {station_unit}.", kind="number"
    ),
}

_REQUIRED = {
    "family": ColumnInfo("Joint family", "Joint type, with 'restrained-' in front where restrained; blank: not known."),
    "field": ColumnInfo("Field", "Field of layer inspections that the job requires at joints of this family."),
}

_NOTES = {
    "code": ColumnInfo("Note", "What kind of note it is.", "note_code"),
    "severity": ColumnInfo("Severity", "How much it matters.", "severity"),
    "about": ColumnInfo("About", "What it is about.", "note_about"),
    "text": ColumnInfo("Text", "The note in words."),
    "routes": ColumnInfo("Routes", "Names of the routes that it is about, as a JSON list; blank: the whole job."),
}

_RUN = {
    "file_version": ColumnInfo(
        "File version", "Version of the layout of this file, by which a reader knows what is in it.", kind="whole"
    ),
    "name": ColumnInfo("Job", "Name of the job."),
    "made_at": ColumnInfo("Made at", "When this file was made, UTC."),
    "asbuilt_version": ColumnInfo("Version", "Version of the asbuilt software that made this file."),
    "crs": ColumnInfo("Centerline system", "Coordinate system of the centerline."),
    "output_crs": ColumnInfo("Map system", "Coordinate system of the layers in this file."),
    "datum_step": ColumnInfo(
        "Datum step",
        "How coordinates were carried to the map's system, and to longitude and latitude, with accuracies.",
    ),
    "surveyed_on": ColumnInfo("Surveyed on", "Last day of the survey, where the job says it.", kind="date"),
    "station_unit": ColumnInfo("Station unit", "Unit of the log's stations.", "length_unit"),
    "coordinate_unit": ColumnInfo("Coordinate unit", "Unit of the centerline's coordinates.", "length_unit"),
    "size_unit": ColumnInfo("Size unit", "Unit of nominal pipe sizes.", "small_unit"),
    "reading_unit": ColumnInfo("Reading unit", "Unit of readings at the joint.", "small_unit"),
    "torque_unit": ColumnInfo("Torque unit", "Unit of the torques of bolts.", "torque_unit"),
    "station_format": ColumnInfo("Station format", "How stations are written.", "station_format"),
    "laying_length": ColumnInfo(
        "Laying length", "Nominal laying length of the pipe, in {station_unit}.", kind="number"
    ),
    "pipe": ColumnInfo("Pipe described", "Which pipe a record describes.", "pipe_side"),
    "records_read": ColumnInfo(
        "Records read", "Records in all files of the log: those placed and those set aside.", kind="whole"
    ),
    "inspections_placed": ColumnInfo(
        "Inspections placed", "Records that were placed; the rows of layer inspections.", kind="whole"
    ),
    "records_set_aside": ColumnInfo(
        "Records set aside", "Records that could not be placed; the rows of set_aside.", kind="whole"
    ),
    "joints": ColumnInfo("Joints", "Number of joints.", kind="whole"),
    "segments": ColumnInfo("Segments", "Number of straights between successive joints.", kind="whole"),
    "findings": ColumnInfo("Findings", "Number of findings.", kind="whole"),
    "counts": ColumnInfo(
        "Counts",
        "Counts by reason, verdict, inspection and finding; closures of ties, and accuracy by check shots; as JSON.",
    ),
    "inputs": ColumnInfo("Inputs", "Every file read, with its SHA-256, as JSON."),
    "matches": ColumnInfo("Column matches", "Which column of each log file was read as which field, as JSON."),
    "job": ColumnInfo("Job file", "Text of the job file."),
    "versions": ColumnInfo("Library versions", "Versions of Python and of the libraries used, as JSON."),
}

LAYERS: dict[str, LayerInfo] = {
    "joints": LayerInfo(
        "Pipe joints: where each is, its deflection against its allowable, and its inspection.", "Point Z", _JOINTS
    ),
    "segments": LayerInfo("Straights between successive joints.", "LineString Z", _SEGMENTS),
    "findings": LayerInfo(
        "Things to look at: gaps, contradictions and limits passed, each with its basis.", "Point Z", _FINDINGS
    ),
    "centerline": LayerInfo(
        "As-built centerline of each route; its measure (M) is the distance from its start, in {unit}.",
        "LineString ZM",
        _CENTERLINE,
    ),
    "restraint": LayerInfo(
        "Lengths that the design wants restrained, with the joints in them that are not recorded as restrained.",
        None,
        _RESTRAINT,
    ),
    "pressure_tests": LayerInfo(
        "Pressure tests with allowance and make-up water, and the lengths of the routes under no test.",
        None,
        _PRESSURE_TESTS,
    ),
    "inspections": LayerInfo(
        "Every record of the joint log that was placed, with its row as the file has it.", None, _INSPECTIONS
    ),
    "set_aside": LayerInfo(
        "Every record of the joint log that could not be placed, with the reason and its row.", None, _SET_ASIDE
    ),
    "stationing": LayerInfo(
        "Pieces of the routes along which stations run evenly: between station equations and ties.", None, _STATIONING
    ),
    "required": LayerInfo("Inspection fields that the job requires, by joint family.", None, _REQUIRED),
    "notes": LayerInfo("What was noticed about the job and its inputs as a whole.", None, _NOTES),
    "run": LayerInfo("What made this file: inputs with SHA-256, job, versions, counts and time.", None, _RUN),
}
"""Every layer of the output, in the order in which they are written."""
