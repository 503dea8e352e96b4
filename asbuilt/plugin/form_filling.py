"""The form filled in by itself: from a job file, by the names of a layer's columns, by what is open in the project."""

from pathlib import Path
from typing import Any, Dict

from processing.gui.wrappers import DIALOG_STANDARD, WidgetWrapper
from qgis.core import (
    Qgis,
    QgsCoordinateReferenceSystem,
    QgsProcessingContext,
    QgsProcessingUtils,
    QgsProject,
)
from qgis.PyQt import sip
from qgis.PyQt.QtCore import QEvent, QObject, QTimer
from qgis.PyQt.QtWidgets import (
    QAbstractSpinBox,
    QComboBox,
    QFileDialog,
    QHBoxLayout,
    QLineEdit,
    QPushButton,
    QWidget,
)

from . import columns, inputs, tasks
from .words import tr, vocabulary

_LINES = (".csv", ".txt", ".xml")
"""Endings of files of a centerline that are no layers."""
_TEXTS = {
    "name": "NAME", "centerline.route_name": "ROUTE_NAME", "limits.project": "PROJECT_TABLE",
    "records.laying_length": "LAYING_LENGTH", "limits.fraction": "FRACTION",
}  # fmt: skip
_SYSTEMS = {"crs": "CRS", "output.crs": "MAP_CRS"}
_COLUMN = "records.columns."


def values_of(keys, centerline_columns=()):
    """Give the fields of the form that say what the keys of a job file say; the rest are lines of TOML.

    Parameters
    ----------
    keys : list of dict with "key", "value" and "text", as `asbuilt check --keys` answers
    centerline_columns : names of the columns of the centerline's layer

    Returns
    -------
    dict of a field's name to its value
    """
    given = {one["key"]: one["value"] for one in keys}
    path = given.get("centerline.path") or ""
    is_layer = bool(path) and Path(path).suffix.lower() not in _LINES
    values: Dict[str, Any] = {"LOG": None, "CENTERLINE": None, "CENTERLINE_FILE": None}
    chosen, more = {}, []
    for one in keys:
        key, value = one["key"], one["value"]
        if key in _TEXTS:
            values[_TEXTS[key]] = value
        elif key in _SYSTEMS:
            crs = QgsCoordinateReferenceSystem()
            crs.createFromUserInput(value)
            values[_SYSTEMS[key]] = crs
        elif key == "records.path":
            values["LOG_FILES"] = [value] if isinstance(value, str) else value
        elif key == "records.station_unit":
            values["STATION_UNIT"] = vocabulary()["units"][value].partition(",")[0]
        elif key == "limits.table" and value in vocabulary()["tables"]:
            values["TABLE"] = value
        elif key == "centerline.path" or (key == "centerline.layer" and is_layer):
            layer = given.get("centerline.layer")
            source = f"{path}|layername={layer}" if layer else path
            values["CENTERLINE" if is_layer else "CENTERLINE_FILE"] = source if is_layer else path
        elif key == "centerline.route" and is_layer:
            values["ROUTE"] = value
        elif key == "centerline.start_station" and isinstance(value, str):
            values["START_FIELD" if value in centerline_columns else "START_STATION"] = value
        elif key == "centerline.equations" and all(set(row) <= {"route", "back", "ahead"} for row in value):
            values["EQUATIONS"] = [row.get(name, "") for row in value for name in ("route", "back", "ahead")]
        elif key.startswith(_COLUMN) and isinstance(value, str):
            chosen[key.removeprefix(_COLUMN)] = value
        elif key != "output.path":
            more.append(one["text"])
    return {**values, "COLUMNS": columns.written(chosen), "MORE": "\n".join(more)}


class _Wheel(QObject):
    """Leaves the mouse wheel to the form: it scrolls, and no turn of it changes a choice or a number."""

    def eventFilter(self, watched, event):
        """Pass a turn of the wheel on to what lies around a box; its list, once open, hears of it by itself."""
        if event.type() == QEvent.Type.Wheel:
            event.ignore()
            return True
        return super().eventFilter(watched, event)


def leave_the_wheel(widget):
    """Let no turn of the mouse wheel change a box of a widget, also one that was chosen in just now."""
    wheel = _Wheel(widget)
    for kind in (QComboBox, QAbstractSpinBox):
        for box in widget.findChildren(kind):
            box.installEventFilter(wheel)


