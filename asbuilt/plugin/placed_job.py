"""The algorithms that take a placed job further: into the register, and into the engineer's review."""

import json
from pathlib import Path
from typing import ClassVar

from qgis.core import (
    QgsProcessing,
    QgsProcessingException,
    QgsProcessingOutputHtml,
    QgsProcessingOutputString,
    QgsProcessingParameterBoolean,
    QgsProcessingParameterFile,
    QgsProcessingParameterFileDestination,
    QgsProcessingParameterFolderDestination,
    QgsProcessingParameterString,
    QgsProcessingParameterVectorLayer,
    QgsSettings,
)

from . import environment, outputs, register, results, sentences
from .algorithm import Algorithm
from .words import tr


class PlacedJobAlgorithm(Algorithm):
    """What they share: the placed job."""

    def declare_job(self):
        """Declare the placed job: one of its layers, or its file."""
        placed = QgsProcessingParameterVectorLayer("INPUT", tr("Placed job"), [QgsProcessing.SourceType.TypeVector])
        placed.setMetadata({"widget_wrapper": {"class": f"{__package__}.placed_job_widget.PlacedJobWrapper"}})
        self.declare(
            placed,
            tr("Any layer of a placed job, such as its joints, or its GeoPackage; the whole file is read."),
        )

    def job_path(self, parameters, context, feedback):
        """Give the placed job's file, and say which it is: layers of two jobs have the same names."""
        layer = self.parameterAsVectorLayer(parameters, "INPUT", context)
        path = Path(layer.source().partition("|")[0]) if layer is not None else Path()
        if path.suffix.lower() != ".gpkg":
            raise QgsProcessingException(
                tr("{0} is not a layer of a GeoPackage: choose a layer that 'Place joints on the map' wrote.").format(
                    layer.name() if layer is not None else tr("The input")
                )
            )
        outputs.refuse_unsaved([str(path)], self.unsaved)
        feedback.pushInfo(tr("Placed job: {0}").format(results.title_of(path)))
        return str(path)


class Load(PlacedJobAlgorithm):
    """`asbuilt load`."""

    NAME = "load"
    HELP = "register"
    WORDS: ClassVar = {
        "--into": "REGISTER", "--out": "REGISTER", "output.path": "REGISTER", "--dry-run": "DRY_RUN", "--main": "MAIN",
        "--replaces": "REPLACES",
    }  # fmt: skip

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
        declare_register(self, new=True)
        dry = QgsProcessingParameterBoolean("DRY_RUN", tr("Only list what would happen"), defaultValue=False)
        self.declare(dry, tr("Nothing is changed."))
        main = QgsProcessingParameterString("MAIN", tr("Main"))
        self.declare(main, tr("Main that the job's routes belong to: their names stand under its own."), optional=True,
                     advanced=True)  # fmt: skip
        replaced = QgsProcessingParameterString("REPLACES", tr("Takes the place of"))
        tip = tr("Main that this one was laid in place of: a route, or a part of one, such as: A 12+00..14+00")
        self.declare(replaced, tip, optional=True, advanced=True)
        self.declare(
            QgsProcessingParameterBoolean("OPEN", tr("Open the register's layers in the project"), defaultValue=False),
            tr("In a group of their own, with styles and relations; of a register that is a GeoPackage."),
        )
        self.addOutput(QgsProcessingOutputString("ANSWER", tr("What was done, as JSON")))

    def processAlgorithm(self, parameters, context, feedback):
        """Load the job."""
        into = self.parameterAsString(parameters, "REGISTER", context)
        outputs.refuse_in_edit(into, self.in_edit)
        arguments = ["load", self.job_path(parameters, context, feedback), "--into", into, f"--by={register.who()}"]
        if self.parameterAsBool(parameters, "DRY_RUN", context):
            arguments.append("--dry-run")
        for name, option in (("MAIN", "--main"), ("REPLACES", "--replaces")):
            text = self.parameterAsString(parameters, name, context).strip()
            if text:
                arguments.append(f"{option}={text}")
        answer = self.ask(arguments, feedback)
        self.written, self.loaded = into, not answer["dry_run"]
        if self.parameterAsBool(parameters, "OPEN", context) and Path(into).is_file():
            results.load_on_completion(into, tr("Register {0}").format(Path(into).stem), context)
        sentences.load(answer, feedback.pushInfo)
        return {"REGISTER": into, "ANSWER": json.dumps(answer, ensure_ascii=False)}

    def postProcessAlgorithm(self, context, feedback):
        """Let layers of the register that are open show what it holds now, and the panel ask it."""
        register.was_changed(self.written, context.project(), loaded=self.loaded)
        self.project_was_closed(context, feedback, self.written)
        return {}


