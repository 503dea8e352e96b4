"""The algorithms that read a job: check it, and place its joints.

A job is the form's own layers, files and choices, or a job file that is there already.
"""

import tempfile
from pathlib import Path

from qgis.core import (
    QgsProcessing,
    QgsProcessingException,
    QgsProcessingOutputNumber,
    QgsProcessingOutputVectorLayer,
    QgsProcessingParameterBoolean,
    QgsProcessingParameterCrs,
    QgsProcessingParameterEnum,
    QgsProcessingParameterFeatureSource,
    QgsProcessingParameterField,
    QgsProcessingParameterFile,
    QgsProcessingParameterFileDestination,
    QgsProcessingParameterMatrix,
    QgsProcessingParameterMultipleLayers,
    QgsProcessingParameterNumber,
    QgsProcessingParameterString,
)

from . import columns, inputs, outputs, results
from .algorithm import Algorithm
from .child import ChildError
from .words import caution, meaning, tr, vocabulary

_READ = ("JOB", "CENTERLINE", "CENTERLINE_FILE", "LOG", "LOG_FILES", "PROJECT_TABLE")
_COUNTS = ("records_read", "inspections_placed", "records_set_aside", "joints", "findings")


class JobAlgorithm(Algorithm):
    """What checking and placing share: the form of a job."""

    def initAlgorithm(self, config=None):
        """Declare the form."""
        job = QgsProcessingParameterFile("JOB", tr("Job file (in place of the form below)"), extension="toml")
        tip = tr("A job file that is there already. Then the rest of the form is not read.")
        self.declare(job, tip, optional=True)
        self._declare_centerline()
        self._declare_log()
        self._declare_limits()
        self._declare_advanced()

    def _declare_centerline(self):
        kinds, parent = QgsProcessing.SourceType, {"parentLayerParameterName": "CENTERLINE"}
        for parameter, tip in (
            (
                QgsProcessingParameterFeatureSource("CENTERLINE", tr("Centerline"), [kinds.TypeVectorLine]),
                tr("The surveyed lines of the routes, in a projected coordinate system."),
            ),
            (
                QgsProcessingParameterField("ROUTE", tr("Column with the route"), **parent),
                tr("Names the route of each line. Not needed where there is one route."),
            ),
            (
                QgsProcessingParameterField("START_FIELD", tr("Column with the start station"), **parent),
                tr("Station of each line's first vertex."),
            ),
            (
                QgsProcessingParameterString("START_STATION", tr("... or one start station for all")),
                tr("Station of the first vertex, such as 10+00."),
            ),
        ):
            self.declare(parameter, tip, optional=True)

    def _declare_log(self):
        kinds = QgsProcessing.SourceType
        mapped = QgsProcessingParameterString("COLUMNS", tr("Columns of the log"), multiLine=True)
        mapped.setMetadata({"widget_wrapper": {"class": f"{__package__}.columns_widget.ColumnsWrapper"}})
        for parameter, tip in (
            (
                QgsProcessingParameterFeatureSource("LOG", tr("Joint log"), [kinds.TypeVector]),
                tr("A table or layer with a row for each joint; points of a layer place their joints."),
            ),
            (
                QgsProcessingParameterMultipleLayers("LOG_FILES", tr("... or its files"), kinds.TypeFile),
                tr("CSV files and workbooks as the crew handed them in; several are one log."),
            ),
            (
                mapped,
                tr("Which column is which field, as lines of: field = column. The rest is matched by name."),
            ),
        ):
            self.declare(parameter, tip, optional=True)
        units = [meaning.partition(",")[0] for meaning in vocabulary()["units"].values()]
        unit = QgsProcessingParameterEnum("STATION_UNIT", tr("Unit of the stations"), units, defaultValue=0)
        self.declare(unit, tr("Unit of stations and lengths in the log."))
        number = QgsProcessingParameterNumber.Type.Double
        length = QgsProcessingParameterNumber("LAYING_LENGTH", tr("Laying length"), number, minValue=0.0)
        self.declare(length, tr("Nominal length of one pipe, in the unit of the stations."), optional=True)

    def _declare_limits(self):
        tables = [tr("no table"), *vocabulary()["tables"]]
        table = QgsProcessingParameterEnum("TABLE", tr("Allowable deflections"), tables, defaultValue=0)
        self.declare(table, tr("A published table; written down from memory, so check it against your edition."))
        submittal = QgsProcessingParameterFile("PROJECT_TABLE", tr("Approved submittal (CSV)"), extension="csv")
        tip = tr("Rows of joint_type,size,allowable_deg,source: they win over the table's.")
        self.declare(submittal, tip, optional=True)
        name = QgsProcessingParameterString("NAME", tr("Name of the job"))
        tip = tr("Stands in the output and the register. Give each job its own: jobs of one name correct one another.")
        self.declare(name, tip, optional=True)

    def _declare_advanced(self):
        add = self.declare
        add(
            QgsProcessingParameterFile(
                "CENTERLINE_FILE",
                tr("Centerline file (survey shots, LandXML)"),
                fileFilter=tr("Survey shots or LandXML") + " (*.csv *.txt *.xml)",
            ),
            tr("A CSV of survey shots or a LandXML file, in place of a line layer."),
            optional=True, advanced=True,
        )  # fmt: skip
        add(
            QgsProcessingParameterString("ROUTE_NAME", tr("Name of the route")),
            tr("Where there is one route, and no column that names it."),
            optional=True, advanced=True,
        )  # fmt: skip
        add(
            QgsProcessingParameterCrs("CRS", tr("Coordinate system of the centerline")),
            tr("Only where the centerline does not say its own."),
            optional=True, advanced=True,
        )  # fmt: skip
        add(
            QgsProcessingParameterMatrix(
                "EQUATIONS", tr("Station equations"), 1, False, [tr("route"), tr("back"), tr("ahead")]
            ),
            tr("One row for each, in order along the route: the same point is 'back' from one side and 'ahead' from "
               "the other."),
            optional=True, advanced=True,
        )  # fmt: skip
        add(
            QgsProcessingParameterNumber(
                "FRACTION", tr("Part of the allowable that may be used"),
                QgsProcessingParameterNumber.Type.Double, defaultValue=1.0, minValue=0.01, maxValue=1.0,
            ),
            tr("As the specification says; 1 is all of it."),
            advanced=True,
        )  # fmt: skip
        add(
            QgsProcessingParameterCrs("MAP_CRS", tr("Coordinate system of the map")),
            tr("Of the layers that are written; the centerline's, if left out."),
            optional=True, advanced=True,
        )  # fmt: skip
        add(
            QgsProcessingParameterString("MORE", tr("Further keys of the job file"), multiLine=True),
            tr("TOML, such as: records.spacing_tolerance = 0.5. All keys: asbuilt check --template"),
            optional=True, advanced=True,
        )  # fmt: skip

    def checkParameterValues(self, parameters, context):
        """Say what the form still lacks."""
        fine, message = super().checkParameterValues(parameters, context)
        if not fine or self.parameterAsFile(parameters, "JOB", context):
            return fine, message
        given = {name for name in ("CENTERLINE", "CENTERLINE_FILE", "LOG", "LOG_FILES") if parameters.get(name)}
        for one, other, what in (
            ("CENTERLINE", "CENTERLINE_FILE", tr("centerline")),
            ("LOG", "LOG_FILES", tr("joint log")),
        ):
            if not given & {one, other}:
                return False, tr("Give the {0} (or a job file)").format(what)
            if {one, other} <= given:
                return False, tr("The {0} is given twice: as a layer and as a file").format(what)
        if not parameters.get("LAYING_LENGTH"):
            return False, tr("Give the laying length (or a job file)")
        if not self.parameterAsString(parameters, "NAME", context).strip():
            return False, tr("Give the job a name of its own: in the register, jobs of one name correct one another")
        return True, ""

    def job_file(self, parameters, context, feedback, folder):
        """Give the job file to run: the one named, or the form written down as one."""
        named = self.parameterAsFile(parameters, "JOB", context)
        if named:
            return Path(named)
        keys = {
            "name": self.parameterAsString(parameters, "NAME", context).strip(),
            **self._centerline_keys(parameters, context, feedback, folder),
            **self._log_keys(parameters, context, feedback, folder),
            **self._limit_keys(parameters, context),
            "output.crs": _authority(self.parameterAsCrs(parameters, "MAP_CRS", context)),
        }
        path = Path(folder) / "job.toml"
        text = inputs.job_text(keys, self.parameterAsString(parameters, "MORE", context))
        path.write_text(text, "utf-8")
        feedback.pushDebugInfo(text)
        return path

    def _centerline_keys(self, parameters, context, feedback, folder):
        source = self.parameterAsSource(parameters, "CENTERLINE", context)
        path = self.parameterAsFile(parameters, "CENTERLINE_FILE", context)
        crs = self.parameterAsCrs(parameters, "CRS", context)
        if source is not None:
            path = inputs.write_source(source, folder, context, feedback)
        start = self.parameterAsString(parameters, "START_FIELD", context)
        return {
            "crs": _authority(crs),
            "centerline.path": str(path),
            "centerline.route": self.parameterAsString(parameters, "ROUTE", context),
            "centerline.route_name": self.parameterAsString(parameters, "ROUTE_NAME", context),
            "centerline.start_station": start or self.parameterAsString(parameters, "START_STATION", context),
            "centerline.equations": _equations(self.parameterAsMatrix(parameters, "EQUATIONS", context)),
        }

    def _log_keys(self, parameters, context, feedback, folder):
        source = self.parameterAsSource(parameters, "LOG", context)
        if source is not None:
            paths = [str(inputs.write_source(source, folder, context, feedback))]
        else:
            paths = self.parameterAsFileList(parameters, "LOG_FILES", context)
        chosen = columns.parse(self.parameterAsString(parameters, "COLUMNS", context))
        return {
            "records.path": paths,
            "records.station_unit": list(vocabulary()["units"])[
                self.parameterAsEnum(parameters, "STATION_UNIT", context)
            ],
            "records.laying_length": self.parameterAsDouble(parameters, "LAYING_LENGTH", context),
            **{f"records.columns.{field}": column for field, column in chosen.items()},
        }

    def _limit_keys(self, parameters, context):
        table = self.parameterAsEnum(parameters, "TABLE", context)
        return {
            "limits.table": vocabulary()["tables"][table - 1] if table else None,
            "limits.project": self.parameterAsFile(parameters, "PROJECT_TABLE", context),
            "limits.fraction": self.parameterAsDouble(parameters, "FRACTION", context),
        }

    def run_job(self, arguments, parameters, context, feedback, output=None):
        """Run a command on the form's job, and give its answer; nothing that it reads is its output."""
        read = [parameters.get(name) for name in _READ if parameters.get(name)]
        for one in read:
            outputs.refuse_inputs(output, one, context)
        with tempfile.TemporaryDirectory(prefix="asbuilt-") as folder:
            try:
                job = self.job_file(parameters, context, feedback, folder)
            except ChildError as error:
                raise QgsProcessingException(str(error)) from None
            answer = self.ask([arguments[0], str(job), *arguments[1:]], feedback)
        _tell(answer, feedback)
        feedback.pushInfo(caution())
        return answer

    def declare_counts(self):
        """Declare the counts that every job ends with."""
        for name in _COUNTS:
            self.addOutput(QgsProcessingOutputNumber(name.upper(), name.replace("_", " ")))