class NameWrapper(WidgetWrapper):
    """The job's name, and beside it the button that fills in the form from a job file."""

    def createWidget(self):
        """Make the widget for the kind of form."""
        self.edit = QLineEdit()
        self.edit.textChanged.connect(lambda: self.widgetValueHasChanged.emit(self))
        self.wrappers, self.guessed, self.question = {}, "", None
        if self.dialogType != DIALOG_STANDARD:
            return self.edit
        self.fill = QPushButton(tr("Fill in from a job file ..."))
        self.fill.setToolTip(tr("Takes the values of this form from a job file, such as one saved from this form."))
        self.fill.clicked.connect(self._ask_for_file)
        holder = QWidget()
        layout = QHBoxLayout(holder)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self.edit)
        layout.addWidget(self.fill)
        return holder

    def setValue(self, value):
        """Show a value."""
        self.edit.setText(value or "")

    def value(self):
        """Give the value."""
        return self.edit.text()

    def postInitialize(self, wrappers):
        """Follow the form's centerline; fill in what its columns and the project say."""
        if self.dialogType != DIALOG_STANDARD:
            return
        self.wrappers = {wrapper.parameterDefinition().name(): wrapper for wrapper in wrappers}
        project = QgsProject.instance()
        if not self.edit.text():
            self.edit.setText(project.title() or project.baseName())
        # Afterwards: the fields of columns take the layer over when they hear of it themselves.
        self.wrappers["CENTERLINE"].widgetValueHasChanged.connect(
            lambda changed: QTimer.singleShot(0, self._guess_line_columns)
        )
        QTimer.singleShot(0, self._guess_line_columns)
        # The host's own boxes too: one that was chosen in has the focus, and would take the wheel.
        QTimer.singleShot(0, self._leave_the_wheel)

    def _leave_the_wheel(self):
        if not sip.isdeleted(self.edit):
            leave_the_wheel(self.edit.window())

    def _guess_line_columns(self):
        """Choose the columns that name the route and its start station; choices that the layer has stay."""
        if sip.isdeleted(self.edit):
            return
        names = self._centerline_columns()
        guessed = columns.guess_line(names)
        for field, parameter in (("route", "ROUTE"), ("start_station", "START_FIELD")):
            chosen = self.wrappers[parameter].parameterValue()
            said_otherwise = parameter == "START_FIELD" and (
                self.wrappers["START_STATION"].parameterValue()
                or "centerline.start_station" in inputs.keys_of(self.wrappers["MORE"].parameterValue() or "")
            )
            if chosen not in names and not said_otherwise:
                self._put(parameter, guessed.get(field))

    def _centerline_columns(self):
        context = QgsProcessingContext()
        context.setProject(QgsProject.instance())
        value = self.wrappers["CENTERLINE"].parameterValue()
        source = QgsProcessingUtils.variantToSource(value, context) if value else None
        return [field.name() for field in source.fields()] if source is not None else []

    def _put(self, parameter, value):
        context = QgsProcessingContext()
        context.setProject(QgsProject.instance())
        self.wrappers[parameter].setParameterValue(value, context)

    def _ask_for_file(self):
        path, _ = QFileDialog.getOpenFileName(self.widget, tr("Job file"), "", tr("Job file") + " (*.toml)")
        if path:
            self.fill_from(path)

    def fill_from(self, path):
        """Fill in the form from a job file, as soon as the command has taken it apart."""
        self.fill.setEnabled(False)
        self.question = tasks.ask(["check", "--keys", str(path)], self._answered, self._failed)

    def _answered(self, answer):
        if sip.isdeleted(self.fill):
            return
        self.fill.setEnabled(True)
        values = values_of(answer["keys"])
        # The centerline first: its columns tell what the start station is.
        for parameter in ("CENTERLINE", "CENTERLINE_FILE"):
            self._put(parameter, values[parameter])
        values = values_of(answer["keys"], self._centerline_columns())
        for parameter, wrapper in self.wrappers.items():
            definition = wrapper.parameterDefinition()
            if parameter not in ("CENTERLINE", "CENTERLINE_FILE") and not definition.isDestination():
                self._put(parameter, values.get(parameter, definition.defaultValue()))
        more = len(values["MORE"].splitlines())
        text = tr("The form is filled in from {0}.").format(answer["job"])
        if more:
            text += " " + tr("{0} keys that have no field here stand under 'Further keys of the job file'.").format(
                more
            )
        tell(self, text)

    def _failed(self, message):
        if not sip.isdeleted(self.fill):
            self.fill.setEnabled(True)
            tell(self, message, Qgis.MessageLevel.Warning)


def tell(wrapper, text, level=Qgis.MessageLevel.Info):
    """Say something at the top of the form that a wrapper is in."""
    dialog = wrapper.widget.window()
    if hasattr(dialog, "messageBar"):
        dialog.messageBar().clearWidgets()
        dialog.messageBar().pushMessage("", text, level, 0 if level == Qgis.MessageLevel.Warning else 15)