class Compare(Algorithm):
    """`asbuilt compare`."""

    NAME = "compare"
    HELP = "compare"
    WORDS: ClassVar = {"--page": "PAGE", "--out": "OUTPUT", "--tolerance": "TOLERANCE", "--other-name": "OTHER_NAME"}

    def displayName(self):
        """Title in the toolbox."""
        return tr("Compare two placings of a job")

    def purpose(self):
        """What it does, for the form."""
        return tr(
            "Says what is different between an earlier and a later placed file of one job: joints that came, went, "
            "moved or changed, findings and rows set aside that came and went; as a page and a workbook, if wanted."
        )

    def initAlgorithm(self, config=None):
        """Declare the form."""
        geopackage = tr("GeoPackage") + " (*.gpkg)"
        for name, title in (("OLD", tr("Earlier placed file")), ("NEW", tr("Later placed file"))):
            self.declare(
                QgsProcessingParameterFile(name, title, fileFilter=geopackage),
                tr("A GeoPackage that 'Place joints on the map' wrote."),
            )
        tolerance = QgsProcessingParameterString("TOLERANCE", tr("Moves up to this far are not listed"))
        self.declare(tolerance, tr("With its unit: 0.05ft, 0.02m."), optional=True)
        other = QgsProcessingParameterBoolean("OTHER_NAME", tr("The job has another name now"), defaultValue=False)
        self.declare(other, tr("Compares them although their names differ."), advanced=True)
        for name, title, kind in (
            ("PAGE", tr("Page of the differences"), tr("Page") + " (*.html)"),
            ("OUTPUT", tr("Workbook of the differences"), tr("Workbook") + " (*.xlsx)"),
        ):
            self.addParameter(
                QgsProcessingParameterFileDestination(name, title, kind, optional=True, createByDefault=False)
            )
        self.addOutput(QgsProcessingOutputString("ANSWER", tr("What is different, as JSON")))

    def processAlgorithm(self, parameters, context, feedback):
        """Compare them."""
        read = [self.parameterAsFile(parameters, name, context) for name in ("OLD", "NEW")]
        arguments, written = ["compare", *read], {}
        for name, option in (("PAGE", "--page"), ("OUTPUT", "--out")):
            path = self.parameterAsFileOutput(parameters, name, context)
            if path:
                outputs.refuse_inputs(path, read, context)
                arguments.append(f"{option}={path}")
                written[name] = path
        tolerance = self.parameterAsString(parameters, "TOLERANCE", context).strip()
        if tolerance:
            arguments.append(f"--tolerance={tolerance}")
        if self.parameterAsBool(parameters, "OTHER_NAME", context):
            arguments.append("--other-name")
        answer = self.ask(arguments, feedback, steps=False)
        sentences.comparison(answer, feedback.pushInfo)
        return {**written, "ANSWER": json.dumps(answer, ensure_ascii=False)}


class Review(PlacedJobAlgorithm):
    """`asbuilt review`."""

    NAME = "review"
    HELP = "review"
    WORDS: ClassVar = {"--out": "OUTPUT", "--route": "ROUTE", "--pdf": "PDF", "--plots": "PLOTS"}

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
        arguments = ["review", self.job_path(parameters, context, feedback), "--out", folder]
        route = self.parameterAsString(parameters, "ROUTE", context)
        if route:
            arguments += ["--route", route]
        for name in ("PDF", "PLOTS"):
            if self.parameterAsBool(parameters, name, context):
                arguments.append(f"--{name.lower()}")
        sentences.review(self.ask(arguments, feedback), feedback.pushInfo)
        return {"OUTPUT": folder, "INDEX": str(Path(folder) / "index.html")}


def declare_register(algorithm, *, new=False):
    """Declare the register: a file, which may be a new one, or a database's address."""
    place = QgsProcessingParameterFile(
        "REGISTER", tr("Register"), fileFilter=tr("GeoPackage") + " (*.gpkg);;" + tr("Any file") + " (*)",
        defaultValue=QgsSettings().value(environment.REGISTER_SETTING) or None,
    )  # fmt: skip
    if new:
        place.setMetadata({"widget_wrapper": {"class": f"{__package__}.register_widget.RegisterWrapper"}})
    algorithm.declare(place, tr("A GeoPackage, or a database named as postgresql://user@host/name."))
