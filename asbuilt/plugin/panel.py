"""The panel: point at a joint, or draw a rectangle, and read from the register what is known about it."""

from pathlib import Path

from qgis.core import (
    QgsGeometry,
    QgsSettings,
    QgsWkbTypes,
)
from qgis.gui import QgsDockWidget, QgsFileWidget, QgsMapToolEmitPoint, QgsMapToolExtent, QgsRubberBand
from qgis.PyQt import sip
from qgis.PyQt.QtCore import Qt, QUrl
from qgis.PyQt.QtGui import QColor, QDesktopServices, QKeySequence
from qgis.PyQt.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QSplitter,
    QTextBrowser,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from . import environment, history, register, tasks
from .form_words import in_form_words
from .words import caution, meaning, tr

try:  # Qt 6 has it there, Qt 5 elsewhere
    from qgis.PyQt.QtGui import QShortcut
except ImportError:
    from qgis.PyQt.QtWidgets import QShortcut

MARK = QColor("#c2571a")
_LIST_PIXELS = 90
_GAP_PIXELS = 10
"""Between a column of a list and the next."""
_WIDEST_LETTERS = 22
"""A column but the last one is no wider: what stands behind a long name of a street must be in sight."""
"""The least height of a list: less shows no row under its headings."""
_PIXELS = 12
"""How near to the pointer a joint is looked for."""


