"""What the plugin says, in the host's language, and what the package says of its own fields and codes."""

import json
from functools import lru_cache
from pathlib import Path

from qgis.PyQt.QtCore import QCoreApplication, QUrl
from qgis.PyQt.QtGui import QDesktopServices

FOLDER = Path(__file__).parent


def tr(text):
    """Translate a text of the plugin."""
    return QCoreApplication.translate("asbuilt", text)


def help_page(name="desktop_gis"):
    """Give the address of a page of the help that came with the plugin."""
    return QUrl.fromLocalFile(str(FOLDER / "help" / "howto" / f"{name}.html"))


def show_help(*clicked):
    """Open the help that came with the plugin."""
    QDesktopServices.openUrl(help_page())


@lru_cache(maxsize=1)
def vocabulary():
    """Give what the package says of itself; the script that builds the plugin writes it down from the package."""
    return json.loads((FOLDER / "vocabulary.json").read_text("utf-8"))


def caution():
    """Give what must stand wherever somebody could go out and dig by what is shown."""
    return tr(
        "Not for locating. Before digging: locate request and trench protection. Isolate and depressurize the main "
        "before moving a joint. Local codes, the site's safety plan and a licensed engineer govern."
    )


def not_an_acceptance():
    """Give what findings are, and what they are not."""
    return tr(
        "These are findings on records, not an acceptance of work. Limits come from the approved submittal and the "
        "project's specification; local codes and the pipe maker's instructions govern, and the judgement is a "
        "licensed engineer's."
    )


def meaning(domain, value):
    """Give the words for a coded value, or the value itself where it has none."""
    words = vocabulary()["domains"].get(domain, {}).get(value)
    return value if words is None else tr(words)


def titles(layer):
    """Give the titles of a layer's columns, in the host's language."""
    return {column: tr(title) for column, title in vocabulary()["layers"].get(layer, {}).items()}
