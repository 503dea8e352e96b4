"""The environment that the `asbuilt` command lives in: found, judged by its version, or made on request.

It is a virtual environment of its own, so that its libraries and the host's never meet.
"""

import os
import re
import shutil
import sys
import tempfile
import time
from pathlib import Path

from qgis.core import QgsApplication, QgsSettings

from . import child
from .words import FOLDER, tr, vocabulary

COMMAND_SETTING = "asbuilt/command"
REGISTER_SETTING = "asbuilt/register"
WHO_SETTING = "asbuilt/who"
OFFER = "asbuilt_offer_to_set_up"
"""The name, for Qt, of the message at the top of the window that offers to set up the environment."""
_CURRENT = "current.txt"
_PYTHON = (3, 11)
_DAY_SECONDS = 86_400
_known = {}


def home():
    """Give the folder in the user's profile under which the plugin makes its environments."""
    return Path(QgsApplication.qgisSettingsDirPath()) / "asbuilt_environment"


def made_here():
    """Give the folder of the environment in use: the one that a file beside it names, since they do not move."""
    named = home() / _CURRENT
    return home() / (named.read_text("utf-8").strip() if named.is_file() else "none")


def chosen():
    """Give the command or environment named in the settings, "" for none."""
    return str(QgsSettings().value(COMMAND_SETTING, "") or "").strip()


def choose(path):
    """Name the command or environment to use in the settings; "" for the plugin's own choice."""
    QgsSettings().setValue(COMMAND_SETTING, str(path).strip())


def command():
    """Give the command to run, as a list of its words.

    Raises
    ------
    child.ChildError
        When there is none, or it is of another version; says what to do.
    """
    found = _find()
    version = _version(found)
    wanted = vocabulary()["version"]
    if _release(version) != _release(wanted):
        raise child.ChildError(
            tr(
                "{0} is asbuilt {1}, but this plugin needs {2}. Run the algorithm 'Set up the asbuilt environment', "
                "or name another environment in the plugin's settings."
            ).format(found, version, wanted)
        )
    return [str(found)]


def is_there():
    """Tell whether there is a command at all, of whatever version; quick, since nothing is run."""
    try:
        _find()
    except child.ChildError:
        return False
    return True


def end_offer(iface):
    """Take the offer to set up the environment off the top of the window, where there is a window and an offer."""
    bar = iface.messageBar() if iface is not None else None
    if bar is None:
        return
    for offer in [message for message in bar.items() if message.objectName() == OFFER]:
        bar.popWidget(offer)


def make(python, say, cancelled):
    """Make the plugin's environment anew, beside the one in use, which it takes the place of when it is whole.

    Parameters
    ----------
    python : path of a Python interpreter, or "" to look for one
    say : function of a line of text
    cancelled : function without arguments that says whether to stop

    Raises
    ------
    child.ChildError
        When it cannot be made; nothing half-made is left.
    """
    python = python or _host_python()
    _refuse_old(python)
    wheel = next(iter(sorted((FOLDER / "package").glob("*.whl"))), None)
    if wheel is None:
        raise child.ChildError(tr("This copy of the plugin came without its package: install it from its zip again."))
    before = made_here()
    folder = None
    try:
        home().mkdir(parents=True, exist_ok=True)
        # Of its own at once: another window may set one up in the same second.
        named = f"{vocabulary()['version']}-{time.strftime('%Y%m%d-%H%M%S')}-"
        folder = Path(tempfile.mkdtemp(prefix=named, dir=home()))
        say(tr("Making a virtual environment in {0} ...").format(folder))
        _step([python, "-m", "venv", str(folder)], say, cancelled, tr("On Debian, install the package python3-venv."))
        say(tr("Installing asbuilt and its libraries; this takes a minute or two ..."))
        # Compiled at their first use: what is never used takes a third of the time.
        how = ["--disable-pip-version-check", "--no-input", "--no-compile"]
        pip = [str(_script(folder, "python")), "-m", "pip", "install", *how]
        extras = ",".join(vocabulary()["extras"])
        package = f"{wheel}[{extras}]" if extras else str(wheel)
        _step([*pip, package], say, cancelled, tr("Look at the lines above; is the package index reachable?"))
        version = _version(_script(folder, "asbuilt"))
        # Named at once or not at all: whoever reads it meanwhile finds the one before, or this one.
        unfinished = folder / _CURRENT
        unfinished.write_text(folder.name, "utf-8")
        unfinished.replace(home() / _CURRENT)
    except BaseException as error:
        if folder is not None:
            shutil.rmtree(folder, ignore_errors=True)
        if isinstance(error, OSError):
            told = tr("The environment cannot be made in {0} ({1}): look at the folder's rights and room.")
            raise child.ChildError(told.format(home(), error.strerror)) from None
        raise
    for other in home().iterdir():
        if other.is_dir() and other != folder and (other == before or _is_left_over(other)):
            shutil.rmtree(other, ignore_errors=True)
    say(tr("asbuilt {0} is ready in {1}.").format(version, folder))
    choose("")
    return str(_script(folder, "asbuilt")), version


