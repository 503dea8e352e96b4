"""The `asbuilt` command as a child process: its progress and its answer read as JSON, cancelled at any time.

Whatever becomes of the child, the host gets an outcome or one clear message.
"""

import contextlib
import json
import os
import queue
import signal
import subprocess
import sys
import tempfile
import threading
import time
from typing import Any, Dict

from .words import tr

# What a host sets for its own libraries would lead the child's libraries astray.
_OF_THE_HOST = (
    "PYTHONHOME", "PYTHONPATH", "PYTHONSTARTUP", "GDAL_DATA", "GDAL_DRIVER_PATH", "PROJ_LIB", "PROJ_DATA",
)  # fmt: skip
_GRACE_SECONDS = 3.0
_DONE, _SET_ASIDE, _WRONG_INPUT, _FAILED = 0, 1, 2, 3
ending = threading.Event()
"""Set while the plugin is taken off: every child is stopped, and none is started."""


class ChildError(Exception):
    """The child gave no answer; the text is the whole message for the user."""


class Cancelled(ChildError):
    """The user cancelled the work."""


class Outcome:
    """How a child ended: its exit status, and what it wrote."""

    def __init__(self, status, out, err):
        self.status, self.out, self.err = status, out, err


def ask(command, arguments, *, progress=None, cancelled=None):
    """Run a command of asbuilt and give the JSON object that it answers with.

    Parameters
    ----------
    command : list of str, the program and its first arguments
    arguments : list of str, without --json and --progress
    progress : function of (step, done, of), optional
    cancelled : function without arguments that says whether to stop, optional

    Raises
    ------
    ChildError
        When there is no answer, with the command's own message where it gave one.
    """

    def line(text):
        step = _progress_step(text)
        if step is not None and progress is not None:
            progress(*step)
        return step is None

    extra = ["--json", "--progress", "json"] if progress is not None else ["--json"]
    outcome = run([*command, *arguments, *extra], on_line=line, cancelled=cancelled)
    if outcome.status not in (_DONE, _SET_ASIDE):
        raise ChildError(_explained(outcome))
    try:
        return json.loads(outcome.out)
    except ValueError:
        raise ChildError(
            tr("The asbuilt command answered with something other than JSON: {0}").format(outcome.out[:200])
        ) from None


def run(arguments, *, on_line=None, cancelled=None, follow=False):
    """Run a program to its end, or until it is cancelled; nothing of it is left running.

    Parameters
    ----------
    arguments : list of str
    on_line : function of a line of standard error, optional
        Called in the thread that called this one; what it answers False for is not kept.
    cancelled : function without arguments that says whether to stop, optional
    follow : bool
        Give the lines of standard output too as they come, instead of at the end.

    Returns
    -------
    Outcome

    Raises
    ------
    Cancelled, ChildError
    """

    def stop():
        return ending.is_set() or (cancelled is not None and cancelled())

    with tempfile.TemporaryFile() as out:
        pipes: Dict[str, Any] = {"stdin": subprocess.DEVNULL, "stdout": out, "stderr": subprocess.PIPE}
        if follow:
            pipes |= {"stdout": subprocess.PIPE, "stderr": subprocess.STDOUT}
        try:
            child = subprocess.Popen(arguments, env=surroundings(), **pipes, **_own_group())
        except OSError as error:
            raise ChildError(tr("{0} cannot be started: {1}").format(arguments[0], error.strerror)) from None
        try:
            kept = [text for text in _lines(child, stop) if on_line is None or on_line(text)]
        finally:
            if child.poll() is None:
                _stop(child)
        out.seek(0)
        return Outcome(child.returncode, out.read().decode("utf-8", "replace"), "\n".join(kept))


def _lines(child, stop):
    """Give the lines that a child writes on standard error, asking in between whether to stop."""
    lines = queue.Queue()

    def read():
        with child.stderr or child.stdout as pipe:
            for line in pipe:
                lines.put(line)
        lines.put(None)

    threading.Thread(target=read, daemon=True).start()
    ended = None
    while True:
        if stop():
            _stop(child)
            raise Cancelled(_how_it_was_stopped(child))
        try:
            line = lines.get(timeout=0.1)
        except queue.Empty:
            # A grandchild may hold the pipe open after the child is gone.
            ended = ended or (time.monotonic() if child.poll() is not None else None)
            if ended and time.monotonic() - ended > _GRACE_SECONDS:
                return
            continue
        if line is None:
            break
        yield line.decode("utf-8", "replace").rstrip("\r\n")
    while child.poll() is None:
        if stop():
            _stop(child)
            raise Cancelled(_how_it_was_stopped(child))
        time.sleep(0.02)


def _how_it_was_stopped(child):
    if child.returncode == 0:
        return tr("Cancelled too late: the work was done by then, and the output is the new one.")
    return tr("Cancelled; the output is as it was before.")


def _own_group():
    if sys.platform == "win32":
        return {"creationflags": subprocess.CREATE_NO_WINDOW | subprocess.CREATE_NEW_PROCESS_GROUP}
    return {"start_new_session": True}


def _stop(child):
    """End a child and all that it started: asked first, so that it can tidy up, and then by force.

    Not by SIGINT, which a host that was started in the background of a shell has its children ignore.
    """
    if os.name == "nt":
        subprocess.run(["taskkill", "/F", "/T", "/PID", str(child.pid)], capture_output=True, check=False)
        child.wait()
        return
    if _signalled(child, signal.SIGTERM):
        with contextlib.suppress(subprocess.TimeoutExpired):
            child.wait(_GRACE_SECONDS)
    # What it started may have outlived it.
    _signalled(child, signal.SIGKILL)
    child.wait()


def _signalled(child, how):
    try:
        os.killpg(child.pid, how)
    except (ProcessLookupError, PermissionError):
        return False
    return True


def surroundings():
    """Give the environment variables for the command: the host's, without those for its own libraries."""
    kept = {name: value for name, value in os.environ.items() if name not in _OF_THE_HOST}
    return {**kept, "PYTHONUTF8": "1", "PYTHONUNBUFFERED": "1"}


def _progress_step(text):
    if not text.startswith("{"):
        return None
    try:
        found = json.loads(text)
        return str(found["step"]), int(found["done"]), int(found["of"])
    except (ValueError, KeyError, TypeError):
        return None


def _explained(outcome):
    """Say in one message why a command gave no answer."""
    told = outcome.err.strip()
    if outcome.status in (_WRONG_INPUT, _FAILED) and told:
        return told
    if "No module named" in told:
        return tr("The asbuilt environment is damaged ({0}). Set it up again.").format(told.splitlines()[-1])
    lost = tr("The asbuilt command ended before it was done (exit status {0}); the output is as it was before.")
    last = "\n".join(told.splitlines()[-3:])
    return "\n".join(
        filter(None, (lost.format(outcome.status), last, tr("Run it again; if it fails again, report it.")))
    )
