"""The algorithms that read a job: check it, and place its joints.

A job is a form, or a job file that is there already.
"""

import tempfile
from pathlib import Path
from typing import ClassVar

from qgis.core import (
    QgsProcessingException,
    QgsProcessingOutputNumber,
    QgsProcessingOutputString,
    QgsProcessingOutputVectorLayer,
    QgsProcessingParameterBoolean,
    QgsProcessingParameterFile,
    QgsProcessingParameterFileDestination,
    QgsProcessingUtils,
)

from . import again, outputs, results, sentences
from .algorithm import JobAlgorithm
from .child import ChildError
from .form_words import without_path
from .job_form import JobForm
from .words import caution, tr, vocabulary

_COUNTS = ("records_read", "inspections_placed", "records_set_aside", "joints", "findings")


class JobFile(JobAlgorithm):
    """A job that is a file."""

    READ = ("JOB",)

    def declare_job(self):
        """Declare the job file."""
        job = QgsProcessingParameterFile("JOB", tr("Job file"), extension="toml")
        self.declare(job, tr("A job file that is there already, with all that the job needs."))

    def job_file(self, parameters, context, feedback, folder):
        """Give the job file."""
        return Path(self.parameterAsFile(parameters, "JOB", context))


class _Job(JobAlgorithm):
    """What checking and placing share."""

    written_job = None
    """The job file that was written from the form."""

    def initAlgorithm(self, config=None):
        """Declare the job, what is to be written, and the counts that every job ends with."""
        self.declare_job()
        self.declare_outputs()
        for name in _COUNTS:
            self.addOutput(QgsProcessingOutputNumber(name.upper(), name.replace("_", " ")))

    def run_job(self, arguments, parameters, context, feedback, output=None):
        """Run a command on the job, and give its answer; nothing that it reads is its output."""
        for one in (parameters.get(name) for name in self.READ):
            if one:
                outputs.refuse_inputs(output, one, context)
        saved = self.parameterAsFileOutput(parameters, "JOB_FILE", context) if "JOB_FILE" in parameters else ""
        if saved and output and outputs.is_same_file(saved, output):
            raise QgsProcessingException(
                tr("{0} cannot be both the job file and what is written by it; name another file").format(saved)
            )
        with tempfile.TemporaryDirectory(prefix="asbuilt-") as folder:
            try:
                job = self.job_file(parameters, context, feedback, folder)
            except ChildError as error:
                raise QgsProcessingException(str(error)) from None
            self.written_job = str(job) if str(job).startswith(folder) else None
            self.refuse_edits(str(job), output, feedback, replaces_own=arguments[0] == "place")
            answer = self.ask([arguments[0], str(job), *arguments[1:]], feedback)
        sentences.job(answer, feedback, self.in_its_words)
        feedback.pushInfo(caution())
        return answer

    def in_its_words(self, message):
        """Put a message of the command in the words of this form."""
        return super().in_its_words(without_path(message, self.written_job) if self.written_job else message)


class _Checking(_Job):
    """`asbuilt check`."""

    def purpose(self):
        """What it does, for the form."""
        return tr(
            "Reads and judges a joint log and its centerline; nothing is written but the log with remarks, if wanted."
            "\n\n"
            "The log below then says what would become of every record: how many can be placed, which are set aside "
            "and why, how the columns are read, and what there is to look at."
        )

    def declare_outputs(self):
        """Declare the log with remarks."""
        marked = QgsProcessingParameterFileDestination(
            "RETURN", tr("Log with remarks, for the contractor"), tr("Workbook") + " (*.xlsx)", optional=True,
            createByDefault=False,
        )  # fmt: skip
        marked.setHelp(tr("The log's own cells, with a column of remarks on what is wrong and what is expected."))
        self.addParameter(marked)
        self.addOutput(QgsProcessingOutputString("RETURNED", tr("Logs with remarks that were written")))

    def processAlgorithm(self, parameters, context, feedback):
        """Check the job."""
        marked = self.parameterAsFileOutput(parameters, "RETURN", context)
        wanted = ["check", "--return", marked] if marked else ["check"]
        answer = self.run_job(wanted, parameters, context, feedback, marked)
        titles = {one["name"]: tr(one["title"]) for one in vocabulary()["fields"]}
        for file, field, column in answer["columns"]:
            feedback.pushInfo(
                tr("{0}: the column '{1}' is read as {2}.").format(Path(file).name, column, titles.get(field, field))
            )
        for file, column in answer["columns_not_read"]:
            feedback.pushInfo(tr("{0}: the column '{1}' is not read.").format(Path(file).name, column))
        # Several logs come back as several workbooks, each named after its log.
        written = answer.get("returned", [])
        for path in written:
            feedback.pushInfo(tr("Written: {0}").format(path))
        named = {"RETURN": written[0] if written else None, "RETURNED": "\n".join(written)}
        return {**named, **{name.upper(): answer[name] for name in _COUNTS}}


