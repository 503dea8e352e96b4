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
        self.actions, self.panel = [], None
        self.translator = _translator()
        if self.translator is not None:
            QCoreApplication.installTranslator(self.translator)

    def initProcessing(self):
        """Put the algorithms in the toolbox; without a window, the host calls only this."""
        self.provider = Provider()
        QgsApplication.processingRegistry().addProvider(self.provider)

    def initGui(self):
        """Put all of the plugin in the host's window."""
        self.initProcessing()
        icon = QIcon(str(FOLDER / "icon.svg"))
        self._add_action(icon, tr("Place joints ..."), lambda: processing.execAlgorithmDialog("asbuilt:place", {}))
        self._add_action(icon, tr("Settings ..."), self.show_settings)
        self._add_panel(icon)

    def unload(self):
        """Take all of it away again."""
        for action in self.actions:
            self.iface.removePluginMenu(tr("Joint records"), action)
        self.actions = []
        if self.panel is not None:
            self.panel.close_tools()
            self.iface.removeToolBarIcon(self.panel.toggleViewAction())
            self.iface.removeDockWidget(self.panel)
            self.panel.deleteLater()
            self.panel = None
        if self.provider is not None:
            QgsApplication.processingRegistry().removeProvider(self.provider)
            self.provider = None
        if self.translator is not None:
            QCoreApplication.removeTranslator(self.translator)

    def show_settings(self):
        """Open the settings."""
        from .settings_dialog import SettingsDialog

        SettingsDialog(self.iface.mainWindow()).exec()

    def _add_panel(self, icon):
        from .panel import HistoryPanel

        self.panel = HistoryPanel(self.iface.mapCanvas(), self.iface.mainWindow())
        show = self.panel.toggleViewAction()
        show.setIcon(icon)
        show.setText(tr("History of a joint"))
        show.setToolTip(tr("Shows or hides the panel with what the register knows about a joint"))
        self.iface.addDockWidget(Qt.DockWidgetArea.RightDockWidgetArea, self.panel)
        self.iface.addPluginToMenu(tr("Joint records"), show)
        self.iface.addToolBarIcon(show)
        self.actions.append(show)
        self.panel.hide()

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
