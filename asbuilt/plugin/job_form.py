"""The form of a job: layers, files and choices, written down as a job file."""

from pathlib import Path
from typing import ClassVar

from qgis.core import (
    QgsProcessing,
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
    QgsProject,
)

from . import columns, inputs, results
from .algorithm import JobAlgorithm
from .child import ChildError
from .form_words import names_keys
from .words import tr, vocabulary

_STATIONED = {"centerline.start_station", "centerline.ties", "centerline.ties_path"}
"""Keys of a job that say where the stations of a line count from."""
_FIELDS = {
    "name": ("NAME",), "crs": ("CRS",), "centerline.path": ("CENTERLINE", "CENTERLINE_FILE"),
    "centerline.layer": ("CENTERLINE",), "centerline.route": ("ROUTE",), "centerline.route_name": ("ROUTE_NAME",),
    "centerline.start_station": ("START_FIELD", "START_STATION"), "centerline.equations": ("EQUATIONS",),
    "records.path": ("LOG", "LOG_FILES"), "records.station_unit": ("STATION_UNIT",),
    "records.laying_length": ("LAYING_LENGTH",), "limits.table": ("TABLE",), "limits.project": ("PROJECT_TABLE",),
    "limits.fraction": ("FRACTION",), "output.crs": ("MAP_CRS",),
}  # fmt: skip
"""Keys that fields of the form say: further lines that say one of them again would win unseen."""
_ALIGNMENT = ".xml"
"""The ending of a centerline file that brings its own stations."""
_SAVED = "# A job, saved from the form of the desktop GIS."


