"""The desktop GIS of the tests: a clean profile, the plugin's zip installed in it, and scripts run there.

What stands here runs in the host's own Python, not in that of the tests.
"""

import gc
import io
import json
import os
import sys
import time
import traceback

PROFILE = os.environ["ASBUILT_TEST_PROFILE"]
PLUGIN = "asbuilt_plugin"

from qgis.core import (  # noqa: E402
    QgsApplication,
    QgsLayerTreeRegistryBridge,
    QgsProcessingContext,
    QgsProcessingFeedback,
    QgsProject,
    QgsSettings,
    QgsVectorLayer,
)
from qgis.PyQt.QtCore import QEvent  # noqa: E402

application = QgsApplication([], True, PROFILE)
application.initQgis()
PLUGINS = [f"{PROFILE}/python/plugins", f"{QgsApplication.pkgDataPath()}/python/plugins"]
sys.path[:0] = PLUGINS

import qgis.utils  # noqa: E402

qgis.utils.plugin_paths = PLUGINS
qgis.utils.updateAvailablePlugins()

import processing  # noqa: E402
from processing.core.Processing import Processing  # noqa: E402

Processing.initialize()
project = QgsProject.instance()
settings = QgsSettings()
SETTINGS = {name: settings.value(name) for name in settings.allKeys()}
SURROUNDINGS = dict(os.environ)


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


def begin(command):
    """Load the plugin afresh, with a command named in its settings; give what each script finds there."""
    loaded = qgis.utils.loadPlugin(PLUGIN) and qgis.utils.startProcessingPlugin(PLUGIN)
    settings.setValue("asbuilt/command", command)
    return {"loaded": loaded, "provider": QgsApplication.processingRegistry().providerById("asbuilt")}


def tidy():
    """Leave nothing of a script behind: no plugin, layer, window, setting or variable."""
    tasks = QgsApplication.taskManager()
    tasks.cancelAll()
    end = time.monotonic() + 30
    while tasks.countActiveTasks() and time.monotonic() < end:
        application.processEvents()
        time.sleep(0.02)
    project.clear()
    root = project.layerTreeRoot()
    project.layerTreeRegistryBridge().setLayerInsertionPoint(QgsLayerTreeRegistryBridge.InsertionPoint(root, 0))
    gc.collect()
    for window in application.topLevelWidgets():
        if window.parent() is None:
            window.close()
            window.deleteLater()
    qgis.utils.unloadPlugin(PLUGIN)
    for name in [name for name in sys.modules if name.partition(".")[0] == PLUGIN]:
        del sys.modules[name]
    QgsApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    application.processEvents()
    for name in set(settings.allKeys()) - set(SETTINGS):
        settings.remove(name)
    for name, value in SETTINGS.items():
        settings.setValue(name, value)
    os.environ.clear()
    os.environ.update(SURROUNDINGS)


def run_script(script, command):
    """Run a test's script and give what it leaves in `answer`."""
    answer = {}
    names = {**globals(), **begin(command), "answer": answer}
    unheard = []
    # What goes wrong in answer to a click is no error of who clicked: the host would write it down and go on.
    sys.excepthook = lambda *error: unheard.extend(traceback.format_exception(*error))
    shown, sys.stdout = sys.stdout, io.StringIO()
    try:
        exec(compile(script, "<test>", "exec"), names)
    except BaseException:
        unheard.append(traceback.format_exc())
    if unheard:
        answer["traceback"] = "".join(unheard)
    answer["printed"] = sys.stdout.getvalue()
    sys.stdout = shown
    said = json.dumps(answer, default=str)
    names.clear()
    answer.clear()
    tidy()
    return said


def main():
    """Run scripts, each a line of JSON with the command to use, until there are no more."""
    for line in sys.stdin:
        print("ANSWER " + run_script(**json.loads(line)), flush=True)
    # The host's libraries do not end in good order outside of its program.
    os._exit(0)


if __name__ == "__main__":
    main()
