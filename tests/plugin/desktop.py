"""The desktop GIS of the plugin's tests: a clean profile with the plugin in it, and the forms and panels there."""

import json
import os
import shlex
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import textwrap
import threading
import zipfile
from contextlib import closing
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "scripts"))

import build_plugin

ROOT = Path(__file__).resolve().parents[2]


SAMPLE = ROOT / "sample_gis"


HOST = "/usr/bin/python3"


PROGRAM = ROOT / "tests" / "plugin" / "ready.py"


SECONDS = 300
"""How long a script may take, and a process to end."""


TABLES = ("joints", "segments", "findings", "centerline", "inspections", "set_aside")


FORM = f"""
lines = layer("{SAMPLE}/centerline.gpkg", "mains")
FORM = dict(
    CENTERLINE=lines, ROUTE="route_id", START_FIELD="sta_start", NAME="Contract 26-07",
    LOG_FILES=["{SAMPLE}/joint_log.xlsx", "{SAMPLE}/joint_log_quarry.csv"],
    COLUMNS="kind = Ftg; bend_angle = Bend (deg); bend_plane = Bend plane; bolt_torque = Torque (ft-lb)",
    EQUATIONS=["A", "24+50.00", "30+00.00", "B", "29+00.00", "27+50.00"],
    STATION_UNIT="US survey foot", LAYING_LENGTH=20, TABLE="awwa-c600", PROJECT_TABLE="{SAMPLE}/allowables.csv",
    MORE='records.sheet = "Joint log"\\nrecords.spacing_tolerance = 0.5\\n'
         'inspection.laid_from = 2026-03-02\\ninspection.laid_to = 2026-06-30',
)
"""
"""The sample's job, filled in as a form."""


def host_python():
    if not shutil.which(HOST) or subprocess.run([HOST, "-c", "import qgis.core"], capture_output=True).returncode:
        pytest.skip("NOT CHECKED: the desktop GIS (Debian package python3-qgis) is not here")
    return HOST


class Desktop:
    """A process of the host in a clean profile with the plugin in it, which runs one script after another."""

    def __init__(self, folder, built):
        self.python = host_python()
        self.folder, self.profile = folder, folder / "profile"
        plugins = self.profile / "python" / "plugins"
        plugins.mkdir(parents=True)
        with zipfile.ZipFile(built) as archive:
            archive.extractall(plugins)
        (self.profile / "QGIS").mkdir()
        self.plugin = plugins / build_plugin.NAME
        self.process = None

    def environment(self):
        """Give the surroundings of the host."""
        run = self.folder / "run"
        run.mkdir(mode=0o700, exist_ok=True)
        return os.environ | {
            "QT_QPA_PLATFORM": "offscreen",
            "XDG_RUNTIME_DIR": str(run),
            "HOME": str(self.folder),
            "ASBUILT_TEST_PROFILE": str(self.profile),
        }

    def run(self, script, command):
        """Run a script there and give what it leaves in `answer`; a host that died of one is started for the next."""
        if self.process is None or self.process.poll() is not None:
            self.start()
        request = json.dumps({"script": textwrap.dedent(script), "command": str(command)})
        too_long = threading.Timer(SECONDS, self.process.kill)
        too_long.start()
        try:
            self.process.stdin.write(request + "\n")
            self.process.stdin.flush()
            for line in self.process.stdout:
                if line.startswith("ANSWER "):
                    return json.loads(line.removeprefix("ANSWER "))
        finally:
            too_long.cancel()
        status, complaints = self.process.wait(), self.complaints.read_text("utf-8", "replace")
        raise AssertionError(f"the host ended with status {status}: {complaints}")

    def start(self):
        """Start the process."""
        self.complaints = self.folder / "complaints.txt"
        with self.complaints.open("w") as complaints:
            self.process = subprocess.Popen(
                [self.python, ROOT / "tests" / "plugin" / "desktop_host.py"],
                stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=complaints, text=True, env=self.environment(),
            )  # fmt: skip

    def end(self):
        """End the process."""
        if self.process is not None:
            self.process.stdin.close()
            self.process.wait(SECONDS)
            self.process.stdout.close()


class Host:
    """The host as one test has it: with a command of its own."""

    def __init__(self, folder, desktop):
        self.folder, self.desktop = folder, desktop
        self.profile, self.plugin = desktop.profile, desktop.plugin
        self.command = folder / "asbuilt"
        self.says(f'exec {shlex.join(map(str, READY.words()))} "$@"')

    def says(self, line):
        """Put a command of asbuilt in place that does a line of shell."""
        says(self.command, f'PYTHONPATH="{ROOT}"; export PYTHONPATH\n{line}')

    def run(self, script):
        """Run a script there and give what it leaves in `answer`."""
        answer = self.desktop.run(script, self.command)
        assert "traceback" not in answer, answer["traceback"]
        return answer


