"""The field of a form that names a placed job: one that is open in the project, or a file."""

from processing.gui.wrappers import WidgetWrapper
from qgis.core import QgsMapLayer, QgsProcessingContext, QgsProcessingUtils, QgsProject
from qgis.PyQt.QtWidgets import QComboBox, QFileDialog, QHBoxLayout, QPushButton, QWidget

from . import results
from .words import tr


class PlacedJobWrapper(WidgetWrapper):
    """The open jobs by their names, since their layers have the same ones; none is chosen where there are several."""

    def createWidget(self):
        """Make the widget."""
        self.box = QComboBox()
        self.box.setPlaceholderText(tr("Choose a placed job"))
        for path in results.open_jobs(QgsProject.instance()):
            self._offer(path)
        self.box.setCurrentIndex(0 if self.box.count() == 1 else -1)
        self.box.currentIndexChanged.connect(lambda *changed: self.widgetValueHasChanged.emit(self))
        other = QPushButton("...")
        other.setToolTip(tr("The GeoPackage of a job that is not open"))
        other.clicked.connect(self._ask_for_file)
        holder = QWidget()
        layout = QHBoxLayout(holder)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self.box, 1)
        layout.addWidget(other)
        return holder

    def setValue(self, value):
        """Show a value: a layer of a job, by its name or itself, or a path."""
        context = QgsProcessingContext()
        context.setProject(QgsProject.instance())
        layer = value if isinstance(value, QgsMapLayer) else None
        if layer is None and value:
            layer = QgsProcessingUtils.mapLayerFromString(str(value), context)
        path = layer.source().partition("|")[0] if layer is not None else value
        if path and self.box.findData(path) < 0:
            self._offer(path)
        self.box.setCurrentIndex(self.box.findData(path) if path else -1)

    def value(self):
        """Give the value, None while none is chosen."""
        return self.box.currentData()

    def _offer(self, path):
        self.box.addItem(results.title_of(path), path)

    def _ask_for_file(self):
        path, _ = QFileDialog.getOpenFileName(self.widget, tr("Placed job"), "", tr("GeoPackage") + " (*.gpkg)")
        if path:
            self.setValue(path)
