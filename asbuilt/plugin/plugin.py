"""The plugin as the host loads it: its algorithms, its panel, its menu and its words."""

import processing
from qgis.core import QgsApplication, QgsSettings
from qgis.PyQt.QtCore import QCoreApplication, QLocale, QTranslator
from qgis.PyQt.QtGui import QIcon
from qgis.PyQt.QtWidgets import QAction

from .provider import Provider
from .words import FOLDER, tr


class JointRecords:
    """Joint records in the host."""

    def __init__(self, iface):
        self.iface = iface
        self.provider = None
        self.actions = []
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

    def unload(self):
        """Take all of it away again."""
        for action in self.actions:
            self.iface.removePluginMenu(tr("Joint records"), action)
        self.actions = []
        if self.provider is not None:
            QgsApplication.processingRegistry().removeProvider(self.provider)
            self.provider = None
        if self.translator is not None:
            QCoreApplication.removeTranslator(self.translator)

    def show_settings(self):
        """Open the settings."""
        from .settings_dialog import SettingsDialog

        SettingsDialog(self.iface.mainWindow()).exec()

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
