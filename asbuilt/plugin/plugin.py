"""The plugin as the host loads it: its algorithms, its panel, its menu and its words."""

from qgis.core import QgsApplication, QgsSettings
from qgis.PyQt.QtCore import QCoreApplication, QLocale, QTranslator

from .provider import Provider
from .words import FOLDER


class JointRecords:
    """Joint records in the host."""

    def __init__(self, iface):
        self.iface = iface
        self.provider = None
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

    def unload(self):
        """Take all of it away again."""
        if self.provider is not None:
            QgsApplication.processingRegistry().removeProvider(self.provider)
            self.provider = None
        if self.translator is not None:
            QCoreApplication.removeTranslator(self.translator)


def _translator():
    locale = str(QgsSettings().value("locale/userLocale", "") or QLocale.system().name())
    for name in (locale, locale[:2]):
        path = FOLDER / "i18n" / f"asbuilt_{name}.qm"
        translator = QTranslator()
        if path.is_file() and translator.load(str(path)):
            return translator
    return None
