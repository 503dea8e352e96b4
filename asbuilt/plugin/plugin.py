"""The plugin as the host loads it: its algorithms, its panel, its menu and its words."""

import processing
from qgis.core import QgsApplication, QgsSettings
from qgis.PyQt.QtCore import QCoreApplication, QLocale, Qt, QTranslator
from qgis.PyQt.QtGui import QIcon

from .provider import Provider
from .words import FOLDER, tr

try:  # Qt 6 has it there, Qt 5 elsewhere
    from qgis.PyQt.QtGui import QAction
except ImportError:
    from qgis.PyQt.QtWidgets import QAction


class JointRecords:
    """Joint records in the host."""

    def __init__(self, iface):
        self.iface = iface
        self.provider = None
        self.actions, self.panels = [], []
        self.translator = _translator()
        if self.translator is not None:
            QCoreApplication.installTranslator(self.translator)

    def initProcessing(self):
        """Put the algorithms in the toolbox; without a window, the host calls only this."""
        self.provider = Provider()
        QgsApplication.processingRegistry().addProvider(self.provider)

    def initGui(self):
        """Put all of the plugin in the host's window."""
        from .findings_panel import FindingsPanel
        from .panel import HistoryPanel

        self.initProcessing()
        icon = QIcon(str(FOLDER / "icon.svg"))
        self._add_action(icon, tr("Place joints ..."), lambda: processing.execAlgorithmDialog("asbuilt:place", {}))
        self._add_action(icon, tr("Settings ..."), self.show_settings)
        window, canvas = self.iface.mainWindow(), self.iface.mapCanvas()
        tip = tr("Shows or hides the panel with what a placed job's records and survey give cause to look at")
        self._add_panel(FindingsPanel(canvas, window), icon, tr("Findings of a placed job"), tip)
        tip = tr("Shows or hides the panel with what the register knows about a joint")
        self._add_panel(HistoryPanel(canvas, window), icon, tr("History of a joint"), tip)

    def unload(self):
        """Take all of it away again."""
        for action in self.actions:
            self.iface.removePluginMenu(tr("Joint records"), action)
        self.actions = []
        for panel in self.panels:
            panel.close_tools()
            self.iface.removeToolBarIcon(panel.toggleViewAction())
            self.iface.removeDockWidget(panel)
            panel.deleteLater()
        self.panels = []
        if self.provider is not None:
            QgsApplication.processingRegistry().removeProvider(self.provider)
            self.provider = None
        if self.translator is not None:
            QCoreApplication.removeTranslator(self.translator)

    def show_settings(self):
        """Open the settings."""
        from .settings_dialog import SettingsDialog

        SettingsDialog(self.iface.mainWindow()).exec()

    def _add_panel(self, panel, icon, text, tip):
        show = panel.toggleViewAction()
        show.setIcon(icon)
        show.setText(text)
        show.setToolTip(tip)
        self.iface.addDockWidget(Qt.DockWidgetArea.RightDockWidgetArea, panel)
        self.iface.addPluginToMenu(tr("Joint records"), show)
        self.iface.addToolBarIcon(show)
        self.actions.append(show)
        self.panels.append(panel)
        panel.hide()

    def _add_action(self, icon, text, called):
        action = QAction(icon, text, self.iface.mainWindow())
        action.triggered.connect(called)
        self.iface.addPluginToMenu(tr("Joint records"), action)
        self.actions.append(action)
        return action


def _translator():
    locale = str(QgsSettings().value("locale/userLocale", "") or QLocale.system().name())
    for name in (locale, locale[:2]):
        path = FOLDER / "i18n" / f"asbuilt_{name}.qm"
        translator = QTranslator()
        if path.is_file() and translator.load(str(path)):
            return translator
    return None
