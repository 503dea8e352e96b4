"""Fields of a joint log: the names their columns go by, and which of them are numbers, yes or no, evidence."""

from __future__ import annotations

from typing import TYPE_CHECKING

from asbuilt.inputs.headers import normalised
from asbuilt.keys.fields import CLOCK_HOURS, GAP_FIELDS, GAUGE_FIELDS

if TYPE_CHECKING:
    from asbuilt.job import Job

READING_FIELDS = (*GAP_FIELDS, *GAUGE_FIELDS)
GROUND_FIELD = "ground"
"""Elevation of the ground over the joint: read only where the job names its column, and written into no layer."""
NUMBER_FIELDS = (
    "offset", "outside_diameter", "laid_length", *READING_FIELDS, "bolt_torque", "easting", "northing", "elevation",
    GROUND_FIELD,
)  # fmt: skip
POSITIVE_FIELDS = ("outside_diameter", "laid_length")
"""Number fields in which anything not over zero is unreadable."""
EVIDENCE_FIELDS = (
    "groove_clean", "spigot_clean", "gasket_clean", "gasket_temperature", "gasket_seated", "lubricated",
    "insertion_mark", "gauge", *READING_FIELDS, "bolt_torque",
)  # fmt: skip
"""Fields that say how the joint itself was found, as against who looked and when."""

_CLOCK_WORDS = {12: "top", 3: "right", 6: "bottom", 9: "left"}
_NAMES = {
    "route": "route routeid line main run alignment street",
    "joint": "joint jt jointno jtno jointnumber jointid jno jointnr",
    "station": "station sta stationing stano stationno chainage stn",
    "offset": "offset off os",
    "kind": "kind item piece fitting whatlaid pipefitting pipeorfitting",
    "size": "size pipesize dia diameter nominalsize dn nominaldiameter nomdia",
    "outside_diameter": "outsidediameter od outsidedia outerdiameter pipeod",
    "joint_type": "jointtype jttype typeofjoint type jointfamily",
    "pipe_class": "pipeclass class pressureclass thicknessclass pc",
    "laid_length": "laidlength lengthlaid length layinglength pipelength lgth len",
    "cut": "cut cutpipe cutlength iscut",
    "restrained": "restrained restraint restr restrainedyn",
    "bend_angle": "bendangle bendangledeg angle fittingangle bend benddeg",
    "bend_plane": "bendplane plane roll horvert hv",
    "inspected_on": "inspectedon date inspectiondate datelaid laidon dateinspected",
    "inspector": "inspector insp inspectedby inspby inspectorinitials",
    "crew": "crew foreman gang crewno",
    "groove_clean": "grooveclean bellclean bellgrooveclean groove bellcleaned",
    "spigot_clean": "spigotclean spigotcleaned spigot",
    "gasket_clean": "gasketclean gsktclean gasketcleaned",
    "gasket_temperature": "gaskettemperature gaskettemp gskttemp gskttemperature temp temperature",
    "gasket_seated": "gasketseated gsktseated seated gasketseat",
    "lubricated": "lubricated lube lubed lubricant lubeapplied",
    "insertion_mark": "insertionmark hometomark home homemark tomark insertion mark homeok",
    "gauge": "gauge gaugeok feelergauge feeler gaugecheck feelercheck feelerok gage gageok feelergage",
    "bolt_torque": "bolttorque torque bolttq",
    "easting": "easting east e",
    "northing": "northing north n",
    "elevation": "elevation elev el topofpipe topelev",
    "remarks": "remarks remark comments comment notes note",
    "photo": "photo photos picture pictures photono image",
} | {
    f"{what}_{hour}": f"{what}{hour} {what}{hour}oclock {what}{_CLOCK_WORDS.get(hour, hour)}"
    for what in ("gap", "gauge")
    for hour in CLOCK_HOURS
}
FIELD_NAMES: dict[str, frozenset[str]] = {field: frozenset(names.split()) for field, names in _NAMES.items()}
"""Column names, in the plain form of `headers.normalised`, that logs use for each field; common practice, no source."""


def known_names(job: Job) -> dict[str, frozenset[str]]:
    """Give the column names by which a header row is found: the usual ones, and those that the job maps."""
    mapped = {field: normalised(name) for field, name in job.records.columns.items() if isinstance(name, str)}
    return {field: names | {mapped.get(field, field)} for field, names in FIELD_NAMES.items()}