COMMAND = f'exec "{sys.executable}" -m asbuilt "$@"'
"""The command as it is, as a line of shell."""


class Ready:
    """The command with its libraries read beforehand; see ready.py."""

    def __init__(self):
        self.server = self.socket = None

    def words(self):
        """Give the words that call it, having started it if need be."""
        if self.server is None:
            self.socket = Path(tempfile.mkdtemp()) / "ready"
            self.server = subprocess.Popen(
                [sys.executable, PROGRAM, self.socket], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                env=os.environ | {"PYTHONPATH": str(ROOT), "OPENBLAS_NUM_THREADS": "1"},
            )  # fmt: skip
            assert self.server.stdout.readline() == b"ready\n"
        return [sys.executable, "-I", "-S", PROGRAM, self.socket, "call"]

    def end(self):
        """End it."""
        if self.server is not None:
            self.server.stdin.close()
            self.server.wait(SECONDS)
            self.server.stdout.close()
            shutil.rmtree(self.socket.parent)
            self.server = None


READY = Ready()


def asbuilt(*arguments):
    """Run the command and give what it says."""
    return subprocess.run([*READY.words(), *arguments], check=True, capture_output=True, cwd=ROOT).stdout


def says(path, line):
    """Write a program that does a line of shell."""
    path.write_text(f"#!/bin/sh\n{line}\n")
    path.chmod(0o755)


def rows(path, table):
    with closing(sqlite3.connect(path)) as database:
        found = database.execute(f'SELECT * FROM "{table}"')
        names = [name[0] for name in found.description]
        # A form names files by their full path, the sample's job by their place beside it.
        plain = [[cell.replace(f"{SAMPLE}/", "") if isinstance(cell, str) else cell for cell in row] for row in found]
        return [dict(zip(names, row, strict=True)) for row in plain]


def placed_by_command(job, path):
    asbuilt("place", job, "--out", path, "--json")
    return path


def alive(pid):
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"


OPEN_FORM = """
from processing.gui.AlgorithmDialog import AlgorithmDialog
import time

def wait(until):
    end = time.monotonic() + 60
    while not until() and time.monotonic() < end:
        application.processEvents()
        time.sleep(0.02)
    assert until()

def opened(name="place"):
    dialog = AlgorithmDialog(QgsApplication.processingRegistry().createAlgorithmById("asbuilt:" + name), False, None)
    dialog.show()
    return dialog, dialog.mainWidget().wrappers
"""


PANEL = """
import time
from qgis.PyQt.QtCore import Qt, QPoint
from qgis.PyQt.QtTest import QTest
from qgis.PyQt.QtWidgets import QMainWindow
from qgis.core import QgsCoordinateReferenceSystem
from qgis.gui import QgsMapCanvas
from asbuilt_plugin.panel import HistoryPanel

LEFT, NONE = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier

def wait(until):
    end = time.monotonic() + 60
    while not until() and time.monotonic() < end:
        application.processEvents()
        time.sleep(0.02)
    assert until(), panel.state.text() or "nothing was said"

def shown():
    return [panel.shown["route"], panel.shown["joint"]] if panel.shown else None

window = QMainWindow()
window.resize(1100, 800)
canvas = QgsMapCanvas(window)
window.setCentralWidget(canvas)
canvas.setDestinationCrs(QgsCoordinateReferenceSystem("EPSG:6418"))
panel = HistoryPanel(canvas, window)
window.addDockWidget(Qt.DockWidgetArea.RightDockWidgetArea, panel)
window.show()
panel.place.setFilePath(REGISTER)

def click(point, dx=0, dy=0):
    pixel = canvas.getCoordinateTransform().transform(point)
    QTest.mouseClick(canvas.viewport(), LEFT, NONE, QPoint(round(pixel.x()) + dx, round(pixel.y()) + dy))

def type_joint(route, joint):
    for edit, text in ((panel.route, route), (panel.joint, joint)):
        edit.setFocus()
        edit.selectAll()
        QTest.keyClicks(edit, text) if text else QTest.keyClick(edit, Qt.Key.Key_Delete)
    QTest.keyClick(panel.joint, Qt.Key.Key_Return)
"""


def in_panel(host, register, script):
    return host.run(f"REGISTER = {str(register)!r}\n{PANEL}\n{textwrap.dedent(script)}")


FINDINGS = (
    PANEL.replace("panel = HistoryPanel", "panel = FindingsPanel")
    .replace("asbuilt_plugin.panel import HistoryPanel", "asbuilt_plugin.findings_panel import FindingsPanel")
    .replace("panel.place.setFilePath(REGISTER)", "")
)


def in_findings_panel(host, script):
    return host.run(f"{FINDINGS}\n{textwrap.dedent(script)}")
