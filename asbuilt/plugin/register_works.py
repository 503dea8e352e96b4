"""The algorithms that change the register otherwise than by a load: undoing one, settling, noting service."""

import json
from typing import ClassVar, Tuple

from qgis.core import (
    QgsProcessingOutputString,
    QgsProcessingParameterBoolean,
    QgsProcessingParameterEnum,
    QgsProcessingParameterNumber,
    QgsProcessingParameterString,
)

from . import outputs, register, sentences
from .algorithm import Algorithm
from .placed_job import declare_register
from .words import tr

_SETTLINGS = ("ours", "theirs", "main")
_SERVICES = ("abandoned", "replaced", "in-service")


class _RegisterWork(Algorithm):
    """What they share: the register, texts of the form, and the answer."""

    HELP = "register"
    TEXTS: Tuple[Tuple[str, str], ...] = ()
    """Fields of the form that are texts, with the options that they are handed over as."""
    changed = ""
    """The register, where this work changed it."""

    def declare_texts(self, *fields):
        """Declare texts that may be left out: name, title and tip each."""
        for name, title, tip in fields:
            self.declare(QgsProcessingParameterString(name, title), tip, optional=True)

    def declare_answer(self):
        """Declare what comes back."""
        self.addOutput(QgsProcessingOutputString("ANSWER", tr("What was done, as JSON")))

    def register_of(self, parameters, context):
        """Give the register's file or address."""
        return self.parameterAsString(parameters, "REGISTER", context)

    def changed_register_of(self, parameters, context):
        """Give the register that this work changes; none that a layer is being edited in."""
        self.changed = self.register_of(parameters, context)
        outputs.refuse_in_edit(self.changed, self.in_edit)
        return self.changed

    def postProcessAlgorithm(self, context, feedback):
        """Let layers of a register that was changed and the panel show what it holds now."""
        if self.changed:
            register.was_changed(self.changed, context.project())
        return {}

    def options(self, parameters, context):
        """Give the options for the texts that are filled in."""
        found = [(option, self.parameterAsString(parameters, name, context).strip()) for name, option in self.TEXTS]
        return [f"{option}={text}" for option, text in found if text]


class Undo(_RegisterWork):
    """`asbuilt load --undo`."""

    NAME = "undo_load"
    WORDS: ClassVar = {"--undo": "LOAD", "--into": "REGISTER", "--dry-run": "DRY_RUN"}

    def displayName(self):
        """Title in the toolbox."""
        return tr("Undo a load of the register")

    def purpose(self):
        """What it does, for the form."""
        return tr(
            "Takes out of the register what a load brought, and brings back what stood before it. The number of the "
            "load stands at the end of the log when a job is loaded. The record of it stays."
        )

    def initAlgorithm(self, config=None):
        """Declare the form."""
        declare_register(self)
        load = QgsProcessingParameterNumber("LOAD", tr("Number of the load"), minValue=1, defaultValue=None)
        self.declare(load, tr("As the log said when the job was loaded."))
        dry = QgsProcessingParameterBoolean("DRY_RUN", tr("Only list what would happen"), defaultValue=False)
        self.declare(dry, tr("Nothing is changed."))
        self.declare_answer()

    def processAlgorithm(self, parameters, context, feedback):
        """Undo the load."""
        number = self.parameterAsInt(parameters, "LOAD", context)
        into = self.changed_register_of(parameters, context)
        arguments = ["load", f"--undo={number}", f"--into={into}", f"--by={register.who()}"]
        if self.parameterAsBool(parameters, "DRY_RUN", context):
            arguments.append("--dry-run")
        answer = self.ask(arguments, feedback)
        sentences.undo(answer, feedback.pushInfo)
        return {"ANSWER": json.dumps(answer, ensure_ascii=False)}


