"""The algorithms that take a job file elsewhere: onto the utility's own layer, and to the crew as a blank log."""

import json
from typing import ClassVar

from qgis.core import (
    QgsProcessingOutputString,
    QgsProcessingParameterBoolean,
    QgsProcessingParameterFileDestination,
    QgsProcessingParameterString,
)

from . import outputs, results, sentences
from .jobs import JobFile
from .words import tr


class OwnerMap(JobFile):
    """`asbuilt map`."""

    NAME = "map"
    HELP = "owner_map"
    WORDS: ClassVar = {"--dry-run": "DRY_RUN"}

    def displayName(self):
        """Title in the toolbox."""
        return tr("Put a job's joints on the utility's own layer")

    def purpose(self):
        """What it does, for the form."""
        return tr(
            "Appends the joints of a job to the utility's own layer, column by column as the section [map] of the job "
            "file says. Joints that are there already are not added again. A value that does not fit its column is "
            "named, and nothing is written."
        )

    def initAlgorithm(self, config=None):
        """Declare the form."""
        self.declare_job()
        dry = QgsProcessingParameterBoolean("DRY_RUN", tr("Only list what would happen"), defaultValue=True)
        self.declare(dry, tr("Nothing is written. Untick it when the list is as it should be."))
        self.addOutput(QgsProcessingOutputString("ANSWER", tr("What was done, as JSON")))

    def processAlgorithm(self, parameters, context, feedback):
        """Append the joints."""
        dry = self.parameterAsBool(parameters, "DRY_RUN", context)
        job = str(self.job_file(parameters, context, feedback, None))
        self.refuse_edits(job, None, feedback, adds_to=None if dry else "map.into")
        answer = self.ask(["map", job, *(["--dry-run"] if dry else [])], feedback)
        sentences.owner_map(answer, feedback.pushInfo, dry)
        self.written = None if dry else answer["into"]
        return {"ANSWER": json.dumps(answer, ensure_ascii=False)}

    def postProcessAlgorithm(self, context, feedback):
        """Let the layer show what it holds now, where it is open."""
        if self.written:
            results.show_file_anew(self.written, context.project())
        return {}


class Sheet(JobFile):
    """`asbuilt sheet`."""

    NAME = "sheet"
    HELP = "sheet"
    WORDS: ClassVar = {"--out": "OUTPUT", "--route": "ROUTE"}

    def displayName(self):
        """Title in the toolbox."""
        return tr("Write a blank log for the crew")

    def purpose(self):
        """What it does, for the form."""
        return tr(
            "Writes a blank joint log whose columns, lists and limits are those that the job and the checks ask for: "
            "a workbook, or a page for a tablet. Filled in, it is read as the job's log. A log that is filled in is "
            "never written over."
        )

    def initAlgorithm(self, config=None):
        """Declare the form."""
        self.declare_job()
        route = QgsProcessingParameterString("ROUTE", tr("Route"))
        self.declare(route, tr("Only for this route; for all, if left out."), optional=True)
        kinds = f"{tr('Workbook')} (*.xlsx);;{tr('Page for a tablet')} (*.html)"
        self.addParameter(QgsProcessingParameterFileDestination("OUTPUT", tr("Blank log"), kinds))

    def processAlgorithm(self, parameters, context, feedback):
        """Write the log."""
        job = str(self.job_file(parameters, context, feedback, None))
        path = self.parameterAsFileOutput(parameters, "OUTPUT", context)
        outputs.refuse_inputs(path, job, context)
        route = self.parameterAsString(parameters, "ROUTE", context).strip()
        arguments = ["sheet", job, f"--out={path}", *([f"--route={route}"] if route else [])]
        answer = self.ask(arguments, feedback, steps=False)
        feedback.pushInfo(
            tr("Written: {0}, a blank log of {1} columns and {2} rows.").format(
                answer["written"], len(answer["columns"]), answer["rows"]
            )
        )
        sentences.notes(answer, feedback.pushInfo)
        return {"OUTPUT": answer["written"]}
