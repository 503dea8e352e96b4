"""What every algorithm of the plugin shares: its place in the toolbox, and the child that does the work."""

from typing import ClassVar, Tuple

from qgis.core import QgsProcessingAlgorithm, QgsProcessingException, QgsProcessingParameterDefinition

from . import child, environment, outputs, results
from .form_words import in_form_words
from .words import caution, help_page, not_an_acceptance, tr


class Algorithm(QgsProcessingAlgorithm):
    """A face of one command."""

    NAME = ""
    WORDS: ClassVar = {}
    """Keys and options of the command that fields of the form are handed over as, and the names of the fields."""
    HELP = "desktop_gis"
    """The page of the help that the form's button opens."""

    def purpose(self):
        """What it does, for the form."""
        raise NotImplementedError

    def cautions(self):
        """What must be said beside it: all but making the environment shows where joints are, and how they are."""
        return [not_an_acceptance(), caution()]

    def shortHelpString(self):
        """What the form says beside it."""
        return "\n\n".join([self.purpose(), *self.cautions()])

    def helpUrl(self):
        """Where its page is, in the help that came with the plugin."""
        return help_page(self.HELP).toString()

    def name(self):
        """Name for scripts and models."""
        return self.NAME

    def createInstance(self):
        """Make another one, as the host asks for it."""
        return type(self)()

    def icon(self):
        """The plugin's icon."""
        return self.provider().icon() if self.provider() else super().icon()

    def tags(self):
        """Words by which the toolbox finds it."""
        return [tr("joint"), tr("pipe"), tr("as-built"), tr("station"), tr("deflection")]

    def declare(self, parameter, tip, *, optional=False, advanced=False):
        """Add a parameter with its tooltip."""
        kinds = QgsProcessingParameterDefinition
        if optional:
            parameter.setFlags(parameter.flags() | kinds.Flag.FlagOptional)
        if advanced:
            parameter.setFlags(parameter.flags() | kinds.Flag.FlagAdvanced)
        parameter.setHelp(tip)
        self.addParameter(parameter)

    def prepareAlgorithm(self, parameters, context, feedback):
        """Note which layers are being edited, while the window's thread has the word."""
        self.unsaved = results.unsaved_layers(context.project())
        self.in_edit = results.layers_in_edit(context.project())
        self.closing = results.Closing(context.project())
        return super().prepareAlgorithm(parameters, context, feedback)

    def ask(self, arguments, feedback, *, steps=True):
        """Run a command and give its answer; its progress and its end show in the form.

        Raises
        ------
        QgsProcessingException
            With the command's own message.
        """

        begun = []

        def progress(step, done, of):
            if begun[-1:] != [step]:
                begun.append(step)
                feedback.setProgressText(step)
            feedback.setProgress(100.0 * done / of if of else 0.0)

        try:
            command = environment.command()
            return child.ask(command, arguments, progress=progress if steps else None, cancelled=feedback.isCanceled)
        except child.ChildError as error:
            raise QgsProcessingException(self.in_its_words(str(error))) from None

    def project_was_closed(self, context, feedback, path):
        """Tell whether the project was closed meanwhile; then nothing is opened, since another one is there by now."""
        if not self.closing.seen:
            return False
        context.setLayersToLoadOnCompletion({})
        said = tr("The project was closed meanwhile, so nothing is opened in the one that is here now. Written: {0}")
        feedback.pushWarning(said.format(path))
        results.tell_in_window(said.format(path))
        return True

    def in_its_words(self, message):
        """Put a message of the command in the words of this form."""
        titles = {one.name(): one.description() for one in self.parameterDefinitions()}
        return in_form_words(message, self.WORDS, titles)


class JobAlgorithm(Algorithm):
    """A face of a command that reads a job; the job is a form or a file."""

    READ: Tuple[str, ...] = ()
    """What of its parameters is read, and so is no output."""

    def declare_job(self):
        """Declare the job."""
        raise NotImplementedError

    def declare_outputs(self):
        """Declare what is to be written."""
        raise NotImplementedError

    def refuse_edits(self, job, output, feedback, *, replaces_own=False, adds_to=None):
        """Refuse to read files that layers have unsaved changes to, and to replace one that is being edited.

        Parameters
        ----------
        job : path of the job file
        output : path of what the form names as the output, or None
        replaces_own : bool
            Whether the job's own output is replaced where the form names none.
        adds_to : key of the job that names what is added to, or None
        """
        if not (self.unsaved or self.in_edit):
            return
        named = {one["key"]: one["value"] for one in self.ask(["check", "--keys", job], feedback, steps=False)["keys"]}
        own = named.pop("output.path", None)
        outputs.refuse_unsaved(named.values(), self.unsaved)
        outputs.refuse_in_edit(output or (own if replaces_own else None), self.in_edit)
        outputs.refuse_in_edit(named.get(adds_to), self.in_edit)

    def job_file(self, parameters, context, feedback, folder):
        """Give the job file, in a folder where it may be written."""
        raise NotImplementedError