class Check(JobAlgorithm):
    """`asbuilt check`."""

    NAME = "check"

    def displayName(self):
        """Title in the toolbox."""
        return tr("Check a joint log")

    def purpose(self):
        """What it does, for the form."""
        return tr(
            "Reads and judges a joint log and its centerline; nothing is written but the log with remarks, if wanted."
            "\n\n"
            "The log below then says what would become of every record: how many can be placed, which are set aside "
            "and why, how the columns are read, and what there is to look at.\n\n"
            "Inputs are layers and tables of the project, also filtered ones, or files, or a job file."
        )

    def initAlgorithm(self, config=None):
        """Declare the form and the counts."""
        super().initAlgorithm(config)
        marked = QgsProcessingParameterFileDestination(
            "RETURN", tr("Log with remarks, for the contractor"), tr("Workbook") + " (*.xlsx)", optional=True,
            createByDefault=False,
        )  # fmt: skip
        marked.setHelp(tr("The log's own cells, with a column of remarks on what is wrong and what is expected."))
        self.addParameter(marked)
        self.declare_counts()

    def processAlgorithm(self, parameters, context, feedback):
        """Check the job."""
        marked = self.parameterAsFileOutput(parameters, "RETURN", context)
        wanted = ["check", "--return", marked] if marked else ["check"]
        answer = self.run_job(wanted, parameters, context, feedback, marked)
        for file, field, column in answer["columns"]:
            feedback.pushInfo(tr("{0}: column {1!r} is read as {2}").format(Path(file).name, column, field))
        for file, column in answer["columns_not_read"]:
            feedback.pushInfo(tr("{0}: column {1!r} is not read").format(Path(file).name, column))
        for path in answer.get("returned", ()):
            feedback.pushInfo(tr("Written: {0}").format(path))
        return {"RETURN": marked, **{name.upper(): answer[name] for name in _COUNTS}}