def _is_left_over(folder):
    """Tell whether nobody is making an environment there any more: a host that was ended left it half-made."""
    try:
        return time.time() - folder.stat().st_mtime > _DAY_SECONDS
    except OSError:  # another window has just taken it away
        return False


def _find():
    named = chosen()
    if named:
        path = Path(named)
        found = _script(path, "asbuilt") if path.is_dir() else path
        if found.is_file():
            return found
        raise child.ChildError(
            tr("{0}, named in the plugin's settings, is not there. Correct it there, or leave it blank.").format(found)
        )
    own = _script(made_here(), "asbuilt")
    if own.is_file():
        return own
    on_path = shutil.which("asbuilt")
    if on_path:
        return Path(on_path)
    raise child.ChildError(
        tr(
            "The asbuilt command is not here yet. Run the algorithm 'Set up the asbuilt environment' once "
            "(Processing toolbox, Joint records), or name an environment in the plugin's settings."
        )
    )


def _script(folder, name):
    return folder / "Scripts" / f"{name}.exe" if os.name == "nt" else folder / "bin" / name


def _version(found):
    """Ask a command for its version, once for each state of its file."""
    key = (str(found), Path(found).stat().st_mtime)
    if key not in _known:
        outcome = child.run([str(found), "--version"])
        answer = re.search(r"asbuilt, version (\S+)", outcome.out)
        if outcome.status or not answer:
            told = (outcome.err.strip() or outcome.out.strip() or str(outcome.status)).splitlines()[-1]
            raise child.ChildError(
                tr(
                    "{0} does not answer as the asbuilt command ({1}). Run the algorithm 'Set up the asbuilt "
                    "environment', or correct the plugin's settings."
                ).format(found, told)
            )
        _known[key] = answer[1]
    return _known[key]


def _release(version):
    """Give the part of a version within which the command's face does not change."""
    return version.split(".")[:2]


def _host_python():
    """Find a Python interpreter: the host's own, which a desktop program hides behind its own name."""
    folder = Path(sys.base_exec_prefix)
    names = [folder / "python.exe", folder / "python3.exe"] if os.name == "nt" else [folder / "bin" / "python3"]
    for path in (Path(sys.executable), *names):
        if path.is_file() and re.match(r"python[\d.]*(\.exe)?$", path.name, re.IGNORECASE):
            return str(path)
    found = shutil.which("python3") or shutil.which("python")
    if found:
        return found
    raise child.ChildError(tr("No Python interpreter was found: name one, of version 3.11 or later."))


def _refuse_old(python):
    outcome = child.run([python, "-c", "import sys; print('%d.%d' % sys.version_info[:2])"])
    found = outcome.out.strip()
    if outcome.status or not re.fullmatch(r"\d+\.\d+", found):
        raise child.ChildError(
            tr("{0} is not a Python interpreter: name one, of version 3.11 or later.").format(python)
        )
    if tuple(map(int, found.split("."))) < _PYTHON:
        raise child.ChildError(
            tr("{0} is Python {1}, but asbuilt needs 3.11 or later: name another interpreter.").format(python, found)
        )


def _step(arguments, say, cancelled, hint):
    def line(text):
        say(text)
        return True

    outcome = child.run(arguments, on_line=line, cancelled=cancelled, follow=True)
    if outcome.status:
        told = outcome.err.strip().splitlines()
        raise child.ChildError("\n".join([tr("The environment could not be made:"), *told[-5:], hint]))
