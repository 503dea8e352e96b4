"""A sheet for print: the plan of a placed job as the map shows it, with a table of its findings and the cautions."""

from pathlib import Path

from qgis.core import (
    QgsLayoutFrame,
    QgsLayoutItemAttributeTable,
    QgsLayoutItemLabel,
    QgsLayoutItemMap,
    QgsLayoutItemScaleBar,
    QgsLayoutMultiFrame,
    QgsLayoutPoint,
    QgsLayoutSize,
    QgsLayoutTable,
    QgsLayoutTableColumn,
    QgsPrintLayout,
    QgsTextFormat,
)
from qgis.PyQt.QtCore import Qt
from qgis.PyQt.QtGui import QFont

from . import results
from .words import caution, not_an_acceptance, titles, tr

_MARGIN, _WIDTH, _HEIGHT = 10.0, 297.0, 210.0
_MAP_HEIGHT, _FOOT = 108.0, 22.0
_COLUMNS = (("severity", 18.0), ("code", 36.0), ("route", 16.0), ("joint", 16.0), ("station", 24.0), ("message", 145.0))


def make(project, canvas, path=None, placed=""):
    """Make the sheet of a placed job that is open in a project, and put it among the project's layouts.

    Parameters
    ----------
    project : QgsProject
    canvas : QgsMapCanvas
        What it shows is the plan.
    path : the placed file; the first one that is open, if left out
    placed : str, when it was placed: a print outlives the next placing

    Returns
    -------
    QgsPrintLayout, or None where no placed job is open
    """
    path = path or next(iter(results.open_jobs(project)), None)
    layers = results.layers_of(path, project) if path else {}
    if "findings" not in layers:
        return None
    layout = QgsPrintLayout(project)
    layout.initializeDefaults()  # one page, A4 across
    layout.setName(_free_name(project, tr("Findings of {0}").format(Path(path).stem)))
    _add_text(layout, tr("Findings of {0}").format(results.title_of(path)), _MARGIN - 2.0, 6.0, 11.0, bold=True)
    _add_text(layout, placed, _MARGIN + 3.5, 4.5, 7.0)
    _add_map(layout, canvas)
    _add_table(layout, layers["findings"], layers.get("joints"))
    _add_text(layout, f"{not_an_acceptance()} {caution()}", _HEIGHT - _FOOT + 4.0, _FOOT - 8.0, 6.5)
    project.layoutManager().addLayout(layout)
    return layout


def _free_name(project, wanted):
    taken = {one.name() for one in project.layoutManager().layouts()}
    name, number = wanted, 1
    while name in taken:
        number += 1
        name = f"{wanted} ({number})"
    return name


def _put(layout, item, x, y, width, height):
    # In this order: a map that is moved before it has a size has no extent ever after.
    item.attemptResize(QgsLayoutSize(width, height, _millimetres(layout)))
    item.attemptMove(QgsLayoutPoint(x, y, _millimetres(layout)))


def _millimetres(layout):
    return layout.units()  # of a new layout: millimetres


def _add_text(layout, text, y, height, size, bold=False):
    label = QgsLayoutItemLabel(layout)
    label.setText(text)
    font = QFont()
    font.setPointSizeF(size)
    font.setBold(bold)
    label.setFont(font)
    layout.addLayoutItem(label)
    _put(layout, label, _MARGIN, y, _WIDTH - 2 * _MARGIN, height)


def _add_map(layout, canvas):
    plan = QgsLayoutItemMap(layout)
    plan.setFrameEnabled(True)
    layout.addLayoutItem(plan)
    _put(layout, plan, _MARGIN, _MARGIN + 8.0, _WIDTH - 2 * _MARGIN, _MAP_HEIGHT)
    plan.setCrs(canvas.mapSettings().destinationCrs())
    plan.zoomToExtent(canvas.extent())
    bar = QgsLayoutItemScaleBar(layout)
    bar.setLinkedMap(plan)
    bar.applyDefaultSize(bar.guessUnits())
    layout.addLayoutItem(bar)
    _put(layout, bar, _MARGIN + 3.0, _MARGIN + 8.0 + _MAP_HEIGHT - 14.0, 80.0, 12.0)


def _add_table(layout, findings, joints):
    table = QgsLayoutItemAttributeTable.create(layout)
    table.setVectorLayer(findings)
    named = titles("findings")
    columns = []
    for name, width in _COLUMNS:
        column = QgsLayoutTableColumn(named.get(name, name))
        column.setAttribute(name)
        column.setWidth(width)
        columns.append(column)
    table.setColumns(columns)
    # What to act on comes first, by its name too, and then what comes first along the route.
    sorts = [QgsLayoutTableColumn(column) for column in (columns[0], columns[2])]
    if joints is not None:
        along = QgsLayoutTableColumn()
        along.setAttribute(f"attribute(get_feature('{joints.id()}', 'joint_uid', \"joint_uid\"), 'distance')")
        sorts.append(along)
    for column in sorts:
        column.setSortOrder(Qt.SortOrder.AscendingOrder)
    table.setSortColumns(sorts)
    table.setMaximumNumberOfFeatures(findings.featureCount())
    table.setWrapBehavior(table.WrapBehavior.WrapText)
    text = QgsTextFormat()
    text.setSize(7.0)
    table.setContentTextFormat(text)
    head = QgsTextFormat(text)
    font = QFont()
    font.setBold(True)
    head.setFont(font)
    table.setHeaderTextFormat(head)
    table.setHeaderMode(QgsLayoutTable.HeaderMode.AllFrames)
    layout.addMultiFrame(table)
    # What does not fit goes on, on further pages.
    frame = QgsLayoutFrame(layout, table)
    top = _MARGIN + 8.0 + _MAP_HEIGHT + 4.0
    _put(layout, frame, _MARGIN, top, _WIDTH - 2 * _MARGIN, _HEIGHT - _FOOT - top)
    table.addFrame(frame)
    table.setResizeMode(QgsLayoutMultiFrame.ResizeMode.ExtendToNextPage)
    table.recalculateFrameSizes()
