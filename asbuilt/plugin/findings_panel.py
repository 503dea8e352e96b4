"""The panel of a placed job, without a register: what to look at, rows set aside, and stations on the map."""

from pathlib import Path
from typing import Any

from qgis.core import QgsCoordinateTransform, QgsGeometry, QgsProject, QgsWkbTypes
from qgis.gui import QgsDockWidget, QgsRubberBand
from qgis.PyQt.QtCore import Qt, QTimer
from qgis.PyQt.QtGui import QColor
from qgis.PyQt.QtWidgets import QComboBox, QLabel, QTabWidget

from . import again, log_rows, placed_file, results, since, tasks
from .panel import MARK, Line, button, column, edit, fit_columns, key, row, tree
from .stations import StationError
from .words import caution, meaning, tr

_REACH_PIXELS = 40
"""How near to a route the pointer must be for its station to be shown."""
_SCALE = 500.0
_MARGIN_PIXELS = 24
"""Beside the tabs, in all."""
_LOOK_MILLISECONDS = 2000
"""How often the files behind the lists are looked at while the panel is in sight."""


class FindingsPanel(QgsDockWidget):
    """A placed job's findings, one key from one to the next."""

    file: Any
    """The placed job that is shown; None while there is none, and no row to choose."""

    def __init__(self, canvas, parent=None, desktop=None):
        super().__init__(tr("Findings of a placed job"), parent)
        self.setObjectName("AsbuiltFindingsPanel")
        self.canvas, self.desktop = canvas, desktop
        self.file, self.new, self.compared = None, set(), ""
        self._watched, self._stamps, self._of_inputs, self._question = [], None, [], None
        self._make()
        self._lay_out()
        self.band = QgsRubberBand(canvas)
        self.band.setIcon(QgsRubberBand.IconType.ICON_CIRCLE)
        self.band.setIconSize(26)
        self.band.setColor(MARK)
        self.band.setFillColor(QColor(0, 0, 0, 0))
        self.band.setWidth(3)
        canvas.xyCoordinates.connect(self._pointer_moved)
        project = QgsProject.instance()
        project.layersAdded.connect(self.list_jobs)
        project.layersRemoved.connect(self.list_jobs)
        self.list_jobs()
        if self.file is None:
            self.read()
        self.looking = QTimer(self)
        self.looking.timeout.connect(self.look)
        self.looking.start(_LOOK_MILLISECONDS)

    # What it is made of

    def _make(self):
        self.job = QComboBox()
        self.job.setToolTip(tr("The placed jobs whose layers are open in the project"))
        self.job.currentIndexChanged.connect(self.read)
        self.severity = QComboBox()
        self.severity.addItem(tr("all findings"), "")
        for one in placed_file.SEVERITIES:
            self.severity.addItem(one, one)
        self.severity.setToolTip(tr("Only findings of this severity"))
        self.severity.currentIndexChanged.connect(self.show_lists)
        self.filter = edit(tr("Filter"), tr("filter"), tr("Only rows that hold this text: a code, a route, a joint"))
        self.filter.textChanged.connect(self.show_lists)
        self.findings = tree([tr("Severity"), tr("Finding"), tr("Route"), tr("Joint"), tr("Station")])
        self.set_aside = tree([tr("File"), tr("Row"), tr("Route"), tr("Joint"), tr("Reason")])
        for one in (self.findings, self.set_aside):
            one.setSortingEnabled(True)
            # In the order of the file, until somebody sorts.
            one.header().setSortIndicator(-1, Qt.SortOrder.AscendingOrder)
            one.currentItemChanged.connect(self._chosen)
        self.findings.itemDoubleClicked.connect(self.zoom_to)
        self.set_aside.itemDoubleClicked.connect(self.open_log)
        self.notes = tree([tr("Severity"), tr("Note")])
        self.notes.currentItemChanged.connect(self._chosen)
        self.tabs = QTabWidget()
        self.tabs.addTab(self.findings, tr("Findings"))
        self.tabs.addTab(self.set_aside, tr("Set aside"))
        self.tabs.addTab(self.notes, tr("Notes"))
        self.tabs.currentChanged.connect(self._tab_changed)
        self.before = button(tr("Previous"), tr("The finding or row before this one (Alt+Left)"))
        self.next = button(tr("Next"), tr("The finding or row after this one (Alt+Right)"))
        self.zoom = button(tr("Zoom to"), tr("Brings the finding to the middle of the map"))
        self.form = button(tr("Joint's form"), tr("Opens the form of the finding's joint"))
        tip = tr("Opens the log at its row: its table where the log is a layer of the project, else its file")
        self.log = button(tr("Open the log"), tip)
        tip = tr("Opens the form that placed this job, filled in as it was")
        self.again = button(tr("Place again ..."), tip)
        self.before.clicked.connect(lambda: self.step(-1))
        self.next.clicked.connect(lambda: self.step(1))
        key(self, "Alt+Left", lambda: self.step(-1))
        key(self, "Alt+Right", lambda: self.step(1))
        self.zoom.clicked.connect(self.zoom_to)
        self.form.clicked.connect(self.open_form)
        self.log.clicked.connect(self.open_log)
        self.again.clicked.connect(self.place_again)
        self.text, self.state, self.here, self.caution = QLabel(), QLabel(), QLabel(), QLabel(caution())
        self.placed, self.doubts = QLabel(), QLabel()
        for label in (self.text, self.state, self.here, self.caution, self.placed, self.doubts):
            label.setWordWrap(True)
        self.doubts.setStyleSheet(f"color: {MARK.name()}; font-weight: bold")
        self.text.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.route = QComboBox()
        self.route.setToolTip(tr("Route of the station to go to"))
        self.station = edit(tr("Station"), tr("go to station, such as 12+34.5"), tr("With Enter, the map goes there"))
        self.station.returnPressed.connect(self.go_to_station)

    def _lay_out(self):
        whole = column(
            self.job, self.placed, self.doubts, row(self.severity, self.filter), self.tabs, self.text,
            row(self.before, self.next, self.zoom), row(self.form, self.log, self.again),
            row(self.route, self.station), self.here, self.state, self.caution,
        )  # fmt: skip
        whole.layout().setContentsMargins(6, 6, 6, 6)
        # The tabs in sight: notes that stand behind an arrow are not read.
        counts = self.tabs.count() * self.fontMetrics().horizontalAdvance(" (000)")
        whole.setMinimumWidth(self.tabs.tabBar().sizeHint().width() + counts + _MARGIN_PIXELS)
        self.setWidget(whole)
        self._update()

    def place_again(self):
        """Open the form that placed the job, or say why it cannot be filled in."""
        self.state.setText(again.open_form(self.file.path, QgsProject.instance()))

    def close_tools(self):
        """Take the panel's mark off the map, and hear no more of map and project."""
        self.looking.stop()
        tasks.cancel(self._question)
        self._watch({})
        self.canvas.xyCoordinates.disconnect(self._pointer_moved)
        project = QgsProject.instance()
        project.layersAdded.disconnect(self.list_jobs)
        project.layersRemoved.disconnect(self.list_jobs)
        self.canvas.scene().removeItem(self.band)

    # The job

    def list_jobs(self, *changed):
        """List the placed jobs that are open in the project."""
        open_jobs = results.open_jobs(QgsProject.instance())
        there = [self.job.itemData(at) for at in range(self.job.count())]
        if there == list(open_jobs):
            return
        shown = self.job.currentData()
        self.job.blockSignals(True)
        self.job.clear()
        for path in open_jobs:
            self.job.addItem(results.title_of(path), path)
            self.job.setItemData(self.job.count() - 1, path, Qt.ItemDataRole.ToolTipRole)
        new = [path for path in open_jobs if path not in there]
        # One that was placed just now is what somebody wants to look at.
        shows = new[-1] if new else shown
        self.job.setCurrentIndex(max(self.job.findData(shows), 0 if open_jobs else -1))
        self.job.blockSignals(False)
        if self.job.currentData() != shown:
            self.read()

    def read(self, *changed):
        """Read the chosen job, and say what is new in it where it was placed again."""
        path = self.job.currentData()
        earlier, new, self.file = self.file, self.new, None
        said = tr("Open the layers of a placed job: its findings are listed here.") if path is None else ""
        if path is not None:
            try:
                self.file = placed_file.PlacedFile(path)
            except placed_file.PlacedFileError as error:
                said = str(error)
            except Exception as error:  # whatever a damaged file brings forth, the panel stays
                said = tr("{0} cannot be read as a placed job: {1}").format(path, error)
        if self.file is not None and self.file.is_as(earlier):
            # Read once more, since the host writes to a file when it opens it: what is new stays new.
            self.new, said = new, self.compared
        else:
            self.new, self.compared = set(), ""
            self.band.reset(QgsWkbTypes.GeometryType.PointGeometry)
            self.here.setText("")
        if self.file is not None and self.file.is_other_than(earlier):
            gone, self.new = placed_file.new_findings(earlier.said(), self.file.said())
            said = tr("Placed again: {0} findings are gone, {1} are new (in bold).").format(gone, len(self.new))
            self.compared = said
        self.state.setText(said)
        self.placed.setText(
            tr("Placed {0} by asbuilt {1}.").format(self.file.placed_at(), self.file.made_by) if self.file else ""
        )
        self._stamps, self._of_inputs = None, []
        self.look()
        self._watch(results.layers_of(path, QgsProject.instance()) if path is not None else {})
        route = self.route.currentText()
        self.route.clear()
        self.route.addItems(sorted(self.file.lines) if self.file else [])
        self.route.setCurrentIndex(max(self.route.findText(route), 0 if self.route.count() else -1))
        self.show_lists()

    def _watch(self, layers):
        """Follow the layer of findings: it changes when the job is placed again."""
        from qgis.PyQt import sip

        for layer in self._watched:
            if not sip.isdeleted(layer):
                layer.dataChanged.disconnect(self.read)
        self._watched = [layers["findings"]] if "findings" in layers else []
        for layer in self._watched:
            layer.dataChanged.connect(self.read)

    def look(self):
        """See whether the file, what it was made from, or its layers on the map are otherwise by now."""
        if self.file is None:
            self.doubts.hide()
            return
        if self.isVisible() and since.stamp([Path(self.file.path)]) != self.file.stamp:
            self._placed_elsewhere()
            return
        stamps = since.stamp([path for path, _ in self.file.inputs])
        if stamps != self._stamps:
            self._stamps, of = stamps, self.file
            tasks.cancel(self._question)
            self._question = tasks.work(
                tr("Joint records: are the files as they were?"), lambda: since.inputs_in_words(of.inputs),
                lambda said: self._inputs_looked_at(of, said),
            )  # fmt: skip
        self._show_doubts()

    def _placed_elsewhere(self):
        """Read a file that something else wrote: another window, or the command."""
        project = QgsProject.instance()
        if not Path(self.file.path).is_file():
            self.state.setText(tr("{0} is not there any more.").format(self.file.path))
            return
        seen = self.file
        results.show_anew(seen.path, project)
        if self.file is seen:  # where the layer of findings did not say so itself
            self.read()

    def _inputs_looked_at(self, file, said):
        self._question = None
        if self.file is file:
            self._of_inputs = said
            self._show_doubts()

    def _show_doubts(self):
        said = [*since.layers_in_words(self.file, QgsProject.instance()), *self._of_inputs]
        self.doubts.setText("\n".join(said))
        self.doubts.setVisible(bool(said))

    def show_lists(self, *changed):
        """List the findings and the rows set aside that the filter leaves."""
        wanted, only = self.filter.text().strip().casefold(), self.severity.currentData()
        self.findings.clear()
        self.set_aside.clear()
        self.notes.clear()
        for one in self.file.findings if self.file else ():
            texts = [one["severity"], one["code"], one["route"], one["joint"] or one["point"], one["station"]]
            if only in ("", one["severity"]) and _holds([*texts, one["message"]], wanted):
                place = one["distance"] or 0.0
                along = (one["route"] or "", place)
                keys = [(placed_file.SEVERITIES.index(one["severity"]), *along), None, None, None, along]
                item = _Row(texts, one, keys)
                item.setToolTip(1, one["message"])
                item.setToolTip(2, one["route"] or "")
                if placed_file.is_new(one, self.new):
                    for at in range(len(texts)):
                        font = item.font(at)
                        font.setBold(True)
                        item.setFont(at, font)
                self.findings.addTopLevelItem(item)
        for one in self.file.set_aside if self.file else ():
            texts = [Path(one["file"]).name, one["row"], one["route"], one["joint"], one["reason"]]
            if _holds([*texts, one["message"]], wanted):
                item = _Row(texts, one, [None, one["row"], None, None, None])
                item.setToolTip(0, one["file"])
                item.setToolTip(2, one["route"] or "")
                item.setToolTip(4, meaning("set_aside_reason", one["reason"]))
                self.set_aside.addTopLevelItem(item)
        for one in self.file.notes if self.file else ():
            if only in ("", one["severity"]) and _holds([one["code"], one["message"]], wanted):
                self.notes.addTopLevelItem(_Row([one["severity"], one["message"]], one, [None, None]))
        titles = ((self.findings, tr("Findings")), (self.set_aside, tr("Set aside")), (self.notes, tr("Notes")))
        for at, (list_, title) in enumerate(titles):
            self.tabs.setTabText(at, f"{title} ({list_.topLevelItemCount()})")
            fit_columns(list_)
        self._chosen()

    # One of them

    def step(self, by):
        """Go to the next or the previous one of the list, and bring it to the middle of the map."""
        list_ = self.tabs.currentWidget()
        count = list_.topLevelItemCount()
        if not count:
            return
        current = list_.indexOfTopLevelItem(list_.currentItem()) if list_.currentItem() else -1 if by > 0 else count
        if not 0 <= current + by < count:
            self.state.setText(tr("There is none beyond this one in the list."))
            return
        list_.setCurrentItem(list_.topLevelItem(current + by))
        if list_ is self.findings:
            self.zoom_to()

    def zoom_to(self, *clicked):
        """Bring the chosen finding to the middle of the map."""
        item = self.findings.currentItem()
        point = self.file.points.get(item.about["fid"]) if item is not None else None
        if point is None:
            self.state.setText(tr("This finding is about the job as a whole, or has no place.") if item else "")
            return
        self._show_place(point)

    def open_form(self, *clicked):
        """Open the form of the joint that the chosen finding is about."""
        uid = self._joint_chosen()
        joints = results.layers_of(self.file.path, QgsProject.instance()).get("joints") if uid else None
        if joints is None:
            self.state.setText(tr("The joints of this job are not open in the project.") if uid else "")
            return
        for joint in joints.getFeatures(f"joint_uid = '{uid}'"):
            self.desktop.openFeatureForm(joints, joint, False, False)
            return
        self.state.setText(tr("The filter of {0} leaves this joint out.").format(joints.name()))

    def open_log(self, *clicked):
        """Open the log at the row that was set aside, or at the rows of the joint that a finding is about."""
        item = self.set_aside.currentItem() if self.tabs.currentWidget() is self.set_aside else None
        found = [(item.about["file"], item.about["row"])] if item is not None else []
        if self._joint_chosen():
            found = self.file.rows_of_joint(self._joint_chosen())
        if not found:
            return
        name, rows = found[0][0], [number for file, number in found if file == found[0][0]]
        path = self.file.path_of(name)
        if path is None:
            self.state.setText(tr("{0} is not where it was when the job was placed.").format(name))
            return
        log_rows.go_to(path, rows, QgsProject.instance(), self.desktop, self.state.setText)

    def _joint_chosen(self):
        item = self.findings.currentItem() if self.tabs.currentWidget() is self.findings else None
        return item.about["joint_uid"] if item is not None else None

    def _chosen(self, *items):
        item = self.tabs.currentWidget().currentItem()
        self.text.setText("" if item is None else item.about["message"])
        self._update()

    def _tab_changed(self, at):
        self._chosen()

    def _update(self):
        on_findings = self.tabs.currentWidget() is self.findings
        aside = self.tabs.currentWidget() is self.set_aside and self.set_aside.currentItem() is not None
        self.zoom.setEnabled(on_findings and self.findings.currentItem() is not None)
        self.form.setEnabled(self.desktop is not None and bool(self._joint_chosen()))
        self.log.setEnabled(aside or bool(self._joint_chosen()))
        self.again.setEnabled(self.file is not None)

    # Stations

    def _pointer_moved(self, point):
        if self.file is None or not self.isVisible():
            return
        step = self._from_map()
        try:
            reach = self.canvas.mapUnitsPerPixel() * _REACH_PIXELS
            there, aside = step.transform(point), step.transform(point.x() + reach, point.y())
            self.here.setText(self.file.station_near(there, there.distance(aside)))
        except Exception:  # the pointer may be where the job's coordinate system does not reach
            self.here.setText("")

    def go_to_station(self):
        """Bring the station that was typed to the middle of the map."""
        if self.file is None:
            return
        try:
            point = self.file.place_of_station(self.route.currentText(), self.station.text())
        except StationError as error:
            self.state.setText(str(error))
            return
        self.state.setText("")
        self._show_place(point)

    def _from_map(self):
        crs = self.canvas.mapSettings().destinationCrs()
        return QgsCoordinateTransform(crs, self.file.crs, QgsProject.instance())

    def _show_place(self, point):
        crs = self.canvas.mapSettings().destinationCrs()
        point = QgsCoordinateTransform(self.file.crs, crs, QgsProject.instance()).transform(point)
        self.band.reset(QgsWkbTypes.GeometryType.PointGeometry)
        self.band.setToGeometry(QgsGeometry.fromPointXY(point), None)
        self.canvas.setCenter(point)
        self.canvas.zoomScale(min(self.canvas.scale(), _SCALE))
        self.canvas.refresh()


class _Row(Line):
    """A line of a list that sorts numbers as numbers, and severities by what they ask for."""

    def __init__(self, texts, about, keys):
        super().__init__(["" if text is None else str(text) for text in texts], None, about)
        self.about, self.keys = about, keys

    def __lt__(self, other):
        at = max(self.treeWidget().sortColumn(), 0)
        if self.keys[at] is None:
            return _natural(self.text(at)) < _natural(other.text(at))
        return self.keys[at] < other.keys[at]


def _natural(text):
    return (0, int(text), "") if text.isdecimal() else (1, 0, text)


def _holds(texts, wanted):
    return not wanted or any(wanted in str(text or "").casefold() for text in texts)