class HistoryPanel(QgsDockWidget):
    """What the register knows, by place."""

    def __init__(self, canvas, parent=None):
        super().__init__(tr("History of a joint"), parent)
        self.setObjectName("AsbuiltHistoryPanel")
        self.canvas = canvas
        self.found, self.shown = [], None
        self.question, self.before, self.asked = None, None, None
        self._make_questions()
        self._make_answers()
        self._make_findings()
        self._lay_out()
        self._make_tools()
        self._update()
        register.news.changed.connect(self._register_news)

    # What it is made of

    def _make_questions(self):
        self.place = QgsFileWidget()
        self.place.setFilter(tr("GeoPackage") + " (*.gpkg)")
        self.place.setFilePath(str(QgsSettings().value(environment.REGISTER_SETTING, "") or ""))
        self.place.lineEdit().setPlaceholderText(tr("GeoPackage, or postgresql:// address"))
        self.place.setToolTip(tr("The register: where 'Load a placed job into the register' put the joints."))
        self.place.fileChanged.connect(self._register_changed)
        self.point = button(tr("Point at a joint"), tr("Then click on the map: shows the nearest joint."), True)
        self.rectangle = button(tr("Draw a rectangle"), tr("Then drag on the map: lists the joints in it."), True)
        self.route = edit(tr("Route"), tr("route"), tr("A route's name; with Enter, its joints are listed."))
        self.joint = edit(tr("Joint"), tr("joint"), tr("A joint's number; with Enter, it is looked up."))
        for one in (self.route, self.joint):
            one.returnPressed.connect(self.find_by_name)

    def _make_answers(self):
        self.list = tree([tr("Joint"), tr("Route"), tr("Station"), tr("Away"), tr("Verdict"), tr("Findings")])
        self.list.setToolTip(tr("Joints found, nearest first."))
        self.list.currentItemChanged.connect(self._joint_chosen)
        self.back = button(tr("Previous joint"), tr("The joint before this one along the route (Alt+Left)"))
        self.ahead = button(tr("Next joint"), tr("The joint after this one along the route (Alt+Right)"))
        self.zoom = button(tr("Zoom to"), tr("Brings the joint to the middle of the map"))
        key(self, "Alt+Left", lambda: self.step_along(-1))
        key(self, "Alt+Right", lambda: self.step_along(1))
        self.back.clicked.connect(lambda: self.step_along(-1))
        self.ahead.clicked.connect(lambda: self.step_along(1))
        self.zoom.clicked.connect(self.zoom_to)
        self.page = QTextBrowser()
        self.page.setOpenLinks(False)
        self.page.anchorClicked.connect(_open_photo)
        self.state = QLabel()
        self.state.setWordWrap(True)
        self.state.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.caution = QLabel(caution())
        self.caution.setWordWrap(True)

    def _make_findings(self):
        self.findings = tree([tr("Finding"), tr("Severity"), tr("Joint"), tr("Looked at")])
        self.findings.setToolTip(tr("Findings at the joints listed above; the next one is one key (Down) away."))
        self.findings.currentItemChanged.connect(self._finding_chosen)
        self.next_finding = button(tr("Next finding"), tr("The next finding that nobody has looked at"))
        self.next_finding.clicked.connect(self.step_findings)
        what = tr("what was found when looking at it")
        self.note = edit(tr("Note"), what, tr("Kept in the register with the finding"))
        self.note.returnPressed.connect(self.mark)
        self.looked = button(tr("Mark as looked at"), tr("Keeps the mark and the note in the register"))
        self.looked.clicked.connect(self.mark)
        tip = tr("Takes the mark back: the finding is to be looked at again; the earlier marks are kept")
        self.reopened = button(tr("Open again"), tip)
        self.reopened.clicked.connect(lambda: self.mark(as_="open"))

    def _lay_out(self):
        parts = QSplitter(Qt.Orientation.Vertical)
        parts.addWidget(self.list)
        parts.addWidget(column(row(self.back, self.ahead, self.zoom), self.page))
        parts.addWidget(column(self.findings, self.note, row(self.looked, self.reopened, self.next_finding)))
        parts.setSizes([130, 330, 190])
        asked = (self.place, row(self.point, self.rectangle), row(self.route, self.joint))
        whole = column(*asked, parts, self.state, self.caution)
        whole.layout().setContentsMargins(6, 6, 6, 6)
        self.setWidget(whole)

    def _make_tools(self):
        self.point_tool = QgsMapToolEmitPoint(self.canvas)
        self.point_tool.canvasClicked.connect(self._pointed)
        self.rectangle_tool = QgsMapToolExtent(self.canvas)
        self.rectangle_tool.extentChanged.connect(self._drawn)
        for button, tool in ((self.point, self.point_tool), (self.rectangle, self.rectangle_tool)):
            tool.setButton(button)
            button.clicked.connect(lambda on, tool=tool: self._take(tool, on))
        self.band = QgsRubberBand(self.canvas)
        self.band.setIcon(QgsRubberBand.IconType.ICON_CIRCLE)
        self.band.setIconSize(26)
        self.band.setColor(MARK)
        self.band.setFillColor(QColor(0, 0, 0, 0))
        self.band.setWidth(3)

    def close_tools(self):
        """Take the panel's tools and marks off the map, and hear no more of registers."""
        register.news.changed.disconnect(self._register_news)
        tasks.cancel(self.question)
        for tool in (self.point_tool, self.rectangle_tool):
            self._give_back(tool)
            tool.deleteLater()
        self.canvas.scene().removeItem(self.band)

    # Asking

    def find_by_name(self):
        """List the joints of the route, or the joint, that the user typed."""
        route, joint = self.route.text().strip(), self.joint.text().strip()
        if route or joint:
            self._ask(register.by_name(self.place.filePath(), route, joint), tr("No such joint in the register."))

    def _pointed(self, point, button):
        self._clear_names()
        within = _PIXELS * self.canvas.mapUnitsPerPixel()
        crs = self.canvas.mapSettings().destinationCrs()
        query = register.near(self.place.filePath(), point, within, crs)
        self._ask(query, tr("No joint there. Point nearer to one, or zoom in."))

    def _drawn(self, extent):
        self.rectangle_tool.clearRubberBand()
        self._clear_names()
        crs = self.canvas.mapSettings().destinationCrs()
        self._ask(register.inside(self.place.filePath(), extent, crs), tr("No joint in there."))

    def _clear_names(self):
        self.route.clear()
        self.joint.clear()

    def _ask(self, query, none_found, then=None):
        if not self.place.filePath().strip():
            self._say(tr("Name the register first, in the field at the top."))
            return
        tasks.cancel(self.question)
        self.asked = query, none_found
        self._say(tr("Asking the register ..."))

        def answered(answer):
            self.question = None
            self._list(register.joints(answer))
            self._say("" if self.found else none_found)
            if then is not None:
                then()

        self.question = tasks.ask(query.arguments, answered, self._failed)
        self.question.query = query  # its temporary files live as long as it does

    def _failed(self, message):
        self.question = None
        titles = {"route": tr("Route"), "joint": tr("Joint")}
        self._say(in_form_words(message, {"--route": "route", "--joint": "joint"}, titles))

    # Showing

    def _list(self, joints):
        self.found = joints
        self.list.clear()
        for joint in joints:
            away = "" if joint["away"] is None else f"{joint['away']:.1f} {joint['away_unit']}"
            count = len(joint["findings"]) or ""
            texts = (joint["joint"], joint["route"], joint["station"], away, joint["verdict"], count)
            item = Line(["" if text is None else str(text) for text in texts], joint)
            item.setToolTip(1, joint["route"])
            item.setToolTip(4, meaning("verdict", joint["verdict"]))
            self.list.addTopLevelItem(item)
        # Joints that were asked for by name are away from nowhere.
        self.list.setColumnHidden(3, all(joint["away"] is None for joint in joints))
        fit_columns(self.list)
        self._list_findings()
        if joints:
            self.list.setCurrentItem(self.list.topLevelItem(0))
        else:
            self._show(None)

    def _list_findings(self):
        self.findings.clear()
        for joint in self.found:
            for finding in joint["findings"]:
                item = Line([], joint, finding)
                _write_finding(item)
                self.findings.addTopLevelItem(item)
        fit_columns(self.findings)

    def _joint_chosen(self, item, earlier=None):
        if item is not None:
            self._show(item.joint)

    def _show(self, joint):
        self.shown = joint
        self.page.setHtml(history.page(joint, self._photo_folder()) if joint else "")
        self.band.reset(QgsWkbTypes.GeometryType.PointGeometry)
        if joint is not None:
            self.band.setToGeometry(QgsGeometry.fromPointXY(self._on_canvas(joint)), None)
        self._update()

    def _photo_folder(self):
        return Path(self.place.filePath()).expanduser().parent

    def _on_canvas(self, joint):
        return register.place_of(joint, self.canvas.mapSettings().destinationCrs())

    def zoom_to(self):
        """Bring the joint shown to the middle of the map, near enough to see its neighbours."""
        if self.shown is not None:
            self.canvas.setCenter(self._on_canvas(self.shown))
            self.canvas.zoomScale(min(self.canvas.scale(), 500.0))
            self.canvas.refresh()

    def step_along(self, step):
        """Show the next or the previous joint along the route."""
        neighbour = self.shown and self.shown["next" if step > 0 else "previous"]
        if not neighbour:
            self._say(tr("The route has no joint beyond this one.") if self.shown else "")
            return
        listed = self._listed(neighbour["joint_uid"])
        if listed is not None:
            self.list.setCurrentItem(listed)
            self.zoom_to()
            return
        query = register.by_name(self.place.filePath(), "", neighbour["joint_uid"])
        self._ask(query, tr("The register has changed; look the joint up again."), self.zoom_to)

    def _listed(self, uid):
        for number in range(self.list.topLevelItemCount()):
            item = self.list.topLevelItem(number)
            if item.joint["joint_uid"] == uid:
                return item
        return None

    # Findings

    def _finding_chosen(self, item, earlier=None):
        if item is None:
            self._update()
            return
        mark = register.last_mark(item.finding)
        self.note.setText((mark["note"] or "") if mark else "")
        self.list.setCurrentItem(self._listed(item.joint["joint_uid"]))
        self.zoom_to()
        self._update()

    def step_findings(self):
        """Go to the next finding that nobody has looked at."""
        count = self.findings.topLevelItemCount()
        current = self.findings.indexOfTopLevelItem(self.findings.currentItem()) if self.findings.currentItem() else -1
        for number in (*range(current + 1, count), *range(current + 1)):
            item = self.findings.topLevelItem(number)
            if not register.looked_at(item.finding):
                self.findings.setCurrentItem(item)
                return
        self._say(tr("All findings here have been looked at."))

    def mark(self, *clicked, as_="looked-at"):
        """Mark the chosen finding as looked at, or as open again, with the note, in the register."""
        item = self.findings.currentItem()
        if item is None:
            return
        query = register.mark(self.place.filePath(), item.finding, self.note.text().strip(), as_)

        def answered(answer):
            if sip.isdeleted(self):
                return
            self._say(tr("Marked in the register."))
            register.marked(item.finding, answer)
            if self.shown is item.joint:
                self._show(item.joint)
            if not sip.isdeleted(item):  # as it is where the list was made anew meanwhile
                _write_finding(item)
                self._update()

        tasks.ask(query.arguments, answered, self._failed)

    # Small things

    def _register_changed(self, path):
        QgsSettings().setValue(environment.REGISTER_SETTING, path)
        self.asked = None
        self._list([])
        self._say("")

    def _register_news(self, place, loaded):
        """Ask again where the register was changed; one that a job was loaded into is the one to ask from now on."""
        if register.is_same(place, self.place.filePath()):
            if self.asked is not None:
                self._list([])  # an answer of what was there before must not outlive a question that fails
                query, none_found = self.asked
                told = tr("The register was changed; this is what it holds now.")
                self._ask(query, none_found, lambda: self._say(told))
        elif loaded:
            self.place.setFilePath(place)
            self._say(tr("{0} is asked from now on: a job was loaded into it.").format(place))

    def _take(self, tool, on):
        if on:
            if self.canvas.mapTool() not in (self.point_tool, self.rectangle_tool):
                self.before = self.canvas.mapTool()
            self.canvas.setMapTool(tool)
        else:
            self._give_back(tool)

    def _give_back(self, tool):
        """Take a tool of the panel off the map; the one that was there before comes back."""
        if self.canvas.mapTool() is not tool:
            return
        self.canvas.unsetMapTool(tool)
        if self.before is not None and not sip.isdeleted(self.before):
            self.canvas.setMapTool(self.before)

    def _say(self, text):
        self.state.setText(text)

    def _update(self):
        for button in (self.back, self.ahead, self.zoom):
            button.setEnabled(self.shown is not None)
        chosen = self.findings.currentItem() is not None
        self.note.setEnabled(chosen)
        self.looked.setEnabled(chosen)
        self.reopened.setEnabled(chosen and register.looked_at(self.findings.currentItem().finding))
        self.next_finding.setEnabled(self.findings.topLevelItemCount() > 0)


