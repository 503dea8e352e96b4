"""The algorithm that makes the environment in which the command lives."""

from qgis.core import (
    QgsProcessingException,
    QgsProcessingOutputString,
    QgsProcessingParameterFile,
)

from . import child, environment
from .algorithm import Algorithm
from .words import tr


class SetUp(Algorithm):
    """Make the environment."""

    NAME = "setup"

    def displayName(self):
        """Title in the toolbox."""
        return tr("Set up the asbuilt environment")

    def purpose(self):
        """What it does, for the form."""
        return tr(
            "Makes a virtual environment in your profile and installs the asbuilt command there, with its libraries; "
            "the host's own libraries stay as they are. Needed once, and again after the plugin was updated.\n\n"
            "It takes a minute or two, a network connection to a Python package index, and Python 3.11 or later."
        )

    def cautions(self):
        """None: it shows no joint."""
        return []

    def initAlgorithm(self, config=None):
        """Declare the form."""
        python = QgsProcessingParameterFile("PYTHON", tr("Python interpreter"), fileFilter=tr("Any file") + " (*)")
        self.declare(python, tr("Of version 3.11 or later; looked for, if left out."), optional=True)
        self.addOutput(QgsProcessingOutputString("COMMAND", tr("The command")))
        self.addOutput(QgsProcessingOutputString("VERSION", tr("Its version")))

    def processAlgorithm(self, parameters, context, feedback):
        """Make it, and name it in the settings."""
        python = self.parameterAsFile(parameters, "PYTHON", context)
        try:
            path, version = environment.make(python, feedback.pushInfo, feedback.isCanceled)
        except child.ChildError as error:
            raise QgsProcessingException(str(error)) from None
        return {"COMMAND": path, "VERSION": version}

    def postProcessAlgorithm(self, context, feedback):
        """End the offer to set it up, however it was set up."""
        from qgis.utils import iface

        environment.end_offer(iface)
        return {}
