"""What an output of a form may replace, and what must be saved before: the command sees files, and copies of layers."""

import os
import unicodedata
from pathlib import Path

from qgis.core import QgsProcessingException, QgsProviderRegistry

from .inputs import layer_of
from .words import tr


def files_of(value, context):
    """Give the files behind a layer, a path or a list of them, as a form holds them.

    Parameters
    ----------
    value : what a parameter of the form was given
    context : QgsProcessingContext

    Returns
    -------
    set of Path
        Real paths; empty for layers in memory and tables of a server.
    """
    found = set()
    for one in value if isinstance(value, (list, tuple)) else [value]:
        layer, _ = layer_of(one, context)
        paths = [one] if isinstance(one, str) else []
        if layer is not None:
            parts = QgsProviderRegistry.instance().decodeUri(layer.providerType(), layer.source())
            paths.append(parts.get("path") or "")
        found |= {Path(path).resolve() for path in paths if path and "://" not in path and Path(path).is_file()}
    return found


def refuse_inputs(output, given, context):
    """Refuse an output that is one of the files read.

    Raises
    ------
    QgsProcessingException
    """
    if output and any(is_same_file(output, path) for path in files_of(given, context)):
        raise QgsProcessingException(
            tr("{0} is read by this work, so it cannot be its output; name another file").format(output)
        )


def is_same_file(one, other):
    """Tell whether two paths are of one file, be it by a link or in letters of another case."""
    one, other = Path(one), Path(other)
    if os.path.exists(one) and os.path.exists(other) and one.samefile(other):
        return True
    # Some disks number a file anew for each way to write its name.
    return _letters(str(one.resolve())) == _letters(str(other.resolve())) and _spelled(one) == _spelled(other)


def _spelled(path):
    """Give a path as its folders spell it, and whether it is there: many disks take capitals and small letters for one.

    Of what is not there yet, the letters alone count: nobody can know how the disk will take them.
    """
    real = path.resolve()
    found, there = Path(real.anchor), True
    for name in real.parts[1:]:
        there = there and os.path.lexists(found / name)
        if not there:
            found /= _letters(name)
            continue
        try:
            names = os.listdir(found)
        except OSError:
            names = []
        same = [] if name in names else [one for one in names if _letters(one) == _letters(name)]
        found /= same[0] if same else name
    return found, there


def _letters(name):
    """Give a name without the difference of capitals, and with its accents in one way."""
    return unicodedata.normalize("NFC", name).casefold()


def refuse_in_edit(output, in_edit):
    """Refuse an output that a layer of the project is being edited in: its changes would be lost, or fit no more.

    Raises
    ------
    QgsProcessingException
    """
    for layer in (name for path, name in in_edit.items() if output and is_same_file(output, path)):
        raise QgsProcessingException(
            tr("{0} is being edited in the project, as the layer {1}: end that first, or name another file").format(
                output, layer
            )
        )


def refuse_unsaved(values, unsaved):
    """Refuse files that a layer of the project has changes to which are not saved in them.

    Parameters
    ----------
    values : list, what the keys of a job name: texts, or lists of them
    unsaved : dict of Path to the layer's name

    Raises
    ------
    QgsProcessingException
    """
    texts = [one for value in values for one in (value if isinstance(value, list) else [value])]
    for text in (one for one in texts if isinstance(one, str) and one):
        for name in (name for path, name in unsaved.items() if os.path.exists(text) and is_same_file(text, path)):
            raise QgsProcessingException(
                tr("{0} has changes that are not saved in {1}: save them, or discard them, and run this again.").format(
                    name, text
                )
            )
