"""What the plugin says, in the host's language, and what the package says of its own fields and codes."""

import json
from functools import lru_cache
from pathlib import Path

from qgis.PyQt.QtCore import QCoreApplication

FOLDER = Path(__file__).parent


def tr(text):
    """Translate a text of the plugin."""
    return QCoreApplication.translate("asbuilt", text)


@lru_cache(maxsize=1)
def vocabulary():
    """Give what the package says of itself; the script that builds the plugin writes it down from the package."""
    return json.loads((FOLDER / "vocabulary.json").read_text("utf-8"))


def meaning(domain, value):
    """Give the words for a coded value, or the value itself where it has none."""
    return vocabulary()["domains"].get(domain, {}).get(value, value)
