"""The field of a form that names a register: one that is there, or a new one."""

from processing.gui.wrappers import WidgetWrapper
from qgis.gui import QgsFileWidget

from .words import tr


class RegisterWrapper(WidgetWrapper):
    """A file, or a database's address; "..." names a new file too, and nothing is asked of one that is there."""

    def createWidget(self):
        """Make the widget."""
        widget = QgsFileWidget()
        widget.setStorageMode(QgsFileWidget.StorageMode.SaveFile)
        widget.setConfirmOverwrite(False)  # a load adds to a register, and replaces none
        widget.setDialogTitle(tr("Register: one that is there, or the name of a new one"))
        widget.setFilter(tr("GeoPackage") + " (*.gpkg)")
        widget.lineEdit().setPlaceholderText(tr("GeoPackage, or postgresql:// address"))
        widget.fileChanged.connect(lambda: self.widgetValueHasChanged.emit(self))
        return widget

    def setValue(self, value):
        """Show a value."""
        self.widget.setFilePath(value or "")

    def value(self):
        """Give the value."""
        return self.widget.filePath()
