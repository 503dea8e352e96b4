"""Fields of a joint log: the names their columns go by, and which of them are numbers, yes or no, evidence."""

from __future__ import annotations

from typing import TYPE_CHECKING

from asbuilt.inputs.headers import normalised
from asbuilt.keys.fields import CLOCK_HOURS, GAP_FIELDS, GAUGE_FIELDS
from asbuilt.vocabulary import YES_NO_FIELDS

if TYPE_CHECKING:
    from asbuilt.job import Job

READING_FIELDS = (*GAP_FIELDS, *GAUGE_FIELDS)
GROUND_FIELD = "ground"
"""Elevation of the ground over the joint: read only where the job names its column, and written into no layer."""
SIZE_IN_KIND = "size_in_kind"
"""The size that stands in what was laid, held against that of its own column and written into no layer."""
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
PASSED_FIELDS = tuple(field for field in EVIDENCE_FIELDS if field in YES_NO_FIELDS)
"""Those of them that say whether an item passed."""

_CLOCK_WORDS = {12: "top", 3: "right", 6: "bottom", 9: "left"}
_NAMES = {
    "route": """route routeid routename routeno line linename lineid main mainid mainname watermain run alignment
        alignmentname street streetname pipeline""",
    "joint": """joint jt jnt jointno jtno jntno jointnumber jtnumber jointnum jtnum jointid jtid jointref jno jointnr
        jointcount""",
    "station": """station sta stat stationing stano stationno jointsta jointstation jtsta stationofjoint chainage
        jointchainage chain ch chge stn""",
    "offset": "offset off os offsetfromcl offsetlr offsetrtlt offsetltrt",
    "kind": """kind item piece fitting whatlaid pipefitting pipeorfitting piecelaid component fittingtype piecetype
        itemtype""",
    "size": """size pipesize dia diam diameter pipedia pipediam pipediameter nominalsize nomsize dn pipedn
        nominaldiameter nomdia nominalbore nps bore""",
    "outside_diameter": "outsidediameter od outsidedia outsidediam outerdiameter pipeod spigotod",
    "joint_type": """jointtype jttype jnttype typeofjoint typeofjt type jointfamily jointstyle jointingtype connection
        connectiontype""",
    "pipe_class": """pipeclass classofpipe class pressureclass pressclass thicknessclass wallclass pc""",
    "laid_length": """laidlength lengthlaid laidlen laidlgth length layinglength layinglgth laylength laylgth laylen
        pipelength pipelgth pipelen lengthofpipe lgthlaid effectivelength lgth len""",
    "cut": "cut cutpipe pipecut cutlength cutpiece cutyn iscut",
    "restrained": """restrained restraint restr rj rjyn restrainedyn restraintyn restrainedjoint restrainedjt
        restrainedjointyn""",
    "bend_angle": """bendangle bendangledeg angle fittingangle elbowangle angleofbend degreeofbend bend benddeg
        benddegrees""",
    "bend_plane": "bendplane planeofbend plane roll horvert horizvert hv",
    "inspected_on": """inspectedon inspecteddate date inspectiondate inspdate dateofinspection dateinspected datechecked
        datelaid laiddate laidon laydate dateoflaying installdate installationdate dateinstalled datejointed
        jointdate workdate""",
    "inspector": """inspector insp inspectedby inspby inspectorinitials inspectorsinitials inspinitials inspectorname
        inspname checkedby chkdby ckdby verifiedby witnessedby qcby""",
    "crew": "crew crewno crewid crewname crewforeman foreman gang gangno ganger squad laidby pipelayer installedby",
    "groove_clean": """grooveclean cleangroove groovecleaned bellclean cleanbell bellcleaned bellcleanok bellgrooveclean
        groove socketclean socketcleaned cleansocket socketgrooveclean""",
    "spigot_clean": """spigotclean cleanspigot spigotcleaned spigotcleanok spigot plainendclean peclean""",
    "gasket_clean": "gasketclean cleangasket gsktclean gasketcleaned gasketcleanok ringclean",
    "gasket_temperature": """gaskettemperature gaskettemp gasktemp gsktemp gskttemp gskttemperature tempofgasket
        tempgasket temperatureofgasket temperaturegasket tempgskt ringtemp ringtemperature temp temperature""",
    "gasket_seated": """gasketseated gsktseated gasketseatedok seated gasketseat gasketset gasketinplace gasketseating
        ringseated""",
    "lubricated": """lubricated lube lubed lubeok lubeyn lubricant lubricantapplied lubricantok lubricationok
        lubrication lubeapplied lubricatedyn greased""",
    "insertion_mark": """insertionmark insertionmarkok insertionmarkcheck insertmark insmark insmarkok inserttomark
        insertedtomark hometomark hometomarkok pushedhome pushedtomark home homeok fullyhome homemark tomark insertion
        mark markok marks marksok hometomarks""",
    "gauge": """gauge gaugeok gaugecheck gaugechecked feelergauge feelergaugeok feelergaugecheck feelergaugepass feeler
        feelercheck feelerok gage gageok gagecheck feelergage feelergageok""",
    "bolt_torque": """bolttorque boltstorque boltstorqued torque torqueapplied torqueofbolts tbolttorque bolttq
        nuttorque""",
    "easting": "easting eastings east e longitude long lon lng",
    "northing": "northing northings north n latitude lat",
    "elevation": """elevation elev el topofpipe topofpipeelevation topofpipeelev toppipeelev topofpipeel topelev
        topelevation elevtop rl toprl reducedlevel""",
    "remarks": "remarks remark comments comment notes note memo observations remarksnotes fieldnotes",
    "photo": """photo photos photofile photofilename photoname photoid photoref photonumber picture pictures pic pics
        photono image imagefile""",
} | {
    f"{what}_{hour}": " ".join(
        f"{name}{hour} {name}{hour}oclock {name}at{hour} {name}at{hour}oclock {name}{hour}00 {hour}{name} "
        f"{hour}oclock{name} {hour}00{name} {name}{_CLOCK_WORDS.get(hour, hour)}"
        for name in names
    )
    for what, names in {
        "gap": ("gap", "gaptomark", "gapreading"),
        "gauge": ("gauge", "gage", "gaugedepth", "feeler", "feelergauge"),
    }.items()
    for hour in CLOCK_HOURS
}
DOUBTFUL_NAMES: dict[str, tuple[str, ...]] = {
    "x": ("easting", "northing"), "y": ("easting", "northing"),
    "xcoord": ("easting", "northing"), "ycoord": ("easting", "northing"),
    "by": ("inspector", "crew"), "initials": ("inspector", "crew"), "signed": ("inspector", "crew"),
    "name": ("inspector", "crew"),
    "lineno": ("route", "joint"), "linenumber": ("route", "joint"), "number": ("joint", "route"),
    "pipeno": ("joint", "route"), "pipenumber": ("joint", "route"), "pipe": ("joint", "kind"),
    "description": ("kind", "remarks"), "desc": ("kind", "remarks"),
    "gasket": ("gasket_clean", "gasket_seated"), "gasketok": ("gasket_clean", "gasket_seated"),
    "clean": ("groove_clean", "spigot_clean", "gasket_clean"),
    "cleaned": ("groove_clean", "spigot_clean", "gasket_clean"),
    "bell": ("groove_clean", "joint_type"), "check": ("insertion_mark", "gauge"), "ok": ("insertion_mark", "gauge"),
    "checked": ("insertion_mark", "gauge"), "checkok": ("insertion_mark", "gauge"),
    "laid": ("laid_length", "inspected_on", "inspector"),
    "level": ("elevation", "bend_plane"), "top": ("elevation", "gap_12"),
}  # fmt: skip
"""Column names, in their plain form, that crews use for more than one thing: asked of the job, never guessed."""
FIELD_NAMES: dict[str, frozenset[str]] = {field: frozenset(names.split()) for field, names in _NAMES.items()}
"""Column names, in the plain form of `headers.normalised`, that logs use for each field; common practice, no source."""


def known_names(job: Job) -> dict[str, frozenset[str]]:
    """Give the column names by which a header row is found: the usual ones, and those that the job maps."""
    chosen = {field: [one] if isinstance(one, str) else one for field, one in job.records.columns.items()}
    mapped = {field: set(map(normalised, one)) for field, one in chosen.items() if not isinstance(one, int)}
    return {field: names | mapped.get(field, {field}) for field, names in FIELD_NAMES.items()}
