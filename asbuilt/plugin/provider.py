"""The algorithms in the host's toolbox."""

from qgis.core import QgsProcessingProvider
from qgis.PyQt.QtGui import QIcon

from .find import Find
from .job_works import OwnerMap, Sheet
from .jobs import Check, CheckFile, Place, PlaceFile
from .placed_job import Compare, Load, Review
from .register_works import Conflicts, Inventory, Service, Undo
from .setup_environment import SetUp
from .words import FOLDER, tr


class Provider(QgsProcessingProvider):
    """Joint records."""

    def id(self):
        """Name for scripts and models."""
        return "asbuilt"

    def name(self):
        """Title in the toolbox."""
        return tr("Joint records")

    def icon(self):
        """The plugin's icon."""
        return QIcon(str(FOLDER / "icon.svg"))

    def svgIconPath(self):
        """Where it is."""
        return str(FOLDER / "icon.svg")

    def loadAlgorithms(self):
        """Name every algorithm."""
        for kind in (
            SetUp, Check, Place, CheckFile, PlaceFile, Sheet, OwnerMap, Review, Compare, Load, Find, Undo, Conflicts,
            Service, Inventory,
        ):  # fmt: skip
            self.addAlgorithm(kind())