class JobForm(JobAlgorithm):
    """A job as a form."""

    READ = ("CENTERLINE", "CENTERLINE_FILE", "LOG", "LOG_FILES", "PROJECT_TABLE")
    """What the form reads."""

    WORDS: ClassVar = {
        "crs": "CRS", "centerline.path": "CENTERLINE", "centerline.layer": "CENTERLINE", "centerline.route": "ROUTE",
        "centerline.route_name": "ROUTE_NAME", "centerline.start_station": "START_STATION",
        "centerline.equations": "EQUATIONS", "records.path": "LOG_FILES", "records.columns": "COLUMNS",
        "records: laying_length": "LAYING_LENGTH",
        "records.station_unit": "STATION_UNIT", "records.laying_length": "LAYING_LENGTH", "limits.table": "TABLE",
        "limits.project": "PROJECT_TABLE", "limits.fraction": "FRACTION", "output.crs": "MAP_CRS",
    }  # fmt: skip

    def declare_job(self):
        """Declare the form."""
        self._declare_name()
        self._declare_centerline()
        self._declare_log()
        self._declare_limits()
        self._declare_columns()
        self._declare_advanced()

    def _declare_name(self):
        name = QgsProcessingParameterString("NAME", tr("Name of the job"))
        name.setMetadata({"widget_wrapper": {"class": f"{__package__}.form_filling.NameWrapper"}})
        tip = tr("Stands in the output and the register. Give each job its own: jobs of one name correct one another.")
        self.declare(name, tip)

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
            (
                QgsProcessingParameterMatrix(
                    "EQUATIONS", tr("Station equations"), 1, False, [tr("route"), tr("back"), tr("ahead")]
                ),
                tr(
                    "One row for each, in order along the route: the same point is 'back' from one side and 'ahead' "
                    "from the other."
                ),
            ),
        ):
            if parameter.name() == "CENTERLINE":
                # In the form alone: scripts and models say what they mean.
                parameter.setGuiDefaultValueOverride(results.only_line_layer(QgsProject.instance()))
            self.declare(parameter, tip, optional=True)

    def _declare_log(self):
        kinds = QgsProcessing.SourceType
        for parameter, tip in (
            (
                QgsProcessingParameterFeatureSource("LOG", tr("Joint log"), [kinds.TypeVector]),
                tr("A table or layer with a row for each joint; points of a layer place their joints."),
            ),
            (
                QgsProcessingParameterMultipleLayers("LOG_FILES", tr("... or its files"), kinds.TypeFile),
                tr("CSV files and workbooks as the crew handed them in; several are one log."),
            ),
        ):
            self.declare(parameter, tip, optional=True)
        units = list(_units())
        unit = _choice("STATION_UNIT", tr("Unit of the stations"), units, defaultValue=units[0])
        self.declare(unit, tr("Unit of stations and lengths in the log."))
        number = QgsProcessingParameterNumber.Type.Double
        length = QgsProcessingParameterNumber("LAYING_LENGTH", tr("Laying length"), number, minValue=0.0)
        self.declare(length, tr("Nominal length of one pipe, in the unit of the stations."))

    def _declare_columns(self):
        """Declare the longest part of the form: what must be filled in stands before it."""
        mapped = QgsProcessingParameterString("COLUMNS", tr("Columns of the log"), multiLine=True)
        mapped.setMetadata({"widget_wrapper": {"class": f"{__package__}.columns_widget.ColumnsWrapper"}})
        tip = tr("Which column is which field, as lines of: field = column. The rest is matched by name.")
        self.declare(mapped, tip, optional=True)

    def _declare_limits(self):
        table = _choice("TABLE", tr("Allowable deflections"), vocabulary()["tables"])
        tip = tr("A published table; written down from memory, so check it against your edition. None, if left out.")
        self.declare(table, tip, optional=True)
        submittal = QgsProcessingParameterFile("PROJECT_TABLE", tr("Approved submittal (CSV)"), extension="csv")
        tip = tr("Rows of joint_type,size,allowable_deg,source: they win over the table's.")
        self.declare(submittal, tip, optional=True)

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
        save = QgsProcessingParameterFileDestination(
            "JOB_FILE", tr("Save as job file"), tr("Job file") + " (*.toml)", optional=True, createByDefault=False
        )
        save.setHelp(tr("Writes this form down as a job file, to be run again, by the command too."))
        self.addParameter(save)

    def checkParameterValues(self, parameters, context):
        """Say what the form still lacks."""
        given = {name for name in ("CENTERLINE", "CENTERLINE_FILE", "LOG", "LOG_FILES") if parameters.get(name)}
        for one, other, what in (
            ("CENTERLINE", "CENTERLINE_FILE", tr("centerline")),
            ("LOG", "LOG_FILES", tr("joint log")),
        ):
            if not given & {one, other}:
                return False, tr("Give the {0}").format(what)
            if {one, other} <= given:
                return False, tr("The {0} is given twice: as a layer and as a file").format(what)
        log, _ = inputs.layer_of(parameters.get("LOG"), context)
        if log is not None and results.is_answer(log):
            return False, tr("{0} is what was found, not a joint log: choose what the crew handed in").format(
                log.name()
            )
        starts = [self.parameterAsString(parameters, name, context) for name in ("START_FIELD", "START_STATION")]
        if all(starts):
            return False, tr("The start station is given twice: by a column and as one for all; clear one of them")
        more = inputs.keys_of(self.parameterAsString(parameters, "MORE", context))
        file = self.parameterAsFile(parameters, "CENTERLINE_FILE", context)
        if not any(starts) and not _STATIONED & more and Path(file).suffix.lower() != _ALIGNMENT:
            return False, tr("Give the start station: a column, or one for all (0+00 where stations count from there)")
        for key, names in _FIELDS.items():
            for name in names if key in more else ():
                if self._is_given(name, parameters, context):
                    return False, tr("'{0}' is given twice: take {1} out of {2}").format(
                        self.parameterDefinition(name).description(), key, self._title_of_more()
                    )
        if not parameters.get("LAYING_LENGTH"):
            return False, tr("Give the laying length")
        if not self.parameterAsString(parameters, "NAME", context).strip():
            return False, tr("Give the job a name of its own: in the register, jobs of one name correct one another")
        return super().checkParameterValues(parameters, context)

    def _is_given(self, name, parameters, context):
        """Tell whether a field of the form says something: numbers and the unit always do."""
        if name == "EQUATIONS":
            return bool(_equations(self.parameterAsMatrix(parameters, name, context)))
        return bool(parameters.get(name) or self.parameterAsString(parameters, name, context))

    def in_its_words(self, message):
        """Put a message in the words of this form, and say where keys go that have no field in it."""
        message = super().in_its_words(message)
        if not names_keys(message):
            return message
        return f"{message} ({tr('a key is written under {0}').format(self._title_of_more())})"

    def _title_of_more(self):
        return f"'{self.parameterDefinition('MORE').description()}'"

    def job_file(self, parameters, context, feedback, folder):
        """Write the form down as a job file, and give its path.

        Raises
        ------
        ChildError
        """
        origins = []
        keys = {
            "name": self.parameterAsString(parameters, "NAME", context).strip(),
            **self._centerline_keys(parameters, context, feedback, folder),
            **self._log_keys(parameters, context, feedback, folder),
            **self._limit_keys(parameters, context),
            "output.crs": inputs.authority(self.parameterAsCrs(parameters, "MAP_CRS", context)),
        }
        for name in ("CENTERLINE", "LOG"):
            layer, _ = inputs.layer_of(parameters.get(name), context)
            path = keys["centerline.path" if name == "CENTERLINE" else "records.path"]
            copied = Path(path if isinstance(path, str) else path[0]).parent == Path(folder)
            if copied and layer is not None:
                origins.append(f"# {Path(path if isinstance(path, str) else path[0]).name}: {_origin(layer)}")
        text = inputs.job_text(keys, self.parameterAsString(parameters, "MORE", context))
        path = Path(folder) / "job.toml"
        path.write_text("\n".join([*origins, text]), "utf-8")
        feedback.pushDebugInfo(text)
        self._save(self.parameterAsFileOutput(parameters, "JOB_FILE", context), text, origins, feedback)
        return path

    def _save(self, wanted, text, origins, feedback):
        if not wanted:
            return
        if origins:
            raise ChildError(
                tr(
                    "The form cannot be saved as a job file: a layer of it is in no file, or changed by a filter. "
                    "Save the layer first."
                )
            )
        path = Path(wanted)
        if path.exists() and not _was_saved_from(path, text):
            raise ChildError(tr("{0} is there and was not saved from this form: name another file").format(wanted))
        unfinished = path.with_name(f"{path.name}.new")
        try:
            unfinished.write_text(f"{_SAVED}\n{text}", "utf-8")
            unfinished.replace(path)
        except OSError as error:
            raise ChildError(tr("{0} cannot be written: {1}").format(wanted, error.strerror)) from None
        feedback.pushInfo(tr("Saved as job file: {0}").format(wanted))

    def _centerline_keys(self, parameters, context, feedback, folder):
        source = self.parameterAsSource(parameters, "CENTERLINE", context)
        start = self.parameterAsString(parameters, "START_FIELD", context)
        route = self.parameterAsString(parameters, "ROUTE", context)
        if source is None:
            keys = {"centerline.path": self.parameterAsFile(parameters, "CENTERLINE_FILE", context)}
        else:
            value = parameters["CENTERLINE"]
            keys = inputs.line_keys(value, source, context, feedback, folder, [start, route])
        return {
            **keys,
            "crs": keys.get("crs") or inputs.authority(self.parameterAsCrs(parameters, "CRS", context)),
            "centerline.route": route,
            "centerline.route_name": self.parameterAsString(parameters, "ROUTE_NAME", context),
            "centerline.start_station": start or self.parameterAsString(parameters, "START_STATION", context),
            "centerline.equations": _equations(self.parameterAsMatrix(parameters, "EQUATIONS", context)),
        }

    def _log_keys(self, parameters, context, feedback, folder):
        source = self.parameterAsSource(parameters, "LOG", context)
        if source is None:
            keys = {"records.path": self.parameterAsFileList(parameters, "LOG_FILES", context)}
        else:

            def ask(arguments):
                return self.ask(arguments, feedback, steps=False)

            keys = inputs.log_keys(parameters["LOG"], source, context, feedback, folder, ask)
        chosen = columns.parse(self.parameterAsString(parameters, "COLUMNS", context))
        return {
            **keys,
            "records.station_unit": _units()[self.parameterAsEnumString(parameters, "STATION_UNIT", context)],
            "records.laying_length": self.parameterAsDouble(parameters, "LAYING_LENGTH", context),
            **{f"records.columns.{field}": column for field, column in chosen.items()},
        }

    def _limit_keys(self, parameters, context):
        return {
            "limits.table": self.parameterAsEnumString(parameters, "TABLE", context),
            "limits.project": self.parameterAsFile(parameters, "PROJECT_TABLE", context),
            "limits.fraction": self.parameterAsDouble(parameters, "FRACTION", context),
        }