class Line(QTreeWidgetItem):
    """A line of a list, with the joint or the finding that it is about."""

    def __init__(self, texts, joint, finding=None):
        super().__init__(texts)
        self.joint, self.finding = joint, finding


def _write_finding(item):
    joint, finding = item.joint, item.finding
    mark = register.last_mark(finding)
    looked = "" if mark is None else ": ".join(filter(None, (mark["by"], mark["note"])))
    if looked and not register.looked_at(finding):
        looked = tr("open again ({0})").format(looked)
    for column, text in enumerate((finding["code"], finding["severity"], joint["joint"], looked)):
        item.setText(column, str(text))
    item.setToolTip(0, finding["message"])
    item.setToolTip(3, looked)


def _open_photo(url):
    if url.isLocalFile():
        QDesktopServices.openUrl(QUrl(url))


def button(text, tip, checkable=False):
    button = QPushButton(text)
    button.setToolTip(tip)
    button.setCheckable(checkable)
    return button


def key(panel, keys, called):
    """Give a panel a key that is heard while the panel has the focus, so that the host's own keys stay the host's."""
    shortcut = QShortcut(QKeySequence(keys), panel)
    shortcut.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
    shortcut.activated.connect(called)


def edit(name, placeholder, tip):
    edit = QLineEdit()
    edit.setAccessibleName(name)
    edit.setPlaceholderText(placeholder)
    edit.setToolTip(tip)
    return edit


def tree(headings):
    tree = QTreeWidget()
    tree.setHeaderLabels(headings)
    tree.setRootIsDecorated(False)
    tree.setUniformRowHeights(True)
    tree.setMinimumHeight(_LIST_PIXELS)
    tree.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
    return tree


def fit_columns(tree):
    """Make columns as wide as what stands in them: the host leaves room for its mark of sorting in each."""
    metrics = tree.header().fontMetrics()
    for number in range(tree.columnCount()):
        heading = metrics.boundingRect(tree.headerItem().text(number)).width()
        width = max(heading, tree.sizeHintForColumn(number)) + _GAP_PIXELS
        if number < tree.columnCount() - 1:
            width = min(width, metrics.horizontalAdvance("x" * _WIDEST_LETTERS))
        tree.setColumnWidth(number, width)


def row(*widgets):
    return _laid_out(QHBoxLayout(), widgets)


def column(*widgets):
    return _laid_out(QVBoxLayout(), widgets)


def _laid_out(layout, widgets):
    holder = QWidget()
    holder.setLayout(layout)
    layout.setContentsMargins(0, 0, 0, 0)
    for widget in widgets:
        layout.addWidget(widget)
    return holder
