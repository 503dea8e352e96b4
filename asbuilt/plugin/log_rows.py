"""From a row of the log that needs correcting to that row: in the project's own layer, else in its file."""

from qgis.core import QgsFeatureRequest, QgsVectorLayer
from qgis.PyQt.QtCore import QUrl
from qgis.PyQt.QtGui import QDesktopServices

from . import inputs, outputs, tasks
from .words import tr

_BOOKS = (".xlsx", ".xlsm", ".xls", ".ods")
"""Corrected in a spreadsheet program: the host would write them anew without their formats."""


def go_to(path, rows, project, desktop, say):
    """Open a log at rows of it, to be corrected.

    Parameters
    ----------
    path : Path
    rows : list of int, as a spreadsheet numbers them
    project : QgsProject
    desktop : QgisInterface or None
    say : function of a message
    """
    layer = _layer_of(path, project)
    named = ", ".join(map(str, rows))
    if layer is None or desktop is None or path.suffix.lower() in _BOOKS:
        say(tr("Opened {0}: go to row {1}.").format(path, named))
        QDesktopServices.openUrl(QUrl.fromLocalFile(str(path)))
        return
    found = inputs.LayerFile.of(layer)
    say(tr("Looking for row {0} of {1} ...").format(named, layer.name()))

    def answered(answer):
        numbers = inputs.row_numbers(layer, found, answer["files"][0])
        chosen = [feature for feature, number in (numbers or {}).items() if number in rows]
        here = {one.id() for one in layer.getFeatures(QgsFeatureRequest().setFilterFids(chosen))}
        if not chosen or len(here) < len(chosen):
            say(tr("Row {0} of {1} is not in the layer, or its filter leaves it out.").format(named, path))
            return
        layer.selectByIds(chosen)
        can = layer.isEditable() or layer.startEditing()
        desktop.showAttributeTable(layer, f"$id in ({', '.join(map(str, chosen))})")
        if can:
            told = tr("Row {0} of {1}: correct it, save the layer's changes, and place again.")
            if found.is_table:
                told += " " + tr("Saving writes the file anew as a whole: keep a copy of what the crew handed in.")
            say(told.format(named, layer.name()))
        else:
            say(tr("Row {0} of {1} cannot be changed here: correct it in {2}.").format(named, layer.name(), path))

    tasks.ask(inputs.look_at(found), answered, say)


def _layer_of(path, project):
    for layer in project.mapLayers().values():
        if isinstance(layer, QgsVectorLayer):
            found = inputs.LayerFile.of(layer)
            if found is not None and outputs.is_same_file(found.path, path):
                return layer
    return None
