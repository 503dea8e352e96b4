"""The table of the form in which a user says which column of the log is which field."""

from processing.gui.wrappers import DIALOG_STANDARD, WidgetWrapper
from qgis.core import Qgis, QgsProcessingContext, QgsProcessingUtils, QgsProject
from qgis.PyQt import sip
from qgis.PyQt.QtCore import Qt, pyqtSignal
from qgis.PyQt.QtWidgets import QComboBox, QHeaderView, QPlainTextEdit, QTableWidget, QTableWidgetItem

from . import columns, tasks
from .child import ChildError
from .form_filling import leave_the_wheel, tell
from .words import tr, vocabulary


class ColumnsTable(QTableWidget):
    """A row for each field of a joint record, with the log's columns to choose from."""

    changed = pyqtSignal()

    def __init__(self, parent=None):
        fields = vocabulary()["fields"]
        super().__init__(len(fields), 2, parent)
        self.setHorizontalHeaderLabels([tr("Field"), tr("Column of the log")])
        self.horizontalHeader().setSectionResizeMode(0, QHeaderView.ResizeMode.ResizeToContents)
        self.horizontalHeader().setStretchLastSection(True)
        self.verticalHeader().hide()
        self.fields = [field["name"] for field in fields]
        self.boxes = {}
        for row, field in enumerate(fields):
            name = QTableWidgetItem(tr(field["title"]))
            name.setFlags(Qt.ItemFlag.ItemIsEnabled)
            name.setToolTip(f"{field['name']}: {tr(field['description'])}")
            self.setItem(row, 0, name)
            box = QComboBox()
            box.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
            box.setEditable(True)
            box.lineEdit().setPlaceholderText(tr("by its name, if there"))
            box.setToolTip(tr("Column of the log that holds this field. Left blank, it is matched by its name."))
            box.currentTextChanged.connect(self.changed)
            self.setCellWidget(row, 1, box)
            self.boxes[field["name"]] = box
        leave_the_wheel(self)
        self.guessed = {}
        # All rows in sight: the form scrolls, and a list within it would hide choices.
        rows = sum(self.rowHeight(row) for row in range(self.rowCount()))
        self.setFixedHeight(rows + self.horizontalHeader().sizeHint().height() + 2 * self.frameWidth())
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)

    def offer(self, names, guessed=None):
        """Offer the columns of a log, and choose the first guess; what the user chose stays where the log has it.

        Parameters
        ----------
        names : list of str
        guessed : dict of field to column, where the command has looked at the log
        """
        chosen = {field: box.currentText().strip() for field, box in self.boxes.items()}
        by_hand = {field: name for field, name in chosen.items() if name != self.guessed.get(field, "")}
        self.guessed = columns.guess(names) if guessed is None else guessed
        for field, box in self.boxes.items():
            box.blockSignals(True)
            box.clear()
            box.addItems(["", *names])
            kept = by_hand.get(field)
            box.setCurrentText(kept if kept in names else self.guessed.get(field, ""))
            box.blockSignals(False)
        self.changed.emit()

    def text(self):
        """Give the choice as "field = column" lines."""
        chosen = {field: box.currentText().strip() for field, box in self.boxes.items()}
        return columns.written({field: column for field, column in chosen.items() if column})

    def set_text(self, text):
        """Take a choice over; lines that cannot be read are left out, since the user is still typing."""
        try:
            chosen = columns.parse(text)
        except ChildError:
            return
        for field, box in self.boxes.items():
            box.setCurrentText(chosen.get(field, ""))


class ColumnsWrapper(WidgetWrapper):
    """The table in the form; plain lines in batches and models."""

    def createWidget(self):
        """Make the widget for the kind of form."""
        if self.dialogType != DIALOG_STANDARD:
            edit = QPlainTextEdit()
            edit.setPlaceholderText("station = STA.")
            edit.setMaximumHeight(60)
            return edit
        table = ColumnsTable()
        table.changed.connect(lambda: self.widgetValueHasChanged.emit(self))
        return table

    def setValue(self, value):
        """Show a value."""
        if isinstance(self.widget, ColumnsTable):
            self.widget.set_text(value or "")
        else:
            self.widget.setPlainText(value or "")

    def value(self):
        """Give the value."""
        return self.widget.text() if isinstance(self.widget, ColumnsTable) else self.widget.toPlainText()

    def postInitialize(self, wrappers):
        """Follow the form's choice of the log, as a layer or as files."""
        if self.dialogType != DIALOG_STANDARD:
            return
        self.question = None
        for wrapper in wrappers:
            called = {"LOG": self._log_changed, "LOG_FILES": self._files_changed}.get(
                wrapper.parameterDefinition().name()
            )
            if called is not None:
                wrapper.widgetValueHasChanged.connect(called)
                called(wrapper)

    def _log_changed(self, wrapper):
        context = QgsProcessingContext()
        context.setProject(QgsProject.instance())
        value = wrapper.parameterValue()
        source = QgsProcessingUtils.variantToSource(value, context) if value else None
        self.widget.offer([field.name() for field in source.fields()] if source is not None else [])

    def _files_changed(self, wrapper):
        """Let the command look at the files: where their column names stand is not to be seen from here."""
        paths = [str(path) for path in wrapper.parameterValue() or []]
        tasks.cancel(self.question)
        self.question = None
        if paths:
            self.question = tasks.ask(["columns", *paths], self._looked, self._not_looked)

    def _looked(self, answer):
        self.question = None
        if sip.isdeleted(self.widget):
            return
        looks = answer["files"]
        names = list(dict.fromkeys(name for look in looks for name in look["columns"]))
        # A column that is named here must be in every file.
        first, *others = [look["fields"] for look in looks]
        same = {field: name for field, name in first.items() if all(one.get(field) == name for one in others)}
        self.widget.offer(names, same)
        doubtful = sorted({field for look in looks for field in look["doubtful"]})
        if doubtful:
            tell(
                self, tr("Two columns of the log could be the same field; choose one: {0}").format(", ".join(doubtful))
            )

    def _not_looked(self, message):
        self.question = None
        if not sip.isdeleted(self.widget):
            tell(self, message, Qgis.MessageLevel.Warning)
