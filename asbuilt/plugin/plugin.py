"""The plugin as the host loads it: its algorithms, its panel, its menu and its words."""

import time
from typing import Any

import processing
from qgis.core import Qgis, QgsApplication, QgsProject, QgsSettings
from qgis.PyQt.QtCore import QCoreApplication, QEventLoop, QLocale, Qt, QTranslator
from qgis.PyQt.QtGui import QIcon
from qgis.PyQt.QtWidgets import QMessageBox, QPushButton

from . import child, environment, tasks
from .provider import Provider
from .words import FOLDER, show_help, tr

try:  # Qt 6 has it there, Qt 5 elsewhere
    from qgis.PyQt.QtGui import QAction
except ImportError:
    from qgis.PyQt.QtWidgets import QAction

_END_SECONDS, _STEP_MILLISECONDS = 15.0, 50
"""How long works that run are waited for when the plugin is taken off: more than a child is given to tidy up."""


class JointRecords:
    """Joint records in the host."""

    page: Any
    """The search page, while the plugin is in the window."""
    findings: Any
    """The panel of a placed job, likewise."""
    history: Any
    """The panel of the register, likewise."""

    def __init__(self, iface):
        self.iface = iface
        self.provider = None
        self.actions, self.panels, self.page = [], [], None
        self.findings = self.history = None
        self.translator = _translator()
        if self.translator is not None:
            QCoreApplication.installTranslator(self.translator)

    def initProcessing(self):
        """Put the algorithms in the toolbox; without a window, the host calls only this."""
        child.ending.clear()
        self.provider = Provider()
        QgsApplication.processingRegistry().addProvider(self.provider)

    def initGui(self):
        """Put all of the plugin in the host's window."""
        from .findings_panel import FindingsPanel
        from .panel import HistoryPanel
        from .serving import SearchPage

        self.initProcessing()
        icon = QIcon(str(FOLDER / "icon.svg"))
        for name, text in (
            ("place", tr("Place joints ...")),
            ("check", tr("Check a joint log ...")),
            ("place_job", tr("Place the joints of a job file ...")),
            ("sheet", tr("Write a blank log ...")),
            ("review", tr("Write the engineer's review ...")),
            ("load", tr("Load into the register ...")),
            ("find", tr("Find joints ...")),
        ):
            self._add_action(icon, text, lambda *clicked, name=name: self.open_form(name))
        self.page = SearchPage(self.iface.mainWindow())
        self.page.said.connect(self.tell)
        self._add_action(icon, tr("Search page in the browser"), self.open_search_page)
        end = self._add_action(icon, tr("End the search page"), self.end_search_page)
        end.setEnabled(False)
        self.page.serves.connect(end.setEnabled)
        self._add_action(icon, tr("Findings on a sheet ..."), self.make_sheet)
        self._add_action(icon, tr("Help"), show_help)
        self._add_action(icon, tr("Settings ..."), self.show_settings)
        window, canvas = self.iface.mainWindow(), self.iface.mapCanvas()
        tip = tr("Shows or hides the panel with what a placed job's records and survey give cause to look at")
        self.findings = FindingsPanel(canvas, window, self.iface)
        self._add_panel(self.findings, QIcon(str(FOLDER / "findings.svg")), tr("Findings of a placed job"), tip)
        tip = tr("Shows or hides the panel with what the register knows about a joint")
        self.history = HistoryPanel(canvas, window)
        self._add_panel(self.history, QIcon(str(FOLDER / "history.svg")), tr("History of a joint"), tip)
        self._welcome()

    def unload(self):
        """Take all of it away again, once what runs has come to its end: the host works on with its algorithms."""
        self._end_works()
        environment.end_offer(self.iface)
        for action in self.actions:
            self.iface.removePluginMenu(tr("Joint records"), action)
        self.actions = []
        if self.page is not None:
            self.page.stop()
            self.page.deleteLater()
            self.page = None
        for panel in self.panels:
            panel.close_tools()
            self.iface.removeToolBarIcon(panel.toggleViewAction())
            self.iface.removeDockWidget(panel)
            panel.deleteLater()
        self.panels, self.findings, self.history = [], None, None
        if self.provider is not None:
            QgsApplication.processingRegistry().removeProvider(self.provider)
            self.provider = None
        if self.translator is not None:
            QCoreApplication.removeTranslator(self.translator)

    def _end_works(self):
        """Stop what runs, and let the host hear of its end: it would ask an algorithm that is no more, and end too."""
        child.ending.set()
        tasks.cancel_all()
        without_clicks = QEventLoop.ProcessEventsFlag.ExcludeUserInputEvents
        end = time.monotonic() + _END_SECONDS
        while (tasks.are_running() or self._algorithms_run()) and time.monotonic() < end:
            QCoreApplication.processEvents(without_clicks, _STEP_MILLISECONDS)
            time.sleep(_STEP_MILLISECONDS / 1000)

    def _algorithms_run(self):
        """Tell whether the host runs an algorithm of the plugin: its task bears its title."""
        titles = [one.displayName() for one in self.provider.algorithms()] if self.provider is not None else []
        said = [task.description() for task in QgsApplication.taskManager().activeTasks()]
        return any(title in one for title in titles for one in said)

    def open_form(self, name):
        """Open the form of a work; before the first one, offer to set up the environment."""
        if not self.offer_set_up():
            return
        processing.execAlgorithmDialog(f"asbuilt:{name}", {})

    def offer_set_up(self):
        """Offer to set up the environment where there is none; tells whether the work can go on."""
        try:
            environment.command()
        except child.ChildError as error:
            kinds = QMessageBox.StandardButton
            question = "\n\n".join([str(error), tr("Set it up now?")])
            window = self.iface.mainWindow()
            if QMessageBox.question(window, tr("Joint records"), question, kinds.Yes | kinds.No) != kinds.Yes:
                return False
            return self.set_up()
        return True

    def set_up(self, *clicked):
        """Open the form that sets up the environment; tells whether there is one afterwards."""
        processing.execAlgorithmDialog("asbuilt:setup", {})
        try:
            environment.command()
        except child.ChildError:
            return False
        return True

    def _welcome(self):
        """After installing, offer at the top of the window to set up the environment."""
        if environment.is_there():
            return
        bar = self.iface.messageBar()
        message = bar.createMessage(tr("Joint records"), tr("The asbuilt command is not here yet."))
        message.setObjectName(environment.OFFER)
        now = QPushButton(tr("Set up the environment ..."))
        now.clicked.connect(self.set_up)
        message.layout().addWidget(now)
        bar.pushWidget(message, Qgis.MessageLevel.Info)

    def open_search_page(self):
        """Serve the register of the settings, and open its search page."""
        self.page.start(str(QgsSettings().value(environment.REGISTER_SETTING, "") or ""))

    def end_search_page(self):
        """End the search page."""
        self.page.stop()
        self.tell(tr("The search page has ended."))

    def make_sheet(self):
        """Lay out the plan and the findings of the job that the panel shows for print, and open it."""
        from . import sheet_layout

        shown = self.findings
        canvas, path, placed = self.iface.mapCanvas(), shown.job.currentData(), shown.placed.text()
        layout = sheet_layout.make(QgsProject.instance(), canvas, path, placed)
        if layout is None:
            self.tell(tr("Open the layers of a placed job first."), True)
        else:
            self.iface.openLayoutDesigner(layout)

    def tell(self, text, wrong=False):
        """Say something at the top of the window."""
        level = Qgis.MessageLevel.Warning if wrong else Qgis.MessageLevel.Info
        self.iface.messageBar().pushMessage(tr("Joint records"), text, level)

    def show_settings(self):
        """Open the settings."""
        from .settings_dialog import SettingsDialog

        if SettingsDialog(self.iface.mainWindow()).exec():
            # The panel asks the register of the settings: two of them would be taken for one.
            self.history.place.setFilePath(str(QgsSettings().value(environment.REGISTER_SETTING, "") or ""))

    def _add_panel(self, panel, icon, text, tip):
        show = panel.toggleViewAction()
        show.setIcon(icon)
        show.setText(text)
        show.setToolTip(tip)
        show.triggered.connect(lambda shown: self._bring_to_front(panel) if shown else None)
        self.iface.addDockWidget(Qt.DockWidgetArea.RightDockWidgetArea, panel)
        self.iface.addPluginToMenu(tr("Joint records"), show)
        self.iface.addToolBarIcon(show)
        self.actions.append(show)
        self.panels.append(panel)
        panel.hide()

    def _bring_to_front(self, panel):
        """Show a panel as a tab in front of the other: one above the other, neither has room for its lists."""
        window = self.iface.mainWindow()
        for other in self.panels:
            there = other.isVisible() and not other.isFloating() and not panel.isFloating()
            if other is not panel and there and window.dockWidgetArea(other) == window.dockWidgetArea(panel):
                window.tabifyDockWidget(other, panel)
        panel.raise_()

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