class _Placing(_Job):
    """`asbuilt place`."""

    OUTPUT_LEFT_OUT = False
    """Whether the output may be left out, since the job names one."""

    def purpose(self):
        """What it does, for the form."""
        return tr(
            "Puts every joint of a log at its place on the surveyed centerline, computes what it deflects, judges it "
            "against what its size and type allow, and writes a GeoPackage: joints, segments, findings, centerline, "
            "inspections, records set aside, and what made the file.\n\n"
            "The layers open in the project with their styles; a joint's form shows its inspections and findings. "
            "No record is lost: each is placed, or set aside with its reason."
        )

    def declare_outputs(self):
        """Declare the output and its layers."""
        self.declare(
            QgsProcessingParameterBoolean("OPEN", tr("Open the layers in the project"), defaultValue=True),
            tr("In a group of their own, with styles and relations."),
        )
        title = tr("Placed job, where not the job file's own") if self.OUTPUT_LEFT_OUT else tr("Placed job")
        placed = QgsProcessingParameterFileDestination(
            "OUTPUT", title, tr("GeoPackage") + " (*.gpkg)", optional=self.OUTPUT_LEFT_OUT,
            createByDefault=not self.OUTPUT_LEFT_OUT,
        )  # fmt: skip
        if self.OUTPUT_LEFT_OUT:
            placed.setHelp(tr("Left out, the one that the job file names."))
        self.addParameter(placed)
        for name in results.LAYERS:
            self.addOutput(QgsProcessingOutputVectorLayer(name.upper() + "_LAYER", name.replace("_", " ")))

    def processAlgorithm(self, parameters, context, feedback):
        """Place the job."""
        wanted = self.parameterAsFileOutput(parameters, "OUTPUT", context)
        arguments = ["place", "--out", wanted] if wanted else ["place"]
        self.given = parameters
        answer = self.run_job(arguments, parameters, context, feedback, wanted)
        self.written = path = str(Path(answer["written"]).resolve())
        if Path(QgsProcessingUtils.tempFolder()).resolve() in Path(path).parents:
            feedback.pushWarning(tr("The placed job is in a temporary file, which goes when this program is closed."))
        if self.parameterAsBool(parameters, "OPEN", context):
            results.load_on_completion(path, answer["name"], context)
        layers = {name.upper() + "_LAYER": results.uri(path, name) for name in results.present(path)}
        return {"OUTPUT": path, **layers, **{name.upper(): answer[name] for name in _COUNTS}}

    def postProcessAlgorithm(self, context, feedback):
        """Let layers of the file that are open show what it holds now."""
        results.show_anew(self.written, context.project())
        if self.project_was_closed(context, feedback, self.written):
            return {}
        again.remember(self, self.given, context, self.written)
        return {}


class Check(_Checking, JobForm):
    """`asbuilt check`, by a form."""

    NAME = "check"
    WORDS: ClassVar = {**JobForm.WORDS, "--return": "RETURN"}

    def displayName(self):
        """Title in the toolbox."""
        return tr("Check a joint log")


class CheckFile(_Checking, JobFile):
    """`asbuilt check`, by a job file."""

    NAME = "check_job"
    WORDS: ClassVar = {"--return": "RETURN"}

    def displayName(self):
        """Title in the toolbox."""
        return tr("Check a job file")


class Place(_Placing, JobForm):
    """`asbuilt place`, by a form."""

    NAME = "place"
    WORDS: ClassVar = {**JobForm.WORDS, "--out": "OUTPUT", "output.path": "OUTPUT"}

    def displayName(self):
        """Title in the toolbox."""
        return tr("Place joints on the map")


class PlaceFile(_Placing, JobFile):
    """`asbuilt place`, by a job file."""

    NAME = "place_job"
    WORDS: ClassVar = {"--out": "OUTPUT"}
    OUTPUT_LEFT_OUT = True

    def displayName(self):
        """Title in the toolbox."""
        return tr("Place the joints of a job file")
