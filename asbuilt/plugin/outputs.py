"""What an output of a form may replace, and what must be saved before: the command sees files, and copies of layers."""

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
    if one.exists() and other.exists():
        return one.samefile(other)
    return one.resolve() == other.resolve()


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
    for path in (Path(one).resolve() for one in texts if isinstance(one, str) and one):
        if path in unsaved:
            raise QgsProcessingException(
                tr("{0} has changes that are not saved in {1}: save them, or discard them, and run this again.").format(
                    unsaved[path], path
                )
            )