class Conflicts(_RegisterWork):
    """`asbuilt conflicts`."""

    NAME = "conflicts"
    WORDS: ClassVar = {
        "--job": "JOB", "--route": "ROUTE", "--joint": "JOINT", "--settle": "SETTLE", "--main": "MAIN",
        "--note": "NOTE", "--file": "FILE",
    }  # fmt: skip
    TEXTS = (("JOB", "--job"), ("ROUTE", "--route"), ("JOINT", "--joint"))

    def displayName(self):
        """Title in the toolbox."""
        return tr("List and settle joints that contradict the register")

    def purpose(self):
        """What it does, for the form."""
        return tr(
            "Lists the joints that loads left out because they contradict the register. With a decision it settles "
            "those that are named: the register's joints stay, or the job's take their place, or the job gets a main "
            "of its own. Each decision is kept with your name and the note."
        )

    def initAlgorithm(self, config=None):
        """Declare the form."""
        declare_register(self)
        self.declare_texts(
            ("JOB", tr("Job"), tr("Only joints of this job; needed to settle.")),
            ("ROUTE", tr("Route"), tr("Only joints of this route of the job.")),
            ("JOINT", tr("Joint"), tr("Only this joint of the job.")),
        )
        choice = QgsProcessingParameterEnum("SETTLE", tr("Decision"), list(_SETTLINGS), usesStaticStrings=True)
        tip = tr("ours: the register's stay; theirs: the job's are taken; main: the job is a main of its own.")
        self.declare(choice, tip, optional=True)
        self.declare_texts(
            ("MAIN", tr("Name of the main"), tr("For the decision 'main'.")),
            ("NOTE", tr("Note"), tr("Why it was settled so.")),
            ("FILE", tr("Placed file of the job"), tr("Only where it is no longer where it was.")),
        )
        self.declare_answer()

    def processAlgorithm(self, parameters, context, feedback):
        """List, or settle."""
        decision = self.parameterAsEnumString(parameters, "SETTLE", context) if parameters.get("SETTLE") else ""
        place = (self.changed_register_of if decision else self.register_of)(parameters, context)
        arguments = ["conflicts", place, *self.options(parameters, context)]
        if decision:
            more = (("MAIN", "--main"), ("NOTE", "--note"), ("FILE", "--file"))
            texts = [(option, self.parameterAsString(parameters, name, context).strip()) for name, option in more]
            arguments += [f"{option}={text}" for option, text in texts if text]
            arguments += [f"--settle={decision}", f"--by={register.who()}"]
        answer = self.ask(arguments, feedback, steps=False)
        (sentences.settled if decision else sentences.conflicts)(answer, feedback.pushInfo)
        return {"ANSWER": json.dumps(answer, ensure_ascii=False)}


class Service(_RegisterWork):
    """`asbuilt main`."""

    NAME = "service"
    WORDS: ClassVar = {"--as": "STATE", "--note": "NOTE"}
    TEXTS = (("NOTE", "--note"),)

    def displayName(self):
        """Title in the toolbox."""
        return tr("Note that a main is out of service")

    def purpose(self):
        """What it does, for the form."""
        return tr(
            "Notes in the register that the joints of a main, or of a part of it, are abandoned, replaced, or in "
            "service again. The joints stay, and every answer says what became of them."
        )

    def initAlgorithm(self, config=None):
        """Declare the form."""
        declare_register(self)
        self.declare(
            QgsProcessingParameterString("MAIN", tr("Main")),
            tr("A route of the register, or a part of one by its stations, such as: A 12+00..14+00"),
        )
        state = QgsProcessingParameterEnum("STATE", tr("What became of it"), list(_SERVICES), usesStaticStrings=True)
        self.declare(state, tr("Of all joints of the main, or of that part."))
        self.declare_texts(("NOTE", tr("Note"), tr("What is to be known of it, such as how it was filled.")))
        self.declare_answer()

    def processAlgorithm(self, parameters, context, feedback):
        """Note it."""
        state = self.parameterAsEnumString(parameters, "STATE", context)
        main = self.parameterAsString(parameters, "MAIN", context)
        place = self.changed_register_of(parameters, context)
        arguments = ["main", place, main, f"--as={state}", f"--by={register.who()}"]
        answer = self.ask([*arguments, *self.options(parameters, context)], feedback, steps=False)
        feedback.pushInfo(tr("{0}: {1} joints are noted as {2}.").format(main, len(answer["joints"]), state))
        return {"ANSWER": json.dumps(answer, ensure_ascii=False)}


class Inventory(_RegisterWork):
    """`asbuilt info`."""

    NAME = "info"

    def displayName(self):
        """Title in the toolbox."""
        return tr("Tell what is in the register")

    def purpose(self):
        """What it does, for the form."""
        return tr(
            "Tells which jobs and mains are in the register, how complete their inspections are, which joints are out "
            "of service, and how many wait to be settled. Nothing is changed."
        )

    def initAlgorithm(self, config=None):
        """Declare the form."""
        declare_register(self)
        self.declare_answer()

    def processAlgorithm(self, parameters, context, feedback):
        """Tell it."""
        answer = self.ask(["info", self.register_of(parameters, context)], feedback, steps=False)
        sentences.inventory(answer, feedback.pushInfo)
        return {"ANSWER": json.dumps(answer, ensure_ascii=False)}
