"""The algorithms that take a placed job further: into the register, and into the engineer's review."""

from pathlib import Path

from qgis.core import (
    QgsProcessing,
    QgsProcessingException,
    QgsProcessingOutputHtml,
    QgsProcessingOutputString,
    QgsProcessingParameterBoolean,
    QgsProcessingParameterFile,
    QgsProcessingParameterFolderDestination,
    QgsProcessingParameterString,
    QgsProcessingParameterVectorLayer,
    QgsSettings,
)

from . import environment, register
from .algorithm import Algorithm
from .words import tr


class PlacedJobAlgorithm(Algorithm):
    """What they share: the placed job."""

    def declare_job(self):
        """Declare the placed job: one of its layers, or its file."""
        self.declare(
            QgsProcessingParameterVectorLayer("INPUT", tr("Placed job"), [QgsProcessing.SourceType.TypeVector]),
            tr("Any layer of a placed job, such as its joints, or its GeoPackage; the whole file is read."),
        )

    def job_path(self, parameters, context):
        """Give the placed job's file."""
        layer = self.parameterAsVectorLayer(parameters, "INPUT", context)
        path = Path(layer.source().partition("|")[0]) if layer is not None else Path()
        if path.suffix.lower() != ".gpkg":
            raise QgsProcessingException(
                tr("{0} is not a layer of a GeoPackage: choose a layer that 'Place joints on the map' wrote.").format(
                    layer.name() if layer is not None else tr("The input")
                )
            )
        return str(path)


class Load(PlacedJobAlgorithm):
    """`asbuilt load`."""

    NAME = "load"

    def displayName(self):
        """Title in the toolbox."""
        return tr("Load a placed job into the register")

    def purpose(self):
        """What it does, for the form."""
        return tr(
            "Merges a placed job into the register of the utility's joints: known joints are brought up to date and "
            "keep their history, new ones are added, and what contradicts the register is listed and left out. "
            "Loading the same job again changes nothing.\n\n"
            "The register is a GeoPackage, made if it is not there yet, or a database named as postgresql://..."
        )

    def initAlgorithm(self, config=None):
        """Declare the form."""
        self.declare_job()
        declare_register(self)
        dry = QgsProcessingParameterBoolean("DRY_RUN", tr("Only list what would happen"), defaultValue=False)
        self.declare(dry, tr("Nothing is changed."))
        self.addOutput(QgsProcessingOutputString("ANSWER", tr("What was done, as JSON")))

    def processAlgorithm(self, parameters, context, feedback):
        """Load the job."""
        into = self.parameterAsString(parameters, "REGISTER", context)
        arguments = ["load", self.job_path(parameters, context), "--into", into, f"--by={register.who()}"]
        if self.parameterAsBool(parameters, "DRY_RUN", context):
            arguments.append("--dry-run")
        return {"REGISTER": into, "ANSWER": self.tell_answer(self.ask(arguments, feedback), feedback)}


class Review(PlacedJobAlgorithm):
    """`asbuilt review`."""

    NAME = "review"

    def displayName(self):
        """Title in the toolbox."""
        return tr("Write the engineer's review")

    def purpose(self):
        """What it does, for the form."""
        return tr(
            "Writes pages for the reviewing engineer, one for each route and an index: deflection along the route "
            "against the allowable, plan and profile, and tables of what to look at. They open in a browser without a "
            "network."
        )

    def initAlgorithm(self, config=None):
        """Declare the form."""
        self.declare_job()
        route = QgsProcessingParameterString("ROUTE", tr("Route"))
        self.declare(route, tr("Only this route; all, if left out."), optional=True)
        pdf = QgsProcessingParameterBoolean("PDF", tr("Also print the pages to PDF"), defaultValue=False)
        self.declare(pdf, tr("Needs the browser Chromium on this machine."), advanced=True)
        plots = QgsProcessingParameterBoolean("PLOTS", tr("Also write each plot as a picture"), defaultValue=False)
        self.declare(plots, tr("SVG and PNG, for a report of your own."), advanced=True)
        self.addParameter(QgsProcessingParameterFolderDestination("OUTPUT", tr("Folder of the pages")))
        self.addOutput(QgsProcessingOutputHtml("INDEX", tr("First page")))

    def processAlgorithm(self, parameters, context, feedback):
        """Write the pages."""
        folder = self.parameterAsString(parameters, "OUTPUT", context)
        arguments = ["review", self.job_path(parameters, context), "--out", folder]
        route = self.parameterAsString(parameters, "ROUTE", context)
        if route:
            arguments += ["--route", route]
        for name in ("PDF", "PLOTS"):
            if self.parameterAsBool(parameters, name, context):
                arguments.append(f"--{name.lower()}")
        self.tell_answer(self.ask(arguments, feedback), feedback)
        return {"OUTPUT": folder, "INDEX": str(Path(folder) / "index.html")}


def declare_register(algorithm):
    """Declare the register: a file that may not be there yet, or a database's address."""
    place = QgsProcessingParameterFile(
        "REGISTER", tr("Register"), fileFilter=tr("GeoPackage") + " (*.gpkg);;" + tr("Any file") + " (*)",
        defaultValue=QgsSettings().value(environment.REGISTER_SETTING) or None,
    )  # fmt: skip
    algorithm.declare(place, tr("A GeoPackage, or a database named as postgresql://user@host/name."))
