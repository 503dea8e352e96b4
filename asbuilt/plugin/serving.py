"""The register's search page in the browser: `asbuilt serve` as a child that ends with the plugin."""

import re
import socket

from qgis.PyQt.QtCore import QObject, QProcess, QProcessEnvironment, QTimer, QUrl, pyqtSignal
from qgis.PyQt.QtGui import QDesktopServices

from . import child, environment
from .words import tr

_WAIT_MILLISECONDS = 3000
_KNOCK_SECONDS, _KNOCK_AGAIN_MILLISECONDS = 0.2, 200
_ADDRESS = re.compile(r"http://[\w.:]+:\d+")


class SearchPage(QObject):
    """The server of the search page, on this machine alone."""

    said = pyqtSignal(str, bool)
    """A message, and whether something is wrong."""
    serves = pyqtSignal(bool)
    """Whether it serves, each time that this changes."""

    def __init__(self, parent=None):
        super().__init__(parent)
        self.process, self.address, self.out, self.err = None, "", "", ""

    def is_running(self):
        """Tell whether it serves."""
        return self.process is not None

    def start(self, register):
        """Serve a register, and open its page when it is ready."""
        self.stop()
        if not register.strip():
            self.said.emit(tr("Name the register first, in the plugin's settings."), True)
            return
        try:
            program, *before = environment.command()
        except child.ChildError as error:
            self.said.emit(str(error), True)
            return
        self.address, self.out, self.err = "", "", ""
        self.process = QProcess(self)
        surroundings = QProcessEnvironment()
        for name, value in child.surroundings().items():
            surroundings.insert(name, value)
        self.process.setProcessEnvironment(surroundings)
        self.process.readyReadStandardOutput.connect(self._read)
        self.process.readyReadStandardError.connect(self._read)
        self.process.finished.connect(self._finished)
        self.process.errorOccurred.connect(self._failed)
        self.process.start(program, [*before, "serve", register, "--port=0"])
        self.serves.emit(True)

    def stop(self):
        """End it, if it serves."""
        process, self.process = self.process, None
        if process is None:
            return
        process.terminate()
        if not process.waitForFinished(_WAIT_MILLISECONDS):
            process.kill()
            process.waitForFinished(_WAIT_MILLISECONDS)
        process.deleteLater()
        self.serves.emit(False)

    def _read(self):
        if self.process is None:
            return
        self.out += bytes(self.process.readAllStandardOutput()).decode("utf-8", "replace")
        self.err += bytes(self.process.readAllStandardError()).decode("utf-8", "replace")
        found = _ADDRESS.search(self.out)
        if found and not self.address:
            self.address = found[0]
            self._open_when_it_listens()

    def _open_when_it_listens(self):
        """Open the page as soon as the server takes visitors: it names its address a moment before."""
        if self.process is None:
            return
        url = QUrl(self.address)
        try:
            socket.create_connection((url.host(), url.port()), _KNOCK_SECONDS).close()
        except OSError:
            QTimer.singleShot(_KNOCK_AGAIN_MILLISECONDS, self._open_when_it_listens)
            return
        QDesktopServices.openUrl(url)
        self.said.emit(tr("The search page is at {0}, on this machine alone.").format(self.address), False)

    def _failed(self, error):
        if self.process is not None and error == QProcess.ProcessError.FailedToStart:
            self.process = None
            self.serves.emit(False)
            self.said.emit(tr("The search page cannot be started."), True)

    def _finished(self, *ended):
        if self.process is None:  # stopped on purpose
            return
        self._read()
        self.process = None
        self.serves.emit(False)
        self.said.emit(tr("The search page has ended: {0}").format(self.err.strip() or self.out.strip()), True)
