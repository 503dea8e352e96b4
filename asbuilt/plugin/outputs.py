"""What an output of a form may replace: no file behind a layer that the form reads, though the command sees a copy."""

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
    if output and Path(output).resolve() in files_of(given, context):
        raise QgsProcessingException(
            tr("{0} is read by this work, so it cannot be its output; name another file").format(output)
        )
