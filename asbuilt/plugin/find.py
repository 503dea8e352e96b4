"""The algorithm that finds joints in the register, by place and by what they are."""

import tempfile
from typing import ClassVar

from qgis.core import (
    QgsProcessing,
    QgsProcessingException,
    QgsProcessingOutputNumber,
    QgsProcessingOutputVectorLayer,
    QgsProcessingParameterBoolean,
    QgsProcessingParameterDateTime,
    QgsProcessingParameterEnum,
    QgsProcessingParameterFeatureSource,
    QgsProcessingParameterFileDestination,
    QgsProcessingParameterNumber,
    QgsProcessingParameterPoint,
    QgsProcessingParameterString,
)

from . import inputs, outputs, register, results
from .algorithm import Algorithm
from .child import ChildError
from .placed_job import declare_register
from .words import caution, tr, vocabulary

_LAYERS = ("joints", "findings", "inspections")
_TEXTS = {"ROUTE": "--route", "FROM": "--from", "TO": "--to", "JOINT": "--joint", "INSPECTOR": "--inspector"}


class Find(Algorithm):
    """`asbuilt find`."""

    NAME = "find"
    HELP = "questions"
    WORDS: ClassVar = {
        "--near": "POINT", "--within": "WITHIN", "--nearest": "NEAREST", "--area": "AREA", "--route": "ROUTE",
        "--from": "FROM", "--to": "TO", "--joint": "JOINT", "--verdict": "VERDICT", "--finding": "FINDING",
        "--inspector": "INSPECTOR", "--since": "SINCE", "--until": "UNTIL", "--out": "OUTPUT",
    }  # fmt: skip

    def displayName(self):
        """Title in the toolbox."""
        return tr("Find joints in the register")

    def purpose(self):
        """What it does, for the form."""
        return tr(
            "Finds the joints near a point, in polygons, or on a stretch of a route, with their inspections and "
            "findings. Joints must meet every condition given; without a distance, the ten joints nearest to the point "
            "are listed."
            "\n\nDistances are measured on the ground, in the unit that you write: 50ft, 20m."
        )

    def initAlgorithm(self, config=None):
        """Declare the form."""
        declare_register(self)
        whole, kinds = QgsProcessingParameterNumber.Type.Integer, QgsProcessing.SourceType
        domains = vocabulary()["domains"]
        for parameter, tip in (
            (QgsProcessingParameterPoint("POINT", tr("Near this point")), tr("Point at it on the map.")),
            (QgsProcessingParameterString("WITHIN", tr("Within")), tr("On the ground, with its unit: 50ft, 20m.")),
            (
                QgsProcessingParameterNumber("NEAREST", tr("At most this many"), whole, minValue=1),
                tr("The nearest ones to the point."),
            ),
            (
                QgsProcessingParameterFeatureSource("AREA", tr("In these polygons"), [kinds.TypeVectorPolygon]),
                tr("A layer of polygons, in any coordinate system."),
            ),
            (QgsProcessingParameterString("ROUTE", tr("Route")), tr("Name of the route.")),
            (QgsProcessingParameterString("FROM", tr("From station")), tr("Such as 12+34.56; needs the route.")),
            (QgsProcessingParameterString("TO", tr("To station")), tr("Such as 15+00; needs the route.")),
            (QgsProcessingParameterString("JOINT", tr("Joint")), tr("Number of the joint, or its joint ID.")),
            (
                _codes("VERDICT", tr("Verdict"), domains["verdict"]),
                tr("Deflection against its allowable."),
            ),
            (
                _codes("FINDING", tr("Finding"), domains["finding_code"]),
                tr("Joints at which one of these was found."),
            ),
            (QgsProcessingParameterString("INSPECTOR", tr("Inspector")), tr("Part of the inspector's name.")),
            (_day("SINCE", tr("Inspected since")), tr("On this day or later.")),
            (_day("UNTIL", tr("Inspected until")), tr("On this day or earlier.")),
        ):
            self.declare(parameter, tip, optional=True)
        self.declare(
            QgsProcessingParameterBoolean("OPEN", tr("Open the layers in the project"), defaultValue=True),
            tr("In a group of their own, with their relations."),
        )
        self.addParameter(
            QgsProcessingParameterFileDestination("OUTPUT", tr("Joints found"), tr("GeoPackage") + " (*.gpkg)")
        )
        for name in _LAYERS:
            self.addOutput(QgsProcessingOutputVectorLayer(name.upper() + "_LAYER", name))
        self.addOutput(QgsProcessingOutputNumber("JOINTS", tr("Number of joints")))

    def processAlgorithm(self, parameters, context, feedback):
        """Find them."""
        path = self.parameterAsFileOutput(parameters, "OUTPUT", context)
        for name in ("REGISTER", "AREA"):
            outputs.refuse_inputs(path, parameters.get(name), context)
        outputs.refuse_in_edit(path, self.in_edit)
        with tempfile.TemporaryDirectory(prefix="asbuilt-") as folder:
            arguments = self._arguments(parameters, context, feedback, folder)
            answer = self.ask([*arguments, f"--out={path}"], feedback, steps=False)
        feedback.pushInfo(tr("{0} joints were found.").format(len(answer["joints"])))
        feedback.pushInfo(caution())
        if self.parameterAsBool(parameters, "OPEN", context):
            results.load_on_completion(path, tr("Joints found"), context)
        self.written = path
        layers = {name.upper() + "_LAYER": results.uri(path, name) for name in results.present(path)}
        return {"OUTPUT": path, **layers, "JOINTS": len(answer["joints"])}

    def postProcessAlgorithm(self, context, feedback):
        """Let layers of an earlier answer in the same file that are open show what it holds now."""
        results.show_anew(self.written, context.project())
        self.project_was_closed(context, feedback, self.written)
        return {}

    def _arguments(self, parameters, context, feedback, folder):
        arguments = ["find", self.parameterAsString(parameters, "REGISTER", context)]
        if parameters.get("POINT"):
            point = self.parameterAsPoint(parameters, "POINT", context)
            crs = self.parameterAsPointCrs(parameters, "POINT", context)
            arguments.append(f"--near={register.point_text(point, crs)}")
        area = self.parameterAsSource(parameters, "AREA", context)
        if area is not None:
            try:
                arguments.append(f"--area={inputs.write_source(area, folder, context, feedback)}")
            except ChildError as error:
                raise QgsProcessingException(str(error)) from None
        for name, option in {"WITHIN": "--within", **_TEXTS}.items():
            text = self.parameterAsString(parameters, name, context)
            if text:
                arguments.append(f"{option}={text}")
        if parameters.get("NEAREST"):
            arguments.append(f"--nearest={self.parameterAsInt(parameters, 'NEAREST', context)}")
        for name in ("VERDICT", "FINDING"):
            chosen = self.parameterAsEnumStrings(parameters, name, context) if parameters.get(name) else []
            arguments += [f"--{name.lower()}={code}" for code in chosen]
        for name in ("SINCE", "UNTIL"):
            if parameters.get(name):
                day = self.parameterAsDateTime(parameters, name, context).date()
                arguments.append(f"--{name.lower()}={day.toString('yyyy-MM-dd')}")
        return arguments


def _codes(name, title, codes):
    """Make a choice of codes that models and batches keep by their names."""
    return QgsProcessingParameterEnum(name, title, list(codes), allowMultiple=True, usesStaticStrings=True)


def _day(name, title):
    return QgsProcessingParameterDateTime(name, title, QgsProcessingParameterDateTime.Type.Date)
