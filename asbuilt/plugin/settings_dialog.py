"""The plugin's settings: where the command is, and which register the panel asks."""

import getpass

import processing
from qgis.core import QgsSettings
from qgis.gui import QgsFileWidget
from qgis.PyQt.QtWidgets import QDialog, QDialogButtonBox, QFormLayout, QLabel, QLineEdit, QPushButton, QVBoxLayout

from . import environment
from .child import ChildError
from .words import show_help, tr


class SettingsDialog(QDialog):
    """Settings, and the state of the environment."""

    def __init__(self, parent=None):
        super().__init__(parent)
        self.setWindowTitle(tr("Joint records: settings"))
        self.setMinimumWidth(560)
        self.command = QgsFileWidget()
        self.command.setFilePath(environment.chosen())
        self.command.lineEdit().setPlaceholderText(tr("the plugin's own environment"))
        self.command.setToolTip(tr("The asbuilt command; blank for the environment that the plugin made."))
        self.register = QgsFileWidget()
        self.register.setStorageMode(QgsFileWidget.StorageMode.SaveFile)
        self.register.setConfirmOverwrite(False)  # it is named here, and not replaced
        self.register.setFilter(tr("GeoPackage") + " (*.gpkg)")
        self.register.setFilePath(str(QgsSettings().value(environment.REGISTER_SETTING, "") or ""))
        self.register.setToolTip(tr("The register that the panel asks: a GeoPackage, or a postgresql:// address."))
        self.who = QLineEdit(str(QgsSettings().value(environment.WHO_SETTING, "") or ""))
        self.who.setPlaceholderText(getpass.getuser())
        self.who.setToolTip(tr("Your name, as it stands with the findings that you mark as looked at."))
        self.state = QLabel()
        self.state.setWordWrap(True)
        self.set_up = QPushButton(tr("Set up the environment ..."))
        self.set_up.setToolTip(tr("Makes a virtual environment in your profile and installs the command there."))
        self.set_up.clicked.connect(self._set_up)
        form = QFormLayout()
        form.addRow(tr("Command"), self.command)
        form.addRow("", self.state)
        form.addRow("", self.set_up)
        form.addRow(tr("Register"), self.register)
        form.addRow(tr("Your name"), self.who)
        kinds = QDialogButtonBox.StandardButton
        buttons = QDialogButtonBox(kinds.Ok | kinds.Cancel | kinds.Help)
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        buttons.helpRequested.connect(show_help)
        layout = QVBoxLayout(self)
        layout.addLayout(form)
        layout.addWidget(buttons)
        self._show_state()

    def accept(self):
        """Keep the settings."""
        environment.choose(self.command.filePath())
        QgsSettings().setValue(environment.REGISTER_SETTING, self.register.filePath())
        QgsSettings().setValue(environment.WHO_SETTING, self.who.text().strip())
        super().accept()

    def _set_up(self):
        # A form of the window, as the host opens one, would lie behind this dialog, and deaf while it is open.
        asked = processing.createAlgorithmDialog("asbuilt:setup", {})
        asked.setParent(self, asked.windowFlags())
        asked.exec()
        asked.close()
        self.command.setFilePath(environment.chosen())
        self._show_state()

    def _show_state(self):
        try:
            command = environment.command()
            self.state.setText(tr("Ready: {0}").format(command[0]))
        except ChildError as error:
            self.state.setText(str(error))