class Place(JobAlgorithm):
    """`asbuilt place`."""

    NAME = "place"

    def displayName(self):
        """Title in the toolbox."""
        return tr("Place joints on the map")

    def purpose(self):
        """What it does, for the form."""
        return tr(
            "Puts every joint of a log at its place on the surveyed centerline, computes what it deflects, judges it "
            "against what its size and type allow, and writes a GeoPackage: joints, segments, findings, centerline, "
            "inspections, records set aside, and what made the file.\n\n"
            "The layers open in the project with their styles; a joint's form shows its inspections and findings. "
            "No record is lost: each is placed, or set aside with its reason.\n\n"
            "The columns of the log are matched by their names; choose others where the guess is wrong."
        )

    def initAlgorithm(self, config=None):
        """Declare the form, the output and its layers."""
        super().initAlgorithm(config)
        self.declare(
            QgsProcessingParameterBoolean("OPEN", tr("Open the layers in the project"), defaultValue=True),
            tr("In a group of their own, with styles and relations."),
        )
        self.addParameter(
            QgsProcessingParameterFileDestination("OUTPUT", tr("Placed job"), tr("GeoPackage") + " (*.gpkg)")
        )
        for name in results.LAYERS:
            self.addOutput(QgsProcessingOutputVectorLayer(name.upper() + "_LAYER", name.replace("_", " ")))
        self.declare_counts()

    def processAlgorithm(self, parameters, context, feedback):
        """Place the job."""
        path = self.parameterAsFileOutput(parameters, "OUTPUT", context)
        answer = self.run_job(["place", "--out", path], parameters, context, feedback, path)
        if self.parameterAsBool(parameters, "OPEN", context):
            results.load_on_completion(path, answer["name"], context)
        layers = {name.upper() + "_LAYER": results.uri(path, name) for name in results.present(path)}
        return {"OUTPUT": path, **layers, **{name.upper(): answer[name] for name in _COUNTS}}