def _was_saved_from(path, text):
    """Tell whether what is there was saved from the form of this job: that of another one is not written over."""
    there = path.read_text("utf-8", "replace").splitlines() if path.is_file() else []
    names = [line for line in text.splitlines() if line.startswith("name = ")]
    return there[:1] == [_SAVED] and names[:1] == [line for line in there if line.startswith("name = ")][:1]


def _units():
    """Give the codes of units by their words."""
    return {words.partition(",")[0]: code for code, words in vocabulary()["units"].items()}


def _choice(name, title, options, **more):
    """Make a choice that models and batches keep by its name, so that it outlives new ones beside it."""
    return QgsProcessingParameterEnum(name, title, options, usesStaticStrings=True, **more)


def _origin(layer):
    """Say where a copied layer comes from, without passwords."""
    shown = layer.publicSource() if layer.providerType() != "memory" else "memory"
    return tr("a copy of the layer {0} ({1})").format(layer.name(), " ".join(shown.split()))


def _equations(cells):
    rows = [cells[at : at + 3] for at in range(0, len(cells), 3)]
    named = [{"route": str(row[0]), "back": str(row[1]), "ahead": str(row[2])} for row in rows if len(row) == 3]
    return [{key: value for key, value in row.items() if value} for row in named if row["back"] or row["ahead"]]
