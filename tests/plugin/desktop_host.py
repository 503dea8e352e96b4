"""The desktop GIS of the tests: a clean profile, the plugin's zip installed in it, and a script run there.

What stands here runs in the host's own Python, not in that of the tests.
"""

import io
import json
import os
import sys
import traceback

PROFILE = os.environ["ASBUILT_TEST_PROFILE"]
WINDOW = os.environ.get("ASBUILT_TEST_WINDOW") == "1"

from qgis.core import (  # noqa: E402
    QgsApplication,
    QgsProcessingContext,
    QgsProcessingFeedback,
    QgsProject,
    QgsSettings,
    QgsVectorLayer,
)

application = QgsApplication([], WINDOW, PROFILE)
application.initQgis()
PLUGINS = [f"{PROFILE}/python/plugins", f"{QgsApplication.pkgDataPath()}/python/plugins"]
sys.path[:0] = PLUGINS

import qgis.utils  # noqa: E402

qgis.utils.plugin_paths = PLUGINS
qgis.utils.updateAvailablePlugins()

import processing  # noqa: E402
from processing.core.Processing import Processing  # noqa: E402

Processing.initialize()
loaded = qgis.utils.loadPlugin("asbuilt_plugin") and qgis.utils.startProcessingPlugin("asbuilt_plugin")
QgsSettings().setValue("asbuilt/command", os.environ.get("ASBUILT_TEST_COMMAND", ""))
provider = QgsApplication.processingRegistry().providerById("asbuilt")
project = QgsProject.instance()


class Feedback(QgsProcessingFeedback):
    """Keeps what an algorithm says."""

    def __init__(self):
        super().__init__()
        self.said, self.steps = [], []

    def pushInfo(self, text):
        self.said.append(text)

    def pushWarning(self, text):
        self.said.append(text)

    def reportError(self, text, fatal=False):
        self.said.append(text)

    def setProgressText(self, text):
        self.steps.append(text)


def layer(path, name=None):
    """Open a layer in the project."""
    opened = QgsVectorLayer(f"{path}|layername={name}" if name else str(path), name or "layer", "ogr")
    project.addMapLayer(opened)
    return opened


def run(name, parameters, load=False):
    """Run an algorithm of the plugin; gives its results, or its message, and what it said."""
    feedback = Feedback()
    how = processing.runAndLoadResults if load else processing.run
    context = QgsProcessingContext()
    context.setProject(project)
    try:
        results = how(f"asbuilt:{name}", parameters, feedback=feedback, context=context)
    except Exception as error:
        return {"error": f"{type(error).__name__}: {error}", "said": feedback.said}
    return {**results, "said": feedback.said, "steps": feedback.steps}


def main(script):
    """Run a test's script, which leaves its answer in `answer`, and print that."""
    answer = {}
    names = {**globals(), "answer": answer}
    shown, sys.stdout = sys.stdout, io.StringIO()
    try:
        exec(compile(script, "<test>", "exec"), names)
    except BaseException:
        answer["traceback"] = traceback.format_exc()
    answer["printed"] = sys.stdout.getvalue()
    shown.write("ANSWER " + json.dumps(answer, default=str) + "\n")
    shown.flush()
    # The host's libraries do not end in good order outside of its program.
    os._exit(0)


if __name__ == "__main__":
    main(sys.stdin.read())