def _tell(answer, feedback):
    """Say in the log what became of the records."""
    say = feedback.pushInfo
    say(
        tr("{0} records read = {1} placed + {2} set aside").format(
            answer["records_read"], answer["inspections_placed"], answer["records_set_aside"]
        )
    )
    for reason, count in answer["set_aside_by_reason"].items():
        say(f"    {count} x {reason}: {meaning('set_aside_reason', reason)}")
    say(tr("{0} joints on {1} of {2} routes").format(answer["joints"], answer["routes_with_joints"], answer["routes"]))
    for verdict, count in answer["joints_by_verdict"].items():
        say(f"    {count} x {verdict}: {meaning('verdict', verdict)}")
    say(tr("{0} findings").format(answer["findings"]))
    for code, count in answer["findings_by_code"].items():
        say(f"    {count} x {code}: {meaning('finding_code', code)}")
    for note in answer["notes"]:
        feedback.pushWarning(tr("note: {0}").format(note))


def _equations(cells):
    rows = [cells[at : at + 3] for at in range(0, len(cells), 3)]
    named = [{"route": str(row[0]), "back": str(row[1]), "ahead": str(row[2])} for row in rows if len(row) == 3]
    return [{key: value for key, value in row.items() if value} for row in named if row["back"] or row["ahead"]]


def _authority(crs):
    """Name a coordinate system as the job file does; its well-known text where it has no number."""
    return (crs.authid() or crs.toWkt()) if crs.isValid() else ""
